#include "daemon/http/json_out.h"

#include "coat/moment.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define FIRST_CAPACITY 1024u

void json_out_init(struct json_out *out, size_t max)
{
    *out = (struct json_out){.max = max};
}

void json_out_free(struct json_out *out)
{
    free(out->bytes);
    *out = (struct json_out){.max = out->max};
}

void json_out_reset(struct json_out *out)
{
    char *bytes = out->bytes;
    size_t capacity = out->capacity;
    *out = (struct json_out){.bytes = bytes, .capacity = capacity, .max = out->max};
}

/* Makes room for `more` bytes and the NUL after them. */
static bool reserve(struct json_out *out, size_t more)
{
    if (out->failed || more > out->max || out->length > out->max - more) {
        out->failed = true;
        return false;
    }
    size_t wanted = out->length + more + 1;
    if (wanted <= out->capacity)
        return true;
    size_t capacity = out->capacity < FIRST_CAPACITY ? FIRST_CAPACITY : out->capacity;
    while (capacity < wanted)
        capacity *= 2;
    char *bytes = realloc(out->bytes, capacity);
    if (bytes == NULL) {
        out->failed = true;
        return false;
    }
    out->bytes = bytes;
    out->capacity = capacity;
    return true;
}

void json_out_bytes(struct json_out *out, const void *bytes, size_t length)
{
    if (!reserve(out, length))
        return;
    if (length > 0)
        memcpy(out->bytes + out->length, bytes, length);
    out->length += length;
    out->bytes[out->length] = '\0';
}

void json_out_text(struct json_out *out, const char *text)
{
    json_out_bytes(out, text, strlen(text));
}

void json_out_print(struct json_out *out, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    va_list again;
    va_copy(again, arguments);
    int length = vsnprintf(NULL, 0, format, arguments);
    va_end(arguments);
    if (length < 0) {
        out->failed = true;
    } else if (reserve(out, (size_t)length)) {
        vsnprintf(out->bytes + out->length, (size_t)length + 1, format, again);
        out->length += (size_t)length;
    }
    va_end(again);
}

/* The comma that a further value or key of this level wants. */
static void separate(struct json_out *out)
{
    if (out->after_key)
        out->after_key = false;
    else if (out->filled[out->depth])
        json_out_bytes(out, ",", 1);
    out->filled[out->depth] = true;
}

static void open_level(struct json_out *out, const char *bracket)
{
    separate(out);
    json_out_bytes(out, bracket, 1);
    if (out->depth == JSON_OUT_DEPTH_MAX) {
        out->failed = true;
        return;
    }
    out->filled[++out->depth] = false;
}

static void close_level(struct json_out *out, const char *bracket)
{
    json_out_bytes(out, bracket, 1);
    if (out->depth == 0)
        out->failed = true;
    else
        out->depth--;
}

void json_out_object(struct json_out *out)
{
    open_level(out, "{");
}

void json_out_object_end(struct json_out *out)
{
    close_level(out, "}");
}

void json_out_array(struct json_out *out)
{
    open_level(out, "[");
}

void json_out_array_end(struct json_out *out)
{
    close_level(out, "]");
}

/* Length of the well-formed UTF-8 character at `at` (RFC 3629, section 4), 0 where there is none. The text ends in a NUL,
 * which is no continuation byte, so nothing behind it is read. */
static size_t utf8_length(const unsigned char *at)
{
    static const struct {
        unsigned char lead_low, lead_high, second_low, second_high, length;
    } rows[] = {
        {0x01, 0x7F, 0x00, 0x00, 1}, {0xC2, 0xDF, 0x80, 0xBF, 2}, {0xE0, 0xE0, 0xA0, 0xBF, 3},
        {0xE1, 0xEC, 0x80, 0xBF, 3}, {0xED, 0xED, 0x80, 0x9F, 3}, {0xEE, 0xEF, 0x80, 0xBF, 3},
        {0xF0, 0xF0, 0x90, 0xBF, 4}, {0xF1, 0xF3, 0x80, 0xBF, 4}, {0xF4, 0xF4, 0x80, 0x8F, 4},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        if (at[0] < rows[i].lead_low || at[0] > rows[i].lead_high)
            continue;
        if (rows[i].length > 1 && (at[1] < rows[i].second_low || at[1] > rows[i].second_high))
            return 0;
        for (size_t k = 2; k < rows[i].length; k++)
            if ((at[k] & 0xC0u) != 0x80u)
                return 0;
        return rows[i].length;
    }
    return 0;
}

