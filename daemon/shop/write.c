/* The frame of every write: begin, commit with the answer of its key, what to say when it fails. */
#include "daemon/shop/write.h"

_Static_assert(SHOP_ANSWER_IDS_MAX == ANSWER_IDS_MAX, "an answer has as many ids as the store keeps");

/* What to tell of a failure that no check could foresee. */
static const struct failure_text {
    enum coat_result code;
    const char *text;
} failure_texts[] = {
    {COAT_NO_MEMORY, "there is no memory left: nothing was recorded; try again later"},
    {COAT_STORE_FULL, "the disk is full: nothing was recorded; make room, then try again"},
    {COAT_STORE_FAILED, "the record could not be written: nothing was recorded; check the disk, then try again"},
    {COAT_CONFLICT, "it clashes with what is recorded, such as a name or a key in use: nothing was recorded"},
};

enum coat_result write_failed(enum coat_result result, struct coat_error *error)
{
    for (size_t i = 0; i < sizeof failure_texts / sizeof *failure_texts; i++)
        if (failure_texts[i].code == result)
            return coat_fail(error, result, "", "%s", failure_texts[i].text);
    return coat_fail(error, result, "", "%s: nothing was recorded", coat_result_text(result));
}

enum coat_result write_undone(struct shop *shop, enum coat_result result, struct coat_error *error)
{
    store_rollback(shop->store);
    return write_failed(result, error);
}

enum coat_result write_begin(struct shop *shop, struct coat_error *error)
{
    enum coat_result result = imports_forget(shop); /* where the start could not: their names would be in the way */
    if (result == COAT_OK)
        result = store_begin(shop->store);
    return result == COAT_OK ? COAT_OK : write_failed(result, error);
}

static bool key_fits(const char *key)
{
    return key[0] != '\0' && strnlen(key, ANSWER_KEY_SIZE) < ANSWER_KEY_SIZE;
}

static enum coat_result bad_key(struct coat_error *error)
{
    return coat_fail(error, COAT_BAD_VALUE, "Idempotency-Key", "the key is empty or too long: 1 to %d characters will do",
                     ANSWER_KEY_SIZE - 1);
}

/* Routes are kept cut to size, and asked for cut alike. */
static void fill_answer(struct stored_answer *answer, const struct shop_write *write, const int64_t *ids, unsigned count)
{
    *answer = (struct stored_answer){
        .body_hash = write->body_hash,
        .body_length = write->body_length,
        .status = write->status,
        .ids = count,
        .at = write->now_ms,
    };
    snprintf(answer->key, sizeof answer->key, "%s", write->key);
    snprintf(answer->route, sizeof answer->route, "%s", write->route != NULL ? write->route : "");
    if (count > 0)
        memcpy(answer->id, ids, count * sizeof *ids);
}

static enum coat_result keep_answer(struct shop *shop, const struct shop_write *write, const int64_t *ids, unsigned count)
{
    if (write->key == NULL)
        return COAT_OK;
    struct stored_answer answer;
    fill_answer(&answer, write, ids, count);
    return store_answer_put(shop->store, &answer);
}

enum coat_result write_commit(struct shop *shop, const struct shop_write *write, const int64_t *ids, unsigned count, struct coat_error *error)
{
    if (write->key != NULL && !key_fits(write->key)) {
        store_rollback(shop->store);
        return bad_key(error);
    }
    int64_t revision = 0;
    enum coat_result result = keep_answer(shop, write, ids, count);
    if (result == COAT_OK)
        result = store_revision_bump(shop->store, &revision);
    if (result == COAT_OK)
        result = store_commit(shop->store);
    return result == COAT_OK ? COAT_OK : write_undone(shop, result, error);
}

enum coat_result write_settle(struct shop *shop, const struct shop_write *write, enum coat_result model, struct coat_error *error)
{
    if (model != COAT_OK)
        return coat_fail(error, model, "", "it is recorded, but what follows from it could not be worked out (%s): start the service anew",
                         coat_result_text(model));
    shop_after_write(shop, write->now_ms);
    return COAT_OK;
}

enum coat_result model_pieces_changed(struct shop *shop, const int64_t *piece_ids, size_t count)
{
    enum coat_result result = COAT_OK;
    for (size_t i = 0; i < count && result == COAT_OK; i++)
        result = model_piece_changed(shop, piece_ids[i]);
    return result;
}

enum coat_result shop_answer_find(struct shop *shop, const struct shop_write *write, int32_t *ret_status,
                                  int64_t ids[SHOP_ANSWER_IDS_MAX], unsigned *ret_count, struct coat_error *error)
{
    if (write->key == NULL)
        return COAT_NOT_FOUND;
    if (!key_fits(write->key))
        return bad_key(error);
    struct stored_answer answer, asked;
    enum coat_result result = store_answer_get(shop->store, write->key, &answer);
    if (result != COAT_OK)
        return result == COAT_NOT_FOUND ? COAT_NOT_FOUND : write_failed(result, error);
    fill_answer(&asked, write, NULL, 0);
    if (answer.body_hash != asked.body_hash || answer.body_length != asked.body_length || strcmp(answer.route, asked.route) != 0)
        return coat_fail(error, COAT_BAD_VALUE, "Idempotency-Key", "this key came before with another request: a new one will do");
    *ret_status = answer.status;
    *ret_count = answer.ids;
    memcpy(ids, answer.id, answer.ids * sizeof *ids);
    return COAT_OK;
}
