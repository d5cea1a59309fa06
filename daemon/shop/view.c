/* What is computed for people: a coat with its stages, the air of a place. */
#include "daemon/shop/baking.h"
#include "daemon/shop/forecast.h"
#include "daemon/shop/notice.h"

#include "coat/air.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* ---- moments ---- */

/* Openings, told from the outlook: 10, 50 and 90 %. With stale air, or where no outlook can be made, only what the gap rules come to
 * without any further reading is told: the latest that is then known. */
static void opening_band(struct boundary_clock *b, int64_t now_ms, struct moment_band *band)
{
    struct outlook_finish finish;
    band->latest_at = band->likely_at = band->earliest_at = boundary_due(b);
    if (place_air_is_stale(b->ledger->air, now_ms) || !forecast_boundary(b, &finish))
        return;
    band->latest_at = boundary_limited(b, finish.latest_ms);
    band->likely_at = boundary_limited(b, finish.likely_ms);
    band->earliest_at = boundary_limited(b, finish.earliest_ms);
}

static int64_t not_before(int64_t at, int64_t floor)
{
    return at == MOMENT_NONE || at > floor ? at : floor;
}

/* Closings: the earliest is what the gap rules come to, and is what is told; the outlook's others never before it. */
static void closing_band(struct boundary_clock *b, int64_t now_ms, struct moment_band *band)
{
    struct outlook_finish finish;
    band->latest_at = band->likely_at = band->earliest_at = boundary_due(b);
    if (band->earliest_at == MOMENT_NONE || place_air_is_stale(b->ledger->air, now_ms) || !forecast_boundary(b, &finish))
        return;
    band->likely_at = not_before(boundary_limited(b, finish.likely_ms), band->earliest_at);
    band->latest_at = not_before(boundary_limited(b, finish.latest_ms), band->likely_at);
}

static struct moment_band band_of(struct boundary_clock *b, int64_t now_ms)
{
    struct moment_band band = {false, MOMENT_NONE, MOMENT_NONE, MOMENT_NONE, MOMENT_NONE, MOMENT_NONE};
    int64_t due = boundary_due(b);
    if (b->side == SIDE_OPENING)
        band.label_floor_at = b->limit_at;
    else
        band.label_ceiling_at = b->limit_at;
    if (due != MOMENT_NONE && due <= now_ms) {
        band.passed = true;
        band.earliest_at = band.likely_at = band.latest_at = due;
        return band;
    }
    if (b->passed_at != MOMENT_NONE || !b->ledger) /* only the label still holds it back, or a plain time */
        band.earliest_at = band.likely_at = band.latest_at = due;
    else if (b->side == SIDE_OPENING)
        opening_band(b, now_ms, &band);
    else
        closing_band(b, now_ms, &band);
    return band;
}

/* ---- progress ---- */

static double rate_now(const struct boundary_clock *b, int64_t now_ms)
{
    if (b->passed_at != MOMENT_NONE)
        return 0.0;
    if (!b->ledger)
        return b->needed / ((double)(b->limit_at - b->start_ms) / (double)MS_PER_H);
    return place_air_is_stale(b->ledger->air, now_ms) ? b->ledger->assumed_rate : b->ledger->hold_rate;
}

static double progress_of(const struct boundary_clock *b, int64_t now_ms)
{
    double value;
    if (b->passed_at != MOMENT_NONE)
        return 1.0;
    if (!b->ledger)
        return fmin((double)(now_ms - b->start_ms) / (double)(b->limit_at - b->start_ms), 1.0);
    if (now_ms < b->start_ms || ledger_value(b->ledger, now_ms, &value) != COAT_OK)
        return 0.0;
    return fmin(fmax(1.0 - (b->target - value) / b->needed, 0.0), 1.0);
}

enum stall boundary_stall(const struct boundary_clock *b, int64_t now_ms)
{
    enum stall stall = STALL_NONE;
    if (b->side != SIDE_OPENING || b->passed_at != MOMENT_NONE)
        return STALL_NONE;
    const struct place_air *air = b->ledger->air;
    if (air->last_at == MOMENT_NONE)
        return STALL_AIR_UNKNOWN;
    struct air_step tail = place_air_tail(air, SIDE_OPENING, now_ms);
    if (isnan(tail.temp0_c))
        return STALL_AIR_UNKNOWN;
    law_rate(&b->ledger->law, tail.temp0_c, tail.rh0_pct, &stall);
    return stall;
}

