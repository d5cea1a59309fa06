/* Devices of a sysfs laid out as the kernel's documents give it, read by their names in a process of their own. */
#include "coat/sense.h"
#include "tests/sense/fake.h"

#include <cjson/cJSON.h>
#include <fcntl.h>
#include <math.h>
#include <signal.h>
#include <sys/wait.h>
#include <time.h>

/* The line that `coatd --sense SOURCE` would print, and its exit status. */
static int sense(const char *source, char line[2048])
{
    int ends[2], status = 0;
    size_t length = 0;
    assert_int_equal(pipe(ends), 0);
    pid_t pid = fork();
    assert_true(pid >= 0);
    if (pid == 0) {
        (void)dup2(ends[1], STDOUT_FILENO);
        close(ends[0]);
        (void)execl(fake_self, fake_self, "--sense", source, (char *)NULL);
        _exit(99);
    }
    close(ends[1]);
    for (ssize_t got; length < 2047 && (got = read(ends[0], line + length, 2047 - length)) > 0;)
        length += (size_t)got;
    line[length] = '\0';
    close(ends[0]);
    assert_int_equal(waitpid(pid, &status, 0), pid);
    assert_true(WIFEXITED(status));
    return WEXITSTATUS(status);
}

static void says(const char *source, const char *wanted)
{
    char line[2048];
    int status = sense(source, line);
    line[strcspn(line, "\n")] = '\0';
    assert_string_equal(line, wanted);
    assert_int_equal(status, EXIT_SUCCESS);
}

/* It gives nothing, and the line says why. */
static void faults(const char *source, const char *part)
{
    char line[2048];
    assert_int_equal(sense(source, line), EXIT_FAILURE);
    assert_non_null(strstr(line, "\"fault\":"));
    if (strstr(line, part) == NULL)
        fail_msg("%s does not say \"%s\"", line, part);
}

static const struct fake_file hygrometer[] = { /* raw values, as most drivers for the bus give them */
    {"name", "hygro7\n"}, {"in_temp_raw", "1250\n"}, {"in_temp_offset", "12\n"}, {"in_temp_scale", "15.625\n"},
    {"in_humidityrelative_raw", "-4800\n"}, {"in_humidityrelative_offset", "8000.5\n"}, {"in_humidityrelative_scale", "17.25\n"}, {NULL, NULL},
};
static const struct fake_file barometer[] = {
    {"name", "baro5\n"}, {"in_temp_input", "19720\n"}, {"in_humidityrelative_input", "54123\n"}, {"in_pressure_input", "98.1\n"}, {NULL, NULL},
};
static const struct fake_file accelerometer[] = {{"name", "accel3\n"}, {"in_accel_x_raw", "3\n"}, {NULL, NULL}};

/* ---- industrial I/O ---- */

/* (1250 + 12) * 15.625 = 19718.75 thousandths of a degree, (-4800 + 8000.5) * 17.25 = 55208.6 thousandths of a percent. */
static void raw_values_are_offset_then_scaled(void **state)
{
    (void)state;
    fake_iio("1-005f", 0, hygrometer);
    says("iio:hygro7", "{\"device\":\"iio:hygro7@1-005f\",\"temperature\":{\"raw\":\"(1250 + 12) * 15.625\",\"value\":19.719},"
                       "\"humidity\":{\"raw\":\"(-4800 + 8000.5) * 17.25\",\"value\":55.209}}");
}

static void processed_values_are_thousandths(void **state)
{
    (void)state;
    fake_iio("1-0076", 0, barometer);
    says("iio:baro5", "{\"device\":\"iio:baro5@1-0076\",\"temperature\":{\"raw\":\"19720\",\"value\":19.72},\"humidity\":{\"raw\":\"54123\",\"value\":54.123}}");
}

