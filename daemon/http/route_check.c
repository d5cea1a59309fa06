/* May this be put on now, and if not, when. */
#include "daemon/http/routes.h"
#include "daemon/http/work.h"

static enum coat_result read_id(struct work *work, const char *name, const struct work_kind *kind, bool required, int64_t *ret)
{
    if (http_query_int(work->request, name, 1, INT64_MAX, ret, &work->error) != COAT_OK)
        return work->error.code;
    if (*ret == 0 && required)
        return coat_fail(&work->error, COAT_BAD_VALUE, name, "which %s? GET %s lists them; say %s=ID", kind->noun, kind->list, name);
    return COAT_OK;
}

static enum coat_result read_query(struct work *work, struct check_query *query)
{
    enum coat_result result = read_id(work, "material", &work_material, true, &query->material_id);
    if (result == COAT_OK)
        result = read_id(work, "place", &work_place, true, &query->place_id);
    if (result == COAT_OK)
        result = read_id(work, "piece", &work_piece, false, &query->piece_id);
    if (result == COAT_OK)
        result = http_query_moment(work->request, "at", &query->at, &work->error);
    query->area = http_query(work->request, "area");
    return result;
}

static enum coat_result show_check(struct work *work)
{
    struct check_view view;
    struct check_query query = {.at = work->now_ms, .now_ms = work->now_ms, .zone_offset_ms = doc_zone_offset_ms};
    enum coat_result result = read_query(work, &query);
    if (result == COAT_OK)
        result = shop_check(work->shop, &query, &view, &work->error);
    if (result != COAT_OK)
        return result;
    json_out_object(work->doc.out);
    doc_check(&work->doc, &view);
    doc_caution_texts(&work->doc, "caution_texts");
    json_out_object_end(work->doc.out);
    return COAT_OK;
}

void route_check(WORK_ARGUMENTS)
{
    work_read(context, request, response, NULL, show_check);
}
