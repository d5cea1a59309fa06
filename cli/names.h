/* From what a person writes to the thing that is meant: a name, or an unambiguous start of it, in any case. */
#ifndef CLI_NAMES_H
#define CLI_NAMES_H

#include "cli/cli.h"

/* The list of the shop's document and the word for one of its members. */
enum name_kind { NAME_PIECE, NAME_PLACE, NAME_RACK, NAME_MATERIAL, NAME_TIN, NAME_SENSOR, NAME_CHANNEL, NAME_PIECE_OR_RACK, NAME_KIND_COUNT };

/* Finds one thing that is in use. A whole name wins over a start of one; for materials the start of any word of the name
 * will do. Says what was read and what is near, and returns the exit status. For NAME_PIECE_OR_RACK *ret is either; a rack
 * has "pieces". *ret belongs to cli->shop. */
int names_find(const struct cli *cli, enum name_kind kind, const char *text, const cJSON **ret);
int names_find_id(const struct cli *cli, enum name_kind kind, const char *text, int64_t *ret_id);

/* "mill body, fan guard": an array of the ids of pieces; a rack stands for its pieces, each once. */
int names_find_pieces(const struct cli *cli, const char *text, cJSON *ret_array);

/* The name of a thing by its id, of the shop's document; `other` where it is not there. */
const char *names_of(const struct cli *cli, const char *list, int64_t id, const char *other);

/* Steps from one text to the other: characters put in, left out or changed, in any case. At most 64 bytes of each count. */
unsigned names_distance(const char *a, const char *b);

#endif