static void fill_air_hours(struct shop *shop, const struct coat *coat, struct boundary_clock *b, int64_t now_ms,
                           struct stage_view *view)
{
    bool is_history = b->passed_at != MOMENT_NONE && b->passed_at <= now_ms; /* it is not where the clock was set back */
    int64_t to = is_history ? b->passed_at : now_ms;
    if (to < b->start_ms)
        to = b->start_ms;
    double assumed = is_history ? b->assumed_h : (double)NAN;
    if (isnan(assumed))
        assumed = piece_assumed_hours(shop, coat->piece_id, b->heeds_rh, b->start_ms, to);
    if (is_history)
        b->assumed_h = assumed; /* it stays until the facts change and the boundary is made again */
    view->assumed_h = assumed;
    view->measured_h = fmax((double)(to - b->start_ms) / (double)MS_PER_H - assumed, 0.0);
}

/* ---- a stage ---- */

/* "No window in this air": by what is likely, a go span would end before it begins. */
static bool go_span_is_empty(const struct stage_view *view)
{
    for (unsigned i = 1; i < view->spans; i++) {
        if (view->span[i].does != SPAN_GO || !view->span[i].ends)
            continue;
        int64_t opens = view->span[i - 1].until.likely_at, closes = view->span[i].until.earliest_at;
        if (closes != MOMENT_NONE && (opens == MOMENT_NONE || closes <= opens))
            return true;
    }
    return false;
}

static void fill_stage(struct shop *shop, size_t index, const struct material *material, const struct stage_run *run,
                       int64_t now_ms, struct stage_view *view)
{
    const struct coat *coat = &shop->coats.item[index];
    const struct stage_table *table = &material->stage[run->first->stage];
    memset(view, 0, sizeof *view);
    view->stage = run->first->stage;
    view->state = stage_state(shop, &shop->clocks.item[index], material, run, now_ms);
    view->current = stage_current(run, now_ms);
    view->spans = run->count + 1;
    for (unsigned i = 0; i <= run->count; i++) {
        view->span[i].does = stage_span(material, run, i);
        view->span[i].ends = i < run->count;
        if (i < run->count) {
            view->span[i].until = band_of(&run->first[i], now_ms);
            view->disputed |= table->boundary[i].disputed;
        }
    }
    struct boundary_clock *b = &run->first[view->current < run->count ? view->current : run->count - 1];
    bool pending = view->current < run->count;
    view->progress = pending ? progress_of(b, now_ms) : 1.0;
    view->progress_per_h = pending ? rate_now(b, now_ms) / b->needed : 0.0;
    bool waits = view->state == STATE_WAITING || view->state == STATE_SHUT;
    view->stall = pending && waits ? boundary_stall(b, now_ms) : STALL_NONE;
    view->stalled_since_at = view->stall == STALL_NONE ? MOMENT_NONE : ledger_stalled_since(b->ledger, now_ms);
    if (view->stalled_since_at != MOMENT_NONE && view->stalled_since_at < b->start_ms)
        view->stalled_since_at = b->start_ms;
    view->assumed = pending && boundary_is_assumed(b, now_ms);
    view->no_window = go_span_is_empty(view);
    view->prepared = stage_prepared(shop, coat, material, run, now_ms);
    fill_air_hours(shop, coat, b, now_ms, view);
}

/* ---- a coat ---- */

const struct stage_view *coat_view_stage(const struct coat_view *view, enum stage stage)
{
    for (unsigned i = 0; i < view->stages; i++)
        if (view->stage[i].stage == stage)
            return &view->stage[i];
    return NULL;
}

static bool is_reached(const struct coat_view *view, enum stage stage)
{
    const struct stage_view *found = coat_view_stage(view, stage);
    return found && found->span[0].ends && found->span[0].until.passed;
}

static enum coat_condition condition_of(const struct coat_view *view)
{
    if (view->bake.bake && view->bake.baked && view->bake.state == BAKE_COLD)
        return CONDITION_HARD;

