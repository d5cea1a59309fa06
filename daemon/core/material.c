/* What a material promises: the side of a boundary, its limits, its hazards; and the check that a material from outside
 * passes before it is kept. */
#include "coat/bake.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#define HOURS_MAX 43830.0 /* five years */
#define TEMP_MIN_C (-40.0)
#define TEMP_MAX_C 300.0

enum law_side boundary_side(const struct stage_boundary *boundary)
{
    return boundary->then == SPAN_GO ? SIDE_OPENING : SIDE_CLOSING;
}

double boundary_limit_h(enum stage stage, const struct stage_boundary *boundary)
{
    if (stage == STAGE_LEAF || boundary->rows == 0)
        return (double)NAN;
    if (!isnan(boundary->label_h))
        return boundary->label_h;
    unsigned row = boundary_side(boundary) == SIDE_OPENING ? boundary->rows - 1 : 0; /* rows rise in temperature */
    return boundary->row[row].hours;
}

/* Water leaves early: by (1 - RH) up to touch, and for a size up to its tack; later the film itself decides. */
static enum humidity_rule rule_of_stage(const struct material *material, enum stage stage)
{
    bool early = stage == STAGE_TOUCH || stage == STAGE_LEAF;
    return material->rule == HUMIDITY_WATER && !early ? HUMIDITY_SOLVENT : material->rule;
}

void boundary_terms(const struct material *material, enum stage stage, const struct stage_boundary *boundary,
                    struct law_terms *ret)
{
    *ret = (struct law_terms){
        .side = boundary_side(boundary),
        .rows = boundary->rows,
        .doubling_c = material->doubling_c,
        .rule = rule_of_stage(material, stage),
        .ref_rh_pct = material->ref_rh_pct,
        .min_temp_c = material->min_temp_c,
        .max_rh_pct = material->max_rh_pct,
    };
    memcpy(ret->row, boundary->row, sizeof ret->row);
}

/* Hazards -------------------------------------------------------------------------------------------------- */

/* What the worst member of a class has, whoever makes it. `isocyanate` says whether a one-part member may hold it; a
 * two-part member always may. Aerosol: the class is sold in cans as well. */
struct worst_case {
    bool solvent, flammable, aerosol, self_heating, two_part, isocyanate, baked, sensitiser;
};

static const struct worst_case worst_cases[] = {
    /*                       solvent flammable aerosol self-heating two-part isocyanate baked sensitiser */
    [CLASS_ALKYD_ENAMEL] =   {true,  true,     true,   true,        false,   false,     false, true},
    [CLASS_SPRAY_ENAMEL] =   {true,  true,     true,   true,        false,   false,     false, true},
    [CLASS_ALKYD_PRIMER] =   {true,  true,     true,   true,        false,   false,     false, true},
    [CLASS_LACQUER] =        {true,  true,     true,   true,        true,    false,     false, true}, /* catalysed ones */
    [CLASS_SHELLAC] =        {true,  true,     true,   false,       false,   false,     false, false},
    [CLASS_OIL_VARNISH] =    {true,  true,     true,   true,        false,   false,     false, true},
    [CLASS_EPOXY_PRIMER] =   {true,  true,     true,   false,       true,    false,     false, true},
    [CLASS_EPOXY_BUILD] =    {true,  true,     true,   false,       true,    false,     false, true},
    [CLASS_POLYURETHANE] =   {true,  true,     true,   true,        true,    true,      false, true}, /* oil-modified, moisture-curing */
    [CLASS_WATERBORNE] =     {true,  true,     true,   true,        true,    false,     false, true}, /* emulsified alkyds, two-part clears */
    [CLASS_SIZE_QUICK] =     {true,  true,     false,  true,        false,   false,     false, true},
    [CLASS_SIZE_SLOW] =      {true,  true,     false,  true,        false,   false,     false, true},
    [CLASS_SIZE_JAPAN] =     {true,  true,     false,  true,        false,   false,     false, true},
    [CLASS_SIZE_WATER] =     {true,  true,     true,   false,       false,   false,     false, true},
    [CLASS_TRANSFER] =       {true,  true,     false,  false,       false,   false,     false, true},
    [CLASS_BAKING_JAPAN] =   {true,  true,     false,  true,        false,   false,     true,  true},
    [CLASS_STOVING_ENAMEL] = {true,  true,     false,  true,        false,   true,      true,  true}, /* blocked isocyanates */
    [CLASS_TOUCH_UP] =       {true,  true,     true,   true,        false,   false,     false, true},
};
_Static_assert(sizeof worst_cases / sizeof *worst_cases == MATERIAL_CLASS_COUNT, "one worst case a class");

