/* How fast a coat moves: rows, humidity, limits, both safe sides. */
#include "coat/law.h"
#include "tests/unit/seed.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

static void near(const char *what, double found, double expected, double tolerance)
{
    if (!(fabs(found - expected) <= tolerance))
        fail_msg("%s is %.9g, expected %.9g within %.3g", what, found, expected, tolerance);
}

static struct law_terms terms_of(enum law_side side, unsigned rows, const struct cure_row *row)
{
    struct law_terms terms = {.side = side,
                              .rows = rows,
                              .doubling_c = 10.0,
                              .rule = HUMIDITY_SOLVENT,
                              .ref_rh_pct = 50.0,
                              .min_temp_c = (double)NAN,
                              .max_rh_pct = (double)NAN};
    for (unsigned i = 0; i < rows; i++)
        terms.row[i] = row[i];
    return terms;
}

static struct law law_of(const struct law_terms *terms)
{
    struct law law;
    struct coat_error error;
    if (law_from_terms(terms, &law, &error) != COAT_OK)
        fail_msg("%s", error.text);
    return law;
}

/* Hours to the boundary in steady air. */
static double hours_in(const struct law_terms *terms, double temp_c, double rh_pct)
{
    struct law law = law_of(terms);
    return terms->row[0].hours / law_rate(&law, temp_c, rh_pct, NULL);
}

static double fahrenheit(double temp_f)
{
    return (temp_f - 32) / 1.8;
}

/* UFGS 09971, table RECOAT WINDOWS, polyurethane over polyurethane, opening: from the middles of the first and the fifth band (65 F 8 h,
 * 105.5 F 2 h) the Arrhenius line gives 5.47, 3.87, 2.76 h at 24.2, 29.7, 35.3 C (worked out in the curing notes, 2.1) against 6, 4, 3
 * printed, within 10 %. */
static void test_polyurethane_recoat_between_two_published_rows(void **state)
{
    (void)state;
    struct law_terms terms = terms_of(SIDE_PLAIN, 2, (struct cure_row[]){{fahrenheit(65), 8}, {fahrenheit(105.5), 2}});
    const double at[][3] = {{fahrenheit(75.5), 5.47, 6}, {fahrenheit(85.5), 3.87, 4}, {fahrenheit(95.5), 2.76, 3}};
    for (size_t i = 0; i < 3; i++) {
        double hours = hours_in(&terms, at[i][0], 50);
        near("hours", hours, at[i][1], 0.01);
        near("hours against the printed row", hours, at[i][2], 0.1 * at[i][2]);
    }
    near("46.4 C, beyond the rows", hours_in(&terms, fahrenheit(115.5), 50), 1.46, 0.005);
}

/* Metal Finishing guidebook 2012-13, baked alkyds: 110 C 45 min to 176 C 10 min; fitted, 130 C takes 27.1 min (30 printed: J. Serb.
 * Chem. Soc. 70 (2005) 593). */
static void test_stoving_enamel_predicts_the_third_point(void **state)
{
    (void)state;
    struct law_terms terms = terms_of(SIDE_PLAIN, 2, (struct cure_row[]){{110, 0.75}, {176, 10.0 / 60}});
    near("minutes at 130 C", hours_in(&terms, 130, 50) * 60, 27.1, 0.05);
}

/* Airliner maintenance manual, textured two-component finish: full cure 168 h at room temperature (20 C) and 12 h at 60 C; handle is 8 h
 * at room temperature, and the fit gives 34 min at 60 C against 40 printed. */
static void test_structure_paint_fit_predicts_handle(void **state)
{
    (void)state;
    struct law_terms terms = terms_of(SIDE_PLAIN, 2, (struct cure_row[]){{20, 168}, {60, 12}});
    near("minutes", hours_in(&terms, 60, 50) / 168 * 8 * 60, 34.3, 0.05);
}

/* UFGS 09971 pot life: 4 h at 21 C, halves for each 10 C warmer, doubles for each 10 C colder. */
static void test_one_row_doubles_each_ten_degrees(void **state)
{
    (void)state;
    struct law_terms terms = terms_of(SIDE_PLAIN, 1, (struct cure_row[]){{21, 4}});
    near("31 C", hours_in(&terms, 31, 50), 2, 1e-9);
    near("11 C", hours_in(&terms, 11, 50), 8, 1e-9);
    near("21 C", hours_in(&terms, 21, 50), 4, 1e-9);
}

