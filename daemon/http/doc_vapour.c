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
    json_put_bool(out, "airflow_measured", view->room.airflow_measured);
    json_put_number(out, "mixing", view->room.mixing, JSON_SHORTEST);
    json_put_number(out, "effective_airflow_m3h", view->effective_m3h, 3);
    json_put_number(out, "temp_c", view->temp_c, 1);
    json_put_bool(out, "temp_read", view->temp_known);
    json_put_bool(out, "oven", view->as_oven);
}

static void put_counts(struct json_out *out, const struct vapour_view *view)
{
    json_put_int(out, "counted", view->counted);
    json_put_int(out, "without_amount", view->uncounted);
    json_put_int(out, "composition_not_told", view->composition_untold);
    json_put_int(out, "moved_in", view->moved_in);
    json_put_int(out, "released", view->released);
}

static void put_wants(struct json_out *out, const struct vapour_view *view)
{
    json_put_array(out, "wants");
    for (unsigned i = 0; i < VAPOUR_WANT_COUNT; i++) {
        if (!view->wants[i])
            continue;
        json_out_object(out);
        json_put_string(out, "what", vapour_want_word((enum vapour_want)i));
        json_put_string(out, "text", shop_vapour_want_text((enum vapour_want)i));
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

static void put_burning(struct json_out *out, const struct vapour_view *view)
{
    bool any = view->counted + view->released > 0;
    json_put_string(out, "ignition", any ? vapour_ignition_word(view->ignition) : NULL);
    json_put_string(out, "ignition_text", any ? vapour_ignition_text(view->ignition) : NULL);
    json_put_string(out, "category", any ? solvent_category_word(view->category) : NULL);
}

void doc_vapour(struct doc *doc, const struct vapour_view *view)
{
    struct json_out *out = doc->out;
    put_room(out, view);
    put_counts(out, view);
    put_wants(out, view);
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
    put_burning(out, view);
    json_put_string(out, "basis", vapour_pace_source);
    json_put_string(out, "moved", view->moved_in > 0 ? shop_vapour_moved_text : NULL);
    json_put_string(out, "no_design", vapour_deferral);
    doc_caution_codes(doc, "cautions", &view->cautions);
}

static void put_in_place(struct doc *doc, int64_t place_id)
{
    struct vapour_view view;
    if (!shop_vapour_view(doc->shop, place_id, doc->now_ms, &view))
        return;
    json_out_object(doc->out);
    doc_vapour(doc, &view);
    json_out_object_end(doc->out);
}

void doc_vapour_of_coats(struct doc *doc, const int64_t *coat_ids, unsigned count)
{
    int64_t told[RACK_PIECES_MAX];
    unsigned places = 0;
    json_put_array(doc->out, "vapour");
    for (unsigned i = 0; i < count && i < RACK_PIECES_MAX; i++) {
        const struct coat *coat = shop_coat(doc->shop, coat_ids[i]);
        int64_t place_id = coat != NULL && !isnan(coat->amount_ml) ? shop_piece_place(doc->shop, coat->piece_id, doc->now_ms) : 0;
        bool before = place_id == 0;
        for (unsigned p = 0; p < places; p++)
            before = before || told[p] == place_id;
        if (before)
            continue;
        told[places++] = place_id;
        put_in_place(doc, place_id);
    }
    json_out_array_end(doc->out);
}

void doc_vapour_of_move(struct doc *doc, int64_t piece_id)
{
    json_put_array(doc->out, "vapour");
    if (shop_vapour_in_oven(doc->shop, piece_id, doc->now_ms))
        put_in_place(doc, shop_piece_place(doc->shop, piece_id, doc->now_ms));
    json_out_array_end(doc->out);
}

/* ---- the table of solvents ---- */

static void put_figure(struct json_out *out, const char *key, const struct solvent_figure *figure)
{
    json_put_object(out, key);
    json_put_number(out, "value", figure->value, JSON_SHORTEST);
    json_put_string(out, "basis", basis_word(figure->basis));
    json_put_string(out, "source", figure->source);
    json_out_object_end(out);
}

static void put_figures(struct json_out *out, const struct solvent *solvent)
{
    const struct {
        const char *key;
        const struct solvent_figure *figure;
    } figures[] = {
        {"molar_g_mol", &solvent->molar_g_mol}, {"density_kg_m3", &solvent->density_kg_m3}, {"flash_c", &solvent->flash_c},
        {"explosive_from_c", &solvent->explosive_from_c}, {"lel_pct", &solvent->lel_pct}, {"uel_pct", &solvent->uel_pct},
        {"autoignition_c", &solvent->autoignition_c}, {"boiling_c", &solvent->boiling_c}, {"vapour_kpa", &solvent->vapour_kpa},
        {"pel_ppm", &solvent->pel_ppm}, {"rel_ppm", &solvent->rel_ppm}, {"stel_ppm", &solvent->stel_ppm}, {"idlh_ppm", &solvent->idlh_ppm},
    };
    json_put_object(out, "figures");
    for (size_t i = 0; i < sizeof figures / sizeof *figures; i++)
        put_figure(out, figures[i].key, figures[i].figure);
    json_out_object_end(out);
}

void doc_solvent(struct doc *doc, const struct solvent *solvent)
{
    struct json_out *out = doc->out;
    json_out_object(out);
    json_put_string(out, "name", solvent->name);
    json_put_string(out, "cas", solvent->cas);
    json_put_array(out, "also");
    for (size_t i = 0; i < SOLVENT_NAMES_MAX && solvent->alias[i] != NULL; i++)
        json_out_string(out, solvent->alias[i]);
    json_out_array_end(out);
    json_put_bool(out, "gas", solvent_is_gas(solvent));
    json_put_string(out, "category", solvent_category_word(solvent_category(solvent)));
    json_put_number(out, "limit_ppm", solvent_limit_ppm(solvent), JSON_SHORTEST);
    put_figures(out, solvent);
    json_out_object_end(out);
}
