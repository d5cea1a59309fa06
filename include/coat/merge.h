/* The air of a place out of what its sensors said: an ordered list, of which the first healthy one counts for each quantity. They are never
 * averaged. Pure; the caller owns all memory.
 *
 * A sensor is healthy in a quantity for its hold H after each reading that has it. A reading counts in a quantity where no sensor before it in the
 * list is healthy then. Where one sensor tells the temperature and another the humidity, each reading of the one carries the last value of the other,
 * as long as that holds. What is made so hangs on nothing that comes later, so readings may be added one by one. */
#ifndef COAT_MERGE_H
#define COAT_MERGE_H

#include "coat/facts.h"
#include "coat/history.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define MERGE_SOURCES_MAX 32

struct merge_source {
    int64_t sensor_id;
    int32_t hold_s;
    const struct adjustment *adjustment[AIR_QUANTITY_COUNT]; /* in order of from_at */
    size_t adjustments[AIR_QUANTITY_COUNT];
};

/* What was said last; all zero but MOMENT_NONE at first: merge_begin(). */
struct merge {
    const struct merge_source *source; /* in the order in which they count */
    unsigned sources;
    int64_t healthy_until_ms[MERGE_SOURCES_MAX][AIR_QUANTITY_COUNT]; /* MOMENT_NONE: never said */
    int32_t value[AIR_QUANTITY_COUNT];       /* milli, of the one that counts; READING_NONE */
    int64_t value_until_ms[AIR_QUANTITY_COUNT];
};

void merge_begin(struct merge *merge, const struct merge_source *source, unsigned sources);

/* What is added to the readings of a source at a moment, in thousandths; 0 where nothing is. */
int32_t merge_offset(const struct merge_source *source, enum air_quantity quantity, int64_t at_ms);

/* What the readings of a source are at a moment: its adjustment added; humidity kept to 0 to 100 %. */
int32_t merge_adjusted(const struct merge_source *source, enum air_quantity quantity, int32_t milli, int64_t at_ms);

/* The next reading of a source; moments never fall. False where it does not count in anything, else the air of the place from then on; its hold is as long
 * as both values hold. */
bool merge_reading(struct merge *merge, unsigned source, const struct reading *reading, struct reading *ret);

/* All at once: run[i] has count[i] readings of source i in order of time; `ret` has room for all of them together. Of several at one moment the last
 * stays. Returns how many. */
size_t merge_runs(struct merge *merge, const struct reading *const *run, const size_t *count, struct reading *ret);

#endif
