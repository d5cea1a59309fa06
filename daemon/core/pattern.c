#include "coat/pattern.h"

#include "coat/moment.h"

#include <math.h>
#include <string.h>

/* Readings further apart are not joined for the outlook (twice the longest time that a reading is held, and an hour for air
 * reported every three hours with one report missing). */
#define JOIN_MS (7 * MS_PER_H)

#define TEMP_MIN_C (-60.0)
#define TEMP_MAX_C 100.0
#define RH_MIN_PCT 1.0
#define RH_MAX_PCT 100.0

static double clamp(double value, double low, double high)
{
    return value < low ? low : value > high ? high : value;
}

/* ln of the saturation pressure over water, Magnus form with the constants of WMO-No. 8 (2018), annex 4.B, to 0.3 % from -45 to
 * 60 C; used both ways here, so that its error drops out. */
static double log_saturation_pa(double temp_c)
{
    return 6.41517 + 17.62 * temp_c / (243.12 + temp_c); /* ln 611.2 */
}

double pattern_temp_c(double temp_c)
{
    return clamp(temp_c, TEMP_MIN_C, TEMP_MAX_C);
}

double pattern_rh_pct(double log_pa, double temp_c)
{
    return clamp(100.0 * exp(log_pa - log_saturation_pa(temp_c)), RH_MIN_PCT, RH_MAX_PCT);
}

/* ---- the past, hour by hour ---- */

struct air_now {
    double temp_c, rh_pct;
};

/* A thermometer tells no humidity: damp is assumed. */
static double rh_told_mp(const struct reading *r)
{
    return r->rh_mp == READING_NONE ? HISTORY_DAMP_PCT * 1000.0 : r->rh_mp;
}

/* The air at a moment between a reading and the next one (NULL: there is none); false where neither tells it. */
static bool air_between(const struct reading *a, const struct reading *b, int64_t at_ms, struct air_now *ret)
{
    double share = 0.0;
    bool held = at_ms <= a->at_ms + a->hold_s * MS_PER_S;
    bool joined = b && b->at_ms - a->at_ms <= JOIN_MS;
    if (!held && !joined)
        return false;
    if (joined && b->at_ms > a->at_ms)
        share = (double)(at_ms - a->at_ms) / (double)(b->at_ms - a->at_ms);
    if (a->temp_mc == READING_NONE)
        return false;
    double temp_mc = a->temp_mc, rh_mp = rh_told_mp(a);
    if (joined && b->temp_mc != READING_NONE) {
        temp_mc += share * (b->temp_mc - temp_mc);
        rh_mp += share * (rh_told_mp(b) - rh_mp);
    }
    *ret = (struct air_now){pattern_temp_c(temp_mc / 1000.0), clamp(rh_mp / 1000.0, RH_MIN_PCT, RH_MAX_PCT)};
    return true;
}

static void note_hour(struct pattern_past *past, unsigned i, struct air_now air)
{
    past->temp_c[i] = air.temp_c;
    past->log_pa[i] = log_saturation_pa(air.temp_c) + log(air.rh_pct / 100.0);
    past->first = past->known == 0 ? i : past->first;
    past->last = i;
    past->known++;
}

static void past_read(const struct outlook_facts *facts, struct pattern_past *ret)
{
    ret->known = ret->first = ret->last = 0;
    for (unsigned i = 0; i < PATTERN_POINTS; i++) {
        int64_t at_ms = facts->now_ms - (int64_t)(PATTERN_NOW - i) * MS_PER_H;
        size_t until = history_count_until(facts->readings, facts->count, at_ms);
        struct air_now air;
        ret->temp_c[i] = ret->log_pa[i] = (double)NAN;
        if (until == 0)
            continue;
        const struct reading *a = &facts->readings[until - 1];
        if (air_between(a, until < facts->count ? a + 1 : NULL, at_ms, &air))
            note_hour(ret, i, air);
    }
}

/* Only readings too old to tell any of these hours: the last one stands for now. */
static void past_take_last(const struct outlook_facts *facts, struct pattern_past *past)
{
    const struct reading *last = &facts->readings[facts->count - 1];
    if (last->temp_mc == READING_NONE)
        return;
    struct air_now air = {pattern_temp_c(last->temp_mc / 1000.0), clamp(rh_told_mp(last) / 1000.0, RH_MIN_PCT, RH_MAX_PCT)};
    note_hour(past, PATTERN_NOW, air);
    past->known = 0;
}

unsigned pattern_span(const struct pattern_past *past)
{
    return past->last - past->first + 1;
}

/* ---- the heater ---- */

