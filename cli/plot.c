#include "cli/plot.h"

#include "cli/when.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <time.h>
#include <unistd.h>

#define DOTS_DOWN 4   /* of a braille character */
#define DOTS_ACROSS 2
#define LABEL_COLUMNS 8 /* no tick stands closer to the next */

/* ---- points ---- */

static void join_between(struct plot_series *series, unsigned from, unsigned to)
{
    double *columns[] = {series->low, series->mean, series->high};
    for (unsigned i = from + 1; i < to; i++) {
        double share = (double)(i - from) / (double)(to - from);
        for (unsigned k = 0; k < 3; k++)
            columns[k][i] = columns[1][from] + share * (columns[1][to] - columns[1][from]); /* nothing is known of its spread */
    }
}

void plot_join(struct plot_series *series)
{
    unsigned last = series->count; /* none yet */
    for (unsigned i = 0; i < series->count; i++) {
        bool known = isfinite(series->mean[i]);
        if (known && last < i)
            join_between(series, last, i);
        if (known)
            last = i;
        else if (series->broken[i])
            last = series->count;
    }
}

struct plot_scale plot_scale_of(const struct plot_series *series)
{
    struct plot_scale scale = {(double)NAN, (double)NAN};
    for (unsigned i = 0; i < series->count; i++) {
        scale.low = fmin(scale.low, series->low[i]); /* fmin takes the one that is a number */
        scale.high = fmax(scale.high, series->high[i]);
    }
    return scale;
}

/* ---- rows ---- */

/* Which of `levels` lines, counted from below, a value stands on. */
static int level_of(double value, struct plot_scale scale, unsigned levels)
{
    double span = scale.high - scale.low;
    double share = span > 0.0 ? (value - scale.low) / span : 0.5;
    return (int)lround(fmin(fmax(share, 0.0), 1.0) * (levels - 1));
}

unsigned plot_points_in_column(bool braille)
{
    return braille ? DOTS_ACROSS : 1;
}

static char ascii_cell(const struct plot_series *series, struct plot_scale scale, unsigned i, int level, unsigned rows)
{
    if (!isfinite(series->mean[i]))
        return ' ';
    if (level_of(series->mean[i], scale, rows) == level)
        return '*';
    return level >= level_of(series->low[i], scale, rows) && level <= level_of(series->high[i], scale, rows) ? ':' : ' ';
}

/* The dots of one point reach from its lowest to its highest, and half way to the mean of the point before, so that the line holds together. */
static bool has_dot(const struct plot_series *series, struct plot_scale scale, unsigned i, int level, unsigned levels)
{
    if (i >= series->count || !isfinite(series->mean[i]))
        return false;
    int low = level_of(series->low[i], scale, levels);
    int high = level_of(series->high[i], scale, levels);
    if (i > 0 && isfinite(series->mean[i - 1])) {
        int here = level_of(series->mean[i], scale, levels);
        int before = level_of(series->mean[i - 1], scale, levels);
        if (before > here && before - 1 > high)
            high = before - 1;
        else if (before < here && before + 1 < low)
            low = before + 1;
    }
    return level >= low && level <= high;
}

static unsigned braille_cell(const struct plot_series *series, struct plot_scale scale, unsigned column, unsigned row, unsigned rows)
{
    static const unsigned bits[DOTS_ACROSS][DOTS_DOWN] = {{0x01, 0x02, 0x04, 0x40}, {0x08, 0x10, 0x20, 0x80}};
    unsigned levels = rows * DOTS_DOWN;
    unsigned cell = 0;
    for (unsigned across = 0; across < DOTS_ACROSS; across++) {
        for (unsigned down = 0; down < DOTS_DOWN; down++) {
            int level = (int)(levels - 1 - (row * DOTS_DOWN + down));
            if (has_dot(series, scale, column * DOTS_ACROSS + across, level, levels))
                cell |= bits[across][down];
        }
    }
    return cell;
}

static void trim_end(struct text *text, size_t least)
{
    while (text->length > least && text->data[text->length - 1] == ' ')
        text->data[--text->length] = '\0';
}

