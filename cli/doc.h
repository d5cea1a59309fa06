/* Small getters over the API's documents. Missing, null and ill-typed members all read as "not known", so that no
 * document from outside can trip a command. Paths may be dotted: "air.temp_c". */
#ifndef CLI_DOC_H
#define CLI_DOC_H

#include <cjson/cJSON.h>
#include <stdbool.h>
#include <stdint.h>

const cJSON *doc_get(const cJSON *object, const char *path); /* NULL where there is none, or null */
const char *doc_text(const cJSON *object, const char *path); /* "" */
double doc_number(const cJSON *object, const char *path);    /* NAN */
int64_t doc_id(const cJSON *object, const char *path);       /* 0 */
int64_t doc_moment(const cJSON *object, const char *path);   /* MOMENT_NONE */
bool doc_flag(const cJSON *object, const char *path);        /* false */
bool doc_is(const cJSON *object, const char *path, const char *word);
int doc_count(const cJSON *object, const char *path);        /* of an array; 0 */

/* The member of an array of objects whose "id" it is; NULL. */
const cJSON *doc_by_id(const cJSON *array, int64_t id);

/* Puts an item (taken over; NULL is ignored) at a dotted path, making objects on the way and replacing what stood there. */
void doc_put(cJSON *object, const char *path, cJSON *item);
void doc_put_text(cJSON *object, const char *path, const char *text);
void doc_put_number(cJSON *object, const char *path, double number);
void doc_put_moment(cJSON *object, const char *path, int64_t at_ms);

#endif
