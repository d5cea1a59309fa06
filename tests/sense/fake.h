/* A sysfs of our own, laid out as the kernel lays out its own (Documentation/ABI/testing/sysfs-bus-iio, sysfs-class-hwmon, w1_therm.rst): the devices
 * under devices/, and links to them under bus/ and class/. */
#ifndef COAT_TESTS_FAKE_H
#define COAT_TESTS_FAKE_H

#include <stdarg.h>
#include <setjmp.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>
#include <ftw.h>
#include <stdbool.h>
#include <cmocka.h>

#define FAKE_PATH_SIZE 1024

struct fake_file {
    const char *name, *text;
};

static char fake_root[FAKE_PATH_SIZE / 4];
static char fake_self[FAKE_PATH_SIZE]; /* this program, which reads devices when it is run as the service would run itself */

/* valgrind makes a fork of it, so that a program that is not there shows only when it ends. */
static inline bool fake_has_no_vfork(void)
{
    const char *preload = getenv("LD_PRELOAD");
    return preload != NULL && strstr(preload, "vgpreload") != NULL;
}

static inline const char *fake_path(char ret[FAKE_PATH_SIZE], const char *format, ...) __attribute__((format(printf, 2, 3)));
static inline const char *fake_path(char ret[FAKE_PATH_SIZE], const char *format, ...)
{
    va_list arguments;
    int length = snprintf(ret, FAKE_PATH_SIZE, "%s/", fake_root);
    va_start(arguments, format);
    (void)vsnprintf(ret + length, FAKE_PATH_SIZE - (size_t)length, format, arguments);
    va_end(arguments);
    return ret;
}

/* All folders on the way to the last part of `path`. */
static inline void fake_make_way(const char *path)
{
    char part[FAKE_PATH_SIZE];
    for (const char *slash = strchr(path + 1, '/'); slash != NULL; slash = strchr(slash + 1, '/')) {
        snprintf(part, sizeof part, "%.*s", (int)(slash - path), path);
        (void)mkdir(part, 0700);
    }
}

static inline void fake_write(const char *path, const char *text)
{
    fake_make_way(path);
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    assert_true(fputs(text, file) >= 0);
    assert_int_equal(fclose(file), 0);
}

static inline void fake_link(const char *target, const char *path)
{
    fake_make_way(path);
    assert_int_equal(symlink(target, path), 0);
}

/* One file of a device, new or with another text. */
static inline void fake_set(const char *folder, const char *name, const char *text)
{
    char path[FAKE_PATH_SIZE];
    fake_write(fake_path(path, "%s/%s", folder, name), text);
}

static inline void fake_files(const char *folder, const struct fake_file *files)
{
    for (; files->name != NULL; files++)
        fake_set(folder, files->name, files->text);
}

/* devices/platform/i2c-1/PARENT/iio:deviceNUMBER and its link. */
static inline void fake_iio(const char *parent, int number, const struct fake_file *files)
{
    char folder[256], target[300], path[FAKE_PATH_SIZE];
    snprintf(folder, sizeof folder, "devices/platform/i2c-1/%s/iio:device%d", parent, number);
    snprintf(target, sizeof target, "../../../%s", folder);
    fake_files(folder, files);
    fake_link(target, fake_path(path, "bus/iio/devices/iio:device%d", number));
}

static inline void fake_hwmon(const char *parent, int number, const struct fake_file *files)
{
    char folder[256], target[300], path[FAKE_PATH_SIZE];
    snprintf(folder, sizeof folder, "devices/platform/i2c-1/%s/hwmon/hwmon%d", parent, number);
    snprintf(target, sizeof target, "../../%s", folder);
    fake_files(folder, files);
    snprintf(path, sizeof path, "%s/%s/device", fake_root, folder);
    fake_link("../..", path);
    fake_link(target, fake_path(path, "class/hwmon/hwmon%d", number));
}

static inline void fake_w1(const char *name, const struct fake_file *files)
{
    char folder[256], target[300], path[FAKE_PATH_SIZE];
    snprintf(folder, sizeof folder, "devices/w1_bus_master1/%s", name);
    snprintf(target, sizeof target, "../../../%s", folder);
    fake_files(folder, files);
    fake_link(target, fake_path(path, "bus/w1/devices/%s", name));
}

static inline int fake_setup(void **state)
{
    (void)state;
    const char *tmp = getenv("TMPDIR");
    snprintf(fake_root, sizeof fake_root, "%.200s/coat-sense-XXXXXX", tmp != NULL && tmp[0] == '/' ? tmp : "/tmp");
    return readlink("/proc/self/exe", fake_self, sizeof fake_self - 1) > 0 && mkdtemp(fake_root) != NULL && setenv("COAT_SYSFS", fake_root, 1) == 0 ? 0 : -1;
}

static inline int fake_remove(const char *path, const struct stat *info, int kind, struct FTW *where)
{
    (void)info;
    (void)kind;
    (void)where;
    return remove(path);
}

static inline int fake_teardown(void **state)
{
    (void)state;
    return nftw(fake_root, fake_remove, 16, FTW_DEPTH | FTW_PHYS);
}

#endif
