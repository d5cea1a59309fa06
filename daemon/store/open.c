/* Opening, the transaction, the revision, closing. */
#include "daemon/store/internal.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define OPEN_WAIT_MS 200 /* for a program that looked into the file for a moment */

const struct statement_text transaction_statements[] = {
    {BEGIN, "BEGIN IMMEDIATE"},
    {COMMIT, "COMMIT"},
    {REVISION_SET, "UPDATE revision SET revision = :revision"},
    {0, NULL},
};

/* ---- what went wrong, for a person ---- */

/* By SQLite's primary code; the text takes the path. The last row stands for all others. */
static const struct {
    int code;
    enum coat_result result;
    const char *text;
} open_failures[] = {
    {SQLITE_BUSY, COAT_STORE_BUSY, "is open in another program: stop that one (is coatd running already?), or name another file with --db"},
    {SQLITE_LOCKED, COAT_STORE_BUSY, "is open in another program: stop that one (is coatd running already?), or name another file with --db"},
    {SQLITE_NOTADB, COAT_STORE_FOREIGN, "is not a cure record: name another file with --db"},
    {SQLITE_CANTOPEN, COAT_NOT_ALLOWED, "cannot be opened: give this user the right to write it and its folder, or name another file with --db"},
    {SQLITE_READONLY, COAT_NOT_ALLOWED, "cannot be written: give this user the right to write it and its folder, or name another file with --db"},
    {SQLITE_PERM, COAT_NOT_ALLOWED, "may not be used: give this user the right to write it and its folder, or name another file with --db"},
    {SQLITE_FULL, COAT_STORE_FULL, "cannot grow, the disk is full: make room and start again"},
    {SQLITE_NOMEM, COAT_NO_MEMORY, "cannot be opened, memory is short: stop something else and start again"},
    {SQLITE_CORRUPT, COAT_STORE_FAILED, "is damaged: put the newest backup in its place (coat restore)"},
    {SQLITE_OK, COAT_STORE_FAILED, "cannot be used: look at the disk, or put the newest backup in its place (coat restore)"},
};

enum coat_result store_fail(struct store *store, int sqlite_code, struct coat_error *error)
{
    size_t i = 0;
    while (open_failures[i].code != (sqlite_code & 0xff) && open_failures[i].code != SQLITE_OK)
        i++;
    return coat_fail(error, open_failures[i].result, "db", "%.120s %s (%.60s)", store->path, open_failures[i].text,
                     sqlite3_errstr(sqlite_code));
}

static enum coat_result fail_errno(const char *path, int code, struct coat_error *error)
{
    if (code == ENOSPC || code == EDQUOT)
        return coat_fail(error, COAT_STORE_FULL, "db", "%.160s cannot be made, the disk is full: make room and start again", path);
    return coat_fail(error, COAT_NOT_ALLOWED, "db",
                     "%.160s cannot be made (%.60s): give this user the right to write there, or name another file with --db", path,
                     strerror(code));
}

enum coat_result store_exec(struct store *store, const char *sql, struct coat_error *error)
{
    int code = sqlite3_exec(store->db, sql, NULL, NULL, NULL);
    return code == SQLITE_OK ? COAT_OK : store_fail(store, code, error);
}

enum coat_result store_query_int(struct store *store, const char *sql, int64_t *ret, struct coat_error *error)
{
    sqlite3_stmt *handle = NULL;
    int code = sqlite3_prepare_v2(store->db, sql, -1, &handle, NULL);
    if (code == SQLITE_OK)
        code = sqlite3_step(handle);
    if (code == SQLITE_ROW)
        *ret = sqlite3_column_int64(handle, 0);
    else if (code == SQLITE_DONE)
        *ret = 0;
    sqlite3_finalize(handle);
    return code == SQLITE_ROW || code == SQLITE_DONE ? COAT_OK : store_fail(store, code, error);
}

/* ---- the file ---- */

/* Makes the folders that lead to `path`, for this user alone. */
static enum coat_result make_folders(const char *path, struct coat_error *error)
{
    enum coat_result result = COAT_OK;
    char *folder = strdup(path);
    if (!folder)
        return coat_fail(error, COAT_NO_MEMORY, "db", "%.160s cannot be opened, memory is short", path);
    for (char *slash = strchr(folder + 1, '/'); slash && result == COAT_OK; slash = strchr(slash + 1, '/')) {
        struct stat found;
        *slash = 0;
        if (stat(folder, &found) != 0 && mkdir(folder, 0700) != 0 && errno != EEXIST)
            result = fail_errno(folder, errno, error);
        *slash = '/';
    }
    free(folder);
    return result;
}

/* Makes an empty file where there is none. Never opens one that is there: closing it again would drop the locks of a
 * store that this process has open on it. */
