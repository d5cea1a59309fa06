/* The living model of a shop: facts in, states and moments out. It ties the arithmetic (core) to the store. One thread; no
 * function waits for anything but a commit. `now_ms` is shop time and is always a parameter.
 *
 * Every write checks first, then is one transaction (with the answer of its Idempotency-Key, and the revision), and the model changes
 * only after the commit; on failure nothing has changed and *error says why. Pointers to facts and views stay good until the next
 * write or turn. */
#ifndef COAT_SHOP_H
#define COAT_SHOP_H

#include "coat/caution.h"
#include "coat/facts.h"
#include "coat/history.h"
#include "coat/result.h"
#include "coat/view.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct shop;
struct store;

/* Takes the store over (shop_close closes it) and loads the model. */
COAT_CHECKED enum coat_result shop_open(struct store *store, int64_t now_ms, struct shop **ret, struct coat_error *error);
void shop_close(struct shop *shop); /* accepts NULL */

int64_t shop_revision(const struct shop *shop);

/* How local time is worked out (quiet hours, mornings): local less UTC in a zone at a moment. NULL, as at first: UTC. Call shop_turn afterwards. */
void shop_use_zone(struct shop *shop, int64_t (*zone_offset_ms)(const char *zone, int64_t at_ms));

/* Lets time pass: raises, in the order of their moments, all notices that are due up to now_ms, and bumps the revision where a state
 * changed. *ret_next_due_ms is the next moment at which something changes if no fact comes (MOMENT_NONE: nothing will). */
COAT_CHECKED enum coat_result shop_turn(struct shop *shop, int64_t now_ms, int64_t *ret_next_due_ms, struct coat_error *error);
/* Same answer without doing anything. */
int64_t shop_next_due(struct shop *shop);

/* ---- facts as they stand; arrays belong to the shop ---- */
const struct shop_settings *shop_settings_now(const struct shop *shop);
const struct place *shop_places(const struct shop *shop, size_t *ret_count);   /* removed ones too: look at removed_at */
const struct piece *shop_pieces(const struct shop *shop, size_t *ret_count);
const struct rack *shop_racks(const struct shop *shop, size_t *ret_count);
const struct move *shop_moves(const struct shop *shop, size_t *ret_count);     /* by piece, then at */
const struct material_version *shop_materials(const struct shop *shop, size_t *ret_count); /* all versions, by material, version */
const struct coat *shop_coats(const struct shop *shop, size_t *ret_count);     /* newest entries, by number */
const struct sanding *shop_sandings(const struct shop *shop, size_t *ret_count);
const struct stripping *shop_strippings(const struct shop *shop, size_t *ret_count);
const struct bench_test *shop_bench_tests(const struct shop *shop, size_t *ret_count); /* by id */
const struct tin *shop_tins(const struct shop *shop, size_t *ret_count);       /* removed ones too */
const struct mix *shop_mixes(const struct shop *shop, size_t *ret_count);
const struct tin *shop_tin(const struct shop *shop, int64_t id);
const struct place *shop_place(const struct shop *shop, int64_t id);           /* NULL where there is none */
const struct piece *shop_piece(const struct shop *shop, int64_t id);
const struct rack *shop_rack(const struct shop *shop, int64_t id);
const struct coat *shop_coat(const struct shop *shop, int64_t id);
const struct material_version *shop_material_version(const struct shop *shop, int64_t version_id);
const struct material_version *shop_material_newest(const struct shop *shop, int64_t material_id); /* NULL where removed or none */
bool shop_material_removed(const struct shop *shop, int64_t material_id);
int64_t shop_piece_place(const struct shop *shop, int64_t piece_id, int64_t at_ms); /* 0 where it hung nowhere */
/* All entries of one coat, oldest first; `each` returns false to stop. */
COAT_CHECKED enum coat_result shop_coat_entries(struct shop *shop, int64_t coat_id, bool (*each)(const struct coat *, void *), void *context);

/* ---- what is computed ---- */
enum coat_status { COAT_ON, COAT_COVERED, COAT_STRIPPED, COAT_STRUCK, COAT_STATUS_COUNT };
const char *coat_status_word(enum coat_status status); /* "on" "covered" "stripped" "struck" */

