/* The air that a coat really had, in a few figures for its record. */
#include "coat/shop_record.h"
#include "daemon/shop/model.h"

#include <math.h>
#include <stdlib.h>

/* Means of hours, and the ends of single readings. */
struct gathered {
    double low, high, sum;
    unsigned hours;
};

static void gather(struct gathered *g, double low, double mean, double high)
{
    if (isnan(mean))
        return;
    g->low = g->hours == 0 || low < g->low ? low : g->low;
    g->high = g->hours == 0 || high > g->high ? high : g->high;
    g->sum += mean;
    g->hours++;
}

static void tell(const struct gathered *g, double *ret_low, double *ret_mean, double *ret_high)
{
    double nothing = (double)NAN;
    *ret_low = g->hours > 0 ? g->low : nothing;
    *ret_mean = g->hours > 0 ? g->sum / g->hours : nothing;
    *ret_high = g->hours > 0 ? g->high : nothing;
}

/* Hours, or longer bins where there would be too many. */
static unsigned bins_of(int64_t span_ms)
{
    int64_t hours = (span_ms + MS_PER_H - 1) / MS_PER_H;
    return (unsigned)(hours > AIR_BINS_MAX ? AIR_BINS_MAX : hours);
}

static enum coat_result gather_stay(struct shop *shop, int64_t place_id, int64_t from_ms, int64_t to_ms, struct gathered *temp, struct gathered *rh)
{
    unsigned bins = bins_of(to_ms - from_ms);
    struct air_bin *bin = calloc(bins, sizeof *bin);
    if (bin == NULL)
        return COAT_NO_MEMORY;
    enum coat_result result = shop_air_bins(shop, place_id, from_ms, to_ms, bins, bin);
    for (unsigned i = 0; result == COAT_OK && i < bins; i++) {
        gather(temp, bin[i].temp_low_c, bin[i].temp_mean_c, bin[i].temp_high_c);
        gather(rh, bin[i].rh_low_pct, bin[i].rh_mean_pct, bin[i].rh_high_pct);
    }
    free(bin);
    return result;
}

static enum coat_result gather_stays(struct shop *shop, int64_t piece_id, int64_t from_ms, int64_t to_ms, struct gathered *temp, struct gathered *rh)
{
    struct stay stays[STAYS_MAX];
    unsigned count = stays_until(shop, piece_id, from_ms, to_ms, stays);
    enum coat_result result = COAT_OK;
    for (unsigned i = 0; i < count && result == COAT_OK; i++)
        if (stays[i].air->place_id != 0)
            result = gather_stay(shop, stays[i].air->place_id, stays[i].from_ms, stays[i].to_ms, temp, rh);
    return result;
}

/* When the coat was cured through; MOMENT_NONE where it is not, or its material does not say. */
static int64_t cured_at(const struct coat_view *view)
{
    const struct stage_view *cure = coat_view_stage(view, STAGE_CURE);
    bool has_end = cure != NULL && cure->spans > 0 && cure->span[0].ends && cure->span[0].until.passed;
    return has_end ? cure->span[0].until.likely_at : MOMENT_NONE;
}

static int64_t had_until(const struct coat_view *view, int64_t now_ms, bool *ret_cured)
{
    int64_t cured = cured_at(view), most_ms = view->coat->first_at + AIR_HAD_DAYS * MS_PER_DAY;
    int64_t to_ms = now_ms < most_ms ? now_ms : most_ms;
    if ((view->status == COAT_STRIPPED || view->status == COAT_STRUCK) && view->ended_at != MOMENT_NONE && view->ended_at < to_ms)
        to_ms = view->ended_at;
    *ret_cured = cured != MOMENT_NONE && cured <= to_ms;
    return *ret_cured ? cured : to_ms;
}

static void tell_hours(const struct coat_view *view, struct air_had *had)
{
    for (unsigned i = 0; i < view->stages; i++) {
        const struct stage_view *stage = &view->stage[i];
        if (stage->measured_h + stage->assumed_h > had->measured_h + had->assumed_h) {
            had->measured_h = stage->measured_h;
            had->assumed_h = stage->assumed_h;
        }
    }
}

enum coat_result shop_air_had(struct shop *shop, const struct coat_view *coat, int64_t now_ms, struct air_had *ret)
{
    struct gathered temp = {0}, rh = {0};
    struct air_had had = {.from_at = coat->coat->first_at};
    had.to_at = had_until(coat, now_ms, &had.cured);
    enum coat_result result = gather_stays(shop, coat->coat->piece_id, had.from_at, had.to_at, &temp, &rh);
    if (result != COAT_OK)
        return result;
    had.read = temp.hours + rh.hours > 0;
    tell(&temp, &had.temp_low_c, &had.temp_mean_c, &had.temp_high_c);
    tell(&rh, &had.rh_low_pct, &had.rh_mean_pct, &had.rh_high_pct);
    tell_hours(coat, &had);
    *ret = had;
    return COAT_OK;
}
