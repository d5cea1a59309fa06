/* coat vapour: what is in the air of a place by the sums; and open solvent that was used there. */
#include "cli/say.h"

#include <math.h>
#include <string.h>

static const char unknown[] = "not known";

/* "7.5 %" and what it is of, or that it is not known */
static void say_share(struct text *text, const cJSON *document, const char *key, const char *of)
{
    double pct = doc_number(document, key);
    if (isfinite(pct))
        text_add(text, "%g %% of %s", pct, of);
    else
        text_add(text, "%s", unknown);
}

/* "exceeds until about Tue 09:30", and for an end that is not in sight so */
static void say_finding(const struct cli *cli, struct text *text, const cJSON *finding)
{
    const char *is = doc_text(finding, "is");
    text_add(text, "%s", is);
    if (strcmp(is, "exceeds") != 0)
        return;
    if (doc_get(finding, "until_at") == NULL) {
        text_add(text, ", no end in sight by these sums");
        return;
    }
    text_add(text, ", not shown to from ");
    say_moment(cli, text, doc_moment(finding, "until_at"));
}

static void say_row(struct table *table, const char *name, const struct text *text)
{
    table_row(table, VOICE_HEAD, (const char *[]){name, text->data});
}

static void say_all_of_it(struct cli *cli, struct table *table, const cJSON *document)
{
    struct text vapour = {0}, still = {0};
    double vapour_m3 = doc_number(document, "vapour_m3");
    if (isfinite(vapour_m3))
        say_quantity(cli, &vapour, QUANTITY_ROOM, vapour_m3);
    text_add(&vapour, "%s", isfinite(vapour_m3) ? " if all of the last day evaporates" : unknown);
    say_share(&still, document, "lel_pct_still_air", "the lower explosive limit (LEL), if all of that hung in still air");
    say_row(table, "vapour", &vapour);
    say_row(table, "at worst", &still);
}

static void say_air_wanted(struct cli *cli, struct table *table, const cJSON *document)
{
    struct text fire = {0}, health = {0};
    double fire_m3 = doc_number(document, "dilution_air_m3"), health_m3 = doc_number(document, "limit_air_m3");
    if (isfinite(fire_m3))
        say_quantity(cli, &fire, QUANTITY_ROOM, fire_m3);
    text_add(&fire, "%s", isfinite(fire_m3) ? " of fresh air, perfectly mixed, for a quarter of the LEL" : unknown);
    if (isfinite(health_m3))
        say_quantity(cli, &health, QUANTITY_ROOM, health_m3);
    text_add(&health, "%s", isfinite(health_m3) ? " for the exposure limit: health usually wants far more air than fire" : unknown);
    say_row(table, "air for fire", &fire);
    say_row(table, "for health", &health);
}

static void say_now(struct cli *cli, struct table *table, const cJSON *document)
{
    struct text now = {0}, peak = {0}, tenth = {0}, quarter = {0}, limit = {0};
    say_share(&peak, document, "peak_lel_pct", "the LEL");
    if (doc_moment(document, "peak_at") != MOMENT_NONE) {
        text_add(&peak, " about ");
        say_moment(cli, &peak, doc_moment(document, "peak_at"));
    }
    bool any_known = isfinite(doc_number(document, "lel_pct")) || isfinite(doc_number(document, "limit_pct"));
    say_share(&now, document, "lel_pct", "the LEL");
    text_add(&now, "%s", any_known ? ", and " : "");
    if (any_known)
        say_share(&now, document, "limit_pct", "the exposure limit");
    say_finding(cli, &quarter, doc_get(document, "quarter_of_lel"));
    say_finding(cli, &tenth, doc_get(document, "tenth_of_lel"));
    say_finding(cli, &limit, doc_get(document, "exposure_limit"));
    say_row(table, "now, by sums", &now);
    say_row(table, "highest", &peak);
    say_row(table, "1/4 of LEL", &quarter);
    say_row(table, "1/10 of LEL", &tenth);
    say_row(table, "limit", &limit);
}

/* What would make the sums known, or better known, and how to tell it here. */
static const struct {
    const char *what, *command;
    bool needed; /* without it something is not known at all */
} wants[] = {
    {"volume", "coat place edit NAME --volume 60m3", true},
    {"amounts", "coat amend N --amount 150ml", true},
    {"solvents", "coat amend N --thinned 10%:acetone", true},
    {"fewer", NULL, true},
    {"airflow", "coat place edit NAME --airflow 300m3h", false},
    {"airflow-measured", "coat place edit NAME --airflow-measured yes", false},
    {"low-exhaust", "coat place edit NAME --low-exhaust yes", false},
    {"composition", "coat material edit NAME --solvent toluene=60% --solvent acetone=40% --solvent-share 55%", false},
};

