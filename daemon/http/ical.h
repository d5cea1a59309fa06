/* The one writer of RFC 5545 text. It appends to the buffer of an answer, folds each line at 75 octets without parting a character (section 3.1), escapes
 * text once (3.3.11), and lets no byte through that may not stand there: control characters are left out, ill-formed UTF-8 becomes U+FFFD. */
#ifndef COAT_ICAL_H
#define COAT_ICAL_H

#include "daemon/http/json_out.h"

void ical_begin(struct json_out *out, const char *component);
void ical_end(struct json_out *out, const char *component);
/* `name` may carry parameters ("TRIGGER;RELATED=START"); the value is written as it stands. */
void ical_put_raw(struct json_out *out, const char *name, const char *value);
void ical_put_text(struct json_out *out, const char *name, const char *text);
void ical_put_int(struct json_out *out, const char *name, int64_t value);
void ical_put_moment(struct json_out *out, const char *name, int64_t at_ms);  /* UTC, whole seconds; 3.3.5 form 2 */
void ical_put_minutes(struct json_out *out, const char *name, int64_t minutes); /* a duration, below 0 where it is before; 3.3.6 */

#endif
