/* The facts as they stand, for those who ask. */
#include "daemon/shop/write.h"

#include <stdlib.h>

int64_t shop_revision(const struct shop *shop)
{
    return store_revision(shop->store);
}

const struct shop_settings *shop_settings_now(const struct shop *shop)
{
    return &shop->settings;
}

/* ---- lists ---- */

#define DEFINE_LIST(name, type, list)                                                                    \
    const struct type *name(const struct shop *shop, size_t *ret_count)                                   \
    {                                                                                                     \
        *ret_count = shop->list.count;                                                                    \
        return shop->list.item;                                                                           \
    }
DEFINE_LIST(shop_places, place, places)
DEFINE_LIST(shop_pieces, piece, pieces)
DEFINE_LIST(shop_racks, rack, racks)
DEFINE_LIST(shop_moves, move, moves)
DEFINE_LIST(shop_materials, material_version, materials)
DEFINE_LIST(shop_coats, coat, coats)
DEFINE_LIST(shop_sandings, sanding, sandings)
DEFINE_LIST(shop_strippings, stripping, strippings)
DEFINE_LIST(shop_bench_tests, bench_test, bench_tests)
DEFINE_LIST(shop_tins, tin, tins)
DEFINE_LIST(shop_mixes, mix, mixes)
DEFINE_LIST(shop_notices, notice, notices)

/* ---- one of them ---- */

/* In lists by id, as they are stored and added. */
#define DEFINE_FIND(name, type, list)                                                                    \
    const struct type *name(const struct shop *shop, int64_t id)                                          \
    {                                                                                                     \
        size_t low = 0, high = shop->list.count;                                                          \
        while (low < high) {                                                                              \
            size_t mid = low + (high - low) / 2;                                                          \
            if (shop->list.item[mid].id == id)                                                            \
                return &shop->list.item[mid];                                                             \
            if (shop->list.item[mid].id < id)                                                             \
                low = mid + 1;                                                                            \
            else                                                                                          \
                high = mid;                                                                               \
        }                                                                                                 \
        return NULL;                                                                                      \
    }
DEFINE_FIND(shop_place, place, places)
DEFINE_FIND(shop_piece, piece, pieces)
DEFINE_FIND(shop_rack, rack, racks)
DEFINE_FIND(shop_tin, tin, tins)

const struct material_version *shop_material_version(const struct shop *shop, int64_t id)
{
    for (size_t i = 0; i < shop->materials.count; i++) /* by material, then version: ids do not rise */
        if (shop->materials.item[i].id == id)
            return &shop->materials.item[i];
    return NULL;
}

const struct coat *shop_coat(const struct shop *shop, int64_t id)
{
    size_t index = shop_coat_index(shop, id);
    return index == SIZE_MAX ? NULL : &shop->coats.item[index];
}

/* Index of the newest version of a material; SIZE_MAX where there is none. */
static size_t newest_index(const struct shop *shop, int64_t material_id)
{
    for (size_t i = shop->materials.count; i-- > 0;)
        if (shop->materials.item[i].material_id == material_id)
            return i;
    return SIZE_MAX;
}

const struct material_version *shop_material_newest(const struct shop *shop, int64_t material_id)
{
    size_t index = newest_index(shop, material_id);
    return index == SIZE_MAX || shop->material_removed.item[index] ? NULL : &shop->materials.item[index];
}

bool shop_material_removed(const struct shop *shop, int64_t material_id)
{
    size_t index = newest_index(shop, material_id);
    return index != SIZE_MAX && shop->material_removed.item[index];
}

/* ---- where pieces hang ---- */

static bool move_is_after(const struct move *move, int64_t piece_id, int64_t at_ms)
{
    return move->piece_id != piece_id ? move->piece_id > piece_id : move->at > at_ms;
}

size_t move_index_after(const struct shop *shop, int64_t piece_id, int64_t at_ms)
{
    size_t low = 0, high = shop->moves.count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (move_is_after(&shop->moves.item[middle], piece_id, at_ms))
            high = middle;
        else
            low = middle + 1;
    }
    return low;
}

const struct move *move_before(const struct shop *shop, int64_t piece_id, int64_t at_ms)
{
    size_t index = move_index_after(shop, piece_id, at_ms);
    bool has = index > 0 && shop->moves.item[index - 1].piece_id == piece_id;
    return has ? &shop->moves.item[index - 1] : NULL;
}

static const struct move *move_first(const struct shop *shop, int64_t piece_id)
{
    size_t index = move_index_after(shop, piece_id, INT64_MIN);
    bool has = index < shop->moves.count && shop->moves.item[index].piece_id == piece_id;
    return has ? &shop->moves.item[index] : NULL;
}

/* Before its first move a piece counts as hanging where that took it: a casting is told to the record when its first coat is already
 * on it, and its place with it. */
int64_t shop_piece_place(const struct shop *shop, int64_t piece_id, int64_t at_ms)
{
    const struct move *move = move_before(shop, piece_id, at_ms);
    if (move == NULL)
        move = move_first(shop, piece_id);
    return move != NULL ? move->place_id : 0;
}

/* ---- the record of a coat ---- */

enum coat_result shop_coat_entries(struct shop *shop, int64_t coat_id, bool (*each)(const struct coat *, void *), void *context)
{
    if (shop_coat(shop, coat_id) == NULL)
        return COAT_NOT_FOUND;
    return store_coat_entries(shop->store, coat_id, each, context);
}

/* ---- words of the model ---- */

static const char *const status_words[COAT_STATUS_COUNT] = {
    [COAT_ON] = "on", [COAT_COVERED] = "covered", [COAT_STRIPPED] = "stripped", [COAT_STRUCK] = "struck",
};
static const char *const condition_words[CONDITION_COUNT] = {
    [CONDITION_WET] = "wet", [CONDITION_TACKY] = "tacky", [CONDITION_DRY] = "dry", [CONDITION_HANDLE] = "handle",
    [CONDITION_HARD] = "hard",
};
static const char *const list_words[LIST_KIND_COUNT] = {
    [LIST_NOW] = "now", [LIST_NEXT] = "next", [LIST_NOT_YET] = "not_yet", [LIST_HELD] = "held",
};

const char *coat_status_word(enum coat_status status)
{
    return (unsigned)status < COAT_STATUS_COUNT ? status_words[status] : "?";
}

const char *coat_condition_word(enum coat_condition condition)
{
    return (unsigned)condition < CONDITION_COUNT ? condition_words[condition] : "?";
}

const char *list_kind_word(enum list_kind kind)
{
    return (unsigned)kind < LIST_KIND_COUNT ? list_words[kind] : "?";
}
