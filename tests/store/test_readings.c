/* Readings: whatever order, batches, repeats and days they come in, they stand in order of time, each moment once, the last word
 * on it counts. COAT_SEED=n repeats a run. */
#include "scratch.h"

#include "daemon/store/internal.h"
#include "daemon/store/pack.h"

#include <time.h>

#define FILE_OF(state) (((struct scratch *)*(state))->file)
#define DAY0 (NOW / MS_PER_DAY)

/* ---- a plain model to compare with ---- */

struct model {
    size_t count, room;
    struct reading *row; /* in order of time */
};

static void model_put(struct model *model, struct reading reading)
{
    size_t i = model->count;
    while (i > 0 && model->row[i - 1].at_ms >= reading.at_ms)
        i--;
    if (i < model->count && model->row[i].at_ms == reading.at_ms) {
        model->row[i] = reading;
        return;
    }
    if (model->count == model->room) {
        model->room = model->room * 2 + 64;
        model->row = realloc(model->row, model->room * sizeof *model->row);
        assert_non_null(model->row);
    }
    memmove(model->row + i + 1, model->row + i, (model->count - i) * sizeof *model->row);
    model->row[i] = reading;
    model->count++;
}

static bool same_reading(const struct reading *a, const struct reading *b)
{
    return a->at_ms == b->at_ms && a->temp_mc == b->temp_mc && a->rh_mp == b->rh_mp && a->hold_s == b->hold_s;
}

/* ---- the store beside it ---- */

#define SENSORS 2
struct bench {
    const char *file;
    struct store *store;
    int64_t place_id, sensor_id[SENSORS];
    struct model model[SENSORS];
    struct reading *buffer;
    size_t capacity;
    unsigned short seed[3];
};

static int64_t below(struct bench *bench, int64_t limit)
{
    return (int64_t)(erand48(bench->seed) * (double)limit);
}

static void bench_begin(struct bench *bench, const char *file)
{
    *bench = (struct bench){.file = file, .store = opened(file)};
    BEGIN_WRITE(bench->store);
    a_place(bench->store, "Booth"); /* so that ids differ */
    bench->place_id = a_place(bench->store, "Cellar");
    struct sensor by_hand, again, probe = {.place_id = bench->place_id, .name = "probe", .kind = SENSOR_PUSH, .hold_s = 900,
                                           .measures = {true, true}, .added_at = NOW, .removed_at = MOMENT_NONE};
    assert_int_equal(store_sensor_by_hand(bench->store, bench->place_id, &by_hand), COAT_OK);
    assert_int_equal(store_sensor_by_hand(bench->store, bench->place_id, &again), COAT_OK);
    assert_int_equal(again.id, by_hand.id);
    assert_int_equal(by_hand.hold_s, READING_HOLD_BY_HAND_S);
    bench->sensor_id[0] = by_hand.id;
    assert_int_equal(store_sensor_add(bench->store, &probe, true, &bench->sensor_id[1]), COAT_OK);
    END_WRITE(bench->store);
}

static void bench_end(struct bench *bench)
{
    checked_close(bench->store);
    for (int i = 0; i < SENSORS; i++)
        free(bench->model[i].row);
    free(bench->buffer);
}

static void bench_put(struct bench *bench, int sensor, const struct reading *readings, size_t count)
{
    BEGIN_WRITE(bench->store);
    assert_int_equal(store_reading_put(bench->store, bench->sensor_id[sensor], readings, count), COAT_OK);
    END_WRITE(bench->store);
    for (size_t i = 0; i < count; i++) {
        struct reading reading = readings[i];
        reading.hold_s = sensor == 0 ? READING_HOLD_BY_HAND_S : 900;
        model_put(&bench->model[sensor], reading);
    }
}

/* ---- sums ---- */

#define STRETCHES 9

