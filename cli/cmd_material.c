/* coat material list, show, remove; add and edit are in cmd_material_add.c. */
#include "cli/say.h"

#include <math.h>
#include <string.h>

static void add_row(const struct cli *cli, struct table *table, const cJSON *material)
{
    struct text text = {0};
    double film_um = doc_number(material, "film.dry_um");
    text_add(&text, "%s, %s, %s", doc_text(material, "class"), doc_text(material, "role"), doc_text(material, "application"));
    if (isfinite(film_um)) {
        text_add(&text, ", film ");
        say_quantity(cli, &text, QUANTITY_FILM, film_um);
    }
    if (doc_flag(material, "builtin"))
        text_add(&text, "; built in");
    else if (doc_number(material, "version") > 1.0)
        text_add(&text, "; version %.0f", doc_number(material, "version"));
    if (doc_flag(material, "disputed"))
        text_add(&text, "; sources differ: read the can");
    if (doc_flag(material, "removed"))
        text_add(&text, "; out of use");
    table_row(table, VOICE_HEAD, (const char *[]){doc_text(material, "name"), text.data});
}

int cmd_material_list(struct cli *cli)
{
    const cJSON *material = NULL;
    bool all = args_option(&cli->args, "--all") != NULL;
    int status = cli_open_shop(cli);
    if (status == CLI_DONE)
        status = cli_get(cli, "/materials%s", all ? "?all=1" : "");
    if (status != CLI_DONE || cli_said_json(cli))
        return status;
    struct table *table = table_new(2, 0, 0);
    cJSON_ArrayForEach(material, doc_get(cli->reply.document, "items"))
        add_row(cli, table, material);
    table_print(&cli->out, table);
    return CLI_DONE;
}

/* ---- every figure ---- */

static void say_rows(const struct cli *cli, struct text *text, const cJSON *rows)
{
    const cJSON *row = NULL;
    bool first = true;
    cJSON_ArrayForEach(row, rows)
    {
        text_add(text, "%s", first ? "" : ", ");
        say_cure_row(cli, text, row);
        first = false;
    }
}

/* Most sources begin with the word for what they are. */
static void say_source(struct text *text, const char *basis, const char *source)
{
    if (strncmp(source, basis, strlen(basis)) == 0)
        text_add(text, "; %s", source);
    else
        text_add(text, "; %s%s%s", basis, source[0] != '\0' ? ": " : "", source);
}

static void add_boundary(const struct cli *cli, struct table *table, const char *stage, bool first, const char *does,
                         const cJSON *boundary)
{
    struct text text = {0};
    const char *source = doc_text(boundary, "source");
    text_add(&text, "%s until ", do_phrase(stage, does));
    say_rows(cli, &text, doc_get(boundary, "rows"));
    text_add(&text, ", then %s", do_phrase(stage, doc_text(boundary, "then")));
    if (isfinite(doc_number(boundary, "label_h"))) {
        text_add(&text, "; label ");
        say_quantity(cli, &text, QUANTITY_DURATION, doc_number(boundary, "label_h") * S_PER_H);
    }
    say_source(&text, doc_text(boundary, "basis"), source);
    if (doc_flag(boundary, "disputed"))
        text_add(&text, "; sources differ: read the can");
    table_row(table, VOICE_HEAD, (const char *[]){first ? stage : "", text.data});
}

static void add_stage(const struct cli *cli, struct table *table, const cJSON *stage)
{
    const cJSON *boundary = NULL;
    const char *name = doc_text(stage, "stage"), *does = doc_text(stage, "first");
    cJSON_ArrayForEach(boundary, doc_get(stage, "boundaries"))
    {
        add_boundary(cli, table, name, boundary == doc_get(stage, "boundaries")->child, does, boundary);
        does = doc_text(boundary, "then");
    }
}

static void add_figure(struct table *table, const char *name, const struct text *text)
{
    if (text->length > 0)
        table_row(table, VOICE_HEAD, (const char *[]){name, text->data});
}

static void add_limits(const struct cli *cli, struct table *table, const cJSON *material)
{
    struct text text = {0};
    say_quantity(cli, &text, QUANTITY_TEMPERATURE, doc_number(material, "limits.min_temp_c"));
    text_add(&text, " to ");
    say_quantity(cli, &text, QUANTITY_TEMPERATURE, doc_number(material, "limits.max_temp_c"));
    text_add(&text, ", at most ");
    say_quantity(cli, &text, QUANTITY_SHARE, doc_number(material, "limits.max_rh_pct"));
    text_add(&text, " humidity; must hold until %s", doc_text(material, "guard"));
    if (doc_text(material, "limits_source")[0] != '\0')
        text_add(&text, "; %s", doc_text(material, "limits_source"));
    add_figure(table, "limits", &text);
}

