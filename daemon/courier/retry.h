/* When to try again: after 1 s, then twice as long each time, up to 60 s; a quarter of it at random, so that many that lost the same broker
 * do not come back at once. */
#ifndef COURIER_RETRY_H
#define COURIER_RETRY_H

#include <stdint.h>

#define RETRY_FIRST_MS INT64_C(1000)
#define RETRY_MAX_MS INT64_C(60000)

struct retry {
    unsigned failures; /* in a row */
};

/* How long to wait after one more failure: three quarters of the time to all of it. */
int64_t retry_wait_ms(struct retry *retry);

int64_t retry_now_ms(void); /* CLOCK_BOOTTIME: a time suspended is a time waited */
uint32_t retry_random(void);

#endif
