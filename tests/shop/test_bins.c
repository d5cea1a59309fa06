/* Given what the sensors of a place told over weeks, then the plot shows of each bin the ends and the mean of exactly that. COAT_SEED=n repeats
 * a run. */
#include "tests/shop/write_scene.h"
#include "tests/unit/seed.h"

#define SENSORS 3
#define READINGS_MOST 9000
#define ADJUSTMENTS 3
#define BINS_MOST 700
#define DAYS 90 /* more than are merged to the reading */

/* One sensor, as it was told and as it is to be read. */
struct told {
    int64_t id;
    struct reading *reading;
    size_t count;
    struct adjustment adjustment[AIR_QUANTITY_COUNT][ADJUSTMENTS]; /* by from_at */
};

struct garage {
    struct told sensor[SENSORS];
    uint64_t seed;
};

static int64_t below(struct garage *garage, int64_t limit)
{
    return (int64_t)(seed_next(&garage->seed) % (uint64_t)limit);
}

/* Minutes apart mostly, days now and then, up to this minute; a quantity is missing here and there, and so is a whole hygrometer. */
static void speak(struct garage *garage, struct told *told, bool has_rh)
{
    int64_t at_ms = NOW - DAYS * MS_PER_DAY;
    while (told->count < READINGS_MOST) {
        at_ms += below(garage, 300) == 0 ? below(garage, 9 * MS_PER_DAY) : 1 + below(garage, 60 * MS_PER_MIN);
        if (at_ms >= NOW)
            return;
        int64_t lacks = below(garage, 12);
        struct reading reading = {at_ms, (int32_t)below(garage, 40000) - 10000, (int32_t)below(garage, 100001), 0};
        reading.temp_mc = lacks == 0 && has_rh ? READING_NONE : reading.temp_mc;
        reading.rh_mp = lacks == 1 || !has_rh ? READING_NONE : reading.rh_mp;
        told->reading[told->count++] = reading;
    }
}

/* What nobody believes lies beside the readings, and shows in no bin. */
static void keep_a_suspect(struct store *store, const struct told *told)
{
    struct suspect suspect = {.sensor_id = told->id, .at = told->reading[told->count / 2].at_ms + 1, .received_at = NOW,
                              .temp_mc = 400000, .rh_mp = READING_NONE, .judgement = JUDGE_IMPLAUSIBLE};
    assert_int_equal(store_suspect_put(store, &suspect), COAT_OK);
}

static void adjust(struct garage *garage, struct store *store, struct told *told)
{
    for (unsigned q = 0; q < AIR_QUANTITY_COUNT; q++) {
        int64_t from_at = NOW - (DAYS + 20) * MS_PER_DAY;
        for (unsigned i = 0; i < ADJUSTMENTS; i++) {
            int64_t id, most = q == AIR_RH ? 20000000 : 3000000; /* millionths: finer than a reading */
            from_at += below(garage, 40 * MS_PER_DAY);
            told->adjustment[q][i] = (struct adjustment){.sensor_id = told->id, .quantity = (enum air_quantity)q, .reads = 50, .should = 50,
                .offset = (double)(below(garage, 2 * most) - most) * 1e-6, .from_at = from_at, .entered_at = NOW};
            assert_int_equal(store_adjustment_add(store, &told->adjustment[q][i], &id), COAT_OK);
        }
    }
}

/* The second is a thermometer, the last is as it was bought; the first, which fills most bins, is adjusted. */
static void add_sensors(struct garage *garage, struct store *store, int64_t place_id)
{
    assert_int_equal(store_begin(store), COAT_OK);
    for (int i = 0; i < SENSORS; i++) {
        struct told *told = &garage->sensor[i];
        struct sensor sensor = {.place_id = place_id, .kind = SENSOR_PUSH, .position = i, .interval_s = 300, .hold_s = 900,
                                .measures = {true, i != 1}, .added_at = NOW, .removed_at = MOMENT_NONE};
        snprintf(sensor.name, sizeof sensor.name, "probe %d", i + 1);
        told->reading = calloc(READINGS_MOST, sizeof *told->reading);
        assert_non_null(told->reading);
        assert_int_equal(store_sensor_add(store, &sensor, true, &told->id), COAT_OK);
        speak(garage, told, i != 1);
        assert_int_equal(store_reading_put(store, told->id, told->reading, told->count), COAT_OK);
        keep_a_suspect(store, told);
        if (i + 1 < SENSORS)
            adjust(garage, store, told);
    }
    assert_int_equal(store_commit(store), COAT_OK);
}

/* ---- the plain way ---- */

/* READING_NONE where it was not measured. */
static int32_t as_adjusted(const struct told *told, enum air_quantity quantity, const struct reading *reading)
{
    int32_t milli = quantity == AIR_TEMP ? reading->temp_mc : reading->rh_mp;
    double offset = 0.0;
    for (unsigned i = 0; i < ADJUSTMENTS; i++)
        if (told->adjustment[quantity][i].from_at <= reading->at_ms)
            offset = told->adjustment[quantity][i].offset;
    if (milli == READING_NONE)
        return milli;
    milli += (int32_t)lround(offset * 1000.0);
    return quantity == AIR_TEMP ? milli : milli < 0 ? 0 : milli > 100000 ? 100000 : milli;
}

