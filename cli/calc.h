/* `coat calc …`: arithmetic without a daemon, for checking a figure by hand. */
#ifndef COAT_CLI_CALC_H
#define COAT_CLI_CALC_H

#include "coat/words.h"

#include <stdbool.h>
#include <stdio.h>

/* argv[0] is "calc", argv[1] the command. `json` and `units` are what the global options said; --json, --units and --help
 * are understood after "calc" as well. Writes the answer to `out`, or one error to `err`. Returns the exit status: 0 done,
 * 2 wrong usage. */
int calc_run(int argc, char **argv, bool json, enum units_system units, FILE *out, FILE *err);

#endif
