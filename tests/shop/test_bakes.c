/* A bake from its review to the cold part. The built-in black japan is baked: 4 h at 121 C, 2 h at 149 C (coat/bake.h says what rests on what). */
#include "tests/shop/write_scene.h"

#define JAPAN_H 2.0    /* at JAPAN_C, of the built-in */
#define JAPAN_C 149.0
#define WALL_MM 6.0

static struct scene *scene_of(void **state)
{
    return *state;
}

static struct bake_view view_of(struct scene *scene, int64_t bake)
{
    static struct bake_view view;
    assert_true(shop_bake_view(scene->shop, bake, scene->write.now_ms, &view));
    return view;
}

static void assert_near(double is, double should_be, double within)
{
    if (!(fabs(is - should_be) <= within))
        fail_msg("%.9g is not %.9g within %g", is, should_be, within);
}

static void turn(struct scene *scene)
{
    int64_t next = 0;
    assert_int_equal(shop_turn(scene->shop, scene->write.now_ms, &next, &scene->error), COAT_OK);
}

/* Time passes as in the service: the shop is turned at each moment that it names. */
static void wait_min(struct scene *scene, double minutes)
{
    int64_t until = scene->write.now_ms + (int64_t)(minutes * MS_PER_MIN), next = 0;
    for (int i = 0; i < 100000; i++) {
        assert_int_equal(shop_turn(scene->shop, scene->write.now_ms, &next, &scene->error), COAT_OK);
        if (next == MOMENT_NONE || next > until)
            break;
        scene->write.now_ms = next > scene->write.now_ms ? next : scene->write.now_ms + 1;
    }
    scene->write.now_ms = until;
    turn(scene);
}

static void read_air(struct scene *scene, int64_t place, double temp_c)
{
    struct reading reading = {scene->write.now_ms, (int32_t)(temp_c * 1000), 40000, READING_HOLD_BY_HAND_S};
    assert_int_equal(shop_enter_air(scene->shop, &scene->write, place, &reading, 1, &scene->error), COAT_OK);
}

/* An oven of 100 l with 20 m3/h of exhaust that was measured, and a garage at 20 C. */
static void measure(struct scene *scene)
{
    struct place oven = *shop_place(scene->shop, scene->oven);
    int64_t id = 0;
    oven.volume_m3 = 0.1;
    oven.airflow_m3h = 20;
    oven.airflow_measured = true;
    oven.risk[RISK_BELOW_GROUND] = ANSWER_NO;
    TELL(scene, shop_put_place(scene->shop, &scene->write, &oven, &id, &scene->error));
    read_air(scene, scene->garage, 20);
}

static int64_t put_japan(struct scene *scene, int64_t piece, double amount_ml)
{
    struct coat coat = a_coat(scene);
    coat.material_version_id = builtin_version(scene->shop, CLASS_BAKING_JAPAN);
    coat.role = ROLE_JAPAN;
    coat.first_at = coat.last_at = scene->write.now_ms;
    coat.amount_ml = amount_ml;
    return told_coat(scene, coat, piece);
}

static void flash_off(struct scene *scene)
{
    for (int hour = 0; hour < 6; hour++) {
        wait_min(scene, 60);
        read_air(scene, scene->garage, 20);
    }
}

/* A load of one coat for 149 C, in an oven that is hot already where `hot`. */
static struct bake_order load_of(struct scene *scene, int64_t coat, bool hot)
{
    struct bake_order order = {
        .bake = {.place_id = scene->oven, .oven_air = OVEN_AIR_FAN, .retained_pct = NOT_KNOWN, .room_c = NOT_KNOWN, .started_at = MOMENT_NONE, .ended_at = MOMENT_NONE},
        .parts = 1,
        .part = {{.coat_id = coat, .metal = METAL_IRON, .mass_kg = NOT_KNOWN, .area_m2 = NOT_KNOWN, .wall_mm = WALL_MM}},
        .steps = 1,
        .step = {{JAPAN_C, hot ? 0.0 : NOT_KNOWN, NOT_KNOWN}},
    };
    return order;
}

static int64_t check(struct scene *scene, struct bake_order order)
{
    int64_t id = 0;
    TELL(scene, shop_bake_check(scene->shop, &scene->write, &order, &id, &scene->error));
    return id;
}

static void say(struct scene *scene, int64_t bake, const char *about, enum answer answer)
{
    struct bake_answer said = {.answer = answer};
    snprintf(said.about, sizeof said.about, "%s", about);
    TELL(scene, shop_bake_answer(scene->shop, &scene->write, bake, &said, 1, &scene->error));
}

static void answer_all(struct scene *scene, int64_t bake)
{
    struct bake_answer said[BAKE_ITEM_COUNT] = {0};
    for (unsigned i = 0; i < BAKE_ITEM_COUNT; i++) {
        snprintf(said[i].about, sizeof said[i].about, "%s", bake_item_word((enum bake_item)i));
        said[i].answer = bake_question((enum bake_item)i)->must;
    }
    TELL(scene, shop_bake_answer(scene->shop, &scene->write, bake, said, BAKE_ITEM_COUNT, &scene->error));
}

static void start(struct scene *scene, int64_t bake)
{
    TELL(scene, shop_bake_start(scene->shop, &scene->write, bake, scene->write.now_ms, &scene->error));
}

/* What speaks against it: the first of a kind; fails where there is none. */
static const struct bake_refusal *refusal_of(const struct bake_view *view, enum bake_refusal_kind kind)
{
    for (unsigned i = 0; i < view->refusals; i++)
        if (view->refusal[i].kind == kind)
            return &view->refusal[i];
    fail_msg("nothing of the kind %s speaks against it", bake_refusal_kind_word(kind));
    return NULL;
}

