/* What is told, to whom, when: in groups, not in quiet hours, before it is too late, and over channels until it was delivered. NOW is 14:13:20 UTC. */
#include "tests/shop/write_scene.h"

#define MIN MS_PER_MIN

static struct scene *scene_of(void **state)
{
    return *state;
}

/* ---- what happens ---- */

/* Air of each quarter of an hour, so that nothing is ever assumed. */
static void air_to(struct scene *scene, int64_t to_ms, double temp_c, double rh_pct)
{
    struct reading readings[800];
    size_t count = 0;
    for (int64_t at = scene->write.now_ms; at <= to_ms && count < 800; at += 15 * MIN)
        readings[count++] = (struct reading){at, (int32_t)lround(temp_c * 1000), (int32_t)lround(rh_pct * 1000), READING_HOLD_BY_HAND_S};
    scene->write.now_ms = to_ms;
    TELL(scene, shop_enter_air(scene->shop, &scene->write, scene->garage, readings, count, &scene->error));
}

static void turn(struct scene *scene)
{
    int64_t next;
    assert_int_equal(shop_turn(scene->shop, scene->write.now_ms, &next, &scene->error), COAT_OK);
    assert_true(next == MOMENT_NONE || next > scene->write.now_ms);
}

/* Each quarter of an hour comes when it does, with a turn of the shop whenever something is due. */
static void go_to(struct scene *scene, double hours, double temp_c, double rh_pct)
{
    int64_t to = NOW + (int64_t)llround(hours * (double)MS_PER_H);
    while (scene->write.now_ms < to) {
        int64_t step = scene->write.now_ms + 15 * MIN < to ? scene->write.now_ms + 15 * MIN : to;
        for (int64_t due = shop_next_due(scene->shop); due != MOMENT_NONE && due < step; due = shop_next_due(scene->shop)) {
            scene->write.now_ms = due > scene->write.now_ms ? due : scene->write.now_ms;
            turn(scene);
        }
        air_to(scene, step, temp_c, rh_pct);
        turn(scene);
    }
}

static void set(struct scene *scene, int32_t lead_min, int32_t quiet_from, int32_t quiet_to, int32_t morning)
{
    struct shop_settings settings = *shop_settings_now(scene->shop);
    settings.lead_closing_min = lead_min;
    settings.quiet_from_min = quiet_from;
    settings.quiet_to_min = quiet_to;
    settings.morning_min = morning;
    TELL(scene, shop_set_settings(scene->shop, &scene->write, &settings, &scene->error));
}

/* ---- what is told ---- */

/* The newest group of a kind; false where there is none. */
static bool newest(struct scene *scene, enum notice_kind kind, struct notice_view *ret)
{
    size_t count;
    const struct notice *notices = shop_notices(scene->shop, &count);
    for (size_t i = count; i-- > 0;)
        if (notices[i].kind == kind && notices[i].group_id == notices[i].id)
            return shop_notice_view(scene->shop, notices[i].id, scene->write.now_ms, ret);
    return false;
}

static unsigned groups(struct scene *scene, enum notice_kind kind, enum stage stage)
{
    size_t count;
    unsigned found = 0;
    const struct notice *notices = shop_notices(scene->shop, &count);
    for (size_t i = 0; i < count; i++)
        found += notices[i].kind == kind && notices[i].group_id == notices[i].id && notices[i].stage == stage && notices[i].coat_id != 0;
    return found;
}

static bool newest_of(struct scene *scene, enum notice_kind kind, enum stage stage, struct notice_view *ret)
{
    size_t count;
    const struct notice *notices = shop_notices(scene->shop, &count);
    for (size_t i = count; i-- > 0;)
        if (notices[i].kind == kind && notices[i].stage == stage && notices[i].group_id == notices[i].id)
            return shop_notice_view(scene->shop, notices[i].id, scene->write.now_ms, ret);
    return false;
}

static double hour_of(int64_t at)
{
    return (double)(at - NOW) / (double)MS_PER_H;
}

/* ---- groups ---- */

static void six_parts_sprayed_together_give_one_notice(void **state)
{
    struct scene *scene = scene_of(state);
    struct notice_view view;
    int64_t piece[6], ids[6];
    struct coat coat = a_coat(scene);
    coat.material_version_id = builtin_version(scene->shop, CLASS_ALKYD_PRIMER);
    air_to(scene, NOW, 23, 50);
    for (int i = 0; i < 6; i++) {
        char name[NAME_SIZE];
        snprintf(name, sizeof name, "drawer %c", 'A' + i);
        piece[i] = told_piece(scene, a_piece(name), scene->garage);
    }
    coat.first_at = coat.last_at = NOW;
    TELL(scene, shop_log_coats(scene->shop, &scene->write, &coat, piece, 6, 0, NULL, ids, &scene->error));
    go_to(scene, 30, 23, 50);
    assert_int_equal(groups(scene, NOTICE_OPENS, STAGE_RECOAT), 1);
    assert_true(newest_of(scene, NOTICE_OPENS, STAGE_RECOAT, &view));
    assert_int_equal(view.members, 6);
    assert_int_equal(view.told_at, view.head->raised_at);
    assert_non_null(strstr(view.subject, "6 pieces (drawer A, drawer B, drawer C, drawer D, drawer E, drawer F), recoat"));
    assert_non_null(strstr(view.text, "The label comes first"));
    TELL(scene, shop_acknowledge(scene->shop, &scene->write, view.member_id[3], &scene->error)); /* any of them is all of them */
    size_t count;
    const struct notice *notices = shop_notices(scene->shop, &count);
    for (size_t i = 0; i < count; i++)
        if (notices[i].kind == NOTICE_OPENS && notices[i].stage == STAGE_RECOAT)
            assert_int_equal(notices[i].acknowledged_at, scene->write.now_ms);
}

/* Names may be long, have full stops, and letters of several bytes: the short line still says what is to be done, in whole letters. */
static void the_short_line_says_what_is_to_be_done_whatever_the_names(void **state)
{
    struct scene *scene = scene_of(state);
    struct notice_view view;
    int64_t piece[6], ids[6];
    struct coat coat = a_coat(scene);
    coat.material_version_id = builtin_version(scene->shop, CLASS_ALKYD_PRIMER);
    coat.application = APPLY_SPRAY;
    coat.first_at = coat.last_at = NOW;
    int64_t shed = told_place(scene, a_place("Shed No. 2, \xC3\x9C\xC3\x9C\xC3\x9C\xC3\x9C\xC3\x9C\xC3\x9C\xC3\x9C\xC3\x9C\xC3\x9C\xC3\x9C\xC3\x9C\xC3\x9C\xC3\x9C\xC3\x9C\xC3\x9C\xC3\x9C\xC3\x9C\xC3\x9C\xC3\x9C\xC3\x9C\xC3\x9C\xC3\x9C\xC3\x9C\xC3\x9C"));
    for (int i = 0; i < 6; i++) {
        char name[NAME_SIZE];
        snprintf(name, sizeof name, "No. %d, %054d", i, 0);
        piece[i] = told_piece(scene, a_piece(name), scene->garage);
    }
    air_to(scene, NOW, 23, 50);
    told_coat(scene, coat, told_piece(scene, a_piece("lid"), shed));
    put_on(scene, CLASS_ALKYD_ENAMEL, told_piece(scene, a_piece("Mill No. 3"), scene->garage));
    TELL(scene, shop_log_coats(scene->shop, &scene->write, &coat, piece, 6, 0, NULL, ids, &scene->error));
    go_to(scene, 40, 23, 50);
    size_t count;
    unsigned of_shed = 0, of_six = 0, of_mill = 0;
    const struct notice *notices = shop_notices(scene->shop, &count);
    for (size_t i = 0; i < count; i++) {
        assert_true(shop_notice_view(scene->shop, notices[i].id, scene->write.now_ms, &view));
        of_shed += strstr(view.subject, "\xC3\x9C\xC3\x9C: before you leave the shop") != NULL;
        of_six += strncmp(view.subject, "6 pieces, recoat: may be done now", 33) == 0 && strstr(view.text, "6 pieces (No. 0, 000") != NULL;
        of_mill += strncmp(view.subject, "Mill No. 3, recoat: may be done now", 35) == 0;
        assert_string_not_equal(view.subject, "Mill No");
    }
    assert_int_equal(of_shed, 1);
    assert_int_equal(of_six, 6); /* by the number of each */
    assert_int_equal(of_mill, 1);
}

