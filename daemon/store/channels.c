/* Channels, what came of sending notices over them, and what links are signed with; a shop's own leads. */
#include "daemon/store/internal.h"

#include <string.h>
#include <sys/random.h>

#define NO_WORDS 0

#define CHANNEL(X)                                                                                         \
    X(channel, TEXT, name, NO_WORDS) X(channel, WORD, kind, WORDS_channel_kind) X(channel, TEXT, target, NO_WORDS) \
    X(channel, TEXT, user, NO_WORDS) X(channel, TEXT, secret, NO_WORDS) X(channel, TEXT, from, NO_WORDS)    \
    X(channel, TEXT, to, NO_WORDS) X(channel, TEXT, link, NO_WORDS) X(channel, TEXT, ca_file, NO_WORDS)     \
    X(channel, MOMENT, added_at, NO_WORDS) X(channel, MOMENT, removed_at, NO_WORDS)

#define TRY(X)                                                                                             \
    X(delivery_try, INT, notice_id, NO_WORDS) X(delivery_try, INT, channel_id, NO_WORDS)                    \
    X(delivery_try, INT, at, NO_WORDS) X(delivery_try, FLAG, delivered, NO_WORDS)
#define TRY_WHOLE(X) TRY(X) X(delivery_try, TEXT, answer, NO_WORDS)

#define LEAD(X) X(material_lead, INT, material_id, NO_WORDS) X(material_lead, INT, lead_closing_min, NO_WORDS)

static const struct column channel_columns[] = {COLUMN_ID(channel) CHANNEL(COLUMN_ENTRY)};
static const struct column try_columns[] = {COLUMN_ID(delivery_try) TRY(COLUMN_ENTRY)};
static const struct column try_whole_columns[] = {COLUMN_ID(delivery_try) TRY_WHOLE(COLUMN_ENTRY)};
static const struct column lead_columns[] = {LEAD(COLUMN_ENTRY)};
static const struct record channel_record = RECORD_OF(channel_columns);
static const struct record try_record = RECORD_OF(try_columns);
static const struct record try_whole_record = RECORD_OF(try_whole_columns);
static const struct record lead_record = RECORD_OF(lead_columns);

const struct statement_text channel_statements[] = {
    {CHANNEL_ADD, "INSERT INTO channel (id, name_key" CHANNEL(COLUMN_NAME) ") VALUES (:id, :name_key" CHANNEL(COLUMN_PARAMETER) ")"},
    {CHANNEL_PUT, "UPDATE channel SET name_key = :name_key" CHANNEL(COLUMN_SET) " WHERE id = :id"},
    {CHANNEL_LIST, "SELECT id" CHANNEL(COLUMN_NAME) " FROM channel ORDER BY id"},
    {TRY_ADD, "INSERT INTO delivery_try (id" TRY_WHOLE(COLUMN_NAME) ") VALUES (:id" TRY_WHOLE(COLUMN_PARAMETER) ")"},
    {TRY_LIST, "SELECT id" TRY(COLUMN_NAME) " FROM delivery_try ORDER BY id"},
    {TRY_OF_NOTICE, "SELECT id" TRY_WHOLE(COLUMN_NAME) " FROM delivery_try WHERE notice_id = :notice_id ORDER BY id"},
    {LINK_KEY_GET, "SELECT hex(key) FROM link_key"},
    {LINK_KEY_PUT, "INSERT INTO link_key VALUES (1, :key)"},
    {LEAD_PUT, "INSERT OR REPLACE INTO material_lead VALUES (:material_id, :lead_closing_min)"},
    {LEAD_DROP, "DELETE FROM material_lead WHERE material_id = :material_id"},
    {LEAD_LIST, "SELECT material_id, lead_closing_min FROM material_lead ORDER BY material_id"},
    {0, NULL},
};

/* ---- channels ---- */

static struct statement *bind_channel(struct store *store, enum statement_id id, const struct channel *channel)
{
    assert(store->in_transaction);
    struct statement *s = statement_use(store, id);
    bind_record(s, &channel_record, channel);
    bind_name_key(s, channel->name);
    return s;
}

enum coat_result store_channel_add(struct store *store, const struct channel *channel, int64_t *ret_id)
{
    struct channel added = *channel;
    added.id = 0; /* the file gives the number */
    return statement_run_add(bind_channel(store, CHANNEL_ADD, &added), ret_id);
}

