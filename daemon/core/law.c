#include "coat/law.h"

#include "coat/air.h"

#include <math.h>
#include <string.h>

/* CODATA 2018, exact. */
#define GAS_CONSTANT_J_MOL_K 8.314462618
#define KELVIN 273.15

/* Humidity factors beyond this are not credible for a coat that still dries (ours; keeps 1 - RH away from 0). */
#define HUMIDITY_FACTOR_MAX 5.0
#define HUMIDITY_FACTOR_MIN 0.2

/* fmax and fmin for a fixed bound, inline: a number that is none becomes the bound. */
static double at_least(double value, double bound)
{
    return value > bound ? value : bound;
}

static double at_most(double value, double bound)
{
    return value < bound ? value : bound;
}

static double inverse_kelvin(double temp_c)
{
    return 1.0 / (temp_c + KELVIN);
}

/* Slope of ln(rate) over -1/T that halves the rate `doubling_c` below the row. */
static double slope_below(double temp_c, double doubling_c)
{
    return M_LN2 / (inverse_kelvin(temp_c - doubling_c) - inverse_kelvin(temp_c));
}

static double slope_above(double temp_c, double doubling_c)
{
    return M_LN2 / (inverse_kelvin(temp_c) - inverse_kelvin(temp_c + doubling_c));
}

static double slope_between(const struct law *law, unsigned colder)
{
    return (law->row_log_rate[colder + 1] - law->row_log_rate[colder]) /
           (law->row_inv_k[colder] - law->row_inv_k[colder + 1]);
}

static double pick_cold_slope(const struct law *law, double doubling_c)
{
    double usual = slope_below(law->row_temp_c[0], doubling_c);
    if (law->side == SIDE_CLOSING)
        return 0.0; /* no longer than its coldest row */
    if (law->rows == 1)
        return usual;
    double own = slope_between(law, 0);
    return law->side == SIDE_OPENING ? fmax(own, usual) : own;
}

static double pick_hot_slope(const struct law *law, double doubling_c)
{
    double usual = slope_above(law->row_temp_c[law->rows - 1], doubling_c);
    if (law->side == SIDE_OPENING)
        return 0.0; /* no shorter than its warmest row */
    if (law->rows == 1)
        return usual;
    double own = slope_between(law, law->rows - 2);
    return law->side == SIDE_CLOSING ? fmax(own, usual) : own;
}

static enum coat_result check_terms(const struct law_terms *terms, struct coat_error *error)
{
    if (terms->rows < 1 || terms->rows > LAW_ROWS_MAX)
        return coat_fail(error, COAT_BAD_VALUE, "rows", "a drying table needs 1 to %d rows; it has %u", LAW_ROWS_MAX,
                         terms->rows);
    for (unsigned i = 0; i < terms->rows; i++) {
        const struct cure_row *row = &terms->row[i];
        if (!(row->hours > 0.0) || !isfinite(row->hours) || !(row->temp_c > -100.0 && row->temp_c < 500.0))
            return coat_fail(error, COAT_BAD_VALUE, "rows", "row %u of a drying table has no usable hours or temperature",
                             i + 1);
        if (i > 0 && !(row->temp_c > terms->row[i - 1].temp_c))
            return coat_fail(error, COAT_BAD_VALUE, "rows", "rows of a drying table must rise in temperature; row %u does not",
                             i + 1);
    }
    if (!(terms->doubling_c > 0.5 && terms->doubling_c < 100.0))
        return coat_fail(error, COAT_BAD_VALUE, "doubling_c", "hours must double for each 0.5 to 100 C colder");
    if (!(terms->ref_rh_pct >= 0.0 && terms->ref_rh_pct <= 95.0))
        return coat_fail(error, COAT_BAD_VALUE, "ref_rh_pct", "the reference humidity must lie between 0 and 95 %%");
    return COAT_OK;
}

enum coat_result law_from_terms(const struct law_terms *terms, struct law *ret, struct coat_error *error)
{
    enum coat_result result = check_terms(terms, error);
    if (result != COAT_OK)
        return result;
    struct law law;
    memset(&law, 0, sizeof law); /* padding too: law_equal compares members, but debuggers like it clean */
    law.side = terms->side;
    law.rule = terms->rule;
    law.rows = terms->rows;
    law.ref_rh_pct = terms->ref_rh_pct;
    law.min_temp_c = terms->min_temp_c;
    law.max_rh_pct = terms->max_rh_pct;
    for (unsigned i = 0; i < terms->rows; i++) {
        law.row_temp_c[i] = terms->row[i].temp_c;
        law.row_inv_k[i] = inverse_kelvin(terms->row[i].temp_c);
        law.row_log_rate[i] = log(terms->row[0].hours / terms->row[i].hours);
    }
    law.cold_slope_k = pick_cold_slope(&law, terms->doubling_c);
    law.hot_slope_k = pick_hot_slope(&law, terms->doubling_c);
    law.steepest_slope_k = fmax(fabs(law.cold_slope_k), fabs(law.hot_slope_k));
    for (unsigned i = 0; i + 1 < law.rows; i++)
        law.steepest_slope_k = fmax(law.steepest_slope_k, fabs(slope_between(&law, i)));
    *ret = law;
    return COAT_OK;
}

