/* The review before a bake: the questions, what the heat would ruin, and the refusals that follow from the answers. All texts are ours.
 * Where nobody answered, the answer is the worst. */
#include "coat/bake.h"

#include <math.h>

#define YES ANSWER_YES
#define NO ANSWER_NO

static const struct bake_question questions[] = {
    [BAKE_ITEM_DEGREASED] = {
        "Is it free of oil, grease and old polish, in the bores and seams as well?", YES, false,
        "Oil and grease come out of castings in the heat, smoke and lift the coat: clean it first.", "common practice"},
    [BAKE_ITEM_FLASHED_OFF] = {
        "Is the label's flash-off time over, and has it stopped smelling of solvent?", YES, true,
        "What still dries gives off vapour that the heat can light: let it flash off until it no longer smells.",
        "29 CFR 1910.107(d)(2) and (d)(12)"},
    [BAKE_ITEM_SEALED_HOLLOW] = {
        "Is anything on it sealed or hollow without an opening: a tube, a float, a plugged bore, a dashpot?", NO, true,
        "What is shut in presses outward in the heat and can burst: open or take off every sealed hollow.", "common practice"},
    [BAKE_ITEM_LOOKED_OVER] = {
        "Have you looked it over for all that heat ruins, on the back and inside as well?", YES, false,
        "What heat ruins was not looked for: go through the list with the piece in front of you.", "common practice"},
    [BAKE_ITEM_OLD_FINISH] = {
        "Is its old finish tested and clear of lead, or gone down to the bare metal?", YES, true,
        "An old finish that was not tested counts as lead, and heat drives harmful fume and dust from it: test it, or strip it first.",
        "24 CFR 35.140 and 40 CFR 745.85, housing rules used as a yardstick; that it is not baked: common practice"},
    [BAKE_ITEM_FOOD_OVEN] = {
        "Is this oven used for food, or will it ever be again?", NO, true,
        "What a finish gives off stays in the oven and goes into food: use an oven that never sees food.",
        "common practice, no regulation found"},
    [BAKE_ITEM_OPEN_HEAT] = {
        "Can vapour reach an open element, a burner or a pilot flame, in the oven or beside it?", NO, true,
        "An open element, a burner or a pilot lights vapour: heat from outside the chamber, and have every flame near it out.",
        "29 CFR 1910.107(j)(3) and 1910.106(e)(2)(iv), the principle; open elements: common practice"},
    [BAKE_ITEM_NEAR_SOLVENT] = {
        "Is anything sprayed, wet, open or kept near the oven that can burn: a coat, a tin, cans, rags?", NO, true,
        "Nothing is sprayed, and no wet coat, open tin, can or oily rag is kept, within 20 ft (6 m) of a hot oven.",
        "29 CFR 1910.107(c)(2); International Fire Code 3003.2 to 3003.4, as adopted locally"},
    [BAKE_ITEM_BELOW_GROUND] = {
        "Does the oven stand below ground?", NO, true,
        "Vapour sinks and gathers below ground: an oven stands at or above it.",
        "International Fire Code 3003.2, as adopted locally"},
    [BAKE_ITEM_CUT_OUT] = {
        "Has the oven an over-temperature cut-out of its own, apart from its thermostat, and is it set?", YES, true,
        "A thermostat that sticks heats on without end: the oven needs a cut-out of its own that ends the heat.",
        "NFPA 86, from memory; common practice"},
    [BAKE_ITEM_EXHAUST] = {
        "Does the exhaust run, out of doors, and does the heat go off where it stops?", YES, true,
        "The exhaust has to run before and during the heat, out of doors, and the heat has to go off where it stops.",
        "29 CFR 1910.107(j)(3) and (j)(4); 29 CFR 1910.125(e)(3)"},
    [BAKE_ITEM_PURGED] = {
        "Has the exhaust run before the heat, for 3 minutes and four times the oven's volume at least?", YES, true,
        "Vapour that gathered in the cold oven meets the heat: let the exhaust run first, 3 minutes and four oven volumes at least.",
        "29 CFR 1910.107(j)(4) (3 minutes); NFPA 86, from memory (four volumes)"},
    [BAKE_ITEM_EXTINGUISHER] = {
        "Is an extinguisher for burning liquids and live wires at hand, on the way out?", YES, true,
        "An extinguisher for burning liquids and live wires has to be at hand, on the way out and not behind the oven.",
        "common practice"},
    [BAKE_ITEM_ATTENDED] = {
        "Will somebody stay with it, from the first heat until the oven is cold?", YES, true,
        "Nobody leaves a hot oven alone: stay until it is cold, or bake another day.", "common practice"},
};
_Static_assert(sizeof questions / sizeof *questions == BAKE_ITEM_COUNT, "one question an item");