static void add_law(const struct cli *cli, struct table *table, const cJSON *material)
{
    struct text text = {0};
    text_add(&text, "%s rule, figures for ", doc_text(material, "rule"));
    say_quantity(cli, &text, QUANTITY_SHARE, doc_number(material, "ref_rh_pct"));
    add_figure(table, "humidity", &text);
    text_clear(&text);
    text_add(&text, "hours double for each ");
    say_quantity(cli, &text, QUANTITY_TEMP_DIFF, doc_number(material, "doubling_c"));
    text_add(&text, " colder where one row only is known; %s", doc_text(material, "doubling_basis"));
    add_figure(table, "cold", &text);
    text_clear(&text);
    say_quantity(cli, &text, QUANTITY_FILM, doc_number(material, "film.dry_um"));
    text_add(&text, " dry, to the power of %.3g", doc_number(material, "film.exponent"));
    if (isfinite(doc_number(material, "film.solids_pct"))) {
        text_add(&text, "; solids ");
        say_quantity(cli, &text, QUANTITY_SHARE, doc_number(material, "film.solids_pct"));
    }
    add_figure(table, "film", &text);
}

static void add_minutes(const struct cli *cli, struct table *table, const cJSON *material, const char *name, const char *field, const char *source)
{
    struct text text = {0};
    if (!isfinite(doc_number(material, field)))
        return;
    say_quantity(cli, &text, QUANTITY_DURATION, doc_number(material, field) * 60.0);
    if (source[0] != '\0')
        text_add(&text, "; %s", source);
    add_figure(table, name, &text);
}

static void say_hottest(struct table *table)
{
    struct text text = {0};
    text_add(&text, "recoat closes by the hottest air since the coat");
    add_figure(table, "closing", &text);
}

static void add_bake(const struct cli *cli, struct table *table, const cJSON *material)
{
    struct text text = {0};
    if (doc_count(material, "bake") == 0)
        return;
    say_rows(cli, &text, doc_get(material, "bake"));
    if (doc_text(material, "bake_source")[0] != '\0')
        text_add(&text, "; %s", doc_text(material, "bake_source"));
    add_figure(table, "oven", &text);
}

static void add_bake_limits(const struct cli *cli, struct table *table, const cJSON *material)
{
    struct text text = {0};
    const cJSON *too_long = doc_get(material, "bake_limits.too_long");
    if (isfinite(doc_number(material, "bake_limits.too_hot_c"))) {
        text_add(&text, "too hot from ");
        say_quantity(cli, &text, QUANTITY_TEMPERATURE, doc_number(material, "bake_limits.too_hot_c"));
    }
    if (cJSON_IsObject(too_long)) {
        text_add(&text, "%stoo long from ", text.length > 0 ? ", " : "");
        say_cure_row(cli, &text, too_long);
    }
    if (text.length > 0)
        text_add(&text, ", by its label");
    add_figure(table, "at most", &text);
}

static void add_thinner(struct table *table, const cJSON *material)
{
    struct text text = {0};
    text_add(&text, "%s", doc_text(material, "thinner"));
    add_figure(table, "thin with", &text);
}

/* What evaporates from it, as its safety data sheet tells, or as it counts where nobody told. */
static void add_composition(struct table *table, const cJSON *material)
{
    struct text text = {0};
    const cJSON *counted = doc_get(material, "composition_counted");
    if (counted == NULL)
        return;
    text_add(&text, "%g %% of it: %s", doc_number(counted, "solvent_pct"), doc_text(counted, "solvent"));
    if (doc_text(counted, "propellant")[0] != '\0')
        text_add(&text, "; %g %% propellant: %s", doc_number(counted, "propellant_pct"), doc_text(counted, "propellant"));
    text_add(&text, " (%s)", doc_text(counted, "note"));
    add_figure(table, "vapour", &text);
}

static void add_hazards(struct table *table, const cJSON *material)
{
    struct text text = {0};
    const cJSON *hazard = NULL;
    cJSON_ArrayForEach(hazard, doc_get(material, "hazards_counted"))
    {
        const char *word = cJSON_GetStringValue(hazard);
        const char *answer = word != NULL ? cJSON_GetStringValue(cJSON_GetObjectItem(doc_get(material, "hazards"), word)) : NULL;
        bool open = answer == NULL || strcmp(answer, "yes") != 0;
        if (word != NULL)
            text_join(&text, ", ", "%s%s", word, open ? " (not answered: counts)" : "");
    }
    if (text.length == 0)
        text_add(&text, "none told; the label comes first");
    add_figure(table, "hazards", &text);
}

