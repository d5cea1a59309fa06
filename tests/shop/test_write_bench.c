/* What people tell of the bench: tests of a coat, the tins that coats come from, the mixing of a batch. */
#include "tests/shop/write_scene.h"

#define TEST(scene, coat, of_stage, is_passed, moment)                                                                  \
    shop_test_coat((scene)->shop, &(scene)->write,                                                                      \
                   &(struct bench_test){.coat_id = (coat), .stage = (of_stage), .passed = (is_passed), .at = (moment)}, &id, &(scene)->error)
#define PUT_TIN(scene, tin) shop_put_tin((scene)->shop, &(scene)->write, &(tin), &id, &(scene)->error)
#define MIX(scene, version, place, moment)                                                                              \
    shop_mix((scene)->shop, &(scene)->write,                                                                            \
             &(struct mix){.material_version_id = (version), .place_id = (place), .mixed_at = (moment)}, &id, &(scene)->error)

static struct tin a_tin(const struct scene *scene, const char *name)
{
    struct tin tin = {.opened_at = MOMENT_NONE, .keep_by_at = MOMENT_NONE, .removed_at = MOMENT_NONE};
    tin.material_id = shop_material_version(scene->shop, scene->enamel)->material_id;
    snprintf(tin.name, sizeof tin.name, "%s", name);
    return tin;
}

/* ---- tests ---- */

static void a_test_at_the_bench_is_kept(void **state)
{
    struct scene *scene = *state;
    int64_t id = 0, coat = told_coat(scene, a_coat(scene), scene->body);
    size_t count = 0;
    TELL(scene, TEST(scene, coat, STAGE_TOUCH, false, NOW - 5 * MS_PER_MIN));
    TELL(scene, TEST(scene, coat, STAGE_TOUCH, true, NOW));
    const struct bench_test *tests = shop_bench_tests(scene->shop, &count);
    assert_int_equal(count, 2);
    assert_true(tests[0].coat_id == coat && !tests[0].passed && tests[0].at == NOW - 5 * MS_PER_MIN && tests[0].entered_at == NOW);
    assert_true(tests[1].id == id && tests[1].passed && tests[1].stage == STAGE_TOUCH);
}

static void a_test_that_cannot_have_been_is_refused(void **state)
{
    struct scene *scene = *state;
    int64_t id = 0, coat = told_coat(scene, a_coat(scene), scene->body);
    REFUSE(scene, COAT_NOT_FOUND, "coat", TEST(scene, 99, STAGE_TOUCH, true, NOW));
    REFUSE(scene, COAT_BAD_VALUE, "at", TEST(scene, coat, STAGE_TOUCH, true, NOW + 2 * MS_PER_MIN));
    REFUSE(scene, COAT_BAD_VALUE, "at", TEST(scene, coat, STAGE_TOUCH, true, NOW - 11 * MS_PER_MIN)); /* between its passes */
    REFUSE(scene, COAT_BAD_VALUE, "at", TEST(scene, coat, STAGE_TOUCH, true, MOMENT_NONE));
    REFUSE(scene, COAT_BAD_VALUE, "stage", TEST(scene, coat, STAGE_COUNT, true, NOW));
    REFUSE(scene, COAT_BAD_VALUE, "stage", TEST(scene, coat, STAGE_LEAF, true, NOW)); /* an enamel takes no leaf */
    assert_non_null(strstr(scene->error.text, "tack-free"));
    assert_int_equal(id, 0);
}

static void a_coat_that_no_hand_reaches_is_not_tested(void **state)
{
    struct scene *scene = *state;
    struct coat upper = a_coat(scene);
    int64_t id = 0, coat = told_coat(scene, a_coat(scene), scene->body);
    upper.first_at = upper.last_at = NOW - 2 * MS_PER_MIN;
    told_coat(scene, upper, scene->body);
    REFUSE(scene, COAT_CONFLICT, "coat", TEST(scene, coat, STAGE_TOUCH, true, NOW));
    TELL(scene, TEST(scene, coat, STAGE_TOUCH, true, NOW - 3 * MS_PER_MIN)); /* told late: it lay open then */
    int64_t wheel = told_coat(scene, a_coat(scene), scene->wheel);
    const struct stripping all = {.piece_id = scene->wheel, .at = NOW - 2 * MS_PER_MIN};
    TELL(scene, shop_strip_piece(scene->shop, &scene->write, &all, &id, &scene->error));
    REFUSE(scene, COAT_CONFLICT, "coat", TEST(scene, wheel, STAGE_TOUCH, true, NOW));
    TELL(scene, shop_strike_coat(scene->shop, &scene->write, wheel, "never was", &scene->error));
    REFUSE(scene, COAT_CONFLICT, "coat", TEST(scene, wheel, STAGE_TOUCH, true, NOW - 3 * MS_PER_MIN));
}

