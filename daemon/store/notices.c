/* Notices: facts before they are sent anywhere, raised once. */
#include "daemon/store/internal.h"

#define NO_WORDS 0

#define NOTICE(X)                                                                                          \
    X(notice, WORD, kind, WORDS_notice_kind) X(notice, REF, coat_id, NO_WORDS) X(notice, REF, mix_id, NO_WORDS) \
    X(notice, REF, place_id, NO_WORDS) X(notice, REF, sensor_id, NO_WORDS) X(notice, REF, bake_id, NO_WORDS) \
    X(notice, WORD, stage, WORDS_stage) X(notice, INT, boundary, NO_WORDS) X(notice, INT, turn, NO_WORDS)   \
    X(notice, MOMENT, due_at, NO_WORDS) X(notice, MOMENT, until_at, NO_WORDS)                               \
    X(notice, FLAG, assumed, NO_WORDS) X(notice, INT, raised_at, NO_WORDS)                                  \
    X(notice, MOMENT, withdrawn_at, NO_WORDS) X(notice, MOMENT, acknowledged_at, NO_WORDS)                  \
    X(notice, REF, group_id, NO_WORDS) X(notice, MOMENT, told_at, NO_WORDS) X(notice, TEXT, text, NO_WORDS)

static const struct column notice_columns[] = {COLUMN_ID(notice) NOTICE(COLUMN_ENTRY)};
static const struct record notice_record = RECORD_OF(notice_columns);

const struct statement_text notice_statements[] = {
    {NOTICE_ADD, "INSERT INTO notice (id" NOTICE(COLUMN_NAME) ") VALUES (:id" NOTICE(COLUMN_PARAMETER) ")"},
    {NOTICE_PUT, "UPDATE notice SET withdrawn_at = :withdrawn_at, acknowledged_at = :acknowledged_at, told_at = :told_at WHERE id = :id"},
    {NOTICE_LIST, "SELECT id" NOTICE(COLUMN_NAME) " FROM notice WHERE id > :after_id ORDER BY id"},
    {0, NULL},
};

enum coat_result store_notice_add(struct store *store, struct notice *notice)
{
    enum coat_result result = add_record(store, NOTICE_ADD, &notice_record, notice, &notice->id);
    if (result == COAT_OK && notice->group_id == 0)
        notice->group_id = notice->id;
    return result;
}

enum coat_result store_notice_put(struct store *store, const struct notice *notice)
{
    assert(store->in_transaction);
    struct statement *s = statement_use(store, NOTICE_PUT);
    bind_int(s, ":id", notice->id);
    bind_moment(s, ":withdrawn_at", notice->withdrawn_at);
    bind_moment(s, ":acknowledged_at", notice->acknowledged_at);
    bind_moment(s, ":told_at", notice->told_at);
    return statement_run_on_row(s);
}

enum coat_result store_notices(struct store *store, int64_t after_id, bool (*each)(const struct notice *, void *),
                               void *context)
{
    struct statement *s = statement_use(store, NOTICE_LIST);
    struct notice notice;
    bind_int(s, ":after_id", after_id);
    while (statement_row(s) && take_record(s, &notice_record, &notice)) {
        if (notice.group_id == 0)
            notice.group_id = notice.id; /* it stands for itself */
        if (!each(&notice, context))
            break;
    }
    return statement_end(s);
}
