#include "daemon/sense/asking.h"

#include "daemon/sense/number.h"
#include "daemon/sense/source.h"

#include <math.h>
#include <string.h>

bool asking_fits(enum sensor_kind kind)
{
    return kind == SENSOR_SYSFS || kind == SENSOR_COMMAND;
}

struct sense_test asking_fault(const char *text)
{
    struct sense_test test = {.done = true, .value = {[AIR_TEMP] = (double)NAN, [AIR_RH] = (double)NAN}};
    text_show(text, strlen(text), test.fault, sizeof test.fault);
    return test;
}

/* ---- begin ---- */

static enum coat_result begin_device(struct asking *asking, const struct sense_options *options, const struct sensor *settings, int poll_fd,
                                     int64_t limit_at_ms, struct coat_error *error)
{
    char self[4096], root[4096], source[SENSOR_SOURCE_SIZE], option[] = "--sense";
    char *const argv[] = {self, option, source, NULL};
    char *const environment[] = {root, NULL};
    struct child_program program = {.argv = argv, .environment = environment, .socket_fd = -1};
    snprintf(root, sizeof root, "COAT_SYSFS=%s", options->sysfs_root);
    snprintf(self, sizeof self, "%s", options->self);
    snprintf(source, sizeof source, "%s", settings->source);
    return child_start(&asking->child, &program, poll_fd, limit_at_ms, error);
}

static enum coat_result begin_command(struct asking *asking, const struct sensor *settings, int poll_fd, int64_t limit_at_ms, struct coat_error *error)
{
    struct command_source source;
    enum coat_result result = source_command_parse(settings->source, &source, error);
    if (result != COAT_OK)
        return result;
    struct child_program program = {.argv = source.argv, .socket_fd = -1};
    return child_start(&asking->child, &program, poll_fd, limit_at_ms, error);
}

enum coat_result asking_begin(struct asking *asking, const struct sense_options *options, const struct sensor *settings, int poll_fd, int64_t now_ms,
                              struct coat_error *error)
{
    int64_t limit_at_ms = now_ms + ASKING_LIMIT_MS;
    enum coat_result result = settings->kind == SENSOR_SYSFS ? begin_device(asking, options, settings, poll_fd, limit_at_ms, error)
                                                             : begin_command(asking, settings, poll_fd, limit_at_ms, error);
    asking->running = result == COAT_OK;
    asking->told = false;
    return result;
}

/* ---- outcome ---- */

static void name_source(const struct sensor *settings, char *ret, size_t size)
{
    struct command_source source;
    if (settings->kind == SENSOR_COMMAND && source_command_parse(settings->source, &source, NULL) == COAT_OK)
        snprintf(ret, size, "%s", source.argv[0]);
    else
        snprintf(ret, size, "reading %.480s", settings->source);
}

static struct sense_test read_outcome(const struct child *child, const struct sensor *settings)
{
    struct coat_error error = {0};
    struct sense_test test = asking_fault("");
    if (sense_parse(settings, child->output, child->length, &test, &error) != COAT_OK)
        text_show(error.text, strlen(error.text), test.fault, sizeof test.fault);
    return test;
}

/* A command that failed may have printed something all the same; it is shown, and does not count. */
static struct sense_test failed_outcome(const struct child *child, const struct sensor *settings)
{
    char name[SENSOR_SOURCE_SIZE], text[2 * SENSE_RAW_SIZE];
    name_source(settings, name, sizeof name);
    child_describe(child, name, text, sizeof text);
    struct sense_test test = asking_fault(text);
    for (int i = 0; i < AIR_QUANTITY_COUNT; i++)
        if (settings->measures[i] && settings->kind == SENSOR_COMMAND)
            text_show(child->output, child->length, test.raw[i], sizeof test.raw[i]);
    return test;
}

/* The reader of devices fails with a line that says why. */
static bool has_line(const struct child *child, const struct sensor *settings)
{
    return child->end == CHILD_DONE || (child->end == CHILD_FAILED && settings->kind == SENSOR_SYSFS && child->length > 0);
}

bool asking_turn(struct asking *asking, const struct sensor *settings, int64_t now_ms, struct sense_test *ret)
{
    if (!asking->running)
        return false;
    if (asking->told) {
        (void)asking_end(asking);
        return false;
    }
    if (!child_turn(&asking->child, now_ms))
        return false;
    *ret = has_line(&asking->child, settings) ? read_outcome(&asking->child, settings) : failed_outcome(&asking->child, settings);
    (void)asking_end(asking);
    return true;
}

int64_t asking_next_ms(const struct asking *asking, int64_t now_ms)
{
    return asking->running ? child_next_ms(&asking->child, now_ms) : INT64_MAX;
}

bool asking_end(struct asking *asking)
{
    if (!asking->running)
        return true;
    asking->told = true;
    asking->running = !child_clear(&asking->child);
    return !asking->running;
}
