/* Given what the sensors of a place said, then this air: the first healthy one counts for each quantity. */
#include "coat/merge.h"
#include "coat/moment.h"
#include "tests/unit/seed.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#define NONE READING_NONE
#define AT(minutes) (INT64_C(1790000000000) + (int64_t)((minutes) * 60000.0))

static struct reading said(double minutes, int32_t temp_mc, int32_t rh_mp)
{
    return (struct reading){.at_ms = AT(minutes), .temp_mc = temp_mc, .rh_mp = rh_mp};
}

static void check_air(const struct reading *air, double minutes, int32_t temp_mc, int32_t rh_mp, double hold_min)
{
    assert_int_equal(air->at_ms, AT(minutes));
    assert_int_equal(air->temp_mc, temp_mc);
    assert_int_equal(air->rh_mp, rh_mp);
    assert_int_equal(air->hold_s, (int)(hold_min * 60));
}

/* Two sensors with a hold of 15 min each. */
static const struct merge_source two[] = {{.sensor_id = 1, .hold_s = 900}, {.sensor_id = 2, .hold_s = 900}};

static size_t merged(const struct reading *a, size_t a_count, const struct reading *b, size_t b_count, struct reading *ret)
{
    struct merge merge;
    merge_begin(&merge, two, 2);
    return merge_runs(&merge, (const struct reading *const[]){a, b}, (const size_t[]){a_count, b_count}, ret);
}

static void the_second_sensor_is_not_heard_while_the_first_is_healthy(void **state)
{
    const struct reading first[] = {said(0, 18000, 50000), said(5, 18100, 50100)}, second[] = {said(1, 25000, 70000), said(6, 25000, 70000)};
    struct reading air[4];
    (void)state;
    assert_int_equal(merged(first, 2, second, 2, air), 2);
    check_air(&air[0], 0, 18000, 50000, 15);
    check_air(&air[1], 5, 18100, 50100, 15);
}

static void the_second_sensor_takes_over_when_the_first_falls_silent_and_hands_back(void **state)
{
    const struct reading first[] = {said(0, 18000, 50000), said(60, 17000, 52000)};
    const struct reading second[] = {said(15, 25000, 70000), said(15.1, 24000, 71000), said(61, 23000, 72000)};
    struct reading air[5];
    (void)state;
    assert_int_equal(merged(first, 2, second, 3, air), 3);
    check_air(&air[0], 0, 18000, 50000, 15);
    check_air(&air[1], 15.1, 24000, 71000, 15); /* at 15 min the first still holds */
    check_air(&air[2], 60, 17000, 52000, 15);
}

static void a_thermometer_and_a_hygrometer_make_one_air(void **state)
{
    const struct reading temp[] = {said(0, 18000, NONE), said(10, 18500, NONE), said(20, 19000, NONE), said(40, 19500, NONE)};
    const struct reading rh[] = {said(5, NONE, 60000)};
    struct reading air[5];
    (void)state;
    assert_int_equal(merged(temp, 4, rh, 1, air), 5);
    check_air(&air[0], 0, 18000, NONE, 15);
    check_air(&air[1], 5, 18000, 60000, 10);  /* the temperature holds up to 15 */
    check_air(&air[2], 10, 18500, 60000, 10); /* the humidity up to 20 */
    check_air(&air[3], 20, 19000, 60000, 0);
    check_air(&air[4], 40, 19500, NONE, 15);
}

static void what_is_adjusted_is_so_from_its_moment_on(void **state)
{
    static const struct adjustment rh[] = {
        {.sensor_id = 1, .quantity = AIR_RH, .offset = 3.5, .from_at = AT(10)},
        {.sensor_id = 1, .quantity = AIR_RH, .offset = -2.0, .from_at = AT(20)}};
    const struct merge_source source = {.sensor_id = 1, .hold_s = 900, .adjustment = {[AIR_RH] = rh}, .adjustments = {[AIR_RH] = 2}};
    (void)state;
    assert_int_equal(merge_adjusted(&source, AIR_RH, 50000, AT(9)), 50000);
    assert_int_equal(merge_adjusted(&source, AIR_RH, 50000, AT(10)), 53500);
    assert_int_equal(merge_adjusted(&source, AIR_RH, 50000, AT(25)), 48000);
    assert_int_equal(merge_adjusted(&source, AIR_RH, 99000, AT(15)), 100000); /* never over 100 % */
    assert_int_equal(merge_adjusted(&source, AIR_TEMP, 18000, AT(15)), 18000);
    assert_int_equal(merge_adjusted(&source, AIR_RH, NONE, AT(15)), NONE);
}

