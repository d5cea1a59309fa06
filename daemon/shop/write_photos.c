/* Notes and photos of pieces. */
#include "coat/picture.h"
#include "coat/shop_record.h"
#include "daemon/shop/write.h"

#include <stdio.h>
#include <stdlib.h>

/* ---- notes ---- */

static enum coat_result check_note_room(const struct shop *shop, int64_t piece_id, struct coat_error *error)
{
    unsigned count = 0;
    for (size_t i = 0; i < shop->piece_notes.count; i++)
        count += shop->piece_notes.item[i].piece_id == piece_id;
    if (count < PIECE_NOTES_MAX)
        return COAT_OK;
    return coat_fail(error, COAT_CONFLICT, "", "the piece has %u notes: no more are kept of one piece", count);
}

static enum coat_result check_piece_note(const struct shop *shop, int64_t now_ms, struct piece_note *note, struct coat_error *error)
{
    const struct piece *piece = NULL;
    enum coat_result result = check_piece(shop, "piece", note->piece_id, &piece, error);
    if (result == COAT_OK)
        result = check_text("text", note->text, sizeof note->text, error);
    if (result == COAT_OK && note->text[0] == '\0')
        result = coat_fail(error, COAT_BAD_VALUE, "text", "it is empty: write what was seen or done");
    if (result == COAT_OK)
        result = check_moment("at", note->at, now_ms, error);
    return result == COAT_OK ? check_note_room(shop, note->piece_id, error) : result;
}

static enum coat_result record_note(struct shop *shop, const struct shop_write *write, struct piece_note *note, struct coat_error *error)
{
    int64_t id = 0;
    enum coat_result result = write_begin(shop, error);
    if (result != COAT_OK)
        return result;
    result = store_piece_note_add(shop->store, note, &id);
    if (result != COAT_OK)
        return write_undone(shop, result, error);
    note->id = id;
    return write_commit(shop, write, &id, 1, error);
}

enum coat_result shop_add_piece_note(struct shop *shop, const struct shop_write *write, const struct piece_note *note, int64_t *ret_id,
                                     struct coat_error *error)
{
    struct piece_note wanted = *note;
    wanted.id = 0;
    wanted.entered_at = write->now_ms;
    enum coat_result result = check_piece_note(shop, write->now_ms, &wanted, error);
    if (result == COAT_OK && !LIST_RESERVE(&shop->piece_notes))
        result = write_failed(COAT_NO_MEMORY, error);
    if (result == COAT_OK)
        result = record_note(shop, write, &wanted, error);
    if (result != COAT_OK)
        return result;
    LIST_PUSH(&shop->piece_notes, wanted);
    *ret_id = wanted.id;
    return write_settle(shop, write, COAT_OK, error);
}

const struct piece_note *shop_piece_notes(const struct shop *shop, size_t *ret_count)
{
    *ret_count = shop->piece_notes.count;
    return shop->piece_notes.item;
}

/* ---- photos ---- */

static enum coat_result check_photo(const struct shop *shop, struct photo *photo, struct coat_error *error)
{
    const struct piece *piece = NULL;
    unsigned count = 0;
    enum coat_result result = check_piece(shop, "piece", photo->piece_id, &piece, error);
    if (result == COAT_OK)
        result = check_text("note", photo->note, sizeof photo->note, error);
    for (size_t i = 0; i < shop->photos.count; i++)
        count += shop->photos.item[i].piece_id == photo->piece_id;
    if (result == COAT_OK && count >= PIECE_PHOTOS_MAX)
        return coat_fail(error, COAT_CONFLICT, "", "%s has %u photos: take one away first", piece->name, count);
    return result;
}

static enum coat_result record_photo(struct shop *shop, const struct shop_write *write, struct photo *photo, const void *bytes, struct coat_error *error)
{
    int64_t id = 0;
    enum coat_result result = write_begin(shop, error);
    if (result != COAT_OK)
        return result;
    result = store_photo_add(shop->store, photo, bytes, &id);
    if (result != COAT_OK)
        return write_undone(shop, result, error);
    photo->id = id;
    return write_commit(shop, write, &id, 1, error);
}

