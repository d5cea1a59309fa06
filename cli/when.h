/* Moments as people say them, in the shop's zone. The zone is the C library's (TZ), set once; `now` is always told. */
#ifndef CLI_WHEN_H
#define CLI_WHEN_H

#include "coat/moment.h"
#include "coat/result.h"

#include <stdbool.h>

#define WHEN_TEXT_SIZE 40 /* MOMENT_TEXT_SIZE at least */

/* Makes `zone` (an IANA name) the zone of this process. false where this machine does not know it: then it is UTC. */
bool when_set_zone(const char *zone);

/* "14:30" (the latest one past), "20 min ago", "yesterday 18:00", "Tue 18:00" (likewise), "2026-11-25 18:00", "now" or
 * RFC 3339. A moment after now_ms is refused. So is a local time that the change of the clocks left out; one that came
 * twice is refused unless only one of the two is past, and *error then names both in RFC 3339: nobody but the reader
 * knows which was meant, and an hour either way moves a window. *ret untouched on failure. */
COAT_CHECKED enum coat_result when_parse(const char *text, int64_t now_ms, int64_t *ret_ms, struct coat_error *error);

/* The moments at which the wall clock shows local_ms (counted as if it were UTC), in order: none in the hour that a change of the
 * clocks leaves out, two in the hour that comes twice. */
int when_moments_of_local(int64_t local_ms, int64_t ret[2]);

/* "2027-03-31" or "2027-03", as tins print: the local day or month, from *ret_first_ms up to, but without, *ret_after_ms. */
bool when_parse_date(const char *text, int64_t *ret_first_ms, int64_t *ret_after_ms);

/* "22:00" to minutes after midnight. */
bool when_parse_clock(const char *text, int *ret_min);

/* "14:05" today, "Mon 14:05" within six days, "12 Dec 14:05" beyond, with the year where it is another. Returns text. */
char *when_print(int64_t at_ms, int64_t now_ms, char text[WHEN_TEXT_SIZE]);
/* "Sat 28 Nov 14:35". */
char *when_print_full(int64_t at_ms, char text[WHEN_TEXT_SIZE]);
/* "31 Mar 2027", the local day. */
char *when_print_date(int64_t at_ms, char text[WHEN_TEXT_SIZE]);
/* What the clocks of the zone show, counted as if it were UTC. */
int64_t when_local_of(int64_t at_ms);
/* Minutes of the local day. */
int when_minute_of_day(int64_t at_ms);

#endif
