/* Programs that are started, heard and ended, without ever waiting for one. Each runs in a process group of its own, with what it is given on its stdin and
 * nothing else, no descriptor of ours, and signals as a fresh program has them. */
#ifndef COAT_CHILD_H
#define COAT_CHILD_H

#include "coat/result.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <sys/types.h>

/* ---- starting; for whoever hears the program in another way ---- */

struct child_program {
    char *const *argv;        /* a program without a slash is looked for on PATH */
    char *const *environment; /* "NAME=value" beside ours, which it gets without what is private; ends with NULL; NULL: none */
    const char *input;        /* the whole of its stdin, a file without a name; NULL: none */
    int out_fd, err_fd;       /* become its stdout and stderr; -1: nowhere */
    int socket_fd;            /* becomes its descriptor 3; -1: none */
};
/* *ret_pid is its process group as well. *ret_pid_fd becomes readable when it ends; -1 where the kernel has none (ask child_reap from time to time).
 * The descriptors of *program stay the caller's. */
COAT_CHECKED enum coat_result child_spawn(const struct child_program *program, pid_t *ret_pid, int *ret_pid_fd, struct coat_error *error);

/* Whether it has ended; then whatever it left behind in its group is killed, it is reaped, and *ret_status is as from waitpid. Does not wait.
 * Not to be called again after that. */
bool child_reap(pid_t pid, int *ret_status);
/* SIGKILL to it and its group; it is still to be reaped. */
void child_kill(pid_t pid);

/* ---- asking: a program prints what it has to say and ends ---- */

#define CHILD_OUTPUT_MAX 65536
#define CHILD_ERROR_SIZE 160 /* of its first line on stderr */

enum child_end {
    CHILD_RUNS,
    CHILD_DONE,     /* exit status 0 */
    CHILD_FAILED,   /* another one, or a signal */
    CHILD_TOO_LATE, /* ended by us at the limit */
    CHILD_TOO_LONG, /* ended by us after CHILD_OUTPUT_MAX bytes */
};

struct child {
    pid_t pid;             /* 0: none */
    int pid_fd, out_fd, err_fd;
    int64_t limit_at_ms;   /* real */
    int64_t killed_at_ms;  /* real; 0: not by us */
    enum child_end end;    /* CHILD_RUNS until what it said can be looked at */
    bool lingers;          /* killed, and does not go: it hangs in the kernel. Not to be started again before it is reaped */
    int status;            /* as from waitpid */
    char *output;          /* NUL-terminated; NULL where none runs */
    size_t length;
    char error[CHILD_ERROR_SIZE];
    size_t error_length;
};

/* *child is all zero or was cleared. Its descriptors are added to the epoll of poll_fd, and leave it by being closed. */
COAT_CHECKED enum coat_result child_start(struct child *child, const struct child_program *program, int poll_fd, int64_t limit_at_ms, struct coat_error *error);
/* Hears it. True once `end` tells how it went; then read output and error, and child_clear. */
bool child_turn(struct child *child, int64_t now_ms);
/* Real moment of its next turn at the latest; INT64_MAX: when a descriptor wakes. */
int64_t child_next_ms(const struct child *child, int64_t now_ms);
/* Gives back memory and descriptors, and kills it where it still runs. True when nothing is left; false: call again later, it has not gone yet. */
bool child_clear(struct child *child);

/* How it went, for a person: "" for CHILD_DONE. `name` is what was started. */
void child_describe(const struct child *child, const char *name, char *ret, size_t size);

#endif
