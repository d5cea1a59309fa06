/* A notice handed to a courier, which takes it to another machine. One process a channel; it is begun when there is something to send, and ended when there was
 * nothing for a while. */
#include "daemon/notify/sender.h"
#include "daemon/notify/target.h"

#include <cjson/cJSON.h>
#include <stdlib.h>
#include <string.h>

/* ---- lines to it ---- */

static cJSON *open_webhook(const struct channel *settings, const struct target *target)
{
    cJSON *line = cJSON_CreateObject();
    cJSON_AddStringToObject(line, "open", "webhook");
    cJSON_AddStringToObject(line, "url", settings->target);
    cJSON_AddBoolToObject(line, "plain", !target->tls);
    cJSON_AddStringToObject(line, "ca_file", settings->ca_file);
    cJSON_AddStringToObject(line, "secret", settings->secret);
    return line;
}

static cJSON *open_mail(const struct channel *settings, const struct target *target)
{
    char url[300];
    cJSON *line = cJSON_CreateObject();
    bool six = strchr(target->host, ':') != NULL;
    snprintf(url, sizeof url, "%s://%s%s%s:%d", target->tls ? "smtps" : "smtp", six ? "[" : "", target->host, six ? "]" : "", target->port);
    cJSON_AddStringToObject(line, "open", "mail");
    cJSON_AddStringToObject(line, "url", url);
    cJSON_AddBoolToObject(line, "plain", !target->tls && target->here);
    cJSON_AddStringToObject(line, "ca_file", settings->ca_file);
    cJSON_AddStringToObject(line, "user", settings->user);
    cJSON_AddStringToObject(line, "password", settings->secret);
    cJSON_AddStringToObject(line, "from", settings->from);
    cJSON_AddStringToObject(line, "to", settings->to);
    return line;
}

static cJSON *open_mqtt(const struct channel *settings, const struct target *target)
{
    cJSON *line = cJSON_CreateObject();
    cJSON_AddStringToObject(line, "open", "mqtt-out");
    cJSON_AddStringToObject(line, "host", target->host);
    cJSON_AddNumberToObject(line, "port", target->port);
    cJSON_AddBoolToObject(line, "tls", target->tls);
    cJSON_AddStringToObject(line, "ca_file", target->tls ? settings->ca_file : "");
    cJSON_AddStringToObject(line, "user", settings->user);
    cJSON_AddStringToObject(line, "password", settings->secret);
    cJSON_AddStringToObject(line, "topic", target_topic(target));
    return line;
}

/* NULL with *error where the settings say nothing that could be opened. */
static cJSON *open_line(const struct channel *settings, struct coat_error *error)
{
    struct target target;
    if (target_parse(settings->kind, settings->target, &target, error) != COAT_OK)
        return NULL;
    return settings->kind == CHANNEL_WEBHOOK ? open_webhook(settings, &target) : settings->kind == CHANNEL_MAIL ? open_mail(settings, &target) : open_mqtt(settings, &target);
}

static cJSON *send_line(const struct notify_message *message)
{
    cJSON *line = cJSON_CreateObject();
    cJSON_AddStringToObject(line, "send", message->id);
    cJSON_AddStringToObject(line, "subject", message->subject);
    cJSON_AddStringToObject(line, "text", message->text);
    cJSON_AddStringToObject(line, "json", message->json);
    return line;
}

static bool fits(const cJSON *line)
{
    char *text = cJSON_PrintUnformatted(line);
    bool short_enough = text != NULL && strlen(text) < COURIER_LINE_MAX;
    cJSON_free(text);
    return short_enough;
}

/* The line after the one that opens it. */
static bool put_message(void *context)
{
    struct sender *sender = context;
    cJSON *line = sender->line;
    sender->line = NULL;
    return line == NULL || link_put(sender->link, line);
}

/* ---- lines from it ---- */

static bool hear_line(void *context, const char *text, size_t length)
{
    struct sender *sender = context;
    cJSON *line = cJSON_ParseWithLength(text, length);
    const char *sent = cJSON_GetStringValue(cJSON_GetObjectItemCaseSensitive(line, "sent"));
    const char *failed = cJSON_GetStringValue(cJSON_GetObjectItemCaseSensitive(line, "failed"));
    const char *answer = cJSON_GetStringValue(cJSON_GetObjectItemCaseSensitive(line, "answer"));
    const char *id = sent != NULL ? sent : failed;
    bool understood = id != NULL && answer != NULL && sender->busy && !sender->answered && sender->line == NULL && strcmp(id, sender->id) == 0;
    if (understood) {
        sender->answered = true;
        sender->outcome.delivered = sent != NULL;
        sender_show(answer, strlen(answer), sender->outcome.answer);
    }
    cJSON_Delete(line);
    return understood;
}

