#include "daemon/store/pack.h"

#include "coat/moment.h"

#include <endian.h>
#include <string.h>

#define MS_SHIFT 37
#define RH_SHIFT 20
#define RH_MASK 0x1ffffu
#define TEMP_MASK 0xfffffu
#define TEMP_ZERO 524288
#define RH_MAX_MP 100000
#define NO_RH RH_MASK
#define NO_TEMP 0u
#define YEAR_3000_MS INT64_C(32503680000000)

static bool holds_temp(int32_t temp_mc)
{
    return temp_mc > -TEMP_ZERO && temp_mc < TEMP_ZERO;
}

bool pack_holds(const struct reading *reading)
{
    bool temp = reading->temp_mc != READING_NONE, rh = reading->rh_mp != READING_NONE;
    if (reading->at_ms < 0 || reading->at_ms >= YEAR_3000_MS || (!temp && !rh))
        return false;
    return (!temp || holds_temp(reading->temp_mc)) && (!rh || (reading->rh_mp >= 0 && reading->rh_mp <= RH_MAX_MP));
}

uint64_t pack_word(const struct reading *reading)
{
    uint64_t ms = (uint64_t)(reading->at_ms - moment_day_start(moment_day(reading->at_ms)));
    uint64_t rh = reading->rh_mp == READING_NONE ? NO_RH : (uint64_t)reading->rh_mp;
    uint64_t temp = reading->temp_mc == READING_NONE ? NO_TEMP : (uint64_t)(reading->temp_mc + TEMP_ZERO);
    return ms << MS_SHIFT | rh << RH_SHIFT | temp;
}

uint32_t pack_ms(uint64_t word)
{
    return (uint32_t)(word >> MS_SHIFT);
}

int32_t pack_temp_mc(uint64_t word)
{
    uint32_t temp = word & TEMP_MASK;
    return temp == NO_TEMP ? READING_NONE : (int32_t)temp - TEMP_ZERO;
}

int32_t pack_rh_mp(uint64_t word)
{
    uint32_t rh = word >> RH_SHIFT & RH_MASK;
    return rh == NO_RH ? READING_NONE : (int32_t)rh;
}

struct reading pack_reading(uint64_t word, int64_t day_start_ms, int32_t hold_s)
{
    return (struct reading){
        .at_ms = day_start_ms + pack_ms(word),
        .temp_mc = pack_temp_mc(word),
        .rh_mp = pack_rh_mp(word),
        .hold_s = hold_s,
    };
}

size_t pack_merge(const uint64_t *a, size_t a_count, const uint64_t *b, size_t b_count, uint64_t *ret)
{
    size_t i = 0, j = 0, n = 0;
    while (i < a_count && j < b_count) {
        uint32_t a_ms = pack_ms(a[i]), b_ms = pack_ms(b[j]);
        ret[n++] = a_ms < b_ms ? a[i] : b[j];
        i += a_ms <= b_ms;
        j += b_ms <= a_ms;
    }
    while (i < a_count)
        ret[n++] = a[i++];
    while (j < b_count)
        ret[n++] = b[j++];
    return n;
}

void pack_bytes(const uint64_t *words, size_t count, unsigned char *ret_bytes)
{
    for (size_t i = 0; i < count; i++) {
        uint64_t word = htole64(words[i]);
        memcpy(ret_bytes + i * PACK_SIZE, &word, PACK_SIZE);
    }
}

static uint64_t load_word(const unsigned char *bytes, size_t index)
{
    uint64_t word;
    memcpy(&word, bytes + index * PACK_SIZE, PACK_SIZE);
    return le64toh(word);
}

static bool word_is_sound(uint64_t word, int64_t previous_ms)
{
    uint32_t rh = word >> RH_SHIFT & RH_MASK;
    bool empty = rh == NO_RH && (word & TEMP_MASK) == NO_TEMP;
    return pack_ms(word) < MS_PER_DAY && pack_ms(word) > previous_ms && (rh <= RH_MAX_MP || rh == NO_RH) && !empty;
}

bool pack_read(const void *bytes, size_t size, uint64_t *ret_words)
{
    int64_t previous_ms = -1;
    if (size % PACK_SIZE != 0)
        return false;
    for (size_t i = 0; i < size / PACK_SIZE; i++) {
        ret_words[i] = load_word(bytes, i);
        if (!word_is_sound(ret_words[i], previous_ms))
            return false;
        previous_ms = pack_ms(ret_words[i]);
    }
    return true;
}

/* All of a blob: no reading of it can be outside, so none waits for the one before it. Moments that rise are within the day when the last is. */
static bool read_whole(const void *bytes, size_t count, int64_t day_start_ms, int32_t hold_s, struct reading *ret)
{
    const uint64_t values = (UINT64_C(1) << MS_SHIFT) - 1, nothing = (uint64_t)NO_RH << RH_SHIFT | NO_TEMP;
    int64_t previous_ms = -1;
    bool sound = true;
    for (size_t i = 0; i < count; i++) {
        uint64_t word = load_word(bytes, i);
        int64_t ms = (int64_t)(word >> MS_SHIFT);
        uint32_t rh = word >> RH_SHIFT & RH_MASK;
        sound &= (ms > previous_ms) & ((word & values) != nothing) & ((rh <= RH_MAX_MP) | (rh == NO_RH));
        previous_ms = ms;
        ret[i] = pack_reading(word, day_start_ms, hold_s);
    }
    return sound && previous_ms < MS_PER_DAY;
}

bool pack_read_range(const void *bytes, size_t size, uint32_t from_ms, uint32_t to_ms, int64_t day_start_ms, int32_t hold_s,
                     struct reading *ret, size_t *ret_count)
{
    int64_t previous_ms = -1;
    size_t n = 0;
    bool sound = size % PACK_SIZE == 0;
    if (from_ms == 0 && to_ms >= MS_PER_DAY) {
        sound = sound && read_whole(bytes, size / PACK_SIZE, day_start_ms, hold_s, ret);
        if (sound)
            *ret_count = size / PACK_SIZE;
        return sound;
    }
    /* No early way out: the loop is short and a year of minutes is half a million turns of it. */
    for (size_t i = 0; i < size / PACK_SIZE; i++) {
        uint64_t word = load_word(bytes, i);
        sound &= word_is_sound(word, previous_ms);
        previous_ms = pack_ms(word);
        ret[n] = pack_reading(word, day_start_ms, hold_s); /* overwritten by the next where it is outside */
        n += pack_ms(word) >= from_ms && pack_ms(word) < to_ms;
    }
    if (sound)
        *ret_count = n;
    return sound;
}