static void model_add(struct reading_stretch *io, enum air_quantity quantity, int32_t milli)
{
    if (milli == READING_NONE)
        return;
    if (quantity == AIR_RH)
        milli = milli < io->rh_least_mp ? io->rh_least_mp : milli > io->rh_most_mp ? io->rh_most_mp : milli;
    io->low[quantity] = io->count[quantity] == 0 || milli < io->low[quantity] ? milli : io->low[quantity];
    io->high[quantity] = io->count[quantity] == 0 || milli > io->high[quantity] ? milli : io->high[quantity];
    io->sum[quantity] += milli;
    io->count[quantity]++;
}

static void model_sum(const struct model *model, int64_t to_ms, struct reading_stretch *io)
{
    for (size_t i = 0; i < model->count; i++) {
        if (model->row[i].at_ms < io->from_ms || model->row[i].at_ms >= to_ms)
            continue;
        model_add(io, AIR_TEMP, model->row[i].temp_mc);
        model_add(io, AIR_RH, model->row[i].rh_mp);
        io->readings++;
    }
}

static void compare_stretch(const struct reading_stretch *got, const struct reading_stretch *wanted)
{
    assert_int_equal(got->readings, wanted->readings);
    for (unsigned q = 0; q < AIR_QUANTITY_COUNT; q++) {
        assert_int_equal(got->count[q], wanted->count[q]);
        assert_int_equal(got->sum[q], wanted->sum[q]);
        if (wanted->count[q] > 0)
            assert_true(got->low[q] == wanted->low[q] && got->high[q] == wanted->high[q]);
    }
}

static int compare_begins(const void *left, const void *right)
{
    const struct reading_stretch *a = left, *b = right;
    return (a->from_ms > b->from_ms) - (a->from_ms < b->from_ms);
}

/* The first begins with the span, the others anywhere in it, often with a reading, two at once; what was in them before does not count. */
static void compare_sums(struct bench *bench, int s, int64_t from_ms, int64_t to_ms)
{
    struct reading_stretch got[STRETCHES], wanted[STRETCHES];
    int64_t length = from_ms < to_ms && to_ms < INT64_MAX && from_ms >= 0 ? to_ms - from_ms : 1;
    memset(got, 0x5a, sizeof got);
    for (int i = 0; i < STRETCHES; i++) {
        const struct model *model = &bench->model[s];
        int64_t begin = model->count > 0 && below(bench, 2) ? model->row[below(bench, (int64_t)model->count)].at_ms : from_ms + below(bench, length);
        got[i].from_ms = i == 0 || begin < from_ms || begin > to_ms ? from_ms : begin;
        got[i].rh_least_mp = below(bench, 2) ? 0 : (int32_t)below(bench, 100001);
        got[i].rh_most_mp = below(bench, 2) ? 100000 : got[i].rh_least_mp + (int32_t)below(bench, 100001 - got[i].rh_least_mp);
    }
    qsort(got, STRETCHES, sizeof *got, compare_begins);
    got[STRETCHES / 2].from_ms = got[STRETCHES / 2 - 1].from_ms;
    for (int i = 0; i < STRETCHES; i++)
        wanted[i] = (struct reading_stretch){.from_ms = got[i].from_ms, .rh_least_mp = got[i].rh_least_mp, .rh_most_mp = got[i].rh_most_mp};
    assert_int_equal(store_readings_sum(bench->store, bench->sensor_id[s], to_ms, got, STRETCHES), COAT_OK);
    for (int i = 0; i < STRETCHES; i++) {
        model_sum(&bench->model[s], i + 1 < STRETCHES ? wanted[i + 1].from_ms : to_ms, &wanted[i]);
        compare_stretch(&got[i], &wanted[i]);
    }
}

/* ---- ranges ---- */

static void compare_range_of(struct bench *bench, int s, int64_t from_ms, int64_t to_ms)
{
    const struct model *model = &bench->model[s];
    int32_t hold_s = s == 0 ? READING_HOLD_BY_HAND_S : 900;
    size_t first = 0, wanted = 0, got = 0;
    while (first < model->count && model->row[first].at_ms < from_ms)
        first++;
    while (first + wanted < model->count && model->row[first + wanted].at_ms < to_ms)
        wanted++;
    assert_int_equal(store_readings(bench->store, bench->sensor_id[s], hold_s, from_ms, to_ms, &bench->buffer, &bench->capacity, &got), COAT_OK);
    assert_int_equal(got, wanted);
    for (size_t i = 0; i < got; i++)
        assert_true(same_reading(&bench->buffer[i], &model->row[first + i]));
    compare_sums(bench, s, from_ms, to_ms);
}

