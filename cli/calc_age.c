/* coat calc age: what a history of temperatures is worth at a reference temperature, or in degree-hours above a datum. */
#include "cli/calc_parts.h"

#include "coat/age.h"

#include <math.h>
#include <string.h>

#define Q10_MAX 1000.0
#define STEP_SIZE 48

struct age_request {
    double energy_kj_mol, q10, datum_c; /* one of them; NAN the others */
    double ref_c;                       /* NAN where none was given, which only a datum allows */
    double age_h, degree_hours, total_h;
};

static enum coat_result read_law(struct calc *calc, struct age_request *ret)
{
    ret->energy_kj_mol = ret->q10 = ret->datum_c = ret->ref_c = (double)NAN;
    int given = (calc_option(calc, "--ea", 0) != NULL) + (calc_option(calc, "--q10", 0) != NULL) +
                (calc_option(calc, "--datum", 0) != NULL);
    if (given != 1)
        return coat_fail(&calc->error, COAT_BAD_FORM, "", "calc age needs one of --ea, --q10 and --datum: usage is coat calc "
                         "%s", calc->command->usage);
    enum coat_result result = calc_read_single_unit(calc, "--ea", QUANTITY_ENERGY, &ret->energy_kj_mol);
    if (result == COAT_OK)
        result = calc_read_ratio(calc, "--q10", Q10_MAX, &ret->q10);
    if (result == COAT_OK)
        result = calc_read(calc, "--datum", QUANTITY_TEMPERATURE, &ret->datum_c);
    if (result == COAT_OK && isnan(ret->datum_c))
        result = calc_need(calc, "--ref");
    if (result == COAT_OK)
        result = calc_read(calc, "--ref", QUANTITY_TEMPERATURE, &ret->ref_c);
    if (result == COAT_OK && ret->ref_c <= ret->datum_c) /* false where either was not given */
        return coat_fail(&calc->error, COAT_BAD_VALUE, "--ref", "the reference must be warmer than the datum");
    return result;
}

static double rate_at(const struct age_request *request, double temp_c)
{
    if (!isfinite(request->ref_c))
        return (double)NAN;
    if (isfinite(request->energy_kj_mol))
        return age_rate_from_energy(request->energy_kj_mol, request->ref_c, temp_c);
    if (isfinite(request->q10))
        return age_rate_from_q10(request->q10, request->ref_c, temp_c);
    return age_degrees_above(request->datum_c, temp_c) / age_degrees_above(request->datum_c, request->ref_c);
}

/* "12h@10C" of text[0..length). */
static enum coat_result read_step(struct calc *calc, const char *text, size_t length, double *ret_s, double *ret_temp_c)
{
    char step[STEP_SIZE] = "";
    if (length < sizeof step)
        memcpy(step, text, length);
    char *at = strchr(step, '@');
    if (at == NULL)
        return coat_fail(&calc->error, COAT_BAD_VALUE, "--history", "\"%.*s\" is no step of a history: write how long and how "
                         "warm, for example 12h@10C, with commas between the steps",
                         (int)(length < STEP_SIZE ? length : STEP_SIZE), text);
    *at = '\0';
    enum coat_result result = quantity_parse(QUANTITY_DURATION, step, ret_s, &calc->error);
    return result != COAT_OK ? result : quantity_parse(QUANTITY_TEMPERATURE, at + 1, ret_temp_c, &calc->error);
}

static enum coat_result add_history(struct calc *calc, struct age_request *request)
{
    enum coat_result result = calc_need(calc, "--history");
    for (const char *at = calc_option(calc, "--history", 0); result == COAT_OK && at != NULL;) {
        size_t length = strcspn(at, ",");
        double seconds = 0.0, temp_c = 0.0;
        result = read_step(calc, at, length, &seconds, &temp_c);
        request->total_h += seconds / 3600.0;
        request->age_h += seconds / 3600.0 * rate_at(request, temp_c);
        request->degree_hours += seconds / 3600.0 * age_degrees_above(request->datum_c, temp_c);
        at = at[length] == ',' ? at + length + 1 : NULL;
    }
    return result;
}

static void print_json(struct calc *calc, const struct age_request *request)
{
    if (isfinite(request->datum_c))
        calc_json_number(calc, "degree_hours", request->degree_hours);
    if (isfinite(request->ref_c))
        calc_json_number(calc, "equivalent_age_h", request->age_h);
    calc_json_number(calc, "history_h", request->total_h);
    calc_json_end(calc);
}

static void print_text(struct calc *calc, const struct age_request *request)
{
    char total[AMOUNT_SIZE], age[AMOUNT_SIZE], temp[AMOUNT_SIZE];
    calc_amount(calc, QUANTITY_DURATION, request->total_h * 3600.0, total);
    if (isfinite(request->datum_c))
        fprintf(calc->out, "%s of history: %.1f degree-hours (C) above %s, nothing counted below it\n", total,
                request->degree_hours, calc_amount(calc, QUANTITY_TEMPERATURE, request->datum_c, temp));
    if (isfinite(request->ref_c))
        fprintf(calc->out, "%s of history: worth %s at %s\n", total,
                calc_amount(calc, QUANTITY_DURATION, request->age_h * 3600.0, age),
                calc_amount(calc, QUANTITY_TEMPERATURE, request->ref_c, temp));
    calc_say_plain(calc);
}

static enum coat_result run(struct calc *calc)
{
    struct age_request request = {0};
    enum coat_result result = read_law(calc, &request);
    if (result == COAT_OK)
        result = add_history(calc, &request);
    if (result != COAT_OK)
        return result;
    if (isfinite(request.ref_c) && !isfinite(request.age_h))
        return coat_fail(&calc->error, COAT_OUT_OF_RANGE, "", "that history is too far from the reference to give a figure");
    if (calc->json)
        print_json(calc, &request);
    else
        print_text(calc, &request);
    return COAT_OK;
}

static const struct calc_option_rule options[] = {
    {"--ea", "KJ/MOL", 1, "activation energy, for example 40kJ/mol"},
    {"--q10", "X", 1, "so many times faster for each 10 C warmer"},
    {"--datum", "TEMP", 1, "temperature at which the cure stands still: gives degree-hours above it"},
    {"--ref", "TEMP", 1, "the temperature that the equivalent age holds for"},
    {"--history", "STEPS", 1, "how long and how warm, for example \"12h@10C,12h@30C\""},
    {NULL, NULL, 0, NULL},
};

const struct calc_command calc_age_command = {
    .name = "age",
    .usage = "age (--ea KJ/MOL | --q10 X | --datum TEMP) --ref TEMP --history \"12h@10C,12h@30C\"",
    .about = "equivalent age at a reference temperature, or degree-hours above a datum",
    .options = options,
    .run = run,
};
