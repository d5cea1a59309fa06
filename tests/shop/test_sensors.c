/* Given what the sensors of a place send, then this air, these times, and this is told. */
#include "tests/shop/write_scene.h"

#define MIN MS_PER_MIN

static struct scene *scene_of(void **state)
{
    return *state;
}

static struct sensor a_sensor(const char *name, int64_t place_id)
{
    struct sensor sensor = {.place_id = place_id, .kind = SENSOR_PUSH, .position = -1, .interval_s = 300, .measures = {true, true}};
    snprintf(sensor.name, sizeof sensor.name, "%s", name);
    return sensor;
}

static int64_t told_sensor(struct scene *scene, struct sensor sensor)
{
    int64_t id = 0;
    TELL(scene, shop_put_sensor(scene->shop, &scene->write, &sensor, &id, &scene->error));
    return id;
}

static struct taken sent_at(struct scene *scene, int64_t sensor_id, int64_t at, double temp_c, double rh_pct)
{
    struct taken taken;
    struct sensor_reading reading = {sensor_id, at, temp_c, rh_pct};
    assert_int_equal(shop_take_readings(scene->shop, NULL, scene->write.now_ms, &reading, 1, &taken, &scene->error), COAT_OK);
    return taken;
}

static void minutes_pass(struct scene *scene, double minutes)
{
    int64_t next;
    scene->write.now_ms += (int64_t)(minutes * (double)MIN);
    assert_int_equal(shop_turn(scene->shop, scene->write.now_ms, &next, &scene->error), COAT_OK);
}

/* It speaks each five minutes, from now on. */
static void speaks(struct scene *scene, int64_t sensor_id, double hours, double temp_c, double rh_pct)
{
    for (int64_t end = scene->write.now_ms + (int64_t)(hours * (double)MS_PER_H); scene->write.now_ms < end;) {
        minutes_pass(scene, 5);
        assert_int_equal(sent_at(scene, sensor_id, MOMENT_NONE, temp_c, rh_pct).counted, 1);
    }
}

static unsigned notices_that_stand(struct scene *scene, enum notice_kind kind, const char **ret_text)
{
    size_t count;
    unsigned stand = 0;
    const struct notice *notices = shop_notices(scene->shop, &count);
    for (size_t i = 0; i < count; i++) {
        if (notices[i].kind != kind || notices[i].withdrawn_at != MOMENT_NONE)
            continue;
        stand++;
        if (ret_text)
            *ret_text = notices[i].text;
    }
    return stand;
}

static struct sensor_view view_of(struct scene *scene, int64_t id)
{
    struct sensor_view view;
    assert_true(shop_sensor_view(scene->shop, id, scene->write.now_ms, &view));
    return view;
}

/* ---- which counts ---- */

static void the_second_counts_while_the_first_is_silent(void **state)
{
    struct scene *scene = scene_of(state);
    int64_t first = told_sensor(scene, a_sensor("bench", scene->garage)), second = told_sensor(scene, a_sensor("door", scene->garage));
    sent_at(scene, first, MOMENT_NONE, 18.0, 55.0);
    sent_at(scene, second, MOMENT_NONE, 18.5, 56.0);
    assert_true(shop_air(scene->shop, scene->garage, scene->write.now_ms).temp_c == 18.0);
    assert_true(view_of(scene, first).counts[AIR_TEMP] && !view_of(scene, second).counts[AIR_TEMP]);
    minutes_pass(scene, 16); /* a hold of 15 */
    sent_at(scene, second, MOMENT_NONE, 17.0, 57.0);
    assert_true(shop_air(scene->shop, scene->garage, scene->write.now_ms).temp_c == 17.0);
    assert_int_equal(view_of(scene, first).state, SENSOR_SILENT);
    assert_true(view_of(scene, second).counts[AIR_RH]);
    minutes_pass(scene, 1);
    sent_at(scene, first, MOMENT_NONE, 16.0, 58.0);
    assert_true(shop_air(scene->shop, scene->garage, scene->write.now_ms).temp_c == 16.0);
}

