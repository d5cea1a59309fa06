/* Logging coats, correcting and voiding them, sanding and stripping. */
#include "write_scene.h"

static enum coat_result log_one(struct scene *scene, const struct coat *coat, int64_t piece_id)
{
    int64_t id = 0;
    return shop_log_coats(scene->shop, &scene->write, coat, &piece_id, 1, 0, NULL, &id, &scene->error);
}

static enum coat_result amend(struct scene *scene, const struct coat *entry)
{
    return shop_amend_coat(scene->shop, &scene->write, entry, &scene->error);
}

static enum coat_result sand(struct scene *scene, int64_t coat_id, int64_t at)
{
    int64_t id = 0;
    return shop_sand_coat(scene->shop, &scene->write, coat_id, at, &id, &scene->error);
}

static enum coat_result strip(struct scene *scene, struct stripping stripping)
{
    int64_t id = 0;
    return shop_strip_piece(scene->shop, &scene->write, &stripping, &id, &scene->error);
}

static enum coat_status status_of(struct scene *scene, int64_t coat_id)
{
    struct coat_view view;
    assert_true(shop_coat_view(scene->shop, coat_id, NOW, &view));
    return view.status;
}

/* ---- logging ---- */

static void one_application_is_a_coat_on_each_piece(void **state)
{
    struct scene *scene = *state;
    struct coat coat = a_coat(scene);
    const int64_t pieces[] = {scene->wheel, scene->body};
    int64_t ids[2] = {0};
    strcpy(coat.note, " thin ");
    coat.struck_at = 5; /* what is not theirs to tell counts for nothing */
    coat.id = 99;
    TELL(scene, shop_log_coats(scene->shop, &scene->write, &coat, pieces, 2, 0, NULL, ids, &scene->error));
    assert_int_equal(ids[0], 1);
    assert_int_equal(ids[1], 2);
    const struct coat *first = shop_coat(scene->shop, ids[0]);
    assert_int_equal(first->piece_id, scene->wheel);
    assert_int_equal(first->entry, 1);
    assert_int_equal(first->struck_at, MOMENT_NONE);
    assert_string_equal(first->note, "thin");
    assert_int_equal(shop_coat(scene->shop, ids[1])->piece_id, scene->body);
    assert_int_equal(status_of(scene, ids[1]), COAT_ON);
}

static void the_second_coat_covers_the_first_also_when_told_late(void **state)
{
    struct scene *scene = *state;
    struct coat upper = a_coat(scene), lower = upper;
    lower.first_at = lower.last_at = NOW - 50 * MS_PER_MIN;
    int64_t above = told_coat(scene, upper, scene->body), below = told_coat(scene, lower, scene->body);
    assert_int_equal(status_of(scene, above), COAT_ON);
    assert_int_equal(status_of(scene, below), COAT_COVERED);
}

static void coats_that_are_not_believable_are_refused(void **state)
{
    struct scene *scene = *state;
    const struct coat good = a_coat(scene);
    struct coat bad = good;
    bad.first_at = NOW;
    REFUSE(scene, COAT_BAD_VALUE, "last_at", log_one(scene, &bad, scene->body));
    bad.first_at = bad.last_at - 7 * MS_PER_DAY - 1;
    REFUSE(scene, COAT_BAD_VALUE, "last_at", log_one(scene, &bad, scene->body));
    bad = good;
    bad.last_at = NOW + 60001;
    REFUSE(scene, COAT_BAD_VALUE, "last_at", log_one(scene, &bad, scene->body));
    bad.first_at = bad.last_at = INT64_C(946684800000) - 1;
    REFUSE(scene, COAT_BAD_VALUE, "first_at", log_one(scene, &bad, scene->body));
    bad = good;
    bad.passes = 51;
    REFUSE(scene, COAT_BAD_VALUE, "passes", log_one(scene, &bad, scene->body));
    bad = good;
    bad.wet_um = 0.5;
    REFUSE(scene, COAT_BAD_VALUE, "wet_um", log_one(scene, &bad, scene->body));
    bad = good;
    bad.dry_um = 5001.0;
    REFUSE(scene, COAT_BAD_VALUE, "dry_um", log_one(scene, &bad, scene->body));
    bad = good;
    bad.amount_ml = 0.0;
    REFUSE(scene, COAT_BAD_VALUE, "amount_ml", log_one(scene, &bad, scene->body));
    bad = good;
    bad.thinned_pct = 91.0;
    REFUSE(scene, COAT_BAD_VALUE, "thinned_pct", log_one(scene, &bad, scene->body));
    bad = good;
    bad.role = ROLE_COUNT;
    REFUSE(scene, COAT_BAD_VALUE, "role", log_one(scene, &bad, scene->body));
    bad = good;
    bad.film = (enum film)-1;
    REFUSE(scene, COAT_BAD_VALUE, "film", log_one(scene, &bad, scene->body));
    bad = good;
    strcpy(bad.thinner, "white\x01spirit");
    REFUSE(scene, COAT_BAD_VALUE, "thinner", log_one(scene, &bad, scene->body));
    bad = good;
    bad.material_version_id = 4711;
    REFUSE(scene, COAT_NOT_FOUND, "material", log_one(scene, &bad, scene->body));
}

