/* coat calc vent: the vapour of an amount of solvent, and the air that it takes. */
#include "cli/calc_parts.h"

#include "coat/solvent.h"
#include "coat/vapour.h"

#include <math.h>

#define TEMP_DEFAULT_C (38.0 / 1.8) /* 70 F, at which 29 CFR 1910.94(c) reckons */

struct vent_request {
    struct vapour_liquid liquid; /* solvent_pct is the sum of the shares: the rest stays where it is */
    double lel_pct;              /* NAN where not given */
    double room_m3, airflow_m3h; /* airflow NAN where not given */
    double mixing, temp_c;
};

struct vent_answer {
    struct vapour_load load;
    double lel_pct, limit_ppm;             /* of the mixture; NAN where not known */
    double lel_pct_still_air;
    double dilution_air_m3, limit_air_m3;  /* mixing factor included */
    double dilution_min, purge_min;        /* NAN without an airflow */
};

/* The shares are of the amount; what is left of it does not evaporate. */
static enum coat_result read_liquid(struct calc *calc, struct vapour_liquid *ret)
{
    enum coat_result result = calc_need(calc, "--solvent");
    for (size_t i = 0; result == COAT_OK && calc_option(calc, "--solvent", i) != NULL; i++)
        result = solvent_mix_add(&ret->mix, calc_option(calc, "--solvent", i), &calc->error);
    if (result != COAT_OK)
        return result;
    ret->solvent_pct = fmin(solvent_mix_total_pct(&ret->mix), 100.0);
    for (unsigned i = 0; i < ret->mix.parts; i++)
        ret->mix.part[i].share_pct *= 100.0 / ret->solvent_pct;
    result = calc_need(calc, "--amount");
    if (result == COAT_OK)
        result = calc_read_above_zero(calc, "--amount", QUANTITY_VOLUME, &ret->amount_ml);
    if (result == COAT_OK && ret->amount_ml > VAPOUR_AMOUNT_MOST_ML)
        return coat_fail(&calc->error, COAT_BAD_VALUE, "--amount", "\"%.40s\" is more than a shop holds: at most 1000l",
                         calc_option(calc, "--amount", 0));
    return result;
}

static enum coat_result read_lel(struct calc *calc, double *ret)
{
    double lel_pct = (double)NAN;
    enum coat_result result = calc_read_single_unit(calc, "--lel", QUANTITY_SHARE, &lel_pct);
    if (result == COAT_OK && lel_pct >= 100.0)
        return coat_fail(&calc->error, COAT_BAD_VALUE, "--lel", "\"%.40s\" is no lower explosive limit: write percent by volume, for example 1.1%%",
                         calc_option(calc, "--lel", 0));
    *ret = lel_pct;
    return result;
}

static enum coat_result read_request(struct calc *calc, struct vent_request *ret)
{
    *ret = (struct vent_request){.airflow_m3h = (double)NAN, .temp_c = TEMP_DEFAULT_C};
    enum coat_result result = read_liquid(calc, &ret->liquid);
    if (result == COAT_OK)
        result = read_lel(calc, &ret->lel_pct);
    if (result == COAT_OK)
        result = calc_need(calc, "--room");
    if (result == COAT_OK)
        result = calc_read_above_zero(calc, "--room", QUANTITY_ROOM, &ret->room_m3);
    if (result == COAT_OK)
        result = calc_read_above_zero(calc, "--airflow", QUANTITY_AIRFLOW, &ret->airflow_m3h);
    if (result == COAT_OK)
        result = calc_read_mixing(calc, &ret->mixing);
    return result != COAT_OK ? result : calc_read(calc, "--temp", QUANTITY_TEMPERATURE, &ret->temp_c);
}

/* With the fan on and all of it in the air at once, until it is at a quarter of the LEL. */
static double purge_min(const struct vent_request *request, double lel_pct_still_air)
{
    double minutes = (double)NAN;
    enum coat_result result = vapour_purge_min(request->room_m3, request->airflow_m3h, request->mixing, lel_pct_still_air, VAPOUR_QUARTER_PCT,
                                               &minutes, NULL);
    return result == COAT_OK ? minutes : (double)NAN;
}

static enum coat_result answer(struct calc *calc, const struct vent_request *request, struct vent_answer *ret)
{
    struct vapour_loads loads;
    enum coat_result result = vapour_loads_of(&request->liquid, request->temp_c, &loads, &calc->error);
    if (result != COAT_OK)
        return result;
    ret->load = vapour_load_sum(loads.gas, loads.liquid);
    if (isfinite(request->lel_pct))
        ret->load.lel_air_m3 = ret->load.vapour_m3 / (request->lel_pct / 100.0);
    ret->lel_pct = isfinite(request->lel_pct) ? request->lel_pct : vapour_load_lel_pct(&ret->load);
    ret->limit_ppm = vapour_load_limit_ppm(&ret->load);
    ret->lel_pct_still_air = vapour_share_of_lel_pct(&ret->load, request->room_m3);
    ret->dilution_air_m3 = request->mixing * vapour_dilution_air_m3(ret->load.vapour_m3, ret->lel_pct, VAPOUR_QUARTER_PCT / 100.0);
    ret->limit_air_m3 = request->mixing * vapour_limit_air_m3(&ret->load);
    ret->dilution_min = ret->dilution_air_m3 / request->airflow_m3h * 60.0;
    ret->purge_min = purge_min(request, ret->lel_pct_still_air);
    return COAT_OK;
}

