#include "cli/say.h"

int cmd_sand(struct cli *cli)
{
    int64_t id = 0;
    struct text text = {0};
    int status = cli_parse_coat(cli, cli->args.argument[0], &id);
    if (status == CLI_DONE)
        status = cli_open_shop(cli);
    if (status != CLI_DONE)
        return status;
    cJSON *body = cJSON_CreateObject();
    status = cli_add_fields(cli, body);
    status = cli_send_filled(cli, status, "POST", body, "/coats/%lld/sandings", (long long)id);
    if (status != CLI_DONE || cli_said_json(cli))
        return status;
    const cJSON *coat = doc_get(cli->reply.document, "coat");
    text_add(&text, "%lld sanded ", (long long)id);
    say_moment(cli, &text, doc_moment(cli->reply.document, "sanding.at"));
    text_add(&text, ": ");
    say_coat(cli, &text, coat);
    render_text(&cli->out, 0, 4, text.data);
    return say_cautions_for(cli, "sand");
}
