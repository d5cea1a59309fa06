#include "daemon/http/deadline.h"

#include <stddef.h>
#include <stdlib.h>
#include <sys/socket.h>

struct deadline *deadline_watch(struct deadlines *all, int fd, int64_t now_ms)
{
    struct deadline *deadline = calloc(1, sizeof *deadline);
    if (deadline == NULL)
        return NULL;
    *deadline = (struct deadline){.fd = fd, .next = all->first, .due_ms = now_ms + DEADLINE_REQUEST_MS};
    if (all->first != NULL)
        all->first->previous = deadline;
    all->first = deadline;
    all->count++;
    return deadline;
}

void deadline_drop(struct deadlines *all, struct deadline *deadline)
{
    if (deadline->next != NULL)
        deadline->next->previous = deadline->previous;
    if (deadline->previous != NULL)
        deadline->previous->next = deadline->next;
    else
        all->first = deadline->next;
    all->count--;
    free(deadline);
}

static void enter(struct deadline *deadline, enum deadline_phase phase, int64_t due_ms)
{
    if (deadline->phase == DEADLINE_CUT)
        return;
    deadline->phase = phase;
    deadline->due_ms = due_ms;
    deadline->body = 0;
}

void deadline_first_byte(struct deadline *deadline, int64_t now_ms)
{
    if (deadline->phase == DEADLINE_IDLE)
        enter(deadline, DEADLINE_REQUEST, now_ms + DEADLINE_REQUEST_MS);
}

static int64_t body_ms(int64_t bytes)
{
    return bytes * 1000 / DEADLINE_BODY_RATE;
}

void deadline_body(struct deadline *deadline, int64_t bytes)
{
    if (deadline->phase != DEADLINE_REQUEST)
        return;
    deadline->due_ms += body_ms(deadline->body + bytes) - body_ms(deadline->body);
    deadline->body += bytes;
}

void deadline_answered(struct deadline *deadline, int64_t now_ms)
{
    enter(deadline, DEADLINE_IDLE, now_ms + DEADLINE_IDLE_MS);
}

void deadline_stream(struct deadline *deadline)
{
    enter(deadline, DEADLINE_STREAM, INT64_MAX);
}

int64_t deadline_enforce(struct deadlines *all, int64_t now_ms)
{
    int64_t next_ms = INT64_MAX;
    for (struct deadline *deadline = all->first; deadline != NULL; deadline = deadline->next) {
        if (deadline->due_ms <= now_ms) {
            (void)shutdown(deadline->fd, SHUT_RDWR);
            enter(deadline, DEADLINE_CUT, INT64_MAX);
        }
        if (deadline->due_ms < next_ms)
            next_ms = deadline->due_ms;
    }
    return next_ms;
}
