/* The built-in generic materials: starting points until the label on the tin is typed in. Hours are for one normal coat
 * at 23 C and 50 % RH unless a row says another temperature. Every figure carries a mark and where it comes from:
 *
 *     PUBLISHED  read in the text named beside it       PRACTICE  common practice, no published source found
 *     DERIVED    arithmetic on published figures        MEMORY    from memory, not checked
 *
 * Where a source gives a range, an opening takes its later figure and a closing its earlier one. A document that states no
 * temperature is read at 23 C. US government documents are cited by number: UFGS 09971 and 09973 (guide
 * specifications), USAF T.O. 1-1-8, TM 43-0139 (Army, painting), MIL-HDBK-1110 (UFC 3-190-06), EN0562 (Army course). */
#include "coat/material.h"

#include <math.h>
#include <stdio.h>

#define PUBLISHED BASIS_PUBLISHED
#define DERIVED BASIS_DERIVED
#define PRACTICE BASIS_PRACTICE
#define MEMORY BASIS_MEMORY

#define NOT_KNOWN ((double)NAN)

#define ROW_COUNT(...) ((unsigned)(sizeof((struct cure_row[]){__VA_ARGS__}) / sizeof(struct cure_row)))
#define BOUNDARY_COUNT(...) ((unsigned)(sizeof((struct stage_boundary[]){__VA_ARGS__}) / sizeof(struct stage_boundary)))

/* BOUNDARY(what from here on, mark, source, {C, h}, ...); AT is the same with one row at 23 C. */
#define BOUNDARY(what, mark, text, ...)                                                                  \
    {.then = (what), .rows = ROW_COUNT(__VA_ARGS__), .row = {__VA_ARGS__}, .label_h = NOT_KNOWN,          \
     .basis = (mark), .source = text}
#define AT(what, hours, mark, text) BOUNDARY(what, mark, text, {23.0, (hours)})
#define DISPUTED_AT(what, hours, mark, text)                                                             \
    {.then = (what), .rows = 1, .row = {{23.0, (hours)}}, .label_h = NOT_KNOWN, .basis = (mark),          \
     .disputed = true, .source = text}

#define WINDOW(which, first_span, ...)                                                                   \
    [which] = {.stage = (which), .first = (first_span), .boundaries = BOUNDARY_COUNT(__VA_ARGS__),        \
               .boundary = {__VA_ARGS__}}
#define POINT(which, hours, mark, text) WINDOW(which, SPAN_WAIT, AT(SPAN_GO, hours, mark, text))
#define NONE(which) [which] = {.stage = (which)}

/* The tape comes off while the film still tears clean; once it is hard the edge is scored first. */
#define UNMASK(opens_h, closes_h)                                                                        \
    WINDOW(STAGE_UNMASK, SPAN_WAIT,                                                                       \
           AT(SPAN_GO, opens_h, PRACTICE, "common practice: pull once set to touch"),                     \
           AT(SPAN_SCUFF, closes_h, MEMORY, "from memory: before it is hard; later score the edge first"))

/* One test finger decides: start testing at the earliest credible tack, do not rely on it after that and the shortest
 * open time. */
#define LEAF(tack_h, tack_text, lost_h, mark, lost_text)                                                 \
    WINDOW(STAGE_LEAF, SPAN_WAIT, AT(SPAN_TEST, tack_h, PUBLISHED, tack_text),                            \
           AT(SPAN_STRIP, lost_h, mark, lost_text))

#define NO_LEAF NONE(STAGE_LEAF), NONE(STAGE_SEAL)
#define NO_BAKE NONE(STAGE_BAKE)

#define LIMITS(min_c, max_c, rh_pct, text)                                                               \
    .ref_rh_pct = 50.0, .min_temp_c = (min_c), .max_temp_c = (max_c), .max_rh_pct = (rh_pct), .limits_source = text
/* What only a label can tell of the oven. */
#define LABEL_ONLY .bake_too_hot_c = NOT_KNOWN, .bake_too_long_c = NOT_KNOWN, .bake_too_long_h = NOT_KNOWN
/* Dry film, exponent and volume solids. An exponent of 2 is diffusion (from memory); it is also the cautious one on both sides. */
#define FILM(um, exponent, solids) .film_um = (um), .film_exponent = (exponent), .solids_pct = (solids), .solvent_pct = NOT_KNOWN, LABEL_ONLY
#define DOUBLING(kelvin, mark) .doubling_c = (kelvin), .doubling_basis = (mark)
#define ONE_PART .induction_min = NOT_KNOWN, .pot_life_min = NOT_KNOWN

/* A doubling each so many degrees is 10 / log2(Q10). */
#define DOUBLING_Q10_2_0 10.0   /* the usual default */
#define DOUBLING_Q10_1_5 17.095 /* what dries by evaporation */
#define DOUBLING_Q10_1_85 11.267 /* fitted to the published urethane table, rows at 18.3 and 40.8 C */
#define DOUBLING_Q10_2_1 9.342  /* 55 to 60 kJ/mol, epoxy with amine: Thermochim. Acta 447 (2006) 167 */

