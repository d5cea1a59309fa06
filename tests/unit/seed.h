/* Random cases that can be had again: the seed is printed, and COAT_SEED sets it. Without it the seed is always the same, so
 * that the short tests never surprise; the long ones set another each time. */
#ifndef COAT_TESTS_SEED_H
#define COAT_TESTS_SEED_H

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

static inline uint64_t seed_start(const char *test)
{
    const char *given = getenv("COAT_SEED");
    uint64_t seed = given != NULL ? strtoull(given, NULL, 10) : UINT64_C(8262);
    printf("# %s: COAT_SEED=%llu\n", test, (unsigned long long)seed);
    return seed * 2 + 1;
}

/* splitmix64, public domain. */
static inline uint64_t seed_next(uint64_t *state)
{
    uint64_t z = (*state += UINT64_C(0x9E3779B97F4A7C15));
    z = (z ^ (z >> 30)) * UINT64_C(0xBF58476D1CE4E5B9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94D049BB133111EB);
    return z ^ (z >> 31);
}

static inline double seed_between(uint64_t *state, double low, double high)
{
    return low + (high - low) * ((double)(seed_next(state) >> 11) / 9007199254740992.0);
}

#endif
