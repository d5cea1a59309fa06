/* outlook [AIR.csv]: replays recorded air. A coat every 6 hours, with only the past known; when an enamel of 24 h and one of 48 h
 * at 20 C (a doubling each 10 C) will be done, against the air that then really came. Prints a table and, last, one line of JSON.
 *
 * The file: comma-separated, with columns "time" (RFC 3339), "air_c" and "rh_pct" in any order and among any others; times rise. */
#include "coat/moment.h"
#include "coat/outlook.h"

#include <errno.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define EVERY_MS (6 * MS_PER_H)
#define HOLE_MS (6 * MS_PER_H) /* a coat whose wait spans a longer one is not judged (nor twice the usual interval) */
#define PAST_MS (16 * MS_PER_DAY)
#define COLUMNS_MAX 64

static _Noreturn __attribute__((format(printf, 1, 2))) void give_up(const char *format, ...)
{
    va_list args;
    va_start(args, format);
    fputs("outlook: ", stderr);
    vfprintf(stderr, format, args);
    fputc('\n', stderr);
    va_end(args);
    exit(2);
}

/* ---- the file ---- */

struct air {
    struct reading *r;
    double *grown; /* integral of the law up to each reading */
    size_t count, room;
    int64_t hole_ms;
};

enum column { COLUMN_TIME, COLUMN_AIR, COLUMN_RH, COLUMN_COUNT };
static const char *const column_names[COLUMN_COUNT] = {"time", "air_c", "rh_pct"};

/* Cuts a line at its commas, in place. Fields past COLUMNS_MAX are not looked at. */
static unsigned cut(char *line, char *field[COLUMNS_MAX])
{
    unsigned n = 0;
    line[strcspn(line, "\r\n")] = '\0';
    for (char *at = line; at && n < COLUMNS_MAX; n++) {
        field[n] = at;
        at = strchr(at, ',');
        if (at)
            *at++ = '\0';
    }
    return n;
}

static void find_columns(const char *path, char *head, unsigned where[COLUMN_COUNT])
{
    char *field[COLUMNS_MAX];
    unsigned n = cut(head, field);
    for (unsigned c = 0; c < COLUMN_COUNT; c++) {
        where[c] = 0;
        while (where[c] < n && strcmp(field[where[c]], column_names[c]) != 0)
            where[c]++;
        if (where[c] == n)
            give_up("%s, line 1: there is no column \"%s\"; it needs time, air_c and rh_pct", path, column_names[c]);
    }
}

static int32_t read_milli(const char *path, size_t line, enum column column, const char *text, double low, double high)
{
    char *end = NULL;
    double value = strtod(text, &end);
    if (end == text || *end != '\0' || !(value >= low && value <= high))
        give_up("%s, line %zu, column %s: \"%.40s\" is no number from %g to %g", path, line, column_names[column], text, low, high);
    return (int32_t)lround(value * 1000.0);
}

static struct reading read_row(const char *path, size_t line, char *text, const unsigned where[COLUMN_COUNT])
{
    char *field[COLUMNS_MAX];
    struct coat_error error;
    struct reading r = {0};
    unsigned n = cut(text, field);
    for (unsigned c = 0; c < COLUMN_COUNT; c++)
        if (where[c] >= n)
            give_up("%s, line %zu: column %s is missing", path, line, column_names[c]);
    if (moment_parse(field[where[COLUMN_TIME]], &r.at_ms, &error) != COAT_OK)
        give_up("%s, line %zu, column time: %s", path, line, error.text);
    r.temp_mc = read_milli(path, line, COLUMN_AIR, field[where[COLUMN_AIR]], -60.0, 100.0);
    r.rh_mp = read_milli(path, line, COLUMN_RH, field[where[COLUMN_RH]], 0.0, 100.5);
    return r;
}

static void add_reading(const char *path, size_t line, struct air *air, struct reading r)
{
    if (air->count > 0 && r.at_ms <= air->r[air->count - 1].at_ms)
        give_up("%s, line %zu, column time: it is not after the line before", path, line);
    if (air->count == air->room) {
        air->room = air->room ? 2 * air->room : 4096;
        air->r = realloc(air->r, air->room * sizeof *air->r);
        if (!air->r)
            give_up("out of memory");
    }
    air->r[air->count++] = r;
}

