/* Whose file it is, who may open it, and how it grows from one program to the next. */
#include "scratch.h"

#include "daemon/store/internal.h"

#include <grp.h>
#include <signal.h>
#include <sys/resource.h>

#define FILE_OF(state) (((struct scratch *)*(state))->file)
#define FOLDER_OF(state) (((struct scratch *)*(state))->folder)

/* Given a file that must be refused, then with this code, with its name in the text, and without a changed byte. */
static void refused(const char *file, enum coat_result code)
{
    struct store *store = NULL;
    struct coat_error error = {0};
    struct stat found;
    char log[160];
    size_t before_size, after_size;
    unsigned char *before = file_bytes(file, &before_size);
    assert_int_equal(store_open(file, NOW, &store, &error), code);
    assert_null(store);
    assert_int_equal(error.code, code);
    assert_non_null(strstr(error.text, file));
    unsigned char *after = file_bytes(file, &after_size);
    assert_int_equal(before_size, after_size);
    assert_memory_equal(before, after, before_size);
    snprintf(log, sizeof log, "%s-wal", file);
    assert_int_equal(stat(log, &found), -1);
    free(before);
    free(after);
}

static void a_new_file_is_ours_alone(void **state)
{
    char file[200];
    struct stat found;
    snprintf(file, sizeof file, "%s/new/deeper/record.db", FOLDER_OF(state));
    struct store *store = opened(file);
    assert_int_equal(store_schema_version(store), store_migrations_count);
    assert_int_equal(stat(file, &found), 0);
    assert_int_equal(found.st_mode & 0777, 0600);
    *strrchr(file, '/') = 0;
    assert_int_equal(stat(file, &found), 0);
    assert_int_equal(found.st_mode & 0777, 0700);
    file[strlen(file)] = '/';
    checked_close(store);
    assert_int_equal(outside_number(file, "PRAGMA application_id"), STORE_APPLICATION_ID);
    assert_int_equal(outside_number(file, "PRAGMA user_version"), store_migrations_count);
    assert_int_equal(outside_number(file, "SELECT count(*) FROM migration"), store_migrations_count);
    assert_int_equal(outside_number(file, "SELECT applied_at FROM migration WHERE number = 1"), NOW);
    assert_int_equal(outside_number(file, "SELECT length(program) > 0 FROM migration WHERE number = 1"), 1);
    assert_int_equal(outside_number(file, "SELECT count(*) FROM pragma_table_list"
                                          " WHERE schema = 'main' AND name NOT LIKE 'sqlite_%' AND NOT strict"), 0);
}

static void the_connection_is_set_to_be_safe(void **state)
{
    static const struct {
        const char *sql;
        int64_t value;
    } settings[] = {
        {"SELECT count(*) FROM pragma_journal_mode WHERE journal_mode = 'wal'", 1},
        {"SELECT count(*) FROM pragma_locking_mode WHERE locking_mode = 'exclusive'", 1},
        {"PRAGMA synchronous", 2}, {"PRAGMA foreign_keys", 1}, {"PRAGMA trusted_schema", 0}, {"PRAGMA cell_size_check", 1},
    };
    struct store *store = opened(FILE_OF(state));
    for (size_t i = 0; i < sizeof settings / sizeof *settings; i++) {
        int64_t value = -1;
        assert_int_equal(store_query_int(store, settings[i].sql, &value, NULL), COAT_OK);
        if (value != settings[i].value)
            fail_msg("%s gives %lld", settings[i].sql, (long long)value);
    }
    struct stat found;
    char shared[160];
    snprintf(shared, sizeof shared, "%s-shm", FILE_OF(state));
    assert_int_equal(stat(shared, &found), -1);
    store_close(store);
}

