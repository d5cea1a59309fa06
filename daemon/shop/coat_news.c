/* What the air does to a coat that nobody waits for: it stands still, it left its limits too early, or water came down on the casting. */
#include "daemon/shop/lag.h"
#include "daemon/shop/notice.h"

/* ---- standing still ---- */

static bool stage_stalled(struct shop *shop, size_t index, const struct material *material, const struct stage_run *run, int64_t at_ms,
                          struct coat_stall *ret)
{
    unsigned current = stage_current(run, at_ms);
    enum state state = stage_state(shop, &shop->clocks.item[index], material, run, at_ms);
    if (current == run->count || (state != STATE_WAITING && state != STATE_SHUT))
        return false;
    struct boundary_clock *b = &run->first[current];
    enum stall why = boundary_stall(b, at_ms);
    if (why != STALL_COLD && why != STALL_DAMP)
        return false; /* that the air is not known is told of the place */
    int64_t since = ledger_stalled_since(b->ledger, at_ms);
    if (since != MOMENT_NONE && since < b->here_from_ms)
        since = b->here_from_ms;
    *ret = (struct coat_stall){b, why, since};
    return true;
}

bool coat_stalled(struct shop *shop, size_t coat_index, int64_t at_ms, struct coat_stall *ret)
{
    struct coat_clock *clock = &shop->clocks.item[coat_index];
    const struct material_version *version = shop_material_version(shop, shop->coats.item[coat_index].material_version_id);
    for (unsigned stage = 0; version && clock->status == COAT_ON && stage < STAGE_COUNT; stage++) {
        struct stage_run run = stage_run_of(clock, (enum stage)stage);
        if (run.count > 0 && stage != STAGE_CURE && stage_stalled(shop, coat_index, &version->material, &run, at_ms, ret))
            return true;
    }
    return false;
}

bool coat_stall_lasts(const struct coat_stall *stall, int64_t at_ms)
{
    return stall->since_at == MOMENT_NONE || at_ms - stall->since_at >= STALL_LASTS_MS;
}

/* ---- out of its limits ---- */

static enum coat_result pick_outside(struct place_air *air, const void *what, struct ledger **ret)
{
    return place_air_outside(air, what, ret);
}

/* What a film that is not through its guard by then has seen of dew it has seen before. */
#define DEW_LOOKED_FOR_MS (3 * MS_PER_DAY)

/* As measured, between the passes and to_ms. */
static enum inspect find_inspect(struct shop *shop, const struct coat *coat, const struct material *material, int64_t to_ms)
{
    struct air_limits limits = {material->min_temp_c, material->max_temp_c, material->max_rh_pct};
    int64_t dew_to_ms = to_ms < coat->last_at + DEW_LOOKED_FOR_MS ? to_ms : coat->last_at + DEW_LOOKED_FOR_MS;
    double hours;
    bool wet;
    enum coat_result result = piece_was_wet(shop, coat->piece_id, coat->first_at, dew_to_ms, &wet);
    if (result == COAT_OK && wet)
        return INSPECT_DEW;
    if (result == COAT_OK)
        result = piece_ledger_sum(shop, coat->piece_id, coat->last_at, to_ms, pick_outside, &limits, &hours);
    return result != COAT_OK || hours > 0.0 ? INSPECT_AIR : INSPECT_NOT; /* unknown: a person must look */
}

/* Held air is as good as measured, but the next reading may move what was reached in it. */
static bool rests_on_readings(const struct boundary_clock *b, int64_t due)
{
    return b->passed_at != MOMENT_NONE && b->ledger && due <= b->ledger->anchor_ms;
}

enum inspect coat_inspect(struct shop *shop, size_t coat_index, int64_t at_ms)
{
    struct coat_clock *clock = &shop->clocks.item[coat_index];
    const struct coat *coat = &shop->coats.item[coat_index];
    const struct material_version *version = shop_material_version(shop, coat->material_version_id);
    if (!version)
        return INSPECT_NOT;
    struct stage_run guard = stage_run_of(clock, version->material.guard);
    int64_t due = guard.count > 0 ? boundary_due(guard.first) : MOMENT_NONE;
    bool past = due != MOMENT_NONE && due <= at_ms; /* it is not any more where the clock was set back */
    if (past && clock->inspect_settled)
        return clock->inspect;
    clock->inspect = find_inspect(shop, coat, &version->material, past ? due : at_ms);
    clock->inspect_settled = past && rests_on_readings(guard.first, due);
    return clock->inspect;
}
