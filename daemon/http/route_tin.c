/* Tins: the containers of materials. */
#include "daemon/http/routes.h"
#include "daemon/http/work.h"

#include <inttypes.h>

static enum coat_result show_tins(struct work *work)
{
    int64_t all = 0;
    if (http_query_int(work->request, "all", 0, 1, &all, &work->error) != COAT_OK)
        return work->error.code;
    json_out_object(work->doc.out);
    json_out_key(work->doc.out, "items");
    doc_tins(&work->doc, all != 0);
    json_out_object_end(work->doc.out);
    return COAT_OK;
}

static enum coat_result show_tin(struct work *work)
{
    int64_t id = work_subject(work);
    if (work->response->status == 201)
        snprintf(work->response->location, sizeof work->response->location, "/api/v1/tins/%" PRId64, id);
    doc_tin(&work->doc, shop_tin(work->shop, id));
    return COAT_OK;
}

static enum coat_result put_tin(struct work *work, struct tin *tin, enum json_need need)
{
    struct json_in *in = &work->in;
    int64_t id = 0;
    work_name(in, "name", need, tin->name, sizeof tin->name);
    if (json_in_id(in, "material", need, &tin->material_id))
        work_known(work, in, "material", &work_material, tin->material_id);
    json_in_string(in, "batch", JSON_OPTIONAL, tin->batch, sizeof tin->batch);
    json_in_moment(in, "opened_at", JSON_NULLABLE, &tin->opened_at);
    json_in_moment(in, "keep_by_at", JSON_NULLABLE, &tin->keep_by_at);
    if (json_in_close(in) != COAT_OK)
        return work->error.code;
    enum coat_result result = shop_put_tin(work->shop, &work->write, tin, &id, &work->error);
    work_made(work, tin->id != 0 ? tin->id : id);
    return result;
}

static enum coat_result add_tin(struct work *work)
{
    struct tin tin = {.opened_at = MOMENT_NONE, .keep_by_at = MOMENT_NONE, .removed_at = MOMENT_NONE};
    return put_tin(work, &tin, JSON_REQUIRED);
}

static enum coat_result change_tin(struct work *work)
{
    struct tin tin = *shop_tin(work->shop, work->id);
    return put_tin(work, &tin, JSON_OPTIONAL);
}

static enum coat_result remove_tin(struct work *work)
{
    if (json_in_close(&work->in) != COAT_OK)
        return work->error.code;
    return shop_remove_tin(work->shop, &work->write, work->id, &work->error);
}

void route_tins_list(WORK_ARGUMENTS)
{
    work_read(context, request, response, NULL, show_tins);
}

void route_tin_get(WORK_ARGUMENTS)
{
    work_read(context, request, response, &work_tin, show_tin);
}

void route_tin_add(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {201, NULL, add_tin, show_tin};
    work_write(context, request, response, &plan);
}

void route_tin_change(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {200, &work_tin, change_tin, show_tin};
    work_write(context, request, response, &plan);
}

void route_tin_remove(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {200, &work_tin, remove_tin, show_tin};
    work_write(context, request, response, &plan);
}
