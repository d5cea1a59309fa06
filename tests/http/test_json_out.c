/* The writer of all JSON that goes out. */
#include "coat/moment.h"
#include "daemon/http/json_out.h"
#include "daemon/http/json_scan.h"

#include <cjson/cJSON.h>
#include <math.h>
#include <stdarg.h>
#include <setjmp.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

static struct json_out out;

static int set_up(void **state)
{
    (void)state;
    json_out_init(&out, 65536);
    return 0;
}

static int tear_down(void **state)
{
    (void)state;
    json_out_free(&out);
    return 0;
}

static void assert_written(const char *expected)
{
    assert_false(out.failed);
    assert_string_equal(out.bytes, expected);
    assert_int_equal(out.length, strlen(expected));
    json_out_reset(&out);
}

static void sets_commas_itself(void **state)
{
    (void)state;
    json_out_object(&out);
    json_put_int(&out, "id", 12);
    json_put_array(&out, "items");
    json_out_int(&out, 1);
    json_out_object(&out);
    json_out_object_end(&out);
    json_out_array(&out);
    json_out_array_end(&out);
    json_out_null(&out);
    json_out_array_end(&out);
    json_put_bool(&out, "builtin", true);
    json_put_object(&out, "air");
    json_put_number(&out, "temp_c", 17.84, 1);
    json_out_object_end(&out);
    json_put_null(&out, "stalled");
    json_out_object_end(&out);
    assert_written("{\"id\":12,\"items\":[1,{},[],null],\"builtin\":true,\"air\":{\"temp_c\":17.8},\"stalled\":null}");
}

static void escapes_once_and_repairs_utf8(void **state)
{
    (void)state;
    static const struct {
        const char *text, *expected;
    } rows[] = {
        {"", "\"\""}, {"mill body", "\"mill body\""}, {"a\"b\\c/", "\"a\\\"b\\\\c/\""}, {"\b\f\n\r\t", "\"\\b\\f\\n\\r\\t\""},
        {"\x01\x1F\x7F", "\"\\u0001\\u001f\\u007f\""}, {"\xC3\xA4\xF0\x9F\x98\x80", "\"\xC3\xA4\xF0\x9F\x98\x80\""},
        {"a\xFFz", "\"a\xEF\xBF\xBDz\""}, {"\xC3", "\"\xEF\xBF\xBD\""}, {"\xED\xA0\x80", "\"\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD\""},
        {"\xE2\x82", "\"\xEF\xBF\xBD\xEF\xBF\xBD\""}, {NULL, "null"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        json_out_string(&out, rows[i].text);
        assert_written(rows[i].expected);
    }
}

static void writes_numbers_that_read_back(void **state)
{
    (void)state;
    static const struct {
        double value;
        int decimals;
        const char *expected;
    } rows[] = {
        {17.8, 1, "17.8"}, {17.0, 3, "17"}, {-0.04, 1, "0"}, {-0.0, 0, "0"}, {0.1 + 0.2, JSON_SHORTEST, "0.30000000000000004"},
        {0.1, JSON_SHORTEST, "0.1"}, {1e21, JSON_SHORTEST, "1e+21"}, {9007199254740993.0, JSON_SHORTEST, "9007199254740992"},
        {100.0, 2, "100"}, {(double)NAN, 1, "null"}, {(double)INFINITY, JSON_SHORTEST, "null"}, {-(double)INFINITY, 1, "null"},
        {40.0, JSON_SHORTEST, "40"}, {-20.0, JSON_SHORTEST, "-20"}, {1500.0, JSON_SHORTEST, "1500"}, {1e6, JSON_SHORTEST, "1000000"},
        {120.5, JSON_SHORTEST, "120.5"}, {5e-324, JSON_SHORTEST, "5e-324"}, {0.045, 12, "0.045"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        json_out_number(&out, rows[i].value, rows[i].decimals);
        assert_written(rows[i].expected);
    }
    json_out_number(&out, 1.7976931348623157e308, 12); /* the longest there is */
    assert_true(out.length == 309);
    json_out_reset(&out);
    json_out_int(&out, INT64_MIN);
    assert_written("-9223372036854775808");
}

static void tells_unknown_as_null(void **state)
{
    (void)state;
    json_out_array(&out);
    json_out_moment(&out, MOMENT_NONE);
    json_out_moment(&out, 1795876500000);
    json_out_string(&out, NULL);
    json_out_array_end(&out);
    assert_written("[null,\"2026-11-28T14:35:00Z\",null]");
    json_out_object(&out);
    json_put_id(&out, "covered_by", 0);
    json_put_id(&out, "place", 3);
    json_out_object_end(&out);
    assert_written("{\"covered_by\":null,\"place\":3}");
}

static void stops_at_its_maximum(void **state)
{
    struct json_out small;
    (void)state;
    json_out_init(&small, 10);
    json_out_string(&small, "12345678");
    assert_false(small.failed);
    json_out_bytes(&small, "x", 1);
    assert_true(small.failed);
    json_out_string(&small, "more");
    assert_int_equal(small.length, 10);
    json_out_reset(&small);
    assert_false(small.failed);
    json_out_print(&small, "%s", "eleven long");
    assert_true(small.failed);
    json_out_free(&small);
}

static void fails_when_nested_wrongly(void **state)
{
    (void)state;
    json_out_array_end(&out);
    assert_true(out.failed);
    json_out_reset(&out);
    for (int i = 0; i < JSON_OUT_DEPTH_MAX; i++)
        json_out_array(&out);
    assert_false(out.failed);
    json_out_array(&out);
    assert_true(out.failed);
    json_out_reset(&out);
}

/* Any bytes in, a text out that the strict scan takes and that parses back. */
static void whatever_text_it_gets_is_json(void **state)
{
    uint64_t seed = 20261128;
    (void)state;
    for (int i = 0; i < 20000; i++) {
        char text[24];
        size_t length = (size_t)i % sizeof text;
        for (size_t k = 0; k < length; k++) {
            seed = seed * 6364136223846793005u + 1442695040888963407u;
            text[k] = (char)(seed >> 56 == 0 ? 1 : seed >> 56);
        }
        text[length] = '\0';
        json_out_string(&out, text);
        struct json_scan_fault fault = {0};
        if (!json_scan(out.bytes, out.length, 65536, &fault))
            fail_msg("at %zu: %s", fault.at, fault.why);
        cJSON *json = cJSON_Parse(out.bytes);
        assert_true(cJSON_IsString(json));
        cJSON_Delete(json);
        json_out_reset(&out);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sets_commas_itself),
        cmocka_unit_test(escapes_once_and_repairs_utf8),
        cmocka_unit_test(writes_numbers_that_read_back),
        cmocka_unit_test(tells_unknown_as_null),
        cmocka_unit_test(stops_at_its_maximum),
        cmocka_unit_test(fails_when_nested_wrongly),
        cmocka_unit_test(whatever_text_it_gets_is_json),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
