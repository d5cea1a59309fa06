/* A casting that follows the air around it. */
#include "coat/warm.h"
#include "tests/unit/seed.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

static void near(const char *what, double found, double expected, double tolerance)
{
    if (!(fabs(found - expected) <= tolerance))
        fail_msg("%s is %.9g, expected %.9g within %.3g", what, found, expected, tolerance);
}

/* By hand: 12 kg * 460 J/(kg K) / (10 W/(m2 K) * 0.5 m2) = 1104 s. */
static void test_a_mill_body_by_mass_and_area(void **state)
{
    (void)state;
    double minutes = 0.0;
    assert_int_equal(warm_time_constant_from_area(12.0, 0.5, METAL_IRON, 10.0, &minutes), COAT_OK);
    near("time constant", minutes, 18.4, 1e-9);
}

/* By hand: 7200 kg/m3 * 0.004 m * 460 J/(kg K) / 10 W/(m2 K) = 1324.8 s. */
static void test_an_ornate_casting_by_its_wall(void **state)
{
    (void)state;
    double wall_min = 0.0, plate_min = 0.0;
    assert_int_equal(warm_time_constant_from_wall(8.0, METAL_IRON, 10.0, &wall_min), COAT_OK);
    near("time constant", wall_min, 22.08, 1e-9);
    /* a plate of that wall, 1 m2 a side, weighed and measured instead */
    assert_int_equal(warm_time_constant_from_area(7200.0 * 0.008, 2.0, METAL_IRON, 10.0, &plate_min), COAT_OK);
    near("time constant of the plate", plate_min, wall_min, 1e-9);
}

/* After one time constant 1/e of the difference is left; after ln 15 of them 1 C of 15 C. */
static void test_from_a_cold_shed_into_a_warm_room(void **state)
{
    (void)state;
    double minutes = 0.0;
    near("after one time constant", warm_temp_after(20.0, 5.0, 20.0, 20.0), 20.0 - 15.0 * 0.36787944117, 1e-9);
    assert_int_equal(warm_time_to(20.0, 5.0, 20.0, 19.0, &minutes), COAT_OK);
    near("time to 19 C", minutes, 20.0 * 2.70805020110, 1e-8);
}

static void test_the_way_there_and_back(void **state)
{
    (void)state;
    uint64_t seed = seed_start("the way there and back");
    for (int i = 0; i < 5000; i++) {
        double constant_min = seed_between(&seed, 1.0, 300.0);
        double start_c = seed_between(&seed, -20.0, 200.0);
        double air_c = seed_between(&seed, -20.0, 200.0);
        double to_c = start_c + (air_c - start_c) * seed_between(&seed, 0.05, 0.95);
        double minutes = 0.0;
        assert_int_equal(warm_time_to(constant_min, start_c, air_c, to_c, &minutes), COAT_OK);
        assert_true(minutes > 0.0);
        near("temperature then", warm_temp_after(constant_min, start_c, air_c, minutes), to_c, 1e-8);
    }
}

static void test_it_never_gets_past_the_air(void **state)
{
    (void)state;
    double minutes = 7.0;
    assert_int_equal(warm_time_to(20.0, 5.0, 20.0, 20.0, &minutes), COAT_OUT_OF_RANGE);
    assert_int_equal(warm_time_to(20.0, 5.0, 20.0, 25.0, &minutes), COAT_OUT_OF_RANGE);
    assert_int_equal(warm_time_to(20.0, 5.0, 20.0, 5.0, &minutes), COAT_OUT_OF_RANGE);
    assert_int_equal(warm_time_to(20.0, 20.0, 5.0, 25.0, &minutes), COAT_OUT_OF_RANGE);
    assert_int_equal(warm_time_to(0.0, 5.0, 20.0, 10.0, &minutes), COAT_OUT_OF_RANGE);
    assert_int_equal(warm_time_to(20.0, (double)NAN, 20.0, 10.0, &minutes), COAT_OUT_OF_RANGE);
    assert_true(minutes == 7.0);
}

static void test_what_is_not_above_zero(void **state)
{
    (void)state;
    double minutes = 7.0;
    static const double bad[] = {0.0, -1.0, (double)INFINITY, (double)NAN};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        assert_int_equal(warm_time_constant_from_area(bad[i], 0.5, METAL_IRON, 10.0, &minutes), COAT_OUT_OF_RANGE);
        assert_int_equal(warm_time_constant_from_area(12.0, bad[i], METAL_IRON, 10.0, &minutes), COAT_OUT_OF_RANGE);
        assert_int_equal(warm_time_constant_from_area(12.0, 0.5, METAL_IRON, bad[i], &minutes), COAT_OUT_OF_RANGE);
        assert_int_equal(warm_time_constant_from_wall(bad[i], METAL_IRON, 10.0, &minutes), COAT_OUT_OF_RANGE);
        assert_int_equal(warm_time_constant_from_wall(8.0, METAL_IRON, bad[i], &minutes), COAT_OUT_OF_RANGE);
    }
    assert_int_equal(warm_time_constant_from_wall(8.0, METAL_COUNT, 10.0, &minutes), COAT_OUT_OF_RANGE);
    assert_true(minutes == 7.0);
}

static void test_every_metal_has_its_figures(void **state)
{
    (void)state;
    static const char *const words[METAL_COUNT] = {"iron", "steel", "aluminium", "brass"};
    for (unsigned i = 0; i < METAL_COUNT; i++) {
        assert_string_equal(metal_word((enum metal)i), words[i]);
        /* a cubic metre of any engineering metal takes 2 to 4 MJ a degree (rule of thumb) */
        double mj_m3_k = metal_density_kg_m3((enum metal)i) * metal_heat_capacity_j_kg_k((enum metal)i) / 1e6;
        assert_true(mj_m3_k > 2.0 && mj_m3_k < 4.0);
    }
    assert_string_equal(metal_word(METAL_COUNT), "?");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_a_mill_body_by_mass_and_area),
        cmocka_unit_test(test_an_ornate_casting_by_its_wall),
        cmocka_unit_test(test_from_a_cold_shed_into_a_warm_room),
        cmocka_unit_test(test_the_way_there_and_back),
        cmocka_unit_test(test_it_never_gets_past_the_air),
        cmocka_unit_test(test_what_is_not_above_zero),
        cmocka_unit_test(test_every_metal_has_its_figures),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
