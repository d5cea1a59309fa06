/* What the daemon says in the API's words (addresses, UTC) in the words of the command line. */
#ifndef CLI_PROBLEM_H
#define CLI_PROBLEM_H

#include "cli/cli.h"

/* Copies a problem's detail: moments in the shop's zone, commands in place of addresses, options in place of members. */
void problem_translate(const struct cli *cli, const char *field, const char *detail, struct text *ret);

#endif
