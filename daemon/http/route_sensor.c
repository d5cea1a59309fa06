/* Sensors: what they are, what they were adjusted by, what they said that does not count. */
#include "daemon/http/routes.h"
#include "daemon/http/sensor_in.h"

#include <inttypes.h>
#include <math.h>
#include <stdlib.h>

#define SUSPECTS_MOST 1000
#define SUSPECTS_MS (7 * MS_PER_DAY)
#define AMOUNT_LOWEST (-1e4)
#define AMOUNT_HIGHEST 1e4

/* ---- sensors ---- */

static enum coat_result show_sensors(struct work *work)
{
    int64_t place_id = 0;
    size_t count = 0;
    const struct sensor *sensors = shop_sensors(work->shop, &count);
    if (http_query_int(work->request, "place", 1, INT64_MAX, &place_id, &work->error) != COAT_OK)
        return work->error.code;
    if (place_id != 0 && shop_place(work->shop, place_id) == NULL)
        return coat_fail(&work->error, COAT_BAD_VALUE, "place", "there is no place %" PRId64 ": GET /api/v1/places lists them", place_id);
    json_out_object(work->doc.out);
    json_put_array(work->doc.out, "items");
    for (size_t i = 0; i < count; i++) {
        if (sensors[i].removed_at != MOMENT_NONE || (place_id != 0 && sensors[i].place_id != place_id))
            continue;
        json_out_object(work->doc.out);
        doc_sensor(&work->doc, &sensors[i]);
        json_out_object_end(work->doc.out);
    }
    json_out_array_end(work->doc.out);
    json_out_object_end(work->doc.out);
    return COAT_OK;
}

static enum coat_result show_sensor(struct work *work)
{
    json_out_object(work->doc.out);
    doc_sensor(&work->doc, shop_sensor(work->shop, work_subject(work)));
    json_out_object_end(work->doc.out);
    return COAT_OK;
}

/* The token is told by the answer that follows its making. A repeated write has none to tell: the record keeps its hash alone. */
static void put_token(struct work *work)
{
    bool told = work->token[0] != '\0';
    json_put_string(work->doc.out, "token", told ? work->token : NULL);
    json_put_string(work->doc.out, "token_note",
                    told ? "Keep it: it is told this once. POST /api/v1/readings takes it as Authorization: Bearer."
                         : "It was told once, when it was made. PATCH this sensor with {\"new_token\":true} for another; the old one ends then.");
}

static enum coat_result show_added(struct work *work)
{
    int64_t id = work_subject(work);
    const struct sensor *sensor = shop_sensor(work->shop, id);
    snprintf(work->response->location, sizeof work->response->location, "/api/v1/sensors/%" PRId64, id);
    json_out_object(work->doc.out);
    doc_sensor(&work->doc, sensor);
    if (sensor->kind == SENSOR_PUSH)
        put_token(work);
    json_out_object_end(work->doc.out);
    return COAT_OK;
}

static bool wants_token(const struct work *work)
{
    struct coat_error ignored = {0};
    struct json_in in = json_in_open(work->request->json, &ignored);
    bool wants = false;
    return json_in_bool(&in, "new_token", JSON_OPTIONAL, &wants) && wants;
}

static enum coat_result show_changed(struct work *work)
{
    json_out_object(work->doc.out);
    doc_sensor(&work->doc, shop_sensor(work->shop, work->id));
    if (wants_token(work))
        put_token(work);
    json_out_object_end(work->doc.out);
    return COAT_OK;
}

static enum coat_result put_sensor(struct work *work, const struct sensor *sensor)
{
    int64_t id = 0;
    enum coat_result result = json_in_close(&work->in);
    if (result == COAT_OK)
        result = sensor_in_check(work, sensor);
    if (result == COAT_OK)
        result = shop_put_sensor(work->shop, &work->write, sensor, &id, &work->error);
    work_made(work, sensor->id != 0 ? sensor->id : id);
    return result;
}

static enum coat_result add_sensor(struct work *work)
{
    struct sensor sensor;
    sensor_in_new(work, false, &sensor);
    return put_sensor(work, &sensor);
}

static enum coat_result change_sensor(struct work *work)
{
    struct sensor sensor = *shop_sensor(work->shop, work->id);
    sensor_in_change(work, &sensor);
    return put_sensor(work, &sensor);
}

static enum coat_result remove_sensor(struct work *work)
{
    if (json_in_close(&work->in) != COAT_OK)
        return work->error.code;
    return shop_remove_sensor(work->shop, &work->write, work->id, &work->error);
}

/* ---- adjustments ---- */