/* ---- sending ---- */

static bool begin_courier(struct sender *sender, const struct notify_message *message, int64_t now_ms, struct sender_outcome *ret)
{
    struct cJSON *line = send_line(message);
    struct link *link = sender->link != NULL ? sender->link : malloc(sizeof *link);
    if (sender->link == NULL && link != NULL)
        link_init(link);
    sender->link = link;
    if (link == NULL || line == NULL || !fits(line)) {
        cJSON_Delete(line);
        *ret = (struct sender_outcome){.answer = "it is too long to be sent, or there is no memory for it"};
        return false;
    }
    sender->busy = true;
    sender->answered = false;
    sender->line = line;
    sender->limit_at_ms = now_ms + (sender->settings.kind == CHANNEL_MAIL ? SENDER_MAIL_LIMIT_MS : SENDER_COURIER_LIMIT_MS);
    sender->outcome = (struct sender_outcome){0};
    snprintf(sender->id, sizeof sender->id, "%s", message->id);
    return true;
}

static void fail(struct sender *sender, const char *why)
{
    if (!sender->busy || sender->answered)
        return;
    sender->answered = true;
    sender_show(why, strlen(why), sender->outcome.answer);
}

static void start(struct sender *sender, int64_t now_ms)
{
    struct coat_error error = {0};
    cJSON *line = open_line(&sender->settings, &error);
    if (line == NULL) {
        fail(sender, error.text[0] != '\0' ? error.text : "out of memory");
    } else if (link_start(sender->couriers, sender->link, now_ms, &error) != COAT_OK) {
        cJSON_Delete(line);
        fail(sender, error.text);
    } else if (!link_put(sender->link, line)) {
        link_begin_again(sender->couriers, sender->link, now_ms);
        fail(sender, "out of memory");
    }
}

static void hear_and_say(struct sender *sender, int64_t now_ms)
{
    struct link *link = sender->link;
    if (link_hear(link, hear_line, sender) && link_say(sender->couriers, link, put_message, sender))
        return;
    link_begin_again(sender->couriers, link, now_ms);
    fail(sender, "its courier, the program that takes it there, ended before there was an answer");
}

static bool take_outcome(struct sender *sender, int64_t now_ms, struct sender_outcome *ret)
{
    if (!sender->busy || !sender->answered)
        return false;
    *ret = sender->outcome;
    cJSON_Delete(sender->line);
    sender->line = NULL;
    sender->busy = false;
    sender->idle_at_ms = now_ms + SENDER_IDLE_MS;
    return true;
}

static bool turn_courier(struct sender *sender, int64_t now_ms, struct sender_outcome *ret)
{
    struct link *link = sender->link;
    if (link == NULL)
        return false;
    link->more = false;
    if (link->pid == 0 && sender->busy && now_ms >= link->start_at_ms)
        start(sender, now_ms);
    if (link->pid != 0)
        hear_and_say(sender, now_ms);
    if (sender->busy && !sender->answered && now_ms >= sender->limit_at_ms) {
        link_begin_again(sender->couriers, link, now_ms);
        fail(sender, "no answer from its courier, the program that takes it there, in the time that it has; it was ended");
    }
    if (!sender->busy && link->pid != 0 && now_ms >= sender->idle_at_ms)
        link_stop(sender->couriers, link);
    return take_outcome(sender, now_ms, ret);
}

static int64_t courier_next_ms(const struct sender *sender, int64_t now_ms)
{
    const struct link *link = sender->link;
    if (link == NULL)
        return INT64_MAX;
    if (link->more)
        return now_ms;
    if (!sender->busy)
        return link->pid != 0 ? sender->idle_at_ms : INT64_MAX;
    if (link->pid != 0 && sender->line != NULL && link->out == NULL)
        return now_ms; /* it was open already */
    return link->pid == 0 && link->start_at_ms < sender->limit_at_ms ? link->start_at_ms : sender->limit_at_ms;
}

static bool courier_is_free(const struct sender *sender)
{
    return !sender->busy;
}

static bool end_courier(struct sender *sender)
{
    if (sender->link != NULL)
        link_stop(sender->couriers, sender->link);
    free(sender->link);
    cJSON_Delete(sender->line);
    sender->link = NULL;
    sender->line = NULL;
    sender->busy = false;
    return true;
}

const struct sender_way sender_by_courier = {begin_courier, turn_courier, courier_next_ms, courier_is_free, end_courier};
