/* coat air import: a file of past readings. It is read twice: all of it is checked before the first piece is sent. */
#include "cli/air_file.h"
#include "cli/names.h"
#include "cli/say.h"

#include <stdlib.h>
#include <string.h>

#define PIECE_MOST 2000 /* readings in one request, as the API takes them */
#define NAME_MOST 63

struct import {
    struct cli *cli;
    struct air_file_terms terms;
    const cJSON *place;
    char name[NAME_MOST + 1];
    int64_t id; /* of the import under way; 0: none */
};

/* ---- what was asked ---- */

static int read_units(const struct cli *cli, struct air_file_terms *terms)
{
    const char *units = args_option(&cli->args, "--units");
    terms->units_told = units != NULL;
    if (units == NULL)
        return CLI_DONE;
    if (strcasecmp(units, "C") != 0 && strcasecmp(units, "F") != 0)
        return cli_fail(cli, CLI_USAGE, "--units: \"%.40s\" is neither C nor F", units);
    terms->units = strcasecmp(units, "C") == 0 ? TEMP_SCALE_C : TEMP_SCALE_F;
    return CLI_DONE;
}

static int read_zone(const struct cli *cli, struct air_file_terms *terms)
{
    const char *zone = args_option(&cli->args, "--zone");
    if (zone == NULL)
        return CLI_DONE;
    if (strcasecmp(zone, "local") != 0 && strcasecmp(zone, "UTC") != 0)
        return cli_fail(cli, CLI_USAGE, "--zone: \"%.40s\" is neither local nor UTC", zone);
    terms->zone = strcasecmp(zone, "UTC") == 0 ? AIR_ZONE_UTC : AIR_ZONE_LOCAL;
    return CLI_DONE;
}

/* "past/logger 2024.csv": "logger 2024". */
static void name_after_file(struct import *import)
{
    const char *slash = strrchr(import->terms.path, '/');
    const char *base = slash != NULL ? slash + 1 : import->terms.path;
    const char *point = strrchr(base, '.');
    size_t length = point != NULL && point > base ? (size_t)(point - base) : strlen(base);
    snprintf(import->name, sizeof import->name, "%.*s", (int)(length < NAME_MOST ? length : NAME_MOST), base);
}

static int read_terms(struct import *import)
{
    struct cli *cli = import->cli;
    const char *name = args_option(&cli->args, "--name");
    import->terms.path = cli->args.argument[0];
    import->terms.column[AIR_COLUMN_TIME] = args_option(&cli->args, "--time");
    import->terms.column[AIR_COLUMN_TEMP] = args_option(&cli->args, "--temp");
    import->terms.column[AIR_COLUMN_RH] = args_option(&cli->args, "--humidity");
    if (args_option(&cli->args, "--place") == NULL)
        return cli_fail(cli, CLI_USAGE, "whose air was it? Write --place PLACE");
    if (name != NULL && (name[0] == '\0' || strlen(name) > NAME_MOST))
        return cli_fail(cli, CLI_USAGE, "--name: 1 to %d bytes will do", NAME_MOST);
    if (name != NULL)
        snprintf(import->name, sizeof import->name, "%s", name);
    else
        name_after_file(import);
    int status = read_units(cli, &import->terms);
    return status == CLI_DONE ? read_zone(cli, &import->terms) : status;
}

static int find_place(struct import *import)
{
    struct cli *cli = import->cli;
    int status = cli_open_shop(cli);
    if (status == CLI_DONE)
        status = names_find(cli, NAME_PLACE, args_option(&cli->args, "--place"), &import->place);
    if (status != CLI_DONE)
        return status;
    import->terms.now_ms = cli->now_ms;
    (void)place_kind_from_word(doc_text(import->place, "kind"), &import->terms.place_kind); /* a room where it is none we know */
    return CLI_DONE;
}

/* ---- reading it through ---- */

