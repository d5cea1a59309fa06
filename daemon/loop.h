/* The one loop: HTTP, the sources of air, the channels, the moments of the shop, signals. */
#ifndef COAT_LOOP_H
#define COAT_LOOP_H

#include "coat/result.h"
#include "daemon/ear.h"
#include "daemon/http/http.h"
#include "daemon/mouth.h"

/* Serves until SIGTERM or SIGINT. `ready` is called once, when requests are answered from then on. */
COAT_CHECKED enum coat_result loop_run(struct http_context *context, struct ear *ear, struct mouth *mouth, void (*ready)(const struct http_context *),
                                       struct coat_error *error);

/* Blocks the signals that the loop reads from a descriptor, and ignores SIGPIPE and SIGHUP. Before anything else, so that one that comes
 * early is kept for the loop. */
void loop_take_signals(void);

#endif
