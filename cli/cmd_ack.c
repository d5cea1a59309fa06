#include "cli/say.h"

/* All are read before the first is put aside. */
static int check_numbers(const struct cli *cli)
{
    for (unsigned i = 0; i < cli->args.count; i++) {
        if (cli_number(cli->args.argument[i]) < 1)
            return cli_fail(cli, CLI_USAGE, "\"%.60s\" is no notice: a notice is its number, as `coat notices` lists it", cli->args.argument[i]);
    }
    return CLI_DONE;
}

static int acknowledge(struct cli *cli, long long id)
{
    struct text text = {0};
    int status = cli_send(cli, "POST", NULL, "/notices/%lld/ack", id);
    if (status != CLI_DONE || cli_said_json(cli))
        return status;
    text_add(&text, "%lld acknowledged: %s", id, doc_text(cli->reply.document, "subject"));
    render_text(&cli->out, 0, 4, text.data);
    return CLI_DONE;
}

int cmd_ack(struct cli *cli)
{
    int status = check_numbers(cli);
    if (status == CLI_DONE)
        status = cli_open_shop(cli);
    for (unsigned i = 0; status == CLI_DONE && i < cli->args.count; i++)
        status = acknowledge(cli, cli_number(cli->args.argument[i]));
    return status;
}
