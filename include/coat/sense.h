/* Where air comes from by itself. Sources that are asked (the kernel's devices, commands) are read by children, so that nothing that hangs
 * can hold the loop; brokers are the courier's business. What comes is told through the calls; nothing is judged or stored here.
 *
 * sysfs sources are named, never numbered (numbers change with every boot):
 *     iio:NAME[@PARENT]     industrial I/O, the device's label or else its name file; PARENT: the bus address it hangs on, where two are alike
 *     hwmon:NAME[@PARENT][/LABEL]   hardware monitoring, its name file; LABEL: of the temperature channel, where it has several
 *     w1:28-0123456789ab    1-wire, by its serial number */
#ifndef COAT_SENSE_H
#define COAT_SENSE_H

#include "coat/facts.h"
#include "coat/result.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct sense;

struct sense_reading {
    int64_t sensor_id;
    int64_t at_ms;          /* MOMENT_NONE: now */
    double temp_c, rh_pct;  /* converted; NAN where it does not tell */
};

/* Called from sense_turn only; they do not call into sense. */
struct sense_calls {
    void *context;
    void (*reading)(void *context, const struct sense_reading *reading);
    void (*fault)(void *context, int64_t sensor_id, const char *text); /* once when it begins or changes; "" when it is over */
};

struct sense_options {
    const char *sysfs_root; /* "/sys" */
    const char *self;       /* this program, run again to read a device: SELF --sense SOURCE */
    const char *courier;    /* the courier's program */
};

COAT_CHECKED enum coat_result sense_open(const struct sense_options *options, const struct sense_calls *calls, struct sense **ret,
                                         struct coat_error *error);
/* Ends all children and links. Accepts NULL. */
void sense_close(struct sense *sense);

/* The sensors in use: begins, keeps or ends sources so that they fit. By hand, push and import have none. */
COAT_CHECKED enum coat_result sense_set(struct sense *sense, const struct sensor *sensors, size_t count);

/* Readable when there is work (an epoll descriptor itself). */
int sense_descriptor(const struct sense *sense);
/* Does what is to do, without waiting. */
void sense_turn(struct sense *sense);
/* Real moment (clock_real_ms) by which sense_turn wants to be called at the latest; INT64_MAX: only when woken. */
int64_t sense_next_ms(const struct sense *sense);

/* Checks a source's text before it is stored: form and scheme, not whether it answers. */
COAT_CHECKED enum coat_result sense_check(const struct sensor *settings, struct coat_error *error);

/* What a source says now, before anything is stored. Runs on its own; ask until it is done (60 s at most, then it says so). */
#define SENSE_TESTS_MAX 8 /* at once; the oldest finished one makes room */
#define SENSE_RAW_SIZE 256
struct sense_test {
    bool done;
    char raw[AIR_QUANTITY_COUNT][SENSE_RAW_SIZE];  /* what it said, as it said it; empty: nothing */
    double value[AIR_QUANTITY_COUNT];              /* converted, C and %; NAN */
    char fault[SENSE_RAW_SIZE];                /* why there is nothing, and what would do; empty: all is well */
};
COAT_CHECKED enum coat_result sense_test_begin(struct sense *sense, const struct sensor *settings, int64_t *ret_test_id, struct coat_error *error);
bool sense_test_get(const struct sense *sense, int64_t test_id, struct sense_test *ret); /* false where there is no such test (any more) */

/* ---- reading what sources say; no I/O ---- */

/* Takes the numbers out of what a source printed or published: a plain number ("18.2"), or JSON with the sensor's pointers. COAT_BAD_FORM with
 * *error where it has none; *raw gets what it said for each quantity. */
COAT_CHECKED enum coat_result sense_parse(const struct sensor *settings, const char *text, size_t length, struct sense_test *ret, struct coat_error *error);
/* A source's number as C or %. */
double sense_temp_c(enum temp_scale scale, double number);
double sense_rh_pct(enum rh_scale scale, double number);

/* Reads a device in this process and prints one line of JSON to stdout; the exit status. For `coatd --sense SOURCE`. */
int sense_device_main(const char *sysfs_root, const char *source);

#endif
