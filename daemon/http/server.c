#include "daemon/http/server.h"

#include "daemon/http/deadline.h"
#include "daemon/http/events.h"
#include "daemon/http/layout.h"
#include "daemon/http/request.h"

#include <arpa/inet.h>
#include <errno.h>
#include <microhttpd.h>
#include <netinet/in.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/epoll.h>
#include <sys/socket.h>
#include <unistd.h>

#define CONNECTIONS_MAX 1100u        /* streams are counted among them */
#define CONNECTION_MEMORY 16384u     /* head and answer buffer of one; a longer head is 431 */
#define BACKLOG 256
#define DRAIN_MAX (16u * 1024u * 1024u) /* so much of a refused body is read and dropped, so that the refusal is seen */
#define EVENTS_A_TURN 256

struct http_server {
    struct http_context *context;
    struct MHD_Daemon *daemon;
    struct deadlines deadlines;
    struct events events;
    int64_t look_ms;  /* when the deadlines are next to be looked at */
    int poll_fd;      /* the library's descriptor, and each connection, edge-triggered, for its first bytes */
    int listen_fd;    /* the library's, once it runs */
    uint16_t port;
};

/* ---- answers ---- */

/* In one place for all that goes out. */
static const struct {
    const char *name, *value;
} fixed_headers[] = {
    {"X-Content-Type-Options", "nosniff"},
    {"Referrer-Policy", "same-origin"},
    {"Cross-Origin-Opener-Policy", "same-origin"},
    {"Cross-Origin-Resource-Policy", "same-origin"},
};

#define CONTENT_POLICY(form_action)                                                                                        \
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; font-src 'self'; " \
    "manifest-src 'self'; base-uri 'none'; form-action " form_action "; frame-ancestors 'none'"

static bool add_header(struct MHD_Response *response, const char *name, const char *value)
{
    return value[0] == '\0' || MHD_add_response_header(response, name, value) == MHD_YES;
}

static bool add_headers(struct MHD_Response *made, const struct http_response *response)
{
    for (size_t i = 0; i < sizeof fixed_headers / sizeof *fixed_headers; i++)
        if (!add_header(made, fixed_headers[i].name, fixed_headers[i].value))
            return false;
    char renewed[16] = "";
    if (response->renewed_s > 0)
        snprintf(renewed, sizeof renewed, "%u", response->renewed_s);
    const char *policy = response->form ? CONTENT_POLICY("'self'") : CONTENT_POLICY("'none'");
    bool kept = response->status < 400 && !response->stream && !response->form;
    return add_header(made, "Content-Security-Policy", policy) &&
           add_header(made, "Content-Type", response->status == 304 ? "" : response->content_type) &&
           add_header(made, "Cache-Control", kept ? "no-cache" : "no-store") &&
           add_header(made, "ETag", response->etag) && add_header(made, "Location", response->location) &&
           add_header(made, "Allow", response->allow) && add_header(made, "Refresh", renewed) &&
           add_header(made, "WWW-Authenticate", response->challenge != NULL ? response->challenge : "") &&
           add_header(made, "Content-Encoding", response->gzip && response->status != 304 ? "gzip" : "") &&
           add_header(made, "Vary", response->fixed != NULL ? "Accept-Encoding" : "");
}

/* The body's bytes go over to the library. A 304 tells the length that a 200 would have, where that is known, and has no body. */
static struct MHD_Response *make_buffered(struct http_response *response)
{
    if (response->fixed != NULL || response->status == 304)
        return MHD_create_response_from_buffer(response->fixed_length, (void *)(uintptr_t)response->fixed, MHD_RESPMEM_PERSISTENT);
    struct MHD_Response *made = MHD_create_response_from_buffer_with_free_callback(
        response->body.length, response->body.bytes, free);
    if (made != NULL)
        response->body.bytes = NULL;
    return made;
}

static struct deadline *deadline_of(struct MHD_Connection *connection)
{
    const union MHD_ConnectionInfo *info = MHD_get_connection_info(connection, MHD_CONNECTION_INFO_SOCKET_CONTEXT);
    return info != NULL ? info->socket_context : NULL;
}

static struct MHD_Response *make_stream(struct http_server *server, struct MHD_Connection *connection, struct call *call)
{
    struct MHD_Response *made = events_stream(&server->events, connection, clock_real_ms());
    struct deadline *deadline = deadline_of(connection);
    if (made == NULL)
        http_problem_status(&call->request, &call->response, 503, "too many pages listen already: close one");
    else if (deadline != NULL)
        deadline_stream(deadline);
    return made;
}

