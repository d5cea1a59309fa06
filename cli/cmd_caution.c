#include "cli/say.h"

static const char *const subjects[] = {"coat", "bake", "strip", "sand", "shop", NULL};

static int ask(struct cli *cli)
{
    const char *about = cli->args.count > 0 ? cli->args.argument[0] : NULL;
    int64_t material = 0;
    if (about == NULL)
        return cli_get(cli, "/cautions");
    if (word_is_among(about, subjects))
        return cli_get(cli, "/cautions?for=%s", about);
    int status = cli_open_shop(cli);
    if (status == CLI_DONE)
        status = names_find_id(cli, NAME_MATERIAL, about, &material);
    return status == CLI_DONE ? cli_get(cli, "/cautions?material=%lld", (long long)material) : status;
}

int cmd_caution(struct cli *cli)
{
    const cJSON *caution = NULL;
    int status = ask(cli);
    if (status != CLI_DONE || cli_said_json(cli))
        return status;
    cJSON_ArrayForEach(caution, doc_get(cli->reply.document, "items"))
    {
        struct text text = {0};
        render_voiced(&cli->out, VOICE_HEAD, doc_text(caution, "act"));
        text_add(&text, "%s (%s)", doc_text(caution, "text"), doc_text(caution, "source"));
        render_text(&cli->out, 4, 4, text.data);
        text_clear(&text);
        text_add(&text, "Applies: %s.", doc_text(caution, "when"));
        render_text(&cli->out, 4, 4, text.data);
    }
    render_text(&cli->out, 0, 0, doc_text(cli->reply.document, "deferral"));
    return CLI_DONE;
}
