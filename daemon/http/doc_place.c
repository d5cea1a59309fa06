#include "daemon/http/doc.h"

#include <math.h>
#include <stdlib.h>

#define RECENT_MS (48 * MS_PER_H)
#define RECENT_MOST 200

void doc_air(struct doc *doc, const struct air_view *air)
{
    struct json_out *out = doc->out;
    if (!air->known) {
        json_put_null(out, "air");
        return;
    }
    json_put_object(out, "air");
    json_put_moment(out, "at", air->at);
    json_put_number(out, "temp_c", air->temp_c, 2);
    json_put_number(out, "rh_pct", air->rh_pct, 2);
    json_put_number(out, "dew_point_c", air->dew_point_c, 2);
    json_put_string(out, "basis", air_basis_word(air->basis));
    json_put_string(out, "rh_basis", air_basis_word(air->rh_basis));
    json_put_moment(out, "assumed_from_at", air->assumed_from_at);
    json_out_object_end(out);
}

void doc_thousandths(struct doc *doc, const char *key, int32_t value)
{
    json_put_number(doc->out, key, value != READING_NONE ? value / 1000.0 : (double)NAN, 3);
}

void doc_readings(struct doc *doc, int64_t place_id, int64_t from_ms, int64_t to_ms, size_t most)
{
    struct json_out *out = doc->out;
    struct reading *readings = NULL;
    size_t count = 0;
    enum coat_result result = shop_readings(doc->shop, place_id, from_ms, to_ms, most, &readings, &count);
    if (result != COAT_OK)
        doc->failed = result;
    json_out_array(out);
    for (size_t i = 0; i < count; i++) {
        json_out_object(out);
        json_put_moment(out, "at", readings[i].at_ms);
        doc_thousandths(doc, "temp_c", readings[i].temp_mc);
        doc_thousandths(doc, "rh_pct", readings[i].rh_mp);
        json_out_object_end(out);
    }
    json_out_array_end(out);
    free(readings);
}

static void write_risks(struct json_out *out, const struct place *place)
{
    json_put_object(out, "risks");
    for (unsigned i = 0; i < PLACE_RISK_COUNT; i++)
        json_put_string(out, place_risk_word((enum place_risk)i), answer_word(place->risk[i]));
    json_out_object_end(out);
}

static void write_gaps(struct doc *doc, int64_t place_id)
{
    struct air_gap gap[AIR_GAPS_MAX];
    unsigned count = 0;
    enum coat_result result = shop_air_gaps(doc->shop, place_id, doc->now_ms - RECENT_MS, doc->now_ms, gap, &count);
    if (result != COAT_OK)
        doc->failed = result;
    json_put_array(doc->out, "assumed");
    for (unsigned i = 0; i < count; i++) {
        json_out_object(doc->out);
        json_put_moment(doc->out, "from_at", gap[i].from_ms);
        json_put_moment(doc->out, "to_at", gap[i].to_ms);
        json_out_object_end(doc->out);
    }
    json_out_array_end(doc->out);
}

static void write_ahead(struct doc *doc, int64_t place_id)
{
    struct air_ahead ahead[AIR_AHEAD_MAX];
    unsigned count = shop_air_ahead(doc->shop, place_id, doc->now_ms, ahead);
    json_put_array(doc->out, "outlook");
    for (unsigned i = 0; i < count; i++) {
        json_out_object(doc->out);
        json_put_moment(doc->out, "at", ahead[i].at_ms);
        json_put_number(doc->out, "temp_c", ahead[i].temp_c, 1);
        json_put_number(doc->out, "temp_low_c", ahead[i].low_c, 1);
        json_put_number(doc->out, "temp_high_c", ahead[i].high_c, 1);
        json_put_number(doc->out, "rh_pct", ahead[i].rh_pct, 0);
        json_out_object_end(doc->out);
    }
    json_out_array_end(doc->out);
}

void doc_place(struct doc *doc, const struct place *place)
{
    struct json_out *out = doc->out;
    struct air_view air = shop_air(doc->shop, place->id, doc->now_ms);
    json_out_object(out);
    json_put_int(out, "id", place->id);
    json_put_string(out, "name", place->name);
    json_put_string(out, "kind", place_kind_word(place->kind));
    json_put_number(out, "volume_m3", place->volume_m3, JSON_SHORTEST);
    json_put_number(out, "airflow_m3h", place->airflow_m3h, JSON_SHORTEST);
    json_put_bool(out, "airflow_measured", place->airflow_measured);
    json_put_string(out, "low_exhaust", answer_word(place->low_exhaust));
    write_risks(out, place);
    json_put_moment(out, "added_at", place->added_at);
    json_put_moment(out, "removed_at", place->removed_at);
    json_put_moment(out, "heated_until_at", shop_heated_until(doc->shop, place->id, doc->now_ms));
    doc_air(doc, &air);
    json_out_key(out, "recent");
    doc_readings(doc, place->id, doc->now_ms - RECENT_MS, doc->now_ms + 1, RECENT_MOST);
    write_gaps(doc, place->id);
    write_ahead(doc, place->id);
    json_out_object_end(out);
}
