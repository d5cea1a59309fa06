/* Reads a request's JSON through small getters with required or optional, range and length, so that handlers never walk nodes.
 *
 *     struct coat_error error = {0};
 *     struct json_in in = json_in_open(request->json, &error);
 *     json_in_string(&in, "name", JSON_REQUIRED, place.name, sizeof place.name);
 *     json_in_number(&in, "volume_m3", JSON_NULLABLE, 0.001, 1e5, &place.volume_m3);
 *     if (json_in_close(&in) != COAT_OK) …http_problem(request, response, &error);
 *
 * The first fault sticks in *error (with the path of the field, "items[3].rh_pct"); what comes after it does nothing. Each getter returns whether the
 * member was there and good; otherwise *ret is untouched. json_in_close refuses members that nobody asked for, so a misspelt name is told. */
#ifndef COAT_JSON_IN_H
#define COAT_JSON_IN_H

#include "coat/result.h"
#include "coat/words.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct cJSON;

enum json_need {
    JSON_REQUIRED,
    JSON_OPTIONAL, /* may be missing; null is refused */
    JSON_NULLABLE  /* may be missing; null reads as "none": NAN, MOMENT_NONE, 0, "" */
};

#define JSON_IN_NAMES_MAX 40
#define JSON_IN_PATH_SIZE 64

struct json_in {
    const struct cJSON *object; /* NULL reads as an empty object */
    struct coat_error *error;
    char path[JSON_IN_PATH_SIZE]; /* "" or "air" or "items[3]" */
    const char *asked[JSON_IN_NAMES_MAX];
    unsigned asked_count;
};

struct json_in json_in_open(const struct cJSON *object, struct coat_error *error);
COAT_CHECKED enum coat_result json_in_close(struct json_in *in);
bool json_in_has(const struct json_in *in, const char *name); /* also when it is null */
bool json_in_failed(const struct json_in *in);
/* A fault that the handler found itself. */
void json_in_fail(struct json_in *in, const char *name, const char *format, ...) __attribute__((format(printf, 3, 4)));

bool json_in_string(struct json_in *in, const char *name, enum json_need need, char *ret, size_t size); /* at most size - 1 bytes, no control characters but newline and tab */
bool json_in_text(struct json_in *in, const char *name, enum json_need need, const char **ret); /* no copy; NULL for null */
bool json_in_number(struct json_in *in, const char *name, enum json_need need, double low, double high, double *ret);
bool json_in_int(struct json_in *in, const char *name, enum json_need need, int64_t low, int64_t high, int64_t *ret);
bool json_in_int32(struct json_in *in, const char *name, enum json_need need, int32_t low, int32_t high, int32_t *ret);
bool json_in_id(struct json_in *in, const char *name, enum json_need need, int64_t *ret); /* 1 to 2^53; null reads as 0 */
bool json_in_bool(struct json_in *in, const char *name, enum json_need need, bool *ret);
bool json_in_moment(struct json_in *in, const char *name, enum json_need need, int64_t *ret_ms);
bool json_in_time_of_day(struct json_in *in, const char *name, enum json_need need, int32_t *ret_min); /* "22:00", minutes after midnight */
/* One of `count` words; the fault lists them. Use the typed ones below. */
bool json_in_word(struct json_in *in, const char *name, enum json_need need, const char *const *words, size_t count, size_t *ret);

/* A member that is itself an object: false where it is missing (or null when nullable). Close it too. */
bool json_in_object(struct json_in *in, const char *name, enum json_need need, struct json_in *ret);

/* A member that is a list of low to high elements; then one of the `next` functions until it returns false. */
struct json_in_list {
    struct json_in *in;
    const char *name;
    const struct cJSON *next;
    unsigned index; /* of the one to come */
    unsigned count;
};
bool json_in_list(struct json_in *in, const char *name, enum json_need need, unsigned low, unsigned high, struct json_in_list *ret);
bool json_in_next_object(struct json_in_list *list, struct json_in *ret);
bool json_in_next_id(struct json_in_list *list, int64_t *ret);
bool json_in_next_string(struct json_in_list *list, char *ret, size_t size);

/* json_in_role(&in, "role", JSON_OPTIONAL, &coat.role) and so on, one for each word list of coat/words.h. */
#define JSON_IN_WORD_ENTRY(value, word) [value] = (word),
#define JSON_IN_DEFINE_WORD(name, size, list)                                                                     \
    static inline bool json_in_##name(struct json_in *in, const char *member, enum json_need need, enum name *ret) \
    {                                                                                                              \
        static const char *const words[] = {list(JSON_IN_WORD_ENTRY)};                                             \
        size_t index = 0;                                                                                          \
        if (!json_in_word(in, member, need, words, sizeof words / sizeof *words, &index))                          \
            return false;                                                                                          \
        *ret = (enum name)index;                                                                                   \
        return true;                                                                                               \
    }
COAT_WORD_LISTS(JSON_IN_DEFINE_WORD)

#endif
