#include "daemon/shop/baking.h"
#include "daemon/shop/notice.h"

#include <stdlib.h>
#include <string.h>

#define SOONER_LEAST_MS (5 * MS_PER_MIN) /* an end that comes sooner by less, or by less than a quarter of its lead, calls nobody twice: common practice */
#define ROUNDING_MS MS_PER_S /* a moment reckoned again, from other stretches of the same air, may come out a little later: nothing to correct */

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

enum coat_result notice_take_back(const struct notice *notice, int64_t now_ms, struct notice_batch *batch)
{
    for (size_t i = 0; i < batch->count; i++) {
        if (&batch->item[i] != notice)
            continue;
        batch->item[i].withdrawn_at = now_ms;
        return COAT_OK;
    }
    struct notice taken = *notice;
    taken.withdrawn_at = now_ms;
    return notice_batch_add(batch, &taken) ? COAT_OK : COAT_NO_MEMORY;
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

bool notice_is_ahead(const struct notice *notice, int64_t at_ms)
{
    return notice->raised_at > at_ms || (notice->withdrawn_at != MOMENT_NONE && notice->withdrawn_at > at_ms);
}

static bool is_raised(const struct gathering *g, struct notice *notice)
{
    const struct notice *newest = NULL;
    bool batched = false;
    for (size_t i = g->clock->first_notice; i > 0; i = g->shop->notice_next.item[i - 1])
        if (same_subject(&g->shop->notices.item[i - 1], notice))
            newest = &g->shop->notices.item[i - 1];
    for (size_t i = 0; i < g->batch->count; i++)
        if (same_subject(&g->batch->item[i], notice)) {
            newest = &g->batch->item[i];
            batched = true; /* what this turn takes back may be so again at a later step of it */
        }
    notice->turn = newest ? newest->turn + 1 : 1;
    return newest && (newest->withdrawn_at == MOMENT_NONE || (!batched && notice_is_ahead(newest, g->at_ms)));
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
        .told_at = MOMENT_NONE,
    };
    if (is_raised(g, &notice))
        return COAT_OK;
    notice_word(g->shop, &notice);
    return notice_batch_add(g->batch, &notice) ? COAT_OK : COAT_NO_MEMORY;
}

/* What lies behind when the coat was entered is seen in the answer. */
static bool worth_telling(const struct gathering *g, int64_t due_at)
{
    return due_at >= g->coat->entered_at;
}

/* Windows that are about to close are told ahead: open ones, and those that open and close in quiet hours. */
static bool closing_is_told(const struct gathering *g, const struct stage_run *run, unsigned i, unsigned current)
{
    int64_t closes = boundary_due(&run->first[i]);
    if (stage_span(g->material, run, i) != SPAN_GO || closes == MOMENT_NONE || closes <= g->at_ms)
        return false;
    int64_t told = coat_closing_told_at(g->shop, g->coat, closes);
    if (told > g->at_ms || i == current)
        return told <= g->at_ms;
    int64_t enters = stage_enters_soonest(run, i);
    return told < closes - coat_lead_ms(g->shop, g->coat) && enters != MOMENT_NONE && enters < closes;
}

static enum coat_result gather_closings(const struct gathering *g, const struct stage_run *run, unsigned current)
{
    enum coat_result result = COAT_OK;
    for (unsigned i = current; result == COAT_OK && i < run->count; i++)
        if (closing_is_told(g, run, i, current))
            result = raise(g, NOTICE_CLOSING, &run->first[i], boundary_due(&run->first[i]), MOMENT_NONE);
    return result;
}

static enum coat_result gather_window(const struct gathering *g, const struct stage_run *run)
{
    unsigned current = stage_current(run, g->at_ms);
    enum coat_result result = COAT_OK;
    if (current > 0) {
        unsigned i = current - 1; /* the boundary behind: those before it tell of spans that are over */
        int64_t due = stage_enters(run, current);
        int64_t next = current < run->count ? boundary_due(&run->first[current]) : MOMENT_NONE;
        bool ends_now = next != MOMENT_NONE && next <= g->at_ms + ROUNDING_MS; /* as good as: it may have been told to be, before the clock was set back */
        if (!ends_now)
            result = raise(g, kind_of_span[run->first[i].then], &run->first[i], due, next);
    }
    return result == COAT_OK ? gather_closings(g, run, current) : result;
}

