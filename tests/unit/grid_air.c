/* Prints moist air over a grid as CSV, for the comparison with an independent implementation. */
#include "coat/air.h"

#include <stdio.h>

int main(void)
{
    puts("temp_c,rh_pct,vapour_pressure_pa,dew_point_c,frost_point_c,wet_bulb_c,humidity_ratio");
    for (int temp_c = -20; temp_c <= 45; temp_c++) {
        for (int rh_pct = 5; rh_pct <= 100; rh_pct += 5) {
            struct air_properties air;
            struct air_state state = {temp_c, rh_pct, AIR_STANDARD_PRESSURE_PA};
            if (air_properties_at(state, &air) != COAT_OK)
                return 1;
            printf("%d,%d,%.12g,%.12g,%.12g,%.12g,%.12g\n", temp_c, rh_pct, air.vapour_pressure_pa, air.dew_point_c,
                   air.frost_point_c, air.wet_bulb_c, air.humidity_ratio);
        }
    }
    return 0;
}