static bool worst_has(const struct worst_case *worst, enum hazard hazard)
{
    switch (hazard) {
    case HAZARD_SOLVENT: return worst->solvent;
    case HAZARD_FLAMMABLE: return worst->flammable;
    case HAZARD_AEROSOL: return worst->aerosol;
    case HAZARD_SELF_HEATING: return worst->self_heating;
    case HAZARD_TWO_PART: return worst->two_part;
    case HAZARD_ISOCYANATE: return worst->isocyanate;
    case HAZARD_BAKED: return worst->baked;
    case HAZARD_SKIN_SENSITISER: return worst->sensitiser;
    case HAZARD_COUNT: break;
    }
    return true;
}

bool material_hazard(const struct material *material, enum hazard hazard)
{
    if ((unsigned)hazard >= HAZARD_COUNT)
        return true;
    enum answer answer = material->hazard[hazard];
    if (answer == ANSWER_YES || answer == ANSWER_NO)
        return answer == ANSWER_YES;
    if (hazard == HAZARD_ISOCYANATE && material_hazard(material, HAZARD_TWO_PART))
        return true;
    if ((unsigned)material->material_class >= MATERIAL_CLASS_COUNT)
        return true;
    return worst_has(&worst_cases[material->material_class], hazard);
}

/* Figures: one table for emptying, checking and filling ------------------------------------------------------- */

struct figure {
    size_t offset;
    const char *field;
    double low, high;
    const char *unit;
};

static const struct figure figures[] = {
    {offsetof(struct material, ref_rh_pct), "limits.ref_rh_pct", 5.0, 95.0, "%"},
    {offsetof(struct material, doubling_c), "limits.doubling_c", 2.0, 60.0, "C"},
    {offsetof(struct material, min_temp_c), "limits.min_temp_c", TEMP_MIN_C, TEMP_MAX_C, "C"},
    {offsetof(struct material, max_temp_c), "limits.max_temp_c", TEMP_MIN_C, TEMP_MAX_C, "C"},
    {offsetof(struct material, max_rh_pct), "limits.max_rh_pct", 5.0, 100.0, "%"},
    {offsetof(struct material, film_um), "limits.film_um", 1.0, 5000.0, "um"},
    {offsetof(struct material, film_exponent), "limits.film_exponent", 0.0, 3.0, ""},
    {offsetof(struct material, solids_pct), "limits.solids_pct", 1.0, 100.0, "%"},
    {offsetof(struct material, induction_min), "limits.induction_min", 0.0, 1440.0, "min"},
    {offsetof(struct material, pot_life_min), "limits.pot_life_min", 1.0, 20160.0, "min"},
    {offsetof(struct material, solvent_pct), "composition.solvent_pct", 0.0, 100.0, "%"},
    {offsetof(struct material, bake_too_hot_c), "bake_limits.too_hot_c", 0.0, BAKE_OVEN_MOST_C, "C"},
    {offsetof(struct material, bake_too_long_c), "bake_limits.too_long.temp_c", 0.0, BAKE_OVEN_MOST_C, "C"},
    {offsetof(struct material, bake_too_long_h), "bake_limits.too_long.hours", 0.001, HOURS_MAX, "h"},
};
#define FIGURE_COUNT (sizeof figures / sizeof *figures)

