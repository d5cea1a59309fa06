/* Which coats of a piece are on, covered, stripped or struck: follows from the record alone. */
#include "daemon/shop/model.h"

#include <string.h>

/* The upper one hides the lower one wholly. */
static bool coat_overlaps(const char *area_below, const char *area_above)
{
    return area_above[0] == '\0' || strcmp(area_below, area_above) == 0;
}

bool areas_touch(const char *one, const char *other)
{
    return one[0] == '\0' || other[0] == '\0' || strcmp(one, other) == 0;
}

bool coat_lies_over(const struct coat *upper, const struct coat *lower)
{
    if (upper->first_at != lower->first_at)
        return upper->first_at > lower->first_at;
    return upper->id > lower->id;
}

static bool stripping_takes(const struct shop *shop, const struct stripping *stripping, const struct coat *coat)
{
    if (stripping->piece_id != coat->piece_id || stripping->at < coat->first_at)
        return false;
    if (stripping->area[0] != '\0' && strcmp(stripping->area, coat->area) != 0)
        return false;
    size_t kept = shop_coat_index(shop, stripping->down_to_coat_id);
    return kept == SIZE_MAX || coat_lies_over(coat, &shop->coats.item[kept]);
}

static void settle_own_end(struct shop *shop, size_t index)
{
    const struct coat *coat = &shop->coats.item[index];
    struct coat_clock *clock = &shop->clocks.item[index];
    clock->status = COAT_ON;
    clock->covered_by = 0;
    clock->ended_at = MOMENT_NONE;
    if (coat->struck_at != MOMENT_NONE) {
        clock->status = COAT_STRUCK;
        clock->ended_at = coat->struck_at;
        return;
    }
    for (size_t i = 0; i < shop->strippings.count; i++) {
        const struct stripping *stripping = &shop->strippings.item[i];
        if (!stripping_takes(shop, stripping, coat))
            continue;
        if (clock->status != COAT_STRIPPED || stripping->at < clock->ended_at)
            clock->ended_at = stripping->at;
        clock->status = COAT_STRIPPED;
    }
}

/* The first coat over it that is still there covers it. */
static void settle_cover(struct shop *shop, size_t index)
{
    const struct coat *coat = &shop->coats.item[index], *cover = NULL;
    struct coat_clock *clock = &shop->clocks.item[index];
    if (clock->status != COAT_ON)
        return;
    for (size_t i = 0; i < shop->coats.count; i++) {
        const struct coat *other = &shop->coats.item[i];
        enum coat_status status = shop->clocks.item[i].status;
        if (other->piece_id != coat->piece_id || status == COAT_STRUCK || status == COAT_STRIPPED)
            continue;
        if (i == index || !coat_lies_over(other, coat) || !coat_overlaps(coat->area, other->area))
            continue;
        if (!cover || coat_lies_over(cover, other))
            cover = other;
    }
    if (!cover)
        return;
    clock->status = COAT_COVERED;
    clock->covered_by = cover->id;
    clock->ended_at = cover->first_at;
}

void piece_settle_status(struct shop *shop, int64_t piece_id)
{
    for (size_t i = 0; i < shop->coats.count; i++)
        if (shop->coats.item[i].piece_id == piece_id)
            settle_own_end(shop, i);
    for (size_t i = 0; i < shop->coats.count; i++)
        if (shop->coats.item[i].piece_id == piece_id)
            settle_cover(shop, i);
}
