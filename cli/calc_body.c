/* A casting as calc warm and calc bake are told of it. */
#include "cli/calc_parts.h"

#include <math.h>
#include <string.h>

static enum coat_result read_metal(struct calc *calc, enum metal *ret)
{
    const char *word = calc_option(calc, "--metal", 0);
    for (unsigned i = 0; word != NULL && i < METAL_COUNT; i++) {
        if (strcmp(metal_word((enum metal)i), word) == 0) {
            *ret = (enum metal)i;
            return COAT_OK;
        }
    }
    return coat_fail(&calc->error, COAT_BAD_VALUE, "--metal", "%s%.40s%s: write iron, steel, aluminium or brass",
                     word != NULL ? "\"" : "", word != NULL ? word : "not given", word != NULL ? "\" is not known" : "");
}

enum coat_result calc_read_body(struct calc *calc, struct calc_body *ret)
{
    double mass_g = (double)NAN;
    ret->area_m2 = ret->wall_mm = (double)NAN;
    bool has_area = calc_option(calc, "--area", 0) != NULL;
    if (has_area == (calc_option(calc, "--wall", 0) != NULL))
        return coat_fail(&calc->error, COAT_BAD_FORM, "", "calc %s needs either --area with --mass, or --wall: usage is "
                         "coat calc %s", calc->command->name, calc->command->usage);
    enum coat_result result = has_area ? calc_need(calc, "--mass") : COAT_OK;
    if (result == COAT_OK)
        result = calc_read_above_zero(calc, "--mass", QUANTITY_MASS, &mass_g);
    if (result == COAT_OK)
        result = calc_read_above_zero(calc, "--area", QUANTITY_AREA, &ret->area_m2);
    if (result == COAT_OK)
        result = calc_read_above_zero(calc, "--wall", QUANTITY_LENGTH, &ret->wall_mm);
    ret->mass_kg = mass_g / 1000.0;
    return result != COAT_OK ? result : read_metal(calc, &ret->metal);
}

enum coat_result calc_time_constant(const struct calc_body *body, double h_w_m2k, double *ret_min)
{
    if (isfinite(body->area_m2))
        return warm_time_constant_from_area(body->mass_kg, body->area_m2, body->metal, h_w_m2k, ret_min);
    return warm_time_constant_from_wall(body->wall_mm, body->metal, h_w_m2k, ret_min);
}

void calc_say_range(struct calc *calc, bool is_range, double middle_min, double low_min, double high_min)
{
    char middle[AMOUNT_SIZE], low[AMOUNT_SIZE], high[AMOUNT_SIZE];
    fputs(calc_amount(calc, QUANTITY_DURATION, middle_min * 60.0, middle), calc->out);
    if (is_range)
        fprintf(calc->out, " (%s to %s)", calc_amount(calc, QUANTITY_DURATION, low_min * 60.0, low),
                calc_amount(calc, QUANTITY_DURATION, high_min * 60.0, high));
    fputc('\n', calc->out);
}
