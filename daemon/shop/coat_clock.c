/* The boundaries of a coat as marks on the clocks of the places where it hung. */
#include "daemon/shop/lag.h"
#include "daemon/shop/learn.h"
#include "daemon/shop/notice.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* How a coat was laid where nobody measured it: common practice. */
static const double film_ratio_told[FILM_COUNT] = {[FILM_LIGHT] = 0.7, [FILM_NORMAL] = 1.0, [FILM_HEAVY] = 1.4};
/* Volume solids of a brushing enamel where the label prints none: common practice, on the thick side. */
#define USUAL_SOLIDS_PCT 50.0

/* Film over the reference film: as measured, else as told. */
static double coat_film_ratio(const struct coat *coat, const struct material *material)
{
    double dry_um = coat->dry_um;
    if (isnan(dry_um) && !isnan(coat->wet_um))
        dry_um = coat->wet_um * (isnan(material->solids_pct) ? USUAL_SOLIDS_PCT : material->solids_pct) / 100.0;
    if (!isnan(dry_um) && material->film_um > 0.0)
        return dry_um / material->film_um;
    return film_ratio_told[coat->film];
}

void coat_clock_free(struct coat_clock *clock)
{
    free(clock->boundary);
    clock->boundary = NULL;
    clock->boundaries = 0;
    clock->limits.known = false;
}

enum coat_result shop_law_index(struct shop *shop, const struct law *law, size_t *ret_index)
{
    for (size_t i = 0; i < shop->laws.count; i++) {
        if (law_equal(&shop->laws.item[i], law)) {
            *ret_index = i;
            return COAT_OK;
        }
    }
    if (!LIST_RESERVE(&shop->laws))
        return COAT_NO_MEMORY;
    *ret_index = shop->laws.count;
    shop->laws.item[shop->laws.count++] = *law;
    return COAT_OK;
}

static int64_t limit_of(const struct coat *coat, enum stage stage, const struct stage_boundary *boundary)
{
    double hours = boundary_limit_h(stage, boundary);
    if (isnan(hours))
        return MOMENT_NONE;
    int64_t from = boundary_side(boundary) == SIDE_OPENING ? coat->last_at : coat->first_at;
    return from + (int64_t)llround(hours * (double)MS_PER_H);
}

static enum coat_result make_boundary(struct shop *shop, const struct coat *coat, const struct material *material,
                                      enum stage stage, unsigned index, struct boundary_clock *ret)
{
    const struct stage_boundary *boundary = &material->stage[stage].boundary[index];
    struct law_terms terms;
    struct law law;
    boundary_terms(material, stage, boundary, &terms);
    enum coat_result result = law_from_terms(&terms, &law, NULL);
    if (result != COAT_OK)
        return result;
    *ret = (struct boundary_clock){
        .stage = stage,
        .index = index,
        .then = boundary->then,
        .side = law.side,
        .hours = boundary->row[0].hours,
        .start_ms = law.side == SIDE_OPENING ? coat->last_at : coat->first_at,
        .limit_at = limit_of(coat, stage, boundary),
        .heeds_rh = law_heeds_humidity(&law),
        .by_hottest = material->closes_by_hottest && stage == STAGE_RECOAT && law.side == SIDE_CLOSING,
        .here_from_ms = MOMENT_NONE,
        .warm_at = MOMENT_NONE,
        .passed_at = MOMENT_NONE,
        .assumed_h = (double)NAN,
    };
    return shop_law_index(shop, &law, &ret->law);
}

static void touch(struct place_air *air, int64_t at_ms)
{
    if (at_ms != INT64_MAX && at_ms > air->touched_until)
        air->touched_until = at_ms;
}

/* A casting that came to the stay colder or warmer than its air. The loss is taken at once, so that within it an opening is told late, not early. */
static enum coat_result lag_behind(const struct shop *shop, int64_t piece_id, struct boundary_clock *b, const struct stay *stay)
{
    int64_t warm_at;
    double growth;
    enum coat_result result = stay_lag(shop, piece_id, stay, b->ledger, &warm_at, &growth);
    if (result != COAT_OK)
        return result;
    touch(stay->air, warm_at);
    b->warm_at = warm_at;
    b->carried += growth;
    b->lagged += growth;
    return COAT_OK;
}

