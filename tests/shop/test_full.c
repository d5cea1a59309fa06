/* The disk fills up while the shop lives: what could not be recorded has not happened, and is done once there is room. */
#include "tests/shop/write_scene.h"

#include <sys/stat.h>

#define MIN MS_PER_MIN

static struct scene *scene_of(void **state)
{
    return *state;
}

static void enter_air(struct scene *scene, int64_t at_ms, int32_t temp_mc)
{
    const struct reading reading = {at_ms, temp_mc, 50000, READING_HOLD_BY_HAND_S};
    TELL(scene, shop_enter_air(scene->shop, &scene->write, scene->garage, &reading, 1, &scene->error));
}

static int32_t day_and_night(int64_t at_ms)
{
    int64_t hour = at_ms / MS_PER_H % 24;
    return hour >= 8 && hour < 20 ? 22000 : 4000;
}

/* Ten days of air of the past, in one write. */
static void enter_past(struct scene *scene)
{
    static struct reading readings[10 * 96];
    for (size_t i = 0; i < 10 * 96; i++) {
        int64_t at_ms = NOW - 10 * MS_PER_DAY + (int64_t)i * 15 * MIN;
        readings[i] = (struct reading){at_ms, day_and_night(at_ms), 50000, READING_HOLD_BY_HAND_S};
    }
    TELL(scene, shop_enter_air(scene->shop, &scene->write, scene->garage, readings, 10 * 96, &scene->error));
}

/* A turn that is tried first without room, then with; returns whether it had something to record. */
static bool turn(struct scene *scene, bool full_first)
{
    int64_t next = 0;
    bool failed = false;
    if (full_first) {
        give_room(1);
        enum coat_result result = shop_turn(scene->shop, scene->write.now_ms, &next, &scene->error);
        give_room(RLIM_INFINITY);
        failed = result != COAT_OK;
        assert_true(!failed || result == COAT_STORE_FULL);
    }
    assert_int_equal(shop_turn(scene->shop, scene->write.now_ms, &next, &scene->error), COAT_OK);
    return failed;
}

/* Two days, looked at each minute: a primer that opens in a night that is too cold, an enamel over another coat, a pot of two parts. Returns how many turns failed. */
static unsigned live(struct scene *scene, bool full_first)
{
    unsigned failed = 0;
    int64_t id = 0;
    enter_past(scene);
    put_on(scene, CLASS_ALKYD_PRIMER, scene->body);
    put_on(scene, CLASS_LACQUER, scene->wheel);
    const struct mix pot = {.material_version_id = builtin_version(scene->shop, CLASS_EPOXY_PRIMER), .place_id = scene->garage, .mixed_at = NOW};
    TELL(scene, shop_mix(scene->shop, &scene->write, &pot, &id, &scene->error));
    for (int minute = 1; minute <= 44 * 60; minute++) {
        scene->write.now_ms = NOW + minute * MIN;
        failed += turn(scene, full_first);
        if (minute % 15 == 0)
            enter_air(scene, scene->write.now_ms, day_and_night(scene->write.now_ms));
        if (minute == 3 * 60)
            put_on(scene, CLASS_LACQUER, scene->wheel);
    }
    return failed;
}

static void same_notices(const struct shop *one, const struct shop *other)
{
    size_t count, others;
    const struct notice *a = shop_notices(one, &count), *b = shop_notices(other, &others);
    assert_int_equal(count, others);
    for (size_t i = 0; i < count; i++) {
        if (a[i].kind != b[i].kind || a[i].stage != b[i].stage || a[i].raised_at != b[i].raised_at || a[i].told_at != b[i].told_at ||
            a[i].due_at != b[i].due_at || a[i].turn != b[i].turn)
            fail_msg("notice %zu is \"%s\" raised at %lld told at %lld; with a full disk \"%s\", %lld, %lld", i, a[i].text, (long long)a[i].raised_at,
                     (long long)a[i].told_at, b[i].text, (long long)b[i].raised_at, (long long)b[i].told_at);
    }
}