/* What is read stands behind what was there. */
static void compare_appended(struct bench *bench)
{
    size_t got = 0, both = 0;
    for (int s = 0; s < SENSORS; s++) {
        assert_int_equal(store_readings(bench->store, bench->sensor_id[s], 900, 0, INT64_MAX, &bench->buffer, &bench->capacity, &got), COAT_OK);
        both += bench->model[s].count;
        assert_int_equal(got, both);
    }
    if (both > bench->model[0].count && bench->model[0].count > 0)
        assert_int_equal(bench->buffer[0].at_ms, bench->model[0].row[0].at_ms);
}

static void compare_range(struct bench *bench, int64_t from_ms, int64_t to_ms)
{
    for (int s = 0; s < SENSORS; s++)
        compare_range_of(bench, s, from_ms, to_ms);
}

static void compare_neighbours(struct bench *bench, int64_t at_ms)
{
    for (int s = 0; s < SENSORS; s++) {
        int64_t before = MOMENT_NONE, after = MOMENT_NONE, got = 7;
        for (size_t i = 0; i < bench->model[s].count; i++) {
            int64_t moment = bench->model[s].row[i].at_ms;
            if (moment <= at_ms && moment > before)
                before = moment;
            if (moment >= at_ms && (after == MOMENT_NONE || moment < after))
                after = moment;
        }
        assert_int_equal(store_reading_before(bench->store, bench->sensor_id[s], at_ms, &got), COAT_OK);
        assert_int_equal(got, before);
        assert_int_equal(store_reading_after(bench->store, bench->sensor_id[s], at_ms, &got), COAT_OK);
        assert_int_equal(got, after);
    }
}

static void compare_all(struct bench *bench)
{
    compare_range(bench, MOMENT_NONE, INT64_MAX);
    compare_range(bench, NOW, NOW);
    compare_range(bench, INT64_MAX, MOMENT_NONE);
    for (int i = 0; i < 20; i++) {
        int64_t from = (DAY0 - 5) * MS_PER_DAY + below(bench, 12 * MS_PER_DAY);
        compare_range(bench, from, from + below(bench, 4 * MS_PER_DAY));
        compare_neighbours(bench, from);
    }
    compare_appended(bench);
    compare_neighbours(bench, MOMENT_NONE);
    compare_neighbours(bench, INT64_MAX);
    compare_neighbours(bench, DAY0 * MS_PER_DAY);
    compare_neighbours(bench, DAY0 * MS_PER_DAY - 1);
    if (bench->model[0].count > 0) {
        compare_neighbours(bench, bench->model[0].row[0].at_ms);
        compare_neighbours(bench, bench->model[0].row[bench->model[0].count - 1].at_ms + 1);
    }
}

/* ---- the tests ---- */

static struct reading air(int64_t at_ms, int32_t temp_mc, int32_t rh_mp)
{
    return (struct reading){.at_ms = at_ms, .temp_mc = temp_mc, .rh_mp = rh_mp};
}

static void a_place_without_air_has_none(void **state)
{
    struct bench bench;
    bench_begin(&bench, FILE_OF(state));
    compare_all(&bench);
    BEGIN_WRITE(bench.store);
    assert_int_equal(store_reading_put(bench.store, bench.sensor_id[0], NULL, 0), COAT_OK);
    END_WRITE(bench.store);
    bench_end(&bench);
}

