/* A bounded text that grows by printf: for one cell, one sentence, one path. What does not fit is cut. */
#ifndef CLI_TEXT_H
#define CLI_TEXT_H

#include <stddef.h>
#include <stdio.h>

#define TEXT_SIZE 4096

struct text {
    size_t length;
    char data[TEXT_SIZE]; /* NUL-terminated */
};

void text_clear(struct text *text);
void text_add(struct text *text, const char *format, ...) __attribute__((format(printf, 2, 3)));
/* Adds `joint` first unless the text is still empty. */
void text_join(struct text *text, const char *joint, const char *format, ...) __attribute__((format(printf, 3, 4)));

/* Writes text from outside with "?" for each control character, so that it cannot move the cursor. */
void text_write_clean(FILE *out, const char *text, size_t length);

#endif
