/* Programs that behave badly: each is heard, ended in time, and leaves nothing behind. */
#include "coat/clock.h"
#include "coat/child.h"
#include "tests/sense/fake.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <sys/epoll.h>
#include <sys/socket.h>
#include <sys/wait.h>

static int poll_fd = -1;

static int setup(void **state)
{
    poll_fd = epoll_create1(EPOLL_CLOEXEC);
    return poll_fd < 0 ? -1 : fake_setup(state);
}

static int teardown(void **state)
{
    close(poll_fd);
    assert_int_equal(waitpid(-1, NULL, WNOHANG), -1); /* no child is left, dead or alive */
    assert_int_equal(errno, ECHILD);
    return fake_teardown(state);
}

static void start(struct child *child, char *const *argv, int64_t limit_ms)
{
    char root[FAKE_PATH_SIZE];
    char *const environment[] = {root, NULL};
    struct child_program program = {.argv = argv, .environment = environment, .socket_fd = -1};
    struct coat_error error = {0};
    snprintf(root, sizeof root, "COAT_SYSFS=%s", fake_root);
    if (child_start(child, &program, poll_fd, clock_real_ms() + limit_ms, &error) != COAT_OK)
        fail_msg("%s", error.text);
}

static void start_shell(struct child *child, const char *script, int64_t limit_ms)
{
    char shell[] = "sh", option[] = "-c", text[2048];
    char *const argv[] = {shell, option, text, NULL};
    snprintf(text, sizeof text, "%s", script);
    start(child, argv, limit_ms);
}

/* Turns it as the loop would, until it is over. No turn takes longer than the loop allows, by a wide margin for a busy machine. */
static void hear(struct child *child)
{
    int64_t begin_ms = clock_real_ms(), now_ms = begin_ms;
    while (!child_turn(child, now_ms)) {
        struct epoll_event event;
        int64_t turned_ms = clock_real_ms(), next_ms = child_next_ms(child, turned_ms);
        assert_true(turned_ms - now_ms < 200);
        assert_true(turned_ms - begin_ms < 8000);
        int64_t wait_ms = next_ms - turned_ms;
        (void)epoll_wait(poll_fd, &event, 1, (int)(wait_ms < 0 ? 0 : wait_ms < 1000 ? wait_ms : 1000));
        now_ms = clock_real_ms();
    }
}

/* The real milliseconds from the start to the end. */
static int64_t run(struct child *child, const char *script, int64_t limit_ms)
{
    int64_t begin_ms = clock_real_ms();
    start_shell(child, script, limit_ms);
    hear(child);
    return clock_real_ms() - begin_ms;
}

static void told(struct child *child, const char *part)
{
    char text[512];
    child_describe(child, "read-shed", text, sizeof text);
    if (strstr(text, part) == NULL)
        fail_msg("\"%s\" does not say \"%s\"", text, part);
}

/* It is gone, and so is all that it started in its group. */
static void is_gone(const char *pid_file)
{
    char path[FAKE_PATH_SIZE];
    int pid = 0;
    FILE *file = fopen(fake_path(path, "%s", pid_file), "r");
    assert_non_null(file);
    assert_int_equal(fscanf(file, "%d", &pid), 1);
    (void)fclose(file);
    for (int i = 0; i < 200; i++) { /* init reaps a grandchild in a moment; until then it is a corpse */
        char name[64], line[256] = "";
        snprintf(name, sizeof name, "/proc/%d/stat", pid);
        FILE *stat = fopen(name, "r");
        if (stat == NULL)
            return;
        bool dead = fgets(line, sizeof line, stat) != NULL && strstr(line, ") Z ") != NULL;
        (void)fclose(stat);
        if (dead)
            return;
        (void)poll(NULL, 0, 10);
    }
    fail_msg("process %d is still there", pid);
}

static void what_it_prints_is_heard(void **state)
{
    (void)state;
    struct child child;
    run(&child, "echo 18.2; echo unused >&2", 5000);
    assert_int_equal(child.end, CHILD_DONE);
    assert_string_equal(child.output, "18.2\n");
    told(&child, "");
    assert_true(child_clear(&child));
    assert_null(child.output);
}

