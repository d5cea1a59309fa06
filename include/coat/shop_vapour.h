/* What is in the air of a place by the sums of coat/vapour.h: from the coats that were put on there or hung there since with an amount, and from the
 * open solvent that was told. No design, and never a word that it is safe; coats without an amount are not in it, so that with any of them the finding
 * is not known at best. */
#ifndef COAT_SHOP_VAPOUR_H
#define COAT_SHOP_VAPOUR_H

#include "coat/shop.h"
#include "coat/vapour.h"

struct vapour_view {
    const struct place *place;
    struct vapour_room room;
    double effective_m3h;         /* what the fan does by these sums */
    double temp_c;                /* that the sums are made for */
    bool temp_known;              /* false: 20 C, as nobody read it */
    bool as_oven;                 /* an oven, a cabinet that may be heated, or a heated place under 2 m3 */
    unsigned counted, uncounted;  /* coats of the last days, with and without an amount */
    unsigned composition_untold;  /* of those counted: taken for the worst of their class */
    unsigned moved_in;            /* of those counted: put on elsewhere; what was left at the move by the slow pace came along */
    unsigned released;            /* open solvent, told by hand */
    struct vapour_load load;      /* of those of the last day, as if it all evaporated at once */
    double still_air_lel_pct;     /* of it in still air; NAN: not known */
    double quarter_air_m3, limit_air_m3; /* fresh air, perfectly mixed, for a quarter of the LEL and for the exposure limit */
    struct vapour_outlook outlook;
    enum vapour_ignition ignition;  /* the nearest to burning of what was counted */
    enum solvent_category category; /* the most dangerous of what may be in it */
    bool wants[VAPOUR_WANT_COUNT];  /* what would make it better known */
    struct caution_set cautions;
};

/* How far back they count: the slowest has given off all but a trace by then. */
#define SHOP_VAPOUR_DAYS 14

/* false where there is no such place. */
bool shop_vapour_view(struct shop *shop, int64_t place_id, int64_t now_ms, struct vapour_view *ret);
/* What is not told and what that does, in one line that follows "not told: "; never NULL. */
const char *shop_vapour_want_text(enum vapour_want want);
/* What becomes of the vapour of a coat that is moved; told where sums are shown. */
extern const char shop_vapour_moved_text[];

/* Whether the piece hangs in what counts as an oven with a coat that may still give off solvent: a warning is due. */
bool shop_vapour_in_oven(struct shop *shop, int64_t piece_id, int64_t now_ms);

/* By id. */
const struct solvent_release *shop_releases(const struct shop *shop, size_t *ret_count);
/* More than 0, at most 100 l; the solvents known and their shares 100 %; in a place that is in use; not in the future. */
#define SHOP_RELEASE_MOST_ML 1e5
COAT_CHECKED enum coat_result shop_release_solvent(struct shop *shop, const struct shop_write *write, const struct solvent_release *release,
                                                   int64_t *ret_id, struct coat_error *error);

#endif
