/* coat air: what the air did, or a reading entered by hand. */
#include "cli/say.h"

#include "coat/air.h"

#include <math.h>
#include <string.h>

#define HOURS_SHOWN 48.0
#define HOURS_MOST (24.0 * 366.0)
#define ROWS_SHOWN 16
#define PLOT_WIDTH 31
#define MINUTES_IN_H 60
#define READINGS_MOST 500
#define COLUMNS_SHOWN 5

/* ---- entering ---- */

/* "18C 55%", "55% 18C" or "18C,55%": both are needed, and their units tell which is which. */
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
    if (words == 1)
        return cli_fail(cli, CLI_USAGE, "the humidity is missing: write both, %.20s 55%%", word[0]);
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
    doc_put_number(body, "rh_pct", rh_pct);
    status = cli_send(cli, "POST", body, "/places/%lld/readings", (long long)doc_id(place, "id"));
    if (status != CLI_DONE || cli_said_json(cli))
        return status;
    text_add(&text, "%s ", doc_text(place, "name"));
    say_quantity(cli, &text, QUANTITY_TEMPERATURE, temp_c);
    text_add(&text, " ");
    say_quantity(cli, &text, QUANTITY_SHARE, rh_pct);
    text_add(&text, ", dew point ");
    say_quantity(cli, &text, QUANTITY_TEMPERATURE, air_dew_point_c(temp_c, rh_pct));
    text_add(&text, ", entered for ");
    say_moment(cli, &text, at_ms);
    render_text(&cli->out, 0, 4, text.data);
    return CLI_DONE;
}

/* ---- showing ---- */

/* One line of the table: some hours, what the air was in them. */
struct stretch {
    int64_t from_ms;
    unsigned count;
    double temp_sum, rh_sum, low_c, high_c, dew_c; /* dew_c: the highest */
};

struct scale {
    double low_c, high_c;
};

static void count_reading(struct stretch *stretch, const cJSON *reading)
{
    double temp_c = doc_number(reading, "temp_c"), rh_pct = doc_number(reading, "rh_pct");
    if (!isfinite(temp_c) || !isfinite(rh_pct))
        return;
    stretch->low_c = stretch->count == 0 ? temp_c : fmin(stretch->low_c, temp_c);
    stretch->high_c = stretch->count == 0 ? temp_c : fmax(stretch->high_c, temp_c);
    stretch->dew_c = fmax(stretch->count == 0 ? -HUGE_VAL : stretch->dew_c, air_dew_point_c(temp_c, rh_pct));
    stretch->temp_sum += temp_c;
    stretch->rh_sum += rh_pct;
    stretch->count++;
}

static struct scale find_scale(const struct stretch *stretches)
{
    struct scale scale = {HUGE_VAL, -HUGE_VAL};
    for (unsigned i = 0; i < ROWS_SHOWN; i++) {
        if (stretches[i].count == 0)
            continue;
        scale.low_c = fmin(scale.low_c, fmin(stretches[i].low_c, stretches[i].dew_c));
        scale.high_c = fmax(scale.high_c, stretches[i].high_c);
    }
    scale.low_c = floor(scale.low_c);
    scale.high_c = fmax(ceil(scale.high_c), scale.low_c + 1.0);
    return scale;
}

static int plot_column(struct scale scale, double temp_c)
{
    double share = (temp_c - scale.low_c) / (scale.high_c - scale.low_c);
    return (int)lround(fmin(fmax(share, 0.0), 1.0) * (PLOT_WIDTH - 1));
}

/* ". . d  -T-": the dew point, and the temperature with how far it went. */
static void plot(struct text *text, struct scale scale, const struct stretch *stretch)
{
    char line[PLOT_WIDTH + 1];
    memset(line, '.', PLOT_WIDTH);
    line[PLOT_WIDTH] = '\0';
    for (int i = plot_column(scale, stretch->low_c); i <= plot_column(scale, stretch->high_c); i++)
        line[i] = '-';
    line[plot_column(scale, stretch->dew_c)] = 'd';
    line[plot_column(scale, stretch->temp_sum / stretch->count)] = 'T';
    text_add(text, "%s", line);
}

