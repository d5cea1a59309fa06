/* Materials: immutable versions, each with its tables, and the built-in ones that come with the program. */
#include "daemon/store/internal.h"

#include <stdlib.h>
#include <string.h>

#define NO_WORDS 0

#define VERSION(X)                                                                                         \
    X(material_version, INT, material_id, NO_WORDS) X(material_version, INT, version, NO_WORDS)             \
    X(material_version, INT, entered_at, NO_WORDS)

#define MATERIAL(X)                                                                                        \
    X(material, TEXT, name, NO_WORDS) X(material, WORD, material_class, WORDS_material_class)               \
    X(material, FLAG, builtin, NO_WORDS) X(material, WORD, application, WORDS_application)                  \
    X(material, WORD, usual_role, WORDS_role) X(material, WORD, rule, WORDS_humidity_rule)                  \
    X(material, REAL, ref_rh_pct, NO_WORDS) X(material, REAL, doubling_c, NO_WORDS)                         \
    X(material, WORD, doubling_basis, WORDS_basis) X(material, REAL, min_temp_c, NO_WORDS)                  \
    X(material, REAL, max_temp_c, NO_WORDS) X(material, REAL, max_rh_pct, NO_WORDS)                         \
    X(material, REAL, film_um, NO_WORDS) X(material, REAL, film_exponent, NO_WORDS)                         \
    X(material, REAL, solids_pct, NO_WORDS) X(material, WORD, guard, WORDS_stage)                           \
    X(material, TEXT, limits_source, NO_WORDS) X(material, TEXT, bake_source, NO_WORDS)                     \
    X(material, FLAG, closes_by_hottest, NO_WORDS) X(material, REAL, induction_min, NO_WORDS) X(material, REAL, pot_life_min, NO_WORDS)  \
    X(material, TEXT, solvent, NO_WORDS) X(material, REAL, solvent_pct, NO_WORDS) X(material, TEXT, thinner, NO_WORDS)                    \
    X(material, REAL, bake_too_hot_c, NO_WORDS) X(material, REAL, bake_too_long_c, NO_WORDS) X(material, REAL, bake_too_long_h, NO_WORDS)

#define BOUNDARY(X)                                                                                        \
    X(stage_boundary, WORD, then, WORDS_span_do) X(stage_boundary, REAL, label_h, NO_WORDS)                 \
    X(stage_boundary, WORD, basis, WORDS_basis) X(stage_boundary, FLAG, disputed, NO_WORDS)                 \
    X(stage_boundary, TEXT, source, NO_WORDS)

static const struct column version_columns[] = {COLUMN_ID(material_version) VERSION(COLUMN_ENTRY)};
static const struct column material_columns[] = {MATERIAL(COLUMN_ENTRY)};
static const struct column boundary_columns[] = {BOUNDARY(COLUMN_ENTRY)};

static const struct record version_record = RECORD_OF(version_columns);
static const struct record material_record = RECORD_OF(material_columns);
static const struct record boundary_record = RECORD_OF(boundary_columns);

