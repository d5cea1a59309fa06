#include "coat/check.h"

#include "coat/air.h"
#include "coat/moment.h"
#include "coat/warm.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define MINUTES_IN_H 60.0
#define CLEAR_STEPS_PER_H 12 /* to five minutes */

/* ---- one air ---- */

static double dew_point_of(double temp_c, double rh_pct)
{
    return air_dew_point_c(temp_c, fmax(rh_pct, 0.1));
}

static const struct check_fault no_fault = {CHECK_NOTHING, (double)NAN, (double)NAN};

/* Most hours are: the exact dew point is for those that are not, or nearly. */
static bool clear_by_far(double temp_c, double rh_pct, double surface_c)
{
    return air_surface_is_clear_of_dew(fmin(temp_c, surface_c), air_dew_point_about_c(temp_c, rh_pct) + AIR_DEW_POINT_ABOUT_C); /* false for NAN */
}

/* A surface warmer than the air refuses nothing that the air alone would not, and lets through nothing that it refuses. */
static struct check_fault surface_fault(const struct check_terms *terms, double temp_c, double rh_pct, double surface_c)
{
    bool far = clear_by_far(temp_c, rh_pct, surface_c);
    double dew_c = far ? (double)NAN : dew_point_of(temp_c, rh_pct);
    if (!far && !air_surface_is_clear_of_dew(temp_c, dew_c))
        return (struct check_fault){CHECK_DEW, fmin(surface_c, temp_c) - dew_c, AIR_DEW_MARGIN_C};
    if (!far && !air_surface_is_clear_of_dew(surface_c, dew_c))
        return (struct check_fault){CHECK_SURFACE_DEW, surface_c - dew_c, AIR_DEW_MARGIN_C};
    if (surface_c < terms->min_temp_c)
        return (struct check_fault){CHECK_SURFACE_COLD, surface_c, terms->min_temp_c};
    return no_fault;
}

struct check_fault check_fault_in(const struct check_terms *terms, double temp_c, double rh_pct, double surface_c)
{
    if (isnan(temp_c) || isnan(rh_pct))
        return (struct check_fault){CHECK_NO_AIR, (double)NAN, (double)NAN};
    if (temp_c < terms->min_temp_c)
        return (struct check_fault){CHECK_TOO_COLD, temp_c, terms->min_temp_c};
    if (temp_c > terms->max_temp_c)
        return (struct check_fault){CHECK_TOO_HOT, temp_c, terms->max_temp_c};
    if (rh_pct > terms->max_rh_pct)
        return (struct check_fault){CHECK_TOO_DAMP, rh_pct, terms->max_rh_pct};
    return surface_fault(terms, temp_c, rh_pct, isnan(surface_c) ? temp_c : surface_c);
}

/* Values where higher is worse; of all others lower is. */
static bool higher_is_worse(enum check_reason reason)
{
    return reason == CHECK_TOO_HOT || reason == CHECK_TOO_DAMP;
}

/* By how far the fault is past its limit. */
static double excess(const struct check_fault *fault)
{
    double past = fault->value - fault->limit;
    return higher_is_worse(fault->reason) ? past : -past;
}

/* ---- one course of the air ---- */

/* A member at each full hour, with the piece that follows it. */
struct course {
    unsigned hours;
    double temp_c[OUTLOOK_HOURS_MAX + 1], rh_pct[OUTLOOK_HOURS_MAX + 1], surface_c[OUTLOOK_HOURS_MAX + 1];
    double grown[OUTLOOK_HOURS_MAX + 1];
    struct check_fault fault[OUTLOOK_HOURS_MAX + 1];
    unsigned next_fault[OUTLOOK_HOURS_MAX + 1]; /* the first hour at or after it that breaks a limit; hours + 1: none */
};

/* Over an hour in which the air goes straight from one temperature to the other the lag is taken against their middle. */
static double follow(double surface_c, double temp0_c, double temp1_c, double time_constant_min, double minutes)
{
    if (!(time_constant_min > 0.0))
        return temp1_c;
    return warm_temp_after(time_constant_min, surface_c, 0.5 * (temp0_c + temp1_c), minutes);
}

