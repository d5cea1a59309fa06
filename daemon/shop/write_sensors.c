/* Writes about sensors: what they are, what they should read; and when places are heated. */
#include "daemon/shop/write.h"

#include <math.h>
#include <stdlib.h>

#define SENSORS_OF_PLACE_MAX (MERGE_SOURCES_MAX - 1) /* one place is kept for the one by hand */
#define ADJUST_TEMP_MOST_C 10.0
#define ADJUST_RH_MOST_PCT 20.0
#define HEATED_MOST_MS (7 * MS_PER_DAY)

enum coat_result check_sensor_name(const struct shop *shop, const char *name, int64_t id, struct coat_error *error)
{
    for (size_t i = 0; i < shop->sensors.count; i++) {
        const struct sensor *other = &shop->sensors.item[i];
        bool taken = other->id != id && other->kind != SENSOR_BY_HAND && other->removed_at == MOMENT_NONE;
        if (taken && name_same(other->name, name))
            return coat_fail(error, COAT_CONFLICT, "name", "there is a sensor \"%s\" already: another name will do", other->name);
    }
    return COAT_OK;
}

/* One that is in use; by hand only where that will do. */
static enum coat_result check_sensor(const struct shop *shop, const char *field, int64_t id, bool by_hand, const struct sensor **ret,
                                     struct coat_error *error)
{
    const struct sensor *sensor = shop_sensor(shop, id);
    if (sensor == NULL)
        return coat_fail(error, COAT_NOT_FOUND, field, "there is no sensor %lld: the list of them tells which there are", (long long)id);
    if (sensor->removed_at != MOMENT_NONE)
        return coat_fail(error, COAT_NOT_FOUND, field, "the sensor \"%s\" was removed: add it again", sensor->name);
    if (sensor->kind == SENSOR_BY_HAND && !by_hand)
        return coat_fail(error, COAT_NOT_ALLOWED, field, "air entered by hand cannot be changed like a sensor: enter a better reading");
    *ret = sensor;
    return COAT_OK;
}

static unsigned sensors_of_place(const struct shop *shop, int64_t place_id, int32_t *ret_last_position)
{
    unsigned count = 0;
    *ret_last_position = -1;
    for (size_t i = 0; i < shop->sensors.count; i++) {
        const struct sensor *sensor = &shop->sensors.item[i];
        if (sensor->place_id != place_id || sensor->kind == SENSOR_BY_HAND)
            continue;
        count++;
        *ret_last_position = sensor->position > *ret_last_position ? sensor->position : *ret_last_position;
    }
    return count;
}

enum coat_result next_sensor_position(const struct shop *shop, const struct place *place, int32_t *ret, struct coat_error *error)
{
    int32_t last;
    if (sensors_of_place(shop, place->id, &last) >= SENSORS_OF_PLACE_MAX)
        return coat_fail(error, COAT_CONFLICT, "place", "\"%s\" has had %d sensors: no more will do", place->name, SENSORS_OF_PLACE_MAX);
    *ret = last + 1;
    return COAT_OK;
}

/* Those that are asked are asked each minute where nothing else is told; of the others it is learned. */
#define ASKED_EACH_S 60
static int32_t first_hold_s(const struct sensor *sensor)
{
    bool asked = sensor->kind == SENSOR_SYSFS || sensor->kind == SENSOR_COMMAND;
    return sensor_hold_s(sensor->interval_s > 0 ? sensor->interval_s : asked ? ASKED_EACH_S : 0);
}

static enum coat_result check_new(const struct shop *shop, int64_t now_ms, struct sensor *sensor, struct coat_error *error)
{
    const struct place *place;
    int32_t next = 0;
    enum coat_result result = check_place(shop, "place", sensor->place_id, &place, error);
    if (result != COAT_OK)
        return result;
    if (sensor->kind == SENSOR_BY_HAND || sensor->kind == SENSOR_IMPORT)
        return coat_fail(error, COAT_BAD_VALUE, "kind", "air by hand or from a file needs no sensor: enter it");
    result = next_sensor_position(shop, place, &next, error);
    if (result != COAT_OK)
        return result;
    if (sensor->position < 0)
        sensor->position = next;
    sensor->added_at = now_ms;
    sensor->hold_s = first_hold_s(sensor);
    return COAT_OK;
}

