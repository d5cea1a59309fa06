#include "cli/say.h"

#include <math.h>
#include <string.h>

#define VALUE_LONG 64

static void say_setting(struct table *table, const char *name, const char *value)
{
    table_row(table, VOICE_HEAD, (const char *[]){name, value});
}

static void say_span_of_day(struct table *table, const char *name, const cJSON *settings, const char *from, const char *to)
{
    struct text text = {0};
    if (strcmp(doc_text(settings, from), doc_text(settings, to)) == 0)
        text_add(&text, "none");
    else
        text_add(&text, "%s to %s", doc_text(settings, from), doc_text(settings, to));
    say_setting(table, name, text.data);
}

static void say_settings(struct cli *cli, const cJSON *settings)
{
    struct text lead = {0};
    double lead_min = doc_number(settings, "lead_closing_min");
    struct table *table = table_new(2, 0, 0);
    say_setting(table, "zone", doc_text(settings, "zone"));
    say_setting(table, "units", doc_text(settings, "units"));
    say_quantity(cli, &lead, QUANTITY_DURATION, lead_min * 60.0);
    text_add(&lead, " before a window closes");
    say_setting(table, "lead", lead.data);
    say_span_of_day(table, "quiet", settings, "quiet_from", "quiet_to");
    say_span_of_day(table, "work", settings, "work_from", "work_to");
    say_setting(table, "morning", doc_get(settings, "morning") != NULL ? doc_text(settings, "morning") : "none");
    table_print(&cli->out, table);
}

int cmd_shop_show(struct cli *cli)
{
    int status = cli_get(cli, "/shop");
    if (status != CLI_DONE || cli_said_json(cli))
        return status;
    say_settings(cli, doc_get(cli->reply.document, "shop"));
    return CLI_DONE;
}

/* ---- set ---- */

static int set_text(const struct cli *cli, cJSON *body, const char *key, const char *value)
{
    (void)cli;
    doc_put_text(body, key, value);
    return CLI_DONE;
}

static int set_units(const struct cli *cli, cJSON *body, const char *key, const char *value)
{
    if (!word_is_among(value, units_words))
        return cli_fail(cli, CLI_USAGE, "units: \"%.40s\" is neither metric nor us", value);
    return set_text(cli, body, key, value);
}

static int set_lead(const struct cli *cli, cJSON *body, const char *key, const char *value)
{
    double lead_s = 0.0;
    int status = cli_parse_quantity(cli, "lead", QUANTITY_DURATION, value, &lead_s);
    if (status == CLI_DONE)
        doc_put_number(body, key, round(lead_s / 60.0));
    return status;
}

/* "22:00-07:00", or "none" */
static int set_hours(const struct cli *cli, cJSON *body, const char *key, const char *value)
{
    char from[VALUE_LONG], path[VALUE_LONG];
    int from_min = 0, to_min = 0;
    const char *dash = strchr(value, '-');
    bool none = strcmp(value, "none") == 0;
    if (none)
        value = "00:00-00:00", dash = value + 5;
    snprintf(from, sizeof from, "%.*s", dash != NULL && dash - value < VALUE_LONG ? (int)(dash - value) : 0, value);
    if (dash == NULL || !when_parse_clock(from, &from_min) || !when_parse_clock(dash + 1, &to_min))
        return cli_fail(cli, CLI_USAGE, "%s: \"%.40s\" is no span of a day: write 22:00-07:00, or none", key, value);
    snprintf(path, sizeof path, "%s_from", key);
    snprintf(from, sizeof from, "%02d:%02d", from_min / 60, from_min % 60);
    doc_put_text(body, path, from);
    snprintf(path, sizeof path, "%s_to", key);
    snprintf(from, sizeof from, "%02d:%02d", to_min / 60, to_min % 60);
    doc_put_text(body, path, from);
    return CLI_DONE;
}

/* "07:00", or "none" */
static int set_morning(const struct cli *cli, cJSON *body, const char *key, const char *value)
{
    int minute = 0;
    char text[16];
    if (strcmp(value, "none") == 0) {
        doc_put(body, key, cJSON_CreateNull());
        return CLI_DONE;
    }
    if (!when_parse_clock(value, &minute))
        return cli_fail(cli, CLI_USAGE, "%s: \"%.40s\" is no time of day: write 07:00, or none", key, value);
    snprintf(text, sizeof text, "%02d:%02d", minute / 60, minute % 60);
    return set_text(cli, body, key, text);
}

static const struct {
    const char *word, *key;
    int (*set)(const struct cli *cli, cJSON *body, const char *key, const char *value);
} settings_table[] = {
    {"zone", "zone", set_text},       {"units", "units", set_units}, {"lead", "lead_closing_min", set_lead},
    {"quiet", "quiet", set_hours},    {"work", "work", set_hours},
    {"morning", "morning", set_morning},
};

static int set_one(const struct cli *cli, cJSON *body, const char *pair)
{
    size_t length = strcspn(pair, "=");
    for (size_t i = 0; i < sizeof settings_table / sizeof *settings_table; i++) {
        const char *word = settings_table[i].word;
        if (pair[length] == '=' && strlen(word) == length && strncmp(word, pair, length) == 0)
            return settings_table[i].set(cli, body, settings_table[i].key, pair + length + 1);
    }
    return cli_fail(cli, CLI_USAGE,
                    "\"%.60s\" is no setting: write zone=Europe/Vienna, units=metric, lead=60min, quiet=22:00-07:00, "
                    "work=17:00-22:00 or morning=07:00",
                    pair);
}

int cmd_shop_set(struct cli *cli)
{
    int status = CLI_DONE;
    cJSON *body = cJSON_CreateObject();
    for (unsigned i = 0; i < cli->args.count && status == CLI_DONE; i++)
        status = set_one(cli, body, cli->args.argument[i]);
    status = cli_send_filled(cli, status, "PATCH", body, "/shop");
    if (status == CLI_DONE && !cli_said_json(cli))
        say_settings(cli, cli->reply.document);
    return status;
}
