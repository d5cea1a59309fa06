/* What the parts of the HTTP face share: request, response, the route table and the small helpers that handlers call.
 *
 * The way of a request: the gate (gate.c) refuses what is ill formed, foreign or too large; the server (server.c) finds the route,
 * reads the body, scans it (json_scan.h) and parses it; the handler reads it through json_in.h, asks or changes the shop, and
 * writes its document with json_out.h into response->body. Handlers never see a socket, a header or a JSON node. */
#ifndef COAT_HTTP_H
#define COAT_HTTP_H

#include "coat/clock.h"
#include "coat/result.h"
#include "coat/shop.h"
#include "daemon/http/json_in.h"
#include "daemon/http/json_out.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define HTTP_BODY_MAX (64u * 1024u)                  /* a write, unless its route says otherwise */
#define HTTP_BODY_READINGS_MAX (2u * 1024u * 1024u)
#define HTTP_ANSWER_MAX (64u * 1024u * 1024u)        /* no document grows beyond this */
#define HTTP_PARAMS_MAX 2                            /* {…} in a path */
#define HTTP_PARAM_SIZE 128
#define HTTP_KEY_SIZE 128                            /* Idempotency-Key: at most 127 visible ASCII characters */

struct http_server;
struct notify;
struct sense;

struct http_context {
    struct shop *shop;
    struct coat_clock *clock;
    struct http_server *server;
    struct sense *sense;                             /* sources that are asked; NULL: none can be tried */
    struct notify *notify;                           /* channels; NULL: none can be tried */
    char origin[64];                                 /* "http://127.0.0.1:8262", as the ready line tells it */
    int64_t next_due_ms;                             /* of the shop, as its last turn told; the loop's timer stands on it */
    bool turn_wanted;                                /* the clock was moved: turn even if no fact came */
    enum coat_result unrecorded;                     /* why what is due cannot be recorded, and so is not told; COAT_OK: it can */
    int64_t unrecorded_since_ms;                     /* shop time */
};

enum http_method { HTTP_GET, HTTP_POST, HTTP_PUT, HTTP_PATCH, HTTP_DELETE, HTTP_METHOD_COUNT };
const char *http_method_word(enum http_method method);

/* Belongs to the server; good until the handler returns. */
struct http_request {
    enum http_method method;                         /* HEAD comes as HTTP_GET; the server leaves the body out */
    const char *path;                                /* percent-decoded, without the query */
    char target[64];                                 /* "POST /api/v1/coats/12/strike", cut to fit: shop_write.route */
    char param[HTTP_PARAMS_MAX][HTTP_PARAM_SIZE];    /* what stands for the {…} of the route's path, in order */
    const char *host;                                /* as the client named this service: one that the gate admits */
    const char *idempotency_key;                     /* NULL where none was sent; form already checked */
    const char *if_none_match;                       /* NULL likewise */
    const char *last_event_id;                       /* NULL likewise */
    const char *accept_encoding;                     /* NULL likewise */
    int64_t sensor_id;                               /* whose token it shows; 0 but on routes that want one */
    const char *body;                                /* NUL-terminated; "" where there is none */
    size_t body_length;
    uint64_t body_hash;                              /* FNV-1a, 64 bits */
    const struct cJSON *json;                        /* a write's body, scanned and parsed: an object, or NULL where a DELETE has none or it is a picture */
    void *connection;                                /* for http_query() alone */
};

struct http_response {
    int status;                                      /* 200 at first */
    const char *content_type;                        /* static text; "application/json" at first */
    char etag[48];                                   /* with its quotes; empty: none */
    char location[96];                               /* empty: none */
    char allow[48];                                  /* empty: none */
    const char *challenge;                           /* of a 401, static text; NULL: none */
    struct json_out body;                            /* freed by the server */
    const void *fixed;                               /* static bytes in place of body (assets); NULL: none */
    size_t fixed_length;
    bool gzip;                                       /* the static bytes are gzip */
    bool stream;                                     /* set by http_events alone */
    unsigned renewed_s;                              /* browsers ask for it again after so long by themselves; 0: they do not */
    bool form;                                       /* a page with a form that is sent to this service; never kept */
};

