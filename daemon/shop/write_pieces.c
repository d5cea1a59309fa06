/* Writes to what is being finished and where it hangs: pieces and moves. */
#include "daemon/shop/write.h"

/* ---- moves ---- */

enum coat_result check_move(const struct shop *shop, const struct piece *piece, const struct place *place, int64_t at,
                            struct coat_error *error)
{
    char text[MOMENT_TEXT_SIZE];
    const struct move *before = move_before(shop, piece->id, at);
    if (before == NULL)
        return COAT_OK;
    if (before->place_id == place->id)
        return coat_fail(error, COAT_CONFLICT, "place", "\"%s\" already hangs in \"%s\" at %s", piece->name, place->name,
                         moment_print(at, text));
    return COAT_OK;
}

void move_insert(struct shop *shop, const struct move *move)
{
    size_t index = move_index_after(shop, move->piece_id, move->at);
    LIST_INSERT(&shop->moves, index, *move);
}

static enum coat_result check_moving(const struct shop *shop, int64_t now_ms, const struct move *move, struct coat_error *error)
{
    const struct piece *piece = NULL;
    const struct place *place = NULL;
    enum coat_result result = check_piece(shop, "piece", move->piece_id, &piece, error);
    if (result == COAT_OK)
        result = check_place(shop, "place", move->place_id, &place, error);
    if (result == COAT_OK)
        result = check_moment("at", move->at, now_ms, error);
    return result == COAT_OK ? check_move(shop, piece, place, move->at, error) : result;
}

static enum coat_result record_move(struct shop *shop, const struct shop_write *write, struct move *move, struct coat_error *error)
{
    enum coat_result result = write_begin(shop, error);
    if (result != COAT_OK)
        return result;
    int64_t id = 0;
    result = store_move_add(shop->store, move, &id);
    if (result != COAT_OK)
        return write_undone(shop, result, error);
    move->id = id;
    return write_commit(shop, write, &id, 1, error);
}

enum coat_result shop_move_piece(struct shop *shop, const struct shop_write *write, int64_t piece_id, int64_t place_id, int64_t at,
                                 int64_t *ret_id, struct coat_error *error)
{
    struct move move = {.piece_id = piece_id, .place_id = place_id, .at = at, .entered_at = write->now_ms};
    enum coat_result result = check_moving(shop, write->now_ms, &move, error);
    if (result == COAT_OK && !LIST_RESERVE(&shop->moves))
        result = write_failed(COAT_NO_MEMORY, error);
    if (result == COAT_OK)
        result = record_move(shop, write, &move, error);
    if (result != COAT_OK)
        return result;
    move_insert(shop, &move);
    *ret_id = move.id;
    return write_settle(shop, write, model_piece_changed(shop, piece_id), error);
}

/* ---- pieces ---- */

static enum coat_result check_piece_values(struct piece *piece, struct coat_error *error)
{
    const struct choice_check finish = {"old_finish", (unsigned)piece->old_finish, OLD_FINISH_COUNT};
    const struct figure_check figures[] = {
        {"mass_kg", piece->mass_kg, 0, 1e5, true, "kg"},
        {"wall_mm", piece->wall_mm, 0, 1000, true, "mm"},
    };
    enum coat_result result = check_choices(&finish, 1, error);
    if (result == COAT_OK)
        result = check_figures(figures, sizeof figures / sizeof *figures, error);
    return result == COAT_OK ? check_text("note", piece->note, sizeof piece->note, error) : result;
}

static enum coat_result check_areas(struct piece *piece, struct coat_error *error)
{
    if (piece->areas > AREAS_MAX)
        return coat_fail(error, COAT_BAD_VALUE, "areas", "%u areas: at most %d will do", piece->areas, AREAS_MAX);
    for (unsigned i = 0; i < piece->areas; i++) {
        enum coat_result result = check_name("areas", piece->area[i], AREA_SIZE, error);
        if (result != COAT_OK)
            return result;
        for (unsigned k = 0; k < i; k++)
            if (name_same(piece->area[k], piece->area[i]))
                return coat_fail(error, COAT_BAD_VALUE, "areas", "the area \"%s\" is told twice: once will do", piece->area[i]);
    }
    return COAT_OK;
}

/* What coats refer to stays: every area that a coat that counts lies on must be among the new ones, if there are any. */
static enum coat_result check_areas_kept(const struct shop *shop, const struct piece *piece, struct coat_error *error)
{
    for (size_t i = 0; i < shop->coats.count && piece->areas > 0; i++) {
        const struct coat *coat = &shop->coats.item[i];
        bool kept = coat->piece_id != piece->id || coat->struck_at != MOMENT_NONE || coat->area[0] == '\0';
        for (unsigned k = 0; k < piece->areas && !kept; k++)
            kept = strcmp(piece->area[k], coat->area) == 0;
        if (!kept)
            return coat_fail(error, COAT_CONFLICT, "areas", "coat %lld lies on the area \"%s\": keep it among the areas, or amend the coat first",
                             (long long)coat->id, coat->area);
    }
    return COAT_OK;
}