/* What a hand would find, from the stages reached: the film as drawn. */
enum coat_condition { CONDITION_WET, CONDITION_TACKY, CONDITION_DRY, CONDITION_HANDLE, CONDITION_HARD, CONDITION_COUNT };
const char *coat_condition_word(enum coat_condition condition); /* "wet" "tacky" "dry" "handle" "hard" */

/* What the shop's tests say of a material or a tin. */
struct learned_k {
    int64_t material_id;
    int64_t tin_id;              /* 0: of the material in this shop */
    double prior_k;              /* 1, or of a tin the material's value */
    double prior_spread;
    double k, k_low, k_high;     /* median, 10 and 90 % */
    unsigned tests;              /* that counted: in mostly measured air, of coats that stand in the record */
    bool contradicted;           /* a test passed earlier than another failed: look at both */
};
/* NULL where it was never tested. */
const struct learned_k *shop_learned(const struct shop *shop, int64_t material_id, int64_t tin_id);

/* The newest bake of a coat that was begun. */
struct coat_bake {
    const struct bake *bake;
    enum bake_state state;
    bool baked;                   /* this coat was done, by the least that it had */
    double peak_c;                /* that the oven was told */
    int64_t turn_down_at;         /* the heat may go; MOMENT_NONE: ended, or not known */
    int64_t cool_at;              /* latest that it is cool enough to touch; MOMENT_NONE: not known */
};
bool shop_coat_bake(struct shop *shop, int64_t coat_id, int64_t now_ms, struct coat_bake *ret); /* false: it was never in an oven */

#define COAT_STILLS_MAX 16
struct coat_view {
    const struct coat *coat;
    const struct material_version *material;
    enum coat_status status;
    int64_t covered_by;     /* coat number, 0 */
    int64_t ended_at;       /* covered, stripped or struck at; MOMENT_NONE */
    enum coat_condition condition;
    enum stall stall;       /* of the first stage still waited for */
    unsigned stills;
    struct still still[COAT_STILLS_MAX]; /* an hour or longer in which measured air kept it from drying, in order; the newest, the last may go on */
    enum inspect inspect;   /* why a person must look at it: of what was before the guard stage */
    struct coat_bake bake;  /* its newest; bake.bake NULL: it was never in an oven */
    bool newer_version;     /* a newer version of its material exists */
    int64_t place_id;       /* where the piece hangs now, 0 */
    double air_temp_c, air_rh_pct; /* at the last pass; NAN where not known */
    enum air_basis air_basis;
    double film_factor;     /* film over the reference, before the exponent; 1 where not known */
    double film_under;      /* of coats below that were not yet dry through, in the same measure: counts for handle, cure and bake */
    double k;               /* the shop's multiplier that its hours take; 1 where nothing was tested */
    unsigned stages;
    struct stage_view stage[STAGE_COUNT]; /* those that the material has */
    struct caution_set cautions;
};
/* The stage of a view; NULL where its material has none. */
const struct stage_view *coat_view_stage(const struct coat_view *view, enum stage stage);
/* false where there is no such coat. */
bool shop_coat_view(struct shop *shop, int64_t coat_id, int64_t now_ms, struct coat_view *ret);

/* What the likely moment of a stage's first opening is made of. The hours of the rows add up to total_h. */
#define WHY_ROWS_MAX 20
struct why_row {
    enum why what;
    double hours;            /* below 0 where it was warmer than the first row of the table */
    double factor;           /* film, films-under, shop-factor: over 1; NAN */
    double temp_c;           /* table: of its first row; night: the coldest, too-cold: the limit; NAN */
    double rh_pct;           /* damp: the dampest; too-damp: the limit; NAN */
    int64_t from_at, to_at;  /* night; MOMENT_NONE */
};
struct why_view {
    enum stage stage;
    unsigned rows;
    struct why_row row[WHY_ROWS_MAX];
    double total_h;
    int64_t from_at;         /* the last pass */
    int64_t likely_at;       /* from_at + total_h; MOMENT_NONE where it does not come in this air: the rows then tell of the past only */
};
/* false where the coat has no such stage or nothing opens in it. zone_offset_ms: local time minus UTC, for where a night begins. */
bool shop_why(struct shop *shop, int64_t coat_id, enum stage stage, int64_t now_ms, int64_t zone_offset_ms, struct why_view *ret);

