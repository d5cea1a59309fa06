/* Batches of two-part materials: when one may be used, until when, and what is told about it.
 *
 * Induction and pot life hold at 21 C and halve for each 10 C warmer (UFGS 09971, para 3.7.1.3). They are laws like those of a coat:
 * induction an opening, pot life a closing, in the air of the place where the mix stands. */
#include "daemon/shop/model.h"
#include "daemon/shop/notice.h"

#include <math.h>
#include <string.h>

#define MIX_TEMP_C 21.0
#define MIX_DOUBLING_C 10.0
#define MIX_RH_PCT 50.0                /* damp does not act on it */
#define MIX_LONGEST_MS (1 * MS_PER_DAY) /* where no pot life is printed: common practice, nobody uses yesterday's mix */
#define MIX_LEAD_MOST_MS (30 * MS_PER_MIN)
#define LEAST_ASSUMED_H 1e-6           /* under this it is rounding */

static const enum notice_kind kind_of_news[MIX_NEWS_COUNT] = {
    [MIX_READY] = NOTICE_MIX_READY, [MIX_POT_LIFE] = NOTICE_POT_LIFE, [MIX_CORRECTION] = NOTICE_CORRECTION,
};

/* SIZE_MAX where there is none. */
static size_t mix_index_of(const struct shop *shop, int64_t mix_id)
{
    for (size_t i = shop->mixes.count; i-- > 0;) /* it is a late one that is asked for */
        if (shop->mixes.item[i].id == mix_id)
            return i;
    return SIZE_MAX;
}

static const struct material *material_of(const struct shop *shop, const struct mix *mix)
{
    return &shop_material_version(shop, mix->material_version_id)->material; /* the store holds the two together */
}

/* ---- its moments ---- */

/* The law of one hour at 21 C, one a side for all mixes. */
static enum coat_result mix_law(struct shop *shop, enum law_side side, size_t *ret_index)
{
    const struct law_terms terms = {
        .side = side,
        .rows = 1,
        .row = {{MIX_TEMP_C, 1.0}},
        .doubling_c = MIX_DOUBLING_C,
        .rule = HUMIDITY_SOLVENT,
        .ref_rh_pct = MIX_RH_PCT,
        .min_temp_c = (double)NAN,
        .max_rh_pct = (double)NAN,
    };
    struct law law;
    enum coat_result result = law_from_terms(&terms, &law, NULL);
    return result == COAT_OK ? shop_law_index(shop, &law, ret_index) : result;
}

static enum coat_result want_law(struct shop *shop, struct place_air *air, enum law_side side)
{
    size_t law = 0;
    enum coat_result result = mix_law(shop, side, &law);
    return result == COAT_OK ? place_air_want_law(air, &shop->laws.item[law], law) : result;
}

enum coat_result mixes_want(struct shop *shop)
{
    const struct air_limits none = {(double)NAN, (double)NAN, (double)NAN};
    enum coat_result result = COAT_OK;
    for (size_t i = 0; result == COAT_OK && i < shop->mixes.count; i++) {
        struct place_air *air = shop_air_of(shop, shop->mixes.item[i].place_id);
        result = want_law(shop, air, SIDE_OPENING);
        if (result == COAT_OK)
            result = want_law(shop, air, SIDE_CLOSING);
        if (result == COAT_OK)
            result = place_air_want_hours(air, &none);
    }
    return result;
}

/* When a time that is printed for 21 C has passed in the air of the mix. */
static enum coat_result moment_in_air(struct shop *shop, const struct mix *mix, enum law_side side, double hours, int64_t *ret_at)
{
    struct ledger *ledger = NULL;
    size_t law = 0;
    double begun = 0.0;
    enum coat_result result = mix_law(shop, side, &law);
    if (result == COAT_OK)
        result = place_air_ledger(shop_air_of(shop, mix->place_id), &shop->laws.item[law], law, &ledger);
    if (result == COAT_OK)
        result = ledger_value(ledger, mix->mixed_at, &begun);
    return result == COAT_OK ? ledger_when(ledger, begun + hours, ret_at) : result;
}

static int64_t printed_end(const struct mix *mix, double minutes)
{
    return mix->mixed_at + llround(minutes * (double)MS_PER_MIN);
}