/* One that is put in front is in front, whoever stood there. */
static void a_sensor_put_first_counts_first(void **state)
{
    struct scene *scene = scene_of(state);
    int64_t old = told_sensor(scene, a_sensor("old", scene->garage)), older = told_sensor(scene, a_sensor("older", scene->garage));
    struct sensor better = a_sensor("better", scene->garage);
    better.position = 0;
    int64_t first = told_sensor(scene, better);
    sent_at(scene, old, MOMENT_NONE, 18.0, 55.0);
    sent_at(scene, older, MOMENT_NONE, 17.0, 55.0);
    sent_at(scene, first, MOMENT_NONE, 19.0, 55.0);
    assert_true(shop_air(scene->shop, scene->garage, scene->write.now_ms).temp_c == 19.0);
    assert_true(view_of(scene, first).counts[AIR_TEMP]);
    better = *shop_sensor(scene->shop, older);
    better.position = 0;
    assert_int_equal(told_sensor(scene, better), older);
    minutes_pass(scene, 1);
    sent_at(scene, older, MOMENT_NONE, 17.5, 55.0);
    assert_true(shop_air(scene->shop, scene->garage, scene->write.now_ms).temp_c == 17.5);
    reopen(scene);
    assert_true(shop_air(scene->shop, scene->garage, scene->write.now_ms).temp_c == 17.5);
}

static void air_typed_in_counts_only_where_no_sensor_does(void **state)
{
    struct scene *scene = scene_of(state);
    int64_t probe = told_sensor(scene, a_sensor("probe", scene->garage));
    sent_at(scene, probe, MOMENT_NONE, 18.0, 55.0);
    struct reading typed = {scene->write.now_ms, 30000, 80000, 0};
    TELL(scene, shop_enter_air(scene->shop, &scene->write, scene->garage, &typed, 1, &scene->error));
    assert_true(shop_air(scene->shop, scene->garage, scene->write.now_ms).temp_c == 18.0);
    minutes_pass(scene, 20);
    typed = (struct reading){scene->write.now_ms, 19000, 60000, 0};
    TELL(scene, shop_enter_air(scene->shop, &scene->write, scene->garage, &typed, 1, &scene->error));
    assert_true(shop_air(scene->shop, scene->garage, scene->write.now_ms).temp_c == 19.0);
}

/* ---- a thermometer alone ---- */

static void a_thermometer_alone_is_measured_for_what_damp_does_not_slow(void **state)
{
    struct scene *scene = scene_of(state);
    struct sensor thermometer = a_sensor("thermometer", scene->garage);
    thermometer.measures[AIR_RH] = false;
    int64_t id = told_sensor(scene, thermometer);
    sent_at(scene, id, MOMENT_NONE, 21.0, 99.0); /* what it does not measure is not taken */
    int64_t lacquer = put_on(scene, CLASS_LACQUER, scene->body), enamel = put_on(scene, CLASS_ALKYD_ENAMEL, scene->wheel);
    speaks(scene, id, 0.5, 21.0, NOT_KNOWN);
    struct air_view air = shop_air(scene->shop, scene->garage, scene->write.now_ms);
    assert_int_equal(air.basis, AIR_MEASURED);
    assert_int_equal(air.rh_basis, AIR_ASSUMED);
    assert_true(air.rh_pct == HISTORY_DAMP_PCT);
    const struct material *shellac = &shop_material_version(scene->shop, builtin_version(scene->shop, CLASS_LACQUER))->material;
    bool damp_matters = shellac->rule != HUMIDITY_SOLVENT || !isnan(shellac->max_rh_pct);
    assert_int_equal(stage_of(scene, lacquer, STAGE_TOUCH).assumed_h > 0.01, damp_matters);
    assert_true(stage_of(scene, enamel, STAGE_TOUCH).assumed_h > 0.49);
    assert_true(stage_of(scene, enamel, STAGE_TOUCH).progress > 0.0); /* by damp air, not by none */
}

