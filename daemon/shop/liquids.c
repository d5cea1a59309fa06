#include "daemon/shop/liquids.h"

#include <math.h>

void coat_liquids_of(const struct coat *coat, const struct material *material, struct coat_liquids *ret)
{
    struct material_makeup makeup;
    double thinner_ml = isnan(coat->thinned_pct) ? 0.0 : coat->amount_ml * fmin(coat->thinned_pct, 100.0) / 100.0;
    material_makeup(material, &makeup);
    *ret = (struct coat_liquids){
        .solvent = {coat->amount_ml - thinner_ml, makeup.solvent_pct, makeup.solvent},
        .propellant = {coat->amount_ml - thinner_ml, makeup.propellant_pct, makeup.propellant},
        .thinner = {.amount_ml = thinner_ml, .solvent_pct = 100.0},
        .thinner_known = true,
        .told = makeup.told && makeup.share_told,
    };
    if (thinner_ml > 0.0)
        ret->thinner_known = solvent_mix_parse(coat->thinner, &ret->thinner.mix, NULL) == COAT_OK;
}
