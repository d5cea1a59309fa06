/* What tests at the bench say of a material: the multiplier k of its hours. Pure; plain grid integration.
 *
 * A stage that needs growth N of its law (with k = 1) and was tested when the coat had x * N behind it says k <= x where it passed and
 * k > x where it did not. The prior of k is log-normal around 1 with a spread of 0.3 (design figure); a bracket is soft by the spread from
 * coat to coat, 0.1 (ours). The posterior is summed on a grid of ln k, so any number of brackets in any order gives the same. */
#ifndef COAT_TRIAL_H
#define COAT_TRIAL_H

#include <stdbool.h>
#include <stddef.h>

#define TRIAL_PRIOR_SPREAD 0.3
#define TRIAL_TIN_SPREAD 0.15  /* of a tin around its material in this shop; ours */
#define TRIAL_SOFTNESS 0.1

struct trial {
    double share; /* x: growth behind it over the growth that the stage needs with k = 1; above 0 */
    bool passed;
};

struct trial_result {
    double k;                  /* median */
    double k_low, k_high;      /* 10 and 90 % */
    size_t used;               /* trials that counted */
    bool contradicted;         /* a test passed earlier than another failed by more than their softness allows */
};

/* Posterior of k from a log-normal prior with median prior_k and spread, and the trials. With none the prior itself. */
struct trial_result trial_estimate(double prior_k, double prior_spread, const struct trial *trials, size_t count);

#endif