static unsigned count_of(const struct shop *shop, enum notice_kind kind)
{
    size_t count;
    unsigned found = 0;
    const struct notice *notices = shop_notices(shop, &count);
    for (size_t i = 0; i < count; i++)
        found += notices[i].kind == kind;
    return found;
}

/* Each notice once and at its moment, each change of a state told, as if there had always been room. */
static void turns_that_failed_are_made_good(void **state)
{
    struct scene *scene = scene_of(state);
    void *other_state = NULL;
    assert_int_equal(scene_open(&other_state), 0);
    struct scene *other = other_state;
    assert_int_equal(live(scene, false), 0);
    unsigned failed = live(other, true);
    assert_true(failed > 20);
    same_notices(scene->shop, other->shop);
    assert_int_equal(shop_revision(scene->shop), shop_revision(other->shop));
    for (unsigned i = 0; i < 3; i++) /* what makes this a test of more than windows */
        assert_true(count_of(scene->shop, (const enum notice_kind[]){NOTICE_OPENS, NOTICE_SPRAY_HOURS, NOTICE_POT_LIFE}[i]) > 0);
    assert_int_equal(scene_close(&other_state), 0);
}

/* ---- readings of a sensor whose interval is learned ---- */

static int64_t add_sensor(struct scene *scene)
{
    int64_t id = 0;
    struct sensor sensor = {.place_id = scene->garage, .kind = SENSOR_PUSH, .name = "hygro", .position = -1, .measures = {true, true}};
    TELL(scene, shop_put_sensor(scene->shop, &scene->write, &sensor, &id, &scene->error));
    return id;
}

static enum coat_result hear(struct scene *scene, int64_t sensor, int64_t at_ms, double temp_c)
{
    struct taken taken;
    const struct sensor_reading reading = {sensor, at_ms, temp_c, 50};
    scene->write.now_ms = at_ms;
    return shop_take_readings(scene->shop, NULL, at_ms, &reading, 1, &taken, &scene->error);
}

static off_t log_size(const struct scene *scene)
{
    char path[128];
    struct stat found;
    snprintf(path, sizeof path, "%s-wal", scene->file);
    assert_int_equal(stat(path, &found), 0);
    return found.st_size;
}

/* Room for a page, two, three … of what is to be written: it is refused and nothing is kept, or it is kept; never "it is recorded, but". */
static void readings_are_refused_or_kept_however_much_room_is_left(void **state)
{
    struct scene *scene = scene_of(state);
    int64_t sensor = add_sensor(scene), at_ms = NOW;
    for (int i = 0; i < 12; i++, at_ms += 40 * MIN)
        assert_int_equal(hear(scene, sensor, at_ms, 18 + i % 2), COAT_OK);
    int32_t hold_s = shop_sensor(scene->shop, sensor)->hold_s;
    off_t begun = log_size(scene), page = 4096 + 24;
    enum coat_result result = COAT_STORE_FULL;
    unsigned refused = 0;
    for (off_t room = 0; result != COAT_OK && room < 64 * page; room += page) {
        char *before = facts_of(scene->shop);
        scene->error = (struct coat_error){0};
        give_room((rlim_t)(begun + room));
        result = hear(scene, sensor, at_ms, 18.5);
        give_room(RLIM_INFINITY);
        char *after = facts_of(scene->shop);
        assert_true(result == COAT_OK || result == COAT_STORE_FULL);
        if (result != COAT_OK) {
            assert_string_equal(before, after);
            assert_non_null(strstr(scene->error.text, "nothing was recorded"));
            refused++;
        }
        free(before);
        free(after);
    }
    assert_int_equal(result, COAT_OK);
    assert_true(refused > 0);
    assert_int_equal(shop_sensor(scene->shop, sensor)->hold_s, hold_s); /* there was no room for that as well */
    assert_int_equal(hear(scene, sensor, at_ms + 40 * MIN, 18.2), COAT_OK);
    assert_int_equal(shop_sensor(scene->shop, sensor)->hold_s, sensor_hold_s(40 * 60)); /* so it is learned with the next one */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        SCENE_TEST(turns_that_failed_are_made_good),
        SCENE_TEST(readings_are_refused_or_kept_however_much_room_is_left),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
