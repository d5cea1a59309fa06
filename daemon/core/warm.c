#include "coat/warm.h"

#include <math.h>
#include <stdbool.h>
#include <stddef.h>

/* Near 20 C; rounded values as engineering handbooks tabulate them (from memory; grades differ by some percent, far less than h). */
static const struct {
    double heat_capacity_j_kg_k;
    double density_kg_m3;
} metals[] = {
    [METAL_IRON] = {460.0, 7200.0},           /* grey cast iron */
    [METAL_STEEL] = {490.0, 7850.0},         /* plain carbon steel */
    [METAL_ALUMINIUM] = {900.0, 2700.0}, /* and its casting alloys, within 5 % */
    [METAL_BRASS] = {380.0, 8500.0},
};
_Static_assert(sizeof metals / sizeof *metals == METAL_COUNT, "one row a metal");

static bool metal_is_known(enum metal metal)
{
    return (size_t)metal < (size_t)METAL_COUNT;
}

double metal_heat_capacity_j_kg_k(enum metal metal)
{
    return metal_is_known(metal) ? metals[metal].heat_capacity_j_kg_k : (double)NAN;
}

double metal_density_kg_m3(enum metal metal)
{
    return metal_is_known(metal) ? metals[metal].density_kg_m3 : (double)NAN;
}

static bool is_positive(double value)
{
    return isfinite(value) && value > 0.0;
}

/* m c / (h A) with m and A as kilograms a square metre of surface. */
static enum coat_result time_constant(double mass_kg_m2, enum metal metal, double h_w_m2k, double *ret_min)
{
    double seconds = mass_kg_m2 * metal_heat_capacity_j_kg_k(metal) / h_w_m2k;
    if (!is_positive(seconds))
        return COAT_OUT_OF_RANGE;
    *ret_min = seconds / 60.0;
    return COAT_OK;
}

enum coat_result warm_time_constant_from_area(double mass_kg, double area_m2, enum metal metal, double h_w_m2k,
                                              double *ret_min)
{
    if (!is_positive(mass_kg) || !is_positive(area_m2) || !is_positive(h_w_m2k) || !metal_is_known(metal))
        return COAT_OUT_OF_RANGE;
    return time_constant(mass_kg / area_m2, metal, h_w_m2k, ret_min);
}

enum coat_result warm_time_constant_from_wall(double wall_mm, enum metal metal, double h_w_m2k, double *ret_min)
{
    if (!is_positive(wall_mm) || !is_positive(h_w_m2k) || !metal_is_known(metal))
        return COAT_OUT_OF_RANGE;
    return time_constant(metal_density_kg_m3(metal) * wall_mm / 1000.0 / 2.0, metal, h_w_m2k, ret_min);
}

enum coat_result warm_time_to(double time_constant_min, double start_c, double air_c, double to_c, double *ret_min)
{
    if (!is_positive(time_constant_min))
        return COAT_OUT_OF_RANGE;
    bool on_the_way = (start_c < to_c && to_c < air_c) || (air_c < to_c && to_c < start_c);
    if (!on_the_way)
        return COAT_OUT_OF_RANGE;
    double minutes = time_constant_min * log((start_c - air_c) / (to_c - air_c));
    if (!isfinite(minutes))
        return COAT_OUT_OF_RANGE;
    *ret_min = minutes;
    return COAT_OK;
}

double warm_temp_after(double time_constant_min, double start_c, double air_c, double elapsed_min)
{
    return air_c + (start_c - air_c) * exp(-elapsed_min / time_constant_min);
}
