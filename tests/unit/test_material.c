/* The built-in figures against what was published, and what happens to a material that a user types in. */
#include "coat/material.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

static const struct stage_boundary *boundary_of(enum material_class class_is, enum stage stage, unsigned index)
{
    const struct stage_table *table = &builtin_of_class(class_is)->stage[stage];
    if (index >= table->boundaries)
        fail_msg("%s has no time %u of %s", material_class_word(class_is), index, stage_word(stage));
    return &table->boundary[index];
}

static void check_row(const char *what, const struct stage_boundary *boundary, unsigned row, double temp_c, double hours)
{
    if (row >= boundary->rows)
        fail_msg("%s: no row %u", what, row);
    if (fabs(boundary->row[row].temp_c - temp_c) > 1e-9 || fabs(boundary->row[row].hours - hours) > 1e-9)
        fail_msg("%s: %g C %g h, published %g C %g h", what, boundary->row[row].temp_c, boundary->row[row].hours, temp_c, hours);
}

/* Published figures ------------------------------------------------------------------------------------------- */

struct published {
    enum material_class class_is;
    enum stage stage;
    unsigned index;
    enum span_do then;
    double temp_c, hours;
    const char *document;
};

static const struct published published[] = {
    {CLASS_EPOXY_PRIMER, STAGE_RECOAT, 0, SPAN_GO, 23.9, 5, "USAF T.O. 1-1-8 para 5.6.2"},
    {CLASS_EPOXY_PRIMER, STAGE_RECOAT, 1, SPAN_WIPE, 23.9, 8, "USAF T.O. 1-1-8 para 5.6.2"},
    {CLASS_EPOXY_PRIMER, STAGE_RECOAT, 2, SPAN_SCUFF, 23.9, 24, "USAF T.O. 1-1-8 para 5.6.2"},
    {CLASS_EPOXY_BUILD, STAGE_RECOAT, 1, SPAN_SCUFF, 23, 96, "MIL-HDBK-1110 para 2.3.4"},
    {CLASS_ALKYD_PRIMER, STAGE_TOUCH, 0, SPAN_GO, 23, 2, "TT-P-645C table III"},
    {CLASS_ALKYD_ENAMEL, STAGE_RECOAT, 0, SPAN_GO, 23, 16, "EN0562 p. 73"},
    {CLASS_ALKYD_ENAMEL, STAGE_SAND, 0, SPAN_GO, 23, 16, "EN0562 p. 73"},
    {CLASS_WATERBORNE, STAGE_TOUCH, 0, SPAN_GO, 23, 0.5, "EN0562 p. 81"},
    {CLASS_SHELLAC, STAGE_HANDLE, 0, SPAN_GO, 23, 1, "TM 43-0139 para 2-23"},
    {CLASS_SHELLAC, STAGE_RECOAT, 0, SPAN_GO, 23, 3, "TM 43-0139 para 2-23"}, /* 2 to 3 h: an opening takes the later */
    {CLASS_SHELLAC, STAGE_CURE, 0, SPAN_GO, 23, 24, "TM 43-0139 para 2-23"},
    {CLASS_SIZE_QUICK, STAGE_LEAF, 0, SPAN_TEST, 23, 1, "gilding sizes, July 2019"}, /* 1 to 3 h: the earliest tack */
    {CLASS_SIZE_SLOW, STAGE_LEAF, 0, SPAN_TEST, 23, 12, "gilding sizes, July 2019"},
    {CLASS_SIZE_JAPAN, STAGE_LEAF, 0, SPAN_TEST, 23, 2, "How-To, Gilding"},
    {CLASS_SIZE_WATER, STAGE_LEAF, 0, SPAN_TEST, 23, 0.25, "gilding sizes, July 2019"},
    {CLASS_SIZE_SLOW, STAGE_SEAL, 0, SPAN_GO, 23, 336, "conservation forum"},
};

static void test_published_figures_are_as_printed(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof published / sizeof *published; i++) {
        const struct published *p = &published[i];
        const struct stage_boundary *boundary = boundary_of(p->class_is, p->stage, p->index);
        check_row(material_class_word(p->class_is), boundary, 0, p->temp_c, p->hours);
        assert_int_equal(boundary->then, p->then);
        assert_int_equal(boundary->basis, BASIS_PUBLISHED);
        if (strstr(boundary->source, p->document) == NULL)
            fail_msg("\"%s\" does not name %s", boundary->source, p->document);
    }
}

