#include "daemon/http/json_in.h"

#include "coat/moment.h"

#include <cjson/cJSON.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#define ID_MAX INT64_C(9007199254740992) /* 2^53: whole numbers to here are exact in a double */

struct json_in json_in_open(const struct cJSON *object, struct coat_error *error)
{
    return (struct json_in){.object = object, .error = error};
}

bool json_in_failed(const struct json_in *in)
{
    return in->error->code != COAT_OK;
}

static void join_path(const struct json_in *in, const char *name, char *ret, size_t size)
{
    const char *dot = in->path[0] != '\0' && name[0] != '\0' ? "." : "";
    if (snprintf(ret, size, "%s%s%s", in->path, dot, name) < 0)
        ret[0] = '\0'; /* one that is too long is cut: it only helps to find the place */
}

/* The first fault stays. */
static bool fault(struct json_in *in, const char *name, const char *format, ...) __attribute__((format(printf, 3, 4)));
static bool fault(struct json_in *in, const char *name, const char *format, ...)
{
    char path[sizeof in->error->field];
    char text[sizeof in->error->text];
    if (json_in_failed(in))
        return false;
    join_path(in, name, path, sizeof path);
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    (void)coat_fail(in->error, COAT_BAD_VALUE, path, "%s", text);
    return false;
}

void json_in_fail(struct json_in *in, const char *name, const char *format, ...)
{
    char text[sizeof in->error->text];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    (void)fault(in, name, "%s", text);
}

/* What was found instead, in words: "a text", "the number 12". */
static const char *told(const cJSON *node, char *text, size_t size)
{
    if (cJSON_IsNull(node))
        return "null";
    if (cJSON_IsBool(node))
        return cJSON_IsTrue(node) ? "true" : "false";
    if (cJSON_IsNumber(node))
        snprintf(text, size, "%.10g", node->valuedouble);
    else if (cJSON_IsString(node))
        snprintf(text, size, "\"%.40s\"", node->valuestring);
    else
        return cJSON_IsArray(node) ? "a list" : "an object";
    return text;
}

static void mark_asked(struct json_in *in, const char *name)
{
    if (in->asked_count < JSON_IN_NAMES_MAX)
        in->asked[in->asked_count++] = name;
    else
        (void)fault(in, name, "the service asks for more fields here than it has room for");
}

static const cJSON *member(const struct json_in *in, const char *name)
{
    return in->object != NULL ? cJSON_GetObjectItemCaseSensitive(in->object, name) : NULL;
}

/* The member where it is there and not null; else NULL with *ret_none telling whether a null stands for "none". */
static const cJSON *look_up(struct json_in *in, const char *name, enum json_need need, bool *ret_none)
{
    *ret_none = false;
    mark_asked(in, name);
    if (json_in_failed(in))
        return NULL;
    const cJSON *node = member(in, name);
    if (node == NULL && need == JSON_REQUIRED)
        (void)fault(in, name, "%s is missing: it is needed here", name);
    if (!cJSON_IsNull(node))
        return node;
    if (need == JSON_NULLABLE)
        *ret_none = true;
    else
        (void)fault(in, name, "%s is null: give a value%s", name, need == JSON_OPTIONAL ? " or leave it out" : "");
    return NULL;
}

static bool wrong_kind(struct json_in *in, const char *name, const cJSON *node, const char *wanted)
{
    char text[64];
    return fault(in, name, "%s is %s where %s was expected", name, told(node, text, sizeof text), wanted);
}

bool json_in_has(const struct json_in *in, const char *name)
{
    return member(in, name) != NULL;
}

static bool was_asked(const struct json_in *in, const char *name)
{
    for (unsigned i = 0; i < in->asked_count; i++)
        if (strcmp(in->asked[i], name) == 0)
            return true;
    return false;
}

static void list_asked(const struct json_in *in, char *text, size_t size)
{
    size_t used = 0;
    text[0] = '\0';
    for (unsigned i = 0; i < in->asked_count && used + 1 < size; i++) {
        int more = snprintf(text + used, size - used, "%s%s", i > 0 ? ", " : "", in->asked[i]);
        used += more > 0 ? (size_t)more : 0;
    }
}

enum coat_result json_in_close(struct json_in *in)
{
    if (json_in_failed(in))
        return in->error->code;
    const cJSON *node = NULL;
    cJSON_ArrayForEach(node, in->object)
    {
        char known[200];
        if (was_asked(in, node->string))
            continue;
        list_asked(in, known, sizeof known);
        (void)fault(in, node->string, "there is no field \"%.40s\" here; known are %s", node->string,
                    known[0] != '\0' ? known : "none");
        break;
    }
    return in->error->code;
}

