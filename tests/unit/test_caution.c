/* Which cautions stand beside what, and that SAFETY.md is the table. */
#include "coat/caution.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define DOCUMENT_MAX 200000

static const enum caution_subject subjects[] = {CAUTION_FOR_COAT, CAUTION_FOR_BAKE, CAUTION_FOR_STRIP, CAUTION_FOR_SAND,
                                                CAUTION_FOR_SHOP};
#define SUBJECT_COUNT (sizeof subjects / sizeof *subjects)

/* A dry coat of a generic material on a tested piece in a place without any risk. */
static struct caution_query harmless(enum caution_subject subject, enum material_class material_class)
{
    struct caution_query query = {.subject = subject, .material = builtin_of_class(material_class),
                                  .old_finish = OLD_FINISH_CLEAR};
    query.application = query.material->application;
    for (unsigned i = 0; i < PLACE_RISK_COUNT; i++)
        query.place_risk[i] = ANSWER_NO;
    return query;
}

static int place_in(const struct caution_set *set, enum caution caution)
{
    for (unsigned i = 0; i < set->count; i++)
        if (set->code[i] == caution)
            return (int)i;
    return -1;
}

static bool shown(const struct caution_query *query, enum caution caution)
{
    struct caution_set set;
    cautions_for(query, &set);
    return place_in(&set, caution) >= 0;
}

#define assert_shown(query, caution) assert_true(shown(query, caution))
#define assert_not_shown(query, caution) assert_false(shown(query, caution))

static void test_any_coat_carries_ventilation_solvent_flame_and_the_label(void **state)
{
    (void)state;
    for (unsigned c = 0; c < MATERIAL_CLASS_COUNT; c++) {
        struct caution_query query = harmless(CAUTION_FOR_COAT, (enum material_class)c);
        for (unsigned a = 0; a < APPLICATION_COUNT; a++) {
            query.application = (enum application)a;
            assert_shown(&query, CAUTION_VENTILATION);
            assert_shown(&query, CAUTION_SOLVENT_SKIN);
            assert_shown(&query, CAUTION_FLAME);
            assert_shown(&query, CAUTION_LABEL_FIRST);
        }
    }
}

static void test_nothing_comes_without_the_label(void **state)
{
    (void)state;
    for (size_t i = 0; i < SUBJECT_COUNT; i++) {
        struct caution_query query = harmless(subjects[i], CLASS_TRANSFER);
        assert_shown(&query, CAUTION_LABEL_FIRST);
        assert_shown(&query, CAUTION_CHILDREN);
    }
}

static void test_oily_rags_stand_with_what_cures_by_oxygen(void **state)
{
    (void)state;
    static const enum material_class oily[] = {CLASS_ALKYD_ENAMEL, CLASS_OIL_VARNISH, CLASS_SIZE_SLOW, CLASS_BAKING_JAPAN};
    for (size_t i = 0; i < sizeof oily / sizeof *oily; i++) {
        struct caution_query query = harmless(CAUTION_FOR_COAT, oily[i]);
        assert_shown(&query, CAUTION_RAGS);
    }
    struct caution_query shellac = harmless(CAUTION_FOR_COAT, CLASS_SHELLAC);
    assert_not_shown(&shellac, CAUTION_RAGS);
    struct caution_query shop = harmless(CAUTION_FOR_SHOP, CLASS_SHELLAC);
    assert_shown(&shop, CAUTION_RAGS);
}

static void test_urethane_calls_for_supplied_air_at_coat_bake_and_sanding(void **state)
{
    (void)state;
    static const enum caution_subject work[] = {CAUTION_FOR_COAT, CAUTION_FOR_BAKE, CAUTION_FOR_SAND};
    for (size_t i = 0; i < sizeof work / sizeof *work; i++) {
        struct caution_query urethane = harmless(work[i], CLASS_POLYURETHANE), epoxy = harmless(work[i], CLASS_EPOXY_PRIMER);
        assert_shown(&urethane, CAUTION_ISOCYANATE);
        assert_not_shown(&epoxy, CAUTION_ISOCYANATE);
    }
    assert_non_null(strstr(caution_text(CAUTION_ISOCYANATE)->text, "supplied air"));
    assert_non_null(strstr(caution_text(CAUTION_ISOCYANATE)->text, "not for home spraying"));
}

