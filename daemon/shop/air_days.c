/* Days of readings at hand, as the store has them, sensor by sensor: what follows from the air asks for the same few days over and over. They can be
 * dropped at any time; then they are read again. */
#include "daemon/shop/ledger.h"

#include "daemon/store/store.h"

#include <stdlib.h>
#include <string.h>

#define DAYS_MOST 64           /* a power of two; what asks for more goes to the store */
#define READINGS_MOST 32768    /* of a sensor, three weeks of one a minute: three quarters of a megabyte */
#define ADDED_MOST 256         /* more than this at once are read again with their days */
#define LOOKED_AT_MOST 4       /* days at hand in which the reading before or after a moment is looked for */
#define GAPS_KEPT 8            /* found answers of the store to that */
#define NOT_ASKED (INT64_MAX - 1)

struct air_day {
    bool known;
    int64_t day;
    struct reading *item;
    size_t count, capacity;
};

/* No reading of the sensor lies between these two. One of them is a reading, or MOMENT_NONE where there is none on that side. */
struct air_gap {
    bool known, from_reading; /* from_reading: the first is that one */
    int64_t from_ms, to_ms;
};

struct air_days {
    struct air_day day[DAYS_MOST];
    size_t readings;           /* of all days */
    int64_t newest_at;         /* of the sensor; MOMENT_NONE: it has none; NOT_ASKED */
    struct air_gap gap[GAPS_KEPT];
    unsigned next_gap;         /* the one that goes for the next */
};

static void drop_day(struct air_days *days, struct air_day *day)
{
    days->readings -= day->known ? day->count : 0;
    free(day->item);
    *day = (struct air_day){0};
}

static void drop_from(struct air_days *days, int64_t from_day)
{
    for (size_t i = 0; i < DAYS_MOST; i++)
        if (days->day[i].known && days->day[i].day >= from_day)
            drop_day(days, &days->day[i]);
    days->newest_at = NOT_ASKED;
    memset(days->gap, 0, sizeof days->gap);
}

void place_air_forget(struct place_air *air, int64_t from_ms)
{
    for (unsigned i = 0; i < MERGE_SOURCES_MAX; i++)
        if (air->days[i] != NULL)
            drop_from(air->days[i], moment_day(from_ms));
}

void place_air_forget_all(struct place_air *air)
{
    for (unsigned i = 0; i < MERGE_SOURCES_MAX; i++) {
        if (air->days[i] != NULL)
            drop_from(air->days[i], INT64_MIN);
        free(air->days[i]);
        air->days[i] = NULL;
    }
}

static struct air_days *days_of(const struct place_air *air, unsigned source)
{
    if (air->days[source] == NULL) {
        air->days[source] = calloc(1, sizeof *air->days[source]);
        if (air->days[source] != NULL)
            air->days[source]->newest_at = NOT_ASKED;
    }
    return air->days[source];
}

static struct air_day *slot_of(struct air_days *days, int64_t day)
{
    return &days->day[(uint64_t)day % DAYS_MOST];
}

static struct air_day *known_day(struct air_days *days, int64_t day)
{
    struct air_day *slot = slot_of(days, day);
    return slot->known && slot->day == day ? slot : NULL;
}

/* ---- reading ---- */

static bool room_for(struct reading **items, size_t *capacity, size_t count)
{
    if (count <= *capacity)
        return true;
    size_t larger = count + count / 2 + 16;
    struct reading *grown = realloc(*items, larger * sizeof *grown);
    if (grown == NULL)
        return false;
    *items = grown;
    *capacity = larger;
    return true;
}

/* Keeps one day of a run that was read; where there is no room or memory it is not known, which is no harm. */
static void keep_day(struct air_days *days, int64_t day, const struct reading *readings, size_t count)
{
    struct air_day *slot = slot_of(days, day);
    drop_day(days, slot);
    if (days->readings + count > READINGS_MOST)
        return;
    if (!room_for(&slot->item, &slot->capacity, count > 0 ? count : 1))
        return;
    if (count > 0)
        memcpy(slot->item, readings, count * sizeof *readings);
    slot->known = true;
    slot->day = day;
    slot->count = count;
    days->readings += count;
}

static void keep_days(struct air_days *days, int64_t from_day, int64_t to_day, const struct reading *readings, size_t count)
{
    size_t first = 0;
    if (days->readings + count > READINGS_MOST)
        for (size_t i = 0; i < DAYS_MOST; i++)
            drop_day(days, &days->day[i]);
    for (int64_t day = from_day; day < to_day; day++) {
        size_t until = history_count_until(readings, count, moment_day_start(day + 1) - 1);
        keep_day(days, day, readings + first, until - first);
        first = until;
    }
}

