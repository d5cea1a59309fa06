#include "daemon/http/calendar_events.h"

#include <stdlib.h>

/* Nobody plans by these: they are over within the hour that follows the coat. */
static bool is_planned_by(enum stage stage)
{
    return stage != STAGE_TOUCH && stage != STAGE_DUST_FREE && stage != STAGE_TACK_FREE;
}

static enum calendar_kind kind_of(const struct stage_view *stage, unsigned boundary)
{
    if (!stage_is_window(stage->stage))
        return CALENDAR_REACHED;
    bool opens = stage->span[boundary].does == SPAN_WAIT || stage->span[boundary + 1].does == SPAN_GO;
    return opens ? CALENDAR_OPENS : CALENDAR_CLOSES;
}

static int64_t told_at(const struct moment_band *band, enum calendar_kind kind)
{
    if (band->passed)
        return band->likely_at;
    return kind == CALENDAR_CLOSES ? band->earliest_at : band->latest_at;
}

/* The moment that ends a span; MOMENT_NONE where it has none. */
static int64_t end_of(const struct stage_view *stage, unsigned span)
{
    if (span + 1 >= stage->spans || !stage->span[span].ends)
        return MOMENT_NONE;
    return told_at(&stage->span[span].until, kind_of(stage, span));
}

/* In some air a window would close before it opens: then there is none, and neither end is told. */
static bool has_window(const struct stage_view *stage, unsigned go)
{
    int64_t opens_at = go > 0 ? end_of(stage, go - 1) : MOMENT_NONE, closes_at = end_of(stage, go);
    return opens_at == MOMENT_NONE || closes_at == MOMENT_NONE || opens_at < closes_at;
}

static bool is_shown(const struct stage_view *stage, unsigned boundary, int64_t at, int64_t now_ms)
{
    bool soon = at != MOMENT_NONE && at >= now_ms - CALENDAR_PAST_MS && at <= now_ms + CALENDAR_AHEAD_MS;
    bool into_none = stage->span[boundary + 1].does == SPAN_GO && !has_window(stage, boundary + 1);
    bool out_of_none = stage->span[boundary].does == SPAN_GO && !has_window(stage, boundary);
    return soon && !into_none && !out_of_none;
}

static bool add(struct calendar_events *events, const struct calendar_event *event)
{
    if (events->count == events->capacity) {
        size_t capacity = events->capacity > 0 ? 2 * events->capacity : 64;
        struct calendar_event *item = realloc(events->item, capacity * sizeof *item);
        if (item == NULL)
            return false;
        events->item = item;
        events->capacity = capacity;
    }
    events->item[events->count++] = *event;
    return true;
}

static bool add_stage(const struct coat_view *coat, const struct stage_view *stage, int64_t now_ms, struct calendar_events *events)
{
    for (unsigned i = 0; i + 1 < stage->spans && events->count < CALENDAR_EVENTS_MAX; i++) {
        const struct moment_band *until = &stage->span[i].until;
        enum calendar_kind kind = kind_of(stage, i);
        int64_t at = end_of(stage, i);
        struct calendar_event event = {
            .kind = kind, .coat_id = coat->coat->id, .piece_id = coat->coat->piece_id, .version_id = coat->coat->material_version_id,
            .last_pass_at = coat->coat->last_at, .stage = stage->stage, .boundary = i, .before = stage->span[i].does,
            .then = stage->span[i + 1].does, .at = at, .ends_at = end_of(stage, i + 1), .passed = until->passed, .assumed = stage->assumed && !until->passed,
            .disputed = stage->disputed,
        };
        if (is_shown(stage, i, at, now_ms) && !add(events, &event))
            return false;
    }
    return true;
}

static enum coat_result add_coat(struct doc *doc, int64_t coat_id, struct calendar_events *events)
{
    struct coat_view view;
    if (!shop_coat_view(doc->shop, coat_id, doc->now_ms, &view) || view.status != COAT_ON)
        return COAT_OK;
    for (unsigned i = 0; i < view.stages; i++) {
        bool is_in_oven = view.stage[i].stage == STAGE_BAKE && view.bake.bake != NULL; /* or was */
        if (is_planned_by(view.stage[i].stage) && !is_in_oven && !add_stage(&view, &view.stage[i], doc->now_ms, events))
            return COAT_NO_MEMORY;
    }
    return COAT_OK;
}

static int compare(int64_t a, int64_t b)
{
    return (a > b) - (a < b);
}

/* What is done together differs in the coat alone. */
static int by_kind(const struct calendar_event *x, const struct calendar_event *y)
{
    int order = compare(x->version_id, y->version_id);
    if (order == 0)
        order = compare((int64_t)x->stage, (int64_t)y->stage);
    return order != 0 ? order : compare(x->boundary, y->boundary);
}

static int by_kind_then_coat(const void *a, const void *b)
{
    const struct calendar_event *x = a, *y = b;
    int order = by_kind(x, y);
    return order != 0 ? order : compare(x->coat_id, y->coat_id);
}

static int by_group_then_coat(const void *a, const void *b)
{
    const struct calendar_event *x = a, *y = b;
    int order = compare((int64_t)x->group, (int64_t)y->group);
    return order != 0 ? order : compare(x->coat_id, y->coat_id);
}

static bool within(int64_t a, int64_t b)
{
    return llabs(a - b) <= CALENDAR_TOGETHER_MS;
}

/* Coats, stage and moment agree within minutes. */
static bool is_one(const struct calendar_event *first, const struct calendar_event *other)
{
    return first->passed == other->passed && within(first->at, other->at) && within(first->last_pass_at, other->last_pass_at);
}

/* Each goes to the first of its kind that it agrees with, so that the lowest coat names the group for as long as it is on. */
static void group(struct calendar_events *events)
{
    size_t from = 0;
    if (events->count == 0)
        return;
    qsort(events->item, events->count, sizeof *events->item, by_kind_then_coat);
    for (size_t i = 0; i < events->count; i++) {
        if (by_kind(&events->item[from], &events->item[i]) != 0)
            from = i;
        size_t first = from;
        while (first < i && (events->item[first].group != first || !is_one(&events->item[first], &events->item[i])))
            first++;
        events->item[i].group = first;
    }
    qsort(events->item, events->count, sizeof *events->item, by_group_then_coat);
}

enum coat_result calendar_events_make(struct doc *doc, struct calendar_events *ret)
{
    struct coat_list coats = {0};
    *ret = (struct calendar_events){0};
    enum coat_result result = coat_list_make(doc, COAT_LIST_IN_USE, &coats);
    for (size_t i = 0; result == COAT_OK && i < coats.count; i++)
        result = add_coat(doc, coats.coat[i].coat_id, ret);
    coat_list_free(&coats);
    if (result == COAT_OK)
        group(ret);
    return result;
}

void calendar_events_free(struct calendar_events *events)
{
    free(events->item);
    *events = (struct calendar_events){0};
}
