/* Coats: logged, corrected, struck, sanded; and their record. */
#include "daemon/http/routes.h"
#include "daemon/http/work.h"

#include <inttypes.h>
#include <math.h>

#define LISTED_AT_FIRST 500
#define LISTED_MOST 2000
#define PASSES_MOST 50
#define FILM_LEAST_UM 0.1
#define FILM_MOST_UM 5000.0
#define AMOUNT_LEAST_ML 0.01
#define AMOUNT_MOST_ML 1e5
#define AIR_COLDEST_C (-40.0)
#define AIR_HOTTEST_C 300.0 /* in an oven; the shop knows which place it is */

/* ---- what is shown ---- */

static void write_coat(struct work *work, int64_t coat_id)
{
    struct coat_view view;
    if (shop_coat_view(work->shop, coat_id, work->now_ms, &view))
        doc_coat(&work->doc, &view);
    else
        json_out_null(work->doc.out);
}

static enum coat_result show_coats(struct work *work)
{
    size_t count = 0;
    int64_t piece_id = 0;
    int64_t after = 0;
    int64_t most = LISTED_AT_FIRST;
    const struct coat *coats = shop_coats(work->shop, &count);
    if (http_query_int(work->request, "piece", 1, INT64_MAX, &piece_id, &work->error) != COAT_OK ||
        http_query_int(work->request, "after", 0, INT64_MAX, &after, &work->error) != COAT_OK ||
        http_query_int(work->request, "most", 1, LISTED_MOST, &most, &work->error) != COAT_OK)
        return work->error.code;
    if (piece_id != 0 && shop_piece(work->shop, piece_id) == NULL)
        return coat_fail(&work->error, COAT_NOT_FOUND, "piece", "there is no piece %" PRId64, piece_id);
    json_out_object(work->doc.out);
    json_put_array(work->doc.out, "items");
    for (size_t i = 0; i < count && most > 0; i++) {
        if (coats[i].id <= after || (piece_id != 0 && coats[i].piece_id != piece_id))
            continue;
        write_coat(work, coats[i].id);
        most--;
    }
    json_out_array_end(work->doc.out);
    work_end_document(work);
    return COAT_OK;
}

static enum coat_result show_coat(struct work *work)
{
    json_out_object(work->doc.out);
    json_out_key(work->doc.out, "coat");
    write_coat(work, work->id);
    work_end_document(work);
    return COAT_OK;
}

static enum coat_result show_why(struct work *work)
{
    struct coat_view view;
    if (!shop_coat_view(work->shop, work->id, work->now_ms, &view))
        return coat_fail(&work->error, COAT_NOT_FOUND, "", "there is no coat %" PRId64, work->id);
    json_out_object(work->doc.out);
    doc_why(&work->doc, &view);
    work_end_document(work);
    return COAT_OK;
}

static enum coat_result show_logged(struct work *work)
{
    snprintf(work->response->location, sizeof work->response->location, "/api/v1/coats/%" PRId64, work->made[0]);
    json_out_object(work->doc.out);
    json_put_array(work->doc.out, "items");
    for (unsigned i = 0; i < work->made_count; i++)
        write_coat(work, work->made[i]);
    json_out_array_end(work->doc.out);
    doc_vapour_of_coats(&work->doc, work->made, work->made_count);
    work_end_document(work);
    return COAT_OK;
}

static bool write_entry(const struct coat *entry, void *context)
{
    doc_entry(context, entry);
    return true;
}

static enum coat_result show_entries(struct work *work)
{
    json_out_object(work->doc.out);
    json_put_array(work->doc.out, "items");
    enum coat_result result = shop_coat_entries(work->shop, work->id, write_entry, &work->doc);
    json_out_array_end(work->doc.out);
    work_end_document(work);
    return result;
}

static enum coat_result show_sanded(struct work *work)
{
    size_t count = 0;
    struct json_out *out = work->doc.out;
    const struct sanding *sandings = shop_sandings(work->shop, &count);
    json_out_object(out);
    for (size_t i = 0; i < count; i++) {
        if (sandings[i].id != work->made[0])
            continue;
        json_put_object(out, "sanding");
        json_put_int(out, "id", sandings[i].id);
        json_put_int(out, "coat", sandings[i].coat_id);
        json_put_moment(out, "at", sandings[i].at);
        json_put_moment(out, "entered_at", sandings[i].entered_at);
        json_out_object_end(out);
    }
    json_out_key(out, "coat");
    write_coat(work, work->id);
    work_end_document(work);
    return COAT_OK;
}

static enum coat_result show_tests(struct work *work)
{
    json_out_object(work->doc.out);
    json_out_key(work->doc.out, "items");
    doc_tests(&work->doc, work->id);
    json_out_object_end(work->doc.out);
    return COAT_OK;
}

