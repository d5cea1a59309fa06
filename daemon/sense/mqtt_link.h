/* One link to a broker: a courier process, what is said to it, and who listens. Inside of mqtt.c. */
#ifndef COAT_SENSE_MQTT_LINK_H
#define COAT_SENSE_MQTT_LINK_H

#include "coat/facts.h"
#include "coat/link.h"
#include "daemon/sense/mqtt.h"

#include <stdbool.h>

#define MQTT_FAULT_SIZE 320

/* What makes two sensors share a link. */
struct mqtt_broker {
    char host[256]; /* empty: the source was no address of one */
    int port;
    bool tls;
    char user[NAME_SIZE];
    char secret[SENSOR_SECRET_SIZE];
    char ca_file[SENSOR_SOURCE_SIZE];
};

struct mqtt_listener {
    int64_t id; /* of the sensor or test */
    char topic[SENSOR_SOURCE_SIZE];
    char fault[MQTT_FAULT_SIZE]; /* of this topic alone; empty: none */
    char told[MQTT_FAULT_SIZE];
};

struct mqtt_topic {
    char name[SENSOR_SOURCE_SIZE];
};

struct mqtt_link {
    struct mqtt_broker broker;
    bool test;      /* of a test, with one listener */
    bool over;      /* has no more to tell; to be freed */
    struct mqtt_listener *listeners;
    size_t count;

    struct link courier;
    bool up;
    char down[MQTT_FAULT_SIZE];   /* why nothing comes from the broker, as told to people; empty: up, or not known yet */
    int64_t silent_at_ms;         /* real; with no word by then, it is down; INT64_MAX: up, or told */
    struct mqtt_topic *known;     /* topics that the courier was told */
    size_t known_count;
};

struct mqtt_links {
    struct couriers couriers;
    struct mqtt_calls calls;
    struct mqtt_link **list;
    size_t count;
};

struct mqtt_link *mqtt_link_make(const struct mqtt_broker *broker); /* NULL: no memory */
void mqtt_link_free(struct mqtt_link *link);                        /* its courier was stopped */
/* Starts, hears and tells what is to do. */
void mqtt_link_turn(struct mqtt_links *links, struct mqtt_link *link, int64_t now_ms);
int64_t mqtt_link_next_ms(const struct mqtt_link *link, int64_t now_ms);
/* Kills its courier, if there is one. */
void mqtt_link_stop(struct mqtt_links *links, struct mqtt_link *link);

#endif
