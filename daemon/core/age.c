#include "coat/age.h"

#include <math.h>

double age_rate_from_energy(double energy_kj_mol, double ref_c, double temp_c)
{
    double energy_k = energy_kj_mol * 1000.0 / AGE_GAS_CONSTANT_J_MOL_K;
    return exp(-energy_k * (1.0 / (temp_c + AGE_KELVIN) - 1.0 / (ref_c + AGE_KELVIN)));
}

double age_rate_from_q10(double q10, double ref_c, double temp_c)
{
    return pow(q10, (temp_c - ref_c) / 10.0);
}

double age_degrees_above(double datum_c, double temp_c)
{
    return temp_c > datum_c ? temp_c - datum_c : 0.0;
}
