/* Hours fit to spray that are coming: of what may be recoated, in a place whose air does not allow it now. */
#include "daemon/shop/notice.h"

#include <stdio.h>

#define AHEAD_MS (3 * MS_PER_H)      /* how long before they begin they are told: time to come home and warm a casting; common practice */
_Static_assert(AHEAD_MS == (CHECK_COMING_STARTS - 1) * MS_PER_H, "as far as shop_check_may_come() looks");
#define LONG_ENOUGH_MS MS_PER_H      /* shorter ones are not worth coming for */
#define LOOK_EVERY_MS MS_PER_H       /* the air to come is reckoned anew that often at most */
#define CANDIDATES_MOST 8

struct candidate {
    int64_t place_id, material_id, piece_id;
};

/* What may be done over a coat now, but for the air. */
static bool may_be_recoated(struct shop *shop, size_t index, int64_t now_ms)
{
    struct coat_clock *clock = &shop->clocks.item[index];
    const struct material_version *version = shop_material_version(shop, shop->coats.item[index].material_version_id);
    if (clock->status != COAT_ON || !version)
        return false;
    struct stage_run run = stage_run_of(clock, STAGE_RECOAT);
    if (run.count == 0)
        return false;
    enum state state = stage_state(shop, clock, &version->material, &run, now_ms);
    return (state == STATE_OPEN || state == STATE_CLOSING) && boundary_due(run.first) > now_ms - 14 * MS_PER_DAY; /* nobody waits for months */
}

static bool is_known(const struct candidate *list, unsigned count, const struct candidate *one)
{
    for (unsigned i = 0; i < count; i++)
        if (list[i].place_id == one->place_id && list[i].material_id == one->material_id)
            return true;
    return false;
}

static unsigned find_candidates(struct shop *shop, int64_t now_ms, struct candidate ret[CANDIDATES_MOST])
{
    unsigned count = 0;
    for (size_t i = shop->coats.count; i-- > 0 && count < CANDIDATES_MOST;) {
        const struct coat *coat = &shop->coats.item[i];
        if (!may_be_recoated(shop, i, now_ms))
            continue;
        struct candidate one = {shop_piece_place(shop, coat->piece_id, now_ms),
                                shop_material_version(shop, coat->material_version_id)->material_id, coat->piece_id};
        if (one.place_id != 0 && !shop_material_removed(shop, one.material_id) && !is_known(ret, count, &one))
            ret[count++] = one;
    }
    return count;
}

/* ---- the notice ---- */

static const struct notice *standing(const struct shop *shop, int64_t place_id)
{
    for (size_t i = shop->notices.count; i-- > 0;) {
        const struct notice *notice = &shop->notices.item[i];
        if (notice->kind == NOTICE_SPRAY_HOURS && notice->place_id == place_id)
            return notice;
    }
    return NULL;
}

static bool is_raised(const struct shop *shop, const struct notice_batch *batch, int64_t place_id, int64_t now_ms)
{
    const struct notice *newest = standing(shop, place_id);
    for (size_t i = 0; i < batch->count; i++)
        if (batch->item[i].id == 0 && batch->item[i].kind == NOTICE_SPRAY_HOURS && batch->item[i].place_id == place_id)
            return true;
    return newest && newest->until_at > now_ms && newest->due_at < now_ms + MS_PER_DAY; /* not one of a clock that was wrong by days */
}

static enum coat_result raise(struct shop *shop, const struct check_view *view, const struct check_stretch *good, int64_t now_ms,
                              struct notice_batch *batch)
{
    char from[LOCAL_TEXT_SIZE], to[LOCAL_TEXT_SIZE];
    const struct notice *before = standing(shop, view->place_id);
    const struct place *place = shop_place(shop, view->place_id);
    struct notice notice = {
        .kind = NOTICE_SPRAY_HOURS,
        .place_id = view->place_id,
        .turn = before ? before->turn + 1 : 1,
        .due_at = now_ms,
        .until_at = good->to_ms,
        .raised_at = now_ms,
        .withdrawn_at = MOMENT_NONE,
        .acknowledged_at = MOMENT_NONE,
        .told_at = MOMENT_NONE,
    };
    snprintf(notice.text, sizeof notice.text, "%s: likely fit for %s from about %s to %s, by the air to come. Look at thermometer and hygrometer before you "
             "begin. %s. The label comes first.", place ? place->name : "", view->material->material.name,
             shop_local_text(shop, good->from_ms, now_ms, from), shop_local_text(shop, good->to_ms, now_ms, to), caution_text(CAUTION_VENTILATION)->act);
    return notice_batch_add(batch, &notice) ? COAT_OK : COAT_NO_MEMORY;
}

