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

struct sensor_bins {
    struct binning *all;
    const struct merge_source *source;
    struct sum *temp, *rh;
    unsigned *readings;
};

/* First moment behind a bin: bin_of() of it is larger, of the one before not. */
static int64_t bin_end(const struct binning *b, unsigned bin)
{
    int64_t parts = ((int64_t)bin + 1) * (b->to_ms - b->from_ms);
    return b->from_ms + (parts + (int64_t)b->bins - 1) / (int64_t)b->bins;
}

/* Ten years of minutes are five million turns of this: sums stay in locals, and what has no adjustment is taken as it is. */
static void add_stretch(const struct merge_source *source, enum air_quantity quantity, const struct reading *readings, size_t count,
                        struct sum *io_sum)
{
    struct sum sum = {0, 0, INT32_MAX, INT32_MIN};
    bool adjusted = source->adjustments[quantity] > 0;
    for (size_t i = 0; i < count; i++) {
        int32_t milli = quantity == AIR_TEMP ? readings[i].temp_mc : readings[i].rh_mp;
        if (milli == READING_NONE)
            continue;
        if (adjusted)
            milli = merge_adjusted(source, quantity, milli, readings[i].at_ms);
        sum.low = milli < sum.low ? milli : sum.low;
        sum.high = milli > sum.high ? milli : sum.high;
        sum.sum += milli;
        sum.count++;
    }
    if (sum.count == 0)
        return;
    io_sum->low = io_sum->count == 0 || sum.low < io_sum->low ? sum.low : io_sum->low;
    io_sum->high = io_sum->count == 0 || sum.high > io_sum->high ? sum.high : io_sum->high;
    io_sum->sum += sum.sum;
    io_sum->count += sum.count;
}

static size_t count_before(const struct reading *readings, size_t count, int64_t end_ms)
{
    size_t low = 0, high = count;
    if (count > 0 && readings[count - 1].at_ms < end_ms) /* mostly a bin is longer than a run */
        return count;
    while (low < high) {
        size_t mid = low + (high - low) / 2;
        if (readings[mid].at_ms < end_ms)
            low = mid + 1;
        else
            high = mid;
    }
    return low;
}

static void add_run(const struct reading *readings, size_t count, void *context)
{
    struct sensor_bins *one = context;
    for (size_t i = 0, n; i < count; i += n) {
        unsigned bin = bin_of(one->all, readings[i].at_ms);
        n = count_before(readings + i, count - i, bin_end(one->all, bin));
        add_stretch(one->source, AIR_TEMP, readings + i, n, &one->temp[bin]);
        add_stretch(one->source, AIR_RH, readings + i, n, &one->rh[bin]);
        one->readings[bin] += (unsigned)n;
    }
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
    struct sensor_bins one = {b, &air->source[source], calloc(b->bins, sizeof *one.temp), calloc(b->bins, sizeof *one.rh),
                              calloc(b->bins, sizeof *one.readings)};
    enum coat_result result = COAT_NO_MEMORY;
    if (one.temp != NULL && one.rh != NULL && one.readings != NULL)
        result = store_readings_each(air->store, air->source[source].sensor_id, b->from_ms, b->to_ms, add_run, &one);
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