static void a_missing_offset_is_0_and_a_missing_scale_1(void **state)
{
    (void)state;
    static const struct fake_file files[] = {{"name", "tmp"}, {"in_temp_raw", "-5250"}, {"in_humidityrelative_raw", "512"},
                                             {"in_humidityrelative_scale", "100"}, {NULL, NULL}};
    fake_iio("1-0048", 3, files);
    says("iio:tmp", "{\"device\":\"iio:tmp@1-0048\",\"temperature\":{\"raw\":\"-5250\",\"value\":-5.25},\"humidity\":{\"raw\":\"512 * 100\",\"value\":51.2}}");
}

/* A thermometer with two views: the air around it counts, with the scale that both share. */
static void an_infrared_thermometer_gives_its_ambient(void **state)
{
    (void)state;
    static const struct fake_file files[] = {{"name", "infra2"}, {"in_temp_ambient_raw", "14650"}, {"in_temp_object_raw", "18000"},
                                             {"in_temp_scale", "20"}, {"in_temp_offset", "-13657.5"}, {NULL, NULL}};
    fake_iio("1-005a", 0, files);
    says("iio:infra2", "{\"device\":\"iio:infra2@1-005a\",\"temperature\":{\"raw\":\"(14650 + -13657.5) * 20\",\"value\":19.85}}");
}

static void numbers_change_with_the_boot_and_names_do_not(void **state)
{
    (void)state;
    char line[2048], before[2048], old[FAKE_PATH_SIZE], moved[FAKE_PATH_SIZE];
    fake_iio("1-005f", 0, hygrometer);
    fake_iio("1-0076", 1, barometer);
    assert_int_equal(sense("iio:hygro7", before), EXIT_SUCCESS);
    assert_int_equal(unlink(fake_path(old, "bus/iio/devices/iio:device0")), 0);
    assert_int_equal(rename(fake_path(old, "bus/iio/devices/iio:device1"), fake_path(moved, "bus/iio/devices/iio:device0")), 0);
    fake_link("../../../devices/platform/i2c-1/1-005f/iio:device0", fake_path(moved, "bus/iio/devices/iio:device7"));
    assert_int_equal(sense("iio:hygro7", line), EXIT_SUCCESS);
    assert_string_equal(line, before);
    assert_non_null(strstr(line, "hygro7"));
}

static void two_alike_are_told_apart_by_where_they_hang_or_by_label(void **state)
{
    (void)state;
    fake_iio("1-005f", 0, hygrometer);
    fake_iio("2-005f", 1, hygrometer);
    fake_set("devices/platform/i2c-1/2-005f/iio:device1", "in_temp_raw", "0");
    faults("iio:hygro7", "2 iio devices are named hygro7: write which, one of hygro7@1-005f, hygro7@2-005f");
    says("iio:hygro7@2-005f", "{\"device\":\"iio:hygro7@2-005f\",\"temperature\":{\"raw\":\"(0 + 12) * 15.625\",\"value\":0.188},"
                              "\"humidity\":{\"raw\":\"(-4800 + 8000.5) * 17.25\",\"value\":55.209}}");
    fake_set("devices/platform/i2c-1/2-005f/iio:device1", "label", "drying-cabinet\n");
    char line[2048];
    assert_int_equal(sense("iio:drying-cabinet", line), EXIT_SUCCESS);
    assert_non_null(strstr(line, "iio:drying-cabinet@2-005f"));
}

/* Platform devices of some one-wire humidity sensors carry an @ in their own name. */
static void a_name_may_have_an_at(void **state)
{
    (void)state;
    static const struct fake_file files[] = {{"name", "wire@11"}, {"in_temp_input", "21000"}, {"in_humidityrelative_input", "40000"}, {NULL, NULL}};
    fake_iio("wire@11", 0, files);
    says("iio:wire@11", "{\"device\":\"iio:wire@11@wire@11\",\"temperature\":{\"raw\":\"21000\",\"value\":21},\"humidity\":{\"raw\":\"40000\",\"value\":40}}");
    char line[2048];
    assert_int_equal(sense("iio:wire@11@wire@11", line), EXIT_SUCCESS); /* as it calls itself */
}