static enum MHD_Result send_answer(struct http_server *server, struct MHD_Connection *connection, struct call *call)
{
    struct http_response *response = &call->response;
    struct MHD_Response *made = response->stream ? make_stream(server, connection, call) : NULL;
    if (made == NULL)
        made = make_buffered(response);
    if (made == NULL)
        return MHD_NO;
    enum MHD_Result result = MHD_NO;
    if (add_headers(made, response))
        result = MHD_queue_response(connection, (unsigned)response->status, made);
    MHD_destroy_response(made);
    return result;
}

/* ---- requests ---- */

struct head_walk {
    struct gate_head *head;
    struct layout layout;
};

static enum MHD_Result note_header(void *context, enum MHD_ValueKind kind, const char *name, const char *value)
{
    struct head_walk *walk = context;
    (void)kind;
    gate_note(walk->head, name, value);
    layout_note(&walk->layout, name, value);
    return MHD_YES;
}

static void walk_head(struct MHD_Connection *connection, const char *version, struct gate_head *head)
{
    struct head_walk walk = {.head = head, .layout = layout_begin(version)};
    MHD_get_connection_values(connection, MHD_HEADER_KIND, note_header, &walk);
    if (layout_is_told(MHD_get_version()) && !layout_is_whole(&walk.layout))
        head->malformed = true;
}

/* A refusal is told at once where no usable end of the body is in sight, else after it was read and dropped. */
static bool is_drained(const struct call *call)
{
    const char *length = call->head.value[GATE_CONTENT_LENGTH];
    return call->head.value[GATE_TRANSFER_ENCODING] == NULL && !call->head.twice[GATE_CONTENT_LENGTH] &&
           (length == NULL || strtoull(length, NULL, 10) <= DRAIN_MAX);
}

static enum MHD_Result begin(struct http_server *server, struct MHD_Connection *connection, struct call *call, const char *method,
                             const char *version)
{
    struct deadline *deadline = deadline_of(connection);
    if (deadline != NULL)
        deadline_first_byte(deadline, clock_real_ms());
    walk_head(connection, version, &call->head);
    call_begin(server->context, server->port, call, method);
    return call->answered && !is_drained(call) ? send_answer(server, connection, call) : MHD_YES;
}

/* Called once for the head, once for each part of the body, and once at the end. */
static enum MHD_Result handle(void *context, struct MHD_Connection *connection, const char *url, const char *method,
                              const char *version, const char *upload, size_t *upload_size, void **call_slot)
{
    struct http_server *server = context;
    struct call *call = *call_slot;
    (void)url;
    if (call == NULL)
        return MHD_NO;
    if (!call->begun)
        return begin(server, connection, call, method, version);
    if (*upload_size > 0) {
        struct deadline *deadline = deadline_of(connection);
        if (deadline != NULL && !call->answered) /* what is refused and only read to its end puts nothing off */
            deadline_body(deadline, (int64_t)*upload_size);
        call_take_body(call, upload, *upload_size);
        *upload_size = 0;
        return MHD_YES;
    }
    call_finish(server->context, call);
    return send_answer(server, connection, call);
}

/* At the request line: what is returned here is the call from then on. */
static void *note_target(void *context, const char *target, struct MHD_Connection *connection)
{
    (void)context;
    (void)connection;
    return call_new(target);
}

static void completed(void *context, struct MHD_Connection *connection, void **call_slot, enum MHD_RequestTerminationCode why)
{
    struct deadline *deadline = deadline_of(connection);
    (void)context;
    (void)why;
    if (deadline != NULL)
        deadline_answered(deadline, clock_real_ms());
    call_free(*call_slot);
    *call_slot = NULL;
}

/* ---- connections ---- */

static void connection_begins(struct http_server *server, struct MHD_Connection *connection, void **slot)
{
    int fd = MHD_get_connection_info(connection, MHD_CONNECTION_INFO_CONNECTION_FD)->connect_fd;
    int64_t now_ms = clock_real_ms();
    struct deadline *deadline = deadline_watch(&server->deadlines, fd, now_ms);
    *slot = deadline;
    if (deadline == NULL) { /* unwatched it could stay for ever */
        (void)shutdown(fd, SHUT_RDWR);
        return;
    }
    struct epoll_event event = {.events = EPOLLIN | EPOLLET, .data.ptr = deadline};
    (void)epoll_ctl(server->poll_fd, EPOLL_CTL_ADD, fd, &event);
    if (server->look_ms > deadline->due_ms)
        server->look_ms = deadline->due_ms;
}

