/* The gate: what a request must be before any route sees it. Pure: looks at the picked headers and says yes or why not. */
#ifndef COAT_GATE_H
#define COAT_GATE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* The headers that matter here. One that comes twice is refused, whichever it is: what two parties could read differently is no request. */
enum gate_header {
    GATE_HOST, GATE_ORIGIN, GATE_FETCH_SITE, GATE_CONTENT_TYPE, GATE_CONTENT_LENGTH, GATE_TRANSFER_ENCODING, GATE_AUTHORIZATION,
    GATE_IDEMPOTENCY_KEY, GATE_IF_NONE_MATCH, GATE_LAST_EVENT_ID, GATE_ACCEPT_ENCODING, GATE_HEADER_COUNT
};

struct gate_head {
    const char *value[GATE_HEADER_COUNT]; /* NULL: not there */
    bool twice[GATE_HEADER_COUNT];
    bool malformed;                       /* a character that none may hold, or the lines are not as they must be */
};

struct gate_refusal {
    int status;
    char text[200];
};

/* Notes one header; `name` in any case. Others than those above are only looked at for their form. */
void gate_note(struct gate_head *head, const char *name, const char *value);

/* What every request must be: form, one Host out of the loopback names with this port, no Transfer-Encoding. */
bool gate_admit(const struct gate_head *head, const char *target, uint16_t port, struct gate_refusal *ret);
/* What a write must be besides: own Origin and fetch site where told, a body of the type that is taken where it has one, a usable Idempotency-Key,
 * and no more than body_max bytes announced. None of the types is one that a page of another origin may send unasked. */
enum gate_body { GATE_BODY_NEEDED, GATE_BODY_MAY_BE, GATE_BODY_PICTURE }; /* the first two: JSON */
bool gate_admit_write(const struct gate_head *head, enum gate_body body, size_t body_max, struct gate_refusal *ret);
/* What the one form must be that works without scripts, from wherever a mail was read: all of it stands in its signed address, so the form itself is
 * empty. */
bool gate_admit_form(const struct gate_head *head, struct gate_refusal *ret);

/* Decodes %XX of text[0..length) into ret (NUL-terminated): false for a broken escape, a control character (%00 above all), ill-formed
 * bytes, or where it does not fit. */
bool gate_decode(const char *text, size_t length, char *ret, size_t size);

#endif
