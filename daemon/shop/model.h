/* The inside of the living model, shared by the files of daemon/shop only.
 *
 * Facts stand in lists as the store gave them; what is computed from them stands beside (struct coat_clock) and can be thrown
 * away and made again at any time with the same result. */
#ifndef SHOP_MODEL_H
#define SHOP_MODEL_H

#include "coat/judge.h"
#include "coat/shop.h"
#include "coat/hours.h"
#include "daemon/shop/ledger.h"
#include "daemon/shop/list.h"
#include "daemon/store/store.h"

/* Where a piece hung: [from_ms, to_ms), the last one open-ended (INT64_MAX). place 0: nowhere. */
struct stay {
    struct place_air *air;
    int64_t from_ms, to_ms;
};

/* One boundary of one stage of one coat, as a mark on the clock of its law in the place where the piece hangs now. */
struct boundary_clock {
    enum stage stage;
    unsigned index;               /* of the boundary in its stage */
    enum span_do then;
    enum law_side side;
    size_t law;                   /* index into shop->laws */
    double hours;                 /* of the first row of its table */
    double needed;                /* growth of the law's integral, see law_hours_needed() */
    int64_t start_ms;             /* last pass for openings, first for closings */
    int64_t here_from_ms;         /* of the current stay: since when its ledger counts for it; MOMENT_NONE where it was reached before, or has no ledger */
    int64_t limit_at;             /* label floor (openings) or ceiling (closings); MOMENT_NONE */
    struct ledger *ledger;        /* of the current stay */
    bool heeds_rh;                /* humidity makes a difference to its law */
    bool by_hottest;              /* it is a plain time that each hotter reading brings forward: limit_at holds it, ledger is NULL */
    double carried;               /* growth in earlier stays, and what the piece's own surface adds or costs */
    double lagged;                /* the latter alone, see lag.h */
    int64_t warm_at;              /* when the piece, carried to its last stay, is through by the air as it is known; MOMENT_NONE where it does not lag */
    double target;                /* value of the ledger at which the boundary is reached */
    int64_t passed_at;            /* crossing that lies in known history; MOMENT_NONE while pending */
    double assumed_h;             /* of assumed air up to passed_at; NAN until asked for */
};

/* The next moment after from_ms at which a label's limit, or the lead before a closing one, comes; see turn.c. */
struct limit_watch {
    bool known;
    int64_t lead_ms, from_ms, next_ms;
};

/* What is computed for a coat. */
struct coat_clock {
    enum coat_status status;
    int64_t covered_by;
    int64_t ended_at;
    unsigned boundaries;
    struct boundary_clock *boundary; /* by stage, then index */
    bool dirty;                   /* facts behind it changed since the last turn */
    bool look;                    /* wanted by the step of the turn that runs */
    double k;                     /* the multiplier that its boundaries were made with */
    double film, film_under;      /* its own over the reference; and see struct coat_view */
    double air_temp_c, air_rh_pct;/* at the last pass; NAN where not known */
    enum air_basis air_basis;
    enum inspect inspect;         /* as it was found last */
    bool inspect_settled;         /* nothing changes it any more */
    int64_t heat_closes_at;       /* latest closing by the hottest air; MOMENT_NONE where it has none */
    uint32_t state_mark;          /* what was told last: see turn.c */
    bool stall_told;              /* that it stands still is told, and stands */
    struct limit_watch limits;
    size_t first_notice, last_notice; /* of this coat: index + 1 into shop->notices, 0 where it has none; shop->notice_next ties them */
    uint32_t stamp;               /* grows when the boundaries are made again; marks with another stamp are void */
};

/* What is computed for a mix. */
enum mix_news { MIX_READY, MIX_POT_LIFE, MIX_CORRECTION, MIX_NEWS_COUNT };
struct mix_clock {
    int64_t ready_at, use_by_at;  /* see struct mix_view */
    int64_t over_at;              /* from then on it is of no use */
    int64_t lead_ms;              /* how long before its end that is told */
    bool settled;                 /* over, and all of it told: time changes nothing in it any more */
    unsigned state_mark;          /* what was told last */
    size_t notice[MIX_NEWS_COUNT];/* the newest of each kind: index + 1 into shop->notices; 0 where there is none */
};

