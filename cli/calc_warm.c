/* coat calc warm: how long a casting takes to follow the air it was brought into. */
#include "cli/calc_parts.h"

#include "coat/warm.h"

#include <math.h>

#define H_MIDDLE_W_M2K 10.0
#define CLOSE_C 1.0 /* "warm through": within 1 C of the air, where a casting counts as at room temperature */

struct warm_request {
    struct calc_body body;
    double h_w_m2k; /* NAN where it was not given: the answer is a range */
    double from_c, to_c;
};

struct warm_answer {
    double time_constant_min, warm_min;
};

static enum coat_result read_request(struct calc *calc, struct warm_request *ret)
{
    enum coat_result result = calc_read_body(calc, &ret->body);
    if (result == COAT_OK)
        result = calc_need(calc, "--from");
    if (result == COAT_OK)
        result = calc_need(calc, "--to");
    if (result == COAT_OK)
        result = calc_read(calc, "--from", QUANTITY_TEMPERATURE, &ret->from_c);
    if (result == COAT_OK)
        result = calc_read(calc, "--to", QUANTITY_TEMPERATURE, &ret->to_c);
    ret->h_w_m2k = (double)NAN;
    return result != COAT_OK ? result : calc_read_single_unit(calc, "--h", QUANTITY_HEAT_TRANSFER, &ret->h_w_m2k);
}

static enum coat_result answer_for(const struct warm_request *request, double h_w_m2k, struct warm_answer *ret)
{
    double constant_min = 0.0, warm_min = 0.0;
    enum coat_result result = calc_time_constant(&request->body, h_w_m2k, &constant_min);
    double close_c = request->from_c < request->to_c ? request->to_c - CLOSE_C : request->to_c + CLOSE_C;
    if (result == COAT_OK && fabs(request->from_c - request->to_c) > CLOSE_C)
        result = warm_time_to(constant_min, request->from_c, request->to_c, close_c, &warm_min);
    if (result == COAT_OK)
        *ret = (struct warm_answer){.time_constant_min = constant_min, .warm_min = warm_min};
    return result;
}

/* Quick is what the highest h gives, slow the lowest; all three are the same where h was given. */
struct warm_answers {
    struct warm_answer middle, quick, slow;
    bool is_range;
};

static enum coat_result answer(struct calc *calc, const struct warm_request *request, struct warm_answers *ret)
{
    ret->is_range = !isfinite(request->h_w_m2k);
    enum coat_result result = answer_for(request, ret->is_range ? H_MIDDLE_W_M2K : request->h_w_m2k, &ret->middle);
    if (result == COAT_OK)
        result = answer_for(request, ret->is_range ? WARM_H_HIGH_W_M2K : request->h_w_m2k, &ret->quick);
    if (result == COAT_OK)
        result = answer_for(request, ret->is_range ? WARM_H_LOW_W_M2K : request->h_w_m2k, &ret->slow);
    if (result != COAT_OK)
        return coat_fail(&calc->error, result, "", "those figures give no time: check mass, area or wall and temperatures");
    return COAT_OK;
}

static void print_json(struct calc *calc, const struct warm_answers *answers)
{
    calc_json_number(calc, "time_constant_min", answers->middle.time_constant_min);
    calc_json_number(calc, "part_at_temp_min", answers->middle.warm_min);
    if (answers->is_range) {
        calc_json_number(calc, "time_constant_min_low", answers->quick.time_constant_min);
        calc_json_number(calc, "time_constant_min_high", answers->slow.time_constant_min);
        calc_json_number(calc, "part_at_temp_min_low", answers->quick.warm_min);
        calc_json_number(calc, "part_at_temp_min_high", answers->slow.warm_min);
    }
    calc_json_end(calc);
}

static void print_text(struct calc *calc, const struct warm_request *request, const struct warm_answers *answers)
{
    char from[AMOUNT_SIZE], to[AMOUNT_SIZE], close[AMOUNT_SIZE];
    fprintf(calc->out, "from %s within %s of air at %s: ", calc_amount(calc, QUANTITY_TEMPERATURE, request->from_c, from),
            calc_amount(calc, QUANTITY_TEMP_DIFF, CLOSE_C, close),
            calc_amount(calc, QUANTITY_TEMPERATURE, request->to_c, to));
    calc_say_range(calc, answers->is_range, answers->middle.warm_min, answers->quick.warm_min, answers->slow.warm_min);
    fputs("time constant ", calc->out);
    calc_say_range(calc, answers->is_range, answers->middle.time_constant_min, answers->quick.time_constant_min,
                   answers->slow.time_constant_min);
    if (answers->is_range)
        fprintf(calc->out, "heat transfer %g W/m2K (%g to %g), still air indoors, common practice; --h gives your own\n",
                H_MIDDLE_W_M2K, WARM_H_HIGH_W_M2K, WARM_H_LOW_W_M2K);
    calc_say_plain(calc);
}

static enum coat_result run(struct calc *calc)
{
    struct warm_request request;
    struct warm_answers answers;
    enum coat_result result = read_request(calc, &request);
    if (result == COAT_OK)
        result = answer(calc, &request, &answers);
    if (result != COAT_OK)
        return result;
    if (calc->json)
        print_json(calc, &answers);
    else
        print_text(calc, &request, &answers);
    return COAT_OK;
}

static const struct calc_option_rule options[] = {
    {"--mass", "M", 1, "of the casting; needed with --area"},
    {"--area", "A", 1, "all of its surface that the air reaches"},
    {"--wall", "D", 1, "or its wall thickness, both faces in air, where nobody can measure an ornate casting"},
    {"--metal", "METAL", 1, "iron, steel, aluminium or brass"},
    {"--from", "TEMP", 1, "how warm the casting is"},
    {"--to", "TEMP", 1, "the air it is brought into"},
    {"--h", "W/M2K", 1, "heat transfer; a range from 5 to 15 where it is not given"},
    {NULL, NULL, 0, NULL},
};

const struct calc_command calc_warm_command = {
    .name = "warm",
    .usage = "warm --mass M (--area A | --wall D) --metal iron --from TEMP --to TEMP [--h W/M2K]",
    .about = "minutes until a casting is within 1 C of the air that it was brought into",
    .options = options,
    .run = run,
};
