/* May it go on now, and if not, when: hours of the air to come against what a coat wants of it. */
#include "coat/air.h"
#include "coat/check.h"
#include "coat/moment.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "tests/unit/seed.h"

#define NOW_MS (INT64_C(20000) * MS_PER_DAY + 12 * MS_PER_H) /* noon */
#define NAMED(test) cmocka_unit_test(test)

static struct outlook outlook, later;
static struct check_hour hours[CHECK_STARTS];
static struct check_stretch stretches[CHECK_STARTS];

static void near(const char *what, double found, double expected, double tolerance)
{
    if (!(fabs(found - expected) <= tolerance))
        fail_msg("%s is %.6g, expected %.6g within %.3g", what, found, expected, tolerance);
}

/* An enamel as TM 43-0139 3-6 (10 C), MIL-HDBK-1110 7.4.1 (32 C) and ISO 8502-4 practice (85 %) have it; past its guard after 8 h at
 * 20 C, twice as long each 10 C colder. */
static struct check_terms enamel(void)
{
    const struct law_terms law = {.side = SIDE_OPENING, .rows = 1, .row = {{20.0, 8.0}}, .doubling_c = 10.0, .rule = HUMIDITY_SOLVENT,
                                  .ref_rh_pct = 50.0, .min_temp_c = 10.0, .max_rh_pct = 85.0};
    struct check_terms terms = {.min_temp_c = 10.0, .max_temp_c = 32.0, .max_rh_pct = 85.0, .needed = 8.0, .floor_h = 8.0,
                                .surface_c = (double)NAN, .time_constant_min = (double)NAN};
    assert_int_equal(law_from_terms(&law, &terms.law, NULL), COAT_OK);
    return terms;
}

static void put(unsigned member, unsigned h, double temp_c, double rh_pct)
{
    struct outlook_path *path = &outlook.member[member];
    path->temp_c[h] = outlook.central.temp_c[h] = temp_c;
    path->rh_pct[h] = outlook.central.rh_pct[h] = rh_pct;
}

/* All members alike and steady. */
static void steady(double temp_c, double rh_pct)
{
    outlook.from_ms = NOW_MS;
    outlook.hours = OUTLOOK_HOURS_MAX;
    outlook.members = OUTLOOK_MEMBERS;
    outlook.known_days = 14.0;
    for (unsigned j = 0; j < OUTLOOK_MEMBERS; j++)
        for (unsigned h = 0; h <= OUTLOOK_HOURS_MAX; h++)
            put(j, h, temp_c, rh_pct);
}

/* From hour `from` to before hour `to`, in the first `members`. */
static void spell(unsigned members, unsigned from, unsigned to, double temp_c, double rh_pct)
{
    for (unsigned j = 0; j < members; j++)
        for (unsigned h = from; h < to; h++)
            put(j, h, temp_c, rh_pct);
}

static void judge(const struct check_terms *terms)
{
    check_hours(&outlook, terms, hours);
}

static void refused(unsigned t, enum check_reason reason, double value, double limit)
{
    if (hours[t].good || hours[t].fault.reason != reason)
        fail_msg("hour %u is %s, %s; expected %s", t, hours[t].good ? "good" : "refused", check_reason_word(hours[t].fault.reason),
                 check_reason_word(reason));
    if (isnan(value)) {
        assert_true(isnan(hours[t].fault.value));
        return;
    }
    near("the worst value", hours[t].fault.value, value, 0.06);
    near("its limit", hours[t].fault.limit, limit, 1e-9);
}

static void a_dry_warm_shed_is_good_at_all_hours(void **state)
{
    (void)state;
    struct check_terms terms = enamel();
    steady(20.0, 50.0);
    judge(&terms);
    assert_int_equal(check_stretches(hours, stretches), 1);
    assert_true(stretches[0].good);
    assert_true(stretches[0].from_ms == NOW_MS && stretches[0].to_ms == NOW_MS + 72 * MS_PER_H);
}