    static const struct {
        enum stage stage;
        enum coat_condition condition;
    } signs[] = {{STAGE_CURE, CONDITION_HARD},       {STAGE_HANDLE, CONDITION_HANDLE}, {STAGE_TACK_FREE, CONDITION_DRY},
                 {STAGE_DUST_FREE, CONDITION_TACKY}, {STAGE_TOUCH, CONDITION_TACKY},   {STAGE_LEAF, CONDITION_TACKY},
                 {STAGE_BAKE, CONDITION_TACKY}};
    for (size_t i = 0; i < sizeof signs / sizeof *signs; i++)
        if (is_reached(view, signs[i].stage))
            return signs[i].condition;
    return CONDITION_WET;
}

static void fill_stages(struct shop *shop, size_t index, int64_t now_ms, struct coat_view *view)
{
    struct coat_clock *clock = &shop->clocks.item[index];
    if (clock->status == COAT_STRIPPED)
        return; /* there is no film left to wait for */
    for (unsigned stage = 0; stage < STAGE_COUNT; stage++) {
        struct stage_run run = stage_run_of(clock, (enum stage)stage);
        if (run.count == 0)
            continue;
        struct stage_view *out = &view->stage[view->stages++];
        fill_stage(shop, index, &view->material->material, &run, now_ms, out);
        if (view->stall == STALL_NONE)
            view->stall = out->stall;
    }
}

static bool has_passed(struct coat_clock *clock, enum stage stage, int64_t now_ms)
{
    struct stage_run run = stage_run_of(clock, stage);
    int64_t due = run.count > 0 ? boundary_due(run.first) : MOMENT_NONE;
    return due != MOMENT_NONE && due <= now_ms;
}

static bool guard_is_past(struct coat_clock *clock, const struct material *material, int64_t now_ms)
{
    if (stage_run_of(clock, material->guard).count > 0)
        return has_passed(clock, material->guard, now_ms);
    return has_passed(clock, STAGE_TACK_FREE, now_ms) || has_passed(clock, STAGE_HANDLE, now_ms) ||
           has_passed(clock, STAGE_CURE, now_ms); /* no such stage in its table: dry counts */
}

bool coat_cautions(struct shop *shop, size_t coat_index, int64_t now_ms, struct caution_set *ret)
{
    const struct coat *coat = &shop->coats.item[coat_index];
    const struct material_version *version = shop_material_version(shop, coat->material_version_id);
    const struct piece *piece = shop_piece(shop, coat->piece_id);
    const struct place *place = shop_place(shop, shop_piece_place(shop, coat->piece_id, now_ms));
    struct caution_query query = {
        .subject = CAUTION_FOR_COAT,
        .material = version ? &version->material : NULL,
        .application = coat->application,
        .old_finish = piece ? piece->old_finish : OLD_FINISH_NOT_TESTED,
        .wet = !version || !guard_is_past(&shop->clocks.item[coat_index], &version->material, now_ms),
    };
    if (place)
        memcpy(query.place_risk, place->risk, sizeof query.place_risk);
    cautions_for(&query, ret);
    return query.wet;
}

bool shop_coat_view(struct shop *shop, int64_t coat_id, int64_t now_ms, struct coat_view *ret)
{
    size_t index = shop_coat_index(shop, coat_id);
    if (index == SIZE_MAX)
        return false;
    struct coat_clock *clock = &shop->clocks.item[index];
    const struct coat *coat = &shop->coats.item[index];
    memset(ret, 0, sizeof *ret);
    ret->coat = coat;
    ret->material = shop_material_version(shop, coat->material_version_id);
    if (!ret->material)
        return false;
    ret->status = clock->status;
    ret->covered_by = clock->covered_by;
    ret->ended_at = clock->ended_at;
    ret->place_id = shop_piece_place(shop, coat->piece_id, now_ms);
    ret->air_temp_c = clock->air_temp_c;
    ret->air_rh_pct = clock->air_rh_pct;
    ret->air_basis = clock->air_basis;
    ret->film_factor = clock->film;
    ret->film_under = clock->film_under;
    ret->k = clock->k;
    const struct material_version *newest = shop_material_newest(shop, ret->material->material_id);
    ret->newer_version = newest && newest->id != ret->material->id;
    fill_stages(shop, index, now_ms, ret);
    coat_fill_stills(shop, index, now_ms, ret);
    if (!shop_coat_bake(shop, coat_id, now_ms, &ret->bake))
        ret->bake.bake = NULL;
    ret->condition = condition_of(ret);
    ret->inspect = ret->stages > 0 ? coat_inspect(shop, index, now_ms) : INSPECT_NOT;
    coat_cautions(shop, index, now_ms, &ret->cautions);
    return true;
}

