#include "coat/bake.h"

#include <math.h>
#include <string.h>

#define MINUTES_IN_H 60.0
#define MS_IN_MIN 60000.0
#define ANY_RH_PCT 50.0 /* the law of a bake heeds no humidity */

const char bake_too_hot_source[] = "common practice: 15 C above the hottest row, where the material gives no limit of its own";
const char bake_too_long_source[] =
    "common practice: twice what the rows ask for, where the material gives no limit of its own; published times of one black japan "
    "lie that far apart";
const char bake_label_source[] = "by its label";
const char bake_touch_source[] =
    "ISO 13732-1, from memory: bare metal burns skin in 8 h or more from 43 C, in 10 min from 48 C, in 1 min from 51 C; the lowest is "
    "taken, because a casting is held and carried";

/* ---- lag ---- */

static const struct bake_heat heats[] = {
    [OVEN_AIR_UNKNOWN] = {8.0, 20.0, 50.0, "nobody said whether a fan moves the air: still to fan"},
    [OVEN_AIR_STILL] = {8.0, 15.0, 25.0,
                        "free convection 3 to 8 W/m2K, from memory, and radiation, worked out: 5 to 15 for emissivity 0.5 to 0.9 between 90 and 150 C"},
    [OVEN_AIR_FAN] = {15.0, 30.0, 50.0,
                      "J. Food Sci. 64 (1999) 688: 20 to 48 W/m2K in a baking oven at 186 to 225 C, three quarters of it radiation; a quarter "
                      "off the low end for bright metal and cooler ovens, ours"},
    [OVEN_AIR_ROOM] = {WARM_H_LOW_W_M2K, 10.0, WARM_H_HIGH_W_M2K, "free convection and radiation indoors, common practice"},
};
_Static_assert(sizeof heats / sizeof *heats == OVEN_AIR_COUNT, "one row an air");

const struct bake_heat *bake_heat(enum oven_air air)
{
    return &heats[(unsigned)air < OVEN_AIR_COUNT ? air : OVEN_AIR_UNKNOWN];
}

static bool is_positive(double value)
{
    return isfinite(value) && value > 0.0;
}

static enum coat_result check_figure(const char *field, const char *what, double value, struct coat_error *error)
{
    if (isnan(value) || is_positive(value))
        return COAT_OK;
    return coat_fail(error, COAT_BAD_VALUE, field, "%s of %.4g will not do: it must be above zero", what, value);
}

static enum coat_result check_body(const struct bake_body *body, struct coat_error *error)
{
    const struct {
        const char *field, *what;
        double value;
    } figures[] = {{"mass_kg", "a mass", body->mass_kg},
                   {"area_m2", "an area", body->area_m2},
                   {"wall_mm", "a wall", body->wall_mm},
                   {"h_w_m2k", "a heat transfer", body->h_w_m2k}};
    for (size_t i = 0; i < sizeof figures / sizeof *figures; i++) {
        enum coat_result result = check_figure(figures[i].field, figures[i].what, figures[i].value, error);
        if (result != COAT_OK)
            return result;
    }
    if ((unsigned)body->metal >= METAL_COUNT)
        return coat_fail(error, COAT_BAD_VALUE, "metal", "the metal is not known: it may be iron, steel, aluminium or brass");
    if ((isnan(body->mass_kg) || isnan(body->area_m2)) && isnan(body->wall_mm))
        return coat_fail(error, COAT_BAD_VALUE, "wall_mm",
                         "how the part follows the oven is not known: give its wall thickness, or its mass and its surface");
    return COAT_OK;
}

static enum coat_result constant_of(const struct bake_body *body, double h_w_m2k, double *ret_min, struct coat_error *error)
{
    bool weighed = isfinite(body->mass_kg) && isfinite(body->area_m2);
    enum coat_result result =
        weighed ? warm_time_constant_from_area(body->mass_kg, body->area_m2, body->metal, h_w_m2k, ret_min)
                : warm_time_constant_from_wall(body->wall_mm, body->metal, h_w_m2k, ret_min);
    if (result != COAT_OK)
        return coat_fail(error, COAT_BAD_VALUE, weighed ? "mass_kg" : "wall_mm", "those figures of the part give no time: check them");
    return COAT_OK;
}

enum coat_result bake_lag(const struct bake_body *body, enum oven_air air, struct bake_range *ret_min, struct coat_error *error)
{
    const struct bake_heat *heat = bake_heat(air);
    bool given = isfinite(body->h_w_m2k);
    struct bake_range lag = {0.0, 0.0, 0.0};
    enum coat_result result = check_body(body, error);
    if (result == COAT_OK)
        result = constant_of(body, given ? body->h_w_m2k : heat->high_w_m2k, &lag.quick, error);
    if (result == COAT_OK)
        result = constant_of(body, given ? body->h_w_m2k : heat->likely_w_m2k, &lag.likely, error);
    if (result == COAT_OK)
        result = constant_of(body, given ? body->h_w_m2k : heat->low_w_m2k, &lag.slow, error);
    if (result == COAT_OK)
        *ret_min = lag;
    return result;
}

