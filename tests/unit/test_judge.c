/* Which readings can be believed: real recordings as they are, and with what goes wrong with sensors put into them. */
#include "coat/judge.h"
#include "coat/moment.h"
#include "tests/unit/seed.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

#define LINES_MAX 9000
#define NONE ((double)NAN) /* a quantity that it does not tell */
#define NOW_MS (INT64_C(20000) * MS_PER_DAY)

/* What a sensor sends, in order, and what became of each. */
struct stream {
    unsigned count;
    int32_t interval_s;
    bool may_be_hot;
    struct reading r[LINES_MAX];
    int64_t received_ms[LINES_MAX];
    bool faulty[LINES_MAX];
    enum judgement verdict[LINES_MAX][AIR_QUANTITY_COUNT];
    bool believed[LINES_MAX][AIR_QUANTITY_COUNT];
};
static struct stream office, airport, s;

static void load(struct stream *stream, const char *path, unsigned rh_column, int32_t interval_s)
{
    FILE *file = fopen(path, "r");
    if (file == NULL)
        fail_msg("cannot read %s: run the tests from the top of the tree", path);
    stream->count = 0;
    stream->interval_s = interval_s;
    char line[200], *column[5];
    assert_non_null(fgets(line, sizeof line, file));
    while (fgets(line, sizeof line, file) != NULL) {
        unsigned n = 0;
        for (char *rest = line; n < 5 && rest != NULL;)
            column[n++] = strsep(&rest, ",");
        assert_true(n > rh_column && stream->count < LINES_MAX);
        struct reading *r = &stream->r[stream->count];
        assert_int_equal(moment_parse(column[0], &r->at_ms, NULL), COAT_OK);
        r->temp_mc = (int32_t)lround(strtod(column[1], NULL) * 1000);
        r->rh_mp = (int32_t)lround(strtod(column[rh_column], NULL) * 1000);
        r->hold_s = sensor_hold_s(interval_s);
        stream->received_ms[stream->count++] = r->at_ms + 2 * MS_PER_S;
    }
    (void)fclose(file);
}

static int set_up(void **state)
{
    (void)state;
    load(&office, "tests/reference/air/office_minutes.csv", 2, 60);
    load(&airport, "tests/reference/air/airport_hours.csv", 3, 3600);
    return 0;
}

static int32_t value_of(const struct reading *r, unsigned q)
{
    return q == AIR_TEMP ? r->temp_mc : r->rh_mp;
}

static void note_release(struct stream *stream, unsigned until, const struct judged *judged)
{
    for (unsigned j = 0; j < judged->released; j++) {
        unsigned i = until;
        while (stream->r[i].at_ms != judged->release[j].at_ms)
            assert_true(i-- > 0);
        for (unsigned q = 0; q < AIR_QUANTITY_COUNT; q++)
            if (value_of(&judged->release[j], q) != READING_NONE) {
                assert_int_equal(value_of(&judged->release[j], q), value_of(&stream->r[i], q));
                stream->believed[i][q] = true;
            }
    }
}

static void send_all(struct stream *stream)
{
    struct judge judge = {0};
    struct judge_terms terms = {stream->interval_s, stream->may_be_hot};
    for (unsigned i = 0; i < stream->count; i++) {
        struct judged judged;
        judge_reading(&judge, &terms, &stream->r[i], stream->received_ms[i], &judged);
        for (unsigned q = 0; q < AIR_QUANTITY_COUNT; q++) {
            stream->verdict[i][q] = judged.verdict[q];
            stream->believed[i][q] = judged.verdict[q] == JUDGE_GOOD;
        }
        note_release(stream, i, &judged);
    }
}

static unsigned lost_honest(const struct stream *stream)
{
    unsigned lost = 0;
    for (unsigned i = 0; i < stream->count; i++)
        for (unsigned q = 0; q < AIR_QUANTITY_COUNT; q++)
            lost += !stream->faulty[i] && !stream->believed[i][q];
    return lost;
}

/* ---- honest air ---- */

static void tell_flagged(const char *what, const struct stream *stream)
{
    unsigned flagged = 0;
    for (unsigned i = 0; i < stream->count; i++)
        for (unsigned q = 0; q < AIR_QUANTITY_COUNT; q++)
            if (stream->verdict[i][q] != JUDGE_GOOD) {
                char text[MOMENT_TEXT_SIZE];
                printf("#   %s: %s %g judged %s, %s\n", moment_print(stream->r[i].at_ms, text), air_quantity_word(q),
                       value_of(&stream->r[i], q) / 1000.0, judgement_word(stream->verdict[i][q]),
                       stream->believed[i][q] ? "believed later" : "lost");
                flagged++;
            }
    printf("# %s: %u readings, %u values flagged\n", what, stream->count, flagged);
    if (flagged > stream->count / 10000)
        fail_msg("%s: %u honest values flagged, at most 1 in 10,000 may be", what, flagged);
}

