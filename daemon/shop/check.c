/* Checks of values: numbers, words, moments, texts, air. References and names in use stand in check_facts.c. */
#include "daemon/shop/check.h"

#include <math.h>
#include <string.h>

#define MOMENT_2000 INT64_C(946684800000) /* 2000-01-01T00:00:00Z; a clock that was never set shows an earlier one */

enum coat_result check_figures(const struct figure_check *figures, size_t count, struct coat_error *error)
{
    for (size_t i = 0; i < count; i++) {
        const struct figure_check *f = &figures[i];
        bool low_enough = f->above ? f->value > f->low : f->value >= f->low;
        if (isnan(f->value) || (low_enough && f->value <= f->high))
            continue;
        return coat_fail(error, COAT_BAD_VALUE, f->field, "%.10g%s%s is not believable: %s %.10g up to %.10g%s%s will do", f->value,
                         f->unit[0] ? " " : "", f->unit, f->above ? "above" : "from", f->low, f->high, f->unit[0] ? " " : "", f->unit);
    }
    return COAT_OK;
}

enum coat_result check_choices(const struct choice_check *choices, size_t count, struct coat_error *error)
{
    for (size_t i = 0; i < count; i++)
        if (choices[i].value >= choices[i].count)
            return coat_fail(error, COAT_BAD_VALUE, choices[i].field, "%s is none of the known words", choices[i].field);
    return COAT_OK;
}

enum coat_result check_moment(const char *field, int64_t at, int64_t now_ms, struct coat_error *error)
{
    char text[MOMENT_TEXT_SIZE];
    if (at == MOMENT_NONE)
        return coat_fail(error, COAT_BAD_VALUE, field, "a moment is missing: 2026-11-28T14:35:00Z will do");
    if (at < MOMENT_2000)
        return coat_fail(error, COAT_BAD_VALUE, field, "the moment lies before the year 2000: check the clock that told it");
    if (at > now_ms + CHECK_GRACE_MS)
        return coat_fail(error, COAT_BAD_VALUE, field, "the moment has not come yet: now (%s) or earlier will do",
                         moment_print(now_ms, text));
    return COAT_OK;
}

/* ---- texts ---- */

static bool is_blank(char c)
{
    return c == ' ' || c == '\t' || c == '\n' || c == '\r';
}

static void trim(char *text)
{
    size_t from = 0, length = strlen(text);
    while (length > 0 && is_blank(text[length - 1]))
        length--;
    while (from < length && is_blank(text[from]))
        from++;
    memmove(text, text + from, length - from);
    text[length - from] = '\0';
}

/* Length and value of the UTF-8 character at text (NUL-terminated); 0 where it is none: cut, overlong, surrogate or too large. */
static unsigned utf8_character(const unsigned char *text, unsigned *ret_value)
{
    static const unsigned least[] = {0, 0, 0x80, 0x800, 0x10000};
    unsigned length = text[0] < 0x80 ? 1 : (text[0] & 0xe0) == 0xc0 ? 2 : (text[0] & 0xf0) == 0xe0 ? 3 : (text[0] & 0xf8) == 0xf0 ? 4 : 0;
    if (length == 0)
        return 0;
    unsigned value = length == 1 ? text[0] : text[0] & (0x7fu >> length);
    for (unsigned i = 1; i < length; i++) {
        if ((text[i] & 0xc0) != 0x80)
            return 0;
        value = value << 6 | (text[i] & 0x3fu);
    }
    if (value < least[length] || value > 0x10ffff || (value >= 0xd800 && value <= 0xdfff))
        return 0;
    *ret_value = value;
    return length;
}

static bool is_control(unsigned value)
{
    return value < 0x20 || (value >= 0x7f && value < 0xa0);
}