/* Control characters but newline and tab have no use in a name or a note and spoil terminals. */
static bool has_control(const char *text)
{
    for (; *text != '\0'; text++)
        if (((unsigned char)*text < 0x20 && *text != '\n' && *text != '\t') || *text == 0x7F)
            return true;
    return false;
}

static bool fit_string(struct json_in *in, const char *name, const cJSON *node, char *ret, size_t size)
{
    if (!cJSON_IsString(node))
        return wrong_kind(in, name, node, "a text");
    size_t length = strlen(node->valuestring);
    if (length >= size)
        return fault(in, name, "%s is %zu bytes long: at most %zu fit", name, length, size - 1);
    if (has_control(node->valuestring))
        return fault(in, name, "%s holds a control character: only line breaks and tabs may stand in a text", name);
    memcpy(ret, node->valuestring, length + 1);
    return true;
}

bool json_in_string(struct json_in *in, const char *name, enum json_need need, char *ret, size_t size)
{
    bool none = false;
    const cJSON *node = look_up(in, name, need, &none);
    if (none)
        ret[0] = '\0';
    return none || (node != NULL && fit_string(in, name, node, ret, size));
}

bool json_in_text(struct json_in *in, const char *name, enum json_need need, const char **ret)
{
    bool none = false;
    const cJSON *node = look_up(in, name, need, &none);
    if (none)
        *ret = NULL;
    if (node == NULL)
        return none;
    if (!cJSON_IsString(node))
        return wrong_kind(in, name, node, "a text");
    *ret = node->valuestring;
    return true;
}

static bool outside(struct json_in *in, const char *name, struct coat_range range)
{
    char path[sizeof in->error->field];
    if (json_in_failed(in))
        return false;
    join_path(in, name, path, sizeof path);
    (void)coat_fail_range(in->error, path, name, range);
    return false;
}

static bool fit_number(struct json_in *in, const char *name, const cJSON *node, double low, double high, double *ret)
{
    if (!cJSON_IsNumber(node))
        return wrong_kind(in, name, node, "a number");
    if (!(node->valuedouble >= low && node->valuedouble <= high))
        return outside(in, name, (struct coat_range){node->valuedouble, low, high});
    *ret = node->valuedouble;
    return true;
}

bool json_in_number(struct json_in *in, const char *name, enum json_need need, double low, double high, double *ret)
{
    bool none = false;
    const cJSON *node = look_up(in, name, need, &none);
    if (none)
        *ret = (double)NAN;
    return none || (node != NULL && fit_number(in, name, node, low, high, ret));
}

static bool fit_int(struct json_in *in, const char *name, const cJSON *node, int64_t low, int64_t high, int64_t *ret)
{
    double value = 0;
    if (!cJSON_IsNumber(node))
        return wrong_kind(in, name, node, "a whole number");
    if (trunc(node->valuedouble) < node->valuedouble || trunc(node->valuedouble) > node->valuedouble)
        return wrong_kind(in, name, node, "a whole number");
    if (!fit_number(in, name, node, (double)low, (double)high, &value))
        return false;
    *ret = (int64_t)value;
    return true;
}

bool json_in_int(struct json_in *in, const char *name, enum json_need need, int64_t low, int64_t high, int64_t *ret)
{
    bool none = false;
    const cJSON *node = look_up(in, name, need, &none);
    if (none)
        *ret = 0;
    return none || (node != NULL && fit_int(in, name, node, low, high, ret));
}

bool json_in_int32(struct json_in *in, const char *name, enum json_need need, int32_t low, int32_t high, int32_t *ret)
{
    int64_t value = 0;
    if (!json_in_int(in, name, need, low, high, &value))
        return false;
    *ret = (int32_t)value;
    return true;
}

bool json_in_id(struct json_in *in, const char *name, enum json_need need, int64_t *ret)
{
    return json_in_int(in, name, need, 1, ID_MAX, ret);
}

bool json_in_bool(struct json_in *in, const char *name, enum json_need need, bool *ret)
{
    bool none = false;
    const cJSON *node = look_up(in, name, need, &none);
    if (none)
        *ret = false;
    if (node == NULL)
        return none;
    if (!cJSON_IsBool(node))
        return wrong_kind(in, name, node, "true or false");
    *ret = cJSON_IsTrue(node);
    return true;
}

