#include "cli/args.h"

#include <ctype.h>
#include <string.h>

#define NAME_SHOWN 40

/* "-" alone, and a minus and a digit or a point, are values. */
static bool is_option(const char *word)
{
    return word[0] == '-' && word[1] != '\0' && !isdigit((unsigned char)word[1]) && word[1] != '.';
}

static const struct option *find_option(const struct option *list, const char *name, size_t length)
{
    for (; list != NULL && list->name != NULL; list++) {
        if (strlen(list->name) == length && strncmp(list->name, name, length) == 0)
            return list;
    }
    return NULL;
}

static enum coat_result add_option(struct args *args, const struct option *option, const char *value,
                                   struct coat_error *error)
{
    if (!option->many && args_option(args, option->name) != NULL)
        return coat_fail(error, COAT_BAD_FORM, "", "%s is given twice: once will do", option->name);
    if (args->given_count == ARGS_OPTIONS_MAX)
        return coat_fail(error, COAT_BAD_FORM, "", "too many options: %d at most", ARGS_OPTIONS_MAX);
    args->given[args->given_count++] = (struct given){option, value};
    return COAT_OK;
}

enum coat_result args_take_option(int count, char *const argv[], const struct option *global, const struct option *own,
                                  struct args *args, int *ret_taken, struct coat_error *error)
{
    const char *word = argv[0];
    *ret_taken = 0;
    if (!is_option(word))
        return COAT_OK;
    if (strcmp(word, "-h") == 0)
        word = "--help";
    size_t length = strcspn(word, "=");
    const struct option *option = find_option(own, word, length);
    if (option == NULL)
        option = find_option(global, word, length);
    if (option == NULL)
        return coat_fail(error, COAT_BAD_FORM, "", "there is no option %.*s here",
                         (int)(length < NAME_SHOWN ? length : NAME_SHOWN), word);
    bool joined = word[length] == '=';
    if (joined && option->value == NULL)
        return coat_fail(error, COAT_BAD_FORM, "", "%s takes no value", option->name);
    *ret_taken = joined || option->value == NULL ? 1 : 2;
    if (joined)
        return add_option(args, option, word + length + 1, error);
    if (option->value == NULL)
        return add_option(args, option, "", error);
    if (count < 2 || strncmp(argv[1], "--", 2) == 0)
        return coat_fail(error, COAT_BAD_FORM, "", "%s needs a value: %s %s (%s=%s where it begins with two minus signs)",
                         option->name, option->name, option->value, option->name, option->value);
    return add_option(args, option, argv[1], error);
}

static enum coat_result add_argument(struct args *args, const char *word, struct coat_error *error)
{
    if (args->count == ARGS_MAX)
        return coat_fail(error, COAT_BAD_FORM, "", "too many words: %d at most", ARGS_MAX);
    args->argument[args->count++] = word;
    return COAT_OK;
}

enum coat_result args_parse(int count, char *const argv[], const struct option *global, const struct option *own,
                            struct args *args, struct coat_error *error)
{
    enum coat_result result = COAT_OK;
    bool ended = false;
    for (int i = 0, taken = 0; i < count && result == COAT_OK; i += taken > 0 ? taken : 1) {
        taken = 0;
        if (!ended && strcmp(argv[i], "--") == 0) {
            ended = true;
            continue;
        }
        if (!ended)
            result = args_take_option(count - i, argv + i, global, own, args, &taken, error);
        if (taken == 0 && result == COAT_OK)
            result = add_argument(args, argv[i], error);
    }
    return result;
}

const char *args_next(const struct args *args, const char *name, unsigned *cursor)
{
    while (*cursor < args->given_count) {
        const struct given *given = &args->given[(*cursor)++];
        if (strcmp(given->option->name, name) == 0)
            return given->value;
    }
    return NULL;
}

const char *args_option(const struct args *args, const char *name)
{
    unsigned cursor = 0;
    return args_next(args, name, &cursor);
}
