/* What is in the air of a place, by the sums of test_vapour of the arithmetic: here that the right coats are in them. */
#include "tests/shop/write_scene.h"

#include "coat/shop_vapour.h"

static struct scene *scene_of(void **state)
{
    return *state;
}

static struct vapour_view air_of(struct scene *scene, int64_t place_id)
{
    struct vapour_view view;
    assert_true(shop_vapour_view(scene->shop, place_id, scene->write.now_ms, &view));
    return view;
}

/* A garage of 60 m3 with a fan of 300 m3/h, above ground. */
static void measure_garage(struct scene *scene)
{
    struct place place = *shop_place(scene->shop, scene->garage);
    int64_t id = 0;
    place.volume_m3 = 60;
    place.airflow_m3h = 300;
    place.risk[RISK_BELOW_GROUND] = ANSWER_NO;
    TELL(scene, shop_put_place(scene->shop, &scene->write, &place, &id, &scene->error));
    struct reading reading = {scene->write.now_ms, 20000, 50000, READING_HOLD_BY_HAND_S};
    TELL(scene, shop_enter_air(scene->shop, &scene->write, scene->garage, &reading, 1, &scene->error));
}

static int64_t put_amount(struct scene *scene, enum material_class material, int64_t piece_id, double amount_ml, double thinned_pct, const char *thinner)
{
    struct coat coat = a_coat(scene);
    coat.material_version_id = builtin_version(scene->shop, material);
    coat.first_at = coat.last_at = scene->write.now_ms;
    coat.amount_ml = amount_ml;
    coat.thinned_pct = thinned_pct;
    snprintf(coat.thinner, sizeof coat.thinner, "%s", thinner);
    return told_coat(scene, coat, piece_id);
}

static void a_coat_with_an_amount_counts_as_the_worst_of_its_class(void **state)
{
    struct scene *scene = scene_of(state);
    struct vapour_loads loads;
    measure_garage(scene);
    put_amount(scene, CLASS_ALKYD_ENAMEL, scene->body, 250, NOT_KNOWN, "");
    struct vapour_view view = air_of(scene, scene->garage);
    assert_int_equal(view.counted, 1);
    assert_int_equal(view.uncounted, 0);
    assert_int_equal(vapour_loads_of_class(CLASS_ALKYD_ENAMEL, 250, 20, &loads, NULL), COAT_OK);
    struct vapour_load all = vapour_load_sum(loads.gas, loads.liquid);
    assert_float_equal(view.load.vapour_m3, all.vapour_m3, 1e-12);
    assert_float_equal(view.still_air_lel_pct, vapour_share_of_lel_pct(&all, 60), 1e-9);
    assert_true(view.still_air_lel_pct > 1 && view.still_air_lel_pct < 25); /* a glass of enamel in a garage: health, not fire */
    assert_int_equal(view.outlook.quarter.is, VAPOUR_NOT_SHOWN);
    assert_int_equal(view.outlook.limit.is, VAPOUR_EXCEEDS);
    assert_true(view.limit_air_m3 > 10 * view.quarter_air_m3); /* health wants far more air than fire */
    assert_float_equal(view.effective_m3h, 300.0 / 2 / 10, 1e-9); /* not measured: half; no exhaust from low down is told: K 10 */
}

static void thinner_counts_whole_and_one_that_nobody_knows_leaves_it_not_known(void **state)
{
    struct scene *scene = scene_of(state);
    measure_garage(scene);
    put_amount(scene, CLASS_ALKYD_ENAMEL, scene->body, 250, NOT_KNOWN, "");
    double plain = air_of(scene, scene->garage).load.vapour_m3;
    int64_t thinned = put_amount(scene, CLASS_ALKYD_ENAMEL, scene->wheel, 250, 20, "acetone");
    double with = air_of(scene, scene->garage).load.vapour_m3 - plain;
    assert_true(with > plain); /* a fifth of it evaporates to the last drop */
    TELL(scene, shop_strike_coat(scene->shop, &scene->write, thinned, "entered twice", &scene->error));
    assert_float_equal(air_of(scene, scene->garage).load.vapour_m3, plain, 1e-12);
    put_amount(scene, CLASS_ALKYD_ENAMEL, scene->wheel, 250, 20, "grandfather's mixture");
    struct vapour_view view = air_of(scene, scene->garage);
    assert_true(isnan(view.load.vapour_m3));
    assert_int_equal(view.outlook.quarter.is, VAPOUR_UNKNOWN);
}

