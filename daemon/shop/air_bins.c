/* The air of a place for a plot: whatever the span, so many bins. */
#include "daemon/shop/model.h"

#include <math.h>
#include <stdlib.h>

/* Spans up to here are binned from the readings as they are merged, longer ones day by day from what the sensors said. */
#define MERGED_MOST_MS (40 * MS_PER_DAY)

/* A bin while it is filled: thousandths. */
struct sum {
    int64_t sum;
    unsigned count;
    int32_t low, high;
};

struct binning {
    int64_t from_ms, to_ms;
    unsigned bins;
    struct sum *temp, *rh;             /* one a bin */
    unsigned *readings;
};

static void add(struct sum *sum, int32_t milli)
{
    sum->low = sum->count == 0 || milli < sum->low ? milli : sum->low;
    sum->high = sum->count == 0 || milli > sum->high ? milli : sum->high;
    sum->sum += milli;
    sum->count++;
}

static unsigned bin_of(const struct binning *b, int64_t at_ms)
{
    return (unsigned)((at_ms - b->from_ms) * (int64_t)b->bins / (b->to_ms - b->from_ms));
}

static void add_reading(struct binning *b, unsigned bin, int32_t temp_mc, int32_t rh_mp)
{
    b->readings[bin]++;
    if (temp_mc != READING_NONE)
        add(&b->temp[bin], temp_mc);
    if (rh_mp != READING_NONE)
        add(&b->rh[bin], rh_mp);
}

static void set_span(struct air_bin *ret, const struct sum *temp, const struct sum *rh)
{
    double nothing = (double)NAN;
    ret->temp_low_c = temp->count > 0 ? temp->low / 1000.0 : nothing;
    ret->temp_high_c = temp->count > 0 ? temp->high / 1000.0 : nothing;
    ret->temp_mean_c = temp->count > 0 ? (double)temp->sum / 1000.0 / temp->count : nothing;
    ret->rh_low_pct = rh->count > 0 ? rh->low / 1000.0 : nothing;
    ret->rh_high_pct = rh->count > 0 ? rh->high / 1000.0 : nothing;
    ret->rh_mean_pct = rh->count > 0 ? (double)rh->sum / 1000.0 / rh->count : nothing;
}

/* ---- short spans: what counts, to the reading ---- */

static enum coat_result bin_merged(const struct place_air *air, struct binning *b)
{
    struct reading *readings = NULL;
    size_t capacity = 0, count = 0;
    struct merge merge;
    enum coat_result result = place_air_read(air, b->from_ms, b->to_ms, &merge, &readings, &capacity, &count);
    for (size_t i = 0; result == COAT_OK && i < count; i++)
        if (readings[i].at_ms >= b->from_ms && readings[i].at_ms < b->to_ms)
            add_reading(b, bin_of(b, readings[i].at_ms), readings[i].temp_mc, readings[i].rh_mp);
    free(readings);
    return result;
}

/* ---- long spans: a bin goes to the first sensor that told anything in it ---- */

#define RH_MOST_MP 100000 /* humidity is kept to 0 to 100 %, as merge_adjusted() does */

struct sensor_bins {
    struct sum *temp, *rh;
    unsigned *readings;
};

/* First moment of a bin: bin_of() of the one before is smaller. */
static int64_t bin_begin(const struct binning *b, unsigned bin)
{
    int64_t parts = (int64_t)bin * (b->to_ms - b->from_ms);
    return b->from_ms + (parts + (int64_t)b->bins - 1) / (int64_t)b->bins;
}

static int compare_stretches(const void *left, const void *right)
{
    const struct reading_stretch *a = left, *b = right;
    return (a->from_ms > b->from_ms) - (a->from_ms < b->from_ms);
}

/* Within a stretch there is one bin and one offset of each quantity. Returns how many there are; `ret` has room for a bin and an adjustment each. */
static size_t cut(const struct binning *b, const struct merge_source *source, struct reading_stretch *ret)
{
    size_t n = 0;
    for (unsigned bin = 0; bin < b->bins; bin++)
        ret[n++].from_ms = bin_begin(b, bin);
    for (unsigned q = 0; q < AIR_QUANTITY_COUNT; q++)
        for (size_t i = 0; i < source->adjustments[q]; i++)
            if (source->adjustment[q][i].from_at > b->from_ms && source->adjustment[q][i].from_at < b->to_ms)
                ret[n++].from_ms = source->adjustment[q][i].from_at;
    qsort(ret, n, sizeof *ret, compare_stretches);
    return n;
}

/* What would leave 0 to 100 % with the offset is kept to it before. An offset of 100 % and one of more come to the same then. */
static int32_t rh_offset(const struct merge_source *source, int64_t at_ms)
{
    int32_t offset = merge_offset(source, AIR_RH, at_ms);
    return offset < -RH_MOST_MP ? -RH_MOST_MP : offset > RH_MOST_MP ? RH_MOST_MP : offset;
}

