#include "daemon/sense/mqtt.h"

#include <stdlib.h>
#include <sys/epoll.h>
#include <unistd.h>

struct mqtt_links {
    int poll_fd;
};

enum coat_result mqtt_links_open(const char *courier, const struct mqtt_calls *calls, struct mqtt_links **ret, struct coat_error *error)
{
    (void)courier;
    (void)calls;
    struct mqtt_links *links = calloc(1, sizeof *links);
    if (links == NULL)
        return coat_fail(error, COAT_NO_MEMORY, "", "out of memory for the links to brokers");
    links->poll_fd = epoll_create1(EPOLL_CLOEXEC);
    *ret = links;
    return COAT_OK;
}

void mqtt_links_close(struct mqtt_links *links)
{
    if (links == NULL)
        return;
    close(links->poll_fd);
    free(links);
}

enum coat_result mqtt_links_set(struct mqtt_links *links, const struct sensor *sensors, size_t count)
{
    (void)links;
    (void)sensors;
    (void)count;
    return COAT_OK;
}

int mqtt_links_descriptor(const struct mqtt_links *links)
{
    return links->poll_fd;
}

void mqtt_links_turn(struct mqtt_links *links)
{
    (void)links;
}

int64_t mqtt_links_next_ms(const struct mqtt_links *links)
{
    (void)links;
    return INT64_MAX;
}

enum coat_result mqtt_links_test_begin(struct mqtt_links *links, int64_t test_id, const struct sensor *settings, struct coat_error *error)
{
    (void)links;
    (void)test_id;
    (void)settings;
    return coat_fail(error, COAT_NOT_ALLOWED, "kind", "this build has no links to brokers");
}

void mqtt_links_test_end(struct mqtt_links *links, int64_t test_id)
{
    (void)links;
    (void)test_id;
}