static enum coat_result work_out_ready(struct shop *shop, const struct mix *mix, double minutes, int64_t *ret_at)
{
    int64_t at = MOMENT_NONE;
    *ret_at = MOMENT_NONE;
    if (isnan(minutes))
        return COAT_OK;
    enum coat_result result = moment_in_air(shop, mix, SIDE_OPENING, minutes / 60.0, &at);
    if (result == COAT_OK && at != MOMENT_NONE) {
        int64_t printed = printed_end(mix, minutes);
        *ret_at = at > printed ? at : printed;
    }
    return result;
}

static enum coat_result work_out_end(struct shop *shop, const struct mix *mix, double minutes, int64_t *ret_at)
{
    int64_t at = MOMENT_NONE;
    *ret_at = MOMENT_NONE;
    if (isnan(minutes))
        return COAT_OK;
    enum coat_result result = moment_in_air(shop, mix, SIDE_CLOSING, minutes / 60.0, &at);
    if (result == COAT_OK) {
        int64_t printed = printed_end(mix, minutes);
        *ret_at = at != MOMENT_NONE && at < printed ? at : printed;
    }
    return result;
}

/* Half an hour, or a quarter of a short pot life. */
static int64_t lead_of(const struct mix *mix, int64_t use_by_at)
{
    int64_t quarter = use_by_at == MOMENT_NONE ? 0 : (use_by_at - mix->mixed_at) / 4;
    return quarter < MIX_LEAD_MOST_MS ? quarter : MIX_LEAD_MOST_MS;
}

enum coat_result mix_clock_make(struct shop *shop, size_t mix_index)
{
    const struct mix *mix = &shop->mixes.item[mix_index];
    const struct material *material = material_of(shop, mix);
    struct mix_clock *clock = &shop->mix_clocks.item[mix_index];
    enum coat_result result = work_out_ready(shop, mix, material->induction_min, &clock->ready_at);
    if (result == COAT_OK)
        result = work_out_end(shop, mix, material->pot_life_min, &clock->use_by_at);
    clock->over_at = clock->use_by_at != MOMENT_NONE ? clock->use_by_at : mix->mixed_at + MIX_LONGEST_MS;
    clock->lead_ms = lead_of(mix, clock->use_by_at);
    clock->settled = false;
    return result;
}

bool mix_rests_on(const struct mix_clock *clock, int64_t since_ms)
{
    return clock->ready_at == MOMENT_NONE || clock->ready_at > since_ms || clock->over_at > since_ms;
}

/* ---- as it stands ---- */

/* Whether some of the air that it had up to at_ms is assumed. */
static bool is_assumed(const struct shop *shop, size_t mix_index, int64_t at_ms)
{
    const struct mix *mix = &shop->mixes.item[mix_index];
    const struct mix_clock *clock = &shop->mix_clocks.item[mix_index];
    struct place_air *air = shop_air_of(shop, mix->place_id);
    int64_t end = at_ms < clock->over_at ? at_ms : clock->over_at;
    struct ledger *ledger = NULL;
    double before = 0.0, after = 0.0;
    if (air->last_at == MOMENT_NONE)
        return true;
    enum coat_result result = place_air_assumed(air, false, &ledger);
    if (result == COAT_OK)
        result = ledger_value(ledger, mix->mixed_at, &before);
    if (result == COAT_OK)
        result = ledger_value(ledger, end > mix->mixed_at ? end : mix->mixed_at, &after);
    return result != COAT_OK || after - before > LEAST_ASSUMED_H;
}

/* No piece is touched: what was on one does not matter. */
static void mix_cautions(const struct shop *shop, const struct mix *mix, struct caution_set *ret)
{
    const struct material *material = material_of(shop, mix);
    const struct place *place = shop_place(shop, mix->place_id);
    struct caution_query query = {
        .subject = CAUTION_FOR_COAT,
        .material = material,
        .application = material->application,
        .old_finish = OLD_FINISH_CLEAR,
        .wet = true,
    };
    if (place)
        memcpy(query.place_risk, place->risk, sizeof query.place_risk);
    cautions_for(&query, ret);
}

bool shop_mix_view(struct shop *shop, int64_t mix_id, int64_t now_ms, struct mix_view *ret)
{
    size_t index = mix_index_of(shop, mix_id);
    if (index == SIZE_MAX)
        return false;
    const struct mix_clock *clock = &shop->mix_clocks.item[index];
    *ret = (struct mix_view){
        .mix = &shop->mixes.item[index],
        .material = shop_material_version(shop, shop->mixes.item[index].material_version_id),
        .ready_at = clock->ready_at,
        .use_by_at = clock->use_by_at,
        .over = now_ms >= clock->over_at,
        .basis = is_assumed(shop, index, now_ms) ? AIR_ASSUMED : AIR_MEASURED,
    };
    mix_cautions(shop, ret->mix, &ret->cautions);
    return true;
}

