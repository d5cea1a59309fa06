/* coat air: what the air did, or a reading entered by hand. */
#include "cli/plot.h"
#include "cli/say.h"

#include "coat/air.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define HOURS_SHOWN 48.0
#define DAYS_DIGITS 5
#define DAYS_MOST 20000 /* not before 1970 */
#define NAME_COLUMNS 11   /* left of a plot: which it is, */
#define AMOUNT_COLUMNS 8  /* and its highest and lowest */
#define STRETCHES_TOLD 3

/* ---- entering ---- */

/* "18C 55%", "55% 18C" or "18C,55%": both are needed, and their units tell which is which. A temperature alone leaves
 * the humidity NAN, which does for an oven. */
static int read_air(const struct cli *cli, double *ret_temp_c, double *ret_rh_pct)
{
    struct coat_error error = {0};
    const char *const *word = cli->args.argument + 1;
    unsigned words = cli->args.count - 1;
    if (words == 1 && strchr(word[0], ',') != NULL) {
        if (quantity_parse_air(word[0], ret_temp_c, ret_rh_pct, &error) == COAT_OK)
            return CLI_DONE;
        return cli_fail_error(cli, &error);
    }
    bool humidity_first = quantity_parse(QUANTITY_SHARE, word[0], ret_rh_pct, NULL) == COAT_OK;
    if (words == 1 && humidity_first)
        return cli_fail(cli, CLI_USAGE, "the temperature is missing: write both, 18C %.20s", word[0]);
    int status = cli_parse_quantity(cli, "", QUANTITY_TEMPERATURE, word[words > 1 && humidity_first ? 1 : 0], ret_temp_c);
    if (status != CLI_DONE)
        return status;
    if (words == 1) {
        *ret_rh_pct = (double)NAN;
        return CLI_DONE;
    }
    return humidity_first ? CLI_DONE : cli_parse_quantity(cli, "", QUANTITY_SHARE, word[1], ret_rh_pct);
}

static int enter(struct cli *cli, const cJSON *place, double temp_c, double rh_pct)
{
    int64_t at_ms = cli->now_ms;
    struct text text = {0};
    const char *at = args_option(&cli->args, "--at");
    int status = at != NULL ? cli_parse_when(cli, at, &at_ms) : CLI_DONE;
    if (status != CLI_DONE)
        return status;
    cJSON *body = cJSON_CreateObject();
    if (at != NULL)
        doc_put_moment(body, "at", at_ms);
    doc_put_number(body, "temp_c", temp_c);
    if (!isnan(rh_pct))
        doc_put_number(body, "rh_pct", rh_pct);
    status = cli_send(cli, "POST", body, "/places/%lld/readings", (long long)doc_id(place, "id"));
    if (status != CLI_DONE || cli_said_json(cli))
        return status;
    text_add(&text, "%s ", doc_text(place, "name"));
    say_quantity(cli, &text, QUANTITY_TEMPERATURE, temp_c);
    if (!isnan(rh_pct)) {
        text_add(&text, " ");
        say_quantity(cli, &text, QUANTITY_SHARE, rh_pct);
        text_add(&text, ", dew point ");
        say_quantity(cli, &text, QUANTITY_TEMPERATURE, air_dew_point_c(temp_c, rh_pct));
    }
    text_add(&text, ", entered for ");
    say_moment(cli, &text, at_ms);
    render_text(&cli->out, 0, 4, text.data);
    return CLI_DONE;
}

/* ---- showing ---- */

struct panel {
    const char *name;
    const char *low, *mean, *high; /* members of the document */
    enum quantity quantity;
    unsigned rows;
};
static const struct panel panels[] = {
    {"temperature", "bins.temp_low_c", "bins.temp_c", "bins.temp_high_c", QUANTITY_TEMPERATURE, 6},
    {"humidity", "bins.rh_low_pct", "bins.rh_pct", "bins.rh_high_pct", QUANTITY_SHARE, 4},
    {"dew point", "bins.dew_point_c", "bins.dew_point_c", "bins.dew_point_c", QUANTITY_TEMPERATURE, 4},
};

static void read_column(const cJSON *document, const char *path, unsigned count, double *ret)
{
    const cJSON *value = doc_get(document, path);
    value = value != NULL ? value->child : NULL;
    for (unsigned i = 0; i < count; i++) {
        ret[i] = cJSON_IsNumber(value) ? value->valuedouble : (double)NAN;
        value = value != NULL ? value->next : NULL;
    }
}

