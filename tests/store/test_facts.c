/* Every kind of fact goes into the file and comes out the same, also after the file was closed and opened again. */
#include "scratch.h"

#include "daemon/store/internal.h"

#define FILE_OF(state) (((struct scratch *)*(state))->file)
#define NONE ((double)NAN)

static bool same_number(double a, double b)
{
    return (isnan(a) && isnan(b)) || a == b;
}
#define ASSERT_SAME(a, b) assert_true(same_number(a, b))

/* Gathers the rows of a list function, at most 8. */
#define GATHERED_MAX 8
#define DEFINE_GATHER(type)                                                                                \
    struct type##_rows {                                                                                  \
        int count;                                                                                        \
        struct type row[GATHERED_MAX];                                                                    \
    };                                                                                                    \
    static bool gather_##type(const struct type *value, void *context)                                     \
    {                                                                                                     \
        struct type##_rows *rows = context;                                                               \
        assert_true(rows->count < GATHERED_MAX);                                                          \
        rows->row[rows->count++] = *value;                                                                \
        return true;                                                                                      \
    }
DEFINE_GATHER(place)
DEFINE_GATHER(piece)
DEFINE_GATHER(rack)
DEFINE_GATHER(move)
DEFINE_GATHER(coat)
DEFINE_GATHER(sanding)
DEFINE_GATHER(stripping)
DEFINE_GATHER(bench_test)
DEFINE_GATHER(tin)
DEFINE_GATHER(mix)
DEFINE_GATHER(notice)

static int64_t first_version(struct store *store)
{
    static const char sql[] = "SELECT min(id) FROM material_version";
    int64_t id = 0;
    assert_int_equal(store_query_int(store, sql, &id, NULL), COAT_OK);
    return id;
}

static struct store *reopened(struct store *store, const char *file)
{
    checked_close(store);
    return opened(file);
}

static void settings_start_plain_and_are_kept(void **state)
{
    struct store *store = opened(FILE_OF(state));
    struct shop_settings got, set = {"Europe/Vienna", UNITS_US, 45, 22 * 60, 7 * 60, 17 * 60, 21 * 60, MORNING_NONE};
    assert_int_equal(store_settings_get(store, &got), COAT_OK);
    assert_string_equal(got.zone, "UTC");
    assert_int_equal(got.units, UNITS_METRIC);
    assert_int_equal(got.lead_closing_min, 60);
    assert_int_equal(got.quiet_from_min, got.quiet_to_min);
    BEGIN_WRITE(store);
    assert_int_equal(store_settings_set(store, &set), COAT_OK);
    END_WRITE(store);
    store = reopened(store, FILE_OF(state));
    assert_int_equal(store_settings_get(store, &got), COAT_OK);
    assert_string_equal(got.zone, set.zone);
    assert_int_equal(got.units, set.units);
    assert_int_equal(got.lead_closing_min, 45);
    assert_int_equal(got.quiet_from_min, 22 * 60);
    assert_int_equal(got.quiet_to_min, 7 * 60);
    assert_int_equal(got.work_from_min, 17 * 60);
    assert_int_equal(got.work_to_min, 21 * 60);
    store_close(store);
}

static void assert_same_place(const struct place *a, const struct place *b)
{
    assert_int_equal(a->id, b->id);
    assert_string_equal(a->name, b->name);
    assert_int_equal(a->kind, b->kind);
    ASSERT_SAME(a->volume_m3, b->volume_m3);
    ASSERT_SAME(a->airflow_m3h, b->airflow_m3h);
    assert_memory_equal(a->risk, b->risk, sizeof a->risk);
    assert_int_equal(a->added_at, b->added_at);
    assert_int_equal(a->removed_at, b->removed_at);
}