/* Oven a + s t, part T(0) = start:  T(t) = a + s (t - tau) + (start - a + s tau) exp(-t / tau). */
double bake_part_after(double time_constant_min, double start_c, const struct bake_stretch *oven, double elapsed_min)
{
    double rise_c_min = oven->minutes > 0.0 ? (oven->oven1_c - oven->oven0_c) / oven->minutes : 0.0;
    double oven_c = oven->oven0_c + rise_c_min * elapsed_min;
    if (!(time_constant_min > 0.0))
        return oven_c;
    double behind_c = rise_c_min * time_constant_min; /* what the part lags once it has settled */
    return oven_c - behind_c + (start_c - oven->oven0_c + behind_c) * exp(-elapsed_min / time_constant_min);
}

/* ---- the law ---- */

/* How many bakes so long at that temperature are, worn as closings count; NAN where the rows cannot tell. */
static double bakes_in(const struct bake_terms *rows, double temp_c, double hours)
{
    struct bake_terms plain = *rows;
    struct bake_law law;
    plain.too_hot_c = plain.too_long = (double)NAN;
    if (bake_law_make(&plain, &law, NULL) != COAT_OK)
        return (double)NAN;
    return hours * law_rate(&law.worn, temp_c, ANY_RH_PCT, NULL) / law.needed_h;
}

enum coat_result bake_terms_of(const struct material *material, struct bake_terms *ret, struct coat_error *error)
{
    if (material->bake_rows == 0 || material->bake_rows > MATERIAL_BAKE_ROWS_MAX)
        return coat_fail(error, COAT_BAD_VALUE, "bake",
                         "%s has no bake rows: enter from its label how hot and how long; room hours are never stretched to the oven",
                         material->name);
    *ret = (struct bake_terms){.rows = material->bake_rows,
                               .doubling_c = material->doubling_c,
                               .too_hot_c = material->bake_too_hot_c,
                               .too_long = (double)NAN};
    memcpy(ret->row, material->bake_row, sizeof ret->row);
    if (!isnan(material->bake_too_long_h))
        ret->too_long = bakes_in(ret, material->bake_too_long_c, material->bake_too_long_h);
    return COAT_OK;
}

static void sort_rows(struct bake_terms *terms)
{
    for (unsigned i = 1; i < terms->rows; i++) {
        struct cure_row row = terms->row[i];
        unsigned j = i;
        for (; j > 0 && terms->row[j - 1].temp_c > row.temp_c; j--)
            terms->row[j] = terms->row[j - 1];
        terms->row[j] = row;
    }
}

static enum coat_result check_rows(const struct bake_terms *terms, struct coat_error *error)
{
    if (terms->rows == 0 || terms->rows > MATERIAL_BAKE_ROWS_MAX)
        return coat_fail(error, COAT_BAD_VALUE, "bake", "a bake needs 1 to %d rows of temperature and time; it has %u",
                         MATERIAL_BAKE_ROWS_MAX, terms->rows);
    for (unsigned i = 0; i < terms->rows; i++) {
        const struct cure_row *row = &terms->row[i];
        if (!is_positive(row->hours) || !(row->temp_c > 0.0 && row->temp_c < BAKE_OVEN_MOST_C))
            return coat_fail(error, COAT_BAD_VALUE, "bake", "a bake row of %.4g C and %.4g h will not do", row->temp_c, row->hours);
        if (i > 0 && (!(row->temp_c > row[-1].temp_c) || row->hours > row[-1].hours))
            return coat_fail(error, COAT_BAD_VALUE, "bake",
                             "of two bake rows the hotter must not take longer, and none may stand twice: %.4g C %.4g h and %.4g C %.4g h will not do",
                             row[-1].temp_c, row[-1].hours, row->temp_c, row->hours);
    }
    return COAT_OK;
}

static enum coat_result check_limits(const struct bake_terms *terms, struct coat_error *error)
{
    double hottest_c = terms->row[terms->rows - 1].temp_c;
    if (!isnan(terms->too_hot_c) && !(terms->too_hot_c > hottest_c && terms->too_hot_c <= BAKE_OVEN_MOST_C))
        return coat_fail(error, COAT_BAD_VALUE, "too_hot_c", "%.4g C cannot be too hot: the hottest row is %.4g C", terms->too_hot_c,
                         hottest_c);
    if (!isnan(terms->too_long) && !(terms->too_long > 1.0 && isfinite(terms->too_long)))
        return coat_fail(error, COAT_BAD_VALUE, "too_long", "%.4g bakes cannot be too long: it must be more than 1", terms->too_long);
    return COAT_OK;
}

