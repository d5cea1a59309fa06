#include "coat/child.h"

#include <ctype.h>
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <spawn.h>
#include <stdlib.h>
#include <string.h>
#include <sys/epoll.h>
#include <sys/mman.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <unistd.h>

#define SOCKET_FD 3       /* of the program, where it has one */
#define ASK_MS 50         /* between two looks whether it ended, where no descriptor tells */
#define LINGER_MS 1000    /* after SIGKILL; what is still there then hangs in the kernel */
#define ENVIRONMENT_MAX 512

/* ---- starting ---- */

/* What is between us and the service manager, or ours alone, is not for a program that a shop sets up. */
static bool is_private(const char *entry)
{
    static const char *const names[] = {"NOTIFY_SOCKET=", "WATCHDOG_", "LISTEN_", "COAT_", "CREDENTIALS_DIRECTORY="};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        if (strncmp(entry, names[i], strlen(names[i])) == 0)
            return true;
    return false;
}

/* What is given, and our environment without the private. The texts stay where they are. */
static void fill_environment(char *const *given, char *ret[ENVIRONMENT_MAX])
{
    size_t count = 0;
    for (; given != NULL && *given != NULL && count < ENVIRONMENT_MAX - 1; given++)
        ret[count++] = *given;
    for (char **entry = environ; *entry != NULL && count < ENVIRONMENT_MAX - 1; entry++)
        if (!is_private(*entry))
            ret[count++] = *entry;
    ret[count] = NULL;
}

/* A file without a name that holds the text, to be read from its begin: unlike a pipe it takes all of it at once, whether the program reads it or not.
 * -1 without one. */
static int open_input(const char *text)
{
    size_t left = strlen(text);
    int fd = memfd_create("input", MFD_CLOEXEC);
    while (fd >= 0 && left > 0) {
        ssize_t put = write(fd, text, left);
        if (put < 0) {
            close(fd);
            return -1;
        }
        text += put;
        left -= (size_t)put;
    }
    if (fd >= 0)
        (void)lseek(fd, 0, SEEK_SET);
    return fd;
}

static int add_descriptors(posix_spawn_file_actions_t *actions, const struct child_program *program, int in_fd)
{
    const struct {
        int from, to;
    } moves[] = {{program->out_fd, STDOUT_FILENO}, {program->err_fd, STDERR_FILENO}, {program->socket_fd, SOCKET_FD}};
    int failed = in_fd >= 0 ? posix_spawn_file_actions_adddup2(actions, in_fd, STDIN_FILENO)
                            : posix_spawn_file_actions_addopen(actions, STDIN_FILENO, "/dev/null", O_RDONLY, 0);
    for (size_t i = 0; i < sizeof moves / sizeof *moves && failed == 0; i++) {
        if (moves[i].from >= 0)
            failed = posix_spawn_file_actions_adddup2(actions, moves[i].from, moves[i].to);
        else if (moves[i].to != SOCKET_FD)
            failed = posix_spawn_file_actions_addopen(actions, moves[i].to, "/dev/null", O_WRONLY, 0);
    }
    /* Ours close on exec, but libraries open some too */
    return failed != 0 ? failed : posix_spawn_file_actions_addclosefrom_np(actions, program->socket_fd >= 0 ? SOCKET_FD + 1 : SOCKET_FD);
}

/* coatd blocks and ignores some signals; a program would inherit that. */
static int set_attributes(posix_spawnattr_t *attributes)
{
    sigset_t none, all;
    sigemptyset(&none);
    sigfillset(&all);
    sigdelset(&all, SIGKILL);
    sigdelset(&all, SIGSTOP);
    int failed = posix_spawnattr_setflags(attributes, POSIX_SPAWN_SETPGROUP | POSIX_SPAWN_SETSIGMASK | POSIX_SPAWN_SETSIGDEF);
    if (failed == 0)
        failed = posix_spawnattr_setpgroup(attributes, 0); /* its own */
    if (failed == 0)
        failed = posix_spawnattr_setsigmask(attributes, &none);
    return failed != 0 ? failed : posix_spawnattr_setsigdefault(attributes, &all);
}

/* 0, or an errno. */
static int spawn(const struct child_program *program, int in_fd, char **environment, pid_t *ret_pid)
{
    posix_spawn_file_actions_t actions;
    posix_spawnattr_t attributes;
    int failed = posix_spawn_file_actions_init(&actions);
    if (failed != 0)
        return failed;
    failed = posix_spawnattr_init(&attributes);
    if (failed == 0) {
        failed = add_descriptors(&actions, program, in_fd);
        if (failed == 0)
            failed = set_attributes(&attributes);
        if (failed == 0)
            failed = posix_spawnp(ret_pid, program->argv[0], &actions, &attributes, program->argv, environment);
        posix_spawnattr_destroy(&attributes);
    }
    posix_spawn_file_actions_destroy(&actions);
    return failed;
}

