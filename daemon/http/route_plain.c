/* The shop as a plain page. What it shows goes on with time, so that it has no tag to be kept by. */
#include "daemon/http/plain.h"
#include "daemon/http/routes.h"
#include "daemon/http/work.h"

#define RENEWED_S 60

static enum coat_result show_plain(struct work *work)
{
    bool still = http_query(work->request, "still") != NULL;
    work->response->content_type = "text/html; charset=utf-8";
    work->response->renewed_s = still ? 0 : RENEWED_S;
    plain_write(&work->doc, work->context, still);
    return COAT_OK;
}

void route_plain(WORK_ARGUMENTS)
{
    work_read(context, request, response, NULL, show_plain);
}