static void say_want(struct cli *cli, const cJSON *want, bool all)
{
    struct text text = {0};
    const char *command = NULL;
    bool needed = true; /* a word of a newer service */
    for (size_t i = 0; i < sizeof wants / sizeof *wants; i++) {
        if (!doc_is(want, "what", wants[i].what))
            continue;
        command = wants[i].command;
        needed = wants[i].needed;
    }
    if (!all && !needed)
        return;
    text_add(&text, "Not told: %s", doc_text(want, "text"));
    if (command != NULL)
        text_add(&text, " (%s)", command);
    render_text(&cli->out, 4, 4, text.data);
}

static void say_head(struct cli *cli, const cJSON *document, bool all)
{
    struct text head = {0};
    const cJSON *want = NULL;
    int released = (int)doc_number(document, "released");
    text_add(&head, "%s: of the coats of the last 14 days %d with an amount, %d without", names_of(cli, "places", doc_id(document, "place"), "the place"),
             (int)doc_number(document, "counted"), (int)doc_number(document, "without_amount"));
    if (released > 0)
        text_add(&head, "; open solvent %d %s", released, released == 1 ? "time" : "times");
    render_text(&cli->out, 0, 4, head.data);
    cJSON_ArrayForEach(want, doc_get(document, "wants"))
        say_want(cli, want, all);
    if (doc_flag(document, "oven"))
        render_text(&cli->out, 4, 4, "It counts as an oven: no wet coat into it while it is or may be heated.");
    if (doc_get(document, "moved") != NULL)
        render_text(&cli->out, 4, 4, doc_text(document, "moved"));
}

static void say_burning(struct cli *cli, const cJSON *document)
{
    struct text text = {0};
    const char *category = doc_text(document, "category");
    if (doc_get(document, "ignition_text") == NULL)
        return;
    text_add(&text, "The liquid %s.", doc_text(document, "ignition_text"));
    if (strncmp(category, "category-", 9) == 0)
        text_add(&text, " Flammable liquid, category %s.", category + 9);
    render_text(&cli->out, 0, 0, text.data);
}

static void say_sums(struct cli *cli, const cJSON *document, bool all)
{
    struct table *table = table_new(2, 0, 0);
    say_head(cli, document, all);
    say_all_of_it(cli, table, document);
    say_air_wanted(cli, table, document);
    say_now(cli, table, document);
    table_print(&cli->out, table);
    say_burning(cli, document);
    render_text(&cli->out, 0, 0, doc_text(document, "no_design"));
}

void say_vapour_of(struct cli *cli, const cJSON *document)
{
    const cJSON *sums = NULL;
    cJSON_ArrayForEach(sums, doc_get(document, "vapour"))
        say_sums(cli, sums, false);
}

static int ask_place(struct cli *cli, int64_t place)
{
    if (cli->args.given_count > 0)
        return cli_fail(cli, CLI_USAGE, "--at is when the solvent was used: which, and how much? Write coat vapour PLACE toluene 200ml");
    return cli_get(cli, "/places/%lld/vapour", (long long)place);
}

static int tell_release(struct cli *cli, int64_t place)
{
    double amount_ml = 0.0;
    if (cli->args.count < 3)
        return cli_fail(cli, CLI_USAGE, "how much? Write it after the solvent: coat vapour PLACE toluene 200ml");
    cJSON *body = cJSON_CreateObject();
    doc_put_text(body, "solvent", cli->args.argument[1]);
    int status = cli_parse_quantity(cli, "", QUANTITY_VOLUME, cli->args.argument[2], &amount_ml);
    doc_put_number(body, "amount_ml", amount_ml);
    if (status == CLI_DONE)
        status = cli_add_fields(cli, body);
    return cli_send_filled(cli, status, "POST", body, "/places/%lld/vapour", (long long)place);
}

static void say_release(struct cli *cli, const cJSON *release)
{
    struct text text = {0};
    if (release == NULL)
        return;
    text_add(&text, "Open solvent: ");
    say_quantity(cli, &text, QUANTITY_VOLUME, doc_number(release, "amount_ml"));
    text_add(&text, " of %s at ", doc_text(release, "solvent"));
    say_moment(cli, &text, doc_moment(release, "at"));
    render_text(&cli->out, 0, 4, text.data);
}

int cmd_vapour(struct cli *cli)
{
    int64_t place = 0;
    int status = cli_open_shop(cli);
    if (status == CLI_DONE)
        status = names_find_id(cli, NAME_PLACE, cli->args.argument[0], &place);
    if (status == CLI_DONE)
        status = cli->args.count > 1 ? tell_release(cli, place) : ask_place(cli, place);
    if (status != CLI_DONE || cli_said_json(cli))
        return status;
    say_release(cli, doc_get(cli->reply.document, "release"));
    say_sums(cli, cli->reply.document, true);
    say_cautions_beside(cli, cli->reply.document, 4);
    return CLI_DONE;
}
