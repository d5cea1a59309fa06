/* Pieces, where they hang, and what was taken off them. */
#include "daemon/http/routes.h"
#include "daemon/http/work.h"

#include <inttypes.h>
#include <math.h>
#include <string.h>

#define MASS_MAX_KG 1e5
#define WALL_MAX_MM 1000.0
#define LEAST_ABOVE_ZERO 0.001

static enum coat_result show_pieces(struct work *work)
{
    size_t count = 0;
    int64_t all = 0;
    struct coat_list coats;
    const struct piece *pieces = shop_pieces(work->shop, &count);
    enum coat_result result = http_query_int(work->request, "all", 0, 1, &all, &work->error);
    if (result == COAT_OK)
        result = coat_list_make(&work->doc, all != 0 ? COAT_LIST_ALL : COAT_LIST_IN_USE, &coats);
    if (result != COAT_OK)
        return result;
    json_out_object(work->doc.out);
    json_put_array(work->doc.out, "items");
    for (size_t i = 0; i < count; i++) {
        if (all != 0 || pieces[i].removed_at == MOMENT_NONE)
            doc_piece(&work->doc, &pieces[i], &coats);
    }
    json_out_array_end(work->doc.out);
    json_out_object_end(work->doc.out);
    coat_list_free(&coats);
    return COAT_OK;
}

static enum coat_result show_piece(struct work *work)
{
    struct coat_list coats;
    int64_t id = work_subject(work);
    enum coat_result result = coat_list_make(&work->doc, id, &coats);
    if (result != COAT_OK)
        return result;
    if (work->response->status == 201)
        snprintf(work->response->location, sizeof work->response->location, "/api/v1/pieces/%" PRId64, id);
    doc_piece(&work->doc, shop_piece(work->shop, id), &coats);
    coat_list_free(&coats);
    return COAT_OK;
}

/* A coat is its number on the command line, which no piece may take. */
static void read_name(struct json_in *in, enum json_need need, struct piece *piece)
{
    work_name(in, "name", need, piece->name, sizeof piece->name);
    if (strspn(piece->name, "0123456789") == strlen(piece->name))
        json_in_fail(in, "name", "\"%s\" is a number, which names a coat: add a word", piece->name);
}

static void read_areas(struct json_in *in, struct piece *piece)
{
    struct json_in_list list;
    char area[AREA_SIZE];
    if (!json_in_list(in, "areas", JSON_OPTIONAL, 0, AREAS_MAX, &list))
        return;
    piece->areas = 0;
    while (piece->areas < AREAS_MAX && json_in_next_string(&list, area, sizeof area)) {
        if (area[0] == '\0' || strpbrk(area, "\n\t") != NULL)
            json_in_fail(in, "areas", "an area is a word or two on one line: front, back, rim");
        for (unsigned i = 0; i < piece->areas; i++) {
            if (strcmp(piece->area[i], area) == 0)
                json_in_fail(in, "areas", "\"%s\" is in the list twice: name each area once", area);
        }
        memcpy(piece->area[piece->areas++], area, sizeof area);
    }
}

static void read_place(struct work *work, int64_t *ret_place_id)
{
    if (json_in_id(&work->in, "place", JSON_NULLABLE, ret_place_id) && *ret_place_id != 0)
        work_known(work, &work->in, "place", &work_place, *ret_place_id);
}

static void read_piece(struct work *work, enum json_need need_of_name, struct piece *piece)
{
    struct json_in *in = &work->in;
    read_name(in, need_of_name, piece);
    json_in_old_finish(in, "old_finish", JSON_OPTIONAL, &piece->old_finish);
    read_areas(in, piece);
    json_in_number(in, "mass_kg", JSON_NULLABLE, LEAST_ABOVE_ZERO, MASS_MAX_KG, &piece->mass_kg);
    json_in_number(in, "wall_mm", JSON_NULLABLE, LEAST_ABOVE_ZERO, WALL_MAX_MM, &piece->wall_mm);
    json_in_string(in, "note", JSON_OPTIONAL, piece->note, sizeof piece->note);
}

static enum coat_result add_piece(struct work *work)
{
    int64_t id = 0;
    int64_t place_id = 0;
    struct piece piece = {
        .old_finish = OLD_FINISH_NOT_TESTED,
        .mass_kg = (double)NAN,
        .wall_mm = (double)NAN,
        .added_at = work->now_ms,
        .removed_at = MOMENT_NONE,
    };
    read_piece(work, JSON_REQUIRED, &piece);
    read_place(work, &place_id);
    if (json_in_close(&work->in) != COAT_OK)
        return work->error.code;
    enum coat_result result = shop_put_piece(work->shop, &work->write, &piece, place_id, &id, &work->error);
    work_made(work, id);
    return result;
}