static void refuse_start(struct scene *scene, int64_t bake)
{
    REFUSE(scene, COAT_CONFLICT, "review", shop_bake_start(scene->shop, &scene->write, bake, scene->write.now_ms, &scene->error));
}

/* A coat that has flashed off, and its review with nothing against it. */
static int64_t ready_bake(struct scene *scene, bool hot)
{
    measure(scene);
    int64_t coat = put_japan(scene, scene->body, 60);
    flash_off(scene);
    int64_t bake = check(scene, load_of(scene, coat, hot));
    answer_all(scene, bake);
    return bake;
}

/* The newest notice of a moment of a bake that stands; NULL. */
static const struct notice *told(struct scene *scene, int64_t bake, enum bake_moment moment)
{
    size_t count;
    const struct notice *notices = shop_notices(scene->shop, &count);
    for (size_t i = count; i-- > 0;)
        if (notices[i].bake_id == bake && notices[i].boundary / BAKE_MOMENT_STEPS == (int32_t)moment && notices[i].withdrawn_at == MOMENT_NONE)
            return &notices[i];
    return NULL;
}

/* ---- the review ---- */

static void an_unanswered_review_begins_nothing(void **state)
{
    struct scene *scene = scene_of(state);
    measure(scene);
    int64_t coat = put_japan(scene, scene->body, 60);
    flash_off(scene);
    int64_t bake = check(scene, load_of(scene, coat, false));
    struct bake_view view = view_of(scene, bake);
    assert_int_equal(view.refusals, BAKE_ITEM_COUNT); /* each question, and nothing else */
    assert_true(view.refused_for_safety && view.refusal[0].safety); /* people first */
    refuse_start(scene, bake);
    answer_all(scene, bake);
    assert_int_equal(view_of(scene, bake).refusals, 0);
    say(scene, bake, "exhaust", ANSWER_NO);
    view = view_of(scene, bake);
    assert_non_null(strstr(refusal_of(&view, BAKE_REFUSE_ITEM)->text, "29 CFR 1910.107(j)(3)"));
    refuse_start(scene, bake);
    say(scene, bake, "exhaust", ANSWER_YES);
    start(scene, bake);
    assert_int_equal(view_of(scene, bake).state, BAKE_HEATING);
    REFUSE(scene, COAT_CONFLICT, "", shop_bake_start(scene->shop, &scene->write, bake, scene->write.now_ms, &scene->error)); /* once */
}

static void each_answer_is_kept_with_its_time_and_asked_again_the_next_day(void **state)
{
    struct scene *scene = scene_of(state);
    int64_t bake = ready_bake(scene, false), answered_at = scene->write.now_ms;
    wait_min(scene, 12 * 60);
    read_air(scene, scene->garage, 20);
    assert_int_equal(view_of(scene, bake).refusals, 0);
    wait_min(scene, 1);
    struct bake_view view = view_of(scene, bake);
    assert_int_equal(view.refusals, BAKE_ITEM_COUNT);
    assert_int_equal(view.item[BAKE_ITEM_PURGED].at, answered_at);
    assert_int_equal(view.item[BAKE_ITEM_PURGED].answer, ANSWER_NONE);
    refuse_start(scene, bake);
}

static void what_the_heat_would_ruin_comes_off_first(void **state)
{
    struct scene *scene = scene_of(state);
    int64_t bake = ready_bake(scene, false);
    say(scene, bake, "solder", ANSWER_YES); /* melts at 183 C, handbook value of tin-lead 63/37; the oven is meant for 149 C, 15 C of margin */
    assert_int_equal(view_of(scene, bake).refusals, 0);
    say(scene, bake, "cutter", ANSWER_YES); /* loses its temper from 100 C, The Working of Steel (1921) */
    struct bake_view view = view_of(scene, bake);
    assert_non_null(strstr(refusal_of(&view, BAKE_REFUSE_RUIN)->text, "100 C"));
    assert_non_null(strstr(refusal_of(&view, BAKE_REFUSE_RUIN)->text, "The Working of Steel"));
    refuse_start(scene, bake);
    say(scene, bake, "cutter", ANSWER_NO); /* it came off */
    start(scene, bake);
}

static void a_coat_that_has_not_flashed_off_stays_out_of_the_oven(void **state)
{
    struct scene *scene = scene_of(state);
    measure(scene);
    int64_t coat = put_japan(scene, scene->body, 60); /* flashed off after 4 h at 20 C and more: its table */
    wait_min(scene, 60);
    read_air(scene, scene->garage, 20);
    int64_t bake = check(scene, load_of(scene, coat, false));
    answer_all(scene, bake); /* whatever the nose says */
    struct bake_view view = view_of(scene, bake);
    assert_int_equal(view.refusals, 1);
    assert_true(refusal_of(&view, BAKE_REFUSE_FLASH)->safety);
    refuse_start(scene, bake);
    flash_off(scene);
    start(scene, bake);
}

static void an_enamel_below_does_not_stand_the_heat(void **state)
{
    struct scene *scene = scene_of(state);
    measure(scene);
    struct coat below = a_coat(scene);
    below.amount_ml = 10;
    told_coat(scene, below, scene->body);
    int64_t coat = put_japan(scene, scene->body, 40);
    for (int i = 0; i < 4; i++) /* the soft film below holds it up */
        flash_off(scene);
    int64_t bake = check(scene, load_of(scene, coat, false));
    answer_all(scene, bake);
    struct bake_view view = view_of(scene, bake);
    assert_int_equal(view.refusals, 1);
    assert_near(refusal_of(&view, BAKE_REFUSE_EARLIER)->limit_c, 90, 1e-9);
    refuse_start(scene, bake);
}