static void pieces_done_minutes_apart_wait_for_one_another(void **state)
{
    struct scene *scene = scene_of(state);
    struct notice_view view;
    air_to(scene, NOW, 23, 50);
    put_on(scene, CLASS_ALKYD_PRIMER, scene->body);
    scene->write.now_ms += 6 * MIN;
    put_on(scene, CLASS_ALKYD_PRIMER, scene->wheel);
    go_to(scene, 16.05, 23, 50);
    assert_true(newest_of(scene, NOTICE_OPENS, STAGE_RECOAT, &view)); /* open, and the other comes in minutes */
    assert_int_equal(view.members, 1);
    assert_int_equal(view.told_at, MOMENT_NONE);
    go_to(scene, 17, 23, 50);
    assert_int_equal(groups(scene, NOTICE_OPENS, STAGE_RECOAT), 1);
    assert_true(newest_of(scene, NOTICE_OPENS, STAGE_RECOAT, &view));
    assert_int_equal(view.members, 2);
    assert_true(view.told_at >= view.due_at); /* never before the last of them is open */
    assert_true(view.told_at - view.head->raised_at <= 10 * MIN);
}

static void pieces_done_an_hour_apart_are_told_apart(void **state)
{
    struct scene *scene = scene_of(state);
    air_to(scene, NOW, 23, 50);
    put_on(scene, CLASS_ALKYD_PRIMER, scene->body);
    go_to(scene, 1, 23, 50);
    put_on(scene, CLASS_ALKYD_PRIMER, scene->wheel);
    go_to(scene, 20, 23, 50);
    assert_int_equal(groups(scene, NOTICE_OPENS, STAGE_RECOAT), 2);
}

static void other_materials_are_told_apart(void **state)
{
    struct scene *scene = scene_of(state);
    air_to(scene, NOW, 23, 50);
    put_on(scene, CLASS_ALKYD_PRIMER, scene->body);
    put_on(scene, CLASS_ALKYD_ENAMEL, scene->wheel);
    go_to(scene, 40, 23, 50);
    assert_int_equal(groups(scene, NOTICE_OPENS, STAGE_RECOAT), 2);
}

/* One of a group that is stripped is left out; the group is over when all of it is. */
static void a_group_is_over_when_all_of_it_is(void **state)
{
    struct scene *scene = scene_of(state);
    struct notice_view view;
    air_to(scene, NOW, 23, 50);
    int64_t first = put_on(scene, CLASS_ALKYD_PRIMER, scene->body);
    int64_t second = put_on(scene, CLASS_ALKYD_PRIMER, scene->wheel);
    go_to(scene, 17, 23, 50);
    assert_true(newest_of(scene, NOTICE_OPENS, STAGE_RECOAT, &view));
    assert_int_equal(view.members, 2);
    TELL(scene, shop_strike_coat(scene->shop, &scene->write, first, "entered twice", &scene->error));
    assert_true(newest_of(scene, NOTICE_OPENS, STAGE_RECOAT, &view));
    assert_int_equal(view.members, 1);
    assert_int_equal(view.withdrawn_at, MOMENT_NONE);
    assert_true(shop_notice_is_pending(scene->shop, view.head));
    assert_non_null(strstr(view.subject, "fly wheel, recoat"));
    TELL(scene, shop_strike_coat(scene->shop, &scene->write, second, "entered twice", &scene->error));
    assert_true(newest_of(scene, NOTICE_OPENS, STAGE_RECOAT, &view));
    assert_int_equal(view.withdrawn_at, scene->write.now_ms);
    assert_false(shop_notice_is_pending(scene->shop, view.head));
}

/* ---- quiet hours ---- */

/* A primer of NOW opens 16 h later, 06:13; quiet hours end at 07:00, 16.778 h after NOW. */
static void what_opens_in_the_night_is_told_in_the_morning(void **state)
{
    struct scene *scene = scene_of(state);
    struct notice_view view;
    set(scene, 60, 22 * 60, 7 * 60, MORNING_NONE);
    air_to(scene, NOW, 23, 50);
    put_on(scene, CLASS_ALKYD_PRIMER, scene->body);
    go_to(scene, 16.5, 23, 50);
    assert_true(newest_of(scene, NOTICE_OPENS, STAGE_RECOAT, &view));
    assert_int_equal(view.told_at, MOMENT_NONE);
    assert_true(shop_notice_is_pending(scene->shop, view.head)); /* the page has it */
    go_to(scene, 17, 23, 50);
    assert_true(newest_of(scene, NOTICE_OPENS, STAGE_RECOAT, &view));
    assert_int_equal(view.told_at, NOW - NOW % MS_PER_DAY + MS_PER_DAY + 7 * MS_PER_H);
}

/* The same on the clocks of a place two hours east: there it is quiet until 05:00 UTC, and the opening is told when it comes. */
static int64_t two_hours_east(const char *zone, int64_t at_ms)
{
    (void)zone, (void)at_ms;
    return 2 * MS_PER_H;
}

static void quiet_hours_are_those_of_the_shops_zone(void **state)
{
    struct scene *scene = scene_of(state);
    struct notice_view view;
    shop_use_zone(scene->shop, two_hours_east);
    set(scene, 60, 22 * 60, 7 * 60, MORNING_NONE);
    air_to(scene, NOW, 23, 50);
    put_on(scene, CLASS_ALKYD_PRIMER, scene->body);
    go_to(scene, 16.5, 23, 50);
    assert_true(newest_of(scene, NOTICE_OPENS, STAGE_RECOAT, &view));
    assert_int_equal(view.told_at, view.head->raised_at);
}

/* An epoxy primer is open from 5 h to 8 h after it: 19:13 to 22:13. Quiet from 21:00: it is told at 20:00, an hour before that, not at 21:13. */
static void a_closing_in_the_night_is_told_in_the_evening(void **state)
{
    struct scene *scene = scene_of(state);
    struct notice_view view;
    set(scene, 60, 21 * 60, 7 * 60, MORNING_NONE);
    air_to(scene, NOW, 23.9, 50);
    put_on(scene, CLASS_EPOXY_PRIMER, scene->body);
    go_to(scene, 5.7, 23.9, 50);
    assert_false(newest_of(scene, NOTICE_CLOSING, STAGE_RECOAT, &view));
    go_to(scene, 6, 23.9, 50);
    assert_true(newest_of(scene, NOTICE_CLOSING, STAGE_RECOAT, &view));
    assert_int_equal(view.told_at, NOW - NOW % MS_PER_DAY + 20 * MS_PER_H);
    assert_non_null(strstr(view.text, "about to close, at 22:"));
    go_to(scene, 17, 23.9, 50);
    assert_true(newest_of(scene, NOTICE_CLOSING, STAGE_RECOAT, &view)); /* once; over since */
    assert_int_equal(groups(scene, NOTICE_CLOSING, STAGE_RECOAT), 1);
    assert_true(view.withdrawn_at != MOMENT_NONE);
}

/* Open from 19:13 to 22:13, quiet from 18:00: nobody may be called while it is open, so it is told at 17:00 that it will be. */
static void a_window_within_quiet_hours_is_told_before_they_begin(void **state)
{
    struct scene *scene = scene_of(state);
    struct notice_view view;
    set(scene, 60, 18 * 60, 7 * 60, MORNING_NONE);
    air_to(scene, NOW, 23.9, 50);
    put_on(scene, CLASS_EPOXY_PRIMER, scene->body);
    go_to(scene, 3, 23.9, 50);
    assert_true(newest_of(scene, NOTICE_CLOSING, STAGE_RECOAT, &view));
    assert_int_equal(view.told_at, NOW - NOW % MS_PER_DAY + 17 * MS_PER_H);
    assert_non_null(strstr(view.text, "not before 19:1"));
    assert_non_null(strstr(view.text, "closes in them at 2"));
}