/* UFGS 09971, table RECOAT WINDOWS, polyurethane over polyurethane: 16-21, 22-27, 28-32, 33-38, 39-43, 44-49 C. */
static void test_urethane_windows_are_the_guide_specifications(void **state)
{
    (void)state;
    static const double temp_c[] = {18.3, 24.2, 29.7, 35.3, 40.8, 46.4};
    static const double opens_h[] = {8, 6, 4, 3, 2, 1}, closes_h[] = {48, 48, 36, 24, 12, 2};
    const struct stage_boundary *opens = boundary_of(CLASS_POLYURETHANE, STAGE_RECOAT, 0);
    const struct stage_boundary *closes = boundary_of(CLASS_POLYURETHANE, STAGE_RECOAT, 1);
    assert_int_equal(opens->rows, 6);
    assert_int_equal(closes->rows, 6);
    for (unsigned i = 0; i < 6; i++) {
        check_row("opening", opens, i, temp_c[i], opens_h[i]);
        check_row("closing", closes, i, temp_c[i], closes_h[i]);
    }
    assert_int_equal(closes->then, SPAN_SCUFF);
}

/* Metal Finishing guidebook 2012-13: 110 C 45 min to 176 C 10 min; J. Serb. Chem. Soc. 70 (2005) 593: 130 C 30 min.
 * Artisan, Japanning: 250 to 300 F (121 to 149 C), 2 to 4 h. */
static void test_bake_schedules_are_the_published_ones(void **state)
{
    (void)state;
    const struct material *stoving = builtin_of_class(CLASS_STOVING_ENAMEL), *japan = builtin_of_class(CLASS_BAKING_JAPAN);
    static const struct cure_row rows[] = {{110, 0.75}, {130, 0.5}, {176, 10.0 / 60.0}};
    assert_int_equal(stoving->bake_rows, 3);
    for (unsigned i = 0; i < 3; i++) {
        assert_true(fabs(stoving->bake_row[i].temp_c - rows[i].temp_c) < 1e-9);
        assert_true(fabs(stoving->bake_row[i].hours - rows[i].hours) < 1e-9);
    }
    assert_int_equal(japan->bake_rows, 2);
    assert_true(fabs(japan->bake_row[0].temp_c - (250.0 - 32.0) / 1.8) < 0.5 && japan->bake_row[0].hours <= 4.0);
    assert_true(fabs(japan->bake_row[1].temp_c - (300.0 - 32.0) / 1.8) < 0.5 && japan->bake_row[1].hours >= 2.0);
}

/* UFGS 09971 para 3.7.1.3, at 21 C; NAVFAC MO-124, above 70 F 0.5 to 1 h. */
static void test_pot_life_and_induction_are_the_published_ones(void **state)
{
    (void)state;
    assert_true(builtin_of_class(CLASS_EPOXY_PRIMER)->pot_life_min == 240.0);
    assert_true(builtin_of_class(CLASS_EPOXY_BUILD)->pot_life_min == 240.0);
    assert_true(builtin_of_class(CLASS_POLYURETHANE)->pot_life_min == 120.0);
    assert_true(builtin_of_class(CLASS_EPOXY_PRIMER)->induction_min == 60.0);
    assert_true(isnan(builtin_of_class(CLASS_ALKYD_ENAMEL)->pot_life_min));
}

