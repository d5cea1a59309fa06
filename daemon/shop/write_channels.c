/* Writes to where notices go, and to how long before its end a window is told. */
#include "daemon/shop/write.h"

#define LEAD_MOST_MIN 2880

static enum coat_result check_channel(const struct shop *shop, int64_t id, const struct channel **ret, struct coat_error *error)
{
    const struct channel *channel = shop_channel(shop, id);
    if (channel == NULL || channel->removed_at != MOMENT_NONE)
        return coat_fail(error, COAT_NOT_FOUND, "channel", "there is no channel %lld: the list of them tells which there are", (long long)id);
    *ret = channel;
    return COAT_OK;
}

static enum coat_result check_free(const struct shop *shop, const struct channel *wanted, struct coat_error *error)
{
    for (size_t i = 0; i < shop->channels.count; i++) {
        const struct channel *other = &shop->channels.item[i];
        if (other->id != wanted->id && other->removed_at == MOMENT_NONE && name_same(other->name, wanted->name))
            return coat_fail(error, COAT_CONFLICT, "name", "there is a channel \"%s\" already: another name will do", other->name);
    }
    return COAT_OK;
}

/* Tidies the name, and takes from the record what a client does not tell. */
static enum coat_result check_put(const struct shop *shop, int64_t now_ms, struct channel *channel, struct coat_error *error)
{
    const struct channel *before = NULL;
    const struct choice_check kind = {"kind", (unsigned)channel->kind, CHANNEL_KIND_COUNT};
    enum coat_result result = channel->id == 0 ? COAT_OK : check_channel(shop, channel->id, &before, error);
    if (result == COAT_OK)
        result = check_choices(&kind, 1, error);
    if (result == COAT_OK && before != NULL && before->kind != channel->kind)
        return coat_fail(error, COAT_CONFLICT, "kind", "\"%s\" stays a %s: add another channel", before->name, channel_kind_word(before->kind));
    if (result == COAT_OK)
        result = check_name("name", channel->name, sizeof channel->name, error);
    if (result == COAT_OK)
        result = check_free(shop, channel, error);
    channel->added_at = before != NULL ? before->added_at : now_ms;
    channel->removed_at = MOMENT_NONE;
    return result;
}

/* Fills the id of a new one. */
static enum coat_result record_channel(struct shop *shop, const struct shop_write *write, struct channel *channel, struct coat_error *error)
{
    int64_t id = channel->id;
    enum coat_result result = write_begin(shop, error);
    if (result != COAT_OK)
        return result;
    result = id == 0 ? store_channel_add(shop->store, channel, &id) : store_channel_put(shop->store, channel);
    if (result != COAT_OK)
        return write_undone(shop, result, error);
    channel->id = id;
    return write_commit(shop, write, &id, 1, error);
}

enum coat_result shop_put_channel(struct shop *shop, const struct shop_write *write, const struct channel *channel, int64_t *ret_id,
                                  struct coat_error *error)
{
    struct channel wanted = *channel;
    enum coat_result result = check_put(shop, write->now_ms, &wanted, error);
    if (result == COAT_OK && (!LIST_RESERVE(&shop->channels) || !LIST_RESERVE(&shop->channel_clocks)))
        result = write_failed(COAT_NO_MEMORY, error);
    if (result == COAT_OK)
        result = record_channel(shop, write, &wanted, error);
    if (result != COAT_OK)
        return result;
    channels_put(shop, &wanted);
    *ret_id = wanted.id;
    return write_settle(shop, write, COAT_OK, error);
}

enum coat_result shop_remove_channel(struct shop *shop, const struct shop_write *write, int64_t id, struct coat_error *error)
{
    const struct channel *channel = NULL;
    enum coat_result result = check_channel(shop, id, &channel, error);
    if (result != COAT_OK)
        return result;
    struct channel gone = *channel;
    gone.removed_at = write->now_ms;
    gone.secret[0] = '\0'; /* nobody needs it any more */
    result = record_channel(shop, write, &gone, error);
    if (result != COAT_OK)
        return result;
    channels_put(shop, &gone);
    return write_settle(shop, write, COAT_OK, error);
}

/* ---- leads ---- */

static void put_lead(struct shop *shop, const struct material_lead *lead)
{
    size_t i = 0;
    while (i < shop->leads.count && shop->leads.item[i].material_id < lead->material_id)
        i++;
    bool there = i < shop->leads.count && shop->leads.item[i].material_id == lead->material_id;
    if (lead->lead_closing_min < 0 && there) {
        shop->leads.count--;
        memmove(&shop->leads.item[i], &shop->leads.item[i + 1], (shop->leads.count - i) * sizeof *shop->leads.item);
    } else if (lead->lead_closing_min >= 0 && there) {
        shop->leads.item[i] = *lead;
    } else if (lead->lead_closing_min >= 0) {
        LIST_INSERT(&shop->leads, i, *lead);
    }
}

/* What was open may be closing now, and nothing else would bring it up. */
static void look_at_coats(struct shop *shop)
{
    for (size_t i = 0; i < shop->clocks.count; i++)
        shop->clocks.item[i].dirty = true;
}

enum coat_result shop_set_material_lead(struct shop *shop, const struct shop_write *write, int64_t material_id, int32_t lead_min, struct coat_error *error)
{
    const struct material_version *version = NULL;
    const struct material_lead lead = {material_id, lead_min};
    const struct figure_check figure = {"lead_closing_min", lead_min, 0, LEAD_MOST_MIN, false, "min"};
    enum coat_result result = check_material(shop, "material", material_id, &version, error);
    if (result == COAT_OK && lead_min != -1)
        result = check_figures(&figure, 1, error);
    if (result == COAT_OK && !LIST_RESERVE(&shop->leads))
        result = write_failed(COAT_NO_MEMORY, error);
    if (result == COAT_OK)
        result = write_begin(shop, error);
    if (result != COAT_OK)
        return result;
    result = store_material_lead_put(shop->store, &lead);
    if (result != COAT_OK)
        return write_undone(shop, result, error);
    result = write_commit(shop, write, &material_id, 1, error);
    if (result != COAT_OK)
        return result;
    put_lead(shop, &lead);
    look_at_coats(shop);
    return write_settle(shop, write, COAT_OK, error);
}