/* A film dries at the temperature of what it lies on, and no faster for a piece warmer than the air. */
static double film_temp_c(const struct course *course, unsigned h)
{
    return 0.5 * (fmin(course->temp_c[h], course->surface_c[h]) + fmin(course->temp_c[h + 1], course->surface_c[h + 1]));
}

static void fill_course(const struct outlook *outlook, unsigned member, const struct check_terms *terms, struct course *course)
{
    const struct outlook_path *path = &outlook->member[member];
    unsigned last = course->hours = outlook->hours;
    memcpy(course->temp_c, path->temp_c, sizeof course->temp_c);
    memcpy(course->rh_pct, path->rh_pct, sizeof course->rh_pct);
    course->surface_c[0] = isnan(terms->surface_c) ? path->temp_c[0] : terms->surface_c;
    course->grown[0] = 0.0;
    for (unsigned h = 0; h < last; h++) {
        course->surface_c[h + 1] =
            follow(course->surface_c[h], path->temp_c[h], path->temp_c[h + 1], terms->time_constant_min, MINUTES_IN_H);
        double rh_pct = 0.5 * (path->rh_pct[h] + path->rh_pct[h + 1]);
        course->grown[h + 1] = course->grown[h] + law_rate(&terms->law, film_temp_c(course, h), rh_pct, NULL);
    }
    for (unsigned h = last + 1; h-- > 0;) {
        course->fault[h] = check_fault_in(terms, path->temp_c[h], path->rh_pct[h], course->surface_c[h]);
        bool faulty = course->fault[h].reason != CHECK_NOTHING;
        course->next_fault[h] = faulty ? h : h == last ? last + 1 : course->next_fault[h + 1];
    }
}

/* The moment at which a coat put on at hour `start`, which has grown to the goal at hour h and not before, is past its guard. */
static double guard_moment(const struct course *course, const struct check_terms *terms, unsigned start, unsigned h, double goal)
{
    double step = h > start ? course->grown[h] - course->grown[h - 1] : 0.0;
    double end = step > 0.0 ? h - (course->grown[h] - goal) / step : h;
    return fmax(end, start + (terms->floor_h > 0.0 ? terms->floor_h : 0.0));
}

/* Hours from the outlook's begin at which a coat put on at hour `start` is past its guard; INFINITY where it is not within it. */
static double guard_end(const struct course *course, const struct check_terms *terms, unsigned start)
{
    double goal = course->grown[start] + terms->needed;
    unsigned h = start;
    if (!(course->grown[course->hours] >= goal))
        return (double)INFINITY;
    while (h < course->hours && course->grown[h] < goal)
        h++;
    double end = guard_moment(course, terms, start, h, goal);
    return end <= course->hours ? end : (double)INFINITY;
}

static double between(const double *values, double at, unsigned last)
{
    unsigned h = at < last ? (unsigned)at : last, next = h < last ? h + 1 : last;
    return values[h] + (at - h) * (values[next] - values[h]);
}

static struct check_fault fault_at(const struct course *course, const struct check_terms *terms, double at)
{
    return check_fault_in(terms, between(course->temp_c, at, course->hours), between(course->rh_pct, at, course->hours),
                     between(course->surface_c, at, course->hours));
}

/* What a member says of one start: the first limit that it breaks, the worst while it goes on breaking it, and when it begins to. */
struct finding {
    struct check_fault fault;
    double breaks_h;
};

static struct finding worst_from(const struct course *course, unsigned first, double end)
{
    struct finding found = {course->fault[first], first};
    for (unsigned h = first + 1; h <= course->hours && h <= end && course->fault[h].reason == found.fault.reason; h++)
        if (excess(&course->fault[h]) > excess(&found.fault))
            found.fault = course->fault[h];
    return found;
}

