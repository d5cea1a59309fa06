/* What the air of a place does day by day, learned from its readings for the outlook: a daily cycle, what the heater adds to it,
 * and what departed from both. Temperature and vapour are learned alike. Pure. */
#ifndef COAT_PATTERN_H
#define COAT_PATTERN_H

#include "coat/outlook.h"

#define PATTERN_DAY_H 24
#define PATTERN_POINTS (OUTLOOK_PAST_HOURS + 1)
#define PATTERN_NOW OUTLOOK_PAST_HOURS /* index of the present; index % 24 is the same for the same hour of any day */

/* The past at each full hour up to now. NAN where no reading tells it; at least hour `first` and hour `last` are told. */
struct pattern_past {
    double temp_c[PATTERN_POINTS];
    double log_pa[PATTERN_POINTS]; /* ln of the vapour pressure: what the air carries, whatever its temperature does */
    unsigned known;                /* hours told; 0 where only a reading older than all of them stands for now */
    unsigned first, last;
};

/* How far the room has taken on the heater's warmth, 0 to 1, in the past and to come: it follows with a time constant. */
struct pattern_heat {
    double share[PATTERN_POINTS + OUTLOOK_HOURS_MAX];
};

struct pattern {
    double cycle[PATTERN_DAY_H]; /* without heat */
    double lift;                 /* what full heat adds */
    double left[PATTERN_POINTS]; /* departures from first to last known hour; gaps are bridged by a straight line */
    double misfit;               /* their sum of squares before smoothing, by which time constants are chosen */
};

struct air_pattern {
    struct pattern_past past;
    struct pattern_heat heat;
    struct pattern temp;   /* C */
    struct pattern vapour; /* ln Pa */
};

/* Learns from at least one reading; `hours` ahead the heater's hours to come are looked at. With less than a day between the first
 * and the last known hour the last air stands for the whole cycle. */
void pattern_learn(const struct outlook_facts *facts, unsigned hours, struct air_pattern *ret);

/* Hours from the first to the last known one, both counted. */
unsigned pattern_span(const struct pattern_past *past);

/* What the pattern says for hour i of the past or, past PATTERN_NOW, of what is to come. */
double pattern_usual(const struct pattern *pattern, const struct pattern_heat *heat, unsigned i);

/* Brought into what readings and laws can bear: -60 to 100 C, and 1 to 100 % from vapour and temperature. */
double pattern_temp_c(double temp_c);
double pattern_rh_pct(double log_pa, double temp_c);

#endif
