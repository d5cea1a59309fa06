/* Air entered by hand, notices put aside, and what an Idempotency-Key answers. */
#include "write_scene.h"

static size_t readings_of(struct scene *scene, int64_t place_id, struct reading ret[8])
{
    struct reading *readings = NULL;
    size_t count = 0;
    assert_int_equal(shop_readings(scene->shop, place_id, 0, NOW + MS_PER_DAY, 8, &readings, &count), COAT_OK);
    memcpy(ret, readings, count * sizeof *ret);
    free(readings);
    return count;
}

static enum coat_result enter(struct scene *scene, int64_t place_id, const struct reading *readings, size_t count)
{
    return shop_enter_air(scene->shop, &scene->write, place_id, readings, count, &scene->error);
}

static void air_is_kept_in_the_order_of_its_moments(void **state)
{
    struct scene *scene = *state;
    const struct reading told[] = {
        {.at_ms = NOW - 1000, .temp_mc = 18000, .rh_mp = 55000},
        {.at_ms = NOW - 2 * MS_PER_DAY, .temp_mc = 9000, .rh_mp = 80000},
        {.at_ms = NOW - 1000, .temp_mc = 18000, .rh_mp = 55000}, /* twice the same */
    };
    struct reading kept[8];
    TELL(scene, enter(scene, scene->garage, told, 3));
    assert_int_equal(readings_of(scene, scene->garage, kept), 2);
    assert_int_equal(kept[0].temp_mc, 9000);
    assert_int_equal(kept[1].temp_mc, 18000);
    assert_int_equal(kept[1].hold_s, READING_HOLD_BY_HAND_S);
    assert_true(shop_air(scene->shop, scene->garage, NOW).known);
    assert_float_equal(shop_air(scene->shop, scene->garage, NOW).temp_c, 18.0, 1e-9);
}

static void a_reading_told_again_replaces(void **state)
{
    struct scene *scene = *state;
    struct reading told = {.at_ms = NOW, .temp_mc = 18000, .rh_mp = 55000}, kept[8];
    TELL(scene, enter(scene, scene->garage, &told, 1));
    told.temp_mc = 19500;
    TELL(scene, enter(scene, scene->garage, &told, 1));
    assert_int_equal(readings_of(scene, scene->garage, kept), 1);
    assert_int_equal(kept[0].temp_mc, 19500);
}

static void air_that_cannot_be_is_refused(void **state)
{
    struct scene *scene = *state;
    const struct reading good = {.at_ms = NOW, .temp_mc = 18000, .rh_mp = 55000};
    struct reading bad = good;
    bad.temp_mc = 60001;
    REFUSE(scene, COAT_BAD_VALUE, "temp_c", enter(scene, scene->garage, &bad, 1));
    TELL(scene, enter(scene, scene->oven, &bad, 1));
    bad.temp_mc = 300001;
    REFUSE(scene, COAT_BAD_VALUE, "temp_c", enter(scene, scene->oven, &bad, 1));
    bad.temp_mc = -40001;
    REFUSE(scene, COAT_BAD_VALUE, "temp_c", enter(scene, scene->garage, &bad, 1));
    bad = good;
    bad.rh_mp = 100001;
    REFUSE(scene, COAT_BAD_VALUE, "rh_pct", enter(scene, scene->garage, &bad, 1));
    bad = good;
    bad.at_ms = NOW + 60001;
    REFUSE(scene, COAT_BAD_VALUE, "at", enter(scene, scene->garage, &bad, 1));
    REFUSE(scene, COAT_NOT_FOUND, "place", enter(scene, 4711, &good, 1));
    REFUSE(scene, COAT_BAD_VALUE, "items", enter(scene, scene->garage, &good, 0));
    REFUSE(scene, COAT_BAD_VALUE, "items", enter(scene, scene->garage, &good, 20001));
}

static void of_many_readings_the_bad_one_is_named(void **state)
{
    struct scene *scene = *state;
    struct reading told[] = {
        {.at_ms = NOW - 1000, .temp_mc = 18000, .rh_mp = 55000},
        {.at_ms = NOW - 2000, .temp_mc = 18000, .rh_mp = -1},
        {.at_ms = NOW - 3000, .temp_mc = 18000, .rh_mp = 55000},
    };
    REFUSE(scene, COAT_BAD_VALUE, "items[1].rh_pct", enter(scene, scene->garage, told, 3));
    told[1] = (struct reading){.at_ms = NOW - 3000, .temp_mc = 18500, .rh_mp = 55000};
    REFUSE(scene, COAT_BAD_VALUE, "items", enter(scene, scene->garage, told, 3)); /* two airs at one moment */
}