static double *figure_in(struct material *material, const struct figure *figure)
{
    return (double *)(void *)((char *)material + figure->offset);
}

static double figure_of(const struct material *material, const struct figure *figure)
{
    double value;
    memcpy(&value, (const char *)material + figure->offset, sizeof value);
    return value;
}

void material_init(struct material *material, enum material_class material_class)
{
    memset(material, 0, sizeof *material);
    for (size_t i = 0; i < FIGURE_COUNT; i++)
        *figure_in(material, &figures[i]) = (double)NAN;
    for (unsigned i = 0; i < STAGE_COUNT; i++)
        material->stage[i].stage = (enum stage)i;
    material->ref_rh_pct = 50.0;
    material->material_class = material_class;
    material->doubling_basis = BASIS_PRACTICE;
    material->guard = STAGE_TACK_FREE;
    const struct material *class_default = builtin_of_class(material_class);
    if (class_default == NULL)
        return;
    material->application = class_default->application;
    material->usual_role = class_default->usual_role;
    material->rule = class_default->rule;
    material->guard = class_default->guard;
}

/* Checks ------------------------------------------------------------------------------------------------------ */

static enum coat_result check_name(const struct material *material, struct coat_error *error)
{
    const char *name = material->name;
    if (memchr(name, '\0', sizeof material->name) == NULL)
        return coat_fail(error, COAT_BAD_VALUE, "name", "the name is too long: at most %d bytes", MATERIAL_NAME_SIZE - 1);
    size_t length = strlen(name);
    if (length == 0)
        return coat_fail(error, COAT_BAD_VALUE, "name", "a material needs a name, e.g. \"black gloss, brushed\"");
    if (isspace((unsigned char)name[0]) || isspace((unsigned char)name[length - 1]))
        return coat_fail(error, COAT_BAD_VALUE, "name", "a name neither begins nor ends with a space");
    for (size_t i = 0; i < length; i++)
        if (iscntrl((unsigned char)name[i]))
            return coat_fail(error, COAT_BAD_VALUE, "name", "the name holds a character that cannot be printed");
    if (strspn(name, "0123456789") == length)
        return coat_fail(error, COAT_BAD_VALUE, "name", "\"%s\" is all digits, which would read as the number of a coat: "
                         "add a word", name);
    return COAT_OK;
}

/* An enumeration that came from outside and the count that it must stay under. */
struct choice {
    unsigned value, count;
    const char *field;
};

static enum coat_result check_choices(const struct material *material, struct coat_error *error)
{
    const struct choice choices[] = {
        {(unsigned)material->material_class, MATERIAL_CLASS_COUNT, "class"},
        {(unsigned)material->application, APPLICATION_COUNT, "application"},
        {(unsigned)material->usual_role, ROLE_COUNT, "usual_role"},
        {(unsigned)material->rule, HUMIDITY_RULE_COUNT, "limits.rule"},
        {(unsigned)material->doubling_basis, BASIS_COUNT, "limits.doubling_basis"},
        {(unsigned)material->guard, STAGE_COUNT, "limits.guard"},
    };
    for (size_t i = 0; i < sizeof choices / sizeof *choices; i++)
        if (choices[i].value >= choices[i].count)
            return coat_fail(error, COAT_BAD_VALUE, choices[i].field, "%s is none of the known words", choices[i].field);
    for (unsigned i = 0; i < HAZARD_COUNT; i++)
        if ((unsigned)material->hazard[i] >= ANSWER_COUNT)
            return coat_fail(error, COAT_BAD_VALUE, "hazards", "hazard \"%s\" is neither yes, no nor unanswered",
                             hazard_word((enum hazard)i));
    return COAT_OK;
}

