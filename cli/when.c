#include "cli/when.h"

#include "coat/quantity.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <time.h>
#include <unistd.h>

#define SPOKEN_SIZE 64
#define DAY_MIN 1440

static const char *const weekdays[] = {"sunday", "monday", "tuesday", "wednesday", "thursday", "friday", "saturday"};

static bool zone_is_known(const char *zone)
{
    const char *folder = getenv("TZDIR");
    char path[512];
    int length = snprintf(path, sizeof path, "%s/%s", folder != NULL ? folder : "/usr/share/zoneinfo", zone);
    return zone[0] != '\0' && zone[0] != '/' && strstr(zone, "..") == NULL && length < (int)sizeof path &&
           access(path, R_OK) == 0;
}

bool when_set_zone(const char *zone)
{
    bool known = zone_is_known(zone);
    setenv("TZ", known ? zone : "UTC0", 1);
    tzset();
    return known || strcmp(zone, "UTC") == 0;
}

static int64_t offset_ms(int64_t at_ms)
{
    time_t at_s = (time_t)(at_ms >= 0 ? at_ms / MS_PER_S : (at_ms - MS_PER_S + 1) / MS_PER_S);
    struct tm local;
    return localtime_r(&at_s, &local) != NULL ? (int64_t)local.tm_gmtoff * MS_PER_S : 0;
}

/* "Local milliseconds" are what the wall clock shows, counted as if it were UTC: plain integers to reckon days with. */
static int64_t local_from(int64_t at_ms)
{
    return at_ms + offset_ms(at_ms);
}

int when_moments_of_local(int64_t local_ms, int64_t ret[2])
{
    int64_t before = local_ms - offset_ms(local_ms - MS_PER_DAY);
    int64_t after = local_ms - offset_ms(local_ms + MS_PER_DAY);
    int64_t first = before < after ? before : after;
    int64_t second = before < after ? after : before;
    int count = 0;
    if (local_from(first) == local_ms)
        ret[count++] = first;
    if (second != first && local_from(second) == local_ms)
        ret[count++] = second;
    return count;
}

/* ---- reading ---- */

static bool take_two_digits(const char **at, int *ret)
{
    if (!isdigit((unsigned char)**at))
        return false;
    *ret = *(*at)++ - '0';
    if (isdigit((unsigned char)**at))
        *ret = *ret * 10 + (*(*at)++ - '0');
    return true;
}

/* "8:05", "14:30" or "14:30:20" and nothing after it, in milliseconds after midnight. */
static bool read_clock(const char *text, int64_t *ret_ms)
{
    int hour = 0, minute = 0, second = 0;
    if (!take_two_digits(&text, &hour) || *text++ != ':' || !take_two_digits(&text, &minute))
        return false;
    if (text[-2] == ':') /* "14:3" is a slip, not three minutes past */
        return false;
    if (*text == ':' && (text++, !take_two_digits(&text, &second)))
        return false;
    if (*text != '\0' || hour > 23 || minute > 59 || second > 59)
        return false;
    *ret_ms = hour * MS_PER_H + minute * MS_PER_MIN + second * MS_PER_S;
    return true;
}

bool when_parse_clock(const char *text, int *ret_min)
{
    int64_t clock_ms = 0;
    if (!read_clock(text, &clock_ms))
        return false;
    *ret_min = (int)(clock_ms / MS_PER_MIN);
    return true;
}

/* "2026-11-25" to the UTC day of that date. */
static bool read_date(const char *text, int64_t *ret_day)
{
    char whole[SPOKEN_SIZE];
    int64_t at_ms = 0;
    if (strlen(text) != 10)
        return false;
    snprintf(whole, sizeof whole, "%sT00:00:00Z", text);
    if (moment_parse(whole, &at_ms, NULL) != COAT_OK)
        return false;
    *ret_day = moment_day(at_ms);
    return true;
}

/* The first moment of a local day; where the clocks skip midnight, that of the change. */
static int64_t day_begins(int64_t day)
{
    int64_t moment[2];
    int64_t local_ms = moment_day_start(day);
    while (when_moments_of_local(local_ms, moment) == 0)
        local_ms += 15 * MS_PER_MIN;
    return moment[0];
}

