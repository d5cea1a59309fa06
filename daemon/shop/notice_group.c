/* Pieces that were done together are told together, and nobody is called in quiet hours.
 *
 * A notice is raised at its moment and stays a fact of its coat. The first of its kind stands for a group: others join it until it is told, that is put out to the
 * channels, which waits a little for those that are about to come, and for the end of quiet hours. */
#include "daemon/shop/baking.h"
#include "daemon/shop/notice.h"

#include <stdlib.h>
#include <string.h>

#define GATHER_MS (10 * MS_PER_MIN) /* how long one waits for those that were done together with it: common practice */
#define GATHER_ROOM_MS (3 * GATHER_MS) /* with less time than this left, nobody is waited for */

bool notice_breaks_quiet(enum notice_kind kind)
{
    switch (kind) {
    case NOTICE_LEAVING:
    case NOTICE_BAKE_STEP:
    case NOTICE_POT_LIFE: /* what is left in the pot grows hot */
    case NOTICE_MIX_READY: /* whoever mixed is there */
        return true;
    default:
        return false;
    }
}

struct notice *notice_head(const struct shop *shop, const struct notice *notice)
{
    struct notice *head = notice_by_id(shop, notice->group_id);
    return head ? head : notice_by_id(shop, notice->id);
}

static const struct notice *next_of_group(const struct shop *shop, const struct notice *notice)
{
    size_t number = shop->group_next.item[notice - shop->notices.item];
    return number > 0 ? &shop->notices.item[number - 1] : NULL;
}

/* ---- who belongs together ---- */

static const struct coat *coat_of(const struct shop *shop, const struct notice *notice)
{
    size_t index = notice_is_of_coat(notice) ? shop_coat_index(shop, notice->coat_id) : SIZE_MAX;
    return index != SIZE_MAX ? &shop->coats.item[index] : NULL;
}

static int64_t material_of(const struct shop *shop, const struct coat *coat)
{
    const struct material_version *version = shop_material_version(shop, coat->material_version_id);
    return version ? version->material_id : 0;
}

static bool coats_belong(const struct shop *shop, const struct coat *a, const struct coat *b, int64_t at_ms)
{
    return material_of(shop, a) == material_of(shop, b) &&
           shop_piece_place(shop, a->piece_id, at_ms) == shop_piece_place(shop, b->piece_id, at_ms);
}

/* What is said of them is the same. */
static bool are_for_one_reason(const struct shop *shop, const struct notice *a, const struct notice *b)
{
    return a->kind != NOTICE_INSPECT ||
           shop->clocks.item[shop_coat_index(shop, a->coat_id)].inspect == shop->clocks.item[shop_coat_index(shop, b->coat_id)].inspect;
}

static bool belong_together(const struct shop *shop, const struct notice *head, const struct notice *notice)
{
    const struct coat *a = coat_of(shop, head), *b = coat_of(shop, notice);
    bool same = head->kind == notice->kind && head->stage == notice->stage && head->boundary == notice->boundary;
    return a && b && same && coats_belong(shop, a, b, notice->raised_at) && are_for_one_reason(shop, head, notice);
}

static bool can_be_joined(const struct notice *head)
{
    return head->told_at == MOMENT_NONE && head->withdrawn_at == MOMENT_NONE && head->acknowledged_at == MOMENT_NONE;
}

/* Whether a batch takes back the notice with this id. */
static bool is_taken_back(const struct notice *batch, size_t count, int64_t id)
{
    for (size_t i = 0; i < count; i++)
        if (batch[i].id == id)
            return batch[i].withdrawn_at != MOMENT_NONE;
    return false;
}

int64_t notice_group_find(const struct shop *shop, const struct notice *batch, size_t stored, const struct notice *notice)
{
    if (!notice_is_of_coat(notice))
        return 0;
    for (size_t i = 0; i < shop->untold.count; i++) {
        const struct notice *head = &shop->notices.item[shop->untold.item[i] - 1];
        if (can_be_joined(head) && !is_taken_back(batch, stored, head->id) && belong_together(shop, head, notice))
            return head->id;
    }
    for (size_t i = 0; i < stored; i++)
        if (batch[i].group_id == batch[i].id && can_be_joined(&batch[i]) && belong_together(shop, &batch[i], notice))
            return batch[i].id;
    return 0;
}

static bool is_untold(const struct shop *shop, size_t number)
{
    for (size_t i = 0; i < shop->untold.count; i++)
        if (shop->untold.item[i] == number)
            return true;
    return false;
}