static enum coat_result check_characters(const char *field, const char *text, const char *allowed, struct coat_error *error)
{
    const unsigned char *at = (const unsigned char *)text;
    while (*at != '\0') {
        unsigned value = 0, length = utf8_character(at, &value);
        if (length == 0)
            return coat_fail(error, COAT_BAD_VALUE, field, "the text is not UTF-8");
        if (is_control(value) && (value >= 0x80 || strchr(allowed, (int)value) == NULL))
            return coat_fail(error, COAT_BAD_VALUE, field, "the text holds a control character (U+%04X): leave it out", value);
        at += length;
    }
    return COAT_OK;
}

static enum coat_result tidy_text(const char *field, char *text, size_t size, const char *allowed, struct coat_error *error)
{
    if (memchr(text, '\0', size) == NULL)
        return coat_fail(error, COAT_BAD_VALUE, field, "the text is too long: at most %zu bytes will do", size - 1);
    trim(text);
    return check_characters(field, text, allowed, error);
}

enum coat_result check_text(const char *field, char *text, size_t size, struct coat_error *error)
{
    return tidy_text(field, text, size, "\n\t\r", error);
}

enum coat_result check_name(const char *field, char *name, size_t size, struct coat_error *error)
{
    enum coat_result result = tidy_text(field, name, size, "", error);
    if (result == COAT_OK && name[0] == '\0')
        return coat_fail(error, COAT_BAD_VALUE, field, "there is no name: 1 to %zu bytes of text will do", size - 1);
    return result;
}

enum coat_result check_not_number(const char *name, struct coat_error *error)
{
    if (name[strspn(name, "0123456789")] != '\0')
        return COAT_OK;
    return coat_fail(error, COAT_BAD_VALUE, "name", "\"%s\" is digits alone, which name a coat: add a word, \"mill %s\"", name, name);
}

enum coat_result check_zone(const char *zone, struct coat_error *error)
{
    static const char letters[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789_+-/";
    size_t length = strnlen(zone, ZONE_SIZE);
    if (length == ZONE_SIZE)
        return coat_fail(error, COAT_BAD_VALUE, "zone", "the name of the zone is too long: Europe/Vienna will do");
    bool path = length == 0 || zone[0] == '/' || zone[length - 1] == '/' || strstr(zone, "//") != NULL;
    if (path || strspn(zone, letters) != length)
        return coat_fail(error, COAT_BAD_VALUE, "zone", "\"%s\" is not the name of a time zone: Europe/Vienna or UTC will do", zone);
    return COAT_OK;
}

enum coat_result check_reading_count(size_t count, struct coat_error *error)
{
    if (count > 0 && count <= SHOP_TAKE_MAX)
        return COAT_OK;
    return coat_fail(error, COAT_BAD_VALUE, "items", "%zu readings: 1 to %d at once will do", count, SHOP_TAKE_MAX);
}

/* ---- air ---- */

enum coat_result check_air(const char *prefix, const struct place *place, double temp_c, double rh_pct, struct coat_error *error)
{
    char temp_field[48], rh_field[48];
    snprintf(temp_field, sizeof temp_field, "%stemp_c", prefix);
    snprintf(rh_field, sizeof rh_field, "%srh_pct", prefix);
    bool needs_rh = place->kind != PLACE_OVEN; /* a thermometer is all that an oven has */
    if (isnan(temp_c) || (isnan(rh_pct) && needs_rh))
        return coat_fail(error, COAT_BAD_VALUE, isnan(temp_c) ? temp_field : rh_field, "air needs a temperature and a humidity; in an oven the temperature will do");
    if (place->kind != PLACE_OVEN && temp_c > 60.0 && temp_c <= 300.0)
        return coat_fail(error, COAT_BAD_VALUE, temp_field, "%.10g C is more than the air of a %s has: -40 up to 60 C will do; only an oven "
                         "goes to 300 C", temp_c, place_kind_word(place->kind));
    const struct figure_check figures[] = {
        {temp_field, temp_c, -40.0, place->kind == PLACE_OVEN ? 300.0 : 60.0, false, "C"},
        {rh_field, rh_pct, 0.0, 100.0, false, "%"},
    };
    return check_figures(figures, sizeof figures / sizeof *figures, error);
}