static enum coat_result show_tested(struct work *work)
{
    size_t count = 0;
    const struct bench_test *tests = shop_bench_tests(work->shop, &count);
    json_out_object(work->doc.out);
    for (size_t i = 0; i < count; i++) {
        if (tests[i].id != work->made[0])
            continue;
        json_out_key(work->doc.out, "test");
        doc_test(&work->doc, &tests[i]);
    }
    json_out_key(work->doc.out, "coat");
    write_coat(work, work->id);
    work_end_document(work);
    return COAT_OK;
}

/* ---- what is read ---- */

static void check_order(struct work *work, const struct coat *coat)
{
    if (coat->first_at > coat->last_at)
        json_in_fail(&work->in, json_in_has(&work->in, "last_at") ? "last_at" : "first_at",
                     "the last pass lies before the first: swap the two");
}

/* Moments default to now; where only the last is told the first is the same. */
static void read_new_moments(struct work *work, struct coat *coat)
{
    int64_t first_at = MOMENT_NONE;
    coat->last_at = work->now_ms;
    work_past(work, "first_at", &first_at);
    work_past(work, "last_at", &coat->last_at);
    coat->first_at = first_at == MOMENT_NONE ? coat->last_at : first_at;
    if (coat->first_at > coat->last_at && !json_in_has(&work->in, "last_at")) /* within the grace of a minute */
        coat->last_at = coat->first_at;
    check_order(work, coat);
}

/* A coat of one moment stays one where only one end is told and would pass the other. */
static void read_changed_moments(struct work *work, struct coat *coat)
{
    bool one_moment = coat->first_at == coat->last_at;
    bool first = json_in_has(&work->in, "first_at");
    bool last = json_in_has(&work->in, "last_at");
    work_past(work, "first_at", &coat->first_at);
    work_past(work, "last_at", &coat->last_at);
    if (one_moment && first != last && coat->first_at > coat->last_at)
        *(first ? &coat->last_at : &coat->first_at) = first ? coat->first_at : coat->last_at;
    check_order(work, coat);
}

static void read_application(struct work *work, struct coat *coat)
{
    struct json_in *in = &work->in;
    json_in_role(in, "role", JSON_OPTIONAL, &coat->role);
    json_in_application(in, "application", JSON_OPTIONAL, &coat->application);
    json_in_int32(in, "passes", JSON_OPTIONAL, 1, PASSES_MOST, &coat->passes);
    json_in_string(in, "area", JSON_OPTIONAL, coat->area, sizeof coat->area);
    json_in_film(in, "film", JSON_OPTIONAL, &coat->film);
    json_in_number(in, "wet_um", JSON_NULLABLE, FILM_LEAST_UM, FILM_MOST_UM, &coat->wet_um);
    json_in_number(in, "dry_um", JSON_NULLABLE, FILM_LEAST_UM, FILM_MOST_UM, &coat->dry_um);
    json_in_number(in, "amount_ml", JSON_NULLABLE, AMOUNT_LEAST_ML, AMOUNT_MOST_ML, &coat->amount_ml);
    json_in_number(in, "thinned_pct", JSON_NULLABLE, 0.0, 100.0, &coat->thinned_pct);
    json_in_string(in, "thinner", JSON_OPTIONAL, coat->thinner, sizeof coat->thinner);
    json_in_string(in, "note", JSON_OPTIONAL, coat->note, sizeof coat->note);
    if (json_in_id(in, "tin", JSON_NULLABLE, &coat->tin_id) && coat->tin_id != 0)
        work_known(work, in, "tin", &work_tin, coat->tin_id);
}

static unsigned read_pieces(struct work *work, int64_t ids[SHOP_ANSWER_IDS_MAX])
{
    struct json_in_list list;
    int64_t id = 0;
    unsigned count = 0;
    if (!json_in_list(&work->in, "pieces", JSON_REQUIRED, 1, SHOP_ANSWER_IDS_MAX, &list))
        return 0;
    while (count < SHOP_ANSWER_IDS_MAX && json_in_next_id(&list, &id)) {
        work_known(work, &work->in, "pieces", &work_piece, id);
        for (unsigned i = 0; i < count; i++) {
            if (ids[i] == id)
                json_in_fail(&work->in, "pieces", "piece %" PRId64 " is in the list twice: name each once", id);
        }
        ids[count++] = id;
    }
    return count;
}

static bool read_air(struct work *work, struct coat_air *ret)
{
    struct json_in in;
    if (!json_in_object(&work->in, "air", JSON_NULLABLE, &in))
        return false;
    json_in_number(&in, "temp_c", JSON_REQUIRED, AIR_COLDEST_C, AIR_HOTTEST_C, &ret->temp_c);
    json_in_number(&in, "rh_pct", JSON_REQUIRED, 0.0, 100.0, &ret->rh_pct);
    return json_in_close(&in) == COAT_OK;
}

/* ---- writes ---- */

static const struct coat blank_coat = {
    .passes = 1,
    .film = FILM_NORMAL,
    .wet_um = (double)NAN,
    .dry_um = (double)NAN,
    .amount_ml = (double)NAN,
    .thinned_pct = (double)NAN,
    .struck_at = MOMENT_NONE,
};