/* At 21 C it is shut for an hour after the label's hours, 19:13, are over. Told in that hour, at 19:30, it is not said to be open. */
static void a_window_within_quiet_hours_is_not_told_as_open_before_it_is(void **state)
{
    struct scene *scene = scene_of(state);
    struct notice_view view;
    set(scene, 60, 20 * 60 + 30, 7 * 60, MORNING_NONE);
    air_to(scene, NOW, 21, 50);
    put_on(scene, CLASS_EPOXY_PRIMER, scene->body);
    go_to(scene, 5.5, 21, 50);
    assert_false(newest_of(scene, NOTICE_OPENS, STAGE_RECOAT, &view));
    assert_true(newest_of(scene, NOTICE_CLOSING, STAGE_RECOAT, &view));
    assert_int_equal(view.told_at, NOW - NOW % MS_PER_DAY + 19 * MS_PER_H + 30 * MS_PER_MIN);
    assert_null(strstr(view.text, "do it now"));
    assert_non_null(strstr(view.text, "not open yet; may open in the quiet hours, and closes in them at 21:"));
}

/* What is no longer so in the morning is not told then. */
static void what_is_over_by_the_morning_is_told_no_more(void **state)
{
    struct scene *scene = scene_of(state);
    struct notice_view view;
    set(scene, 60, 18 * 60, 7 * 60, MORNING_NONE);
    air_to(scene, NOW, 23.9, 50);
    put_on(scene, CLASS_EPOXY_PRIMER, scene->body);
    go_to(scene, 18, 23.9, 50);
    assert_true(newest_of(scene, NOTICE_OPENS, STAGE_RECOAT, &view));
    assert_int_equal(view.told_at, MOMENT_NONE);
    assert_true(view.withdrawn_at != MOMENT_NONE);
    assert_true(newest_of(scene, NOTICE_PREPARE, STAGE_RECOAT, &view));
    assert_true(view.told_at != MOMENT_NONE);
}

/* ---- leads ---- */

static void a_material_may_have_a_lead_of_its_own(void **state)
{
    struct scene *scene = scene_of(state);
    struct notice_view view;
    int64_t material = shop_material_version(scene->shop, builtin_version(scene->shop, CLASS_EPOXY_PRIMER))->material_id;
    air_to(scene, NOW, 23.9, 50);
    put_on(scene, CLASS_EPOXY_PRIMER, scene->body);
    TELL(scene, shop_set_material_lead(scene->shop, &scene->write, material, 120, &scene->error));
    assert_int_equal(shop_material_lead_min(scene->shop, material), 120);
    go_to(scene, 5.5, 23.9, 50);
    assert_false(newest_of(scene, NOTICE_CLOSING, STAGE_RECOAT, &view));
    go_to(scene, 6.3, 23.9, 50);
    assert_true(newest_of(scene, NOTICE_CLOSING, STAGE_RECOAT, &view));
    assert_true(hour_of(view.told_at) > 5.75 && hour_of(view.told_at) <= 6); /* two hours before 8 h, or before what warmer air could make of them */
    TELL(scene, shop_set_material_lead(scene->shop, &scene->write, material, -1, &scene->error));
    assert_int_equal(shop_material_lead_min(scene->shop, material), -1);
    assert_true(newest_of(scene, NOTICE_CLOSING, STAGE_RECOAT, &view));
    assert_true(view.withdrawn_at != MOMENT_NONE); /* an hour's lead: not yet */
    REFUSE(scene, COAT_BAD_VALUE, "lead_closing_min", shop_set_material_lead(scene->shop, &scene->write, material, 2881, &scene->error));
    REFUSE(scene, COAT_NOT_FOUND, "material", shop_set_material_lead(scene->shop, &scene->write, 9999, 60, &scene->error));
}

/* Told an hour before its end; then the heater is put on, and it ends a good deal sooner. Who was told is told again, also who has put it aside. */
static void a_closing_that_comes_sooner_than_was_told_is_told_again(void **state)
{
    struct scene *scene = scene_of(state);
    struct notice_view first, second;
    set(scene, 120, 0, 0, MORNING_NONE);
    air_to(scene, NOW, 23.9, 50);
    int64_t coat = put_on(scene, CLASS_EPOXY_PRIMER, scene->body);
    go_to(scene, 6, 23.9, 50);
    assert_true(newest_of(scene, NOTICE_CLOSING, STAGE_RECOAT, &first));
    TELL(scene, shop_acknowledge(scene->shop, &scene->write, first.head->id, &scene->error));
    go_to(scene, 6.25, 34, 50);
    struct stage_view recoat = stage_of(scene, coat, STAGE_RECOAT);
    int64_t closes = recoat.span[recoat.current].until.likely_at;
    assert_in_range(closes, scene->write.now_ms + MIN, first.due_at - 31 * MIN);
    assert_true(newest_of(scene, NOTICE_CLOSING, STAGE_RECOAT, &second));
    assert_true(second.head->id > first.head->id);
    assert_true(second.told_at > first.told_at);
    assert_in_range(second.due_at, closes - 30 * MIN, closes + 30 * MIN);
    assert_true(shop_notice_view(scene->shop, first.head->id, scene->write.now_ms, &first));
    assert_true(first.withdrawn_at != MOMENT_NONE);
}

/* Minutes are no reason to call anybody twice. */
static void a_closing_that_moves_by_minutes_is_told_once(void **state)
{
    struct scene *scene = scene_of(state);
    air_to(scene, NOW, 20, 50);
    put_on(scene, CLASS_EPOXY_PRIMER, scene->body);
    for (double hours = 1; hours <= 10; hours += 1)
        go_to(scene, hours, 20 + hours / 5, 50);
    assert_int_equal(groups(scene, NOTICE_CLOSING, STAGE_RECOAT), 1);
}

/* ---- the air ---- */

static void a_coat_that_stands_still_is_told_once_and_taken_back_when_it_moves(void **state)
{
    struct scene *scene = scene_of(state);
    struct notice_view view;
    air_to(scene, NOW, 20, 50);
    put_on(scene, CLASS_EPOXY_PRIMER, scene->body);
    put_on(scene, CLASS_EPOXY_PRIMER, scene->wheel);
    go_to(scene, 0.5, 20, 50);
    go_to(scene, 1.2, 8, 50);
    assert_false(newest(scene, NOTICE_STALLED, &view)); /* below 15 C, but not for an hour */
    go_to(scene, 3, 8, 50);
    assert_true(newest(scene, NOTICE_STALLED, &view));
    assert_int_equal(view.members, 2);
    assert_non_null(strstr(view.text, "too cold, it does not cure below 15"));
    assert_int_equal(view.withdrawn_at, MOMENT_NONE);
    go_to(scene, 4, 20, 50);
    assert_true(newest(scene, NOTICE_STALLED, &view));
    assert_true(view.withdrawn_at != MOMENT_NONE);
    go_to(scene, 6, 8, 50);
    assert_true(newest(scene, NOTICE_STALLED, &view)); /* again */
    assert_int_equal(view.withdrawn_at, MOMENT_NONE);
    assert_int_equal(view.head->turn, 2);
}

static void turn_whatever_is_due_to(struct scene *scene, double hours)
{
    int64_t to = NOW + (int64_t)llround(hours * (double)MS_PER_H);
    for (int64_t due = shop_next_due(scene->shop); due != MOMENT_NONE && due <= to; due = shop_next_due(scene->shop)) {
        scene->write.now_ms = due;
        turn(scene);
    }
}

