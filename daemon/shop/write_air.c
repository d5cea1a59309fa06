/* Air entered by hand. */
#include "daemon/shop/write.h"

#include <math.h>
#include <stdlib.h>

static enum coat_result check_reading(const struct place *place, const struct reading *reading, const char *prefix, int64_t now_ms,
                                      struct coat_error *error)
{
    char field[48];
    snprintf(field, sizeof field, "%sat", prefix);
    enum coat_result result = check_moment(field, reading->at_ms, now_ms, error);
    double rh_pct = reading->rh_mp == READING_NONE ? (double)NAN : reading->rh_mp / 1000.0;
    return result == COAT_OK ? check_air(prefix, place, reading->temp_mc / 1000.0, rh_pct, error) : result;
}

static enum coat_result check_readings(const struct place *place, const struct reading *readings, size_t count, int64_t now_ms,
                                       struct coat_error *error)
{
    enum coat_result result = check_reading_count(count, error);
    for (size_t i = 0; result == COAT_OK && i < count; i++) {
        char prefix[32] = "";
        if (count > 1)
            snprintf(prefix, sizeof prefix, "items[%zu].", i);
        result = check_reading(place, &readings[i], prefix, now_ms, error);
    }
    return result;
}

static int by_moment(const void *a, const void *b)
{
    const struct reading *one = a, *other = b;
    return (one->at_ms > other->at_ms) - (one->at_ms < other->at_ms);
}

/* Sorted; what is told twice is kept once. Two that differ at one moment cannot both be true. */
static enum coat_result sort_readings(struct reading *readings, size_t *io_count, struct coat_error *error)
{
    char text[MOMENT_TEXT_SIZE];
    size_t kept = 0;
    qsort(readings, *io_count, sizeof *readings, by_moment);
    for (size_t i = 0; i < *io_count; i++) {
        const struct reading *last = kept > 0 ? &readings[kept - 1] : NULL;
        bool again = last != NULL && last->at_ms == readings[i].at_ms;
        if (again && (last->temp_mc != readings[i].temp_mc || last->rh_mp != readings[i].rh_mp))
            return coat_fail(error, COAT_BAD_VALUE, "items", "two readings at %s differ: one a moment will do",
                             moment_print(readings[i].at_ms, text));
        if (!again)
            readings[kept++] = readings[i];
    }
    *io_count = kept;
    return COAT_OK;
}

static enum coat_result record_readings(struct shop *shop, const struct shop_write *write, int64_t place_id, const struct reading *readings,
                                        size_t count, struct sensor *ret_sensor, struct coat_error *error)
{
    enum coat_result result = write_begin(shop, error);
    if (result != COAT_OK)
        return result;
    result = sensor_by_hand(shop, place_id, ret_sensor);
    if (result == COAT_OK)
        result = store_reading_put(shop->store, ret_sensor->id, readings, count);
    if (result != COAT_OK)
        return write_undone(shop, result, error);
    return write_commit(shop, write, &place_id, 1, error);
}

/* A copy of the caller's readings that is ours to sort; NULL where there is no memory. */
static struct reading *copy_readings(const struct reading *readings, size_t count)
{
    struct reading *copy = calloc(count, sizeof *copy);
    for (size_t i = 0; i < count && copy != NULL; i++) {
        copy[i] = readings[i];
        copy[i].hold_s = READING_HOLD_BY_HAND_S;
    }
    return copy;
}

enum coat_result model_air_by_hand(struct shop *shop, const struct sensor *by_hand, const struct reading *readings, size_t count)
{
    if (!sensors_put(shop, by_hand))
        return COAT_NO_MEMORY;
    return model_air_added(shop, by_hand->id, readings, count);
}

enum coat_result shop_enter_air(struct shop *shop, const struct shop_write *write, int64_t place_id, const struct reading *readings,
                                size_t count, struct coat_error *error)
{
    const struct place *place = NULL;
    enum coat_result result = check_place(shop, "place", place_id, &place, error);
    if (result == COAT_OK)
        result = check_readings(place, readings, count, write->now_ms, error);
    if (result != COAT_OK)
        return result;
    struct reading *sorted = copy_readings(readings, count);
    if (sorted == NULL)
        return write_failed(COAT_NO_MEMORY, error);
    struct sensor by_hand;
    result = sort_readings(sorted, &count, error);
    if (result == COAT_OK)
        result = record_readings(shop, write, place_id, sorted, count, &by_hand, error);
    if (result == COAT_OK)
        result = write_settle(shop, write, model_air_by_hand(shop, &by_hand, sorted, count), error);
    free(sorted);
    return result;
}