static void a_closed_day_is_packed(void **state)
{
    struct bench bench;
    const struct reading first[] = {air(DAY0 * MS_PER_DAY, -12345, 0), air(DAY0 * MS_PER_DAY + 86399999, 260000, 100000)};
    const struct reading next = air((DAY0 + 1) * MS_PER_DAY, 18250, 55500), late = air(DAY0 * MS_PER_DAY + 3, -524287, 4);
    bench_begin(&bench, FILE_OF(state));
    bench_put(&bench, 0, first, 2);
    checked_close(bench.store);
    assert_int_equal(outside_number(bench.file, "SELECT count(*) FROM reading"), 2); /* the newest day is open */
    assert_int_equal(outside_number(bench.file, "SELECT count(*) FROM reading_day"), 0);
    bench.store = opened(bench.file);
    bench_put(&bench, 0, &next, 1);
    bench_put(&bench, 0, &late, 1);
    compare_all(&bench);
    checked_close(bench.store);
    assert_int_equal(outside_number(bench.file, "SELECT count(*) FROM reading"), 1);
    assert_int_equal(outside_number(bench.file, "SELECT count(*) FROM reading_day"), 1);
    assert_int_equal(outside_number(bench.file, "SELECT day FROM reading_day"), DAY0);
    assert_int_equal(outside_number(bench.file, "SELECT count FROM reading_day"), 3);
    assert_int_equal(outside_number(bench.file, "SELECT length(packed) FROM reading_day"), 24);
    bench.store = opened(bench.file);
    compare_all(&bench);
    bench_end(&bench);
}

static void what_no_air_can_be_is_refused_whole(void **state)
{
    static const struct reading bad[] = {
        {NOW, 524288, 50000, 0}, {NOW, -524288, 50000, 0}, {NOW, 20000, -1, 0}, {NOW, 20000, 100001, 0}, {-1, 20000, 50000, 0},
        {MOMENT_NONE, 20000, 50000, 0}, {INT64_MAX, 20000, 50000, 0}, {NOW, READING_NONE, READING_NONE, 0},
    };
    struct bench bench;
    bench_begin(&bench, FILE_OF(state));
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        const struct reading batch[] = {air(NOW - 5, 20000, 50000), bad[i]};
        BEGIN_WRITE(bench.store);
        assert_int_equal(store_reading_put(bench.store, bench.sensor_id[0], batch, 2), COAT_BAD_VALUE);
        store_rollback(bench.store);
    }
    const struct reading good = air(NOW, 20000, 50000);
    BEGIN_WRITE(bench.store);
    assert_int_equal(store_reading_put(bench.store, 4711, &good, 1), COAT_NOT_FOUND);
    store_rollback(bench.store);
    compare_all(&bench); /* still empty */
    bench_end(&bench);
}

static void a_rollback_forgets_the_day_it_opened(void **state)
{
    struct bench bench;
    const struct reading first = air(NOW, 20000, 50000), later = air(NOW + 3 * MS_PER_DAY, 21000, 51000), between = air(NOW + MS_PER_DAY, 1, 1);
    bench_begin(&bench, FILE_OF(state));
    bench_put(&bench, 0, &first, 1);
    BEGIN_WRITE(bench.store);
    assert_int_equal(store_reading_put(bench.store, bench.sensor_id[0], &later, 1), COAT_OK);
    store_rollback(bench.store);
    compare_all(&bench);
    bench_put(&bench, 0, &between, 1); /* would be late, had the other stayed */
    checked_close(bench.store);
    assert_int_equal(outside_number(bench.file, "SELECT at FROM reading"), between.at_ms);
    bench.store = opened(bench.file);
    compare_all(&bench);
    bench_end(&bench);
}