static bool same_number(double a, double b)
{
    return a == b || (isnan(a) && isnan(b));
}

/* Shapes that agree to the last digits of a logarithm are one shape: 6/12/24 h and 3/6/12 h differ by rounding only. */
static bool same_shape(double a, double b)
{
    return fabs(a - b) <= 1e-12 * fmax(1.0, fmax(fabs(a), fabs(b)));
}

bool law_equal(const struct law *a, const struct law *b)
{
    if (a->side != b->side || a->rule != b->rule || a->rows != b->rows)
        return false;
    if (a->rule != HUMIDITY_SOLVENT && !same_number(a->ref_rh_pct, b->ref_rh_pct))
        return false;
    if (!same_number(a->min_temp_c, b->min_temp_c) || !same_number(a->max_rh_pct, b->max_rh_pct))
        return false;
    if (!same_shape(a->cold_slope_k, b->cold_slope_k) || !same_shape(a->hot_slope_k, b->hot_slope_k))
        return false;
    for (unsigned i = 0; i < a->rows; i++)
        if (!same_number(a->row_temp_c[i], b->row_temp_c[i]) || !same_shape(a->row_log_rate[i], b->row_log_rate[i]))
            return false;
    return true;
}

double law_humidity_factor(enum humidity_rule rule, double ref_rh_pct, double temp_c, double rh_pct)
{
    double factor = 1.0;
    switch (rule) {
    case HUMIDITY_WATER:
        factor = rh_pct < 100.0 ? (100.0 - ref_rh_pct) / (100.0 - rh_pct) : HUMIDITY_FACTOR_MAX;
        break;
    case HUMIDITY_OXIDISING:
        factor = 1.0 + at_least(rh_pct - ref_rh_pct, 0.0) / 100.0;
        break;
    case HUMIDITY_MOISTURE: {
        double held = air_abs_humidity_g_m3(temp_c, fmax(rh_pct, 1.0));
        factor = held > 0.0 ? air_abs_humidity_g_m3(20.0, fmax(ref_rh_pct, 1.0)) / held : HUMIDITY_FACTOR_MAX;
        break;
    }
    case HUMIDITY_SOLVENT:
    case HUMIDITY_RULE_COUNT:
        break;
    }
    return at_most(at_least(factor, HUMIDITY_FACTOR_MIN), HUMIDITY_FACTOR_MAX);
}

/* ln of the temperature part of the rate. */
static double log_rate_at(const struct law *law, double temp_c)
{
    double inv_k = inverse_kelvin(temp_c);
    unsigned last = law->rows - 1;
    if (temp_c <= law->row_temp_c[0])
        return (law->row_inv_k[0] - inv_k) * law->cold_slope_k;
    if (temp_c >= law->row_temp_c[last])
        return law->row_log_rate[last] + (law->row_inv_k[last] - inv_k) * law->hot_slope_k;
    unsigned colder = 0;
    while (temp_c > law->row_temp_c[colder + 1])
        colder++;
    return law->row_log_rate[colder] + (law->row_inv_k[colder] - inv_k) * slope_between(law, colder);
}

/* Whether humidity can change the rate at all: damp never hurries an oil, and never slows a closing. */
static bool feels_damp(const struct law *law)
{
    return law->rule != HUMIDITY_SOLVENT && !(law->rule == HUMIDITY_OXIDISING && law->side == SIDE_CLOSING);
}

static double sided_humidity_factor(const struct law *law, double temp_c, double rh_pct)
{
    double factor = law_humidity_factor(law->rule, law->ref_rh_pct, temp_c, rh_pct);
    if (law->side == SIDE_OPENING)
        return at_least(factor, 1.0);
    if (law->side == SIDE_CLOSING)
        return at_most(factor, 1.0);
    return factor;
}