/* Points of which the greater part lies where nobody measured. */
static void read_gaps(const cJSON *document, struct plot_series *series)
{
    int64_t from_ms = doc_moment(document, "from_at"), bin_ms = (int64_t)doc_number(document, "bin_s") * MS_PER_S;
    const cJSON *gap = NULL;
    cJSON_ArrayForEach(gap, doc_get(document, "gaps"))
    {
        int64_t begin_ms = doc_moment(gap, "from_at"), end_ms = doc_moment(gap, "to_at");
        for (unsigned i = 0; i < series->count; i++) {
            int64_t middle_ms = from_ms + bin_ms * i + bin_ms / 2;
            series->broken[i] = series->broken[i] || (middle_ms >= begin_ms && middle_ms < end_ms);
        }
    }
}

static void say_panel(struct cli *cli, const struct panel *panel, bool braille)
{
    static struct plot_series series; /* large, and one is enough */
    const cJSON *document = cli->reply.document;
    unsigned count = (unsigned)doc_count(document, panel->mean);
    memset(&series, 0, sizeof series);
    series.count = count < PLOT_POINTS_MAX ? count : PLOT_POINTS_MAX;
    read_column(document, panel->low, series.count, series.low);
    read_column(document, panel->mean, series.count, series.mean);
    read_column(document, panel->high, series.count, series.high);
    read_gaps(document, &series);
    plot_join(&series);
    struct plot_scale scale = plot_scale_of(&series);
    for (unsigned row = 0; row < panel->rows; row++) {
        struct text amount = {0}, line = {0};
        if (row == 0 || row + 1 == panel->rows)
            say_quantity(cli, &amount, panel->quantity, row == 0 ? scale.high : scale.low);
        text_add(&line, "%-*s %*s |", NAME_COLUMNS, row == 0 ? panel->name : "", AMOUNT_COLUMNS, amount.data);
        plot_row(&line, &series, scale, row, panel->rows, braille);
        fprintf(cli->out.out, "%s\n", line.data);
    }
}

static void say_axis(struct cli *cli, bool braille)
{
    struct text ticks = {0}, labels = {0};
    const cJSON *document = cli->reply.document;
    unsigned points = plot_points_in_column(braille);
    unsigned columns = ((unsigned)doc_count(document, "bins.at") + points - 1) / points;
    text_add(&ticks, "%*s+", NAME_COLUMNS + AMOUNT_COLUMNS + 2, "");
    text_add(&labels, "%*s", NAME_COLUMNS + AMOUNT_COLUMNS + 3, "");
    plot_axis(&ticks, &labels, doc_moment(document, "from_at"), (int64_t)doc_number(document, "bin_s") * MS_PER_S * points,
              columns < PLOT_COLUMNS_MAX ? columns : PLOT_COLUMNS_MAX);
    fprintf(cli->out.out, "%s\n%s\n", ticks.data, labels.data);
}

/* "Heated Fri 18:00 to 21:00, Sat 18:00 to 20:30 and 3 more." */
static void say_stretches(struct cli *cli, const char *member, const char *what, const char *after)
{
    struct text text = {0};
    const cJSON *list = doc_get(cli->reply.document, member), *one = NULL;
    int count = doc_count(cli->reply.document, member), told = 0;
    if (count == 0)
        return;
    cJSON_ArrayForEach(one, list)
    {
        if (told == STRETCHES_TOLD)
            break;
        text_join(&text, ", ", "%s", told == 0 ? what : "");
        say_moment(cli, &text, doc_moment(one, "from_at"));
        text_add(&text, " to ");
        say_moment(cli, &text, doc_moment(one, "to_at"));
        told++;
    }
    if (count > told)
        text_add(&text, " and %d more", count - told);
    text_add(&text, ".%s", after);
    render_text(&cli->out, 0, 2, text.data);
}