static void a_tested_coat_is_amended_so_that_the_test_still_fits(void **state)
{
    struct scene *scene = *state;
    int64_t id = 0, coat = told_coat(scene, a_coat(scene), scene->body);
    TELL(scene, TEST(scene, coat, STAGE_HANDLE, false, NOW - 5 * MS_PER_MIN));
    struct coat entry = *shop_coat(scene->shop, coat);
    entry.last_at = NOW - 4 * MS_PER_MIN;
    REFUSE(scene, COAT_CONFLICT, "last_at", shop_amend_coat(scene->shop, &scene->write, &entry, &scene->error));
    entry.last_at = NOW - 5 * MS_PER_MIN;
    TELL(scene, shop_amend_coat(scene->shop, &scene->write, &entry, &scene->error));
    entry.material_version_id = builtin_version(scene->shop, CLASS_SIZE_QUICK); /* size is never handled */
    REFUSE(scene, COAT_CONFLICT, "material", shop_amend_coat(scene->shop, &scene->write, &entry, &scene->error));
}

/* ---- tins ---- */

static void a_tin_is_entered_changed_and_emptied(void **state)
{
    struct scene *scene = *state;
    struct tin tin = a_tin(scene, "  black 2 ");
    int64_t id = 0;
    strcpy(tin.batch, "L 0417/B");
    tin.opened_at = NOW - MS_PER_DAY;
    tin.keep_by_at = NOW + 300 * MS_PER_DAY;
    TELL(scene, PUT_TIN(scene, tin));
    assert_string_equal(shop_tin(scene->shop, id)->name, "black 2");
    assert_int_equal(shop_tin(scene->shop, id)->added_at, NOW);
    struct tin other = a_tin(scene, "Black 2");
    REFUSE(scene, COAT_CONFLICT, "name", PUT_TIN(scene, other));
    tin = *shop_tin(scene->shop, id);
    tin.batch[0] = '\0';
    tin.added_at = 0;
    TELL(scene, PUT_TIN(scene, tin));
    assert_string_equal(shop_tin(scene->shop, id)->batch, "");
    assert_int_equal(shop_tin(scene->shop, id)->added_at, NOW);
    TELL(scene, shop_remove_tin(scene->shop, &scene->write, id, &scene->error));
    assert_int_equal(shop_tin(scene->shop, id)->removed_at, NOW);
    REFUSE(scene, COAT_NOT_FOUND, "tin", shop_remove_tin(scene->shop, &scene->write, id, &scene->error));
    TELL(scene, PUT_TIN(scene, other)); /* the name is free again */
}

static void a_tin_that_cannot_be_is_refused(void **state)
{
    struct scene *scene = *state;
    struct tin tin = a_tin(scene, "black 2");
    int64_t id = 0;
    tin.name[0] = '\0';
    REFUSE(scene, COAT_BAD_VALUE, "name", PUT_TIN(scene, tin));
    tin = a_tin(scene, "black 2");
    tin.material_id = 999;
    REFUSE(scene, COAT_NOT_FOUND, "material", PUT_TIN(scene, tin));
    tin = a_tin(scene, "black 2");
    tin.opened_at = NOW + MS_PER_DAY;
    REFUSE(scene, COAT_BAD_VALUE, "opened_at", PUT_TIN(scene, tin));
    tin.opened_at = NOW - MS_PER_DAY;
    tin.keep_by_at = 1000;
    REFUSE(scene, COAT_BAD_VALUE, "keep_by_at", PUT_TIN(scene, tin));
    tin.id = 7;
    REFUSE(scene, COAT_NOT_FOUND, "tin", PUT_TIN(scene, tin));
}

