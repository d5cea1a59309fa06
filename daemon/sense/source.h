/* The text of a source, taken apart. No I/O. */
#ifndef COAT_SENSE_SOURCE_H
#define COAT_SENSE_SOURCE_H

#include "coat/facts.h"
#include "coat/result.h"

#include <stdbool.h>

/* "mqtt://host[:1883]/topic", "mqtts://host[:8883]/topic"; an IPv6 address in brackets. The topic is all that follows the slash, as it is. */
struct mqtt_source {
    bool tls;
    char host[256]; /* an IPv6 address without its brackets */
    int port;
    char topic[SENSOR_SOURCE_SIZE];
};
COAT_CHECKED enum coat_result source_mqtt_parse(const char *source, struct mqtt_source *ret, struct coat_error *error);

/* A JSON array of a program and its arguments. argv ends with NULL; its texts live in `room`. */
#define SOURCE_ARGUMENTS_MAX 32
struct command_source {
    char *argv[SOURCE_ARGUMENTS_MAX + 1];
    char room[SENSOR_SOURCE_SIZE];
};
COAT_CHECKED enum coat_result source_command_parse(const char *source, struct command_source *ret, struct coat_error *error);

/* "iio:NAME[@PARENT]", "hwmon:NAME[@PARENT][/LABEL]", "w1:28-0123456789ab". A name may itself have an "@", so it is not taken apart there. */
enum bus { BUS_IIO, BUS_HWMON, BUS_W1, BUS_COUNT };
struct device_source {
    enum bus bus;
    char name[SENSOR_SOURCE_SIZE];  /* with "@PARENT" where told */
    char label[SENSOR_SOURCE_SIZE]; /* of the channel; empty where not told */
};
COAT_CHECKED enum coat_result source_device_parse(const char *source, struct device_source *ret, struct coat_error *error);

#endif