/* One stay: ends the search (done) where the boundary was reached in it, or where it is the current one. */
static enum coat_result place_in_stay(const struct shop *shop, int64_t piece_id, struct boundary_clock *b, const struct stay *stay, bool *done)
{
    double entered, left;
    enum coat_result result = place_air_ledger(stay->air, &shop->laws.item[b->law], b->law, &b->ledger);
    if (result == COAT_OK)
        result = ledger_value(b->ledger, stay->from_ms, &entered);
    if (result == COAT_OK && piece_was_carried(shop, piece_id, stay->from_ms))
        result = lag_behind(shop, piece_id, b, stay);
    if (result != COAT_OK)
        return result;
    touch(stay->air, stay->from_ms);
    touch(stay->air, stay->to_ms);
    b->target = entered + b->needed - b->carried;
    bool current = stay->to_ms == INT64_MAX;
    left = b->ledger->anchor_value;
    if (!current)
        result = ledger_value(b->ledger, stay->to_ms, &left);
    if (result != COAT_OK)
        return result;
    if (current)
        b->here_from_ms = stay->from_ms;
    *done = current || left >= b->target;
    if (left >= b->target)
        return ledger_when(b->ledger, b->target, &b->passed_at);
    if (!current)
        b->carried += left - entered;
    return COAT_OK;
}

static enum coat_result place_boundary(const struct shop *shop, int64_t piece_id, struct boundary_clock *b)
{
    struct stay stays[STAYS_MAX];
    unsigned count = coat_stays(shop, piece_id, b->start_ms, stays);
    bool done = false;
    for (unsigned i = 0; i < count && !done; i++) {
        enum coat_result result = place_in_stay(shop, piece_id, b, &stays[i], &done);
        if (result != COAT_OK)
            return result;
    }
    return COAT_OK;
}

/* The places where it took up what it still carries when the coat goes on: their air counts for it as well. */
static void touch_before(const struct shop *shop, const struct coat *coat)
{
    struct stay stays[STAYS_MAX];
    unsigned count = stays_until(shop, coat->piece_id, coat->first_at - LAG_PAST_MS, coat->first_at, stays);
    for (unsigned i = 0; count > 1 && i < count; i++)
        touch(stays[i].air, stays[i].to_ms);
}

/* ---- closings by the hottest air ---- */

struct hottest {
    const struct law *law;
    const struct boundary_clock *b;
    double temp_c;
    int64_t passed_at; /* MOMENT_NONE until the time since the first pass was all that the hottest air so far allows */
};

static int64_t closing_at(const struct hottest *h, double temp_c)
{
    double rate = law_rate(h->law, temp_c, h->law->ref_rh_pct, NULL);
    return h->b->start_ms + (int64_t)floor(h->b->needed / rate * (double)MS_PER_H); /* never late */
}

/* The rule asks for the hottest hour; the hottest moment errs to the early side. */
static bool add_heat(const struct air_step *step, void *context)
{
    struct hottest *h = context;
    double top = fmax(step->temp0_c, step->temp1_c);
    h->temp_c = fmax(h->temp_c, isnan(top) ? HISTORY_UNKNOWN_WARM_C : top);
    int64_t closes = closing_at(h, h->temp_c);
    if (closes > step->to_ms)
        return true;
    h->passed_at = closes > step->from_ms ? closes : step->from_ms;
    return false;
}

/* Over known air; and then the tail: held, then the warm end. */
static int64_t closing_in_tail(const struct hottest *h, const struct place_air *air)
{
    int64_t hold_end = place_air_hold_end(air), closes = closing_at(h, h->temp_c);
    if (hold_end == MOMENT_NONE || closes <= hold_end)
        return closes;
    int64_t later = closing_at(h, fmax(h->temp_c, air->assumption.warm_c));
    return later > hold_end ? later : hold_end;
}

