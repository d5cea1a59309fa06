#include "daemon/loop.h"

#include "coat/clock.h"
#include "coat/moment.h"
#include "coat/shop.h"
#include "daemon/http/server.h"

#include <errno.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <sys/epoll.h>
#include <sys/signalfd.h>
#include <sys/timerfd.h>
#include <unistd.h>

#define RETRY_MS INT64_C(30000)  /* after a turn of the shop that failed */
#define STEPS_MAX 1000000        /* due moments in one move of a test clock */
#define STEP_RANGE_MS (INT64_C(3660) * MS_PER_DAY)
#define ARMED_FOR_NOTHING (MOMENT_NONE + 1) /* equals no due moment, so the timer is armed anew */
#define WAIT_MAX_MS INT64_C(3600000)

struct loop {
    struct http_context *context;
    struct ear *ear;
    struct mouth *mouth;
    int poll_fd, timer_fd, signal_fd;
    int64_t retry_ms;      /* real; INT64_MAX unless the shop's turn failed */
    int64_t told_revision; /* that the streams know of */
    int64_t armed_for_ms;  /* shop moment that the timer stands on */
    bool stop;
    bool failing;          /* the shop's turn failed and that was logged */
};

/* ---- the shop's moments ---- */

static enum coat_result turn_shop(struct http_context *context, int64_t now_ms, struct coat_error *error)
{
    int64_t next_ms = MOMENT_NONE;
    enum coat_result result = shop_turn(context->shop, now_ms, &next_ms, error);
    if (next_ms != MOMENT_NONE && next_ms <= now_ms)
        next_ms = now_ms + MS_PER_S; /* a moment that stays due must not make the loop spin */
    if (result == COAT_OK)
        context->next_due_ms = next_ms;
    return result;
}

static bool is_due(const struct http_context *context, int64_t now_ms)
{
    return context->next_due_ms != MOMENT_NONE && context->next_due_ms <= now_ms;
}

/* Each due moment up to to_ms with the clock standing on it. */
static enum coat_result step_through(struct http_context *context, int64_t to_ms, struct coat_error *error)
{
    for (int i = 0; i < STEPS_MAX && is_due(context, to_ms); i++) {
        int64_t due_ms = context->next_due_ms;
        clock_test_move(context->clock, due_ms);
        enum coat_result result = turn_shop(context, due_ms, error);
        if (result != COAT_OK)
            return result;
    }
    clock_test_move(context->clock, to_ms);
    return turn_shop(context, to_ms, error);
}

enum coat_result clock_step_to(struct http_context *context, int64_t to_ms, struct coat_error *error)
{
    char now_text[MOMENT_TEXT_SIZE];
    int64_t now_ms = clock_shop_ms(context->clock);
    if (!context->clock->test)
        return coat_fail(error, COAT_NOT_ALLOWED, "", "the service runs on the wall clock, which nobody moves: start it with --test-clock");
    if (to_ms < now_ms || to_ms > now_ms + STEP_RANGE_MS)
        return coat_fail(error, COAT_BAD_VALUE, "to_at", "the clock stands at %s and moves on only, by ten years at most",
                         moment_print(now_ms, now_text));
    enum coat_result result = turn_shop(context, now_ms, error);
    if (result == COAT_OK)
        result = step_through(context, to_ms, error);
    context->turn_wanted = true;
    return result;
}

/* Logged once when it begins and once when it is over: a full disk must not fill it further. */
static void note_turn(struct loop *loop, enum coat_result result, const struct coat_error *error)
{
    if (result != COAT_OK && !loop->failing)
        fprintf(stderr, "coatd: notices that are due cannot be recorded: %s; trying again every 30 s\n",
                error->text[0] != '\0' ? error->text : coat_result_text(result));
    if (result == COAT_OK && loop->failing)
        fprintf(stderr, "coatd: notices are recorded again\n");
    if (!loop->failing)
        loop->context->unrecorded_since_ms = clock_shop_ms(loop->context->clock);
    loop->context->unrecorded = result;
    loop->failing = result != COAT_OK;
    loop->retry_ms = loop->failing ? clock_real_ms() + RETRY_MS : INT64_MAX;
}

