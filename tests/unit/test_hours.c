/* Quiet hours, mornings and what is told before them, also on the nights when clocks are put on or back. Dates of the European Union's summer time:
 * Directive 2000/84/EC, articles 2 and 3 (01:00 UTC on the last Sundays of March and October). */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "coat/hours.h"
#include "coat/moment.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Central European time, 2026: summer time from 29 March to 25 October, 01:00 UTC. */
static int64_t vienna(const char *zone, int64_t at_ms)
{
    int64_t from, to;
    assert_string_equal(zone, "Europe/Vienna");
    assert_int_equal(moment_parse("2026-03-29T01:00:00Z", &from, NULL), COAT_OK);
    assert_int_equal(moment_parse("2026-10-25T01:00:00Z", &to, NULL), COAT_OK);
    return at_ms >= from && at_ms < to ? 2 * MS_PER_H : MS_PER_H;
}

static const struct local_zone zone = {"Europe/Vienna", vienna};
static const struct local_zone utc = {"UTC", NULL};
static const struct day_hours night = {22 * 60, 7 * 60}, none = {0, 0}, noon = {12 * 60, 13 * 60};

static int64_t at(const char *text)
{
    int64_t ms;
    assert_int_equal(moment_parse(text, &ms, NULL), COAT_OK);
    return ms;
}

static void is_at(int64_t found, const char *text)
{
    char shown[MOMENT_TEXT_SIZE];
    if (found != at(text))
        fail_msg("%s, expected %s", moment_print(found, shown), text);
}

static void the_minute_of_the_day_is_the_shops(void **state)
{
    (void)state;
    assert_int_equal(local_minute(&utc, at("2026-11-28T22:30:59.999Z")), 22 * 60 + 30);
    assert_int_equal(local_minute(&zone, at("2026-11-28T22:30:00Z")), 23 * 60 + 30);
    assert_int_equal(local_minute(&zone, at("2026-07-01T22:30:00Z")), 30); /* the next day there */
}

static void the_next_seven_o_clock(void **state)
{
    (void)state;
    is_at(local_next(&zone, 420, at("2026-11-28T05:59:59Z")), "2026-11-28T06:00:00Z");
    is_at(local_next(&zone, 420, at("2026-11-28T06:00:00Z")), "2026-11-29T06:00:00Z"); /* after, not at */
    is_at(local_next(&zone, 0, at("2026-11-28T22:59:59Z")), "2026-11-28T23:00:00Z");
    is_at(local_next(&utc, 1439, at("2026-12-31T23:59:00Z")), "2027-01-01T23:59:00Z");
}

static void clocks_that_are_put_on_skip_no_morning(void **state)
{
    (void)state;
    is_at(local_next(&zone, 420, at("2026-03-28T12:00:00Z")), "2026-03-29T05:00:00Z"); /* an hour sooner than the day before */
    is_at(local_next(&zone, 150, at("2026-03-28T12:00:00Z")), "2026-03-29T01:30:00Z"); /* 02:30 is skipped: 03:30 */
}

static void clocks_that_are_put_back_give_each_minute_twice_and_each_morning_once(void **state)
{
    (void)state;
    is_at(local_next(&zone, 150, at("2026-10-24T12:00:00Z")), "2026-10-25T00:30:00Z");
    is_at(local_next(&zone, 150, at("2026-10-25T00:30:00Z")), "2026-10-25T01:30:00Z");
    is_at(local_next(&zone, 150, at("2026-10-25T01:30:00Z")), "2026-10-26T01:30:00Z");
    is_at(local_next(&zone, 420, at("2026-10-24T12:00:00Z")), "2026-10-25T06:00:00Z");
}

