#include "daemon/http/assets.h"

#include "daemon/http/http.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static int compare_name(const void *name, const void *asset)
{
    return strcmp(name, ((const struct http_asset *)asset)->name);
}

/* The two forms are two representations: each has a tag of its own (RFC 9110, section 8.8.3.3). */
void http_asset_send(const struct http_request *request, struct http_response *response, const struct http_asset *asset)
{
    char tag[32];
    response->gzip = asset->gzip != NULL && http_accepts_gzip(request);
    response->content_type = asset->type;
    response->fixed = response->gzip ? asset->gzip : asset->bytes;
    response->fixed_length = response->gzip ? asset->gzip_length : asset->length;
    snprintf(tag, sizeof tag, "%.20s%s", asset->tag, response->gzip ? "-gzip" : "");
    (void)http_not_modified(request, response, tag);
}

void http_assets(struct http_context *context, const struct http_request *request, struct http_response *response)
{
    const char *name = request->param[0][0] != '\0' ? request->param[0] : "index.html";
    (void)context;
    const struct http_asset *asset =
        bsearch(name, http_asset_table, http_asset_count, sizeof *http_asset_table, compare_name);
    if (asset == NULL) {
        http_problem_status(request, response, 404, "there is no such file on this page");
        return;
    }
    http_asset_send(request, response, asset);
}