static void honest(const char *what, const struct stream *from, int32_t temp_step, int32_t rh_step, unsigned every)
{
    s = *from;
    s.count = from->count / every;
    s.interval_s = from->interval_s * (int32_t)every;
    for (unsigned i = 0; i < s.count; i++) {
        s.r[i] = from->r[i * every];
        s.received_ms[i] = s.r[i].at_ms + MS_PER_S;
        s.r[i].temp_mc = (int32_t)lround((double)s.r[i].temp_mc / temp_step) * temp_step;
        s.r[i].rh_mp = rh_step == 0 ? READING_NONE : (int32_t)lround((double)s.r[i].rh_mp / rh_step) * rh_step;
    }
    send_all(&s);
    tell_flagged(what, &s);
}

static void test_recorded_air_is_believed(void **state)
{
    (void)state;
    honest("office, as it is", &office, 1, 1, 1);
    honest("airport, as it is", &airport, 1, 1, 1);
    honest("office, every 10 min", &office, 1, 1, 10);
    honest("office, tenths", &office, 100, 100, 1);
    honest("airport, tenths", &airport, 100, 100, 1);
    honest("office, temperature alone", &office, 1, 0, 1);
    honest("airport, temperature alone", &airport, 1, 0, 1);
    honest("office, sixteenths of a degree alone", &office, 63, 0, 1);
}

static void test_coarse_instruments_are_believed(void **state)
{
    (void)state;
    honest("office, whole degrees and percent", &office, 1000, 1000, 1);
    honest("office, whole Fahrenheit and percent", &office, 556, 1000, 1);
    honest("office, whole degrees alone", &office, 1000, 0, 1);
    honest("airport, whole degrees and percent", &airport, 1000, 1000, 1);
    honest("airport, whole degrees alone", &airport, 1000, 0, 1);
}

/* ---- faults put into recorded air ---- */

static void shift_temp(struct stream *stream, int32_t by_mc)
{
    for (unsigned i = 0; i < stream->count; i++)
        stream->r[i].temp_mc += by_mc;
}

struct told_unit {
    const char *name;
    unsigned quantity;
    double factor, offset;
};
static const struct told_unit told_units[] = {
    {"temperature x10", AIR_TEMP, 10, 0},      {"temperature x100", AIR_TEMP, 100, 0},   {"temperature x1000", AIR_TEMP, 1000, 0},
    {"temperature /10", AIR_TEMP, 0.1, 0},     {"temperature /100", AIR_TEMP, 0.01, 0},  {"Fahrenheit", AIR_TEMP, 1.8, 32000},
    {"Kelvin", AIR_TEMP, 1, 273150},           {"humidity x10", AIR_RH, 10, 0},          {"humidity x1000", AIR_RH, 1000, 0},
    {"humidity /10", AIR_RH, 0.1, 0},          {"humidity as a share", AIR_RH, 0.01, 0},
};
#define TOLD_UNITS (sizeof told_units / sizeof told_units[0])

static void say_in_unit(struct reading *r, const struct told_unit *unit)
{
    int32_t *value = unit->quantity == AIR_TEMP ? &r->temp_mc : &r->rh_mp;
    *value = (int32_t)lround(*value * unit->factor + unit->offset);
}

/* Close to zero a unit makes no difference that matters: what is this near to the truth may pass. */
static bool matters(const struct reading *told, const struct reading *truth, unsigned q)
{
    return abs(value_of(told, q) - value_of(truth, q)) > (q == AIR_TEMP ? 8000 : 13000);
}

struct tally {
    unsigned told, matter, caught, lost;
};

static struct tally count_wrong_units(const struct stream *truth, unsigned q)
{
    struct tally tally = {.lost = lost_honest(&s)};
    for (unsigned i = 0; i < s.count; i++) {
        tally.told += s.faulty[i];
        tally.matter += s.faulty[i] && matters(&s.r[i], &truth->r[i], q);
        tally.caught += s.faulty[i] && matters(&s.r[i], &truth->r[i], q) && !s.believed[i][q];
    }
    return tally;
}

