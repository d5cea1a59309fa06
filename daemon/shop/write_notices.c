/* Putting a notice aside. */
#include "daemon/shop/write.h"

static struct notice *notice_find(struct shop *shop, int64_t id)
{
    for (size_t i = shop->notices.count; i-- > 0;) /* it is a late one that is put aside */
        if (shop->notices.item[i].id == id)
            return &shop->notices.item[i];
    return NULL;
}

static enum coat_result record_notice(struct shop *shop, const struct shop_write *write, const struct notice *notice, struct coat_error *error)
{
    enum coat_result result = write_begin(shop, error);
    if (result != COAT_OK)
        return result;
    result = store_notice_put(shop->store, notice);
    if (result != COAT_OK)
        return write_undone(shop, result, error);
    return write_commit(shop, write, &notice->id, 1, error);
}

/* Once more does nothing: the first moment stays. */
enum coat_result shop_acknowledge(struct shop *shop, const struct shop_write *write, int64_t notice_id, struct coat_error *error)
{
    struct notice *notice = notice_find(shop, notice_id);
    if (notice == NULL)
        return coat_fail(error, COAT_NOT_FOUND, "notice", "there is no notice %lld: the list of them tells which there are",
                         (long long)notice_id);
    if (notice->acknowledged_at != MOMENT_NONE)
        return COAT_OK;
    struct notice wanted = *notice;
    wanted.acknowledged_at = write->now_ms;
    enum coat_result result = record_notice(shop, write, &wanted, error);
    if (result != COAT_OK)
        return result;
    *notice = wanted;
    return write_settle(shop, write, COAT_OK, error);
}
