/* The getters that read a request: what they take, and the words in which they refuse. */
#include "coat/moment.h"
#include "daemon/http/json_in.h"

#include <cjson/cJSON.h>
#include <math.h>
#include <stdarg.h>
#include <setjmp.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <cmocka.h>

static struct coat_error error;
static cJSON *json;

static struct json_in read_text(const char *text)
{
    cJSON_Delete(json);
    json = cJSON_Parse(text);
    assert_non_null(json);
    error = (struct coat_error){0};
    return json_in_open(json, &error);
}

static int tear_down(void **state)
{
    (void)state;
    cJSON_Delete(json);
    json = NULL;
    return 0;
}

static void assert_fault(struct json_in *in, const char *field, const char *part)
{
    assert_int_equal(json_in_close(in), COAT_BAD_VALUE);
    assert_string_equal(error.field, field);
    if (strstr(error.text, part) == NULL)
        fail_msg("expected \"%s\" in: %s", part, error.text);
}

static void assert_range(double value, double least, double most)
{
    assert_true(error.has_range);
    assert_true(fabs(error.range.value - value) < 1e-9 && fabs(error.range.least - least) < 1e-9 && fabs(error.range.most - most) < 1e-9);
}

static void reads_a_place(void **state)
{
    (void)state;
    char name[16] = "";
    double volume_m3 = 0;
    double airflow_m3h = 0;
    enum place_kind kind = PLACE_ROOM;
    struct json_in in = read_text("{\"name\":\"shed\",\"kind\":\"booth\",\"volume_m3\":60.5,\"airflow_m3h\":null}");
    assert_true(json_in_string(&in, "name", JSON_REQUIRED, name, sizeof name));
    assert_true(json_in_place_kind(&in, "kind", JSON_OPTIONAL, &kind));
    assert_true(json_in_number(&in, "volume_m3", JSON_NULLABLE, 0.001, 1e5, &volume_m3));
    assert_true(json_in_number(&in, "airflow_m3h", JSON_NULLABLE, 0, 1e5, &airflow_m3h));
    assert_int_equal(json_in_close(&in), COAT_OK);
    assert_string_equal(name, "shed");
    assert_int_equal(kind, PLACE_BOOTH);
    assert_true(volume_m3 > 60.4 && volume_m3 < 60.6);
    assert_true(isnan(airflow_m3h));
}

static void missing_is_told_or_left_alone(void **state)
{
    (void)state;
    char name[16] = "before";
    struct json_in in = read_text("{}");
    assert_false(json_in_string(&in, "name", JSON_OPTIONAL, name, sizeof name));
    assert_false(json_in_string(&in, "name", JSON_NULLABLE, name, sizeof name));
    assert_string_equal(name, "before");
    assert_int_equal(error.code, COAT_OK);
    assert_false(json_in_string(&in, "name", JSON_REQUIRED, name, sizeof name));
    assert_fault(&in, "name", "name is missing");
    in = read_text("{\"name\":null}");
    assert_false(json_in_string(&in, "name", JSON_OPTIONAL, name, sizeof name));
    assert_fault(&in, "name", "null");
    assert_string_equal(name, "before");
}

static void refuses_other_kinds_and_ranges(void **state)
{
    (void)state;
    double number = 5;
    int64_t whole = 5;
    bool flag = false;
    char text[6] = "";
    struct json_in in = read_text("{\"t\":\"17.8\"}");
    assert_false(json_in_number(&in, "t", JSON_REQUIRED, 0, 1, &number));
    assert_fault(&in, "t", "t is \"17.8\" where a number was expected");
    assert_false(error.has_range);
    in = read_text("{\"t\":101}");
    assert_false(json_in_number(&in, "t", JSON_REQUIRED, 0, 100, &number));
    assert_fault(&in, "t", "from 0 to 100");
    assert_range(101, 0, 100);
    in = read_text("{\"n\":1.5}");
    assert_false(json_in_int(&in, "n", JSON_REQUIRED, 0, 10, &whole));
    assert_fault(&in, "n", "whole number");
    in = read_text("{\"n\":0}");
    assert_false(json_in_id(&in, "n", JSON_REQUIRED, &whole));
    assert_fault(&in, "n", "from 1");
    assert_range(0, 1, 9007199254740992.0);
    in = read_text("{\"b\":1}");
    assert_false(json_in_bool(&in, "b", JSON_REQUIRED, &flag));
    assert_fault(&in, "b", "true or false");
    in = read_text("{\"s\":\"123456\"}");
    assert_false(json_in_string(&in, "s", JSON_REQUIRED, text, sizeof text));
    assert_fault(&in, "s", "6 bytes long: at most 5");
    in = read_text("{\"s\":\"a\\u001bb\"}");
    assert_false(json_in_string(&in, "s", JSON_REQUIRED, text, sizeof text));
    assert_fault(&in, "s", "control character");
    assert_true(number > 4.9 && whole == 5 && text[0] == '\0');
}

static void reads_moments_and_times_of_day(void **state)
{
    (void)state;
    int64_t at = 1;
    int32_t minute = 1;
    struct json_in in = read_text("{\"at\":\"2026-11-28T15:35:00+01:00\",\"from\":\"22:30\",\"none\":null}");
    assert_true(json_in_moment(&in, "at", JSON_REQUIRED, &at));
    assert_int_equal(at, 1795876500000);
    assert_true(json_in_time_of_day(&in, "from", JSON_REQUIRED, &minute));
    assert_int_equal(minute, 1350);
    assert_true(json_in_moment(&in, "none", JSON_NULLABLE, &at));
    assert_true(at == MOMENT_NONE);
    assert_int_equal(json_in_close(&in), COAT_OK);
    static const char *const bad[] = {"24:00", "7:00", "07:60", "07-00", "07:0", "", "07:000"};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        char text[40] = "{\"from\":\"";
        strcat(strcat(text, bad[i]), "\"}");
        in = read_text(text);
        assert_false(json_in_time_of_day(&in, "from", JSON_REQUIRED, &minute));
        assert_fault(&in, "from", "time of day");
    }
    in = read_text("{\"at\":\"yesterday\"}");
    assert_false(json_in_moment(&in, "at", JSON_REQUIRED, &at));
    assert_fault(&in, "at", "yesterday");
}

