/* Why a time is what it is, in the trade's words: hours that add up. */
#include "cli/say_why.h"

#include "cli/say.h"

#include <math.h>
#include <string.h>

static void say_hours(struct text *text, double hours)
{
    text_add(text, "%c %6.1f h  ", hours < 0.0 ? '-' : '+', fabs(hours));
}

static void phrase_table(const struct cli *cli, struct text *text, const cJSON *row)
{
    text_add(text, "the table, at ");
    say_quantity(cli, text, QUANTITY_TEMPERATURE, doc_number(row, "temp_c"));
}

static void phrase_film(const struct cli *cli, struct text *text, const cJSON *row)
{
    (void)cli;
    text_add(text, "film, %.2f times", doc_number(row, "factor"));
}

static void phrase_films_under(const struct cli *cli, struct text *text, const cJSON *row)
{
    (void)cli;
    text_add(text, "coats still soft below, %.2f times", doc_number(row, "factor"));
}

static void phrase_shop_factor(const struct cli *cli, struct text *text, const cJSON *row)
{
    (void)cli;
    text_add(text, "tests in this shop, %.2f times", doc_number(row, "factor"));
}

static void phrase_night(const struct cli *cli, struct text *text, const cJSON *row)
{
    text_add(text, "noon to noon from ");
    say_moment(cli, text, doc_moment(row, "from_at"));
    text_add(text, ", down to ");
    say_quantity(cli, text, QUANTITY_TEMPERATURE, doc_number(row, "temp_c"));
}

static void phrase_damp(const struct cli *cli, struct text *text, const cJSON *row)
{
    text_add(text, "damp air, up to ");
    say_quantity(cli, text, QUANTITY_SHARE, doc_number(row, "rh_pct"));
}

static void phrase_too_cold(const struct cli *cli, struct text *text, const cJSON *row)
{
    text_add(text, "held up, below ");
    say_quantity(cli, text, QUANTITY_TEMPERATURE, doc_number(row, "temp_c"));
}

static void phrase_too_damp(const struct cli *cli, struct text *text, const cJSON *row)
{
    text_add(text, "held up, above ");
    say_quantity(cli, text, QUANTITY_SHARE, doc_number(row, "rh_pct"));
}

static const struct {
    const char *what, *words;
    void (*say)(const struct cli *cli, struct text *text, const cJSON *row);
} phrases[] = {
    {"table", NULL, phrase_table},
    {"film", NULL, phrase_film},
    {"films-under", NULL, phrase_films_under},
    {"shop-factor", NULL, phrase_shop_factor},
    {"night", NULL, phrase_night},
    {"damp", NULL, phrase_damp},
    {"too-cold", NULL, phrase_too_cold},
    {"too-damp", NULL, phrase_too_damp},
    {"other-air", "other air, warmer or colder than the table", NULL},
    {"assumed-air", "air that is assumed, not measured", NULL},
    {"to-come", "the air to come, as the outlook has it", NULL},
    {"label-floor", "not before the label's hours", NULL},
    {"cold-casting", "carried in cold, it warmed through slowly", NULL},
};

static void say_what(const struct cli *cli, struct text *text, const cJSON *row)
{
    const char *what = doc_text(row, "what");
    for (size_t i = 0; i < sizeof phrases / sizeof *phrases; i++) {
        if (strcmp(phrases[i].what, what) != 0)
            continue;
        if (phrases[i].say)
            phrases[i].say(cli, text, row);
        else
            text_add(text, "%s", phrases[i].words);
        return;
    }
    text_add(text, "%s", what);
}

static void say_sum(struct cli *cli, const cJSON *item)
{
    struct text sum = {0};
    text_add(&sum, "so %.1f h", doc_number(item, "total_h"));
    if (doc_moment(item, "likely_at") == MOMENT_NONE) {
        text_add(&sum, " so far; it does not come in this air");
    } else {
        text_add(&sum, ": about ");
        say_moment(cli, &sum, doc_moment(item, "likely_at"));
    }
    render_text(&cli->out, 6, 8, sum.data);
}

static bool is_waited_for(const cJSON *item)
{
    static const char *const stages[] = {"handle", "recoat", "seal", "bake", "cure"};
    for (size_t i = 0; i < sizeof stages / sizeof *stages; i++)
        if (doc_is(item, "stage", stages[i]))
            return true;
    return false;
}

/* Stages that come at one moment for one reason are told once, by the first of them. */
static bool told_before(const cJSON *items, const cJSON *item)
{
    const cJSON *earlier = NULL;
    cJSON_ArrayForEach(earlier, items)
    {
        if (earlier == item)
            return false;
        if (!is_waited_for(earlier))
            continue;
        if (doc_moment(earlier, "likely_at") == doc_moment(item, "likely_at") && doc_count(earlier, "rows") == doc_count(item, "rows") &&
            fabs(doc_number(earlier, "total_h") - doc_number(item, "total_h")) < 1e-6)
            return true;
    }
    return false;
}

static void say_item(struct cli *cli, const cJSON *item)
{
    const cJSON *row = NULL;
    render_text(&cli->out, 4, 4, doc_text(item, "stage"));
    cJSON_ArrayForEach(row, doc_get(item, "rows"))
    {
        struct text line = {0};
        if (fabs(doc_number(row, "hours")) < 0.05 && doc_is(row, "what", "other-air"))
            continue; /* only there so that the rest adds up to the last digit */
        say_hours(&line, doc_number(row, "hours"));
        say_what(cli, &line, row);
        render_text(&cli->out, 6, 18, line.data);
    }
    say_sum(cli, item);
}

void say_why(struct cli *cli, const cJSON *why)
{
    const cJSON *items = doc_get(why, "items"), *item = NULL;
    if (doc_flag(why, "material_tests.contradicted") || doc_flag(why, "tin_tests.contradicted"))
        render_text(&cli->out, 4, 4, "Tests of this material contradict each other: one passed earlier than another failed. Look at both.");
    cJSON_ArrayForEach(item, items)
    {
        if (is_waited_for(item) && !told_before(items, item))
            say_item(cli, item);
    }
}