static enum coat_result place_by_hottest(struct shop *shop, int64_t piece_id, struct boundary_clock *b)
{
    struct stay stays[STAYS_MAX];
    unsigned count = coat_stays(shop, piece_id, b->start_ms, stays);
    struct hottest h = {&shop->laws.item[b->law], b, -(double)INFINITY, MOMENT_NONE};
    for (unsigned i = 0; i < count && h.passed_at == MOMENT_NONE; i++) {
        struct place_air *air = stays[i].air;
        int64_t known_to = air->last_at == MOMENT_NONE ? stays[i].from_ms + 1 : air->last_at + 1;
        bool current = stays[i].to_ms == INT64_MAX;
        int64_t end = current ? (known_to > stays[i].from_ms ? known_to : stays[i].from_ms + 1) : stays[i].to_ms;
        touch(air, stays[i].from_ms);
        touch(air, stays[i].to_ms);
        enum coat_result result = place_air_walk(air, stays[i].from_ms, end, SIDE_CLOSING, add_heat, &h);
        if (result != COAT_OK)
            return result;
    }
    int64_t closes = h.passed_at != MOMENT_NONE ? h.passed_at : closing_in_tail(&h, stays[count - 1].air);
    if (b->limit_at == MOMENT_NONE || closes < b->limit_at)
        b->limit_at = closes;
    return COAT_OK;
}

static enum coat_result place_hot(struct shop *shop, size_t coat_index, struct boundary_clock *b)
{
    struct coat_clock *clock = &shop->clocks.item[coat_index];
    enum coat_result result = place_by_hottest(shop, shop->coats.item[coat_index].piece_id, b);
    if (clock->heat_closes_at == MOMENT_NONE || b->limit_at > clock->heat_closes_at)
        clock->heat_closes_at = b->limit_at;
    return result;
}

static unsigned count_boundaries(const struct material *material)
{
    unsigned count = 0;
    for (unsigned stage = 0; stage < STAGE_COUNT; stage++)
        count += material->stage[stage].boundaries;
    return count;
}

static void drop_marks(struct shop *shop, size_t coat_index)
{
    for (size_t i = 0; i < shop->airs.count; i++)
        for (size_t k = 0; k < shop->airs.item[i]->ledgers; k++)
            ledger_marks_drop(shop->airs.item[i]->ledger[k], (uint32_t)coat_index);
}

static enum coat_result add_mark(struct coat_clock *clock, size_t coat_index, unsigned index)
{
    struct boundary_clock *b = &clock->boundary[index];
    if (b->passed_at != MOMENT_NONE)
        return COAT_OK;
    return ledger_mark_add(b->ledger, (struct mark){b->target, (uint32_t)coat_index, index, clock->stamp});
}

/* The ledgers that a coat asks for, wherever its piece hung. */
static enum coat_result want_ledgers(struct shop *shop, const struct coat *coat, const struct coat_clock *clock,
                                     const struct material *material)
{
    struct air_limits limits = {material->min_temp_c, material->max_temp_c, material->max_rh_pct};
    struct stay stays[STAYS_MAX];
    unsigned count = coat_stays(shop, coat->piece_id, coat->first_at, stays);
    enum coat_result result = COAT_OK;
    for (unsigned i = 0; result == COAT_OK && i < count; i++) {
        result = place_air_want_hours(stays[i].air, &limits);
        for (unsigned k = 0; result == COAT_OK && k < clock->boundaries; k++) {
            size_t law = clock->boundary[k].law;
            result = place_air_want_law(stays[i].air, &shop->laws.item[law], law);
        }
    }
    return result;
}

static enum coat_result make_boundaries(struct shop *shop, const struct coat *coat, struct coat_clock *clock,
                                        const struct material *material)
{
    unsigned count = count_boundaries(material);
    enum coat_result result = COAT_OK;
    clock->boundary = calloc(count ? count : 1, sizeof *clock->boundary);
    if (!clock->boundary)
        return COAT_NO_MEMORY;
    for (unsigned stage = 0; stage < STAGE_COUNT; stage++)
        for (unsigned i = 0; result == COAT_OK && i < material->stage[stage].boundaries; i++) {
            result = make_boundary(shop, coat, material, (enum stage)stage, i, &clock->boundary[clock->boundaries]);
            clock->boundaries += result == COAT_OK;
        }
    return result == COAT_OK ? want_ledgers(shop, coat, clock, material) : result;
}