static void an_old_finish_with_lead_is_not_baked(void **state)
{
    struct scene *scene = scene_of(state);
    int64_t bake = ready_bake(scene, false), id = 0;
    struct piece body = *shop_piece(scene->shop, scene->body);
    body.old_finish = OLD_FINISH_LEAD;
    TELL(scene, shop_put_piece(scene->shop, &scene->write, &body, 0, &id, &scene->error));
    struct bake_view view = view_of(scene, bake);
    assert_true(refusal_of(&view, BAKE_REFUSE_OLD_FINISH)->safety);
    refuse_start(scene, bake);
}

static void bad_loads_are_named_and_nothing_is_begun(void **state)
{
    struct scene *scene = scene_of(state);
    int64_t id = 0;
    measure(scene);
    int64_t japan = put_japan(scene, scene->body, 60), enamel = put_on(scene, CLASS_ALKYD_ENAMEL, scene->wheel);
    struct bake_order order = load_of(scene, japan, false);
    order.bake.place_id = scene->garage;
    REFUSE(scene, COAT_BAD_VALUE, "place", shop_bake_check(scene->shop, &scene->write, &order, &id, &scene->error));
    order = load_of(scene, enamel, false);
    REFUSE(scene, COAT_BAD_VALUE, "parts.0.bake", shop_bake_check(scene->shop, &scene->write, &order, &id, &scene->error));
    order = load_of(scene, japan, false);
    order.part[0].wall_mm = NOT_KNOWN;
    REFUSE(scene, COAT_BAD_VALUE, "parts.0.wall_mm", shop_bake_check(scene->shop, &scene->write, &order, &id, &scene->error));
    order.part[0].wall_mm = -3;
    REFUSE(scene, COAT_BAD_VALUE, "parts.0.wall_mm", shop_bake_check(scene->shop, &scene->write, &order, &id, &scene->error));
    order = load_of(scene, japan, false);
    order.step[0].target_c = 700;
    REFUSE(scene, COAT_BAD_VALUE, "steps.0.target_c", shop_bake_check(scene->shop, &scene->write, &order, &id, &scene->error));
    order = load_of(scene, japan, false);
    order.step[0].target_c = 80; /* nothing bakes there, and nobody said how long */
    REFUSE(scene, COAT_BAD_VALUE, "steps.0.hold_min", shop_bake_check(scene->shop, &scene->write, &order, &id, &scene->error));
    order = load_of(scene, japan, false);
    order.bake.retained_pct = 130;
    REFUSE(scene, COAT_BAD_VALUE, "retained_pct", shop_bake_check(scene->shop, &scene->write, &order, &id, &scene->error));
    order = load_of(scene, japan, false);
    order.part[1] = order.part[0];
    order.parts = 2;
    REFUSE(scene, COAT_BAD_VALUE, "parts", shop_bake_check(scene->shop, &scene->write, &order, &id, &scene->error));
    int64_t bake = check(scene, load_of(scene, japan, false));
    struct bake_answer nonsense = {.about = "moon-phase", .answer = ANSWER_YES};
    REFUSE(scene, COAT_BAD_VALUE, "about", shop_bake_answer(scene->shop, &scene->write, bake, &nonsense, 1, &scene->error));
}

/* ---- vapour ---- */

static void without_an_amount_the_vapour_is_not_known_and_that_refuses(void **state)
{
    struct scene *scene = scene_of(state);
    measure(scene);
    int64_t coat = put_japan(scene, scene->body, NOT_KNOWN);
    flash_off(scene);
    int64_t bake = check(scene, load_of(scene, coat, false));
    answer_all(scene, bake);
    struct bake_view view = view_of(scene, bake);
    assert_false(view.vapour.known);
    assert_int_equal(view.vapour.uncounted, 1);
    assert_true(refusal_of(&view, BAKE_REFUSE_VAPOUR)->safety);
    refuse_start(scene, bake);
}

static void the_measured_exhaust_decides_by_the_rate_of_batch_ovens(void **state)
{
    struct scene *scene = scene_of(state);
    int64_t bake = ready_bake(scene, false), id = 0;
    struct bake_view view = view_of(scene, bake);
    /* 440 cfm a gallon (NFPA 86, from memory) are 3.29 m3/min a litre; of 60 ml a part is solvent, a third of that goes in */
    assert_near(view.vapour.needs_m3h, view.vapour.retained_ml / 1000.0 * 3.29 * 60.0, 0.002 * view.vapour.needs_m3h);
    assert_near(view.vapour.retained_ml, view.vapour.solvent_ml * view.vapour.retained_pct / 100.0, 1e-9);
    assert_true(view.vapour.solvent_ml > 10 && view.vapour.solvent_ml < 60);
    assert_true(view.vapour.still_air_pct > 25); /* its own air would not do */
    assert_true(view.vapour.enough);
    assert_near(view.vapour.purge_min, 3, 1e-9); /* 29 CFR 1910.107(j)(4); four volumes take 1.2 min */
    struct place oven = *shop_place(scene->shop, scene->oven);
    oven.airflow_m3h = view.vapour.needs_m3h * 1.5;
    oven.airflow_measured = false; /* counts half */
    TELL(scene, shop_put_place(scene->shop, &scene->write, &oven, &id, &scene->error));
    view = view_of(scene, bake);
    assert_non_null(strstr(refusal_of(&view, BAKE_REFUSE_VAPOUR)->text, "half: not measured"));
    refuse_start(scene, bake);
    oven.airflow_measured = true;
    TELL(scene, shop_put_place(scene->shop, &scene->write, &oven, &id, &scene->error));
    start(scene, bake);
}

