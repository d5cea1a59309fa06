/* The schedule of the sources that are asked, what it tells and when, and the tests of a source before it is stored. */
#include "coat/clock.h"
#include "coat/sense.h"
#include "tests/sense/fake.h"

#include <errno.h>
#include <math.h>
#include <poll.h>
#include <sys/wait.h>
#include <time.h>

#define HEARD_MAX 200
#define TURN_MAX_MS 2000 /* one that waited for a child would take its seconds; how fast a turn is, no test says */

static struct sense *sense;
static int turn_worst_ms;

static struct {
    struct sense_reading reading[HEARD_MAX];
    int64_t read_ms[HEARD_MAX];
    size_t readings;
    int64_t fault_of[HEARD_MAX];
    char fault[HEARD_MAX][SENSE_RAW_SIZE];
    size_t faults;
} heard;

static void hear_reading(void *context, const struct sense_reading *reading)
{
    (void)context;
    if (heard.readings == HEARD_MAX)
        return;
    heard.read_ms[heard.readings] = clock_real_ms();
    heard.reading[heard.readings++] = *reading;
}

static void hear_fault(void *context, int64_t sensor_id, const char *text)
{
    (void)context;
    if (heard.faults == HEARD_MAX)
        return;
    heard.fault_of[heard.faults] = sensor_id;
    snprintf(heard.fault[heard.faults++], SENSE_RAW_SIZE, "%s", text);
}

static int setup(void **state)
{
    const struct sense_calls calls = {.reading = hear_reading, .fault = hear_fault};
    struct coat_error error = {0};
    if (fake_setup(state) != 0)
        return -1;
    memset(&heard, 0, sizeof heard);
    turn_worst_ms = 0;
    const struct sense_options options = {.sysfs_root = fake_root, .self = fake_self, .courier = "/nowhere/coat-courier"};
    assert_int_equal(unsetenv("COAT_SYSFS"), 0); /* sense has to pass it on */
    return sense_open(&options, &calls, &sense, &error) == COAT_OK ? 0 : -1;
}

static int teardown(void **state)
{
    sense_close(sense);
    assert_int_equal(waitpid(-1, NULL, WNOHANG), -1); /* no child is left, dead or alive */
    assert_int_equal(errno, ECHILD);
    return fake_teardown(state);
}

/* ---- the loop ---- */

static void turn(void)
{
    int64_t begin_ms = clock_real_ms();
    sense_turn(sense);
    int took_ms = (int)(clock_real_ms() - begin_ms);
    turn_worst_ms = took_ms > turn_worst_ms ? took_ms : turn_worst_ms;
}

/* Waits as coatd's loop does: for the descriptor or the moment it names, whichever is first. */
static void wait_and_turn(int64_t until_ms)
{
    int64_t now_ms = clock_real_ms(), next_ms = sense_next_ms(sense);
    int64_t wait_ms = (next_ms < until_ms ? next_ms : until_ms) - now_ms;
    struct pollfd ready = {.fd = sense_descriptor(sense), .events = POLLIN};
    (void)poll(&ready, 1, wait_ms < 0 ? 0 : (int)wait_ms);
    turn();
}

static void run_for(int64_t ms)
{
    int64_t until_ms = clock_real_ms() + ms;
    while (clock_real_ms() < until_ms)
        wait_and_turn(until_ms);
}

static void run_until_heard(size_t readings, size_t faults)
{
    int64_t until_ms = clock_real_ms() + 15000;
    while (heard.readings < readings || heard.faults < faults) {
        if (clock_real_ms() >= until_ms)
            fail_msg("after 15 s: %zu of %zu readings, %zu of %zu faults", heard.readings, readings, heard.faults, faults);
        wait_and_turn(until_ms);
    }
}

/* ---- sensors ---- */

static struct sensor sensor_of(int64_t id, enum sensor_kind kind, const char *source)
{
    struct sensor sensor = {.id = id, .kind = kind, .measures = {[AIR_TEMP] = true}, .interval_s = 1, .added_at = 1, .removed_at = MOMENT_NONE};
    snprintf(sensor.name, sizeof sensor.name, "sensor %d", (int)id);
    snprintf(sensor.source, sizeof sensor.source, "%s", source);
    return sensor;
}

