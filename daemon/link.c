#include "coat/link.h"

#include "coat/child.h"
#include "coat/clock.h"

#include <cjson/cJSON.h>
#include <errno.h>
#include <poll.h>
#include <stdlib.h>
#include <string.h>
#include <sys/epoll.h>
#include <sys/socket.h>
#include <unistd.h>

#define RESTART_FIRST_MS INT64_C(1000)
#define RESTART_MAX_MS INT64_C(60000)
#define STEADY_MS INT64_C(60000)      /* a courier that lived that long: its end is the first again */
#define LINES_A_TURN 256              /* others want their turn, too */
#define READS_A_TURN 4
#define REAP_MS INT64_C(100)          /* between two looks, where the kernel does not wake us */
#define FAREWELL_MS 500               /* for killed couriers at the end */

/* ---- couriers that were killed ---- */

void couriers_reap(struct couriers *couriers)
{
    int status = 0;
    for (size_t i = couriers->gone_count; i-- > 0;) {
        struct courier_gone gone = couriers->gone[i];
        if (!child_reap(gone.pid, &status))
            continue;
        if (gone.pid_fd >= 0)
            close(gone.pid_fd);
        couriers->gone[i] = couriers->gone[--couriers->gone_count];
    }
}

int64_t couriers_next_ms(const struct couriers *couriers, int64_t now_ms)
{
    for (size_t i = 0; i < couriers->gone_count; i++)
        if (couriers->gone[i].pid_fd < 0)
            return now_ms + REAP_MS;
    return INT64_MAX;
}

static void reap_at_the_end(struct couriers *couriers)
{
    int64_t end_ms = clock_real_ms() + FAREWELL_MS;
    for (couriers_reap(couriers); couriers->gone_count > 0 && clock_real_ms() < end_ms; couriers_reap(couriers)) {
        struct pollfd ended = {.fd = couriers->gone[0].pid_fd, .events = POLLIN};
        (void)poll(&ended, 1, 10);
    }
    for (size_t i = 0; i < couriers->gone_count; i++)
        if (couriers->gone[i].pid_fd >= 0)
            close(couriers->gone[i].pid_fd);
}

/* Every courier may have to go at once, and going must not fail. */
static bool make_room_for_gone(struct couriers *couriers)
{
    if (couriers->gone_count + couriers->running < couriers->gone_room)
        return true;
    size_t room = 2 * (couriers->gone_count + couriers->running + 1);
    struct courier_gone *longer = reallocarray(couriers->gone, room, sizeof *longer);
    if (longer == NULL)
        return false;
    couriers->gone = longer;
    couriers->gone_room = room;
    return true;
}

/* Where there is no descriptor to wait on, couriers_next_ms asks from time to time. */
static void remember_gone(struct couriers *couriers, const struct link *link)
{
    struct epoll_event event = {.events = EPOLLIN};
    if (link->pid_fd >= 0)
        (void)epoll_ctl(couriers->poll_fd, EPOLL_CTL_ADD, link->pid_fd, &event);
    couriers->gone[couriers->gone_count++] = (struct courier_gone){.pid = link->pid, .pid_fd = link->pid_fd};
}

/* ---- what the links share ---- */

enum coat_result couriers_open(struct couriers *couriers, const char *program, struct coat_error *error)
{
    *couriers = (struct couriers){.program = strdup(program), .poll_fd = epoll_create1(EPOLL_CLOEXEC)};
    if (couriers->program != NULL && couriers->poll_fd >= 0)
        return COAT_OK;
    enum coat_result result = coat_fail(error, COAT_NO_MEMORY, "", "cannot prepare to hear couriers: %s", strerror(errno));
    couriers_close(couriers);
    return result;
}

void couriers_close(struct couriers *couriers)
{
    reap_at_the_end(couriers);
    if (couriers->poll_fd > 0)
        close(couriers->poll_fd);
    free(couriers->gone);
    free(couriers->program);
    *couriers = (struct couriers){.poll_fd = -1};
}

void couriers_find_program(const char *self, char *ret, size_t size)
{
    const char *slash = strrchr(self, '/');
    int folder = slash != NULL ? (int)(slash - self) : 0;
    (void)snprintf(ret, size, "%.*s/coat-courier", folder, self);
    if (access(ret, X_OK) != 0)
        (void)snprintf(ret, size, "%.*s/../libexec/coatwright/coat-courier", folder, self);
}

/* ---- the process ---- */

void link_init(struct link *link)
{
    *link = (struct link){.pid_fd = -1, .fd = -1};
}

static void forget_out(struct link *link)
{
    if (link->out != NULL)
        explicit_bzero(link->out, link->out_length); /* the first line has the password */
    cJSON_free(link->out);
    link->out = NULL;
}

static int64_t restart_wait_ms(struct link *link, int64_t now_ms)
{
    if (now_ms - link->started_at_ms >= STEADY_MS)
        link->failures = 0;
    int64_t wait_ms = RESTART_FIRST_MS << link->failures;
    if (wait_ms >= RESTART_MAX_MS)
        return RESTART_MAX_MS;
    link->failures++;
    return wait_ms;
}

