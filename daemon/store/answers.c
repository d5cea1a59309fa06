/* What requests with an idempotency key were answered. */
#include "daemon/store/internal.h"

#include <string.h>

#define ANSWER_KEPT_MS (7 * MS_PER_DAY)
#define NO_WORDS 0

#define ANSWER(X)                                                                                          \
    X(stored_answer, INT, body_hash, NO_WORDS) X(stored_answer, INT, body_length, NO_WORDS)                 \
    X(stored_answer, TEXT, route, NO_WORDS) X(stored_answer, INT, status, NO_WORDS)                         \
    X(stored_answer, INT, at, NO_WORDS)

static const struct column answer_columns[] = {COLUMN_ENTRY(stored_answer, TEXT, key, NO_WORDS) ANSWER(COLUMN_ENTRY)};
static const struct record answer_record = RECORD_OF(answer_columns);

const struct statement_text answer_statements[] = {
    {ANSWER_GET, "SELECT key" ANSWER(COLUMN_NAME) " FROM answer WHERE key = :key"},
    {ANSWER_ID_LIST, "SELECT id FROM answer_id WHERE key = :key ORDER BY position"},
    {ANSWER_ADD, "INSERT INTO answer (key" ANSWER(COLUMN_NAME) ") VALUES (:key" ANSWER(COLUMN_PARAMETER) ")"},
    {ANSWER_ID_ADD, "INSERT INTO answer_id VALUES (:key, :position, :id)"},
    {ANSWER_DROP, "DELETE FROM answer WHERE at < :before_at"},
    {0, NULL},
};

static enum coat_result read_ids(struct store *store, struct stored_answer *answer)
{
    struct statement *s = statement_use(store, ANSWER_ID_LIST);
    bind_text(s, ":key", answer->key, ANSWER_KEY_SIZE - 1);
    while (statement_row(s)) {
        if (answer->ids == ANSWER_IDS_MAX)
            statement_malformed(s);
        else
            answer->id[answer->ids++] = take_int(s);
    }
    return statement_end(s);
}

enum coat_result store_answer_get(struct store *store, const char *key, struct stored_answer *ret)
{
    struct statement *s = statement_use(store, ANSWER_GET);
    struct stored_answer answer = {0};
    bind_text(s, ":key", key, ANSWER_KEY_SIZE);
    bool found = statement_row(s) && take_record(s, &answer_record, &answer);
    enum coat_result result = statement_end(s);
    if (result == COAT_OK && !found)
        return COAT_NOT_FOUND;
    if (result == COAT_OK)
        result = read_ids(store, &answer);
    if (result == COAT_OK)
        *ret = answer;
    return result;
}

static enum coat_result drop_old(struct store *store, int64_t now_at)
{
    struct statement *s = statement_use(store, ANSWER_DROP);
    bind_int(s, ":before_at", now_at - ANSWER_KEPT_MS);
    return statement_run(s);
}

static enum coat_result write_ids(struct store *store, const struct stored_answer *answer)
{
    enum coat_result result = COAT_OK;
    for (unsigned i = 0; i < answer->ids && result == COAT_OK; i++) {
        struct statement *s = statement_use(store, ANSWER_ID_ADD);
        bind_text(s, ":key", answer->key, ANSWER_KEY_SIZE - 1);
        bind_int(s, ":position", i);
        bind_int(s, ":id", answer->id[i]);
        result = statement_run(s);
    }
    return result == COAT_OK ? COAT_OK : store_spoil(store, result);
}

enum coat_result store_answer_put(struct store *store, const struct stored_answer *answer)
{
    assert(store->in_transaction && answer->ids <= ANSWER_IDS_MAX);
    enum coat_result result = drop_old(store, answer->at);
    if (result != COAT_OK)
        return result;
    struct statement *s = statement_use(store, ANSWER_ADD);
    bind_record(s, &answer_record, answer);
    result = statement_run(s);
    return result == COAT_OK ? write_ids(store, answer) : result;
}
