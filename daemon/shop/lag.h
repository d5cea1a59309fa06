/* How far the surface of a casting lags behind the air that it was carried to, and what that means for the clocks of its coats. */
#ifndef SHOP_LAG_H
#define SHOP_LAG_H

#include "daemon/shop/model.h"

/* Of a casting that nobody measured; ours. */
#define LAG_USUAL_WALL_MM 8.0
/* How far back the air of a piece is looked at for its own temperature, and how long it may lag: five time constants of a wall of 50 mm. */
#define LAG_PAST_MS (24 * MS_PER_H)

/* With the least heat that still air gives off, so that it is told to lag for long rather than short. NAN where it cannot be worked out. */
double piece_time_constant_min(const struct piece *piece, double *ret_wall_mm);
/* The surface of a piece that followed the air it had; NAN where nothing is known of that. */
COAT_CHECKED enum coat_result piece_surface_at(const struct shop *shop, int64_t piece_id, double time_constant_min, int64_t at_ms, double *ret_c);
/* Whether water may have come down on a piece, as measured, between two moments: its surface was below the dew point of the air around it. */
COAT_CHECKED enum coat_result piece_was_wet(const struct shop *shop, int64_t piece_id, int64_t from_ms, int64_t to_ms, bool *ret);
/* What the ledger of a stay grows by beside its air because the piece comes to it colder or warmer: never above 0 for an opening, never below for a
 * closing. *ret_warm_at: when it is through; the begin of the stay where it does not lag. */
COAT_CHECKED enum coat_result stay_lag(const struct shop *shop, int64_t piece_id, const struct stay *stay, struct ledger *ledger,
                                       int64_t *ret_warm_at, double *ret_growth);
/* Whether it came from another place at by_ms or within LAG_PAST_MS before: air that changes by itself makes no lag. */
bool piece_was_carried(const struct shop *shop, int64_t piece_id, int64_t by_ms);

#endif
