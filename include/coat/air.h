/* Moist air: dew point, wet bulb, absolute humidity.
 *
 * Pure functions. Temperatures in degrees Celsius, humidity in percent over liquid water (also below zero, as
 * weather stations and humidity sensors report it), pressures in pascal.
 *
 * Source: ASHRAE Handbook, Fundamentals (2017), chapter 1, equations 5 and 6 (saturation pressure over ice and
 * over liquid water, Hyland and Wexler 1983), 20 to 24 (humidity ratio), 33 and 35 (wet bulb). Valid for -100 to
 * 200 C there; the functions accept -60 to 100 C, 0.1 to 100 % and 60 to 110 kPa. */
#ifndef COAT_AIR_H
#define COAT_AIR_H

#include "coat/result.h"

#include <stdbool.h>

#define AIR_STANDARD_PRESSURE_PA 101325.0

struct air_state {
    double temp_c;
    double rh_pct;
    double pressure_pa; /* of the air; AIR_STANDARD_PRESSURE_PA where nobody measured it */
};

struct air_properties {
    double vapour_pressure_pa;
    double dew_point_c;        /* over liquid water; below 0 C the frost point lies higher and is given beside it */
    double frost_point_c;      /* over ice; NAN where the dew point is above 0.01 C */
    double wet_bulb_c;
    double abs_humidity_g_m3;  /* mass of vapour per volume of moist air, ideal gas, R_w = 461.5 J/(kg K) */
    double humidity_ratio;     /* kg of water per kg of dry air */
};

/* Saturation pressure over liquid water in pascal; NAN outside -60 to 100 C. */
double air_saturation_pa(double temp_c);

/* Dew point over liquid water for a temperature and a relative humidity; NAN outside the ranges above. */
double air_dew_point_c(double temp_c, double rh_pct);

/* The same by Magnus' short form, in a tenth of the time: no further off than half a kelvin from -40 to 60 C and from 5 %; else NAN. */
double air_dew_point_about_c(double temp_c, double rh_pct);
#define AIR_DEW_POINT_ABOUT_C 0.5

/* Absolute humidity in g/m3; NAN outside the ranges. */
double air_abs_humidity_g_m3(double temp_c, double rh_pct);

/* All of it at once. COAT_OUT_OF_RANGE (and *ret untouched) outside the ranges. */
COAT_CHECKED enum coat_result air_properties_at(struct air_state air, struct air_properties *ret);

/* Whether a surface may be coated: at least 3 C above the dew point (ISO 8502-4 practice). False for NAN. */
bool air_surface_is_clear_of_dew(double surface_c, double dew_point_c);
#define AIR_DEW_MARGIN_C 3.0

#endif
