/* Between the shop and the channels: what is to be sent is asked of the shop, put into words and documents, and what came of it is noted there. */
#ifndef COAT_MOUTH_H
#define COAT_MOUTH_H

#include "coat/notify.h"
#include "daemon/http/http.h"

#include <stdint.h>

struct mouth;

/* Opens the channels' side and fills context->notify; `self` is the path of this program. The mouth keeps the context. */
COAT_CHECKED enum coat_result mouth_open(struct http_context *context, const char *self, struct mouth **ret, struct coat_error *error);
/* Accepts NULL. What is on its way is ended, and sent again after the next start. */
void mouth_close(struct mouth *mouth);

int mouth_descriptor(const struct mouth *mouth);
/* Does what is to do, without waiting but for a commit. */
void mouth_turn(struct mouth *mouth);
/* Real moment by which mouth_turn wants to be called at the latest; INT64_MAX: only when woken. */
int64_t mouth_next_ms(const struct mouth *mouth);

#endif
