/* Sentences: what is said of a stage, a window, a bake and the air, in words that both the command line and the plain page use. */
#include "coat/phrase.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

#define NOON INT64_C(1795867200000) /* Sat 28 Nov 2026 12:00 UTC */

static int64_t an_hour_ahead(const void *context, int64_t at_ms)
{
    (void)context;
    return at_ms + MS_PER_H;
}

static struct phrase empty(void)
{
    return (struct phrase){.local_ms = an_hour_ahead, .now_ms = NOON, .units = UNITS_METRIC};
}

static struct moment_band band(int64_t earliest_min, int64_t likely_min, int64_t latest_min)
{
    return (struct moment_band){
        .earliest_at = NOON + earliest_min * MS_PER_MIN, .likely_at = NOON + likely_min * MS_PER_MIN, .latest_at = NOON + latest_min * MS_PER_MIN,
        .label_floor_at = MOMENT_NONE, .label_ceiling_at = MOMENT_NONE,
    };
}

static void test_a_moment_says_its_day_only_where_it_is_another(void **state)
{
    static const struct {
        int64_t from_now_ms;
        const char *text;
    } rows[] = {
        {0, "13:00"}, {10 * MS_PER_H, "23:00"}, {11 * MS_PER_H, "Sun 00:00"}, {-2 * MS_PER_DAY, "Thu 13:00"}, {6 * MS_PER_DAY, "4 Dec 13:00"},
        {60 * MS_PER_DAY, "27 Jan 13:00"}, {400 * MS_PER_DAY, "2 Jan 2028 13:00"}, {-400 * MS_PER_DAY, "24 Oct 2025 13:00"},
    };
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct phrase phrase = empty();
        phrase_moment(&phrase, NOON + rows[i].from_now_ms);
        assert_string_equal(phrase.data, rows[i].text);
    }
    struct phrase never = empty();
    phrase_moment(&never, MOMENT_NONE);
    assert_string_equal(never.data, "not known");
}

static void test_an_opening_is_about_and_a_closing_the_earliest(void **state)
{
    struct phrase opening = empty(), closing = empty(), stalled = empty();
    struct moment_band times = band(50, 65, 80), never = {.earliest_at = MOMENT_NONE, .likely_at = MOMENT_NONE, .latest_at = MOMENT_NONE,
                                                          .label_floor_at = NOON + MS_PER_H, .label_ceiling_at = MOMENT_NONE};
    (void)state;
    phrase_opening(&opening, &times);
    assert_string_equal(opening.data, "about 14:05 (13:50 to 14:20)");
    phrase_closing(&closing, &times);
    assert_string_equal(closing.data, "13:50");
    phrase_opening(&stalled, &never);
    assert_string_equal(stalled.data, "not in this air, label floor 14:00");
}

static void test_a_window_is_told_to_its_last_opening(void **state)
{
    struct phrase phrase = empty();
    struct stage_view recoat = {
        .stage = STAGE_RECOAT, .state = STATE_CLOSING, .spans = 3, .current = 0,
        .span = {{SPAN_GO, true, band(30, 40, 50)}, {SPAN_WAIT, true, band(1440, 1500, 1560)}, {SPAN_GO, false, {0}}},
    };
    (void)state;
    phrase_stage(&phrase, &recoat);
    assert_string_equal(phrase.data, "go until 13:30; then shut until about Sun 14:00 (Sun 13:00 to Sun 15:00)");
    phrase = empty();
    recoat.current = 2;
    recoat.state = STATE_OPEN;
    phrase_stage(&phrase, &recoat);
    assert_string_equal(phrase.data, "go, no end");
    phrase = empty();
    recoat.state = STATE_USED;
    phrase_stage(&phrase, &recoat);
    assert_string_equal(phrase.data, "");
}

static void test_what_holds_a_stage_back_is_said_with_it(void **state)
{
    struct phrase all = empty(), none = empty();
    (void)state;
    phrase_reserve(&all, &(struct stage_view){.stall = STALL_DAMP, .no_window = true, .prepared = true, .assumed = true, .disputed = true});
    assert_string_equal(all.data, "held up: too damp; no window in this air: it closes before it opens; sanded in time; "
                                  "on assumed air: test first; sources differ: read the can");
    phrase_reserve(&none, &(struct stage_view){.stall = STALL_NONE});
    assert_string_equal(none.data, "");
}