/* The air was too cold for long when the coat came into it: it counts from then, also where no reading comes. */
static void a_coat_put_on_or_carried_into_cold_air_stands_still_from_then(void **state)
{
    struct scene *scene = scene_of(state);
    struct notice_view view;
    struct reading cold[] = {{NOW - 3 * MS_PER_H, 8000, 50000, READING_HOLD_BY_HAND_S}, {NOW - 90 * MIN, 8000, 50000, READING_HOLD_BY_HAND_S}, {NOW, 8000, 50000, READING_HOLD_BY_HAND_S}};
    struct reading warm = {NOW, 20000, 50000, READING_HOLD_BY_HAND_S};
    TELL(scene, shop_enter_air(scene->shop, &scene->write, scene->garage, cold, 3, &scene->error));
    TELL(scene, shop_enter_air(scene->shop, &scene->write, scene->cellar, &warm, 1, &scene->error));
    TELL(scene, shop_move_piece(scene->shop, &scene->write, scene->wheel, scene->cellar, NOW, &(int64_t){0}, &scene->error));
    put_on(scene, CLASS_EPOXY_PRIMER, scene->body);
    int64_t wheel = put_on(scene, CLASS_EPOXY_PRIMER, scene->wheel);
    turn_whatever_is_due_to(scene, 1);
    assert_true(newest(scene, NOTICE_STALLED, &view));
    assert_int_equal(view.due_at, NOW + MS_PER_H);
    assert_int_equal(view.head->raised_at, NOW + MS_PER_H);
    scene->write.now_ms = NOW + MS_PER_H;
    TELL(scene, shop_move_piece(scene->shop, &scene->write, scene->wheel, scene->garage, scene->write.now_ms, &(int64_t){0}, &scene->error));
    turn_whatever_is_due_to(scene, 2);
    assert_true(newest(scene, NOTICE_STALLED, &view));
    assert_int_equal(view.head->coat_id, wheel);
    assert_int_equal(view.due_at, NOW + 2 * MS_PER_H);
    assert_int_equal(view.head->raised_at, NOW + 2 * MS_PER_H);
}

static void air_that_left_its_limits_before_the_guard_asks_for_a_look(void **state)
{
    struct scene *scene = scene_of(state);
    struct notice_view view;
    air_to(scene, NOW, 20, 50);
    int64_t coat = put_on(scene, CLASS_ALKYD_ENAMEL, scene->body);
    go_to(scene, 1, 20, 96); /* damper than it may be */
    go_to(scene, 60, 20, 50);
    struct coat_view stands;
    assert_true(shop_coat_view(scene->shop, coat, scene->write.now_ms, &stands));
    assert_int_equal(stands.inspect, INSPECT_AIR);
    assert_true(newest(scene, NOTICE_INSPECT, &view));
    assert_int_equal(view.head->coat_id, coat);
    assert_int_equal(view.withdrawn_at, MOMENT_NONE);
}

/* With the reading that shows it, not when something else is due. */
static void that_a_coat_must_be_looked_at_is_told_with_the_reading_that_shows_it(void **state)
{
    struct scene *scene = scene_of(state);
    struct notice_view view;
    air_to(scene, NOW, 20, 50);
    put_on(scene, CLASS_EPOXY_PRIMER, scene->body);
    air_to(scene, NOW + 10 * MIN, 20, 50);
    turn(scene);
    assert_false(newest(scene, NOTICE_INSPECT, &view));
    air_to(scene, NOW + 20 * MIN, 20, 96);
    turn(scene);
    assert_true(newest(scene, NOTICE_INSPECT, &view));
    assert_int_equal(view.head->raised_at, NOW + 20 * MIN);
    assert_non_null(strstr(view.text, "the air left its limits while it was soft; look at it before going on"));
}

/* The garage warms in the morning, damp, and the casting after it: the dew point of 16 C and 84 % is 13.3 C (npm psychrolib). */
static void a_casting_that_sweats_in_warming_air_is_told_of(void **state)
{
    struct scene *scene = scene_of(state);
    struct notice_view view;
    air_to(scene, NOW, 10, 60);
    put_on(scene, CLASS_ALKYD_ENAMEL, scene->body);
    turn(scene);
    assert_false(newest(scene, NOTICE_INSPECT, &view));
    air_to(scene, NOW + 15 * MIN, 12, 80);
    air_to(scene, NOW + 30 * MIN, 16, 84);
    turn(scene);
    assert_true(newest(scene, NOTICE_INSPECT, &view));
    assert_non_null(strstr(view.text, "the casting may have been below the dew point while it was soft"));
}

/* ---- leaving, and the morning ---- */

static int64_t spray(struct scene *scene, int64_t piece_id)
{
    struct coat coat = a_coat(scene);
    coat.application = APPLY_SPRAY;
    coat.first_at = coat.last_at = scene->write.now_ms;
    return told_coat(scene, coat, piece_id);
}

static void after_spraying_one_word_before_leaving(void **state)
{
    struct scene *scene = scene_of(state);
    struct notice_view view, again;
    set(scene, 60, 12 * 60, 20 * 60, MORNING_NONE); /* quiet now: people come first */
    spray(scene, scene->body);
    assert_true(newest(scene, NOTICE_LEAVING, &view));
    assert_true(view.safety);
    assert_int_equal(view.told_at, NOW);
    assert_non_null(strstr(view.text, "rags under water"));
    assert_non_null(strstr(view.text, "garage: before you leave the shop"));
    scene->write.now_ms += 40 * MIN;
    spray(scene, scene->wheel);
    assert_true(newest(scene, NOTICE_LEAVING, &again));
    assert_int_equal(again.head->id, view.head->id); /* one for the evening */
    TELL(scene, shop_acknowledge(scene->shop, &scene->write, view.head->id, &scene->error));
    scene->write.now_ms += 40 * MIN;
    spray(scene, scene->body);
    assert_true(newest(scene, NOTICE_LEAVING, &again));
    assert_true(again.head->id > view.head->id); /* back again, and again to be left */
}

static void a_coat_of_last_week_asks_nobody_to_leave(void **state)
{
    struct scene *scene = scene_of(state);
    struct notice_view view;
    struct coat coat = a_coat(scene);
    coat.application = APPLY_SPRAY;
    coat.first_at = coat.last_at = NOW - 30 * MS_PER_MIN;
    scene->write.now_ms = NOW + 13 * MS_PER_H;
    told_coat(scene, coat, scene->body);
    assert_false(newest(scene, NOTICE_LEAVING, &view));
}

static void brushing_a_material_that_does_not_heat_itself_leaves_nothing_to_say(void **state)
{
    struct scene *scene = scene_of(state);
    struct notice_view view;
    put_on(scene, CLASS_SHELLAC, scene->body);
    assert_false(newest(scene, NOTICE_LEAVING, &view));
    put_on(scene, CLASS_OIL_VARNISH, scene->wheel); /* rags */
    assert_true(newest(scene, NOTICE_LEAVING, &view));
}

/* A line that is cut in the middle would say another thing. */
static void a_long_list_of_the_day_ends_with_whole_lines(void **state)
{
    struct scene *scene = scene_of(state);
    struct notice_view view;
    set(scene, 60, 0, 0, 7 * 60);
    go_to(scene, 12, 20, 50);
    for (int i = 0; i < 30; i++) {
        char name[NAME_SIZE];
        snprintf(name, sizeof name, "drawer %02d of a very long cabinet that nobody knows", i);
        put_on(scene, CLASS_ALKYD_PRIMER, told_piece(scene, a_piece(name), scene->garage));
    }
    go_to(scene, 17, 20, 50);
    assert_true(newest(scene, NOTICE_MORNING, &view));
    const char *last = strrchr(view.text, '\n');
    unsigned lines = 0, more = 0;
    for (const char *line = strstr(view.text, "\n- drawer"); line != NULL; line = strstr(line + 1, "\n- drawer"))
        lines++;
    assert_int_equal(sscanf(last, "\n- and %u more", &more), 1);
    unsigned now = 0, to_come = 0, untouched = 0;
    assert_int_equal(sscanf(view.text, "Today: %u can be done now, %u to come, %u not to be touched", &now, &to_come, &untouched), 3);
    assert_int_equal(lines + more, now + to_come + untouched);
}

