/* The air to come, and when a coat is ready in it. */
#include "coat/air.h"
#include "coat/moment.h"
#include "coat/outlook.h"
#include "tests/unit/seed.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

#define NOW_MS (INT64_C(20000) * MS_PER_DAY + 18 * MS_PER_H) /* six in the evening */
#define HOURS (20 * 24)
#define PI 3.14159265358979323846

static struct outlook outlook, other;
static struct outlook_growth growth;

static void near(const char *what, double found, double expected, double tolerance)
{
    if (!(fabs(found - expected) <= tolerance))
        fail_msg("%s is %.9g, expected %.9g within %.3g", what, found, expected, tolerance);
}

/* Hourly readings; r[HOURS] is now, r[HOURS - k] was k hours ago. */
struct shop_air {
    struct reading r[HOURS + 1];
};

static struct reading reading_at(unsigned i, double temp_c, double rh_pct)
{
    return (struct reading){NOW_MS - (int64_t)(HOURS - i) * MS_PER_H, (int32_t)lround(temp_c * 1000),
                            (int32_t)lround(rh_pct * 1000), 7200};
}

static unsigned hour_of_day(int64_t at_ms)
{
    return (unsigned)(at_ms % MS_PER_DAY / MS_PER_H);
}

/* 4 C colder at four in the morning, 4 C warmer at four in the afternoon. */
static double swing_c(unsigned hour)
{
    return -4.0 * cos(2.0 * PI * (hour - 4.0) / 24.0);
}

static struct shop_air steady_air(double temp_c, double rh_pct)
{
    struct shop_air air;
    for (unsigned i = 0; i <= HOURS; i++)
        air.r[i] = reading_at(i, temp_c, rh_pct);
    return air;
}

static struct shop_air swinging_air(double mean_c)
{
    struct shop_air air;
    for (unsigned i = 0; i <= HOURS; i++)
        air.r[i] = reading_at(i, mean_c + swing_c((i + 18) % 24), 50);
    return air;
}

/* Swings about a mean that wanders from hour to hour and comes back within two days, as weather does. */
static struct shop_air wandering_air(uint64_t *seed, double mean_c)
{
    struct shop_air air;
    double off_c = 0.0;
    for (unsigned i = 0; i <= HOURS; i++) {
        off_c = off_c * exp(-1.0 / 48.0) + seed_between(seed, -1.0, 1.0);
        air.r[i] = reading_at(i, mean_c + swing_c((i + 18) % 24) + off_c, 60);
    }
    return air;
}

/* Only the readings of the last `hours`. */
static void look(const struct shop_air *air, unsigned hours, struct outlook *ret)
{
    struct outlook_facts facts = {.readings = air->r + HOURS - hours, .count = hours + 1, .now_ms = NOW_MS};
    outlook_make(&facts, OUTLOOK_HOURS_MAX, ret);
}

static struct law law_at_20(enum humidity_rule rule, double min_temp_c, double max_rh_pct)
{
    struct law law;
    struct law_terms terms = {.side = SIDE_PLAIN, .rows = 1, .row = {{20.0, 1.0}}, .doubling_c = 10.0, .rule = rule,
                              .ref_rh_pct = 50.0, .min_temp_c = min_temp_c, .max_rh_pct = max_rh_pct};
    assert_int_equal(law_from_terms(&terms, &law, NULL), COAT_OK);
    return law;
}

static struct law plain_law(void)
{
    return law_at_20(HUMIDITY_SOLVENT, (double)NAN, (double)NAN);
}

static struct outlook_finish finish(const struct outlook *o, double hours_needed, double log_spread)
{
    struct law law = plain_law();
    outlook_grow(o, &law, &growth);
    return outlook_finish(&growth, (struct outlook_need){.whole = hours_needed, .log_spread = log_spread});
}

static double hours_from_now(int64_t at_ms)
{
    assert_true(at_ms != MOMENT_NONE);
    return (double)(at_ms - NOW_MS) / (double)MS_PER_H;
}

static double band_h(struct outlook_finish f)
{
    return hours_from_now(f.latest_ms) - hours_from_now(f.earliest_ms);
}

static void check_sane(const struct outlook *o)
{
    for (unsigned j = 0; j < o->members; j++)
        for (unsigned h = 0; h <= o->hours; h++) {
            assert_true(o->member[j].temp_c[h] >= -60.0 && o->member[j].temp_c[h] <= 100.0);
            assert_true(o->member[j].rh_pct[h] >= 1.0 && o->member[j].rh_pct[h] <= 100.0);
        }
}

/* ---- how much is known ---- */

