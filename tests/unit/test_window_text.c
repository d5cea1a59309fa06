/* Windows as labels print them: what they mean, what is refused, and that printing and reading agree. */
#include "coat/material.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

#define TEXT_SIZE 160

static struct stage_table parsed(const char *text, double temp_c)
{
    struct stage_table table = {.stage = STAGE_RECOAT};
    struct coat_error error = {0};
    if (window_parse(text, temp_c, &table, &error) != COAT_OK)
        fail_msg("\"%s\" was refused: %s", text, error.text);
    return table;
}

static void check_boundary(const char *text, const struct stage_table *table, unsigned index, enum span_do then,
                           double hours)
{
    if (index >= table->boundaries)
        fail_msg("\"%s\" has %u times, not %u", text, table->boundaries, index + 1);
    const struct stage_boundary *boundary = &table->boundary[index];
    if (boundary->then != then || fabs(boundary->row[0].hours - hours) > 1e-9)
        fail_msg("\"%s\": time %u is %s at %g h, expected %s at %g h", text, index, span_do_word(boundary->then),
                 boundary->row[0].hours, span_do_word(then), hours);
}

struct reading {
    const char *text;
    enum span_do first;
    unsigned boundaries;
    struct {
        enum span_do then;
        double hours;
    } at[MATERIAL_BOUNDARIES_MAX];
    const char *printed;
};

static const struct reading readings[] = {
    {"16h", SPAN_WAIT, 1, {{SPAN_GO, 16}}, "after 16h"},
    {"  After\t16 H ", SPAN_WAIT, 1, {{SPAN_GO, 16}}, "after 16h"},
    {"within 1h or after 48h", SPAN_GO, 2, {{SPAN_WAIT, 1}, {SPAN_GO, 48}}, "within 1h or after 48h"},
    {"within 1h or 2d", SPAN_GO, 2, {{SPAN_WAIT, 1}, {SPAN_GO, 48}}, "within 1h or after 48h"},
    {"5h to 8h, wipe to 24h, then scuff", SPAN_WAIT, 3, {{SPAN_GO, 5}, {SPAN_WIPE, 8}, {SPAN_SCUFF, 24}},
     "5h to 8h, wipe to 24h, then scuff"},
    {"6h to 48h, then scuff", SPAN_WAIT, 2, {{SPAN_GO, 6}, {SPAN_SCUFF, 48}}, "6h to 48h, then scuff"},
    {"6h to 48h then strip", SPAN_WAIT, 2, {{SPAN_GO, 6}, {SPAN_STRIP, 48}}, "6h to 48h, then strip"},
    {"within 45min,then scuff", SPAN_GO, 1, {{SPAN_SCUFF, 0.75}}, "within 45min, then scuff"},
    {"within 1h or 24h to 72h, scuff to 96h, then strip", SPAN_GO, 4,
     {{SPAN_WAIT, 1}, {SPAN_GO, 24}, {SPAN_SCUFF, 72}, {SPAN_STRIP, 96}},
     "within 1h or after 24h to 72h, scuff to 96h, then strip"},
    {"5h to 8h, wipe to 12h or after 48h", SPAN_WAIT, 4, {{SPAN_GO, 5}, {SPAN_WIPE, 8}, {SPAN_WAIT, 12}, {SPAN_GO, 48}},
     "5h to 8h, wipe to 12h or after 48h"},
    {"1.5h", SPAN_WAIT, 1, {{SPAN_GO, 1.5}}, "after 1.5h"},
    {"test 2h to 4h", SPAN_WAIT, 2, {{SPAN_TEST, 2}, {SPAN_STRIP, 4}}, "test 2h to 4h"},
};

static void test_a_label_means_what_it_says(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof readings / sizeof *readings; i++) {
        const struct reading *r = &readings[i];
        struct stage_table table = parsed(r->text, 21.0);
        if (table.first != r->first || table.boundaries != r->boundaries)
            fail_msg("\"%s\" begins with %s and has %u times", r->text, span_do_word(table.first), table.boundaries);
        for (unsigned k = 0; k < r->boundaries; k++)
            check_boundary(r->text, &table, k, r->at[k].then, r->at[k].hours);
    }
}

static void test_times_hold_at_the_temperature_named_and_come_from_the_label(void **state)
{
    (void)state;
    struct stage_table table = parsed("5h to 8h, then scuff", 21.0);
    assert_int_equal(table.stage, STAGE_RECOAT);
    for (unsigned i = 0; i < table.boundaries; i++) {
        assert_int_equal(table.boundary[i].rows, 1);
        assert_true(fabs(table.boundary[i].row[0].temp_c - 21.0) < 1e-12);
        assert_int_equal(table.boundary[i].basis, BASIS_LABEL);
        assert_true(isnan(table.boundary[i].label_h));
        assert_false(table.boundary[i].disputed);
    }
}

static void test_printing_gives_the_form_of_a_label(void **state)
{
    (void)state;
    char text[TEXT_SIZE];
    for (size_t i = 0; i < sizeof readings / sizeof *readings; i++) {
        struct stage_table table = parsed(readings[i].text, 21.0);
        assert_string_equal(window_print(&table, text, sizeof text), readings[i].printed);
    }
}

static void assert_same_window(const char *text, const struct stage_table *a, const struct stage_table *b)
{
    if (a->first != b->first || a->boundaries != b->boundaries)
        fail_msg("\"%s\" does not read back", text);
    for (unsigned i = 0; i < a->boundaries; i++)
        if (a->boundary[i].then != b->boundary[i].then ||
            fabs(a->boundary[i].row[0].hours / b->boundary[i].row[0].hours - 1.0) > 1e-5)
            fail_msg("\"%s\": time %u does not read back", text, i);
}

