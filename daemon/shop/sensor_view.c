/* How sensors do, for people. */
#include "daemon/shop/sensor_view.h"

#include <math.h>
#include <stdlib.h>

/* What was said at moments further apart is of different air. */
#define SAME_TIME_MS (15 * MS_PER_MIN)
#define AGREEING_MS MS_PER_H

/* Of one bad quantity the other may have counted: then both are of the same moment. */
static bool is_doubted(const struct sensor_clock *clock)
{
    return clock->suspect_at != MOMENT_NONE && (clock->last_at == MOMENT_NONE || clock->suspect_at >= clock->last_at);
}

static enum sensor_state state_of(const struct sensor *sensor, const struct sensor_clock *clock, int64_t now_ms)
{
    if (clock->fault[0] != '\0' || is_doubted(clock))
        return SENSOR_FAULTY;
    if (clock->last_at == MOMENT_NONE)
        return SENSOR_NO_READING;
    return now_ms > clock->last_at + sensor->hold_s * MS_PER_S ? SENSOR_SILENT : SENSOR_OK;
}

/* Whether it is the first of its place that is healthy in the quantity. */
static bool counts_now(const struct shop *shop, const struct sensor *sensor, enum air_quantity quantity, int64_t now_ms)
{
    const struct place_air *air = shop_air_of(shop, sensor->place_id);
    for (unsigned i = 0; i < air->sources; i++) {
        int64_t until_ms = air->merge.healthy_until_ms[i][quantity];
        if (until_ms != MOMENT_NONE && until_ms >= now_ms)
            return air->source[i].sensor_id == sensor->id;
    }
    return false;
}

static double value_of(const struct shop *shop, const struct sensor *sensor, const struct sensor_clock *clock, enum air_quantity quantity)
{
    if (clock->milli[quantity] == READING_NONE)
        return (double)NAN;
    double value = clock->milli[quantity] / 1000.0 + sensor_offset(shop, sensor->id, quantity, clock->said_at[quantity]);
    return quantity == AIR_RH ? fmin(fmax(value, 0.0), 100.0) : value;
}

static bool is_healthy(const struct sensor *sensor, const struct sensor_clock *clock, enum air_quantity quantity, int64_t now_ms)
{
    int64_t said_at = clock->said_at[quantity];
    return sensor->removed_at == MOMENT_NONE && said_at != MOMENT_NONE && said_at + sensor->hold_s * MS_PER_S >= now_ms;
}

static bool disagree_in(struct shop *shop, const struct sensor *a, const struct sensor *b, enum air_quantity quantity, int64_t now_ms)
{
    const struct sensor_clock *one = sensor_clock_of(shop, a->id), *other = sensor_clock_of(shop, b->id);
    if (!is_healthy(a, one, quantity, now_ms) || !is_healthy(b, other, quantity, now_ms))
        return false;
    if (llabs(one->said_at[quantity] - other->said_at[quantity]) > SAME_TIME_MS)
        return false;
    return judge_disagree(quantity, value_of(shop, a, one, quantity), value_of(shop, b, other, quantity));
}

/* The mean of what it said in the hour up to at_ms; NAN where that is less than most of an hour, or cannot be read. */
static double hour_mean(struct shop *shop, const struct sensor *sensor, enum air_quantity quantity, int64_t at_ms)
{
    struct reading *readings = NULL;
    size_t capacity = 0, count = 0, told = 0;
    double sum = 0.0;
    int64_t first_at = MOMENT_NONE;
    enum coat_result result =
        store_readings(shop->store, sensor->id, sensor->hold_s, at_ms - AGREEING_MS, at_ms + 1, &readings, &capacity, &count);
    for (size_t i = 0; result == COAT_OK && i < count; i++) {
        int32_t milli = quantity == AIR_TEMP ? readings[i].temp_mc : readings[i].rh_mp;
        if (milli == READING_NONE)
            continue;
        first_at = told++ == 0 ? readings[i].at_ms : first_at;
        sum += milli / 1000.0 + sensor_offset(shop, sensor->id, quantity, readings[i].at_ms);
    }
    free(readings);
    return told > 1 && first_at <= at_ms - AGREEING_MS / 2 ? sum / (double)told : (double)NAN;
}

bool sensors_disagree_lasting(struct shop *shop, const struct sensor *a, const struct sensor *b, int64_t now_ms, enum air_quantity *ret)
{
    for (unsigned q = 0; q < AIR_QUANTITY_COUNT; q++) {
        *ret = (enum air_quantity)q;
        if (disagree_in(shop, a, b, *ret, now_ms) &&
            judge_disagree(*ret, hour_mean(shop, a, *ret, now_ms), hour_mean(shop, b, *ret, now_ms)))
            return true;
    }
    return false;
}

static void fill_disagreement(struct shop *shop, const struct sensor *sensor, int64_t now_ms, struct sensor_view *ret)
{
    for (size_t i = 0; i < shop->sensors.count; i++) {
        const struct sensor *other = &shop->sensors.item[i];
        if (other->place_id != sensor->place_id || other->id == sensor->id)
            continue;
        sensor_listen(shop, other->id);
        for (unsigned q = 0; q < AIR_QUANTITY_COUNT; q++) {
            if (ret->disagrees_with != 0 || !disagree_in(shop, sensor, other, (enum air_quantity)q, now_ms))
                continue;
            ret->disagrees_with = other->id;
            ret->disagrees_in = (enum air_quantity)q;
        }
    }
}

bool shop_sensor_view(struct shop *shop, int64_t sensor_id, int64_t now_ms, struct sensor_view *ret)
{
    const struct sensor *sensor = shop_sensor(shop, sensor_id);
    if (sensor == NULL)
        return false;
    sensor_listen(shop, sensor_id);
    const struct sensor_clock *clock = sensor_clock_of(shop, sensor_id);
    *ret = (struct sensor_view){
        .sensor = sensor,
        .state = state_of(sensor, clock, now_ms),
        .last_at = clock->last_at,
        .usual_interval_s = sensor->interval_s,
        .judgement = JUDGE_GOOD,
        .suspect_at = MOMENT_NONE,
        .fault_at = clock->fault_at,
    };
    memcpy(ret->fault, clock->fault, sizeof ret->fault);
    if (is_doubted(clock)) {
        ret->judgement = clock->suspect;
        ret->suspect_at = clock->suspect_at;
    }
    for (unsigned q = 0; q < AIR_QUANTITY_COUNT; q++) {
        ret->value[q] = value_of(shop, sensor, clock, (enum air_quantity)q);
        ret->offset[q] = sensor_offset(shop, sensor_id, (enum air_quantity)q, now_ms);
        ret->counts[q] = sensor->removed_at == MOMENT_NONE && counts_now(shop, sensor, (enum air_quantity)q, now_ms);
    }
    fill_disagreement(shop, sensor, now_ms, ret);
    return true;
}

void shop_sensor_fault(struct shop *shop, int64_t sensor_id, int64_t now_ms, const char *text)
{
    struct sensor_clock *clock = sensor_clock_of(shop, sensor_id);
    if (clock == NULL)
        return;
    snprintf(clock->fault, sizeof clock->fault, "%s", text);
    clock->fault_at = text[0] != '\0' ? now_ms : MOMENT_NONE;
    clock->news = true;
}

enum coat_result shop_suspects(struct shop *shop, int64_t sensor_id, int64_t from_ms, int64_t to_ms,
                               bool (*each)(const struct suspect *, void *), void *context)
{
    return store_suspects(shop->store, sensor_id, from_ms, to_ms, each, context);
}
