/* From the store to the living model, and what is made anew when facts change. */
#include "daemon/shop/lag.h"
#include "daemon/shop/learn.h"
#include "daemon/shop/model.h"
#include "daemon/shop/notice.h"
#include "daemon/shop/write.h"

#include "coat/air.h"

#include <stdlib.h>
#include <string.h>

/* More readings than this at once are added up from the store, day by day, instead of one by one. */
#define APPEND_MOST 256

struct loading {
    struct shop *shop;
    bool no_memory;
};

#define LOADER(name, type, member)                                                                       \
    static bool load_##name(const struct type *value, void *context)                                      \
    {                                                                                                     \
        struct loading *loading = context;                                                                \
        struct shop *shop = loading->shop;                                                                \
        if (!LIST_RESERVE(&shop->member)) {                                                               \
            loading->no_memory = true;                                                                    \
            return false;                                                                                 \
        }                                                                                                 \
        shop->member.item[shop->member.count++] = *value;                                                 \
        return true;                                                                                      \
    }
LOADER(place, place, places)
LOADER(piece, piece, pieces)
LOADER(rack, rack, racks)
LOADER(move, move, moves)
LOADER(coat, coat, coats)
LOADER(sanding, sanding, sandings)
LOADER(stripping, stripping, strippings)
LOADER(bench_test, bench_test, bench_tests)
LOADER(tin, tin, tins)
LOADER(mix, mix, mixes)
LOADER(release, solvent_release, releases)
LOADER(piece_note, piece_note, piece_notes)
LOADER(photo, photo, photos)
LOADER(bake, bake, bakes)
LOADER(bake_part, bake_part, bake_parts)
LOADER(bake_hold, bake_hold, bake_holds)
LOADER(bake_answer, bake_answer, bake_answers)
LOADER(bake_gap, bake_gap, bake_gaps)

static bool load_material(const struct material_version *version, bool removed, void *context)
{
    struct loading *loading = context;
    struct shop *shop = loading->shop;
    if (!LIST_RESERVE(&shop->materials) || !LIST_RESERVE(&shop->material_removed)) {
        loading->no_memory = true;
        return false;
    }
    shop->materials.item[shop->materials.count++] = *version;
    shop->material_removed.item[shop->material_removed.count++] = removed;
    return true;
}

static bool load_notice(const struct notice *notice, void *context)
{
    struct loading *loading = context;
    struct shop *shop = loading->shop;
    bool room = LIST_RESERVE(&shop->notices);
    if (room)
        shop->notices.item[shop->notices.count++] = *notice;
    loading->no_memory = !room || notice_tie(shop) != COAT_OK;
    return !loading->no_memory;
}

static enum coat_result match_clocks(struct shop *shop)
{
    while (shop->place_notices.count < shop->places.count) {
        if (!LIST_RESERVE(&shop->place_notices))
            return COAT_NO_MEMORY;
        shop->place_notices.item[shop->place_notices.count++] = 0;
    }
    while (shop->clocks.count < shop->coats.count) {
        if (!LIST_RESERVE(&shop->clocks))
            return COAT_NO_MEMORY;
        shop->clocks.item[shop->clocks.count++] = (struct coat_clock){.ended_at = MOMENT_NONE, .heat_closes_at = MOMENT_NONE};
    }
    while (shop->mix_clocks.count < shop->mixes.count) {
        if (!LIST_RESERVE(&shop->mix_clocks))
            return COAT_NO_MEMORY;
        shop->mix_clocks.item[shop->mix_clocks.count++] = (struct mix_clock){0};
    }
    while (shop->bake_marks.count < shop->bakes.count) {
        if (!LIST_RESERVE(&shop->bake_marks))
            return COAT_NO_MEMORY;
        shop->bake_marks.item[shop->bake_marks.count++] = 0;
    }
    return COAT_OK;
}

