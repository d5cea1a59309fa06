#include "cli/calc.h"

#include "cli/calc_parts.h"
#include "cli/render.h"
#include "cli/text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const struct calc_command *const commands[] = {
    &calc_dew_command,
    &calc_cure_command,
    &calc_age_command,
    &calc_warm_command,
    &calc_bake_command,
    &calc_vent_command,
    &calc_purge_command,
};
#define HELP_WIDTH 80
#define COMMANDS (sizeof commands / sizeof *commands)

enum { EXIT_DONE = 0, EXIT_USAGE = 2 };

static const struct calc_command *find_command(const char *name)
{
    for (size_t i = 0; i < COMMANDS; i++) {
        if (strcmp(commands[i]->name, name) == 0)
            return commands[i];
    }
    return NULL;
}

static void print_usage(FILE *out)
{
    struct render render = {out, HELP_WIDTH, false};
    fputs("coat calc: arithmetic without a daemon, for checking a figure by hand\n\n", out);
    for (size_t i = 0; i < COMMANDS; i++) {
        struct text usage = {0};
        text_add(&usage, "coat calc %s", commands[i]->usage);
        render_text(&render, 2, 6, usage.data);
        render_text(&render, 8, 8, commands[i]->about);
    }
    fputs("\n  --json gives plain unrounded numbers. coat calc COMMAND --help tells the\n  options.\n", out);
}

static void print_help(const struct calc_command *command, FILE *out)
{
    struct render render = {out, HELP_WIDTH, false};
    struct text usage = {0};
    struct table *table = table_new(3, 2, 0);
    text_add(&usage, "coat calc %s", command->usage);
    render_text(&render, 0, 4, usage.data);
    render_text(&render, 0, 0, command->about);
    for (const struct calc_option_rule *rule = command->options; rule != NULL && rule->name != NULL; rule++)
        table_row(table, VOICE_PLAIN, (const char *[]){rule->name, rule->value, rule->about});
    table_print(&render, table);
}

static const struct calc_option_rule *find_rule(const struct calc_command *command, const char *name, size_t length)
{
    for (const struct calc_option_rule *rule = command->options; rule != NULL && rule->name != NULL; rule++) {
        if (strlen(rule->name) == length && strncmp(rule->name, name, length) == 0)
            return rule;
    }
    return NULL;
}

static size_t count_option(const struct calc *calc, const char *name)
{
    size_t count = 0;
    for (size_t i = 0; i < calc->options; i++)
        count += strcmp(calc->option[i].name, name) == 0 ? 1 : 0;
    return count;
}

static enum coat_result keep_option(struct calc *calc, const struct calc_option_rule *rule, const char *value)
{
    if (value == NULL || strncmp(value, "--", 2) == 0 || value[0] == '\0')
        return coat_fail(&calc->error, COAT_BAD_FORM, rule->name, "a value is missing: write %s %s", rule->name,
                         rule->value);
    if (count_option(calc, rule->name) >= rule->most || calc->options == CALC_OPTIONS_MAX)
        return coat_fail(&calc->error, COAT_BAD_FORM, rule->name, "given more than %s",
                         rule->most == 1 ? "once: say which one counts" : "the table holds");
    calc->option[calc->options].name = rule->name;
    calc->option[calc->options++].value = value;
    return COAT_OK;
}

static enum coat_result keep_word(struct calc *calc, const char *word)
{
    if (calc->words >= calc->command->words_most)
        return coat_fail(&calc->error, COAT_BAD_FORM, "", "\"%.40s\" is one argument too many: usage is coat calc %s", word,
                         calc->command->usage);
    calc->word[calc->words++] = word;
    return COAT_OK;
}

/* The global options, for those who write them last. *ret_taken is how many arguments were used, 0 for none. */
static enum coat_result take_global(struct calc *calc, const char *name, const char *value, int *ret_taken)
{
    *ret_taken = 1;
    if (strcmp(name, "--json") == 0) {
        calc->json = true;
    } else if (strcmp(name, "--help") == 0) {
        calc->help = true;
    } else if (strcmp(name, "--units") == 0) {
        *ret_taken = 2;
        if (value == NULL || !units_system_from_word(value, &calc->units))
            return coat_fail(&calc->error, COAT_BAD_FORM, "--units", "write --units metric or --units us");
    } else if (strcmp(name, "--no-color") != 0) {
        *ret_taken = 0;
    }
    return COAT_OK;
}