static void several_coats_drying_in_one_place_add_up(void **state)
{
    struct scene *scene = scene_of(state);
    measure_garage(scene);
    put_amount(scene, CLASS_ALKYD_ENAMEL, scene->body, 250, NOT_KNOWN, "");
    scene->write.now_ms += MS_PER_H;
    double one = air_of(scene, scene->garage).outlook.lel_pct;
    put_amount(scene, CLASS_ALKYD_ENAMEL, scene->wheel, 250, NOT_KNOWN, "");
    scene->write.now_ms += 30 * MS_PER_MIN;
    double two = air_of(scene, scene->garage).outlook.lel_pct;
    assert_true(two > one * 1.2);
    assert_int_equal(air_of(scene, scene->garage).counted, 2);
    assert_int_equal(air_of(scene, scene->cellar).counted, 0); /* it hung elsewhere */
}

static void a_coat_without_an_amount_leaves_what_does_not_exceed_not_known(void **state)
{
    struct scene *scene = scene_of(state);
    measure_garage(scene);
    put_amount(scene, CLASS_ALKYD_ENAMEL, scene->body, 250, NOT_KNOWN, "");
    put_on(scene, CLASS_ALKYD_ENAMEL, scene->wheel);
    struct vapour_view view = air_of(scene, scene->garage);
    assert_int_equal(view.uncounted, 1);
    assert_int_equal(view.outlook.quarter.is, VAPOUR_UNKNOWN);
    assert_int_equal(view.outlook.limit.is, VAPOUR_EXCEEDS); /* what exceeds without it exceeds with it */
    assert_int_equal(view.outlook.limit.until, MOMENT_NONE); /* but nobody knows until when */
}

static void without_a_volume_nothing_is_known(void **state)
{
    struct scene *scene = scene_of(state);
    put_amount(scene, CLASS_ALKYD_ENAMEL, scene->body, 250, NOT_KNOWN, "");
    struct vapour_view view = air_of(scene, scene->garage);
    assert_true(isnan(view.still_air_lel_pct));
    assert_int_equal(view.outlook.quarter.is, VAPOUR_UNKNOWN);
    assert_int_equal(view.outlook.tenth.is, VAPOUR_UNKNOWN);
    assert_int_equal(view.outlook.limit.is, VAPOUR_UNKNOWN);
    assert_false(view.temp_known);
}

static void an_oven_is_one_for_the_sums(void **state)
{
    struct scene *scene = scene_of(state);
    assert_true(air_of(scene, scene->oven).as_oven);
    assert_false(air_of(scene, scene->garage).as_oven);
    struct vapour_view none;
    assert_false(shop_vapour_view(scene->shop, 999, scene->write.now_ms, &none));
}

/* ---- open solvent ---- */

static enum coat_result release(struct scene *scene, int64_t place_id, const char *what, double amount_ml, int64_t at)
{
    struct solvent_release told = {.place_id = place_id, .amount_ml = amount_ml, .at = at};
    int64_t id = 0;
    snprintf(told.what, sizeof told.what, "%s", what);
    return shop_release_solvent(scene->shop, &scene->write, &told, &id, &scene->error);
}