static enum coat_result check_figures(const struct material *material, struct coat_error *error)
{
    for (size_t i = 0; i < FIGURE_COUNT; i++) {
        const struct figure *f = &figures[i];
        double value = figure_of(material, f);
        if (isnan(value) || (value >= f->low && value <= f->high))
            continue;
        return coat_fail(error, COAT_BAD_VALUE, f->field, "%g %s is not usable: %s lies between %g and %g %s", value,
                         f->unit, strrchr(f->field, '.') + 1, f->low, f->high, f->unit);
    }
    if (material->min_temp_c >= material->max_temp_c)
        return coat_fail(error, COAT_BAD_VALUE, "limits.max_temp_c",
                         "the highest temperature, %g C, is not above the lowest, %g C", material->max_temp_c,
                         material->min_temp_c);
    return COAT_OK;
}

static bool hours_usable(double hours)
{
    return hours > 0.0 && hours <= HOURS_MAX;
}

static enum coat_result check_rows(const char *field, const struct cure_row *row, unsigned rows, unsigned rows_max,
                                   struct coat_error *error)
{
    if (rows == 0 || rows > rows_max)
        return coat_fail(error, COAT_BAD_VALUE, field, "%u rows: between 1 and %u will do, e.g. 23C=16h", rows, rows_max);
    for (unsigned i = 0; i < rows; i++) {
        if (!(row[i].temp_c >= TEMP_MIN_C && row[i].temp_c <= TEMP_MAX_C))
            return coat_fail(error, COAT_BAD_VALUE, field, "a row at %g C: temperatures lie between %g and %g C",
                             row[i].temp_c, TEMP_MIN_C, TEMP_MAX_C);
        if (!hours_usable(row[i].hours))
            return coat_fail(error, COAT_BAD_VALUE, field, "%g h at %g C: a time is above 0 and at most five years",
                             row[i].hours, row[i].temp_c);
        if (i > 0 && row[i].temp_c <= row[i - 1].temp_c)
            return coat_fail(error, COAT_BAD_VALUE, field,
                             "%g C stands after %g C: rows go from cold to warm, each temperature once", row[i].temp_c,
                             row[i - 1].temp_c);
    }
    return COAT_OK;
}

static enum coat_result check_boundary(const char *field, const struct stage_boundary *boundary,
                                       struct coat_error *error)
{
    if ((unsigned)boundary->then >= SPAN_COUNT || (unsigned)boundary->basis >= BASIS_COUNT)
        return coat_fail(error, COAT_BAD_VALUE, field, "a span or its basis is none of the known words");
    if (memchr(boundary->source, '\0', sizeof boundary->source) == NULL)
        return coat_fail(error, COAT_BAD_VALUE, field, "the source is too long: at most %d bytes",
                         MATERIAL_SOURCE_SIZE - 1);
    if (!isnan(boundary->label_h) && !hours_usable(boundary->label_h))
        return coat_fail(error, COAT_BAD_VALUE, field, "%g h on the label: a time is above 0 and at most five years",
                         boundary->label_h);
    return check_rows(field, boundary->row, boundary->rows, LAW_ROWS_MAX, error);
}

/* From `wait` a window opens with `go` (leaf: `test`), and only from there: whatever lets a coat on must be an opening. */
static bool span_may_follow(enum stage stage, enum span_do before, enum span_do then)
{
    if (before == then)
        return false;
    if (before == SPAN_WAIT)
        return then == (stage == STAGE_LEAF ? SPAN_TEST : SPAN_GO);
    if (stage == STAGE_LEAF)
        return before == SPAN_TEST && then == SPAN_STRIP;
    return before != SPAN_STRIP && then != SPAN_GO && then != SPAN_TEST;
}