/* Stretches in another unit, of 1 to 40 readings, with 60 good ones before each. */
static void wrong_unit(const char *where, const struct stream *truth, const struct told_unit *unit, uint64_t *seed)
{
    unsigned stretches = 0;
    s = *truth;
    for (unsigned i = 60; i + 40 < s.count; i += 60) {
        unsigned length = 1 + (unsigned)(seed_next(seed) % 40);
        stretches++;
        for (unsigned j = 0; j < length; j++, i++) {
            say_in_unit(&s.r[i], unit);
            s.faulty[i] = true;
        }
    }
    send_all(&s);
    struct tally t = count_wrong_units(truth, unit->quantity);
    printf("# %s, %s: %u stretches, %u values told, %u of %u that matter caught, %u honest lost\n", where, unit->name, stretches, t.told,
           t.caught, t.matter, t.lost);
    assert_int_equal(t.caught, t.matter);
    assert_true(t.lost <= stretches); /* less than one a stretch */
}

static void test_another_unit_is_not_believed(void **state)
{
    (void)state;
    uint64_t seed = seed_start("another unit");
    static struct stream cold;
    cold = office;
    shift_temp(&cold, -15000); /* a winter's garage: its Fahrenheit is what a room could have in C */
    for (unsigned u = 0; u < TOLD_UNITS; u++) {
        wrong_unit("office", &office, &told_units[u], &seed);
        wrong_unit("cold garage", &cold, &told_units[u], &seed);
    }
}

/* Of hourly readings only what lies outside what air can be is sure: within an hour outdoor air makes large steps of its own. */
static void test_another_unit_in_hourly_readings(void **state)
{
    (void)state;
    uint64_t seed = seed_start("another unit, hourly");
    static const unsigned sure[] = {2, 6, 7, 8, 10};
    for (unsigned u = 0; u < sizeof sure / sizeof sure[0]; u++)
        wrong_unit("airport", &airport, &told_units[sure[u]], &seed);
}

static void test_a_sensor_switched_to_fahrenheit_is_never_believed_again(void **state)
{
    (void)state;
    s = office;
    shift_temp(&s, -15000);
    for (unsigned i = 2000; i < s.count; i++) {
        say_in_unit(&s.r[i], &told_units[5]);
        s.faulty[i] = true;
    }
    send_all(&s);
    for (unsigned i = 2000; i < s.count; i++) {
        assert_false(s.believed[i][AIR_TEMP]);
        assert_true(s.believed[i][AIR_RH]); /* nor is the humidity lost with it */
    }
}

/* 3 C and 2 C a minute are credible: above that no spike may pass. */
static void spikes(const char *where, const struct stream *truth, double least_c, double least_pct, unsigned longest, uint64_t *seed)
{
    unsigned put = 0, caught = 0;
    s = *truth;
    for (unsigned i = 20; i + 20 < s.count; i += 12 + (unsigned)(seed_next(seed) % 20)) {
        unsigned length = 1 + (unsigned)(seed_next(seed) % longest);
        double up = seed_next(seed) % 2 != 0 ? 1 : -1;
        for (unsigned j = 0; j < length; j++, i++) {
            s.r[i].temp_mc += (int32_t)(up * 1000 * seed_between(seed, least_c, 3 * least_c));
            s.r[i].rh_mp += (int32_t)(up * 1000 * seed_between(seed, least_pct, 2 * least_pct));
            s.faulty[i] = true;
        }
    }
    send_all(&s);
    for (unsigned i = 0; i < s.count; i++)
        for (unsigned q = 0; s.faulty[i] && q < AIR_QUANTITY_COUNT; q++) {
            put++;
            caught += !s.believed[i][q];
        }
    printf("# %s, spikes of 1 to %u readings: %u of %u values caught, %u honest lost\n", where, longest, caught, put, lost_honest(&s));
    assert_int_equal(caught, put);
    assert_int_equal(lost_honest(&s), 0);
}

static void test_spikes_are_not_believed(void **state)
{
    (void)state;
    uint64_t seed = seed_start("spikes");
    spikes("office", &office, 7.5, 23, 1, &seed);
    spikes("office", &office, 10, 32, 2, &seed);
    spikes("airport", &airport, 26, 95, 1, &seed);
}

