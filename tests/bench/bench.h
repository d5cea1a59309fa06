/* The bench: what the service does, timed beside the plainest way to do the same, both sides in one run on one machine. Figures of
 * another day or machine are not comparable; ratios are. */
#ifndef COAT_BENCH_H
#define COAT_BENCH_H

#include "coat/history.h"
#include "coat/shop.h"
#include "daemon/store/store.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#define BENCH_RUNS 15
#define YEAR_MINUTES 525600
#define YEAR_START_MS INT64_C(1760000400000) /* an evening in October 2025 */
#define YEAR_END_MS (YEAR_START_MS + YEAR_MINUTES * INT64_C(60000))

struct bench {
    char folder[256];            /* scratch files, on the disk of the build */
    char coatd[256];             /* the service itself */
    const struct reading *year;  /* YEAR_MINUTES readings, from YEAR_START_MS on, one a minute */
};

/* Median figure of each side, in the part's unit. */
struct bench_pair {
    double ours, beside;
};

struct bench_pair bench_replay(const struct bench *bench);       /* replay.c */
struct bench_pair bench_first_answer(const struct bench *bench); /* year_file.c */
struct bench_pair bench_memory(const struct bench *bench);       /* memory.c */
struct bench_pair bench_new_reading(const struct bench *bench);  /* open_coats.c */
struct bench_pair bench_log_coat(const struct bench *bench);
struct bench_pair bench_volume_ready(const struct bench *bench); /* volume.c; beside is the aim */
struct bench_pair bench_volume_day(const struct bench *bench);
struct bench_pair bench_volume_week(const struct bench *bench);
struct bench_pair bench_volume_month(const struct bench *bench);
struct bench_pair bench_volume_year(const struct bench *bench);
struct bench_pair bench_volume_all(const struct bench *bench);
struct bench_pair bench_volume_memory(const struct bench *bench);
struct bench_pair bench_volume_disk(const struct bench *bench);

/* `bench --volume-child FILE` opens the file, answers every span and says its peak memory in kB. */
#define BENCH_VOLUME_CHILD "--volume-child"
int bench_volume_child(const char *file);

/* The air of a heated shop for a year; the caller frees it. */
struct reading *bench_year(void);

/* A file with one place, the year in it, and a coat as old as the year (year_file.c); made once, `file` gets its name. */
void bench_year_file(const struct bench *bench, char file[320]);

/* ---- bench.c ---- */
double seconds_now(void);
double cpu_seconds_now(void); /* of this process: what waits for the disk costs nothing */
double median(double *values, size_t count);

/* A bench cannot go on after a failure: says where, and ends the program. */
#define MUST(condition) bench_must((condition), #condition, __FILE__, __LINE__)
void bench_must(bool held, const char *condition, const char *file, int line);

/* Keeps the optimiser from dropping a sum. */
extern volatile double bench_sink;

/* ---- scene.c ---- */
struct shop *bench_shop_open(const char *file, int64_t now_ms);
int64_t bench_place(struct shop *shop, int64_t now_ms, const char *name);
int64_t bench_piece(struct shop *shop, int64_t now_ms, int64_t number, int64_t place_id);
/* The newest version of the built-in material of a class. */
const struct material_version *bench_material(const struct shop *shop, enum material_class wanted);
int64_t bench_coat(struct shop *shop, int64_t now_ms, int64_t at_ms, int64_t piece_id, int64_t material_version_id);

#endif
