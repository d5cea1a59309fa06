/* A material: a finish with its tables, limits and hazards. A plain value; versions of it are immutable rows in the
 * store. The built-in generic ones stand in one table in core/builtin.c, each figure with its source or mark. */
#ifndef COAT_MATERIAL_H
#define COAT_MATERIAL_H

#include "coat/law.h"
#include "coat/result.h"
#include "coat/solvent.h"
#include "coat/words.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define MATERIAL_NAME_SIZE 64
#define MATERIAL_SOURCE_SIZE 160
#define MATERIAL_THINNER_SIZE 64 /* as that of a coat */
#define MATERIAL_BOUNDARIES_MAX 5
#define MATERIAL_BAKE_ROWS_MAX 6

/* The moment at which one span of a stage ends and the next begins. Whether it is an opening (`then` is `go`) or a
 * closing (anything else) follows from `then`: see boundary_side(). */
struct stage_boundary {
    enum span_do then;            /* what may be done from here on */
    unsigned rows;
    struct cure_row row[LAW_ROWS_MAX];
    double label_h;               /* the floor (opening) or ceiling (closing) that the label prints; NAN where it prints none */
    enum basis basis;             /* where the rows come from */
    bool disputed;                /* sources disagree: "read the can" until the user confirms or replaces it */
    char source[MATERIAL_SOURCE_SIZE]; /* document and section, or what the practice is; empty for a label */
};

struct stage_table {
    enum stage stage;
    enum span_do first;           /* what may be done from the moment it is applied: `wait`, or `go` ("within 1 h") */
    unsigned boundaries;          /* 0: the material has no such stage */
    struct stage_boundary boundary[MATERIAL_BOUNDARIES_MAX];
};

struct material {
    char name[MATERIAL_NAME_SIZE];
    enum material_class material_class;
    bool builtin;
    enum application application;
    enum role usual_role;

    enum humidity_rule rule;
    double ref_rh_pct;            /* 50 unless told */
    double doubling_c;            /* hours double for each so many degrees colder where one row only is known */
    enum basis doubling_basis;
    double min_temp_c;            /* NAN where not known */
    double max_temp_c;            /* for putting it on; NAN where not known */
    double max_rh_pct;            /* NAN where not known */
    double film_um;               /* dry film that the hours are for; NAN where not known */
    double film_exponent;         /* 2 where solvent must diffuse out, 1 where evaporation limits */
    double solids_pct;            /* by volume, wet to dry film; NAN where not known */
    bool closes_by_hottest;       /* closings of recoat by the hottest air since the coat, not by what it had in all: a published urethane
                                     table (UFGS 09971) does so */
    enum stage guard;             /* the air must stay within limits until this stage; tack-free unless it says another */
    char limits_source[MATERIAL_SOURCE_SIZE];

    struct stage_table stage[STAGE_COUNT]; /* indexed by enum stage; boundaries == 0 where it has none */

    unsigned bake_rows;           /* a table of its own, never stretched from the room rows */
    struct cure_row bake_row[MATERIAL_BAKE_ROWS_MAX];
    char bake_source[MATERIAL_SOURCE_SIZE];
    double bake_too_hot_c;        /* what its label prints; see bake_limits_check(). Of the metal, from here on it is ruined; NAN: not told */
    double bake_too_long_c, bake_too_long_h; /* so long at that temperature is too long; both NAN: not told */

    double induction_min;         /* two-part: wait after mixing; NAN */
    double pot_life_min;          /* at 21 C; NAN */

    /* What evaporates from it, as its safety data sheet tells; see material_makeup(). */
    char solvent[SOLVENT_MIX_TEXT_SIZE]; /* as solvent_mix_parse reads it, shares of what evaporates by volume; empty: not told */
    double solvent_pct;           /* of it by volume, what evaporates, propellant included; NAN: not told */
    char thinner[MATERIAL_THINNER_SIZE]; /* what its label says to thin it with, as it names it; empty: not told */

