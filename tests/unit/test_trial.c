/* What tests at the bench say of a material's hours. */
#include "coat/trial.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

static void near(const char *what, double found, double expected, double tolerance)
{
    if (!(fabs(found - expected) <= tolerance))
        fail_msg("%s is %.6g, expected %.6g within %.3g", what, found, expected, tolerance);
}

/* Without a test the prior stands: median 1, and exp(+-1.28155 * 0.3) at 10 and 90 % (normal table, 90 % point). */
static void the_prior_alone(void **state)
{
    (void)state;
    struct trial_result r = trial_estimate(1.0, TRIAL_PRIOR_SPREAD, NULL, 0);
    near("k", r.k, 1.0, 0.003);
    near("low", r.k_low, exp(-1.28155 * 0.3), 0.003);
    near("high", r.k_high, exp(1.28155 * 0.3), 0.005);
    assert_int_equal(r.used, 0);
    assert_false(r.contradicted);
}

/* "Not yet at 1.2 of its hours, yes at 1.5": k lies between, and the band is that bracket, hardly more. */
static void a_bracket_holds_k(void **state)
{
    (void)state;
    const struct trial trials[] = {{1.2, false}, {1.5, true}};
    struct trial_result r = trial_estimate(1.0, TRIAL_PRIOR_SPREAD, trials, 2);
    assert_true(r.k > 1.2 && r.k < 1.5);
    assert_true(r.k_low > 1.05 && r.k_high < 1.65);
    assert_false(r.contradicted);
}

/* Against the same posterior worked out by a sum a hundred times finer. */
static double fine_median(const struct trial *trials, size_t count)
{
    double total = 0, sum = 0;
    for (int pass = 0; pass < 2; pass++)
        for (int i = 0; i <= 80000; i++) {
            double l = -2 + 4.0 * i / 80000, w = exp(-0.5 * l * l / 0.09);
            for (size_t k = 0; k < count; k++) {
                double p = 0.5 * erfc(-((log(trials[k].share) - l) / 0.1) * M_SQRT1_2);
                w *= trials[k].passed ? p : 1 - p;
            }
            if (pass == 0)
                total += w;
            else if ((sum += w) >= total / 2)
                return exp(l);
        }
    return 0;
}

static void the_grid_is_fine_enough(void **state)
{
    (void)state;
    const struct trial sets[][3] = {{{0.8, true}, {0.6, false}, {0.9, true}}, {{1.4, false}, {1.6, false}, {2.2, true}}, {{1, true}, {1, false}, {1, true}}};
    for (size_t i = 0; i < 3; i++)
        near("median", trial_estimate(1.0, 0.3, sets[i], 3).k, fine_median(sets[i], 3), 0.003);
}

static void a_later_failure_only_raises_k(void **state)
{
    (void)state;
    double last = 0;
    for (double share = 0.5; share < 2.5; share += 0.1) {
        const struct trial failed = {share, false};
        double k = trial_estimate(1.0, TRIAL_PRIOR_SPREAD, &failed, 1).k;
        assert_true(k > last && k >= 0.999);
        last = k;
    }
}

static void order_and_repeats_of_tests(void **state)
{
    (void)state;
    const struct trial a[] = {{1.1, false}, {1.4, true}, {1.2, false}}, b[] = {{1.2, false}, {1.1, false}, {1.4, true}};
    near("k in another order", trial_estimate(1, 0.3, a, 3).k, trial_estimate(1, 0.3, b, 3).k, 1e-12);
    assert_true(trial_estimate(1, 0.3, a, 3).k_high - trial_estimate(1, 0.3, a, 3).k_low <
                trial_estimate(1, 0.3, a, 2).k_high - trial_estimate(1, 0.3, a, 2).k_low);
}

/* Passed at 0.7 of the hours, failed at 1.3: no k does for both. Close calls are no contradiction. */
static void a_contradiction_is_pointed_out(void **state)
{
    (void)state;
    const struct trial clash[] = {{0.7, true}, {1.3, false}}, close_call[] = {{1.0, true}, {1.05, false}};
    assert_true(trial_estimate(1, 0.3, clash, 2).contradicted);
    assert_false(trial_estimate(1, 0.3, close_call, 2).contradicted);
}

static void nonsense_does_not_count(void **state)
{
    (void)state;
    const struct trial nonsense[] = {{0, false}, {-1, true}, {(double)INFINITY, false}, {(double)NAN, true}};
    struct trial_result r = trial_estimate(1, 0.3, nonsense, 4);
    assert_int_equal(r.used, 0);
    near("k", r.k, 1, 0.003);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_prior_alone),          cmocka_unit_test(a_bracket_holds_k),
        cmocka_unit_test(the_grid_is_fine_enough),  cmocka_unit_test(a_later_failure_only_raises_k),
        cmocka_unit_test(order_and_repeats_of_tests), cmocka_unit_test(a_contradiction_is_pointed_out),
        cmocka_unit_test(nonsense_does_not_count),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
