#include "daemon/courier/topics.h"

#include <stdlib.h>
#include <string.h>

static struct topic *find(const struct topics *topics, const char *name)
{
    for (size_t i = 0; i < topics->count; i++)
        if (strcmp(topics->list[i].name, name) == 0)
            return &topics->list[i];
    return NULL;
}

struct topic *topics_add(struct topics *topics, const char *name)
{
    struct topic *found = find(topics, name);
    if (found != NULL || topics->count == TOPICS_MAX)
        return found;
    struct topic *longer = reallocarray(topics->list, topics->count + 1, sizeof *longer);
    if (longer == NULL)
        return NULL;
    topics->list = longer;
    char *copy = strdup(name);
    if (copy == NULL)
        return NULL;
    longer[topics->count] = (struct topic){.name = copy};
    return &longer[topics->count++];
}

bool topics_drop(struct topics *topics, const char *name)
{
    struct topic *found = find(topics, name);
    if (found == NULL)
        return false;
    free(found->name);
    *found = topics->list[--topics->count];
    return true;
}

struct topic *topics_find_request(struct topics *topics, int request)
{
    for (size_t i = 0; i < topics->count; i++)
        if (topics->list[i].request == request)
            return &topics->list[i];
    return NULL;
}

void topics_clear(struct topics *topics)
{
    for (size_t i = 0; i < topics->count; i++)
        free(topics->list[i].name);
    free(topics->list);
    *topics = (struct topics){0};
}
