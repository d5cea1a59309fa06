#include "daemon/http/doc.h"

#include "coat/phrase.h"

#include <math.h>

/* What a person told, the same for a coat and for one entry of its record. */
static void write_application(struct json_out *out, const struct coat *coat)
{
    json_put_string(out, "application", application_word(coat->application));
    json_put_moment(out, "first_at", coat->first_at);
    json_put_moment(out, "last_at", coat->last_at);
    json_put_int(out, "passes", coat->passes);
    json_put_string(out, "film", film_word(coat->film));
    json_put_number(out, "wet_um", coat->wet_um, JSON_SHORTEST);
    json_put_number(out, "dry_um", coat->dry_um, JSON_SHORTEST);
    json_put_number(out, "amount_ml", coat->amount_ml, JSON_SHORTEST);
    json_put_number(out, "thinned_pct", coat->thinned_pct, JSON_SHORTEST);
    json_put_string(out, "thinner", coat->thinner);
    json_put_string(out, "note", coat->note);
}

/* Past its keep-by at the last pass: told, not refused. */
static void write_coat_tin(struct doc *doc, const struct coat *coat)
{
    struct json_out *out = doc->out;
    const struct tin *tin = shop_tin(doc->shop, coat->tin_id);
    if (tin == NULL) {
        json_put_null(out, "tin");
        return;
    }
    json_put_object(out, "tin");
    json_put_int(out, "id", tin->id);
    json_put_string(out, "name", tin->name);
    json_put_string(out, "batch", tin->batch);
    json_put_moment(out, "keep_by_at", tin->keep_by_at);
    json_put_bool(out, "past_keep_by", tin->keep_by_at != MOMENT_NONE && coat->last_at > tin->keep_by_at);
    json_out_object_end(out);
}

static void write_what(struct doc *doc, const struct coat *coat, const struct material_version *version)
{
    json_put_int(doc->out, "piece", coat->piece_id);
    json_put_string(doc->out, "area", coat->area);
    json_put_string(doc->out, "role", role_word(coat->role));
    doc_material_named(doc, version);
    write_coat_tin(doc, coat);
    write_application(doc->out, coat);
}

static void write_coat_air(struct json_out *out, const struct coat_view *view)
{
    if (!isfinite(view->air_temp_c) || !isfinite(view->air_rh_pct)) {
        json_put_null(out, "air");
        return;
    }
    json_put_object(out, "air");
    json_put_number(out, "temp_c", view->air_temp_c, 2);
    json_put_number(out, "rh_pct", view->air_rh_pct, 2);
    json_put_string(out, "basis", air_basis_word(view->air_basis));
    json_out_object_end(out);
}

static void write_stills(struct doc *doc, const struct coat_view *view)
{
    json_put_array(doc->out, "stood_still");
    for (unsigned i = 0; i < view->stills; i++) {
        json_out_object(doc->out);
        json_put_moment(doc->out, "from_at", view->still[i].from_ms);
        json_put_moment(doc->out, "to_at", view->still[i].to_ms);
        doc_stall(doc, "why", view->still[i].why);
        json_out_object_end(doc->out);
    }
    json_out_array_end(doc->out);
}

static void write_standing(struct doc *doc, const struct coat_view *view)
{
    struct json_out *out = doc->out;
    json_put_id(out, "place", view->place_id);
    json_put_number(out, "film_factor", view->film_factor, 3);
    json_put_string(out, "status", coat_status_word(view->status));
    json_put_id(out, "covered_by", view->covered_by);
    json_put_moment(out, "ended_at", view->ended_at);
    json_put_string(out, "struck_why", view->coat->struck_why);
    json_put_string(out, "condition", coat_condition_word(view->condition));
    doc_stall(doc, "stall", view->stall);
    write_stills(doc, view);
    json_put_bool(out, "inspect", view->inspect != INSPECT_NOT);
    json_put_string(out, "inspect_why", view->inspect != INSPECT_NOT ? inspect_phrase(view->inspect) : NULL);
    doc_bake_of_coat(doc, &view->bake);
    write_coat_air(out, view);
}

void doc_coat(struct doc *doc, const struct coat_view *view)
{
    struct json_out *out = doc->out;
    json_out_object(out);
    json_put_int(out, "id", view->coat->id);
    json_put_int(out, "entry", view->coat->entry);
    write_what(doc, view->coat, view->material);
    write_standing(doc, view);
    json_put_array(out, "stages");
    for (unsigned i = 0; i < view->stages; i++)
        doc_stage(doc, &view->stage[i]);
    json_out_array_end(out);
    json_out_key(out, "tests");
    doc_tests(doc, view->coat->id);
    doc_caution_codes(doc, "cautions", &view->cautions);
    json_out_object_end(out);
}

void doc_entry(struct doc *doc, const struct coat *coat)
{
    struct json_out *out = doc->out;
    struct caution_set cautions = {0};
    const struct material_version *version = shop_material_version(doc->shop, coat->material_version_id);
    if (version == NULL) { /* the store holds the two together */
        doc->failed = COAT_STORE_FAILED;
        json_out_null(out);
        return;
    }
    json_out_object(out);
    json_put_int(out, "id", coat->id);
    json_put_int(out, "entry", coat->entry);
    json_put_moment(out, "entered_at", coat->entered_at);
    write_what(doc, coat, version);
    json_put_moment(out, "struck_at", coat->struck_at);
    json_put_string(out, "struck_why", coat->struck_why);
    shop_cautions_for(doc->shop, CAUTION_FOR_COAT, version->material_id, coat->piece_id,
                      shop_piece_place(doc->shop, coat->piece_id, coat->last_at), &cautions);
    doc_caution_codes(doc, "cautions", &cautions);
    json_out_object_end(out);
}
