#include "cli/say.h"

static void say_rack(const struct cli *cli, struct text *text, const cJSON *rack)
{
    const cJSON *piece = NULL;
    struct text names = {0};
    cJSON_ArrayForEach(piece, doc_get(rack, "pieces"))
        text_join(&names, ", ", "%s", names_of(cli, "pieces", (int64_t)piece->valuedouble, "a piece out of use"));
    text_add(text, "%s", names.data);
}

static int write_rack(struct cli *cli, int filled, const char *method, cJSON *body, int64_t id, const char *what)
{
    struct text text = {0};
    int status = id == 0 ? cli_send_filled(cli, filled, method, body, "/racks") : cli_send_filled(cli, filled, method, body, "/racks/%lld", (long long)id);
    if (status != CLI_DONE || cli_said_json(cli))
        return status;
    text_add(&text, "%s %s: ", doc_text(cli->reply.document, "name"), what);
    say_rack(cli, &text, cli->reply.document);
    render_text(&cli->out, 0, 4, text.data);
    return CLI_DONE;
}

static int add_pieces(const struct cli *cli, cJSON *body, const char *names)
{
    cJSON *pieces = names != NULL ? cJSON_AddArrayToObject(body, "pieces") : NULL;
    return pieces != NULL ? names_find_pieces(cli, names, pieces) : CLI_DONE;
}

int cmd_rack_add(struct cli *cli)
{
    int status = cli_open_shop(cli);
    if (status != CLI_DONE)
        return status;
    cJSON *body = cJSON_CreateObject();
    doc_put_text(body, "name", cli->args.argument[0]);
    status = add_pieces(cli, body, cli->args.argument[1]);
    return write_rack(cli, status, "POST", body, 0, "entered");
}

int cmd_rack_edit(struct cli *cli)
{
    int64_t id = 0;
    int status = cli_open_shop(cli);
    if (status == CLI_DONE)
        status = names_find_id(cli, NAME_RACK, cli->args.argument[0], &id);
    if (status != CLI_DONE)
        return status;
    cJSON *body = cJSON_CreateObject();
    status = cli_add_fields(cli, body);
    if (status == CLI_DONE)
        status = add_pieces(cli, body, args_option(&cli->args, "--pieces"));
    if (status == CLI_DONE && cJSON_GetArraySize(body) == 0)
        status = cli_fail_unchanged(cli);
    return write_rack(cli, status, "PATCH", body, id, "changed");
}

int cmd_rack_remove(struct cli *cli)
{
    int64_t id = 0;
    int status = cli_open_shop(cli);
    if (status == CLI_DONE)
        status = names_find_id(cli, NAME_RACK, cli->args.argument[0], &id);
    return write_rack(cli, status, "DELETE", NULL, id, "is out of use; these stay");
}

int cmd_rack_list(struct cli *cli)
{
    const cJSON *rack = NULL;
    int status = cli_open_shop(cli);
    if (status == CLI_DONE)
        status = cli_get(cli, "/racks");
    if (status != CLI_DONE || cli_said_json(cli))
        return status;
    struct table *table = table_new(2, 0, 0);
    cJSON_ArrayForEach(rack, doc_get(cli->reply.document, "items"))
    {
        struct text text = {0};
        say_rack(cli, &text, rack);
        if (doc_get(rack, "removed_at") == NULL)
            table_row(table, VOICE_HEAD, (const char *[]){doc_text(rack, "name"), text.data});
    }
    table_print(&cli->out, table);
    if (doc_count(cli->reply.document, "items") == 0)
        render_text(&cli->out, 0, 0, "No rack yet: coat rack add \"mill two\" \"mill body,mill wheel\"");
    return CLI_DONE;
}
