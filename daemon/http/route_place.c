/* Places and the air in them. */
#include "daemon/http/routes.h"
#include "daemon/http/work.h"

#include <inttypes.h>
#include <math.h>
#include <stdlib.h>

#define VOLUME_MAX_M3 1e5
#define AIRFLOW_MAX_M3H 1e6
#define ROOM_COLDEST_C (-40.0)
#define ROOM_HOTTEST_C 60.0
#define OVEN_HOTTEST_C 300.0
#define READINGS_MOST 20000
#define LISTED_MS (48 * MS_PER_H)
#define LISTED_AT_FIRST 500
#define LISTED_MOST 5000

static enum coat_result show_places(struct work *work)
{
    size_t count = 0;
    const struct place *places = shop_places(work->shop, &count);
    json_out_object(work->doc.out);
    json_put_array(work->doc.out, "items");
    for (size_t i = 0; i < count; i++) {
        if (places[i].removed_at == MOMENT_NONE)
            doc_place(&work->doc, &places[i]);
    }
    json_out_array_end(work->doc.out);
    json_out_object_end(work->doc.out);
    return COAT_OK;
}

static enum coat_result show_place(struct work *work)
{
    int64_t id = work_subject(work);
    if (work->response->status == 201)
        snprintf(work->response->location, sizeof work->response->location, "/api/v1/places/%" PRId64, id);
    doc_place(&work->doc, shop_place(work->shop, id));
    return COAT_OK;
}

static void read_risks(struct json_in *in, struct place *place)
{
    struct json_in risks;
    if (!json_in_object(in, "risks", JSON_OPTIONAL, &risks))
        return;
    for (unsigned i = 0; i < PLACE_RISK_COUNT; i++)
        json_in_answer(&risks, place_risk_word((enum place_risk)i), JSON_OPTIONAL, &place->risk[i]);
    work_close(&risks);
}

/* Another figure for the airflow counts as measured only where that is said with it. */
static void read_exhaust(struct json_in *in, struct place *place)
{
    if (json_in_number(in, "airflow_m3h", JSON_NULLABLE, 0.0, AIRFLOW_MAX_M3H, &place->airflow_m3h))
        place->airflow_measured = false;
    json_in_bool(in, "airflow_measured", JSON_OPTIONAL, &place->airflow_measured);
    json_in_answer(in, "low_exhaust", JSON_OPTIONAL, &place->low_exhaust);
}

static enum coat_result put_place(struct work *work, struct place *place, enum json_need need_of_name)
{
    struct json_in *in = &work->in;
    int64_t id = 0;
    work_name(in, "name", need_of_name, place->name, sizeof place->name);
    json_in_place_kind(in, "kind", JSON_OPTIONAL, &place->kind);
    json_in_number(in, "volume_m3", JSON_NULLABLE, 0.0001, VOLUME_MAX_M3, &place->volume_m3);
    read_exhaust(in, place);
    read_risks(in, place);
    if (json_in_close(in) != COAT_OK)
        return work->error.code;
    enum coat_result result = shop_put_place(work->shop, &work->write, place, &id, &work->error);
    work_made(work, place->id != 0 ? place->id : id);
    return result;
}

static enum coat_result add_place(struct work *work)
{
    struct place place = {
        .kind = PLACE_ROOM,
        .volume_m3 = (double)NAN,
        .airflow_m3h = (double)NAN,
        .added_at = work->now_ms,
        .removed_at = MOMENT_NONE,
    };
    return put_place(work, &place, JSON_REQUIRED);
}

static enum coat_result change_place(struct work *work)
{
    struct place place = *shop_place(work->shop, work->id);
    return put_place(work, &place, JSON_OPTIONAL);
}

static enum coat_result remove_place(struct work *work)
{
    if (json_in_close(&work->in) != COAT_OK)
        return work->error.code;
    return shop_remove_place(work->shop, &work->write, work->id, &work->error);
}

