/* The record of a piece: all that was done to it and what air it had, in one document, to keep or to hand on with the machine. */
#include "daemon/http/doc.h"

static void put_range(struct json_out *out, const char *key, double low, double mean, double high)
{
    json_put_object(out, key);
    json_put_number(out, "low", low, 2);
    json_put_number(out, "mean", mean, 2);
    json_put_number(out, "high", high, 2);
    json_out_object_end(out);
}

static void put_air_had(struct doc *doc, const struct coat_view *view)
{
    struct json_out *out = doc->out;
    struct air_had had;
    enum coat_result result = shop_air_had(doc->shop, view, doc->now_ms, &had);
    if (result != COAT_OK) {
        doc->failed = doc->failed != COAT_OK ? doc->failed : result;
        json_put_null(out, "air_had");
        return;
    }
    json_put_object(out, "air_had");
    json_put_moment(out, "from_at", had.from_at);
    json_put_moment(out, "to_at", had.to_at);
    json_put_bool(out, "cured", had.cured);
    put_range(out, "temp_c", had.temp_low_c, had.temp_mean_c, had.temp_high_c);
    put_range(out, "rh_pct", had.rh_low_pct, had.rh_mean_pct, had.rh_high_pct);
    json_put_number(out, "measured_h", had.measured_h, 2);
    json_put_number(out, "assumed_h", had.assumed_h, 2);
    json_out_object_end(out);
}

static bool put_entry(const struct coat *coat, void *context)
{
    doc_entry(context, coat);
    return true;
}

/* The sandings of a coat, oldest first. */
static void put_sandings(struct doc *doc, int64_t coat_id)
{
    size_t count = 0;
    const struct sanding *sandings = shop_sandings(doc->shop, &count);
    json_put_array(doc->out, "sandings");
    for (size_t i = 0; i < count; i++) {
        if (sandings[i].coat_id != coat_id)
            continue;
        json_out_object(doc->out);
        json_put_int(doc->out, "id", sandings[i].id);
        json_put_moment(doc->out, "at", sandings[i].at);
        json_put_moment(doc->out, "entered_at", sandings[i].entered_at);
        json_out_object_end(doc->out);
    }
    json_out_array_end(doc->out);
}

static void put_coat(struct doc *doc, const struct coat_view *view)
{
    json_out_object(doc->out);
    json_out_key(doc->out, "coat");
    doc_coat(doc, view);
    json_put_array(doc->out, "entries");
    enum coat_result result = shop_coat_entries(doc->shop, view->coat->id, put_entry, doc);
    json_out_array_end(doc->out);
    if (result != COAT_OK && doc->failed == COAT_OK)
        doc->failed = result;
    put_air_had(doc, view);
    put_sandings(doc, view->coat->id);
    json_out_object_end(doc->out);
}

/* By number, the struck ones too. */
static void put_coats(struct doc *doc, int64_t piece_id)
{
    size_t count = 0;
    const struct coat *coats = shop_coats(doc->shop, &count);
    json_put_array(doc->out, "coats");
    for (size_t i = 0; i < count; i++) {
        struct coat_view view;
        if (coats[i].piece_id == piece_id && shop_coat_view(doc->shop, coats[i].id, doc->now_ms, &view))
            put_coat(doc, &view);
    }
    json_out_array_end(doc->out);
}

static void put_moves(struct doc *doc, int64_t piece_id)
{
    size_t count = 0;
    const struct move *moves = shop_moves(doc->shop, &count);
    json_put_array(doc->out, "moves");
    for (size_t i = 0; i < count; i++) {
        if (moves[i].piece_id != piece_id)
            continue;
        const struct place *place = shop_place(doc->shop, moves[i].place_id);
        json_out_object(doc->out);
        json_put_int(doc->out, "id", moves[i].id);
        json_put_int(doc->out, "place", moves[i].place_id);
        json_put_string(doc->out, "place_name", place != NULL ? place->name : NULL);
        json_put_moment(doc->out, "at", moves[i].at);
        json_put_moment(doc->out, "entered_at", moves[i].entered_at);
        json_out_object_end(doc->out);
    }
    json_out_array_end(doc->out);
}

static void put_strippings(struct doc *doc, int64_t piece_id)
{
    size_t count = 0;
    const struct stripping *strippings = shop_strippings(doc->shop, &count);
    json_put_array(doc->out, "strippings");
    for (size_t i = 0; i < count; i++) {
        if (strippings[i].piece_id != piece_id)
            continue;
        json_out_object(doc->out);
        json_put_int(doc->out, "id", strippings[i].id);
        json_put_string(doc->out, "area", strippings[i].area);
        json_put_id(doc->out, "down_to", strippings[i].down_to_coat_id);
        json_put_moment(doc->out, "at", strippings[i].at);
        json_put_moment(doc->out, "entered_at", strippings[i].entered_at);
        json_out_object_end(doc->out);
    }
    json_out_array_end(doc->out);
}

/* What the old finish asks for stands in it even where no coat is on the piece yet. */
static void put_cautions(struct doc *doc, int64_t piece_id)
{
    struct caution_set cautions = {0};
    shop_cautions_for(doc->shop, CAUTION_FOR_STRIP, 0, piece_id, shop_piece_place(doc->shop, piece_id, doc->now_ms), &cautions);
    doc_caution_codes(doc, "cautions", &cautions);
}

void doc_record(struct doc *doc, const struct piece *piece, const struct coat_list *coats)
{
    json_put_moment(doc->out, "as_of_at", doc->now_ms);
    json_out_key(doc->out, "piece");
    doc_piece(doc, piece, coats);
    put_coats(doc, piece->id);
    put_moves(doc, piece->id);
    put_strippings(doc, piece->id);
    json_out_key(doc->out, "notes");
    doc_piece_notes(doc, piece->id);
    json_out_key(doc->out, "photos");
    doc_photos(doc, piece->id);
    put_cautions(doc, piece->id);
    doc_caution_texts(doc, "caution_texts");
}
