/* Sensors that publish to a broker. One link (a courier process) for each broker and account; the sensors of a broker share it. What comes is
 * told by the calls as it came: sense.c takes the numbers out. */
#ifndef COAT_SENSE_MQTT_H
#define COAT_SENSE_MQTT_H

#include "coat/facts.h"
#include "coat/result.h"

#include <stddef.h>
#include <stdint.h>

struct mqtt_links;

/* Called from mqtt_links_turn only. The texts are gone when the call returns. */
struct mqtt_calls {
    void *context;
    /* What a topic published. `text` has `length` bytes and a NUL behind them. */
    /* `retained`: the broker kept it, from whenever it was. */
    void (*payload)(void *context, int64_t sensor_id, const char *text, size_t length, bool retained);
    /* Why nothing comes (the broker does not answer, refuses, cannot be trusted; the payload is no text): once when it begins or changes, "" when the
     * link is up again. */
    void (*fault)(void *context, int64_t sensor_id, const char *text);
    /* The same of a test, which has a link of its own. "" is not told. */
    void (*test_payload)(void *context, int64_t test_id, const char *text, size_t length);
    void (*test_fault)(void *context, int64_t test_id, const char *text);
};

/* `courier` is the program; copied. Starts nothing before there is a sensor or a test. */
COAT_CHECKED enum coat_result mqtt_links_open(const char *courier, const struct mqtt_calls *calls, struct mqtt_links **ret, struct coat_error *error);
/* Ends all couriers. Accepts NULL. */
void mqtt_links_close(struct mqtt_links *links);

/* The sensors in use. Those of another kind than SENSOR_MQTT are passed over. Links that stay are not taken down; what cannot be begun is told as a fault
 * in the next turn. On failure nothing has changed. */
COAT_CHECKED enum coat_result mqtt_links_set(struct mqtt_links *links, const struct sensor *sensors, size_t count);

/* Readable when there is work (an epoll descriptor itself); the same all its life. */
int mqtt_links_descriptor(const struct mqtt_links *links);
/* Does what is to do, without waiting. */
void mqtt_links_turn(struct mqtt_links *links);
/* Real moment (clock_real_ms) by which it wants its next turn at the latest; INT64_MAX: only when woken. */
int64_t mqtt_links_next_ms(const struct mqtt_links *links);

/* Listens to one topic on a link of its own, so that a retained message comes again, until mqtt_links_test_end. The caller keeps the time. */
COAT_CHECKED enum coat_result mqtt_links_test_begin(struct mqtt_links *links, int64_t test_id, const struct sensor *settings, struct coat_error *error);
/* May be called from within test_payload and test_fault; one that is not there is passed over. */
void mqtt_links_test_end(struct mqtt_links *links, int64_t test_id);

#endif