/* The limits one by one. 20 C at 82.9 % has its dew point at 17.0 C (ASHRAE, eq. 6): there the 3 C of ISO 8502-4 end, before 85 %. */
static void each_limit_refuses_by_its_name(void **state)
{
    (void)state;
    struct check_terms terms = enamel();
    steady(8.0, 50.0);
    judge(&terms);
    refused(0, CHECK_TOO_COLD, 8.0, 10.0);
    steady(34.0, 50.0);
    judge(&terms);
    refused(0, CHECK_TOO_HOT, 34.0, 32.0);
    steady(20.0, 88.0);
    judge(&terms);
    refused(0, CHECK_TOO_DAMP, 88.0, 85.0);
    steady(20.0, 84.0);
    judge(&terms);
    refused(0, CHECK_DEW, 20.0 - air_dew_point_c(20.0, 84.0), AIR_DEW_MARGIN_C);
    assert_true(hours[0].fault.value > 2.7 && hours[0].fault.value < 2.9);
    steady(20.0, 82.0);
    judge(&terms);
    assert_true(hours[0].good);
}

/* A damp night from eight in the evening to six: a coat wants 8 h, so the last good start is at noon itself, the next at six. */
static void a_damp_night_counts_before_it_comes(void **state)
{
    (void)state;
    struct check_terms terms = enamel();
    steady(20.0, 50.0);
    spell(OUTLOOK_MEMBERS, 9, 18, 20.0, 90.0);
    judge(&terms);
    assert_true(hours[0].good); /* 8 h from noon: done at eight, an hour before the damp */
    refused(1, CHECK_TOO_DAMP, 90.0, 85.0);
    assert_true(hours[1].breaks_ms == NOW_MS + 9 * MS_PER_H);
    refused(17, CHECK_TOO_DAMP, 90.0, 85.0);
    assert_true(hours[18].good);
    assert_int_equal(check_stretches(hours, stretches), 3);
    assert_true(stretches[1].from_ms == NOW_MS + MS_PER_H && stretches[1].to_ms == NOW_MS + 18 * MS_PER_H && !stretches[1].good);
    assert_int_equal(stretches[1].fault.reason, CHECK_TOO_DAMP);
}

/* At 15 C the same 8 h take 8 * sqrt(2) = 11.3 h (a doubling each 10 C): a damp spell 10 h on is too near, one 12 h on is not. */
static void a_colder_shed_needs_the_air_for_longer(void **state)
{
    (void)state;
    struct check_terms terms = enamel();
    steady(15.0, 50.0);
    spell(OUTLOOK_MEMBERS, 10, 11, 15.0, 90.0);
    judge(&terms);
    refused(0, CHECK_TOO_DAMP, 90.0, 85.0);
    steady(15.0, 50.0);
    spell(OUTLOOK_MEMBERS, 13, 14, 15.0, 90.0);
    judge(&terms);
    assert_true(hours[0].good);
    refused(2, CHECK_TOO_DAMP, 90.0, 85.0);
}

/* Warmth never makes it shorter than the label: at 30 C as well it takes 8 h. */
static void the_label_floor_holds_in_the_warm(void **state)
{
    (void)state;
    struct check_terms terms = enamel();
    steady(30.0, 50.0);
    spell(OUTLOOK_MEMBERS, 8, 9, 30.0, 90.0);
    judge(&terms);
    refused(0, CHECK_TOO_DAMP, 90.0, 85.0);
}

/* A label that says 12 h is not gone below by a table that comes to 8 h. */
static void the_label_is_waited_for(void **state)
{
    (void)state;
    struct check_terms terms = enamel();
    steady(20.0, 50.0);
    spell(OUTLOOK_MEMBERS, 11, 12, 20.0, 90.0);
    judge(&terms);
    assert_true(hours[0].good);
    terms.floor_h = 12.0;
    judge(&terms);
    refused(0, CHECK_TOO_DAMP, 90.0, 85.0);
}

/* 8.9 h at 20 C, and the air goes from 50 % at the eighth hour to 95 % at the ninth: it is 90.5 % when the coat is past its guard. After
 * 8.5 h it is only 72.5 %. */
static void the_air_at_the_guard_itself_counts(void **state)
{
    (void)state;
    struct check_terms terms = enamel();
    steady(20.0, 50.0);
    spell(OUTLOOK_MEMBERS, 9, 10, 20.0, 95.0);
    terms.needed = 8.9;
    judge(&terms);
    refused(0, CHECK_TOO_DAMP, 90.5, 85.0);
    terms.needed = 8.5;
    judge(&terms);
    assert_true(hours[0].good);
}

