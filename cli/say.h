/* Phrases that several commands share: amounts, air, bands of moments, stages, cautions. */
#ifndef CLI_SAY_H
#define CLI_SAY_H

#include "cli/cli.h"
#include "cli/names.h"

#include "coat/phrase.h"

/* An empty phrase in the shop's zone and units, and a phrase into a text. What the documents of the API tell is said by coat/phrase.h. */
struct phrase say_begin(const struct cli *cli);
void say_phrase(struct text *text, const struct phrase *phrase);

#define S_PER_H 3600.0

/* "17.8 C"; "-" where the number is not known. */
void say_quantity(const struct cli *cli, struct text *text, enum quantity kind, double value);
void say_cure_row(const struct cli *cli, struct text *text, const cJSON *row); /* "1h at 150 C" */
/* "14:05" */
void say_moment(const struct cli *cli, struct text *text, int64_t at_ms);
/* "17.8 C 61 %" of an object with temp_c and rh_pct. */
void say_air(const struct cli *cli, struct text *text, const cJSON *air);
/* The same of a place, with its dew point and when it was read. */
void say_place_air(const struct cli *cli, struct text *text, const cJSON *air);

/* An opening in two: "about 15:05" and " (14:50 to 15:30)", with "label floor Mon 14:25" where there is one. */
void say_opening_parts(const struct cli *cli, struct text *when, struct text *more, const cJSON *band);
/* A closing: the earliest it may be: "15:25". */
void say_closing(const struct cli *cli, struct text *text, const cJSON *band);
/* "do not touch before it is dust-free, about 15:05" of a row of what must not be touched yet. */
void say_hands_off(const struct cli *cli, struct text *text, const cJSON *row);

/* Into an empty text: what is still ahead in a stage: "go until 15:25; then wait until about Mon 14:25 (…), then go". */
void say_stage(const struct cli *cli, struct text *text, const cJSON *stage);
/* "on assumed air: test first", "sources differ: read the can" and the like. */
void say_flags(const struct cli *cli, struct text *text, const cJSON *stage);
enum voice voice_of_state(const char *state);

/* "held up: too cold" in words for a stall. */
const char *held_phrase(const char *word);
/* What to do, for a person: "go", "wait", "wipe with solvent first" … */
const char *do_phrase(const char *stage, const char *word);

/* "mill wheel, front" */
void say_piece(const struct cli *cli, struct text *text, int64_t piece_id, const char *area);
/* "light", or "80 um wet" where it was measured. */
void say_film(const struct cli *cli, struct text *text, const cJSON *coat);
/* "mill wheel: alkyd enamel, aerosol, light, applied 14:25", of an entry too. */
void say_laid(const struct cli *cli, struct text *text, const cJSON *coat);
/* "mill wheel: alkyd enamel, aerosol, light, applied 14:25 in shed (17.8 C 61 %, measured)" */
void say_coat(const struct cli *cli, struct text *text, const cJSON *coat);

/* "black 2 (batch L 0417)" of an object with name and batch. */
void say_tin(struct text *text, const cJSON *tin);
/* A line of its own: what it means that a tin is past its keep-by. */
void say_past_keep_by(struct cli *cli, const cJSON *tin);

/* "ready about 15:05; use by 18:05" of a mix: what is ahead of it. */
void say_mix(const struct cli *cli, struct text *text, const cJSON *mix);

/* The acts of the cautions in `codes`, most of them (0: all), as one paragraph, then the sentence that defers. `document` holds the
 * texts under "cautions" and the "deferral". */
void say_cautions(struct cli *cli, const cJSON *document, const cJSON *codes, unsigned most);
/* The same of a document whose "cautions" are its own codes, with the texts beside them under "caution_texts". */
void say_cautions_beside(struct cli *cli, cJSON *document, unsigned most);
/* The acts of the last answer, a list of cautions. */
void say_listed_cautions(struct cli *cli);
/* Asks for the cautions of a subject ("strip", "sand") and says their acts. */
int say_cautions_for(struct cli *cli, const char *subject);

/* The sums of the air of places in the member "vapour" of an answer; nothing where it has none (cmd_vapour.c). */
void say_vapour_of(struct cli *cli, const cJSON *document);

#endif
