/* coat sensor: where air comes from. */
#include "cli/sensor.h"

#include <math.h>
#include <string.h>

#define COLUMNS 3
#define SUSPECTS_SHOWN 5

/* ---- list ---- */

static void add_row(const struct cli *cli, struct table *table, const cJSON *sensor)
{
    struct text state = {0}, advice = {0};
    sensor_say_state(cli, &state, sensor);
    sensor_say_advice(cli, &advice, sensor);
    if (advice.length > 0)
        text_add(&state, ". %s", advice.data);
    table_row(table, sensor_voice(sensor),
              (const char *[]){names_of(cli, "places", doc_id(sensor, "place"), "-"), doc_text(sensor, "name"), state.data});
}

static int ask_list(struct cli *cli)
{
    int64_t place = 0;
    int status = cli_open_shop(cli);
    if (status == CLI_DONE && cli->args.count > 0)
        status = names_find_id(cli, NAME_PLACE, cli->args.argument[0], &place);
    if (status != CLI_DONE)
        return status;
    return place != 0 ? cli_get(cli, "/sensors?place=%lld", (long long)place) : cli_get(cli, "/sensors");
}

int cmd_sensor_list(struct cli *cli)
{
    const cJSON *sensor = NULL;
    int status = ask_list(cli);
    if (status != CLI_DONE || cli_said_json(cli))
        return status;
    doc_put(cli->shop, "sensors", cJSON_Duplicate(doc_get(cli->reply.document, "items"), true));
    struct table *table = table_new(COLUMNS, 0, 1);
    cJSON_ArrayForEach(sensor, doc_get(cli->shop, "sensors"))
        add_row(cli, table, sensor);
    table_print(&cli->out, table);
    if (doc_count(cli->shop, "sensors") == 0)
        render_text(&cli->out, 0, 0, "No sensor yet: coat sensor add hygro shed --sysfs iio:hygro1, or coat air shed 18C 55% by hand");
    return CLI_DONE;
}

/* ---- show ---- */

static void add_line(struct table *table, const char *what, const struct text *text)
{
    if (text->length > 0)
        table_row(table, VOICE_PLAIN, (const char *[]){what, text->data});
}

static void say_interval(const struct cli *cli, struct text *text, const cJSON *sensor)
{
    double usual_s = doc_number(sensor, "usual_interval_s");
    if (isfinite(usual_s)) {
        text_add(text, "about every ");
        say_quantity(cli, text, QUANTITY_DURATION, usual_s);
        text_add(text, "; ");
    }
    text_add(text, "a reading counts as measured for ");
    say_quantity(cli, text, QUANTITY_DURATION, doc_number(sensor, "hold_s"));
}

static void say_reading(struct text *text, const cJSON *sensor)
{
    const char *temp = doc_text(sensor, "pointers.temperature"), *rh = doc_text(sensor, "pointers.humidity");
    if (temp[0] != '\0')
        text_join(text, ", ", "temperature at %s", temp);
    if (rh[0] != '\0')
        text_join(text, ", ", "humidity at %s", rh);
    if (!doc_is(sensor, "scales.temperature", "C"))
        text_join(text, ", ", "temperature in %s", doc_text(sensor, "scales.temperature"));
    if (!doc_is(sensor, "scales.humidity", "%"))
        text_join(text, ", ", "humidity as %s", doc_text(sensor, "scales.humidity"));
}

static void say_login(struct text *text, const cJSON *sensor)
{
    if (doc_text(sensor, "user")[0] != '\0')
        text_join(text, ", ", "as %s", doc_text(sensor, "user"));
    if (doc_is(sensor, "kind", "mqtt"))
        text_join(text, ", ", doc_flag(sensor, "has_secret") ? "with a password" : "without a password");
    if (doc_text(sensor, "ca_file")[0] != '\0')
        text_join(text, ", ", "trusting %s", doc_text(sensor, "ca_file"));
}

/* A salt test tells tenths of a percent. */
static void say_amount(const struct cli *cli, struct text *text, bool temp, double value)
{
    if (temp)
        say_quantity(cli, text, QUANTITY_TEMPERATURE, value);
    else
        text_add(text, "%.1f %%", value);
}

