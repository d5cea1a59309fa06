/* Every caution, in one table: code, text, when it applies, source. SAFETY.md is this table written out, and a test
 * holds the two together. No setting hides any. Pure. */
#ifndef COAT_CAUTION_H
#define COAT_CAUTION_H

#include "coat/material.h"
#include "coat/words.h"

#include <stdbool.h>

/* One code a caution; the order is the order of weight. caution.c says for each when it applies. */
#define COAT_CAUTIONS(X)                                                                                 \
    X(CAUTION_RAGS, "rags") X(CAUTION_ISOCYANATE, "isocyanate") X(CAUTION_VENTILATION, "ventilation")     \
    X(CAUTION_FLAME, "flame") X(CAUTION_PILOT, "pilot") X(CAUTION_HEATER, "heater")                       \
    X(CAUTION_BAKE, "bake") X(CAUTION_BAKE_FLASH, "bake-flash-off") X(CAUTION_OVEN_PLACE, "oven-place")   \
    X(CAUTION_LEAD, "lead") X(CAUTION_STRIPPER, "stripper") X(CAUTION_SANDING_DUST, "sanding-dust")       \
    X(CAUTION_RESPIRATOR, "respirator") X(CAUTION_TWO_PART, "two-part-spray") X(CAUTION_AEROSOL, "aerosol") \
    X(CAUTION_SOLVENT_SKIN, "solvent-skin") X(CAUTION_SENSITISER, "sensitiser") X(CAUTION_STATIC, "static") \
    X(CAUTION_FAN_MOTOR, "fan-motor") X(CAUTION_ELECTRONICS, "electronics") X(CAUTION_BELOW_GROUND, "below-ground") \
    X(CAUTION_ATTACHED, "attached") X(CAUTION_LIVED_IN, "lived-in") X(CAUTION_STORAGE, "storage")         \
    X(CAUTION_LEAVING, "leaving")          \
    X(CAUTION_WASTE, "waste") X(CAUTION_CHILDREN, "children") X(CAUTION_LABEL_FIRST, "label-first")

enum caution {
#define X(value, word) value,
    COAT_CAUTIONS(X)
#undef X
    CAUTION_COUNT
};

const char *caution_word(enum caution caution);
bool caution_from_word(const char *word, enum caution *ret_caution);

struct caution_text {
    const char *act;    /* what to do, at most 40 characters, for the plate: "Rags under water, lid on" */
    const char *text;   /* the whole caution in our own words, one to four sentences */
    const char *when;   /* when it applies, in words (SAFETY.md prints it) */
    const char *source; /* document and section, or "common practice" */
};
const struct caution_text *caution_text(enum caution caution);

/* What is being done; a set of cautions is asked for one subject. */
enum caution_subject {
    CAUTION_FOR_COAT,   /* a coat that was put on */
    CAUTION_FOR_BAKE,   /* a bake of it */
    CAUTION_FOR_STRIP,  /* chemical stripping, sanding to metal */
    CAUTION_FOR_SAND,
    CAUTION_FOR_SHOP    /* standing in the shop without any coat: what is always true */
};

struct caution_query {
    enum caution_subject subject;
    const struct material *material;          /* NULL where none is known: counts as the worst of all */
    enum application application;             /* how this coat was put on */
    enum old_finish old_finish;               /* of the piece; not tested counts as lead */
    enum answer place_risk[PLACE_RISK_COUNT]; /* unanswered counts as yes */
    bool wet;                                 /* not yet past its guard stage: hands and flames matter most now */
};

struct caution_set {
    unsigned count;
    enum caution code[CAUTION_COUNT]; /* in order of weight; what asks for a hand today first */
    bool wet;                         /* a wet coat is among them: rags, fan and flames lead */
};

/* Never empty: ventilation, solvent, flame and "the label comes first" are always in it for a coat. */
void cautions_for(const struct caution_query *query, struct caution_set *ret);

/* Adds all of `from` to *into, keeping the order of weight, each once. */
void cautions_merge(struct caution_set *into, const struct caution_set *from);

/* The sentence that defers: label, safety data sheet, local codes and licensed practice decide. */
extern const char caution_deferral[];

#endif
