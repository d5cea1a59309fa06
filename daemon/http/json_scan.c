#include "daemon/http/json_scan.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* What a level has open; objects keep where their names stand. */
struct level {
    bool object;
    unsigned names;
    size_t name_at[JSON_SCAN_NAMES_MAX]; /* of the opening quote */
};

struct scan {
    const char *text;
    size_t length;
    size_t at;
    unsigned depth;
    size_t values;
    const char *why;
    struct level level[JSON_SCAN_DEPTH_MAX];
};

static bool refuse(struct scan *scan, const char *why)
{
    if (scan->why == NULL)
        scan->why = why;
    return false;
}

/* The byte to come, or -1 at the end. */
static int peek(const struct scan *scan)
{
    return scan->at < scan->length ? (unsigned char)scan->text[scan->at] : -1;
}

static void skip_space(struct scan *scan)
{
    for (int c = peek(scan); c == ' ' || c == '\t' || c == '\n' || c == '\r'; c = peek(scan))
        scan->at++;
}

static bool take(struct scan *scan, char wanted)
{
    if (peek(scan) != (unsigned char)wanted)
        return false;
    scan->at++;
    return true;
}

static int hex_value(int c)
{
    if (c >= '0' && c <= '9')
        return c - '0';
    if (c >= 'a' && c <= 'f')
        return c - 'a' + 10;
    return c >= 'A' && c <= 'F' ? c - 'A' + 10 : -1;
}

static bool take_hex4(struct scan *scan, uint32_t *ret)
{
    uint32_t value = 0;
    for (int i = 0; i < 4; i++) {
        int digit = hex_value(peek(scan));
        if (digit < 0)
            return refuse(scan, "\\u wants four hexadecimal digits");
        value = value * 16 + (uint32_t)digit;
        scan->at++;
    }
    *ret = value;
    return true;
}

/* After "\u". A pair of surrogates is one character. */
static bool take_unicode_escape(struct scan *scan, uint32_t *ret)
{
    uint32_t low = 0;
    if (!take_hex4(scan, ret))
        return false;
    if (*ret == 0)
        return refuse(scan, "a NUL character has no place in a text");
    if (*ret < 0xD800 || *ret > 0xDFFF)
        return true;
    if (*ret > 0xDBFF || !take(scan, '\\') || !take(scan, 'u') || !take_hex4(scan, &low) || low < 0xDC00 || low > 0xDFFF)
        return refuse(scan, "half of a surrogate pair stands alone");
    *ret = 0x10000 + ((*ret - 0xD800) << 10) + (low - 0xDC00);
    return true;
}

/* After the backslash. */
static bool take_escape(struct scan *scan, uint32_t *ret)
{
    static const char names[] = "\"\\/bfnrt";
    static const char values[] = "\"\\/\b\f\n\r\t";
    int c = peek(scan);
    if (c == 'u') {
        scan->at++;
        return take_unicode_escape(scan, ret);
    }
    const char *found = c > 0 ? strchr(names, c) : NULL;
    if (found == NULL)
        return refuse(scan, "there is no such escape: \\\" \\\\ \\/ \\b \\f \\n \\r \\t and \\uXXXX are known");
    *ret = (uint32_t)values[found - names];
    scan->at++;
    return true;
}

/* One multi-byte character: RFC 3629 section 4 (no overlong forms, no surrogates, nothing over U+10FFFF). */
static bool take_utf8(struct scan *scan, uint32_t *ret)
{
    uint32_t lead = (uint32_t)peek(scan);
    unsigned more = lead >= 0xF0 ? 3 : lead >= 0xE0 ? 2 : 1;
    static const uint32_t lowest[] = {0, 0x80, 0x800, 0x10000};
    if (lead < 0xC2 || lead > 0xF4)
        return refuse(scan, "the text is not UTF-8");
    uint32_t value = lead & (0x3Fu >> more);
    scan->at++;
    for (unsigned i = 0; i < more; i++) {
        int c = peek(scan);
        if (c < 0x80 || c > 0xBF)
            return refuse(scan, "the text is not UTF-8");
        value = value << 6 | ((uint32_t)c & 0x3Fu);
        scan->at++;
    }
    if (value < lowest[more] || value > 0x10FFFF || (value >= 0xD800 && value <= 0xDFFF))
        return refuse(scan, "the text is not UTF-8");
    *ret = value;
    return true;
}