static void a_second_opener_is_told_that_it_is_busy(void **state)
{
    struct store *store = opened(FILE_OF(state)), *second = NULL;
    struct coat_error error = {0};
    assert_int_equal(store_open(FILE_OF(state), NOW, &second, &error), COAT_STORE_BUSY);
    assert_null(second);
    assert_non_null(strstr(error.text, FILE_OF(state)));
    BEGIN_WRITE(store); /* the try took nothing away */
    a_place(store, "Cellar");
    END_WRITE(store);
    checked_close(store);
    store = opened(FILE_OF(state));
    assert_int_equal(places_in(store), 1);
    store_close(store);
}

/* Holds the file in a process of its own until `quit` is closed; says on `ready` how opening went. */
static void hold_open(const char *file, int ready, int quit)
{
    struct store *store = NULL;
    unsigned char result = (unsigned char)store_open(file, NOW, &store, NULL);
    char nothing;
    if (write(ready, &result, 1) == 1)
        while (read(quit, &nothing, 1) > 0)
            ;
    store_close(store);
    _exit(0);
}

static void another_process_is_told_that_it_is_busy(void **state)
{
    int ready[2], quit[2], status = -1;
    unsigned char result = 99;
    struct store *store = NULL;
    assert_int_equal(pipe(ready), 0);
    assert_int_equal(pipe(quit), 0);
    pid_t holder = fork();
    assert_true(holder >= 0);
    if (holder == 0) {
        close(quit[1]);
        hold_open(FILE_OF(state), ready[1], quit[0]);
    }
    close(ready[1]);
    assert_int_equal(read(ready[0], &result, 1), 1);
    assert_int_equal(result, COAT_OK);
    assert_int_equal(store_open(FILE_OF(state), NOW, &store, NULL), COAT_STORE_BUSY);
    close(quit[1]);
    assert_int_equal(waitpid(holder, &status, 0), holder);
    store_close(opened(FILE_OF(state))); /* free again */
    close(ready[0]);
    close(quit[0]);
}

static void a_newer_file_is_left_alone(void **state)
{
    store_close(opened(FILE_OF(state)));
    outside(FILE_OF(state), "PRAGMA user_version = 9000");
    refused(FILE_OF(state), COAT_STORE_NEWER);
}

static void a_newer_file_with_an_unfinished_log_is_left_alone(void **state)
{
    pid_t child = fork(); /* dies with the newer number only in the log */
    assert_true(child >= 0);
    if (child == 0) {
        struct store *store = NULL;
        if (store_open(FILE_OF(state), NOW, &store, NULL) == COAT_OK &&
            store_exec(store, "PRAGMA user_version = 9000", NULL) == COAT_OK)
            raise(SIGKILL);
        _exit(1);
    }
    int status = -1;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFSIGNALED(status) && WTERMSIG(status) == SIGKILL);
    char log[160];
    size_t size, size_after, log_size, log_after;
    snprintf(log, sizeof log, "%s-wal", FILE_OF(state));
    unsigned char *before = file_bytes(FILE_OF(state), &size), *log_before = file_bytes(log, &log_size);
    struct store *store = NULL;
    assert_true(log_size > 0);
    assert_int_equal(store_open(FILE_OF(state), NOW, &store, NULL), COAT_STORE_NEWER);
    unsigned char *after = file_bytes(FILE_OF(state), &size_after), *log_now = file_bytes(log, &log_after);
    assert_int_equal(size, size_after);
    assert_memory_equal(before, after, size);
    assert_int_equal(log_size, log_after);
    assert_memory_equal(log_before, log_now, log_size);
    free(before);
    free(after);
    free(log_before);
    free(log_now);
}

static void the_file_of_another_program_is_left_alone(void **state)
{
    outside(FILE_OF(state), "PRAGMA application_id = 4711; CREATE TABLE orders (id INTEGER); INSERT INTO orders VALUES (1)");
    refused(FILE_OF(state), COAT_STORE_FOREIGN);
    outside(FILE_OF(state), "PRAGMA journal_mode = WAL; PRAGMA application_id = 0");
    refused(FILE_OF(state), COAT_STORE_FOREIGN);
}