/* Of several sources the lowest figure. */
static const struct bake_harm harms[] = {
    [BAKE_RUIN_SOLDER] = {"soft solder", 183.0, "melts, and the joint comes apart", false, BASIS_PUBLISHED,
                          "handbook value of tin-lead 63/37, second-hand; nearly all tin-lead solders begin to melt there"},
    [BAKE_RUIN_FUSIBLE] = {"fusible metal (low-melting plugs and fillers)", 70.0, "melts", false, BASIS_MEMORY,
                           "bismuth alloys melt from about 70 C, from memory"},
    [BAKE_RUIN_BABBITT] = {"babbitt", 223.0, "melts out of its shell", false, BASIS_MEMORY,
                           "tin-base grade 1 begins at 223 C, from memory; lead-base at 237 C, grade 3 at 240 C, trade tables, second-hand"},
    [BAKE_RUIN_ZINC] = {"a zinc casting (pot metal)", 100.0, "creeps, blisters and cracks long before it melts", false, BASIS_MEMORY,
                        "loses strength from about 100 C, from memory; gas in its pores blisters a coat in the oven, trade pages"},
    [BAKE_RUIN_LEAD] = {"lead (weights, seals)", 327.0, "melts and gives off fume", true, BASIS_PUBLISHED, "handbook value, second-hand"},
    [BAKE_RUIN_TIN] = {"tin plate or pewter", 170.0, "melts", false, BASIS_MEMORY,
                       "pewter from 170 C, from memory; pure tin 232 C, handbook value, second-hand"},
    [BAKE_RUIN_SPRING] = {"a spring", 120.0, "loses its temper and goes slack", false, BASIS_PUBLISHED,
                          "service limit of cold-drawn spring wire (ASTM A228) 120 C, a trade page, second-hand"},
    [BAKE_RUIN_CUTTER] = {"a hardened cutter (burrs, blades, knife edges)", 100.0, "loses its temper and goes soft", false,
                          BASIS_PUBLISHED, "The Working of Steel (1921), Temperatures to use: hardened steel begins to change at 100 C"},
    [BAKE_RUIN_RUBBER] = {"rubber", 70.0, "hardens, cracks and sticks", false, BASIS_MEMORY, "service limit of natural rubber, from memory"},
    [BAKE_RUIN_CELLULOID] = {"celluloid", 50.0, "softens, and takes fire by itself when it gets hotter", true, BASIS_MEMORY,
                             "softens well below 100 C: common practice; the figure is from memory"},
    [BAKE_RUIN_PLASTIC] = {"plastic", 60.0, "softens and warps", false, BASIS_MEMORY, "the softest common ones, from memory"},
    [BAKE_RUIN_LEATHER] = {"leather", 55.0, "shrinks and hardens", false, BASIS_PUBLISHED,
                           "alum-tawed leather shrinks from 55 C, a conservation text, second-hand; old vegetable-tanned from 67 C, Heritage "
                           "Science 2019 table 3"},
    [BAKE_RUIN_GLUE] = {"a glued joint", 49.0, "softens and opens", false, BASIS_PUBLISHED,
                        "hide glue softens above about 120 F in damp air, a trade page, second-hand"},
    [BAKE_RUIN_SHELLAC] = {"shellac", 60.0, "softens and blisters", false, BASIS_MEMORY, "softens at 65 to 75 C, from memory, less 5 C"},
    [BAKE_RUIN_WOOD] = {"wood", 60.0, "dries out, shrinks and splits", false, BASIS_PRACTICE, "common practice: no hotter than a drying kiln"},
    [BAKE_RUIN_CLOTH] = {"cloth, felt, cork or paper", 90.0, "turns brown and brittle", false, BASIS_MEMORY,
                         "untreated cotton and paper, IEC 60085 class Y, from memory"},
    [BAKE_RUIN_DECAL] = {"a decal or printed dial", 60.0, "lifts and turns brown", false, BASIS_PRACTICE,
                         "common practice: damaged well below 100 C"},
    [BAKE_RUIN_GILDING] = {"leaf or gilding under old varnish", 60.0, "lifts with its varnish", false, BASIS_PRACTICE,
                           "common practice: damaged well below 100 C"},
    [BAKE_RUIN_GREASE] = {"packed grease, oil or wax", 60.0, "runs, smokes and can take fire", true, BASIS_MEMORY,
                          "waxes melt from 60 C, plain greases run from about 80 C, from memory"},
    [BAKE_RUIN_WIRING] = {"old wiring (windings, cotton-covered wire)", 90.0, "loses its insulation, and is not safe to switch on again", true, BASIS_MEMORY,
                          "untreated cotton and paper, IEC 60085 class Y, from memory"},
    [BAKE_RUIN_VIAL] = {"a level vial or a thermometer", 50.0, "bursts", true, BASIS_PRACTICE,
                        "common practice: a full glass of spirit has no room to expand"},
    [BAKE_RUIN_CAPACITOR] = {"a capacitor", 70.0, "swells and bursts; old ones hold harmful oil", true, BASIS_MEMORY,
                             "upper category temperature of the weaker motor capacitors, IEC 60252-1, from memory"},
    [BAKE_RUIN_REPAIR] = {"an old repair (filler, putty, resin glue)", 50.0, "softens, bubbles and lifts the coat over it", false, BASIS_MEMORY,
                          "glass transition of epoxies that set at room temperature, 50 to 60 C, from memory"},
    [BAKE_RUIN_HORN] = {"horn, bone, ivory or mother-of-pearl", 50.0, "dries out, warps and splits", false, BASIS_PRACTICE,
                        "common practice: kept away from all heat; the figure is ours"},
};
_Static_assert(sizeof harms / sizeof *harms == BAKE_RUIN_COUNT, "one row a thing");

