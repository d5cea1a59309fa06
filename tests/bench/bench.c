/* bench OUT.json [PART]: runs the parts (or the one whose name begins with PART), prints a table and writes the figures. */
#include "tests/bench/bench.h"

#include <ftw.h>
#include <libgen.h>
#include <stdio.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

volatile double bench_sink;

static const struct bench_part {
    const char *name;
    const char *ours, *beside; /* what each side does */
    const char *unit;
    double aim; /* ours over beside, at most */
    struct bench_pair (*run)(const struct bench *bench);
} parts[] = {
    {"replay of a year of minute readings through eight stages", "cure clocks over the air", "exp() a reading and stage", "s", 1.0,
     bench_replay},
    {"first answer for a year-old coat from the file", "open, load, view", "scan of the readings as rows", "s", 0.5,
     bench_first_answer},
    {"one new reading with 1,000 open coats", "model and turn, without commits", "exp() a coat and boundary", "s", 1.0,
     bench_new_reading},
    {"durable log of a coat", "one logged coat", "one row, WAL and full sync", "s", 2.5, bench_log_coat},
    {"resident memory with a year of minute readings", "coatd with the year", "coatd with an empty shop", "kB", 2.0, bench_memory},
    {"volume: ready, with ten places and ten years of minute readings", "open, load, first turn", "the aim", "s", 1.0, bench_volume_ready},
    {"volume: plot of 24 hours", "one place in 400 bins", "the aim", "s", 1.0, bench_volume_day},
    {"volume: plot of 7 days", "one place in 400 bins", "the aim", "s", 1.0, bench_volume_week},
    {"volume: plot of 30 days", "one place in 400 bins", "the aim", "s", 1.0, bench_volume_month},
    {"volume: plot of a year", "one place in 400 bins", "the aim", "s", 1.0, bench_volume_year},
    {"volume: plot of ten years", "one place in 400 bins", "the aim", "s", 1.0, bench_volume_all},
    {"volume: peak memory", "opened, every plot of every place", "the aim", "kB", 1.0, bench_volume_memory},
    {"volume: file", "all of it, a reading", "the aim", "bytes", 1.0, bench_volume_disk},
};

#define PARTS (sizeof parts / sizeof *parts)

void bench_must(bool held, const char *condition, const char *file, int line)
{
    if (held)
        return;
    fprintf(stderr, "%s:%d: the bench cannot go on, this did not hold: %s\n", file, line, condition);
    exit(2);
}

static double read_clock(clockid_t clock)
{
    struct timespec t;
    clock_gettime(clock, &t);
    return (double)t.tv_sec + (double)t.tv_nsec * 1e-9;
}

double seconds_now(void)
{
    return read_clock(CLOCK_MONOTONIC);
}

double cpu_seconds_now(void)
{
    return read_clock(CLOCK_PROCESS_CPUTIME_ID);
}

static int compare_numbers(const void *left, const void *right)
{
    double a = *(const double *)left, b = *(const double *)right;
    return (a > b) - (a < b);
}

double median(double *values, size_t count)
{
    qsort(values, count, sizeof *values, compare_numbers);
    return count % 2 ? values[count / 2] : 0.5 * (values[count / 2 - 1] + values[count / 2]);
}

/* ---- scratch ---- */

static int drop(const char *path, const struct stat *found, int kind, struct FTW *walk)
{
    (void)found;
    (void)kind;
    (void)walk;
    return remove(path);
}

static char scratch[256];

static void drop_folder(void)
{
    nftw(scratch, drop, 8, FTW_DEPTH | FTW_PHYS);
}

/* The scratch folder stands beside the output, so that it lies on the same disk. */
static void make_folder(struct bench *bench, const char *out)
{
    char copy[200];
    snprintf(copy, sizeof copy, "%s", out);
    snprintf(bench->folder, sizeof bench->folder, "%s/bench-XXXXXX", dirname(copy));
    MUST(mkdtemp(bench->folder) != NULL);
    snprintf(scratch, sizeof scratch, "%s", bench->folder);
    atexit(drop_folder); /* also where the bench cannot go on */
}

/* build/tests/bench/bench is this program, build/coatd the service. */
static void find_coatd(struct bench *bench, const char *self)
{
    char copy[200];
    snprintf(copy, sizeof copy, "%s", self);
    snprintf(bench->coatd, sizeof bench->coatd, "%s/../../coatd", dirname(copy));
}

/* ---- what is told ---- */

/* "12.3 ms", "45 us", "8120 kB" */
static const char *told(double value, const char *unit, char text[32])
{
    if (strcmp(unit, "s") != 0)
        snprintf(text, 32, value < 100.0 ? "%.2f %s" : "%.0f %s", value, unit);
    else if (value >= 1e-3)
        snprintf(text, 32, "%.2f ms", value * 1e3);
    else
        snprintf(text, 32, "%.1f us", value * 1e6);
    return text;
}

static bool print_row(const struct bench_part *part, struct bench_pair pair)
{
    char ours[32], beside[32];
    double ratio = pair.ours / pair.beside;
    printf("%s\n    %-36s %12s\n    %-36s %12s    ratio %.2f, aim %.2f: %s\n", part->name, part->ours,
           told(pair.ours, part->unit, ours), part->beside, told(pair.beside, part->unit, beside), ratio, part->aim,
           ratio <= part->aim ? "ok" : "missed");
    fflush(stdout);
    return ratio <= part->aim;
}

static void write_row(FILE *out, const struct bench_part *part, struct bench_pair pair, bool first)
{
    double ratio = pair.ours / pair.beside;
    fprintf(out, "%s  {\"name\": \"%s\", \"ours\": %.9g, \"beside\": %.9g, \"ratio\": %.4f, \"aim\": %g, \"ok\": %s}",
            first ? "[\n" : ",\n", part->name, pair.ours, pair.beside, ratio, part->aim, ratio <= part->aim ? "true" : "false");
}

static unsigned run_parts(const struct bench *bench, const char *wanted, FILE *out)
{
    unsigned run = 0, missed = 0;
    for (size_t i = 0; i < PARTS; i++) {
        if (strncmp(parts[i].name, wanted, strlen(wanted)) != 0)
            continue;
        struct bench_pair pair = parts[i].run(bench);
        missed += !print_row(&parts[i], pair);
        write_row(out, &parts[i], pair, run++ == 0);
    }
    fprintf(out, run > 0 ? "\n]\n" : "[]\n");
    printf("\n%u of %u within their aim\n", run - missed, run);
    return missed;
}

int main(int argc, char **argv)
{
    struct bench bench = {0};
    if (argc == 3 && strcmp(argv[1], BENCH_VOLUME_CHILD) == 0)
        return bench_volume_child(argv[2]);
    if (argc < 2 || argc > 3) {
        fprintf(stderr, "usage: bench OUT.json [PART]\n");
        return 2;
    }
    FILE *out = fopen(argv[1], "w");
    if (out == NULL) {
        fprintf(stderr, "%s cannot be written\n", argv[1]);
        return 2;
    }
    struct reading *year = bench_year();
    bench.year = year;
    make_folder(&bench, argv[1]);
    find_coatd(&bench, argv[0]);
    run_parts(&bench, argc > 2 ? argv[2] : "", out);
    free(year);
    return fclose(out) == 0 ? 0 : 2;
}
