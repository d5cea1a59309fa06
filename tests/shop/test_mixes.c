/* A batch of epoxy primer: induction 60 min and pot life 4 h at 21 C, in the air where it stands, and what is told of it. */
#include "tests/shop/write_scene.h"

#define INDUCTION (60 * MS_PER_MIN)
#define POT_LIFE (240 * MS_PER_MIN)

static void enter_air(struct scene *scene, int64_t place_id, int64_t at, double temp_c)
{
    const struct reading reading = {at, (int32_t)(temp_c * 1000.0), 50000, READING_HOLD_BY_HAND_S};
    assert_int_equal(shop_enter_air(scene->shop, &scene->write, place_id, &reading, 1, &scene->error), COAT_OK);
}

/* A day of steady air with a reading an hour, up to now. */
static void steady_air(struct scene *scene, int64_t place_id, double temp_c)
{
    for (int hour = 24; hour >= 0; hour--)
        enter_air(scene, place_id, scene->write.now_ms - hour * MS_PER_H, temp_c);
}

static int64_t mixed(struct scene *scene, enum material_class class_of, int64_t place_id, int64_t at)
{
    const struct mix mix = {.material_version_id = builtin_version(scene->shop, class_of), .place_id = place_id, .mixed_at = at};
    int64_t id = 0;
    TELL(scene, shop_mix(scene->shop, &scene->write, &mix, &id, &scene->error));
    return id;
}

static struct mix_view view_of(struct scene *scene, int64_t id)
{
    struct mix_view view;
    assert_true(shop_mix_view(scene->shop, id, scene->write.now_ms, &view));
    return view;
}

/* Lets time pass with a reading each half hour. */
static void pass_measured(struct scene *scene, int64_t place_id, int64_t to_ms, double temp_c)
{
    int64_t next = 0;
    while (scene->write.now_ms < to_ms) {
        int64_t step = to_ms - scene->write.now_ms < 30 * MS_PER_MIN ? to_ms - scene->write.now_ms : 30 * MS_PER_MIN;
        scene->write.now_ms += step;
        enter_air(scene, place_id, scene->write.now_ms, temp_c);
        assert_int_equal(shop_turn(scene->shop, scene->write.now_ms, &next, &scene->error), COAT_OK);
    }
}

static void pass_time(struct scene *scene, int64_t to_ms)
{
    int64_t next = 0;
    scene->write.now_ms = to_ms;
    assert_int_equal(shop_turn(scene->shop, to_ms, &next, &scene->error), COAT_OK);
    assert_true(next == MOMENT_NONE || next > to_ms);
}

static void start_anew(struct scene *scene)
{
    reopen(scene);
    pass_time(scene, scene->write.now_ms);
}

static unsigned count_told(const struct scene *scene, enum notice_kind kind, const struct notice **ret_last)
{
    size_t count = 0;
    unsigned told = 0;
    const struct notice *notice = shop_notices(scene->shop, &count);
    for (; count-- > 0; notice++) {
        if (notice->kind != kind)
            continue;
        told++;
        *ret_last = notice;
    }
    return told;
}

static const struct notice *told_once(const struct scene *scene, enum notice_kind kind)
{
    const struct notice *notice = NULL;
    assert_int_equal(count_told(scene, kind, &notice), 1);
    return notice;
}

static void none_told(const struct scene *scene, enum notice_kind kind)
{
    const struct notice *notice = NULL;
    assert_int_equal(count_told(scene, kind, &notice), 0);
}

#define ASSERT_NEAR(moment, wanted, within) assert_true(llabs((long long)((moment) - (wanted))) <= (within))

/* ---- moments ---- */

static void at_21_c_the_label_holds(void **state)
{
    struct scene *scene = *state;
    steady_air(scene, scene->garage, 21.0);
    struct mix_view view = view_of(scene, mixed(scene, CLASS_EPOXY_PRIMER, scene->garage, NOW));
    ASSERT_NEAR(view.ready_at, NOW + INDUCTION, MS_PER_S);
    assert_true(view.ready_at >= NOW + INDUCTION);
    assert_true(view.use_by_at <= NOW + POT_LIFE); /* what lies beyond two hours is warm-side assumed air: of a steady day the same */
    ASSERT_NEAR(view.use_by_at, NOW + POT_LIFE, MS_PER_S);
    assert_int_equal(view.basis, AIR_MEASURED);
    assert_false(view.over);
    assert_true(view.cautions.count > 3);
    for (unsigned i = 0; i < view.cautions.count; i++)
        assert_int_not_equal(view.cautions.code[i], CAUTION_LEAD); /* nothing old is touched */
}