static void places_come_back_with_what_was_answered(void **state)
{
    struct store *store = opened(FILE_OF(state));
    struct place cellar = {.name = "Keller – Süd 🪵", .kind = PLACE_CABINET, .volume_m3 = 31.25, .airflow_m3h = NONE, .added_at = NOW,
                           .removed_at = MOMENT_NONE};
    struct place oven = {.name = "Oven", .kind = PLACE_OVEN, .volume_m3 = NONE, .airflow_m3h = 12.5, .added_at = NOW + 1,
                         .removed_at = NOW + 2};
    cellar.risk[RISK_BELOW_GROUND] = ANSWER_YES;
    cellar.risk[RISK_ELECTRONICS_NEAR] = ANSWER_NO;
    BEGIN_WRITE(store);
    assert_int_equal(store_place_add(store, &cellar, &cellar.id), COAT_OK);
    assert_int_equal(store_place_add(store, &oven, &oven.id), COAT_OK);
    END_WRITE(store);
    assert_true(cellar.id > 0 && oven.id > cellar.id);

    store = reopened(store, FILE_OF(state));
    struct place_rows rows = {0};
    assert_int_equal(store_places(store, gather_place, &rows), COAT_OK);
    assert_int_equal(rows.count, 2);
    assert_same_place(&rows.row[0], &cellar);
    assert_same_place(&rows.row[1], &oven);

    cellar.risk[RISK_BELOW_GROUND] = ANSWER_NONE; /* taken back */
    cellar.risk[RISK_PILOT] = ANSWER_YES;
    cellar.volume_m3 = NONE;
    strcpy(cellar.name, "Cellar");
    BEGIN_WRITE(store);
    assert_int_equal(store_place_put(store, &cellar), COAT_OK);
    END_WRITE(store);
    memset(&rows, 0, sizeof rows);
    assert_int_equal(store_places(store, gather_place, &rows), COAT_OK);
    assert_same_place(&rows.row[0], &cellar);
    assert_same_place(&rows.row[1], &oven);
    BEGIN_WRITE(store);
    cellar.id = 4711;
    strcpy(cellar.name, "Nowhere");
    assert_int_equal(store_place_put(store, &cellar), COAT_NOT_FOUND);
    store_rollback(store);
    checked_close(store);
}

static void pieces_come_back_with_their_areas(void **state)
{
    struct store *store = opened(FILE_OF(state));
    struct piece mill = {.name = "Coffee mill, body", .old_finish = OLD_FINISH_LEAD, .areas = 3, .area = {"front", "back", "rim ½"},
                         .mass_kg = 11.4, .wall_mm = NONE, .note = "crack in the foot", .added_at = NOW, .removed_at = MOMENT_NONE};
    struct piece wheel = {.name = "Wheel", .mass_kg = NONE, .wall_mm = 6.5, .added_at = NOW, .removed_at = NOW + 5};
    memset(wheel.note, 'x', NOTE_SIZE - 1);
    BEGIN_WRITE(store);
    assert_int_equal(store_piece_add(store, &mill, &mill.id), COAT_OK);
    assert_int_equal(store_piece_add(store, &wheel, &wheel.id), COAT_OK);
    mill.areas = 1;
    mill.old_finish = OLD_FINISH_CLEAR;
    assert_int_equal(store_piece_put(store, &mill), COAT_OK);
    END_WRITE(store);
    store = reopened(store, FILE_OF(state));
    struct piece_rows rows = {0};
    assert_int_equal(store_pieces(store, gather_piece, &rows), COAT_OK);
    assert_int_equal(rows.count, 2);
    assert_string_equal(rows.row[0].name, mill.name);
    assert_int_equal(rows.row[0].old_finish, OLD_FINISH_CLEAR);
    assert_int_equal(rows.row[0].areas, 1);
    assert_string_equal(rows.row[0].area[0], "front");
    assert_string_equal(rows.row[0].area[1], "");
    ASSERT_SAME(rows.row[0].mass_kg, 11.4);
    ASSERT_SAME(rows.row[0].wall_mm, NONE);
    assert_int_equal(rows.row[0].removed_at, MOMENT_NONE);
    assert_int_equal(rows.row[1].areas, 0);
    assert_string_equal(rows.row[1].note, wheel.note);
    ASSERT_SAME(rows.row[1].wall_mm, 6.5);
    assert_int_equal(rows.row[1].removed_at, NOW + 5);
    store_close(store);
}