static void test_what_is_printed_reads_back(void **state)
{
    (void)state;
    char text[TEXT_SIZE];
    for (size_t i = 0; i < sizeof readings / sizeof *readings; i++) {
        struct stage_table table = parsed(readings[i].text, 21.0);
        struct stage_table again = parsed(window_print(&table, text, sizeof text), 21.0);
        assert_same_window(text, &table, &again);
    }
}

static void test_every_builtin_stage_reads_back(void **state)
{
    (void)state;
    unsigned count = 0, seen = 0;
    char text[TEXT_SIZE];
    const struct material *all = builtin_materials(&count);
    for (unsigned i = 0; i < count; i++) {
        for (unsigned s = 0; s < STAGE_COUNT; s++) {
            const struct stage_table *table = &all[i].stage[s];
            if (table->boundaries == 0 || table->boundary[0].rows > 1)
                continue;
            struct stage_table again = parsed(window_print(table, text, sizeof text), 23.0);
            assert_same_window(text, table, &again);
            seen++;
        }
    }
    assert_true(seen > 100);
}

static void test_a_table_of_rows_prints_at_room_temperature(void **state)
{
    (void)state;
    char text[TEXT_SIZE];
    /* UFGS 09971, table RECOAT WINDOWS: band 71 to 80 F, 6 to 48 h */
    window_print(&builtin_of_class(CLASS_POLYURETHANE)->stage[STAGE_RECOAT], text, sizeof text);
    assert_string_equal(text, "6h to 48h, then scuff");
}

static void test_a_short_buffer_is_filled_and_ended(void **state)
{
    (void)state;
    struct stage_table table = parsed("5h to 8h, wipe to 24h, then scuff", 21.0);
    char text[12];
    for (size_t size = 1; size <= sizeof text; size++) {
        memset(text, 'x', sizeof text);
        window_print(&table, text, size);
        assert_int_equal(strlen(text), size - 1);
        assert_memory_equal(text, "5h to 8h, wipe", size - 1);
    }
}

struct refusal {
    const char *text;
    const char *says; /* part of the error */
};

static void test_what_cannot_be_meant_is_refused_with_a_way_out(void **state)
{
    (void)state;
    static const struct refusal refusals[] = {
        {"", "missing"},
        {"16", "unit"},
        {"16 furlongs", "16 furlongs"},
        {"-5h", "expected"},
        {"0h", "above 0"},
        {"inf h", "expected"},
        {"1e9h", "1e9h"},
        {"99999d", "five years"},
        {"soon", "expected"},
        {"within", "missing"},
        {"within 1h", "what follows"},
        {"within 1h or", "1h or"},
        {"within 48h or after 1h", "do not rise"},
        {"5h to 8h", "what follows"},
        {"5h to 5h, then scuff", "do not rise"},
        {"5h to 8h, wipe", "\"to\""},
        {"5h to 8h, wipe to 24h", "what follows"},
        {"5h to 8h, then sand", "wipe, scuff, strip or wait"},
        {"5h to 8h, then scuff, then strip", "ends it"},
        {"5h, then scuff", "\"to\""},
        {"16h 16h", "16h 16h"},
        {"after 16h please", "16h please"},
        {"test 2h", "tack is lost"},
        {"test 2h to 4h, then strip", "nothing follows"},
        {"within 1h or 2h to 3h or 4h to 5h or 6h to 7h, then scuff", "too many"},
    };
    for (size_t i = 0; i < sizeof refusals / sizeof *refusals; i++) {
        struct stage_table table, before;
        memset(&table, 0x5a, sizeof table);
        before = table;
        struct coat_error error = {0};
        if (window_parse(refusals[i].text, 21.0, &table, &error) != COAT_BAD_VALUE)
            fail_msg("\"%s\" was taken", refusals[i].text);
        assert_string_equal(error.field, "window");
        if (strstr(error.text, refusals[i].says) == NULL)
            fail_msg("\"%s\": the error \"%s\" does not say %s", refusals[i].text, error.text, refusals[i].says);
        assert_memory_equal(&table, &before, sizeof table);
    }
}

static void test_overlong_text_and_senseless_air_are_refused(void **state)
{
    (void)state;
    char text[1000];
    memset(text, '1', sizeof text - 1);
    text[sizeof text - 1] = '\0';
    struct stage_table table = {0};
    struct coat_error error;
    assert_int_equal(window_parse(text, 21.0, &table, &error), COAT_BAD_VALUE);
    assert_int_equal(window_parse("16h", (double)NAN, &table, &error), COAT_BAD_VALUE);
    assert_int_equal(window_parse("16h", 900.0, &table, &error), COAT_BAD_VALUE);
    assert_int_equal(window_parse("16h", 900.0, &table, NULL), COAT_BAD_VALUE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_a_label_means_what_it_says),
        cmocka_unit_test(test_times_hold_at_the_temperature_named_and_come_from_the_label),
        cmocka_unit_test(test_printing_gives_the_form_of_a_label),
        cmocka_unit_test(test_what_is_printed_reads_back),
        cmocka_unit_test(test_every_builtin_stage_reads_back),
        cmocka_unit_test(test_a_table_of_rows_prints_at_room_temperature),
        cmocka_unit_test(test_a_short_buffer_is_filled_and_ended),
        cmocka_unit_test(test_what_cannot_be_meant_is_refused_with_a_way_out),
        cmocka_unit_test(test_overlong_text_and_senseless_air_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
