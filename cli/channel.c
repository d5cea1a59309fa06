#include "cli/channel.h"

#include <string.h>

/* ---- which one ---- */

int channel_find(struct cli *cli, const cJSON **ret)
{
    int status = cli_open_shop(cli);
    if (status == CLI_DONE)
        status = cli_get(cli, "/channels");
    if (status != CLI_DONE)
        return status;
    doc_put(cli->shop, "channels", cJSON_Duplicate(doc_get(cli->reply.document, "items"), true));
    return names_find(cli, NAME_CHANNEL, cli->args.argument[0], ret);
}

/* ---- from options to the document ---- */

/* `member` is what the value of the option becomes; NULL where it has none. */
static const struct {
    const char *option, *kind, *member;
} kinds[] = {
    {"--webhook", "webhook", "target"}, {"--mail", "mail", "to"}, {"--mqtt", "mqtt", "target"}, {"--command", "command", NULL},
    {"--calendar", "calendar", NULL},
};
#define KINDS (sizeof kinds / sizeof *kinds)

int channel_read_kind(const struct cli *cli, const char **ret)
{
    const char *option = NULL;
    *ret = NULL;
    for (size_t i = 0; i < KINDS; i++) {
        if (args_option(&cli->args, kinds[i].option) == NULL)
            continue;
        if (option != NULL)
            return cli_fail(cli, CLI_USAGE, "%s and %s: a channel leads one way; enter two", option, kinds[i].option);
        option = kinds[i].option;
        *ret = kinds[i].kind;
    }
    return CLI_DONE;
}

static int add_target(const struct cli *cli, cJSON *body)
{
    for (size_t i = 0; i < KINDS; i++) {
        const char *value = args_option(&cli->args, kinds[i].option);
        if (value != NULL && kinds[i].member != NULL)
            doc_put_text(body, kinds[i].member, value);
    }
    const char *server = args_option(&cli->args, "--server-url");
    if (server != NULL)
        doc_put_text(body, "target", server);
    else if (doc_is(body, "kind", "mail"))
        return cli_fail(cli, CLI_USAGE, "--mail: through which mail server? Write --server-url smtps://HOST as well");
    return CLI_DONE;
}

/* At most one way to tell it, since the last would silently win. */
static int add_secret(const struct cli *cli, cJSON *body)
{
    static const char *const options[] = {"--password-file", "--ask-password", "--key-file"};
    const char *told = NULL;
    for (size_t i = 0; i < sizeof options / sizeof *options; i++) {
        if (args_option(&cli->args, options[i]) == NULL)
            continue;
        if (told != NULL)
            return cli_fail(cli, CLI_USAGE, "%s and %s: one of them tells the secret", told, options[i]);
        told = options[i];
    }
    int status = given_add_secret_file(cli, body, "--password-file", "secret");
    if (status == CLI_DONE)
        status = given_add_secret_file(cli, body, "--key-file", "secret");
    return status == CLI_DONE ? given_ask_secret(cli, body, "--ask-password", "secret") : status;
}

int channel_add_options(struct cli *cli, cJSON *body, unsigned first)
{
    int status = cli_add_fields(cli, body);
    if (status == CLI_DONE)
        status = add_target(cli, body);
    if (status == CLI_DONE)
        status = given_add_program(cli, body, "argv", first);
    if (status == CLI_DONE)
        status = given_add_ca_file(cli, body);
    return status == CLI_DONE ? add_secret(cli, body) : status;
}

int channel_try(struct cli *cli, cJSON *body)
{
    return given_try(cli, body, "/channel-tests", "Sent; waiting for the answer, a minute at most.");
}

/* ---- what is said of one ---- */

void channel_say_target(struct text *text, const cJSON *channel)
{
    if (doc_get(channel, "argv") != NULL)
        given_say_program(text, doc_get(channel, "argv"));
    else if (doc_is(channel, "kind", "calendar"))
        text_add(text, "fetched through its link");
    else if (doc_is(channel, "kind", "mail"))
        text_add(text, "%s, through %s", doc_text(channel, "to"), doc_text(channel, "target"));
    else
        text_add(text, "%s", doc_text(channel, "target"));
}

void channel_say_head(struct cli *cli, const cJSON *channel, const char *what)
{
    struct text text = {0};
    text_add(&text, "%s%s, %s: ", doc_text(channel, "name"), what, doc_text(channel, "kind"));
    channel_say_target(&text, channel);
    render_text(&cli->out, 0, 4, text.data);
}

void channel_say_state(const struct cli *cli, struct text *text, const cJSON *channel)
{
    double waiting = doc_number(channel, "waiting");
    if (doc_get(channel, "removed_at") != NULL)
        text_add(text, "out of use");
    else if (doc_is(channel, "kind", "calendar"))
        text_add(text, "ready to be fetched");
    else if (doc_get(channel, "failing_since_at") != NULL) {
        text_add(text, "%.0f waiting; fails since ", waiting);
        say_moment(cli, text, doc_moment(channel, "failing_since_at"));
        text_add(text, ": %s", doc_text(channel, "answer")[0] != '\0' ? doc_text(channel, "answer") : "no answer");
    } else if (doc_get(channel, "delivered_at") != NULL) {
        text_add(text, "%.0f delivered, the last ", doc_number(channel, "delivered"));
        say_moment(cli, text, doc_moment(channel, "delivered_at"));
        if (waiting > 0.0)
            text_add(text, "; %.0f waiting", waiting);
    } else if (waiting > 0.0)
        text_add(text, "%.0f waiting", waiting);
    else
        text_add(text, "nothing was sent yet");
}

enum voice channel_voice(const cJSON *channel)
{
    return doc_get(channel, "failing_since_at") != NULL ? VOICE_STOP : VOICE_PLAIN;
}

/* A line of its own, whole, to be copied. */
static void say_line(struct cli *cli, const char *what, const char *value)
{
    FILE *out = cli->out.out;
    render_text(&cli->out, 4, 4, what);
    fputs("  ", out);
    text_write_clean(out, value, strlen(value));
    fputc('\n', out);
}

void channel_say_secret(struct cli *cli, const cJSON *channel)
{
    const char *key = doc_text(channel, "secret"), *link = doc_text(channel, "calendar_link");
    if (link[0] != '\0')
        say_line(cli, "Its link is told this once, so keep it. Whoever has it can read the calendar; a calendar program takes it as it stands:", link);
    else if (key[0] != '\0')
        say_line(cli, "What it sends is signed with this key, told this once, so keep it (HMAC-SHA256 over the body, in Coatwright-Signature):", key);
    else if (doc_text(channel, "secret_note")[0] != '\0')
        render_text(&cli->out, 4, 4, doc_text(channel, "secret_note"));
}
