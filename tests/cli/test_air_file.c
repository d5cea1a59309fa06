/* Given a file of past readings, then this air; or a refusal with file, line and column. In a zone that changes its clocks. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "cli/air_file.h"
#include "cli/when.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static char path[] = "/tmp/coat-air-XXXXXX";
static struct air_file_terms terms;
static struct air_file file;

static int64_t at(const char *text)
{
    int64_t at_ms = 0;
    assert_int_equal(moment_parse(text, &at_ms, NULL), COAT_OK);
    return at_ms;
}

static int set_up(void **state)
{
    (void)state;
    terms = (struct air_file_terms){.path = path, .place_kind = PLACE_ROOM, .now_ms = at("2026-11-28T12:00:00Z")};
    return 0;
}

static int set_up_all(void **state)
{
    (void)state;
    int fd = mkstemp(path);
    return fd < 0 || close(fd) != 0 || !when_set_zone("Europe/Vienna");
}

static int tear_down_all(void **state)
{
    (void)state;
    return unlink(path);
}

static void write_file(const char *text)
{
    FILE *out = fopen(path, "w");
    assert_non_null(out);
    assert_true(fputs(text, out) >= 0);
    assert_int_equal(fclose(out), 0);
}

/* "2026-11-20T13:30:00Z 18.2 55" a line; "-" where nothing was measured. */
static enum coat_result read_all(const char *text, char *said, size_t size, struct coat_error *error)
{
    struct reading reading;
    bool more = true;
    size_t used = 0;
    char moment[MOMENT_TEXT_SIZE], temp[16], rh[16];
    write_file(text);
    said[0] = '\0';
    enum coat_result result = air_file_open(&file, &terms, error);
    while (result == COAT_OK) {
        result = air_file_next(&file, &reading, &more, error);
        if (result != COAT_OK || !more)
            break;
        snprintf(temp, sizeof temp, "%.5g", reading.temp_mc / 1000.0);
        snprintf(rh, sizeof rh, "%.5g", reading.rh_mp / 1000.0);
        assert_true(used < size);
        used += (size_t)snprintf(said + used, size - used, "%s %s %s\n", moment_print(reading.at_ms, moment),
                                 reading.temp_mc == READING_NONE ? "-" : temp, reading.rh_mp == READING_NONE ? "-" : rh);
    }
    air_file_close(&file);
    return result;
}

static void hold(const char *text, const char *expected)
{
    char said[4096];
    struct coat_error error = {0};
    if (read_all(text, said, sizeof said, &error) != COAT_OK)
        fail_msg("\"%s\" was refused: %s", text, error.text);
    assert_string_equal(said, expected);
}

/* `line` 0: not told. */
static void refuse(const char *text, unsigned line, const char *because)
{
    char said[4096], where[64];
    struct coat_error error = {0};
    if (read_all(text, said, sizeof said, &error) == COAT_OK)
        fail_msg("\"%s\" was read as %s", text, said);
    snprintf(where, sizeof where, "%s:%u: ", path, line);
    if (strncmp(error.text, where, strlen(where)) != 0)
        fail_msg("\"%s\" does not begin with \"%s\"", error.text, where);
    if (strstr(error.text, because) == NULL)
        fail_msg("expected \"%s\" in \"%s\"", because, error.text);
}

#define ROW "2026-11-20 14:30,"

static void columns_are_found_by_what_they_are_called(void **state)
{
    (void)state;
    static const char said[] = "2026-11-20T13:30:00Z 18.2 55\n";
    hold("time,temp_c,rh_pct\n" ROW "18.2,55\n", said);
    hold("Timestamp,Temperature (°C),Relative Humidity (%)\n" ROW "18.2,55\n", said);
    hold("No.,Date Time,Temp ℃,Hum\n1," ROW "18.2,55\n", said);
    hold("rh,at,dew point °C,T °C,max temp °C\n55," ROW "9,18.2,30\n", said);
    hold("Date;Time;°C;%\n2026-11-20;14:30;18,2;55,0\n", said);
    hold("Time,Date,Temp (C),RH\n14:30,2026-11-20,18.2,55\n", said);
    hold("time,humidity_ratio,temp_c\n" ROW "0.004,18.2\n", "2026-11-20T13:30:00Z 18.2 -\n");
}