static struct finding judge(const struct course *course, const struct check_terms *terms, unsigned start)
{
    double end = guard_end(course, terms, start);
    unsigned first = course->next_fault[start];
    if (first <= course->hours && first <= end)
        return worst_from(course, first, end);
    if (!isfinite(end))
        return (struct finding){{CHECK_NOT_CURED, (double)NAN, (double)NAN}, (double)NAN};
    return (struct finding){fault_at(course, terms, end), end};
}

/* ---- all of them ---- */

static int compare_numbers(const void *left, const void *right)
{
    double a = *(const double *)left, b = *(const double *)right;
    return (a > b) - (a < b);
}

static double middle(double *values, unsigned count)
{
    qsort(values, count, sizeof *values, compare_numbers);
    return count > 0 ? values[count / 2] : (double)NAN;
}

static enum check_reason commonest(const struct finding *findings, unsigned members)
{
    unsigned count[CHECK_REASON_COUNT] = {0};
    enum check_reason most = CHECK_NO_AIR;
    for (unsigned j = 0; j < members; j++)
        count[findings[j].fault.reason]++;
    for (unsigned r = 0; r < CHECK_REASON_COUNT; r++)
        if (r != CHECK_NOTHING && count[r] > count[most])
            most = (enum check_reason)r;
    return most;
}

static bool is_good_share(double share)
{
    return share >= CHECK_GOOD_SHARE - 1e-9;
}

static void sum_up(const struct outlook *outlook, const struct finding *findings, struct check_hour *hour)
{
    enum check_reason reason = commonest(findings, outlook->members);
    double value[OUTLOOK_MEMBERS], breaks[OUTLOOK_MEMBERS], limit = (double)NAN;
    unsigned good = 0, failing = 0;
    for (unsigned j = 0; j < outlook->members; j++) {
        good += findings[j].fault.reason == CHECK_NOTHING;
        if (findings[j].fault.reason != reason)
            continue;
        limit = findings[j].fault.limit;
        breaks[failing] = findings[j].breaks_h;
        value[failing++] = findings[j].fault.value;
    }
    hour->share = (double)good / outlook->members;
    hour->good = is_good_share(hour->share);
    if (hour->good)
        return;
    double breaks_h = middle(breaks, failing);
    hour->fault = (struct check_fault){reason, middle(value, failing), limit};
    if (isfinite(breaks_h))
        hour->breaks_ms = outlook->from_ms + (int64_t)llround(breaks_h * (double)MS_PER_H);
}

static void begin(const struct outlook *outlook, struct check_hour hours[CHECK_STARTS])
{
    for (unsigned t = 0; t < CHECK_STARTS; t++) {
        hours[t].at_ms = outlook->from_ms + t * MS_PER_H;
        hours[t].good = false;
        hours[t].share = 0.0;
        hours[t].fault = (struct check_fault){CHECK_NO_AIR, (double)NAN, (double)NAN};
        hours[t].breaks_ms = MOMENT_NONE;
    }
}

void check_hours(const struct outlook *outlook, const struct check_terms *terms, struct check_hour hours[CHECK_STARTS])
{
    struct finding findings[CHECK_STARTS][OUTLOOK_MEMBERS];
    unsigned starts = outlook->hours + 1 < CHECK_STARTS ? outlook->hours + 1 : CHECK_STARTS;
    struct course course;
    begin(outlook, hours);
    if (outlook->members == 0)
        return;
    for (unsigned j = 0; j < outlook->members; j++) {
        fill_course(outlook, j, terms, &course);
        for (unsigned t = 0; t < starts; t++)
            findings[t][j] = judge(&course, terms, t);
    }
    for (unsigned t = 0; t < starts; t++) {
        hours[t].fault = no_fault;
        sum_up(outlook, findings[t], &hours[t]);
    }
}

/* ---- stretches ---- */

static bool goes_on(const struct check_stretch *stretch, const struct check_hour *hour)
{
    return stretch->good == hour->good && (hour->good || stretch->fault.reason == hour->fault.reason);
}

