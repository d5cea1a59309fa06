/* Logging a coat: one application to several pieces, with their moves and the air it met, all in one transaction. */
#include "daemon/shop/write.h"

#include <math.h>

_Static_assert(RACK_PIECES_MAX <= SHOP_ANSWER_IDS_MAX, "a key keeps all coats of one write");

/* What one call records. The coats themselves are made in the room that the list has kept free. */
struct coat_log {
    struct coat pattern;
    const int64_t *piece_ids;
    size_t pieces;
    size_t moves;
    struct move move[RACK_PIECES_MAX];
    bool has_air;
    int64_t air_place_id;
    struct reading reading;
    struct sensor by_hand;
};

/* ---- checks ---- */

static enum coat_result hangs_nowhere(const struct piece *piece, int64_t at, struct coat_error *error)
{
    char text[MOMENT_TEXT_SIZE];
    moment_print(at, text);
    return coat_fail(error, COAT_BAD_VALUE, "place", "\"%s\" hangs nowhere yet: name the place where it was at %s", piece->name, text);
}

/* The place that was named must take every piece; those that hang elsewhere are moved. */
static enum coat_result plan_moves(const struct shop *shop, const struct place *place, struct coat_log *log, int64_t now_ms,
                                   struct coat_error *error)
{
    int64_t at = log->pattern.first_at;
    for (size_t i = 0; i < log->pieces; i++) {
        int64_t piece_id = log->piece_ids[i];
        if (shop_piece_place(shop, piece_id, at) == place->id)
            continue;
        enum coat_result result = check_move(shop, shop_piece(shop, piece_id), place, at, error);
        if (result != COAT_OK)
            return result;
        log->move[log->moves++] = (struct move){.piece_id = piece_id, .place_id = place->id, .at = at, .entered_at = now_ms};
    }
    return COAT_OK;
}

/* Where no place was named every piece must hang somewhere. *ret_place_id: where they all hang, 0 where in several. */
static enum coat_result find_places(const struct shop *shop, const struct coat_log *log, int64_t *ret_place_id, struct coat_error *error)
{
    int64_t shared = 0;
    for (size_t i = 0; i < log->pieces; i++) {
        int64_t place_id = shop_piece_place(shop, log->piece_ids[i], log->pattern.first_at);
        if (place_id == 0)
            return hangs_nowhere(shop_piece(shop, log->piece_ids[i]), log->pattern.first_at, error);
        shared = i == 0 || shared == place_id ? place_id : 0;
    }
    *ret_place_id = shared;
    return COAT_OK;
}

static enum coat_result check_log_place(const struct shop *shop, int64_t *io_place_id, struct coat_log *log, int64_t now_ms,
                                        struct coat_error *error)
{
    const struct place *place = NULL;
    if (*io_place_id == 0)
        return find_places(shop, log, io_place_id, error);
    enum coat_result result = check_place(shop, "place", *io_place_id, &place, error);
    return result == COAT_OK ? plan_moves(shop, place, log, now_ms, error) : result;
}

static enum coat_result check_log_air(const struct shop *shop, int64_t place_id, const struct coat_air *air, struct coat_log *log,
                                      struct coat_error *error)
{
    const struct place *place = NULL;
    if (air == NULL)
        return COAT_OK;
    if (place_id == 0)
        return coat_fail(error, COAT_BAD_VALUE, "air", "the pieces hang in several places: name one place, or enter the air of each for itself");
    enum coat_result result = check_place(shop, "place", place_id, &place, error);
    if (result == COAT_OK)
        result = check_air("air.", place, air->temp_c, air->rh_pct, error);
    if (result != COAT_OK)
        return result;
    log->has_air = true;
    log->air_place_id = place_id;
    log->reading = (struct reading){
        .at_ms = log->pattern.last_at,
        .temp_mc = (int32_t)lround(air->temp_c * 1000.0),
        .rh_mp = (int32_t)lround(air->rh_pct * 1000.0),
        .hold_s = READING_HOLD_BY_HAND_S,
    };
    return COAT_OK;
}

/* The area must do for every piece; each coat then has it as its piece spells it. */
static enum coat_result check_log_areas(const struct shop *shop, const struct coat_log *log, struct coat_error *error)
{
    enum coat_result result = COAT_OK;
    for (size_t i = 0; i < log->pieces && result == COAT_OK; i++) {
        char area[AREA_SIZE];
        memcpy(area, log->pattern.area, sizeof area);
        result = check_area(shop_piece(shop, log->piece_ids[i]), area, error);
    }
    return result;
}

