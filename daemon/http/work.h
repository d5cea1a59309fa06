/* What every handler does around its own few lines: the id of the path, the body, the key, the document, the problem. */
#ifndef COAT_WORK_H
#define COAT_WORK_H

#include "daemon/http/doc.h"
#include "daemon/http/http.h"
#include "daemon/http/token.h"

struct work {
    struct http_context *context;
    const struct http_request *request;
    struct http_response *response;
    struct shop *shop;
    int64_t now_ms;
    int64_t id;                         /* of the path; 0 where it has none */
    struct json_in in;                  /* the body */
    struct shop_write write;
    int64_t made[SHOP_ANSWER_IDS_MAX];  /* ids that the write made: the first is the thing itself */
    unsigned made_count;
    struct doc doc;                     /* what is answered */
    char token[TOKEN_SIZE];             /* of a sensor that posts, or the key of a channel, made just now; else empty */
    struct taken taken;                 /* what became of readings */
    struct coat_error error;
};

typedef enum coat_result (*work_step)(struct work *work);

/* A kind of thing that an id can mean, for 404 and for references in a body. */
struct work_kind {
    const char *noun, *list; /* "piece", "/api/v1/pieces" */
    bool (*exists)(const struct shop *shop, int64_t id);
};
extern const struct work_kind work_place, work_piece, work_rack, work_material, work_coat, work_bake, work_tin, work_sensor, work_channel, work_notice;

/* The arguments of every handler. */
#define WORK_ARGUMENTS struct http_context *context, const struct http_request *request, struct http_response *response

/* `show` writes the document. `kind` is what the id in the path means; NULL where there is none. */
void work_read(WORK_ARGUMENTS, const struct work_kind *kind, work_step show);

/* `execute` reads the body and changes the shop, unless the key was answered before; `show` writes what was made either
 * way, so a repeated write answers alike. */
struct work_plan {
    int status; /* 200 or 201 */
    const struct work_kind *kind;
    work_step execute, show;
};
void work_write(WORK_ARGUMENTS, const struct work_plan *plan);

/* The only thing made, for `execute` to fill and `show` to read; the id of the path where nothing was made. */
void work_made(struct work *work, int64_t id);
int64_t work_subject(const struct work *work);

/* Closes an object within the body; its fault sticks to the whole. */
void work_close(struct json_in *inner);

/* A name: 1 to size - 1 bytes, no control characters, no space around it. */
void work_name(struct json_in *in, const char *member, enum json_need need, char *ret, size_t size);
/* A program and its arguments, 1 to `most` words, kept as the text of a JSON array. */
void work_words(struct json_in *in, const char *member, enum json_need need, unsigned most, char *ret, size_t size);
/* Whether two addresses have the same scheme, host and port: a password is for one server. */
bool work_same_server(const char *a, const char *b);
/* A moment that may not lie in the future. */
void work_past(struct work *work, const char *member, int64_t *ret_ms);
#define WORK_FUTURE_GRACE_MS MS_PER_MIN

/* Faults `member` where there is no such thing. */
void work_known(struct work *work, struct json_in *in, const char *member, const struct work_kind *kind, int64_t id);

/* The member "material". Coats and mixes keep the version they were told under; a material that is named means its newest. */
void work_material_newest(struct work *work, enum json_need need, const struct material_version **ret);

/* The caution texts that a document owes end it: writes them and closes the object. */
void work_end_document(struct work *work);

#endif