static int check_file(struct import *import, struct air_file *file)
{
    struct coat_error error = {0};
    struct reading reading;
    bool more = true;
    enum coat_result result = air_file_open(file, &import->terms, &error);
    while (result == COAT_OK && more)
        result = air_file_next(file, &reading, &more, &error);
    air_file_close(file);
    if (result != COAT_OK)
        return cli_fail_error(import->cli, &error);
    if (file->summary.count == 0)
        return cli_fail(import->cli, CLI_USAGE, "%.80s: no reading stands in it", import->terms.path);
    return CLI_DONE;
}

/* ---- sending ---- */

static void add_item(cJSON *items, const struct reading *reading)
{
    char at[MOMENT_TEXT_SIZE];
    cJSON *item = cJSON_CreateObject();
    cJSON_AddStringToObject(item, "at", moment_print(reading->at_ms, at));
    if (reading->temp_mc != READING_NONE)
        cJSON_AddNumberToObject(item, "temp_c", reading->temp_mc / 1000.0);
    if (reading->rh_mp != READING_NONE)
        cJSON_AddNumberToObject(item, "rh_pct", reading->rh_mp / 1000.0);
    cJSON_AddItemToArray(items, item);
}

/* Up to PIECE_MOST readings into a body; *ret_count of them. */
static enum coat_result fill_piece(struct air_file *file, cJSON *body, unsigned *ret_count, struct coat_error *error)
{
    cJSON *items = cJSON_AddArrayToObject(body, "items");
    struct reading reading;
    bool more = true;
    for (*ret_count = 0; *ret_count < PIECE_MOST; (*ret_count)++) {
        enum coat_result result = air_file_next(file, &reading, &more, error);
        if (result != COAT_OK || !more)
            return result;
        add_item(items, &reading);
    }
    return COAT_OK;
}

static int send_pieces(struct import *import, struct air_file *file)
{
    struct coat_error error = {0};
    for (;;) {
        unsigned count = 0;
        cJSON *body = cJSON_CreateObject();
        enum coat_result result = fill_piece(file, body, &count, &error);
        if (result != COAT_OK || count == 0) {
            cJSON_Delete(body);
            return result == COAT_OK ? CLI_DONE : cli_fail_error(import->cli, &error);
        }
        int status = cli_send(import->cli, "POST", body, "/imports/%lld/readings", (long long)import->id);
        if (status != CLI_DONE)
            return status;
    }
}

static int begin(struct import *import)
{
    cJSON *body = cJSON_CreateObject();
    doc_put_number(body, "place", (double)doc_id(import->place, "id"));
    doc_put_text(body, "name", import->name);
    int status = cli_send(import->cli, "POST", body, "/imports");
    if (status == CLI_DONE)
        import->id = doc_id(import->cli->reply.document, "id");
    return status;
}

/* Nothing half imported may stay; what cannot be told now the service drops at its next start. The error was told already. */
static void drop(struct import *import)
{
    char path[64];
    struct reply reply = {0};
    cJSON *body = cJSON_CreateObject();
    snprintf(path, sizeof path, "/api/v1/imports/%lld", (long long)import->id);
    (void)client_ask(&import->cli->client, "DELETE", path, body, &reply);
    reply_free(&reply);
    cJSON_Delete(body);
}

static int send_file(struct import *import, struct air_file *file, unsigned long checked)
{
    struct coat_error error = {0};
    int status = begin(import);
    if (status != CLI_DONE)
        return status;
    if (air_file_open(file, &import->terms, &error) == COAT_OK)
        status = send_pieces(import, file);
    else
        status = cli_fail_error(import->cli, &error);
    air_file_close(file);
    if (status == CLI_DONE && file->summary.count != checked)
        status = cli_fail(import->cli, CLI_REFUSED, "%.80s changed while it was read: import it again", import->terms.path);
    if (status == CLI_DONE)
        status = cli_send(import->cli, "POST", NULL, "/imports/%lld/finish", (long long)import->id);
    if (status != CLI_DONE)
        drop(import);
    return status;
}

/* ---- telling ---- */