enum coat_result coat_clock_begin(struct shop *shop, size_t coat_index)
{
    const struct coat *coat = &shop->coats.item[coat_index];
    struct coat_clock *clock = &shop->clocks.item[coat_index];
    const struct material_version *version = shop_material_version(shop, coat->material_version_id);
    if (clock->boundaries > 0)
        drop_marks(shop, coat_index);
    coat_clock_free(clock);
    clock->stamp++;
    clock->inspect_settled = false;
    clock->k = 1.0;
    clock->film = version ? coat_film_ratio(coat, &version->material) : 1.0;
    clock->film_under = 0.0;
    clock->heat_closes_at = MOMENT_NONE;
    if (!version || clock->status == COAT_STRUCK)
        return COAT_OK;
    return make_boundaries(shop, coat, clock, &version->material);
}

/* ---- films over films ---- */

/* Through-drying has to come up through every film that is not dry through yet; what happens at the surface has not. */
static bool counts_films_under(enum stage stage)
{
    return stage == STAGE_HANDLE || stage == STAGE_CURE || stage == STAGE_BAKE;
}

double boundary_film(const struct coat_clock *clock, const struct boundary_clock *b)
{
    return clock->film + (counts_films_under(b->stage) && b->side == SIDE_OPENING ? clock->film_under : 0.0);
}

static double needed_with(const struct coat_clock *clock, const struct boundary_clock *b, const struct material *material,
                          double k)
{
    double film = law_film_factor(b->side, boundary_film(clock, b), 1.0, material->film_exponent);
    return law_hours_needed(b->side, b->hours, film, k);
}

struct boundary_clock *clock_first_opening(const struct coat_clock *clock, enum stage stage)
{
    for (unsigned i = 0; i < clock->boundaries; i++)
        if (clock->boundary[i].stage == stage && clock->boundary[i].side == SIDE_OPENING)
            return &clock->boundary[i];
    return NULL;
}

struct law_of_shop {
    const struct law *law;
    size_t index;
};

static enum coat_result pick_law(struct place_air *air, const void *what, struct ledger **ret)
{
    const struct law_of_shop *law = what;
    return place_air_ledger(air, law->law, law->index, ret);
}

/* Growth of a boundary's law over the air of the piece from its start to at_ms. */
static bool growth_until(struct shop *shop, int64_t piece_id, const struct boundary_clock *b, int64_t at_ms, double *ret)
{
    struct stay stays[STAYS_MAX];
    struct law_of_shop law = {&shop->laws.item[b->law], b->law};
    unsigned count = stays_until(shop, piece_id, b->start_ms, at_ms, stays);
    for (unsigned i = 0; i < count; i++)
        touch(stays[i].air, stays[i].to_ms);
    return piece_ledger_sum(shop, piece_id, b->start_ms, at_ms, pick_law, &law, ret) == COAT_OK;
}

bool coat_stage_growth(struct shop *shop, size_t coat_index, enum stage stage, int64_t at_ms, struct stage_growth *ret)
{
    const struct coat *coat = &shop->coats.item[coat_index];
    const struct coat_clock *clock = &shop->clocks.item[coat_index];
    const struct material_version *version = shop_material_version(shop, coat->material_version_id);
    const struct boundary_clock *b = clock_first_opening(clock, stage);
    double grown;
    if (!b || !version || !growth_until(shop, coat->piece_id, b, at_ms, &grown))
        return false;
    *ret = (struct stage_growth){
        .grown = grown,
        .needed = needed_with(clock, b, &version->material, 1.0),
        .assumed_h = piece_assumed_hours(shop, coat->piece_id, b->heeds_rh, b->start_ms, at_ms),
        .hours = (double)(at_ms - b->start_ms) / (double)MS_PER_H,
    };
    return true;
}

/* What of a coat below was not dry through when the next went on, as a share of its film. By k = 1, so that what is learned of one
 * material never hangs on what was learned of another. */
