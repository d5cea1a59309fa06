#include "daemon/shop/notice.h"

#include <stdlib.h>
#include <string.h>

/* What a boundary of a window announces. */
static const enum notice_kind kind_of_span[SPAN_COUNT] = {
    [SPAN_WAIT] = NOTICE_SHUT,     [SPAN_GO] = NOTICE_OPENS,     [SPAN_WIPE] = NOTICE_PREPARE,
    [SPAN_SCUFF] = NOTICE_PREPARE, [SPAN_STRIP] = NOTICE_MISSED, [SPAN_TEST] = NOTICE_PREPARE,
};

struct gathering {
    struct shop *shop;
    size_t coat_index;
    const struct coat *coat;
    struct coat_clock *clock;
    const struct material *material;
    int64_t at_ms, now_ms;
    struct notice_batch *batch;
};

bool notice_batch_add(struct notice_batch *batch, const struct notice *notice)
{
    if (!list_reserve((void **)&batch->item, &batch->capacity, batch->count, sizeof *batch->item))
        return false;
    batch->item[batch->count++] = *notice;
    return true;
}

void notice_batch_free(struct notice_batch *batch)
{
    free(batch->item);
    *batch = (struct notice_batch){0};
}

static bool same_subject(const struct notice *a, const struct notice *b)
{
    return a->coat_id == b->coat_id && a->stage == b->stage && a->boundary == b->boundary && a->kind == b->kind;
}

static bool is_raised(const struct gathering *g, struct notice *notice)
{
    const struct notice *newest = NULL;
    for (size_t i = g->clock->first_notice; i > 0; i = g->shop->notice_next.item[i - 1])
        if (same_subject(&g->shop->notices.item[i - 1], notice))
            newest = &g->shop->notices.item[i - 1];
    for (size_t i = 0; i < g->batch->count; i++)
        if (same_subject(&g->batch->item[i], notice))
            newest = &g->batch->item[i];
    notice->turn = newest ? newest->turn + 1 : 1;
    return newest && newest->withdrawn_at == MOMENT_NONE;
}

static enum coat_result raise(const struct gathering *g, enum notice_kind kind, const struct boundary_clock *b,
                              int64_t due_at, int64_t until_at)
{
    struct notice notice = {
        .kind = kind,
        .coat_id = g->coat->id,
        .stage = b->stage,
        .boundary = (int32_t)b->index,
        .due_at = due_at,
        .until_at = until_at,
        .assumed = boundary_is_assumed(b, g->at_ms),
        .raised_at = g->now_ms,
        .withdrawn_at = MOMENT_NONE,
        .acknowledged_at = MOMENT_NONE,
    };
    if (is_raised(g, &notice))
        return COAT_OK;
    notice_word(g->shop, &notice);
    return notice_batch_add(g->batch, &notice) ? COAT_OK : COAT_NO_MEMORY;
}

/* What lies behind when the coat was entered is seen in the answer; only the span that now is in is told then. */
static bool worth_telling(const struct gathering *g, int64_t due_at, bool current)
{
    return due_at >= g->coat->entered_at || current;
}

static enum coat_result gather_window(const struct gathering *g, const struct stage_run *run)
{
    unsigned current = stage_current(run, g->at_ms);
    enum coat_result result = COAT_OK;
    for (unsigned i = 0; result == COAT_OK && i < current; i++) {
        int64_t due = stage_enters(run, i + 1);
        int64_t next = i + 1 < run->count ? boundary_due(&run->first[i + 1]) : MOMENT_NONE;
        bool no_window = next != MOMENT_NONE && next <= due;
        if (!no_window && worth_telling(g, due, i + 1 == current))
            result = raise(g, kind_of_span[run->first[i].then], &run->first[i], due, next);
    }
    if (result != COAT_OK || stage_state(g->shop, g->clock, g->material, run, g->at_ms) != STATE_CLOSING)
        return result;
    return raise(g, NOTICE_CLOSING, &run->first[current], boundary_due(&run->first[current]), MOMENT_NONE);
}

static enum coat_result gather_stage(const struct gathering *g, const struct stage_run *run)
{
    if (stage_is_window(run->first->stage))
        return gather_window(g, run);
    int64_t due = boundary_due(run->first);
    if (due == MOMENT_NONE || due > g->at_ms || !worth_telling(g, due, false))
        return COAT_OK;
    return raise(g, NOTICE_REACHED, run->first, due, MOMENT_NONE);
}

static enum coat_result take_back(const struct gathering *g, const struct notice *notice)
{
    struct notice taken = *notice;
    taken.withdrawn_at = g->now_ms;
    return notice_batch_add(g->batch, &taken) ? COAT_OK : COAT_NO_MEMORY;
}

static struct boundary_clock *boundary_of(const struct gathering *g, const struct notice *notice)
{
    for (unsigned i = 0; i < g->clock->boundaries; i++) {
        struct boundary_clock *b = &g->clock->boundary[i];
        if (b->stage == notice->stage && b->index == (unsigned)notice->boundary)
            return b;
    }
    return NULL;
}

