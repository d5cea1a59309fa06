/* coat sensor add, coat sensor test: nothing is stored before it was heard. */
#include "cli/sensor.h"

#include <math.h>
#include <string.h>

static const char no_source[] = "where does it come from? --sysfs iio:hygro1, --mqtt mqtt://host/topic, --command -- PROGRAM, or --push";

/* A device tells what it measures by what it says. */
static void keep_what_it_said(const struct cli *cli, cJSON *body, const cJSON *test)
{
    if (args_option(&cli->args, "--measures") != NULL || !doc_is(body, "kind", "sysfs"))
        return;
    cJSON *measures = cJSON_CreateArray();
    if (isfinite(doc_number(test, "temperature.value_c")))
        cJSON_AddItemToArray(measures, cJSON_CreateString("temperature"));
    if (isfinite(doc_number(test, "humidity.value_pct")))
        cJSON_AddItemToArray(measures, cJSON_CreateString("humidity"));
    doc_put(body, "measures", measures);
}

static int hear(struct cli *cli, cJSON *body)
{
    int status = sensor_try(cli, cJSON_Duplicate(body, true));
    const cJSON *test = cli->reply.document;
    if (status != CLI_DONE)
        return status;
    if (!sensor_test_is_usable(test)) {
        const char *fault = sensor_test_fault(test);
        bool ended = strchr(".?!", fault[strlen(fault) - 1]) != NULL; /* it is never empty */
        return cli_fail(cli, CLI_REFUSED, "%.400s%s With --untested it is entered all the same", fault, ended ? "" : ".");
    }
    if (!cli->json)
        sensor_say_test(cli, test);
    keep_what_it_said(cli, body, test);
    return CLI_DONE;
}

static int fill_body(struct cli *cli, cJSON *body)
{
    const char *kind = NULL;
    int64_t place = 0;
    int status = sensor_read_kind(cli, &kind);
    if (status == CLI_DONE && kind == NULL)
        status = cli_fail(cli, CLI_USAGE, "%s", no_source);
    if (status == CLI_DONE)
        status = cli_open_shop(cli);
    if (status == CLI_DONE)
        status = names_find_id(cli, NAME_PLACE, cli->args.argument[1], &place);
    if (status != CLI_DONE)
        return status;
    doc_put_text(body, "name", cli->args.argument[0]);
    doc_put_number(body, "place", (double)place);
    doc_put_text(body, "kind", kind);
    return sensor_add_options(cli, body, 2);
}

int cmd_sensor_add(struct cli *cli)
{
    cJSON *body = cJSON_CreateObject();
    int status = fill_body(cli, body);
    bool heard = status == CLI_DONE && args_option(&cli->args, "--untested") == NULL && !doc_is(body, "kind", "push");
    if (heard)
        status = hear(cli, body);
    status = cli_send_filled(cli, status, "POST", body, "/sensors");
    if (status != CLI_DONE || cli_said_json(cli))
        return status;
    sensor_say_head(cli, cli->reply.document, " entered");
    if (doc_is(cli->reply.document, "kind", "push"))
        sensor_say_token(cli, cli->reply.document);
    return CLI_DONE;
}

/* ---- coat sensor test ---- */

/* NAME, or the options of add; NAME and PLACE of add may stand before them. */
static int fill_test(struct cli *cli, cJSON *body)
{
    const char *kind = NULL;
    const cJSON *sensor = NULL;
    int status = sensor_read_kind(cli, &kind);
    if (status != CLI_DONE)
        return status;
    if (kind != NULL) {
        doc_put_text(body, "kind", kind);
        return sensor_add_options(cli, body, strcmp(kind, "command") == 0 ? 0 : 2);
    }
    status = sensor_add_options(cli, body, 1);
    if (status == CLI_DONE && (cli->args.count != 1 || cJSON_GetArraySize(body) > 0))
        status = cli_fail(cli, CLI_USAGE, "name a sensor alone, or a source that is not entered yet: --sysfs, --mqtt or --command");
    if (status == CLI_DONE)
        status = sensor_find(cli, &sensor);
    if (status == CLI_DONE)
        doc_put_number(body, "sensor", (double)doc_id(sensor, "id"));
    return status;
}

int cmd_sensor_test(struct cli *cli)
{
    cJSON *body = cJSON_CreateObject();
    int status = fill_test(cli, body);
    if (status == CLI_DONE)
        status = cli_open_shop(cli); /* for its units */
    if (status != CLI_DONE) {
        cJSON_Delete(body);
        return status;
    }
    status = sensor_try(cli, body);
    if (status != CLI_DONE)
        return status;
    bool usable = sensor_test_is_usable(cli->reply.document);
    if (cli_said_json(cli))
        return usable ? CLI_DONE : CLI_REFUSED;
    sensor_say_test(cli, cli->reply.document);
    return usable ? CLI_DONE : cli_fail(cli, CLI_REFUSED, "%.400s", sensor_test_fault(cli->reply.document));
}
