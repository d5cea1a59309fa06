/* What a function that can fail returns, and the error that a person reads.
 *
 * One enum, one text a code, both from the list below. Low layers return codes and stay silent; the layer
 * that knows what was asked fills a struct coat_error that names what was wrong and what would do. */
#ifndef COAT_RESULT_H
#define COAT_RESULT_H

#include <stdbool.h>
#include <stdio.h>

#define COAT_RESULTS(X)                                                                                  \
    X(COAT_OK, "done")                                                                                    \
    X(COAT_BAD_VALUE, "a value is not usable")             /* 422: well formed, but not believable */     \
    X(COAT_BAD_FORM, "the request is ill formed")          /* 400 */                                      \
    X(COAT_NOT_FOUND, "there is no such thing")            /* 404 */                                      \
    X(COAT_CONFLICT, "it clashes with what is recorded")   /* 409 */                                      \
    X(COAT_NOT_ALLOWED, "that is not allowed")             /* 403 */                                      \
    X(COAT_TOO_LARGE, "it is too large")                   /* 413 */                                      \
    X(COAT_OUT_OF_RANGE, "outside the range the formula was made for")                                    \
    X(COAT_NO_MEMORY, "out of memory")                     /* 503 */                                      \
    X(COAT_STORE_BUSY, "another program has the file open")                                               \
    X(COAT_STORE_NEWER, "the file was written by a newer program")                                        \
    X(COAT_STORE_FOREIGN, "the file is not a cure record")                                                \
    X(COAT_STORE_FULL, "the disk is full")                 /* 507 */                                      \
    X(COAT_STORE_FAILED, "the store failed")               /* 500 */

enum coat_result {
#define X(code, text) code,
    COAT_RESULTS(X)
#undef X
    COAT_RESULT_COUNT
};

#define COAT_CHECKED __attribute__((warn_unused_result))

/* A number that was read, and from where to where it would do, both ends included, in the unit of its field. */
struct coat_range {
    double value, least, most;
};

/* `field` is the name of the value at fault ("temp_c", "piece"), empty where none is; `text` is one sentence or
 * two: what was read, and what would do. Both are NUL-terminated and truncated to fit. `range` says the same of a
 * number in figures, for those who tell it in other units; it stands only where `has_range`. */
struct coat_error {
    enum coat_result code;
    bool has_range;
    struct coat_range range;
    char field[64];
    char text[320];
};

/* The fixed text of a code; never NULL. */
const char *coat_result_text(enum coat_result code);

/* Fills *error (which may be NULL) and returns `code`, so that `return coat_fail(error, …)` reads well. */
enum coat_result coat_fail(struct coat_error *error, enum coat_result code, const char *field, const char *format, ...)
    __attribute__((format(printf, 4, 5)));

/* The same for a number outside its range: COAT_BAD_VALUE, with the sentence that says so of the member `name`. */
enum coat_result coat_fail_range(struct coat_error *error, const char *field, const char *name, struct coat_range range);

#endif