const struct statement_text material_statements[] = {
    {MATERIAL_ADD, "INSERT INTO material (name_key, builtin_class) VALUES (:name_key, :class)"},
    {MATERIAL_RENAME, "UPDATE material SET name_key = :name_key WHERE id = :id"},
    {MATERIAL_REMOVE, "UPDATE material SET removed_at = ifnull(removed_at, :at) WHERE id = :id"},
    {MATERIAL_NEWEST, "SELECT ifnull(max(version), 0) FROM material_version WHERE material_id = :id"},
    {MATERIAL_BUILTIN, "SELECT id, seeded_version, removed_at,"
                       " (SELECT max(version) FROM material_version WHERE material_id = material.id)"
                       " FROM material WHERE builtin_class = :class"},
    {MATERIAL_SEEDED, "UPDATE material SET seeded_version = :version WHERE id = :id"},
    {MATERIAL_NAMED, "SELECT id FROM material WHERE name_key = :name_key AND removed_at IS NULL"},
    {VERSION_ADD, "INSERT INTO material_version (id" VERSION(COLUMN_NAME) MATERIAL(COLUMN_NAME) ")"
                  " VALUES (:id" VERSION(COLUMN_PARAMETER) MATERIAL(COLUMN_PARAMETER) ")"},
    {VERSION_GET, "SELECT id" VERSION(COLUMN_NAME) MATERIAL(COLUMN_NAME)
                  " FROM material_version WHERE material_id = :material_id AND version = :version"},
    {VERSION_LIST, "SELECT material.removed_at IS NOT NULL, material_version.id" VERSION(COLUMN_NAME) MATERIAL(COLUMN_NAME)
                   " FROM material_version JOIN material ON material.id = material_id ORDER BY material_id, version"},
    {HAZARD_ADD, "INSERT INTO material_hazard VALUES (:version_id, :hazard, :answer)"},
    {HAZARD_LIST, "SELECT hazard, answer FROM material_hazard WHERE version_id = :version_id"},
    {STAGE_ADD, "INSERT INTO material_stage VALUES (:version_id, :stage, :first)"},
    {STAGE_LIST, "SELECT stage, first FROM material_stage WHERE version_id = :version_id"},
    {BOUNDARY_ADD, "INSERT INTO material_boundary (version_id, stage, number" BOUNDARY(COLUMN_NAME) ")"
                   " VALUES (:version_id, :stage, :number" BOUNDARY(COLUMN_PARAMETER) ")"},
    {BOUNDARY_LIST, "SELECT stage, number" BOUNDARY(COLUMN_NAME)
                    " FROM material_boundary WHERE version_id = :version_id ORDER BY stage, number"},
    {ROW_ADD, "INSERT INTO material_row VALUES (:version_id, :stage, :boundary, :number, :temp_c, :hours)"},
    {ROW_LIST, "SELECT stage, boundary, number, temp_c, hours"
               " FROM material_row WHERE version_id = :version_id ORDER BY stage, boundary, number"},
    {BAKE_ROW_ADD, "INSERT INTO material_bake_row VALUES (:version_id, :number, :temp_c, :hours)"},
    {BAKE_ROW_LIST, "SELECT number, temp_c, hours FROM material_bake_row WHERE version_id = :version_id ORDER BY number"},
    {0, NULL},
};

/* ---- comparing ---- */

static bool rows_equal(const struct cure_row *a, unsigned a_rows, const struct cure_row *b, unsigned b_rows)
{
    if (a_rows != b_rows)
        return false;
    for (unsigned i = 0; i < a_rows; i++) {
        if (a[i].temp_c != b[i].temp_c || a[i].hours != b[i].hours)
            return false;
    }
    return true;
}

static bool stages_equal(const struct stage_table *a, const struct stage_table *b)
{
    if (a->boundaries != b->boundaries || (a->boundaries > 0 && a->first != b->first))
        return false;
    for (unsigned i = 0; i < a->boundaries; i++) {
        const struct stage_boundary *x = &a->boundary[i], *y = &b->boundary[i];
        if (!record_equal(&boundary_record, x, y) || !rows_equal(x->row, x->rows, y->row, y->rows))
            return false;
    }
    return true;
}

bool store_material_equal(const struct material *a, const struct material *b)
{
    if (!record_equal(&material_record, a, b) || memcmp(a->hazard, b->hazard, sizeof a->hazard) != 0)
        return false;
    for (unsigned i = 0; i < STAGE_COUNT; i++) {
        if (!stages_equal(&a->stage[i], &b->stage[i]))
            return false;
    }
    return rows_equal(a->bake_row, a->bake_rows, b->bake_row, b->bake_rows);
}

/* ---- writing ---- */