/* "gloss enamel, alkyd wants 10 C to 32 C, at most 85 %" */
static void say_limit(const struct cli *cli, struct text *text, const cJSON *limit)
{
    double low_c = doc_number(limit, "min_temp_c"), high_c = doc_number(limit, "max_temp_c"), rh_pct = doc_number(limit, "max_rh_pct");
    const char *joint = "";
    if (!isfinite(low_c) && !isfinite(high_c) && !isfinite(rh_pct))
        return;
    text_join(text, "; ", "%s wants ", doc_text(limit, "material.name"));
    if (isfinite(low_c) || isfinite(high_c)) {
        text_add(text, "%s", !isfinite(high_c) ? "at least " : !isfinite(low_c) ? "at most " : "");
        say_quantity(cli, text, QUANTITY_TEMPERATURE, isfinite(low_c) ? low_c : high_c);
        if (isfinite(low_c) && isfinite(high_c)) {
            text_add(text, " to ");
            say_quantity(cli, text, QUANTITY_TEMPERATURE, high_c);
        }
        joint = ", ";
    }
    if (isfinite(rh_pct)) {
        text_add(text, "%sat most ", joint);
        say_quantity(cli, text, QUANTITY_SHARE, rh_pct);
    }
}

static void say_limits(struct cli *cli)
{
    struct text text = {0};
    const cJSON *limit = NULL;
    cJSON_ArrayForEach(limit, doc_get(cli->reply.document, "limits"))
        say_limit(cli, &text, limit);
    if (text.length > 0)
        text_add(&text, ".");
    render_text(&cli->out, 0, 2, text.data);
}

static void say_present(struct cli *cli, const cJSON *place)
{
    struct text text = {0};
    const cJSON *air = doc_get(place, "air");
    text_add(&text, "%s ", doc_text(place, "name"));
    say_air(cli, &text, air);
    if (air != NULL) {
        text_add(&text, ", dew point ");
        say_quantity(cli, &text, QUANTITY_TEMPERATURE, doc_number(air, "dew_point_c"));
        text_add(&text, "; %s, read ", doc_text(air, "basis"));
        say_moment(cli, &text, doc_moment(air, "at"));
    }
    render_text(&cli->out, 0, 4, text.data);
}

static bool has_readings(const cJSON *document)
{
    for (unsigned i = 0; i < sizeof panels / sizeof *panels; i++) {
        const cJSON *value = NULL;
        cJSON_ArrayForEach(value, doc_get(document, panels[i].mean))
            if (cJSON_IsNumber(value))
                return true;
    }
    return false;
}

static void say_plot(struct cli *cli, bool braille)
{
    struct text text = {0};
    const cJSON *document = cli->reply.document;
    text_add(&text, "From ");
    say_moment(cli, &text, doc_moment(document, "from_at"));
    text_add(&text, " to ");
    say_moment(cli, &text, doc_moment(document, "to_at") < cli->now_ms ? doc_moment(document, "to_at") : cli->now_ms);
    text_add(&text, "; a column is ");
    say_quantity(cli, &text, QUANTITY_DURATION, doc_number(document, "bin_s") * plot_points_in_column(braille));
    text_add(&text, braille ? "." : ": * the mean, : from lowest to highest.");
    render_text(&cli->out, 0, 2, text.data);
    for (size_t i = 0; i < sizeof panels / sizeof *panels; i++)
        say_panel(cli, &panels[i], braille);
    say_axis(cli, braille);
    say_stretches(cli, "gaps", "No reading ", " Assumed air is not drawn.");
    say_stretches(cli, "heated", "Heated ", "");
    say_limits(cli);
}

/* --since WHEN, --days N or --hours TIME: one of them. */
static int read_span(const struct cli *cli, int64_t *ret_from_ms)
{
    const char *since = args_option(&cli->args, "--since"), *days = args_option(&cli->args, "--days"),
               *hours = args_option(&cli->args, "--hours");
    double back_s = HOURS_SHOWN * 3600.0;
    int status = CLI_DONE;
    if ((since != NULL) + (days != NULL) + (hours != NULL) > 1)
        return cli_fail(cli, CLI_USAGE, "--since, --days and --hours say the same: write one of them");
    if (since != NULL)
        return cli_parse_when(cli, since, ret_from_ms);
    if (days != NULL && (!cli_is_number(days) || strlen(days) > DAYS_DIGITS || atoi(days) < 1 || atoi(days) > DAYS_MOST))
        return cli_fail(cli, CLI_USAGE, "--days: \"%.20s\" is no number of days: write a whole number from 1 to %d", days, DAYS_MOST);
    if (days != NULL)
        back_s = atoi(days) * 86400.0;
    if (hours != NULL)
        status = cli_parse_quantity(cli, "--hours", QUANTITY_DURATION, hours, &back_s);
    *ret_from_ms = cli->now_ms - (int64_t)(fmin(fmax(back_s, 3600.0), DAYS_MOST * 86400.0) * 1000.0);
    return status;
}