/* From some moment on it says the same until it is started again. Caught within so many hours, and believed at once after. */
static void stuck(const char *where, const struct stream *truth, unsigned from, unsigned to, double hours)
{
    s = *truth;
    for (unsigned i = from; i < to; i++) {
        s.r[i].temp_mc = s.r[from].temp_mc;
        s.r[i].rh_mp = s.r[from].rh_mp;
        s.faulty[i] = true;
    }
    send_all(&s);
    unsigned first = from;
    while (first < to && s.verdict[first][AIR_TEMP] == JUDGE_GOOD)
        first++;
    double after_h = (double)(s.r[first].at_ms - s.r[from].at_ms) / (double)MS_PER_H;
    printf("# %s, stuck at reading %u: caught after %.1f h, %u honest lost\n", where, from, after_h, lost_honest(&s));
    if (first == to || after_h > hours)
        fail_msg("%s: not caught within %g h", where, hours);
    for (unsigned i = first; i < to; i++)
        for (unsigned q = 0; q < AIR_QUANTITY_COUNT; q++)
            assert_int_equal(s.verdict[i][q], JUDGE_STUCK);
    assert_int_equal(lost_honest(&s), 0);
}

static void test_a_stuck_sensor_is_found(void **state)
{
    (void)state;
    uint64_t seed = seed_start("stuck");
    for (unsigned k = 0; k < 10; k++) {
        unsigned from = 3 * 1440 + (unsigned)(seed_next(&seed) % 2000);
        stuck("office, known for days", &office, from, from + 900, 6.1);
        from = 200 + (unsigned)(seed_next(&seed) % 8000);
        stuck("airport, hourly", &airport, from, from + 100, 36);
    }
    stuck("office, new", &office, 300, 300 + 1600, 24.1);
}

static void test_a_stuck_coarse_sensor_is_found_within_three_days(void **state)
{
    (void)state;
    static struct stream coarse;
    coarse = airport;
    for (unsigned i = 0; i < coarse.count; i++) {
        coarse.r[i].temp_mc = (int32_t)lround(coarse.r[i].temp_mc / 1000.0) * 1000;
        coarse.r[i].rh_mp = (int32_t)lround(coarse.r[i].rh_mp / 1000.0) * 1000;
    }
    stuck("airport, whole degrees and percent", &coarse, 2000, 2200, 72.1);
}

static void test_dropouts_repeats_and_reorderings_cost_nothing(void **state)
{
    (void)state;
    uint64_t seed = seed_start("dropouts, repeats, reorderings");
    const struct stream *from[] = {&office, &airport};
    for (unsigned k = 0; k < 2; k++) {
        s = *from[k];
        s.count = 0;
        for (unsigned i = 0; i < from[k]->count && s.count + 2 < LINES_MAX; i++) {
            uint64_t dice = seed_next(&seed) % 1000;
            if (dice < 5)
                i += (unsigned)(seed_next(&seed) % 300);
            else if (dice < 50 && s.count > 0) {
                s.r[s.count] = s.r[s.count - 1];
                s.received_ms[s.count] = s.received_ms[s.count - 1];
                s.count++;
            }
            if (i < from[k]->count) {
                s.r[s.count] = from[k]->r[i];
                s.received_ms[s.count++] = from[k]->received_ms[from[k]->count - 1]; /* all at last */
            }
            if (dice > 900 && s.count > 9) { /* overtakes up to eight */
                unsigned by = 1 + (unsigned)(dice % 8);
                struct reading early = s.r[s.count - 1];
                memmove(&s.r[s.count - by], &s.r[s.count - 1 - by], by * sizeof early);
                s.r[s.count - 1 - by] = early;
            }
        }
        send_all(&s);
        tell_flagged(k == 0 ? "office, troubled network" : "airport, troubled network", &s);
    }
}

static void test_wrong_clocks_are_not_believed_and_leave_no_trace(void **state)
{
    (void)state;
    uint64_t seed = seed_start("clocks");
    unsigned put = 0;
    s = office;
    for (unsigned i = 1; i < s.count; i++) {
        uint64_t dice = seed_next(&seed) % 100;
        if (dice >= 3)
            continue;
        s.r[i].at_ms = dice == 0 ? (int64_t)i * MS_PER_S : dice == 1 ? s.received_ms[i] + MS_PER_MIN + 1 : s.r[i].at_ms - 400 * MS_PER_DAY;
        s.faulty[i] = true;
        put++;
    }
    send_all(&s);
    for (unsigned i = 0; i < s.count; i++)
        if (s.faulty[i])
            assert_int_equal(s.verdict[i][AIR_TEMP], s.r[i].at_ms > s.received_ms[i] ? JUDGE_FUTURE : JUDGE_CLOCK);
    printf("# clocks: all of %u caught, %u honest lost\n", put, lost_honest(&s));
    assert_int_equal(lost_honest(&s), 0);
}