static enum coat_result check_spans(const char *field, const struct stage_table *table, struct coat_error *error)
{
    bool window = stage_is_window(table->stage);
    bool at_once = table->first == SPAN_GO && window && table->stage != STAGE_LEAF;
    if (table->first != SPAN_WAIT && !at_once)
        return coat_fail(error, COAT_BAD_VALUE, field, "it begins with \"%s\": \"wait\" will do%s",
                         span_do_word(table->first), window ? ", or \"go\" (within so many hours)" : "");
    if (!window && table->boundaries != 1)
        return coat_fail(error, COAT_BAD_VALUE, field, "only a window has more than one time; %s is reached once",
                         stage_word(table->stage));
    enum span_do before = table->first;
    for (unsigned i = 0; i < table->boundaries; i++) {
        enum span_do then = table->boundary[i].then;
        if (!span_may_follow(table->stage, before, then))
            return coat_fail(error, COAT_BAD_VALUE, field, "\"%s\" cannot follow \"%s\"", span_do_word(then),
                             span_do_word(before));
        before = then;
    }
    return COAT_OK;
}

/* Hours of a row at exactly this temperature; NAN where there is none. */
static double hours_in_row(const struct stage_boundary *boundary, double temp_c)
{
    for (unsigned i = 0; i < boundary->rows; i++)
        if (fabs(boundary->row[i].temp_c - temp_c) < 1e-9)
            return boundary->row[i].hours;
    return (double)NAN;
}

/* A figure that was worked out may pass its neighbour ("no window in this air"); two that were read may not. */
static enum coat_result check_order(const char *field, const struct stage_boundary *a, const struct stage_boundary *b,
                                    struct coat_error *error)
{
    if (a->basis == BASIS_DERIVED || b->basis == BASIS_DERIVED)
        return COAT_OK;
    for (unsigned i = 0; i < a->rows; i++)
        if (hours_in_row(b, a->row[i].temp_c) <= a->row[i].hours)
            return coat_fail(error, COAT_BAD_VALUE, field, "at %g C \"%s\" begins at %g h, not after \"%s\" at %g h",
                             a->row[i].temp_c, span_do_word(b->then), hours_in_row(b, a->row[i].temp_c),
                             span_do_word(a->then), a->row[i].hours);
    if (b->label_h <= a->label_h)
        return coat_fail(error, COAT_BAD_VALUE, field, "on the label \"%s\" begins at %g h, not after \"%s\" at %g h",
                         span_do_word(b->then), b->label_h, span_do_word(a->then), a->label_h);
    return COAT_OK;
}

static enum coat_result check_stage(const struct stage_table *table, struct coat_error *error)
{
    char field[sizeof error->field];
    snprintf(field, sizeof field, "stages.%s", stage_word(table->stage));
    if (table->boundaries > MATERIAL_BOUNDARIES_MAX)
        return coat_fail(error, COAT_BAD_VALUE, field, "%u times: at most %d will do", table->boundaries,
                         MATERIAL_BOUNDARIES_MAX);
    for (unsigned i = 0; i < table->boundaries; i++) {
        enum coat_result result = check_boundary(field, &table->boundary[i], error);
        if (result == COAT_OK && i > 0)
            result = check_order(field, &table->boundary[i - 1], &table->boundary[i], error);
        if (result != COAT_OK)
            return result;
    }
    return table->boundaries == 0 ? COAT_OK : check_spans(field, table, error);
}

static enum coat_result check_stages(const struct material *material, struct coat_error *error)
{
    for (unsigned i = 0; i < STAGE_COUNT; i++) {
        enum coat_result result = check_stage(&material->stage[i], error);
        if (result != COAT_OK)
            return result;
    }
    return COAT_OK;
}

static enum coat_result check_bake(const struct material *material, struct coat_error *error)
{
    if (material->bake_rows == 0)
        return COAT_OK;
    return check_rows("bake", material->bake_row, material->bake_rows, MATERIAL_BAKE_ROWS_MAX, error);
}