/* *ret_clean is to be freed by the caller, whatever comes of it. */
static enum coat_result strip_photo(const void *bytes, size_t length, struct photo *photo, uint8_t **ret_clean, struct coat_error *error)
{
    struct picture picture = {.length = 0};
    uint8_t *clean = malloc(length + PICTURE_ROOM);
    if (clean == NULL)
        return write_failed(COAT_NO_MEMORY, error);
    *ret_clean = clean;
    enum coat_result result = picture_strip(bytes, length, clean, length + PICTURE_ROOM, &picture, error);
    if (result != COAT_OK)
        return result;
    snprintf(photo->type, sizeof photo->type, "%s", picture_kind_type(picture.kind));
    photo->width = picture.width;
    photo->height = picture.height;
    photo->length = (int64_t)picture.length;
    return COAT_OK;
}

enum coat_result shop_add_photo(struct shop *shop, const struct shop_write *write, int64_t piece_id, const void *bytes, size_t length,
                                const char *note, int64_t *ret_id, struct coat_error *error)
{
    uint8_t *clean = NULL;
    struct photo photo = {.piece_id = piece_id, .entered_at = write->now_ms};
    if (strlen(note) >= sizeof photo.note)
        return coat_fail(error, COAT_BAD_VALUE, "note", "it is too long: at most %zu bytes", sizeof photo.note - 1);
    snprintf(photo.note, sizeof photo.note, "%s", note);
    enum coat_result result = check_photo(shop, &photo, error);
    if (result == COAT_OK)
        result = strip_photo(bytes, length, &photo, &clean, error);
    if (result == COAT_OK && !LIST_RESERVE(&shop->photos))
        result = write_failed(COAT_NO_MEMORY, error);
    if (result == COAT_OK)
        result = record_photo(shop, write, &photo, clean, error);
    free(clean);
    if (result != COAT_OK)
        return result;
    LIST_PUSH(&shop->photos, photo);
    *ret_id = photo.id;
    return write_settle(shop, write, COAT_OK, error);
}

static size_t photo_index(const struct shop *shop, int64_t id)
{
    for (size_t i = 0; i < shop->photos.count; i++)
        if (shop->photos.item[i].id == id)
            return i;
    return SIZE_MAX;
}

static enum coat_result drop_photo(struct shop *shop, const struct shop_write *write, int64_t id, struct coat_error *error)
{
    enum coat_result result = write_begin(shop, error);
    if (result != COAT_OK)
        return result;
    result = store_photo_drop(shop->store, id);
    return result == COAT_OK ? write_commit(shop, write, &id, 1, error) : write_undone(shop, result, error);
}

enum coat_result shop_remove_photo(struct shop *shop, const struct shop_write *write, int64_t id, struct coat_error *error)
{
    size_t index = photo_index(shop, id);
    if (index == SIZE_MAX)
        return coat_fail(error, COAT_NOT_FOUND, "", "there is no photo %lld", (long long)id);
    enum coat_result result = drop_photo(shop, write, id, error);
    if (result != COAT_OK)
        return result;
    struct photo *item = shop->photos.item;
    memmove(&item[index], &item[index + 1], (shop->photos.count - index - 1) * sizeof *item);
    shop->photos.count--;
    return write_settle(shop, write, COAT_OK, error);
}

const struct photo *shop_photos(const struct shop *shop, size_t *ret_count)
{
    *ret_count = shop->photos.count;
    return shop->photos.item;
}

const struct photo *shop_photo(const struct shop *shop, int64_t id)
{
    size_t index = photo_index(shop, id);
    return index != SIZE_MAX ? &shop->photos.item[index] : NULL;
}

enum coat_result shop_photo_bytes(struct shop *shop, int64_t id, void **ret_bytes, size_t *ret_length, struct coat_error *error)
{
    enum coat_result result = store_photo_bytes(shop->store, id, ret_bytes, ret_length);
    return result == COAT_OK ? COAT_OK : coat_fail(error, result, "", "the photo cannot be read: %s", coat_result_text(result));
}
