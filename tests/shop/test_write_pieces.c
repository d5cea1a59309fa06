/* Pieces and where they hang. */
#include "write_scene.h"

static void a_piece_hangs_where_it_was_put(void **state)
{
    struct scene *scene = *state;
    int64_t fan = told_piece(scene, a_piece("desk fan"), scene->cellar), cage = told_piece(scene, a_piece("fan cage"), 0);
    assert_int_equal(shop_piece_place(scene->shop, fan, NOW), scene->cellar);
    assert_int_equal(shop_piece_place(scene->shop, fan, NOW - 1), scene->cellar); /* and before it was told of */
    assert_int_equal(shop_piece_place(scene->shop, cage, NOW), 0);
    assert_int_equal(shop_piece(scene->shop, cage)->added_at, NOW);
}

static void pieces_that_are_not_believable_are_refused(void **state)
{
    struct scene *scene = *state;
    int64_t id = 0;
    struct piece bad = a_piece("123");
    REFUSE(scene, COAT_BAD_VALUE, "name", shop_put_piece(scene->shop, &scene->write, &bad, 0, &id, &scene->error));
    bad = a_piece("Mill body");
    REFUSE(scene, COAT_CONFLICT, "name", shop_put_piece(scene->shop, &scene->write, &bad, 0, &id, &scene->error));
    bad = a_piece("cover");
    bad.mass_kg = 0.0;
    REFUSE(scene, COAT_BAD_VALUE, "mass_kg", shop_put_piece(scene->shop, &scene->write, &bad, 0, &id, &scene->error));
    bad.mass_kg = 12.0;
    bad.wall_mm = 1001.0;
    REFUSE(scene, COAT_BAD_VALUE, "wall_mm", shop_put_piece(scene->shop, &scene->write, &bad, 0, &id, &scene->error));
    bad.wall_mm = 6.0;
    bad.old_finish = OLD_FINISH_COUNT;
    REFUSE(scene, COAT_BAD_VALUE, "old_finish", shop_put_piece(scene->shop, &scene->write, &bad, 0, &id, &scene->error));
    bad.old_finish = OLD_FINISH_LEAD;
    strcpy(bad.note, "bell\a");
    REFUSE(scene, COAT_BAD_VALUE, "note", shop_put_piece(scene->shop, &scene->write, &bad, 0, &id, &scene->error));
    strcpy(bad.note, "two lines\nof note");
    REFUSE(scene, COAT_NOT_FOUND, "place", shop_put_piece(scene->shop, &scene->write, &bad, 4711, &id, &scene->error));
    assert_int_equal(id, 0);
    told_piece(scene, bad, scene->garage);
}

static void areas_are_told_once_each(void **state)
{
    struct scene *scene = *state;
    int64_t id = 0;
    struct piece bad = a_piece("cover");
    bad.areas = AREAS_MAX + 1;
    REFUSE(scene, COAT_BAD_VALUE, "areas", shop_put_piece(scene->shop, &scene->write, &bad, 0, &id, &scene->error));
    bad.areas = 2;
    strcpy(bad.area[0], "front");
    REFUSE(scene, COAT_BAD_VALUE, "areas", shop_put_piece(scene->shop, &scene->write, &bad, 0, &id, &scene->error));
    strcpy(bad.area[1], " Front ");
    REFUSE(scene, COAT_BAD_VALUE, "areas", shop_put_piece(scene->shop, &scene->write, &bad, 0, &id, &scene->error));
}

static void an_area_with_a_coat_on_it_stays(void **state)
{
    struct scene *scene = *state;
    struct coat coat = a_coat(scene);
    strcpy(coat.area, "rim");
    told_coat(scene, coat, scene->wheel);
    struct piece wanted = *shop_piece(scene->shop, scene->wheel);
    int64_t id = 0;
    strcpy(wanted.area[0], "outside");
    REFUSE(scene, COAT_CONFLICT, "areas", shop_put_piece(scene->shop, &scene->write, &wanted, 0, &id, &scene->error));
    strcpy(wanted.area[0], "rim");
    strcpy(wanted.area[1], "spokes"); /* no coat is on the hub */
    TELL(scene, shop_put_piece(scene->shop, &scene->write, &wanted, 0, &id, &scene->error));
    assert_string_equal(shop_piece(scene->shop, scene->wheel)->area[1], "spokes");
}

static void a_piece_is_renamed_but_not_moved_by_it(void **state)
{
    struct scene *scene = *state;
    struct piece wanted = *shop_piece(scene->shop, scene->body);
    int64_t id = 0;
    strcpy(wanted.name, "Mill body"); /* its own name does not clash */
    TELL(scene, shop_put_piece(scene->shop, &scene->write, &wanted, 0, &id, &scene->error));
    assert_string_equal(shop_piece(scene->shop, scene->body)->name, "Mill body");
    assert_int_equal(shop_piece(scene->shop, scene->body)->added_at, NOW - MS_PER_H);
    REFUSE(scene, COAT_BAD_VALUE, "place", shop_put_piece(scene->shop, &scene->write, &wanted, scene->cellar, &id, &scene->error));
}