static enum coat_result check_texts(const struct material *material, struct coat_error *error)
{
    if (memchr(material->limits_source, '\0', sizeof material->limits_source) == NULL)
        return coat_fail(error, COAT_BAD_VALUE, "limits.source", "the source is too long");
    if (memchr(material->bake_source, '\0', sizeof material->bake_source) == NULL)
        return coat_fail(error, COAT_BAD_VALUE, "bake.source", "the source is too long");
    if (memchr(material->thinner, '\0', sizeof material->thinner) == NULL)
        return coat_fail(error, COAT_BAD_VALUE, "thinner", "the name of the thinner is too long: at most %d bytes", MATERIAL_THINNER_SIZE - 1);
    return COAT_OK;
}

#define SHARES_WITHIN_PCT 1.0 /* as vapour_liquid_check */

static enum coat_result check_contents(const struct material *material, struct coat_error *error)
{
    struct solvent_mix mix;
    struct coat_error why = {0};
    if (material->solvent[0] == '\0' && material->solvent_pct > 0.0)
        return coat_fail(error, COAT_BAD_VALUE, "composition.solvent_pct",
                         "%.4g%% of which solvents? Tell those as well, for example \"toluene=60%%, acetone=40%%\"", material->solvent_pct);
    if (material->solvent[0] == '\0')
        return COAT_OK;
    if (solvent_mix_parse(material->solvent, &mix, &why) != COAT_OK)
        return coat_fail(error, COAT_BAD_VALUE, "composition.solvent", "%s", why.text);
    double total_pct = solvent_mix_total_pct(&mix);
    if (!(fabs(total_pct - 100.0) <= SHARES_WITHIN_PCT))
        return coat_fail(error, COAT_BAD_VALUE, "composition.solvent",
                         "the shares add up to %.4g%%: of what evaporates they must make 100%%; how much of the can evaporates is a "
                         "share of its own", total_pct);
    return COAT_OK;
}

static enum coat_result check_all(const struct material *material, struct coat_error *error)
{
    static enum coat_result (*const checks[])(const struct material *, struct coat_error *) = {
        check_name, check_choices, check_figures, check_texts, check_stages, check_bake, check_contents,
    };
    for (size_t i = 0; i < sizeof checks / sizeof *checks; i++) {
        enum coat_result result = checks[i](material, error);
        if (result != COAT_OK)
            return result;
    }
    return COAT_OK;
}

/* Filling ----------------------------------------------------------------------------------------------------- */

static void fill_figures(struct material *material, const struct material *class_default)
{
    bool filled = false;
    if (isnan(material->doubling_c))
        material->doubling_basis = class_default->doubling_basis;
    for (size_t i = 0; i < FIGURE_COUNT; i++) {
        double *value = figure_in(material, &figures[i]);
        double standard = figure_of(class_default, &figures[i]);
        if (!isnan(*value) || isnan(standard))
            continue;
        double before = *value;
        *value = standard;
        if (material->min_temp_c >= material->max_temp_c)
            *value = before; /* the label's one limit lies beyond the class's other */
        else
            filled = true;
    }
    if (filled && material->limits_source[0] == '\0')
        memcpy(material->limits_source, class_default->limits_source, sizeof material->limits_source);
}

/* The opening of a stage, which must not come before that of an earlier one. */
static struct stage_boundary *opening(struct stage_table *table)
{
    for (unsigned i = 0; i < table->boundaries; i++)
        if (boundary_side(&table->boundary[i]) == SIDE_OPENING)
            return &table->boundary[i];
    return NULL;
}

/* Hours to an opening in steady air at the reference humidity. */
static double opening_hours_at(const struct material *material, const struct stage_boundary *boundary, double temp_c)
{
    struct law_terms terms;
    struct law law;
    boundary_terms(material, STAGE_CURE, boundary, &terms);
    terms.min_temp_c = terms.max_rh_pct = (double)NAN;
    if (law_from_terms(&terms, &law, NULL) != COAT_OK)
        return (double)NAN;
    return boundary->row[0].hours / law_rate(&law, temp_c, material->ref_rh_pct, NULL);
}

