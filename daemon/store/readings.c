/* Readings. The newest UTC day of a sensor is rows of `reading`; each earlier day is one packed row of `reading_day`. */
#include "daemon/store/internal.h"
#include "daemon/store/pack.h"

#include <stdlib.h>
#include <string.h>

const struct statement_text reading_statements[] = {
    {READING_PUT, "INSERT INTO reading VALUES (:sensor_id, :at, :temp_mc, :rh_mp)"
                  " ON CONFLICT DO UPDATE SET temp_mc = excluded.temp_mc, rh_mp = excluded.rh_mp"},
    {READING_OPEN, "SELECT max(at), count(*) FROM reading WHERE sensor_id = :sensor_id"},
    {READING_RANGE, "SELECT at, temp_mc, rh_mp FROM reading"
                    " WHERE sensor_id = :sensor_id AND at >= :from_ms AND at < :to_ms ORDER BY at"},
    {READING_CLEAR, "DELETE FROM reading WHERE sensor_id = :sensor_id"},
    {READING_BEFORE, "SELECT max(at) FROM reading WHERE sensor_id = :sensor_id AND at <= :at"},
    {READING_AFTER, "SELECT min(at) FROM reading WHERE sensor_id = :sensor_id AND at >= :at"},
    {DAY_GET, "SELECT packed FROM reading_day WHERE sensor_id = :sensor_id AND day = :day"},
    {DAY_PUT, "INSERT INTO reading_day VALUES (:sensor_id, :day, :count, :packed)"
              " ON CONFLICT DO UPDATE SET count = excluded.count, packed = excluded.packed"},
    {DAY_RANGE, "SELECT day, packed FROM reading_day"
                " WHERE sensor_id = :sensor_id AND day BETWEEN :from_day AND :to_day ORDER BY day"},
    {DAY_CLEAR, "DELETE FROM reading_day WHERE sensor_id = :sensor_id"},
    /* Two, as the day itself may lie wholly on the other side of the moment. */
    {DAY_BEFORE, "SELECT day, packed FROM reading_day WHERE sensor_id = :sensor_id AND day <= :day ORDER BY day DESC LIMIT 2"},
    {DAY_AFTER, "SELECT day, packed FROM reading_day WHERE sensor_id = :sensor_id AND day >= :day ORDER BY day LIMIT 2"},
    {0, NULL},
};

/* ---- packed days ---- */

/* Bytes of the packed day that is the next column, valid until the statement moves on. */
static const void *take_packed(struct statement *s, size_t *ret_size)
{
    int column = s->column++;
    const void *bytes = sqlite3_column_blob(s->handle, column);
    *ret_size = (size_t)sqlite3_column_bytes(s->handle, column);
    if (sqlite3_column_type(s->handle, column) != SQLITE_BLOB || !bytes || *ret_size > (size_t)PACK_COUNT_MAX * PACK_SIZE)
        statement_malformed(s);
    return bytes;
}

static enum coat_result put_day(struct store *store, int64_t sensor_id, int64_t day, const uint64_t *words, size_t count)
{
    if (count > PACK_COUNT_MAX)
        return COAT_TOO_LARGE;
    unsigned char *bytes = malloc(count * PACK_SIZE);
    if (!bytes)
        return COAT_NO_MEMORY;
    pack_bytes(words, count, bytes);
    struct statement *s = statement_use(store, DAY_PUT);
    bind_int(s, ":sensor_id", sensor_id);
    bind_int(s, ":day", day);
    bind_int(s, ":count", (int64_t)count);
    bind_blob(s, ":packed", bytes, count * PACK_SIZE);
    enum coat_result result = statement_run(s);
    free(bytes);
    return result;
}

/* Puts the words into what the day has; theirs stay where both have a moment. `s` is on the packed day, or has no row. */
static enum coat_result merge_with(struct store *store, struct statement *s, int64_t sensor_id, int64_t day,
                                   const uint64_t *words, size_t count)
{
    size_t size = 0;
    const void *bytes = take_packed(s, &size);
    if (s->result != COAT_OK)
        return s->result;
    size_t old_count = size / PACK_SIZE;
    uint64_t *old = malloc((old_count * 2 + count) * sizeof *old);
    if (!old)
        return COAT_NO_MEMORY;
    uint64_t *merged = old + old_count;
    enum coat_result result = COAT_STORE_FAILED;
    if (pack_read(bytes, size, old))
        result = put_day(store, sensor_id, day, merged, pack_merge(old, old_count, words, count, merged));
    free(old);
    return result;
}