static void say_quantity_read(struct cli *cli, struct text *text, const struct air_file *file, enum air_quantity quantity)
{
    const struct air_summary *summary = &file->summary;
    enum air_column column = quantity == AIR_TEMP ? AIR_COLUMN_TEMP : AIR_COLUMN_RH;
    enum quantity kind = quantity == AIR_TEMP ? QUANTITY_TEMPERATURE : QUANTITY_SHARE;
    if (file->column[column] == AIR_COLUMN_NONE) {
        text_add(text, " No column is the %s.", air_quantity_word(quantity));
        return;
    }
    text_add(text, " %s from \"%s\"", quantity == AIR_TEMP ? "Temperature" : "Humidity", file->name[column]);
    if (quantity == AIR_TEMP && file->scale_known)
        text_add(text, " in %s", temp_scale_word(file->scale));
    if (summary->measured[quantity] == 0) {
        text_add(text, ": empty.");
        return;
    }
    text_add(text, ": ");
    say_quantity(cli, text, kind, summary->low[quantity] / 1000.0);
    text_add(text, " to ");
    say_quantity(cli, text, kind, summary->high[quantity] / 1000.0);
    if (summary->measured[quantity] < summary->count)
        text_add(text, ", missing in %lu", summary->count - summary->measured[quantity]);
    text_add(text, ".");
}

static void say_summary(struct cli *cli, const struct air_file *file)
{
    struct text text = {0};
    const struct air_summary *summary = &file->summary;
    char first[WHEN_TEXT_SIZE], last[WHEN_TEXT_SIZE];
    text_add(&text, "%lu reading%s from %s to %s.", summary->count, summary->count == 1 ? "" : "s",
             when_print(summary->first_ms, cli->now_ms, first), when_print(summary->last_ms, cli->now_ms, last));
    say_quantity_read(cli, &text, file, AIR_TEMP);
    say_quantity_read(cli, &text, file, AIR_RH);
    if (summary->empty > 0)
        text_add(&text, " %lu row%s without a value.", summary->empty, summary->empty == 1 ? "" : "s");
    if (summary->twice > 0)
        text_add(&text, " %lu times came twice when the clocks went back: taken in the order of the file.", summary->twice);
    render_text(&cli->out, 0, 0, text.data);
}

static void say_dry_json(struct cli *cli, const struct air_summary *summary)
{
    char first[MOMENT_TEXT_SIZE], last[MOMENT_TEXT_SIZE];
    fprintf(cli->out.out, "{\"count\":%lu,\"empty\":%lu,\"first_at\":\"%s\",\"last_at\":\"%s\",\"finished\":false}\n", summary->count,
            summary->empty, moment_print(summary->first_ms, first), moment_print(summary->last_ms, last));
}

static void say_imported(struct import *import, const struct air_file *file)
{
    struct text text = {0};
    struct cli *cli = import->cli;
    text_add(&text, "%s: imported as \"%s\".", doc_text(import->place, "name"), import->name);
    render_text(&cli->out, 0, 0, text.data);
    say_summary(cli, file);
}

static int import_file(struct import *import, struct air_file *file)
{
    struct cli *cli = import->cli;
    bool dry = args_option(&cli->args, "--dry-run") != NULL;
    int status = check_file(import, file);
    unsigned long checked = file->summary.count;
    if (status == CLI_DONE && !dry)
        status = send_file(import, file, checked);
    if (status != CLI_DONE || (!dry && cli_said_json(cli)))
        return status;
    if (dry && cli->json)
        say_dry_json(cli, &file->summary);
    else if (dry)
        say_summary(cli, file);
    else
        say_imported(import, file);
    if (dry && !cli->json)
        render_text(&cli->out, 0, 0, "All of it can be read. Nothing was sent.");
    return CLI_DONE;
}

int cmd_air_import(struct cli *cli)
{
    struct import import = {.cli = cli, .terms = {.place_kind = PLACE_ROOM}};
    int status = read_terms(&import);
    if (status == CLI_DONE)
        status = find_place(&import);
    if (status != CLI_DONE)
        return status;
    struct air_file *file = calloc(1, sizeof *file); /* a record of it is large for a stack */
    if (file == NULL)
        return cli_fail(cli, CLI_NO_DAEMON, "out of memory");
    status = import_file(&import, file);
    free(file);
    return status;
}
