/* The air of one place, and the cure clocks that run on it.
 *
 * A ledger is the running integral C(t) of one rate over the air of one place, for any t: whole days before the last
 * reading are added up once and kept as a prefix sum, the open day runs on with each reading, and after the last reading the tail
 * of the gap rules (held, then assumed) goes on for ever. C starts at 0 at the first moment of base_day.
 *
 * The sums are made in one order whether readings came one by one or all at once, so both give the same bits. */
#ifndef SHOP_LEDGER_H
#define SHOP_LEDGER_H

#include "coat/history.h"
#include "coat/law.h"
#include "coat/merge.h"
#include "coat/moment.h"
#include "coat/result.h"

#include <stddef.h>
#include <stdint.h>

struct store;
struct air_days;
struct outlook;
struct outlook_growth;

enum ledger_kind {
    LEDGER_LAW,       /* the integral of a law */
    LEDGER_ASSUMED_H, /* hours of assumed temperature; of assumed humidity as well where `heeds_rh` */
    LEDGER_OUTSIDE_H  /* hours of measured air outside the limits of a material */
};

struct air_limits { /* NAN where there is none */
    double min_temp_c, max_temp_c, max_rh_pct;
};

struct mark { /* a boundary that waits for the ledger to reach a value */
    double target;
    uint32_t coat_index, boundary_index, stamp;
};

/* Answers about the history of a ledger: coats that were put on together ask the same. They hold until readings before the anchor change. */
#define LEDGER_ANSWERS 8
struct ledger_answers {
    struct {
        int64_t at_ms;
        double value;
    } item[LEDGER_ANSWERS];
    unsigned count, next;     /* `next` goes for the next one */
};

struct ledger {
    enum ledger_kind kind;
    struct law law;           /* LEDGER_LAW */
    size_t law_index;
    struct air_limits limits; /* LEDGER_OUTSIDE_H */
    bool heeds_rh;            /* LEDGER_ASSUMED_H */
    struct place_air *air;
    double *prefix;           /* prefix[i]: C at the start of day base_day + i; settled + 1 of them */
    size_t settled, capacity; /* whole days that are added up */
    double open_sum;          /* growth from the start of the first unsettled day to anchor_ms */
    int64_t before_ms;        /* the anchor before the last reading, or the start of the open day where that is later */
    double before_sum;        /* open_sum then */
    bool unsettled;           /* its days are to be added up before the next question */
    int64_t anchor_ms;        /* last reading, or the start of base_day where that is later or there is none */
    double anchor_value;      /* C there */
    double hold_rate, assumed_rate; /* per hour after the anchor: while held, then */
    double day_rate;          /* mean of the 24 h up to the anchor; NAN until asked for */
    struct ledger_answers values, moments; /* of ledger_value(), and of ledger_when() */
    struct outlook_growth *growth; /* of this law in the air to come; NULL until asked for, see forecast.h */
    unsigned growth_of;       /* outlook_made of the outlook that it is for */
    struct still *still;      /* of openings: where it stood still up to the anchor, in order; of those before the last only what lasted an hour */
    size_t stills, stills_capacity;
    struct mark *heap;        /* least target first */
    size_t marks, marks_capacity;
};

struct place_air {
    struct store *store;
    int64_t place_id;         /* 0: nowhere, no readings */
    int64_t base_day;
    struct merge_source source[MERGE_SOURCES_MAX]; /* its sensors, in the order in which they count */
    unsigned sources;
    struct air_days **days;   /* of each source, MERGE_SOURCES_MAX of them: what is at hand of its readings; NULL where that is nothing */
    struct merge merge;       /* as of the last reading */
    int64_t newest_at;        /* of any of its sensors, whether it counts or not; MOMENT_NONE */
    int64_t last_at;          /* of the readings that count; MOMENT_NONE where there is none */
    int64_t touched_until;    /* latest moment at which a coat's account begins or ends here: while that lies after the last
                                 reading it rests on the tail, and the next reading makes those coats anew */
    struct reading *recent;   /* from two days before the start of the last reading's day or so, to the last */
    size_t recent_count, recent_capacity;
    struct history_memory recent_memory, day_memory; /* of walks over `recent` and over `day` */
    struct air_assumption assumption; /* after the last reading's hold */
    struct ledger **ledger;
    size_t ledgers, ledgers_capacity;
    struct reading *day;      /* readings around the day looked at last */
    size_t day_count, day_capacity;
    int64_t day_cached;       /* that day, MOMENT_NONE */
    bool (*is_heated)(const void *shop, int64_t place_id, int64_t at_ms); /* as the record tells it; NULL: never */
    const void *shop;
    struct outlook *outlook;  /* NULL until asked for, see forecast.h */
    int64_t outlook_at;       /* last_at that it was made for; MOMENT_NONE where it has to be made */
    unsigned outlook_made;    /* counts the outlooks */
};

