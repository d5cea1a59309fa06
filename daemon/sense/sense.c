/* The schedule of the sources that are asked, the way of what brokers publish, and the tests. One child a sensor at a time. */
#include "coat/sense.h"

#include "coat/clock.h"
#include "daemon/sense/asking.h"
#include "daemon/sense/mqtt.h"
#include "daemon/sense/number.h"

#include <errno.h>
#include <math.h>
#include <poll.h>
#include <stdlib.h>
#include <string.h>
#include <sys/epoll.h>
#include <unistd.h>

#define INTERVAL_S 60               /* where none is told */
#define START_SPACE_MS 100          /* between two starts, so that a shop full of sensors is not asked in one moment */
#define TEST_LIMIT_MS INT64_C(60000)
#define FAREWELL_MS 300             /* for killed children at the end; init takes what is slower */

struct source {
    struct sensor settings;
    struct asking asking;
    int64_t due_ms;                 /* real */
    bool leaving;                   /* no longer in use, but its child has not gone yet */
    char fault[SENSE_RAW_SIZE];     /* as told */
};

struct probe { /* a test; free where id is 0 */
    int64_t id;
    struct sensor settings;
    struct asking asking;
    int64_t limit_at_ms;            /* real */
    struct sense_test result;
};

struct sense {
    struct sense_options options;   /* its texts are own_texts */
    char *own_texts[3];
    struct sense_calls calls;
    struct mqtt_links *links;
    int poll_fd;
    struct source **sources;
    size_t count;
    int64_t start_at_ms;            /* real; no start before that */
    struct probe probes[SENSE_TESTS_MAX];
    int64_t last_test_id;
};

/* ---- telling ---- */

static void tell_fault(struct sense *sense, struct source *source, const char *text)
{
    char shown[SENSE_RAW_SIZE];
    text_show(text, strlen(text), shown, sizeof shown);
    if (strcmp(source->fault, shown) == 0)
        return;
    memcpy(source->fault, shown, sizeof shown);
    sense->calls.fault(sense->calls.context, source->settings.id, source->fault);
}

static void tell_reading(struct sense *sense, const struct source *source, const struct sense_test *test)
{
    struct sense_reading reading = {
        .sensor_id = source->settings.id,
        .at_ms = MOMENT_NONE,
        .temp_c = test->value[AIR_TEMP],
        .rh_pct = test->value[AIR_RH],
    };
    if (isfinite(reading.temp_c) || isfinite(reading.rh_pct))
        sense->calls.reading(sense->calls.context, &reading);
}

/* One that was asked has to tell all that it measures: half an answer is a reading and a fault. */
static void tell_outcome(struct sense *sense, struct source *source, const struct sense_test *test)
{
    tell_reading(sense, source, test);
    tell_fault(sense, source, test->fault);
}

/* ---- what brokers publish ---- */

static struct source *find_source(struct sense *sense, int64_t sensor_id)
{
    for (size_t i = 0; i < sense->count; i++)
        if (sense->sources[i]->settings.id == sensor_id && !sense->sources[i]->leaving)
            return sense->sources[i];
    return NULL;
}

/* Temperature and humidity may come in turn, so that half a message is none the worse. A retained one is of unknown age: the last word of a sensor that died a month ago would count as of now, anew with each connection. */
static void take_payload(void *context, int64_t sensor_id, const char *text, size_t length, bool retained)
{
    struct sense *sense = context;
    struct source *source = find_source(sense, sensor_id);
    struct sense_test test = asking_fault("");
    struct coat_error error = {0};
    if (source == NULL || retained)
        return;
    bool good = sense_parse(&source->settings, text, length, &test, &error) == COAT_OK;
    if (good)
        tell_reading(sense, source, &test);
    tell_fault(sense, source, good ? "" : error.text);
}

static void take_link_fault(void *context, int64_t sensor_id, const char *text)
{
    struct sense *sense = context;
    struct source *source = find_source(sense, sensor_id);
    if (source != NULL)
        tell_fault(sense, source, text);
}

/* ---- tests ---- */

static struct probe *find_probe(struct sense *sense, int64_t test_id)
{
    for (size_t i = 0; i < SENSE_TESTS_MAX; i++)
        if (sense->probes[i].id == test_id && test_id > 0)
            return &sense->probes[i];
    return NULL;
}

static void finish_probe(struct sense *sense, struct probe *probe, const struct sense_test *result)
{
    probe->result = *result;
    probe->result.done = true;
    if (probe->settings.kind == SENSOR_MQTT)
        mqtt_links_test_end(sense->links, probe->id);
}

