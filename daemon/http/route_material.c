/* Materials: the built-in ones, and what a shop reads off its own tins. */
#include "daemon/http/routes.h"
#include "daemon/http/work.h"

#include <inttypes.h>
#include <math.h>
#include <string.h>

#define HOURS_LEAST 0.001
#define HOURS_MOST 43830.0 /* five years */
#define ROW_COLDEST_C (-40.0)
#define ROW_HOTTEST_C 300.0

/* ---- what is shown ---- */

static void write_items_begin(struct work *work)
{
    json_out_object(work->doc.out);
    json_put_array(work->doc.out, "items");
}

static void write_items_end(struct work *work)
{
    json_out_array_end(work->doc.out);
    json_out_object_end(work->doc.out);
}

/* The newest version of each; versions stand by material, then version. */
static enum coat_result show_materials(struct work *work)
{
    size_t count = 0;
    int64_t all = 0;
    const struct material_version *versions = shop_materials(work->shop, &count);
    if (http_query_int(work->request, "all", 0, 1, &all, &work->error) != COAT_OK)
        return work->error.code;
    write_items_begin(work);
    for (size_t i = 0; i < count; i++) {
        bool newest = i + 1 == count || versions[i + 1].material_id != versions[i].material_id;
        if (newest && (all != 0 || !shop_material_removed(work->shop, versions[i].material_id)))
            doc_material(&work->doc, &versions[i]);
    }
    write_items_end(work);
    return COAT_OK;
}

static enum coat_result show_versions(struct work *work)
{
    size_t count = 0;
    const struct material_version *versions = shop_materials(work->shop, &count);
    write_items_begin(work);
    for (size_t i = 0; i < count; i++) {
        if (versions[i].material_id == work->id)
            doc_material(&work->doc, &versions[i]);
    }
    write_items_end(work);
    return COAT_OK;
}

static enum coat_result show_material(struct work *work)
{
    int64_t id = work_subject(work);
    if (work->response->status == 201)
        snprintf(work->response->location, sizeof work->response->location, "/api/v1/materials/%" PRId64, id);
    doc_material(&work->doc, doc_material_last(&work->doc, id));
    return COAT_OK;
}

/* ---- what is read ---- */

static void read_row(struct json_in *in, double *ret_temp_c, double *ret_hours)
{
    json_in_number(in, "temp_c", JSON_REQUIRED, ROW_COLDEST_C, ROW_HOTTEST_C, ret_temp_c);
    json_in_number(in, "hours", JSON_REQUIRED, HOURS_LEAST, HOURS_MOST, ret_hours);
    work_close(in);
}

static unsigned read_rows(struct json_in *in, const char *member, enum json_need need, unsigned low, unsigned high,
                          struct cure_row *rows)
{
    struct json_in_list list;
    struct json_in item;
    unsigned count = 0;
    if (!json_in_list(in, member, need, low, high, &list))
        return 0;
    while (count < high && json_in_next_object(&list, &item)) {
        struct cure_row *row = &rows[count++];
        read_row(&item, &row->temp_c, &row->hours);
    }
    return count;
}

static void read_boundary(struct json_in *in, struct stage_boundary *boundary)
{
    *boundary = (struct stage_boundary){.label_h = (double)NAN, .basis = BASIS_LABEL};
    json_in_span_do(in, "then", JSON_REQUIRED, &boundary->then);
    boundary->rows = read_rows(in, "rows", JSON_REQUIRED, 1, LAW_ROWS_MAX, boundary->row);
    json_in_number(in, "label_h", JSON_NULLABLE, HOURS_LEAST, HOURS_MOST, &boundary->label_h);
    work_close(in);
}

