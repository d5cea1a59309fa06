#include "daemon/http/router.h"

#include "daemon/http/gate.h"

#include <string.h>

struct piece_of_path {
    const char *text;
    size_t length;
};

static size_t segment_length(const char *at, const char *end)
{
    const char *slash = memchr(at, '/', (size_t)(end - at));
    return (size_t)((slash != NULL ? slash : end) - at);
}

/* Whether the path has the pattern's shape; notes what stands for its {…}. */
static bool match_path(const char *pattern, const char *path, const char *path_end, struct piece_of_path *params)
{
    const char *pattern_end = pattern + strlen(pattern);
    unsigned count = 0;
    while (pattern < pattern_end && path < path_end) {
        if (*pattern++ != '/' || *path++ != '/')
            return false;
        size_t wanted = segment_length(pattern, pattern_end);
        size_t length = segment_length(path, path_end);
        bool rest = strncmp(pattern, "{*}", 3) == 0;
        if (rest)
            length = (size_t)(path_end - path);
        if (*pattern == '{') {
            if (length == 0 || count == HTTP_PARAMS_MAX)
                return false;
            params[count++] = (struct piece_of_path){path, length};
        } else if (length != wanted || memcmp(pattern, path, length) != 0) {
            return false;
        }
        pattern += wanted;
        path += length;
    }
    return pattern == pattern_end && path == path_end;
}

static bool decode_params(const struct piece_of_path *pieces, struct route_match *match)
{
    for (unsigned i = 0; i < HTTP_PARAMS_MAX; i++)
        if (pieces[i].length > 0 && !gate_decode(pieces[i].text, pieces[i].length, match->param[i], HTTP_PARAM_SIZE))
            return false;
    return true;
}

static void add_allowed(struct route_match *match, const char *method)
{
    const char *names[] = {method, strcmp(method, "GET") == 0 ? "HEAD" : NULL};
    for (size_t i = 0; i < 2 && names[i] != NULL; i++) {
        size_t used = strlen(match->allow);
        size_t more = strlen(names[i]) + (used > 0 ? 2 : 0);
        if (used + more >= sizeof match->allow || strstr(match->allow, names[i]) != NULL)
            return;
        if (used > 0)
            strcat(match->allow, ", ");
        strcat(match->allow, names[i]);
    }
}

struct route_match route_find(const struct http_route *routes, const char *method, const char *path, size_t path_length, bool test_clock)
{
    struct route_match match = {0};
    const char *wanted = strcmp(method, "HEAD") == 0 ? "GET" : method;
    for (const struct http_route *route = routes; route->method != NULL; route++) {
        struct piece_of_path pieces[HTTP_PARAMS_MAX] = {{0}};
        if ((route->test_clock_only && !test_clock) || !match_path(route->path, path, path + path_length, pieces))
            continue;
        match.path_known = true;
        add_allowed(&match, route->method);
        if (match.route != NULL || strcmp(route->method, wanted) != 0)
            continue;
        match.route = route;
        match.broken = !decode_params(pieces, &match);
    }
    return match;
}
