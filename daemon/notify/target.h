/* Where a channel leads, taken apart. No I/O. */
#ifndef COAT_NOTIFY_TARGET_H
#define COAT_NOTIFY_TARGET_H

#include "coat/facts.h"
#include "coat/result.h"

#include <stdbool.h>

/* ---- addresses of other machines ---- */

struct target {
    bool tls;        /* of the scheme: https, smtps, mqtts */
    bool here;       /* its host is this machine, by its name alone */
    char host[256];  /* an IPv6 address without its brackets */
    int port;
    const char *rest; /* what follows host and port, in the text that was read: "/hook?a=b", "" */
};
/* By the kind: webhook, mail or mqtt. */
COAT_CHECKED enum coat_result target_parse(enum channel_kind kind, const char *text, struct target *ret, struct coat_error *error);
/* The topic of an mqtt target; "" where it has none. */
const char *target_topic(const struct target *target);

/* ---- programs ---- */

/* A JSON array of a program and its arguments. argv ends with NULL; its texts live in `room`. */
#define TARGET_ARGUMENTS_MAX 32
struct target_command {
    char *argv[TARGET_ARGUMENTS_MAX + 1];
    char room[CHANNEL_TARGET_SIZE];
};
COAT_CHECKED enum coat_result target_command_parse(const char *text, struct target_command *ret, struct coat_error *error);

#endif