static void a_name_in_use_is_refused_whatever_its_case(void **state)
{
    struct store *store = opened(FILE_OF(state));
    struct piece piece = {.name = "Ölmühle Γ", .mass_kg = NONE, .wall_mm = NONE, .added_at = NOW, .removed_at = MOMENT_NONE};
    int64_t id = 0, other = 0;
    BEGIN_WRITE(store);
    assert_int_equal(store_piece_add(store, &piece, &id), COAT_OK);
    strcpy(piece.name, "öLMÜHLE γ");
    assert_int_equal(store_piece_add(store, &piece, &other), COAT_CONFLICT);
    assert_int_equal(other, 0);
    END_WRITE(store); /* what was refused changed nothing: the rest may stay */
    piece.id = id;
    piece.removed_at = NOW;
    BEGIN_WRITE(store);
    assert_int_equal(store_piece_put(store, &piece), COAT_OK); /* its own name, in other letters */
    piece.removed_at = MOMENT_NONE;
    assert_int_equal(store_piece_add(store, &piece, &other), COAT_OK); /* the name is free again */
    assert_true(other > id);
    assert_int_equal(store_piece_put(store, &piece), COAT_CONFLICT); /* and may not come back */
    store_rollback(store);
    BEGIN_WRITE(store);
    piece.name[0] = 0;
    assert_int_equal(store_piece_add(store, &piece, &other), COAT_BAD_VALUE);
    store_rollback(store);
    checked_close(store);
}

static void names_fold_letter_by_letter(void **state)
{
    static const struct {
        const char *name, *key;
    } cases[] = {
        {"Body", "body"}, {"ÀÖØÞ×ß", "àöøþ×ß"}, {"ĀāĶķĹĺŇňŹźŸ", "āāķķĺĺňňźźÿ"}, {"ΑΡΣΩ", "αρσω"}, {"ЀЯа", "ѐяа"}, {"漢字", "漢字"},
        {"broken \xc3", "broken \xc3"}, {"\xff\xc3(", "\xff\xc3("},
    };
    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char key[NAME_SIZE];
        name_fold(cases[i].name, key, sizeof key);
        assert_string_equal(key, cases[i].key);
    }
}

static void racks_keep_their_order(void **state)
{
    struct store *store = opened(FILE_OF(state));
    struct rack rack = {.name = "Fan blades", .pieces = 3, .added_at = NOW, .removed_at = MOMENT_NONE};
    BEGIN_WRITE(store);
    for (int i = 2; i >= 0; i--) {
        char name[24];
        snprintf(name, sizeof name, "Blade %d", i);
        rack.piece_id[i] = a_piece(store, name);
    }
    assert_int_equal(store_rack_add(store, &rack, &rack.id), COAT_OK);
    END_WRITE(store);
    store = reopened(store, FILE_OF(state));
    struct rack_rows rows = {0};
    assert_int_equal(store_racks(store, gather_rack, &rows), COAT_OK);
    assert_int_equal(rows.count, 1);
    assert_int_equal(rows.row[0].pieces, 3);
    assert_memory_equal(rows.row[0].piece_id, rack.piece_id, sizeof rack.piece_id);
    BEGIN_WRITE(store);
    rack.piece_id[1] = 4711; /* no such piece: the rack must not be left with one */
    assert_int_equal(store_rack_put(store, &rack), COAT_NOT_FOUND);
    assert_int_equal(store_commit(store), COAT_NOT_FOUND);
    store_rollback(store);
    memset(&rows, 0, sizeof rows);
    assert_int_equal(store_racks(store, gather_rack, &rows), COAT_OK);
    assert_int_equal(rows.row[0].pieces, 3);
    checked_close(store);
}

static void moves_come_by_piece_and_time(void **state)
{
    struct store *store = opened(FILE_OF(state));
    int64_t id = 0;
    BEGIN_WRITE(store);
    int64_t cellar = a_place(store, "Cellar"), booth = a_place(store, "Booth");
    int64_t wheel = a_piece(store, "Wheel"), body = a_piece(store, "Body");
    const struct move moves[] = {
        {0, body, booth, NOW + 5, NOW + 9}, {0, wheel, cellar, NOW + 3, NOW + 9}, {0, wheel, booth, NOW + 1, NOW + 9},
        {0, wheel, booth, NOW + 3, NOW + 10},
    };
    for (size_t i = 0; i < 4; i++)
        assert_int_equal(store_move_add(store, &moves[i], &id), COAT_OK);
    const struct move lost = {0, 99, booth, NOW, NOW};
    assert_int_equal(store_move_add(store, &lost, &id), COAT_NOT_FOUND);
    END_WRITE(store);
    store = reopened(store, FILE_OF(state));
    struct move_rows rows = {0};
    static const int order[] = {2, 1, 3, 0};
    assert_int_equal(store_moves(store, gather_move, &rows), COAT_OK);
    assert_int_equal(rows.count, 4);
    for (int i = 0; i < 4; i++) {
        const struct move *want = &moves[order[i]], *got = &rows.row[i];
        assert_true(got->id > 0 && got->piece_id == want->piece_id && got->place_id == want->place_id && got->at == want->at &&
                    got->entered_at == want->entered_at);
    }
    store_close(store);
}