/* A 100 l oven at 150 C reaches a quarter of the LEL with less than 1 ml of mineral spirits: the published values in coat/solvent.h, worked out. */
static void less_than_a_millilitre_is_too_much_for_still_air(void **state)
{
    struct scene *scene = scene_of(state);
    int64_t id = 0;
    measure(scene);
    struct place oven = *shop_place(scene->shop, scene->oven);
    oven.airflow_m3h = NOT_KNOWN;
    oven.airflow_measured = false;
    TELL(scene, shop_put_place(scene->shop, &scene->write, &oven, &id, &scene->error));
    int64_t coat = put_japan(scene, scene->body, 4); /* a quarter of it less solids, a third of that: under a millilitre */
    flash_off(scene);
    int64_t bake = check(scene, load_of(scene, coat, false));
    answer_all(scene, bake);
    struct bake_view view = view_of(scene, bake);
    assert_true(view.vapour.retained_ml < 1.0);
    assert_true(view.vapour.still_air_pct > 25);
    refuse_start(scene, bake);
    oven.volume_m3 = NOT_KNOWN;
    TELL(scene, shop_put_place(scene->shop, &scene->write, &oven, &id, &scene->error));
    view = view_of(scene, bake);
    assert_non_null(strstr(refusal_of(&view, BAKE_REFUSE_OVEN)->text, "volume"));
}

/* ---- a running bake ---- */

static int64_t add_sensor(struct scene *scene, const char *name)
{
    struct sensor sensor = {.place_id = scene->oven, .kind = SENSOR_PUSH, .interval_s = 300, .measures = {[AIR_TEMP] = true}, .removed_at = MOMENT_NONE};
    int64_t id = 0;
    snprintf(sensor.name, sizeof sensor.name, "%s", name);
    snprintf(sensor.secret, sizeof sensor.secret, "%064d", 0);
    TELL(scene, shop_put_sensor(scene->shop, &scene->write, &sensor, &id, &scene->error));
    return id;
}

static void read_sensor(struct scene *scene, int64_t sensor, double temp_c)
{
    struct sensor_reading reading = {sensor, scene->write.now_ms, temp_c, NOT_KNOWN};
    struct taken taken;
    assert_int_equal(shop_take_readings(scene->shop, NULL, scene->write.now_ms, &reading, 1, &taken, &scene->error), COAT_OK);
}

/* A reading each five minutes, for so long. */
static void hold_at(struct scene *scene, int64_t sensor, double temp_c, int minutes)
{
    for (int i = 0; i < minutes / 5; i++) {
        wait_min(scene, 5);
        read_sensor(scene, sensor, temp_c);
    }
}

/* A bake that has begun, in an oven that is hot and read from the start. */
static int64_t begin_read_bake(struct scene *scene, int64_t *ret_sensor)
{
    int64_t bake = ready_bake(scene, true);
    *ret_sensor = add_sensor(scene, "oven air");
    read_sensor(scene, *ret_sensor, JAPAN_C);
    start(scene, bake);
    return bake;
}

/* The part itself is read: at exactly the temperature of a row the bake takes exactly the hours of the row. */
static void a_probe_on_the_metal_makes_the_hours_of_the_row(void **state)
{
    struct scene *scene = scene_of(state);
    measure(scene);
    int64_t coat = put_japan(scene, scene->body, 60);
    flash_off(scene);
    int64_t probe = add_sensor(scene, "probe");
    struct bake_order order = load_of(scene, coat, true);
    order.part[0].probe_id = probe;
    int64_t bake = check(scene, order);
    answer_all(scene, bake);
    read_sensor(scene, probe, JAPAN_C);
    start(scene, bake);
    hold_at(scene, probe, JAPAN_C, (int)(JAPAN_H * 60) - 5);
    struct bake_view view = view_of(scene, bake);
    assert_true(view.part[0].probed);
    assert_near(view.part[0].done, (JAPAN_H * 60 - 5) / (JAPAN_H * 60), 1e-4);
    assert_int_equal(view.state, BAKE_SOAKING);
    assert_null(told(scene, bake, BAKE_MOMENT_TURN_DOWN));
    hold_at(scene, probe, JAPAN_C, 5);
    view = view_of(scene, bake);
    assert_near(view.part[0].done, 1.0, 1e-4);
    assert_int_equal(view.state, BAKE_DONE);
}

/* The oven is read: the part lags. Lumped heat by hand: tau = density * wall / 2 * c / h. */
static void the_slowest_part_that_is_credible_decides_when_the_heat_goes_off(void **state)
{
    struct scene *scene = scene_of(state);
    int64_t sensor = 0, bake = begin_read_bake(scene, &sensor);
    int64_t started_at = scene->write.now_ms;
    double slow_min = 7200.0 * (WALL_MM / 1000.0 / 2.0) * 460.0 / 15.0 / 60.0; /* 15 W/m2K: the slow end with a fan */
    hold_at(scene, sensor, JAPAN_C, 30);
    struct bake_view view = view_of(scene, bake);
    assert_int_equal(view.reading, OVEN_READ);
    assert_near(view.part[0].lag_min.slow, slow_min, 1e-6);
    assert_near(view.part[0].part_c.slow, JAPAN_C - (JAPAN_C - 20) * exp(-30.0 / slow_min), 0.05);
    int64_t promised_at = view.turn_down_at; /* the warming up comes on top, and the hold begins when the part is there */
    assert_true(view.part[0].done_latest_at > started_at + (int64_t)(JAPAN_H * MS_PER_H) && promised_at >= view.part[0].done_latest_at);
    int minutes = 30;
    for (; minutes < 300 && !told(scene, bake, BAKE_MOMENT_TURN_DOWN); minutes += 5)
        hold_at(scene, sensor, JAPAN_C, 5);
    const struct notice *off = told(scene, bake, BAKE_MOMENT_TURN_DOWN);
    assert_non_null(off);
    view = view_of(scene, bake);
    assert_true(view.part[0].done >= 1.0 - 1e-6 && view.baked); /* by the least of the three */
    assert_true(off->raised_at >= promised_at && off->raised_at <= promised_at + 6 * MS_PER_MIN);
    assert_non_null(strstr(off->text, "turn the heat off"));
    assert_non_null(strstr(off->text, "Stay with the oven"));
}

