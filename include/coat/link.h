/* The service's end of a courier (coat/courier.h): the process with its socket, lines in and out, starts that wait longer each time, and what is left of those
 * that were killed. Nothing here waits. What the lines say is the business of whoever keeps the link. */
#ifndef COAT_LINK_H
#define COAT_LINK_H

#include "coat/courier.h"
#include "coat/result.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <sys/types.h>

struct cJSON;

/* Couriers that were killed and are not reaped yet. */
struct courier_gone {
    pid_t pid;
    int pid_fd;
};

/* What the links of one part of the service share. */
struct couriers {
    int poll_fd;      /* an epoll descriptor: readable when there is work for a turn */
    char *program;
    size_t running;
    struct courier_gone *gone;
    size_t gone_count, gone_room;
};

/* `program` is copied. */
COAT_CHECKED enum coat_result couriers_open(struct couriers *couriers, const char *program, struct coat_error *error);
/* All links were stopped. Waits a moment for what was killed; init takes what is slower. All zero is passed over. */
void couriers_close(struct couriers *couriers);
void couriers_reap(struct couriers *couriers);
/* Real moment by which couriers_reap wants to be called; INT64_MAX: the descriptor tells. */
int64_t couriers_next_ms(const struct couriers *couriers, int64_t now_ms);
/* The courier's program: beside `self` where it was built, else where it is installed. */
void couriers_find_program(const char *self, char *ret, size_t size);

struct link {
    pid_t pid;        /* 0: none runs */
    int pid_fd, fd;   /* -1: none */
    bool writes;      /* the couriers' descriptor watches for room to write */
    bool more;        /* has work that no descriptor tells of */
    unsigned failures;                   /* of couriers in a row */
    int64_t started_at_ms, start_at_ms;  /* real; not to be started before the latter */
    char *out;        /* the line that is being sent; NULL: none */
    size_t out_length, out_sent;
    size_t in_length;
    char in[COURIER_LINE_MAX + 1];
};

/* None runs, and one may start at once. */
void link_init(struct link *link);
/* On failure start_at_ms tells when to try again. */
COAT_CHECKED enum coat_result link_start(struct couriers *couriers, struct link *link, int64_t now_ms, struct coat_error *error);
/* Kills it, if it runs: a courier keeps nothing that would be lost. What was not sent is forgotten, and wiped. */
void link_stop(struct couriers *couriers, struct link *link);
/* The same with one that died or says nonsense: after 1 s, and twice as long each time up to 60 s, it may start again. */
void link_begin_again(struct couriers *couriers, struct link *link, int64_t now_ms);

/* Takes the object as the next line; `out` is NULL before. False: no memory, or too long for a line. */
bool link_put(struct link *link, struct cJSON *object);
/* Sends as much as the socket takes; when a line has gone, `next` puts another one or none (then it is over), and returns false without memory. `next` may be
 * NULL. False: the courier is gone, or `next` failed. */
bool link_say(struct couriers *couriers, struct link *link, bool (*next)(void *context), void *context);
/* Reads some and calls `line` with each line, which has no NUL behind it; it returns false where that is nonsense, and may stop the link. False: the courier is
 * gone or says nonsense; true where it was stopped. */
bool link_hear(struct link *link, bool (*line)(void *context, const char *text, size_t length), void *context);

#endif