static enum coat_result check_log(const struct shop *shop, int64_t now_ms, int64_t place_id, const struct coat_air *air,
                                  struct coat_log *log, struct coat_error *error)
{
    enum coat_result result = check_pieces(shop, log->piece_ids, log->pieces, error);
    if (result == COAT_OK)
        result = check_material_version(shop, log->pattern.material_version_id, error);
    if (result == COAT_OK)
        result = check_coat_values(&log->pattern, now_ms, error);
    if (result == COAT_OK)
        coat_take_thinner(shop, &log->pattern);
    if (result == COAT_OK && log->pattern.tin_id != 0)
        result = check_coat_tin(shop, &log->pattern, true, error);
    if (result == COAT_OK)
        result = check_log_areas(shop, log, error);
    if (result == COAT_OK)
        result = check_log_place(shop, &place_id, log, now_ms, error);
    return result == COAT_OK ? check_log_air(shop, place_id, air, log, error) : result;
}

/* ---- recording ---- */

static bool reserve_log(struct shop *shop, const struct coat_log *log)
{
    return LIST_RESERVE_MORE(&shop->coats, log->pieces) && LIST_RESERVE_MORE(&shop->clocks, log->pieces) &&
           (log->moves == 0 || LIST_RESERVE_MORE(&shop->moves, log->moves));
}

static struct coat *coat_to_be(struct shop *shop, size_t index)
{
    return &shop->coats.item[shop->coats.count + index];
}

static enum coat_result store_log_moves(struct shop *shop, struct coat_log *log)
{
    enum coat_result result = COAT_OK;
    for (size_t i = 0; i < log->moves && result == COAT_OK; i++) {
        int64_t id = 0;
        result = store_move_add(shop->store, &log->move[i], &id);
        log->move[i].id = id;
    }
    return result;
}

static enum coat_result store_log_coats(struct shop *shop, const struct coat_log *log, int64_t ids[RACK_PIECES_MAX], struct coat_error *error)
{
    enum coat_result result = COAT_OK;
    for (size_t i = 0; i < log->pieces && result == COAT_OK; i++) {
        struct coat *coat = coat_to_be(shop, i);
        *coat = log->pattern;
        coat->piece_id = log->piece_ids[i];
        result = check_area(shop_piece(shop, coat->piece_id), coat->area, error);
        if (result == COAT_OK)
            result = store_coat_add(shop->store, coat);
        ids[i] = coat->id;
    }
    return result;
}

static enum coat_result store_log_air(struct shop *shop, struct coat_log *log)
{
    if (!log->has_air)
        return COAT_OK;
    enum coat_result result = sensor_by_hand(shop, log->air_place_id, &log->by_hand);
    return result == COAT_OK ? store_reading_put(shop->store, log->by_hand.id, &log->reading, 1) : result;
}

static enum coat_result record_log(struct shop *shop, const struct shop_write *write, struct coat_log *log, int64_t ids[RACK_PIECES_MAX],
                                   struct coat_error *error)
{
    enum coat_result result = write_begin(shop, error);
    if (result != COAT_OK)
        return result;
    result = store_log_moves(shop, log);
    if (result == COAT_OK)
        result = store_log_coats(shop, log, ids, error);
    if (result == COAT_OK)
        result = store_log_air(shop, log);
    if (result != COAT_OK)
        return write_undone(shop, result, error);
    return write_commit(shop, write, ids, (unsigned)log->pieces, error);
}

/* The coats lie in their room already. */
static enum coat_result apply_log(struct shop *shop, const struct coat_log *log)
{
    shop->coats.count += log->pieces;
    for (size_t i = 0; i < log->pieces; i++)
        LIST_PUSH(&shop->clocks, (struct coat_clock){.ended_at = MOMENT_NONE});
    for (size_t i = 0; i < log->moves; i++)
        move_insert(shop, &log->move[i]);
    enum coat_result result = log->has_air ? model_air_by_hand(shop, &log->by_hand, &log->reading, 1) : COAT_OK;
    return result == COAT_OK ? model_pieces_changed(shop, log->piece_ids, log->pieces) : result;
}

enum coat_result shop_log_coats(struct shop *shop, const struct shop_write *write, const struct coat *pattern, const int64_t *piece_ids,
                                size_t pieces, int64_t place_id, const struct coat_air *air, int64_t *ids, struct coat_error *error)
{
    int64_t made[RACK_PIECES_MAX] = {0};
    struct coat_log log = {.pattern = *pattern, .piece_ids = piece_ids, .pieces = pieces};
    log.pattern.id = 0;
    log.pattern.entry = 0;
    log.pattern.entered_at = write->now_ms;
    log.pattern.struck_at = MOMENT_NONE;
    log.pattern.struck_why[0] = '\0';
    enum coat_result result = check_log(shop, write->now_ms, place_id, air, &log, error);
    if (result == COAT_OK && !reserve_log(shop, &log))
        result = write_failed(COAT_NO_MEMORY, error);
    if (result == COAT_OK)
        result = record_log(shop, write, &log, made, error);
    if (result != COAT_OK)
        return result;
    memcpy(ids, made, pieces * sizeof *ids);
    return write_settle(shop, write, apply_log(shop, &log), error);
}