/* Of a spell that gets worse its worst is told, of a stretch the worst of its hours. */
static void the_worst_is_told(void **state)
{
    (void)state;
    struct check_terms terms = enamel();
    steady(20.0, 50.0);
    spell(OUTLOOK_MEMBERS, 9, 14, 20.0, 90.0);
    spell(OUTLOOK_MEMBERS, 14, 18, 20.0, 96.0);
    judge(&terms);
    refused(1, CHECK_TOO_DAMP, 90.0, 85.0); /* done at the ninth hour */
    refused(6, CHECK_TOO_DAMP, 96.0, 85.0);
    check_stretches(hours, stretches);
    near("of the stretch", stretches[1].fault.value, 96.0, 1e-9);
}

/* Of failing members neither the mildest nor the worst is told. */
static void the_middle_of_the_members_is_told(void **state)
{
    (void)state;
    static const double cold_c[] = {9.5, 4.0, 8.0, 9.0, 7.0};
    struct check_terms terms = enamel();
    steady(20.0, 50.0);
    for (unsigned j = 0; j < 5; j++)
        put(j, 3, cold_c[j], 50.0);
    judge(&terms);
    refused(0, CHECK_TOO_COLD, 8.0, 10.0);
}

/* A cold casting keeps its film cold: in dry air of 20 C one of 10 C with ten hours to warm is not done in 8 h. */
static void a_cold_casting_dries_late(void **state)
{
    (void)state;
    struct check_terms terms = enamel();
    terms.floor_h = (double)NAN;
    steady(20.0, 20.0);
    spell(OUTLOOK_MEMBERS, 9, 10, 20.0, 90.0);
    judge(&terms);
    assert_true(hours[0].good);
    terms.surface_c = 10.0;
    terms.time_constant_min = 600.0;
    judge(&terms);
    refused(0, CHECK_TOO_DAMP, 90.0, 85.0);
}

/* 4 of 40 members may fail, 5 may not; the reason is theirs. */
static void nine_members_of_ten_must_hold(void **state)
{
    (void)state;
    struct check_terms terms = enamel();
    steady(20.0, 50.0);
    spell(4, 0, 2, 20.0, 90.0);
    judge(&terms);
    assert_true(hours[0].good);
    near("share", hours[0].share, 0.9, 1e-9);
    steady(20.0, 50.0);
    spell(5, 3, 4, 6.0, 50.0);
    judge(&terms);
    near("share", hours[0].share, 0.875, 1e-9);
    refused(0, CHECK_TOO_COLD, 6.0, 10.0);
}

/* What most of the failing members break first is told, with the middle of their worst. */
static void the_commonest_reason_is_told(void **state)
{
    (void)state;
    struct check_terms terms = enamel();
    steady(20.0, 50.0);
    spell(15, 2, 3, 20.0, 95.0);
    spell(6, 2, 3, 4.0, 50.0);
    judge(&terms);
    refused(0, CHECK_TOO_DAMP, 95.0, 85.0); /* nine damp members, six cold ones */
}

/* A material without limits is refused nothing for them, but the dew point holds for every surface. */
static void unknown_limits_refuse_nothing(void **state)
{
    (void)state;
    struct check_terms terms = enamel();
    terms.min_temp_c = terms.max_temp_c = terms.max_rh_pct = terms.law.min_temp_c = terms.law.max_rh_pct = (double)NAN;
    steady(6.0, 60.0);
    judge(&terms);
    assert_true(hours[0].good);
    steady(6.0, 97.0);
    judge(&terms);
    assert_int_equal(hours[0].fault.reason, CHECK_DEW);
}

/* One that wants 400 h at 20 C is not past its guard within the ten days (240 h) of the outlook. */
static void what_does_not_cure_is_told(void **state)
{
    (void)state;
    struct check_terms terms = enamel();
    steady(20.0, 50.0);
    terms.needed = 400.0;
    judge(&terms);
    refused(0, CHECK_NOT_CURED, (double)NAN, (double)NAN);
}

/* A mill brought in from 2 C into 18 C and 60 % (dew point 10.1 C): with a time constant of 44 min it is 13.1 C warm, 3 C clear, after
 * 44 * ln(16 / 4.9) = 52 min. The air would do from the beginning. */