COAT_CHECKED enum coat_result place_air_open(struct store *store, int64_t place_id, int64_t base_day, const struct merge_source *sources,
                                             unsigned count, struct place_air **ret);
void place_air_close(struct place_air *air);
/* Other sensors, another order, other adjustments or holds: from from_ms on all is read again. */
COAT_CHECKED enum coat_result place_air_set_sources(struct place_air *air, const struct merge_source *sources, unsigned count, int64_t from_ms);
/* Where the sensor stands among the sources; `sources` where it is none of them. */
unsigned place_air_source(const struct place_air *air, int64_t sensor_id);

/* New readings of one source, in order, all later than newest_at, already stored. *ret_counts: at least one of them counts. */
COAT_CHECKED enum coat_result place_air_append(struct place_air *air, unsigned source, const struct reading *readings, size_t count, bool *ret_counts);
/* The same where some are not later than newest_at. */
COAT_CHECKED enum coat_result place_air_late(struct place_air *air, unsigned source, const struct reading *readings, size_t count);

/* Says that a ledger will be asked for. What is wanted together is added up together, at the first question. */
COAT_CHECKED enum coat_result place_air_want_law(struct place_air *air, const struct law *law, size_t law_index);
COAT_CHECKED enum coat_result place_air_want_hours(struct place_air *air, const struct air_limits *limits); /* assumed, and outside them */
/* The ledger of a law, of the assumed hours, or of limits; made on first use. */
COAT_CHECKED enum coat_result place_air_ledger(struct place_air *air, const struct law *law, size_t law_index, struct ledger **ret);
COAT_CHECKED enum coat_result place_air_assumed(struct place_air *air, bool heeds_rh, struct ledger **ret);
COAT_CHECKED enum coat_result place_air_outside(struct place_air *air, const struct air_limits *limits, struct ledger **ret);

/* C(at_ms); 0 before base_day. */
COAT_CHECKED enum coat_result ledger_value(struct ledger *ledger, int64_t at_ms, double *ret);
/* The moment at which C reaches `target`, in history or in the tail; MOMENT_NONE where the tail never gets there. */
COAT_CHECKED enum coat_result ledger_when(struct ledger *ledger, double target, int64_t *ret_ms);
/* What was asked of its history is reckoned again when it is asked the next time: no answer changes by it. */
void ledger_forget_answers(struct ledger *ledger);
/* The same in the tail only (target > anchor_value), never fails; and for a steady rate from the anchor on. */
int64_t ledger_tail_when(const struct ledger *ledger, double target);
int64_t ledger_steady_when(const struct ledger *ledger, double target, double rate_per_h);
/* Since when, looking back at most a day from the last reading, the law has stood still in the air as it is taken to be at now_ms;
 * MOMENT_NONE where it moves, where nothing is known, or for longer than that. */
int64_t ledger_stalled_since(const struct ledger *ledger, int64_t now_ms);
/* Mean rate of the last 24 h before the last reading; the held rate where there is less than a day. */
COAT_CHECKED enum coat_result ledger_day_rate(struct ledger *ledger, double *ret_per_h);

/* The air at a moment as openings count it, from at_ms to the end of the step; NAN where nothing is known. */
COAT_CHECKED enum coat_result place_air_at(struct place_air *air, int64_t at_ms, struct air_step *ret);

/* The air from from_ms to to_ms, as history_walk gives it. */
COAT_CHECKED enum coat_result place_air_walk(struct place_air *air, int64_t from_ms, int64_t to_ms, enum law_side side,
                                             history_visitor visit, void *context);

/* ---- air_read.c ---- */
/* What history_walk needs for [from_ms, to_ms), as the sensors together tell it, into a buffer that grows with realloc; *merge is left as of its end. */
COAT_CHECKED enum coat_result place_air_read(const struct place_air *air, int64_t from_ms, int64_t to_ms, struct merge *merge,
                                             struct reading **readings, size_t *capacity, size_t *count);
