/* The links to brokers as the tests drive them: JSON lines in, JSON lines out, until stdin ends. argv[1] is the courier.
 *
 *     {"set":[{"id":1,"source":…,"user":…,"secret":…,"ca_file":…}]}  {"test":{…}}  {"end":2}  {"stats":true}
 *     {"payload":[1,"18.2"]}  {"fault":[1,"…"]}  {"test_payload":[2,"…"]}  {"test_fault":[2,"…"]}  {"turns":12,"longest_us":800,"work_us":700}
 *
 * A test that has its answer is ended from within the call. */
#include "daemon/sense/mqtt.h"

#include "coat/clock.h"

#include <cjson/cJSON.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#define SENSORS_MAX 64

struct driver {
    struct mqtt_links *links;
    int64_t turns;
    int64_t longest_us, work_us; /* of one turn: as the clock tells, and of this process alone */
    int64_t calls_us, calls_work_us; /* of the present turn: who reads what we print may be slow, which is not the links' fault */
    size_t length;
    char line[1 << 16];
};

static int64_t now_us(clockid_t clock)
{
    struct timespec at = {0};
    (void)clock_gettime(clock, &at);
    return (int64_t)at.tv_sec * 1000000 + at.tv_nsec / 1000;
}

/* ---- out ---- */

static void print(cJSON *object)
{
    char *text = cJSON_PrintUnformatted(object);
    puts(text);
    (void)fflush(stdout);
    cJSON_free(text);
    cJSON_Delete(object);
}

static void print_call(struct driver *driver, const char *name, int64_t id, const char *text)
{
    int64_t begin_us = now_us(CLOCK_MONOTONIC), begin_work_us = now_us(CLOCK_PROCESS_CPUTIME_ID);
    cJSON *object = cJSON_CreateObject();
    cJSON *pair = cJSON_AddArrayToObject(object, name);
    cJSON_AddItemToArray(pair, cJSON_CreateNumber((double)id));
    cJSON_AddItemToArray(pair, cJSON_CreateString(text));
    print(object);
    driver->calls_us += now_us(CLOCK_MONOTONIC) - begin_us;
    driver->calls_work_us += now_us(CLOCK_PROCESS_CPUTIME_ID) - begin_work_us;
}

static void take_payload(void *context, int64_t id, const char *text, size_t length, bool retained)
{
    (void)retained;
    print_call(context, strlen(text) == length ? "payload" : "wrong length", id, text);
}

static void take_fault(void *context, int64_t id, const char *text)
{
    print_call(context, "fault", id, text);
}

static void take_test_payload(void *context, int64_t id, const char *text, size_t length)
{
    struct driver *driver = context;
    print_call(driver, strlen(text) == length ? "test_payload" : "wrong length", id, text);
    mqtt_links_test_end(driver->links, id);
}

static void take_test_fault(void *context, int64_t id, const char *text)
{
    struct driver *driver = context;
    print_call(driver, "test_fault", id, text);
    mqtt_links_test_end(driver->links, id);
}

static void print_stats(const struct driver *driver)
{
    cJSON *object = cJSON_CreateObject();
    cJSON_AddNumberToObject(object, "turns", (double)driver->turns);
    cJSON_AddNumberToObject(object, "longest_us", (double)driver->longest_us);
    cJSON_AddNumberToObject(object, "work_us", (double)driver->work_us);
    print(object);
}

/* ---- in ---- */

static void copy_text(const cJSON *object, const char *name, char *ret, size_t size)
{
    const char *text = cJSON_GetStringValue(cJSON_GetObjectItemCaseSensitive(object, name));
    snprintf(ret, size, "%s", text != NULL ? text : "");
}

static void read_sensor(const cJSON *object, struct sensor *ret)
{
    *ret = (struct sensor){.kind = SENSOR_MQTT, .id = (int64_t)cJSON_GetNumberValue(cJSON_GetObjectItemCaseSensitive(object, "id"))};
    copy_text(object, "source", ret->source, sizeof ret->source);
    copy_text(object, "user", ret->user, sizeof ret->user);
    copy_text(object, "secret", ret->secret, sizeof ret->secret);
    copy_text(object, "ca_file", ret->ca_file, sizeof ret->ca_file);
}

