/* Mail as RFC 5322 wants it, made of texts that may hold anything: no text can add a header or a line that is none. No I/O. */
#ifndef COURIER_MESSAGE_H
#define COURIER_MESSAGE_H

#include <stdbool.h>
#include <time.h>

struct message {
    const char *from, *to; /* addresses in ASCII; `to` may have several, with commas */
    const char *subject;   /* UTF-8, one line */
    const char *text;      /* UTF-8, lines that end with LF */
    const char *id;        /* "notice-12@…": makes the Message-ID */
    time_t date;
};

/* With CRLF at the line ends, to be freed by the caller; NULL without memory. */
char *message_write(const struct message *message);

/* "user@host", ASCII, in what a mail address is made of; never a space, a control character or an angle bracket. */
bool message_is_address(const char *text, size_t length);

#endif
