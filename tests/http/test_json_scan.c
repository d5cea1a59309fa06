/* The strict look at JSON from outside: what it takes, what it refuses, and that nothing makes it misbehave.
 * COAT_SEED=N repeats a run of the mutations. */
#include "daemon/http/json_scan.h"

#include <cjson/cJSON.h>
#include <stdarg.h>
#include <setjmp.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

#define SIZE_MAX_TESTED 65536u
#define MUTATIONS 200000

static bool usable(const char *text, size_t length, struct json_scan_fault *fault)
{
    /* In a block of its own exact size, so that a look behind the end is seen by the sanitizer. */
    char *exact = malloc(length > 0 ? length : 1);
    assert_non_null(exact);
    memcpy(exact, text, length);
    bool good = json_scan(exact, length, SIZE_MAX_TESTED, fault);
    free(exact);
    return good;
}

static void assert_taken(const char *text)
{
    struct json_scan_fault fault = {0};
    if (!usable(text, strlen(text), &fault))
        fail_msg("refused at %zu (%s): %s", fault.at, fault.why, text);
}

static void assert_refused(const char *text, size_t at, const char *why_part)
{
    struct json_scan_fault fault = {0};
    if (usable(text, strlen(text), &fault))
        fail_msg("taken: %s", text);
    if (strstr(fault.why, why_part) == NULL || fault.at != at)
        fail_msg("refused at %zu for \"%s\", expected at %zu for \"%s\": %s", fault.at, fault.why, at, why_part, text);
}

static void takes_what_rfc_8259_allows(void **state)
{
    (void)state;
    static const char *const texts[] = {
        "{}", "[]", "null", "true", "false", "0", "-0", "-0.5e+3", "1E2", "\"\"", " \t\r\n{ } \n", "[1,2,3]", "[[],{}]",
        "{\"temp_c\":17.8,\"rh_pct\":61}", "{\"a\":[{\"b\":null}],\"c\":\"\\\"\\\\\\/\\b\\f\\n\\r\\t\\u00e4\"}",
        "\"\xC3\xA4 \xE2\x82\xAC \xF0\x9F\x98\x80 \\ud83d\\ude00\"", "\"\x7F\"", "[[[[[[[[]]]]]]]]", "{\"a\":1,\"A\":2}",
        "1000000000000000", "{\"\":1}",
    };
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++)
        assert_taken(texts[i]);
}