static void an_area_is_one_of_the_piece(void **state)
{
    struct scene *scene = *state;
    struct coat coat = a_coat(scene);
    strcpy(coat.area, "spokes");
    REFUSE(scene, COAT_BAD_VALUE, "area", log_one(scene, &coat, scene->wheel));
    assert_non_null(strstr(scene->error.text, "rim, hub"));
    told_coat(scene, coat, scene->body); /* it has no areas of its own: any will do */
    strcpy(coat.area, "RIM");
    int64_t id = told_coat(scene, coat, scene->wheel);
    assert_string_equal(shop_coat(scene->shop, id)->area, "rim");
}

static void pieces_are_told_once_each(void **state)
{
    struct scene *scene = *state;
    struct coat coat = a_coat(scene);
    const int64_t twice[] = {scene->body, scene->wheel, scene->body}, gone[] = {scene->body, 4711};
    int64_t ids[RACK_PIECES_MAX] = {0}, many[RACK_PIECES_MAX + 1] = {0};
    struct shop *shop = scene->shop;
    REFUSE(scene, COAT_BAD_VALUE, "pieces", shop_log_coats(shop, &scene->write, &coat, twice, 3, 0, NULL, ids, &scene->error));
    REFUSE(scene, COAT_NOT_FOUND, "pieces", shop_log_coats(shop, &scene->write, &coat, gone, 2, 0, NULL, ids, &scene->error));
    REFUSE(scene, COAT_BAD_VALUE, "pieces", shop_log_coats(shop, &scene->write, &coat, twice, 0, 0, NULL, ids, &scene->error));
    REFUSE(scene, COAT_BAD_VALUE, "pieces",
           shop_log_coats(shop, &scene->write, &coat, many, RACK_PIECES_MAX + 1, 0, NULL, ids, &scene->error));
    assert_int_equal(ids[0], 0);
}

static void a_full_rack_is_one_write(void **state)
{
    struct scene *scene = *state;
    struct coat coat = a_coat(scene);
    const struct coat_air air = {18.0, 55.0};
    int64_t pieces[RACK_PIECES_MAX], ids[RACK_PIECES_MAX], again[SHOP_ANSWER_IDS_MAX];
    int32_t status = 0;
    unsigned count = 0;
    for (int i = 0; i < RACK_PIECES_MAX; i++) {
        char name[NAME_SIZE];
        snprintf(name, sizeof name, "weight %d", i);
        pieces[i] = told_piece(scene, a_piece(name), i % 2 == 0 ? scene->garage : 0);
    }
    scene->write.key = "rack";
    scene->write.route = "POST /api/v1/coats";
    TELL(scene, shop_log_coats(scene->shop, &scene->write, &coat, pieces, RACK_PIECES_MAX, scene->cellar, &air, ids, &scene->error));
    for (int i = 0; i < RACK_PIECES_MAX; i++) {
        assert_int_equal(ids[i], i + 1);
        assert_int_equal(shop_piece_place(scene->shop, pieces[i], coat.first_at), scene->cellar);
    }
    assert_int_equal(shop_answer_find(scene->shop, &scene->write, &status, again, &count, &scene->error), COAT_OK);
    assert_int_equal(count, RACK_PIECES_MAX);
    assert_memory_equal(ids, again, sizeof ids);
}

