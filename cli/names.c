#include "cli/names.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#define NAME_LONG 64
#define NEAREST_SHOWN 2
#define CANDIDATES_SHOWN 6
#define LISTS_MAX 2

/* How well a name fits, best first. */
enum fit { FIT_EXACT, FIT_WHOLE, FIT_START, FIT_WORD, FIT_NONE };

static const struct {
    const char *word;
    const char *list[LISTS_MAX];
    bool any_word; /* the start of any word of the name will do */
    const char *add;
} kinds[] = {
    [NAME_PIECE] = {"piece", {"pieces"}, false, "coat piece add"},
    [NAME_PLACE] = {"place", {"places"}, false, "coat place add"},
    [NAME_RACK] = {"rack", {"racks"}, false, "coat rack add"},
    [NAME_MATERIAL] = {"material", {"materials"}, true, "coat material add"},
    [NAME_TIN] = {"tin", {"tins"}, false, "coat tin add"},
    [NAME_SENSOR] = {"sensor", {"sensors"}, false, "coat sensor add"},
    [NAME_CHANNEL] = {"channel", {"channels"}, false, "coat channel add"},
    [NAME_PIECE_OR_RACK] = {"piece", {"pieces", "racks"}, false, "coat piece add"},
};
_Static_assert(sizeof kinds / sizeof *kinds == NAME_KIND_COUNT, "one row a kind");

struct found {
    enum fit fit;
    unsigned count;
    const cJSON *item[CANDIDATES_SHOWN];
};

static bool has_word_start(const char *name, const char *text, size_t length)
{
    for (size_t i = 1; name[i] != '\0'; i++) {
        if (!isalnum((unsigned char)name[i - 1]) && strncasecmp(name + i, text, length) == 0)
            return true;
    }
    return false;
}

static enum fit fit_of(const char *name, const char *text, bool any_word)
{
    size_t length = strlen(text);
    if (strcmp(name, text) == 0)
        return FIT_EXACT;
    if (strcasecmp(name, text) == 0)
        return FIT_WHOLE;
    if (length > 0 && strncasecmp(name, text, length) == 0)
        return FIT_START;
    return length > 0 && any_word && has_word_start(name, text, length) ? FIT_WORD : FIT_NONE;
}

static bool is_in_use(const cJSON *item)
{
    return doc_get(item, "removed_at") == NULL && !doc_flag(item, "removed");
}

static void consider(struct found *found, const cJSON *item, enum fit fit)
{
    if (fit == FIT_NONE || fit > found->fit)
        return;
    if (fit < found->fit)
        *found = (struct found){.fit = fit};
    if (found->count < CANDIDATES_SHOWN)
        found->item[found->count] = item;
    found->count++;
}

static struct found search(const struct cli *cli, enum name_kind kind, const char *text)
{
    struct found found = {.fit = FIT_NONE};
    const cJSON *item = NULL;
    for (unsigned i = 0; i < LISTS_MAX && kinds[kind].list[i] != NULL; i++) {
        cJSON_ArrayForEach(item, doc_get(cli->shop, kinds[kind].list[i]))
        {
            if (is_in_use(item))
                consider(&found, item, fit_of(doc_text(item, "name"), text, kinds[kind].any_word));
        }
    }
    return found;
}

/* ---- nearest ---- */

static unsigned least_of(unsigned a, unsigned b, unsigned c)
{
    unsigned least = a < b ? a : b;
    return least < c ? least : c;
}

unsigned names_distance(const char *a, const char *b)
{
    unsigned row[NAME_LONG + 1];
    unsigned wide = (unsigned)strnlen(b, NAME_LONG), high = (unsigned)strnlen(a, NAME_LONG);
    for (unsigned j = 0; j <= wide; j++)
        row[j] = j;
    for (unsigned i = 1; i <= high; i++) {
        unsigned diagonal = row[0];
        row[0] = i;
        for (unsigned j = 1; j <= wide; j++) {
            bool same = tolower((unsigned char)a[i - 1]) == tolower((unsigned char)b[j - 1]);
            unsigned next = least_of(row[j] + 1, row[j - 1] + 1, diagonal + (same ? 0 : 1));
            diagonal = row[j];
            row[j] = next;
        }
    }
    return row[wide];
}

struct nearest {
    unsigned count;
    unsigned distance[NEAREST_SHOWN];
    const char *name[NEAREST_SHOWN];
};

/* Sorted, nearest first; of equals the earlier one. */
static void keep_nearest(struct nearest *nearest, const char *name, unsigned distance)
{
    unsigned at = nearest->count;
    while (at > 0 && distance < nearest->distance[at - 1])
        at--;
    if (at == NEAREST_SHOWN)
        return;
    if (nearest->count < NEAREST_SHOWN)
        nearest->count++;
    for (unsigned i = nearest->count - 1; i > at; i--) {
        nearest->distance[i] = nearest->distance[i - 1];
        nearest->name[i] = nearest->name[i - 1];
    }
    nearest->distance[at] = distance;
    nearest->name[at] = name;
}