/* ---- air ---- */

struct air_view shop_air(struct shop *shop, int64_t place_id, int64_t now_ms)
{
    const struct place_air *air = shop_air_of(shop, place_id);
    struct air_view view = {.assumed_from_at = MOMENT_NONE, .at = MOMENT_NONE};
    if (air->place_id != place_id || air->last_at == MOMENT_NONE)
        return view;
    struct air_step tail = place_air_tail(air, SIDE_OPENING, now_ms);
    view.known = true;
    view.at = air->last_at;
    view.temp_c = tail.temp0_c;
    view.rh_pct = tail.rh0_pct;
    view.dew_point_c = air_dew_point_c(view.temp_c, fmax(view.rh_pct, 0.1));
    view.basis = tail.basis;
    view.rh_basis = tail.rh_basis;
    if (place_air_hold_end(air) <= now_ms)
        view.assumed_from_at = place_air_hold_end(air);
    return view;
}

/* Those of from_ms to to_ms, moved to the front. */
static size_t keep_span(struct reading *readings, size_t count, int64_t from_ms, int64_t to_ms)
{
    size_t until = history_count_until(readings, count, to_ms - 1), first = history_count_until(readings, until, from_ms - 1);
    memmove(readings, readings + first, (until - first) * sizeof *readings);
    return until - first;
}

enum coat_result shop_readings(struct shop *shop, int64_t place_id, int64_t from_ms, int64_t to_ms, size_t most,
                               struct reading **ret, size_t *ret_count)
{
    struct reading *readings = NULL;
    size_t capacity = 0, count = 0;
    struct merge merge;
    enum coat_result result = place_air_read(shop_air_of(shop, place_id), from_ms, to_ms, &merge, &readings, &capacity, &count);
    if (result != COAT_OK) {
        free(readings);
        return result;
    }
    if (count > 0)
        count = keep_span(readings, count, from_ms, to_ms);
    if (count > most) { /* the last one always stays */
        for (size_t i = 0; i < most; i++)
            readings[i] = readings[i * (count - 1) / (most - 1)];
        count = most;
    }
    *ret = readings;
    *ret_count = count;
    return COAT_OK;
}

/* ---- cautions ---- */

void shop_cautions_for(struct shop *shop, enum caution_subject subject, int64_t material_id, int64_t piece_id,
                       int64_t place_id, struct caution_set *ret)
{
    const struct material_version *version = shop_material_newest(shop, material_id);
    const struct piece *piece = shop_piece(shop, piece_id);
    const struct place *place = shop_place(shop, place_id);
    struct caution_query query = {
        .subject = subject,
        .material = version ? &version->material : NULL,
        .application = version ? version->material.application : APPLY_SPRAY,
        .old_finish = piece ? piece->old_finish : OLD_FINISH_NOT_TESTED,
        .wet = true,
    };
    if (place)
        memcpy(query.place_risk, place->risk, sizeof query.place_risk);
    cautions_for(&query, ret);
}

/* The risks of all places in use together: any yes or missing answer counts. */
static void gather_risks(const struct shop *shop, enum answer risk[PLACE_RISK_COUNT])
{
    for (unsigned r = 0; r < PLACE_RISK_COUNT; r++) {
        risk[r] = shop->places.count > 0 ? ANSWER_NO : ANSWER_NONE;
        for (size_t i = 0; i < shop->places.count; i++) {
            const struct place *place = &shop->places.item[i];
            if (place->removed_at == MOMENT_NONE && place->risk[r] != ANSWER_NO && risk[r] != ANSWER_YES)
                risk[r] = place->risk[r];
        }
    }
}

void shop_cautions(struct shop *shop, int64_t now_ms, struct caution_set *ret)
{
    struct caution_query query = {.subject = CAUTION_FOR_SHOP, .wet = false};
    gather_risks(shop, query.place_risk);
    cautions_for(&query, ret);
    for (size_t i = 0; i < shop->coats.count; i++) {
        struct caution_set own;
        if (shop->clocks.item[i].status == COAT_ON && coat_cautions(shop, i, now_ms, &own))
            cautions_merge(ret, &own);
    }
    bakes_cautions(shop, now_ms, ret);
}