static void columns_may_be_named(void **state)
{
    (void)state;
    terms.column[AIR_COLUMN_TEMP] = "air_c";
    hold("time,air_c,temp_c,rh\n" ROW "18.2,99,55\n", "2026-11-20T13:30:00Z 18.2 55\n");
    terms.column[AIR_COLUMN_TIME] = "LOGGED";
    terms.column[AIR_COLUMN_RH] = "damp";
    hold("logged,date,air_c,damp\n" ROW "x,18.2,55\n", "2026-11-20T13:30:00Z 18.2 55\n");
    terms.column[AIR_COLUMN_RH] = "wet";
    refuse("logged,date,air_c,damp\n" ROW "x,18.2,55\n", 1, "--humidity: no column is called \"wet\"; the columns are: logged, date, air_c, damp");
}

static void a_missing_or_doubtful_column_is_asked_back(void **state)
{
    (void)state;
    refuse("temp_c,rh\n18,55\n", 1, "no column is the time: name it with --time; the columns are: temp_c, rh");
    refuse("time,rh\n" ROW "55\n", 1, "no column is the temperature: name it with --temp");
    refuse("2026-11-20 14:30,18,55\n", 1, "no column is the time");
    refuse("time,temp in,temp out\n" ROW "18,5\n", 1, "both \"temp in\" and \"temp out\" may be the temperature: choose with --temp");
    terms.column[AIR_COLUMN_RH] = "rh";
    hold("time,rh\n" ROW "55\n", "2026-11-20T13:30:00Z - 55\n"); /* asked for by name */
}

static void units_come_from_header_or_option(void **state)
{
    (void)state;
    static const char said[] = "2026-11-20T13:30:00Z 18 -\n";
    hold("time,Temp (F)\n" ROW "64.4\n", said);
    hold("time,temp_k\n" ROW "291.15\n", said);
    hold("time,temp_mC\n" ROW "18000\n", said);
    hold("time,temp\n" ROW "64.4 F\n", said);
    hold("time,temp\n" ROW "18.0°C\n", said);
    refuse("time,temp\n" ROW "64.4\n", 2, "column \"temp\": \"64.4\" has no unit, and the header tells none: write --units C or --units F");
    terms.units_told = true;
    terms.units = TEMP_SCALE_F;
    hold("time,temp\n" ROW "64.4\n", said);
    refuse("time,temp_c\n" ROW "18\n", 1, "the header says C, and --units F");
}

static void one_column_has_one_unit(void **state)
{
    (void)state;
    refuse("time,temp\n" ROW "64.4F\n2026-11-20 14:31,18C\n", 3, "\"18C\" is in another unit than line 2 (F): one column has one unit");
    refuse("time,temp\n" ROW "64.4F\n2026-11-20 14:31,64.5\n", 3, "another unit");
    refuse("time,temp_c\n" ROW "64.4F\n", 2, "another unit");
    refuse("time,temp_c\n2026-11-20 14:30,10\n2026-11-20 14:31,10.1\n2026-11-20 14:32,10.1\n2026-11-20 14:33,50.2\n", 5,
           "\"50.2\" seems to be in another unit than the rows before it: one column has one unit; if it has, say which with --units");
    refuse("time,temp_c,rh\n2026-11-20 14:30,10,50\n2026-11-20 14:31,10.1,50\n2026-11-20 14:32,10.1,50\n2026-11-20 14:33,10.2,0.5\n", 5,
           "column \"rh\": \"0.5\" seems to be in another unit");
}

static void shares_must_say_that_they_are(void **state)
{
    (void)state;
    refuse("time,temp_c,rh\n" ROW "18,0.55\n", 2, "\"0.55\" is no % of any room: for shares of 1 call the column \"rh fraction\"");
    hold("time,temp_c,rh fraction\n" ROW "18,0.55\n", "2026-11-20T13:30:00Z 18 55\n");
}