static void a_cold_casting_lags(void **state)
{
    (void)state;
    struct check_terms terms = enamel();
    steady(18.0, 60.0);
    terms.surface_c = 2.0;
    terms.time_constant_min = 44.0;
    judge(&terms);
    refused(0, CHECK_SURFACE_DEW, 2.0 - air_dew_point_c(18.0, 60.0), AIR_DEW_MARGIN_C);
    assert_true(hours[1].good);
    int64_t clear = check_surface_clear(&outlook, 2.0, 44.0);
    near("minutes until it is clear", (double)(clear - NOW_MS) / MS_PER_MIN, 52.5, 2.6);
    /* Dry air (dew point -3 C) wets nothing, but 8 C is below the 10 C that the label wants of the surface too. */
    struct check_fault fault = check_fault_in(&terms, 18.0, 24.0, 8.0);
    assert_int_equal(fault.reason, CHECK_SURFACE_COLD);
    near("limit", fault.limit, 10.0, 1e-9);
}

/* 4 C in air of 20 C with a time constant of 60 min: after an hour 20 - 16 / e = 14.11 C, after two 20 - 16 / e^2 = 17.83 C. */
static void a_piece_follows_the_air_to_come(void **state)
{
    (void)state;
    steady(20.0, 50.0);
    near("after an hour", check_surface_at(&outlook, 4.0, 60.0, NOW_MS, NOW_MS + MS_PER_H), 14.114, 0.001);
    near("an hour later", check_surface_at(&outlook, 4.0, 60.0, NOW_MS + 3 * MS_PER_H, NOW_MS + 5 * MS_PER_H), 17.835, 0.001);
    near("at once", check_surface_at(&outlook, 4.0, 60.0, NOW_MS, NOW_MS), 4.0, 1e-9);
}

/* A piece warmer than the air is not counted on: it will be as cold as the air soon. */
static void a_warm_piece_is_no_help(void **state)
{
    (void)state;
    struct check_terms terms = enamel();
    assert_int_equal(check_fault_in(&terms, 20.0, 84.0, 40.0).reason, CHECK_DEW);
    assert_int_equal(check_fault_in(&terms, 8.0, 50.0, 40.0).reason, CHECK_TOO_COLD);
    assert_int_equal(check_fault_in(&terms, (double)NAN, 50.0, 40.0).reason, CHECK_NO_AIR);
}

/* The morning warms from 8 to 20 C in two hours while the dew point rises with it: the air is clear of it, an iron casting is not. */
static void a_warming_morning_sweats_on_iron(void **state)
{
    (void)state;
    struct check_terms terms = enamel();
    terms.min_temp_c = terms.law.min_temp_c = 5.0;
    steady(20.0, 65.0);
    spell(OUTLOOK_MEMBERS, 0, 1, 8.0, 65.0);
    spell(OUTLOOK_MEMBERS, 1, 2, 14.0, 65.0);
    judge(&terms);
    assert_true(hours[2].good);
    terms.surface_c = 8.0;
    terms.time_constant_min = 130.0; /* a wall of 24 mm */
    judge(&terms);
    assert_int_equal(hours[2].fault.reason, CHECK_SURFACE_DEW);
}

static void an_outlook_of_nothing_refuses_all(void **state)
{
    (void)state;
    struct check_terms terms = enamel();
    steady(20.0, 50.0);
    outlook.members = 0;
    judge(&terms);
    refused(0, CHECK_NO_AIR, (double)NAN, (double)NAN);
    refused(72, CHECK_NO_AIR, (double)NAN, (double)NAN);
}

/* Half an hour later the air is half way to the next hour's; what is left of the ten days is shorter. */
static void an_outlook_from_a_later_moment(void **state)
{
    (void)state;
    steady(20.0, 50.0);
    spell(OUTLOOK_MEMBERS, 1, 2, 26.0, 60.0);
    check_outlook_from(&outlook, NOW_MS + 30 * MS_PER_MIN, &later);
    near("now", later.member[3].temp_c[0], 23.0, 1e-9);
    near("its damp", later.member[3].rh_pct[0], 55.0, 1e-9);
    near("in an hour", later.central.temp_c[1], 23.0, 1e-9);
    assert_int_equal(later.hours, OUTLOOK_HOURS_MAX - 1);
    check_outlook_from(&outlook, NOW_MS + 300 * MS_PER_H, &later);
    assert_int_equal(later.members, 0);
}

/* The shop's hours are a remark: they refuse nothing. */
/* A wayward outlook: members go their own ways about the same middle. */
static void wayward(uint64_t *seed)
{
    double temp_c = seed_between(seed, 4.0, 36.0), rh_pct = seed_between(seed, 35.0, 95.0), spread = seed_between(seed, 0.0, 6.0);
    steady(temp_c, rh_pct);
    outlook.members = seed_next(seed) % 2 ? OUTLOOK_MEMBERS : 1; /* of one alone each hour decides */
    for (unsigned j = 0; j < OUTLOOK_MEMBERS; j++)
        for (unsigned h = 0; h <= OUTLOOK_HOURS_MAX; h++)
            put(j, h, temp_c + 4.0 * sin(h * 0.2618) + seed_between(seed, -spread, spread), fmin(rh_pct + seed_between(seed, -spread, spread), 100.0));
}