static enum coat_result make_file(const char *path, bool *ret_made, struct coat_error *error)
{
    if (!*path || *path == ':')
        return coat_fail(error, COAT_NOT_ALLOWED, "db", "\"%.160s\" is no file name: name a file with --db", path);
    enum coat_result result = make_folders(path, error);
    if (result != COAT_OK)
        return result;
    int descriptor = open(path, O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    if (descriptor < 0)
        return errno == EEXIST ? COAT_OK : fail_errno(path, errno, error);
    close(descriptor);
    *ret_made = true;
    return COAT_OK;
}

static void set_guards(sqlite3 *db)
{
    sqlite3_extended_result_codes(db, 1);
    sqlite3_busy_timeout(db, OPEN_WAIT_MS);
    /* Until the file is known to be ours, closing it must not move its log into it. */
    sqlite3_db_config(db, SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 1, NULL);
    sqlite3_db_config(db, SQLITE_DBCONFIG_DEFENSIVE, 1, NULL);
    sqlite3_db_config(db, SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0, NULL);
    sqlite3_db_config(db, SQLITE_DBCONFIG_ENABLE_LOAD_EXTENSION, 0, NULL);
    sqlite3_db_config(db, SQLITE_DBCONFIG_DQS_DML, 0, NULL);
    sqlite3_db_config(db, SQLITE_DBCONFIG_DQS_DDL, 0, NULL);
    sqlite3_limit(db, SQLITE_LIMIT_LENGTH, STORE_BLOB_MAX);
    sqlite3_limit(db, SQLITE_LIMIT_SQL_LENGTH, 64 << 10);
    sqlite3_limit(db, SQLITE_LIMIT_COLUMN, 64);
    sqlite3_limit(db, SQLITE_LIMIT_EXPR_DEPTH, 32);
    sqlite3_limit(db, SQLITE_LIMIT_ATTACHED, 1); /* VACUUM needs one */
    sqlite3_limit(db, SQLITE_LIMIT_WORKER_THREADS, 0);
}

static enum coat_result open_file(struct store *store, struct coat_error *error)
{
    int code = sqlite3_open_v2(store->path, &store->db, SQLITE_OPEN_READWRITE | SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_EXRESCODE, NULL);
    if (code != SQLITE_OK)
        return store_fail(store, code, error);
    if (sqlite3_db_readonly(store->db, "main") != 0)
        return store_fail(store, SQLITE_READONLY, error);
    set_guards(store->db);
    return store_exec(store, "PRAGMA locking_mode = EXCLUSIVE", error); /* before the log is first touched */
}

/* Settles the journal and takes the file for good: in this mode the lock stays until it is closed. */
static enum coat_result take_file(struct store *store, struct coat_error *error)
{
    int64_t wal = 0;
    enum coat_result result = store_exec(store, "PRAGMA journal_mode = WAL", error);
    if (result == COAT_OK)
        result = store_query_int(store, "SELECT count(*) FROM pragma_journal_mode WHERE journal_mode = 'wal'", &wal, error);
    if (result == COAT_OK && !wal)
        return coat_fail(error, COAT_STORE_FAILED, "db",
                         "%.160s lies on a file system that cannot keep a write-ahead log: name a file on a local disk with --db", store->path);
    if (result == COAT_OK)
        result = store_exec(store, "PRAGMA synchronous = FULL; PRAGMA foreign_keys = ON; PRAGMA cell_size_check = ON;"
                                   "PRAGMA secure_delete = ON; PRAGMA journal_size_limit = 4194304; BEGIN EXCLUSIVE; COMMIT", error);
    return result;
}

static enum coat_result open_all(struct store *store, int64_t now_ms, struct coat_error *error)
{
    enum coat_result result = open_file(store, error);
    if (result == COAT_OK)
        result = store_accept(store, store_migrations_count, error);
    if (result == COAT_OK)
        result = take_file(store, error);
    if (result == COAT_OK)
        result = store_migrate(store, store_migrations, store_migrations_count, now_ms, error);
    if (result == COAT_OK)
        result = statements_prepare(store, error);
    if (result == COAT_OK)
        result = store_query_int(store, "SELECT revision FROM revision", &store->revision, error);
    store->revision_committed = store->revision;
    store->scrub_due = true; /* the last run may have ended between a removal and the end of its bytes */
    if (result == COAT_OK)
        result = store_seed(store, now_ms, error);
    if (result == COAT_OK)
        sqlite3_db_config(store->db, SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 0, NULL);
    return result;
}

/* Lets go of a file that was refused, leaving it as it was: an empty log that SQLite made goes again, one with something in
 * it stays; a file that we made goes. */
static void refuse_file(struct store *store, bool made)
{
    struct stat log;
    char *log_path = sqlite3_mprintf("%s-wal", store->path);
    if (store->db && log_path && stat(log_path, &log) == 0 && log.st_size == 0)
        sqlite3_db_config(store->db, SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 0, NULL);
    char *path = strdup(store->path);
    store_close(store);
    if (made && path && unlink(path) == 0 && log_path)
        unlink(log_path);
    free(path);
    sqlite3_free(log_path);
}

enum coat_result store_open(const char *path, int64_t now_ms, struct store **ret, struct coat_error *error)
{
    bool made = false;
    enum coat_result result = make_file(path, &made, error);
    if (result != COAT_OK)
        return result;
    struct store *store = calloc(1, sizeof *store);
    if (!store || !(store->path = strdup(path))) {
        free(store);
        return coat_fail(error, COAT_NO_MEMORY, "db", "%.160s cannot be opened, memory is short", path);
    }
    result = open_all(store, now_ms, error);
    if (result != COAT_OK) {
        refuse_file(store, made);
        return result;
    }
    *ret = store;
    return COAT_OK;
}

void store_close(struct store *store)
{
    if (!store)
        return;
    if (store->in_transaction)
        store_rollback(store);
    statements_finalize(store);
    int code = sqlite3_close(store->db);
    assert(code == SQLITE_OK); /* a statement outside the table was left open */
    (void)code;
    free(store->path);
    free(store);
}

/* ---- checks ---- */

int store_schema_version(const struct store *store)
{
    return store->schema_version;
}

static int note_finding(void *context, int columns, char **values, char **names)
{
    (void)names;
    char *finding = context;
    if (!*finding)
        snprintf(finding, 120, "%s", columns > 0 && values[0] ? values[0] : "?");
    return 0;
}

static enum coat_result check_with(struct store *store, const char *sql, struct coat_error *error)
{
    char finding[120] = "";
    int code = sqlite3_exec(store->db, sql, note_finding, finding, NULL);
    if (code != SQLITE_OK)
        return store_fail(store, code, error);
    if (!*finding)
        return COAT_OK;
    return coat_fail(error, COAT_STORE_FAILED, "db",
                     "%.120s is damaged (%s): put the newest backup in its place (coat restore)", store->path, finding);
}

enum coat_result store_check(struct store *store, struct coat_error *error)
{
    enum coat_result result =
        check_with(store, "SELECT quick_check FROM pragma_quick_check WHERE quick_check <> 'ok'", error);
    if (result == COAT_OK)
        result = check_with(store, "SELECT 'row of ' || \"table\" || ' names nothing' FROM pragma_foreign_key_check", error);
    return result;
}

/* ---- the transaction ---- */

enum coat_result store_begin(struct store *store)
{
    assert(!store->in_transaction); /* one write, one commit: they do not nest */
    enum coat_result result = statement_run(statement_use(store, BEGIN));
    if (result != COAT_OK)
        return result;
    store->in_transaction = true;
    store->failure = COAT_OK;
    return COAT_OK;
}

/* What was removed is overwritten in the file (secure_delete), but the log still has the pages as they were: it goes into the file and is cut
 * to nothing. Where that fails, on a full disk, it is due again at the next commit; the removal itself holds. */
static void scrub_log(struct store *store)
{
    if (store->scrub_due && sqlite3_wal_checkpoint_v2(store->db, NULL, SQLITE_CHECKPOINT_TRUNCATE, NULL, NULL) == SQLITE_OK)
        store->scrub_due = false;
}

enum coat_result store_commit(struct store *store)
{
    assert(store->in_transaction);
    if (store->failure != COAT_OK)
        return store->failure;
    enum coat_result result = statement_run(statement_use(store, COMMIT));
    if (result != COAT_OK)
        return result;
    store->in_transaction = false;
    store->revision_committed = store->revision;
    scrub_log(store);
    return COAT_OK;
}

void store_rollback(struct store *store)
{
    /* After a full disk SQLite may have rolled back already. */
    if (!sqlite3_get_autocommit(store->db))
        sqlite3_exec(store->db, "ROLLBACK", NULL, NULL, NULL);
    store->in_transaction = false;
    store->failure = COAT_OK;
    store->revision = store->revision_committed;
    memset(store->open_day, 0, sizeof store->open_day);
}

enum coat_result store_spoil(struct store *store, enum coat_result result)
{
    if (store->failure == COAT_OK)
        store->failure = result;
    return result;
}

int64_t store_revision(const struct store *store)
{
    return store->revision;
}

enum coat_result store_revision_bump(struct store *store, int64_t *ret_revision)
{
    assert(store->in_transaction);
    struct statement *s = statement_use(store, REVISION_SET);
    bind_int(s, ":revision", store->revision + 1);
    enum coat_result result = statement_run(s);
    if (result == COAT_OK)
        *ret_revision = ++store->revision;
    return result;
}
