/* Bakes in a shop: the review before one, a running one as its oven is read or programmed, and its end. What the arithmetic is stands in coat/bake.h.
 *
 * No figure is a design of an oven, and nothing here watches or switches one: a person stays with it. The label, the safety data sheet, local codes and
 * licensed practice decide. */
#ifndef COAT_SHOP_BAKE_H
#define COAT_SHOP_BAKE_H

#include "coat/bake.h"
#include "coat/shop.h"
#include "coat/vapour.h"

#define SHOP_BAKE_PARTS_MAX 12
/* An answer is good for so long: what was so yesterday is asked again (ours). */
#define BAKE_ANSWER_LASTS_MS (12 * MS_PER_H)
/* How late a start may be entered. */
#define BAKE_START_LATE_MS (30 * MS_PER_MIN)
/* An oven that nobody reads: further apart than this were two moments at which the service ran, and what it did between is not known. */
#define BAKE_GAP_MS (10 * MS_PER_MIN)
/* Nothing is looked for any more in a bake that was left running for so long. */
#define BAKE_FORGOTTEN_MS (2 * MS_PER_DAY)
#define BAKE_MOMENT_STEPS 16 /* see enum bake_moment */
/* Where nobody says how fast the oven gets hot (common practice; ours). An oven that is hot already is told as 0. */
#define BAKE_RAMP_DEFAULT_MIN 30.0
#define BAKE_ROOM_DEFAULT_C 20.0

/* ---- the vapour of a load ---- */
struct bake_vapour {
    bool known;                   /* each coat of the load has an amount, and its solvents are known */
    unsigned uncounted;           /* coats without an amount */
    double solvent_ml;            /* put on, of the coats that count */
    double retained_pct;          /* of it, what goes into the oven */
    const char *retained_source;
    double retained_ml;
    double hot_lel_pct;           /* of the vapour at the peak; NAN */
    double still_air_pct;         /* of that LEL, all of it in the oven's still air; NAN */
    double needs_m3h;             /* exhaust by the rate of batch ovens; NAN */
    double has_m3h;               /* what the exhaust counts for: half where it was not measured, none where it is not known */
    bool has_measured;
    double purge_min;             /* before heat: four volumes, 3 min at least; NAN where volume or exhaust is not known */
    bool enough;                  /* neither exceeds; never a word that it is safe */
};

/* ---- one part of the load ---- */
struct bake_part_view {
    const struct bake_part *part;
    const struct coat *coat;
    const struct material_version *material;
    struct bake_law law;
    bool probed;                  /* followed by the probe on its metal */
    struct bake_range lag_min;    /* 0 where it is probed */
    struct bake_range part_c;     /* that it has now: quick, likely, slow by the least, the hotter end by the most; NAN before the start */
    double hottest_c;             /* at most, so far */
    double done, worn;            /* by the least and the most; worn INFINITY: not known */
    enum bake_excess excess;
    int64_t done_earliest_at, done_likely_at, done_latest_at; /* as the oven goes on; MOMENT_NONE: never, or not known */
    int64_t too_long_at, too_hot_at; /* earliest; MOMENT_NONE: not in sight */
    int64_t cool_likely_at, cool_latest_at; /* to a hand, out of the oven; before the end: if it came out when it is done. MOMENT_NONE: not known */
    double left_too_long;         /* law.too_long - worn, at least 0 */
};

/* ---- the whole ---- */
struct bake_said {
    enum answer answer;           /* ANSWER_NONE: not answered, or so long ago that it counts no more */
    int64_t at;                   /* MOMENT_NONE */
};

#define SHOP_BAKE_REFUSALS_MAX (BAKE_REFUSALS_MAX + 4 * SHOP_BAKE_PARTS_MAX + 8)

