/* The moments that people plan by, as a calendar program fetches them. */
#ifndef COAT_CALENDAR_H
#define COAT_CALENDAR_H

#include "daemon/http/doc.h"

/* All of it, as RFC 5545 text, into doc->out. `title` is what the calendar program lists it as. */
void calendar_write(struct doc *doc, const char *title);
/* What it says of its own age: the hour. One revision in one hour is one text, byte by byte. */
int64_t calendar_stamp(int64_t now_ms);

#endif