struct air_view shop_air(struct shop *shop, int64_t place_id, int64_t now_ms);

/* Stretches of from_ms to to_ms in which the temperature of a place is assumed, by the rules of the gaps (coat/history.h); the newest. None of a place
 * that was never read. */
#define AIR_GAPS_MAX 32
struct air_gap {
    int64_t from_ms, to_ms;
};
COAT_CHECKED enum coat_result shop_air_gaps(struct shop *shop, int64_t place_id, int64_t from_ms, int64_t to_ms,
                                            struct air_gap gap[AIR_GAPS_MAX], unsigned *ret_count);

/* The air to come after now_ms, as far as the line draws it; gives the count: 0 while too little is known of the place, or its last reading no longer
 * holds. */
#define AIR_AHEAD_MAX 32
struct air_ahead {
    int64_t at_ms;
    double temp_c, rh_pct;
    double low_c, high_c; /* 10 and 90 % of what it may become */
};
unsigned shop_air_ahead(struct shop *shop, int64_t place_id, int64_t now_ms, struct air_ahead ahead[AIR_AHEAD_MAX]);

/* How a sensor does. */
struct sensor_view {
    const struct sensor *sensor;
    enum sensor_state state;
    int64_t last_at;                      /* of the last reading that counts; MOMENT_NONE */
    double value[AIR_QUANTITY_COUNT];         /* then, adjusted; NAN where it does not measure it, or has not told it yet */
    double offset[AIR_QUANTITY_COUNT];        /* of the adjustment in force; 0 */
    bool counts[AIR_QUANTITY_COUNT];          /* it is the one that counts in its place now */
    int32_t usual_interval_s;             /* as told; 0 where nobody did */
    enum judgement judgement;             /* of the last reading that did not count, where it is newer than the last that did; else good */
    int64_t suspect_at;                   /* its moment; MOMENT_NONE */
    char fault[NOTE_SIZE];                /* what its source said went wrong; empty: nothing */
    int64_t fault_at;                     /* since when; MOMENT_NONE */
    int64_t disagrees_with;               /* id of a sensor of the place that says something else by more than their accuracy; 0 */
    enum air_quantity disagrees_in;
};
/* Sensors in use by place, then position (removed ones are in neither); false where there is no such sensor. */
const struct sensor *shop_sensors(const struct shop *shop, size_t *ret_count); /* removed ones too */
const struct sensor *shop_sensor(const struct shop *shop, int64_t id);
bool shop_sensor_view(struct shop *shop, int64_t sensor_id, int64_t now_ms, struct sensor_view *ret);
const struct adjustment *shop_adjustments(const struct shop *shop, size_t *ret_count);
const struct heating *shop_heatings(const struct shop *shop, size_t *ret_count);
/* Until when the place is heated as of now_ms; MOMENT_NONE where it is not. */
int64_t shop_heated_until(const struct shop *shop, int64_t place_id, int64_t now_ms);
/* Readings of a sensor that do not count, newest last; `each` returns false to stop. */
COAT_CHECKED enum coat_result shop_suspects(struct shop *shop, int64_t sensor_id, int64_t from_ms, int64_t to_ms,
                                            bool (*each)(const struct suspect *, void *), void *context);

/* The air of a place for a plot: [from_ms, to_ms) in equal bins, whatever the span. */
#define AIR_BINS_MAX 2000
struct air_bin {
    int64_t from_ms;
    unsigned readings;                    /* 0: none in it, the rest is NAN */
    double temp_low_c, temp_mean_c, temp_high_c; /* NAN where no temperature is in it */
    double rh_low_pct, rh_mean_pct, rh_high_pct;
};
COAT_CHECKED enum coat_result shop_air_bins(struct shop *shop, int64_t place_id, int64_t from_ms, int64_t to_ms, unsigned bins,
                                            struct air_bin *ret);