enum coat_result child_spawn(const struct child_program *program, pid_t *ret_pid, int *ret_pid_fd, struct coat_error *error)
{
    char *environment[ENVIRONMENT_MAX];
    int in_fd = program->input != NULL ? open_input(program->input) : -1;
    if (program->input != NULL && in_fd < 0)
        return coat_fail(error, COAT_NO_MEMORY, "", "no memory for what %.160s is told: %s", program->argv[0], strerror(errno));
    fill_environment(program->environment, environment);
    int failed = spawn(program, in_fd, environment, ret_pid);
    if (in_fd >= 0)
        close(in_fd);
    if (failed != 0)
        return coat_fail(error, failed == ENOMEM ? COAT_NO_MEMORY : COAT_BAD_VALUE, "source", "%.160s cannot be started: %s", program->argv[0],
                         strerror(failed));
    *ret_pid_fd = (int)syscall(SYS_pidfd_open, *ret_pid, 0); /* closes on exec; -1 before Linux 5.3 */
    return COAT_OK;
}

/* ---- ending ---- */

void child_kill(pid_t pid)
{
    (void)kill(-pid, SIGKILL); /* not reaped, so that the number is still its own */
}

/* Looked at before it is reaped: while it is there, dead, nobody else can have the number of its group. */
bool child_reap(pid_t pid, int *ret_status)
{
    siginfo_t info = {0};
    if (waitid(P_PID, (id_t)pid, &info, WEXITED | WNOHANG | WNOWAIT) != 0 && errno == ECHILD) {
        *ret_status = 0; /* somebody else reaped it */
        return true;
    }
    if (info.si_pid != pid)
        return false;
    child_kill(pid);
    return waitpid(pid, ret_status, WNOHANG) == pid;
}

/* ---- asking ---- */

static void close_fd(int *fd)
{
    if (*fd > 0)
        close(*fd);
    *fd = -1;
}

static bool watch(int poll_fd, int fd)
{
    struct epoll_event event = {.events = EPOLLIN, .data.fd = fd};
    return epoll_ctl(poll_fd, EPOLL_CTL_ADD, fd, &event) == 0;
}

/* Both ends close on exec. Ours does not block; the program gets an ordinary one. */
static bool open_pipe(int poll_fd, int *ret_read, int *ret_write)
{
    int ends[2];
    if (pipe2(ends, O_CLOEXEC) != 0)
        return false;
    if (fcntl(ends[0], F_SETFL, O_NONBLOCK) != 0 || !watch(poll_fd, ends[0])) {
        close(ends[0]);
        close(ends[1]);
        return false;
    }
    *ret_read = ends[0];
    *ret_write = ends[1];
    return true;
}

static enum coat_result start(struct child *child, const struct child_program *program, int poll_fd, int write_fds[2], struct coat_error *error)
{
    child->output = malloc(CHILD_OUTPUT_MAX + 1);
    if (child->output == NULL)
        return coat_fail(error, COAT_NO_MEMORY, "", "out of memory for what %.160s says", program->argv[0]);
    child->output[0] = '\0';
    if (!open_pipe(poll_fd, &child->out_fd, &write_fds[0]) || !open_pipe(poll_fd, &child->err_fd, &write_fds[1]))
        return coat_fail(error, COAT_NO_MEMORY, "", "%.160s cannot be heard: %s", program->argv[0], strerror(errno));
    struct child_program wired = *program;
    wired.out_fd = write_fds[0];
    wired.err_fd = write_fds[1];
    return child_spawn(&wired, &child->pid, &child->pid_fd, error);
}

enum coat_result child_start(struct child *child, const struct child_program *program, int poll_fd, int64_t limit_at_ms, struct coat_error *error)
{
    int write_fds[2] = {-1, -1};
    *child = (struct child){.pid_fd = -1, .out_fd = -1, .err_fd = -1, .limit_at_ms = limit_at_ms};
    enum coat_result result = start(child, program, poll_fd, write_fds, error);
    close_fd(&write_fds[0]);
    close_fd(&write_fds[1]);
    if (result != COAT_OK) {
        child->pid = 0;
        (void)child_clear(child);
    } else if (child->pid_fd >= 0 && !watch(poll_fd, child->pid_fd))
        close_fd(&child->pid_fd); /* then it is asked */
    return result;
}

/* True when there was too much. */
static bool read_output(struct child *child)
{
    while (child->out_fd >= 0) {
        char beyond;
        size_t room = CHILD_OUTPUT_MAX - child->length;
        ssize_t got = room > 0 ? read(child->out_fd, child->output + child->length, room) : read(child->out_fd, &beyond, 1);
        if (got < 0)
            return false; /* nothing more yet */
        if (got > 0 && room == 0)
            return true;
        if (got == 0)
            close_fd(&child->out_fd);
        child->length += (size_t)got;
        child->output[child->length] = '\0';
    }
    return false;
}