static void a_wrong_name_is_told_with_what_there_is(void **state)
{
    (void)state;
    faults("iio:hygro", "there is no iio device named hygro, and no other that measures air");
    fake_iio("1-005f", 0, hygrometer);
    fake_iio("1-0076", 1, barometer);
    fake_iio("1-0019", 2, accelerometer);
    faults("iio:hygro", "there is no iio device named hygro; there are baro5@1-0076, hygro7@1-005f\"");
    faults("iio:accel3", "the iio device accel3 measures neither temperature nor humidity");
    faults("spi:x", "is no device of the kernel");
}

/* A folder where the file should be answers with an error, as a device does that does not answer. */
static void a_device_that_does_not_answer_is_asked_again_and_told(void **state)
{
    (void)state;
    char path[FAKE_PATH_SIZE], line[2048];
    fake_iio("1-005f", 0, hygrometer);
    assert_int_equal(unlink(fake_path(path, "devices/platform/i2c-1/1-005f/iio:device0/in_temp_raw")), 0);
    assert_int_equal(mkdir(path, 0700), 0);
    struct timespec begin, end;
    assert_int_equal(clock_gettime(CLOCK_MONOTONIC, &begin), 0);
    assert_int_equal(sense("iio:hygro7", line), EXIT_SUCCESS); /* the humidity is good all the same */
    assert_int_equal(clock_gettime(CLOCK_MONOTONIC, &end), 0);
    assert_non_null(strstr(line, "\"temperature\":{\"fault\":\"in_temp_raw could not be read in 3 tries: "));
    assert_non_null(strstr(line, "\"value\":55.209"));
    double passed_s = (double)(end.tv_sec - begin.tv_sec) + (double)(end.tv_nsec - begin.tv_nsec) / 1e9;
    assert_true(passed_s >= 0.4 && passed_s < 3.0); /* two pauses of 200 ms */
}

static void what_is_no_number_is_a_fault(void **state)
{
    (void)state;
    fake_iio("1-0076", 0, barometer);
    fake_set("devices/platform/i2c-1/1-0076/iio:device0", "in_humidityrelative_input", "n/a\n");
    char line[2048];
    assert_int_equal(sense("iio:baro5", line), EXIT_SUCCESS);
    assert_non_null(strstr(line, "\"humidity\":{\"raw\":\"n/a\",\"fault\":\"in_humidityrelative_input says \\\"n/a\\\", which is no number\"}"));
    fake_iio("1-005f", 1, hygrometer);
    fake_set("devices/platform/i2c-1/1-005f/iio:device1", "in_temp_scale", "");
    assert_int_equal(sense("iio:hygro7", line), EXIT_SUCCESS);
    assert_non_null(strstr(line, "in_temp_scale says \\\"\\\", which is no number"));
}

/* ---- hardware monitoring ---- */

static const struct fake_file monitor[] = {
    {"name", "hygro3\n"}, {"temp1_input", "21437\n"}, {"humidity1_input", "61002\n"}, {NULL, NULL},
};

static void a_monitor_gives_thousandths(void **state)
{
    (void)state;
    fake_hwmon("1-0044", 2, monitor);
    says("hwmon:hygro3", "{\"device\":\"hwmon:hygro3@1-0044\",\"temperature\":{\"raw\":\"21437\",\"value\":21.437},\"humidity\":{\"raw\":\"61002\",\"value\":61.002}}");
    char line[2048];
    assert_int_equal(sense("hwmon:hygro3@1-0044", line), EXIT_SUCCESS);
    assert_int_equal(sense("hwmon:hygro3@1-0045", line), EXIT_FAILURE);
}

static void of_several_temperatures_one_is_named(void **state)
{
    (void)state;
    static const struct fake_file files[] = {{"name", "board"}, {"temp1_input", "31000"}, {"temp1_label", "SYSTIN\n"}, {"temp2_input", "18500"},
                                             {"temp2_label", "Shed probe\n"}, {"temp3_input", "9000"}, {NULL, NULL}};
    fake_hwmon("board.656", 0, files);
    faults("hwmon:board", "has 3 temperatures: write which after a slash, one of SYSTIN, Shed probe, temp3");
    faults("hwmon:board/cellar", "has no temperature labelled cellar; there is SYSTIN, Shed probe, temp3");
    says("hwmon:board/shed probe", "{\"device\":\"hwmon:board@board.656\",\"temperature\":{\"raw\":\"18500\",\"value\":18.5}}");
    says("hwmon:board/temp3", "{\"device\":\"hwmon:board@board.656\",\"temperature\":{\"raw\":\"9000\",\"value\":9}}");
}

