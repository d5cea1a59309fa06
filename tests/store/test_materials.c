/* Versions of materials: they come back whole, are never changed, and the built-in ones follow the program. */
#include "scratch.h"

#include "daemon/store/internal.h"

#define FILE_OF(state) (((struct scratch *)*(state))->file)
#define NONE ((double)NAN)

struct found {
    int count;
    bool removed;
    int64_t material_id;   /* which one to look for; 0: any */
    struct material_version newest;
};

static bool look_for(const struct material_version *version, bool removed, void *context)
{
    struct found *found = context;
    if (found->material_id != 0 && version->material_id != found->material_id)
        return true;
    found->count++;
    found->removed = removed;
    found->newest = *version;
    return true;
}

/* The versions of one material: how many, and the newest. `ret` is too large for a stack frame's comfort, so it is static. */
static struct found *versions_of(struct store *store, int64_t material_id)
{
    static struct found found;
    memset(&found, 0, sizeof found);
    found.material_id = material_id;
    assert_int_equal(store_materials(store, look_for, &found), COAT_OK);
    return &found;
}

static int64_t number_of(struct store *store, const char *sql)
{
    int64_t number = 0;
    assert_int_equal(store_query_int(store, sql, &number, NULL), COAT_OK);
    return number;
}

/* A label filled to the last row that the types allow. */
static void fill(struct material_version *version)
{
    memset(version, 0, sizeof *version);
    struct material *m = &version->material;
    material_init(m, CLASS_EPOXY_BUILD);
    strcpy(m->name, "Grüner Füller 2K");
    m->application = APPLY_SPRAY;
    m->usual_role = ROLE_FILLER;
    m->rule = HUMIDITY_MOISTURE;
    m->ref_rh_pct = 55;
    m->doubling_c = 9.5;
    m->doubling_basis = BASIS_LABEL;
    m->min_temp_c = -2.5;
    m->max_temp_c = NONE;
    m->max_rh_pct = 85;
    m->film_um = 60;
    m->film_exponent = 1.5;
    m->solids_pct = NONE;
    m->guard = STAGE_HANDLE;
    strcpy(m->limits_source, "label, side 2");
    strcpy(m->bake_source, "label, side 3");
    m->induction_min = 15;
    m->pot_life_min = 240;
    m->bake_too_hot_c = 180.5;
    m->bake_too_long_c = 130;
    m->bake_too_long_h = 2.25;
    strcpy(m->thinner, "epoxy thinner, \"No. 9\"");
    for (unsigned i = 0; i < HAZARD_COUNT; i++)
        m->hazard[i] = (enum answer)(i % ANSWER_COUNT);
    for (unsigned s = 0; s < STAGE_COUNT; s++) {
        struct stage_table *table = &m->stage[s];
        *table = (struct stage_table){.stage = (enum stage)s};
        table->boundaries = s == STAGE_UNMASK ? 0 : s % MATERIAL_BOUNDARIES_MAX + 1;
        table->first = table->boundaries > 0 && s % 2 ? SPAN_GO : SPAN_WAIT;
        for (unsigned b = 0; b < table->boundaries; b++) {
            struct stage_boundary *boundary = &table->boundary[b];
            boundary->then = (enum span_do)((b + 1) % SPAN_COUNT);
            boundary->rows = (b + s) % LAW_ROWS_MAX + 1;
            for (unsigned r = 0; r < boundary->rows; r++)
                boundary->row[r] = (struct cure_row){5.0 + 5 * r, 1.0 / (1 + r) + b + s};
            boundary->label_h = b % 2 ? NONE : 0.25 * (b + 1);
            boundary->basis = BASIS_LABEL;
            boundary->disputed = b == 1;
            snprintf(boundary->source, sizeof boundary->source, "line %u, \"%s\"", b, stage_word((enum stage)s));
        }
    }
    m->bake_rows = MATERIAL_BAKE_ROWS_MAX;
    for (unsigned r = 0; r < m->bake_rows; r++)
        m->bake_row[r] = (struct cure_row){100.0 + 10 * r, 2.0 / (r + 1)};
    version->entered_at = NOW;
}

static void built_in_materials_are_there_at_first(void **state)
{
    unsigned count = 0;
    const struct material *builtin = builtin_materials(&count);
    struct store *store = opened(FILE_OF(state));
    assert_true(count > 0);
    assert_int_equal(number_of(store, "SELECT count(*) FROM material"), count);
    assert_int_equal(number_of(store, "SELECT count(*) FROM material_version"), count);
    assert_int_equal(store_revision(store), 1);
    for (unsigned i = 0; i < count; i++) {
        char sql[120];
        snprintf(sql, sizeof sql, "SELECT id FROM material WHERE builtin_class = '%s'", material_class_word(builtin[i].material_class));
        struct found *found = versions_of(store, number_of(store, sql));
        assert_true(found->count == 1 && !found->removed && found->newest.version == 1);
        assert_int_equal(found->newest.entered_at, NOW);
        assert_true(found->newest.material.builtin);
        if (!store_material_equal(&found->newest.material, &builtin[i]))
            fail_msg("%s came back changed", builtin[i].name);
    }
    checked_close(store);
    store = opened(FILE_OF(state)); /* the second time nothing is added */
    assert_int_equal(number_of(store, "SELECT count(*) FROM material_version"), count);
    assert_int_equal(store_revision(store), 1);
    store_close(store);
}

