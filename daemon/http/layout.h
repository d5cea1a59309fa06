/* Finds what libmicrohttpd 0.9 lets through and does not tell: bare line feeds, folded lines, NUL bytes in a head.
 *
 * That library parses in place: it overwrites CR, LF and colon with NULs and hands out pointers into its buffer. So the head of a
 * well-formed request lies there without gaps, each name two bytes after the end of the line before, and anything else shows as a gap. Later
 * libraries refuse these requests themselves and lay things out as they like: layout_is_told() says whether to look. */
#ifndef COAT_LAYOUT_H
#define COAT_LAYOUT_H

#include <stdbool.h>

struct layout {
    const char *end; /* the NUL after the line last seen */
    bool broken;
};

bool layout_is_told(const char *library_version);
struct layout layout_begin(const char *version); /* the last word of the request line */
void layout_note(struct layout *layout, const char *name, const char *value);
/* After the last header: whether all was as RFC 9112 wants it. */
bool layout_is_whole(const struct layout *layout);

#endif
