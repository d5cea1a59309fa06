/* Whether the service ran while an oven was hot that nobody reads: what that did meanwhile is not known. */
#include "daemon/shop/baking.h"
#include "daemon/shop/write.h"

struct bake_gap *bake_open_gap(const struct shop *shop, int64_t bake_id)
{
    for (size_t i = shop->bake_gaps.count; i-- > 0;)
        if (shop->bake_gaps.item[i].bake_id == bake_id && shop->bake_gaps.item[i].to_at == MOMENT_NONE)
            return &shop->bake_gaps.item[i];
    return NULL;
}

static bool any_wants_watch(struct shop *shop, int64_t now_ms)
{
    for (size_t i = 0; i < shop->bakes.count; i++)
        if (bake_wants_watch(shop, &shop->bakes.item[i], now_ms) && !bake_open_gap(shop, shop->bakes.item[i].id))
            return true;
    return false;
}

int64_t bakes_watch_due(struct shop *shop, int64_t from_ms)
{
    if (shop->bake_seen_at == MOMENT_NONE || !any_wants_watch(shop, from_ms))
        return MOMENT_NONE;
    int64_t due = shop->bake_seen_at + BAKE_WATCH_MS;
    return due > from_ms ? due : from_ms + 1;
}

/* The last moment that it ran, recorded or not: with a full disk it runs and cannot say so. */
static int64_t last_ran(const struct shop *shop)
{
    return shop->bake_ran_at > shop->bake_seen_at ? shop->bake_ran_at : shop->bake_seen_at;
}

static enum coat_result add_gaps(struct shop *shop, int64_t now_ms)
{
    enum coat_result result = COAT_OK;
    for (size_t i = 0; result == COAT_OK && i < shop->bakes.count; i++) {
        const struct bake *bake = &shop->bakes.item[i];
        struct bake_gap gap = {.bake_id = bake->id, .from_at = last_ran(shop), .to_at = MOMENT_NONE};
        if (!bake_wants_watch(shop, bake, now_ms) || bake_open_gap(shop, bake->id))
            continue;
        if (!LIST_RESERVE(&shop->bake_gaps))
            return COAT_NO_MEMORY;
        result = store_bake_gap_add(shop->store, &gap, &gap.id);
        if (result == COAT_OK)
            LIST_PUSH(&shop->bake_gaps, gap);
    }
    return result;
}

static enum coat_result record_watch(struct shop *shop, int64_t now_ms, bool slept)
{
    int64_t revision;
    size_t gaps = shop->bake_gaps.count;
    enum coat_result result = store_begin(shop->store);
    if (result != COAT_OK)
        return result;
    if (slept)
        result = add_gaps(shop, now_ms);
    if (result == COAT_OK && shop->bake_gaps.count > gaps)
        result = store_revision_bump(shop->store, &revision);
    if (result == COAT_OK)
        result = store_bake_seen_put(shop->store, now_ms);
    if (result == COAT_OK)
        result = store_commit(shop->store);
    if (result == COAT_OK)
        return COAT_OK;
    store_rollback(shop->store);
    shop->bake_gaps.count = gaps;
    return result;
}

enum coat_result bakes_watch(struct shop *shop, int64_t now_ms, bool *ret_changed)
{
    int64_t seen_at = shop->bake_seen_at, ran_at = last_ran(shop);
    size_t gaps = shop->bake_gaps.count;
    *ret_changed = false;
    if (!any_wants_watch(shop, now_ms))
        return COAT_OK;
    bool slept = ran_at != MOMENT_NONE && now_ms - ran_at > BAKE_GAP_MS;
    if (!slept)
        shop->bake_ran_at = now_ms;
    if (seen_at != MOMENT_NONE && now_ms - seen_at < BAKE_WATCH_MS && seen_at <= now_ms)
        return COAT_OK;
    enum coat_result result = record_watch(shop, now_ms, slept);
    if (result != COAT_OK)
        return result;
    shop->bake_seen_at = shop->bake_ran_at = now_ms;
    *ret_changed = shop->bake_gaps.count > gaps;
    return COAT_OK;
}
