/* Given what was typed and what hangs in the shop, then this is meant, or asked back. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "cli/names.h"

#include <stdlib.h>
#include <string.h>

static const char shop_text[] =
    "{\"pieces\":[{\"id\":1,\"name\":\"mill body\",\"removed_at\":null},{\"id\":2,\"name\":\"mill wheel\"},"
    "{\"id\":3,\"name\":\"fan guard\"},{\"id\":4,\"name\":\"fan\"},{\"id\":5,\"name\":\"pan, brass\"},"
    "{\"id\":6,\"name\":\"old pan\",\"removed_at\":\"2026-01-01T00:00:00Z\"}],"
    "\"racks\":[{\"id\":1,\"name\":\"mill two\",\"pieces\":[1,2,6]}],"
    "\"materials\":[{\"id\":1,\"name\":\"alkyd gloss enamel\"},{\"id\":2,\"name\":\"alkyd primer\"},"
    "{\"id\":3,\"name\":\"glossy clear\"}],\"places\":[]}";

static struct cli open_shop(void)
{
    struct cli cli = {0};
    cli.shop = cJSON_Parse(shop_text);
    assert_non_null(cli.shop);
    return cli;
}

static int64_t found(enum name_kind kind, const char *text)
{
    struct cli cli = open_shop();
    int64_t id = 0;
    int status = names_find_id(&cli, kind, text, &id);
    cJSON_Delete(cli.shop);
    return status == CLI_DONE ? id : -status;
}

static void a_name_or_an_unambiguous_start_of_it_will_do(void **state)
{
    (void)state;
    assert_int_equal(found(NAME_PIECE, "mill body"), 1);
    assert_int_equal(found(NAME_PIECE, "MILL W"), 2);
    assert_int_equal(found(NAME_PIECE, "fan g"), 3);
    assert_int_equal(found(NAME_PIECE, "fan"), 4); /* the whole name, though another begins so */
    assert_int_equal(found(NAME_PIECE, "mill"), -CLI_USAGE);
    assert_int_equal(found(NAME_PIECE, "wheel"), -CLI_USAGE); /* any word is for materials */
    assert_int_equal(found(NAME_PIECE, ""), -CLI_USAGE);
    assert_int_equal(found(NAME_PIECE, "old pan"), -CLI_USAGE); /* out of use */
    assert_int_equal(found(NAME_PLACE, "shed"), -CLI_USAGE);
}

static void a_material_is_found_by_any_of_its_words(void **state)
{
    (void)state;
    assert_int_equal(found(NAME_MATERIAL, "enamel"), 1);
    assert_int_equal(found(NAME_MATERIAL, "prim"), 2);
    assert_int_equal(found(NAME_MATERIAL, "gloss"), 3); /* the start of a name before the start of a word */
    assert_int_equal(found(NAME_MATERIAL, "gloss e"), 1);
    assert_int_equal(found(NAME_MATERIAL, "alkyd"), -CLI_USAGE);
    assert_int_equal(found(NAME_MATERIAL, "loss"), -CLI_USAGE);
}

static void pieces(const char *text, const char *expected)
{
    struct cli cli = open_shop();
    cJSON *ids = cJSON_CreateArray();
    int status = names_find_pieces(&cli, text, ids);
    char *printed = cJSON_PrintUnformatted(ids);
    if (strcmp(expected, "refused") == 0)
        assert_int_equal(status, CLI_USAGE);
    else
        assert_string_equal(printed, expected);
    cJSON_free(printed);
    cJSON_Delete(ids);
    cJSON_Delete(cli.shop);
}

static void a_rack_stands_for_its_pieces_each_once(void **state)
{
    (void)state;
    pieces("mill two", "[1,2]");
    pieces("mill wheel, mill two,fan g", "[2,1,3]");
    pieces("pan, brass", "[5]");
    pieces("mill body,,fan", "refused");
    pieces("mill body,mill", "refused");
}

static void distance_counts_what_was_put_in_left_out_or_changed(void **state)
{
    (void)state;
    assert_int_equal(names_distance("mill whel", "mill wheel"), 1);
    assert_int_equal(names_distance("", "fan"), 3);
    assert_int_equal(names_distance("FAN", "fan"), 0);
    assert_int_equal(names_distance("fan guard", "fna gard"), 3);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_name_or_an_unambiguous_start_of_it_will_do),
        cmocka_unit_test(a_material_is_found_by_any_of_its_words),
        cmocka_unit_test(a_rack_stands_for_its_pieces_each_once),
        cmocka_unit_test(distance_counts_what_was_put_in_left_out_or_changed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
