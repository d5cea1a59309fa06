/* The description of the API, as it was at build time (assets.mk). */
#include "daemon/http/assets.h"
#include "daemon/http/routes.h"

void route_openapi(struct http_context *context, const struct http_request *request, struct http_response *response)
{
    (void)context;
    http_asset_send(request, response, &http_openapi_table[0]);
}
