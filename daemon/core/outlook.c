#include "coat/outlook.h"

#include "coat/pattern.h"

#include <math.h>

#define AHEAD (OUTLOOK_HOURS_MAX + 1)

/* The figures below marked "tuned" were chosen on the first 15 days of each month of a year of hourly airport air (Newark 2013,
 * see tests/reference/air) and checked on the other days: `make bench-outlook` tells both. None was tuned
 * on a room; but a week of one showed which must not be taken over from outdoors, so that the weight of moisture and the first guess
 * of variation are learned from the air at hand. */

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
#define ERROR_WIDEN 1.2

/* The mean of n days is off by about s sqrt(MEAN_OFF / n), where s is the deviation of a day's mean: days that go on from one
 * another with correlation 0.45 count as 1/2.6 of a day each. Worked out: (1 + 0.45) / (1 - 0.45). By the same share the days,
 * counted from their own mean, show less than they vary. */
#define MEAN_OFF 2.6

/* What s is taken to be before days have told it, worth two days of telling. Airport air has 4 C and 0.4, and swings with a
 * deviation of 3 to 4 C within a day (all tuned). Air that swings less by day, as in a cellar, also goes less from day to day; but
 * not less than a degree, a round figure. */
#define PRIOR_DAYS 2.0
#define PRIOR_TEMP_MAX_C 4.0
#define PRIOR_TEMP_MIN_C 1.0
#define PRIOR_OF_SWING 1.2
#define PRIOR_LOG_PA 0.4

/* With less than a day of readings: deviation of the air to come about the last reading, reached over 6 hours. A round figure: 10
 * to 90 % are then 15 C apart, as far as a clear day swings. */
#define BARE_TEMP_C 6.0
#define BARE_LOG_PA 0.45
#define BARE_RISE_H 6.0

