#include "cli/sensor.h"

#include "cli/given.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* ---- which one ---- */

int sensor_find(struct cli *cli, const cJSON **ret)
{
    int status = cli_open_shop(cli);
    if (status == CLI_DONE)
        status = cli_get(cli, "/sensors");
    if (status != CLI_DONE)
        return status;
    doc_put(cli->shop, "sensors", cJSON_Duplicate(doc_get(cli->reply.document, "items"), true));
    return names_find(cli, NAME_SENSOR, cli->args.argument[0], ret);
}

/* ---- from options to the document ---- */

static const struct {
    const char *option, *kind;
} kinds[] = {{"--sysfs", "sysfs"}, {"--mqtt", "mqtt"}, {"--command", "command"}, {"--push", "push"}};
#define KINDS (sizeof kinds / sizeof *kinds)

int sensor_read_kind(const struct cli *cli, const char **ret)
{
    const char *option = NULL;
    *ret = NULL;
    for (size_t i = 0; i < KINDS; i++) {
        if (args_option(&cli->args, kinds[i].option) == NULL)
            continue;
        if (option != NULL)
            return cli_fail(cli, CLI_USAGE, "%s and %s: a sensor has one source", option, kinds[i].option);
        option = kinds[i].option;
        *ret = kinds[i].kind;
    }
    return CLI_DONE;
}

static int add_source(const struct cli *cli, cJSON *body, unsigned first)
{
    for (size_t i = 0; i < KINDS; i++) {
        const char *source = args_option(&cli->args, kinds[i].option);
        if (source != NULL && source[0] != '\0')
            doc_put_text(body, "source", source);
    }
    return given_add_program(cli, body, "command", first);
}

static int add_measures(const struct cli *cli, cJSON *body)
{
    static const struct {
        const char *told, *word[2];
    } rows[] = {
        {"temperature", {"temperature", NULL}}, {"humidity", {"humidity", NULL}},
        {"temperature,humidity", {"temperature", "humidity"}}, {"humidity,temperature", {"temperature", "humidity"}},
    };
    const char *told = args_option(&cli->args, "--measures");
    for (size_t i = 0; told != NULL && i < sizeof rows / sizeof *rows; i++) {
        if (strcmp(told, rows[i].told) != 0)
            continue;
        doc_put(body, "measures", cJSON_CreateStringArray(rows[i].word, rows[i].word[1] != NULL ? 2 : 1));
        return CLI_DONE;
    }
    return told == NULL ? CLI_DONE
                        : cli_fail(cli, CLI_USAGE, "--measures: \"%.60s\" is not measured here: write temperature, humidity or "
                                   "temperature,humidity", told);
}

/* People count from 1. */
static int add_position(const struct cli *cli, cJSON *body)
{
    const char *told = args_option(&cli->args, "--position");
    if (told == NULL)
        return CLI_DONE;
    long position = cli_is_number(told) && strlen(told) < 5 ? strtol(told, NULL, 10) : 0;
    if (position < 1)
        return cli_fail(cli, CLI_USAGE, "--position: \"%.60s\" is no place in a row: 1 counts first", told);
    doc_put_number(body, "position", (double)(position - 1));
    return CLI_DONE;
}

int sensor_add_options(struct cli *cli, cJSON *body, unsigned first)
{
    int status = cli_add_fields(cli, body);
    if (status == CLI_DONE)
        status = add_source(cli, body, first);
    if (status == CLI_DONE)
        status = given_add_secret_file(cli, body, "--password-file", "password");
    if (status == CLI_DONE)
        status = given_add_ca_file(cli, body);
    if (status == CLI_DONE)
        status = add_measures(cli, body);
    return status == CLI_DONE ? add_position(cli, body) : status;
}

/* ---- trying a source ---- */

int sensor_try(struct cli *cli, cJSON *body)
{
    return given_try(cli, body, "/sensor-tests", "Waiting for what it says, a minute at most.");
}

bool sensor_test_is_usable(const cJSON *test)
{
    return isfinite(doc_number(test, "temperature.value_c")) || isfinite(doc_number(test, "humidity.value_pct"));
}

const char *sensor_test_fault(const cJSON *test)
{
    const char *fault = doc_text(test, "fault");
    return fault[0] != '\0' ? fault : "it says nothing that can be used: look at what it says with coat sensor test";
}

