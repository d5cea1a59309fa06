/* Statements: prepared once when the file is opened, named, bound and read with typed functions. Inside daemon/store only.
 *
 * A statement carries its own result, so that a caller binds and reads without looking and asks once, at the end:
 *
 *     struct statement *s = statement_use(store, MOVE_LIST);
 *     while (statement_row(s) && take_record(s, &move_record, &move) && each(&move, context))
 *         ;
 *     return statement_end(s);
 *
 * A record is a table of columns: it ties the members of a fact to the columns of its table, and serves binding, reading and
 * comparing. NAN, MOMENT_NONE, READING_NONE and id 0 are NULL in the file; enums are their words. */
#ifndef COAT_STORE_SQL_H
#define COAT_STORE_SQL_H

#include "coat/result.h"
#include "coat/words.h"

#include <sqlite3.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct store;

#define COAT_STATEMENTS(X)                                                                                \
    X(BEGIN) X(COMMIT) X(REVISION_SET) X(SETTINGS_GET) X(SETTINGS_SET)                     \
    X(PLACE_ADD) X(PLACE_PUT) X(PLACE_LIST) X(PLACE_RISK_ADD) X(PLACE_RISK_CLEAR) X(PLACE_RISK_LIST)       \
    X(PIECE_ADD) X(PIECE_PUT) X(PIECE_LIST) X(PIECE_AREA_ADD) X(PIECE_AREA_CLEAR) X(PIECE_AREA_LIST)       \
    X(RACK_ADD) X(RACK_PUT) X(RACK_LIST) X(RACK_PIECE_ADD) X(RACK_PIECE_CLEAR) X(RACK_PIECE_LIST)          \
    X(MOVE_ADD) X(MOVE_LIST)                                                                              \
    X(MATERIAL_ADD) X(MATERIAL_RENAME) X(MATERIAL_REMOVE) X(MATERIAL_NEWEST) X(MATERIAL_BUILTIN)           \
    X(MATERIAL_SEEDED) X(MATERIAL_NAMED) X(VERSION_ADD) X(VERSION_GET) X(VERSION_LIST)                     \
    X(HAZARD_ADD) X(HAZARD_LIST) X(STAGE_ADD) X(STAGE_LIST) X(BOUNDARY_ADD) X(BOUNDARY_LIST)               \
    X(ROW_ADD) X(ROW_LIST) X(BAKE_ROW_ADD) X(BAKE_ROW_LIST)                                               \
    X(COAT_NUMBER) X(COAT_NEWEST) X(COAT_ADD) X(COAT_LIST) X(COAT_ENTRIES)                                 \
    X(SANDING_ADD) X(SANDING_LIST) X(STRIPPING_ADD) X(STRIPPING_LIST)                                      \
    X(BENCH_TEST_ADD) X(BENCH_TEST_LIST) X(TIN_ADD) X(TIN_PUT) X(TIN_LIST) X(MIX_ADD) X(MIX_LIST) X(RELEASE_ADD) X(RELEASE_LIST) X(PIECE_NOTE_ADD) X(PIECE_NOTE_LIST) X(PHOTO_ADD) X(PHOTO_LIST) X(PHOTO_BYTES) X(PHOTO_DROP)          \
    X(BAKE_ADD) X(BAKE_PUT) X(BAKE_LIST) X(BAKE_PART_ADD) X(BAKE_PART_LIST) X(BAKE_HOLD_ADD) X(BAKE_HOLD_LIST)            \
    X(BAKE_ANSWER_ADD) X(BAKE_ANSWER_LIST) X(BAKE_GAP_ADD) X(BAKE_GAP_PUT) X(BAKE_GAP_LIST) X(BAKE_SEEN_GET) X(BAKE_SEEN_PUT) \
    X(SENSOR_FOR_HAND) X(SENSOR_ADD) X(SENSOR_PUT) X(SENSOR_LIST) X(SENSOR_DROP)                           \
    X(ADJUSTMENT_ADD) X(ADJUSTMENT_LIST) X(HEATING_ADD) X(HEATING_LIST)                                    \
    X(SUSPECT_PUT) X(SUSPECT_DROP) X(SUSPECT_LIST)                                                        \
    X(READING_PUT) X(READING_OPEN) X(READING_RANGE) X(READING_CLEAR) X(READING_BEFORE) X(READING_AFTER)    \
    X(DAY_GET) X(DAY_PUT) X(DAY_RANGE) X(DAY_BEFORE) X(DAY_AFTER) X(DAY_CLEAR)            \
    X(NOTICE_ADD) X(NOTICE_PUT) X(NOTICE_LIST)                                                            \
    X(CHANNEL_ADD) X(CHANNEL_PUT) X(CHANNEL_LIST) X(TRY_ADD) X(TRY_LIST) X(TRY_OF_NOTICE)                  \
    X(LINK_KEY_GET) X(LINK_KEY_PUT) X(LEAD_PUT) X(LEAD_DROP) X(LEAD_LIST)                                  \
    X(ANSWER_GET) X(ANSWER_ID_LIST) X(ANSWER_ADD) X(ANSWER_ID_ADD) X(ANSWER_DROP)