static void a_log_that_fails_at_its_very_end_leaves_nothing(void **state)
{
    struct scene *scene = *state;
    struct coat coat = a_coat(scene);
    const struct coat_air air = {18.0, 55.0};
    const int64_t pieces[] = {scene->body, scene->wheel};
    int64_t ids[2] = {0};
    scene->write.key = "used"; /* its answer is written last, after moves, coats and air: a key in use makes that fail */
    told_piece(scene, a_piece("cover"), scene->garage);
    REFUSE(scene, COAT_CONFLICT, "",
           shop_log_coats(scene->shop, &scene->write, &coat, pieces, 2, scene->cellar, &air, ids, &scene->error));
    assert_int_equal(ids[0], 0);
    scene->write.key = NULL;
    TELL(scene, shop_log_coats(scene->shop, &scene->write, &coat, pieces, 2, scene->cellar, &air, ids, &scene->error));
    assert_int_equal(ids[0], 1);
}

static void a_piece_that_hangs_nowhere_needs_a_place(void **state)
{
    struct scene *scene = *state;
    struct coat coat = a_coat(scene);
    int64_t cage = told_piece(scene, a_piece("fan cage"), 0), foot = told_piece(scene, a_piece("fan foot"), scene->cellar), id = 0;
    REFUSE(scene, COAT_BAD_VALUE, "place", log_one(scene, &coat, cage));
    TELL(scene, log_one(scene, &coat, foot)); /* told of only now: it counts as having hung there before */
    assert_int_equal(shop_piece_place(scene->shop, foot, coat.first_at), scene->cellar);
    REFUSE(scene, COAT_NOT_FOUND, "place",
           shop_log_coats(scene->shop, &scene->write, &coat, &cage, 1, 4711, NULL, &id, &scene->error));
    TELL(scene, shop_log_coats(scene->shop, &scene->write, &coat, &cage, 1, scene->cellar, NULL, &id, &scene->error));
    assert_int_equal(shop_piece_place(scene->shop, cage, coat.first_at), scene->cellar);
}

static void the_place_named_moves_only_what_hangs_elsewhere(void **state)
{
    struct scene *scene = *state;
    struct coat coat = a_coat(scene);
    const int64_t pieces[] = {scene->body, scene->wheel};
    int64_t ids[2] = {0};
    size_t before = 0, after = 0;
    told_move(scene, scene->wheel, scene->cellar, NOW - 40 * MS_PER_MIN);
    shop_moves(scene->shop, &before);
    TELL(scene, shop_log_coats(scene->shop, &scene->write, &coat, pieces, 2, scene->cellar, NULL, ids, &scene->error));
    shop_moves(scene->shop, &after);
    assert_int_equal(after, before + 1);
    assert_int_equal(shop_piece_place(scene->shop, scene->body, coat.first_at - 1), scene->garage);
    assert_int_equal(shop_piece_place(scene->shop, scene->body, coat.first_at), scene->cellar);
}

static void the_place_named_wins_over_a_move_at_just_that_moment(void **state)
{
    struct scene *scene = *state;
    struct coat coat = a_coat(scene);
    int64_t id = 0;
    told_move(scene, scene->wheel, scene->oven, coat.first_at);
    TELL(scene, shop_log_coats(scene->shop, &scene->write, &coat, &scene->wheel, 1, scene->cellar, NULL, &id, &scene->error));
    assert_int_equal(shop_piece_place(scene->shop, scene->wheel, coat.first_at), scene->cellar);
}

