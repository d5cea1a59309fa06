/* The store: one SQLite file, one connection, the only place that speaks SQL.
 *
 * Every function that writes runs inside the transaction opened by store_begin(), so that one API write is one commit; without
 * one it is a programming error (assert). store_commit() makes it durable (WAL, synchronous=FULL) before it returns. Every
 * writing function may fail with COAT_STORE_FULL or COAT_STORE_FAILED; after any failure the caller calls store_rollback(). List
 * functions call `each` once a row, in the order said, until it returns false. */
#ifndef COAT_STORE_H
#define COAT_STORE_H

#include "coat/facts.h"
#include "coat/result.h"

#include <stddef.h>

struct store;

/* Opens or makes the file (folders are made as needed, 0700), takes it exclusively, applies migrations, seeds the built-in
 * materials (as versions: a changed built-in adds a version). COAT_STORE_BUSY, _NEWER, _FOREIGN, _FULL, _FAILED or COAT_NOT_ALLOWED with *error naming the
 * file and what would do; nothing is changed then. `now_ms` stamps what migrations enter. */
COAT_CHECKED enum coat_result store_open(const char *path, int64_t now_ms, struct store **ret, struct coat_error *error);
void store_close(struct store *store); /* accepts NULL */

/* The number of the last migration applied, and checks of the file: PRAGMA quick_check and foreign_key_check. */
int store_schema_version(const struct store *store);
COAT_CHECKED enum coat_result store_check(struct store *store, struct coat_error *error);

COAT_CHECKED enum coat_result store_begin(struct store *store);
COAT_CHECKED enum coat_result store_commit(struct store *store);
void store_rollback(struct store *store);

/* The ever-rising revision. store_revision_bump is called once in each transaction that changes a fact or a state. */
int64_t store_revision(const struct store *store);
COAT_CHECKED enum coat_result store_revision_bump(struct store *store, int64_t *ret_revision);

COAT_CHECKED enum coat_result store_settings_get(struct store *store, struct shop_settings *ret);
COAT_CHECKED enum coat_result store_settings_set(struct store *store, const struct shop_settings *settings);

/* Lower case of a name for comparing, into key[size]; the comparison that "without case" means here. */
void name_fold(const char *name, char *key, size_t size);

/* Adding fills *ret_id. Names are unique among what is in use (COAT_CONFLICT), compared without case. `put` replaces the row of value->id. */
COAT_CHECKED enum coat_result store_place_add(struct store *store, const struct place *place, int64_t *ret_id);
COAT_CHECKED enum coat_result store_place_put(struct store *store, const struct place *place);
COAT_CHECKED enum coat_result store_places(struct store *store, bool (*each)(const struct place *, void *), void *context);

COAT_CHECKED enum coat_result store_piece_add(struct store *store, const struct piece *piece, int64_t *ret_id);
COAT_CHECKED enum coat_result store_piece_put(struct store *store, const struct piece *piece);
COAT_CHECKED enum coat_result store_pieces(struct store *store, bool (*each)(const struct piece *, void *), void *context);

COAT_CHECKED enum coat_result store_rack_add(struct store *store, const struct rack *rack, int64_t *ret_id);
COAT_CHECKED enum coat_result store_rack_put(struct store *store, const struct rack *rack);
COAT_CHECKED enum coat_result store_racks(struct store *store, bool (*each)(const struct rack *, void *), void *context);

COAT_CHECKED enum coat_result store_move_add(struct store *store, const struct move *move, int64_t *ret_id);
COAT_CHECKED enum coat_result store_moves(struct store *store, bool (*each)(const struct move *, void *), void *context); /* by piece, then at, then id */

/* material_id 0 adds a new material (name unique among those in use), else the next version of that one. Fills both ids and the version. */
COAT_CHECKED enum coat_result store_material_add(struct store *store, struct material_version *version);
/* Takes a material out of the lists; its versions stay for the coats that have them. */
COAT_CHECKED enum coat_result store_material_remove(struct store *store, int64_t material_id, int64_t at);
/* All versions of all materials, by material, then version; `removed` tells whether its material is out of use. */
COAT_CHECKED enum coat_result store_materials(struct store *store, bool (*each)(const struct material_version *, bool removed, void *), void *context);

