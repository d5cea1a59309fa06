/* Facts in any order give the same answers: after a restart, after a late reading or an amended coat, all is as if it had always been
 * so. Random histories are played as they happen, and again with everything entered at the end in plain order. The garage has two sensors
 * of its own, one of them a thermometer alone, that fall silent and send late; what the judge let through is copied as it stands. */
#include "daemon/shop/model.h"
#include "tests/shop/write_scene.h"
#include "daemon/store/store.h"
#include "tests/unit/seed.h"

#define EVENTS 120
#define READINGS_MOST 4000

struct history {
    uint64_t seed;
    struct scene *scene;
    int64_t now;
    struct reading reading[2][READINGS_MOST]; /* what the sensors of garage and cellar gave, sorted, each moment once */
    size_t readings[2];
    int64_t sensor[2]; /* of the garage */
};

/* ---- all answers as text ---- */

static void print_band(FILE *out, const struct moment_band *band)
{
    fprintf(out, " %d/%lld/%lld/%lld", band->passed, (long long)band->earliest_at, (long long)band->likely_at,
            (long long)band->latest_at);
}

static void print_stage(FILE *out, const struct stage_view *stage)
{
    fprintf(out, "  %s %s %s %.17g %.17g span %u of %u air %.17g+%.17g %d%d%d%d\n   ", stage_word(stage->stage),
            state_word(stage->state), stall_word(stage->stall), stage->progress, stage->progress_per_h, stage->current,
            stage->spans, stage->measured_h, stage->assumed_h, stage->assumed, stage->disputed, stage->no_window,
            stage->prepared);
    for (unsigned i = 0; i < stage->spans; i++)
        if (stage->span[i].ends)
            print_band(out, &stage->span[i].until);
    fprintf(out, "\n");
}

static char *answers_of(struct shop *shop, int64_t now)
{
    char *text = NULL;
    size_t size = 0, coats = 0, rows = 0;
    FILE *out = open_memstream(&text, &size);
    const struct coat *coat = shop_coats(shop, &coats);
    for (; coats-- > 0; coat++) {
        struct coat_view view;
        assert_true(shop_coat_view(shop, coat->id, now, &view));
        fprintf(out, "coat %lld %s by %lld at %lld %s %s inspect %d place %lld air %.17g %.17g %d\n", (long long)coat->id,
                coat_status_word(view.status), (long long)view.covered_by,
                view.status == COAT_STRUCK ? 0 : (long long)view.ended_at, /* struck when it was said: that differs */
                coat_condition_word(view.condition), stall_word(view.stall), view.inspect, (long long)view.place_id,
                view.air_temp_c, view.air_rh_pct, (int)view.air_basis);
        for (unsigned i = 0; i < view.stages; i++)
            print_stage(out, &view.stage[i]);
        for (unsigned i = 0; i < view.stills; i++)
            fprintf(out, "  still %lld to %lld %s\n", (long long)view.still[i].from_ms, (long long)view.still[i].to_ms, stall_word(view.still[i].why));
        fprintf(out, "  k %.17g under %.17g\n", view.k, view.film_under);
    }
    const struct list_row *row = shop_lists(shop, now, &rows);
    for (; rows-- > 0; row++)
        fprintf(out, "%s: coat %lld %s %s %s\n", list_kind_word(row->list), (long long)row->coat_id, stage_word(row->stage),
                state_word(row->state), span_do_word(row->does));
    fclose(out);
    return text;
}

static void same_text(const char *what, char *found, char *expected)
{
    if (strcmp(found, expected) != 0) {
        size_t at = 0;
        while (found[at] == expected[at])
            at++;
        size_t line = at;
        while (line > 0 && found[line - 1] != '\n')
            line--;
        fail_msg("%s differ: found\n%.400s\nexpected\n%.400s", what, found + line, expected + line);
    }
    free(found);
    free(expected);
}

/* ---- playing ---- */

static double between(struct history *h, double low, double high)
{
    return seed_between(&h->seed, low, high);
}

static unsigned pick(struct history *h, unsigned count)
{
    return (unsigned)(seed_next(&h->seed) % count);
}

static void keep_reading(struct history *h, unsigned place, struct reading reading)
{
    struct reading *r = h->reading[place];
    size_t at = h->readings[place];
    while (at > 0 && r[at - 1].at_ms > reading.at_ms)
        at--;
    if (at > 0 && r[at - 1].at_ms == reading.at_ms) {
        r[at - 1] = reading;
        return;
    }
    assert_true(h->readings[place] < READINGS_MOST);
    memmove(&r[at + 1], &r[at], (h->readings[place] - at) * sizeof *r);
    r[at] = reading;
    h->readings[place]++;
}

