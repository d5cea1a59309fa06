/* Devices of the kernel, read through sysfs by their names. Runs in a process of its own, since a read of a device may hang: everything here waits. */
#ifndef COAT_SENSE_DEVICE_H
#define COAT_SENSE_DEVICE_H

#include "coat/sense.h"
#include "daemon/sense/source.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define DEVICE_TEXT_SIZE 128
#define DEVICE_FOLDER_SIZE 1024
#define DEVICES_MAX 64 /* on one bus */

struct device {
    char folder[DEVICE_FOLDER_SIZE];
    char name[DEVICE_TEXT_SIZE];
    char label[DEVICE_TEXT_SIZE];  /* empty: none */
    char parent[DEVICE_TEXT_SIZE]; /* the bus address it hangs on; empty: not known */
};

struct device_value {
    bool there;                /* it measures that */
    char raw[SENSE_RAW_SIZE];
    double value;              /* C or %, NAN with a fault */
    char fault[SENSE_RAW_SIZE];
};

/* ---- attributes: small files that the kernel makes when they are read ---- */

#define ATTRIBUTE_SIZE 512

enum attribute_end {
    ATTRIBUTE_READ,
    ATTRIBUTE_MISSING,
    ATTRIBUTE_FAULT, /* and why, in fault */
};

/* Reads it without the white space at its end. What a device answers badly (EIO, a timeout) is asked again. `fault` has SENSE_RAW_SIZE bytes. */
enum attribute_end attribute_read(const char *folder, const char *name, char ret[ATTRIBUTE_SIZE], char *fault);
/* The same where it has to be a number; `raw` (SENSE_RAW_SIZE) as it was read. */
enum attribute_end attribute_number(const char *folder, const char *name, double *ret, char *raw, char *fault);
bool attribute_exists(const char *folder, const char *name);
void attribute_pause(void); /* before the same is asked again */
#define ATTRIBUTE_TRIES 3
#define ATTRIBUTE_PAUSE_MS 200

/* A value that a driver gives in thousandths of C or %. */
void device_take_milli(struct device_value *value, double milli);

/* ---- the buses ---- */

/* Fills value[] (all zero before) from a device that was found; `label` of the channel, empty where not told. False with *fault where it has nothing. */
bool iio_read(const struct device *device, const char *label, struct device_value value[AIR_QUANTITY_COUNT], char *fault);
bool hwmon_read(const struct device *device, const char *label, struct device_value value[AIR_QUANTITY_COUNT], char *fault);
bool w1_read(const struct device *device, const char *label, struct device_value value[AIR_QUANTITY_COUNT], char *fault);
/* Whether it measures anything of the air, by its files. */
bool iio_has_air(const char *folder);
bool hwmon_has_air(const char *folder);
bool w1_has_air(const char *folder);

#endif
