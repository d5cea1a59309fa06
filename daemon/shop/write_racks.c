/* Writes to racks: pieces that are always done together. */
#include "daemon/shop/write.h"

/* Tidies the name, and takes from the record what a client does not tell. */
static enum coat_result check_rack_put(const struct shop *shop, int64_t now_ms, struct rack *rack, struct coat_error *error)
{
    const struct rack *before = NULL;
    enum coat_result result = rack->id == 0 ? COAT_OK : check_rack(shop, "rack", rack->id, &before, error);
    if (result == COAT_OK)
        result = check_name("name", rack->name, sizeof rack->name, error);
    if (result == COAT_OK)
        result = check_not_number(rack->name, error);
    if (result == COAT_OK)
        result = check_piece_free(shop, rack->name, 0, rack->id, error);
    if (result == COAT_OK)
        result = check_pieces(shop, rack->piece_id, rack->pieces, error);
    rack->added_at = before != NULL ? before->added_at : now_ms;
    rack->removed_at = MOMENT_NONE;
    return result;
}

/* Fills the id of a new one. */
static enum coat_result record_rack(struct shop *shop, const struct shop_write *write, struct rack *rack, struct coat_error *error)
{
    int64_t id = rack->id;
    enum coat_result result = write_begin(shop, error);
    if (result != COAT_OK)
        return result;
    result = id == 0 ? store_rack_add(shop->store, rack, &id) : store_rack_put(shop->store, rack);
    if (result != COAT_OK)
        return write_undone(shop, result, error);
    rack->id = id;
    return write_commit(shop, write, &id, 1, error);
}

static void rack_replace(struct shop *shop, const struct rack *rack)
{
    for (size_t i = 0; i < shop->racks.count; i++)
        if (shop->racks.item[i].id == rack->id)
            shop->racks.item[i] = *rack;
}

enum coat_result shop_put_rack(struct shop *shop, const struct shop_write *write, const struct rack *rack, int64_t *ret_id,
                               struct coat_error *error)
{
    struct rack wanted = *rack;
    bool is_new = rack->id == 0;
    enum coat_result result = check_rack_put(shop, write->now_ms, &wanted, error);
    if (result == COAT_OK && !LIST_RESERVE(&shop->racks))
        result = write_failed(COAT_NO_MEMORY, error);
    if (result == COAT_OK)
        result = record_rack(shop, write, &wanted, error);
    if (result != COAT_OK)
        return result;
    if (is_new)
        LIST_PUSH(&shop->racks, wanted);
    else
        rack_replace(shop, &wanted);
    *ret_id = wanted.id;
    return write_settle(shop, write, COAT_OK, error);
}

enum coat_result shop_remove_rack(struct shop *shop, const struct shop_write *write, int64_t id, struct coat_error *error)
{
    const struct rack *rack = NULL;
    enum coat_result result = check_rack(shop, "rack", id, &rack, error);
    if (result != COAT_OK)
        return result;
    struct rack gone = *rack;
    gone.removed_at = write->now_ms;
    result = record_rack(shop, write, &gone, error);
    if (result != COAT_OK)
        return result;
    rack_replace(shop, &gone);
    return write_settle(shop, write, COAT_OK, error);
}