static int show(struct cli *cli, const cJSON *place)
{
    char from[MOMENT_TEXT_SIZE], to[MOMENT_TEXT_SIZE];
    bool braille = plot_shows_braille(cli->out.out);
    unsigned columns = cli->out.width - (NAME_COLUMNS + AMOUNT_COLUMNS + 3);
    int64_t from_ms = 0;
    if (args_option(&cli->args, "--at") != NULL)
        return cli_fail(cli, CLI_USAGE, "--at goes with a reading: write coat air \"%s\" 18C 55%% --at ...",
                        doc_text(place, "name"));
    int status = read_span(cli, &from_ms);
    if (status == CLI_DONE && from_ms >= cli->now_ms)
        return cli_fail(cli, CLI_USAGE, "--since: nothing has passed since then");
    if (status == CLI_DONE)
        status = cli_get(cli, "/places/%lld/air?from=%s&to=%s&bins=%u", (long long)doc_id(place, "id"), moment_print(from_ms, from),
                         moment_print(cli->now_ms, to), columns * plot_points_in_column(braille));
    if (status != CLI_DONE || cli_said_json(cli))
        return status;
    say_present(cli, place);
    if (has_readings(cli->reply.document))
        say_plot(cli, braille);
    else
        render_text(&cli->out, 0, 0, "No reading in that time: coat air PLACE 18C 55% enters one.");
    return CLI_DONE;
}

/* ---- heating ---- */

static void say_heated(struct cli *cli, const cJSON *place)
{
    struct text text = {0};
    int64_t until = doc_moment(place, "heated_until_at");
    text_add(&text, "%s %s", doc_text(place, "name"), until != MOMENT_NONE ? "heated until " : "not heated");
    if (until != MOMENT_NONE)
        say_moment(cli, &text, until);
    render_text(&cli->out, 0, 4, text.data);
}

static int heat(struct cli *cli, const cJSON *place)
{
    const char *until = args_option(&cli->args, "--heat-until");
    int64_t until_ms = 0;
    if (cli->args.count > 1 || (until != NULL) == (args_option(&cli->args, "--heat-off") != NULL))
        return cli_fail(cli, CLI_USAGE, "say it alone: coat air \"%s\" --heat-until 21:30, or --heat-off", doc_text(place, "name"));
    int status = until != NULL ? cli_parse_ahead(cli, "--heat-until", until, &until_ms) : CLI_DONE;
    if (status != CLI_DONE)
        return status;
    cJSON *body = cJSON_CreateObject();
    if (until != NULL)
        doc_put_moment(body, "until_at", until_ms);
    else
        doc_put(body, "off", cJSON_CreateTrue());
    status = cli_send(cli, "POST", body, "/places/%lld/heating", (long long)doc_id(place, "id"));
    if (status == CLI_DONE && !cli_said_json(cli))
        say_heated(cli, cli->reply.document);
    return status;
}

int cmd_air(struct cli *cli)
{
    double temp_c = 0.0, rh_pct = 0.0;
    const cJSON *place = NULL;
    bool enters = cli->args.count > 1;
    bool heats = args_option(&cli->args, "--heat-until") != NULL || args_option(&cli->args, "--heat-off") != NULL;
    int status = enters ? read_air(cli, &temp_c, &rh_pct) : CLI_DONE;
    if (status == CLI_DONE)
        status = cli_open_shop(cli);
    if (status == CLI_DONE)
        status = names_find(cli, NAME_PLACE, cli->args.argument[0], &place);
    if (status != CLI_DONE)
        return status;
    if (enters && isnan(rh_pct) && !doc_is(place, "kind", "oven"))
        return cli_fail(cli, CLI_USAGE, "the humidity is missing: write both, %.20s 55%%", cli->args.argument[1]);
    if (heats)
        return heat(cli, place);
    return enters ? enter(cli, place, temp_c, rh_pct) : show(cli, place);
}