static void a_cold_cellar_doubles_the_induction_and_does_not_lengthen_the_pot_life(void **state)
{
    struct scene *scene = *state;
    steady_air(scene, scene->cellar, 11.0);
    struct mix_view view = view_of(scene, mixed(scene, CLASS_EPOXY_PRIMER, scene->cellar, NOW));
    ASSERT_NEAR(view.ready_at, NOW + 2 * INDUCTION, 6 * MS_PER_MIN); /* Arrhenius: a doubling around 16 C is a little more at 11 */
    assert_true(view.ready_at >= NOW + 2 * INDUCTION - MS_PER_MIN);
    assert_int_equal(view.use_by_at, NOW + POT_LIFE);
}

static void a_hot_garage_halves_the_pot_life_and_does_not_shorten_the_induction(void **state)
{
    struct scene *scene = *state;
    steady_air(scene, scene->garage, 31.0);
    struct mix_view view = view_of(scene, mixed(scene, CLASS_EPOXY_PRIMER, scene->garage, NOW));
    ASSERT_NEAR(view.ready_at, NOW + INDUCTION, MS_PER_S);
    ASSERT_NEAR(view.use_by_at, NOW + POT_LIFE / 2, 6 * MS_PER_MIN);
}

static void where_it_stands_was_not_told_the_pot_life_counts_as_warm(void **state)
{
    struct scene *scene = *state;
    int64_t nowhere = mixed(scene, CLASS_EPOXY_PRIMER, 0, NOW), unread = mixed(scene, CLASS_EPOXY_PRIMER, scene->garage, NOW);
    const int64_t ids[] = {nowhere, unread};
    for (size_t i = 0; i < 2; i++) {
        struct mix_view view = view_of(scene, ids[i]);
        assert_int_equal(view.ready_at, MOMENT_NONE); /* it may be cold there: not known */
        assert_true(view.use_by_at > NOW + POT_LIFE / 2 && view.use_by_at < NOW + POT_LIFE * 6 / 10); /* 30 C */
        assert_int_equal(view.basis, AIR_ASSUMED);
    }
    enter_air(scene, scene->garage, NOW, 21.0);
    assert_true(view_of(scene, unread).ready_at >= NOW + INDUCTION);
    assert_int_equal(view_of(scene, unread).basis, AIR_MEASURED);
    assert_int_equal(view_of(scene, nowhere).ready_at, MOMENT_NONE);
}

static void without_induction_there_is_nothing_to_wait_for(void **state)
{
    struct scene *scene = *state;
    steady_air(scene, scene->garage, 21.0);
    struct mix_view view = view_of(scene, mixed(scene, CLASS_POLYURETHANE, scene->garage, NOW));
    assert_int_equal(view.ready_at, MOMENT_NONE);
    ASSERT_NEAR(view.use_by_at, NOW + 120 * MS_PER_MIN, MS_PER_S);
}

/* ---- notices ---- */

static void it_is_told_when_it_is_ready_and_before_it_ends(void **state)
{
    struct scene *scene = *state;
    steady_air(scene, scene->garage, 21.0);
    int64_t id = mixed(scene, CLASS_EPOXY_PRIMER, scene->garage, NOW);
    pass_measured(scene, scene->garage, NOW + INDUCTION - MS_PER_MIN, 21.0);
    none_told(scene, NOTICE_MIX_READY);
    pass_measured(scene, scene->garage, NOW + INDUCTION + MS_PER_MIN, 21.0);
    const struct notice *ready = told_once(scene, NOTICE_MIX_READY);
    assert_true(ready->mix_id == id && ready->coat_id == 0 && !ready->assumed && ready->raised_at >= ready->due_at);
    assert_int_equal(ready->until_at, view_of(scene, id).use_by_at);
    assert_non_null(strstr(ready->text, "stir again"));

    pass_measured(scene, scene->garage, NOW + POT_LIFE - 31 * MS_PER_MIN, 21.0);
    none_told(scene, NOTICE_POT_LIFE);
    pass_measured(scene, scene->garage, NOW + POT_LIFE - 29 * MS_PER_MIN, 21.0);
    const struct notice *ending = told_once(scene, NOTICE_POT_LIFE);
    ASSERT_NEAR(ending->due_at, NOW + POT_LIFE, MS_PER_S);
    assert_int_equal(ending->mix_id, id);

    assert_false(view_of(scene, id).over);
    pass_measured(scene, scene->garage, NOW + POT_LIFE + MS_PER_MIN, 21.0);
    assert_true(view_of(scene, id).over);
    assert_int_not_equal(told_once(scene, NOTICE_MIX_READY)->withdrawn_at, MOMENT_NONE); /* it is of no use any more */
    assert_int_equal(told_once(scene, NOTICE_POT_LIFE)->withdrawn_at, MOMENT_NONE);
}