/* An assumed 85 % never makes an opening earlier than the truth up to that damp: openings are late, never early. */
static void what_a_thermometer_cannot_say_makes_no_opening_earlier(void **state)
{
    struct scene *scene = scene_of(state);
    struct sensor thermometer = a_sensor("thermometer", scene->garage);
    thermometer.measures[AIR_RH] = false;
    int64_t alone = told_sensor(scene, thermometer), both = told_sensor(scene, a_sensor("both", scene->cellar));
    struct piece lid = a_piece("lid");
    int64_t lid_id = told_piece(scene, lid, scene->cellar);
    int64_t in_garage = put_on(scene, CLASS_ALKYD_ENAMEL, scene->body), in_cellar = put_on(scene, CLASS_ALKYD_ENAMEL, lid_id);
    for (int i = 0; i < 24; i++) {
        sent_at(scene, alone, MOMENT_NONE, 20.0, NOT_KNOWN);
        sent_at(scene, both, MOMENT_NONE, 20.0, 80.0);
        minutes_pass(scene, 5);
    }
    assert_true(stage_of(scene, in_garage, STAGE_HANDLE).progress < stage_of(scene, in_cellar, STAGE_HANDLE).progress);
}

/* ---- what cannot be believed ---- */

static void a_wrong_unit_does_not_count_and_stays_in_the_record(void **state)
{
    struct scene *scene = scene_of(state);
    int64_t probe = told_sensor(scene, a_sensor("probe", scene->garage));
    speaks(scene, probe, 1.0, 18.0, 55.0);
    minutes_pass(scene, 5);
    struct taken taken = sent_at(scene, probe, MOMENT_NONE, 1800.0, 55.0);
    assert_int_equal(taken.suspect, 1);
    struct sensor_view view = view_of(scene, probe);
    assert_int_equal(view.state, SENSOR_FAULTY);
    assert_true(view.value[AIR_TEMP] == 18.0);
    assert_true(view.value[AIR_RH] == 55.0); /* its humidity counts all the same */
    assert_true(shop_air(scene->shop, scene->garage, scene->write.now_ms).temp_c == 18.0);
}

static void what_is_sent_twice_counts_once(void **state)
{
    struct scene *scene = scene_of(state);
    int64_t probe = told_sensor(scene, a_sensor("probe", scene->garage));
    assert_int_equal(sent_at(scene, probe, scene->write.now_ms, 18.0, 55.0).counted, 1);
    int64_t revision = shop_revision(scene->shop);
    struct taken again = sent_at(scene, probe, scene->write.now_ms, 18.0, 55.0);
    assert_int_equal(again.repeated, 1);
    assert_int_equal(again.counted, 0);
    assert_true(shop_revision(scene->shop) == revision);
}

/* A device that gets no answer sends again: what was not believed is not believed the second time for being late. */
static void a_suspect_that_is_sent_again_stays_one(void **state)
{
    struct scene *scene = scene_of(state);
    int64_t probe = told_sensor(scene, a_sensor("probe", scene->garage));
    speaks(scene, probe, 1.0, 18.0, 55.0);
    minutes_pass(scene, 5);
    int64_t at = scene->write.now_ms;
    assert_int_equal(sent_at(scene, probe, at, 1800.0, 55.0).suspect, 1);
    struct taken again = sent_at(scene, probe, at, 1800.0, 55.0);
    assert_int_equal(again.repeated, 1);
    assert_int_equal(again.counted, 0);
    assert_true(shop_air(scene->shop, scene->garage, at).temp_c == 18.0);
}

/* A door that stays open: a jump that the next two confirm counts after all, from its own moment on. */
static void a_jump_that_is_confirmed_counts_after_all(void **state)
{
    struct scene *scene = scene_of(state);
    struct reading *readings = NULL;
    size_t count;
    int64_t probe = told_sensor(scene, a_sensor("probe", scene->garage));
    speaks(scene, probe, 1.0, 20.0, 50.0);
    int64_t opened_at = scene->write.now_ms + 5 * MIN;
    for (int i = 0; i < 3; i++) {
        minutes_pass(scene, 5);
        (void)sent_at(scene, probe, MOMENT_NONE, 5.0 + 0.1 * i, 50.0);
    }
    assert_true(fabs(shop_air(scene->shop, scene->garage, scene->write.now_ms).temp_c - 5.2) < 1e-9);
    assert_int_equal(shop_readings(scene->shop, scene->garage, opened_at, opened_at + MIN, 10, &readings, &count), COAT_OK);
    assert_int_equal(count, 1);
    assert_int_equal(readings[0].temp_mc, 5000);
    assert_int_equal(readings[0].rh_mp, 50000);
    free(readings);
}

