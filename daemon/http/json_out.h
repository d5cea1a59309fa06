/* The one writer of all JSON that goes out (and of the plain text of metrics). It appends to a buffer with a declared maximum, sets commas itself,
 * escapes once, and never emits what is not JSON: NaN and infinities become null. Failure (too large, out of memory, nested
 * too deep) sticks in `failed`; look at it once, at the end. */
#ifndef COAT_JSON_OUT_H
#define COAT_JSON_OUT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define JSON_OUT_DEPTH_MAX 16
#define JSON_SHORTEST (-1) /* as few digits as read back to the same double */

struct json_out {
    char *bytes;        /* NUL-terminated once anything was written */
    size_t length, capacity, max;
    unsigned depth;
    bool filled[JSON_OUT_DEPTH_MAX + 1]; /* whether this level has a value, so that the next wants a comma */
    bool after_key;
    bool failed;
};

void json_out_init(struct json_out *out, size_t max);
void json_out_free(struct json_out *out);
/* Forgets what was written; keeps the maximum. */
void json_out_reset(struct json_out *out);

/* Values: as an element of an array, or after json_out_key. */
void json_out_object(struct json_out *out);      /* opens */
void json_out_object_end(struct json_out *out);
void json_out_array(struct json_out *out);
void json_out_array_end(struct json_out *out);
void json_out_key(struct json_out *out, const char *key);
void json_out_string(struct json_out *out, const char *text); /* NULL: null. Ill-formed UTF-8 becomes U+FFFD */
void json_out_int(struct json_out *out, int64_t value);
void json_out_number(struct json_out *out, double value, int decimals); /* 0 to 12 (trailing zeros dropped) or JSON_SHORTEST */
void json_out_moment(struct json_out *out, int64_t at_ms);    /* RFC 3339; MOMENT_NONE: null */
void json_out_bool(struct json_out *out, bool value);
void json_out_null(struct json_out *out);

/* Members: key and value in one. */
void json_put_object(struct json_out *out, const char *key);
void json_put_array(struct json_out *out, const char *key);
void json_put_string(struct json_out *out, const char *key, const char *text);
void json_put_int(struct json_out *out, const char *key, int64_t value);
void json_put_id(struct json_out *out, const char *key, int64_t id);           /* 0: null */
void json_put_number(struct json_out *out, const char *key, double value, int decimals);
void json_put_moment(struct json_out *out, const char *key, int64_t at_ms);
void json_put_bool(struct json_out *out, const char *key, bool value);
void json_put_null(struct json_out *out, const char *key);

/* Plain text into the same buffer, as it is. */
void json_out_text(struct json_out *out, const char *text);
void json_out_bytes(struct json_out *out, const void *bytes, size_t length);
void json_out_print(struct json_out *out, const char *format, ...) __attribute__((format(printf, 2, 3)));

#endif