static void a_version_comes_back_whole(void **state)
{
    static struct material_version version, again;
    struct store *store = opened(FILE_OF(state));
    fill(&version);
    BEGIN_WRITE(store);
    assert_int_equal(store_material_add(store, &version), COAT_OK);
    END_WRITE(store);
    assert_true(version.id > 0 && version.material_id > 0 && version.version == 1);
    checked_close(store);
    store = opened(FILE_OF(state));
    struct found *found = versions_of(store, version.material_id);
    assert_int_equal(found->count, 1);
    assert_int_equal(found->newest.id, version.id);
    assert_int_equal(found->newest.entered_at, NOW);
    assert_true(store_material_equal(&found->newest.material, &version.material));
    for (unsigned s = 0; s < STAGE_COUNT; s++)
        assert_int_equal(found->newest.material.stage[s].stage, s);
    /* And the comparison itself sees a single changed figure. */
    found->newest.material.stage[STAGE_CURE].boundary[0].row[0].hours += 1e-9;
    assert_false(store_material_equal(&found->newest.material, &version.material));

    again = version;
    strcpy(again.material.name, "Green filler");
    again.material.min_temp_c = NONE;
    BEGIN_WRITE(store);
    assert_int_equal(store_material_add(store, &again), COAT_OK);
    END_WRITE(store);
    assert_true(again.version == 2 && again.material_id == version.material_id && again.id > version.id);
    found = versions_of(store, version.material_id);
    assert_true(found->count == 2 && found->newest.version == 2 && isnan(found->newest.material.min_temp_c));
    checked_close(store);
}

static void names_of_materials_are_told_apart(void **state)
{
    static struct material_version first, second;
    struct store *store = opened(FILE_OF(state));
    fill(&first);
    fill(&second);
    strcpy(second.material.name, "GRÜNER füller 2k");
    BEGIN_WRITE(store);
    assert_int_equal(store_material_add(store, &first), COAT_OK);
    assert_int_equal(store_material_add(store, &second), COAT_CONFLICT);
    assert_true(second.id == 0 && second.material_id == 0 && second.version == 0);
    strcpy(second.material.name, builtin_materials(&(unsigned){0})->name);
    assert_int_equal(store_material_add(store, &second), COAT_CONFLICT);
    assert_int_equal(store_material_remove(store, first.material_id, NOW + 1), COAT_OK);
    assert_int_equal(store_material_remove(store, 9999, NOW + 1), COAT_NOT_FOUND);
    strcpy(second.material.name, "GRÜNER füller 2k");
    assert_int_equal(store_material_add(store, &second), COAT_OK); /* free again */
    second.material_id = 9999;
    assert_int_equal(store_material_add(store, &second), COAT_NOT_FOUND);
    END_WRITE(store);
    struct found *found = versions_of(store, first.material_id);
    assert_true(found->count == 1 && found->removed); /* out of the lists, but there for its coats */
    checked_close(store);
}

static void versions_are_never_changed(void **state)
{
    static const char *const tables[] = {"material_version", "material_hazard", "material_stage", "material_boundary", "material_row",
                                         "material_bake_row", "coat_entry", "migration"};
    static struct material_version version;
    struct store *store = opened(FILE_OF(state));
    fill(&version);
    BEGIN_WRITE(store);
    assert_int_equal(store_material_add(store, &version), COAT_OK);
    struct coat coat = a_coat(a_piece(store, "Hopper"), version.id);
    assert_int_equal(store_coat_add(store, &coat), COAT_OK);
    END_WRITE(store);
    store_close(store);
    sqlite3 *db = NULL;
    assert_int_equal(sqlite3_open(FILE_OF(state), &db), SQLITE_OK);
    for (size_t i = 0; i < sizeof tables / sizeof *tables; i++) {
        bool of_version = i >= 1 && i <= 5; /* these have no rowid */
        char sql[100];
        snprintf(sql, sizeof sql, "DELETE FROM %s", tables[i]);
        assert_int_equal(sqlite3_exec(db, sql, NULL, NULL, NULL), SQLITE_CONSTRAINT);
        snprintf(sql, sizeof sql, "UPDATE %s SET %s", tables[i], of_version ? "version_id = version_id" : "rowid = rowid");
        assert_int_equal(sqlite3_exec(db, sql, NULL, NULL, NULL), SQLITE_CONSTRAINT);
    }
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
}

