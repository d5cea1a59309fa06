/* Two clocks. Shop time (windows, notices, quiet hours) comes from a struct coat_clock and may be a test clock; real monotonic time is
 * for HTTP deadlines, heartbeats and limits. */
#ifndef COAT_CLOCK_H
#define COAT_CLOCK_H

#include "coat/result.h"

#include <stdbool.h>
#include <stdint.h>

struct coat_clock {
    bool test;          /* a clock of its own */
    double rate;        /* of a test clock: 0 stands still until moved, 60 runs a minute a second */
    int64_t start_ms;   /* shop time at origin */
    int64_t origin_real_ms;
};

/* The wall clock. */
struct coat_clock clock_wall(void);
/* "START[,RATE]": RFC 3339 and a rate of 0 to 100000. */
COAT_CHECKED enum coat_result clock_test_parse(const char *text, struct coat_clock *ret, struct coat_error *error);

int64_t clock_shop_ms(const struct coat_clock *clock);
int64_t clock_real_ms(void); /* CLOCK_BOOTTIME */
/* Moves a test clock on to to_ms (not back). */
void clock_test_move(struct coat_clock *clock, int64_t to_ms);
/* Real milliseconds until shop time is at_ms: 0 where it is past, -1 where it never comes (a clock that stands still). */
int64_t clock_real_wait_ms(const struct coat_clock *clock, int64_t at_ms);

#endif