/* A new coat (coat->id 0 is filled, entry 1) or the next entry of one (id kept, entry filled). */
COAT_CHECKED enum coat_result store_coat_add(struct store *store, struct coat *coat);
/* Newest entries, by coat number; store_coat_entries: all entries of one, oldest first. */
COAT_CHECKED enum coat_result store_coats(struct store *store, bool (*each)(const struct coat *, void *), void *context);
COAT_CHECKED enum coat_result store_coat_entries(struct store *store, int64_t coat_id, bool (*each)(const struct coat *, void *), void *context);

COAT_CHECKED enum coat_result store_sanding_add(struct store *store, const struct sanding *sanding, int64_t *ret_id);
COAT_CHECKED enum coat_result store_sandings(struct store *store, bool (*each)(const struct sanding *, void *), void *context);
COAT_CHECKED enum coat_result store_stripping_add(struct store *store, const struct stripping *stripping, int64_t *ret_id);
COAT_CHECKED enum coat_result store_strippings(struct store *store, bool (*each)(const struct stripping *, void *), void *context);

COAT_CHECKED enum coat_result store_bench_test_add(struct store *store, const struct bench_test *test, int64_t *ret_id);
COAT_CHECKED enum coat_result store_bench_tests(struct store *store, bool (*each)(const struct bench_test *, void *), void *context); /* by id */
COAT_CHECKED enum coat_result store_tin_add(struct store *store, const struct tin *tin, int64_t *ret_id);
COAT_CHECKED enum coat_result store_tin_put(struct store *store, const struct tin *tin);
COAT_CHECKED enum coat_result store_tins(struct store *store, bool (*each)(const struct tin *, void *), void *context);
COAT_CHECKED enum coat_result store_mix_add(struct store *store, const struct mix *mix, int64_t *ret_id);
COAT_CHECKED enum coat_result store_mixes(struct store *store, bool (*each)(const struct mix *, void *), void *context);
COAT_CHECKED enum coat_result store_release_add(struct store *store, const struct solvent_release *release, int64_t *ret_id);
COAT_CHECKED enum coat_result store_releases(struct store *store, bool (*each)(const struct solvent_release *, void *), void *context); /* by id */

COAT_CHECKED enum coat_result store_piece_note_add(struct store *store, const struct piece_note *note, int64_t *ret_id);
COAT_CHECKED enum coat_result store_piece_notes(struct store *store, bool (*each)(const struct piece_note *, void *), void *context); /* by id */
/* photo->length bytes. The list is by id. */
COAT_CHECKED enum coat_result store_photo_add(struct store *store, const struct photo *photo, const void *bytes, int64_t *ret_id);
COAT_CHECKED enum coat_result store_photos(struct store *store, bool (*each)(const struct photo *, void *), void *context);
/* Its bytes, to be freed by the caller. */
COAT_CHECKED enum coat_result store_photo_bytes(struct store *store, int64_t photo_id, void **ret_bytes, size_t *ret_length);
/* Takes it away, bytes and all. */
COAT_CHECKED enum coat_result store_photo_drop(struct store *store, int64_t photo_id);