static void take_test_payload(void *context, int64_t test_id, const char *text, size_t length)
{
    struct sense *sense = context;
    struct probe *probe = find_probe(sense, test_id);
    struct sense_test read = asking_fault("");
    struct coat_error error = {0};
    if (probe == NULL || probe->result.done)
        return;
    if (sense_parse(&probe->settings, text, length, &read, &error) != COAT_OK)
        text_show(error.text, strlen(error.text), read.fault, sizeof read.fault);
    finish_probe(sense, probe, &read);
}

static void take_test_fault(void *context, int64_t test_id, const char *text)
{
    struct sense *sense = context;
    struct probe *probe = find_probe(sense, test_id);
    struct sense_test failed = asking_fault(text);
    if (probe != NULL && !probe->result.done)
        finish_probe(sense, probe, &failed);
}

static void turn_probe(struct sense *sense, struct probe *probe, int64_t now_ms)
{
    struct sense_test result;
    if (probe->id == 0)
        return;
    if (asking_turn(&probe->asking, &probe->settings, now_ms, &result))
        finish_probe(sense, probe, &result);
    else if (!probe->result.done && now_ms >= probe->limit_at_ms) {
        result = asking_fault("nothing came in 60 s: is the name of the topic right, and how often does the device publish?");
        finish_probe(sense, probe, &result);
    }
}

/* A free one, else the oldest that is done and whose child is gone. */
static struct probe *take_probe(struct sense *sense)
{
    struct probe *found = NULL;
    for (size_t i = 0; i < SENSE_TESTS_MAX; i++) {
        struct probe *probe = &sense->probes[i];
        bool usable = probe->id == 0 || (probe->result.done && !probe->asking.running);
        if (usable && (found == NULL || probe->id < found->id))
            found = probe;
    }
    return found;
}

static enum coat_result begin_probe(struct sense *sense, struct probe *probe, int64_t now_ms, struct coat_error *error)
{
    if (probe->settings.kind == SENSOR_MQTT)
        return mqtt_links_test_begin(sense->links, probe->id, &probe->settings, error);
    return asking_begin(&probe->asking, &sense->options, &probe->settings, sense->poll_fd, now_ms, error);
}

enum coat_result sense_test_begin(struct sense *sense, const struct sensor *settings, int64_t *ret_test_id, struct coat_error *error)
{
    int64_t now_ms = clock_real_ms();
    enum coat_result result = sense_check(settings, error);
    if (result != COAT_OK)
        return result;
    if (!asking_fits(settings->kind) && settings->kind != SENSOR_MQTT)
        return coat_fail(error, COAT_BAD_VALUE, "kind", "a sensor of the kind %s has no source that could be asked", sensor_kind_word(settings->kind));
    struct probe *probe = take_probe(sense);
    if (probe == NULL)
        return coat_fail(error, COAT_CONFLICT, "", "%d tests are running, and no more at once: try again in a minute", SENSE_TESTS_MAX);
    *probe = (struct probe){.id = ++sense->last_test_id, .settings = *settings, .limit_at_ms = now_ms + TEST_LIMIT_MS, .result = asking_fault("")};
    probe->result.done = false;
    result = begin_probe(sense, probe, now_ms, error);
    if (result != COAT_OK)
        probe->id = 0;
    else
        *ret_test_id = probe->id;
    return result;
}

bool sense_test_get(const struct sense *sense, int64_t test_id, struct sense_test *ret)
{
    for (size_t i = 0; i < SENSE_TESTS_MAX; i++)
        if (test_id > 0 && sense->probes[i].id == test_id) {
            *ret = sense->probes[i].result;
            return true;
        }
    return false;
}

/* ---- which sources there are ---- */

/* A new name or place does not disturb it. */
static bool is_same_source(const struct sensor *a, const struct sensor *b)
{
    for (int i = 0; i < AIR_QUANTITY_COUNT; i++)
        if (a->measures[i] != b->measures[i] || strcmp(a->pointer[i], b->pointer[i]) != 0)
            return false;
    return a->kind == b->kind && a->interval_s == b->interval_s && a->temp_scale == b->temp_scale && a->rh_scale == b->rh_scale &&
           strcmp(a->source, b->source) == 0 && strcmp(a->user, b->user) == 0 && strcmp(a->secret, b->secret) == 0 &&
           strcmp(a->ca_file, b->ca_file) == 0;
}

static bool has_source(const struct sensor *sensor)
{
    return sensor->removed_at == MOMENT_NONE && (asking_fits(sensor->kind) || sensor->kind == SENSOR_MQTT);
}