static void test_a_clock_put_back_an_hour_costs_nothing(void **state)
{
    (void)state;
    s = office;
    for (unsigned i = 3000; i < 3200; i++)
        s.r[i].at_ms -= MS_PER_H;
    send_all(&s);
    assert_int_equal(lost_honest(&s), 0);
}

/* All of it at once, as bad as it gets. */
static void test_everything_at_once(void **state)
{
    (void)state;
    uint64_t seed = seed_start("everything at once");
    static const int32_t faults_mc[] = {85000, -127000, 127938, 127940, 3276700, -46850, INT32_MAX, INT32_MIN + 1};
    unsigned put = 0, caught = 0;
    s = office;
    for (unsigned i = 100; i < s.count; i++) {
        uint64_t dice = seed_next(&seed) % 40;
        if (dice > 3 || s.faulty[i - 1] || s.faulty[i - 2])
            continue;
        if (dice == 0)
            s.r[i].temp_mc = faults_mc[seed_next(&seed) % 8];
        else if (dice == 1)
            say_in_unit(&s.r[i], &told_units[seed_next(&seed) % 7]);
        else if (dice == 2)
            s.r[i].temp_mc += 20000;
        else
            s.r[i].temp_mc = s.r[i].rh_mp = 0;
        s.faulty[i] = true;
        put++;
    }
    send_all(&s);
    for (unsigned i = 0; i < s.count; i++)
        caught += s.faulty[i] && !s.believed[i][AIR_TEMP];
    printf("# everything at once: %u of %u caught, %u honest lost\n", caught, put, lost_honest(&s));
    assert_int_equal(caught, put);
    assert_int_equal(lost_honest(&s), 0);
}

/* ---- one case each ---- */

static struct judge sensor;
static struct judge_terms terms;
static struct judged judged;
static int64_t clock_ms;

static void new_sensor(bool may_be_hot)
{
    sensor = (struct judge){0};
    terms = (struct judge_terms){60, may_be_hot};
    clock_ms = NOW_MS;
}

static int32_t milli(double value)
{
    return isnan(value) ? READING_NONE : (int32_t)lround(value * 1000);
}

static enum judgement tell_at(int64_t at_ms, double temp_c, double rh_pct)
{
    struct reading r = {at_ms, milli(temp_c), milli(rh_pct), 900};
    judge_reading(&sensor, &terms, &r, clock_ms, &judged);
    return judged.verdict[AIR_TEMP];
}

/* A minute after the one before. */
static enum judgement tell(double temp_c, double rh_pct)
{
    clock_ms += MS_PER_MIN;
    return tell_at(clock_ms, temp_c, rh_pct);
}

static void known_sensor(bool may_be_hot, double temp_c, double rh_pct)
{
    new_sensor(may_be_hot);
    for (unsigned i = 0; i < 20; i++)
        assert_int_equal(tell(temp_c + 0.1 * (i % 2), rh_pct), JUDGE_GOOD);
}

static void test_a_door_opened_in_winter_is_air(void **state)
{
    (void)state;
    known_sensor(false, 18, 45);
    for (unsigned i = 1; i <= 5; i++) { /* 10 C and 30 % in five minutes */
        assert_int_equal(tell(18 - 2.0 * i, 45 + 6.0 * i), JUDGE_GOOD);
        assert_int_equal(judged.verdict[AIR_RH], JUDGE_GOOD);
    }
}

static void test_a_sensor_hung_elsewhere_is_believed_from_its_second_follower_on(void **state)
{
    (void)state;
    known_sensor(false, 20, 40);
    assert_int_equal(tell(7, 41), JUDGE_SPIKE);
    assert_int_equal(judged.verdict[AIR_RH], JUDGE_GOOD);
    assert_int_equal(tell(6.8, 41), JUDGE_SPIKE);
    assert_int_equal(judged.released, 0);
    assert_int_equal(tell(6.7, 41), JUDGE_GOOD);
    assert_int_equal(judged.released, 2);
    assert_int_equal(judged.release[0].temp_mc, 7000);
    assert_int_equal(judged.release[1].temp_mc, 6800);
    assert_int_equal(judged.release[0].rh_mp, READING_NONE);
    assert_int_equal(tell(6.6, 41), JUDGE_GOOD);
    assert_int_equal(judged.released, 0);
}

