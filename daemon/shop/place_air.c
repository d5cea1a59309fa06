/* The air of a place: the readings that its walks need, what comes to them, and the air after the last one. */
#include "daemon/shop/ledger.h"

#include "daemon/shop/list.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* What a walk from the open day on may need of the days before; as in air_read.c. */
#define KEEP_MS (54 * MS_PER_H)

/* ---- readings at hand ---- */

enum coat_result place_air_read_days(struct place_air *air, int64_t from_ms, int64_t to_ms)
{
    struct merge merge;
    history_forget(&air->day_memory);
    return place_air_read(air, from_ms, to_ms, &merge, &air->day, &air->day_capacity, &air->day_count);
}

static enum coat_result read_recent(struct place_air *air)
{
    air->last_at = MOMENT_NONE;
    air->recent_count = 0;
    history_forget(&air->recent_memory);
    merge_begin(&air->merge, air->source, air->sources);
    enum coat_result result = place_air_before(air, INT64_MAX, &air->newest_at);
    if (result != COAT_OK || air->newest_at == MOMENT_NONE)
        return result;
    /* The newest may be one that does not count: then one that does is at most a hold before it. */
    int64_t open_day = moment_day_start(moment_day(air->newest_at - READING_HOLD_MAX_S * MS_PER_S));
    result = place_air_read(air, open_day, air->newest_at + 1, &air->merge, &air->recent, &air->recent_capacity, &air->recent_count);
    if (result != COAT_OK || air->recent_count == 0)
        return result;
    air->last_at = air->recent[air->recent_count - 1].at_ms;
    air->assumption = history_assume(air->recent, air->recent_count);
    return COAT_OK;
}

/* Drops readings that no walk from the open day on needs. */
static void prune_recent(struct place_air *air)
{
    int64_t open_day = moment_day_start(moment_day(air->last_at));
    size_t before = 0;
    while (before + 1 < air->recent_count && air->recent[before + 1].at_ms <= open_day)
        before++;
    int64_t begin = air->recent[before].at_ms - KEEP_MS;
    size_t drop = 0;
    while (drop < air->recent_count && air->recent[drop].at_ms < begin)
        drop++;
    if (drop < air->recent_count / 2)
        return; /* moving little is not worth it */
    air->recent_count -= drop;
    history_forget(&air->recent_memory);
    memmove(air->recent, air->recent + drop, air->recent_count * sizeof *air->recent);
}

enum coat_result place_air_load_day(struct place_air *air, int64_t day)
{
    if (air->day_cached == day)
        return COAT_OK;
    air->day_cached = MOMENT_NONE;
    enum coat_result result = place_air_read_days(air, moment_day_start(day), moment_day_start(day + 1));
    if (result == COAT_OK)
        air->day_cached = day;
    return result;
}

int64_t place_air_hold_end(const struct place_air *air)
{
    if (air->last_at == MOMENT_NONE)
        return MOMENT_NONE;
    return air->last_at + air->recent[air->recent_count - 1].hold_s * MS_PER_S;
}

static bool keep_step(const struct air_step *step, void *context)
{
    *(struct air_step *)context = *step;
    return false;
}

enum coat_result place_air_at(struct place_air *air, int64_t at_ms, struct air_step *ret)
{
    struct air_step step = {0, 0, (double)NAN, (double)NAN, (double)NAN, (double)NAN, AIR_ASSUMED, AIR_ASSUMED};
    int64_t day = moment_day(at_ms);
    if (air->last_at != MOMENT_NONE && day >= moment_day(air->last_at)) {
        history_walk(air->recent, air->recent_count, at_ms, at_ms + 1, SIDE_OPENING, keep_step, &step);
    } else {
        enum coat_result result = place_air_load_day(air, day);
        if (result != COAT_OK)
            return result;
        history_walk(air->day, air->day_count, at_ms, at_ms + 1, SIDE_OPENING, keep_step, &step);
    }
    *ret = step;
    return COAT_OK;
}

struct stopping {
    history_visitor visit;
    void *context;
    bool stopped;
};

static bool visit_and_note_stop(const struct air_step *step, void *context)
{
    struct stopping *stopping = context;
    stopping->stopped = !stopping->visit(step, stopping->context);
    return !stopping->stopped;
}

enum coat_result place_air_walk(struct place_air *air, int64_t from_ms, int64_t to_ms, enum law_side side,
                                history_visitor visit, void *context)
{
    struct stopping stopping = {visit, context, false};
    for (int64_t from = from_ms; from < to_ms && !stopping.stopped;) {
        int64_t end = from + DAYS_AT_ONCE * MS_PER_DAY < to_ms ? from + DAYS_AT_ONCE * MS_PER_DAY : to_ms;
        air->day_cached = MOMENT_NONE;
        enum coat_result result = place_air_read_days(air, from, end);
        if (result != COAT_OK)
            return result;
        history_walk(air->day, air->day_count, from, end, side, visit_and_note_stop, &stopping);
        from = end;
    }
    return COAT_OK;
}

bool place_air_is_stale(const struct place_air *air, int64_t at_ms)
{
    int64_t hold_end = place_air_hold_end(air);
    return hold_end == MOMENT_NONE || hold_end <= at_ms;
}