static enum coat_result show_adjustments(struct work *work)
{
    size_t count = 0;
    const struct adjustment *adjustments = shop_adjustments(work->shop, &count);
    json_out_object(work->doc.out);
    json_put_array(work->doc.out, "items");
    for (size_t i = 0; i < count; i++) {
        if (adjustments[i].sensor_id == work->id)
            doc_adjustment(&work->doc, &adjustments[i]);
    }
    json_out_array_end(work->doc.out);
    json_out_object_end(work->doc.out);
    return COAT_OK;
}

static enum coat_result show_adjustment(struct work *work)
{
    size_t count = 0;
    const struct adjustment *adjustments = shop_adjustments(work->shop, &count);
    for (size_t i = 0; i < count; i++) {
        if (adjustments[i].id != work_subject(work))
            continue;
        doc_adjustment(&work->doc, &adjustments[i]);
        return COAT_OK;
    }
    return COAT_STORE_FAILED; /* a key that names an adjustment which is not there */
}

static enum coat_result adjust(struct work *work)
{
    struct json_in *in = &work->in;
    struct adjustment adjustment = {.sensor_id = work->id, .reads = (double)NAN, .from_at = work->now_ms, .entered_at = work->now_ms};
    int64_t id = 0;
    json_in_air_quantity(in, "quantity", JSON_REQUIRED, &adjustment.quantity);
    json_in_number(in, "should", JSON_REQUIRED, AMOUNT_LOWEST, AMOUNT_HIGHEST, &adjustment.should);
    json_in_number(in, "reads", JSON_OPTIONAL, AMOUNT_LOWEST, AMOUNT_HIGHEST, &adjustment.reads);
    work_past(work, "from_at", &adjustment.from_at);
    if (json_in_close(in) != COAT_OK)
        return work->error.code;
    enum coat_result result = shop_adjust_sensor(work->shop, &work->write, &adjustment, &id, &work->error);
    work_made(work, id);
    return result;
}

/* ---- what does not count ---- */

/* The newest ones, as a ring. */
struct kept {
    size_t count;
    struct suspect suspect[SUSPECTS_MOST];
};

static bool keep(const struct suspect *suspect, void *context)
{
    struct kept *kept = context;
    kept->suspect[kept->count++ % SUSPECTS_MOST] = *suspect;
    return true;
}

static void put_kept(struct work *work, const struct kept *kept)
{
    size_t first = kept->count > SUSPECTS_MOST ? kept->count - SUSPECTS_MOST : 0;
    json_out_object(work->doc.out);
    json_put_array(work->doc.out, "items");
    for (size_t i = first; i < kept->count; i++)
        doc_suspect(&work->doc, &kept->suspect[i % SUSPECTS_MOST]);
    json_out_array_end(work->doc.out);
    json_out_object_end(work->doc.out);
}

static enum coat_result show_suspects(struct work *work)
{
    int64_t to_ms = work->now_ms;
    int64_t from_ms = MOMENT_NONE;
    if (http_query_moment(work->request, "to", &to_ms, &work->error) != COAT_OK ||
        http_query_moment(work->request, "from", &from_ms, &work->error) != COAT_OK)
        return work->error.code;
    if (from_ms == MOMENT_NONE)
        from_ms = to_ms - SUSPECTS_MS;
    if (from_ms > to_ms)
        return coat_fail(&work->error, COAT_BAD_VALUE, "from", "from lies after to: swap the two");
    struct kept *kept = calloc(1, sizeof *kept);
    if (kept == NULL)
        return COAT_NO_MEMORY;
    enum coat_result result = shop_suspects(work->shop, work->id, from_ms, to_ms + 1, keep, kept); /* `to` itself as well */
    if (result == COAT_OK)
        put_kept(work, kept);
    free(kept);
    return result;
}

/* ---- handlers ---- */

void route_sensors_list(WORK_ARGUMENTS)
{
    work_read(context, request, response, NULL, show_sensors);
}

void route_sensor_get(WORK_ARGUMENTS)
{
    work_read(context, request, response, &work_sensor, show_sensor);
}

void route_sensor_add(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {201, NULL, add_sensor, show_added};
    work_write(context, request, response, &plan);
}

void route_sensor_change(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {200, &work_sensor, change_sensor, show_changed};
    work_write(context, request, response, &plan);
}

void route_sensor_remove(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {200, &work_sensor, remove_sensor, show_sensor};
    work_write(context, request, response, &plan);
}

void route_adjustments_list(WORK_ARGUMENTS)
{
    work_read(context, request, response, &work_sensor, show_adjustments);
}

void route_sensor_adjust(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {201, &work_sensor, adjust, show_adjustment};
    work_write(context, request, response, &plan);
}

void route_suspects_list(WORK_ARGUMENTS)
{
    work_read(context, request, response, &work_sensor, show_suspects);
}
