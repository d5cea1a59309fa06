/* Shop time: the wall clock and clocks of their own. */
#include "coat/clock.h"
#include "coat/moment.h"

#include <stdarg.h>
#include <setjmp.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <time.h>
#include <cmocka.h>

#define START_MS INT64_C(1795852800000) /* 2026-11-28T08:00:00Z */

static struct coat_clock parse(const char *text)
{
    struct coat_clock clock = {0};
    struct coat_error error = {0};
    if (clock_test_parse(text, &clock, &error) != COAT_OK)
        fail_msg("%s", error.text);
    return clock;
}

static void a_start_alone_stands_still(void **state)
{
    (void)state;
    struct coat_clock clock = parse("2026-11-28T08:00:00Z");
    assert_true(clock.test);
    assert_int_equal(clock_shop_ms(&clock), START_MS);
    (void)nanosleep(&(struct timespec){.tv_nsec = 5000000}, NULL);
    assert_int_equal(clock_shop_ms(&clock), START_MS);
    assert_int_equal(clock_real_wait_ms(&clock, START_MS + 1), -1);
    assert_int_equal(clock_real_wait_ms(&clock, START_MS), 0);
}

static void it_moves_on_but_never_back(void **state)
{
    (void)state;
    struct coat_clock clock = parse("2026-11-28T09:00:00+01:00");
    clock_test_move(&clock, START_MS + 5 * MS_PER_H);
    assert_int_equal(clock_shop_ms(&clock), START_MS + 5 * MS_PER_H);
    clock_test_move(&clock, START_MS);
    assert_int_equal(clock_shop_ms(&clock), START_MS + 5 * MS_PER_H);
}

static void a_rate_runs_it(void **state)
{
    (void)state;
    struct coat_clock clock = parse("2026-11-28T08:00:00Z,3600");
    int64_t before_ms = clock_real_ms();
    (void)nanosleep(&(struct timespec){.tv_nsec = 20000000}, NULL);
    int64_t passed_ms = clock_shop_ms(&clock) - START_MS;
    assert_true(passed_ms >= 18 * 3600 && passed_ms <= (clock_real_ms() - before_ms + 5) * 3600);
    int64_t wait_ms = clock_real_wait_ms(&clock, clock_shop_ms(&clock) + MS_PER_H);
    assert_true(wait_ms > 900 && wait_ms <= 1000);
    assert_true(clock_real_wait_ms(&clock, INT64_C(32503679999000)) <= MS_PER_DAY); /* far off: looks again within a day */
}

static void the_wall_clock_is_the_systems(void **state)
{
    (void)state;
    struct coat_clock clock = clock_wall();
    int64_t low_ms = (int64_t)time(NULL) * 1000;
    int64_t now_ms = clock_shop_ms(&clock);
    assert_true(now_ms >= low_ms - 1000 && now_ms <= low_ms + 2000);
    clock_test_move(&clock, now_ms + MS_PER_DAY);
    assert_true(clock_shop_ms(&clock) < now_ms + MS_PER_H);
    int64_t wait_ms = clock_real_wait_ms(&clock, now_ms + 5000);
    assert_true(wait_ms > 3000 && wait_ms <= 5000);
}

static void bad_starts_and_rates_are_told(void **state)
{
    (void)state;
    static const char *const bad[] = {
        "", ",60", "yesterday", "2026-11-28", "2026-11-28T08:00:00", "2026-11-28T08:00:00Z,", "2026-11-28T08:00:00Z,-1",
        "2026-11-28T08:00:00Z,fast", "2026-11-28T08:00:00Z,100001", "2026-11-28T08:00:00Z,1e3", "2026-11-28T08:00:00Z,nan",
        "2026-11-28T08:00:00Z,1.2.3", "2026-11-28T08:00:00Z,60,60", "2026-11-28T08:00:00Z ",
        "2026-11-28T08:00:00.0000000000000000000000000000000000000000000000000000000000Z",
    };
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        struct coat_clock clock = {.start_ms = 7};
        struct coat_error error = {0};
        assert_int_not_equal(clock_test_parse(bad[i], &clock, &error), COAT_OK);
        assert_true(strlen(error.text) > 10);
        assert_int_equal(clock.start_ms, 7);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_start_alone_stands_still), cmocka_unit_test(it_moves_on_but_never_back),
        cmocka_unit_test(a_rate_runs_it),             cmocka_unit_test(the_wall_clock_is_the_systems),
        cmocka_unit_test(bad_starts_and_rates_are_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