static enum coat_result write_hazards(struct store *store, int64_t version_id, const struct material *material)
{
    enum coat_result result = COAT_OK;
    for (unsigned hazard = 0; hazard < HAZARD_COUNT && result == COAT_OK; hazard++) {
        if (material->hazard[hazard] == ANSWER_NONE)
            continue;
        struct statement *s = statement_use(store, HAZARD_ADD);
        bind_int(s, ":version_id", version_id);
        bind_word(s, ":hazard", WORDS_hazard, hazard);
        bind_word(s, ":answer", WORDS_answer, material->hazard[hazard]);
        result = statement_run(s);
    }
    return result;
}

static enum coat_result write_bake_rows(struct store *store, int64_t version_id, const struct material *material)
{
    enum coat_result result = COAT_OK;
    for (unsigned i = 0; i < material->bake_rows && result == COAT_OK; i++) {
        struct statement *s = statement_use(store, BAKE_ROW_ADD);
        bind_int(s, ":version_id", version_id);
        bind_int(s, ":number", i);
        bind_real(s, ":temp_c", material->bake_row[i].temp_c);
        bind_real(s, ":hours", material->bake_row[i].hours);
        result = statement_run(s);
    }
    return result;
}

static enum coat_result write_row(struct store *store, int64_t version_id, unsigned stage, unsigned boundary,
                                  unsigned number, struct cure_row row)
{
    struct statement *s = statement_use(store, ROW_ADD);
    bind_int(s, ":version_id", version_id);
    bind_word(s, ":stage", WORDS_stage, stage);
    bind_int(s, ":boundary", boundary);
    bind_int(s, ":number", number);
    bind_real(s, ":temp_c", row.temp_c);
    bind_real(s, ":hours", row.hours);
    return statement_run(s);
}

static enum coat_result write_boundary(struct store *store, int64_t version_id, unsigned stage, unsigned number,
                                       const struct stage_boundary *boundary)
{
    assert(boundary->rows <= LAW_ROWS_MAX);
    struct statement *s = statement_use(store, BOUNDARY_ADD);
    bind_int(s, ":version_id", version_id);
    bind_word(s, ":stage", WORDS_stage, stage);
    bind_int(s, ":number", number);
    bind_record(s, &boundary_record, boundary);
    enum coat_result result = statement_run(s);
    for (unsigned i = 0; i < boundary->rows && result == COAT_OK; i++)
        result = write_row(store, version_id, stage, number, i, boundary->row[i]);
    return result;
}

static enum coat_result write_stage(struct store *store, int64_t version_id, unsigned stage, const struct stage_table *table)
{
    assert(table->boundaries <= MATERIAL_BOUNDARIES_MAX);
    struct statement *s = statement_use(store, STAGE_ADD);
    bind_int(s, ":version_id", version_id);
    bind_word(s, ":stage", WORDS_stage, stage);
    bind_word(s, ":first", WORDS_span_do, table->first);
    enum coat_result result = statement_run(s);
    for (unsigned i = 0; i < table->boundaries && result == COAT_OK; i++)
        result = write_boundary(store, version_id, stage, i, &table->boundary[i]);
    return result;
}

static enum coat_result write_tables(struct store *store, int64_t version_id, const struct material *material)
{
    assert(material->bake_rows <= MATERIAL_BAKE_ROWS_MAX);
    enum coat_result result = write_hazards(store, version_id, material);
    for (unsigned i = 0; i < STAGE_COUNT && result == COAT_OK; i++) {
        if (material->stage[i].boundaries > 0)
            result = write_stage(store, version_id, i, &material->stage[i]);
    }
    return result == COAT_OK ? write_bake_rows(store, version_id, material) : result;
}

static enum coat_result newest_version(struct store *store, int64_t material_id, int64_t *ret_version)
{
    struct statement *s = statement_use(store, MATERIAL_NEWEST);
    bind_int(s, ":id", material_id);
    int64_t version = statement_row(s) ? take_int(s) : 0;
    enum coat_result result = statement_end(s);
    if (result == COAT_OK)
        *ret_version = version;
    return result;
}

