/* Failures of a coat over another show at once where its solvent bites, and later where it is harder than what it lies on
 * (MIL-HDBK-1110 4.2.4). The table of pairs in that handbook could not be read, so most pairs of different kinds end in its other
 * advice: a test patch, looked at later. */
#include "coat/compat.h"

#include <stddef.h>

/* Classes that behave alike, above and below. */
enum kind {
    KIND_OIL,
    KIND_LACQUER,
    KIND_SHELLAC,
    KIND_VARNISH,
    KIND_EPOXY,
    KIND_URETHANE,
    KIND_WATER,
    KIND_OIL_SIZE,
    KIND_WATER_SIZE,
    KIND_TRANSFER,
    KIND_JAPAN,
    KIND_STOVED
};

static const enum kind kinds[] = {
    [CLASS_ALKYD_ENAMEL] = KIND_OIL,       [CLASS_SPRAY_ENAMEL] = KIND_OIL,     [CLASS_ALKYD_PRIMER] = KIND_OIL,
    [CLASS_LACQUER] = KIND_LACQUER,        [CLASS_SHELLAC] = KIND_SHELLAC,      [CLASS_OIL_VARNISH] = KIND_VARNISH,
    [CLASS_EPOXY_PRIMER] = KIND_EPOXY,     [CLASS_EPOXY_BUILD] = KIND_EPOXY,    [CLASS_POLYURETHANE] = KIND_URETHANE,
    [CLASS_WATERBORNE] = KIND_WATER,       [CLASS_SIZE_QUICK] = KIND_OIL_SIZE,  [CLASS_SIZE_SLOW] = KIND_OIL_SIZE,
    [CLASS_SIZE_JAPAN] = KIND_OIL_SIZE,    [CLASS_SIZE_WATER] = KIND_WATER_SIZE, [CLASS_TRANSFER] = KIND_TRANSFER,
    [CLASS_BAKING_JAPAN] = KIND_JAPAN,     [CLASS_STOVING_ENAMEL] = KIND_STOVED, [CLASS_TOUCH_UP] = KIND_OIL,
};
_Static_assert(sizeof kinds / sizeof *kinds == MATERIAL_CLASS_COUNT, "each class has a kind");

/* Whether a row holds for a coat below that is fresh, cured, or either. */
enum age { EITHER, FRESH, CURED };

#define LIFTS "TM 43-0139, lacquer over fresh air-dry enamel and enamel-primed lacquer; second-hand"
#define BLEEDS "TM 43-0139 5-21; MIL-HDBK-1110 11.4.1.6"
#define KEYS "TB 43-0209, cured epoxy or urethane"
#define TRANSFERS "hobby pages on waterslide transfers; second-hand"