static void read_stage(struct json_in *in, struct material *material)
{
    struct json_in_list list;
    struct json_in item;
    enum stage stage = STAGE_COUNT;
    if (!json_in_stage(in, "stage", JSON_REQUIRED, &stage))
        return;
    struct stage_table *table = &material->stage[stage];
    if (table->boundaries > 0)
        json_in_fail(in, "stage", "%s is in the list twice: give each stage once, with all its boundaries", stage_word(stage));
    table->first = SPAN_WAIT;
    json_in_span_do(in, "first", JSON_OPTIONAL, &table->first);
    if (!json_in_list(in, "boundaries", JSON_REQUIRED, 1, MATERIAL_BOUNDARIES_MAX, &list))
        return;
    while (table->boundaries < MATERIAL_BOUNDARIES_MAX && json_in_next_object(&list, &item))
        read_boundary(&item, &table->boundary[table->boundaries++]);
    work_close(in);
}

static void read_stages(struct json_in *in, struct material *material)
{
    struct json_in_list list;
    struct json_in item;
    if (!json_in_list(in, "stages", JSON_OPTIONAL, 0, STAGE_COUNT, &list))
        return;
    while (json_in_next_object(&list, &item))
        read_stage(&item, material);
}

static void read_limits(struct json_in *in, struct material *material)
{
    struct json_in limits;
    if (!json_in_object(in, "limits", JSON_OPTIONAL, &limits))
        return;
    json_in_number(&limits, "min_temp_c", JSON_NULLABLE, -40.0, 60.0, &material->min_temp_c);
    json_in_number(&limits, "max_temp_c", JSON_NULLABLE, -40.0, 60.0, &material->max_temp_c);
    json_in_number(&limits, "max_rh_pct", JSON_NULLABLE, 5.0, 100.0, &material->max_rh_pct);
    if (material->min_temp_c > material->max_temp_c)
        json_in_fail(&limits, "min_temp_c", "it is above max_temp_c: swap the two");
    work_close(&limits);
}

static void read_film(struct json_in *in, struct material *material)
{
    struct json_in film;
    if (!json_in_object(in, "film", JSON_OPTIONAL, &film))
        return;
    json_in_number(&film, "dry_um", JSON_NULLABLE, 1.0, 5000.0, &material->film_um);
    json_in_number(&film, "exponent", JSON_OPTIONAL, 0.0, 3.0, &material->film_exponent);
    json_in_number(&film, "solids_pct", JSON_NULLABLE, 1.0, 100.0, &material->solids_pct);
    work_close(&film);
}

static void read_bake_limits(struct json_in *in, struct material *material)
{
    struct json_in limits, too_long;
    if (!json_in_object(in, "bake_limits", JSON_NULLABLE, &limits))
        return;
    json_in_number(&limits, "too_hot_c", JSON_NULLABLE, 0.0, ROW_HOTTEST_C, &material->bake_too_hot_c);
    if (json_in_object(&limits, "too_long", JSON_NULLABLE, &too_long))
        read_row(&too_long, &material->bake_too_long_c, &material->bake_too_long_h);
    work_close(&limits);
}

static void read_composition(struct json_in *in, struct material *material)
{
    struct json_in composition;
    if (!json_in_object(in, "composition", JSON_NULLABLE, &composition))
        return;
    json_in_string(&composition, "solvent", JSON_NULLABLE, material->solvent, sizeof material->solvent);
    json_in_number(&composition, "solvent_pct", JSON_NULLABLE, 0.0, 100.0, &material->solvent_pct);
    work_close(&composition);
}

static void read_hazards(struct json_in *in, struct material *material)
{
    struct json_in hazards;
    if (!json_in_object(in, "hazards", JSON_OPTIONAL, &hazards))
        return;
    for (unsigned i = 0; i < HAZARD_COUNT; i++)
        json_in_answer(&hazards, hazard_word((enum hazard)i), JSON_OPTIONAL, &material->hazard[i]);
    work_close(&hazards);
}

