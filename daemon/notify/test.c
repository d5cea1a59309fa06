/* Messages that say they are a test, sent before a channel is stored. Each has a way of its own, which ends with it. */
#include "daemon/notify/notify.h"

#include "coat/clock.h"

#include <string.h>

#define TEST_LIMIT_MS INT64_C(60000)

static void finish(struct probe *probe, bool delivered, const char *answer)
{
    probe->result.done = true;
    probe->result.delivered = delivered;
    snprintf(probe->result.answer, sizeof probe->result.answer, "%s", answer);
    explicit_bzero(probe->sender.settings.secret, sizeof probe->sender.settings.secret);
}

static void turn_probe(struct probe *probe, int64_t now_ms)
{
    struct sender_outcome outcome = {0};
    const struct sender_way *way = probe->sender.way;
    if (probe->id == 0)
        return;
    if (probe->result.done)
        (void)way->end(&probe->sender);
    else if (way->turn(&probe->sender, now_ms, &outcome))
        finish(probe, outcome.delivered, outcome.answer);
    else if (now_ms >= probe->limit_at_ms)
        finish(probe, false, "there was no answer in 60 s");
    if (probe->result.done)
        (void)way->end(&probe->sender);
}

void notify_tests_turn(struct notify *notify, int64_t now_ms)
{
    for (size_t i = 0; i < NOTIFY_TESTS_MAX; i++)
        turn_probe(&notify->probes[i], now_ms);
}

int64_t notify_tests_next_ms(const struct notify *notify, int64_t now_ms)
{
    int64_t next_ms = INT64_MAX;
    for (size_t i = 0; i < NOTIFY_TESTS_MAX; i++) {
        const struct probe *probe = &notify->probes[i];
        int64_t probe_ms = probe->id != 0 ? probe->sender.way->next_ms(&probe->sender, now_ms) : INT64_MAX;
        if (probe->id != 0 && !probe->result.done && probe->limit_at_ms < probe_ms)
            probe_ms = probe->limit_at_ms;
        next_ms = probe_ms < next_ms ? probe_ms : next_ms;
    }
    return next_ms;
}

bool notify_tests_end(struct notify *notify)
{
    bool all = true;
    for (size_t i = 0; i < NOTIFY_TESTS_MAX; i++) {
        struct probe *probe = &notify->probes[i];
        all = (probe->id == 0 || probe->sender.way->end(&probe->sender)) && all;
    }
    return all;
}

/* A free one, else the oldest that is done and of which nothing runs. */
static struct probe *take_probe(struct notify *notify)
{
    struct probe *found = NULL;
    for (size_t i = 0; i < NOTIFY_TESTS_MAX; i++) {
        struct probe *probe = &notify->probes[i];
        bool usable = probe->id == 0 || (probe->result.done && probe->sender.way->is_free(&probe->sender));
        if (usable && (found == NULL || probe->id < found->id))
            found = probe;
    }
    return found;
}

enum coat_result notify_test_begin(struct notify *notify, const struct channel *settings, const struct notify_message *message, int64_t *ret_test_id,
                                   struct coat_error *error)
{
    struct sender_outcome outcome = {0};
    int64_t now_ms = clock_real_ms();
    enum coat_result result = notify_check(settings, error);
    if (result != COAT_OK)
        return result;
    if (settings->kind == CHANNEL_CALENDAR)
        return coat_fail(error, COAT_BAD_VALUE, "kind", "a calendar is fetched by the program that shows it: there is nothing to send");
    struct probe *probe = take_probe(notify);
    if (probe == NULL)
        return coat_fail(error, COAT_CONFLICT, "", "%d tests are running, and no more at once: try again in a minute", NOTIFY_TESTS_MAX);
    *probe = (struct probe){.id = ++notify->last_test_id, .limit_at_ms = now_ms + TEST_LIMIT_MS};
    sender_init(&probe->sender, &notify->couriers, settings);
    if (!probe->sender.way->begin(&probe->sender, message, now_ms, &outcome))
        finish(probe, false, outcome.answer);
    *ret_test_id = probe->id;
    return COAT_OK;
}

bool notify_test_get(const struct notify *notify, int64_t test_id, struct notify_test *ret)
{
    for (size_t i = 0; i < NOTIFY_TESTS_MAX; i++)
        if (test_id > 0 && notify->probes[i].id == test_id) {
            *ret = notify->probes[i].result;
            return true;
        }
    return false;
}