bool notice_group_tie(struct shop *shop, size_t number)
{
    const struct notice *notice = &shop->notices.item[number - 1];
    struct notice *head = notice_head(shop, notice);
    if (!LIST_RESERVE(&shop->group_next) || !LIST_RESERVE(&shop->untold))
        return false;
    shop->group_next.item[shop->group_next.count++] = 0;
    size_t last = (size_t)(head - shop->notices.item), head_number = last + 1;
    while (head != notice && shop->group_next.item[last] != 0)
        last = shop->group_next.item[last] - 1;
    if (head != notice)
        shop->group_next.item[last] = number;
    /* also with another of its group: the first of them may be over when they are loaded */
    if (head->told_at == MOMENT_NONE && shop_notice_is_pending(shop, head) && !is_untold(shop, head_number))
        shop->untold.item[shop->untold.count++] = head_number;
    return true;
}

/* ---- held back ---- */

/* When the notice like `head` of another coat is raised, if it is still to come; MOMENT_NONE. */
static int64_t awaited_at(const struct shop *shop, const struct notice *head, size_t coat_index, int64_t now_ms)
{
    struct coat_clock *clock = &shop->clocks.item[coat_index];
    const struct coat *coat = &shop->coats.item[coat_index];
    if (clock->status != COAT_ON || !coats_belong(shop, coat_of(shop, head), coat, now_ms))
        return MOMENT_NONE;
    struct stage_run run = stage_run_of(clock, head->stage);
    if ((unsigned)head->boundary >= run.count)
        return MOMENT_NONE;
    int64_t due = boundary_due(&run.first[head->boundary]);
    if (due != MOMENT_NONE && head->kind == NOTICE_CLOSING)
        due = coat_closing_told_at(shop, coat, due);
    return due;
}

static bool may_wait(const struct notice *head, int64_t now_ms)
{
    int64_t ends = head->kind == NOTICE_CLOSING ? head->due_at : head->until_at;
    bool gathers = head->kind <= NOTICE_REACHED; /* the windows and stages; the others come when they come */
    return gathers && notice_is_of_coat(head) && (ends == MOMENT_NONE || ends - now_ms > GATHER_ROOM_MS) && now_ms < head->raised_at + GATHER_MS;
}

bool notice_is_early(const struct shop *shop, const struct notice *head, int64_t now_ms)
{
    for (const struct notice *n = head; n; n = next_of_group(shop, n)) {
        if (n->raised_at <= now_ms)
            continue;
        int64_t true_at = n->kind != NOTICE_CLOSING && n->due_at < n->raised_at ? n->due_at : n->raised_at;
        if (n->withdrawn_at == MOMENT_NONE && true_at > now_ms)
            return true;
    }
    return false;
}

/* Others like it are about to come. */
static bool is_gathering(const struct shop *shop, const struct notice *head, int64_t now_ms)
{
    if (!may_wait(head, now_ms) || !coat_of(shop, head))
        return false;
    for (size_t i = 0; i < shop->clocks.count; i++) {
        int64_t at = awaited_at(shop, head, i, now_ms);
        if (at != MOMENT_NONE && at > now_ms && at <= head->raised_at + GATHER_MS)
            return true;
    }
    return false;
}

static bool is_quiet(const struct shop *shop, const struct notice *head, int64_t now_ms)
{
    struct local_zone zone = shop_zone(shop);
    return !notice_breaks_quiet(head->kind) && hours_hold(&zone, shop_quiet_hours(shop), now_ms);
}

int64_t notice_release_next(const struct shop *shop, int64_t from_ms)
{
    int64_t next = MOMENT_NONE;
    struct local_zone zone = shop_zone(shop);
    for (size_t i = 0; i < shop->untold.count; i++) {
        const struct notice *head = &shop->notices.item[shop->untold.item[i] - 1];
        int64_t at = is_quiet(shop, head, from_ms) ? hours_end(&zone, shop_quiet_hours(shop), from_ms) : head->raised_at + GATHER_MS;
        next = moment_sooner_after(next, at, from_ms);
        next = moment_sooner_after(next, head->due_at, from_ms);
    }
    return next;
}

/* ---- put out ---- */

static enum coat_result store_told(struct shop *shop, const struct notice *told, size_t count)
{
    int64_t revision;
    enum coat_result result = store_begin(shop->store);
    if (result != COAT_OK)
        return result;
    for (size_t i = 0; result == COAT_OK && i < count; i++)
        result = store_notice_put(shop->store, &told[i]);
    if (result == COAT_OK)
        result = store_revision_bump(shop->store, &revision);
    if (result == COAT_OK)
        result = store_commit(shop->store);
    if (result != COAT_OK)
        store_rollback(shop->store);
    return result;
}

