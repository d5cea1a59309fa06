/* A notice handed to a program of this machine: its document on stdin, what it is about in the environment. */
#include "daemon/notify/sender.h"
#include "daemon/notify/target.h"

#include <stdlib.h>
#include <string.h>

#define VARIABLES 5
#define VARIABLE_SIZE 4096 /* the text is the longest */

struct environment {
    char room[VARIABLES][VARIABLE_SIZE];
    char *list[VARIABLES + 1];
};

static void fill_environment(const struct notify_message *message, struct environment *ret)
{
    const char *const variables[VARIABLES][2] = {
        {"COAT_NOTICE_ID", message->id}, {"COAT_NOTICE_KIND", message->kind}, {"COAT_NOTICE_SUBJECT", message->subject},
        {"COAT_NOTICE_TEXT", message->text}, {"COAT_NOTICE_SAFETY", message->safety ? "1" : "0"},
    };
    for (size_t i = 0; i < VARIABLES; i++) {
        snprintf(ret->room[i], VARIABLE_SIZE, "%s=%s", variables[i][0], variables[i][1]);
        ret->list[i] = ret->room[i];
    }
    ret->list[VARIABLES] = NULL;
}

static bool begin_command(struct sender *sender, const struct notify_message *message, int64_t now_ms, struct sender_outcome *ret)
{
    struct environment environment;
    struct target_command command;
    struct coat_error error = {0};
    fill_environment(message, &environment);
    char *line = NULL; /* of text, as programs that read lines want it */
    enum coat_result result = target_command_parse(sender->settings.target, &command, &error);
    if (result == COAT_OK && asprintf(&line, "%s\n", message->json) < 0)
        result = coat_fail(&error, COAT_NO_MEMORY, "", "out of memory for the notice");
    if (result == COAT_OK) {
        const struct child_program program = {.argv = command.argv, .environment = environment.list, .input = line, .socket_fd = -1};
        result = child_start(&sender->child, &program, sender->couriers->poll_fd, now_ms + SENDER_COMMAND_LIMIT_MS, &error);
        free(line);
    }
    sender->busy = result == COAT_OK;
    if (result != COAT_OK)
        *ret = (struct sender_outcome){0};
    if (result != COAT_OK)
        sender_show(error.text, strlen(error.text), ret->answer);
    return result == COAT_OK;
}

/* ---- the answer ---- */

static const char *program_of(const struct channel *settings, struct target_command *command)
{
    if (target_command_parse(settings->target, command, NULL) != COAT_OK)
        return "its program";
    const char *slash = strrchr(command->argv[0], '/');
    return slash != NULL ? slash + 1 : command->argv[0];
}

/* What it printed counts as its answer; of one that failed, what it complained of, or else what it had printed. */
static void describe(const struct sender *sender, char ret[TRY_ANSWER_SIZE])
{
    struct target_command command;
    const struct child *child = &sender->child;
    const char *name = program_of(&sender->settings, &command);
    char said[TRY_ANSWER_SIZE], how[2 * TRY_ANSWER_SIZE], text[4 * TRY_ANSWER_SIZE];
    sender_show(child->output, child->length, said);
    child_describe(child, name, how, sizeof how);
    if (child->end == CHILD_DONE)
        snprintf(text, sizeof text, "%s", said[0] != '\0' ? said : child->error_length > 0 ? child->error : "done, without a word");
    else if (child->end == CHILD_TOO_LONG)
        snprintf(text, sizeof text, "%.60s said more than %d bytes and was ended: a line would do", name, CHILD_OUTPUT_MAX);
    else if (said[0] != '\0')
        snprintf(text, sizeof text, "%s; it had printed \"%s\"", how, said);
    else
        snprintf(text, sizeof text, "%s", how);
    sender_show(text, strlen(text), ret);
}

static bool turn_command(struct sender *sender, int64_t now_ms, struct sender_outcome *ret)
{
    struct child *child = &sender->child;
    if (!sender->busy) {
        if (child->pid != 0 || child->output != NULL)
            (void)child_clear(child);
        return false;
    }
    if (!child_turn(child, now_ms))
        return false;
    ret->delivered = child->end == CHILD_DONE;
    describe(sender, ret->answer);
    sender->busy = false;
    (void)child_clear(child);
    return true;
}

static int64_t command_next_ms(const struct sender *sender, int64_t now_ms)
{
    return child_next_ms(&sender->child, now_ms);
}

static bool command_is_free(const struct sender *sender)
{
    return !sender->busy && sender->child.pid == 0;
}

static bool end_command(struct sender *sender)
{
    sender->busy = false;
    return child_clear(&sender->child);
}

const struct sender_way sender_by_command = {begin_command, turn_command, command_next_ms, command_is_free, end_command};