/* Writes the version and all its rows; ids and number are filled in. */
static enum coat_result write_version(struct store *store, struct material_version *version)
{
    int64_t newest = 0, id = 0;
    enum coat_result result = newest_version(store, version->material_id, &newest);
    if (result != COAT_OK)
        return result;
    version->version = (int32_t)newest + 1;
    struct statement *s = statement_use(store, VERSION_ADD);
    bind_record(s, &version_record, version);
    bind_ref(s, ":id", 0);
    bind_record(s, &material_record, &version->material);
    result = statement_run_add(s, &id);
    if (result == COAT_OK)
        result = write_tables(store, id, &version->material);
    if (result == COAT_OK)
        version->id = id;
    return result;
}

static enum coat_result add_material(struct store *store, const char *name, const char *builtin_class, int64_t *ret_id)
{
    struct statement *s = statement_use(store, MATERIAL_ADD);
    bind_name_key(s, name);
    if (builtin_class)
        bind_text(s, ":class", builtin_class, strlen(builtin_class));
    return statement_run_add(s, ret_id);
}

static enum coat_result rename_material(struct store *store, int64_t material_id, const char *name)
{
    struct statement *s = statement_use(store, MATERIAL_RENAME);
    bind_name_key(s, name);
    bind_int(s, ":id", material_id);
    return statement_run_on_row(s);
}

enum coat_result store_material_add(struct store *store, struct material_version *version)
{
    assert(store->in_transaction);
    struct material_version *written = malloc(sizeof *written);
    if (!written)
        return COAT_NO_MEMORY;
    *written = *version;
    enum coat_result result = version->material_id == 0
                                  ? add_material(store, version->material.name, NULL, &written->material_id)
                                  : rename_material(store, version->material_id, version->material.name);
    if (result == COAT_OK) {
        result = write_version(store, written);
        if (result != COAT_OK)
            store_spoil(store, result);
    }
    if (result == COAT_OK)
        *version = *written;
    free(written);
    return result;
}

enum coat_result store_material_remove(struct store *store, int64_t material_id, int64_t at)
{
    assert(store->in_transaction);
    struct statement *s = statement_use(store, MATERIAL_REMOVE);
    bind_int(s, ":id", material_id);
    bind_moment(s, ":at", at);
    return statement_run_on_row(s);
}

/* ---- reading ---- */

static struct statement *use_of_version(struct store *store, enum statement_id id, int64_t version_id)
{
    struct statement *s = statement_use(store, id);
    bind_int(s, ":version_id", version_id);
    return s;
}

static enum coat_result read_hazards(struct store *store, int64_t version_id, struct material *material)
{
    struct statement *s = use_of_version(store, HAZARD_LIST, version_id);
    while (statement_row(s)) {
        unsigned hazard = take_word(s, WORDS_hazard);
        unsigned answer = take_word(s, WORDS_answer);
        if (s->result == COAT_OK)
            material->hazard[hazard] = (enum answer)answer;
    }
    return statement_end(s);
}

static enum coat_result read_stages(struct store *store, int64_t version_id, struct material *material)
{
    struct statement *s = use_of_version(store, STAGE_LIST, version_id);
    while (statement_row(s)) {
        unsigned stage = take_word(s, WORDS_stage);
        unsigned first = take_word(s, WORDS_span_do);
        if (s->result == COAT_OK)
            material->stage[stage].first = (enum span_do)first;
    }
    return statement_end(s);
}

static enum coat_result read_boundaries(struct store *store, int64_t version_id, struct material *material)
{
    struct statement *s = use_of_version(store, BOUNDARY_LIST, version_id);
    while (statement_row(s)) {
        struct stage_table *table = &material->stage[take_word(s, WORDS_stage)];
        if (take_int(s) != table->boundaries || table->boundaries == MATERIAL_BOUNDARIES_MAX)
            statement_malformed(s); /* numbers rise one by one */
        else if (take_record(s, &boundary_record, &table->boundary[table->boundaries]))
            table->boundaries++;
    }
    return statement_end(s);
}

