/* The air to come, told from the shop's own readings, and when a coat will be ready in it. Pure; the caller owns all memory.
 *
 * Temperature and water vapour are told alike: the mean daily cycle of the last 14 days, with what the heater adds learned apart
 * from it, and the departure from it at the last reading, which fades over a day or two. Members carry forward the errors that
 * this same forecast would have made from moments of those days, so the band is as wide as the shop's air is wayward. The mean of
 * a few days is itself not well known: fewer days give a wider band, less than one gives persistence with a very wide one.
 * The same readings always give the same outlook. */
#ifndef COAT_OUTLOOK_H
#define COAT_OUTLOOK_H

#include "coat/history.h"
#include "coat/law.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define OUTLOOK_PAST_DAYS 14
#define OUTLOOK_PAST_HOURS (OUTLOOK_PAST_DAYS * 24)
#define OUTLOOK_HOURS_MAX 240
#define OUTLOOK_MEMBERS 40

/* What is known at now_ms. Readings in order of time, none after now_ms; those older than 14 days are not looked at.
 * heated_past[k] says whether the heater was on in the hour that ended k hours before now (OUTLOOK_PAST_HOURS of them);
 * heated_ahead[h] whether it will be on in the hour that begins h hours from now (`hours` of them). NULL: never on. */
struct outlook_facts {
    const struct reading *readings;
    size_t count;
    int64_t now_ms;
    const bool *heated_past;
    const bool *heated_ahead;
};

/* Air at each full hour from now, straight between: [0] is now. */
struct outlook_path {
    double temp_c[OUTLOOK_HOURS_MAX + 1];
    double rh_pct[OUTLOOK_HOURS_MAX + 1]; /* 1 to 100 */
};

/* `central` is the forecast itself, too smooth to be a course that the air could take; each member is one. About 160 kB. */
struct outlook {
    int64_t from_ms;
    unsigned hours;    /* ahead, 1 to OUTLOOK_HOURS_MAX */
    unsigned members;  /* OUTLOOK_MEMBERS; 0 where there is no reading at all: then no path means anything */
    double known_days; /* of the last 14, as far as readings tell the air of them */
    struct outlook_path central;
    struct outlook_path member[OUTLOOK_MEMBERS];
};

/* Makes the outlook for `hours` ahead (brought into 1 to OUTLOOK_HOURS_MAX). */
void outlook_make(const struct outlook_facts *facts, unsigned hours, struct outlook *ret);

/* The integral of a law over each member from from_ms to each full hour after it, once a law; many coats share it. About 80 kB. */
struct outlook_growth {
    int64_t from_ms;
    unsigned hours;
    unsigned members;
    double grown[OUTLOOK_MEMBERS][OUTLOOK_HOURS_MAX + 1]; /* in the unit of law_integrate */
};

/* The rate in the middle of each hour times the hour: within 0.1 % where temperature changes by up to 2 C an hour. */
void outlook_grow(const struct outlook *outlook, const struct law *law, struct outlook_growth *ret);

/* When the integral has grown by `amount` in a member. Past the horizon its last day repeats itself. MOMENT_NONE where that
 * never gets there, or not within OUTLOOK_FINISH_DAYS_MAX. An amount of nothing or less: from_ms. */
#define OUTLOOK_FINISH_DAYS_MAX 400
int64_t outlook_member_finish(const struct outlook_growth *growth, unsigned member, double amount);

/* What a coat still needs: the whole amount (law_hours_needed), what the air up to from_ms has given of it, and how well the
 * whole is known: the standard deviation of its logarithm (0: exactly; 0.3 before any test of the material). */
struct outlook_need {
    double whole;
    double grown;
    double log_spread;
};

/* 10, 50 and 90 % of the finishing moments over members and the material's spread; MOMENT_NONE where that many do not get there
 * (or there is no outlook). earliest <= likely <= latest, where they are. */
struct outlook_finish {
    int64_t earliest_ms, likely_ms, latest_ms;
};
struct outlook_finish outlook_finish(const struct outlook_growth *growth, struct outlook_need need);

#endif