static bool take_character(struct scan *scan, uint32_t *ret)
{
    int c = peek(scan);
    if (c < 0)
        return refuse(scan, "a text is not closed by a quote");
    if (c < 0x20)
        return refuse(scan, "a control character stands unescaped in a text");
    if (c >= 0x80)
        return take_utf8(scan, ret);
    scan->at++;
    if (c == '\\')
        return take_escape(scan, ret);
    *ret = (uint32_t)c;
    return true;
}

static size_t utf8_size(uint32_t character)
{
    return character < 0x80 ? 1 : character < 0x800 ? 2 : character < 0x10000 ? 3 : 4;
}

/* From the opening quote to after the closing one; *ret_bytes is the decoded length. */
static bool take_string(struct scan *scan, size_t *ret_bytes)
{
    size_t bytes = 0;
    if (!take(scan, '"'))
        return refuse(scan, "a text in double quotes was expected");
    while (!take(scan, '"')) {
        uint32_t character = 0;
        if (!take_character(scan, &character))
            return false;
        bytes += utf8_size(character);
    }
    *ret_bytes = bytes;
    return true;
}

/* Whether two names, both already found well formed, decode to the same text. */
static bool same_name(const struct scan *scan, size_t a_at, size_t b_at)
{
    struct scan a = {.text = scan->text, .length = scan->length, .at = a_at + 1};
    struct scan b = {.text = scan->text, .length = scan->length, .at = b_at + 1};
    for (;;) {
        bool a_ends = peek(&a) == '"';
        bool b_ends = peek(&b) == '"';
        if (a_ends || b_ends)
            return a_ends && b_ends;
        uint32_t a_character = 0;
        uint32_t b_character = 0;
        if (!take_character(&a, &a_character) || !take_character(&b, &b_character) || a_character != b_character)
            return false;
    }
}

static bool take_name(struct scan *scan)
{
    struct level *level = &scan->level[scan->depth - 1];
    size_t at = scan->at;
    size_t bytes = 0;
    if (peek(scan) != '"')
        return refuse(scan, "a name in double quotes was expected");
    if (!take_string(scan, &bytes))
        return false;
    if (bytes > JSON_SCAN_NAME_BYTES_MAX)
        return refuse(scan, "a name is longer than 64 bytes");
    if (level->names == JSON_SCAN_NAMES_MAX)
        return refuse(scan, "an object has more than 64 members");
    for (unsigned i = 0; i < level->names; i++)
        if (same_name(scan, level->name_at[i], at))
            return refuse(scan, "a name stands twice in one object");
    level->name_at[level->names++] = at;
    skip_space(scan);
    if (!take(scan, ':'))
        return refuse(scan, "a colon was expected after a name");
    return true;
}

static size_t take_digits(struct scan *scan)
{
    size_t from = scan->at;
    while (peek(scan) >= '0' && peek(scan) <= '9')
        scan->at++;
    return scan->at - from;
}

static bool take_number_text(struct scan *scan)
{
    (void)take(scan, '-');
    if (take(scan, '0')) {
        if (take_digits(scan) > 0)
            return refuse(scan, "a number begins with a needless zero");
    } else if (take_digits(scan) == 0) {
        return refuse(scan, "a value was expected");
    }
    if (take(scan, '.') && take_digits(scan) == 0)
        return refuse(scan, "a number ends in its decimal point");
    if (take(scan, 'e') || take(scan, 'E')) {
        if (!take(scan, '+'))
            (void)take(scan, '-');
        if (take_digits(scan) == 0)
            return refuse(scan, "a number ends in its exponent sign");
    }
    return true;
}