static void the_morning_tells_the_day_once(void **state)
{
    struct scene *scene = scene_of(state);
    struct notice_view view;
    set(scene, 60, 0, 0, 7 * 60);
    go_to(scene, 18, 20, 50);
    assert_false(newest(scene, NOTICE_MORNING, &view)); /* nothing waits */
    put_on(scene, CLASS_ALKYD_PRIMER, scene->body);
    assert_false(newest(scene, NOTICE_MORNING, &view)); /* the morning is over */
    go_to(scene, 41, 20, 50);
    assert_true(newest(scene, NOTICE_MORNING, &view));
    assert_int_equal(view.told_at, NOW - NOW % MS_PER_DAY + 2 * MS_PER_DAY + 7 * MS_PER_H);
    assert_non_null(strstr(view.text, "mill body: recoat"));
    int64_t first = view.head->id;
    go_to(scene, 65, 20, 50);
    assert_true(newest(scene, NOTICE_MORNING, &view));
    assert_true(view.head->id > first);
    struct notice_view before;
    assert_true(shop_notice_view(scene->shop, first, scene->write.now_ms, &before));
    assert_true(before.withdrawn_at != MOMENT_NONE); /* yesterday's list is of no use */
}

/* Nothing waits any more: the list of the day before is over all the same, also where the service was off for days. */
static void the_list_of_a_day_is_over_with_it(void **state)
{
    struct scene *scene = scene_of(state);
    struct notice_view view;
    set(scene, 60, 0, 0, 7 * 60);
    go_to(scene, 18, 20, 50);
    int64_t coat = put_on(scene, CLASS_ALKYD_PRIMER, scene->body);
    go_to(scene, 41, 20, 50);
    assert_true(newest(scene, NOTICE_MORNING, &view));
    int64_t first = view.head->id;
    TELL(scene, shop_strike_coat(scene->shop, &scene->write, coat, "the wrong piece", &scene->error));
    go_to(scene, 42, 20, 50);
    assert_true(newest(scene, NOTICE_MORNING, &view));
    assert_int_equal(view.withdrawn_at, MOMENT_NONE); /* it is that of today */
    scene->write.now_ms = NOW + 117 * MS_PER_H;
    turn(scene);
    assert_true(newest(scene, NOTICE_MORNING, &view));
    assert_int_equal(view.head->id, first);
    assert_true(view.withdrawn_at != MOMENT_NONE);
}

/* Days of 22 C and nights of 4 C, a reading each quarter of an hour, from `days` before NOW to `hours` after it; the warm hours are 8 to 20 UTC. */
static void days_and_nights(struct scene *scene, int days, double hours)
{
    int64_t to = NOW + (int64_t)llround(hours * (double)MS_PER_H);
    for (int64_t at = NOW - days * MS_PER_DAY; at <= to;) {
        struct reading readings[96];
        size_t count = 0;
        for (; count < 96 && at <= to; at += 15 * MIN) {
            int64_t hour = at / MS_PER_H % 24;
            readings[count++] = (struct reading){at, hour >= 8 && hour < 20 ? 22000 : 4000, 50000, READING_HOLD_BY_HAND_S};
        }
        TELL(scene, shop_enter_air(scene->shop, &scene->write, scene->garage, readings, count, &scene->error));
    }
}

static void hours_fit_to_spray_are_told_before_they_begin(void **state)
{
    struct scene *scene = scene_of(state);
    struct notice_view view;
    days_and_nights(scene, 10, 0);
    put_on(scene, CLASS_ALKYD_PRIMER, scene->body);
    scene->write.now_ms = NOW + 35 * MS_PER_H; /* 01:13 of the second night: open, and far too cold */
    days_and_nights(scene, 0, 35);
    assert_int_equal(stage_of(scene, 1, STAGE_RECOAT).state, STATE_OPEN);
    assert_false(newest(scene, NOTICE_SPRAY_HOURS, &view)); /* seven hours ahead: nobody is to be woken for that */
    for (double hours = 35.25; hours <= 42; hours += 0.25) {
        scene->write.now_ms = NOW + (int64_t)llround(hours * (double)MS_PER_H);
        days_and_nights(scene, 0, hours);
        turn(scene);
    }
    assert_true(newest(scene, NOTICE_SPRAY_HOURS, &view));
    assert_int_equal(view.head->turn, 1); /* once for these hours */
    assert_true(hour_of(view.told_at) > 38 && hour_of(view.told_at) < 42); /* the third day's warmth comes 41.8 h after NOW */
    assert_non_null(strstr(view.text, "garage: likely fit for"));
    assert_non_null(strstr(view.text, "The label comes first"));
}

/* Nobody is told in the evening of hours that were fit in the day. */
static void hours_that_are_over_when_the_quiet_ends_are_not_told(void **state)
{
    struct scene *scene = scene_of(state);
    struct notice_view view;
    days_and_nights(scene, 10, 0);
    put_on(scene, CLASS_ALKYD_PRIMER, scene->body);
    set(scene, 60, 1, 24 * 60 - 1, MORNING_NONE);
    for (double hours = 35.25; hours <= 42; hours += 0.25) {
        scene->write.now_ms = NOW + (int64_t)llround(hours * (double)MS_PER_H);
        days_and_nights(scene, 0, hours);
        turn(scene);
    }
    assert_true(newest(scene, NOTICE_SPRAY_HOURS, &view));
    assert_int_equal(view.told_at, MOMENT_NONE);
    for (int after = -10; after <= 10; after += 20) {
        scene->write.now_ms = view.until_at + after * MIN;
        days_and_nights(scene, 0, hour_of(scene->write.now_ms));
        turn(scene);
    }
    set(scene, 60, 0, 0, MORNING_NONE);
    assert_true(newest(scene, NOTICE_SPRAY_HOURS, &view));
    assert_int_equal(view.told_at, MOMENT_NONE);
    assert_true(view.withdrawn_at != MOMENT_NONE);
}

/* ---- corrections ---- */

/* Told at 16 h; then readings of the night come in that were colder than the assumed air. */
static void late_cold_readings_correct_what_was_told(void **state)
{
    struct scene *scene = scene_of(state);
    struct notice_view view;
    struct reading cold[40];
    air_to(scene, NOW, 23, 50);
    put_on(scene, CLASS_ALKYD_PRIMER, scene->body);
    go_to(scene, 17, 23, 50);
    assert_true(newest_of(scene, NOTICE_OPENS, STAGE_RECOAT, &view));
    for (int i = 0; i < 40; i++)
        cold[i] = (struct reading){NOW + MS_PER_H + i * 15 * MIN, 5000, 60000, READING_HOLD_BY_HAND_S};
    TELL(scene, shop_enter_air(scene->shop, &scene->write, scene->garage, cold, 40, &scene->error));
    assert_true(newest_of(scene, NOTICE_OPENS, STAGE_RECOAT, &view));
    assert_true(view.withdrawn_at != MOMENT_NONE);
    assert_true(newest_of(scene, NOTICE_CORRECTION, STAGE_RECOAT, &view));
    assert_true(view.told_at != MOMENT_NONE);
}

/* Told in held air; minutes later the next reading says that it had been growing cold since the last one, and the moment lies ahead again. */
static void the_next_reading_corrects_what_was_told_in_held_air(void **state)
{
    struct scene *scene = scene_of(state);
    struct notice_view view;
    air_to(scene, NOW, 23, 50);
    put_on(scene, CLASS_ALKYD_PRIMER, scene->body);
    go_to(scene, 15, 23, 50);
    while (!newest_of(scene, NOTICE_OPENS, STAGE_RECOAT, &view)) {
        scene->write.now_ms = shop_next_due(scene->shop);
        turn(scene);
    }
    assert_int_equal(view.told_at, scene->write.now_ms);
    struct reading cold = {scene->write.now_ms + 3 * MIN, 5000, 60000, READING_HOLD_BY_HAND_S};
    scene->write.now_ms = cold.at_ms;
    TELL(scene, shop_enter_air(scene->shop, &scene->write, scene->garage, &cold, 1, &scene->error));
    assert_true(newest_of(scene, NOTICE_OPENS, STAGE_RECOAT, &view));
    assert_int_equal(view.withdrawn_at, scene->write.now_ms);
    assert_true(newest_of(scene, NOTICE_CORRECTION, STAGE_RECOAT, &view));
    assert_int_equal(view.told_at, scene->write.now_ms);
}

