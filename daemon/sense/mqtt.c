#include "daemon/sense/mqtt.h"

#include "coat/clock.h"
#include "daemon/sense/mqtt_link.h"
#include "daemon/sense/source.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- open and close ---- */

enum coat_result mqtt_links_open(const char *courier, const struct mqtt_calls *calls, struct mqtt_links **ret, struct coat_error *error)
{
    struct mqtt_links *links = calloc(1, sizeof *links);
    if (links == NULL)
        return coat_fail(error, COAT_NO_MEMORY, "", "out of memory for the links to brokers");
    links->calls = *calls;
    enum coat_result result = couriers_open(&links->couriers, courier, error);
    if (result == COAT_OK)
        *ret = links;
    else
        free(links);
    return result;
}

void mqtt_links_close(struct mqtt_links *links)
{
    if (links == NULL)
        return;
    for (size_t i = 0; i < links->count; i++) {
        mqtt_link_stop(links, links->list[i]);
        mqtt_link_free(links->list[i]);
    }
    couriers_close(&links->couriers);
    free(links->list);
    free(links);
}

/* ---- who listens to what ---- */

/* A source that is no address gives a broker without a host: its link says so. */
static void read_settings(const struct sensor *sensor, struct mqtt_broker *ret_broker, struct mqtt_listener *ret_listener)
{
    struct mqtt_source source;
    *ret_broker = (struct mqtt_broker){0};
    *ret_listener = (struct mqtt_listener){.id = sensor->id};
    if (source_mqtt_parse(sensor->source, &source, NULL) != COAT_OK)
        return;
    ret_broker->port = source.port;
    ret_broker->tls = source.tls;
    snprintf(ret_broker->host, sizeof ret_broker->host, "%s", source.host);
    snprintf(ret_broker->user, sizeof ret_broker->user, "%s", sensor->user);
    snprintf(ret_broker->secret, sizeof ret_broker->secret, "%s", sensor->secret);
    snprintf(ret_broker->ca_file, sizeof ret_broker->ca_file, "%s", source.tls ? sensor->ca_file : "");
    snprintf(ret_listener->topic, sizeof ret_listener->topic, "%s", source.topic);
}

static bool is_same(const struct mqtt_broker *one, const struct mqtt_broker *other)
{
    return one->port == other->port && one->tls == other->tls && strcmp(one->host, other->host) == 0 && strcmp(one->user, other->user) == 0 &&
           strcmp(one->secret, other->secret) == 0 && strcmp(one->ca_file, other->ca_file) == 0;
}

static bool add_link(struct mqtt_links *links, struct mqtt_link *link)
{
    struct mqtt_link **longer = link != NULL ? reallocarray(links->list, links->count + 1, sizeof(struct mqtt_link *)) : NULL;
    if (longer == NULL) {
        mqtt_link_free(link);
        return false;
    }
    links->list = longer;
    links->list[links->count++] = link;
    return true;
}

static bool add_listener(struct mqtt_link *link, const struct mqtt_listener *listener)
{
    struct mqtt_listener *longer = reallocarray(link->listeners, link->count + 1, sizeof *longer);
    if (longer == NULL)
        return false;
    link->listeners = longer;
    link->listeners[link->count++] = *listener;
    return true;
}

/* The links as the sensors want them, with no courier yet: a plan. The first `from` links of the list are those in use. */
static bool plan_sensor(struct mqtt_links *links, size_t from, const struct sensor *sensor)
{
    struct mqtt_broker broker;
    struct mqtt_listener listener;
    struct mqtt_link *link = NULL;
    read_settings(sensor, &broker, &listener);
    for (size_t i = from; link == NULL && i < links->count; i++)
        if (is_same(&links->list[i]->broker, &broker))
            link = links->list[i];
    if (link == NULL) {
        if (!add_link(links, mqtt_link_make(&broker)))
            return false;
        link = links->list[links->count - 1];
    }
    return add_listener(link, &listener);
}

static const struct mqtt_listener *find_listener(const struct mqtt_links *links, size_t count, int64_t id)
{
    for (size_t i = 0; i < count; i++)
        for (size_t k = 0; !links->list[i]->test && !links->list[i]->over && k < links->list[i]->count; k++)
            if (links->list[i]->listeners[k].id == id)
                return &links->list[i]->listeners[k];
    return NULL;
}

/* What was told of a sensor stays told, wherever it listens now. */
static void carry_over(const struct mqtt_links *links, size_t from, struct mqtt_link *plan)
{
    for (size_t i = 0; i < plan->count; i++) {
        struct mqtt_listener *listener = &plan->listeners[i];
        const struct mqtt_listener *before = find_listener(links, from, listener->id);
        if (before == NULL)
            continue;
        memcpy(listener->told, before->told, sizeof listener->told);
        if (strcmp(listener->topic, before->topic) == 0)
            memcpy(listener->fault, before->fault, sizeof listener->fault);
    }
}