static void a_failure_is_told_with_its_first_line(void **state)
{
    (void)state;
    struct child child;
    run(&child, "echo >&2; echo 'no answer from the shed' >&2; echo more >&2; exit 1", 5000);
    assert_int_equal(child.end, CHILD_FAILED);
    told(&child, "read-shed ended with exit status 1: \"no answer from the shed\"");
    assert_true(child_clear(&child));
    run(&child, "kill -SEGV $$", 5000);
    told(&child, "read-shed was ended by signal 11");
    assert_true(child_clear(&child));
}

static void what_is_not_there_is_told_at_once(void **state)
{
    (void)state;
    char missing[] = "/nowhere/read-shed";
    char *const argv[] = {missing, NULL};
    struct child child;
    struct child_program program = {.argv = argv, .socket_fd = -1};
    struct coat_error error = {0};
    if (fake_has_no_vfork())
        skip();
    assert_int_equal(child_start(&child, &program, poll_fd, clock_real_ms() + 1000, &error), COAT_BAD_VALUE);
    assert_string_equal(error.text, "/nowhere/read-shed cannot be started: No such file or directory");
    assert_true(child_clear(&child));
}

static void one_that_hangs_is_ended_with_all_it_started(void **state)
{
    (void)state;
    struct child child;
    char script[1024];
    snprintf(script, sizeof script, "echo $$ >%s/pid; trap '' TERM INT HUP; sleep 60 & echo $! >%s/grandchild; wait", fake_root, fake_root);
    int64_t took_ms = run(&child, script, 300);
    assert_int_equal(child.end, CHILD_TOO_LATE);
    assert_true(took_ms >= 300 && took_ms < 1500);
    told(&child, "was not done in time and was ended");
    assert_true(child_clear(&child));
    is_gone("pid");
    is_gone("grandchild");
}

/* The pipe stays open, held by a grandchild: what counts is that the program itself has ended. */
static void a_grandchild_with_the_pipe_does_not_hold_it_up(void **state)
{
    (void)state;
    struct child child;
    char script[1024];
    snprintf(script, sizeof script, "sleep 60 & echo $! >%s/grandchild; echo 18.2", fake_root);
    int64_t took_ms = run(&child, script, 5000);
    assert_int_equal(child.end, CHILD_DONE);
    assert_true(took_ms < 1500);
    assert_string_equal(child.output, "18.2\n");
    assert_true(child_clear(&child));
    is_gone("grandchild");
}

static void one_that_prints_without_end_is_ended(void **state)
{
    (void)state;
    struct child child;
    int64_t took_ms = run(&child, "head -c 1000000 /dev/zero | tr '\\0' 1", 5000);
    assert_int_equal(child.end, CHILD_TOO_LONG);
    assert_true(took_ms < 2000);
    assert_true(child.length <= CHILD_OUTPUT_MAX);
    told(&child, "said more than 65536 bytes");
    assert_true(child_clear(&child));
    run(&child, "head -c 65536 /dev/zero | tr '\\0' 1", 5000); /* all that is allowed */
    assert_int_equal(child.end, CHILD_DONE);
    assert_int_equal(child.length, CHILD_OUTPUT_MAX);
    assert_true(child_clear(&child));
}

static void one_that_complains_without_end_is_heard_to_its_own(void **state)
{
    (void)state;
    struct child child;
    run(&child, "head -c 1000000 /dev/zero | tr '\\0' x >&2; echo 7", 5000);
    assert_int_equal(child.end, CHILD_DONE);
    assert_string_equal(child.output, "7\n");
    assert_true(child.error_length < CHILD_ERROR_SIZE);
    assert_true(child_clear(&child));
}

