/* A casting that follows the air around it: lumped heat capacity, time constant m c / (h A).
 *
 * Source: any heat-transfer text (lumped capacitance method, valid for Biot numbers below 0.1, which cast iron in
 * still air always meets). h is 5 to 15 W/(m2 K) for free convection and radiation indoors (common practice); where it is not
 * given the answer is a range made from both ends. */
#ifndef COAT_WARM_H
#define COAT_WARM_H

#include "coat/result.h"
#include "coat/words.h"

double metal_heat_capacity_j_kg_k(enum metal metal); /* handbook values near 20 C, source in warm.c */
double metal_density_kg_m3(enum metal metal);

#define WARM_H_LOW_W_M2K 5.0
#define WARM_H_HIGH_W_M2K 15.0

/* From mass and surface area. All arguments above zero, else COAT_OUT_OF_RANGE. */
COAT_CHECKED enum coat_result warm_time_constant_from_area(double mass_kg, double area_m2, enum metal metal,
                                                           double h_w_m2k, double *ret_min);
/* From wall thickness where nobody can measure an ornate casting: both faces give off heat, m/A = density * wall / 2. */
COAT_CHECKED enum coat_result warm_time_constant_from_wall(double wall_mm, enum metal metal, double h_w_m2k,
                                                           double *ret_min);
/* Minutes until the part, starting at start_c in air at air_c, is at to_c. COAT_OUT_OF_RANGE where it never gets
 * there (to_c not strictly between start and air). */
COAT_CHECKED enum coat_result warm_time_to(double time_constant_min, double start_c, double air_c, double to_c,
                                           double *ret_min);
/* Temperature of the part after `elapsed_min`. */
double warm_temp_after(double time_constant_min, double start_c, double air_c, double elapsed_min);

#endif