static void a_short_pot_life_is_told_a_quarter_before_its_end(void **state)
{
    struct scene *scene = *state;
    struct material material = shop_material_version(scene->shop, builtin_version(scene->shop, CLASS_POLYURETHANE))->material;
    int64_t material_id = 0, id = 0;
    material.builtin = false;
    material.pot_life_min = 20.0;
    strcpy(material.name, "quick clear");
    steady_air(scene, scene->garage, 21.0);
    TELL(scene, shop_put_material(scene->shop, &scene->write, 0, &material, &material_id, &scene->error));
    const struct mix mix = {.material_version_id = shop_material_newest(scene->shop, material_id)->id, .place_id = scene->garage,
                            .mixed_at = NOW};
    TELL(scene, shop_mix(scene->shop, &scene->write, &mix, &id, &scene->error));
    pass_time(scene, NOW + 14 * MS_PER_MIN);
    none_told(scene, NOTICE_POT_LIFE);
    pass_time(scene, NOW + 15 * MS_PER_MIN + MS_PER_S);
    told_once(scene, NOTICE_POT_LIFE);
}

static void each_is_told_once_through_restarts(void **state)
{
    struct scene *scene = *state;
    steady_air(scene, scene->garage, 21.0);
    int64_t id = mixed(scene, CLASS_EPOXY_PRIMER, scene->garage, NOW);
    start_anew(scene);
    none_told(scene, NOTICE_MIX_READY);
    scene->write.now_ms = NOW + INDUCTION + MS_PER_MIN; /* it was off when the mix got ready */
    start_anew(scene);
    told_once(scene, NOTICE_MIX_READY);
    start_anew(scene);
    told_once(scene, NOTICE_MIX_READY);
    int64_t use_by = view_of(scene, id).use_by_at;
    scene->write.now_ms = use_by + MS_PER_H; /* and when it was over */
    start_anew(scene);
    assert_non_null(strstr(told_once(scene, NOTICE_POT_LIFE)->text, "do not use it"));
    start_anew(scene);
    pass_time(scene, use_by + 3 * MS_PER_DAY);
    told_once(scene, NOTICE_POT_LIFE);
    told_once(scene, NOTICE_MIX_READY);
    assert_int_equal(view_of(scene, id).use_by_at, use_by);
}

static void one_entered_when_it_was_over_is_not_told(void **state)
{
    struct scene *scene = *state;
    steady_air(scene, scene->garage, 21.0);
    int64_t id = mixed(scene, CLASS_EPOXY_PRIMER, scene->garage, NOW - 5 * MS_PER_H);
    pass_time(scene, NOW + MS_PER_H);
    assert_true(view_of(scene, id).over);
    none_told(scene, NOTICE_MIX_READY);
    none_told(scene, NOTICE_POT_LIFE);
}

static void one_entered_when_it_was_ready_has_its_end_told(void **state)
{
    struct scene *scene = *state;
    steady_air(scene, scene->garage, 21.0);
    mixed(scene, CLASS_EPOXY_PRIMER, scene->garage, NOW - 2 * MS_PER_H);
    pass_time(scene, NOW + 100 * MS_PER_MIN);
    none_told(scene, NOTICE_MIX_READY); /* the answer said so */
    told_once(scene, NOTICE_POT_LIFE);
}

static void the_service_wakes_for_each_of_its_moments(void **state)
{
    struct scene *scene = *state;
    steady_air(scene, scene->garage, 21.0);
    int64_t id = mixed(scene, CLASS_EPOXY_PRIMER, scene->garage, NOW);
    struct mix_view view = view_of(scene, id);
    const int64_t wanted[] = {view.ready_at, NOW + READING_HOLD_BY_HAND_S * MS_PER_S, view.use_by_at - 30 * MS_PER_MIN, view.use_by_at};
    for (size_t i = 0; i < sizeof wanted / sizeof *wanted; i++) {
        assert_int_equal(shop_next_due(scene->shop), wanted[i]);
        pass_time(scene, wanted[i]);
    }
    assert_int_equal(shop_next_due(scene->shop), MOMENT_NONE);
    assert_true(told_once(scene, NOTICE_POT_LIFE)->assumed); /* the last reading no longer holds */
    assert_non_null(strstr(told_once(scene, NOTICE_POT_LIFE)->text, "on assumed air: test first. ")); /* over channels the text is all that is told */
    assert_false(told_once(scene, NOTICE_MIX_READY)->assumed);
}