/* What a client does not tell is taken from the record. */
static enum coat_result check_known(const struct shop *shop, struct sensor *sensor, struct coat_error *error)
{
    const struct sensor *before;
    enum coat_result result = check_sensor(shop, "sensor", sensor->id, false, &before, error);
    if (result != COAT_OK)
        return result;
    sensor->place_id = before->place_id;
    sensor->kind = before->kind;
    sensor->added_at = before->added_at;
    sensor->position = sensor->position < 0 ? before->position : sensor->position;
    bool same = sensor->interval_s == before->interval_s || sensor->kind == SENSOR_IMPORT; /* loggers write each hour or so */
    sensor->hold_s = same ? before->hold_s : first_hold_s(sensor);
    return COAT_OK;
}

static enum coat_result check_sensor_put(const struct shop *shop, int64_t now_ms, struct sensor *sensor, struct coat_error *error)
{
    const struct choice_check choices[] = {
        {"kind", (unsigned)sensor->kind, SENSOR_KIND_COUNT},
        {"scales.temperature", (unsigned)sensor->temp_scale, TEMP_SCALE_COUNT},
        {"scales.humidity", (unsigned)sensor->rh_scale, RH_SCALE_COUNT},
    };
    const struct figure_check figures[] = {
        {"interval_s", sensor->interval_s, 0, 86400, false, "s"},
        {"position", sensor->position, -1, 1000, false, ""},
    };
    enum coat_result result = check_choices(choices, sizeof choices / sizeof *choices, error);
    if (result == COAT_OK)
        result = check_figures(figures, sizeof figures / sizeof *figures, error);
    if (result == COAT_OK)
        result = sensor->id == 0 ? check_new(shop, now_ms, sensor, error) : check_known(shop, sensor, error);
    if (result == COAT_OK)
        result = check_name("name", sensor->name, sizeof sensor->name, error);
    if (result == COAT_OK)
        result = check_not_number(sensor->name, error);
    if (result == COAT_OK)
        result = check_sensor_name(shop, sensor->name, sensor->id, error);
    if (result == COAT_OK && !sensor->measures[AIR_TEMP] && !sensor->measures[AIR_RH])
        result = coat_fail(error, COAT_BAD_VALUE, "measures", "it measures nothing: temperature, humidity or both will do");
    sensor->removed_at = MOMENT_NONE;
    return result;
}

/* Another source or scale is another instrument: what was thought of the old one says nothing of it. */
static bool is_another_instrument(const struct sensor *before, const struct sensor *after)
{
    return before != NULL && (strcmp(before->source, after->source) != 0 || before->temp_scale != after->temp_scale ||
                              before->rh_scale != after->rh_scale ||
                              memcmp(before->pointer, after->pointer, sizeof before->pointer) != 0);
}

static bool counts_otherwise(const struct sensor *before, const struct sensor *after)
{
    return before == NULL || before->position != after->position || before->hold_s != after->hold_s;
}

/* Another sensor of the same list: the one by hand is last, whatever its position. */
static bool stands_beside(const struct sensor *other, const struct sensor *wanted)
{
    return other->id != wanted->id && other->place_id == wanted->place_id && other->kind != SENSOR_BY_HAND;
}

static bool position_is_taken(const struct shop *shop, const struct sensor *wanted)
{
    for (size_t i = 0; i < shop->sensors.count; i++)
        if (stands_beside(&shop->sensors.item[i], wanted) && shop->sensors.item[i].position == wanted->position)
            return true;
    return false;
}