/* In `next`: the one that is kept, or a new one. A changed one keeps the fault that was told, so that its end is told too. */
static bool add_source(struct sense *sense, const struct sensor *sensor, int64_t now_ms, struct source **next, size_t *count)
{
    struct source *old = find_source(sense, sensor->id);
    if (old != NULL && is_same_source(&old->settings, sensor)) {
        next[(*count)++] = old;
        return true;
    }
    struct source *source = calloc(1, sizeof *source);
    if (source == NULL)
        return false;
    source->settings = *sensor;
    source->due_ms = now_ms;
    if (old != NULL)
        memcpy(source->fault, old->fault, sizeof source->fault);
    next[(*count)++] = source;
    return true;
}

static bool is_in(const struct source *source, struct source *const *list, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (list[i] == source)
            return true;
    return false;
}

static void free_new(struct sense *sense, struct source **next, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (!is_in(next[i], sense->sources, sense->count))
            free(next[i]);
    free(next);
}

/* From here on nothing fails. Those that are not kept leave, at once or when their child has gone. */
static void swap_sources(struct sense *sense, struct source **next, size_t count)
{
    size_t chosen = count;
    for (size_t i = 0; i < sense->count; i++) {
        struct source *old = sense->sources[i];
        if (is_in(old, next, chosen))
            continue;
        if (asking_end(&old->asking))
            free(old);
        else {
            old->leaving = true;
            next[count++] = old;
        }
    }
    free(sense->sources);
    sense->sources = next;
    sense->count = count;
}

/* Name, place and the like of those that stay. */
static void refresh_settings(struct sense *sense, const struct sensor *sensors, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        struct source *source = has_source(&sensors[i]) ? find_source(sense, sensors[i].id) : NULL;
        if (source != NULL)
            source->settings = sensors[i];
    }
}

enum coat_result sense_set(struct sense *sense, const struct sensor *sensors, size_t count)
{
    size_t next_count = 0;
    int64_t now_ms = clock_real_ms();
    enum coat_result result = COAT_OK;
    struct source **next = calloc(count + sense->count + 1, sizeof *next);
    if (next == NULL)
        return COAT_NO_MEMORY;
    for (size_t i = 0; i < count && result == COAT_OK; i++)
        if (has_source(&sensors[i]) && !add_source(sense, &sensors[i], now_ms, next, &next_count))
            result = COAT_NO_MEMORY;
    if (result == COAT_OK)
        result = mqtt_links_set(sense->links, sensors, count);
    if (result != COAT_OK) {
        free_new(sense, next, next_count);
        return result;
    }
    swap_sources(sense, next, next_count);
    refresh_settings(sense, sensors, count);
    return COAT_OK;
}

/* ---- the schedule ---- */

static void turn_source(struct sense *sense, struct source *source, int64_t now_ms)
{
    struct sense_test outcome;
    if (source->leaving)
        (void)asking_end(&source->asking);
    else if (asking_turn(&source->asking, &source->settings, now_ms, &outcome))
        tell_outcome(sense, source, &outcome);
}

static bool is_startable(const struct source *source)
{
    return asking_fits(source->settings.kind) && !source->leaving && !source->asking.running;
}

/* On the beat of its own, so that a slow answer does not shift it; beats that were missed (a slow one, a suspend) are left out. */
static void set_next_due(struct source *source, int64_t now_ms)
{
    int64_t interval_ms = INT64_C(1000) * (source->settings.interval_s > 0 ? source->settings.interval_s : INTERVAL_S);
    source->due_ms += interval_ms;
    if (source->due_ms <= now_ms)
        source->due_ms = now_ms + interval_ms - (now_ms - source->due_ms) % interval_ms;
}

static void start_source(struct sense *sense, struct source *source, int64_t now_ms)
{
    struct coat_error error = {0};
    enum coat_result result = asking_begin(&source->asking, &sense->options, &source->settings, sense->poll_fd, now_ms, &error);
    set_next_due(source, now_ms);
    if (result != COAT_OK)
        tell_fault(sense, source, error.text);
}

/* The one that waits longest, so that none is starved. */
static void start_due(struct sense *sense, int64_t now_ms)
{
    struct source *first = NULL;
    if (now_ms < sense->start_at_ms)
        return;
    for (size_t i = 0; i < sense->count; i++) {
        struct source *source = sense->sources[i];
        if (is_startable(source) && source->due_ms <= now_ms && (first == NULL || source->due_ms < first->due_ms))
            first = source;
    }
    if (first == NULL)
        return;
    sense->start_at_ms = now_ms + START_SPACE_MS;
    start_source(sense, first, now_ms);
}

static void drop_gone(struct sense *sense)
{
    size_t kept = 0;
    for (size_t i = 0; i < sense->count; i++) {
        struct source *source = sense->sources[i];
        if (source->leaving && !source->asking.running)
            free(source);
        else
            sense->sources[kept++] = source;
    }
    sense->count = kept;
}

