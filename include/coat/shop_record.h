/* What a piece went through, to keep or to hand on with the machine: beside the facts of coat/shop.h, the air that a coat really had. */
#ifndef COAT_SHOP_RECORD_H
#define COAT_SHOP_RECORD_H

#include "coat/shop.h"

/* What the sensors read where the piece hung, from the first pass until the coat was cured through, else until it was stripped or struck, else until
 * now. The ends are of single readings; the means are over the hours in which anything was read, so that a sensor that speaks often in some of them
 * does not outweigh the rest. */
struct air_had {
    int64_t from_at, to_at;
    bool cured;             /* to_at is when it was cured through */
    bool read;              /* false: nothing was read in all that time, and the rest is NAN */
    double temp_low_c, temp_mean_c, temp_high_c;
    double rh_low_pct, rh_mean_pct, rh_high_pct;
    double measured_h, assumed_h; /* behind its furthest stage; 0 where it has none */
};
COAT_CHECKED enum coat_result shop_air_had(struct shop *shop, const struct coat_view *coat, int64_t now_ms, struct air_had *ret);

#endif
