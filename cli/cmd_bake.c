/* coat bake: the review before a load goes into an oven, its answers, start and end; one that was done without. */
#include "cli/bake.h"

#include <math.h>
#include <string.h>

#define WORD_MAX 64

/* ---- what is baked ---- */

/* The newest coat that lies on top of a piece; 0. */
static int64_t top_coat(const struct cli *cli, int64_t piece_id)
{
    const cJSON *coat = NULL;
    int64_t newest = 0;
    cJSON_ArrayForEach(coat, doc_get(cli->shop, "coats"))
        if (doc_id(coat, "piece") == piece_id && doc_is(coat, "status", "on") && doc_id(coat, "id") > newest)
            newest = doc_id(coat, "id");
    return newest;
}

static void add_coat(cJSON *parts, int64_t coat_id)
{
    cJSON *part = cJSON_CreateObject();
    doc_put_number(part, "coat", (double)coat_id);
    cJSON_AddItemToArray(parts, part);
}

/* "12", or pieces and racks by name: of each piece the coat on top. */
static int find_parts(const struct cli *cli, const char *text, cJSON *parts)
{
    int64_t coat_id = 0;
    const cJSON *piece = NULL;
    if (cli_is_number(text)) {
        int status = cli_parse_coat(cli, text, &coat_id);
        add_coat(parts, coat_id);
        return status;
    }
    cJSON *pieces = cJSON_CreateArray();
    int status = names_find_pieces(cli, text, pieces);
    cJSON_ArrayForEach(piece, pieces) {
        coat_id = top_coat(cli, (int64_t)piece->valuedouble);
        if (coat_id == 0 && status == CLI_DONE)
            status = cli_fail(cli, CLI_USAGE, "%s has no coat on it: log it first", names_of(cli, "pieces", (int64_t)piece->valuedouble, "it"));
        add_coat(parts, coat_id);
    }
    cJSON_Delete(pieces);
    return status;
}

/* Figures of the castings: the same for all that are told at once. */
static const struct {
    const char *option, *field;
    enum quantity quantity;
    double divisor;
} figures[] = {{"--mass", "mass_kg", QUANTITY_MASS, 1000.0}, {"--area", "area_m2", QUANTITY_AREA, 1.0}, {"--wall", "wall_mm", QUANTITY_LENGTH, 1.0}};

static int add_figures(const struct cli *cli, cJSON *part)
{
    int status = CLI_DONE;
    for (size_t i = 0; status == CLI_DONE && i < sizeof figures / sizeof *figures; i++) {
        const char *text = args_option(&cli->args, figures[i].option);
        double value = 0.0;
        if (text == NULL)
            continue;
        status = cli_parse_quantity(cli, figures[i].option, figures[i].quantity, text, &value);
        doc_put_number(part, figures[i].field, value / figures[i].divisor);
    }
    return status;
}

static int complete_parts(const struct cli *cli, cJSON *parts)
{
    cJSON *part = NULL;
    int64_t probe = 0;
    const char *metal = args_option(&cli->args, "--metal"), *sensor = args_option(&cli->args, "--probe");
    int status = sensor != NULL ? names_find_id(cli, NAME_SENSOR, sensor, &probe) : CLI_DONE;
    cJSON_ArrayForEach(part, parts) {
        if (status == CLI_DONE)
            status = add_figures(cli, part);
        if (metal != NULL)
            doc_put_text(part, "metal", metal);
        if (probe != 0)
            doc_put_number(part, "probe", (double)probe);
    }
    return status;
}

/* ---- the programme ---- */

static int add_minutes(const struct cli *cli, const char *text, cJSON *step, const char *field)
{
    double seconds = 0.0;
    int status = cli_parse_quantity(cli, "--step", QUANTITY_DURATION, text, &seconds);
    doc_put_number(step, field, seconds / 60.0);
    return status;
}