/* Bakes; each list by id. */
COAT_CHECKED enum coat_result store_bake_add(struct store *store, const struct bake *bake, int64_t *ret_id);
COAT_CHECKED enum coat_result store_bake_put(struct store *store, const struct bake *bake);
COAT_CHECKED enum coat_result store_bakes(struct store *store, bool (*each)(const struct bake *, void *), void *context);
COAT_CHECKED enum coat_result store_bake_part_add(struct store *store, const struct bake_part *part, int64_t *ret_id);
COAT_CHECKED enum coat_result store_bake_parts(struct store *store, bool (*each)(const struct bake_part *, void *), void *context);
COAT_CHECKED enum coat_result store_bake_hold_add(struct store *store, const struct bake_hold *hold, int64_t *ret_id);
COAT_CHECKED enum coat_result store_bake_holds(struct store *store, bool (*each)(const struct bake_hold *, void *), void *context);
COAT_CHECKED enum coat_result store_bake_answer_add(struct store *store, const struct bake_answer *answer, int64_t *ret_id);
COAT_CHECKED enum coat_result store_bake_answers(struct store *store, bool (*each)(const struct bake_answer *, void *), void *context);
COAT_CHECKED enum coat_result store_bake_gap_add(struct store *store, const struct bake_gap *gap, int64_t *ret_id);
COAT_CHECKED enum coat_result store_bake_gap_put(struct store *store, const struct bake_gap *gap);
COAT_CHECKED enum coat_result store_bake_gaps(struct store *store, bool (*each)(const struct bake_gap *, void *), void *context);
/* The last moment that the service ran while an oven was hot that nobody reads; MOMENT_NONE: never. Not a fact: no revision goes with it. */
COAT_CHECKED enum coat_result store_bake_seen(struct store *store, int64_t *ret_at);
COAT_CHECKED enum coat_result store_bake_seen_put(struct store *store, int64_t at);

/* Sensors. Each place has one for air entered by hand, made on first use (hold READING_HOLD_BY_HAND_S), last in its list. */
COAT_CHECKED enum coat_result store_sensor_by_hand(struct store *store, int64_t place_id, struct sensor *ret);
COAT_CHECKED enum coat_result store_sensor_add(struct store *store, const struct sensor *sensor, bool finished, int64_t *ret_id);
COAT_CHECKED enum coat_result store_sensor_put(struct store *store, const struct sensor *sensor, bool finished);
/* By place, those by hand last, position, id. Those that are not finished (an import under way) are told so. */
COAT_CHECKED enum coat_result store_sensors(struct store *store, bool (*each)(const struct sensor *, bool finished, void *), void *context);
/* Takes an import that was never finished away, readings and all. */
COAT_CHECKED enum coat_result store_sensor_drop(struct store *store, int64_t sensor_id);
COAT_CHECKED enum coat_result store_adjustment_add(struct store *store, const struct adjustment *adjustment, int64_t *ret_id);
COAT_CHECKED enum coat_result store_adjustments(struct store *store, bool (*each)(const struct adjustment *, void *), void *context); /* by sensor, quantity, from_at, id */
COAT_CHECKED enum coat_result store_heating_add(struct store *store, const struct heating *heating, int64_t *ret_id);
COAT_CHECKED enum coat_result store_heatings(struct store *store, bool (*each)(const struct heating *, void *), void *context); /* by id */
/* A suspect is known by sensor and moment; put again, the newest word on it stays. */
COAT_CHECKED enum coat_result store_suspect_put(struct store *store, const struct suspect *suspect);
COAT_CHECKED enum coat_result store_suspect_drop(struct store *store, int64_t sensor_id, int64_t at); /* it is believed after all */
COAT_CHECKED enum coat_result store_suspects(struct store *store, int64_t sensor_id, int64_t from_ms, int64_t to_ms,
                                             bool (*each)(const struct suspect *, void *), void *context); /* by at */

/* Readings that count, as the sensor told them (unadjusted). The open day (the newest UTC day of that sensor) is rows, a closed day one packed
 * blob; moving from one to the other happens in the transaction that brings the first reading of a later day. A late reading rewrites its day. A
 * reading at a moment that the sensor already has replaces it. */
COAT_CHECKED enum coat_result store_reading_put(struct store *store, int64_t sensor_id, const struct reading *readings, size_t count);
/* The readings of a sensor with from_ms <= at < to_ms, in order, with that hold, put behind the *io_count that are there, into a buffer that grows
 * with realloc: *io_readings (NULL at first) and *io_capacity are the caller's, freed with free(). */
COAT_CHECKED enum coat_result store_readings(struct store *store, int64_t sensor_id, int32_t hold_s, int64_t from_ms, int64_t to_ms,
                                             struct reading **io_readings, size_t *io_capacity, size_t *io_count);
