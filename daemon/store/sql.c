#include "daemon/store/internal.h"

#include <errno.h>
#include <math.h>
#include <string.h>

static const char *const statement_names[STATEMENT_COUNT] = {
#define X(id) [id] = #id,
    COAT_STATEMENTS(X)
#undef X
};

static const struct statement_text *const statement_texts[] = {
    transaction_statements, shop_statements,    material_statements, coat_statements,
    bench_statements,       bake_statements,        sensor_statements, reading_statements,  notice_statements,   answer_statements,
    channel_statements,     photo_statements,
};

/* ---- preparing ---- */

static enum coat_result prepare_one(struct store *store, const struct statement_text *text, struct coat_error *error)
{
    struct statement *s = &store->statement[text->id];
    assert(!s->handle); /* two texts for one statement */
    int code = sqlite3_prepare_v3(store->db, text->sql, -1, SQLITE_PREPARE_PERSISTENT, &s->handle, NULL);
    if (code != SQLITE_OK)
        return store_fail(store, code, error);
    s->store = store;
    s->name = statement_names[text->id];
    return COAT_OK;
}

enum coat_result statements_prepare(struct store *store, struct coat_error *error)
{
    for (size_t i = 0; i < sizeof statement_texts / sizeof *statement_texts; i++) {
        for (const struct statement_text *text = statement_texts[i]; text->sql; text++) {
            enum coat_result result = prepare_one(store, text, error);
            if (result != COAT_OK)
                return result;
        }
    }
    for (size_t i = 0; i < STATEMENT_COUNT; i++)
        assert(store->statement[i].handle); /* one without a text */
    return COAT_OK;
}

void statements_finalize(struct store *store)
{
    for (size_t i = 0; i < STATEMENT_COUNT; i++) {
        assert(!store->statement[i].busy); /* a statement_use() without its statement_end() */
        sqlite3_finalize(store->statement[i].handle);
        store->statement[i].handle = NULL;
    }
}

/* ---- using ---- */

/* No room, a quota, a limit: the same to whoever has to make room, but SQLite knows only the first from a disk that fails. */
static bool lacks_room(int sqlite_code, int cause)
{
    return (sqlite_code & 0xff) == SQLITE_IOERR && (cause == ENOSPC || cause == EDQUOT || cause == EFBIG);
}

/* SQLite's code as ours, for a statement in the middle of the work; `cause` is what errno was after it. */
static enum coat_result result_of(int sqlite_code, int cause)
{
    if (lacks_room(sqlite_code, cause))
        return COAT_STORE_FULL;
    switch (sqlite_code) {
    case SQLITE_CONSTRAINT_UNIQUE:
    case SQLITE_CONSTRAINT_PRIMARYKEY:
        return COAT_CONFLICT;
    case SQLITE_CONSTRAINT_FOREIGNKEY: /* an id that names nothing */
        return COAT_NOT_FOUND;
    case SQLITE_CONSTRAINT_CHECK:
    case SQLITE_CONSTRAINT_NOTNULL:
        return COAT_BAD_VALUE;
    default:
        break;
    }
    switch (sqlite_code & 0xff) {
    case SQLITE_OK:
    case SQLITE_ROW:
    case SQLITE_DONE:
        return COAT_OK;
    case SQLITE_FULL:
        return COAT_STORE_FULL;
    case SQLITE_NOMEM:
        return COAT_NO_MEMORY;
    case SQLITE_TOOBIG:
        return COAT_TOO_LARGE;
    default:
        return COAT_STORE_FAILED;
    }
}

static void note_code(struct statement *s, int code)
{
    if (s->result == COAT_OK)
        s->result = result_of(code, errno);
}

static bool is_refusal(enum coat_result result)
{
    return result == COAT_CONFLICT || result == COAT_NOT_FOUND || result == COAT_BAD_VALUE;
}

struct statement *statement_use(struct store *store, enum statement_id id)
{
    struct statement *s = &store->statement[id];
    assert(!s->busy); /* a list function was called from within its own `each` */
    s->busy = true;
    s->result = store->in_transaction ? store->failure : COAT_OK; /* where SQLite has rolled back, what follows would be kept by itself */
    s->column = 0;
    return s;
}

bool statement_row(struct statement *s)
{
    assert(s->busy);
    if (s->result != COAT_OK)
        return false;
    s->column = 0;
    errno = 0;
    int code = sqlite3_step(s->handle);
    note_code(s, code);
    return code == SQLITE_ROW;
}

enum coat_result statement_end(struct statement *s)
{
    assert(s->busy);
    sqlite3_reset(s->handle);
    sqlite3_clear_bindings(s->handle);
    s->busy = false;
    /* What is refused leaves the transaction as it was; after anything else SQLite may have rolled it back itself. */
    if (s->result != COAT_OK && !is_refusal(s->result) && s->store->in_transaction)
        store_spoil(s->store, s->result);
    return s->result;
}

enum coat_result statement_run(struct statement *s)
{
    bool row = statement_row(s);
    assert(!row);
    (void)row;
    return statement_end(s);
}