static void say_tried(struct cli *cli, struct table *table, const cJSON *test, const char *quantity, const char *value, enum quantity kind)
{
    struct text amount = {0}, raw = {0}, path = {0};
    const cJSON *said = doc_get(test, quantity);
    if (said == NULL)
        return;
    double number = doc_number(said, value);
    if (isfinite(number))
        say_quantity(cli, &amount, kind, number);
    else
        text_add(&amount, "nothing usable");
    text_add(&raw, "it said %s", doc_text(said, "raw"));
    text_add(&path, "%s", quantity);
    table_row(table, isfinite(number) ? VOICE_PLAIN : VOICE_STOP, (const char *[]){path.data, amount.data, raw.data});
}

void sensor_say_test(struct cli *cli, const cJSON *test)
{
    struct table *table = table_new(3, 2, 1);
    say_tried(cli, table, test, "temperature", "value_c", QUANTITY_TEMPERATURE);
    say_tried(cli, table, test, "humidity", "value_pct", QUANTITY_SHARE);
    table_print(&cli->out, table);
    if (sensor_test_is_usable(test) && doc_text(test, "fault")[0] != '\0')
        render_text(&cli->out, 2, 2, doc_text(test, "fault"));
}

/* ---- what is said of one ---- */

void sensor_say_quantities(struct text *text, const cJSON *words)
{
    const cJSON *word = NULL;
    bool any = false;
    cJSON_ArrayForEach(word, words)
    {
        text_add(text, "%s%s", any ? " and " : "", cJSON_GetStringValue(word) != NULL ? word->valuestring : "");
        any = true;
    }
    if (!any)
        text_add(text, "nothing");
}

static void say_source(struct text *text, const cJSON *sensor)
{
    if (doc_get(sensor, "command") != NULL)
        given_say_program(text, doc_get(sensor, "command"));
    else if (doc_is(sensor, "kind", "push"))
        text_add(text, "posts its readings itself");
    else if (doc_is(sensor, "kind", "by-hand"))
        text_add(text, "entered by hand");
    else if (doc_is(sensor, "kind", "import"))
        text_add(text, "from a file");
    else
        text_add(text, "%s", doc_text(sensor, "source"));
}

void sensor_say_head(struct cli *cli, const cJSON *sensor, const char *what)
{
    struct text text = {0};
    text_add(&text, "%s%s, %s: ", doc_text(sensor, "name"), what, names_of(cli, "places", doc_id(sensor, "place"), "a place out of use"));
    say_source(&text, sensor);
    text_add(&text, "; ");
    sensor_say_quantities(&text, doc_get(sensor, "measures"));
    render_text(&cli->out, 0, 4, text.data);
}

void sensor_say_token(struct cli *cli, const cJSON *sensor)
{
    const char *token = doc_text(sensor, "token");
    FILE *out = cli->out.out;
    if (token[0] == '\0') {
        render_text(&cli->out, 4, 4, doc_text(sensor, "token_note"));
        return;
    }
    render_text(&cli->out, 4, 4, "Its token is told this once, so keep it. It posts its readings like this, with \"at\" where they are older:");
    fprintf(out, "  curl -H 'Authorization: Bearer ");
    text_write_clean(out, token, strlen(token));
    fprintf(out, "' \\\n    --json '{\"temp_c\":18.2,\"rh_pct\":55}' \\\n    ");
    text_write_clean(out, cli->client.url, strlen(cli->client.url));
    fprintf(out, "/api/v1/readings\n");
}

/* ---- how it does ---- */

static void say_ago(const struct cli *cli, struct text *text, int64_t at_ms)
{
    say_moment(cli, text, at_ms);
    int64_t minutes = (cli->now_ms - at_ms) / MS_PER_MIN;
    if (minutes < 1)
        return;
    text_add(text, " (");
    say_quantity(cli, text, QUANTITY_DURATION, (double)minutes * 60.0);
    text_add(text, " ago)");
}

/* ", 17.8 C 61 %": what of it there is. */
static void say_last(const struct cli *cli, struct text *text, const cJSON *last)
{
    static const struct {
        const char *member;
        enum quantity kind;
    } amounts[] = {{"temp_c", QUANTITY_TEMPERATURE}, {"rh_pct", QUANTITY_SHARE}};
    for (size_t i = 0; i < sizeof amounts / sizeof *amounts; i++) {
        double value = doc_number(last, amounts[i].member);
        if (!isfinite(value))
            continue;
        text_add(text, " ");
        say_quantity(cli, text, amounts[i].kind, value);
    }
}