/* For long spans: what a sensor said in each of many stretches of time, summed where it lies in the file. */
struct reading_stretch {
    int64_t from_ms;                  /* asked; it ends where the next begins, the last at to_ms */
    int32_t rh_least_mp, rh_most_mp;  /* asked: a humidity beyond counts as the nearer of them, both in 0 to 100 % */
    unsigned readings;                /* told, from here on */
    unsigned count[AIR_QUANTITY_COUNT]; /* of them that have the quantity; where none has, low and high say nothing */
    int32_t low[AIR_QUANTITY_COUNT], high[AIR_QUANTITY_COUNT]; /* thousandths */
    int64_t sum[AIR_QUANTITY_COUNT];
};
/* from_ms never falls from one to the next, and is not after to_ms. On failure what is told says nothing. */
COAT_CHECKED enum coat_result store_readings_sum(struct store *store, int64_t sensor_id, int64_t to_ms, struct reading_stretch *io, size_t count);
/* The moment of the last reading of a sensor at or before at_ms, of the first at or after, MOMENT_NONE where there is none. */
COAT_CHECKED enum coat_result store_reading_before(struct store *store, int64_t sensor_id, int64_t at_ms, int64_t *ret_ms);
COAT_CHECKED enum coat_result store_reading_after(struct store *store, int64_t sensor_id, int64_t at_ms, int64_t *ret_ms);

/* Fills id; group_id 0 becomes that id. COAT_CONFLICT where it was raised. */
COAT_CHECKED enum coat_result store_notice_add(struct store *store, struct notice *notice);
/* What became of it: withdrawn_at, acknowledged_at and told_at; all else of a notice stays as it was raised. */
COAT_CHECKED enum coat_result store_notice_put(struct store *store, const struct notice *notice);
COAT_CHECKED enum coat_result store_notices(struct store *store, int64_t after_id, bool (*each)(const struct notice *, void *), void *context); /* by id */

COAT_CHECKED enum coat_result store_channel_add(struct store *store, const struct channel *channel, int64_t *ret_id);
COAT_CHECKED enum coat_result store_channel_put(struct store *store, const struct channel *channel);
COAT_CHECKED enum coat_result store_channels(struct store *store, bool (*each)(const struct channel *, void *), void *context); /* by id */
COAT_CHECKED enum coat_result store_try_add(struct store *store, struct delivery_try *try); /* fills id */
/* All tries by id, their answers left out (empty); those of one notice with them. */
COAT_CHECKED enum coat_result store_tries(struct store *store, bool (*each)(const struct delivery_try *, void *), void *context);
COAT_CHECKED enum coat_result store_tries_of(struct store *store, int64_t notice_id, bool (*each)(const struct delivery_try *, void *), void *context);
/* A lead below 0 takes the row out. */
COAT_CHECKED enum coat_result store_material_lead_put(struct store *store, const struct material_lead *lead);
COAT_CHECKED enum coat_result store_material_leads(struct store *store, bool (*each)(const struct material_lead *, void *), void *context);
/* The key that links are signed with; made at the first call, in a transaction of its own. */
#define LINK_KEY_SIZE 32
COAT_CHECKED enum coat_result store_link_key(struct store *store, unsigned char ret[LINK_KEY_SIZE]);

/* Idempotency: what a key answered. `answer` is small: the status and the ids that the write made; the document is rendered
 * from the facts again. Kept 7 days; older ones are dropped by store_answer_put. Bodies are kept as a 64-bit hash beside their length. */
#define ANSWER_KEY_SIZE 128
#define ANSWER_IDS_MAX 64
struct stored_answer {
    char key[ANSWER_KEY_SIZE];
    uint64_t body_hash;
    int64_t body_length;
    char route[64];
    int32_t status;
    unsigned ids;
    int64_t id[ANSWER_IDS_MAX];
    int64_t at;
};
COAT_CHECKED enum coat_result store_answer_get(struct store *store, const char *key, struct stored_answer *ret); /* COAT_NOT_FOUND */
COAT_CHECKED enum coat_result store_answer_put(struct store *store, const struct stored_answer *answer);

/* The test clock's offset and such small things are not kept here: the file holds facts only. */

#endif
