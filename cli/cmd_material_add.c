/* coat material add, edit: a label, typed in the order in which labels print things. */
#include "cli/say.h"

#include "coat/material.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LABEL_TEMP_C 21.0 /* what labels mean by room temperature: 70 F */
#define ROW_TEXT_SIZE 64

static cJSON *make_row(double temp_c, double hours)
{
    cJSON *row = cJSON_CreateObject();
    doc_put_number(row, "temp_c", temp_c);
    doc_put_number(row, "hours", hours);
    return row;
}

/* What a label prints is the floor of an opening and the ceiling of a closing as well as a row of its table. */
static cJSON *make_boundary(const struct stage_boundary *parsed)
{
    cJSON *boundary = cJSON_CreateObject();
    doc_put_text(boundary, "then", span_do_word(parsed->then));
    cJSON *rows = cJSON_AddArrayToObject(boundary, "rows");
    for (unsigned i = 0; i < parsed->rows; i++)
        cJSON_AddItemToArray(rows, make_row(parsed->row[i].temp_c, parsed->row[i].hours));
    doc_put_number(boundary, "label_h", isfinite(parsed->label_h) ? parsed->label_h : parsed->row[0].hours);
    return boundary;
}

static cJSON *make_stage(const char *name, const struct stage_table *parsed)
{
    cJSON *stage = cJSON_CreateObject();
    doc_put_text(stage, "stage", name);
    doc_put_text(stage, "first", span_do_word(parsed->first));
    cJSON *boundaries = cJSON_AddArrayToObject(stage, "boundaries");
    for (unsigned i = 0; i < parsed->boundaries; i++)
        cJSON_AddItemToArray(boundaries, make_boundary(&parsed->boundary[i]));
    return stage;
}

static int find_stage(const cJSON *stages, const char *name)
{
    for (int i = 0; i < cJSON_GetArraySize(stages); i++) {
        if (doc_is(cJSON_GetArrayItem(stages, i), "stage", name))
            return i;
    }
    return -1;
}

static void put_stage(cJSON *stages, const char *name, cJSON *stage)
{
    int at = find_stage(stages, name);
    if (at >= 0)
        cJSON_DeleteItemFromArray(stages, at);
    cJSON_AddItemToArray(stages, stage);
}

static int add_windows(const struct cli *cli, cJSON *stages, double temp_c)
{
    for (const char *const *name = stage_words; *name != NULL; name++) {
        char option[ROW_TEXT_SIZE];
        struct coat_error error = {0};
        struct stage_table parsed = {0};
        snprintf(option, sizeof option, "--%s", *name);
        const char *text = args_option(&cli->args, option);
        if (text == NULL)
            continue;
        if (window_parse(text, temp_c, &parsed, &error) != COAT_OK)
            return cli_fail(cli, CLI_USAGE, "%s: %s", option, error.text);
        put_stage(stages, *name, make_stage(*name, &parsed));
    }
    return CLI_DONE;
}

/* ---- rows ---- */

/* "recoat:10C=8h" or "recoat.2:10C=8h" */
struct row_text {
    char stage[ROW_TEXT_SIZE];
    int boundary;
    const char *row;
};

static bool split_row(const char *text, struct row_text *ret)
{
    size_t colon = strcspn(text, ":");
    if (text[colon] != ':' || colon == 0 || colon >= sizeof ret->stage)
        return false;
    snprintf(ret->stage, sizeof ret->stage, "%.*s", (int)colon, text);
    ret->row = text + colon + 1;
    ret->boundary = 1;
    char *dot = strchr(ret->stage, '.');
    if (dot == NULL)
        return true;
    *dot = '\0';
    ret->boundary = cli_is_number(dot + 1) && strlen(dot + 1) < 3 ? atoi(dot + 1) : 0;
    return ret->boundary >= 1 && ret->boundary <= MATERIAL_BOUNDARIES_MAX;
}

/* Rows rise in temperature; one for the same temperature replaces it. */
static void insert_row(cJSON *rows, double temp_c, double hours)
{
    int at = 0;
    while (at < cJSON_GetArraySize(rows) && doc_number(cJSON_GetArrayItem(rows, at), "temp_c") < temp_c)
        at++;
    if (at < cJSON_GetArraySize(rows) && doc_number(cJSON_GetArrayItem(rows, at), "temp_c") <= temp_c)
        cJSON_DeleteItemFromArray(rows, at);
    cJSON_InsertItemInArray(rows, at, make_row(temp_c, hours));
}