/* Lets the shop's time pass where a fact came, a moment is due, or the clock was moved. */
static void turn_if_wanted(struct loop *loop)
{
    struct http_context *context = loop->context;
    struct coat_error error = {0};
    int64_t now_ms = clock_shop_ms(context->clock);
    bool changed = shop_revision(context->shop) != loop->told_revision;
    bool due = loop->failing ? clock_real_ms() >= loop->retry_ms : is_due(context, now_ms);
    if (context->turn_wanted)
        loop->armed_for_ms = ARMED_FOR_NOTHING; /* the same moment may be nearer now */
    if (changed || due || context->turn_wanted)
        note_turn(loop, turn_shop(context, now_ms, &error), &error);
    context->turn_wanted = false;
    if (shop_revision(context->shop) == loop->told_revision)
        return;
    loop->told_revision = shop_revision(context->shop);
    http_server_tell(context->server);
}

/* ---- timer ---- */

/* On the wall clock an absolute moment, so that a suspend or a set clock does not put it off; else what is left in real time. */
static struct itimerspec timer_setting(const struct coat_clock *clock, int64_t due_ms)
{
    struct itimerspec setting = {0};
    if (due_ms == MOMENT_NONE)
        return setting;
    int64_t at_ms = clock->test ? clock_real_wait_ms(clock, due_ms) : due_ms;
    if (at_ms < 0)
        return setting;
    setting.it_value.tv_sec = at_ms / MS_PER_S;
    setting.it_value.tv_nsec = at_ms % MS_PER_S * 1000000;
    if (at_ms == 0)
        setting.it_value.tv_nsec = 1; /* zero would disarm */
    return setting;
}

/* A set clock (ECANCELED) is noticed by the read; armed anew, since what is due may have changed. */
static void arm_timer(struct loop *loop)
{
    const struct coat_clock *clock = loop->context->clock;
    int64_t due_ms = loop->failing ? MOMENT_NONE : loop->context->next_due_ms; /* while it fails, retry_ms decides */
    struct itimerspec setting = timer_setting(clock, due_ms);
    int flags = clock->test ? 0 : TFD_TIMER_ABSTIME | TFD_TIMER_CANCEL_ON_SET;
    if (loop->armed_for_ms == due_ms)
        return;
    if (timerfd_settime(loop->timer_fd, flags, &setting, NULL) == 0 || errno == ECANCELED)
        loop->armed_for_ms = due_ms;
}

static void read_timer(struct loop *loop)
{
    uint64_t times = 0;
    ssize_t got = read(loop->timer_fd, &times, sizeof times);
    if (got < 0 && errno == ECANCELED)
        loop->context->turn_wanted = true;
    loop->armed_for_ms = ARMED_FOR_NOTHING;
}

/* ---- signals ---- */

static void fill_signals(sigset_t *set)
{
    sigemptyset(set);
    sigaddset(set, SIGTERM);
    sigaddset(set, SIGINT);
}

void loop_take_signals(void)
{
    sigset_t set;
    fill_signals(&set);
    (void)sigprocmask(SIG_BLOCK, &set, NULL);
    (void)signal(SIGPIPE, SIG_IGN);
    (void)signal(SIGHUP, SIG_IGN);
    (void)signal(SIGXFSZ, SIG_IGN); /* a file that may not grow is refused to its writer, like a full disk */
}

static void read_signal(struct loop *loop)
{
    struct signalfd_siginfo info;
    if (read(loop->signal_fd, &info, sizeof info) == (ssize_t)sizeof info)
        loop->stop = true;
}

/* ---- the loop ---- */

static bool watch(struct loop *loop, int fd)
{
    struct epoll_event event = {.events = EPOLLIN, .data.fd = fd};
    return fd >= 0 && epoll_ctl(loop->poll_fd, EPOLL_CTL_ADD, fd, &event) == 0;
}