bool json_in_moment(struct json_in *in, const char *name, enum json_need need, int64_t *ret_ms)
{
    const char *text = NULL;
    struct coat_error why = {0};
    if (!json_in_text(in, name, need, &text))
        return false;
    if (text == NULL)
        *ret_ms = MOMENT_NONE;
    else if (moment_parse(text, ret_ms, &why) != COAT_OK)
        return fault(in, name, "%s", why.text);
    return true;
}

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static bool parse_time_of_day(const char *text, int32_t *ret_min)
{
    if (strlen(text) != 5 || text[2] != ':' || !is_digit(text[0]) || !is_digit(text[1]) || !is_digit(text[3]) ||
        !is_digit(text[4]))
        return false;
    int32_t hour = (text[0] - '0') * 10 + (text[1] - '0');
    int32_t minute = (text[3] - '0') * 10 + (text[4] - '0');
    if (hour > 23 || minute > 59)
        return false;
    *ret_min = hour * 60 + minute;
    return true;
}

bool json_in_time_of_day(struct json_in *in, const char *name, enum json_need need, int32_t *ret_min)
{
    const char *text = NULL;
    if (!json_in_text(in, name, need, &text))
        return false;
    if (text == NULL)
        *ret_min = 0;
    else if (!parse_time_of_day(text, ret_min))
        return fault(in, name, "\"%.20s\" is no time of day: write hours and minutes, for example 07:00 or 22:30", text);
    return true;
}

static void list_words(const char *const *words, size_t count, char *text, size_t size)
{
    size_t used = 0;
    text[0] = '\0';
    for (size_t i = 0; i < count && used + 1 < size; i++) {
        int more = snprintf(text + used, size - used, "%s%s", i > 0 ? ", " : "", words[i]);
        used += more > 0 ? (size_t)more : 0;
    }
}

bool json_in_word(struct json_in *in, const char *name, enum json_need need, const char *const *words, size_t count, size_t *ret)
{
    const char *text = NULL;
    char known[256];
    if (!json_in_text(in, name, need, &text))
        return false;
    for (size_t i = 0; text != NULL && i < count; i++) {
        if (strcmp(text, words[i]) == 0) {
            *ret = i;
            return true;
        }
    }
    if (text == NULL) /* null: whatever the caller set before stands */
        return false;
    list_words(words, count, known, sizeof known);
    return fault(in, name, "\"%.40s\" is not known here: use %s", text, known);
}

static struct json_in child(struct json_in *in, const cJSON *object, const char *name)
{
    struct json_in inner = {.object = object, .error = in->error};
    join_path(in, name, inner.path, sizeof inner.path);
    return inner;
}

bool json_in_object(struct json_in *in, const char *name, enum json_need need, struct json_in *ret)
{
    bool none = false;
    const cJSON *node = look_up(in, name, need, &none);
    if (node == NULL)
        return false;
    if (!cJSON_IsObject(node))
        return wrong_kind(in, name, node, "an object");
    *ret = child(in, node, name);
    return true;
}

bool json_in_list(struct json_in *in, const char *name, enum json_need need, unsigned low, unsigned high, struct json_in_list *ret)
{
    bool none = false;
    const cJSON *node = look_up(in, name, need, &none);
    if (node == NULL)
        return false;
    if (!cJSON_IsArray(node))
        return wrong_kind(in, name, node, "a list");
    unsigned count = (unsigned)cJSON_GetArraySize(node);
    if (count < low || count > high)
        return fault(in, name, "%s has %u elements: it must have %u to %u", name, count, low, high);
    *ret = (struct json_in_list){.in = in, .name = name, .next = node->child, .count = count};
    return true;
}

static const cJSON *step(struct json_in_list *list, char *label, size_t size)
{
    const cJSON *node = json_in_failed(list->in) ? NULL : list->next;
    if (node == NULL)
        return NULL;
    snprintf(label, size, "%s[%u]", list->name, list->index++);
    list->next = node->next;
    return node;
}

bool json_in_next_object(struct json_in_list *list, struct json_in *ret)
{
    char label[JSON_IN_PATH_SIZE];
    const cJSON *node = step(list, label, sizeof label);
    if (node == NULL)
        return false;
    if (!cJSON_IsObject(node))
        return wrong_kind(list->in, label, node, "an object");
    *ret = child(list->in, node, label);
    return true;
}

bool json_in_next_id(struct json_in_list *list, int64_t *ret)
{
    char label[JSON_IN_PATH_SIZE];
    const cJSON *node = step(list, label, sizeof label);
    return node != NULL && fit_int(list->in, label, node, 1, ID_MAX, ret);
}

bool json_in_next_string(struct json_in_list *list, char *ret, size_t size)
{
    char label[JSON_IN_PATH_SIZE];
    const cJSON *node = step(list, label, sizeof label);
    return node != NULL && fit_string(list->in, label, node, ret, size);
}