static void a_text_file_is_left_alone(void **state)
{
    FILE *file = fopen(FILE_OF(state), "w");
    assert_non_null(file);
    for (int i = 0; i < 200; i++)
        fputs("wheel: second coat of black, 18 C in the cellar\n", file);
    fclose(file);
    refused(FILE_OF(state), COAT_STORE_FOREIGN);
}

static void no_file_name_is_refused(void **state)
{
    (void)state;
    struct store *store = NULL;
    struct coat_error error = {0};
    assert_int_equal(store_open("", NOW, &store, &error), COAT_NOT_ALLOWED);
    assert_int_equal(store_open(":memory:", NOW, &store, &error), COAT_NOT_ALLOWED);
    assert_non_null(strstr(error.text, "--db"));
}

/* Opens as a user without rights; gives what store_open() gave, or 99. */
static int as_nobody(const char *file)
{
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        struct store *store = NULL;
        struct coat_error error = {0};
        if (geteuid() == 0 && (setgroups(0, NULL) != 0 || setgid(65534) != 0 || setuid(65534) != 0))
            _exit(99);
        enum coat_result result = store_open(file, NOW, &store, &error);
        _exit(result == COAT_OK || strstr(error.text, file) ? (int)result : 98);
    }
    int status = -1;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFEXITED(status));
    return WEXITSTATUS(status);
}

static void a_folder_or_file_without_rights_is_not_allowed(void **state)
{
    struct stat found;
    assert_int_equal(chmod(FOLDER_OF(state), 0555), 0);
    assert_int_equal(as_nobody(FILE_OF(state)), COAT_NOT_ALLOWED);
    assert_int_equal(stat(FILE_OF(state), &found), -1);
    assert_int_equal(chmod(FOLDER_OF(state), 0755), 0);
    store_close(opened(FILE_OF(state)));
    assert_int_equal(chmod(FILE_OF(state), 0444), 0); /* readable, but not to be written */
    assert_int_equal(as_nobody(FILE_OF(state)), COAT_NOT_ALLOWED);
    assert_int_equal(chmod(FILE_OF(state), 0000), 0);
    assert_int_equal(as_nobody(FILE_OF(state)), COAT_NOT_ALLOWED);
    assert_int_equal(chmod(FILE_OF(state), 0666), 0); /* the file, but not the folder its log must lie in */
    assert_int_equal(chmod(FOLDER_OF(state), 0555), 0);
    assert_int_equal(as_nobody(FILE_OF(state)), COAT_NOT_ALLOWED);
    assert_int_equal(chmod(FOLDER_OF(state), 0755), 0);
}

static void a_migration_that_fails_leaves_nothing(void **state)
{
    static const char *const good[] = {"CREATE TABLE later (id INTEGER PRIMARY KEY) STRICT;", NULL};
    static const char *const bad[] = {"CREATE TABLE half (id INTEGER PRIMARY KEY) STRICT;", "INSERT INTO nowhere VALUES (1);", NULL};
    struct migration list[16];
    unsigned count = store_migrations_count;
    assert_true(count + 2 <= sizeof list / sizeof *list);
    memcpy(list, store_migrations, count * sizeof *list);
    list[count] = (struct migration){"good", good};
    list[count + 1] = (struct migration){"bad", bad};

    struct store *store = opened(FILE_OF(state));
    struct coat_error error = {0};
    assert_int_equal(store_migrate(store, list, count + 2, NOW + 1, &error), COAT_STORE_FAILED);
    assert_int_equal(store_schema_version(store), count + 1);
    BEGIN_WRITE(store); /* and it still works */
    a_place(store, "Garage");
    END_WRITE(store);
    checked_close(store);
    assert_int_equal(outside_number(FILE_OF(state), "PRAGMA user_version"), count + 1);
    assert_int_equal(outside_number(FILE_OF(state), "SELECT max(number) FROM migration"), count + 1);
    assert_int_equal(outside_number(FILE_OF(state), "SELECT count(*) FROM sqlite_schema WHERE name = 'later'"), 1);
    assert_int_equal(outside_number(FILE_OF(state), "SELECT count(*) FROM sqlite_schema WHERE name = 'half'"), 0);
    refused(FILE_OF(state), COAT_STORE_NEWER); /* this program does not know the good one */
}

