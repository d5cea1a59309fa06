#include "tests/bench/rows.h"

#include "tests/bench/bench.h"

void rows_exec(sqlite3 *db, const char *sql)
{
    MUST(sqlite3_exec(db, sql, NULL, NULL, NULL) == SQLITE_OK);
}

sqlite3 *rows_open(const char *file)
{
    sqlite3 *db;
    MUST(sqlite3_open(file, &db) == SQLITE_OK);
    rows_exec(db, "PRAGMA locking_mode = EXCLUSIVE");
    rows_exec(db, "PRAGMA journal_mode = WAL");
    rows_exec(db, "PRAGMA synchronous = FULL");
    rows_exec(db, "CREATE TABLE IF NOT EXISTS reading (at INTEGER PRIMARY KEY, temp_mc INTEGER, rh_mp INTEGER) STRICT");
    return db;
}

void rows_add(sqlite3 *db, const struct reading *readings, size_t count)
{
    sqlite3_stmt *add;
    MUST(sqlite3_prepare_v2(db, "INSERT INTO reading VALUES (?, ?, ?)", -1, &add, NULL) == SQLITE_OK);
    for (size_t i = 0; i < count; i++) {
        sqlite3_bind_int64(add, 1, readings[i].at_ms);
        sqlite3_bind_int(add, 2, readings[i].temp_mc);
        sqlite3_bind_int(add, 3, readings[i].rh_mp);
        MUST(sqlite3_step(add) == SQLITE_DONE);
        sqlite3_reset(add);
    }
    sqlite3_finalize(add);
}

double rows_sum(sqlite3 *db)
{
    sqlite3_stmt *all;
    double sum = 0.0;
    MUST(sqlite3_prepare_v2(db, "SELECT at, temp_mc, rh_mp FROM reading ORDER BY at", -1, &all, NULL) == SQLITE_OK);
    while (sqlite3_step(all) == SQLITE_ROW)
        sum += (double)sqlite3_column_int64(all, 0) + sqlite3_column_int(all, 1) + sqlite3_column_int(all, 2);
    sqlite3_finalize(all);
    return sum;
}
