#include "cli/doc.h"

#include "coat/moment.h"

#include <math.h>
#include <string.h>

#define NAME_MAX_BYTES 64

/* Copies the first name of a dotted path; returns what follows it, NULL at the end. A name too long matches nothing. */
static const char *split_path(const char *path, char name[NAME_MAX_BYTES])
{
    size_t length = strcspn(path, ".");
    size_t kept = length < NAME_MAX_BYTES ? length : 0;
    memcpy(name, path, kept);
    name[kept] = '\0';
    return path[length] == '.' ? path + length + 1 : NULL;
}

const cJSON *doc_get(const cJSON *object, const char *path)
{
    const cJSON *at = object;
    while (path != NULL && at != NULL) {
        char name[NAME_MAX_BYTES];
        path = split_path(path, name);
        at = cJSON_GetObjectItemCaseSensitive(at, name);
    }
    return cJSON_IsNull(at) ? NULL : at;
}

const char *doc_text(const cJSON *object, const char *path)
{
    const char *text = cJSON_GetStringValue(doc_get(object, path));
    return text != NULL ? text : "";
}

double doc_number(const cJSON *object, const char *path)
{
    const cJSON *item = doc_get(object, path);
    return cJSON_IsNumber(item) ? item->valuedouble : (double)NAN;
}

int64_t doc_id(const cJSON *object, const char *path)
{
    double number = doc_number(object, path);
    return number >= 1.0 && number <= 9007199254740991.0 ? (int64_t)number : 0; /* whole numbers a double holds */
}

int64_t doc_moment(const cJSON *object, const char *path)
{
    int64_t at_ms = MOMENT_NONE;
    if (moment_parse(doc_text(object, path), &at_ms, NULL) != COAT_OK)
        return MOMENT_NONE;
    return at_ms;
}

bool doc_flag(const cJSON *object, const char *path)
{
    return cJSON_IsTrue(doc_get(object, path)) != 0;
}

bool doc_is(const cJSON *object, const char *path, const char *word)
{
    return strcmp(doc_text(object, path), word) == 0;
}

int doc_count(const cJSON *object, const char *path)
{
    const cJSON *item = doc_get(object, path);
    return cJSON_IsArray(item) ? cJSON_GetArraySize(item) : 0;
}

const cJSON *doc_by_id(const cJSON *array, int64_t id)
{
    const cJSON *item = NULL;
    cJSON_ArrayForEach(item, array)
    {
        if (id != 0 && doc_id(item, "id") == id)
            return item;
    }
    return NULL;
}

void doc_put(cJSON *object, const char *path, cJSON *item)
{
    char name[NAME_MAX_BYTES];
    const char *rest = split_path(path, name);
    for (; rest != NULL; rest = split_path(rest, name)) {
        cJSON *inner = cJSON_GetObjectItemCaseSensitive(object, name);
        object = inner != NULL ? inner : cJSON_AddObjectToObject(object, name);
    }
    if (item == NULL)
        return;
    cJSON_DeleteItemFromObjectCaseSensitive(object, name);
    if (!cJSON_AddItemToObject(object, name, item))
        cJSON_Delete(item);
}

void doc_put_text(cJSON *object, const char *path, const char *text)
{
    doc_put(object, path, cJSON_CreateString(text));
}

void doc_put_number(cJSON *object, const char *path, double number)
{
    doc_put(object, path, cJSON_CreateNumber(number));
}

void doc_put_moment(cJSON *object, const char *path, int64_t at_ms)
{
    char text[MOMENT_TEXT_SIZE];
    doc_put_text(object, path, moment_print(at_ms, text));
}
