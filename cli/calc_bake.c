/* coat calc bake: a part in a steady oven, from the rows of a bake. */
#include "cli/calc_parts.h"

#include "coat/bake.h"

#include <math.h>
#include <string.h>

#define START_C 20.0

struct bake_request {
    struct bake_law law;
    struct bake_body body; /* h NAN where it was not given: the answer is a range */
    double oven_c, start_c;
};

/* Minutes from when the part is put in. */
struct bake_answer {
    struct bake_range time_constant_min, part_at_temp_min, total_min;
    double soak_min; /* what the rows ask of a part at the oven's temperature */
};

static enum coat_result read_law(struct calc *calc, struct bake_law *ret)
{
    struct law_terms rows = {.rows = 0};
    struct bake_terms terms = {.doubling_c = (double)NAN, .too_hot_c = (double)NAN, .too_long = (double)NAN};
    enum coat_result result = calc_read_rows(calc, &rows);
    if (result != COAT_OK)
        return result;
    terms.rows = rows.rows;
    memcpy(terms.row, rows.row, sizeof terms.row);
    result = bake_law_make(&terms, ret, &calc->error);
    if (result != COAT_OK)
        snprintf(calc->error.field, sizeof calc->error.field, "--row");
    return result;
}

static enum coat_result read_part(struct calc *calc, struct bake_body *ret)
{
    struct calc_body body;
    enum coat_result result = calc_read_body(calc, &body);
    if (result != COAT_OK)
        return result;
    *ret = (struct bake_body){body.metal, body.mass_kg, body.area_m2, body.wall_mm, (double)NAN};
    return calc_read_single_unit(calc, "--h", QUANTITY_HEAT_TRANSFER, &ret->h_w_m2k);
}

static enum coat_result read_start(struct calc *calc, double *ret_c)
{
    *ret_c = START_C;
    enum coat_result result = calc_read(calc, "--start", QUANTITY_TEMPERATURE, ret_c);
    if (result == COAT_OK && *ret_c > BAKE_OVEN_MOST_C)
        return coat_fail(&calc->error, COAT_BAD_VALUE, "--start", "%g C is no part to be put in: write at most %g C", *ret_c,
                         BAKE_OVEN_MOST_C);
    return result;
}

static enum coat_result read_oven(struct calc *calc, struct bake_request *ret)
{
    enum coat_result result = calc_need(calc, "--oven");
    if (result == COAT_OK)
        result = calc_read(calc, "--oven", QUANTITY_TEMPERATURE, &ret->oven_c);
    if (result != COAT_OK)
        return result;
    if (ret->oven_c > BAKE_OVEN_MOST_C)
        return coat_fail(&calc->error, COAT_BAD_VALUE, "--oven", "%g C is no oven for a finish: write at most %g C", ret->oven_c,
                         BAKE_OVEN_MOST_C);
    result = bake_gets_there(&ret->law, ret->oven_c, &calc->error);
    if (result != COAT_OK)
        snprintf(calc->error.field, sizeof calc->error.field, "--oven");
    return result != COAT_OK ? result : read_start(calc, &ret->start_c);
}

static enum coat_result read_request(struct calc *calc, struct bake_request *ret)
{
    enum coat_result result = read_law(calc, &ret->law);
    if (result == COAT_OK)
        result = read_part(calc, &ret->body);
    return result != COAT_OK ? result : read_oven(calc, ret);
}

static enum coat_result answer(struct calc *calc, const struct bake_request *request, struct bake_answer *ret)
{
    const struct bake_point oven = {0.0, request->oven_c};
    const struct bake_step hold = {request->oven_c, 0.0, 0.0};
    struct bake_programme programme;
    struct bake_ahead ahead;
    struct bake_run run;
    enum coat_result result = bake_lag(&request->body, OVEN_AIR_UNKNOWN, &ret->time_constant_min, &calc->error);
    if (result != COAT_OK)
        return result;
    bake_run_begin(&ret->time_constant_min, request->start_c, &run);
    result = bake_programme_make(&hold, 1, &run, request->oven_c, &programme, &calc->error);
    if (result != COAT_OK)
        return result;
    bake_ahead(&run, &request->law, &oven, 1, &ahead);
    ret->part_at_temp_min = programme.there_min[0];
    ret->total_min = ahead.done_min;
    ret->soak_min = bake_minutes_at(&request->law, request->oven_c);
    return COAT_OK;
}