static enum coat_result merge_day(struct store *store, int64_t sensor_id, int64_t day, const uint64_t *words, size_t count)
{
    struct statement *s = statement_use(store, DAY_GET);
    bind_int(s, ":sensor_id", sensor_id);
    bind_int(s, ":day", day);
    bool found = statement_row(s);
    if (found)
        s->result = merge_with(store, s, sensor_id, day, words, count);
    enum coat_result result = statement_end(s);
    return result == COAT_OK && !found ? put_day(store, sensor_id, day, words, count) : result;
}

/* ---- the open day ---- */

/* What is known of the sensor's newest day; asks the file where nothing is remembered. */
static enum coat_result find_open_day(struct store *store, int64_t sensor_id, struct open_day **ret)
{
    struct open_day *open = &store->open_day[(uint64_t)sensor_id % OPEN_DAYS];
    *ret = open;
    if (open->sensor_id == sensor_id)
        return COAT_OK;
    struct statement *s = statement_use(store, READING_OPEN);
    bind_int(s, ":sensor_id", sensor_id);
    struct open_day found = {.sensor_id = sensor_id, .day = MOMENT_NONE};
    if (statement_row(s)) {
        int64_t newest_at = take_moment(s);
        found.count_at_most = take_int(s);
        found.day = newest_at == MOMENT_NONE ? MOMENT_NONE : moment_day(newest_at);
    }
    enum coat_result result = statement_end(s);
    if (result == COAT_OK)
        *open = found;
    return result;
}

static enum coat_result put_row(struct store *store, int64_t sensor_id, const struct reading *reading)
{
    struct statement *s = statement_use(store, READING_PUT);
    bind_int(s, ":sensor_id", sensor_id);
    bind_int(s, ":at", reading->at_ms);
    bind_milli(s, ":temp_mc", reading->temp_mc);
    bind_milli(s, ":rh_mp", reading->rh_mp);
    return statement_run(s);
}

/* Refuses what could not be packed when the day closes. */
static enum coat_result check_room(struct store *store, int64_t sensor_id, struct open_day **io_open, size_t count)
{
    if ((*io_open)->count_at_most + (int64_t)count <= PACK_COUNT_MAX)
        return COAT_OK;
    (*io_open)->sensor_id = 0; /* replaced rows were counted twice: count them in the file */
    enum coat_result result = find_open_day(store, sensor_id, io_open);
    if (result == COAT_OK && (*io_open)->count_at_most + (int64_t)count > PACK_COUNT_MAX)
        return COAT_TOO_LARGE;
    return result;
}

static enum coat_result put_rows(struct store *store, int64_t sensor_id, struct open_day *open, int64_t day,
                                 const uint64_t *words, size_t count)
{
    enum coat_result result = check_room(store, sensor_id, &open, count);
    for (size_t i = 0; i < count && result == COAT_OK; i++) {
        struct reading reading = pack_reading(words[i], moment_day_start(day), 0);
        result = put_row(store, sensor_id, &reading);
    }
    open->day = day;
    open->count_at_most += (int64_t)count;
    return result;
}

static enum coat_result read_open_words(struct store *store, int64_t sensor_id, uint64_t *ret, size_t room, size_t *ret_count)
{
    struct statement *s = statement_use(store, READING_RANGE);
    size_t n = 0;
    bind_int(s, ":sensor_id", sensor_id);
    bind_int(s, ":from_ms", 0);
    bind_int(s, ":to_ms", INT64_MAX);
    while (statement_row(s)) {
        struct reading reading = {.at_ms = take_int(s)};
        reading.temp_mc = take_milli(s);
        reading.rh_mp = take_milli(s);
        if (n == room || !pack_holds(&reading)) {
            statement_malformed(s);
            break;
        }
        ret[n++] = pack_word(&reading);
    }
    *ret_count = n;
    return statement_end(s);
}

