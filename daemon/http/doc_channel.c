/* Channels: what they are and how they do. What is secret about one is never told from here. */
#include "daemon/http/doc.h"

#include <cjson/cJSON.h>

static void put_text(struct json_out *out, const char *key, const char *text)
{
    json_put_string(out, key, text[0] != '\0' ? text : NULL);
}

void doc_words(struct doc *doc, const char *key, const char *text)
{
    const cJSON *word = NULL;
    cJSON *words = cJSON_Parse(text);
    if (!cJSON_IsArray(words)) {
        json_put_null(doc->out, key);
        cJSON_Delete(words);
        return;
    }
    json_put_array(doc->out, key);
    cJSON_ArrayForEach(word, words)
        json_out_string(doc->out, cJSON_GetStringValue(word));
    json_out_array_end(doc->out);
    cJSON_Delete(words);
}

static struct channel_view view_of(const struct doc *doc, const struct channel *channel)
{
    struct channel_view view;
    if (!shop_channel_view(doc->shop, channel->id, &view))
        view = (struct channel_view){.channel = channel, .delivered_at = MOMENT_NONE, .failing_since_at = MOMENT_NONE};
    return view;
}

static void put_doing(struct json_out *out, const struct channel_view *view)
{
    json_put_int(out, "waiting", (int64_t)view->waiting);
    json_put_moment(out, "failing_since_at", view->failing_since_at);
    put_text(out, "answer", view->answer);
}

void doc_channel(struct doc *doc, const struct channel *channel)
{
    struct json_out *out = doc->out;
    struct channel_view view = view_of(doc, channel);
    bool command = channel->kind == CHANNEL_COMMAND;
    json_put_int(out, "id", channel->id);
    json_put_string(out, "name", channel->name);
    json_put_string(out, "kind", channel_kind_word(channel->kind));
    put_text(out, "target", command ? "" : channel->target);
    doc_words(doc, "argv", command ? channel->target : "");
    put_text(out, "user", channel->user);
    put_text(out, "from", channel->from);
    put_text(out, "to", channel->to);
    put_text(out, "link", channel->link);
    put_text(out, "ca_file", channel->ca_file);
    json_put_bool(out, "has_secret", channel->secret[0] != '\0');
    json_put_moment(out, "added_at", channel->added_at);
    json_put_moment(out, "removed_at", channel->removed_at);
    put_doing(out, &view);
    json_put_int(out, "delivered", (int64_t)view.delivered);
    json_put_moment(out, "delivered_at", view.delivered_at);
}

void doc_channels_brief(struct doc *doc, const char *key)
{
    size_t count = 0;
    const struct channel *channels = shop_channels(doc->shop, &count);
    json_put_array(doc->out, key);
    for (size_t i = 0; i < count; i++) {
        if (channels[i].removed_at != MOMENT_NONE)
            continue;
        struct channel_view view = view_of(doc, &channels[i]);
        json_out_object(doc->out);
        json_put_int(doc->out, "id", channels[i].id);
        json_put_string(doc->out, "name", channels[i].name);
        json_put_string(doc->out, "kind", channel_kind_word(channels[i].kind));
        put_doing(doc->out, &view);
        json_out_object_end(doc->out);
    }
    json_out_array_end(doc->out);
}
