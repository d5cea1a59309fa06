#include "coat/phrase.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>

/* ---- words ---- */

static const char *const does_phrases[SPAN_COUNT] = {
    [SPAN_WAIT] = "wait", [SPAN_GO] = "go", [SPAN_WIPE] = "wipe with solvent first",
    [SPAN_SCUFF] = "scuff first", [SPAN_STRIP] = "too late: strip it", [SPAN_TEST] = "finger test",
};

/* What comes off late is scored and not scuffed; a size that is late may still have tack. */
static const char late_unmask[] = "score along the tape first";
static const char late_size[] = "too late to rely on: try it with a finger";

bool span_is_late_tape(enum stage stage, enum span_do does)
{
    return stage == STAGE_UNMASK && (does == SPAN_SCUFF || does == SPAN_WIPE);
}

bool span_is_late_size(enum stage stage, enum span_do does)
{
    return stage == STAGE_LEAF && does == SPAN_STRIP;
}

const char *span_do_phrase(enum stage stage, enum span_do does)
{
    if (span_is_late_tape(stage, does))
        return late_unmask;
    if (span_is_late_size(stage, does))
        return late_size;
    return (size_t)does < SPAN_COUNT ? does_phrases[does] : "?";
}

static const char *const stall_phrases[STALL_COUNT] = {
    [STALL_NONE] = "", [STALL_COLD] = "too cold", [STALL_DAMP] = "too damp", [STALL_AIR_UNKNOWN] = "air not known",
};

const char *stall_phrase(enum stall stall)
{
    return (size_t)stall < STALL_COUNT ? stall_phrases[stall] : "?";
}

static const char *const inspect_phrases[INSPECT_COUNT] = {
    [INSPECT_NOT] = "",
    [INSPECT_AIR] = "the air left its limits while it was soft",
    [INSPECT_DEW] = "the casting may have been below the dew point while it was soft",
};

const char *inspect_phrase(enum inspect why)
{
    return (size_t)why < INSPECT_COUNT ? inspect_phrases[why] : "?";
}

/* ---- the sentence ---- */

static void add_arguments(struct phrase *phrase, const char *format, va_list arguments) __attribute__((format(printf, 2, 0)));
static void add_arguments(struct phrase *phrase, const char *format, va_list arguments)
{
    size_t room = sizeof phrase->data - phrase->length;
    int more = vsnprintf(phrase->data + phrase->length, room, format, arguments);
    if (more > 0)
        phrase->length += (size_t)more < room ? (size_t)more : room - 1;
}

struct phrase phrase_begin(const struct phrase *like)
{
    return (struct phrase){.local_ms = like->local_ms, .context = like->context, .now_ms = like->now_ms, .units = like->units};
}

void phrase_add(struct phrase *phrase, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    add_arguments(phrase, format, arguments);
    va_end(arguments);
}

void phrase_join(struct phrase *phrase, const char *joint, const char *format, ...)
{
    va_list arguments;
    if (phrase->length > 0)
        phrase_add(phrase, "%s", joint);
    va_start(arguments, format);
    add_arguments(phrase, format, arguments);
    va_end(arguments);
}

void phrase_moment(struct phrase *phrase, int64_t at_ms)
{
    char text[MOMENT_TEXT_SIZE];
    int64_t local_ms = at_ms == MOMENT_NONE ? MOMENT_NONE : phrase->local_ms(phrase->context, at_ms);
    phrase_add(phrase, "%s", moment_print_near(local_ms, phrase->local_ms(phrase->context, phrase->now_ms), text));
}

void phrase_quantity(struct phrase *phrase, enum quantity kind, double value)
{
    char text[32];
    phrase_add(phrase, "%s", isfinite(value) ? quantity_print(kind, value, phrase->units, text, sizeof text) : "-");
}

/* ---- moments ---- */

/* " (14:50 to 15:30)"; what has no far end is told by its near one. */
static void add_spread(struct phrase *phrase, const struct moment_band *band)
{
    int64_t earliest = band->earliest_at, latest = band->latest_at;
    if (earliest == MOMENT_NONE || (latest != MOMENT_NONE && latest - earliest < MS_PER_MIN))
        return; /* nothing to tell apart */
    phrase_add(phrase, " (");
    phrase_moment(phrase, earliest);
    if (latest == MOMENT_NONE) {
        phrase_add(phrase, " at the earliest)");
        return;
    }
    phrase_add(phrase, " to ");
    phrase_moment(phrase, latest);
    phrase_add(phrase, ")");
}

void phrase_opening_parts(struct phrase *when, struct phrase *more, const struct moment_band *band)
{
    if (band->passed) {
        phrase_moment(when, band->likely_at);
        return;
    }
    if (band->likely_at == MOMENT_NONE) {
        phrase_add(when, "not in this air");
    } else {
        phrase_add(when, "about ");
        phrase_moment(when, band->likely_at);
        add_spread(more, band);
    }
    if (band->label_floor_at != MOMENT_NONE) {
        phrase_add(more, ", label floor ");
        phrase_moment(more, band->label_floor_at);
    }
}