/* Packs the open day and empties its rows. */
static enum coat_result close_day(struct store *store, int64_t sensor_id, struct open_day *open)
{
    if (open->day == MOMENT_NONE)
        return COAT_OK;
    size_t room = (size_t)open->count_at_most, count = 0;
    uint64_t *words = malloc(room * sizeof *words);
    if (!words)
        return COAT_NO_MEMORY;
    enum coat_result result = read_open_words(store, sensor_id, words, room, &count);
    if (result == COAT_OK)
        result = merge_day(store, sensor_id, open->day, words, count);
    free(words);
    if (result != COAT_OK)
        return result;
    struct statement *s = statement_use(store, READING_CLEAR);
    bind_int(s, ":sensor_id", sensor_id);
    open->day = MOMENT_NONE;
    open->count_at_most = 0;
    return statement_run(s);
}

/* ---- putting ---- */

struct entry {
    int64_t at_ms;
    size_t order; /* as brought: of the same moment the last one counts */
    uint64_t word;
};

static int compare_entries(const void *left, const void *right)
{
    const struct entry *a = left, *b = right;
    if (a->at_ms != b->at_ms)
        return a->at_ms < b->at_ms ? -1 : 1;
    return (a->order > b->order) - (a->order < b->order);
}

static bool fill_entries(const struct reading *readings, size_t count, struct entry *ret, bool *ret_rising)
{
    *ret_rising = true;
    for (size_t i = 0; i < count; i++) {
        if (!pack_holds(&readings[i]))
            return false;
        ret[i] = (struct entry){readings[i].at_ms, i, pack_word(&readings[i])};
        if (i > 0 && readings[i].at_ms <= readings[i - 1].at_ms)
            *ret_rising = false;
    }
    return true;
}

/* Sorts by moment and keeps the last of each. Returns how many are left. */
static size_t sort_entries(struct entry *entries, size_t count)
{
    size_t n = 0;
    qsort(entries, count, sizeof *entries, compare_entries);
    for (size_t i = 0; i < count; i++) {
        if (n > 0 && entries[n - 1].at_ms == entries[i].at_ms)
            n--;
        entries[n++] = entries[i];
    }
    return n;
}

/* One day's readings. Only `last` of a batch becomes rows: the days before it are closed by it. */
static enum coat_result put_one_day(struct store *store, int64_t sensor_id, int64_t day, const uint64_t *words, size_t count,
                                    bool last)
{
    struct open_day *open;
    enum coat_result result = find_open_day(store, sensor_id, &open);
    if (result == COAT_OK && open->day != MOMENT_NONE && day < open->day)
        return merge_day(store, sensor_id, day, words, count);
    if (result == COAT_OK && day > open->day && (open->day != MOMENT_NONE))
        result = close_day(store, sensor_id, open);
    if (result != COAT_OK)
        return result;
    if (last || day == open->day)
        return put_rows(store, sensor_id, open, day, words, count);
    return merge_day(store, sensor_id, day, words, count);
}

static enum coat_result put_entries(struct store *store, int64_t sensor_id, const struct entry *entries, size_t count,
                                    uint64_t *words)
{
    enum coat_result result = COAT_OK;
    for (size_t i = 0, n; i < count && result == COAT_OK; i += n) {
        int64_t day = moment_day(entries[i].at_ms);
        int64_t end_ms = moment_day_start(day + 1);
        for (n = 0; i + n < count && entries[i + n].at_ms < end_ms; n++)
            words[n] = entries[i + n].word;
        result = put_one_day(store, sensor_id, day, words, n, i + n == count);
    }
    return result == COAT_OK ? COAT_OK : store_spoil(store, result);
}

enum coat_result store_reading_put(struct store *store, int64_t sensor_id, const struct reading *readings, size_t count)
{
    assert(store->in_transaction);
    if (count == 0)
        return COAT_OK;
    if (count > SIZE_MAX / (sizeof(struct entry) + sizeof(uint64_t)))
        return COAT_TOO_LARGE;
    struct entry *entries = malloc(count * (sizeof *entries + sizeof(uint64_t)));
    if (!entries)
        return COAT_NO_MEMORY;
    bool rising;
    enum coat_result result = COAT_BAD_VALUE;
    if (fill_entries(readings, count, entries, &rising)) {
        size_t kept = rising ? count : sort_entries(entries, count);
        result = put_entries(store, sensor_id, entries, kept, (uint64_t *)(entries + count));
    }
    free(entries);
    return result;
}