static const double heat_constants_h[] = {1.0, 2.0, 4.0, 8.0}; /* a booth to a masonry cellar; a round choice */
#define HEAT_CONSTANTS (sizeof heat_constants_h / sizeof *heat_constants_h)

static bool is_heated(const struct outlook_facts *facts, unsigned i, unsigned hours)
{
    if (i <= PATTERN_NOW)
        return facts->heated_past && i > 0 && facts->heated_past[PATTERN_NOW - i];
    return facts->heated_ahead && i - PATTERN_NOW <= hours && facts->heated_ahead[i - PATTERN_NOW - 1];
}

static void heat_follow(const struct outlook_facts *facts, unsigned hours, double constant_h, struct pattern_heat *ret)
{
    double gain = 1.0 - exp(-1.0 / constant_h), share = 0.0;
    for (unsigned i = 0; i < PATTERN_POINTS + OUTLOOK_HOURS_MAX; i++) {
        share += gain * ((is_heated(facts, i, hours) ? 1.0 : 0.0) - share);
        ret->share[i] = share;
    }
}

/* ---- what repeats itself: a daily cycle, and on top of it the heater ---- */

struct slots {
    double x[PATTERN_DAY_H], heat[PATTERN_DAY_H]; /* means */
    unsigned count[PATTERN_DAY_H];
};

static void slots_mean(const double *x, const struct pattern_past *past, const struct pattern_heat *heat, struct slots *ret)
{
    memset(ret, 0, sizeof *ret);
    for (unsigned i = past->first; i <= past->last; i++) {
        if (isnan(x[i]))
            continue;
        ret->x[i % PATTERN_DAY_H] += x[i];
        ret->heat[i % PATTERN_DAY_H] += heat->share[i];
        ret->count[i % PATTERN_DAY_H]++;
    }
    for (unsigned s = 0; s < PATTERN_DAY_H; s++) {
        if (ret->count[s] == 0)
            continue;
        ret->x[s] /= ret->count[s];
        ret->heat[s] /= ret->count[s];
    }
}

/* Sums for a straight line of x over heat, about means that may differ from hour to hour. */
struct line_sums {
    double xx, xh, hh;
};

static struct line_sums sum_line(const double *x, const struct pattern_past *past, const struct pattern_heat *heat,
                                 const struct slots *mean)
{
    struct line_sums sums = {0};
    for (unsigned i = past->first; i <= past->last; i++) {
        if (isnan(x[i]))
            continue;
        double dx = x[i] - mean->x[i % PATTERN_DAY_H], dh = heat->share[i] - mean->heat[i % PATTERN_DAY_H];
        sums.xx += dx * dx;
        sums.xh += dx * dh;
        sums.hh += dh * dh;
    }
    return sums;
}

/* The same means for all hours of the day. */
static struct slots pool(const struct slots *slots)
{
    struct slots pooled = {0};
    double x = 0.0, heat = 0.0, count = 0.0;
    for (unsigned s = 0; s < PATTERN_DAY_H; s++) {
        x += slots->x[s] * slots->count[s];
        heat += slots->heat[s] * slots->count[s];
        count += slots->count[s];
    }
    for (unsigned s = 0; s < PATTERN_DAY_H; s++) {
        pooled.x[s] = x / count;
        pooled.heat[s] = heat / count;
    }
    return pooled;
}

/* What heat adds: the same hour of the day with and without it. An evening that is heated every day cannot tell that; then the
 * heated hours against the others of the day must do, and count as one heated hour beside it. */
static void learn_lift(const double *x, const struct pattern_past *past, const struct pattern_heat *heat, const struct slots *mean,
                       struct pattern *ret)
{
    struct slots pooled = pool(mean);
    struct line_sums day = sum_line(x, past, heat, &pooled);
    struct line_sums same_hour = sum_line(x, past, heat, mean);
    double coarse = day.hh > 1e-6 ? day.xh / day.hh : 0.0;
    ret->lift = day.hh > 1e-6 ? (same_hour.xh + coarse) / (same_hour.hh + 1.0) : 0.0;
    ret->misfit = same_hour.xx - 2.0 * ret->lift * same_hour.xh + ret->lift * ret->lift * same_hour.hh;
}

/* Hours of the day without a reading lie on a line between their neighbours, around midnight too. */
static void bridge_cycle(double cycle[PATTERN_DAY_H], const unsigned count[PATTERN_DAY_H])
{
    for (unsigned s = 0; s < PATTERN_DAY_H; s++) {
        unsigned back = 0, on = 0;
        if (count[s] > 0)
            continue;
        while (count[(s + PATTERN_DAY_H - back) % PATTERN_DAY_H] == 0)
            back++;
        while (count[(s + on) % PATTERN_DAY_H] == 0)
            on++;
        double before = cycle[(s + PATTERN_DAY_H - back) % PATTERN_DAY_H], after = cycle[(s + on) % PATTERN_DAY_H];
        cycle[s] = before + (after - before) * back / (back + on);
    }
}

