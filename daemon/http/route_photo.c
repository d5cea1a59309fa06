/* Notes and photos of pieces. A photo comes as its own bytes, not as JSON, and goes out without anything but the picture. */
#include "coat/picture.h"
#include "daemon/http/routes.h"
#include "daemon/http/work.h"

#include <inttypes.h>
#include <stdlib.h>

static bool has_photo(const struct shop *shop, int64_t id)
{
    return shop_photo(shop, id) != NULL;
}

static const struct work_kind kind_photo = {"photo", "/api/v1/pieces/{id}/photos", has_photo};

/* ---- notes ---- */

static enum coat_result show_notes(struct work *work)
{
    json_out_object(work->doc.out);
    json_out_key(work->doc.out, "items");
    doc_piece_notes(&work->doc, work->id);
    json_out_object_end(work->doc.out);
    return COAT_OK;
}

static enum coat_result add_note(struct work *work)
{
    int64_t id = 0;
    struct piece_note note = {.piece_id = work->id, .at = work->now_ms};
    json_in_string(&work->in, "text", JSON_REQUIRED, note.text, sizeof note.text);
    work_past(work, "at", &note.at);
    if (json_in_close(&work->in) != COAT_OK)
        return work->error.code;
    enum coat_result result = shop_add_piece_note(work->shop, &work->write, &note, &id, &work->error);
    work_made(work, id);
    return result;
}

static enum coat_result show_note(struct work *work)
{
    size_t count = 0;
    const struct piece_note *notes = shop_piece_notes(work->shop, &count);
    for (size_t i = 0; i < count; i++) {
        if (notes[i].id != work->made[0])
            continue;
        doc_piece_note(&work->doc, &notes[i]);
        return COAT_OK;
    }
    return COAT_STORE_FAILED;
}

/* ---- photos ---- */

static enum coat_result show_photos(struct work *work)
{
    json_out_object(work->doc.out);
    json_out_key(work->doc.out, "items");
    doc_photos(&work->doc, work->id);
    json_out_object_end(work->doc.out);
    return COAT_OK;
}

static enum coat_result add_photo(struct work *work)
{
    int64_t id = 0;
    const struct http_request *request = work->request;
    const char *note = http_query(request, "note");
    enum coat_result result = shop_add_photo(work->shop, &work->write, work->id, request->body, request->body_length, note != NULL ? note : "", &id, &work->error);
    work_made(work, id);
    return result;
}

static enum coat_result show_photo(struct work *work)
{
    const struct photo *photo = shop_photo(work->shop, work_subject(work));
    if (photo == NULL)
        return coat_fail(&work->error, COAT_NOT_FOUND, "", "the photo was taken away again");
    if (work->response->status == 201)
        snprintf(work->response->location, sizeof work->response->location, "/api/v1/photos/%" PRId64, photo->id);
    doc_photo(&work->doc, photo);
    return COAT_OK;
}

/* Its number is never used again, so it is its own validator. */
static enum coat_result show_bytes(struct work *work)
{
    char tag[32];
    void *bytes = NULL;
    size_t length = 0;
    enum picture_kind kind = PICTURE_JPEG;
    snprintf(tag, sizeof tag, "photo-%" PRId64, work->id);
    if (http_not_modified(work->request, work->response, tag))
        return COAT_OK;
    enum coat_result result = shop_photo_bytes(work->shop, work->id, &bytes, &length, &work->error);
    if (result != COAT_OK)
        return result;
    if (picture_kind_from_type(shop_photo(work->shop, work->id)->type, &kind))
        work->response->content_type = picture_kind_type(kind);
    json_out_bytes(work->doc.out, bytes, length);
    free(bytes);
    return COAT_OK;
}

/* Read before it is gone. */
static enum coat_result remove_photo(struct work *work)
{
    if (json_in_close(&work->in) != COAT_OK)
        return work->error.code;
    return shop_remove_photo(work->shop, &work->write, work->id, &work->error);
}

static enum coat_result show_removed(struct work *work)
{
    json_out_object(work->doc.out);
    json_put_int(work->doc.out, "id", work->id);
    json_out_object_end(work->doc.out);
    return COAT_OK;
}

void route_notes_list(WORK_ARGUMENTS)
{
    work_read(context, request, response, &work_piece, show_notes);
}

void route_note_add(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {201, &work_piece, add_note, show_note};
    work_write(context, request, response, &plan);
}

void route_photos_list(WORK_ARGUMENTS)
{
    work_read(context, request, response, &work_piece, show_photos);
}

void route_photo_add(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {201, &work_piece, add_photo, show_photo};
    work_write(context, request, response, &plan);
}

void route_photo_get(WORK_ARGUMENTS)
{
    work_read(context, request, response, &kind_photo, show_bytes);
}

void route_photo_remove(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {200, &kind_photo, remove_photo, show_removed};
    work_write(context, request, response, &plan);
}