static enum stall stall_in(const struct law *law, double temp_c, double rh_pct)
{
    if (law->side == SIDE_CLOSING)
        return STALL_NONE; /* a closing runs on: what stalls the cure does not keep a window open */
    if (isnan(temp_c) || isnan(rh_pct))
        return STALL_AIR_UNKNOWN;
    if (temp_c < law->min_temp_c) /* false for NAN: no limit known */
        return STALL_COLD;
    if (rh_pct > law->max_rh_pct)
        return STALL_DAMP;
    return STALL_NONE;
}

/* The rate where nothing stalls it. */
static double moving_rate(const struct law *law, double temp_c, double rh_pct)
{
    double rate = exp(log_rate_at(law, temp_c));
    return feels_damp(law) ? rate / sided_humidity_factor(law, temp_c, rh_pct) : rate;
}

bool law_heeds_humidity(const struct law *law)
{
    return feels_damp(law) || (law->side != SIDE_CLOSING && !isnan(law->max_rh_pct));
}

double law_rate(const struct law *law, double temp_c, double rh_pct, enum stall *ret_stall)
{
    enum stall stall = stall_in(law, temp_c, rh_pct);
    if (ret_stall)
        *ret_stall = stall;
    return stall == STALL_NONE ? moving_rate(law, temp_c, rh_pct) : 0.0;
}

double law_film_factor(enum law_side side, double film_um, double ref_um, double exponent)
{
    double factor = 1.0;
    if (film_um > 0.0 && ref_um > 0.0)
        factor = pow(film_um / ref_um, exponent);
    if (side == SIDE_OPENING)
        return fmax(factor, 1.0);
    if (side == SIDE_CLOSING)
        return fmin(factor, 1.0);
    return factor;
}

double law_hours_needed(enum law_side side, double first_row_hours, double film_factor, double k)
{
    if (side == SIDE_OPENING)
        return first_row_hours * fmax(film_factor, 1.0) * fmax(k, 1.0);
    if (side == SIDE_CLOSING)
        return first_row_hours * fmin(film_factor, 1.0) * fmin(k, 1.0);
    return first_row_hours * film_factor * k;
}

/* ---- integrals ---- */

#define SPLITS_MAX (LAW_ROWS_MAX + 8)

struct stretch {
    const struct law *law;
    double hours, temp0_c, temp1_c, rh0_pct, rh1_pct;
};

static double temp_at(const struct stretch *s, double share)
{
    return s->temp0_c + (s->temp1_c - s->temp0_c) * share;
}

static double rh_at(const struct stretch *s, double share)
{
    return s->rh0_pct + (s->rh1_pct - s->rh0_pct) * share;
}

static void add_split(double *split, unsigned *count, double from, double to, double level)
{
    if (!(from < level && level < to) && !(to < level && level < from))
        return; /* also where there is no such level (NAN) */
    split[(*count)++] = (level - from) / (to - from);
}

static void sort_splits(double *split, unsigned count)
{
    for (unsigned i = 1; i < count; i++) {
        double value = split[i];
        unsigned j = i;
        for (; j > 0 && split[j - 1] > value; j--)
            split[j] = split[j - 1];
        split[j] = value;
    }
}

/* Humidity at which the water rule reaches the factor. */
static double water_rule_rh(double ref_rh_pct, double factor)
{
    return 100.0 - (100.0 - ref_rh_pct) / factor;
}

/* Shares of the stretch at which the rate has a kink or a jump, sorted. Steady air crosses none, without being asked: whether a
 * sensor's last digit moved is a coin toss that no processor foretells. */
static unsigned find_splits(const struct stretch *s, double *split)
{
    const struct law *law = s->law;
    unsigned count = 0;
    for (unsigned i = 0; i < law->rows; i++)
        add_split(split, &count, s->temp0_c, s->temp1_c, law->row_temp_c[i]);
    if (law->side != SIDE_CLOSING) {
        add_split(split, &count, s->temp0_c, s->temp1_c, law->min_temp_c);
        add_split(split, &count, s->rh0_pct, s->rh1_pct, law->max_rh_pct);
    }
    if (feels_damp(law))
        add_split(split, &count, s->rh0_pct, s->rh1_pct, law->ref_rh_pct);
    if (law->rule == HUMIDITY_WATER) {
        add_split(split, &count, s->rh0_pct, s->rh1_pct, water_rule_rh(law->ref_rh_pct, HUMIDITY_FACTOR_MAX));
        add_split(split, &count, s->rh0_pct, s->rh1_pct, water_rule_rh(law->ref_rh_pct, HUMIDITY_FACTOR_MIN));
    }
    if (count > 1)
        sort_splits(split, count);
    return count;
}

