/* The channels as the tests drive them: JSON lines in, JSON lines out, until stdin ends. argv: the courier, and the first wait after a failure in ms.
 *
 *     {"set":[{"id":1,"kind":"mail","target":…,"user":…,"secret":…,"from":…,"to":…,"ca_file":…}]}  {"tell":7,"subject":…,"text":…}  {"drop":7}  {"test":{…}}  {"stats":true}
 *     {"tried":[1,7,true,"250 queued"]}  {"tested":[2,false,"…"]}  {"failed":"…"}  {"turns":12,"work_us":700}
 *
 * A notice that was told is pending with each channel until it was delivered there, or dropped. */
#include "coat/clock.h"
#include "coat/notify.h"
#include "coat/words.h"

#include <cjson/cJSON.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#define CHANNELS_MAX 64
#define NOTICES_MAX 4096

struct told {
    int64_t id;
    bool delivered[CHANNELS_MAX]; /* by the channel's id */
    char *subject, *text, *json;
};

struct driver {
    struct notify *notify;
    struct told notices[NOTICES_MAX];
    size_t count;
    int64_t tests[NOTIFY_TESTS_MAX * 4];
    size_t test_count;
    int64_t turns, work_us, calls_us; /* of one turn: of this process alone, without what we print */
    char id[64];
    size_t length;
    char line[1 << 16];
};

static int64_t work_us(void)
{
    struct timespec at = {0};
    (void)clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &at);
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

static void print_answer(const char *name, int64_t first, int64_t second, bool delivered, const char *answer)
{
    cJSON *object = cJSON_CreateObject();
    cJSON *list = cJSON_AddArrayToObject(object, name);
    cJSON_AddItemToArray(list, cJSON_CreateNumber((double)first));
    if (second != 0)
        cJSON_AddItemToArray(list, cJSON_CreateNumber((double)second));
    cJSON_AddItemToArray(list, cJSON_CreateBool(delivered));
    cJSON_AddItemToArray(list, cJSON_CreateString(answer));
    print(object);
}

static void print_failure(const char *text)
{
    cJSON *object = cJSON_CreateObject();
    cJSON_AddStringToObject(object, "failed", text);
    print(object);
}

/* ---- the shop's side ---- */

static struct told *find(struct driver *driver, int64_t id)
{
    for (size_t i = 0; i < driver->count; i++)
        if (driver->notices[i].id == id)
            return &driver->notices[i];
    return NULL;
}

static size_t find_pending(void *context, int64_t channel_id, int64_t *ids, size_t most)
{
    struct driver *driver = context;
    size_t count = 0;
    for (size_t i = 0; i < driver->count && count < most; i++)
        if (driver->notices[i].id != 0 && !driver->notices[i].delivered[channel_id])
            ids[count++] = driver->notices[i].id;
    return count;
}

static bool make_message(void *context, int64_t channel_id, int64_t notice_id, struct notify_message *ret)
{
    struct driver *driver = context;
    const struct told *told = find(driver, notice_id);
    (void)channel_id;
    if (told == NULL)
        return false;
    snprintf(driver->id, sizeof driver->id, "notice-%lld@0123456789abcdef", (long long)notice_id);
    *ret = (struct notify_message){.notice_id = notice_id, .id = driver->id, .kind = "window-opens", .subject = told->subject, .text = told->text, .json = told->json};
    return true;
}

static void take_try(void *context, int64_t channel_id, int64_t notice_id, bool delivered, const char *answer)
{
    struct driver *driver = context;
    struct told *told = find(driver, notice_id);
    int64_t begin_us = work_us();
    if (told != NULL && delivered)
        told->delivered[channel_id] = true;
    print_answer("tried", channel_id, notice_id, delivered, answer);
    driver->calls_us += work_us() - begin_us;
}

/* ---- in ---- */

static const char *text_of(const cJSON *object, const char *name)
{
    const char *text = cJSON_GetStringValue(cJSON_GetObjectItemCaseSensitive(object, name));
    return text != NULL ? text : "";
}

static void read_channel(const cJSON *object, struct channel *ret)
{
    *ret = (struct channel){.id = (int64_t)cJSON_GetNumberValue(cJSON_GetObjectItemCaseSensitive(object, "id")), .removed_at = MOMENT_NONE};
    for (int kind = 0; kind < (int)CHANNEL_KIND_COUNT; kind++)
        if (strcmp(channel_kind_word((enum channel_kind)kind), text_of(object, "kind")) == 0)
            ret->kind = (enum channel_kind)kind;
    snprintf(ret->target, sizeof ret->target, "%s", text_of(object, "target"));
    snprintf(ret->user, sizeof ret->user, "%s", text_of(object, "user"));
    snprintf(ret->secret, sizeof ret->secret, "%s", text_of(object, "secret"));
    snprintf(ret->from, sizeof ret->from, "%s", text_of(object, "from"));
    snprintf(ret->to, sizeof ret->to, "%s", text_of(object, "to"));
    snprintf(ret->ca_file, sizeof ret->ca_file, "%s", text_of(object, "ca_file"));
}

