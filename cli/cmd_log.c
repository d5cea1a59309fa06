/* coat log, coat amend: what was put on, when and how. */
#include "cli/say.h"

#include <string.h>

#define THINNER_LONG 64

/* "10%:white spirit" or "10%" */
static int add_thinned(const struct cli *cli, cJSON *body)
{
    const char *text = args_option(&cli->args, "--thinned");
    double share_pct = 0.0;
    struct text share = {0};
    if (text == NULL)
        return CLI_DONE;
    size_t length = strcspn(text, ":");
    text_add(&share, "%.*s", (int)(length < 64 ? length : 64), text);
    int status = cli_parse_quantity(cli, "--thinned", QUANTITY_SHARE, share.data, &share_pct);
    if (status != CLI_DONE)
        return status;
    doc_put_number(body, "thinned_pct", share_pct);
    if (text[length] == ':')
        doc_put_text(body, "thinner", text + length + 1);
    return CLI_DONE;
}

static int add_named(const struct cli *cli, cJSON *body, const char *option, const char *field, enum name_kind kind)
{
    const char *text = args_option(&cli->args, option);
    int64_t id = 0;
    if (text == NULL)
        return CLI_DONE;
    int status = names_find_id(cli, kind, text, &id);
    if (status == CLI_DONE)
        doc_put_number(body, field, (double)id);
    return status;
}

/* `--tin none` takes back what an entry named. */
static int add_tin(const struct cli *cli, cJSON *body)
{
    const char *text = args_option(&cli->args, "--tin");
    if (text == NULL || strcmp(text, "none") != 0)
        return add_named(cli, body, "--tin", "tin", NAME_TIN);
    doc_put(body, "tin", cJSON_CreateNull());
    return CLI_DONE;
}

static int add_air(const struct cli *cli, cJSON *body)
{
    const char *text = args_option(&cli->args, "--air");
    struct coat_error error = {0};
    double temp_c = 0.0, rh_pct = 0.0;
    if (text == NULL)
        return CLI_DONE;
    if (quantity_parse_air(text, &temp_c, &rh_pct, &error) != COAT_OK)
        return cli_fail(cli, CLI_USAGE, "--air: %s", error.text);
    doc_put_number(body, "air.temp_c", temp_c);
    doc_put_number(body, "air.rh_pct", rh_pct);
    return CLI_DONE;
}

/* What contradicts itself is asked back rather than guessed. */
static int check_options(const struct cli *cli)
{
    static const char *const pairs[][2] = {{"--at", "--from"}, {"--at", "--to"}, {"--wet", "--dry"},
                                           {"--film", "--wet"}, {"--film", "--dry"}};
    for (size_t i = 0; i < sizeof pairs / sizeof *pairs; i++) {
        if (args_option(&cli->args, pairs[i][0]) != NULL && args_option(&cli->args, pairs[i][1]) != NULL)
            return cli_fail(cli, CLI_USAGE, "%s and %s say the same thing twice: give one of them", pairs[i][0],
                            pairs[i][1]);
    }
    return CLI_DONE;
}

/* A single moment is both ends; without --from it is the last pass that is told. */
static void settle_moments(const struct cli *cli, cJSON *body)
{
    int64_t last = doc_moment(body, "last_at"), first = doc_moment(body, "first_at");
    if (args_option(&cli->args, "--at") != NULL)
        doc_put_moment(body, "first_at", last);
    if (first != MOMENT_NONE && last == MOMENT_NONE && cli->command->run == cmd_log)
        doc_put_moment(body, "last_at", cli->now_ms);
}

static int add_options(struct cli *cli, cJSON *body)
{
    int status = check_options(cli);
    if (status == CLI_DONE)
        status = cli_add_fields(cli, body);
    if (status == CLI_DONE)
        status = add_thinned(cli, body);
    if (status == CLI_DONE)
        status = add_named(cli, body, "--place", "place", NAME_PLACE);
    if (status == CLI_DONE)
        status = add_tin(cli, body);
    if (status == CLI_DONE)
        status = add_air(cli, body);
    if (status == CLI_DONE)
        settle_moments(cli, body);
    return status;
}

/* ---- what is shown afterwards ---- */

/* The stages that a hand asks about first; coat show has them all. */
static const char *const told_stages[] = {"dust-free", "recoat", "leaf", "handle", "bake", NULL};

static void say_stages(const struct cli *cli, struct text *text, const cJSON *coat)
{
    const cJSON *stage = NULL;
    cJSON_ArrayForEach(stage, doc_get(coat, "stages"))
    {
        struct text phrase = {0}, flags = {0};
        if (!word_is_among(doc_text(stage, "stage"), told_stages) || doc_is(stage, "state", "used"))
            continue; /* what lies over it is told with the coat */
        say_stage(cli, &phrase, stage);
        say_flags(cli, &flags, stage);
        text_join(text, "\n", "%s %s%s%s", doc_text(stage, "stage"), phrase.data, flags.length > 0 ? "; " : "", flags.data);
    }
}

