/* coat show: a coat with its stages and cautions, or a piece with its coats. */
#include "cli/bake.h"
#include "cli/say.h"
#include "cli/say_why.h"

#include <math.h>
#include <string.h>

#define STAGE_COLUMNS 4
#define COAT_COLUMNS 4

static void say_progress(struct text *text, const cJSON *stage)
{
    double progress = doc_number(stage, "progress");
    if (isfinite(progress) && progress < 1.0)
        text_add(text, "%.0f %%", floor(progress * 100.0)); /* never "100 %" before it is there */
}

static void say_air_hours(const struct cli *cli, struct text *text, const cJSON *stage)
{
    struct phrase phrase = say_begin(cli);
    phrase_air_hours(&phrase, doc_number(stage, "air.measured_h"), doc_number(stage, "air.assumed_h"));
    say_phrase(text, &phrase);
}

/* Most stages stand on the same air: then it is told once, under the table. */
static bool share_air(const struct cli *cli, const cJSON *stages, struct text *ret)
{
    const cJSON *stage = NULL;
    bool first = true;
    cJSON_ArrayForEach(stage, stages)
    {
        struct text text = {0};
        say_air_hours(cli, &text, stage);
        if (!first && strcmp(text.data, ret->data) != 0)
            return false;
        *ret = text;
        first = false;
    }
    return true;
}

static void add_stage(const struct cli *cli, struct table *table, const cJSON *stage, bool with_air)
{
    struct text progress = {0}, phrase = {0}, flags = {0}, air = {0};
    bool over = doc_is(stage, "state", "used") || doc_is(stage, "state", "missed");
    say_progress(&progress, stage);
    say_stage(cli, &phrase, stage);
    say_flags(cli, &flags, stage);
    say_air_hours(cli, &air, stage);
    if (flags.length > 0 && !over)
        text_join(&phrase, "; ", "%s", flags.data);
    if (with_air && air.length > 0)
        text_join(&phrase, "; ", "air %s", air.data);
    table_row(table, voice_of_state(doc_text(stage, "state")),
              (const char *[]){doc_text(stage, "stage"), doc_text(stage, "state"), progress.data, phrase.data});
}

static void say_stages(struct cli *cli, const cJSON *coat)
{
    const cJSON *stage = NULL;
    struct text air = {0}, line = {0};
    bool shared = share_air(cli, doc_get(coat, "stages"), &air);
    struct table *table = table_new(STAGE_COLUMNS, 4, 1);
    cJSON_ArrayForEach(stage, doc_get(coat, "stages"))
        add_stage(cli, table, stage, !shared);
    table_print(&cli->out, table);
    text_add(&line, "The air behind this: %s.", air.length > 0 ? air.data : "none yet");
    if (shared)
        render_text(&cli->out, 4, 4, line.data);
}

static void say_status(const struct cli *cli, struct text *text, const cJSON *coat)
{
    const char *status = doc_text(coat, "status"), *stall = doc_text(coat, "stall");
    text_add(text, "%s", status);
    if (doc_id(coat, "covered_by") != 0)
        text_add(text, " by coat %lld", (long long)doc_id(coat, "covered_by"));
    if (doc_moment(coat, "ended_at") != MOMENT_NONE) {
        text_add(text, " ");
        say_moment(cli, text, doc_moment(coat, "ended_at"));
    }
    if (doc_text(coat, "struck_why")[0] != '\0')
        text_add(text, " (%s)", doc_text(coat, "struck_why"));
    if (strcmp(status, "on") == 0)
        text_add(text, ", %s", doc_text(coat, "condition"));
    if (stall[0] != '\0' && strcmp(stall, "none") != 0)
        text_add(text, ", held up: %s", held_phrase(stall));
}

/* "; stood still too cold Tue 22:00 to 07:30, too cold ..." */
static void say_stills(const struct cli *cli, struct text *text, const cJSON *coat)
{
    const cJSON *still = NULL;
    const char *before = "; stood still ";
    cJSON_ArrayForEach(still, doc_get(coat, "stood_still"))
    {
        text_add(text, "%s%s ", before, held_phrase(doc_text(still, "why")));
        say_moment(cli, text, doc_moment(still, "from_at"));
        text_add(text, " to ");
        say_moment(cli, text, doc_moment(still, "to_at"));
        before = ", ";
    }
}

static void say_inspect(struct cli *cli, const cJSON *coat)
{
    struct text text = {0};
    text_add(&text, "Look at it yourself: %s.", doc_text(coat, "inspect_why"));
    render_text(&cli->out, 4, 4, text.data);
}

