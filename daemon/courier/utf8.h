/* Whether bytes are text. */
#ifndef COURIER_UTF8_H
#define COURIER_UTF8_H

#include <stdbool.h>
#include <stddef.h>

/* Well-formed UTF-8 (RFC 3629) without a NUL. */
bool utf8_is_text(const unsigned char *bytes, size_t length);

#endif
