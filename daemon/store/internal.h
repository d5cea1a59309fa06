/* What the files of the store share among themselves. */
#ifndef COAT_STORE_INTERNAL_H
#define COAT_STORE_INTERNAL_H

#include "daemon/store/sql.h"
#include "daemon/store/store.h"

#include <assert.h>

#define STORE_APPLICATION_ID 0x436f6174 /* "Coat" */
#define STORE_BLOB_MAX (16 << 20)       /* bytes; no text or blob of ours comes near it */
#define OPEN_DAYS 16                    /* sensors whose open day is remembered; a power of two */

/* What is known of the newest day of a sensor, so that a reading costs no query for it. Dropping it changes no answer. */
struct open_day {
    int64_t sensor_id;      /* 0: nothing is known */
    int64_t day;            /* MOMENT_NONE: the sensor has no reading yet */
    int64_t count_at_most;  /* rows of that day; replaced ones may be counted twice */
};

struct store {
    sqlite3 *db;
    char *path;
    int schema_version;
    int64_t revision;            /* as it will be when the transaction commits */
    int64_t revision_committed;
    bool in_transaction;
    enum coat_result failure;    /* of this transaction: it can only be rolled back */
    bool scrub_due;              /* the log may still hold what was removed for good: see scrub_log() */
    struct statement statement[STATEMENT_COUNT];
    struct open_day open_day[OPEN_DAYS];
};

/* The number of a migration is its index + 1. Append only. */
struct migration {
    const char *name;
    const char *const *sql; /* texts run one after the other, ended by NULL */
};
extern const struct migration store_migrations[];
extern const unsigned store_migrations_count;

/* Applies those of the list that the file does not have, each in a transaction of its own, which also records it. */
COAT_CHECKED enum coat_result store_migrate(struct store *store, const struct migration *list, unsigned count,
                                            int64_t now_ms, struct coat_error *error);
/* COAT_STORE_NEWER or _FOREIGN where the file is not for this program to touch; changes nothing. */
COAT_CHECKED enum coat_result store_accept(struct store *store, unsigned newest, struct coat_error *error);

/* Compares the built-in materials with those in the file and adds what is new or has changed, in one transaction. */
COAT_CHECKED enum coat_result store_seed(struct store *store, int64_t now_ms, struct coat_error *error);
bool store_material_equal(const struct material *a, const struct material *b);

/* SQLite's last failure as ours, with *error naming the file and what would do. For opening and checking. */
enum coat_result store_fail(struct store *store, int sqlite_code, struct coat_error *error);
/* Runs SQL without rows. For opening. */
COAT_CHECKED enum coat_result store_exec(struct store *store, const char *sql, struct coat_error *error);
/* The first column of the first row of a query; 0 where it has none. For opening. */
COAT_CHECKED enum coat_result store_query_int(struct store *store, const char *sql, int64_t *ret, struct coat_error *error);

/* After a part of a fact was written and another part failed: the transaction can only be rolled back. Returns the result. */
enum coat_result store_spoil(struct store *store, enum coat_result result);

/* Lower case of a name for comparing, into key[size]: ASCII, Latin, Greek and Cyrillic letters of two bytes. */
void name_fold(const char *name, char *key, size_t size);

extern const struct statement_text transaction_statements[], shop_statements[], material_statements[], coat_statements[],
    bench_statements[], bake_statements[], sensor_statements[], reading_statements[], notice_statements[], answer_statements[],
    channel_statements[], photo_statements[];

#endif
