/* Inside of notify. */
#ifndef COAT_NOTIFY_NOTIFY_H
#define COAT_NOTIFY_NOTIFY_H

#include "daemon/notify/sender.h"

/* A notice that was tried, and when it is tried again if it is still to be sent then. */
struct waiting {
    int64_t notice_id;
    unsigned tries;
    int64_t try_at_ms; /* real */
    bool wanted;
};

/* A channel in use. */
struct lane {
    struct sender sender;      /* its settings are those of the channel */
    bool leaving;              /* no longer in use, but what was on its way has not gone yet */
    bool ask;                  /* something may be to send */
    int64_t notice_id;         /* on its way; 0: none */
    unsigned failures;         /* one after the other, of whatever notices; those of news while it is down are not counted */
    int64_t down_until_ms;     /* real: while it is down, when it is tried again */
    int64_t pending_id;        /* the last that was pending when it was chosen what is sent */
    int64_t seen_id;           /* the same, of the last that failed: what comes later is news */
    int64_t next_ms;           /* real: the next try of one that waits; INT64_MAX: none */
    struct waiting *waiting;   /* by notice_id */
    size_t count;
};

struct probe { /* a test; free where id is 0 */
    int64_t id;
    struct sender sender;
    int64_t limit_at_ms;       /* real */
    struct notify_test result;
};

struct notify {
    struct notify_calls calls;
    struct couriers couriers;
    int64_t wait_ms;
    struct lane **lanes;
    size_t count;
    int64_t *ids;              /* room for what is pending */
    size_t ids_room;
    struct probe probes[NOTIFY_TESTS_MAX];
    int64_t last_test_id;
};

/* ---- test.c ---- */
void notify_tests_turn(struct notify *notify, int64_t now_ms);
int64_t notify_tests_next_ms(const struct notify *notify, int64_t now_ms);
bool notify_tests_end(struct notify *notify); /* false: call again */

#endif