static enum coat_result log_coats(struct work *work)
{
    struct json_in *in = &work->in;
    struct coat coat = blank_coat;
    struct coat_air air = {(double)NAN, (double)NAN};
    const struct material_version *material = NULL;
    int64_t pieces[SHOP_ANSWER_IDS_MAX];
    int64_t place_id = 0;
    unsigned count = read_pieces(work, pieces);
    work_material_newest(work, JSON_REQUIRED, &material);
    if (material != NULL) {
        coat.material_version_id = material->id;
        coat.role = material->material.usual_role;
        coat.application = material->material.application;
    }
    read_application(work, &coat);
    read_new_moments(work, &coat);
    if (json_in_id(in, "place", JSON_OPTIONAL, &place_id))
        work_known(work, in, "place", &work_place, place_id);
    bool has_air = read_air(work, &air);
    if (json_in_close(in) != COAT_OK)
        return work->error.code;
    work->made_count = count;
    return shop_log_coats(work->shop, &work->write, &coat, pieces, count, place_id, has_air ? &air : NULL, work->made,
                          &work->error);
}

/* Role and way of putting on that were those usual for the old material are those usual for the new one: nobody had said otherwise. */
static void take_material(struct work *work, struct coat *coat, const struct material_version *material)
{
    const struct material_version *before = shop_material_version(work->shop, coat->material_version_id);
    coat->material_version_id = material->id;
    if (before == NULL)
        return;
    if (coat->role == before->material.usual_role)
        coat->role = material->material.usual_role;
    if (coat->application == before->material.application)
        coat->application = material->material.application;
}

static enum coat_result amend_coat(struct work *work)
{
    struct coat coat = *shop_coat(work->shop, work->id);
    const struct material_version *material = NULL;
    if (json_in_id(&work->in, "piece", JSON_OPTIONAL, &coat.piece_id))
        work_known(work, &work->in, "piece", &work_piece, coat.piece_id);
    work_material_newest(work, JSON_OPTIONAL, &material);
    if (material != NULL)
        take_material(work, &coat, material);
    read_application(work, &coat);
    read_changed_moments(work, &coat);
    if (json_in_close(&work->in) != COAT_OK)
        return work->error.code;
    return shop_amend_coat(work->shop, &work->write, &coat, &work->error);
}

static enum coat_result strike_coat(struct work *work)
{
    char why[NOTE_SIZE] = "";
    if (json_in_string(&work->in, "why", JSON_REQUIRED, why, sizeof why) && why[0] == '\0')
        json_in_fail(&work->in, "why", "say why it is void: the reason stays in the record");
    if (json_in_close(&work->in) != COAT_OK)
        return work->error.code;
    return shop_strike_coat(work->shop, &work->write, work->id, why, &work->error);
}

static enum coat_result sand_coat(struct work *work)
{
    int64_t id = 0;
    int64_t at_ms = work->now_ms;
    work_past(work, "at", &at_ms);
    if (json_in_close(&work->in) != COAT_OK)
        return work->error.code;
    enum coat_result result = shop_sand_coat(work->shop, &work->write, work->id, at_ms, &id, &work->error);
    work_made(work, id);
    return result;
}

static enum coat_result test_coat(struct work *work)
{
    struct bench_test test = {.coat_id = work->id, .at = work->now_ms};
    int64_t id = 0;
    json_in_stage(&work->in, "stage", JSON_REQUIRED, &test.stage);
    json_in_bool(&work->in, "passed", JSON_REQUIRED, &test.passed);
    work_past(work, "at", &test.at);
    if (json_in_close(&work->in) != COAT_OK)
        return work->error.code;
    enum coat_result result = shop_test_coat(work->shop, &work->write, &test, &id, &work->error);
    work_made(work, id);
    return result;
}

/* ---- handlers ---- */

void route_coats_list(WORK_ARGUMENTS)
{
    work_read(context, request, response, NULL, show_coats);
}

void route_coat_get(WORK_ARGUMENTS)
{
    work_read(context, request, response, &work_coat, show_coat);
}

void route_coat_entries(WORK_ARGUMENTS)
{
    work_read(context, request, response, &work_coat, show_entries);
}

void route_coat_why(WORK_ARGUMENTS)
{
    work_read(context, request, response, &work_coat, show_why);
}

void route_coats_log(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {201, NULL, log_coats, show_logged};
    work_write(context, request, response, &plan);
}

void route_coat_amend(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {200, &work_coat, amend_coat, show_coat};
    work_write(context, request, response, &plan);
}

void route_coat_strike(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {200, &work_coat, strike_coat, show_coat};
    work_write(context, request, response, &plan);
}

void route_coat_sand(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {201, &work_coat, sand_coat, show_sanded};
    work_write(context, request, response, &plan);
}

void route_tests_list(WORK_ARGUMENTS)
{
    work_read(context, request, response, &work_coat, show_tests);
}

void route_coat_test(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {201, &work_coat, test_coat, show_tested};
    work_write(context, request, response, &plan);
}
