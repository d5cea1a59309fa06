/* Notes and photos of pieces. */
#include "daemon/http/doc.h"

void doc_piece_note(struct doc *doc, const struct piece_note *note)
{
    json_out_object(doc->out);
    json_put_int(doc->out, "id", note->id);
    json_put_string(doc->out, "text", note->text);
    json_put_moment(doc->out, "at", note->at);
    json_put_moment(doc->out, "entered_at", note->entered_at);
    json_out_object_end(doc->out);
}

void doc_piece_notes(struct doc *doc, int64_t piece_id)
{
    size_t count = 0;
    const struct piece_note *notes = shop_piece_notes(doc->shop, &count);
    json_out_array(doc->out);
    for (size_t i = 0; i < count; i++) {
        if (notes[i].piece_id == piece_id)
            doc_piece_note(doc, &notes[i]);
    }
    json_out_array_end(doc->out);
}

void doc_photo(struct doc *doc, const struct photo *photo)
{
    json_out_object(doc->out);
    json_put_int(doc->out, "id", photo->id);
    json_put_string(doc->out, "type", photo->type);
    json_put_int(doc->out, "width", photo->width);
    json_put_int(doc->out, "height", photo->height);
    json_put_int(doc->out, "bytes", photo->length);
    json_put_string(doc->out, "note", photo->note);
    json_put_moment(doc->out, "entered_at", photo->entered_at);
    json_out_object_end(doc->out);
}

void doc_photos(struct doc *doc, int64_t piece_id)
{
    size_t count = 0;
    const struct photo *photos = shop_photos(doc->shop, &count);
    json_out_array(doc->out);
    for (size_t i = 0; i < count; i++) {
        if (photos[i].piece_id == piece_id)
            doc_photo(doc, &photos[i]);
    }
    json_out_array_end(doc->out);
}