/* "--name value" or "--name=value". A value may begin with a minus and a digit, never with two minuses. */
static enum coat_result take_option(struct calc *calc, const char *text, const char *next, int *ret_taken)
{
    enum coat_result result = take_global(calc, text, next, ret_taken);
    if (result != COAT_OK || *ret_taken > 0)
        return result;
    const char *equals = strchr(text, '=');
    size_t length = equals != NULL ? (size_t)(equals - text) : strlen(text);
    const struct calc_option_rule *rule = find_rule(calc->command, text, length);
    if (rule == NULL)
        return coat_fail(&calc->error, COAT_BAD_FORM, "", "calc %s has no option \"%.*s\": usage is coat calc %s",
                         calc->command->name, (int)(length < 40 ? length : 40), text, calc->command->usage);
    *ret_taken = equals != NULL ? 1 : 2;
    return keep_option(calc, rule, equals != NULL ? equals + 1 : next);
}

static bool is_value(const char *text)
{
    bool minus_and_digit = text[0] == '-' && text[1] >= '0' && text[1] <= '9';
    return text[0] != '-' || minus_and_digit;
}

static enum coat_result take_arguments(struct calc *calc, int argc, char **argv)
{
    bool only_words = false;
    for (int i = 0; i < argc;) {
        int taken = 1;
        enum coat_result result = COAT_OK;
        if (!only_words && strcmp(argv[i], "--") == 0)
            only_words = true;
        else if (only_words || is_value(argv[i]))
            result = keep_word(calc, argv[i]);
        else
            result = take_option(calc, argv[i], i + 1 < argc ? argv[i + 1] : NULL, &taken);
        if (result != COAT_OK)
            return result;
        i += taken;
    }
    return COAT_OK;
}

/* The lines of an answer, each broken where the terminal ends. */
static void write_lines(char *lines, FILE *out)
{
    struct render render;
    render_init(&render, out, true);
    for (char *line = strsep(&lines, "\n"); line != NULL; line = strsep(&lines, "\n"))
        render_text(&render, 0, 4, line);
}

/* JSON goes out as it is written. */
static enum coat_result answer(struct calc *calc)
{
    FILE *out = calc->out;
    char *lines = NULL;
    size_t length = 0;
    FILE *held = calc->json ? NULL : open_memstream(&lines, &length);
    if (held == NULL)
        return calc->command->run(calc);
    calc->out = held;
    enum coat_result result = calc->command->run(calc);
    calc->out = out;
    if (fclose(held) == 0 && result == COAT_OK)
        write_lines(lines, out);
    free(lines);
    return result;
}

static enum coat_result run_command(struct calc *calc, int argc, char **argv)
{
    enum coat_result result = take_arguments(calc, argc, argv);
    if (result != COAT_OK)
        return result;
    if (calc->help) {
        print_help(calc->command, calc->out);
        return COAT_OK;
    }
    return answer(calc);
}

static int complain(const struct coat_error *error, FILE *err)
{
    bool has_field = error->field[0] != '\0';
    fprintf(err, "coat: %s%s%s\n", error->field, has_field ? ": " : "", error->text);
    return EXIT_USAGE;
}

int calc_run(int argc, char **argv, bool json, enum units_system units, FILE *out, FILE *err)
{
    struct calc calc = {.json = json, .units = units, .out = out};
    if (argc < 2) {
        print_usage(err);
        return EXIT_USAGE;
    }
    if (strcmp(argv[1], "--help") == 0 || strcmp(argv[1], "help") == 0) {
        print_usage(out);
        return EXIT_DONE;
    }
    int taken = 1;
    while (argc > 2 && argv[1][0] == '-' && taken > 0) { /* coat calc --json dew … */
        if (take_global(&calc, argv[1], argv[2], &taken) != COAT_OK)
            return complain(&calc.error, err);
        taken = taken < argc - 1 ? taken : 0;
        argc -= taken;
        argv += taken;
    }
    calc.command = find_command(argv[1]);
    if (calc.command == NULL) {
        fprintf(err, "coat: there is no calc \"%.40s\"\n", argv[1]);
        print_usage(err);
        return EXIT_USAGE;
    }
    return run_command(&calc, argc - 2, argv + 2) == COAT_OK ? EXIT_DONE : complain(&calc.error, err);
}