static enum coat_result make_law(const struct bake_terms *sorted, enum law_side side, struct law *ret, struct coat_error *error)
{
    struct law_terms terms = {
        .side = side,
        .rows = sorted->rows,
        .doubling_c = isnan(sorted->doubling_c) ? 10.0 : sorted->doubling_c,
        .rule = HUMIDITY_SOLVENT,
        .ref_rh_pct = ANY_RH_PCT,
        .min_temp_c = (double)NAN, /* counted() cuts it off */
        .max_rh_pct = (double)NAN,
    };
    memcpy(terms.row, sorted->row, sorted->rows * sizeof *sorted->row);
    return law_from_terms(&terms, ret, error);
}
_Static_assert(MATERIAL_BAKE_ROWS_MAX <= LAW_ROWS_MAX, "bake rows fit a law");

enum coat_result bake_law_make(const struct bake_terms *terms, struct bake_law *ret, struct coat_error *error)
{
    struct bake_terms sorted = *terms;
    struct bake_law law = {.too_hot_given = !isnan(terms->too_hot_c), .too_long_given = !isnan(terms->too_long)};
    if (sorted.rows <= MATERIAL_BAKE_ROWS_MAX)
        sort_rows(&sorted);
    enum coat_result result = check_rows(&sorted, error);
    if (result == COAT_OK)
        result = check_limits(&sorted, error);
    if (result == COAT_OK)
        result = make_law(&sorted, SIDE_OPENING, &law.done, error);
    if (result == COAT_OK)
        result = make_law(&sorted, SIDE_CLOSING, &law.worn, error);
    if (result != COAT_OK)
        return result;
    law.needed_h = sorted.row[0].hours;
    law.coldest_c = sorted.row[0].temp_c;
    law.hottest_c = sorted.row[sorted.rows - 1].temp_c;
    law.too_hot_c = law.too_hot_given ? terms->too_hot_c : law.hottest_c + BAKE_TOO_HOT_ABOVE_C;
    law.too_long = law.too_long_given ? terms->too_long : BAKE_TOO_LONG;
    *ret = law;
    return COAT_OK;
}

const char *bake_law_hot_source(const struct bake_law *law)
{
    return law->too_hot_given ? bake_label_source : bake_too_hot_source;
}

const char *bake_law_long_source(const struct bake_law *law)
{
    return law->too_long_given ? bake_label_source : bake_too_long_source;
}

static double counts_from_c(const struct bake_law *law)
{
    return law->coldest_c - BAKE_CLOSE_C;
}

double bake_minutes_at(const struct bake_law *law, double part_c)
{
    if (!(part_c >= counts_from_c(law)))
        return (double)INFINITY;
    return law->needed_h / law_rate(&law->done, part_c, ANY_RH_PCT, NULL) * MINUTES_IN_H;
}

#define ROUNDING_C 1e-6 /* 275 F is 135 C */

double bake_holds(const struct bake_law *law, const struct bake_step *step, unsigned steps)
{
    double bakes = 0.0;
    for (unsigned i = 0; i < steps; i++)
        if (step[i].target_c >= counts_from_c(law))
            bakes += step[i].hold_min / MINUTES_IN_H * law_rate(&law->worn, step[i].target_c, ANY_RH_PCT, NULL) / law->needed_h;
    return bakes;
}

/* ---- what a label prints as too much ---- */

static enum coat_result check_too_hot(const struct material *material, const struct bake_law *law, struct coat_error *error)
{
    if (isnan(material->bake_too_hot_c) || material->bake_too_hot_c > law->hottest_c)
        return COAT_OK;
    return coat_fail(error, COAT_BAD_VALUE, "bake_limits.too_hot_c", "%.4g C cannot be too hot: its hottest bake row is %.4g C; more than that will do",
                     material->bake_too_hot_c, law->hottest_c);
}

static enum coat_result check_too_long(const struct material *material, const struct bake_law *law, struct coat_error *error)
{
    static const char field[] = "bake_limits.too_long";
    double temp_c = material->bake_too_long_c, hours = material->bake_too_long_h;
    double too_hot_c = isnan(material->bake_too_hot_c) ? law->too_hot_c : material->bake_too_hot_c;
    if (isnan(temp_c) && isnan(hours))
        return COAT_OK;
    if (isnan(temp_c) || isnan(hours))
        return coat_fail(error, COAT_BAD_VALUE, field, "too long is a time at a temperature: tell both, e.g. 150C=2h");
    if (temp_c < law->coldest_c)
        return coat_fail(error, COAT_BAD_VALUE, field, "at %.4g C it does not bake: tell the longest time at %.4g C, its coldest bake row, or hotter", temp_c,
                         law->coldest_c);
    if (temp_c >= too_hot_c)
        return coat_fail(error, COAT_BAD_VALUE, field, "%.4g C is too hot however short (from %.4g C on it is ruined): tell the longest time at less than that", temp_c,
                         too_hot_c);
    double needed_h = bake_minutes_at(law, temp_c) / MINUTES_IN_H;
    if (hours > needed_h)
        return COAT_OK;
    return coat_fail(error, COAT_BAD_VALUE, field, "%.4g h at %.4g C cannot be too long: its bake rows ask for %.4g h there; more than that will do", hours,
                     temp_c, needed_h);
}