static void print_json(struct calc *calc, const struct vent_answer *answer)
{
    calc_json_number(calc, "vapour_m3", answer->load.vapour_m3);
    calc_json_number(calc, "lel_pct", answer->lel_pct);
    calc_json_number(calc, "lel_pct_still_air", answer->lel_pct_still_air);
    calc_json_number(calc, "dilution_air_m3", answer->dilution_air_m3);
    calc_json_number(calc, "dilution_min", answer->dilution_min);
    calc_json_number(calc, "purge_min", answer->purge_min);
    calc_json_number(calc, "limit_ppm", answer->limit_ppm);
    calc_json_number(calc, "limit_air_m3", answer->limit_air_m3);
    calc_json_end(calc);
}

static void print_lel(struct calc *calc, const struct vent_request *request, const struct vent_answer *answer)
{
    char room[AMOUNT_SIZE], air[AMOUNT_SIZE];
    if (!isfinite(answer->lel_pct)) {
        fputs("LEL not known for all of it: nothing can be said about fire; --lel PCT sets one from the safety data sheet\n", calc->out);
        return;
    }
    fprintf(calc->out, "LEL %.3g %%%s: %.3g %% of it in the still air of %s\n", answer->lel_pct,
            isfinite(request->lel_pct) ? " as given" : ", the lowest of the sources", answer->lel_pct_still_air,
            calc_amount(calc, QUANTITY_ROOM, request->room_m3, room));
    fprintf(calc->out, "air to a quarter of the LEL: %s\n", calc_amount(calc, QUANTITY_ROOM, answer->dilution_air_m3, air));
}

static void print_limit(struct calc *calc, const struct vent_answer *answer)
{
    char air[AMOUNT_SIZE];
    if (isfinite(answer->limit_ppm))
        fprintf(calc->out, "air to the exposure limit of %.3g ppm: %s\n", answer->limit_ppm,
                calc_amount(calc, QUANTITY_ROOM, answer->limit_air_m3, air));
    else
        fputs("exposure limit not known for all of it: nothing can be said about breathing it\n", calc->out);
}

static void print_fan(struct calc *calc, const struct vent_request *request, const struct vent_answer *answer)
{
    char flow[AMOUNT_SIZE], dilution[AMOUNT_SIZE], purge[AMOUNT_SIZE];
    if (!isfinite(request->airflow_m3h) || !isfinite(answer->dilution_min))
        return;
    fprintf(calc->out, "with %s: spread it over %s or more", calc_amount(calc, QUANTITY_AIRFLOW, request->airflow_m3h, flow),
            calc_amount(calc, QUANTITY_DURATION, answer->dilution_min * 60.0, dilution));
    if (answer->purge_min > 0.0)
        fprintf(calc->out, "; all at once it is above a quarter of the LEL for %s",
                calc_amount(calc, QUANTITY_DURATION, answer->purge_min * 60.0, purge));
    fputc('\n', calc->out);
}

static void print_text(struct calc *calc, const struct vent_request *request, const struct vent_answer *answer)
{
    char amount[AMOUNT_SIZE], vapour[AMOUNT_SIZE], temp[AMOUNT_SIZE];
    calc_amount(calc, QUANTITY_VOLUME, request->liquid.amount_ml * request->liquid.solvent_pct / 100.0, amount);
    if (isfinite(answer->load.vapour_m3))
        fprintf(calc->out, "%s of solvent: %s of vapour at %s\n", amount, calc_amount(calc, QUANTITY_ROOM, answer->load.vapour_m3, vapour),
                calc_amount(calc, QUANTITY_TEMPERATURE, request->temp_c, temp));
    else
        fprintf(calc->out, "%s of solvent: how much vapour is not known\n", amount);
    print_lel(calc, request, answer);
    print_limit(calc, answer);
    print_fan(calc, request, answer);
    calc_say_mixing(calc, request->mixing);
    calc_say_plain(calc);
    fprintf(calc->out, "%s\n", vapour_deferral);
}

static enum coat_result run(struct calc *calc)
{
    struct vent_request request;
    struct vent_answer found;
    enum coat_result result = read_request(calc, &request);
    if (result == COAT_OK)
        result = answer(calc, &request, &found);
    if (result != COAT_OK)
        return result;
    if (calc->json)
        print_json(calc, &found);
    else
        print_text(calc, &request, &found);
    return COAT_OK;
}

static const struct calc_option_rule options[] = {
    {"--solvent", "NAME=SHARE", SOLVENT_PARTS_MAX, "what evaporates, with its share of the amount by volume: toluene=60%; up to 8 of them"},
    {"--amount", "V", 1, "how much liquid: ml, l, floz, pt, qt, gal"},
    {"--lel", "PCT", 1, "lower explosive limit of the mixture, % by volume; default: the lowest of the sources"},
    {"--room", "V", 1, "the air in it: m3 or ft3"},
    {"--airflow", "Q", 1, "fresh air: m3h, m3min or cfm"},
    {"--mixing", "K", 1, "how many times the air it takes; 1 is perfect, a real room 3 to 10; default 1"},
    {"--temp", "TEMP", 1, "of the air; default 70F"},
    {NULL, NULL, 0, NULL},
};

const struct calc_command calc_vent_command = {
    .name = "vent",
    .usage = "vent --solvent NAME=SHARE [--solvent NAME=SHARE ...] --amount V [--lel PCT] --room V [--airflow Q] [--mixing K] [--temp TEMP]",
    .about = "the vapour that an amount of solvent makes, and the air that it takes",
    .options = options,
    .run = run,
};
