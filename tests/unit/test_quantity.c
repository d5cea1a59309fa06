/* Amounts as people write them: what is read, what is refused and in which words, and that print and parse agree. */
#include "coat/quantity.h"
#include "tests/unit/seed.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

#define ROUNDS 4000

static void reads(enum quantity kind, const char *text, double expected)
{
    double value = -12345.0;
    struct coat_error error = {0};
    if (quantity_parse(kind, text, &value, &error) != COAT_OK)
        fail_msg("\"%s\" was refused: %s", text, error.text);
    if (!(fabs(value - expected) <= 1e-9 * fmax(1.0, fabs(expected))))
        fail_msg("\"%s\" was read as %.12g, expected %.12g", text, value, expected);
}

static void refuses(enum quantity kind, const char *text, const char *words)
{
    double value = -12345.0;
    struct coat_error error = {0};
    if (quantity_parse(kind, text, &value, &error) != COAT_BAD_VALUE)
        fail_msg("\"%s\" was read as %.12g, expected a refusal", text, value);
    if (strstr(error.text, words) == NULL)
        fail_msg("\"%s\" was refused with: %s\nexpected it to say: %s", text, error.text, words);
    assert_true(value == -12345.0);
    assert_int_equal(quantity_parse(kind, text, &value, NULL), COAT_BAD_VALUE);
}

static void test_every_unit_is_read(void **state)
{
    (void)state;
    reads(QUANTITY_TEMPERATURE, "18C", 18.0);
    reads(QUANTITY_TEMPERATURE, "-5C", -5.0);
    reads(QUANTITY_TEMPERATURE, "-40F", -40.0);
    reads(QUANTITY_TEMPERATURE, "212F", 100.0);
    reads(QUANTITY_TEMPERATURE, "273.15K", 0.0);
    reads(QUANTITY_TEMPERATURE, "0K", -273.15);
    reads(QUANTITY_TEMPERATURE, "-459.67F", -273.15);
    reads(QUANTITY_TEMPERATURE, " 17.8 \u00b0C ", 17.8);
    reads(QUANTITY_TEMPERATURE, "64\u00b0F", 160.0 / 9.0);
    reads(QUANTITY_TEMPERATURE, "+18c", 18.0);
    reads(QUANTITY_SHARE, "55%", 55.0);
    reads(QUANTITY_SHARE, "0 %", 0.0);
    reads(QUANTITY_SHARE, "100%", 100.0);
    reads(QUANTITY_FILM, "40um", 40.0);
    reads(QUANTITY_FILM, "40\u00b5m", 40.0);
    reads(QUANTITY_FILM, "40\u03bcm", 40.0);
    reads(QUANTITY_FILM, "1.5mil", 38.1);
    reads(QUANTITY_FILM, ".04mm", 40.0);
    reads(QUANTITY_VOLUME, "250ml", 250.0);
    reads(QUANTITY_VOLUME, "1.5l", 1500.0);
    reads(QUANTITY_VOLUME, "1floz", 29.5735295625);
    reads(QUANTITY_VOLUME, "1/2pt", 236.5882365);
    reads(QUANTITY_VOLUME, "1qt", 946.352946);
    reads(QUANTITY_VOLUME, "1gal", 3785.411784);
    reads(QUANTITY_MASS, "400g", 400.0);
    reads(QUANTITY_MASS, "12kg", 12000.0);
    reads(QUANTITY_MASS, "1oz", 28.349523125);
    reads(QUANTITY_MASS, "1lb", 453.59237);
    reads(QUANTITY_LENGTH, "8mm", 8.0);
    reads(QUANTITY_LENGTH, "2.5cm", 25.0);
    reads(QUANTITY_LENGTH, "1.2m", 1200.0);
    reads(QUANTITY_LENGTH, "1/4in", 6.35);
    reads(QUANTITY_LENGTH, "1ft", 304.8);
    reads(QUANTITY_AREA, "500cm2", 0.05);
    reads(QUANTITY_AREA, "0.5m2", 0.5);
    reads(QUANTITY_AREA, "1in2", 0.00064516);
    reads(QUANTITY_AREA, "1ft2", 0.09290304);
    reads(QUANTITY_ROOM, "120l", 0.12);
    reads(QUANTITY_ROOM, "40m3", 40.0);
    reads(QUANTITY_ROOM, "1ft3", 0.028316846592);
    reads(QUANTITY_AIRFLOW, "200m3h", 200.0);
    reads(QUANTITY_AIRFLOW, "2m3min", 120.0);
    reads(QUANTITY_AIRFLOW, "1cfm", 1.69901079552);
    reads(QUANTITY_AIRFLOW, "50lmin", 3.0);
    reads(QUANTITY_DURATION, "45s", 45.0);
    reads(QUANTITY_DURATION, "20min", 1200.0);
    reads(QUANTITY_DURATION, "1.5h", 5400.0);
    reads(QUANTITY_DURATION, "3d", 259200.0);
    reads(QUANTITY_ENERGY, "33.5kJ/mol", 33.5);
    reads(QUANTITY_ENERGY, "33.5 KJ/MOL", 33.5);
    reads(QUANTITY_TEMP_DIFF, "9F", 5.0);
    reads(QUANTITY_TEMP_DIFF, "5K", 5.0);
    reads(QUANTITY_TEMP_DIFF, "-0.4C", -0.4); /* a sensor that reads high */
    reads(QUANTITY_HEAT_TRANSFER, "10w/M2k", 10.0);
    reads(QUANTITY_CONCENTRATION, "1.4%", 14000.0);
    reads(QUANTITY_CONCENTRATION, "500ppm", 500.0);
}