/* What was told of it beside the line that every coat has. */
static void say_told(const struct cli *cli, struct text *text, const cJSON *coat)
{
    double passes = doc_number(coat, "passes"), factor = doc_number(coat, "film_factor");
    int64_t first = doc_moment(coat, "first_at"), last = doc_moment(coat, "last_at");
    text_add(text, "%s", doc_text(coat, "role"));
    if (passes > 1.0)
        text_add(text, "; %.0f passes", passes);
    if (first != MOMENT_NONE && first != last) {
        text_add(text, ", the first ");
        say_moment(cli, text, first);
    }
    if (isfinite(factor) && fabs(factor - 1.0) > 0.005)
        text_add(text, "; film %.2f of the usual", factor);
    if (isfinite(doc_number(coat, "amount_ml"))) {
        text_add(text, "; ");
        say_quantity(cli, text, QUANTITY_VOLUME, doc_number(coat, "amount_ml"));
    }
    if (isfinite(doc_number(coat, "thinned_pct"))) {
        text_add(text, "; thinned ");
        say_quantity(cli, text, QUANTITY_SHARE, doc_number(coat, "thinned_pct"));
        text_add(text, "%s%s", doc_text(coat, "thinner")[0] != '\0' ? " " : "", doc_text(coat, "thinner"));
    }
    if (doc_get(coat, "tin") != NULL) {
        text_add(text, "; from ");
        say_tin(text, doc_get(coat, "tin"));
    }
}

static void say_details(const struct cli *cli, struct text *text, const cJSON *coat)
{
    say_told(cli, text, coat);
    say_stills(cli, text, coat);
    if (doc_number(coat, "entry") > 1.0)
        text_add(text, "; corrected, entry %.0f", doc_number(coat, "entry"));
    if (doc_get(coat, "material.newest") != NULL && !doc_flag(coat, "material.newest"))
        text_add(text, "; its material has a newer version");
    if (doc_text(coat, "note")[0] != '\0')
        text_add(text, "; note: %s", doc_text(coat, "note"));
}

/* "Tested: touch passed 09:30, tack-free failed 10:00" */
static void say_tests(struct cli *cli, const cJSON *coat)
{
    const cJSON *test = NULL;
    struct text text = {0};
    cJSON_ArrayForEach(test, doc_get(coat, "tests"))
    {
        text_add(&text, "%s%s %s ", text.length > 0 ? ", " : "Tested: ", doc_text(test, "stage"),
                 doc_flag(test, "passed") ? "passed" : "failed");
        say_moment(cli, &text, doc_moment(test, "at"));
    }
    if (text.length > 0)
        render_text(&cli->out, 4, 6, text.data);
}

/* "Bake 1: out of the heat, cooling; ended 22:10: not shown to be baked through; to touch 23:26: not before" */
static void say_bake_of(struct cli *cli, const cJSON *bake)
{
    struct text text = {0};
    if (bake == NULL)
        return;
    text_add(&text, "Bake %lld: %s", (long long)doc_id(bake, "id"), bake_phrase(doc_text(bake, "state")));
    if (!doc_flag(bake, "reviewed"))
        text_add(&text, "; without review");
    bake_add_time(cli, &text, BAKE_LINE_ENDED, bake, "ended_at", doc_flag(bake, "baked"));
    bake_add_time(cli, &text, BAKE_LINE_HEAT_OFF, bake, "turn_down_at", true);
    bake_add_time(cli, &text, BAKE_LINE_TOUCH, bake, "cool_at", doc_moment(bake, "ended_at") != MOMENT_NONE);
    render_text(&cli->out, 4, 6, text.data);
}

static void say_whole_coat(struct cli *cli, const cJSON *coat)
{
    struct text head = {0}, status = {0}, details = {0};
    text_add(&head, "%lld ", (long long)doc_id(coat, "id"));
    say_coat(cli, &head, coat);
    render_text(&cli->out, 0, 4, head.data);
    say_status(cli, &status, coat);
    render_text(&cli->out, 4, 4, status.data);
    say_details(cli, &details, coat);
    render_text(&cli->out, 4, 4, details.data);
    if (doc_flag(coat, "tin.past_keep_by"))
        say_past_keep_by(cli, doc_get(coat, "tin"));
    say_tests(cli, coat);
    say_bake_of(cli, doc_get(coat, "bake"));
    if (doc_flag(coat, "inspect"))
        say_inspect(cli, coat);
    if (!doc_is(coat, "status", "struck"))
        say_stages(cli, coat);
}

