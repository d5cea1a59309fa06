/* What was committed is there after the process was killed; what was not committed is not. */
#include "scratch.h"

#include <signal.h>

#define FILE_OF(state) (((struct scratch *)*(state))->file)

/* Commits `committed` places, begins one more, and is killed in the middle of it. */
static void write_and_die(const char *file, int committed)
{
    struct store *store = NULL;
    struct place place = {.kind = PLACE_ROOM, .volume_m3 = (double)NAN, .airflow_m3h = (double)NAN, .added_at = NOW,
                          .removed_at = MOMENT_NONE};
    int64_t id = 0, revision = 0;
    if (store_open(file, NOW, &store, NULL) != COAT_OK)
        _exit(2);
    for (int i = 0; i <= committed; i++) {
        snprintf(place.name, sizeof place.name, "Shelf %d of %d", i, committed);
        if (store_begin(store) != COAT_OK || store_place_add(store, &place, &id) != COAT_OK ||
            store_revision_bump(store, &revision) != COAT_OK)
            _exit(3);
        if (i < committed && store_commit(store) != COAT_OK)
            _exit(4);
    }
    raise(SIGKILL);
}

static void what_was_committed_survives_a_kill(void **state)
{
    int64_t revision = 1; /* the built-in materials */
    int places = 0;
    for (int committed = 0; committed < 8; committed++) {
        int status = 0;
        pid_t child = fork();
        assert_true(child >= 0);
        if (child == 0) {
            write_and_die(FILE_OF(state), committed);
            _exit(5);
        }
        assert_int_equal(waitpid(child, &status, 0), child);
        assert_true(WIFSIGNALED(status) && WTERMSIG(status) == SIGKILL);
        places += committed;
        revision += committed;
        struct store *store = opened(FILE_OF(state));
        assert_int_equal(places_in(store), places);
        assert_int_equal(store_revision(store), revision);
        if (committed % 2)
            checked_close(store);
        else
            store_close(store);
    }
}

/* Closes a day in one transaction and is killed before or after its commit. */
static void close_a_day_and_die(const char *file, bool commit)
{
    struct store *store = NULL;
    const struct reading first = {NOW, 18000, 60000, 0}, next = {NOW + MS_PER_DAY, 19000, 61000, 0};
    struct sensor sensor;
    if (store_open(file, NOW, &store, NULL) != COAT_OK || store_begin(store) != COAT_OK ||
        store_sensor_by_hand(store, 1, &sensor) != COAT_OK || store_reading_put(store, sensor.id, &first, 1) != COAT_OK ||
        store_commit(store) != COAT_OK || store_begin(store) != COAT_OK ||
        store_reading_put(store, sensor.id, &next, 1) != COAT_OK || (commit && store_commit(store) != COAT_OK))
        _exit(3);
    raise(SIGKILL);
}

static void a_day_is_closed_whole_or_not_at_all(void **state)
{
    struct store *store = opened(FILE_OF(state));
    BEGIN_WRITE(store);
    assert_int_equal(a_place(store, "Cellar"), 1);
    END_WRITE(store);
    store_close(store);
    for (int commit = 0; commit <= 1; commit++) {
        int status = 0;
        struct reading *readings = NULL;
        size_t capacity = 0, count = 0;
        pid_t child = fork();
        assert_true(child >= 0);
        if (child == 0) {
            close_a_day_and_die(FILE_OF(state), commit == 1);
            _exit(5);
        }
        assert_int_equal(waitpid(child, &status, 0), child);
        assert_true(WIFSIGNALED(status) && WTERMSIG(status) == SIGKILL);
        store = opened(FILE_OF(state));
        assert_int_equal(store_readings(store, 1, READING_HOLD_BY_HAND_S, 0, INT64_MAX, &readings, &capacity, &count), COAT_OK);
        assert_int_equal(count, commit + 1);
        assert_true(readings[0].at_ms == NOW && readings[0].temp_mc == 18000);
        free(readings);
        checked_close(store);
        assert_int_equal(outside_number(FILE_OF(state), "SELECT count(*) FROM reading_day"), commit);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
#define T(name) cmocka_unit_test_setup_teardown(name, scratch_make, scratch_remove)
        T(what_was_committed_survives_a_kill),
        T(a_day_is_closed_whole_or_not_at_all),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
