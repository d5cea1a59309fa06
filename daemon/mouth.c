#include "daemon/mouth.h"

#include "coat/clock.h"
#include "coat/link.h"
#include "coat/moment.h"
#include "coat/shop.h"
#include "coat/words.h"
#include "daemon/http/ack_link.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define LINK_SIZE (CHANNEL_TARGET_SIZE + 256)

#define OWED_MOST 32           /* more than come while a disk fills up */
#define OWED_AGAIN_MS INT64_C(30000)

struct mouth {
    struct http_context *context;
    struct notify *notify;
    struct delivery_try owed[OWED_MOST]; /* they came, and it could not be recorded yet: sent again they would come twice */
    size_t owed_count;
    int64_t owed_at_ms;     /* real: when it is tried again */
    int64_t owed_revision;  /* with a later one something else could be recorded: so can they */
    int64_t told_revision;  /* whose channels and notices the channels' side knows */
    int64_t told_due_ms;    /* the shop's next due moment then: once it has come, what waited for it may be sent */
    bool failing;           /* tries cannot be recorded; said once */
    char shop_tag[SHOP_TAG_SIZE]; /* the same at every start, and of no other shop */
    /* the message that was made last */
    struct notice_view view;
    char id[64], text[NOTICE_TEXT_SIZE + LINK_SIZE + 64];
    char *json;
};

/* ---- what is to be sent ---- */

static bool is_owed(const struct mouth *mouth, int64_t channel_id, int64_t notice_id)
{
    for (size_t i = 0; i < mouth->owed_count; i++)
        if (mouth->owed[i].channel_id == channel_id && mouth->owed[i].notice_id == notice_id)
            return true;
    return false;
}

static size_t find_pending(void *context, int64_t channel_id, int64_t *notice_ids, size_t most)
{
    const struct mouth *mouth = context;
    size_t found = shop_outbox(mouth->context->shop, channel_id, clock_shop_ms(mouth->context->clock), notice_ids, most), kept = 0;
    for (size_t i = 0; i < found; i++)
        if (!is_owed(mouth, channel_id, notice_ids[i]))
            notice_ids[kept++] = notice_ids[i];
    return kept;
}

static bool make_message(void *context, int64_t channel_id, int64_t notice_id, struct notify_message *ret)
{
    char link[LINK_SIZE];
    struct mouth *mouth = context;
    struct shop *shop = mouth->context->shop;
    const struct channel *channel = shop_channel(shop, channel_id);
    if (channel == NULL || !shop_notice_view(shop, notice_id, clock_shop_ms(mouth->context->clock), &mouth->view))
        return false;
    http_ack_link(mouth->context, channel, notice_id, link, sizeof link);
    free(mouth->json);
    mouth->json = http_notice_json(mouth->context, notice_id, link);
    if (mouth->json == NULL)
        return false;
    snprintf(mouth->id, sizeof mouth->id, "notice-%lld@%s", (long long)notice_id, mouth->shop_tag);
    snprintf(mouth->text, sizeof mouth->text, "%s\n\nAcknowledge it here: %s\n", mouth->view.text, link);
    *ret = (struct notify_message){
        .notice_id = notice_id, .id = mouth->id, .kind = notice_kind_word(mouth->view.head->kind), .subject = mouth->view.subject, .text = mouth->text,
        .json = mouth->json, .safety = mouth->view.safety,
    };
    return true;
}

/* ---- what came of it ---- */

static bool is_failing(const struct mouth *mouth, int64_t channel_id)
{
    struct channel_view view;
    return shop_channel_view(mouth->context->shop, channel_id, &view) && view.failing_since_at != MOMENT_NONE;
}

/* Once when it begins and once when it is over: what is tried again for weeks must not fill the log. */
static void say_change(const struct mouth *mouth, int64_t channel_id, bool before, const char *answer)
{
    const struct channel *channel = shop_channel(mouth->context->shop, channel_id);
    bool now = is_failing(mouth, channel_id);
    if (channel != NULL && now && !before)
        fprintf(stderr, "coatd: the channel \"%s\" does not deliver: %s; tried again by itself\n", channel->name, answer);
    if (channel != NULL && before && !now)
        fprintf(stderr, "coatd: the channel \"%s\" delivers again\n", channel->name);
}

static void note_recording(struct mouth *mouth, enum coat_result result, const struct coat_error *error)
{
    if (result != COAT_OK && !mouth->failing)
        fprintf(stderr, "coatd: what came of notices that were sent cannot be recorded: %s\n", error->text[0] != '\0' ? error->text : coat_result_text(result));
    if (result == COAT_OK && mouth->failing)
        fprintf(stderr, "coatd: what came of notices that were sent is recorded again\n");
    mouth->failing = result != COAT_OK;
}

