/* Windows as people and labels write them. In the terms of RFC 5234, case does not matter:
 *
 *     window  = opening / "within" time after / "test" time " to " time
 *     opening = [ "after" ] time                           opens and stays open
 *             / [ "after" ] time " to " time after         opens and closes
 *     after   = *( ", " prepare " to " time ) ( ", then " ( prepare / "strip" / "wait" ) / " or " opening )
 *     prepare = "wipe" / "scuff"
 *     time    = what quantity_parse() reads as a duration
 *
 * What a closing leads to must be said: a coat over a closed window is the mistake that costs most. */
#include "coat/material.h"

#include "coat/quantity.h"

#include <ctype.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#define TEXT_SIZE 160
#define HOURS_MAX 43830.0 /* five years */
#define PRINT_TEMP_C 23.0 /* reference air of the built-in tables */

struct reader {
    char text[TEXT_SIZE]; /* lower case, white space made single */
    const char *at;
    double temp_c;
    struct stage_table table;
    struct coat_error *error;
};

static enum coat_result fail_at(const struct reader *in, const char *what)
{
    return coat_fail(in->error, COAT_BAD_VALUE, "window",
                     "\"%s\": %s; a window reads like \"after 16h\", \"within 1h or after 48h\" or \"5h to 8h, wipe to 24h, "
                     "then scuff\"", in->text, what);
}

/* Takes `word`, or a comma, when the text goes on with it as a whole word. */
static bool take(struct reader *in, const char *word)
{
    size_t length = strlen(word);
    const char *at = in->at + strspn(in->at, " ");
    if (strncmp(at, word, length) != 0 || (isalpha((unsigned char)*word) && isalnum((unsigned char)at[length])))
        return false;
    in->at = at + length;
    return true;
}

static bool at_end(const struct reader *in)
{
    return in->at[strspn(in->at, " ")] == '\0';
}

/* Length of what stands before the next comma or linking word. */
static size_t time_length(const char *text)
{
    static const char *const stops[] = {",", " to ", " or ", " then "};
    size_t length = strlen(text);
    for (size_t i = 0; i < sizeof stops / sizeof *stops; i++) {
        const char *stop = strstr(text, stops[i]);
        if (stop != NULL && (size_t)(stop - text) < length)
            length = (size_t)(stop - text);
    }
    return length;
}

static enum coat_result read_time(struct reader *in, double *ret_hours)
{
    char word[TEXT_SIZE];
    double seconds = 0.0;
    struct coat_error why;
    const char *at = in->at + strspn(in->at, " ");
    size_t length = time_length(at);
    if (length == 0 || strspn(at, "0123456789.") == 0)
        return fail_at(in, *at == '\0' ? "a time is missing at its end" : "a time such as 16h or 30min was expected");
    memcpy(word, at, length);
    word[length] = '\0';
    if (quantity_parse(QUANTITY_DURATION, word, &seconds, &why) != COAT_OK)
        return coat_fail(in->error, COAT_BAD_VALUE, "window", "%s", why.text);
    if (!(seconds > 0.0 && seconds / 3600.0 <= HOURS_MAX))
        return fail_at(in, "a time is above 0 and at most five years");
    *ret_hours = seconds / 3600.0;
    in->at = at + length;
    return COAT_OK;
}

static enum coat_result add(struct reader *in, enum span_do then, double hours)
{
    struct stage_table *table = &in->table;
    if (table->boundaries == MATERIAL_BOUNDARIES_MAX)
        return fail_at(in, "it has too many times");
    if (table->boundaries > 0 && hours <= table->boundary[table->boundaries - 1].row[0].hours)
        return fail_at(in, "its times do not rise");
    table->boundary[table->boundaries++] = (struct stage_boundary){
        .then = then, .rows = 1, .row = {{in->temp_c, hours}}, .label_h = (double)NAN, .basis = BASIS_LABEL};
    return COAT_OK;
}

