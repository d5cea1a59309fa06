/* Given a text that calls itself CSV, then these fields; or a refusal that says on which line. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "cli/csv.h"
#include "tests/unit/seed.h"

#include <stdlib.h>
#include <string.h>

static struct csv csv;

/* All fields in one text: "|" ends a field, "\n" a record. */
static enum coat_result read_all(const char *text, size_t length, char *said, size_t size, struct coat_error *error)
{
    FILE *file = tmpfile();
    bool more = true;
    size_t used = 0;
    assert_non_null(file);
    assert_int_equal(fwrite(text, 1, length, file), length);
    rewind(file);
    said[0] = '\0';
    enum coat_result result = csv_open(&csv, file, error);
    while (result == COAT_OK && more) {
        for (unsigned i = 0; i < csv.fields && used < size; i++)
            used += (size_t)snprintf(said + used, size - used, "%s%s", csv.field[i], i + 1 < csv.fields ? "|" : "\n");
        result = csv_next(&csv, &more, error);
    }
    assert_int_equal(fclose(file), 0);
    return result;
}

static void hold(const char *text, const char *expected)
{
    char said[4096];
    struct coat_error error = {0};
    if (read_all(text, strlen(text), said, sizeof said, &error) != COAT_OK)
        fail_msg("\"%s\" was refused: line %lu: %s", text, csv.line, error.text);
    assert_string_equal(said, expected);
}

static void refuse_bytes(const char *text, size_t length, unsigned long line, const char *because)
{
    char said[4096];
    struct coat_error error = {0};
    assert_int_equal(read_all(text, length, said, sizeof said, &error), COAT_BAD_FORM);
    assert_int_equal(csv.line, line);
    if (strstr(error.text, because) == NULL)
        fail_msg("expected \"%s\" in \"%s\"", because, error.text);
}

static void refuse(const char *text, unsigned long line, const char *because)
{
    refuse_bytes(text, strlen(text), line, because);
}

static void what_separates_in_the_header_separates_all_over(void **state)
{
    (void)state;
    hold("a,b\n1,2;3\n", "a|b\n1|2;3\n");
    hold("a;b\n1,5;2\n", "a|b\n1,5|2\n");
    hold("a\tb\n1,5\t\t2\n", "a|b\n1,5||2\n");
    hold("only\n1\n", "only\n1\n");
    hold("\"a,b,c\";d\n1;2\n", "a,b,c|d\n1|2\n");
}

static void lines_end_as_they_like(void **state)
{
    (void)state;
    hold("a,b\r\n1,2\r\n", "a|b\n1|2\n");
    hold("a,b\r1,2\r", "a|b\n1|2\n");
    hold("a,b\n1,2", "a|b\n1|2\n");
    hold("\n\na,b\n\n\n1,2\n\n", "a|b\n1|2\n");
}

static void a_byte_order_mark_is_no_part_of_the_header(void **state)
{
    (void)state;
    hold("\xef\xbb\xbf""a,b\n1,2\n", "a|b\n1|2\n");
    refuse_bytes("\xff\xfe""a\0,\0b\0", 8, 1, "UTF-16");
}

static void quotes_keep_what_stands_in_them(void **state)
{
    (void)state;
    hold("a,b\n\"1,5\",\"he said \"\"dry\"\"\"\n", "a|b\n1,5|he said \"dry\"\n");
    hold("a,b\n\"two\nlines\",2\n", "a|b\ntwo\nlines|2\n");
    hold("a,b\n\" 1 \", 2 \n", "a|b\n 1 |2\n");
    hold("a,b\n5\" wide,2\n", "a|b\n5\" wide|2\n");
    hold("a,b\n\"\",\"\"\n", "a|b\n|\n");
    refuse("a,b\n1,2\n\"1,2\n3,4\n", 3, "never closed");
    refuse("a,b\n\"1\"5,2\n", 2, "behind a closing quote");
}

static void lines_are_counted_where_quotes_span_them(void **state)
{
    (void)state;
    refuse("a,b\n\"x\ny\n\",2\n1,2\n\"", 6, "never closed");
}

static void what_is_no_such_text_is_refused(void **state)
{
    (void)state;
    static char wide[2 * CSV_FIELDS_MAX + 8], longer[CSV_RECORD_MAX + 8];
    refuse("", 1, "is empty");
    refuse("\n\n", 2, "is empty");
    refuse_bytes("a,b\n1\0,2\n", 9, 2, "NUL");
    memset(wide, ',', sizeof wide - 1);
    refuse(wide, 1, "more than 256 columns");
    memset(longer, 'x', sizeof longer - 1);
    refuse(longer, 1, "longer than");
}

/* Whatever comes, it ends, and no field leaves its record. */
static void noise_does_no_harm(void **state)
{
    (void)state;
    static const char bytes[] = "a1,;\t\"\"\n\r \xef\xff";
    uint64_t seed = seed_start("csv noise");
    for (unsigned round = 0; round < 3000; round++) {
        char text[64], said[4096];
        struct coat_error error = {0};
        size_t length = (size_t)(seed_next(&seed) % sizeof text);
        for (size_t i = 0; i < length; i++)
            text[i] = bytes[seed_next(&seed) % sizeof bytes];
        enum coat_result result = read_all(text, length, said, sizeof said, &error);
        assert_true(result == COAT_OK || error.text[0] != '\0');
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_separates_in_the_header_separates_all_over),
        cmocka_unit_test(lines_end_as_they_like),
        cmocka_unit_test(a_byte_order_mark_is_no_part_of_the_header),
        cmocka_unit_test(quotes_keep_what_stands_in_them),
        cmocka_unit_test(lines_are_counted_where_quotes_span_them),
        cmocka_unit_test(what_is_no_such_text_is_refused),
        cmocka_unit_test(noise_does_no_harm),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
