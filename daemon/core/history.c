#include "coat/history.h"

#include "coat/moment.h"

#include <math.h>

#define DAY_MS MS_PER_DAY
/* With less than a day of readings: design figures, meant to be colder and warmer than a shop gets in a day. */
#define ASSUME_COLDER_C 10.0
#define ASSUME_WARMER_C 10.0

int32_t sensor_hold_s(int32_t interval_s)
{
    if (interval_s > READING_HOLD_MAX_S / 3)
        return READING_HOLD_MAX_S;
    return interval_s * 3 < READING_HOLD_MIN_S ? READING_HOLD_MIN_S : interval_s * 3;
}

static int64_t hold_end(const struct reading *r)
{
    return r->at_ms + r->hold_s * MS_PER_S;
}

static bool joined(const struct reading *a, const struct reading *b)
{
    return b->at_ms <= hold_end(a);
}

/* ---- what is taken to be where nothing was read ---- */

static int32_t milli_of(const struct reading *r, enum air_quantity quantity)
{
    return quantity == AIR_TEMP ? r->temp_mc : r->rh_mp;
}

static bool has(const struct reading *r, enum air_quantity quantity)
{
    return milli_of(r, quantity) != READING_NONE;
}

/* Whether the readings up to r[last] form a chain without gap that reaches back a whole day. */
static bool covers_a_day(const struct reading *r, size_t last, enum air_quantity quantity)
{
    int64_t begin = r[last].at_ms - DAY_MS;
    for (size_t i = last; r[i].at_ms > begin; i--)
        if (i == 0 || !joined(&r[i - 1], &r[i]) || !has(&r[i - 1], quantity))
            return false;
    return true;
}

/* The ends of a quantity over the day up to r[last], which has it. */
static struct history_ends day_ends(const struct reading *r, size_t last, enum air_quantity quantity)
{
    int32_t low = milli_of(&r[last], quantity), high = low;
    for (size_t i = last + 1; i-- > 0 && r[i].at_ms >= r[last].at_ms - DAY_MS;) {
        int32_t milli = milli_of(&r[i], quantity);
        if (milli == READING_NONE)
            continue;
        low = milli < low ? milli : low;
        high = milli > high ? milli : high;
    }
    return (struct history_ends){low / 1000.0, high / 1000.0, covers_a_day(r, last, quantity)};
}

/* The last of r[0..n) that has the quantity, not over a day before r[n - 1]; SIZE_MAX where there is none. */
static size_t last_that_has(const struct reading *r, size_t n, enum air_quantity quantity)
{
    for (size_t i = n; i-- > 0 && r[i].at_ms >= r[n - 1].at_ms - DAY_MS;)
        if (has(&r[i], quantity))
            return i;
    return SIZE_MAX;
}

static void set_temp(const struct history_ends *ends, double now_c, struct air_assumption *a)
{
    a->cold_c = ends->whole_day ? ends->low : fmin(ends->low, now_c - ASSUME_COLDER_C);
    a->warm_c = ends->whole_day ? ends->high : fmax(ends->high, now_c + ASSUME_WARMER_C);
}

static void set_rh(const struct history_ends *ends, struct air_assumption *a)
{
    a->damp_pct = ends->whole_day ? ends->high : fmax(ends->high, HISTORY_DAMP_PCT);
    a->dry_pct = ends->whole_day ? ends->low : fmin(ends->low, HISTORY_DRY_PCT);
}

static const struct air_assumption nothing_known = {(double)NAN, HISTORY_DAMP_PCT, (double)NAN, HISTORY_DRY_PCT};

struct air_assumption history_assume(const struct reading *r, size_t n)
{
    struct air_assumption a = nothing_known;
    size_t temp = last_that_has(r, n, AIR_TEMP), rh = last_that_has(r, n, AIR_RH);
    if (temp != SIZE_MAX) {
        struct history_ends ends = day_ends(r, temp, AIR_TEMP);
        set_temp(&ends, r[temp].temp_mc / 1000.0, &a);
    }
    if (rh != SIZE_MAX) {
        struct history_ends ends = day_ends(r, rh, AIR_RH);
        set_rh(&ends, &a);
    }
    return a;
}

/* ---- the walk ---- */

struct walk {
    const struct reading *r;
    size_t n;
    int64_t from_ms, to_ms;
    enum law_side side;
    history_visitor visit;
    void *context;
    /* A thermometer alone lacks the humidity in each of half a million steps a year: so what is assumed is not looked for anew in each. Readings up to
     * `seen` are noted in last_with, the last one that has it; `ends` is of ends_of; SIZE_MAX: none. */
    struct history_memory *memory;
};