static void add_hour(struct check_stretch *stretch, const struct check_hour *hour)
{
    stretch->to_ms = hour->at_ms + MS_PER_H;
    if (!hour->good && excess(&hour->fault) > excess(&stretch->fault))
        stretch->fault = hour->fault;
    if (hour->works && stretch->works_from_ms == MOMENT_NONE)
        stretch->works_from_ms = hour->at_ms;
}

unsigned check_stretches(const struct check_hour hours[CHECK_STARTS], struct check_stretch ret[CHECK_STARTS])
{
    unsigned count = 0;
    for (unsigned t = 0; t < CHECK_HOURS; t++) { /* the last start ends the last stretch, and begins none */
        const struct check_hour *hour = &hours[t];
        if (count == 0 || !goes_on(&ret[count - 1], hour))
            ret[count++] = (struct check_stretch){hour->at_ms, hour->at_ms, hour->good, hour->good ? no_fault : hour->fault,
                                                  hour->breaks_ms, MOMENT_NONE};
        add_hour(&ret[count - 1], hour);
    }
    return count;
}

/* ---- the outlook from a later moment ---- */

static void shift_path(const struct outlook_path *path, double by_h, unsigned from_hours, unsigned hours, struct outlook_path *ret)
{
    for (unsigned h = 0; h <= hours; h++) {
        ret->temp_c[h] = between(path->temp_c, by_h + h, from_hours);
        ret->rh_pct[h] = between(path->rh_pct, by_h + h, from_hours);
    }
}

static double hours_into(const struct outlook *outlook, int64_t at_ms)
{
    return fmin(fmax((double)(at_ms - outlook->from_ms) / (double)MS_PER_H, 0.0), outlook->hours);
}

void check_outlook_from(const struct outlook *outlook, int64_t at_ms, struct outlook *ret)
{
    double by_h = hours_into(outlook, at_ms);
    ret->from_ms = at_ms;
    ret->hours = outlook->hours - (unsigned)ceil(by_h);
    ret->members = ret->hours > 0 ? outlook->members : 0;
    ret->known_days = outlook->known_days;
    shift_path(&outlook->central, by_h, outlook->hours, ret->hours, &ret->central);
    for (unsigned j = 0; j < ret->members; j++)
        shift_path(&outlook->member[j], by_h, outlook->hours, ret->hours, &ret->member[j]);
}

/* ---- no more of it than a few starts need ---- */

/* A course of which only the hours up to `told` are filled. */
struct near_course {
    const struct outlook *outlook;
    const struct outlook_path *path;
    const struct check_terms *terms;
    double by_h;         /* the outlook's hour with which it begins */
    unsigned told;
    struct course of;
};

static void tell_hour(struct near_course *n, unsigned h)
{
    struct course *c = &n->of;
    c->temp_c[h] = between(n->path->temp_c, n->by_h + h, n->outlook->hours);
    c->rh_pct[h] = between(n->path->rh_pct, n->by_h + h, n->outlook->hours);
    if (h == 0) {
        c->surface_c[0] = isnan(n->terms->surface_c) ? c->temp_c[0] : n->terms->surface_c;
        c->grown[0] = 0.0;
    } else {
        c->surface_c[h] = follow(c->surface_c[h - 1], c->temp_c[h - 1], c->temp_c[h], n->terms->time_constant_min, MINUTES_IN_H);
        c->grown[h] = c->grown[h - 1] + law_rate(&n->terms->law, film_temp_c(c, h - 1), 0.5 * (c->rh_pct[h - 1] + c->rh_pct[h]), NULL);
    }
    c->fault[h] = check_fault_in(n->terms, c->temp_c[h], c->rh_pct[h], c->surface_c[h]);
    n->told = h;
}

static bool breaks_at(struct near_course *n, unsigned h)
{
    for (unsigned next = n->told + 1; next <= h; next++)
        tell_hour(n, next);
    return n->of.fault[h].reason != CHECK_NOTHING;
}

