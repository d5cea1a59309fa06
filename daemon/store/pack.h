/* A closed day of readings as one blob: 8 bytes a reading, little-endian, in order of time. A reading in a day is one number,
 *
 *     milliseconds in the day (27 bits) << 37 | thousandths of a percent (17 bits) << 20 | thousandths of a degree + 524288 (20 bits)
 *
 * so that numbers compare as moments do. Holds -524.287 to 524.287 C and 0 to 100 %, more than any air or oven has. All ones in place of the
 * humidity, and 0 in place of the temperature, say that the reading has none. */
#ifndef COAT_STORE_PACK_H
#define COAT_STORE_PACK_H

#include "coat/history.h"
#include "daemon/store/store.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define PACK_SIZE 8 /* bytes a reading */
#define PACK_COUNT_MAX (1 << 20) /* readings of a day; one each 82 ms */

/* Whether the file can hold the reading: moments of the years 1970 to 2999, temperature and humidity as above, at least one of them. */
bool pack_holds(const struct reading *reading);

uint64_t pack_word(const struct reading *reading);
/* Milliseconds in the day. */
uint32_t pack_ms(uint64_t word);
/* READING_NONE where it has none. */
int32_t pack_temp_mc(uint64_t word);
int32_t pack_rh_mp(uint64_t word);
struct reading pack_reading(uint64_t word, int64_t day_start_ms, int32_t hold_s);

/* Merges two rising lists of one day into `ret`, which has room for both; of the same moment the one of b stays. Returns how many. */
size_t pack_merge(const uint64_t *a, size_t a_count, const uint64_t *b, size_t b_count, uint64_t *ret);

void pack_bytes(const uint64_t *words, size_t count, unsigned char *ret_bytes);
/* The words of a blob; false where it is not one that pack_bytes() made of a rising list. */
bool pack_read(const void *bytes, size_t size, uint64_t *ret_words);
/* The readings of a blob with from_ms <= milliseconds in the day < to_ms, into `ret`, which has room for all of it; false as above. */
bool pack_read_range(const void *bytes, size_t size, uint32_t from_ms, uint32_t to_ms, int64_t day_start_ms, int32_t hold_s,
                     struct reading *ret, size_t *ret_count);

/* For sums, in a blob of whole words that nobody has looked at yet. The milliseconds of a word: */
uint32_t pack_ms_at(const void *bytes, size_t index);
/* The first from `first` on that is at or after ms; `count` where none is, some index between where the words do not rise. */
size_t pack_find(const void *bytes, size_t first, size_t count, uint32_t ms);
/* Adds the words from `first` up to `end` to what *io tells. *io_previous_ms is -1 for the first words of a day, and then handed on; false as above. */
bool pack_sum(const void *bytes, size_t first, size_t end, int32_t *io_previous_ms, struct reading_stretch *io);

#endif