enum coat_result store_channel_put(struct store *store, const struct channel *channel)
{
    return statement_run_on_row(bind_channel(store, CHANNEL_PUT, channel));
}

enum coat_result store_channels(struct store *store, bool (*each)(const struct channel *, void *), void *context)
{
    struct statement *s = statement_use(store, CHANNEL_LIST);
    struct channel channel;
    while (statement_row(s) && take_record(s, &channel_record, &channel) && each(&channel, context))
        ;
    return statement_end(s);
}

/* ---- tries ---- */

enum coat_result store_try_add(struct store *store, struct delivery_try *try)
{
    return add_record(store, TRY_ADD, &try_whole_record, try, &try->id);
}

static enum coat_result list_tries(struct statement *s, const struct record *record, bool (*each)(const struct delivery_try *, void *), void *context)
{
    struct delivery_try try = {0};
    while (statement_row(s) && take_record(s, record, &try) && each(&try, context))
        ;
    return statement_end(s);
}

enum coat_result store_tries(struct store *store, bool (*each)(const struct delivery_try *, void *), void *context)
{
    return list_tries(statement_use(store, TRY_LIST), &try_record, each, context);
}

enum coat_result store_tries_of(struct store *store, int64_t notice_id, bool (*each)(const struct delivery_try *, void *), void *context)
{
    struct statement *s = statement_use(store, TRY_OF_NOTICE);
    bind_int(s, ":notice_id", notice_id);
    return list_tries(s, &try_whole_record, each, context);
}

/* ---- leads ---- */

enum coat_result store_material_lead_put(struct store *store, const struct material_lead *lead)
{
    assert(store->in_transaction);
    bool drop = lead->lead_closing_min < 0;
    struct statement *s = statement_use(store, drop ? LEAD_DROP : LEAD_PUT);
    if (drop)
        bind_int(s, ":material_id", lead->material_id);
    else
        bind_record(s, &lead_record, lead);
    return statement_run(s);
}

enum coat_result store_material_leads(struct store *store, bool (*each)(const struct material_lead *, void *), void *context)
{
    struct statement *s = statement_use(store, LEAD_LIST);
    struct material_lead lead;
    while (statement_row(s) && take_record(s, &lead_record, &lead) && each(&lead, context))
        ;
    return statement_end(s);
}

/* ---- the key ---- */

static unsigned nibble(char digit)
{
    return digit <= '9' ? (unsigned)(digit - '0') : (unsigned)(digit - 'A' + 10);
}

static enum coat_result read_key(struct store *store, unsigned char key[LINK_KEY_SIZE])
{
    char hex[2 * LINK_KEY_SIZE + 1] = "";
    struct statement *s = statement_use(store, LINK_KEY_GET);
    bool found = statement_row(s);
    if (found)
        take_text(s, hex, sizeof hex);
    enum coat_result result = statement_end(s);
    if (result != COAT_OK || !found)
        return result != COAT_OK ? result : COAT_NOT_FOUND;
    for (size_t i = 0; i < LINK_KEY_SIZE; i++)
        key[i] = (unsigned char)(nibble(hex[2 * i]) << 4 | nibble(hex[2 * i + 1]));
    return COAT_OK;
}

static enum coat_result make_key(struct store *store, unsigned char key[LINK_KEY_SIZE])
{
    if (getrandom(key, LINK_KEY_SIZE, 0) != LINK_KEY_SIZE)
        return COAT_STORE_FAILED;
    enum coat_result result = store_begin(store);
    if (result != COAT_OK)
        return result;
    struct statement *s = statement_use(store, LINK_KEY_PUT);
    bind_blob(s, ":key", key, LINK_KEY_SIZE);
    result = statement_run(s);
    if (result == COAT_OK)
        result = store_commit(store);
    if (result != COAT_OK)
        store_rollback(store);
    return result;
}

enum coat_result store_link_key(struct store *store, unsigned char ret[LINK_KEY_SIZE])
{
    unsigned char key[LINK_KEY_SIZE];
    enum coat_result result = read_key(store, key);
    if (result == COAT_NOT_FOUND)
        result = make_key(store, key);
    if (result == COAT_OK)
        memcpy(ret, key, LINK_KEY_SIZE);
    return result;
}