void plot_row(struct text *text, const struct plot_series *series, struct plot_scale scale, unsigned row, unsigned rows, bool braille)
{
    size_t begin = text->length;
    unsigned columns = (series->count + plot_points_in_column(braille) - 1) / plot_points_in_column(braille);
    for (unsigned i = 0; i < columns; i++) {
        unsigned cell = braille ? braille_cell(series, scale, i, row, rows) : 0;
        if (!braille)
            text_add(text, "%c", ascii_cell(series, scale, i, (int)(rows - 1 - row), rows));
        else if (cell == 0)
            text_add(text, " ");
        else /* U+2800 and what the dots add, as UTF-8 */
            text_add(text, "%c%c%c", 0xE2, 0xA0 + (int)(cell >> 6), 0x80 + (int)(cell & 0x3Fu));
    }
    trim_end(text, begin);
}

/* ---- axis ---- */

static int64_t to_local(int64_t at_ms)
{
    time_t at_s = (time_t)(at_ms / MS_PER_S);
    struct tm local;
    return at_ms + (localtime_r(&at_s, &local) != NULL ? (int64_t)local.tm_gmtoff * MS_PER_S : 0);
}

/* The shortest step that leaves room for what its ticks say. */
static int64_t tick_step(int64_t column_ms)
{
    static const int64_t steps_h[] = {1, 2, 3, 6, 12, 24, 48, 120, 240, 480, 960, 1920, 3840, 8760, 17520, 43800, 87600};
    size_t count = sizeof steps_h / sizeof *steps_h;
    size_t i = 0;
    while (i + 1 < count && steps_h[i] * MS_PER_H < LABEL_COLUMNS * column_ms)
        i++;
    return steps_h[i] * MS_PER_H;
}

static int64_t divide_down(int64_t value, int64_t by)
{
    return value / by - (value % by < 0 ? 1 : 0);
}

/* at_ms: the moment of the tick; local_ms: the same on the wall. */
static void print_tick(int64_t at_ms, int64_t local_ms, int64_t step_ms, char ret[WHEN_TEXT_SIZE])
{
    int minute = (int)((local_ms - divide_down(local_ms, MS_PER_DAY) * MS_PER_DAY) / MS_PER_MIN);
    if (step_ms >= MS_PER_DAY) {
        when_print_date(at_ms, ret);
        char *year = strrchr(ret, ' ');
        if (step_ms < 365 * MS_PER_DAY && year != NULL)
            *year = '\0';
    } else if (minute == 0) {
        when_print_full(at_ms, ret);
        ret[3] = '\0'; /* the weekday */
    } else {
        snprintf(ret, WHEN_TEXT_SIZE, "%02d:%02d", minute / 60, minute % 60);
    }
}

static unsigned characters_of(const struct text *text)
{
    return (unsigned)text->length;
}

void plot_axis(struct text *ticks, struct text *labels, int64_t from_ms, int64_t column_ms, unsigned columns)
{
    int64_t step_ms = tick_step(column_ms);
    unsigned begin = characters_of(labels);
    for (unsigned i = 0; i < columns; i++) {
        int64_t before = to_local(from_ms + column_ms * i - 1), after = to_local(from_ms + column_ms * (i + 1) - 1);
        int64_t tick = divide_down(after, step_ms) * step_ms;
        bool stands = tick > before && tick <= after;
        char label[WHEN_TEXT_SIZE];
        text_add(ticks, "%c", stands ? '+' : '-');
        if (!stands)
            continue;
        print_tick(tick - (after - (from_ms + column_ms * (i + 1) - 1)), tick, step_ms, label);
        if (characters_of(labels) <= begin + i && i + strlen(label) <= columns)
            text_add(labels, "%*s%s", (int)(begin + i - characters_of(labels)), "", label);
    }
}

/* ---- terminals ---- */

static bool is_utf8(void)
{
    static const char *const names[] = {"LC_ALL", "LC_CTYPE", "LANG"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        const char *value = getenv(names[i]);
        if (value != NULL && value[0] != '\0')
            return strcasestr(value, "utf-8") != NULL || strcasestr(value, "utf8") != NULL;
    }
    return false;
}

bool plot_shows_braille(FILE *out)
{
    const char *term = getenv("TERM");
    return isatty(fileno(out)) && is_utf8() && term != NULL && strcmp(term, "dumb") != 0 && strcmp(term, "linux") != 0;
}