static struct check_terms any_coat(uint64_t *seed)
{
    struct check_terms terms = enamel();
    terms.needed = seed_next(seed) % 8 ? seed_between(seed, 0.1, 40.0) : seed_next(seed) % 2 ? 0.0 : (double)NAN;
    terms.floor_h = seed_next(seed) % 2 ? seed_between(seed, 0.0, 50.0) : (double)NAN;
    if (seed_next(seed) % 2) {
        terms.surface_c = seed_between(seed, 0.0, 30.0);
        terms.time_constant_min = seed_between(seed, 0.0, 300.0);
    }
    return terms;
}

/* What a few starts of a short outlook tell is what all the hours of the long one do; where it hangs on later air it is left open. */
static void a_short_outlook_tells_the_first_starts_alike(void **state)
{
    (void)state;
    enum { STARTS = 4, SHORT = 36 };
    uint64_t seed = seed_start("short outlooks");
    unsigned told[CHECK_NEAR_COUNT] = {0};
    for (int i = 0; i < 400; i++) {
        enum check_near whole[STARTS], brief[STARTS];
        wayward(&seed);
        struct check_terms terms = any_coat(&seed);
        int64_t at_ms = NOW_MS + (int64_t)seed_between(&seed, 0, 90) * MS_PER_MIN;
        check_outlook_from(&outlook, at_ms, &later);
        check_hours(&later, &terms, hours);
        check_near_starts(&outlook, &terms, at_ms, STARTS, whole);
        outlook.hours = SHORT;
        check_near_starts(&outlook, &terms, at_ms, STARTS, brief);
        for (unsigned t = 0; t < STARTS; t++) {
            assert_int_equal(whole[t] == CHECK_NEAR_GOOD, hours[t].good); /* with ten days of it, what is not past its guard never is */
            if (brief[t] != CHECK_NEAR_UNTOLD)
                assert_int_equal(brief[t] == CHECK_NEAR_GOOD, hours[t].good);
            told[brief[t]]++;
        }
    }
    assert_true(told[CHECK_NEAR_GOOD] > 100 && told[CHECK_NEAR_BAD] > 100 && told[CHECK_NEAR_UNTOLD] > 10 && told[CHECK_NEAR_UNTOLD] < 800);
}

static void working_hours_are_a_remark(void **state)
{
    (void)state;
    struct check_terms terms = enamel();
    steady(20.0, 50.0);
    judge(&terms);
    for (unsigned t = 0; t < CHECK_STARTS; t++)
        hours[t].works = t % 24 >= 5 && t % 24 < 10; /* 17:00 to 22:00 */
    assert_int_equal(check_stretches(hours, stretches), 1);
    assert_true(stretches[0].works_from_ms == NOW_MS + 5 * MS_PER_H);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        NAMED(a_dry_warm_shed_is_good_at_all_hours), NAMED(each_limit_refuses_by_its_name),
        NAMED(a_damp_night_counts_before_it_comes),  NAMED(a_colder_shed_needs_the_air_for_longer),
        NAMED(the_label_floor_holds_in_the_warm),    NAMED(nine_members_of_ten_must_hold),
        NAMED(the_label_is_waited_for),              NAMED(the_air_at_the_guard_itself_counts),
        NAMED(the_worst_is_told),                    NAMED(the_middle_of_the_members_is_told),
        NAMED(a_cold_casting_dries_late),
        NAMED(the_commonest_reason_is_told),         NAMED(unknown_limits_refuse_nothing),
        NAMED(what_does_not_cure_is_told),           NAMED(a_cold_casting_lags),
        NAMED(a_piece_follows_the_air_to_come),
        NAMED(a_warm_piece_is_no_help),              NAMED(a_warming_morning_sweats_on_iron),
        NAMED(an_outlook_of_nothing_refuses_all),    NAMED(an_outlook_from_a_later_moment),
        NAMED(a_short_outlook_tells_the_first_starts_alike), NAMED(working_hours_are_a_remark),
    };
    return cmocka_run_group_tests_name("check", tests, NULL, NULL);
}