enum coat_result bake_limits_check(const struct material *material, struct coat_error *error)
{
    struct material plain;
    struct bake_terms terms;
    struct bake_law law;
    if (isnan(material->bake_too_hot_c) && isnan(material->bake_too_long_c) && isnan(material->bake_too_long_h))
        return COAT_OK;
    plain = *material;
    plain.bake_too_hot_c = plain.bake_too_long_c = plain.bake_too_long_h = (double)NAN;
    enum coat_result result = bake_terms_of(&plain, &terms, error);
    if (result == COAT_OK)
        result = bake_law_make(&terms, &law, error);
    if (result == COAT_OK)
        result = check_too_hot(material, &law, error);
    return result == COAT_OK ? check_too_long(material, &law, error) : result;
}

enum coat_result bake_gets_there(const struct bake_law *law, double oven_c, struct coat_error *error)
{
    if (oven_c >= law->coldest_c - ROUNDING_C)
        return COAT_OK;
    return coat_fail(error, COAT_OUT_OF_RANGE, "oven_c",
                     "in an oven at %.4g C it never gets there: the coldest bake row is %.4g C, and what is colder counts as nothing", oven_c,
                     law->coldest_c);
}

/* ---- one part over a stretch of oven ---- */

/* What is reckoned of a part: which law, from which temperature on, how it lags. */
struct trace {
    const struct law *law;
    double needed_h, from_c, time_constant_min;
};

/* Straight pieces of the part's curve, which differ from it by at most this: well under 1e-4 of a rate. */
#define CHORD_WITHIN_C 0.003

static double chord_min(double time_constant_min, double start_c, const struct bake_stretch *oven, double at_min)
{
    double left = oven->minutes - at_min;
    if (!(time_constant_min > 0.0))
        return left;
    double behind_c = (oven->oven1_c - oven->oven0_c) / oven->minutes * time_constant_min;
    double bend_c = fabs(start_c - oven->oven0_c + behind_c) * exp(-at_min / time_constant_min);
    if (bend_c <= CHORD_WITHIN_C)
        return left; /* all that is left of it is as good as straight */
    return fmin(time_constant_min * sqrt(8.0 * CHORD_WITHIN_C / bend_c), left);
}

/* The part of a straight piece that counts: shares of it, 0 to 1. False where none does. */
static bool counted_part(const struct trace *trace, double t0_c, double t1_c, double *ret_from, double *ret_to)
{
    bool counts0 = t0_c >= trace->from_c, counts1 = t1_c >= trace->from_c;
    double share = counts0 == counts1 ? 0.0 : (trace->from_c - t0_c) / (t1_c - t0_c);
    *ret_from = counts0 ? 0.0 : share;
    *ret_to = counts1 ? 1.0 : share;
    return counts0 || counts1;
}

/* Progress over `minutes` in which the part goes straight from t0 to t1. Where it grows by `goal` or more, *ret_min is when it has
 * done so. */
static double grow(const struct trace *trace, double minutes, double t0_c, double t1_c, double goal, double *ret_min)
{
    double from = 0.0, to = 0.0;
    if (!counted_part(trace, t0_c, t1_c, &from, &to))
        return 0.0;
    double a_c = t0_c + (t1_c - t0_c) * from, b_c = t0_c + (t1_c - t0_c) * to, hours = minutes / MINUTES_IN_H * (to - from);
    double grown = law_integrate(trace->law, hours, a_c, b_c, ANY_RH_PCT, ANY_RH_PCT) / trace->needed_h;
    if (goal > 0.0 && grown >= goal)
        *ret_min = minutes * from + MINUTES_IN_H * law_solve(trace->law, hours, a_c, b_c, ANY_RH_PCT, ANY_RH_PCT, goal * trace->needed_h);
    return grown;
}

/* What is looked for on the way; minutes from when the watch began, INFINITY while it has not come. */
struct watch {
    double goal, hot_c;
    double passed_min; /* before the stretch at hand */
    double goal_min, hot_min;
};
static const struct watch no_watch = {(double)INFINITY, (double)INFINITY, 0.0, (double)INFINITY, (double)INFINITY};

static void watch_heat(struct watch *watch, double at_min, double minutes, double t0_c, double t1_c)
{
    if (!isinf(watch->hot_min) || fmax(t0_c, t1_c) < watch->hot_c)
        return;
    double share = t0_c >= watch->hot_c ? 0.0 : (watch->hot_c - t0_c) / (t1_c - t0_c);
    watch->hot_min = watch->passed_min + at_min + minutes * share;
}