/* "150C", "150C,2h" or "150C,2h,40min": how hot, how long from when the part is there, how long to get there. */
static int add_step(const struct cli *cli, cJSON *steps, const char *text)
{
    char words[WORD_MAX], *rest = words;
    double target_c = 0.0;
    cJSON *step = cJSON_CreateObject();
    snprintf(words, sizeof words, "%s", text);
    cJSON_AddItemToArray(steps, step);
    int status = cli_parse_quantity(cli, "--step", QUANTITY_TEMPERATURE, strsep(&rest, ","), &target_c);
    doc_put_number(step, "target_c", target_c);
    if (status == CLI_DONE && rest != NULL)
        status = add_minutes(cli, strsep(&rest, ","), step, "hold_min");
    if (status == CLI_DONE && rest != NULL)
        status = add_minutes(cli, strsep(&rest, ","), step, "ramp_min");
    if (status == CLI_DONE && args_option(&cli->args, "--hot") != NULL && cJSON_GetArraySize(steps) == 1)
        doc_put_number(step, "ramp_min", 0.0);
    if (status == CLI_DONE && rest != NULL)
        return cli_fail(cli, CLI_USAGE, "--step %s: write how hot, how long, and how long to get there, as in 150C,2h,40min", text);
    return status;
}

static int add_steps(const struct cli *cli, cJSON *body)
{
    unsigned cursor = 0;
    int status = CLI_DONE;
    const char *text = args_next(&cli->args, "--step", &cursor);
    cJSON *steps = cJSON_CreateArray();
    if (text == NULL && args_option(&cli->args, "--hot") != NULL)
        status = cli_fail(cli, CLI_USAGE, "--hot says that the oven is hot already: how hot? Write --step 150C with it");
    for (; text != NULL && status == CLI_DONE; text = args_next(&cli->args, "--step", &cursor))
        status = add_step(cli, steps, text);
    doc_put(body, "steps", steps);
    return status;
}

static int add_oven_air(const struct cli *cli, cJSON *body)
{
    bool fan = args_option(&cli->args, "--fan") != NULL, still = args_option(&cli->args, "--still") != NULL;
    if (fan && still)
        return cli_fail(cli, CLI_USAGE, "--fan and --still contradict each other: give one of them");
    if (fan || still)
        doc_put_text(body, "oven_air", fan ? "fan" : "still");
    return CLI_DONE;
}

static int fill_load(struct cli *cli, cJSON *body)
{
    int64_t place = 0;
    cJSON *parts = cJSON_CreateArray();
    doc_put(body, "parts", parts);
    int status = names_find_id(cli, NAME_PLACE, cli->args.argument[1], &place);
    doc_put_number(body, "place", (double)place);
    if (status == CLI_DONE)
        status = find_parts(cli, cli->args.argument[0], parts);
    if (status == CLI_DONE)
        status = complete_parts(cli, parts);
    if (status == CLI_DONE)
        status = add_steps(cli, body);
    if (status == CLI_DONE)
        status = add_oven_air(cli, body);
    return status == CLI_DONE ? cli_add_fields(cli, body) : status;
}

/* ---- answers ---- */

/* "degreased,cut-out": each an answer. */
static void add_answers_of(const char *text, const char *answer, cJSON *answers)
{
    while (*text != '\0') {
        char about[WORD_MAX];
        size_t length = strcspn(text, ",");
        snprintf(about, sizeof about, "%.*s", (int)(length < sizeof about ? length : sizeof about - 1), text);
        cJSON *one = cJSON_CreateObject();
        doc_put_text(one, "about", about);
        doc_put_text(one, "answer", answer);
        cJSON_AddItemToArray(answers, one);
        text += length + (text[length] == ',');
    }
}

static cJSON *answers_given(const struct cli *cli)
{
    static const struct {
        const char *option, *answer;
    } kinds[] = {{"--yes", "yes"}, {"--no", "no"}, {"--has", "yes"}, {"--free-of", "no"}};
    cJSON *answers = cJSON_CreateArray();
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++) {
        unsigned cursor = 0;
        for (const char *text = args_next(&cli->args, kinds[i].option, &cursor); text != NULL; text = args_next(&cli->args, kinds[i].option, &cursor))
            add_answers_of(text, kinds[i].answer, answers);
    }
    return answers;
}