static void air_told_with_a_coat_is_a_reading_at_its_last_pass(void **state)
{
    struct scene *scene = *state;
    struct coat coat = a_coat(scene);
    const struct coat_air air = {18.25, 55.5}, hot = {80.0, 20.0}, damp = {18.0, 101.0}, none = {NOT_KNOWN, 50.0};
    struct reading *readings = NULL;
    size_t count = 0;
    int64_t id = 0;
    struct shop *shop = scene->shop;
    REFUSE(scene, COAT_BAD_VALUE, "air.temp_c", shop_log_coats(shop, &scene->write, &coat, &scene->body, 1, 0, &hot, &id, &scene->error));
    REFUSE(scene, COAT_BAD_VALUE, "air.rh_pct", shop_log_coats(shop, &scene->write, &coat, &scene->body, 1, 0, &damp, &id, &scene->error));
    REFUSE(scene, COAT_BAD_VALUE, "air.temp_c", shop_log_coats(shop, &scene->write, &coat, &scene->body, 1, 0, &none, &id, &scene->error));
    TELL(scene, shop_log_coats(shop, &scene->write, &coat, &scene->body, 1, 0, &air, &id, &scene->error));
    assert_int_equal(shop_readings(shop, scene->garage, 0, NOW, 10, &readings, &count), COAT_OK);
    assert_int_equal(count, 1);
    assert_int_equal(readings[0].at_ms, coat.last_at);
    assert_int_equal(readings[0].temp_mc, 18250);
    assert_int_equal(readings[0].rh_mp, 55500);
    assert_int_equal(readings[0].hold_s, READING_HOLD_BY_HAND_S);
    free(readings);
    struct coat_view view;
    assert_true(shop_coat_view(shop, id, NOW, &view));
    assert_float_equal(view.air_temp_c, 18.25, 1e-9);
}

static void air_of_several_places_is_not_one_air(void **state)
{
    struct scene *scene = *state;
    struct coat coat = a_coat(scene);
    const struct coat_air air = {18.0, 55.0};
    const int64_t pieces[] = {scene->body, scene->wheel};
    int64_t ids[2] = {0};
    told_move(scene, scene->wheel, scene->cellar, NOW - 40 * MS_PER_MIN);
    REFUSE(scene, COAT_BAD_VALUE, "air", shop_log_coats(scene->shop, &scene->write, &coat, pieces, 2, 0, &air, ids, &scene->error));
    TELL(scene, shop_log_coats(scene->shop, &scene->write, &coat, pieces, 2, 0, NULL, ids, &scene->error));
}

/* ---- correcting and voiding ---- */

static bool count_entry(const struct coat *coat, void *context)
{
    int *count = context;
    assert_int_equal(coat->entry, ++*count);
    return true;
}

static void an_amended_coat_keeps_its_first_entry(void **state)
{
    struct scene *scene = *state;
    int64_t id = told_coat(scene, a_coat(scene), scene->body);
    struct coat entry = *shop_coat(scene->shop, id);
    int count = 0;
    entry.last_at = NOW;
    entry.dry_um = 40.0;
    entry.struck_at = NOW;
    TELL(scene, amend(scene, &entry));
    assert_int_equal(shop_coat(scene->shop, id)->entry, 2);
    assert_int_equal(shop_coat(scene->shop, id)->struck_at, MOMENT_NONE);
    assert_float_equal(shop_coat(scene->shop, id)->dry_um, 40.0, 0.0);
    assert_int_equal(shop_coat_entries(scene->shop, id, count_entry, &count), COAT_OK);
    assert_int_equal(count, 2);
    assert_int_equal(shop_coat_entries(scene->shop, 4711, count_entry, &count), COAT_NOT_FOUND);
}

static void a_coat_that_was_on_another_piece_uncovers_the_first(void **state)
{
    struct scene *scene = *state;
    struct coat lower = a_coat(scene);
    lower.first_at = lower.last_at = NOW - 50 * MS_PER_MIN;
    int64_t below = told_coat(scene, lower, scene->body), other = told_coat(scene, lower, scene->wheel);
    int64_t above = told_coat(scene, a_coat(scene), scene->body);
    assert_int_equal(status_of(scene, below), COAT_COVERED);
    struct coat entry = *shop_coat(scene->shop, above);
    entry.piece_id = scene->wheel;
    TELL(scene, amend(scene, &entry));
    assert_int_equal(status_of(scene, below), COAT_ON);
    assert_int_equal(status_of(scene, other), COAT_COVERED);
}

