/* The topics that a link listens to. */
#ifndef COURIER_TOPICS_H
#define COURIER_TOPICS_H

#include <stdbool.h>
#include <stddef.h>

#define TOPICS_MAX 4096

struct topic {
    char *name;
    int request; /* number of its latest SUBSCRIBE, that the broker's answer names; 0: none */
};

struct topics {
    struct topic *list;
    size_t count;
};

/* NULL when there is no memory or are too many. One that is there already comes back. The pointer lives until the next change. */
struct topic *topics_add(struct topics *topics, const char *name);
bool topics_drop(struct topics *topics, const char *name); /* whether it was there */
struct topic *topics_find_request(struct topics *topics, int request);
void topics_clear(struct topics *topics);

#endif
