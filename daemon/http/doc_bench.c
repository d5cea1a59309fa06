/* Tests at the bench, tins, mixes. */
#include "daemon/http/doc.h"

void doc_test(struct doc *doc, const struct bench_test *test)
{
    struct json_out *out = doc->out;
    json_out_object(out);
    json_put_int(out, "id", test->id);
    json_put_int(out, "coat", test->coat_id);
    json_put_string(out, "stage", stage_word(test->stage));
    json_put_bool(out, "passed", test->passed);
    json_put_moment(out, "at", test->at);
    json_put_moment(out, "entered_at", test->entered_at);
    json_out_object_end(out);
}

void doc_tests(struct doc *doc, int64_t coat_id)
{
    size_t count = 0;
    const struct bench_test *tests = shop_bench_tests(doc->shop, &count);
    json_out_array(doc->out);
    for (size_t i = 0; i < count; i++) {
        if (tests[i].coat_id == coat_id)
            doc_test(doc, &tests[i]);
    }
    json_out_array_end(doc->out);
}

void doc_tin(struct doc *doc, const struct tin *tin)
{
    struct json_out *out = doc->out;
    const struct material_version *version = doc_material_last(doc, tin->material_id);
    if (version == NULL) { /* the store holds the two together */
        doc->failed = COAT_STORE_FAILED;
        json_out_null(out);
        return;
    }
    json_out_object(out);
    json_put_int(out, "id", tin->id);
    json_put_string(out, "name", tin->name);
    doc_material_named(doc, version);
    json_put_string(out, "batch", tin->batch);
    json_put_moment(out, "opened_at", tin->opened_at);
    json_put_moment(out, "keep_by_at", tin->keep_by_at);
    json_put_bool(out, "past_keep_by", tin->keep_by_at != MOMENT_NONE && doc->now_ms > tin->keep_by_at);
    json_put_moment(out, "added_at", tin->added_at);
    json_put_moment(out, "removed_at", tin->removed_at);
    json_out_object_end(out);
}

void doc_tins(struct doc *doc, bool all)
{
    size_t count = 0;
    const struct tin *tins = shop_tins(doc->shop, &count);
    json_out_array(doc->out);
    for (size_t i = 0; i < count; i++) {
        if (all || tins[i].removed_at == MOMENT_NONE)
            doc_tin(doc, &tins[i]);
    }
    json_out_array_end(doc->out);
}

void doc_mix(struct doc *doc, const struct mix_view *view)
{
    struct json_out *out = doc->out;
    json_put_int(out, "id", view->mix->id);
    doc_material_named(doc, view->material);
    json_put_id(out, "place", view->mix->place_id);
    json_put_moment(out, "mixed_at", view->mix->mixed_at);
    json_put_moment(out, "entered_at", view->mix->entered_at);
    json_put_number(out, "induction_min", view->material->material.induction_min, JSON_SHORTEST);
    json_put_number(out, "pot_life_min", view->material->material.pot_life_min, JSON_SHORTEST);
    json_put_moment(out, "ready_at", view->ready_at);
    json_put_moment(out, "use_by_at", view->use_by_at);
    json_put_bool(out, "over", view->over);
    json_put_string(out, "basis", air_basis_word(view->basis));
    doc_caution_codes(doc, "cautions", &view->cautions);
}

void doc_mixes(struct doc *doc, bool all)
{
    size_t count = 0;
    const struct mix *mixes = shop_mixes(doc->shop, &count);
    json_out_array(doc->out);
    for (size_t i = count > DOC_MIXES_MOST ? count - DOC_MIXES_MOST : 0; i < count; i++) {
        struct mix_view view;
        if (!shop_mix_view(doc->shop, mixes[i].id, doc->now_ms, &view) || (view.over && !all))
            continue;
        json_out_object(doc->out);
        doc_mix(doc, &view);
        json_out_object_end(doc->out);
    }
    json_out_array_end(doc->out);
}