#define Y ANSWER_YES
#define N ANSWER_NO
#define HAZARDS(solvent, flammable, aerosol, self_heating, two_part, isocyanate, baked, sensitiser)      \
    .hazard = {[HAZARD_SOLVENT] = (solvent), [HAZARD_FLAMMABLE] = (flammable), [HAZARD_AEROSOL] = (aerosol), \
               [HAZARD_SELF_HEATING] = (self_heating), [HAZARD_TWO_PART] = (two_part),                    \
               [HAZARD_ISOCYANATE] = (isocyanate), [HAZARD_BAKED] = (baked),                              \
               [HAZARD_SKIN_SENSITISER] = (sensitiser)}

#define LIMITS_ENAMEL                                                                                    \
    "10 C: TM 43-0139 3-6; 32 C: MIL-HDBK-1110 7.4.1; 85 % RH: ISO 8502-4 practice, second-hand; film: ASTM D1640-03 table 1; " \
    "solids: common practice"
#define LIMITS_SIZE "15 C, 75 % RH: common practice; 32 C: MIL-HDBK-1110 7.4.1"
#define OVERNIGHT "EN0562 p. 73: alkyd enamel, dry enough overnight to sand and recoat; read as 12 to 16 h"
#define SIZES_2019 "trade journal article on gilding sizes, July 2019"
#define T_O_1_1_8 "USAF T.O. 1-1-8 para 5.6.2, epoxy primer at 75 F"
#define WINDOWS_09971 "UFGS 09971, table RECOAT WINDOWS, polyurethane over polyurethane; middle of each band"
#define TM_SHELLAC "TM 43-0139 para 2-23, shellac varnish"
#define TWO_DAYS "common practice in restoring: two days after the last coat, so that no fingerprints are left"

/* Brushed gloss enamel, whether on a whole body or as a touch-up. */
#define ENAMEL_STAGES                                                                                    \
    POINT(STAGE_TOUCH, 4.0, PRACTICE, "common practice: 2 to 4 h"),                                       \
    POINT(STAGE_DUST_FREE, 6.0, MEMORY, "from memory: between touch and tack-free"),                      \
    POINT(STAGE_TACK_FREE, 8.0, PRACTICE, "common practice: 6 to 8 h"),                                   \
    POINT(STAGE_HANDLE, 48.0, PRACTICE, TWO_DAYS),                                                        \
    POINT(STAGE_TAPE, 48.0, PRACTICE, "common practice: no tape before it may be handled"),               \
    UNMASK(4.0, 16.0),                                                                                    \
    POINT(STAGE_SAND, 16.0, PUBLISHED, OVERNIGHT),                                                        \
    POINT(STAGE_RECOAT, 16.0, PUBLISHED, OVERNIGHT),                                                      \
    POINT(STAGE_CURE, 720.0, PRACTICE, "common practice: 7 to 30 days; solvent-proof after six months, MIL-HDBK-1110"), \
    NO_LEAF, NO_BAKE