static struct mqtt_link *find_planned(const struct mqtt_links *links, size_t from, const struct mqtt_link *link)
{
    for (size_t i = from; i < links->count; i++)
        if (is_same(&links->list[i]->broker, &link->broker))
            return links->list[i];
    return NULL;
}

static void swap_listeners(struct mqtt_link *one, struct mqtt_link *other)
{
    struct mqtt_listener *list = one->listeners;
    size_t count = one->count;
    one->listeners = other->listeners;
    one->count = other->count;
    other->listeners = list;
    other->count = count;
}

/* A link in use takes the listeners of the plan for its broker, which is done with then; one without a plan is over. */
static void put_into_effect(struct mqtt_links *links, size_t from)
{
    for (size_t i = from; i < links->count; i++)
        carry_over(links, from, links->list[i]);
    for (size_t i = 0; i < from; i++) {
        struct mqtt_link *link = links->list[i];
        struct mqtt_link *plan = link->test || link->over ? NULL : find_planned(links, from, link);
        if (plan != NULL) {
            swap_listeners(link, plan);
            link->courier.more = true;
            plan->over = true;
        } else if (!link->test) {
            mqtt_link_stop(links, link);
            link->over = true;
        }
    }
}

/* Frees the links from that place on that are over. */
static void sweep(struct mqtt_links *links, size_t from)
{
    size_t kept = from;
    for (size_t i = from; i < links->count; i++) {
        if (links->list[i]->over)
            mqtt_link_free(links->list[i]);
        else
            links->list[kept++] = links->list[i];
    }
    links->count = kept;
}

enum coat_result mqtt_links_set(struct mqtt_links *links, const struct sensor *sensors, size_t count)
{
    size_t from = links->count;
    bool planned = true;
    for (size_t i = 0; i < count && planned; i++)
        planned = sensors[i].kind != SENSOR_MQTT || plan_sensor(links, from, &sensors[i]);
    if (planned)
        put_into_effect(links, from);
    for (size_t i = from; i < links->count; i++)
        links->list[i]->over = links->list[i]->over || !planned;
    sweep(links, from); /* those before are swept in the turn: one of them may be telling just now */
    return planned ? COAT_OK : COAT_NO_MEMORY;
}

/* ---- turns ---- */

int mqtt_links_descriptor(const struct mqtt_links *links)
{
    return links->couriers.poll_fd;
}

void mqtt_links_turn(struct mqtt_links *links)
{
    int64_t now_ms = clock_real_ms();
    for (size_t i = 0; i < links->count; i++)
        if (!links->list[i]->over)
            mqtt_link_turn(links, links->list[i], now_ms);
    sweep(links, 0);
    couriers_reap(&links->couriers);
}

int64_t mqtt_links_next_ms(const struct mqtt_links *links)
{
    int64_t now_ms = clock_real_ms();
    int64_t next_ms = couriers_next_ms(&links->couriers, now_ms);
    for (size_t i = 0; i < links->count; i++) {
        int64_t link_ms = mqtt_link_next_ms(links->list[i], now_ms);
        if (link_ms < next_ms)
            next_ms = link_ms;
    }
    return next_ms;
}

/* ---- tests ---- */

enum coat_result mqtt_links_test_begin(struct mqtt_links *links, int64_t test_id, const struct sensor *settings, struct coat_error *error)
{
    struct mqtt_source source;
    struct mqtt_broker broker;
    struct mqtt_listener listener;
    enum coat_result result = source_mqtt_parse(settings->source, &source, error);
    if (result != COAT_OK)
        return result;
    read_settings(settings, &broker, &listener);
    listener.id = test_id;
    struct mqtt_link *link = mqtt_link_make(&broker);
    if (link == NULL || !add_listener(link, &listener)) {
        mqtt_link_free(link);
        return coat_fail(error, COAT_NO_MEMORY, "", "out of memory for a test");
    }
    link->test = true;
    return add_link(links, link) ? COAT_OK : coat_fail(error, COAT_NO_MEMORY, "", "out of memory for a test");
}

void mqtt_links_test_end(struct mqtt_links *links, int64_t test_id)
{
    for (size_t i = 0; i < links->count; i++) {
        struct mqtt_link *link = links->list[i];
        if (!link->test || link->over || link->listeners[0].id != test_id)
            continue;
        mqtt_link_stop(links, link);
        link->over = true; /* freed in the turn, which may be calling us */
    }
}
