/* Photos and notes of pieces. */
#include "daemon/store/internal.h"

#include <stdlib.h>
#include <string.h>

#define NO_WORDS 0

#define PIECE_NOTE(X)                                                                                      \
    X(piece_note, INT, piece_id, NO_WORDS) X(piece_note, TEXT, text, NO_WORDS) X(piece_note, INT, at, NO_WORDS) \
    X(piece_note, INT, entered_at, NO_WORDS)

#define PHOTO(X)                                                                                           \
    X(photo, INT, piece_id, NO_WORDS) X(photo, TEXT, type, NO_WORDS) X(photo, INT, width, NO_WORDS)         \
    X(photo, INT, height, NO_WORDS) X(photo, INT, length, NO_WORDS) X(photo, TEXT, note, NO_WORDS)          \
    X(photo, INT, entered_at, NO_WORDS)

static const struct column note_columns[] = {COLUMN_ID(piece_note) PIECE_NOTE(COLUMN_ENTRY)};
static const struct column photo_columns[] = {COLUMN_ID(photo) PHOTO(COLUMN_ENTRY)};

static const struct record note_record = RECORD_OF(note_columns);
static const struct record photo_record = RECORD_OF(photo_columns);

const struct statement_text photo_statements[] = {
    {PIECE_NOTE_ADD, "INSERT INTO piece_note (id" PIECE_NOTE(COLUMN_NAME) ") VALUES (:id" PIECE_NOTE(COLUMN_PARAMETER) ")"},
    {PIECE_NOTE_LIST, "SELECT id" PIECE_NOTE(COLUMN_NAME) " FROM piece_note ORDER BY id"},
    {PHOTO_ADD, "INSERT INTO photo (id, bytes" PHOTO(COLUMN_NAME) ") VALUES (:id, :bytes" PHOTO(COLUMN_PARAMETER) ")"},
    {PHOTO_LIST, "SELECT id" PHOTO(COLUMN_NAME) " FROM photo ORDER BY id"},
    {PHOTO_BYTES, "SELECT bytes FROM photo WHERE id = :id"},
    {PHOTO_DROP, "DELETE FROM photo WHERE id = :id"},
    {0, NULL},
};

enum coat_result store_piece_note_add(struct store *store, const struct piece_note *note, int64_t *ret_id)
{
    return add_record(store, PIECE_NOTE_ADD, &note_record, note, ret_id);
}

enum coat_result store_piece_notes(struct store *store, bool (*each)(const struct piece_note *, void *), void *context)
{
    struct statement *s = statement_use(store, PIECE_NOTE_LIST);
    struct piece_note note;
    while (statement_row(s) && take_record(s, &note_record, &note) && each(&note, context))
        ;
    return statement_end(s);
}

enum coat_result store_photo_add(struct store *store, const struct photo *photo, const void *bytes, int64_t *ret_id)
{
    assert(store->in_transaction && photo->length > 0);
    struct statement *s = statement_use(store, PHOTO_ADD);
    bind_record(s, &photo_record, photo);
    bind_ref(s, ":id", 0); /* the file gives the number */
    bind_blob(s, ":bytes", bytes, (size_t)photo->length);
    return statement_run_add(s, ret_id);
}

enum coat_result store_photos(struct store *store, bool (*each)(const struct photo *, void *), void *context)
{
    struct statement *s = statement_use(store, PHOTO_LIST);
    struct photo photo;
    while (statement_row(s) && take_record(s, &photo_record, &photo) && each(&photo, context))
        ;
    return statement_end(s);
}

/* A copy: what the statement shows is gone when it ends. */
static enum coat_result copy_blob(sqlite3_stmt *row, void **ret_bytes, size_t *ret_length)
{
    const void *bytes = sqlite3_column_blob(row, 0);
    size_t length = (size_t)sqlite3_column_bytes(row, 0);
    void *copy = bytes != NULL && length > 0 ? malloc(length) : NULL;
    if (copy == NULL)
        return COAT_NO_MEMORY;
    memcpy(copy, bytes, length);
    *ret_bytes = copy;
    *ret_length = length;
    return COAT_OK;
}

enum coat_result store_photo_bytes(struct store *store, int64_t photo_id, void **ret_bytes, size_t *ret_length)
{
    void *bytes = NULL;
    size_t length = 0;
    struct statement *s = statement_use(store, PHOTO_BYTES);
    bind_int(s, ":id", photo_id);
    enum coat_result copied = statement_row(s) ? copy_blob(s->handle, &bytes, &length) : COAT_NOT_FOUND;
    enum coat_result result = statement_end(s);
    if (result == COAT_OK)
        result = copied;
    if (result != COAT_OK) {
        free(bytes);
        return result;
    }
    *ret_bytes = bytes;
    *ret_length = length;
    return COAT_OK;
}

enum coat_result store_photo_drop(struct store *store, int64_t photo_id)
{
    assert(store->in_transaction);
    struct statement *s = statement_use(store, PHOTO_DROP);
    bind_int(s, ":id", photo_id);
    enum coat_result result = statement_run_on_row(s);
    if (result == COAT_OK)
        store->scrub_due = true;
    return result;
}