static void a_removed_piece_is_gone_for_what_comes(void **state)
{
    struct scene *scene = *state;
    struct rack rack = {.name = "mill", .pieces = 1, .piece_id = {scene->body}};
    struct coat coat = a_coat(scene);
    int64_t id = 0, rack_id = 0;
    TELL(scene, shop_put_rack(scene->shop, &scene->write, &rack, &rack_id, &scene->error));
    REFUSE(scene, COAT_CONFLICT, "piece", shop_remove_piece(scene->shop, &scene->write, scene->body, &scene->error));
    TELL(scene, shop_remove_rack(scene->shop, &scene->write, rack_id, &scene->error));
    TELL(scene, shop_remove_piece(scene->shop, &scene->write, scene->body, &scene->error));
    REFUSE(scene, COAT_NOT_FOUND, "piece", shop_remove_piece(scene->shop, &scene->write, scene->body, &scene->error));
    REFUSE(scene, COAT_NOT_FOUND, "piece", shop_move_piece(scene->shop, &scene->write, scene->body, scene->cellar, NOW, &id, &scene->error));
    REFUSE(scene, COAT_NOT_FOUND, "pieces",
           shop_log_coats(scene->shop, &scene->write, &coat, &scene->body, 1, 0, NULL, &id, &scene->error));
    told_piece(scene, a_piece("mill body"), scene->garage); /* its name is free again */
}

static void moves_stand_in_the_order_of_their_moments(void **state)
{
    struct scene *scene = *state;
    told_move(scene, scene->body, scene->cellar, NOW - 10 * MS_PER_MIN);
    told_move(scene, scene->body, scene->oven, NOW - 30 * MS_PER_MIN); /* told late */
    assert_int_equal(shop_piece_place(scene->shop, scene->body, NOW - 40 * MS_PER_MIN), scene->garage);
    assert_int_equal(shop_piece_place(scene->shop, scene->body, NOW - 30 * MS_PER_MIN), scene->oven);
    assert_int_equal(shop_piece_place(scene->shop, scene->body, NOW), scene->cellar);
    assert_int_equal(shop_piece_place(scene->shop, scene->wheel, NOW), scene->garage);
}

static void of_two_moves_at_one_moment_the_one_told_last_counts(void **state)
{
    struct scene *scene = *state;
    int64_t id = 0;
    told_move(scene, scene->body, scene->cellar, NOW - MS_PER_H); /* it was put into the garage then */
    assert_int_equal(shop_piece_place(scene->shop, scene->body, NOW), scene->cellar);
    told_move(scene, scene->body, scene->garage, NOW - MS_PER_H);
    assert_int_equal(shop_piece_place(scene->shop, scene->body, NOW), scene->garage);
    REFUSE(scene, COAT_CONFLICT, "place",
           shop_move_piece(scene->shop, &scene->write, scene->body, scene->garage, NOW - MS_PER_H, &id, &scene->error));
}

static void moves_that_cannot_be_are_refused(void **state)
{
    struct scene *scene = *state;
    struct shop *shop = scene->shop;
    int64_t id = 0, removed = told_place(scene, a_place("shed"));
    TELL(scene, shop_remove_place(shop, &scene->write, removed, &scene->error));
    REFUSE(scene, COAT_NOT_FOUND, "place", shop_move_piece(shop, &scene->write, scene->body, removed, NOW, &id, &scene->error));
    REFUSE(scene, COAT_NOT_FOUND, "place", shop_move_piece(shop, &scene->write, scene->body, 0, NOW, &id, &scene->error));
    REFUSE(scene, COAT_CONFLICT, "place", shop_move_piece(shop, &scene->write, scene->body, scene->garage, NOW, &id, &scene->error));
    assert_non_null(strstr(scene->error.text, "already hangs"));
    REFUSE(scene, COAT_BAD_VALUE, "at", shop_move_piece(shop, &scene->write, scene->body, scene->cellar, NOW + 61000, &id, &scene->error));
    REFUSE(scene, COAT_BAD_VALUE, "at", shop_move_piece(shop, &scene->write, scene->body, scene->cellar, 0, &id, &scene->error));
    REFUSE(scene, COAT_BAD_VALUE, "at", shop_move_piece(shop, &scene->write, scene->body, scene->cellar, MOMENT_NONE, &id, &scene->error));
    told_move(scene, scene->body, scene->cellar, NOW + 60000); /* a phone's clock may be a minute ahead */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        SCENE_TEST(a_piece_hangs_where_it_was_put),
        SCENE_TEST(pieces_that_are_not_believable_are_refused),
        SCENE_TEST(areas_are_told_once_each),
        SCENE_TEST(an_area_with_a_coat_on_it_stays),
        SCENE_TEST(a_piece_is_renamed_but_not_moved_by_it),
        SCENE_TEST(a_removed_piece_is_gone_for_what_comes),
        SCENE_TEST(moves_stand_in_the_order_of_their_moments),
        SCENE_TEST(of_two_moves_at_one_moment_the_one_told_last_counts),
        SCENE_TEST(moves_that_cannot_be_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
