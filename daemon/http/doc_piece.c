#include "daemon/http/doc.h"

#include <stdlib.h>

static bool is_in_use(const struct doc *doc, int64_t piece_id)
{
    const struct piece *piece = shop_piece(doc->shop, piece_id);
    return piece != NULL && piece->removed_at == MOMENT_NONE;
}

static bool is_wanted(const struct doc *doc, int64_t wanted, int64_t piece_id)
{
    if (wanted == COAT_LIST_ALL)
        return true;
    return wanted == COAT_LIST_IN_USE ? is_in_use(doc, piece_id) : piece_id == wanted;
}

enum coat_result coat_list_make(struct doc *doc, int64_t piece_id, struct coat_list *ret)
{
    size_t count = 0;
    const struct coat *coats = shop_coats(doc->shop, &count);
    ret->count = 0;
    ret->coat = malloc((count + 1) * sizeof *ret->coat);
    if (ret->coat == NULL)
        return COAT_NO_MEMORY;
    for (size_t i = 0; i < count; i++) {
        struct coat_view view;
        if (!is_wanted(doc, piece_id, coats[i].piece_id) || !shop_coat_view(doc->shop, coats[i].id, doc->now_ms, &view))
            continue;
        if (view.status == COAT_ON || view.status == COAT_COVERED)
            ret->coat[ret->count++] = (struct coat_on_piece){.coat_id = coats[i].id, .piece_id = coats[i].piece_id};
    }
    return COAT_OK;
}

void coat_list_free(struct coat_list *list)
{
    free(list->coat);
    *list = (struct coat_list){0};
}

static void write_areas(struct json_out *out, const struct piece *piece)
{
    json_put_array(out, "areas");
    for (unsigned i = 0; i < piece->areas; i++)
        json_out_string(out, piece->area[i]);
    json_out_array_end(out);
}

static void write_coat_numbers(struct json_out *out, int64_t piece_id, const struct coat_list *coats)
{
    json_put_array(out, "coats");
    for (size_t i = 0; i < coats->count; i++) {
        if (coats->coat[i].piece_id == piece_id)
            json_out_int(out, coats->coat[i].coat_id);
    }
    json_out_array_end(out);
}

#define MOVES_SHOWN 8

/* The newest of them, oldest first. */
static void write_moves(struct doc *doc, int64_t piece_id)
{
    size_t count = 0, mine = 0, n = 0;
    const struct move *moves = shop_moves(doc->shop, &count);
    for (size_t i = 0; i < count; i++)
        mine += moves[i].piece_id == piece_id;
    json_put_array(doc->out, "moves");
    for (size_t i = 0; i < count; i++) {
        if (moves[i].piece_id != piece_id || n++ + MOVES_SHOWN < mine)
            continue;
        json_out_object(doc->out);
        json_put_int(doc->out, "place", moves[i].place_id);
        json_put_moment(doc->out, "at", moves[i].at);
        json_out_object_end(doc->out);
    }
    json_out_array_end(doc->out);
}

void doc_piece(struct doc *doc, const struct piece *piece, const struct coat_list *coats)
{
    struct json_out *out = doc->out;
    json_out_object(out);
    json_put_int(out, "id", piece->id);
    json_put_string(out, "name", piece->name);
    json_put_id(out, "place", shop_piece_place(doc->shop, piece->id, doc->now_ms));
    json_put_string(out, "old_finish", old_finish_word(piece->old_finish));
    write_areas(out, piece);
    json_put_number(out, "mass_kg", piece->mass_kg, JSON_SHORTEST);
    json_put_number(out, "wall_mm", piece->wall_mm, JSON_SHORTEST);
    json_put_string(out, "note", piece->note);
    json_put_moment(out, "added_at", piece->added_at);
    json_put_moment(out, "removed_at", piece->removed_at);
    write_coat_numbers(out, piece->id, coats);
    write_moves(doc, piece->id);
    json_out_object_end(out);
}

void doc_rack(struct doc *doc, const struct rack *rack)
{
    struct json_out *out = doc->out;
    json_out_object(out);
    json_put_int(out, "id", rack->id);
    json_put_string(out, "name", rack->name);
    json_put_array(out, "pieces");
    for (unsigned i = 0; i < rack->pieces; i++)
        json_out_int(out, rack->piece_id[i]);
    json_out_array_end(out);
    json_put_moment(out, "added_at", rack->added_at);
    json_put_moment(out, "removed_at", rack->removed_at);
    json_out_object_end(out);
}

static void put_move(struct json_out *out, const struct move *move)
{
    json_put_int(out, "id", move->id);
    json_put_int(out, "piece", move->piece_id);
    json_put_int(out, "place", move->place_id);
    json_put_moment(out, "at", move->at);
    json_put_moment(out, "entered_at", move->entered_at);
}

void doc_move(struct doc *doc, const struct move *move)
{
    json_out_object(doc->out);
    put_move(doc->out, move);
    json_out_object_end(doc->out);
}

void doc_moved(struct doc *doc, const struct move *move)
{
    put_move(doc->out, move);
    doc_vapour_of_move(doc, move->piece_id);
}

/* Stripping frees what was in the old finish, so it carries the cautions of that. */
void doc_strip(struct doc *doc, const struct stripping *stripping)
{
    struct json_out *out = doc->out;
    struct caution_set cautions = {0};
    shop_cautions_for(doc->shop, CAUTION_FOR_STRIP, 0, stripping->piece_id,
                      shop_piece_place(doc->shop, stripping->piece_id, stripping->at), &cautions);
    json_out_object(out);
    json_put_int(out, "id", stripping->id);
    json_put_int(out, "piece", stripping->piece_id);
    json_put_string(out, "area", stripping->area);
    json_put_id(out, "down_to", stripping->down_to_coat_id);
    json_put_moment(out, "at", stripping->at);
    json_put_moment(out, "entered_at", stripping->entered_at);
    doc_caution_codes(doc, "cautions", &cautions);
    doc_caution_texts(doc, "caution_texts");
    json_out_object_end(out);
}