static void assert_same_coat(const struct coat *a, const struct coat *b)
{
    assert_true(a->id == b->id && a->entry == b->entry && a->entered_at == b->entered_at && a->piece_id == b->piece_id);
    assert_true(a->material_version_id == b->material_version_id && a->tin_id == b->tin_id && a->role == b->role && a->application == b->application);
    assert_true(a->first_at == b->first_at && a->last_at == b->last_at && a->passes == b->passes && a->film == b->film);
    ASSERT_SAME(a->wet_um, b->wet_um);
    ASSERT_SAME(a->dry_um, b->dry_um);
    ASSERT_SAME(a->amount_ml, b->amount_ml);
    ASSERT_SAME(a->thinned_pct, b->thinned_pct);
    assert_string_equal(a->area, b->area);
    assert_string_equal(a->thinner, b->thinner);
    assert_string_equal(a->note, b->note);
    assert_string_equal(a->struck_why, b->struck_why);
    assert_int_equal(a->struck_at, b->struck_at);
}

static void an_amended_coat_keeps_its_old_entries(void **state)
{
    struct store *store = opened(FILE_OF(state));
    struct coat first, second, other;
    BEGIN_WRITE(store);
    int64_t wheel = a_piece(store, "Wheel");
    first = a_coat(wheel, first_version(store));
    first.wet_um = 0.1 + 0.2; /* all bits of it */
    strcpy(first.area, "rim");
    strcpy(first.thinner, "white spirit");
    strcpy(first.note, "runs near the spoke — „Nase“");
    first.thinned_pct = 10;
    assert_int_equal(store_coat_add(store, &first), COAT_OK);
    other = a_coat(wheel, first_version(store));
    assert_int_equal(store_coat_add(store, &other), COAT_OK);
    END_WRITE(store);
    assert_true(first.entry == 1 && other.entry == 1 && other.id == first.id + 1);

    second = first;
    second.entered_at = NOW + 7;
    second.film = FILM_HEAVY;
    second.amount_ml = 40;
    second.struck_at = NOW + 7;
    strcpy(second.struck_why, "wrong wheel");
    BEGIN_WRITE(store);
    assert_int_equal(store_coat_add(store, &second), COAT_OK);
    END_WRITE(store);
    assert_true(second.id == first.id && second.entry == 2);

    store = reopened(store, FILE_OF(state));
    struct coat_rows rows = {0};
    assert_int_equal(store_coats(store, gather_coat, &rows), COAT_OK);
    assert_int_equal(rows.count, 2);
    assert_same_coat(&rows.row[0], &second);
    assert_same_coat(&rows.row[1], &other);
    memset(&rows, 0, sizeof rows);
    assert_int_equal(store_coat_entries(store, first.id, gather_coat, &rows), COAT_OK);
    assert_int_equal(rows.count, 2);
    assert_same_coat(&rows.row[0], &first);
    assert_same_coat(&rows.row[1], &second);
    checked_close(store);
}

static void a_coat_of_nothing_is_refused_whole(void **state)
{
    struct store *store = opened(FILE_OF(state));
    BEGIN_WRITE(store);
    struct coat good = a_coat(a_piece(store, "Wheel"), first_version(store));
    END_WRITE(store);
    struct coat bad[4] = {good, good, good, good};
    static const enum coat_result codes[4] = {COAT_NOT_FOUND, COAT_NOT_FOUND, COAT_NOT_FOUND, COAT_BAD_VALUE};
    bad[0].piece_id = 99;
    bad[1].material_version_id = 9999;
    bad[2].id = 5;                          /* an entry of a coat that is not there */
    bad[3].first_at = bad[3].last_at + 1;   /* ended before it began */
    for (int i = 0; i < 4; i++) {
        struct coat tried = bad[i];
        BEGIN_WRITE(store);
        assert_int_equal(store_coat_add(store, &tried), codes[i]);
        assert_int_equal(tried.id, bad[i].id);
        store_rollback(store);
    }
    BEGIN_WRITE(store);
    assert_int_equal(store_coat_add(store, &good), COAT_OK);
    END_WRITE(store);
    assert_int_equal(good.id, 1);
    checked_close(store);
}