static void test_durations_are_read_in_parts(void **state)
{
    (void)state;
    reads(QUANTITY_DURATION, "2h30min", 9000.0);
    reads(QUANTITY_DURATION, "2 h 40 min", 9600.0);
    reads(QUANTITY_DURATION, "3 d 4 h", 273600.0);
    reads(QUANTITY_DURATION, "1d 2h 3min 4s", 93784.0);
    refuses(QUANTITY_DURATION, "30min2h", "is no duration");
    refuses(QUANTITY_DURATION, "2h2h", "is no duration");
    refuses(QUANTITY_DURATION, "2h30", "\"30\" has no unit: write 30s, 30min, 30h or 30d for a duration");
    refuses(QUANTITY_DURATION, "2h-30min", "no unit for a duration");
    refuses(QUANTITY_DURATION, "2h -30min", "is not possible");
    refuses(QUANTITY_DURATION, "2h,30min", "no unit for a duration");
    refuses(QUANTITY_LENGTH, "6ft 2in", "is no length");
}

static void test_a_bare_number_is_never_read(void **state)
{
    (void)state;
    refuses(QUANTITY_TEMPERATURE, "55", "\"55\" has no unit: write 55% for humidity, or 55F or 13C for temperature");
    refuses(QUANTITY_SHARE, "55", "\"55\" has no unit: write 55% for humidity, or 55F or 13C for temperature");
    refuses(QUANTITY_TEMPERATURE, "18", "\"18\" has no unit: write 18% for humidity, or 18C or 64F for temperature");
    refuses(QUANTITY_TEMPERATURE, "-5", "\"-5\" has no unit: write -5C or 23F for temperature");
    refuses(QUANTITY_FILM, "3", "\"3\" has no unit: write 3um, 3mil or 3mm for a film thickness");
    refuses(QUANTITY_AREA, " 2 ", "\"2\" has no unit: write 2cm2, 2m2, 2in2 or 2ft2 for an area");
    for (unsigned kind = 0; kind < QUANTITY_COUNT; kind++)
        refuses((enum quantity)kind, "12", "has no unit");
}