static enum coat_result load_bakes(struct shop *shop, struct loading *loading)
{
    enum coat_result result = store_bakes(shop->store, load_bake, loading);
    if (result == COAT_OK)
        result = store_bake_parts(shop->store, load_bake_part, loading);
    if (result == COAT_OK)
        result = store_bake_holds(shop->store, load_bake_hold, loading);
    if (result == COAT_OK)
        result = store_bake_answers(shop->store, load_bake_answer, loading);
    if (result == COAT_OK)
        result = store_bake_gaps(shop->store, load_bake_gap, loading);
    return result == COAT_OK ? store_bake_seen(shop->store, &shop->bake_seen_at) : result;
}

static enum coat_result load_facts(struct shop *shop)
{
    struct loading loading = {shop, false};
    enum coat_result result = store_settings_get(shop->store, &shop->settings);
    if (result == COAT_OK)
        result = store_places(shop->store, load_place, &loading);
    if (result == COAT_OK)
        result = store_pieces(shop->store, load_piece, &loading);
    if (result == COAT_OK)
        result = store_racks(shop->store, load_rack, &loading);
    if (result == COAT_OK)
        result = store_moves(shop->store, load_move, &loading);
    if (result == COAT_OK)
        result = store_materials(shop->store, load_material, &loading);
    if (result == COAT_OK)
        result = store_coats(shop->store, load_coat, &loading);
    if (result == COAT_OK)
        result = store_sandings(shop->store, load_sanding, &loading);
    if (result == COAT_OK)
        result = store_strippings(shop->store, load_stripping, &loading);
    if (result == COAT_OK)
        result = store_bench_tests(shop->store, load_bench_test, &loading);
    if (result == COAT_OK)
        result = store_tins(shop->store, load_tin, &loading);
    if (result == COAT_OK)
        result = store_mixes(shop->store, load_mix, &loading);
    if (result == COAT_OK)
        result = store_releases(shop->store, load_release, &loading);
    if (result == COAT_OK)
        result = store_piece_notes(shop->store, load_piece_note, &loading);
    if (result == COAT_OK)
        result = store_photos(shop->store, load_photo, &loading);
    if (result == COAT_OK)
        result = load_bakes(shop, &loading);
    if (result == COAT_OK)
        result = sensors_load(shop);
    if (result == COAT_OK)
        result = match_clocks(shop);
    if (result == COAT_OK)
        result = store_notices(shop->store, 0, load_notice, &loading);
    if (result == COAT_OK && !loading.no_memory)
        result = channels_load(shop);
    return loading.no_memory ? COAT_NO_MEMORY : result;
}

/* ---- places and their air ---- */

struct place_air *shop_air_of(const struct shop *shop, int64_t place_id)
{
    for (size_t i = 1; i < shop->airs.count; i++)
        if (shop->airs.item[i]->place_id == place_id)
            return shop->airs.item[i];
    return shop->airs.item[0];
}

static bool is_heated(const void *shop, int64_t place_id, int64_t at_ms)
{
    return heating_at(shop, place_id, at_ms) != NULL;
}

static enum coat_result add_air(struct shop *shop, int64_t place_id)
{
    struct merge_source sources[MERGE_SOURCES_MAX];
    unsigned count = sensors_as_sources(shop, place_id, sources);
    if (!LIST_RESERVE(&shop->airs))
        return COAT_NO_MEMORY;
    enum coat_result result =
        place_air_open(shop->store, place_id, shop->base_day, sources, count, &shop->airs.item[shop->airs.count]);
    if (result != COAT_OK)
        return result;
    struct place_air *air = shop->airs.item[shop->airs.count++];
    air->is_heated = is_heated;
    air->shop = shop;
    return COAT_OK;
}

enum coat_result model_place_added(struct shop *shop, int64_t place_id)
{
    enum coat_result result = match_clocks(shop);
    return result == COAT_OK ? add_air(shop, place_id) : result;
}

static void close_airs(struct shop *shop)
{
    for (size_t i = 0; i < shop->airs.count; i++)
        place_air_close(shop->airs.item[i]);
    shop->airs.count = 0;
}

/* The ledgers count from before the earliest coat or mix: a function of the facts, so that sums never depend on how they came. Two days
 * before, so that the mean rate of the last day is known for the first coat as well. */
