#include "daemon/sense/device.h"
#include "daemon/sense/number.h"

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

/* ---- one try ---- */

static bool join(const char *folder, const char *name, char *ret, size_t size)
{
    int length = snprintf(ret, size, "%s/%s", folder, name);
    return length > 0 && (size_t)length < size;
}

/* 0, or an errno. */
static int read_once(const char *path, char ret[ATTRIBUTE_SIZE])
{
    int fd = open(path, O_RDONLY | O_CLOEXEC);
    if (fd < 0)
        return errno;
    ssize_t got = read(fd, ret, ATTRIBUTE_SIZE - 1);
    int failed = got < 0 ? errno : 0;
    close(fd);
    ret[got > 0 ? got : 0] = '\0';
    return failed;
}

/* What another try would not change. */
static bool is_final(int failed)
{
    return failed == ENOENT || failed == ENODATA || failed == EACCES || failed == EPERM || failed == ENODEV || failed == ENXIO || failed == ENOTDIR;
}

static void describe(const char *name, int failed, char *fault)
{
    switch (failed) {
    case ENODATA:
        snprintf(fault, SENSE_RAW_SIZE, "%.60s has no data: the channel is switched off", name);
        break;
    case EACCES:
    case EPERM:
        snprintf(fault, SENSE_RAW_SIZE, "%.60s may not be read by this user: allow it, for example by a udev rule", name);
        break;
    case ENODEV:
    case ENXIO:
        snprintf(fault, SENSE_RAW_SIZE, "%.60s cannot be read: the device is gone", name);
        break;
    default:
        snprintf(fault, SENSE_RAW_SIZE, "%.60s could not be read in %d tries: %.60s; look at the device and its wires", name, ATTRIBUTE_TRIES,
                 strerror(failed));
        break;
    }
}

/* ---- with patience ---- */

void attribute_pause(void)
{
    const struct timespec pause = {.tv_nsec = ATTRIBUTE_PAUSE_MS * 1000000L};
    (void)nanosleep(&pause, NULL);
}

/* Cheap one-wire humidity sensors miss an answer now and then. */
enum attribute_end attribute_read(const char *folder, const char *name, char ret[ATTRIBUTE_SIZE], char *fault)
{
    char path[DEVICE_FOLDER_SIZE + DEVICE_TEXT_SIZE];
    int failed = join(folder, name, path, sizeof path) ? read_once(path, ret) : ENOENT;
    for (int i = 1; i < ATTRIBUTE_TRIES && failed != 0 && !is_final(failed); i++) {
        attribute_pause();
        failed = read_once(path, ret);
    }
    if (failed == ENOENT || failed == ENOTDIR)
        return ATTRIBUTE_MISSING;
    if (failed != 0) {
        describe(name, failed, fault);
        return ATTRIBUTE_FAULT;
    }
    size_t length = strlen(ret);
    while (length > 0 && strchr(" \t\r\n", ret[length - 1]) != NULL)
        ret[--length] = '\0';
    return ATTRIBUTE_READ;
}

enum attribute_end attribute_number(const char *folder, const char *name, double *ret, char *raw, char *fault)
{
    char text[ATTRIBUTE_SIZE];
    enum attribute_end end = attribute_read(folder, name, text, fault);
    if (end != ATTRIBUTE_READ)
        return end;
    text_show(text, strlen(text), raw, SENSE_RAW_SIZE);
    if (number_read(text, strlen(text), ret))
        return ATTRIBUTE_READ;
    snprintf(fault, SENSE_RAW_SIZE, "%.60s says \"%.60s\", which is no number", name, raw);
    return ATTRIBUTE_FAULT;
}

bool attribute_exists(const char *folder, const char *name)
{
    char path[DEVICE_FOLDER_SIZE + DEVICE_TEXT_SIZE];
    return join(folder, name, path, sizeof path) && access(path, F_OK) == 0;
}

/* To thousandths, the resolution of the record. */
void device_take_milli(struct device_value *value, double milli)
{
    value->value = round(milli) / 1000.0;
}
