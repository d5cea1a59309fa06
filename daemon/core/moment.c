#include "coat/moment.h"

#include <stdbool.h>
#include <stdio.h>

#define DAYS_0000_TO_1970 719468 /* from 1 March of the year 0 to 1 January 1970 */
#define DAYS_IN_ERA 146097       /* 400 years, after which the calendar repeats */
#define EARLIEST_MS INT64_C(0)
#define LATEST_MS INT64_C(32503680000000) /* 3000-01-01T00:00:00Z */

int64_t moment_day(int64_t at_ms)
{
    int64_t day = at_ms / MS_PER_DAY;
    return at_ms % MS_PER_DAY < 0 ? day - 1 : day;
}

int64_t moment_day_start(int64_t day)
{
    int64_t start_ms = 0;
    if (__builtin_mul_overflow(day, MS_PER_DAY, &start_ms))
        return day < 0 ? INT64_MIN : INT64_MAX;
    return start_ms;
}

static int64_t floor_divide(int64_t a, int64_t b)
{
    return a / b - (a % b < 0 ? 1 : 0);
}

/* Years are counted from March, so that the leap day is the last of its year and months follow a straight line
 * (153 days in five months). Exact in the proleptic Gregorian calendar. */
static int64_t day_from_date(int64_t year, int64_t month, int64_t day)
{
    int64_t march_year = month <= 2 ? year - 1 : year;
    int64_t march_month = month <= 2 ? month + 9 : month - 3;
    int64_t era = floor_divide(march_year, 400);
    int64_t year_of_era = march_year - era * 400;
    int64_t day_of_year = (153 * march_month + 2) / 5 + day - 1;
    int64_t day_of_era = year_of_era * 365 + year_of_era / 4 - year_of_era / 100 + day_of_year;
    return era * DAYS_IN_ERA + day_of_era - DAYS_0000_TO_1970;
}

static void date_from_day(int64_t day, struct civil_time *civil)
{
    int64_t shifted = day + DAYS_0000_TO_1970;
    int64_t era = floor_divide(shifted, DAYS_IN_ERA);
    int64_t day_of_era = shifted - era * DAYS_IN_ERA;
    int64_t year_of_era =
        (day_of_era - day_of_era / 1460 + day_of_era / 36524 - day_of_era / (DAYS_IN_ERA - 1)) / 365;
    int64_t day_of_year = day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    int64_t march_month = (5 * day_of_year + 2) / 153;
    civil->day = (int)(day_of_year - (153 * march_month + 2) / 5 + 1);
    civil->month = (int)(march_month < 10 ? march_month + 3 : march_month - 9);
    civil->year = (int)(year_of_era + era * 400 + (civil->month <= 2 ? 1 : 0));
}

struct civil_time moment_civil(int64_t at_ms)
{
    int64_t day = moment_day(at_ms);
    int64_t ms_of_day = at_ms % MS_PER_DAY;
    if (ms_of_day < 0)
        ms_of_day += MS_PER_DAY;
    struct civil_time civil = {
        .hour = (int)(ms_of_day / MS_PER_H),
        .minute = (int)(ms_of_day / MS_PER_MIN % 60),
        .second = (int)(ms_of_day / MS_PER_S % 60),
        .weekday = (int)(((day + 4) % 7 + 7) % 7), /* 1970-01-01 was a Thursday */
    };
    date_from_day(day, &civil);
    return civil;
}

int64_t moment_from_civil(struct civil_time civil)
{
    return day_from_date(civil.year, civil.month, civil.day) * MS_PER_DAY + civil.hour * MS_PER_H +
           civil.minute * MS_PER_MIN + civil.second * MS_PER_S;
}

char *moment_print(int64_t at_ms, char text[MOMENT_TEXT_SIZE])
{
    if (at_ms == MOMENT_NONE) {
        snprintf(text, MOMENT_TEXT_SIZE, "none");
        return text;
    }
    struct civil_time at = moment_civil(at_ms);
    int ms = (int)(at_ms % MS_PER_S);
    if (ms < 0)
        ms += (int)MS_PER_S;
    char fraction[8] = "";
    if (ms != 0)
        snprintf(fraction, sizeof fraction, ".%03d", ms);
    snprintf(text, MOMENT_TEXT_SIZE, "%04d-%02d-%02dT%02d:%02d:%02d%sZ", at.year, at.month, at.day, at.hour, at.minute,
             at.second, fraction);
    return text;
}

/* Reads exactly `digits` digits and moves on. */
static bool take_number(const char **at, int digits, int low, int high, int *ret)
{
    int value = 0;
    for (int i = 0; i < digits; i++) {
        if ((*at)[i] < '0' || (*at)[i] > '9')
            return false;
        value = value * 10 + ((*at)[i] - '0');
    }
    if (value < low || value > high)
        return false;
    *at += digits;
    *ret = value;
    return true;
}

static bool take_one_of(const char **at, const char *set, char *ret)
{
    for (; *set != '\0'; set++) {
        if (**at == *set) {
            *ret = *set;
            (*at)++;
            return true;
        }
    }
    return false;
}

static int days_in_month(int year, int month)
{
    static const int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    bool leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    return month == 2 && leap ? 29 : days[month - 1];
}

static bool take_date(const char **at, struct civil_time *civil)
{
    char dash = 0;
    return take_number(at, 4, 0, 9999, &civil->year) && take_one_of(at, "-", &dash) &&
           take_number(at, 2, 1, 12, &civil->month) && take_one_of(at, "-", &dash) &&
           take_number(at, 2, 1, days_in_month(civil->year, civil->month), &civil->day);
}