static enum coat_result set_sensors(struct driver *driver, const cJSON *list)
{
    static struct sensor sensors[SENSORS_MAX];
    size_t count = 0;
    const cJSON *item = NULL;
    cJSON_ArrayForEach(item, list)
        if (count < SENSORS_MAX)
            read_sensor(item, &sensors[count++]);
    return mqtt_links_set(driver->links, sensors, count);
}

static void obey(struct driver *driver, const char *line)
{
    struct sensor settings;
    struct coat_error error = {0};
    enum coat_result result = COAT_OK;
    cJSON *object = cJSON_Parse(line);
    const cJSON *set = cJSON_GetObjectItemCaseSensitive(object, "set");
    const cJSON *test = cJSON_GetObjectItemCaseSensitive(object, "test");
    const cJSON *end = cJSON_GetObjectItemCaseSensitive(object, "end");
    if (set != NULL) {
        result = set_sensors(driver, set);
    } else if (test != NULL) {
        read_sensor(test, &settings);
        result = mqtt_links_test_begin(driver->links, settings.id, &settings, &error);
    } else if (end != NULL) {
        mqtt_links_test_end(driver->links, (int64_t)cJSON_GetNumberValue(end));
    } else {
        print_stats(driver);
    }
    if (result != COAT_OK)
        print_call(driver, "failed", (int64_t)result, error.text);
    cJSON_Delete(object);
}

/* False at the end of stdin. */
static bool read_lines(struct driver *driver)
{
    ssize_t got = read(STDIN_FILENO, driver->line + driver->length, sizeof driver->line - 1 - driver->length);
    if (got <= 0)
        return false;
    driver->length += (size_t)got;
    driver->line[driver->length] = '\0';
    for (char *stop = strchr(driver->line, '\n'); stop != NULL; stop = strchr(driver->line, '\n')) {
        *stop = '\0';
        obey(driver, driver->line);
        driver->length -= (size_t)(stop + 1 - driver->line);
        memmove(driver->line, stop + 1, driver->length + 1);
    }
    return true;
}

/* ---- the loop ---- */

static int64_t longer(int64_t one_us, int64_t other_us)
{
    return one_us > other_us ? one_us : other_us;
}

static void take_turn(struct driver *driver)
{
    int64_t begin_us = now_us(CLOCK_MONOTONIC), begin_work_us = now_us(CLOCK_PROCESS_CPUTIME_ID);
    driver->calls_us = driver->calls_work_us = 0;
    mqtt_links_turn(driver->links);
    driver->longest_us = longer(driver->longest_us, now_us(CLOCK_MONOTONIC) - begin_us - driver->calls_us);
    driver->work_us = longer(driver->work_us, now_us(CLOCK_PROCESS_CPUTIME_ID) - begin_work_us - driver->calls_work_us);
    driver->turns++;
}

static int wait_time_ms(const struct driver *driver)
{
    int64_t next_ms = mqtt_links_next_ms(driver->links);
    int64_t now_ms = clock_real_ms();
    return next_ms == INT64_MAX ? -1 : next_ms <= now_ms ? 0 : (int)(next_ms - now_ms);
}

int main(int argc, char **argv)
{
    static struct driver driver;
    struct coat_error error = {0};
    const struct mqtt_calls calls = {.context = &driver, .payload = take_payload, .fault = take_fault,
                                     .test_payload = take_test_payload, .test_fault = take_test_fault};
    if (argc != 2 || mqtt_links_open(argv[1], &calls, &driver.links, &error) != COAT_OK)
        return EXIT_FAILURE;
    for (bool going = true; going;) {
        struct pollfd watched[2] = {{.fd = STDIN_FILENO, .events = POLLIN}, {.fd = mqtt_links_descriptor(driver.links), .events = POLLIN}};
        (void)poll(watched, 2, wait_time_ms(&driver));
        if (watched[0].revents != 0)
            going = read_lines(&driver);
        take_turn(&driver);
    }
    mqtt_links_close(driver.links);
    return EXIT_SUCCESS;
}