/* Makes the file as the first program left it: its tables, and one fact of each kind that has changed since. */
static void make_first_version(const char *file)
{
    for (size_t i = 0; store_migrations[0].sql[i]; i++)
        outside(file, store_migrations[0].sql[i]);
    char marks[200];
    snprintf(marks, sizeof marks, "INSERT INTO migration VALUES (1, %lld, '0.1.0'); PRAGMA application_id = %d; PRAGMA user_version = 1",
             (long long)NOW - 9, STORE_APPLICATION_ID);
    outside(file, marks);
    outside(file,
            "INSERT INTO place VALUES (1, 'Cellar', 'cellar', 'room', 31.5, NULL, 1000, NULL);"
            "INSERT INTO piece VALUES (1, 'Scale, pillar', 'scale, pillar', 'lead', 11.5, NULL, '', 1000, NULL);"
            "INSERT INTO material VALUES (1, 'red primer', NULL, NULL, NULL);"
            "INSERT INTO material_version VALUES (1, 1, 1, 1000, 'Red primer', 'epoxy-primer', 0, 'brush', 'primer', 'solvent', 50, 10,"
            " 'common practice', 10, 35, 85, 60, 1, 55, 'tack-free', '', '', 30, 240);"
            "INSERT INTO coat VALUES (1); INSERT INTO coat VALUES (2);"
            "INSERT INTO coat_entry VALUES (1, 1, 2000, 1, 'foot', 1, 'primer', 'brush', 1500, 1600, 2, 'light', NULL, 42.5, 40, 10,"
            " 'xylene', 'first', NULL, '');"
            "INSERT INTO coat_entry VALUES (1, 2, 3000, 1, '', 1, 'primer', 'brush', 1500, 1600, 2, 'heavy', NULL, NULL, NULL, NULL, '',"
            " 'corrected', NULL, '');"
            "INSERT INTO coat_entry VALUES (2, 1, 4000, 1, '', 1, 'primer', 'brush', 3500, 3600, 1, 'normal', NULL, NULL, NULL, NULL, '',"
            " '', NULL, '');"
            "INSERT INTO notice VALUES (1, 'window-opens', 1, 'recoat', 0, 1, 2500, NULL, 1, 2600, NULL, 2700, 'as told')");
}

static bool take_one_coat(const struct coat *coat, void *context)
{
    *(struct coat *)context = *coat;
    return false;
}

static bool take_one_notice(const struct notice *notice, void *context)
{
    *(struct notice *)context = *notice;
    return true;
}

