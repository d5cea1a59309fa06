#include "cli/problem.h"

#include <ctype.h>
#include <string.h>

#define MOMENT_LONG 28

static const struct {
    const char *address, *command;
} addresses[] = {
    {"GET /api/v1/coats", "coat show PIECE"},      {"GET /api/v1/pieces", "coat piece list"},
    {"GET /api/v1/places", "coat place list"},     {"GET /api/v1/racks", "coat rack list"},
    {"GET /api/v1/sensors", "coat sensor list"},   {"GET /api/v1/channels", "coat channel list"},
    {"GET /api/v1/materials", "coat material list"}, {"GET /api/v1/notices", "coat notices --all"},
};

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

void problem_translate(const struct cli *cli, const char *detail, struct text *ret)
{
    text_clear(ret);
    while (*detail != '\0')
        detail += translate_one(cli, detail, ret);
}
