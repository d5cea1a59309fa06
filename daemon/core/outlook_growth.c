/* When a coat will be ready in the air to come. */
#include "coat/outlook.h"

#include "coat/moment.h"

#include <math.h>
#include <stdlib.h>

#define DAY_H 24u

static void grow_member(const struct outlook_path *path, unsigned hours, const struct law *law, double *grown)
{
    grown[0] = 0.0;
    for (unsigned h = 0; h < hours; h++) {
        double temp_c = 0.5 * (path->temp_c[h] + path->temp_c[h + 1]), rh_pct = 0.5 * (path->rh_pct[h] + path->rh_pct[h + 1]);
        grown[h + 1] = grown[h] + law_rate(law, temp_c, rh_pct, NULL);
    }
}

void outlook_grow(const struct outlook *outlook, const struct law *law, struct outlook_growth *ret)
{
    ret->from_ms = outlook->from_ms;
    ret->hours = outlook->hours;
    ret->members = outlook->members;
    for (unsigned j = 0; j < outlook->members; j++)
        grow_member(&outlook->member[j], outlook->hours, law, ret->grown[j]);
}

/* First hour at whose end the integral has reached the amount, which it does by `hours`. */
static unsigned reaching_hour(const double *grown, unsigned low, unsigned hours, double amount)
{
    unsigned high = hours;
    while (low + 1 < high) {
        unsigned mid = low + (high - low) / 2;
        if (grown[mid] >= amount)
            high = mid;
        else
            low = mid;
    }
    return high;
}

/* Hours until the amount, which lies past grown[from] and not past grown[hours]. */
static double hours_until(const double *grown, unsigned from, unsigned hours, double amount)
{
    unsigned h = reaching_hour(grown, from, hours, amount);
    return h - (grown[h] - amount) / (grown[h] - grown[h - 1]);
}

/* Hours until an amount that the horizon does not reach; NAN where repeating its last day does not either. */
static double hours_beyond(const double *grown, unsigned hours, double amount)
{
    unsigned back = hours < DAY_H ? hours : DAY_H, from = hours - back;
    double daily = grown[hours] - grown[from], missing = amount - grown[hours];
    if (!(daily > 0.0) || missing / daily * back > OUTLOOK_FINISH_DAYS_MAX * 24.0)
        return (double)NAN;
    double whole = floor(missing / daily), rest = missing - whole * daily;
    double into = rest > 0.0 ? hours_until(grown, from, hours, grown[from] + rest) - from : 0.0;
    return hours + whole * back + into;
}

int64_t outlook_member_finish(const struct outlook_growth *growth, unsigned member, double amount)
{
    if (member >= growth->members || isnan(amount))
        return MOMENT_NONE;
    if (amount <= 0.0)
        return growth->from_ms;
    const double *grown = growth->grown[member];
    double hours = amount <= grown[growth->hours] ? hours_until(grown, 0, growth->hours, amount)
                                                  : hours_beyond(grown, growth->hours, amount);
    return isnan(hours) ? MOMENT_NONE : growth->from_ms + (int64_t)ceil(hours * (double)MS_PER_H);
}

/* ---- the band ---- */

/* Five equally likely parts of a normal distribution, each by its middle (10, 30, 50, 70, 90 %), stretched by 1.1416 so that
 * their deviation is 1. */
static const double parts[] = {-1.463, -0.5986, 0.0, 0.5986, 1.463};
#define PARTS (sizeof parts / sizeof *parts)

/* MOMENT_NONE sorts last: it is later than all others. */
static int compare_moments(const void *left, const void *right)
{
    int64_t a = *(const int64_t *)left, b = *(const int64_t *)right;
    if (a == MOMENT_NONE || b == MOMENT_NONE)
        return (a == MOMENT_NONE) - (b == MOMENT_NONE);
    return (a > b) - (a < b);
}

static int64_t quantile(const int64_t *sorted, size_t n, double share)
{
    double at = share * (double)(n - 1);
    size_t below = (size_t)at, above = below + 1 < n ? below + 1 : below;
    if (sorted[above] == MOMENT_NONE)
        return MOMENT_NONE;
    return sorted[below] + (int64_t)((at - (double)below) * (double)(sorted[above] - sorted[below]));
}

struct outlook_finish outlook_finish(const struct outlook_growth *growth, struct outlook_need need)
{
    int64_t at[OUTLOOK_MEMBERS * PARTS];
    size_t n = 0;
    for (size_t p = 0; p < PARTS; p++) {
        if (!(need.log_spread > 0.0) && p > 0)
            break;
        double amount = need.log_spread > 0.0 ? need.whole * exp(parts[p] * need.log_spread) : need.whole;
        for (unsigned j = 0; j < growth->members; j++)
            at[n++] = outlook_member_finish(growth, j, amount - need.grown);
    }
    if (n == 0)
        return (struct outlook_finish){MOMENT_NONE, MOMENT_NONE, MOMENT_NONE};
    qsort(at, n, sizeof *at, compare_moments);
    return (struct outlook_finish){quantile(at, n, 0.1), quantile(at, n, 0.5), quantile(at, n, 0.9)};
}
