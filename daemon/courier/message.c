#include "daemon/courier/message.h"

#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define LINE_MAX_CHARS 76     /* of quoted-printable, RFC 2045 section 6.7; without its soft line break 75 */
#define WORD_BYTES_MAX 42     /* of text in an encoded word: 4/3 of it and "=?UTF-8?B??=" stay under 75, RFC 2047 section 2 */
#define ADDRESS_MAX 254       /* RFC 5321 section 4.5.3.1.3, without its angle brackets */

/* ---- addresses ---- */

/* The dot-atoms of RFC 5322 section 3.2.3. */
static bool is_atom_text(char c)
{
    return isalnum((unsigned char)c) || (c != '\0' && strchr("!#$%&'*+-/=?^_`{|}~.", c) != NULL);
}

bool message_is_address(const char *text, size_t length)
{
    const char *at = memchr(text, '@', length);
    if (at == NULL || at == text || at + 1 == text + length || length > ADDRESS_MAX)
        return false;
    for (size_t i = 0; i < length; i++)
        if (text + i != at && !is_atom_text(text[i]))
            return false;
    return true;
}

/* ---- headers ---- */

static bool is_plain(const char *text)
{
    for (const char *c = text; *c != '\0'; c++)
        if (!isprint((unsigned char)*c))
            return false;
    return strstr(text, "=?") == NULL; /* would be read as an encoded word */
}

static void write_base64(FILE *file, const unsigned char *bytes, size_t length)
{
    static const char digits[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    for (size_t i = 0; i < length; i += 3) {
        unsigned second = i + 1 < length ? bytes[i + 1] : 0, third = i + 2 < length ? bytes[i + 2] : 0;
        unsigned three = (unsigned)bytes[i] << 16 | second << 8 | third;
        fputc(digits[three >> 18], file);
        fputc(digits[three >> 12 & 63], file);
        fputc(i + 1 < length ? digits[three >> 6 & 63] : '=', file);
        fputc(i + 2 < length ? digits[three & 63] : '=', file);
    }
}

/* How much of the text goes into one encoded word: whole characters of UTF-8. */
static size_t word_length(const char *text)
{
    size_t length = strlen(text);
    if (length <= WORD_BYTES_MAX)
        return length;
    length = WORD_BYTES_MAX;
    while (length > 1 && ((unsigned char)text[length] & 0xC0u) == 0x80u)
        length--;
    return length;
}

/* RFC 2047 where it is not ASCII; a control character becomes a blank first. */
static void write_unstructured(FILE *file, const char *name, const char *value)
{
    char text[1024];
    snprintf(text, sizeof text, "%s", value);
    for (char *c = text; *c != '\0'; c++)
        if (iscntrl((unsigned char)*c))
            *c = ' ';
    fprintf(file, "%s:", name);
    if (is_plain(text)) {
        fprintf(file, " %s\r\n", text);
        return;
    }
    for (const char *rest = text; *rest != '\0';) {
        size_t length = word_length(rest);
        fputs(rest == text ? " =?UTF-8?B?" : "\r\n =?UTF-8?B?", file);
        write_base64(file, (const unsigned char *)rest, length);
        fputs("?=", file);
        rest += length;
    }
    fputs("\r\n", file);
}

/* Only what is an address goes in; several are folded after their commas. */
static void write_addresses(FILE *file, const char *name, const char *list)
{
    const char *between = " ";
    fprintf(file, "%s:", name);
    while (*list != '\0') {
        list += strspn(list, " ,");
        size_t length = strcspn(list, " ,");
        if (length > 0 && message_is_address(list, length)) {
            fprintf(file, "%s<%.*s>", between, (int)length, list);
            between = ",\r\n ";
        }
        list += length;
    }
    fputs("\r\n", file);
}

/* Its characters are those of an address, whatever the id has. */
static void write_id(FILE *file, const char *id)
{
    fputs("Message-ID: <", file);
    for (; *id != '\0'; id++)
        if (is_atom_text(*id) || *id == '@')
            fputc(*id, file);
    fputs(">\r\n", file);
}

static void write_date(FILE *file, time_t date)
{
    char text[64];
    struct tm parts = {0};
    (void)gmtime_r(&date, &parts);
    (void)strftime(text, sizeof text, "%a, %d %b %Y %H:%M:%S +0000", &parts); /* no locale is set */
    fprintf(file, "Date: %s\r\n", text);
}

/* ---- the text as quoted-printable ---- */

/* As it is, but at the end of a line, where a blank would be lost, and at its begin, where a dot or "From" mean something. */
static bool goes_as_it_is(const char *text, int column)
{
    unsigned char c = (unsigned char)*text;
    if (c == ' ' || c == '\t')
        return text[1] != '\0' && text[1] != '\n' && text[1] != '\r';
    return c > ' ' && c < 127 && c != '=' && !(column == 0 && (c == '.' || c == 'F'));
}

static int write_character(FILE *file, const char *text, int column)
{
    bool as_it_is = goes_as_it_is(text, column);
    if (column + (as_it_is ? 1 : 3) > LINE_MAX_CHARS - 1) {
        fputs("=\r\n", file);
        column = 0;
        as_it_is = goes_as_it_is(text, column);
    }
    if (as_it_is)
        fputc(*text, file);
    else
        fprintf(file, "=%02X", (unsigned)(unsigned char)*text);
    return column + (as_it_is ? 1 : 3);
}

static void write_text(FILE *file, const char *text)
{
    int column = 0;
    for (; *text != '\0'; text++) {
        if (*text == '\r' && text[1] == '\n')
            continue;
        if (*text != '\n') {
            column = write_character(file, text, column);
            continue;
        }
        fputs("\r\n", file);
        column = 0;
    }
    fputs(column > 0 ? "\r\n" : "", file);
}

char *message_write(const struct message *message)
{
    char *written = NULL;
    size_t size = 0;
    FILE *file = open_memstream(&written, &size);
    if (file == NULL)
        return NULL;
    write_date(file, message->date);
    write_addresses(file, "From", message->from);
    write_addresses(file, "To", message->to);
    write_unstructured(file, "Subject", message->subject);
    write_id(file, message->id);
    fputs("Auto-Submitted: auto-generated\r\n"
          "MIME-Version: 1.0\r\n"
          "Content-Type: text/plain; charset=utf-8\r\n"
          "Content-Transfer-Encoding: quoted-printable\r\n"
          "\r\n", file);
    write_text(file, message->text);
    if (fclose(file) == 0)
        return written;
    free(written);
    return NULL;
}