static void a_malformed_day_is_told(void **state)
{
    static const char *const damage[] = {
        "UPDATE reading_day SET packed = CAST(substr(packed, 9) || substr(packed, 1, 8) AS BLOB)", /* out of order */
        "UPDATE reading_day SET packed = CAST(substr(packed, 1, 8) || substr(packed, 1, 8) AS BLOB)", /* the same moment twice */
        "UPDATE reading_day SET packed = CAST(substr(packed, 1, 8) || x'ffffffffffffffff' AS BLOB)", /* no such moment in a day */
        "PRAGMA ignore_check_constraints = 1; UPDATE reading_day SET packed = substr(packed, 1, 13)",
        "PRAGMA ignore_check_constraints = 1; UPDATE reading_day SET packed = x''",
    };
    struct bench bench;
    const struct reading readings[] = {air(NOW, 20000, 50000), air(NOW + 1, 20000, 50000), air(NOW + 2 * MS_PER_DAY, 20000, 50000)};
    bench_begin(&bench, FILE_OF(state));
    bench_put(&bench, 0, readings, 3);
    for (size_t i = 0; i < sizeof damage / sizeof *damage; i++) {
        size_t count = 77;
        int64_t moment = 77;
        checked_close(bench.store);
        outside(bench.file, "CREATE TABLE kept AS SELECT packed FROM reading_day");
        outside(bench.file, damage[i]);
        bench.store = opened(bench.file);
        count = 0;
        assert_int_equal(store_readings(bench.store, bench.sensor_id[0], 900, 0, INT64_MAX, &bench.buffer, &bench.capacity, &count),
                         COAT_STORE_FAILED);
        assert_int_equal(count, 0);
        struct reading_stretch stretch[] = {{.from_ms = 0, .rh_most_mp = 100000}, {.from_ms = NOW + 1, .rh_most_mp = 100000}};
        assert_int_equal(store_readings_sum(bench.store, bench.sensor_id[0], INT64_MAX, stretch, 2), COAT_STORE_FAILED);
        assert_int_equal(store_readings_sum(bench.store, bench.sensor_id[0], INT64_MAX, stretch + 1, 1), COAT_STORE_FAILED);
        assert_int_equal(store_reading_before(bench.store, bench.sensor_id[0], NOW + 5, &moment), COAT_STORE_FAILED);
        BEGIN_WRITE(bench.store); /* a late reading does not paper it over */
        assert_int_equal(store_reading_put(bench.store, bench.sensor_id[0], &readings[1], 1), COAT_STORE_FAILED);
        store_rollback(bench.store);
        store_close(bench.store);
        outside(bench.file, "UPDATE reading_day SET packed = (SELECT packed FROM kept); DROP TABLE kept");
        bench.store = opened(bench.file);
    }
    compare_all(&bench);
    bench_end(&bench);
}

/* The sums of hot air and of many readings leave 32 bits. */
static void a_day_of_very_many_readings_is_summed(void **state)
{
    enum { COUNT = 100003 };
    struct bench bench;
    struct reading *readings = calloc(COUNT, sizeof *readings);
    const struct reading next = air((DAY0 + 1) * MS_PER_DAY, 20000, 50000);
    struct reading_stretch got = {.from_ms = 0, .rh_most_mp = 100000};
    assert_non_null(readings);
    bench_begin(&bench, FILE_OF(state));
    for (int i = 0; i < COUNT; i++)
        readings[i] = air(DAY0 * MS_PER_DAY + i * 800, 500000 + i % 24287, 100000 - i % 7);
    BEGIN_WRITE(bench.store);
    assert_int_equal(store_reading_put(bench.store, bench.sensor_id[0], readings, COUNT), COAT_OK);
    assert_int_equal(store_reading_put(bench.store, bench.sensor_id[0], &next, 1), COAT_OK);
    END_WRITE(bench.store);
    struct reading_stretch wanted = got;
    model_sum(&(struct model){COUNT, COUNT, readings}, INT64_MAX, &wanted);
    assert_int_equal(store_readings_sum(bench.store, bench.sensor_id[0], (DAY0 + 1) * MS_PER_DAY, &got, 1), COAT_OK);
    compare_stretch(&got, &wanted);
    free(readings);
    bench_end(&bench);
}

