/* Writes to coats that were logged: a corrected entry, a void one, sanding, stripping. */
#include "daemon/shop/write.h"

#define COAT_LONGEST_MS (7 * MS_PER_DAY) /* from the first pass to the last: longer ones are two coats, or a slip of the date */

/* ---- what a coat may say ---- */

static enum coat_result check_passes(const struct coat *coat, int64_t now_ms, struct coat_error *error)
{
    enum coat_result result = check_moment("first_at", coat->first_at, now_ms, error);
    if (result == COAT_OK)
        result = check_moment("last_at", coat->last_at, now_ms, error);
    if (result != COAT_OK)
        return result;
    char first[MOMENT_TEXT_SIZE], last[MOMENT_TEXT_SIZE];
    moment_print(coat->first_at, first);
    moment_print(coat->last_at, last);
    if (coat->last_at < coat->first_at)
        return coat_fail(error, COAT_BAD_VALUE, "last_at", "the last pass (%s) comes before the first (%s)", last, first);
    if (coat->last_at - coat->first_at > COAT_LONGEST_MS)
        return coat_fail(error, COAT_BAD_VALUE, "last_at", "the last pass (%s) comes more than 7 days after the first (%s): log it as two coats",
                         last, first);
    return COAT_OK;
}

enum coat_result check_coat_values(struct coat *coat, int64_t now_ms, struct coat_error *error)
{
    const struct choice_check choices[] = {
        {"role", (unsigned)coat->role, ROLE_COUNT},
        {"application", (unsigned)coat->application, APPLICATION_COUNT},
        {"film", (unsigned)coat->film, FILM_COUNT},
    };
    const struct figure_check figures[] = {
        {"passes", coat->passes, 1, 50, false, ""},
        {"wet_um", coat->wet_um, 1, 5000, false, "um"},
        {"dry_um", coat->dry_um, 1, 5000, false, "um"},
        {"amount_ml", coat->amount_ml, 0, 1e5, true, "ml"},
        {"thinned_pct", coat->thinned_pct, 0, 90, false, "%"},
    };
    enum coat_result result = check_passes(coat, now_ms, error);
    if (result == COAT_OK)
        result = check_choices(choices, sizeof choices / sizeof *choices, error);
    if (result == COAT_OK)
        result = check_figures(figures, sizeof figures / sizeof *figures, error);
    if (result == COAT_OK)
        result = check_text("thinner", coat->thinner, sizeof coat->thinner, error);
    return result == COAT_OK ? check_text("note", coat->note, sizeof coat->note, error) : result;
}

void coat_take_thinner(const struct shop *shop, struct coat *coat)
{
    const struct material_version *version = shop_material_version(shop, coat->material_version_id);
    if (version && coat->thinned_pct > 0.0 && coat->thinner[0] == '\0')
        memcpy(coat->thinner, version->material.thinner, sizeof coat->thinner);
}
_Static_assert(MATERIAL_THINNER_SIZE == NAME_SIZE, "a label's thinner is one of a coat");

enum coat_result check_coat_tin(const struct shop *shop, const struct coat *coat, bool is_new, struct coat_error *error)
{
    const struct tin *tin = shop_tin(shop, coat->tin_id);
    const struct material_version *version = shop_material_version(shop, coat->material_version_id);
    enum coat_result result = is_new || tin == NULL ? check_tin(shop, "tin", coat->tin_id, &tin, error) : COAT_OK;
    if (result != COAT_OK || tin->material_id == version->material_id)
        return result;
    return coat_fail(error, COAT_BAD_VALUE, "tin", "the tin \"%s\" does not hold %s: a tin of that, or none, will do", tin->name,
                     version->material.name);
}

static enum coat_result was_struck(const struct coat *coat, struct coat_error *error)
{
    return coat_fail(error, COAT_CONFLICT, "coat", "coat %lld was struck out: log it anew if it is there after all", (long long)coat->id);
}

/* ---- the next entry of a coat ---- */

/* Fills the number of the entry. */
static enum coat_result record_entry(struct shop *shop, const struct shop_write *write, struct coat *entry, struct coat_error *error)
{
    enum coat_result result = write_begin(shop, error);
    if (result != COAT_OK)
        return result;
    result = store_coat_add(shop->store, entry);
    if (result != COAT_OK)
        return write_undone(shop, result, error);
    return write_commit(shop, write, &entry->id, 1, error);
}

