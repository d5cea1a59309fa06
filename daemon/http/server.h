/* The HTTP face as the loop sees it: a descriptor to wait on, a turn to take, and when to come again without being woken. */
#ifndef COAT_SERVER_H
#define COAT_SERVER_H

#include "daemon/http/http.h"

#include <stdint.h>

struct http_address {
    bool six;           /* ::1 instead of 127.0.0.1 */
    uint16_t port;      /* 0: the kernel chooses */
};

/* "127.0.0.1:8262", "[::1]:8262", "localhost:0". Other addresses are refused: they need a token and TLS. */
COAT_CHECKED enum coat_result http_address_parse(const char *text, struct http_address *ret, struct coat_error *error);

/* Takes the port (and *io_address then has it), so that a service that cannot be reached touches nothing else. Returns the descriptor in *ret_fd. On
 * failure *error names the address and what would do. */
COAT_CHECKED enum coat_result http_listen(struct http_address *io_address, int *ret_fd, struct coat_error *error);
/* Serves on that descriptor, which it takes over, also on failure. Fills context->server and context->origin. */
COAT_CHECKED enum coat_result http_server_open(struct http_context *context, struct http_address address, int listen_fd, struct http_server **ret, struct coat_error *error);
/* Ends all streams, then the rest. Accepts NULL. */
void http_server_close(struct http_server *server);

/* Readable when there is work (an epoll descriptor itself). */
int http_server_descriptor(const struct http_server *server);
/* Does what is to do, without waiting. */
void http_server_turn(struct http_server *server);
/* The revision changed: every stream is told at the next turn. */
void http_server_tell(struct http_server *server);
/* Real moment by which http_server_turn wants to be called at the latest; INT64_MAX: only when woken. */
int64_t http_server_next_ms(const struct http_server *server);

#endif