static const struct material builtins[MATERIAL_CLASS_COUNT] = {
    [CLASS_ALKYD_ENAMEL] = {
        .name = "gloss enamel, alkyd", .material_class = CLASS_ALKYD_ENAMEL, .builtin = true,
        .application = APPLY_BRUSH, .usual_role = ROLE_ENAMEL,
        .rule = HUMIDITY_OXIDISING, DOUBLING(DOUBLING_Q10_2_0, PRACTICE),
        LIMITS(10.0, 32.0, 85.0, LIMITS_ENAMEL), FILM(37.0, 2.0, 50.0), .guard = STAGE_TACK_FREE,
        .stage = {ENAMEL_STAGES}, ONE_PART,
        /* Cures by oxygen: rags heat. Anti-skinning agents and cobalt driers can sensitise (from memory). */
        HAZARDS(Y, Y, N, Y, N, N, N, Y),
    },
    [CLASS_SPRAY_ENAMEL] = {
        .name = "spray enamel, alkyd aerosol", .material_class = CLASS_SPRAY_ENAMEL, .builtin = true,
        .application = APPLY_AEROSOL, .usual_role = ROLE_ENAMEL,
        .rule = HUMIDITY_OXIDISING, DOUBLING(DOUBLING_Q10_2_0, PRACTICE),
        LIMITS(10.0, 32.0, 85.0,
               "10 C: TM 43-0139 3-6; 32 C: MIL-HDBK-1110 7.4.1; 85 % RH: ISO 8502-4 practice, second-hand; film: from memory"),
        FILM(25.0, 2.0, NOT_KNOWN), .guard = STAGE_TACK_FREE,
        .stage = {
            POINT(STAGE_TOUCH, 0.25, PRACTICE, "common practice: 15 min"),
            POINT(STAGE_DUST_FREE, 0.4, MEMORY, "from memory: between touch and tack-free"),
            POINT(STAGE_TACK_FREE, 0.5, PRACTICE, "common practice: 30 min"),
            POINT(STAGE_HANDLE, 48.0, PRACTICE, TWO_DAYS "; cans often print 2 h"),
            POINT(STAGE_TAPE, 48.0, PRACTICE, "common practice: no tape before it may be handled"),
            UNMASK(0.25, 2.0),
            POINT(STAGE_SAND, 48.0, PRACTICE, "common practice: as the second opening of its recoat window"),
            /* Solvents of a new coat swell a half-cured alkyd and lift it: hence the shut middle. Cans and handbooks
             * disagree on both gates. */
            WINDOW(STAGE_RECOAT, SPAN_GO,
                   DISPUTED_AT(SPAN_WAIT, 1.0, PRACTICE, "common practice: within 1 h; sources disagree, read the can"),
                   DISPUTED_AT(SPAN_GO, 48.0, PRACTICE, "common practice: after 24 or 48 h; sources disagree, read the can")),
            POINT(STAGE_CURE, 168.0, PRACTICE, "common practice: 7 days"),
            NO_LEAF, NO_BAKE,
        },
        ONE_PART,
        /* Solvent and propellant; overspray of an alkyd heats like its rags; sensitiser as the brushed enamel. */
        HAZARDS(Y, Y, Y, Y, N, N, N, Y),
    },
    [CLASS_ALKYD_PRIMER] = {
        .name = "primer, alkyd", .material_class = CLASS_ALKYD_PRIMER, .builtin = true,
        .application = APPLY_BRUSH, .usual_role = ROLE_PRIMER,
        .rule = HUMIDITY_OXIDISING, DOUBLING(DOUBLING_Q10_2_0, PRACTICE),
        LIMITS(10.0, 32.0, 85.0, LIMITS_ENAMEL), FILM(37.0, 2.0, 45.0), .guard = STAGE_TACK_FREE,
        .stage = {
            POINT(STAGE_TOUCH, 2.0, PUBLISHED, "TT-P-645C table III, at most 2 h; air of FED-STD-141 method 4061.3 assumed"),
            POINT(STAGE_DUST_FREE, 3.0, MEMORY, "from memory: between touch and tack-free"),
            POINT(STAGE_TACK_FREE, 4.0, PRACTICE, "common practice: 4 h"),
            POINT(STAGE_HANDLE, 16.0, PRACTICE, "common practice: overnight"),
            POINT(STAGE_TAPE, 24.0, PRACTICE, "common practice: a day, and not before it may be handled"),
            UNMASK(2.0, 8.0),
            POINT(STAGE_SAND, 16.0, PRACTICE, "common practice: overnight"),
            POINT(STAGE_RECOAT, 16.0, PRACTICE, "common practice: overnight"),
            POINT(STAGE_CURE, 168.0, PRACTICE, "common practice: 7 days"),
            NO_LEAF, NO_BAKE,
        },
        ONE_PART,
        /* As the enamel: an oil-modified resin in mineral spirits. */
        HAZARDS(Y, Y, N, Y, N, N, N, Y),
    },
    [CLASS_LACQUER] = {
        .name = "lacquer, nitrocellulose or acrylic", .material_class = CLASS_LACQUER, .builtin = true,
        .application = APPLY_SPRAY, .usual_role = ROLE_CLEAR,
        .rule = HUMIDITY_SOLVENT, DOUBLING(DOUBLING_Q10_1_5, PRACTICE),
        /* Damp air does not slow it, it blushes. Published films disagree: 25 um here, 12.5 um in ASTM D1640. */
        LIMITS(2.0, 32.0, 70.0,
               "2 to 32 C: MIL-HDBK-1110 7.4.1; 70 % RH, blushing: common practice; film: FED-STD-141D method 4061.3 table I; "
               "solids: from memory"),
        FILM(25.0, 2.0, 20.0), .guard = STAGE_TACK_FREE,
        .stage = {
            POINT(STAGE_TOUCH, 0.2, PRACTICE, "common practice: 12 min"),
            POINT(STAGE_DUST_FREE, 0.25, MEMORY, "from memory: between touch and tack-free"),
            POINT(STAGE_TACK_FREE, 0.3, PRACTICE, "common practice: 18 min"),
            POINT(STAGE_HANDLE, 1.0, PRACTICE, "common practice: 1 h"),
            POINT(STAGE_TAPE, 24.0, MEMORY, "from memory: a day, while solvent is still leaving"),
            UNMASK(0.2, 1.0),
            POINT(STAGE_SAND, 2.0, MEMORY, "from memory: once it powders"),
            /* No closing: it stays soluble, the next coat bites at any time (MIL-HDBK-1110). */
            POINT(STAGE_RECOAT, 0.5, PRACTICE, "common practice: 30 min; stays soluble, no closing: MIL-HDBK-1110"),
            POINT(STAGE_CURE, 168.0, PRACTICE, "common practice: 1 to 7 days"),
            NO_LEAF, NO_BAKE,
        },
        ONE_PART,
        /* Nitrocellulose overspray and its mixtures with oil residues can take fire by themselves: 1910.107(b)(5)(vi). */
        HAZARDS(Y, Y, N, Y, N, N, N, N),
    },
    [CLASS_SHELLAC] = {
        .name = "shellac", .material_class = CLASS_SHELLAC, .builtin = true,
        .application = APPLY_BRUSH, .usual_role = ROLE_CLEAR,
        .rule = HUMIDITY_SOLVENT, DOUBLING(DOUBLING_Q10_1_5, PRACTICE),
        LIMITS(10.0, 32.0, 70.0,
               "10 C, 70 % RH, blushing: common practice; 32 C: MIL-HDBK-1110 7.4.1; film: FED-STD-141D method 4061.3 table I"),
        FILM(25.0, 2.0, NOT_KNOWN), .guard = STAGE_TACK_FREE,
        .stage = {
            POINT(STAGE_TOUCH, 0.25, PRACTICE, "common practice: 15 min"),
            POINT(STAGE_DUST_FREE, 0.4, MEMORY, "from memory: between touch and tack-free"),
            POINT(STAGE_TACK_FREE, 0.5, PRACTICE, "common practice: 30 min"),
            POINT(STAGE_HANDLE, 1.0, PUBLISHED, TM_SHELLAC),
            POINT(STAGE_TAPE, 24.0, PRACTICE, "common practice: once hard"),
            UNMASK(0.25, 1.0),
            POINT(STAGE_SAND, 3.0, MEMORY, "from memory: with the recoat"),
            POINT(STAGE_RECOAT, 3.0, PUBLISHED, TM_SHELLAC ", 2 to 3 h; no closing: from memory"),
            POINT(STAGE_CURE, 24.0, PUBLISHED, TM_SHELLAC ", hard"),
            NO_LEAF, NO_BAKE,
        },
        ONE_PART,
        /* Alcohol, which burns at room temperature; no drying oil. */
        HAZARDS(Y, Y, N, N, N, N, N, N),
    },
    [CLASS_OIL_VARNISH] = {
        .name = "varnish, oil or spar", .material_class = CLASS_OIL_VARNISH, .builtin = true,
        .application = APPLY_BRUSH, .usual_role = ROLE_CLEAR,
        .rule = HUMIDITY_OXIDISING, DOUBLING(DOUBLING_Q10_2_0, PRACTICE),
        LIMITS(10.0, 32.0, 85.0, LIMITS_ENAMEL), FILM(25.0, 2.0, 50.0), .guard = STAGE_TACK_FREE,
        .stage = {
            POINT(STAGE_TOUCH, 6.0, PRACTICE, "common practice: 4 to 6 h"),
            POINT(STAGE_DUST_FREE, 7.0, MEMORY, "from memory: between touch and tack-free"),
            POINT(STAGE_TACK_FREE, 8.0, PRACTICE, "common practice: 8 h"),
            POINT(STAGE_HANDLE, 24.0, PRACTICE, "common practice: a day"),
            POINT(STAGE_TAPE, 72.0, MEMORY, "from memory: three days"),
            UNMASK(6.0, 16.0),
            POINT(STAGE_SAND, 24.0, PRACTICE, "common practice: with the recoat"),
            WINDOW(STAGE_RECOAT, SPAN_WAIT, AT(SPAN_GO, 24.0, PRACTICE, "common practice: a day"),
                   AT(SPAN_SCUFF, 72.0, PRACTICE, "common practice: abrade after three days")),
            POINT(STAGE_CURE, 720.0, PRACTICE, "common practice: 7 to 30 days"),
            NO_LEAF, NO_BAKE,
        },
        ONE_PART,
        /* Drying oil heats in rags; often thinned with turpentine, which sensitises skin (NIOSH Pocket Guide). */
        HAZARDS(Y, Y, N, Y, N, N, N, Y),
    },
    [CLASS_EPOXY_PRIMER] = {
        .name = "epoxy primer, two-part", .material_class = CLASS_EPOXY_PRIMER, .builtin = true,
        .application = APPLY_SPRAY, .usual_role = ROLE_PRIMER,
        .rule = HUMIDITY_SOLVENT, DOUBLING(DOUBLING_Q10_2_1, DERIVED),
        LIMITS(15.0, 32.0, 85.0,
               "15 C, 85 % RH: second-hand; 32 C: MIL-HDBK-1110 7.4.1; film: USAF T.O. 1-1-8 5.6.2; solids: from memory"),
        FILM(19.0, 2.0, 45.0), .guard = STAGE_TACK_FREE,
        .stage = {
            POINT(STAGE_TOUCH, 2.0, PRACTICE, "common practice: 2 h"),
            POINT(STAGE_DUST_FREE, 2.5, MEMORY, "from memory: between touch and tack-free"),
            POINT(STAGE_TACK_FREE, 3.0, PRACTICE, "common practice: 3 h"),
            POINT(STAGE_HANDLE, 8.0, PRACTICE, "common practice: 8 h"),
            POINT(STAGE_TAPE, 16.0, MEMORY, "from memory: overnight"),
            UNMASK(2.0, 6.0),
            POINT(STAGE_SAND, 16.0, MEMORY, "from memory: overnight"),
            WINDOW(STAGE_RECOAT, SPAN_WAIT, BOUNDARY(SPAN_GO, PUBLISHED, T_O_1_1_8 ": after 5 h", {23.9, 5.0}),
                   BOUNDARY(SPAN_WIPE, PUBLISHED, T_O_1_1_8 ": past 8 h wipe with solvent or abrade", {23.9, 8.0}),
                   BOUNDARY(SPAN_SCUFF, PUBLISHED, T_O_1_1_8 ": past 24 h abrade", {23.9, 24.0})),
            POINT(STAGE_CURE, 168.0, PRACTICE, "common practice: 7 days"),
            NO_LEAF, NO_BAKE,
        },
        .induction_min = 60.0, .pot_life_min = 240.0,
        /* Resins and amines sensitise skin. Generic epoxies hold no isocyanate; an unanswered two-part counts as if. */
        HAZARDS(Y, Y, N, N, Y, N, N, Y),
    },
    [CLASS_EPOXY_BUILD] = {
        .name = "epoxy build coat, two-part", .material_class = CLASS_EPOXY_BUILD, .builtin = true,
        .application = APPLY_SPRAY, .usual_role = ROLE_FILLER,
        .rule = HUMIDITY_SOLVENT, DOUBLING(DOUBLING_Q10_2_1, DERIVED),
        LIMITS(16.0, 38.0, 85.0, "16 to 38 C: UFGS 09973; 85 % RH: second-hand; film and solids: from memory"),
        FILM(75.0, 2.0, 65.0), .guard = STAGE_TACK_FREE,
        .stage = {
            POINT(STAGE_TOUCH, 3.0, PRACTICE, "common practice: 3 h"),
            POINT(STAGE_DUST_FREE, 4.5, MEMORY, "from memory: between touch and tack-free"),
            POINT(STAGE_TACK_FREE, 6.0, PRACTICE, "common practice: 6 h"),
            POINT(STAGE_HANDLE, 24.0, PRACTICE, "common practice: a day"),
            POINT(STAGE_TAPE, 24.0, PRACTICE, "common practice: no tape before it may be handled"),
            UNMASK(3.0, 12.0),
            POINT(STAGE_SAND, 24.0, MEMORY, "from memory: a day"),
            WINDOW(STAGE_RECOAT, SPAN_WAIT, AT(SPAN_GO, 16.0, PRACTICE, "common practice: overnight"),
                   AT(SPAN_SCUFF, 96.0, PUBLISHED,
                      "MIL-HDBK-1110 para 2.3.4: topcoat within 4 days; another text, NAVFAC MO-124, allows 7")),
            POINT(STAGE_CURE, 168.0, PRACTICE, "common practice: 7 days"),
            NO_LEAF, NO_BAKE,
        },
        .induction_min = 60.0, .pot_life_min = 240.0,
        HAZARDS(Y, Y, N, N, Y, N, N, Y),
    },
    [CLASS_POLYURETHANE] = {
        .name = "polyurethane, two-part", .material_class = CLASS_POLYURETHANE, .builtin = true,
        .application = APPLY_SPRAY, .usual_role = ROLE_CLEAR,
        .rule = HUMIDITY_SOLVENT, DOUBLING(DOUBLING_Q10_1_85, DERIVED), .closes_by_hottest = true,
        LIMITS(16.0, 38.0, 85.0,
               "16 to 38 C: UFGS 09973; 85 % RH: second-hand; film: USAF T.O. 1-1-8 6.12.7.7; solids: from memory"),
        FILM(51.0, 2.0, 50.0), .guard = STAGE_TACK_FREE,
        .stage = {
            POINT(STAGE_TOUCH, 1.0, PRACTICE, "common practice: 1 h"),
            POINT(STAGE_DUST_FREE, 1.5, MEMORY, "from memory: between touch and tack-free"),
            POINT(STAGE_TACK_FREE, 4.0, PRACTICE, "common practice: 4 h"),
            POINT(STAGE_HANDLE, 24.0, PRACTICE, "common practice: a day"),
            POINT(STAGE_TAPE, 24.0, PRACTICE, "common practice: no tape before it may be handled"),
            UNMASK(1.0, 6.0),
            POINT(STAGE_SAND, 24.0, PRACTICE, "common practice: a day"),
            WINDOW(STAGE_RECOAT, SPAN_WAIT,
                   BOUNDARY(SPAN_GO, PUBLISHED, WINDOWS_09971,
                            {18.3, 8.0}, {24.2, 6.0}, {29.7, 4.0}, {35.3, 3.0}, {40.8, 2.0}, {46.4, 1.0}),
                   BOUNDARY(SPAN_SCUFF, PUBLISHED, WINDOWS_09971,
                            {18.3, 48.0}, {24.2, 48.0}, {29.7, 36.0}, {35.3, 24.0}, {40.8, 12.0}, {46.4, 2.0})),
            POINT(STAGE_CURE, 168.0, PRACTICE, "common practice: 7 days"),
            NO_LEAF, NO_BAKE,
        },
        .induction_min = NOT_KNOWN, .pot_life_min = 120.0,
        /* The hardener is an isocyanate, which sensitises lungs and skin (NIOSH 96-111). */
        HAZARDS(Y, Y, N, N, Y, Y, N, Y),
    },
    [CLASS_WATERBORNE] = {
        .name = "waterborne acrylic or urethane", .material_class = CLASS_WATERBORNE, .builtin = true,
        .application = APPLY_BRUSH, .usual_role = ROLE_CLEAR,
        .rule = HUMIDITY_WATER, DOUBLING(DOUBLING_Q10_1_5, PRACTICE),
        LIMITS(10.0, 32.0, 75.0,
               "10 C: common practice; 75 % RH: TM 55-1500-345-23; 32 C: MIL-HDBK-1110 7.4.1; film: FED-STD-141D method 4061.3; "
               "solids: from memory"),
        FILM(30.0, 2.0, 35.0), .guard = STAGE_TACK_FREE,
        .stage = {
            POINT(STAGE_TOUCH, 0.5, PUBLISHED, "EN0562 p. 81: waterborne polyurethane enamel, touch 30 min"),
            POINT(STAGE_DUST_FREE, 0.75, MEMORY, "from memory: between touch and tack-free"),
            POINT(STAGE_TACK_FREE, 1.0, PRACTICE, "common practice: 1 h"),
            POINT(STAGE_HANDLE, 6.0, PRACTICE, "common practice: 6 h"),
            POINT(STAGE_TAPE, 24.0, MEMORY, "from memory: a day"),
            UNMASK(0.5, 4.0),
            POINT(STAGE_SAND, 6.0, MEMORY, "from memory: when it may be handled"),
            WINDOW(STAGE_RECOAT, SPAN_WAIT, AT(SPAN_GO, 4.0, PRACTICE, "common practice: 2 to 4 h"),
                   AT(SPAN_SCUFF, 168.0, PRACTICE, "common practice: abrade after 7 days")),
            POINT(STAGE_CURE, 720.0, PRACTICE, "common practice: 14 to 30 days"),
            NO_LEAF, NO_BAKE,
        },
        ONE_PART,
        /* Co-solvents give off vapour; the liquid does not burn; preservatives can sensitise skin (from memory). */
        HAZARDS(Y, N, N, N, N, N, N, Y),
    },
    [CLASS_SIZE_QUICK] = {
        .name = "quick oil size", .material_class = CLASS_SIZE_QUICK, .builtin = true,
        .application = APPLY_BRUSH, .usual_role = ROLE_SIZE,
        .rule = HUMIDITY_OXIDISING, DOUBLING(DOUBLING_Q10_2_0, PRACTICE),
        LIMITS(15.0, 32.0, 75.0, LIMITS_SIZE), FILM(NOT_KNOWN, 2.0, NOT_KNOWN), .guard = STAGE_LEAF,
        .stage = {
            NONE(STAGE_TOUCH), NONE(STAGE_DUST_FREE), NONE(STAGE_TACK_FREE), NONE(STAGE_HANDLE), NONE(STAGE_TAPE),
            NONE(STAGE_UNMASK), NONE(STAGE_SAND), NONE(STAGE_RECOAT), NO_BAKE,
            LEAF(1.0, SIZES_2019 ": tack in 1 to 3 h", 2.0, DERIVED,
                 SIZES_2019 ": open about as long as the time to tack; earliest tack plus 1 h"),
            POINT(STAGE_SEAL, 24.0, PRACTICE, "common practice: next day"),
            POINT(STAGE_CURE, 72.0, PRACTICE, "common practice: 3 days"),
        },
        ONE_PART,
        /* Drying oil, often with turpentine. */
        HAZARDS(Y, Y, N, Y, N, N, N, Y),
    },
    [CLASS_SIZE_SLOW] = {
        .name = "slow oil size", .material_class = CLASS_SIZE_SLOW, .builtin = true,
        .application = APPLY_BRUSH, .usual_role = ROLE_SIZE,
        .rule = HUMIDITY_OXIDISING, DOUBLING(DOUBLING_Q10_2_0, PRACTICE),
        LIMITS(15.0, 32.0, 75.0, LIMITS_SIZE), FILM(NOT_KNOWN, 2.0, NOT_KNOWN), .guard = STAGE_LEAF,
        .stage = {
            NONE(STAGE_TOUCH), NONE(STAGE_DUST_FREE), NONE(STAGE_TACK_FREE), NONE(STAGE_HANDLE), NONE(STAGE_TAPE),
            NONE(STAGE_UNMASK), NONE(STAGE_SAND), NONE(STAGE_RECOAT), NO_BAKE,
            LEAF(12.0, SIZES_2019 ": about 12 h; the same in How-To, Gilding (before 1923)", 24.0, DERIVED,
                 SIZES_2019 ": open about as long as the time to tack; earliest tack plus 12 h"),
            POINT(STAGE_SEAL, 336.0, PUBLISHED, "conservation forum, University of Delaware, 2024: a few weeks; two taken as the least"),
            POINT(STAGE_CURE, 720.0, PRACTICE, "common practice: 14 to 30 days"),
        },
        ONE_PART,
        /* Drying oil, often with turpentine. */
        HAZARDS(Y, Y, N, Y, N, N, N, Y),
    },
    [CLASS_SIZE_JAPAN] = {
        .name = "japan gold size", .material_class = CLASS_SIZE_JAPAN, .builtin = true,
        .application = APPLY_BRUSH, .usual_role = ROLE_SIZE,
        .rule = HUMIDITY_OXIDISING, DOUBLING(DOUBLING_Q10_2_0, PRACTICE),
        LIMITS(15.0, 32.0, 75.0, LIMITS_SIZE), FILM(NOT_KNOWN, 2.0, NOT_KNOWN), .guard = STAGE_LEAF,
        .stage = {
            NONE(STAGE_TOUCH), NONE(STAGE_DUST_FREE), NONE(STAGE_TACK_FREE), NONE(STAGE_HANDLE), NONE(STAGE_TAPE),
            NONE(STAGE_UNMASK), NONE(STAGE_SAND), NONE(STAGE_RECOAT), NO_BAKE,
            LEAF(2.0, "How-To, Gilding (before 1923): takes leaf in 2 to 3 h", 3.0, PRACTICE,
                 "common practice: open 1 to 2 h; earliest tack plus 1 h"),
            POINT(STAGE_SEAL, 24.0, PRACTICE, "common practice: a day"),
            POINT(STAGE_CURE, 72.0, PRACTICE, "common practice: 3 days"),
        },
        ONE_PART,
        /* Oil and driers in turpentine or mineral spirits. */
        HAZARDS(Y, Y, N, Y, N, N, N, Y),
    },
    [CLASS_SIZE_WATER] = {
        .name = "leaf size, water-based", .material_class = CLASS_SIZE_WATER, .builtin = true,
        .application = APPLY_BRUSH, .usual_role = ROLE_SIZE,
        .rule = HUMIDITY_WATER, DOUBLING(DOUBLING_Q10_1_5, PRACTICE),
        LIMITS(10.0, 32.0, 75.0, "10 C, 75 % RH: common practice; 32 C: MIL-HDBK-1110 7.4.1"),
        FILM(NOT_KNOWN, 1.0, NOT_KNOWN), /* evaporation limits it */ .guard = STAGE_LEAF,
        .stage = {
            NONE(STAGE_TOUCH), NONE(STAGE_DUST_FREE), NONE(STAGE_TACK_FREE), NONE(STAGE_HANDLE), NONE(STAGE_TAPE),
            NONE(STAGE_UNMASK), NONE(STAGE_SAND), NONE(STAGE_RECOAT), NO_BAKE,
            LEAF(0.25, SIZES_2019 ": tack in 15 to 30 min", 24.0, PRACTICE,
                 "common practice: a day; published texts say open until dust spoils it"),
            POINT(STAGE_SEAL, 24.0, PRACTICE, "common practice: a day"),
            POINT(STAGE_CURE, 72.0, PRACTICE, "common practice: 3 days"),
        },
        ONE_PART,
        /* Co-solvents counted to be on the safe side; does not burn. */
        HAZARDS(Y, N, N, N, N, N, N, N),
    },
    [CLASS_TRANSFER] = {
        .name = "transfer, waterslide", .material_class = CLASS_TRANSFER, .builtin = true,
        .application = APPLY_TRANSFER, .usual_role = ROLE_DECAL,
        .rule = HUMIDITY_WATER, DOUBLING(DOUBLING_Q10_1_5, PRACTICE),
        LIMITS(15.0, 32.0, 75.0, "15 C, 75 % RH: common practice; 32 C: MIL-HDBK-1110 7.4.1"),
        FILM(NOT_KNOWN, 1.0, NOT_KNOWN), .guard = STAGE_TACK_FREE,
        .stage = {
            POINT(STAGE_TOUCH, 1.0, PRACTICE, "common practice: 1 h"),
            NONE(STAGE_DUST_FREE),
            POINT(STAGE_TACK_FREE, 2.0, PRACTICE, "common practice: 2 h"),
            POINT(STAGE_HANDLE, 12.0, PRACTICE, "common practice: overnight"),
            NONE(STAGE_TAPE), NONE(STAGE_UNMASK), NONE(STAGE_SAND),
            POINT(STAGE_RECOAT, 24.0, PRACTICE, "common practice: a day before the clear; second-hand texts say overnight"),
            POINT(STAGE_CURE, 24.0, PRACTICE, "common practice: a day"),
            NO_LEAF, NO_BAKE,
        },
        ONE_PART,
        /* Softening liquids for transfers can hold glycol ethers (from memory): counted as solvent. */
        HAZARDS(Y, N, N, N, N, N, N, N),
    },
    [CLASS_BAKING_JAPAN] = {
        .name = "baking japan, black", .material_class = CLASS_BAKING_JAPAN, .builtin = true,
        .application = APPLY_BRUSH, .usual_role = ROLE_JAPAN,
        .rule = HUMIDITY_OXIDISING, DOUBLING(DOUBLING_Q10_2_0, PRACTICE),
        LIMITS(18.0, 32.0, 85.0, "18 C, 85 % RH: common practice; 32 C: MIL-HDBK-1110 7.4.1"),
        FILM(NOT_KNOWN, 2.0, NOT_KNOWN), .guard = STAGE_BAKE,
        /* It is fit to handle and to recoat when cold after its bake, which is no matter of room hours. */
        .stage = {
            POINT(STAGE_TOUCH, 4.0, PRACTICE, "common practice: sets up in about 4 h"),
            NONE(STAGE_DUST_FREE), NONE(STAGE_TACK_FREE), NONE(STAGE_HANDLE), NONE(STAGE_TAPE), NONE(STAGE_UNMASK),
            NONE(STAGE_SAND), NONE(STAGE_RECOAT), NONE(STAGE_CURE), NO_LEAF,
            POINT(STAGE_BAKE, 4.0, PRACTICE, "common practice: several hours at room temperature to level and lose solvent"),
        },
        .bake_rows = 2, .bake_row = {{121.0, 4.0}, {149.0, 2.0}},
        .bake_source = "Artisan, Japanning (before 1923): 250 to 300 F, 2 to 4 h or more, blacks longest; longest with coolest is our reading",
        ONE_PART,
        /* Asphalt and linseed in turpentine or mineral spirits, cured by heat. */
        HAZARDS(Y, Y, N, Y, N, N, Y, Y),
    },
    [CLASS_STOVING_ENAMEL] = {
        .name = "stoving enamel", .material_class = CLASS_STOVING_ENAMEL, .builtin = true,
        .application = APPLY_SPRAY, .usual_role = ROLE_ENAMEL,
        .rule = HUMIDITY_SOLVENT, DOUBLING(DOUBLING_Q10_2_0, PRACTICE),
        LIMITS(15.0, 32.0, 85.0,
               "15 C, 85 % RH: common practice; 32 C: MIL-HDBK-1110 7.4.1; film: ASTM D1640-03 table 1; solids: from memory"),
        FILM(37.0, 2.0, 40.0), .guard = STAGE_BAKE,
        .stage = {
            POINT(STAGE_TOUCH, 0.3, PRACTICE, "common practice: 20 min"),
            NONE(STAGE_DUST_FREE), NONE(STAGE_TACK_FREE), NONE(STAGE_HANDLE), NONE(STAGE_TAPE), NONE(STAGE_UNMASK),
            NONE(STAGE_SAND), NONE(STAGE_RECOAT), NONE(STAGE_CURE), NO_LEAF,
            POINT(STAGE_BAKE, 0.5, PRACTICE, "common practice: 10 to 30 min open flash at room temperature"),
        },
        .bake_rows = 3, .bake_row = {{110.0, 0.75}, {130.0, 0.5}, {176.0, 10.0 / 60.0}},
        .bake_source = "Metal Finishing guidebook 2012-13, baked alkyds (110, 176 C); J. Serb. Chem. Soc. 70 (2005) 593 (130 C)",
        ONE_PART,
        /* Alkyd with melamine: residues counted as self-heating; free formaldehyde can sensitise (from memory). */
        HAZARDS(Y, Y, N, Y, N, N, Y, Y),
    },
    [CLASS_TOUCH_UP] = {
        .name = "touch-up enamel", .material_class = CLASS_TOUCH_UP, .builtin = true,
        .application = APPLY_BRUSH, .usual_role = ROLE_TOUCH_UP,
        .rule = HUMIDITY_OXIDISING, DOUBLING(DOUBLING_Q10_2_0, PRACTICE),
        LIMITS(10.0, 32.0, 85.0, LIMITS_ENAMEL), FILM(37.0, 2.0, 50.0), .guard = STAGE_TACK_FREE,
        /* No text speaks of touch-ups by themselves: the figures of brushed alkyd enamel, which it is. */
        .stage = {ENAMEL_STAGES}, ONE_PART,
        HAZARDS(Y, Y, N, Y, N, N, N, Y),
    },
};

