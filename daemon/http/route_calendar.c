/* The calendar, for whoever shows the key of a channel of that kind. */
#include "daemon/http/calendar.h"
#include "daemon/http/routes.h"
#include "daemon/http/work.h"

#include <gnutls/gnutls.h>
#include <inttypes.h>
#include <stdio.h>
#include <string.h>

/* Looks at all of them, so that it takes as long for a key that nobody has. */
static const struct channel *channel_of_key(const struct shop *shop, const char *key)
{
    char hash[TOKEN_HASH_SIZE];
    size_t count = 0;
    const struct channel *found = NULL;
    const struct channel *channels = shop_channels(shop, &count);
    if (key == NULL || !token_hash(key, hash))
        return NULL;
    for (size_t i = 0; i < count; i++) {
        bool fetched = channels[i].kind == CHANNEL_CALENDAR && channels[i].removed_at == MOMENT_NONE;
        if (fetched && gnutls_memcmp(channels[i].secret, hash, sizeof hash) == 0)
            found = &channels[i];
    }
    return found;
}

static enum coat_result show_calendar(struct work *work)
{
    char tag[48], title[NAME_SIZE + 16];
    const struct channel *channel = channel_of_key(work->shop, http_query(work->request, "key"));
    if (channel == NULL)
        return coat_fail(&work->error, COAT_NOT_FOUND, "key", "no calendar has this key: take the whole link as it was told, or make another");
    snprintf(tag, sizeof tag, "%" PRId64 "-%" PRId64, shop_revision(work->shop), calendar_stamp(work->now_ms) / MS_PER_H);
    if (http_not_modified(work->request, work->response, tag))
        return COAT_OK;
    snprintf(title, sizeof title, "Coatwright: %s", channel->name);
    work->response->content_type = "text/calendar; charset=utf-8";
    calendar_write(&work->doc, title);
    return COAT_OK;
}

void route_calendar(WORK_ARGUMENTS)
{
    work_read(context, request, response, NULL, show_calendar);
}