static void set_channels(struct driver *driver, const cJSON *list)
{
    static struct channel channels[CHANNELS_MAX];
    size_t count = 0;
    const cJSON *item = NULL;
    cJSON_ArrayForEach(item, list)
        if (count < CHANNELS_MAX)
            read_channel(item, &channels[count++]);
    if (notify_set(driver->notify, channels, count) != COAT_OK)
        print_failure("the channels could not be set");
}

static void tell(struct driver *driver, int64_t id, const cJSON *line)
{
    struct told *told = &driver->notices[driver->count];
    if (driver->count == NOTICES_MAX)
        return;
    driver->count++;
    char json[64];
    snprintf(json, sizeof json, "{\"id\":%lld}", (long long)id);
    *told = (struct told){.id = id, .subject = strdup(text_of(line, "subject")), .text = strdup(text_of(line, "text"))};
    told->json = strdup(text_of(line, "json")[0] != '\0' ? text_of(line, "json") : json);
    notify_wake(driver->notify);
}

static void begin_test(struct driver *driver, const cJSON *settings)
{
    struct channel channel;
    struct coat_error error = {0};
    const struct notify_message message = {.id = "test-1@0123456789abcdef", .kind = "window-opens", .subject = "This is a test", .text = "It works.", .json = "{\"test\":true}"};
    read_channel(settings, &channel);
    if (driver->test_count == sizeof driver->tests / sizeof *driver->tests)
        return;
    if (notify_test_begin(driver->notify, &channel, &message, &driver->tests[driver->test_count], &error) == COAT_OK)
        driver->test_count++;
    else
        print_failure(error.text);
}

static void print_stats(const struct driver *driver)
{
    cJSON *object = cJSON_CreateObject();
    cJSON_AddNumberToObject(object, "turns", (double)driver->turns);
    cJSON_AddNumberToObject(object, "work_us", (double)driver->work_us);
    print(object);
}

static void obey(struct driver *driver, const char *line)
{
    cJSON *object = cJSON_Parse(line);
    const cJSON *set = cJSON_GetObjectItemCaseSensitive(object, "set");
    const cJSON *told = cJSON_GetObjectItemCaseSensitive(object, "tell");
    const cJSON *drop = cJSON_GetObjectItemCaseSensitive(object, "drop");
    const cJSON *test = cJSON_GetObjectItemCaseSensitive(object, "test");
    if (set != NULL) {
        set_channels(driver, set);
    } else if (told != NULL) {
        tell(driver, (int64_t)cJSON_GetNumberValue(told), object);
    } else if (drop != NULL) {
        struct told *gone = find(driver, (int64_t)cJSON_GetNumberValue(drop));
        if (gone != NULL)
            gone->id = 0;
        notify_wake(driver->notify);
    } else if (test != NULL) {
        begin_test(driver, test);
    } else {
        print_stats(driver);
    }
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

static void look_at_tests(struct driver *driver)
{
    size_t kept = 0;
    for (size_t i = 0; i < driver->test_count; i++) {
        struct notify_test test;
        bool there = notify_test_get(driver->notify, driver->tests[i], &test);
        if (there && !test.done)
            driver->tests[kept++] = driver->tests[i];
        else if (there)
            print_answer("tested", driver->tests[i], 0, test.delivered, test.answer);
    }
    driver->test_count = kept;
}

static void take_turn(struct driver *driver)
{
    int64_t begin_us = work_us();
    driver->calls_us = 0;
    notify_turn(driver->notify);
    int64_t took_us = work_us() - begin_us - driver->calls_us;
    driver->work_us = took_us > driver->work_us ? took_us : driver->work_us;
    driver->turns++;
    look_at_tests(driver);
}

static int wait_time_ms(const struct driver *driver)
{
    int64_t next_ms = notify_next_ms(driver->notify);
    int64_t now_ms = clock_real_ms();
    return next_ms == INT64_MAX ? -1 : next_ms <= now_ms ? 0 : (int)(next_ms - now_ms);
}

static void end(struct driver *driver)
{
    notify_close(driver->notify);
    for (size_t i = 0; i < driver->count; i++) {
        free(driver->notices[i].subject);
        free(driver->notices[i].text);
        free(driver->notices[i].json);
    }
}

int main(int argc, char **argv)
{
    static struct driver driver;
    struct coat_error error = {0};
    const struct notify_calls calls = {&driver, find_pending, make_message, take_try};
    const struct notify_options options = {.courier = argc == 3 ? argv[1] : "", .wait_ms = argc == 3 ? strtol(argv[2], NULL, 10) : 0};
    if (argc != 3 || notify_open(&options, &calls, &driver.notify, &error) != COAT_OK)
        return EXIT_FAILURE;
    for (bool going = true; going;) {
        struct pollfd watched[2] = {{.fd = STDIN_FILENO, .events = POLLIN}, {.fd = notify_descriptor(driver.notify), .events = POLLIN}};
        (void)poll(watched, 2, wait_time_ms(&driver));
        if (watched[0].revents != 0)
            going = read_lines(&driver);
        take_turn(&driver);
    }
    end(&driver);
    return EXIT_SUCCESS;
}
