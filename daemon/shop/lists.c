/* The lists over the drying line: what can be done now, what comes next, what must not be touched yet, what is held up. */
#include "daemon/shop/notice.h"

#include <math.h>
#include <stdlib.h>

/* Stages that a hand acts on once they are reached, weightiest first. */
static const enum stage plain_acts[] = {STAGE_SEAL, STAGE_BAKE, STAGE_TAPE, STAGE_SAND};
/* Touched before these, a coat is spoiled; in the order in which a hand asks. */
static const enum stage hands_off[] = {STAGE_DUST_FREE, STAGE_TACK_FREE, STAGE_HANDLE};

struct listing {
    struct shop *shop;
    const struct coat_view *view;
    bool any_time_told; /* one row without an end a coat is enough */
};

static void add_row(struct listing *l, struct list_row row)
{
    if (LIST_RESERVE(&l->shop->rows)) /* without memory the row is missing; the notices are not */
        l->shop->rows.item[l->shop->rows.count++] = row;
}

static struct list_row row_of(const struct listing *l, enum list_kind list, const struct stage_view *stage, unsigned span)
{
    const struct span_view *at = &stage->span[span];
    struct list_row row = {
        .list = list,
        .coat_id = l->view->coat->id,
        .piece_id = l->view->coat->piece_id,
        .stage = stage->stage,
        .state = stage->state,
        .does = at->does,
        .stall = stage->stall,
        .since_at = span > 0 ? stage->span[span - 1].until.likely_at : l->view->coat->last_at,
        .ends = at->ends,
        .then_until_at = MOMENT_NONE,
        .assumed = stage->assumed,
        .disputed = stage->disputed,
    };
    if (at->ends)
        row.until = at->until;
    if (span + 1 < stage->spans) {
        const struct span_view *then = &stage->span[span + 1];
        bool opens = span + 2 < stage->spans && stage->span[span + 2].does == SPAN_GO;
        row.then = then->does;
        if (then->ends)
            row.then_until_at = opens ? then->until.latest_at : then->until.earliest_at;
    }
    return row;
}

/* It is in the oven, or was and is baked; what came out too early may go in again. */
static bool is_done_with_baking(const struct coat_view *view)
{
    return view->bake.bake && (view->bake.baked || view->bake.state != BAKE_COLD);
}

static void list_now(struct listing *l)
{
    for (unsigned i = 0; i < l->view->stages; i++) {
        const struct stage_view *stage = &l->view->stage[i];
        bool may = stage->state == STATE_OPEN || stage->state == STATE_CLOSING || stage->state == STATE_PREPARE ||
                   stage->state == STATE_MISSED;
        bool ends = stage->span[stage->current].ends;
        if (!may || (!ends && l->view->condition == CONDITION_HARD && stage->state != STATE_MISSED))
            continue; /* a hard coat may be coated again any time: no news */
        if (!ends && stage->stage == STAGE_UNMASK)
            continue; /* whether there was tape at all is not recorded: its notice was enough */
        add_row(l, row_of(l, LIST_NOW, stage, stage->current));
        l->any_time_told |= !ends;
    }
    for (size_t i = 0; i < sizeof plain_acts / sizeof *plain_acts && !l->any_time_told; i++) {
        const struct stage_view *stage = coat_view_stage(l->view, plain_acts[i]);
        if (!stage || stage->state != STATE_REACHED || l->view->condition == CONDITION_HARD)
            continue;
        if (plain_acts[i] == STAGE_BAKE && is_done_with_baking(l->view))
            continue;
        add_row(l, row_of(l, LIST_NOW, stage, stage->current));
        l->any_time_told = true;
    }
}

static bool waits_for_go(const struct stage_view *stage)
{
    if (stage->current + 1 >= stage->spans)
        return false;
    enum span_do then = stage->span[stage->current + 1].does;
    bool waiting = stage->state == STATE_WAITING || stage->state == STATE_SHUT;
    return waiting && (then == SPAN_GO || then == SPAN_TEST);
}

static int64_t comes_at(const struct stage_view *stage)
{
    int64_t at = stage->span[stage->current].until.likely_at;
    return at == MOMENT_NONE ? INT64_MAX : at;
}

/* The next thing of a group of stages; NULL where none is waited for. */
static const struct stage_view *soonest(const struct coat_view *view, const enum stage *group, size_t count)
{
    const struct stage_view *best = NULL;
    for (size_t i = 0; i < count; i++) {
        const struct stage_view *stage = coat_view_stage(view, group[i]);
        if (stage && waits_for_go(stage) && (!best || comes_at(stage) < comes_at(best)))
            best = stage;
    }
    return best;
}

