/* Open solvent that is used in a place beside coats: gun wash, wiping down. */
#include "coat/shop_vapour.h"
#include "daemon/shop/write.h"

#include <stdio.h>

/* Whether the solvents are known, and their shares make up all of it; spells them one way. A blend keeps the word that was told. */
static enum coat_result check_what(struct solvent_release *release, struct coat_error *error)
{
    struct vapour_liquid liquid = {.amount_ml = release->amount_ml, .solvent_pct = 100.0};
    struct coat_error why = {0};
    enum coat_result result = check_text("solvent", release->what, sizeof release->what, error);
    if (result == COAT_OK && release->what[0] == '\0')
        return coat_fail(error, COAT_BAD_VALUE, "solvent", "which one? Write \"toluene\", \"toluene=60%%, acetone=40%%\" or \"lacquer thinner\"");
    if (result == COAT_OK && solvent_mix_parse(release->what, &liquid.mix, &why) != COAT_OK)
        return coat_fail(error, COAT_BAD_VALUE, "solvent", "%s", why.text); /* one that is not known is a bad word, not a missing thing */
    if (result == COAT_OK)
        result = vapour_liquid_check(&liquid, error);
    if (result != COAT_OK)
        return result;
    if (!liquid.mix.worst_of && liquid.mix.parts == 1)
        snprintf(release->what, sizeof release->what, "%s", liquid.mix.part[0].solvent->name);
    else if (!liquid.mix.worst_of)
        solvent_mix_print(&liquid.mix, release->what, sizeof release->what);
    return COAT_OK;
}

static enum coat_result check_release(const struct shop *shop, int64_t now_ms, struct solvent_release *release, struct coat_error *error)
{
    const struct place *place = NULL;
    const struct figure_check amount = {"amount_ml", release->amount_ml, 0, SHOP_RELEASE_MOST_ML, true, "ml"};
    enum coat_result result = check_place(shop, "place", release->place_id, &place, error);
    if (result == COAT_OK && !(release->amount_ml > 0.0))
        return coat_fail(error, COAT_BAD_VALUE, "amount_ml", "%.6g ml will not do: write more than 0, for example 250", release->amount_ml);
    if (result == COAT_OK)
        result = check_figures(&amount, 1, error);
    if (result == COAT_OK)
        result = check_what(release, error);
    return result == COAT_OK ? check_moment("at", release->at, now_ms, error) : result;
}

static enum coat_result record_release(struct shop *shop, const struct shop_write *write, struct solvent_release *release, struct coat_error *error)
{
    int64_t id = 0;
    enum coat_result result = write_begin(shop, error);
    if (result != COAT_OK)
        return result;
    result = store_release_add(shop->store, release, &id);
    if (result != COAT_OK)
        return write_undone(shop, result, error);
    release->id = id;
    return write_commit(shop, write, &id, 1, error);
}

enum coat_result shop_release_solvent(struct shop *shop, const struct shop_write *write, const struct solvent_release *release, int64_t *ret_id,
                                      struct coat_error *error)
{
    struct solvent_release wanted = *release;
    wanted.id = 0;
    wanted.entered_at = write->now_ms;
    enum coat_result result = check_release(shop, write->now_ms, &wanted, error);
    if (result == COAT_OK && !LIST_RESERVE(&shop->releases))
        result = write_failed(COAT_NO_MEMORY, error);
    if (result == COAT_OK)
        result = record_release(shop, write, &wanted, error);
    if (result != COAT_OK)
        return result;
    LIST_PUSH(&shop->releases, wanted);
    *ret_id = wanted.id;
    return write_settle(shop, write, COAT_OK, error);
}

const struct solvent_release *shop_releases(const struct shop *shop, size_t *ret_count)
{
    *ret_count = shop->releases.count;
    return shop->releases.item;
}