static enum coat_result read_material(struct json_in *in, struct material *material)
{
    enum material_class material_class = CLASS_ALKYD_ENAMEL;
    json_in_material_class(in, "class", JSON_REQUIRED, &material_class);
    material_init(material, material_class);
    work_name(in, "name", JSON_REQUIRED, material->name, sizeof material->name);
    json_in_application(in, "application", JSON_OPTIONAL, &material->application);
    json_in_role(in, "role", JSON_OPTIONAL, &material->usual_role);
    json_in_humidity_rule(in, "rule", JSON_OPTIONAL, &material->rule);
    json_in_number(in, "ref_rh_pct", JSON_OPTIONAL, 5.0, 95.0, &material->ref_rh_pct);
    if (json_in_number(in, "doubling_c", JSON_OPTIONAL, 2.0, 60.0, &material->doubling_c))
        material->doubling_basis = BASIS_LABEL;
    read_limits(in, material);
    read_film(in, material);
    json_in_stage(in, "guard", JSON_OPTIONAL, &material->guard);
    read_stages(in, material);
    material->bake_rows = read_rows(in, "bake", JSON_OPTIONAL, 0, MATERIAL_BAKE_ROWS_MAX, material->bake_row);
    read_bake_limits(in, material);
    json_in_string(in, "thinner", JSON_NULLABLE, material->thinner, sizeof material->thinner);
    json_in_bool(in, "closes_by_hottest", JSON_OPTIONAL, &material->closes_by_hottest);
    json_in_number(in, "induction_min", JSON_NULLABLE, 0.0, 1440.0, &material->induction_min);
    json_in_number(in, "pot_life_min", JSON_NULLABLE, 1.0, 20160.0, &material->pot_life_min);
    read_composition(in, material);
    read_hazards(in, material);
    return json_in_close(in);
}

/* ---- writes ---- */

static enum coat_result put_material(struct work *work)
{
    struct material material;
    int64_t id = 0;
    if (read_material(&work->in, &material) != COAT_OK)
        return work->error.code;
    enum coat_result result = shop_put_material(work->shop, &work->write, work->id, &material, &id, &work->error);
    work_made(work, work->id != 0 ? work->id : id);
    return result;
}

static enum coat_result remove_material(struct work *work)
{
    if (json_in_close(&work->in) != COAT_OK)
        return work->error.code;
    return shop_remove_material(work->shop, &work->write, work->id, &work->error);
}

#define LEAD_MOST_MIN 2880
#define LEAD_OF_THE_SHOP (-1)

static enum coat_result set_lead(struct work *work)
{
    struct json_in *in = &work->in;
    double lead_min = (double)NAN;
    const char *member = "lead_closing_min";
    if (!json_in_has(in, member))
        json_in_fail(in, member, "it is missing: minutes before a window closes, or null for those of the shop");
    if (json_in_number(in, member, JSON_NULLABLE, 0.0, LEAD_MOST_MIN, &lead_min) && isfinite(lead_min) && lead_min != floor(lead_min))
        json_in_fail(in, member, "%g is no whole number of minutes", lead_min);
    if (json_in_close(in) != COAT_OK)
        return work->error.code;
    return shop_set_material_lead(work->shop, &work->write, work->id, isfinite(lead_min) ? (int32_t)lead_min : LEAD_OF_THE_SHOP, &work->error);
}

/* ---- handlers ---- */

void route_materials_list(WORK_ARGUMENTS)
{
    work_read(context, request, response, NULL, show_materials);
}

void route_material_get(WORK_ARGUMENTS)
{
    work_read(context, request, response, &work_material, show_material);
}

void route_material_versions(WORK_ARGUMENTS)
{
    work_read(context, request, response, &work_material, show_versions);
}

void route_material_add(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {201, NULL, put_material, show_material};
    work_write(context, request, response, &plan);
}

void route_material_replace(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {200, &work_material, put_material, show_material};
    work_write(context, request, response, &plan);
}

void route_material_remove(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {200, &work_material, remove_material, show_material};
    work_write(context, request, response, &plan);
}

void route_material_lead(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {200, &work_material, set_lead, show_material};
    work_write(context, request, response, &plan);
}