static void gun_wash_counts_beside_the_coats(void **state)
{
    struct scene *scene = scene_of(state);
    measure_garage(scene);
    put_amount(scene, CLASS_ALKYD_ENAMEL, scene->body, 250, NOT_KNOWN, "");
    double before = air_of(scene, scene->garage).outlook.peak_lel_pct;
    TELL(scene, release(scene, scene->garage, "lacquer thinner", 200, scene->write.now_ms));
    struct vapour_view view = air_of(scene, scene->garage);
    assert_int_equal(view.released, 1);
    assert_int_equal(view.counted, 1);
    assert_true(view.outlook.peak_lel_pct > before + 1.0);
    assert_int_equal(view.category, SOLVENT_CATEGORY_2); /* acetone or the like may be in it */
    assert_int_equal(view.ignition, VAPOUR_IGNITES);     /* and gives off enough to burn at 20 C */
    TELL(scene, release(scene, scene->garage, "Toluene=60%,acetone=40%", 100, scene->write.now_ms));
    size_t count = 0;
    const struct solvent_release *releases = shop_releases(scene->shop, &count);
    assert_int_equal(count, 2);
    assert_string_equal(releases[0].what, "lacquer thinner");
    assert_string_equal(releases[1].what, "toluene=60%, acetone=40%");
    assert_int_equal(air_of(scene, scene->cellar).released, 0);
}