static void list_next(struct listing *l)
{
    static const enum stage coats[] = {STAGE_RECOAT, STAGE_LEAF, STAGE_SEAL, STAGE_BAKE};
    static const enum stage hands[] = {STAGE_HANDLE, STAGE_TAPE, STAGE_SAND};
    const struct stage_view *groups[] = {soonest(l->view, coats, sizeof coats / sizeof *coats),
                                         soonest(l->view, hands, sizeof hands / sizeof *hands)};
    for (size_t i = 0; i < sizeof groups / sizeof *groups; i++)
        if (groups[i] && groups[i]->stall == STALL_NONE)
            add_row(l, row_of(l, LIST_NEXT, groups[i], groups[i]->current));
}

/* Hot metal: until it is cool at the latest. */
static bool list_hot(struct listing *l)
{
    const struct coat_bake *bake = &l->view->bake;
    if (!bake->bake || bake->state == BAKE_COLD)
        return false;
    add_row(l, (struct list_row){
        .list = LIST_NOT_YET,
        .coat_id = l->view->coat->id,
        .piece_id = l->view->coat->piece_id,
        .stage = STAGE_HANDLE,
        .state = STATE_WAITING,
        .does = SPAN_WAIT,
        .since_at = bake->bake->started_at,
        .until = {.earliest_at = bake->cool_at, .likely_at = bake->cool_at, .latest_at = bake->cool_at, .label_floor_at = MOMENT_NONE},
        .ends = true,
        .then = SPAN_GO,
        .then_until_at = MOMENT_NONE,
    });
    return true;
}

static void list_not_yet(struct listing *l)
{
    if (list_hot(l))
        return;
    for (size_t i = 0; i < sizeof hands_off / sizeof *hands_off; i++) {
        const struct stage_view *stage = coat_view_stage(l->view, hands_off[i]);
        if (!stage || stage->state != STATE_WAITING)
            continue;
        add_row(l, row_of(l, LIST_NOT_YET, stage, stage->current));
        return;
    }
}

static void list_held(struct listing *l)
{
    for (unsigned i = 0; i < l->view->stages; i++) {
        const struct stage_view *stage = &l->view->stage[i];
        if (stage->stall == STALL_NONE)
            continue;
        struct list_row row = row_of(l, LIST_HELD, stage, stage->current);
        row.since_at = stage->stalled_since_at;
        add_row(l, row);
        return;
    }
}

/* Whether some coat of the piece is in a hot oven, or came out of one and is not cool yet: all of the piece is as hot as that. */
static bool piece_is_hot(struct shop *shop, int64_t piece_id, int64_t now_ms)
{
    for (size_t i = 0; i < shop->bake_parts.count; i++) {
        struct coat_bake bake;
        const struct coat *coat = shop_coat(shop, shop->bake_parts.item[i].coat_id);
        if (coat && coat->piece_id == piece_id && shop_coat_bake(shop, coat->id, now_ms, &bake) && bake.state != BAKE_COLD)
            return true;
    }
    return false;
}

/* What orders a row in its list: what ends first (now), what comes first (the rest). */
static int64_t order_of(const struct list_row *row)
{
    if (!row->ends)
        return INT64_MAX;
    int64_t at = row->list == LIST_NOW ? row->until.earliest_at : row->until.likely_at;
    return at == MOMENT_NONE ? INT64_MAX - 1 : at;
}

static int by_order(const void *a, const void *b)
{
    const struct list_row *x = a, *y = b;
    if (x->list != y->list)
        return x->list < y->list ? -1 : 1;
    int64_t at = order_of(x), other = order_of(y);
    if (at != other)
        return at < other ? -1 : 1;
    if (x->coat_id != y->coat_id)
        return x->coat_id < y->coat_id ? -1 : 1;
    return x->stage < y->stage ? -1 : x->stage > y->stage;
}

const struct list_row *shop_lists(struct shop *shop, int64_t now_ms, size_t *ret_count)
{
    shop->rows.count = 0;
    for (size_t i = 0; i < shop->coats.count; i++) {
        struct coat_view view;
        const struct piece *piece = shop_piece(shop, shop->coats.item[i].piece_id);
        if (shop->clocks.item[i].status != COAT_ON || !piece || piece->removed_at != MOMENT_NONE)
            continue;
        if (!shop_coat_view(shop, shop->coats.item[i].id, now_ms, &view))
            continue;
        struct listing listing = {shop, &view, false};
        list_not_yet(&listing);
        if (piece_is_hot(shop, piece->id, now_ms))
            continue; /* hands off it, whatever its windows say */
        list_now(&listing);
        list_next(&listing);
        list_held(&listing);
    }
    if (shop->rows.count > 1)
        qsort(shop->rows.item, shop->rows.count, sizeof *shop->rows.item, by_order);
    *ret_count = shop->rows.count;
    return shop->rows.item;
}
