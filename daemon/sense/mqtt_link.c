#include "daemon/sense/mqtt_link.h"

#include "coat/clock.h"
#include "daemon/sense/child.h"

#include <cjson/cJSON.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/epoll.h>
#include <sys/socket.h>
#include <unistd.h>

#define RESTART_FIRST_MS INT64_C(1000)
#define RESTART_MAX_MS INT64_C(60000)
#define STEADY_MS INT64_C(60000)      /* a courier that lived that long: its end is the first again */
#define SILENT_START_MS INT64_C(45000) /* the courier tries several addresses, 10 s each, before it says that it is down */
#define SILENT_AGAIN_MS INT64_C(10000) /* a courier that ended and is back by then is nobody's business */
#define LINES_A_TURN 256              /* others want their turn, too */
#define READS_A_TURN 4

/* ---- the courier's process ---- */

static void forget_out(struct mqtt_link *link)
{
    if (link->out != NULL)
        explicit_bzero(link->out, link->out_length); /* the first line has the password */
    cJSON_free(link->out);
    link->out = NULL;
}

/* Room was made at the start. Where there is no descriptor to wait on, mqtt_links_next_ms asks from time to time. */
static void remember_gone(struct mqtt_links *links, const struct mqtt_link *link)
{
    struct epoll_event event = {.events = EPOLLIN};
    if (link->pid_fd >= 0)
        (void)epoll_ctl(links->poll_fd, EPOLL_CTL_ADD, link->pid_fd, &event);
    links->gone[links->gone_count++] = (struct mqtt_gone){.pid = link->pid, .pid_fd = link->pid_fd};
}

void mqtt_link_stop(struct mqtt_links *links, struct mqtt_link *link)
{
    forget_out(link);
    if (link->pid == 0)
        return;
    close(link->fd);
    child_kill(link->pid); /* it keeps nothing that would be lost */
    remember_gone(links, link);
    link->pid = 0;
    link->fd = link->pid_fd = -1;
    link->known_count = link->in_length = 0;
    link->up = link->more = link->writes = false;
}

static int64_t restart_wait_ms(struct mqtt_link *link, int64_t now_ms)
{
    if (now_ms - link->started_at_ms >= STEADY_MS)
        link->failures = 0;
    int64_t wait_ms = RESTART_FIRST_MS << link->failures;
    if (wait_ms >= RESTART_MAX_MS)
        return RESTART_MAX_MS;
    link->failures++;
    return wait_ms;
}

/* The courier died or says nonsense. */
static void begin_again(struct mqtt_links *links, struct mqtt_link *link, int64_t now_ms)
{
    mqtt_link_stop(links, link);
    link->start_at_ms = now_ms + restart_wait_ms(link, now_ms);
    if (link->down[0] == '\0' && now_ms + SILENT_AGAIN_MS < link->silent_at_ms)
        link->silent_at_ms = now_ms + SILENT_AGAIN_MS;
}

static void set_down(struct mqtt_link *link, const char *why)
{
    link->up = false;
    link->silent_at_ms = INT64_MAX;
    snprintf(link->down, sizeof link->down, "no connection to the broker at %.100s:%d: %.140s; tried again by itself", link->broker.host, link->broker.port, why);
}

static bool make_room_for_gone(struct mqtt_links *links)
{
    if (links->gone_count + links->count < links->gone_room) /* every link may stop at once */
        return true;
    size_t room = 2 * (links->gone_count + links->count + 1);
    struct mqtt_gone *longer = reallocarray(links->gone, room, sizeof *longer);
    if (longer == NULL)
        return false;
    links->gone = longer;
    links->gone_room = room;
    return true;
}

static cJSON *open_line(const struct mqtt_broker *broker)
{
    cJSON *line = cJSON_CreateObject();
    cJSON_AddStringToObject(line, "open", "mqtt");
    cJSON_AddStringToObject(line, "host", broker->host);
    cJSON_AddNumberToObject(line, "port", broker->port);
    cJSON_AddBoolToObject(line, "tls", broker->tls);
    cJSON_AddStringToObject(line, "ca_file", broker->ca_file);
    cJSON_AddStringToObject(line, "user", broker->user);
    cJSON_AddStringToObject(line, "password", broker->secret);
    return line;
}