/* Reads a table row into its place, the next free one. */
static void take_cure_row(struct statement *s, struct cure_row *row, unsigned *io_rows, unsigned rows_max)
{
    if (take_int(s) != *io_rows || *io_rows == rows_max) {
        statement_malformed(s);
        return;
    }
    row[*io_rows].temp_c = take_real(s);
    row[*io_rows].hours = take_real(s);
    (*io_rows)++;
}

static enum coat_result read_rows(struct store *store, int64_t version_id, struct material *material)
{
    struct statement *s = use_of_version(store, ROW_LIST, version_id);
    while (statement_row(s)) {
        struct stage_table *table = &material->stage[take_word(s, WORDS_stage)];
        int64_t number = take_int(s);
        if (number < 0 || number >= table->boundaries) {
            statement_malformed(s);
            continue;
        }
        struct stage_boundary *boundary = &table->boundary[number];
        take_cure_row(s, boundary->row, &boundary->rows, LAW_ROWS_MAX);
    }
    return statement_end(s);
}

static enum coat_result read_bake_rows(struct store *store, int64_t version_id, struct material *material)
{
    struct statement *s = use_of_version(store, BAKE_ROW_LIST, version_id);
    while (statement_row(s))
        take_cure_row(s, material->bake_row, &material->bake_rows, MATERIAL_BAKE_ROWS_MAX);
    return statement_end(s);
}

static enum coat_result read_tables(struct store *store, int64_t version_id, struct material *material)
{
    static enum coat_result (*const readers[])(struct store *, int64_t, struct material *) = {
        read_hazards, read_stages, read_boundaries, read_rows, read_bake_rows};
    enum coat_result result = COAT_OK;
    for (size_t i = 0; i < sizeof readers / sizeof *readers && result == COAT_OK; i++)
        result = readers[i](store, version_id, material);
    return result;
}

/* Reads the version that the statement is on, and all its rows. */
static bool take_version(struct statement *s, struct material_version *ret)
{
    memset(ret, 0, sizeof *ret);
    for (unsigned i = 0; i < STAGE_COUNT; i++)
        ret->material.stage[i].stage = (enum stage)i;
    if (!take_record(s, &version_record, ret) || !take_record(s, &material_record, &ret->material))
        return false;
    s->result = read_tables(s->store, ret->id, &ret->material);
    return s->result == COAT_OK;
}

enum coat_result store_materials(struct store *store, bool (*each)(const struct material_version *, bool removed, void *),
                                 void *context)
{
    struct material_version *version = malloc(sizeof *version);
    if (!version)
        return COAT_NO_MEMORY;
    struct statement *s = statement_use(store, VERSION_LIST);
    while (statement_row(s)) {
        bool removed = take_int(s) != 0;
        if (!take_version(s, version) || !each(version, removed, context))
            break;
    }
    free(version);
    return statement_end(s);
}

/* ---- what comes with the program ---- */

struct builtin_row {
    int64_t id, seeded_version, newest_version;
    bool removed;
};

static enum coat_result find_builtin(struct store *store, enum material_class class, struct builtin_row *ret)
{
    struct statement *s = statement_use(store, MATERIAL_BUILTIN);
    bind_word(s, ":class", WORDS_material_class, class);
    if (statement_row(s)) {
        ret->id = take_int(s);
        ret->seeded_version = take_moment(s); /* NULL only while it is being added */
        ret->removed = take_moment(s) != MOMENT_NONE;
        ret->newest_version = take_int(s);
    }
    return statement_end(s);
}

static enum coat_result name_taken(struct store *store, const char *name, int64_t but_by, bool *ret_taken)
{
    struct statement *s = statement_use(store, MATERIAL_NAMED);
    bind_name_key(s, name);
    bool taken = statement_row(s) && take_int(s) != but_by;
    enum coat_result result = statement_end(s);
    *ret_taken = taken;
    return result;
}