/* Readings of a place, oldest first, thinned to at most `most` (>= 2) by keeping every so many; caller frees *ret. */
COAT_CHECKED enum coat_result shop_readings(struct shop *shop, int64_t place_id, int64_t from_ms, int64_t to_ms, size_t most,
                                            struct reading **ret, size_t *ret_count);

/* A batch as it stands. Its figures hold at 21 C, and err to the safe side: a warm room does not shorten the induction nor a cold one
 * lengthen the pot life. */
struct mix_view {
    const struct mix *mix;
    const struct material_version *material;
    int64_t ready_at;       /* induction over; MOMENT_NONE: none is printed, or no air is known where it stands */
    int64_t use_by_at;      /* pot life over; MOMENT_NONE where none is printed */
    bool over;              /* past its pot life, or a day old where none is printed */
    enum air_basis basis;   /* of the air that it had so far */
    struct caution_set cautions;
};
/* false where there is no such mix. */
bool shop_mix_view(struct shop *shop, int64_t mix_id, int64_t now_ms, struct mix_view *ret);

/* The lists over the drying line and of the bare `coat` command, each row made here so that page and command line agree. */
enum list_kind { LIST_NOW, LIST_NEXT, LIST_NOT_YET, LIST_HELD, LIST_KIND_COUNT };
const char *list_kind_word(enum list_kind kind); /* "now" "next" "not_yet" "held" */
struct list_row {
    enum list_kind list;
    int64_t coat_id, piece_id;
    enum stage stage;       /* what the row is about; for not_yet the stage before which it must not be touched */
    enum state state;
    enum span_do does;      /* of the span that now is in */
    enum stall stall;
    int64_t since_at;       /* of the span; held: of the stall; MOMENT_NONE where not known */
    struct moment_band until; /* now: when it ends (ends false: any time); next, not_yet: when it comes */
    bool ends;
    enum span_do then;      /* what follows `until` */
    int64_t then_until_at;  /* when that ends (latest for openings), MOMENT_NONE */
    bool assumed, disputed;
};
/* Sorted: now by what ends first, the rest by what comes first. Valid until the next write, turn or call. */
const struct list_row *shop_lists(struct shop *shop, int64_t now_ms, size_t *ret_count);

/* Cautions for standing in the shop now: of all coats not yet through their guard stage, and what is always true. */
void shop_cautions(struct shop *shop, int64_t now_ms, struct caution_set *ret);
/* Cautions of one material put on a piece (0: unknown) in a place (0: unknown). */
void shop_cautions_for(struct shop *shop, enum caution_subject subject, int64_t material_id, int64_t piece_id, int64_t place_id,
                       struct caution_set *ret);

/* Notices by id, newest last; withdrawn ones too, and each of a group. */
const struct notice *shop_notices(const struct shop *shop, size_t *ret_count);

/* A notice as people get it: all of its group in one. */
#define NOTICE_TEXT_SIZE 2048
#define NOTICE_MEMBERS_SHOWN 64
struct notice_view {
    const struct notice *head;       /* the one that stands for the group; its id is the number of the whole */
    unsigned members;                /* that are not withdrawn; all of them where the whole is */
    int64_t member_id[NOTICE_MEMBERS_SHOWN]; /* the first of those */
    bool safety;                     /* not held back by quiet hours */
    bool assumed;                    /* one of them rests on assumed air */
    int64_t due_at, until_at;        /* openings: the latest, since then all are open; closings and `until`: the earliest */
    int64_t withdrawn_at;            /* of the last, where all are; else MOMENT_NONE */
    int64_t acknowledged_at;
    int64_t told_at;                 /* MOMENT_NONE: held back until quiet hours are over, or others are awaited */
    struct caution_set cautions;     /* of all that it is about */
    char subject[160];               /* one short line without cautions: "3 pieces, recoat: may be done now" */
    char text[NOTICE_TEXT_SIZE];     /* all of it: pieces, what, the caution that leads, the deferral */
};
/* By the id of any of the group; false where there is none. */
bool shop_notice_view(struct shop *shop, int64_t notice_id, int64_t now_ms, struct notice_view *ret);
/* Whether it stands for its group, and is not yet withdrawn or acknowledged (a group is withdrawn when all of it is). */
bool shop_notice_is_pending(const struct shop *shop, const struct notice *head);

