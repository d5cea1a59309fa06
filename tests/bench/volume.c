/* Ten years of ten places, a reading a minute: how soon a start is ready, how soon the page has its plot, what it costs in memory and on
 * the disk. COAT_BENCH_YEARS=n makes it shorter. The other side of each pair is the aim itself. */
#include "tests/bench/bench.h"

#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#define PLACES 10
#define YEARS_MOST 20
#define BINS 400
#define BINS_AIM_S 0.050
#define READY_AIM_S 0.100
#define MEMORY_AIM_KB (20.0 * 1024.0)
#define READING_AIM_BYTES 9.0 /* eight packed, and the pages around them */
#define COLDER_MC 30000       /* so far below the other places is the last one: no enamel cures there */

static int years(void)
{
    const char *told = getenv("COAT_BENCH_YEARS");
    int count = told != NULL ? atoi(told) : 10;
    return count < 1 ? 1 : count > YEARS_MOST ? YEARS_MOST : count;
}

static int64_t span_ms(void)
{
    return years() * (YEAR_END_MS - YEAR_START_MS);
}

/* ---- the file ---- */

static int64_t add_sensor(struct store *store, int64_t place_id, int number)
{
    struct sensor sensor = {.place_id = place_id, .kind = SENSOR_PUSH, .interval_s = 60, .hold_s = sensor_hold_s(60),
                            .measures = {true, true}, .added_at = YEAR_END_MS - span_ms(), .removed_at = MOMENT_NONE};
    int64_t id = 0;
    snprintf(sensor.name, sizeof sensor.name, "minute by minute %d", number);
    MUST(store_begin(store) == COAT_OK);
    MUST(store_sensor_add(store, &sensor, true, &id) == COAT_OK);
    MUST(store_commit(store) == COAT_OK);
    return id;
}

/* A year at once: only its last day passes through rows, as it does in an import. */
static void add_year(struct store *store, int64_t sensor_id, const struct reading *year, int number, int32_t colder_mc)
{
    struct reading *moved = malloc(YEAR_MINUTES * sizeof *moved);
    MUST(moved != NULL);
    for (int i = 0; i < YEAR_MINUTES; i++) {
        moved[i] = year[i];
        moved[i].at_ms += YEAR_END_MS - span_ms() + number * (YEAR_END_MS - YEAR_START_MS) - YEAR_START_MS;
        moved[i].temp_mc -= colder_mc;
    }
    MUST(store_begin(store) == COAT_OK);
    MUST(store_reading_put(store, sensor_id, moved, YEAR_MINUTES) == COAT_OK);
    MUST(store_commit(store) == COAT_OK);
    free(moved);
}

static void add_air(const char *file, const struct reading *year, const int64_t place[PLACES])
{
    struct store *store;
    int64_t sensor[PLACES];
    MUST(store_open(file, YEAR_END_MS, &store, NULL) == COAT_OK);
    for (int i = 0; i < PLACES; i++)
        sensor[i] = add_sensor(store, place[i], i + 1);
    for (int n = 0; n < years(); n++)
        for (int i = 0; i < PLACES; i++)
            add_year(store, sensor[i], year, n, i == PLACES - 1 ? COLDER_MC : i * 100);
    store_close(store);
}

/* Half a year before the end a coat was logged in the cold place; it has stalled since. */
static void add_coat(const char *file, int64_t piece_id)
{
    struct shop *shop = bench_shop_open(file, YEAR_END_MS);
    int64_t at_ms = YEAR_END_MS - (YEAR_END_MS - YEAR_START_MS) / 2;
    bench_coat(shop, YEAR_END_MS, at_ms, piece_id, bench_material(shop, CLASS_ALKYD_ENAMEL)->id);
    shop_close(shop);
}

/* Made once; the place ids are 1 to PLACES. */
static void volume_file(const struct bench *bench, char file[320])
{
    int64_t place[PLACES], piece;
    char name[32];
    snprintf(file, 320, "%s/volume.coat", bench->folder);
    if (access(file, F_OK) == 0)
        return;
    struct shop *shop = bench_shop_open(file, YEAR_START_MS);
    for (int i = 0; i < PLACES; i++) {
        snprintf(name, sizeof name, "room %d", i + 1);
        place[i] = bench_place(shop, YEAR_START_MS, name);
        MUST(place[i] == i + 1);
    }
    piece = bench_piece(shop, YEAR_START_MS, 1, place[PLACES - 1]);
    shop_close(shop);
    add_air(file, bench->year, place);
    add_coat(file, piece);
}

