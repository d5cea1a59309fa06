/* The readings of a place, as its sensors together tell them. */
#include "daemon/shop/ledger.h"

#include <stdlib.h>
#include <string.h>

/* The gap rules look back two days from the last reading; two hours more catch the one before, which joins to it, two the sensor that was still
 * healthy then, and two a reading of another that did not count. */
#define LOOK_BACK_MS (54 * MS_PER_H)
#define LOOK_AHEAD_MS (READING_HOLD_MAX_S * MS_PER_S)

typedef enum coat_result (*nearest_reading)(const struct place_air *air, unsigned source, int64_t at_ms, int64_t *ret_ms);

/* Of all sensors of the place the nearest: the latest before a moment, or the first after it. */
static enum coat_result nearest_of_all(const struct place_air *air, nearest_reading nearest, bool latest, int64_t at_ms, int64_t *ret_ms)
{
    int64_t best = MOMENT_NONE;
    for (unsigned i = 0; i < air->sources; i++) {
        int64_t found;
        enum coat_result result = nearest(air, i, at_ms, &found);
        if (result != COAT_OK)
            return result;
        if (found != MOMENT_NONE && (best == MOMENT_NONE || (latest ? found > best : found < best)))
            best = found;
    }
    *ret_ms = best;
    return COAT_OK;
}

enum coat_result place_air_before(const struct place_air *air, int64_t at_ms, int64_t *ret_ms)
{
    return nearest_of_all(air, air_days_before, true, at_ms, ret_ms);
}

struct runs {
    struct reading *run[MERGE_SOURCES_MAX];
    size_t count[MERGE_SOURCES_MAX];
};

static void runs_free(const struct place_air *air, struct runs *runs)
{
    for (unsigned i = 0; i < air->sources; i++)
        free(runs->run[i]);
}

static enum coat_result read_runs(const struct place_air *air, int64_t from_ms, int64_t to_ms, struct runs *ret)
{
    enum coat_result result = COAT_OK;
    for (unsigned i = 0; result == COAT_OK && i < air->sources; i++) {
        size_t capacity = 0;
        result = air_days_read(air, i, from_ms, to_ms, &ret->run[i], &capacity, &ret->count[i]);
    }
    return result;
}

static bool make_room(struct reading **readings, size_t *capacity, size_t count)
{
    if (count <= *capacity)
        return true;
    struct reading *grown = realloc(*readings, count * sizeof *grown);
    if (!grown)
        return false;
    *readings = grown;
    *capacity = count;
    return true;
}

/* Several sensors: their runs are read apart and merged. */
static enum coat_result read_merged(const struct place_air *air, int64_t from_ms, int64_t to_ms, struct merge *merge,
                                    struct reading **readings, size_t *capacity, size_t *count)
{
    struct runs runs = {0};
    size_t all = 0;
    enum coat_result result = read_runs(air, from_ms, to_ms, &runs);
    for (unsigned i = 0; i < air->sources; i++)
        all += runs.count[i];
    if (result == COAT_OK && !make_room(readings, capacity, all))
        result = COAT_NO_MEMORY;
    if (result == COAT_OK)
        *count = merge_runs(merge, (const struct reading *const *)runs.run, runs.count, *readings);
    runs_free(air, &runs);
    return result;
}

/* The usual place has one: merged where they lie. */
static enum coat_result read_one(const struct place_air *air, int64_t from_ms, int64_t to_ms, struct merge *merge,
                                 struct reading **readings, size_t *capacity, size_t *count)
{
    *count = 0;
    enum coat_result result = air_days_read(air, 0, from_ms, to_ms, readings, capacity, count);
    if (result == COAT_OK)
        *count = merge_runs(merge, &(const struct reading *){*readings}, count, *readings);
    return result;
}

enum coat_result place_air_read(const struct place_air *air, int64_t from_ms, int64_t to_ms, struct merge *merge,
                                struct reading **readings, size_t *capacity, size_t *count)
{
    int64_t before, after;
    merge_begin(merge, air->source, air->sources);
    *count = 0;
    if (air->sources == 0)
        return COAT_OK;
    enum coat_result result = place_air_before(air, from_ms, &before);
    if (result == COAT_OK)
        result = nearest_of_all(air, air_days_after, false, to_ms, &after);
    if (result != COAT_OK)
        return result;
    int64_t begin = (before == MOMENT_NONE ? from_ms : before) - LOOK_BACK_MS, end = to_ms + LOOK_AHEAD_MS;
    if (after != MOMENT_NONE && after >= end)
        end = after + 1;
    return air->sources == 1 ? read_one(air, begin, end, merge, readings, capacity, count)
                             : read_merged(air, begin, end, merge, readings, capacity, count);
}