/* Puts the entry in place of the one before it, and makes anew what follows for the piece it was on and the one it is on now. */
static enum coat_result settle_entry(struct shop *shop, const struct shop_write *write, const struct coat *entry, struct coat_error *error)
{
    struct coat *current = &shop->coats.item[shop_coat_index(shop, entry->id)];
    const int64_t pieces[] = {current->piece_id, entry->piece_id};
    *current = *entry;
    enum coat_result model = model_pieces_changed(shop, pieces, pieces[0] == pieces[1] ? 1 : 2);
    return write_settle(shop, write, model, error);
}

/* Tests of a coat are of its stages, and came after its last pass. */
static enum coat_result check_tests(const struct shop *shop, const struct coat *entry, struct coat_error *error)
{
    const struct material *material = &shop_material_version(shop, entry->material_version_id)->material;
    char text[MOMENT_TEXT_SIZE];
    for (size_t i = 0; i < shop->bench_tests.count; i++) {
        const struct bench_test *test = &shop->bench_tests.item[i];
        if (test->coat_id != entry->id)
            continue;
        if (test->at < entry->last_at)
            return coat_fail(error, COAT_CONFLICT, "last_at", "coat %lld was tested at %s: its last pass cannot come after that",
                             (long long)entry->id, moment_print(test->at, text));
        if (material->stage[test->stage].boundaries == 0)
            return coat_fail(error, COAT_CONFLICT, "material", "coat %lld was tested for \"%s\", a stage that %s does not have",
                             (long long)entry->id, stage_word(test->stage), material->name);
    }
    return COAT_OK;
}

/* What was done to the coat later must still fit. */
static enum coat_result check_later_events(const struct shop *shop, const struct coat *entry, struct coat_error *error)
{
    char text[MOMENT_TEXT_SIZE];
    for (size_t i = 0; i < shop->sandings.count; i++) {
        const struct sanding *sanding = &shop->sandings.item[i];
        if (sanding->coat_id == entry->id && sanding->at < entry->first_at)
            return coat_fail(error, COAT_CONFLICT, "first_at", "coat %lld was sanded at %s: its first pass cannot come after that",
                             (long long)entry->id, moment_print(sanding->at, text));
    }
    for (size_t i = 0; i < shop->strippings.count; i++) {
        const struct stripping *stripping = &shop->strippings.item[i];
        if (stripping->down_to_coat_id != entry->id)
            continue;
        if (stripping->piece_id != entry->piece_id)
            return coat_fail(error, COAT_CONFLICT, "piece", "its piece was stripped down to coat %lld: the coat cannot be on another",
                             (long long)entry->id);
        if (stripping->at < entry->first_at)
            return coat_fail(error, COAT_CONFLICT, "first_at", "its piece was stripped down to coat %lld at %s: its first pass cannot come "
                             "after that", (long long)entry->id, moment_print(stripping->at, text));
    }
    return check_tests(shop, entry, error);
}

/* References that stay as they were are not asked for again: a piece or a material may have gone out of use since. */
static enum coat_result check_entry_references(const struct shop *shop, const struct coat *before, struct coat *entry, struct coat_error *error)
{
    const struct piece *piece = shop_piece(shop, entry->piece_id);
    enum coat_result result = COAT_OK;
    if (entry->piece_id != before->piece_id)
        result = check_piece(shop, "piece", entry->piece_id, &piece, error);
    if (result == COAT_OK && entry->material_version_id != before->material_version_id)
        result = check_material_version(shop, entry->material_version_id, error);
    if (result == COAT_OK && (entry->piece_id != before->piece_id || strncmp(entry->area, before->area, AREA_SIZE) != 0))
        result = check_area(piece, entry->area, error);
    if (result == COAT_OK && entry->tin_id != 0)
        result = check_coat_tin(shop, entry, entry->tin_id != before->tin_id, error);
    return result;
}

