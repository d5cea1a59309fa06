/* How states and times are said, in one place: the sentences of the command line and of the page that is read without scripts. Pure: the zone and
 * the units are the caller's. */
#ifndef COAT_PHRASE_H
#define COAT_PHRASE_H

#include "coat/bake.h"
#include "coat/moment.h"
#include "coat/quantity.h"
#include "coat/view.h"
#include "coat/words.h"

/* ---- words as a person says them; never NULL ---- */
const char *span_do_phrase(enum stage stage, enum span_do does); /* "wipe with solvent first"; a size and tape have their own */
/* Tape that comes off late, and a size that is late: neither is scuffed, wiped or stripped as a film is. */
bool span_is_late_tape(enum stage stage, enum span_do does);
bool span_is_late_size(enum stage stage, enum span_do does);
const char *stall_phrase(enum stall stall);            /* "too cold"; of none "" */
const char *bake_state_phrase(enum bake_state state);  /* "out of the heat, cooling" */
const char *inspect_phrase(enum inspect why);          /* "the air left its limits while it was soft"; of none "" */

/* ---- sentences ---- */

/* A sentence that grows; what does not fit is cut. Made with phrase_begin. */
#define PHRASE_SIZE 2048
struct phrase {
    int64_t (*local_ms)(const void *context, int64_t at_ms); /* what the clocks of the zone show at a moment, counted as if it were UTC */
    const void *context;
    int64_t now_ms;
    enum units_system units;
    size_t length;
    char data[PHRASE_SIZE]; /* NUL-terminated */
};
/* An empty one with the zone, units and now of another. */
struct phrase phrase_begin(const struct phrase *like);
void phrase_add(struct phrase *phrase, const char *format, ...) __attribute__((format(printf, 2, 3)));
/* Adds `joint` first unless the phrase is still empty. */
void phrase_join(struct phrase *phrase, const char *joint, const char *format, ...) __attribute__((format(printf, 3, 4)));

void phrase_moment(struct phrase *phrase, int64_t at_ms);
/* "17.8 C"; "-" where the number is not known. */
void phrase_quantity(struct phrase *phrase, enum quantity kind, double value);

/* An opening in two: "about 15:05", and " (14:50 to 15:30), label floor Mon 14:25"; "not in this air" where it does not come. */
void phrase_opening_parts(struct phrase *when, struct phrase *more, const struct moment_band *band);
void phrase_opening(struct phrase *phrase, const struct moment_band *band);
/* A closing: the earliest it may be. */
void phrase_closing(struct phrase *phrase, const struct moment_band *band);

/* What is still ahead in a stage: "go until 15:25; then wait until about Mon 14:25 (…), then go". Into an empty phrase. */
void phrase_stage(struct phrase *phrase, const struct stage_view *stage);
/* "held up: too cold; on assumed air: test first", "sources differ: read the can" and the like. */
void phrase_reserve(struct phrase *phrase, const struct stage_view *stage);
/* "5.5 h measured, 0.2 h assumed": the air behind it; nothing where there is none yet. */
void phrase_air_hours(struct phrase *phrase, double measured_h, double assumed_h);
/* "do not touch before it is dust-free, about 15:05", of the stage that is waited for. */
void phrase_hands_off(struct phrase *phrase, enum stage stage, const struct moment_band *band);

/* "17.8 C 61 %", with what of it is assumed. */
void phrase_temp_rh(struct phrase *phrase, double temp_c, double rh_pct, bool rh_assumed);
/* The air of a place as it is now, where it is known: the same with its dew point and when it was read, or since when it is assumed. */
void phrase_air(struct phrase *phrase, const struct air_view *air);

/* ---- a bake ---- */

/* What is said of when, one line each. */
enum bake_line {
    BAKE_LINE_BEGUN, BAKE_LINE_ENDED, BAKE_LINE_HEAT_OFF, BAKE_LINE_TOO_LONG, BAKE_LINE_TOO_HOT, BAKE_LINE_TOUCH, BAKE_LINE_INTERRUPTED, BAKE_LINE_UNREAD,
    BAKE_LINE_COUNT
};
const char *bake_line_name(enum bake_line line); /* "heat off" */
/* The moment and what it means. `usual`: it had its review (begun), is baked (ended), is out of the oven already (touch). */
void phrase_bake_line(struct phrase *phrase, enum bake_line line, int64_t at_ms, bool usual);

struct bake_part_told {
    double low_c, high_c;     /* what it has now: least and most */
    bool probed;
    double progress;          /* by the least; 1 is baked */
    int64_t done_likely_at, done_latest_at; /* MOMENT_NONE: not in sight */
    enum bake_excess excess;
};
void phrase_bake_part(struct phrase *phrase, const struct bake_part_told *part);

#endif