/* The first good hours that begin after now, where the air is all that speaks against it now. */
static const struct check_stretch *coming(const struct check_view *view, int64_t now_ms)
{
    if (view->verdict != CHECK_NO || view->refusals != 1 || view->refusal[0].landing != -1)
        return NULL;
    for (unsigned i = 0; i < view->stretches; i++) {
        const struct check_stretch *s = &view->stretch[i];
        if (s->good && s->from_ms > now_ms)
            return s->from_ms <= now_ms + AHEAD_MS && s->to_ms - s->from_ms >= LONG_ENOUGH_MS ? s : NULL;
    }
    return NULL;
}

static int64_t utc(const char *zone, int64_t at_ms)
{
    (void)zone, (void)at_ms;
    return 0;
}

static enum coat_result look_at(struct shop *shop, const struct candidate *one, int64_t now_ms, struct notice_batch *batch)
{
    struct check_view view;
    struct check_query query = {one->material_id, one->place_id, one->piece_id, "", now_ms, now_ms, shop->zone_offset_ms ? shop->zone_offset_ms : utc};
    if (is_raised(shop, batch, one->place_id, now_ms) || !shop_check_may_come(shop, &query) || shop_check(shop, &query, &view, NULL) != COAT_OK)
        return COAT_OK; /* what cannot be checked is not told */
    const struct check_stretch *good = coming(&view, now_ms);
    return good ? raise(shop, &view, good, now_ms, batch) : COAT_OK;
}

/* Hours that are over are of no use. */
static enum coat_result take_back_old(struct shop *shop, int64_t now_ms, struct notice_batch *batch)
{
    for (size_t i = 0; i < shop->places.count; i++) {
        const struct notice *newest = standing(shop, shop->places.item[i].id);
        if (!newest || newest->withdrawn_at != MOMENT_NONE || newest->acknowledged_at != MOMENT_NONE || newest->until_at > now_ms)
            continue;
        struct notice taken = *newest;
        taken.withdrawn_at = now_ms;
        if (!notice_batch_add(batch, &taken))
            return COAT_NO_MEMORY;
    }
    return COAT_OK;
}

/* Held back until they were over: between two looks nobody is to be told of them either. */
static enum coat_result take_back_held(const struct shop *shop, int64_t now_ms, struct notice_batch *batch)
{
    enum coat_result result = COAT_OK;
    for (size_t i = 0; result == COAT_OK && i < shop->untold.count; i++) {
        const struct notice *notice = &shop->notices.item[shop->untold.item[i] - 1];
        bool over = notice->kind == NOTICE_SPRAY_HOURS && notice->until_at <= now_ms && notice->withdrawn_at == MOMENT_NONE;
        if (over && notice->acknowledged_at == MOMENT_NONE)
            result = notice_take_back(notice, now_ms, batch);
    }
    return result;
}

enum coat_result notice_gather_spray(struct shop *shop, int64_t now_ms, struct notice_batch *batch)
{
    struct candidate candidate[CANDIDATES_MOST];
    if (shop->spray_looked_at != MOMENT_NONE && now_ms >= shop->spray_looked_at && now_ms - shop->spray_looked_at < LOOK_EVERY_MS)
        return take_back_held(shop, now_ms, batch);
    shop->spray_looked_at = now_ms;
    unsigned count = find_candidates(shop, now_ms, candidate);
    enum coat_result result = take_back_old(shop, now_ms, batch);
    for (unsigned i = 0; result == COAT_OK && i < count; i++)
        result = look_at(shop, &candidate[i], now_ms, batch);
    return result;
}