static void test_without_readings_nothing_is_told(void **state)
{
    (void)state;
    struct outlook_facts facts = {.now_ms = NOW_MS};
    outlook_make(&facts, 48, &outlook);
    assert_int_equal(outlook.members, 0);
    struct outlook_finish f = finish(&outlook, 8, 0);
    assert_true(f.earliest_ms == MOMENT_NONE && f.likely_ms == MOMENT_NONE && f.latest_ms == MOMENT_NONE);
}

static void test_one_reading_gives_persistence_with_a_very_wide_band(void **state)
{
    (void)state;
    struct shop_air air = steady_air(18, 55);
    look(&air, 0, &outlook);
    assert_int_equal(outlook.members, OUTLOOK_MEMBERS);
    near("known days", outlook.known_days, 1 / 24.0, 1e-9);
    double lowest = 99, highest = -99;
    for (unsigned j = 0; j < OUTLOOK_MEMBERS; j++) {
        near("air now", outlook.member[j].temp_c[0], 18, 1e-9);
        lowest = fmin(lowest, outlook.member[j].temp_c[24]);
        highest = fmax(highest, outlook.member[j].temp_c[24]);
    }
    near("forecast in a day", outlook.central.temp_c[24], 18, 1e-9);
    near("forecast humidity in a day", outlook.central.rh_pct[24], 55, 1e-6);
    assert_true(lowest < 18 - 10 && lowest > 18 - 20);
    assert_true(highest > 18 + 10 && highest < 18 + 20);
    check_sane(&outlook);
}

static void test_a_reading_of_three_weeks_ago_still_says_something(void **state)
{
    (void)state;
    struct reading r = {NOW_MS - 21 * MS_PER_DAY, 12000, 70000, 7200};
    struct outlook_facts facts = {.readings = &r, .count = 1, .now_ms = NOW_MS};
    outlook_make(&facts, 24, &outlook);
    assert_int_equal(outlook.members, OUTLOOK_MEMBERS);
    near("known days", outlook.known_days, 0, 1e-12);
    near("forecast", outlook.central.temp_c[24], 12, 1e-9);
}

static void test_more_days_narrow_the_band(void **state)
{
    (void)state;
    static const unsigned days[] = {0, 1, 3, 7, 14};
    uint64_t seed = seed_start("more days narrow the band");
    double width[5] = {0};
    for (unsigned shop = 0; shop < 60; shop++) {
        struct shop_air air = wandering_air(&seed, 15);
        for (unsigned d = 0; d < 5; d++) {
            look(&air, days[d] * 24, &outlook);
            width[d] += band_h(finish(&outlook, 24, 0)) / 60;
        }
    }
    assert_true(width[0] > 1.2 * width[1]);
    assert_true(width[1] > 1.02 * width[3]);
    assert_true(width[1] > 1.1 * width[4]);
    assert_true(width[2] > 1.02 * width[4]);
}

static void test_the_same_readings_give_the_same_outlook(void **state)
{
    (void)state;
    uint64_t seed = seed_start("the same readings give the same outlook");
    struct shop_air air = wandering_air(&seed, 12);
    memset(&outlook, 0, sizeof outlook);
    memset(&other, 0, sizeof other);
    look(&air, HOURS, &outlook);
    look(&air, HOURS, &other);
    assert_memory_equal(&outlook, &other, sizeof outlook);
    look(&air, OUTLOOK_PAST_HOURS + 24, &other); /* what is older than 14 days is not looked at */
    assert_memory_equal(&outlook, &other, sizeof outlook);
}

/* ---- what is told ---- */

static void test_in_steady_air_the_coat_takes_its_steady_time(void **state)
{
    (void)state;
    struct shop_air air = steady_air(20, 50);
    look(&air, HOURS, &outlook);
    near("likely at 20 C", hours_from_now(finish(&outlook, 24, 0).likely_ms), 24, 0.7);
    near("forecast", outlook.central.temp_c[100], 20, 1e-9);
    near("forecast humidity", outlook.central.rh_pct[100], 50, 1e-6);
    air = steady_air(10, 50);
    look(&air, HOURS, &outlook);
    near("likely at 10 C", hours_from_now(finish(&outlook, 24, 0).likely_ms), 48, 1.5);
}

static void test_a_swing_seen_for_two_weeks_goes_on(void **state)
{
    (void)state;
    struct shop_air air = swinging_air(15);
    look(&air, HOURS, &outlook);
    for (unsigned h = 0; h <= 72; h++)
        near("forecast", outlook.central.temp_c[h], 15 + swing_c((18 + h) % 24), 0.2); /* smoothing takes 2 % of 4 C */
}