/* "+3.3 % from 28 Nov 14:35 on: it read 72 %, where 75.3 % was right" */
static void say_adjustment(const struct cli *cli, struct text *text, const cJSON *adjustment)
{
    bool temp = doc_is(adjustment, "quantity", "temperature");
    double offset = doc_number(adjustment, "offset");
    text_add(text, "%s ", doc_text(adjustment, "quantity"));
    text_add(text, offset < 0.0 ? "-" : "+");
    if (temp)
        say_quantity(cli, text, QUANTITY_TEMP_DIFF, fabs(offset));
    else
        text_add(text, "%.1f %%", fabs(offset));
    text_add(text, " from ");
    say_moment(cli, text, doc_moment(adjustment, "from_at"));
    text_add(text, " on: it read ");
    say_amount(cli, text, temp, doc_number(adjustment, "reads"));
    text_add(text, " where ");
    say_amount(cli, text, temp, doc_number(adjustment, "should"));
    text_add(text, " was right");
}

static int add_adjustments(struct cli *cli, struct table *table, int64_t id)
{
    const cJSON *adjustment = NULL;
    int status = cli_get(cli, "/sensors/%lld/adjustments", (long long)id);
    if (status != CLI_DONE)
        return status;
    cJSON_ArrayForEach(adjustment, doc_get(cli->reply.document, "items"))
    {
        struct text text = {0};
        say_adjustment(cli, &text, adjustment);
        add_line(table, "adjusted", &text);
    }
    return CLI_DONE;
}

static void say_suspect(const struct cli *cli, struct text *text, const cJSON *suspect)
{
    say_moment(cli, text, doc_moment(suspect, "at"));
    text_add(text, " %s:", doc_text(suspect, "judgement"));
    if (isfinite(doc_number(suspect, "temp_c"))) {
        text_add(text, " ");
        say_quantity(cli, text, QUANTITY_TEMPERATURE, doc_number(suspect, "temp_c"));
    }
    if (isfinite(doc_number(suspect, "rh_pct"))) {
        text_add(text, " ");
        say_quantity(cli, text, QUANTITY_SHARE, doc_number(suspect, "rh_pct"));
    }
}

static int add_suspects(struct cli *cli, struct table *table, int64_t id)
{
    int status = cli_get(cli, "/sensors/%lld/suspects", (long long)id);
    const cJSON *items = status == CLI_DONE ? doc_get(cli->reply.document, "items") : NULL;
    int count = cJSON_GetArraySize(items);
    for (int i = count > SUSPECTS_SHOWN ? count - SUSPECTS_SHOWN : 0; i < count; i++) {
        struct text text = {0};
        say_suspect(cli, &text, cJSON_GetArrayItem(items, i));
        add_line(table, "did not count", &text);
    }
    return status;
}

static int say_whole(struct cli *cli, const cJSON *sensor)
{
    struct text state = {0}, interval = {0}, reading = {0}, login = {0}, advice = {0};
    struct table *table = table_new(2, 2, 0);
    int64_t id = doc_id(sensor, "id");
    sensor_say_head(cli, sensor, "");
    sensor_say_state(cli, &state, sensor);
    say_interval(cli, &interval, sensor);
    say_reading(&reading, sensor);
    say_login(&login, sensor);
    add_line(table, "now", &state);
    add_line(table, "readings", &interval);
    add_line(table, "its words", &reading);
    add_line(table, "broker", &login);
    int status = add_adjustments(cli, table, id);
    if (status == CLI_DONE)
        status = add_suspects(cli, table, id);
    table_print(&cli->out, table);
    sensor_say_advice(cli, &advice, sensor);
    if (advice.length > 0)
        render_text(&cli->out, 2, 2, advice.data);
    return status;
}

int cmd_sensor_show(struct cli *cli)
{
    const cJSON *sensor = NULL;
    int status = sensor_find(cli, &sensor);
    if (status == CLI_DONE)
        status = cli_get(cli, "/sensors/%lld", (long long)doc_id(sensor, "id"));
    if (status != CLI_DONE || cli_said_json(cli))
        return status;
    return say_whole(cli, sensor);
}

/* ---- changes ---- */