const struct material *builtin_materials(unsigned *ret_count)
{
    *ret_count = MATERIAL_CLASS_COUNT;
    return builtins;
}

const struct material *builtin_of_class(enum material_class material_class)
{
    return (unsigned)material_class < MATERIAL_CLASS_COUNT ? &builtins[material_class] : NULL;
}

/* ---- what figures rest on ---- */

static bool is_of_class(double value, double of_class)
{
    return fabs(value - of_class) < 1e-6;
}

/* Whether a figure is there and is not that of its class. */
static bool is_told(double value, double of_class)
{
    return !isnan(value) && !is_of_class(value, of_class);
}

void material_limits_text(const struct material *material, char text[MATERIAL_LIMITS_TEXT_SIZE])
{
    const struct material *of_class = builtin_of_class(material->material_class);
    size_t used = 0;
    text[0] = '\0';
    if (of_class != NULL) {
        const struct {
            const char *name;
            bool told;
        } figures[] = {
            {"coldest", is_told(material->min_temp_c, of_class->min_temp_c)}, {"warmest", is_told(material->max_temp_c, of_class->max_temp_c)},
            {"dampest", is_told(material->max_rh_pct, of_class->max_rh_pct)}, {"film", is_told(material->film_um, of_class->film_um)},
            {"solids", is_told(material->solids_pct, of_class->solids_pct)},
        };
        for (size_t i = 0; i < sizeof figures / sizeof *figures; i++) {
            if (figures[i].told)
                used += (size_t)snprintf(text + used, MATERIAL_LIMITS_TEXT_SIZE - used, "%s%s", used == 0 ? "label: " : ", ", figures[i].name);
        }
    }
    if (material->limits_source[0] != '\0')
        snprintf(text + used, MATERIAL_LIMITS_TEXT_SIZE - used, "%s%s", used > 0 ? "; else " : "", material->limits_source);
}

