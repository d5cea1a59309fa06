/* How fast a coat moves toward a boundary: rows of a table, a humidity rule, limits, and the side on which an
 * error is safe. Pure.
 *
 *     tau(T, RH, d) = g(T) * f(RH) * (d / d_ref)^n * k           (time to the boundary in steady air)
 *     dx/dt = 1 / tau;  the boundary is reached when x = 1         (same law as equivalent age, ASTM C1074)
 *
 * A law holds g, f and the limits, normalised to the first row: the integral C of law_rate() over a coat's air has the
 * unit "hours at the first row's temperature, reference humidity and film". Film, k and the row's own hours are
 * constants of a coat and a boundary, so a boundary is reached when C has grown by law_hours_needed(). Boundaries whose
 * tables have the same shape share one law. */
#ifndef COAT_LAW_H
#define COAT_LAW_H

#include "coat/result.h"
#include "coat/words.h"

#include <stdbool.h>

#define LAW_ROWS_MAX 8

struct cure_row {
    double temp_c;
    double hours; /* at the reference humidity and film */
};

/* On which side an error is safe. SIDE_PLAIN is arithmetic without any safety rule, for checking by hand. */
enum law_side { SIDE_OPENING, SIDE_CLOSING, SIDE_PLAIN };

/* Everything that decides a rate. NAN where a limit is not given. Rows rise strictly in temperature; hours above zero. */
struct law_terms {
    enum law_side side;
    unsigned rows;
    struct cure_row row[LAW_ROWS_MAX];
    double doubling_c;       /* class default: hours double for each so many degrees colder, near the row; 10 where
                                nothing better is known (common practice) */
    enum humidity_rule rule;
    double ref_rh_pct;       /* 50 unless told */
    double min_temp_c;       /* below: rate 0 for openings */
    double max_rh_pct;       /* above: rate 0 for openings */
};

struct law {
    enum law_side side;
    enum humidity_rule rule;
    unsigned rows;
    double row_temp_c[LAW_ROWS_MAX];
    double row_inv_k[LAW_ROWS_MAX];     /* 1/T of the rows, kelvin */
    double row_log_rate[LAW_ROWS_MAX];  /* ln(rate) at the rows; 0 at the first */
    double cold_slope_k;                /* d ln(rate) / d(-1/T) below the first row: an energy over R, kelvin */
    double hot_slope_k;                 /* above the last row */
    double steepest_slope_k;            /* of all, without sign */
    double ref_rh_pct;
    double min_temp_c;
    double max_rh_pct;
};

/* Makes the law of the terms. COAT_BAD_VALUE with *error where rows are missing, out of order or not above zero. */
COAT_CHECKED enum coat_result law_from_terms(const struct law_terms *terms, struct law *ret, struct coat_error *error);

/* True when both give the same rate in all air, so that one clock serves both. */
bool law_equal(const struct law *a, const struct law *b);

/* Whether humidity makes any difference to it. */
bool law_heeds_humidity(const struct law *law);

/* Rate in steady air, in hours-at-the-first-row per hour, 0 where it stalls; *ret_stall (may be NULL) says why.
 *   opening: colder than the coldest row the steeper of that end's slope and the default; warmer than the warmest no
 *     faster; damp air only slows; 0 below the minimum temperature or above the maximum humidity;
 *   closing: colder than the coldest row no slower; warmer keeps on; damp air never slows; limits do not stop it;
 *   plain: both ends go on by their slope, damp air acts both ways, limits stop it. */
double law_rate(const struct law *law, double temp_c, double rh_pct, enum stall *ret_stall);

/* The humidity factor f of a rule: 1 at the reference, above 1 slower, below 1 faster. Clamped to 0.2 to 5.
 *   water: (1 - ref) / (1 - RH), evaporation (from memory; evidence against it for polymer solutions up to 80 %);
 *   oxidising: 1 + (RH - ref) above the reference, 1 below (common practice: damp slows oils; figure is ours);
 *   moisture: absolute humidity, (reference at 20 C) over what the air holds (from memory);
 *   solvent: 1. */
double law_humidity_factor(enum humidity_rule rule, double ref_rh_pct, double temp_c, double rh_pct);

/* (film / ref)^exponent. Openings: never below 1; closings: never above 1; plain: as it is. NAN film counts as ref. */
double law_film_factor(enum law_side side, double film_um, double ref_um, double exponent);

/* How far C must grow: hours of the first row * film factor * k, each kept to the safe side. */
double law_hours_needed(enum law_side side, double first_row_hours, double film_factor, double k);

/* Integral of the rate over a stretch in which temperature and humidity go straight from one end to the other, to 1e-4
 * of itself: split at row temperatures, limits and the reference humidity, then Simpson or finer. Hours in, C out. */
double law_integrate(const struct law *law, double hours, double temp0_c, double temp1_c, double rh0_pct, double rh1_pct);

/* Where in such a stretch C has grown by `goal` (0 < goal <= integral of the stretch): hours from its start. */
double law_solve(const struct law *law, double hours, double temp0_c, double temp1_c, double rh0_pct, double rh1_pct,
                 double goal);

/* Energy in kJ/mol of a doubling each `doubling_c` around temp_c, and the other way (R = 8.314462618 J/(mol K), CODATA). */
double law_energy_of_doubling(double doubling_c, double temp_c);

#endif