static void test_a_cold_day_fades_back_to_the_usual(void **state)
{
    (void)state;
    struct shop_air air = swinging_air(15);
    for (unsigned i = HOURS - 12; i <= HOURS; i++)
        air.r[i].temp_mc -= 6000;
    look(&air, HOURS, &outlook);
    double before = -99;
    for (unsigned h = 0; h <= 96; h += 24) {
        double off = outlook.central.temp_c[h] - (15 + swing_c(18));
        assert_true(off < 0 && off > before);
        before = off;
    }
    near("now", outlook.central.temp_c[0], 15 + swing_c(18) - 6, 1e-3);
    near("after four days", before, -1, 0.6);
}

static void test_humidity_follows_the_vapour_that_the_air_carries(void **state)
{
    (void)state;
    struct shop_air air;
    for (unsigned i = 0; i <= HOURS; i++) {
        double temp_c = 15 + swing_c((i + 18) % 24);
        double rh_pct = 100 * air_saturation_pa(8) / air_saturation_pa(temp_c); /* dew point 8 C all the time */
        air.r[i] = reading_at(i, temp_c, rh_pct);
    }
    look(&air, HOURS, &outlook);
    for (unsigned h = 0; h <= 48; h++)
        near("dew point", air_dew_point_c(outlook.central.temp_c[h], outlook.central.rh_pct[h]), 8, 0.15);
}

static void test_old_readings_count_for_less_than_fresh_ones(void **state)
{
    (void)state;
    uint64_t seed = seed_start("old readings count for less than fresh ones");
    struct shop_air air = wandering_air(&seed, 15);
    struct outlook_facts facts = {.readings = air.r, .count = HOURS + 1 - 48, .now_ms = NOW_MS};
    outlook_make(&facts, 48, &outlook);
    look(&air, HOURS, &other);
    double stale = 0, fresh = 0;
    for (unsigned j = 0; j < OUTLOOK_MEMBERS; j++) {
        stale += fabs(outlook.member[j].temp_c[0] - outlook.central.temp_c[0]);
        fresh += fabs(other.member[j].temp_c[0] - other.central.temp_c[0]);
    }
    near("members differ now, with a reading of now", fresh, 0, 1e-9);
    assert_true(stale / OUTLOOK_MEMBERS > 1.0); /* C, after two days without one */
}

static void test_readings_by_hand_twice_a_day_will_do(void **state)
{
    (void)state;
    struct shop_air all = swinging_air(15), few = {0};
    size_t n = 0;
    for (unsigned i = 0; i <= HOURS; i += 12)
        few.r[n++] = all.r[i];
    struct outlook_facts facts = {.readings = few.r, .count = n, .now_ms = NOW_MS};
    outlook_make(&facts, 48, &outlook);
    check_sane(&outlook);
    near("next evening", outlook.central.temp_c[24], 15 + swing_c(18), 1.5);
    near("next morning", outlook.central.temp_c[12], 15 + swing_c(6), 1.5);
}

static void test_any_few_readings_give_sane_air(void **state)
{
    (void)state;
    uint64_t seed = seed_start("any few readings give sane air");
    for (unsigned trial = 0; trial < 200; trial++) {
        struct reading r[40];
        int64_t at_ms = NOW_MS;
        size_t n = 1 + (size_t)seed_between(&seed, 0, 39.99);
        for (size_t i = n; i-- > 0; at_ms -= (int64_t)(pow(10, seed_between(&seed, 0, 8.5))))
            r[i] = (struct reading){at_ms, (int32_t)seed_between(&seed, -80000, 120000), (int32_t)seed_between(&seed, 0, 101000),
                                    (int32_t)seed_between(&seed, 900, 7200)};
        struct outlook_facts facts = {.readings = r, .count = n, .now_ms = NOW_MS + (int64_t)seed_between(&seed, 0, 1e9)};
        outlook_make(&facts, (unsigned)seed_between(&seed, 0, 300), &outlook);
        check_sane(&outlook);
    }
}

/* ---- the heater ---- */

struct heated_shop {
    struct shop_air air;
    bool past[OUTLOOK_PAST_HOURS];
    bool ahead[48];
};

