#include "cli/say.h"

#include <stdlib.h>
#include <string.h>

int cmd_ack(struct cli *cli)
{
    const char *word = cli->args.argument[0];
    struct text text = {0};
    long long id = cli_is_number(word) && strlen(word) < 16 ? strtoll(word, NULL, 10) : 0;
    if (id < 1)
        return cli_fail(cli, CLI_USAGE, "\"%.60s\" is no notice: a notice is its number, as `coat notices` lists it", word);
    int status = cli_open_shop(cli);
    if (status == CLI_DONE)
        status = cli_send(cli, "POST", NULL, "/notices/%lld/ack", id);
    if (status != CLI_DONE || cli_said_json(cli))
        return status;
    text_add(&text, "%lld acknowledged: %s", id, doc_text(cli->reply.document, "text"));
    render_text(&cli->out, 0, 4, text.data);
    return CLI_DONE;
}