static void an_oven_that_stops_being_read_counts_for_nothing(void **state)
{
    struct scene *scene = scene_of(state);
    int64_t sensor = 0, bake = begin_read_bake(scene, &sensor);
    hold_at(scene, sensor, JAPAN_C, 90);
    double before = view_of(scene, bake).part[0].done;
    assert_true(before > 0.2);
    wait_min(scene, 120); /* the power is out, and the sensor with it */
    struct bake_view view = view_of(scene, bake);
    assert_int_equal(view.state, BAKE_INTERRUPTED);
    assert_non_null(told(scene, bake, BAKE_MOMENT_UNREAD));
    assert_near(view.part[0].done, before, 1e-9);
    assert_true(view.part[0].worn > before + 0.8); /* it may as well have stayed hot */
    assert_int_equal(view.turn_down_at, MOMENT_NONE); /* nobody knows */
    read_sensor(scene, sensor, 60);
    wait_min(scene, 5);
    read_sensor(scene, sensor, JAPAN_C);
    hold_at(scene, sensor, JAPAN_C, 60);
    view = view_of(scene, bake);
    assert_int_equal(view.state, BAKE_SOAKING);
    assert_null(told(scene, bake, BAKE_MOMENT_UNREAD)); /* over */
    assert_true(view.part[0].done > before && view.part[0].done < 1.0);
    assert_true(view.unknown_min > 115 && view.unknown_min < 126);
}

/* Its thermometer was plugged in a little late: that is no reason to cry "too long". */
static void a_sensor_that_comes_late_raises_no_false_alarm(void **state)
{
    struct scene *scene = scene_of(state);
    int64_t bake = ready_bake(scene, true), sensor = add_sensor(scene, "oven air");
    start(scene, bake);
    wait_min(scene, 10);
    read_sensor(scene, sensor, JAPAN_C);
    hold_at(scene, sensor, JAPAN_C, 30);
    struct bake_view view = view_of(scene, bake);
    assert_int_equal(view.part[0].excess, BAKE_EXCESS_NONE);
    assert_null(told(scene, bake, BAKE_MOMENT_TOO_LONG));
    assert_true(view.part[0].worn > view.part[0].done); /* it may have been hot all the while */
    assert_near(view.unknown_min, 10, 0.1);
}

static void an_oven_that_is_not_read_is_taken_to_do_as_it_was_told(void **state)
{
    struct scene *scene = scene_of(state);
    int64_t bake = ready_bake(scene, false);
    start(scene, bake);
    struct bake_view view = view_of(scene, bake);
    assert_int_equal(view.reading, OVEN_UNREAD);
    int64_t off_at = view.turn_down_at;
    wait_min(scene, 180);
    view = view_of(scene, bake);
    assert_int_equal(view.turn_down_at, off_at); /* it stands while the facts do */
    assert_near(view.assumed_min, 180, 0.1);
    wait_min(scene, (double)(off_at - MS_PER_MIN - scene->write.now_ms) / MS_PER_MIN);
    assert_null(told(scene, bake, BAKE_MOMENT_TURN_DOWN));
    wait_min(scene, 2);
    const struct notice *off = told(scene, bake, BAKE_MOMENT_TURN_DOWN);
    assert_non_null(off);
    assert_true(off->assumed); /* "test first" */
    assert_non_null(strstr(off->text, "test first"));
    assert_true(off->raised_at >= off_at);
}

/* A person reads it now and then: between, the least that it can have been counts. */
static void a_reading_by_hand_overrules_the_programme(void **state)
{
    struct scene *scene = scene_of(state);
    int64_t bake = ready_bake(scene, true);
    start(scene, bake);
    wait_min(scene, 60);
    double as_told = view_of(scene, bake).part[0].done;
    read_air(scene, scene->oven, 110); /* the thermostat lies: nothing bakes below 120 C */
    struct bake_view view = view_of(scene, bake);
    assert_int_equal(view.reading, OVEN_BY_HAND);
    assert_true(as_told > 0.1);
    assert_near(view.part[0].done, 0.0, 1e-9);
    assert_true(view.part[0].worn >= as_told); /* it may have been hot until just now */
    wait_min(scene, 20);
    read_air(scene, scene->oven, JAPAN_C);
    for (int i = 0; i < 4; i++) {
        wait_min(scene, 30);
        read_air(scene, scene->oven, JAPAN_C);
    }
    view = view_of(scene, bake);
    assert_true(view.part[0].done > 0.5 && view.part[0].done < 1.0);
    assert_true(view.known_min > 130);
}

/* Read hotter than it was told to be, it may have stayed so: the part is told from the least that it can have now to the most. */
static void a_part_is_told_as_hot_as_it_may_be(void **state)
{
    struct scene *scene = scene_of(state);
    int64_t bake = ready_bake(scene, true);
    start(scene, bake);
    wait_min(scene, 90);
    read_air(scene, scene->oven, JAPAN_C + 40.0);
    wait_min(scene, 40);
    struct bake_range now_c = view_of(scene, bake).part[0].part_c;
    assert_true(fmin(now_c.quick, now_c.slow) < JAPAN_C + 2.0);
    assert_true(fmax(now_c.quick, now_c.slow) > JAPAN_C + 25.0);
}

static void restart(struct scene *scene)
{
    reopen(scene);
    turn(scene);
}