static double share_still_soft(struct shop *shop, size_t below, int64_t at_ms)
{
    const struct coat *coat = &shop->coats.item[below];
    const struct coat_clock *clock = &shop->clocks.item[below];
    const struct boundary_clock *handle = clock_first_opening(clock, STAGE_HANDLE);
    const struct material_version *version = shop_material_version(shop, coat->material_version_id);
    double grown;
    if (!handle || (handle->passed_at != MOMENT_NONE && handle->passed_at <= at_ms))
        return 0.0;
    if (!version || !growth_until(shop, coat->piece_id, handle, at_ms, &grown))
        return 1.0;
    return fmin(fmax(1.0 - grown / needed_with(clock, handle, &version->material, 1.0), 0.0), 1.0);
}

static double films_under(struct shop *shop, size_t coat_index)
{
    const struct coat *upper = &shop->coats.item[coat_index];
    double sum = 0.0;
    for (size_t i = 0; i < shop->coats.count; i++) {
        const struct coat_clock *below = &shop->clocks.item[i];
        bool gone = below->status == COAT_STRUCK || (below->status == COAT_STRIPPED && below->ended_at <= upper->first_at);
        const struct coat *lower = &shop->coats.item[i];
        bool lies_under = lower->piece_id == upper->piece_id && areas_touch(lower->area, upper->area) && coat_lies_over(upper, lower);
        if (!gone && lies_under)
            sum += below->film * share_still_soft(shop, i, upper->first_at);
    }
    return sum;
}

static void set_needed(struct shop *shop, size_t coat_index)
{
    const struct coat *coat = &shop->coats.item[coat_index];
    struct coat_clock *clock = &shop->clocks.item[coat_index];
    const struct material_version *version = shop_material_version(shop, coat->material_version_id);
    if (!version)
        return;
    clock->k = learn_k_of(shop, coat);
    clock->film_under = films_under(shop, coat_index);
    for (unsigned i = 0; i < clock->boundaries; i++)
        clock->boundary[i].needed = needed_with(clock, &clock->boundary[i], &version->material, clock->k);
}

/* ---- the finger test of a size ---- */

static const struct bench_test *first_passed(const struct shop *shop, int64_t coat_id)
{
    const struct bench_test *first = NULL;
    for (size_t i = 0; i < shop->bench_tests.count; i++) {
        const struct bench_test *test = &shop->bench_tests.item[i];
        if (test->coat_id == coat_id && test->stage == STAGE_LEAF && test->passed && (!first || test->at < first->at))
            first = test;
    }
    return first;
}

/* The last one that failed before at_ms. */
static const struct bench_test *last_failed(const struct shop *shop, int64_t coat_id, int64_t at_ms)
{
    const struct bench_test *last = NULL;
    for (size_t i = 0; i < shop->bench_tests.count; i++) {
        const struct bench_test *test = &shop->bench_tests.item[i];
        bool counts = test->coat_id == coat_id && test->stage == STAGE_LEAF && !test->passed && test->at < at_ms;
        if (counts && (!last || test->at > last->at))
            last = test;
    }
    return last;
}

/* A finger that finds no tack moves the end out: tack came no earlier than that, and the shortest open time counts from then. One that
 * finds it opens the window there and then; before the earliest tack of the table, the whole of it is taken to run that much faster. */
static void apply_finger_tests(struct shop *shop, size_t coat_index)
{
    const struct coat *coat = &shop->coats.item[coat_index];
    struct coat_clock *clock = &shop->clocks.item[coat_index];
    struct stage_run run = stage_run_of(clock, STAGE_LEAF);
    if (run.count < 2)
        return;
    struct boundary_clock *tack = &run.first[0], *end = &run.first[1];
    const struct bench_test *passed = first_passed(shop, coat->id);
    const struct bench_test *failed = last_failed(shop, coat->id, passed ? passed->at : INT64_MAX);
    double grown;
    if (failed && growth_until(shop, coat->piece_id, tack, failed->at, &grown) && grown > tack->needed)
        end->needed += grown - tack->needed;
    if (!passed)
        return;
    if (growth_until(shop, coat->piece_id, tack, passed->at, &grown) && grown < tack->needed)
        end->needed *= grown / tack->needed;
    tack->then = SPAN_GO;
    tack->passed_at = passed->at;
}