const char *calc_option(const struct calc *calc, const char *name, size_t index)
{
    for (size_t i = 0; i < calc->options; i++) {
        if (strcmp(calc->option[i].name, name) == 0 && index-- == 0)
            return calc->option[i].value;
    }
    return NULL;
}

enum coat_result calc_need(struct calc *calc, const char *name)
{
    if (calc_option(calc, name, 0) != NULL)
        return COAT_OK;
    return coat_fail(&calc->error, COAT_BAD_FORM, "", "calc %s needs %s: usage is coat calc %s", calc->command->name, name,
                     calc->command->usage);
}

enum coat_result calc_read(struct calc *calc, const char *name, enum quantity kind, double *ret)
{
    const char *text = calc_option(calc, name, 0);
    if (text == NULL)
        return COAT_OK;
    enum coat_result result = quantity_parse(kind, text, ret, &calc->error);
    if (result != COAT_OK)
        snprintf(calc->error.field, sizeof calc->error.field, "%s", name);
    return result;
}

static enum coat_result check_above_zero(struct calc *calc, const char *name, double value)
{
    if (value > 0.0)
        return COAT_OK;
    return coat_fail(&calc->error, COAT_BAD_VALUE, name, "\"%.40s\" must be above zero", calc_option(calc, name, 0));
}

enum coat_result calc_read_above_zero(struct calc *calc, const char *name, enum quantity kind, double *ret)
{
    double value = 0.0;
    if (calc_option(calc, name, 0) == NULL)
        return COAT_OK;
    enum coat_result result = calc_read(calc, name, kind, &value);
    if (result == COAT_OK)
        result = check_above_zero(calc, name, value);
    if (result == COAT_OK)
        *ret = value;
    return result;
}

/* Digits and a point, nothing else. The command line never calls setlocale, so strtod reads a point. */
static bool parse_bare(const char *text, double *ret)
{
    char *end = NULL;
    if (text[0] == '\0' || text[strspn(text, "0123456789.")] != '\0')
        return false;
    *ret = strtod(text, &end);
    return *end == '\0' && end != text;
}

enum coat_result calc_read_ratio(struct calc *calc, const char *name, double most, double *ret)
{
    const char *text = calc_option(calc, name, 0);
    double value = 0.0;
    if (text == NULL)
        return COAT_OK;
    if (!parse_bare(text, &value) || value <= 0.0 || value > most)
        return coat_fail(&calc->error, COAT_BAD_VALUE, name,
                         "\"%.40s\" will not do: write a plain number above 0 and at most %g, for example 2", text, most);
    *ret = value;
    return COAT_OK;
}

enum coat_result calc_read_single_unit(struct calc *calc, const char *name, enum quantity kind, double *ret)
{
    const char *text = calc_option(calc, name, 0);
    double value = 0.0;
    if (text == NULL || !parse_bare(text, &value) || value > 1e9)
        return calc_read_above_zero(calc, name, kind, ret);
    enum coat_result result = check_above_zero(calc, name, value);
    if (result == COAT_OK)
        *ret = value;
    return result;
}

char *calc_amount(const struct calc *calc, enum quantity kind, double value, char *text)
{
    return quantity_print(kind, value, calc->units, text, AMOUNT_SIZE);
}

static void begin_member(struct calc *calc, const char *name)
{
    fprintf(calc->out, "%s\"%s\":", calc->json_begun ? "," : "{", name);
    calc->json_begun = true;
}

void calc_json_number(struct calc *calc, const char *name, double value)
{
    begin_member(calc, name);
    if (isfinite(value))
        fprintf(calc->out, "%.17g", value);
    else
        fputs("null", calc->out);
}

void calc_json_word(struct calc *calc, const char *name, const char *word_or_null)
{
    begin_member(calc, name);
    if (word_or_null != NULL)
        fprintf(calc->out, "\"%s\"", word_or_null);
    else
        fputs("null", calc->out);
}

void calc_json_end(struct calc *calc)
{
    fputs("}\n", calc->out);
}

void calc_say_plain(struct calc *calc)
{
    fputs("Plain arithmetic: no floors, ceilings or safety factors. The label comes first.\n", calc->out);
}
