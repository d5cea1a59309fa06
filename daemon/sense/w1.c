/* 1-wire thermometers, after the kernel's Documentation/w1/slaves/w1_therm.rst. w1_slave gives the bytes of the scratchpad twice: "… : crc=1c YES", then
 * "… t=23437" in thousandths of a degree C. It is preferred, since it says whether the checksum is right; `temperature` gives the number alone, and
 * nothing while the device converts.
 *
 * 85.000 is what the device holds after power-up, before it has measured; a supply that breaks down while it converts shows as that. It is never told:
 * the device is asked again, and the first other number counts. Air that really has 85 C, in an oven, does not stand on the same sixteenth of a degree
 * for long; if it does, that is a fault a few readings long, and the better side to err on. 127.937 (all bits but the last four) means that the power does
 * not reach, and is never told either. Nine bytes of zero pass the checksum and mean that the wire is shorted. */
#include "daemon/sense/device.h"
#include "daemon/sense/number.h"

#include <math.h>
#include <string.h>

#define POWER_UP_MC 85000.0
#define NO_POWER_MC 127937.0

bool w1_has_air(const char *folder)
{
    return attribute_exists(folder, "w1_slave") || attribute_exists(folder, "temperature");
}

/* True with a number; else why not, in fault. */
static bool read_scratchpad(const char *text, double *ret_mc, char *raw, char *fault)
{
    const char *line_end = strchr(text, '\n');
    const char *number = strstr(text, "t=");
    size_t first = line_end != NULL ? (size_t)(line_end - text) : strlen(text);
    if (number != NULL)
        text_show(number, strlen(number), raw, SENSE_RAW_SIZE);
    else
        text_show(text, strlen(text), raw, SENSE_RAW_SIZE);
    if (memmem(text, first, "YES", 3) == NULL)
        snprintf(fault, SENSE_RAW_SIZE, "w1_slave gave a wrong checksum in %d tries: look at the wire, its length and its pull-up", ATTRIBUTE_TRIES);
    else if (strncmp(text, "00 00 00 00 00 00 00 00 00", 26) == 0)
        snprintf(fault, SENSE_RAW_SIZE, "w1_slave gave nothing but zeros in %d tries: the data wire is shorted", ATTRIBUTE_TRIES);
    else if (number == NULL || !number_read(number + 2, strlen(number + 2), ret_mc))
        snprintf(fault, SENSE_RAW_SIZE, "w1_slave gave no temperature in %d tries: it said \"%.80s\"", ATTRIBUTE_TRIES, raw);
    else
        return true;
    return false;
}

static bool read_plain(const char *text, double *ret_mc, char *raw, char *fault)
{
    text_show(text, strlen(text), raw, SENSE_RAW_SIZE);
    if (raw[0] == '\0')
        snprintf(fault, SENSE_RAW_SIZE, "temperature was empty in %d tries: the device does not finish converting", ATTRIBUTE_TRIES);
    else if (!number_read(text, strlen(text), ret_mc))
        snprintf(fault, SENSE_RAW_SIZE, "temperature says \"%.60s\", which is no number", raw);
    else
        return true;
    return false;
}

static bool is_believable(double mc, char *fault)
{
    if (fabs(mc - NO_POWER_MC) < 1.0)
        snprintf(fault, SENSE_RAW_SIZE, "it reads 127.94 C, which means that it has too little power: give it a supply of its own, or a stronger pull-up");
    else if (fabs(mc - POWER_UP_MC) < 0.5)
        snprintf(fault, SENSE_RAW_SIZE, "it reads 85 C in %d tries, its value after power-up: it has not measured; look at its supply and wires",
                 ATTRIBUTE_TRIES);
    else
        return true;
    return false;
}

/* ATTRIBUTE_FAULT: another try may do. */
static enum attribute_end read_once(const char *folder, struct device_value *value, double *ret_mc)
{
    char text[ATTRIBUTE_SIZE];
    bool plain = !attribute_exists(folder, "w1_slave");
    enum attribute_end end = attribute_read(folder, plain ? "temperature" : "w1_slave", text, value->fault);
    if (end != ATTRIBUTE_READ)
        return end;
    if (plain ? !read_plain(text, ret_mc, value->raw, value->fault) : !read_scratchpad(text, ret_mc, value->raw, value->fault))
        return ATTRIBUTE_FAULT;
    return is_believable(*ret_mc, value->fault) ? ATTRIBUTE_READ : ATTRIBUTE_FAULT;
}

bool w1_read(const struct device *device, const char *label, struct device_value value[AIR_QUANTITY_COUNT], char *fault)
{
    (void)label;
    struct device_value *temp = &value[AIR_TEMP];
    double mc = 0.0;
    temp->value = (double)NAN;
    enum attribute_end end = read_once(device->folder, temp, &mc);
    for (int i = 1; i < ATTRIBUTE_TRIES && end == ATTRIBUTE_FAULT; i++) {
        attribute_pause();
        end = read_once(device->folder, temp, &mc);
    }
    if (end == ATTRIBUTE_MISSING) {
        snprintf(fault, SENSE_RAW_SIZE, "the 1-wire device %.60s has no temperature: it is no thermometer, or its driver (w1_therm) is not loaded", device->name);
        return false;
    }
    temp->there = true;
    if (end == ATTRIBUTE_READ) {
        temp->fault[0] = '\0';
        device_take_milli(temp, mc);
    }
    return true;
}