static void sandings_and_strippings_come_back(void **state)
{
    struct store *store = opened(FILE_OF(state));
    int64_t id = 0;
    BEGIN_WRITE(store);
    struct coat coat = a_coat(a_piece(store, "Scale, pillar"), first_version(store));
    assert_int_equal(store_coat_add(store, &coat), COAT_OK);
    const struct sanding sanding = {0, coat.id, NOW + 1, NOW + 2};
    const struct stripping all = {0, coat.piece_id, "", 0, NOW + 3, NOW + 4};
    const struct stripping some = {0, coat.piece_id, "foot", coat.id, NOW + 5, NOW + 6};
    assert_int_equal(store_sanding_add(store, &sanding, &id), COAT_OK);
    assert_int_equal(store_stripping_add(store, &all, &id), COAT_OK);
    assert_int_equal(store_stripping_add(store, &some, &id), COAT_OK);
    END_WRITE(store);
    store = reopened(store, FILE_OF(state));
    struct sanding_rows sandings = {0};
    struct stripping_rows strippings = {0};
    assert_int_equal(store_sandings(store, gather_sanding, &sandings), COAT_OK);
    assert_int_equal(store_strippings(store, gather_stripping, &strippings), COAT_OK);
    assert_true(sandings.count == 1 && strippings.count == 2);
    assert_true(sandings.row[0].coat_id == coat.id && sandings.row[0].at == NOW + 1 && sandings.row[0].entered_at == NOW + 2);
    assert_true(strippings.row[0].down_to_coat_id == 0 && strippings.row[0].piece_id == coat.piece_id);
    assert_true(strippings.row[1].down_to_coat_id == coat.id && strippings.row[1].at == NOW + 5);
    assert_string_equal(strippings.row[1].area, "foot");
    store_close(store);
}

static int64_t first_material(struct store *store)
{
    int64_t id = 0;
    assert_int_equal(store_query_int(store, "SELECT min(id) FROM material", &id, NULL), COAT_OK);
    return id;
}

/* Given SQL that changes a fact, then it is refused and the fact stays. */
static void unchangeable(struct store *store, const char *sql)
{
    struct coat_error error = {0};
    assert_int_not_equal(store_exec(store, sql, &error), COAT_OK);
}

static void tests_at_the_bench_come_back_and_stay(void **state)
{
    struct store *store = opened(FILE_OF(state));
    int64_t id = 0;
    BEGIN_WRITE(store);
    struct coat coat = a_coat(a_piece(store, "Fan guard"), first_version(store));
    assert_int_equal(store_coat_add(store, &coat), COAT_OK);
    const struct bench_test failed = {0, coat.id, STAGE_TACK_FREE, false, NOW + 5, NOW + 6};
    const struct bench_test passed = {0, coat.id, STAGE_TACK_FREE, true, NOW + 7, NOW + 8};
    const struct bench_test lost = {0, 99, STAGE_TACK_FREE, true, NOW + 7, NOW + 8};
    assert_int_equal(store_bench_test_add(store, &failed, &id), COAT_OK);
    assert_int_equal(store_bench_test_add(store, &passed, &id), COAT_OK);
    assert_int_equal(store_bench_test_add(store, &lost, &id), COAT_NOT_FOUND);
    END_WRITE(store);
    unchangeable(store, "UPDATE bench_test SET passed = 1");
    unchangeable(store, "DELETE FROM bench_test");
    store = reopened(store, FILE_OF(state));
    struct bench_test_rows rows = {0};
    assert_int_equal(store_bench_tests(store, gather_bench_test, &rows), COAT_OK);
    assert_int_equal(rows.count, 2);
    assert_true(rows.row[0].id > 0 && rows.row[0].coat_id == coat.id && rows.row[0].stage == STAGE_TACK_FREE && !rows.row[0].passed);
    assert_true(rows.row[0].at == NOW + 5 && rows.row[0].entered_at == NOW + 6);
    assert_true(rows.row[1].id > rows.row[0].id && rows.row[1].passed && rows.row[1].at == NOW + 7);
    store_close(store);
}

static void assert_same_tin(const struct tin *a, const struct tin *b)
{
    assert_true(a->id == b->id && a->material_id == b->material_id && a->opened_at == b->opened_at && a->keep_by_at == b->keep_by_at);
    assert_true(a->added_at == b->added_at && a->removed_at == b->removed_at);
    assert_string_equal(a->name, b->name);
    assert_string_equal(a->batch, b->batch);
}