/* `script` has no character that JSON would escape. */
static struct sensor shell(int64_t id, const char *script)
{
    char source[SENSOR_SOURCE_SIZE];
    assert_null(strpbrk(script, "\"\\"));
    snprintf(source, sizeof source, "[\"sh\",\"-c\",\"%s\"]", script);
    return sensor_of(id, SENSOR_COMMAND, source);
}

static void use(const struct sensor *sensors, size_t count)
{
    assert_int_equal(sense_set(sense, sensors, count), COAT_OK);
}

static const struct fake_file hygrometer[] = {
    {"name", "hygro7\n"}, {"in_temp_raw", "1250\n"}, {"in_temp_offset", "12\n"}, {"in_temp_scale", "15.625\n"}, {"in_humidityrelative_input", "55000\n"},
    {NULL, NULL},
};
#define HYGROMETER "devices/platform/i2c-1/1-005f/iio:device0"

static void near(double value, double wanted)
{
    if (!(fabs(value - wanted) < 1e-9))
        fail_msg("%.12g is not %.12g", value, wanted);
}

static long lines_in(const char *name)
{
    char path[FAKE_PATH_SIZE];
    long lines = 0;
    FILE *file = fopen(fake_path(path, "%s", name), "r");
    for (int c; file != NULL && (c = fgetc(file)) != EOF;)
        lines += c == '\n';
    if (file != NULL)
        (void)fclose(file);
    return lines;
}

/* ---- the schedule ---- */

static void a_device_is_asked_at_once_and_each_interval(void **state)
{
    (void)state;
    fake_iio("1-005f", 0, hygrometer);
    struct sensor sensor = sensor_of(7, SENSOR_SYSFS, "iio:hygro7");
    sensor.measures[AIR_RH] = true;
    int64_t begin_ms = clock_real_ms();
    use(&sensor, 1);
    assert_true(sense_next_ms(sense) <= clock_real_ms());
    run_until_heard(1, 0);
    assert_true(heard.read_ms[0] - begin_ms < 800);
    run_until_heard(3, 0);
    assert_int_equal(heard.reading[0].sensor_id, 7);
    assert_true(heard.reading[0].at_ms == MOMENT_NONE);
    near(heard.reading[0].temp_c, 19.719);
    near(heard.reading[0].rh_pct, 55.0);
    int64_t between_ms = (heard.read_ms[2] - heard.read_ms[0]) / 2;
    assert_true(between_ms > 800 && between_ms < 1300);
    assert_int_equal(heard.faults, 0);
}

static void a_device_that_got_another_number_is_found_again(void **state)
{
    (void)state;
    char old[FAKE_PATH_SIZE], moved[FAKE_PATH_SIZE];
    fake_iio("1-005f", 0, hygrometer);
    struct sensor sensor = sensor_of(7, SENSOR_SYSFS, "iio:hygro7");
    use(&sensor, 1);
    run_until_heard(1, 0);
    assert_int_equal(rename(fake_path(old, "bus/iio/devices/iio:device0"), fake_path(moved, "bus/iio/devices/iio:device4")), 0);
    run_until_heard(2, 0);
    near(heard.reading[1].temp_c, 19.719);
    assert_true(isnan(heard.reading[1].rh_pct)); /* it could, but was not asked for it */
    assert_int_equal(heard.faults, 0);
}

