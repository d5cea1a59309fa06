/* Where a law stood still in measured air, kept as the days are added up. */
#include "daemon/shop/notice.h"

#include <string.h>

static bool is_measured(const struct ledger *ledger, const struct air_step *step)
{
    return step->basis == AIR_MEASURED && (step->rh_basis == AIR_MEASURED || !law_heeds_humidity(&ledger->law));
}

/* Why a law does not move at the end of a step that gave it nothing. */
static enum stall why_still(const struct ledger *ledger, const struct air_step *step)
{
    enum stall stall = STALL_NONE;
    law_rate(&ledger->law, step->temp1_c, step->rh1_pct, &stall);
    return stall;
}

bool ledger_note_still(struct ledger *ledger, const struct air_step *step, double growth)
{
    if (ledger->kind != LEDGER_LAW || ledger->law.side != SIDE_OPENING || growth > 0.0 || !is_measured(ledger, step))
        return true;
    enum stall why = why_still(ledger, step);
    if (why == STALL_NONE)
        return true; /* it moves from the end of this step on */
    struct still *last = ledger->stills > 0 ? &ledger->still[ledger->stills - 1] : NULL;
    if (last && last->to_ms == step->from_ms) {
        last->to_ms = step->to_ms;
        return true;
    }
    if (last && last->to_ms - last->from_ms < STALL_LASTS_MS)
        ledger->stills--;
    if (!list_reserve((void **)&ledger->still, &ledger->stills_capacity, ledger->stills, sizeof *ledger->still))
        return false;
    ledger->still[ledger->stills++] = (struct still){step->from_ms, step->to_ms, why};
    return true;
}

void ledger_forget_stills(struct ledger *ledger, int64_t from_ms)
{
    while (ledger->stills > 0 && ledger->still[ledger->stills - 1].from_ms >= from_ms)
        ledger->stills--;
    if (ledger->stills > 0 && ledger->still[ledger->stills - 1].to_ms > from_ms)
        ledger->still[ledger->stills - 1].to_ms = from_ms;
}

/* ---- of a coat ---- */

/* The law that its strip shows: of the opening that is waited for longest, cured through apart; and until when it was waited for. */
static const struct boundary_clock *slowest_opening(struct coat_clock *clock, int64_t now_ms, int64_t *ret_until)
{
    const struct boundary_clock *found = NULL;
    *ret_until = MOMENT_NONE;
    for (unsigned stage = 0; stage < STAGE_COUNT; stage++) {
        struct stage_run run = stage_run_of(clock, (enum stage)stage);
        if (stage == STAGE_CURE || run.count == 0 || run.first->side != SIDE_OPENING || !run.first->ledger)
            continue;
        int64_t until = run.first->passed_at != MOMENT_NONE && run.first->passed_at < now_ms ? run.first->passed_at : now_ms;
        if (found && until <= *ret_until)
            continue;
        found = run.first;
        *ret_until = until;
    }
    if (found && clock->ended_at != MOMENT_NONE && clock->ended_at < *ret_until)
        *ret_until = clock->ended_at;
    return found;
}

static void keep_newest(struct coat_view *view, const struct still *still)
{
    if (view->stills == COAT_STILLS_MAX)
        memmove(view->still, view->still + 1, --view->stills * sizeof *view->still);
    view->still[view->stills++] = *still;
}

/* Those of a ledger that lie within a stay, cut to it. */
static void take_stills(const struct ledger *ledger, int64_t from_ms, int64_t to_ms, struct coat_view *view)
{
    for (size_t i = 0; i < ledger->stills; i++) {
        struct still still = ledger->still[i];
        if (still.from_ms < from_ms)
            still.from_ms = from_ms;
        if (still.to_ms > to_ms)
            still.to_ms = to_ms;
        if (still.to_ms - still.from_ms >= STALL_LASTS_MS)
            keep_newest(view, &still);
    }
}

void coat_fill_stills(struct shop *shop, size_t coat_index, int64_t now_ms, struct coat_view *view)
{
    struct coat_clock *clock = &shop->clocks.item[coat_index];
    const struct coat *coat = &shop->coats.item[coat_index];
    int64_t until;
    const struct boundary_clock *opening = clock->status == COAT_STRUCK ? NULL : slowest_opening(clock, now_ms, &until);
    if (!opening || until <= opening->start_ms)
        return;
    struct stay stays[STAYS_MAX];
    unsigned count = stays_until(shop, coat->piece_id, opening->start_ms, until, stays);
    for (unsigned i = 0; i < count; i++) {
        struct ledger *ledger;
        if (place_air_ledger(stays[i].air, &opening->ledger->law, opening->law, &ledger) == COAT_OK)
            take_stills(ledger, stays[i].from_ms, stays[i].to_ms, view);
    }
}