/* ---- channels and what goes over them ---- */
const struct channel *shop_channels(const struct shop *shop, size_t *ret_count); /* removed ones too */
const struct channel *shop_channel(const struct shop *shop, int64_t id);         /* NULL where there is none */
/* How one does. */
struct channel_view {
    const struct channel *channel;
    size_t waiting;                  /* told and not yet delivered there */
    size_t delivered;
    int64_t delivered_at;            /* the last; MOMENT_NONE */
    int64_t failing_since_at;        /* of the first of the tries that failed since the last that did not; MOMENT_NONE: it works, or was never tried */
    char answer[TRY_ANSWER_SIZE];    /* of the last try; empty: none since the start */
};
bool shop_channel_view(const struct shop *shop, int64_t channel_id, struct channel_view *ret);
/* What is to be sent over a channel now, oldest first: told since it was added, not delivered there, not withdrawn, not acknowledged. What was told by a clock
 * that was set back since waits until it is so by the clock as it stands (shop_next_due has that moment), but for safety. Calendars are fetched: they have none.
 * Returns how many of at most `most`. */
size_t shop_outbox(const struct shop *shop, int64_t channel_id, int64_t now_ms, int64_t *ids, size_t most);
/* Where a notice stands with one channel. */
struct delivery {
    int64_t notice_id, channel_id;
    int32_t tries;
    int64_t last_at;
    int64_t delivered_at;            /* MOMENT_NONE: not yet */
};
/* The deliveries of a notice; returns how many of at most `most`. Channels on which nothing was tried yet are not among them. */
size_t shop_deliveries(const struct shop *shop, int64_t notice_id, struct delivery *ret, size_t most);
/* All tries of one notice, oldest first; `each` returns false to stop. */
COAT_CHECKED enum coat_result shop_delivery_tries(struct shop *shop, int64_t notice_id, bool (*each)(const struct delivery_try *, void *), void *context);
/* 32 random bytes of this shop, made once: what links that acknowledge are signed with. */
const unsigned char *shop_link_key(const struct shop *shop);
/* A shop's own lead for a material, in minutes; -1 where it has none. */
int32_t shop_material_lead_min(const struct shop *shop, int64_t material_id);

/* ---- writes ---- */

/* The idempotency of a write: NULL key where the client sent none. `status` and the ids made are kept with the key. */
struct shop_write {
    int64_t now_ms;
    const char *key;
    uint64_t body_hash;
    int64_t body_length;
    const char *route;
    int32_t status;
};
/* What a key answered before: COAT_OK fills *ret_status and ids; COAT_NOT_FOUND: new key; COAT_BAD_VALUE: the same key with another
 * body or route (*error says so). */
#define SHOP_ANSWER_IDS_MAX 64
COAT_CHECKED enum coat_result shop_answer_find(struct shop *shop, const struct shop_write *write, int32_t *ret_status,
                                               int64_t ids[SHOP_ANSWER_IDS_MAX], unsigned *ret_count, struct coat_error *error);