/* 10 / log2(Q10) */
static void test_doublings_follow_from_the_q10_of_the_class(void **state)
{
    (void)state;
    static const struct {
        enum material_class class_is;
        double q10;
    } rows[] = {{CLASS_ALKYD_ENAMEL, 2.0}, {CLASS_LACQUER, 1.5},      {CLASS_SHELLAC, 1.5},      {CLASS_EPOXY_PRIMER, 2.1},
                {CLASS_EPOXY_BUILD, 2.1},  {CLASS_POLYURETHANE, 1.85}, {CLASS_WATERBORNE, 1.5}, {CLASS_SIZE_QUICK, 2.0}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        assert_true(fabs(builtin_of_class(rows[i].class_is)->doubling_c - 10.0 / log2(rows[i].q10)) < 1e-3);
}

static void test_gloss_enamel_is_handled_after_two_days(void **state)
{
    (void)state;
    static const enum material_class gloss[] = {CLASS_ALKYD_ENAMEL, CLASS_SPRAY_ENAMEL, CLASS_TOUCH_UP};
    for (size_t i = 0; i < sizeof gloss / sizeof *gloss; i++) {
        check_row("handle", boundary_of(gloss[i], STAGE_HANDLE, 0), 0, 23.0, 48.0);
        assert_int_equal(boundary_of(gloss[i], STAGE_HANDLE, 0)->basis, BASIS_PRACTICE);
    }
}

static void test_spray_enamel_has_a_shut_middle_that_sends_you_to_the_can(void **state)
{
    (void)state;
    const struct stage_table *recoat = &builtin_of_class(CLASS_SPRAY_ENAMEL)->stage[STAGE_RECOAT];
    assert_int_equal(recoat->first, SPAN_GO);
    assert_int_equal(recoat->boundaries, 2);
    assert_int_equal(recoat->boundary[0].then, SPAN_WAIT);
    assert_int_equal(recoat->boundary[1].then, SPAN_GO);
    check_row("shuts", &recoat->boundary[0], 0, 23.0, 1.0);
    check_row("reopens", &recoat->boundary[1], 0, 23.0, 48.0);
    assert_true(recoat->boundary[0].disputed && recoat->boundary[1].disputed);
}

/* The whole table --------------------------------------------------------------------------------------------- */

typedef void boundary_check(const struct material *material, const struct stage_table *table,
                            const struct stage_boundary *boundary);

static unsigned for_every_boundary(boundary_check *check)
{
    unsigned count = 0, seen = 0;
    const struct material *all = builtin_materials(&count);
    for (unsigned i = 0; i < count; i++)
        for (unsigned s = 0; s < STAGE_COUNT; s++)
            for (unsigned b = 0; b < all[i].stage[s].boundaries; b++, seen++)
                check(&all[i], &all[i].stage[s], &all[i].stage[s].boundary[b]);
    return seen;
}

static void has_basis_and_source(const struct material *material, const struct stage_table *table,
                                 const struct stage_boundary *boundary)
{
    size_t length = strnlen(boundary->source, sizeof boundary->source);
    if (length == sizeof boundary->source || length < 10)
        fail_msg("%s, %s: a source of %zu bytes", material->name, stage_word(table->stage), length);
    if (boundary->basis == BASIS_LABEL || !isnan(boundary->label_h))
        fail_msg("%s, %s: a generic material has no label", material->name, stage_word(table->stage));
    if (boundary->basis == BASIS_PRACTICE && strstr(boundary->source, "common practice") == NULL)
        fail_msg("%s, %s: practice told as \"%s\"", material->name, stage_word(table->stage), boundary->source);
    if (boundary->basis == BASIS_MEMORY && strstr(boundary->source, "from memory") == NULL)
        fail_msg("%s, %s: memory told as \"%s\"", material->name, stage_word(table->stage), boundary->source);
    if (boundary->basis == BASIS_PUBLISHED && strncmp(boundary->source, "common practice", 15) == 0)
        fail_msg("%s, %s: practice told as published", material->name, stage_word(table->stage));
}

static void makes_a_law(const struct material *material, const struct stage_table *table,
                        const struct stage_boundary *boundary)
{
    struct law_terms terms;
    struct law law;
    struct coat_error error = {0};
    boundary_terms(material, table->stage, boundary, &terms);
    if (law_from_terms(&terms, &law, &error) != COAT_OK)
        fail_msg("%s, %s: %s", material->name, stage_word(table->stage), error.text);
    double rate = law_rate(&law, boundary->row[0].temp_c, material->ref_rh_pct, NULL);
    if (!(fabs(rate - 1.0) < 1e-9))
        fail_msg("%s, %s: rate %g at its own first row", material->name, stage_word(table->stage), rate);
}

static void test_every_figure_says_where_it_comes_from(void **state)
{
    (void)state;
    assert_true(for_every_boundary(has_basis_and_source) > 140);
}

static void test_every_figure_makes_a_law(void **state)
{
    (void)state;
    assert_true(for_every_boundary(makes_a_law) > 140);
}

static void test_every_hazard_of_a_builtin_is_answered(void **state)
{
    (void)state;
    unsigned count = 0;
    const struct material *all = builtin_materials(&count);
    assert_int_equal(count, MATERIAL_CLASS_COUNT);
    for (unsigned i = 0; i < count; i++) {
        assert_int_equal(all[i].material_class, i);
        assert_ptr_equal(builtin_of_class((enum material_class)i), &all[i]);
        assert_true(all[i].builtin && all[i].limits_source[0] != '\0');
        assert_true(memchr(all[i].limits_source, '\0', sizeof all[i].limits_source) != NULL);
        assert_true(memchr(all[i].bake_source, '\0', sizeof all[i].bake_source) != NULL);
        assert_true(all[i].bake_rows == 0 || all[i].bake_source[0] != '\0');
        assert_true(all[i].stage[all[i].guard].boundaries > 0);
        for (unsigned h = 0; h < HAZARD_COUNT; h++)
            assert_int_not_equal(all[i].hazard[h], ANSWER_NONE);
    }
    assert_null(builtin_of_class(MATERIAL_CLASS_COUNT));
}

static bool same_boundary(const struct stage_boundary *a, const struct stage_boundary *b)
{
    return a->then == b->then && a->rows == b->rows && a->basis == b->basis && a->disputed == b->disputed &&
           memcmp(a->row, b->row, a->rows * sizeof *a->row) == 0 && strcmp(a->source, b->source) == 0;
}

static void assert_same_stages(const struct material *a, const struct material *b)
{
    for (unsigned s = 0; s < STAGE_COUNT; s++) {
        if (a->stage[s].boundaries != b->stage[s].boundaries || a->stage[s].stage != b->stage[s].stage)
            fail_msg("%s: %s changed", a->name, stage_word((enum stage)s));
        for (unsigned i = 0; i < a->stage[s].boundaries; i++)
            if (!same_boundary(&a->stage[s].boundary[i], &b->stage[s].boundary[i]))
                fail_msg("%s: time %u of %s changed", a->name, i, stage_word((enum stage)s));
    }
}

static void test_every_builtin_passes_its_own_check_unchanged(void **state)
{
    (void)state;
    unsigned count = 0;
    const struct material *all = builtin_materials(&count);
    for (unsigned i = 0; i < count; i++) {
        struct material material = all[i];
        struct coat_error error = {0};
        if (material_complete(&material, &error) != COAT_OK)
            fail_msg("%s: %s: %s", all[i].name, error.field, error.text);
        assert_same_stages(&material, &all[i]);
    }
}

/* Two names may share a word only where a second one parts them, so that a short start is enough at the bench. */
static void test_names_part_within_their_first_letters(void **state)
{
    (void)state;
    unsigned count = 0;
    const struct material *all = builtin_materials(&count);
    for (unsigned i = 0; i < count; i++)
        for (unsigned k = i + 1; k < count; k++)
            if (strncmp(all[i].name, all[k].name, 7) == 0)
                fail_msg("\"%s\" and \"%s\" begin alike", all[i].name, all[k].name);
}

/* Sides and limits -------------------------------------------------------------------------------------------- */

static void test_only_go_opens(void **state)
{
    (void)state;
    for (unsigned then = 0; then < SPAN_COUNT; then++) {
        struct stage_boundary boundary = {.then = (enum span_do)then};
        assert_int_equal(boundary_side(&boundary), then == SPAN_GO ? SIDE_OPENING : SIDE_CLOSING);
    }
}

static struct stage_boundary two_rows(enum span_do then)
{
    return (struct stage_boundary){
        .then = then, .rows = 2, .row = {{10.0, 24.0}, {25.0, 8.0}}, .label_h = (double)NAN, .basis = BASIS_LABEL};
}

static void test_without_a_printed_limit_the_warmest_row_is_the_floor_and_the_coldest_the_ceiling(void **state)
{
    (void)state;
    struct stage_boundary opening = two_rows(SPAN_GO), closing = two_rows(SPAN_SCUFF);
    assert_true(boundary_limit_h(STAGE_RECOAT, &opening) == 8.0);
    assert_true(boundary_limit_h(STAGE_RECOAT, &closing) == 24.0);
    opening.label_h = 12.0;
    closing.label_h = 20.0;
    assert_true(boundary_limit_h(STAGE_RECOAT, &opening) == 12.0);
    assert_true(boundary_limit_h(STAGE_RECOAT, &closing) == 20.0);
}

static void test_a_size_has_neither_floor_nor_ceiling(void **state)
{
    (void)state;
    for (unsigned i = 0; i < 2; i++)
        assert_true(isnan(boundary_limit_h(STAGE_LEAF, boundary_of(CLASS_SIZE_QUICK, STAGE_LEAF, i))));
}

static void test_water_is_slowed_by_damp_only_while_it_leaves(void **state)
{
    (void)state;
    const struct material *waterborne = builtin_of_class(CLASS_WATERBORNE);
    struct law_terms terms;
    boundary_terms(waterborne, STAGE_TOUCH, boundary_of(CLASS_WATERBORNE, STAGE_TOUCH, 0), &terms);
    assert_int_equal(terms.rule, HUMIDITY_WATER);
    boundary_terms(waterborne, STAGE_CURE, boundary_of(CLASS_WATERBORNE, STAGE_CURE, 0), &terms);
    assert_int_equal(terms.rule, HUMIDITY_SOLVENT);
    const struct material *size = builtin_of_class(CLASS_SIZE_WATER);
    boundary_terms(size, STAGE_LEAF, boundary_of(CLASS_SIZE_WATER, STAGE_LEAF, 0), &terms);
    assert_int_equal(terms.rule, HUMIDITY_WATER);
    const struct material *enamel = builtin_of_class(CLASS_ALKYD_ENAMEL);
    boundary_terms(enamel, STAGE_CURE, boundary_of(CLASS_ALKYD_ENAMEL, STAGE_CURE, 0), &terms);
    assert_int_equal(terms.rule, HUMIDITY_OXIDISING);
    assert_int_equal(terms.side, SIDE_OPENING);
    assert_true(terms.min_temp_c == 10.0 && terms.max_rh_pct == 85.0 && terms.doubling_c == 10.0);
}

/* Hazards ----------------------------------------------------------------------------------------------------- */

static struct material unanswered(enum material_class class_is)
{
    struct material material;
    material_init(&material, class_is);
    return material;
}

static void test_an_unanswered_hazard_is_the_worst_of_its_class(void **state)
{
    (void)state;
    for (unsigned c = 0; c < MATERIAL_CLASS_COUNT; c++) {
        struct material material = unanswered((enum material_class)c);
        for (unsigned h = 0; h < HAZARD_COUNT; h++)
            if (builtin_of_class((enum material_class)c)->hazard[h] == ANSWER_YES &&
                !material_hazard(&material, (enum hazard)h))
                fail_msg("%s, %s: unanswered is milder than the generic one", material_class_word((enum material_class)c),
                         hazard_word((enum hazard)h));
    }
    struct material unknown = unanswered(MATERIAL_CLASS_COUNT);
    for (unsigned h = 0; h < HAZARD_COUNT; h++)
        assert_true(material_hazard(&unknown, (enum hazard)h));
}

static void test_an_answer_beats_the_class_both_ways(void **state)
{
    (void)state;
    struct material material = unanswered(CLASS_SHELLAC);
    assert_false(material_hazard(&material, HAZARD_SELF_HEATING));
    material.hazard[HAZARD_SELF_HEATING] = ANSWER_YES;
    material.hazard[HAZARD_FLAMMABLE] = ANSWER_NO;
    assert_true(material_hazard(&material, HAZARD_SELF_HEATING));
    assert_false(material_hazard(&material, HAZARD_FLAMMABLE));
}

static void test_an_unanswered_two_part_counts_as_isocyanate(void **state)
{
    (void)state;
    static const enum material_class two_part[] = {CLASS_EPOXY_PRIMER, CLASS_EPOXY_BUILD, CLASS_POLYURETHANE};
    for (size_t i = 0; i < sizeof two_part / sizeof *two_part; i++) {
        struct material material = unanswered(two_part[i]);
        assert_true(material_hazard(&material, HAZARD_TWO_PART));
        assert_true(material_hazard(&material, HAZARD_ISOCYANATE));
    }
    struct material enamel = unanswered(CLASS_ALKYD_ENAMEL);
    assert_false(material_hazard(&enamel, HAZARD_ISOCYANATE));
    enamel.hazard[HAZARD_TWO_PART] = ANSWER_YES; /* a hardener was bought for it */
    assert_true(material_hazard(&enamel, HAZARD_ISOCYANATE));
    enamel.hazard[HAZARD_ISOCYANATE] = ANSWER_NO;
    assert_false(material_hazard(&enamel, HAZARD_ISOCYANATE));
    assert_false(material_hazard(builtin_of_class(CLASS_EPOXY_PRIMER), HAZARD_ISOCYANATE));
    assert_true(material_hazard(builtin_of_class(CLASS_POLYURETHANE), HAZARD_ISOCYANATE));
}

/* A user's own material ------------------------------------------------------------------------------------------ */

static struct material from_tin(enum material_class class_is)
{
    struct material material = unanswered(class_is);
    snprintf(material.name, sizeof material.name, "black gloss from the tin");
    return material;
}

static void print_on_label(struct material *material, enum stage stage, const char *window, double temp_c)
{
    struct coat_error error = {0};
    if (window_parse(window, temp_c, &material->stage[stage], &error) != COAT_OK)
        fail_msg("%s", error.text);
}

static void complete(struct material *material)
{
    struct coat_error error = {0};
    if (material_complete(material, &error) != COAT_OK)
        fail_msg("%s: %s", error.field, error.text);
}

static void test_the_label_beats_the_generic_figure(void **state)
{
    (void)state;
    struct material tin = from_tin(CLASS_ALKYD_ENAMEL);
    print_on_label(&tin, STAGE_RECOAT, "8h", 20.0);
    print_on_label(&tin, STAGE_HANDLE, "12h", 20.0);
    tin.min_temp_c = 5.0;
    complete(&tin);
    check_row("recoat", &tin.stage[STAGE_RECOAT].boundary[0], 0, 20.0, 8.0);
    check_row("handle", &tin.stage[STAGE_HANDLE].boundary[0], 0, 20.0, 12.0);
    assert_int_equal(tin.stage[STAGE_RECOAT].boundary[0].basis, BASIS_LABEL);
    assert_true(tin.min_temp_c == 5.0);
}

static void test_a_figure_of_the_label_is_not_said_to_come_from_a_document(void **state)
{
    (void)state;
    char text[MATERIAL_LIMITS_TEXT_SIZE];
    struct material tin = from_tin(CLASS_ALKYD_ENAMEL);
    complete(&tin);
    material_limits_text(&tin, text);
    assert_string_equal(text, tin.limits_source);
    tin.film_um = 40.0;
    tin.min_temp_c = 5.0;
    material_limits_text(&tin, text);
    assert_string_equal(strtok(text, ";"), "label: coldest, film");
    assert_string_equal(strtok(NULL, ":"), " else 10 C");
    tin.limits_source[0] = '\0';
    material_limits_text(&tin, text);
    assert_string_equal(text, "label: coldest, film");
    for (unsigned class = 0; class < MATERIAL_CLASS_COUNT; class++) {
        struct material told = *builtin_of_class((enum material_class)class);
        material_limits_text(&told, text);
        assert_string_equal(text, told.limits_source);
        told.min_temp_c = told.max_temp_c = told.max_rh_pct = told.film_um = told.solids_pct = 31.0;
        material_limits_text(&told, text);
        assert_non_null(strstr(text, "label: coldest, warmest, dampest, film, solids; else "));
        assert_non_null(strstr(text, told.limits_source)); /* nothing is cut */
    }
}

static void test_what_the_label_leaves_out_comes_from_the_class(void **state)
{
    (void)state;
    const struct material *generic = builtin_of_class(CLASS_ALKYD_ENAMEL);
    struct material tin = from_tin(CLASS_ALKYD_ENAMEL);
    print_on_label(&tin, STAGE_RECOAT, "8h", 20.0);
    complete(&tin);
    assert_true(same_boundary(&tin.stage[STAGE_TOUCH].boundary[0], &generic->stage[STAGE_TOUCH].boundary[0]));
    assert_true(same_boundary(&tin.stage[STAGE_CURE].boundary[0], &generic->stage[STAGE_CURE].boundary[0]));
    assert_true(tin.min_temp_c == 10.0 && tin.max_rh_pct == 85.0 && tin.film_um == 37.0 && tin.doubling_c == 10.0);
    assert_string_equal(tin.limits_source, generic->limits_source);
    assert_int_equal(tin.hazard[HAZARD_ISOCYANATE], ANSWER_NONE);
    struct material stoved = from_tin(CLASS_STOVING_ENAMEL);
    complete(&stoved);
    assert_int_equal(stoved.bake_rows, 3);
}

static void test_tape_waits_for_a_label_that_says_handle_later(void **state)
{
    (void)state;
    struct material tin = from_tin(CLASS_ALKYD_ENAMEL);
    print_on_label(&tin, STAGE_HANDLE, "72h", 23.0);
    complete(&tin);
    const struct stage_boundary *tape = &tin.stage[STAGE_TAPE].boundary[0];
    check_row("tape", tape, 0, 23.0, 72.0);
    assert_int_equal(tape->basis, BASIS_DERIVED);
    assert_true(boundary_limit_h(STAGE_TAPE, tape) >= 72.0);
    assert_non_null(strstr(tape->source, "handle"));
}

/* Hours to an opening in steady air, as the service tells them. */
static double hours_at(const struct material *material, enum stage stage, double temp_c)
{
    struct law_terms terms;
    struct law law;
    const struct stage_boundary *boundary = &material->stage[stage].boundary[0];
    boundary_terms(material, stage, boundary, &terms);
    terms.min_temp_c = (double)NAN;
    assert_int_equal(law_from_terms(&terms, &law, NULL), COAT_OK);
    return boundary->row[0].hours / law_rate(&law, temp_c, 50.0, NULL);
}

static void test_filled_stages_follow_a_slow_label_at_every_temperature(void **state)
{
    (void)state;
    static const struct {
        enum stage early, late;
    } order[] = {{STAGE_TOUCH, STAGE_DUST_FREE}, {STAGE_TOUCH, STAGE_TACK_FREE}, {STAGE_TACK_FREE, STAGE_HANDLE},
                 {STAGE_HANDLE, STAGE_TAPE},     {STAGE_TOUCH, STAGE_RECOAT},    {STAGE_TOUCH, STAGE_UNMASK}};
    struct material tin = from_tin(CLASS_ALKYD_PRIMER);
    /* slow in the cold, quick in the warm: crosses the generic figures */
    tin.stage[STAGE_TOUCH] = (struct stage_table){
        .stage = STAGE_TOUCH, .first = SPAN_WAIT, .boundaries = 1, .boundary = {two_rows(SPAN_GO)}};
    tin.stage[STAGE_TOUCH].boundary[0].row[0].hours = 40.0;
    complete(&tin);
    for (double temp_c = 10.0; temp_c <= 32.0; temp_c += 0.5)
        for (size_t i = 0; i < sizeof order / sizeof *order; i++)
            if (hours_at(&tin, order[i].late, temp_c) < hours_at(&tin, order[i].early, temp_c) * (1.0 - 1e-6))
                fail_msg("at %g C %s comes at %g h, before %s at %g h", temp_c, stage_word(order[i].late),
                         hours_at(&tin, order[i].late, temp_c), stage_word(order[i].early),
                         hours_at(&tin, order[i].early, temp_c));
    const struct material *generic = builtin_of_class(CLASS_ALKYD_PRIMER);
    assert_true(hours_at(&tin, STAGE_TAPE, 30.0) >= hours_at(generic, STAGE_TAPE, 30.0) * (1.0 - 1e-6));
}

static void test_completing_twice_changes_nothing(void **state)
{
    (void)state;
    for (unsigned c = 0; c < MATERIAL_CLASS_COUNT; c++) {
        struct material once = from_tin((enum material_class)c);
        print_on_label(&once, STAGE_TOUCH, "30h", 15.0); /* later than most that is filled in */
        complete(&once);
        struct material twice = once;
        complete(&twice);
        assert_same_stages(&once, &twice);
    }
}

static void test_a_size_is_tested_whatever_its_label_calls_it(void **state)
{
    (void)state;
    struct material size = from_tin(CLASS_SIZE_QUICK);
    print_on_label(&size, STAGE_LEAF, "3h", 20.0); /* tack at 3 h, or gone by 3 h? the finger decides */
    size.stage[STAGE_LEAF].boundary[0].label_h = 3.0;
    complete(&size);
    const struct stage_table *leaf = &size.stage[STAGE_LEAF];
    assert_int_equal(leaf->boundaries, 2);
    assert_int_equal(leaf->boundary[0].then, SPAN_TEST);
    assert_int_equal(leaf->boundary[1].then, SPAN_STRIP);
    check_row("lost", &leaf->boundary[1], 0, 20.0, 6.0);
    assert_true(isnan(boundary_limit_h(STAGE_LEAF, &leaf->boundary[0])));
    assert_true(isnan(leaf->boundary[0].label_h));
}

static void test_a_label_limit_beyond_the_class_stands_alone(void **state)
{
    (void)state;
    struct material tin = from_tin(CLASS_ALKYD_ENAMEL);
    tin.min_temp_c = 35.0; /* the class stops at 32 C */
    complete(&tin);
    assert_true(tin.min_temp_c == 35.0 && isnan(tin.max_temp_c));
}

/* What is refused ------------------------------------------------------------------------------------------------ */

static void refuse(struct material *material, const char *field)
{
    struct material before = *material;
    struct coat_error error = {0};
    if (material_complete(material, &error) != COAT_BAD_VALUE)
        fail_msg("%s was taken", field);
    assert_string_equal(error.field, field);
    assert_true(strlen(error.text) > 10);
    assert_memory_equal(material, &before, sizeof before);
    assert_int_equal(material_complete(material, NULL), COAT_BAD_VALUE);
}

static void test_names_that_cannot_serve_are_refused(void **state)
{
    (void)state;
    static const char *const names[] = {"", "12", "007", " black", "black ", "bl\nack", "bl\x7f", "\x1b[31mred"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        struct material tin = from_tin(CLASS_ALKYD_ENAMEL);
        memset(tin.name, 0, sizeof tin.name);
        memcpy(tin.name, names[i], strlen(names[i]));
        refuse(&tin, "name");
    }
    struct material tin = from_tin(CLASS_ALKYD_ENAMEL);
    memset(tin.name, 'x', sizeof tin.name);
    refuse(&tin, "name");
    snprintf(tin.name, sizeof tin.name, "2K black, n\xc2\xb0 5");
    complete(&tin);
}

static void test_figures_out_of_range_are_refused_by_name(void **state)
{
    (void)state;
    struct material good = from_tin(CLASS_ALKYD_ENAMEL);
    struct {
        double *at;
        double value;
        const char *field;
    } cases[] = {
        {&good.min_temp_c, -273.0, "limits.min_temp_c"}, {&good.max_temp_c, 900.0, "limits.max_temp_c"},
        {&good.max_rh_pct, 101.0, "limits.max_rh_pct"},  {&good.ref_rh_pct, 100.0, "limits.ref_rh_pct"},
        {&good.film_um, 0.0, "limits.film_um"},          {&good.film_um, HUGE_VAL, "limits.film_um"},
        {&good.film_exponent, -1.0, "limits.film_exponent"}, {&good.solids_pct, 0.0, "limits.solids_pct"},
        {&good.doubling_c, 0.0, "limits.doubling_c"},    {&good.pot_life_min, -5.0, "limits.pot_life_min"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        double before = *cases[i].at;
        *cases[i].at = cases[i].value;
        refuse(&good, cases[i].field);
        *cases[i].at = before;
    }
    good.min_temp_c = 25.0;
    good.max_temp_c = 20.0;
    refuse(&good, "limits.max_temp_c");
}

static void set_recoat(struct material *material, unsigned boundaries, enum span_do then0, enum span_do then1)
{
    struct stage_table *table = &material->stage[STAGE_RECOAT];
    *table = (struct stage_table){.stage = STAGE_RECOAT, .first = SPAN_WAIT, .boundaries = boundaries};
    table->boundary[0] = two_rows(then0);
    table->boundary[1] = two_rows(then1);
    table->boundary[1].row[0].hours = 48.0;
    table->boundary[1].row[1].hours = 16.0;
}

static void test_rows_that_make_no_table_are_refused(void **state)
{
    (void)state;
    struct material tin = from_tin(CLASS_ALKYD_ENAMEL);
    struct stage_boundary *recoat = &tin.stage[STAGE_RECOAT].boundary[0];
    set_recoat(&tin, 1, SPAN_GO, SPAN_GO);
    static const struct cure_row bad[] = {{10.0, 8.0}, {5.0, 8.0},        {25.0, 0.0},   {25.0, -1.0},
                                          {25.0, 1e6}, {25.0, (double)NAN}, {301.0, 8.0}, {(double)NAN, 8.0}};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        recoat->row[1] = bad[i];
        refuse(&tin, "stages.recoat");
    }
    recoat->row[1] = (struct cure_row){25.0, 8.0};
    complete(&tin);
    recoat->rows = 0;
    refuse(&tin, "stages.recoat");
    recoat->rows = LAW_ROWS_MAX + 1;
    refuse(&tin, "stages.recoat");
    set_recoat(&tin, MATERIAL_BOUNDARIES_MAX + 1, SPAN_GO, SPAN_GO);
    refuse(&tin, "stages.recoat");
}

static void test_windows_that_make_no_sense_are_refused(void **state)
{
    (void)state;
    static const enum span_do bad[][2] = {
        {SPAN_WAIT, SPAN_GO}, {SPAN_GO, SPAN_GO},   {SPAN_WIPE, SPAN_SCUFF}, {SPAN_SCUFF, SPAN_STRIP},
        {SPAN_GO, SPAN_TEST}, {SPAN_TEST, SPAN_STRIP}, {SPAN_STRIP, SPAN_GO},
    };
    struct material tin = from_tin(CLASS_ALKYD_ENAMEL);
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        set_recoat(&tin, 2, bad[i][0], bad[i][1]);
        refuse(&tin, "stages.recoat");
    }
    set_recoat(&tin, 2, SPAN_GO, SPAN_SCUFF);
    tin.stage[STAGE_RECOAT].boundary[1].row[1].hours = 8.0; /* closes at 25 C when it opens */
    refuse(&tin, "stages.recoat");
    set_recoat(&tin, 2, SPAN_GO, SPAN_SCUFF);
    tin.stage[STAGE_RECOAT].boundary[0].label_h = 24.0;
    tin.stage[STAGE_RECOAT].boundary[1].label_h = 12.0;
    refuse(&tin, "stages.recoat");
    set_recoat(&tin, 0, SPAN_GO, SPAN_GO);
    print_on_label(&tin, STAGE_HANDLE, "5h to 8h, then scuff", 20.0);
    refuse(&tin, "stages.handle");
}