static void tins_come_back_and_a_coat_keeps_its_tin(void **state)
{
    struct store *store = opened(FILE_OF(state));
    int64_t id = 0;
    struct tin shut = {.material_id = first_material(store), .name = "Schwarz 2", .batch = "L 0417/B", .opened_at = MOMENT_NONE,
                       .keep_by_at = NOW + 90 * MS_PER_DAY, .added_at = NOW, .removed_at = MOMENT_NONE};
    struct tin open = {.material_id = shut.material_id, .name = "Schwarz 3", .opened_at = NOW - 5, .keep_by_at = MOMENT_NONE,
                       .added_at = NOW, .removed_at = MOMENT_NONE};
    BEGIN_WRITE(store);
    assert_int_equal(store_tin_add(store, &shut, &shut.id), COAT_OK);
    assert_int_equal(store_tin_add(store, &open, &open.id), COAT_OK);
    struct tin same = open, lost = open;
    strcpy(same.name, "SCHWARZ 2");
    strcpy(lost.name, "Of nothing");
    lost.material_id = 9999;
    assert_int_equal(store_tin_add(store, &same, &id), COAT_CONFLICT);
    assert_int_equal(store_tin_add(store, &lost, &id), COAT_NOT_FOUND);
    struct coat coat = a_coat(a_piece(store, "Fan hub"), first_version(store));
    coat.tin_id = open.id;
    assert_int_equal(store_coat_add(store, &coat), COAT_OK);
    open.removed_at = NOW + 9; /* empty */
    assert_int_equal(store_tin_put(store, &open), COAT_OK);
    END_WRITE(store);
    store = reopened(store, FILE_OF(state));
    struct tin_rows tins = {0};
    struct coat_rows coats = {0};
    assert_int_equal(store_tins(store, gather_tin, &tins), COAT_OK);
    assert_int_equal(store_coats(store, gather_coat, &coats), COAT_OK);
    assert_true(tins.count == 2 && coats.count == 1);
    assert_same_tin(&tins.row[0], &shut);
    assert_same_tin(&tins.row[1], &open);
    assert_same_coat(&coats.row[0], &coat);
    BEGIN_WRITE(store);
    open.id = 4711;
    strcpy(open.name, "No such tin");
    assert_int_equal(store_tin_put(store, &open), COAT_NOT_FOUND);
    store_rollback(store);
    checked_close(store);
}

static void mixes_come_back_and_have_notices_of_their_own(void **state)
{
    struct store *store = opened(FILE_OF(state));
    BEGIN_WRITE(store);
    struct mix in_cellar = {.material_version_id = first_version(store), .place_id = a_place(store, "Cellar"), .mixed_at = NOW - 1,
                            .entered_at = NOW};
    struct mix anywhere = {.material_version_id = in_cellar.material_version_id, .mixed_at = NOW, .entered_at = NOW};
    assert_int_equal(store_mix_add(store, &in_cellar, &in_cellar.id), COAT_OK);
    assert_int_equal(store_mix_add(store, &anywhere, &anywhere.id), COAT_OK);
    struct notice notice = {.kind = NOTICE_MIX_READY, .mix_id = in_cellar.id, .turn = 1, .due_at = NOW, .until_at = MOMENT_NONE,
                            .raised_at = NOW, .withdrawn_at = MOMENT_NONE, .acknowledged_at = MOMENT_NONE, .text = "Stir it."};
    struct notice again = notice, other = notice;
    other.mix_id = anywhere.id;
    assert_int_equal(store_notice_add(store, &notice), COAT_OK);
    assert_int_equal(store_notice_add(store, &again), COAT_CONFLICT);
    assert_int_equal(store_notice_add(store, &other), COAT_OK);
    END_WRITE(store);
    unchangeable(store, "UPDATE mix SET mixed_at = 0");
    unchangeable(store, "DELETE FROM mix");
    store = reopened(store, FILE_OF(state));
    struct mix_rows mixes = {0};
    struct notice_rows notices = {0};
    assert_int_equal(store_mixes(store, gather_mix, &mixes), COAT_OK);
    assert_int_equal(store_notices(store, 0, gather_notice, &notices), COAT_OK);
    assert_true(mixes.count == 2 && notices.count == 2);
    assert_memory_equal(&mixes.row[0], &in_cellar, sizeof in_cellar);
    assert_memory_equal(&mixes.row[1], &anywhere, sizeof anywhere);
    assert_true(notices.row[0].mix_id == in_cellar.id && notices.row[0].coat_id == 0 && notices.row[0].kind == NOTICE_MIX_READY);
    assert_true(notices.row[1].mix_id == anywhere.id);
    store_close(store);
}