/* A source of another kind is another sensor, with readings of its own. */
static int check_kind(const struct cli *cli, const cJSON *sensor)
{
    const char *kind = NULL;
    int status = sensor_read_kind(cli, &kind);
    if (status == CLI_DONE && kind != NULL && !doc_is(sensor, "kind", kind))
        return cli_fail(cli, CLI_USAGE, "it is of the kind %s, and that stays: coat sensor add enters another one", doc_text(sensor, "kind"));
    return status;
}

static int fill_change(struct cli *cli, const cJSON *sensor, cJSON *body)
{
    int status = check_kind(cli, sensor);
    if (status == CLI_DONE)
        status = sensor_add_options(cli, body, 1);
    if (status == CLI_DONE && args_option(&cli->args, "--new-token") != NULL)
        doc_put(body, "new_token", cJSON_CreateTrue());
    if (status == CLI_DONE && cJSON_GetArraySize(body) == 0)
        return cli_fail_unchanged(cli);
    return status;
}

int cmd_sensor_edit(struct cli *cli)
{
    const cJSON *sensor = NULL;
    int status = sensor_find(cli, &sensor);
    if (status != CLI_DONE)
        return status;
    cJSON *body = cJSON_CreateObject();
    status = fill_change(cli, sensor, body);
    status = cli_send_filled(cli, status, "PATCH", body, "/sensors/%lld", (long long)doc_id(sensor, "id"));
    if (status != CLI_DONE || cli_said_json(cli))
        return status;
    sensor_say_head(cli, cli->reply.document, " changed");
    if (args_option(&cli->args, "--new-token") != NULL)
        sensor_say_token(cli, cli->reply.document);
    return CLI_DONE;
}

int cmd_sensor_remove(struct cli *cli)
{
    const cJSON *sensor = NULL;
    struct text text = {0};
    int status = sensor_find(cli, &sensor);
    if (status == CLI_DONE)
        status = cli_send(cli, "DELETE", NULL, "/sensors/%lld", (long long)doc_id(sensor, "id"));
    if (status != CLI_DONE || cli_said_json(cli))
        return status;
    text_add(&text, "%s is out of use; its readings stay", doc_text(sensor, "name"));
    render_text(&cli->out, 0, 4, text.data);
    return CLI_DONE;
}

/* ---- adjust ---- */

static int fill_adjustment(const struct cli *cli, cJSON *body)
{
    const char *temp = args_option(&cli->args, "--temp"), *rh = args_option(&cli->args, "--humidity"), *reads = args_option(&cli->args, "--reads");
    enum quantity kind = temp != NULL ? QUANTITY_TEMPERATURE : QUANTITY_SHARE;
    double should = 0.0, read = 0.0;
    if ((temp == NULL) == (rh == NULL))
        return cli_fail(cli, CLI_USAGE, "say what it should read: --temp 18C, or --humidity 75.3%% in a salt test");
    int status = cli_parse_quantity(cli, temp != NULL ? "--temp" : "--humidity", kind, temp != NULL ? temp : rh, &should);
    if (status == CLI_DONE && reads != NULL)
        status = cli_parse_quantity(cli, "--reads", kind, reads, &read);
    if (status != CLI_DONE)
        return status;
    doc_put_text(body, "quantity", temp != NULL ? "temperature" : "humidity");
    doc_put_number(body, "should", should);
    if (reads != NULL)
        doc_put_number(body, "reads", read);
    return CLI_DONE;
}

int cmd_sensor_adjust(struct cli *cli)
{
    const cJSON *sensor = NULL;
    struct text text = {0};
    cJSON *body = cJSON_CreateObject();
    int status = fill_adjustment(cli, body);
    if (status == CLI_DONE)
        status = sensor_find(cli, &sensor);
    if (status == CLI_DONE)
        status = cli_add_fields(cli, body);
    status = cli_send_filled(cli, status, "POST", body, "/sensors/%lld/adjustments", (long long)doc_id(sensor, "id"));
    if (status != CLI_DONE || cli_said_json(cli))
        return status;
    text_add(&text, "%s adjusted: ", doc_text(sensor, "name"));
    say_adjustment(cli, &text, cli->reply.document);
    render_text(&cli->out, 0, 4, text.data);
    return CLI_DONE;
}