/* Tidies the texts, and takes from the record what a client does not tell. */
static enum coat_result check_piece_put(const struct shop *shop, int64_t now_ms, struct piece *piece, struct coat_error *error)
{
    const struct piece *before = NULL;
    enum coat_result result = piece->id == 0 ? COAT_OK : check_piece(shop, "piece", piece->id, &before, error);
    if (result == COAT_OK)
        result = check_name("name", piece->name, sizeof piece->name, error);
    if (result == COAT_OK)
        result = check_not_number(piece->name, error);
    if (result == COAT_OK)
        result = check_piece_free(shop, piece->name, piece->id, 0, error);
    if (result == COAT_OK)
        result = check_piece_values(piece, error);
    if (result == COAT_OK)
        result = check_areas(piece, error);
    if (result == COAT_OK && before != NULL)
        result = check_areas_kept(shop, piece, error);
    piece->added_at = before != NULL ? before->added_at : now_ms;
    piece->removed_at = MOMENT_NONE;
    return result;
}

static enum coat_result check_first_place(const struct shop *shop, const struct piece *piece, int64_t place_id, struct coat_error *error)
{
    const struct place *place = NULL;
    if (place_id == 0)
        return COAT_OK;
    if (piece->id != 0)
        return coat_fail(error, COAT_BAD_VALUE, "place", "a piece that is there already is hung elsewhere by a move, not by a change");
    return check_place(shop, "place", place_id, &place, error);
}

/* Stores the piece, and the move (place_id 0: none) of a new one; fills their ids. */
static enum coat_result record_piece(struct shop *shop, const struct shop_write *write, struct piece *piece, struct move *move,
                                     struct coat_error *error)
{
    int64_t id = piece->id;
    enum coat_result result = write_begin(shop, error);
    if (result != COAT_OK)
        return result;
    result = id == 0 ? store_piece_add(shop->store, piece, &id) : store_piece_put(shop->store, piece);
    piece->id = move->piece_id = id;
    if (result == COAT_OK && move->place_id != 0) {
        int64_t move_id = 0;
        result = store_move_add(shop->store, move, &move_id);
        move->id = move_id;
    }
    return result == COAT_OK ? write_commit(shop, write, &id, 1, error) : write_undone(shop, result, error);
}

static void piece_replace(struct shop *shop, const struct piece *piece)
{
    for (size_t i = 0; i < shop->pieces.count; i++)
        if (shop->pieces.item[i].id == piece->id)
            shop->pieces.item[i] = *piece;
}

enum coat_result shop_put_piece(struct shop *shop, const struct shop_write *write, const struct piece *piece, int64_t place_id,
                                int64_t *ret_id, struct coat_error *error)
{
    struct piece wanted = *piece;
    struct move move = {.place_id = place_id, .at = write->now_ms, .entered_at = write->now_ms};
    enum coat_result result = check_piece_put(shop, write->now_ms, &wanted, error);
    if (result == COAT_OK)
        result = check_first_place(shop, piece, place_id, error);
    if (result == COAT_OK && (!LIST_RESERVE(&shop->pieces) || !LIST_RESERVE(&shop->moves)))
        result = write_failed(COAT_NO_MEMORY, error);
    if (result == COAT_OK)
        result = record_piece(shop, write, &wanted, &move, error);
    if (result != COAT_OK)
        return result;
    if (wanted.id == piece->id)
        piece_replace(shop, &wanted);
    else
        LIST_PUSH(&shop->pieces, wanted);
    if (place_id != 0)
        move_insert(shop, &move);
    *ret_id = wanted.id;
    return write_settle(shop, write, COAT_OK, error); /* nothing is computed from a piece without coats, nor from its names */
}

static const struct rack *rack_with(const struct shop *shop, int64_t piece_id)
{
    for (size_t i = 0; i < shop->racks.count; i++) {
        const struct rack *rack = &shop->racks.item[i];
        for (unsigned k = 0; k < rack->pieces && rack->removed_at == MOMENT_NONE; k++)
            if (rack->piece_id[k] == piece_id)
                return rack;
    }
    return NULL;
}

enum coat_result shop_remove_piece(struct shop *shop, const struct shop_write *write, int64_t id, struct coat_error *error)
{
    const struct piece *piece = NULL;
    struct move none = {0};
    enum coat_result result = check_piece(shop, "piece", id, &piece, error);
    if (result != COAT_OK)
        return result;
    const struct rack *rack = rack_with(shop, id);
    if (rack != NULL)
        return coat_fail(error, COAT_CONFLICT, "piece", "\"%s\" is one of the rack \"%s\": take it out of the rack, or remove the rack, first",
                         piece->name, rack->name);
    struct piece gone = *piece;
    gone.removed_at = write->now_ms;
    result = record_piece(shop, write, &gone, &none, error);
    if (result != COAT_OK)
        return result;
    piece_replace(shop, &gone);
    return write_settle(shop, write, model_piece_changed(shop, id), error);
}
