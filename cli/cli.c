#include "cli/cli.h"

#include "cli/problem.h"
#include "coat/words.h"

#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#define API "/api/v1"
#define COUNT_MOST 1000000.0
#define MINUTES_OF_DAY 1440

#define LISTED(value, word) word,
const char *const role_words[] = {COAT_ROLES(LISTED) NULL};
const char *const application_words[] = {COAT_APPLICATIONS(LISTED) NULL};
const char *const film_words[] = {COAT_FILMS(LISTED) NULL};
const char *const place_kind_words[] = {COAT_PLACE_KINDS(LISTED) NULL};
const char *const old_finish_words[] = {COAT_OLD_FINISHES(LISTED) NULL};
const char *const class_words[] = {COAT_CLASSES(LISTED) NULL};
const char *const rule_words[] = {COAT_HUMIDITY_RULES(LISTED) NULL};
const char *const stage_words[] = {COAT_STAGES(LISTED) NULL};
const char *const hazard_words[] = {COAT_HAZARDS(LISTED) NULL};
const char *const risk_words[] = {COAT_PLACE_RISKS(LISTED) NULL};
const char *const answer_words[] = {COAT_ANSWERS(LISTED) NULL};
const char *const units_words[] = {COAT_UNITS_SYSTEMS(LISTED) NULL};
const char *const temp_scale_words[] = {COAT_TEMP_SCALES(LISTED) NULL};
const char *const rh_scale_words[] = {COAT_RH_SCALES(LISTED) NULL};
#undef LISTED

bool word_is_among(const char *word, const char *const *words)
{
    for (; *words != NULL; words++) {
        if (strcmp(*words, word) == 0)
            return true;
    }
    return false;
}

void words_list(struct text *text, const char *const *words)
{
    for (unsigned i = 0; words[i] != NULL; i++)
        text_add(text, "%s%s", i == 0 ? "" : words[i + 1] == NULL ? " or " : ", ", words[i]);
}

/* ---- what goes wrong ---- */

static void say_error(const struct cli *cli, struct text *text)
{
    while (text->length > 0 && strchr(". ", text->data[text->length - 1]) != NULL) /* "write coat ack N ..." */
        text->data[--text->length] = '\0';
    if (text->length == 0 || strchr("?!", text->data[text->length - 1]) == NULL)
        text_add(text, ".");
    if (cli->command != NULL && cli->command->nothing != NULL)
        text_add(text, " %s", cli->command->nothing);
    fputs("coat: ", stderr);
    text_write_clean(stderr, text->data, text->length);
    fputc('\n', stderr);
}

int cli_fail(const struct cli *cli, int status, const char *format, ...)
{
    char line[TEXT_SIZE / 2];
    struct text text = {0};
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(line, sizeof line, format, arguments);
    va_end(arguments);
    text_add(&text, "%s", line);
    say_error(cli, &text);
    return status;
}

int cli_fail_error(const struct cli *cli, const struct coat_error *error)
{
    return cli_fail(cli, CLI_USAGE, "%s", error->text);
}

int cli_fail_unchanged(const struct cli *cli)
{
    return cli_fail(cli, CLI_USAGE, "what is to be changed? `coat %s --help` lists the options", cli->command->name);
}

/* ---- asking ---- */

static int fail_transport(const struct cli *cli, enum client_result result, bool writes)
{
    const char *url = cli->client.url;
    if (result == CLIENT_NOT_THERE)
        return cli_fail(cli, CLI_NO_DAEMON, "no coatd at %s: start it with coatd, or name another with --server", url);
    if (result == CLIENT_NOT_COATD)
        return cli_fail(cli, CLI_NO_DAEMON, "what answers at %s is not coatd: name the right one with --server", url);
    if (result == CLIENT_NO_MEMORY)
        return cli_fail(cli, CLI_NO_DAEMON, "out of memory");
    if (!writes)
        return cli_fail(cli, CLI_NO_DAEMON, "coatd at %s gave no answer: look whether it still runs, then ask again", url);
    /* Whether it was done is not known, so the command's "Nothing was …" must not stand here. */
    fprintf(stderr, "coat: coatd at %s gave no answer. It may have been done all the same: look with coat before you "
                    "repeat it.\n", url);
    return CLI_NO_DAEMON;
}