/* The first row that fits decides. */
static const struct {
    enum kind over, below;
    enum age age;
    struct compat_verdict told;
} rows[] = {
    {KIND_LACQUER, KIND_OIL, FRESH,
     {COMPAT_NO, "strong solvent over an enamel or primer that is not cured through lifts it", LIFTS}},
    {KIND_LACQUER, KIND_VARNISH, FRESH, {COMPAT_NO, "strong solvent over an oil film that is not cured through lifts it", LIFTS}},
    {KIND_LACQUER, KIND_OIL, CURED,
     {COMPAT_CARE, "may lift even a cured enamel, and an enamel between two lacquers lifts: try a patch, mist the first passes", LIFTS}},
    {KIND_LACQUER, KIND_VARNISH, CURED,
     {COMPAT_CARE, "may lift even a cured oil film: try a patch, mist the first passes", LIFTS}},
    {KIND_LACQUER, KIND_OIL_SIZE, EITHER,
     {COMPAT_NO, "strong solvent lifts the size and the leaf on it", "from memory; as over any oil film"}},
    {KIND_OIL, KIND_JAPAN, EITHER,
     {COMPAT_CARE, "solvent draws the bituminous black into the new coat: it bleeds; a coat of shellac between holds it back", BLEEDS}},
    {KIND_VARNISH, KIND_JAPAN, EITHER,
     {COMPAT_CARE, "may draw colour out of a bituminous black; a baked one less: try a patch", BLEEDS}},
    {KIND_LACQUER, KIND_JAPAN, EITHER,
     {COMPAT_NO, "strong slow solvents over a bituminous coat bleed worst; put shellac between", BLEEDS}},
    {KIND_SHELLAC, KIND_JAPAN, EITHER, {COMPAT_OK, "serves as a barrier against bleeding", "TM 43-0139 2-23"}},
    {KIND_SHELLAC, KIND_OIL, FRESH,
     {COMPAT_CARE, "hard and brittle over a film that still gives: it may craze; wait until that is cured", "common practice"}},
    {KIND_SHELLAC, KIND_OIL, CURED, {COMPAT_OK, "serves as a barrier over oil films", "TM 43-0139 2-23"}},
    {KIND_SHELLAC, KIND_OIL_SIZE, FRESH,
     {COMPAT_CARE, "alcohol may bite a young size, and any coat dulls gold: wait weeks over a slow size",
      "conservators' forum of a university, 2024"}},
    {KIND_SHELLAC, KIND_OIL_SIZE, CURED,
     {COMPAT_OK, "clear shellac goes first over leaf; any coat dulls gold", "conservators' forum of a university, 2024"}},
    {KIND_OIL, KIND_SHELLAC, EITHER, {COMPAT_OK, "alkyd over shellac holds", "common practice"}},
    {KIND_VARNISH, KIND_SHELLAC, EITHER, {COMPAT_OK, "oil over shellac holds where it is free of wax", "common practice"}},
    {KIND_OIL, KIND_LACQUER, CURED, {COMPAT_OK, "enamel over hard lacquer holds", "common practice"}},
    {KIND_OIL, KIND_LACQUER, FRESH, {COMPAT_CARE, "let the lacquer get hard first", "common practice: over hard lacquer"}},
    {KIND_OIL, KIND_WATER, EITHER, {COMPAT_OK, "oil over a waterborne coat once that is dry", "common practice"}},
    {KIND_VARNISH, KIND_WATER, EITHER, {COMPAT_OK, "oil over a waterborne coat once that is dry", "common practice"}},
    {KIND_WATER, KIND_OIL, FRESH, {COMPAT_NO, "a waterborne coat over fresh oil does not hold", "common practice"}},
    {KIND_WATER, KIND_VARNISH, FRESH, {COMPAT_NO, "a waterborne coat over fresh oil does not hold", "common practice"}},
    {KIND_WATER, KIND_OIL, CURED, {COMPAT_CARE, "over cured oil only once it is scuffed", "common practice"}},
    {KIND_OIL, KIND_VARNISH, FRESH, {COMPAT_CARE, "the harder film over the one that gives may crack", "MIL-HDBK-1110 4.2.4"}},
    {KIND_VARNISH, KIND_OIL, EITHER, {COMPAT_OK, "oil varnish over enamel, in the enamel's recoat window", "common practice"}},
    {KIND_SHELLAC, KIND_VARNISH, EITHER,
     {COMPAT_CARE, "spirit varnish and oil varnish do not mix: over a hard film only", "EN0562"}},
    {KIND_OIL_SIZE, KIND_OIL, FRESH,
     {COMPAT_CARE, "leaf seals what is under it: a soft coat below goes on working and ruins it; let it get hard",
      "a painters' cyclopaedia of 1908, p. 169"}},
    {KIND_OIL_SIZE, KIND_OIL, CURED, {COMPAT_OK, "size over a hard enamel", "a painters' cyclopaedia of 1908, p. 169"}},
    {KIND_OIL_SIZE, KIND_VARNISH, FRESH,
     {COMPAT_CARE, "leaf seals what is under it: let it get hard", "a painters' cyclopaedia of 1908, p. 169"}},
    {KIND_VARNISH, KIND_OIL_SIZE, EITHER,
     {COMPAT_CARE, "a size that is still soft below wrinkles; any coat dulls gold", "conservators' forum of a university, 2024"}},
    {KIND_TRANSFER, KIND_OIL, EITHER, {COMPAT_OK, "wants a gloss surface under it, dry to handle", TRANSFERS}},
    {KIND_TRANSFER, KIND_VARNISH, EITHER, {COMPAT_OK, "wants a gloss surface under it, dry to handle", TRANSFERS}},
    {KIND_LACQUER, KIND_TRANSFER, EITHER,
     {COMPAT_CARE, "strong solvent may wrinkle a transfer: mist the first passes", "from memory"}},
    {KIND_VARNISH, KIND_TRANSFER, EITHER, {COMPAT_OK, "clear over a transfer that dried overnight", TRANSFERS}},
    {KIND_OIL, KIND_EPOXY, CURED, {COMPAT_CARE, "a cured two-part film wants abrasion or a tie coat first", KEYS}},
    {KIND_OIL, KIND_URETHANE, CURED, {COMPAT_CARE, "a cured two-part film wants abrasion or a tie coat first", KEYS}},
    {KIND_URETHANE, KIND_EPOXY, FRESH, {COMPAT_OK, "urethane over epoxy primer in its recoat window", "common practice"}},
    {KIND_URETHANE, KIND_EPOXY, CURED, {COMPAT_CARE, "a cured two-part film wants abrasion or a tie coat first", KEYS}},
    {KIND_EPOXY, KIND_OIL, EITHER, {COMPAT_NO, "strong solvents and a rigid film over alkyd: it lifts or cracks", "MIL-HDBK-1110 4.2.4; common practice"}},
    {KIND_URETHANE, KIND_OIL, EITHER, {COMPAT_NO, "strong solvents and a rigid film over alkyd: it lifts or cracks", "MIL-HDBK-1110 4.2.4; common practice"}},
    {KIND_JAPAN, KIND_OIL, EITHER, {COMPAT_NO, "an air-dry coat below does not stand the oven", "from memory"}},
    {KIND_STOVED, KIND_OIL, EITHER, {COMPAT_NO, "an air-dry coat below does not stand the oven", "from memory"}},
    {KIND_JAPAN, KIND_VARNISH, EITHER, {COMPAT_NO, "an air-dry coat below does not stand the oven", "from memory"}},
    {KIND_STOVED, KIND_VARNISH, EITHER, {COMPAT_NO, "an air-dry coat below does not stand the oven", "from memory"}},
    {KIND_JAPAN, KIND_OIL_SIZE, EITHER, {COMPAT_NO, "the oven ruins size and leaf", "from memory"}},
    {KIND_STOVED, KIND_OIL_SIZE, EITHER, {COMPAT_NO, "the oven ruins size and leaf", "from memory"}},
};

static const struct compat_verdict same = {COMPAT_OK, "the same kind over itself, in its recoat window", "common practice; MIL-HDBK-1110 4.2.4: same generic type"};
static const struct compat_verdict unknown = {
    COMPAT_TEST, "no source read here tells of this pair: test patch first, and look at it again after some days",
    "MIL-HDBK-1110 4.2.4, on test patches"};

static bool fits(size_t row, enum kind over, enum kind below, bool below_cured)
{
    bool age = rows[row].age == EITHER || (rows[row].age == CURED) == below_cured;
    return age && rows[row].over == over && rows[row].below == below;
}

struct compat_verdict compat_over(enum material_class over, enum material_class below, bool below_cured)
{
    if ((size_t)over >= MATERIAL_CLASS_COUNT || (size_t)below >= MATERIAL_CLASS_COUNT)
        return unknown;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        if (fits(i, kinds[over], kinds[below], below_cured))
            return rows[i].told;
    /* Size over size or leaf, and a transfer over a transfer, are no coats over a coat. */
    bool coats = kinds[over] != KIND_OIL_SIZE && kinds[over] != KIND_WATER_SIZE && kinds[over] != KIND_TRANSFER;
    return kinds[over] == kinds[below] && coats ? same : unknown;
}
