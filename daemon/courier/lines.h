/* JSON lines on the socket to coatd. Writing waits as long as coatd takes: a courier has nothing better to do. */
#ifndef COURIER_LINES_H
#define COURIER_LINES_H

#include "coat/courier.h"

#include <cjson/cJSON.h>
#include <stdbool.h>
#include <stddef.h>

struct lines {
    int fd;
    bool over;                       /* coatd is gone, or said what no courier understands */
    size_t begin, end;               /* what is in text and not yet taken */
    char text[COURIER_LINE_MAX + 1]; /* NUL behind the longest line */
};

/* Reads what is there, once, waiting if there is nothing. */
void lines_fill(struct lines *lines);
/* The next whole line as JSON, which the caller deletes; NULL when there is none (yet). The line is wiped: it may hold a password. */
cJSON *lines_next(struct lines *lines);
/* Waits for the next line; NULL when the socket ended. */
cJSON *lines_wait(struct lines *lines);
/* Sends the object as a line and deletes it. False, and nothing is sent, when it is too long for one. */
bool lines_send(struct lines *lines, cJSON *object);

/* The text member of that name, "" where it has none. Lives as long as the object. */
const char *lines_text(const cJSON *object, const char *name);

#endif
