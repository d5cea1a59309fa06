/* coat mix: a batch of a two-part material. */
#include "cli/say.h"

#include <math.h>

/* "Its figures, at 21 C: induction 1 h, pot life 4 h. Stir again when it is ready." */
static void say_figures(const struct cli *cli, struct text *text, const cJSON *mix)
{
    double induction_min = doc_number(mix, "induction_min"), pot_life_min = doc_number(mix, "pot_life_min");
    text_add(text, "Its figures, at 21 C: ");
    if (isfinite(induction_min)) {
        text_add(text, "induction ");
        say_quantity(cli, text, QUANTITY_DURATION, induction_min * 60.0);
    }
    if (isfinite(pot_life_min)) {
        text_add(text, "%spot life ", isfinite(induction_min) ? ", " : "");
        say_quantity(cli, text, QUANTITY_DURATION, pot_life_min * 60.0);
    }
    text_add(text, ".%s", isfinite(induction_min) ? " Stir again when it is ready." : "");
}

static void say_mixed(struct cli *cli, const cJSON *mix)
{
    struct text head = {0}, moments = {0}, figures = {0};
    text_add(&head, "mix %lld: %s, mixed ", (long long)doc_id(mix, "id"), doc_text(mix, "material.name"));
    say_moment(cli, &head, doc_moment(mix, "mixed_at"));
    if (doc_id(mix, "place") != 0)
        text_add(&head, " in %s", names_of(cli, "places", doc_id(mix, "place"), "a place out of use"));
    render_text(&cli->out, 0, 4, head.data);
    say_mix(cli, &moments, mix);
    render_text(&cli->out, 4, 6, moments.data);
    say_figures(cli, &figures, mix);
    render_text(&cli->out, 4, 6, figures.data);
    if (doc_id(mix, "place") == 0)
        render_text(&cli->out, 4, 6, "Where it stands was not told: the pot life counts on a warm room, and when it is ready is not known. "
                    "--place tells it.");
    say_cautions(cli, mix, doc_get(mix, "cautions"), 0);
}

static int add_place(const struct cli *cli, cJSON *body)
{
    const char *name = args_option(&cli->args, "--place");
    int64_t id = 0;
    int status = name != NULL ? names_find_id(cli, NAME_PLACE, name, &id) : CLI_DONE;
    if (status == CLI_DONE && name != NULL)
        doc_put_number(body, "place", (double)id);
    return status;
}

int cmd_mix(struct cli *cli)
{
    int64_t material = 0;
    int status = cli_open_shop(cli);
    if (status == CLI_DONE)
        status = names_find_id(cli, NAME_MATERIAL, cli->args.argument[0], &material);
    if (status != CLI_DONE)
        return status;
    cJSON *body = cJSON_CreateObject();
    doc_put_number(body, "material", (double)material);
    status = cli_add_fields(cli, body);
    if (status == CLI_DONE)
        status = add_place(cli, body);
    status = cli_send_filled(cli, status, "POST", body, "/mixes");
    if (status == CLI_DONE && !cli_said_json(cli))
        say_mixed(cli, cli->reply.document);
    return status;
}
