#include "daemon/sense/mqtt_link.h"

#include <cjson/cJSON.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define SILENT_START_MS INT64_C(45000) /* the courier tries several addresses, 10 s each, before it says that it is down */
#define SILENT_AGAIN_MS INT64_C(10000) /* a courier that ended and is back by then is nobody's business */

/* ---- the courier's process ---- */

void mqtt_link_stop(struct mqtt_links *links, struct mqtt_link *link)
{
    link_stop(&links->couriers, &link->courier);
    link->known_count = 0;
    link->up = false;
}

/* The courier died or says nonsense. */
static void begin_again(struct mqtt_links *links, struct mqtt_link *link, int64_t now_ms)
{
    mqtt_link_stop(links, link);
    link_begin_again(&links->couriers, &link->courier, now_ms);
    if (link->down[0] == '\0' && now_ms + SILENT_AGAIN_MS < link->silent_at_ms)
        link->silent_at_ms = now_ms + SILENT_AGAIN_MS;
}

static void set_down(struct mqtt_link *link, const char *why)
{
    link->up = false;
    link->silent_at_ms = INT64_MAX;
    snprintf(link->down, sizeof link->down, "no connection to the broker at %.100s:%d: %.140s; tried again by itself", link->broker.host, link->broker.port, why);
}

static cJSON *open_line(const struct mqtt_broker *broker)
{
    cJSON *line = cJSON_CreateObject();
    cJSON_AddStringToObject(line, "open", "mqtt");
    cJSON_AddStringToObject(line, "host", broker->host);
    cJSON_AddNumberToObject(line, "port", broker->port);
    cJSON_AddBoolToObject(line, "tls", broker->tls);
    cJSON_AddStringToObject(line, "ca_file", broker->ca_file);
    cJSON_AddStringToObject(line, "user", broker->user);
    cJSON_AddStringToObject(line, "password", broker->secret);
    return line;
}

static void start(struct mqtt_links *links, struct mqtt_link *link, int64_t now_ms)
{
    struct coat_error error = {0};
    if (link->down[0] == '\0' && link->silent_at_ms == INT64_MAX)
        link->silent_at_ms = now_ms + SILENT_START_MS;
    if (link_start(&links->couriers, &link->courier, now_ms, &error) != COAT_OK)
        set_down(link, error.text);
    else if (!link_put(&link->courier, open_line(&link->broker)))
        begin_again(links, link, now_ms);
}

/* ---- to the courier: one line at a time, made of what it does not know yet ---- */

static bool is_wanted(const struct mqtt_link *link, const char *topic)
{
    for (size_t i = 0; i < link->count; i++)
        if (strcmp(link->listeners[i].topic, topic) == 0)
            return true;
    return false;
}

static bool is_known(const struct mqtt_link *link, const char *topic)
{
    for (size_t i = 0; i < link->known_count; i++)
        if (strcmp(link->known[i].name, topic) == 0)
            return true;
    return false;
}

static bool put_topic(struct mqtt_link *link, const char *what, const char *topic)
{
    cJSON *line = cJSON_CreateObject();
    cJSON_AddStringToObject(line, what, topic);
    return link_put(&link->courier, line);
}

static bool drop_topic(struct mqtt_link *link, size_t i)
{
    bool put = put_topic(link, "drop", link->known[i].name);
    link->known[i] = link->known[--link->known_count];
    return put;
}

static bool add_topic(struct mqtt_link *link, const char *topic)
{
    struct mqtt_topic *longer = reallocarray(link->known, link->known_count + 1, sizeof *longer);
    if (longer == NULL)
        return false;
    link->known = longer;
    snprintf(longer[link->known_count++].name, sizeof longer->name, "%s", topic);
    return put_topic(link, "add", topic);
}

/* The next line, if there is anything to say. False: no memory; that ends the courier, and all is said again to the next one. */
static bool put_next(void *context)
{
    struct mqtt_link *link = context;
    for (size_t i = 0; i < link->known_count; i++)
        if (!is_wanted(link, link->known[i].name))
            return drop_topic(link, i);
    for (size_t i = 0; i < link->count; i++)
        if (!is_known(link, link->listeners[i].topic))
            return add_topic(link, link->listeners[i].topic);
    return true;
}

/* ---- from the courier ---- */

static void tell_payload(const struct mqtt_links *links, const struct mqtt_link *link, int64_t id, const char *payload, bool retained)
{
    const struct mqtt_calls *calls = &links->calls;
    if (link->test)
        calls->test_payload(calls->context, id, payload, strlen(payload));
    else
        calls->payload(calls->context, id, payload, strlen(payload), retained);
}

