#include "coat/merge.h"

#include "coat/moment.h"

#include <math.h>

void merge_begin(struct merge *merge, const struct merge_source *source, unsigned sources)
{
    merge->source = source;
    merge->sources = sources < MERGE_SOURCES_MAX ? sources : MERGE_SOURCES_MAX;
    for (unsigned q = 0; q < AIR_QUANTITY_COUNT; q++) {
        for (unsigned i = 0; i < MERGE_SOURCES_MAX; i++)
            merge->healthy_until_ms[i][q] = MOMENT_NONE;
        merge->value[q] = READING_NONE;
        merge->value_until_ms[q] = MOMENT_NONE;
    }
}

int32_t merge_offset(const struct merge_source *source, enum air_quantity quantity, int64_t at_ms)
{
    double offset = 0.0;
    for (size_t i = 0; i < source->adjustments[quantity] && source->adjustment[quantity][i].from_at <= at_ms; i++)
        offset = source->adjustment[quantity][i].offset;
    return (int32_t)lround(offset * 1000.0);
}

int32_t merge_adjusted(const struct merge_source *source, enum air_quantity quantity, int32_t milli, int64_t at_ms)
{
    if (milli == READING_NONE)
        return milli;
    milli += merge_offset(source, quantity, at_ms);
    if (quantity == AIR_RH)
        milli = milli < 0 ? 0 : milli > 100000 ? 100000 : milli;
    return milli;
}

/* Whether a sensor before this one in the list is healthy. */
static bool is_spoken_for(const struct merge *merge, unsigned source, enum air_quantity quantity, int64_t at_ms)
{
    for (unsigned i = 0; i < source; i++)
        if (merge->healthy_until_ms[i][quantity] != MOMENT_NONE && merge->healthy_until_ms[i][quantity] >= at_ms)
            return true;
    return false;
}

static bool take(struct merge *merge, unsigned source, enum air_quantity quantity, int32_t milli, int64_t at_ms)
{
    if (milli == READING_NONE)
        return false;
    int64_t until_ms = at_ms + merge->source[source].hold_s * MS_PER_S;
    merge->healthy_until_ms[source][quantity] = until_ms;
    if (is_spoken_for(merge, source, quantity, at_ms))
        return false;
    merge->value[quantity] = merge_adjusted(&merge->source[source], quantity, milli, at_ms);
    merge->value_until_ms[quantity] = until_ms;
    return true;
}

/* A value as it stands at at_ms; shortens *io_until_ms to when it ends. */
static int32_t carry(const struct merge *merge, enum air_quantity quantity, int64_t at_ms, int64_t *io_until_ms)
{
    int64_t until_ms = merge->value_until_ms[quantity];
    if (until_ms == MOMENT_NONE || until_ms < at_ms)
        return READING_NONE;
    if (until_ms < *io_until_ms)
        *io_until_ms = until_ms;
    return merge->value[quantity];
}

bool merge_reading(struct merge *merge, unsigned source, const struct reading *reading, struct reading *ret)
{
    int64_t at_ms = reading->at_ms, until_ms = INT64_MAX;
    bool temp = take(merge, source, AIR_TEMP, reading->temp_mc, at_ms);
    bool rh = take(merge, source, AIR_RH, reading->rh_mp, at_ms);
    if (!temp && !rh)
        return false;
    ret->at_ms = at_ms;
    ret->temp_mc = carry(merge, AIR_TEMP, at_ms, &until_ms);
    ret->rh_mp = carry(merge, AIR_RH, at_ms, &until_ms);
    ret->hold_s = (int32_t)((until_ms - at_ms) / MS_PER_S);
    return true;
}

/* The source whose next reading is the earliest; of the same moment the first in the list. */
static unsigned next_source(const struct merge *merge, const struct reading *const *run, const size_t *count, const size_t *done)
{
    unsigned best = merge->sources;
    for (unsigned i = 0; i < merge->sources; i++)
        if (done[i] < count[i] && (best == merge->sources || run[i][done[i]].at_ms < run[best][done[best]].at_ms))
            best = i;
    return best;
}

size_t merge_runs(struct merge *merge, const struct reading *const *run, const size_t *count, struct reading *ret)
{
    size_t done[MERGE_SOURCES_MAX] = {0}, made = 0;
    for (unsigned i = next_source(merge, run, count, done); i < merge->sources; i = next_source(merge, run, count, done)) {
        struct reading air;
        if (!merge_reading(merge, i, &run[i][done[i]++], &air))
            continue;
        if (made > 0 && ret[made - 1].at_ms == air.at_ms)
            made--;
        ret[made++] = air;
    }
    return made;
}
