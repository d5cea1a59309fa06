/* The shop as one plain page, for browsers without scripts, for paper and for readers that speak: how each piece stands and each caution, in the words
 * of coat/phrase.h. It shows and changes nothing. */
#ifndef COAT_PLAIN_H
#define COAT_PLAIN_H

#include "daemon/http/doc.h"

#include "coat/phrase.h"

/* `still`: it is not asked for again by itself. */
void plain_write(struct doc *doc, const struct http_context *context, bool still);

/* ---- what its parts share ---- */

struct plain {
    struct doc *doc;              /* its `used` gathers the cautions of all that is told */
    const char *zone;
    struct phrase blank;          /* in the shop's zone and units */
    struct coat_list coats;
};
/* An element with a sentence. */
void plain_say(struct plain *plain, const char *open, const struct phrase *phrase);
/* What to do for these, in one paragraph; they are then told in full at the end. */
void plain_acts(struct plain *plain, const struct caution_set *cautions);
const char *plain_piece_name(const struct plain *plain, int64_t piece_id);

/* plain_coat.c: a piece with its place and its coats. */
void plain_piece(struct plain *plain, const struct piece *piece);
/* plain_bake.c: the bakes under review, in the heat and cooling. */
void plain_bakes(struct plain *plain);

#endif
