#include "daemon/sense/number.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define NUMBER_CHARS_MAX 40

static bool is_blank(char c)
{
    return c == ' ' || c == '\t' || c == '\n' || c == '\r';
}

static void trim(const char **text, size_t *length)
{
    while (*length > 0 && is_blank((*text)[*length - 1]))
        (*length)--;
    while (*length > 0 && is_blank(**text)) {
        (*text)++;
        (*length)--;
    }
}

/* Only these letters: strtod would also take hexadecimal, "nan" and "infinity". */
bool number_read(const char *text, size_t length, double *ret)
{
    char copy[NUMBER_CHARS_MAX + 1];
    char *end = NULL;
    trim(&text, &length);
    if (length == 0 || length > NUMBER_CHARS_MAX)
        return false;
    memcpy(copy, text, length);
    copy[length] = '\0';
    if (strspn(copy, "0123456789+-.eE") != length)
        return false;
    double number = strtod(copy, &end);
    if (end == copy || *end != '\0' || !isfinite(number))
        return false;
    *ret = number;
    return true;
}

/* Bytes that a character of UTF-8 has by its first one; 1 for what is none, which is then left as it is. */
static size_t character_bytes(char first)
{
    unsigned char byte = (unsigned char)first;
    return byte >= 0xF0u ? 4 : byte >= 0xE0u ? 3 : byte >= 0xC0u ? 2 : 1;
}

void text_show(const char *text, size_t length, char *ret, size_t size)
{
    size_t used = 0;
    trim(&text, &length);
    for (size_t i = 0; i < length;) {
        size_t bytes = character_bytes(text[i]);
        if (bytes > length - i || used + bytes >= size)
            break;
        for (size_t end = i + bytes; i < end; i++)
            ret[used++] = iscntrl((unsigned char)text[i]) ? ' ' : text[i];
    }
    ret[used] = '\0';
}
