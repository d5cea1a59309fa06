/* coat channel add, coat channel test: a channel is tried before anyone counts on it. */
#include "cli/channel.h"

#include <string.h>

static const char no_way[] = "where does it lead? --mail ADDRESS, --webhook URL, --mqtt mqtt://host/topic, --command -- PROGRAM, or --calendar";

static const char *answer_of(const cJSON *test)
{
    const char *answer = doc_text(test, "answer");
    return answer[0] != '\0' ? answer : "it gave no answer";
}

static void say_answer(struct cli *cli, const cJSON *test)
{
    struct text text = {0};
    text_add(&text, "%s: %s", doc_flag(test, "delivered") ? "delivered" : "not delivered", answer_of(test));
    render_text(&cli->out, 2, 4, text.data);
}

/* ---- add ---- */

static int try_first(struct cli *cli, const cJSON *body)
{
    int status = channel_try(cli, cJSON_Duplicate(body, true));
    const cJSON *test = cli->reply.document;
    if (status != CLI_DONE)
        return status;
    if (!doc_flag(test, "delivered")) {
        const char *answer = answer_of(test);
        bool ended = strchr(".?!", answer[strlen(answer) - 1]) != NULL;
        return cli_fail(cli, CLI_REFUSED, "the test was not delivered: %.300s%s With --untested it is entered all the same", answer, ended ? "" : ".");
    }
    if (!cli->json)
        say_answer(cli, test);
    return CLI_DONE;
}

static int fill_body(struct cli *cli, cJSON *body)
{
    const char *kind = NULL;
    int status = channel_read_kind(cli, &kind);
    if (status == CLI_DONE && kind == NULL)
        status = cli_fail(cli, CLI_USAGE, "%s", no_way);
    if (status == CLI_DONE)
        status = cli_open_shop(cli);
    if (status != CLI_DONE)
        return status;
    doc_put_text(body, "name", cli->args.argument[0]);
    doc_put_text(body, "kind", kind);
    return channel_add_options(cli, body, 1);
}

int cmd_channel_add(struct cli *cli)
{
    cJSON *body = cJSON_CreateObject();
    int status = fill_body(cli, body);
    bool tried = status == CLI_DONE && args_option(&cli->args, "--untested") == NULL && !doc_is(body, "kind", "calendar");
    if (tried)
        status = try_first(cli, body);
    status = cli_send_filled(cli, status, "POST", body, "/channels");
    if (status != CLI_DONE || cli_said_json(cli))
        return status;
    channel_say_head(cli, cli->reply.document, " entered");
    channel_say_secret(cli, cli->reply.document);
    return CLI_DONE;
}

/* ---- test ---- */

/* NAME, or the options of add; the NAME of add may stand before them. */
static int fill_test(struct cli *cli, cJSON *body)
{
    const char *kind = NULL;
    const cJSON *channel = NULL;
    int status = channel_read_kind(cli, &kind);
    if (status != CLI_DONE)
        return status;
    if (kind != NULL) {
        doc_put_text(body, "kind", kind);
        return channel_add_options(cli, body, strcmp(kind, "command") == 0 ? 0 : 1);
    }
    status = channel_add_options(cli, body, 1);
    if (status == CLI_DONE && (cli->args.count != 1 || cJSON_GetArraySize(body) > 0))
        status = cli_fail(cli, CLI_USAGE, "name a channel alone, or one that is not entered yet: --mail, --webhook, --mqtt or --command");
    if (status == CLI_DONE)
        status = channel_find(cli, &channel);
    if (status == CLI_DONE)
        doc_put_number(body, "channel", (double)doc_id(channel, "id"));
    return status;
}

int cmd_channel_test(struct cli *cli)
{
    cJSON *body = cJSON_CreateObject();
    int status = fill_test(cli, body);
    if (status != CLI_DONE) {
        cJSON_Delete(body);
        return status;
    }
    status = channel_try(cli, body);
    if (status != CLI_DONE)
        return status;
    bool delivered = doc_flag(cli->reply.document, "delivered");
    if (!cli_said_json(cli))
        say_answer(cli, cli->reply.document);
    return delivered ? CLI_DONE : CLI_REFUSED;
}
