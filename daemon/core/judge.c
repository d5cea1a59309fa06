#include "coat/judge.h"

#include "coat/moment.h"

#include <math.h>
#include <stdlib.h>

/* Where no source is named the figures are ours: chosen so that the recorded air of tests/reference/air passes whole. */

#define FUTURE_GRACE_MS MS_PER_MIN                      /* as for air by hand: clocks of small devices are rarely better */
#define CLOCK_SET_AFTER_MS INT64_C(946684800000)        /* 2000-01-01: a clock without battery begins in 1970, 1980 or 2000 */
#define LATE_MAX_MS (366 * MS_PER_DAY)                  /* nothing that sends has kept a reading back for longer */

/* What the air of a shop can be (the same bounds as for air by hand), milli-degrees. */
#define TEMP_LOW_MC (-40000)
#define TEMP_HIGH_MC 60000
#define TEMP_HOT_MC 300000
/* A share where percent are meant is at most 1, and 1.05 wet. No room is so dry; a hot oven is. */
#define RH_SHARE_MP 1050
/* At the start nothing is confirmed. A workshop of 40 to 58 F reads like a room of 40 to 58 C: so warm is believed only of a sensor that
 * has once told what a workshop has in C but hardly in F. A sensor hung up on a very hot day waits for the evening. */
#define TEMP_FIRST_MC 38000
#define TEMP_COOL_MC 30000

/* How far the air of a workshop moves within so many minutes, straight lines between. Common practice has no figure; a door opened in
 * winter takes 10 C and 30 % in some minutes, hourly outdoor air in a year moved by 7.6 C and 39 % at most. Heated cabinets and ovens heat
 * by 10 to 20 C a minute, a probe put into one jumps. After the last row any change is credible. */
struct pace {
    double minutes;
    int32_t change[AIR_QUANTITY_COUNT]; /* milli-degrees, milli-percent */
};
#define PACE_ROWS 5
static const struct pace pace_room[PACE_ROWS] = {
    {0, {3000, 10000}}, {5, {12000, 40000}}, {60, {15000, 50000}}, {360, {30000, 80000}}, {720, {60000, 100000}}};
static const struct pace pace_hot[PACE_ROWS] = {
    {0, {20000, 30000}}, {1, {60000, 60000}}, {5, {300000, 100000}}, {60, {300000, 100000}}, {720, {300000, 100000}}};

/* Units that a sensor may fall into: it says factor * what it means + offset. */
struct unit {
    enum air_quantity quantity;
    double factor, offset;
    bool ratio_strict; /* raised by so much nearly any step up would fit: the ratio itself must */
};
static const struct unit units[] = {
    {AIR_TEMP, 1, 0, false}, /* 0: its own */
    {AIR_TEMP, 10, 0, true},     {AIR_TEMP, 100, 0, true},    {AIR_TEMP, 1000, 0, true},
    {AIR_TEMP, 0.1, 0, false},   {AIR_TEMP, 0.01, 0, false},  {AIR_TEMP, 0.001, 0, false},
    {AIR_TEMP, 1.8, 32000, false} /* Fahrenheit */,           {AIR_TEMP, 1, 273150, false} /* Kelvin */,
    {AIR_RH, 10, 0, true},       {AIR_RH, 100, 0, true},      {AIR_RH, 1000, 0, true},
    {AIR_RH, 0.1, 0, false},     {AIR_RH, 0.01, 0, false} /* a share */, {AIR_RH, 0.001, 0, false},
};
#define UNIT_COUNT (sizeof units / sizeof units[0])
#define RATIO_WITHIN 0.04        /* "a few percent" */
#define RATIO_WITHIN_LEAST 300   /* and what rounding to a tenth does, milli */
#define UNIT_BETTER 2            /* times nearer than its own: close to zero all tenths are alike */
#define BELIEVED_FOR_UNIT 3      /* before so many it is not known what its own unit is */
static const int32_t unit_slack[AIR_QUANTITY_COUNT] = {1000, 3000};
/* A step of this part of what is credible is looked at: a tenth of a cold room's temperature may yet be air, of its humidity never. */
static const double unit_step_part[AIR_QUANTITY_COUNT] = {0.5, 0.25};

/* 1-wire: power-up value, and too little power (kernel, Documentation/w1/slaves/w1_therm.rst; 127.94 is 127.9375 as printed). -127 is
 * what common libraries say of an absent one (from memory). */
