/* Tests at the bench: what a finger, paper or thumb said of a coat. */
#include "daemon/shop/write.h"

static enum coat_result no_such_stage(const struct material *material, const struct bench_test *test, struct coat_error *error)
{
    char list[STAGE_COUNT * 12] = "";
    size_t length = 0;
    for (unsigned stage = 0; stage < STAGE_COUNT && length < sizeof list; stage++)
        if (material->stage[stage].boundaries > 0)
            length += (size_t)snprintf(list + length, sizeof list - length, "%s%s", length == 0 ? "" : ", ",
                                       stage_word((enum stage)stage));
    return coat_fail(error, COAT_BAD_VALUE, "stage", "%s has no stage \"%s\": one of these will do: %s", material->name,
                     stage_word(test->stage), list);
}

static enum coat_result check_test_stage(const struct shop *shop, const struct coat *coat, const struct bench_test *test,
                                         struct coat_error *error)
{
    const struct choice_check known = {"stage", (unsigned)test->stage, STAGE_COUNT};
    const struct material *material = &shop_material_version(shop, coat->material_version_id)->material;
    enum coat_result result = check_choices(&known, 1, error);
    if (result != COAT_OK || material->stage[test->stage].boundaries > 0)
        return result;
    return no_such_stage(material, test, error);
}

static enum coat_result check_test(const struct shop *shop, int64_t now_ms, const struct bench_test *test, struct coat_error *error)
{
    const struct coat *coat = NULL;
    char text[MOMENT_TEXT_SIZE];
    enum coat_result result = check_coat(shop, "coat", test->coat_id, &coat, error);
    if (result == COAT_OK)
        result = check_test_stage(shop, coat, test, error);
    if (result == COAT_OK)
        result = check_moment("at", test->at, now_ms, error);
    if (result != COAT_OK)
        return result;
    if (test->at < coat->last_at)
        return coat_fail(error, COAT_BAD_VALUE, "at", "the last pass of coat %lld was at %s: it cannot have been tested before that",
                         (long long)coat->id, moment_print(coat->last_at, text));
    return check_still_on(shop, coat, test->at, error);
}

static enum coat_result record_test(struct shop *shop, const struct shop_write *write, struct bench_test *test, struct coat_error *error)
{
    int64_t id = 0;
    enum coat_result result = write_begin(shop, error);
    if (result != COAT_OK)
        return result;
    result = store_bench_test_add(shop->store, test, &id);
    if (result != COAT_OK)
        return write_undone(shop, result, error);
    test->id = id;
    return write_commit(shop, write, &id, 1, error);
}

enum coat_result shop_test_coat(struct shop *shop, const struct shop_write *write, const struct bench_test *test, int64_t *ret_id,
                                struct coat_error *error)
{
    struct bench_test wanted = *test;
    wanted.id = 0;
    wanted.entered_at = write->now_ms;
    enum coat_result result = check_test(shop, write->now_ms, &wanted, error);
    if (result == COAT_OK && !LIST_RESERVE(&shop->bench_tests))
        result = write_failed(COAT_NO_MEMORY, error);
    if (result == COAT_OK)
        result = record_test(shop, write, &wanted, error);
    if (result != COAT_OK)
        return result;
    LIST_PUSH(&shop->bench_tests, wanted);
    *ret_id = wanted.id;
    return write_settle(shop, write, model_piece_changed(shop, shop_coat(shop, wanted.coat_id)->piece_id), error);
}