static struct reading air_at(struct history *h, int64_t at)
{
    double hour = (double)at / (double)MS_PER_H;
    double temp = 16 + 5 * sin(hour * 0.2618) + between(h, -1, 1), rh = 62 - 8 * sin(hour * 0.2618) + between(h, -5, 5);
    if (pick(h, 25) == 0)
        temp -= 12; /* a cold draught: below what most materials cure in */
    return (struct reading){at, (int32_t)lround(temp * 1000), (int32_t)lround(rh * 1000), READING_HOLD_BY_HAND_S};
}

static void enter_readings(struct history *h, bool late)
{
    struct reading batch[40];
    size_t count = 1 + pick(h, 30);
    unsigned place = pick(h, 2);
    int64_t at = h->now - (late ? (int64_t)between(h, 1, 120) * MS_PER_H : 0);
    int64_t every = (int64_t)between(h, 1, pick(h, 5) ? 60 : 400) * MS_PER_MIN;
    for (size_t i = 0; i < count; i++) {
        batch[i] = air_at(h, at - (int64_t)i * every);
        keep_reading(h, place, batch[i]);
    }
    struct scene *s = h->scene;
    h->scene->write.now_ms = h->now;
    TELL(s, shop_enter_air(s->shop, &s->write, place ? s->cellar : s->garage, batch, count, &s->error));
}

/* A few readings of one of the sensors, sometimes hours late. */
static void sensors_send(struct history *h)
{
    struct sensor_reading batch[12];
    struct taken taken;
    size_t count = 1 + pick(h, 12);
    unsigned which = pick(h, 2);
    int64_t at = h->now - (pick(h, 4) == 0 ? (int64_t)between(h, 1, 40) * MS_PER_H : 0);
    int64_t every = (int64_t)between(h, 1, 25) * MS_PER_MIN;
    for (size_t i = 0; i < count; i++) {
        struct reading air = air_at(h, at - (int64_t)(count - 1 - i) * every);
        batch[i] = (struct sensor_reading){h->sensor[which], air.at_ms, air.temp_mc / 1000.0, air.rh_mp / 1000.0};
    }
    enum coat_result result = shop_take_readings(h->scene->shop, NULL, h->now, batch, count, &taken, &h->scene->error);
    assert_int_equal(result, COAT_OK);
}

static void log_coat(struct history *h)
{
    static const enum material_class classes[] = {CLASS_ALKYD_ENAMEL, CLASS_SPRAY_ENAMEL, CLASS_EPOXY_PRIMER, CLASS_SIZE_QUICK,
                                                  CLASS_WATERBORNE,   CLASS_LACQUER,      CLASS_POLYURETHANE};
    struct scene *s = h->scene;
    s->write.now_ms = h->now;
    struct coat coat = a_coat(s);
    coat.material_version_id = builtin_version(s->shop, classes[pick(h, sizeof classes / sizeof *classes)]);
    coat.first_at = h->now - (int64_t)between(h, 0, pick(h, 4) ? 60 : 3000) * MS_PER_MIN;
    coat.last_at = coat.first_at + (int64_t)between(h, 0, 1) * MS_PER_MIN;
    coat.film = (enum film)pick(h, FILM_COUNT);
    told_coat(s, coat, pick(h, 2) ? s->body : s->wheel);
}

static int64_t any_coat(struct history *h)
{
    size_t count;
    const struct coat *coats = shop_coats(h->scene->shop, &count);
    return count ? coats[pick(h, (unsigned)count)].id : 0;
}

static void amend(struct history *h)
{
    struct scene *s = h->scene;
    const struct coat *found = shop_coat(s->shop, any_coat(h));
    if (!found || found->struck_at != MOMENT_NONE)
        return;
    struct coat entry = *found;
    s->write.now_ms = h->now;
    entry.film = (enum film)pick(h, FILM_COUNT);
    entry.first_at -= (int64_t)between(h, 0, 90) * MS_PER_MIN;
    TELL(s, shop_amend_coat(s->shop, &s->write, &entry, &s->error));
}