/* Takes the track over the stretch. */
static void follow(const struct trace *trace, const struct bake_stretch *oven, struct bake_track *track, struct watch *watch)
{
    double start_c = track->part_c;
    for (double at = 0.0; at < oven->minutes;) {
        double length = chord_min(trace->time_constant_min, start_c, oven, at), inside = 0.0;
        double to = at + length > at ? at + length : oven->minutes;
        double next_c = bake_part_after(trace->time_constant_min, start_c, oven, to);
        double from_c = trace->time_constant_min > 0.0 ? track->part_c : oven->oven0_c;
        bool open = track->progress < watch->goal;
        track->progress += grow(trace, to - at, from_c, next_c, open ? watch->goal - track->progress : 0.0, &inside);
        if (open && track->progress >= watch->goal)
            watch->goal_min = watch->passed_min + at + inside;
        watch_heat(watch, at, to - at, from_c, next_c);
        track->part_c = next_c;
        track->hottest_c = fmax(track->hottest_c, fmax(from_c, next_c));
        at = to;
    }
    watch->passed_min += oven->minutes;
}

static struct trace trace_of(const struct bake_law *law, const struct law *side, const struct bake_member *member)
{
    return (struct trace){side, law->needed_h, counts_from_c(law), member->time_constant_min};
}

/* ---- a bake as it was ---- */

void bake_run_set_lag(struct bake_run *run, const struct bake_range *lag_min)
{
    const double constant[BAKE_MEMBERS] = {lag_min->quick, lag_min->likely, lag_min->slow};
    for (unsigned i = 0; i < BAKE_MEMBERS; i++)
        run->member[i].time_constant_min = constant[i];
}

void bake_run_begin(const struct bake_range *lag_min, double start_c, struct bake_run *ret)
{
    *ret = (struct bake_run){.oven_c = (double)NAN, .oven_hottest_c = (double)NAN, .most_known = true};
    for (unsigned i = 0; i < BAKE_MEMBERS; i++) {
        struct bake_track cold = {start_c, start_c, 0.0};
        ret->member[i] = (struct bake_member){0.0, cold, cold};
    }
    bake_run_set_lag(ret, lag_min);
}

static void follow_most(struct bake_run *run, const struct bake_law *law, const struct bake_stretch *oven)
{
    for (unsigned i = 0; i < BAKE_MEMBERS; i++) {
        struct trace trace = trace_of(law, &law->worn, &run->member[i]);
        struct watch watch = no_watch;
        follow(&trace, oven, &run->member[i].most, &watch);
    }
}

static void follow_sure(struct bake_run *run, const struct bake_law *law, const struct bake_stretch *oven)
{
    for (unsigned i = 0; i < BAKE_MEMBERS; i++) {
        struct trace trace = trace_of(law, &law->done, &run->member[i]);
        struct watch watch = no_watch;
        follow(&trace, oven, &run->member[i].sure, &watch);
    }
}

void bake_run_stretch(struct bake_run *run, const struct bake_law *law, const struct bake_stretch *oven)
{
    if (!is_positive(oven->minutes) || !isfinite(oven->oven0_c) || !isfinite(oven->oven1_c))
        return;
    follow_sure(run, law, oven);
    follow_most(run, law, oven);
    run->known_min += oven->minutes;
    run->oven_c = oven->oven1_c;
    run->oven_hottest_c = fmax(run->oven_hottest_c, fmax(oven->oven0_c, oven->oven1_c)); /* fmax passes over NAN */
}

void bake_run_unknown(struct bake_run *run, const struct bake_law *law, double minutes, double room_c, double oven_most_c)
{
    if (!is_positive(minutes))
        return;
    double most_c = isnan(oven_most_c) ? run->oven_hottest_c : oven_most_c;
    struct bake_stretch worst = {minutes, most_c, most_c};
    run->unknown_min += minutes;
    run->oven_c = (double)NAN;
    for (unsigned i = 0; i < BAKE_MEMBERS; i++)
        run->member[i].sure.part_c = fmin(run->member[i].sure.part_c, room_c);
    if (isfinite(most_c))
        follow_most(run, law, &worst);
    else
        run->most_known = false;
}

/* ---- readings ---- */

struct reader {
    struct bake_run *run;
    const struct bake_law *law;
    int64_t at_ms, to_ms; /* how far it is reckoned; where it ends */
    double room_c, oven_most_c;
};

static void pass_unknown(struct reader *reader, int64_t until_ms)
{
    int64_t until = until_ms < reader->to_ms ? until_ms : reader->to_ms;
    if (until <= reader->at_ms)
        return;
    bake_run_unknown(reader->run, reader->law, (double)(until - reader->at_ms) / MS_IN_MIN, reader->room_c, reader->oven_most_c);
    reader->at_ms = until;
}