static void a_late_cold_reading_takes_back_that_it_is_ready(void **state)
{
    struct scene *scene = *state;
    const struct notice *notice = NULL;
    steady_air(scene, scene->garage, 21.0);
    mixed(scene, CLASS_EPOXY_PRIMER, scene->garage, NOW);
    pass_time(scene, NOW + INDUCTION + MS_PER_MIN);
    told_once(scene, NOTICE_MIX_READY);
    enter_air(scene, scene->garage, NOW + 2 * MS_PER_MIN, 5.0); /* the door stood open */
    assert_int_not_equal(told_once(scene, NOTICE_MIX_READY)->withdrawn_at, MOMENT_NONE);
    assert_int_equal(told_once(scene, NOTICE_CORRECTION)->withdrawn_at, MOMENT_NONE);
    pass_measured(scene, scene->garage, NOW + 3 * INDUCTION, 21.0);
    assert_int_equal(count_told(scene, NOTICE_MIX_READY, &notice), 2); /* ready after all */
    assert_int_equal(notice->withdrawn_at, MOMENT_NONE);
    assert_int_not_equal(told_once(scene, NOTICE_CORRECTION)->withdrawn_at, MOMENT_NONE);
}

static void a_room_that_gets_hot_brings_the_end_forward(void **state)
{
    struct scene *scene = *state;
    const struct notice *notice = NULL;
    steady_air(scene, scene->garage, 21.0);
    int64_t id = mixed(scene, CLASS_EPOXY_PRIMER, scene->garage, NOW);
    pass_measured(scene, scene->garage, NOW + POT_LIFE - 29 * MS_PER_MIN, 21.0);
    told_once(scene, NOTICE_POT_LIFE);
    pass_measured(scene, scene->garage, NOW + POT_LIFE - 20 * MS_PER_MIN, 45.0); /* beside the stove */
    assert_int_equal(count_told(scene, NOTICE_POT_LIFE, &notice), 2);
    assert_int_equal(notice->due_at, view_of(scene, id).use_by_at);
    assert_true(notice->due_at < NOW + POT_LIFE - 8 * MS_PER_MIN);
}

static void the_order_of_the_facts_does_not_matter(void **state)
{
    struct scene *scene = *state;
    steady_air(scene, scene->garage, 16.0);
    int64_t before = mixed(scene, CLASS_EPOXY_PRIMER, scene->garage, NOW);
    pass_measured(scene, scene->garage, NOW + 3 * MS_PER_H, 26.0);
    int64_t after = mixed(scene, CLASS_EPOXY_PRIMER, scene->garage, NOW);
    struct mix_view a = view_of(scene, before), b = view_of(scene, after);
    assert_true(a.ready_at == b.ready_at && a.use_by_at == b.use_by_at);
    start_anew(scene);
    struct mix_view c = view_of(scene, before);
    assert_true(a.ready_at == c.ready_at && a.use_by_at == c.use_by_at && a.basis == c.basis);
    mixed(scene, CLASS_EPOXY_PRIMER, scene->cellar, NOW - 30 * MS_PER_DAY); /* all is reckoned from an earlier day now */
    struct mix_view d = view_of(scene, before);
    assert_true(a.use_by_at == d.use_by_at);
    ASSERT_NEAR(d.ready_at, a.ready_at, 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        SCENE_TEST(at_21_c_the_label_holds),
        SCENE_TEST(a_cold_cellar_doubles_the_induction_and_does_not_lengthen_the_pot_life),
        SCENE_TEST(a_hot_garage_halves_the_pot_life_and_does_not_shorten_the_induction),
        SCENE_TEST(where_it_stands_was_not_told_the_pot_life_counts_as_warm),
        SCENE_TEST(without_induction_there_is_nothing_to_wait_for),
        SCENE_TEST(it_is_told_when_it_is_ready_and_before_it_ends),
        SCENE_TEST(a_short_pot_life_is_told_a_quarter_before_its_end),
        SCENE_TEST(each_is_told_once_through_restarts),
        SCENE_TEST(one_entered_when_it_was_over_is_not_told),
        SCENE_TEST(one_entered_when_it_was_ready_has_its_end_told),
        SCENE_TEST(the_service_wakes_for_each_of_its_moments),
        SCENE_TEST(a_late_cold_reading_takes_back_that_it_is_ready),
        SCENE_TEST(a_room_that_gets_hot_brings_the_end_forward),
        SCENE_TEST(the_order_of_the_facts_does_not_matter),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
