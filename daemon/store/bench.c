/* Tests at the bench, tins, mixes, open solvent. */
#include "daemon/store/internal.h"

#define NO_WORDS 0

#define BENCH_TEST(X)                                                                                      \
    X(bench_test, INT, coat_id, NO_WORDS) X(bench_test, WORD, stage, WORDS_stage)                           \
    X(bench_test, FLAG, passed, NO_WORDS) X(bench_test, INT, at, NO_WORDS)                                  \
    X(bench_test, INT, entered_at, NO_WORDS)

#define TIN(X)                                                                                             \
    X(tin, INT, material_id, NO_WORDS) X(tin, TEXT, name, NO_WORDS) X(tin, TEXT, batch, NO_WORDS)           \
    X(tin, MOMENT, opened_at, NO_WORDS) X(tin, MOMENT, keep_by_at, NO_WORDS)                                \
    X(tin, INT, added_at, NO_WORDS) X(tin, MOMENT, removed_at, NO_WORDS)

#define MIX(X)                                                                                             \
    X(mix, INT, material_version_id, NO_WORDS) X(mix, REF, place_id, NO_WORDS)                              \
    X(mix, INT, mixed_at, NO_WORDS) X(mix, INT, entered_at, NO_WORDS)

#define RELEASE(X)                                                                                         \
    X(solvent_release, INT, place_id, NO_WORDS) X(solvent_release, TEXT, what, NO_WORDS)                    \
    X(solvent_release, REAL, amount_ml, NO_WORDS) X(solvent_release, INT, at, NO_WORDS)                     \
    X(solvent_release, INT, entered_at, NO_WORDS)

static const struct column bench_test_columns[] = {COLUMN_ID(bench_test) BENCH_TEST(COLUMN_ENTRY)};
static const struct column tin_columns[] = {COLUMN_ID(tin) TIN(COLUMN_ENTRY)};
static const struct column mix_columns[] = {COLUMN_ID(mix) MIX(COLUMN_ENTRY)};
static const struct column release_columns[] = {COLUMN_ID(solvent_release) RELEASE(COLUMN_ENTRY)};

static const struct record bench_test_record = RECORD_OF(bench_test_columns);
static const struct record tin_record = RECORD_OF(tin_columns);
static const struct record mix_record = RECORD_OF(mix_columns);
static const struct record release_record = RECORD_OF(release_columns);

#define FACT_ADD(table, LIST) "INSERT INTO " table " (id" LIST(COLUMN_NAME) ") VALUES (:id" LIST(COLUMN_PARAMETER) ")"
#define ALL_OF(table, LIST) "SELECT id" LIST(COLUMN_NAME) " FROM " table " ORDER BY id"

const struct statement_text bench_statements[] = {
    {BENCH_TEST_ADD, FACT_ADD("bench_test", BENCH_TEST)},
    {BENCH_TEST_LIST, ALL_OF("bench_test", BENCH_TEST)},
    {TIN_ADD, "INSERT INTO tin (id, name_key" TIN(COLUMN_NAME) ") VALUES (:id, :name_key" TIN(COLUMN_PARAMETER) ")"},
    {TIN_PUT, "UPDATE tin SET name_key = :name_key" TIN(COLUMN_SET) " WHERE id = :id"},
    {TIN_LIST, ALL_OF("tin", TIN)},
    {MIX_ADD, FACT_ADD("mix", MIX)},
    {MIX_LIST, ALL_OF("mix", MIX)},
    {RELEASE_ADD, FACT_ADD("vapour_release", RELEASE)},
    {RELEASE_LIST, ALL_OF("vapour_release", RELEASE)},
    {0, NULL},
};

enum coat_result store_bench_test_add(struct store *store, const struct bench_test *test, int64_t *ret_id)
{
    return add_record(store, BENCH_TEST_ADD, &bench_test_record, test, ret_id);
}

enum coat_result store_bench_tests(struct store *store, bool (*each)(const struct bench_test *, void *), void *context)
{
    struct statement *s = statement_use(store, BENCH_TEST_LIST);
    struct bench_test test;
    while (statement_row(s) && take_record(s, &bench_test_record, &test) && each(&test, context))
        ;
    return statement_end(s);
}

enum coat_result store_tin_add(struct store *store, const struct tin *tin, int64_t *ret_id)
{
    assert(store->in_transaction);
    struct statement *s = statement_use(store, TIN_ADD);
    bind_record(s, &tin_record, tin);
    bind_ref(s, ":id", 0); /* the file gives the number */
    bind_name_key(s, tin->name);
    return statement_run_add(s, ret_id);
}

enum coat_result store_tin_put(struct store *store, const struct tin *tin)
{
    assert(store->in_transaction);
    struct statement *s = statement_use(store, TIN_PUT);
    bind_record(s, &tin_record, tin);
    bind_name_key(s, tin->name);
    return statement_run_on_row(s);
}

enum coat_result store_tins(struct store *store, bool (*each)(const struct tin *, void *), void *context)
{
    struct statement *s = statement_use(store, TIN_LIST);
    struct tin tin;
    while (statement_row(s) && take_record(s, &tin_record, &tin) && each(&tin, context))
        ;
    return statement_end(s);
}

enum coat_result store_mix_add(struct store *store, const struct mix *mix, int64_t *ret_id)
{
    return add_record(store, MIX_ADD, &mix_record, mix, ret_id);
}

enum coat_result store_mixes(struct store *store, bool (*each)(const struct mix *, void *), void *context)
{
    struct statement *s = statement_use(store, MIX_LIST);
    struct mix mix;
    while (statement_row(s) && take_record(s, &mix_record, &mix) && each(&mix, context))
        ;
    return statement_end(s);
}

enum coat_result store_release_add(struct store *store, const struct solvent_release *release, int64_t *ret_id)
{
    return add_record(store, RELEASE_ADD, &release_record, release, ret_id);
}

enum coat_result store_releases(struct store *store, bool (*each)(const struct solvent_release *, void *), void *context)
{
    struct statement *s = statement_use(store, RELEASE_LIST);
    struct solvent_release release;
    while (statement_row(s) && take_record(s, &release_record, &release) && each(&release, context))
        ;
    return statement_end(s);
}