/* ---- getting ---- */

struct reading_buffer {
    struct reading *readings;
    size_t capacity, count;
};

static bool make_room(struct reading_buffer *buffer, size_t more)
{
    if (more <= buffer->capacity - buffer->count)
        return true;
    size_t capacity = buffer->capacity * 2;
    if (capacity < buffer->count + more)
        capacity = buffer->count + more;
    if (capacity > SIZE_MAX / sizeof(struct reading))
        return false;
    struct reading *readings = realloc(buffer->readings, capacity * sizeof *readings);
    if (!readings)
        return false;
    buffer->readings = readings;
    buffer->capacity = capacity;
    return true;
}

struct span {
    int64_t from_ms, to_ms; /* the end is not in it */
};

/* Milliseconds of a moment within a day, kept to it. */
static uint32_t ms_in_day(int64_t at_ms, int64_t day_start_ms)
{
    if (at_ms <= day_start_ms)
        return 0;
    return at_ms - day_start_ms >= MS_PER_DAY ? (uint32_t)MS_PER_DAY : (uint32_t)(at_ms - day_start_ms);
}

static enum coat_result append_day(struct statement *s, int32_t hold_s, struct span span, struct reading_buffer *buffer)
{
    int64_t start_ms = moment_day_start(take_int(s));
    size_t size = 0, count = 0;
    const void *bytes = take_packed(s, &size);
    if (s->result != COAT_OK)
        return s->result;
    if (!make_room(buffer, size / PACK_SIZE))
        return COAT_NO_MEMORY;
    if (!pack_read_range(bytes, size, ms_in_day(span.from_ms, start_ms), ms_in_day(span.to_ms, start_ms), start_ms, hold_s,
                         buffer->readings + buffer->count, &count))
        return COAT_STORE_FAILED;
    buffer->count += count;
    return COAT_OK;
}

static enum coat_result append_days(struct store *store, int64_t sensor_id, int32_t hold_s, struct span span,
                                    struct reading_buffer *buffer)
{
    struct statement *s = statement_use(store, DAY_RANGE);
    bind_int(s, ":sensor_id", sensor_id);
    bind_int(s, ":from_day", moment_day(span.from_ms));
    bind_int(s, ":to_day", moment_day(span.to_ms - 1));
    while (statement_row(s))
        s->result = append_day(s, hold_s, span, buffer);
    return statement_end(s);
}

static enum coat_result append_rows(struct store *store, int64_t sensor_id, int32_t hold_s, struct span span,
                                    struct reading_buffer *buffer)
{
    struct statement *s = statement_use(store, READING_RANGE);
    bind_int(s, ":sensor_id", sensor_id);
    bind_int(s, ":from_ms", span.from_ms);
    bind_int(s, ":to_ms", span.to_ms);
    while (statement_row(s)) {
        if (!make_room(buffer, 1)) {
            s->result = COAT_NO_MEMORY;
            break;
        }
        struct reading *reading = &buffer->readings[buffer->count++];
        reading->at_ms = take_int(s);
        reading->temp_mc = take_milli(s);
        reading->rh_mp = take_milli(s);
        reading->hold_s = hold_s;
    }
    return statement_end(s);
}

enum coat_result store_readings(struct store *store, int64_t sensor_id, int32_t hold_s, int64_t from_ms, int64_t to_ms,
                                struct reading **io_readings, size_t *io_capacity, size_t *io_count)
{
    struct span span = {from_ms < 0 ? 0 : from_ms, to_ms}; /* no reading lies before 1970 */
    struct reading_buffer buffer = {*io_readings, *io_readings ? *io_capacity : 0, *io_count};
    enum coat_result result = COAT_OK;
    if (span.from_ms < to_ms)
        result = append_days(store, sensor_id, hold_s, span, &buffer);
    if (result == COAT_OK && span.from_ms < to_ms)
        result = append_rows(store, sensor_id, hold_s, span, &buffer);
    *io_readings = buffer.readings;
    *io_capacity = buffer.capacity;
    if (result == COAT_OK)
        *io_count = buffer.count;
    return result;
}

