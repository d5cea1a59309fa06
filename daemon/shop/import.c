/* A file of past readings, taken in pieces and seen only when it is whole: a sensor that nobody counts until then. */
#include "daemon/shop/write.h"

#include <stdlib.h>

static struct sensor *import_of(const struct shop *shop, int64_t sensor_id)
{
    for (size_t i = 0; i < shop->imports.count; i++)
        if (shop->imports.item[i].id == sensor_id)
            return &shop->imports.item[i];
    return NULL;
}

const struct sensor *shop_import(const struct shop *shop, int64_t sensor_id)
{
    return import_of(shop, sensor_id);
}

static enum coat_result check_import(const struct shop *shop, int64_t sensor_id, struct sensor **ret, struct coat_error *error)
{
    *ret = import_of(shop, sensor_id);
    if (*ret == NULL)
        return coat_fail(error, COAT_NOT_FOUND, "import", "there is no import %lld under way: begin one", (long long)sensor_id);
    return COAT_OK;
}

#define IMPORTS_MAX 8 /* under way at once */

static enum coat_result begin_import(struct shop *shop, struct sensor *import, struct coat_error *error)
{
    const struct place *place;
    enum coat_result result = check_place(shop, "place", import->place_id, &place, error);
    if (result == COAT_OK)
        result = check_name("name", import->name, sizeof import->name, error);
    if (result == COAT_OK && shop->imports.count >= IMPORTS_MAX)
        result = coat_fail(error, COAT_CONFLICT, "", "%d imports are under way: finish or drop one", IMPORTS_MAX);
    if (result == COAT_OK)
        result = check_sensor_name(shop, import->name, 0, error);
    if (result == COAT_OK)
        result = next_sensor_position(shop, place, &import->position, error);
    if (result == COAT_OK && !LIST_RESERVE(&shop->imports))
        result = write_failed(COAT_NO_MEMORY, error);
    return result;
}

enum coat_result shop_import_begin(struct shop *shop, const struct shop_write *write, int64_t place_id, const char *name, int64_t *ret_sensor_id,
                                   struct coat_error *error)
{
    struct sensor import = {.place_id = place_id, .kind = SENSOR_IMPORT, .hold_s = READING_HOLD_MAX_S, .measures = {true, true},
                            .added_at = write->now_ms, .removed_at = MOMENT_NONE};
    snprintf(import.name, sizeof import.name, "%s", name);
    enum coat_result result = begin_import(shop, &import, error);
    if (result == COAT_OK)
        result = write_begin(shop, error);
    if (result != COAT_OK)
        return result;
    result = store_sensor_add(shop->store, &import, false, &import.id);
    if (result != COAT_OK)
        return write_undone(shop, result, error);
    result = write_commit(shop, write, &import.id, 1, error);
    if (result != COAT_OK)
        return result;
    *ret_sensor_id = import.id;
    LIST_PUSH(&shop->imports, import);
    return write_settle(shop, write, COAT_OK, error);
}

/* A reading may lack one of the two. */
static enum coat_result check_reading(const struct place *place, const struct reading *reading, const char *prefix, int64_t now_ms,
                                      struct coat_error *error)
{
    char field[48];
    bool temp = reading->temp_mc != READING_NONE, rh = reading->rh_mp != READING_NONE;
    snprintf(field, sizeof field, "%sat", prefix);
    enum coat_result result = check_moment(field, reading->at_ms, now_ms, error);
    if (result == COAT_OK && !temp && !rh)
        result = coat_fail(error, COAT_BAD_VALUE, prefix, "it has neither a temperature nor a humidity");
    if (result != COAT_OK)
        return result;
    return check_air(prefix, place, temp ? reading->temp_mc / 1000.0 : 0.0, rh ? reading->rh_mp / 1000.0 : 0.0, error);
}

static enum coat_result check_readings(const struct shop *shop, const struct sensor *import, int64_t now_ms, const struct reading *readings,
                                       size_t count, struct coat_error *error)
{
    const struct place *place = shop_place(shop, import->place_id);
    enum coat_result result = check_reading_count(count, error);
    for (size_t i = 0; result == COAT_OK && i < count; i++) {
        char prefix[32];
        snprintf(prefix, sizeof prefix, "items[%zu].", i);
        result = check_reading(place, &readings[i], prefix, now_ms, error);
    }
    return result;
}

enum coat_result shop_import_add(struct shop *shop, const struct shop_write *write, int64_t sensor_id, const struct reading *readings,
                                 size_t count, struct coat_error *error)
{
    struct sensor *import;
    enum coat_result result = check_import(shop, sensor_id, &import, error);
    if (result == COAT_OK)
        result = check_readings(shop, import, write->now_ms, readings, count, error);
    if (result == COAT_OK)
        result = write_begin(shop, error);
    if (result != COAT_OK)
        return result;
    result = store_reading_put(shop->store, sensor_id, readings, count);
    if (result != COAT_OK)
        return write_undone(shop, result, error);
    result = write_commit(shop, write, &sensor_id, 1, error);
    return result == COAT_OK ? write_settle(shop, write, COAT_OK, error) : result;
}

static void forget_import(struct shop *shop, int64_t sensor_id)
{
    size_t i = (size_t)(import_of(shop, sensor_id) - shop->imports.item);
    memmove(&shop->imports.item[i], &shop->imports.item[i + 1], (--shop->imports.count - i) * sizeof *shop->imports.item);
}

enum coat_result shop_import_finish(struct shop *shop, const struct shop_write *write, int64_t sensor_id, struct coat_error *error)
{
    struct sensor *import;
    enum coat_result result = check_import(shop, sensor_id, &import, error);
    if (result == COAT_OK && (!LIST_RESERVE(&shop->sensors) || !LIST_RESERVE(&shop->sensor_clocks)))
        result = write_failed(COAT_NO_MEMORY, error);
    if (result == COAT_OK)
        result = write_begin(shop, error);
    if (result != COAT_OK)
        return result;
    struct sensor finished = *import;
    result = store_sensor_put(shop->store, &finished, true);
    if (result != COAT_OK)
        return write_undone(shop, result, error);
    result = write_commit(shop, write, &sensor_id, 1, error);
    if (result != COAT_OK)
        return result;
    forget_import(shop, sensor_id);
    (void)sensors_put(shop, &finished); /* there is room */
    return write_settle(shop, write, model_sensors_changed(shop, finished.place_id, 0), error);
}

enum coat_result shop_import_drop(struct shop *shop, const struct shop_write *write, int64_t sensor_id, struct coat_error *error)
{
    struct sensor *import;
    enum coat_result result = check_import(shop, sensor_id, &import, error);
    if (result == COAT_OK)
        result = write_begin(shop, error);
    if (result != COAT_OK)
        return result;
    result = store_sensor_drop(shop->store, sensor_id);
    if (result != COAT_OK)
        return write_undone(shop, result, error);
    result = write_commit(shop, write, &sensor_id, 1, error);
    if (result != COAT_OK)
        return result;
    forget_import(shop, sensor_id);
    return write_settle(shop, write, COAT_OK, error);
}
