/* The sensors of the shop as lists, and how the air of a place is made of them. */
#include "daemon/shop/write.h"

#include <stdlib.h>

/* ---- the list ---- */

static size_t index_of(const struct shop *shop, int64_t sensor_id)
{
    size_t i = 0;
    while (i < shop->sensors.count && shop->sensors.item[i].id != sensor_id)
        i++;
    return i;
}

const struct sensor *shop_sensors(const struct shop *shop, size_t *ret_count)
{
    *ret_count = shop->sensors.count;
    return shop->sensors.item;
}

const struct sensor *shop_sensor(const struct shop *shop, int64_t id)
{
    size_t i = index_of(shop, id);
    return i < shop->sensors.count ? &shop->sensors.item[i] : NULL;
}

const struct adjustment *shop_adjustments(const struct shop *shop, size_t *ret_count)
{
    *ret_count = shop->adjustments.count;
    return shop->adjustments.item;
}

struct sensor_clock *sensor_clock_of(const struct shop *shop, int64_t sensor_id)
{
    for (size_t i = 0; i < shop->sensor_clocks.count; i++)
        if (shop->sensor_clocks.item[i].sensor_id == sensor_id)
            return &shop->sensor_clocks.item[i];
    return NULL;
}

/* The order in which they count; that of the store as well. */
static bool counts_before(const struct sensor *a, const struct sensor *b)
{
    bool a_hand = a->kind == SENSOR_BY_HAND, b_hand = b->kind == SENSOR_BY_HAND;
    if (a->place_id != b->place_id)
        return a->place_id < b->place_id;
    if (a_hand != b_hand)
        return b_hand;
    return a->position != b->position ? a->position < b->position : a->id < b->id;
}

static void insert_sorted(struct shop *shop, const struct sensor *sensor)
{
    size_t i = shop->sensors.count++;
    for (; i > 0 && counts_before(sensor, &shop->sensors.item[i - 1]); i--)
        shop->sensors.item[i] = shop->sensors.item[i - 1];
    shop->sensors.item[i] = *sensor;
}

static void begin_clock(struct shop *shop, int64_t sensor_id)
{
    shop->sensor_clocks.item[shop->sensor_clocks.count++] = (struct sensor_clock){
        .sensor_id = sensor_id, .last_at = MOMENT_NONE, .milli = {READING_NONE, READING_NONE},
        .said_at = {MOMENT_NONE, MOMENT_NONE}, .suspect_at = MOMENT_NONE, .fault_at = MOMENT_NONE,
    };
}

bool sensors_put(struct shop *shop, const struct sensor *sensor)
{
    size_t i = index_of(shop, sensor->id);
    bool is_new = i == shop->sensors.count;
    if (is_new && (!LIST_RESERVE(&shop->sensors) || !LIST_RESERVE(&shop->sensor_clocks)))
        return false;
    if (is_new)
        begin_clock(shop, sensor->id);
    else
        memmove(&shop->sensors.item[i], &shop->sensors.item[i + 1], (--shop->sensors.count - i) * sizeof *shop->sensors.item);
    insert_sorted(shop, sensor);
    return true;
}

/* ---- from the store ---- */

struct loading {
    struct shop *shop;
    bool no_memory;
};

static bool load_sensor(const struct sensor *sensor, bool finished, void *context)
{
    struct loading *loading = context;
    struct shop *shop = loading->shop;
    bool room = LIST_RESERVE(&shop->imports_left);
    if (room && !finished)
        LIST_PUSH(&shop->imports_left, sensor->id);
    else
        room = room && sensors_put(shop, sensor);
    loading->no_memory = !room;
    return room;
}

static bool load_adjustment(const struct adjustment *adjustment, void *context)
{
    struct loading *loading = context;
    loading->no_memory = !LIST_RESERVE(&loading->shop->adjustments);
    if (!loading->no_memory)
        LIST_PUSH(&loading->shop->adjustments, *adjustment);
    return !loading->no_memory;
}

static bool load_heating(const struct heating *heating, void *context)
{
    struct loading *loading = context;
    loading->no_memory = !LIST_RESERVE(&loading->shop->heatings);
    if (!loading->no_memory)
        LIST_PUSH(&loading->shop->heatings, *heating);
    return !loading->no_memory;
}

enum coat_result imports_forget(struct shop *shop)
{
    if (shop->imports_left.count == 0)
        return COAT_OK;
    enum coat_result result = store_begin(shop->store);
    if (result != COAT_OK)
        return result;
    for (size_t i = 0; result == COAT_OK && i < shop->imports_left.count; i++)
        result = store_sensor_drop(shop->store, shop->imports_left.item[i]);
    if (result == COAT_OK)
        result = store_commit(shop->store);
    if (result != COAT_OK)
        store_rollback(shop->store);
    else
        shop->imports_left.count = 0;
    return result;
}

enum coat_result sensors_load(struct shop *shop)
{
    struct loading loading = {shop, false};
    enum coat_result result = store_sensors(shop->store, load_sensor, &loading);
    if (result == COAT_OK)
        result = store_adjustments(shop->store, load_adjustment, &loading);
    if (result == COAT_OK)
        result = store_heatings(shop->store, load_heating, &loading);
    if (loading.no_memory)
        return COAT_NO_MEMORY;
    if (result == COAT_OK)
        result = imports_forget(shop);
    return result == COAT_STORE_FULL ? COAT_OK : result; /* with a full disk they go before the next write */
}

/* ---- the air of a place ---- */

/* The adjustments of one quantity of a sensor lie together, in order. */
static void find_adjustments(const struct shop *shop, int64_t sensor_id, enum air_quantity quantity, struct merge_source *ret)
{
    ret->adjustments[quantity] = 0;
    for (size_t i = 0; i < shop->adjustments.count; i++) {
        const struct adjustment *one = &shop->adjustments.item[i];
        if (one->sensor_id == sensor_id && one->quantity == quantity && ret->adjustments[quantity]++ == 0)
            ret->adjustment[quantity] = one;
    }
}

unsigned sensors_as_sources(const struct shop *shop, int64_t place_id, struct merge_source ret[MERGE_SOURCES_MAX])
{
    unsigned count = 0;
    for (size_t i = 0; i < shop->sensors.count && count < MERGE_SOURCES_MAX; i++) {
        const struct sensor *sensor = &shop->sensors.item[i];
        if (sensor->place_id != place_id)
            continue;
        ret[count] = (struct merge_source){.sensor_id = sensor->id, .hold_s = sensor->hold_s};
        for (unsigned q = 0; q < AIR_QUANTITY_COUNT; q++)
            find_adjustments(shop, sensor->id, (enum air_quantity)q, &ret[count]);
        count++;
    }
    return count;
}

void sensors_point_anew(struct shop *shop)
{
    for (size_t i = 0; i < shop->airs.count; i++) {
        struct place_air *air = shop->airs.item[i];
        air->sources = sensors_as_sources(shop, air->place_id, air->source);
        air->merge.sources = air->sources;
    }
}

enum coat_result sensor_by_hand(struct shop *shop, int64_t place_id, struct sensor *ret)
{
    if (!LIST_RESERVE(&shop->sensors) || !LIST_RESERVE(&shop->sensor_clocks))
        return COAT_NO_MEMORY;
    return store_sensor_by_hand(shop->store, place_id, ret);
}