const struct bake_question *bake_question(enum bake_item item)
{
    return &questions[(unsigned)item < BAKE_ITEM_COUNT ? item : BAKE_ITEM_ATTENDED];
}

const struct bake_harm *bake_harm(enum bake_ruin ruin)
{
    return &harms[(unsigned)ruin < BAKE_RUIN_COUNT ? ruin : BAKE_RUIN_COUNT - 1];
}

/* ---- earlier coats ---- */

/* How hot a coat may get that dried at room temperature, by class. Enamels print service limits of about 93 C (200 F); the others
 * soften earlier. All from memory, rounded down. */
static const double stands_c[] = {
    [CLASS_ALKYD_ENAMEL] = 90.0, [CLASS_SPRAY_ENAMEL] = 90.0, [CLASS_ALKYD_PRIMER] = 90.0, [CLASS_LACQUER] = 70.0,
    [CLASS_SHELLAC] = 60.0, [CLASS_OIL_VARNISH] = 80.0, [CLASS_EPOXY_PRIMER] = 100.0, [CLASS_EPOXY_BUILD] = 80.0,
    [CLASS_POLYURETHANE] = 90.0, [CLASS_WATERBORNE] = 70.0, [CLASS_SIZE_QUICK] = 60.0, [CLASS_SIZE_SLOW] = 60.0,
    [CLASS_SIZE_JAPAN] = 60.0, [CLASS_SIZE_WATER] = 60.0, [CLASS_TRANSFER] = 60.0, [CLASS_BAKING_JAPAN] = 90.0,
    [CLASS_STOVING_ENAMEL] = 90.0, [CLASS_TOUCH_UP] = 90.0,
};
_Static_assert(sizeof stands_c / sizeof *stands_c == MATERIAL_CLASS_COUNT, "one limit a class");

#define STANDS_LEAST_C 60.0

struct bake_stands bake_stands(const struct material *material)
{
    unsigned rows = material->bake_rows;
    if (rows > 0 && rows <= MATERIAL_BAKE_ROWS_MAX && !isnan(material->bake_too_hot_c))
        return (struct bake_stands){material->bake_too_hot_c, true, BASIS_LABEL, bake_label_source};
    if (rows > 0 && rows <= MATERIAL_BAKE_ROWS_MAX) {
        double hottest_c = material->bake_row[0].temp_c;
        for (unsigned i = 1; i < rows; i++)
            hottest_c = fmax(hottest_c, material->bake_row[i].temp_c);
        return (struct bake_stands){hottest_c + BAKE_TOO_HOT_ABOVE_C, false, BASIS_PRACTICE, bake_too_hot_source};
    }
    bool known = (unsigned)material->material_class < MATERIAL_CLASS_COUNT;
    return (struct bake_stands){known ? stands_c[material->material_class] : STANDS_LEAST_C, false, BASIS_MEMORY,
                                "service limits of coats that dried at room temperature, from memory, rounded down"};
}

/* ---- refusals ---- */