/* ---- sums of long spans, day by day ---- */

struct summing {
    struct reading_stretch *stretch;
    size_t count;
    int64_t to_ms;
    size_t now; /* moments come in order: the first stretch that has not ended */
};

/* Where a reading is summed, and up to when others are that follow it. `outside` for those of the first and last day that nobody asked for. */
static struct reading_stretch *stretch_of(struct summing *job, int64_t at_ms, struct reading_stretch *outside, int64_t *ret_end_ms)
{
    for (; job->now < job->count; job->now++) {
        struct reading_stretch *stretch = &job->stretch[job->now];
        *ret_end_ms = stretch->from_ms;
        if (at_ms < stretch->from_ms)
            return outside;
        *ret_end_ms = job->now + 1 < job->count ? stretch[1].from_ms : job->to_ms;
        if (at_ms < *ret_end_ms)
            return stretch;
    }
    *ret_end_ms = INT64_MAX;
    return outside;
}

static bool sum_packed(struct summing *job, int64_t start_ms, const void *bytes, size_t size)
{
    struct reading_stretch outside = {0};
    int32_t previous_ms = -1;
    size_t count = size / PACK_SIZE;
    bool sound = size % PACK_SIZE == 0;
    for (size_t i = 0, next; sound && i < count; i = next) {
        int64_t end_ms;
        struct reading_stretch *stretch = stretch_of(job, start_ms + pack_ms_at(bytes, i), &outside, &end_ms);
        next = pack_find(bytes, i + 1, count, ms_in_day(end_ms, start_ms));
        sound = pack_sum(bytes, i, next, &previous_ms, stretch);
    }
    return sound;
}

static enum coat_result sum_day(struct statement *s, struct summing *job)
{
    int64_t start_ms = moment_day_start(take_int(s));
    size_t size = 0;
    const void *bytes = take_packed(s, &size);
    if (s->result != COAT_OK)
        return s->result;
    return sum_packed(job, start_ms, bytes, size) ? COAT_OK : COAT_STORE_FAILED;
}

static enum coat_result sum_days(struct store *store, int64_t sensor_id, struct summing *job)
{
    struct statement *s = statement_use(store, DAY_RANGE);
    bind_int(s, ":sensor_id", sensor_id);
    bind_int(s, ":from_day", moment_day(job->stretch[0].from_ms < 0 ? 0 : job->stretch[0].from_ms));
    bind_int(s, ":to_day", moment_day(job->to_ms - 1));
    while (statement_row(s))
        s->result = sum_day(s, job);
    return statement_end(s);
}

/* As if it were closed already, so that there is one way to sum. */
static enum coat_result sum_open_day(struct store *store, int64_t sensor_id, struct summing *job)
{
    struct open_day *open;
    enum coat_result result = find_open_day(store, sensor_id, &open);
    if (result != COAT_OK || open->day == MOMENT_NONE || moment_day_start(open->day) >= job->to_ms)
        return result;
    size_t room = (size_t)open->count_at_most, count = 0;
    uint64_t *words = malloc(room * sizeof *words);
    if (!words)
        return COAT_NO_MEMORY;
    result = read_open_words(store, sensor_id, words, room, &count);
    if (result == COAT_OK) {
        pack_bytes(words, count, (unsigned char *)words);
        result = sum_packed(job, moment_day_start(open->day), words, count * PACK_SIZE) ? COAT_OK : COAT_STORE_FAILED;
    }
    free(words);
    return result;
}

enum coat_result store_readings_sum(struct store *store, int64_t sensor_id, int64_t to_ms, struct reading_stretch *io, size_t count)
{
    struct summing job = {io, count, to_ms, 0};
    for (size_t i = 0; i < count; i++)
        io[i] = (struct reading_stretch){.from_ms = io[i].from_ms, .rh_least_mp = io[i].rh_least_mp, .rh_most_mp = io[i].rh_most_mp};
    if (count == 0 || to_ms <= 0 || io[0].from_ms >= to_ms) /* no reading lies before 1970 */
        return COAT_OK;
    enum coat_result result = sum_days(store, sensor_id, &job);
    return result == COAT_OK ? sum_open_day(store, sensor_id, &job) : result;
}

