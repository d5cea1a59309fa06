/* Baking a finish: how warm the part is in its oven, how far it is baked, when it is done, when it has had too much, when it
 * can be touched again, and whether it may go in at all. Pure; minutes and degrees Celsius throughout.
 *
 * Nobody knows how well an oven heats a casting, so all of it is done three times over: for the quickest and the slowest
 * part that is credible, and for one between. "Done" is told by the part that is the least baked of the three, "too much" by
 * the one that is the most. A probe on the metal does away with all of that: its readings are followed by a part without lag
 * (a time constant of 0).
 *
 * No figure here is a design of an oven. The label, the safety data sheet, local codes and licensed practice decide. */
#ifndef COAT_BAKE_H
#define COAT_BAKE_H

#include "coat/history.h"
#include "coat/law.h"
#include "coat/material.h"
#include "coat/result.h"
#include "coat/warm.h"
#include "coat/words.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Of the quickest, the likely and the slowest part. */
struct bake_range {
    double quick, likely, slow;
};

/* ---- the part follows the oven: m c dT/dt = h A (oven - T), see coat/warm.h ---- */

/* Heat transfer by moving air and radiation, W/(m2 K). Never NULL; of an air outside the list the widest. `source` says what
 * it rests on. Of a still oven the slow end is for bright metal that other pieces shade. The heat capacities of coat/warm.h
 * are those near 20 C; at 150 to 200 C iron takes about a tenth more (from memory), which lies well inside the range. */
struct bake_heat {
    double low_w_m2k, likely_w_m2k, high_w_m2k;
    const char *source;
};
const struct bake_heat *bake_heat(enum oven_air air);

/* NAN what is not known. Mass and area count before the wall. */
struct bake_body {
    enum metal metal;
    double mass_kg, area_m2, wall_mm;
    double h_w_m2k; /* measured or given; NAN: the range of the air */
};

/* Time constants, minutes: quick <= likely <= slow. COAT_BAD_VALUE with the field ("mass_kg", "area_m2", "wall_mm", "h_w_m2k",
 * "metal") where a figure will not do, or where neither mass with area nor a wall is known ("wall_mm"). */
COAT_CHECKED enum coat_result bake_lag(const struct bake_body *body, enum oven_air air, struct bake_range *ret_min,
                                       struct coat_error *error);

/* A stretch of oven, straight from one end to the other. Steady where both ends are the same. */
struct bake_stretch {
    double minutes;
    double oven0_c, oven1_c;
};

/* The part `elapsed_min` into the stretch (0 to its minutes), start_c at its beginning: the closed form. A time constant of 0
 * is the oven itself (a probe on the metal). */
double bake_part_after(double time_constant_min, double start_c, const struct bake_stretch *oven, double elapsed_min);

/* "At temperature": within 1 C, the house's rule for a casting that is warm through, and less than an oven swings (a
 * forced-draught oven is to hold +/- 2 C, FED-STD-141D method 4061.3). A part never gets there altogether. */
#define BAKE_CLOSE_C 1.0

/* ---- the law of a bake: rows of their own, never stretched ---- */

/* Rows in any order. NAN for the limits: what bake_law_make() takes then. */
struct bake_terms {
    unsigned rows;
    struct cure_row row[MATERIAL_BAKE_ROWS_MAX];
    double doubling_c; /* class default, for what is hotter than the hottest row of a bake that has had too much */
    double too_hot_c;  /* of the part: from here on the coat is ruined whatever the time */
    double too_long;   /* in bakes: at twice the time that its rows ask for this is 2 */
};

/* Where nothing better is known; both are ours, and common practice at best. Published schedules of one and the same black
 * japan go from 2 h to "4 h or more", so twice the time is where a person should look rather than where a coat is lost. */
#define BAKE_TOO_HOT_ABOVE_C 15.0 /* above the hottest row */
#define BAKE_TOO_LONG 2.0
extern const char bake_too_hot_source[];
extern const char bake_too_long_source[];
extern const char bake_label_source[]; /* of either, where its label gives it */

struct bake_law {
    struct law done;  /* the safe side of an opening: hotter than the hottest row counts as that row */
    struct law worn;  /* of a closing: hotter still keeps shortening */
    double needed_h;  /* at the first row, for both */
    double coldest_c, hottest_c; /* of the rows. Colder than the coldest (by more than BAKE_CLOSE_C) counts as nothing, for both */
    double too_hot_c, too_long;
    bool too_hot_given, too_long_given; /* by the material: else the two above */
};

