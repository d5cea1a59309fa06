/* Whether a channel leads anywhere, before or after it is stored: a message that says it is a test. Nothing is recorded, so there is no answer to
 * keep: a key is left alone. */
#include "daemon/http/ack_link.h"
#include "daemon/http/channel_in.h"
#include "daemon/http/routes.h"

#include "coat/notify.h"

#include <inttypes.h>
#include <stdio.h>

static enum coat_result read_settings(struct work *work, struct channel *ret)
{
    int64_t id = 0;
    if (!json_in_has(&work->in, "channel")) {
        channel_in_new(work, true, ret);
    } else if (json_in_id(&work->in, "channel", JSON_REQUIRED, &id)) {
        work_known(work, &work->in, "channel", &work_channel, id);
        if (!json_in_failed(&work->in))
            *ret = *shop_channel(work->shop, id);
    }
    if (json_in_close(&work->in) != COAT_OK)
        return work->error.code;
    if (id != 0 && ret->removed_at != MOMENT_NONE)
        return coat_fail(&work->error, COAT_BAD_VALUE, "channel", "the channel \"%s\" was taken out of use", ret->name);
    if (ret->kind == CHANNEL_CALENDAR)
        return coat_fail(&work->error, COAT_BAD_VALUE, id != 0 ? "channel" : "kind",
                         "nothing is sent to a calendar: the calendar program fetches it, so open the link there");
    return channel_in_check(work, ret);
}

struct message {
    struct json_out json;
    char id[64], subject[128], text[768];
};

static void put_json(struct work *work, struct message *message)
{
    struct doc doc = {.out = &message->json, .shop = work->shop, .now_ms = work->now_ms};
    struct caution_set standing = {0};
    shop_cautions(work->shop, work->now_ms, &standing);
    json_out_object(doc.out);
    json_put_null(doc.out, "id");
    json_put_string(doc.out, "kind", "test");
    json_put_bool(doc.out, "safety", false);
    json_put_string(doc.out, "subject", message->subject);
    json_put_string(doc.out, "text", message->text);
    doc_caution_codes(&doc, "cautions", &standing);
    json_put_string(doc.out, "shop", shop_settings_now(work->shop)->zone);
    json_put_null(doc.out, "link");
    json_put_moment(doc.out, "sent_at", work->now_ms);
    doc_caution_texts(&doc, "caution_texts");
    json_out_object_end(doc.out);
}

static enum coat_result begin(struct work *work, const struct channel *settings, int64_t *ret_id)
{
    struct message message = {0};
    char tag[SHOP_TAG_SIZE];
    const char *name = settings->name[0] != '\0' ? settings->name : channel_kind_word(settings->kind);
    if (!shop_tag(work->shop, tag))
        return COAT_NO_MEMORY;
    snprintf(message.id, sizeof message.id, "test-%" PRId64 "@%s", work->now_ms, tag); /* as those of notices: it becomes a Message-ID */
    snprintf(message.subject, sizeof message.subject, "Test of the channel %s", name);
    snprintf(message.text, sizeof message.text, "This is a test: no coat has moved. Notices of the shop will come this way.\n\n%s", caution_deferral);
    json_out_init(&message.json, HTTP_NOTICE_MAX);
    put_json(work, &message);
    enum coat_result result = message.json.failed ? COAT_NO_MEMORY : COAT_OK;
    const struct notify_message sent = {
        .id = message.id, .kind = "test", .subject = message.subject, .text = message.text, .json = message.json.bytes};
    if (result == COAT_OK)
        result = channel_in_named(work, settings, notify_test_begin(work->context->notify, settings, &sent, ret_id, &work->error));
    json_out_free(&message.json);
    return result;
}

static enum coat_result begin_test(struct work *work)
{
    struct channel settings = {0};
    int64_t id = 0;
    enum coat_result result = read_settings(work, &settings);
    if (result == COAT_OK && work->context->notify == NULL)
        result = coat_fail(&work->error, COAT_NOT_ALLOWED, "", "this service sends nothing");
    if (result == COAT_OK)
        result = begin(work, &settings, &id);
    if (result != COAT_OK)
        return result;
    work->response->status = 202;
    json_out_object(work->doc.out);
    json_put_int(work->doc.out, "id", id);
    json_out_object_end(work->doc.out);
    return COAT_OK;
}

static enum coat_result show_test(struct work *work)
{
    struct json_out *out = work->doc.out;
    struct notify_test test;
    enum coat_result result = http_param_id(work->request, 0, &work->id, &work->error);
    if (result != COAT_OK)
        return result;
    if (work->context->notify == NULL || !notify_test_get(work->context->notify, work->id, &test))
        return coat_fail(&work->error, COAT_NOT_FOUND, "", "there is no test %" PRId64 " any more: POST /api/v1/channel-tests begins one", work->id);
    json_out_object(out);
    json_put_int(out, "id", work->id);
    json_put_bool(out, "done", test.done);
    json_put_bool(out, "delivered", test.done && test.delivered);
    json_put_string(out, "answer", test.answer[0] != '\0' ? test.answer : NULL);
    json_out_object_end(out);
    return COAT_OK;
}

void route_channel_test_begin(WORK_ARGUMENTS)
{
    work_read(context, request, response, NULL, begin_test);
}

void route_channel_test_get(WORK_ARGUMENTS)
{
    work_read(context, request, response, NULL, show_test);
}