static cJSON *rows_of(cJSON *stages, const struct row_text *row)
{
    int at = find_stage(stages, row->stage);
    if (at < 0 && row->boundary == 1) { /* a stage told by its table alone opens once, and has no label hour beside it */
        struct stage_table table = {.first = SPAN_WAIT, .boundaries = 1, .boundary = {{.then = SPAN_GO, .label_h = (double)NAN}}};
        cJSON *stage = make_stage(row->stage, &table);
        cJSON_DeleteItemFromObject(cJSON_GetArrayItem(cJSON_GetObjectItem(stage, "boundaries"), 0), "label_h");
        cJSON_AddItemToArray(stages, stage);
        at = cJSON_GetArraySize(stages) - 1;
    }
    cJSON *boundaries = cJSON_GetObjectItem(cJSON_GetArrayItem(stages, at), "boundaries");
    return cJSON_GetObjectItem(cJSON_GetArrayItem(boundaries, row->boundary - 1), "rows");
}

static int add_row(const struct cli *cli, cJSON *stages, const char *text)
{
    struct row_text split = {0};
    struct coat_error error = {0};
    double temp_c = 0.0, hours = 0.0;
    if (!split_row(text, &split) || !word_is_among(split.stage, stage_words))
        return cli_fail(cli, CLI_USAGE, "--row: \"%.60s\" names no stage: write it like recoat:10C=8h", text);
    if (quantity_parse_row(split.row, &temp_c, &hours, &error) != COAT_OK)
        return cli_fail(cli, CLI_USAGE, "--row: %s", error.text);
    cJSON *rows = rows_of(stages, &split);
    if (rows == NULL)
        return cli_fail(cli, CLI_USAGE, "--row: %s has no moment %d: give its window first, --%s \"within 1h or after 48h\"",
                        split.stage, split.boundary, split.stage);
    insert_row(rows, temp_c, hours);
    return CLI_DONE;
}

static int add_rows(const struct cli *cli, cJSON *stages)
{
    unsigned cursor = 0;
    int status = CLI_DONE;
    const char *text = args_next(&cli->args, "--row", &cursor);
    for (; text != NULL && status == CLI_DONE; text = args_next(&cli->args, "--row", &cursor))
        status = add_row(cli, stages, text);
    return status;
}

static int add_bake_rows(const struct cli *cli, cJSON *body)
{
    unsigned cursor = 0;
    const char *text = args_next(&cli->args, "--bake-row", &cursor);
    cJSON *rows = text != NULL ? cJSON_CreateArray() : NULL;
    for (; text != NULL; text = args_next(&cli->args, "--bake-row", &cursor)) {
        struct coat_error error = {0};
        double temp_c = 0.0, hours = 0.0;
        if (quantity_parse_row(text, &temp_c, &hours, &error) != COAT_OK) {
            cJSON_Delete(rows);
            return cli_fail(cli, CLI_USAGE, "--bake-row: %s", error.text);
        }
        insert_row(rows, temp_c, hours);
    }
    doc_put(body, "bake", rows);
    return CLI_DONE;
}

static bool is_none(const char *text)
{
    return strcmp(text, "none") == 0;
}

static int add_too_hot(const struct cli *cli, cJSON *body)
{
    double temp_c = 0.0;
    const char *text = args_option(&cli->args, "--too-hot");
    int status = text != NULL && !is_none(text) ? cli_parse_quantity(cli, "--too-hot", QUANTITY_TEMPERATURE, text, &temp_c) : CLI_DONE;
    if (text != NULL && status == CLI_DONE)
        doc_put(body, "bake_limits.too_hot_c", is_none(text) ? cJSON_CreateNull() : cJSON_CreateNumber(temp_c));
    return status;
}

static int add_bake_limits(const struct cli *cli, cJSON *body)
{
    struct coat_error error = {0};
    double temp_c = 0.0, hours = 0.0;
    int status = add_too_hot(cli, body);
    const char *text = args_option(&cli->args, "--too-long");
    if (status != CLI_DONE || text == NULL)
        return status;
    if (!is_none(text) && quantity_parse_row(text, &temp_c, &hours, &error) != COAT_OK)
        return cli_fail(cli, CLI_USAGE, "--too-long: %s", error.text);
    doc_put(body, "bake_limits.too_long", is_none(text) ? cJSON_CreateNull() : make_row(temp_c, hours));
    return CLI_DONE;
}

/* All of --solvent as one text: "toluene=60%, acetone=40%". */
static void add_solvents(const struct cli *cli, cJSON *body)
{
    unsigned cursor = 0;
    struct text list = {0};
    const char *one = args_next(&cli->args, "--solvent", &cursor);
    if (one == NULL)
        return;
    if (is_none(one)) {
        doc_put(body, "composition", cJSON_CreateNull());
        return;
    }
    for (; one != NULL; one = args_next(&cli->args, "--solvent", &cursor))
        text_join(&list, ", ", "%s", one);
    doc_put_text(body, "composition.solvent", list.data);
}

/* ---- the whole ---- */

