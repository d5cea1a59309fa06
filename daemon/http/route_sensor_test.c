/* What a source says now, before anything is stored. Nothing is recorded, so there is no answer to keep: a key is left alone. */
#include "daemon/http/routes.h"
#include "daemon/http/sensor_in.h"

#include "coat/sense.h"

#include <inttypes.h>

static bool is_asked(const struct sensor *sensor)
{
    return sensor->kind == SENSOR_SYSFS || sensor->kind == SENSOR_COMMAND || sensor->kind == SENSOR_MQTT;
}

static enum coat_result read_settings(struct work *work, struct sensor *ret)
{
    int64_t id = 0;
    if (!json_in_has(&work->in, "sensor")) {
        sensor_in_new(work, true, ret);
    } else if (json_in_id(&work->in, "sensor", JSON_REQUIRED, &id)) {
        work_known(work, &work->in, "sensor", &work_sensor, id);
        if (!json_in_failed(&work->in))
            *ret = *shop_sensor(work->shop, id);
    }
    if (json_in_close(&work->in) != COAT_OK)
        return work->error.code;
    if (!is_asked(ret))
        return coat_fail(&work->error, COAT_BAD_VALUE, id != 0 ? "sensor" : "kind", "one of the kind %s cannot be asked: what it says comes by itself",
                         sensor_kind_word(ret->kind));
    return sensor_in_check(work, ret);
}

static enum coat_result begin_test(struct work *work)
{
    struct sensor settings = {0};
    int64_t id = 0;
    enum coat_result result = read_settings(work, &settings);
    if (result == COAT_OK && work->context->sense == NULL)
        result = coat_fail(&work->error, COAT_NOT_ALLOWED, "", "this service asks no sources");
    if (result == COAT_OK)
        result = sensor_in_named(work, &settings, sense_test_begin(work->context->sense, &settings, &id, &work->error));
    if (result != COAT_OK)
        return result;
    work->response->status = 202;
    json_out_object(work->doc.out);
    json_put_int(work->doc.out, "id", id);
    json_out_object_end(work->doc.out);
    return COAT_OK;
}

static void put_quantity(struct json_out *out, const struct sense_test *test, enum air_quantity quantity)
{
    static const char *const amount_of[AIR_QUANTITY_COUNT] = {[AIR_TEMP] = "value_c", [AIR_RH] = "value_pct"};
    const char *key = air_quantity_word(quantity);
    if (test->raw[quantity][0] == '\0') {
        json_put_null(out, key);
        return;
    }
    json_put_object(out, key);
    json_put_string(out, "raw", test->raw[quantity]);
    json_put_number(out, amount_of[quantity], test->value[quantity], 3);
    json_out_object_end(out);
}

static enum coat_result show_test(struct work *work)
{
    struct json_out *out = work->doc.out;
    struct sense_test test;
    enum coat_result result = http_param_id(work->request, 0, &work->id, &work->error);
    if (result != COAT_OK)
        return result;
    if (work->context->sense == NULL || !sense_test_get(work->context->sense, work->id, &test))
        return coat_fail(&work->error, COAT_NOT_FOUND, "", "there is no test %" PRId64 " any more: POST /api/v1/sensor-tests begins one", work->id);
    json_out_object(out);
    json_put_int(out, "id", work->id);
    json_put_bool(out, "done", test.done);
    for (unsigned i = 0; i < AIR_QUANTITY_COUNT; i++)
        put_quantity(out, &test, (enum air_quantity)i);
    json_put_string(out, "fault", test.fault[0] != '\0' ? test.fault : NULL);
    json_out_object_end(out);
    return COAT_OK;
}

void route_sensor_test_begin(WORK_ARGUMENTS)
{
    work_read(context, request, response, NULL, begin_test);
}

void route_sensor_test_get(WORK_ARGUMENTS)
{
    work_read(context, request, response, NULL, show_test);
}
