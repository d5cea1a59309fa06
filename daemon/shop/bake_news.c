/* What a bake calls for: the next step, the heat off, too long, too hot, not read, interrupted, cool enough to touch. */
#include "daemon/shop/baking.h"
#include "daemon/shop/notice.h"

#include "coat/quantity.h"

#include <stdio.h>
#include <string.h>

#define COOL_LASTS_MS MS_PER_DAY /* that it is cool is no news the next day */

static const char *const moment_texts[] = {
    [BAKE_MOMENT_NEXT_STEP] = "the next step is due",
    [BAKE_MOMENT_TURN_DOWN] = "baked, turn the heat off. That is by the least that it can have had; let the exhaust run until the oven is cold",
    [BAKE_MOMENT_TOO_LONG] = "it may have been in the heat too long, turn it off",
    [BAKE_MOMENT_TOO_HOT] = "it may be too hot for its finish, turn the heat down now",
    [BAKE_MOMENT_UNREAD] = "the oven is not read any more, look at it. Nothing counts until it is",
    [BAKE_MOMENT_INTERRUPTED] =
        "the service did not run, look at the oven. What it did meanwhile is not known: where it goes on, say so (coat bake resume), else end it (coat bake stop)",
    [BAKE_MOMENT_COOL] = "cool enough to touch. That is by the slowest that it can cool: hold the back of a hand near it first",
};
_Static_assert(sizeof moment_texts / sizeof *moment_texts == BAKE_MOMENT_COUNT, "one text a moment");

struct gathering {
    struct shop *shop;
    const struct bake_view *view;
    int64_t at_ms, now_ms;
    struct notice_batch *batch;
};

static int32_t boundary_of(enum bake_moment moment, unsigned step)
{
    return (int32_t)((unsigned)moment * BAKE_MOMENT_STEPS + step);
}

/* The newest of its kind as it will be once the batch is stored. */
static const struct notice *newest_of(const struct gathering *g, int32_t boundary)
{
    for (size_t i = g->batch->count; i-- > 0;)
        if (g->batch->item[i].bake_id == g->view->bake->id && g->batch->item[i].boundary == boundary)
            return &g->batch->item[i];
    for (size_t i = g->shop->notices.count; i-- > 0;)
        if (g->shop->notices.item[i].bake_id == g->view->bake->id && g->shop->notices.item[i].boundary == boundary)
            return &g->shop->notices.item[i];
    return NULL;
}

static void word(const struct gathering *g, enum bake_moment moment, unsigned step, struct notice *notice)
{
    char target[32], next[96] = "";
    const struct bake_view *view = g->view;
    enum units_system units = g->shop->settings.units;
    if (moment == BAKE_MOMENT_NEXT_STEP && step + 1 < view->steps)
        snprintf(next, sizeof next, ": set the oven to %s", quantity_print(QUANTITY_TEMPERATURE, view->step[step + 1].target_c, units, target, sizeof target));
    snprintf(notice->text, sizeof notice->text, "Bake %lld in %.63s: %s%s.%s %s. The label comes first.", (long long)view->bake->id, view->place ? view->place->name : "?",
             moment_texts[moment], next, notice->assumed ? " Nobody reads the oven: test first." : "", caution_text(CAUTION_BAKE)->act);
}

static enum coat_result raise(const struct gathering *g, enum bake_moment moment, unsigned step, int64_t due_at, const struct notice *newest)
{
    struct notice notice = {
        .kind = NOTICE_BAKE_STEP,
        .bake_id = g->view->bake->id,
        .boundary = boundary_of(moment, step),
        .turn = newest ? newest->turn + 1 : 1,
        .due_at = due_at,
        .until_at = MOMENT_NONE,
        .assumed = moment == BAKE_MOMENT_TURN_DOWN && g->view->assumed_min > 0.0,
        .raised_at = g->now_ms,
        .withdrawn_at = MOMENT_NONE,
        .acknowledged_at = MOMENT_NONE,
        .told_at = MOMENT_NONE,
    };
    word(g, moment, step, &notice);
    return notice_batch_add(g->batch, &notice) ? COAT_OK : COAT_NO_MEMORY;
}

static enum coat_result settle(const struct gathering *g, enum bake_moment moment, unsigned step, bool is_so, int64_t due_at)
{
    const struct notice *newest = newest_of(g, boundary_of(moment, step));
    bool stands = newest && newest->withdrawn_at == MOMENT_NONE;
    if (newest && notice_is_ahead(newest, g->at_ms))
        return COAT_OK;
    if (is_so)
        return stands ? COAT_OK : raise(g, moment, step, due_at, newest);
    return stands && newest->acknowledged_at == MOMENT_NONE ? notice_take_back(newest, g->now_ms, g->batch) : COAT_OK;
}

/* When a step of the programme is over; MOMENT_NONE for the last, after which the heat goes. */
static int64_t step_ends(const struct bake_view *view, unsigned step)
{
    if (view->begun_at == MOMENT_NONE || step + 1 >= view->programme.steps || view->gap)
        return MOMENT_NONE;
    return view->begun_at + (int64_t)(view->programme.ends_min[step] * (double)MS_PER_MIN);
}