bool when_parse_date(const char *text, int64_t *ret_first_ms, int64_t *ret_after_ms)
{
    char whole[SPOKEN_SIZE];
    int64_t first = 0, after = 0;
    bool month = strlen(text) == 7;
    snprintf(whole, sizeof whole, "%.10s%s", text, month ? "-01" : "");
    if (strlen(text) > 10 || !read_date(whole, &first))
        return false;
    after = first + (month ? 31 : 1);
    if (month)
        after -= moment_civil(moment_day_start(after)).day - 1; /* back to the first of the next month */
    *ret_first_ms = day_begins(first);
    *ret_after_ms = day_begins(after);
    return true;
}

/* 0 is Sunday; at least three letters of the name. */
static int read_weekday(const char *text)
{
    size_t length = strlen(text);
    for (int day = 0; length >= 3 && day < 7; day++) {
        if (strncmp(weekdays[day], text, length) == 0)
            return day;
    }
    return -1;
}

/* The day (of the local calendar) that was meant, given today and whether the clock time is still to come today. */
static bool read_day(const char *text, int64_t today, bool later_today, int64_t *ret_day)
{
    int weekday = read_weekday(text);
    int today_weekday = moment_civil(moment_day_start(today)).weekday;
    if (weekday >= 0) {
        int back = (today_weekday - weekday + 7) % 7;
        *ret_day = today - (back == 0 && later_today ? 7 : back);
        return true;
    }
    if (strcmp(text, "") == 0) {
        *ret_day = later_today ? today - 1 : today;
        return true;
    }
    if (strcmp(text, "today") == 0 || strcmp(text, "yesterday") == 0) {
        *ret_day = text[0] == 't' ? today : today - 1;
        return true;
    }
    return read_date(text, ret_day);
}

static enum coat_result fail_form(const char *text, struct coat_error *error)
{
    return coat_fail(error, COAT_BAD_VALUE, "at",
                     "\"%.60s\" is no time: write 14:30, \"20 min ago\", \"yesterday 18:00\", \"Tue 18:00\", "
                     "\"2026-11-25 18:00\" or RFC 3339",
                     text);
}

static enum coat_result check_past(const char *text, int64_t at_ms, int64_t now_ms, struct coat_error *error)
{
    char now[WHEN_TEXT_SIZE];
    if (at_ms <= now_ms)
        return COAT_OK;
    return coat_fail(error, COAT_BAD_VALUE, "at", "\"%.60s\" is still to come (it is %s): write a time that is past", text,
                     when_print_full(now_ms, now));
}

/* RFC 3339 with the offset that holds then. */
static char *print_offset(int64_t at_ms, char text[WHEN_TEXT_SIZE])
{
    struct civil_time civil = moment_civil(local_from(at_ms));
    int offset_min = (int)(offset_ms(at_ms) / MS_PER_MIN);
    int size = abs(offset_min);
    snprintf(text, WHEN_TEXT_SIZE, "%04d-%02d-%02dT%02d:%02d:%02d%c%02d:%02d", civil.year, civil.month, civil.day,
             civil.hour, civil.minute, civil.second, offset_min < 0 ? '-' : '+', size / 60, size % 60);
    return text;
}

static enum coat_result from_local(const char *text, int64_t local_ms, int64_t now_ms, int64_t *ret_ms,
                                   struct coat_error *error)
{
    int64_t moment[2];
    char first[WHEN_TEXT_SIZE], second[WHEN_TEXT_SIZE];
    int count = when_moments_of_local(local_ms, moment);
    if (count == 0)
        return coat_fail(error, COAT_BAD_VALUE, "at",
                         "\"%.60s\" was left out when the clocks went forward that night: write a time before or after",
                         text);
    if (count == 2 && moment[1] <= now_ms)
        return coat_fail(error, COAT_BAD_VALUE, "at",
                         "\"%.60s\" came twice when the clocks went back that night: write %s for the first or %s for the "
                         "second",
                         text, print_offset(moment[0], first), print_offset(moment[1], second));
    enum coat_result result = check_past(text, moment[0], now_ms, error);
    if (result == COAT_OK)
        *ret_ms = moment[0];
    return result;
}