static void test_a_two_part_tin_nobody_has_read_is_an_isocyanate(void **state)
{
    (void)state;
    struct material tin;
    material_init(&tin, CLASS_EPOXY_PRIMER);
    struct caution_query query = harmless(CAUTION_FOR_COAT, CLASS_EPOXY_PRIMER);
    query.material = &tin;
    assert_shown(&query, CAUTION_ISOCYANATE);
    assert_shown(&query, CAUTION_TWO_PART);
    tin.hazard[HAZARD_ISOCYANATE] = ANSWER_NO;
    assert_not_shown(&query, CAUTION_ISOCYANATE);
}

static void test_two_part_asks_more_of_a_spray_gun_than_of_a_brush(void **state)
{
    (void)state;
    struct caution_query query = harmless(CAUTION_FOR_COAT, CLASS_EPOXY_PRIMER);
    query.application = APPLY_SPRAY;
    assert_shown(&query, CAUTION_TWO_PART);
    query.application = APPLY_AEROSOL;
    assert_shown(&query, CAUTION_TWO_PART);
    query.application = APPLY_BRUSH;
    assert_not_shown(&query, CAUTION_TWO_PART);
}

static void test_a_can_brings_its_propellant_whatever_is_in_it(void **state)
{
    (void)state;
    struct caution_query query = harmless(CAUTION_FOR_COAT, CLASS_WATERBORNE);
    assert_not_shown(&query, CAUTION_AEROSOL);
    assert_not_shown(&query, CAUTION_STATIC);
    query.application = APPLY_AEROSOL;
    assert_shown(&query, CAUTION_AEROSOL);
    assert_shown(&query, CAUTION_STATIC);
    assert_non_null(strstr(caution_text(CAUTION_AEROSOL)->act, "49 C (120 F)"));
}

static void test_an_untested_old_finish_counts_as_lead(void **state)
{
    (void)state;
    static const enum caution_subject work[] = {CAUTION_FOR_SAND, CAUTION_FOR_STRIP, CAUTION_FOR_BAKE, CAUTION_FOR_COAT};
    for (size_t i = 0; i < sizeof work / sizeof *work; i++) {
        struct caution_query query = harmless(work[i], CLASS_ALKYD_ENAMEL);
        assert_not_shown(&query, CAUTION_LEAD);
        query.old_finish = OLD_FINISH_NOT_TESTED;
        assert_shown(&query, CAUTION_LEAD);
        query.old_finish = OLD_FINISH_LEAD;
        assert_shown(&query, CAUTION_LEAD);
    }
}

static void test_a_bake_brings_oven_flash_off_and_place(void **state)
{
    (void)state;
    static const enum caution oven[] = {CAUTION_BAKE, CAUTION_BAKE_FLASH, CAUTION_OVEN_PLACE, CAUTION_FLAME};
    for (size_t i = 0; i < sizeof oven / sizeof *oven; i++) {
        struct caution_query bake = harmless(CAUTION_FOR_BAKE, CLASS_ALKYD_ENAMEL);
        struct caution_query japan = harmless(CAUTION_FOR_COAT, CLASS_BAKING_JAPAN);
        assert_shown(&bake, oven[i]);
        assert_shown(&japan, oven[i]);
    }
    struct caution_query enamel = harmless(CAUTION_FOR_COAT, CLASS_ALKYD_ENAMEL);
    assert_not_shown(&enamel, CAUTION_BAKE);
}