static void times_are_read_as_they_come(void **state)
{
    (void)state;
    static const char said[] = "2026-11-20T13:30:00Z 18 -\n";
    hold("time,temp_c\n2026-11-20T14:30:00+01:00,18\n", said);
    hold("time,temp_c\n2026-11-20T13:30:00Z,18\n", said);
    hold("time,temp_c\n2026-11-20 14:30:00,18\n", said);
    hold("time,temp_c\n2026-11-20T14:30,18\n", said);
    hold("time,temp_c\n2026/11/20 14:30,18\n", said);
    hold("time,temp_c\n1795181400,18\n", said);
    hold("time,temp_c\n1795181400000,18\n", said);
    hold("time (UTC),temp_c\n2026-11-20 13:30,18\n", said);
    hold("\"Date Time, GMT-05:00\",temp_c\n2026-11-20 08:30,18\n", said);
    hold("\"Date Time, GMT+0530\",temp_c\n2026-11-20 19:00,18\n", said);
    hold("time (UTC -5),temp_c\n2026-11-20 08:30,18\n", said);
    hold("time UTC - indoors,temp_c\n2026-11-20 13:30,18\n", said);
    hold("time utc+530,temp_c\n2026-11-20 19:00,18\n", said);
    terms.zone = AIR_ZONE_UTC;
    hold("time,temp_c\n2026-11-20 13:30,18\n", said);
    terms.zone = AIR_ZONE_LOCAL;
    hold("time (UTC),temp_c\n2026-11-20 14:30,18\n", said);
}

static void times_that_cannot_be_are_refused(void **state)
{
    (void)state;
    refuse("time,temp_c\n" ROW "18\nsoon,18\n", 3, "column \"time\": \"soon\" is no time: write \"2026-11-28 14:30\", RFC 3339");
    refuse("time,temp_c\n11/20/2026 14:30,18\n", 2, "is no time");
    refuse("time UTC+99,temp_c\n" ROW "18\n", 1, "column \"time UTC+99\": no clock is so far from UTC: write the hours as in UTC+05:30, or say --zone");
    refuse("time UTC+00123,temp_c\n" ROW "18\n", 1, "no clock");
    refuse("time UTC+05:75,temp_c\n" ROW "18\n", 1, "no clock");
    refuse("time,temp_c\n2026-02-30 14:30,18\n", 2, "is no time");
    refuse("time,temp_c\n2026-11-20,18\n", 2, "is no time");
    refuse("time,temp_c\n,18\n", 2, "the time is missing");
    refuse("time,temp_c\n2026-11-28 13:02,18\n", 2, "lies in the future");
    hold("time,temp_c\n2026-11-28 13:01,18\n", "2026-11-28T12:01:00Z 18 -\n"); /* a minute is granted */
    refuse("time,temp_c\n1970-01-01 00:05,18\n", 2, "lies before 2000: the instrument's clock was not set");
    refuse("time,temp_c\n42,18\n", 2, "lies before 2000");
    refuse("time,temp_c\n2026-03-29 02:30,18\n", 2, "was left out when the clocks went forward");
}

static void an_hour_that_came_twice_is_taken_in_the_order_of_the_file(void **state)
{
    (void)state;
    hold("time,temp_c\n2026-10-25 01:40,18\n2026-10-25 02:20,18\n2026-10-25 02:50,18\n2026-10-25 02:20,18\n2026-10-25 03:00,18\n",
         "2026-10-24T23:40:00Z 18 -\n2026-10-25T00:20:00Z 18 -\n2026-10-25T00:50:00Z 18 -\n2026-10-25T01:20:00Z 18 -\n2026-10-25T02:00:00Z 18 -\n");
    assert_int_equal(file.summary.twice, 3);
    hold("time,temp_c\n2026-10-25 03:20,18\n2026-10-25 03:00,18\n2026-10-25 02:20,18\n2026-10-25 02:50,18\n2026-10-25 02:20,18\n",
         "2026-10-25T02:20:00Z 18 -\n2026-10-25T02:00:00Z 18 -\n2026-10-25T01:20:00Z 18 -\n2026-10-25T00:50:00Z 18 -\n2026-10-25T00:20:00Z 18 -\n");
}

static void what_was_not_measured_is_left_out(void **state)
{
    (void)state;
    hold("time,temp_c,rh\n" ROW "18,\n2026-11-20 14:31,,55\n2026-11-20 14:32,,\n,,\n2026-11-20 14:33,18\n",
         "2026-11-20T13:30:00Z 18 -\n2026-11-20T13:31:00Z - 55\n2026-11-20T13:33:00Z 18 -\n");
    assert_int_equal(file.summary.count, 3);
    assert_int_equal(file.summary.empty, 2);
    assert_int_equal(file.summary.measured[AIR_RH], 1);
    assert_int_equal(file.summary.first_ms, at("2026-11-20T13:30:00Z"));
    assert_int_equal(file.summary.last_ms, at("2026-11-20T13:33:00Z"));
}

