/* What a piece went through, to keep or to hand on with the machine: beside the facts of coat/shop.h, the air that a coat really had. */
#ifndef COAT_SHOP_RECORD_H
#define COAT_SHOP_RECORD_H

#include "coat/shop.h"

/* What the sensors read where the piece hung, from the first pass until the coat was cured through, else until it was stripped or struck, else until
 * now; AIR_HAD_DAYS of it at most, for what later air does to a film stands in no table. The ends are of single readings; the means are over the hours in which anything was read, so that a sensor that speaks often in some of them
 * does not outweigh the rest. */
#define AIR_HAD_DAYS 90
struct air_had {
    int64_t from_at, to_at;
    bool cured;             /* to_at is when it was cured through */
    bool read;              /* false: nothing was read in all that time, and the rest is NAN */
    double temp_low_c, temp_mean_c, temp_high_c;
    double rh_low_pct, rh_mean_pct, rh_high_pct;
    double measured_h, assumed_h; /* behind its furthest stage; 0 where it has none */
};
COAT_CHECKED enum coat_result shop_air_had(struct shop *shop, const struct coat_view *coat, int64_t now_ms, struct air_had *ret);

/* ---- notes and photos of pieces ---- */

const struct piece_note *shop_piece_notes(const struct shop *shop, size_t *ret_count); /* by id */
const struct photo *shop_photos(const struct shop *shop, size_t *ret_count);           /* by id */
const struct photo *shop_photo(const struct shop *shop, int64_t id);                   /* NULL where there is none */
/* The bytes of one, to be freed by the caller. */
COAT_CHECKED enum coat_result shop_photo_bytes(struct shop *shop, int64_t id, void **ret_bytes, size_t *ret_length, struct coat_error *error);

#define PIECE_NOTES_MAX 500
#define PIECE_PHOTOS_MAX 24
/* Of a piece in use; not empty, not from the future; at most PIECE_NOTES_MAX a piece. */
COAT_CHECKED enum coat_result shop_add_piece_note(struct shop *shop, const struct shop_write *write, const struct piece_note *note, int64_t *ret_id,
                                                  struct coat_error *error);
/* Of a piece in use; at most PIECE_PHOTOS_MAX of it. What is kept is what picture_strip leaves. */
COAT_CHECKED enum coat_result shop_add_photo(struct shop *shop, const struct shop_write *write, int64_t piece_id, const void *bytes, size_t length,
                                             const char *note, int64_t *ret_id, struct coat_error *error);
/* A photo is the one thing that can be taken out of the record for good. */
COAT_CHECKED enum coat_result shop_remove_photo(struct shop *shop, const struct shop_write *write, int64_t id, struct coat_error *error);

#endif