static bool take_time(const char **at, struct civil_time *civil)
{
    char colon = 0;
    return take_number(at, 2, 0, 23, &civil->hour) && take_one_of(at, ":", &colon) &&
           take_number(at, 2, 0, 59, &civil->minute) && take_one_of(at, ":", &colon) &&
           take_number(at, 2, 0, 59, &civil->second);
}

/* The fraction is cut to milliseconds; a point without digits is refused. */
static bool take_fraction(const char **at, int *ret_ms)
{
    char point = 0;
    int ms = 0;
    int digits = 0;
    *ret_ms = 0;
    if (!take_one_of(at, ".", &point))
        return true;
    for (; **at >= '0' && **at <= '9'; (*at)++) {
        if (digits < 3)
            ms = ms * 10 + (**at - '0');
        digits += digits < 3 ? 1 : 0;
    }
    if (digits == 0)
        return false;
    for (; digits < 3; digits++)
        ms *= 10;
    *ret_ms = ms;
    return true;
}

/* "Z" or "+hh:mm"; *ret_min is minutes east of UTC. */
static bool take_offset(const char **at, int *ret_min)
{
    char sign = 0;
    char colon = 0;
    int hour = 0;
    int minute = 0;
    *ret_min = 0;
    if (take_one_of(at, "Zz", &sign))
        return true;
    if (!take_one_of(at, "+-", &sign) || !take_number(at, 2, 0, 23, &hour) || !take_one_of(at, ":", &colon) ||
        !take_number(at, 2, 0, 59, &minute))
        return false;
    *ret_min = (sign == '-' ? -1 : 1) * (hour * 60 + minute);
    return true;
}

#define MOMENT_EXAMPLE "for example 2026-11-28T14:35:00Z or 2026-11-28T15:35:00+01:00"

enum coat_result moment_parse(const char *text, int64_t *ret_ms, struct coat_error *error)
{
    struct civil_time civil = {0};
    char separator = 0;
    int ms = 0;
    int offset_min = 0;
    const char *at = text;
    if (!take_date(&at, &civil) || !take_one_of(&at, "Tt ", &separator) || !take_time(&at, &civil) ||
        !take_fraction(&at, &ms))
        return coat_fail(error, COAT_BAD_VALUE, "", "\"%.40s\" is no date and time: write year, month, day and time, "
                         MOMENT_EXAMPLE, text);
    if (*at == '\0')
        return coat_fail(error, COAT_BAD_VALUE, "", "\"%.40s\" does not say its zone: end it with Z for UTC or with the "
                         "offset, " MOMENT_EXAMPLE, text);
    if (!take_offset(&at, &offset_min) || *at != '\0')
        return coat_fail(error, COAT_BAD_VALUE, "", "\"%.40s\" ends in something that is no zone: write Z or an offset, "
                         MOMENT_EXAMPLE, text);
    int64_t at_ms = moment_from_civil(civil) + ms - offset_min * MS_PER_MIN;
    if (at_ms < EARLIEST_MS || at_ms >= LATEST_MS)
        return coat_fail(error, COAT_BAD_VALUE, "", "\"%.40s\" is outside the years 1970 to 2999", text);
    *ret_ms = at_ms;
    return COAT_OK;
}

int64_t moment_sooner(int64_t a, int64_t b)
{
    if (a == MOMENT_NONE || b == MOMENT_NONE)
        return a == MOMENT_NONE ? b : a;
    return a < b ? a : b;
}

int64_t moment_sooner_after(int64_t next, int64_t at, int64_t from_ms)
{
    return at == MOMENT_NONE || at <= from_ms ? next : moment_sooner(next, at);
}

/* ---- as people say them ---- */

static const char *const weekday_names[] = {"Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"};
static const char *const month_names[] = {"Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};

static const char *weekday_of(const struct civil_time *civil)
{
    return weekday_names[(unsigned)civil->weekday % 7];
}

static const char *month_of(const struct civil_time *civil)
{
    return month_names[(unsigned)(civil->month - 1) % 12];
}

char *moment_print_near(int64_t local_ms, int64_t now_local_ms, char text[MOMENT_TEXT_SIZE])
{
    struct civil_time civil = moment_civil(local_ms == MOMENT_NONE ? 0 : local_ms);
    int64_t days = moment_day(local_ms) - moment_day(now_local_ms);
    int minute = civil.minute % 60, hour = civil.hour % 24;
    if (local_ms == MOMENT_NONE)
        snprintf(text, MOMENT_TEXT_SIZE, "not known");
    else if (days == 0)
        snprintf(text, MOMENT_TEXT_SIZE, "%02d:%02d", hour, minute);
    else if (days > -6 && days < 6)
        snprintf(text, MOMENT_TEXT_SIZE, "%s %02d:%02d", weekday_of(&civil), hour, minute);
    else if (civil.year == moment_civil(now_local_ms).year || (days > 0 && days < 180))
        snprintf(text, MOMENT_TEXT_SIZE, "%d %s %02d:%02d", civil.day, month_of(&civil), hour, minute);
    else
        snprintf(text, MOMENT_TEXT_SIZE, "%d %s %d %02d:%02d", civil.day, month_of(&civil), civil.year, hour, minute);
    return text;
}

char *moment_print_full(int64_t local_ms, char text[MOMENT_TEXT_SIZE])
{
    struct civil_time civil = moment_civil(local_ms);
    snprintf(text, MOMENT_TEXT_SIZE, "%s %d %s %02d:%02d", weekday_of(&civil), civil.day, month_of(&civil), civil.hour, civil.minute);
    return text;
}

char *moment_print_day(int64_t local_ms, char text[MOMENT_TEXT_SIZE])
{
    struct civil_time civil = moment_civil(local_ms);
    snprintf(text, MOMENT_TEXT_SIZE, "%d %s %d", civil.day, month_of(&civil), civil.year);
    return text;
}
