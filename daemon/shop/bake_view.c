/* A bake as people get it: how far it is, the answers of its review, and the cautions that go with it. */
#include "daemon/shop/baking.h"
#include "daemon/shop/notice.h"

#include <math.h>
#include <string.h>

static void say_answers(const struct shop *shop, int64_t now_ms, struct bake_view *view)
{
    for (size_t i = 0; i < shop->bake_answers.count; i++) {
        const struct bake_answer *answer = &shop->bake_answers.item[i];
        enum bake_item item;
        enum bake_ruin thing;
        int64_t asked_ms = view->bake->started_at != MOMENT_NONE ? view->bake->started_at : now_ms;
        bool fresh = asked_ms - answer->at <= BAKE_ANSWER_LASTS_MS;
        if (answer->bake_id != view->bake->id)
            continue;
        struct bake_said said = {fresh ? answer->answer : ANSWER_NONE, answer->at};
        if (bake_item_from_word(answer->about, &item))
            view->item[item] = said;
        else if (bake_ruin_from_word(answer->about, &thing))
            view->thing[thing] = said;
    }
}

/* Of the bake, and of each coat that is not yet past its guard stage. */
void bake_cautions(struct shop *shop, const struct bake *bake, int64_t now_ms, struct caution_set *ret)
{
    const struct bake_part *parts[SHOP_BAKE_PARTS_MAX];
    unsigned count = bake_parts_of(shop, bake->id, parts);
    *ret = (struct caution_set){0};
    for (unsigned i = 0; i < count; i++) {
        struct caution_set own;
        size_t index = shop_coat_index(shop, parts[i]->coat_id);
        const struct coat *coat = index != SIZE_MAX ? &shop->coats.item[index] : NULL;
        const struct material_version *version = coat ? shop_material_version(shop, coat->material_version_id) : NULL;
        shop_cautions_for(shop, CAUTION_FOR_BAKE, version ? version->material_id : 0, coat ? coat->piece_id : 0, bake->place_id, &own);
        cautions_merge(ret, &own);
        if (coat && coat_cautions(shop, index, now_ms, &own))
            cautions_merge(ret, &own);
    }
}

void bakes_cautions(struct shop *shop, int64_t now_ms, struct caution_set *into)
{
    for (size_t i = 0; i < shop->bakes.count; i++) {
        struct caution_set own;
        if (!bake_is_on(&shop->bakes.item[i], now_ms))
            continue;
        bake_cautions(shop, &shop->bakes.item[i], now_ms, &own);
        cautions_merge(into, &own);
    }
}

void bake_view_begin(const struct shop *shop, const struct bake *bake, struct bake_view *ret)
{
    memset(ret, 0, sizeof *ret);
    ret->bake = bake;
    ret->place = shop_place(shop, bake->place_id);
    ret->begun_at = ret->oven_at = ret->unread_since_at = MOMENT_NONE;
    ret->done_likely_at = ret->turn_down_at = ret->too_long_at = ret->too_hot_at = ret->cool_latest_at = MOMENT_NONE;
    ret->oven_c = ret->peak_c = (double)NAN;
    for (unsigned i = 0; i < BAKE_ITEM_COUNT; i++)
        ret->item[i].at = MOMENT_NONE;
    for (unsigned i = 0; i < BAKE_RUIN_COUNT; i++)
        ret->thing[i].at = MOMENT_NONE;
}

bool shop_bake_view(struct shop *shop, int64_t bake_id, int64_t now_ms, struct bake_view *ret)
{
    size_t index = bake_index(shop, bake_id);
    if (index == SIZE_MAX)
        return false;
    bake_view_begin(shop, &shop->bakes.item[index], ret);
    say_answers(shop, now_ms, ret);
    bake_follow(shop, now_ms, ret);
    bake_judge(shop, now_ms, ret);
    bake_cautions(shop, ret->bake, now_ms, &ret->cautions);
    return true;
}

const struct bake *shop_bakes(const struct shop *shop, size_t *ret_count)
{
    *ret_count = shop->bakes.count;
    return shop->bakes.item;
}

const struct bake *shop_bake(const struct shop *shop, int64_t id)
{
    size_t index = bake_index(shop, id);
    return index != SIZE_MAX ? &shop->bakes.item[index] : NULL;
}

bool shop_coat_bake(struct shop *shop, int64_t coat_id, int64_t now_ms, struct coat_bake *ret)
{
    struct bake_view view;
    for (size_t i = shop->bake_parts.count; i-- > 0;) {
        const struct bake_part *part = &shop->bake_parts.item[i];
        size_t index = part->coat_id == coat_id ? bake_index(shop, part->bake_id) : SIZE_MAX;
        if (index == SIZE_MAX || shop->bakes.item[index].started_at == MOMENT_NONE || shop->bakes.item[index].started_at > now_ms)
            continue;
        bake_view_begin(shop, &shop->bakes.item[index], &view);
        bake_follow(shop, now_ms, &view);
        *ret = (struct coat_bake){.bake = view.bake, .state = view.state, .peak_c = view.peak_c, .turn_down_at = view.turn_down_at, .cool_at = view.cool_latest_at};
        for (unsigned k = 0; k < view.parts; k++)
            ret->baked |= view.part[k].part == part && view.part[k].done >= 1.0 - BAKE_ROUNDING;
        return true;
    }
    return false;
}