static double line_c(const struct reading *a, const struct reading *b, int64_t at_ms)
{
    double share = (double)(at_ms - a->at_ms) / (double)(b->at_ms - a->at_ms);
    return (a->temp_mc + ((double)b->temp_mc - a->temp_mc) * share) / 1000.0;
}

static void pass_line(struct reader *reader, const struct reading *a, const struct reading *b)
{
    int64_t until = b->at_ms < reader->to_ms ? b->at_ms : reader->to_ms;
    if (until <= reader->at_ms)
        return;
    struct bake_stretch oven = {(double)(until - reader->at_ms) / MS_IN_MIN, line_c(a, b, reader->at_ms), line_c(a, b, until)};
    bake_run_stretch(reader->run, reader->law, &oven);
    reader->at_ms = until;
}

static bool joined(const struct reading *a, const struct reading *b)
{
    int64_t apart_ms = b->at_ms - a->at_ms;
    return apart_ms <= (int64_t)a->hold_s * 1000 && (double)apart_ms <= BAKE_JOIN_MOST_MIN * MS_IN_MIN;
}

void bake_run_readings(struct bake_run *run, const struct bake_law *law, const struct reading *r, size_t n, int64_t from_ms,
                       int64_t to_ms, double room_c, double oven_most_c)
{
    struct reader reader = {run, law, from_ms, to_ms, room_c, oven_most_c};
    const struct reading *last = NULL;
    for (size_t i = 0; i < n && reader.at_ms < to_ms; i++) {
        if (r[i].temp_mc == READING_NONE)
            continue;
        if (last != NULL && joined(last, &r[i]))
            pass_line(&reader, last, &r[i]);
        else
            pass_unknown(&reader, r[i].at_ms);
        last = &r[i];
    }
    pass_unknown(&reader, to_ms);
}

/* ---- along a programme ---- */

static double line_at_c(const struct bake_point *a, const struct bake_point *b, double at_min)
{
    return a->oven_c + (b->oven_c - a->oven_c) * (at_min - a->at_min) / (b->at_min - a->at_min);
}

double bake_points_oven_c(const struct bake_point *point, unsigned points, double at_min)
{
    unsigned i = points - 1; /* the last one at or before at_min */
    while (i > 0 && point[i].at_min > at_min)
        i--;
    if (i + 1 == points || at_min <= point[i].at_min)
        return point[i].oven_c;
    return line_at_c(&point[i], &point[i + 1], at_min);
}

void bake_run_points(struct bake_run *run, const struct bake_law *law, const struct bake_point *point, unsigned points,
                     double from_min, double to_min)
{
    double known_min = run->known_min, last_min = fmax(point[points - 1].at_min, from_min), last_c = point[points - 1].oven_c;
    for (unsigned i = 0; i + 1 < points; i++) {
        double from = fmax(point[i].at_min, from_min), to = fmin(point[i + 1].at_min, to_min);
        if (!(to > from))
            continue;
        struct bake_stretch oven = {to - from, line_at_c(&point[i], &point[i + 1], from), line_at_c(&point[i], &point[i + 1], to)};
        bake_run_stretch(run, law, &oven);
    }
    struct bake_stretch steady = {to_min - last_min, last_c, last_c};
    bake_run_stretch(run, law, &steady);
    run->assumed_min += run->known_min - known_min;
    run->known_min = known_min;
}

unsigned bake_points_rest(const struct bake_point *point, unsigned points, double at_min, struct bake_point *ret)
{
    unsigned count = 0;
    ret[count++] = (struct bake_point){0.0, bake_points_oven_c(point, points, at_min)};
    for (unsigned i = 0; i < points; i++)
        if (point[i].at_min > at_min)
            ret[count++] = (struct bake_point){point[i].at_min - at_min, point[i].oven_c};
    return count;
}

/* ---- what can be said ---- */

double bake_done(const struct bake_run *run)
{
    double least = (double)INFINITY;
    for (unsigned i = 0; i < BAKE_MEMBERS; i++)
        least = fmin(least, run->member[i].sure.progress);
    return least;
}

double bake_worn(const struct bake_run *run)
{
    double most = 0.0;
    for (unsigned i = 0; i < BAKE_MEMBERS; i++)
        most = fmax(most, run->member[i].most.progress);
    return run->most_known ? most : (double)INFINITY;
}

double bake_hottest_c(const struct bake_run *run)
{
    double hottest_c = run->member[0].most.hottest_c;
    for (unsigned i = 1; i < BAKE_MEMBERS; i++)
        hottest_c = fmax(hottest_c, run->member[i].most.hottest_c);
    return hottest_c;
}