static void a_notice_is_raised_once(void **state)
{
    struct store *store = opened(FILE_OF(state));
    BEGIN_WRITE(store);
    struct coat coat = a_coat(a_piece(store, "Wheel"), first_version(store));
    assert_int_equal(store_coat_add(store, &coat), COAT_OK);
    struct notice notice = {.kind = NOTICE_OPENS, .coat_id = coat.id, .stage = STAGE_RECOAT, .boundary = 1, .turn = 0, .due_at = NOW + 8,
                            .until_at = NOW + 80, .assumed = true, .raised_at = NOW + 9, .withdrawn_at = MOMENT_NONE,
                            .acknowledged_at = MOMENT_NONE, .text = "Wheel: the next coat may go on. Test first."};
    struct notice again = notice, turned = notice, shop = notice, shop_again;
    assert_int_equal(store_notice_add(store, &notice), COAT_OK);
    assert_int_equal(store_notice_add(store, &again), COAT_CONFLICT);
    assert_int_equal(again.id, 0);
    turned.turn = 1;
    turned.assumed = false;
    turned.until_at = MOMENT_NONE;
    assert_int_equal(store_notice_add(store, &turned), COAT_OK);
    shop.coat_id = 0;
    shop_again = shop;
    assert_int_equal(store_notice_add(store, &shop), COAT_OK);
    assert_int_equal(store_notice_add(store, &shop_again), COAT_CONFLICT);
    END_WRITE(store);
    notice.acknowledged_at = NOW + 10;
    notice.withdrawn_at = NOW + 11;
    BEGIN_WRITE(store);
    assert_int_equal(store_notice_put(store, &notice), COAT_OK);
    END_WRITE(store);
    store = reopened(store, FILE_OF(state));
    struct notice_rows rows = {0}, later = {0};
    assert_int_equal(store_notices(store, 0, gather_notice, &rows), COAT_OK);
    assert_int_equal(rows.count, 3);
    const struct notice *got = &rows.row[0];
    assert_true(got->id == notice.id && got->kind == NOTICE_OPENS && got->coat_id == coat.id && got->stage == STAGE_RECOAT);
    assert_true(got->boundary == 1 && got->turn == 0 && got->due_at == NOW + 8 && got->until_at == NOW + 80 && got->assumed);
    assert_true(got->raised_at == NOW + 9 && got->withdrawn_at == NOW + 11 && got->acknowledged_at == NOW + 10);
    assert_string_equal(got->text, notice.text);
    assert_true(rows.row[1].turn == 1 && !rows.row[1].assumed && rows.row[1].until_at == MOMENT_NONE && rows.row[2].coat_id == 0);
    assert_int_equal(store_notices(store, notice.id, gather_notice, &later), COAT_OK);
    assert_int_equal(later.count, 2);
    checked_close(store);
}

static void an_answer_is_kept_seven_days(void **state)
{
    struct store *store = opened(FILE_OF(state));
    struct stored_answer answer = {.key = "b0d5-1", .body_hash = UINT64_MAX - 3, .body_length = 120, .route = "POST /api/v1/coats",
                                   .status = 201, .ids = ANSWER_IDS_MAX, .at = NOW};
    struct stored_answer got, late = {.key = "b0d5-2", .route = "POST /api/v1/air", .status = 422, .at = NOW + 7 * MS_PER_DAY};
    for (int i = 0; i < ANSWER_IDS_MAX; i++)
        answer.id[i] = 1000 - i;
    assert_int_equal(store_answer_get(store, answer.key, &got), COAT_NOT_FOUND);
    BEGIN_WRITE(store);
    assert_int_equal(store_answer_put(store, &answer), COAT_OK);
    assert_int_equal(store_answer_put(store, &answer), COAT_CONFLICT);
    END_WRITE(store);
    store = reopened(store, FILE_OF(state));
    assert_int_equal(store_answer_get(store, answer.key, &got), COAT_OK);
    assert_memory_equal(&got, &answer, sizeof got);
    BEGIN_WRITE(store);
    assert_int_equal(store_answer_put(store, &late), COAT_OK); /* seven days to the millisecond: both stay */
    END_WRITE(store);
    assert_int_equal(store_answer_get(store, answer.key, &got), COAT_OK);
    strcpy(late.key, "b0d5-3");
    late.at++;
    BEGIN_WRITE(store);
    assert_int_equal(store_answer_put(store, &late), COAT_OK);
    END_WRITE(store);
    assert_int_equal(store_answer_get(store, answer.key, &got), COAT_NOT_FOUND);
    checked_close(store);
    assert_int_equal(outside_number(FILE_OF(state), "SELECT count(*) FROM answer_id"), 0);
}