/* The moment of the latest reading of any of its sensors at or before at_ms; MOMENT_NONE. */
COAT_CHECKED enum coat_result place_air_before(const struct place_air *air, int64_t at_ms, int64_t *ret_ms);

/* ---- air_days.c: readings at hand, so that the store need not be asked for the same days again; dropping them changes no answer ---- */
void place_air_forget(struct place_air *air, int64_t from_ms); /* those of the day of from_ms and later */
void place_air_forget_all(struct place_air *air);
/* As store_readings(), store_reading_before() and store_reading_after(), of one source of the place with its hold. */
COAT_CHECKED enum coat_result air_days_read(const struct place_air *air, unsigned source, int64_t from_ms, int64_t to_ms, struct reading **io_readings,
                                            size_t *io_capacity, size_t *io_count);
COAT_CHECKED enum coat_result air_days_before(const struct place_air *air, unsigned source, int64_t at_ms, int64_t *ret_ms);
COAT_CHECKED enum coat_result air_days_after(const struct place_air *air, unsigned source, int64_t at_ms, int64_t *ret_ms);
/* What the store has taken of a source, in order. */
void air_days_add(struct place_air *air, unsigned source, const struct reading *readings, size_t count);

/* ---- after the last reading ---- */
/* When the last reading's hold ends; MOMENT_NONE where there is none. */
int64_t place_air_hold_end(const struct place_air *air);
/* Whether nothing is held any more at at_ms. */
bool place_air_is_stale(const struct place_air *air, int64_t at_ms);
/* Whether the air is assumed at at_ms: no reading, or none that still holds; or it lacks the temperature, or the humidity where that is heeded. */
bool place_air_is_assumed(const struct place_air *air, bool heeds_rh, int64_t at_ms);
/* The air after the last reading, at at_ms, as a side counts it; see struct air_step. */
struct air_step place_air_tail(const struct place_air *air, enum law_side side, int64_t at_ms);

/* ---- still.c ---- */
/* A step of the air that the ledger was grown by; steps come in order. false: no memory. */
COAT_CHECKED bool ledger_note_still(struct ledger *ledger, const struct air_step *step, double growth);
/* What is told from from_ms on is void: the air there is added up anew. */
void ledger_forget_stills(struct ledger *ledger, int64_t from_ms);

/* ---- marks ---- */
COAT_CHECKED enum coat_result ledger_mark_add(struct ledger *ledger, struct mark mark);
/* Takes out the least mark if its target is at most `value`. */
bool ledger_mark_pop(struct ledger *ledger, double value, struct mark *ret);
/* Takes out all marks of a coat. */
void ledger_marks_drop(struct ledger *ledger, uint32_t coat_index);
/* Calls `each` for all marks that the tail reaches after from_ms and up to to_ms, in no order; with INT64_MAX also those that it never
 * reaches. Void marks (another stamp) are the caller's to tell. */
void ledger_marks_due(const struct ledger *ledger, int64_t from_ms, int64_t to_ms, void (*each)(const struct mark *, void *), void *context);
/* The next moment after at_ms at which the tail reaches a mark; MOMENT_NONE where it reaches no more. */
int64_t ledger_next_due(const struct ledger *ledger, int64_t at_ms);

/* ---- between place_air.c and ledger.c ---- */

#define DAYS_AT_ONCE 16 /* that are read from the store: about half a megabyte of minute readings */
/* Readings from from_ms to to_ms into air->day; and those of one day, where they are not there already. */
COAT_CHECKED enum coat_result place_air_read_days(struct place_air *air, int64_t from_ms, int64_t to_ms);
COAT_CHECKED enum coat_result place_air_load_day(struct place_air *air, int64_t day);
/* All ledgers go on from from_ms to the new last reading, closing the days that end on the way. */
COAT_CHECKED enum coat_result ledgers_advance(struct place_air *air, int64_t from_ms);
/* From that day on all is to be added up anew. */
void ledgers_unsettle(struct place_air *air, int64_t from_day);
/* Adds up the whole days that are not yet, and the open one, of all ledgers that want it: the readings are fetched once. */
COAT_CHECKED enum coat_result ledgers_settle(struct place_air *air);
void ledgers_free(struct place_air *air);

#endif