static void add_stretch(const struct cli *cli, struct table *table, struct scale scale, const struct stretch *stretch)
{
    struct text from = {0}, temp = {0}, rh = {0}, dew = {0}, line = {0};
    say_moment(cli, &from, stretch->from_ms);
    if (stretch->count == 0) {
        table_row(table, VOICE_PLAIN, (const char *[]){from.data, "no reading", "", "", ""});
        return;
    }
    say_quantity(cli, &temp, QUANTITY_TEMPERATURE, stretch->temp_sum / stretch->count);
    say_quantity(cli, &rh, QUANTITY_SHARE, stretch->rh_sum / stretch->count);
    say_quantity(cli, &dew, QUANTITY_TEMPERATURE, stretch->dew_c);
    plot(&line, scale, stretch);
    table_row(table, VOICE_PLAIN, (const char *[]){from.data, temp.data, rh.data, dew.data, line.data});
}

static void say_scale(struct cli *cli, struct scale scale, double hours)
{
    struct text text = {0};
    text_add(&text, "Means of ");
    say_quantity(cli, &text, QUANTITY_DURATION, hours * 3600.0 / ROWS_SHOWN);
    text_add(&text, "; plot from ");
    say_quantity(cli, &text, QUANTITY_TEMPERATURE, scale.low_c);
    text_add(&text, " to ");
    say_quantity(cli, &text, QUANTITY_TEMPERATURE, scale.high_c);
    text_add(&text, ": T temperature, - its spread, d the highest dew point.");
    render_text(&cli->out, 0, 0, text.data);
}

static void say_history(struct cli *cli, int64_t from_ms, double hours)
{
    struct stretch stretches[ROWS_SHOWN] = {0};
    const cJSON *reading = NULL;
    double step_ms = hours * (double)MS_PER_H / ROWS_SHOWN;
    for (unsigned i = 0; i < ROWS_SHOWN; i++)
        stretches[i].from_ms = from_ms + (int64_t)(step_ms * i);
    cJSON_ArrayForEach(reading, doc_get(cli->reply.document, "items"))
    {
        int64_t at_ms = doc_moment(reading, "at");
        double index = at_ms == MOMENT_NONE ? -1.0 : floor((double)(at_ms - from_ms) / step_ms);
        if (index >= 0.0 && index <= ROWS_SHOWN)
            count_reading(&stretches[index < ROWS_SHOWN ? (unsigned)index : ROWS_SHOWN - 1], reading);
    }
    struct scale scale = find_scale(stretches);
    struct table *table = table_new(COLUMNS_SHOWN, 2, 0);
    table_row(table, VOICE_HEAD, (const char *[]){"from", "air", "humidity", "dew point", ""});
    unsigned first = 0;
    while (first + 1 < ROWS_SHOWN && stretches[first].count == 0)
        first++; /* before the first reading there is nothing to tell */
    for (unsigned i = first; i < ROWS_SHOWN; i++)
        add_stretch(cli, table, scale, &stretches[i]);
    table_print(&cli->out, table);
    say_scale(cli, scale, hours);
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

static int show(struct cli *cli, const cJSON *place)
{
    char from[MOMENT_TEXT_SIZE];
    double hours = HOURS_SHOWN, back_s = 0.0;
    const char *back = args_option(&cli->args, "--hours");
    if (args_option(&cli->args, "--at") != NULL)
        return cli_fail(cli, CLI_USAGE, "--at goes with a reading: write coat air \"%s\" 18C 55%% --at ...",
                        doc_text(place, "name"));
    if (back != NULL && cli_parse_quantity(cli, "--hours", QUANTITY_DURATION, back, &back_s) != CLI_DONE)
        return CLI_USAGE;
    if (back != NULL)
        hours = fmin(fmax(back_s / 3600.0, 1.0), HOURS_MOST);
    int64_t to_ms = cli->now_ms + (MINUTES_IN_H - when_minute_of_day(cli->now_ms) % MINUTES_IN_H) * MS_PER_MIN;
    int64_t from_ms = to_ms - to_ms % MS_PER_MIN - (int64_t)(hours * (double)MS_PER_H); /* rows begin at full hours */
    int status = cli_get(cli, "/places/%lld/readings?from=%s&most=%d", (long long)doc_id(place, "id"),
                         moment_print(from_ms > 0 ? from_ms : 0, from), READINGS_MOST);
    if (status != CLI_DONE || cli_said_json(cli))
        return status;
    say_present(cli, place);
    if (doc_count(cli->reply.document, "items") > 0)
        say_history(cli, from_ms, hours);
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
    if (heats)
        return heat(cli, place);
    return enters ? enter(cli, place, temp_c, rh_pct) : show(cli, place);
}
