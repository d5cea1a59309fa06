/* Writes to tins: the containers of materials. */
#include "daemon/shop/write.h"

/* Coats keep their tin: it cannot come to hold something else. */
static enum coat_result check_holds(const struct shop *shop, const struct tin *before, const struct tin *tin, struct coat_error *error)
{
    const struct material_version *version = NULL;
    if (before != NULL && before->material_id == tin->material_id)
        return COAT_OK;
    enum coat_result result = check_material(shop, "material", tin->material_id, &version, error);
    for (size_t i = 0; result == COAT_OK && before != NULL && i < shop->coats.count; i++)
        if (shop->coats.item[i].tin_id == tin->id)
            return coat_fail(error, COAT_CONFLICT, "material", "coat %lld was put on from \"%s\": what it holds stays; add another tin",
                             (long long)shop->coats.item[i].id, before->name);
    return result;
}

/* A tin that was opened past its keep-by is a fact like others: it is told, not refused. */
static enum coat_result check_tin_moments(const struct tin *tin, int64_t now_ms, struct coat_error *error)
{
    enum coat_result result = tin->opened_at == MOMENT_NONE ? COAT_OK : check_moment("opened_at", tin->opened_at, now_ms, error);
    if (result == COAT_OK && tin->keep_by_at != MOMENT_NONE)
        result = check_moment("keep_by_at", tin->keep_by_at, INT64_MAX - CHECK_GRACE_MS, error);
    return result;
}

/* Tidies the texts, and takes from the record what a client does not tell. */
static enum coat_result check_tin_put(const struct shop *shop, int64_t now_ms, struct tin *tin, struct coat_error *error)
{
    const struct tin *before = NULL;
    enum coat_result result = tin->id == 0 ? COAT_OK : check_tin(shop, "tin", tin->id, &before, error);
    if (result == COAT_OK)
        result = check_name("name", tin->name, sizeof tin->name, error);
    if (result == COAT_OK)
        result = check_tin_free(shop, tin->name, tin->id, error);
    if (result == COAT_OK)
        result = check_holds(shop, before, tin, error);
    if (result == COAT_OK)
        result = check_text("batch", tin->batch, sizeof tin->batch, error);
    if (result == COAT_OK)
        result = check_tin_moments(tin, now_ms, error);
    tin->added_at = before != NULL ? before->added_at : now_ms;
    tin->removed_at = MOMENT_NONE;
    return result;
}

/* Fills the id of a new one. */
static enum coat_result record_tin(struct shop *shop, const struct shop_write *write, struct tin *tin, struct coat_error *error)
{
    int64_t id = tin->id;
    enum coat_result result = write_begin(shop, error);
    if (result != COAT_OK)
        return result;
    result = id == 0 ? store_tin_add(shop->store, tin, &id) : store_tin_put(shop->store, tin);
    if (result != COAT_OK)
        return write_undone(shop, result, error);
    tin->id = id;
    return write_commit(shop, write, &id, 1, error);
}

static void tin_replace(struct shop *shop, const struct tin *tin)
{
    for (size_t i = 0; i < shop->tins.count; i++)
        if (shop->tins.item[i].id == tin->id)
            shop->tins.item[i] = *tin;
}

enum coat_result shop_put_tin(struct shop *shop, const struct shop_write *write, const struct tin *tin, int64_t *ret_id,
                              struct coat_error *error)
{
    struct tin wanted = *tin;
    bool is_new = tin->id == 0;
    enum coat_result result = check_tin_put(shop, write->now_ms, &wanted, error);
    if (result == COAT_OK && !LIST_RESERVE(&shop->tins))
        result = write_failed(COAT_NO_MEMORY, error);
    if (result == COAT_OK)
        result = record_tin(shop, write, &wanted, error);
    if (result != COAT_OK)
        return result;
    if (is_new)
        LIST_PUSH(&shop->tins, wanted);
    else
        tin_replace(shop, &wanted);
    *ret_id = wanted.id;
    return write_settle(shop, write, COAT_OK, error);
}

enum coat_result shop_remove_tin(struct shop *shop, const struct shop_write *write, int64_t id, struct coat_error *error)
{
    const struct tin *tin = NULL;
    enum coat_result result = check_tin(shop, "tin", id, &tin, error);
    if (result != COAT_OK)
        return result;
    struct tin gone = *tin;
    gone.removed_at = write->now_ms;
    result = record_tin(shop, write, &gone, error);
    if (result != COAT_OK)
        return result;
    tin_replace(shop, &gone);
    return write_settle(shop, write, COAT_OK, error);
}