static void corrections_are_checked_like_the_coat(void **state)
{
    struct scene *scene = *state;
    int64_t id = told_coat(scene, a_coat(scene), scene->body);
    const struct coat good = *shop_coat(scene->shop, id);
    struct coat bad = good;
    bad.id = 4711;
    REFUSE(scene, COAT_NOT_FOUND, "coat", amend(scene, &bad));
    bad = good;
    bad.piece_id = 4711;
    REFUSE(scene, COAT_NOT_FOUND, "piece", amend(scene, &bad));
    bad.piece_id = scene->wheel;
    strcpy(bad.area, "front");
    REFUSE(scene, COAT_BAD_VALUE, "area", amend(scene, &bad));
    bad = good;
    bad.material_version_id = 4711;
    REFUSE(scene, COAT_NOT_FOUND, "material", amend(scene, &bad));
    bad = good;
    bad.passes = 0;
    REFUSE(scene, COAT_BAD_VALUE, "passes", amend(scene, &bad));
}

static void a_correction_agrees_with_what_was_done_later(void **state)
{
    struct scene *scene = *state;
    struct coat coat = a_coat(scene);
    coat.first_at = coat.last_at = NOW - 50 * MS_PER_MIN;
    int64_t sanded = told_coat(scene, coat, scene->body), kept = told_coat(scene, coat, scene->wheel);
    TELL(scene, sand(scene, sanded, NOW - 30 * MS_PER_MIN));
    TELL(scene, strip(scene, (struct stripping){.piece_id = scene->wheel, .down_to_coat_id = kept, .at = NOW - 30 * MS_PER_MIN}));
    struct coat bad = *shop_coat(scene->shop, sanded);
    bad.first_at = bad.last_at = NOW;
    REFUSE(scene, COAT_CONFLICT, "first_at", amend(scene, &bad));
    bad = *shop_coat(scene->shop, kept);
    bad.first_at = bad.last_at = NOW;
    REFUSE(scene, COAT_CONFLICT, "first_at", amend(scene, &bad));
    bad = *shop_coat(scene->shop, kept);
    bad.piece_id = scene->body;
    REFUSE(scene, COAT_CONFLICT, "piece", amend(scene, &bad));
}

static void a_struck_coat_stays_struck(void **state)
{
    struct scene *scene = *state;
    char long_why[NOTE_SIZE + 1];
    int64_t id = told_coat(scene, a_coat(scene), scene->body);
    memset(long_why, 'w', NOTE_SIZE);
    long_why[NOTE_SIZE] = '\0';
    REFUSE(scene, COAT_BAD_VALUE, "why", shop_strike_coat(scene->shop, &scene->write, id, " ", &scene->error));
    REFUSE(scene, COAT_BAD_VALUE, "why", shop_strike_coat(scene->shop, &scene->write, id, long_why, &scene->error));
    REFUSE(scene, COAT_NOT_FOUND, "coat", shop_strike_coat(scene->shop, &scene->write, 4711, "no", &scene->error));
    TELL(scene, shop_strike_coat(scene->shop, &scene->write, id, " wrong piece ", &scene->error));
    const struct coat *struck = shop_coat(scene->shop, id);
    assert_string_equal(struck->struck_why, "wrong piece");
    assert_int_equal(struck->struck_at, NOW);
    assert_int_equal(struck->entry, 2);
    assert_int_equal(status_of(scene, id), COAT_STRUCK);
    struct coat entry = *struck;
    REFUSE(scene, COAT_CONFLICT, "coat", shop_strike_coat(scene->shop, &scene->write, id, "again", &scene->error));
    REFUSE(scene, COAT_CONFLICT, "coat", amend(scene, &entry));
    REFUSE(scene, COAT_CONFLICT, "coat", sand(scene, id, NOW));
}

/* ---- sanding and stripping ---- */

static void only_what_is_on_can_be_sanded(void **state)
{
    struct scene *scene = *state;
    struct coat lower = a_coat(scene), upper = a_coat(scene);
    lower.first_at = lower.last_at = NOW - 50 * MS_PER_MIN;
    int64_t below = told_coat(scene, lower, scene->body), above = told_coat(scene, upper, scene->body);
    REFUSE(scene, COAT_CONFLICT, "coat", sand(scene, below, NOW));
    assert_non_null(strstr(scene->error.text, "under coat 2"));
    TELL(scene, sand(scene, below, NOW - 30 * MS_PER_MIN)); /* told late: it was on then */
    TELL(scene, sand(scene, above, NOW));
    REFUSE(scene, COAT_NOT_FOUND, "coat", sand(scene, 4711, NOW));
    REFUSE(scene, COAT_BAD_VALUE, "at", sand(scene, above, upper.first_at - 1));
    REFUSE(scene, COAT_BAD_VALUE, "at", sand(scene, above, NOW + 60001));
    TELL(scene, strip(scene, (struct stripping){.piece_id = scene->body, .at = NOW}));
    REFUSE(scene, COAT_CONFLICT, "coat", sand(scene, above, NOW));
    assert_non_null(strstr(scene->error.text, "stripped"));
}