struct filling {
    int64_t from_ms, to_ms;
    int32_t hold_s;
    struct reading **readings;
    size_t *capacity, *count;
};

/* Puts those of from_ms to to_ms behind what is there, with the hold of the sensor. */
static bool append_part(const struct filling *f, const struct reading *readings, size_t count)
{
    size_t first = history_count_until(readings, count, f->from_ms - 1), until = history_count_until(readings, count, f->to_ms - 1);
    if (until <= first)
        return true;
    if (!room_for(f->readings, f->capacity, *f->count + until - first))
        return false;
    struct reading *to = *f->readings + *f->count;
    memcpy(to, readings + first, (until - first) * sizeof *to);
    for (size_t i = 0; i < until - first; i++)
        to[i].hold_s = f->hold_s;
    *f->count += until - first;
    return true;
}

/* Days that are not at hand, up to the first that is. */
static enum coat_result append_run(const struct place_air *air, unsigned source, struct air_days *days, int64_t from_day, int64_t to_day,
                                   const struct filling *f)
{
    struct reading *run = NULL;
    size_t capacity = 0, count = 0;
    enum coat_result result = store_readings(air->store, air->source[source].sensor_id, f->hold_s, moment_day_start(from_day),
                                             moment_day_start(to_day), &run, &capacity, &count);
    if (result == COAT_OK) {
        keep_days(days, from_day, to_day, run, count);
        result = append_part(f, run, count) ? COAT_OK : COAT_NO_MEMORY;
    }
    free(run);
    return result;
}

enum coat_result air_days_read(const struct place_air *air, unsigned source, int64_t from_ms, int64_t to_ms, struct reading **io_readings,
                               size_t *io_capacity, size_t *io_count)
{
    struct air_days *days = days_of(air, source);
    struct filling f = {from_ms < 0 ? 0 : from_ms, to_ms, air->source[source].hold_s, io_readings, io_capacity, io_count}; /* none lies before 1970 */
    if (f.from_ms >= to_ms)
        return COAT_OK;
    int64_t day = moment_day(f.from_ms), end_day = moment_day(to_ms - 1) + 1;
    if (days == NULL || end_day - day > DAYS_MOST)
        return store_readings(air->store, air->source[source].sensor_id, f.hold_s, f.from_ms, to_ms, io_readings, io_capacity, io_count);
    enum coat_result result = COAT_OK;
    while (result == COAT_OK && day < end_day) {
        const struct air_day *known = known_day(days, day);
        int64_t next = day + 1;
        if (known != NULL) {
            result = append_part(&f, known->item, known->count) ? COAT_OK : COAT_NO_MEMORY;
        } else {
            while (next < end_day && known_day(days, next) == NULL)
                next++;
            result = append_run(air, source, days, day, next, &f);
        }
        day = next;
    }
    return result;
}

/* ---- before and after ---- */

static enum coat_result find_newest(const struct place_air *air, unsigned source, struct air_days *days)
{
    if (days->newest_at != NOT_ASKED)
        return COAT_OK;
    return store_reading_before(air->store, air->source[source].sensor_id, INT64_MAX, &days->newest_at);
}

/* An answer of the store to such a question: `reading` is the one before a moment, or after it. */
static void keep_gap(struct air_days *days, bool before, int64_t reading_ms, int64_t at_ms)
{
    days->gap[days->next_gap] = (struct air_gap){true, before, before ? reading_ms : at_ms, before ? at_ms : reading_ms};
    days->next_gap = (days->next_gap + 1) % GAPS_KEPT;
}

static bool find_gap(const struct air_days *days, bool before, int64_t at_ms, int64_t *ret_ms)
{
    for (unsigned i = 0; i < GAPS_KEPT; i++) {
        const struct air_gap *gap = &days->gap[i];
        bool within = at_ms >= gap->from_ms && (at_ms <= gap->to_ms || gap->to_ms == MOMENT_NONE);
        if (!gap->known || gap->from_reading != before || !within)
            continue;
        *ret_ms = before ? gap->from_ms : gap->to_ms;
        return true;
    }
    return false;
}

