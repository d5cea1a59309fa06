/* A file of past readings, in pieces: begun, added to, and seen by nobody until it is finished. */
#include "daemon/http/routes.h"
#include "daemon/http/work.h"

#include <inttypes.h>
#include <math.h>
#include <stdlib.h>

#define COLDEST_C (-40.0)
#define HOTTEST_C 300.0 /* of an oven; what the place allows is the shop's to say */

/* One that is finished still answers a repeated request. */
static bool has_import(const struct shop *shop, int64_t id)
{
    const struct sensor *sensor = shop_sensor(shop, id);
    return shop_import(shop, id) != NULL || (sensor != NULL && sensor->kind == SENSOR_IMPORT);
}

static const struct work_kind work_import = {"import", "/api/v1/sensors", has_import};

/* The count is what this request brought. */
static enum coat_result show(struct work *work, const struct sensor *import, unsigned count, bool finished)
{
    struct json_out *out = work->doc.out;
    json_out_object(out);
    json_put_int(out, "id", work_subject(work));
    json_put_int(out, "place", import->place_id);
    json_put_string(out, "name", import->name);
    json_put_int(out, "count", count);
    json_put_bool(out, "finished", finished);
    json_out_object_end(out);
    return COAT_OK;
}

static const struct sensor *subject(const struct work *work)
{
    const struct sensor *import = shop_import(work->shop, work_subject(work));
    return import != NULL ? import : shop_sensor(work->shop, work_subject(work));
}

static enum coat_result check_under_way(struct work *work)
{
    if (shop_import(work->shop, work->id) != NULL)
        return COAT_OK;
    return coat_fail(&work->error, COAT_CONFLICT, "", "import %" PRId64 " is finished: begin another", work->id);
}

/* ---- begin ---- */

static enum coat_result begin_import(struct work *work)
{
    int64_t place_id = 0, id = 0;
    char name[NAME_SIZE] = "";
    if (json_in_id(&work->in, "place", JSON_REQUIRED, &place_id))
        work_known(work, &work->in, "place", &work_place, place_id);
    work_name(&work->in, "name", JSON_REQUIRED, name, sizeof name);
    if (json_in_close(&work->in) != COAT_OK)
        return work->error.code;
    enum coat_result result = shop_import_begin(work->shop, &work->write, place_id, name, &id, &work->error);
    work_made(work, id);
    return result;
}

/* A repeated begin may come when the import was dropped since. */
static enum coat_result show_begun(struct work *work)
{
    const struct sensor *import = subject(work);
    if (import == NULL)
        return coat_fail(&work->error, COAT_CONFLICT, "", "import %" PRId64 " was dropped: begin another", work_subject(work));
    snprintf(work->response->location, sizeof work->response->location, "/api/v1/imports/%" PRId64, work_subject(work));
    return show(work, import, 0, false);
}

/* ---- readings ---- */

static int32_t read_milli(struct json_in *in, const char *name, double low, double high)
{
    double value = (double)NAN;
    json_in_number(in, name, JSON_NULLABLE, low, high, &value);
    return isnan(value) ? READING_NONE : (int32_t)lround(value * 1000.0);
}

static struct reading read_reading(struct json_in *in)
{
    struct reading reading = {.hold_s = READING_HOLD_MAX_S};
    json_in_moment(in, "at", JSON_REQUIRED, &reading.at_ms);
    reading.temp_mc = read_milli(in, "temp_c", COLDEST_C, HOTTEST_C);
    reading.rh_mp = read_milli(in, "rh_pct", 0.0, 100.0);
    return reading;
}

static enum coat_result add_readings(struct work *work)
{
    struct json_in_list list;
    struct json_in item;
    size_t count = 0;
    enum coat_result result = check_under_way(work);
    if (result != COAT_OK)
        return result;
    struct reading *readings = malloc(SHOP_TAKE_MAX * sizeof *readings);
    if (readings == NULL)
        return COAT_NO_MEMORY;
    bool good = json_in_list(&work->in, "items", JSON_REQUIRED, 1, SHOP_TAKE_MAX, &list);
    while (good && count < SHOP_TAKE_MAX && json_in_next_object(&list, &item)) {
        readings[count++] = read_reading(&item);
        work_close(&item);
    }
    result = json_in_close(&work->in);
    if (result == COAT_OK)
        result = shop_import_add(work->shop, &work->write, work->id, readings, count, &work->error);
    free(readings);
    return result;
}

/* Read from the body again, so that a repeated write answers alike. */
static enum coat_result show_added(struct work *work)
{
    struct json_in_list list = {0};
    struct coat_error ignored = {0};
    struct json_in in = json_in_open(work->request->json, &ignored);
    json_in_list(&in, "items", JSON_REQUIRED, 1, SHOP_TAKE_MAX, &list);
    return show(work, subject(work), list.count, false);
}

/* ---- finish and drop ---- */

static enum coat_result finish_import(struct work *work)
{
    if (json_in_close(&work->in) != COAT_OK)
        return work->error.code;
    enum coat_result result = check_under_way(work);
    return result == COAT_OK ? shop_import_finish(work->shop, &work->write, work->id, &work->error) : result;
}

static enum coat_result show_finished(struct work *work)
{
    return show(work, subject(work), 0, true);
}

/* The answer is written while it is still known. */
static enum coat_result drop_import(struct work *work)
{
    if (json_in_close(&work->in) != COAT_OK)
        return work->error.code;
    enum coat_result result = check_under_way(work);
    if (result != COAT_OK)
        return result;
    struct sensor import = *shop_import(work->shop, work->id);
    result = shop_import_drop(work->shop, &work->write, work->id, &work->error);
    return result == COAT_OK ? show(work, &import, 0, false) : result;
}

static enum coat_result show_nothing(struct work *work)
{
    (void)work;
    return COAT_OK;
}

/* ---- handlers ---- */

void route_import_begin(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {201, NULL, begin_import, show_begun};
    work_write(context, request, response, &plan);
}

void route_import_add(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {200, &work_import, add_readings, show_added};
    work_write(context, request, response, &plan);
}

void route_import_finish(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {200, &work_import, finish_import, show_finished};
    work_write(context, request, response, &plan);
}

void route_import_drop(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {200, &work_import, drop_import, show_nothing};
    work_write(context, request, response, &plan);
}