/* What judge() says of a start, by as much of the course as that takes. */
static enum check_near judge_near(struct near_course *n, unsigned start)
{
    const struct course *c = &n->of;
    bool broken = breaks_at(n, start);
    double goal = c->grown[start] + n->terms->needed;
    unsigned h = start;
    for (; c->grown[h] < goal; broken = breaks_at(n, ++h))
        if (broken || h == c->hours)
            return broken ? CHECK_NEAR_BAD : CHECK_NEAR_UNTOLD;
    if (isnan(goal))
        return CHECK_NEAR_BAD; /* no such stage: nothing ever is past it */
    double end = guard_moment(c, n->terms, start, h, goal);
    for (; !broken && h < c->hours && h + 1 <= end; h++)
        broken = breaks_at(n, h + 1);
    if (broken && h <= end)
        return CHECK_NEAR_BAD;
    if (end > c->hours)
        return CHECK_NEAR_UNTOLD;
    (void)breaks_at(n, h < c->hours ? h + 1 : h); /* fault_at() looks on both sides */
    return fault_at(c, n->terms, end).reason == CHECK_NOTHING ? CHECK_NEAR_GOOD : CHECK_NEAR_BAD;
}

static enum check_near near_of(const unsigned count[CHECK_NEAR_COUNT], unsigned members)
{
    if (is_good_share((double)count[CHECK_NEAR_GOOD] / members))
        return CHECK_NEAR_GOOD;
    return is_good_share((double)(count[CHECK_NEAR_GOOD] + count[CHECK_NEAR_UNTOLD]) / members) ? CHECK_NEAR_UNTOLD : CHECK_NEAR_BAD;
}

void check_near_starts(const struct outlook *outlook, const struct check_terms *terms, int64_t at_ms, unsigned starts, enum check_near ret[])
{
    unsigned count[CHECK_STARTS][CHECK_NEAR_COUNT] = {{0}};
    struct near_course course = {.outlook = outlook, .terms = terms, .by_h = hours_into(outlook, at_ms)};
    course.of.hours = outlook->hours - (unsigned)ceil(course.by_h);
    for (unsigned j = 0; j < outlook->members; j++) {
        course.path = &outlook->member[j];
        tell_hour(&course, 0);
        for (unsigned t = 0; t < starts; t++)
            count[t][t > course.of.hours ? CHECK_NEAR_UNTOLD : judge_near(&course, t)]++;
    }
    for (unsigned t = 0; t < starts; t++)
        ret[t] = outlook->members > 0 ? near_of(count[t], outlook->members) : CHECK_NEAR_UNTOLD;
}

double check_surface_at(const struct outlook *outlook, double surface_c, double time_constant_min, int64_t from_ms, int64_t at_ms)
{
    const double *temp_c = outlook->central.temp_c;
    double h = fmax((double)(from_ms - outlook->from_ms) / (double)MS_PER_H, 0.0);
    double end = fmin((double)(at_ms - outlook->from_ms) / (double)MS_PER_H, outlook->hours);
    while (h < end) {
        double next = fmin(h + 1.0 / CLEAR_STEPS_PER_H, end);
        surface_c = follow(surface_c, between(temp_c, h, outlook->hours), between(temp_c, next, outlook->hours), time_constant_min,
                           (next - h) * MINUTES_IN_H);
        h = next;
    }
    return surface_c;
}

int64_t check_surface_clear(const struct outlook *outlook, double surface_c, double time_constant_min)
{
    const struct outlook_path *path = &outlook->central;
    double temp_c = path->temp_c[0];
    for (unsigned step = 0; step <= outlook->hours * CLEAR_STEPS_PER_H; step++) {
        double h = (double)step / CLEAR_STEPS_PER_H, next_c = between(path->temp_c, h, outlook->hours);
        if (step > 0)
            surface_c = follow(surface_c, temp_c, next_c, time_constant_min, MINUTES_IN_H / CLEAR_STEPS_PER_H);
        temp_c = next_c;
        if (air_surface_is_clear_of_dew(fmin(surface_c, temp_c), dew_point_of(temp_c, between(path->rh_pct, h, outlook->hours))))
            return outlook->from_ms + (int64_t)llround(h * (double)MS_PER_H);
    }
    return MOMENT_NONE;
}