/* Few days leave an hour's mean ragged: weights 1 2 1. */
static void smooth_cycle(double cycle[PATTERN_DAY_H])
{
    double raw[PATTERN_DAY_H];
    memcpy(raw, cycle, sizeof raw);
    for (unsigned s = 0; s < PATTERN_DAY_H; s++)
        cycle[s] = 0.25 * raw[(s + PATTERN_DAY_H - 1) % PATTERN_DAY_H] + 0.5 * raw[s] + 0.25 * raw[(s + 1) % PATTERN_DAY_H];
}

static void learn_cycle(const double *x, const struct pattern_past *past, const struct pattern_heat *heat, struct pattern *ret)
{
    struct slots mean;
    slots_mean(x, past, heat, &mean);
    learn_lift(x, past, heat, &mean, ret);
    for (unsigned s = 0; s < PATTERN_DAY_H; s++)
        ret->cycle[s] = mean.x[s] - ret->lift * mean.heat[s];
    bridge_cycle(ret->cycle, mean.count);
    smooth_cycle(ret->cycle);
}

/* With less than a day the hours not yet seen are anybody's guess: the last air stands for all. */
static void stand_still(const double *x, const struct pattern_past *past, struct pattern *ret)
{
    ret->lift = ret->misfit = 0.0;
    for (unsigned s = 0; s < PATTERN_DAY_H; s++)
        ret->cycle[s] = x[past->last];
}

double pattern_usual(const struct pattern *pattern, const struct pattern_heat *heat, unsigned i)
{
    return pattern->cycle[i % PATTERN_DAY_H] + pattern->lift * heat->share[i];
}

static void find_departures(const double *x, const struct pattern_past *past, const struct pattern_heat *heat,
                            struct pattern *pattern)
{
    unsigned known = past->first;
    for (unsigned i = past->first; i <= past->last; i++) {
        if (isnan(x[i]))
            continue;
        double left = x[i] - pattern_usual(pattern, heat, i);
        for (unsigned gap = known + 1; gap < i; gap++)
            pattern->left[gap] = pattern->left[known] + (left - pattern->left[known]) * (gap - known) / (i - known);
        pattern->left[i] = left;
        known = i;
    }
}

static void learn(const double *x, const struct pattern_past *past, const struct pattern_heat *heat, struct pattern *ret)
{
    if (pattern_span(past) < PATTERN_DAY_H)
        stand_still(x, past, ret);
    else
        learn_cycle(x, past, heat, ret);
}

/* Whether any of the past it looks at was heated: where none was, no constant fits better than another. */
static bool was_heated(const struct outlook_facts *facts, unsigned hours)
{
    for (unsigned i = 0; facts->heated_past && i <= PATTERN_NOW; i++)
        if (is_heated(facts, i, hours))
            return true;
    return false;
}

/* The room's time constant that leaves the least misfit. */
static double pick_constant_h(const struct outlook_facts *facts, unsigned hours, struct air_pattern *scratch)
{
    double best_h = heat_constants_h[0], least = HUGE_VAL;
    bool heated = was_heated(facts, hours);
    for (size_t i = 0; heated && i < HEAT_CONSTANTS; i++) {
        heat_follow(facts, hours, heat_constants_h[i], &scratch->heat);
        learn(scratch->past.temp_c, &scratch->past, &scratch->heat, &scratch->temp);
        if (scratch->temp.misfit < least) {
            least = scratch->temp.misfit;
            best_h = heat_constants_h[i];
        }
    }
    return best_h;
}

void pattern_learn(const struct outlook_facts *facts, unsigned hours, struct air_pattern *ret)
{
    past_read(facts, &ret->past);
    if (ret->past.known == 0)
        past_take_last(facts, &ret->past);
    heat_follow(facts, hours, pick_constant_h(facts, hours, ret), &ret->heat); /* temperature decides, vapour follows */
    learn(ret->past.temp_c, &ret->past, &ret->heat, &ret->temp);
    learn(ret->past.log_pa, &ret->past, &ret->heat, &ret->vapour);
    find_departures(ret->past.temp_c, &ret->past, &ret->heat, &ret->temp);
    find_departures(ret->past.log_pa, &ret->past, &ret->heat, &ret->vapour);
}
