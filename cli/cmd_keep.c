/* Notes and photos of a piece. */
#include "cli/say.h"
#include "coat/picture.h"

#include <errno.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static int find_piece(struct cli *cli, int64_t *ret_id)
{
    int status = cli_open_shop(cli);
    return status == CLI_DONE ? names_find_id(cli, NAME_PIECE, cli->args.argument[0], ret_id) : status;
}

/* ---- notes ---- */

static int list_notes(struct cli *cli, int64_t piece_id)
{
    const cJSON *note = NULL;
    int status = cli_get(cli, "/pieces/%" PRId64 "/notes", piece_id);
    if (status != CLI_DONE || cli_said_json(cli))
        return status;
    struct table *table = table_new(2, 0, 0);
    cJSON_ArrayForEach(note, doc_get(cli->reply.document, "items"))
    {
        struct text when = {0};
        say_moment(cli, &when, doc_moment(note, "at"));
        table_row(table, VOICE_HEAD, (const char *[]){when.data, doc_text(note, "text")});
    }
    table_print(&cli->out, table);
    if (doc_count(cli->reply.document, "items") == 0)
        render_text(&cli->out, 0, 0, "No note on it yet: coat piece note PIECE \"blasted\"");
    return CLI_DONE;
}

int cmd_piece_note(struct cli *cli)
{
    int64_t id = 0;
    struct text text = {0};
    int status = find_piece(cli, &id);
    if (status == CLI_DONE && cli->args.count == 1)
        return list_notes(cli, id);
    if (status != CLI_DONE)
        return status;
    cJSON *body = cJSON_CreateObject();
    doc_put_text(body, "text", cli->args.argument[1]);
    status = cli_add_fields(cli, body);
    status = cli_send_filled(cli, status, "POST", body, "/pieces/%" PRId64 "/notes", id);
    if (status != CLI_DONE || cli_said_json(cli))
        return status;
    text_add(&text, "Noted: %s", doc_text(cli->reply.document, "text"));
    render_text(&cli->out, 0, 4, text.data);
    return CLI_DONE;
}

/* ---- photos ---- */

/* "%XX" but for letters and digits. */
static void add_escaped(struct text *text, const char *value)
{
    for (; *value != '\0'; value++) {
        unsigned char byte = (unsigned char)*value;
        bool plain = (byte >= '0' && byte <= '9') || ((byte | 0x20) >= 'a' && (byte | 0x20) <= 'z');
        text_add(text, plain ? "%c" : "%%%02X", byte);
    }
}

/* What is read of a file, and what is left of it to send. */
struct photo_file {
    uint8_t *read, *clean;
    size_t length;
    struct picture picture;
};

static void photo_file_free(struct photo_file *file)
{
    free(file->read);
    free(file->clean);
}

static int read_photo(const struct cli *cli, const char *name, struct photo_file *file)
{
    file->read = malloc(PICTURE_BYTES_MAX + 1);
    file->clean = malloc(PICTURE_BYTES_MAX + PICTURE_ROOM);
    if (file->read == NULL || file->clean == NULL)
        return cli_fail(cli, CLI_REFUSED, "out of memory");
    FILE *in = fopen(name, "rbe");
    if (in == NULL)
        return cli_fail(cli, CLI_USAGE, "%.200s cannot be read: %s", name, strerror(errno));
    file->length = fread(file->read, 1, PICTURE_BYTES_MAX + 1, in);
    bool failed = ferror(in) != 0;
    fclose(in);
    return failed ? cli_fail(cli, CLI_USAGE, "%.200s cannot be read to its end", name) : CLI_DONE;
}

/* Cleaned here already: where it was taken does not even leave this program. */
static int send_photo(struct cli *cli, int64_t piece_id, const char *name)
{
    struct photo_file file = {0};
    struct text note = {0};
    struct coat_error error = {0};
    int status = read_photo(cli, name, &file);
    if (status == CLI_DONE && picture_strip(file.read, file.length, file.clean, PICTURE_BYTES_MAX + PICTURE_ROOM, &file.picture, &error) != COAT_OK)
        status = cli_fail(cli, CLI_USAGE, "%.200s: %s", name, error.text);
    if (args_option(&cli->args, "--note") != NULL)
        add_escaped(&note, args_option(&cli->args, "--note"));
    if (status == CLI_DONE)
        status = cli_send_picture(cli, picture_kind_type(file.picture.kind), file.clean, file.picture.length, "/pieces/%" PRId64 "/photos%s%s", piece_id,
                                  note.length > 0 ? "?note=" : "", note.data);
    photo_file_free(&file);
    if (status != CLI_DONE || cli_said_json(cli))
        return status;
    struct text text = {0};
    text_add(&text, "Photo %" PRId64 " kept, without where, when and by whom it was taken.", doc_id(cli->reply.document, "id"));
    render_text(&cli->out, 0, 4, text.data);
    return CLI_DONE;
}

static int list_photos(struct cli *cli, int64_t piece_id)
{
    const cJSON *photo = NULL;
    int status = cli_get(cli, "/pieces/%" PRId64 "/photos", piece_id);
    if (status != CLI_DONE || cli_said_json(cli))
        return status;
    struct table *table = table_new(3, 0, 0);
    cJSON_ArrayForEach(photo, doc_get(cli->reply.document, "items"))
    {
        struct text number = {0}, when = {0};
        text_add(&number, "%" PRId64, doc_id(photo, "id"));
        say_moment(cli, &when, doc_moment(photo, "entered_at"));
        table_row(table, VOICE_HEAD, (const char *[]){number.data, when.data, doc_text(photo, "note")});
    }
    table_print(&cli->out, table);
    if (doc_count(cli->reply.document, "items") == 0)
        render_text(&cli->out, 0, 0, "No photo of it yet: coat piece photo PIECE FILE");
    return CLI_DONE;
}

static int remove_photo(struct cli *cli, int64_t piece_id, const char *number)
{
    int status = cli_get(cli, "/pieces/%" PRId64 "/photos", piece_id);
    if (status != CLI_DONE)
        return status;
    if (doc_by_id(doc_get(cli->reply.document, "items"), cli_number(number)) == NULL)
        return cli_fail(cli, CLI_USAGE, "%s has no photo \"%.20s\": coat piece photo PIECE lists their numbers", cli->args.argument[0], number);
    status = cli_send(cli, "DELETE", NULL, "/photos/%s", number);
    if (status == CLI_DONE && !cli_said_json(cli))
        render_text(&cli->out, 0, 4, "It is gone for good.");
    return status;
}

int cmd_piece_photo(struct cli *cli)
{
    int64_t id = 0;
    const char *gone = args_option(&cli->args, "--remove");
    int status = find_piece(cli, &id);
    if (status != CLI_DONE)
        return status;
    if (gone != NULL && cli->args.count == 2)
        return cli_fail(cli, CLI_USAGE, "either a photo to add or one to take away");
    if (gone != NULL)
        return remove_photo(cli, id, gone);
    return cli->args.count == 2 ? send_photo(cli, id, cli->args.argument[1]) : list_photos(cli, id);
}