static void test_both_quantities_of_a_jump_are_released_together(void **state)
{
    (void)state;
    known_sensor(false, 20, 40);
    (void)tell(7, 85);
    assert_int_equal(judged.verdict[AIR_RH], JUDGE_SPIKE);
    (void)tell(7, 86);
    assert_int_equal(tell(7, 86), JUDGE_GOOD);
    assert_int_equal(judged.released, 2);
    assert_int_equal(judged.release[0].temp_mc, 7000);
    assert_int_equal(judged.release[0].rh_mp, 85000);
    assert_int_equal(judged.release[1].rh_mp, 86000);
}

static void test_a_first_reading_that_nobody_confirms_gives_way(void **state)
{
    (void)state;
    new_sensor(false);
    assert_int_equal(tell(0, 60), JUDGE_GOOD);
    assert_int_equal(tell(18, 60), JUDGE_SPIKE);
    assert_int_equal(tell(18.1, 60), JUDGE_GOOD);
    assert_int_equal(judged.released, 1);
}

static void test_what_no_air_of_a_shop_can_be(void **state)
{
    (void)state;
    known_sensor(false, 25, 55);
    assert_int_equal(tell(-40.1, 55), JUDGE_IMPLAUSIBLE);
    assert_int_equal(tell(60.1, 55), JUDGE_IMPLAUSIBLE);
    (void)tell(25, 105.1);
    assert_int_equal(judged.verdict[AIR_RH], JUDGE_IMPLAUSIBLE);
    assert_int_equal(judged.verdict[AIR_TEMP], JUDGE_GOOD);
    (void)tell(25, -0.1);
    assert_int_equal(judged.verdict[AIR_RH], JUDGE_IMPLAUSIBLE);
    known_sensor(true, 295, 0.2);
    assert_int_equal(tell(300, 0.2), JUDGE_GOOD);
    assert_int_equal(judged.verdict[AIR_RH], JUDGE_GOOD);
    assert_int_equal(tell(300.1, 0.2), JUDGE_IMPLAUSIBLE);
}

static void test_a_wet_element_may_say_a_little_over_100_percent(void **state)
{
    (void)state;
    known_sensor(false, 12, 97);
    (void)tell(12, 104.9);
    assert_int_equal(judged.verdict[AIR_RH], JUDGE_GOOD);
    known_sensor(false, 12, 40); /* and counts as 100 where it is believed later */
    for (unsigned i = 0; i < 3; i++)
        (void)tell(12, 104.9);
    assert_int_equal(judged.released, 2);
    assert_int_equal(judged.release[1].rh_mp, 100000);
}

static void test_a_bad_quantity_does_not_throw_away_the_other(void **state)
{
    (void)state;
    known_sensor(false, 18, 55);
    assert_int_equal(tell(18, 550), JUDGE_GOOD);
    assert_int_equal(judged.verdict[AIR_RH], JUDGE_WRONG_UNIT);
    assert_int_equal(tell(64.4, 55), JUDGE_WRONG_UNIT);
    assert_int_equal(judged.verdict[AIR_RH], JUDGE_GOOD);
    assert_int_equal(tell(NONE, 55), JUDGE_GOOD);
}

static void test_fault_values_in_a_room(void **state)
{
    (void)state;
    known_sensor(false, 18, NONE);
    assert_int_equal(tell(85, NONE), JUDGE_FAULT_VALUE);
    assert_int_equal(tell(127.94, NONE), JUDGE_FAULT_VALUE);
    assert_int_equal(tell(127.937, NONE), JUDGE_FAULT_VALUE);
    assert_int_equal(tell(-127, NONE), JUDGE_FAULT_VALUE);
    assert_int_equal(tell(18, NONE), JUDGE_GOOD);
    known_sensor(false, 1, 60);
    assert_int_equal(tell(0, 0), JUDGE_FAULT_VALUE);
    assert_int_equal(judged.verdict[AIR_RH], JUDGE_FAULT_VALUE);
    assert_int_equal(tell(0, 60), JUDGE_GOOD); /* freezing air is air */
}

static void test_an_oven_passes_through_85(void **state)
{
    (void)state;
    new_sensor(true);
    assert_int_equal(tell(85, NONE), JUDGE_FAULT_VALUE); /* at first it is the power-up */
    for (double temp_c = 20; temp_c <= 200; temp_c += 13)
        assert_int_equal(tell(temp_c, NONE), JUDGE_GOOD);
    known_sensor(true, 80, NONE);
    assert_int_equal(tell(85, NONE), JUDGE_GOOD);
    known_sensor(true, 120, NONE);
    assert_int_equal(tell(127.937, NONE), JUDGE_GOOD);
    known_sensor(true, 30, NONE);
    assert_int_equal(tell(85, NONE), JUDGE_FAULT_VALUE);
}