static int fail_answer(struct cli *cli)
{
    const struct reply *reply = &cli->reply;
    struct text text = {0};
    bool forbidden = reply->status == 401 || reply->status == 403;
    int status = forbidden ? CLI_NOT_ALLOWED : CLI_REFUSED;
    if (cli->json)
        fprintf(cli->out.out, "%s\n", reply->text);
    problem_translate(cli, reply->document, &text);
    if (text.length == 0)
        return cli_fail(cli, status, "coatd refused it without saying why (status %ld)", reply->status);
    return cli_fail(cli, status, "%s", text.data);
}

#define PATH_SIZE 2048 /* a note in it, escaped */

__attribute__((format(printf, 2, 0))) static void make_path(char path[PATH_SIZE], const char *format, va_list arguments)
{
    size_t used = (size_t)snprintf(path, PATH_SIZE, "%s", API);
    vsnprintf(path + used, PATH_SIZE - used, format, arguments);
}

static int judge(struct cli *cli, enum client_result result, bool writes)
{
    if (result != CLIENT_ANSWERED)
        return fail_transport(cli, result, writes);
    return cli->reply.status >= 200 && cli->reply.status < 300 ? CLI_DONE : fail_answer(cli);
}

__attribute__((format(printf, 4, 0))) static int ask(struct cli *cli, const char *method, const cJSON *body,
                                                     const char *format, va_list arguments)
{
    char path[PATH_SIZE];
    make_path(path, format, arguments);
    reply_free(&cli->reply);
    return judge(cli, client_ask(&cli->client, method, path, body, &cli->reply), strcmp(method, "GET") != 0);
}

int cli_send_picture(struct cli *cli, const char *type, const void *bytes, size_t length, const char *format, ...)
{
    char path[PATH_SIZE];
    va_list arguments;
    va_start(arguments, format);
    make_path(path, format, arguments);
    va_end(arguments);
    reply_free(&cli->reply);
    return judge(cli, client_post(&cli->client, path, type, bytes, length, &cli->reply), true);
}

int cli_get(struct cli *cli, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    int status = ask(cli, "GET", NULL, format, arguments);
    va_end(arguments);
    return status;
}

int cli_send(struct cli *cli, const char *method, cJSON *body, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    int status = ask(cli, method, body, format, arguments);
    va_end(arguments);
    cJSON_Delete(body);
    return status;
}

int cli_send_filled(struct cli *cli, int filled, const char *method, cJSON *body, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    int status = filled == CLI_DONE ? ask(cli, method, body, format, arguments) : filled;
    va_end(arguments);
    cJSON_Delete(body);
    return status;
}

cJSON *cli_take(struct cli *cli)
{
    cJSON *document = cli->reply.document;
    cli->reply.document = NULL;
    return document;
}

int cli_open_shop(struct cli *cli)
{
    enum units_system units = UNITS_METRIC;
    if (cli->shop != NULL)
        return CLI_DONE;
    int status = cli_get(cli, "/shop");
    if (status != CLI_DONE)
        return status;
    int64_t now_ms = doc_moment(cli->reply.document, "as_of_at");
    if (now_ms == MOMENT_NONE)
        return fail_transport(cli, CLIENT_NOT_COATD, false);
    cli->shop = cli_take(cli);
    cli->now_ms = now_ms;
    const char *zone = doc_text(cli->shop, "shop.zone");
    if (!when_set_zone(zone))
        fprintf(stderr, "coat: this machine does not know the zone \"%.60s\": times are read and shown in UTC.\n", zone);
    if (!cli->units_told && units_system_from_word(doc_text(cli->shop, "shop.units"), &units))
        cli->units = units;
    return CLI_DONE;
}

bool cli_said_json(struct cli *cli)
{
    if (!cli->json)
        return false;
    const struct reply *reply = &cli->reply;
    fwrite(reply->text, 1, reply->length, cli->out.out);
    if (reply->length == 0 || reply->text[reply->length - 1] != '\n')
        fputc('\n', cli->out.out);
    return true;
}

/* ---- a time to come ---- */

