#include "coat/hours.h"

#include "coat/moment.h"

#define MINUTES_A_DAY 1440

static int64_t offset_at(const struct local_zone *zone, int64_t at_ms)
{
    return zone->offset_ms != NULL ? zone->offset_ms(zone->name, at_ms) : 0;
}

int32_t local_minute(const struct local_zone *zone, int64_t at_ms)
{
    int64_t local_ms = at_ms + offset_at(zone, at_ms);
    return (int32_t)((local_ms - moment_day_start(moment_day(local_ms))) / MS_PER_MIN);
}

/* What wall_ms, the face of a local clock as if it were UTC, is in UTC: the first such moment after after_ms, or MOMENT_NONE. Clocks change once
 * a day at most: the offsets of the day before and the day after are the two that can be in force. */
static int64_t moment_of_wall(const struct local_zone *zone, int64_t wall_ms, int64_t after_ms)
{
    int64_t before = offset_at(zone, wall_ms - MS_PER_DAY), after = offset_at(zone, wall_ms + MS_PER_DAY);
    int64_t larger = before > after ? before : after, smaller = before > after ? after : before;
    int64_t first = wall_ms - larger, second = wall_ms - smaller;
    if (offset_at(zone, first) == larger && first > after_ms)
        return first;
    if (offset_at(zone, second) == smaller && second > after_ms)
        return second;
    bool skipped = offset_at(zone, first) != larger && offset_at(zone, second) != smaller;
    int64_t shifted = wall_ms - before;
    return skipped && shifted > after_ms ? shifted : MOMENT_NONE;
}

int64_t local_next(const struct local_zone *zone, int32_t minute, int64_t after_ms)
{
    int64_t day = moment_day(after_ms + offset_at(zone, after_ms)) - 1;
    for (int i = 0; i < 4; i++) {
        int64_t at = moment_of_wall(zone, moment_day_start(day + i) + minute * MS_PER_MIN, after_ms);
        if (at != MOMENT_NONE)
            return at;
    }
    return after_ms + MS_PER_DAY; /* a zone whose clocks do not behave: a day on is near enough */
}

bool hours_hold(const struct local_zone *zone, struct day_hours hours, int64_t at_ms)
{
    int32_t minute = local_minute(zone, at_ms);
    if (hours.from_min <= hours.to_min)
        return minute >= hours.from_min && minute < hours.to_min;
    return minute >= hours.from_min || minute < hours.to_min;
}

int64_t hours_end(const struct local_zone *zone, struct day_hours hours, int64_t at_ms)
{
    return hours_hold(zone, hours, at_ms) ? local_next(zone, hours.to_min, at_ms) : at_ms;
}

/* When the hours began that hold at at_ms. */
static int64_t begun_at(const struct local_zone *zone, struct day_hours hours, int64_t at_ms)
{
    int64_t begun = local_next(zone, hours.from_min, at_ms - MS_PER_DAY - 2 * MS_PER_H);
    for (int64_t next = begun; next <= at_ms; next = local_next(zone, hours.from_min, next))
        begun = next;
    return begun;
}

/* Told at the very beginning of quiet hours it would be held back by them. */
static int64_t ahead_of_quiet(int64_t lead_ms)
{
    return lead_ms > QUIET_AHEAD_LEAST_MS ? lead_ms : QUIET_AHEAD_LEAST_MS;
}

int64_t quiet_evening_next(const struct local_zone *zone, struct day_hours quiet, int64_t lead_ms, int64_t after_ms)
{
    int64_t ahead = ahead_of_quiet(lead_ms);
    return quiet.from_min == quiet.to_min ? MOMENT_NONE : local_next(zone, quiet.from_min, after_ms + ahead) - ahead;
}

int64_t closing_told_at(const struct local_zone *zone, struct day_hours quiet, int64_t lead_ms, int64_t closes_at)
{
    int64_t at = closes_at - lead_ms;
    if (quiet.from_min == quiet.to_min)
        return at;
    if (hours_hold(zone, quiet, at))
        return begun_at(zone, quiet, at) - ahead_of_quiet(lead_ms);
    int64_t next = local_next(zone, quiet.from_min, at);
    return next <= closes_at ? next - ahead_of_quiet(lead_ms) : at;
}
