/* coat calc dew TEMP RH: what the air holds. */
#include "cli/calc_parts.h"

#include "coat/air.h"

#include <math.h>

/* "18C 55%", or "18C,55%" as air is written elsewhere. */
static enum coat_result read_air(struct calc *calc, struct air_state *ret)
{
    ret->pressure_pa = AIR_STANDARD_PRESSURE_PA;
    if (calc->words == 1)
        return quantity_parse_air(calc->word[0], &ret->temp_c, &ret->rh_pct, &calc->error);
    if (calc->words != 2)
        return coat_fail(&calc->error, COAT_BAD_FORM, "", "calc dew needs a temperature and a humidity, for example coat "
                         "calc dew 18C 55%%");
    enum coat_result result = quantity_parse(QUANTITY_TEMPERATURE, calc->word[0], &ret->temp_c, &calc->error);
    return result != COAT_OK ? result : quantity_parse(QUANTITY_SHARE, calc->word[1], &ret->rh_pct, &calc->error);
}

static void print_json(struct calc *calc, const struct air_properties *air)
{
    calc_json_number(calc, "dew_point_c", air->dew_point_c);
    calc_json_number(calc, "frost_point_c", air->frost_point_c);
    calc_json_number(calc, "wet_bulb_c", air->wet_bulb_c);
    calc_json_number(calc, "abs_humidity_g_m3", air->abs_humidity_g_m3);
    calc_json_number(calc, "vapour_pressure_pa", air->vapour_pressure_pa);
    calc_json_number(calc, "humidity_ratio", air->humidity_ratio);
    calc_json_end(calc);
}

static void print_text(struct calc *calc, struct air_state state, const struct air_properties *air)
{
    char temp[AMOUNT_SIZE], rh[AMOUNT_SIZE], dew[AMOUNT_SIZE], frost[AMOUNT_SIZE], wet[AMOUNT_SIZE];
    fprintf(calc->out, "%s %s: dew point %s", calc_amount(calc, QUANTITY_TEMPERATURE, state.temp_c, temp),
            calc_amount(calc, QUANTITY_SHARE, state.rh_pct, rh),
            calc_amount(calc, QUANTITY_TEMPERATURE, air->dew_point_c, dew));
    if (isfinite(air->frost_point_c))
        fprintf(calc->out, ", frost point %s", calc_amount(calc, QUANTITY_TEMPERATURE, air->frost_point_c, frost));
    fprintf(calc->out, ", wet bulb %s\n", calc_amount(calc, QUANTITY_TEMPERATURE, air->wet_bulb_c, wet));
    fprintf(calc->out, "water in the air %.1f g/m3, vapour pressure %.0f Pa, at standard pressure\n",
            air->abs_humidity_g_m3, air->vapour_pressure_pa);
    calc_say_plain(calc);
}

static enum coat_result run(struct calc *calc)
{
    struct air_state state;
    struct air_properties air;
    enum coat_result result = read_air(calc, &state);
    if (result != COAT_OK)
        return result;
    if (air_properties_at(state, &air) != COAT_OK)
        return coat_fail(&calc->error, COAT_OUT_OF_RANGE, "", "that air is outside the range of the formulas: -60C to 100C, "
                         "0.1%% to 100%%, and no boiling");
    if (calc->json)
        print_json(calc, &air);
    else
        print_text(calc, state, &air);
    return COAT_OK;
}

const struct calc_command calc_dew_command = {
    .name = "dew",
    .usage = "dew TEMP RH",
    .about = "dew point, wet bulb and the water in the air; humidity is over liquid water, also below 0 C",
    .words_most = 2,
    .run = run,
};