/* Takes the object. What is lost for want of memory ends the courier, and is said again to the next one. */
static bool put_line(struct mqtt_link *link, cJSON *object)
{
    char *text = cJSON_PrintUnformatted(object);
    cJSON_Delete(object);
    if (text == NULL)
        return false;
    link->out = text;
    link->out_length = strlen(text);
    link->out_sent = 0;
    text[link->out_length++] = '\n'; /* in the place of the NUL */
    return true;
}

static enum coat_result spawn(struct mqtt_links *links, struct mqtt_link *link, int socket_fd, struct coat_error *error)
{
    char *const argv[] = {links->courier, NULL};
    const struct child_program program = {.argv = argv, .out_fd = -1, .err_fd = STDERR_FILENO, .socket_fd = socket_fd};
    return child_spawn(&program, &link->pid, &link->pid_fd, error);
}

static enum coat_result connect_courier(struct mqtt_links *links, struct mqtt_link *link, struct coat_error *error)
{
    int pair[2];
    if (!make_room_for_gone(links))
        return coat_fail(error, COAT_NO_MEMORY, "", "out of memory");
    if (socketpair(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0, pair) != 0)
        return coat_fail(error, COAT_NO_MEMORY, "", "no socket for its courier: %s", strerror(errno));
    enum coat_result result = spawn(links, link, pair[1], error);
    close(pair[1]);
    if (result != COAT_OK) {
        close(pair[0]);
        return result;
    }
    struct epoll_event event = {.events = EPOLLIN};
    link->fd = pair[0];
    (void)epoll_ctl(links->poll_fd, EPOLL_CTL_ADD, link->fd, &event);
    return COAT_OK;
}

static void start(struct mqtt_links *links, struct mqtt_link *link, int64_t now_ms)
{
    struct coat_error error = {0};
    link->started_at_ms = now_ms;
    if (link->down[0] == '\0' && link->silent_at_ms == INT64_MAX)
        link->silent_at_ms = now_ms + SILENT_START_MS;
    if (connect_courier(links, link, &error) != COAT_OK) {
        link->pid = 0;
        link->start_at_ms = now_ms + restart_wait_ms(link, now_ms);
        set_down(link, error.text);
    } else if (!put_line(link, open_line(&link->broker))) {
        begin_again(links, link, now_ms);
    }
}

/* ---- to the courier: one line at a time, made of what it does not know yet ---- */

static bool is_wanted(const struct mqtt_link *link, const char *topic)
{
    for (size_t i = 0; i < link->count; i++)
        if (strcmp(link->listeners[i].topic, topic) == 0)
            return true;
    return false;
}

static bool is_known(const struct mqtt_link *link, const char *topic)
{
    for (size_t i = 0; i < link->known_count; i++)
        if (strcmp(link->known[i].name, topic) == 0)
            return true;
    return false;
}

static bool put_topic(struct mqtt_link *link, const char *what, const char *topic)
{
    cJSON *line = cJSON_CreateObject();
    cJSON_AddStringToObject(line, what, topic);
    return put_line(link, line);
}

static bool drop_topic(struct mqtt_link *link, size_t i)
{
    bool put = put_topic(link, "drop", link->known[i].name);
    link->known[i] = link->known[--link->known_count];
    return put;
}

static bool add_topic(struct mqtt_link *link, const char *topic)
{
    struct mqtt_topic *longer = reallocarray(link->known, link->known_count + 1, sizeof *longer);
    if (longer == NULL)
        return false;
    link->known = longer;
    snprintf(longer[link->known_count++].name, sizeof longer->name, "%s", topic);
    return put_topic(link, "add", topic);
}

/* The next line, if there is anything to say. False: no memory. */
static bool put_next(struct mqtt_link *link)
{
    for (size_t i = 0; i < link->known_count; i++)
        if (!is_wanted(link, link->known[i].name))
            return drop_topic(link, i);
    for (size_t i = 0; i < link->count; i++)
        if (!is_known(link, link->listeners[i].topic))
            return add_topic(link, link->listeners[i].topic);
    return true;
}

