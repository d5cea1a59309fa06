/* Asking a source once: a child is started, heard, and what it said becomes numbers or a fault. */
#ifndef COAT_SENSE_ASKING_H
#define COAT_SENSE_ASKING_H

#include "coat/sense.h"
#include "coat/child.h"

#define ASKING_LIMIT_MS INT64_C(10000) /* a 1-wire device takes 0.75 s a try, the slowest sensors some seconds */

struct asking {
    struct child child;
    bool running; /* or not reaped yet */
    bool told;    /* the outcome was given; only the child is still there */
};

/* Kinds that are asked. */
bool asking_fits(enum sensor_kind kind);

/* On failure it is idle, and *error says why. */
COAT_CHECKED enum coat_result asking_begin(struct asking *asking, const struct sense_options *options, const struct sensor *settings, int poll_fd,
                                           int64_t now_ms, struct coat_error *error);
/* True once, with the outcome: readings, a fault, or both. */
bool asking_turn(struct asking *asking, const struct sensor *settings, int64_t now_ms, struct sense_test *ret);
int64_t asking_next_ms(const struct asking *asking, int64_t now_ms);
/* Ends it. False: the child has not gone yet, call again. */
bool asking_end(struct asking *asking);

/* All unknown, with a fault. */
struct sense_test asking_fault(const char *text);

#endif