#define DAYS_BEFORE 2
static int64_t earliest_day(const struct shop *shop)
{
    int64_t earliest = INT64_MAX;
    for (size_t i = 0; i < shop->coats.count; i++)
        if (shop->coats.item[i].first_at < earliest)
            earliest = shop->coats.item[i].first_at;
    for (size_t i = 0; i < shop->mixes.count; i++)
        if (shop->mixes.item[i].mixed_at < earliest)
            earliest = shop->mixes.item[i].mixed_at;
    return earliest == INT64_MAX ? 0 : moment_day(earliest) - DAYS_BEFORE;
}

/* ---- coats ---- */

size_t shop_coat_index(const struct shop *shop, int64_t coat_id)
{
    size_t low = 0, high = shop->coats.count;
    while (low < high) {
        size_t mid = low + (high - low) / 2;
        if (shop->coats.item[mid].id < coat_id)
            low = mid + 1;
        else
            high = mid;
    }
    return low < shop->coats.count && shop->coats.item[low].id == coat_id ? low : SIZE_MAX;
}

/* Makes the coats of a piece (0: of all) again: begun all together, so that their air is walked once; placed from below, since a soft
 * film under a coat counts for it. */
static enum coat_result make_clocks(struct shop *shop, int64_t piece_id)
{
    size_t *order, count;
    enum coat_result result = coats_from_below(shop, piece_id, &order, &count);
    if (result != COAT_OK)
        return result;
    for (size_t i = 0; result == COAT_OK && i < count; i++)
        result = coat_clock_begin(shop, order[i]);
    for (size_t i = 0; result == COAT_OK && i < count; i++) {
        result = coat_clock_place(shop, order[i]);
        shop->clocks.item[order[i]].dirty = true;
    }
    free(order);
    return result;
}

/* What tests say rests on the air of the tested coats; where it changed, all coats take the new multipliers. */
static enum coat_result learn_anew(struct shop *shop)
{
    bool changed = false;
    if (shop->bench_tests.count == 0 && shop->learned.count == 0)
        return COAT_OK;
    enum coat_result result = learn_refresh(shop, &changed);
    return result == COAT_OK && changed ? make_clocks(shop, 0) : result;
}

static enum coat_result make_mixes(struct shop *shop)
{
    enum coat_result result = COAT_OK;
    for (size_t i = 0; result == COAT_OK && i < shop->mixes.count; i++)
        result = mix_clock_make(shop, i);
    return result;
}

/* Wanted together, the air is walked once for all clocks. */
static enum coat_result make_all(struct shop *shop)
{
    enum coat_result result = mixes_want(shop);
    if (result == COAT_OK)
        result = make_clocks(shop, 0);
    return result == COAT_OK ? make_mixes(shop) : result;
}

static enum coat_result model_rebuild(struct shop *shop)
{
    close_airs(shop);
    shop->laws.count = 0;
    shop->learned.count = 0;
    shop->base_day = earliest_day(shop);
    enum coat_result result = match_clocks(shop);
    for (size_t i = 0; i < shop->clocks.count; i++)
        coat_clock_free(&shop->clocks.item[i]);
    if (result == COAT_OK)
        result = add_air(shop, 0);
    for (size_t i = 0; result == COAT_OK && i < shop->places.count; i++)
        result = add_air(shop, shop->places.item[i].id);
    if (result != COAT_OK)
        return result;
    for (size_t i = 0; i < shop->pieces.count; i++)
        piece_settle_status(shop, shop->pieces.item[i].id);
    result = make_all(shop);
    return result == COAT_OK ? learn_anew(shop) : result;
}

enum coat_result model_piece_changed(struct shop *shop, int64_t piece_id)
{
    if (earliest_day(shop) != shop->base_day)
        return model_rebuild(shop);
    enum coat_result result = match_clocks(shop);
    if (result != COAT_OK)
        return result;
    piece_settle_status(shop, piece_id);
    result = make_clocks(shop, piece_id);
    return result == COAT_OK ? learn_anew(shop) : result;
}

enum coat_result model_mix_added(struct shop *shop)
{
    if (earliest_day(shop) != shop->base_day)
        return model_rebuild(shop);
    enum coat_result result = match_clocks(shop);
    return result == COAT_OK ? mix_clock_make(shop, shop->mixes.count - 1) : result;
}