enum sensor_news { SENSOR_NEWS_FAULT, SENSOR_NEWS_DISAGREE, SENSOR_NEWS_COUNT };
/* What is known of a sensor beside its facts. */
struct sensor_clock {
    int64_t sensor_id;            /* whose it is: the list is sorted anew when a sensor comes */
    bool judging;                 /* the judge has seen the record */
    struct judge judge;
    int64_t last_at;              /* of its last reading that counts; MOMENT_NONE */
    int32_t milli[AIR_QUANTITY_COUNT]; /* what it said last of each, unadjusted; READING_NONE */
    int64_t said_at[AIR_QUANTITY_COUNT];
    enum judgement suspect;       /* of the last one that did not count; good: none */
    int64_t suspect_at;
    char fault[NOTE_SIZE];        /* as its source told; empty: none */
    int64_t fault_at;
    bool news;                    /* its fault came or went since the last turn */
    size_t notice[SENSOR_NEWS_COUNT]; /* index + 1 of its newest notice of each kind; 0 */
};

/* What is known of a channel beside its facts. */
struct channel_clock {
    size_t clear_below;           /* of the notices before this index none is to be sent there any more */
    size_t delivered;
    int64_t delivered_at;         /* the last; MOMENT_NONE */
    int64_t failing_since_at;     /* see struct channel_view */
    char answer[TRY_ANSWER_SIZE];
};

struct shop {
    struct store *store;
    struct shop_settings settings;
    LIST(struct place) places;
    LIST(struct piece) pieces;
    LIST(struct rack) racks;
    LIST(struct move) moves;                    /* by piece, at, id */
    LIST(struct material_version) materials;    /* by material, version */
    LIST(bool) material_removed;                /* parallel to materials */
    LIST(struct coat) coats;                    /* newest entries, by number */
    LIST(struct coat_clock) clocks;             /* parallel to coats */
    LIST(struct sanding) sandings;
    LIST(struct stripping) strippings;
    LIST(struct bench_test) bench_tests;        /* by id */
    LIST(struct tin) tins;
    LIST(struct sensor) sensors;                /* by place, by hand last, position, id; removed ones too, imports under way not */
    LIST(struct sensor_clock) sensor_clocks;    /* parallel to sensors */
    LIST(struct adjustment) adjustments;        /* by sensor, quantity, from_at, id */
    LIST(struct heating) heatings;              /* by id */
    LIST(size_t) place_notices;                 /* parallel to places: index + 1 of its newest notice of its own; 0 */
    LIST(struct sensor) imports;                /* under way */
    LIST(int64_t) imports_left;                 /* ids of those that a client began before the start and never finished: nobody sees them, and they are dropped */
    LIST(struct mix) mixes;
    LIST(struct mix_clock) mix_clocks;          /* parallel to mixes */
    LIST(struct solvent_release) releases;      /* by id */
    LIST(struct piece_note) piece_notes;        /* by id */
    LIST(struct photo) photos;                  /* by id */
    LIST(struct bake) bakes;                    /* by id; so the next four */
    LIST(struct bake_part) bake_parts;
    LIST(struct bake_hold) bake_holds;
    LIST(struct bake_answer) bake_answers;
    LIST(struct bake_gap) bake_gaps;
    LIST(uint32_t) bake_marks;                  /* parallel to bakes: the state that was told last, and 1; 0: none */
    int64_t bake_seen_at;                       /* the last moment that it ran while an oven was hot that nobody reads, as recorded; MOMENT_NONE */
    int64_t bake_ran_at;                        /* likewise, recorded or not, of this run alone */
    LIST(struct notice) notices;                /* by id */
    LIST(size_t) notice_next;                   /* parallel to notices: index + 1 of the coat's next one, 0 after its last */
    LIST(size_t) group_next;                    /* likewise: of the next one of its group */
    LIST(size_t) untold;                        /* index + 1 of those that stand for a group that is held back or gathering */
    LIST(struct channel) channels;              /* by id; removed ones too */
    LIST(struct channel_clock) channel_clocks;  /* parallel to channels */
    LIST(struct delivery) deliveries;           /* by notice, channel */
    LIST(struct material_lead) leads;           /* by material */
    unsigned char link_key[LINK_KEY_SIZE];
    int64_t (*zone_offset_ms)(const char *zone, int64_t at_ms); /* NULL: UTC */
    LIST(struct law) laws;                      /* each shape once */
    LIST(struct learned_k) learned;             /* materials first, then tins */
    LIST(struct place_air *) airs;              /* one a place, [0] is "nowhere" (place 0) */
    LIST(struct list_row) rows;                 /* the answer of shop_lists */
    int64_t base_day;                           /* the ledgers count from here: shortly before the earliest coat */
    int64_t morning_seen;                       /* the last morning whose list was told or not wanted; MOMENT_NONE after a start */
    int64_t spray_looked_at;                    /* when the hours to come were looked at last; MOMENT_NONE */
    int64_t turned_at;                          /* all that was due up to here is told */
    bool change_untold;                         /* a state is other than the last revision tells: its turn could not be recorded */
    int64_t ahead_until;                        /* the last moment that the record tells of as past though the clock was set back since; MOMENT_NONE */
    int64_t told_floor;                         /* moments of telling never fall behind this one: who follows them, and what channels get, goes by their order */
    int64_t told_floor_id;                      /* the highest number that was told at it: below it nothing more is told at that moment; 0: none was */
};