/* A notice was early by what is known now: its moment lies ahead again, or there is no such moment. A closing that was announced
 * is early only where it has moved out of its lead time again. */
static bool was_early(const struct gathering *g, const struct notice *notice, const struct boundary_clock *b)
{
    if (notice->kind == NOTICE_CORRECTION)
        return false;
    int64_t due = b ? boundary_due(b) : MOMENT_NONE;
    int64_t lead = notice->kind == NOTICE_CLOSING ? g->shop->settings.lead_closing_min * MS_PER_MIN : 0;
    return due == MOMENT_NONE || due - lead > g->at_ms;
}

static enum coat_result review(const struct gathering *g, const struct notice *notice)
{
    bool ended = g->clock->status != COAT_ON;
    struct boundary_clock *b = boundary_of(g, notice);
    if (ended)
        return notice->acknowledged_at == MOMENT_NONE ? take_back(g, notice) : COAT_OK;
    if (!was_early(g, notice, b))
        return COAT_OK;
    enum coat_result result = take_back(g, notice);
    if (result != COAT_OK || !b || notice->kind == NOTICE_CLOSING)
        return result;
    return raise(g, NOTICE_CORRECTION, b, boundary_due(b), MOMENT_NONE);
}

static enum coat_result review_raised(const struct gathering *g)
{
    for (size_t i = g->clock->first_notice; i > 0; i = g->shop->notice_next.item[i - 1]) {
        const struct notice *notice = &g->shop->notices.item[i - 1];
        if (notice->withdrawn_at != MOMENT_NONE)
            continue;
        enum coat_result result = review(g, notice);
        if (result != COAT_OK)
            return result;
    }
    return COAT_OK;
}

enum coat_result notice_gather(struct shop *shop, size_t coat_index, int64_t at_ms, int64_t now_ms,
                               struct notice_batch *batch)
{
    const struct coat *coat = &shop->coats.item[coat_index];
    const struct material_version *version = shop_material_version(shop, coat->material_version_id);
    struct gathering g = {shop, coat_index, coat, &shop->clocks.item[coat_index], version ? &version->material : NULL,
                          at_ms, now_ms, batch};
    enum coat_result result = review_raised(&g);
    if (result != COAT_OK || !version || g.clock->status != COAT_ON)
        return result;
    for (unsigned stage = 0; result == COAT_OK && stage < STAGE_COUNT; stage++) {
        struct stage_run run = stage_run_of(g.clock, (enum stage)stage);
        if (run.count > 0)
            result = gather_stage(&g, &run);
    }
    return result;
}

/* ---- storing ---- */

static int by_due(const void *a, const void *b)
{
    const struct notice *x = a, *y = b;
    if (x->due_at != y->due_at)
        return x->due_at < y->due_at ? -1 : 1;
    return x->coat_id < y->coat_id ? -1 : x->coat_id > y->coat_id;
}

enum coat_result notice_batch_store(struct shop *shop, struct notice_batch *batch)
{
    if (batch->count > 1)
        qsort(batch->item, batch->count, sizeof *batch->item, by_due);
    for (size_t i = 0; i < batch->count; i++) {
        struct notice *notice = &batch->item[i];
        enum coat_result result =
            notice->id ? store_notice_put(shop->store, notice) : store_notice_add(shop->store, notice);
        if (result != COAT_OK)
            return result;
    }
    return COAT_OK;
}

static struct notice *notice_of_id(struct shop *shop, int64_t id)
{
    for (size_t i = shop->notices.count; i-- > 0 && shop->notices.item[i].id >= id;) /* most are new: greater than all */
        if (shop->notices.item[i].id == id)
            return &shop->notices.item[i];
    return NULL;
}

enum coat_result notice_tie(struct shop *shop)
{
    size_t number = shop->notices.count; /* index + 1 */
    size_t index = shop_coat_index(shop, shop->notices.item[number - 1].coat_id);
    if (!LIST_RESERVE(&shop->notice_next))
        return COAT_NO_MEMORY;
    shop->notice_next.item[shop->notice_next.count++] = 0;
    mix_notice_tie(shop, number);
    air_notice_tie(shop, number);
    if (index == SIZE_MAX)
        return COAT_OK;
    struct coat_clock *clock = &shop->clocks.item[index];
    if (clock->last_notice > 0)
        shop->notice_next.item[clock->last_notice - 1] = number;
    else
        clock->first_notice = number;
    clock->last_notice = number;
    return COAT_OK;
}

