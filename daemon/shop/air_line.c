/* What is drawn of the air of a place beside its readings: the hours that nobody measured, and what is to come with its band. */
#include "daemon/shop/forecast.h"
#include "daemon/shop/model.h"

#include <stdlib.h>
#include <string.h>

struct gaps {
    struct air_gap *gap;
    unsigned count;
};

/* The newest are kept where there are more than fit. */
static bool gather_gap(const struct air_step *step, void *context)
{
    struct gaps *gaps = context;
    if (step->basis != AIR_ASSUMED || step->to_ms <= step->from_ms)
        return true;
    if (gaps->count > 0 && gaps->gap[gaps->count - 1].to_ms >= step->from_ms) {
        gaps->gap[gaps->count - 1].to_ms = step->to_ms;
        return true;
    }
    if (gaps->count == AIR_GAPS_MAX) {
        memmove(gaps->gap, gaps->gap + 1, (AIR_GAPS_MAX - 1) * sizeof *gaps->gap);
        gaps->count--;
    }
    gaps->gap[gaps->count++] = (struct air_gap){step->from_ms, step->to_ms};
    return true;
}

enum coat_result shop_air_gaps(struct shop *shop, int64_t place_id, int64_t from_ms, int64_t to_ms, struct air_gap gap[AIR_GAPS_MAX],
                               unsigned *ret_count)
{
    struct place_air *air = shop_air_of(shop, place_id);
    struct gaps gaps = {gap, 0};
    if (air->place_id != place_id || air->last_at == MOMENT_NONE) {
        *ret_count = 0;
        return COAT_OK;
    }
    enum coat_result result = place_air_walk(air, from_ms, to_ms, SIDE_OPENING, gather_gap, &gaps);
    if (result == COAT_OK)
        *ret_count = gaps.count;
    return result;
}

static int by_value(const void *a, const void *b)
{
    double p = *(const double *)a, q = *(const double *)b;
    return (p > q) - (p < q);
}

/* The band of 10 to 90 % of the members, as finishing moments are told. */
static struct air_ahead ahead_at(const struct outlook *outlook, unsigned hour)
{
    double temp_c[OUTLOOK_MEMBERS];
    for (unsigned m = 0; m < outlook->members; m++)
        temp_c[m] = outlook->member[m].temp_c[hour];
    qsort(temp_c, outlook->members, sizeof temp_c[0], by_value);
    return (struct air_ahead){
        .at_ms = outlook->from_ms + hour * MS_PER_H,
        .temp_c = outlook->central.temp_c[hour],
        .low_c = temp_c[outlook->members / 10],
        .high_c = temp_c[outlook->members - 1 - outlook->members / 10],
        .rh_pct = outlook->central.rh_pct[hour],
    };
}

/* Hour by hour at first, then in steps as wide as the line draws them. */
#define HOURLY_H 12
#define STEP_H 3

unsigned shop_air_ahead(struct shop *shop, int64_t place_id, int64_t now_ms, struct air_ahead ahead[AIR_AHEAD_MAX])
{
    struct place_air *air = shop_air_of(shop, place_id);
    const struct outlook *outlook = air->place_id == place_id && air->last_at != MOMENT_NONE ? forecast_of(air) : NULL;
    unsigned count = 0;
    if (outlook == NULL || place_air_is_stale(air, now_ms))
        return 0; /* told from a reading that no longer holds it would look better known than it is */
    for (unsigned hour = 0; hour <= outlook->hours && count < AIR_AHEAD_MAX; hour += hour < HOURLY_H ? 1 : STEP_H) {
        if (outlook->from_ms + hour * MS_PER_H > now_ms)
            ahead[count++] = ahead_at(outlook, hour);
    }
    return count;
}
