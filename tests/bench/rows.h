/* The same facts as plain SQLite rows: what a service that keeps a row a reading would have. */
#ifndef COAT_BENCH_ROWS_H
#define COAT_BENCH_ROWS_H

#include <sqlite3.h>
#include <stddef.h>

struct reading;

/* Opens or makes a file in WAL mode, with full sync and taken for itself, like the store. */
sqlite3 *rows_open(const char *file);
void rows_exec(sqlite3 *db, const char *sql);
void rows_add(sqlite3 *db, const struct reading *readings, size_t count); /* rowid = time */
double rows_sum(sqlite3 *db); /* reads all of them */

#endif
