#include "daemon/shop/ledger.h"

#include "daemon/shop/list.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* What a walk from the open day on may need of the days before; as in air_read.c. */
#define KEEP_MS (54 * MS_PER_H)
#define SETTLE_DAYS 16 /* days read from the store at once: about half a megabyte of minute readings */

static int64_t base_ms(const struct place_air *air)
{
    return moment_day_start(air->base_day);
}

/* ---- readings ---- */

static enum coat_result read_day(struct place_air *air, int64_t from_ms, int64_t to_ms)
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

static enum coat_result load_day(struct place_air *air, int64_t day)
{
    if (air->day_cached == day)
        return COAT_OK;
    air->day_cached = MOMENT_NONE;
    enum coat_result result = read_day(air, moment_day_start(day), moment_day_start(day + 1));
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
        enum coat_result result = load_day(air, day);
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
        int64_t end = from + SETTLE_DAYS * MS_PER_DAY < to_ms ? from + SETTLE_DAYS * MS_PER_DAY : to_ms;
        air->day_cached = MOMENT_NONE;
        enum coat_result result = read_day(air, from, end);
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

/* ---- sums ---- */

static bool temp_is_outside(const struct air_limits *limits, double temp_c)
{
    return temp_c < limits->min_temp_c || temp_c > limits->max_temp_c;
}

/* What was measured is outside; a straight line is furthest out at its ends. */
static bool is_outside(const struct air_limits *limits, const struct air_step *step)
{
    bool temp = temp_is_outside(limits, step->temp0_c) || temp_is_outside(limits, step->temp1_c);
    bool damp = step->rh0_pct > limits->max_rh_pct || step->rh1_pct > limits->max_rh_pct;
    return (temp && step->basis == AIR_MEASURED) || (damp && step->rh_basis == AIR_MEASURED);
}

static double step_hours(const struct air_step *step)
{
    return (double)(step->to_ms - step->from_ms) / (double)MS_PER_H;
}

static double step_value(const struct ledger *ledger, const struct air_step *step)
{
    bool assumed = step->basis == AIR_ASSUMED || (ledger->heeds_rh && step->rh_basis == AIR_ASSUMED);
    switch (ledger->kind) {
    case LEDGER_LAW:
        return history_step_integral(&ledger->law, step);
    case LEDGER_ASSUMED_H:
        return assumed ? step_hours(step) : 0.0;
    case LEDGER_OUTSIDE_H:
        return is_outside(&ledger->limits, step) ? step_hours(step) : 0.0;
    }
    return 0.0;
}

struct sum {
    const struct ledger *ledger;
    double value;
    double goal;        /* INFINITY where only the sum is wanted */
    int64_t reached_at; /* MOMENT_NONE until the goal is met */
};

static bool add_step(const struct air_step *step, void *context)
{
    struct sum *sum = context;
    double value = step_value(sum->ledger, step);
    if (sum->value + value >= sum->goal) {
        sum->reached_at = sum->ledger->kind == LEDGER_LAW
                              ? history_step_solve(&sum->ledger->law, step, sum->goal - sum->value)
                              : step->to_ms;
        return false;
    }
    sum->value += value;
    return true;
}

static enum law_side walk_side(const struct ledger *ledger)
{
    return ledger->kind == LEDGER_LAW ? ledger->law.side : SIDE_OPENING;
}

static void walk_day(struct place_air *air, int64_t from_ms, int64_t to_ms, enum law_side side, history_visitor visit, void *context)
{
    history_walk_again(air->day, air->day_count, from_ms, to_ms, side, &air->day_memory, visit, context);
}

static void walk_recent(struct place_air *air, int64_t from_ms, int64_t to_ms, enum law_side side, history_visitor visit, void *context)
{
    history_walk_again(air->recent, air->recent_count, from_ms, to_ms, side, &air->recent_memory, visit, context);
}

static double recent_sum(const struct ledger *ledger, int64_t from_ms, int64_t to_ms)
{
    struct sum sum = {ledger, 0.0, (double)INFINITY, MOMENT_NONE};
    walk_recent(ledger->air, from_ms, to_ms, walk_side(ledger), add_step, &sum);
    return sum.value;
}

static double day_sum(const struct ledger *ledger, int64_t from_ms, int64_t to_ms)
{
    struct sum sum = {ledger, 0.0, (double)INFINITY, MOMENT_NONE};
    walk_day(ledger->air, from_ms, to_ms, walk_side(ledger), add_step, &sum);
    return sum.value;
}

static bool push_day(struct ledger *ledger, double growth)
{
    if (!list_reserve((void **)&ledger->prefix, &ledger->capacity, ledger->settled + 1, sizeof *ledger->prefix))
        return false;
    ledger->prefix[ledger->settled + 1] = ledger->prefix[ledger->settled] + growth;
    ledger->settled++;
    return true;
}

/* What a ledger grows by in an hour of the tail that begins at at_ms. */
static double rate_from(const struct ledger *ledger, int64_t at_ms)
{
    struct air_step step = place_air_tail(ledger->air, walk_side(ledger), at_ms);
    step.to_ms = step.from_ms + MS_PER_H;
    return step_value(ledger, &step);
}

static void set_rates(struct ledger *ledger)
{
    const struct place_air *air = ledger->air;
    struct air_step unknown = {0, MS_PER_H, (double)NAN, (double)NAN, (double)NAN, (double)NAN, AIR_ASSUMED, AIR_ASSUMED};
    ledger->day_rate = (double)NAN;
    if (air->last_at == MOMENT_NONE) {
        ledger->hold_rate = ledger->assumed_rate = step_value(ledger, &unknown);
        return;
    }
    ledger->hold_rate = rate_from(ledger, air->last_at);
    ledger->assumed_rate = rate_from(ledger, place_air_hold_end(air));
}

static void set_anchor(struct ledger *ledger)
{
    const struct place_air *air = ledger->air;
    bool read = air->last_at != MOMENT_NONE && air->last_at > base_ms(air);
    ledger->anchor_ms = read ? air->last_at : base_ms(air);
    ledger->anchor_value = ledger->prefix[ledger->settled] + ledger->open_sum;
    set_rates(ledger);
}

/* The ledgers of one side that grow by a day which is added up, so many at once. */
#define GROWING_MOST 32
struct growth {
    struct ledger *ledger[GROWING_MOST];
    size_t count;
    bool no_room;
};

static void find_growing(const struct place_air *air, enum law_side side, int64_t day, struct growth *ret)
{
    *ret = (struct growth){.count = 0};
    for (size_t i = 0; i < air->ledgers && ret->count < GROWING_MOST; i++) {
        struct ledger *ledger = air->ledger[i];
        if (ledger->unsettled && walk_side(ledger) == side && air->base_day + (int64_t)ledger->settled == day)
            ret->ledger[ret->count++] = ledger;
    }
}

static bool grow_all(const struct air_step *step, void *context)
{
    struct growth *growth = context;
    for (size_t i = 0; i < growth->count; i++) {
        double value = step_value(growth->ledger[i], step);
        growth->ledger[i]->open_sum += value;
        growth->no_room |= !ledger_note_still(growth->ledger[i], step, value);
    }
    return !growth->no_room;
}

/* Grows one by the air of its open day from from_ms to to_ms. */
static enum coat_result grow_open(struct ledger *ledger, int64_t from_ms, int64_t to_ms)
{
    struct growth growth = {{ledger}, 1, false};
    walk_recent(ledger->air, from_ms, to_ms, walk_side(ledger), grow_all, &growth);
    return growth.no_room ? COAT_NO_MEMORY : COAT_OK;
}

/* Adds one whole day, whose readings are at hand, to all ledgers of a side that want it: one walk serves them all. */
static bool settle_day(struct place_air *air, enum law_side side, int64_t day)
{
    struct growth growth;
    bool room = true;
    for (find_growing(air, side, day, &growth); room && growth.count > 0; find_growing(air, side, day, &growth)) {
        walk_day(air, moment_day_start(day), moment_day_start(day + 1), side, grow_all, &growth);
        room = !growth.no_room;
        for (size_t i = 0; i < growth.count; i++) {
            room &= push_day(growth.ledger[i], growth.ledger[i]->open_sum);
            growth.ledger[i]->open_sum = 0.0;
        }
    }
    return room;
}

static int64_t first_unsettled_day(const struct place_air *air)
{
    size_t settled = SIZE_MAX;
    for (size_t i = 0; i < air->ledgers; i++)
        if (air->ledger[i]->unsettled && air->ledger[i]->settled < settled)
            settled = air->ledger[i]->settled;
    return settled == SIZE_MAX ? INT64_MAX : air->base_day + (int64_t)settled;
}

static enum coat_result settle_days(struct place_air *air, int64_t open_day)
{
    for (int64_t day = first_unsettled_day(air); day < open_day;) {
        int64_t end = day + SETTLE_DAYS < open_day ? day + SETTLE_DAYS : open_day;
        air->day_cached = MOMENT_NONE;
        enum coat_result result = read_day(air, moment_day_start(day), moment_day_start(end));
        if (result != COAT_OK)
            return result;
        for (; day < end; day++)
            if (!settle_day(air, SIDE_OPENING, day) || !settle_day(air, SIDE_CLOSING, day))
                return COAT_NO_MEMORY;
    }
    return COAT_OK;
}

/* Adds up the whole days that are not yet, and the open one, of all ledgers that want it: the readings are fetched once. */
static enum coat_result settle_all(struct place_air *air)
{
    enum coat_result result = COAT_OK;
    bool read = air->last_at != MOMENT_NONE && air->last_at > base_ms(air);
    int64_t open_day = read ? moment_day(air->last_at) : air->base_day;
    for (size_t i = 0; i < air->ledgers; i++)
        if (air->ledger[i]->unsettled) {
            air->ledger[i]->open_sum = 0.0;
            ledger_forget_stills(air->ledger[i], moment_day_start(air->base_day + (int64_t)air->ledger[i]->settled));
        }
    if (read)
        result = settle_days(air, open_day);
    for (size_t i = 0; result == COAT_OK && i < air->ledgers; i++) {
        struct ledger *ledger = air->ledger[i];
        if (!ledger->unsettled)
            continue;
        if (read)
            result = grow_open(ledger, moment_day_start(open_day), air->last_at);
        ledger->before_ms = moment_day_start(open_day);
        ledger->before_sum = 0.0;
        ledger->unsettled = false;
        set_anchor(ledger);
    }
    return result;
}

void ledger_forget_answers(struct ledger *ledger)
{
    ledger->values.count = ledger->values.next = ledger->moments.count = ledger->moments.next = 0;
}

/* Goes on from from_ms to the new last reading, closing the days that end on the way. */
static enum coat_result ledger_advance(struct ledger *ledger, int64_t from_ms)
{
    const struct place_air *air = ledger->air;
    int64_t to_ms = air->last_at;
    if (from_ms < base_ms(air))
        from_ms = base_ms(air);
    ledger->moments.count = ledger->moments.next = 0; /* they hang on where the anchor is, by the last bit */
    ledger->before_ms = from_ms;
    ledger->before_sum = ledger->open_sum;
    while (from_ms < to_ms) {
        int64_t midnight = moment_day_start(moment_day(from_ms) + 1);
        int64_t end = midnight < to_ms ? midnight : to_ms;
        enum coat_result result = grow_open(ledger, from_ms, end);
        if (result != COAT_OK)
            return result;
        if (end == midnight) {
            if (!push_day(ledger, ledger->open_sum))
                return COAT_NO_MEMORY;
            ledger->open_sum = 0.0;
            ledger->before_ms = midnight;
            ledger->before_sum = 0.0;
        }
        from_ms = end;
    }
    set_anchor(ledger);
    return COAT_OK;
}

/* ---- the place ---- */

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

static void ledger_free(struct ledger *ledger)
{
    free(ledger->prefix);
    free(ledger->still);
    free(ledger->heap);
    free(ledger->growth);
    free(ledger);
}

void place_air_close(struct place_air *air)
{
    if (!air)
        return;
    for (size_t i = 0; i < air->ledgers; i++)
        ledger_free(air->ledger[i]);
    free(air->ledger);
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
    for (size_t i = 0; i < air->ledgers; i++) {
        if (air->ledger[i]->unsettled)
            continue; /* it will be added up with this reading in it */
        enum coat_result result = ledger_advance(air->ledger[i], from);
        if (result != COAT_OK)
            return result;
    }
    return COAT_OK;
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
    size_t keep = day > air->base_day ? (size_t)(day - air->base_day) : 0;
    for (size_t i = 0; i < air->ledgers; i++) {
        struct ledger *ledger = air->ledger[i];
        if (ledger->settled > keep)
            ledger->settled = keep;
        ledger->unsettled = true;
        ledger_forget_answers(ledger);
    }
    return result == COAT_OK ? settle_all(air) : result;
}

enum coat_result place_air_changed(struct place_air *air, int64_t from_ms)
{
    place_air_forget(air, from_ms);
    return follow_changed(air, from_ms);
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

static bool same_limit(double a, double b)
{
    return a == b || (isnan(a) && isnan(b));
}

static bool same_limits(const struct air_limits *a, const struct air_limits *b)
{
    return same_limit(a->min_temp_c, b->min_temp_c) && same_limit(a->max_temp_c, b->max_temp_c) &&
           same_limit(a->max_rh_pct, b->max_rh_pct);
}

static struct ledger *find_ledger(const struct place_air *air, const struct ledger *pattern)
{
    for (size_t i = 0; i < air->ledgers; i++) {
        struct ledger *ledger = air->ledger[i];
        if (ledger->kind == pattern->kind && (ledger->kind != LEDGER_LAW || ledger->law_index == pattern->law_index) &&
            (ledger->kind != LEDGER_OUTSIDE_H || same_limits(&ledger->limits, &pattern->limits)) &&
            ledger->heeds_rh == pattern->heeds_rh)
            return ledger;
    }
    return NULL;
}

/* Adds one that is not added up yet. */
static enum coat_result add_ledger(struct place_air *air, const struct ledger *pattern)
{
    if (!list_reserve((void **)&air->ledger, &air->ledgers_capacity, air->ledgers, sizeof *air->ledger))
        return COAT_NO_MEMORY;
    struct ledger *ledger = malloc(sizeof *ledger);
    if (!ledger)
        return COAT_NO_MEMORY;
    *ledger = *pattern;
    ledger->air = air;
    ledger->unsettled = true;
    ledger->prefix = calloc(16, sizeof *ledger->prefix);
    ledger->capacity = 16;
    if (!ledger->prefix) {
        ledger_free(ledger);
        return COAT_NO_MEMORY;
    }
    air->ledger[air->ledgers++] = ledger;
    return COAT_OK;
}

static enum coat_result want_ledger(struct place_air *air, const struct ledger *pattern)
{
    return find_ledger(air, pattern) ? COAT_OK : add_ledger(air, pattern);
}

static enum coat_result get_ledger(struct place_air *air, const struct ledger *pattern, struct ledger **ret)
{
    enum coat_result result = want_ledger(air, pattern);
    if (result != COAT_OK)
        return result;
    struct ledger *ledger = find_ledger(air, pattern);
    if (ledger->unsettled)
        result = settle_all(air);
    if (result == COAT_OK)
        *ret = ledger;
    return result;
}

static struct ledger law_pattern(const struct law *law, size_t law_index)
{
    return (struct ledger){.kind = LEDGER_LAW, .law = *law, .law_index = law_index};
}

enum coat_result place_air_want_law(struct place_air *air, const struct law *law, size_t law_index)
{
    struct ledger pattern = law_pattern(law, law_index);
    return want_ledger(air, &pattern);
}

enum coat_result place_air_want_hours(struct place_air *air, const struct air_limits *limits)
{
    struct ledger assumed = {.kind = LEDGER_ASSUMED_H}, outside = {.kind = LEDGER_OUTSIDE_H, .limits = *limits};
    enum coat_result result = want_ledger(air, &assumed);
    assumed.heeds_rh = true;
    if (result == COAT_OK)
        result = want_ledger(air, &assumed);
    return result == COAT_OK ? want_ledger(air, &outside) : result;
}

enum coat_result place_air_ledger(struct place_air *air, const struct law *law, size_t law_index, struct ledger **ret)
{
    struct ledger pattern = law_pattern(law, law_index);
    return get_ledger(air, &pattern, ret);
}

enum coat_result place_air_assumed(struct place_air *air, bool heeds_rh, struct ledger **ret)
{
    return get_ledger(air, &(struct ledger){.kind = LEDGER_ASSUMED_H, .heeds_rh = heeds_rh}, ret);
}

enum coat_result place_air_outside(struct place_air *air, const struct air_limits *limits, struct ledger **ret)
{
    return get_ledger(air, &(struct ledger){.kind = LEDGER_OUTSIDE_H, .limits = *limits}, ret);
}

/* ---- questions ---- */

static double tail_value(const struct ledger *ledger, int64_t at_ms)
{
    int64_t hold_end = place_air_hold_end(ledger->air);
    if (hold_end == MOMENT_NONE || hold_end < ledger->anchor_ms)
        hold_end = ledger->anchor_ms;
    int64_t held_to = at_ms < hold_end ? at_ms : hold_end;
    double held_h = (double)(held_to - ledger->anchor_ms) / (double)MS_PER_H;
    double assumed_h = (double)(at_ms - held_to) / (double)MS_PER_H;
    return ledger->anchor_value + held_h * ledger->hold_rate + assumed_h * ledger->assumed_rate;
}

/* Hours as whole milliseconds, never early; MOMENT_NONE where it is so far that it means never (100 years). */
static int64_t after_hours(int64_t from_ms, double hours)
{
    if (!(hours < 876600.0))
        return MOMENT_NONE;
    return from_ms + (int64_t)ceil(hours * (double)MS_PER_H);
}

int64_t ledger_steady_when(const struct ledger *ledger, double target, double rate_per_h)
{
    double missing = target - ledger->anchor_value;
    if (missing <= 0.0)
        return ledger->anchor_ms;
    return rate_per_h > 0.0 ? after_hours(ledger->anchor_ms, missing / rate_per_h) : MOMENT_NONE;
}

int64_t ledger_tail_when(const struct ledger *ledger, double target)
{
    int64_t hold_end = place_air_hold_end(ledger->air);
    if (hold_end == MOMENT_NONE || hold_end < ledger->anchor_ms)
        hold_end = ledger->anchor_ms;
    double held = (double)(hold_end - ledger->anchor_ms) / (double)MS_PER_H * ledger->hold_rate;
    double missing = target - ledger->anchor_value;
    if (missing <= held)
        return ledger_steady_when(ledger, target, ledger->hold_rate);
    if (!(ledger->assumed_rate > 0.0))
        return MOMENT_NONE;
    return after_hours(hold_end, (missing - held) / ledger->assumed_rate);
}

static void keep_answer(struct ledger_answers *answers, int64_t at_ms, double value)
{
    answers->item[answers->next].at_ms = at_ms;
    answers->item[answers->next].value = value;
    answers->next = (answers->next + 1) % LEDGER_ANSWERS;
    answers->count += answers->count < LEDGER_ANSWERS;
}

/* Before the anchor. */
static enum coat_result value_in_history(struct ledger *ledger, int64_t at_ms, double *ret)
{
    struct place_air *air = ledger->air;
    int64_t day = moment_day(at_ms);
    size_t index = (size_t)(day - air->base_day);
    if (index >= ledger->settled) {
        *ret = ledger->prefix[ledger->settled] + recent_sum(ledger, moment_day_start(day), at_ms);
        return COAT_OK;
    }
    enum coat_result result = load_day(air, day);
    if (result == COAT_OK)
        *ret = ledger->prefix[index] + day_sum(ledger, moment_day_start(day), at_ms);
    return result;
}

enum coat_result ledger_value(struct ledger *ledger, int64_t at_ms, double *ret)
{
    if (at_ms <= base_ms(ledger->air)) {
        *ret = 0.0;
        return COAT_OK;
    }
    if (at_ms >= ledger->anchor_ms) {
        *ret = tail_value(ledger, at_ms);
        return COAT_OK;
    }
    for (unsigned i = 0; i < ledger->values.count; i++) {
        if (ledger->values.item[i].at_ms != at_ms)
            continue;
        *ret = ledger->values.item[i].value;
        return COAT_OK;
    }
    enum coat_result result = value_in_history(ledger, at_ms, ret);
    if (result == COAT_OK)
        keep_answer(&ledger->values, at_ms, *ret);
    return result;
}

/* The settled day in which C reaches the target; `settled` for the open one. */
static size_t day_of_target(const struct ledger *ledger, double target)
{
    size_t low = 0, high = ledger->settled; /* the answer is the last index whose prefix lies below the target */
    while (low < high) {
        size_t mid = low + (high - low + 1) / 2;
        if (ledger->prefix[mid] < target)
            low = mid;
        else
            high = mid - 1;
    }
    return low;
}

/* For a target that the anchor has reached. */
static enum coat_result when_in_history(struct ledger *ledger, double target, int64_t *ret_ms)
{
    struct place_air *air = ledger->air;
    size_t index = day_of_target(ledger, target);
    int64_t day = air->base_day + (int64_t)index, begin = moment_day_start(day), end = moment_day_start(day + 1);
    struct sum sum = {ledger, 0.0, target - ledger->prefix[index], MOMENT_NONE};
    if (index == ledger->settled) {
        end = ledger->anchor_ms;
        if (sum.goal > ledger->before_sum) { /* only the last reading brought it there: most are asked for then */
            begin = ledger->before_ms;
            sum.value = ledger->before_sum;
        }
        walk_recent(air, begin, end, walk_side(ledger), add_step, &sum);
    } else {
        enum coat_result result = load_day(air, day);
        if (result != COAT_OK)
            return result;
        walk_day(air, begin, end, walk_side(ledger), add_step, &sum);
    }
    *ret_ms = sum.reached_at == MOMENT_NONE ? end : sum.reached_at; /* the last bit of rounding */
    return COAT_OK;
}

enum coat_result ledger_when(struct ledger *ledger, double target, int64_t *ret_ms)
{
    if (target > ledger->anchor_value) {
        *ret_ms = ledger_tail_when(ledger, target);
        return COAT_OK;
    }
    if (target <= 0.0) {
        *ret_ms = base_ms(ledger->air);
        return COAT_OK;
    }
    for (unsigned i = 0; i < ledger->moments.count; i++) {
        if (ledger->moments.item[i].value != target)
            continue;
        *ret_ms = ledger->moments.item[i].at_ms;
        return COAT_OK;
    }
    enum coat_result result = when_in_history(ledger, target, ret_ms);
    if (result == COAT_OK)
        keep_answer(&ledger->moments, *ret_ms, target);
    return result;
}

/* Whether the law stands still in the air of reading i, what it lacks taken as assumed. */
static bool stands_still_at(const struct ledger *ledger, const struct reading *r)
{
    const struct air_assumption *a = &ledger->air->assumption;
    double temp_c = r->temp_mc == READING_NONE ? a->cold_c : r->temp_mc / 1000.0;
    double rh_pct = r->rh_mp == READING_NONE ? a->damp_pct : r->rh_mp / 1000.0;
    return isnan(temp_c) || !(law_rate(&ledger->law, temp_c, rh_pct, NULL) > 0.0);
}

int64_t ledger_stalled_since(const struct ledger *ledger, int64_t now_ms)
{
    const struct place_air *air = ledger->air;
    int64_t since = MOMENT_NONE, hold_end = place_air_hold_end(air);
    if (hold_end == MOMENT_NONE)
        return MOMENT_NONE;
    bool stale = hold_end <= now_ms;
    if (stale && ledger->assumed_rate == 0.0)
        since = hold_end;
    for (size_t i = air->recent_count; i-- > 0;) {
        const struct reading *r = &air->recent[i];
        if (!stands_still_at(ledger, r))
            return since;
        if (r->at_ms <= air->last_at - MS_PER_DAY)
            return MOMENT_NONE;
        since = r->at_ms;
    }
    return since;
}

enum coat_result ledger_day_rate(struct ledger *ledger, double *ret_per_h)
{
    struct place_air *air = ledger->air;
    if (isnan(ledger->day_rate)) {
        int64_t day_ago = air->last_at - MS_PER_DAY, before = MOMENT_NONE;
        double then = 0.0;
        enum coat_result result = COAT_OK;
        if (air->last_at != MOMENT_NONE && ledger->anchor_ms == air->last_at && day_ago >= base_ms(air))
            result = place_air_before(air, day_ago, &before);
        if (result == COAT_OK && before != MOMENT_NONE)
            result = ledger_value(ledger, day_ago, &then);
        if (result != COAT_OK)
            return result;
        ledger->day_rate = before == MOMENT_NONE ? ledger->hold_rate : (ledger->anchor_value - then) / 24.0;
    }
    *ret_per_h = ledger->day_rate;
    return COAT_OK;
}

/* ---- marks: a binary heap, least target first ---- */

static void swap_marks(struct mark *a, struct mark *b)
{
    struct mark kept = *a;
    *a = *b;
    *b = kept;
}

enum coat_result ledger_mark_add(struct ledger *ledger, struct mark mark)
{
    if (!list_reserve((void **)&ledger->heap, &ledger->marks_capacity, ledger->marks, sizeof *ledger->heap))
        return COAT_NO_MEMORY;
    size_t i = ledger->marks++;
    ledger->heap[i] = mark;
    for (; i > 0 && ledger->heap[(i - 1) / 2].target > ledger->heap[i].target; i = (i - 1) / 2)
        swap_marks(&ledger->heap[(i - 1) / 2], &ledger->heap[i]);
    return COAT_OK;
}

static void sink_mark(struct ledger *ledger, size_t i)
{
    for (;;) {
        size_t least = i, left = 2 * i + 1, right = left + 1;
        if (left < ledger->marks && ledger->heap[left].target < ledger->heap[least].target)
            least = left;
        if (right < ledger->marks && ledger->heap[right].target < ledger->heap[least].target)
            least = right;
        if (least == i)
            return;
        swap_marks(&ledger->heap[i], &ledger->heap[least]);
        i = least;
    }
}

bool ledger_mark_pop(struct ledger *ledger, double value, struct mark *ret)
{
    if (ledger->marks == 0 || ledger->heap[0].target > value)
        return false;
    *ret = ledger->heap[0];
    ledger->heap[0] = ledger->heap[--ledger->marks];
    sink_mark(ledger, 0);
    return true;
}

void ledger_marks_drop(struct ledger *ledger, uint32_t coat_index)
{
    size_t kept = 0;
    for (size_t i = 0; i < ledger->marks; i++)
        if (ledger->heap[i].coat_index != coat_index)
            ledger->heap[kept++] = ledger->heap[i];
    ledger->marks = kept;
    for (size_t i = kept / 2; i-- > 0;)
        sink_mark(ledger, i);
}

/* Moments, not values, decide which marks are due, so that a mark and its coat never disagree by the last bit. Later targets are
 * never due sooner, which is what prunes the heap. */
static int64_t mark_due(const struct ledger *ledger, size_t i)
{
    int64_t due = ledger_tail_when(ledger, ledger->heap[i].target);
    return due == MOMENT_NONE ? INT64_MAX : due;
}

static void visit_marks(const struct ledger *ledger, size_t i, int64_t from_ms, int64_t to_ms,
                        void (*each)(const struct mark *, void *), void *context)
{
    if (i >= ledger->marks)
        return;
    int64_t due = mark_due(ledger, i);
    if (due > to_ms)
        return; /* all below it are later */
    if (due > from_ms)
        each(&ledger->heap[i], context);
    visit_marks(ledger, 2 * i + 1, from_ms, to_ms, each, context);
    visit_marks(ledger, 2 * i + 2, from_ms, to_ms, each, context);
}

void ledger_marks_due(const struct ledger *ledger, int64_t from_ms, int64_t to_ms, void (*each)(const struct mark *, void *),
                      void *context)
{
    visit_marks(ledger, 0, from_ms, to_ms, each, context);
}

static int64_t least_after(const struct ledger *ledger, size_t i, int64_t at_ms)
{
    if (i >= ledger->marks)
        return INT64_MAX;
    int64_t due = mark_due(ledger, i);
    if (due > at_ms)
        return due; /* all below it are later still */
    int64_t left = least_after(ledger, 2 * i + 1, at_ms), right = least_after(ledger, 2 * i + 2, at_ms);
    return left < right ? left : right;
}

int64_t ledger_next_due(const struct ledger *ledger, int64_t at_ms)
{
    int64_t due = least_after(ledger, 0, at_ms);
    return due == INT64_MAX ? MOMENT_NONE : due;
}
