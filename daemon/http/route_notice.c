/* Notices, and putting them aside. */
#include "daemon/http/routes.h"
#include "daemon/http/work.h"

#define LISTED_NEWEST 200
#define LISTED_AFTER 500

/* After an id the first so many, so that a follower misses none; else the newest. */
static enum coat_result show_notices(struct work *work)
{
    size_t count = 0;
    int64_t after = -1;
    const struct notice *notices = shop_notices(work->shop, &count);
    if (http_query_int(work->request, "after", 0, INT64_MAX, &after, &work->error) != COAT_OK)
        return work->error.code;
    size_t from = after < 0 && count > LISTED_NEWEST ? count - LISTED_NEWEST : 0;
    while (from < count && notices[from].id <= after)
        from++;
    json_out_object(work->doc.out);
    json_put_array(work->doc.out, "items");
    for (size_t i = from; i < count && i - from < LISTED_AFTER; i++) {
        json_out_object(work->doc.out);
        doc_notice(&work->doc, &notices[i]);
        json_out_object_end(work->doc.out);
    }
    json_out_array_end(work->doc.out);
    work_end_document(work);
    return COAT_OK;
}

static enum coat_result acknowledge(struct work *work)
{
    if (json_in_close(&work->in) != COAT_OK)
        return work->error.code;
    return shop_acknowledge(work->shop, &work->write, work->id, &work->error);
}

static enum coat_result show_notice(struct work *work)
{
    json_out_object(work->doc.out);
    doc_notice(&work->doc, notice_of_id(work->shop, work->id));
    doc_caution_texts(&work->doc, "caution_texts");
    json_out_object_end(work->doc.out);
    return COAT_OK;
}

void route_notices_list(WORK_ARGUMENTS)
{
    work_read(context, request, response, NULL, show_notices);
}

void route_notice_ack(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {200, &work_notice, acknowledge, show_notice};
    work_write(context, request, response, &plan);
}
