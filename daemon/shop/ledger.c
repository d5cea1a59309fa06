/* Ledgers: what is added up over the air of a place, and what is asked of it. */
#include "daemon/shop/ledger.h"

#include "daemon/shop/list.h"

#include <math.h>
#include <stdlib.h>

static int64_t base_ms(const struct place_air *air)
{
    return moment_day_start(air->base_day);
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
        int64_t end = day + DAYS_AT_ONCE < open_day ? day + DAYS_AT_ONCE : open_day;
        air->day_cached = MOMENT_NONE;
        enum coat_result result = place_air_read_days(air, moment_day_start(day), moment_day_start(end));
        if (result != COAT_OK)
            return result;
        for (; day < end; day++)
            if (!settle_day(air, SIDE_OPENING, day) || !settle_day(air, SIDE_CLOSING, day))
                return COAT_NO_MEMORY;
    }
    return COAT_OK;
}

enum coat_result ledgers_settle(struct place_air *air)
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

enum coat_result ledgers_advance(struct place_air *air, int64_t from_ms)
{
    enum coat_result result = COAT_OK;
    for (size_t i = 0; result == COAT_OK && i < air->ledgers; i++)
        if (!air->ledger[i]->unsettled) /* else it will be added up with this reading in it */
            result = ledger_advance(air->ledger[i], from_ms);
    return result;
}

void ledgers_unsettle(struct place_air *air, int64_t from_day)
{
    size_t keep = from_day > air->base_day ? (size_t)(from_day - air->base_day) : 0;
    for (size_t i = 0; i < air->ledgers; i++) {
        struct ledger *ledger = air->ledger[i];
        if (ledger->settled > keep)
            ledger->settled = keep;
        ledger->unsettled = true;
        ledger_forget_answers(ledger);
    }
}

/* ---- the ledgers of a place ---- */

static void ledger_free(struct ledger *ledger)
{
    free(ledger->prefix);
    free(ledger->still);
    free(ledger->heap);
    free(ledger->growth);
    free(ledger);
}

void ledgers_free(struct place_air *air)
{
    for (size_t i = 0; i < air->ledgers; i++)
        ledger_free(air->ledger[i]);
    free(air->ledger);
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
        result = ledgers_settle(air);
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
    enum coat_result result = place_air_load_day(air, day);
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
        enum coat_result result = place_air_load_day(air, day);
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