static int by_layer(const void *a, const void *b, void *context)
{
    const struct coat *coats = context, *x = &coats[*(const size_t *)a], *y = &coats[*(const size_t *)b];
    return coat_lies_over(x, y) - coat_lies_over(y, x);
}

enum coat_result coats_from_below(const struct shop *shop, int64_t piece_id, size_t **ret, size_t *ret_count)
{
    size_t count = 0, *index = calloc(shop->coats.count + 1, sizeof *index);
    if (!index)
        return COAT_NO_MEMORY;
    for (size_t i = 0; i < shop->coats.count; i++)
        if (piece_id == 0 || shop->coats.item[i].piece_id == piece_id)
            index[count++] = i;
    qsort_r(index, count, sizeof *index, by_layer, shop->coats.item);
    *ret = index;
    *ret_count = count;
    return COAT_OK;
}

enum coat_result coat_clock_place(struct shop *shop, size_t coat_index)
{
    const struct coat *coat = &shop->coats.item[coat_index];
    struct coat_clock *clock = &shop->clocks.item[coat_index];
    struct place_air *air = shop_air_of(shop, shop_piece_place(shop, coat->piece_id, coat->last_at));
    struct air_step then;
    enum coat_result result = place_air_at(air, coat->last_at, &then);
    if (result != COAT_OK)
        return result;
    clock->air_temp_c = then.temp0_c;
    clock->air_rh_pct = then.rh0_pct;
    clock->air_basis = then.basis == AIR_MEASURED ? then.rh_basis : then.basis;
    touch(air, coat->last_at);
    touch_before(shop, coat);
    set_needed(shop, coat_index);
    if (clock->status == COAT_STRIPPED)
        return COAT_OK; /* nothing of it is waited for; its tests still count */
    apply_finger_tests(shop, coat_index);
    for (unsigned i = 0; result == COAT_OK && i < clock->boundaries; i++) {
        struct boundary_clock *b = &clock->boundary[i];
        if (b->passed_at != MOMENT_NONE)
            continue; /* a finger said so */
        if (b->by_hottest) {
            result = place_hot(shop, coat_index, b);
        } else {
            result = place_boundary(shop, coat->piece_id, b);
            if (result == COAT_OK)
                result = add_mark(clock, coat_index, i);
        }
    }
    return result;
}

enum coat_result coat_clock_follow_heat(struct shop *shop, size_t coat_index)
{
    const struct coat *coat = &shop->coats.item[coat_index];
    struct coat_clock *clock = &shop->clocks.item[coat_index];
    const struct material_version *version = shop_material_version(shop, coat->material_version_id);
    enum coat_result result = COAT_OK;
    clock->heat_closes_at = MOMENT_NONE;
    clock->limits.known = false;
    for (unsigned i = 0; version && result == COAT_OK && i < clock->boundaries; i++) {
        struct boundary_clock *b = &clock->boundary[i];
        if (!b->by_hottest || b->passed_at != MOMENT_NONE)
            continue;
        b->limit_at = limit_of(coat, b->stage, &version->material.stage[b->stage].boundary[b->index]);
        result = place_hot(shop, coat_index, b);
    }
    return result;
}

int64_t boundary_limited(const struct boundary_clock *b, int64_t at)
{
    if (b->limit_at == MOMENT_NONE)
        return at;
    if (b->side == SIDE_OPENING)
        return at == MOMENT_NONE || at > b->limit_at ? at : b->limit_at;
    return at == MOMENT_NONE || at > b->limit_at ? b->limit_at : at;
}

int64_t boundary_due(const struct boundary_clock *b)
{
    int64_t at = b->passed_at;
    if (at == MOMENT_NONE && b->ledger)
        at = ledger_tail_when(b->ledger, b->target);
    return boundary_limited(b, at);
}

bool boundary_is_assumed(const struct boundary_clock *b, int64_t at_ms)
{
    /* without a ledger it goes by the hottest air so far: known, whatever comes */
    return b->ledger && b->passed_at == MOMENT_NONE && place_air_is_assumed(b->ledger->air, b->heeds_rh, at_ms);
}