static void test_a_probe_put_into_a_hot_oven_is_believed_soon(void **state)
{
    (void)state;
    known_sensor(true, 20, NONE);
    assert_int_equal(tell(200, NONE), JUDGE_WRONG_UNIT); /* ten times as much, as it happens */
    (void)tell(201, NONE);
    assert_int_equal(tell(201, NONE), JUDGE_GOOD);
    assert_int_equal(judged.released, 2);
}

static void test_what_the_first_readings_of_a_new_sensor_tell(void **state)
{
    (void)state;
    new_sensor(false);
    assert_int_equal(tell(291.15, 0.55), JUDGE_IMPLAUSIBLE);
    assert_int_equal(judged.verdict[AIR_RH], JUDGE_IMPLAUSIBLE);
    assert_int_equal(tell(64.4, 1.0), JUDGE_IMPLAUSIBLE);
    assert_int_equal(judged.verdict[AIR_RH], JUDGE_IMPLAUSIBLE);
    for (unsigned i = 0; i < 100; i++) /* a workshop of 52 F is no room of 52 C */
        assert_int_equal(tell(52, 60), JUDGE_WRONG_UNIT);
    assert_int_equal(tell(11.1, 60), JUDGE_GOOD);
    known_sensor(false, 30, 40); /* one that has told better may grow hot */
    for (double temp_c = 30; temp_c < 48; temp_c += 1)
        assert_int_equal(tell(temp_c, 40), JUDGE_GOOD);
}

static void test_a_late_batch_is_judged_by_its_own_values(void **state)
{
    (void)state;
    known_sensor(false, 20, 50);
    int64_t night_ms = clock_ms - 8 * MS_PER_H;
    assert_int_equal(tell_at(night_ms, 2, 90), JUDGE_GOOD);
    assert_int_equal(tell_at(night_ms + MS_PER_MIN, 85, 90), JUDGE_FAULT_VALUE);
    assert_int_equal(tell_at(night_ms + 2 * MS_PER_MIN, 200, 90), JUDGE_IMPLAUSIBLE);
    assert_int_equal(tell_at(clock_ms - 300 * MS_PER_DAY, 2, 90), JUDGE_GOOD);
    assert_int_equal(tell(20, 50), JUDGE_GOOD);
    assert_int_equal(judged.released, 0);
}

static void test_a_minute_of_the_future_is_granted(void **state)
{
    (void)state;
    known_sensor(false, 20, 50);
    assert_int_equal(tell_at(clock_ms + MS_PER_MIN, 20, 50), JUDGE_GOOD);
    assert_int_equal(tell_at(clock_ms + MS_PER_MIN + 1, 20, 50), JUDGE_FUTURE);
    assert_int_equal(judged.verdict[AIR_RH], JUDGE_FUTURE);
    assert_int_equal(tell_at(5000, 20, NONE), JUDGE_CLOCK);
    assert_int_equal(judged.verdict[AIR_RH], JUDGE_GOOD); /* it told none */
}

static void test_a_cellar_of_whole_degrees_may_stand_still_for_two_days(void **state)
{
    (void)state;
    known_sensor(false, 12, 78);
    new_sensor(false);
    for (unsigned i = 0; i < 2 * 1440; i++)
        assert_int_equal(tell(12, 78), JUDGE_GOOD);
    for (unsigned i = 0; i < 1440 + 20; i++)
        (void)tell(12, 78);
    assert_int_equal(tell(12, 78), JUDGE_STUCK);
    assert_int_equal(tell(25, 40), JUDGE_GOOD); /* moves again: believed at once, however far */
    assert_int_equal(judged.verdict[AIR_RH], JUDGE_GOOD);
    assert_int_equal(tell(25, 41), JUDGE_GOOD);
}

static void test_what_a_sensor_did_before_tells_what_it_may_do(void **state)
{
    (void)state;
    new_sensor(false);
    for (unsigned i = 0; i < 4 * 1440; i++) /* a deep cellar: something moves every two hours */
        assert_int_equal(tell(12 + 0.1 * (i / 120 % 2), 78.1), JUDGE_GOOD);
    for (unsigned i = 0; i < 11 * 60; i++)
        assert_int_equal(tell(12.2, 78.1), JUDGE_GOOD);
    for (unsigned i = 0; i < 62; i++)
        (void)tell(12.2, 78.1);
    assert_int_equal(judged.verdict[AIR_TEMP], JUDGE_STUCK);
    assert_int_equal(judged.verdict[AIR_RH], JUDGE_STUCK);
}

