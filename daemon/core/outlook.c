#include "coat/outlook.h"

#include "coat/moment.h"

#include <math.h>
#include <string.h>

#define DAY_H 24
#define NOW OUTLOOK_PAST_HOURS /* index of the present in the hours of the past; index % 24 is the hour of a day that ends now */
#define POINTS (OUTLOOK_PAST_HOURS + 1)
#define AHEAD (OUTLOOK_HOURS_MAX + 1)

/* The figures below marked "tuned" were chosen on the first 15 days of each month of a year of hourly airport air (Newark 2013,
 * see tests/reference/air) and checked on the other days; never on a room. `make bench-outlook` tells both. */

/* A departure fades as NEAR e^(-t/NEAR_H) + FAR e^(-t/FAR_H): most of it within a day or two, a little of it is the season's.
 * Tuned; regression of the departure to come on the present one gives 0.6 a day ahead, 0.2 to 0.3 after three. */
#define NEAR 0.85
#define NEAR_H 36.0
#define FAR 0.15
#define FAR_H 400.0

/* Air that gets moister is the forerunner of warmer air (it comes from where it is warmer, and cloud holds the night's warmth):
 * by so many times what moister hours of these days were warmer by, for as much as the last 6 hours are moister than the last
 * day; rising over 5 hours and fading over 36. Tuned. Where moisture says nothing of warmth, as in most heated rooms, it says
 * nothing here; days that have told so little count with four days that tell nothing. */
#define MOIST_GAIN 1.4
#define MOIST_PRIOR_DAYS 4.0
#define MOIST_RISE_H 5.0
#define MOIST_FADE_H 36.0
#define MOIST_RECENT_H 6

/* Errors inside the days from which the cycle was learned are smaller than those to come. Tuned for 80 % in the band. */
#define ERROR_WIDEN 1.3

/* The mean of n days is off by about s sqrt(MEAN_OFF / n), where s is the deviation of a day's mean: days that go on from one
 * another with correlation 0.45 count as 1/2.6 of a day each. Worked out: (1 + 0.45) / (1 - 0.45). */
#define MEAN_OFF 2.6

/* What s is taken to be before days have told it, worth two days of telling: airport air has 4 C (tuned) and 0.4. Rooms are
 * steadier, and soon show it. */
#define PRIOR_DAYS 2.0
static const double prior_temp_c = 4.0, prior_log_pa = 0.4;

/* With less than a day of readings: deviation of the air to come about the last reading, reached over 6 hours. A round figure: 10
 * to 90 % are then 15 C apart, as far as a clear day swings. */
#define BARE_TEMP_C 6.0
#define BARE_LOG_PA 0.45
#define BARE_RISE_H 6.0

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

static double rh_from(double log_pa, double temp_c)
{
    return clamp(100.0 * exp(log_pa - log_saturation_pa(temp_c)), RH_MIN_PCT, RH_MAX_PCT);
}

static double fade(double lead_h)
{
    return NEAR * exp(-lead_h / NEAR_H) + FAR * exp(-lead_h / FAR_H);
}

/* ---- the past, hour by hour ---- */

struct past {
    double temp_c[POINTS]; /* NAN where no reading tells it */
    double log_pa[POINTS]; /* ln of the vapour pressure: what the air carries, whatever its temperature does */
    unsigned known, first, last;
};

struct air_now {
    double temp_c, rh_pct;
};

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
    double temp_mc = a->temp_mc, rh_mp = a->rh_mp;
    if (joined) {
        temp_mc += share * (b->temp_mc - temp_mc);
        rh_mp += share * (b->rh_mp - rh_mp);
    }
    *ret = (struct air_now){clamp(temp_mc / 1000.0, TEMP_MIN_C, TEMP_MAX_C), clamp(rh_mp / 1000.0, RH_MIN_PCT, RH_MAX_PCT)};
    return true;
}

/* How many readings are at or before the moment. */
static size_t count_until(const struct reading *r, size_t n, int64_t at_ms)
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

static void note_hour(struct past *past, unsigned i, struct air_now air)
{
    past->temp_c[i] = air.temp_c;
    past->log_pa[i] = log_saturation_pa(air.temp_c) + log(air.rh_pct / 100.0);
    past->first = past->known == 0 ? i : past->first;
    past->last = i;
    past->known++;
}