/* ---- load.c ---- */
struct place_air *shop_air_of(const struct shop *shop, int64_t place_id); /* never NULL: unknown places are "nowhere" */
size_t shop_coat_index(const struct shop *shop, int64_t coat_id);         /* SIZE_MAX where there is none */

/* After facts changed in the lists (the commit is done): make what is computed again. They fail only for want of memory or when
 * the store cannot be read; the daemon then has to start anew, since the facts are safe and the model is not. */
COAT_CHECKED enum coat_result model_piece_changed(struct shop *shop, int64_t piece_id);  /* coats, moves, strippings, sandings, tests of it */
COAT_CHECKED enum coat_result model_air_added(struct shop *shop, int64_t sensor_id, const struct reading *readings, size_t count); /* sorted, stored */
/* The sensors of a place, their order, adjustments or holds changed; the air from from_ms on with them. */
COAT_CHECKED enum coat_result model_sensors_changed(struct shop *shop, int64_t place_id, int64_t from_ms);
COAT_CHECKED enum coat_result model_place_added(struct shop *shop, int64_t place_id);
COAT_CHECKED enum coat_result model_mix_added(struct shop *shop);                         /* the last one of the list */

/* ---- coat_clock.c ---- */
/* Where the law stands in shop->laws; put there where it is new. */
COAT_CHECKED enum coat_result shop_law_index(struct shop *shop, const struct law *law, size_t *ret_index);
/* Makes what is computed for a coat anew: its boundaries, then where they lie. Of many coats all are begun before the first is placed,
 * so that the air is added up once for all of them. */
COAT_CHECKED enum coat_result coat_clock_begin(struct shop *shop, size_t coat_index);
COAT_CHECKED enum coat_result coat_clock_place(struct shop *shop, size_t coat_index);
/* Places its closings by the hottest air again, after a reading that is later than all before. */
COAT_CHECKED enum coat_result coat_clock_follow_heat(struct shop *shop, size_t coat_index);
void coat_clock_free(struct coat_clock *clock);
/* When the boundary comes if no fact comes any more: max with the floor, min with the ceiling; MOMENT_NONE: never. */
int64_t boundary_due(const struct boundary_clock *boundary);
/* Keeps a moment to the label: an opening not before its floor, a closing not after its ceiling; an opening that never comes stays so. */
int64_t boundary_limited(const struct boundary_clock *boundary, int64_t at);
/* Whether at at_ms it is pending and the air that it rests on is assumed. */
bool boundary_is_assumed(const struct boundary_clock *boundary, int64_t at_ms);
/* The first boundary of a stage that is an opening; NULL where it has none. */
struct boundary_clock *clock_first_opening(const struct coat_clock *clock, enum stage stage);
/* Film of which a boundary takes account: its own, and for what dries through those below that are not dry through yet. */
double boundary_film(const struct coat_clock *clock, const struct boundary_clock *boundary);

/* How far the first opening of a stage had come at at_ms: growth of its law, and what it needs with k = 1. false: the coat has no such
 * stage, or nothing opens in it. */
struct stage_growth {
    double grown, needed, assumed_h, hours;
};
bool coat_stage_growth(struct shop *shop, size_t coat_index, enum stage stage, int64_t at_ms, struct stage_growth *ret);
/* The coats of a piece (0: of all), those that lie lower first; the caller frees *ret. */
COAT_CHECKED enum coat_result coats_from_below(const struct shop *shop, int64_t piece_id, size_t **ret, size_t *ret_count);

/* ---- stays.c ---- */
/* The stays of a piece from start_ms on, the last one open-ended; at most STAYS_MAX, the newest kept. Returns how many. */
#define STAYS_MAX 64
unsigned coat_stays(const struct shop *shop, int64_t piece_id, int64_t start_ms, struct stay stays[STAYS_MAX]);
/* The same, cut off at to_ms: none where that is not after from_ms. */
unsigned stays_until(const struct shop *shop, int64_t piece_id, int64_t from_ms, int64_t to_ms, struct stay stays[STAYS_MAX]);
/* What the ledgers that `pick` finds in each place grew by while the piece hung there. */
typedef enum coat_result (*ledger_pick)(struct place_air *air, const void *what, struct ledger **ret);
COAT_CHECKED enum coat_result piece_ledger_sum(const struct shop *shop, int64_t piece_id, int64_t from_ms, int64_t to_ms,
                                               ledger_pick pick, const void *what, double *ret);