/* A shop may have a material of its own by the name of a later built-in one: the built-in one steps aside. */
static enum coat_result choose_name(struct store *store, const struct builtin_row *row, struct material *material)
{
    static const char *const endings[] = {" (built-in)", " (built-in, 2)", " (built-in, 3)", " (built-in, 4)"};
    char name[MATERIAL_NAME_SIZE];
    memcpy(name, material->name, sizeof name);
    for (size_t i = 0; !row->removed; i++) {
        bool taken = false;
        enum coat_result result = name_taken(store, material->name, row->id, &taken);
        if (result != COAT_OK || !taken)
            return result;
        if (i == sizeof endings / sizeof *endings)
            return COAT_CONFLICT;
        snprintf(material->name, sizeof material->name, "%.40s%s", name, endings[i]);
    }
    return COAT_OK;
}

static enum coat_result read_version(struct store *store, int64_t material_id, int64_t number, struct material_version *ret)
{
    struct statement *s = statement_use(store, VERSION_GET);
    bind_int(s, ":material_id", material_id);
    bind_int(s, ":version", number);
    if (!statement_row(s))
        statement_malformed(s);
    else
        take_version(s, ret);
    return statement_end(s);
}

static enum coat_result seed_version(struct store *store, const struct builtin_row *row, struct material_version *version)
{
    const char *name = version->material.name;
    enum coat_result result = row->id == 0 ? add_material(store, name, material_class_word(version->material.material_class),
                                                          &version->material_id)
                                           : rename_material(store, row->id, name);
    if (result == COAT_OK)
        result = write_version(store, version);
    if (result != COAT_OK)
        return result;
    struct statement *s = statement_use(store, MATERIAL_SEEDED);
    bind_int(s, ":id", version->material_id);
    bind_int(s, ":version", version->version);
    return statement_run_on_row(s);
}

/* Adds the version where it is new. A built-in material to which the shop gave a version of its own is left as the shop wants it.
 * `scratch` holds two versions: the one to be and the one that is. */
static enum coat_result seed_one(struct store *store, const struct material *builtin, int64_t now_ms,
                                 struct material_version *scratch, bool *io_changed)
{
    struct builtin_row row = {0};
    struct material_version *next = &scratch[0], *last = &scratch[1];
    enum coat_result result = find_builtin(store, builtin->material_class, &row);
    if (result != COAT_OK || row.newest_version != row.seeded_version)
        return result;
    *next = (struct material_version){.material_id = row.id, .entered_at = now_ms, .material = *builtin};
    next->material.builtin = true;
    result = choose_name(store, &row, &next->material);
    if (result == COAT_OK && row.id != 0)
        result = read_version(store, row.id, row.seeded_version, last);
    if (result != COAT_OK || (row.id != 0 && store_material_equal(&next->material, &last->material)))
        return result;
    *io_changed = true;
    return seed_version(store, &row, next);
}

static enum coat_result seed_all(struct store *store, int64_t now_ms, bool *ret_changed)
{
    unsigned count = 0;
    const struct material *builtin = builtin_materials(&count);
    struct material_version *scratch = calloc(2, sizeof *scratch);
    enum coat_result result = scratch ? COAT_OK : COAT_NO_MEMORY;
    for (unsigned i = 0; i < count && result == COAT_OK; i++)
        result = seed_one(store, &builtin[i], now_ms, scratch, ret_changed);
    free(scratch);
    return result;
}

enum coat_result store_seed(struct store *store, int64_t now_ms, struct coat_error *error)
{
    bool changed = false;
    int64_t revision;
    enum coat_result result = store_begin(store);
    if (result == COAT_OK)
        result = seed_all(store, now_ms, &changed);
    if (result == COAT_OK && changed)
        result = store_revision_bump(store, &revision);
    if (result == COAT_OK && changed)
        result = store_commit(store);
    if (store->in_transaction)
        store_rollback(store); /* also where nothing has changed: no commit, nothing written */
    if (result != COAT_OK)
        return coat_fail(error, result, "db", "%.160s does not take the built-in materials: %s", store->path,
                         coat_result_text(result));
    return COAT_OK;
}