static void a_monitor_that_calls_itself_faulty_is_believed(void **state)
{
    (void)state;
    fake_hwmon("1-0044", 0, monitor);
    fake_set("devices/platform/i2c-1/1-0044/hwmon/hwmon0", "temp1_fault", "1\n");
    char line[2048];
    assert_int_equal(sense("hwmon:hygro3", line), EXIT_SUCCESS);
    assert_non_null(strstr(line, "\"temperature\":{\"fault\":\"the device says itself that it is faulty (temp1_fault is 1)"));
    assert_non_null(strstr(line, "\"value\":61.002"));
    fake_set("devices/platform/i2c-1/1-0044/hwmon/hwmon0", "temp1_fault", "0\n");
    assert_int_equal(sense("hwmon:hygro3", line), EXIT_SUCCESS);
    assert_non_null(strstr(line, "\"value\":21.437"));
}

/* ---- 1-wire ---- */

#define PROBE "28-0316a2794bff"
#define GOOD "4b 46 7f ff 0c 10 1c"
#define LINE(t, crc) "72 01 " GOOD " : crc=1c " crc "\n72 01 " GOOD " t=" t "\n"

static void probe(const char *text)
{
    const struct fake_file files[] = {{"name", PROBE "\n"}, {"w1_slave", text}, {"temperature", "99999\n"}, {NULL, NULL}};
    fake_w1(PROBE, files);
}

static void the_checksum_is_looked_at(void **state)
{
    (void)state;
    probe(LINE("23125", "YES"));
    says("w1:" PROBE, "{\"device\":\"w1:" PROBE "\",\"temperature\":{\"raw\":\"t=23125\",\"value\":23.125}}");
    fake_set("devices/w1_bus_master1/" PROBE, "w1_slave", LINE("-1062", "YES"));
    says("w1:" PROBE, "{\"device\":\"w1:" PROBE "\",\"temperature\":{\"raw\":\"t=-1062\",\"value\":-1.062}}");
    fake_set("devices/w1_bus_master1/" PROBE, "w1_slave", LINE("23125", "NO"));
    faults("w1:" PROBE, "\"raw\":\"t=23125\",\"fault\":\"w1_slave gave a wrong checksum in 3 tries");
}

static void values_of_a_probe_without_power_are_not_believed(void **state)
{
    (void)state;
    probe(LINE("85000", "YES"));
    faults("w1:" PROBE, "it reads 85 C in 3 tries, its value after power-up");
    fake_set("devices/w1_bus_master1/" PROBE, "w1_slave", LINE("127937", "YES"));
    faults("w1:" PROBE, "it reads 127.94 C, which means that it has too little power");
    fake_set("devices/w1_bus_master1/" PROBE, "w1_slave", "00 00 00 00 00 00 00 00 00 : crc=00 YES\n00 00 00 00 00 00 00 00 00 t=0\n");
    faults("w1:" PROBE, "nothing but zeros in 3 tries: the data wire is shorted");
    fake_set("devices/w1_bus_master1/" PROBE, "w1_slave", LINE("85062", "YES")); /* an oven that really is that hot */
    says("w1:" PROBE, "{\"device\":\"w1:" PROBE "\",\"temperature\":{\"raw\":\"t=85062\",\"value\":85.062}}");
}

/* A pipe in place of the file gives each reader the next text. */
static void feed(const char *path, const char *const *texts)
{
    for (; *texts != NULL; texts++) {
        int fd = open(path, O_WRONLY);
        if (fd < 0 || write(fd, *texts, strlen(*texts)) < 0)
            _exit(1);
        close(fd);
        (void)nanosleep(&(struct timespec){.tv_nsec = 100000000}, NULL); /* until the reader has closed its end */
    }
    _exit(0);
}