enum statement_id {
#define X(id) id,
    COAT_STATEMENTS(X)
#undef X
    STATEMENT_COUNT
};

/* The SQL of the statements stands with the functions that use them: each file has one such table, ended by a NULL text. */
struct statement_text {
    enum statement_id id;
    const char *sql;
};

struct statement {
    struct store *store;
    sqlite3_stmt *handle;
    const char *name;
    enum coat_result result; /* the first thing that went wrong since statement_use() */
    int column;              /* the next one that take_ reads */
    bool busy;               /* between statement_use() and statement_end(); one use at a time */
};

/* Prepares all statements; on failure the file's schema is not the one this program speaks. */
COAT_CHECKED enum coat_result statements_prepare(struct store *store, struct coat_error *error);
void statements_finalize(struct store *store);

struct statement *statement_use(struct store *store, enum statement_id id);
/* Goes to the next row; false at the end and after any failure. */
bool statement_row(struct statement *s);
/* Resets the statement for its next use and gives the result of this one. */
COAT_CHECKED enum coat_result statement_end(struct statement *s);
/* For statements without rows: step, then end. */
COAT_CHECKED enum coat_result statement_run(struct statement *s);
/* As statement_run, but COAT_NOT_FOUND where no row was changed. */
COAT_CHECKED enum coat_result statement_run_on_row(struct statement *s);
/* As statement_run, and gives the id of the row that was added. */
COAT_CHECKED enum coat_result statement_run_add(struct statement *s, int64_t *ret_id);
/* Marks what was read as malformed: the result becomes COAT_STORE_FAILED. Returns false. */
bool statement_malformed(struct statement *s);

/* Parameters are named with their colon: ":place_id". Text and blobs must live until statement_end(). */
void bind_int(struct statement *s, const char *parameter, int64_t value);
void bind_ref(struct statement *s, const char *parameter, int64_t id);     /* 0 is NULL */
void bind_moment(struct statement *s, const char *parameter, int64_t at);  /* MOMENT_NONE is NULL */
void bind_real(struct statement *s, const char *parameter, double value);  /* NAN is NULL */
void bind_milli(struct statement *s, const char *parameter, int32_t value); /* READING_NONE is NULL */
void bind_text(struct statement *s, const char *parameter, const char *text, size_t size);
void bind_blob(struct statement *s, const char *parameter, const void *bytes, size_t size);
/* The name with its case folded, for columns name_key. */
void bind_name_key(struct statement *s, const char *name);

/* Each reads the next column of the current row. */
int64_t take_int(struct statement *s);
int64_t take_moment(struct statement *s);
int32_t take_milli(struct statement *s);
double take_real(struct statement *s);
void take_text(struct statement *s, char *text, size_t size);

enum column_kind { COLUMN_INT, COLUMN_REF, COLUMN_MOMENT, COLUMN_MILLI, COLUMN_REAL, COLUMN_FLAG, COLUMN_TEXT, COLUMN_WORD };

/* Which list of words.h a COLUMN_WORD is of. */
enum word_list {
#define X(name, count, list) WORDS_##name,
    COAT_WORD_LISTS(X)
#undef X
    WORD_LIST_COUNT
};

struct column {
    const char *parameter; /* the column's name after a colon */
    enum column_kind kind;
    enum word_list words;
    size_t offset, size;
};

struct record {
    const struct column *column;
    size_t columns;
};

/* A record is written once as a list LIST(X) of X(type, kind, member, words); these make its table and its part of the SQL. */
#define COLUMN_ID(type) {":id", COLUMN_REF, 0, offsetof(struct type, id), sizeof(int64_t)},
#define COLUMN_ENTRY(type, kind, member, words)                                                            \
    {":" #member, COLUMN_##kind, (enum word_list)(words), offsetof(struct type, member), sizeof(((struct type *)0)->member)},
#define COLUMN_NAME(type, kind, member, words) ", \"" #member "\""
#define COLUMN_PARAMETER(type, kind, member, words) ", :" #member
#define COLUMN_SET(type, kind, member, words) ", \"" #member "\" = :" #member
#define RECORD_OF(table) {(table), sizeof(table) / sizeof *(table)}

void bind_record(struct statement *s, const struct record *record, const void *value);
bool take_record(struct statement *s, const struct record *record, void *value); /* false where malformed */
bool record_equal(const struct record *record, const void *a, const void *b);

/* One enum by its word. Binding a value outside the list gives COAT_BAD_VALUE. */
void bind_word(struct statement *s, const char *parameter, enum word_list list, unsigned value);
unsigned take_word(struct statement *s, enum word_list list);

/* Adds a fact whose record begins with its id, which the file gives. */
COAT_CHECKED enum coat_result add_record(struct store *store, enum statement_id id, const struct record *record,
                                         const void *value, int64_t *ret_id);

#endif