static void test_stripping_and_sanding_bring_their_own(void **state)
{
    (void)state;
    struct caution_query strip = harmless(CAUTION_FOR_STRIP, CLASS_ALKYD_ENAMEL);
    struct caution_query sand = harmless(CAUTION_FOR_SAND, CLASS_ALKYD_ENAMEL);
    struct caution_query coat = harmless(CAUTION_FOR_COAT, CLASS_ALKYD_ENAMEL);
    assert_shown(&strip, CAUTION_STRIPPER);
    assert_shown(&strip, CAUTION_VENTILATION);
    assert_shown(&strip, CAUTION_SANDING_DUST);
    assert_shown(&sand, CAUTION_SANDING_DUST);
    assert_shown(&sand, CAUTION_RESPIRATOR);
    assert_not_shown(&coat, CAUTION_STRIPPER);
    assert_not_shown(&coat, CAUTION_SANDING_DUST);
}

static const struct {
    enum place_risk risk;
    enum caution caution;
} risky[] = {
    {RISK_BELOW_GROUND, CAUTION_BELOW_GROUND},     {RISK_ATTACHED, CAUTION_ATTACHED},
    {RISK_LIVED_IN, CAUTION_LIVED_IN},             {RISK_PILOT, CAUTION_PILOT},
    {RISK_OPEN_FLAME_HEATER, CAUTION_HEATER},      {RISK_FAN_MOTOR_IN_STREAM, CAUTION_FAN_MOTOR},
    {RISK_ELECTRONICS_NEAR, CAUTION_ELECTRONICS},
};
_Static_assert(sizeof risky / sizeof *risky == PLACE_RISK_COUNT, "each risk has its caution");

static void test_a_risk_of_the_place_shows_unless_it_was_answered_no(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof risky / sizeof *risky; i++) {
        struct caution_query query = harmless(CAUTION_FOR_COAT, CLASS_ALKYD_ENAMEL);
        assert_not_shown(&query, risky[i].caution);
        query.place_risk[risky[i].risk] = ANSWER_YES;
        assert_shown(&query, risky[i].caution);
        query.place_risk[risky[i].risk] = ANSWER_NONE;
        assert_shown(&query, risky[i].caution);
    }
}

static bool contains_all(const struct caution_set *outer, const struct caution_set *inner)
{
    for (unsigned i = 0; i < inner->count; i++)
        if (place_in(outer, inner->code[i]) < 0)
            return false;
    return true;
}

static void test_an_unknown_material_carries_what_any_material_would(void **state)
{
    (void)state;
    for (unsigned c = 0; c < MATERIAL_CLASS_COUNT; c++) {
        for (size_t i = 0; i < SUBJECT_COUNT; i++) {
            struct caution_query query = harmless(subjects[i], (enum material_class)c);
            struct caution_set known, unknown;
            cautions_for(&query, &known);
            query.material = NULL;
            cautions_for(&query, &unknown);
            assert_true(contains_all(&unknown, &known));
        }
    }
}

static void test_an_empty_question_gets_everything_about_a_coat(void **state)
{
    (void)state;
    struct caution_query nothing_known = {.subject = CAUTION_FOR_COAT, .application = APPLY_AEROSOL};
    struct caution_set set;
    cautions_for(&nothing_known, &set);
    assert_int_equal(set.count, CAUTION_COUNT - 3); /* all but the stripper's, sanding's and leaving's own */
    assert_int_equal(place_in(&set, CAUTION_STRIPPER), -1);
    assert_int_equal(place_in(&set, CAUTION_SANDING_DUST), -1);
}

static void assert_rising(const struct caution_set *set, unsigned from)
{
    for (unsigned i = from + 1; i < set->count; i++)
        if (set->code[i] <= set->code[i - 1])
            fail_msg("%s stands after %s", caution_word(set->code[i]), caution_word(set->code[i - 1]));
}

