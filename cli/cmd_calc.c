#include "cli/calc.h"
#include "cli/cli.h"

#include <string.h>

/* calc reads --json, --units and --help itself; what only means something with a daemon or colours is left out here. */
int cmd_calc(struct cli *cli)
{
    char *word[ARGS_MAX + ARGS_OPTIONS_MAX + 1];
    int count = 0;
    for (int i = 0; i < cli->argc; i++) {
        if (strcmp(cli->argv[i], "--no-color") == 0 || strncmp(cli->argv[i], "--server=", 9) == 0)
            continue;
        if (strcmp(cli->argv[i], "--server") == 0) {
            i++;
            continue;
        }
        if (count == ARGS_MAX + ARGS_OPTIONS_MAX)
            return cli_fail(cli, CLI_USAGE, "too many words: %d at most", count);
        word[count++] = cli->argv[i];
    }
    word[count] = NULL;
    return calc_run(count, word, cli->json, cli->units, stdout, stderr);
}
