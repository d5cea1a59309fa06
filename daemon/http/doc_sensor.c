/* Sensors, what they were adjusted by, and what they said that does not count. */
#include "daemon/http/doc.h"

#include <math.h>

#define DECIMALS 3

/* The member that holds an amount of it. */
static const char *const amount_of[] = {[AIR_TEMP] = "temp_c", [AIR_RH] = "rh_pct"};
_Static_assert(sizeof amount_of / sizeof *amount_of == AIR_QUANTITY_COUNT, "one member a quantity");

static void put_text(struct json_out *out, const char *key, const char *text)
{
    json_put_string(out, key, text[0] != '\0' ? text : NULL);
}

static void put_seconds(struct json_out *out, const char *key, int32_t seconds)
{
    json_put_number(out, key, seconds > 0 ? seconds : (double)NAN, 0);
}

/* Those quantities for which `is` says so. */
static void put_quantities(struct json_out *out, const char *key, const bool is[AIR_QUANTITY_COUNT])
{
    json_put_array(out, key);
    for (unsigned i = 0; i < AIR_QUANTITY_COUNT; i++) {
        if (is[i])
            json_out_string(out, air_quantity_word((enum air_quantity)i));
    }
    json_out_array_end(out);
}

static void put_source(struct doc *doc, const struct sensor *sensor)
{
    struct json_out *out = doc->out;
    put_text(out, "source", sensor->kind != SENSOR_COMMAND ? sensor->source : "");
    doc_words(doc, "command", sensor->kind == SENSOR_COMMAND ? sensor->source : "");
    json_put_object(out, "pointers");
    for (unsigned i = 0; i < AIR_QUANTITY_COUNT; i++)
        put_text(out, air_quantity_word((enum air_quantity)i), sensor->pointer[i]);
    json_out_object_end(out);
    json_put_object(out, "scales");
    json_put_string(out, "temperature", temp_scale_word(sensor->temp_scale));
    json_put_string(out, "humidity", rh_scale_word(sensor->rh_scale));
    json_out_object_end(out);
    put_text(out, "user", sensor->user);
    json_put_bool(out, "has_secret", sensor->secret[0] != '\0');
    put_text(out, "ca_file", sensor->ca_file);
}

static void put_last(struct json_out *out, const struct sensor_view *view)
{
    if (view->last_at == MOMENT_NONE) {
        json_put_null(out, "last");
        return;
    }
    json_put_object(out, "last");
    json_put_moment(out, "at", view->last_at);
    for (unsigned i = 0; i < AIR_QUANTITY_COUNT; i++)
        json_put_number(out, amount_of[i], view->value[i], DECIMALS);
    json_out_object_end(out);
}

static void put_doubts(struct json_out *out, const struct sensor_view *view)
{
    if (view->judgement == JUDGE_GOOD) {
        json_put_null(out, "suspect");
    } else {
        json_put_object(out, "suspect");
        json_put_moment(out, "at", view->suspect_at);
        json_put_string(out, "judgement", judgement_word(view->judgement));
        json_out_object_end(out);
    }
    if (view->disagrees_with == 0) {
        json_put_null(out, "disagrees");
        return;
    }
    json_put_object(out, "disagrees");
    json_put_int(out, "with", view->disagrees_with);
    json_put_string(out, "in", air_quantity_word(view->disagrees_in));
    json_out_object_end(out);
}

static void put_view(struct json_out *out, const struct sensor_view *view)
{
    json_put_string(out, "state", sensor_state_word(view->state));
    put_text(out, "fault", view->fault);
    json_put_moment(out, "fault_at", view->fault_at);
    put_last(out, view);
    put_quantities(out, "counts", view->counts);
    json_put_object(out, "offset");
    for (unsigned i = 0; i < AIR_QUANTITY_COUNT; i++)
        json_put_number(out, amount_of[i], view->offset[i], DECIMALS);
    json_out_object_end(out);
    put_doubts(out, view);
}

void doc_sensor(struct doc *doc, const struct sensor *sensor)
{
    struct json_out *out = doc->out;
    struct sensor_view view;
    if (!shop_sensor_view(doc->shop, sensor->id, doc->now_ms, &view)) {
        doc->failed = COAT_STORE_FAILED; /* the model has a view of each sensor */
        return;
    }
    json_put_int(out, "id", sensor->id);
    json_put_string(out, "name", sensor->name);
    json_put_int(out, "place", sensor->place_id);
    json_put_string(out, "kind", sensor_kind_word(sensor->kind));
    json_put_int(out, "position", sensor->position);
    put_seconds(out, "interval_s", sensor->interval_s);
    put_seconds(out, "usual_interval_s", view.usual_interval_s);
    json_put_int(out, "hold_s", sensor->hold_s);
    put_quantities(out, "measures", sensor->measures);
    put_source(doc, sensor);
    json_put_moment(out, "added_at", sensor->added_at);
    json_put_moment(out, "removed_at", sensor->removed_at);
    put_view(out, &view);
}

void doc_adjustment(struct doc *doc, const struct adjustment *adjustment)
{
    struct json_out *out = doc->out;
    json_out_object(out);
    json_put_int(out, "id", adjustment->id);
    json_put_int(out, "sensor", adjustment->sensor_id);
    json_put_string(out, "quantity", air_quantity_word(adjustment->quantity));
    json_put_number(out, "reads", adjustment->reads, DECIMALS);
    json_put_number(out, "should", adjustment->should, JSON_SHORTEST);
    json_put_number(out, "offset", adjustment->offset, DECIMALS);
    json_put_moment(out, "from_at", adjustment->from_at);
    json_put_moment(out, "entered_at", adjustment->entered_at);
    json_out_object_end(out);
}

void doc_suspect(struct doc *doc, const struct suspect *suspect)
{
    struct json_out *out = doc->out;
    json_out_object(out);
    json_put_moment(out, "at", suspect->at);
    json_put_moment(out, "received_at", suspect->received_at);
    doc_thousandths(doc, "temp_c", suspect->temp_mc);
    doc_thousandths(doc, "rh_pct", suspect->rh_mp);
    json_put_string(out, "judgement", judgement_word(suspect->judgement));
    json_out_object_end(out);
}