static enum coat_result gather_stage(const struct gathering *g, const struct stage_run *run)
{
    if (stage_is_window(run->first->stage))
        return gather_window(g, run);
    int64_t due = boundary_due(run->first);
    bool in_bake = run->first->stage == STAGE_BAKE && coat_is_in_bake(g->shop, g->coat->id);
    if (due == MOMENT_NONE || due > g->at_ms || !worth_telling(g, due) || in_bake)
        return COAT_OK;
    return raise(g, NOTICE_REACHED, run->first, due, MOMENT_NONE);
}

/* A turn of many steps comes to the same notice in each of them. */
static bool is_taken_back(const struct gathering *g, const struct notice *notice)
{
    for (size_t i = 0; i < g->batch->count; i++)
        if (g->batch->item[i].id == notice->id)
            return true;
    return false;
}

static enum coat_result take_back(const struct gathering *g, const struct notice *notice)
{
    if (is_taken_back(g, notice))
        return COAT_OK;
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
 * is early only where the moment to tell it lies ahead again. */
static bool was_early(const struct gathering *g, const struct notice *notice, const struct boundary_clock *b)
{
    if (notice->kind == NOTICE_CORRECTION)
        return false;
    int64_t due = b ? boundary_due(b) : MOMENT_NONE;
    if (due != MOMENT_NONE && notice->kind == NOTICE_CLOSING)
        due = coat_closing_told_at(g->shop, g->coat, due);
    return due == MOMENT_NONE || due > g->at_ms + ROUNDING_MS;
}

/* That it may be baked is of no use once it is. */
static bool bake_has_begun(const struct gathering *g, const struct notice *notice)
{
    return notice->kind == NOTICE_REACHED && notice->stage == STAGE_BAKE && coat_is_in_bake(g->shop, g->coat->id);
}

/* What it says is over: a later span of its window is in, or what was corrected has come. Nobody is to be told it any more. */
static bool is_over(const struct gathering *g, const struct notice *notice, struct boundary_clock *b)
{
    struct stage_run run = stage_run_of(g->clock, notice->stage);
    if (bake_has_begun(g, notice))
        return true;
    if (notice->kind == NOTICE_CORRECTION)
        return b && boundary_due(b) != MOMENT_NONE && boundary_due(b) <= g->at_ms;
    unsigned told = (unsigned)notice->boundary + (notice->kind == NOTICE_CLOSING ? 0 : 1); /* the span that it tells of */
    return stage_is_window(notice->stage) && run.count > 0 && stage_current(&run, g->at_ms) > told;
}

/* Of what the air does: whether it is so still. */
static bool is_so(const struct gathering *g, const struct notice *notice)
{
    struct coat_stall stall;
    if (notice->kind == NOTICE_INSPECT)
        return coat_inspect(g->shop, g->coat_index, g->at_ms) != INSPECT_NOT;
    return coat_stalled(g->shop, g->coat_index, g->at_ms, &stall) && stall.boundary->stage == notice->stage;
}

/* The end that it told is a good deal sooner by what is known now: who goes by it would come too late. What is to be done until then is told once more when that
 * end comes near, but while it is held back nobody has read it. */
static bool ends_sooner(const struct gathering *g, const struct notice *notice)
{
    bool closes = notice->kind == NOTICE_CLOSING, held = notice->kind == NOTICE_OPENS && notice_head(g->shop, notice)->told_at == MOMENT_NONE;
    struct stage_run run = stage_run_of(g->clock, notice->stage);
    unsigned end = (unsigned)notice->boundary + (closes ? 0 : 1);
    int64_t told_ms = closes ? notice->due_at : notice->until_at, quarter_ms = coat_lead_ms(g->shop, g->coat) / 4;
    if ((!closes && !held) || told_ms == MOMENT_NONE || end >= run.count)
        return false;
    int64_t ends = boundary_due(&run.first[end]);
    return ends != MOMENT_NONE && ends > g->at_ms && ends < told_ms - (quarter_ms > SOONER_LEAST_MS ? quarter_ms : SOONER_LEAST_MS);
}

/* Over the channels, or to whoever read it on the page and put it aside. */
static bool is_told(const struct gathering *g, const struct notice *notice)
{
    return notice_head(g->shop, notice)->told_at != MOMENT_NONE || notice->acknowledged_at != MOMENT_NONE;
}

static enum coat_result review(const struct gathering *g, const struct notice *notice)
{
    struct boundary_clock *b = boundary_of(g, notice);
    bool of_air = notice->kind == NOTICE_STALLED || notice->kind == NOTICE_INSPECT;
    if (g->clock->status != COAT_ON)
        return notice->acknowledged_at == MOMENT_NONE ? take_back(g, notice) : COAT_OK;
    if (notice_is_ahead(notice, g->at_ms))
        return COAT_OK;
    if (of_air)
        return is_so(g, notice) ? COAT_OK : take_back(g, notice);
    if (!was_early(g, notice, b)) {
        bool over = is_over(g, notice, b) && (notice->acknowledged_at == MOMENT_NONE || notice->kind == NOTICE_CORRECTION); /* it may be early once more */
        return over || ends_sooner(g, notice) ? take_back(g, notice) : COAT_OK; /* what ends sooner is then raised anew */
    }
    enum coat_result result = take_back(g, notice);
    if (result != COAT_OK || !b || notice->kind == NOTICE_CLOSING || !is_told(g, notice))
        return result;
    return raise(g, NOTICE_CORRECTION, b, boundary_due(b), MOMENT_NONE);
}

/* What this turn raised at an earlier moment and is over since: a machine that slept for days must not tell what was open meanwhile. It stays in the record. */
static void review_batched(const struct gathering *g)
{
    for (size_t i = 0; i < g->batch->count; i++) {
        struct notice *notice = &g->batch->item[i];
        if (notice->id != 0 || notice->coat_id != g->coat->id || notice->withdrawn_at != MOMENT_NONE)
            continue;
        bool of_air = notice->kind == NOTICE_STALLED || notice->kind == NOTICE_INSPECT;
        bool over = of_air ? !is_so(g, notice) : is_over(g, notice, boundary_of(g, notice));
        if (g->clock->status != COAT_ON || over)
            notice->withdrawn_at = g->now_ms;
    }
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
    review_batched(g);
    return COAT_OK;
}

static enum coat_result gather_air(const struct gathering *g)
{
    struct coat_stall stall;
    enum coat_result result = COAT_OK;
    if (coat_stalled(g->shop, g->coat_index, g->at_ms, &stall) && coat_stall_lasts(&stall, g->at_ms)) {
        int64_t since = stall.since_at != MOMENT_NONE ? stall.since_at : g->at_ms - STALL_LASTS_MS;
        result = raise(g, NOTICE_STALLED, stall.boundary, since + STALL_LASTS_MS, MOMENT_NONE);
    }
    struct stage_run guard = stage_run_of(g->clock, g->material->guard);
    if (result == COAT_OK && guard.count > 0 && coat_inspect(g->shop, g->coat_index, g->at_ms) != INSPECT_NOT)
        result = raise(g, NOTICE_INSPECT, guard.first, g->at_ms, MOMENT_NONE);
    return result;
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
    return result == COAT_OK ? gather_air(&g) : result;
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
        if (notice->id == 0)
            notice->group_id = notice_group_find(shop, batch->item, i, notice);
        enum coat_result result =
            notice->id ? store_notice_put(shop->store, notice) : store_notice_add(shop->store, notice);
        if (result != COAT_OK)
            return result;
    }
    return COAT_OK;
}