/* A correction that was put aside is of that one time: once more early is once more corrected. */
static void what_was_early_twice_is_corrected_twice(void **state)
{
    struct scene *scene = scene_of(state);
    struct notice_view view;
    air_to(scene, NOW, 23, 50);
    put_on(scene, CLASS_ALKYD_PRIMER, scene->body);
    go_to(scene, 17, 23, 50);
    for (int round = 0; round < 2; round++) {
        struct reading cold[40], warm[40];
        for (int i = 0; i < 40; i++) {
            cold[i] = (struct reading){NOW + MS_PER_H + i * 15 * MIN, 5000, 60000, READING_HOLD_BY_HAND_S};
            warm[i] = (struct reading){NOW + MS_PER_H + i * 15 * MIN, 23000, 50000, READING_HOLD_BY_HAND_S};
        }
        TELL(scene, shop_enter_air(scene->shop, &scene->write, scene->garage, cold, 40, &scene->error));
        assert_true(newest_of(scene, NOTICE_CORRECTION, STAGE_RECOAT, &view));
        assert_int_equal(view.head->turn, round + 1);
        TELL(scene, shop_acknowledge(scene->shop, &scene->write, view.head->id, &scene->error));
        TELL(scene, shop_enter_air(scene->shop, &scene->write, scene->garage, warm, 40, &scene->error));
        assert_true(newest_of(scene, NOTICE_OPENS, STAGE_RECOAT, &view));
        assert_int_equal(view.head->turn, round + 2);
    }
}

/* The body's primer has opened, and quiet hours hold that back. */
static void open_in_quiet_hours(struct scene *scene)
{
    set(scene, 60, 22 * 60, 12 * 60, MORNING_NONE);
    air_to(scene, NOW, 23, 50);
    put_on(scene, CLASS_ALKYD_PRIMER, scene->body);
    go_to(scene, 17, 23, 50);
}

/* Readings that come late: it was too cold for it for ten hours. */
static void it_was_cold(struct scene *scene)
{
    struct reading cold[40];
    for (int i = 0; i < 40; i++)
        cold[i] = (struct reading){NOW + MS_PER_H + i * 15 * MIN, 5000, 60000, READING_HOLD_BY_HAND_S};
    TELL(scene, shop_enter_air(scene->shop, &scene->write, scene->garage, cold, 40, &scene->error));
}

/* The same in quiet hours: nobody was told, so nobody is told otherwise. */
static void what_nobody_was_told_needs_no_correction(void **state)
{
    struct scene *scene = scene_of(state);
    struct notice_view view;
    open_in_quiet_hours(scene);
    it_was_cold(scene);
    assert_true(newest_of(scene, NOTICE_OPENS, STAGE_RECOAT, &view));
    assert_true(view.withdrawn_at != MOMENT_NONE);
    assert_false(newest(scene, NOTICE_CORRECTION, &view));
}

/* Held back by quiet hours, but somebody saw it on the page and put it aside: he goes by it. */
static void what_was_read_before_it_was_told_is_corrected(void **state)
{
    struct scene *scene = scene_of(state);
    struct notice_view view;
    open_in_quiet_hours(scene);
    assert_true(newest_of(scene, NOTICE_OPENS, STAGE_RECOAT, &view));
    TELL(scene, shop_acknowledge(scene->shop, &scene->write, view.head->id, &scene->error));
    it_was_cold(scene);
    assert_true(newest_of(scene, NOTICE_CORRECTION, STAGE_RECOAT, &view));
}

/* ---- channels ---- */

static struct channel a_channel(const char *name)
{
    struct channel channel = {.kind = CHANNEL_WEBHOOK};
    snprintf(channel.name, sizeof channel.name, "%s", name);
    snprintf(channel.target, sizeof channel.target, "http://127.0.0.1:9/%s", name);
    return channel;
}

static int64_t told_channel(struct scene *scene, const char *name)
{
    struct channel channel = a_channel(name);
    int64_t id = 0;
    TELL(scene, shop_put_channel(scene->shop, &scene->write, &channel, &id, &scene->error));
    return id;
}

static void tried(struct scene *scene, int64_t channel_id, int64_t notice_id, bool delivered, const char *answer)
{
    struct delivery_try try = {.notice_id = notice_id, .channel_id = channel_id, .at = scene->write.now_ms, .delivered = delivered};
    snprintf(try.answer, sizeof try.answer, "%s", answer);
    assert_int_equal(shop_note_try(scene->shop, scene->write.now_ms, &try, &scene->error), COAT_OK);
    assert_true(try.id > 0);
}

static void start_anew(struct scene *scene)
{
    reopen(scene);
    turn(scene);
}

static bool holds(const int64_t *ids, size_t count, int64_t id)
{
    for (size_t i = 0; i < count; i++)
        if (ids[i] == id)
            return true;
    return false;
}

/* What is to be sent over it now. */
static size_t outbox(const struct scene *scene, int64_t channel_id, int64_t *ids, size_t most)
{
    return shop_outbox(scene->shop, channel_id, scene->write.now_ms, ids, most);
}

static void a_channel_gets_what_is_told_since_it_was_added_until_it_has_it(void **state)
{
    struct scene *scene = scene_of(state);
    struct channel_view how;
    int64_t ids[8], more[8];
    air_to(scene, NOW, 23, 50);
    put_on(scene, CLASS_ALKYD_PRIMER, scene->body);
    go_to(scene, 17, 23, 50);
    scene->write.now_ms += MIN;
    int64_t kitchen = told_channel(scene, "kitchen");
    assert_int_equal(outbox(scene, kitchen, ids, 8), 0); /* what was told before is not news there */
    spray(scene, scene->wheel);
    assert_int_equal(outbox(scene, kitchen, ids, 8), 1);
    tried(scene, kitchen, ids[0], false, "no answer");
    assert_int_equal(outbox(scene, kitchen, ids, 8), 1);
    assert_true(shop_channel_view(scene->shop, kitchen, &how));
    assert_int_equal(how.waiting, 1);
    assert_int_equal(how.failing_since_at, scene->write.now_ms);
    assert_string_equal(how.answer, "no answer");
    start_anew(scene); /* a kill between two tries loses nothing */
    assert_int_equal(outbox(scene, kitchen, more, 8), 1);
    assert_int_equal(more[0], ids[0]);
    tried(scene, kitchen, ids[0], true, "200 OK");
    assert_int_equal(outbox(scene, kitchen, ids, 8), 0);
    start_anew(scene); /* nor does it send twice what was delivered */
    assert_int_equal(outbox(scene, kitchen, ids, 8), 0);
    struct delivery delivery[2];
    assert_int_equal(shop_deliveries(scene->shop, more[0], delivery, 2), 1);
    assert_int_equal(delivery[0].tries, 2);
    assert_true(delivery[0].delivered_at != MOMENT_NONE);
    assert_true(shop_channel_view(scene->shop, kitchen, &how));
    assert_int_equal(how.delivered, 1);
    assert_int_equal(how.failing_since_at, MOMENT_NONE);
}

static void what_was_acknowledged_or_is_over_is_sent_no_more(void **state)
{
    struct scene *scene = scene_of(state);
    int64_t ids[8];
    int64_t kitchen = told_channel(scene, "kitchen"), hall = told_channel(scene, "hall");
    spray(scene, scene->body);
    assert_int_equal(outbox(scene, kitchen, ids, 8), 1);
    assert_int_equal(outbox(scene, hall, ids, 8), 1);
    TELL(scene, shop_acknowledge(scene->shop, &scene->write, ids[0], &scene->error));
    assert_int_equal(outbox(scene, kitchen, ids, 8), 0);
    assert_int_equal(outbox(scene, hall, ids, 8), 0);
}

static void held_back_is_not_sent(void **state)
{
    struct scene *scene = scene_of(state);
    int64_t ids[32];
    struct notice_view view;
    int64_t kitchen = told_channel(scene, "kitchen");
    set(scene, 60, 22 * 60, 7 * 60, MORNING_NONE);
    air_to(scene, NOW, 23, 50);
    put_on(scene, CLASS_ALKYD_PRIMER, scene->body);
    go_to(scene, 16.5, 23, 50);
    assert_true(newest_of(scene, NOTICE_OPENS, STAGE_RECOAT, &view));
    assert_false(holds(ids, outbox(scene, kitchen, ids, 32), view.head->id));
    int64_t held = view.head->id;
    start_anew(scene);
    go_to(scene, 17, 23, 50);
    assert_true(holds(ids, outbox(scene, kitchen, ids, 32), held));
}

