/* The one client of the daemon's API, over libcurl. It asks once and never again by itself: who was not answered is told. */
#ifndef CLI_CLIENT_H
#define CLI_CLIENT_H

#include "coat/result.h"

#include <cjson/cJSON.h>
#include <stdbool.h>
#include <stddef.h>

#define CLIENT_URL_SIZE 256
#define CLIENT_TOKEN_SIZE 256
#define CLIENT_ANSWER_MAX (32u * 1024u * 1024u)

struct client {
    char url[CLIENT_URL_SIZE]; /* without a slash at the end */
    char token[CLIENT_TOKEN_SIZE]; /* "" for none */
};

enum client_result {
    CLIENT_ANSWERED,
    CLIENT_NOT_THERE,   /* nothing took the request */
    CLIENT_NO_ANSWER,   /* it may have been taken, and no answer came */
    CLIENT_NOT_COATD,   /* something else answers there */
    CLIENT_NO_MEMORY
};

struct reply {
    long status;
    char *text; /* the document as it came; freed by reply_free */
    size_t length;
    cJSON *document;
};

/* "" token for none. COAT_BAD_VALUE where url is not http:// or https://, or the token is not plain ASCII. */
COAT_CHECKED enum coat_result client_init(struct client *client, const char *url, const char *token,
                                          struct coat_error *error);

/* Sends one request; `body` (may be NULL) stays the caller's. Writes carry a random Idempotency-Key. *reply is empty unless
 * CLIENT_ANSWERED. */
enum client_result client_ask(const struct client *client, const char *method, const char *path, const cJSON *body,
                              struct reply *reply);
/* Posts bytes as they are, of that media type. */
enum client_result client_post(const struct client *client, const char *path, const char *type, const void *bytes, size_t length,
                               struct reply *reply);
void reply_free(struct reply *reply);

/* Calls `event` at each event of a text/event-stream, until it returns false (CLIENT_ANSWERED) or the stream ends (CLIENT_NO_ANSWER). Any
 * other status than 200 ends it as well, with *ret_status set. */
enum client_result client_follow(const struct client *client, const char *path, bool (*event)(void *context),
                                 void *context, long *ret_status);

#endif
