/* Numbers and texts as sources write them. No I/O. */
#ifndef COAT_SENSE_NUMBER_H
#define COAT_SENSE_NUMBER_H

#include <stdbool.h>
#include <stddef.h>

/* A decimal number ("18.2", "-3", "+1.8e1") with white space around it and nothing else; finite. */
bool number_read(const char *text, size_t length, double *ret);

/* Copies as one line that can be shown: white space around it is cut, what is no letter is a blank, and a character cut at the end is dropped. */
void text_show(const char *text, size_t length, char *ret, size_t size);

#endif