static bool open_loop(struct loop *loop)
{
    sigset_t set;
    fill_signals(&set);
    loop->poll_fd = epoll_create1(EPOLL_CLOEXEC);
    loop->signal_fd = signalfd(-1, &set, SFD_NONBLOCK | SFD_CLOEXEC);
    loop->timer_fd = timerfd_create(loop->context->clock->test ? CLOCK_BOOTTIME : CLOCK_REALTIME, TFD_NONBLOCK | TFD_CLOEXEC);
    return loop->poll_fd >= 0 && watch(loop, loop->signal_fd) && watch(loop, loop->timer_fd) &&
           watch(loop, http_server_descriptor(loop->context->server)) && watch(loop, ear_descriptor(loop->ear)) &&
           watch(loop, mouth_descriptor(loop->mouth));
}

static void close_loop(struct loop *loop)
{
    const int fds[] = {loop->poll_fd, loop->signal_fd, loop->timer_fd};
    for (size_t i = 0; i < sizeof fds / sizeof *fds; i++)
        if (fds[i] >= 0)
            close(fds[i]);
}

static int64_t earlier(int64_t a, int64_t b)
{
    return a < b ? a : b;
}

static int wait_time(const struct loop *loop)
{
    int64_t next_ms = earlier(http_server_next_ms(loop->context->server), loop->retry_ms);
    next_ms = earlier(next_ms, ear_next_ms(loop->ear));
    next_ms = earlier(next_ms, mouth_next_ms(loop->mouth));
    if (shop_revision(loop->context->shop) != loop->told_revision)
        return 0; /* what came of a notice was noted after the shop's turn */
    if (next_ms == INT64_MAX)
        return -1;
    int64_t wait_ms = next_ms - clock_real_ms();
    return wait_ms <= 0 ? 0 : (int)(wait_ms < WAIT_MAX_MS ? wait_ms : WAIT_MAX_MS);
}

static enum coat_result take_turn(struct loop *loop, struct coat_error *error)
{
    struct epoll_event ready[8];
    int count = epoll_wait(loop->poll_fd, ready, sizeof ready / sizeof *ready, wait_time(loop));
    if (count < 0 && errno != EINTR)
        return coat_fail(error, COAT_STORE_FAILED, "", "waiting for work failed: %s", strerror(errno));
    for (int i = 0; i < count; i++) {
        if (ready[i].data.fd == loop->signal_fd)
            read_signal(loop);
        else if (ready[i].data.fd == loop->timer_fd)
            read_timer(loop);
    }
    ear_turn(loop->ear);
    turn_if_wanted(loop); /* what is due is told by what is answered now */
    http_server_turn(loop->context->server);
    turn_if_wanted(loop); /* what was changed now */
    ear_turn(loop->ear);  /* a sensor that was added now is asked at once */
    mouth_turn(loop->mouth); /* and what was told now is sent */
    arm_timer(loop);
    return COAT_OK;
}

enum coat_result loop_run(struct http_context *context, struct ear *ear, struct mouth *mouth, void (*ready)(const struct http_context *), struct coat_error *error)
{
    struct loop loop = {
        .context = context,
        .ear = ear,
        .mouth = mouth,
        .poll_fd = -1, .timer_fd = -1, .signal_fd = -1,
        .retry_ms = INT64_MAX,
        .told_revision = -1, /* so that the first turn is taken */
        .armed_for_ms = MOMENT_NONE,
    };
    enum coat_result result = COAT_OK;
    context->next_due_ms = MOMENT_NONE;
    if (!open_loop(&loop))
        result = coat_fail(error, COAT_NO_MEMORY, "", "cannot prepare to wait for work: %s", strerror(errno));
    if (result == COAT_OK) {
        turn_if_wanted(&loop);
        ear_turn(ear); /* what is to be asked and sent is begun before anything else wakes the loop */
        mouth_turn(mouth);
        arm_timer(&loop);
        ready(context);
    }
    while (result == COAT_OK && !loop.stop)
        result = take_turn(&loop, error);
    close_loop(&loop);
    return result;
}
