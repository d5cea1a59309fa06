/* Putting a notice aside, with all of its group. */
#include "daemon/shop/notice.h"
#include "daemon/shop/write.h"

static struct notice *next_of_group(const struct shop *shop, const struct notice *notice)
{
    size_t number = shop->group_next.item[notice - shop->notices.item];
    return number > 0 ? &shop->notices.item[number - 1] : NULL;
}

static enum coat_result record_group(struct shop *shop, const struct shop_write *write, const struct notice *head, struct coat_error *error)
{
    enum coat_result result = write_begin(shop, error);
    if (result != COAT_OK)
        return result;
    for (const struct notice *n = head; result == COAT_OK && n; n = next_of_group(shop, n)) {
        struct notice noted = *n;
        noted.acknowledged_at = write->now_ms;
        result = store_notice_put(shop->store, &noted);
    }
    if (result != COAT_OK)
        return write_undone(shop, result, error);
    return write_commit(shop, write, &head->id, 1, error);
}

/* Once more does nothing: the first moment stays. */
enum coat_result shop_acknowledge(struct shop *shop, const struct shop_write *write, int64_t notice_id, struct coat_error *error)
{
    const struct notice *notice = notice_by_id(shop, notice_id);
    if (notice == NULL)
        return coat_fail(error, COAT_NOT_FOUND, "notice", "there is no notice %lld: the list of them tells which there are",
                         (long long)notice_id);
    struct notice *head = notice_head(shop, notice);
    if (head->acknowledged_at != MOMENT_NONE)
        return COAT_OK;
    enum coat_result result = record_group(shop, write, head, error);
    if (result != COAT_OK)
        return result;
    for (struct notice *n = head; n; n = next_of_group(shop, n))
        n->acknowledged_at = write->now_ms;
    return write_settle(shop, write, COAT_OK, error);
}
