/* How a bake is told: the review that a person makes before it (cautions and ventilation first, sums next, the list last), or how far it is. */
#ifndef CLI_BAKE_H
#define CLI_BAKE_H

#include "cli/say.h"
#include "coat/phrase.h"

void bake_say_whole(struct cli *cli, cJSON *bake);
/* "out of the heat, cooling"; a word that this program does not know yet as it came. */
const char *bake_phrase(const char *state);
/* "; heat off 23:29 at the latest estimate ..."; nothing where it has no such moment. */
void bake_add_time(const struct cli *cli, struct text *text, enum bake_line line, const cJSON *bake, const char *key, bool usual);
void bake_say_list(struct cli *cli, cJSON *document);

#endif
