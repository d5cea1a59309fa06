/* What was removed for good is in neither the record's file nor the log beside it. */
#include "scratch.h"

#include <signal.h>

#define FILE_OF(state) (((struct scratch *)*(state))->file)
#define MARK "a rim before blasting, as the camera saw it "
#define LARGE 300000 /* bytes: more than a page, less than what sends the log into the file by itself */

/* How often the mark stands in a file; -1: there is no such file. */
static int marks_in(const char *path)
{
    FILE *file = fopen(path, "rb");
    int found = 0;
    size_t at = 0;
    if (!file)
        return -1;
    for (int byte = fgetc(file); byte != EOF; byte = fgetc(file)) {
        at = byte == MARK[at] ? at + 1 : byte == MARK[0];
        found += MARK[at] == '\0';
        at = MARK[at] == '\0' ? 0 : at;
    }
    fclose(file);
    return found;
}

static int marks_in_log(const char *path)
{
    char log[160];
    snprintf(log, sizeof log, "%s-wal", path);
    return marks_in(log);
}

static char *marked(size_t length)
{
    char *bytes = malloc(length);
    assert_non_null(bytes);
    for (size_t i = 0; i < length; i++)
        bytes[i] = MARK[i % (sizeof MARK - 1)];
    return bytes;
}

static int64_t add_photo(struct store *store, int64_t piece_id, int64_t length)
{
    const struct photo photo = {.piece_id = piece_id, .type = "image/jpeg", .width = 4, .height = 3, .length = length, .note = "rim", .entered_at = NOW};
    char *bytes = marked((size_t)length);
    int64_t id = 0;
    BEGIN_WRITE(store);
    assert_int_equal(store_photo_add(store, &photo, bytes, &id), COAT_OK);
    END_WRITE(store);
    free(bytes);
    return id;
}

static void remove_photo(struct store *store, int64_t id)
{
    BEGIN_WRITE(store);
    assert_int_equal(store_photo_drop(store, id), COAT_OK);
    END_WRITE(store);
}

/* In a process of its own, which is killed: nothing is tidied by a close. */
static void keep_and_remove(const char *file)
{
    struct store *store = opened(file);
    int64_t piece_id = 0, photo_id = 0;
    BEGIN_WRITE(store);
    piece_id = a_piece(store, "Body");
    END_WRITE(store);
    photo_id = add_photo(store, piece_id, LARGE);
    int64_t small_id = add_photo(store, piece_id, 200);
    if (marks_in_log(file) < 1)
        _exit(2); /* the test would show nothing */
    remove_photo(store, small_id);
    if (marks_in(file) < LARGE / (int)sizeof MARK / 2)
        _exit(3); /* the one that stays is in the file by now */
    remove_photo(store, photo_id);
    raise(SIGKILL);
}

static void a_removed_photo_is_in_neither_file_nor_log(void **state)
{
    int status = 0;
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        keep_and_remove(FILE_OF(state));
        _exit(5);
    }
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFSIGNALED(status) && WTERMSIG(status) == SIGKILL);
    assert_int_equal(marks_in(FILE_OF(state)), 0);
    assert_true(marks_in_log(FILE_OF(state)) <= 0);
    checked_close(opened(FILE_OF(state)));
}

/* The process ended after the removal and before its bytes were gone from the log. */
static void leave_in_the_log(const char *file)
{
    static const char sql[] = "PRAGMA journal_mode = WAL; PRAGMA wal_autocheckpoint = 0; PRAGMA secure_delete = ON;"
                              "INSERT INTO photo SELECT NULL, id, 'image/jpeg', 4, 3, 44, 'rim', 0, CAST('" MARK "' AS BLOB) FROM piece; DELETE FROM photo";
    sqlite3 *db = NULL;
    char *message = NULL;
    if (sqlite3_open(file, &db) != SQLITE_OK || sqlite3_exec(db, sql, NULL, NULL, &message) != SQLITE_OK) {
        print_error("%s\n", message ? message : "?");
        _exit(4);
    }
    raise(SIGKILL);
}

static void what_a_kill_left_in_the_log_goes_with_the_first_commit(void **state)
{
    int status = 0;
    struct store *store = opened(FILE_OF(state));
    BEGIN_WRITE(store);
    a_piece(store, "Body");
    END_WRITE(store);
    store_close(store);
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0)
        leave_in_the_log(FILE_OF(state));
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFSIGNALED(status) && WTERMSIG(status) == SIGKILL);
    assert_true(marks_in_log(FILE_OF(state)) > 0);
    store = opened(FILE_OF(state));
    BEGIN_WRITE(store);
    a_piece(store, "Wheel");
    END_WRITE(store);
    assert_int_equal(marks_in_log(FILE_OF(state)), 0);
    assert_int_equal(marks_in(FILE_OF(state)), 0);
    checked_close(store);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
#define T(name) cmocka_unit_test_setup_teardown(name, scratch_make, scratch_remove)
        T(a_removed_photo_is_in_neither_file_nor_log),
        T(what_a_kill_left_in_the_log_goes_with_the_first_commit),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
