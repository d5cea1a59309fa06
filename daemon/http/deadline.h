/* Absolute deadlines of connections in real time. The library's own timeout only measures inactivity, so a byte now and then would keep a
 * connection for ever. A watched connection is idle (waiting for its next request), in a request (from its first byte to the end of the
 * answer) or a stream (no deadline; heartbeats find out whether anybody is there). What comes of a body puts the end of its request off, by no more than
 * a poor wireless link takes for it: a photo of some MB comes through, a drip does not. One whose time is up is shut down; the library then lets go of it. */
#ifndef COAT_DEADLINE_H
#define COAT_DEADLINE_H

#include <stdint.h>

#define DEADLINE_REQUEST_MS 10000
#define DEADLINE_IDLE_MS 30000
#define DEADLINE_BODY_RATE 32768 /* bytes/s, the slowest at which a body may come: the far corner of a yard (ours) */

enum deadline_phase { DEADLINE_IDLE, DEADLINE_REQUEST, DEADLINE_STREAM, DEADLINE_CUT };

struct deadline {
    struct deadline *previous, *next;
    int fd;
    enum deadline_phase phase;
    int64_t due_ms; /* real time; INT64_MAX for streams */
    int64_t body;   /* bytes of the request's body so far */
};

struct deadlines {
    struct deadline *first;
    unsigned count;
};

/* NULL where memory is out. */
struct deadline *deadline_watch(struct deadlines *all, int fd, int64_t now_ms);
void deadline_drop(struct deadlines *all, struct deadline *deadline);

void deadline_first_byte(struct deadline *deadline, int64_t now_ms); /* an idle one becomes a request */
void deadline_body(struct deadline *deadline, int64_t bytes);        /* so much more of a body that is taken in; the route bounds it */
void deadline_answered(struct deadline *deadline, int64_t now_ms);   /* idle again */
void deadline_stream(struct deadline *deadline);

/* Shuts down what is due and returns when the next will be, INT64_MAX where none is watched. */
int64_t deadline_enforce(struct deadlines *all, int64_t now_ms);

#endif
