/* GET /coats/{id}/why in words. */
#ifndef CLI_SAY_WHY_H
#define CLI_SAY_WHY_H

#include "cli/cli.h"

void say_why(struct cli *cli, const cJSON *why);

#endif