static void test_openings_err_late(void **state)
{
    (void)state;
    struct law_terms opening = terms_of(SIDE_OPENING, 1, (struct cure_row[]){{23, 16}});
    near("warmer than its row it is no shorter", hours_in(&opening, 35, 50), 16, 1e-9);
    near("colder", hours_in(&opening, 13, 50), 32, 1e-9);
    /* Rows with a slope gentler than the class default: below the coldest row the default counts, being the steeper. */
    struct law_terms gentle = terms_of(SIDE_OPENING, 2, (struct cure_row[]){{15, 10}, {25, 8}});
    near("below the coldest row", hours_in(&gentle, 5, 50), 20, 1e-9);
    struct law_terms steep = terms_of(SIDE_OPENING, 2, (struct cure_row[]){{15, 40}, {25, 8}});
    assert_true(hours_in(&steep, 5, 50) > 200);
}

static void test_closings_err_early(void **state)
{
    (void)state;
    struct law_terms closing = terms_of(SIDE_CLOSING, 1, (struct cure_row[]){{23, 8}});
    near("colder than its row it is no longer", hours_in(&closing, 3, 50), 8, 1e-9);
    near("warmer it keeps shortening", hours_in(&closing, 33, 50), 4, 1e-9);
    closing.min_temp_c = 10;
    closing.max_rh_pct = 85;
    near("it runs on where the cure stalls", hours_in(&closing, 3, 95), 8, 1e-9);
}

static void test_too_cold_and_too_damp_stall_an_opening(void **state)
{
    (void)state;
    enum stall stall = STALL_NONE;
    struct law_terms terms = terms_of(SIDE_OPENING, 1, (struct cure_row[]){{23, 16}});
    terms.min_temp_c = 10;
    terms.max_rh_pct = 85;
    struct law law = law_of(&terms);
    assert_true(law_rate(&law, 10.0, 85.0, &stall) > 0);
    assert_int_equal(stall, STALL_NONE);
    assert_true(law_rate(&law, 9.9, 50.0, &stall) == 0);
    assert_int_equal(stall, STALL_COLD);
    assert_true(law_rate(&law, 20.0, 85.1, &stall) == 0);
    assert_int_equal(stall, STALL_DAMP);
    assert_true(law_rate(&law, (double)NAN, 50.0, &stall) == 0);
    assert_int_equal(stall, STALL_AIR_UNKNOWN);
}

static void test_humidity_factors(void **state)
{
    (void)state;
    near("evaporation at 75 %", law_humidity_factor(HUMIDITY_WATER, 50, 20, 75), 2, 1e-12);
    near("evaporation at 25 %", law_humidity_factor(HUMIDITY_WATER, 50, 20, 25), 1 / 1.5, 1e-12);
    near("evaporation at 100 % is clamped", law_humidity_factor(HUMIDITY_WATER, 50, 20, 100), 5, 1e-12);
    near("an oil at 80 %", law_humidity_factor(HUMIDITY_OXIDISING, 50, 20, 80), 1.3, 1e-12);
    near("an oil in dry air", law_humidity_factor(HUMIDITY_OXIDISING, 50, 20, 20), 1, 1e-12);
    near("an epoxy in damp air", law_humidity_factor(HUMIDITY_SOLVENT, 50, 20, 95), 1, 1e-12);
    near("moisture-curing in half the water", law_humidity_factor(HUMIDITY_MOISTURE, 50, 20, 25), 2, 1e-9);
}

static void test_damp_only_slows_an_opening_and_only_hurries_a_closing(void **state)
{
    (void)state;
    for (enum law_side side = SIDE_OPENING; side <= SIDE_CLOSING; side++) {
        struct law_terms terms = terms_of(side, 1, (struct cure_row[]){{20, 10}});
        terms.rule = HUMIDITY_WATER;
        double dry = hours_in(&terms, 20, 20), damp = hours_in(&terms, 20, 75);
        near("dry", dry, side == SIDE_OPENING ? 10 : 6.25, 1e-9);
        near("damp", damp, side == SIDE_OPENING ? 20 : 10, 1e-9);
    }
}

static void test_film(void **state)
{
    (void)state;
    near("1.4 times heavy, solvent diffuses", law_film_factor(SIDE_OPENING, 1.4, 1, 2), 1.96, 1e-12);
    near("light never counts as a gain", law_film_factor(SIDE_OPENING, 0.7, 1, 2), 1, 1e-12);
    near("heavy does not keep a window open", law_film_factor(SIDE_CLOSING, 1.4, 1, 2), 1, 1e-12);
    near("light closes sooner", law_film_factor(SIDE_CLOSING, 0.7, 1, 1), 0.7, 1e-12);
    near("plain", law_film_factor(SIDE_PLAIN, 50, 25, 1), 2, 1e-12);
    near("unknown", law_film_factor(SIDE_PLAIN, (double)NAN, 25, 2), 1, 1e-12);
    near("opening needs", law_hours_needed(SIDE_OPENING, 16, 1.96, 0.9), 31.36, 1e-9);
    near("closing needs", law_hours_needed(SIDE_CLOSING, 8, 0.7, 1.2), 5.6, 1e-9);
}