static void connection_changes(void *context, struct MHD_Connection *connection, void **slot, enum MHD_ConnectionNotificationCode what)
{
    struct http_server *server = context;
    struct deadline *deadline = *slot;
    if (what == MHD_CONNECTION_NOTIFY_STARTED) {
        connection_begins(server, connection, slot);
    } else if (deadline != NULL) {
        (void)epoll_ctl(server->poll_fd, EPOLL_CTL_DEL, deadline->fd, NULL);
        deadline_drop(&server->deadlines, deadline);
        *slot = NULL;
    }
}

/* ---- opening and closing ---- */

enum coat_result http_address_parse(const char *text, struct http_address *ret, struct coat_error *error)
{
    const char *colon = strrchr(text, ':');
    size_t host = colon != NULL ? (size_t)(colon - text) : 0;
    if (colon == NULL || colon[1] == '\0' || strlen(colon + 1) > 5 || strspn(colon + 1, "0123456789") != strlen(colon + 1) ||
        strtoul(colon + 1, NULL, 10) > 65535)
        return coat_fail(error, COAT_BAD_FORM, "listen", "\"%.60s\" is no address: write 127.0.0.1:8262", text);
    bool four = (host == 9 && strncmp(text, "127.0.0.1", host) == 0) || (host == 9 && strncmp(text, "localhost", host) == 0);
    bool six = host == 5 && strncmp(text, "[::1]", host) == 0;
    if (!four && !six)
        return coat_fail(error, COAT_NOT_ALLOWED, "listen", "%.60s is not this machine alone: other addresses need a token "
                         "and TLS, which this version does not have; use 127.0.0.1%s", text, colon);
    *ret = (struct http_address){.six = six, .port = (uint16_t)strtoul(colon + 1, NULL, 10)};
    return COAT_OK;
}

union socket_address {
    struct sockaddr any;
    struct sockaddr_in four;
    struct sockaddr_in6 six;
};

