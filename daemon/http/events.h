/* Server-sent events. A stream says the revision when it begins and each time it changes, and a comment each 15 s of real time, by which a departed client is
 * noticed. Streams with nothing to say are suspended connections. */
#ifndef COAT_EVENTS_H
#define COAT_EVENTS_H

#include <microhttpd.h>
#include <stdbool.h>
#include <stdint.h>

#define EVENTS_HEARTBEAT_MS 15000
#define EVENTS_STREAMS_MAX 1000

struct shop;
struct event_stream;

struct events {
    const struct shop *shop;
    struct event_stream *first;
    unsigned count;
    int64_t heartbeat_ms; /* when the next is due; INT64_MAX without streams */
    bool changed;         /* the revision, since the streams were told */
    bool closing;
};

void events_init(struct events *events, const struct shop *shop);
/* The response that streams on this connection; NULL where there are too many or memory is out. */
struct MHD_Response *events_stream(struct events *events, struct MHD_Connection *connection, int64_t now_ms);
/* Wakes the streams that have something to say; true where there was one. */
bool events_turn(struct events *events, int64_t now_ms);
/* Wakes all and lets each end. */
void events_close(struct events *events);

#endif