/* Where another one stands there, those from there on stand one further back. `shift` is done to each of them. */
static enum coat_result make_way(struct shop *shop, const struct sensor *wanted, enum coat_result (*shift)(struct shop *, const struct sensor *))
{
    enum coat_result result = COAT_OK;
    if (!position_is_taken(shop, wanted))
        return COAT_OK;
    for (size_t i = shop->sensors.count; result == COAT_OK && i-- > 0;) { /* the last first, so that the order stays as it is meanwhile */
        struct sensor other = shop->sensors.item[i];
        if (!stands_beside(&other, wanted) || other.position < wanted->position)
            continue;
        other.position++;
        result = shift(shop, &other);
    }
    return result;
}

static enum coat_result shift_in_store(struct shop *shop, const struct sensor *sensor)
{
    return store_sensor_put(shop->store, sensor, true);
}

static enum coat_result shift_in_list(struct shop *shop, const struct sensor *sensor)
{
    return sensors_put(shop, sensor) ? COAT_OK : COAT_NO_MEMORY;
}

enum coat_result shop_put_sensor(struct shop *shop, const struct shop_write *write, const struct sensor *sensor, int64_t *ret_id,
                                 struct coat_error *error)
{
    struct sensor wanted = *sensor;
    enum coat_result result = check_sensor_put(shop, write->now_ms, &wanted, error);
    if (result == COAT_OK && (!LIST_RESERVE(&shop->sensors) || !LIST_RESERVE(&shop->sensor_clocks)))
        result = write_failed(COAT_NO_MEMORY, error);
    if (result == COAT_OK)
        result = write_begin(shop, error);
    if (result != COAT_OK)
        return result;
    result = make_way(shop, &wanted, shift_in_store);
    if (result == COAT_OK)
        result = wanted.id == 0 ? store_sensor_add(shop->store, &wanted, true, &wanted.id) : store_sensor_put(shop->store, &wanted, true);
    if (result != COAT_OK)
        return write_undone(shop, result, error);
    result = write_commit(shop, write, &wanted.id, 1, error);
    if (result != COAT_OK)
        return result;
    *ret_id = wanted.id;
    const struct sensor *before = shop_sensor(shop, wanted.id);
    bool anew = is_another_instrument(before, &wanted), otherwise = counts_otherwise(before, &wanted);
    int64_t from_ms = before == NULL && !position_is_taken(shop, &wanted) ? write->now_ms : 0;
    (void)make_way(shop, &wanted, shift_in_list); /* nothing new: there is room */
    (void)sensors_put(shop, &wanted);
    if (anew)
        sensor_clock_of(shop, wanted.id)->judge = (struct judge){0};
    return write_settle(shop, write, otherwise ? model_sensors_changed(shop, wanted.place_id, from_ms) : COAT_OK, error);
}

enum coat_result shop_remove_sensor(struct shop *shop, const struct shop_write *write, int64_t id, struct coat_error *error)
{
    const struct sensor *sensor;
    enum coat_result result = check_sensor(shop, "sensor", id, false, &sensor, error);
    if (result == COAT_OK)
        result = write_begin(shop, error);
    if (result != COAT_OK)
        return result;
    struct sensor removed = *sensor;
    removed.removed_at = write->now_ms;
    removed.secret[0] = '\0';
    result = store_sensor_put(shop->store, &removed, true);
    if (result != COAT_OK)
        return write_undone(shop, result, error);
    result = write_commit(shop, write, &id, 1, error);
    if (result != COAT_OK)
        return result;
    (void)sensors_put(shop, &removed);
    return write_settle(shop, write, COAT_OK, error);
}

/* ---- adjusting ---- */

double sensor_offset(const struct shop *shop, int64_t sensor_id, enum air_quantity quantity, int64_t at_ms)
{
    double offset = 0.0;
    for (size_t i = 0; i < shop->adjustments.count; i++) {
        const struct adjustment *one = &shop->adjustments.item[i];
        if (one->sensor_id == sensor_id && one->quantity == quantity && one->from_at <= at_ms)
            offset = one->offset;
    }
    return offset;
}