static void words_of_a_day_hold_what_was_read(void **state)
{
    static const int32_t temps[] = {READING_NONE, -524287, -40000, -1, 0, 1, 23450, 260000, 524287}, humidities[] = {READING_NONE, 0, 1, 50000, 99999, 100000};
    static const int64_t moments[] = {0, 1, 43200000, 86399998, 86399999};
    (void)state;
    for (size_t t = 0; t < 9; t++) {
        for (size_t h = 0; h < 6; h++) {
            for (size_t m = 0; m < 5; m++) {
                struct reading reading = {DAY0 * MS_PER_DAY + moments[m], temps[t], humidities[h], 900};
                if (temps[t] == READING_NONE && humidities[h] == READING_NONE) {
                    assert_false(pack_holds(&reading));
                    continue;
                }
                assert_true(pack_holds(&reading));
                struct reading back = pack_reading(pack_word(&reading), DAY0 * MS_PER_DAY, 900);
                assert_true(same_reading(&back, &reading));
            }
        }
    }
}

/* Given readings in any order and any batches, with repeats, late ones and a restart in between, then the record is the same as
 * a plain sorted list. */
static void any_order_gives_the_same_record(struct bench *bench, int rounds)
{
    for (int round = 0; round < rounds; round++) {
        struct reading batch[300];
        size_t count = (size_t)below(bench, below(bench, 4) ? 12 : 300) + 1;
        int64_t span = below(bench, 3) ? 2 * MS_PER_DAY : 6 * MS_PER_DAY;
        int64_t start = (DAY0 - 3) * MS_PER_DAY + below(bench, 6 * MS_PER_DAY) - span / 2;
        int64_t grain = below(bench, 2) ? 1 : 600000; /* the coarse ones meet often */
        for (size_t i = 0; i < count; i++) {
            int64_t at = (start + below(bench, span)) / grain * grain;
            batch[i] = air(at, (int32_t)below(bench, 60000) - 20000, (int32_t)below(bench, 100001));
            int64_t lacks = below(bench, 8); /* a thermometer or a hygrometer alone, now and then */
            batch[i].temp_mc = lacks == 0 ? READING_NONE : batch[i].temp_mc;
            batch[i].rh_mp = lacks == 1 ? READING_NONE : batch[i].rh_mp;
        }
        bench_put(bench, (int)below(bench, SENSORS), batch, count);
        if (below(bench, 12) == 0) {
            checked_close(bench->store);
            bench->store = opened(bench->file);
        }
        if (round % 10 == 0)
            compare_all(bench);
    }
    compare_all(bench);
}

static void readings_in_any_order(void **state)
{
    const char *given = getenv("COAT_SEED");
    unsigned long seed = given ? strtoul(given, NULL, 10) : (unsigned long)time(NULL);
    struct bench bench;
    print_message("COAT_SEED=%lu\n", seed);
    bench_begin(&bench, FILE_OF(state));
    bench.seed[0] = (unsigned short)seed;
    bench.seed[1] = (unsigned short)(seed >> 16);
    bench.seed[2] = 0x330e;
    any_order_gives_the_same_record(&bench, 120);
    checked_close(bench.store);
    /* Only the newest day of each sensor is rows; no day is both. */
    assert_int_equal(outside_number(bench.file, "SELECT count(DISTINCT (at / 86400000) || '.' || sensor_id) FROM reading"), SENSORS);
    assert_int_equal(outside_number(bench.file, "SELECT count(*) FROM reading_day AS d, (SELECT sensor_id, min(at) / 86400000 AS day"
                                                " FROM reading GROUP BY sensor_id) AS o WHERE o.sensor_id = d.sensor_id AND d.day >= o.day"), 0);
    assert_true(outside_number(bench.file, "SELECT count(*) FROM reading_day") > 6);
    bench.store = opened(bench.file);
    compare_all(&bench);
    bench_end(&bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
#define T(name) cmocka_unit_test_setup_teardown(name, scratch_make, scratch_remove)
        T(a_place_without_air_has_none),
        T(a_closed_day_is_packed),
        T(what_no_air_can_be_is_refused_whole),
        T(a_rollback_forgets_the_day_it_opened),
        T(a_malformed_day_is_told),
        T(a_day_of_very_many_readings_is_summed),
        T(words_of_a_day_hold_what_was_read),
        T(readings_in_any_order),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