static void test_words_from_nowhere_are_refused(void **state)
{
    (void)state;
    struct material tin = from_tin(CLASS_ALKYD_ENAMEL);
    tin.material_class = MATERIAL_CLASS_COUNT;
    refuse(&tin, "class");
    tin = from_tin(CLASS_ALKYD_ENAMEL);
    tin.guard = STAGE_COUNT;
    refuse(&tin, "limits.guard");
    tin = from_tin(CLASS_ALKYD_ENAMEL);
    tin.hazard[HAZARD_ISOCYANATE] = ANSWER_COUNT;
    refuse(&tin, "hazards");
    tin = from_tin(CLASS_STOVING_ENAMEL);
    tin.bake_rows = 1;
    tin.bake_row[0] = (struct cure_row){150.0, 0.0};
    refuse(&tin, "bake");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_published_figures_are_as_printed),
        cmocka_unit_test(test_urethane_windows_are_the_guide_specifications),
        cmocka_unit_test(test_bake_schedules_are_the_published_ones),
        cmocka_unit_test(test_pot_life_and_induction_are_the_published_ones),
        cmocka_unit_test(test_doublings_follow_from_the_q10_of_the_class),
        cmocka_unit_test(test_gloss_enamel_is_handled_after_two_days),
        cmocka_unit_test(test_spray_enamel_has_a_shut_middle_that_sends_you_to_the_can),
        cmocka_unit_test(test_every_figure_says_where_it_comes_from),
        cmocka_unit_test(test_every_figure_makes_a_law),
        cmocka_unit_test(test_every_hazard_of_a_builtin_is_answered),
        cmocka_unit_test(test_every_builtin_passes_its_own_check_unchanged),
        cmocka_unit_test(test_names_part_within_their_first_letters),
        cmocka_unit_test(test_only_go_opens),
        cmocka_unit_test(test_without_a_printed_limit_the_warmest_row_is_the_floor_and_the_coldest_the_ceiling),
        cmocka_unit_test(test_a_size_has_neither_floor_nor_ceiling),
        cmocka_unit_test(test_water_is_slowed_by_damp_only_while_it_leaves),
        cmocka_unit_test(test_an_unanswered_hazard_is_the_worst_of_its_class),
        cmocka_unit_test(test_an_answer_beats_the_class_both_ways),
        cmocka_unit_test(test_an_unanswered_two_part_counts_as_isocyanate),
        cmocka_unit_test(test_the_label_beats_the_generic_figure),
        cmocka_unit_test(test_a_figure_of_the_label_is_not_said_to_come_from_a_document),
        cmocka_unit_test(test_what_the_label_leaves_out_comes_from_the_class),
        cmocka_unit_test(test_tape_waits_for_a_label_that_says_handle_later),
        cmocka_unit_test(test_filled_stages_follow_a_slow_label_at_every_temperature),
        cmocka_unit_test(test_completing_twice_changes_nothing),
        cmocka_unit_test(test_a_size_is_tested_whatever_its_label_calls_it),
        cmocka_unit_test(test_a_label_limit_beyond_the_class_stands_alone),
        cmocka_unit_test(test_names_that_cannot_serve_are_refused),
        cmocka_unit_test(test_figures_out_of_range_are_refused_by_name),
        cmocka_unit_test(test_rows_that_make_no_table_are_refused),
        cmocka_unit_test(test_windows_that_make_no_sense_are_refused),
        cmocka_unit_test(test_words_from_nowhere_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