/* ---- before and after ---- */

/* Which way to look from a moment. */
struct look {
    enum statement_id rows, days;
    bool back;
};
static const struct look look_back = {READING_BEFORE, DAY_BEFORE, true};
static const struct look look_ahead = {READING_AFTER, DAY_AFTER, false};

static bool is_nearer(const struct look *look, int64_t at_ms, int64_t than_ms)
{
    if (at_ms == MOMENT_NONE || than_ms == MOMENT_NONE)
        return at_ms != MOMENT_NONE;
    return look->back ? at_ms > than_ms : at_ms < than_ms;
}

static enum coat_result nearest_row(struct store *store, int64_t sensor_id, const struct look *look, int64_t at_ms,
                                    int64_t *io_nearest)
{
    struct statement *s = statement_use(store, look->rows);
    bind_int(s, ":sensor_id", sensor_id);
    bind_int(s, ":at", at_ms);
    int64_t found = statement_row(s) ? take_moment(s) : MOMENT_NONE;
    if (s->result == COAT_OK && is_nearer(look, found, *io_nearest))
        *io_nearest = found;
    return statement_end(s);
}

/* The nearest moment of a packed day on that side of at_ms, MOMENT_NONE where it has none there. */
static enum coat_result nearest_in_day(struct statement *s, const struct look *look, int64_t at_ms, int64_t *ret)
{
    int64_t start_ms = moment_day_start(take_int(s));
    size_t size = 0, count = 0;
    const void *bytes = take_packed(s, &size);
    if (s->result != COAT_OK)
        return s->result;
    struct reading *readings = malloc(size / PACK_SIZE * sizeof *readings);
    if (!readings)
        return COAT_NO_MEMORY;
    uint32_t split_ms = ms_in_day(look->back ? at_ms + 1 : at_ms, start_ms);
    bool sound = pack_read_range(bytes, size, look->back ? 0 : split_ms, look->back ? split_ms : (uint32_t)MS_PER_DAY, start_ms, 0,
                                 readings, &count);
    *ret = count == 0 ? MOMENT_NONE : readings[look->back ? count - 1 : 0].at_ms;
    free(readings);
    return sound ? COAT_OK : COAT_STORE_FAILED;
}

static enum coat_result nearest_packed(struct store *store, int64_t sensor_id, const struct look *look, int64_t at_ms,
                                       int64_t *io_nearest)
{
    struct statement *s = statement_use(store, look->days);
    bind_int(s, ":sensor_id", sensor_id);
    bind_int(s, ":day", moment_day(at_ms));
    int64_t found = MOMENT_NONE;
    while (found == MOMENT_NONE && statement_row(s))
        s->result = nearest_in_day(s, look, at_ms, &found);
    if (s->result == COAT_OK && is_nearer(look, found, *io_nearest))
        *io_nearest = found;
    return statement_end(s);
}

static enum coat_result nearest(struct store *store, int64_t sensor_id, const struct look *look, int64_t at_ms, int64_t *ret_ms)
{
    int64_t found = MOMENT_NONE;
    enum coat_result result = nearest_row(store, sensor_id, look, at_ms, &found);
    if (result == COAT_OK)
        result = nearest_packed(store, sensor_id, look, at_ms, &found);
    if (result == COAT_OK)
        *ret_ms = found;
    return result;
}

enum coat_result store_reading_before(struct store *store, int64_t sensor_id, int64_t at_ms, int64_t *ret_ms)
{
    if (at_ms < 0) { /* no reading lies before 1970 */
        *ret_ms = MOMENT_NONE;
        return COAT_OK;
    }
    return nearest(store, sensor_id, &look_back, at_ms == INT64_MAX ? at_ms - 1 : at_ms, ret_ms);
}

enum coat_result store_reading_after(struct store *store, int64_t sensor_id, int64_t at_ms, int64_t *ret_ms)
{
    return nearest(store, sensor_id, &look_ahead, at_ms < 0 ? 0 : at_ms, ret_ms);
}
