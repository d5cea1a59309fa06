/* How a bake is told: the review that a person makes before it (cautions and ventilation first, sums next, the list last), or how far it is. */
#ifndef CLI_BAKE_H
#define CLI_BAKE_H

#include "cli/say.h"

void bake_say_whole(struct cli *cli, cJSON *bake);
void bake_say_list(struct cli *cli, cJSON *document);

#endif
