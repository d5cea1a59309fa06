/* A file with a year of readings, and how soon it answers. */
#include "tests/bench/bench.h"
#include "tests/bench/rows.h"

#include <stdio.h>
#include <unistd.h>

#define DAY_MINUTES 1440

static void add_year(const char *file, const struct reading *year, int64_t place_id)
{
    struct store *store;
    struct sensor sensor;
    MUST(store_open(file, YEAR_END_MS, &store, NULL) == COAT_OK);
    for (int i = 0; i < YEAR_MINUTES; i += DAY_MINUTES) {
        MUST(store_begin(store) == COAT_OK);
        MUST(store_sensor_by_hand(store, place_id, &sensor) == COAT_OK);
        MUST(store_reading_put(store, sensor.id, year + i, DAY_MINUTES) == COAT_OK);
        MUST(store_commit(store) == COAT_OK);
    }
    store_close(store);
}

void bench_year_file(const struct bench *bench, char file[320])
{
    snprintf(file, 320, "%s/year.coat", bench->folder);
    if (access(file, F_OK) == 0)
        return;
    struct shop *shop = bench_shop_open(file, YEAR_START_MS);
    int64_t place = bench_place(shop, YEAR_START_MS, "shed");
    int64_t piece = bench_piece(shop, YEAR_START_MS, 1, place);
    shop_close(shop);
    add_year(file, bench->year, place);
    shop = bench_shop_open(file, YEAR_END_MS);
    bench_coat(shop, YEAR_END_MS, YEAR_START_MS + MS_PER_H, piece, bench_material(shop, CLASS_ALKYD_ENAMEL)->id);
    shop_close(shop);
}

static double answer(const char *file)
{
    struct coat_view view;
    double begin = seconds_now();
    struct shop *shop = bench_shop_open(file, YEAR_END_MS);
    MUST(shop_coat_view(shop, 1, YEAR_END_MS, &view));
    double seconds = seconds_now() - begin;
    MUST(view.stages >= 8 && view.stage[0].progress != 0.0);
    shop_close(shop);
    return seconds;
}

static void make_rows(const char *file, const struct reading *year)
{
    sqlite3 *db = rows_open(file);
    rows_exec(db, "BEGIN");
    rows_add(db, year, YEAR_MINUTES);
    rows_exec(db, "COMMIT");
    sqlite3_close(db);
}

static double scan(const char *file)
{
    double begin = seconds_now();
    sqlite3 *db = rows_open(file);
    bench_sink = rows_sum(db);
    double seconds = seconds_now() - begin;
    sqlite3_close(db);
    return seconds;
}

struct bench_pair bench_first_answer(const struct bench *bench)
{
    char file[320], rows[320];
    double ours[BENCH_RUNS], beside[BENCH_RUNS];
    bench_year_file(bench, file);
    snprintf(rows, sizeof rows, "%s/rows.db", bench->folder);
    make_rows(rows, bench->year);
    for (int i = 0; i < BENCH_RUNS; i++) {
        ours[i] = answer(file);
        beside[i] = scan(rows);
    }
    return (struct bench_pair){median(ours, BENCH_RUNS), median(beside, BENCH_RUNS)};
}
