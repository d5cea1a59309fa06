#include "daemon/http/doc.h"

#include <math.h>

/* Percentages and air are rounded to the cautious side: up. */
static void put_up(struct json_out *out, const char *key, double value, double step)
{
    json_put_number(out, key, ceil(value / step - 1e-9) * step, 3);
}

static void put_verdict(struct json_out *out, const char *key, const struct vapour_verdict *verdict)
{
    json_put_object(out, key);
    json_put_string(out, "is", vapour_finding_word(verdict->is));
    json_put_moment(out, "until_at", verdict->until);
    json_out_object_end(out);
}

static void put_room(struct json_out *out, const struct vapour_view *view)
{
    json_put_id(out, "place", view->place->id);
    json_put_number(out, "volume_m3", view->room.volume_m3, JSON_SHORTEST);
    json_put_number(out, "airflow_m3h", view->room.airflow_m3h, JSON_SHORTEST);
    json_put_number(out, "mixing", view->room.mixing, JSON_SHORTEST);
    json_put_number(out, "effective_airflow_m3h", view->effective_m3h, 3);
    json_put_number(out, "temp_c", view->temp_c, 1);
    json_put_bool(out, "temp_read", view->temp_known);
    json_put_bool(out, "oven", view->as_oven);
}

void doc_vapour(struct doc *doc, const struct vapour_view *view)
{
    struct json_out *out = doc->out;
    put_room(out, view);
    json_put_int(out, "counted", view->counted);
    json_put_int(out, "without_amount", view->uncounted);
    put_up(out, "vapour_m3", view->load.vapour_m3, 0.001);
    put_up(out, "lel_pct_still_air", view->still_air_lel_pct, 0.1);
    put_up(out, "dilution_air_m3", view->quarter_air_m3, 0.1);
    put_up(out, "limit_air_m3", view->limit_air_m3, 1.0);
    put_up(out, "lel_pct", view->outlook.lel_pct, 0.1);
    put_up(out, "limit_pct", view->outlook.limit_pct, 1.0);
    put_up(out, "peak_lel_pct", view->outlook.peak_lel_pct, 0.1);
    json_put_moment(out, "peak_at", view->outlook.peak_at);
    put_verdict(out, "quarter_of_lel", &view->outlook.quarter);
    put_verdict(out, "tenth_of_lel", &view->outlook.tenth);
    put_verdict(out, "exposure_limit", &view->outlook.limit);
    json_put_string(out, "ignition", view->counted > 0 ? vapour_ignition_word(view->ignition) : NULL);
    json_put_string(out, "ignition_text", view->counted > 0 ? vapour_ignition_text(view->ignition) : NULL);
    json_put_string(out, "basis", vapour_pace_source);
    json_put_string(out, "no_design", vapour_deferral);
    doc_caution_codes(doc, "cautions", &view->cautions);
}
