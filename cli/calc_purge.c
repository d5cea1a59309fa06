/* coat calc purge: minutes of fan from one concentration to another. */
#include "cli/calc_parts.h"

#include "coat/vapour.h"

#define MIXING_MOST 100.0

enum coat_result calc_read_mixing(struct calc *calc, double *ret)
{
    *ret = VAPOUR_MIXING_PERFECT;
    enum coat_result result = calc_read_ratio(calc, "--mixing", MIXING_MOST, ret);
    if (result != COAT_OK || *ret >= VAPOUR_MIXING_PERFECT)
        return result;
    return coat_fail(&calc->error, COAT_BAD_VALUE, "--mixing", "\"%.40s\" will not do: the factor multiplies the air, 1 is perfect mixing and a real "
                     "room 3 to 10; an efficiency of 0.2 is a factor of 5", calc_option(calc, "--mixing", 0));
}

void calc_say_mixing(struct calc *calc, double mixing)
{
    if (mixing > VAPOUR_MIXING_PERFECT)
        fprintf(calc->out, "mixing factor %g\n", mixing);
    else
        fputs("mixing 1: air that mixes perfectly; a real room takes 3 to 10 times as much (--mixing K)\n", calc->out);
}

struct purge_request {
    double room_m3, airflow_m3h, mixing, from_ppm, to_ppm;
};

static enum coat_result read_concentration(struct calc *calc, const char *name, double *ret)
{
    enum coat_result result = calc_need(calc, name);
    return result != COAT_OK ? result : calc_read_single_unit(calc, name, QUANTITY_CONCENTRATION, ret);
}

static enum coat_result read_request(struct calc *calc, struct purge_request *ret)
{
    enum coat_result result = calc_need(calc, "--room");
    if (result == COAT_OK)
        result = calc_need(calc, "--airflow");
    if (result == COAT_OK)
        result = calc_read_above_zero(calc, "--room", QUANTITY_ROOM, &ret->room_m3);
    if (result == COAT_OK)
        result = calc_read_above_zero(calc, "--airflow", QUANTITY_AIRFLOW, &ret->airflow_m3h);
    if (result == COAT_OK)
        result = calc_read_mixing(calc, &ret->mixing);
    if (result == COAT_OK)
        result = read_concentration(calc, "--from", &ret->from_ppm);
    return result != COAT_OK ? result : read_concentration(calc, "--to", &ret->to_ppm);
}

static void print_text(struct calc *calc, const struct purge_request *request, double minutes)
{
    char from[AMOUNT_SIZE], to[AMOUNT_SIZE], time[AMOUNT_SIZE];
    fprintf(calc->out, "from %s to %s: %s of fan, %.3g air changes an hour\n",
            calc_amount(calc, QUANTITY_CONCENTRATION, request->from_ppm, from), calc_amount(calc, QUANTITY_CONCENTRATION, request->to_ppm, to),
            calc_amount(calc, QUANTITY_DURATION, minutes * 60.0, time), request->airflow_m3h / request->room_m3);
    fputs("where nothing gives off more of it: no wet coat, rag or open can\n", calc->out);
    calc_say_mixing(calc, request->mixing);
    calc_say_plain(calc);
    fprintf(calc->out, "%s\n", vapour_deferral);
}

static enum coat_result run(struct calc *calc)
{
    struct purge_request request = {0};
    double minutes = 0.0;
    enum coat_result result = read_request(calc, &request);
    if (result == COAT_OK)
        result = vapour_purge_min(request.room_m3, request.airflow_m3h, request.mixing, request.from_ppm, request.to_ppm, &minutes, &calc->error);
    if (result != COAT_OK)
        return result;
    if (!calc->json) {
        print_text(calc, &request, minutes);
        return COAT_OK;
    }
    calc_json_number(calc, "purge_min", minutes);
    calc_json_number(calc, "air_changes_per_h", request.airflow_m3h / request.room_m3);
    calc_json_end(calc);
    return COAT_OK;
}

static const struct calc_option_rule options[] = {
    {"--room", "V", 1, "the air in it: m3 or ft3"},
    {"--airflow", "Q", 1, "fresh air: m3h, m3min or cfm"},
    {"--mixing", "K", 1, "how many times the air it takes; 1 is perfect, a real room 3 to 10; default 1"},
    {"--from", "PPM", 1, "the concentration to begin with: 5000ppm, or 0.5%"},
    {"--to", "PPM", 1, "the one to end with: 100ppm"},
    {NULL, NULL, 0, NULL},
};

const struct calc_command calc_purge_command = {
    .name = "purge",
    .usage = "purge --room V --airflow Q [--mixing K] --from PPM --to PPM",
    .about = "minutes of fan from one concentration to another",
    .options = options,
    .run = run,
};