enum coat_result notice_batch_apply(struct shop *shop, const struct notice_batch *batch)
{
    for (size_t i = 0; i < batch->count; i++) {
        struct notice *known = notice_of_id(shop, batch->item[i].id);
        if (known) {
            *known = batch->item[i];
            continue;
        }
        if (!LIST_RESERVE(&shop->notices))
            return COAT_NO_MEMORY;
        shop->notices.item[shop->notices.count++] = batch->item[i];
        enum coat_result result = notice_tie(shop);
        if (result != COAT_OK)
            return result;
    }
    return COAT_OK;
}

/* ---- states ---- */

static uint32_t mix(uint32_t hash, uint32_t value)
{
    return (hash ^ value) * UINT32_C(16777619); /* FNV-1a */
}

uint32_t notice_state_mark(struct shop *shop, size_t coat_index, int64_t at_ms)
{
    struct coat_clock *clock = &shop->clocks.item[coat_index];
    const struct material_version *version = shop_material_version(shop, shop->coats.item[coat_index].material_version_id);
    uint32_t hash = mix(UINT32_C(2166136261), (uint32_t)clock->status);
    bool lies = clock->status == COAT_ON || clock->status == COAT_COVERED;
    for (unsigned stage = 0; version && lies && stage < STAGE_COUNT; stage++) {
        struct stage_run run = stage_run_of(clock, (enum stage)stage);
        if (run.count == 0)
            continue;
        unsigned current = stage_current(&run, at_ms);
        hash = mix(hash, current);
        hash = mix(hash, (uint32_t)stage_state(shop, clock, &version->material, &run, at_ms));
        if (current < run.count)
            hash = mix(hash, boundary_is_assumed(&run.first[current], at_ms));
    }
    return hash;
}

/* ---- words ---- */

struct wording {
    const char *text; /* after "PIECE, STAGE: " */
};

static const struct wording wordings[NOTICE_KIND_COUNT] = {
    [NOTICE_OPENS] = {"may be done now"},
    [NOTICE_CLOSING] = {"about to close; do it now or let it pass"},
    [NOTICE_SHUT] = {"shut; wait"},
    [NOTICE_PREPARE] = {"prepare first"},
    [NOTICE_MISSED] = {"missed"},
    [NOTICE_REACHED] = {"reached"},
    [NOTICE_STALLED] = {"held up by the air"},
    [NOTICE_INSPECT] = {"the air left its limits; look at it before going on"},
    [NOTICE_AIR_UNKNOWN] = {"the air is not known; times rest on assumed air"},
    [NOTICE_CORRECTION] = {"told too early: what came in later moves it on; hands off"},
    [NOTICE_MIX_READY] = {"induction is over; stir again, then use it"},
    [NOTICE_POT_LIFE] = {"its pot life is about to end; clean gun and brushes now"},
    [NOTICE_SENSOR_FAULT] = {"says nothing that can be used"},
    [NOTICE_SENSORS_DISAGREE] = {"say different things: try both against a salt test"},
};

const char *notice_wording(enum notice_kind kind)
{
    return wordings[kind].text;
}

/* What to prepare, where a boundary asks for it. */
static const char *const preparation[SPAN_COUNT] = {
    [SPAN_WIPE] = "wipe with solvent first",
    [SPAN_SCUFF] = "scuff first",
    [SPAN_TEST] = "try the size with a finger",
    [SPAN_STRIP] = "too late; strip and start again",
};
static const char late_unmask[] = "too hard to pull clean: score along the tape first";
static const char late_size[] = "too late to rely on: try it with a finger, or wash off and size again";

static const char *wording_of(const struct notice *notice, const struct material *material)
{
    const struct stage_table *table = &material->stage[notice->stage];
    bool told = notice->kind == NOTICE_PREPARE || notice->kind == NOTICE_MISSED;
    if (told && (unsigned)notice->boundary < table->boundaries) {
        enum span_do then = table->boundary[notice->boundary].then;
        if (notice->stage == STAGE_UNMASK)
            return late_unmask;
        if (notice->stage == STAGE_LEAF && then == SPAN_STRIP)
            return late_size;
        if (preparation[then])
            return preparation[then];
    }
    return wordings[notice->kind].text;
}

void notice_word(struct shop *shop, struct notice *notice)
{
    struct caution_set cautions;
    size_t index = shop_coat_index(shop, notice->coat_id);
    const struct coat *coat = index != SIZE_MAX ? &shop->coats.item[index] : NULL;
    const struct piece *piece = coat ? shop_piece(shop, coat->piece_id) : NULL;
    const struct material_version *version = coat ? shop_material_version(shop, coat->material_version_id) : NULL;
    if (!piece || !version)
        return;
    coat_cautions(shop, index, notice->raised_at, &cautions);
    const char *act = cautions.count > 0 ? caution_text(cautions.code[0])->act : "";
    snprintf(notice->text, sizeof notice->text, "%s, %s: %s (%s)%s. %s. The label comes first.", piece->name,
             stage_word(notice->stage), wording_of(notice, &version->material), version->material.name,
             notice->assumed ? ", on assumed air: test first" : "", act);
}