#define FAULT_POWER_UP_MC 85000
#define FAULT_WEAK_LOW_MC 127930
#define FAULT_WEAK_HIGH_MC 127945
#define FAULT_ABSENT_MC (-127000)
/* An oven may well pass through those: believed where it was so near so shortly before. */
#define FAULT_NEAR_MC 15000
#define FAULT_NEAR_MS (15 * MS_PER_MIN)

/* For how long nothing may change. Six times the longest honest stretch of the last week, and at least: a day while less than two days
 * are known, or where there is but one quantity to move; three days where it only knows coarse steps (a cellar stays within a whole
 * degree and percent for a night, and may for days); else six hours. Recorded air stood still for 5 h at most in hourly readings, 35 min
 * in fine ones, 12 h in ones rounded to whole degrees and percent. */
#define SAME_TIMES_LONGEST 6
#define SAME_FINE_MS (6 * MS_PER_H)
#define SAME_NEW_MS (24 * MS_PER_H)
#define SAME_COARSE_MS (72 * MS_PER_H)
#define SAME_COUNT_LEAST 10
#define SAME_KNOWN_DAYS 2
#define SAME_GAP_MS (2 * MS_PER_H)
static const int32_t fine_step[AIR_QUANTITY_COUNT] = {300, 500}; /* a smaller step than this is fine: whole Fahrenheit is 556 */

/* One value of a reading, and what is needed to judge it. */
struct heard {
    struct judge_track *track;
    enum air_quantity quantity;
    bool hot;
    struct judge_point point;
};

static int32_t *reading_value(struct reading *reading, enum air_quantity quantity)
{
    return quantity == AIR_TEMP ? &reading->temp_mc : &reading->rh_mp;
}

/* Both milli; 64 bits since what a sensor says may be anything. */
static int64_t apart(int64_t one, int64_t other)
{
    return one > other ? one - other : other - one;
}

/* The largest credible change over that time; INT32_MAX: any. */
static int32_t pace_over(const struct heard *heard, int64_t from_ms)
{
    const struct pace *rows = heard->hot ? pace_hot : pace_room;
    double minutes = (double)apart(heard->point.at_ms, from_ms) / (double)MS_PER_MIN;
    for (unsigned i = 1; i < PACE_ROWS; i++) {
        if (minutes > rows[i].minutes)
            continue;
        double share = (minutes - rows[i - 1].minutes) / (rows[i].minutes - rows[i - 1].minutes);
        double low = rows[i - 1].change[heard->quantity], high = rows[i].change[heard->quantity];
        return (int32_t)(low + share * (high - low));
    }
    return INT32_MAX;
}

/* The same for a rule that must not let everything pass after a long silence. */
static int32_t pace_at_most(const struct heard *heard, int64_t from_ms)
{
    int32_t credible = pace_over(heard, from_ms), most = pace_room[PACE_ROWS - 1].change[heard->quantity];
    return credible < most ? credible : most;
}

static bool follows(const struct heard *heard, const struct judge_point *earlier)
{
    return apart(heard->point.value, earlier->value) <= pace_over(heard, earlier->at_ms);
}

/* ---- what the value alone says ---- */

static bool in_range(const struct heard *heard)
{
    int32_t value = heard->point.value;
    if (heard->quantity == AIR_TEMP)
        return value >= TEMP_LOW_MC && value <= (heard->hot ? TEMP_HOT_MC : TEMP_HIGH_MC);
    return value >= 0 && value <= JUDGE_RH_WET_MP && (heard->hot || value > RH_SHARE_MP);
}

static bool fault_value(const struct heard *heard)
{
    int32_t value = heard->point.value;
    return heard->quantity == AIR_TEMP && (value == FAULT_POWER_UP_MC || value == FAULT_ABSENT_MC ||
                                           (value >= FAULT_WEAK_LOW_MC && value <= FAULT_WEAK_HIGH_MC));
}

/* All bits zero: a dead bus. */
static bool dead_bus(const struct reading *reading)
{
    return reading->temp_mc == 0 && reading->rh_mp == 0;
}

static bool too_warm_at_first(const struct heard *heard)
{
    return heard->quantity == AIR_TEMP && !heard->hot && !heard->track->seen_cool && heard->point.value > TEMP_FIRST_MC;
}

static enum judgement judge_value(const struct heard *heard)
{
    if (fault_value(heard))
        return JUDGE_FAULT_VALUE;
    if (!in_range(heard))
        return JUDGE_IMPLAUSIBLE;
    return too_warm_at_first(heard) ? JUDGE_WRONG_UNIT : JUDGE_GOOD;
}