static bool record_try(struct mouth *mouth, struct delivery_try *try)
{
    struct coat_error error = {0};
    bool before = is_failing(mouth, try->channel_id);
    enum coat_result result = shop_note_try(mouth->context->shop, clock_shop_ms(mouth->context->clock), try, &error);
    note_recording(mouth, result, &error);
    if (result == COAT_OK)
        say_change(mouth, try->channel_id, before, try->answer);
    return result == COAT_OK;
}

static void wait_with_owed(struct mouth *mouth)
{
    mouth->owed_at_ms = clock_real_ms() + OWED_AGAIN_MS;
    mouth->owed_revision = shop_revision(mouth->context->shop);
}

/* One that did not come is just tried again. */
static void take_try(void *context, int64_t channel_id, int64_t notice_id, bool delivered, const char *answer)
{
    struct mouth *mouth = context;
    struct delivery_try try = {.notice_id = notice_id, .channel_id = channel_id, .at = clock_shop_ms(mouth->context->clock), .delivered = delivered};
    snprintf(try.answer, sizeof try.answer, "%s", answer);
    if (record_try(mouth, &try) || !delivered || mouth->owed_count == OWED_MOST)
        return;
    mouth->owed[mouth->owed_count++] = try;
    wait_with_owed(mouth);
}

static void record_owed(struct mouth *mouth)
{
    bool wanted = clock_real_ms() >= mouth->owed_at_ms || shop_revision(mouth->context->shop) > mouth->owed_revision;
    while (wanted && mouth->owed_count > 0 && record_try(mouth, &mouth->owed[mouth->owed_count - 1]))
        mouth->owed_count--;
    if (wanted)
        wait_with_owed(mouth);
}

/* ---- which channels there are ---- */

/* Channels change seldom, but whether they did costs less to compare than to be told. */
static void tell_channels(struct mouth *mouth)
{
    size_t count, in_use = 0;
    const struct shop *shop = mouth->context->shop;
    const struct channel *all = shop_channels(shop, &count);
    if (shop_revision(shop) == mouth->told_revision)
        return;
    struct channel *channels = calloc(count + 1, sizeof *channels);
    if (channels == NULL)
        return; /* tried again at the next turn */
    for (size_t i = 0; i < count; i++)
        if (all[i].removed_at == MOMENT_NONE)
            channels[in_use++] = all[i];
    if (notify_set(mouth->notify, channels, in_use) == COAT_OK)
        mouth->told_revision = shop_revision(shop);
    explicit_bzero(channels, count * sizeof *channels);
    free(channels);
    notify_wake(mouth->notify);
}

/* Once a moment has come that the shop waited for. */
static void tell_moment(struct mouth *mouth)
{
    if (mouth->context->next_due_ms == mouth->told_due_ms)
        return;
    mouth->told_due_ms = mouth->context->next_due_ms;
    notify_wake(mouth->notify);
}

/* ---- the loop's side ---- */

enum coat_result mouth_open(struct http_context *context, const char *self, struct mouth **ret, struct coat_error *error)
{
    char courier[1024];
    struct mouth *mouth = calloc(1, sizeof *mouth);
    if (mouth == NULL || !shop_tag(context->shop, mouth->shop_tag)) {
        free(mouth);
        return coat_fail(error, COAT_NO_MEMORY, "", "out of memory while opening the channels");
    }
    mouth->context = context;
    mouth->told_revision = -1;
    mouth->told_due_ms = MOMENT_NONE;
    couriers_find_program(self, courier, sizeof courier);
    struct notify_options options = {.courier = courier};
    struct notify_calls calls = {mouth, find_pending, make_message, take_try};
    enum coat_result result = notify_open(&options, &calls, &mouth->notify, error);
    if (result != COAT_OK) {
        free(mouth);
        return result;
    }
    context->notify = mouth->notify;
    *ret = mouth;
    return COAT_OK;
}

void mouth_close(struct mouth *mouth)
{
    if (mouth == NULL)
        return;
    mouth->context->notify = NULL;
    notify_close(mouth->notify);
    free(mouth->json);
    free(mouth);
}

int mouth_descriptor(const struct mouth *mouth)
{
    return notify_descriptor(mouth->notify);
}

void mouth_turn(struct mouth *mouth)
{
    if (mouth->owed_count > 0)
        record_owed(mouth);
    tell_channels(mouth);
    tell_moment(mouth);
    notify_turn(mouth->notify);
}

int64_t mouth_next_ms(const struct mouth *mouth)
{
    int64_t next_ms = notify_next_ms(mouth->notify);
    return mouth->owed_count > 0 && mouth->owed_at_ms < next_ms ? mouth->owed_at_ms : next_ms;
}
