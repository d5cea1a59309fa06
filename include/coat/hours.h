/* Local time of day: quiet hours, working hours, mornings. Pure: what a zone's clocks show is a function of the caller's. */
#ifndef COAT_HOURS_H
#define COAT_HOURS_H

#include <stdbool.h>
#include <stdint.h>

struct local_zone {
    const char *name;                                        /* IANA name */
    int64_t (*offset_ms)(const char *zone, int64_t at_ms);   /* local less UTC; NULL: UTC */
};

/* A span of each local day in minutes after midnight; equal ends: none; an end before its beginning: over midnight. */
struct day_hours {
    int32_t from_min, to_min;
};

/* The minute of the local day, 0 to 1439. */
int32_t local_minute(const struct local_zone *zone, int64_t at_ms);
/* The next moment after after_ms at which local clocks show that minute. Where they skip it: when they would have shown it had they not been put
 * on; where they show it twice: the first time that is after after_ms. */
int64_t local_next(const struct local_zone *zone, int32_t minute, int64_t after_ms);

/* Whether a moment lies in the hours (its beginning does, its end does not). */
bool hours_hold(const struct local_zone *zone, struct day_hours hours, int64_t at_ms);
/* The end of the hours in which at_ms lies; at_ms itself where it lies in none. */
int64_t hours_end(const struct local_zone *zone, struct day_hours hours, int64_t at_ms);

/* When the end of a window is to be told: lead_ms before it; where that or the end itself falls into quiet hours, lead_ms (at least a quarter of an hour) before
 * these begin, so that there is as much time to act as ever. */
#define QUIET_AHEAD_LEAST_MS INT64_C(900000)
int64_t closing_told_at(const struct local_zone *zone, struct day_hours quiet, int64_t lead_ms, int64_t closes_at);
/* The next moment after after_ms at which closings of quiet hours are told; INT64_MIN where there are no such hours. */
int64_t quiet_evening_next(const struct local_zone *zone, struct day_hours quiet, int64_t lead_ms, int64_t after_ms);

#endif
