#include "daemon/sense/source.h"

#include <cjson/cJSON.h>
#include <ctype.h>
#include <stdlib.h>
#include <string.h>

/* ---- brokers ---- */

#define TOPIC_BYTES_MAX 400 /* a topic may be longer, but then the source is too */

static const struct {
    const char *scheme;
    bool tls;
    int port; /* registered with IANA for MQTT without and with TLS */
} mqtt_schemes[] = {{"mqtt://", false, 1883}, {"mqtts://", true, 8883}};

static const char mqtt_form[] = "write mqtt://host/topic, mqtt://host:1883/topic or mqtts://host/topic";

static bool has_control(const char *text)
{
    for (; *text != '\0'; text++)
        if (iscntrl((unsigned char)*text))
            return true;
    return false;
}

/* By its letters: a host name or an IPv4 address, or in brackets an IPv6 address, perhaps with its zone. Whether there is one shows when it is asked. */
static bool is_host(const char *text, size_t length, bool bracketed)
{
    if (length == 0 || length >= sizeof((struct mqtt_source *)0)->host || text[0] == '-')
        return false;
    for (size_t i = 0; i < length; i++)
        if (!isalnum((unsigned char)text[i]) && strchr(bracketed ? ":.%-_" : ".-_", text[i]) == NULL)
            return false;
    return true;
}

/* Digits up to `end`, 1 to 65535; 0 where they are no port. */
static int read_port(const char *text, const char *end)
{
    int port = 0;
    if (text == end)
        return 0;
    for (; text < end; text++) {
        if (*text < '0' || *text > '9')
            return 0;
        port = port * 10 + (*text - '0');
        if (port > 65535)
            return 0;
    }
    return port;
}

/* "host[:port]" of `length` bytes; ret->port holds the usual one. */
static enum coat_result read_authority(const char *text, size_t length, struct mqtt_source *ret, struct coat_error *error)
{
    bool bracketed = length > 0 && text[0] == '[';
    const char *end = text + length;
    const char *host = bracketed ? text + 1 : text;
    const char *host_end = memchr(host, bracketed ? ']' : ':', (size_t)(end - host));
    if (memchr(text, '@', length) != NULL)
        return coat_fail(error, COAT_BAD_VALUE, "source", "user and password have fields of their own and do not stand in the source: %s", mqtt_form);
    if (host_end == NULL)
        host_end = end;
    const char *rest = bracketed && host_end < end ? host_end + 1 : host_end;
    if ((bracketed && host_end == end) || !is_host(host, (size_t)(host_end - host), bracketed) || (rest < end && *rest != ':'))
        return coat_fail(error, COAT_BAD_VALUE, "source", "\"%.*s\" is no host: %s", (int)(length < 80 ? length : 80), text, mqtt_form);
    if (rest < end)
        ret->port = read_port(rest + 1, end);
    if (ret->port == 0)
        return coat_fail(error, COAT_BAD_VALUE, "source", "\"%.*s\" has no port from 1 to 65535 after its colon: leave the colon out, or %s",
                         (int)(length < 80 ? length : 80), text, mqtt_form);
    memcpy(ret->host, host, (size_t)(host_end - host));
    ret->host[host_end - host] = '\0';
    return COAT_OK;
}

static enum coat_result read_topic(const char *topic, struct mqtt_source *ret, struct coat_error *error)
{
    if (topic[0] == '\0' || strlen(topic) > TOPIC_BYTES_MAX || has_control(topic))
        return coat_fail(error, COAT_BAD_VALUE, "source", "the source names no topic of 1 to %d bytes: %s", TOPIC_BYTES_MAX, mqtt_form);
    if (strpbrk(topic, "+#") != NULL)
        return coat_fail(error, COAT_BAD_VALUE, "source", "the topic \"%.80s\" has a + or # in it, which stand for many topics: name the one of this sensor",
                         topic);
    snprintf(ret->topic, sizeof ret->topic, "%s", topic);
    return COAT_OK;
}

enum coat_result source_mqtt_parse(const char *source, struct mqtt_source *ret, struct coat_error *error)
{
    for (size_t i = 0; i < sizeof mqtt_schemes / sizeof *mqtt_schemes; i++) {
        size_t skip = strlen(mqtt_schemes[i].scheme);
        struct mqtt_source read = {.tls = mqtt_schemes[i].tls, .port = mqtt_schemes[i].port};
        if (strncmp(source, mqtt_schemes[i].scheme, skip) != 0)
            continue;
        const char *slash = strchr(source + skip, '/');
        if (slash == NULL)
            break;
        enum coat_result result = read_authority(source + skip, (size_t)(slash - source) - skip, &read, error);
        if (result == COAT_OK)
            result = read_topic(slash + 1, &read, error);
        if (result == COAT_OK)
            *ret = read;
        return result;
    }
    return coat_fail(error, COAT_BAD_VALUE, "source", "\"%.80s\" is no topic of a broker: %s", source, mqtt_form);
}