/* ---- readings ---- */

static enum coat_result show_readings(struct work *work)
{
    int64_t to_ms = work->now_ms;
    int64_t from_ms = MOMENT_NONE;
    int64_t most = LISTED_AT_FIRST;
    if (http_query_moment(work->request, "to", &to_ms, &work->error) != COAT_OK ||
        http_query_moment(work->request, "from", &from_ms, &work->error) != COAT_OK ||
        http_query_int(work->request, "most", 2, LISTED_MOST, &most, &work->error) != COAT_OK)
        return work->error.code;
    if (from_ms == MOMENT_NONE)
        from_ms = to_ms - LISTED_MS;
    if (from_ms > to_ms)
        return coat_fail(&work->error, COAT_BAD_VALUE, "from", "from lies after to: swap the two");
    json_out_object(work->doc.out);
    json_out_key(work->doc.out, "items");
    doc_readings(&work->doc, work->id, from_ms, to_ms + 1, (size_t)most); /* `to` itself as well */
    json_out_object_end(work->doc.out);
    return COAT_OK;
}

struct reading_rules {
    double hottest_c;
    enum json_need need_of_humidity;
    int64_t now_ms;
};

static struct reading_rules rules_of(const struct work *work)
{
    bool oven = shop_place(work->shop, work->id)->kind == PLACE_OVEN;
    return (struct reading_rules){
        .hottest_c = oven ? OVEN_HOTTEST_C : ROOM_HOTTEST_C,
        .need_of_humidity = oven ? JSON_OPTIONAL : JSON_REQUIRED, /* a thermometer is all that it has */
        .now_ms = work->now_ms,
    };
}

static struct reading read_reading(struct json_in *in, const struct reading_rules *rules, enum json_need need_of_moment)
{
    double temp_c = 0.0;
    double rh_pct = (double)NAN;
    int64_t at_ms = rules->now_ms;
    json_in_moment(in, "at", need_of_moment, &at_ms);
    if (at_ms > rules->now_ms + WORK_FUTURE_GRACE_MS)
        json_in_fail(in, "at", "it lies in the future: air that is yet to come cannot have been measured");
    json_in_number(in, "temp_c", JSON_REQUIRED, ROOM_COLDEST_C, rules->hottest_c, &temp_c);
    json_in_number(in, "rh_pct", rules->need_of_humidity, 0.0, 100.0, &rh_pct);
    return (struct reading){
        .at_ms = at_ms,
        .temp_mc = (int32_t)lround(temp_c * 1000.0),
        .rh_mp = isnan(rh_pct) ? READING_NONE : (int32_t)lround(rh_pct * 1000.0),
        .hold_s = READING_HOLD_BY_HAND_S,
    };
}

static size_t read_items(struct work *work, struct json_in_list *list, struct reading *readings)
{
    struct reading_rules rules = rules_of(work);
    struct json_in item;
    size_t count = 0;
    while (count < READINGS_MOST && json_in_next_object(list, &item)) {
        readings[count++] = read_reading(&item, &rules, JSON_REQUIRED);
        work_close(&item);
    }
    return count;
}

static enum coat_result enter_list(struct work *work)
{
    struct json_in_list list;
    struct reading *readings = malloc(READINGS_MOST * sizeof *readings);
    if (readings == NULL)
        return COAT_NO_MEMORY;
    size_t count = 0;
    if (json_in_list(&work->in, "items", JSON_REQUIRED, 1, READINGS_MOST, &list))
        count = read_items(work, &list, readings);
    enum coat_result result = json_in_close(&work->in);
    if (result == COAT_OK)
        result = shop_enter_air(work->shop, &work->write, work->id, readings, count, &work->error);
    free(readings);
    return result;
}

