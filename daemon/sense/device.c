#include "daemon/sense/device.h"
#include "daemon/sense/number.h"

#include <cjson/cJSON.h>
#include <dirent.h>
#include <limits.h>
#include <math.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/prctl.h>

/* ---- the buses ---- */

static const struct {
    const char *word;   /* of the source */
    const char *folder; /* under the root */
    const char *entry;  /* what an entry of it begins with; empty: any, and its name is the device's */
    bool (*has_air)(const char *folder);
    bool (*read)(const struct device *device, const char *label, struct device_value value[AIR_QUANTITY_COUNT], char *fault);
} buses[] = {
    [BUS_IIO] = {"iio", "bus/iio/devices", "iio:device", iio_has_air, iio_read},
    [BUS_HWMON] = {"hwmon", "class/hwmon", "hwmon", hwmon_has_air, hwmon_read},
    [BUS_W1] = {"w1", "bus/w1/devices", "", w1_has_air, w1_read},
};
_Static_assert(sizeof buses / sizeof *buses == BUS_COUNT, "a row for each bus");

/* ---- which devices there are ---- */

static const char *last_part(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash != NULL ? slash + 1 : path;
}

static bool cut_last_part(char *path)
{
    char *slash = strrchr(path, '/');
    if (slash == NULL || slash == path)
        return false;
    *slash = '\0';
    return true;
}

/* The device that it hangs on, by its link: /sys/devices/…/i2c-1/1-005f/iio:device0 or …/1-005f/hwmon/hwmon0. */
static void read_parent(enum bus bus, const char *folder, char ret[DEVICE_TEXT_SIZE])
{
    char path[PATH_MAX];
    ret[0] = '\0';
    if (realpath(folder, path) == NULL || !cut_last_part(path))
        return;
    if (bus == BUS_HWMON && (strcmp(last_part(path), "hwmon") != 0 || !cut_last_part(path)))
        return; /* a virtual one */
    text_show(last_part(path), strlen(last_part(path)), ret, DEVICE_TEXT_SIZE);
}

static void read_text(const char *folder, const char *name, char ret[DEVICE_TEXT_SIZE])
{
    char text[ATTRIBUTE_SIZE], fault[SENSE_RAW_SIZE];
    ret[0] = '\0';
    if (attribute_read(folder, name, text, fault) == ATTRIBUTE_READ)
        text_show(text, strlen(text), ret, DEVICE_TEXT_SIZE);
}

/* Its name is read first: a device without one is no device. */
static bool read_device(enum bus bus, const char *folder, const char *entry, struct device *ret)
{
    *ret = (struct device){0};
    int length = snprintf(ret->folder, sizeof ret->folder, "%s/%s", folder, entry);
    if (length < 0 || (size_t)length >= sizeof ret->folder)
        return false;
    if (bus == BUS_W1) {
        text_show(entry, strlen(entry), ret->name, sizeof ret->name);
        return true;
    }
    read_text(ret->folder, "name", ret->name);
    if (bus == BUS_IIO)
        read_text(ret->folder, "label", ret->label);
    read_parent(bus, ret->folder, ret->parent);
    return ret->name[0] != '\0' || ret->label[0] != '\0';
}

static int compare_devices(const void *a, const void *b)
{
    const struct device *one = a, *other = b;
    int order = strcmp(one->name, other->name);
    return order != 0 ? order : strcmp(one->parent, other->parent);
}

static size_t list_devices(const char *root, enum bus bus, struct device ret[DEVICES_MAX])
{
    char path[DEVICE_FOLDER_SIZE - 64];
    size_t count = 0;
    int length = snprintf(path, sizeof path, "%s/%s", root, buses[bus].folder);
    DIR *folder = length > 0 && (size_t)length < sizeof path ? opendir(path) : NULL;
    if (folder == NULL)
        return 0;
    for (const struct dirent *entry; count < DEVICES_MAX && (entry = readdir(folder)) != NULL;) {
        if (entry->d_name[0] == '.' || strncmp(entry->d_name, buses[bus].entry, strlen(buses[bus].entry)) != 0)
            continue;
        if (read_device(bus, path, entry->d_name, &ret[count]))
            count++;
    }
    closedir(folder);
    qsort(ret, count, sizeof *ret, compare_devices);
    return count;
}

/* ---- which one is meant ---- */

static bool is_named(const struct device *device, const char *own, const char *wanted)
{
    char full[2 * DEVICE_TEXT_SIZE];
    snprintf(full, sizeof full, "%s@%s", own, device->parent);
    return own[0] != '\0' && (strcmp(own, wanted) == 0 || strcmp(full, wanted) == 0);
}

static bool is_meant(const struct device *device, const char *wanted)
{
    return is_named(device, device->name, wanted) || is_named(device, device->label, wanted);
}

/* As a source would name it, but for the bus. */
static void name_device(const struct device *device, char *ret, size_t size)
{
    const char *own = device->label[0] != '\0' ? device->label : device->name;
    snprintf(ret, size, "%s%s%s", own, device->parent[0] != '\0' ? "@" : "", device->parent);
}

