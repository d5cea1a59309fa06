/* Given a time as a person at the bench says it, then this moment; in a zone that changes its clocks. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "cli/when.h"

#include <stdlib.h>
#include <string.h>

static int64_t at(const char *text)
{
    int64_t at_ms = 0;
    assert_int_equal(moment_parse(text, &at_ms, NULL), COAT_OK);
    return at_ms;
}

static void hold(const char *now, const char *said, const char *meant)
{
    struct coat_error error = {0};
    int64_t at_ms = MOMENT_NONE;
    char read[MOMENT_TEXT_SIZE];
    if (when_parse(said, at(now), &at_ms, &error) != COAT_OK)
        fail_msg("\"%s\" at %s was refused: %s", said, now, error.text);
    if (at_ms != at(meant))
        fail_msg("\"%s\" at %s: expected %s, got %s", said, now, meant, moment_print(at_ms, read));
}

static void refuse(const char *now, const char *said, const char *because)
{
    struct coat_error error = {0};
    int64_t at_ms = 12345;
    assert_int_equal(when_parse(said, at(now), &at_ms, &error), COAT_BAD_VALUE);
    assert_int_equal(at_ms, 12345);
    if (strstr(error.text, because) == NULL)
        fail_msg("\"%s\": expected \"%s\" in \"%s\"", said, because, error.text);
}

#define SATURDAY "2026-11-28T14:35:00+01:00"

static void a_clock_time_is_the_latest_one_past(void **state)
{
    (void)state;
    hold(SATURDAY, "14:30", "2026-11-28T14:30:00+01:00");
    hold(SATURDAY, "14:35", "2026-11-28T14:35:00+01:00");
    hold(SATURDAY, "14:36", "2026-11-27T14:36:00+01:00");
    hold(SATURDAY, "0:05", "2026-11-28T00:05:00+01:00");
    hold(SATURDAY, "  9:07:30 ", "2026-11-28T09:07:30+01:00");
    hold("2026-11-28T00:10:00+01:00", "23:50", "2026-11-27T23:50:00+01:00");
}

static void an_age_counts_back_from_now(void **state)
{
    (void)state;
    hold(SATURDAY, "20 min ago", "2026-11-28T14:15:00+01:00");
    hold(SATURDAY, "1h30min ago", "2026-11-28T13:05:00+01:00");
    hold(SATURDAY, "2d ago", "2026-11-26T14:35:00+01:00");
    hold(SATURDAY, "now", SATURDAY);
    refuse(SATURDAY, "20 ago", "20");
    refuse(SATURDAY, "ago", "missing");
    refuse(SATURDAY, "-5 min ago", "not possible");
    refuse(SATURDAY, "900000d ago", "is no time");
}

static void a_named_day_is_the_last_one(void **state)
{
    (void)state;
    hold(SATURDAY, "yesterday 18:00", "2026-11-27T18:00:00+01:00");
    hold(SATURDAY, "today 9:00", "2026-11-28T09:00:00+01:00");
    hold(SATURDAY, "Tue 18:00", "2026-11-24T18:00:00+01:00");
    hold(SATURDAY, "tuesday 18:00", "2026-11-24T18:00:00+01:00");
    hold(SATURDAY, "Sat 14:00", "2026-11-28T14:00:00+01:00");
    hold(SATURDAY, "Sat 15:00", "2026-11-21T15:00:00+01:00");
    refuse(SATURDAY, "today 18:00", "still to come");
    refuse(SATURDAY, "tomorrow 9:00", "is no time");
}

static void a_date_is_read_in_the_zone_of_the_shop(void **state)
{
    (void)state;
    hold(SATURDAY, "2026-11-25 18:00", "2026-11-25T18:00:00+01:00");
    hold(SATURDAY, "2026-11-25T18:00", "2026-11-25T18:00:00+01:00");
    hold(SATURDAY, "2026-07-01 18:00", "2026-07-01T18:00:00+02:00");
    hold(SATURDAY, "2026-11-25T18:00:00Z", "2026-11-25T19:00:00+01:00");
    hold(SATURDAY, "2026-11-25 18:00:00-05:00", "2026-11-25T23:00:00Z");
    refuse(SATURDAY, "2026-02-30 18:00", "is no time");
    refuse(SATURDAY, "2026-12-25 18:00", "still to come (it is Sat 28 Nov 14:35)");
    refuse(SATURDAY, "2026-12-25T18:00:00Z", "still to come");
}

static void what_cannot_be_read_is_said_back_with_what_would_do(void **state)
{
    (void)state;
    static const char *const said[] = {"",      "14",       "25:00",        "14:60", "14:3",   "1430",
                                       "14:30pm", "yestrday 18:00", "Tu 18:00", "Tue",   "18:00 Tue", "14:30:61"};
    for (size_t i = 0; i < sizeof said / sizeof *said; i++)
        refuse(SATURDAY, said[i], "write 14:30");
    refuse(SATURDAY, "a time that nobody could possibly have meant to be read as a time at all", "write 14:30");
}

/* In Vienna the clocks went from 02:00 to 03:00 on 29 March 2026, and from 03:00 to 02:00 on 25 October. */
static void an_hour_that_was_left_out_is_asked_back(void **state)
{
    (void)state;
    refuse("2026-03-29T12:00:00+02:00", "02:30", "left out");
    refuse("2026-04-02T12:00:00+02:00", "2026-03-29 02:00", "left out");
    hold("2026-03-29T12:00:00+02:00", "03:00", "2026-03-29T03:00:00+02:00");
    hold("2026-03-29T12:00:00+02:00", "01:59", "2026-03-29T01:59:00+01:00");
    hold("2026-03-29T12:00:00+02:00", "yesterday 02:30", "2026-03-28T02:30:00+01:00");
}