static enum coat_result change_piece(struct work *work)
{
    int64_t id = 0;
    struct piece piece = *shop_piece(work->shop, work->id);
    read_piece(work, JSON_OPTIONAL, &piece);
    if (json_in_has(&work->in, "place"))
        json_in_fail(&work->in, "place", "a piece is moved by POST /api/v1/pieces/%" PRId64 "/moves", work->id);
    if (json_in_close(&work->in) != COAT_OK)
        return work->error.code;
    return shop_put_piece(work->shop, &work->write, &piece, 0, &id, &work->error);
}

static enum coat_result remove_piece(struct work *work)
{
    if (json_in_close(&work->in) != COAT_OK)
        return work->error.code;
    return shop_remove_piece(work->shop, &work->write, work->id, &work->error);
}

/* ---- moves ---- */

static enum coat_result show_moves(struct work *work)
{
    size_t count = 0;
    const struct move *moves = shop_moves(work->shop, &count);
    json_out_object(work->doc.out);
    json_put_array(work->doc.out, "items");
    for (size_t i = 0; i < count; i++) {
        if (moves[i].piece_id == work->id)
            doc_move(&work->doc, &moves[i]);
    }
    json_out_array_end(work->doc.out);
    json_out_object_end(work->doc.out);
    return COAT_OK;
}

static enum coat_result move_piece(struct work *work)
{
    int64_t id = 0;
    int64_t place_id = 0;
    int64_t at_ms = work->now_ms;
    if (json_in_id(&work->in, "place", JSON_REQUIRED, &place_id))
        work_known(work, &work->in, "place", &work_place, place_id);
    work_past(work, "at", &at_ms);
    if (json_in_close(&work->in) != COAT_OK)
        return work->error.code;
    enum coat_result result =
        shop_move_piece(work->shop, &work->write, work->id, place_id, at_ms, &id, &work->error);
    work_made(work, id);
    return result;
}

static enum coat_result show_move(struct work *work)
{
    size_t count = 0;
    const struct move *moves = shop_moves(work->shop, &count);
    for (size_t i = 0; i < count; i++) {
        if (moves[i].id == work->made[0]) {
            json_out_object(work->doc.out);
            doc_moved(&work->doc, &moves[i]);
            work_end_document(work);
            return COAT_OK;
        }
    }
    return COAT_STORE_FAILED;
}

/* ---- strips ---- */

static enum coat_result strip_piece(struct work *work)
{
    int64_t id = 0;
    struct stripping stripping = {.piece_id = work->id, .at = work->now_ms, .entered_at = work->now_ms};
    json_in_string(&work->in, "area", JSON_OPTIONAL, stripping.area, sizeof stripping.area);
    if (json_in_id(&work->in, "down_to", JSON_NULLABLE, &stripping.down_to_coat_id) && stripping.down_to_coat_id != 0)
        work_known(work, &work->in, "down_to", &work_coat, stripping.down_to_coat_id);
    work_past(work, "at", &stripping.at);
    if (json_in_close(&work->in) != COAT_OK)
        return work->error.code;
    enum coat_result result = shop_strip_piece(work->shop, &work->write, &stripping, &id, &work->error);
    work_made(work, id);
    return result;
}

static enum coat_result show_strip(struct work *work)
{
    size_t count = 0;
    const struct stripping *strippings = shop_strippings(work->shop, &count);
    for (size_t i = 0; i < count; i++) {
        if (strippings[i].id == work->made[0]) {
            doc_strip(&work->doc, &strippings[i]);
            return COAT_OK;
        }
    }
    return COAT_STORE_FAILED;
}

/* ---- handlers ---- */

void route_pieces_list(WORK_ARGUMENTS)
{
    work_read(context, request, response, NULL, show_pieces);
}

void route_piece_get(WORK_ARGUMENTS)
{
    work_read(context, request, response, &work_piece, show_piece);
}

void route_piece_add(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {201, NULL, add_piece, show_piece};
    work_write(context, request, response, &plan);
}

void route_piece_change(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {200, &work_piece, change_piece, show_piece};
    work_write(context, request, response, &plan);
}

void route_piece_remove(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {200, &work_piece, remove_piece, show_piece};
    work_write(context, request, response, &plan);
}

void route_moves_list(WORK_ARGUMENTS)
{
    work_read(context, request, response, &work_piece, show_moves);
}

void route_piece_move(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {201, &work_piece, move_piece, show_move};
    work_write(context, request, response, &plan);
}

void route_piece_strip(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {201, &work_piece, strip_piece, show_strip};
    work_write(context, request, response, &plan);
}
