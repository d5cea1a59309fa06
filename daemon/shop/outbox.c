/* What goes over the channels, and what came of it. */
#include "daemon/shop/notice.h"
#include "daemon/shop/write.h"

#include <string.h>

/* ---- deliveries ---- */

/* Where the delivery of a notice over a channel stands in the list, or would. */
static size_t delivery_index(const struct shop *shop, int64_t notice_id, int64_t channel_id)
{
    size_t low = 0, high = shop->deliveries.count;
    while (low < high) {
        size_t mid = low + (high - low) / 2;
        const struct delivery *d = &shop->deliveries.item[mid];
        bool before = d->notice_id != notice_id ? d->notice_id < notice_id : d->channel_id < channel_id;
        if (before)
            low = mid + 1;
        else
            high = mid;
    }
    return low;
}

static struct delivery *delivery_of(const struct shop *shop, int64_t notice_id, int64_t channel_id)
{
    size_t i = delivery_index(shop, notice_id, channel_id);
    if (i == shop->deliveries.count)
        return NULL;
    struct delivery *d = &shop->deliveries.item[i];
    return d->notice_id == notice_id && d->channel_id == channel_id ? d : NULL;
}

static struct channel_clock *clock_of(const struct shop *shop, int64_t channel_id)
{
    for (size_t i = 0; i < shop->channels.count; i++)
        if (shop->channels.item[i].id == channel_id)
            return &shop->channel_clocks.item[i];
    return NULL;
}

static void note_on_channel(struct channel_clock *clock, const struct delivery_try *try)
{
    snprintf(clock->answer, sizeof clock->answer, "%s", try->answer);
    if (try->delivered) {
        clock->delivered++;
        clock->delivered_at = try->at;
        clock->failing_since_at = MOMENT_NONE;
    } else if (clock->failing_since_at == MOMENT_NONE) {
        clock->failing_since_at = try->at;
    }
}

/* There must be room for one more delivery. */
static void note_try(struct shop *shop, const struct delivery_try *try)
{
    struct delivery *d = delivery_of(shop, try->notice_id, try->channel_id);
    struct channel_clock *clock = clock_of(shop, try->channel_id);
    if (!d) {
        size_t at = delivery_index(shop, try->notice_id, try->channel_id);
        struct delivery fresh = {try->notice_id, try->channel_id, 0, MOMENT_NONE, MOMENT_NONE};
        LIST_INSERT(&shop->deliveries, at, fresh);
        d = &shop->deliveries.item[at];
    }
    d->tries++;
    d->last_at = try->at;
    if (try->delivered && d->delivered_at == MOMENT_NONE)
        d->delivered_at = try->at;
    if (clock)
        note_on_channel(clock, try);
}

enum coat_result shop_note_try(struct shop *shop, int64_t now_ms, struct delivery_try *try, struct coat_error *error)
{
    const struct shop_write write = {.now_ms = now_ms};
    if (!LIST_RESERVE(&shop->deliveries))
        return write_failed(COAT_NO_MEMORY, error);
    enum coat_result result = write_begin(shop, error);
    if (result != COAT_OK)
        return result;
    result = store_try_add(shop->store, try);
    if (result != COAT_OK)
        return write_undone(shop, result, error);
    result = write_commit(shop, &write, NULL, 0, error);
    if (result == COAT_OK)
        note_try(shop, try);
    return result;
}

size_t shop_deliveries(const struct shop *shop, int64_t notice_id, struct delivery *ret, size_t most)
{
    size_t count = 0;
    for (size_t i = delivery_index(shop, notice_id, 0); i < shop->deliveries.count && count < most; i++) {
        if (shop->deliveries.item[i].notice_id != notice_id)
            break;
        ret[count++] = shop->deliveries.item[i];
    }
    return count;
}

enum coat_result shop_delivery_tries(struct shop *shop, int64_t notice_id, bool (*each)(const struct delivery_try *, void *), void *context)
{
    return store_tries_of(shop->store, notice_id, each, context);
}

/* ---- channels ---- */

const struct channel *shop_channels(const struct shop *shop, size_t *ret_count)
{
    *ret_count = shop->channels.count;
    return shop->channels.item;
}

const struct channel *shop_channel(const struct shop *shop, int64_t id)
{
    for (size_t i = 0; i < shop->channels.count; i++)
        if (shop->channels.item[i].id == id)
            return &shop->channels.item[i];
    return NULL;
}

void channels_put(struct shop *shop, const struct channel *channel)
{
    notice_raise_floor(shop, channel->added_at, 0); /* what is told from now on is news there, whatever the clock says */
    for (size_t i = 0; i < shop->channels.count; i++) {
        if (shop->channels.item[i].id != channel->id)
            continue;
        shop->channels.item[i] = *channel;
        return;
    }
    LIST_PUSH(&shop->channels, *channel);
    LIST_PUSH(&shop->channel_clocks, ((struct channel_clock){.delivered_at = MOMENT_NONE, .failing_since_at = MOMENT_NONE}));
}