/* Adds a row at temp_c if there is none and room for it, keeping the order. */
static void rows_add_temp(struct stage_boundary *boundary, double temp_c)
{
    if (!isnan(hours_in_row(boundary, temp_c)) || boundary->rows == LAW_ROWS_MAX)
        return;
    unsigned at = boundary->rows++;
    for (; at > 0 && boundary->row[at - 1].temp_c > temp_c; at--)
        boundary->row[at] = boundary->row[at - 1];
    boundary->row[at].temp_c = temp_c;
}

static bool is_later(const struct material *material, const struct stage_boundary *a, const struct stage_boundary *b)
{
    for (unsigned i = 0; i < a->rows; i++)
        if (opening_hours_at(material, b, a->row[i].temp_c) < a->row[i].hours * (1.0 - 1e-9))
            return true;
    for (unsigned i = 0; i < b->rows; i++)
        if (opening_hours_at(material, a, b->row[i].temp_c) > b->row[i].hours * (1.0 + 1e-9))
            return true;
    return boundary_limit_h(STAGE_CURE, a) > boundary_limit_h(STAGE_CURE, b) * (1.0 + 1e-9);
}

/* Makes the filled-in `late` at least as late as `early` at every row of both: ln(hours) is straight between rows, so the
 * later of the two at the rows is later everywhere between. */
static void raise_boundary(const struct material *material, struct stage_boundary *late,
                           const struct stage_boundary *early, enum stage early_stage)
{
    struct stage_boundary raised = *early;
    for (unsigned i = 0; i < late->rows; i++)
        rows_add_temp(&raised, late->row[i].temp_c);
    for (unsigned i = 0; i < raised.rows; i++) {
        double temp_c = raised.row[i].temp_c;
        raised.row[i].hours = fmax(opening_hours_at(material, early, temp_c), opening_hours_at(material, late, temp_c));
    }
    raised.label_h = fmax(boundary_limit_h(STAGE_CURE, early), boundary_limit_h(STAGE_CURE, late));
    raised.basis = BASIS_DERIVED;
    raised.disputed = late->disputed;
    snprintf(raised.source, sizeof raised.source, "not before %s of the label; otherwise %.100s", stage_word(early_stage),
             late->source);
    *late = raised;
}

/* Which stage does not come before which; each line may rest on those above. */
static const struct {
    enum stage early, late;
} stage_order[] = {
    {STAGE_TOUCH, STAGE_DUST_FREE},  {STAGE_TOUCH, STAGE_TACK_FREE}, {STAGE_DUST_FREE, STAGE_TACK_FREE},
    {STAGE_TACK_FREE, STAGE_HANDLE}, {STAGE_HANDLE, STAGE_TAPE},     {STAGE_TACK_FREE, STAGE_SAND},
    {STAGE_TOUCH, STAGE_UNMASK},     {STAGE_TOUCH, STAGE_RECOAT},    {STAGE_TOUCH, STAGE_BAKE},
    {STAGE_HANDLE, STAGE_CURE},      {STAGE_RECOAT, STAGE_CURE},
};

static void raise_filled(struct material *material, const bool filled[STAGE_COUNT])
{
    for (size_t i = 0; i < sizeof stage_order / sizeof *stage_order; i++) {
        enum stage early = stage_order[i].early, late = stage_order[i].late;
        struct stage_boundary *a = opening(&material->stage[early]);
        struct stage_boundary *b = opening(&material->stage[late]);
        if (filled[late] && a != NULL && b != NULL && is_later(material, a, b))
            raise_boundary(material, b, a, early);
    }
}

static void fill_stages(struct material *material, const struct material *class_default)
{
    bool filled[STAGE_COUNT] = {false};
    for (unsigned i = 0; i < STAGE_COUNT; i++) {
        if (material->stage[i].boundaries != 0 || class_default->stage[i].boundaries == 0)
            continue;
        material->stage[i] = class_default->stage[i];
        filled[i] = true;
    }
    raise_filled(material, filled);
    if (material->stage[material->guard].boundaries == 0)
        material->guard = class_default->guard;
}