static void hours_go_over_midnight(void **state)
{
    (void)state;
    assert_true(hours_hold(&zone, night, at("2026-11-28T21:00:00Z")));
    assert_true(hours_hold(&zone, night, at("2026-11-29T05:59:59Z")));
    assert_false(hours_hold(&zone, night, at("2026-11-29T06:00:00Z")));
    assert_false(hours_hold(&zone, night, at("2026-11-28T20:59:59Z")));
    assert_true(hours_hold(&zone, noon, at("2026-11-28T11:00:00Z")));
    assert_false(hours_hold(&zone, noon, at("2026-11-28T12:00:00Z")));
    assert_false(hours_hold(&zone, none, at("2026-11-28T00:00:00Z")));
    is_at(hours_end(&zone, night, at("2026-11-28T21:30:00Z")), "2026-11-29T06:00:00Z");
    is_at(hours_end(&zone, night, at("2026-11-28T12:00:00Z")), "2026-11-28T12:00:00Z");
}

/* Quiet from 22 to 7 (21 to 6 UTC), told an hour ahead. */
static void a_closing_in_the_night_is_told_before_it(void **state)
{
    (void)state;
    is_at(closing_told_at(&zone, night, MS_PER_H, at("2026-11-28T18:00:00Z")), "2026-11-28T17:00:00Z"); /* by day: as ever */
    is_at(closing_told_at(&zone, night, MS_PER_H, at("2026-11-29T01:00:00Z")), "2026-11-28T20:00:00Z"); /* in the night */
    is_at(closing_told_at(&zone, night, MS_PER_H, at("2026-11-28T21:30:00Z")), "2026-11-28T20:00:00Z"); /* just after it begins */
    is_at(closing_told_at(&zone, night, MS_PER_H, at("2026-11-29T06:30:00Z")), "2026-11-28T20:00:00Z"); /* its hour ahead falls into it */
    is_at(closing_told_at(&zone, night, MS_PER_H, at("2026-11-29T07:00:00Z")), "2026-11-29T06:00:00Z"); /* just after it: as ever */
    is_at(closing_told_at(&zone, none, MS_PER_H, at("2026-11-29T01:00:00Z")), "2026-11-29T00:00:00Z");
}

/* Whatever the moment and the lead: never told later than the lead, never in quiet hours where the lead is shorter than the day between them, and with the lead
 * left before quiet hours. */
static void told_in_time_and_never_in_quiet_hours(void **state)
{
    (void)state;
    const char *given = getenv("COAT_SEED");
    unsigned seed = given ? (unsigned)strtoul(given, NULL, 10) : 8262;
    print_message("# closings at random: COAT_SEED=%u\n", seed);
    srand(seed);
    for (int i = 0; i < 20000; i++) {
        int64_t closes = at("2026-01-01T00:00:00Z") + (int64_t)(rand() % (365 * 24 * 60)) * MS_PER_MIN;
        int64_t lead = rand() % 300 * MS_PER_MIN;
        struct day_hours quiet = {rand() % 1440, rand() % 1440};
        int length = (quiet.to_min - quiet.from_min + 1440) % 1440;
        int64_t told = closing_told_at(&zone, quiet, lead, closes);
        assert_true(told <= closes - lead);
        assert_true(told > closes - 2 * lead - 26 * MS_PER_H);
        int64_t ahead = lead > QUIET_AHEAD_LEAST_MS ? lead : QUIET_AHEAD_LEAST_MS;
        if (told < closes - lead)
            assert_true(quiet_evening_next(&zone, quiet, lead, told - 1) == told || hours_hold(&zone, quiet, told + ahead));
        if (length + 300 + 120 < 1440 && hours_hold(&zone, quiet, told))
            fail_msg("told in quiet hours: %d to %d, lead %lld min", quiet.from_min, quiet.to_min, (long long)(lead / MS_PER_MIN));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_minute_of_the_day_is_the_shops),
        cmocka_unit_test(the_next_seven_o_clock),
        cmocka_unit_test(clocks_that_are_put_on_skip_no_morning),
        cmocka_unit_test(clocks_that_are_put_back_give_each_minute_twice_and_each_morning_once),
        cmocka_unit_test(hours_go_over_midnight),
        cmocka_unit_test(a_closing_in_the_night_is_told_before_it),
        cmocka_unit_test(told_in_time_and_never_in_quiet_hours),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