struct bake_range bake_part_c(const struct bake_run *run)
{
    return (struct bake_range){run->member[BAKE_QUICK].sure.part_c, run->member[BAKE_LIKELY].sure.part_c,
                               run->member[BAKE_SLOW].sure.part_c};
}

enum bake_excess bake_excess(const struct bake_run *run, const struct bake_law *law)
{
    if (bake_hottest_c(run) >= law->too_hot_c)
        return BAKE_EXCESS_HOT;
    return bake_worn(run) >= law->too_long ? BAKE_EXCESS_LONG : BAKE_EXCESS_NONE;
}

/* ---- a bake to come ---- */

static enum coat_result check_step(const struct bake_step *step, unsigned number, struct coat_error *error)
{
    char field[32];
    bool usual = step->target_c >= 0.0 && step->target_c <= BAKE_OVEN_MOST_C;
    snprintf(field, sizeof field, "steps.%u.target_c", number);
    if (!usual)
        return coat_fail(error, COAT_BAD_VALUE, field, "an oven at %.4g C will not do: write 0 C to %g C", step->target_c, BAKE_OVEN_MOST_C);
    bool ramps = step->ramp_min >= 0.0 && step->ramp_min <= BAKE_STEP_MOST_MIN;
    bool holds = step->hold_min >= 0.0 && step->hold_min <= BAKE_STEP_MOST_MIN;
    if (ramps && holds)
        return COAT_OK;
    snprintf(field, sizeof field, "steps.%u.%s", number, ramps ? "hold_min" : "ramp_min");
    return coat_fail(error, COAT_BAD_VALUE, field, "%.4g minutes will not do: write 0 to %g", ramps ? step->hold_min : step->ramp_min,
                     BAKE_STEP_MOST_MIN);
}

static void add_point(struct bake_programme *programme, double at_min, double oven_c)
{
    if (programme->points < BAKE_POINTS_MAX)
        programme->point[programme->points++] = (struct bake_point){at_min, oven_c};
}

/* Minutes in an oven at target_c until a part at part_c counts as there. */
static double close_in_min(double time_constant_min, double part_c, double target_c)
{
    double off_c = fabs(part_c - target_c);
    return off_c <= BAKE_CLOSE_C || !(time_constant_min > 0.0) ? 0.0 : time_constant_min * log(off_c / BAKE_CLOSE_C);
}

/* One step onto the programme; part_c is where the three parts are, on entering and on leaving. */
static void add_step(struct bake_programme *programme, const struct bake_step *step, const struct bake_run *run, double oven_c,
                     double part_c[BAKE_MEMBERS])
{
    struct bake_stretch ramp = {step->ramp_min, oven_c, step->target_c};
    double level_min = programme->end_min + step->ramp_min, there[BAKE_MEMBERS], hold_from_min = level_min;
    for (unsigned i = 0; i < BAKE_MEMBERS; i++) {
        double constant_min = run->member[i].time_constant_min;
        if (step->ramp_min > 0.0)
            part_c[i] = bake_part_after(constant_min, part_c[i], &ramp, step->ramp_min);
        there[i] = level_min + close_in_min(constant_min, part_c[i], step->target_c);
        hold_from_min = fmax(hold_from_min, there[i]);
    }
    struct bake_stretch level = {hold_from_min + step->hold_min - level_min, step->target_c, step->target_c};
    for (unsigned i = 0; i < BAKE_MEMBERS && level.minutes > 0.0; i++)
        part_c[i] = bake_part_after(run->member[i].time_constant_min, part_c[i], &level, level.minutes);
    programme->end_min = level_min + level.minutes;
    programme->ends_min[programme->steps] = programme->end_min;
    programme->there_min[programme->steps++] = (struct bake_range){there[BAKE_QUICK], there[BAKE_LIKELY], there[BAKE_SLOW]};
    programme->peak_c = fmax(programme->peak_c, step->target_c);
    add_point(programme, level_min, step->target_c);
    add_point(programme, programme->end_min, step->target_c);
}

enum coat_result bake_programme_make(const struct bake_step *step, unsigned steps, const struct bake_run *run, double oven_c,
                                     struct bake_programme *ret, struct coat_error *error)
{
    struct bake_programme programme = {.peak_c = -(double)INFINITY};
    double part_c[BAKE_MEMBERS];
    if (steps < 1 || steps > BAKE_STEPS_MAX)
        return coat_fail(error, COAT_BAD_VALUE, "steps", "a bake has 1 to %d steps; this one has %u", BAKE_STEPS_MAX, steps);
    for (unsigned i = 0; i < BAKE_MEMBERS; i++)
        part_c[i] = run->member[i].sure.part_c;
    add_point(&programme, 0.0, oven_c);
    for (unsigned i = 0; i < steps; i++) {
        enum coat_result result = check_step(&step[i], i, error);
        if (result != COAT_OK)
            return result;
        add_step(&programme, &step[i], run, i == 0 ? oven_c : step[i - 1].target_c, part_c);
    }
    *ret = programme;
    return COAT_OK;
}

