/* What the files about bakes share. */
#ifndef SHOP_BAKING_H
#define SHOP_BAKING_H

#include "coat/shop_bake.h"
#include "daemon/shop/model.h"

size_t bake_index(const struct shop *shop, int64_t bake_id); /* SIZE_MAX where there is none */
/* The parts of one bake, into an array of the caller; returns how many. */
unsigned bake_parts_of(const struct shop *shop, int64_t bake_id, const struct bake_part *ret[SHOP_BAKE_PARTS_MAX]);

/* ---- bake_run.c: how far it is ---- */
/* Fills all of the view but the review. */
void bake_follow(struct shop *shop, int64_t now_ms, struct bake_view *view);
/* Whether its oven is taken to do as it was told, so that the service must be known to run. */
bool bake_wants_watch(struct shop *shop, const struct bake *bake, int64_t now_ms);

/* ---- bake_view.c ---- */
void bake_view_begin(const struct shop *shop, const struct bake *bake, struct bake_view *ret);
/* Adds those of all bakes that are on. */
void bakes_cautions(struct shop *shop, int64_t now_ms, struct caution_set *into);
void bake_cautions(struct shop *shop, const struct bake *bake, int64_t now_ms, struct caution_set *ret);

/* ---- bake_judge.c: may it begin ---- */
void bake_judge(struct shop *shop, int64_t now_ms, struct bake_view *view);

/* Whether a bake of the coat has begun. */
bool coat_is_in_bake(const struct shop *shop, int64_t coat_id);
bool bake_is_on(const struct bake *bake, int64_t at_ms); /* begun, and not ended or forgotten */
/* What two ways to add up the same bake may differ by. */
#define BAKE_ROUNDING 1e-6

/* ---- bake_watch.c: whether the service ran ---- */
#define BAKE_WATCH_MS (5 * MS_PER_MIN)
/* Notes that it runs, and the gap where it did not; a transaction of its own where there is something to note. */
COAT_CHECKED enum coat_result bakes_watch(struct shop *shop, int64_t now_ms, bool *ret_changed);
/* The gap that nobody has closed; NULL. */
struct bake_gap *bake_open_gap(const struct shop *shop, int64_t bake_id);
int64_t bakes_watch_due(struct shop *shop, int64_t from_ms);

#endif
