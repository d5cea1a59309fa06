/* Settings, places and racks: what is believable is recorded, the rest is refused by name. */
#include "write_scene.h"

static void settings_are_kept(void **state)
{
    struct scene *scene = *state;
    struct shop_settings set = {"Europe/Vienna", UNITS_US, 45, 22 * 60, 7 * 60, 17 * 60, 21 * 60, MORNING_NONE};
    TELL(scene, shop_set_settings(scene->shop, &scene->write, &set, &scene->error));
    assert_string_equal(shop_settings_now(scene->shop)->zone, "Europe/Vienna");
    assert_int_equal(shop_settings_now(scene->shop)->lead_closing_min, 45);
}

static void settings_out_of_bounds_are_refused(void **state)
{
    struct scene *scene = *state;
    const struct shop_settings good = *shop_settings_now(scene->shop);
    static const char *const zones[] = {"", "../etc/passwd", "/UTC", "UTC/", "Europe Vienna", "a//b"};
    for (size_t i = 0; i < sizeof zones / sizeof *zones; i++) {
        struct shop_settings bad = good;
        strcpy(bad.zone, zones[i]);
        REFUSE(scene, COAT_BAD_VALUE, "zone", shop_set_settings(scene->shop, &scene->write, &bad, &scene->error));
    }
    struct shop_settings bad = good;
    memset(bad.zone, 'a', sizeof bad.zone);
    REFUSE(scene, COAT_BAD_VALUE, "zone", shop_set_settings(scene->shop, &scene->write, &bad, &scene->error));
    bad = good;
    bad.lead_closing_min = 1441;
    REFUSE(scene, COAT_BAD_VALUE, "lead_closing_min", shop_set_settings(scene->shop, &scene->write, &bad, &scene->error));
    bad = good;
    bad.quiet_from_min = 1440;
    REFUSE(scene, COAT_BAD_VALUE, "quiet_from", shop_set_settings(scene->shop, &scene->write, &bad, &scene->error));
    bad = good;
    bad.work_to_min = -1;
    REFUSE(scene, COAT_BAD_VALUE, "work_to", shop_set_settings(scene->shop, &scene->write, &bad, &scene->error));
}

static void a_name_is_tidied_and_taken_once(void **state)
{
    struct scene *scene = *state;
    int64_t id = told_place(scene, a_place("  drying cabinet \n"));
    assert_string_equal(shop_place(scene->shop, id)->name, "drying cabinet");
    struct place again = a_place("Drying CABINET");
    REFUSE(scene, COAT_CONFLICT, "name", shop_put_place(scene->shop, &scene->write, &again, &id, &scene->error));
    told_place(scene, a_place("Küche"));
    again = a_place("KÜCHE");
    REFUSE(scene, COAT_CONFLICT, "name", shop_put_place(scene->shop, &scene->write, &again, &id, &scene->error));
}

static void names_that_are_no_names_are_refused(void **state)
{
    struct scene *scene = *state;
    int64_t id = 0;
    static const char *const names[] = {"", "   ", "a\tb", "a\x7f", "\xc2\x85line", "\xff", "\xc0\xaf", "\xe2\x82", "\xed\xa0\x80"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        struct place bad = a_place(names[i]);
        REFUSE(scene, COAT_BAD_VALUE, "name", shop_put_place(scene->shop, &scene->write, &bad, &id, &scene->error));
    }
    struct place bad = a_place("");
    memset(bad.name, 'x', sizeof bad.name);
    REFUSE(scene, COAT_BAD_VALUE, "name", shop_put_place(scene->shop, &scene->write, &bad, &id, &scene->error));
    assert_int_equal(id, 0);
}

static void rooms_have_believable_sizes(void **state)
{
    struct scene *scene = *state;
    int64_t id = 0;
    struct place bad = a_place("attic");
    bad.volume_m3 = 0.0;
    REFUSE(scene, COAT_BAD_VALUE, "volume_m3", shop_put_place(scene->shop, &scene->write, &bad, &id, &scene->error));
    bad.volume_m3 = (double)INFINITY;
    REFUSE(scene, COAT_BAD_VALUE, "volume_m3", shop_put_place(scene->shop, &scene->write, &bad, &id, &scene->error));
    bad.volume_m3 = 30.0;
    bad.airflow_m3h = -1.0;
    REFUSE(scene, COAT_BAD_VALUE, "airflow_m3h", shop_put_place(scene->shop, &scene->write, &bad, &id, &scene->error));
    bad.airflow_m3h = 0.0;
    bad.kind = (enum place_kind)77;
    REFUSE(scene, COAT_BAD_VALUE, "kind", shop_put_place(scene->shop, &scene->write, &bad, &id, &scene->error));
    bad.kind = PLACE_BOOTH;
    bad.risk[RISK_PILOT] = (enum answer)9;
    REFUSE(scene, COAT_BAD_VALUE, "risks", shop_put_place(scene->shop, &scene->write, &bad, &id, &scene->error));
}