static struct air read_air(const char *path)
{
    struct air air = {0};
    unsigned where[COLUMN_COUNT];
    char text[4096];
    FILE *file = fopen(path, "r");
    if (!file)
        give_up("%s cannot be opened: %s", path, strerror(errno));
    for (size_t line = 1; fgets(text, sizeof text, file); line++) {
        if (!strchr(text, '\n') && !feof(file))
            give_up("%s, line %zu: it is longer than %zu bytes", path, line, sizeof text - 2);
        if (line == 1)
            find_columns(path, text, where);
        else if (text[strspn(text, " \r\n")] != '\0')
            add_reading(path, line, &air, read_row(path, line, text, where));
    }
    if (ferror(file))
        give_up("%s cannot be read: %s", path, strerror(errno));
    fclose(file);
    if (air.count < 2)
        give_up("%s has no two lines of air", path);
    return air;
}

static int compare_times(const void *left, const void *right)
{
    int64_t a = *(const int64_t *)left, b = *(const int64_t *)right;
    return (a > b) - (a < b);
}

/* H of the readings is three times the usual (median) interval; a hole is at least twice it. */
static void set_hold(struct air *air)
{
    size_t n = air->count - 1;
    int64_t *gap = malloc(n * sizeof *gap);
    if (!gap)
        give_up("out of memory");
    for (size_t i = 0; i < n; i++)
        gap[i] = air->r[i + 1].at_ms - air->r[i].at_ms;
    qsort(gap, n, sizeof *gap, compare_times);
    air->hole_ms = 2 * gap[n / 2] > HOLE_MS ? 2 * gap[n / 2] : HOLE_MS;
    double hold_s = fmin(fmax(3.0 * (double)gap[n / 2] / (double)MS_PER_S, READING_HOLD_MIN_S), READING_HOLD_MAX_S);
    for (size_t i = 0; i < air->count; i++)
        air->r[i].hold_s = (int32_t)hold_s;
    free(gap);
}

/* ---- the air as it came: readings joined by straight lines ---- */

static struct air_step step_after(const struct air *air, size_t i)
{
    const struct reading *a = &air->r[i], *b = a + 1;
    return (struct air_step){a->at_ms,          b->at_ms,         a->temp_mc / 1000.0, b->temp_mc / 1000.0,
                             a->rh_mp / 1000.0, b->rh_mp / 1000.0, AIR_MEASURED, AIR_MEASURED};
}

static void integrate(struct air *air, const struct law *law)
{
    air->grown = malloc(air->count * sizeof *air->grown);
    if (!air->grown)
        give_up("out of memory");
    air->grown[0] = 0.0;
    for (size_t i = 0; i + 1 < air->count; i++) {
        struct air_step step = step_after(air, i);
        air->grown[i + 1] = air->grown[i] + history_step_integral(law, &step);
    }
}

/* Index of the last reading at or before the moment; there is one. */
static size_t reading_at(const struct air *air, int64_t at_ms)
{
    size_t low = 0, high = air->count;
    while (low + 1 < high) {
        size_t mid = low + (high - low) / 2;
        if (air->r[mid].at_ms <= at_ms)
            low = mid;
        else
            high = mid;
    }
    return low;
}

static double grown_at(const struct air *air, const struct law *law, int64_t at_ms)
{
    size_t i = reading_at(air, at_ms);
    if (i + 1 == air->count)
        return air->grown[i];
    struct air_step step = step_after(air, i);
    double share = (double)(at_ms - step.from_ms) / (double)(step.to_ms - step.from_ms);
    step.temp1_c = step.temp0_c + (step.temp1_c - step.temp0_c) * share;
    step.rh1_pct = step.rh0_pct + (step.rh1_pct - step.rh0_pct) * share;
    step.to_ms = at_ms;
    return air->grown[i] + (share > 0.0 ? history_step_integral(law, &step) : 0.0);
}

/* When the integral reached the level; MOMENT_NONE where the file ends before. */
static int64_t reached_at(const struct air *air, const struct law *law, double level)
{
    size_t low = 0, high = air->count - 1;
    if (!(level <= air->grown[high]))
        return MOMENT_NONE;
    while (low + 1 < high) {
        size_t mid = low + (high - low) / 2;
        if (air->grown[mid] < level)
            low = mid;
        else
            high = mid;
    }
    struct air_step step = step_after(air, low);
    return history_step_solve(law, &step, level - air->grown[low]);
}

