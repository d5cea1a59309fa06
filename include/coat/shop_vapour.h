/* What is in the air of a place by the sums of coat/vapour.h: from the coats that were put on there with an amount. No design, and never a word that it is
 * safe; coats without an amount are not in it, so that with any of them the finding is not known at best. */
#ifndef COAT_SHOP_VAPOUR_H
#define COAT_SHOP_VAPOUR_H

#include "coat/shop.h"
#include "coat/vapour.h"

struct vapour_view {
    const struct place *place;
    struct vapour_room room;      /* its airflow counts as not measured, and its exhaust as not drawing from low down: nobody has answered either */
    double effective_m3h;         /* what the fan does by these sums */
    double temp_c;                /* that the sums are made for */
    bool temp_known;              /* false: 20 C, as nobody read it */
    bool as_oven;                 /* an oven, a cabinet that may be heated, or a heated place under 2 m3 */
    unsigned counted, uncounted;  /* coats of the last days, with and without an amount */
    struct vapour_load load;      /* of those of the last day, as if it all evaporated at once */
    double still_air_lel_pct;     /* of it in still air; NAN: not known */
    double quarter_air_m3, limit_air_m3; /* fresh air, perfectly mixed, for a quarter of the LEL and for the exposure limit */
    struct vapour_outlook outlook;
    enum vapour_ignition ignition; /* the nearest to burning of what was counted */
    struct caution_set cautions;
};

/* How far back coats count: the slowest has given off all but a trace by then. */
#define SHOP_VAPOUR_DAYS 14

/* false where there is no such place. */
bool shop_vapour_view(struct shop *shop, int64_t place_id, int64_t now_ms, struct vapour_view *ret);

#endif
