/* What the files of writes share. The way of each: check everything, make room in the lists (so that nothing can fail for memory once
 * the facts are safe), write_begin, store_…, write_commit, put into the lists, and write_settle what follows from it. */
#ifndef SHOP_WRITE_H
#define SHOP_WRITE_H

#include "daemon/shop/check.h"

#include <string.h>

/* Room for `more` (1 or more) items. */
#define LIST_RESERVE_MORE(list, more) \
    list_reserve((void **)&(list)->item, &(list)->capacity, (list)->count + (more) - 1, sizeof *(list)->item)

/* Both need room. */
#define LIST_PUSH(list, value) ((list)->item[(list)->count++] = (value))
#define LIST_INSERT(list, index, value)                                                                  \
    do {                                                                                                  \
        memmove(&(list)->item[(index) + 1], &(list)->item[index], ((list)->count - (index)) * sizeof *(list)->item); \
        (list)->item[index] = (value);                                                                    \
        (list)->count++;                                                                                  \
    } while (0)

/* The text for a failure of the store or of memory; nothing was recorded. Returns the result. */
enum coat_result write_failed(enum coat_result result, struct coat_error *error);
/* The same after a failed store_…: rolls back as well. */
enum coat_result write_undone(struct shop *shop, enum coat_result result, struct coat_error *error);
/* The end of every write: `model` is what making the model anew returned. Tells the listener and what is due. */
COAT_CHECKED enum coat_result write_settle(struct shop *shop, const struct shop_write *write, enum coat_result model,
                                           struct coat_error *error);

/* ---- moves (facts.c, write_pieces.c) ---- */

/* Index of the first move that comes after those of this piece up to at_ms: where one for that moment would be put. */
size_t move_index_after(const struct shop *shop, int64_t piece_id, int64_t at_ms);
/* The move by which a piece hangs where it hangs at that moment; NULL where it hangs nowhere. */
const struct move *move_before(const struct shop *shop, int64_t piece_id, int64_t at_ms);
/* Whether a piece may be moved there at that moment; piece and place are checked already. */
COAT_CHECKED enum coat_result check_move(const struct shop *shop, const struct piece *piece, const struct place *place, int64_t at,
                                         struct coat_error *error);
/* Puts a stored move into its place in the list, which has room. */
void move_insert(struct shop *shop, const struct move *move);

/* ---- air (write_air.c) ---- */

/* What follows from readings entered by hand, sorted and stored; the sensor may be new. */
COAT_CHECKED enum coat_result model_air_by_hand(struct shop *shop, const struct sensor *by_hand, const struct reading *readings, size_t count);

/* ---- sensors (take.c, write_sensors.c, sensors.c) ---- */

/* Whether the name is free for the sensor with this id (0: a new one). */
COAT_CHECKED enum coat_result check_sensor_name(const struct shop *shop, const char *name, int64_t id, struct coat_error *error);
/* After the last sensor of the place; COAT_CONFLICT where it has had too many. */
COAT_CHECKED enum coat_result next_sensor_position(const struct shop *shop, const struct place *place, int32_t *ret, struct coat_error *error);
/* Lets the judge of a sensor hear the record, once. */
void sensor_listen(struct shop *shop, int64_t sensor_id);
/* Of the adjustment in force at that moment; 0 where there is none. */
double sensor_offset(const struct shop *shop, int64_t sensor_id, enum air_quantity quantity, int64_t at_ms);
/* The list of adjustments has moved: the airs that point into it do so anew. */
void sensors_point_anew(struct shop *shop);
/* The entry by which a place is heated at a moment; NULL where it is not. */
const struct heating *heating_at(const struct shop *shop, int64_t place_id, int64_t at_ms);

/* ---- coats (write_coats.c) ---- */

/* What is told of an application, but for its piece and area; tidies the texts. */
COAT_CHECKED enum coat_result check_coat_values(struct coat *coat, int64_t now_ms, struct coat_error *error);
/* Whether the coat may be of its tin, which is not 0: of its material, and in use where `is_new`. */
/* What it was thinned with where nobody named it: what the label says. */
void coat_take_thinner(const struct shop *shop, struct coat *coat);
COAT_CHECKED enum coat_result check_coat_tin(const struct shop *shop, const struct coat *coat, bool is_new, struct coat_error *error);
/* Whether the coat lay open to a hand at that moment: not struck, and not yet covered or stripped. */
COAT_CHECKED enum coat_result check_still_on(const struct shop *shop, const struct coat *coat, int64_t at, struct coat_error *error);
/* What follows from coats of these pieces being new or other than they were. */
COAT_CHECKED enum coat_result model_pieces_changed(struct shop *shop, const int64_t *piece_ids, size_t count);

#endif
