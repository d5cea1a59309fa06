/* coat channel: where notices go beside the page. */
#include "cli/channel.h"

#include <string.h>

#define COLUMNS 4

/* ---- list ---- */

static void add_row(const struct cli *cli, struct table *table, const cJSON *channel)
{
    struct text target = {0}, state = {0};
    channel_say_target(&target, channel);
    channel_say_state(cli, &state, channel);
    table_row(table, channel_voice(channel), (const char *[]){doc_text(channel, "name"), doc_text(channel, "kind"), target.data, state.data});
}

int cmd_channel_list(struct cli *cli)
{
    const cJSON *channel = NULL;
    int status = cli_open_shop(cli);
    if (status == CLI_DONE)
        status = cli_get(cli, "/channels");
    if (status != CLI_DONE || cli_said_json(cli))
        return status;
    struct table *table = table_new(COLUMNS, 0, 3);
    cJSON_ArrayForEach(channel, doc_get(cli->reply.document, "items"))
        add_row(cli, table, channel);
    table_print(&cli->out, table);
    if (doc_count(cli->reply.document, "items") == 0)
        render_text(&cli->out, 0, 0, "No channel yet: notices stand on the page and in coat notices alone. coat channel add --help tells of mail, webhooks and more.");
    return CLI_DONE;
}

/* ---- show ---- */

static void add_line(struct table *table, const char *what, const char *value)
{
    if (value[0] != '\0')
        table_row(table, VOICE_PLAIN, (const char *[]){what, value});
}

static const char *secret_phrase(const cJSON *channel)
{
    bool has = doc_flag(channel, "has_secret");
    if (doc_is(channel, "kind", "command"))
        return "";
    if (doc_is(channel, "kind", "webhook") || doc_is(channel, "kind", "calendar"))
        return has ? "a key is kept; --new-key makes another" : "none";
    return has ? "a password is kept" : "none";
}

static void say_whole(struct cli *cli, const cJSON *channel)
{
    struct text state = {0}, added = {0};
    struct table *table = table_new(2, 2, 0);
    channel_say_head(cli, channel, "");
    channel_say_state(cli, &state, channel);
    say_moment(cli, &added, doc_moment(channel, "added_at"));
    text_add(&added, "; what was told before is not sent there");
    add_line(table, "now", state.data);
    add_line(table, "from", doc_text(channel, "from"));
    add_line(table, "user", doc_text(channel, "user"));
    add_line(table, "secret", secret_phrase(channel));
    add_line(table, "trusting", doc_text(channel, "ca_file"));
    add_line(table, "links lead to", doc_text(channel, "link"));
    add_line(table, "added", added.data);
    table_print(&cli->out, table);
}

int cmd_channel_show(struct cli *cli)
{
    const cJSON *channel = NULL;
    int status = channel_find(cli, &channel);
    if (status == CLI_DONE)
        status = cli_get(cli, "/channels/%lld", (long long)doc_id(channel, "id"));
    if (status != CLI_DONE || cli_said_json(cli))
        return status;
    say_whole(cli, cli->reply.document);
    return CLI_DONE;
}

/* ---- changes ---- */

static int check_kind(const struct cli *cli, const cJSON *channel)
{
    const char *kind = NULL;
    int status = channel_read_kind(cli, &kind);
    if (status == CLI_DONE && kind != NULL && !doc_is(channel, "kind", kind))
        return cli_fail(cli, CLI_USAGE, "it is of the kind %s, and that stays: coat channel add enters another one", doc_text(channel, "kind"));
    return status;
}

static int fill_change(struct cli *cli, const cJSON *channel, cJSON *body)
{
    int status = check_kind(cli, channel);
    if (status == CLI_DONE)
        status = channel_add_options(cli, body, 1);
    if (status == CLI_DONE && args_option(&cli->args, "--new-key") != NULL)
        doc_put(body, "new_secret", cJSON_CreateTrue());
    if (status == CLI_DONE && cJSON_GetArraySize(body) == 0)
        return cli_fail_unchanged(cli);
    return status;
}

int cmd_channel_edit(struct cli *cli)
{
    const cJSON *channel = NULL;
    int status = channel_find(cli, &channel);
    if (status != CLI_DONE)
        return status;
    cJSON *body = cJSON_CreateObject();
    status = fill_change(cli, channel, body);
    status = cli_send_filled(cli, status, "PATCH", body, "/channels/%lld", (long long)doc_id(channel, "id"));
    if (status != CLI_DONE || cli_said_json(cli))
        return status;
    channel_say_head(cli, cli->reply.document, " changed");
    channel_say_secret(cli, cli->reply.document);
    return CLI_DONE;
}

int cmd_channel_remove(struct cli *cli)
{
    const cJSON *channel = NULL;
    struct text text = {0};
    int status = channel_find(cli, &channel);
    if (status == CLI_DONE)
        status = cli_send(cli, "DELETE", NULL, "/channels/%lld", (long long)doc_id(channel, "id"));
    if (status != CLI_DONE || cli_said_json(cli))
        return status;
    text_add(&text, "%s is out of use; what went over it stays in the record", doc_text(channel, "name"));
    render_text(&cli->out, 0, 4, text.data);
    return CLI_DONE;
}