static void test_other_units_are_refused_with_the_right_ones(void **state)
{
    (void)state;
    refuses(QUANTITY_TEMPERATURE, "55%", "\"55%\" has no unit for a temperature: write C, F or K after the number");
    refuses(QUANTITY_VOLUME, "5kg", "write ml, l, floz, pt, qt or gal after the number");
    refuses(QUANTITY_FILM, "5mils", "um, mil or mm");
    refuses(QUANTITY_TEMPERATURE, "18CC", "C, F or K");
    refuses(QUANTITY_TEMPERATURE, "18C 5", "is no temperature");
    refuses(QUANTITY_TEMPERATURE, "18C!", "C, F or K");
    refuses(QUANTITY_SHARE, "55%%", "has no unit for a share");
}

static void test_a_decimal_comma_is_asked_back(void **state)
{
    (void)state;
    refuses(QUANTITY_TEMPERATURE, "18,5C", "\"18,5C\" has a comma in its number: write a decimal point, 18.5C, and nothing between thousands");
    refuses(QUANTITY_ROOM, "-60,5 m3", "write a decimal point, -60.5 m3,");
    refuses(QUANTITY_VOLUME, "1,500ml", "nothing between thousands");
    refuses(QUANTITY_SHARE, "55,5", "write a decimal point, 55.5,");
    refuses(QUANTITY_DURATION, "1h1,5min", "write a decimal point, 1h1.5min,");
    refuses(QUANTITY_DURATION, "2h,30min", "no unit for a duration");
}

static void test_what_is_no_plain_number_is_refused(void **state)
{
    (void)state;
    static const char *const texts[] = {"C",   "infC", "nanC", "0x10C", "1e3C", "--5C", "+-5C",
                                        ".C",  "1/C",  "1/0C", "/2C",   "-C",   "1 2C", "1..5C", "\u221e C"};
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++)
        refuses(QUANTITY_TEMPERATURE, texts[i], "for example 18C or 64F");
    refuses(QUANTITY_TEMPERATURE, "", "a temperature is missing");
    refuses(QUANTITY_AREA, "  ", "an area is missing");
}

static void test_what_cannot_be_is_refused(void **state)
{
    (void)state;
    refuses(QUANTITY_TEMPERATURE, "-274C", "is not possible");
    refuses(QUANTITY_TEMPERATURE, "-1K", "is not possible");
    refuses(QUANTITY_TEMPERATURE, "-460F", "is not possible");
    refuses(QUANTITY_SHARE, "100.1%", "0% to 100%");
    refuses(QUANTITY_SHARE, "-1%", "0% to 100%");
    refuses(QUANTITY_FILM, "1000000001um", "is too large");
    refuses(QUANTITY_FILM, "99999999999999999999999999999999999999999999um", "is too large");
    refuses(QUANTITY_FILM, "-1um", "zero or more");
    refuses(QUANTITY_VOLUME, "-1ml", "zero or more");
    refuses(QUANTITY_MASS, "-1g", "zero or more");
    refuses(QUANTITY_LENGTH, "-1mm", "zero or more");
    refuses(QUANTITY_AREA, "-1m2", "zero or more");
    refuses(QUANTITY_ROOM, "-1m3", "zero or more");
    refuses(QUANTITY_AIRFLOW, "-1cfm", "zero or more");
    refuses(QUANTITY_DURATION, "-1h", "zero or more");
    refuses(QUANTITY_ENERGY, "-1kJ/mol", "zero or more");
    refuses(QUANTITY_HEAT_TRANSFER, "-1W/m2K", "zero or more");
    refuses(QUANTITY_CONCENTRATION, "101%", "0ppm to 100%");
    refuses(QUANTITY_CONCENTRATION, "500", "write 500ppm or 500% for a concentration");
}

