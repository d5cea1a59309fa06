#include "cli/say.h"

#include <math.h>

static void say_place(const struct cli *cli, struct text *text, const cJSON *place)
{
    const cJSON *air = doc_get(place, "air");
    text_add(text, "%s", doc_text(place, "kind"));
    if (isfinite(doc_number(place, "volume_m3"))) {
        text_add(text, ", ");
        say_quantity(cli, text, QUANTITY_ROOM, doc_number(place, "volume_m3"));
    }
    text_add(text, ", exhaust ");
    if (isfinite(doc_number(place, "airflow_m3h")))
        say_quantity(cli, text, QUANTITY_AIRFLOW, doc_number(place, "airflow_m3h"));
    text_add(text, "%s", !isfinite(doc_number(place, "airflow_m3h")) ? "not measured" : doc_flag(place, "airflow_measured") ? ", measured" : "");
    if (doc_is(place, "low_exhaust", "yes"))
        text_add(text, ", from low down");
    text_add(text, "; ");
    say_air(cli, text, air);
    if (air != NULL) {
        text_add(text, ", %s", doc_text(air, "basis"));
        text_add(text, " (read ");
        say_moment(cli, text, doc_moment(air, "at"));
        text_add(text, ")");
    }
    if (doc_moment(place, "heated_until_at") != MOMENT_NONE) {
        text_add(text, "; heated until ");
        say_moment(cli, text, doc_moment(place, "heated_until_at"));
    }
}

static void say_risks(struct cli *cli, const cJSON *place)
{
    const cJSON *risk = NULL;
    struct text yes = {0}, no = {0}, open = {0};
    cJSON_ArrayForEach(risk, doc_get(place, "risks"))
    {
        const char *answer = cJSON_GetStringValue(risk);
        bool is_yes = answer != NULL && answer[0] == 'y', is_no = answer != NULL && answer[0] == 'n';
        text_join(is_yes ? &yes : is_no ? &no : &open, ", ", "%s", risk->string);
    }
    struct table *table = table_new(2, 2, 0);
    if (yes.length > 0)
        table_row(table, VOICE_SOON, (const char *[]){"yes", yes.data});
    if (open.length > 0)
        table_row(table, VOICE_SOON, (const char *[]){"unanswered, counts as yes", open.data});
    if (no.length > 0)
        table_row(table, VOICE_PLAIN, (const char *[]){"no", no.data});
    table_print(&cli->out, table);
}

static void say_whole_place(struct cli *cli, const cJSON *place, const char *what)
{
    struct text text = {0};
    text_add(&text, "%s%s: ", doc_text(place, "name"), what);
    say_place(cli, &text, place);
    render_text(&cli->out, 0, 4, text.data);
    say_risks(cli, place);
}

static int write_place(struct cli *cli, int filled, const char *method, cJSON *body, int64_t id, const char *what)
{
    int status = id == 0 ? cli_send_filled(cli, filled, method, body, "/places") : cli_send_filled(cli, filled, method, body, "/places/%lld", (long long)id);
    if (status == CLI_DONE && !cli_said_json(cli))
        say_whole_place(cli, cli->reply.document, what);
    return status;
}

static int add_options(struct cli *cli, cJSON *body)
{
    int status = cli_add_fields(cli, body);
    return status == CLI_DONE ? cli_add_answers(cli, body, "--risk", "risks", risk_words) : status;
}

int cmd_place_add(struct cli *cli)
{
    int status = cli_open_shop(cli);
    if (status != CLI_DONE)
        return status;
    cJSON *body = cJSON_CreateObject();
    doc_put_text(body, "name", cli->args.argument[0]);
    status = add_options(cli, body);
    return write_place(cli, status, "POST", body, 0, " entered");
}

static int find_place(struct cli *cli, int64_t *ret_id)
{
    int status = cli_open_shop(cli);
    return status == CLI_DONE ? names_find_id(cli, NAME_PLACE, cli->args.argument[0], ret_id) : status;
}

int cmd_place_edit(struct cli *cli)
{
    int64_t id = 0;
    int status = find_place(cli, &id);
    if (status != CLI_DONE)
        return status;
    cJSON *body = cJSON_CreateObject();
    status = add_options(cli, body);
    if (status == CLI_DONE && cJSON_GetArraySize(body) == 0)
        status = cli_fail_unchanged(cli);
    return write_place(cli, status, "PATCH", body, id, " changed");
}

int cmd_place_remove(struct cli *cli)
{
    int64_t id = 0;
    int status = find_place(cli, &id);
    return write_place(cli, status, "DELETE", NULL, id, " is out of use; its record stays");
}

int cmd_place_show(struct cli *cli)
{
    int64_t id = 0;
    int status = find_place(cli, &id);
    if (status == CLI_DONE)
        status = cli_get(cli, "/places/%lld", (long long)id);
    if (status == CLI_DONE && !cli_said_json(cli))
        say_whole_place(cli, cli->reply.document, "");
    return status;
}

int cmd_place_list(struct cli *cli)
{
    const cJSON *place = NULL;
    int status = cli_open_shop(cli);
    if (status == CLI_DONE)
        status = cli_get(cli, "/places");
    if (status != CLI_DONE || cli_said_json(cli))
        return status;
    struct table *table = table_new(2, 0, 0);
    cJSON_ArrayForEach(place, doc_get(cli->reply.document, "items"))
    {
        struct text text = {0};
        say_place(cli, &text, place);
        if (doc_get(place, "removed_at") == NULL)
            table_row(table, VOICE_HEAD, (const char *[]){doc_text(place, "name"), text.data});
    }
    table_print(&cli->out, table);
    if (doc_count(cli->reply.document, "items") == 0)
        render_text(&cli->out, 0, 0, "No place yet: coat place add shed --volume 60m3");
    return CLI_DONE;
}