static void a_reading_of_1970_moves_nothing(void **state)
{
    struct scene *scene = scene_of(state);
    int64_t probe = told_sensor(scene, a_sensor("probe", scene->garage));
    sent_at(scene, probe, MOMENT_NONE, 18.0, 55.0);
    assert_int_equal(sent_at(scene, probe, 86400000, 5.0, 90.0).suspect, 1);
    assert_int_equal(sent_at(scene, probe, scene->write.now_ms + MS_PER_H, 5.0, 90.0).suspect, 1);
    assert_true(shop_air(scene->shop, scene->garage, scene->write.now_ms).temp_c == 18.0);
}

/* ---- what is told ---- */

static void silence_is_told_once_and_taken_back(void **state)
{
    struct scene *scene = scene_of(state);
    const char *text = NULL;
    int64_t probe = told_sensor(scene, a_sensor("probe", scene->garage));
    sent_at(scene, probe, MOMENT_NONE, 18.0, 55.0);
    put_on(scene, CLASS_ALKYD_ENAMEL, scene->body);
    minutes_pass(scene, 14);
    assert_int_equal(notices_that_stand(scene, NOTICE_AIR_UNKNOWN, NULL), 0);
    minutes_pass(scene, 1);
    assert_int_equal(notices_that_stand(scene, NOTICE_AIR_UNKNOWN, &text), 1);
    assert_non_null(strstr(text, "garage: no reading for 15 min"));
    assert_non_null(strstr(text, "test first"));
    minutes_pass(scene, 600);
    assert_int_equal(notices_that_stand(scene, NOTICE_AIR_UNKNOWN, NULL), 1);
    sent_at(scene, probe, MOMENT_NONE, 12.0, 65.0);
    assert_int_equal(notices_that_stand(scene, NOTICE_AIR_UNKNOWN, NULL), 0);
    minutes_pass(scene, 20); /* and again */
    assert_int_equal(notices_that_stand(scene, NOTICE_AIR_UNKNOWN, NULL), 1);
}

static void of_air_by_hand_silence_is_not_told(void **state)
{
    struct scene *scene = scene_of(state);
    struct reading typed = {scene->write.now_ms, 18000, 55000, 0};
    TELL(scene, shop_enter_air(scene->shop, &scene->write, scene->garage, &typed, 1, &scene->error));
    put_on(scene, CLASS_ALKYD_ENAMEL, scene->body);
    minutes_pass(scene, 600);
    assert_int_equal(notices_that_stand(scene, NOTICE_AIR_UNKNOWN, NULL), 0);
}

static void a_source_that_fails_is_told_once(void **state)
{
    struct scene *scene = scene_of(state);
    const char *text = NULL;
    int64_t probe = told_sensor(scene, a_sensor("probe", scene->garage));
    shop_sensor_fault(scene->shop, probe, scene->write.now_ms, "no connection to the broker at 127.0.0.1:1883");
    minutes_pass(scene, 1);
    minutes_pass(scene, 1);
    assert_int_equal(notices_that_stand(scene, NOTICE_SENSOR_FAULT, &text), 1);
    assert_non_null(strstr(text, "probe: no connection to the broker"));
    assert_int_equal(view_of(scene, probe).state, SENSOR_FAULTY);
    shop_sensor_fault(scene->shop, probe, scene->write.now_ms, "");
    minutes_pass(scene, 1);
    assert_int_equal(notices_that_stand(scene, NOTICE_SENSOR_FAULT, NULL), 0);
}

static void two_that_differ_for_an_hour_are_pointed_out(void **state)
{
    struct scene *scene = scene_of(state);
    int64_t first = told_sensor(scene, a_sensor("bench", scene->garage)), second = told_sensor(scene, a_sensor("door", scene->garage));
    for (int i = 0; i < 13; i++) {
        sent_at(scene, first, MOMENT_NONE, 18.0, 50.0 + 0.01 * i);
        sent_at(scene, second, MOMENT_NONE, 18.5, 68.0 + 0.01 * i);
        if (i == 2)
            assert_int_equal(notices_that_stand(scene, NOTICE_SENSORS_DISAGREE, NULL), 0); /* a door may be open */
        minutes_pass(scene, 5);
    }
    assert_int_equal(view_of(scene, first).disagrees_with, second);
    assert_int_equal(view_of(scene, first).disagrees_in, AIR_RH);
    assert_int_equal(notices_that_stand(scene, NOTICE_SENSORS_DISAGREE, NULL), 1);
}

