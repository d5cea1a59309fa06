/* What several commands take from their options beside plain fields: secrets, files of this machine, programs; and the wait for what a test brings. */
#ifndef CLI_GIVEN_H
#define CLI_GIVEN_H

#include "cli/cli.h"

/* The first line of the file that `option` names, into `member`; nothing where it was not given. From a file, since what stands in a command line is seen by
 * others and kept by shells. */
int given_add_secret_file(const struct cli *cli, cJSON *body, const char *option, const char *member);
/* With `option`: asks for it at the terminal, where nobody sees what is typed. */
int given_ask_secret(const struct cli *cli, cJSON *body, const char *option, const char *member);
/* --ca-file, as the daemon needs it: the whole path. */
int given_add_ca_file(const struct cli *cli, cJSON *body);
/* With --command: the program and its arguments, from argument `first` on, into `member`. Without it there may be none. */
int given_add_program(const struct cli *cli, cJSON *body, const char *member, unsigned first);

/* Begins a test under `path` ("/sensor-tests"; `body` is taken over) and waits until it is done; its document is then the last answer. `waiting` is said once
 * where that takes longer. */
int given_try(struct cli *cli, cJSON *body, const char *path, const char *waiting);

/* The words of a program in one line. */
void given_say_program(struct text *text, const cJSON *words);

#endif
