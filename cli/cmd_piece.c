#include "cli/say.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* "front, back": an array of texts. */
static int add_areas(const struct cli *cli, cJSON *body)
{
    const char *text = args_option(&cli->args, "--areas");
    if (text == NULL)
        return CLI_DONE;
    char *copy = strdup(text);
    if (copy == NULL)
        return cli_fail(cli, CLI_REFUSED, "out of memory");
    cJSON *areas = cJSON_CreateArray();
    char *rest = copy;
    for (char *area = strsep(&rest, ","); area != NULL; area = strsep(&rest, ",")) {
        area += strspn(area, " ");
        size_t length = strlen(area);
        while (length > 0 && area[length - 1] == ' ')
            area[--length] = '\0';
        if (length > 0)
            cJSON_AddItemToArray(areas, cJSON_CreateString(area));
    }
    doc_put(body, "areas", areas);
    free(copy);
    return CLI_DONE;
}

static int add_options(struct cli *cli, cJSON *body)
{
    const char *place = args_option(&cli->args, "--place");
    int64_t place_id = 0;
    int status = cli_add_fields(cli, body);
    if (status == CLI_DONE)
        status = add_areas(cli, body);
    if (status == CLI_DONE && place != NULL) {
        status = names_find_id(cli, NAME_PLACE, place, &place_id);
        doc_put_number(body, "place", (double)place_id);
    }
    return status;
}

static void say_entered(struct cli *cli, const cJSON *piece, const char *what)
{
    struct text text = {0};
    text_add(&text, "%s %s", doc_text(piece, "name"), what);
    if (doc_id(piece, "place") != 0 && doc_get(piece, "removed_at") == NULL)
        text_add(&text, ", hangs in %s", names_of(cli, "places", doc_id(piece, "place"), "a place out of use"));
    text_add(&text, "; old finish %s%s", doc_text(piece, "old_finish"),
             doc_is(piece, "old_finish", "not tested") ? ": counts as lead" : "");
    render_text(&cli->out, 0, 4, text.data);
}

static int write_piece(struct cli *cli, int filled, const char *method, cJSON *body, int64_t id, const char *what)
{
    int status = id == 0 ? cli_send_filled(cli, filled, method, body, "/pieces") : cli_send_filled(cli, filled, method, body, "/pieces/%lld", (long long)id);
    if (status == CLI_DONE && !cli_said_json(cli))
        say_entered(cli, cli->reply.document, what);
    return status;
}

int cmd_piece_add(struct cli *cli)
{
    const char *name = cli->args.argument[0];
    if (cli_is_number(name))
        return cli_fail(cli, CLI_USAGE, "\"%.40s\" is a number, and a number is a coat: give the piece a name", name);
    int status = cli_open_shop(cli);
    if (status != CLI_DONE)
        return status;
    cJSON *body = cJSON_CreateObject();
    doc_put_text(body, "name", name);
    status = add_options(cli, body);
    return write_piece(cli, status, "POST", body, 0, "entered");
}

int cmd_piece_edit(struct cli *cli)
{
    int64_t id = 0;
    int status = cli_open_shop(cli);
    if (status == CLI_DONE)
        status = names_find_id(cli, NAME_PIECE, cli->args.argument[0], &id);
    if (status != CLI_DONE)
        return status;
    cJSON *body = cJSON_CreateObject();
    status = add_options(cli, body);
    if (status == CLI_DONE && cJSON_GetArraySize(body) == 0)
        status = cli_fail_unchanged(cli);
    return write_piece(cli, status, "PATCH", body, id, "changed");
}

int cmd_piece_remove(struct cli *cli)
{
    int64_t id = 0;
    int status = cli_open_shop(cli);
    if (status == CLI_DONE)
        status = names_find_id(cli, NAME_PIECE, cli->args.argument[0], &id);
    return write_piece(cli, status, "DELETE", NULL, id, "is out of use; its record stays");
}

static void add_row(const struct cli *cli, struct table *table, const cJSON *piece)
{
    struct text coats = {0};
    const cJSON *coat = NULL;
    cJSON_ArrayForEach(coat, doc_get(piece, "coats"))
        text_join(&coats, ", ", "%.0f", coat->valuedouble);
    const char *joint = coats.length > 0 ? "coats " : "no coats yet";
    struct text text = {0};
    text_add(&text, "%s%s; old finish %s", joint, coats.data, doc_text(piece, "old_finish"));
    table_row(table, VOICE_HEAD,
              (const char *[]){doc_text(piece, "name"), names_of(cli, "places", doc_id(piece, "place"), "hangs nowhere"),
                               text.data});
}

int cmd_piece_list(struct cli *cli)
{
    const cJSON *piece = NULL;
    int status = cli_open_shop(cli);
    if (status == CLI_DONE)
        status = cli_get(cli, "/pieces");
    if (status != CLI_DONE || cli_said_json(cli))
        return status;
    struct table *table = table_new(3, 0, 0);
    cJSON_ArrayForEach(piece, doc_get(cli->reply.document, "items"))
    {
        if (doc_get(piece, "removed_at") == NULL)
            add_row(cli, table, piece);
    }
    table_print(&cli->out, table);
    if (doc_count(cli->reply.document, "items") == 0)
        render_text(&cli->out, 0, 0, "No piece yet: coat piece add \"mill body\" --place shed");
    return CLI_DONE;
}