/* ---- adjusting ---- */

static void a_salt_test_adjusts_from_its_moment_on(void **state)
{
    struct scene *scene = scene_of(state);
    int64_t id, probe = told_sensor(scene, a_sensor("probe", scene->garage));
    sent_at(scene, probe, MOMENT_NONE, 20.0, 72.0);
    struct adjustment salt = {.sensor_id = probe, .quantity = AIR_RH, .reads = NOT_KNOWN, .should = 75.5, .from_at = scene->write.now_ms};
    TELL(scene, shop_adjust_sensor(scene->shop, &scene->write, &salt, &id, &scene->error));
    assert_true(fabs(view_of(scene, probe).value[AIR_RH] - 75.5) < 1e-9);
    minutes_pass(scene, 5);
    sent_at(scene, probe, MOMENT_NONE, 20.0, 60.0);
    assert_true(fabs(shop_air(scene->shop, scene->garage, scene->write.now_ms).rh_pct - 63.5) < 1e-9);
    salt.should = 99.0;
    salt.from_at = scene->write.now_ms;
    REFUSE(scene, COAT_BAD_VALUE, "should", shop_adjust_sensor(scene->shop, &scene->write, &salt, &id, &scene->error));
}

/* ---- late, restart ---- */

/* A batch that comes late after the network was down gives the same times as if it had come at once, also after a new start. */
static void a_late_batch_corrects_the_past(void **state)
{
    struct scene *scene = scene_of(state);
    int64_t probe = told_sensor(scene, a_sensor("probe", scene->garage)), other = told_sensor(scene, a_sensor("other", scene->cellar));
    int64_t lid = told_piece(scene, a_piece("lid"), scene->cellar);
    sent_at(scene, probe, MOMENT_NONE, 20.0, 50.0);
    sent_at(scene, other, MOMENT_NONE, 20.0, 50.0);
    int64_t late = put_on(scene, CLASS_ALKYD_ENAMEL, scene->body), prompt = put_on(scene, CLASS_ALKYD_ENAMEL, lid);
    struct sensor_reading kept[24];
    struct taken taken;
    for (int i = 0; i < 24; i++) {
        minutes_pass(scene, 5);
        sent_at(scene, other, MOMENT_NONE, 20.0 + 0.1 * i, 50.0);
        kept[i] = (struct sensor_reading){probe, scene->write.now_ms, 20.0 + 0.1 * i, 50.0};
    }
    assert_true(stage_of(scene, late, STAGE_TOUCH).assumed_h > 1.0);
    assert_int_equal(shop_take_readings(scene->shop, NULL, scene->write.now_ms, kept, 24, &taken, &scene->error), COAT_OK);
    assert_int_equal(taken.counted, 24);
    double progress = stage_of(scene, prompt, STAGE_HANDLE).progress;
    assert_true(stage_of(scene, late, STAGE_HANDLE).progress == progress);
    assert_true(stage_of(scene, late, STAGE_TOUCH).assumed_h < 1e-9);
    reopen(scene);
    assert_true(stage_of(scene, late, STAGE_HANDLE).progress == progress);
}

/* One that publishes each half hour and was never told to: its hold is learned, and its air is no longer half assumed. */
static void how_often_a_sensor_speaks_is_learned(void **state)
{
    struct scene *scene = scene_of(state);
    struct sensor seldom = a_sensor("seldom", scene->garage);
    seldom.interval_s = 0;
    int64_t id = told_sensor(scene, seldom);
    sent_at(scene, id, MOMENT_NONE, 18.0, 55.0);
    int64_t coat = put_on(scene, CLASS_ALKYD_ENAMEL, scene->body);
    for (int i = 0; i < 16; i++) {
        minutes_pass(scene, 30);
        sent_at(scene, id, MOMENT_NONE, 18.0 + 0.05 * i, 55.0);
    }
    assert_int_equal(shop_sensor(scene->shop, id)->hold_s, 5400);
    assert_true(stage_of(scene, coat, STAGE_CURE).assumed_h < 1e-9);
}