static bool take_number(struct scan *scan)
{
    char text[JSON_SCAN_NUMBER_CHARS_MAX + 1];
    size_t from = scan->at;
    if (!take_number_text(scan))
        return false;
    size_t length = scan->at - from;
    if (length > JSON_SCAN_NUMBER_CHARS_MAX)
        return refuse(scan, "a number has more than 40 characters");
    memcpy(text, scan->text + from, length);
    text[length] = '\0';
    if (!(fabs(strtod(text, NULL)) <= JSON_SCAN_NUMBER_MAX))
        return refuse(scan, "a number is larger than 1e15");
    return true;
}

static bool take_word(struct scan *scan, const char *word)
{
    size_t length = strlen(word);
    if (scan->length - scan->at < length || memcmp(scan->text + scan->at, word, length) != 0)
        return refuse(scan, "a value was expected");
    scan->at += length;
    return true;
}

static bool open_level(struct scan *scan, bool object)
{
    if (scan->depth == JSON_SCAN_DEPTH_MAX)
        return refuse(scan, "it is nested deeper than 8 levels");
    scan->at++;
    scan->level[scan->depth].object = object;
    scan->level[scan->depth].names = 0;
    scan->depth++;
    return true;
}

/* A value, or the opening bracket of one. */
static bool take_value(struct scan *scan)
{
    size_t bytes = 0;
    if (++scan->values > JSON_SCAN_VALUES_MAX)
        return refuse(scan, "it holds more than 100000 values");
    switch (peek(scan)) {
    case -1: return refuse(scan, "it ends where a value was expected");
    case '{': return open_level(scan, true);
    case '[': return open_level(scan, false);
    case '"': return take_string(scan, &bytes);
    case 't': return take_word(scan, "true");
    case 'f': return take_word(scan, "false");
    case 'n': return take_word(scan, "null");
    default: return take_number(scan);
    }
}

static char closing_bracket(const struct scan *scan)
{
    return scan->level[scan->depth - 1].object ? '}' : ']';
}

/* In an open level, where its next value (for an object: name and value) or its end is to come. */
static bool take_member(struct scan *scan)
{
    if (scan->level[scan->depth - 1].object) {
        if (!take_name(scan))
            return false;
        skip_space(scan);
    }
    return take_value(scan);
}

/* After a value: closes the levels that end here. *ret_more: a comma was read, so another member must come. */
static bool take_closings(struct scan *scan, bool *ret_more)
{
    *ret_more = false;
    while (scan->depth > 0) {
        skip_space(scan);
        if (take(scan, ',')) {
            *ret_more = true;
            return true;
        }
        if (peek(scan) < 0)
            return refuse(scan, "it ends before all brackets are closed");
        if (!take(scan, closing_bracket(scan)))
            return refuse(scan, "a comma or a closing bracket was expected");
        scan->depth--;
    }
    return true;
}

/* Whether the value just taken opened a level that has something in it. */
static bool opened_filled(struct scan *scan, unsigned depth_before)
{
    if (scan->depth == depth_before)
        return false;
    skip_space(scan);
    return peek(scan) != (unsigned char)closing_bracket(scan);
}

static bool scan_all(struct scan *scan)
{
    bool more = true;
    skip_space(scan);
    while (more) {
        unsigned depth = scan->depth;
        skip_space(scan);
        if (!(depth == 0 ? take_value(scan) : take_member(scan)))
            return false;
        if (!opened_filled(scan, depth) && !take_closings(scan, &more))
            return false;
    }
    skip_space(scan);
    return scan->at == scan->length || refuse(scan, "something follows after the end of the value");
}

bool json_scan(const char *text, size_t length, size_t size_max, struct json_scan_fault *ret_fault)
{
    struct scan scan = {.text = text, .length = length};
    bool good = length <= size_max ? scan_all(&scan) : refuse(&scan, "it is too large");
    if (!good)
        *ret_fault = (struct json_scan_fault){.at = scan.at, .why = scan.why};
    return good;
}