static int fail_none(const struct cli *cli, enum name_kind kind, const char *text)
{
    struct nearest nearest = {0};
    const cJSON *item = NULL;
    const char *word = kinds[kind].word;
    for (unsigned i = 0; i < LISTS_MAX && kinds[kind].list[i] != NULL; i++) {
        cJSON_ArrayForEach(item, doc_get(cli->shop, kinds[kind].list[i]))
        {
            if (is_in_use(item))
                keep_nearest(&nearest, doc_text(item, "name"), names_distance(text, doc_text(item, "name")));
        }
    }
    if (nearest.count == 0)
        return cli_fail(cli, CLI_USAGE, "no %s \"%.64s\"; there is none yet: %s enters one", word, text, kinds[kind].add);
    if (nearest.count == 1)
        return cli_fail(cli, CLI_USAGE, "no %s \"%.64s\"; the only one is \"%s\"", word, text, nearest.name[0]);
    return cli_fail(cli, CLI_USAGE, "no %s \"%.64s\"; nearest are \"%s\", \"%s\"", word, text, nearest.name[0],
                    nearest.name[1]);
}

/* The air that is typed in is a sensor in each place, all of one name. */
static bool are_by_hand(const struct found *found)
{
    unsigned known = found->count < CANDIDATES_SHOWN ? found->count : CANDIDATES_SHOWN;
    for (unsigned i = 0; i < known; i++) {
        if (!doc_is(found->item[i], "kind", "by-hand"))
            return false;
    }
    return true;
}

static int fail_many(const struct cli *cli, const char *text, const struct found *found)
{
    struct text list = {0};
    if (are_by_hand(found))
        return cli_fail(cli, CLI_USAGE, "\"%.64s\" is the air that was typed in, in %u places: coat air PLACE shows it and enters more", text, found->count);
    unsigned shown = found->count < CANDIDATES_SHOWN ? found->count : CANDIDATES_SHOWN;
    for (unsigned i = 0; i < shown; i++)
        text_add(&list, "%s\"%s\"", i == 0 ? "" : i + 1 == found->count ? " or " : ", ", doc_text(found->item[i], "name"));
    if (shown < found->count)
        text_add(&list, " and %u more", found->count - shown);
    return cli_fail(cli, CLI_USAGE, "\"%.64s\" could be %s: write more of the name", text, list.data);
}

int names_find(const struct cli *cli, enum name_kind kind, const char *text, const cJSON **ret)
{
    struct found found = search(cli, kind, text);
    if (found.count == 0 && kind == NAME_PIECE && search(cli, NAME_RACK, text).fit <= FIT_WHOLE)
        return cli_fail(cli, CLI_USAGE, "\"%.64s\" is a rack, and this is done to one piece at a time: name one of its pieces", text);
    if (found.count == 0)
        return fail_none(cli, kind, text);
    if (found.count > 1)
        return fail_many(cli, text, &found);
    *ret = found.item[0];
    return CLI_DONE;
}

int names_find_id(const struct cli *cli, enum name_kind kind, const char *text, int64_t *ret_id)
{
    const cJSON *item = NULL;
    int status = names_find(cli, kind, text, &item);
    if (status == CLI_DONE)
        *ret_id = doc_id(item, "id");
    return status;
}

/* ---- several pieces ---- */

static void add_once(cJSON *array, int64_t id)
{
    const cJSON *item = NULL;
    cJSON_ArrayForEach(item, array)
    {
        if (item->valuedouble == (double)id)
            return;
    }
    cJSON_AddItemToArray(array, cJSON_CreateNumber((double)id));
}

static void add_pieces_of(const struct cli *cli, cJSON *array, const cJSON *item)
{
    const cJSON *piece = NULL;
    const cJSON *hung = doc_get(item, "pieces");
    if (!cJSON_IsArray(hung)) {
        add_once(array, doc_id(item, "id"));
        return;
    }
    cJSON_ArrayForEach(piece, hung)
    {
        const cJSON *known = doc_by_id(doc_get(cli->shop, "pieces"), (int64_t)piece->valuedouble);
        if (known != NULL && is_in_use(known))
            add_once(array, doc_id(known, "id"));
    }
}

static char *trim(char *text)
{
    while (*text == ' ')
        text++;
    size_t length = strlen(text);
    while (length > 0 && text[length - 1] == ' ')
        text[--length] = '\0';
    return text;
}

static int add_named(const struct cli *cli, cJSON *array, const char *name)
{
    const cJSON *item = NULL;
    int status = names_find(cli, NAME_PIECE_OR_RACK, name, &item);
    if (status == CLI_DONE)
        add_pieces_of(cli, array, item);
    return status;
}

int names_find_pieces(const struct cli *cli, const char *text, cJSON *ret_array)
{
    if (search(cli, NAME_PIECE_OR_RACK, text).fit <= FIT_WHOLE) /* a name may have a comma in it */
        return add_named(cli, ret_array, text);
    char *copy = strdup(text);
    int status = copy != NULL ? CLI_DONE : cli_fail(cli, CLI_REFUSED, "out of memory");
    char *rest = copy;
    for (char *name = strsep(&rest, ","); name != NULL && status == CLI_DONE; name = strsep(&rest, ","))
        status = add_named(cli, ret_array, trim(name));
    free(copy);
    if (status == CLI_DONE && cJSON_GetArraySize(ret_array) == 0)
        return cli_fail(cli, CLI_USAGE, "\"%.64s\" has no pieces that are in use", text);
    return status;
}

const char *names_of(const struct cli *cli, const char *list, int64_t id, const char *other)
{
    const cJSON *item = doc_by_id(doc_get(cli->shop, list), id);
    return item != NULL ? doc_text(item, "name") : other;
}