static void numbers_are_numbers(void **state)
{
    (void)state;
    hold("time;temp_c;rh\n2026-11-20 14:30;-3,5;100\n", "2026-11-20T13:30:00Z -3.5 100\n");
    hold("time,temp_c,rh\n" ROW "+3.5,55 %\n", "2026-11-20T13:30:00Z 3.5 55\n");
    hold("time,temp_c,rh\n" ROW "18,104.9\n", "2026-11-20T13:30:00Z 18 100\n"); /* a wet element */
    refuse("time,temp_c\n" ROW "warm\n", 2, "column \"temp_c\": \"warm\" is no number: write it like 18.2, or leave it empty");
    refuse("time,temp_c\n" ROW "NaN\n", 2, "is no number");
    refuse("time,temp_c\n" ROW "0x12\n", 2, "is no number");
    refuse("time,temp_c\n" ROW "1.2.3\n", 2, "is no number");
    refuse("time,temp_c\n" ROW "\"18,2\"\n", 2, "is no number");
    refuse("time,temp_c,rh\n" ROW "18,dry\n", 2, "column \"rh\": \"dry\" is no number");
    refuse("time,temp_c,rh\n" ROW "18,2,55\n", 2, "it has 4 columns where the header has 3: a decimal comma wants quotes");
}

static void air_that_cannot_be_is_refused(void **state)
{
    (void)state;
    refuse("time,temp_c\n" ROW "-40.1\n", 2, "\"-40.1\", -40.1 C, is no air of this room: -40 to 60 C will do");
    refuse("time,temp_c\n" ROW "85\n", 2, "is no air of this room");
    refuse("time,temp_f\n" ROW "141\n", 2, "\"141\", 60.6 C, is no air");
    refuse("time,temp_c,rh\n" ROW "18,105.1\n", 2, "\"105.1\", 105.1 %, is no humidity");
    refuse("time,temp_c,rh\n" ROW "18,-1\n", 2, "is no humidity");
    terms.place_kind = PLACE_OVEN;
    hold("time,temp_c,rh\n" ROW "180,0.5\n", "2026-11-20T13:30:00Z 180 0.5\n");
    refuse("time,temp_c\n" ROW "301\n", 2, "is no air of this oven");
}

static void the_recorded_air_is_read_whole(void **state)
{
    (void)state;
    static const char *const recorded[] = {"tests/reference/air/office_minutes.csv", "tests/reference/air/airport_hours.csv"};
    static const unsigned long rows[] = {8143, 8702};
    terms.column[AIR_COLUMN_TEMP] = "air_c";
    for (unsigned i = 0; i < 2; i++) {
        struct coat_error error = {0};
        struct reading reading;
        bool more = true;
        terms.path = recorded[i];
        enum coat_result result = air_file_open(&file, &terms, &error);
        while (result == COAT_OK && more)
            result = air_file_next(&file, &reading, &more, &error);
        air_file_close(&file);
        if (result != COAT_OK)
            fail_msg("%s", error.text);
        assert_int_equal(file.summary.count, rows[i]);
        assert_int_equal(file.summary.measured[AIR_TEMP], rows[i]);
        assert_int_equal(file.summary.measured[AIR_RH], rows[i]);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup(columns_are_found_by_what_they_are_called, set_up),
        cmocka_unit_test_setup(columns_may_be_named, set_up),
        cmocka_unit_test_setup(a_missing_or_doubtful_column_is_asked_back, set_up),
        cmocka_unit_test_setup(units_come_from_header_or_option, set_up),
        cmocka_unit_test_setup(one_column_has_one_unit, set_up),
        cmocka_unit_test_setup(shares_must_say_that_they_are, set_up),
        cmocka_unit_test_setup(times_are_read_as_they_come, set_up),
        cmocka_unit_test_setup(times_that_cannot_be_are_refused, set_up),
        cmocka_unit_test_setup(an_hour_that_came_twice_is_taken_in_the_order_of_the_file, set_up),
        cmocka_unit_test_setup(what_was_not_measured_is_left_out, set_up),
        cmocka_unit_test_setup(numbers_are_numbers, set_up),
        cmocka_unit_test_setup(air_that_cannot_be_is_refused, set_up),
        cmocka_unit_test_setup(the_recorded_air_is_read_whole, set_up),
    };
    return cmocka_run_group_tests(tests, set_up_all, tear_down_all);
}