static void refuses_what_it_does_not_allow(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        size_t at;
        const char *why;
    } rows[] = {
        {"", 0, "ends where a value"}, {"   ", 3, "ends where a value"}, {"{", 1, "name"}, {"[", 1, "ends where a value"},
        {"{\"a\"", 4, "colon"}, {"{\"a\":", 5, "ends where"}, {"{\"a\":1", 6, "brackets are closed"},
        {"[1,]", 3, "value was expected"}, {"{\"a\":1,}", 7, "name"}, {"[1 2]", 3, "comma"}, {"[1}", 2, "comma"},
        {"{a:1}", 1, "name"}, {"{'a':1}", 1, "name"}, {"{1:1}", 1, "name"}, {"[,1]", 1, "value was expected"},
        {"01", 2, "needless zero"}, {"-01", 3, "needless zero"}, {"1.", 2, "decimal point"}, {".5", 0, "value was expected"},
        {"+1", 0, "value was expected"}, {"1e", 2, "exponent"}, {"1e+", 3, "exponent"}, {"-", 1, "value was expected"},
        {"NaN", 0, "value was expected"}, {"Infinity", 0, "value was expected"}, {"0x10", 1, "follows"},
        {"nul", 0, "value was expected"}, {"tru", 0, "value was expected"}, {"True", 0, "value was expected"},
        {"1e999", 5, "1e15"}, {"-1000000000000001", 17, "1e15"}, {"{} x", 3, "follows"}, {"{}{}", 2, "follows"}, {"1 2", 2, "follows"},
        {"\"a", 2, "not closed"}, {"\"a\nb\"", 2, "control"}, {"\"a\tb\"", 2, "control"}, {"\"\\x41\"", 2, "no such escape"},
        {"\"\\", 2, "no such escape"}, {"\"\\u12g4\"", 5, "hexadecimal"}, {"\"\\u\"", 3, "hexadecimal"},
        {"\"\\u0000\"", 7, "NUL"}, {"\"\\ud800\"", 7, "surrogate"}, {"\"\\udc00\"", 7, "surrogate"},
        {"\"\\ud800\\u0041\"", 13, "surrogate"}, {"\"\\ud800\\n\"", 8, "surrogate"},
        {"\xEF\xBB\xBF{}", 0, "value was expected"}, {"// no\n1", 0, "value was expected"}, {"/**/1", 0, "value was expected"},
        {"[[[[[[[[[]]]]]]]]]", 8, "8 levels"}, {"{\"a\":{\"a\":1},\"a\":2}", 16, "twice"},
        {"{\"temp_c\":1,\"temp\\u005fc\":2}", 25, "twice"}, {"{\"\xC3\xA4\":1,\"\\u00e4\":2}", 16, "twice"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        assert_refused(rows[i].text, rows[i].at, rows[i].why);
}

/* Markus Kuhn's classes of ill-formed UTF-8: stray continuation, overlong, surrogate, too high, cut off. */
static void refuses_ill_formed_utf8(void **state)
{
    (void)state;
    static const char *const bad[] = {
        "\x80", "\xBF", "\xC0\x80", "\xC1\xBF", "\xE0\x80\x80", "\xE0\x9F\xBF", "\xED\xA0\x80", "\xED\xBF\xBF",
        "\xF0\x80\x80\x80", "\xF0\x8F\xBF\xBF", "\xF4\x90\x80\x80", "\xF5\x80\x80\x80", "\xFE", "\xFF", "\xC3", "\xE2\x82",
        "\xF0\x9F\x98", "\xC3(", "\xE2(\xAC",
    };
    static const char *const good[] = {"\xC2\x80", "\xDF\xBF", "\xE0\xA0\x80", "\xED\x9F\xBF", "\xEE\x80\x80", "\xEF\xBF\xBF",
                                       "\xF0\x90\x80\x80", "\xF4\x8F\xBF\xBF"};
    char text[32];
    struct json_scan_fault fault = {0};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        snprintf(text, sizeof text, "[\"%s\"]", bad[i]);
        assert_false(usable(text, strlen(text), &fault));
        snprintf(text, sizeof text, "[\"%s", bad[i]);
        assert_false(usable(text, strlen(text), &fault));
    }
    for (size_t i = 0; i < sizeof good / sizeof *good; i++) {
        snprintf(text, sizeof text, "[\"%s\"]", good[i]);
        assert_taken(text);
    }
}

static void refuses_a_nul_byte_anywhere(void **state)
{
    (void)state;
    static const char text[] = " { \"a\" : [ 1 , true ] } ";
    for (size_t i = 0; i < sizeof text; i++) {
        char with_nul[sizeof text];
        struct json_scan_fault fault = {0};
        memcpy(with_nul, text, i);
        with_nul[i] = '\0';
        memcpy(with_nul + i + (i < sizeof text - 1), text + i, sizeof text - 1 - i);
        assert_false(usable(with_nul, sizeof text, &fault));
    }
}

/* A text of `count` repeats between head and tail. */
static char *repeat(const char *head, const char *part, size_t count, const char *tail)
{
    size_t length = strlen(head) + strlen(part) * count + strlen(tail);
    char *text = malloc(length + 1);
    assert_non_null(text);
    strcpy(text, head);
    char *at = text + strlen(head);
    for (size_t i = 0; i < count; i++, at += strlen(part))
        memcpy(at, part, strlen(part));
    strcpy(at, tail);
    return text;
}

static void holds_to_its_bounds(void **state)
{
    (void)state;
    struct json_scan_fault fault = {0};
    char *name_64 = repeat("{\"", "a", 64, "\":1}");
    char *name_65 = repeat("{\"", "a", 65, "\":1}");
    char *number_40 = repeat("0.", "1", 38, "");
    char *number_41 = repeat("0.", "1", 39, "");
    char *deep = repeat("", "[", 60000, "");
    char *values = repeat("[0", ",0", 99998, "]");
    char *too_many = repeat("[0", ",0", 99999, "]");
    assert_taken(name_64);
    assert_refused(name_65, 68, "64 bytes");
    assert_taken(number_40);
    assert_refused(number_41, 41, "40 characters");
    assert_refused(deep, 8, "8 levels");
    assert_true(json_scan(values, strlen(values), 1u << 20, &fault));
    assert_false(json_scan(too_many, strlen(too_many), 1u << 20, &fault));
    assert_non_null(strstr(fault.why, "100000"));
    assert_false(json_scan("[]", 2, 1, &fault));
    assert_non_null(strstr(fault.why, "too large"));
    free(name_64);
    free(name_65);
    free(number_40);
    free(number_41);
    free(deep);
    free(values);
    free(too_many);
}