void phrase_opening(struct phrase *phrase, const struct moment_band *band)
{
    struct phrase more = phrase_begin(phrase);
    phrase_opening_parts(phrase, &more, band);
    phrase_add(phrase, "%s", more.data);
}

void phrase_closing(struct phrase *phrase, const struct moment_band *band)
{
    phrase_moment(phrase, band->earliest_at != MOMENT_NONE ? band->earliest_at : band->label_ceiling_at);
}

/* ---- stages ---- */

void phrase_reserve(struct phrase *phrase, const struct stage_view *stage)
{
    if (stage->stall != STALL_NONE)
        phrase_join(phrase, "; ", "held up: %s", stall_phrase(stage->stall));
    if (stage->no_window)
        phrase_join(phrase, "; ", "no window in this air: it closes before it opens");
    if (stage->prepared)
        phrase_join(phrase, "; ", "sanded in time");
    if (stage->assumed)
        phrase_join(phrase, "; ", "on assumed air: test first");
    if (stage->disputed)
        phrase_join(phrase, "; ", "sources differ: read the can");
}

static bool lets_through(const struct span_view *span)
{
    return span != NULL && span->does == SPAN_GO;
}

/* One span that has an end: its end is an opening where the next lets through, else a closing. */
static void add_span(struct phrase *phrase, enum stage stage, const struct span_view *span, const struct span_view *next, bool now)
{
    const char *does = span_do_phrase(stage, span->does);
    if (!span->ends) {
        phrase_join(phrase, "; ", "%s%s", now ? "" : "then ", now && lets_through(span) ? "go, no end" : does);
        return;
    }
    if (span->does == SPAN_WAIT && lets_through(next)) {
        phrase_join(phrase, "; ", "%s", now ? "" : "then shut until ");
        phrase_opening(phrase, &span->until);
        return;
    }
    phrase_join(phrase, "; ", "%s%s until ", now ? "" : "then ", does);
    if (lets_through(next))
        phrase_opening(phrase, &span->until);
    else
        phrase_closing(phrase, &span->until);
}

void phrase_stage(struct phrase *phrase, const struct stage_view *stage)
{
    bool plain = !stage_is_window(stage->stage);
    if (stage->state == STATE_USED)
        return;
    if (plain && stage->state == STATE_REACHED && stage->spans > 0) {
        phrase_add(phrase, "since ");
        phrase_moment(phrase, stage->span[0].until.likely_at);
        return;
    }
    for (unsigned i = stage->current; i < stage->spans; i++) {
        bool last = i + 1 == stage->spans;
        if (last && plain)
            break; /* "touch: go, no end" says nothing that the moment before it did not */
        if (last && i > stage->current && lets_through(&stage->span[i]))
            break;
        add_span(phrase, stage->stage, &stage->span[i], last ? NULL : &stage->span[i + 1], i == stage->current);
    }
}

void phrase_air_hours(struct phrase *phrase, double measured_h, double assumed_h)
{
    if (measured_h > 0.0)
        phrase_join(phrase, ", ", "%.1f h measured", measured_h);
    if (assumed_h > 0.0)
        phrase_join(phrase, ", ", "%.1f h assumed", assumed_h);
}

void phrase_hands_off(struct phrase *phrase, enum stage stage, const struct moment_band *band)
{
    if (stage == STAGE_HANDLE)
        phrase_add(phrase, band->likely_at != MOMENT_NONE ? "do not handle it before " : "do not handle it: ");
    else
        phrase_add(phrase, "do not touch before it is %s, ", stage_word(stage));
    phrase_opening(phrase, band);
}

/* ---- air ---- */

void phrase_temp_rh(struct phrase *phrase, double temp_c, double rh_pct, bool rh_assumed)
{
    if (!isfinite(temp_c) || !isfinite(rh_pct)) {
        phrase_add(phrase, "air not known");
        return;
    }
    phrase_quantity(phrase, QUANTITY_TEMPERATURE, temp_c);
    phrase_add(phrase, " ");
    phrase_quantity(phrase, QUANTITY_SHARE, rh_pct);
    if (rh_assumed)
        phrase_add(phrase, " (humidity assumed)");
}

void phrase_air(struct phrase *phrase, const struct air_view *air)
{
    bool assumed = air->basis == AIR_ASSUMED;
    phrase_temp_rh(phrase, air->temp_c, air->rh_pct, air->basis == AIR_MEASURED && air->rh_basis == AIR_ASSUMED);
    if (isfinite(air->dew_point_c)) {
        phrase_add(phrase, ", dew point ");
        phrase_quantity(phrase, QUANTITY_TEMPERATURE, air->dew_point_c);
    }
    phrase_add(phrase, assumed ? ", assumed since " : " (read ");
    phrase_moment(phrase, assumed ? air->assumed_from_at : air->at);
    phrase_add(phrase, assumed ? ": test first" : ")");
}
