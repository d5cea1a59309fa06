/* Industrial I/O, after the kernel's Documentation/ABI/testing/sysfs-bus-iio: in_temp_input is in thousandths of a degree C and
 * in_humidityrelative_input in thousandths of a percent; where a driver has _raw instead, (raw + offset) * scale is in the same units. An offset that is
 * missing is 0, a scale that is missing is 1. */
#include "daemon/sense/device.h"

#include <math.h>
#include <string.h>

#define CHANNELS_MAX 4

/* By preference. The first of a row is also what offset and scale are shared under. */
static const char *const channels[AIR_QUANTITY_COUNT][CHANNELS_MAX] = {
    [AIR_TEMP] = {"in_temp", "in_temp0", "in_temp_ambient"}, /* thermometers that look at things have an object as well; that is no air */
    [AIR_RH] = {"in_humidityrelative", "in_humidityrelative0"},
};

static bool has_channel(const char *folder, const char *channel)
{
    char input[DEVICE_TEXT_SIZE], raw[DEVICE_TEXT_SIZE];
    snprintf(input, sizeof input, "%s_input", channel);
    snprintf(raw, sizeof raw, "%s_raw", channel);
    return attribute_exists(folder, input) || attribute_exists(folder, raw);
}

static const char *find_channel(const char *folder, enum air_quantity quantity)
{
    for (size_t i = 0; i < CHANNELS_MAX && channels[quantity][i] != NULL; i++)
        if (has_channel(folder, channels[quantity][i]))
            return channels[quantity][i];
    return NULL;
}

bool iio_has_air(const char *folder)
{
    return find_channel(folder, AIR_TEMP) != NULL || find_channel(folder, AIR_RH) != NULL;
}

/* "offset" or "scale" of a channel, else of its kind. False where it is there and cannot be read; raw is empty where it is not. */
static bool read_factor(const char *folder, const char *channel, const char *kind, const char *what, double *ret, char *raw, char *fault)
{
    const char *const owners[] = {channel, kind};
    raw[0] = '\0';
    for (size_t i = 0; i < 2; i++) {
        char name[DEVICE_TEXT_SIZE];
        snprintf(name, sizeof name, "%s_%s", owners[i], what);
        enum attribute_end end = attribute_number(folder, name, ret, raw, fault);
        if (end != ATTRIBUTE_MISSING)
            return end == ATTRIBUTE_READ;
    }
    return true;
}

/* What was read, as the sum that it went into. */
static void show_sum(const char *raw, const char *offset, const char *scale, char *ret)
{
    const char *times = scale[0] != '\0' ? " * " : "";
    if (offset[0] != '\0')
        snprintf(ret, SENSE_RAW_SIZE, "(%.60s + %.60s)%s%.60s", raw, offset, times, scale);
    else
        snprintf(ret, SENSE_RAW_SIZE, "%.60s%s%.60s", raw, times, scale);
}

static void read_raw(const char *folder, const char *channel, const char *kind, struct device_value *value)
{
    char name[DEVICE_TEXT_SIZE], raw_text[SENSE_RAW_SIZE] = "", offset_text[SENSE_RAW_SIZE], scale_text[SENSE_RAW_SIZE];
    double raw = 0.0, offset = 0.0, scale = 1.0;
    snprintf(name, sizeof name, "%s_raw", channel);
    if (attribute_number(folder, name, &raw, raw_text, value->fault) != ATTRIBUTE_READ)
        return;
    if (!read_factor(folder, channel, kind, "offset", &offset, offset_text, value->fault) ||
        !read_factor(folder, channel, kind, "scale", &scale, scale_text, value->fault))
        return;
    show_sum(raw_text, offset_text, scale_text, value->raw);
    device_take_milli(value, (raw + offset) * scale);
}

static void read_channel(const char *folder, const char *channel, const char *kind, struct device_value *value)
{
    char name[DEVICE_TEXT_SIZE];
    double milli = 0.0;
    value->there = true;
    value->value = (double)NAN;
    snprintf(name, sizeof name, "%s_input", channel);
    enum attribute_end end = attribute_number(folder, name, &milli, value->raw, value->fault);
    if (end == ATTRIBUTE_READ)
        device_take_milli(value, milli);
    else if (end == ATTRIBUTE_MISSING)
        read_raw(folder, channel, kind, value);
}

bool iio_read(const struct device *device, const char *label, struct device_value value[AIR_QUANTITY_COUNT], char *fault)
{
    (void)label;
    for (int i = 0; i < AIR_QUANTITY_COUNT; i++) {
        const char *channel = find_channel(device->folder, (enum air_quantity)i);
        if (channel != NULL)
            read_channel(device->folder, channel, channels[i][0], &value[i]);
    }
    if (value[AIR_TEMP].there || value[AIR_RH].there)
        return true;
    snprintf(fault, SENSE_RAW_SIZE, "the iio device %.60s measures neither temperature nor humidity", device->name);
    return false;
}
