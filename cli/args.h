/* The words of a command line, sorted into arguments and options. Nothing is copied: the texts are argv's. */
#ifndef CLI_ARGS_H
#define CLI_ARGS_H

#include "cli/command.h"
#include "coat/result.h"

#define ARGS_MAX 64
#define ARGS_OPTIONS_MAX 96

struct given {
    const struct option *option;
    const char *value; /* "" for one without a value */
};

struct args {
    unsigned count;
    const char *argument[ARGS_MAX];
    unsigned given_count;
    struct given given[ARGS_OPTIONS_MAX];
};

/* Reads argv[0..count) against up to two lists of options (either may be NULL) and adds to *args. "--name=value" and "--name
 * value" are the same; "--" ends the options; a minus and a digit is a value. */
COAT_CHECKED enum coat_result args_parse(int count, char *const argv[], const struct option *global,
                                         const struct option *own, struct args *args, struct coat_error *error);

/* One option at argv[0]; *ret_taken words of it (1 or 2), 0 where argv[0] is no option. */
COAT_CHECKED enum coat_result args_take_option(int count, char *const argv[], const struct option *global,
                                               const struct option *own, struct args *args, int *ret_taken,
                                               struct coat_error *error);

/* The value of an option, NULL where it was not given. */
const char *args_option(const struct args *args, const char *name);
/* For options given more than once: *cursor starts at 0; NULL at the end. */
const char *args_next(const struct args *args, const char *name, unsigned *cursor);

#endif