static void a_fault_is_told_once_and_so_is_its_end(void **state)
{
    (void)state;
    char link[FAKE_PATH_SIZE];
    struct sensor sensor = sensor_of(7, SENSOR_SYSFS, "iio:hygro7");
    use(&sensor, 1);
    run_until_heard(0, 1);
    assert_int_equal(heard.fault_of[0], 7);
    assert_non_null(strstr(heard.fault[0], "there is no iio device named hygro7"));
    run_for(2300); /* asked twice more */
    assert_int_equal(heard.faults, 1);
    assert_int_equal(heard.readings, 0);
    fake_iio("1-005f", 0, hygrometer);
    run_until_heard(1, 2);
    assert_string_equal(heard.fault[1], "");
    run_until_heard(2, 2);
    assert_int_equal(heard.faults, 2);
    assert_int_equal(unlink(fake_path(link, "bus/iio/devices/iio:device0")), 0);
    run_until_heard(2, 3);
    assert_non_null(strstr(heard.fault[2], "there is no iio device named hygro7"));
}

static void half_an_answer_is_a_reading_and_a_fault(void **state)
{
    (void)state;
    fake_iio("1-005f", 0, hygrometer);
    fake_set(HYGROMETER, "in_humidityrelative_input", "broken\n");
    struct sensor sensor = sensor_of(7, SENSOR_SYSFS, "iio:hygro7");
    sensor.measures[AIR_RH] = true;
    use(&sensor, 1);
    run_until_heard(1, 1);
    near(heard.reading[0].temp_c, 19.719);
    assert_true(isnan(heard.reading[0].rh_pct));
    assert_string_equal(heard.fault[0], "in_humidityrelative_input says \"broken\", which is no number");
}

static void a_command_tells_in_its_own_scales(void **state)
{
    (void)state;
    fake_set(".", "said", "{\"f\": 68, \"part\": \"0.55\"}\n");
    char script[FAKE_PATH_SIZE];
    snprintf(script, sizeof script, "cat %s/said", fake_root);
    struct sensor sensor = shell(3, script);
    sensor.measures[AIR_RH] = true;
    sensor.temp_scale = TEMP_SCALE_F;
    sensor.rh_scale = RH_SCALE_FRACTION;
    snprintf(sensor.pointer[AIR_TEMP], SENSOR_POINTER_SIZE, "/f");
    snprintf(sensor.pointer[AIR_RH], SENSOR_POINTER_SIZE, "/part");
    use(&sensor, 1);
    run_until_heard(1, 0);
    near(heard.reading[0].temp_c, 20.0);
    near(heard.reading[0].rh_pct, 55.0);
}

static void what_commands_do_wrong_is_told(void **state)
{
    (void)state;
    static const struct {
        const char *script, *part;
    } rows[] = {
        {"echo no sensor on the bus; exit 0", "\"no sensor on the bus\", which is no number"},
        {"echo cannot open the bus >&2; echo 18.2; exit 1", "sh ended with exit status 1: \"cannot open the bus\""}, /* and 18.2 does not count */
        {"kill -9 $$", "sh was ended by signal 9"},
        {"head -c 1000000 /dev/zero | tr '[:cntrl:]' 1", "said more than 65536 bytes"},
        {"true", "it says nothing"},
    };
    struct sensor sensors[sizeof rows / sizeof *rows + 1];
    size_t count = sizeof rows / sizeof *rows;
    for (size_t i = 0; i < count; i++)
        sensors[i] = shell((int64_t)i + 1, rows[i].script);
    sensors[count] = sensor_of((int64_t)count + 1, SENSOR_COMMAND, "[\"/nowhere/read-shed\"]");
    use(sensors, count + 1);
    run_until_heard(0, count + 1);
    for (size_t i = 0; i < heard.faults && i <= count; i++) {
        size_t row = (size_t)heard.fault_of[i] - 1;
        const char *part = row < count ? rows[row].part : fake_has_no_vfork() ? "exit status 127" : "/nowhere/read-shed cannot be started: No such file";
        if (strstr(heard.fault[i], part) == NULL)
            fail_msg("\"%s\" does not say \"%s\"", heard.fault[i], part);
    }
    assert_int_equal(heard.readings, 0);
}

