/* A folder of its own for each test of the store, and small helps to look into the file from outside. */
#ifndef COAT_TEST_SCRATCH_H
#define COAT_TEST_SCRATCH_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "daemon/store/store.h"

#include <ftw.h>
#include <math.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#define NOW INT64_C(1790000000000) /* a Monday evening in September 2026 */

struct scratch {
    char folder[64];
    char file[128];
};

static inline int scratch_make(void **state)
{
    struct scratch *scratch = calloc(1, sizeof *scratch);
    if (!scratch)
        return -1;
    strcpy(scratch->folder, "/tmp/coat-store-XXXXXX");
    if (!mkdtemp(scratch->folder)) {
        free(scratch);
        return -1;
    }
    snprintf(scratch->file, sizeof scratch->file, "%s/record.db", scratch->folder);
    *state = scratch;
    return 0;
}

static inline int scratch_drop(const char *path, const struct stat *found, int kind, struct FTW *walk)
{
    (void)found, (void)kind, (void)walk;
    return remove(path);
}

static inline int scratch_remove(void **state)
{
    struct scratch *scratch = *state;
    nftw(scratch->folder, scratch_drop, 8, FTW_DEPTH | FTW_PHYS);
    free(scratch);
    return 0;
}

/* Opens what must open. */
static inline struct store *opened(const char *file)
{
    struct store *store = NULL;
    struct coat_error error = {0};
    enum coat_result result = store_open(file, NOW, &store, &error);
    if (result != COAT_OK)
        print_error("%s: %s\n", file, error.text);
    assert_int_equal(result, COAT_OK);
    assert_non_null(store);
    return store;
}

static inline void checked_close(struct store *store)
{
    struct coat_error error = {0};
    assert_int_equal(store_check(store, &error), COAT_OK);
    store_close(store);
}

#define BEGIN_WRITE(store) assert_int_equal(store_begin(store), COAT_OK)
#define END_WRITE(store) assert_int_equal(store_commit(store), COAT_OK)

/* Runs SQL on a closed file, as another program would. */
static inline void outside(const char *file, const char *sql)
{
    sqlite3 *db = NULL;
    char *message = NULL;
    assert_int_equal(sqlite3_open(file, &db), SQLITE_OK);
    if (sqlite3_exec(db, sql, NULL, NULL, &message) != SQLITE_OK)
        fail_msg("%s: %s", sql, message);
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
}

static inline int64_t outside_number(const char *file, const char *sql)
{
    sqlite3 *db = NULL;
    sqlite3_stmt *row = NULL;
    assert_int_equal(sqlite3_open(file, &db), SQLITE_OK);
    assert_int_equal(sqlite3_prepare_v2(db, sql, -1, &row, NULL), SQLITE_OK);
    assert_int_equal(sqlite3_step(row), SQLITE_ROW);
    int64_t value = sqlite3_column_int64(row, 0);
    sqlite3_finalize(row);
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
    return value;
}

/* The bytes of a file; the caller frees them. */
static inline unsigned char *file_bytes(const char *path, size_t *ret_size)
{
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    unsigned char *bytes = malloc(4 << 20);
    assert_non_null(bytes);
    *ret_size = fread(bytes, 1, 4 << 20, file);
    fclose(file);
    return bytes;
}

static inline int64_t a_place(struct store *store, const char *name)
{
    struct place place = {.kind = PLACE_ROOM, .volume_m3 = (double)NAN, .airflow_m3h = (double)NAN, .added_at = NOW,
                          .removed_at = MOMENT_NONE};
    int64_t id = 0;
    snprintf(place.name, sizeof place.name, "%s", name);
    assert_int_equal(store_place_add(store, &place, &id), COAT_OK);
    return id;
}

static inline int64_t a_piece(struct store *store, const char *name)
{
    struct piece piece = {.mass_kg = (double)NAN, .wall_mm = (double)NAN, .added_at = NOW, .removed_at = MOMENT_NONE};
    int64_t id = 0;
    snprintf(piece.name, sizeof piece.name, "%s", name);
    assert_int_equal(store_piece_add(store, &piece, &id), COAT_OK);
    return id;
}

static inline struct coat a_coat(int64_t piece_id, int64_t material_version_id)
{
    return (struct coat){.entered_at = NOW, .piece_id = piece_id, .material_version_id = material_version_id,
                         .role = ROLE_ENAMEL, .application = APPLY_BRUSH, .first_at = NOW - 3600000, .last_at = NOW - 3000000,
                         .passes = 2, .film = FILM_NORMAL, .wet_um = (double)NAN, .dry_um = (double)NAN,
                         .amount_ml = (double)NAN, .thinned_pct = (double)NAN, .struck_at = MOMENT_NONE};
}

static inline bool count_one(void *context)
{
    ++*(int *)context;
    return true;
}
static inline bool count_place(const struct place *place, void *context)
{
    (void)place;
    return count_one(context);
}

static inline int places_in(struct store *store)
{
    int count = 0;
    assert_int_equal(store_places(store, count_place, &count), COAT_OK);
    return count;
}

#endif
