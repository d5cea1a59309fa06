/* Plots in text: a few lines of characters, one series a panel, time running right. Braille dots where a terminal shows them, ASCII elsewhere. What
 * nobody measured stays blank. */
#ifndef CLI_PLOT_H
#define CLI_PLOT_H

#include "cli/text.h"

#include <stdbool.h>
#include <stdint.h>

#define PLOT_COLUMNS_MAX 120
#define PLOT_POINTS_MAX (2 * PLOT_COLUMNS_MAX)

/* Points in order of time, NAN where there is nothing to draw. */
struct plot_series {
    unsigned count;
    double low[PLOT_POINTS_MAX], mean[PLOT_POINTS_MAX], high[PLOT_POINTS_MAX];
    bool broken[PLOT_POINTS_MAX]; /* nobody measured there: nothing is drawn across it */
};

struct plot_scale {
    double low, high; /* NAN where no point is known */
};

/* Draws points in between where known ones lie apart and no broken one lies between them. */
void plot_join(struct plot_series *series);
/* From the lowest to the highest that is known. */
struct plot_scale plot_scale_of(const struct plot_series *series);

/* How many points a column holds: 2 in braille. */
unsigned plot_points_in_column(bool braille);
/* Adds line `row` of `rows`, the uppermost is 0, without spaces at its end. ASCII: "*" the mean, ":" from lowest to highest. Braille: the line, and
 * what it spread. */
void plot_row(struct text *text, const struct plot_series *series, struct plot_scale scale, unsigned row, unsigned rows, bool braille);

/* A line of ticks ("-----+-----") and one of what they say, in the local zone: "12:00", at midnight the weekday, over weeks "27 Nov". */
void plot_axis(struct text *ticks, struct text *labels, int64_t from_ms, int64_t column_ms, unsigned columns);

/* Whether this terminal is taken to show braille: one that somebody looks at, with UTF-8. Colour has no say in it. */
bool plot_shows_braille(FILE *out);

#endif
