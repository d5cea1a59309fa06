/* Moist air after ASHRAE Handbook, Fundamentals (2017), chapter 1 (coefficients and formulas from memory, checked against
 * the handbook's table 3 values, against a published dew-point table and against an independent implementation in
 * the tests).
 *
 * Equation 6 (over liquid water) is published for 0 to 200 C. It is used below zero as well, as supercooled water,
 * because that is what relative humidity of a weather station or sensor refers to; equation 5 (over ice) gives
 * the frost point and the wet bulb of an iced wick. */
#include "coat/air.h"

#include <math.h>

#define KELVIN 273.15
#define VAPOUR_GAS_CONSTANT 461.5 /* J/(kg K) */
#define MASS_RATIO 0.621945       /* molar mass of water over that of dry air, equation 20 */

#define TEMP_MIN_C (-60.0)
#define TEMP_MAX_C 100.0
#define RH_MIN_PCT 0.1
#define RH_MAX_PCT 100.0
#define PRESSURE_MIN_PA 60000.0
#define PRESSURE_MAX_PA 110000.0

/* The dew point of the driest and coldest air accepted is near -106 C; both curves still rise there. */
#define SEARCH_LOW_C (-150.0)
#define SEARCH_STEPS 100
#define SEARCH_TOLERANCE_C 1e-10

/* The natural logarithm of the saturation pressure in pascal: equations 5 and 6 are of one form. */
struct curve {
    double over_t, constant, by_t[4], log_t; /* over_t / t + constant + by_t[0] t + by_t[1] t^2 ... + log_t ln t, t in kelvin */
};

/* Equation 6. */
static const struct curve over_water = {-5.8002206e3, 1.3914993, {-4.8640239e-2, 4.1764768e-5, -1.4452093e-8, 0.0}, 6.5459673};
/* Equation 5. */
static const struct curve over_ice = {-5.6745359e3, 6.3925247, {-9.677843e-3, 6.2215701e-7, 2.0747825e-9, -9.484024e-13}, 4.1635019};

static double log_pressure(const struct curve *c, double temp_c)
{
    double t = temp_c + KELVIN;
    return c->over_t / t + c->constant + t * (c->by_t[0] + t * (c->by_t[1] + t * (c->by_t[2] + t * c->by_t[3]))) + c->log_t * log(t);
}

/* Its derivative. */
static double log_pressure_slope(const struct curve *c, double temp_c)
{
    double t = temp_c + KELVIN;
    return (c->log_t - c->over_t / t) / t + c->by_t[0] + t * (2.0 * c->by_t[1] + t * (3.0 * c->by_t[2] + t * 4.0 * c->by_t[3]));
}

/* Magnus' short form, good to some tenths of a kelvin where weather is: where the search begins. */
static double first_guess_c(double goal, double low_c, double high_c)
{
    double over_freezing = goal - log(610.94);
    double guess_c = 243.04 * over_freezing / (17.625 - over_freezing);
    return guess_c > low_c && guess_c < high_c ? guess_c : 0.5 * (low_c + high_c);
}

/* Temperature at which `curve` has the value `goal`: Newton's step where it stays inside the bracket, else bisection. */
static double solve_saturation(const struct curve *curve, double goal, double low_c, double high_c)
{
    double temp_c = first_guess_c(goal, low_c, high_c);
    for (int i = 0; i < SEARCH_STEPS; i++) {
        double miss = log_pressure(curve, temp_c) - goal;
        if (miss > 0.0)
            high_c = temp_c;
        else
            low_c = temp_c;
        double next_c = temp_c - miss / log_pressure_slope(curve, temp_c);
        if (fabs(next_c - temp_c) < SEARCH_TOLERANCE_C)
            return fmin(next_c, high_c);
        if (next_c <= low_c || next_c >= high_c)
            next_c = 0.5 * (low_c + high_c);
        temp_c = next_c;
    }
    return temp_c;
}

static bool within(double value, double low, double high)
{
    return value >= low && value <= high; /* false for NAN */
}

static bool air_is_in_range(double temp_c, double rh_pct)
{
    return within(temp_c, TEMP_MIN_C, TEMP_MAX_C) && within(rh_pct, RH_MIN_PCT, RH_MAX_PCT);
}

double air_saturation_pa(double temp_c)
{
    if (!within(temp_c, TEMP_MIN_C, TEMP_MAX_C))
        return (double)NAN;
    return exp(log_pressure(&over_water, temp_c));
}

double air_dew_point_c(double temp_c, double rh_pct)
{
    if (!air_is_in_range(temp_c, rh_pct))
        return (double)NAN;
    if (rh_pct >= RH_MAX_PCT)
        return temp_c;
    double goal = log_pressure(&over_water, temp_c) + log(rh_pct / 100.0);
    return solve_saturation(&over_water, goal, SEARCH_LOW_C, temp_c);
}