static void test_a_silence_does_not_count_as_standing_still(void **state)
{
    (void)state;
    known_sensor(false, 12.3, 78.1);
    for (unsigned i = 0; i < 30; i++) {
        clock_ms += MS_PER_DAY;
        assert_int_equal(tell(12.3, 78.1), JUDGE_GOOD);
    }
}

static void test_temperature_and_humidity_may_come_apart(void **state)
{
    (void)state;
    new_sensor(false);
    for (unsigned i = 0; i < 5 * 1440; i++) { /* only the humidity moves */
        assert_int_equal(tell(15, NONE), JUDGE_GOOD);
        (void)tell_at(clock_ms, NONE, 50 + 0.1 * (i / 10 % 40));
        assert_int_equal(judged.verdict[AIR_RH], JUDGE_GOOD);
    }
}

static void test_the_state_made_again_from_the_record_judges_alike(void **state)
{
    (void)state;
    uint64_t seed = seed_start("made again");
    s = office;
    for (unsigned i = 10; i < s.count; i += 1 + (unsigned)(seed_next(&seed) % 60))
        s.r[i].temp_mc += (int32_t)seed_between(&seed, -30000, 30000);
    send_all(&s);
    static struct stream again;
    again = s;
    send_all(&again);
    assert_memory_equal(again.verdict, s.verdict, sizeof s.verdict);
}

static void test_when_two_sensors_disagree(void **state)
{
    (void)state;
    assert_false(judge_disagree(AIR_TEMP, 18, 20));
    assert_true(judge_disagree(AIR_TEMP, 18, 20.1));
    assert_true(judge_disagree(AIR_TEMP, 20.1, 18));
    assert_false(judge_disagree(AIR_RH, 50, 60));
    assert_true(judge_disagree(AIR_RH, 50, 60.1));
    assert_false(judge_disagree(AIR_RH, 50, NONE));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_recorded_air_is_believed),
        cmocka_unit_test(test_coarse_instruments_are_believed),
        cmocka_unit_test(test_another_unit_is_not_believed),
        cmocka_unit_test(test_another_unit_in_hourly_readings),
        cmocka_unit_test(test_a_sensor_switched_to_fahrenheit_is_never_believed_again),
        cmocka_unit_test(test_spikes_are_not_believed),
        cmocka_unit_test(test_a_stuck_sensor_is_found),
        cmocka_unit_test(test_a_stuck_coarse_sensor_is_found_within_three_days),
        cmocka_unit_test(test_dropouts_repeats_and_reorderings_cost_nothing),
        cmocka_unit_test(test_wrong_clocks_are_not_believed_and_leave_no_trace),
        cmocka_unit_test(test_a_clock_put_back_an_hour_costs_nothing),
        cmocka_unit_test(test_everything_at_once),
        cmocka_unit_test(test_a_door_opened_in_winter_is_air),
        cmocka_unit_test(test_a_sensor_hung_elsewhere_is_believed_from_its_second_follower_on),
        cmocka_unit_test(test_both_quantities_of_a_jump_are_released_together),
        cmocka_unit_test(test_a_first_reading_that_nobody_confirms_gives_way),
        cmocka_unit_test(test_what_no_air_of_a_shop_can_be),
        cmocka_unit_test(test_a_wet_element_may_say_a_little_over_100_percent),
        cmocka_unit_test(test_a_bad_quantity_does_not_throw_away_the_other),
        cmocka_unit_test(test_fault_values_in_a_room),
        cmocka_unit_test(test_an_oven_passes_through_85),
        cmocka_unit_test(test_a_probe_put_into_a_hot_oven_is_believed_soon),
        cmocka_unit_test(test_what_the_first_readings_of_a_new_sensor_tell),
        cmocka_unit_test(test_a_late_batch_is_judged_by_its_own_values),
        cmocka_unit_test(test_a_minute_of_the_future_is_granted),
        cmocka_unit_test(test_a_cellar_of_whole_degrees_may_stand_still_for_two_days),
        cmocka_unit_test(test_what_a_sensor_did_before_tells_what_it_may_do),
        cmocka_unit_test(test_a_silence_does_not_count_as_standing_still),
        cmocka_unit_test(test_temperature_and_humidity_may_come_apart),
        cmocka_unit_test(test_the_state_made_again_from_the_record_judges_alike),
        cmocka_unit_test(test_when_two_sensors_disagree),
    };
    return cmocka_run_group_tests(tests, set_up, NULL);
}