static void print_lines(struct cli *cli, char *lines)
{
    char *rest = lines;
    for (char *line = strsep(&rest, "\n"); line != NULL && *line != '\0'; line = strsep(&rest, "\n"))
        render_text(&cli->out, 4, 6, line);
}

/* `before` holds the lines of the coat that was told before this one: a rack of like pieces has them once. */
static void say_logged(struct cli *cli, const cJSON *coat, struct text *before)
{
    struct text head = {0}, stages = {0};
    text_add(&head, "%lld ", (long long)doc_id(coat, "id"));
    say_coat(cli, &head, coat);
    say_stages(cli, &stages, coat);
    if (doc_id(coat, "covered_by") != 0)
        text_add(&head, "; coat %lld lies over it", (long long)doc_id(coat, "covered_by"));
    bool same = before->length > 0 && strcmp(before->data, stages.data) == 0;
    text_add(&head, "%s", same ? "; the same times" : "");
    render_text(&cli->out, 0, 4, head.data);
    if (doc_flag(coat, "tin.past_keep_by"))
        say_past_keep_by(cli, doc_get(coat, "tin"));
    *before = stages;
    if (!same)
        print_lines(cli, stages.data);
}

/* Cautions of all coats of one answer are the same kind of coat: those of the first come first, each once. */
static cJSON *merge_codes(const cJSON *coats)
{
    cJSON *merged = cJSON_CreateArray();
    const cJSON *coat = NULL, *code = NULL, *known = NULL;
    cJSON_ArrayForEach(coat, coats)
    {
        cJSON_ArrayForEach(code, doc_get(coat, "cautions"))
        {
            const char *word = cJSON_GetStringValue(code);
            bool there = word == NULL;
            cJSON_ArrayForEach(known, merged)
                there = there || strcmp(known->valuestring, word) == 0;
            if (!there)
                cJSON_AddItemToArray(merged, cJSON_CreateString(word));
        }
    }
    return merged;
}

int cmd_log(struct cli *cli)
{
    const char *const *word = cli->args.argument;
    int64_t material = 0;
    int status = cli_open_shop(cli);
    if (status != CLI_DONE)
        return status;
    cJSON *body = cJSON_CreateObject();
    cJSON *pieces = cJSON_AddArrayToObject(body, "pieces");
    status = names_find_pieces(cli, word[0], pieces);
    if (status == CLI_DONE)
        status = names_find_id(cli, NAME_MATERIAL, word[1], &material);
    doc_put_number(body, "material", (double)material);
    if (status == CLI_DONE)
        status = add_options(cli, body);
    status = cli_send_filled(cli, status, "POST", body, "/coats");
    if (status != CLI_DONE || cli_said_json(cli))
        return status;
    struct text before = {0};
    const cJSON *coat = NULL, *coats = doc_get(cli->reply.document, "items");
    cJSON_ArrayForEach(coat, coats)
        say_logged(cli, coat, &before);
    cJSON *codes = merge_codes(coats);
    say_cautions(cli, cli->reply.document, codes, 0);
    cJSON_Delete(codes);
    say_vapour_of(cli, cli->reply.document);
    return CLI_DONE;
}

/* ---- amend ---- */

static int add_corrections(struct cli *cli, cJSON *body)
{
    int status = add_options(cli, body);
    if (status == CLI_DONE)
        status = add_named(cli, body, "--piece", "piece", NAME_PIECE);
    if (status == CLI_DONE)
        status = add_named(cli, body, "--material", "material", NAME_MATERIAL);
    if (status == CLI_DONE && cJSON_GetArraySize(body) == 0)
        return cli_fail(cli, CLI_USAGE, "what is to be corrected? `coat amend --help` lists the options");
    return status;
}

int cmd_amend(struct cli *cli)
{
    int64_t id = 0;
    int status = cli_parse_coat(cli, cli->args.argument[0], &id);
    if (status == CLI_DONE)
        status = cli_open_shop(cli);
    if (status != CLI_DONE)
        return status;
    cJSON *body = cJSON_CreateObject();
    status = add_corrections(cli, body);
    status = cli_send_filled(cli, status, "PATCH", body, "/coats/%lld", (long long)id);
    if (status != CLI_DONE || cli_said_json(cli))
        return status;
    struct text before = {0};
    const cJSON *coat = doc_get(cli->reply.document, "coat");
    say_logged(cli, coat, &before);
    say_cautions(cli, cli->reply.document, doc_get(coat, "cautions"), 0);
    return CLI_DONE;
}