static enum coat_result check_amending(const struct shop *shop, int64_t now_ms, struct coat *entry, struct coat_error *error)
{
    const struct coat *before = NULL;
    enum coat_result result = check_coat(shop, "coat", entry->id, &before, error);
    if (result != COAT_OK)
        return result;
    if (before->struck_at != MOMENT_NONE)
        return was_struck(before, error);
    result = check_entry_references(shop, before, entry, error);
    if (result == COAT_OK)
        result = check_coat_values(entry, now_ms, error);
    if (result == COAT_OK)
        coat_take_thinner(shop, entry);
    return result == COAT_OK ? check_later_events(shop, entry, error) : result;
}

enum coat_result shop_amend_coat(struct shop *shop, const struct shop_write *write, const struct coat *entry, struct coat_error *error)
{
    struct coat wanted = *entry;
    wanted.entered_at = write->now_ms;
    wanted.struck_at = MOMENT_NONE;
    wanted.struck_why[0] = '\0';
    enum coat_result result = check_amending(shop, write->now_ms, &wanted, error);
    if (result == COAT_OK)
        result = record_entry(shop, write, &wanted, error);
    return result == COAT_OK ? settle_entry(shop, write, &wanted, error) : result;
}

/* Takes the reason into an array of its size; COAT_BAD_VALUE where it does not fit. */
static enum coat_result take_why(const char *why, char ret[NOTE_SIZE], struct coat_error *error)
{
    size_t length = strnlen(why, NOTE_SIZE);
    if (length == NOTE_SIZE)
        return coat_fail(error, COAT_BAD_VALUE, "why", "the reason is too long: at most %d bytes will do", NOTE_SIZE - 1);
    memcpy(ret, why, length + 1);
    enum coat_result result = check_text("why", ret, NOTE_SIZE, error);
    if (result == COAT_OK && ret[0] == '\0')
        return coat_fail(error, COAT_BAD_VALUE, "why", "there is no reason: tell in a few words why it does not count");
    return result;
}

enum coat_result shop_strike_coat(struct shop *shop, const struct shop_write *write, int64_t coat_id, const char *why, struct coat_error *error)
{
    const struct coat *before = NULL;
    enum coat_result result = check_coat(shop, "coat", coat_id, &before, error);
    if (result != COAT_OK)
        return result;
    if (before->struck_at != MOMENT_NONE)
        return was_struck(before, error);
    struct coat entry = *before;
    entry.entered_at = entry.struck_at = write->now_ms;
    result = take_why(why, entry.struck_why, error);
    if (result == COAT_OK)
        result = record_entry(shop, write, &entry, error);
    return result == COAT_OK ? settle_entry(shop, write, &entry, error) : result;
}

/* ---- sanding ---- */

/* What is told late may lie before the coat was covered or stripped. */
enum coat_result check_still_on(const struct shop *shop, const struct coat *coat, int64_t at, struct coat_error *error)
{
    const struct coat_clock *clock = &shop->clocks.item[shop_coat_index(shop, coat->id)];
    char text[MOMENT_TEXT_SIZE];
    if (coat->struck_at != MOMENT_NONE)
        return was_struck(coat, error);
    if (clock->status == COAT_ON || at < clock->ended_at)
        return COAT_OK;
    moment_print(clock->ended_at, text);
    if (clock->status == COAT_COVERED)
        return coat_fail(error, COAT_CONFLICT, "coat", "coat %lld lies under coat %lld since %s: an earlier moment, or the upper coat, will do",
                         (long long)coat->id, (long long)clock->covered_by, text);
    return coat_fail(error, COAT_CONFLICT, "coat", "coat %lld was stripped at %s: an earlier moment will do", (long long)coat->id, text);
}

static enum coat_result check_sanding(const struct shop *shop, int64_t now_ms, const struct sanding *sanding, struct coat_error *error)
{
    const struct coat *coat = NULL;
    char text[MOMENT_TEXT_SIZE];
    enum coat_result result = check_coat(shop, "coat", sanding->coat_id, &coat, error);
    if (result == COAT_OK)
        result = check_moment("at", sanding->at, now_ms, error);
    if (result != COAT_OK)
        return result;
    if (sanding->at < coat->first_at)
        return coat_fail(error, COAT_BAD_VALUE, "at", "coat %lld went on at %s: it cannot have been sanded before that", (long long)coat->id,
                         moment_print(coat->first_at, text));
    return check_still_on(shop, coat, sanding->at, error);
}