#define EPOXY_MIXING {"published: NAVFAC MO-124, 0.5 to 1 h above 70 F", "published: UFGS 09971 para 3.7.1.3, epoxy at 21 C"}
static const struct {
    const char *induction, *pot_life;
} mixing_sources[MATERIAL_CLASS_COUNT] = {
    [CLASS_EPOXY_PRIMER] = EPOXY_MIXING,
    [CLASS_EPOXY_BUILD] = EPOXY_MIXING,
    [CLASS_POLYURETHANE] = {NULL, "published: UFGS 09971 para 3.7.1.3, at 21 C and 50 % RH; damp air shortens it"},
};

static const char *source_of(double minutes, double of_class, const char *source)
{
    if (isnan(minutes))
        return "";
    return source != NULL && is_of_class(minutes, of_class) ? source : "label";
}

const char *material_induction_source(const struct material *material)
{
    const struct material *of_class = builtin_of_class(material->material_class);
    return of_class == NULL ? "" : source_of(material->induction_min, of_class->induction_min, mixing_sources[material->material_class].induction);
}

const char *material_pot_life_source(const struct material *material)
{
    const struct material *of_class = builtin_of_class(material->material_class);
    return of_class == NULL ? "" : source_of(material->pot_life_min, of_class->pot_life_min, mixing_sources[material->material_class].pot_life);
}