static enum coat_result connect_courier(struct couriers *couriers, struct link *link, struct coat_error *error)
{
    int pair[2];
    char *const argv[] = {couriers->program, NULL};
    if (!make_room_for_gone(couriers))
        return coat_fail(error, COAT_NO_MEMORY, "", "out of memory");
    if (socketpair(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0, pair) != 0)
        return coat_fail(error, COAT_NO_MEMORY, "", "no socket for its courier: %s", strerror(errno));
    const struct child_program program = {.argv = argv, .out_fd = -1, .err_fd = STDERR_FILENO, .socket_fd = pair[1]};
    enum coat_result result = child_spawn(&program, &link->pid, &link->pid_fd, error);
    close(pair[1]);
    if (result != COAT_OK) {
        close(pair[0]);
        return result;
    }
    struct epoll_event event = {.events = EPOLLIN};
    link->fd = pair[0];
    (void)epoll_ctl(couriers->poll_fd, EPOLL_CTL_ADD, link->fd, &event);
    couriers->running++;
    return COAT_OK;
}

enum coat_result link_start(struct couriers *couriers, struct link *link, int64_t now_ms, struct coat_error *error)
{
    link->started_at_ms = now_ms;
    enum coat_result result = connect_courier(couriers, link, error);
    if (result != COAT_OK) {
        link->pid = 0;
        link->start_at_ms = now_ms + restart_wait_ms(link, now_ms);
    }
    return result;
}

void link_stop(struct couriers *couriers, struct link *link)
{
    forget_out(link);
    if (link->pid == 0)
        return;
    close(link->fd);
    child_kill(link->pid);
    remember_gone(couriers, link);
    couriers->running--;
    link->pid = 0;
    link->fd = link->pid_fd = -1;
    link->in_length = 0;
    link->more = link->writes = false;
}

void link_begin_again(struct couriers *couriers, struct link *link, int64_t now_ms)
{
    link_stop(couriers, link);
    link->start_at_ms = now_ms + restart_wait_ms(link, now_ms);
}

/* ---- lines to the courier ---- */

bool link_put(struct link *link, struct cJSON *object)
{
    char *text = object != NULL ? cJSON_PrintUnformatted(object) : NULL;
    cJSON_Delete(object);
    if (text == NULL)
        return false;
    link->out = text;
    link->out_length = strlen(text);
    link->out_sent = 0;
    text[link->out_length++] = '\n'; /* in the place of the NUL */
    if (link->out_length > COURIER_LINE_MAX)
        forget_out(link);
    return link->out != NULL;
}

static bool send_out(struct link *link)
{
    ssize_t sent = send(link->fd, link->out + link->out_sent, link->out_length - link->out_sent, MSG_NOSIGNAL | MSG_DONTWAIT);
    if (sent < 0)
        return errno == EAGAIN || errno == EINTR;
    link->out_sent += (size_t)sent;
    if (link->out_sent == link->out_length)
        forget_out(link);
    return true;
}

static void watch_room(struct couriers *couriers, struct link *link)
{
    bool wanted = link->out != NULL;
    struct epoll_event event = {.events = wanted ? EPOLLIN | EPOLLOUT : EPOLLIN};
    if (wanted != link->writes && epoll_ctl(couriers->poll_fd, EPOLL_CTL_MOD, link->fd, &event) == 0)
        link->writes = wanted;
}

bool link_say(struct couriers *couriers, struct link *link, bool (*next)(void *context), void *context)
{
    bool well = true;
    for (bool going = true; well && going;) {
        if (link->out == NULL && next != NULL)
            well = next(context);
        if (link->out == NULL)
            break;
        well = well && send_out(link);
        going = link->out == NULL; /* the socket took it whole */
    }
    if (well)
        watch_room(couriers, link);
    return well;
}

/* ---- lines from it ---- */

static const char *line_end(const struct link *link, size_t begin)
{
    return memchr(link->in + begin, '\n', link->in_length - begin);
}

/* The lines in the buffer, as many as go in a turn. */
static bool hear_lines(struct link *link, bool (*line)(void *, const char *, size_t), void *context, int *left)
{
    size_t begin = 0;
    bool understood = true;
    const char *stop = line_end(link, 0);
    for (; stop != NULL && *left > 0 && understood; (*left)--) {
        size_t length = (size_t)(stop - (link->in + begin));
        understood = line(context, link->in + begin, length);
        if (link->pid == 0)
            return true; /* stopped by that, which emptied the buffer */
        begin += length + 1;
        stop = line_end(link, begin);
    }
    link->in_length -= begin;
    memmove(link->in, link->in + begin, link->in_length);
    link->more = stop != NULL;
    return understood && (link->more || link->in_length < COURIER_LINE_MAX);
}

bool link_hear(struct link *link, bool (*line)(void *context, const char *text, size_t length), void *context)
{
    int left = LINES_A_TURN;
    bool going = true;
    for (int reads = 0; going && reads < READS_A_TURN; reads++) {
        if (!hear_lines(link, line, context, &left))
            return false;
        if (link->more || link->pid == 0)
            return true;
        ssize_t got = recv(link->fd, link->in + link->in_length, COURIER_LINE_MAX - link->in_length, MSG_DONTWAIT);
        if (got == 0 || (got < 0 && errno != EAGAIN && errno != EINTR))
            return false;
        going = got > 0;
        link->in_length += going ? (size_t)got : 0;
    }
    return hear_lines(link, line, context, &left);
}