static void a_restart_at_once_changes_nothing(void **state)
{
    struct scene *scene = scene_of(state);
    int64_t bake = ready_bake(scene, false);
    start(scene, bake);
    wait_min(scene, 100);
    double before = view_of(scene, bake).part[0].done;
    scene->write.now_ms += 2 * MS_PER_MIN;
    restart(scene);
    struct bake_view view = view_of(scene, bake);
    assert_null(view.gap);
    assert_true(view.part[0].done >= before);
}

static void what_an_unread_oven_did_while_the_service_was_off_is_not_known(void **state)
{
    struct scene *scene = scene_of(state);
    int64_t bake = ready_bake(scene, false);
    start(scene, bake);
    wait_min(scene, 120);
    double before = view_of(scene, bake).part[0].done;
    assert_true(before > 0.1);
    scene->write.now_ms += 3 * MS_PER_H; /* the power was out */
    restart(scene);
    struct bake_view view = view_of(scene, bake);
    assert_int_equal(view.state, BAKE_INTERRUPTED);
    assert_non_null(view.gap);
    assert_non_null(told(scene, bake, BAKE_MOMENT_INTERRUPTED));
    assert_null(told(scene, bake, BAKE_MOMENT_TURN_DOWN));
    assert_true(view.part[0].done <= before + 0.05);
    wait_min(scene, 60);
    assert_near(view_of(scene, bake).part[0].done, view.part[0].done, 1e-9); /* nothing counts until somebody says so */
    TELL(scene, shop_bake_resume(scene->shop, &scene->write, bake, &scene->error));
    assert_null(told(scene, bake, BAKE_MOMENT_INTERRUPTED));
    wait_min(scene, 60);
    struct bake_view again = view_of(scene, bake);
    assert_true(again.state == BAKE_SOAKING && again.part[0].done >= view.part[0].done);
    wait_min(scene, 120);
    assert_true(view_of(scene, bake).part[0].done > view.part[0].done + 0.2);
    REFUSE(scene, COAT_CONFLICT, "", shop_bake_resume(scene->shop, &scene->write, bake, &scene->error)); /* it is not interrupted */
}

/* The disk is full: the shop is turned all the same, each minute, and cannot record it. */
static void turn_in_vain(struct scene *scene, int minutes)
{
    int64_t next = 0;
    give_room(1);
    for (int i = 0; i < minutes; i++) {
        scene->write.now_ms += MS_PER_MIN;
        enum coat_result result = shop_turn(scene->shop, scene->write.now_ms, &next, &scene->error);
        assert_true(result == COAT_OK || result == COAT_STORE_FULL);
    }
    give_room(RLIM_INFINITY);
}

static void a_full_disk_is_not_a_time_without_the_service(void **state)
{
    struct scene *scene = scene_of(state);
    int64_t bake = ready_bake(scene, false);
    start(scene, bake);
    wait_min(scene, 60);
    turn_in_vain(scene, 40);
    turn(scene);
    assert_null(view_of(scene, bake).gap); /* it did run, and saw the clock go on */
    assert_null(told(scene, bake, BAKE_MOMENT_INTERRUPTED));
    turn_in_vain(scene, 20);
    int64_t asleep_at = scene->write.now_ms;
    scene->write.now_ms += 30 * MS_PER_MIN;
    turn_in_vain(scene, 20);
    turn(scene);
    assert_non_null(view_of(scene, bake).gap); /* but then it slept, and that is told once it can be */
    assert_int_equal(view_of(scene, bake).gap->from_at, asleep_at);
    assert_non_null(told(scene, bake, BAKE_MOMENT_INTERRUPTED));
}

static void ramps_and_holds_are_told_one_by_one(void **state)
{
    struct scene *scene = scene_of(state);
    measure(scene);
    int64_t coat = put_japan(scene, scene->body, 60);
    flash_off(scene);
    struct bake_order order = load_of(scene, coat, false);
    order.steps = 2;
    order.step[0] = (struct bake_step){90, 20, 30};
    order.step[1] = (struct bake_step){JAPAN_C, 15, NOT_KNOWN};
    int64_t bake = check(scene, order);
    answer_all(scene, bake);
    start(scene, bake);
    struct bake_view view = view_of(scene, bake);
    assert_true(view.programme.ends_min[0] > 50); /* 20 up, the part's lag, 30 held */
    wait_min(scene, view.programme.ends_min[0] - 1);
    assert_null(told(scene, bake, BAKE_MOMENT_NEXT_STEP));
    wait_min(scene, 2);
    const struct notice *next = told(scene, bake, BAKE_MOMENT_NEXT_STEP);
    assert_non_null(next);
    assert_non_null(strstr(next->text, "set the oven to 149 C"));
}

static void too_hot_and_too_long_are_told(void **state)
{
    struct scene *scene = scene_of(state);
    int64_t sensor = 0, bake = begin_read_bake(scene, &sensor);
    hold_at(scene, sensor, JAPAN_C, 235);
    assert_null(told(scene, bake, BAKE_MOMENT_TOO_LONG));
    hold_at(scene, sensor, JAPAN_C, 25); /* twice the 2 h of its row, by the quickest part: its limit where the label has none */
    assert_non_null(told(scene, bake, BAKE_MOMENT_TOO_LONG));
    assert_null(told(scene, bake, BAKE_MOMENT_TOO_HOT));
    hold_at(scene, sensor, 180, 40); /* 15 C above the hottest row is too hot */
    const struct notice *hot = told(scene, bake, BAKE_MOMENT_TOO_HOT);
    assert_non_null(hot);
    assert_int_equal(view_of(scene, bake).part[0].excess, BAKE_EXCESS_HOT);
}

