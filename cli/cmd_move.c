#include "cli/say.h"

int cmd_move(struct cli *cli)
{
    int64_t piece = 0, place = 0;
    struct text text = {0};
    int status = cli_open_shop(cli);
    if (status == CLI_DONE)
        status = names_find_id(cli, NAME_PIECE, cli->args.argument[0], &piece);
    if (status == CLI_DONE)
        status = names_find_id(cli, NAME_PLACE, cli->args.argument[1], &place);
    if (status != CLI_DONE)
        return status;
    cJSON *body = cJSON_CreateObject();
    doc_put_number(body, "place", (double)place);
    status = cli_add_fields(cli, body);
    status = cli_send_filled(cli, status, "POST", body, "/pieces/%lld/moves", (long long)piece);
    if (status != CLI_DONE || cli_said_json(cli))
        return status;
    text_add(&text, "%s hangs in %s from ", names_of(cli, "pieces", piece, "it"), names_of(cli, "places", place, "it"));
    say_moment(cli, &text, doc_moment(cli->reply.document, "at"));
    render_text(&cli->out, 0, 4, text.data);
    if (doc_count(cli->reply.document, "vapour") > 0) {
        render_text(&cli->out, 0, 4, "Wet coat in what counts as an oven: open and purge it, and no heat until what it gave off is out.");
        say_vapour_of(cli, cli->reply.document);
        say_cautions(cli, cli->reply.document, doc_get(cJSON_GetArrayItem(doc_get(cli->reply.document, "vapour"), 0), "cautions"), 4);
    }
    return CLI_DONE;
}