/* ---- what the last one makes of it ---- */

static void believe(const struct heard *heard)
{
    struct judge_track *track = heard->track;
    track->last = heard->point;
    track->believed = track->believed < BELIEVED_FOR_UNIT ? track->believed + 1 : BELIEVED_FOR_UNIT;
    track->unit = 0;
    track->waiting = 0;
    track->seen_cool = track->seen_cool || (heard->quantity == AIR_TEMP && heard->point.value <= TEMP_COOL_MC);
}

static void release(const struct heard *heard, struct judged *ret)
{
    for (unsigned i = 0; i < heard->track->waiting; i++) {
        const struct judge_point *point = &heard->track->suspect[i];
        unsigned j = 0;
        while (j < ret->released && ret->release[j].at_ms != point->at_ms)
            j++;
        if (j == ret->released)
            ret->release[ret->released++] = (struct reading){point->at_ms, READING_NONE, READING_NONE, point->hold_s};
        *reading_value(&ret->release[j], heard->quantity) = point->value;
    }
}

/* A jump waits for two that follow it at a credible pace; for one, where it contradicts but a single reading. */
static enum judgement wait_for_others(const struct heard *heard, enum judgement meanwhile, struct judged *ret)
{
    struct judge_track *track = heard->track;
    unsigned needed = track->believed > 1 ? JUDGE_WAITING_MAX : 1;
    if (track->waiting > 0 && !follows(heard, &track->suspect[track->waiting - 1]))
        track->waiting = 0;
    if (track->waiting < needed) {
        track->suspect[track->waiting++] = heard->point;
        return meanwhile;
    }
    release(heard, ret);
    track->believed = (int32_t)track->waiting;
    believe(heard);
    return JUDGE_GOOD;
}

static int64_t meant(const struct unit *unit, int32_t value)
{
    return llround((value - unit->offset) / unit->factor);
}

/* By how much what is meant in that unit misses the earlier one; -1 where it does not fit. */
static int64_t unit_miss(const struct heard *heard, const struct unit *unit, const struct judge_point *earlier, int32_t slack)
{
    double said = earlier->value * unit->factor + unit->offset;
    double within = fmax(RATIO_WITHIN * fabs(said), RATIO_WITHIN_LEAST);
    int64_t miss = apart(meant(unit, heard->point.value), earlier->value);
    if (miss > slack || (unit->ratio_strict && in_range(heard) && fabs(heard->point.value - said) > within))
        return -1;
    return miss;
}

/* The unit in which it would follow best from the last one; 0: none. */
static int32_t unit_find(const struct heard *heard)
{
    int32_t best = 0;
    int64_t best_miss = INT64_MAX;
    const struct judge_point *last = &heard->track->last;
    int32_t slack = unit_slack[heard->quantity] + pace_at_most(heard, last->at_ms) / 4;
    if (heard->track->believed < BELIEVED_FOR_UNIT)
        return 0;
    for (size_t i = 1; i < UNIT_COUNT; i++) {
        int64_t miss = units[i].quantity == heard->quantity ? unit_miss(heard, &units[i], last, slack) : -1;
        if (miss < 0 || miss >= best_miss)
            continue;
        best = (int32_t)i;
        best_miss = miss;
    }
    return best;
}

static enum judgement take_as(const struct heard *heard, int32_t unit)
{
    heard->track->unit = unit;
    heard->track->meant = heard->point;
    heard->track->meant.value = (int32_t)meant(&units[unit], heard->point.value);
    return JUDGE_WRONG_UNIT;
}

/* Once in a wrong unit it stays in it for as long as that fits clearly better than its own: no new level is made of it. */
static bool still_in_unit(const struct heard *heard)
{
    const struct judge_track *track = heard->track;
    if (track->unit == 0)
        return false;
    int32_t slack = pace_at_most(heard, track->meant.at_ms);
    int64_t miss = unit_miss(heard, &units[track->unit], &track->meant, slack);
    return miss >= 0 && miss < apart(heard->point.value, track->meant.value) / UNIT_BETTER;
}