enum coat_result statement_run_on_row(struct statement *s)
{
    enum coat_result result = statement_run(s);
    if (result == COAT_OK && sqlite3_changes(s->store->db) == 0)
        return COAT_NOT_FOUND;
    return result;
}

enum coat_result statement_run_add(struct statement *s, int64_t *ret_id)
{
    enum coat_result result = statement_run(s);
    if (result == COAT_OK)
        *ret_id = sqlite3_last_insert_rowid(s->store->db);
    return result;
}

bool statement_malformed(struct statement *s)
{
    if (s->result == COAT_OK)
        s->result = COAT_STORE_FAILED;
    return false;
}

/* ---- binding ---- */

static int parameter_index(const struct statement *s, const char *parameter)
{
    int index = sqlite3_bind_parameter_index(s->handle, parameter);
    assert(index > 0); /* the statement has no such parameter */
    return index;
}

void bind_int(struct statement *s, const char *parameter, int64_t value)
{
    note_code(s, sqlite3_bind_int64(s->handle, parameter_index(s, parameter), value));
}

static void bind_int_or_null(struct statement *s, const char *parameter, int64_t value, int64_t null_value)
{
    if (value == null_value)
        note_code(s, sqlite3_bind_null(s->handle, parameter_index(s, parameter)));
    else
        bind_int(s, parameter, value);
}

void bind_ref(struct statement *s, const char *parameter, int64_t id)
{
    bind_int_or_null(s, parameter, id, 0);
}

void bind_moment(struct statement *s, const char *parameter, int64_t at)
{
    bind_int_or_null(s, parameter, at, MOMENT_NONE);
}

void bind_milli(struct statement *s, const char *parameter, int32_t value)
{
    bind_int_or_null(s, parameter, value, READING_NONE);
}

void bind_real(struct statement *s, const char *parameter, double value)
{
    note_code(s, sqlite3_bind_double(s->handle, parameter_index(s, parameter), value)); /* SQLite makes NaN NULL */
}

void bind_text(struct statement *s, const char *parameter, const char *text, size_t size)
{
    int length = (int)strnlen(text, size);
    note_code(s, sqlite3_bind_text(s->handle, parameter_index(s, parameter), text, length, SQLITE_STATIC));
}

void bind_blob(struct statement *s, const char *parameter, const void *bytes, size_t size)
{
    note_code(s, sqlite3_bind_blob64(s->handle, parameter_index(s, parameter), bytes, size, SQLITE_STATIC));
}

void bind_name_key(struct statement *s, const char *name)
{
    char key[NAME_SIZE];
    name_fold(name, key, sizeof key);
    note_code(s, sqlite3_bind_text(s->handle, parameter_index(s, ":name_key"), key, -1, SQLITE_TRANSIENT));
}

/* ---- reading ---- */

static bool take_typed(struct statement *s, int type, int *ret_column)
{
    *ret_column = s->column++;
    if (sqlite3_column_type(s->handle, *ret_column) == type)
        return true;
    return statement_malformed(s);
}

static bool take_null(struct statement *s)
{
    if (sqlite3_column_type(s->handle, s->column) != SQLITE_NULL)
        return false;
    s->column++;
    return true;
}

int64_t take_int(struct statement *s)
{
    int column;
    return take_typed(s, SQLITE_INTEGER, &column) ? sqlite3_column_int64(s->handle, column) : 0;
}

int64_t take_moment(struct statement *s)
{
    return take_null(s) ? MOMENT_NONE : take_int(s);
}

int32_t take_milli(struct statement *s)
{
    return take_null(s) ? READING_NONE : (int32_t)take_int(s);
}

double take_real(struct statement *s)
{
    if (take_null(s))
        return (double)NAN;
    int column;
    return take_typed(s, SQLITE_FLOAT, &column) ? sqlite3_column_double(s->handle, column) : (double)NAN;
}

void take_text(struct statement *s, char *text, size_t size)
{
    int column;
    if (!take_typed(s, SQLITE_TEXT, &column))
        return;
    const unsigned char *from = sqlite3_column_text(s->handle, column);
    size_t length = (size_t)sqlite3_column_bytes(s->handle, column);
    if (!from || length >= size || memchr(from, 0, length)) {
        statement_malformed(s); /* not ours: everything we write fits */
        return;
    }
    memcpy(text, from, length);
    text[length] = 0;
}

/* ---- words ---- */