static void test_a_message_stays_short_and_printable(void **state)
{
    (void)state;
    char text[600];
    memset(text, 'x', sizeof text - 1);
    text[sizeof text - 1] = '\0';
    refuses(QUANTITY_TEMPERATURE, text, "...\" is no temperature");
    refuses(QUANTITY_TEMPERATURE, "\033[31m\n", "\"?[31m?\" is no temperature");
    for (size_t i = 0; i + 2 < sizeof text; i += 2)
        memcpy(text + i, "\u00e9", 2);
    text[sizeof text - 2] = '\0';
    struct coat_error error = {0};
    double value = 0.0;
    assert_int_equal(quantity_parse(QUANTITY_TEMPERATURE, text, &value, &error), COAT_BAD_VALUE);
    const char *dots = strstr(error.text, "...");
    assert_non_null(dots);
    assert_int_equal((unsigned char)dots[-1], 0xA9); /* the whole of the last character */
}

static void test_air_and_rows(void **state)
{
    (void)state;
    double first = 0.0, second = 0.0;
    struct coat_error error = {0};
    assert_int_equal(quantity_parse_air("18C,55%", &first, &second, &error), COAT_OK);
    assert_true(first == 18.0 && second == 55.0);
    assert_int_equal(quantity_parse_air(" 64 F , 55 % ", &first, &second, &error), COAT_OK);
    assert_true(fabs(first - 160.0 / 9.0) < 1e-9);
    assert_int_equal(quantity_parse_row("-5C=1d12h", &first, &second, &error), COAT_OK);
    assert_true(first == -5.0 && second == 36.0);
    first = second = 7.0;
    static const char *const airs[] = {"18C", "18C 55%", "55%,18C", "18C,55", "18,55%", ",", "", "18C,55%,3", "18C,120%"};
    for (size_t i = 0; i < sizeof airs / sizeof *airs; i++) {
        if (quantity_parse_air(airs[i], &first, &second, &error) != COAT_BAD_VALUE)
            fail_msg("\"%s\" was read as air", airs[i]);
    }
    static const char *const rows[] = {"10C", "10C=", "=8h", "10C=0h", "10C=-8h", "10=8h", "10C=8", "10C==8h", "10C=8h="};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        if (quantity_parse_row(rows[i], &first, &second, &error) != COAT_BAD_VALUE)
            fail_msg("\"%s\" was read as a row", rows[i]);
    }
    assert_true(first == 7.0 && second == 7.0);
}

static void writes(enum quantity kind, double value, enum units_system units, const char *expected)
{
    char text[32];
    assert_string_equal(quantity_print(kind, value, units, text, sizeof text), expected);
}

static void test_amounts_are_written_as_in_a_shop(void **state)
{
    (void)state;
    writes(QUANTITY_TEMPERATURE, 17.8, UNITS_METRIC, "17.8 C");
    writes(QUANTITY_TEMPERATURE, 21.0, UNITS_METRIC, "21 C");
    writes(QUANTITY_TEMPERATURE, -0.04, UNITS_METRIC, "0 C");
    writes(QUANTITY_TEMPERATURE, 20.0, UNITS_US, "68 F");
    writes(QUANTITY_SHARE, 61.3, UNITS_METRIC, "61 %");
    writes(QUANTITY_SHARE, 2.5, UNITS_US, "2.5 %");
    writes(QUANTITY_FILM, 38.1, UNITS_US, "1.5 mil");
    writes(QUANTITY_FILM, 38.1, UNITS_METRIC, "38.1 um");
    writes(QUANTITY_VOLUME, 1500.0, UNITS_METRIC, "1.5 l");
    writes(QUANTITY_MASS, 12000.0, UNITS_METRIC, "12 kg");
    writes(QUANTITY_DURATION, 45.0, UNITS_METRIC, "45 s");
    writes(QUANTITY_DURATION, 90.0, UNITS_METRIC, "1 min 30 s");
    writes(QUANTITY_DURATION, 35.0 * 60.0, UNITS_METRIC, "35 min");
    writes(QUANTITY_DURATION, 59.7 * 60.0, UNITS_METRIC, "1 h");
    writes(QUANTITY_DURATION, 9600.0, UNITS_METRIC, "2 h 40 min");
    writes(QUANTITY_DURATION, 48.0 * 3600.0, UNITS_METRIC, "48 h");
    writes(QUANTITY_DURATION, 63.2 * 3600.0, UNITS_METRIC, "63 h");
    writes(QUANTITY_DURATION, 76.0 * 3600.0, UNITS_METRIC, "3 d 4 h");
    writes(QUANTITY_DURATION, 45.3 * 86400.0, UNITS_METRIC, "45 d");
    writes(QUANTITY_DURATION, (double)NAN, UNITS_METRIC, "?");
    writes(QUANTITY_TEMPERATURE, (double)INFINITY, UNITS_US, "?");
}