/* Refusals are fine here: what counts is that what was taken gives the same answers. */
static void strike_sand_or_strip(struct history *h)
{
    struct scene *s = h->scene;
    int64_t id = any_coat(h), made;
    s->write.now_ms = h->now;
    const struct coat *coat = shop_coat(s->shop, id);
    if (!coat)
        return;
    enum coat_result result = COAT_OK;
    struct stripping strip = {.piece_id = coat->piece_id, .at = h->now, .down_to_coat_id = pick(h, 2) ? id : 0};
    unsigned what = pick(h, 8);
    if (what == 0)
        result = shop_strike_coat(s->shop, &s->write, id, "logged on the wrong piece", &s->error);
    else if (what == 1)
        result = shop_strip_piece(s->shop, &s->write, &strip, &made, &s->error);
    else
        result = shop_sand_coat(s->shop, &s->write, id, h->now, &made, &s->error);
    assert_true(result == COAT_OK || result == COAT_CONFLICT || result == COAT_BAD_VALUE);
}

/* A bench test, now or told late. */
static void test_coat(struct history *h)
{
    struct scene *s = h->scene;
    const struct coat *coat = shop_coat(s->shop, any_coat(h));
    static const enum stage stages[] = {STAGE_TOUCH, STAGE_TACK_FREE, STAGE_HANDLE, STAGE_RECOAT, STAGE_LEAF};
    if (!coat)
        return;
    int64_t id;
    struct bench_test test = {.coat_id = coat->id, .stage = stages[pick(h, 5)], .passed = pick(h, 2) == 0,
                              .at = h->now - (int64_t)between(h, 0, 300) * MS_PER_MIN};
    s->write.now_ms = h->now;
    enum coat_result result = shop_test_coat(s->shop, &s->write, &test, &id, &s->error);
    assert_true(result == COAT_OK || result == COAT_CONFLICT || result == COAT_BAD_VALUE);
}

static void move(struct history *h)
{
    struct scene *s = h->scene;
    int64_t made, at = h->now - (int64_t)between(h, 0, 600) * MS_PER_MIN;
    s->write.now_ms = h->now;
    enum coat_result result = shop_move_piece(s->shop, &s->write, pick(h, 2) ? s->body : s->wheel,
                                              pick(h, 2) ? s->garage : s->cellar, at, &made, &s->error);
    assert_true(result == COAT_OK || result == COAT_CONFLICT);
}

static void let_time_pass(struct history *h)
{
    int64_t next;
    h->now += (int64_t)between(h, 1, pick(h, 3) ? 120 : 1500) * MS_PER_MIN;
    assert_int_equal(shop_turn(h->scene->shop, h->now, &next, NULL), COAT_OK);
    assert_true(next == MOMENT_NONE || next > h->now);
}

static void restart(struct history *h)
{
    struct scene *s = h->scene;
    char *before = answers_of(s->shop, h->now);
    shop_close(s->shop);
    s->write.now_ms = h->now;
    s->shop = opened_shop(s);
    same_text("answers after a restart", answers_of(s->shop, h->now), before);
}

/* Readings that are at hand, and answers about them: dropping them changes no answer. */
static void forget(struct history *h)
{
    struct shop *shop = h->scene->shop;
    char *before = answers_of(shop, h->now);
    for (size_t i = 0; i < shop->airs.count; i++) {
        place_air_forget_all(shop->airs.item[i]);
        for (size_t k = 0; k < shop->airs.item[i]->ledgers; k++)
            ledger_forget_answers(shop->airs.item[i]->ledger[k]);
    }
    same_text("answers after what was at hand is dropped", answers_of(shop, h->now), before);
}

static void play(struct history *h)
{
    for (int i = 0; i < EVENTS; i++) {
        switch (pick(h, 15)) {
        case 12: test_coat(h); break;
        case 13: case 14: sensors_send(h); break;
        case 0: case 1: log_coat(h); break;
        case 2: enter_readings(h, true); break;
        case 3: amend(h); break;
        case 4: strike_sand_or_strip(h); break;
        case 5: move(h); break;
        case 6: if (pick(h, 4) == 0) restart(h); else forget(h); break;
        case 7: case 8: let_time_pass(h); break;
        default: enter_readings(h, false);
        }
    }
}

/* ---- the same facts, entered at the end in plain order ---- */

static void copy_coats(struct history *h, struct scene *to)
{
    size_t count;
    const struct coat *coats = shop_coats(h->scene->shop, &count);
    for (size_t i = 0; i < count; i++) {
        struct coat coat = coats[i];
        coat.struck_at = MOMENT_NONE;
        assert_int_equal(told_coat(to, coat, coat.piece_id), coats[i].id);
        if (coats[i].struck_at != MOMENT_NONE)
            TELL(to, shop_strike_coat(to->shop, &to->write, coats[i].id, coats[i].struck_why, &to->error));
    }
}

