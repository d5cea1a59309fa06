/* From method and path to a row of the route table. */
#ifndef COAT_ROUTER_H
#define COAT_ROUTER_H

#include "daemon/http/http.h"

struct route_match {
    const struct http_route *route; /* NULL: no such path, or not with this method */
    bool path_known;
    bool broken;                    /* a {…} is no percent-encoded UTF-8 text, or too long */
    char allow[48];                 /* the methods of that path, "GET, HEAD, POST" */
    char param[HTTP_PARAMS_MAX][HTTP_PARAM_SIZE];
};

/* `path` is still percent-encoded, so that an encoded slash parts nothing. */
struct route_match route_find(const struct http_route *routes, const char *method, const char *path, size_t path_length, bool test_clock);

#endif
