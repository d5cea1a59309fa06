#include "cli/say.h"

static int add_down_to(const struct cli *cli, cJSON *body)
{
    const char *text = args_option(&cli->args, "--down-to");
    int64_t id = 0;
    if (text == NULL)
        return CLI_DONE;
    int status = cli_parse_coat(cli, text, &id);
    if (status == CLI_DONE)
        doc_put_number(body, "down_to", (double)id);
    return status;
}

int cmd_strip(struct cli *cli)
{
    int64_t piece = 0;
    struct text text = {0};
    int status = cli_open_shop(cli);
    if (status == CLI_DONE)
        status = names_find_id(cli, NAME_PIECE, cli->args.argument[0], &piece);
    if (status != CLI_DONE)
        return status;
    cJSON *body = cJSON_CreateObject();
    status = cli_add_fields(cli, body);
    if (status == CLI_DONE)
        status = add_down_to(cli, body);
    status = cli_send_filled(cli, status, "POST", body, "/pieces/%lld/strips", (long long)piece);
    if (status != CLI_DONE || cli_said_json(cli))
        return status;
    const cJSON *strip = cli->reply.document;
    say_piece(cli, &text, piece, doc_text(strip, "area"));
    if (doc_id(strip, "down_to") != 0)
        text_add(&text, " stripped down to coat %lld, ", (long long)doc_id(strip, "down_to"));
    else
        text_add(&text, " stripped to the iron, ");
    say_moment(cli, &text, doc_moment(strip, "at"));
    render_text(&cli->out, 0, 4, text.data);
    say_cautions(cli, strip, doc_get(strip, "cautions"), 0);
    return CLI_DONE;
}