/* Sends what goes. False: the courier is gone. */
static bool send_out(struct mqtt_link *link)
{
    ssize_t sent = send(link->fd, link->out + link->out_sent, link->out_length - link->out_sent, MSG_NOSIGNAL | MSG_DONTWAIT);
    if (sent < 0)
        return errno == EAGAIN || errno == EINTR;
    link->out_sent += (size_t)sent;
    if (link->out_sent == link->out_length)
        forget_out(link);
    return true;
}

static bool say(struct mqtt_link *link)
{
    bool well = true;
    for (bool going = true; well && going;) {
        if (link->out == NULL)
            well = put_next(link);
        if (link->out == NULL)
            break;
        well = well && send_out(link);
        going = link->out == NULL; /* the socket took it whole */
    }
    return well;
}

static void watch_room(struct mqtt_links *links, struct mqtt_link *link)
{
    bool wanted = link->out != NULL;
    struct epoll_event event = {.events = wanted ? EPOLLIN | EPOLLOUT : EPOLLIN};
    if (wanted != link->writes && epoll_ctl(links->poll_fd, EPOLL_CTL_MOD, link->fd, &event) == 0)
        link->writes = wanted;
}

/* ---- from the courier ---- */

static void tell_payload(const struct mqtt_links *links, const struct mqtt_link *link, int64_t id, const char *payload, bool retained)
{
    const struct mqtt_calls *calls = &links->calls;
    if (link->test)
        calls->test_payload(calls->context, id, payload, strlen(payload));
    else
        calls->payload(calls->context, id, payload, strlen(payload), retained);
}

static void hear_payload(struct mqtt_links *links, struct mqtt_link *link, const char *topic, const char *payload, bool retained)
{
    for (size_t i = 0; i < link->count && !link->over; i++) {
        struct mqtt_listener *listener = &link->listeners[i];
        if (strcmp(listener->topic, topic) != 0)
            continue;
        if (payload == NULL) {
            snprintf(listener->fault, sizeof listener->fault, "what its topic publishes is no text, or longer than 64 kB: it should be a number or JSON");
        } else {
            listener->fault[0] = '\0';
            tell_payload(links, link, listener->id, payload, retained);
        }
    }
}

static void hear_refused(struct mqtt_link *link, const char *topic)
{
    for (size_t i = 0; i < link->count; i++) {
        struct mqtt_listener *listener = &link->listeners[i];
        if (strcmp(listener->topic, topic) == 0)
            snprintf(listener->fault, sizeof listener->fault, "the broker at %.100s:%d does not let this user read its topic",
                     link->broker.host, link->broker.port);
    }
}

static bool hear_state(struct mqtt_link *link, const char *state, const char *why)
{
    if (strcmp(state, "connected") == 0) {
        link->up = true;
        link->down[0] = '\0';
        link->silent_at_ms = INT64_MAX;
        return true;
    }
    set_down(link, why != NULL ? why : "not told why");
    return strcmp(state, "down") == 0;
}

static const char *text_of(const cJSON *line, const char *name)
{
    return cJSON_GetStringValue(cJSON_GetObjectItemCaseSensitive(line, name));
}

/* False where it says what no courier says. */
static bool hear_line(struct mqtt_links *links, struct mqtt_link *link, const char *text, size_t length)
{
    cJSON *line = cJSON_ParseWithLength(text, length);
    const char *topic = text_of(line, "topic");
    const char *state = text_of(line, "state");
    const char *refused = text_of(line, "refused");
    bool understood = true;
    if (topic != NULL)
        hear_payload(links, link, topic, text_of(line, "payload"), cJSON_IsTrue(cJSON_GetObjectItemCaseSensitive(line, "retained")));
    else if (state != NULL)
        understood = hear_state(link, state, text_of(line, "why"));
    else if (refused != NULL)
        hear_refused(link, refused);
    else
        understood = false;
    cJSON_Delete(line);
    return understood;
}

static const char *line_end(const struct mqtt_link *link, size_t begin)
{
    return memchr(link->in + begin, '\n', link->in_length - begin);
}