/* Energies of a doubling, worked out in the curing notes 2.1 and 3: 46.9 kJ/mol is Q10 1.85 around 29.6 C. */
static void test_energy_of_a_doubling(void **state)
{
    (void)state;
    double doubling_c = 10 * log(2) / log(1.85);
    near("kJ/mol", law_energy_of_doubling(doubling_c, 29.55), 46.9, 0.2);
}

static void test_bad_tables_are_refused(void **state)
{
    (void)state;
    struct law law;
    struct coat_error error;
    struct law_terms none = terms_of(SIDE_OPENING, 0, NULL);
    assert_int_equal(law_from_terms(&none, &law, &error), COAT_BAD_VALUE);
    struct law_terms falling = terms_of(SIDE_OPENING, 2, (struct cure_row[]){{20, 4}, {10, 8}});
    assert_int_equal(law_from_terms(&falling, &law, &error), COAT_BAD_VALUE);
    assert_non_null(strstr(error.text, "row 2"));
    struct law_terms zero = terms_of(SIDE_OPENING, 1, (struct cure_row[]){{20, 0}});
    assert_int_equal(law_from_terms(&zero, &law, &error), COAT_BAD_VALUE);
    struct law_terms nan_hours = terms_of(SIDE_OPENING, 1, (struct cure_row[]){{20, (double)NAN}});
    assert_int_equal(law_from_terms(&nan_hours, &law, &error), COAT_BAD_VALUE);
}

static void test_laws_of_one_shape_are_one(void **state)
{
    (void)state;
    struct law_terms a = terms_of(SIDE_OPENING, 2, (struct cure_row[]){{10, 12}, {20, 6}});
    struct law_terms b = terms_of(SIDE_OPENING, 2, (struct cure_row[]){{10, 4.4}, {20, 2.2}});
    struct law_terms c = terms_of(SIDE_OPENING, 2, (struct cure_row[]){{10, 12}, {20, 5}});
    struct law_terms d = a;
    d.min_temp_c = 5;
    struct law la = law_of(&a), lb = law_of(&b), lc = law_of(&c), ld = law_of(&d);
    assert_true(law_equal(&la, &lb));
    assert_false(law_equal(&la, &lc));
    assert_false(law_equal(&la, &ld));
}

/* ---- integrals ---- */

static struct law_terms random_terms(uint64_t *seed)
{
    struct law_terms terms = {.side = (enum law_side)(seed_next(seed) % 3),
                              .rows = (unsigned)(1 + seed_next(seed) % 3),
                              .doubling_c = seed_between(seed, 6, 15),
                              .rule = (enum humidity_rule)(seed_next(seed) % HUMIDITY_RULE_COUNT),
                              .ref_rh_pct = 50,
                              .min_temp_c = seed_next(seed) % 2 ? seed_between(seed, 2, 16) : (double)NAN,
                              .max_rh_pct = seed_next(seed) % 2 ? seed_between(seed, 60, 90) : (double)NAN};
    double temp = seed_between(seed, 0, 15), hours = seed_between(seed, 1, 100);
    for (unsigned i = 0; i < terms.rows; i++) {
        terms.row[i] = (struct cure_row){temp, hours};
        temp += seed_between(seed, 3, 15);
        hours *= seed_between(seed, 0.3, 0.95);
    }
    return terms;
}

struct stretch {
    double hours, t0, t1, h0, h1;
};

static struct stretch random_stretch(uint64_t *seed)
{
    struct stretch s = {seed_between(seed, 0.01, 3), seed_between(seed, -5, 40), 0, seed_between(seed, 10, 99), 0};
    s.t1 = seed_next(seed) % 3 ? s.t0 + seed_between(seed, -12, 12) : s.t0;
    s.h1 = seed_next(seed) % 3 ? fmin(fmax(s.h0 + seed_between(seed, -40, 40), 0), 100) : s.h0;
    return s;
}