static enum coat_result enter_air(struct work *work)
{
    if (json_in_has(&work->in, "items"))
        return enter_list(work);
    struct reading_rules rules = rules_of(work);
    struct reading reading = read_reading(&work->in, &rules, JSON_OPTIONAL);
    if (json_in_close(&work->in) != COAT_OK)
        return work->error.code;
    return shop_enter_air(work->shop, &work->write, work->id, &reading, 1, &work->error);
}

/* The count is read from the body again, so that a repeated write answers alike. */
static enum coat_result show_entered(struct work *work)
{
    struct json_in_list list;
    struct coat_error ignored = {0};
    struct json_in in = json_in_open(work->request->json, &ignored);
    bool many = json_in_list(&in, "items", JSON_OPTIONAL, 1, READINGS_MOST, &list);
    json_out_object(work->doc.out);
    json_out_key(work->doc.out, "place");
    doc_place(&work->doc, shop_place(work->shop, work->id));
    json_put_int(work->doc.out, "count", many ? list.count : 1);
    json_out_object_end(work->doc.out);
    return COAT_OK;
}

/* ---- heating ---- */

#define HEATED_MOST_MS (7 * MS_PER_DAY)
#define HEATED_UNTOLD_MS (4 * MS_PER_H)

/* Who does not say until when heats until the working hours end; where the shop has none, for a few hours. */
static int64_t heated_until(const struct shop_settings *settings, int64_t from_ms)
{
    if (settings->work_from_min == settings->work_to_min)
        return from_ms + HEATED_UNTOLD_MS;
    int64_t end_ms = settings->work_to_min * MS_PER_MIN;
    int64_t of_day_ms = (from_ms + doc_zone_offset_ms(settings->zone, from_ms)) % MS_PER_DAY;
    return from_ms + (of_day_ms < end_ms ? end_ms - of_day_ms : end_ms - of_day_ms + MS_PER_DAY);
}

static void read_heating(struct work *work, struct heating *heating)
{
    struct json_in *in = &work->in;
    bool off = false;
    work_past(work, "from_at", &heating->from_at);
    json_in_bool(in, "off", JSON_OPTIONAL, &off);
    heating->until_at = off ? heating->from_at : heated_until(shop_settings_now(work->shop), heating->from_at);
    if (json_in_moment(in, "until_at", JSON_OPTIONAL, &heating->until_at) && off)
        json_in_fail(in, "off", "it is switched off or on until some time: say one of off and until_at");
    if (!off && (heating->until_at <= heating->from_at || heating->until_at > heating->from_at + HEATED_MOST_MS))
        json_in_fail(in, "until_at", "it must lie after from_at, which is now unless told, and a week after it at most");
}

static enum coat_result heat_place(struct work *work)
{
    struct heating heating = {.place_id = work->id, .from_at = work->now_ms, .entered_at = work->now_ms};
    int64_t id = 0;
    read_heating(work, &heating);
    if (json_in_close(&work->in) != COAT_OK)
        return work->error.code;
    return shop_heat_place(work->shop, &work->write, &heating, &id, &work->error);
}

/* ---- handlers ---- */

void route_places_list(WORK_ARGUMENTS)
{
    work_read(context, request, response, NULL, show_places);
}

void route_place_get(WORK_ARGUMENTS)
{
    work_read(context, request, response, &work_place, show_place);
}

void route_place_add(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {201, NULL, add_place, show_place};
    work_write(context, request, response, &plan);
}

void route_place_change(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {200, &work_place, change_place, show_place};
    work_write(context, request, response, &plan);
}

void route_place_remove(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {200, &work_place, remove_place, show_place};
    work_write(context, request, response, &plan);
}

void route_readings_list(WORK_ARGUMENTS)
{
    work_read(context, request, response, &work_place, show_readings);
}

void route_readings_enter(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {200, &work_place, enter_air, show_entered};
    work_write(context, request, response, &plan);
}

void route_place_heat(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {200, &work_place, heat_place, show_place};
    work_write(context, request, response, &plan);
}