struct air_step place_air_tail(const struct place_air *air, enum law_side side, int64_t at_ms)
{
    const struct reading *last = &air->recent[air->recent_count - 1];
    const struct air_assumption *a = &air->assumption;
    double temp_c = side == SIDE_CLOSING ? a->warm_c : a->cold_c, rh_pct = side == SIDE_CLOSING ? a->dry_pct : a->damp_pct;
    struct air_step step = {at_ms, at_ms, temp_c, temp_c, rh_pct, rh_pct, AIR_ASSUMED, AIR_ASSUMED};
    bool held = at_ms < place_air_hold_end(air);
    if (held && last->temp_mc != READING_NONE) {
        step.temp0_c = step.temp1_c = last->temp_mc / 1000.0;
        step.basis = AIR_MEASURED;
    }
    if (held && last->rh_mp != READING_NONE) {
        step.rh0_pct = step.rh1_pct = last->rh_mp / 1000.0;
        step.rh_basis = AIR_MEASURED;
    }
    return step;
}

bool place_air_is_assumed(const struct place_air *air, bool heeds_rh, int64_t at_ms)
{
    if (air->last_at == MOMENT_NONE)
        return true;
    struct air_step tail = place_air_tail(air, SIDE_OPENING, at_ms);
    return tail.basis == AIR_ASSUMED || (heeds_rh && tail.rh_basis == AIR_ASSUMED);
}

/* ---- readings that come ---- */

static void set_sources(struct place_air *air, const struct merge_source *sources, unsigned count)
{
    air->sources = count < MERGE_SOURCES_MAX ? count : MERGE_SOURCES_MAX;
    memcpy(air->source, sources, air->sources * sizeof *sources);
}

enum coat_result place_air_open(struct store *store, int64_t place_id, int64_t base_day, const struct merge_source *sources, unsigned count,
                                struct place_air **ret)
{
    struct place_air *air = calloc(1, sizeof *air);
    if (!air)
        return COAT_NO_MEMORY;
    air->store = store;
    air->place_id = place_id;
    air->base_day = base_day;
    air->day_cached = MOMENT_NONE;
    air->touched_until = MOMENT_NONE;
    air->outlook_at = MOMENT_NONE;
    air->days = calloc(MERGE_SOURCES_MAX, sizeof *air->days);
    set_sources(air, sources, count);
    enum coat_result result = air->days != NULL ? read_recent(air) : COAT_NO_MEMORY;
    if (result != COAT_OK) {
        place_air_close(air);
        return result;
    }
    *ret = air;
    return COAT_OK;
}

void place_air_close(struct place_air *air)
{
    if (!air)
        return;
    ledgers_free(air);
    free(air->recent);
    free(air->day);
    free(air->outlook);
    if (air->days != NULL)
        place_air_forget_all(air);
    free(air->days);
    free(air);
}

static enum coat_result append_one(struct place_air *air, const struct reading *reading)
{
    if (!list_reserve((void **)&air->recent, &air->recent_capacity, air->recent_count, sizeof *air->recent))
        return COAT_NO_MEMORY;
    int64_t from = air->last_at;
    air->recent[air->recent_count++] = *reading;
    air->last_at = reading->at_ms;
    air->assumption = history_assume(air->recent, air->recent_count);
    return ledgers_advance(air, from);
}

unsigned place_air_source(const struct place_air *air, int64_t sensor_id)
{
    unsigned i = 0;
    while (i < air->sources && air->source[i].sensor_id != sensor_id)
        i++;
    return i;
}

enum coat_result place_air_append(struct place_air *air, unsigned source, const struct reading *readings, size_t count, bool *ret_counts)
{
    struct reading merged;
    *ret_counts = false;
    if (count > 0 && air->last_at == MOMENT_NONE) { /* air before the very first reading is assumed from it: all days anew */
        *ret_counts = true;
        return place_air_late(air, source, readings, count);
    }
    air_days_add(air, source, readings, count);
    for (size_t i = 0; i < count; i++) {
        air->newest_at = readings[i].at_ms;
        if (!merge_reading(&air->merge, source, &readings[i], &merged))
            continue;
        air->day_cached = MOMENT_NONE;
        *ret_counts = true;
        enum coat_result result = append_one(air, &merged);
        if (result != COAT_OK)
            return result;
    }
    if (*ret_counts)
        prune_recent(air);
    return COAT_OK;
}

/* Days whose sum rests on readings at or after from_ms: from that of the reading before it on, all of them, since an assumed
 * gap may reach as far as it likes. */
static enum coat_result first_touched_day(struct place_air *air, int64_t from_ms, int64_t *ret_day)
{
    int64_t before = MOMENT_NONE;
    enum coat_result result = place_air_before(air, from_ms - 1, &before);
    *ret_day = before == MOMENT_NONE ? air->base_day : moment_day(before);
    return result;
}

static enum coat_result follow_changed(struct place_air *air, int64_t from_ms)
{
    int64_t day = air->base_day;
    air->day_cached = MOMENT_NONE;
    air->outlook_at = MOMENT_NONE;
    enum coat_result result = first_touched_day(air, from_ms, &day);
    if (result == COAT_OK)
        result = read_recent(air);
    ledgers_unsettle(air, day);
    return result == COAT_OK ? ledgers_settle(air) : result;
}

enum coat_result place_air_late(struct place_air *air, unsigned source, const struct reading *readings, size_t count)
{
    air_days_add(air, source, readings, count);
    return follow_changed(air, readings[0].at_ms);
}

enum coat_result place_air_set_sources(struct place_air *air, const struct merge_source *sources, unsigned count, int64_t from_ms)
{
    place_air_forget_all(air); /* they are kept by the place of their sensor among the sources */
    set_sources(air, sources, count);
    return follow_changed(air, from_ms);
}
