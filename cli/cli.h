/* One run of `coat`: what was asked, whom to ask, what the shop says. */
#ifndef CLI_CLI_H
#define CLI_CLI_H

#include "cli/args.h"
#include "cli/client.h"
#include "cli/command.h"
#include "cli/doc.h"
#include "cli/render.h"
#include "cli/text.h"
#include "cli/when.h"

#include <stdint.h>

enum cli_exit { CLI_DONE = 0, CLI_REFUSED = 1, CLI_USAGE = 2, CLI_NO_DAEMON = 3, CLI_NOT_ALLOWED = 4 };

struct cli {
    const struct command *command; /* NULL while it is still looked for */
    const char *group;             /* the first word, where it is that of several commands and no second one names which; else NULL */
    struct args args;
    int argc; /* as given, for calc */
    char **argv;
    bool json;
    bool units_told;
    enum units_system units; /* the shop's, or what --units says */
    struct client client;
    struct render out;
    cJSON *shop;    /* GET /api/v1/shop; NULL until cli_open_shop */
    int64_t now_ms; /* the shop's as_of_at: the daemon's clock is the one that counts */
    struct reply reply; /* of the last request */
};

/* Prints "coat: TEXT. Nothing was logged." on standard error and returns `status`. */
int cli_fail(const struct cli *cli, int status, const char *format, ...) __attribute__((format(printf, 3, 4)));
/* The same for an error of the core: wrong usage. */
int cli_fail_error(const struct cli *cli, const struct coat_error *error);
/* The same for an edit that was told nothing to change. */
int cli_fail_unchanged(const struct cli *cli);

/* Asks for a path under /api/v1; the answer is in cli->reply until the next request. Says what went wrong and returns its
 * exit status. cli_send takes `body` over (NULL: an empty one). */
int cli_get(struct cli *cli, const char *format, ...) __attribute__((format(printf, 2, 3)));
int cli_send(struct cli *cli, const char *method, cJSON *body, const char *format, ...)
    __attribute__((format(printf, 4, 5)));
/* The same once it is known how the filling of `body` went: unless that is CLI_DONE nothing is asked, and it is what is returned. */
int cli_send_filled(struct cli *cli, int filled, const char *method, cJSON *body, const char *format, ...)
    __attribute__((format(printf, 5, 6)));
/* The same for a picture, whose bytes are the body. */
int cli_send_picture(struct cli *cli, const char *type, const void *bytes, size_t length, const char *format, ...)
    __attribute__((format(printf, 5, 6)));
/* The document of the last answer, now the caller's to delete. */
cJSON *cli_take(struct cli *cli);

/* Fetches the shop's document, and with it now, zone and units. Once is enough. */
int cli_open_shop(struct cli *cli);

/* With --json: prints the last answer as it came, and says true. */
bool cli_said_json(struct cli *cli);

/* ---- from words to values ---- */

/* Members of the document from all options given that have a field. */
int cli_add_fields(struct cli *cli, cJSON *body);
int cli_parse_quantity(const struct cli *cli, const char *name, enum quantity kind, const char *text, double *ret);
int cli_parse_when(const struct cli *cli, const char *text, int64_t *ret_ms);
/* A time to come, of the option `name`: "18:00" (the next one), "tomorrow 08:00", "in 3h", "now", RFC 3339. */
int cli_parse_ahead(const struct cli *cli, const char *name, const char *text, int64_t *ret_ms);
/* "12" */
bool cli_is_number(const char *text);
/* The number of a thing, as a person writes it; 0 where it is none. */
int64_t cli_number(const char *text);
int cli_parse_coat(const struct cli *cli, const char *text, int64_t *ret_id);
/* `--name KEY=VALUE`, each into `path`.KEY as text; KEY and VALUE must be among the words. */
int cli_add_answers(const struct cli *cli, cJSON *body, const char *option, const char *path, const char *const *keys);

/* Word lists for options and answers, NULL-terminated. */
extern const char *const role_words[], *const application_words[], *const film_words[], *const place_kind_words[],
    *const old_finish_words[], *const class_words[], *const rule_words[], *const stage_words[], *const hazard_words[],
    *const risk_words[], *const answer_words[], *const units_words[], *const temp_scale_words[], *const rh_scale_words[];
bool word_is_among(const char *word, const char *const *words);
/* "light, normal or heavy" */
void words_list(struct text *text, const char *const *words);

#endif