/* coatd blocks SIGTERM and ignores SIGPIPE and SIGHUP; the program has its signals as a fresh one. Without a shell, which sets its own. */
static void it_has_its_signals_as_a_fresh_one(void **state)
{
    (void)state;
    sigset_t blocked, before;
    struct child child;
    unsigned long long mask_blocked = 1, mask_ignored = 1;
    char grep[] = "grep", option[] = "-E", pattern[] = "^Sig(Blk|Ign)", file[] = "/proc/self/status";
    char *const argv[] = {grep, option, pattern, file, NULL};
    sigemptyset(&blocked);
    sigaddset(&blocked, SIGTERM);
    assert_int_equal(sigprocmask(SIG_BLOCK, &blocked, &before), 0);
    (void)signal(SIGHUP, SIG_IGN);
    start(&child, argv, 5000);
    hear(&child);
    (void)signal(SIGHUP, SIG_DFL);
    assert_int_equal(sigprocmask(SIG_SETMASK, &before, NULL), 0);
    assert_int_equal(sscanf(child.output, "SigBlk: %llx SigIgn: %llx", &mask_blocked, &mask_ignored), 2);
    assert_int_equal(mask_blocked, 0);
    assert_int_equal(mask_ignored & ~0x180000000ULL, 0); /* 32 and 33 are the C library's own */
    assert_true(child_clear(&child));
}

/* Nothing on its stdin, no descriptor of ours, and no word to the service manager. */
static void it_inherits_nothing(void **state)
{
    (void)state;
    struct child child;
    char wanted[1024];
    int open_fd = fcntl(STDOUT_FILENO, F_DUPFD, 20); /* without close-on-exec, as a library may open one */
    assert_int_equal(setenv("NOTIFY_SOCKET", "/run/systemd/notify", 1), 0);
    run(&child, "ls -1 /proc/self/fd | tr '\\n' ' '; cat; echo \"[$NOTIFY_SOCKET]\"; echo $COAT_SYSFS", 5000);
    assert_int_equal(unsetenv("NOTIFY_SOCKET"), 0);
    close(open_fd);
    snprintf(wanted, sizeof wanted, "0 1 2 3 []\n%s\n", fake_root); /* 3: the folder that ls reads */
    assert_string_equal(child.output, wanted);
    assert_true(child_clear(&child));
}

static void one_that_is_let_go_is_killed(void **state)
{
    (void)state;
    struct child child;
    char script[1024];
    snprintf(script, sizeof script, "echo $$ >%s/pid; echo; exec sleep 60", fake_root);
    start_shell(&child, script, 60000);
    while (child.length == 0)
        (void)child_turn(&child, clock_real_ms());
    for (int i = 0; !child_clear(&child); i++) {
        assert_true(i < 200);
        (void)poll(NULL, 0, 5);
    }
    is_gone("pid");
}

/* Whoever spawns a courier: a socket as descriptor 3, and nothing but that. */
static void a_courier_gets_its_socket(void **state)
{
    (void)state;
    int ends[2], pid_fd = -1, status = 0;
    char shell[] = "sh", option[] = "-c", text[] = "read line <&3; echo \"$line back\" >&3", answer[64] = "";
    char *const argv[] = {shell, option, text, NULL};
    pid_t pid = 0;
    struct coat_error error = {0};
    assert_int_equal(socketpair(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0, ends), 0);
    struct child_program program = {.argv = argv, .out_fd = -1, .err_fd = -1, .socket_fd = ends[1]};
    assert_int_equal(child_spawn(&program, &pid, &pid_fd, &error), COAT_OK);
    close(ends[1]);
    assert_int_equal(write(ends[0], "hello\n", 6), 6);
    assert_int_equal(read(ends[0], answer, sizeof answer - 1), 11);
    assert_string_equal(answer, "hello back\n");
    assert_int_equal(read(ends[0], answer, 1), 0); /* nobody else holds the other end */
    for (int i = 0; !child_reap(pid, &status); i++) {
        assert_true(i < 200);
        (void)poll(NULL, 0, 5);
    }
    assert_int_equal(status, 0);
    close(ends[0]);
    if (pid_fd >= 0)
        close(pid_fd);
}

#define CASE(name) cmocka_unit_test_setup_teardown(name, setup, teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        CASE(what_it_prints_is_heard),
        CASE(a_failure_is_told_with_its_first_line),
        CASE(what_is_not_there_is_told_at_once),
        CASE(one_that_hangs_is_ended_with_all_it_started),
        CASE(a_grandchild_with_the_pipe_does_not_hold_it_up),
        CASE(one_that_prints_without_end_is_ended),
        CASE(one_that_complains_without_end_is_heard_to_its_own),
        CASE(it_has_its_signals_as_a_fresh_one),
        CASE(it_inherits_nothing),
        CASE(one_that_is_let_go_is_killed),
        CASE(a_courier_gets_its_socket),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