/* The lines in the buffer, as many as go in a turn. */
static bool hear_lines(struct mqtt_links *links, struct mqtt_link *link, int *left)
{
    size_t begin = 0;
    bool understood = true;
    const char *stop = line_end(link, 0);
    for (; stop != NULL && *left > 0 && understood; (*left)--) {
        size_t length = (size_t)(stop - (link->in + begin));
        understood = hear_line(links, link, link->in + begin, length);
        if (link->over)
            return true; /* by one of our calls, which emptied the buffer */
        begin += length + 1;
        stop = line_end(link, begin);
    }
    link->in_length -= begin;
    memmove(link->in, link->in + begin, link->in_length);
    link->more = stop != NULL;
    return understood && (link->more || link->in_length < COURIER_LINE_MAX);
}

/* False: the courier is gone or says nonsense. */
static bool hear(struct mqtt_links *links, struct mqtt_link *link)
{
    int left = LINES_A_TURN;
    bool going = true;
    for (int reads = 0; going && reads < READS_A_TURN; reads++) {
        if (!hear_lines(links, link, &left))
            return false;
        if (link->more || link->over)
            return true;
        ssize_t got = recv(link->fd, link->in + link->in_length, COURIER_LINE_MAX - link->in_length, MSG_DONTWAIT);
        if (got == 0 || (got < 0 && errno != EAGAIN && errno != EINTR))
            return false;
        going = got > 0;
        link->in_length += going ? (size_t)got : 0;
    }
    return hear_lines(links, link, &left);
}

/* ---- telling ---- */

static void tell_faults(struct mqtt_links *links, struct mqtt_link *link)
{
    const struct mqtt_calls *calls = &links->calls;
    for (size_t i = 0; i < link->count && !link->over; i++) {
        struct mqtt_listener *listener = &link->listeners[i];
        const char *fault = link->down[0] != '\0' ? link->down : listener->fault;
        if (strcmp(fault, listener->told) == 0 || (fault[0] == '\0' && !link->up))
            continue;
        snprintf(listener->told, sizeof listener->told, "%s", fault);
        if (!link->test)
            calls->fault(calls->context, listener->id, listener->told);
        else if (fault[0] != '\0')
            calls->test_fault(calls->context, listener->id, listener->told);
    }
}

/* ---- the link ---- */

struct mqtt_link *mqtt_link_make(const struct mqtt_broker *broker)
{
    struct mqtt_link *link = calloc(1, sizeof *link);
    if (link == NULL)
        return NULL;
    link->broker = *broker;
    link->fd = link->pid_fd = -1;
    link->start_at_ms = 0;
    link->silent_at_ms = INT64_MAX;
    if (broker->host[0] == '\0') {
        snprintf(link->down, sizeof link->down, "its source is no address of a broker: write mqtt://HOST/TOPIC");
        link->start_at_ms = INT64_MAX;
    }
    return link;
}

void mqtt_link_free(struct mqtt_link *link)
{
    if (link == NULL)
        return;
    forget_out(link);
    free(link->listeners);
    free(link->known);
    explicit_bzero(&link->broker, sizeof link->broker);
    free(link);
}

void mqtt_link_turn(struct mqtt_links *links, struct mqtt_link *link, int64_t now_ms)
{
    link->more = false;
    if (link->pid == 0 && now_ms >= link->start_at_ms)
        start(links, link, now_ms);
    if (link->pid != 0) {
        bool well = hear(links, link) && (link->over || say(link));
        if (!link->over && !well)
            begin_again(links, link, now_ms);
        else if (!link->over)
            watch_room(links, link);
    }
    if (now_ms >= link->silent_at_ms)
        set_down(link, "no answer");
    tell_faults(links, link);
}

int64_t mqtt_link_next_ms(const struct mqtt_link *link, int64_t now_ms)
{
    if (link->more || link->over)
        return now_ms;
    int64_t next_ms = link->pid == 0 ? link->start_at_ms : INT64_MAX;
    return next_ms < link->silent_at_ms ? next_ms : link->silent_at_ms;
}