static void a_rollback_leaves_nothing(void **state)
{
    struct store *store = opened(FILE_OF(state));
    int64_t revision = store_revision(store), bumped = 0;
    BEGIN_WRITE(store);
    a_place(store, "Cellar");
    a_piece(store, "Wheel");
    assert_int_equal(store_revision_bump(store, &bumped), COAT_OK);
    assert_int_equal(bumped, revision + 1);
    assert_int_equal(store_revision(store), revision + 1);
    store_rollback(store);
    assert_int_equal(store_revision(store), revision);
    assert_int_equal(places_in(store), 0);
    BEGIN_WRITE(store);
    a_place(store, "Cellar");
    assert_int_equal(store_revision_bump(store, &bumped), COAT_OK);
    END_WRITE(store);
    BEGIN_WRITE(store);
    a_place(store, "Attic");
    store_close(store); /* without a commit: as if never begun */
    store = opened(FILE_OF(state));
    assert_int_equal(places_in(store), 1);
    assert_int_equal(store_revision(store), revision + 1);
    checked_close(store);
}

static void words_outside_the_lists_are_refused_both_ways(void **state)
{
    struct store *store = opened(FILE_OF(state));
    struct place place = {.name = "Cellar", .kind = PLACE_KIND_COUNT, .volume_m3 = NONE, .airflow_m3h = NONE, .added_at = NOW,
                          .removed_at = MOMENT_NONE};
    int64_t id = 0;
    int count = 0;
    BEGIN_WRITE(store);
    assert_int_equal(store_place_add(store, &place, &id), COAT_BAD_VALUE);
    place.kind = PLACE_ROOM;
    assert_int_equal(store_place_add(store, &place, &id), COAT_OK);
    END_WRITE(store);
    checked_close(store);
    outside(FILE_OF(state), "UPDATE place SET kind = 'lighthouse'");
    store = opened(FILE_OF(state));
    assert_int_equal(store_places(store, count_place, &count), COAT_STORE_FAILED);
    assert_int_equal(count, 0);
    store_close(store);
    outside(FILE_OF(state), "UPDATE place SET kind = 'room', name = printf('%.*c', 64, 'x')"); /* a byte more than we write */
    store = opened(FILE_OF(state));
    assert_int_equal(store_places(store, count_place, &count), COAT_STORE_FAILED);
    store_close(store);
}

static bool stop_at_once(const struct place *place, void *context)
{
    (void)place;
    count_one(context);
    return false;
}

static void a_list_stops_when_told(void **state)
{
    struct store *store = opened(FILE_OF(state));
    int count = 0;
    BEGIN_WRITE(store);
    a_place(store, "Cellar");
    a_place(store, "Garage");
    END_WRITE(store);
    assert_int_equal(store_places(store, stop_at_once, &count), COAT_OK);
    assert_int_equal(count, 1);
    assert_int_equal(places_in(store), 2); /* and begins anew */
    checked_close(store);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
#define T(name) cmocka_unit_test_setup_teardown(name, scratch_make, scratch_remove)
        T(settings_start_plain_and_are_kept),
        T(places_come_back_with_what_was_answered),
        T(pieces_come_back_with_their_areas),
        T(a_name_in_use_is_refused_whatever_its_case),
        T(names_fold_letter_by_letter),
        T(racks_keep_their_order),
        T(moves_come_by_piece_and_time),
        T(an_amended_coat_keeps_its_old_entries),
        T(a_coat_of_nothing_is_refused_whole),
        T(sandings_and_strippings_come_back),
        T(tests_at_the_bench_come_back_and_stay),
        T(tins_come_back_and_a_coat_keeps_its_tin),
        T(mixes_come_back_and_have_notices_of_their_own),
        T(a_notice_is_raised_once),
        T(an_answer_is_kept_seven_days),
        T(a_rollback_leaves_nothing),
        T(words_outside_the_lists_are_refused_both_ways),
        T(a_list_stops_when_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