/* One hangs for good and one lets a grandchild hold the pipe; the third is not kept waiting, nor is the loop. */
static void one_that_hangs_holds_nobody_up(void **state)
{
    (void)state;
    const struct sensor sensors[] = {shell(1, "sleep 60"), shell(2, "sleep 60 & echo 5"), shell(3, "echo 18.2")};
    use(sensors, 3);
    run_for(3300);
    size_t of_second = 0, of_third = 0;
    for (size_t i = 0; i < heard.readings; i++) {
        of_second += heard.reading[i].sensor_id == 2;
        of_third += heard.reading[i].sensor_id == 3;
    }
    assert_true(of_second >= 3 && of_third >= 3);
    assert_true(turn_worst_ms < TURN_MAX_MS);
}

/* The limit is 10 s; after it the fault is told, once, and the next try begins. */
static void one_that_hangs_is_ended_after_ten_seconds(void **state)
{
    (void)state;
    char script[FAKE_PATH_SIZE];
    snprintf(script, sizeof script, "echo >>%s/starts; sleep 60", fake_root);
    struct sensor sensor = shell(1, script);
    int64_t begin_ms = clock_real_ms();
    use(&sensor, 1);
    run_for(9500);
    assert_int_equal(lines_in("starts"), 1); /* one at a time, though nine more were due; the next may start in the turn that ends it */
    run_until_heard(0, 1);
    int64_t took_ms = clock_real_ms() - begin_ms;
    assert_true(took_ms >= 10000 && took_ms < 11500);
    assert_string_equal(heard.fault[0], "sh was not done in time and was ended");
    run_for(1500);
    assert_int_equal(lines_in("starts"), 2);
}

static void many_sensors_do_not_start_in_one_moment(void **state)
{
    (void)state;
    struct sensor sensors[20];
    for (int i = 0; i < 20; i++) {
        sensors[i] = shell(i + 1, "echo 18.2");
        sensors[i].interval_s = 60;
    }
    use(sensors, 20);
    run_until_heard(20, 0);
    bool seen[21] = {false};
    for (size_t i = 0; i < 20; i++)
        seen[heard.reading[i].sensor_id] = true;
    for (int i = 1; i <= 20; i++)
        assert_true(seen[i]);
    int64_t spread_ms = heard.read_ms[19] - heard.read_ms[0];
    assert_true(spread_ms >= 1800 && spread_ms < 6000);
    assert_true(turn_worst_ms < TURN_MAX_MS);
}

static void without_an_interval_it_is_a_minute(void **state)
{
    (void)state;
    struct sensor sensor = shell(1, "echo 18.2");
    sensor.interval_s = 0;
    int64_t begin_ms = clock_real_ms();
    use(&sensor, 1);
    run_until_heard(1, 0);
    int64_t next_ms = sense_next_ms(sense);
    assert_true(next_ms >= begin_ms + 60000 && next_ms < begin_ms + 61000);
}

/* ---- settings that change ---- */

static void a_new_name_or_another_sensor_does_not_disturb_it(void **state)
{
    (void)state;
    char script[FAKE_PATH_SIZE];
    snprintf(script, sizeof script, "echo >>%s/starts; sleep 0.4; echo 18.2", fake_root);
    struct sensor sensors[2] = {shell(1, script), shell(2, "echo 5")};
    sensors[0].interval_s = 60;
    use(sensors, 1);
    run_for(200); /* it runs */
    snprintf(sensors[0].name, sizeof sensors[0].name, "by the door");
    sensors[0].place_id = 4;
    use(sensors, 2);
    run_until_heard(2, 0);
    run_for(300);
    assert_int_equal(lines_in("starts"), 1);
}

static void a_changed_source_is_asked_at_once_and_ends_its_fault(void **state)
{
    (void)state;
    struct sensor sensor = shell(1, "exit 3");
    sensor.interval_s = 60;
    use(&sensor, 1);
    run_until_heard(0, 1);
    struct sensor other = shell(1, "echo 18.2");
    other.interval_s = 60;
    use(&other, 1);
    run_until_heard(1, 2);
    assert_string_equal(heard.fault[1], "");
}