/* Those that measure air; with `wanted`, only those that it may mean. */
static void show_devices(enum bus bus, const struct device *devices, size_t count, const char *wanted, char *ret, size_t size)
{
    size_t used = 0;
    ret[0] = '\0';
    for (size_t i = 0; i < count && used < size; i++) {
        char name[2 * DEVICE_TEXT_SIZE];
        if ((wanted != NULL && !is_meant(&devices[i], wanted)) || !buses[bus].has_air(devices[i].folder))
            continue;
        name_device(&devices[i], name, sizeof name);
        int length = snprintf(ret + used, size - used, "%s%.60s", used > 0 ? ", " : "", name);
        used += (size_t)(length > 0 ? length : 0);
    }
}

static const struct device *find_device(const struct device_source *source, const struct device *devices, size_t count, char *fault)
{
    char list[160];
    const char *word = buses[source->bus].word;
    const struct device *found = NULL;
    size_t matches = 0;
    for (size_t i = 0; i < count; i++)
        if (is_meant(&devices[i], source->name) && matches++ == 0)
            found = &devices[i];
    if (matches == 1)
        return found;
    show_devices(source->bus, devices, count, matches > 1 ? source->name : NULL, list, sizeof list);
    if (matches > 1)
        snprintf(fault, SENSE_RAW_SIZE, "%zu %s devices are named %.50s: write which, one of %.130s", matches, word, source->name, list);
    else if (list[0] != '\0')
        snprintf(fault, SENSE_RAW_SIZE, "there is no %s device named %.60s; there are %.150s", word, source->name, list);
    else
        snprintf(fault, SENSE_RAW_SIZE, "there is no %s device named %.60s, and no other that measures air: is it connected, and its driver loaded?", word,
                 source->name);
    return NULL;
}

/* ---- what it says, as a line of JSON ---- */

static const char *const members[AIR_QUANTITY_COUNT] = {[AIR_TEMP] = "temperature", [AIR_RH] = "humidity"};

static bool put_value(cJSON *line, const char *member, const struct device_value *value)
{
    cJSON *object = cJSON_AddObjectToObject(line, member);
    if (object == NULL || (value->raw[0] != '\0' && cJSON_AddStringToObject(object, "raw", value->raw) == NULL))
        return false;
    return isfinite(value->value) ? cJSON_AddNumberToObject(object, "value", value->value) != NULL
                                  : cJSON_AddStringToObject(object, "fault", value->fault) != NULL;
}

static bool put_line(const cJSON *line)
{
    char *text = cJSON_PrintUnformatted(line);
    bool told = text != NULL && puts(text) >= 0 && fflush(stdout) == 0;
    cJSON_free(text);
    return told;
}

static int tell_fault(const char *fault)
{
    cJSON *line = cJSON_CreateObject();
    if (line != NULL && cJSON_AddStringToObject(line, "fault", fault) != NULL)
        (void)put_line(line);
    cJSON_Delete(line);
    return EXIT_FAILURE;
}

static int tell_values(enum bus bus, const struct device *device, const struct device_value value[AIR_QUANTITY_COUNT])
{
    char name[2 * DEVICE_TEXT_SIZE], full[2 * DEVICE_TEXT_SIZE + 16];
    cJSON *line = cJSON_CreateObject();
    name_device(device, name, sizeof name);
    snprintf(full, sizeof full, "%s:%s", buses[bus].word, name);
    bool told = line != NULL && cJSON_AddStringToObject(line, "device", full) != NULL;
    bool good = false;
    for (int i = 0; told && i < AIR_QUANTITY_COUNT; i++) {
        if (value[i].there)
            told = put_value(line, members[i], &value[i]);
        good = good || (value[i].there && isfinite(value[i].value));
    }
    told = told && put_line(line);
    cJSON_Delete(line);
    return told && good ? EXIT_SUCCESS : EXIT_FAILURE;
}

static int read_source(const char *root, const struct device_source *source, struct device *devices)
{
    char fault[SENSE_RAW_SIZE] = "";
    struct device_value value[AIR_QUANTITY_COUNT] = {0};
    size_t count = list_devices(root, source->bus, devices);
    const struct device *device = find_device(source, devices, count, fault);
    if (device == NULL || !buses[source->bus].read(device, source->label, value, fault))
        return tell_fault(fault);
    return tell_values(source->bus, device, value);
}

int sense_device_main(const char *sysfs_root, const char *source)
{
    struct device_source parsed;
    struct coat_error error = {0};
    sigset_t none;
    sigemptyset(&none);
    (void)sigprocmask(SIG_SETMASK, &none, NULL); /* a person may end it at any time */
    (void)prctl(PR_SET_PDEATHSIG, SIGKILL);      /* nobody would hear it */
    if (source_device_parse(source, &parsed, &error) != COAT_OK)
        return tell_fault(error.text);
    struct device *devices = calloc(DEVICES_MAX, sizeof *devices);
    if (devices == NULL)
        return tell_fault("out of memory for the list of devices");
    int status = read_source(sysfs_root, &parsed, devices);
    free(devices);
    return status;
}