static void say_coat_cautions(struct cli *cli, const cJSON *document)
{
    struct text full = {0};
    const cJSON *coat = doc_get(document, "coat");
    render_blank(&cli->out);
    say_cautions(cli, document, doc_get(coat, "cautions"), 0);
    text_add(&full, "Each in full: coat caution \"%s\"", doc_text(coat, "material.name"));
    render_text(&cli->out, 0, 2, full.data);
}

/* The shop lists what is in use; of a piece that is not, the name is asked for, so that a coat's record keeps it. */
static int know_piece(struct cli *cli, int64_t id)
{
    cJSON *pieces = cJSON_GetObjectItem(cli->shop, "pieces");
    struct text name = {0};
    if (id == 0 || pieces == NULL || doc_by_id(pieces, id) != NULL)
        return CLI_DONE;
    int status = cli_get(cli, "/pieces/%lld", (long long)id);
    if (status != CLI_DONE)
        return status;
    cJSON *piece = cli_take(cli);
    text_add(&name, "%s (out of use)", doc_text(piece, "name"));
    cJSON_DeleteItemFromObject(piece, "name");
    doc_put_text(piece, "name", name.data);
    cJSON_AddItemToArray(pieces, piece);
    return CLI_DONE;
}

static int show_coat(struct cli *cli, int64_t id)
{
    int status = cli_get(cli, "/coats/%lld", (long long)id);
    if (status != CLI_DONE || cli_said_json(cli))
        return status;
    cJSON *document = cli_take(cli);
    status = know_piece(cli, doc_id(document, "coat.piece"));
    if (status != CLI_DONE) {
        cJSON_Delete(document);
        return status;
    }
    say_whole_coat(cli, doc_get(document, "coat"));
    status = cli_get(cli, "/coats/%lld/why", (long long)id);
    if (status == CLI_DONE && doc_count(cli->reply.document, "items") > 0) {
        render_blank(&cli->out);
        render_text(&cli->out, 4, 4, "Why:");
        say_why(cli, cli->reply.document);
    }
    say_coat_cautions(cli, document);
    cJSON_Delete(document);
    return status;
}

/* ---- the record ---- */

static void say_entry(struct cli *cli, const cJSON *entry)
{
    struct text text = {0};
    text_add(&text, "entry %.0f", doc_number(entry, "entry"));
    if (doc_moment(entry, "entered_at") != MOMENT_NONE) {
        text_add(&text, ", entered ");
        say_moment(cli, &text, doc_moment(entry, "entered_at"));
    }
    text_add(&text, ": ");
    say_laid(cli, &text, entry);
    text_add(&text, "; ");
    say_told(cli, &text, entry);
    if (doc_text(entry, "note")[0] != '\0')
        text_add(&text, "; note: %s", doc_text(entry, "note"));
    if (doc_text(entry, "struck_why")[0] != '\0')
        text_add(&text, "; struck: %s", doc_text(entry, "struck_why"));
    render_text(&cli->out, 0, 4, text.data);
}

static int show_record(struct cli *cli, int64_t id)
{
    const cJSON *entry = NULL, *last = NULL;
    int status = cli_get(cli, "/coats/%lld/entries", (long long)id);
    if (status != CLI_DONE || cli_said_json(cli))
        return status;
    cJSON *document = cli_take(cli);
    cJSON_ArrayForEach(entry, doc_get(document, "items"))
        status = status == CLI_DONE ? know_piece(cli, doc_id(entry, "piece")) : status;
    const cJSON *told = status == CLI_DONE ? doc_get(document, "items") : NULL;
    cJSON_ArrayForEach(entry, told)
    {
        say_entry(cli, entry);
        last = entry;
    }
    if (status == CLI_DONE)
        say_cautions(cli, document, doc_get(last, "cautions"), 0);
    cJSON_Delete(document);
    return status;
}

/* ---- a piece ---- */

/* The stage that tells most: the first that is not yet over. */
static const cJSON *telling_stage(const cJSON *coat)
{
    const cJSON *stage = NULL;
    cJSON_ArrayForEach(stage, doc_get(coat, "stages"))
    {
        if (!doc_is(stage, "state", "reached") && !doc_is(stage, "state", "used"))
            return stage;
    }
    return NULL;
}

