/* Moist air: against published values, and what must hold for any air. */
#include "coat/air.h"
#include "tests/unit/seed.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

#define ROUNDS 20000
#define TABLE_TOLERANCE_C 0.35 /* the printed table is rounded and up to 0.3 C off the formulas */

static void near(const char *what, double found, double expected, double tolerance)
{
    if (!(fabs(found - expected) <= tolerance))
        fail_msg("%s is %.6g, expected %.6g within %.3g", what, found, expected, tolerance);
}

static struct air_properties properties(double temp_c, double rh_pct)
{
    struct air_properties found;
    struct air_state air = {temp_c, rh_pct, AIR_STANDARD_PRESSURE_PA};
    assert_int_equal(air_properties_at(air, &found), COAT_OK);
    return found;
}

/* ASHRAE Handbook, Fundamentals, chapter 1, table 3 (thermodynamic properties of water at saturation), from memory; as
 * printed to five figures. */
static void test_saturation_over_water_is_the_handbooks(void **state)
{
    (void)state;
    static const struct {
        double temp_c, pressure_pa;
    } rows[] = {{0.01, 611.7}, {5.0, 872.6}, {10.0, 1228.0}, {15.0, 1705.7}, {20.0, 2338.9}, {25.0, 3169.3},
                {30.0, 4246.0}, {40.0, 7383.8}, {50.0, 12351.3}, {100.0, 101418.0}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        near("saturation pressure", air_saturation_pa(rows[i].temp_c), rows[i].pressure_pa, rows[i].pressure_pa * 3e-4);
}

/* The same table over ice, from memory: air with that vapour pressure has its frost point there. */
static void test_frost_point_is_the_handbooks(void **state)
{
    (void)state;
    static const struct {
        double temp_c, pressure_pa;
    } rows[] = {{-40.0, 12.85}, {-30.0, 38.02}, {-20.0, 103.26}, {-10.0, 259.90}, {-5.0, 401.76}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct air_properties found = properties(20.0, 100.0 * rows[i].pressure_pa / air_saturation_pa(20.0));
        near("vapour pressure", found.vapour_pressure_pa, rows[i].pressure_pa, 1e-6 * rows[i].pressure_pa);
        near("frost point", found.frost_point_c, rows[i].temp_c, 0.01);
        assert_true(found.frost_point_c > found.dew_point_c);
    }
}

/* The handbook's worked example (chapter 1, example 1, from memory): 40 C dry bulb and 20 C wet bulb hold 6.5 g/kg, dew
 * point 7 C, 14 %. */
static void test_the_handbooks_worked_example(void **state)
{
    (void)state;
    struct air_properties found = properties(40.0, 14.0);
    near("wet bulb", found.wet_bulb_c, 20.0, 0.2);
    near("dew point", found.dew_point_c, 7.0, 0.5);
    near("humidity ratio", found.humidity_ratio, 0.0065, 0.0001);
}

/* 17.3 g/m3 at 20 C saturated is the figure of every hygrometry table (from memory). */
static void test_absolute_humidity(void **state)
{
    (void)state;
    near("absolute humidity", air_abs_humidity_g_m3(20.0, 100.0), 17.29, 0.02);
    near("absolute humidity", air_abs_humidity_g_m3(20.0, 50.0), 8.64, 0.02);
    near("absolute humidity", air_abs_humidity_g_m3(0.0, 100.0), 4.85, 0.01);
}

static void test_a_published_dew_point_table(void **state)
{
    (void)state;
    const char *folder = getenv("COAT_REFERENCE");
    char path[512], line[256];
    snprintf(path, sizeof path, "%s/dew_points.csv", folder != NULL ? folder : "tests/reference");
    FILE *file = fopen(path, "r");
    if (file == NULL)
        fail_msg("cannot open %s (COAT_REFERENCE names its folder)", path);
    int rows = 0;
    while (fgets(line, sizeof line, file) != NULL) {
        double temp_c, rh_pct, dew_c;
        if (sscanf(line, "%lf,%lf,%lf", &temp_c, &rh_pct, &dew_c) != 3)
            continue;
        near(line, air_dew_point_c(temp_c, rh_pct), dew_c, TABLE_TOLERANCE_C);
        rows++;
    }
    fclose(file);
    assert_int_equal(rows, 171);
}

/* The definition, not the solver: at the dew point the same vapour saturates. */
static void test_vapour_saturates_at_the_dew_point(void **state)
{
    (void)state;
    uint64_t seed = seed_start("vapour saturates at the dew point");
    for (int i = 0; i < ROUNDS; i++) {
        double temp_c = seed_between(&seed, -40.0, 90.0);
        double rh_pct = seed_between(&seed, 20.0, 100.0);
        double dew_c = air_dew_point_c(temp_c, rh_pct);
        double vapour_pa = air_saturation_pa(temp_c) * rh_pct / 100.0;
        near("pressure at the dew point", air_saturation_pa(dew_c), vapour_pa, vapour_pa * 1e-9);
    }
}

static void test_wet_bulb_lies_between_dew_point_and_air(void **state)
{
    (void)state;
    uint64_t seed = seed_start("wet bulb lies between");
    for (int i = 0; i < ROUNDS; i++) {
        double temp_c = seed_between(&seed, -60.0, 80.0);
        struct air_properties found = properties(temp_c, seed_between(&seed, 0.1, 100.0));
        if (!(found.dew_point_c <= found.wet_bulb_c + 1e-6 && found.wet_bulb_c <= temp_c + 1e-6))
            fail_msg("at %.6g C: dew point %.6g, wet bulb %.6g", temp_c, found.dew_point_c, found.wet_bulb_c);
        assert_true(isnan(found.frost_point_c) == (found.dew_point_c > 0.01));
    }
}

static void test_damper_air_has_higher_dew_point_and_wet_bulb(void **state)
{
    (void)state;
    for (double temp_c = -40.0; temp_c <= 60.0; temp_c += 2.5) {
        struct air_properties before = properties(temp_c, 0.1);
        for (double rh_pct = 0.2; rh_pct <= 100.0; rh_pct += 0.1) {
            struct air_properties now = properties(temp_c, rh_pct);
            bool rises = now.dew_point_c > before.dew_point_c && now.wet_bulb_c >= before.wet_bulb_c - 1e-9 &&
                         now.abs_humidity_g_m3 > before.abs_humidity_g_m3;
            if (!rises)
                fail_msg("at %.4g C %.4g %%: dew point %.9g after %.9g, wet bulb %.9g after %.9g", temp_c, rh_pct,
                         now.dew_point_c, before.dew_point_c, now.wet_bulb_c, before.wet_bulb_c);
            before = now;
        }
    }
}

static void test_saturated_air_is_at_its_dew_point(void **state)
{
    (void)state;
    for (double temp_c = 0.5; temp_c <= 95.0; temp_c += 0.5) {
        struct air_properties found = properties(temp_c, 100.0);
        near("dew point", found.dew_point_c, temp_c, 1e-9);
        near("wet bulb", found.wet_bulb_c, temp_c, 1e-6);
    }
}

static void test_thin_air_cools_the_wick_more(void **state)
{
    (void)state;
    struct air_properties sea, hill;
    assert_int_equal(air_properties_at((struct air_state){25.0, 40.0, 101325.0}, &sea), COAT_OK);
    assert_int_equal(air_properties_at((struct air_state){25.0, 40.0, 80000.0}, &hill), COAT_OK);
    assert_true(hill.wet_bulb_c < sea.wet_bulb_c && hill.humidity_ratio > sea.humidity_ratio);
    assert_true(hill.dew_point_c == sea.dew_point_c);
}

static void test_what_the_formulas_were_not_made_for(void **state)
{
    (void)state;
    static const struct air_state airs[] = {
        {-60.1, 50.0, 101325.0}, {100.1, 50.0, 101325.0}, {20.0, 0.05, 101325.0},
        {20.0, 100.1, 101325.0}, {20.0, -5.0, 101325.0},  {20.0, 50.0, 59000.0},
        {20.0, 50.0, 111000.0},  {100.0, 100.0, 101325.0} /* boils */};
    struct air_properties untouched, found;
    memset(&untouched, 0x5A, sizeof untouched);
    memset(&found, 0x5A, sizeof found);
    for (size_t i = 0; i < sizeof airs / sizeof *airs; i++)
        assert_int_equal(air_properties_at(airs[i], &found), COAT_OUT_OF_RANGE);
    double nan_value = (double)NAN;
    assert_int_equal(air_properties_at((struct air_state){nan_value, 50.0, 101325.0}, &found), COAT_OUT_OF_RANGE);
    assert_int_equal(air_properties_at((struct air_state){20.0, nan_value, 101325.0}, &found), COAT_OUT_OF_RANGE);
    assert_int_equal(air_properties_at((struct air_state){20.0, 50.0, nan_value}, &found), COAT_OUT_OF_RANGE);
    assert_memory_equal(&found, &untouched, sizeof found);
    assert_true(isnan(air_dew_point_c(20.0, 0.0)) && isnan(air_saturation_pa(101.0)) &&
                isnan(air_abs_humidity_g_m3(nan_value, 50.0)));
}

static void test_a_surface_near_the_dew_point_may_not_be_coated(void **state)
{
    (void)state;
    assert_true(air_surface_is_clear_of_dew(13.0, 10.0));
    assert_false(air_surface_is_clear_of_dew(12.9, 10.0));
    assert_false(air_surface_is_clear_of_dew((double)NAN, 10.0));
    assert_false(air_surface_is_clear_of_dew(12.0, (double)NAN));
}

static void test_the_short_dew_point_is_as_near_as_it_says(void **state)
{
    (void)state;
    double most = 0.0;
    for (double temp_c = -40.0; temp_c <= 60.0; temp_c += 0.5)
        for (double rh_pct = 5.0; rh_pct <= 100.0; rh_pct += 0.5)
            most = fmax(most, fabs(air_dew_point_about_c(temp_c, rh_pct) - air_dew_point_c(temp_c, rh_pct)));
    assert_true(most < AIR_DEW_POINT_ABOUT_C);
    assert_true(isnan(air_dew_point_about_c(61.0, 50.0)) && isnan(air_dew_point_about_c(20.0, 4.0)));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_saturation_over_water_is_the_handbooks),
        cmocka_unit_test(test_frost_point_is_the_handbooks),
        cmocka_unit_test(test_the_handbooks_worked_example),
        cmocka_unit_test(test_absolute_humidity),
        cmocka_unit_test(test_the_short_dew_point_is_as_near_as_it_says),
        cmocka_unit_test(test_a_published_dew_point_table),
        cmocka_unit_test(test_vapour_saturates_at_the_dew_point),
        cmocka_unit_test(test_wet_bulb_lies_between_dew_point_and_air),
        cmocka_unit_test(test_damper_air_has_higher_dew_point_and_wet_bulb),
        cmocka_unit_test(test_saturated_air_is_at_its_dew_point),
        cmocka_unit_test(test_thin_air_cools_the_wick_more),
        cmocka_unit_test(test_what_the_formulas_were_not_made_for),
        cmocka_unit_test(test_a_surface_near_the_dew_point_may_not_be_coated),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
