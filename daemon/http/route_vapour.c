/* What is in the air of a place by the sums. */
#include "daemon/http/routes.h"
#include "daemon/http/work.h"

static enum coat_result show_vapour(struct work *work)
{
    struct vapour_view view;
    if (!shop_vapour_view(work->shop, work->id, work->now_ms, &view))
        return coat_fail(&work->error, COAT_NOT_FOUND, "", "there is no such place: GET %s lists them", work_place.list);
    json_out_object(work->doc.out);
    doc_vapour(&work->doc, &view);
    doc_caution_texts(&work->doc, "caution_texts");
    json_out_object_end(work->doc.out);
    return COAT_OK;
}

void route_vapour(WORK_ARGUMENTS)
{
    work_read(context, request, response, &work_place, show_vapour);
}
