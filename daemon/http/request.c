#include "daemon/http/request.h"

#include "daemon/http/json_scan.h"
#include "daemon/http/token.h"

#include <cjson/cJSON.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* A parameter without "=" gets a NUL more than it has characters; so does the last. */
#define CALL_QUERY_SLACK (CALL_QUERIES_MAX + 2)

struct call *call_new(const char *target)
{
    size_t size = strlen(target) + 1;
    struct call *call = calloc(1, sizeof *call + 3 * size + CALL_QUERY_SLACK);
    if (call == NULL)
        return NULL;
    call->target = call->text;
    call->path = call->text + size;
    call->query_text = call->text + 2 * size;
    memcpy(call->target, target, size);
    call->path_length = strcspn(target, "?");
    call->request.path = call->path;
    call->request.body = "";
    call->request.connection = call;
    call->response.status = 200;
    call->response.content_type = "application/json";
    json_out_init(&call->response.body, HTTP_ANSWER_MAX);
    return call;
}

void call_free(struct call *call)
{
    if (call == NULL)
        return;
    json_out_free(&call->response.body);
    free(call->body);
    free(call);
}

static void refuse(struct call *call, int status, const char *text)
{
    http_problem_status(&call->request, &call->response, status, text);
    call->answered = true;
}

/* "name=value" at `pair`, decoded to *io_room, which moves on. */
static bool add_query(struct call *call, const char *pair, size_t length, char **io_room, size_t room)
{
    const char *equals = memchr(pair, '=', length);
    size_t name_length = equals != NULL ? (size_t)(equals - pair) : length;
    char *name = *io_room;
    if (call->queries == CALL_QUERIES_MAX || !gate_decode(pair, name_length, name, room))
        return false;
    char *value = name + strlen(name) + 1;
    size_t value_length = equals != NULL ? length - name_length - 1 : 0;
    if (!gate_decode(equals != NULL ? equals + 1 : "", value_length, value, room - (size_t)(value - name)))
        return false;
    if (http_query(&call->request, name) != NULL)
        return false;
    call->query[call->queries].name = name;
    call->query[call->queries++].value = value;
    *io_room = value + strlen(value) + 1;
    return true;
}

/* Decoded text is never longer than its source. */
static bool read_queries(struct call *call)
{
    const char *at = call->target + call->path_length;
    char *room = call->query_text;
    const char *room_end = call->query_text + strlen(call->target) + 1 + CALL_QUERY_SLACK;
    while (*at == '?' || *at == '&') {
        at++;
        size_t length = strcspn(at, "&");
        if (length > 0 && !add_query(call, at, length, &room, (size_t)(room_end - room)))
            return false;
        at += length;
    }
    return true;
}

const char *http_query(const struct http_request *request, const char *name)
{
    const struct call *call = request->connection;
    for (unsigned i = 0; i < call->queries; i++)
        if (strcmp(call->query[i].name, name) == 0)
            return call->query[i].value;
    return NULL;
}

static enum http_method method_of(const char *word)
{
    for (int i = 0; i < HTTP_METHOD_COUNT; i++)
        if (strcmp(word, http_method_word((enum http_method)i)) == 0)
            return (enum http_method)i;
    return HTTP_GET; /* HEAD */
}

/* Path and method to a row; false when the response is made. */
static bool find_route(struct http_context *context, struct call *call, const char *method)
{
    struct route_match match = route_find(http_routes, method, call->target, call->path_length, context->clock->test);
    if (!match.path_known) {
        refuse(call, 404, "there is nothing at this path: /api/openapi.json lists what there is");
        return false;
    }
    if (match.route == NULL) {
        char text[160];
        snprintf(text, sizeof text, "%.20s is not answered here: use %s", method, match.allow);
        refuse(call, 405, text);
        memcpy(call->response.allow, match.allow, sizeof match.allow);
        return false;
    }
    if (match.broken) {
        refuse(call, 400, "the path holds something that is no usable text");
        return false;
    }
    memcpy(call->request.param, match.param, sizeof match.param);
    call->route = match.route;
    return true;
}

/* RFC 6750, section 3. The token of a sensor opens the routes made for it; on this machine the others ask for none. */
static bool admit_token(const struct http_context *context, struct call *call)
{
    enum token_shown shown = token_look(context->shop, call->head.value[GATE_AUTHORIZATION], &call->request.sensor_id);
    if (call->route->sensor_token && shown != TOKEN_OF_SENSOR) {
        bool none = shown == TOKEN_NONE;
        refuse(call, 401, none ? "readings are posted with the token of a sensor: Authorization: Bearer TOKEN, as it was told when the sensor was added"
                               : "no sensor in use has that token: PATCH /api/v1/sensors/{id} with {\"new_token\":true} tells a new one");
        call->response.challenge = none ? "Bearer realm=\"coatd\"" : "Bearer realm=\"coatd\", error=\"invalid_token\"";
        return false;
    }
    if (!call->route->sensor_token && shown == TOKEN_OF_SENSOR) {
        refuse(call, 403, "the token of a sensor opens POST /api/v1/readings alone");
        return false;
    }
    return true;
}

static size_t body_max(const struct http_route *route)
{
    return route->body_max > 0 ? route->body_max : HTTP_BODY_MAX;
}

