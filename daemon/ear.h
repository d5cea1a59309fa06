/* Between the sources of air and the shop: what sources say is gathered for a moment, so that many share one commit, and then taken. */
#ifndef COAT_EAR_H
#define COAT_EAR_H

#include "coat/sense.h"
#include "daemon/http/http.h"

#include <stdint.h>

struct ear;

/* Opens the sources' side and fills context->sense; `self` is the path of this program. The ear keeps the context. */
COAT_CHECKED enum coat_result ear_open(struct http_context *context, const char *self, struct ear **ret, struct coat_error *error);
/* Accepts NULL. What is gathered is taken first. */
void ear_close(struct ear *ear);

int ear_descriptor(const struct ear *ear);
/* Does what is to do, without waiting but for a commit. */
void ear_turn(struct ear *ear);
/* Real moment by which ear_turn wants to be called at the latest; INT64_MAX: only when woken. */
int64_t ear_next_ms(const struct ear *ear);

#endif
