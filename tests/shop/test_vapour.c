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

int main(void)
{
    const struct CMUnitTest tests[] = {
        SCENE_TEST(a_coat_with_an_amount_counts_as_the_worst_of_its_class),
        SCENE_TEST(thinner_counts_whole_and_one_that_nobody_knows_leaves_it_not_known),
        SCENE_TEST(several_coats_drying_in_one_place_add_up),
        SCENE_TEST(a_coat_without_an_amount_leaves_what_does_not_exceed_not_known),
        SCENE_TEST(without_a_volume_nothing_is_known),
        SCENE_TEST(an_oven_is_one_for_the_sums),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
