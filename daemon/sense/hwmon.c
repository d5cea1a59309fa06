/* Hardware monitoring, after the kernel's Documentation/ABI/testing/sysfs-class-hwmon: tempN_input in thousandths of a degree C, humidityN_input in
 * thousandths of a percent, tempN_label where the driver names its channels, tempN_fault 1 where the device says itself that it is broken. */
#include "daemon/sense/device.h"

#include <math.h>
#include <string.h>
#include <strings.h>

#define CHANNELS_MAX 32 /* the first is 1 */

static const char *const stems[AIR_QUANTITY_COUNT] = {[AIR_TEMP] = "temp", [AIR_RH] = "humidity"};

static void name_attribute(enum air_quantity quantity, int number, const char *what, char ret[DEVICE_TEXT_SIZE])
{
    snprintf(ret, DEVICE_TEXT_SIZE, "%s%d_%s", stems[quantity], number, what);
}

static bool has_channel(const char *folder, enum air_quantity quantity, int number)
{
    char name[DEVICE_TEXT_SIZE];
    name_attribute(quantity, number, "input", name);
    return attribute_exists(folder, name);
}

static bool has_any(const char *folder, enum air_quantity quantity)
{
    for (int i = 1; i <= CHANNELS_MAX; i++)
        if (has_channel(folder, quantity, i))
            return true;
    return false;
}

bool hwmon_has_air(const char *folder)
{
    return has_any(folder, AIR_TEMP) || has_any(folder, AIR_RH);
}

/* Its label, else "temp1". */
static void name_channel(const char *folder, enum air_quantity quantity, int number, char ret[ATTRIBUTE_SIZE])
{
    char name[DEVICE_TEXT_SIZE], fault[SENSE_RAW_SIZE];
    name_attribute(quantity, number, "label", name);
    if (attribute_read(folder, name, ret, fault) != ATTRIBUTE_READ || ret[0] == '\0')
        snprintf(ret, ATTRIBUTE_SIZE, "%s%d", stems[quantity], number);
}

static bool is_wanted(const char *folder, enum air_quantity quantity, int number, const char *label)
{
    char channel[ATTRIBUTE_SIZE], plain[DEVICE_TEXT_SIZE];
    snprintf(plain, sizeof plain, "%s%d", stems[quantity], number);
    name_channel(folder, quantity, number, channel);
    return label[0] == '\0' || strcasecmp(label, channel) == 0 || strcasecmp(label, plain) == 0;
}

/* How many channels fit; the first of them, and all there are as a list. */
static int find_channels(const char *folder, enum air_quantity quantity, const char *label, int *ret_first, char *list, size_t list_size)
{
    int count = 0;
    size_t used = 0;
    list[0] = '\0';
    for (int i = 1; i <= CHANNELS_MAX; i++) {
        char channel[ATTRIBUTE_SIZE];
        if (!has_channel(folder, quantity, i))
            continue;
        name_channel(folder, quantity, i, channel);
        int length = used < list_size ? snprintf(list + used, list_size - used, "%s%.40s", used > 0 ? ", " : "", channel) : 0;
        used += (size_t)(length > 0 ? length : 0);
        if (!is_wanted(folder, quantity, i, label))
            continue;
        if (count++ == 0)
            *ret_first = i;
    }
    return count;
}

/* True where it says that it is broken. One that cannot be read says nothing. */
static bool says_fault(const char *folder, enum air_quantity quantity, int number, struct device_value *value)
{
    char name[DEVICE_TEXT_SIZE], raw[SENSE_RAW_SIZE], fault[SENSE_RAW_SIZE];
    double flag = 0.0;
    name_attribute(quantity, number, "fault", name);
    if (attribute_number(folder, name, &flag, raw, fault) != ATTRIBUTE_READ || fabs(flag) < 0.5)
        return false;
    snprintf(value->fault, sizeof value->fault, "the device says itself that it is faulty (%s is %.20s): look at the sensor and its wires", name, raw);
    return true;
}

static void read_channel(const char *folder, enum air_quantity quantity, int number, struct device_value *value)
{
    char name[DEVICE_TEXT_SIZE];
    double milli = 0.0;
    value->there = true;
    value->value = (double)NAN;
    if (says_fault(folder, quantity, number, value))
        return;
    name_attribute(quantity, number, "input", name);
    if (attribute_number(folder, name, &milli, value->raw, value->fault) == ATTRIBUTE_READ)
        device_take_milli(value, milli);
}

/* A label chooses among several temperatures. Humidity is not asked for it: there is one, and it belongs to the device. */
bool hwmon_read(const struct device *device, const char *label, struct device_value value[AIR_QUANTITY_COUNT], char *fault)
{
    char list[160], unused[160];
    int temp = 0, humidity = 0;
    int temps = find_channels(device->folder, AIR_TEMP, label, &temp, list, sizeof list);
    if (temps > 1) {
        snprintf(fault, SENSE_RAW_SIZE, "the hwmon device %.40s has %d temperatures%s: write which after a slash, one of %.110s", device->name, temps,
                 label[0] != '\0' ? " of that label" : "", list);
        return false;
    }
    if (temps == 0 && label[0] != '\0') {
        snprintf(fault, SENSE_RAW_SIZE, "the hwmon device %.40s has no temperature labelled %.40s; there is %.110s", device->name, label,
                 list[0] != '\0' ? list : "none");
        return false;
    }
    if (temps == 1)
        read_channel(device->folder, AIR_TEMP, temp, &value[AIR_TEMP]);
    if (find_channels(device->folder, AIR_RH, "", &humidity, unused, sizeof unused) > 0)
        read_channel(device->folder, AIR_RH, humidity, &value[AIR_RH]);
    if (value[AIR_TEMP].there || value[AIR_RH].there)
        return true;
    snprintf(fault, SENSE_RAW_SIZE, "the hwmon device %.60s measures neither temperature nor humidity", device->name);
    return false;
}
