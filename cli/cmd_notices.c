#include "cli/say.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define CURSOR_LONG 48
#define NOTICE_TEXT_LONG 2048

struct follower {
    struct cli *cli;
    char cursor[CURSOR_LONG]; /* of the notice that was told last */
    int status;
    bool cut_off;             /* coatd was there and does not answer now; said once */
};

#define FOLLOW_AGAIN_S 2 /* how long it is left alone once it does not answer */

static bool is_pending(const cJSON *notice)
{
    return doc_get(notice, "withdrawn_at") == NULL && doc_get(notice, "acknowledged_at") == NULL;
}

/* What is not to be seen from its text. */
static void say_standing(const struct cli *cli, struct text *text, const cJSON *notice)
{
    if (doc_get(notice, "withdrawn_at") != NULL)
        text_add(text, " (withdrawn)");
    else if (doc_get(notice, "acknowledged_at") != NULL)
        text_add(text, " (acknowledged)");
    else if (doc_get(notice, "held_until_at") != NULL) {
        text_add(text, " (held until ");
        say_moment(cli, text, doc_moment(notice, "held_until_at"));
        text_add(text, ")");
    } else if (doc_is(notice, "state", "held"))
        text_add(text, " (gathering: waits a little for what was done with it)");
}

/* The first line stands beside the number, those after it under it: the list of a day has several. */
static void say_notice(struct cli *cli, const cJSON *notice)
{
    const char *told = doc_text(notice, "text");
    size_t first = strcspn(told, "\n");
    struct text head = {0}, text = {0};
    struct table *table = table_new(2, 0, 0);
    text_add(&head, "%lld", (long long)doc_id(notice, "id"));
    say_moment(cli, &text, doc_moment(notice, "raised_at"));
    text_add(&text, " %.*s", (int)(first < NOTICE_TEXT_LONG ? first : NOTICE_TEXT_LONG), told);
    if (doc_flag(notice, "assumed") && strstr(told, "test first") == NULL)
        text_add(&text, " On assumed air: test first.");
    say_standing(cli, &text, notice);
    table_row(table, VOICE_HEAD, (const char *[]){head.data, text.data});
    for (const char *line = told + first; *line == '\n'; line += strcspn(line, "\n")) {
        line++;
        text_clear(&text);
        text_add(&text, "%.*s", (int)strcspn(line, "\n"), line);
        table_row(table, VOICE_PLAIN, (const char *[]){"", text.data});
    }
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

/* "MS-ID": by the moment, then the number. */
static bool is_later(const char *cursor, const char *than)
{
    char *rest = NULL, *rest_than = NULL;
    long long at = strtoll(cursor, &rest, 10), at_than = strtoll(than, &rest_than, 10);
    if (at != at_than)
        return at > at_than;
    return *rest == '-' && *rest_than == '-' && strtoll(rest + 1, NULL, 10) > strtoll(rest_than + 1, NULL, 10);
}

/* What is held back comes later than what has a higher number, so that a follower goes by when each was told. */
static void move_cursor(const cJSON *document, char cursor[CURSOR_LONG])
{
    const cJSON *notice = NULL;
    cJSON_ArrayForEach(notice, doc_get(document, "items"))
    {
        const char *told = doc_text(notice, "cursor");
        if (told[0] != '\0' && strlen(told) < CURSOR_LONG && is_later(told, cursor))
            snprintf(cursor, CURSOR_LONG, "%s", told);
    }
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
        int64_t told = doc_moment(notice, "told_at");
        cli->now_ms = told > cli->now_ms ? told : cli->now_ms;
    }
}

static bool tell_new(void *context)
{
    struct follower *follower = context;
    struct cli *cli = follower->cli;
    follower->status = cli_get(cli, "/notices?told_after=%s", follower->cursor);
    if (follower->status != CLI_DONE)
        return false;
    if (follower->cut_off)
        fprintf(stderr, "coat: coatd answers again.\n");
    follower->cut_off = false;
    if (doc_count(cli->reply.document, "items") == 0)
        return true;
    move_cursor(cli->reply.document, follower->cursor);
    catch_up_now(cli);
    if (!cli_said_json(cli) && say_items(cli, false) > 0)
        say_notice_cautions(cli, false);
    return fflush(cli->out.out) == 0;
}

/* Until the events end; true where they may come again: the service was ended, or starts anew. */
static bool follow_once(struct follower *follower, long *ret_answered)
{
    enum client_result result = client_follow(&follower->cli->client, "/api/v1/events", tell_new, follower, ret_answered);
    bool refused = *ret_answered != 200 && *ret_answered != 0 && *ret_answered < 500;
    if (result == CLIENT_ANSWERED) /* tell_new stopped it */
        return follower->status == CLI_NO_DAEMON;
    return !refused && result != CLIENT_NO_MEMORY && result != CLIENT_NOT_COATD;
}

static int follow(struct cli *cli, bool all)
{
    long answered = 0;
    struct follower follower = {cli, "0-0", CLI_DONE, false};
    int status = list_notices(cli, all);
    if (status != CLI_DONE)
        return status;
    move_cursor(cli->reply.document, follower.cursor);
    fflush(cli->out.out);
    while (follow_once(&follower, &answered)) {
        if (!follower.cut_off)
            fprintf(stderr, "coat: coatd at %s ended the events: followed again by itself once it runs; nothing is told until then.\n", cli->client.url);
        follower.cut_off = true;
        follower.status = CLI_DONE;
        (void)sleep(FOLLOW_AGAIN_S);
    }
    if (answered == 401 || answered == 403)
        return cli_fail(cli, CLI_NOT_ALLOWED, "coatd does not let this token follow its events");
    if (answered != 200 && answered != 0)
        return cli_fail(cli, CLI_REFUSED, "coatd refused the events (status %ld): ask again later", answered);
    return follower.status;
}

int cmd_notices(struct cli *cli)
{
    bool all = args_option(&cli->args, "--all") != NULL;
    int status = cli_open_shop(cli);
    if (status != CLI_DONE)
        return status;
    return args_option(&cli->args, "--follow") != NULL ? follow(cli, all) : list_notices(cli, all);
}