static void note_seen(struct walk *w, size_t i)
{
    struct history_memory *m = w->memory;
    bool begun = m->seen != SIZE_MAX && m->seen <= i;
    for (unsigned q = 0; q < AIR_QUANTITY_COUNT; q++) {
        if (!begun)
            m->last_with[q] = last_that_has(w->r, i + 1, (enum air_quantity)q);
        for (size_t k = begun ? m->seen + 1 : i; k <= i; k++)
            if (has(&w->r[k], (enum air_quantity)q))
                m->last_with[q] = k;
    }
    m->seen = i;
}

/* The ends of the day of a quantity as of reading i; NULL where it was not read within a day before. */
static const struct history_ends *ends_at(struct walk *w, size_t i, enum air_quantity quantity)
{
    struct history_memory *m = w->memory;
    size_t last = m->last_with[quantity];
    if (last == SIZE_MAX || w->r[last].at_ms < w->r[i].at_ms - DAY_MS)
        return NULL;
    if (m->ends_of[quantity] != last) {
        m->ends[quantity] = day_ends(w->r, last, quantity);
        m->ends_of[quantity] = last;
    }
    return &m->ends[quantity];
}

static void assume_temp(struct walk *w, size_t i, struct air_step *step)
{
    struct air_assumption a = nothing_known;
    const struct history_ends *ends = ends_at(w, i, AIR_TEMP);
    if (ends)
        set_temp(ends, w->r[w->memory->last_with[AIR_TEMP]].temp_mc / 1000.0, &a);
    step->temp0_c = step->temp1_c = w->side == SIDE_CLOSING ? a.warm_c : a.cold_c;
    step->basis = AIR_ASSUMED;
}

static void assume_rh(struct walk *w, size_t i, struct air_step *step)
{
    struct air_assumption a = nothing_known;
    const struct history_ends *ends = ends_at(w, i, AIR_RH);
    if (ends)
        set_rh(ends, &a);
    step->rh0_pct = step->rh1_pct = w->side == SIDE_CLOSING ? a.dry_pct : a.damp_pct;
    step->rh_basis = AIR_ASSUMED;
}

/* Gives what of the step lies in from_ms to to_ms; false to stop. */
static bool give_part(const struct walk *w, struct air_step step, int64_t from_ms, int64_t to_ms)
{
    double length = (double)(step.to_ms - step.from_ms);
    double a = (double)(from_ms - step.from_ms) / length, b = (double)(to_ms - step.from_ms) / length;
    double temp_rise = step.temp1_c - step.temp0_c, rh_rise = step.rh1_pct - step.rh0_pct;
    if (to_ms < step.to_ms) {
        step.temp1_c = step.temp0_c + temp_rise * b;
        step.rh1_pct = step.rh0_pct + rh_rise * b;
    }
    if (from_ms > step.from_ms) {
        step.temp0_c += temp_rise * a;
        step.rh0_pct += rh_rise * a;
    }
    step.from_ms = from_ms;
    step.to_ms = to_ms;
    return w->visit(&step, w->context);
}

/* Gives what of the step lies inside the walk; false to stop. */
static bool give(const struct walk *w, const struct air_step *step)
{
    if (step->from_ms >= w->from_ms && step->to_ms <= w->to_ms)
        return step->from_ms >= step->to_ms || w->visit(step, w->context);
    int64_t from = step->from_ms > w->from_ms ? step->from_ms : w->from_ms;
    int64_t to = step->to_ms < w->to_ms ? step->to_ms : w->to_ms;
    return from >= to || give_part(w, *step, from, to);
}

/* What is taken to be after reading i, where nothing holds any more. */
static bool give_assumed(struct walk *w, int64_t from_ms, int64_t to_ms, size_t i)
{
    struct air_step step = {.from_ms = from_ms, .to_ms = to_ms};
    if (from_ms >= w->to_ms || to_ms <= w->from_ms || from_ms >= to_ms)
        return true;
    note_seen(w, i);
    assume_temp(w, i, &step);
    assume_rh(w, i, &step);
    return give(w, &step);
}

/* A line from reading i to b, or reading i held (b is i). What either end lacks is assumed. */
static bool give_read(struct walk *w, size_t i, const struct reading *b, int64_t to_ms)
{
    const struct reading *a = &w->r[i];
    struct air_step step = {a->at_ms, to_ms, a->temp_mc / 1000.0, b->temp_mc / 1000.0, a->rh_mp / 1000.0, b->rh_mp / 1000.0,
                            AIR_MEASURED, AIR_MEASURED};
    bool temp = has(a, AIR_TEMP) && has(b, AIR_TEMP), rh = has(a, AIR_RH) && has(b, AIR_RH);
    if (to_ms <= w->from_ms)
        return true;
    if (!temp || !rh)
        note_seen(w, i);
    if (!temp)
        assume_temp(w, i, &step);
    if (!rh)
        assume_rh(w, i, &step);
    return give(w, &step);
}