static void limit_humidity(const struct merge_source *source, struct reading_stretch *stretch)
{
    int32_t offset = rh_offset(source, stretch->from_ms);
    stretch->rh_least_mp = offset < 0 ? -offset : 0;
    stretch->rh_most_mp = offset > 0 ? RH_MOST_MP - offset : RH_MOST_MP;
}

static void add_stretch(struct sum *sum, const struct reading_stretch *stretch, enum air_quantity quantity, int32_t offset)
{
    unsigned count = stretch->count[quantity];
    if (count == 0)
        return;
    int32_t low = stretch->low[quantity] + offset, high = stretch->high[quantity] + offset;
    sum->low = sum->count == 0 || low < sum->low ? low : sum->low;
    sum->high = sum->count == 0 || high > sum->high ? high : sum->high;
    sum->sum += stretch->sum[quantity] + (int64_t)count * offset;
    sum->count += count;
}

static enum coat_result sum_sensor(const struct place_air *air, const struct merge_source *source, const struct binning *b,
                                   struct sensor_bins *io)
{
    struct reading_stretch *stretch =
        calloc(b->bins + source->adjustments[AIR_TEMP] + source->adjustments[AIR_RH], sizeof *stretch);
    if (stretch == NULL)
        return COAT_NO_MEMORY;
    size_t count = cut(b, source, stretch);
    for (size_t i = 0; i < count; i++)
        limit_humidity(source, &stretch[i]);
    enum coat_result result = store_readings_sum(air->store, source->sensor_id, b->to_ms, stretch, count);
    for (size_t i = 0; result == COAT_OK && i < count; i++) {
        unsigned bin = bin_of(b, stretch[i].from_ms);
        add_stretch(&io->temp[bin], &stretch[i], AIR_TEMP, merge_offset(source, AIR_TEMP, stretch[i].from_ms));
        add_stretch(&io->rh[bin], &stretch[i], AIR_RH, rh_offset(source, stretch[i].from_ms));
        io->readings[bin] += stretch[i].readings;
    }
    free(stretch);
    return result;
}

static void take_bins(struct binning *b, const struct sensor_bins *one)
{
    for (unsigned i = 0; i < b->bins; i++) {
        if (b->temp[i].count == 0)
            b->temp[i] = one->temp[i];
        if (b->rh[i].count == 0)
            b->rh[i] = one->rh[i];
        if (b->readings[i] == 0)
            b->readings[i] = one->readings[i];
    }
}

static enum coat_result bin_sensor(const struct place_air *air, unsigned source, struct binning *b)
{
    struct sensor_bins one = {calloc(b->bins, sizeof *one.temp), calloc(b->bins, sizeof *one.rh), calloc(b->bins, sizeof *one.readings)};
    enum coat_result result = COAT_NO_MEMORY;
    if (one.temp != NULL && one.rh != NULL && one.readings != NULL)
        result = sum_sensor(air, &air->source[source], b, &one);
    if (result == COAT_OK)
        take_bins(b, &one);
    free(one.temp);
    free(one.rh);
    free(one.readings);
    return result;
}

static enum coat_result bin_long(const struct place_air *air, struct binning *b)
{
    enum coat_result result = COAT_OK;
    for (unsigned i = 0; result == COAT_OK && i < air->sources; i++)
        result = bin_sensor(air, i, b);
    return result;
}

enum coat_result shop_air_bins(struct shop *shop, int64_t place_id, int64_t from_ms, int64_t to_ms, unsigned bins, struct air_bin *ret)
{
    const struct place_air *air = shop_air_of(shop, place_id);
    if (to_ms <= from_ms || bins == 0 || bins > AIR_BINS_MAX)
        return COAT_BAD_VALUE;
    struct binning b = {.from_ms = from_ms, .to_ms = to_ms, .bins = bins, .temp = calloc(bins, sizeof *b.temp),
                        .rh = calloc(bins, sizeof *b.rh), .readings = calloc(bins, sizeof *b.readings)};
    enum coat_result result = COAT_NO_MEMORY;
    if (b.temp != NULL && b.rh != NULL && b.readings != NULL)
        result = to_ms - from_ms <= MERGED_MOST_MS ? bin_merged(air, &b) : bin_long(air, &b);
    for (unsigned i = 0; result == COAT_OK && i < bins; i++) {
        ret[i].from_ms = from_ms + (int64_t)i * (to_ms - from_ms) / (int64_t)bins;
        ret[i].readings = b.readings[i];
        set_span(&ret[i], &b.temp[i], &b.rh[i]);
    }
    free(b.temp);
    free(b.rh);
    free(b.readings);
    return result;
}