static void copy_moves(struct history *h, struct scene *to)
{
    size_t count;
    const struct move *moves = shop_moves(h->scene->shop, &count);
    for (size_t i = 0; i < count; i++)
        if (moves[i].at > NOW - MS_PER_H) /* the furnishing made the first ones */
            if (shop_piece_place(to->shop, moves[i].piece_id, moves[i].at) != moves[i].place_id)
                told_move(to, moves[i].piece_id, moves[i].place_id, moves[i].at);
}

static void copy_readings(struct history *h, struct scene *to)
{
    for (unsigned place = 0; place < 2; place++)
        if (h->readings[place] > 0)
            TELL(to, shop_enter_air(to->shop, &to->write, place ? to->cellar : to->garage, h->reading[place],
                                    h->readings[place], &to->error));
}

static void hang_sensors(struct scene *scene, int64_t sensor[2])
{
    struct sensor bench = {.place_id = scene->garage, .name = "bench", .kind = SENSOR_PUSH, .position = -1, .interval_s = 300, .measures = {true, true}};
    struct sensor thermometer = {.place_id = scene->garage, .name = "thermometer", .kind = SENSOR_PUSH, .position = -1, .interval_s = 900,
                                 .measures = {[AIR_TEMP] = true}};
    TELL(scene, shop_put_sensor(scene->shop, &scene->write, &bench, &sensor[0], &scene->error));
    TELL(scene, shop_put_sensor(scene->shop, &scene->write, &thermometer, &sensor[1], &scene->error));
}

/* What counts of each sensor, from one file to the other. */
static void copy_sensor_readings(struct history *h, struct store *to)
{
    struct store *from;
    struct scene *s = h->scene;
    struct reading *readings = NULL;
    size_t capacity = 0;
    shop_close(s->shop);
    assert_int_equal(store_open(s->file, h->now, &from, &s->error), COAT_OK);
    for (unsigned i = 0; i < 2; i++) {
        size_t count = 0;
        assert_int_equal(store_readings(from, h->sensor[i], 0, 0, INT64_MAX, &readings, &capacity, &count), COAT_OK);
        assert_int_equal(store_reading_put(to, h->sensor[i], readings, count), COAT_OK);
    }
    free(readings);
    assert_int_equal(shop_open(from, h->now, &s->shop, &s->error), COAT_OK);
}

/* Sandings and strippings are facts of a coat that was on: they go in as they stood, past the checks, through the store. */
static void copy_rest(struct history *h, struct scene *to)
{
    size_t sandings, strippings;
    const struct sanding *sanding = shop_sandings(h->scene->shop, &sandings);
    const struct stripping *stripping = shop_strippings(h->scene->shop, &strippings);
    struct store *store;
    shop_close(to->shop);
    assert_int_equal(store_open(to->file, to->write.now_ms, &store, &to->error), COAT_OK);
    assert_int_equal(store_begin(store), COAT_OK);
    int64_t id;
    for (size_t i = 0; i < sandings; i++)
        assert_int_equal(store_sanding_add(store, &sanding[i], &id), COAT_OK);
    size_t tests;
    const struct bench_test *test = shop_bench_tests(h->scene->shop, &tests);
    for (size_t i = 0; i < tests; i++)
        assert_int_equal(store_bench_test_add(store, &test[i], &id), COAT_OK);
    for (size_t i = 0; i < strippings; i++)
        assert_int_equal(store_stripping_add(store, &stripping[i], &id), COAT_OK);
    copy_sensor_readings(h, store);
    assert_int_equal(store_commit(store), COAT_OK);
    assert_int_equal(shop_open(store, to->write.now_ms, &to->shop, &to->error), COAT_OK);
}

/* ---- what must hold of notices ---- */

static const struct span_view *end_of(const struct coat_view *view, const struct notice *notice)
{
    for (unsigned i = 0; i < view->stages; i++)
        if (view->stage[i].stage == notice->stage)
            return &view->stage[i].span[notice->boundary];
    return NULL;
}

static void check_notices(struct history *h)
{
    size_t count;
    const struct notice *notices = shop_notices(h->scene->shop, &count);
    for (size_t i = 0; i < count; i++) {
        const struct notice *n = &notices[i];
        struct coat_view view;
        if (n->coat_id == 0)
            continue; /* of the air itself: test_sensors.c */
        if (n->kind != NOTICE_CLOSING && n->kind != NOTICE_CORRECTION)
            assert_true(n->due_at <= n->raised_at); /* never early */
        for (size_t k = i + 1; k < count; k++)
            assert_false(notices[k].coat_id == n->coat_id && notices[k].stage == n->stage && notices[k].boundary == n->boundary &&
                         notices[k].kind == n->kind && notices[k].withdrawn_at == MOMENT_NONE && n->withdrawn_at == MOMENT_NONE);
        bool of_boundary = n->kind != NOTICE_CLOSING && n->kind != NOTICE_CORRECTION && n->kind != NOTICE_STALLED && n->kind != NOTICE_INSPECT;
        if (n->withdrawn_at != MOMENT_NONE || !of_boundary)
            continue;
        assert_true(shop_coat_view(h->scene->shop, n->coat_id, h->now, &view));
        if (view.status == COAT_ON) {
            const struct span_view *end = end_of(&view, n);
            assert_non_null(end);
            assert_true(end->until.passed); /* what stands told is still true, or it was taken back */
        }
    }
}