/* ---- new air ---- */

/* A finger test after since_ms in a stay: what the coat had behind it then was assumed. */
static bool tested_since(const struct shop *shop, const struct coat *coat, const struct stay *stay, int64_t since_ms)
{
    for (size_t i = 0; i < shop->bench_tests.count; i++) {
        const struct bench_test *test = &shop->bench_tests.item[i];
        bool within = test->at > since_ms && test->at >= stay->from_ms && test->at < stay->to_ms;
        if (test->coat_id == coat->id && test->stage == STAGE_LEAF && within)
            return true;
    }
    return false;
}

/* Whether its casting, carried to where it is, was not through at since_ms. */
static bool lags_after(const struct coat_clock *clock, int64_t since_ms)
{
    for (unsigned i = 0; i < clock->boundaries; i++)
        if (clock->boundary[i].warm_at > since_ms)
            return true;
    return false;
}

/* Whether the account of the coat in this air begins or ends after since_ms, or its casting was not through by then: it rested on what was assumed there. */
static bool rests_on_tail(const struct shop *shop, size_t coat_index, const struct place_air *air, int64_t since_ms)
{
    const struct coat *coat = &shop->coats.item[coat_index];
    struct stay stays[STAYS_MAX];
    unsigned count = coat_stays(shop, coat->piece_id, coat->first_at - LAG_PAST_MS, stays);
    for (unsigned i = 0; i < count; i++) {
        if (stays[i].air != air)
            continue;
        if (lags_after(&shop->clocks.item[coat_index], since_ms) || stays[i].from_ms > since_ms || (stays[i].to_ms != INT64_MAX && stays[i].to_ms > since_ms))
            return true;
        if (coat->last_at > since_ms && coat->last_at >= stays[i].from_ms && coat->last_at < stays[i].to_ms)
            return true;
        if (tested_since(shop, coat, &stays[i], since_ms))
            return true;
    }
    return false;
}

static bool piece_rests_on_tail(const struct shop *shop, int64_t piece_id, const struct place_air *air, int64_t since_ms)
{
    for (size_t i = 0; i < shop->coats.count; i++)
        if (shop->coats.item[i].piece_id == piece_id && rests_on_tail(shop, i, air, since_ms))
            return true;
    return false;
}

/* Whole pieces, since a coat counts what was soft below it. */
static enum coat_result remake_resting(struct shop *shop, const struct place_air *air, int64_t since_ms)
{
    enum coat_result result = COAT_OK;
    for (size_t i = 0; result == COAT_OK && i < shop->pieces.count; i++)
        if (piece_rests_on_tail(shop, shop->pieces.item[i].id, air, since_ms))
            result = make_clocks(shop, shop->pieces.item[i].id);
    return result == COAT_OK ? learn_anew(shop) : result;
}

static void piece_want_look(struct shop *shop, int64_t piece_id)
{
    for (size_t i = 0; i < shop->clocks.count; i++)
        shop->clocks.item[i].dirty |= shop->coats.item[i].piece_id == piece_id;
}

/* Closings that go by the hottest air so far, and were still ahead at since_ms, follow each reading of the place where the piece hangs. */
static enum coat_result follow_heat(struct shop *shop, const struct place_air *air, int64_t since_ms)
{
    enum coat_result result = COAT_OK;
    for (size_t i = 0; result == COAT_OK && i < shop->clocks.count; i++) {
        int64_t piece_id = shop->coats.item[i].piece_id, closes_at = shop->clocks.item[i].heat_closes_at;
        if (closes_at == MOMENT_NONE || closes_at <= since_ms || shop_air_of(shop, shop_piece_place(shop, piece_id, INT64_MAX)) != air)
            continue;
        result = coat_clock_follow_heat(shop, i);
        piece_want_look(shop, piece_id);
    }
    return result;
}

