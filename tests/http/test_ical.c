/* What is written as RFC 5545 text, read back by a library that has read everybody's calendars. */
#include "daemon/http/ical.h"

#include "coat/moment.h"

#include <libical/ical.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

#define ANSWER_MAX 100000

/* Every line ends in CR LF and is 75 octets long at most; none begins or ends within a character. */
static void check_lines(const char *text)
{
    while (*text != '\0') {
        const char *end = strstr(text, "\r\n");
        assert_non_null(end);
        assert_in_range(end - text, 1, 75);
        const char *first = text[0] == ' ' ? text + 1 : text;
        assert_true(((unsigned char)*first & 0xC0) != 0x80);
        assert_null(memchr(text, '\n', (size_t)(end - text)));
        text = end + 2;
    }
}

static icalcomponent *read_back(const struct json_out *out)
{
    assert_false(out->failed);
    check_lines(out->bytes);
    icalcomponent *component = icalparser_parse_string(out->bytes);
    assert_non_null(component);
    assert_int_equal(icalcomponent_count_errors(component), 0);
    return component;
}

static void open_event(struct json_out *out)
{
    json_out_init(out, ANSWER_MAX);
    ical_begin(out, "VEVENT");
}

static icalcomponent *close_event(struct json_out *out)
{
    ical_end(out, "VEVENT");
    return read_back(out);
}

static void check_text(const char *told, const char *read)
{
    struct json_out out;
    open_event(&out);
    ical_put_text(&out, "SUMMARY", told);
    icalcomponent *event = close_event(&out);
    assert_string_equal(icalcomponent_get_summary(event), read);
    icalcomponent_free(event);
    json_out_free(&out);
}

static void a_text_comes_back_as_it_was_told(void **state)
{
    (void)state;
    static const char *const texts[] = {
        "mill wheel: recoat may be done (not before)",
        "a, b; c\\d: \"e\"",
        "two\nlines, and\\n a backslash with an n",
        "Mühlrad, Größe ½ — 漆塗り 🎨",
        ",;\\,;\\,;\\,;\\,;\\,;\\,;\\,;\\,;\\,;\\,;\\,;\\,;\\,;\\,;\\,;\\,;\\,;\\,;\\,;\\,;\\,;\\,;\\,;\\",
    };
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++)
        check_text(texts[i], texts[i]);
}

/* At each length the fold falls on another byte: of two, three and four of a character. */
static void a_long_line_is_folded_between_characters(void **state)
{
    (void)state;
    static const char *const characters[] = {"a", "ü", "漆", "🎨"};
    for (size_t c = 0; c < 4; c++) {
        for (size_t lead = 0; lead < 80; lead++) {
            char text[1200] = "";
            memset(text, 'x', lead);
            for (size_t i = 0; i < 90; i++)
                strcat(text, characters[c]);
            check_text(text, text);
        }
    }
}

static void what_may_not_stand_there_is_left_out(void **state)
{
    (void)state;
    check_text("bell\a, return\r and delete\x7F gone", "bell, return and delete gone");
    check_text("broken \xC3( and \xE2\x82 and \xF0\x9F\x8E end \xFF", "broken \xEF\xBF\xBD( and \xEF\xBF\xBD\xEF\xBF\xBD and \xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD end \xEF\xBF\xBD");
    check_text("overlong \xC0\xAF, surrogate \xED\xA0\x80", "overlong \xEF\xBF\xBD\xEF\xBF\xBD, surrogate \xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD");
}

/* A name cannot end its line and begin a property of its own. */
static void nobody_writes_a_property_by_a_name(void **state)
{
    (void)state;
    struct json_out out;
    open_event(&out);
    ical_put_text(&out, "SUMMARY", "mill\r\nLOCATION:elsewhere\r\nEND:VEVENT");
    icalcomponent *event = close_event(&out);
    assert_null(icalcomponent_get_first_property(event, ICAL_LOCATION_PROPERTY));
    assert_string_equal(icalcomponent_get_summary(event), "mill\nLOCATION:elsewhere\nEND:VEVENT");
    icalcomponent_free(event);
    json_out_free(&out);
}

static void check_moment(const char *told, const char *read)
{
    struct json_out out;
    struct coat_error error;
    int64_t at = 0;
    assert_int_equal(moment_parse(told, &at, &error), COAT_OK);
    open_event(&out);
    ical_put_moment(&out, "DTSTART", at);
    icalcomponent *event = close_event(&out);
    struct icaltimetype start = icalcomponent_get_dtstart(event);
    assert_true(icaltime_is_utc(start));
    assert_string_equal(icaltime_as_ical_string(start), read);
    assert_int_equal((int64_t)icaltime_as_timet(start), at / MS_PER_S);
    icalcomponent_free(event);
    json_out_free(&out);
}

static void a_moment_is_told_in_utc(void **state)
{
    (void)state;
    check_moment("2026-11-28T14:05:59.900Z", "20261128T140559Z");
    check_moment("2026-12-31T23:30:00-01:00", "20270101T003000Z");
    check_moment("2028-02-29T00:00:00Z", "20280229T000000Z");
}

static void check_trigger(int64_t minutes)
{
    struct json_out out;
    open_event(&out);
    ical_begin(&out, "VALARM");
    ical_put_minutes(&out, "TRIGGER", minutes);
    ical_end(&out, "VALARM");
    icalcomponent *event = close_event(&out);
    icalcomponent *alarm = icalcomponent_get_first_component(event, ICAL_VALARM_COMPONENT);
    struct icaltriggertype trigger = icalproperty_get_trigger(icalcomponent_get_first_property(alarm, ICAL_TRIGGER_PROPERTY));
    assert_int_equal(icaldurationtype_as_int(trigger.duration), minutes * 60);
    icalcomponent_free(event);
    json_out_free(&out);
}

static void an_alarm_lies_so_many_minutes_before_or_after(void **state)
{
    (void)state;
    static const int64_t minutes[] = {0, -1, -60, -2880, 415};
    for (size_t i = 0; i < sizeof minutes / sizeof *minutes; i++)
        check_trigger(minutes[i]);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_text_comes_back_as_it_was_told),   cmocka_unit_test(a_long_line_is_folded_between_characters),
        cmocka_unit_test(what_may_not_stand_there_is_left_out), cmocka_unit_test(nobody_writes_a_property_by_a_name),
        cmocka_unit_test(a_moment_is_told_in_utc),            cmocka_unit_test(an_alarm_lies_so_many_minutes_before_or_after),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