/* ---- imports ---- */

static void an_import_is_seen_when_it_is_whole(void **state)
{
    struct scene *scene = scene_of(state);
    int64_t import = 0;
    struct reading first = {NOW - 3 * MS_PER_H, 15000, 60000, 0}, second = {NOW - 2 * MS_PER_H, 16000, READING_NONE, 0}, *seen = NULL;
    size_t count;
    TELL(scene, shop_import_begin(scene->shop, &scene->write, scene->garage, "logger", &import, &scene->error));
    TELL(scene, shop_import_add(scene->shop, &scene->write, import, &first, 1, &scene->error));
    TELL(scene, shop_import_add(scene->shop, &scene->write, import, &second, 1, &scene->error));
    assert_false(shop_air(scene->shop, scene->garage, NOW).known);
    TELL(scene, shop_import_finish(scene->shop, &scene->write, import, &scene->error));
    assert_int_equal(shop_readings(scene->shop, scene->garage, 0, NOW, 10, &seen, &count), COAT_OK);
    assert_int_equal(count, 2);
    assert_int_equal(seen[1].rh_mp, 60000); /* carried, the logger's hold is two hours */
    free(seen);
}

static void an_import_that_is_not_finished_is_gone_at_the_next_start(void **state)
{
    struct scene *scene = scene_of(state);
    int64_t import = 0, again = 0;
    struct reading reading = {NOW - 3 * MS_PER_H, 15000, 60000, 0};
    TELL(scene, shop_import_begin(scene->shop, &scene->write, scene->garage, "logger", &import, &scene->error));
    TELL(scene, shop_import_add(scene->shop, &scene->write, import, &reading, 1, &scene->error));
    reopen(scene);
    assert_null(shop_import(scene->shop, import));
    REFUSE(scene, COAT_NOT_FOUND, "import", shop_import_finish(scene->shop, &scene->write, import, &scene->error));
    TELL(scene, shop_import_begin(scene->shop, &scene->write, scene->garage, "logger", &again, &scene->error));
}

/* ---- plots ---- */

static void bins_have_the_ends_and_the_mean_of_what_was_read(void **state)
{
    struct scene *scene = scene_of(state);
    int64_t probe = told_sensor(scene, a_sensor("probe", scene->garage)), begin = scene->write.now_ms;
    struct air_bin bin[3], day[60];
    for (int i = 0; i < 12; i++) {
        sent_at(scene, probe, MOMENT_NONE, 18.0 + 0.1 * i, 55.0 - 0.1 * i);
        minutes_pass(scene, 5);
    }
    assert_int_equal(shop_air_bins(scene->shop, scene->garage, begin, begin + 3 * 30 * MIN, 3, bin), COAT_OK);
    assert_int_equal(bin[0].readings, 6);
    assert_true(fabs(bin[0].temp_low_c - 18.0) < 1e-9 && fabs(bin[0].temp_high_c - 18.5) < 1e-9 && fabs(bin[0].temp_mean_c - 18.25) < 1e-9);
    assert_true(fabs(bin[1].rh_low_pct - 53.9) < 1e-9 && fabs(bin[1].rh_mean_pct - 54.15) < 1e-9);
    assert_int_equal(bin[2].readings, 0);
    assert_true(isnan(bin[2].temp_mean_c));
    /* a long span is put together another way, and says the same */
    assert_int_equal(shop_air_bins(scene->shop, scene->garage, begin - 59 * MS_PER_DAY, begin + MS_PER_DAY, 60, day), COAT_OK);
    assert_int_equal(day[59].readings, 12);
    assert_true(fabs(day[59].temp_low_c - 18.0) < 1e-9 && fabs(day[59].temp_high_c - 19.1) < 1e-9);
}

/* ---- heating ---- */