/* New kinds of facts go into a file that did not know them. */
static void tell_new_facts(struct store *store, int64_t coat_id)
{
    int64_t id = 0;
    struct tin tin = {.material_id = 1, .name = "Red 1", .opened_at = NOW, .keep_by_at = MOMENT_NONE, .added_at = NOW,
                      .removed_at = MOMENT_NONE};
    const struct bench_test test = {0, coat_id, STAGE_TOUCH, true, NOW, NOW};
    const struct mix mix = {.material_version_id = 1, .place_id = 1, .mixed_at = NOW, .entered_at = NOW};
    struct coat coat = a_coat(1, 1);
    BEGIN_WRITE(store);
    assert_int_equal(store_tin_add(store, &tin, &id), COAT_OK);
    coat.tin_id = id;
    assert_int_equal(store_coat_add(store, &coat), COAT_OK);
    assert_int_equal(store_bench_test_add(store, &test, &id), COAT_OK);
    assert_int_equal(store_mix_add(store, &mix, &id), COAT_OK);
    const struct solvent_release release = {.place_id = 1, .what = "lacquer thinner", .amount_ml = 200, .at = NOW, .entered_at = NOW};
    assert_int_equal(store_release_add(store, &release, &id), COAT_OK);
    const struct bake bake = {.place_id = 1, .oven_air = OVEN_AIR_FAN, .reviewed = true, .retained_pct = (double)NAN, .room_c = 18, .entered_at = NOW, .started_at = NOW, .ended_at = MOMENT_NONE};
    assert_int_equal(store_bake_add(store, &bake, &id), COAT_OK);
    const struct bake_part part = {.bake_id = id, .coat_id = coat_id, .metal = METAL_STEEL, .mass_kg = (double)NAN, .area_m2 = (double)NAN, .wall_mm = 6};
    const struct bake_hold hold = {.bake_id = id, .target_c = 149, .ramp_min = 30, .hold_min = 120};
    const struct bake_answer answer = {.bake_id = id, .about = "exhaust", .answer = ANSWER_YES, .at = NOW};
    const struct bake_gap gap = {.bake_id = id, .from_at = NOW, .to_at = MOMENT_NONE};
    int64_t part_id = 0;
    assert_int_equal(store_bake_part_add(store, &part, &part_id), COAT_OK);
    assert_int_equal(store_bake_hold_add(store, &hold, &part_id), COAT_OK);
    assert_int_equal(store_bake_answer_add(store, &answer, &part_id), COAT_OK);
    assert_int_equal(store_bake_gap_add(store, &gap, &part_id), COAT_OK);
    const struct piece_note note = {.piece_id = 1, .text = "two spokes brazed", .at = NOW, .entered_at = NOW};
    const struct photo photo = {.piece_id = 1, .type = "image/png", .width = 4, .height = 3, .length = 5, .note = "rim", .entered_at = NOW};
    assert_int_equal(store_piece_note_add(store, &note, &id), COAT_OK);
    assert_int_equal(store_photo_add(store, &photo, "\0bits", &id), COAT_OK);
    END_WRITE(store);
}