/* What a limit of the law rests on; never NULL. */
const char *bake_law_hot_source(const struct bake_law *law);
const char *bake_law_long_source(const struct bake_law *law);

/* The bake rows of a material, and the limits that its label gives. COAT_BAD_VALUE, field "bake", where it has none. */
COAT_CHECKED enum coat_result bake_terms_of(const struct material *material, struct bake_terms *ret, struct coat_error *error);

/* Whether what a label prints as too hot and too long fits its bake rows. COAT_BAD_VALUE, fields "bake_limits.too_hot_c" (not above the
 * hottest row), "bake_limits.too_long" (a temperature without a time, one at which it does not bake or is ruined at once, no longer than
 * a bake there), "bake" (no rows, or none that can be used). A material without such limits passes whatever its rows. */
COAT_CHECKED enum coat_result bake_limits_check(const struct material *material, struct coat_error *error);

/* COAT_BAD_VALUE, field "bake": no rows, no usable hours or temperature, twice the same temperature, a hotter row that takes
 * longer. Fields "too_hot_c" (not above the hottest row), "too_long" (not above 1). */
COAT_CHECKED enum coat_result bake_law_make(const struct bake_terms *terms, struct bake_law *ret, struct coat_error *error);

/* Minutes that the bake asks of a part that stands at part_c: of "done"; INFINITY where that never comes. */
double bake_minutes_at(const struct bake_law *law, double part_c);

struct bake_step;
/* How many bakes the holds of a programme are by themselves, worn as closings count: the least that the quickest part gets. */
double bake_holds(const struct bake_law *law, const struct bake_step *step, unsigned steps);

/* COAT_OUT_OF_RANGE, field "oven_c", where an oven that is to be as hot as that is colder than the coldest row: nobody bakes by the
 * BAKE_CLOSE_C that a part may lack. */
COAT_CHECKED enum coat_result bake_gets_there(const struct bake_law *law, double oven_c, struct coat_error *error);

/* ---- a bake as it was ---- */

struct bake_track {
    double part_c;    /* now */
    double hottest_c; /* so far */
    double progress;  /* 1 is done, or baked once over */
};

/* `sure` is the least that the part had: the coldest that it can have been wherever the oven was not known; its progress is of
 * "done". `most` is the most: the hottest; its progress is of "worn", against too_long. While all of it is known both have the
 * same temperatures. */
struct bake_member {
    double time_constant_min;
    struct bake_track sure, most;
};
enum { BAKE_QUICK, BAKE_LIKELY, BAKE_SLOW, BAKE_MEMBERS };

struct bake_run {
    struct bake_member member[BAKE_MEMBERS];
    double known_min, assumed_min, unknown_min; /* how long so far: the oven read, as its programme has it, not known */
    double oven_c;                 /* as last known; NAN before the first stretch and after an unknown one */
    double oven_hottest_c;         /* as known; NAN likewise */
    bool most_known;               /* false: how hot the oven may have been is not known, and so is too much */
};

/* Begins with the part at start_c. For a probe on the metal lag is {0, 0, 0}. */
void bake_run_begin(const struct bake_range *lag_min, double start_c, struct bake_run *ret);

/* From here on with another lag: a bake followed by its probe needs that of its body for what is to come (bake_ahead). */
void bake_run_set_lag(struct bake_run *run, const struct bake_range *lag_min);

/* On by a stretch of known oven. Nothing happens in no minutes, nor by an oven that is no number. */
void bake_run_stretch(struct bake_run *run, const struct bake_law *law, const struct bake_stretch *oven);

/* On by minutes of which nothing is known (the power was cut, nobody looked). For "done" none of it counts, and the part is as
 * cold as the room from then on, as if it had been taken out at once. For "too much" the oven was oven_most_c hot all along:
 * what its cut-out allows, or the most that it may have been; NAN: as hot as it was known to be. */
void bake_run_unknown(struct bake_run *run, const struct bake_law *law, double minutes, double room_c, double oven_most_c);

/* On from from_ms to to_ms by readings of the oven (or the probe), in order of time: neighbours at most the earlier one's hold
 * apart, and never more than BAKE_JOIN_MOST_MIN, are joined by straight lines; all else is unknown. Nothing is held beyond the last reading:
 * an oven whose power is cut says nothing. Give the last one at or before from_ms as well. With readings up to a power cut
 * alone, what comes after is one bake_run_unknown(). A bake of 6 h read every 10 s takes some 2 ms: keep the run and go on from it. */
