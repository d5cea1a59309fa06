/* coat vapour: what is in the air of a place by the sums. */
#include "cli/say.h"

#include <math.h>
#include <string.h>

static const char unknown[] = "not known";

static void say_share(struct text *text, const cJSON *document, const char *key)
{
    double pct = doc_number(document, key);
    if (isfinite(pct))
        text_add(text, "%g %%", pct);
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

static void say_air_wanted(struct cli *cli, struct table *table, const cJSON *document)
{
    struct text fire = {0}, health = {0};
    double fire_m3 = doc_number(document, "dilution_air_m3"), health_m3 = doc_number(document, "limit_air_m3");
    if (isfinite(fire_m3))
        say_quantity(cli, &fire, QUANTITY_ROOM, fire_m3);
    text_add(&fire, "%s", isfinite(fire_m3) ? " of fresh air, perfectly mixed, for a quarter of the LEL" : unknown);
    if (isfinite(health_m3))
        say_quantity(cli, &health, QUANTITY_ROOM, health_m3);
    text_add(&health, "%s", isfinite(health_m3) ? " for the exposure limit: health wants far more air than fire" : unknown);
    say_row(table, "air for fire", &fire);
    say_row(table, "for health", &health);
}

static void say_now(struct cli *cli, struct table *table, const cJSON *document)
{
    struct text now = {0}, tenth = {0}, quarter = {0}, limit = {0};
    say_share(&now, document, "lel_pct");
    text_add(&now, " of the LEL, and ");
    say_share(&now, document, "limit_pct");
    text_add(&now, " of the exposure limit");
    say_finding(cli, &quarter, doc_get(document, "quarter_of_lel"));
    say_finding(cli, &tenth, doc_get(document, "tenth_of_lel"));
    say_finding(cli, &limit, doc_get(document, "exposure_limit"));
    say_row(table, "now, by sums", &now);
    say_row(table, "1/4 of LEL", &quarter);
    say_row(table, "1/10 of LEL", &tenth);
    say_row(table, "limit", &limit);
}

static void say_head(struct cli *cli, const cJSON *document)
{
    struct text head = {0};
    text_add(&head, "%s: of the coats of the last 14 days %d with an amount, %d without", names_of(cli, "places", doc_id(document, "place"), "the place"),
             (int)doc_number(document, "counted"), (int)doc_number(document, "without_amount"));
    render_text(&cli->out, 0, 4, head.data);
    if (doc_number(document, "without_amount") > 0)
        render_text(&cli->out, 4, 4, "What has no amount is in no sum (coat amend N --amount 150ml): what does not exceed is not known then.");
    if (doc_get(document, "volume_m3") == NULL)
        render_text(&cli->out, 4, 4, "Its volume was not told: coat place edit NAME --volume 60m3. Until then nothing is known.");
    if (doc_flag(document, "oven"))
        render_text(&cli->out, 4, 4, "It counts as an oven: no wet coat into it while it is or may be heated.");
}

static void say_sums(struct cli *cli, const cJSON *document)
{
    struct text all = {0};
    struct table *table = table_new(2, 0, 0);
    say_head(cli, document);
    say_share(&all, document, "lel_pct_still_air");
    text_add(&all, " of the lower explosive limit (LEL), if all of the last day hung in still air");
    say_row(table, "at worst", &all);
    say_air_wanted(cli, table, document);
    say_now(cli, table, document);
    table_print(&cli->out, table);
    if (doc_get(document, "ignition_text") != NULL) {
        struct text ignition = {0};
        text_add(&ignition, "The liquid %s.", doc_text(document, "ignition_text"));
        render_text(&cli->out, 0, 0, ignition.data);
    }
    render_text(&cli->out, 0, 0, doc_text(document, "no_design"));
}

void say_vapour_in(struct cli *cli, int64_t place_id)
{
    if (place_id != 0 && cli_get(cli, "/places/%lld/vapour", (long long)place_id) == CLI_DONE)
        say_sums(cli, cli->reply.document);
}

int cmd_vapour(struct cli *cli)
{
    int64_t place = 0;
    int status = cli_open_shop(cli);
    if (status == CLI_DONE)
        status = names_find_id(cli, NAME_PLACE, cli->args.argument[0], &place);
    if (status == CLI_DONE)
        status = cli_get(cli, "/places/%lld/vapour", (long long)place);
    if (status != CLI_DONE || cli_said_json(cli))
        return status;
    say_sums(cli, cli->reply.document);
    say_cautions(cli, cli->reply.document, doc_get(cli->reply.document, "cautions"), 4);
    return CLI_DONE;
}
