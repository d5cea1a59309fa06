/* coat calc cure: the time to a stage in steady air, from rows of a drying table. */
#include "cli/calc_parts.h"

#include "coat/law.h"
#include "coat/phrase.h"

#include <math.h>

#define DOUBLING_C 10.0 /* hours double for each 10 C colder: used where one row alone is given (common practice) */
#define EXPONENT_MAX 4.0

struct cure_request {
    struct law_terms terms;
    double film_um, ref_film_um, exponent;
    double temp_c, rh_pct;
};

static enum coat_result read_rule(struct calc *calc, enum humidity_rule *ret)
{
    const char *word = calc_option(calc, "--rule", 0);
    if (word == NULL || humidity_rule_from_word(word, ret))
        return COAT_OK;
    return coat_fail(&calc->error, COAT_BAD_VALUE, "--rule",
                     "\"%.40s\" is no humidity rule: write solvent, water, oxidising or moisture", word);
}

static enum coat_result read_terms(struct calc *calc, struct law_terms *ret)
{
    *ret = (struct law_terms){
        .side = SIDE_PLAIN,
        .doubling_c = DOUBLING_C,
        .rule = HUMIDITY_SOLVENT,
        .ref_rh_pct = 50.0,
        .min_temp_c = (double)NAN,
        .max_rh_pct = (double)NAN,
    };
    enum coat_result result = calc_read_rows(calc, ret);
    if (result == COAT_OK)
        result = read_rule(calc, &ret->rule);
    if (result == COAT_OK)
        result = calc_read(calc, "--ref-rh", QUANTITY_SHARE, &ret->ref_rh_pct);
    if (result == COAT_OK)
        result = calc_read(calc, "--min-temp", QUANTITY_TEMPERATURE, &ret->min_temp_c);
    if (result == COAT_OK)
        result = calc_read(calc, "--max-rh", QUANTITY_SHARE, &ret->max_rh_pct);
    return result;
}

/* The three belong together: without one of them there is no factor to speak of. */
static enum coat_result read_film(struct calc *calc, struct cure_request *ret)
{
    int given = (calc_option(calc, "--film", 0) != NULL) + (calc_option(calc, "--ref-film", 0) != NULL) +
                (calc_option(calc, "--exponent", 0) != NULL);
    ret->film_um = ret->ref_film_um = (double)NAN;
    ret->exponent = 1.0;
    if (given == 0)
        return COAT_OK;
    if (given != 3)
        return coat_fail(&calc->error, COAT_BAD_FORM, "--film", "the film counts only with all of --film D --ref-film D "
                         "--exponent N; N is 2 where solvent must diffuse out, 1 where evaporation limits");
    enum coat_result result = calc_read_above_zero(calc, "--film", QUANTITY_FILM, &ret->film_um);
    if (result == COAT_OK)
        result = calc_read_above_zero(calc, "--ref-film", QUANTITY_FILM, &ret->ref_film_um);
    return result != COAT_OK ? result : calc_read_ratio(calc, "--exponent", EXPONENT_MAX, &ret->exponent);
}

static enum coat_result read_request(struct calc *calc, struct cure_request *ret)
{
    enum coat_result result = read_terms(calc, &ret->terms);
    if (result == COAT_OK)
        result = read_film(calc, ret);
    if (result == COAT_OK)
        result = calc_need(calc, "--air");
    if (result == COAT_OK)
        result = quantity_parse_air(calc_option(calc, "--air", 0), &ret->temp_c, &ret->rh_pct, &calc->error);
    return result;
}