/* An upper bound of how much ln(rate) changes over a share of the stretch that has no kink inside. */
static double log_change(const struct stretch *s, double share)
{
    static const double per_pct[HUMIDITY_RULE_COUNT] = {
        [HUMIDITY_SOLVENT] = 0.0, [HUMIDITY_WATER] = 0.1, [HUMIDITY_OXIDISING] = 0.01, [HUMIDITY_MOISTURE] = 0.1};
    double coldest_k = at_most(s->temp0_c, s->temp1_c) + KELVIN;
    double temp_change = fabs(s->temp1_c - s->temp0_c) * share;
    double moisture = s->law->rule == HUMIDITY_MOISTURE ? 0.1 * temp_change : 0.0;
    return s->law->steepest_slope_k * temp_change / (coldest_k * coldest_k) + moisture +
           per_pct[s->law->rule] * fabs(s->rh1_pct - s->rh0_pct) * share;
}

/* The middle alone errs by x^2 / 24, Simpson by x^4 / 2880 of itself (x: change of ln rate): both held under 1e-5. Minute
 * readings hardly ever change more than the middle can bear, so that most steps of a replay cost one exp(). */
#define MIDDLE_LOG_CHANGE 0.015
#define SIMPSON_LOG_CHANGE 0.4

static double simpson(const struct stretch *s, double from, double to)
{
    double mid = 0.5 * (from + to);
    double a = moving_rate(s->law, temp_at(s, from), rh_at(s, from));
    double m = moving_rate(s->law, temp_at(s, mid), rh_at(s, mid));
    double b = moving_rate(s->law, temp_at(s, to), rh_at(s, to));
    return (a + 4.0 * m + b) / 6.0 * (to - from);
}

/* Mean rate times share of a part without kinks. */
static double integrate_part(const struct stretch *s, double from, double to)
{
    double mid = 0.5 * (from + to);
    if (stall_in(s->law, temp_at(s, mid), rh_at(s, mid)) != STALL_NONE)
        return 0.0;
    double change = log_change(s, to - from);
    if (change <= MIDDLE_LOG_CHANGE)
        return moving_rate(s->law, temp_at(s, mid), rh_at(s, mid)) * (to - from);
    /* Where absolute humidity rules, the kinks (f = 1, the clamps) lie on curves that find_splits does not look for: finer pieces
     * catch them to the same 1e-4. */
    double most = s->law->rule == HUMIDITY_MOISTURE ? SIMPSON_LOG_CHANGE / 32.0 : SIMPSON_LOG_CHANGE;
    unsigned pieces = (unsigned)fmin(ceil(change / most), 4096.0);
    double sum = 0.0, step = (to - from) / pieces;
    for (unsigned i = 0; i < pieces; i++)
        sum += simpson(s, from + step * i, i + 1 == pieces ? to : from + step * (i + 1));
    return sum;
}

double law_integrate(const struct law *law, double hours, double temp0_c, double temp1_c, double rh0_pct, double rh1_pct)
{
    struct stretch s = {law, hours, temp0_c, temp1_c, rh0_pct, rh1_pct};
    double split[SPLITS_MAX];
    unsigned count = find_splits(&s, split);
    if (count == 0)
        return integrate_part(&s, 0.0, 1.0) * hours;
    double sum = 0.0, from = 0.0;
    for (unsigned i = 0; i < count; i++) {
        sum += integrate_part(&s, from, split[i]);
        from = split[i];
    }
    sum += integrate_part(&s, from, 1.0);
    return sum * hours;
}

double law_solve(const struct law *law, double hours, double temp0_c, double temp1_c, double rh0_pct, double rh1_pct,
                 double goal)
{
    struct stretch s = {law, hours, temp0_c, temp1_c, rh0_pct, rh1_pct};
    double low = 0.0, high = 1.0; /* shares; the integral to `high` always reaches the goal */
    for (int i = 0; i < 60 && (high - low) * hours * 3.6e6 > 0.25; i++) {
        double mid = 0.5 * (low + high);
        double grown = law_integrate(law, hours * mid, temp0_c, temp_at(&s, mid), rh0_pct, rh_at(&s, mid));
        if (grown >= goal)
            high = mid;
        else
            low = mid;
    }
    return high * hours;
}

double law_energy_of_doubling(double doubling_c, double temp_c)
{
    double half = doubling_c / 2.0;
    return M_LN2 / (inverse_kelvin(temp_c - half) - inverse_kelvin(temp_c + half)) * GAS_CONSTANT_J_MOL_K / 1000.0;
}
