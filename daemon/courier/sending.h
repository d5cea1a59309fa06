/* Links that send notices: one at a time, each with an answer. */
#ifndef COURIER_SENDING_H
#define COURIER_SENDING_H

#include "daemon/courier/lines.h"

#define SENDING_ANSWER_SIZE 512

/* A notice; the texts live until the answer. */
struct notice_out {
    const char *id, *subject, *text, *json;
};

/* `send` waits as long as it must, with limits of its own; true: the other side has it. It fills `answer` either way: what the other side said, or why there is none.
 * Returns when coatd is gone. */
void sending_run(struct lines *lines, bool (*send)(void *context, const struct notice_out *notice, char answer[SENDING_ANSWER_SIZE]), void *context);

/* Appends to a text of `size` bytes; what does not fit is cut. */
void sending_append(char *text, size_t size, const char *format, ...) __attribute__((format(printf, 3, 4)));

#endif
