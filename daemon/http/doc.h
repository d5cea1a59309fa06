/* Documents: every kind of thing is turned into JSON in one place, from the facts and views of coat/shop.h.
 *
 * Each function writes one value where the writer stands (as an element, or after json_out_key). What a document needs on its
 * way is in struct doc; the first thing that could not be had sticks in `failed`, and what comes after it is still well formed. Figures that a
 * person gave are told as they were given (JSON_SHORTEST); computed ones to the digits that mean something. */
#ifndef COAT_DOC_H
#define COAT_DOC_H

#include "coat/clock.h"
#include "coat/shop.h"
#include "coat/shop_bake.h"
#include "coat/shop_check.h"
#include "coat/shop_record.h"
#include "coat/shop_vapour.h"
#include "daemon/http/json_out.h"

struct doc {
    struct json_out *out;
    struct shop *shop;
    int64_t now_ms;
    struct caution_set used; /* cautions named so far, whose texts the document still owes */
    enum coat_result failed; /* COAT_OK while all went well */
};

/* Which coats are on or covered on which pieces; made once a document. */
struct coat_list {
    size_t count;
    struct coat_on_piece {
        int64_t coat_id, piece_id;
    } *coat;
};
/* Of one piece, of all in use, or of all. Free with coat_list_free. */
#define COAT_LIST_IN_USE 0
#define COAT_LIST_ALL (-1)
COAT_CHECKED enum coat_result coat_list_make(struct doc *doc, int64_t piece_id, struct coat_list *ret);
void coat_list_free(struct coat_list *list);

struct http_context;
/* doc_shop.c: all that the page shows, and the settings. */
void doc_shop(struct doc *doc, const struct http_context *context);
void doc_settings(struct doc *doc, const struct shop_settings *settings);

/* doc_place.c */
void doc_place(struct doc *doc, const struct place *place);
void doc_air(struct doc *doc, const struct air_view *air); /* a member "air": null where nothing is known */
void doc_thousandths(struct doc *doc, const char *key, int32_t value); /* a member; READING_NONE: null */
void doc_readings(struct doc *doc, int64_t place_id, int64_t from_ms, int64_t to_ms, size_t most); /* an array */

/* doc_plot.c: a document. The bins are those of the span, from shop_air_bins. */
struct plot_span {
    int64_t from_ms, bin_ms; /* whole seconds */
    unsigned bins;
};
int64_t plot_span_end(const struct plot_span *span);
void doc_plot(struct doc *doc, int64_t place_id, const struct plot_span *span, const struct air_bin *bins);

/* doc_piece.c */
void doc_piece(struct doc *doc, const struct piece *piece, const struct coat_list *coats);
void doc_rack(struct doc *doc, const struct rack *rack);
void doc_move(struct doc *doc, const struct move *move);
void doc_moved(struct doc *doc, const struct move *move); /* members: it, and what is in the air where that matters */
void doc_strip(struct doc *doc, const struct stripping *stripping); /* a document: with the texts of its cautions */

/* doc_record.c: the members of the record of a piece, with the texts of its cautions. */
void doc_record(struct doc *doc, const struct piece *piece, const struct coat_list *coats);

/* doc_photo.c */
void doc_piece_note(struct doc *doc, const struct piece_note *note);
void doc_piece_notes(struct doc *doc, int64_t piece_id); /* an array, as they were entered */
void doc_photo(struct doc *doc, const struct photo *photo); /* all but the picture */
void doc_photos(struct doc *doc, int64_t piece_id); /* an array */

/* doc_material.c */
void doc_material(struct doc *doc, const struct material_version *version);
void doc_material_brief(struct doc *doc, const struct material_version *version);
void doc_material_named(struct doc *doc, const struct material_version *version); /* a member "material": what names it */
void doc_too_long(struct json_out *out, const char *key, const struct material *material); /* what its label prints, or null */
const struct material_version *doc_material_last(const struct doc *doc, int64_t material_id); /* removed ones too; NULL */

/* doc_sensor.c */
void doc_sensor(struct doc *doc, const struct sensor *sensor); /* the members: the caller opens and closes the object */
void doc_adjustment(struct doc *doc, const struct adjustment *adjustment);
void doc_suspect(struct doc *doc, const struct suspect *suspect);

/* doc_bench.c */
void doc_test(struct doc *doc, const struct bench_test *test);
void doc_tests(struct doc *doc, int64_t coat_id); /* an array */
void doc_tin(struct doc *doc, const struct tin *tin);
void doc_mix(struct doc *doc, const struct mix_view *view); /* the members: the caller opens and closes the object */
/* Arrays: those in use and those that can still be used, or all of them (mixes: the newest DOC_MIXES_MOST). */
#define DOC_MIXES_MOST 500
void doc_tins(struct doc *doc, bool all);
void doc_mixes(struct doc *doc, bool all);

/* doc_coat.c */
void doc_coat(struct doc *doc, const struct coat_view *view);
void doc_entry(struct doc *doc, const struct coat *coat);

/* doc_why.c: members. */
void doc_why(struct doc *doc, const struct coat_view *view);
/* Local time less UTC in the shop's zone. */
int64_t doc_zone_offset_ms(const char *zone, int64_t at_ms);

/* doc_vapour.c: members. */
void doc_vapour(struct doc *doc, const struct vapour_view *view);
/* A member "vapour", an array: the sums of each place where coats that were just put on with an amount hang; of a piece that was moved where wet coat
 * now hangs in an oven. Empty where there is nothing to say. */
void doc_vapour_of_coats(struct doc *doc, const int64_t *coat_ids, unsigned count);
void doc_vapour_of_move(struct doc *doc, int64_t piece_id);
void doc_solvent(struct doc *doc, const struct solvent *solvent); /* an object */

/* doc_bake.c: members of a bake; and a member "bake" of a coat, null where it was never in an oven. */
void doc_bake(struct doc *doc, const struct bake_view *view);
void doc_bake_of_coat(struct doc *doc, const struct coat_bake *bake);

/* doc_check.c: members. */
void doc_check(struct doc *doc, const struct check_view *view);

/* doc_stage.c */
void doc_stage(struct doc *doc, const struct stage_view *stage);
void doc_band(struct doc *doc, const struct moment_band *band);
void doc_stall(struct doc *doc, const char *key, enum stall stall); /* a member: null while it moves on */

/* doc_notice.c: the members of the group that a notice is of, within an object that the caller opens and closes. */
#define DOC_NOTICES_SHOWN 50 /* of the pending ones with the shop: the newest */
void doc_notice(struct doc *doc, int64_t notice_id);
void doc_notice_tries(struct doc *doc, int64_t notice_id); /* a member "tries": all of them */
const struct notice *notice_of_id(const struct shop *shop, int64_t id); /* NULL where there is none */
bool notice_is_head(const struct notice *notice); /* it stands for its group */

/* doc_channel.c: the members of a channel, likewise. */
void doc_channel(struct doc *doc, const struct channel *channel);
void doc_channels_brief(struct doc *doc, const char *key); /* a member: an array of how those in use do */
/* The text of a JSON array of words, as commands are kept, as an array; null where it is none. */
void doc_words(struct doc *doc, const char *key, const char *text);

/* doc_caution.c: members. Codes are noted in doc->used; texts are written from it, with the deferral. */
void doc_caution_codes(struct doc *doc, const char *key, const struct caution_set *set);
void doc_caution_texts(struct doc *doc, const char *key);

#endif
