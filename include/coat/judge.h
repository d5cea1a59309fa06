/* Whether a reading that a sensor sent can be believed. Pure; the caller owns the state of each sensor.
 *
 * Readings are judged one by one, as they come, and each quantity by itself: a bad humidity does not throw away a good temperature. What
 * is not believed does not count, but stays in the record with its judgement; a jump is looked at again when the next ones agree with it,
 * since doors do open and ovens do heat. The same readings in the same order always give the same judgements, so that the state may be
 * made again from the record: feed all that the sensor sent in the JUDGE_MEMORY_MS before now, believed or not, by at_ms (received_ms as
 * it was; at_ms itself for what counts). Begin anew (all zero) where a person changes the sensor's source or scale: it is another
 * instrument then. It is also the way out where a sensor was taken for one that speaks in another unit, and was right. */
#ifndef COAT_JUDGE_H
#define COAT_JUDGE_H

#include "coat/history.h"
#include "coat/words.h"

#include <stdbool.h>
#include <stdint.h>

#define JUDGE_WAITING_MAX 2  /* of one quantity: a suspect and one that agrees with it; the third of them confirms all */
#define JUDGE_PENDING_MAX (JUDGE_WAITING_MAX * AIR_QUANTITY_COUNT)
#define JUDGE_MEMORY_DAYS 7
#define JUDGE_MEMORY_MS (INT64_C(86400000) * JUDGE_MEMORY_DAYS)

/* Wet capacitive elements say a little over 100 %: up to here that is good, and counts as 100 %. The caller cuts it. */
#define JUDGE_RH_FULL_MP 100000
#define JUDGE_RH_WET_MP 105000

/* What is known of a sensor beforehand. */
struct judge_terms {
    int32_t interval_s;      /* its usual one; 0 where not known */
    bool may_be_hot;         /* it is in an oven or a heated cabinet: to 300 C, and quick changes are its trade */
};

/* Of one reading. */
struct judged {
    enum judgement verdict[AIR_QUANTITY_COUNT]; /* JUDGE_GOOD for a quantity that it does not have */
    unsigned released;                      /* earlier suspects that are believed now: this one confirmed them */
    struct reading release[JUDGE_PENDING_MAX]; /* with only the quantities that are: the other may have been believed at once */
};

/* The members of these are judge.c's own. */
struct judge_point {
    int64_t at_ms;
    int32_t value, hold_s;
};

struct judge_track { /* of one quantity */
    bool heard;
    int64_t newest_ms;                  /* of what was heard, believed or not */
    int32_t believed;                   /* how many stand behind `last`; 0: it says nothing */
    struct judge_point last;            /* the newest believed one */
    int32_t unit;                       /* the wrong unit that it speaks in, see judge.c; 0: none */
    struct judge_point meant;           /* what the newest one in that unit means */
    bool seen_cool;                     /* has once said what no workshop has in Fahrenheit */
    unsigned waiting;
    struct judge_point suspect[JUDGE_WAITING_MAX];
};

struct judge_day { /* what one UTC day taught of how the sensor behaves */
    int64_t day;                        /* 0: nothing */
    int64_t longest_same_ms;            /* honest stretch in which nothing changed */
    bool fine;                          /* it moved in small steps */
};

/* Of one sensor. All zero at first. */
struct judge {
    struct judge_track track[AIR_QUANTITY_COUNT];
    int64_t same_ms;                    /* for how long it has said the very same, without gaps */
    unsigned same_count;
    bool stuck;
    struct judge_day learned[JUDGE_MEMORY_DAYS];
};

/* Judges what came at received_ms (shop time). A reading older than the newest one (a late batch), or of the same moment, is judged by its
 * own value only, and leaves what is known of the newest alone. Whether it was there already is for the caller to know. */
void judge_reading(struct judge *judge, const struct judge_terms *terms, const struct reading *reading, int64_t received_ms,
                   struct judged *ret);

/* Two sensors of one place at one time: whether they differ by more than two such instruments may (temperature in C, humidity in %;
 * common practice: 1 C and 5 % each for what a workshop buys). false for NAN. */
#define JUDGE_ACCURACY_C 1.0
#define JUDGE_ACCURACY_RH_PCT 5.0
bool judge_disagree(enum air_quantity quantity, double one, double other);

#endif
