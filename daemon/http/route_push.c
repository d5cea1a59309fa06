/* Readings that a sensor posts. The gate has seen its token. */
#include "daemon/http/routes.h"
#include "daemon/http/work.h"

#include "coat/sense.h"

#include <math.h>
#include <stdlib.h>

/* What is far from any air is for the judges, who keep it; this only has to fit. */
#define NUMBER_MOST 1e6

static enum coat_result find_sensor(struct work *work, const struct sensor **ret)
{
    *ret = shop_sensor(work->shop, work->request->sensor_id);
    if (*ret == NULL || (*ret)->removed_at != MOMENT_NONE) /* while the body came */
        return coat_fail(&work->error, COAT_NOT_ALLOWED, "", "the sensor was taken out of use");
    return COAT_OK;
}

/* `amount` is in C or %, `number` in the scale of the sensor; NAN where neither is told. */
static double read_quantity(struct json_in *in, const char *amount, const char *number, double (*convert)(const struct sensor *, double),
                            const struct sensor *sensor)
{
    double value = (double)NAN, raw = (double)NAN;
    json_in_number(in, amount, JSON_NULLABLE, -NUMBER_MOST, NUMBER_MOST, &value);
    json_in_number(in, number, JSON_NULLABLE, -NUMBER_MOST, NUMBER_MOST, &raw);
    if (isfinite(value) && isfinite(raw))
        json_in_fail(in, number, "%s and %s tell the same: send one of them", amount, number);
    return isfinite(raw) ? convert(sensor, raw) : value;
}

static double temp_c(const struct sensor *sensor, double number)
{
    return sense_temp_c(sensor->temp_scale, number);
}

static double rh_pct(const struct sensor *sensor, double number)
{
    return sense_rh_pct(sensor->rh_scale, number);
}

/* What it sends beside what it measures is left alone: some devices cannot help it. */
static struct sensor_reading read_one(struct json_in *in, const struct sensor *sensor, enum json_need need_of_moment)
{
    struct sensor_reading reading = {.sensor_id = sensor->id, .at_ms = MOMENT_NONE};
    json_in_moment(in, "at", need_of_moment, &reading.at_ms);
    reading.temp_c = read_quantity(in, "temp_c", "temperature", temp_c, sensor);
    reading.rh_pct = read_quantity(in, "rh_pct", "humidity", rh_pct, sensor);
    if (!sensor->measures[AIR_TEMP])
        reading.temp_c = (double)NAN;
    if (!sensor->measures[AIR_RH])
        reading.rh_pct = (double)NAN;
    if (!isfinite(reading.temp_c) && !isfinite(reading.rh_pct))
        json_in_fail(in, sensor->measures[AIR_TEMP] ? "temp_c" : "rh_pct", "nothing that this sensor measures is in it: send temp_c, rh_pct or both");
    return reading;
}

static size_t read_items(struct json_in_list *list, const struct sensor *sensor, struct sensor_reading *readings)
{
    struct json_in item;
    size_t count = 0;
    while (count < SHOP_TAKE_MAX && json_in_next_object(list, &item)) {
        readings[count++] = read_one(&item, sensor, JSON_REQUIRED);
        work_close(&item);
    }
    return count;
}

static enum coat_result take(struct work *work, const struct sensor_reading *readings, size_t count)
{
    enum coat_result result = json_in_close(&work->in);
    if (result == COAT_OK)
        result = shop_take_readings(work->shop, &work->write, work->now_ms, readings, count, &work->taken, &work->error);
    return result;
}

static enum coat_result take_list(struct work *work, const struct sensor *sensor)
{
    struct json_in_list list;
    size_t count = 0;
    struct sensor_reading *readings = malloc(SHOP_TAKE_MAX * sizeof *readings);
    if (readings == NULL)
        return COAT_NO_MEMORY;
    if (json_in_list(&work->in, "items", JSON_REQUIRED, 1, SHOP_TAKE_MAX, &list))
        count = read_items(&list, sensor, readings);
    enum coat_result result = take(work, readings, count);
    free(readings);
    return result;
}

static enum coat_result take_readings(struct work *work)
{
    const struct sensor *sensor = NULL;
    enum coat_result result = find_sensor(work, &sensor);
    if (result != COAT_OK)
        return result;
    if (json_in_has(&work->in, "items"))
        return take_list(work, sensor);
    struct sensor_reading reading = read_one(&work->in, sensor, JSON_OPTIONAL);
    return take(work, &reading, 1);
}

/* A repeated write took nothing: the sensor had said all of it already. */
static size_t repeated_by_key(const struct work *work)
{
    struct json_in_list list;
    struct coat_error ignored = {0};
    struct json_in in = json_in_open(work->request->json, &ignored);
    return json_in_list(&in, "items", JSON_OPTIONAL, 1, SHOP_TAKE_MAX, &list) ? list.count : 1;
}

static enum coat_result show_taken(struct work *work)
{
    struct json_out *out = work->doc.out;
    struct taken *taken = &work->taken;
    if (taken->counted + taken->repeated + taken->suspect == 0)
        taken->repeated = repeated_by_key(work);
    json_out_object(out);
    json_put_int(out, "counted", (int64_t)taken->counted);
    json_put_int(out, "repeated", (int64_t)taken->repeated);
    json_put_int(out, "suspect", (int64_t)taken->suspect);
    json_put_string(out, "judgement", taken->suspect > 0 ? judgement_word(taken->last_judgement) : NULL);
    json_out_object_end(out);
    return COAT_OK;
}

void route_push(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {200, NULL, take_readings, show_taken};
    work_write(context, request, response, &plan);
}