/* An unheated shop at 6 C, but on every second evening from 18 to 22 the heater brings 12 C more. Now an evening without ends. */
static struct heated_shop shop_heated_every_second_evening(void)
{
    struct heated_shop shop = {.air = steady_air(6, 60)};
    for (unsigned k = 0; k < OUTLOOK_PAST_HOURS; k++) {
        int64_t end_ms = NOW_MS - (int64_t)k * MS_PER_H;
        unsigned hour = hour_of_day(end_ms);
        shop.past[k] = hour > 18 && hour <= 22 && moment_day(end_ms) % 2 == 1;
    }
    for (unsigned i = 1; i <= HOURS; i++) {
        unsigned k = HOURS - i;
        double warm_c = (shop.air.r[i - 1].temp_mc - 6000) / 1000.0;
        double heat = k < OUTLOOK_PAST_HOURS && shop.past[k] ? 12.0 : 0.0;
        warm_c += (heat - warm_c) * (1.0 - exp(-1.0 / 2.0)); /* the room follows within two hours */
        shop.air.r[i] = reading_at(i, 6 + warm_c, 60);
    }
    return shop;
}

static struct outlook_facts facts_of(const struct heated_shop *shop)
{
    return (struct outlook_facts){.readings = shop->air.r, .count = HOURS + 1, .now_ms = NOW_MS, .heated_past = shop->past,
                                  .heated_ahead = shop->ahead};
}

static void test_heated_evenings_are_learned_apart(void **state)
{
    (void)state;
    struct heated_shop shop = shop_heated_every_second_evening();
    struct outlook_facts facts = facts_of(&shop);
    outlook_make(&facts, 48, &outlook);
    near("a cold evening at 22", outlook.central.temp_c[4], 6, 1.0);
    for (unsigned h = 0; h < 4; h++)
        shop.ahead[h] = true;
    outlook_make(&facts, 48, &outlook);
    near("a heated evening at 22", outlook.central.temp_c[4], 6 + 12 * (1 - exp(-4.0 / 2.0)), 1.0);
    near("the morning after", outlook.central.temp_c[14], 6, 0.7);
    assert_true(outlook.central.temp_c[6] < outlook.central.temp_c[4]);
    assert_true(outlook.central.temp_c[6] > 7); /* it does not fall at once */
}

static void test_not_knowing_of_the_heater_makes_the_evening_uncertain(void **state)
{
    (void)state;
    struct heated_shop shop = shop_heated_every_second_evening();
    struct outlook_facts facts = facts_of(&shop);
    outlook_make(&facts, 48, &outlook);
    facts.heated_past = NULL;
    outlook_make(&facts, 48, &other);
    double told = 0, untold = 0;
    for (unsigned j = 0; j < OUTLOOK_MEMBERS; j++) {
        told += fabs(outlook.member[j].temp_c[4] - outlook.central.temp_c[4]);
        untold += fabs(other.member[j].temp_c[4] - other.central.temp_c[4]);
    }
    assert_true(told < 0.7 * untold);
}

/* ---- finishing moments ---- */

static void test_the_band_is_in_order_and_widens_with_the_material(void **state)
{
    (void)state;
    uint64_t seed = seed_start("the band is in order and widens with the material");
    for (unsigned trial = 0; trial < 20; trial++) {
        struct shop_air air = wandering_air(&seed, seed_between(&seed, -5, 30));
        look(&air, 24 * (trial % 15), &outlook);
        struct outlook_finish sure = finish(&outlook, 24, 0), unsure = finish(&outlook, 24, 0.3);
        assert_true(NOW_MS < sure.earliest_ms && sure.earliest_ms <= sure.likely_ms && sure.likely_ms <= sure.latest_ms);
        assert_true(unsure.earliest_ms <= unsure.likely_ms && unsure.likely_ms <= unsure.latest_ms);
        assert_true(unsure.earliest_ms < sure.earliest_ms && unsure.latest_ms > sure.latest_ms);
    }
}

static void test_a_known_material_in_known_air_spreads_as_it_is_told(void **state)
{
    (void)state;
    struct shop_air air = steady_air(20, 50);
    look(&air, HOURS, &outlook);
    for (unsigned j = 0; j < OUTLOOK_MEMBERS; j++) /* no doubt about the air */
        for (unsigned h = 0; h <= outlook.hours; h++)
            outlook.member[j].temp_c[h] = 20;
    struct outlook_finish f = finish(&outlook, 24, 0.3);
    near("likely", hours_from_now(f.likely_ms), 24, 0.01);
    near("earliest", hours_from_now(f.earliest_ms), 24 * exp(-1.2816 * 0.3), 1.5);
    near("latest", hours_from_now(f.latest_ms), 24 * exp(1.2816 * 0.3), 3);
}

