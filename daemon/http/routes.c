#include "daemon/http/http.h"

const struct http_route http_routes[] = {
    {"GET", "/", http_assets, 0, false},
    {"GET", "/assets/{*}", http_assets, 0, false},
    {"GET", "/api/v1/events", http_events, 0, false},
    {NULL, NULL, NULL, 0, false},
};