COAT_CHECKED enum coat_result shop_set_settings(struct shop *shop, const struct shop_write *write, const struct shop_settings *settings, struct coat_error *error);
/* value->id 0 adds (id in *ret_id), else replaces. */
COAT_CHECKED enum coat_result shop_put_place(struct shop *shop, const struct shop_write *write, const struct place *place, int64_t *ret_id, struct coat_error *error);
COAT_CHECKED enum coat_result shop_put_piece(struct shop *shop, const struct shop_write *write, const struct piece *piece, int64_t place_id /* 0: hangs nowhere yet */, int64_t *ret_id, struct coat_error *error);
COAT_CHECKED enum coat_result shop_put_rack(struct shop *shop, const struct shop_write *write, const struct rack *rack, int64_t *ret_id, struct coat_error *error);
/* Takes out of use; the record stays. COAT_CONFLICT where it is needed: a place in which pieces hang. */
COAT_CHECKED enum coat_result shop_remove_place(struct shop *shop, const struct shop_write *write, int64_t id, struct coat_error *error);
COAT_CHECKED enum coat_result shop_remove_piece(struct shop *shop, const struct shop_write *write, int64_t id, struct coat_error *error);
COAT_CHECKED enum coat_result shop_remove_rack(struct shop *shop, const struct shop_write *write, int64_t id, struct coat_error *error);
COAT_CHECKED enum coat_result shop_move_piece(struct shop *shop, const struct shop_write *write, int64_t piece_id, int64_t place_id, int64_t at, int64_t *ret_id, struct coat_error *error);
/* material_id 0: a new material, else its next version. Runs material_complete. Built-in ones cannot be edited: COAT_NOT_ALLOWED (add your own). */
COAT_CHECKED enum coat_result shop_put_material(struct shop *shop, const struct shop_write *write, int64_t material_id, const struct material *material, int64_t *ret_material_id, struct coat_error *error);
COAT_CHECKED enum coat_result shop_remove_material(struct shop *shop, const struct shop_write *write, int64_t material_id, struct coat_error *error);

/* Air entered by hand: 1 to 20000 readings, any order; none from the future (1 min of grace), none before 2000, temperatures -40 to 60 C (ovens
 * to 300), humidity 0 to 100 %. */
COAT_CHECKED enum coat_result shop_enter_air(struct shop *shop, const struct shop_write *write, int64_t place_id, const struct reading *readings, size_t count, struct coat_error *error);

/* value->id 0 adds (id in *ret_id), else replaces; hold_s follows from interval_s. The kind and place of a sensor never change. */
COAT_CHECKED enum coat_result shop_put_sensor(struct shop *shop, const struct shop_write *write, const struct sensor *sensor, int64_t *ret_id, struct coat_error *error);
/* Its readings stay. COAT_NOT_ALLOWED for the one by hand. */
COAT_CHECKED enum coat_result shop_remove_sensor(struct shop *shop, const struct shop_write *write, int64_t id, struct coat_error *error);
/* `reads` is what it shows, the adjustment in force included; NAN: what it showed last. `offset` is worked out. */
COAT_CHECKED enum coat_result shop_adjust_sensor(struct shop *shop, const struct shop_write *write, const struct adjustment *adjustment, int64_t *ret_id, struct coat_error *error);
COAT_CHECKED enum coat_result shop_heat_place(struct shop *shop, const struct shop_write *write, const struct heating *heating, int64_t *ret_id, struct coat_error *error);

/* What sensors sent: judged one by one in the order given, then kept in one transaction; those that do not count are kept as suspects. Values in C
 * and %, NAN where not told; at MOMENT_NONE: now. `write` may be NULL (sources that are asked have no key). The model follows after the commit. */
struct sensor_reading {
    int64_t sensor_id;
    int64_t at_ms;
    double temp_c, rh_pct;
};
struct taken {
    size_t counted, repeated, suspect;    /* repeated: the sensor had said exactly that already */
    enum judgement last_judgement;        /* of the last suspect; else good */
};
#define SHOP_TAKE_MAX 20000
COAT_CHECKED enum coat_result shop_take_readings(struct shop *shop, const struct shop_write *write, int64_t now_ms, const struct sensor_reading *items,
                                                 size_t count, struct taken *ret, struct coat_error *error);
/* What a source says of itself ("" when all is well again). A notice tells it once. Not a fact: a new start asks the source again. */
void shop_sensor_fault(struct shop *shop, int64_t sensor_id, int64_t now_ms, const char *text);

/* A file of past readings, in pieces, seen by nobody until it is finished. begin makes a sensor of the kind import, at the end of its place's list but
 * before the one by hand; what is not finished is gone at the next start. */
