/* The air to come in a place, told from its own readings, and when a boundary is reached in it. Made on first use after each
 * reading and kept until the next: what it says follows from the facts alone, not from when it is asked. */
#ifndef SHOP_FORECAST_H
#define SHOP_FORECAST_H

#include "coat/outlook.h"
#include "daemon/shop/model.h"

/* From coat to coat of one material in the same air, as the logarithm of its hours: ours, as the softness of a test. */
#define FORECAST_COAT_SPREAD 0.1

/* The outlook from the last reading on; NULL where too little of the air is known for one, or there is no memory. */
const struct outlook *forecast_of(struct place_air *air);

/* What the next hours bring, however little is known of the air: the outlook where it is at hand, else one of its first hours alone, which are the same and
 * cost a fraction of it, in `room`. NULL without readings, or where they cannot be read. */
#define FORECAST_NEAR_HOURS 36u
const struct outlook *forecast_near(const struct place_air *air, struct outlook *room);

/* When the boundary is reached, 10, 50 and 90 %, before floors and ceilings; false where nothing can be said. Only for a pending boundary
 * on a ledger. */
bool forecast_boundary(struct boundary_clock *b, struct outlook_finish *ret);

#endif