static void hear_payload(struct mqtt_links *links, struct mqtt_link *link, const char *topic, const char *payload, bool retained)
{
    for (size_t i = 0; i < link->count && !link->over; i++) {
        struct mqtt_listener *listener = &link->listeners[i];
        if (strcmp(listener->topic, topic) != 0)
            continue;
        if (payload == NULL) {
            snprintf(listener->fault, sizeof listener->fault, "what its topic publishes is no text, or longer than 64 kB: it should be a number or JSON");
        } else {
            listener->fault[0] = '\0';
            tell_payload(links, link, listener->id, payload, retained);
        }
    }
}

static void hear_refused(struct mqtt_link *link, const char *topic)
{
    for (size_t i = 0; i < link->count; i++) {
        struct mqtt_listener *listener = &link->listeners[i];
        if (strcmp(listener->topic, topic) == 0)
            snprintf(listener->fault, sizeof listener->fault, "the broker at %.100s:%d does not let this user read its topic",
                     link->broker.host, link->broker.port);
    }
}

static bool hear_state(struct mqtt_link *link, const char *state, const char *why)
{
    if (strcmp(state, "connected") == 0) {
        link->up = true;
        link->down[0] = '\0';
        link->silent_at_ms = INT64_MAX;
        return true;
    }
    set_down(link, why != NULL ? why : "not told why");
    return strcmp(state, "down") == 0;
}

static const char *text_of(const cJSON *line, const char *name)
{
    return cJSON_GetStringValue(cJSON_GetObjectItemCaseSensitive(line, name));
}

struct hearing {
    struct mqtt_links *links;
    struct mqtt_link *link;
};

/* False where it says what no courier says. */
static bool hear_line(void *context, const char *text, size_t length)
{
    const struct hearing *hearing = context;
    cJSON *line = cJSON_ParseWithLength(text, length);
    const char *topic = text_of(line, "topic");
    const char *state = text_of(line, "state");
    const char *refused = text_of(line, "refused");
    bool understood = true;
    if (topic != NULL)
        hear_payload(hearing->links, hearing->link, topic, text_of(line, "payload"), cJSON_IsTrue(cJSON_GetObjectItemCaseSensitive(line, "retained")));
    else if (state != NULL)
        understood = hear_state(hearing->link, state, text_of(line, "why"));
    else if (refused != NULL)
        hear_refused(hearing->link, refused);
    else
        understood = false;
    cJSON_Delete(line);
    return understood;
}

/* False: the courier is gone or says nonsense. */
static bool hear_and_say(struct mqtt_links *links, struct mqtt_link *link)
{
    struct hearing hearing = {links, link};
    if (!link_hear(&link->courier, hear_line, &hearing))
        return false;
    return link->over || link_say(&links->couriers, &link->courier, put_next, link);
}

/* ---- telling ---- */

static void tell_faults(struct mqtt_links *links, struct mqtt_link *link)
{
    const struct mqtt_calls *calls = &links->calls;
    for (size_t i = 0; i < link->count && !link->over; i++) {
        struct mqtt_listener *listener = &link->listeners[i];
        const char *fault = link->down[0] != '\0' ? link->down : listener->fault;
        if (strcmp(fault, listener->told) == 0 || (fault[0] == '\0' && !link->up))
            continue;
        snprintf(listener->told, sizeof listener->told, "%s", fault);
        if (!link->test)
            calls->fault(calls->context, listener->id, listener->told);
        else if (fault[0] != '\0')
            calls->test_fault(calls->context, listener->id, listener->told);
    }
}

/* ---- the link ---- */

struct mqtt_link *mqtt_link_make(const struct mqtt_broker *broker)
{
    struct mqtt_link *link = calloc(1, sizeof *link);
    if (link == NULL)
        return NULL;
    link->broker = *broker;
    link_init(&link->courier);
    link->silent_at_ms = INT64_MAX;
    if (broker->host[0] == '\0') {
        snprintf(link->down, sizeof link->down, "its source is no address of a broker: write mqtt://HOST/TOPIC");
        link->courier.start_at_ms = INT64_MAX;
    }
    return link;
}

void mqtt_link_free(struct mqtt_link *link)
{
    if (link == NULL)
        return;
    free(link->listeners);
    free(link->known);
    explicit_bzero(&link->broker, sizeof link->broker);
    free(link);
}

void mqtt_link_turn(struct mqtt_links *links, struct mqtt_link *link, int64_t now_ms)
{
    struct link *courier = &link->courier;
    courier->more = false;
    if (courier->pid == 0 && now_ms >= courier->start_at_ms)
        start(links, link, now_ms);
    if (courier->pid != 0 && !hear_and_say(links, link))
        begin_again(links, link, now_ms);
    if (now_ms >= link->silent_at_ms)
        set_down(link, "no answer");
    tell_faults(links, link);
}

int64_t mqtt_link_next_ms(const struct mqtt_link *link, int64_t now_ms)
{
    if (link->courier.more || link->over)
        return now_ms;
    int64_t next_ms = link->courier.pid == 0 ? link->courier.start_at_ms : INT64_MAX;
    return next_ms < link->silent_at_ms ? next_ms : link->silent_at_ms;
}
