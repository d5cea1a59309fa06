/* Equivalent age: how much faster than at a reference temperature a cure runs, by the three laws in common use. Pure.
 *
 * Sources: ASTM C1074 (maturity): equivalent age by an activation energy, and the temperature-time factor (degree-hours
 * above a datum, equation of Nurse and Saul); ASTM F1980 for the factor per 10 C. */
#ifndef COAT_AGE_H
#define COAT_AGE_H

#define AGE_GAS_CONSTANT_J_MOL_K 8.314462618 /* CODATA 2018 */
#define AGE_KELVIN 273.15

/* exp(-Ea/R (1/T - 1/Tref)), temperatures in Celsius above absolute zero, energy in kJ/mol. 1 at the reference. */
double age_rate_from_energy(double energy_kj_mol, double ref_c, double temp_c);

/* q10^((T - Tref) / 10). q10 above zero. */
double age_rate_from_q10(double q10, double ref_c, double temp_c);

/* Degrees above the datum; nothing below it, where by its definition the cure stands still. */
double age_degrees_above(double datum_c, double temp_c);

#endif