/* "HH:MM" after `from_ms`, the next one; a change of the clocks between is put right. */
static bool next_clock(const char *text, int64_t from_ms, int64_t *ret_ms)
{
    int minute = 0;
    if (!when_parse_clock(text, &minute))
        return false;
    int wait = (minute - when_minute_of_day(from_ms) + MINUTES_OF_DAY) % MINUTES_OF_DAY;
    int64_t at = from_ms - from_ms % MS_PER_MIN + wait * MS_PER_MIN;
    int off = (minute - when_minute_of_day(at) + MINUTES_OF_DAY) % MINUTES_OF_DAY;
    *ret_ms = at + (off > MINUTES_OF_DAY / 2 ? off - MINUTES_OF_DAY : off) * MS_PER_MIN;
    return true;
}

static bool begins_with(const char *text, const char *start, const char **ret_rest)
{
    size_t length = strlen(start);
    if (strncmp(text, start, length) != 0)
        return false;
    *ret_rest = text + length;
    return true;
}

/* Midnight to come: from there a clock time is tomorrow's. */
static int64_t midnight(const struct cli *cli)
{
    return cli->now_ms - cli->now_ms % MS_PER_MIN + (MINUTES_OF_DAY - when_minute_of_day(cli->now_ms)) * MS_PER_MIN;
}

int cli_parse_ahead(const struct cli *cli, const char *name, const char *text, int64_t *ret_ms)
{
    const char *rest = NULL;
    double seconds = 0.0;
    if (begins_with(text, "in ", &rest) && quantity_parse(QUANTITY_DURATION, rest, &seconds, NULL) == COAT_OK) {
        *ret_ms = cli->now_ms + (int64_t)llround(fmin(seconds, 1e9) * (double)MS_PER_S);
        return CLI_DONE;
    }
    bool known = begins_with(text, "tomorrow ", &rest) ? next_clock(rest, midnight(cli), ret_ms) : next_clock(text, cli->now_ms, ret_ms);
    if (known || strcmp(text, "now") == 0 || moment_parse(text, ret_ms, NULL) == COAT_OK)
        return CLI_DONE;
    return cli_fail(cli, CLI_USAGE, "%s: \"%.60s\" is no time to come: write 18:00 (the next one), \"tomorrow 08:00\", \"in 3h\" or RFC 3339",
                    name, text);
}

/* ---- from words to values ---- */

bool cli_is_number(const char *text)
{
    return text[0] != '\0' && strspn(text, "0123456789") == strlen(text);
}

int64_t cli_number(const char *text)
{
    return cli_is_number(text) && strlen(text) < 16 ? strtoll(text, NULL, 10) : 0;
}

int cli_parse_coat(const struct cli *cli, const char *text, int64_t *ret_id)
{
    int64_t id = cli_number(text);
    if (id < 1)
        return cli_fail(cli, CLI_USAGE, "\"%.60s\" is no coat: a coat is its number, as `coat show PIECE` lists it", text);
    *ret_id = id;
    return CLI_DONE;
}

int cli_parse_quantity(const struct cli *cli, const char *name, enum quantity kind, const char *text, double *ret)
{
    struct coat_error error = {0};
    if (quantity_parse(kind, text, ret, &error) == COAT_OK)
        return CLI_DONE;
    if (kind == QUANTITY_SHARE && strspn(text, "0123456789.") == strlen(text) && text[0] != '\0')
        return cli_fail(cli, CLI_USAGE, "%s%s\"%.20s\" has no unit: write %.20s%%", name, name[0] != '\0' ? ": " : "", text, text);
    return cli_fail(cli, CLI_USAGE, "%s%s%s", name, name[0] != '\0' ? ": " : "", error.text);
}

int cli_parse_when(const struct cli *cli, const char *text, int64_t *ret_ms)
{
    struct coat_error error = {0};
    return when_parse(text, cli->now_ms, ret_ms, &error) == COAT_OK ? CLI_DONE : cli_fail_error(cli, &error);
}

static int add_word(const struct cli *cli, cJSON *body, const struct option *option, const char *value)
{
    struct text list = {0};
    if (!word_is_among(value, option->words)) {
        words_list(&list, option->words);
        return cli_fail(cli, CLI_USAGE, "%s: \"%.60s\" is none of its words: write %s", option->name, value, list.data);
    }
    doc_put_text(body, option->field, value);
    return CLI_DONE;
}