static void solvent_that_cannot_be_is_named_and_not_recorded(void **state)
{
    struct scene *scene = scene_of(state);
    const struct {
        const char *what;
        double amount_ml;
        const char *field;
    } cases[] = {
        {"toluene", -5, "amount_ml"}, {"toluene", 0, "amount_ml"}, {"toluene", 1e7, "amount_ml"}, {"toluene", NOT_KNOWN, "amount_ml"},
        {"unobtainium", 100, "solvent"}, {"", 100, "solvent"}, {"toluene=60%", 100, "solvent"}, {"toluene=80%, acetone=40%", 100, "solvent"},
        {"toluene=-20%", 100, "solvent"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        size_t count = 9;
        assert_int_not_equal(release(scene, scene->garage, cases[i].what, cases[i].amount_ml, scene->write.now_ms), COAT_OK);
        assert_string_equal(scene->error.field, cases[i].field);
        assert_true(strlen(scene->error.text) > 10);
        shop_releases(scene->shop, &count);
        assert_int_equal(count, 0);
    }
    assert_int_not_equal(release(scene, scene->garage, "toluene", 100, scene->write.now_ms + MS_PER_DAY), COAT_OK);
    assert_int_not_equal(release(scene, 999, "toluene", 100, scene->write.now_ms), COAT_OK);
}

/* ---- what the room does ---- */

static void a_fan_that_was_not_measured_counts_half_and_one_up_high_mixes_badly(void **state)
{
    struct scene *scene = scene_of(state);
    int64_t id = 0;
    measure_garage(scene);
    struct place place = *shop_place(scene->shop, scene->garage);
    assert_float_equal(air_of(scene, scene->garage).effective_m3h, 300.0 / 2 / 10, 1e-9);
    place.airflow_measured = true;
    TELL(scene, shop_put_place(scene->shop, &scene->write, &place, &id, &scene->error));
    assert_float_equal(air_of(scene, scene->garage).effective_m3h, 300.0 / 10, 1e-9);
    place.low_exhaust = ANSWER_YES;
    TELL(scene, shop_put_place(scene->shop, &scene->write, &place, &id, &scene->error));
    struct vapour_view view = air_of(scene, scene->garage);
    assert_float_equal(view.effective_m3h, 300.0 / 5, 1e-9);
    assert_false(view.wants[VAPOUR_WANT_MEASURED] || view.wants[VAPOUR_WANT_LOW_EXHAUST] || view.wants[VAPOUR_WANT_VOLUME]);
    place.airflow_m3h = NOT_KNOWN;
    assert_int_equal(shop_put_place(scene->shop, &scene->write, &place, &id, &scene->error), COAT_BAD_VALUE);
    assert_string_equal(scene->error.field, "airflow_measured");
}

static void each_thing_that_is_missing_is_named(void **state)
{
    struct scene *scene = scene_of(state);
    put_on(scene, CLASS_ALKYD_ENAMEL, scene->body);
    struct vapour_view view = air_of(scene, scene->garage);
    assert_true(view.wants[VAPOUR_WANT_VOLUME] && view.wants[VAPOUR_WANT_AMOUNTS] && view.wants[VAPOUR_WANT_AIRFLOW] && view.wants[VAPOUR_WANT_LOW_EXHAUST]);
    for (unsigned i = 0; i < VAPOUR_WANT_COUNT; i++)
        assert_true(strlen(shop_vapour_want_text((enum vapour_want)i)) > 20);
}

/* ---- what the material is made of ---- */

static int64_t own_enamel(struct scene *scene, const char *name, const char *solvent, double solvent_pct)
{
    static struct material material;
    int64_t id = 0;
    material_init(&material, CLASS_ALKYD_ENAMEL);
    snprintf(material.name, sizeof material.name, "%s", name);
    snprintf(material.solvent, sizeof material.solvent, "%s", solvent);
    material.solvent_pct = solvent_pct;
    TELL(scene, shop_put_material(scene->shop, &scene->write, 0, &material, &id, &scene->error));
    return shop_material_newest(scene->shop, id)->id;
}

static void a_composition_that_was_told_counts_instead_of_the_worst_of_the_class(void **state)
{
    struct scene *scene = scene_of(state);
    measure_garage(scene);
    struct coat coat = a_coat(scene);
    coat.first_at = coat.last_at = scene->write.now_ms;
    coat.amount_ml = 250;
    coat.material_version_id = own_enamel(scene, "thin enamel", "mineral spirits=100%", 40);
    told_coat(scene, coat, scene->body);
    struct vapour_view told = air_of(scene, scene->garage);
    assert_int_equal(told.composition_untold, 0);
    coat.material_version_id = own_enamel(scene, "enamel of no sheet", "", NOT_KNOWN);
    told_coat(scene, coat, scene->wheel);
    struct vapour_view both = air_of(scene, scene->garage);
    assert_int_equal(both.composition_untold, 1);
    assert_true(both.wants[VAPOUR_WANT_COMPOSITION] && !told.wants[VAPOUR_WANT_COMPOSITION]);
    assert_true(both.load.lel_air_m3 > 2.5 * told.load.lel_air_m3); /* 60 % of the worse of two, after 40 % of one */
}

static void a_composition_that_cannot_be_is_refused(void **state)
{
    struct scene *scene = scene_of(state);
    const struct {
        const char *solvent;
        double pct;
        const char *field;
    } cases[] = {
        {"toluene=60%", 50, "composition.solvent"}, {"moonshine", 50, "composition.solvent"}, {"toluene=90%, xylene=20%", 50, "composition.solvent"},
        {"", 50, "composition.solvent_pct"}, {"toluene", 101, "composition.solvent_pct"}, {"toluene", -1, "composition.solvent_pct"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        static struct material material;
        int64_t id = 0;
        material_init(&material, CLASS_ALKYD_ENAMEL);
        snprintf(material.name, sizeof material.name, "own");
        snprintf(material.solvent, sizeof material.solvent, "%s", cases[i].solvent);
        material.solvent_pct = cases[i].pct;
        assert_int_not_equal(shop_put_material(scene->shop, &scene->write, 0, &material, &id, &scene->error), COAT_OK);
        assert_string_equal(scene->error.field, cases[i].field);
    }
}

/* ---- moves ---- */

static void what_is_left_goes_along_when_a_piece_is_moved(void **state)
{
    struct scene *scene = scene_of(state);
    int64_t id = 0;
    measure_garage(scene);
    put_amount(scene, CLASS_ALKYD_ENAMEL, scene->body, 250, NOT_KNOWN, "");
    double all = air_of(scene, scene->garage).load.vapour_m3;
    scene->write.now_ms += 30 * MS_PER_MIN;
    TELL(scene, shop_move_piece(scene->shop, &scene->write, scene->body, scene->cellar, scene->write.now_ms, &id, &scene->error));
    struct vapour_view there = air_of(scene, scene->cellar), here = air_of(scene, scene->garage);
    assert_int_equal(there.counted, 1);
    assert_int_equal(there.moved_in, 1);
    assert_int_equal(here.counted, 1);
    assert_int_equal(here.moved_in, 0);
    assert_true(there.load.vapour_m3 > 0.5 * all && there.load.vapour_m3 < all); /* half an hour of the slow pace is gone */
    assert_true(here.load.vapour_m3 > 0.05 * all && here.load.vapour_m3 < all);  /* of the quick pace came off here */
    assert_true(here.load.vapour_m3 + there.load.vapour_m3 >= all);              /* never less than there was */
    scene->write.now_ms += 4 * MS_PER_DAY;
    TELL(scene, shop_move_piece(scene->shop, &scene->write, scene->body, scene->garage, scene->write.now_ms, &id, &scene->error));
    assert_int_equal(air_of(scene, scene->garage).moved_in, 0); /* nothing but a trace came back */
}

static void an_oven_gets_at_least_what_a_film_holds_after_flash_off(void **state)
{
    struct scene *scene = scene_of(state);
    int64_t id = 0;
    measure_garage(scene);
    put_amount(scene, CLASS_STOVING_ENAMEL, scene->body, 250, NOT_KNOWN, "");
    double all = air_of(scene, scene->garage).load.vapour_m3;
    assert_false(shop_vapour_in_oven(scene->shop, scene->body, scene->write.now_ms));
    scene->write.now_ms += 3 * MS_PER_DAY;
    TELL(scene, shop_move_piece(scene->shop, &scene->write, scene->body, scene->oven, scene->write.now_ms, &id, &scene->error));
    assert_true(shop_vapour_in_oven(scene->shop, scene->body, scene->write.now_ms));
    assert_false(shop_vapour_in_oven(scene->shop, scene->wheel, scene->write.now_ms));
    struct vapour_view oven = air_of(scene, scene->oven);
    assert_int_equal(oven.moved_in, 1);
    assert_true(oven.load.vapour_m3 > 0.29 * all && oven.load.vapour_m3 < 0.5 * all);
    scene->write.now_ms += 20 * MS_PER_DAY;
    assert_false(shop_vapour_in_oven(scene->shop, scene->body, scene->write.now_ms)); /* long dry */
}

static void a_small_place_is_an_oven_while_it_is_heated(void **state)
{
    struct scene *scene = scene_of(state);
    struct place place = *shop_place(scene->shop, scene->cellar);
    int64_t id = 0;
    place.volume_m3 = 1.2;
    TELL(scene, shop_put_place(scene->shop, &scene->write, &place, &id, &scene->error));
    assert_false(air_of(scene, scene->cellar).as_oven);
    struct heating heating = {.place_id = scene->cellar, .from_at = scene->write.now_ms, .until_at = scene->write.now_ms + MS_PER_H};
    TELL(scene, shop_heat_place(scene->shop, &scene->write, &heating, &id, &scene->error));
    assert_true(air_of(scene, scene->cellar).as_oven);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        SCENE_TEST(a_coat_with_an_amount_counts_as_the_worst_of_its_class),
        SCENE_TEST(thinner_counts_whole_and_one_that_nobody_knows_leaves_it_not_known),
        SCENE_TEST(several_coats_drying_in_one_place_add_up),
        SCENE_TEST(a_coat_without_an_amount_leaves_what_does_not_exceed_not_known),
        SCENE_TEST(without_a_volume_nothing_is_known),
        SCENE_TEST(an_oven_is_one_for_the_sums),
        SCENE_TEST(gun_wash_counts_beside_the_coats),
        SCENE_TEST(solvent_that_cannot_be_is_named_and_not_recorded),
        SCENE_TEST(a_fan_that_was_not_measured_counts_half_and_one_up_high_mixes_badly),
        SCENE_TEST(each_thing_that_is_missing_is_named),
        SCENE_TEST(a_composition_that_was_told_counts_instead_of_the_worst_of_the_class),
        SCENE_TEST(a_composition_that_cannot_be_is_refused),
        SCENE_TEST(what_is_left_goes_along_when_a_piece_is_moved),
        SCENE_TEST(an_oven_gets_at_least_what_a_film_holds_after_flash_off),
        SCENE_TEST(a_small_place_is_an_oven_while_it_is_heated),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
