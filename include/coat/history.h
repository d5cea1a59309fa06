/* The air a place had: readings, and what stands between and after them. Pure; the caller owns all memory.
 *
 * The gap rules: with H = the reading's hold, neighbours at most H apart are joined by a straight line and count as
 * measured. Beyond that the last value holds for H, and then the air is assumed: for openings the cold and damp end of
 * the 24 h before the last reading, for closings the warm end; with less than a day of readings 10 C colder and 85 %
 * (or damper, if it was) for openings, 10 C warmer for closings. Air before the first reading is assumed likewise from
 * that reading. Nothing known at all: the visitor gets steps with basis AIR_ASSUMED and NAN air.
 *
 * Temperature and humidity are told apart in this: a reading may lack one of them, and then that one is assumed from the last reading that has it, for up
 * to a day. After that, and where there is none, humidity is taken to be 85 % for openings and 20 % for closings, and a temperature is not known. */
#ifndef COAT_HISTORY_H
#define COAT_HISTORY_H

#include "coat/law.h"
#include "coat/words.h"

#include <stddef.h>
#include <stdint.h>

/* One reading as it is stored: whole milliseconds, milli-degrees, milli-percent. A sensor need not measure both. */
#define READING_NONE INT32_MIN
struct reading {
    int64_t at_ms;
    int32_t temp_mc; /* READING_NONE where it is not known */
    int32_t rh_mp;   /* likewise */
    int32_t hold_s; /* H of its sensor: 3 times its usual interval, 900 to 7200; 7200 for air entered by hand */
};

#define READING_HOLD_BY_HAND_S 7200
#define READING_HOLD_MIN_S 900
#define READING_HOLD_MAX_S 7200

/* H of a sensor with that usual interval: three times it, kept to the bounds above. */
int32_t sensor_hold_s(int32_t interval_s);

/* A stretch of measured air in which a law stood still, and what kept it. */
struct still {
    int64_t from_ms, to_ms;
    enum stall why;
};

/* A stretch of air, straight from one end to the other. */
struct air_step {
    int64_t from_ms, to_ms;
    double temp0_c, temp1_c, rh0_pct, rh1_pct; /* temperature and humidity NAN where nothing is known at all */
    enum air_basis basis;    /* of the temperature */
    enum air_basis rh_basis;
};

/* With less than a day of readings: meant to be damper and dryer than a shop gets in a day. */
#define HISTORY_DAMP_PCT 85.0
#define HISTORY_DRY_PCT 20.0

/* What the air is taken to be once a reading has been held for its H. */
struct air_assumption {
    double cold_c, damp_pct; /* for openings */
    double warm_c, dry_pct;  /* for closings */
};

/* From the readings of the two days up to and including the last one, r[0..n), n >= 1, in order of time. A temperature that is not known is NAN. */
struct air_assumption history_assume(const struct reading *r, size_t n);

/* How many of the readings, in order of time, are at or before at_ms. */
size_t history_count_until(const struct reading *r, size_t n, int64_t at_ms);

/* Gives the visitor the air from from_ms to to_ms in order, without gap or overlap. `r` holds in order of time at least: the
 * last reading at or before from_ms with the two days before that one, and all up to the first at or after to_ms; where they
 * exist. No step crosses a reading or a boundary of the rules. The visitor returns false to stop early. */
typedef bool (*history_visitor)(const struct air_step *step, void *context);
void history_walk(const struct reading *r, size_t n, int64_t from_ms, int64_t to_ms, enum law_side side,
                  history_visitor visit, void *context);

/* The same for who walks often over one array of readings: what was found out about them is kept, and the walk is quicker for it, not other. history_forget()
 * first, and whenever readings other than those behind its last change. */
struct history_ends {
    double low, high;
    bool whole_day;
};
struct history_memory {
    size_t seen, last_with[AIR_QUANTITY_COUNT], ends_of[AIR_QUANTITY_COUNT];
    struct history_ends ends[AIR_QUANTITY_COUNT];
};
void history_forget(struct history_memory *memory);
void history_walk_again(const struct reading *r, size_t n, int64_t from_ms, int64_t to_ms, enum law_side side, struct history_memory *memory,
                        history_visitor visit, void *context);

/* Where the readings are NAN-free, the integral of a law over a step; 0 for NAN air on the opening side, and the rate at
 * HISTORY_UNKNOWN_WARM_C on the closing side. */
#define HISTORY_UNKNOWN_WARM_C 30.0
double history_step_integral(const struct law *law, const struct air_step *step);

/* When inside the step the integral has grown by goal (which is at most the step's integral). */
int64_t history_step_solve(const struct law *law, const struct air_step *step, double goal);

#endif
