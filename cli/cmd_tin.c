/* coat tin: the containers of materials. */
#include "cli/say.h"

#include <string.h>

#define COLUMNS 3

/* ---- what is shown ---- */

static void add_date(struct text *text, const char *what, int64_t at_ms)
{
    char date[WHEN_TEXT_SIZE];
    text_join(text, ", ", "%s %s", what, at_ms != MOMENT_NONE ? when_print_date(at_ms, date) : "not told");
}

/* "batch L 0417, opened 1 Oct 2026, keeps to 31 Mar 2027" */
static void say_dates(struct text *text, const cJSON *tin)
{
    int64_t opened = doc_moment(tin, "opened_at"), keep_by = doc_moment(tin, "keep_by_at");
    if (doc_text(tin, "batch")[0] != '\0')
        text_join(text, ", ", "batch %s", doc_text(tin, "batch"));
    add_date(text, "opened", opened);
    add_date(text, "keeps to", keep_by != MOMENT_NONE ? keep_by - 1 : keep_by); /* a day's end is the next one's beginning */
    if (doc_flag(tin, "past_keep_by"))
        text_add(text, ": past");
    if (doc_moment(tin, "removed_at") != MOMENT_NONE)
        add_date(text, "empty since", doc_moment(tin, "removed_at"));
}

static void say_whole_tin(struct cli *cli, const cJSON *tin, const char *what)
{
    struct text text = {0}, dates = {0};
    say_dates(&dates, tin);
    text_add(&text, "%s%s: %s; %s", doc_text(tin, "name"), what, doc_text(tin, "material.name"), dates.data);
    render_text(&cli->out, 0, 4, text.data);
    if (doc_flag(tin, "past_keep_by"))
        say_past_keep_by(cli, tin);
}

/* ---- what is told ---- */

/* A date is its first moment where something began, the moment after it where something ends. */
static int read_moment(const struct cli *cli, const char *option, const char *text, int64_t *ret_at)
{
    bool ends = strcmp(option, "--keep-by") == 0;
    int64_t first = 0, after = 0;
    if (when_parse_date(text, &first, &after)) {
        *ret_at = ends ? after : first;
        return CLI_DONE;
    }
    if (!ends)
        return cli_parse_when(cli, text, ret_at);
    if (moment_parse(text, ret_at, NULL) == COAT_OK)
        return CLI_DONE;
    return cli_fail(cli, CLI_USAGE, "%s: \"%.60s\" is no date: write 2027-03-31, or 2027-03 for a whole month", option, text);
}

static int add_moment(const struct cli *cli, cJSON *body, const char *option, const char *field)
{
    const char *text = args_option(&cli->args, option);
    int64_t at = MOMENT_NONE;
    if (text == NULL)
        return CLI_DONE;
    int status = strcmp(text, "none") != 0 ? read_moment(cli, option, text, &at) : CLI_DONE;
    if (status != CLI_DONE)
        return status;
    if (at == MOMENT_NONE)
        doc_put(body, field, cJSON_CreateNull());
    else
        doc_put_moment(body, field, at);
    return CLI_DONE;
}

static int add_material(const struct cli *cli, cJSON *body, const char *name)
{
    int64_t id = 0;
    int status = name != NULL ? names_find_id(cli, NAME_MATERIAL, name, &id) : CLI_DONE;
    if (status == CLI_DONE && name != NULL)
        doc_put_number(body, "material", (double)id);
    return status;
}

static int add_options(struct cli *cli, cJSON *body, const char *material)
{
    int status = cli_add_fields(cli, body);
    if (status == CLI_DONE)
        status = add_material(cli, body, material);
    if (status == CLI_DONE)
        status = add_moment(cli, body, "--opened", "opened_at");
    return status == CLI_DONE ? add_moment(cli, body, "--keep-by", "keep_by_at") : status;
}

/* ---- commands ---- */

static int write_tin(struct cli *cli, int filled, const char *method, cJSON *body, int64_t id, const char *what)
{
    int status = id == 0 ? cli_send_filled(cli, filled, method, body, "/tins") : cli_send_filled(cli, filled, method, body, "/tins/%lld", (long long)id);
    if (status == CLI_DONE && !cli_said_json(cli))
        say_whole_tin(cli, cli->reply.document, what);
    return status;
}

int cmd_tin_add(struct cli *cli)
{
    int status = cli_open_shop(cli);
    if (status != CLI_DONE)
        return status;
    cJSON *body = cJSON_CreateObject();
    doc_put_text(body, "name", cli->args.argument[0]);
    status = add_options(cli, body, cli->args.argument[1]);
    return write_tin(cli, status, "POST", body, 0, " entered");
}

static int find_tin(struct cli *cli, int64_t *ret_id)
{
    int status = cli_open_shop(cli);
    return status == CLI_DONE ? names_find_id(cli, NAME_TIN, cli->args.argument[0], ret_id) : status;
}

int cmd_tin_edit(struct cli *cli)
{
    int64_t id = 0;
    int status = find_tin(cli, &id);
    if (status != CLI_DONE)
        return status;
    cJSON *body = cJSON_CreateObject();
    status = add_options(cli, body, args_option(&cli->args, "--material"));
    if (status == CLI_DONE && cJSON_GetArraySize(body) == 0)
        status = cli_fail_unchanged(cli);
    return write_tin(cli, status, "PATCH", body, id, " changed");
}

int cmd_tin_remove(struct cli *cli)
{
    int64_t id = 0;
    int status = find_tin(cli, &id);
    return write_tin(cli, status, "DELETE", NULL, id, " is out of use; coats of it keep it");
}

int cmd_tin_show(struct cli *cli)
{
    int64_t id = 0;
    int status = find_tin(cli, &id);
    if (status == CLI_DONE)
        status = cli_get(cli, "/tins/%lld", (long long)id);
    if (status == CLI_DONE && !cli_said_json(cli))
        say_whole_tin(cli, cli->reply.document, "");
    return status;
}

int cmd_tin_list(struct cli *cli)
{
    const cJSON *tin = NULL;
    int status = cli_open_shop(cli);
    if (status == CLI_DONE)
        status = cli_get(cli, args_option(&cli->args, "--all") != NULL ? "/tins?all=1" : "/tins");
    if (status != CLI_DONE || cli_said_json(cli))
        return status;
    struct table *table = table_new(COLUMNS, 0, 0);
    cJSON_ArrayForEach(tin, doc_get(cli->reply.document, "items"))
    {
        struct text dates = {0};
        say_dates(&dates, tin);
        table_row(table, doc_flag(tin, "past_keep_by") ? VOICE_SOON : VOICE_HEAD,
                  (const char *[]){doc_text(tin, "name"), doc_text(tin, "material.name"), dates.data});
    }
    table_print(&cli->out, table);
    if (doc_count(cli->reply.document, "items") == 0)
        render_text(&cli->out, 0, 0, "No tin yet: coat tin add \"black 2\" \"alkyd enamel\" --keep-by 2027-03");
    return CLI_DONE;
}