static void past_read(const struct outlook_facts *facts, struct past *ret)
{
    ret->known = ret->first = ret->last = 0;
    for (unsigned i = 0; i < POINTS; i++) {
        int64_t at_ms = facts->now_ms - (int64_t)(NOW - i) * MS_PER_H;
        size_t until = count_until(facts->readings, facts->count, at_ms);
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
static void past_take_last(const struct outlook_facts *facts, struct past *past)
{
    const struct reading *last = &facts->readings[facts->count - 1];
    note_hour(past, NOW, (struct air_now){clamp(last->temp_mc / 1000.0, TEMP_MIN_C, TEMP_MAX_C),
                                          clamp(last->rh_mp / 1000.0, RH_MIN_PCT, RH_MAX_PCT)});
    past->known = 0;
}

static unsigned past_span(const struct past *past)
{
    return past->last - past->first + 1;
}

/* ---- the heater ---- */

/* How far the room has taken on the heater's warmth, 0 to 1, for the hours of the past and those to come: it follows the heater
 * with a time constant. */
struct heat {
    double share[POINTS + OUTLOOK_HOURS_MAX];
};

static const double heat_constants_h[] = {1.0, 2.0, 4.0, 8.0}; /* a booth to a masonry cellar; a round choice */
#define HEAT_CONSTANTS (sizeof heat_constants_h / sizeof *heat_constants_h)

static bool is_heated(const struct outlook_facts *facts, unsigned i, unsigned hours)
{
    if (i <= NOW)
        return facts->heated_past && i > 0 && facts->heated_past[NOW - i];
    return facts->heated_ahead && i - NOW <= hours && facts->heated_ahead[i - NOW - 1];
}

static void heat_follow(const struct outlook_facts *facts, unsigned hours, double constant_h, struct heat *ret)
{
    double gain = 1.0 - exp(-1.0 / constant_h), share = 0.0;
    for (unsigned i = 0; i < POINTS + OUTLOOK_HOURS_MAX; i++) {
        share += gain * ((is_heated(facts, i, hours) ? 1.0 : 0.0) - share);
        ret->share[i] = share;
    }
}

/* ---- what repeats itself: a daily cycle, and on top of it the heater ---- */

struct pattern {
    double cycle[DAY_H];  /* without heat */
    double lift;          /* what full heat adds */
    double misfit;        /* sum of squares that is left, to choose among time constants */
    double left[POINTS];  /* departures from first to last known hour; gaps are bridged by a straight line */
};

struct slots {
    double x[DAY_H], heat[DAY_H]; /* means */
    unsigned count[DAY_H];
};

static void slots_mean(const double *x, const struct past *past, const struct heat *heat, struct slots *ret)
{
    memset(ret, 0, sizeof *ret);
    for (unsigned i = past->first; i <= past->last; i++) {
        if (isnan(x[i]))
            continue;
        ret->x[i % DAY_H] += x[i];
        ret->heat[i % DAY_H] += heat->share[i];
        ret->count[i % DAY_H]++;
    }
    for (unsigned s = 0; s < DAY_H; s++) {
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

static struct line_sums sum_line(const double *x, const struct past *past, const struct heat *heat, const struct slots *mean)
{
    struct line_sums sums = {0};
    for (unsigned i = past->first; i <= past->last; i++) {
        if (isnan(x[i]))
            continue;
        double dx = x[i] - mean->x[i % DAY_H], dh = heat->share[i] - mean->heat[i % DAY_H];
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
    for (unsigned s = 0; s < DAY_H; s++) {
        x += slots->x[s] * slots->count[s];
        heat += slots->heat[s] * slots->count[s];
        count += slots->count[s];
    }
    for (unsigned s = 0; s < DAY_H; s++) {
        pooled.x[s] = x / count;
        pooled.heat[s] = heat / count;
    }
    return pooled;
}

/* What heat adds: the same hour of the day with and without it. An evening that is heated every day cannot tell that; then the
 * heated hours against the others of the day must do, and count as one heated hour beside it. */
static void learn_lift(const double *x, const struct past *past, const struct heat *heat, const struct slots *mean,
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
static void bridge_cycle(double cycle[DAY_H], const unsigned count[DAY_H])
{
    for (unsigned s = 0; s < DAY_H; s++) {
        unsigned back = 0, on = 0;
        if (count[s] > 0)
            continue;
        while (count[(s + DAY_H - back) % DAY_H] == 0)
            back++;
        while (count[(s + on) % DAY_H] == 0)
            on++;
        double before = cycle[(s + DAY_H - back) % DAY_H], after = cycle[(s + on) % DAY_H];
        cycle[s] = before + (after - before) * back / (back + on);
    }
}

/* Few days leave an hour's mean ragged: weights 1 2 1. */
static void smooth_cycle(double cycle[DAY_H])
{
    double raw[DAY_H];
    memcpy(raw, cycle, sizeof raw);
    for (unsigned s = 0; s < DAY_H; s++)
        cycle[s] = 0.25 * raw[(s + DAY_H - 1) % DAY_H] + 0.5 * raw[s] + 0.25 * raw[(s + 1) % DAY_H];
}

static void learn_cycle(const double *x, const struct past *past, const struct heat *heat, struct pattern *ret)
{
    struct slots mean;
    slots_mean(x, past, heat, &mean);
    learn_lift(x, past, heat, &mean, ret);
    for (unsigned s = 0; s < DAY_H; s++)
        ret->cycle[s] = mean.x[s] - ret->lift * mean.heat[s];
    bridge_cycle(ret->cycle, mean.count);
    smooth_cycle(ret->cycle);
}

/* With less than a day the hours not yet seen are anybody's guess: the last air stands for all. */
static void stand_still(const double *x, const struct past *past, struct pattern *ret)
{
    ret->lift = ret->misfit = 0.0;
    for (unsigned s = 0; s < DAY_H; s++)
        ret->cycle[s] = x[past->last];
}

static double usual(const struct pattern *pattern, const struct heat *heat, unsigned i)
{
    return pattern->cycle[i % DAY_H] + pattern->lift * heat->share[i];
}

static void find_departures(const double *x, const struct past *past, const struct heat *heat, struct pattern *pattern)
{
    unsigned known = past->first;
    for (unsigned i = past->first; i <= past->last; i++) {
        if (isnan(x[i]))
            continue;
        double left = x[i] - usual(pattern, heat, i);
        for (unsigned gap = known + 1; gap < i; gap++)
            pattern->left[gap] = pattern->left[known] + (left - pattern->left[known]) * (gap - known) / (i - known);
        pattern->left[i] = left;
        known = i;
    }
}

static void learn(const double *x, const struct past *past, const struct heat *heat, struct pattern *ret)
{
    if (past_span(past) < DAY_H)
        stand_still(x, past, ret);
    else
        learn_cycle(x, past, heat, ret);
}

/* The room's time constant that leaves the least misfit; temperature decides, vapour follows. */
static void learn_both(const struct outlook_facts *facts, unsigned hours, const struct past *past, struct heat *ret_heat,
                       struct pattern *ret_temp, struct pattern *ret_vapour)
{
    double best_h = heat_constants_h[0], least = HUGE_VAL;
    for (size_t i = 0; facts->heated_past && i < HEAT_CONSTANTS; i++) {
        heat_follow(facts, hours, heat_constants_h[i], ret_heat);
        learn(past->temp_c, past, ret_heat, ret_temp);
        if (ret_temp->misfit < least) {
            least = ret_temp->misfit;
            best_h = heat_constants_h[i];
        }
    }
    heat_follow(facts, hours, best_h, ret_heat);
    learn(past->temp_c, past, ret_heat, ret_temp);
    learn(past->log_pa, past, ret_heat, ret_vapour);
    find_departures(past->temp_c, past, ret_heat, ret_temp);
    find_departures(past->log_pa, past, ret_heat, ret_vapour);
}

/* ---- members ---- */

/* Normal quantiles at (j + 1/2) / 40, shuffled by steps of 23 and 17 through the members, so that neither goes with the moment
 * from which a member takes its errors nor with one another. */
static const double quantile_half[OUTLOOK_MEMBERS / 2] = {0.031, 0.094, 0.157, 0.221, 0.286, 0.352, 0.419, 0.489, 0.561, 0.636,
                                                          0.714, 0.798, 0.887, 0.984, 1.092, 1.213, 1.356, 1.534, 1.780, 2.241};

static double shuffled_quantile(unsigned member, unsigned step)
{
    unsigned j = member * step % OUTLOOK_MEMBERS, half = OUTLOOK_MEMBERS / 2;
    return j < half ? -quantile_half[half - 1 - j] : quantile_half[j - half];
}

/* How a quantity departs from its pattern in the hours to come. `lead` counts from the last known hour. */
struct course {
    const struct pattern *pattern;
    double off_sd;     /* deviation of the mean itself */
    double off_rise_h; /* over which it comes up; 0: as the departure fades */
};

/* All that the members share. */
struct ensemble {
    const struct past *past;
    const struct heat *heat;
    struct course temp, vapour;
    unsigned hours;
    unsigned age_h;                             /* of the last known hour */
    double fade[AHEAD];                         /* by hours from now */
    double moist[AHEAD];                        /* C for each unit of `moister` */
    double moister[POINTS];                     /* last hours against the last day, at each hour of the past */
};

/* Deviation of the means of days from the pattern, counted back from the last known hour. */
static double day_deviation(const struct pattern *pattern, const struct past *past, double prior)
{
    double squares = PRIOR_DAYS * prior * prior, days = PRIOR_DAYS;
    for (unsigned end = past->last + 1; end >= past->first + DAY_H; end -= DAY_H, days += 1.0) {
        double sum = 0.0;
        for (unsigned i = end - DAY_H; i < end; i++)
            sum += pattern->left[i];
        squares += sum * sum / (DAY_H * DAY_H);
    }
    return sqrt(squares / days);
}

static struct course course_of(const struct pattern *pattern, const struct past *past, double prior, double bare)
{
    if (past_span(past) < DAY_H)
        return (struct course){pattern, bare, BARE_RISE_H};
    double known_days = fmax(past->known / (double)DAY_H, 1.0);
    return (struct course){pattern, day_deviation(pattern, past, prior) * sqrt(MEAN_OFF / known_days), 0.0};
}

/* By how much the last 6 hours are moister than the last day, for each hour of the past that has one before it. */
static void find_moister(const struct past *past, const struct pattern *vapour, double ret[POINTS])
{
    double day = 0.0, recent = 0.0;
    for (unsigned i = past->first; i <= past->last; i++) {
        unsigned age = i - past->first;
        day += vapour->left[i] - (age >= DAY_H ? vapour->left[i - DAY_H] : 0.0);
        recent += vapour->left[i] - (age >= MOIST_RECENT_H ? vapour->left[i - MOIST_RECENT_H] : 0.0);
        ret[i] = age + 1 >= DAY_H ? recent / MOIST_RECENT_H - day / DAY_H : 0.0;
    }
}

/* By how much moister hours were warmer: C for each unit of ln(vapour pressure), never less than nothing. */
static double warmth_of_moisture(const struct past *past, const struct pattern *temp, const struct pattern *vapour)
{
    double both = 0.0, square = 1e-6, days = past_span(past) / (double)DAY_H;
    for (unsigned i = past->first; i <= past->last; i++) {
        both += temp->left[i] * vapour->left[i];
        square += vapour->left[i] * vapour->left[i];
    }
    return fmax(both / square, 0.0) * days / (days + MOIST_PRIOR_DAYS);
}

static void ensemble_prepare(struct ensemble *e)
{
    double moist_c = MOIST_GAIN * warmth_of_moisture(e->past, e->temp.pattern, e->vapour.pattern);
    e->age_h = NOW - e->past->last;
    find_moister(e->past, e->vapour.pattern, e->moister);
    for (unsigned h = 0; h <= e->hours; h++) {
        double lead_h = h + e->age_h;
        e->fade[h] = fade(lead_h);
        e->moist[h] = moist_c * (exp(-lead_h / MOIST_FADE_H) - exp(-lead_h / MOIST_RISE_H));
    }
}

/* The forecast itself. */
static void tell_central(const struct ensemble *e, struct outlook_path *ret, double ret_log_pa[AHEAD])
{
    unsigned last = e->past->last;
    double temp_off = e->temp.pattern->left[last], vapour_off = e->vapour.pattern->left[last];
    for (unsigned h = 0; h <= e->hours; h++) {
        double temp_c = usual(e->temp.pattern, e->heat, NOW + h) + temp_off * e->fade[h] + e->moister[last] * e->moist[h];
        ret->temp_c[h] = clamp(temp_c, TEMP_MIN_C, TEMP_MAX_C);
        ret_log_pa[h] = usual(e->vapour.pattern, e->heat, NOW + h) + vapour_off * e->fade[h];
        ret->rh_pct[h] = rh_from(ret_log_pa[h], ret->temp_c[h]);
    }
}

/* Share of the mean's own error at so many hours from now. */
static double off_share(const struct ensemble *e, const struct course *course, unsigned h)
{
    return course->off_rise_h > 0.0 ? 1.0 - exp(-(h + e->age_h) / course->off_rise_h) : 1.0 - e->fade[h];
}

/* A member: the forecast, and what it would have missed by from one hour of the past on. The past is taken as a ring, for there is
 * no more of it. */
static void tell_member(const struct ensemble *e, unsigned j, const struct outlook_path *central, const double log_pa[AHEAD],
                        struct outlook_path *ret)
{
    const double *temp = e->temp.pattern->left, *vapour = e->vapour.pattern->left;
    unsigned first = e->past->first, span = past_span(e->past);
    unsigned start = j * span / OUTLOOK_MEMBERS, at = (start + e->age_h) % span;
    double temp_off = e->temp.off_sd * shuffled_quantile(j, 23), vapour_off = e->vapour.off_sd * shuffled_quantile(j, 17);
    double temp0 = temp[first + start], vapour0 = vapour[first + start], moister0 = e->moister[first + start];
    for (unsigned h = 0; h <= e->hours; h++, at = at + 1 == span ? 0 : at + 1) {
        double temp_miss = temp[first + at] - e->fade[h] * temp0 - e->moist[h] * moister0;
        double vapour_miss = vapour[first + at] - e->fade[h] * vapour0;
        ret->temp_c[h] = clamp(central->temp_c[h] + ERROR_WIDEN * temp_miss + temp_off * off_share(e, &e->temp, h), TEMP_MIN_C,
                               TEMP_MAX_C);
        ret->rh_pct[h] = rh_from(log_pa[h] + ERROR_WIDEN * vapour_miss + vapour_off * off_share(e, &e->vapour, h),
                                 ret->temp_c[h]);
    }
}

static void tell_all(struct ensemble *e, struct outlook *ret)
{
    double log_pa[AHEAD];
    ensemble_prepare(e);
    tell_central(e, &ret->central, log_pa);
    for (unsigned j = 0; j < OUTLOOK_MEMBERS; j++)
        tell_member(e, j, &ret->central, log_pa, &ret->member[j]);
}

void outlook_make(const struct outlook_facts *facts, unsigned hours, struct outlook *ret)
{
    struct past past;
    struct heat heat;
    struct pattern temp, vapour;
    ret->from_ms = facts->now_ms;
    ret->hours = hours < 1 ? 1 : hours > OUTLOOK_HOURS_MAX ? OUTLOOK_HOURS_MAX : hours;
    ret->members = facts->count > 0 ? OUTLOOK_MEMBERS : 0;
    ret->known_days = 0.0;
    if (facts->count == 0)
        return;
    past_read(facts, &past);
    if (past.known == 0)
        past_take_last(facts, &past);
    ret->known_days = past.known / (double)DAY_H;
    learn_both(facts, ret->hours, &past, &heat, &temp, &vapour);
    struct ensemble e = {.past = &past,
                         .heat = &heat,
                         .temp = course_of(&temp, &past, prior_temp_c, BARE_TEMP_C),
                         .vapour = course_of(&vapour, &past, prior_log_pa, BARE_LOG_PA),
                         .hours = ret->hours};
    tell_all(&e, ret);
}