static bool has_hole(const struct air *air, int64_t from_ms, int64_t to_ms)
{
    for (size_t i = reading_at(air, from_ms); i + 1 < air->count && air->r[i].at_ms < to_ms; i++)
        if (air->r[i + 1].at_ms - air->r[i].at_ms > air->hole_ms)
            return true;
    return false;
}

/* ---- the two plain ways ---- */

static double hours_between(int64_t from_ms, int64_t to_ms)
{
    return (double)(to_ms - from_ms) / (double)MS_PER_H;
}

/* The last reading for ever. */
static double persistence_h(const struct air *air, const struct law *law, int64_t now_ms, double need)
{
    const struct reading *r = &air->r[reading_at(air, now_ms)];
    return need / law_rate(law, r->temp_mc / 1000.0, r->rh_mp / 1000.0, NULL);
}

/* The last 24 hours again and again. */
static double same_day_h(const struct air *air, const struct law *law, int64_t now_ms, double need)
{
    double before = grown_at(air, law, now_ms - MS_PER_DAY), daily = grown_at(air, law, now_ms) - before;
    double whole = floor(need / daily), rest = need - whole * daily;
    return 24.0 * whole + hours_between(now_ms - MS_PER_DAY, reached_at(air, law, before + rest));
}

/* ---- the judging ---- */

static const double enamels_h[] = {24.0, 48.0};
#define ENAMELS 2

/* Parts of the file: the outlook's figures were tuned on the first 15 days of each month of the airport file. */
enum part { PART_FIRST_HALVES, PART_SECOND_HALVES, PART_COUNT };
static const char *const part_names[PART_COUNT] = {"days 1 to 15 of each month", "the other days"};

struct score {
    unsigned n, early, late; /* truths before and after the band */
    double truth, ours, persistence, same_day, width;
};

struct cost {
    double outlook_s, growth_s;
    unsigned outlooks;
};

struct board {
    struct score score[PART_COUNT][ENAMELS];
    unsigned left_out;
    struct cost cost;
};

static double seconds_now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return (double)t.tv_sec + (double)t.tv_nsec * 1e-9;
}

static void look_ahead(const struct air *air, const struct law *law, int64_t now_ms, struct cost *cost,
                       struct outlook_growth *ret)
{
    static struct outlook outlook;
    size_t first = reading_at(air, now_ms - PAST_MS), end = reading_at(air, now_ms) + 1;
    struct outlook_facts facts = {.readings = air->r + first, .count = end - first, .now_ms = now_ms};
    double start_s = seconds_now();
    outlook_make(&facts, OUTLOOK_HOURS_MAX, &outlook);
    double made_s = seconds_now();
    outlook_grow(&outlook, law, ret);
    cost->outlook_s += made_s - start_s;
    cost->growth_s += seconds_now() - made_s;
    cost->outlooks++;
}

static void judge(const struct air *air, const struct law *law, int64_t now_ms, double need,
                  const struct outlook_growth *growth, struct score *score)
{
    double truth_h = hours_between(now_ms, reached_at(air, law, grown_at(air, law, now_ms) + need));
    struct outlook_finish f = outlook_finish(growth, (struct outlook_need){.whole = need});
    if (f.latest_ms == MOMENT_NONE)
        give_up("the outlook tells no finish in air that moves the law");
    score->n++;
    score->truth += truth_h;
    score->ours += fabs(hours_between(now_ms, f.likely_ms) - truth_h);
    score->persistence += fabs(persistence_h(air, law, now_ms, need) - truth_h);
    score->same_day += fabs(same_day_h(air, law, now_ms, need) - truth_h);
    score->width += hours_between(f.earliest_ms, f.latest_ms);
    score->early += truth_h < hours_between(now_ms, f.earliest_ms);
    score->late += truth_h > hours_between(now_ms, f.latest_ms);
}