/* ---- what is to be sent ---- */

static bool is_delivered(const struct shop *shop, int64_t notice_id, int64_t channel_id)
{
    const struct delivery *d = delivery_of(shop, notice_id, channel_id);
    return d && d->delivered_at != MOMENT_NONE;
}

/* Nothing can bring it up again for this channel. */
static bool is_settled(const struct shop *shop, const struct channel *channel, const struct notice *notice)
{
    if (notice->group_id != notice->id || !shop_notice_is_pending(shop, notice))
        return true;
    return notice->told_at != MOMENT_NONE && (notice->told_at < channel->added_at || is_delivered(shop, notice->id, channel->id));
}

/* The index of the next from there on that a channel still wants; the count of notices where there is none. */
static size_t next_wanted(const struct shop *shop, const struct channel *channel, size_t index)
{
    while (index < shop->notices.count && (shop->notices.item[index].told_at == MOMENT_NONE || is_settled(shop, channel, &shop->notices.item[index])))
        index++;
    return index;
}

/* The first that is not settled, found from where it was the last time. */
static size_t first_unsettled(const struct shop *shop, const struct channel *channel)
{
    struct channel_clock *clock = clock_of(shop, channel->id);
    while (clock->clear_below < shop->notices.count && is_settled(shop, channel, &shop->notices.item[clock->clear_below]))
        clock->clear_below++;
    return clock->clear_below;
}

static bool is_sent_over(const struct channel *channel)
{
    return channel && channel->removed_at == MOMENT_NONE && channel->kind != CHANNEL_CALENDAR;
}

size_t shop_outbox(const struct shop *shop, int64_t channel_id, int64_t now_ms, int64_t *ids, size_t most)
{
    const struct channel *channel = shop_channel(shop, channel_id);
    size_t count = 0;
    if (!is_sent_over(channel))
        return 0;
    for (size_t i = next_wanted(shop, channel, first_unsettled(shop, channel)); i < shop->notices.count && count < most; i = next_wanted(shop, channel, i + 1)) {
        const struct notice *notice = &shop->notices.item[i];
        if (notice_breaks_quiet(notice->kind) || !notice_is_early(shop, notice, now_ms)) /* what is about people comes first */
            ids[count++] = notice->id;
    }
    return count;
}

static size_t count_waiting(const struct shop *shop, const struct channel *channel)
{
    size_t count = 0;
    if (!is_sent_over(channel))
        return 0;
    for (size_t i = next_wanted(shop, channel, first_unsettled(shop, channel)); i < shop->notices.count; i = next_wanted(shop, channel, i + 1))
        count++;
    return count;
}

bool shop_channel_view(const struct shop *shop, int64_t channel_id, struct channel_view *ret)
{
    const struct channel *channel = shop_channel(shop, channel_id);
    if (!channel)
        return false;
    const struct channel_clock *clock = clock_of(shop, channel_id);
    *ret = (struct channel_view){
        .channel = channel,
        .delivered = clock->delivered,
        .delivered_at = clock->delivered_at,
        .failing_since_at = clock->failing_since_at,
    };
    memcpy(ret->answer, clock->answer, sizeof ret->answer);
    ret->waiting = count_waiting(shop, channel);
    return true;
}

const unsigned char *shop_link_key(const struct shop *shop)
{
    return shop->link_key;
}

/* ---- loading ---- */

struct loading {
    struct shop *shop;
    bool no_memory;
};

static bool load_channel(const struct channel *channel, void *context)
{
    struct loading *loading = context;
    loading->no_memory = !LIST_RESERVE(&loading->shop->channels) || !LIST_RESERVE(&loading->shop->channel_clocks);
    if (!loading->no_memory)
        channels_put(loading->shop, channel);
    return !loading->no_memory;
}

static bool load_try(const struct delivery_try *try, void *context)
{
    struct loading *loading = context;
    loading->no_memory = !LIST_RESERVE(&loading->shop->deliveries);
    if (!loading->no_memory)
        note_try(loading->shop, try);
    return !loading->no_memory;
}

static bool load_lead(const struct material_lead *lead, void *context)
{
    struct loading *loading = context;
    loading->no_memory = !LIST_RESERVE(&loading->shop->leads);
    if (!loading->no_memory)
        LIST_PUSH(&loading->shop->leads, *lead);
    return !loading->no_memory;
}

enum coat_result channels_load(struct shop *shop)
{
    struct loading loading = {shop, false};
    enum coat_result result = store_channels(shop->store, load_channel, &loading);
    if (result == COAT_OK && !loading.no_memory)
        result = store_tries(shop->store, load_try, &loading);
    if (result == COAT_OK && !loading.no_memory)
        result = store_material_leads(shop->store, load_lead, &loading);
    if (result == COAT_OK)
        result = store_link_key(shop->store, shop->link_key);
    return loading.no_memory ? COAT_NO_MEMORY : result;
}