/* After so many time constants a part differs from its oven by less than a millionth of a degree. */
#define SETTLED_CONSTANTS 21.0

/* The oven stays as it is for ever. */
static void follow_on(const struct trace *trace, double oven_c, struct bake_track *track, struct watch *watch)
{
    struct bake_stretch settle = {SETTLED_CONSTANTS * trace->time_constant_min, oven_c, oven_c};
    if (settle.minutes > 0.0)
        follow(trace, &settle, track, watch);
    track->part_c = oven_c;
    track->hottest_c = fmax(track->hottest_c, oven_c);
    watch_heat(watch, 0.0, 0.0, oven_c, oven_c);
    if (track->progress < watch->goal && oven_c >= trace->from_c)
        watch->goal_min = watch->passed_min + (watch->goal - track->progress) * trace->needed_h /
                                                  law_rate(trace->law, oven_c, ANY_RH_PCT, NULL) * MINUTES_IN_H;
}

static struct watch look_ahead(const struct trace *trace, const struct bake_point *point, unsigned points, double goal, double hot_c,
                               struct bake_track *track)
{
    struct watch watch = {goal, hot_c, 0.0, track->progress >= goal ? 0.0 : (double)INFINITY, (double)INFINITY};
    for (unsigned i = 0; i + 1 < points; i++) {
        struct bake_stretch oven = {point[i + 1].at_min - point[i].at_min, point[i].oven_c, point[i + 1].oven_c};
        if (is_positive(oven.minutes))
            follow(trace, &oven, track, &watch);
    }
    follow_on(trace, point[points - 1].oven_c, track, &watch);
    return watch;
}

static void sort_three(double value[BAKE_MEMBERS])
{
    for (unsigned i = 1; i < BAKE_MEMBERS; i++)
        for (unsigned j = i; j > 0 && value[j - 1] > value[j]; j--) {
            double swapped = value[j];
            value[j] = value[j - 1];
            value[j - 1] = swapped;
        }
}

void bake_ahead(const struct bake_run *run, const struct bake_law *law, const struct bake_point *point, unsigned points,
                struct bake_ahead *ret)
{
    struct bake_ahead ahead = {.too_long_min = (double)INFINITY, .too_hot_min = (double)INFINITY, .hottest_c = bake_hottest_c(run)};
    double done[BAKE_MEMBERS];
    for (unsigned i = 0; i < BAKE_MEMBERS; i++) {
        struct bake_member member = run->member[i];
        struct trace trace = trace_of(law, &law->done, &member);
        done[i] = look_ahead(&trace, point, points, 1.0, (double)INFINITY, &member.sure).goal_min;
        trace.law = &law->worn;
        struct watch most = look_ahead(&trace, point, points, law->too_long, law->too_hot_c, &member.most);
        ahead.too_long_min = run->most_known ? fmin(ahead.too_long_min, most.goal_min) : 0.0;
        ahead.too_hot_min = fmin(ahead.too_hot_min, most.hot_min);
        ahead.hottest_c = fmax(ahead.hottest_c, member.most.hottest_c);
    }
    if (bake_hottest_c(run) >= law->too_hot_c)
        ahead.too_hot_min = 0.0;
    sort_three(done);
    ahead.done_min = (struct bake_range){done[0], done[1], done[2]};
    ahead.turn_down_min = ahead.done_min.slow;
    *ret = ahead;
}

/* ---- out of the oven ---- */

enum coat_result bake_cool(const struct bake_run *run, const struct bake_range *lag_min, double room_c, double to_c,
                           struct bake_range *ret_min, struct coat_error *error)
{
    const double constant[BAKE_MEMBERS] = {lag_min->quick, lag_min->likely, lag_min->slow};
    double minutes[BAKE_MEMBERS] = {0.0, 0.0, 0.0}, part_c = run->member[0].most.part_c;
    if (!(room_c < to_c))
        return coat_fail(error, COAT_OUT_OF_RANGE, "room_c", "in a room at %.4g C it never cools to %.4g C", room_c, to_c);
    for (unsigned i = 1; i < BAKE_MEMBERS; i++)
        part_c = fmax(part_c, run->member[i].most.part_c);
    for (unsigned i = 0; i < BAKE_MEMBERS && part_c > to_c; i++)
        if (warm_time_to(constant[i], part_c, room_c, to_c, &minutes[i]) != COAT_OK)
            return coat_fail(error, COAT_OUT_OF_RANGE, "wall_mm", "how long the part takes to cool is not known");
    *ret_min = (struct bake_range){minutes[BAKE_QUICK], minutes[BAKE_LIKELY], minutes[BAKE_SLOW]};
    return COAT_OK;
}