static bool take_prepare(struct reader *in, enum span_do *ret_then)
{
    if (take(in, "wipe"))
        *ret_then = SPAN_WIPE;
    else if (take(in, "scuff"))
        *ret_then = SPAN_SCUFF;
    else
        return false;
    return true;
}

static bool take_last(struct reader *in, enum span_do *ret_then)
{
    if (take(in, "strip"))
        *ret_then = SPAN_STRIP;
    else if (take(in, "wait"))
        *ret_then = SPAN_WAIT;
    else
        return take_prepare(in, ret_then);
    return true;
}

/* ", wipe to 24h", of which `then` was taken; *hours is where it begins, and then where it ends. */
static enum coat_result read_prepare(struct reader *in, enum span_do then, double *hours)
{
    enum coat_result result = add(in, then, *hours);
    if (result != COAT_OK)
        return result;
    if (!take(in, "to"))
        return fail_at(in, "\"to\" and a time were expected, or \"then\" before the last word");
    return read_time(in, hours);
}

static enum coat_result read_last(struct reader *in, double hours)
{
    enum span_do then = SPAN_WAIT;
    if (!take(in, "then"))
        return fail_at(in, "it does not say what follows its end: add \", then scuff\", \", then wipe\" or "
                           "\", then strip\"");
    if (!take_last(in, &then) || !at_end(in))
        return fail_at(in, "after \"then\" one of wipe, scuff, strip or wait ends it");
    return add(in, then, hours);
}

static enum coat_result read_opening(struct reader *in);

/* `after`: what follows a span that ends at `hours`. No deeper than a window has times. */
static enum coat_result read_after(struct reader *in, double hours)
{
    enum span_do then = SPAN_WAIT;
    while (take(in, ",") && take_prepare(in, &then)) {
        enum coat_result result = read_prepare(in, then, &hours);
        if (result != COAT_OK)
            return result;
    }
    if (!take(in, "or"))
        return read_last(in, hours);
    enum coat_result result = add(in, SPAN_WAIT, hours);
    return result == COAT_OK ? read_opening(in) : result;
}

static enum coat_result read_opening(struct reader *in)
{
    double opens_h = 0.0, closes_h = 0.0;
    (void)take(in, "after");
    enum coat_result result = read_time(in, &opens_h);
    if (result == COAT_OK)
        result = add(in, SPAN_GO, opens_h);
    if (result != COAT_OK || at_end(in))
        return result;
    if (!take(in, "to"))
        return fail_at(in, "after its opening \"to\" and a time were expected, or nothing");
    result = read_time(in, &closes_h);
    return result == COAT_OK ? read_after(in, closes_h) : result;
}

static enum coat_result read_within(struct reader *in)
{
    double hours = 0.0;
    in->table.first = SPAN_GO;
    enum coat_result result = read_time(in, &hours);
    return result == COAT_OK ? read_after(in, hours) : result;
}

static enum coat_result read_test(struct reader *in)
{
    double tack_h = 0.0, lost_h = 0.0;
    enum coat_result result = read_time(in, &tack_h);
    if (result == COAT_OK)
        result = add(in, SPAN_TEST, tack_h);
    if (result == COAT_OK && !take(in, "to"))
        result = fail_at(in, "\"to\" and the time when tack is lost were expected");
    if (result == COAT_OK)
        result = read_time(in, &lost_h);
    if (result == COAT_OK && !at_end(in))
        result = fail_at(in, "nothing follows the end of a size's tack");
    return result == COAT_OK ? add(in, SPAN_STRIP, lost_h) : result;
}

/* Lower case, white space single; false where it does not fit. */
static bool fold(const char *text, char *folded, size_t size)
{
    size_t used = 0;
    for (text += strspn(text, " \t\r\n"); *text != '\0'; text++) {
        bool space = isspace((unsigned char)*text);
        if (space && used > 0 && folded[used - 1] == ' ')
            continue;
        if (used + 1 >= size)
            return false;
        folded[used++] = space ? ' ' : (char)tolower((unsigned char)*text);
    }
    if (used > 0 && folded[used - 1] == ' ')
        used--;
    folded[used] = '\0';
    return true;
}

