/* `coat`: the command line of a finishing shop's cure record. */
#include "cli/cli.h"

#include "coat/words.h"

#include <curl/curl.h>
#include <stdlib.h>
#include <string.h>

#define SERVER_DEFAULT "http://127.0.0.1:8262"

static const char *from_environment(const char *name, const char *other)
{
    const char *value = getenv(name);
    return value != NULL && value[0] != '\0' ? value : other;
}

static int fail_usage(const struct cli *cli, const struct coat_error *error)
{
    struct text text = {0};
    text_add(&text, "%s; `coat%s%s --help` tells what does", error->text, cli->command != NULL ? " " : "",
             cli->command != NULL ? cli->command->name : "");
    return cli_fail(cli, CLI_USAGE, "%s", text.data);
}

static int fail_command(const struct cli *cli, int count, char *const argv[])
{
    if (!command_is_group(argv[0]))
        return cli_fail(cli, CLI_USAGE, "there is no command \"%.40s\"; `coat --help` lists them", argv[0]);
    int status = cli_fail(cli, CLI_USAGE, "there is no \"%.40s %.40s\"; there is", argv[0], count > 1 ? argv[1] : "");
    command_print_group(stderr, argv[0]);
    return status;
}

/* Options before the command; *ret_at is where it stands. */
static int read_leading(struct cli *cli, int argc, char **argv, int *ret_at)
{
    struct coat_error error = {0};
    int at = 1, taken = 1;
    while (at < argc && taken > 0) {
        if (args_take_option(argc - at, argv + at, options_global, NULL, &cli->args, &taken, &error) != COAT_OK)
            return fail_usage(cli, &error);
        at += taken;
    }
    *ret_at = at;
    return CLI_DONE;
}

static int check_count(const struct cli *cli)
{
    const struct command *command = cli->command;
    unsigned count = cli->args.count;
    if (command == NULL || (count >= command->least && count <= command->most))
        return CLI_DONE;
    if (count > command->most)
        return cli_fail(cli, CLI_USAGE, "\"%.60s\" is one word too many: write coat %s %s (a name with spaces in quotes)",
                        cli->args.argument[command->most], command->name, command->arguments);
    return cli_fail(cli, CLI_USAGE, "something is missing: write coat %s %s", command->name, command->arguments);
}

/* A command may have an option of that name: the units of a file. */
static const char *told_units(const struct args *args)
{
    for (unsigned i = 0; i < args->given_count; i++) {
        if (args->given[i].option->words == units_words)
            return args->given[i].value;
    }
    return NULL;
}

static int read_units(struct cli *cli)
{
    const char *units = told_units(&cli->args);
    cli->units_told = units != NULL;
    if (units == NULL || units_system_from_word(units, &cli->units))
        return CLI_DONE;
    return cli_fail(cli, CLI_USAGE, "--units: \"%.40s\" is neither metric nor us", units);
}

static int read_globals(struct cli *cli)
{
    struct coat_error error = {0};
    const char *server = args_option(&cli->args, "--server");
    cli->json = args_option(&cli->args, "--json") != NULL;
    render_init(&cli->out, stdout, args_option(&cli->args, "--no-color") != NULL);
    if (client_init(&cli->client, server != NULL ? server : from_environment("COAT_SERVER", SERVER_DEFAULT),
                    from_environment("COAT_TOKEN", ""), &error) != COAT_OK)
        return cli_fail_error(cli, &error);
    return read_units(cli);
}

/* calc reads its own options; it needs the words as they stand. */
static bool is_calc(const struct cli *cli)
{
    return cli->command != NULL && cli->command->run == cmd_calc;
}

static int read_command(struct cli *cli, int argc, char **argv)
{
    struct coat_error error = {0};
    int at = 1, words = 0;
    int status = read_leading(cli, argc, argv, &at);
    if (status != CLI_DONE || at == argc)
        return status;
    cli->command = command_find(argc - at, argv + at, &words);
    cli->group = words < 2 && command_is_group(argv[at]) ? argv[at] : NULL;
    if (cli->command == NULL) {
        bool help = args_option(&cli->args, "--help") != NULL;
        return help && cli->group != NULL ? CLI_DONE : fail_command(cli, argc - at, argv + at);
    }
    cli->argc = argc - at;
    cli->argv = argv + at;
    if (is_calc(cli))
        return CLI_DONE;
    if (args_parse(argc - at - words, argv + at + words, options_global, cli->command->options, &cli->args, &error) != COAT_OK)
        return fail_usage(cli, &error);
    return CLI_DONE;
}

static int run(struct cli *cli, int argc, char **argv)
{
    int status = read_command(cli, argc, argv);
    if (status != CLI_DONE)
        return status;
    if (args_option(&cli->args, "--version") != NULL) {
        puts("coat " COAT_VERSION);
        return CLI_DONE;
    }
    if (args_option(&cli->args, "--help") != NULL) {
        if (cli->group != NULL)
            command_print_group_help(stdout, cli->group, cli->command);
        else if (cli->command != NULL)
            command_print_help(stdout, cli->command);
        else
            command_print_all(stdout);
        return CLI_DONE;
    }
    status = check_count(cli);
    if (status == CLI_DONE)
        status = read_globals(cli);
    if (status != CLI_DONE)
        return status;
    return cli->command != NULL ? cli->command->run(cli) : cmd_now(cli);
}

/* A full disk or a closed pipe must not look like success. */
static int close_output(int status)
{
    if (fflush(stdout) == 0 && !ferror(stdout))
        return status;
    fputs("coat: what was to be shown could not be written.\n", stderr);
    return status == CLI_DONE ? CLI_REFUSED : status;
}

int main(int argc, char **argv)
{
    struct cli cli = {.units = UNITS_METRIC};
    if (curl_global_init(CURL_GLOBAL_DEFAULT) != CURLE_OK) {
        fputs("coat: libcurl does not start.\n", stderr);
        return CLI_NO_DAEMON;
    }
    int status = close_output(run(&cli, argc, argv));
    reply_free(&cli.reply);
    cJSON_Delete(cli.shop);
    curl_global_cleanup();
    return status;
}