/* ---- commands ---- */

static enum coat_result refuse_command(const char *source, const char *why, struct coat_error *error)
{
    return coat_fail(error, COAT_BAD_VALUE, "source", "%.100s: %s; write a JSON array of the program and its arguments, "
                     "such as [\"/usr/local/bin/read-shed\", \"--celsius\"]", source, why);
}

/* The texts of the array one after the other into room. They are shorter than the JSON, so that they fit. */
static enum coat_result take_arguments(const cJSON *array, const char *source, struct command_source *ret, struct coat_error *error)
{
    const cJSON *item = NULL;
    size_t count = 0, used = 0;
    cJSON_ArrayForEach(item, array) {
        if (!cJSON_IsString(item))
            return refuse_command(source, "an argument is no text", error);
        size_t size = strlen(item->valuestring) + 1;
        if (count == SOURCE_ARGUMENTS_MAX || used + size > sizeof ret->room)
            return refuse_command(source, "these are too many arguments", error);
        ret->argv[count++] = memcpy(ret->room + used, item->valuestring, size);
        used += size;
    }
    if (count == 0 || ret->argv[0][0] == '\0')
        return refuse_command(source, "it names no program", error);
    ret->argv[count] = NULL;
    return COAT_OK;
}

enum coat_result source_command_parse(const char *source, struct command_source *ret, struct coat_error *error)
{
    enum coat_result result = COAT_OK;
    const char *end = NULL;
    cJSON *array = cJSON_ParseWithLengthOpts(source, strlen(source) + 1, &end, true);
    if (array == NULL || !cJSON_IsArray(array))
        result = refuse_command(source, "that is no JSON array", error);
    else
        result = take_arguments(array, source, ret, error);
    cJSON_Delete(array);
    return result;
}

/* ---- devices ---- */

static const struct {
    const char *scheme, *form;
} buses[] = {
    [BUS_IIO] = {"iio:", "iio:NAME, or iio:NAME@PARENT where two are alike"},
    [BUS_HWMON] = {"hwmon:", "hwmon:NAME, or hwmon:NAME/LABEL where it has several temperatures"},
    [BUS_W1] = {"w1:", "w1:28-0123456789ab, the family and the serial number"},
};
_Static_assert(sizeof buses / sizeof *buses == BUS_COUNT, "a row for each bus");

/* Two hexadecimal digits of the family, a dash, twelve of the serial number; lower case, as the kernel names them. */
static bool is_w1_name(const char *name)
{
    static const char hex[] = "0123456789abcdef";
    return strspn(name, hex) == 2 && name[2] == '-' && strspn(name + 3, hex) == 12 && name[15] == '\0';
}

/* A name becomes part of no path, but what has a slash in it is none. */
static bool is_device_name(enum bus bus, const char *name)
{
    if (bus == BUS_W1)
        return is_w1_name(name);
    return name[0] != '\0' && name[0] != '@' && strchr(name, '/') == NULL && name[strlen(name) - 1] != '@';
}

static enum coat_result read_device(enum bus bus, const char *rest, struct device_source *ret, struct coat_error *error)
{
    struct device_source read = {.bus = bus};
    const char *slash = bus == BUS_HWMON ? strchr(rest, '/') : NULL;
    size_t length = slash != NULL ? (size_t)(slash - rest) : strlen(rest);
    if (strlen(rest) < sizeof read.name) {
        memcpy(read.name, rest, length);
        snprintf(read.label, sizeof read.label, "%s", slash != NULL ? slash + 1 : "");
    }
    if (!is_device_name(bus, read.name) || has_control(rest) || (slash != NULL && read.label[0] == '\0'))
        return coat_fail(error, COAT_BAD_VALUE, "source", "\"%s%.80s\" names no device: write %s", buses[bus].scheme, rest, buses[bus].form);
    *ret = read;
    return COAT_OK;
}

enum coat_result source_device_parse(const char *source, struct device_source *ret, struct coat_error *error)
{
    for (enum bus bus = 0; bus < BUS_COUNT; bus++) {
        size_t skip = strlen(buses[bus].scheme);
        if (strncmp(source, buses[bus].scheme, skip) == 0)
            return read_device(bus, source + skip, ret, error);
    }
    return coat_fail(error, COAT_BAD_VALUE, "source", "\"%.80s\" is no device of the kernel: write %s, %s, or %s", source, buses[BUS_IIO].form,
                     buses[BUS_HWMON].form, buses[BUS_W1].form);
}
