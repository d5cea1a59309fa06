#include "daemon/http/ical.h"

#include "coat/moment.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

#define LINE_OCTETS 75

struct line {
    struct json_out *out;
    size_t octets; /* of the line as it stands, the space of a folded one among them */
};

/* What must stay together: a character, or an escape. */
static void put_whole(struct line *line, const char *bytes, size_t count)
{
    if (line->octets + count > LINE_OCTETS) {
        json_out_text(line->out, "\r\n ");
        line->octets = 1;
    }
    json_out_bytes(line->out, bytes, count);
    line->octets += count;
}

/* Bytes of the character at `text` (RFC 3629, section 4); 0 where they are none. */
static size_t character_length(const unsigned char *text)
{
    static const struct {
        unsigned char low, high, second_low, second_high;
        size_t length;
    } rows[] = {
        {0x00, 0x7F, 0, 0, 1},       {0xC2, 0xDF, 0x80, 0xBF, 2}, {0xE0, 0xE0, 0xA0, 0xBF, 3}, {0xE1, 0xEC, 0x80, 0xBF, 3},
        {0xED, 0xED, 0x80, 0x9F, 3}, {0xEE, 0xEF, 0x80, 0xBF, 3}, {0xF0, 0xF0, 0x90, 0xBF, 4}, {0xF1, 0xF3, 0x80, 0xBF, 4},
        {0xF4, 0xF4, 0x80, 0x8F, 4},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        if (text[0] < rows[i].low || text[0] > rows[i].high)
            continue;
        size_t length = rows[i].length;
        if (length > 1 && (text[1] < rows[i].second_low || text[1] > rows[i].second_high))
            return 0;
        for (size_t b = 2; b < length; b++) {
            if ((text[b] & 0xC0) != 0x80)
                return 0;
        }
        return length;
    }
    return 0;
}

static void put_characters(struct line *line, const char *text)
{
    while (*text != '\0') {
        size_t length = character_length((const unsigned char *)text);
        bool control = (unsigned char)*text < 0x20 || *text == 0x7F;
        if (length == 0)
            put_whole(line, "\xEF\xBF\xBD", 3);
        else if (!control || *text == '\t')
            put_whole(line, text, length);
        text += length > 0 ? length : 1;
    }
}

static void put_escaped(struct line *line, const char *text)
{
    static const char escaped[] = "\\;,";
    char plain[5] = "";
    while (*text != '\0') {
        size_t length = character_length((const unsigned char *)text);
        if (*text == '\n') {
            put_whole(line, "\\n", 2);
        } else if (strchr(escaped, *text) != NULL) {
            put_whole(line, (const char[]){'\\', *text}, 2);
        } else {
            memcpy(plain, text, length > 0 ? length : 1);
            plain[length > 0 ? length : 1] = '\0';
            put_characters(line, plain);
        }
        text += length > 0 ? length : 1;
    }
}

static struct line begin_line(struct json_out *out, const char *name)
{
    struct line line = {out, 0};
    put_characters(&line, name);
    put_whole(&line, ":", 1);
    return line;
}

void ical_put_raw(struct json_out *out, const char *name, const char *value)
{
    struct line line = begin_line(out, name);
    put_characters(&line, value);
    json_out_text(out, "\r\n");
}

void ical_put_text(struct json_out *out, const char *name, const char *text)
{
    struct line line = begin_line(out, name);
    put_escaped(&line, text);
    json_out_text(out, "\r\n");
}

void ical_begin(struct json_out *out, const char *component)
{
    ical_put_raw(out, "BEGIN", component);
}

void ical_end(struct json_out *out, const char *component)
{
    ical_put_raw(out, "END", component);
}

void ical_put_int(struct json_out *out, const char *name, int64_t value)
{
    char text[24];
    snprintf(text, sizeof text, "%" PRId64, value);
    ical_put_raw(out, name, text);
}

void ical_put_moment(struct json_out *out, const char *name, int64_t at_ms)
{
    char text[24];
    struct tm utc;
    time_t seconds = (time_t)(at_ms / MS_PER_S);
    if (gmtime_r(&seconds, &utc) == NULL || strftime(text, sizeof text, "%Y%m%dT%H%M%SZ", &utc) == 0)
        return;
    ical_put_raw(out, name, text);
}

void ical_put_minutes(struct json_out *out, const char *name, int64_t minutes)
{
    char text[32];
    snprintf(text, sizeof text, "%sPT%" PRId64 "M", minutes < 0 ? "-" : "", minutes < 0 ? -minutes : minutes);
    ical_put_raw(out, name, text);
}