/* Those that are held back no more. */
static enum coat_result gather_told(const struct shop *shop, int64_t now_ms, struct notice_batch *ret)
{
    for (size_t i = 0; i < shop->untold.count; i++) {
        const struct notice *head = &shop->notices.item[shop->untold.item[i] - 1];
        struct notice told = *head;
        if (!shop_notice_is_pending(shop, head) || notice_is_early(shop, head, now_ms) || is_quiet(shop, head, now_ms) || is_gathering(shop, head, now_ms))
            continue;
        if (!notice_batch_add(ret, &told))
            return COAT_NO_MEMORY;
    }
    return COAT_OK;
}

void notice_raise_floor(struct shop *shop, int64_t told_at, int64_t id)
{
    if (told_at == MOMENT_NONE || told_at < shop->told_floor)
        return;
    bool same = told_at == shop->told_floor && shop->told_floor_id > id;
    shop->told_floor = told_at;
    shop->told_floor_id = same ? shop->told_floor_id : id;
}

/* Now, but behind all that was told already: by the moment, then by the number. */
static void date_told(const struct shop *shop, int64_t now_ms, struct notice_batch *told)
{
    int64_t at_ms = now_ms > shop->told_floor ? now_ms : shop->told_floor;
    for (size_t i = 0; i < told->count; i++)
        if (at_ms == shop->told_floor && told->item[i].id < shop->told_floor_id)
            at_ms++;
    for (size_t i = 0; i < told->count; i++)
        told->item[i].told_at = at_ms;
}

static void forget_told(struct shop *shop)
{
    size_t kept = 0;
    for (size_t i = 0; i < shop->untold.count; i++) {
        const struct notice *head = &shop->notices.item[shop->untold.item[i] - 1];
        if (head->told_at == MOMENT_NONE && shop_notice_is_pending(shop, head))
            shop->untold.item[kept++] = shop->untold.item[i];
    }
    shop->untold.count = kept;
}

enum coat_result notice_release(struct shop *shop, int64_t now_ms, bool *ret_told)
{
    struct notice_batch told = {0};
    *ret_told = false;
    if (shop->untold.count == 0)
        return COAT_OK;
    enum coat_result result = gather_told(shop, now_ms, &told);
    date_told(shop, now_ms, &told);
    if (result == COAT_OK && told.count > 0)
        result = store_told(shop, told.item, told.count);
    for (size_t i = 0; result == COAT_OK && i < told.count; i++) {
        *notice_by_id(shop, told.item[i].id) = told.item[i];
        notice_raise_floor(shop, told.item[i].told_at, told.item[i].id);
    }
    *ret_told = result == COAT_OK && told.count > 0;
    notice_batch_free(&told);
    forget_told(shop);
    return result;
}

/* ---- as people get it ---- */

bool shop_notice_is_pending(const struct shop *shop, const struct notice *head)
{
    if (head->group_id != head->id || head->acknowledged_at != MOMENT_NONE)
        return false;
    if (head->withdrawn_at == MOMENT_NONE)
        return true;
    const struct notice *known = notice_by_id(shop, head->id);
    for (const struct notice *n = known ? next_of_group(shop, known) : NULL; n; n = next_of_group(shop, n))
        if (n->withdrawn_at == MOMENT_NONE)
            return true;
    return false;
}

static void add_member(const struct notice *notice, struct notice_view *view)
{
    bool later = notice->kind != NOTICE_CLOSING;
    bool first = view->members == 0;
    if (view->members < NOTICE_MEMBERS_SHOWN)
        view->member_id[view->members] = notice->id;
    view->members++;
    view->assumed |= notice->assumed;
    if (first || (later ? notice->due_at > view->due_at : notice->due_at < view->due_at))
        view->due_at = notice->due_at;
    if (notice->until_at != MOMENT_NONE && (view->until_at == MOMENT_NONE || notice->until_at < view->until_at))
        view->until_at = notice->until_at;
}

static void add_members(const struct shop *shop, bool standing, struct notice_view *view)
{
    for (const struct notice *n = view->head; n; n = next_of_group(shop, n))
        if (!standing || n->withdrawn_at == MOMENT_NONE)
            add_member(n, view);
}