void sense_turn(struct sense *sense)
{
    int64_t now_ms = clock_real_ms();
    mqtt_links_turn(sense->links);
    for (size_t i = 0; i < sense->count; i++)
        turn_source(sense, sense->sources[i], now_ms);
    for (size_t i = 0; i < SENSE_TESTS_MAX; i++)
        turn_probe(sense, &sense->probes[i], now_ms);
    start_due(sense, now_ms);
    drop_gone(sense);
}

static int64_t earlier(int64_t a, int64_t b)
{
    return a < b ? a : b;
}

static int64_t source_next_ms(const struct sense *sense, const struct source *source, int64_t now_ms)
{
    if (is_startable(source))
        return source->due_ms > sense->start_at_ms ? source->due_ms : sense->start_at_ms;
    return asking_next_ms(&source->asking, now_ms);
}

int64_t sense_next_ms(const struct sense *sense)
{
    int64_t now_ms = clock_real_ms();
    int64_t next_ms = mqtt_links_next_ms(sense->links);
    for (size_t i = 0; i < sense->count; i++)
        next_ms = earlier(next_ms, source_next_ms(sense, sense->sources[i], now_ms));
    for (size_t i = 0; i < SENSE_TESTS_MAX; i++) {
        const struct probe *probe = &sense->probes[i];
        next_ms = earlier(next_ms, asking_next_ms(&probe->asking, now_ms));
        if (probe->id != 0 && !probe->result.done)
            next_ms = earlier(next_ms, probe->limit_at_ms);
    }
    return next_ms;
}

int sense_descriptor(const struct sense *sense)
{
    return sense->poll_fd;
}

/* ---- open and close ---- */

static bool copy_options(struct sense *sense, const struct sense_options *options)
{
    const char *const texts[] = {options->sysfs_root, options->self, options->courier};
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        sense->own_texts[i] = strdup(texts[i]);
        if (sense->own_texts[i] == NULL)
            return false;
    }
    sense->options = (struct sense_options){.sysfs_root = sense->own_texts[0], .self = sense->own_texts[1], .courier = sense->own_texts[2]};
    return true;
}

static bool watch_links(struct sense *sense)
{
    struct epoll_event event = {.events = EPOLLIN};
    return epoll_ctl(sense->poll_fd, EPOLL_CTL_ADD, mqtt_links_descriptor(sense->links), &event) == 0;
}

enum coat_result sense_open(const struct sense_options *options, const struct sense_calls *calls, struct sense **ret, struct coat_error *error)
{
    struct sense *sense = calloc(1, sizeof *sense);
    if (sense == NULL)
        return coat_fail(error, COAT_NO_MEMORY, "", "out of memory for the sensors");
    const struct mqtt_calls link_calls = {sense, take_payload, take_link_fault, take_test_payload, take_test_fault};
    enum coat_result result = COAT_OK;
    sense->calls = *calls;
    sense->poll_fd = epoll_create1(EPOLL_CLOEXEC);
    if (sense->poll_fd < 0 || !copy_options(sense, options))
        result = coat_fail(error, COAT_NO_MEMORY, "", "cannot prepare to hear the sensors: %s", strerror(errno));
    if (result == COAT_OK)
        result = mqtt_links_open(sense->options.courier, &link_calls, &sense->links, error);
    if (result == COAT_OK && !watch_links(sense))
        result = coat_fail(error, COAT_NO_MEMORY, "", "cannot prepare to hear the brokers: %s", strerror(errno));
    if (result != COAT_OK)
        sense_close(sense);
    else
        *ret = sense;
    return result;
}

/* True when nothing runs any more. */
static bool end_all(struct sense *sense)
{
    bool all = true;
    for (size_t i = 0; i < sense->count; i++)
        all = asking_end(&sense->sources[i]->asking) && all;
    for (size_t i = 0; i < SENSE_TESTS_MAX; i++)
        all = asking_end(&sense->probes[i].asking) && all;
    return all;
}

void sense_close(struct sense *sense)
{
    if (sense == NULL)
        return;
    int64_t end_ms = clock_real_ms() + FAREWELL_MS;
    while (!end_all(sense) && clock_real_ms() < end_ms)
        (void)poll(NULL, 0, 5); /* all are killed; they go in a moment */
    mqtt_links_close(sense->links);
    for (size_t i = 0; i < sense->count; i++)
        free(sense->sources[i]);
    free(sense->sources);
    for (size_t i = 0; i < sizeof sense->own_texts / sizeof *sense->own_texts; i++)
        free(sense->own_texts[i]);
    if (sense->poll_fd >= 0)
        close(sense->poll_fd);
    free(sense);
}