static void add_coat(const struct cli *cli, struct table *table, const cJSON *coat)
{
    struct text id = {0}, what = {0}, when = {0}, phrase = {0};
    const cJSON *stage = doc_is(coat, "status", "on") ? telling_stage(coat) : NULL;
    text_add(&id, "%lld", (long long)doc_id(coat, "id"));
    say_moment(cli, &when, doc_moment(coat, "last_at"));
    text_add(&what, "%s, ", doc_text(coat, "material.name"));
    say_film(cli, &what, coat);
    text_add(&what, "%s%s, ", doc_text(coat, "area")[0] != '\0' ? ", " : "", doc_text(coat, "area"));
    say_status(cli, &what, coat);
    if (stage != NULL) {
        say_stage(cli, &phrase, stage);
        text_add(&what, "; %s %s %s", doc_text(stage, "stage"), doc_text(stage, "state"), phrase.data);
    }
    table_row(table, VOICE_PLAIN, (const char *[]){id.data, when.data, doc_text(coat, "role"), what.data});
}

static void say_areas(struct text *text, const cJSON *areas)
{
    const cJSON *area = NULL;
    const char *before = "; areas ";
    cJSON_ArrayForEach(area, areas)
    {
        text_add(text, "%s%s", before, cJSON_IsString(area) ? area->valuestring : "");
        before = ", ";
    }
}

static void say_piece_head(struct cli *cli, const cJSON *piece)
{
    struct text text = {0};
    text_add(&text, "%s", doc_text(piece, "name"));
    if (doc_id(piece, "place") != 0)
        text_add(&text, " in %s", names_of(cli, "places", doc_id(piece, "place"), "a place out of use"));
    text_add(&text, "; old finish %s", doc_text(piece, "old_finish"));
    say_areas(&text, doc_get(piece, "areas"));
    if (isfinite(doc_number(piece, "mass_kg"))) {
        text_add(&text, "; ");
        say_quantity(cli, &text, QUANTITY_MASS, doc_number(piece, "mass_kg") * 1000.0);
    }
    if (isfinite(doc_number(piece, "wall_mm"))) {
        text_add(&text, "; wall ");
        say_quantity(cli, &text, QUANTITY_LENGTH, doc_number(piece, "wall_mm"));
    }
    if (doc_text(piece, "note")[0] != '\0')
        text_add(&text, "; %s", doc_text(piece, "note"));
    render_text(&cli->out, 0, 4, text.data);
}

static int show_piece(struct cli *cli, const char *name)
{
    const cJSON *piece = NULL, *coat = NULL, *last = NULL;
    int status = names_find(cli, NAME_PIECE, name, &piece);
    if (status == CLI_DONE)
        status = cli_get(cli, "/coats?piece=%lld", (long long)doc_id(piece, "id"));
    if (status != CLI_DONE || cli_said_json(cli))
        return status;
    say_piece_head(cli, piece);
    struct table *table = table_new(COAT_COLUMNS, 2, TABLE_COLUMNS_MAX);
    cJSON_ArrayForEach(coat, doc_get(cli->reply.document, "items"))
    {
        add_coat(cli, table, coat);
        last = doc_is(coat, "status", "on") ? coat : last;
    }
    table_print(&cli->out, table);
    if (doc_count(cli->reply.document, "items") == 0)
        render_text(&cli->out, 2, 4, "no coats yet");
    const cJSON *texts = doc_get(cli->reply.document, "cautions") != NULL ? cli->reply.document : cli->shop;
    say_cautions(cli, texts, doc_get(last, "cautions"), 0);
    return CLI_DONE;
}

int cmd_piece_show(struct cli *cli)
{
    int64_t id = 0;
    int status = cli_open_shop(cli);
    if (status != CLI_DONE || !cli->json)
        return status == CLI_DONE ? show_piece(cli, cli->args.argument[0]) : status;
    status = names_find_id(cli, NAME_PIECE, cli->args.argument[0], &id);
    if (status == CLI_DONE)
        status = cli_get(cli, "/pieces/%lld", (long long)id);
    if (status == CLI_DONE)
        cli_said_json(cli);
    return status;
}

int cmd_show(struct cli *cli)
{
    int64_t id = 0;
    const char *what = cli->args.argument[0];
    int status = cli_open_shop(cli);
    if (status != CLI_DONE)
        return status;
    if (!cli_is_number(what))
        return show_piece(cli, what);
    status = cli_parse_coat(cli, what, &id);
    if (status != CLI_DONE)
        return status;
    return args_option(&cli->args, "--record") != NULL ? show_record(cli, id) : show_coat(cli, id);
}
