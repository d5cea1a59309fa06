/* What is told of a channel, read from the body of a request. The first fault sticks in the work's error. */
#ifndef COAT_CHANNEL_IN_H
#define COAT_CHANNEL_IN_H

#include "daemon/http/work.h"

/* A new one. One that is only tried out needs no name. A secret that the service makes itself is left in work->token, to be told once. */
void channel_in_new(struct work *work, bool only_tried, struct channel *ret);
/* What shall be other than it is. */
void channel_in_change(struct work *work, struct channel *io_channel);
/* What no single member tells. Once the body is closed. */
COAT_CHECKED enum coat_result channel_in_check(struct work *work, const struct channel *channel);
/* Passes a result on; what its error calls the target of a command is the member "argv" here. */
COAT_CHECKED enum coat_result channel_in_named(struct work *work, const struct channel *channel, enum coat_result result);

#endif