static void a_removed_sensor_is_ended_and_says_no_more(void **state)
{
    (void)state;
    char script[FAKE_PATH_SIZE], path[FAKE_PATH_SIZE];
    int pid = 0;
    snprintf(script, sizeof script, "echo $$ >%s/pid; sleep 60", fake_root);
    struct sensor sensors[2] = {shell(1, script), shell(2, "echo 5")};
    use(sensors, 2);
    run_until_heard(1, 0);
    FILE *file = fopen(fake_path(path, "pid"), "r");
    assert_non_null(file);
    assert_int_equal(fscanf(file, "%d", &pid), 1);
    (void)fclose(file);
    sensors[0].removed_at = 5;
    use(sensors, 2);
    run_for(300);
    snprintf(path, sizeof path, "/proc/%d", pid);
    assert_int_equal(access(path, F_OK), -1); /* ended and reaped */
    use(sensors, 0);
    run_for(200);
    assert_true(sense_next_ms(sense) == INT64_MAX);
    size_t readings = heard.readings;
    run_for(1200);
    assert_int_equal(heard.readings, readings);
    assert_int_equal(heard.faults, 0);
}

static void those_that_are_told_have_no_source(void **state)
{
    (void)state;
    const struct sensor sensors[] = {sensor_of(1, SENSOR_BY_HAND, ""), sensor_of(2, SENSOR_PUSH, ""), sensor_of(3, SENSOR_IMPORT, "")};
    use(sensors, 3);
    run_for(50);
    assert_true(sense_next_ms(sense) == INT64_MAX);
}

/* ---- tests before anything is stored ---- */

static int64_t begin(const struct sensor *sensor)
{
    int64_t id = 0;
    struct coat_error error = {0};
    if (sense_test_begin(sense, sensor, &id, &error) != COAT_OK)
        fail_msg("%s", error.text);
    return id;
}

static struct sense_test wait_for_test(int64_t id)
{
    struct sense_test test = {0};
    int64_t until_ms = clock_real_ms() + 15000;
    for (;;) {
        assert_true(sense_test_get(sense, id, &test));
        if (test.done || clock_real_ms() >= until_ms)
            return test;
        wait_and_turn(until_ms);
    }
}

static void a_test_shows_what_was_said_and_what_it_means(void **state)
{
    (void)state;
    fake_iio("1-005f", 0, hygrometer);
    struct sensor sensor = sensor_of(0, SENSOR_SYSFS, "iio:hygro7");
    sensor.measures[AIR_RH] = true;
    struct sense_test test = wait_for_test(begin(&sensor));
    assert_true(test.done);
    assert_string_equal(test.raw[AIR_TEMP], "(1250 + 12) * 15.625");
    near(test.value[AIR_TEMP], 19.719);
    assert_string_equal(test.raw[AIR_RH], "55000");
    near(test.value[AIR_RH], 55.0);
    assert_string_equal(test.fault, "");
    sensor = shell(0, "echo 68.0");
    sensor.temp_scale = TEMP_SCALE_F;
    test = wait_for_test(begin(&sensor));
    assert_string_equal(test.raw[AIR_TEMP], "68.0");
    near(test.value[AIR_TEMP], 20.0);
    assert_int_equal(heard.readings, 0); /* nothing of it is a reading */
    assert_int_equal(heard.faults, 0);
}

static void a_test_that_fails_says_why_and_shows_the_rest(void **state)
{
    (void)state;
    fake_iio("1-005f", 0, hygrometer);
    struct sensor sensor = sensor_of(0, SENSOR_SYSFS, "iio:hygro");
    struct sense_test test = wait_for_test(begin(&sensor));
    assert_string_equal(test.fault, "there is no iio device named hygro; there are hygro7@1-005f");
    assert_true(isnan(test.value[AIR_TEMP]));
    sensor = shell(0, "echo {temp:18.2}");
    test = wait_for_test(begin(&sensor));
    assert_string_equal(test.raw[AIR_TEMP], "{temp:18.2}");
    assert_non_null(strstr(test.fault, "which is no number"));
    sensor = shell(0, "echo 18.2; exit 4");
    test = wait_for_test(begin(&sensor));
    assert_string_equal(test.raw[AIR_TEMP], "18.2");
    assert_true(isnan(test.value[AIR_TEMP]));
    assert_string_equal(test.fault, "sh ended with exit status 4");
}