static void test_what_has_grown_is_not_needed_again(void **state)
{
    (void)state;
    struct shop_air air = steady_air(20, 50);
    struct law law = plain_law();
    look(&air, HOURS, &outlook);
    outlook_grow(&outlook, &law, &growth);
    struct outlook_finish half = outlook_finish(&growth, (struct outlook_need){.whole = 24, .grown = 12});
    struct outlook_finish done = outlook_finish(&growth, (struct outlook_need){.whole = 24, .grown = 24});
    near("the other half", hours_from_now(half.likely_ms), 12, 0.4);
    assert_true(done.earliest_ms == NOW_MS && done.latest_ms == NOW_MS);
}

static void test_past_the_horizon_its_last_day_repeats(void **state)
{
    (void)state;
    struct shop_air air = swinging_air(10);
    struct law law = plain_law();
    look(&air, HOURS, &outlook);
    outlook_grow(&outlook, &law, &growth);
    const double *grown = growth.grown[7];
    double daily = grown[OUTLOOK_HOURS_MAX] - grown[OUTLOOK_HOURS_MAX - 24];
    int64_t inside = outlook_member_finish(&growth, 7, grown[OUTLOOK_HOURS_MAX - 10]);
    int64_t beyond = outlook_member_finish(&growth, 7, grown[OUTLOOK_HOURS_MAX - 10] + 5 * daily);
    near("inside the horizon", hours_from_now(inside), OUTLOOK_HOURS_MAX - 10, 1e-6);
    near("five days later", hours_from_now(beyond), OUTLOOK_HOURS_MAX - 10 + 5 * 24, 1e-5);
}

static void test_a_coat_that_the_air_holds_up_has_no_latest_moment(void **state)
{
    (void)state;
    struct shop_air air = steady_air(4, 50);
    struct law law = law_at_20(HUMIDITY_SOLVENT, 10, (double)NAN);
    look(&air, HOURS, &outlook);
    outlook_grow(&outlook, &law, &growth);
    struct outlook_finish f = outlook_finish(&growth, (struct outlook_need){.whole = 24});
    assert_true(f.likely_ms == MOMENT_NONE && f.latest_ms == MOMENT_NONE);
    assert_true(outlook_member_finish(&growth, OUTLOOK_MEMBERS, 1) == MOMENT_NONE); /* no such member */
    assert_true(outlook_member_finish(&growth, 0, (double)NAN) == MOMENT_NONE);
}

static void test_damp_nights_slow_water_borne_finishes(void **state)
{
    (void)state;
    struct shop_air dry = steady_air(20, 50), damp = steady_air(20, 75);
    struct law law = law_at_20(HUMIDITY_WATER, (double)NAN, (double)NAN);
    look(&dry, HOURS, &outlook);
    outlook_grow(&outlook, &law, &growth);
    double dry_h = hours_from_now(outlook_finish(&growth, (struct outlook_need){.whole = 24}).likely_ms);
    look(&damp, HOURS, &outlook);
    outlook_grow(&outlook, &law, &growth);
    double damp_h = hours_from_now(outlook_finish(&growth, (struct outlook_need){.whole = 24}).likely_ms);
    near("damp over dry", damp_h / dry_h, 2, 0.3); /* (1 - 0.5) / (1 - 0.75) */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_without_readings_nothing_is_told),
        cmocka_unit_test(test_one_reading_gives_persistence_with_a_very_wide_band),
        cmocka_unit_test(test_a_reading_of_three_weeks_ago_still_says_something),
        cmocka_unit_test(test_more_days_narrow_the_band),
        cmocka_unit_test(test_the_same_readings_give_the_same_outlook),
        cmocka_unit_test(test_in_steady_air_the_coat_takes_its_steady_time),
        cmocka_unit_test(test_a_swing_seen_for_two_weeks_goes_on),
        cmocka_unit_test(test_a_cold_day_fades_back_to_the_usual),
        cmocka_unit_test(test_humidity_follows_the_vapour_that_the_air_carries),
        cmocka_unit_test(test_old_readings_count_for_less_than_fresh_ones),
        cmocka_unit_test(test_readings_by_hand_twice_a_day_will_do),
        cmocka_unit_test(test_any_few_readings_give_sane_air),
        cmocka_unit_test(test_heated_evenings_are_learned_apart),
        cmocka_unit_test(test_not_knowing_of_the_heater_makes_the_evening_uncertain),
        cmocka_unit_test(test_the_band_is_in_order_and_widens_with_the_material),
        cmocka_unit_test(test_a_known_material_in_known_air_spreads_as_it_is_told),
        cmocka_unit_test(test_what_has_grown_is_not_needed_again),
        cmocka_unit_test(test_past_the_horizon_its_last_day_repeats),
        cmocka_unit_test(test_a_coat_that_the_air_holds_up_has_no_latest_moment),
        cmocka_unit_test(test_damp_nights_slow_water_borne_finishes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