static void test_while_wet_rags_fan_and_flame_lead(void **state)
{
    (void)state;
    struct caution_query query = harmless(CAUTION_FOR_COAT, CLASS_POLYURETHANE);
    struct material tin;
    material_init(&tin, CLASS_POLYURETHANE); /* oil-modified ones heat their rags */
    query.material = &tin;
    struct caution_set dry, wet;
    cautions_for(&query, &dry);
    query.wet = true;
    cautions_for(&query, &wet);
    assert_int_equal(wet.code[0], CAUTION_RAGS);
    assert_int_equal(wet.code[1], CAUTION_VENTILATION);
    assert_int_equal(wet.code[2], CAUTION_FLAME);
    assert_int_equal(wet.code[3], CAUTION_ISOCYANATE);
    assert_rising(&wet, 3);
    assert_rising(&dry, 0);
    assert_int_equal(dry.code[1], CAUTION_ISOCYANATE);
    assert_int_equal(wet.count, dry.count);
    assert_true(contains_all(&wet, &dry));
}

static void test_merging_keeps_each_once_and_what_asks_for_a_hand_first(void **state)
{
    (void)state;
    struct caution_query dry_urethane = harmless(CAUTION_FOR_COAT, CLASS_POLYURETHANE);
    struct caution_query wet_enamel = harmless(CAUTION_FOR_COAT, CLASS_ALKYD_ENAMEL);
    wet_enamel.wet = true;
    struct caution_set both, other, empty = {0};
    cautions_for(&dry_urethane, &both);
    cautions_for(&wet_enamel, &other);
    unsigned before = both.count;
    cautions_merge(&both, &empty);
    assert_int_equal(both.count, before);
    cautions_merge(&both, &other);
    assert_true(contains_all(&both, &other) && place_in(&both, CAUTION_ISOCYANATE) > 0);
    assert_int_equal(both.code[0], CAUTION_RAGS);
    assert_int_equal(both.code[1], CAUTION_VENTILATION);
    assert_rising(&both, 3);
    unsigned merged = both.count;
    cautions_merge(&both, &other);
    assert_int_equal(both.count, merged);
    cautions_merge(&empty, &other);
    assert_int_equal(empty.count, other.count);
}

static void test_words_read_back(void **state)
{
    (void)state;
    for (unsigned i = 0; i < CAUTION_COUNT; i++) {
        enum caution found = CAUTION_COUNT;
        assert_true(caution_from_word(caution_word((enum caution)i), &found));
        assert_int_equal(found, i);
    }
    enum caution untouched = CAUTION_WASTE;
    assert_false(caution_from_word("harmless", &untouched));
    assert_int_equal(untouched, CAUTION_WASTE);
    assert_string_equal(caution_word(CAUTION_COUNT), "?");
    assert_ptr_equal(caution_text(CAUTION_COUNT), caution_text(CAUTION_LABEL_FIRST));
}

static unsigned sentences(const char *text)
{
    unsigned count = 0;
    for (const char *at = text; *at != '\0'; at++)
        if (*at == '.' && (at[1] == ' ' || at[1] == '\0'))
            count++;
    return count;
}

static void test_an_act_fits_the_plate_and_a_text_says_its_source(void **state)
{
    (void)state;
    for (unsigned i = 0; i < CAUTION_COUNT; i++) {
        const struct caution_text *text = caution_text((enum caution)i);
        if (strlen(text->act) == 0 || strlen(text->act) > 40)
            fail_msg("%s: an act of %zu characters", caution_word((enum caution)i), strlen(text->act));
        if (sentences(text->text) < 1 || sentences(text->text) > 4)
            fail_msg("%s: %u sentences", caution_word((enum caution)i), sentences(text->text));
        assert_true(strlen(text->when) > 5 && strlen(text->source) > 10);
    }
}

/* SAFETY.md --------------------------------------------------------------------------------------------------- */

/* White space single, so that line breaks do not matter. */
static void fold_spaces(char *text)
{
    char *to = text;
    for (const char *from = text; *from != '\0'; from++) {
        bool space = strchr(" \t\r\n", *from) != NULL;
        if (space && to > text && to[-1] == ' ')
            continue;
        *to++ = space ? ' ' : *from;
    }
    *to = '\0';
}

