#include "cli/say.h"

int cmd_strike(struct cli *cli)
{
    int64_t id = 0;
    struct text text = {0};
    int status = cli_parse_coat(cli, cli->args.argument[0], &id);
    if (status != CLI_DONE)
        return status;
    if (args_option(&cli->args, "--why") == NULL)
        return cli_fail(cli, CLI_USAGE, "why is it void? The reason stays in the record: coat strike %lld --why \"wrong piece\"",
                        (long long)id);
    status = cli_open_shop(cli);
    if (status != CLI_DONE)
        return status;
    cJSON *body = cJSON_CreateObject();
    doc_put_text(body, "why", args_option(&cli->args, "--why"));
    status = cli_send(cli, "POST", body, "/coats/%lld/strike", (long long)id);
    if (status != CLI_DONE || cli_said_json(cli))
        return status;
    const cJSON *coat = doc_get(cli->reply.document, "coat");
    text_add(&text, "%lld is struck: %s. It stays in the record; its notices are over. It was ", (long long)id,
             args_option(&cli->args, "--why"));
    say_coat(cli, &text, coat);
    text_add(&text, ".");
    render_text(&cli->out, 0, 4, text.data);
    say_cautions(cli, cli->reply.document, doc_get(coat, "cautions"), 0);
    return CLI_DONE;
}