static void an_hour_that_came_twice_is_asked_back_unless_one_is_past(void **state)
{
    (void)state;
    refuse("2026-10-25T12:00:00+01:00", "02:30", "2026-10-25T02:30:00+02:00 for the first or 2026-10-25T02:30:00+01:00");
    hold("2026-10-25T02:40:00+02:00", "02:30", "2026-10-25T02:30:00+02:00");
    hold("2026-10-25T12:00:00+01:00", "03:00", "2026-10-25T03:00:00+01:00");
    hold("2026-10-25T12:00:00+01:00", "01:59", "2026-10-25T01:59:00+02:00");
    hold("2026-10-25T12:00:00+01:00", "11 h ago", "2026-10-25T02:00:00+02:00");
}

static void shows(const char *moment, const char *expected)
{
    char text[WHEN_TEXT_SIZE];
    assert_string_equal(when_print(at(moment), at(SATURDAY), text), expected);
}

static void near_moments_are_shown_short(void **state)
{
    (void)state;
    char text[WHEN_TEXT_SIZE];
    shows("2026-11-28T15:10:00+01:00", "15:10");
    shows("2026-11-28T00:00:00+01:00", "00:00");
    shows("2026-11-27T23:59:00+01:00", "Fri 23:59");
    shows("2026-11-30T14:05:00+01:00", "Mon 14:05");
    shows("2026-12-03T14:05:00+01:00", "Thu 14:05");
    shows("2026-12-04T14:05:00+01:00", "4 Dec 14:05");
    shows("2027-01-12T14:05:00+01:00", "12 Jan 14:05");
    shows("2025-01-12T14:05:00+01:00", "12 Jan 2025 14:05");
    assert_string_equal(when_print(MOMENT_NONE, at(SATURDAY), text), "not known");
    assert_string_equal(when_print_full(at(SATURDAY), text), "Sat 28 Nov 14:35");
}

static void a_zone_that_nobody_knows_is_utc(void **state)
{
    (void)state;
    char text[WHEN_TEXT_SIZE];
    assert_false(when_set_zone("Mars/Crater"));
    assert_string_equal(when_print_full(at(SATURDAY), text), "Sat 28 Nov 13:35");
    assert_false(when_set_zone("../../etc/passwd"));
    assert_false(when_set_zone(""));
    assert_true(when_set_zone("UTC"));
    assert_true(when_set_zone("Europe/Vienna"));
}

static int in_vienna(void **state)
{
    (void)state;
    return when_set_zone("Europe/Vienna") ? 0 : -1;
}

/* Given what a tin prints, then it keeps up to (and without) this moment. */
static void keeps(const char *printed, const char *from, const char *to)
{
    int64_t first = 0, after = 0;
    char a[MOMENT_TEXT_SIZE], b[MOMENT_TEXT_SIZE];
    if (!when_parse_date(printed, &first, &after))
        fail_msg("\"%s\" was not read", printed);
    if (first != at(from) || after != at(to))
        fail_msg("\"%s\": got %s to %s", printed, moment_print(first, a), moment_print(after, b));
}

static void a_printed_date_is_the_whole_day_or_month(void **state)
{
    (void)state;
    keeps("2027-03-30", "2027-03-29T22:00:00Z", "2027-03-30T22:00:00Z");
    keeps("2027-03-28", "2027-03-27T23:00:00Z", "2027-03-28T22:00:00Z"); /* 23 hours: the clocks go forward */
    keeps("2027-03", "2027-02-28T23:00:00Z", "2027-03-31T22:00:00Z");
    keeps("2028-02", "2028-01-31T23:00:00Z", "2028-02-29T23:00:00Z");
    keeps("2027-12", "2027-11-30T23:00:00Z", "2027-12-31T23:00:00Z");
    static const char *const unread[] = {"", "2027", "03/2027", "2027-13", "2027-02-30", "2027-3", "2027-03-31 18:00", "march", "2027-03-31x"};
    for (size_t i = 0; i < sizeof unread / sizeof *unread; i++) {
        int64_t first = 1, after = 2;
        assert_false(when_parse_date(unread[i], &first, &after));
        assert_true(first == 1 && after == 2);
    }
    char text[WHEN_TEXT_SIZE];
    assert_string_equal(when_print_date(at("2027-03-31T21:59:59Z"), text), "31 Mar 2027");
    assert_string_equal(when_print_date(at("2027-03-31T22:00:00Z"), text), "1 Apr 2027");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_clock_time_is_the_latest_one_past),
        cmocka_unit_test(an_age_counts_back_from_now),
        cmocka_unit_test(a_named_day_is_the_last_one),
        cmocka_unit_test(a_date_is_read_in_the_zone_of_the_shop),
        cmocka_unit_test(what_cannot_be_read_is_said_back_with_what_would_do),
        cmocka_unit_test(an_hour_that_was_left_out_is_asked_back),
        cmocka_unit_test(an_hour_that_came_twice_is_asked_back_unless_one_is_past),
        cmocka_unit_test(a_printed_date_is_the_whole_day_or_month),
        cmocka_unit_test(near_moments_are_shown_short),
        cmocka_unit_test(a_zone_that_nobody_knows_is_utc),
    };
    return cmocka_run_group_tests(tests, in_vienna, NULL);
}
