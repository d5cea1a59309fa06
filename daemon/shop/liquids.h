/* What was put on with a coat, as the liquids that the sums of vapour take. */
#ifndef SHOP_LIQUIDS_H
#define SHOP_LIQUIDS_H

#include "coat/facts.h"
#include "coat/vapour.h"

struct coat_liquids {
    struct vapour_liquid solvent;     /* of the material itself */
    struct vapour_liquid propellant;  /* mix.parts 0: none, or told among its solvents */
    struct vapour_liquid thinner;     /* amount_ml 0: none */
    bool thinner_known;               /* false: what it was thinned with has a name that nobody knows */
    bool told;                        /* what the material is made of, and how much of it evaporates; else the worst of its class */
};

/* The coat has an amount. Thinner is a share of all of it, the larger reading. */
void coat_liquids_of(const struct coat *coat, const struct material *material, struct coat_liquids *ret);

#endif