static void escape_control(struct json_out *out, unsigned char c)
{
    static const char short_names[] = "\bb\ff\nn\rr\tt\"\"\\\\";
    for (const char *pair = short_names; *pair != '\0'; pair += 2) {
        if ((unsigned char)pair[0] == c) {
            json_out_bytes(out, (const char[]){'\\', pair[1]}, 2);
            return;
        }
    }
    json_out_print(out, "\\u%04x", (unsigned)c);
}

static bool is_plain(unsigned char c)
{
    return c >= 0x20 && c < 0x7F && c != '"' && c != '\\';
}

static void quote(struct json_out *out, const char *text)
{
    const unsigned char *at = (const unsigned char *)text;
    json_out_bytes(out, "\"", 1);
    while (*at != '\0') {
        size_t run = 0;
        while (is_plain(at[run]))
            run++;
        if (run == 0 && (run = utf8_length(at)) == 1) {
            escape_control(out, *at++);
            continue;
        }
        json_out_bytes(out, run > 0 ? (const char *)at : "\xEF\xBF\xBD", run > 0 ? run : 3);
        at += run > 0 ? run : 1;
    }
    json_out_bytes(out, "\"", 1);
}

void json_out_key(struct json_out *out, const char *key)
{
    separate(out);
    quote(out, key);
    json_out_bytes(out, ":", 1);
    out->after_key = true;
}

void json_out_string(struct json_out *out, const char *text)
{
    if (text == NULL) {
        json_out_null(out);
        return;
    }
    separate(out);
    quote(out, text);
}

void json_out_int(struct json_out *out, int64_t value)
{
    separate(out);
    json_out_print(out, "%lld", (long long)value);
}

/* The fewest digits that read back, and no exponent where a person would write none: 40, not 4e+01. */
#define PLAIN_DIGITS 15

static void print_shortest(double value, char *text, size_t size)
{
    int digits = 1;
    for (double rest = fabs(value); rest >= 10.0 && digits < PLAIN_DIGITS; rest /= 10.0)
        digits++;
    for (; digits <= 17; digits++) {
        snprintf(text, size, "%.*g", digits, value);
        if (strtod(text, NULL) >= value && strtod(text, NULL) <= value)
            return;
    }
}

/* "17.800" is told as 17.8, "-0.0" as 0. */
static void print_decimals(double value, int decimals, char *text, size_t size)
{
    snprintf(text, size, "%.*f", decimals < 0 ? 0 : decimals > 12 ? 12 : decimals, value);
    size_t length = strlen(text);
    if (strchr(text, '.') != NULL) {
        while (text[length - 1] == '0')
            text[--length] = '\0';
        if (text[length - 1] == '.')
            text[--length] = '\0';
    }
    if (strcmp(text, "-0") == 0)
        snprintf(text, size, "0");
}

void json_out_number(struct json_out *out, double value, int decimals)
{
    char text[400]; /* the largest double has 309 digits before its point */
    if (!isfinite(value)) {
        json_out_null(out);
        return;
    }
    if (decimals == JSON_SHORTEST)
        print_shortest(value, text, sizeof text);
    else
        print_decimals(value, decimals, text, sizeof text);
    separate(out);
    json_out_text(out, text);
}

void json_out_moment(struct json_out *out, int64_t at_ms)
{
    char text[MOMENT_TEXT_SIZE];
    json_out_string(out, at_ms == MOMENT_NONE ? NULL : moment_print(at_ms, text));
}

void json_out_bool(struct json_out *out, bool value)
{
    separate(out);
    json_out_text(out, value ? "true" : "false");
}

void json_out_null(struct json_out *out)
{
    separate(out);
    json_out_text(out, "null");
}

void json_put_object(struct json_out *out, const char *key)
{
    json_out_key(out, key);
    json_out_object(out);
}

void json_put_array(struct json_out *out, const char *key)
{
    json_out_key(out, key);
    json_out_array(out);
}

void json_put_string(struct json_out *out, const char *key, const char *text)
{
    json_out_key(out, key);
    json_out_string(out, text);
}

void json_put_int(struct json_out *out, const char *key, int64_t value)
{
    json_out_key(out, key);
    json_out_int(out, value);
}

void json_put_id(struct json_out *out, const char *key, int64_t id)
{
    json_out_key(out, key);
    if (id == 0)
        json_out_null(out);
    else
        json_out_int(out, id);
}

void json_put_number(struct json_out *out, const char *key, double value, int decimals)
{
    json_out_key(out, key);
    json_out_number(out, value, decimals);
}

void json_put_moment(struct json_out *out, const char *key, int64_t at_ms)
{
    json_out_key(out, key);
    json_out_moment(out, at_ms);
}

void json_put_bool(struct json_out *out, const char *key, bool value)
{
    json_out_key(out, key);
    json_out_bool(out, value);
}

void json_put_null(struct json_out *out, const char *key)
{
    json_out_key(out, key);
    json_out_null(out);
}
