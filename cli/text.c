#include "cli/text.h"

#include <stdarg.h>
#include <stdbool.h>

void text_clear(struct text *text)
{
    text->length = 0;
    text->data[0] = '\0';
}

__attribute__((format(printf, 2, 0))) static void add(struct text *text, const char *format, va_list arguments)
{
    size_t room = sizeof text->data - text->length;
    int written = vsnprintf(text->data + text->length, room, format, arguments);
    if (written > 0)
        text->length += (size_t)written < room ? (size_t)written : room - 1;
}

void text_add(struct text *text, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    add(text, format, arguments);
    va_end(arguments);
}

void text_join(struct text *text, const char *joint, const char *format, ...)
{
    va_list arguments;
    if (text->length > 0)
        text_add(text, "%s", joint);
    va_start(arguments, format);
    add(text, format, arguments);
    va_end(arguments);
}

/* C0, DEL, and the C1 controls as UTF-8 writes them (0xC2 0x80 to 0x9F). */
static bool is_control(const char *at, size_t left)
{
    unsigned char c = (unsigned char)at[0];
    return c < 0x20u || c == 0x7Fu || (c == 0xC2u && left > 1 && (unsigned char)at[1] < 0xA0u);
}

void text_write_clean(FILE *out, const char *text, size_t length)
{
    for (size_t i = 0; i < length; i++) {
        bool control = is_control(text + i, length - i);
        fputc(control ? '?' : text[i], out);
        i += control && (unsigned char)text[i] == 0xC2u;
    }
}
