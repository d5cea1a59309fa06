/* The page's files as they were at build time, made by embed.c. Sorted by name. */
#ifndef COAT_ASSETS_H
#define COAT_ASSETS_H

#include <stddef.h>

struct http_asset {
    const char *name; /* below web/, "vendor/x.js" */
    const char *type; /* MIME */
    const char *tag;  /* hash of the content */
    const unsigned char *bytes;
    size_t length;
    const unsigned char *gzip; /* the same compressed; NULL where that would not be smaller */
    size_t gzip_length;
};

struct http_request;
struct http_response;
/* Answers with the asset: compressed where the client takes that, 304 where it has it already. */
void http_asset_send(const struct http_request *request, struct http_response *response, const struct http_asset *asset);

extern const struct http_asset http_asset_table[];
extern const size_t http_asset_count;

/* The description of the API, made likewise from openapi.json: one row. */
extern const struct http_asset http_openapi_table[];
extern const size_t http_openapi_count;

#endif