/* Marks that the measured air has now passed. */
static enum coat_result pass_marks(struct shop *shop, struct place_air *air)
{
    struct mark mark;
    for (size_t i = 0; i < air->ledgers; i++) {
        while (ledger_mark_pop(air->ledger[i], air->ledger[i]->anchor_value, &mark)) {
            struct coat_clock *clock = &shop->clocks.item[mark.coat_index];
            if (clock->stamp != mark.stamp)
                continue;
            enum coat_result result =
                ledger_when(air->ledger[i], mark.target, &clock->boundary[mark.boundary_index].passed_at);
            if (result != COAT_OK)
                return result;
            clock->limits.known = false;
            clock->dirty = true;
        }
    }
    return COAT_OK;
}

static void mark_dirty(const struct mark *mark, void *context)
{
    struct shop *shop = context;
    shop->clocks.item[mark->coat_index].dirty = true;
}

/* What is due by the forecast as it stands, up to the last turn, or to a closing within its lead. Asked before new air, it may be so no more; after it, it may only now be so. */
static void want_due(struct shop *shop, const struct place_air *air)
{
    for (size_t i = 0; i < air->ledgers; i++) {
        const struct ledger *ledger = air->ledger[i];
        bool closing = ledger->kind == LEDGER_LAW && ledger->law.side == SIDE_CLOSING;
        int64_t ahead = closing ? shop_longest_lead_ms(shop) : 0;
        ledger_marks_due(ledger, INT64_MIN, shop->turned_at + ahead, mark_dirty, shop);
    }
}

/* Whether such air, after `count` readings, may have left the limits of a coat that hangs in it, or let water come down on its casting. */
static bool may_be_inspected(const struct shop *shop, const struct coat *coat, const struct air_step *now, size_t count)
{
    const struct material *material = &shop_material_version(shop, coat->material_version_id)->material;
    bool inside = now->temp0_c >= material->min_temp_c && now->temp0_c <= material->max_temp_c && now->rh0_pct <= material->max_rh_pct;
    bool dry = air_surface_is_clear_of_dew(now->temp0_c, air_dew_point_c(now->temp0_c, now->rh0_pct));
    return count > 1 || !inside || !dry || piece_was_carried(shop, coat->piece_id, now->from_ms);
}

/* That a coat must be looked at is told when it is so, not when something else is due. */
static enum coat_result want_inspected(struct shop *shop, struct place_air *air, size_t count)
{
    struct air_step now;
    if (air->last_at == MOMENT_NONE)
        return COAT_OK;
    enum coat_result result = place_air_at(air, air->last_at, &now);
    for (size_t i = 0; result == COAT_OK && i < shop->clocks.count; i++) {
        struct coat_clock *clock = &shop->clocks.item[i];
        const struct coat *coat = &shop->coats.item[i];
        if (clock->status == COAT_ON && !clock->inspect_settled && shop_air_of(shop, shop_piece_place(shop, coat->piece_id, INT64_MAX)) == air)
            clock->dirty |= may_be_inspected(shop, coat, &now, count);
    }
    return result;
}

/* Mixes that stand there and ended after since_ms, or have not ended. */
static enum coat_result remake_mixes(struct shop *shop, int64_t place_id, int64_t since_ms)
{
    enum coat_result result = COAT_OK;
    for (size_t i = 0; result == COAT_OK && i < shop->mixes.count; i++)
        if (shop->mixes.item[i].place_id == place_id && mix_rests_on(&shop->mix_clocks.item[i], since_ms))
            result = mix_clock_make(shop, i);
    return result;
}

/* What follows from the air of a place being other than it was from `since_ms` on (MOMENT_NONE: at any time). */
static enum coat_result follow_air(struct shop *shop, struct place_air *air, int64_t since_ms)
{
    bool any_time = since_ms == MOMENT_NONE;
    enum coat_result result = COAT_OK;
    if (any_time || air->touched_until > since_ms)
        result = remake_resting(shop, air, since_ms); /* any time: all that ever hung there */
    if (result == COAT_OK && !any_time)
        result = follow_heat(shop, air, since_ms);
    if (result == COAT_OK)
        result = remake_mixes(shop, air->place_id, since_ms);
    if (result == COAT_OK)
        result = pass_marks(shop, air);
    if (result == COAT_OK)
        want_due(shop, air);
    return result;
}

