/* Given these notices and these channels, then this is sent, in this order, and tried again then. */
#include "tests/notify/scene.h"

#include <fcntl.h>
#include <signal.h>

static int setup(void **state)
{
    (void)state;
    open_scene("/nowhere/coat-courier", 100);
    return 0;
}

static int teardown(void **state)
{
    (void)state;
    close_scene();
    return 0;
}

static void a_notice_reaches_its_program_whole(void **state)
{
    (void)state;
    use(scripted(1, "cat > $D/in; env | grep ^COAT_ | sort > $D/env; printf %s \\\"$COAT_NOTICE_TEXT\\\" > $D/text; echo rung"));
    tell(9);
    wait_for_tries(1);
    assert_true(scene.tries[0].delivered);
    assert_string_equal(scene.tries[0].answer, "rung");
    assert_string_equal(written("in"), "{\"id\":9,\"subject\":\"mill\"}\n");
    assert_string_equal(written("env"), "COAT_NOTICE_ID=notice-9@5c0a7\nCOAT_NOTICE_KIND=window-opens\nCOAT_NOTICE_SAFETY=1\n"
                        "COAT_NOTICE_SUBJECT=Mill housing 9: may be done now\nCOAT_NOTICE_TEXT=It is open.\n"); /* its other lines are no variables */
    assert_string_equal(written("text"), "It is open.\nThe label decides.\n");
    let_pass(300);
    assert_int_equal(scene.try_count, 1); /* and not again */
}

static void the_oldest_goes_first_and_one_at_a_time(void **state)
{
    (void)state;
    use(scripted(1, "mkdir $D/busy || echo two at once >> $D/out; echo $COAT_NOTICE_ID >> $D/out; sleep 0.05; rmdir $D/busy"));
    for (int64_t id = 1; id <= 5; id++)
        tell(id);
    wait_for_tries(5);
    assert_string_equal(written("out"), "notice-1@5c0a7\nnotice-2@5c0a7\nnotice-3@5c0a7\nnotice-4@5c0a7\nnotice-5@5c0a7\n");
}

/* Waits of 100, 200, 400 ms, of which a quarter may be missing by chance; a busy machine makes them longer. */
static void what_fails_is_tried_again_after_twice_as_long_each_time(void **state)
{
    (void)state;
    use(scripted(1, "echo no wire >&2; exit 3"));
    tell(1);
    wait_for_tries(4);
    for (size_t i = 1; i < 4; i++) {
        int64_t waited_ms = scene.tries[i].at_ms - scene.tries[i - 1].at_ms;
        if (waited_ms < (75 << (i - 1)))
            fail_msg("try %zu came after %lld ms", i + 1, (long long)waited_ms);
        assert_int_equal(scene.tries[i].notice_id, 1);
        assert_false(scene.tries[i].delivered);
    }
    says(scene.tries[0].answer, "sh ended with exit status 3: \"no wire\"");
}

static void one_that_fails_holds_up_neither_those_behind_it_nor_another_channel(void **state)
{
    (void)state;
    use(scripted(1, "test $COAT_NOTICE_ID != notice-1@5c0a7"));
    use(scripted(2, "sleep 60"));
    for (int64_t id = 1; id <= 4; id++)
        tell(id);
    int64_t end_ms = clock_real_ms() + PATIENCE_MS;
    while (!(scene.delivered[1][2] && scene.delivered[1][3] && scene.delivered[1][4])) {
        assert_true(clock_real_ms() < end_ms);
        take_turn(1000);
    }
    assert_false(scene.delivered[1][1]);
    for (size_t i = 0; i < scene.try_count; i++)
        assert_int_equal(scene.tries[i].channel_id, 1);
    assert_int_equal(scene.tries[0].notice_id, 1); /* the oldest had its turn all the same */
}

static void a_notice_that_was_acknowledged_meanwhile_is_tried_no_more(void **state)
{
    (void)state;
    use(scripted(1, "exit 1"));
    tell(1);
    wait_for_tries(2);
    scene.notice_count = 0;
    let_pass(1500);
    assert_int_equal(scene.try_count, 2);
}