#define DEFINE_WORD_PAIR(name, count, list)                                                               \
    static const char *print_##name(unsigned value)                                                       \
    {                                                                                                     \
        return value < (unsigned)(count) ? name##_word((enum name)value) : NULL;                          \
    }                                                                                                     \
    static bool parse_##name(const char *word, unsigned *ret)                                             \
    {                                                                                                     \
        enum name value;                                                                                  \
        if (!name##_from_word(word, &value))                                                              \
            return false;                                                                                 \
        *ret = (unsigned)value;                                                                           \
        return true;                                                                                      \
    }
COAT_WORD_LISTS(DEFINE_WORD_PAIR)

static const struct {
    const char *(*print)(unsigned value);
    bool (*parse)(const char *word, unsigned *ret);
} word_lists[WORD_LIST_COUNT] = {
#define X(name, count, list) [WORDS_##name] = {print_##name, parse_##name},
    COAT_WORD_LISTS(X)
#undef X
};

void bind_word(struct statement *s, const char *parameter, enum word_list list, unsigned value)
{
    const char *word = word_lists[list].print(value);
    if (word)
        bind_text(s, parameter, word, strlen(word));
    else if (s->result == COAT_OK)
        s->result = COAT_BAD_VALUE;
}

unsigned take_word(struct statement *s, enum word_list list)
{
    int column;
    unsigned value = 0;
    if (!take_typed(s, SQLITE_TEXT, &column))
        return 0;
    const char *word = (const char *)sqlite3_column_text(s->handle, column);
    if (!word || !word_lists[list].parse(word, &value))
        statement_malformed(s);
    return value;
}

/* ---- records ---- */

static int64_t load_int(const struct column *column, const void *member)
{
    if (column->kind == COLUMN_FLAG)
        return *(const bool *)member;
    if (column->size == sizeof(int32_t))
        return *(const int32_t *)member;
    assert(column->size == sizeof(int64_t));
    return *(const int64_t *)member;
}

static void bind_column(struct statement *s, const struct column *column, const void *member)
{
    switch (column->kind) {
    case COLUMN_INT:
    case COLUMN_FLAG:
        bind_int(s, column->parameter, load_int(column, member));
        return;
    case COLUMN_REF:
        bind_ref(s, column->parameter, load_int(column, member));
        return;
    case COLUMN_MOMENT:
        bind_moment(s, column->parameter, load_int(column, member));
        return;
    case COLUMN_MILLI:
        bind_milli(s, column->parameter, *(const int32_t *)member);
        return;
    case COLUMN_REAL:
        bind_real(s, column->parameter, *(const double *)member);
        return;
    case COLUMN_TEXT:
        bind_text(s, column->parameter, member, column->size - 1);
        return;
    case COLUMN_WORD:
        bind_word(s, column->parameter, column->words, *(const unsigned *)member);
        return;
    }
}

void bind_record(struct statement *s, const struct record *record, const void *value)
{
    for (size_t i = 0; i < record->columns; i++)
        bind_column(s, &record->column[i], (const char *)value + record->column[i].offset);
}

static void take_sized_int(struct statement *s, const struct column *column, void *member)
{
    int64_t value = take_int(s);
    if (column->size == sizeof(int64_t)) {
        *(int64_t *)member = value;
        return;
    }
    if (value < INT32_MIN || value > INT32_MAX)
        statement_malformed(s);
    else
        *(int32_t *)member = (int32_t)value;
}

static void take_column(struct statement *s, const struct column *column, void *member)
{
    switch (column->kind) {
    case COLUMN_INT:
        take_sized_int(s, column, member);
        return;
    case COLUMN_FLAG:
        *(bool *)member = take_int(s) != 0;
        return;
    case COLUMN_REF:
        *(int64_t *)member = take_null(s) ? 0 : take_int(s);
        return;
    case COLUMN_MOMENT:
        *(int64_t *)member = take_moment(s);
        return;
    case COLUMN_MILLI:
        *(int32_t *)member = take_milli(s);
        return;
    case COLUMN_REAL:
        *(double *)member = take_real(s);
        return;
    case COLUMN_TEXT:
        take_text(s, member, column->size);
        return;
    case COLUMN_WORD:
        *(unsigned *)member = take_word(s, column->words);
        return;
    }
}

bool take_record(struct statement *s, const struct record *record, void *value)
{
    for (size_t i = 0; i < record->columns; i++)
        take_column(s, &record->column[i], (char *)value + record->column[i].offset);
    return s->result == COAT_OK;
}

static bool column_equal(const struct column *column, const void *a, const void *b)
{
    if (column->kind == COLUMN_TEXT)
        return strncmp(a, b, column->size) == 0;
    if (column->kind != COLUMN_REAL)
        return memcmp(a, b, column->size) == 0;
    double x = *(const double *)a, y = *(const double *)b;
    return (isnan(x) && isnan(y)) || x == y;
}

bool record_equal(const struct record *record, const void *a, const void *b)
{
    for (size_t i = 0; i < record->columns; i++) {
        size_t offset = record->column[i].offset;
        if (!column_equal(&record->column[i], (const char *)a + offset, (const char *)b + offset))
            return false;
    }
    return true;
}

enum coat_result add_record(struct store *store, enum statement_id id, const struct record *record, const void *value,
                            int64_t *ret_id)
{
    assert(store->in_transaction);
    struct statement *s = statement_use(store, id);
    bind_record(s, record, value);
    bind_ref(s, ":id", 0); /* the file gives the number */
    return statement_run_add(s, ret_id);
}