struct span {
    int64_t from_ms, to_ms;
    unsigned bins;
};

static bool lies_in(const struct span *span, unsigned bin, int64_t at_ms)
{
    return at_ms >= span->from_ms && at_ms < span->to_ms && (at_ms - span->from_ms) * span->bins / (span->to_ms - span->from_ms) == bin;
}

static double in_units(int64_t milli, unsigned count)
{
    return count > 0 ? (double)milli / 1000.0 : NOT_KNOWN;
}

/* Low, mean, high. */
static unsigned expect_of(const struct told *told, const struct span *span, unsigned bin, enum air_quantity quantity, double ret[3])
{
    int64_t sum = 0;
    int32_t low = INT32_MAX, high = INT32_MIN;
    unsigned count = 0;
    for (size_t i = 0; i < told->count; i++) {
        int32_t milli = lies_in(span, bin, told->reading[i].at_ms) ? as_adjusted(told, quantity, &told->reading[i]) : READING_NONE;
        if (milli == READING_NONE)
            continue;
        low = milli < low ? milli : low;
        high = milli > high ? milli : high;
        sum += milli;
        count++;
    }
    ret[0] = in_units(low, count);
    ret[1] = in_units(sum, count) / count;
    ret[2] = in_units(high, count);
    return count;
}

static unsigned readings_in(const struct told *told, const struct span *span, unsigned bin)
{
    unsigned count = 0;
    for (size_t i = 0; i < told->count; i++)
        count += lies_in(span, bin, told->reading[i].at_ms);
    return count;
}

/* The first sensor that told anything in it. */
static void expect_bin(const struct garage *garage, const struct span *span, unsigned bin, double ret[AIR_QUANTITY_COUNT][3], unsigned *ret_readings)
{
    *ret_readings = 0;
    for (int i = 0; i < SENSORS && *ret_readings == 0; i++)
        *ret_readings = readings_in(&garage->sensor[i], span, bin);
    for (unsigned q = 0; q < AIR_QUANTITY_COUNT; q++)
        for (int i = 0; i < SENSORS; i++)
            if (expect_of(&garage->sensor[i], span, bin, (enum air_quantity)q, ret[q]) > 0)
                break;
}

/* Not nearly: the same. */
static bool same(double a, double b)
{
    return a == b || (isnan(a) && isnan(b));
}

static void compare_bins(const struct garage *garage, struct shop *shop, int64_t place_id, const struct span *span)
{
    static struct air_bin bin[BINS_MOST];
    assert_int_equal(shop_air_bins(shop, place_id, span->from_ms, span->to_ms, span->bins, bin), COAT_OK);
    for (unsigned i = 0; i < span->bins; i++) {
        double expected[AIR_QUANTITY_COUNT][3];
        unsigned readings;
        expect_bin(garage, span, i, expected, &readings);
        assert_int_equal(bin[i].readings, readings);
        assert_true(same(bin[i].temp_low_c, expected[AIR_TEMP][0]) && same(bin[i].temp_high_c, expected[AIR_TEMP][2]));
        assert_true(same(bin[i].temp_mean_c, expected[AIR_TEMP][1]));
        assert_true(same(bin[i].rh_low_pct, expected[AIR_RH][0]) && same(bin[i].rh_high_pct, expected[AIR_RH][2]));
        assert_true(same(bin[i].rh_mean_pct, expected[AIR_RH][1]));
    }
}

static void a_long_plot_shows_what_was_read(void **state)
{
    struct scene *scene = *state;
    struct garage garage = {.seed = seed_start("a_long_plot_shows_what_was_read")};
    struct store *store = NULL;
    shop_close(scene->shop);
    assert_int_equal(store_open(scene->file, NOW, &store, &scene->error), COAT_OK);
    add_sensors(&garage, store, scene->garage);
    store_close(store);
    scene->shop = opened_shop(scene);
    struct span whole = {NOW - DAYS * MS_PER_DAY, NOW, DAYS}, longer = {-MS_PER_DAY, NOW + 3 * MS_PER_DAY, 400};
    compare_bins(&garage, scene->shop, scene->garage, &whole);
    compare_bins(&garage, scene->shop, scene->garage, &longer);
    for (int i = 0; i < 4; i++) {
        int64_t from_ms = NOW - (41 + below(&garage, DAYS)) * MS_PER_DAY - below(&garage, MS_PER_DAY);
        struct span some = {from_ms, from_ms + 41 * MS_PER_DAY + below(&garage, 20 * MS_PER_DAY), 1 + (unsigned)below(&garage, BINS_MOST)};
        compare_bins(&garage, scene->shop, scene->garage, &some);
    }
    for (int i = 0; i < SENSORS; i++)
        free(garage.sensor[i].reading);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        SCENE_TEST(a_long_plot_shows_what_was_read),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