static double fade(double lead_h)
{
    return NEAR * exp(-lead_h / NEAR_H) + FAR * exp(-lead_h / FAR_H);
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

/* How a quantity may depart from its pattern in the hours to come. */
struct course {
    double mean_sd;   /* deviation of the mean itself */
    double unseen_sd; /* what the days cannot show of their variation */
    bool bare;        /* less than a day is known */
};

/* All that the members share. */
struct ensemble {
    const struct air_pattern *air;
    struct course temp, vapour;
    unsigned hours;
    unsigned age_h;                                  /* of the last known hour */
    double fade[AHEAD];                              /* by hours from now, as all these */
    double moist[AHEAD];                             /* C for each unit of `moister` */
    double hidden_temp[AHEAD], hidden_vapour[AHEAD]; /* deviations of what the past cannot show */
    double moister[PATTERN_POINTS];                  /* last hours against the last day, at each hour of the past */
};

/* Deviation of the means of days from the pattern, counted back from the last known hour. */
static double day_deviation(const struct pattern *pattern, const struct pattern_past *past, double prior)
{
    double squares = PRIOR_DAYS * prior * prior, days = PRIOR_DAYS;
    for (unsigned end = past->last + 1; end >= past->first + PATTERN_DAY_H; end -= PATTERN_DAY_H, days += 1.0) {
        double sum = 0.0;
        for (unsigned i = end - PATTERN_DAY_H; i < end; i++)
            sum += pattern->left[i];
        squares += sum * sum / (PATTERN_DAY_H * PATTERN_DAY_H);
    }
    return sqrt(squares / days);
}

/* Deviation of the temperatures themselves. */
static double swing_c(const struct pattern_past *past)
{
    double sum = 0.0, squares = 0.0, n = fmax(past->known, 1.0);
    for (unsigned i = past->first; i <= past->last; i++) {
        double x = isnan(past->temp_c[i]) ? 0.0 : past->temp_c[i];
        sum += x;
        squares += x * x;
    }
    return sqrt(fmax(squares / n - sum / n * sum / n, 0.0));
}

static double prior_temp_c(const struct pattern_past *past)
{
    return fmin(fmax(PRIOR_OF_SWING * swing_c(past), PRIOR_TEMP_MIN_C), PRIOR_TEMP_MAX_C);
}

static struct course course_of(const struct pattern *pattern, const struct pattern_past *past, double prior, double bare)
{
    if (pattern_span(past) < PATTERN_DAY_H)
        return (struct course){bare, 0.0, true};
    double off = MEAN_OFF / fmax(past->known / (double)PATTERN_DAY_H, 1.0), day_sd = day_deviation(pattern, past, prior);
    return (struct course){day_sd * sqrt(off), day_sd * sqrt(fmin(off, 1.0)), false};
}

/* By how much the last 6 hours are moister than the last day, for each hour of the past that has one before it. */
static void find_moister(const struct pattern_past *past, const struct pattern *vapour, double ret[PATTERN_POINTS])
{
    double day = 0.0, recent = 0.0;
    for (unsigned i = past->first; i <= past->last; i++) {
        unsigned age = i - past->first;
        day += vapour->left[i] - (age >= PATTERN_DAY_H ? vapour->left[i - PATTERN_DAY_H] : 0.0);
        recent += vapour->left[i] - (age >= MOIST_RECENT_H ? vapour->left[i - MOIST_RECENT_H] : 0.0);
        ret[i] = age + 1 >= PATTERN_DAY_H ? recent / MOIST_RECENT_H - day / PATTERN_DAY_H : 0.0;
    }
}

/* By how much moister hours were warmer: C for each unit of ln(vapour pressure), never less than nothing. */
static double warmth_of_moisture(const struct air_pattern *air)
{
    const double *temp = air->temp.left, *vapour = air->vapour.left;
    const struct pattern_past *past = &air->past;
    double both = 0.0, square = 1e-6, days = pattern_span(past) / (double)PATTERN_DAY_H;
    for (unsigned i = past->first; i <= past->last; i++) {
        both += temp[i] * vapour[i];
        square += vapour[i] * vapour[i];
    }
    return fmax(both / square, 0.0) * days / (days + MOIST_PRIOR_DAYS);
}

/* Deviation of what the past cannot show, at so many hours from now. It comes up as the present departure fades: the mean's error
 * as what has faded of it, the rest as the errors of such a fading forecast do. */
static double hidden_sd(const struct ensemble *e, const struct course *course, unsigned h)
{
    double lead_h = h + e->age_h, fade_h = e->fade[h];
    if (course->bare)
        return course->mean_sd * (1.0 - exp(-lead_h / BARE_RISE_H));
    double mean = course->mean_sd * (1.0 - fade_h);
    return sqrt(mean * mean + course->unseen_sd * course->unseen_sd * (1.0 - fade_h * fade_h));
}

static void ensemble_prepare(struct ensemble *e)
{
    double moist_c = MOIST_GAIN * warmth_of_moisture(e->air);
    e->age_h = PATTERN_NOW - e->air->past.last;
    find_moister(&e->air->past, &e->air->vapour, e->moister);
    for (unsigned h = 0; h <= e->hours; h++) {
        double lead_h = h + e->age_h;
        e->fade[h] = fade(lead_h);
        e->moist[h] = moist_c * (exp(-lead_h / MOIST_FADE_H) - exp(-lead_h / MOIST_RISE_H));
        e->hidden_temp[h] = hidden_sd(e, &e->temp, h);
        e->hidden_vapour[h] = hidden_sd(e, &e->vapour, h);
    }
}

/* The forecast itself. */
static void tell_central(const struct ensemble *e, struct outlook_path *ret, double ret_log_pa[AHEAD])
{
    unsigned last = e->air->past.last;
    double temp_off = e->air->temp.left[last], vapour_off = e->air->vapour.left[last];
    for (unsigned h = 0; h <= e->hours; h++) {
        double usual_c = pattern_usual(&e->air->temp, &e->air->heat, PATTERN_NOW + h);
        ret->temp_c[h] = pattern_temp_c(usual_c + temp_off * e->fade[h] + e->moister[last] * e->moist[h]);
        ret_log_pa[h] = pattern_usual(&e->air->vapour, &e->air->heat, PATTERN_NOW + h) + vapour_off * e->fade[h];
        ret->rh_pct[h] = pattern_rh_pct(ret_log_pa[h], ret->temp_c[h]);
    }
}

/* A member: the forecast, and what it would have missed by from one hour of the past on. The past is taken as a ring, for there is
 * no more of it. */
static void tell_member(const struct ensemble *e, unsigned j, const struct outlook_path *central, const double log_pa[AHEAD],
                        struct outlook_path *ret)
{
    const double *temp = e->air->temp.left, *vapour = e->air->vapour.left;
    unsigned first = e->air->past.first, span = pattern_span(&e->air->past);
    unsigned start = j * span / OUTLOOK_MEMBERS, at = (start + e->age_h) % span;
    double temp_z = shuffled_quantile(j, 23), vapour_z = shuffled_quantile(j, 17);
    double temp0 = temp[first + start], vapour0 = vapour[first + start], moister0 = e->moister[first + start];
    for (unsigned h = 0; h <= e->hours; h++, at = at + 1 == span ? 0 : at + 1) {
        double temp_miss = temp[first + at] - e->fade[h] * temp0 - e->moist[h] * moister0;
        double vapour_miss = vapour[first + at] - e->fade[h] * vapour0;
        ret->temp_c[h] = pattern_temp_c(central->temp_c[h] + ERROR_WIDEN * temp_miss + temp_z * e->hidden_temp[h]);
        ret->rh_pct[h] = pattern_rh_pct(log_pa[h] + ERROR_WIDEN * vapour_miss + vapour_z * e->hidden_vapour[h], ret->temp_c[h]);
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
    struct air_pattern air;
    ret->from_ms = facts->now_ms;
    ret->hours = hours < 1 ? 1 : hours > OUTLOOK_HOURS_MAX ? OUTLOOK_HOURS_MAX : hours;
    ret->members = facts->count > 0 ? OUTLOOK_MEMBERS : 0;
    ret->known_days = 0.0;
    if (facts->count == 0)
        return;
    pattern_learn(facts, ret->hours, &air);
    ret->known_days = air.past.known / (double)PATTERN_DAY_H;
    struct ensemble e = {.air = &air,
                         .temp = course_of(&air.temp, &air.past, prior_temp_c(&air.past), BARE_TEMP_C),
                         .vapour = course_of(&air.vapour, &air.past, PRIOR_LOG_PA, BARE_LOG_PA),
                         .hours = ret->hours};
    tell_all(&e, ret);
}
