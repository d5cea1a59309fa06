/* One message at a time on its way over one channel, whatever the way is. Nothing here waits. */
#ifndef COAT_NOTIFY_SENDER_H
#define COAT_NOTIFY_SENDER_H

#include "coat/child.h"
#include "coat/link.h"
#include "coat/notify.h"

#define SENDER_COMMAND_LIMIT_MS INT64_C(30000)
#define SENDER_COURIER_LIMIT_MS INT64_C(55000) /* couriers have shorter limits of their own; this is for one that hangs itself */
#define SENDER_MAIL_LIMIT_MS INT64_C(655000)   /* a mail server may take its time with what it has */
#define SENDER_IDLE_MS INT64_C(60000)          /* a link with nothing to send is kept so long */

struct sender_outcome {
    bool delivered;
    char answer[TRY_ANSWER_SIZE];
};

struct sender;

/* A way of sending. */
struct sender_way {
    /* Takes what it needs of the message. False, with *ret, where it fails at once. The sender is free. */
    bool (*begin)(struct sender *sender, const struct notify_message *message, int64_t now_ms, struct sender_outcome *ret);
    /* True once, when it is over. Is called while nothing is sent, too. */
    bool (*turn)(struct sender *sender, int64_t now_ms, struct sender_outcome *ret);
    int64_t (*next_ms)(const struct sender *sender, int64_t now_ms);
    bool (*is_free)(const struct sender *sender);
    /* Ends what is on its way. True when nothing is left; false: call again later. */
    bool (*end)(struct sender *sender);
};
extern const struct sender_way sender_by_command, sender_by_courier;

struct sender {
    const struct sender_way *way;
    struct couriers *couriers;  /* and their descriptor, which children are put to as well */
    struct channel settings;
    bool busy;

    struct child child;         /* of a command */

    struct link *link;          /* of a courier; NULL: none was needed yet */
    struct cJSON *line;         /* to be sent; NULL: none, or it was sent */
    char id[128];               /* of what it has to answer */
    bool answered;
    int64_t limit_at_ms, idle_at_ms; /* real */
    struct sender_outcome outcome;
};

/* For a channel of any kind but a calendar. */
void sender_init(struct sender *sender, struct couriers *couriers, const struct channel *settings);

/* What programs and other machines say, as one line of UTF-8 that can be shown. */
void sender_show(const char *text, size_t length, char ret[TRY_ANSWER_SIZE]);

#endif