static socklen_t fill_address(struct http_address address, union socket_address *ret)
{
    *ret = (union socket_address){0};
    if (address.six) {
        ret->six = (struct sockaddr_in6){.sin6_family = AF_INET6, .sin6_port = htons(address.port), .sin6_addr = in6addr_loopback};
        return sizeof ret->six;
    }
    ret->four = (struct sockaddr_in){.sin_family = AF_INET, .sin_port = htons(address.port), .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
    return sizeof ret->four;
}

static enum coat_result refuse_address(struct http_address address, struct coat_error *error)
{
    const char *host = address.six ? "[::1]" : "127.0.0.1";
    int why = errno;
    if (why == EADDRINUSE)
        return coat_fail(error, COAT_CONFLICT, "listen", "port %u of %s is in use, perhaps by another coatd: stop that, or "
                         "choose another with --listen %s:PORT", (unsigned)address.port, host, host);
    if (why == EACCES)
        return coat_fail(error, COAT_NOT_ALLOWED, "listen", "port %u may not be opened by this user: choose one from 1024 "
                         "up with --listen %s:PORT", (unsigned)address.port, host);
    return coat_fail(error, COAT_NOT_ALLOWED, "listen", "cannot listen on %s:%u: %s", host, (unsigned)address.port, strerror(why));
}

enum coat_result http_listen(struct http_address *io_address, int *ret_fd, struct coat_error *error)
{
    union socket_address address;
    socklen_t length = fill_address(*io_address, &address);
    int one = 1;
    int fd = socket(address.any.sa_family, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
    if (fd < 0 || setsockopt(fd, SOL_SOCKET, SO_REUSEADDR, &one, sizeof one) != 0 || bind(fd, &address.any, length) != 0 ||
        listen(fd, BACKLOG) != 0 || getsockname(fd, &address.any, &length) != 0) {
        enum coat_result result = refuse_address(*io_address, error);
        if (fd >= 0)
            close(fd);
        return result;
    }
    io_address->port = ntohs(io_address->six ? address.six.sin6_port : address.four.sin_port);
    *ret_fd = fd;
    return COAT_OK;
}

static struct MHD_Daemon *start_library(struct http_server *server)
{
    return MHD_start_daemon(MHD_USE_EPOLL | MHD_ALLOW_SUSPEND_RESUME, 0, NULL, NULL, handle, server,
                            MHD_OPTION_LISTEN_SOCKET, server->listen_fd,
                            MHD_OPTION_CONNECTION_LIMIT, CONNECTIONS_MAX,
                            MHD_OPTION_CONNECTION_MEMORY_LIMIT, (size_t)CONNECTION_MEMORY,
                            MHD_OPTION_STRICT_FOR_CLIENT, 1,
                            MHD_OPTION_URI_LOG_CALLBACK, note_target, server,
                            MHD_OPTION_NOTIFY_COMPLETED, completed, server,
                            MHD_OPTION_NOTIFY_CONNECTION, connection_changes, server,
                            MHD_OPTION_END);
}

static bool start(struct http_server *server)
{
    server->poll_fd = epoll_create1(EPOLL_CLOEXEC);
    if (server->poll_fd < 0)
        return false;
    server->daemon = start_library(server);
    if (server->daemon == NULL)
        return false;
    const union MHD_DaemonInfo *info = MHD_get_daemon_info(server->daemon, MHD_DAEMON_INFO_EPOLL_FD);
    struct epoll_event event = {.events = EPOLLIN, .data.ptr = NULL};
    return info != NULL && epoll_ctl(server->poll_fd, EPOLL_CTL_ADD, info->epoll_fd, &event) == 0;
}

enum coat_result http_server_open(struct http_context *context, struct http_address address, int listen_fd, struct http_server **ret, struct coat_error *error)
{
    struct http_server *server = calloc(1, sizeof *server);
    if (server == NULL) {
        close(listen_fd);
        return coat_fail(error, COAT_NO_MEMORY, "", "out of memory");
    }
    *server = (struct http_server){
        .context = context, .look_ms = INT64_MAX, .poll_fd = -1, .listen_fd = listen_fd, .port = address.port};
    events_init(&server->events, context->shop);
    if (!start(server)) {
        enum coat_result result = coat_fail(error, COAT_NO_MEMORY, "", "the HTTP library did not start: %s", strerror(errno));
        http_server_close(server);
        return result;
    }
    context->server = server;
    snprintf(context->origin, sizeof context->origin, "http://%s:%u", address.six ? "[::1]" : "127.0.0.1", (unsigned)server->port);
    *ret = server;
    return COAT_OK;
}

void http_server_close(struct http_server *server)
{
    if (server == NULL)
        return;
    if (server->daemon != NULL) {
        events_close(&server->events); /* the library aborts on a suspended connection */
        (void)MHD_run(server->daemon);
        MHD_stop_daemon(server->daemon); /* closes the listening socket too */
    } else if (server->listen_fd >= 0) {
        close(server->listen_fd);
    }
    if (server->poll_fd >= 0)
        close(server->poll_fd);
    free(server);
}

/* ---- the loop's side ---- */

int http_server_descriptor(const struct http_server *server)
{
    return server->poll_fd;
}

void http_server_tell(struct http_server *server)
{
    server->events.changed = true;
}

static void note_first_bytes(struct http_server *server, int64_t now_ms)
{
    struct epoll_event ready[EVENTS_A_TURN];
    int count = epoll_wait(server->poll_fd, ready, EVENTS_A_TURN, 0);
    for (int i = 0; i < count; i++)
        if (ready[i].data.ptr != NULL)
            deadline_first_byte(ready[i].data.ptr, now_ms);
}

/* All deadlines that are set from now on lie at least DEADLINE_REQUEST_MS away, so it is enough to look again then. */
static void look_at_deadlines(struct http_server *server, int64_t now_ms)
{
    if (now_ms < server->look_ms)
        return;
    int64_t next_ms = deadline_enforce(&server->deadlines, now_ms);
    int64_t again_ms = server->deadlines.count > 0 ? now_ms + DEADLINE_REQUEST_MS : INT64_MAX;
    server->look_ms = next_ms < again_ms ? next_ms : again_ms;
}

void http_server_turn(struct http_server *server)
{
    int64_t now_ms = clock_real_ms();
    note_first_bytes(server, now_ms);
    look_at_deadlines(server, now_ms);
    (void)events_turn(&server->events, now_ms);
    (void)MHD_run(server->daemon);
}

int64_t http_server_next_ms(const struct http_server *server)
{
    MHD_UNSIGNED_LONG_LONG wait_ms = 0;
    int64_t next_ms = server->look_ms < server->events.heartbeat_ms ? server->look_ms : server->events.heartbeat_ms;
    if (server->events.changed && server->events.first != NULL)
        return 0;
    if (MHD_get_timeout(server->daemon, &wait_ms) != MHD_YES)
        return next_ms;
    int64_t library_ms = clock_real_ms() + (int64_t)(wait_ms < 60000 ? wait_ms : 60000);
    return library_ms < next_ms ? library_ms : next_ms;
}