struct bake_view {
    const struct bake *bake;
    const struct place *place;
    enum bake_state state;
    unsigned parts;
    struct bake_part_view part[SHOP_BAKE_PARTS_MAX];
    unsigned steps;
    struct bake_step step[BAKE_STEPS_MAX];
    struct bake_programme programme; /* of the part that lags most; minutes from begun_at */
    int64_t begun_at;             /* when the programme began: the start, or when it went on after a gap; MOMENT_NONE before */
    double peak_c;
    double room_c;
    bool room_known;
    enum oven_reading { OVEN_UNREAD, OVEN_BY_HAND, OVEN_READ } reading; /* the oven: taken to do as it was told, read now and then, by a sensor */
    double oven_c;                /* as read last, or by its programme; NAN */
    int64_t oven_at;              /* when it was read; MOMENT_NONE */
    double known_min, assumed_min, unknown_min;
    int64_t unread_since_at;      /* nothing came since, for longer than readings may be apart; MOMENT_NONE */
    const struct bake_gap *gap;   /* the one that nobody has closed; NULL */
    /* of all parts: the last to be done, the first to have too much */
    int64_t done_likely_at, turn_down_at, too_long_at, too_hot_at, cool_latest_at;
    bool baked;                   /* each is done, by the least that it had */
    /* the review; of one that was logged without, nothing */
    struct bake_said item[BAKE_ITEM_COUNT], thing[BAKE_RUIN_COUNT];
    struct bake_vapour vapour;
    unsigned refusals;
    struct bake_refusal refusal[SHOP_BAKE_REFUSALS_MAX]; /* those of people and the house first */
    bool refused_for_safety;
    struct caution_set cautions;
};

/* false where there is none. Large: 60 kB. */
bool shop_bake_view(struct shop *shop, int64_t bake_id, int64_t now_ms, struct bake_view *ret);
const struct bake *shop_bakes(const struct shop *shop, size_t *ret_count); /* by id */
const struct bake *shop_bake(const struct shop *shop, int64_t id); /* NULL where there is none */
extern const char shop_bake_deferral[];

/* ---- writes ---- */

struct bake_order {
    struct bake bake;             /* place_id, oven_air, retained_pct, room_c, note; of one to be logged also started_at and ended_at */
    unsigned parts;
    struct bake_part part[SHOP_BAKE_PARTS_MAX];
    unsigned steps;               /* 0: the coolest row of the first coat's material, for as long as it asks */
    struct bake_step step[BAKE_STEPS_MAX];
};

/* Begins a review. COAT_BAD_VALUE: a coat without bake rows, a part whose lag is not known ("parts.N.wall_mm"), steps; COAT_CONFLICT: a coat that was struck,
 * stripped, covered or baked already, an oven without a volume. mass_kg and wall_mm NAN: the piece's own. */
COAT_CHECKED enum coat_result shop_bake_check(struct shop *shop, const struct shop_write *write, const struct bake_order *order, int64_t *ret_id,
                                              struct coat_error *error);
/* Answers of a review that is not over; the newest counts. `about` is the word of an item or of a thing. */
#define BAKE_ANSWERS_MAX (BAKE_ITEM_COUNT + BAKE_RUIN_COUNT)
COAT_CHECKED enum coat_result shop_bake_answer(struct shop *shop, const struct shop_write *write, int64_t bake_id, const struct bake_answer *answers,
                                               size_t count, struct coat_error *error);
/* COAT_CONFLICT with the first refusals where anything speaks against it. At most BAKE_START_LATE_MS ago. */
COAT_CHECKED enum coat_result shop_bake_start(struct shop *shop, const struct shop_write *write, int64_t bake_id, int64_t at, struct coat_error *error);
/* Ends one that runs, or gives up a review. */
COAT_CHECKED enum coat_result shop_bake_stop(struct shop *shop, const struct shop_write *write, int64_t bake_id, int64_t at, const char *note,
                                             struct coat_error *error);
/* After a gap: the oven goes on, its programme from the beginning. */
COAT_CHECKED enum coat_result shop_bake_resume(struct shop *shop, const struct shop_write *write, int64_t bake_id, struct coat_error *error);
/* One already done, without a review. */
COAT_CHECKED enum coat_result shop_bake_log(struct shop *shop, const struct shop_write *write, const struct bake_order *order, int64_t *ret_id,
                                            struct coat_error *error);

#endif