const struct sensor *shop_import(const struct shop *shop, int64_t sensor_id); /* NULL where none is under way by that id */
COAT_CHECKED enum coat_result shop_import_begin(struct shop *shop, const struct shop_write *write, int64_t place_id, const char *name, int64_t *ret_sensor_id, struct coat_error *error);
COAT_CHECKED enum coat_result shop_import_add(struct shop *shop, const struct shop_write *write, int64_t sensor_id, const struct reading *readings, size_t count, struct coat_error *error);
COAT_CHECKED enum coat_result shop_import_finish(struct shop *shop, const struct shop_write *write, int64_t sensor_id, struct coat_error *error);
COAT_CHECKED enum coat_result shop_import_drop(struct shop *shop, const struct shop_write *write, int64_t sensor_id, struct coat_error *error);

/* One application to several pieces: `coat` is the pattern (id, entry, piece_id ignored). place_id 0: where each piece hangs; else they are moved there
 * at the first pass where they hang elsewhere. air (NULL: none) is entered by hand for that place at the last pass. Fills ids[pieces]. */
struct coat_air { double temp_c, rh_pct; };
COAT_CHECKED enum coat_result shop_log_coats(struct shop *shop, const struct shop_write *write, const struct coat *pattern, const int64_t *piece_ids,
                                             size_t pieces, int64_t place_id, const struct coat_air *air, int64_t *ids, struct coat_error *error);
/* The next entry of a coat: `entry` holds all fields as they shall be. */
COAT_CHECKED enum coat_result shop_amend_coat(struct shop *shop, const struct shop_write *write, const struct coat *entry, struct coat_error *error);
COAT_CHECKED enum coat_result shop_strike_coat(struct shop *shop, const struct shop_write *write, int64_t coat_id, const char *why, struct coat_error *error);
COAT_CHECKED enum coat_result shop_sand_coat(struct shop *shop, const struct shop_write *write, int64_t coat_id, int64_t at, int64_t *ret_id, struct coat_error *error);
COAT_CHECKED enum coat_result shop_strip_piece(struct shop *shop, const struct shop_write *write, const struct stripping *stripping, int64_t *ret_id, struct coat_error *error);
/* A test at the bench; refused for stages that the material does not have, for coats that were struck, or covered or stripped by then, and
 * before the last pass. */
COAT_CHECKED enum coat_result shop_test_coat(struct shop *shop, const struct shop_write *write, const struct bench_test *test, int64_t *ret_id, struct coat_error *error);
/* value->id 0 adds, else replaces. A coat's tin must be of the coat's material, of any version; one past its keep-by is no reason to refuse. */
COAT_CHECKED enum coat_result shop_put_tin(struct shop *shop, const struct shop_write *write, const struct tin *tin, int64_t *ret_id, struct coat_error *error);
COAT_CHECKED enum coat_result shop_remove_tin(struct shop *shop, const struct shop_write *write, int64_t id, struct coat_error *error);
/* Refused for materials without induction and pot life (they are not mixed). */
COAT_CHECKED enum coat_result shop_mix(struct shop *shop, const struct shop_write *write, const struct mix *mix, int64_t *ret_id, struct coat_error *error);
/* All of its group; `notice_id` may be of any of them. */
COAT_CHECKED enum coat_result shop_acknowledge(struct shop *shop, const struct shop_write *write, int64_t notice_id, struct coat_error *error);

/* value->id 0 adds, else replaces (the kind never changes). What a channel was told before it was added is not sent there. */
COAT_CHECKED enum coat_result shop_put_channel(struct shop *shop, const struct shop_write *write, const struct channel *channel, int64_t *ret_id, struct coat_error *error);
COAT_CHECKED enum coat_result shop_remove_channel(struct shop *shop, const struct shop_write *write, int64_t id, struct coat_error *error);
/* lead_min -1: the shop's again. 0 to 2880. */
COAT_CHECKED enum coat_result shop_set_material_lead(struct shop *shop, const struct shop_write *write, int64_t material_id, int32_t lead_min, struct coat_error *error);
/* What came of a try to send; in a transaction of its own. try->id is filled. Not of a client: it has no key. */
COAT_CHECKED enum coat_result shop_note_try(struct shop *shop, int64_t now_ms, struct delivery_try *try, struct coat_error *error);

#endif
