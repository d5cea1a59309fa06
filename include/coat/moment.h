/* Moments: int64_t milliseconds since 1970-01-01T00:00:00Z, and RFC 3339 text. Pure (zones are the caller's). */
#ifndef COAT_MOMENT_H
#define COAT_MOMENT_H

#include "coat/result.h"

#include <stddef.h>
#include <stdint.h>

#define MS_PER_S INT64_C(1000)
#define MS_PER_MIN INT64_C(60000)
#define MS_PER_H INT64_C(3600000)
#define MS_PER_DAY INT64_C(86400000)
#define MOMENT_NONE INT64_MIN /* "never" or "not known", as each user says */
#define MOMENT_TEXT_SIZE 32

/* RFC 3339 with any offset, "T" or a space between, optional fraction (kept to the millisecond). A time without an
 * offset is refused. Years 1970 to 2999. COAT_BAD_VALUE otherwise, *ret untouched. */
COAT_CHECKED enum coat_result moment_parse(const char *text, int64_t *ret_ms, struct coat_error *error);

/* "2026-11-28T14:35:00Z", with ".250" only where the milliseconds are not zero. Returns text. */
char *moment_print(int64_t at_ms, char text[MOMENT_TEXT_SIZE]);

/* The UTC day of a moment (floor division, also before 1970) and its first millisecond. */
int64_t moment_day(int64_t at_ms);
int64_t moment_day_start(int64_t day);

/* The sooner of two moments; MOMENT_NONE is "never". */
int64_t moment_sooner(int64_t a, int64_t b);
/* The next moment after from_ms: `next` (which lies after it, or is MOMENT_NONE), or `at` where that lies after from_ms too and comes before it. */
int64_t moment_sooner_after(int64_t next, int64_t at, int64_t from_ms);

struct civil_time {
    int year, month, day, hour, minute, second; /* month and day from 1 */
    int weekday;                                /* 0 is Sunday */
};
/* Proleptic Gregorian, UTC. */
struct civil_time moment_civil(int64_t at_ms);
int64_t moment_from_civil(struct civil_time civil);

/* As people say them. local_ms is what the clocks of a zone show, counted as if it were UTC. */
/* "14:05" today, "Mon 14:05" within six days, "12 Dec 14:05" beyond, with the year where it is another; MOMENT_NONE: "not known". Returns text. */
char *moment_print_near(int64_t local_ms, int64_t now_local_ms, char text[MOMENT_TEXT_SIZE]);
/* "Sat 28 Nov 14:35" */
char *moment_print_full(int64_t local_ms, char text[MOMENT_TEXT_SIZE]);
/* "31 Mar 2027" */
char *moment_print_day(int64_t local_ms, char text[MOMENT_TEXT_SIZE]);

#endif
