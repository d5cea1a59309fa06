/* Coats and what was done to them: sandings, strippings. */
#include "daemon/store/internal.h"

#define NO_WORDS 0

#define COAT(X)                                                                                            \
    X(coat, INT, entry, NO_WORDS) X(coat, INT, entered_at, NO_WORDS) X(coat, INT, piece_id, NO_WORDS)       \
    X(coat, TEXT, area, NO_WORDS) X(coat, INT, material_version_id, NO_WORDS) X(coat, REF, tin_id, NO_WORDS) \
    X(coat, WORD, role, WORDS_role) X(coat, WORD, application, WORDS_application)                           \
    X(coat, INT, first_at, NO_WORDS) X(coat, INT, last_at, NO_WORDS) X(coat, INT, passes, NO_WORDS)         \
    X(coat, WORD, film, WORDS_film) X(coat, REAL, wet_um, NO_WORDS) X(coat, REAL, dry_um, NO_WORDS)         \
    X(coat, REAL, amount_ml, NO_WORDS) X(coat, REAL, thinned_pct, NO_WORDS)                                 \
    X(coat, TEXT, thinner, NO_WORDS) X(coat, TEXT, note, NO_WORDS) X(coat, MOMENT, struck_at, NO_WORDS)     \
    X(coat, TEXT, struck_why, NO_WORDS)

#define SANDING(X)                                                                                         \
    X(sanding, INT, coat_id, NO_WORDS) X(sanding, INT, at, NO_WORDS) X(sanding, INT, entered_at, NO_WORDS)

#define STRIPPING(X)                                                                                       \
    X(stripping, INT, piece_id, NO_WORDS) X(stripping, TEXT, area, NO_WORDS)                                \
    X(stripping, REF, down_to_coat_id, NO_WORDS) X(stripping, INT, at, NO_WORDS)                            \
    X(stripping, INT, entered_at, NO_WORDS)

static const struct column coat_columns[] = {COLUMN_ID(coat) COAT(COLUMN_ENTRY)};
static const struct column sanding_columns[] = {COLUMN_ID(sanding) SANDING(COLUMN_ENTRY)};
static const struct column stripping_columns[] = {COLUMN_ID(stripping) STRIPPING(COLUMN_ENTRY)};

static const struct record coat_record = RECORD_OF(coat_columns);
static const struct record sanding_record = RECORD_OF(sanding_columns);
static const struct record stripping_record = RECORD_OF(stripping_columns);

#define ENTRY_SELECT "SELECT coat_id" COAT(COLUMN_NAME) " FROM coat_entry AS this"

const struct statement_text coat_statements[] = {
    {COAT_NUMBER, "INSERT INTO coat VALUES (NULL)"},
    {COAT_NEWEST, "SELECT ifnull(max(entry), 0) FROM coat_entry WHERE coat_id = :id"},
    {COAT_ADD, "INSERT INTO coat_entry (coat_id" COAT(COLUMN_NAME) ") VALUES (:id" COAT(COLUMN_PARAMETER) ")"},
    {COAT_LIST, ENTRY_SELECT " WHERE entry = (SELECT max(entry) FROM coat_entry WHERE coat_id = this.coat_id)"
                             " ORDER BY coat_id"},
    {COAT_ENTRIES, ENTRY_SELECT " WHERE coat_id = :id ORDER BY entry"},
    {SANDING_ADD, "INSERT INTO sanding (id" SANDING(COLUMN_NAME) ") VALUES (:id" SANDING(COLUMN_PARAMETER) ")"},
    {SANDING_LIST, "SELECT id" SANDING(COLUMN_NAME) " FROM sanding ORDER BY id"},
    {STRIPPING_ADD, "INSERT INTO stripping (id" STRIPPING(COLUMN_NAME) ") VALUES (:id" STRIPPING(COLUMN_PARAMETER) ")"},
    {STRIPPING_LIST, "SELECT id" STRIPPING(COLUMN_NAME) " FROM stripping ORDER BY id"},
    {0, NULL},
};

/* ---- coats ---- */

/* The number of the next entry of a coat; COAT_NOT_FOUND where there is no such coat. */
static enum coat_result next_entry(struct store *store, int64_t coat_id, int32_t *ret_entry)
{
    struct statement *s = statement_use(store, COAT_NEWEST);
    bind_int(s, ":id", coat_id);
    int64_t newest = statement_row(s) ? take_int(s) : 0;
    enum coat_result result = statement_end(s);
    if (result == COAT_OK && newest == 0)
        return COAT_NOT_FOUND;
    if (result == COAT_OK)
        *ret_entry = (int32_t)newest + 1;
    return result;
}

enum coat_result store_coat_add(struct store *store, struct coat *coat)
{
    assert(store->in_transaction);
    struct coat entry = *coat;
    bool is_new = coat->id == 0;
    entry.entry = 1;
    enum coat_result result = is_new ? statement_run_add(statement_use(store, COAT_NUMBER), &entry.id)
                                     : next_entry(store, coat->id, &entry.entry);
    if (result != COAT_OK)
        return result;
    struct statement *s = statement_use(store, COAT_ADD);
    bind_record(s, &coat_record, &entry);
    result = statement_run(s);
    if (result != COAT_OK)
        return is_new ? store_spoil(store, result) : result; /* its number is taken already */
    *coat = entry;
    return COAT_OK;
}

static enum coat_result list_coats(struct statement *s, bool (*each)(const struct coat *, void *), void *context)
{
    struct coat coat;
    while (statement_row(s) && take_record(s, &coat_record, &coat) && each(&coat, context))
        ;
    return statement_end(s);
}

enum coat_result store_coats(struct store *store, bool (*each)(const struct coat *, void *), void *context)
{
    return list_coats(statement_use(store, COAT_LIST), each, context);
}

enum coat_result store_coat_entries(struct store *store, int64_t coat_id, bool (*each)(const struct coat *, void *),
                                    void *context)
{
    struct statement *s = statement_use(store, COAT_ENTRIES);
    bind_int(s, ":id", coat_id);
    return list_coats(s, each, context);
}

/* ---- what was done to them ---- */

enum coat_result store_sanding_add(struct store *store, const struct sanding *sanding, int64_t *ret_id)
{
    return add_record(store, SANDING_ADD, &sanding_record, sanding, ret_id);
}

enum coat_result store_sandings(struct store *store, bool (*each)(const struct sanding *, void *), void *context)
{
    struct statement *s = statement_use(store, SANDING_LIST);
    struct sanding sanding;
    while (statement_row(s) && take_record(s, &sanding_record, &sanding) && each(&sanding, context))
        ;
    return statement_end(s);
}

enum coat_result store_stripping_add(struct store *store, const struct stripping *stripping, int64_t *ret_id)
{
    return add_record(store, STRIPPING_ADD, &stripping_record, stripping, ret_id);
}

enum coat_result store_strippings(struct store *store, bool (*each)(const struct stripping *, void *), void *context)
{
    struct statement *s = statement_use(store, STRIPPING_LIST);
    struct stripping stripping;
    while (statement_row(s) && take_record(s, &stripping_record, &stripping) && each(&stripping, context))
        ;
    return statement_end(s);
}