/* Every stage that an uncovered coat reached since it was entered has been told. */
static void check_told(struct history *h)
{
    size_t coats, count;
    const struct coat *coat = shop_coats(h->scene->shop, &coats);
    const struct notice *notices = shop_notices(h->scene->shop, &count);
    for (; coats-- > 0; coat++) {
        struct coat_view view;
        assert_true(shop_coat_view(h->scene->shop, coat->id, h->now, &view));
        for (unsigned i = 0; view.status == COAT_ON && i < view.stages; i++) {
            const struct stage_view *stage = &view.stage[i];
            bool told = stage_is_window(stage->stage) || !stage->span[0].until.passed ||
                        stage->span[0].until.likely_at < coat->entered_at;
            for (size_t k = 0; k < count && !told; k++)
                told = notices[k].coat_id == coat->id && notices[k].stage == stage->stage &&
                       notices[k].kind == NOTICE_REACHED && notices[k].withdrawn_at == MOMENT_NONE;
            if (!told)
                fail_msg("coat %lld: %s was reached and not told", (long long)coat->id, stage_word(stage->stage));
        }
    }
}

/* The hours of which a time is made add up to it. */
static void check_why(struct history *h)
{
    size_t coats;
    const struct coat *coat = shop_coats(h->scene->shop, &coats);
    for (; coats-- > 0; coat++) {
        for (unsigned stage = 0; stage < STAGE_COUNT; stage++) {
            struct why_view why;
            double sum = 0;
            if (!shop_why(h->scene->shop, coat->id, (enum stage)stage, h->now, 2 * MS_PER_H, &why))
                continue;
            for (unsigned i = 0; i < why.rows; i++)
                sum += why.row[i].hours;
            bool comes = why.likely_at != MOMENT_NONE;
            double likely_h = comes ? (double)(why.likely_at - why.from_at) / (double)MS_PER_H : 0.0;
            if (fabs(sum - why.total_h) > 1e-6 || (comes && fabs(sum - likely_h) > 1e-3))
                fail_msg("coat %lld, %s: the rows add up to %.6f h, the total is %.6f, it comes after %.6f", (long long)coat->id,
                         stage_word((enum stage)stage), sum, why.total_h, likely_h);
        }
    }
}

static void one_history(struct history *h)
{
    void *state = NULL;
    assert_int_equal(scene_open(&state), 0);
    h->scene = state;
    h->now = NOW + 12 * MS_PER_DAY;
    h->readings[0] = h->readings[1] = 0;
    hang_sensors(h->scene, h->sensor);
    play(h);
    let_time_pass(h);
    check_notices(h);
    check_told(h);
    check_why(h);
    assert_int_equal(scene_open(&state), 0);
    struct scene *plain = state;
    plain->write.now_ms = h->now;
    hang_sensors(plain, (int64_t[2]){0});
    copy_readings(h, plain);
    copy_moves(h, plain);
    copy_coats(h, plain);
    copy_rest(h, plain);
    same_text("answers of the history and of the plain record", answers_of(h->scene->shop, h->now),
              answers_of(plain->shop, h->now));
    plain->write.now_ms = h->now;
    h->scene->write.now_ms = h->now;
    void *states[] = {h->scene, plain};
    for (size_t i = 0; i < 2; i++)
        assert_int_equal(scene_close(&states[i]), 0);
}

static void test_facts_in_any_order_give_the_same_answers(void **state)
{
    (void)state;
    struct history *h = calloc(1, sizeof *h);
    assert_non_null(h);
    h->seed = seed_start("facts in any order");
    int cases = getenv("COAT_LONG") ? 400 : 30;
    for (int i = 0; i < cases; i++) {
        uint64_t seed = h->seed;
        print_message("# history %d from state %llu\n", i, (unsigned long long)seed);
        one_history(h);
    }
    free(h);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_facts_in_any_order_give_the_same_answers)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
