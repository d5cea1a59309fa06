#include "cli/text.h"

#include <stdarg.h>
#include <stdio.h>

void text_clear(struct text *text)
{
    text->length = 0;
    text->data[0] = '\0';
}

static void add(struct text *text, const char *format, va_list arguments)
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