/* Coefficients of Alduchov and Eskridge (1996), from memory; the tests hold them to the exact one. */
double air_dew_point_about_c(double temp_c, double rh_pct)
{
    if (!within(temp_c, -40.0, 60.0) || !within(rh_pct, 5.0, RH_MAX_PCT))
        return (double)NAN;
    double over_freezing = log(rh_pct / 100.0) + 17.625 * temp_c / (243.04 + temp_c);
    return 243.04 * over_freezing / (17.625 - over_freezing);
}

/* Over ice. In air near saturation over water below zero this lies above the air itself: hoar frost grows. */
static double frost_point_c(double vapour_pressure_pa, double dew_point_c)
{
    if (dew_point_c > 0.01)
        return (double)NAN;
    return solve_saturation(&over_ice, log(vapour_pressure_pa), SEARCH_LOW_C, 1.0);
}

double air_abs_humidity_g_m3(double temp_c, double rh_pct)
{
    if (!air_is_in_range(temp_c, rh_pct))
        return (double)NAN;
    double vapour_pressure_pa = air_saturation_pa(temp_c) * rh_pct / 100.0;
    return 1000.0 * vapour_pressure_pa / (VAPOUR_GAS_CONSTANT * (temp_c + KELVIN));
}

/* Equation 20; infinite where the vapour alone would fill the pressure (boiling). */
static double humidity_ratio(double vapour_pressure_pa, double pressure_pa)
{
    if (vapour_pressure_pa >= pressure_pa)
        return (double)INFINITY;
    return MASS_RATIO * vapour_pressure_pa / (pressure_pa - vapour_pressure_pa);
}

/* Equation 33: humidity ratio of air at temp_c whose wet bulb, wet with water, shows wet_c. */
static double ratio_from_wet_bulb(double temp_c, double wet_c, double pressure_pa)
{
    double saturated = humidity_ratio(exp(log_pressure(&over_water, wet_c)), pressure_pa);
    return ((2501.0 - 2.326 * wet_c) * saturated - 1.006 * (temp_c - wet_c)) /
           (2501.0 + 1.86 * temp_c - 4.186 * wet_c);
}

/* Equation 35: the same with ice on the bulb. */
static double ratio_from_iced_bulb(double temp_c, double wet_c, double pressure_pa)
{
    double saturated = humidity_ratio(exp(log_pressure(&over_ice, wet_c)), pressure_pa);
    return ((2830.0 - 0.24 * wet_c) * saturated - 1.006 * (temp_c - wet_c)) /
           (2830.0 + 1.86 * temp_c - 2.1 * wet_c);
}

/* The two equations do not meet at 0 C, so a little air has one answer in each. The wet one is taken: a bulb that can
 * stay above freezing does not freeze. Air damper than an iced bulb allows ends at the air's own temperature. */
static double wet_bulb_c(struct air_state air, double dew_point_c, double ratio)
{
    bool iced = air.temp_c < 0.0 || ratio_from_wet_bulb(air.temp_c, 0.0, air.pressure_pa) > ratio;
    double low_c = iced ? dew_point_c : fmax(dew_point_c, 0.0);
    double high_c = iced ? fmin(air.temp_c, 0.0) : air.temp_c;
    for (int i = 0; i < SEARCH_STEPS && high_c - low_c > SEARCH_TOLERANCE_C; i++) {
        double middle_c = 0.5 * (low_c + high_c);
        double found = iced ? ratio_from_iced_bulb(air.temp_c, middle_c, air.pressure_pa)
                            : ratio_from_wet_bulb(air.temp_c, middle_c, air.pressure_pa);
        if (found > ratio)
            high_c = middle_c;
        else
            low_c = middle_c;
    }
    return high_c;
}

enum coat_result air_properties_at(struct air_state air, struct air_properties *ret)
{
    if (!air_is_in_range(air.temp_c, air.rh_pct) || !within(air.pressure_pa, PRESSURE_MIN_PA, PRESSURE_MAX_PA))
        return COAT_OUT_OF_RANGE;
    double vapour_pressure_pa = air_saturation_pa(air.temp_c) * air.rh_pct / 100.0;
    double ratio = humidity_ratio(vapour_pressure_pa, air.pressure_pa);
    if (!isfinite(ratio))
        return COAT_OUT_OF_RANGE;
    double dew_point_c = air_dew_point_c(air.temp_c, air.rh_pct);
    *ret = (struct air_properties){
        .vapour_pressure_pa = vapour_pressure_pa,
        .dew_point_c = dew_point_c,
        .frost_point_c = frost_point_c(vapour_pressure_pa, dew_point_c),
        .wet_bulb_c = wet_bulb_c(air, dew_point_c, ratio),
        .abs_humidity_g_m3 = air_abs_humidity_g_m3(air.temp_c, air.rh_pct),
        .humidity_ratio = ratio,
    };
    return COAT_OK;
}

bool air_surface_is_clear_of_dew(double surface_c, double dew_point_c)
{
    return surface_c - dew_point_c >= AIR_DEW_MARGIN_C;
}