static void a_file_of_the_first_version_keeps_its_facts_and_takes_new_ones(void **state)
{
    const char *file = FILE_OF(state);
    make_first_version(file);
    assert_int_equal(outside_number(file, "SELECT count(*) FROM pragma_table_list WHERE name IN ('tin', 'mix', 'bench_test')"), 0);
    struct store *store = opened(file);
    struct coat coat = {0};
    struct notice notice = {0};
    assert_int_equal(store_schema_version(store), store_migrations_count);
    assert_int_equal(store_coat_entries(store, 1, take_one_coat, &coat), COAT_OK); /* its first entry */
    assert_true(coat.id == 1 && coat.entry == 1 && coat.tin_id == 0 && coat.first_at == 1500 && coat.last_at == 1600 && coat.passes == 2);
    assert_true(coat.film == FILM_LIGHT && coat.dry_um == 42.5 && coat.amount_ml == 40 && coat.struck_at == MOMENT_NONE);
    assert_string_equal(coat.area, "foot");
    assert_string_equal(coat.thinner, "xylene");
    assert_int_equal(store_notices(store, 0, take_one_notice, &notice), COAT_OK);
    assert_true(notice.id == 1 && notice.kind == NOTICE_OPENS && notice.coat_id == 1 && notice.mix_id == 0 && notice.acknowledged_at == 2700);
    BEGIN_WRITE(store); /* raised once, as before */
    notice.id = 0;
    assert_int_equal(store_notice_add(store, &notice), COAT_CONFLICT);
    store_rollback(store);
    tell_new_facts(store, coat.id);
    checked_close(store);
    assert_int_equal(outside_number(file, "SELECT count(*) FROM migration"), store_migrations_count);
    assert_int_equal(outside_number(file, "SELECT count(*) FROM coat_entry"), 4);
    assert_int_equal(outside_number(file, "SELECT count(*) FROM coat_entry WHERE tin_id IS NULL"), 3);
    assert_int_equal(outside_number(file, "SELECT count(*) FROM piece WHERE mass_kg = 11.5 AND old_finish = 'lead'"), 1);
    assert_int_equal(outside_number(file, "SELECT pot_life_min FROM material_version WHERE id = 1"), 240);
    assert_int_equal(outside_number(file, "SELECT count(*) FROM material_version WHERE id = 1 AND solvent = '' AND solvent_pct IS NULL"), 1);
    assert_int_equal(outside_number(file, "SELECT count(*) FROM material_version WHERE id = 1 AND bake_too_hot_c IS NULL AND bake_too_long_h IS NULL AND thinner = ''"), 1);
    assert_int_equal(outside_number(file, "SELECT count(*) FROM place WHERE airflow_measured = 0 AND low_exhaust = 'unanswered'"), 1);
    assert_int_equal(outside_number(file, "SELECT count(*) FROM vapour_release WHERE what = 'lacquer thinner' AND amount_ml = 200"), 1);
    assert_int_equal(outside_number(file, "SELECT count(*) FROM bake JOIN bake_part ON bake_part.bake_id = bake.id AND metal = 'steel' AND wall_mm = 6 AND mass_kg IS NULL"), 1);
    assert_int_equal(outside_number(file, "SELECT count(*) FROM bake_answer WHERE about = 'exhaust' AND answer = 'yes'"), 1);
    assert_int_equal(outside_number(file, "SELECT count(*) FROM bake_gap WHERE to_at IS NULL"), 1);
    assert_int_equal(outside_number(file, "SELECT count(*) FROM piece_note WHERE text = 'two spokes brazed'"), 1);
    assert_int_equal(outside_number(file, "SELECT count(*) FROM photo WHERE bytes = x'0062697473' AND width = 4"), 1);
    assert_int_equal(outside_number(file, "SELECT max(version) FROM material_version WHERE builtin"), 1); /* no built-in one is another for it */
}

static void a_move_of_nothing_is_told(void **state)
{
    struct store *store = opened(FILE_OF(state));
    struct coat_error error = {0};
    BEGIN_WRITE(store);
    a_place(store, "Cellar");
    END_WRITE(store);
    checked_close(store);
    outside(FILE_OF(state), "PRAGMA foreign_keys = OFF; INSERT INTO move VALUES (1, 77, 1, 0, 0)");
    store = opened(FILE_OF(state));
    assert_int_equal(store_check(store, &error), COAT_STORE_FAILED);
    assert_non_null(strstr(error.text, "move"));
    store_close(store);
}

static void a_scratched_page_is_told(void **state)
{
    struct store *store = opened(FILE_OF(state));
    struct coat_error error = {0};
    BEGIN_WRITE(store);
    a_piece(store, "Wheel");
    a_piece(store, "Body");
    END_WRITE(store);
    checked_close(store);
    int64_t page = outside_number(FILE_OF(state), "SELECT rootpage FROM sqlite_schema WHERE name = 'piece'");
    int64_t page_size = outside_number(FILE_OF(state), "PRAGMA page_size");
    FILE *file = fopen(FILE_OF(state), "r+b");
    assert_non_null(file);
    assert_int_equal(fseek(file, (long)((page - 1) * page_size + 8), SEEK_SET), 0); /* where its cells are said to begin */
    assert_int_equal(fwrite("\xff\xff\xff\xff", 1, 4, file), 4);
    assert_int_equal(fclose(file), 0);
    store = opened(FILE_OF(state)); /* nothing has read that page yet */
    assert_int_equal(store_check(store, &error), COAT_STORE_FAILED);
    assert_non_null(strstr(error.text, "backup"));
    store_close(store);
}