static void stripping_takes_what_lies_over(void **state)
{
    struct scene *scene = *state;
    struct coat lower = a_coat(scene);
    lower.first_at = lower.last_at = NOW - 50 * MS_PER_MIN;
    int64_t primer = told_coat(scene, lower, scene->body), enamel = told_coat(scene, a_coat(scene), scene->body);
    TELL(scene, strip(scene, (struct stripping){.piece_id = scene->body, .down_to_coat_id = primer, .at = NOW}));
    assert_int_equal(status_of(scene, primer), COAT_ON);
    assert_int_equal(status_of(scene, enamel), COAT_STRIPPED);
}

static void stripping_that_cannot_be_is_refused(void **state)
{
    struct scene *scene = *state;
    struct coat late = a_coat(scene);
    int64_t own = told_coat(scene, late, scene->body), other = told_coat(scene, late, scene->wheel);
    struct stripping bad = {.piece_id = scene->body, .down_to_coat_id = other, .at = NOW};
    REFUSE(scene, COAT_BAD_VALUE, "down_to", strip(scene, bad));
    bad.down_to_coat_id = 4711;
    REFUSE(scene, COAT_NOT_FOUND, "down_to", strip(scene, bad));
    bad.down_to_coat_id = own;
    bad.at = late.first_at - 1;
    REFUSE(scene, COAT_BAD_VALUE, "down_to", strip(scene, bad));
    bad.at = NOW + 60001;
    REFUSE(scene, COAT_BAD_VALUE, "at", strip(scene, bad));
    bad = (struct stripping){.piece_id = 4711, .at = NOW};
    REFUSE(scene, COAT_NOT_FOUND, "piece", strip(scene, bad));
    bad = (struct stripping){.piece_id = scene->wheel, .area = "spokes", .at = NOW};
    REFUSE(scene, COAT_BAD_VALUE, "area", strip(scene, bad));
    TELL(scene, shop_strike_coat(scene->shop, &scene->write, own, "wrong piece", &scene->error));
    bad = (struct stripping){.piece_id = scene->body, .down_to_coat_id = own, .at = NOW};
    REFUSE(scene, COAT_CONFLICT, "down_to", strip(scene, bad));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        SCENE_TEST(one_application_is_a_coat_on_each_piece),
        SCENE_TEST(the_second_coat_covers_the_first_also_when_told_late),
        SCENE_TEST(coats_that_are_not_believable_are_refused),
        SCENE_TEST(an_area_is_one_of_the_piece),
        SCENE_TEST(pieces_are_told_once_each),
        SCENE_TEST(a_full_rack_is_one_write),
        SCENE_TEST(a_log_that_fails_at_its_very_end_leaves_nothing),
        SCENE_TEST(a_piece_that_hangs_nowhere_needs_a_place),
        SCENE_TEST(the_place_named_moves_only_what_hangs_elsewhere),
        SCENE_TEST(the_place_named_wins_over_a_move_at_just_that_moment),
        SCENE_TEST(air_told_with_a_coat_is_a_reading_at_its_last_pass),
        SCENE_TEST(air_of_several_places_is_not_one_air),
        SCENE_TEST(an_amended_coat_keeps_its_first_entry),
        SCENE_TEST(a_coat_that_was_on_another_piece_uncovers_the_first),
        SCENE_TEST(corrections_are_checked_like_the_coat),
        SCENE_TEST(a_correction_agrees_with_what_was_done_later),
        SCENE_TEST(a_struck_coat_stays_struck),
        SCENE_TEST(only_what_is_on_can_be_sanded),
        SCENE_TEST(stripping_takes_what_lies_over),
        SCENE_TEST(stripping_that_cannot_be_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
