/* What the writes check, each thing once. Every function returns COAT_OK, or names in *error what was read and what would do; they
 * change nothing but the texts that they are said to tidy. */
#ifndef SHOP_CHECK_H
#define SHOP_CHECK_H

#include "daemon/shop/model.h"

#define CHECK_GRACE_MS (1 * MS_PER_MIN) /* how far a client's clock may be ahead */

/* A number that must lie in low to high; NAN, "not known", passes. `above`: low itself will not do. */
struct figure_check {
    const char *field;
    double value, low, high;
    bool above;
    const char *unit;
};
COAT_CHECKED enum coat_result check_figures(const struct figure_check *figures, size_t count, struct coat_error *error);

/* A value of an enum, which must be below its count. */
struct choice_check {
    const char *field;
    unsigned value, count;
};
COAT_CHECKED enum coat_result check_choices(const struct choice_check *choices, size_t count, struct coat_error *error);

/* Not before 2000, not later than now and the grace. */
COAT_CHECKED enum coat_result check_moment(const char *field, int64_t at, int64_t now_ms, struct coat_error *error);

/* Texts in arrays of `size` bytes. Both cut the blanks off both ends first. A text may be empty and may have several lines; a name may not. */
COAT_CHECKED enum coat_result check_text(const char *field, char *text, size_t size, struct coat_error *error);
COAT_CHECKED enum coat_result check_name(const char *field, char *name, size_t size, struct coat_error *error);
/* Of a piece or a rack: not digits alone, which name a coat. */
COAT_CHECKED enum coat_result check_not_number(const char *name, struct coat_error *error);
/* The form of a zone's name only; whether the machine knows it is the caller's to ask. */
COAT_CHECKED enum coat_result check_zone(const char *zone, struct coat_error *error);

bool name_same(const char *a, const char *b); /* without regard to case; up to NAME_SIZE - 1 bytes */
/* Whether the name is free for the thing with this id (0: a new one) among what is in use. */
COAT_CHECKED enum coat_result check_place_free(const struct shop *shop, const char *name, int64_t id, struct coat_error *error);
COAT_CHECKED enum coat_result check_material_free(const struct shop *shop, const char *name, int64_t id, struct coat_error *error);
/* Pieces and racks share their names, since either may be told where a piece is asked for. */
COAT_CHECKED enum coat_result check_piece_free(const struct shop *shop, const char *name, int64_t piece_id, int64_t rack_id,
                                               struct coat_error *error);

COAT_CHECKED enum coat_result check_tin_free(const struct shop *shop, const char *name, int64_t id, struct coat_error *error);

/* References to what is in use: COAT_NOT_FOUND where there is none or it was removed. *ret is good until the lists change. */
COAT_CHECKED enum coat_result check_place(const struct shop *shop, const char *field, int64_t id, const struct place **ret,
                                          struct coat_error *error);
COAT_CHECKED enum coat_result check_piece(const struct shop *shop, const char *field, int64_t id, const struct piece **ret,
                                          struct coat_error *error);
COAT_CHECKED enum coat_result check_rack(const struct shop *shop, const char *field, int64_t id, const struct rack **ret,
                                         struct coat_error *error);
COAT_CHECKED enum coat_result check_tin(const struct shop *shop, const char *field, int64_t id, const struct tin **ret,
                                        struct coat_error *error);
COAT_CHECKED enum coat_result check_material(const struct shop *shop, const char *field, int64_t id, const struct material_version **ret,
                                             struct coat_error *error);
/* A coat, struck or not. */
COAT_CHECKED enum coat_result check_coat(const struct shop *shop, const char *field, int64_t id, const struct coat **ret,
                                         struct coat_error *error);
COAT_CHECKED enum coat_result check_material_version(const struct shop *shop, int64_t version_id, struct coat_error *error);

/* 1 to RACK_PIECES_MAX pieces, each in use and told once. */
COAT_CHECKED enum coat_result check_pieces(const struct shop *shop, const int64_t *piece_ids, size_t count, struct coat_error *error);
/* An area of a piece: one of those that it has, if it has any (and *area is then spelt as the piece spells it); empty: all of it. */
COAT_CHECKED enum coat_result check_area(const struct piece *piece, char area[AREA_SIZE], struct coat_error *error);

/* How many readings may come at once. */
COAT_CHECKED enum coat_result check_reading_count(size_t count, struct coat_error *error);
/* Air in a place of this kind. `prefix` stands before the names of the fields: "", "air." or "items[3]." */
COAT_CHECKED enum coat_result check_air(const char *prefix, const struct place *place, double temp_c, double rh_pct,
                                        struct coat_error *error);

#endif
