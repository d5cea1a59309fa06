/* What the calc commands share among themselves: a request whose options are read by name, and answers as text or JSON. */
#ifndef COAT_CLI_CALC_PARTS_H
#define COAT_CLI_CALC_PARTS_H

#include "coat/law.h"
#include "coat/quantity.h"
#include "coat/result.h"
#include "coat/warm.h"
#include "coat/words.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

#define CALC_WORDS_MAX 4
#define CALC_OPTIONS_MAX 32
#define AMOUNT_SIZE 40

struct calc_option_rule {
    const char *name;  /* "--film" */
    const char *value; /* "D", as the usage writes it */
    unsigned most;     /* how often it may be given */
    const char *about;
};

struct calc;

struct calc_command {
    const char *name;
    const char *usage; /* what follows "coat calc " */
    const char *about;
    size_t words_most; /* arguments that are no options */
    const struct calc_option_rule *options; /* ends with a row without a name; NULL for none */
    enum coat_result (*run)(struct calc *calc);
};

/* One call. On failure a command returns what coat_fail gave for &calc->error, having written nothing. */
struct calc {
    const struct calc_command *command;
    bool json, help;
    enum units_system units;
    FILE *out;
    struct coat_error error;
    const char *word[CALC_WORDS_MAX];
    size_t words;
    struct {
        const char *name;
        const char *value;
    } option[CALC_OPTIONS_MAX];
    size_t options;
    bool json_begun;
};

extern const struct calc_command calc_dew_command;
extern const struct calc_command calc_cure_command;
extern const struct calc_command calc_age_command;
extern const struct calc_command calc_warm_command;
extern const struct calc_command calc_bake_command;
extern const struct calc_command calc_vent_command;
extern const struct calc_command calc_purge_command;

/* The value of the `index`-th use of an option; NULL where it was not given so often. */
const char *calc_option(const struct calc *calc, const char *name, size_t index);

/* Fails where the option was not given. */
COAT_CHECKED enum coat_result calc_need(struct calc *calc, const char *name);

/* Reads an option's amount; an option that was not given leaves *ret as it is and succeeds. Errors name the option. */
COAT_CHECKED enum coat_result calc_read(struct calc *calc, const char *name, enum quantity kind, double *ret);
COAT_CHECKED enum coat_result calc_read_above_zero(struct calc *calc, const char *name, enum quantity kind, double *ret);

/* A ratio or exponent, which has no unit: above 0, at most `most`. */
COAT_CHECKED enum coat_result calc_read_ratio(struct calc *calc, const char *name, double most, double *ret);

/* As calc_read_above_zero, for a kind with one unit only: the number may stand alone, in the unit that the usage names. */
COAT_CHECKED enum coat_result calc_read_single_unit(struct calc *calc, const char *name, enum quantity kind, double *ret);

/* An amount as text in the units asked for; `text` has AMOUNT_SIZE bytes and is returned. */
char *calc_amount(const struct calc *calc, enum quantity kind, double value, char *text);

/* The answer as one JSON object: members, then the end. Numbers are unrounded; NAN and infinity are null. */
void calc_json_number(struct calc *calc, const char *name, double value);
void calc_json_word(struct calc *calc, const char *name, const char *word_or_null); /* words of ours: nothing to escape */
void calc_json_end(struct calc *calc);

/* The line that every text answer ends with. */
void calc_say_plain(struct calc *calc);

/* --row, one or more: into terms in order of temperature, however they were given. */
COAT_CHECKED enum coat_result calc_read_rows(struct calc *calc, struct law_terms *terms);

/* A casting: --metal, and either --mass with --area or --wall. NAN what was not given. */
struct calc_body {
    enum metal metal;
    double mass_kg, area_m2, wall_mm;
};
COAT_CHECKED enum coat_result calc_read_body(struct calc *calc, struct calc_body *ret);
COAT_CHECKED enum coat_result calc_time_constant(const struct calc_body *body, double h_w_m2k, double *ret_min);

/* Minutes as a duration, with both ends where it is a range, and the end of the line. */
void calc_say_range(struct calc *calc, bool is_range, double middle_min, double low_min, double high_min);

/* --mixing K: the factor that multiplies the air, 1 to 100; 1 where it was not given. And what it is, in a line. */
COAT_CHECKED enum coat_result calc_read_mixing(struct calc *calc, double *ret);
void calc_say_mixing(struct calc *calc, double mixing);

#endif