/* The japan again, as a tin of the shop's own: its label prints 1.5 times the time of its row as too long, and 156 C as too hot. */
static int64_t put_labelled_japan(struct scene *scene)
{
    struct material label = shop_material_version(scene->shop, builtin_version(scene->shop, CLASS_BAKING_JAPAN))->material;
    int64_t material = 0;
    strcpy(label.name, "black japan, small tin");
    label.bake_too_hot_c = JAPAN_C + 7;
    label.bake_too_long_c = JAPAN_C;
    label.bake_too_long_h = 1.5 * JAPAN_H;
    TELL(scene, shop_put_material(scene->shop, &scene->write, 0, &label, &material, &scene->error));
    struct coat coat = a_coat(scene);
    coat.material_version_id = shop_material_newest(scene->shop, material)->id;
    coat.first_at = coat.last_at = scene->write.now_ms;
    coat.amount_ml = 60;
    return told_coat(scene, coat, scene->body);
}

static void what_its_label_calls_too_much_speaks_against_it(void **state)
{
    struct scene *scene = scene_of(state);
    measure(scene);
    struct bake_order order = load_of(scene, put_labelled_japan(scene), true);
    flash_off(scene);
    order.step[0].target_c = JAPAN_C + 7;
    struct bake_view view = view_of(scene, check(scene, order));
    assert_non_null(strstr(refusal_of(&view, BAKE_REFUSE_TOO_HOT)->text, "156 C is too hot for it (by its label)"));
    order.step[0] = (struct bake_step){JAPAN_C, 0.0, 1.5 * JAPAN_H * 60.0};
    view = view_of(scene, check(scene, order));
    assert_non_null(strstr(refusal_of(&view, BAKE_REFUSE_TOO_LONG)->text, "3 h at 149 C is too long for it (by its label)"));
    order.step[0].hold_min -= 1.0;
    int64_t bake = check(scene, order);
    answer_all(scene, bake);
    assert_int_equal(view_of(scene, bake).refusals, 0);
    start(scene, bake);
    wait_min(scene, 60 * 1.5 * JAPAN_H + 40);
    const struct notice *notice = told(scene, bake, BAKE_MOMENT_TOO_LONG);
    assert_non_null(notice);
    assert_true(notice->raised_at - view_of(scene, bake).bake->started_at < (int64_t)(2.0 * JAPAN_H * 60 * MS_PER_MIN)); /* common practice is later */
}

/* ---- its end ---- */

static void a_hand_waits_until_the_slowest_part_is_cool(void **state)
{
    struct scene *scene = scene_of(state);
    int64_t bake = ready_bake(scene, true);
    struct bake_view view;
    start(scene, bake);
    wait_min(scene, 240);
    TELL(scene, shop_bake_stop(scene->shop, &scene->write, bake, scene->write.now_ms, "", &scene->error));
    int64_t ended_at = scene->write.now_ms;
    view = view_of(scene, bake);
    assert_int_equal(view.state, BAKE_COOLING);
    assert_true(view.baked);
    double slow_min = 7200.0 * (WALL_MM / 1000.0 / 2.0) * 460.0 / 5.0 / 60.0; /* 5 W/m2K: still room air, coat/warm.h */
    double minutes = slow_min * log((JAPAN_C - 20.0) / (43.0 - 20.0));         /* 43 C: ISO 13732-1, from memory */
    assert_near((double)(view.cool_latest_at - ended_at) / MS_PER_MIN, minutes, 0.1);
    assert_null(told(scene, bake, BAKE_MOMENT_COOL));
    wait_min(scene, minutes - 1);
    assert_null(told(scene, bake, BAKE_MOMENT_COOL));
    wait_min(scene, 2);
    assert_non_null(told(scene, bake, BAKE_MOMENT_COOL));
    assert_int_equal(view_of(scene, bake).state, BAKE_COLD);
    struct coat_view coat;
    assert_true(shop_coat_view(scene->shop, view.part[0].coat->id, scene->write.now_ms, &coat));
    assert_true(coat.bake.baked);
    assert_int_equal(coat.condition, CONDITION_HARD);
}

static bool is_listed_of(struct scene *scene, int64_t piece, enum list_kind list, enum stage stage)
{
    size_t count;
    const struct list_row *rows = shop_lists(scene->shop, scene->write.now_ms, &count);
    for (size_t i = 0; i < count; i++)
        if (rows[i].list == list && rows[i].stage == stage && rows[i].piece_id == piece)
            return true;
    return false;
}

static bool is_listed(struct scene *scene, enum list_kind list, enum stage stage)
{
    return is_listed_of(scene, scene->body, list, stage);
}

static int64_t put_on_area(struct scene *scene, enum material_class material, const char *area)
{
    struct coat coat = a_coat(scene);
    coat.material_version_id = builtin_version(scene->shop, material);
    coat.first_at = coat.last_at = scene->write.now_ms;
    snprintf(coat.area, sizeof coat.area, "%s", area);
    return told_coat(scene, coat, scene->wheel);
}

/* One area was baked; the other is as hot as that, whatever its own window says. */
static void nothing_is_done_on_a_hot_piece(void **state)
{
    struct scene *scene = scene_of(state);
    int64_t id = 0;
    measure(scene);
    put_on_area(scene, CLASS_ALKYD_PRIMER, "rim");
    int64_t japan = put_on_area(scene, CLASS_BAKING_JAPAN, "hub");
    for (int i = 0; i < 8; i++)
        flash_off(scene);
    assert_true(is_listed_of(scene, scene->wheel, LIST_NOW, STAGE_RECOAT));
    struct bake_order order = load_of(scene, japan, true);
    order.bake.started_at = scene->write.now_ms - 3 * MS_PER_H;
    order.bake.ended_at = scene->write.now_ms - MS_PER_MIN;
    TELL(scene, shop_bake_log(scene->shop, &scene->write, &order, &id, &scene->error));
    assert_int_equal(view_of(scene, id).state, BAKE_COOLING);
    assert_false(is_listed_of(scene, scene->wheel, LIST_NOW, STAGE_RECOAT));
    assert_true(is_listed_of(scene, scene->wheel, LIST_NOT_YET, STAGE_HANDLE));
    wait_min(scene, 240);
    assert_int_equal(view_of(scene, id).state, BAKE_COLD);
    assert_true(is_listed_of(scene, scene->wheel, LIST_NOW, STAGE_RECOAT));
}