/* Keeps the first line that says anything; the rest is read, so that the program can write on, and dropped. A few pieces a turn, for one that
 * writes without end. */
static void read_error(struct child *child)
{
    char piece[4096];
    for (int i = 0; i < 4 && child->err_fd >= 0; i++) {
        ssize_t got = read(child->err_fd, piece, sizeof piece);
        if (got < 0)
            return;
        if (got == 0)
            close_fd(&child->err_fd);
        for (ssize_t j = 0; j < got && child->error_length < sizeof child->error - 1; j++) {
            bool blank = child->error_length == 0 && isspace((unsigned char)piece[j]);
            if (!blank)
                child->error[child->error_length++] = piece[j];
        }
    }
}

/* A deadly end, decided by us. */
static void end_by_force(struct child *child, enum child_end why, int64_t now_ms)
{
    child->end = why;
    child->killed_at_ms = now_ms;
    child_kill(child->pid);
}

static void look_for_end(struct child *child, int64_t now_ms)
{
    if (child_reap(child->pid, &child->status)) {
        bool too_long = read_output(child); /* the last it said; what others hold open is not waited for */
        read_error(child);
        child->pid = 0;
        child->lingers = false;
        if (child->end == CHILD_RUNS)
            child->end = too_long ? CHILD_TOO_LONG : child->status == 0 ? CHILD_DONE : CHILD_FAILED;
    } else if (child->killed_at_ms != 0 && now_ms - child->killed_at_ms >= LINGER_MS)
        child->lingers = true;
}

bool child_turn(struct child *child, int64_t now_ms)
{
    if (child->pid == 0)
        return true;
    bool too_long = read_output(child);
    read_error(child);
    if (child->killed_at_ms == 0) {
        if (too_long)
            end_by_force(child, CHILD_TOO_LONG, now_ms);
        else if (now_ms >= child->limit_at_ms)
            end_by_force(child, CHILD_TOO_LATE, now_ms);
    }
    look_for_end(child, now_ms);
    return child->pid == 0 || child->lingers;
}

int64_t child_next_ms(const struct child *child, int64_t now_ms)
{
    if (child->pid == 0)
        return INT64_MAX;
    if (child->lingers)
        return child->pid_fd >= 0 ? INT64_MAX : now_ms + LINGER_MS;
    int64_t next_ms = child->killed_at_ms != 0 ? child->killed_at_ms + LINGER_MS : child->limit_at_ms;
    return child->pid_fd < 0 && now_ms + ASK_MS < next_ms ? now_ms + ASK_MS : next_ms;
}

bool child_clear(struct child *child)
{
    close_fd(&child->out_fd);
    close_fd(&child->err_fd);
    free(child->output);
    child->output = NULL;
    if (child->pid != 0 && !child->lingers) {
        child_kill(child->pid);
        child->lingers = true; /* until it is reaped */
    }
    if (child->pid != 0 && !child_reap(child->pid, &child->status))
        return false;
    close_fd(&child->pid_fd);
    *child = (struct child){.pid_fd = -1, .out_fd = -1, .err_fd = -1};
    return true;
}

/* ---- telling ---- */

/* What it wrote to stderr first, as a part of a sentence. */
static void describe_error(const struct child *child, char *ret, size_t size)
{
    int length = (int)strcspn(child->error, "\r\n");
    ret[0] = '\0';
    if (length > 0)
        snprintf(ret, size, ": \"%.*s\"", length, child->error);
}

void child_describe(const struct child *child, const char *name, char *ret, size_t size)
{
    char said[CHILD_ERROR_SIZE + 8];
    describe_error(child, said, sizeof said);
    switch (child->end) {
    case CHILD_RUNS:
    case CHILD_DONE:
        ret[0] = '\0';
        break;
    case CHILD_FAILED:
        if (WIFSIGNALED(child->status))
            snprintf(ret, size, "%.60s was ended by signal %d (%s)%s", name, WTERMSIG(child->status), strsignal(WTERMSIG(child->status)), said);
        else
            snprintf(ret, size, "%.60s ended with exit status %d%s", name, WEXITSTATUS(child->status), said);
        break;
    case CHILD_TOO_LATE:
        snprintf(ret, size, "%.60s %s%s", name, child->lingers ? "hangs in the kernel and cannot be ended: look at the device and its wires" :
                 "was not done in time and was ended", said);
        break;
    case CHILD_TOO_LONG:
        snprintf(ret, size, "%.60s said more than %d bytes and was ended: a number or a few lines of JSON would do", name, CHILD_OUTPUT_MAX);
        break;
    }
}
