/* Channels: where notices go beside the page. */
#include "daemon/http/channel_in.h"
#include "daemon/http/routes.h"

#include <inttypes.h>
#include <stdio.h>

static enum coat_result show_channels(struct work *work)
{
    size_t count = 0;
    const struct channel *channels = shop_channels(work->shop, &count);
    json_out_object(work->doc.out);
    json_put_array(work->doc.out, "items");
    for (size_t i = 0; i < count; i++) {
        if (channels[i].removed_at != MOMENT_NONE)
            continue;
        json_out_object(work->doc.out);
        doc_channel(&work->doc, &channels[i]);
        json_out_object_end(work->doc.out);
    }
    json_out_array_end(work->doc.out);
    json_out_object_end(work->doc.out);
    return COAT_OK;
}

static enum coat_result show_channel(struct work *work)
{
    json_out_object(work->doc.out);
    doc_channel(&work->doc, shop_channel(work->shop, work_subject(work)));
    json_out_object_end(work->doc.out);
    return COAT_OK;
}

/* ---- what is told once ---- */

static void put_calendar_link(struct work *work, const struct channel *channel, bool told)
{
    char link[CHANNEL_TARGET_SIZE + TOKEN_SIZE + 32];
    snprintf(link, sizeof link, "%s/calendar.ics?key=%s", http_link_base(work->context, channel), work->token);
    json_put_string(work->doc.out, "calendar_link", told ? link : NULL);
}

/* A key is told by the answer that follows its making. A repeated write has none to tell. */
static void put_secret(struct work *work, const struct channel *channel)
{
    bool told = work->token[0] != '\0';
    bool calendar = channel->kind == CHANNEL_CALENDAR;
    if (calendar)
        put_calendar_link(work, channel, told);
    else
        json_put_string(work->doc.out, "secret", told ? work->token : NULL);
    json_put_string(work->doc.out, "secret_note",
                    told ? "Keep it: it is told this once."
                         : "It was told once, when it was made. PATCH this channel with {\"new_secret\":true} for another; the old one ends then.");
}

static bool has_own_key(const struct work *work)
{
    struct coat_error ignored = {0};
    struct json_in in = json_in_open(work->request->json, &ignored);
    return json_in_has(&in, "secret");
}

static enum coat_result show_added(struct work *work)
{
    int64_t id = work_subject(work);
    const struct channel *channel = shop_channel(work->shop, id);
    bool made = channel->kind == CHANNEL_CALENDAR || (channel->kind == CHANNEL_WEBHOOK && !has_own_key(work));
    snprintf(work->response->location, sizeof work->response->location, "/api/v1/channels/%" PRId64, id);
    json_out_object(work->doc.out);
    doc_channel(&work->doc, channel);
    if (made)
        put_secret(work, channel);
    json_out_object_end(work->doc.out);
    return COAT_OK;
}

static bool wants_secret(const struct work *work)
{
    struct coat_error ignored = {0};
    struct json_in in = json_in_open(work->request->json, &ignored);
    bool wants = false;
    return json_in_bool(&in, "new_secret", JSON_OPTIONAL, &wants) && wants;
}

static enum coat_result show_changed(struct work *work)
{
    const struct channel *channel = shop_channel(work->shop, work->id);
    json_out_object(work->doc.out);
    doc_channel(&work->doc, channel);
    if (wants_secret(work))
        put_secret(work, channel);
    json_out_object_end(work->doc.out);
    return COAT_OK;
}

/* ---- writes ---- */

static enum coat_result put_channel(struct work *work, const struct channel *channel)
{
    int64_t id = 0;
    enum coat_result result = json_in_close(&work->in);
    if (result == COAT_OK)
        result = channel_in_check(work, channel);
    if (result == COAT_OK)
        result = channel_in_named(work, channel, shop_put_channel(work->shop, &work->write, channel, &id, &work->error));
    work_made(work, channel->id != 0 ? channel->id : id);
    return result;
}

static enum coat_result add_channel(struct work *work)
{
    struct channel channel;
    channel_in_new(work, false, &channel);
    return put_channel(work, &channel);
}

static enum coat_result change_channel(struct work *work)
{
    struct channel channel = *shop_channel(work->shop, work->id);
    if (channel.removed_at != MOMENT_NONE)
        return coat_fail(&work->error, COAT_CONFLICT, "", "the channel \"%s\" was taken out of use: add another one", channel.name);
    channel_in_change(work, &channel);
    return put_channel(work, &channel);
}

static enum coat_result remove_channel(struct work *work)
{
    if (json_in_close(&work->in) != COAT_OK)
        return work->error.code;
    return shop_remove_channel(work->shop, &work->write, work->id, &work->error);
}

/* ---- handlers ---- */

void route_channels_list(WORK_ARGUMENTS)
{
    work_read(context, request, response, NULL, show_channels);
}

void route_channel_get(WORK_ARGUMENTS)
{
    work_read(context, request, response, &work_channel, show_channel);
}

void route_channel_add(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {201, NULL, add_channel, show_added};
    work_write(context, request, response, &plan);
}

void route_channel_change(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {200, &work_channel, change_channel, show_changed};
    work_write(context, request, response, &plan);
}

void route_channel_remove(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {200, &work_channel, remove_channel, show_channel};
    work_write(context, request, response, &plan);
}