static void what_came_out_too_early_may_go_in_again(void **state)
{
    struct scene *scene = scene_of(state);
    int64_t bake = ready_bake(scene, true);
    assert_true(is_listed(scene, LIST_NOW, STAGE_BAKE));
    start(scene, bake);
    assert_false(is_listed(scene, LIST_NOW, STAGE_BAKE));
    assert_true(is_listed(scene, LIST_NOT_YET, STAGE_HANDLE)); /* hot */
    wait_min(scene, 60);
    TELL(scene, shop_bake_stop(scene->shop, &scene->write, bake, scene->write.now_ms, "the fuse blew", &scene->error));
    wait_min(scene, 12 * 60);
    assert_false(view_of(scene, bake).baked);
    assert_true(is_listed(scene, LIST_NOW, STAGE_BAKE));
    assert_false(is_listed(scene, LIST_NOT_YET, STAGE_HANDLE));
    REFUSE(scene, COAT_CONFLICT, "", shop_bake_stop(scene->shop, &scene->write, bake, scene->write.now_ms, "", &scene->error));
}

static void a_bake_already_done_is_marked_as_without_review(void **state)
{
    struct scene *scene = scene_of(state);
    measure(scene);
    int64_t coat = put_japan(scene, scene->body, NOT_KNOWN), id = 0;
    flash_off(scene);
    struct bake_order order = load_of(scene, coat, true);
    order.bake.started_at = scene->write.now_ms - 5 * MS_PER_H;
    order.bake.ended_at = scene->write.now_ms - MS_PER_H;
    TELL(scene, shop_bake_log(scene->shop, &scene->write, &order, &id, &scene->error));
    struct bake_view view = view_of(scene, id);
    assert_false(view.bake->reviewed);
    assert_true(view.baked); /* four hours at 149 C, as it was told */
    assert_int_equal(view.refusals, 0);
    order.bake.ended_at = order.bake.started_at;
    REFUSE(scene, COAT_BAD_VALUE, "ended_at", shop_bake_log(scene->shop, &scene->write, &order, &id, &scene->error));
}

static void a_bake_carries_its_cautions(void **state)
{
    struct scene *scene = scene_of(state);
    int64_t bake = ready_bake(scene, false);
    start(scene, bake);
    wait_min(scene, 420);
    struct bake_view view = view_of(scene, bake);
    struct notice_view notice;
    bool bake_caution = false, label = false;
    assert_true(shop_notice_view(scene->shop, told(scene, bake, BAKE_MOMENT_TURN_DOWN)->id, scene->write.now_ms, &notice));
    for (unsigned i = 0; i < view.cautions.count; i++)
        bake_caution |= view.cautions.code[i] == CAUTION_BAKE;
    for (unsigned i = 0; i < notice.cautions.count; i++)
        label |= notice.cautions.code[i] == CAUTION_BAKE;
    assert_true(bake_caution && label);
    assert_true(notice.safety); /* quiet hours hold back nothing of a hot oven */
    assert_non_null(strstr(notice.text, "The label comes first"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        SCENE_TEST(an_unanswered_review_begins_nothing),
        SCENE_TEST(each_answer_is_kept_with_its_time_and_asked_again_the_next_day),
        SCENE_TEST(what_the_heat_would_ruin_comes_off_first),
        SCENE_TEST(a_coat_that_has_not_flashed_off_stays_out_of_the_oven),
        SCENE_TEST(an_enamel_below_does_not_stand_the_heat),
        SCENE_TEST(an_old_finish_with_lead_is_not_baked),
        SCENE_TEST(bad_loads_are_named_and_nothing_is_begun),
        SCENE_TEST(without_an_amount_the_vapour_is_not_known_and_that_refuses),
        SCENE_TEST(the_measured_exhaust_decides_by_the_rate_of_batch_ovens),
        SCENE_TEST(less_than_a_millilitre_is_too_much_for_still_air),
        SCENE_TEST(a_probe_on_the_metal_makes_the_hours_of_the_row),
        SCENE_TEST(the_slowest_part_that_is_credible_decides_when_the_heat_goes_off),
        SCENE_TEST(an_oven_that_stops_being_read_counts_for_nothing),
        SCENE_TEST(a_sensor_that_comes_late_raises_no_false_alarm),
        SCENE_TEST(an_oven_that_is_not_read_is_taken_to_do_as_it_was_told),
        SCENE_TEST(a_reading_by_hand_overrules_the_programme),
        SCENE_TEST(a_part_is_told_as_hot_as_it_may_be),
        SCENE_TEST(a_restart_at_once_changes_nothing),
        SCENE_TEST(what_an_unread_oven_did_while_the_service_was_off_is_not_known),
        SCENE_TEST(a_full_disk_is_not_a_time_without_the_service),
        SCENE_TEST(ramps_and_holds_are_told_one_by_one),
        SCENE_TEST(too_hot_and_too_long_are_told),
        SCENE_TEST(what_its_label_calls_too_much_speaks_against_it),
        SCENE_TEST(a_hand_waits_until_the_slowest_part_is_cool),
        SCENE_TEST(nothing_is_done_on_a_hot_piece),
        SCENE_TEST(what_came_out_too_early_may_go_in_again),
        SCENE_TEST(a_bake_already_done_is_marked_as_without_review),
        SCENE_TEST(a_bake_carries_its_cautions),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