static void unknown_words_are_told_with_the_known(void **state)
{
    (void)state;
    enum film film = FILM_HEAVY;
    struct json_in in = read_text("{\"film\":\"thick\"}");
    assert_false(json_in_film(&in, "film", JSON_OPTIONAL, &film));
    assert_fault(&in, "film", "\"thick\" is not known here: use light, normal, heavy");
    assert_int_equal(film, FILM_HEAVY);
}

static void a_misspelt_field_is_told(void **state)
{
    (void)state;
    double temp_c = 0;
    struct json_in in = read_text("{\"temp_c\":1,\"rh_pc\":50}");
    assert_true(json_in_number(&in, "temp_c", JSON_REQUIRED, -40, 60, &temp_c));
    assert_fault(&in, "rh_pc", "no field \"rh_pc\" here; known are temp_c");
}

static void the_path_of_a_fault_is_told(void **state)
{
    (void)state;
    struct json_in_list list;
    struct json_in item;
    double rh_pct = 0;
    unsigned count = 0;
    struct json_in in = read_text("{\"items\":[{\"rh_pct\":50},{\"rh_pct\":120},{\"rh_pct\":5}]}");
    assert_true(json_in_list(&in, "items", JSON_REQUIRED, 1, 10, &list));
    assert_int_equal(list.count, 3);
    while (json_in_next_object(&list, &item)) {
        (void)json_in_number(&item, "rh_pct", JSON_REQUIRED, 0, 100, &rh_pct);
        count += json_in_close(&item) == COAT_OK ? 1 : 0;
    }
    assert_int_equal(count, 1);
    assert_fault(&in, "items[1].rh_pct", "120");
    struct json_in air;
    in = read_text("{\"air\":{\"temp_c\":\"x\"}}");
    assert_true(json_in_object(&in, "air", JSON_REQUIRED, &air));
    (void)json_in_number(&air, "temp_c", JSON_REQUIRED, -40, 60, &rh_pct);
    assert_fault(&in, "air.temp_c", "number");
}

static void lists_are_bounded_and_typed(void **state)
{
    (void)state;
    struct json_in_list list;
    int64_t id = 0;
    char text[8] = "";
    struct json_in in = read_text("{\"pieces\":[]}");
    assert_false(json_in_list(&in, "pieces", JSON_REQUIRED, 1, 2, &list));
    assert_fault(&in, "pieces", "0 elements: it must have 1 to 2");
    in = read_text("{\"pieces\":[1,2,3]}");
    assert_false(json_in_list(&in, "pieces", JSON_REQUIRED, 1, 2, &list));
    assert_fault(&in, "pieces", "3 elements");
    in = read_text("{\"pieces\":[7,\"x\"]}");
    assert_true(json_in_list(&in, "pieces", JSON_REQUIRED, 1, 2, &list));
    assert_true(json_in_next_id(&list, &id));
    assert_int_equal(id, 7);
    assert_false(json_in_next_id(&list, &id));
    assert_fault(&in, "pieces[1]", "whole number");
    in = read_text("{\"areas\":[\"front\",\"rim\"]}");
    assert_true(json_in_list(&in, "areas", JSON_REQUIRED, 0, 12, &list));
    assert_true(json_in_next_string(&list, text, sizeof text));
    assert_true(json_in_next_string(&list, text, sizeof text));
    assert_string_equal(text, "rim");
    assert_false(json_in_next_string(&list, text, sizeof text));
    assert_int_equal(json_in_close(&in), COAT_OK);
}

static void the_first_fault_stays(void **state)
{
    (void)state;
    double number = 0;
    struct json_in in = read_text("{\"a\":\"x\",\"b\":\"y\"}");
    (void)json_in_number(&in, "a", JSON_REQUIRED, 0, 1, &number);
    (void)json_in_number(&in, "b", JSON_REQUIRED, 0, 1, &number);
    json_in_fail(&in, "c", "something else");
    assert_fault(&in, "a", "a is \"x\"");
}

static void no_object_reads_as_an_empty_one(void **state)
{
    (void)state;
    bool flag = true;
    error = (struct coat_error){0};
    struct json_in in = json_in_open(NULL, &error);
    assert_false(json_in_bool(&in, "x", JSON_OPTIONAL, &flag));
    assert_int_equal(json_in_close(&in), COAT_OK);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_teardown(reads_a_place, tear_down),
        cmocka_unit_test_teardown(missing_is_told_or_left_alone, tear_down),
        cmocka_unit_test_teardown(refuses_other_kinds_and_ranges, tear_down),
        cmocka_unit_test_teardown(reads_moments_and_times_of_day, tear_down),
        cmocka_unit_test_teardown(unknown_words_are_told_with_the_known, tear_down),
        cmocka_unit_test_teardown(a_misspelt_field_is_told, tear_down),
        cmocka_unit_test_teardown(the_path_of_a_fault_is_told, tear_down),
        cmocka_unit_test_teardown(lists_are_bounded_and_typed, tear_down),
        cmocka_unit_test_teardown(the_first_fault_stays, tear_down),
        cmocka_unit_test_teardown(no_object_reads_as_an_empty_one, tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