static void a_key_answers_what_it_answered(void **state)
{
    struct scene *scene = *state;
    int32_t status = 0;
    unsigned count = 0;
    int64_t ids[SHOP_ANSWER_IDS_MAX] = {0};
    struct shop_write keyed = {.now_ms = NOW, .key = "first", .body_hash = 77, .body_length = 5, .route = "POST /api/v1/places", .status = 201};
    assert_int_equal(shop_answer_find(scene->shop, &scene->write, &status, ids, &count, &scene->error), COAT_NOT_FOUND); /* no key */
    assert_int_equal(shop_answer_find(scene->shop, &keyed, &status, ids, &count, &scene->error), COAT_NOT_FOUND);
    scene->write = keyed;
    int64_t attic = told_place(scene, a_place("attic"));
    assert_int_equal(shop_answer_find(scene->shop, &keyed, &status, ids, &count, &scene->error), COAT_OK);
    assert_int_equal(status, 201);
    assert_int_equal(count, 1);
    assert_int_equal(ids[0], attic);
    struct shop_write other = keyed;
    other.body_hash++;
    REFUSE(scene, COAT_BAD_VALUE, "Idempotency-Key", shop_answer_find(scene->shop, &other, &status, ids, &count, &scene->error));
    other = keyed;
    other.route = "POST /api/v1/pieces";
    REFUSE(scene, COAT_BAD_VALUE, "Idempotency-Key", shop_answer_find(scene->shop, &other, &status, ids, &count, &scene->error));
}

static void a_refused_write_leaves_its_key_free(void **state)
{
    struct scene *scene = *state;
    struct place bad = a_place("garage");
    int32_t status = 0;
    unsigned count = 0;
    int64_t ids[SHOP_ANSWER_IDS_MAX] = {0}, id = 0;
    scene->write.key = "second";
    scene->write.route = "POST /api/v1/places";
    REFUSE(scene, COAT_CONFLICT, "name", shop_put_place(scene->shop, &scene->write, &bad, &id, &scene->error));
    assert_int_equal(shop_answer_find(scene->shop, &scene->write, &status, ids, &count, &scene->error), COAT_NOT_FOUND);
    told_place(scene, a_place("attic"));
    bad = a_place("loft"); /* the same key once more, unasked: the store refuses, and nothing of it stays */
    REFUSE(scene, COAT_CONFLICT, "", shop_put_place(scene->shop, &scene->write, &bad, &id, &scene->error));
}

static void a_key_that_is_too_long_is_refused(void **state)
{
    struct scene *scene = *state;
    struct place place = a_place("attic");
    char key[200];
    int64_t id = 0;
    memset(key, 'k', sizeof key);
    key[sizeof key - 1] = '\0';
    scene->write.key = key;
    REFUSE(scene, COAT_BAD_VALUE, "Idempotency-Key", shop_put_place(scene->shop, &scene->write, &place, &id, &scene->error));
    assert_int_equal(id, 0);
}

static void a_notice_is_put_aside_once(void **state)
{
    struct scene *scene = *state;
    const struct reading warm = {.at_ms = NOW, .temp_mc = 25000, .rh_mp = 40000};
    int64_t next = 0;
    size_t count = 0;
    told_coat(scene, a_coat(scene), scene->body);
    TELL(scene, enter(scene, scene->garage, &warm, 1));
    assert_int_equal(shop_turn(scene->shop, NOW + 3 * MS_PER_DAY, &next, &scene->error), COAT_OK);
    const struct notice *notice = shop_notices(scene->shop, &count);
    assert_true(count > 0);
    int64_t id = notice->id;
    scene->write.now_ms = NOW + 3 * MS_PER_DAY;
    TELL(scene, shop_acknowledge(scene->shop, &scene->write, id, &scene->error));
    assert_int_equal(shop_notices(scene->shop, &count)->acknowledged_at, scene->write.now_ms);
    int64_t revision = shop_revision(scene->shop);
    scene->write.now_ms++;
    assert_int_equal(shop_acknowledge(scene->shop, &scene->write, id, &scene->error), COAT_OK);
    assert_int_equal(shop_revision(scene->shop), revision);
    assert_int_equal(shop_notices(scene->shop, &count)->acknowledged_at, scene->write.now_ms - 1);
    REFUSE(scene, COAT_NOT_FOUND, "notice", shop_acknowledge(scene->shop, &scene->write, 4711, &scene->error));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        SCENE_TEST(air_is_kept_in_the_order_of_its_moments),
        SCENE_TEST(a_reading_told_again_replaces),
        SCENE_TEST(air_that_cannot_be_is_refused),
        SCENE_TEST(of_many_readings_the_bad_one_is_named),
        SCENE_TEST(a_key_answers_what_it_answered),
        SCENE_TEST(a_refused_write_leaves_its_key_free),
        SCENE_TEST(a_key_that_is_too_long_is_refused),
        SCENE_TEST(a_notice_is_put_aside_once),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