/* On a full disk a delivery cannot be recorded. It is sent again then, but with waits between. */
static void what_was_delivered_and_could_not_be_noted_is_no_flood(void **state)
{
    (void)state;
    scene.forgets = true;
    use(scripted(1, "exit 0"));
    tell(1);
    let_pass(1500);
    assert_in_range(scene.try_count, 2, 5); /* after 75 to 100, 150 to 200, 300 to 400, 600 to 800 ms */
}

static void a_program_that_starts_nowhere_says_so(void **state)
{
    (void)state;
    struct channel channel = scripted(1, "");
    snprintf(channel.target, sizeof channel.target, "[\"/nowhere/ring-bell\"]");
    use(channel);
    tell(1);
    wait_for_tries(1);
    assert_false(scene.tries[0].delivered);
    if (getenv("LD_PRELOAD") == NULL) /* valgrind makes a fork of it, which only ends with a status */
        says(scene.tries[0].answer, "/nowhere/ring-bell cannot be started: No such file or directory");
}

static void what_a_program_says_is_one_line_of_text(void **state)
{
    (void)state;
    use(scripted(1, "printf '\\\\n  a\\\\tb \\\\377 \\\\303\\\\251\\\\n\\\\nc\\\\n'"));
    tell(1);
    wait_for_tries(1);
    assert_string_equal(scene.tries[0].answer, "a b ? \303\251 c");
}

static void a_program_that_says_too_much_is_ended(void **state)
{
    (void)state;
    use(scripted(1, "yes"));
    tell(1);
    wait_for_tries(1);
    assert_false(scene.tries[0].delivered);
    says(scene.tries[0].answer, "said more than 65536 bytes and was ended");
}

static void a_program_that_reads_nothing_is_none_the_worse(void **state)
{
    (void)state;
    use(scripted(1, "exec <&-; echo deaf"));
    tell(1);
    wait_for_tries(1);
    assert_true(scene.tries[0].delivered);
}

/* ---- channels come and go ---- */

static void a_channel_that_is_removed_while_it_sends_is_ended(void **state)
{
    (void)state;
    use(scripted(1, "echo $$ > $D/pid; sleep 60"));
    tell(1);
    while (written("pid")[0] == '\0')
        take_turn(20);
    pid_t pid = (pid_t)strtol(written("pid"), NULL, 10);
    scene.channel_count = 0;
    set_channels();
    let_pass(300);
    assert_int_equal(kill(pid, 0), -1);
    assert_int_equal(scene.try_count, 0); /* nobody asked any more */
}

static void a_channel_that_is_mended_sends_at_once_what_waited(void **state)
{
    (void)state;
    use(scripted(1, "exit 1"));
    tell(1);
    wait_for_tries(6); /* the next would be 2.4 s away at least */
    scene.channels[0] = scripted(1, "echo mended");
    set_channels();
    wait_for_tries(7);
    assert_string_equal(scene.tries[6].answer, "mended");
    assert_true(scene.tries[6].at_ms < scene.tries[5].at_ms + 2400);
}

static void a_channel_that_is_told_again_is_not_disturbed(void **state)
{
    (void)state;
    use(scripted(1, "echo begun >> $D/out; sleep 0.3; echo ended >> $D/out"));
    tell(1);
    while (written("out")[0] == '\0')
        take_turn(20);
    snprintf(scene.channels[0].name, sizeof scene.channels[0].name, "another name");
    use(scripted(2, "exit 0"));
    wait_for_tries(2);
    assert_string_equal(written("out"), "begun\nended\n");
}

static void calendars_and_removed_channels_are_passed_over(void **state)
{
    (void)state;
    struct channel calendar = {.id = 1, .kind = CHANNEL_CALENDAR, .removed_at = MOMENT_NONE};
    struct channel removed = scripted(2, "exit 0");
    removed.removed_at = 5;
    use(calendar);
    use(removed);
    tell(1);
    let_pass(200);
    assert_int_equal(scene.try_count, 0);
    assert_int_equal(scene.asked, 0);
}