struct http_route {
    const char *method;                              /* "GET", "POST", …; HEAD is had wherever GET is */
    const char *path;                                /* "/api/v1/coats/{id}"; a last "{*}" takes the rest, slashes and all */
    void (*handle)(struct http_context *, const struct http_request *, struct http_response *);
    size_t body_max;                                 /* 0: HTTP_BODY_MAX for writes */
    bool test_clock_only;                            /* 404 where the daemon runs on the wall clock */
    bool signed_form;                                /* the signature in its address stands for origin and JSON; a POST of it has no body */
    bool picture;                                    /* the body is a picture in place of JSON */
    bool sensor_token;                               /* for sensors that post: their token opens this alone, and nothing else opens it */
};
/* Defined in routes.c; the last row has a NULL method. */
extern const struct http_route http_routes[];

/* ---- for handlers ---- */

int64_t http_now_ms(const struct http_context *context);
/* A query parameter, percent-decoded; NULL where it is not there. One that is told twice is refused before the handler runs. */
const char *http_query(const struct http_request *request, const char *name);
/* Number of request->param[index] as an id (above 0), else COAT_NOT_FOUND. */
COAT_CHECKED enum coat_result http_param_id(const struct http_request *request, unsigned index, int64_t *ret, struct coat_error *error);
/* A query parameter as a whole number or a moment: *ret is left as it was where it is not there. */
COAT_CHECKED enum coat_result http_query_int(const struct http_request *request, const char *name, int64_t low, int64_t high, int64_t *ret, struct coat_error *error);
COAT_CHECKED enum coat_result http_query_moment(const struct http_request *request, const char *name, int64_t *ret, struct coat_error *error);
/* The write that a request is: key, hash and target. `status` is what it will answer (200 or 201). */
struct shop_write http_write(const struct http_context *context, const struct http_request *request, int status);

/* Turns the response into application/problem+json, whatever was written before. The status follows from error->code. */
void http_problem(const struct http_request *request, struct http_response *response, const struct coat_error *error);
/* The same with a status of its own (405, 415, 421 …). */
void http_problem_status(const struct http_request *request, struct http_response *response, int status, const char *text);

/* Sets the ETag ("41" becomes "\"41\"") and tells whether If-None-Match has it: then the response is a finished 304. */
bool http_not_modified(const struct http_request *request, struct http_response *response, const char *tag);

/* Whether Accept-Encoding takes gzip (RFC 9110, section 12.5.3); where none was sent it is not used. */
bool http_accepts_gzip(const struct http_request *request);

/* ---- handlers that are not documents (assets.c, events.c) ---- */
void http_assets(struct http_context *context, const struct http_request *request, struct http_response *response); /* "/" and "/assets/{*}" */
void http_events(struct http_context *context, const struct http_request *request, struct http_response *response);

/* Moves a test clock on to to_ms, stepping through every due moment in order. COAT_NOT_ALLOWED on the wall clock, COAT_BAD_VALUE where
 * to_ms is before now or more than ten years on. */
COAT_CHECKED enum coat_result clock_step_to(struct http_context *context, int64_t to_ms, struct coat_error *error);

/* ---- notices on their way out (doc_notice.c) ---- */

/* The document of a notice as channels send it, NUL-terminated, to be freed by the caller; NULL without memory or where there is no such notice. `link` is where it
 * is acknowledged. */
#define HTTP_NOTICE_MAX (256u * 1024u)
char *http_notice_json(struct http_context *context, int64_t notice_id, const char *link);
/* How this service is reached from where a channel leads: the channel's link, else its own origin. (ack_link.c) */
const char *http_link_base(const struct http_context *context, const struct channel *channel);
/* The address that acknowledges a notice, as it goes out over a channel: under that base. */
void http_ack_link(const struct http_context *context, const struct channel *channel, int64_t notice_id, char *ret, size_t size);

#endif