/* ---- the passing of time ---- */

int64_t mixes_next_due(const struct shop *shop, int64_t from_ms)
{
    int64_t next = MOMENT_NONE;
    for (size_t i = 0; i < shop->mixes.count; i++) {
        const struct mix_clock *clock = &shop->mix_clocks.item[i];
        int64_t hold_end = place_air_hold_end(shop_air_of(shop, shop->mixes.item[i].place_id));
        if (clock->settled || clock->over_at <= from_ms)
            continue;
        if (clock->ready_at != MOMENT_NONE && clock->ready_at < clock->over_at)
            next = moment_sooner_after(next, clock->ready_at, from_ms);
        next = moment_sooner_after(next, clock->over_at - clock->lead_ms, from_ms);
        next = moment_sooner_after(next, clock->over_at, from_ms);
        if (hold_end != MOMENT_NONE && hold_end < clock->over_at)
            next = moment_sooner_after(next, hold_end, from_ms); /* from then on its air is assumed, and that is told */
    }
    return next;
}

void mixes_settle(struct shop *shop, int64_t at_ms)
{
    for (size_t i = 0; i < shop->mix_clocks.count; i++)
        shop->mix_clocks.item[i].settled |= shop->mix_clocks.item[i].over_at <= at_ms;
}

/* ---- notices ---- */

struct gathering {
    struct shop *shop;
    size_t mix_index;
    const struct mix *mix;
    const struct mix_clock *clock;
    int64_t at_ms, now_ms;
    struct notice_batch *batch;
};

void mix_notice_tie(struct shop *shop, size_t number)
{
    const struct notice *notice = &shop->notices.item[number - 1];
    size_t index = notice->mix_id == 0 ? SIZE_MAX : mix_index_of(shop, notice->mix_id);
    for (unsigned news = 0; index != SIZE_MAX && news < MIX_NEWS_COUNT; news++)
        if (kind_of_news[news] == notice->kind)
            shop->mix_clocks.item[index].notice[news] = number;
}

/* The newest notice of this kind as it will be once the batch is stored; NULL where there is none. Good until the batch grows. */
static const struct notice *newest_of(const struct gathering *g, enum mix_news news)
{
    for (size_t i = g->batch->count; i-- > 0;) {
        const struct notice *notice = &g->batch->item[i];
        if (notice->mix_id == g->mix->id && notice->kind == kind_of_news[news])
            return notice;
    }
    size_t number = g->clock->notice[news];
    return number > 0 ? &g->shop->notices.item[number - 1] : NULL;
}

/* A notice that has no piece: the material and the mix name what it is about. */
static void word_notice(const struct gathering *g, struct notice *notice)
{
    bool over = notice->kind == NOTICE_POT_LIFE && g->now_ms >= g->clock->use_by_at;
    struct caution_set cautions;
    mix_cautions(g->shop, g->mix, &cautions);
    snprintf(notice->text, sizeof notice->text, "%s, mix %lld: %s%s. %s. The label comes first.", material_of(g->shop, g->mix)->name,
             (long long)g->mix->id, over ? "its pot life is over; do not use it any more" : notice_wording(notice->kind),
             !notice->assumed ? "" : over ? ", on assumed air" : ", on assumed air: test first", caution_text(cautions.code[0])->act);
}

static enum coat_result raise(const struct gathering *g, enum mix_news news, int64_t due_at)
{
    const struct notice *newest = newest_of(g, news);
    struct notice notice = {
        .kind = kind_of_news[news],
        .mix_id = g->mix->id,
        .turn = newest ? newest->turn + 1 : 1,
        .due_at = due_at,
        .until_at = news == MIX_READY ? g->clock->use_by_at : MOMENT_NONE,
        .assumed = is_assumed(g->shop, g->mix_index, g->at_ms),
        .raised_at = g->now_ms,
        .withdrawn_at = MOMENT_NONE,
        .acknowledged_at = MOMENT_NONE,
        .told_at = MOMENT_NONE,
    };
    word_notice(g, &notice);
    return notice_batch_add(g->batch, &notice) ? COAT_OK : COAT_NO_MEMORY;
}