static void a_place_is_heated_while_somebody_is_there(void **state)
{
    struct scene *scene = scene_of(state);
    int64_t id, now = scene->write.now_ms;
    struct heating evening = {.place_id = scene->garage, .from_at = now, .until_at = now + 3 * MS_PER_H};
    struct heating yesterday = {.place_id = scene->garage, .from_at = now - MS_PER_DAY, .until_at = now - MS_PER_DAY + MS_PER_H};
    struct heating off = {.place_id = scene->garage, .from_at = now + MS_PER_H, .until_at = now + MS_PER_H};
    TELL(scene, shop_heat_place(scene->shop, &scene->write, &evening, &id, &scene->error));
    TELL(scene, shop_heat_place(scene->shop, &scene->write, &yesterday, &id, &scene->error)); /* remembered late */
    assert_true(shop_heated_until(scene->shop, scene->garage, now + MIN) == evening.until_at);
    assert_true(shop_heated_until(scene->shop, scene->cellar, now + MIN) == MOMENT_NONE);
    TELL(scene, shop_heat_place(scene->shop, &scene->write, &off, &id, &scene->error));
    assert_true(shop_heated_until(scene->shop, scene->garage, now + 2 * MS_PER_H) == MOMENT_NONE);
    evening.until_at = evening.from_at - 1;
    REFUSE(scene, COAT_BAD_VALUE, "until_at", shop_heat_place(scene->shop, &scene->write, &evening, &id, &scene->error));
}

/* ---- what is refused ---- */

static void sensors_that_cannot_be_are_refused(void **state)
{
    struct scene *scene = scene_of(state);
    int64_t id;
    told_sensor(scene, a_sensor("probe", scene->garage));
    struct sensor same = a_sensor("Probe", scene->cellar), nowhere = a_sensor("other", 4711), digits = a_sensor("12", scene->garage);
    struct sensor nothing = a_sensor("other", scene->garage), hand = a_sensor("other", scene->garage);
    nothing.measures[AIR_TEMP] = nothing.measures[AIR_RH] = false;
    hand.kind = SENSOR_BY_HAND;
    REFUSE(scene, COAT_CONFLICT, "name", shop_put_sensor(scene->shop, &scene->write, &same, &id, &scene->error));
    REFUSE(scene, COAT_NOT_FOUND, "place", shop_put_sensor(scene->shop, &scene->write, &nowhere, &id, &scene->error));
    REFUSE(scene, COAT_BAD_VALUE, "name", shop_put_sensor(scene->shop, &scene->write, &digits, &id, &scene->error));
    REFUSE(scene, COAT_BAD_VALUE, "measures", shop_put_sensor(scene->shop, &scene->write, &nothing, &id, &scene->error));
    REFUSE(scene, COAT_BAD_VALUE, "kind", shop_put_sensor(scene->shop, &scene->write, &hand, &id, &scene->error));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        SCENE_TEST(the_second_counts_while_the_first_is_silent),
        SCENE_TEST(a_sensor_put_first_counts_first),
        SCENE_TEST(air_typed_in_counts_only_where_no_sensor_does),
        SCENE_TEST(a_thermometer_alone_is_measured_for_what_damp_does_not_slow),
        SCENE_TEST(what_a_thermometer_cannot_say_makes_no_opening_earlier),
        SCENE_TEST(a_wrong_unit_does_not_count_and_stays_in_the_record),
        SCENE_TEST(what_is_sent_twice_counts_once),
        SCENE_TEST(a_suspect_that_is_sent_again_stays_one),
        SCENE_TEST(a_jump_that_is_confirmed_counts_after_all),
        SCENE_TEST(a_reading_of_1970_moves_nothing),
        SCENE_TEST(silence_is_told_once_and_taken_back),
        SCENE_TEST(of_air_by_hand_silence_is_not_told),
        SCENE_TEST(a_source_that_fails_is_told_once),
        SCENE_TEST(two_that_differ_for_an_hour_are_pointed_out),
        SCENE_TEST(a_salt_test_adjusts_from_its_moment_on),
        SCENE_TEST(a_late_batch_corrects_the_past),
        SCENE_TEST(how_often_a_sensor_speaks_is_learned),
        SCENE_TEST(an_import_is_seen_when_it_is_whole),
        SCENE_TEST(an_import_that_is_not_finished_is_gone_at_the_next_start),
        SCENE_TEST(bins_have_the_ends_and_the_mean_of_what_was_read),
        SCENE_TEST(a_place_is_heated_while_somebody_is_there),
        SCENE_TEST(sensors_that_cannot_be_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