static void test_hands_off_until_the_stage_that_lets_them(void **state)
{
    struct phrase touch = empty(), handle = empty();
    struct moment_band times = band(50, 65, 80);
    (void)state;
    phrase_hands_off(&touch, STAGE_DUST_FREE, &times);
    assert_string_equal(touch.data, "do not touch before it is dust-free, about 14:05 (13:50 to 14:20)");
    times.likely_at = times.earliest_at = times.latest_at = MOMENT_NONE;
    phrase_hands_off(&handle, STAGE_HANDLE, &times);
    assert_string_equal(handle.data, "do not handle it: not in this air");
}

static void test_air_says_what_of_it_is_assumed(void **state)
{
    struct air_view air = {.known = true, .at = NOON, .temp_c = 17.8, .rh_pct = 61, .dew_point_c = (double)NAN, .basis = AIR_MEASURED, .rh_basis = AIR_ASSUMED,
                           .assumed_from_at = MOMENT_NONE};
    struct phrase measured = empty(), assumed = empty(), unknown = empty();
    (void)state;
    phrase_air(&measured, &air);
    assert_string_equal(measured.data, "17.8 C 61 % (humidity assumed) (read 13:00)");
    air.basis = AIR_ASSUMED;
    air.assumed_from_at = NOON - MS_PER_H;
    assumed.units = UNITS_US;
    phrase_air(&assumed, &air);
    assert_string_equal(assumed.data, "64 F 61 %, assumed since 12:00: test first");
    phrase_temp_rh(&unknown, (double)NAN, 50.0, false);
    assert_string_equal(unknown.data, "air not known");
}

static void test_a_part_in_the_oven(void **state)
{
    struct phrase phrase = empty(), touch = empty();
    struct bake_part_told part = {.low_c = 140, .high_c = 149, .progress = 0.999, .done_likely_at = NOON, .done_latest_at = NOON + MS_PER_H, .excess = BAKE_EXCESS_HOT};
    (void)state;
    phrase_bake_part(&phrase, &part);
    assert_string_equal(phrase.data, "140 C to 149 C; baked 99 %, done about 13:00, at the latest 14:00; MAY BE TOO HOT");
    phrase_bake_line(&touch, BAKE_LINE_TOUCH, NOON, false);
    assert_string_equal(touch.data, "13:00: not before, if it comes out when it is done");
}

static void test_words_outside_the_lists_are_no_crash_and_long_text_is_cut(void **state)
{
    struct phrase phrase = empty();
    (void)state;
    assert_string_equal(span_do_phrase(STAGE_RECOAT, (enum span_do)99), "?");
    assert_string_equal(span_do_phrase(STAGE_RECOAT, SPAN_STRIP), "too late: strip it");
    assert_string_equal(span_do_phrase(STAGE_LEAF, SPAN_STRIP), "too late to rely on: try it with a finger");
    assert_string_equal(span_do_phrase(STAGE_UNMASK, SPAN_SCUFF), "score along the tape first");
    assert_string_equal(stall_phrase((enum stall)99), "?");
    assert_string_equal(bake_state_phrase((enum bake_state)99), "?");
    for (int i = 0; i < 300; i++)
        phrase_join(&phrase, ", ", "%s", "sixteen letters!");
    assert_int_equal(phrase.length, PHRASE_SIZE - 1);
    assert_int_equal(strlen(phrase.data), PHRASE_SIZE - 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_a_moment_says_its_day_only_where_it_is_another),
        cmocka_unit_test(test_an_opening_is_about_and_a_closing_the_earliest),
        cmocka_unit_test(test_a_window_is_told_to_its_last_opening),
        cmocka_unit_test(test_what_holds_a_stage_back_is_said_with_it),
        cmocka_unit_test(test_hands_off_until_the_stage_that_lets_them),
        cmocka_unit_test(test_air_says_what_of_it_is_assumed),
        cmocka_unit_test(test_a_part_in_the_oven),
        cmocka_unit_test(test_words_outside_the_lists_are_no_crash_and_long_text_is_cut),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
