/* What the commands of channels share. */
#ifndef CLI_CHANNEL_H
#define CLI_CHANNEL_H

#include "cli/given.h"
#include "cli/say.h"

/* The channel that argument 0 names; *ret belongs to cli->shop. Fetches the shop and the channels. */
int channel_find(struct cli *cli, const cJSON **ret);
/* The kind that the options tell ("webhook"), NULL where none does; says what is wrong where several do. */
int channel_read_kind(const struct cli *cli, const char **ret);
/* Members of the document from all options of a channel, and the program of --command from argument `first` on. */
int channel_add_options(struct cli *cli, cJSON *body, unsigned first);

/* Sends a message that says it is a test (`body` is taken over) and waits; the test's document is then the last answer. */
int channel_try(struct cli *cli, cJSON *body);

/* "kitchen entered, webhook: https://…" */
void channel_say_head(struct cli *cli, const cJSON *channel, const char *what);
/* Where it leads, in one line. */
void channel_say_target(struct text *text, const cJSON *channel);
/* "delivered 14:05", "3 waiting; fails since 13:50: no answer" */
void channel_say_state(const struct cli *cli, struct text *text, const cJSON *channel);
enum voice channel_voice(const cJSON *channel);
/* What the answer tells once: a key, or the link of a calendar. */
void channel_say_secret(struct cli *cli, const cJSON *channel);

#endif
