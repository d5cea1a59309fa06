#include "cli/say.h"

#include <string.h>

struct follower {
    struct cli *cli;
    int64_t last; /* the newest notice that was told */
    int status;
};

static bool is_pending(const cJSON *notice)
{
    return doc_get(notice, "withdrawn_at") == NULL && doc_get(notice, "acknowledged_at") == NULL;
}

static void say_notice(struct cli *cli, const cJSON *notice)
{
    struct text head = {0}, text = {0};
    text_add(&head, "%lld", (long long)doc_id(notice, "id"));
    say_moment(cli, &text, doc_moment(notice, "raised_at"));
    text_add(&text, " %s", doc_text(notice, "text"));
    if (doc_flag(notice, "assumed") && strstr(doc_text(notice, "text"), "test first") == NULL)
        text_add(&text, " On assumed air: test first.");
    if (doc_get(notice, "withdrawn_at") != NULL)
        text_add(&text, " (withdrawn)");
    else if (doc_get(notice, "acknowledged_at") != NULL)
        text_add(&text, " (acknowledged)");
    struct table *table = table_new(2, 0, 0);
    table_row(table, VOICE_HEAD, (const char *[]){head.data, text.data});
    table_print(&cli->out, table);
}

/* Their cautions, once for all that were told. */
static void say_notice_cautions(struct cli *cli, bool all)
{
    const cJSON *notice = NULL, *telling = NULL;
    cJSON_ArrayForEach(notice, doc_get(cli->reply.document, "items"))
    {
        if (all || is_pending(notice))
            telling = doc_count(notice, "cautions") >= doc_count(telling, "cautions") ? notice : telling;
    }
    if (telling != NULL)
        say_cautions(cli, cli->reply.document, doc_get(telling, "cautions"), 0);
}

static unsigned say_items(struct cli *cli, bool all)
{
    const cJSON *notice = NULL;
    unsigned told = 0;
    cJSON_ArrayForEach(notice, doc_get(cli->reply.document, "items"))
    {
        if (!all && !is_pending(notice))
            continue;
        say_notice(cli, notice);
        told++;
    }
    return told;
}

static int64_t newest_id(const cJSON *document, int64_t before)
{
    const cJSON *notice = NULL;
    cJSON_ArrayForEach(notice, doc_get(document, "items"))
        before = doc_id(notice, "id") > before ? doc_id(notice, "id") : before;
    return before;
}

static int list_notices(struct cli *cli, bool all)
{
    int status = cli_get(cli, "/notices");
    if (status != CLI_DONE || cli_said_json(cli))
        return status;
    if (say_items(cli, all) == 0)
        render_text(&cli->out, 0, 0, "No notices.");
    say_notice_cautions(cli, all);
    return CLI_DONE;
}

/* The moments of a new notice lie after the shop's document that was fetched at the start. */
static void catch_up_now(struct cli *cli)
{
    const cJSON *notice = NULL;
    cJSON_ArrayForEach(notice, doc_get(cli->reply.document, "items"))
    {
        int64_t raised = doc_moment(notice, "raised_at");
        cli->now_ms = raised > cli->now_ms ? raised : cli->now_ms;
    }
}

static bool tell_new(void *context)
{
    struct follower *follower = context;
    struct cli *cli = follower->cli;
    follower->status = cli_get(cli, "/notices?after=%lld", (long long)follower->last);
    if (follower->status != CLI_DONE)
        return false;
    if (doc_count(cli->reply.document, "items") == 0)
        return true;
    follower->last = newest_id(cli->reply.document, follower->last);
    catch_up_now(cli);
    if (!cli_said_json(cli) && say_items(cli, false) > 0)
        say_notice_cautions(cli, false);
    return fflush(cli->out.out) == 0;
}

static int follow(struct cli *cli, bool all)
{
    long answered = 0;
    struct follower follower = {cli, 0, CLI_DONE};
    int status = list_notices(cli, all);
    if (status != CLI_DONE)
        return status;
    follower.last = newest_id(cli->reply.document, 0);
    fflush(cli->out.out);
    enum client_result result = client_follow(&cli->client, "/api/v1/events", tell_new, &follower, &answered);
    if (follower.status != CLI_DONE || result == CLIENT_ANSWERED)
        return follower.status;
    if (answered == 401 || answered == 403)
        return cli_fail(cli, CLI_NOT_ALLOWED, "coatd does not let this token follow its events");
    if (answered != 200 && answered != 0)
        return cli_fail(cli, CLI_REFUSED, "coatd refused the events (status %ld): ask again later", answered);
    return cli_fail(cli, CLI_NO_DAEMON, "coatd at %s ended the events: follow again once it runs", cli->client.url);
}

int cmd_notices(struct cli *cli)
{
    bool all = args_option(&cli->args, "--all") != NULL;
    int status = cli_open_shop(cli);
    if (status != CLI_DONE)
        return status;
    return args_option(&cli->args, "--follow") != NULL ? follow(cli, all) : list_notices(cli, all);
}