/* The straight lines from reading *io_i on, until a gap follows or the walk ends; there it leaves *io_i. */
static bool give_joined(struct walk *w, size_t *io_i)
{
    const struct reading *r = w->r;
    for (; *io_i + 1 < w->n && r[*io_i].at_ms < w->to_ms && joined(&r[*io_i], &r[*io_i + 1]); ++*io_i)
        if (!give_read(w, *io_i, &r[*io_i + 1], r[*io_i + 1].at_ms))
            return false;
    return true;
}

/* The gap after reading i, up to the next one or, after the last, for ever. */
static bool give_gap(struct walk *w, size_t i)
{
    const struct reading *a = &w->r[i];
    int64_t end = i + 1 < w->n ? a[1].at_ms : INT64_MAX;
    return give_read(w, i, a, hold_end(a)) && give_assumed(w, hold_end(a), end, i);
}

size_t history_count_until(const struct reading *r, size_t n, int64_t at_ms)
{
    size_t low = 0, high = n;
    while (low < high) {
        size_t mid = low + (high - low) / 2;
        if (r[mid].at_ms <= at_ms)
            low = mid + 1;
        else
            high = mid;
    }
    return low;
}

/* Index of the last reading at or before at_ms; n where there is none. */
static size_t last_before(const struct reading *r, size_t n, int64_t at_ms)
{
    size_t until = history_count_until(r, n, at_ms);
    return until == 0 ? n : until - 1;
}

void history_forget(struct history_memory *memory)
{
    memory->seen = SIZE_MAX;
    for (unsigned q = 0; q < AIR_QUANTITY_COUNT; q++)
        memory->last_with[q] = memory->ends_of[q] = SIZE_MAX;
}

void history_walk(const struct reading *r, size_t n, int64_t from_ms, int64_t to_ms, enum law_side side,
                  history_visitor visit, void *context)
{
    struct history_memory memory;
    history_forget(&memory);
    history_walk_again(r, n, from_ms, to_ms, side, &memory, visit, context);
}

void history_walk_again(const struct reading *r, size_t n, int64_t from_ms, int64_t to_ms, enum law_side side, struct history_memory *memory,
                        history_visitor visit, void *context)
{
    struct walk w = {.r = r, .n = n, .from_ms = from_ms, .to_ms = to_ms, .side = side, .visit = visit, .context = context, .memory = memory};
    if (from_ms >= to_ms)
        return;
    if (n == 0) {
        double unknown = (double)NAN;
        give(&w, &(struct air_step){from_ms, to_ms, unknown, unknown, unknown, unknown, AIR_ASSUMED, AIR_ASSUMED});
        return;
    }
    size_t i = last_before(r, n, from_ms);
    if (i == n) {
        if (!give_assumed(&w, from_ms, r[0].at_ms, 0))
            return;
        i = 0;
    }
    for (; i < n && r[i].at_ms < to_ms; i++)
        if (!give_joined(&w, &i) || r[i].at_ms >= to_ms || !give_gap(&w, i))
            return;
}

double history_step_integral(const struct law *law, const struct air_step *step)
{
    double hours = (double)(step->to_ms - step->from_ms) / (double)MS_PER_H;
    if (isnan(step->temp0_c) || isnan(step->rh0_pct)) {
        if (law->side != SIDE_CLOSING)
            return 0.0;
        return hours * law_rate(law, HISTORY_UNKNOWN_WARM_C, law->ref_rh_pct, NULL);
    }
    return law_integrate(law, hours, step->temp0_c, step->temp1_c, step->rh0_pct, step->rh1_pct);
}

int64_t history_step_solve(const struct law *law, const struct air_step *step, double goal)
{
    double hours = (double)(step->to_ms - step->from_ms) / (double)MS_PER_H;
    double whole = history_step_integral(law, step);
    if (goal <= 0.0)
        return step->from_ms;
    if (goal >= whole)
        return step->to_ms;
    double needed_h;
    if (isnan(step->temp0_c) || (step->temp0_c == step->temp1_c && step->rh0_pct == step->rh1_pct))
        needed_h = hours * goal / whole;
    else
        needed_h = law_solve(law, hours, step->temp0_c, step->temp1_c, step->rh0_pct, step->rh1_pct, goal);
    int64_t at = step->from_ms + (int64_t)ceil(needed_h * (double)MS_PER_H); /* an opening is never rounded early */
    return at < step->to_ms ? at : step->to_ms;
}