/* Why the rows are as they are in the answer: what was taken to be so without being said. */
static void print_assumptions(struct calc *calc, const struct cure_request *request)
{
    char rh[AMOUNT_SIZE], film[AMOUNT_SIZE], ref_film[AMOUNT_SIZE];
    fprintf(calc->out, "rule %s, rows at %s", humidity_rule_word(request->terms.rule),
            calc_amount(calc, QUANTITY_SHARE, request->terms.ref_rh_pct, rh));
    if (isfinite(request->film_um))
        fprintf(calc->out, ", film %s against %s, exponent %g",
                calc_amount(calc, QUANTITY_FILM, request->film_um, film),
                calc_amount(calc, QUANTITY_FILM, request->ref_film_um, ref_film), request->exponent);
    if (request->terms.rows == 1)
        fprintf(calc->out, ", one row: hours double for each 10 C colder (common practice)");
    fputc('\n', calc->out);
}

static void print_text(struct calc *calc, const struct cure_request *request, double time_h, enum stall stall)
{
    char time[AMOUNT_SIZE], temp[AMOUNT_SIZE], rh[AMOUNT_SIZE];
    calc_amount(calc, QUANTITY_TEMPERATURE, request->temp_c, temp);
    calc_amount(calc, QUANTITY_SHARE, request->rh_pct, rh);
    if (stall != STALL_NONE)
        fprintf(calc->out, "held up in steady %s %s: %s\n", temp, rh, stall_phrase(stall));
    else
        fprintf(calc->out, "%s in steady %s %s\n", calc_amount(calc, QUANTITY_DURATION, time_h * 3600.0, time), temp, rh);
    print_assumptions(calc, request);
    calc_say_plain(calc);
}

static enum coat_result run(struct calc *calc)
{
    struct cure_request request;
    struct law law;
    enum coat_result result = read_request(calc, &request);
    if (result == COAT_OK)
        result = law_from_terms(&request.terms, &law, &calc->error);
    if (result != COAT_OK)
        return result;
    enum stall stall = STALL_NONE;
    double rate = law_rate(&law, request.temp_c, request.rh_pct, &stall);
    double factor = law_film_factor(SIDE_PLAIN, request.film_um, request.ref_film_um, request.exponent);
    double needed_h = law_hours_needed(SIDE_PLAIN, request.terms.row[0].hours, factor, 1.0);
    double time_h = rate > 0.0 ? needed_h / rate : (double)NAN;
    if (stall == STALL_NONE && !isfinite(time_h))
        return coat_fail(&calc->error, COAT_OUT_OF_RANGE, "", "the rows give no time in that air: it is too far from them");
    if (!calc->json) {
        print_text(calc, &request, time_h, stall);
        return COAT_OK;
    }
    calc_json_number(calc, "time_h", stall == STALL_NONE ? time_h : (double)NAN);
    calc_json_word(calc, "stalled", stall == STALL_NONE ? NULL : stall_word(stall));
    calc_json_end(calc);
    return COAT_OK;
}

static const struct calc_option_rule options[] = {
    {"--row", "TEMP=TIME", LAW_ROWS_MAX, "a row of the drying table, up to 8 of them"},
    {"--rule", "RULE", 1, "how damp air acts: solvent (not at all; default), water, oxidising, moisture"},
    {"--ref-rh", "RH", 1, "the humidity that the rows hold for; default 50%"},
    {"--film", "D", 1, "the film that was laid, with --ref-film and --exponent"},
    {"--ref-film", "D", 1, "the film that the rows hold for"},
    {"--exponent", "N", 1, "2 where solvent must diffuse out, 1 where evaporation limits"},
    {"--min-temp", "TEMP", 1, "colder than this nothing cures; no limit by default"},
    {"--max-rh", "RH", 1, "damper than this nothing cures; no limit by default"},
    {"--air", "TEMP,RH", 1, "the air it has"},
    {NULL, NULL, 0, NULL},
};

const struct calc_command calc_cure_command = {
    .name = "cure",
    .usage = "cure --row 10C=8h --row 20C=4h [--rule solvent|water|oxidising|moisture] [--ref-rh 50%] "
             "[--film D --ref-film D --exponent N] [--min-temp TEMP] [--max-rh RH] --air TEMP,RH",
    .about = "time to a stage in steady air, from the rows of a drying table",
    .options = options,
    .run = run,
};
