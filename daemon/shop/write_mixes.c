/* Mixing a batch of a two-part material. */
#include "daemon/shop/write.h"

#include <math.h>

static enum coat_result check_mix(const struct shop *shop, int64_t now_ms, const struct mix *mix, struct coat_error *error)
{
    const struct place *place = NULL;
    enum coat_result result = check_material_version(shop, mix->material_version_id, error);
    if (result != COAT_OK)
        return result;
    const struct material *material = &shop_material_version(shop, mix->material_version_id)->material;
    if (isnan(material->induction_min) && isnan(material->pot_life_min))
        return coat_fail(error, COAT_BAD_VALUE, "material", "%s is not mixed: it has neither an induction time nor a pot life; a two-part "
                         "material will do", material->name);
    if (mix->place_id != 0)
        result = check_place(shop, "place", mix->place_id, &place, error);
    return result == COAT_OK ? check_moment("at", mix->mixed_at, now_ms, error) : result;
}

static enum coat_result record_mix(struct shop *shop, const struct shop_write *write, struct mix *mix, struct coat_error *error)
{
    int64_t id = 0;
    enum coat_result result = write_begin(shop, error);
    if (result != COAT_OK)
        return result;
    result = store_mix_add(shop->store, mix, &id);
    if (result != COAT_OK)
        return write_undone(shop, result, error);
    mix->id = id;
    return write_commit(shop, write, &id, 1, error);
}

enum coat_result shop_mix(struct shop *shop, const struct shop_write *write, const struct mix *mix, int64_t *ret_id, struct coat_error *error)
{
    struct mix wanted = *mix;
    wanted.id = 0;
    wanted.entered_at = write->now_ms;
    enum coat_result result = check_mix(shop, write->now_ms, &wanted, error);
    if (result == COAT_OK && (!LIST_RESERVE(&shop->mixes) || !LIST_RESERVE(&shop->mix_clocks)))
        result = write_failed(COAT_NO_MEMORY, error);
    if (result == COAT_OK)
        result = record_mix(shop, write, &wanted, error);
    if (result != COAT_OK)
        return result;
    LIST_PUSH(&shop->mixes, wanted);
    *ret_id = wanted.id;
    return write_settle(shop, write, model_mix_added(shop), error);
}