static void settings_that_cannot_be_are_refused_at_once(void **state)
{
    (void)state;
    int64_t id = 0;
    struct coat_error error = {0};
    struct sensor sensor = sensor_of(0, SENSOR_SYSFS, "hygro7");
    assert_int_equal(sense_test_begin(sense, &sensor, &id, &error), COAT_BAD_VALUE);
    assert_string_equal(error.field, "source");
    sensor = sensor_of(0, SENSOR_BY_HAND, "");
    assert_int_equal(sense_test_begin(sense, &sensor, &id, &error), COAT_BAD_VALUE);
    assert_string_equal(error.field, "kind");
    struct sense_test test;
    assert_false(sense_test_get(sense, 0, &test));
    assert_false(sense_test_get(sense, 1, &test));
}

static void eight_tests_run_at_once_and_the_oldest_makes_room(void **state)
{
    (void)state;
    struct sensor slow = shell(0, "sleep 60"), quick = shell(0, "echo 18.2");
    struct sense_test test;
    struct coat_error error = {0};
    int64_t first = begin(&quick), second = begin(&quick), id = 0;
    (void)wait_for_test(first);
    (void)wait_for_test(second);
    for (int i = 2; i < SENSE_TESTS_MAX; i++)
        (void)begin(&slow);
    (void)begin(&slow); /* in place of the first */
    assert_false(sense_test_get(sense, first, &test));
    assert_true(sense_test_get(sense, second, &test));
    near(test.value[AIR_TEMP], 18.2);
    (void)begin(&slow);
    assert_false(sense_test_get(sense, second, &test));
    assert_int_equal(sense_test_begin(sense, &quick, &id, &error), COAT_CONFLICT);
    assert_non_null(strstr(error.text, "8 tests are running"));
}

/* The loop is busy elsewhere for a while, as after a suspend: it is asked once, not once for each beat that was missed. */
static void missed_beats_are_left_out(void **state)
{
    (void)state;
    struct sensor sensor = shell(1, "echo 18.2");
    use(&sensor, 1);
    run_until_heard(1, 0);
    (void)nanosleep(&(struct timespec){.tv_sec = 3, .tv_nsec = 300000000}, NULL);
    run_for(500);
    assert_int_equal(heard.readings, 2);
}

#define CASE(name) cmocka_unit_test_setup_teardown(name, setup, teardown)

int main(int argc, char **argv)
{
    if (argc == 3 && strcmp(argv[1], "--sense") == 0)
        return sense_device_main(getenv("COAT_SYSFS"), argv[2]);
    const struct CMUnitTest tests[] = {
        CASE(a_device_is_asked_at_once_and_each_interval),
        CASE(a_device_that_got_another_number_is_found_again),
        CASE(a_fault_is_told_once_and_so_is_its_end),
        CASE(half_an_answer_is_a_reading_and_a_fault),
        CASE(a_command_tells_in_its_own_scales),
        CASE(what_commands_do_wrong_is_told),
        CASE(one_that_hangs_holds_nobody_up),
        CASE(one_that_hangs_is_ended_after_ten_seconds),
        CASE(many_sensors_do_not_start_in_one_moment),
        CASE(without_an_interval_it_is_a_minute),
        CASE(a_new_name_or_another_sensor_does_not_disturb_it),
        CASE(a_changed_source_is_asked_at_once_and_ends_its_fault),
        CASE(a_removed_sensor_is_ended_and_says_no_more),
        CASE(those_that_are_told_have_no_source),
        CASE(a_test_shows_what_was_said_and_what_it_means),
        CASE(a_test_that_fails_says_why_and_shows_the_rest),
        CASE(settings_that_cannot_be_are_refused_at_once),
        CASE(eight_tests_run_at_once_and_the_oldest_makes_room),
        CASE(missed_beats_are_left_out),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