static void say_counts(struct text *text, const cJSON *sensor)
{
    if (doc_count(sensor, "counts") == 0) {
        text_add(text, doc_is(sensor, "state", "ok") ? "; another one counts" : "");
        return;
    }
    text_add(text, "; counts for ");
    sensor_say_quantities(text, doc_get(sensor, "counts"));
}

void sensor_say_state(const struct cli *cli, struct text *text, const cJSON *sensor)
{
    const cJSON *last = doc_get(sensor, "last");
    int64_t last_at = doc_moment(last, "at"), fault_at = doc_moment(sensor, "fault_at");
    if (doc_is(sensor, "state", "no-reading-yet")) {
        text_add(text, "no reading yet");
    } else if (doc_is(sensor, "state", "faulty")) {
        text_add(text, "faulty");
        if (fault_at != MOMENT_NONE) {
            text_add(text, " since ");
            say_ago(cli, text, fault_at);
        }
    } else if (doc_is(sensor, "state", "silent")) {
        text_add(text, "silent");
    } else {
        text_add(text, "%s", doc_text(sensor, "state"));
    }
    if (last_at != MOMENT_NONE) {
        text_add(text, doc_is(sensor, "state", "ok") ? "," : ", last");
        say_last(cli, text, last);
        text_add(text, ", read ");
        say_ago(cli, text, last_at);
    }
    say_counts(text, sensor);
}

enum voice sensor_voice(const cJSON *sensor)
{
    if (!doc_is(sensor, "state", "ok"))
        return doc_is(sensor, "kind", "by-hand") || doc_is(sensor, "kind", "import") ? VOICE_PLAIN : VOICE_STOP;
    return doc_get(sensor, "suspect") != NULL || doc_get(sensor, "disagrees") != NULL ? VOICE_SOON : VOICE_HEAD;
}

/* ---- what would do ---- */

static const struct {
    const char *judgement, *advice;
} judgements[] = {
    {"implausible", "no air is like that: look at where it hangs and how it is wired"},
    {"wrong-unit", "it looks like another unit: coat sensor edit --temp-scale or --rh-scale says which"},
    {"spike", "it stood alone: nothing to do unless it goes on"},
    {"stuck", "it says the very same all the time: switch it off and on, then replace it"},
    {"fault-value", "sensors say that when they are broken or badly wired: look at its wires and contacts"},
    {"from-the-future", "its clock runs ahead: set it, or let it send no time"},
    {"clock-not-set", "its clock is not set: set it, or let it send no time"},
};

static void say_suspect(const struct cli *cli, struct text *text, const cJSON *suspect)
{
    text_join(text, ". ", "What it said ");
    say_moment(cli, text, doc_moment(suspect, "at"));
    text_add(text, " does not count (%s)", doc_text(suspect, "judgement"));
    for (size_t i = 0; i < sizeof judgements / sizeof *judgements; i++) {
        if (doc_is(suspect, "judgement", judgements[i].judgement))
            text_add(text, ": %s", judgements[i].advice);
    }
}

/* What a sensor that says nothing wants. */
static void say_silence(const struct cli *cli, struct text *text, const cJSON *sensor)
{
    const char *name = doc_text(sensor, "name"), *place = names_of(cli, "places", doc_id(sensor, "place"), "PLACE");
    if (doc_is(sensor, "kind", "by-hand"))
        text_join(text, ". ", "coat air \"%s\" 18C 55%% enters a reading", place);
    else if (doc_is(sensor, "kind", "push"))
        text_join(text, ". ", "It posts by itself: look at its power, its network and its token (coat sensor edit \"%s\" --new-token makes another)",
                  name);
    else if (!doc_is(sensor, "kind", "import"))
        text_join(text, ". ", "coat sensor test \"%s\" asks it now", name);
}

void sensor_say_advice(const struct cli *cli, struct text *text, const cJSON *sensor)
{
    const cJSON *disagrees = doc_get(sensor, "disagrees");
    if (doc_text(sensor, "fault")[0] != '\0')
        text_join(text, ". ", "%s", doc_text(sensor, "fault"));
    if (doc_get(sensor, "suspect") != NULL)
        say_suspect(cli, text, doc_get(sensor, "suspect"));
    else if (!doc_is(sensor, "state", "ok"))
        say_silence(cli, text, sensor);
    if (disagrees != NULL)
        text_join(text, ". ", "%s says another %s, by more than two such instruments may differ: a salt test tells which is right "
                  "(coat sensor adjust --help)", names_of(cli, "sensors", doc_id(disagrees, "with"), "Another sensor"),
                  doc_text(disagrees, "in"));
}
