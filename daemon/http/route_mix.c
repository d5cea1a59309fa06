/* Mixes: batches of two-part materials. */
#include "daemon/http/routes.h"
#include "daemon/http/work.h"

static enum coat_result show_mixes(struct work *work)
{
    int64_t all = 0;
    if (http_query_int(work->request, "all", 0, 1, &all, &work->error) != COAT_OK)
        return work->error.code;
    json_out_object(work->doc.out);
    json_out_key(work->doc.out, "items");
    doc_mixes(&work->doc, all != 0);
    work_end_document(work);
    return COAT_OK;
}

static enum coat_result show_mixed(struct work *work)
{
    struct mix_view view;
    if (!shop_mix_view(work->shop, work->made[0], work->now_ms, &view))
        return COAT_STORE_FAILED; /* a key that names a mix which is not there */
    json_out_object(work->doc.out);
    doc_mix(&work->doc, &view);
    doc_caution_texts(&work->doc, "caution_texts");
    json_out_object_end(work->doc.out);
    return COAT_OK;
}

static enum coat_result mix(struct work *work)
{
    struct mix batch = {.mixed_at = work->now_ms};
    const struct material_version *material = NULL;
    int64_t id = 0;
    work_material_newest(work, JSON_REQUIRED, &material);
    if (json_in_id(&work->in, "place", JSON_NULLABLE, &batch.place_id) && batch.place_id != 0)
        work_known(work, &work->in, "place", &work_place, batch.place_id);
    work_past(work, "at", &batch.mixed_at);
    if (json_in_close(&work->in) != COAT_OK)
        return work->error.code;
    batch.material_version_id = material->id;
    enum coat_result result = shop_mix(work->shop, &work->write, &batch, &id, &work->error);
    work_made(work, id);
    return result;
}

void route_mixes_list(WORK_ARGUMENTS)
{
    work_read(context, request, response, NULL, show_mixes);
}

void route_mix(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {201, NULL, mix, show_mixed};
    work_write(context, request, response, &plan);
}