static int add_yes_no(const struct cli *cli, cJSON *body, const struct option *option, const char *value)
{
    bool yes = strcmp(value, "yes") == 0;
    if (!yes && strcmp(value, "no") != 0)
        return cli_fail(cli, CLI_USAGE, "%s: \"%.60s\" says neither yes nor no: write %s yes or %s no", option->name, value, option->name, option->name);
    doc_put(body, option->field, cJSON_CreateBool(yes));
    return CLI_DONE;
}

static int add_quantity(const struct cli *cli, cJSON *body, const struct option *option, const char *value)
{
    double number = 0.0;
    int status = cli_parse_quantity(cli, option->name, option->quantity, value, &number);
    if (status == CLI_DONE)
        doc_put_number(body, option->field, option->divisor > 0.0 ? number / option->divisor : number);
    return status;
}

static int add_number(const struct cli *cli, cJSON *body, const struct option *option, const char *value)
{
    char *end = NULL;
    bool whole = option->kind == FIELD_COUNT;
    bool plain = value[0] != '\0' && strspn(value, whole ? "0123456789" : "0123456789.") == strlen(value);
    double number = plain ? strtod(value, &end) : -1.0;
    if (!plain || *end != '\0' || number < (whole ? 1.0 : 0.0) || number > COUNT_MOST)
        return cli_fail(cli, CLI_USAGE, "%s: \"%.60s\" is no %s", option->name, value,
                        whole ? "whole number: write 1 or more" : "number: write it like 1.5");
    doc_put_number(body, option->field, number);
    return CLI_DONE;
}

static int add_when(const struct cli *cli, cJSON *body, const struct option *option, const char *value)
{
    int64_t at_ms = 0;
    int status = cli_parse_when(cli, value, &at_ms);
    if (status == CLI_DONE)
        doc_put_moment(body, option->field, at_ms);
    return status;
}

static int add_field(const struct cli *cli, cJSON *body, const struct given *given)
{
    switch (given->option->kind) {
    case FIELD_NONE:
        return CLI_DONE;
    case FIELD_TEXT:
        doc_put_text(body, given->option->field, given->value);
        return CLI_DONE;
    case FIELD_WORD:
        return add_word(cli, body, given->option, given->value);
    case FIELD_YES_NO:
        return add_yes_no(cli, body, given->option, given->value);
    case FIELD_QUANTITY:
        return add_quantity(cli, body, given->option, given->value);
    case FIELD_COUNT:
    case FIELD_NUMBER:
        return add_number(cli, body, given->option, given->value);
    case FIELD_WHEN:
        return add_when(cli, body, given->option, given->value);
    }
    return CLI_DONE;
}

int cli_add_fields(struct cli *cli, cJSON *body)
{
    int status = CLI_DONE;
    for (unsigned i = 0; i < cli->args.given_count && status == CLI_DONE; i++)
        status = add_field(cli, body, &cli->args.given[i]);
    return status;
}

static int add_answer(const struct cli *cli, cJSON *body, const char *option, const char *path, const char *const *keys,
                      const char *value)
{
    struct text list = {0}, place = {0};
    size_t length = strcspn(value, "=");
    const char *said = value[length] == '=' ? value + length + 1 : "";
    text_add(&place, "%.*s", (int)(length < 60 ? length : 60), value);
    if (!word_is_among(place.data, keys)) {
        words_list(&list, keys);
        return cli_fail(cli, CLI_USAGE, "%s: \"%s\" is none of its words: write one of %s, and =yes or =no", option,
                        place.data, list.data);
    }
    if (!word_is_among(said, answer_words))
        return cli_fail(cli, CLI_USAGE, "%s: \"%.60s\" says neither yes nor no: write %s=yes, %s=no or %s=unanswered",
                        option, value, place.data, place.data, place.data);
    text_clear(&list);
    text_add(&list, "%s.%s", path, place.data);
    doc_put_text(body, list.data, said);
    return CLI_DONE;
}

int cli_add_answers(const struct cli *cli, cJSON *body, const char *option, const char *path, const char *const *keys)
{
    unsigned cursor = 0;
    int status = CLI_DONE;
    const char *value = args_next(&cli->args, option, &cursor);
    for (; value != NULL && status == CLI_DONE; value = args_next(&cli->args, option, &cursor))
        status = add_answer(cli, body, option, path, keys, value);
    return status;
}
