/* Writes to materials: a new one, the next version of one, one out of use. Versions are never changed. */
#include "daemon/shop/write.h"

static enum coat_result not_theirs(const struct material *material, struct coat_error *error)
{
    return coat_fail(error, COAT_NOT_ALLOWED, "material", "\"%s\" is built in and stays as it is: add a material of your own under another name",
                     material->name);
}

/* One that may be changed or removed. */
static enum coat_result check_own_material(const struct shop *shop, int64_t material_id, struct coat_error *error)
{
    const struct material_version *newest = shop_material_newest(shop, material_id);
    if (newest != NULL)
        return newest->material.builtin ? not_theirs(&newest->material, error) : COAT_OK;
    return coat_fail(error, COAT_NOT_FOUND, "material", "%s %lld: the list of them tells which there are",
                     shop_material_removed(shop, material_id) ? "out of use is material" : "there is no material", (long long)material_id);
}

/* Tidies the name and fills what the label leaves out. */
static enum coat_result check_material_put(const struct shop *shop, int64_t material_id, struct material *material, struct coat_error *error)
{
    enum coat_result result = material_id == 0 ? COAT_OK : check_own_material(shop, material_id, error);
    if (result == COAT_OK)
        result = check_name("name", material->name, sizeof material->name, error);
    if (result == COAT_OK)
        result = check_material_free(shop, material->name, material_id, error);
    material->builtin = false;
    return result == COAT_OK ? material_complete(material, error) : result;
}

/* After the last version of its material; a new material has the greatest id and comes last. */
static void version_insert(struct shop *shop, const struct material_version *version)
{
    size_t index = shop->materials.count;
    while (index > 0 && shop->materials.item[index - 1].material_id > version->material_id)
        index--;
    LIST_INSERT(&shop->materials, index, *version);
    LIST_INSERT(&shop->material_removed, index, false);
}

static enum coat_result record_version(struct shop *shop, const struct shop_write *write, struct material_version *version,
                                       struct coat_error *error)
{
    enum coat_result result = write_begin(shop, error);
    if (result != COAT_OK)
        return result;
    result = store_material_add(shop->store, version);
    if (result != COAT_OK)
        return write_undone(shop, result, error);
    return write_commit(shop, write, &version->material_id, 1, error);
}

enum coat_result shop_put_material(struct shop *shop, const struct shop_write *write, int64_t material_id, const struct material *material,
                                   int64_t *ret_material_id, struct coat_error *error)
{
    struct material_version version = {.material_id = material_id, .entered_at = write->now_ms, .material = *material};
    enum coat_result result = check_material_put(shop, material_id, &version.material, error);
    if (result == COAT_OK && (!LIST_RESERVE(&shop->materials) || !LIST_RESERVE(&shop->material_removed)))
        result = write_failed(COAT_NO_MEMORY, error);
    if (result == COAT_OK)
        result = record_version(shop, write, &version, error);
    if (result != COAT_OK)
        return result;
    version_insert(shop, &version);
    *ret_material_id = version.material_id;
    return write_settle(shop, write, COAT_OK, error); /* coats keep the version that they have */
}

static enum coat_result record_removal(struct shop *shop, const struct shop_write *write, int64_t material_id, struct coat_error *error)
{
    enum coat_result result = write_begin(shop, error);
    if (result != COAT_OK)
        return result;
    result = store_material_remove(shop->store, material_id, write->now_ms);
    if (result != COAT_OK)
        return write_undone(shop, result, error);
    return write_commit(shop, write, &material_id, 1, error);
}

enum coat_result shop_remove_material(struct shop *shop, const struct shop_write *write, int64_t material_id, struct coat_error *error)
{
    enum coat_result result = check_own_material(shop, material_id, error);
    if (result == COAT_OK)
        result = record_removal(shop, write, material_id, error);
    if (result != COAT_OK)
        return result;
    for (size_t i = 0; i < shop->materials.count; i++)
        if (shop->materials.item[i].material_id == material_id)
            shop->material_removed.item[i] = true;
    return write_settle(shop, write, COAT_OK, error);
}