static void counts_members(void **state)
{
    (void)state;
    for (unsigned count = 64; count <= 65; count++) {
        char text[1024] = "{";
        for (unsigned i = 0; i < count; i++)
            snprintf(text + strlen(text), sizeof text - strlen(text), "%s\"m%u\":1", i > 0 ? "," : "", i);
        strcat(text, "}");
        struct json_scan_fault fault = {0};
        assert_int_equal(usable(text, strlen(text), &fault), count == 64);
    }
}

static uint64_t next_random(uint64_t *seed) /* xorshift64 */
{
    *seed ^= *seed << 13;
    *seed ^= *seed >> 7;
    *seed ^= *seed << 17;
    return *seed;
}

static size_t mutate(char *text, size_t length, size_t size, uint64_t *seed)
{
    static const char spice[] = "{}[]\",:\\u0e1.-+tfn \n\t\x80\xC3\xED\xF4\x00";
    for (uint64_t n = next_random(seed) % 4 + 1; n > 0; n--) {
        size_t at = length > 0 ? next_random(seed) % length : 0;
        char c = spice[next_random(seed) % (sizeof spice - 1)];
        switch (next_random(seed) % 4) {
        case 0: if (length > 0) text[at] = c; break;
        case 1:
            if (length < size) {
                memmove(text + at + 1, text + at, length - at);
                text[at] = c;
                length++;
            }
            break;
        case 2:
            if (length > 0) {
                memmove(text + at, text + at + 1, length - at - 1);
                length--;
            }
            break;
        default: if (length > 0) text[at] = (char)next_random(seed); break;
        }
    }
    return length;
}

/* Whatever passes must be what the parser behind takes too; what is refused is refused at a byte inside, with a reason. */
static void stands_up_to_mutations(void **state)
{
    (void)state;
    static const char *const seeds[] = {
        "{\"name\":\"shed\",\"volume_m3\":60,\"risks\":{\"below-ground\":\"no\"}}",
        "{\"items\":[{\"at\":\"2026-11-28T14:35:00Z\",\"temp_c\":17.8,\"rh_pct\":61},{\"at\":\"\\u00e4\\ud83d\\ude00\",\"temp_c\":-1e-3}]}",
        "[[[[[[[[null]]]]]]]]", "\"\xC3\xA4\xE2\x82\xAC\xF0\x9F\x98\x80\"",
    };
    const char *told = getenv("COAT_SEED");
    uint64_t seed = told != NULL ? strtoull(told, NULL, 10) : 20261128;
    unsigned passed = 0;
    print_message("seed %llu\n", (unsigned long long)seed);
    for (int i = 0; i < MUTATIONS; i++) {
        char text[256];
        size_t length = strlen(seeds[i % 4]);
        struct json_scan_fault fault = {0};
        memcpy(text, seeds[i % 4], length);
        length = mutate(text, length, sizeof text - 1, &seed);
        if (!usable(text, length, &fault)) {
            assert_non_null(fault.why);
            assert_true(fault.at <= length);
            continue;
        }
        passed++;
        text[length] = '\0';
        cJSON *json = cJSON_ParseWithLengthOpts(text, length + 1, NULL, 1);
        if (json == NULL)
            fail_msg("the parser refuses what the scan took: %s", text);
        cJSON_Delete(json);
    }
    assert_true(passed > MUTATIONS / 100); /* else the mutations say nothing of what passes */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(takes_what_rfc_8259_allows),
        cmocka_unit_test(refuses_what_it_does_not_allow),
        cmocka_unit_test(refuses_ill_formed_utf8),
        cmocka_unit_test(refuses_a_nul_byte_anywhere),
        cmocka_unit_test(holds_to_its_bounds),
        cmocka_unit_test(counts_members),
        cmocka_unit_test(stands_up_to_mutations),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