struct notice *notice_by_id(const struct shop *shop, int64_t id)
{
    size_t low = 0, high = shop->notices.count;
    while (low < high) {
        size_t mid = low + (high - low) / 2;
        if (shop->notices.item[mid].id < id)
            low = mid + 1;
        else
            high = mid;
    }
    return low < shop->notices.count && shop->notices.item[low].id == id ? &shop->notices.item[low] : NULL;
}

/* While it stands, its coat is looked at with every turn: no mark tells when it is over. */
static void note_stall(struct shop *shop, const struct notice *notice)
{
    size_t index = notice->kind == NOTICE_STALLED ? shop_coat_index(shop, notice->coat_id) : SIZE_MAX;
    if (index != SIZE_MAX)
        shop->clocks.item[index].stall_told = notice->withdrawn_at == MOMENT_NONE;
}

enum coat_result notice_tie(struct shop *shop)
{
    size_t number = shop->notices.count; /* index + 1 */
    size_t index = shop_coat_index(shop, shop->notices.item[number - 1].coat_id);
    notice_raise_floor(shop, shop->notices.item[number - 1].told_at, shop->notices.item[number - 1].id);
    if (!LIST_RESERVE(&shop->notice_next) || !notice_group_tie(shop, number))
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
    note_stall(shop, &shop->notices.item[number - 1]);
    return COAT_OK;
}

enum coat_result notice_batch_apply(struct shop *shop, const struct notice_batch *batch)
{
    for (size_t i = 0; i < batch->count; i++) {
        struct notice *known = notice_by_id(shop, batch->item[i].id);
        if (known) {
            *known = batch->item[i];
            note_stall(shop, known);
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