/* Hours of assumed air among them; NAN where the store cannot be read. */
double piece_assumed_hours(const struct shop *shop, int64_t piece_id, bool heeds_rh, int64_t from_ms, int64_t to_ms);
/* The air that the piece had, as history_walk gives it. A visitor that stops, stops in its place only. */
COAT_CHECKED enum coat_result piece_air_walk(const struct shop *shop, int64_t piece_id, int64_t from_ms, int64_t to_ms,
                                             enum law_side side, history_visitor visit, void *context);

/* ---- sensors.c ---- */
COAT_CHECKED enum coat_result sensors_load(struct shop *shop);
/* Drops shop->imports_left, in a transaction of its own. */
COAT_CHECKED enum coat_result imports_forget(struct shop *shop);
/* Adds, replaces or takes out by id, keeping the list sorted; false where there is no memory. */
bool sensors_put(struct shop *shop, const struct sensor *sensor);
/* The sensors of a place as its air counts them, readings of removed ones too; returns how many of at most MERGE_SOURCES_MAX. */
unsigned sensors_as_sources(const struct shop *shop, int64_t place_id, struct merge_source ret[MERGE_SOURCES_MAX]);
struct sensor_clock *sensor_clock_of(const struct shop *shop, int64_t sensor_id); /* NULL */
/* The one for air entered by hand in a place, within a transaction; *ret_new: it was made. */
COAT_CHECKED enum coat_result sensor_by_hand(struct shop *shop, int64_t place_id, struct sensor *ret);

/* ---- status.c ---- */
/* Order in which coats lie on each other: by first pass, then number. */
bool coat_lies_over(const struct coat *upper, const struct coat *lower);
/* Whether coats of these areas touch: one of them is on the whole piece, or both on the same area. */
bool areas_touch(const char *one, const char *other);
/* Sets status, covered_by and ended_at of all coats of the piece. */
void piece_settle_status(struct shop *shop, int64_t piece_id);

/* ---- mix.c ---- */
/* Works out when a mix is ready and over, in the air as it is known. */
COAT_CHECKED enum coat_result mix_clock_make(struct shop *shop, size_t mix_index);
/* Says which air all mixes will ask for. */
COAT_CHECKED enum coat_result mixes_want(struct shop *shop);
/* Whether it has a moment after since_ms, or one that is not known. */
bool mix_rests_on(const struct mix_clock *clock, int64_t since_ms);
/* The next moment after from_ms at which a mix changes; MOMENT_NONE. */
int64_t mixes_next_due(const struct shop *shop, int64_t from_ms);
/* Up to at_ms all is told: those that are over by then need no further look. */
void mixes_settle(struct shop *shop, int64_t at_ms);

/* ---- outbox.c ---- */
COAT_CHECKED enum coat_result channels_load(struct shop *shop);
/* Puts a channel of a new id at the end, or in place of the one of its id. There must be room for one more. */
void channels_put(struct shop *shop, const struct channel *channel);

/* ---- hours of the shop (shop_hours.c) ---- */
struct local_zone shop_zone(const struct shop *shop);
struct day_hours shop_quiet_hours(const struct shop *shop);
/* The lead before the end of a window of a coat: its material's own, or the shop's. */
int64_t coat_lead_ms(const struct shop *shop, const struct coat *coat);
/* The longest that a closing may be told ahead: of all leads, and over quiet hours. */
int64_t shop_longest_lead_ms(const struct shop *shop);
/* When the end of a window at closes_at is told; see closing_told_at(). */
int64_t coat_closing_told_at(const struct shop *shop, const struct coat *coat, int64_t closes_at);
/* "21:40", or "Tue 21:40" where that is on another day than now_ms; returns text. */
#define LOCAL_TEXT_SIZE 16
char *shop_local_text(const struct shop *shop, int64_t at_ms, int64_t now_ms, char text[LOCAL_TEXT_SIZE]);

/* ---- turn.c ---- */
/* After a write: lets what is due be told. The write itself is safe; what could not be told is tried again at the next turn. */
void shop_after_write(struct shop *shop, int64_t now_ms);

/* ---- write.c ---- */
COAT_CHECKED enum coat_result write_begin(struct shop *shop, struct coat_error *error);
/* Stores the answer of the key, bumps the revision and commits; rolls back on failure. */
COAT_CHECKED enum coat_result write_commit(struct shop *shop, const struct shop_write *write, const int64_t *ids, unsigned count,
                                           struct coat_error *error);

#endif
