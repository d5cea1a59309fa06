/* One request from its request line to the end of its answer: what the server keeps, and how it becomes a struct http_request. */
#ifndef COAT_REQUEST_H
#define COAT_REQUEST_H

#include "daemon/http/gate.h"
#include "daemon/http/http.h"
#include "daemon/http/router.h"

#define CALL_QUERIES_MAX 16

struct call {
    struct http_request request;
    struct http_response response;
    struct gate_head head;
    const struct http_route *route;
    bool begun;             /* its head was looked at */
    bool answered;          /* the response is made: what still comes of the body is dropped */
    bool write;
    char *body;             /* body_size + 1 bytes */
    size_t body_size, body_length;
    struct { const char *name, *value; } query[CALL_QUERIES_MAX];
    unsigned queries;
    char *path;             /* decoded; in `text`, like the rest */
    char *query_text;
    size_t path_length;     /* of the encoded path at the start of `target` */
    char *target;           /* as it came */
    char text[];
};

/* Owns a copy of the target. NULL where memory is out. */
struct call *call_new(const char *target);
void call_free(struct call *call); /* accepts NULL */

/* Looks at the head (already noted in call->head): gate, route, write gate, query. On refusal the response is made and `answered` set. */
void call_begin(struct http_context *context, uint16_t port, struct call *call, const char *method);
/* Takes a part of the body. */
void call_take_body(struct call *call, const char *bytes, size_t length);
/* The request is whole: scans and parses the body and lets the handler answer. */
void call_finish(struct http_context *context, struct call *call);

#endif