static enum gate_body body_of(const struct call *call)
{
    if (call->route->picture)
        return GATE_BODY_PICTURE;
    return call->request.method == HTTP_DELETE ? GATE_BODY_MAY_BE : GATE_BODY_NEEDED;
}

/* What the write gate wants, and room for the body. */
static bool admit_write(struct call *call)
{
    struct gate_refusal refusal;
    const char *length = call->head.value[GATE_CONTENT_LENGTH];
    bool admitted = call->route->signed_form ? gate_admit_form(&call->head, &refusal)
                                             : gate_admit_write(&call->head, body_of(call), body_max(call->route), &refusal);
    if (!admitted) {
        refuse(call, refusal.status, refusal.text);
        return false;
    }
    call->body_size = length != NULL ? (size_t)strtoull(length, NULL, 10) : 0;
    call->body = malloc(call->body_size + 1);
    if (call->body == NULL) {
        refuse(call, 503, "the service is short of memory: try again");
        return false;
    }
    call->body[0] = '\0';
    return true;
}

static void fill_request(struct call *call, const char *method)
{
    struct http_request *request = &call->request;
    request->method = method_of(method);
    snprintf(request->target, sizeof request->target, "%.8s %.*s", method, (int)call->path_length, call->target);
    request->host = call->head.value[GATE_HOST];
    request->idempotency_key = call->head.value[GATE_IDEMPOTENCY_KEY];
    request->if_none_match = call->head.value[GATE_IF_NONE_MATCH];
    request->last_event_id = call->head.value[GATE_LAST_EVENT_ID];
    request->accept_encoding = call->head.value[GATE_ACCEPT_ENCODING];
}

void call_begin(struct http_context *context, uint16_t port, struct call *call, const char *method)
{
    struct gate_refusal refusal;
    call->begun = true;
    bool path_good = gate_decode(call->target, call->path_length, call->path, strlen(call->target) + 1);
    if (!gate_admit(&call->head, call->target, port, &refusal)) {
        refuse(call, refusal.status, refusal.text);
        return;
    }
    if (!path_good || !read_queries(call)) {
        refuse(call, 400, "the target is not usable: a broken % escape, a control character, or a parameter told twice");
        return;
    }
    if (!find_route(context, call, method))
        return;
    fill_request(call, method);
    if (!admit_token(context, call))
        return;
    call->write = call->request.method != HTTP_GET;
    if (call->write && !admit_write(call))
        return;
    if (!call->write && call->head.value[GATE_CONTENT_LENGTH] != NULL && strcmp(call->head.value[GATE_CONTENT_LENGTH], "0") != 0)
        refuse(call, 400, "a request that only reads has no body");
}

/* The gate bounded what was announced; what comes beyond that is refused all the same. */
void call_take_body(struct call *call, const char *bytes, size_t length)
{
    if (call->answered)
        return;
    if (length > call->body_size - call->body_length) {
        refuse(call, 413, "the body is longer than its Content-Length");
        return;
    }
    memcpy(call->body + call->body_length, bytes, length);
    call->body_length += length;
    call->body[call->body_length] = '\0';
}

static uint64_t hash_bytes(const char *bytes, size_t length)
{
    uint64_t hash = UINT64_C(14695981039346656037); /* FNV-1a */
    for (size_t i = 0; i < length; i++)
        hash = (hash ^ (unsigned char)bytes[i]) * UINT64_C(1099511628211);
    return hash;
}

/* *ret stays NULL for a DELETE without a body; false when the response is made. */
static bool parse_body(struct call *call, cJSON **ret)
{
    struct json_scan_fault fault = {0};
    char text[200];
    if (call->body_length == 0) {
        if (call->request.method != HTTP_DELETE)
            refuse(call, 400, "the body is empty: send a JSON object, {} where there is nothing to say");
        return call->request.method == HTTP_DELETE;
    }
    if (!json_scan(call->body, call->body_length, body_max(call->route), &fault)) {
        snprintf(text, sizeof text, "the JSON is not usable: %s (at byte %zu)", fault.why, fault.at + 1);
        refuse(call, 400, text);
        return false;
    }
    *ret = cJSON_ParseWithLength(call->body, call->body_length + 1);
    if (*ret == NULL)
        refuse(call, 503, "the service is short of memory: try again");
    else if (!cJSON_IsObject(*ret))
        refuse(call, 400, "the body is JSON but no object: begin it with {");
    return !call->answered;
}

static void answer(struct http_context *context, struct call *call)
{
    call->route->handle(context, &call->request, &call->response);
    if (call->response.body.failed)
        http_problem_status(&call->request, &call->response, 503, "the answer is too large for the memory there is");
    call->answered = true;
}

void call_finish(struct http_context *context, struct call *call)
{
    cJSON *json = NULL;
    if (call->answered)
        return;
    call->request.body = call->body != NULL ? call->body : "";
    call->request.body_length = call->body_length;
    call->request.body_hash = hash_bytes(call->request.body, call->body_length);
    if (!call->write || call->route->signed_form || call->route->picture || parse_body(call, &json)) {
        call->request.json = json;
        answer(context, call);
    }
    cJSON_Delete(json);
}