/* A size is tested with a finger, whatever hour its label names: "2h to 4h, then strip" opens with a test, and a label that
 * says only when it is ready gets the class's shortest open time. */
static void shape_leaf(struct material *material, const struct material *class_default)
{
    struct stage_table *leaf = &material->stage[STAGE_LEAF];
    const struct stage_boundary *standard = class_default->stage[STAGE_LEAF].boundary;
    for (unsigned i = 0; i < leaf->boundaries && i < MATERIAL_BOUNDARIES_MAX; i++) {
        if (leaf->boundary[i].then == SPAN_GO)
            leaf->boundary[i].then = SPAN_TEST;
        leaf->boundary[i].label_h = (double)NAN;
    }
    if (leaf->boundaries != 1 || leaf->boundary[0].rows > LAW_ROWS_MAX || class_default->stage[STAGE_LEAF].boundaries < 2)
        return;
    struct stage_boundary *lost = &leaf->boundary[leaf->boundaries++];
    *lost = leaf->boundary[0];
    lost->then = SPAN_STRIP;
    lost->basis = BASIS_DERIVED;
    double ratio = standard[1].row[0].hours / standard[0].row[0].hours;
    for (unsigned i = 0; i < lost->rows; i++)
        lost->row[i].hours *= fmin(ratio, 2.0); /* open about as long as the time to tack */
    snprintf(lost->source, sizeof lost->source, "the label's tack and as long again: trade texts on gilding sizes");
}

static void fill_bake(struct material *material, const struct material *class_default)
{
    if (material->bake_rows != 0)
        return;
    material->bake_rows = class_default->bake_rows;
    memcpy(material->bake_row, class_default->bake_row, sizeof material->bake_row);
    memcpy(material->bake_source, class_default->bake_source, sizeof material->bake_source);
}

void material_makeup(const struct material *material, struct material_makeup *ret)
{
    struct solvent_default of_class = {0};
    struct solvent_mix mix;
    bool told = material->solvent[0] != '\0' && solvent_mix_parse(material->solvent, &mix, NULL) == COAT_OK;
    if (solvent_default_of_class(material->material_class, &of_class) != COAT_OK)
        of_class.source = "";
    *ret = (struct material_makeup){
        .told = told,
        .share_told = !isnan(material->solvent_pct),
        .solvent = told ? mix : of_class.solvent,
        .solvent_pct = of_class.solvent_pct + (told ? of_class.propellant_pct : 0.0),
        .basis = told ? BASIS_LABEL : of_class.basis,
        .source = of_class.source,
    };
    if (ret->share_told)
        ret->solvent_pct = material->solvent_pct;
    if (told || ret->share_told) /* of nothing but 0 % is a share told without its solvents */
        return;
    ret->propellant = of_class.propellant;
    ret->propellant_pct = of_class.propellant_pct;
}

enum coat_result material_complete(struct material *material, struct coat_error *error)
{
    struct material done = *material;
    for (unsigned i = 0; i < STAGE_COUNT; i++)
        done.stage[i].stage = (enum stage)i;
    const struct material *class_default = builtin_of_class(done.material_class);
    if (class_default != NULL)
        shape_leaf(&done, class_default);
    enum coat_result result = check_all(&done, error);
    if (result != COAT_OK)
        return result;
    fill_figures(&done, class_default);
    fill_stages(&done, class_default);
    fill_bake(&done, class_default);
    done.closes_by_hottest |= class_default->closes_by_hottest; /* the earlier closing of the two rules */
    result = bake_limits_check(&done, error); /* against the rows that it has by now */
    if (result != COAT_OK)
        return result;
    *material = done;
    return COAT_OK;
}