static int64_t last_withdrawn(const struct shop *shop, const struct notice *head)
{
    int64_t last = MOMENT_NONE;
    for (const struct notice *n = head; n; n = next_of_group(shop, n)) {
        if (n->withdrawn_at == MOMENT_NONE)
            return MOMENT_NONE;
        if (n->withdrawn_at > last)
            last = n->withdrawn_at;
    }
    return last;
}

static void gather_cautions(struct shop *shop, int64_t now_ms, struct notice_view *view)
{
    struct mix_view mix;
    if (view->head->mix_id != 0 && shop_mix_view(shop, view->head->mix_id, now_ms, &mix))
        view->cautions = mix.cautions;
    size_t bake = view->head->bake_id != 0 ? bake_index(shop, view->head->bake_id) : SIZE_MAX;
    if (bake != SIZE_MAX)
        bake_cautions(shop, &shop->bakes.item[bake], now_ms, &view->cautions);
    for (unsigned i = 0; i < view->members && i < NOTICE_MEMBERS_SHOWN; i++) {
        const struct notice *notice = notice_by_id(shop, view->member_id[i]);
        size_t index = notice_is_of_coat(notice) ? shop_coat_index(shop, notice->coat_id) : SIZE_MAX;
        struct caution_set own;
        if (index == SIZE_MAX)
            continue;
        coat_cautions(shop, index, now_ms, &own);
        if (i == 0)
            view->cautions = own;
        else
            cautions_merge(&view->cautions, &own);
    }
    if (view->cautions.count == 0)
        shop_cautions(shop, now_ms, &view->cautions);
}

#define NAMES_TOLD 6
/* "3 pieces (body, hopper, lid)" */
static void name_pieces(const struct shop *shop, const struct notice_view *view, char *ret, size_t size)
{
    int used = snprintf(ret, size, "%u pieces (", view->members);
    for (unsigned i = 0; i < view->members && i < NAMES_TOLD; i++) {
        const struct coat *coat = coat_of(shop, notice_by_id(shop, view->member_id[i]));
        const struct piece *piece = coat ? shop_piece(shop, coat->piece_id) : NULL;
        used += snprintf(ret + used, size - (size_t)used, "%s%s", i > 0 ? ", " : "", piece ? piece->name : "?");
    }
    snprintf(ret + used, size - (size_t)used, view->members > NAMES_TOLD ? " and more)" : ")");
}

/* With names as far as they leave room for what is said of them. */
static void word_subject(struct shop *shop, const struct notice *one, const char *names, struct notice_view *view)
{
    char text[NOTICE_TEXT_SIZE], pieces[32];
    snprintf(pieces, sizeof pieces, "%u pieces", view->members);
    notice_compose(shop, one, names, view->assumed, NULL, text, sizeof text);
    if (strlen(text) >= sizeof view->subject)
        notice_compose(shop, one, pieces, view->assumed, NULL, text, sizeof text);
    notice_cut(text, strlen(text), view->subject, sizeof view->subject);
}

static void word_view(struct shop *shop, int64_t now_ms, struct notice_view *view)
{
    char names[NAMES_TOLD * (NAME_SIZE + 2) + 32];
    const struct notice *one = notice_by_id(shop, view->member_id[0]);
    if (view->members < 2 || !notice_is_of_coat(one)) {
        snprintf(view->text, sizeof view->text, "%s", one->text);
        notice_cut(view->text, notice_first_sentence(shop, view->text), view->subject, sizeof view->subject);
        if (one->kind == NOTICE_MORNING)
            day_list(shop, now_ms, view->text, sizeof view->text);
        return;
    }
    name_pieces(shop, view, names, sizeof names);
    word_subject(shop, one, names, view);
    notice_compose(shop, one, names, view->assumed, caution_text(view->cautions.code[0])->act, view->text, sizeof view->text);
}

bool shop_notice_view(struct shop *shop, int64_t notice_id, int64_t now_ms, struct notice_view *ret)
{
    const struct notice *notice = notice_by_id(shop, notice_id);
    if (!notice)
        return false;
    *ret = (struct notice_view){.head = notice_head(shop, notice), .until_at = MOMENT_NONE, .due_at = MOMENT_NONE};
    ret->withdrawn_at = last_withdrawn(shop, ret->head);
    ret->acknowledged_at = ret->head->acknowledged_at;
    ret->told_at = ret->head->told_at;
    ret->safety = notice_breaks_quiet(ret->head->kind);
    add_members(shop, ret->withdrawn_at == MOMENT_NONE, ret);
    gather_cautions(shop, now_ms, ret);
    word_view(shop, now_ms, ret);
    return true;
}
