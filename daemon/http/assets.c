#include "daemon/http/assets.h"

#include "daemon/http/http.h"

#include <stdlib.h>
#include <string.h>

static int compare_name(const void *name, const void *asset)
{
    return strcmp(name, ((const struct http_asset *)asset)->name);
}

void http_assets(struct http_context *context, const struct http_request *request, struct http_response *response)
{
    const char *name = request->param[0][0] != '\0' ? request->param[0] : "index.html";
    (void)context;
    const struct http_asset *asset =
        bsearch(name, http_asset_table, http_asset_count, sizeof *http_asset_table, compare_name);
    if (asset == NULL) {
        http_problem_status(request, response, 404, "", "there is no such file on this page");
        return;
    }
    response->content_type = asset->type;
    response->fixed = asset->bytes;
    response->fixed_length = asset->length;
    (void)http_not_modified(request, response, asset->tag);
}
