/* Given a day's air, then this picture of it in characters: where it was read, and not where nobody did. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "cli/plot.h"
#include "cli/when.h"

#include <math.h>
#include <string.h>

#define HOURS 24

/* A November day in a shed, hour by hour: coldest at five, warmest at two in the afternoon. */
static const double day_c[HOURS] = {9,   8.5, 8,  7.5, 7.2, 7,    7.1, 7.6, 8.6, 10, 11.5, 13,
                                    14.2, 15,  15.4, 15, 14.2, 13.1, 12.2, 11.5, 11, 10.4, 9.9, 9.4};

static void is_near(double value, double expected)
{
    if (!(fabs(value - expected) < 1e-9))
        fail_msg("%g, not %g", value, expected);
}

static struct plot_series series_of(const double *values, unsigned count)
{
    struct plot_series series = {.count = count};
    for (unsigned i = 0; i < count; i++)
        series.low[i] = series.mean[i] = series.high[i] = values[i];
    return series;
}

static void forget(struct plot_series *series, unsigned from, unsigned to, bool broken)
{
    for (unsigned i = from; i < to; i++) {
        series->low[i] = series->mean[i] = series->high[i] = (double)NAN;
        series->broken[i] = broken;
    }
}

static void shows(const struct plot_series *series, bool braille, const char *const lines[], unsigned rows)
{
    struct plot_scale scale = plot_scale_of(series);
    for (unsigned row = 0; row < rows; row++) {
        struct text text = {0};
        plot_row(&text, series, scale, row, rows, braille);
        assert_string_equal(text.data, lines[row]);
    }
}

static void a_day_is_a_line(void **state)
{
    (void)state;
    struct plot_series series = series_of(day_c, HOURS);
    struct plot_scale scale = plot_scale_of(&series);
    is_near(scale.low, 7.0);
    is_near(scale.high, 15.4);
    static const char *const ascii[] = {
        "             ***",
        "           **   **",
        "          *       ****",
        "**      **            **",
        "  ******",
    };
    shows(&series, false, ascii, 5);
    static const char *const braille[] = {
        "     \u2880\u2814\u2811\u2884",
        "    \u2880\u280e   \u2811\u2884\u2840",
        "\u2811\u2824\u28c0\u2860\u280a      \u2808",
    };
    shows(&series, true, braille, 3);
}

static void what_nobody_measured_stays_blank(void **state)
{
    (void)state;
    struct plot_series series = series_of(day_c, HOURS);
    forget(&series, 10, 16, true);
    plot_join(&series);
    static const char *const ascii[] = {
        "                *",
        "                 ***",
        "         *          ***",
        "***     *              *",
        "   *****",
    };
    shows(&series, false, ascii, 5);
    is_near(plot_scale_of(&series).high, 14.2);
}

static void readings_some_hours_apart_are_joined_by_a_straight_line(void **state)
{
    (void)state;
    struct plot_series series = series_of(day_c, HOURS);
    forget(&series, 6, 14, false);
    plot_join(&series);
    is_near(series.mean[6], 7.0 + (15.4 - 7.0) / 9.0);
    is_near(series.mean[13], 7.0 + (15.4 - 7.0) * 8.0 / 9.0);
    /* Before the first and after the last there is nothing to join. */
    forget(&series, 0, 3, false);
    forget(&series, 20, HOURS, false);
    plot_join(&series);
    assert_true(isnan(series.mean[2]) && isnan(series.mean[20]));
    /* One broken point among those missing is enough. */
    forget(&series, 6, 14, false);
    series.broken[9] = true;
    plot_join(&series);
    for (unsigned i = 6; i < 14; i++)
        assert_true(isnan(series.mean[i]));
}

static void the_spread_of_a_point_is_drawn_with_it(void **state)
{
    (void)state;
    static const double means[] = {10, 11, 12, 12};
    struct plot_series series = series_of(means, 4);
    series.low[1] = 8;
    series.high[2] = 14;
    static const char *const ascii[] = {"  :", "  :", "  **", " *", "*:", " :", " :"};
    shows(&series, false, ascii, 7);
}

static void air_that_never_changed_is_a_flat_line(void **state)
{
    (void)state;
    static const double means[] = {18, 18, 18, 18};
    struct plot_series series = series_of(means, 4);
    static const char *const ascii[] = {"", "****", ""};
    shows(&series, false, ascii, 3);
    static const char *const braille[] = {"", "\u2812\u2812", ""};
    shows(&series, true, braille, 3);
}

static void braille_keeps_a_steep_line_whole(void **state)
{
    (void)state;
    static const double means[] = {0, 0, 7, 7};
    struct plot_series series = series_of(means, 4);
    static const char *const braille[] = {" \u284f", "\u28c0\u2807"};
    shows(&series, true, braille, 2);
}

static void nothing_known_draws_nothing(void **state)
{
    (void)state;
    struct plot_series series = series_of(day_c, HOURS);
    forget(&series, 0, HOURS, true);
    plot_join(&series);
    assert_true(isnan(plot_scale_of(&series).low));
    static const char *const ascii[] = {"", "", ""};
    shows(&series, false, ascii, 3);
    shows(&series, true, ascii, 3);
}

static void axis_says(const char *from, int64_t column_ms, unsigned columns, const char *ticks, const char *labels)
{
    struct text drawn = {0}, said = {0};
    int64_t from_ms = 0;
    assert_int_equal(moment_parse(from, &from_ms, NULL), COAT_OK);
    plot_axis(&drawn, &said, from_ms, column_ms, columns);
    assert_string_equal(drawn.data, ticks);
    assert_string_equal(said.data, labels);
}

static void the_axis_tells_local_hours(void **state)
{
    (void)state;
    assert_true(when_set_zone("Europe/Vienna"));
    axis_says("2026-11-27T22:00:00Z", MS_PER_H, 24, "-+-----------+----------", " Sat         12:00");
    axis_says("2026-11-27T23:00:00Z", 30 * MS_PER_MIN, 24, "+-----------+-----------", "Sat         06:00");
    axis_says("2026-11-01T00:00:00Z", 12 * MS_PER_H, 40, "---+---------+---------+---------+------", "   3 Nov     8 Nov     13 Nov    18 Nov");
    assert_true(when_set_zone("UTC"));
    axis_says("2026-11-27T22:00:00Z", MS_PER_H, 24, "--+-----------+---------", "  Sat         12:00");
}

/* On 25 October 2026 the clocks of Vienna went back at three: that day has 25 hours, and noon stands 13 h after midnight. */
static void the_axis_keeps_to_the_wall_where_the_clocks_change(void **state)
{
    (void)state;
    assert_true(when_set_zone("Europe/Vienna"));
    axis_says("2026-10-24T22:00:00Z", MS_PER_H, 30, "+------------+-----------+----", "Sun          12:00       Mon");
    assert_true(when_set_zone("UTC"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_day_is_a_line),
        cmocka_unit_test(what_nobody_measured_stays_blank),
        cmocka_unit_test(readings_some_hours_apart_are_joined_by_a_straight_line),
        cmocka_unit_test(the_spread_of_a_point_is_drawn_with_it),
        cmocka_unit_test(air_that_never_changed_is_a_flat_line),
        cmocka_unit_test(braille_keeps_a_steep_line_whole),
        cmocka_unit_test(nothing_known_draws_nothing),
        cmocka_unit_test(the_axis_tells_local_hours),
        cmocka_unit_test(the_axis_keeps_to_the_wall_where_the_clocks_change),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