/* Base amount of one of the unit in a printed text, from parse itself. */
static double unit_size(enum quantity kind, const char *unit)
{
    char text[32];
    double one = 0.0, two = 0.0;
    snprintf(text, sizeof text, "2%s", unit);
    assert_int_equal(quantity_parse(kind, text, &two, NULL), COAT_OK);
    snprintf(text, sizeof text, "1%s", unit);
    assert_int_equal(quantity_parse(kind, text, &one, NULL), COAT_OK);
    return two - one;
}

/* Seconds below ten minutes, minutes below two days, hours below a month. */
static double allowed_miss_of_duration(double seconds)
{
    return seconds < 600.0 ? 0.5 : seconds < 172800.0 ? 30.0 : seconds < 2592000.0 ? 1800.0 : 43200.0;
}

/* Half of the last place that print may use for the number it wrote: at least three figures, or the place its kind ends at. */
static double allowed_miss(enum quantity kind, double value, const char *text)
{
    if (kind == QUANTITY_DURATION)
        return allowed_miss_of_duration(value);
    double unit = unit_size(kind, strrchr(text, ' ') + 1);
    bool fixed = kind == QUANTITY_TEMPERATURE || kind == QUANTITY_TEMP_DIFF;
    double share = kind == QUANTITY_SHARE ? 0.05 : 0.005;
    return (fixed ? 0.05 * unit : fmax(fabs(value) * share, 0.05 * unit)) * 1.0001;
}

static void test_print_and_parse_agree(void **state)
{
    (void)state;
    uint64_t seed = seed_start("print and parse agree");
    for (int i = 0; i < ROUNDS; i++) {
        enum quantity kind = (enum quantity)(seed_next(&seed) % QUANTITY_COUNT);
        enum units_system units = (enum units_system)(seed_next(&seed) % UNITS_SYSTEM_COUNT);
        double value = pow(10.0, seed_between(&seed, -2.0, 5.0));
        if (kind == QUANTITY_TEMPERATURE)
            value = seed_between(&seed, -60.0, 300.0);
        if (kind == QUANTITY_SHARE)
            value = seed_between(&seed, 0.0, 100.0);
        char text[32], again[32];
        double read = 0.0;
        quantity_print(kind, value, units, text, sizeof text);
        if (quantity_parse(kind, text, &read, NULL) != COAT_OK)
            fail_msg("%.12g was written \"%s\", which is not read back", value, text);
        if (!(fabs(read - value) <= allowed_miss(kind, value, text)))
            fail_msg("%.12g was written \"%s\" and read back as %.12g", value, text, read);
        assert_string_equal(quantity_print(kind, read, units, again, sizeof again), text);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_every_unit_is_read),
        cmocka_unit_test(test_durations_are_read_in_parts),
        cmocka_unit_test(test_a_bare_number_is_never_read),
        cmocka_unit_test(test_other_units_are_refused_with_the_right_ones),
        cmocka_unit_test(test_a_decimal_comma_is_asked_back),
        cmocka_unit_test(test_what_is_no_plain_number_is_refused),
        cmocka_unit_test(test_what_cannot_be_is_refused),
        cmocka_unit_test(test_a_message_stays_short_and_printable),
        cmocka_unit_test(test_air_and_rows),
        cmocka_unit_test(test_amounts_are_written_as_in_a_shop),
        cmocka_unit_test(test_print_and_parse_agree),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
