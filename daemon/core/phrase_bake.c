#include "coat/phrase.h"

#include <math.h>

static const char *const state_phrases[BAKE_STATE_COUNT] = {
    [BAKE_REVIEW] = "under review, not begun",      [BAKE_GIVEN_UP] = "given up before it began",
    [BAKE_HEATING] = "heating up",                  [BAKE_SOAKING] = "baking",
    [BAKE_DONE] = "baked: the heat may go",         [BAKE_INTERRUPTED] = "interrupted: what the oven did is not known",
    [BAKE_COOLING] = "out of the heat, cooling",    [BAKE_COLD] = "over, and cold",
};

const char *bake_state_phrase(enum bake_state state)
{
    return (size_t)state < BAKE_STATE_COUNT ? state_phrases[state] : "?";
}

/* What follows the moment: of the usual case, and else. */
static const struct {
    const char *name, *usual, *otherwise;
} lines[BAKE_LINE_COUNT] = {
    [BAKE_LINE_BEGUN] = {"begun", "", ", without a review"},
    [BAKE_LINE_ENDED] = {"ended", "", ": not shown to be baked through"},
    [BAKE_LINE_HEAT_OFF] = {"heat off", " at the latest estimate: the last part is done then, and the programme over", NULL},
    [BAKE_LINE_TOO_LONG] = {"too long", ": no longer in the heat than this", NULL},
    [BAKE_LINE_TOO_HOT] = {"too hot", "", NULL},
    [BAKE_LINE_TOUCH] = {"to touch", ": not before", ": not before, if it comes out when it is done"},
    [BAKE_LINE_INTERRUPTED] = {"interrupted", ": where the oven goes on, say so with coat bake resume N; else coat bake stop N", NULL},
    [BAKE_LINE_UNREAD] = {"not read", ": nothing counts since", NULL},
};

const char *bake_line_name(enum bake_line line)
{
    return lines[line].name;
}

void phrase_bake_line(struct phrase *phrase, enum bake_line line, int64_t at_ms, bool usual)
{
    phrase_moment(phrase, at_ms);
    phrase_add(phrase, "%s", usual || lines[line].otherwise == NULL ? lines[line].usual : lines[line].otherwise);
}

void phrase_bake_part(struct phrase *phrase, const struct bake_part_told *part)
{
    phrase_quantity(phrase, QUANTITY_TEMPERATURE, part->low_c);
    if (fabs(part->high_c - part->low_c) >= 0.5) {
        phrase_add(phrase, " to ");
        phrase_quantity(phrase, QUANTITY_TEMPERATURE, part->high_c);
    }
    phrase_add(phrase, "%s; baked %.0f %%", part->probed ? " by its probe" : "", fmin(floor(part->progress * 100.0), 100.0));
    if (part->done_likely_at != MOMENT_NONE && part->progress < 1.0) {
        phrase_add(phrase, ", done about ");
        phrase_moment(phrase, part->done_likely_at);
        phrase_add(phrase, ", at the latest ");
        phrase_moment(phrase, part->done_latest_at);
    }
    if (part->excess != BAKE_EXCESS_NONE)
        phrase_add(phrase, "; %s", part->excess == BAKE_EXCESS_HOT ? "MAY BE TOO HOT" : "MAY BE IN TOO LONG");
}
