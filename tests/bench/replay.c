/* A year of air through the cure clocks of one material, in memory. */
#include "tests/bench/bench.h"

#include <math.h>

#define LAWS_MAX 16
#define STAGES 8

struct clocks {
    struct law law[LAWS_MAX];
    double sum[LAWS_MAX];
    unsigned laws;
};

static void add_law(struct clocks *clocks, const struct law *law)
{
    for (unsigned i = 0; i < clocks->laws; i++)
        if (law_equal(&clocks->law[i], law))
            return;
    MUST(clocks->laws < LAWS_MAX);
    clocks->law[clocks->laws++] = *law;
}

/* The clocks of one side that the first eight stages of the material need; boundaries with the same law share one. */
static void collect(const struct material *material, enum law_side side, struct clocks *ret)
{
    unsigned stages = 0;
    for (unsigned stage = 0; stage < STAGE_COUNT; stage++) {
        const struct stage_table *table = &material->stage[stage];
        if (table->boundaries == 0 || stages++ == STAGES)
            continue;
        for (unsigned i = 0; i < table->boundaries; i++) {
            struct law_terms terms;
            struct law law;
            boundary_terms(material, (enum stage)stage, &table->boundary[i], &terms);
            MUST(law_from_terms(&terms, &law, NULL) == COAT_OK);
            if (law.side == side)
                add_law(ret, &law);
        }
    }
    MUST(stages >= STAGES);
}

static bool add_step(const struct air_step *step, void *context)
{
    struct clocks *clocks = context;
    for (unsigned i = 0; i < clocks->laws; i++)
        clocks->sum[i] += history_step_integral(&clocks->law[i], step);
    return true;
}

static double replay(const struct reading *year, const struct material *material)
{
    struct clocks opening = {0}, closing = {0};
    double begin = cpu_seconds_now();
    collect(material, SIDE_OPENING, &opening);
    collect(material, SIDE_CLOSING, &closing);
    history_walk(year, YEAR_MINUTES, YEAR_START_MS, YEAR_END_MS, SIDE_OPENING, add_step, &opening);
    if (closing.laws > 0)
        history_walk(year, YEAR_MINUTES, YEAR_START_MS, YEAR_END_MS, SIDE_CLOSING, add_step, &closing);
    double seconds = cpu_seconds_now() - begin;
    bench_sink = opening.sum[0] + closing.sum[0];
    return seconds;
}

/* The plainest C: for each reading and each stage the rate of that minute. */
static double plain(const struct reading *year)
{
    double hours[STAGES] = {0.5, 1.0, 2.0, 4.0, 6.0, 8.0, 16.0, 24.0}, slope_k[STAGES], x[STAGES] = {0};
    for (int s = 0; s < STAGES; s++)
        slope_k[s] = 6200.0 + 50.0 * s; /* an energy over R, as a doubling each 10 C has */
    double begin = cpu_seconds_now();
    for (int i = 0; i < YEAR_MINUTES; i++) {
        double inv_k = 1.0 / (year[i].temp_mc / 1000.0 + 273.15);
        double slower = 1.0 + fmax(0.0, year[i].rh_mp / 1000.0 - 50.0) / 100.0;
        for (int s = 0; s < STAGES; s++)
            x[s] += exp(slope_k[s] * (1.0 / 296.15 - inv_k)) / (slower * hours[s]) / 60.0;
    }
    double seconds = cpu_seconds_now() - begin;
    for (int s = 0; s < STAGES; s++)
        bench_sink = x[s];
    return seconds;
}

struct bench_pair bench_replay(const struct bench *bench)
{
    double ours[BENCH_RUNS], beside[BENCH_RUNS];
    for (int i = 0; i < BENCH_RUNS; i++) {
        ours[i] = replay(bench->year, builtin_of_class(CLASS_ALKYD_ENAMEL));
        beside[i] = plain(bench->year);
    }
    return (struct bench_pair){median(ours, BENCH_RUNS), median(beside, BENCH_RUNS)};
}