static void a_full_disk_is_told_and_nothing_is_kept(void **state)
{
    struct store *store = opened(FILE_OF(state));
    int64_t revision = 0, pages = 0;
    char sql[64];
    assert_int_equal(store_query_int(store, "PRAGMA page_count", &pages, NULL), COAT_OK);
    snprintf(sql, sizeof sql, "PRAGMA max_page_count = %lld", (long long)pages + 1);
    assert_int_equal(store_exec(store, sql, NULL), COAT_OK);
    BEGIN_WRITE(store);
    assert_int_equal(store_revision_bump(store, &revision), COAT_OK);
    struct piece piece = {.mass_kg = 1, .wall_mm = 1, .added_at = NOW, .removed_at = MOMENT_NONE};
    enum coat_result result = COAT_OK;
    memset(piece.note, 'n', NOTE_SIZE - 1);
    for (int i = 0; i < 200 && result == COAT_OK; i++) {
        int64_t id;
        snprintf(piece.name, sizeof piece.name, "Blade %d", i);
        result = store_piece_add(store, &piece, &id);
    }
    assert_int_equal(result, COAT_STORE_FULL);
    assert_int_equal(store_revision_bump(store, &revision), COAT_STORE_FULL); /* SQLite has rolled back: this would be kept by itself, alone */
    assert_int_equal(store_commit(store), COAT_STORE_FULL); /* forgetting the rollback keeps nothing either */
    store_rollback(store);
    assert_int_equal(store_revision(store), revision - 1);
    assert_int_equal(store_exec(store, "PRAGMA max_page_count = 100000", NULL), COAT_OK);
    BEGIN_WRITE(store);
    a_piece(store, "Blade 0"); /* its name is free: nothing was kept */
    END_WRITE(store);
    checked_close(store);
}

static void let_files_grow(rlim_t bytes)
{
    struct rlimit limit;
    assert_int_equal(getrlimit(RLIMIT_FSIZE, &limit), 0);
    limit.rlim_cur = bytes;
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &limit), 0);
}

/* A quota and a limit look to SQLite like a disk that fails; to a person they are a disk that is full. */
static void a_file_that_may_not_grow_is_told_as_a_full_disk(void **state)
{
    struct store *store = opened(FILE_OF(state));
    int64_t id = 0;
    struct piece piece = {.name = "Blade", .mass_kg = 1, .wall_mm = 1, .added_at = NOW, .removed_at = MOMENT_NONE};
    (void)signal(SIGXFSZ, SIG_IGN);
    BEGIN_WRITE(store);
    assert_int_equal(store_piece_add(store, &piece, &id), COAT_OK);
    let_files_grow(1);
    enum coat_result result = store_commit(store);
    let_files_grow(RLIM_INFINITY);
    assert_int_equal(result, COAT_STORE_FULL);
    store_rollback(store);
    BEGIN_WRITE(store);
    a_piece(store, "Blade"); /* the very next write goes through */
    END_WRITE(store);
    checked_close(store);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
#define T(name) cmocka_unit_test_setup_teardown(name, scratch_make, scratch_remove)
        T(a_new_file_is_ours_alone),
        T(the_connection_is_set_to_be_safe),
        T(a_second_opener_is_told_that_it_is_busy),
        T(another_process_is_told_that_it_is_busy),
        T(a_newer_file_is_left_alone),
        T(a_newer_file_with_an_unfinished_log_is_left_alone),
        T(the_file_of_another_program_is_left_alone),
        T(a_text_file_is_left_alone),
        T(no_file_name_is_refused),
        T(a_folder_or_file_without_rights_is_not_allowed),
        T(a_migration_that_fails_leaves_nothing),
        T(a_file_of_the_first_version_keeps_its_facts_and_takes_new_ones),
        T(a_move_of_nothing_is_told),
        T(a_scratched_page_is_told),
        T(a_full_disk_is_told_and_nothing_is_kept),
        T(a_file_that_may_not_grow_is_told_as_a_full_disk),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
