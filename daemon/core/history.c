#include "coat/history.h"

#include "coat/moment.h"

#include <math.h>

#define DAY_MS MS_PER_DAY
/* With less than a day of readings: design figures, meant to be colder, damper and warmer than a shop gets in a day. */
#define ASSUME_COLDER_C 10.0
#define ASSUME_WARMER_C 10.0
#define ASSUME_DAMP_PCT 85.0
#define ASSUME_DRY_PCT 20.0

int32_t sensor_hold_s(int32_t interval_s)
{
    if (interval_s > READING_HOLD_MAX_S / 3)
        return READING_HOLD_MAX_S;
    return interval_s * 3 < READING_HOLD_MIN_S ? READING_HOLD_MIN_S : interval_s * 3;
}

static double temp_of(const struct reading *r)
{
    return r->temp_mc / 1000.0;
}

static double rh_of(const struct reading *r)
{
    return r->rh_mp / 1000.0;
}

static int64_t hold_end(const struct reading *r)
{
    return r->at_ms + r->hold_s * MS_PER_S;
}

static bool joined(const struct reading *a, const struct reading *b)
{
    return b->at_ms <= hold_end(a);
}

/* Whether the readings up to the last one form a chain without gap that reaches back a whole day. */
static bool covers_a_day(const struct reading *r, size_t n)
{
    int64_t begin = r[n - 1].at_ms - DAY_MS;
    for (size_t i = n - 1; r[i].at_ms > begin; i--)
        if (i == 0 || !joined(&r[i - 1], &r[i]))
            return false;
    return true;
}

struct air_assumption history_assume(const struct reading *r, size_t n)
{
    const struct reading *last = &r[n - 1];
    struct reading low = *last, high = *last;
    for (size_t i = n; i-- > 0 && r[i].at_ms >= last->at_ms - DAY_MS;) {
        low.temp_mc = r[i].temp_mc < low.temp_mc ? r[i].temp_mc : low.temp_mc;
        low.rh_mp = r[i].rh_mp < low.rh_mp ? r[i].rh_mp : low.rh_mp;
        high.temp_mc = r[i].temp_mc > high.temp_mc ? r[i].temp_mc : high.temp_mc;
        high.rh_mp = r[i].rh_mp > high.rh_mp ? r[i].rh_mp : high.rh_mp;
    }
    struct air_assumption a = {temp_of(&low), rh_of(&high), temp_of(&high), rh_of(&low)};
    if (covers_a_day(r, n))
        return a;
    a.cold_c = fmin(a.cold_c, temp_of(last) - ASSUME_COLDER_C);
    a.warm_c = fmax(a.warm_c, temp_of(last) + ASSUME_WARMER_C);
    a.damp_pct = fmax(a.damp_pct, ASSUME_DAMP_PCT);
    a.dry_pct = fmin(a.dry_pct, ASSUME_DRY_PCT);
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
};

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

static bool give_steady(const struct walk *w, int64_t from_ms, int64_t to_ms, double temp_c, double rh_pct,
                        enum air_basis basis)
{
    return give(w, &(struct air_step){from_ms, to_ms, temp_c, temp_c, rh_pct, rh_pct, basis});
}

static bool give_assumed(const struct walk *w, int64_t from_ms, int64_t to_ms, size_t readings)
{
    if (from_ms >= w->to_ms || to_ms <= w->from_ms || from_ms >= to_ms)
        return true;
    struct air_assumption a = history_assume(w->r, readings);
    bool closing = w->side == SIDE_CLOSING;
    return give_steady(w, from_ms, to_ms, closing ? a.warm_c : a.cold_c, closing ? a.dry_pct : a.damp_pct, AIR_ASSUMED);
}

/* The straight lines from reading *io_i on, until a gap follows or the walk ends; there it leaves *io_i. The usual case of a
 * replay: what ends one line begins the next. */
static bool give_joined(const struct walk *w, size_t *io_i)
{
    const struct reading *last = &w->r[*io_i];
    struct air_step step = {.to_ms = last->at_ms, .temp1_c = temp_of(last), .rh1_pct = rh_of(last), .basis = AIR_MEASURED};
    for (; *io_i + 1 < w->n && last->at_ms < w->to_ms && joined(last, last + 1); ++*io_i) {
        last++;
        step.from_ms = step.to_ms;
        step.temp0_c = step.temp1_c;
        step.rh0_pct = step.rh1_pct;
        step.to_ms = last->at_ms;
        step.temp1_c = temp_of(last);
        step.rh1_pct = rh_of(last);
        if (!give(w, &step))
            return false;
    }
    return true;
}

/* The gap after reading i, up to the next one or, after the last, for ever. */
static bool give_gap(const struct walk *w, size_t i)
{
    const struct reading *a = &w->r[i];
    int64_t end = i + 1 < w->n ? a[1].at_ms : INT64_MAX;
    return give_steady(w, a->at_ms, hold_end(a), temp_of(a), rh_of(a), AIR_MEASURED) &&
           give_assumed(w, hold_end(a), end, i + 1);
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

void history_walk(const struct reading *r, size_t n, int64_t from_ms, int64_t to_ms, enum law_side side,
                  history_visitor visit, void *context)
{
    struct walk w = {r, n, from_ms, to_ms, side, visit, context};
    if (from_ms >= to_ms)
        return;
    if (n == 0) {
        give_steady(&w, from_ms, to_ms, (double)NAN, (double)NAN, AIR_ASSUMED);
        return;
    }
    size_t i = last_before(r, n, from_ms);
    if (i == n) {
        if (!give_assumed(&w, from_ms, r[0].at_ms, 1))
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