static int add_options(struct cli *cli, cJSON *body)
{
    double temp_c = LABEL_TEMP_C;
    const char *at = args_option(&cli->args, "--at");
    cJSON *stages = cJSON_GetObjectItem(body, "stages");
    int status = at != NULL ? cli_parse_quantity(cli, "--at", QUANTITY_TEMPERATURE, at, &temp_c) : CLI_DONE;
    if (status == CLI_DONE)
        status = cli_add_fields(cli, body);
    if (status == CLI_DONE)
        status = add_windows(cli, stages, temp_c);
    if (status == CLI_DONE)
        status = add_rows(cli, stages);
    if (status == CLI_DONE)
        status = add_bake_rows(cli, body);
    if (status == CLI_DONE)
        status = add_bake_limits(cli, body);
    if (status == CLI_DONE)
        add_solvents(cli, body);
    if (status == CLI_DONE)
        status = cli_add_answers(cli, body, "--hazard", "hazards", hazard_words);
    return status;
}

int cmd_material_add(struct cli *cli)
{
    if (args_option(&cli->args, "--class") == NULL) {
        struct text list = {0};
        words_list(&list, class_words);
        return cli_fail(cli, CLI_USAGE, "--class is missing: give the class it is nearest to, one of %s", list.data);
    }
    int status = cli_open_shop(cli);
    if (status != CLI_DONE)
        return status;
    cJSON *body = cJSON_CreateObject();
    doc_put_text(body, "name", cli->args.argument[0]);
    cJSON_AddArrayToObject(body, "stages");
    status = add_options(cli, body);
    return cmd_material_answer(cli, cli_send_filled(cli, status, "POST", body, "/materials"));
}

/* ---- edit ---- */

/* Copies the members that a person told; what was filled in or is null is left out, so that it is filled in anew. */
static void copy_member(cJSON *body, const cJSON *material, const char *name)
{
    const cJSON *item = doc_get(material, name);
    if (item == NULL)
        return;
    cJSON *copy = cJSON_Duplicate(item, true);
    for (cJSON *inner = cJSON_IsObject(copy) ? copy->child : NULL; inner != NULL;) {
        cJSON *next = inner->next;
        if (cJSON_IsNull(inner))
            cJSON_Delete(cJSON_DetachItemViaPointer(copy, inner));
        inner = next;
    }
    doc_put(body, name, copy);
}

static bool is_told(const cJSON *stage)
{
    const cJSON *boundary = NULL;
    cJSON_ArrayForEach(boundary, doc_get(stage, "boundaries"))
    {
        if (!doc_is(boundary, "basis", "label"))
            return false;
    }
    return true;
}

static void copy_stages(cJSON *stages, const cJSON *material)
{
    const cJSON *stage = NULL;
    cJSON *boundary = NULL;
    cJSON_ArrayForEach(stage, doc_get(material, "stages"))
    {
        if (!is_told(stage))
            continue;
        cJSON *copy = cJSON_Duplicate(stage, true);
        cJSON_ArrayForEach(boundary, cJSON_GetObjectItem(copy, "boundaries"))
        {
            cJSON_DeleteItemFromObject(boundary, "basis");
            cJSON_DeleteItemFromObject(boundary, "disputed");
            cJSON_DeleteItemFromObject(boundary, "source");
        }
        cJSON_AddItemToArray(stages, copy);
    }
}

static cJSON *make_next_version(const cJSON *material)
{
    static const char *const members[] = {"name", "class", "application", "role", "rule", "ref_rh_pct", "limits",
                                          "film", "guard", "closes_by_hottest", "induction_min", "pot_life_min", "composition", "bake_limits", "thinner", "hazards"};
    cJSON *body = cJSON_CreateObject();
    for (size_t i = 0; i < sizeof members / sizeof *members; i++)
        copy_member(body, material, members[i]);
    if (doc_is(material, "doubling_basis", "label"))
        copy_member(body, material, "doubling_c");
    if (doc_text(material, "bake_source")[0] == '\0')
        copy_member(body, material, "bake");
    copy_stages(cJSON_AddArrayToObject(body, "stages"), material);
    return body;
}

int cmd_material_edit(struct cli *cli)
{
    int64_t id = 0;
    int status = cli_open_shop(cli);
    if (status == CLI_DONE)
        status = names_find_id(cli, NAME_MATERIAL, cli->args.argument[0], &id);
    if (status == CLI_DONE && cli->args.given_count == 0)
        return cli_fail_unchanged(cli);
    if (status == CLI_DONE)
        status = cli_get(cli, "/materials/%lld", (long long)id);
    if (status != CLI_DONE)
        return status;
    cJSON *body = make_next_version(cli->reply.document);
    status = add_options(cli, body);
    return cmd_material_answer(cli, cli_send_filled(cli, status, "PUT", body, "/materials/%lld", (long long)id));
}
