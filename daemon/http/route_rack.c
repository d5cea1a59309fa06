/* Racks: pieces that are always done together. */
#include "daemon/http/routes.h"
#include "daemon/http/work.h"

#include <inttypes.h>

static enum coat_result show_racks(struct work *work)
{
    size_t count = 0;
    const struct rack *racks = shop_racks(work->shop, &count);
    json_out_object(work->doc.out);
    json_put_array(work->doc.out, "items");
    for (size_t i = 0; i < count; i++) {
        if (racks[i].removed_at == MOMENT_NONE)
            doc_rack(&work->doc, &racks[i]);
    }
    json_out_array_end(work->doc.out);
    json_out_object_end(work->doc.out);
    return COAT_OK;
}

static enum coat_result show_rack(struct work *work)
{
    int64_t id = work_subject(work);
    if (work->response->status == 201)
        snprintf(work->response->location, sizeof work->response->location, "/api/v1/racks/%" PRId64, id);
    doc_rack(&work->doc, shop_rack(work->shop, id));
    return COAT_OK;
}

static void read_pieces(struct work *work, enum json_need need, struct rack *rack)
{
    struct json_in_list list;
    int64_t id = 0;
    if (!json_in_list(&work->in, "pieces", need, 1, RACK_PIECES_MAX, &list))
        return;
    rack->pieces = 0;
    while (rack->pieces < RACK_PIECES_MAX && json_in_next_id(&list, &id)) {
        work_known(work, &work->in, "pieces", &work_piece, id);
        for (unsigned i = 0; i < rack->pieces; i++) {
            if (rack->piece_id[i] == id)
                json_in_fail(&work->in, "pieces", "piece %" PRId64 " is in the list twice: name each once", id);
        }
        rack->piece_id[rack->pieces++] = id;
    }
}

static enum coat_result put_rack(struct work *work, struct rack *rack, enum json_need need)
{
    int64_t id = 0;
    work_name(&work->in, "name", need, rack->name, sizeof rack->name);
    read_pieces(work, need, rack);
    if (json_in_close(&work->in) != COAT_OK)
        return work->error.code;
    enum coat_result result = shop_put_rack(work->shop, &work->write, rack, &id, &work->error);
    work_made(work, rack->id != 0 ? rack->id : id);
    return result;
}

static enum coat_result add_rack(struct work *work)
{
    struct rack rack = {.added_at = work->now_ms, .removed_at = MOMENT_NONE};
    return put_rack(work, &rack, JSON_REQUIRED);
}

static enum coat_result change_rack(struct work *work)
{
    struct rack rack = *shop_rack(work->shop, work->id);
    return put_rack(work, &rack, JSON_OPTIONAL);
}

static enum coat_result remove_rack(struct work *work)
{
    if (json_in_close(&work->in) != COAT_OK)
        return work->error.code;
    return shop_remove_rack(work->shop, &work->write, work->id, &work->error);
}

void route_racks_list(WORK_ARGUMENTS)
{
    work_read(context, request, response, NULL, show_racks);
}

void route_rack_get(WORK_ARGUMENTS)
{
    work_read(context, request, response, &work_rack, show_rack);
}

void route_rack_add(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {201, NULL, add_rack, show_rack};
    work_write(context, request, response, &plan);
}

void route_rack_change(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {200, &work_rack, change_rack, show_rack};
    work_write(context, request, response, &plan);
}

void route_rack_remove(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {200, &work_rack, remove_rack, show_rack};
    work_write(context, request, response, &plan);
}