static struct bake_refusal *add(struct bake_review *review, enum bake_refusal_kind kind, unsigned which, bool safety, double limit_c)
{
    static const unsigned last = BAKE_REFUSALS_MAX - 1;
    struct bake_refusal *refusal = &review->refusal[review->count < BAKE_REFUSALS_MAX ? review->count++ : last];
    *refusal = (struct bake_refusal){.kind = kind, .which = which, .safety = safety, .limit_c = limit_c};
    review->safety = review->safety || safety;
    return refusal;
}

static void review_peak(const struct bake_query *query, struct bake_review *review)
{
    if (!isfinite(query->peak_c)) {
        struct bake_refusal *refusal = add(review, BAKE_REFUSE_PEAK, 0, true, (double)NAN);
        snprintf(refusal->text, sizeof refusal->text, "How hot the oven gets is not known: say it, or nothing can be judged.");
    } else if (query->peak_c >= query->too_hot_c) { /* false for NAN */
        struct bake_refusal *refusal = add(review, BAKE_REFUSE_TOO_HOT, 0, false, query->too_hot_c);
        snprintf(refusal->text, sizeof refusal->text,
                 "At %g C the finish itself is ruined: %g C is too hot for it (%s).", query->peak_c, query->too_hot_c,
                 query->too_hot_given ? bake_label_source : bake_too_hot_source);
    }
}

static void review_items(const struct bake_query *query, struct bake_review *review)
{
    for (unsigned i = 0; i < BAKE_ITEM_COUNT; i++) {
        const struct bake_question *question = &questions[i];
        if (query->answer[i] == question->must)
            continue;
        struct bake_refusal *refusal = add(review, BAKE_REFUSE_ITEM, i, question->safety, (double)NAN);
        bool answered = query->answer[i] == ANSWER_YES || query->answer[i] == ANSWER_NO;
        snprintf(refusal->text, sizeof refusal->text, "%s%s (%s)", answered ? "" : "Not answered. ", question->refusal, question->source);
    }
}

static void review_things(const struct bake_query *query, struct bake_review *review)
{
    for (unsigned i = 0; i < BAKE_RUIN_COUNT; i++) {
        const struct bake_harm *harm = &harms[i];
        bool reached = !(query->peak_c + BAKE_MARGIN_C < harm->temp_c); /* an unknown peak reaches everything */
        if (query->on_piece[i] != ANSWER_YES || !reached)
            continue;
        struct bake_refusal *refusal = add(review, BAKE_REFUSE_RUIN, i, harm->safety, harm->temp_c);
        int length = snprintf(refusal->text, sizeof refusal->text, "Take it off first: from %g C on, %s %s (%s).", harm->temp_c, harm->thing,
                              harm->what, harm->source);
        bool fits = length > 0 && (size_t)length < sizeof refusal->text;
        if (fits && query->peak_c < harm->temp_c)
            snprintf(refusal->text + length, sizeof refusal->text - (size_t)length, " An oven meant for %g C may stray by %g C.", query->peak_c,
                     BAKE_MARGIN_C);
    }
}

static void review_coats(const struct bake_query *query, struct bake_review *review)
{
    for (unsigned i = 0; i < query->earlier && i < BAKE_EARLIER_MAX; i++) {
        const struct bake_earlier *coat = &query->coat[i];
        if (query->peak_c < coat->limit_c || (query->peak_c <= coat->limit_c && !coat->ruins))
            continue;
        struct bake_refusal *refusal = add(review, BAKE_REFUSE_EARLIER, i, false, coat->limit_c);
        if (isnan(coat->limit_c))
            snprintf(refusal->text, sizeof refusal->text, "How much heat the %.60s below takes is not known: ask its label.", coat->name);
        else if (coat->ruins)
            snprintf(refusal->text, sizeof refusal->text, "The %.60s below is ruined from %g C on (%.160s).", coat->name, coat->limit_c,
                     coat->source != NULL ? coat->source : "source not told");
        else
            snprintf(refusal->text, sizeof refusal->text, "The %.60s below takes no more than %g C (%.160s).", coat->name, coat->limit_c,
                     coat->source != NULL ? coat->source : "source not told");
    }
    if (query->earlier > BAKE_EARLIER_MAX) {
        struct bake_refusal *refusal = add(review, BAKE_REFUSE_EARLIER, BAKE_EARLIER_MAX, false, (double)NAN);
        snprintf(refusal->text, sizeof refusal->text, "More than %d coats lie below: too many to answer for.", BAKE_EARLIER_MAX);
    }
}

void bake_review(const struct bake_query *query, struct bake_review *ret)
{
    ret->count = 0;
    ret->safety = false;
    review_peak(query, ret);
    review_items(query, ret);
    review_things(query, ret);
    review_coats(query, ret);
}