    enum answer hazard[HAZARD_COUNT]; /* as answered; see material_hazard() */
};

/* The side of a boundary: SIDE_OPENING where it lets through (`go`, and for a size `test` counts as a closing because leaf
 * laid late is lost: its earliest moment is what is safe to tell), SIDE_CLOSING otherwise. */
enum law_side boundary_side(const struct stage_boundary *boundary);

/* Floor of an opening, ceiling of a closing, hours from application: the label's where it prints one, else the hours of the
 * warmest row (opening) or the coldest row (closing). NAN for the boundaries of the leaf stage, which have neither. */
double boundary_limit_h(enum stage stage, const struct stage_boundary *boundary);

/* The terms of the law of one boundary. The water rule holds for what happens while water leaves, `touch` and a size's
 * `leaf`; later stages are not slowed by damp. */
void boundary_terms(const struct material *material, enum stage stage, const struct stage_boundary *boundary,
                    struct law_terms *ret);

/* Whether a hazard counts: yes where answered yes, or unanswered while the class's worst member has it. */
bool material_hazard(const struct material *material, enum hazard hazard);

/* What evaporates from it, as two liquids by volume: as told, or where nobody told the worst of its class. */
struct material_makeup {
    bool told;                    /* which solvents; false: candidates of the class */
    bool share_told;              /* how much of it; false: what the class's may have at most */
    struct solvent_mix solvent;   /* all of it where told */
    double solvent_pct;
    struct solvent_mix propellant; /* no parts where there is none, or where it is told among the solvents */
    double propellant_pct;
    enum basis basis;
    const char *source;           /* what the untold part rests on */
};
void material_makeup(const struct material *material, struct material_makeup *ret);

/* Checks a material that came from outside, and fills what a user's own material leaves out: stages that its label does
 * not print come from the built-in of its class (label numbers always win), and a filled opening is raised where the label
 * has an earlier stage later (`tape` at least `handle` and so on). A size's window opens with `test` whatever the label
 * calls it, and gets the class's open time where the label prints none. Doing it twice changes nothing. On failure
 * *material is unchanged and *error names the field ("name", "stages.recoat", "limits.min_temp_c", "hazards"). */
COAT_CHECKED enum coat_result material_complete(struct material *material, struct coat_error *error);

/* An empty material of a class: limits and figures NAN, hazards unanswered, no stage. */
void material_init(struct material *material, enum material_class material_class);

/* The built-in materials, in the order in which they are seeded; *ret_count of them. One a class. */
const struct material *builtin_materials(unsigned *ret_count);
const struct material *builtin_of_class(enum material_class material_class);
/* What its limits, film and solids rest on: which of them its label told, and the source of the others. Cut where it does not fit. */
#define MATERIAL_LIMITS_TEXT_SIZE (MATERIAL_SOURCE_SIZE + 96)
void material_limits_text(const struct material *material, char text[MATERIAL_LIMITS_TEXT_SIZE]);
/* What its induction and its pot life rest on: the source of its class where it is the figure of its class, "label" where it is another, "" where it
 * has none. */
const char *material_induction_source(const struct material *material);
const char *material_pot_life_source(const struct material *material);

/* A window as people and labels write it, in one place:
 *     "16h"  "after 16h"  "within 1h or after 48h"  "5h to 8h, wipe to 24h, then scuff"  "6h to 48h, then scuff"
 *     "test 2h to 4h" (a size: from 2 h try it with a finger, from 4 h do not rely on it)
 * What follows an end must be said ("then scuff", "wipe", "strip" or "wait"). Hours hold at temp_c. Fills first and
 * boundaries of *ret (stage is left alone), basis `label`. On failure *ret is untouched; the field is "window". */
COAT_CHECKED enum coat_result window_parse(const char *text, double temp_c, struct stage_table *ret,
                                           struct coat_error *error);
/* Writes the same form back, of a boundary with several rows the one nearest 23 C. Returns text; 160 bytes suffice. */
char *window_print(const struct stage_table *table, char *text, size_t size);

#endif
