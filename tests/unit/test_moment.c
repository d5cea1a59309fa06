/* Moments: RFC 3339 text, days and the calendar. */
#include "coat/moment.h"
#include "tests/unit/seed.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

#define ROUNDS 20000
#define LAST_MS INT64_C(32503679999999) /* 2999-12-31T23:59:59.999Z */

static void reads(const char *text, int64_t expected_ms)
{
    int64_t at_ms = 7;
    struct coat_error error = {0};
    if (moment_parse(text, &at_ms, &error) != COAT_OK)
        fail_msg("\"%s\" was refused: %s", text, error.text);
    if (at_ms != expected_ms)
        fail_msg("\"%s\" was read as %lld, expected %lld", text, (long long)at_ms, (long long)expected_ms);
}

static void refuses(const char *text, const char *words)
{
    int64_t at_ms = 7;
    struct coat_error error = {0};
    if (moment_parse(text, &at_ms, &error) != COAT_BAD_VALUE)
        fail_msg("\"%s\" was read as %lld, expected a refusal", text, (long long)at_ms);
    if (strstr(error.text, words) == NULL)
        fail_msg("\"%s\" was refused with: %s\nexpected it to say: %s", text, error.text, words);
    assert_int_equal(at_ms, 7);
    assert_int_equal(moment_parse(text, &at_ms, NULL), COAT_BAD_VALUE);
}

/* Counts known from elsewhere: date -u -d TEXT +%s. */
static void test_moments_are_read_with_any_offset(void **state)
{
    (void)state;
    reads("1970-01-01T00:00:00Z", 0);
    reads("2026-11-28T14:35:00Z", INT64_C(1795876500000));
    reads("2026-11-28t14:35:00z", INT64_C(1795876500000));
    reads("2026-11-28 15:35:00+01:00", INT64_C(1795876500000));
    reads("2026-11-28T09:05:00-05:30", INT64_C(1795876500000));
    reads("2026-11-29T04:20:00+13:45", INT64_C(1795876500000));
    reads("2026-11-28T14:35:00-00:00", INT64_C(1795876500000));
    reads("2000-02-29T12:00:00Z", INT64_C(951825600000));
    reads("2024-02-29T23:59:59Z", INT64_C(1709251199000));
    reads("2100-03-01T00:00:00Z", INT64_C(4107542400000));
    reads("2999-12-31T23:59:59.999Z", LAST_MS);
}

static void test_fractions_are_kept_to_the_millisecond(void **state)
{
    (void)state;
    reads("1970-01-01T00:00:01.5Z", 1500);
    reads("1970-01-01T00:00:01.25Z", 1250);
    reads("1970-01-01T00:00:01.007Z", 1007);
    reads("1970-01-01T00:00:01.0079999999999999Z", 1007);
    reads("1970-01-01T01:00:01.001+01:00", 1001);
}

static void test_bad_forms_are_refused(void **state)
{
    (void)state;
    static const char *const no_date[] = {
        "",           "yesterday",            "2026",                 "2026-11-28",           "26-11-28T14:35:00Z",
        "2026-13-01T00:00:00Z", "2026-00-01T00:00:00Z", "2026-11-31T00:00:00Z", "2026-11-00T00:00:00Z",
        "2026-02-29T00:00:00Z", "2100-02-29T00:00:00Z", "2026-11-28T24:00:00Z", "2026-11-28T14:60:00Z",
        "2026-11-28T14:35:60Z", "2026-11-28T14:35Z",    "2026-1-28T14:35:00Z",  "2026/11/28T14:35:00Z",
        "2026-11-28T14.35.00Z", "2026-11-28T14:35:00.Z", " 2026-11-28T14:35:00Z", "-026-11-28T14:35:00Z",
        "2026-11-28_14:35:00Z", "+2026-11-28T14:35:00Z"};
    for (size_t i = 0; i < sizeof no_date / sizeof *no_date; i++)
        refuses(no_date[i], "is no date and time");
    static const char *const no_zone[] = {"2026-11-28T14:35:00Zulu",    "2026-11-28T14:35:00Z ",
                                          "2026-11-28T14:35:00+1:00",   "2026-11-28T14:35:00+0100",
                                          "2026-11-28T14:35:00+24:00",  "2026-11-28T14:35:00+01:60",
                                          "2026-11-28T14:35:00 +01:00", "2026-11-28T14:35:00CET"};
    for (size_t i = 0; i < sizeof no_zone / sizeof *no_zone; i++)
        refuses(no_zone[i], "is no zone");
    refuses("2026-11-28T14:35:00", "does not say its zone");
    refuses("2026-11-28 14:35:00.250", "does not say its zone");
}

static void test_only_the_years_of_a_shop(void **state)
{
    (void)state;
    refuses("1969-12-31T23:59:59Z", "outside the years");
    refuses("3000-01-01T00:00:00Z", "outside the years");
    refuses("1970-01-01T00:00:00+01:00", "outside the years");
    reads("1969-12-31T23:30:00-01:00", 1800000);
    refuses("9999-12-31T23:59:59-23:59", "outside the years");
    refuses("0000-01-01T00:00:00Z", "outside the years");
}

