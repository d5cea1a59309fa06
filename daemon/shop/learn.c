#include "daemon/shop/learn.h"

#include "coat/trial.h"

#include <stdlib.h>
#include <string.h>

/* More of one material than any shop makes; later ones are left out, the earlier ones have long settled k. */
#define TRIALS_MOST 200
/* Tests count only where the air behind them was mostly measured. */
#define ASSUMED_MOST 0.5

struct trials {
    size_t count;
    struct trial trial[TRIALS_MOST];
};

static int64_t material_of(const struct shop *shop, const struct coat *coat)
{
    const struct material_version *version = shop_material_version(shop, coat->material_version_id);
    return version ? version->material_id : 0;
}

/* A test as a bracket of k; false where it does not count. */
static bool trial_of(struct shop *shop, const struct bench_test *test, struct trial *ret)
{
    struct stage_growth growth;
    size_t index = shop_coat_index(shop, test->coat_id);
    if (index == SIZE_MAX || !coat_stage_growth(shop, index, test->stage, test->at, &growth))
        return false; /* among them a size's finger test: that opens its own window, and says nothing of other coats */
    if (growth.hours > 0.0 && growth.assumed_h > ASSUMED_MOST * growth.hours)
        return false;
    *ret = (struct trial){growth.grown / growth.needed, test->passed};
    return growth.grown > 0.0;
}

static void gather(struct shop *shop, int64_t material_id, int64_t tin_id, struct trials *trials)
{
    trials->count = 0;
    for (size_t i = 0; i < shop->bench_tests.count && trials->count < TRIALS_MOST; i++) {
        const struct bench_test *test = &shop->bench_tests.item[i];
        const struct coat *coat = shop_coat(shop, test->coat_id);
        if (!coat || coat->struck_at != MOMENT_NONE || material_of(shop, coat) != material_id)
            continue;
        if (tin_id != 0 && coat->tin_id != tin_id)
            continue;
        trials->count += trial_of(shop, test, &trials->trial[trials->count]);
    }
}

static struct learned_k estimate(struct shop *shop, int64_t material_id, int64_t tin_id, double prior_k, double spread)
{
    struct trials trials;
    gather(shop, material_id, tin_id, &trials);
    struct trial_result result = trial_estimate(prior_k, spread, trials.trial, trials.count);
    return (struct learned_k){material_id, tin_id,        prior_k,       spread,
                              result.k,    result.k_low,  result.k_high, (unsigned)result.used,
                              result.contradicted};
}

static struct learned_k *find_learned(const struct shop *shop, int64_t material_id, int64_t tin_id)
{
    for (size_t i = 0; i < shop->learned.count; i++)
        if (shop->learned.item[i].material_id == material_id && shop->learned.item[i].tin_id == tin_id)
            return &shop->learned.item[i];
    return NULL;
}

static enum coat_result put_learned(struct shop *shop, struct learned_k learned)
{
    if (!LIST_RESERVE(&shop->learned))
        return COAT_NO_MEMORY;
    shop->learned.item[shop->learned.count++] = learned;
    return COAT_OK;
}

static bool same_learned(const struct learned_k *a, const struct learned_k *b)
{
    return a->material_id == b->material_id && a->tin_id == b->tin_id && a->k == b->k && a->tests == b->tests &&
           a->contradicted == b->contradicted;
}

static enum coat_result learn_one(struct shop *shop, int64_t material_id, int64_t tin_id)
{
    double prior_k = 1.0, spread = TRIAL_PRIOR_SPREAD;
    const struct learned_k *material = tin_id != 0 ? find_learned(shop, material_id, 0) : NULL;
    if (material) {
        prior_k = material->k;
        spread = TRIAL_TIN_SPREAD;
    }
    return put_learned(shop, estimate(shop, material_id, tin_id, prior_k, spread));
}

struct subject {
    int64_t material_id, tin_id;
};

/* What a test is about; tin 0 where the tin was not told. */
static struct subject subject_of(const struct shop *shop, const struct bench_test *test)
{
    const struct coat *coat = shop_coat(shop, test->coat_id);
    return coat ? (struct subject){material_of(shop, coat), coat->tin_id} : (struct subject){0, 0};
}

static bool seen_before(const struct shop *shop, size_t test, bool with_tin)
{
    struct subject own = subject_of(shop, &shop->bench_tests.item[test]);
    for (size_t i = 0; i < test; i++) {
        struct subject other = subject_of(shop, &shop->bench_tests.item[i]);
        if (other.material_id == own.material_id && (!with_tin || other.tin_id == own.tin_id))
            return true;
    }
    return false;
}

/* Materials first: what is known of one is the prior of its tins. */
static enum coat_result learn_all(struct shop *shop)
{
    enum coat_result result = COAT_OK;
    shop->learned.count = 0;
    for (size_t i = 0; result == COAT_OK && i < shop->bench_tests.count; i++)
        if (!seen_before(shop, i, false))
            result = learn_one(shop, subject_of(shop, &shop->bench_tests.item[i]).material_id, 0);
    for (size_t i = 0; result == COAT_OK && i < shop->bench_tests.count; i++) {
        struct subject subject = subject_of(shop, &shop->bench_tests.item[i]);
        if (subject.tin_id != 0 && !seen_before(shop, i, true))
            result = learn_one(shop, subject.material_id, subject.tin_id);
    }
    return result;
}

enum coat_result learn_refresh(struct shop *shop, bool *ret_changed)
{
    size_t count = shop->learned.count, size = count * sizeof *shop->learned.item;
    struct learned_k *before = malloc(size + 1);
    if (!before)
        return COAT_NO_MEMORY;
    if (count > 0)
        memcpy(before, shop->learned.item, size);
    enum coat_result result = learn_all(shop);
    bool changed = shop->learned.count != count;
    for (size_t i = 0; i < count && !changed; i++)
        changed = !same_learned(&before[i], &shop->learned.item[i]);
    free(before);
    *ret_changed = changed;
    return result;
}

double learn_k_of(const struct shop *shop, const struct coat *coat)
{
    const struct learned_k *learned = NULL;
    int64_t material_id = material_of(shop, coat);
    if (coat->tin_id != 0)
        learned = find_learned(shop, material_id, coat->tin_id);
    if (!learned || learned->tests == 0)
        learned = find_learned(shop, material_id, 0);
    return learned && learned->tests > 0 ? learned->k : 1.0;
}

const struct learned_k *shop_learned(const struct shop *shop, int64_t material_id, int64_t tin_id)
{
    return find_learned(shop, material_id, tin_id);
}
