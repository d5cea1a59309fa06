#include "daemon/http/events.h"

#include "coat/shop.h"
#include "daemon/http/http.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct event_stream {
    struct event_stream *previous, *next;
    struct events *events;
    struct MHD_Connection *connection;
    int64_t told_revision; /* -1: nothing yet */
    bool suspended;
    bool heartbeat;        /* is due */
    char text[128];        /* what is being sent */
    size_t length, sent;
};

void events_init(struct events *events, const struct shop *shop)
{
    *events = (struct events){.shop = shop, .heartbeat_ms = INT64_MAX};
}

/* The next thing to say into stream->text; false where there is none. */
static bool compose(struct event_stream *stream)
{
    int64_t revision = shop_revision(stream->events->shop);
    int length = 0;
    if (revision != stream->told_revision)
        length = snprintf(stream->text, sizeof stream->text, "id: %lld\nevent: revision\ndata: {\"revision\":%lld}\n\n",
                          (long long)revision, (long long)revision);
    else if (stream->heartbeat)
        length = snprintf(stream->text, sizeof stream->text, ":\n\n");
    stream->told_revision = revision;
    stream->heartbeat = false;
    stream->length = length > 0 ? (size_t)length : 0;
    stream->sent = 0;
    return length > 0;
}

static ssize_t read_stream(void *context, uint64_t position, char *buffer, size_t size)
{
    struct event_stream *stream = context;
    (void)position;
    if (stream->events->closing)
        return MHD_CONTENT_READER_END_OF_STREAM;
    if (stream->sent == stream->length && !compose(stream)) {
        stream->suspended = true;
        MHD_suspend_connection(stream->connection);
        return 0;
    }
    size_t rest = stream->length - stream->sent;
    size_t part = rest < size ? rest : size;
    memcpy(buffer, stream->text + stream->sent, part);
    stream->sent += part;
    return (ssize_t)part;
}

static void free_stream(void *context)
{
    struct event_stream *stream = context;
    struct events *events = stream->events;
    if (stream->next != NULL)
        stream->next->previous = stream->previous;
    if (stream->previous != NULL)
        stream->previous->next = stream->next;
    else
        events->first = stream->next;
    if (--events->count == 0)
        events->heartbeat_ms = INT64_MAX;
    free(stream);
}

static void add_stream(struct events *events, struct event_stream *stream, int64_t now_ms)
{
    stream->next = events->first;
    if (events->first != NULL)
        events->first->previous = stream;
    events->first = stream;
    if (events->count++ == 0)
        events->heartbeat_ms = now_ms + EVENTS_HEARTBEAT_MS;
}

struct MHD_Response *events_stream(struct events *events, struct MHD_Connection *connection, int64_t now_ms)
{
    struct event_stream *stream = events->count < EVENTS_STREAMS_MAX ? calloc(1, sizeof *stream) : NULL;
    if (stream == NULL)
        return NULL;
    *stream = (struct event_stream){.events = events, .connection = connection, .told_revision = -1};
    struct MHD_Response *response =
        MHD_create_response_from_callback(MHD_SIZE_UNKNOWN, 1024, read_stream, stream, free_stream);
    if (response == NULL) {
        free(stream);
        return NULL;
    }
    add_stream(events, stream, now_ms);
    return response;
}

static void wake(struct event_stream *stream)
{
    if (!stream->suspended)
        return;
    stream->suspended = false;
    MHD_resume_connection(stream->connection);
}

bool events_turn(struct events *events, int64_t now_ms)
{
    bool beat = now_ms >= events->heartbeat_ms;
    if (!beat && !events->changed)
        return false;
    for (struct event_stream *stream = events->first; stream != NULL; stream = stream->next) {
        stream->heartbeat = stream->heartbeat || beat;
        wake(stream);
    }
    if (beat)
        events->heartbeat_ms = now_ms + EVENTS_HEARTBEAT_MS;
    events->changed = false;
    return events->first != NULL;
}

void events_close(struct events *events)
{
    events->closing = true;
    for (struct event_stream *stream = events->first; stream != NULL; stream = stream->next)
        wake(stream);
}

void http_events(struct http_context *context, const struct http_request *request, struct http_response *response)
{
    (void)context;
    (void)request;
    response->content_type = "text/event-stream";
    response->stream = true;
}