enum coat_result window_parse(const char *text, double temp_c, struct stage_table *ret, struct coat_error *error)
{
    struct reader in = {.temp_c = temp_c, .error = error};
    if (!fold(text, in.text, sizeof in.text))
        return coat_fail(error, COAT_BAD_VALUE, "window", "a window of over %d characters: shorten it", TEXT_SIZE - 1);
    if (!(temp_c >= -40.0 && temp_c <= 300.0))
        return coat_fail(error, COAT_BAD_VALUE, "window", "%g C is no temperature for a coat to dry at", temp_c);
    in.at = in.text;
    in.table.first = SPAN_WAIT;
    enum coat_result result = take(&in, "within") ? read_within(&in) : take(&in, "test") ? read_test(&in) : read_opening(&in);
    if (result != COAT_OK)
        return result;
    in.table.stage = ret->stage;
    *ret = in.table;
    return COAT_OK;
}

/* Printing ---------------------------------------------------------------------------------------------------- */

struct writer {
    char *text;
    size_t size, used;
};

__attribute__((format(printf, 2, 3))) static void put(struct writer *out, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    int length = vsnprintf(out->text + out->used, out->size - out->used, format, args);
    va_end(args);
    if (length > 0)
        out->used = (size_t)length < out->size - out->used ? out->used + (size_t)length : out->size - 1;
}

static double hours_near_reference(const struct stage_boundary *boundary)
{
    unsigned nearest = 0;
    for (unsigned i = 1; i < boundary->rows; i++)
        if (fabs(boundary->row[i].temp_c - PRINT_TEMP_C) < fabs(boundary->row[nearest].temp_c - PRINT_TEMP_C))
            nearest = i;
    return boundary->row[nearest].hours;
}

/* Whole minutes below an hour, else hours to six digits. */
static void put_time(struct writer *out, const struct stage_boundary *boundary)
{
    double hours = hours_near_reference(boundary), minutes = hours * 60.0;
    if (hours < 1.0 && fabs(minutes - round(minutes)) < 1e-6)
        put(out, "%.0fmin", minutes);
    else
        put(out, "%.6gh", hours);
}

/* An opening (or a size's test) and, where it closes, its end. */
static void put_opening(struct writer *out, const struct stage_boundary *boundary, const struct stage_boundary *end)
{
    bool test = boundary->then == SPAN_TEST;
    put(out, "%s%s", out->used > 0 ? " or " : "", test ? "test " : end == NULL || out->used > 0 ? "after " : "");
    put_time(out, boundary);
    if (end == NULL)
        return;
    put(out, " to ");
    put_time(out, end);
}

static void put_closing(struct writer *out, const struct stage_boundary *boundary, const struct stage_boundary *end)
{
    if (end == NULL) {
        put(out, ", then %s", span_do_word(boundary->then));
        return;
    }
    put(out, ", %s to ", span_do_word(boundary->then));
    put_time(out, end);
}

char *window_print(const struct stage_table *table, char *text, size_t size)
{
    struct writer out = {.text = text, .size = size};
    if (size == 0)
        return text;
    text[0] = '\0';
    unsigned count = table->boundaries <= MATERIAL_BOUNDARIES_MAX ? table->boundaries : MATERIAL_BOUNDARIES_MAX;
    if (count > 0 && table->first == SPAN_GO) {
        put(&out, "within ");
        put_time(&out, &table->boundary[0]);
    }
    for (unsigned i = 0; i < count; i++) {
        const struct stage_boundary *boundary = &table->boundary[i], *end = i + 1 < count ? boundary + 1 : NULL;
        if (boundary->then == SPAN_GO || boundary->then == SPAN_TEST)
            put_opening(&out, boundary, end);
        else if (boundary->then == SPAN_WAIT && end != NULL)
            continue; /* " or after …" follows */
        else if (i == 0 || boundary[-1].then != SPAN_TEST)
            put_closing(&out, boundary, end);
    }
    return text;
}
