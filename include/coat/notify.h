/* Where notices go by themselves: programs of this machine, and through couriers webhooks, mail and brokers. Nothing is decided here: what is to be sent is
 * asked for, what came of it is told. Each notice is tried until it was delivered, or is asked for no more: at once, then after 2 s and twice as long each time,
 * up to 15 min, a little of it at random (boot clock; a new start tries at once). A channel sends one notice at a time; one that fails does not hold up those
 * behind it. One that failed three times in a row, with whatever notices, is down: after the same waits it is tried with one of those that wait, so that many that
 * wait knock no oftener than one, and with each that is told meanwhile, once, at once. When it is well again all go. Nothing that hangs or dies holds the loop or
 * another channel. */
#ifndef COAT_NOTIFY_H
#define COAT_NOTIFY_H

#include "coat/facts.h"
#include "coat/result.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct notify;

/* A notice as it is sent; the strings stay good until the next call. */
struct notify_message {
    int64_t notice_id;
    const char *id;       /* the same with every try and after every start, for receivers to drop repeats: "notice-12@…" */
    const char *kind;     /* its word */
    const char *subject;  /* one line */
    const char *text;     /* plain, for people: what, cautions, deferral, and the link that acknowledges */
    const char *json;     /* the API's document of it */
    bool safety;
};

struct notify_calls {
    void *context;
    /* What is to be sent over a channel now, oldest first; returns how many of at most `most`. */
    size_t (*pending)(void *context, int64_t channel_id, int64_t *notice_ids, size_t most);
    bool (*message)(void *context, int64_t channel_id, int64_t notice_id, struct notify_message *ret); /* false: no longer to be sent */
    void (*tried)(void *context, int64_t channel_id, int64_t notice_id, bool delivered, const char *answer);
};

struct notify_options {
    const char *courier; /* the courier's program */
    int64_t wait_ms;     /* of the first wait after a failure; 0: 2 s. Tests set less */
};

COAT_CHECKED enum coat_result notify_open(const struct notify_options *options, const struct notify_calls *calls, struct notify **ret, struct coat_error *error);
/* Ends all children and links. Accepts NULL. */
void notify_close(struct notify *notify);

/* The channels in use (calendars are passed over): begins, keeps or ends what belongs to them. */
COAT_CHECKED enum coat_result notify_set(struct notify *notify, const struct channel *channels, size_t count);
/* Something may be to send: `pending` is asked in the next turn. */
void notify_wake(struct notify *notify);

/* As with coat/sense.h. */
int notify_descriptor(const struct notify *notify);
void notify_turn(struct notify *notify);
int64_t notify_next_ms(const struct notify *notify);

/* Checks settings before they are stored, by their form alone: scheme, host, argv, addresses; what would do is said. Plain http and smtp without TLS are refused
 * but on loopback; so is a command that is no file to be run. */
COAT_CHECKED enum coat_result notify_check(const struct channel *settings, struct coat_error *error);

/* Sends a message that says it is a test, before anything is stored. Runs on its own; ask until it is done (60 s at most, then it says so). */
#define NOTIFY_TESTS_MAX 8 /* at once; the oldest finished one makes room */
struct notify_test {
    bool done;
    bool delivered;
    char answer[TRY_ANSWER_SIZE]; /* what the other side said ("250 2.0.0 queued", "200 OK", the command's output), or why there is none and what would do */
};
COAT_CHECKED enum coat_result notify_test_begin(struct notify *notify, const struct channel *settings, const struct notify_message *message, int64_t *ret_test_id,
                                                struct coat_error *error);
bool notify_test_get(const struct notify *notify, int64_t test_id, struct notify_test *ret); /* false where there is no such test (any more) */

#endif
