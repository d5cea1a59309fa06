/* The one table of commands: name, arguments, options, help. What the parser accepts, what --help prints and what goes into the API's
 * document all come from these rows. */
#ifndef CLI_COMMAND_H
#define CLI_COMMAND_H

#include "coat/quantity.h"

#include <stdbool.h>
#include <stdio.h>

struct cli;

/* How an option's value becomes a member of the API's document. */
enum field_kind {
    FIELD_NONE,     /* the command reads it itself */
    FIELD_TEXT,
    FIELD_WORD,     /* one of `words` */
    FIELD_YES_NO,   /* true or false */
    FIELD_QUANTITY, /* `quantity`, divided by `divisor` where that is not 0 */
    FIELD_COUNT,    /* a whole number from 1 */
    FIELD_NUMBER,   /* a plain number: an exponent */
    FIELD_WHEN      /* a moment that is past */
};

struct option {
    const char *name;  /* "--role" */
    const char *value; /* what --help calls its value; NULL: it takes none */
    const char *help;
    bool many;         /* may be given more than once */
    enum field_kind kind;
    const char *field; /* dotted path in the document */
    const char *const *words; /* NULL-terminated */
    enum quantity quantity;
    double divisor;
};

struct command {
    const char *name;      /* "log", "piece add" */
    const char *arguments; /* "PIECE MATERIAL" */
    const char *help;      /* one line */
    const char *nothing;   /* what an error ends with: "Nothing was logged."; NULL where it only looks */
    unsigned least, most;  /* arguments without options */
    bool bare;             /* stands in where its group is named without a verb */
    const struct option *options; /* up to a NULL name; NULL: none */
    const char *detail;    /* more for --help, or NULL */
    int (*run)(struct cli *cli);
};

extern const struct option options_global[];
extern const struct command command_table[]; /* up to a NULL name */

/* The row for the words at argv[0..count); *ret_words of them are its name. NULL: none, or a group without that verb. */
const struct command *command_find(int count, char *const argv[], int *ret_words);
/* Whether `word` begins the name of some command with verbs. */
bool command_is_group(const char *word);

void command_print_all(FILE *out);
void command_print_group(FILE *out, const char *word);
/* All commands that begin with the word, and the options of the one that is meant where nothing follows it; NULL: none is. */
void command_print_group_help(FILE *out, const char *word, const struct command *bare);
void command_print_help(FILE *out, const struct command *command);

/* One function a row, in cmd_*.c; each answers with an exit status. */
int cmd_now(struct cli *cli);
int cmd_log(struct cli *cli);
int cmd_show(struct cli *cli);
int cmd_amend(struct cli *cli);
int cmd_strike(struct cli *cli);
int cmd_sand(struct cli *cli);
int cmd_test(struct cli *cli);
int cmd_strip(struct cli *cli);
int cmd_piece_add(struct cli *cli);
int cmd_piece_list(struct cli *cli);
int cmd_piece_show(struct cli *cli);
int cmd_piece_edit(struct cli *cli);
int cmd_piece_remove(struct cli *cli);
int cmd_piece_note(struct cli *cli);
int cmd_piece_photo(struct cli *cli);
int cmd_rack_add(struct cli *cli);
int cmd_rack_list(struct cli *cli);
int cmd_rack_edit(struct cli *cli);
int cmd_rack_remove(struct cli *cli);
int cmd_place_add(struct cli *cli);
int cmd_place_list(struct cli *cli);
int cmd_place_show(struct cli *cli);
int cmd_place_edit(struct cli *cli);
int cmd_place_remove(struct cli *cli);
int cmd_move(struct cli *cli);
/* Shows the material of the last answer; passes a status other than done on. */
int cmd_material_answer(struct cli *cli, int status);
int cmd_material_add(struct cli *cli);
int cmd_material_list(struct cli *cli);
int cmd_material_show(struct cli *cli);
int cmd_material_edit(struct cli *cli);
int cmd_material_lead(struct cli *cli);
int cmd_material_remove(struct cli *cli);
int cmd_tin_add(struct cli *cli);
int cmd_tin_list(struct cli *cli);
int cmd_tin_show(struct cli *cli);
int cmd_tin_edit(struct cli *cli);
int cmd_tin_remove(struct cli *cli);
int cmd_sensor_list(struct cli *cli);
int cmd_sensor_add(struct cli *cli);
int cmd_sensor_test(struct cli *cli);
int cmd_sensor_show(struct cli *cli);
int cmd_sensor_edit(struct cli *cli);
int cmd_sensor_adjust(struct cli *cli);
int cmd_sensor_remove(struct cli *cli);
int cmd_channel_list(struct cli *cli);
int cmd_channel_add(struct cli *cli);
int cmd_channel_test(struct cli *cli);
int cmd_channel_show(struct cli *cli);
int cmd_channel_edit(struct cli *cli);
int cmd_channel_remove(struct cli *cli);
int cmd_mix(struct cli *cli);
int cmd_air(struct cli *cli);
int cmd_air_import(struct cli *cli);
int cmd_check(struct cli *cli);
int cmd_vapour(struct cli *cli);
int cmd_bake_check(struct cli *cli);
int cmd_bake_start(struct cli *cli);
int cmd_bake_stop(struct cli *cli);
int cmd_bake_resume(struct cli *cli);
int cmd_bake_show(struct cli *cli);
int cmd_bake_log(struct cli *cli);
int cmd_shop_show(struct cli *cli);
int cmd_shop_set(struct cli *cli);
int cmd_caution(struct cli *cli);
int cmd_notices(struct cli *cli);
int cmd_ack(struct cli *cli);
int cmd_calc(struct cli *cli);

#endif