static enum coat_result record_sanding(struct shop *shop, const struct shop_write *write, struct sanding *sanding, struct coat_error *error)
{
    int64_t id = 0;
    enum coat_result result = write_begin(shop, error);
    if (result != COAT_OK)
        return result;
    result = store_sanding_add(shop->store, sanding, &id);
    if (result != COAT_OK)
        return write_undone(shop, result, error);
    sanding->id = id;
    return write_commit(shop, write, &id, 1, error);
}

enum coat_result shop_sand_coat(struct shop *shop, const struct shop_write *write, int64_t coat_id, int64_t at, int64_t *ret_id,
                                struct coat_error *error)
{
    struct sanding sanding = {.coat_id = coat_id, .at = at, .entered_at = write->now_ms};
    enum coat_result result = check_sanding(shop, write->now_ms, &sanding, error);
    if (result == COAT_OK && !LIST_RESERVE(&shop->sandings))
        result = write_failed(COAT_NO_MEMORY, error);
    if (result == COAT_OK)
        result = record_sanding(shop, write, &sanding, error);
    if (result != COAT_OK)
        return result;
    LIST_PUSH(&shop->sandings, sanding);
    *ret_id = sanding.id;
    return write_settle(shop, write, model_piece_changed(shop, shop_coat(shop, coat_id)->piece_id), error);
}

/* ---- stripping ---- */

/* The coat down to which a piece was stripped: one of its own that was there. */
static enum coat_result check_down_to(const struct shop *shop, const struct stripping *stripping, struct coat_error *error)
{
    const struct coat *coat = NULL;
    if (stripping->down_to_coat_id == 0)
        return COAT_OK;
    enum coat_result result = check_coat(shop, "down_to", stripping->down_to_coat_id, &coat, error);
    if (result != COAT_OK)
        return result;
    if (coat->piece_id != stripping->piece_id)
        return coat_fail(error, COAT_BAD_VALUE, "down_to", "coat %lld is on \"%s\": a coat of the piece itself, or none, will do",
                         (long long)coat->id, shop_piece(shop, coat->piece_id)->name);
    if (coat->struck_at != MOMENT_NONE)
        return coat_fail(error, COAT_CONFLICT, "down_to", "coat %lld was struck out: a coat that counts, or none, will do", (long long)coat->id);
    if (coat->first_at > stripping->at)
        return coat_fail(error, COAT_BAD_VALUE, "down_to", "coat %lld went on after the stripping: an earlier coat, or none, will do",
                         (long long)coat->id);
    return COAT_OK;
}

static enum coat_result check_stripping(const struct shop *shop, int64_t now_ms, struct stripping *stripping, struct coat_error *error)
{
    const struct piece *piece = NULL;
    enum coat_result result = check_piece(shop, "piece", stripping->piece_id, &piece, error);
    if (result == COAT_OK)
        result = check_area(piece, stripping->area, error);
    if (result == COAT_OK)
        result = check_moment("at", stripping->at, now_ms, error);
    return result == COAT_OK ? check_down_to(shop, stripping, error) : result;
}

static enum coat_result record_stripping(struct shop *shop, const struct shop_write *write, struct stripping *stripping,
                                         struct coat_error *error)
{
    int64_t id = 0;
    enum coat_result result = write_begin(shop, error);
    if (result != COAT_OK)
        return result;
    result = store_stripping_add(shop->store, stripping, &id);
    if (result != COAT_OK)
        return write_undone(shop, result, error);
    stripping->id = id;
    return write_commit(shop, write, &id, 1, error);
}

enum coat_result shop_strip_piece(struct shop *shop, const struct shop_write *write, const struct stripping *stripping, int64_t *ret_id,
                                  struct coat_error *error)
{
    struct stripping wanted = *stripping;
    wanted.id = 0;
    wanted.entered_at = write->now_ms;
    enum coat_result result = check_stripping(shop, write->now_ms, &wanted, error);
    if (result == COAT_OK && !LIST_RESERVE(&shop->strippings))
        result = write_failed(COAT_NO_MEMORY, error);
    if (result == COAT_OK)
        result = record_stripping(shop, write, &wanted, error);
    if (result != COAT_OK)
        return result;
    LIST_PUSH(&shop->strippings, wanted);
    *ret_id = wanted.id;
    return write_settle(shop, write, model_piece_changed(shop, wanted.piece_id), error);
}