static void channels_are_named_once_and_forget_their_secret(void **state)
{
    struct scene *scene = scene_of(state);
    struct channel channel = a_channel("kitchen");
    int64_t id = 0, other = 0;
    snprintf(channel.secret, sizeof channel.secret, "key");
    TELL(scene, shop_put_channel(scene->shop, &scene->write, &channel, &id, &scene->error));
    struct channel same = a_channel("Kitchen");
    REFUSE(scene, COAT_CONFLICT, "name", shop_put_channel(scene->shop, &scene->write, &same, &other, &scene->error));
    struct channel changed = *shop_channel(scene->shop, id);
    changed.kind = CHANNEL_MAIL;
    REFUSE(scene, COAT_CONFLICT, "kind", shop_put_channel(scene->shop, &scene->write, &changed, &other, &scene->error));
    struct channel unnamed = a_channel(" ");
    REFUSE(scene, COAT_BAD_VALUE, "name", shop_put_channel(scene->shop, &scene->write, &unnamed, &other, &scene->error));
    TELL(scene, shop_remove_channel(scene->shop, &scene->write, id, &scene->error));
    assert_string_equal(shop_channel(scene->shop, id)->secret, "");
    REFUSE(scene, COAT_NOT_FOUND, "channel", shop_remove_channel(scene->shop, &scene->write, id, &scene->error));
    TELL(scene, shop_put_channel(scene->shop, &scene->write, &same, &other, &scene->error)); /* the name is free again */
    assert_true(other > id);
}

static void the_key_of_links_is_made_once(void **state)
{
    struct scene *scene = scene_of(state);
    unsigned char key[LINK_KEY_SIZE], none[LINK_KEY_SIZE] = {0};
    memcpy(key, shop_link_key(scene->shop), sizeof key);
    assert_memory_not_equal(key, none, sizeof key);
    start_anew(scene);
    assert_memory_equal(key, shop_link_key(scene->shop), sizeof key);
}

/* ---- clocks that are set, machines that sleep ---- */

/* A coat of the machine's wrong year must not make one of today ready. */
static void a_coat_put_on_after_the_clock_was_set_back_is_not_told_early(void **state)
{
    struct scene *scene = scene_of(state);
    struct notice_view view;
    scene->write.now_ms = NOW + 400 * MS_PER_DAY; /* a clock that was set wrongly */
    turn(scene);
    scene->write.now_ms = NOW;
    turn(scene);
    air_to(scene, NOW, 23, 50);
    put_on(scene, CLASS_ALKYD_PRIMER, scene->body);
    go_to(scene, 15.9, 23, 50);
    assert_false(newest_of(scene, NOTICE_OPENS, STAGE_RECOAT, &view));
    go_to(scene, 17, 23, 50);
    assert_true(newest_of(scene, NOTICE_OPENS, STAGE_RECOAT, &view));
    assert_true(view.told_at != MOMENT_NONE);
}

/* Told late, by a clock that was hours ahead: it waits for the moment at which it is so, not for the one at which it was told. */
static void what_a_clock_told_that_was_set_back_is_sent_once_it_is_so(void **state)
{
    struct scene *scene = scene_of(state);
    struct notice_view view;
    struct channel_view how;
    int64_t ids[8];
    int64_t kitchen = told_channel(scene, "kitchen");
    air_to(scene, NOW, 23, 50);
    put_on(scene, CLASS_ALKYD_PRIMER, scene->body);
    scene->write.now_ms = NOW + 20 * MS_PER_H;
    turn(scene);
    assert_true(newest_of(scene, NOTICE_REACHED, STAGE_TOUCH, &view));
    int64_t touch = view.head->id, due = view.head->due_at;
    assert_in_range(due, NOW + 30 * MIN, view.head->raised_at - MS_PER_H);
    assert_int_equal(view.told_at, scene->write.now_ms);
    scene->write.now_ms = NOW + 5 * MIN;
    turn(scene);
    assert_int_equal(outbox(scene, kitchen, ids, 8), 1); /* what is about people does not wait */
    assert_true(newest(scene, NOTICE_LEAVING, &view));
    assert_int_equal(ids[0], view.head->id);
    tried(scene, kitchen, ids[0], true, "200 OK");
    assert_true(shop_channel_view(scene->shop, kitchen, &how));
    assert_true(how.waiting > 0);
    for (int64_t next = shop_next_due(scene->shop); next != MOMENT_NONE && next <= due; next = shop_next_due(scene->shop)) {
        assert_false(holds(ids, outbox(scene, kitchen, ids, 8), touch));
        scene->write.now_ms = next;
        turn(scene);
    }
    assert_int_equal(scene->write.now_ms, due);
    assert_true(holds(ids, outbox(scene, kitchen, ids, 8), touch));
}

/* Readings of the wrong hour say already when the coat of the right one gets there. */
static void a_coat_put_on_below_readings_that_lie_ahead_is_told_when_it_gets_there(void **state)
{
    struct scene *scene = scene_of(state);
    struct notice_view view;
    air_to(scene, NOW, 15, 50);
    air_to(scene, NOW + 10 * MS_PER_H, 15, 50); /* a clock that was set wrongly */
    turn(scene);
    scene->write.now_ms = NOW;
    turn(scene);
    int64_t coat_id = put_on(scene, CLASS_ALKYD_PRIMER, scene->body);
    struct stage_view touch = stage_of(scene, coat_id, STAGE_TOUCH);
    int64_t due = touch.span[0].until.likely_at;
    assert_in_range(due, NOW + 1, NOW + 10 * MS_PER_H - 1);
    for (int64_t next = shop_next_due(scene->shop); next != MOMENT_NONE && next <= due; next = shop_next_due(scene->shop)) {
        scene->write.now_ms = next;
        turn(scene);
    }
    assert_int_equal(scene->write.now_ms, due);
    assert_true(newest_of(scene, NOTICE_REACHED, STAGE_TOUCH, &view));
    assert_int_equal(view.told_at, due);
}

/* A machine without a battery for its clock starts hours ago, until it has asked for the time. */
static void a_start_with_the_clock_set_back_takes_nothing_back(void **state)
{
    struct scene *scene = scene_of(state);
    struct notice_view view;
    air_to(scene, NOW, 23, 50);
    put_on(scene, CLASS_ALKYD_PRIMER, scene->body);
    go_to(scene, 17, 23, 50);
    int64_t right = scene->write.now_ms;
    scene->write.now_ms = NOW + 2 * MS_PER_H;
    start_anew(scene);
    assert_true(newest_of(scene, NOTICE_OPENS, STAGE_RECOAT, &view));
    assert_int_equal(view.withdrawn_at, MOMENT_NONE);
    assert_false(newest(scene, NOTICE_CORRECTION, &view));
    scene->write.now_ms = right;
    turn(scene);
    assert_int_equal(groups(scene, NOTICE_OPENS, STAGE_RECOAT), 1);
}

/* What was held back, then the clock went back to before it was so: not yet. */
static void what_was_held_back_is_not_told_before_it_is_so(void **state)
{
    struct scene *scene = scene_of(state);
    struct notice_view view;
    set(scene, 60, 22 * 60, 7 * 60, MORNING_NONE);
    air_to(scene, NOW, 23, 50);
    put_on(scene, CLASS_ALKYD_PRIMER, scene->body);
    go_to(scene, 16.5, 23, 50); /* open at 06:13, held back until 07:00 */
    scene->write.now_ms = NOW + 6 * MS_PER_H; /* 20:13 of the evening before */
    turn(scene);
    assert_true(newest_of(scene, NOTICE_OPENS, STAGE_RECOAT, &view));
    assert_int_equal(view.told_at, MOMENT_NONE);
}

