#include "coat/trial.h"

#include <math.h>

/* ln k from 1/8 to 8 in steps of 0.5 %: far finer than any spread in use. */
#define GRID_HALF_WIDTH 2.0794415416798357
#define GRID_POINTS 832
/* A pass and a failure contradict each other where even their softness leaves less than 1 in 20 for both. */
#define CONTRADICTION 0.05

static double normal_below(double z)
{
    return 0.5 * erfc(-z * M_SQRT1_2);
}

static double grid_log_k(int i)
{
    return -GRID_HALF_WIDTH + 2.0 * GRID_HALF_WIDTH * i / (GRID_POINTS - 1);
}

/* Chance of the test's outcome if ln k were this. */
static double likelihood(const struct trial *trial, double log_k)
{
    double passes = normal_below((log(trial->share) - log_k) / TRIAL_SOFTNESS);
    return trial->passed ? passes : 1.0 - passes;
}

static bool usable(const struct trial *trial)
{
    return trial->share > 0.0 && isfinite(trial->share);
}

static double weight_at(double log_k, double prior_k, double prior_spread, const struct trial *trials, size_t count)
{
    double z = (log_k - log(prior_k)) / prior_spread;
    double weight = exp(-0.5 * z * z);
    for (size_t i = 0; i < count; i++)
        if (usable(&trials[i]))
            weight *= fmax(likelihood(&trials[i], log_k), 1e-12); /* never to nothing: tests may contradict each other */
    return weight;
}

static double quantile(const double *weight, double total, double share)
{
    double sum = 0.0;
    for (int i = 0; i < GRID_POINTS; i++) {
        double next = sum + weight[i];
        if (next >= share * total) {
            double within = weight[i] > 0.0 ? (share * total - sum) / weight[i] : 0.5;
            double step = 2.0 * GRID_HALF_WIDTH / (GRID_POINTS - 1);
            return exp(grid_log_k(i) + (within - 0.5) * step);
        }
        sum = next;
    }
    return exp(GRID_HALF_WIDTH);
}

/* The best that any k can do for a pass at `passed` and a failure at `failed`. */
static bool contradict(const struct trial *passed, const struct trial *failed)
{
    if (failed->share <= passed->share)
        return false;
    double middle = 0.5 * (log(failed->share) + log(passed->share));
    return likelihood(passed, middle) * likelihood(failed, middle) < CONTRADICTION;
}

static bool any_contradiction(const struct trial *trials, size_t count)
{
    for (size_t i = 0; i < count; i++)
        for (size_t k = 0; k < count; k++)
            if (usable(&trials[i]) && usable(&trials[k]) && trials[i].passed && !trials[k].passed &&
                contradict(&trials[i], &trials[k]))
                return true;
    return false;
}

struct trial_result trial_estimate(double prior_k, double prior_spread, const struct trial *trials, size_t count)
{
    double weight[GRID_POINTS], total = 0.0;
    struct trial_result result = {0};
    for (int i = 0; i < GRID_POINTS; i++) {
        weight[i] = weight_at(grid_log_k(i), prior_k, prior_spread, trials, count);
        total += weight[i];
    }
    for (size_t i = 0; i < count; i++)
        result.used += usable(&trials[i]);
    result.k = quantile(weight, total, 0.5);
    result.k_low = quantile(weight, total, 0.1);
    result.k_high = quantile(weight, total, 0.9);
    result.contradicted = any_contradiction(trials, count);
    return result;
}