enum coat_result model_air_added(struct shop *shop, int64_t sensor_id, const struct reading *readings, size_t count)
{
    const struct sensor *sensor = shop_sensor(shop, sensor_id);
    struct place_air *air = shop_air_of(shop, sensor ? sensor->place_id : 0);
    unsigned source = place_air_source(air, sensor_id);
    int64_t last_at = air->last_at;
    if (source == air->sources) /* its first ones */
        return model_sensors_changed(shop, air->place_id, count > 0 ? readings[0].at_ms : 0);
    bool late = last_at == MOMENT_NONE || (count > 0 && readings[0].at_ms <= air->newest_at), counts = true;
    enum coat_result result;
    want_due(shop, air);
    if (late || count > APPEND_MOST)
        result = place_air_late(air, source, readings, count);
    else
        result = place_air_append(air, source, readings, count, &counts);
    if (result != COAT_OK || !counts)
        return result;
    result = follow_air(shop, air, late ? MOMENT_NONE : last_at);
    return result == COAT_OK ? want_inspected(shop, air, count) : result;
}

enum coat_result model_sensors_changed(struct shop *shop, int64_t place_id, int64_t from_ms)
{
    struct merge_source sources[MERGE_SOURCES_MAX];
    struct place_air *air = shop_air_of(shop, place_id);
    unsigned count = sensors_as_sources(shop, place_id, sources);
    enum coat_result result = place_air_set_sources(air, sources, count, from_ms);
    return result == COAT_OK ? follow_air(shop, air, MOMENT_NONE) : result;
}

/* ---- open and close ---- */

enum coat_result shop_open(struct store *store, int64_t now_ms, struct shop **ret, struct coat_error *error)
{
    struct shop *shop = calloc(1, sizeof *shop);
    if (!shop)
        return coat_fail(error, COAT_NO_MEMORY, "", "out of memory while loading the shop");
    shop->store = store;
    shop->turned_at = now_ms;
    shop->morning_seen = shop->spray_looked_at = shop->bake_ran_at = MOMENT_NONE;
    enum coat_result result = load_facts(shop);
    if (result == COAT_OK)
        result = model_rebuild(shop);
    if (result == COAT_OK)
        notice_find_ahead(shop, now_ms);
    if (result != COAT_OK) {
        coat_fail(error, result, "", "the record could not be loaded: %s", coat_result_text(result));
        shop->store = NULL; /* it stays the caller's where opening failed */
        shop_close(shop);
        return result;
    }
    *ret = shop;
    return COAT_OK;
}

void shop_close(struct shop *shop)
{
    if (!shop)
        return;
    close_airs(shop);
    for (size_t i = 0; i < shop->clocks.count; i++)
        coat_clock_free(&shop->clocks.item[i]);
    void *lists[] = {shop->places.item,      shop->pieces.item,      shop->racks.item,       shop->moves.item,
                     shop->materials.item,   shop->material_removed.item, shop->coats.item,  shop->clocks.item,
                     shop->sandings.item,    shop->strippings.item,  shop->bench_tests.item, shop->tins.item,
                     shop->mixes.item,       shop->mix_clocks.item,  shop->releases.item,  shop->notices.item,     shop->notice_next.item,
                     shop->laws.item,        shop->learned.item,     shop->airs.item,        shop->rows.item,
                     shop->sensors.item,     shop->sensor_clocks.item, shop->adjustments.item, shop->heatings.item,
                     shop->imports.item,     shop->imports_left.item, shop->place_notices.item, shop->group_next.item, shop->untold.item,
                     shop->channels.item,    shop->channel_clocks.item, shop->deliveries.item, shop->leads.item,
                     shop->piece_notes.item, shop->photos.item,
                     shop->bakes.item,       shop->bake_parts.item,  shop->bake_holds.item,  shop->bake_answers.item, shop->bake_gaps.item,
                     shop->bake_marks.item};
    for (size_t i = 0; i < sizeof lists / sizeof *lists; i++)
        free(lists[i]);
    store_close(shop->store);
    free(shop);
}