static void a_coat_comes_from_a_tin_of_its_material(void **state)
{
    struct scene *scene = *state;
    struct tin black = a_tin(scene, "black 2"), spent = a_tin(scene, "black 1");
    struct coat coat = a_coat(scene);
    int64_t id = 0, black_id, primer = builtin_version(scene->shop, CLASS_ALKYD_PRIMER);
    TELL(scene, PUT_TIN(scene, black));
    black_id = coat.tin_id = id;
    TELL(scene, PUT_TIN(scene, spent));
    int64_t spent_id = id;
    int64_t number = told_coat(scene, coat, scene->body);
    assert_int_equal(shop_coat(scene->shop, number)->tin_id, black_id);
    TELL(scene, shop_remove_tin(scene->shop, &scene->write, spent_id, &scene->error));

    coat.tin_id = spent_id;
    REFUSE(scene, COAT_NOT_FOUND, "tin", shop_log_coats(scene->shop, &scene->write, &coat, &scene->body, 1, 0, NULL, &id, &scene->error));
    coat.tin_id = 99;
    REFUSE(scene, COAT_NOT_FOUND, "tin", shop_log_coats(scene->shop, &scene->write, &coat, &scene->body, 1, 0, NULL, &id, &scene->error));
    coat.tin_id = black_id;
    coat.material_version_id = primer;
    REFUSE(scene, COAT_BAD_VALUE, "tin", shop_log_coats(scene->shop, &scene->write, &coat, &scene->body, 1, 0, NULL, &id, &scene->error));
    struct tin changed = *shop_tin(scene->shop, black_id);
    changed.material_id = shop_material_version(scene->shop, primer)->material_id;
    REFUSE(scene, COAT_CONFLICT, "material", PUT_TIN(scene, changed));

    TELL(scene, shop_remove_tin(scene->shop, &scene->write, black_id, &scene->error));
    struct coat entry = *shop_coat(scene->shop, number);
    strcpy(entry.note, "the last of it"); /* it keeps its tin, though that is empty now */
    TELL(scene, shop_amend_coat(scene->shop, &scene->write, &entry, &scene->error));
    entry.material_version_id = primer;
    REFUSE(scene, COAT_BAD_VALUE, "tin", shop_amend_coat(scene->shop, &scene->write, &entry, &scene->error));
    entry.tin_id = 0;
    TELL(scene, shop_amend_coat(scene->shop, &scene->write, &entry, &scene->error));
}

/* ---- mixes ---- */

static void only_what_is_mixed_has_mixes(void **state)
{
    struct scene *scene = *state;
    int64_t id = 0, epoxy = builtin_version(scene->shop, CLASS_EPOXY_PRIMER);
    TELL(scene, MIX(scene, epoxy, scene->garage, NOW - MS_PER_MIN));
    TELL(scene, MIX(scene, epoxy, 0, NOW));
    int64_t kept = id;
    REFUSE(scene, COAT_BAD_VALUE, "material", MIX(scene, scene->enamel, scene->garage, NOW));
    REFUSE(scene, COAT_NOT_FOUND, "material", MIX(scene, 9999, scene->garage, NOW));
    REFUSE(scene, COAT_NOT_FOUND, "place", MIX(scene, epoxy, 99, NOW));
    REFUSE(scene, COAT_BAD_VALUE, "at", MIX(scene, epoxy, scene->garage, NOW + 2 * MS_PER_MIN));
    REFUSE(scene, COAT_BAD_VALUE, "at", MIX(scene, epoxy, scene->garage, MOMENT_NONE));
    assert_int_equal(id, kept);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        SCENE_TEST(a_test_at_the_bench_is_kept),
        SCENE_TEST(a_test_that_cannot_have_been_is_refused),
        SCENE_TEST(a_coat_that_no_hand_reaches_is_not_tested),
        SCENE_TEST(a_tested_coat_is_amended_so_that_the_test_still_fits),
        SCENE_TEST(a_tin_is_entered_changed_and_emptied),
        SCENE_TEST(a_tin_that_cannot_be_is_refused),
        SCENE_TEST(a_coat_comes_from_a_tin_of_its_material),
        SCENE_TEST(only_what_is_mixed_has_mixes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
