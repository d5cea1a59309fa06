/* May this be put on now, and if not, when: the hours of an outlook against what a material wants of its air. Pure; the caller owns
 * all memory.
 *
 * A coat may go on in an hour when temperature, humidity and the surface's distance to the dew point (at least 3 C, ISO 8502-4
 * practice) hold then and until the coat is past its guard stage, in at least 9 of 10 members of the outlook (that share is ours). */
#ifndef COAT_CHECK_H
#define COAT_CHECK_H

#include "coat/law.h"
#include "coat/outlook.h"
#include "coat/words.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define CHECK_HOURS 72
#define CHECK_STARTS (CHECK_HOURS + 1)
#define CHECK_GOOD_SHARE 0.9

/* What the material wants, and how the piece follows the air. */
struct check_terms {
    double min_temp_c, max_temp_c, max_rh_pct; /* NAN where not known: then it refuses nothing */
    struct law law;                            /* of the first opening of the guard stage */
    double needed;                             /* growth of it, see law_hours_needed(); NAN: no such stage */
    double floor_h;                            /* not before; NAN or 0: none */
    double surface_c;                          /* of the piece as the outlook begins; NAN: as the air */
    double time_constant_min;                  /* with which it follows the air; NAN or 0: at once */
};

/* What the first limit is that some air and surface break, the value and the limit (NAN where nothing is broken). A surface warmer
 * than the air lets nothing through that the air would not. */
struct check_fault {
    enum check_reason reason;
    double value, limit; /* C; too-damp: %; dew and surface-dew: C above the dew point */
};
struct check_fault check_fault_in(const struct check_terms *terms, double temp_c, double rh_pct, double surface_c);

/* A start at one full hour of the outlook. */
struct check_hour {
    int64_t at_ms;
    bool good;
    bool works;               /* in the shop's hours, as the caller says; true where it has none */
    double share;             /* of the members that hold */
    struct check_fault fault; /* of a refused one: what most of the failing members break first; value: the middle of their worst */
    int64_t breaks_ms;        /* when they do, the middle one; MOMENT_NONE where that has no moment */
};

/* The outlook as it is from at_ms on (not before it begins, not after it ends), in its own full hours. */
void check_outlook_from(const struct outlook *outlook, int64_t at_ms, struct outlook *ret);

/* Judges the starts at hours 0 to CHECK_HOURS of the outlook, as far as that goes; those beyond, and all of one without members, are
 * refused for no-air. `works` is left alone. */
void check_hours(const struct outlook *outlook, const struct check_terms *terms, struct check_hour hours[CHECK_STARTS]);

/* Whether the starts at hours 0 to starts - 1 (at most CHECK_STARTS of them) from at_ms on are good, for who wants to know no more and has perhaps a short
 * outlook: what check_hours() says of check_outlook_from() at_ms. Untold: it hangs on air after the outlook's end. */
enum check_near { CHECK_NEAR_GOOD, CHECK_NEAR_BAD, CHECK_NEAR_UNTOLD, CHECK_NEAR_COUNT };
void check_near_starts(const struct outlook *outlook, const struct check_terms *terms, int64_t at_ms, unsigned starts, enum check_near ret[]);

/* Neighbouring hours of one verdict and reason: [from_ms, to_ms), the last one up to the last start. */
struct check_stretch {
    int64_t from_ms, to_ms;
    bool good;
    struct check_fault fault;  /* the worst of its hours */
    int64_t breaks_ms;         /* of its first hour */
    int64_t works_from_ms;     /* its first start in the shop's hours; MOMENT_NONE */
};
unsigned check_stretches(const struct check_hour hours[CHECK_STARTS], struct check_stretch ret[CHECK_STARTS]);

/* A piece of surface_c at from_ms (not before the outlook begins) that follows the middle of the outlook until at_ms. */
double check_surface_at(const struct outlook *outlook, double surface_c, double time_constant_min, int64_t from_ms, int64_t at_ms);

/* The piece in the middle of the outlook: when it is first clear of the dew point by 3 C; MOMENT_NONE: not while the outlook lasts. */
int64_t check_surface_clear(const struct outlook *outlook, double surface_c, double time_constant_min);

#endif
