/* The small helpers of http.h that handlers call: problems, validators, parameters. */
#include "daemon/http/http.h"

#include "coat/moment.h"
#include "daemon/http/request.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

const char *http_method_word(enum http_method method)
{
    static const char *const words[HTTP_METHOD_COUNT] = {"GET", "POST", "PUT", "PATCH", "DELETE"};
    return (size_t)method < HTTP_METHOD_COUNT ? words[method] : "?";
}

static int status_of(enum coat_result code)
{
    static const int statuses[COAT_RESULT_COUNT] = {
        [COAT_OK] = 200, [COAT_BAD_VALUE] = 422, [COAT_BAD_FORM] = 400, [COAT_NOT_FOUND] = 404, [COAT_CONFLICT] = 409,
        [COAT_NOT_ALLOWED] = 403, [COAT_TOO_LARGE] = 413, [COAT_OUT_OF_RANGE] = 422, [COAT_NO_MEMORY] = 503,
        [COAT_STORE_BUSY] = 503, [COAT_STORE_FULL] = 507,
    };
    int status = (size_t)code < COAT_RESULT_COUNT ? statuses[code] : 0;
    return status != 0 ? status : 500;
}

static const char *status_title(int status)
{
    static const struct {
        int status;
        const char *title;
    } rows[] = {
        {400, "Bad request"}, {401, "Token wanted"}, {403, "Not allowed"}, {404, "Not found"}, {405, "Method not allowed"},
        {409, "Conflict"}, {413, "Too large"}, {415, "Unsupported media type"}, {421, "Misdirected request"},
        {422, "Not usable"}, {500, "The service failed"}, {503, "Not available now"}, {507, "The disk is full"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        if (rows[i].status == status)
            return rows[i].title;
    return "Error";
}

/* Whatever was written before is gone; the members that every problem has are written, up to its detail. */
static void open_problem(struct http_response *response, int status, const char *text)
{
    struct json_out *out = &response->body;
    response->status = status;
    response->content_type = "application/problem+json";
    response->etag[0] = '\0';
    response->location[0] = '\0';
    response->challenge = NULL;
    response->fixed = NULL;
    response->fixed_length = 0;
    response->gzip = false;
    response->stream = false;
    response->form = false;
    response->renewed_s = 0;
    json_out_reset(out);
    json_out_object(out);
    json_put_string(out, "type", "about:blank");
    json_put_string(out, "title", status_title(status));
    json_put_int(out, "status", status);
    json_put_string(out, "detail", text);
}

static void close_problem(const struct http_request *request, struct http_response *response)
{
    json_put_string(&response->body, "instance", request->path);
    json_out_object_end(&response->body);
}

void http_problem_status(const struct http_request *request, struct http_response *response, int status, const char *text)
{
    open_problem(response, status, text);
    close_problem(request, response);
}

void http_problem(const struct http_request *request, struct http_response *response, const struct coat_error *error)
{
    struct json_out *out = &response->body;
    open_problem(response, status_of(error->code), error->text[0] != '\0' ? error->text : coat_result_text(error->code));
    if (error->field[0] != '\0')
        json_put_string(out, "field", error->field);
    if (error->has_range) {
        json_put_number(out, "value", error->range.value, JSON_SHORTEST);
        json_put_number(out, "least", error->range.least, JSON_SHORTEST);
        json_put_number(out, "most", error->range.most, JSON_SHORTEST);
    }
    close_problem(request, response);
}

/* Whether a list of entity tags (RFC 9110, section 8.8.3) has this one, weakly compared. */
static bool list_has_tag(const char *list, const char *quoted)
{
    size_t length = strlen(quoted);
    for (const char *at = list + strspn(list, " \t,"); *at != '\0'; at += strspn(at, " \t,")) {
        if (*at == '*')
            return true;
        if (strncmp(at, "W/", 2) == 0)
            at += 2;
        if (strncmp(at, quoted, length) == 0)
            return true;
        const char *close = *at == '"' ? strchr(at + 1, '"') : NULL;
        if (close == NULL)
            return false;
        at = close + 1;
    }
    return false;
}

bool http_not_modified(const struct http_request *request, struct http_response *response, const char *tag)
{
    snprintf(response->etag, sizeof response->etag, "\"%.40s\"", tag);
    if (request->if_none_match == NULL || !list_has_tag(request->if_none_match, response->etag))
        return false;
    response->status = 304;
    return true;
}

/* "gzip", "gzip;q=0.5", "*": whether one item of the list takes it. *ret_named: it was meant by name. */
static bool item_takes_gzip(const char *item, size_t length, bool *ret_named)
{
    size_t name = strcspn(item, " \t;,");
    const char *quality = memmem(item, length, "q=", 2);
    *ret_named = (name == 4 && strncasecmp(item, "gzip", 4) == 0) || (name == 6 && strncasecmp(item, "x-gzip", 6) == 0);
    bool meant = *ret_named || (name == 1 && item[0] == '*');
    return meant && (quality == NULL || strspn(quality + 2, "0.") < strcspn(quality + 2, " \t;,"));
}

bool http_accepts_gzip(const struct http_request *request)
{
    bool takes = false, named = false;
    const char *at = request->accept_encoding;
    while (at != NULL && *(at += strspn(at, " \t,")) != '\0') {
        size_t length = strcspn(at, ",");
        bool by_name;
        bool takes_it = item_takes_gzip(at, length, &by_name);
        if (by_name || !named) /* what is said of gzip itself outweighs what is said of all the rest */
            takes = by_name ? takes_it : takes || takes_it;
        named = named || by_name;
        at += length;
    }
    return takes;
}

int64_t http_now_ms(const struct http_context *context)
{
    return clock_shop_ms(context->clock);
}

static bool parse_int(const char *text, int64_t low, int64_t high, int64_t *ret)
{
    const char *digits = text + (text[0] == '-' ? 1 : 0);
    if (digits[0] == '\0' || strlen(digits) > 18 || strspn(digits, "0123456789") != strlen(digits))
        return false;
    int64_t value = strtoll(text, NULL, 10);
    if (value < low || value > high)
        return false;
    *ret = value;
    return true;
}

enum coat_result http_param_id(const struct http_request *request, unsigned index, int64_t *ret, struct coat_error *error)
{
    const char *text = index < HTTP_PARAMS_MAX ? request->param[index] : "";
    if (!parse_int(text, 1, INT64_MAX, ret))
        return coat_fail(error, COAT_NOT_FOUND, "", "\"%.60s\" is no number of anything here", text);
    return COAT_OK;
}

enum coat_result http_query_int(const struct http_request *request, const char *name, int64_t low, int64_t high, int64_t *ret, struct coat_error *error)
{
    const char *text = http_query(request, name);
    if (text != NULL && !parse_int(text, low, high, ret))
        return coat_fail(error, COAT_BAD_VALUE, name, "\"%.40s\" is not usable: write a whole number from %lld to %lld", text,
                         (long long)low, (long long)high);
    return COAT_OK;
}

enum coat_result http_query_moment(const struct http_request *request, const char *name, int64_t *ret, struct coat_error *error)
{
    const char *text = http_query(request, name);
    struct coat_error why = {0};
    if (text != NULL && moment_parse(text, ret, &why) != COAT_OK)
        return coat_fail(error, COAT_BAD_VALUE, name, "%s", why.text);
    return COAT_OK;
}

struct shop_write http_write(const struct http_context *context, const struct http_request *request, int status)
{
    return (struct shop_write){
        .now_ms = http_now_ms(context),
        .key = request->idempotency_key,
        .body_hash = request->body_hash,
        .body_length = (int64_t)request->body_length,
        .route = request->target,
        .status = status,
    };
}
