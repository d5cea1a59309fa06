/* The air to come, and when a coat is ready in it. */
#include "coat/moment.h"
#include "coat/outlook.h"
#include "tests/unit/seed.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define NOW (INT64_C(20500) * MS_PER_DAY + 9 * MS_PER_H)

static struct outlook outlook;
static struct outlook_growth growth;

static void near(const char *what, double found, double expected, double tolerance)
{
    if (!(fabs(found - expected) <= tolerance))
        fail_msg("%s is %.6g, expected %.6g within %.3g", what, found, expected, tolerance);
}

/* Hourly readings of the last `days`: a mean, a daily swing with its top at 15 o'clock, and some unrest. */
static size_t air_of(struct reading *r, double days, double mean_c, double swing_c, double unrest_c, uint64_t *seed)
{
    size_t n = (size_t)(days * 24.0) + 1;
    double drift = 0.0;
    for (size_t i = 0; i < n; i++) {
        int64_t at = NOW - (int64_t)(n - 1 - i) * MS_PER_H;
        double hour = (double)(at % MS_PER_DAY) / (double)MS_PER_H;
        drift = 0.95 * drift + (seed ? seed_between(seed, -unrest_c, unrest_c) : 0.0);
        double temp = mean_c + swing_c * cos((hour - 15.0) / 24.0 * 2.0 * M_PI) + drift;
        r[i] = (struct reading){at, (int32_t)lround(temp * 1000), 60000, READING_HOLD_BY_HAND_S};
    }
    return n;
}

static void make(const struct reading *r, size_t n)
{
    memset(&outlook, 0, sizeof outlook);
    outlook_make(&(struct outlook_facts){r, n, NOW, NULL, NULL}, OUTLOOK_HOURS_MAX, &outlook);
}

static struct outlook_finish finish_of(double hours)
{
    struct law_terms terms = {.side = SIDE_PLAIN, .rows = 1, .row = {{20.0, 1.0}}, .doubling_c = 10.0, .rule = HUMIDITY_SOLVENT,
                              .ref_rh_pct = 50.0, .min_temp_c = (double)NAN, .max_rh_pct = (double)NAN};
    struct law law;
    assert_int_equal(law_from_terms(&terms, &law, NULL), COAT_OK);
    outlook_grow(&outlook, &law, &growth);
    return outlook_finish(&growth, (struct outlook_need){hours, 0.0, 0.0});
}

static double hours_to(int64_t at)
{
    assert_true(at != MOMENT_NONE);
    return (double)(at - NOW) / (double)MS_PER_H;
}

static double band_of(double hours)
{
    struct outlook_finish f = finish_of(hours);
    return hours_to(f.latest_ms) - hours_to(f.earliest_ms);
}

static void steady_air_gives_steady_hours(void **state)
{
    (void)state;
    struct reading r[400];
    size_t n = air_of(r, 14, 20.0, 0.0, 0.0, NULL);
    make(r, n);
    assert_int_equal(outlook.members, OUTLOOK_MEMBERS);
    near("known days", outlook.known_days, 14.0, 0.1);
    near("24 h at 20 C", hours_to(finish_of(24.0).likely_ms), 24.0, 0.3);
    n = air_of(r, 14, 10.0, 0.0, 0.0, NULL);
    make(r, n);
    near("24 h at 10 C", hours_to(finish_of(24.0).likely_ms), 48.0, 0.6);
}

/* A swing of 6 C around 15 C: at 9 o'clock the day is still to come; the central course must know that. */
static void the_daily_swing_is_learned(void **state)
{
    (void)state;
    struct reading r[400];
    make(r, air_of(r, 14, 15.0, 6.0, 0.0, NULL));
    near("15 o'clock, in 6 h", outlook.central.temp_c[6], 21.0, 0.7);
    near("3 o'clock, in 18 h", outlook.central.temp_c[18], 9.0, 0.7);
}