static void say_material(struct cli *cli, const cJSON *material)
{
    const cJSON *stage = NULL;
    struct text head = {0};
    text_add(&head, "%s, version %.0f: %s, %s, %s%s%s", doc_text(material, "name"), doc_number(material, "version"),
             doc_text(material, "class"), doc_text(material, "role"), doc_text(material, "application"),
             doc_flag(material, "builtin") ? "; built in" : "", doc_flag(material, "removed") ? "; out of use" : "");
    render_text(&cli->out, 0, 4, head.data);
    struct table *table = table_new(2, 2, 0);
    add_limits(cli, table, material);
    add_law(cli, table, material);
    cJSON_ArrayForEach(stage, doc_get(material, "stages"))
        add_stage(cli, table, stage);
    add_bake(cli, table, material);
    add_bake_limits(cli, table, material);
    if (doc_flag(material, "closes_by_hottest"))
        say_hottest(table);
    add_minutes(cli, table, material, "induction", "induction_min", doc_text(material, "induction_source"));
    add_minutes(cli, table, material, "pot life", "pot_life_min", doc_text(material, "pot_life_source"));
    add_minutes(cli, table, material, "lead", "lead_closing_min", "");
    add_thinner(table, material);
    add_composition(table, material);
    add_hazards(table, material);
    table_print(&cli->out, table);
}

/* The material of the last answer, then what it asks for. */
static int say_answer(struct cli *cli)
{
    int64_t id = doc_id(cli->reply.document, "id");
    if (cli_said_json(cli))
        return CLI_DONE;
    say_material(cli, cli->reply.document);
    int status = cli_get(cli, "/cautions?material=%lld", (long long)id);
    if (status == CLI_DONE)
        say_listed_cautions(cli);
    return status;
}

int cmd_material_answer(struct cli *cli, int status)
{
    return status == CLI_DONE ? say_answer(cli) : status;
}

int cmd_material_show(struct cli *cli)
{
    int64_t id = 0;
    int status = cli_open_shop(cli);
    if (status == CLI_DONE)
        status = names_find_id(cli, NAME_MATERIAL, cli->args.argument[0], &id);
    if (status == CLI_DONE)
        status = cli_get(cli, "/materials/%lld", (long long)id);
    return cmd_material_answer(cli, status);
}

int cmd_material_remove(struct cli *cli)
{
    int64_t id = 0;
    int status = cli_open_shop(cli);
    if (status == CLI_DONE)
        status = names_find_id(cli, NAME_MATERIAL, cli->args.argument[0], &id);
    if (status == CLI_DONE)
        status = cli_send(cli, "DELETE", NULL, "/materials/%lld", (long long)id);
    if (status != CLI_DONE || cli_said_json(cli))
        return status;
    struct text text = {0};
    text_add(&text, "%s is out of use; coats of it keep it", doc_text(cli->reply.document, "name"));
    render_text(&cli->out, 0, 4, text.data);
    return CLI_DONE;
}

/* "2h", or "shop" for the shop's own. */
static int fill_lead(const struct cli *cli, cJSON *body)
{
    const char *told = cli->args.argument[1];
    double lead_s = 0.0;
    if (strcmp(told, "shop") == 0) {
        doc_put(body, "lead_closing_min", cJSON_CreateNull());
        return CLI_DONE;
    }
    int status = cli_parse_quantity(cli, "lead", QUANTITY_DURATION, told, &lead_s);
    if (status == CLI_DONE)
        doc_put_number(body, "lead_closing_min", round(lead_s / 60.0));
    return status;
}

static void say_lead(struct cli *cli, const cJSON *material)
{
    struct text text = {0};
    bool own = doc_get(material, "lead_closing_min") != NULL;
    double lead_min = doc_number(own ? material : doc_get(cli->shop, "shop"), "lead_closing_min");
    text_add(&text, "%s: its windows are told ", doc_text(material, "name"));
    say_quantity(cli, &text, QUANTITY_DURATION, lead_min * 60.0);
    text_add(&text, " before they close%s", own ? "" : ", as the shop has it");
    render_text(&cli->out, 0, 4, text.data);
}

int cmd_material_lead(struct cli *cli)
{
    int64_t id = 0;
    cJSON *body = cJSON_CreateObject();
    int status = fill_lead(cli, body);
    if (status == CLI_DONE)
        status = cli_open_shop(cli);
    if (status == CLI_DONE)
        status = names_find_id(cli, NAME_MATERIAL, cli->args.argument[0], &id);
    status = cli_send_filled(cli, status, "POST", body, "/materials/%lld/lead", (long long)id);
    if (status == CLI_DONE && !cli_said_json(cli))
        say_lead(cli, cli->reply.document);
    return status;
}