static void a_place_is_changed_and_keeps_its_beginning(void **state)
{
    struct scene *scene = *state;
    struct place wanted = *shop_place(scene->shop, scene->cellar);
    int64_t id = 0, added_at = wanted.added_at;
    wanted.risk[RISK_BELOW_GROUND] = ANSWER_YES;
    wanted.added_at = wanted.removed_at = 1;
    TELL(scene, shop_put_place(scene->shop, &scene->write, &wanted, &id, &scene->error));
    assert_int_equal(id, scene->cellar);
    assert_int_equal(shop_place(scene->shop, id)->risk[RISK_BELOW_GROUND], ANSWER_YES);
    assert_int_equal(shop_place(scene->shop, id)->added_at, added_at);
    assert_int_equal(shop_place(scene->shop, id)->removed_at, MOMENT_NONE);
    wanted.id = 4711;
    REFUSE(scene, COAT_NOT_FOUND, "place", shop_put_place(scene->shop, &scene->write, &wanted, &id, &scene->error));
}

static void a_place_in_which_pieces_hang_stays(void **state)
{
    struct scene *scene = *state;
    REFUSE(scene, COAT_CONFLICT, "place", shop_remove_place(scene->shop, &scene->write, scene->garage, &scene->error));
    assert_non_null(strstr(scene->error.text, "mill body, fly wheel"));
    TELL(scene, shop_remove_place(scene->shop, &scene->write, scene->cellar, &scene->error));
    assert_int_equal(shop_place(scene->shop, scene->cellar)->removed_at, NOW);
    REFUSE(scene, COAT_NOT_FOUND, "place", shop_remove_place(scene->shop, &scene->write, scene->cellar, &scene->error));
    told_place(scene, a_place("cellar")); /* its name is free again */
}

static void many_pieces_are_named_as_far_as_they_fit(void **state)
{
    struct scene *scene = *state;
    for (int i = 0; i < 20; i++) {
        char name[NAME_SIZE];
        snprintf(name, sizeof name, "scale platform with a long name, number %d", i);
        told_piece(scene, a_piece(name), scene->cellar);
    }
    REFUSE(scene, COAT_CONFLICT, "place", shop_remove_place(scene->shop, &scene->write, scene->cellar, &scene->error));
    assert_non_null(strstr(scene->error.text, "number 0"));
    assert_non_null(strstr(scene->error.text, ", …. Move"));
}

static void racks_hold_pieces_that_are_there(void **state)
{
    struct scene *scene = *state;
    struct rack rack = {.name = "mill No. 3", .pieces = 2, .piece_id = {scene->body, scene->wheel}};
    int64_t id = 0;
    TELL(scene, shop_put_rack(scene->shop, &scene->write, &rack, &id, &scene->error));
    assert_int_equal(shop_rack(scene->shop, id)->pieces, 2);
    rack.id = id;
    rack.pieces = 1;
    TELL(scene, shop_put_rack(scene->shop, &scene->write, &rack, &id, &scene->error));
    assert_int_equal(shop_rack(scene->shop, id)->pieces, 1);
    rack.pieces = 0;
    REFUSE(scene, COAT_BAD_VALUE, "pieces", shop_put_rack(scene->shop, &scene->write, &rack, &id, &scene->error));
    rack.pieces = 2;
    rack.piece_id[1] = scene->body;
    REFUSE(scene, COAT_BAD_VALUE, "pieces", shop_put_rack(scene->shop, &scene->write, &rack, &id, &scene->error));
    rack.piece_id[1] = 4711;
    REFUSE(scene, COAT_NOT_FOUND, "pieces", shop_put_rack(scene->shop, &scene->write, &rack, &id, &scene->error));
    TELL(scene, shop_remove_rack(scene->shop, &scene->write, id, &scene->error));
    REFUSE(scene, COAT_NOT_FOUND, "rack", shop_remove_rack(scene->shop, &scene->write, id, &scene->error));
}

static void a_rack_and_a_piece_share_no_name(void **state)
{
    struct scene *scene = *state;
    struct rack rack = {.name = "Mill Body", .pieces = 1, .piece_id = {scene->body}};
    int64_t id = 0;
    REFUSE(scene, COAT_CONFLICT, "name", shop_put_rack(scene->shop, &scene->write, &rack, &id, &scene->error));
    strcpy(rack.name, "12");
    REFUSE(scene, COAT_BAD_VALUE, "name", shop_put_rack(scene->shop, &scene->write, &rack, &id, &scene->error));
    strcpy(rack.name, "mill");
    TELL(scene, shop_put_rack(scene->shop, &scene->write, &rack, &id, &scene->error));
    struct piece piece = a_piece("MILL");
    REFUSE(scene, COAT_CONFLICT, "name", shop_put_piece(scene->shop, &scene->write, &piece, 0, &id, &scene->error));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        SCENE_TEST(settings_are_kept),
        SCENE_TEST(settings_out_of_bounds_are_refused),
        SCENE_TEST(a_name_is_tidied_and_taken_once),
        SCENE_TEST(names_that_are_no_names_are_refused),
        SCENE_TEST(rooms_have_believable_sizes),
        SCENE_TEST(a_place_is_changed_and_keeps_its_beginning),
        SCENE_TEST(a_place_in_which_pieces_hang_stays),
        SCENE_TEST(many_pieces_are_named_as_far_as_they_fit),
        SCENE_TEST(racks_hold_pieces_that_are_there),
        SCENE_TEST(a_rack_and_a_piece_share_no_name),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