static void bands_are_in_order_and_wayward_air_widens_them(void **state)
{
    (void)state;
    struct reading r[400];
    uint64_t seed = seed_start("wayward air");
    double calm = 0, wild = 0;
    for (int i = 0; i < 5; i++) {
        make(r, air_of(r, 14, 15.0, 4.0, 0.2, &seed));
        struct outlook_finish f = finish_of(24.0);
        assert_true(f.earliest_ms <= f.likely_ms && f.likely_ms <= f.latest_ms);
        calm += band_of(24.0);
        make(r, air_of(r, 14, 15.0, 4.0, 1.0, &seed));
        wild += band_of(24.0);
    }
    assert_true(wild > 1.5 * calm);
}

static void fewer_days_are_less_sure(void **state)
{
    (void)state;
    struct reading r[400];
    uint64_t seed = seed_start("fewer days");
    double few = 0, many = 0;
    for (int i = 0; i < 5; i++) {
        uint64_t again = seed;
        make(r, air_of(r, 3, 15.0, 4.0, 0.2, &seed));
        few += band_of(48.0);
        make(r, air_of(r, 14, 15.0, 4.0, 0.2, &again));
        many += band_of(48.0);
    }
    assert_true(few > many);
}

static void nothing_known_is_no_outlook(void **state)
{
    (void)state;
    make(NULL, 0);
    assert_int_equal(outlook.members, 0);
    struct reading one = {NOW, 18000, 55000, READING_HOLD_BY_HAND_S};
    make(&one, 1);
    assert_true(outlook.known_days < 1.0);
    struct outlook_finish f = finish_of(24.0);
    assert_true(f.latest_ms == MOMENT_NONE || hours_to(f.latest_ms) > 1.2 * hours_to(f.likely_ms));
}

static void the_same_readings_say_the_same(void **state)
{
    (void)state;
    struct reading r[400];
    uint64_t seed = seed_start("the same");
    size_t n = air_of(r, 9, 12.0, 5.0, 1.0, &seed);
    make(r, n);
    struct outlook *first = malloc(sizeof *first);
    assert_non_null(first);
    memcpy(first, &outlook, sizeof *first);
    make(r, n);
    assert_memory_equal(first, &outlook, sizeof outlook);
    free(first);
}

static void air_stays_air(void **state)
{
    (void)state;
    struct reading r[400];
    uint64_t seed = seed_start("air stays air");
    for (int i = 0; i < 30; i++) {
        size_t n = air_of(r, seed_between(&seed, 0, 15), seed_between(&seed, -10, 35), seed_between(&seed, 0, 9), 1.5, &seed);
        make(r, n);
        for (unsigned m = 0; m < outlook.members; m++)
            for (unsigned h = 0; h <= outlook.hours; h++) {
                assert_true(outlook.member[m].temp_c[h] >= -60 && outlook.member[m].temp_c[h] <= 100);
                assert_true(outlook.member[m].rh_pct[h] >= 1 && outlook.member[m].rh_pct[h] <= 100);
            }
    }
}

/* What has grown already counts, and the spread of the material widens the band. */
static void a_need_in_parts(void **state)
{
    (void)state;
    struct reading r[400];
    make(r, air_of(r, 14, 20.0, 0.0, 0.0, NULL));
    finish_of(24.0);
    struct outlook_finish half = outlook_finish(&growth, (struct outlook_need){24.0, 12.0, 0.0});
    struct outlook_finish spread = outlook_finish(&growth, (struct outlook_need){24.0, 0.0, 0.1});
    struct outlook_finish done = outlook_finish(&growth, (struct outlook_need){24.0, 24.0, 0.0});
    near("the other half", hours_to(half.likely_ms), 12.0, 0.3);
    near("done", hours_to(done.likely_ms), 0.0, 0.01);
    near("10 %", hours_to(spread.earliest_ms), 24.0 * exp(-0.128155), 0.6); /* normal table: -1.28155 at 10 % */
    near("90 %", hours_to(spread.latest_ms), 24.0 * exp(0.128155), 0.6);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(steady_air_gives_steady_hours),
        cmocka_unit_test(the_daily_swing_is_learned),
        cmocka_unit_test(bands_are_in_order_and_wayward_air_widens_them),
        cmocka_unit_test(fewer_days_are_less_sure),
        cmocka_unit_test(nothing_known_is_no_outlook),
        cmocka_unit_test(the_same_readings_say_the_same),
        cmocka_unit_test(air_stays_air),
        cmocka_unit_test(a_need_in_parts),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