static void test_moments_are_written_in_utc(void **state)
{
    (void)state;
    char text[MOMENT_TEXT_SIZE];
    assert_string_equal(moment_print(INT64_C(1795876500000), text), "2026-11-28T14:35:00Z");
    assert_string_equal(moment_print(INT64_C(1795876500250), text), "2026-11-28T14:35:00.250Z");
    assert_string_equal(moment_print(-1, text), "1969-12-31T23:59:59.999Z");
    assert_string_equal(moment_print(MOMENT_NONE, text), "none");
    assert_true(strlen(moment_print(INT64_MIN + 1, text)) < MOMENT_TEXT_SIZE);
    assert_true(strlen(moment_print(INT64_MAX, text)) < MOMENT_TEXT_SIZE);
}

static void test_days_round_down(void **state)
{
    (void)state;
    assert_int_equal(moment_day(0), 0);
    assert_int_equal(moment_day(MS_PER_DAY - 1), 0);
    assert_int_equal(moment_day(MS_PER_DAY), 1);
    assert_int_equal(moment_day(-1), -1);
    assert_int_equal(moment_day(-MS_PER_DAY), -1);
    assert_int_equal(moment_day(-MS_PER_DAY - 1), -2);
    assert_int_equal(moment_day_start(-2), -2 * MS_PER_DAY);
    assert_int_equal(moment_day_start(moment_day(MOMENT_NONE)), INT64_MIN);
}

static void is_date(int64_t at_ms, int year, int month, int day, int weekday)
{
    struct civil_time civil = moment_civil(at_ms);
    assert_int_equal(civil.year, year);
    assert_int_equal(civil.month, month);
    assert_int_equal(civil.day, day);
    assert_int_equal(civil.weekday, weekday);
}

static void test_the_calendar_knows_its_leap_years(void **state)
{
    (void)state;
    is_date(0, 1970, 1, 1, 4);
    is_date(-1, 1969, 12, 31, 3);
    is_date(INT64_C(1795876500000), 2026, 11, 28, 6);
    is_date(INT64_C(951825600000), 2000, 2, 29, 2);
    is_date(INT64_C(4107456000000), 2100, 2, 28, 0); /* no leap year: the next day is 1 March */
    is_date(INT64_C(4107542400000), 2100, 3, 1, 1);
}

/* A second way to count: month by month from 1970. */
static void test_every_day_follows_the_one_before(void **state)
{
    (void)state;
    int year = 1970, month = 1, day = 1, weekday = 4;
    for (int64_t n = 0; n * MS_PER_DAY <= LAST_MS; n++) {
        static const int length[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
        is_date(n * MS_PER_DAY, year, month, day, weekday);
        bool leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
        weekday = (weekday + 1) % 7;
        if (++day > length[month - 1] + (month == 2 && leap ? 1 : 0)) {
            day = 1;
            month++;
        }
        if (month > 12) {
            month = 1;
            year++;
        }
    }
    assert_int_equal(year, 3000);
}

static void test_text_and_calendar_come_back(void **state)
{
    (void)state;
    uint64_t seed = seed_start("text and calendar come back");
    for (int i = 0; i < ROUNDS; i++) {
        int64_t at_ms = (int64_t)(seed_next(&seed) % (uint64_t)(LAST_MS + 1));
        char text[MOMENT_TEXT_SIZE];
        reads(moment_print(at_ms, text), at_ms);
        int64_t any_ms = at_ms - LAST_MS / 2; /* also before 1970 */
        int64_t ms = ((any_ms % MS_PER_S) + MS_PER_S) % MS_PER_S;
        assert_int_equal(moment_from_civil(moment_civil(any_ms)), any_ms - ms);
    }
}

static void test_never_comes_after_every_moment(void **state)
{
    (void)state;
    assert_int_equal(moment_sooner(3, 7), 3);
    assert_int_equal(moment_sooner(7, MOMENT_NONE), 7);
    assert_int_equal(moment_sooner(MOMENT_NONE, 7), 7);
    assert_true(moment_sooner(MOMENT_NONE, MOMENT_NONE) == MOMENT_NONE);
    assert_int_equal(moment_sooner_after(9, 5, 4), 5);
    assert_int_equal(moment_sooner_after(9, 4, 4), 9); /* it is now */
    assert_int_equal(moment_sooner_after(9, MOMENT_NONE, 4), 9);
    assert_int_equal(moment_sooner_after(MOMENT_NONE, 5, 4), 5);
    assert_true(moment_sooner_after(MOMENT_NONE, 4, 4) == MOMENT_NONE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_moments_are_read_with_any_offset),
        cmocka_unit_test(test_fractions_are_kept_to_the_millisecond),
        cmocka_unit_test(test_bad_forms_are_refused),
        cmocka_unit_test(test_only_the_years_of_a_shop),
        cmocka_unit_test(test_moments_are_written_in_utc),
        cmocka_unit_test(test_days_round_down),
        cmocka_unit_test(test_the_calendar_knows_its_leap_years),
        cmocka_unit_test(test_every_day_follows_the_one_before),
        cmocka_unit_test(test_text_and_calendar_come_back),
        cmocka_unit_test(test_never_comes_after_every_moment),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