static void print_json(struct calc *calc, const struct bake_request *request, const struct bake_answer *answer)
{
    calc_json_number(calc, "time_constant_min", answer->time_constant_min.likely);
    calc_json_number(calc, "part_at_temp_min", answer->part_at_temp_min.likely);
    calc_json_number(calc, "total_min", answer->total_min.likely);
    calc_json_number(calc, "soak_min", answer->soak_min);
    if (isnan(request->body.h_w_m2k)) {
        calc_json_number(calc, "time_constant_min_low", answer->time_constant_min.quick);
        calc_json_number(calc, "time_constant_min_high", answer->time_constant_min.slow);
        calc_json_number(calc, "part_at_temp_min_low", answer->part_at_temp_min.quick);
        calc_json_number(calc, "part_at_temp_min_high", answer->part_at_temp_min.slow);
        calc_json_number(calc, "total_min_low", answer->total_min.quick);
        calc_json_number(calc, "total_min_high", answer->total_min.slow);
    }
    calc_json_end(calc);
}

static void print_line(struct calc *calc, const char *what, bool is_range, const struct bake_range *minutes)
{
    fputs(what, calc->out);
    calc_say_range(calc, is_range, minutes->likely, minutes->quick, minutes->slow);
}

static void print_text(struct calc *calc, const struct bake_request *request, const struct bake_answer *answer)
{
    char start[AMOUNT_SIZE], oven[AMOUNT_SIZE], close[AMOUNT_SIZE], soak[AMOUNT_SIZE], coldest[AMOUNT_SIZE], hottest[AMOUNT_SIZE];
    const struct bake_heat *heat = bake_heat(OVEN_AIR_UNKNOWN);
    bool is_range = isnan(request->body.h_w_m2k);
    fprintf(calc->out, "from %s within %s of an oven at %s: ", calc_amount(calc, QUANTITY_TEMPERATURE, request->start_c, start),
            calc_amount(calc, QUANTITY_TEMP_DIFF, BAKE_CLOSE_C, close), calc_amount(calc, QUANTITY_TEMPERATURE, request->oven_c, oven));
    print_line(calc, "", is_range, &answer->part_at_temp_min);
    print_line(calc, "baked, from when it is put in: ", is_range, &answer->total_min);
    print_line(calc, "time constant ", is_range, &answer->time_constant_min);
    fprintf(calc->out, "the rows ask for %s at %s; a part more than %s below %s counts as nothing, above %s as %s\n",
            calc_amount(calc, QUANTITY_DURATION, answer->soak_min * 60.0, soak), oven, close,
            calc_amount(calc, QUANTITY_TEMPERATURE, request->law.coldest_c, coldest),
            calc_amount(calc, QUANTITY_TEMPERATURE, request->law.hottest_c, hottest), hottest);
    if (is_range)
        fprintf(calc->out, "heat transfer %g W/m2K (%g to %g), a still oven to one with a fan; --h gives your own\n", heat->likely_w_m2k,
                heat->high_w_m2k, heat->low_w_m2k);
    calc_say_plain(calc);
}

static enum coat_result run(struct calc *calc)
{
    struct bake_request request;
    struct bake_answer found;
    enum coat_result result = read_request(calc, &request);
    if (result == COAT_OK)
        result = answer(calc, &request, &found);
    if (result != COAT_OK)
        return result;
    if (calc->json)
        print_json(calc, &request, &found);
    else
        print_text(calc, &request, &found);
    return COAT_OK;
}

static const struct calc_option_rule options[] = {
    {"--row", "TEMP=TIME", MATERIAL_BAKE_ROWS_MAX, "a row of the bake: a part as hot as that takes so long; up to 6 of them"},
    {"--oven", "TEMP", 1, "the oven, hot already and steady"},
    {"--mass", "M", 1, "of the part; needed with --area"},
    {"--area", "A", 1, "all of its surface that the air reaches"},
    {"--wall", "D", 1, "or its wall thickness, both faces in air, where nobody can measure an ornate casting"},
    {"--metal", "METAL", 1, "iron, steel, aluminium or brass"},
    {"--start", "TEMP", 1, "how warm it is put in; default 20C"},
    {"--h", "W/M2K", 1, "heat transfer; a range from 8 to 50 where it is not given"},
    {NULL, NULL, 0, NULL},
};

const struct calc_command calc_bake_command = {
    .name = "bake",
    .usage = "bake --row 150C=60min --row 135C=90min --oven 150C --mass M (--area A | --wall D) --metal iron [--start TEMP] "
             "[--h W/M2K]",
    .about = "minutes until a part is as hot as its oven, and until it is baked, by the rows of a bake",
    .options = options,
    .run = run,
};