/* Followers and channels go by the order of telling. */
static void what_is_told_after_the_clock_was_set_back_comes_behind_all_that_was_told(void **state)
{
    struct scene *scene = scene_of(state);
    struct notice_view view;
    int64_t ids[8];
    air_to(scene, NOW, 23, 50);
    spray(scene, scene->wheel);
    assert_true(newest(scene, NOTICE_LEAVING, &view));
    int64_t told_at = view.told_at;
    scene->write.now_ms += MIN;
    int64_t kitchen = told_channel(scene, "kitchen");
    scene->write.now_ms = NOW - 20 * MIN;
    turn(scene);
    put_on(scene, CLASS_ALKYD_PRIMER, scene->body);
    scene->write.now_ms = NOW - 5 * MIN;
    struct coat oil = a_coat(scene);
    oil.material_version_id = builtin_version(scene->shop, CLASS_ALKYD_PRIMER);
    oil.application = APPLY_SPRAY;
    oil.first_at = oil.last_at = scene->write.now_ms;
    told_move(scene, scene->body, scene->cellar, scene->write.now_ms - MIN);
    told_coat(scene, oil, scene->body); /* in the cellar: a word before leaving that one */
    assert_true(newest(scene, NOTICE_LEAVING, &view));
    assert_int_equal(view.head->place_id, scene->cellar);
    assert_true(view.told_at >= told_at);
    assert_int_equal(outbox(scene, kitchen, ids, 8), 1);
}

/* One that was held back has a lower number than what broke the quiet hours meanwhile, and the clock says that it is earlier. */
static void what_was_held_back_comes_behind_what_was_told_before_the_clock_was_set_back(void **state)
{
    struct scene *scene = scene_of(state);
    struct notice_view held, told;
    set(scene, 60, 22 * 60, 7 * 60, MORNING_NONE);
    air_to(scene, NOW, 23, 50);
    put_on(scene, CLASS_ALKYD_PRIMER, scene->body);
    go_to(scene, 16.5, 23, 50); /* open at 06:13, held back until 07:00 */
    spray(scene, scene->wheel);
    assert_true(newest(scene, NOTICE_LEAVING, &told));
    assert_int_equal(told.told_at, scene->write.now_ms);
    scene->write.now_ms -= 5 * MIN;
    turn(scene);
    set(scene, 60, 22 * 60, 6 * 60, MORNING_NONE);
    assert_true(newest_of(scene, NOTICE_OPENS, STAGE_RECOAT, &held));
    assert_true(held.head->id < told.head->id);
    assert_in_range(held.told_at, told.told_at + 1, told.told_at + MIN);
}

static void what_opened_and_closed_while_the_machine_slept_is_not_told_as_open(void **state)
{
    struct scene *scene = scene_of(state);
    struct notice_view view;
    air_to(scene, NOW, 23.9, 50);
    put_on(scene, CLASS_SPRAY_ENAMEL, scene->body); /* tape comes off from a quarter of an hour to two hours after it */
    scene->write.now_ms = NOW + 100 * MS_PER_H;
    turn(scene);
    assert_true(newest_of(scene, NOTICE_OPENS, STAGE_UNMASK, &view));
    assert_true(view.withdrawn_at != MOMENT_NONE);
    assert_int_equal(view.told_at, MOMENT_NONE);
    assert_true(newest_of(scene, NOTICE_PREPARE, STAGE_UNMASK, &view));
    assert_true(view.told_at != MOMENT_NONE);
}

/* Two are held back together; the first is struck, the service starts anew: the other is told all the same. */
static void a_group_that_is_held_back_outlives_its_first_and_a_start(void **state)
{
    struct scene *scene = scene_of(state);
    struct notice_view view;
    set(scene, 60, 22 * 60, 7 * 60, MORNING_NONE);
    air_to(scene, NOW, 23, 50);
    int64_t first = put_on(scene, CLASS_ALKYD_PRIMER, scene->body);
    put_on(scene, CLASS_ALKYD_PRIMER, scene->wheel);
    go_to(scene, 16.5, 23, 50);
    TELL(scene, shop_strike_coat(scene->shop, &scene->write, first, "entered twice", &scene->error));
    start_anew(scene);
    go_to(scene, 17, 23, 50);
    assert_true(newest_of(scene, NOTICE_OPENS, STAGE_RECOAT, &view));
    assert_int_equal(view.members, 1);
    assert_true(view.told_at != MOMENT_NONE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        SCENE_TEST(six_parts_sprayed_together_give_one_notice),
        SCENE_TEST(the_short_line_says_what_is_to_be_done_whatever_the_names),
        SCENE_TEST(pieces_done_minutes_apart_wait_for_one_another),
        SCENE_TEST(pieces_done_an_hour_apart_are_told_apart),
        SCENE_TEST(other_materials_are_told_apart),
        SCENE_TEST(a_group_is_over_when_all_of_it_is),
        SCENE_TEST(what_opens_in_the_night_is_told_in_the_morning),
        SCENE_TEST(quiet_hours_are_those_of_the_shops_zone),
        SCENE_TEST(a_closing_in_the_night_is_told_in_the_evening),
        SCENE_TEST(a_window_within_quiet_hours_is_told_before_they_begin),
        SCENE_TEST(a_window_within_quiet_hours_is_not_told_as_open_before_it_is),
        SCENE_TEST(what_is_over_by_the_morning_is_told_no_more),
        SCENE_TEST(a_material_may_have_a_lead_of_its_own),
        SCENE_TEST(a_closing_that_comes_sooner_than_was_told_is_told_again),
        SCENE_TEST(a_closing_that_moves_by_minutes_is_told_once),
        SCENE_TEST(a_coat_that_stands_still_is_told_once_and_taken_back_when_it_moves),
        SCENE_TEST(a_coat_put_on_or_carried_into_cold_air_stands_still_from_then),
        SCENE_TEST(air_that_left_its_limits_before_the_guard_asks_for_a_look),
        SCENE_TEST(that_a_coat_must_be_looked_at_is_told_with_the_reading_that_shows_it),
        SCENE_TEST(a_casting_that_sweats_in_warming_air_is_told_of),
        SCENE_TEST(after_spraying_one_word_before_leaving),
        SCENE_TEST(a_coat_of_last_week_asks_nobody_to_leave),
        SCENE_TEST(brushing_a_material_that_does_not_heat_itself_leaves_nothing_to_say),
        SCENE_TEST(a_long_list_of_the_day_ends_with_whole_lines),
        SCENE_TEST(the_morning_tells_the_day_once),
        SCENE_TEST(the_list_of_a_day_is_over_with_it),
        SCENE_TEST(hours_fit_to_spray_are_told_before_they_begin),
        SCENE_TEST(hours_that_are_over_when_the_quiet_ends_are_not_told),
        SCENE_TEST(late_cold_readings_correct_what_was_told),
        SCENE_TEST(the_next_reading_corrects_what_was_told_in_held_air),
        SCENE_TEST(what_was_early_twice_is_corrected_twice),
        SCENE_TEST(what_nobody_was_told_needs_no_correction),
        SCENE_TEST(what_was_read_before_it_was_told_is_corrected),
        SCENE_TEST(a_channel_gets_what_is_told_since_it_was_added_until_it_has_it),
        SCENE_TEST(what_was_acknowledged_or_is_over_is_sent_no_more),
        SCENE_TEST(held_back_is_not_sent),
        SCENE_TEST(channels_are_named_once_and_forget_their_secret),
        SCENE_TEST(the_key_of_links_is_made_once),
        SCENE_TEST(a_coat_put_on_after_the_clock_was_set_back_is_not_told_early),
        SCENE_TEST(what_a_clock_told_that_was_set_back_is_sent_once_it_is_so),
        SCENE_TEST(a_coat_put_on_below_readings_that_lie_ahead_is_told_when_it_gets_there),
        SCENE_TEST(a_start_with_the_clock_set_back_takes_nothing_back),
        SCENE_TEST(what_was_held_back_is_not_told_before_it_is_so),
        SCENE_TEST(what_is_told_after_the_clock_was_set_back_comes_behind_all_that_was_told),
        SCENE_TEST(what_was_held_back_comes_behind_what_was_told_before_the_clock_was_set_back),
        SCENE_TEST(what_opened_and_closed_while_the_machine_slept_is_not_told_as_open),
        SCENE_TEST(a_group_that_is_held_back_outlives_its_first_and_a_start),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
