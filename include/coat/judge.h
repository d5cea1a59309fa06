/* Whether a reading that a sensor sent can be believed. Pure; the caller owns the state of each sensor.
 *
 * Readings are judged one by one, as they come. What is not believed does not count, but stays in the record with its judgement; it is
 * looked at again when the next ones agree with it, since doors do open and ovens do heat. The same readings in the same order always
 * give the same judgements, so that the state may be made again from the record. */
#ifndef COAT_JUDGE_H
#define COAT_JUDGE_H

#include "coat/history.h"
#include "coat/words.h"

#include <stdbool.h>
#include <stdint.h>

#define JUDGE_PENDING_MAX 4 /* suspects that may yet turn out to be true */
#define JUDGE_RECENT_MAX 16

/* What is known of a sensor beforehand. */
struct judge_terms {
    int32_t interval_s;      /* its usual one; 0 where not known */
    bool may_be_hot;         /* it is in an oven or a heated cabinet: to 300 C, and quick changes are its trade */
};

/* Of one reading. */
struct judged {
    enum judgement verdict[AIR_QUANTITY_COUNT]; /* JUDGE_GOOD for a quantity that it does not have */
    unsigned released;                      /* earlier suspects that are believed now: this one confirmed them */
    struct reading release[JUDGE_PENDING_MAX];
};

/* Of one sensor. All zero at first. The members are judge.c's own. */
struct judge {
    unsigned recent;
    struct reading believed[JUDGE_RECENT_MAX];  /* the newest good ones, oldest first */
    unsigned pending;
    struct reading suspect[JUDGE_PENDING_MAX];
    int64_t same_since_ms[AIR_QUANTITY_COUNT];      /* since when it has said the very same */
    int64_t newest_ms;
};

/* Judges what came at received_ms (shop time). A reading older than the newest one (a late batch) is judged by its own value only, and
 * leaves what is known of the newest alone. */
void judge_reading(struct judge *judge, const struct judge_terms *terms, const struct reading *reading, int64_t received_ms,
                   struct judged *ret);

/* Two sensors of one place at one time: whether they differ by more than two such instruments may (temperature in C, humidity in %;
 * common practice: 1 C and 5 % each for what a workshop buys). */
#define JUDGE_ACCURACY_C 1.0
#define JUDGE_ACCURACY_RH_PCT 5.0
bool judge_disagree(enum air_quantity quantity, double one, double other);

#endif