static void read_document(char *text)
{
    const char *root = getenv("COAT_ROOT");
    char path[1024];
    snprintf(path, sizeof path, "%s/SAFETY.md", root != NULL ? root : ".");
    FILE *file = fopen(path, "rb");
    if (file == NULL)
        fail_msg("%s cannot be read; set COAT_ROOT to the top of the source", path);
    size_t length = fread(text, 1, DOCUMENT_MAX - 1, file);
    fclose(file);
    assert_true(length > 0 && length < DOCUMENT_MAX - 1);
    text[length] = '\0';
}

static void assert_in_section(const char *section, const char *part, const char *what, enum caution caution)
{
    if (strstr(section, part) == NULL)
        fail_msg("SAFETY.md, %s: the %s is not \"%s\"", caution_word(caution), what, part);
}

static void check_section(char *section, enum caution caution)
{
    const struct caution_text *text = caution_text(caution);
    char when[512], source[512];
    fold_spaces(section);
    snprintf(when, sizeof when, "When: %s.", text->when);
    snprintf(source, sizeof source, "Source: %s.", text->source);
    assert_in_section(section, text->act, "act", caution);
    assert_in_section(section, text->text, "text", caution);
    assert_in_section(section, when, "occasion", caution);
    assert_in_section(section, source, "source", caution);
}

static void test_safety_document_is_the_table(void **state)
{
    (void)state;
    static char text[DOCUMENT_MAX];
    read_document(text);
    unsigned seen = 0;
    char *heading = strstr(text, "\n### ");
    while (heading != NULL) {
        char *word = heading + 5, *body = strchr(word, '\n');
        assert_non_null(body);
        *body++ = '\0';
        heading = strstr(body, "\n### ");
        if (heading != NULL)
            *heading = '\0';
        enum caution caution;
        if (!caution_from_word(word, &caution))
            fail_msg("SAFETY.md has a caution \"%s\" that nothing shows", word);
        assert_int_equal(caution, seen++); /* in order of weight, each once */
        check_section(body, caution);
    }
    assert_int_equal(seen, CAUTION_COUNT);
}

static void test_safety_document_defers_to_the_label(void **state)
{
    (void)state;
    static char text[DOCUMENT_MAX];
    read_document(text);
    fold_spaces(text);
    assert_non_null(strstr(text, caution_deferral));
    assert_non_null(strstr(caution_deferral, "label"));
    assert_non_null(strstr(caution_deferral, "safety data sheet"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_any_coat_carries_ventilation_solvent_flame_and_the_label),
        cmocka_unit_test(test_nothing_comes_without_the_label),
        cmocka_unit_test(test_oily_rags_stand_with_what_cures_by_oxygen),
        cmocka_unit_test(test_urethane_calls_for_supplied_air_at_coat_bake_and_sanding),
        cmocka_unit_test(test_a_two_part_tin_nobody_has_read_is_an_isocyanate),
        cmocka_unit_test(test_two_part_asks_more_of_a_spray_gun_than_of_a_brush),
        cmocka_unit_test(test_a_can_brings_its_propellant_whatever_is_in_it),
        cmocka_unit_test(test_an_untested_old_finish_counts_as_lead),
        cmocka_unit_test(test_a_bake_brings_oven_flash_off_and_place),
        cmocka_unit_test(test_stripping_and_sanding_bring_their_own),
        cmocka_unit_test(test_a_risk_of_the_place_shows_unless_it_was_answered_no),
        cmocka_unit_test(test_an_unknown_material_carries_what_any_material_would),
        cmocka_unit_test(test_an_empty_question_gets_everything_about_a_coat),
        cmocka_unit_test(test_while_wet_rags_fan_and_flame_lead),
        cmocka_unit_test(test_merging_keeps_each_once_and_what_asks_for_a_hand_first),
        cmocka_unit_test(test_words_read_back),
        cmocka_unit_test(test_an_act_fits_the_plate_and_a_text_says_its_source),
        cmocka_unit_test(test_safety_document_is_the_table),
        cmocka_unit_test(test_safety_document_defers_to_the_label),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