#define BAKE_JOIN_MOST_MIN 30.0 /* an oven cools and heats up again in less time than the air of a room (common practice; ours) */
void bake_run_readings(struct bake_run *run, const struct bake_law *law, const struct reading *r, size_t n, int64_t from_ms,
                       int64_t to_ms, double room_c, double oven_most_c);

/* On along a programme's points from from_min to to_min (0 <= from < to), of an oven that nobody reads: taken to do as it was told, and
 * told as assumed. Up to the last moment that it is known to have run; what comes after is bake_run_unknown(). */
struct bake_point;
void bake_run_points(struct bake_run *run, const struct bake_law *law, const struct bake_point *point, unsigned points,
                     double from_min, double to_min);

/* What can be said of the soak: the least of the three for done, the most for too much, and their hottest. worn is INFINITY
 * where the most is not known. */
double bake_done(const struct bake_run *run);
double bake_worn(const struct bake_run *run);
double bake_hottest_c(const struct bake_run *run);
struct bake_range bake_part_c(const struct bake_run *run); /* `sure`, now */

/* What has become too much. */
enum bake_excess bake_excess(const struct bake_run *run, const struct bake_law *law); /* the worse of the two */

/* ---- a bake to come ---- */

/* The oven at a moment; straight lines between, two at one moment for a jump; the last one stays for ever. */
struct bake_point {
    double at_min;
    double oven_c;
};

/* Up or down to target_c in ramp_min (0: at once, an oven that was hot already), then hold_min from when the PART is there. */
struct bake_step {
    double target_c, ramp_min, hold_min;
};
#define BAKE_STEPS_MAX 12
#define BAKE_POINTS_MAX (3 * BAKE_STEPS_MAX + 1)

struct bake_programme {
    unsigned points;
    struct bake_point point[BAKE_POINTS_MAX];
    unsigned steps;
    struct bake_range there_min[BAKE_STEPS_MAX]; /* when the part is at each step's target; the slow one decides when the hold begins */
    double ends_min[BAKE_STEPS_MAX];             /* when each step's hold is over */
    double end_min;                              /* of the last hold */
    double peak_c;                               /* hottest target */
};

#define BAKE_OVEN_MOST_C 500.0 /* hotter is no oven for a finish: an error, not a limit of anything */

/* From a part as the run has it now, in an oven at oven_c. COAT_BAD_VALUE, field "steps", "steps.N.target_c", "steps.N.ramp_min"
 * or "steps.N.hold_min" (N from 0): no or too many steps, a target outside 0 to BAKE_OVEN_MOST_C, minutes below 0 or above
 * BAKE_STEP_MOST_MIN. */
#define BAKE_STEP_MOST_MIN (7.0 * 24.0 * 60.0)
COAT_CHECKED enum coat_result bake_programme_make(const struct bake_step *step, unsigned steps, const struct bake_run *run,
                                                  double oven_c, struct bake_programme *ret, struct coat_error *error);

/* The oven at a moment of its points, after a jump that falls there. */
double bake_points_oven_c(const struct bake_point *point, unsigned points, double at_min);

/* What is left of the points from at_min on, which becomes 0; ret has room for points + 1, and may not be `point`. Returns how many. Where
 * the oven was read just now, put that into the first: an oven that lags its programme then follows a line from where it is. */
unsigned bake_points_rest(const struct bake_point *point, unsigned points, double at_min, struct bake_point *ret);

/* Minutes from now; INFINITY for what never comes, 0 for what is so already. */
struct bake_ahead {
    struct bake_range done_min; /* earliest, likely, latest: the first, the middle and the last of the three to be done */
    double turn_down_min;       /* when the heat may go: done_min.slow, the last of them; a programme that holds longer goes on to its end_min */
    double too_long_min;        /* earliest that too_long is reached while the oven stays on; 0 where it cannot be told. Before turn_down_min: the range is too
                                   wide for this bake, and a probe on the metal narrows it */
    double too_hot_min;         /* earliest that the part is at too_hot_c */
    double hottest_c;           /* of the part, at most, until the oven stands still */
};

/* From the run as it is now. `point` rises in time from 0; points >= 1. */
void bake_ahead(const struct bake_run *run, const struct bake_law *law, const struct bake_point *point, unsigned points,
                struct bake_ahead *ret);

