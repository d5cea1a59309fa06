/* What the daemon says in the API's words (addresses, UTC) in the words of the command line. */
#ifndef CLI_PROBLEM_H
#define CLI_PROBLEM_H

#include "cli/cli.h"

/* Copies a problem's detail: moments in the shop's zone, commands in place of addresses, options in place of members; of a number outside its
 * range what the problem says of it in figures. Empty where the problem says nothing. */
void problem_translate(const struct cli *cli, const cJSON *problem, struct text *ret);

#endif
