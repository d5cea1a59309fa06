/* Where a piece hung, and what is summed or walked over the air of all those places. */
#include "daemon/shop/model.h"

#include <math.h>

unsigned coat_stays(const struct shop *shop, int64_t piece_id, int64_t start_ms, struct stay stays[STAYS_MAX])
{
    unsigned count = 1;
    stays[0] = (struct stay){shop_air_of(shop, shop_piece_place(shop, piece_id, start_ms)), start_ms, INT64_MAX};
    for (size_t i = 0; i < shop->moves.count; i++) {
        const struct move *move = &shop->moves.item[i];
        if (move->piece_id != piece_id)
            continue;
        struct place_air *air = shop_air_of(shop, move->place_id);
        if (move->at <= start_ms || air == stays[count - 1].air)
            continue; /* before it, or moved to where it hung: one stay */
        stays[count - 1].to_ms = move->at;
        if (count == STAYS_MAX) { /* drop the oldest: its progress is forgotten, which errs late for openings */
            for (unsigned k = 1; k < STAYS_MAX; k++)
                stays[k - 1] = stays[k];
            count--;
        }
        stays[count++] = (struct stay){air, move->at, INT64_MAX};
    }
    return count;
}

unsigned stays_until(const struct shop *shop, int64_t piece_id, int64_t from_ms, int64_t to_ms, struct stay stays[STAYS_MAX])
{
    unsigned count = coat_stays(shop, piece_id, from_ms, stays);
    while (count > 0 && stays[count - 1].from_ms >= to_ms)
        count--;
    if (count > 0 && stays[count - 1].to_ms > to_ms)
        stays[count - 1].to_ms = to_ms;
    return count;
}

enum coat_result piece_ledger_sum(const struct shop *shop, int64_t piece_id, int64_t from_ms, int64_t to_ms, ledger_pick pick,
                                  const void *what, double *ret)
{
    struct stay stays[STAYS_MAX];
    unsigned count = stays_until(shop, piece_id, from_ms, to_ms, stays);
    double sum = 0.0, entered, left;
    for (unsigned i = 0; i < count; i++) {
        struct ledger *ledger;
        enum coat_result result = pick(stays[i].air, what, &ledger);
        if (result == COAT_OK)
            result = ledger_value(ledger, stays[i].from_ms, &entered);
        if (result == COAT_OK)
            result = ledger_value(ledger, stays[i].to_ms, &left);
        if (result != COAT_OK)
            return result;
        sum += left - entered;
    }
    *ret = sum;
    return COAT_OK;
}

static enum coat_result pick_assumed(struct place_air *air, const void *what, struct ledger **ret)
{
    return place_air_assumed(air, *(const bool *)what, ret);
}

double piece_assumed_hours(const struct shop *shop, int64_t piece_id, bool heeds_rh, int64_t from_ms, int64_t to_ms)
{
    double hours;
    enum coat_result result = piece_ledger_sum(shop, piece_id, from_ms, to_ms, pick_assumed, &heeds_rh, &hours);
    return result == COAT_OK ? hours : (double)NAN;
}

enum coat_result piece_air_walk(const struct shop *shop, int64_t piece_id, int64_t from_ms, int64_t to_ms, enum law_side side,
                                history_visitor visit, void *context)
{
    struct stay stays[STAYS_MAX];
    unsigned count = stays_until(shop, piece_id, from_ms, to_ms, stays);
    for (unsigned i = 0; i < count; i++) {
        enum coat_result result = place_air_walk(stays[i].air, stays[i].from_ms, stays[i].to_ms, side, visit, context);
        if (result != COAT_OK)
            return result;
    }
    return COAT_OK;
}
