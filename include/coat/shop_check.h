/* May this be put on now, and if not, when: what coat/check.h says of the air to come, with what it would land on and the windows that
 * it would open, for a material, a place and a piece of the shop. */
#ifndef COAT_SHOP_CHECK_H
#define COAT_SHOP_CHECK_H

#include "coat/check.h"
#include "coat/compat.h"
#include "coat/shop.h"

struct check_query {
    int64_t material_id, place_id;
    int64_t piece_id;        /* 0: none */
    const char *area;        /* of the piece; empty: all of it */
    int64_t at;              /* now, or up to CHECK_HOURS ahead */
    int64_t now_ms;
    int64_t (*zone_offset_ms)(const char *zone, int64_t at_ms); /* local time less UTC */
};

enum check_verdict { CHECK_UNKNOWN, CHECK_NO, CHECK_YES };

/* Why not, the weightiest first. */
struct check_refusal {
    struct check_fault fault;
    int64_t breaks_at;       /* of the air to come; MOMENT_NONE: it is so already, or has no moment */
    int landing;             /* index of the coat that it is about; -1 */
};

/* A coat that the new one would lie on. */
struct check_landing {
    const struct coat *coat;
    const struct material_version *material;
    enum stage stage;        /* recoat; seal where it is a size */
    bool has_stage;          /* false: nothing is known of when it may be covered */
    enum span_do does;       /* in that stage, at the moment asked for */
    bool prepared, disputed;
    int64_t until_at;        /* when that ends, likely for openings, earliest for closings; MOMENT_NONE: never, or not in this air */
    bool cured;
    struct compat_verdict compat;
};
#define CHECK_LANDINGS_MAX 16
#define CHECK_REFUSALS_MAX (CHECK_LANDINGS_MAX + 1)

/* How warm the piece is as it gets there. */
struct check_surface {
    bool known;
    double temp_c, dew_point_c;
    double time_constant_min;/* with the least heat that still air gives off: warm.h */
    double wall_mm;
    bool wall_assumed;
    int64_t from_place_id;   /* it hangs there now and would be carried in; 0 */
    int64_t clear_at;        /* 3 C above the dew point from then on; MOMENT_NONE: not in this air */
};

/* A span that it would open if it went on at windows_at, with a normal film, in the likely air. */
struct check_window {
    enum stage stage;
    enum span_do does;       /* go, or test */
    int64_t from_at;         /* likely; MOMENT_NONE: not in this air */
    int64_t until_at;        /* earliest; MOMENT_NONE: no end */
    bool from_outside, until_outside; /* of the shop's hours */
    bool missed_hours;       /* none of it lies in them */
    bool disputed;           /* its figures are: read the can */
};
#define CHECK_WINDOWS_MAX 8

struct check_view {
    const struct material_version *material;
    int64_t place_id, piece_id, at;
    enum check_verdict verdict;
    struct air_view air;     /* of the place, now */
    double known_days;       /* behind the air to come */
    bool has_hours;          /* the shop has working hours */
    struct check_surface surface;
    unsigned refusals, landings, stretches, windows;
    struct check_refusal refusal[CHECK_REFUSALS_MAX];
    struct check_landing landing[CHECK_LANDINGS_MAX];
    struct check_stretch stretch[CHECK_STARTS]; /* none where the air is not known */
    struct check_window window[CHECK_WINDOWS_MAX];
    int64_t windows_at;      /* the moment asked for, or the first good start, in the shop's hours if one is; MOMENT_NONE: none */
    struct caution_set cautions;
};

/* COAT_NOT_FOUND for what is not there or out of use, COAT_BAD_VALUE for a moment or an area that will not do. */
COAT_CHECKED enum coat_result shop_check(struct shop *shop, const struct check_query *query, struct check_view *ret,
                                         struct coat_error *error);

#endif
