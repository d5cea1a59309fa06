/* The kinds of links that a courier keeps. Each runs until the socket to coatd ends, and is the only one of its process. */
#ifndef COURIER_COURIER_H
#define COURIER_COURIER_H

#include "daemon/courier/lines.h"

/* Takes what it needs out of `open`. False when `open` does not say what it must. */
bool mqtt_in_run(struct lines *lines, const cJSON *open);
bool mqtt_out_run(struct lines *lines, const cJSON *open);
bool webhook_run(struct lines *lines, const cJSON *open);
bool mail_run(struct lines *lines, const cJSON *open);

#endif
