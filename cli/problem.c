#include "cli/problem.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#define MOMENT_LONG 28

static const struct {
    const char *address, *command;
} addresses[] = {
    {"GET /api/v1/coats", "coat show PIECE"},      {"GET /api/v1/pieces", "coat piece list"},
    {"GET /api/v1/places", "coat place list"},     {"GET /api/v1/racks", "coat rack list"},
    {"GET /api/v1/sensors", "coat sensor list"},   {"GET /api/v1/channels", "coat channel list"},
    {"GET /api/v1/materials", "coat material list"}, {"GET /api/v1/notices", "coat notices --all"},
    {"GET /api/v1/bakes", "coat bake show --all"}, {"GET /api/v1/tins", "coat tin list"},
};

/* What the names of the API's members end with, and the unit that they mean. */
static const struct {
    const char *ending, *unit;
} endings[] = {
    {"_c", "C"}, {"_pct", "%"}, {"_um", "um"}, {"_ml", "ml"}, {"_mm", "mm"}, {"_kg", "kg"}, {"_m2", "m2"}, {"_m3", "m3"}, {"_m3h", "m3h"},
    {"_min", "min"}, {"_s", "s"}, {"_h", "h"}, {"_at", ""},
};

/* Length of the name without what it ends with. */
static size_t take_ending(const char *name, const char **ret_unit)
{
    size_t length = strlen(name);
    *ret_unit = "";
    for (size_t i = 0; i < sizeof endings / sizeof *endings; i++) {
        size_t ending = strlen(endings[i].ending);
        if (length <= ending || strcmp(name + length - ending, endings[i].ending) != 0)
            continue;
        *ret_unit = endings[i].unit;
        return length - ending;
    }
    return length;
}

static const char *last_part(const char *path)
{
    const char *dot = strrchr(path, '.');
    return dot != NULL ? dot + 1 : path;
}

/* The option of this command that fills the member: by the table, or called like it. NULL: none. */
static const char *option_for(const struct cli *cli, const char *member)
{
    const char *unit = NULL;
    char name[64];
    size_t length = take_ending(member, &unit);
    snprintf(name, sizeof name, "--%.*s", (int)(length < 60 ? length : 60), member);
    for (char *at = name; *at != '\0'; at++)
        *at = *at == '_' ? '-' : *at;
    for (const struct option *option = cli->command != NULL ? cli->command->options : NULL; option != NULL && option->name != NULL; option++) {
        bool filled = option->field != NULL && strcmp(last_part(option->field), member) == 0;
        if (filled || strcmp(option->name, name) == 0)
            return option->name;
    }
    return NULL;
}

static void add_member(const struct cli *cli, const char *member, struct text *ret)
{
    const char *unit = NULL, *option = option_for(cli, member);
    if (option != NULL) {
        text_add(ret, "%s", option);
        return;
    }
    for (size_t i = 0, length = take_ending(member, &unit); i < length; i++)
        text_add(ret, "%c", member[i] == '_' ? ' ' : member[i]);
}

/* A number outside its range, with the option and the unit that a person knows. */
static void tell_range(const struct cli *cli, const char *member, const cJSON *problem, struct text *ret)
{
    const char *unit = NULL;
    double value = doc_number(problem, "value");
    take_ending(member, &unit);
    const char *space = unit[0] != '\0' ? " " : "";
    add_member(cli, member, ret);
    text_add(ret, " is %.*g%s%s", fabs(value) < 1e4 ? 4 : 15, value, space, unit);
    text_add(ret, ": it must be from %.10g to %.10g%s%s", doc_number(problem, "least"), doc_number(problem, "most"), space, unit);
}

/* Length of an address at `at`, 0 where none stands there. */
static size_t take_address(const char *at, const char **ret_command)
{
    for (size_t i = 0; i < sizeof addresses / sizeof *addresses; i++) {
        size_t length = strlen(addresses[i].address);
        if (strncmp(at, addresses[i].address, length) == 0) {
            *ret_command = addresses[i].command;
            return length;
        }
    }
    return 0;
}

/* Length of a moment in UTC at `at`: "2026-11-28T13:25:00Z". */
static size_t take_moment(const char *at, int64_t *ret_ms)
{
    char text[MOMENT_LONG];
    size_t length = strspn(at, "0123456789-:.T");
    if (!isdigit((unsigned char)at[0]) || at[length] != 'Z' || length + 2 > sizeof text)
        return 0;
    memcpy(text, at, length + 1);
    text[length + 1] = '\0';
    return moment_parse(text, ret_ms, NULL) == COAT_OK ? length + 1 : 0;
}

static size_t translate_one(const struct cli *cli, const char *at, struct text *text)
{
    char printed[WHEN_TEXT_SIZE];
    const char *command = NULL;
    int64_t at_ms = 0;
    size_t length = take_address(at, &command);
    if (length > 0) {
        text_add(text, "`%s`", command);
        return length;
    }
    length = cli->shop != NULL ? take_moment(at, &at_ms) : 0;
    if (length > 0) {
        text_add(text, "%s", when_print(at_ms, cli->now_ms, printed));
        return length;
    }
    text_add(text, "%c", at[0]);
    return 1;
}

void problem_translate(const struct cli *cli, const cJSON *problem, struct text *ret)
{
    const char *field = doc_text(problem, "field"), *detail = doc_text(problem, "detail");
    if (detail[0] == '\0')
        detail = doc_text(problem, "title");
    text_clear(ret);
    if (strstr(detail, "not UTF-8") != NULL) { /* of a document that the person never sees */
        text_add(ret, "what was typed is not UTF-8 text: type it anew in a terminal that is set to UTF-8");
        return;
    }
    if (doc_get(problem, "least") != NULL) {
        tell_range(cli, last_part(field), problem, ret);
        return;
    }
    if (field[0] != '\0' && strstr(detail, field) == NULL) {
        add_member(cli, last_part(field), ret);
        text_add(ret, ": ");
    }
    while (*detail != '\0')
        detail += translate_one(cli, detail, ret);
}
