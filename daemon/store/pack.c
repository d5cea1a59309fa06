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

/* ---- sums ---- */

/* Ten years of minutes are five million words: they are summed eight at a time, in arrays of 32 bits without a branch, which is what a compiler
 * needs to take several at once. A code is 0 where there is no value, else the value and a bias that makes it 1 or more. */
#define LANES 8
#define FOR_LANES(j) for (unsigned j = 0; j < lanes; j++)
#define CHUNK (4096 * LANES) /* words until a sum of 20-bit codes could leave 32 bits */
#define RH_BIAS 1

struct lanes {
    int32_t low[LANES]; /* code - 1 */
    int32_t high[LANES];
    uint32_t sum[LANES], count[LANES];
};

struct sums {
    struct lanes temp, rh;
    int32_t rh_least, rh_most; /* codes */
    int32_t previous_ms;
    int32_t bad[LANES]; /* below 0: an unsound word was among them */
};

/* `lanes` is a constant wherever these are used, so they must come in there. */
#define INSIDE static inline __attribute__((always_inline))

INSIDE void add_codes(struct lanes *io, const int32_t code[LANES], unsigned lanes)
{
    FOR_LANES(j)
    {
        int32_t low = (code[j] - 1) & INT32_MAX; /* nothing is lower than no value */
        io->low[j] = low < io->low[j] ? low : io->low[j];
    }
    FOR_LANES(j) io->high[j] = code[j] > io->high[j] ? code[j] : io->high[j];
    FOR_LANES(j) io->sum[j] += (uint32_t)code[j];
    FOR_LANES(j) io->count[j] += code[j] != 0;
}

/* Whether moments rise, humidities are below 100 %, and each word has something, all as the sign of one number. */
INSIDE void check_codes(struct sums *io, const int32_t *ms, const int32_t temp[LANES], const int32_t rh[LANES], unsigned lanes)
{
    FOR_LANES(j) io->bad[j] |= (ms[j + 1] - ms[j] - 1) | ((temp[j] | rh[j]) - 1) | (RH_MAX_MP + RH_BIAS - rh[j]);
}

INSIDE void add_words(struct sums *io, const unsigned char *bytes, unsigned lanes)
{
    int32_t temp[LANES], rh[LANES], ms[LANES + 1];
    ms[0] = io->previous_ms;
    FOR_LANES(j)
    {
        uint64_t word = load_word(bytes, j);
        temp[j] = (int32_t)(word & TEMP_MASK);
        rh[j] = (int32_t)(((word >> RH_SHIFT) + RH_BIAS) & RH_MASK); /* all ones become 0 */
        ms[j + 1] = (int32_t)(word >> MS_SHIFT);
    }
    io->previous_ms = ms[lanes];
    check_codes(io, ms, temp, rh, lanes);
    FOR_LANES(j)
    {
        int32_t kept = rh[j] < io->rh_least ? io->rh_least : rh[j];
        kept = kept > io->rh_most ? io->rh_most : kept;
        rh[j] = rh[j] == 0 ? 0 : kept;
    }
    add_codes(&io->temp, temp, lanes);
    add_codes(&io->rh, rh, lanes);
}

static void begin_sums(struct sums *ret, int32_t previous_ms, const struct reading_stretch *stretch)
{
    *ret = (struct sums){.rh_least = stretch->rh_least_mp + RH_BIAS, .rh_most = stretch->rh_most_mp + RH_BIAS, .previous_ms = previous_ms};
    for (unsigned j = 0; j < LANES; j++)
        ret->temp.low[j] = ret->rh.low[j] = INT32_MAX;
}

static void fold(const struct lanes *lanes, int32_t bias, enum air_quantity quantity, struct reading_stretch *io)
{
    for (unsigned j = 0; j < LANES; j++) {
        if (lanes->count[j] == 0)
            continue;
        int32_t low = lanes->low[j] + 1 - bias, high = lanes->high[j] - bias;
        io->low[quantity] = io->count[quantity] == 0 || low < io->low[quantity] ? low : io->low[quantity];
        io->high[quantity] = io->count[quantity] == 0 || high > io->high[quantity] ? high : io->high[quantity];
        io->sum[quantity] += (int64_t)lanes->sum[j] - (int64_t)lanes->count[j] * bias;
        io->count[quantity] += lanes->count[j];
    }
}

static bool sum_chunk(const unsigned char *bytes, size_t count, int32_t *io_previous_ms, struct reading_stretch *io)
{
    struct sums sums;
    size_t i = 0;
    int32_t bad = 0;
    begin_sums(&sums, *io_previous_ms, io);
    for (; i + LANES <= count; i += LANES)
        add_words(&sums, bytes + i * PACK_SIZE, LANES);
    for (; i < count; i++)
        add_words(&sums, bytes + i * PACK_SIZE, 1);
    for (unsigned j = 0; j < LANES; j++)
        bad |= sums.bad[j];
    fold(&sums.temp, TEMP_ZERO, AIR_TEMP, io);
    fold(&sums.rh, RH_BIAS, AIR_RH, io);
    io->readings += (unsigned)count;
    *io_previous_ms = sums.previous_ms;
    return bad >= 0 && sums.previous_ms < MS_PER_DAY;
}

uint32_t pack_ms_at(const void *bytes, size_t index)
{
    return pack_ms(load_word(bytes, index));
}

size_t pack_find(const void *bytes, size_t first, size_t count, uint32_t ms)
{
    size_t low = first, high = count;
    if (first < count && pack_ms_at(bytes, count - 1) < ms) /* mostly a stretch is longer than a day */
        return count;
    while (low < high) {
        size_t mid = low + (high - low) / 2;
        if (pack_ms_at(bytes, mid) < ms)
            low = mid + 1;
        else
            high = mid;
    }
    return low;
}

bool pack_sum(const void *bytes, size_t first, size_t end, int32_t *io_previous_ms, struct reading_stretch *io)
{
    bool sound = true;
    for (size_t i = first; sound && i < end; i += CHUNK)
        sound = sum_chunk((const unsigned char *)bytes + i * PACK_SIZE, end - i < CHUNK ? end - i : CHUNK, io_previous_ms, io);
    return sound;
}