/* What it reads is what it shows, the adjustment in force included. */
static enum coat_result work_out_offset(struct shop *shop, const struct sensor *sensor, int64_t now_ms, struct adjustment *a,
                                        struct coat_error *error)
{
    const bool temp = a->quantity == AIR_TEMP;
    double in_force = sensor_offset(shop, sensor->id, a->quantity, now_ms), most = temp ? ADJUST_TEMP_MOST_C : ADJUST_RH_MOST_PCT;
    const struct sensor_clock *clock = sensor_clock_of(shop, sensor->id);
    int64_t said_at = clock->said_at[a->quantity];
    bool fresh = said_at != MOMENT_NONE && said_at + sensor->hold_s * MS_PER_S >= now_ms;
    if (isnan(a->reads) && !fresh)
        return coat_fail(error, COAT_BAD_VALUE, "reads", "\"%s\" has told no %s lately: say what it reads", sensor->name,
                         air_quantity_word(a->quantity));
    if (isnan(a->reads))
        a->reads = clock->milli[a->quantity] / 1000.0 + in_force;
    a->offset = a->should - (a->reads - in_force);
    if (fabs(a->offset) > most)
        return coat_fail(error, COAT_BAD_VALUE, "should", "\"%s\" would be %.1f %s off: one that far off is broken, or the test was; up to %.0f will do",
                         sensor->name, fabs(a->offset), temp ? "C" : "%", most);
    return COAT_OK;
}

static enum coat_result check_adjustment(struct shop *shop, int64_t now_ms, struct adjustment *a, struct coat_error *error)
{
    const struct sensor *sensor;
    const struct choice_check quantity = {"quantity", (unsigned)a->quantity, AIR_QUANTITY_COUNT};
    enum coat_result result = check_sensor(shop, "sensor", a->sensor_id, true, &sensor, error);
    if (result == COAT_OK)
        result = check_choices(&quantity, 1, error);
    if (result == COAT_OK && !sensor->measures[a->quantity])
        result = coat_fail(error, COAT_BAD_VALUE, "quantity", "\"%s\" measures no %s", sensor->name, air_quantity_word(a->quantity));
    if (result == COAT_OK)
        result = check_moment("from_at", a->from_at, now_ms, error);
    const bool temp = a->quantity == AIR_TEMP;
    const struct figure_check figures[] = {
        {"should", a->should, temp ? -40 : 0, temp ? 300 : 100, false, temp ? "C" : "%"},
        {"reads", a->reads, temp ? -40 : 0, temp ? 300 : 100, false, temp ? "C" : "%"},
    };
    if (result == COAT_OK && isnan(a->should))
        result = coat_fail(error, COAT_BAD_VALUE, "should", "say what it should read");
    if (result == COAT_OK)
        result = check_figures(figures, sizeof figures / sizeof *figures, error);
    a->entered_at = now_ms;
    return result == COAT_OK ? work_out_offset(shop, sensor, now_ms, a, error) : result;
}

/* As the store sorts them. */
static bool is_after(const struct adjustment *a, const struct adjustment *b)
{
    if (a->sensor_id != b->sensor_id)
        return a->sensor_id > b->sensor_id;
    if (a->quantity != b->quantity)
        return a->quantity > b->quantity;
    return a->from_at > b->from_at; /* of the same moment the newer one stands later, and counts */
}

static void insert_adjustment(struct shop *shop, const struct adjustment *adjustment)
{
    size_t i = shop->adjustments.count++;
    for (; i > 0 && is_after(&shop->adjustments.item[i - 1], adjustment); i--)
        shop->adjustments.item[i] = shop->adjustments.item[i - 1];
    shop->adjustments.item[i] = *adjustment;
}