/* A coat laid at now_ms, with both enamels. */
static void judge_coat(const struct air *air, const struct law *law, int64_t now_ms, struct board *board)
{
    static struct outlook_growth growth;
    struct score *score = board->score[moment_civil(now_ms).day <= 15 ? PART_FIRST_HALVES : PART_SECOND_HALVES];
    bool looked = false;
    for (unsigned i = 0; i < ENAMELS; i++) {
        int64_t done_ms = reached_at(air, law, grown_at(air, law, now_ms) + enamels_h[i]);
        if (done_ms == MOMENT_NONE || has_hole(air, now_ms - MS_PER_DAY, done_ms)) {
            board->left_out++;
            continue;
        }
        if (!looked)
            look_ahead(air, law, now_ms, &board->cost, &growth);
        looked = true;
        judge(air, law, now_ms, enamels_h[i], &growth, &score[i]);
    }
}

static void add_score(struct score *sum, const struct score *more)
{
    sum->n += more->n;
    sum->early += more->early;
    sum->late += more->late;
    sum->truth += more->truth;
    sum->ours += more->ours;
    sum->persistence += more->persistence;
    sum->same_day += more->same_day;
    sum->width += more->width;
}

static double error_ratio(const struct score *s)
{
    return s->ours / fmin(s->persistence, s->same_day);
}

/* As JSON, which knows no infinity: null where a plain way never misses, in steady air. */
static const char *ratio_text(const struct score *s, char text[32])
{
    double ratio = error_ratio(s);
    if (isfinite(ratio))
        snprintf(text, 32, "%.4f", ratio);
    else
        snprintf(text, 32, "null");
    return text;
}

static double coverage(const struct score *s)
{
    return 1.0 - (double)(s->early + s->late) / s->n;
}

static void print_row(const char *what, const char *enamel, const struct score *s)
{
    if (s->n == 0)
        return;
    printf("%-28s %-5s %6u %8.1f %8.2f %8.2f %8.2f %8.3f %8.1f %8.3f %7.3f %7.3f\n", what, enamel, s->n, s->truth / s->n,
           s->ours / s->n, s->persistence / s->n, s->same_day / s->n, error_ratio(s), s->width / s->n, coverage(s),
           (double)s->early / s->n, (double)s->late / s->n);
}

static void print_board(const struct board *board)
{
    struct score all = {0};
    char text[32];
    printf("%-28s %-5s %6s %8s %8s %8s %8s %8s %8s %8s %7s %7s\n", "coats", "hours", "n", "truth h", "missed h", "persist",
           "last day", "ratio", "band h", "inside", "before", "after");
    for (unsigned p = 0; p < PART_COUNT; p++) {
        struct score both = {0};
        for (unsigned i = 0; i < ENAMELS; i++) {
            print_row(part_names[p], i == 0 ? "24" : "48", &board->score[p][i]);
            add_score(&both, &board->score[p][i]);
        }
        print_row(part_names[p], "both", &both);
        add_score(&all, &both);
    }
    print_row("all", "both", &all);
    if (all.n == 0)
        give_up("no coat could be judged: the file is too short, or full of holes");
    printf("left out (the file ends or has a hole before they were done): %u\n", board->left_out);
    printf("cost: %.3f ms an outlook, %.3f ms a law\n", board->cost.outlook_s / board->cost.outlooks * 1e3,
           board->cost.growth_s / board->cost.outlooks * 1e3);
    printf("{\"error_ratio\":%s,\"coverage\":%.4f,\"n\":%u}\n", ratio_text(&all, text), coverage(&all), all.n);
}

int main(int argc, char **argv)
{
    static struct board board;
    struct law law;
    struct coat_error error;
    struct law_terms plain = {.side = SIDE_PLAIN, .rows = 1, .row = {{20.0, 1.0}}, .doubling_c = 10.0, .rule = HUMIDITY_SOLVENT,
                              .ref_rh_pct = 50.0, .min_temp_c = (double)NAN, .max_rh_pct = (double)NAN};
    if (argc > 2)
        give_up("say at most one file");
    if (law_from_terms(&plain, &law, &error) != COAT_OK)
        give_up("%s", error.text);
    struct air air = read_air(argc > 1 ? argv[1] : "tests/reference/air/airport_hours.csv");
    set_hold(&air);
    integrate(&air, &law);
    int64_t start_ms = air.r[0].at_ms + MS_PER_DAY, end_ms = air.r[air.count - 1].at_ms;
    for (int64_t now_ms = (start_ms + EVERY_MS - 1) / EVERY_MS * EVERY_MS; now_ms < end_ms; now_ms += EVERY_MS)
        judge_coat(&air, &law, now_ms, &board);
    print_board(&board);
    free(air.r);
    free(air.grown);
    return 0;
}