static void says_after(const char *file, const char *const *texts, const char *wanted)
{
    char path[FAKE_PATH_SIZE];
    (void)unlink(fake_path(path, "devices/w1_bus_master1/" PROBE "/%s", file));
    assert_int_equal(mkfifo(path, 0600), 0);
    pid_t feeder = fork();
    assert_true(feeder >= 0);
    if (feeder == 0)
        feed(path, texts);
    says("w1:" PROBE, wanted);
    int status = 0;
    (void)kill(feeder, SIGKILL);
    assert_int_equal(waitpid(feeder, &status, 0), feeder);
}

static void the_next_good_try_counts(void **state)
{
    (void)state;
    static const char *const warming_up[] = {LINE("85000", "YES"), LINE("23000", "NO"), LINE("18437", "YES"), NULL};
    probe(LINE("23125", "YES"));
    says_after("w1_slave", warming_up, "{\"device\":\"w1:" PROBE "\",\"temperature\":{\"raw\":\"t=18437\",\"value\":18.437}}");
}

static void without_a_scratchpad_the_plain_file_does_and_may_be_empty_at_first(void **state)
{
    (void)state;
    static const struct fake_file files[] = {{"name", PROBE}, {"temperature", "18437\n"}, {NULL, NULL}};
    static const char *const converting[] = {"\n", "18500\n", NULL};
    fake_w1(PROBE, files);
    says("w1:" PROBE, "{\"device\":\"w1:" PROBE "\",\"temperature\":{\"raw\":\"18437\",\"value\":18.437}}");
    fake_set("devices/w1_bus_master1/" PROBE, "temperature", "");
    faults("w1:" PROBE, "temperature was empty in 3 tries");
    says_after("temperature", converting, "{\"device\":\"w1:" PROBE "\",\"temperature\":{\"raw\":\"18500\",\"value\":18.5}}");
}

static void other_serial_numbers_are_told(void **state)
{
    (void)state;
    static const struct fake_file none[] = {{"name", "x"}, {NULL, NULL}};
    probe(LINE("23125", "YES"));
    fake_w1("w1_bus_master1", none);
    faults("w1:28-000000000000", "there is no w1 device named 28-000000000000; there are " PROBE "\"");
    fake_w1("26-0000013a4b5c", none);
    faults("w1:26-0000013a4b5c", "has no temperature: it is no thermometer, or its driver");
}

#define CASE(name) cmocka_unit_test_setup_teardown(name, fake_setup, fake_teardown)

int main(int argc, char **argv)
{
    if (argc == 3 && strcmp(argv[1], "--sense") == 0)
        return sense_device_main(getenv("COAT_SYSFS"), argv[2]);
    const struct CMUnitTest tests[] = {
        CASE(raw_values_are_offset_then_scaled),
        CASE(processed_values_are_thousandths),
        CASE(a_missing_offset_is_0_and_a_missing_scale_1),
        CASE(an_infrared_thermometer_gives_its_ambient),
        CASE(numbers_change_with_the_boot_and_names_do_not),
        CASE(two_alike_are_told_apart_by_where_they_hang_or_by_label),
        CASE(a_name_may_have_an_at),
        CASE(a_wrong_name_is_told_with_what_there_is),
        CASE(a_device_that_does_not_answer_is_asked_again_and_told),
        CASE(what_is_no_number_is_a_fault),
        CASE(a_monitor_gives_thousandths),
        CASE(of_several_temperatures_one_is_named),
        CASE(a_monitor_that_calls_itself_faulty_is_believed),
        CASE(the_checksum_is_looked_at),
        CASE(values_of_a_probe_without_power_are_not_believed),
        CASE(the_next_good_try_counts),
        CASE(without_a_scratchpad_the_plain_file_does_and_may_be_empty_at_first),
        CASE(other_serial_numbers_are_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