enum coat_result shop_adjust_sensor(struct shop *shop, const struct shop_write *write, const struct adjustment *adjustment, int64_t *ret_id,
                                    struct coat_error *error)
{
    struct adjustment wanted = *adjustment;
    sensor_listen(shop, wanted.sensor_id);
    enum coat_result result = check_adjustment(shop, write->now_ms, &wanted, error);
    if (result == COAT_OK && !LIST_RESERVE(&shop->adjustments))
        result = write_failed(COAT_NO_MEMORY, error);
    if (result == COAT_OK)
        result = write_begin(shop, error);
    if (result != COAT_OK)
        return result;
    result = store_adjustment_add(shop->store, &wanted, &wanted.id);
    if (result != COAT_OK)
        return write_undone(shop, result, error);
    result = write_commit(shop, write, &wanted.id, 1, error);
    if (result != COAT_OK)
        return result;
    *ret_id = wanted.id;
    insert_adjustment(shop, &wanted);
    sensors_point_anew(shop); /* the list may have moved */
    return write_settle(shop, write, model_sensors_changed(shop, shop_sensor(shop, wanted.sensor_id)->place_id, wanted.from_at), error);
}

/* ---- heating ---- */

static enum coat_result check_heating(const struct shop *shop, int64_t now_ms, struct heating *heating, struct coat_error *error)
{
    const struct place *place;
    enum coat_result result = check_place(shop, "place", heating->place_id, &place, error);
    if (result == COAT_OK)
        result = check_moment("from_at", heating->from_at, now_ms + HEATED_MOST_MS, error);
    if (result == COAT_OK && heating->until_at < heating->from_at)
        result = coat_fail(error, COAT_BAD_VALUE, "until_at", "the heater would go off before it goes on: a later moment will do");
    if (result == COAT_OK && heating->until_at > heating->from_at + HEATED_MOST_MS)
        result = coat_fail(error, COAT_BAD_VALUE, "until_at", "that is over a week: up to seven days will do");
    heating->entered_at = now_ms;
    return result;
}

enum coat_result shop_heat_place(struct shop *shop, const struct shop_write *write, const struct heating *heating, int64_t *ret_id,
                                 struct coat_error *error)
{
    struct heating wanted = *heating;
    enum coat_result result = check_heating(shop, write->now_ms, &wanted, error);
    if (result == COAT_OK && !LIST_RESERVE(&shop->heatings))
        result = write_failed(COAT_NO_MEMORY, error);
    if (result == COAT_OK)
        result = write_begin(shop, error);
    if (result != COAT_OK)
        return result;
    result = store_heating_add(shop->store, &wanted, &wanted.id);
    if (result != COAT_OK)
        return write_undone(shop, result, error);
    result = write_commit(shop, write, &wanted.id, 1, error);
    if (result != COAT_OK)
        return result;
    *ret_id = wanted.id;
    LIST_PUSH(&shop->heatings, wanted);
    shop_air_of(shop, wanted.place_id)->outlook_at = MOMENT_NONE; /* the air to come is told anew */
    return write_settle(shop, write, COAT_OK, error);
}

const struct heating *shop_heatings(const struct shop *shop, size_t *ret_count)
{
    *ret_count = shop->heatings.count;
    return shop->heatings.item;
}

/* The entry that began last decides; of the same moment the newest. */
const struct heating *heating_at(const struct shop *shop, int64_t place_id, int64_t at_ms)
{
    const struct heating *best = NULL;
    for (size_t i = 0; i < shop->heatings.count; i++) {
        const struct heating *one = &shop->heatings.item[i];
        if (one->place_id == place_id && one->from_at <= at_ms && (best == NULL || one->from_at >= best->from_at))
            best = one;
    }
    return best != NULL && best->until_at > at_ms ? best : NULL;
}

int64_t shop_heated_until(const struct shop *shop, int64_t place_id, int64_t now_ms)
{
    const struct heating *heating = heating_at(shop, place_id, now_ms);
    return heating != NULL ? heating->until_at : MOMENT_NONE;
}
