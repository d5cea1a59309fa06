/* Many coats open at once: what a new reading costs, and what it costs to log one more. */
#include "tests/bench/bench.h"
#include "tests/bench/rows.h"

#include <math.h>
#include <stdio.h>

#define COATS 1000
#define READINGS 200
#define BOUNDARIES 8
#define LOGGED 200

static const enum material_class in_use[] = {CLASS_ALKYD_ENAMEL, CLASS_ALKYD_PRIMER, CLASS_OIL_VARNISH, CLASS_EPOXY_PRIMER,
                                             CLASS_WATERBORNE};
#define IN_USE (sizeof in_use / sizeof *in_use)

/* ---- a new reading ---- */

static const struct reading *minute(const struct bench *bench, int64_t minute_index)
{
    return &bench->year[minute_index];
}

/* A shop of two days: readings all along, and a coat each three minutes. */
static struct shop *busy_shop(const struct bench *bench, int64_t *ret_place, int64_t *ret_minute)
{
    char file[320];
    snprintf(file, sizeof file, "%s/busy.coat", bench->folder);
    struct shop *shop = bench_shop_open(file, YEAR_START_MS);
    int64_t place = bench_place(shop, YEAR_START_MS, "shed");
    int64_t minutes = 3 * COATS, end_ms = minute(bench, minutes)->at_ms;
    struct shop_write write = {.now_ms = end_ms, .status = 201};
    MUST(shop_enter_air(shop, &write, place, bench->year, (size_t)minutes, NULL) == COAT_OK);
    for (int64_t i = 0; i < COATS; i++) {
        int64_t piece = bench_piece(shop, YEAR_START_MS, i + 1, place);
        bench_coat(shop, end_ms, minute(bench, 3 * i)->at_ms, piece, bench_material(shop, in_use[(size_t)i % IN_USE])->id);
    }
    *ret_place = place;
    *ret_minute = minutes;
    return shop;
}

/* The commit of a reading alone, without a model. */
static double store_one(struct store *store, int64_t place_id, const struct reading *reading)
{
    struct sensor sensor;
    int64_t revision;
    double begin = cpu_seconds_now();
    MUST(store_begin(store) == COAT_OK);
    MUST(store_sensor_by_hand(store, place_id, &sensor) == COAT_OK);
    MUST(store_reading_put(store, sensor.id, reading, 1) == COAT_OK);
    MUST(store_revision_bump(store, &revision) == COAT_OK);
    MUST(store_commit(store) == COAT_OK);
    return cpu_seconds_now() - begin;
}

/* *ret_commits: a second one where the reading let something come due, which is told in a transaction of its own. */
static double enter_one(struct shop *shop, int64_t place_id, const struct reading *reading, int64_t *ret_commits)
{
    int64_t revision = shop_revision(shop);
    struct shop_write write = {.now_ms = reading->at_ms, .status = 201};
    double begin = cpu_seconds_now();
    MUST(shop_enter_air(shop, &write, place_id, reading, 1, NULL) == COAT_OK);
    double seconds = cpu_seconds_now() - begin;
    *ret_commits = shop_revision(shop) - revision;
    return seconds;
}

/* Every coat anew: each of its boundaries goes on by its own rate, and is held against its end. */
static double brute_force(double (*x)[BOUNDARIES], const struct reading *reading)
{
    unsigned reached = 0;
    double begin = cpu_seconds_now();
    double inv_k = 1.0 / (reading->temp_mc / 1000.0 + 273.15);
    double slower = 1.0 + fmax(0.0, reading->rh_mp / 1000.0 - 50.0) / 100.0;
    for (int i = 0; i < COATS; i++) {
        for (int b = 0; b < BOUNDARIES; b++) {
            x[i][b] += exp((6200.0 + 50.0 * b) * (1.0 / 296.15 - inv_k)) / slower / 60.0;
            reached += x[i][b] > 1.0 + b;
        }
    }
    double seconds = cpu_seconds_now() - begin;
    bench_sink = reached;
    return seconds;
}

/* A file with a place and nothing else. */
static struct store *bare_store(const struct bench *bench, int64_t *ret_place)
{
    char file[320];
    struct store *store;
    snprintf(file, sizeof file, "%s/bare.coat", bench->folder);
    struct shop *shop = bench_shop_open(file, YEAR_START_MS);
    *ret_place = bench_place(shop, YEAR_START_MS, "shed");
    shop_close(shop);
    MUST(store_open(file, YEAR_START_MS, &store, NULL) == COAT_OK);
    return store;
}

struct bench_pair bench_new_reading(const struct bench *bench)
{
    static double x[COATS][BOUNDARIES];
    double model[READINGS], beside[READINGS];
    int64_t place, bare_place, now, commits;
    struct shop *shop = busy_shop(bench, &place, &now);
    struct store *store = bare_store(bench, &bare_place);
    for (int i = 0; i < READINGS; i++) {
        const struct reading *reading = minute(bench, now + 1 + i);
        model[i] = enter_one(shop, place, reading, &commits);
        while (commits-- > 0)
            model[i] -= store_one(store, bare_place, reading);
        beside[i] = brute_force(x, reading);
    }
    shop_close(shop);
    store_close(store);
    return (struct bench_pair){fmax(median(model, READINGS), 1e-9), median(beside, READINGS)};
}

/* ---- one more coat ---- */

struct bench_pair bench_log_coat(const struct bench *bench)
{
    char file[320], rows[320];
    double ours[LOGGED], beside[LOGGED];
    snprintf(file, sizeof file, "%s/log.coat", bench->folder);
    snprintf(rows, sizeof rows, "%s/log.db", bench->folder);
    struct shop *shop = bench_shop_open(file, YEAR_START_MS);
    sqlite3 *db = rows_open(rows);
    int64_t place = bench_place(shop, YEAR_START_MS, "shed"), material = bench_material(shop, CLASS_ALKYD_ENAMEL)->id;
    for (int i = 0; i < LOGGED; i++) {
        int64_t piece = bench_piece(shop, YEAR_START_MS, i + 1, place), now = minute(bench, i)->at_ms;
        double begin = seconds_now();
        bench_coat(shop, now, now, piece, material);
        ours[i] = seconds_now() - begin;
        begin = seconds_now();
        rows_add(db, minute(bench, i), 1);
        beside[i] = seconds_now() - begin;
    }
    shop_close(shop);
    sqlite3_close(db);
    return (struct bench_pair){median(ours, LOGGED), median(beside, LOGGED)};
}