/* ---- a start, and the plots ---- */

static struct shop *make_ready(const char *file)
{
    int64_t next_due_ms;
    struct shop *shop = bench_shop_open(file, YEAR_END_MS);
    MUST(shop_turn(shop, YEAR_END_MS, &next_due_ms, NULL) == COAT_OK);
    return shop;
}

struct bench_pair bench_volume_ready(const struct bench *bench)
{
    char file[320];
    double ours[BENCH_RUNS];
    volume_file(bench, file);
    for (int i = 0; i < BENCH_RUNS; i++) {
        double begin = seconds_now();
        struct shop *shop = make_ready(file);
        ours[i] = seconds_now() - begin;
        shop_close(shop);
    }
    return (struct bench_pair){median(ours, BENCH_RUNS), READY_AIM_S};
}

static void plot(struct shop *shop, int64_t place_id, int64_t days)
{
    struct air_bin bin[BINS];
    int64_t span = days * MS_PER_DAY < span_ms() ? days * MS_PER_DAY : span_ms();
    MUST(shop_air_bins(shop, place_id, YEAR_END_MS - span, YEAR_END_MS, BINS, bin) == COAT_OK);
    MUST(bin[0].readings > 0 && bin[BINS - 1].readings > 0);
}

static struct bench_pair time_plots(const struct bench *bench, int64_t days)
{
    char file[320];
    double ours[BENCH_RUNS];
    volume_file(bench, file);
    struct shop *shop = make_ready(file);
    for (int i = 0; i < BENCH_RUNS; i++) {
        double begin = seconds_now();
        plot(shop, 1 + i % PLACES, days);
        ours[i] = seconds_now() - begin;
    }
    shop_close(shop);
    return (struct bench_pair){median(ours, BENCH_RUNS), BINS_AIM_S};
}

struct bench_pair bench_volume_day(const struct bench *bench)
{
    return time_plots(bench, 1);
}

struct bench_pair bench_volume_week(const struct bench *bench)
{
    return time_plots(bench, 7);
}

struct bench_pair bench_volume_month(const struct bench *bench)
{
    return time_plots(bench, 30);
}

struct bench_pair bench_volume_year(const struct bench *bench)
{
    return time_plots(bench, 365);
}

struct bench_pair bench_volume_all(const struct bench *bench)
{
    return time_plots(bench, INT64_C(365) * YEARS_MOST);
}

/* ---- memory and disk ---- */

static double peak_kb(void)
{
    char line[256];
    double kb = 0.0;
    FILE *status = fopen("/proc/self/status", "r");
    MUST(status != NULL);
    while (fgets(line, sizeof line, status) != NULL)
        if (sscanf(line, "VmHWM: %lf", &kb) == 1)
            break;
    fclose(status);
    MUST(kb > 0.0);
    return kb;
}

int bench_volume_child(const char *file)
{
    static const int64_t days[] = {1, 7, 30, 365, INT64_C(365) * YEARS_MOST};
    struct shop *shop = make_ready(file);
    for (int64_t place = 1; place <= PLACES; place++)
        for (size_t i = 0; i < sizeof days / sizeof *days; i++)
            plot(shop, place, days[i]);
    shop_close(shop);
    printf("%.0f\n", peak_kb());
    return 0;
}

/* In a program of its own: the bench itself holds a year of readings. */
struct bench_pair bench_volume_memory(const struct bench *bench)
{
    char file[320];
    int said[2], status;
    double kb = 0.0;
    volume_file(bench, file);
    MUST(pipe(said) == 0);
    pid_t pid = fork();
    MUST(pid >= 0);
    if (pid == 0) {
        dup2(said[1], STDOUT_FILENO);
        close(said[0]);
        close(said[1]);
        execl("/proc/self/exe", "bench", BENCH_VOLUME_CHILD, file, (char *)NULL);
        _exit(127);
    }
    close(said[1]);
    FILE *lines = fdopen(said[0], "r");
    MUST(lines != NULL && fscanf(lines, "%lf", &kb) == 1);
    fclose(lines);
    MUST(waitpid(pid, &status, 0) == pid && WIFEXITED(status) && WEXITSTATUS(status) == 0);
    return (struct bench_pair){kb, MEMORY_AIM_KB};
}

struct bench_pair bench_volume_disk(const struct bench *bench)
{
    char file[320];
    struct stat found;
    volume_file(bench, file);
    MUST(stat(file, &found) == 0);
    return (struct bench_pair){(double)found.st_size / ((double)YEAR_MINUTES * years() * PLACES), READING_AIM_BYTES};
}