/* Of a value that could be air, or could not be but for its unit. */
static enum judgement judge_step(const struct heard *heard, enum judgement by_value, struct judged *ret)
{
    struct judge_track *track = heard->track;
    int64_t step = apart(heard->point.value, track->last.value);
    int32_t credible = pace_over(heard, track->last.at_ms);
    bool good = by_value == JUDGE_GOOD;
    int32_t unit = good && (double)step <= unit_step_part[heard->quantity] * credible ? 0 : unit_find(heard);
    if (unit != 0 && !(heard->hot && good)) /* in an oven even a tenfold rise may be real */
        return take_as(heard, unit);
    if (!good)
        return by_value;
    track->unit = 0;
    if (step > credible)
        return wait_for_others(heard, unit != 0 ? JUDGE_WRONG_UNIT : JUDGE_SPIKE, ret);
    believe(heard);
    return JUDGE_GOOD;
}

static bool passes_through(const struct heard *heard)
{
    const struct judge_track *track = heard->track;
    return track->believed > 0 && in_range(heard) && apart(heard->point.value, track->last.value) <= FAULT_NEAR_MC &&
           heard->point.at_ms - track->last.at_ms <= FAULT_NEAR_MS;
}

static enum judgement judge_newest(const struct heard *heard, struct judged *ret)
{
    struct judge_track *track = heard->track;
    enum judgement by_value = judge_value(heard);
    track->heard = true;
    track->newest_ms = heard->point.at_ms;
    if (by_value == JUDGE_FAULT_VALUE) {
        if (!passes_through(heard))
            return JUDGE_FAULT_VALUE;
        by_value = JUDGE_GOOD;
    }
    if (still_in_unit(heard))
        return take_as(heard, track->unit);
    if (track->believed > 0)
        return judge_step(heard, by_value, ret);
    if (by_value == JUDGE_GOOD)
        believe(heard);
    return by_value;
}

/* ---- stuck ---- */

static struct judge_day *learned_today(struct judge *judge, int64_t at_ms)
{
    int64_t day = moment_day(at_ms);
    struct judge_day *today = &judge->learned[day % JUDGE_MEMORY_DAYS];
    if (today->day != day)
        *today = (struct judge_day){.day = day};
    return today;
}

static bool two_quantities(const struct judge *judge)
{
    const struct judge_track *temp = &judge->track[AIR_TEMP], *rh = &judge->track[AIR_RH];
    return temp->heard && rh->heard && apart(temp->last.at_ms, rh->last.at_ms) < MS_PER_DAY;
}

static int64_t same_allowed_ms(const struct judge *judge, int64_t at_ms)
{
    int64_t today = moment_day(at_ms), longest_ms = 0;
    unsigned days_before = 0;
    bool fine = false;
    for (unsigned i = 0; i < JUDGE_MEMORY_DAYS; i++) {
        const struct judge_day *day = &judge->learned[i];
        if (day->day == 0 || day->day <= today - JUDGE_MEMORY_DAYS)
            continue;
        longest_ms = day->longest_same_ms > longest_ms ? day->longest_same_ms : longest_ms;
        days_before += day->day < today;
        fine = fine || day->fine;
    }
    bool known = days_before >= SAME_KNOWN_DAYS && two_quantities(judge);
    int64_t least_ms = !fine ? SAME_COARSE_MS : known ? SAME_FINE_MS : SAME_NEW_MS;
    return longest_ms * SAME_TIMES_LONGEST > least_ms ? longest_ms * SAME_TIMES_LONGEST : least_ms;
}

/* One that was taken for stuck and moves again might have been honest: the next such stretch may last twice as long. */
static void same_ends(struct judge *judge, int64_t at_ms)
{
    int64_t honest_ms = judge->stuck ? same_allowed_ms(judge, at_ms) * 2 / SAME_TIMES_LONGEST : judge->same_ms;
    struct judge_day *today = learned_today(judge, at_ms);
    today->longest_same_ms = honest_ms > today->longest_same_ms ? honest_ms : today->longest_same_ms;
    judge->same_ms = 0;
    judge->same_count = 0;
    judge->stuck = false;
}

/* What a reading says of how long nothing changed. */
struct stillness {
    bool believed[AIR_QUANTITY_COUNT];
    bool any, moved;
    int64_t before_ms; /* the last one that was believed before this; MOMENT_NONE */
};

static void watch_step(struct judge *judge, const struct heard *heard, const struct judge_point *older, struct stillness *still)
{
    int64_t step = apart(heard->point.value, older->value);
    if (older->at_ms > 0 && step > 0 && step < fine_step[heard->quantity])
        learned_today(judge, heard->point.at_ms)->fine = true;
    still->believed[heard->quantity] = true;
    still->any = true;
    still->moved = still->moved || step > 0;
}