static bool is_past(int64_t at, int64_t now_ms)
{
    return at != MOMENT_NONE && at <= now_ms;
}

static enum coat_result gather_steps(const struct gathering *g, bool on)
{
    enum coat_result result = COAT_OK;
    for (unsigned i = 0; result == COAT_OK && i + 1 < g->view->steps; i++) {
        int64_t ends = step_ends(g->view, i), next_ends = step_ends(g->view, i + 1);
        result = settle(g, BAKE_MOMENT_NEXT_STEP, i, on && is_past(ends, g->at_ms) && !is_past(next_ends, g->at_ms), ends);
    }
    return result;
}

static bool has_excess(const struct bake_view *view, enum bake_excess excess)
{
    for (unsigned i = 0; i < view->parts; i++)
        if (view->part[i].excess == excess)
            return true;
    return false;
}

static enum coat_result gather(const struct gathering *g)
{
    const struct bake_view *view = g->view;
    bool on = bake_is_on(view->bake, g->at_ms), cooled = view->state == BAKE_COLD && view->bake->reviewed && view->cool_latest_at != MOMENT_NONE;
    bool programme_over = view->begun_at != MOMENT_NONE && is_past(view->turn_down_at, g->at_ms);
    enum coat_result result = gather_steps(g, on);
    if (result == COAT_OK)
        result = settle(g, BAKE_MOMENT_TURN_DOWN, 0, on && view->baked && programme_over, view->turn_down_at);
    if (result == COAT_OK)
        result = settle(g, BAKE_MOMENT_TOO_LONG, 0, on && has_excess(view, BAKE_EXCESS_LONG), g->at_ms);
    if (result == COAT_OK)
        result = settle(g, BAKE_MOMENT_TOO_HOT, 0, on && has_excess(view, BAKE_EXCESS_HOT), g->at_ms);
    if (result == COAT_OK)
        result = settle(g, BAKE_MOMENT_UNREAD, 0, on && view->unread_since_at != MOMENT_NONE, g->at_ms);
    if (result == COAT_OK)
        result = settle(g, BAKE_MOMENT_INTERRUPTED, 0, on && view->gap != NULL, g->at_ms);
    if (result == COAT_OK)
        result = settle(g, BAKE_MOMENT_COOL, 0, cooled && g->at_ms - view->cool_latest_at < COOL_LASTS_MS, view->cool_latest_at);
    return result;
}

/* One of which something may still be told. */
static bool is_news(const struct bake *bake, int64_t at_ms)
{
    bool cools = bake->started_at != MOMENT_NONE && bake->ended_at != MOMENT_NONE && at_ms - bake->ended_at < 3 * MS_PER_DAY;
    return bake_is_on(bake, at_ms) || cools;
}

static bool follow(struct shop *shop, const struct bake *bake, int64_t at_ms, struct bake_view *view)
{
    if (!is_news(bake, at_ms))
        return false;
    bake_view_begin(shop, bake, view);
    bake_follow(shop, at_ms, view);
    return true;
}

enum coat_result notice_gather_bakes(struct shop *shop, int64_t at_ms, int64_t now_ms, struct notice_batch *batch, bool *changed)
{
    struct bake_view view;
    enum coat_result result = COAT_OK;
    for (size_t i = 0; result == COAT_OK && i < shop->bakes.count; i++) {
        if (!follow(shop, &shop->bakes.item[i], at_ms, &view))
            continue;
        struct gathering g = {shop, &view, at_ms, now_ms, batch};
        uint32_t mark = 1 + (uint32_t)view.state;
        *changed |= shop->bake_marks.item[i] != 0 && shop->bake_marks.item[i] != mark;
        shop->bake_marks.item[i] = mark;
        result = gather(&g);
    }
    return result;
}

static int64_t next_of(const struct bake_view *view, int64_t from_ms)
{
    int64_t next = MOMENT_NONE;
    for (unsigned i = 0; i < view->steps; i++)
        next = moment_sooner_after(next, step_ends(view, i), from_ms);
    if (view->unread_since_at == MOMENT_NONE && view->reading == OVEN_READ && view->oven_at != MOMENT_NONE && view->bake->ended_at == MOMENT_NONE)
        next = moment_sooner_after(next, view->oven_at + (int64_t)BAKE_JOIN_MOST_MIN * MS_PER_MIN + 1, from_ms);
    for (unsigned i = 0; i < view->parts; i++)
        next = moment_sooner_after(next, view->part[i].done_latest_at, from_ms);
    next = moment_sooner_after(next, view->turn_down_at, from_ms);
    next = moment_sooner_after(next, view->too_long_at, from_ms);
    next = moment_sooner_after(next, view->too_hot_at, from_ms);
    return view->bake->ended_at != MOMENT_NONE ? moment_sooner_after(next, view->cool_latest_at, from_ms) : next;
}

int64_t bakes_next_due(struct shop *shop, int64_t from_ms)
{
    struct bake_view view;
    int64_t next = bakes_watch_due(shop, from_ms);
    for (size_t i = 0; i < shop->bakes.count; i++) {
        if (!follow(shop, &shop->bakes.item[i], from_ms, &view))
            continue;
        int64_t due = next_of(&view, from_ms);
        next = moment_sooner_after(next, due, from_ms);
    }
    return next;
}