static void of_one_moment_one_air_is_left(void **state)
{
    const struct reading temp[] = {said(0, 18000, NONE)}, rh[] = {said(0, NONE, 60000)};
    struct reading air[2];
    (void)state;
    assert_int_equal(merged(temp, 1, rh, 1, air), 1);
    check_air(&air[0], 0, 18000, 60000, 15);
}

/* Nothing of the air hangs on what comes later: added one by one it is the same as all at once. */
static void one_by_one_is_as_good_as_all_at_once(void **state)
{
    uint64_t seed = seed_start("one by one");
    (void)state;
    for (int round = 0; round < 300; round++) {
        struct reading run[2][40], all[80], grown[81];
        size_t count[2] = {1 + seed_next(&seed) % 40, 1 + seed_next(&seed) % 40}, done[2] = {0, 0}, made = 0;
        for (int s = 0; s < 2; s++)
            for (size_t i = 0; i < count[s]; i++) {
                double at = (i == 0 ? 0.0 : (double)(run[s][i - 1].at_ms - AT(0)) / 60000.0) + 1.0 + (double)(seed_next(&seed) % 30);
                bool no_temp = seed_next(&seed) % 4 == 0, no_rh = !no_temp && seed_next(&seed) % 4 == 0;
                run[s][i] = said(at, no_temp ? NONE : (int32_t)(seed_next(&seed) % 30000), no_rh ? NONE : (int32_t)(seed_next(&seed) % 100000));
            }
        size_t wanted = merged(run[0], count[0], run[1], count[1], all);
        struct merge merge;
        merge_begin(&merge, two, 2);
        while (done[0] < count[0] || done[1] < count[1]) {
            unsigned s = done[1] == count[1] || (done[0] < count[0] && run[0][done[0]].at_ms <= run[1][done[1]].at_ms) ? 0 : 1;
            if (!merge_reading(&merge, s, &run[s][done[s]++], &grown[made]))
                continue;
            if (made > 0 && grown[made - 1].at_ms == grown[made].at_ms)
                grown[made - 1] = grown[made]; /* the last of a moment stays */
            else
                made++;
        }
        assert_int_equal(made, wanted);
        for (size_t i = 0; i < made; i++) {
            assert_int_equal(grown[i].at_ms, all[i].at_ms);
            assert_int_equal(grown[i].temp_mc, all[i].temp_mc);
            assert_int_equal(grown[i].rh_mp, all[i].rh_mp);
            assert_int_equal(grown[i].hold_s, all[i].hold_s);
        }
    }
}

/* Property: at each moment that any sensor is healthy in a quantity, the value is that of the first such one. */
static void the_first_healthy_one_counts_whatever_they_say(void **state)
{
    uint64_t seed = seed_start("first healthy");
    (void)state;
    for (int round = 0; round < 300; round++) {
        struct merge merge;
        int32_t last[2] = {NONE, NONE};
        int64_t until[2] = {MOMENT_NONE, MOMENT_NONE};
        double minutes = 0;
        merge_begin(&merge, two, 2);
        for (int i = 0; i < 60; i++) {
            struct reading air;
            unsigned s = (unsigned)(seed_next(&seed) % 2);
            minutes += (double)(seed_next(&seed) % 20);
            struct reading r = said(minutes, (int32_t)(seed_next(&seed) % 30000), NONE);
            last[s] = r.temp_mc;
            until[s] = r.at_ms + 900000;
            bool counts = merge_reading(&merge, s, &r, &air);
            bool first_is_healthy = until[0] != MOMENT_NONE && until[0] >= r.at_ms;
            assert_int_equal(counts, s == 0 || !first_is_healthy);
            if (counts)
                assert_int_equal(air.temp_mc, last[s]);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_second_sensor_is_not_heard_while_the_first_is_healthy),
        cmocka_unit_test(the_second_sensor_takes_over_when_the_first_falls_silent_and_hands_back),
        cmocka_unit_test(a_thermometer_and_a_hygrometer_make_one_air),
        cmocka_unit_test(what_is_adjusted_is_so_from_its_moment_on),
        cmocka_unit_test(of_one_moment_one_air_is_left),
        cmocka_unit_test(one_by_one_is_as_good_as_all_at_once),
        cmocka_unit_test(the_first_healthy_one_counts_whatever_they_say),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