/* Among the days at hand. */
static bool find_before(struct air_days *days, int64_t at_ms, int64_t *ret_ms)
{
    const struct air_day *known = at_ms >= 0 ? known_day(days, moment_day(at_ms)) : NULL;
    for (unsigned i = 0; i < LOOKED_AT_MOST && known != NULL; i++) {
        size_t until = history_count_until(known->item, known->count, at_ms);
        if (until > 0) {
            *ret_ms = known->item[until - 1].at_ms;
            return true;
        }
        known = known_day(days, known->day - 1);
    }
    return false;
}

static bool find_after(struct air_days *days, int64_t at_ms, int64_t *ret_ms)
{
    const struct air_day *known = at_ms >= 0 ? known_day(days, moment_day(at_ms)) : NULL;
    for (unsigned i = 0; i < LOOKED_AT_MOST && known != NULL; i++) {
        size_t until = history_count_until(known->item, known->count, at_ms - 1);
        if (until < known->count) {
            *ret_ms = known->item[until].at_ms;
            return true;
        }
        known = known_day(days, known->day + 1);
    }
    return false;
}

enum coat_result air_days_before(const struct place_air *air, unsigned source, int64_t at_ms, int64_t *ret_ms)
{
    struct air_days *days = days_of(air, source);
    if (days == NULL)
        return store_reading_before(air->store, air->source[source].sensor_id, at_ms, ret_ms);
    enum coat_result result = find_newest(air, source, days);
    if (result != COAT_OK)
        return result;
    if (days->newest_at == MOMENT_NONE || days->newest_at <= at_ms) {
        *ret_ms = days->newest_at;
        return COAT_OK;
    }
    if (find_before(days, at_ms, ret_ms) || find_gap(days, true, at_ms, ret_ms))
        return COAT_OK;
    result = store_reading_before(air->store, air->source[source].sensor_id, at_ms, ret_ms);
    if (result == COAT_OK)
        keep_gap(days, true, *ret_ms, at_ms);
    return result;
}

enum coat_result air_days_after(const struct place_air *air, unsigned source, int64_t at_ms, int64_t *ret_ms)
{
    struct air_days *days = days_of(air, source);
    if (days == NULL)
        return store_reading_after(air->store, air->source[source].sensor_id, at_ms, ret_ms);
    enum coat_result result = find_newest(air, source, days);
    if (result != COAT_OK)
        return result;
    if (days->newest_at == MOMENT_NONE || days->newest_at < at_ms) {
        *ret_ms = MOMENT_NONE;
        return COAT_OK;
    }
    if (find_after(days, at_ms, ret_ms) || find_gap(days, false, at_ms, ret_ms))
        return COAT_OK;
    result = store_reading_after(air->store, air->source[source].sensor_id, at_ms, ret_ms);
    if (result == COAT_OK)
        keep_gap(days, false, *ret_ms, at_ms);
    return result;
}

/* ---- what comes ---- */

/* One that the store has taken: of the same moment it replaces what was there. */
static void add_one(struct air_days *days, const struct reading *reading)
{
    struct air_day *known = known_day(days, moment_day(reading->at_ms));
    for (unsigned i = 0; i < GAPS_KEPT; i++) { /* bounds that are MOMENT_NONE lie before all readings: what follows them has no end */
        const struct air_gap *gap = &days->gap[i];
        bool ends_before = gap->to_ms != MOMENT_NONE && gap->to_ms < reading->at_ms;
        if (gap->known && gap->from_ms <= reading->at_ms && !ends_before)
            days->gap[i].known = false;
    }
    if (known == NULL)
        return;
    size_t at = history_count_until(known->item, known->count, reading->at_ms);
    if (at > 0 && known->item[at - 1].at_ms == reading->at_ms) {
        known->item[at - 1] = *reading;
        return;
    }
    if (days->readings == READINGS_MOST || !room_for(&known->item, &known->capacity, known->count + 1)) {
        drop_day(days, known);
        return;
    }
    memmove(&known->item[at + 1], &known->item[at], (known->count - at) * sizeof *known->item);
    known->item[at] = *reading;
    known->count++;
    days->readings++;
}

void air_days_add(struct place_air *air, unsigned source, const struct reading *readings, size_t count)
{
    struct air_days *days = air->days[source];
    if (days == NULL || count == 0)
        return;
    if (count > ADDED_MOST) {
        drop_from(days, moment_day(readings[0].at_ms));
        return;
    }
    for (size_t i = 0; i < count; i++)
        add_one(days, &readings[i]);
    int64_t newest_at = readings[count - 1].at_ms;
    if (days->newest_at == MOMENT_NONE || (days->newest_at != NOT_ASKED && newest_at > days->newest_at))
        days->newest_at = newest_at;
}