/* Longer silences do not count: nobody knows whether the air moved and came back. */
static bool joins(const struct judge_terms *terms, const struct stillness *still, int64_t at_ms)
{
    int64_t gap_ms = terms->interval_s * 3 * MS_PER_S;
    return still->before_ms != MOMENT_NONE && at_ms - still->before_ms <= (gap_ms > SAME_GAP_MS ? gap_ms : SAME_GAP_MS);
}

static void watch_stillness(struct judge *judge, const struct stillness *still, int64_t at_ms, bool joined, struct judged *ret)
{
    if (still->moved)
        same_ends(judge, at_ms);
    else if (joined && at_ms > still->before_ms)
        judge->same_ms += at_ms - still->before_ms;
    judge->same_count++;
    judge->stuck = judge->same_count >= SAME_COUNT_LEAST && judge->same_ms >= same_allowed_ms(judge, at_ms);
    for (unsigned q = 0; judge->stuck && q < AIR_QUANTITY_COUNT; q++) {
        judge->track[q].believed = 0; /* when it moves again that is no jump */
        if (still->believed[q])
            ret->verdict[q] = JUDGE_STUCK;
    }
}

/* ---- the reading ---- */

static int64_t newest_of(const struct judge *judge)
{
    int64_t newest_ms = MOMENT_NONE;
    for (unsigned q = 0; q < AIR_QUANTITY_COUNT; q++)
        if (judge->track[q].heard && judge->track[q].newest_ms > newest_ms)
            newest_ms = judge->track[q].newest_ms;
    return newest_ms;
}

static enum judgement judge_moment(const struct judge *judge, int64_t at_ms, int64_t received_ms)
{
    int64_t newest_ms = newest_of(judge);
    if (at_ms < CLOCK_SET_AFTER_MS || (newest_ms != MOMENT_NONE && at_ms < newest_ms - LATE_MAX_MS))
        return JUDGE_CLOCK;
    return at_ms > received_ms + FUTURE_GRACE_MS ? JUDGE_FUTURE : JUDGE_GOOD;
}

static int64_t last_believed_ms(const struct judge *judge)
{
    int64_t last_ms = MOMENT_NONE;
    for (unsigned q = 0; q < AIR_QUANTITY_COUNT; q++)
        if (judge->track[q].last.at_ms > 0 && judge->track[q].last.at_ms > last_ms)
            last_ms = judge->track[q].last.at_ms;
    return last_ms;
}

static void judge_one(struct judge *judge, const struct heard *heard, struct stillness *still, struct judged *ret)
{
    struct judge_point older = heard->track->last;
    enum judgement *verdict = &ret->verdict[heard->quantity];
    if (heard->track->heard && heard->point.at_ms <= heard->track->newest_ms) {
        *verdict = judge_value(heard);
        return;
    }
    *verdict = judge_newest(heard, ret);
    if (*verdict != JUDGE_GOOD)
        return;
    watch_step(judge, heard, &older, still);
}

void judge_reading(struct judge *judge, const struct judge_terms *terms, const struct reading *reading, int64_t received_ms,
                   struct judged *ret)
{
    struct stillness still = {.before_ms = last_believed_ms(judge)};
    struct reading copy = *reading;
    enum judgement all = judge_moment(judge, reading->at_ms, received_ms);
    if (all == JUDGE_GOOD && dead_bus(reading))
        all = JUDGE_FAULT_VALUE;
    *ret = (struct judged){0};
    for (unsigned q = 0; q < AIR_QUANTITY_COUNT; q++) {
        int32_t value = *reading_value(&copy, q);
        if (value == READING_NONE)
            continue;
        if (q == AIR_RH && value > JUDGE_RH_FULL_MP && value <= JUDGE_RH_WET_MP)
            value = JUDGE_RH_FULL_MP;
        struct heard heard = {&judge->track[q], q, terms->may_be_hot, {reading->at_ms, value, reading->hold_s}};
        ret->verdict[q] = all;
        if (all == JUDGE_GOOD)
            judge_one(judge, &heard, &still, ret);
    }
    if (still.any)
        watch_stillness(judge, &still, reading->at_ms, joins(terms, &still, reading->at_ms), ret);
}

bool judge_disagree(enum air_quantity quantity, double one, double other)
{
    double each = quantity == AIR_TEMP ? JUDGE_ACCURACY_C : JUDGE_ACCURACY_RH_PCT;
    return fabs(one - other) > 2.0 * each;
}