static int send_answers(struct cli *cli, int64_t bake_id)
{
    cJSON *answers = answers_given(cli), *body = NULL;
    if (cJSON_GetArraySize(answers) == 0) {
        cJSON_Delete(answers);
        return CLI_DONE;
    }
    body = cJSON_CreateObject();
    doc_put(body, "answers", answers);
    return cli_send(cli, "POST", body, "/bakes/%lld/answers", (long long)bake_id);
}

static int parse_bake(const struct cli *cli, const char *text, int64_t *ret_id)
{
    *ret_id = cli_number(text);
    if (*ret_id < 1)
        return cli_fail(cli, CLI_USAGE, "\"%s\" is not the number of a bake: coat bake show lists them", text);
    return CLI_DONE;
}

static int shown(struct cli *cli, int status)
{
    if (status != CLI_DONE || cli_said_json(cli))
        return status;
    bake_say_whole(cli, cli->reply.document);
    return CLI_DONE;
}

static int begin_review(struct cli *cli)
{
    cJSON *body = cJSON_CreateObject();
    int status = fill_load(cli, body);
    status = cli_send_filled(cli, status, "POST", body, "/bakes");
    return status == CLI_DONE ? send_answers(cli, doc_id(cli->reply.document, "id")) : status;
}

static int continue_review(struct cli *cli)
{
    int64_t id = 0;
    int status = parse_bake(cli, cli->args.argument[0], &id);
    if (status == CLI_DONE)
        status = cli_get(cli, "/bakes/%lld", (long long)id);
    return status == CLI_DONE ? send_answers(cli, id) : status;
}

int cmd_bake_check(struct cli *cli)
{
    int status = cli_open_shop(cli);
    if (status == CLI_DONE)
        status = cli->args.count == 2 ? begin_review(cli) : continue_review(cli);
    return shown(cli, status);
}

int cmd_bake_log(struct cli *cli)
{
    int status = cli_open_shop(cli);
    cJSON *body = cJSON_CreateObject();
    if (status == CLI_DONE)
        status = fill_load(cli, body);
    if (status == CLI_DONE && (doc_moment(body, "started_at") == MOMENT_NONE || cJSON_GetArraySize(doc_get(body, "steps")) == 0))
        status = cli_fail(cli, CLI_USAGE, "when, and how hot? Write --from 14:00 --to 17:00 --step 150C");
    if (status == CLI_DONE && doc_moment(body, "ended_at") == MOMENT_NONE)
        doc_put_moment(body, "ended_at", cli->now_ms);
    return shown(cli, cli_send_filled(cli, status, "POST", body, "/bakes"));
}

/* ---- start, end, look ---- */

static int change(struct cli *cli, const char *verb)
{
    int64_t id = 0;
    cJSON *body = cJSON_CreateObject();
    int status = cli_open_shop(cli);
    if (status == CLI_DONE)
        status = parse_bake(cli, cli->args.argument[0], &id);
    if (status == CLI_DONE)
        status = cli_add_fields(cli, body);
    return shown(cli, cli_send_filled(cli, status, "POST", body, "/bakes/%lld/%s", (long long)id, verb));
}

int cmd_bake_start(struct cli *cli)
{
    return change(cli, "start");
}

int cmd_bake_stop(struct cli *cli)
{
    return change(cli, "stop");
}

int cmd_bake_resume(struct cli *cli)
{
    return change(cli, "resume");
}

int cmd_bake_show(struct cli *cli)
{
    int64_t id = 0;
    int status = cli_open_shop(cli);
    if (status == CLI_DONE && cli->args.count == 0) {
        status = cli_get(cli, args_option(&cli->args, "--all") != NULL ? "/bakes?all=1" : "/bakes");
        if (status == CLI_DONE && !cli_said_json(cli))
            bake_say_list(cli, cli->reply.document);
        return status;
    }
    if (status == CLI_DONE)
        status = parse_bake(cli, cli->args.argument[0], &id);
    return shown(cli, status == CLI_DONE ? cli_get(cli, "/bakes/%lld", (long long)id) : status);
}
