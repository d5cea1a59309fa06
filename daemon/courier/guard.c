#include "daemon/courier/guard.h"

#include <errno.h>
#include <poll.h>
#include <signal.h>
#include <stdlib.h>
#include <sys/time.h>
#include <unistd.h>

static volatile sig_atomic_t guarded_fd = -1;
static volatile sig_atomic_t ticks;

/* Decides whether the next tick goes unnoticed or ends a system call that waits: the kernel looks at the flag before it calls. */
static void set_handler(void (*handler)(int), int flags)
{
    struct sigaction action = {.sa_handler = handler, .sa_flags = flags};
    sigemptyset(&action.sa_mask);
    (void)sigaction(SIGALRM, &action, NULL);
}

/* Only calls that are safe in a signal handler. */
static void tick(int number)
{
    int kept = errno;
    struct pollfd coatd = {.fd = guarded_fd, .events = POLLRDHUP};
    (void)number;
    if (poll(&coatd, 1, 0) > 0 && (coatd.revents & (POLLRDHUP | POLLHUP | POLLERR)) != 0)
        _exit(EXIT_SUCCESS);
    ticks = (ticks + 1) % GUARD_CONNECT_S;
    set_handler(tick, ticks == GUARD_CONNECT_S - 1 ? 0 : SA_RESTART);
    errno = kept;
}

static void set_timer(int every_s)
{
    struct itimerval setting = {.it_interval.tv_sec = every_s, .it_value.tv_sec = every_s};
    (void)setitimer(ITIMER_REAL, &setting, NULL);
}

void guard_begin(int coatd_fd)
{
    guarded_fd = coatd_fd;
    ticks = 0;
    set_handler(tick, SA_RESTART);
    set_timer(1);
}

void guard_end(void)
{
    set_timer(0);
}
