#include "cli/given.h"

#include <errno.h>
#include <limits.h>
#include <stdlib.h>
#include <string.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

#define SECRET_SIZE 128
#define WORD_SHOWN 60

/* ---- secrets ---- */

static int put_secret(const struct cli *cli, cJSON *body, const char *member, char *line, const char *from)
{
    size_t length = strcspn(line, "\r\n");
    if (length == 0)
        return cli_fail(cli, CLI_USAGE, "%s is empty: the secret stands there", from);
    if (length >= SECRET_SIZE)
        return cli_fail(cli, CLI_USAGE, "%s is too long: %d bytes at most", from, SECRET_SIZE - 1);
    line[length] = '\0';
    doc_put_text(body, member, line);
    return CLI_DONE;
}

int given_add_secret_file(const struct cli *cli, cJSON *body, const char *option, const char *member)
{
    const char *path = args_option(&cli->args, option);
    char line[SECRET_SIZE + 2] = "", from[300];
    if (path == NULL)
        return CLI_DONE;
    FILE *file = fopen(path, "r");
    if (file == NULL)
        return cli_fail(cli, CLI_USAGE, "%s: \"%.200s\" cannot be read: %s", option, path, strerror(errno));
    if (fgets(line, sizeof line, file) == NULL)
        line[0] = '\0';
    fclose(file);
    snprintf(from, sizeof from, "%s: the first line of \"%.200s\"", option, path);
    int status = put_secret(cli, body, member, line, from);
    explicit_bzero(line, sizeof line);
    return status;
}

/* A line of the terminal, typed unseen; false where there is none. */
static bool read_unseen(FILE *terminal, const char *ask, char *line, int size)
{
    struct termios seen, unseen;
    int fd = fileno(terminal);
    if (tcgetattr(fd, &seen) != 0)
        return false;
    unseen = seen;
    unseen.c_lflag &= ~(tcflag_t)ECHO;
    dprintf(fd, "%s", ask); /* past the stream, which is read: C has no writing after reading without a seek, and a terminal has none */
    if (tcsetattr(fd, TCSAFLUSH, &unseen) != 0)
        return false;
    bool read = fgets(line, size, terminal) != NULL;
    (void)tcsetattr(fd, TCSAFLUSH, &seen);
    dprintf(fd, "\n");
    return read;
}

int given_ask_secret(const struct cli *cli, cJSON *body, const char *option, const char *member)
{
    char line[SECRET_SIZE + 2] = "";
    if (args_option(&cli->args, option) == NULL)
        return CLI_DONE;
    FILE *terminal = fopen("/dev/tty", "r+");
    bool read = terminal != NULL && read_unseen(terminal, "Password: ", line, sizeof line);
    if (terminal != NULL)
        fclose(terminal);
    int status = read ? put_secret(cli, body, member, line, "what was typed")
                      : cli_fail(cli, CLI_USAGE, "%s: there is no terminal to ask at: name a file with --password-file", option);
    explicit_bzero(line, sizeof line);
    return status;
}

/* ---- files and programs ---- */

int given_add_ca_file(const struct cli *cli, cJSON *body)
{
    const char *path = args_option(&cli->args, "--ca-file");
    char whole[PATH_MAX];
    if (path == NULL)
        return CLI_DONE;
    if (realpath(path, whole) == NULL)
        return cli_fail(cli, CLI_USAGE, "--ca-file: \"%.200s\" cannot be read: %s", path, strerror(errno));
    doc_put_text(body, "ca_file", whole);
    return CLI_DONE;
}

int given_add_program(const struct cli *cli, cJSON *body, const char *member, unsigned first)
{
    const struct args *args = &cli->args;
    bool wanted = args_option(args, "--command") != NULL;
    if (!wanted && args->count > first)
        return cli_fail(cli, CLI_USAGE, "\"%.60s\" is one word too many", args->argument[first]);
    if (!wanted)
        return CLI_DONE;
    if (args->count <= first)
        return cli_fail(cli, CLI_USAGE, "--command: the program is missing: it and its arguments come last, after --");
    cJSON *words = cJSON_CreateArray();
    for (unsigned i = first; i < args->count; i++)
        cJSON_AddItemToArray(words, cJSON_CreateString(args->argument[i]));
    doc_put(body, member, words);
    return CLI_DONE;
}

/* A long one is cut, in whole characters, and that is seen. */
static void say_word(struct text *text, const char *word)
{
    size_t cut = WORD_SHOWN - 3;
    if (strlen(word) <= WORD_SHOWN) {
        text_add(text, "%s", word);
        return;
    }
    while (cut > 0 && ((unsigned char)word[cut] & 0xC0u) == 0x80u)
        cut--;
    text_add(text, "%.*s...", (int)cut, word);
}

void given_say_program(struct text *text, const cJSON *words)
{
    const cJSON *word = NULL;
    bool first = true;
    cJSON_ArrayForEach(word, words)
    {
        const char *told = cJSON_GetStringValue(word);
        text_add(text, "%s", first ? "" : " ");
        say_word(text, told != NULL ? told : "");
        first = false;
    }
}

/* ---- tests ---- */

#define TRY_EVERY_MS 250
#define TRY_MOST_MS 70000 /* the daemon gives up after a minute */
#define TRY_TELL_MS 2000

static void wait_ms(long ms)
{
    struct timespec time = {.tv_sec = ms / 1000, .tv_nsec = ms % 1000 * 1000000};
    while (nanosleep(&time, &time) != 0 && errno == EINTR)
        continue;
}

int given_try(struct cli *cli, cJSON *body, const char *path, const char *waiting)
{
    int status = cli_send(cli, "POST", body, "%s", path);
    int64_t id = status == CLI_DONE ? doc_id(cli->reply.document, "id") : 0;
    for (long waited_ms = 0; status == CLI_DONE && waited_ms < TRY_MOST_MS; waited_ms += TRY_EVERY_MS) {
        status = cli_get(cli, "%s/%lld", path, (long long)id);
        if (status != CLI_DONE || doc_flag(cli->reply.document, "done"))
            return status;
        if (waited_ms == TRY_TELL_MS && !cli->json) {
            render_text(&cli->out, 0, 0, waiting);
            fflush(cli->out.out);
        }
        wait_ms(TRY_EVERY_MS);
    }
    return status != CLI_DONE ? status : cli_fail(cli, CLI_REFUSED, "it gave no answer within a minute");
}