/* ---- many ---- */

static void a_flood_goes_out_whole_and_in_order(void **state)
{
    (void)state;
    use(scripted(1, "exit 0"));
    for (int64_t id = 1; id <= 100; id++)
        tell(id);
    wait_for_tries(100);
    for (size_t i = 0; i < 100; i++)
        assert_int_equal(scene.tries[i].notice_id, (int64_t)i + 1);
    let_pass(200);
    assert_int_equal(scene.try_count, 100);
}

static size_t tries_of(int64_t notice_id)
{
    size_t count = 0;
    for (size_t i = 0; i < scene.try_count; i++)
        count += scene.tries[i].notice_id == notice_id;
    return count;
}

/* 300 that wait knock no oftener than one would: after 100, 200, 400, 800 ms, of which a quarter may be missing by chance. */
static void a_channel_that_is_down_is_tried_now_and_then_whatever_waits(void **state)
{
    (void)state;
    use(scripted(1, "exit 1"));
    for (int64_t id = 1; id <= 300; id++)
        tell(id);
    wait_for_tries(3);
    let_pass(1400);
    assert_in_range(scene.try_count, 4, 3 + 4); /* 75 + 150 + 300 + 600 ms, and the fifth not before 2325 */
    for (size_t i = 0; i < scene.try_count; i++)
        assert_int_equal(scene.tries[i].notice_id, (int64_t)i + 1); /* each has its turn */
}

/* The channel is down with 300 that wait: what is told now is tried now, once, for it may be well again; then all the others go at once. */
static void what_is_told_while_a_channel_is_down_is_tried_at_once(void **state)
{
    (void)state;
    use(scripted(1, "test $COAT_NOTICE_ID != notice-302@5c0a7 || touch $D/well; test $COAT_NOTICE_ID != notice-301@5c0a7 -a -e $D/well"));
    for (int64_t id = 1; id <= 300; id++)
        tell(id);
    wait_for_tries(8); /* the next would be 2.4 s away at least */
    tell(301);
    wait_for_tries(9);
    assert_int_equal(scene.tries[8].notice_id, 301);
    assert_true(scene.tries[8].at_ms < scene.tries[7].at_ms + 2400);
    tell(302);
    wait_for_tries(10);
    assert_int_equal(scene.tries[9].notice_id, 302);
    assert_true(scene.tries[9].delivered);
    while (scene.try_count < 311)
        wait_for_tries(scene.try_count + 1);
    for (int64_t id = 1; id <= 300; id++)
        assert_true(scene.delivered[1][id]);
    assert_in_range(tries_of(301), 2, 9);
}

static void nothing_to_do_is_nothing_done(void **state)
{
    (void)state;
    use(scripted(1, "exit 0"));
    take_turn(1000);
    size_t asked = scene.asked;
    assert_true(notify_next_ms(scene.notify) == INT64_MAX);
    let_pass(200);
    assert_int_equal(scene.asked, asked);
}

/* ---- couriers ---- */

static void a_courier_that_is_not_there_says_so(void **state)
{
    (void)state;
    struct channel channel = {.id = 1, .kind = CHANNEL_WEBHOOK, .removed_at = MOMENT_NONE, .target = "http://127.0.0.1:1/hook", .secret = "key"};
    use(channel);
    tell(1);
    wait_for_tries(1);
    assert_false(scene.tries[0].delivered);
    assert_true(scene.tries[0].answer[0] != '\0');
}

/* ---- tests ---- */

static int64_t begin_test(const struct channel *channel)
{
    struct notify_message message;
    struct coat_error error = {0};
    int64_t id = 0;
    (void)scene_message(&scene, 1, 7, &message);
    if (notify_test_begin(scene.notify, channel, &message, &id, &error) != COAT_OK)
        fail_msg("%s", error.text);
    return id;
}

static struct notify_test end_of(int64_t id)
{
    struct notify_test test = {0};
    int64_t end_ms = clock_real_ms() + PATIENCE_MS;
    while (notify_test_get(scene.notify, id, &test) && !test.done) {
        assert_true(clock_real_ms() < end_ms);
        take_turn(1000);
    }
    assert_true(test.done);
    return test;
}