/* As if an older program had other figures for a built-in material. */
static void make_older(const char *file)
{
    outside(file, "DROP TRIGGER material_row_keeps_rows;"
                  "UPDATE material_row SET hours = hours + 1 WHERE version_id = 1;"
                  "CREATE TRIGGER material_row_keeps_rows BEFORE UPDATE ON material_row"
                  " BEGIN SELECT RAISE(ABORT, 'rows of material_row are never changed'); END;");
}

static void a_changed_built_in_adds_a_version(void **state)
{
    static struct material_version own;
    struct store *store = opened(FILE_OF(state));
    int64_t versions = number_of(store, "SELECT count(*) FROM material_version");
    int64_t material_id = number_of(store, "SELECT material_id FROM material_version WHERE id = 1");
    store_close(store);
    make_older(FILE_OF(state));
    store = opened(FILE_OF(state));
    assert_int_equal(number_of(store, "SELECT count(*) FROM material_version"), versions + 1);
    assert_int_equal(store_revision(store), 2);
    struct found *found = versions_of(store, material_id);
    assert_true(found->count == 2 && found->newest.version == 2);
    assert_true(store_material_equal(&found->newest.material, builtin_of_class(found->newest.material.material_class)));

    /* Where the shop has typed in its own figures, they stand: the program does not override them. */
    own = found->newest;
    own.material.builtin = false;
    own.material.min_temp_c = 11;
    BEGIN_WRITE(store);
    assert_int_equal(store_material_add(store, &own), COAT_OK);
    END_WRITE(store);
    assert_int_equal(own.version, 3);
    store_close(store);
    store = opened(FILE_OF(state));
    found = versions_of(store, material_id);
    assert_true(found->count == 3 && found->newest.material.min_temp_c == 11);
    checked_close(store);
}

static void a_removed_built_in_stays_removed(void **state)
{
    struct store *store = opened(FILE_OF(state));
    int64_t material_id = number_of(store, "SELECT material_id FROM material_version WHERE id = 1");
    BEGIN_WRITE(store);
    assert_int_equal(store_material_remove(store, material_id, NOW), COAT_OK);
    END_WRITE(store);
    store_close(store);
    make_older(FILE_OF(state));
    store = opened(FILE_OF(state));
    struct found *found = versions_of(store, material_id);
    assert_true(found->count == 2 && found->removed);
    checked_close(store);
}

static void a_new_built_in_steps_aside_for_a_name_of_the_shop(void **state)
{
    unsigned count = 0;
    const struct material *builtin = builtin_materials(&count);
    struct store *store = opened(FILE_OF(state));
    store_close(store);
    /* As if the older program had not had the first one, and the shop had made its own by that name. */
    char sql[400];
    snprintf(sql, sizeof sql,
             "UPDATE material SET builtin_class = NULL, seeded_version = NULL WHERE builtin_class = '%s'",
             material_class_word(builtin[0].material_class));
    outside(FILE_OF(state), sql);
    for (int i = 0; i < 2; i++) { /* once, and it stays so */
        store = opened(FILE_OF(state));
        assert_int_equal(number_of(store, "SELECT count(*) FROM material"), count + 1);
        assert_int_equal(number_of(store, "SELECT count(*) FROM material_version"), count + 1);
        snprintf(sql, sizeof sql, "SELECT id FROM material WHERE builtin_class = '%s'", material_class_word(builtin[0].material_class));
        struct found *found = versions_of(store, number_of(store, sql));
        assert_non_null(strstr(found->newest.material.name, " (built-in)"));
        checked_close(store);
    }
}

static void rows_that_do_not_fit_are_not_read(void **state)
{
    struct store *store = opened(FILE_OF(state));
    store_close(store);
    outside(FILE_OF(state), "INSERT INTO material_row SELECT version_id, stage, boundary, 50, 90, 1 FROM material_row LIMIT 1");
    struct coat_error error = {0};
    enum coat_result result = store_open(FILE_OF(state), NOW, &store, &error);
    assert_int_equal(result, COAT_STORE_FAILED); /* found already while comparing with the built-in ones */
    assert_non_null(strstr(error.text, FILE_OF(state)));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
#define T(name) cmocka_unit_test_setup_teardown(name, scratch_make, scratch_remove)
        T(built_in_materials_are_there_at_first),
        T(a_version_comes_back_whole),
        T(names_of_materials_are_told_apart),
        T(versions_are_never_changed),
        T(a_changed_built_in_adds_a_version),
        T(a_removed_built_in_stays_removed),
        T(a_new_built_in_steps_aside_for_a_name_of_the_shop),
        T(rows_that_do_not_fit_are_not_read),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