/* "20 min" of "20 min ago". */
static enum coat_result parse_ago(const char *text, char *spoken, int64_t now_ms, int64_t *ret_ms,
                                  struct coat_error *error)
{
    double ago_s = 0.0;
    spoken[strlen(spoken) - strlen("ago")] = '\0';
    enum coat_result result = quantity_parse(QUANTITY_DURATION, spoken, &ago_s, error);
    if (result != COAT_OK)
        return result;
    if (ago_s * 1e3 > (double)now_ms)
        return fail_form(text, error); /* before 1970 */
    *ret_ms = now_ms - llround(ago_s * 1e3);
    return COAT_OK;
}

/* Lower case, without space at the ends; false where it is too long to be a time. */
static bool normalise(const char *text, char spoken[SPOKEN_SIZE])
{
    while (isspace((unsigned char)*text))
        text++;
    size_t length = strlen(text);
    while (length > 0 && isspace((unsigned char)text[length - 1]))
        length--;
    if (length == 0 || length >= SPOKEN_SIZE)
        return false;
    for (size_t i = 0; i < length; i++)
        spoken[i] = (char)tolower((unsigned char)text[i]);
    spoken[length] = '\0';
    return true;
}

static bool ends_with(const char *text, const char *end)
{
    size_t length = strlen(text), tail = strlen(end);
    return length >= tail && strcmp(text + length - tail, end) == 0;
}

/* Splits "tue 18:00" and "2026-11-25t18:00" before the clock; returns the clock, *day "" where there is none. */
static char *split_clock(char *spoken, const char **ret_day)
{
    char *space = strrchr(spoken, ' ');
    char *joint = space == NULL && strlen(spoken) > 11 && spoken[10] == 't' ? spoken + 10 : space;
    if (joint == NULL) {
        *ret_day = "";
        return spoken;
    }
    char *clock = joint + 1;
    while (joint > spoken && joint[-1] == ' ')
        joint--;
    *joint = '\0';
    *ret_day = spoken;
    return clock;
}

enum coat_result when_parse(const char *text, int64_t now_ms, int64_t *ret_ms, struct coat_error *error)
{
    char spoken[SPOKEN_SIZE];
    int64_t at_ms = 0, clock_ms = 0, day = 0;
    if (!normalise(text, spoken))
        return fail_form(text, error);
    if (strcmp(spoken, "now") == 0) {
        *ret_ms = now_ms;
        return COAT_OK;
    }
    if (ends_with(spoken, "ago"))
        return parse_ago(text, spoken, now_ms, ret_ms, error);
    if (moment_parse(text, &at_ms, NULL) == COAT_OK) {
        enum coat_result result = check_past(text, at_ms, now_ms, error);
        if (result == COAT_OK)
            *ret_ms = at_ms;
        return result;
    }
    const char *day_text = "";
    const char *clock_text = split_clock(spoken, &day_text);
    int64_t now_local = local_from(now_ms), today = moment_day(now_local);
    if (!read_clock(clock_text, &clock_ms) ||
        !read_day(day_text, today, moment_day_start(today) + clock_ms > now_local, &day))
        return fail_form(text, error);
    return from_local(text, moment_day_start(day) + clock_ms, now_ms, ret_ms, error);
}

/* ---- printing ---- */

char *when_print(int64_t at_ms, int64_t now_ms, char text[WHEN_TEXT_SIZE])
{
    int64_t local_ms = at_ms == MOMENT_NONE ? MOMENT_NONE : local_from(at_ms);
    return moment_print_near(local_ms, local_from(now_ms), text);
}

char *when_print_full(int64_t at_ms, char text[WHEN_TEXT_SIZE])
{
    return moment_print_full(local_from(at_ms), text);
}

char *when_print_date(int64_t at_ms, char text[WHEN_TEXT_SIZE])
{
    return moment_print_day(local_from(at_ms), text);
}

int64_t when_local_of(int64_t at_ms)
{
    return local_from(at_ms);
}

int when_minute_of_day(int64_t at_ms)
{
    int64_t local_ms = local_from(at_ms);
    return (int)((local_ms - moment_day_start(moment_day(local_ms))) / MS_PER_MIN) % DAY_MIN;
}