/* The promise of the header, 1e-4, against a midpoint sum so fine that its own error is below 1e-6. */
static void test_integrals_against_a_fine_sum(void **state)
{
    (void)state;
    uint64_t seed = seed_start("integrals against a fine sum");
    for (int i = 0; i < 400; i++) {
        struct law_terms terms = random_terms(&seed);
        struct law law = law_of(&terms);
        struct stretch s = random_stretch(&seed);
        const int steps = 40000;
        double sum = 0, fastest = 0;
        for (int k = 0; k < steps; k++) {
            double x = (k + 0.5) / steps, rate = law_rate(&law, s.t0 + (s.t1 - s.t0) * x, s.h0 + (s.h1 - s.h0) * x, NULL);
            sum += rate;
            fastest = fmax(fastest, rate);
        }
        double expected = sum / steps * s.hours;
        double found = law_integrate(&law, s.hours, s.t0, s.t1, s.h0, s.h1);
        /* a jump at a limit is caught by the sum to one step only */
        if (fabs(found - expected) > 1e-4 * expected + 3.0 * s.hours / steps * fastest)
            fail_msg("case %d, rule %s: integral is %.9g, expected %.9g (%g h, %g to %g C, %g to %g %%)", i,
                     humidity_rule_word(terms.rule), found, expected, s.hours, s.t0, s.t1, s.h0, s.h1);
    }
}

static void test_solving_undoes_integrating(void **state)
{
    (void)state;
    uint64_t seed = seed_start("solving undoes integrating");
    for (int i = 0; i < 2000; i++) {
        struct law_terms terms = random_terms(&seed);
        struct law law = law_of(&terms);
        struct stretch s = random_stretch(&seed);
        double whole = law_integrate(&law, s.hours, s.t0, s.t1, s.h0, s.h1);
        if (whole <= 0)
            continue;
        double goal = whole * seed_between(&seed, 0.01, 1);
        double at = law_solve(&law, s.hours, s.t0, s.t1, s.h0, s.h1, goal), x = at / s.hours;
        double grown = law_integrate(&law, at, s.t0, s.t0 + (s.t1 - s.t0) * x, s.h0, s.h0 + (s.h1 - s.h0) * x);
        assert_true(at > 0 && at <= s.hours);
        near("growth at the solved moment", grown, goal, 3e-4 * whole + 1e-9);
        assert_true(grown >= goal - 1e-12); /* never early */
    }
}

/* Colder, damper air never brings an opening forward; warmer, damper air never puts a closing off; and the sides bracket plain
 * arithmetic. */
static void test_safe_sides_in_random_air(void **state)
{
    (void)state;
    uint64_t seed = seed_start("safe sides in random air");
    for (int i = 0; i < 20000; i++) {
        struct law_terms terms = random_terms(&seed);
        if (terms.rule == HUMIDITY_MOISTURE)
            continue; /* damp air helps it: its direction is its own */
        double temp = seed_between(&seed, -10, 45), rh = seed_between(&seed, 5, 99);
        double colder = temp - seed_between(&seed, 0, 10), damper = fmin(rh + seed_between(&seed, 0, 30), 100);
        terms.side = SIDE_OPENING;
        struct law opening = law_of(&terms);
        assert_true(law_rate(&opening, colder, damper, NULL) <= law_rate(&opening, temp, rh, NULL) * (1 + 1e-12));
        terms.side = SIDE_CLOSING;
        struct law closing = law_of(&terms);
        assert_true(law_rate(&closing, colder, damper, NULL) <= law_rate(&closing, temp, rh, NULL) * (1 + 1e-12));
        terms.side = SIDE_PLAIN;
        struct law plain = law_of(&terms);
        assert_true(law_rate(&opening, temp, rh, NULL) <= law_rate(&plain, temp, rh, NULL) * (1 + 1e-12));
        assert_true(law_rate(&closing, temp, rh, NULL) >= law_rate(&plain, temp, rh, NULL) * (1 - 1e-12));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_polyurethane_recoat_between_two_published_rows),
        cmocka_unit_test(test_stoving_enamel_predicts_the_third_point),
        cmocka_unit_test(test_structure_paint_fit_predicts_handle),
        cmocka_unit_test(test_one_row_doubles_each_ten_degrees),
        cmocka_unit_test(test_openings_err_late),
        cmocka_unit_test(test_closings_err_early),
        cmocka_unit_test(test_too_cold_and_too_damp_stall_an_opening),
        cmocka_unit_test(test_humidity_factors),
        cmocka_unit_test(test_damp_only_slows_an_opening_and_only_hurries_a_closing),
        cmocka_unit_test(test_film),
        cmocka_unit_test(test_energy_of_a_doubling),
        cmocka_unit_test(test_bad_tables_are_refused),
        cmocka_unit_test(test_laws_of_one_shape_are_one),
        cmocka_unit_test(test_integrals_against_a_fine_sum),
        cmocka_unit_test(test_solving_undoes_integrating),
        cmocka_unit_test(test_safe_sides_in_random_air),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