/* ---- out of the oven ---- */

/* A bare metal that a hand holds for long: the lowest of the burn thresholds. The source says more. */
#define BAKE_TOUCH_C 43.0
extern const char bake_touch_source[];

/* Minutes in the room's air until the part is at to_c. From the run's hottest (`most`) part; `lag` is that of the same body in
 * OVEN_AIR_ROOM, also where the bake had a probe. Tell the slow end: in a shut oven it takes longer still, by how much is not
 * known. To tell it before the bake: bake_run_points() a copy of the run up to turn_down_min. 0 where it is that cool already.
 * COAT_OUT_OF_RANGE, field "room_c", where the room is not cooler than to_c. */
COAT_CHECKED enum coat_result bake_cool(const struct bake_run *run, const struct bake_range *lag_min, double room_c, double to_c,
                                        struct bake_range *ret_min, struct coat_error *error);

/* ---- the review: may it go in ---- */

struct bake_question {
    const char *question; /* in plain words, to be answered yes or no */
    enum answer must;     /* the answer that it takes */
    bool safety;          /* of people and the house; else of the finish alone */
    const char *refusal;  /* what is said where it is not so */
    const char *source;
};
const struct bake_question *bake_question(enum bake_item item); /* never NULL; a code from nowhere gets the last */

struct bake_harm {
    const char *thing;  /* "soft solder" */
    double temp_c;      /* from here on it suffers: the lowest of the sources */
    const char *what;   /* what happens: "melts" */
    bool safety;        /* it burns, bursts or gives off harmful fume, beside being ruined */
    enum basis basis;
    const char *source;
};
const struct bake_harm *bake_harm(enum bake_ruin ruin); /* never NULL, likewise */

/* An oven overshoots, and no two corners of it are equally hot: what comes within this of a limit counts as reaching it (common
 * practice; ours). Soft solder, 183 C, is refused from 168 C on. */
#define BAKE_MARGIN_C 15.0

/* How hot a coat that lies below may get: of one that is baked what its label calls too hot, or its hottest row and BAKE_TOO_HOT_ABOVE_C,
 * else what is said of its class. No margin comes off: a second coat may be baked like the first. */
struct bake_stands {
    double limit_c; /* hotter than this is refused; always known */
    bool ruins;     /* the limit itself is too hot */
    enum basis basis;
    const char *source;
};
struct bake_stands bake_stands(const struct material *material);

struct bake_earlier {
    const char *name; /* "red primer", for the text */
    double limit_c;   /* bake_stands(); NAN: not known, which refuses */
    const char *source; /* likewise, for the text */
    bool ruins;         /* likewise */
};
#define BAKE_EARLIER_MAX 32

struct bake_query {
    double peak_c;                         /* the hottest that the oven is meant to get; NAN: refused */
    double too_hot_c;                      /* of the finish, struct bake_law; NAN: not asked */
    bool too_hot_given;                    /* likewise: by its label */
    enum answer answer[BAKE_ITEM_COUNT];   /* unanswered refuses */
    enum answer on_piece[BAKE_RUIN_COUNT]; /* unanswered counts as "no" only where the piece was looked over; else that refuses */
    unsigned earlier;                      /* coats that lie below; those beyond BAKE_EARLIER_MAX refuse */
    struct bake_earlier coat[BAKE_EARLIER_MAX];
};

#define BAKE_REFUSAL_SIZE 320
struct bake_refusal {
    enum bake_refusal_kind kind;
    unsigned which;  /* enum bake_item, enum bake_ruin, or the number of the earlier coat; else 0 */
    bool safety;
    double limit_c;  /* what must not be reached; NAN for an item */
    char text[BAKE_REFUSAL_SIZE]; /* one or two sentences: why, with temperature and source */
};
#define BAKE_REFUSALS_MAX (BAKE_ITEM_COUNT + BAKE_RUIN_COUNT + BAKE_EARLIER_MAX + 2)

/* In order: the peak, items, things on the piece, earlier coats. count == 0: nothing that was asked speaks against it, which is not
 * to say that it is safe. */
struct bake_review {
    unsigned count;
    bool safety; /* one of them is of people and the house */
    struct bake_refusal refusal[BAKE_REFUSALS_MAX];
};
void bake_review(const struct bake_query *query, struct bake_review *ret);

#endif