/* That it is ready is of use while it can be used. What lies behind when it was entered is seen in the answer. */
static enum coat_result gather_ready(const struct gathering *g)
{
    const struct mix_clock *clock = g->clock;
    const struct notice *newest = newest_of(g, MIX_READY);
    bool stands = newest && newest->withdrawn_at == MOMENT_NONE;
    bool is_ready = clock->ready_at != MOMENT_NONE && clock->ready_at <= g->at_ms;
    bool over = g->now_ms >= clock->over_at;
    if (!stands)
        return is_ready && !over && clock->ready_at >= g->mix->entered_at ? raise(g, MIX_READY, clock->ready_at) : COAT_OK;
    if (is_ready && (!over || newest->acknowledged_at != MOMENT_NONE))
        return COAT_OK;
    enum coat_result result = notice_take_back(newest, g->now_ms, g->batch);
    return result == COAT_OK && !is_ready && !over ? raise(g, MIX_CORRECTION, clock->ready_at) : result;
}

/* The correction stands until it is ready after all, or of no use any more. */
static enum coat_result gather_correction(const struct gathering *g)
{
    const struct notice *newest = newest_of(g, MIX_CORRECTION);
    bool stands = newest && newest->withdrawn_at == MOMENT_NONE && newest->acknowledged_at == MOMENT_NONE;
    bool is_ready = g->clock->ready_at != MOMENT_NONE && g->clock->ready_at <= g->at_ms;
    return stands && (is_ready || g->now_ms >= g->clock->over_at) ? notice_take_back(newest, g->now_ms, g->batch) : COAT_OK;
}

/* Whether the end that was told is no longer the one to go by: a good deal sooner, or later by more than the lead. */
static bool end_moved(const struct mix_clock *clock, const struct notice *told)
{
    return clock->use_by_at < told->due_at - clock->lead_ms / 4 || clock->use_by_at > told->due_at + clock->lead_ms;
}

/* Told once, also where the service was off when it ended. Once it was over it is over: nothing is taken back then. */
static enum coat_result gather_pot_life(const struct gathering *g)
{
    const struct mix_clock *clock = g->clock;
    const struct notice *newest = newest_of(g, MIX_POT_LIFE);
    enum coat_result result = COAT_OK;
    if (clock->use_by_at == MOMENT_NONE)
        return COAT_OK;
    bool stands = newest && newest->withdrawn_at == MOMENT_NONE;
    if (stands && end_moved(clock, newest) && newest->due_at > g->at_ms) {
        result = notice_take_back(newest, g->now_ms, g->batch);
        stands = false;
    }
    bool due = clock->use_by_at - clock->lead_ms <= g->at_ms && clock->use_by_at > g->mix->entered_at;
    return result == COAT_OK && due && !stands ? raise(g, MIX_POT_LIFE, clock->use_by_at) : result;
}

static bool is_ahead(const struct gathering *g, enum mix_news news)
{
    const struct notice *newest = newest_of(g, news);
    return newest && notice_is_ahead(newest, g->at_ms);
}

static unsigned state_mark_of(const struct gathering *g)
{
    const struct mix_clock *clock = g->clock;
    unsigned ready = clock->ready_at != MOMENT_NONE && clock->ready_at <= g->at_ms;
    unsigned ending = clock->over_at - clock->lead_ms <= g->at_ms, over = clock->over_at <= g->at_ms;
    return 1 + ready + 2 * ending + 4 * over + 8 * (unsigned)is_assumed(g->shop, g->mix_index, g->at_ms);
}

static enum coat_result gather_mix(struct gathering *g, bool *changed)
{
    struct mix_clock *clock = &g->shop->mix_clocks.item[g->mix_index];
    unsigned mark = state_mark_of(g);
    enum coat_result result = is_ahead(g, MIX_CORRECTION) ? COAT_OK : gather_correction(g);
    if (result == COAT_OK && !is_ahead(g, MIX_READY))
        result = gather_ready(g);
    if (result == COAT_OK && !is_ahead(g, MIX_POT_LIFE))
        result = gather_pot_life(g);
    *changed |= mark != clock->state_mark && clock->state_mark != 0;
    clock->state_mark = mark;
    return result;
}

enum coat_result notice_gather_mixes(struct shop *shop, int64_t at_ms, int64_t now_ms, struct notice_batch *batch, bool *changed)
{
    enum coat_result result = COAT_OK;
    for (size_t i = 0; result == COAT_OK && i < shop->mixes.count; i++) {
        struct gathering g = {shop, i, &shop->mixes.item[i], &shop->mix_clocks.item[i], at_ms, now_ms, batch};
        if (!g.clock->settled)
            result = gather_mix(&g, changed);
    }
    return result;
}