static void a_test_goes_through_without_being_recorded(void **state)
{
    (void)state;
    struct channel good = scripted(0, "cat > $D/in; echo heard"), bad = scripted(0, "exit 4");
    int64_t first = begin_test(&good), second = begin_test(&bad);
    struct notify_test test = end_of(first);
    assert_true(test.delivered);
    assert_string_equal(test.answer, "heard");
    assert_string_equal(written("in"), "{\"id\":7,\"subject\":\"mill\"}\n");
    test = end_of(second);
    assert_false(test.delivered);
    says(test.answer, "exit status 4");
    assert_int_equal(scene.try_count, 0);
    assert_false(notify_test_get(scene.notify, 99, &test));
}

static void no_more_than_eight_tests_at_once_and_an_old_one_makes_room(void **state)
{
    (void)state;
    struct channel slow = scripted(0, "sleep 60"), quick = scripted(0, "exit 0");
    struct notify_message message;
    struct notify_test test;
    struct coat_error error = {0};
    int64_t id = 0, done = begin_test(&quick);
    (void)end_of(done);
    for (int i = 1; i < NOTIFY_TESTS_MAX; i++)
        (void)begin_test(&slow);
    (void)begin_test(&slow); /* in the place of the one that is done */
    assert_false(notify_test_get(scene.notify, done, &test));
    (void)scene_message(&scene, 1, 7, &message);
    assert_int_equal(notify_test_begin(scene.notify, &slow, &message, &id, &error), COAT_CONFLICT);
    says(error.text, "8 tests are running");
}

static void what_could_not_be_stored_is_not_tested(void **state)
{
    (void)state;
    struct channel channel = {.kind = CHANNEL_WEBHOOK, .target = "http://shop.example/hook", .secret = "key", .removed_at = MOMENT_NONE};
    struct channel calendar = {.kind = CHANNEL_CALENDAR, .removed_at = MOMENT_NONE};
    struct notify_message message;
    struct coat_error error = {0};
    int64_t id = 0;
    (void)scene_message(&scene, 1, 7, &message);
    assert_int_equal(notify_test_begin(scene.notify, &channel, &message, &id, &error), COAT_BAD_VALUE);
    assert_int_equal(notify_test_begin(scene.notify, &calendar, &message, &id, &error), COAT_BAD_VALUE);
    says(error.text, "fetched");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
#define T(name) cmocka_unit_test_setup_teardown(name, setup, teardown)
        T(a_notice_reaches_its_program_whole),
        T(the_oldest_goes_first_and_one_at_a_time),
        T(what_fails_is_tried_again_after_twice_as_long_each_time),
        T(one_that_fails_holds_up_neither_those_behind_it_nor_another_channel),
        T(a_notice_that_was_acknowledged_meanwhile_is_tried_no_more),
        T(what_was_delivered_and_could_not_be_noted_is_no_flood),
        T(a_program_that_starts_nowhere_says_so),
        T(what_a_program_says_is_one_line_of_text),
        T(a_program_that_says_too_much_is_ended),
        T(a_program_that_reads_nothing_is_none_the_worse),
        T(a_channel_that_is_removed_while_it_sends_is_ended),
        T(a_channel_that_is_mended_sends_at_once_what_waited),
        T(a_channel_that_is_told_again_is_not_disturbed),
        T(calendars_and_removed_channels_are_passed_over),
        T(a_flood_goes_out_whole_and_in_order),
        T(a_channel_that_is_down_is_tried_now_and_then_whatever_waits),
        T(what_is_told_while_a_channel_is_down_is_tried_at_once),
        T(nothing_to_do_is_nothing_done),
        T(a_courier_that_is_not_there_says_so),
        T(a_test_goes_through_without_being_recorded),
        T(no_more_than_eight_tests_at_once_and_an_old_one_makes_room),
        T(what_could_not_be_stored_is_not_tested),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
