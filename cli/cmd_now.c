/* Bare `coat`: what can be done now, what comes next, what must not be touched. */
#include "cli/say.h"

#include <math.h>
#include <string.h>

#define CAUTIONS_SHOWN 4
#define COLUMNS 3

/* One row as it is shown: what, which, and the sentence. */
struct row {
    struct text first, second, text;
};

static void say_place(const struct cli *cli, struct text *text, const cJSON *place)
{
    const cJSON *air = doc_get(place, "air");
    text_add(text, "%s ", doc_text(place, "name"));
    if (air == NULL)
        text_add(text, "air not known: coat air \"%s\" %s enters it", doc_text(place, "name"), doc_is(place, "kind", "oven") ? "147C" : "18C 55%");
    else
        say_place_air(cli, text, air);
}

static void say_header(struct cli *cli)
{
    char now[WHEN_TEXT_SIZE];
    const cJSON *place = NULL;
    unsigned places = 0;
    struct table *table = table_new(2, 0, 0);
    when_print_full(cli->now_ms, now);
    cJSON_ArrayForEach(place, doc_get(cli->shop, "places"))
    {
        struct text text = {0};
        if (doc_get(place, "removed_at") != NULL)
            continue;
        say_place(cli, &text, place);
        table_row(table, VOICE_HEAD, (const char *[]){places++ == 0 ? now : "", text.data});
    }
    if (places == 0)
        table_row(table, VOICE_HEAD,
                  (const char *[]){now, "no place yet: coat place add shed, then coat air shed 18C 55%"});
    table_print(&cli->out, table);
}

/* A service that cannot write cannot tell anybody. */
static void say_unrecorded(struct cli *cli)
{
    struct text text = {0};
    const cJSON *unrecorded = doc_get(cli->shop, "unrecorded");
    if (unrecorded == NULL)
        return;
    text_add(&text, "What falls due is not told: it cannot be written down since ");
    say_moment(cli, &text, doc_moment(unrecorded, "since_at"));
    text_add(&text, " (%s). Look at the times below yourself, and see to it.", doc_text(unrecorded, "why"));
    render_voiced(&cli->out, VOICE_STOP, text.data);
}

/* What holds a row back from being relied on, in brackets at its end. */
static void say_reserve(const struct cli *cli, struct text *text, const cJSON *row)
{
    struct text flags = {0};
    say_flags(cli, &flags, row);
    if (flags.length > 0)
        text_add(text, "; %s", flags.data);
}

static void say_left(const struct cli *cli, struct text *text, int64_t at_ms)
{
    if (at_ms == MOMENT_NONE || at_ms <= cli->now_ms)
        return;
    text_add(text, ", ");
    say_quantity(cli, text, QUANTITY_DURATION, (double)((at_ms - cli->now_ms) / MS_PER_MIN) * 60.0);
    text_add(text, " left");
}

static void say_then(const struct cli *cli, struct text *text, const cJSON *row)
{
    const char *then = doc_text(row, "then");
    int64_t then_until = doc_moment(row, "then_until_at");
    if (then[0] == '\0')
        return;
    text_add(text, "; after that %s", strcmp(then, "wait") == 0 ? "shut" : do_phrase(doc_text(row, "stage"), then));
    if (then_until != MOMENT_NONE) {
        text_add(text, " until ");
        say_moment(cli, text, then_until);
    }
}

static void set(struct text *text, const char *value)
{
    text_clear(text);
    text_add(text, "%s", value);
}

static int64_t closing_of(const cJSON *row)
{
    int64_t earliest = doc_moment(row, "until.earliest_at");
    return earliest != MOMENT_NONE ? earliest : doc_moment(row, "until.label_ceiling_at");
}

/* "until 15:10, 35 min left; after that shut until Mon 14:05" */
static void say_now(const struct cli *cli, struct row *out, const cJSON *row)
{
    bool tests = doc_is(row, "do", "test"), goes = doc_is(row, "do", "go");
    int64_t closes = closing_of(row);
    struct text *text = &out->text;
    if (tests)
        set(&out->second, "finger test");
    if (tests && closes != MOMENT_NONE) {
        text_add(text, "try it; do not rely on it after ");
        say_moment(cli, text, closes);
        return;
    }
    if (!goes)
        text_add(text, "%s", do_phrase(doc_text(row, "stage"), doc_text(row, "do")));
    if (closes != MOMENT_NONE) {
        text_add(text, "%suntil ", goes ? "" : ", ");
        say_moment(cli, text, closes);
        say_left(cli, text, closes);
        say_then(cli, text, row);
    } else if (goes) {
        text_add(text, "any time");
        if (doc_moment(row, "since_at") != MOMENT_NONE) {
            text_add(text, ", since ");
            say_moment(cli, text, doc_moment(row, "since_at"));
        }
    }
}

/* What a row that is to come will let a person do: its own word, or what follows the wait that it is in. */
static const char *coming_do(const cJSON *row)
{
    return doc_is(row, "do", "wait") ? doc_text(row, "then") : doc_text(row, "do");
}

/* The time comes first here: "about Sun 20:15   mill wheel   handle (18:50 to 22:40)". */
static void say_next(const struct cli *cli, struct row *out, const cJSON *row)
{
    const cJSON *band = doc_get(row, "until");
    const char *does = coming_do(row);
    int64_t ends = doc_moment(row, "then_until_at");
    bool opens = strcmp(does, "go") == 0;
    out->second = out->first;
    text_clear(&out->first);
    text_add(&out->text, "%s", doc_text(row, "stage"));
    if (opens) {
        say_opening_parts(cli, &out->first, &out->text, band);
    } else {
        say_closing(cli, &out->first, band);
        text_add(&out->text, ": %s", do_phrase(doc_text(row, "stage"), does));
    }
    if (ends != MOMENT_NONE) {
        text_add(&out->text, "; until ");
        say_moment(cli, &out->text, ends);
    }
}

/* "wet   do not touch before it is dust-free, about 15:05" */
static void say_not_yet(const struct cli *cli, struct row *out, const cJSON *row)
{
    const cJSON *coat = doc_by_id(doc_get(cli->shop, "coats"), doc_id(row, "coat"));
    const char *condition = doc_text(coat, "condition");
    set(&out->second, condition[0] != '\0' ? condition : "wet");
    say_hands_off(cli, &out->text, row);
}

static void say_held(const struct cli *cli, struct row *out, const cJSON *row)
{
    const char *stalled = doc_text(row, "stalled");
    const cJSON *piece = doc_by_id(doc_get(cli->shop, "pieces"), doc_id(row, "piece"));
    const cJSON *place = doc_by_id(doc_get(cli->shop, "places"), doc_id(piece, "place"));
    set(&out->second, stalled[0] != '\0' ? held_phrase(stalled) : "held up");
    text_add(&out->text, "%s", doc_text(row, "stage"));
    if (doc_get(place, "air") != NULL) {
        text_add(&out->text, "; ");
        say_air(cli, &out->text, doc_get(place, "air"));
        text_add(&out->text, " in %s", doc_text(place, "name"));
    }
    if (doc_moment(row, "since_at") != MOMENT_NONE) {
        text_add(&out->text, "; held since ");
        say_moment(cli, &out->text, doc_moment(row, "since_at"));
    }
}

static const struct {
    const char *path, *title;
    void (*say)(const struct cli *cli, struct row *out, const cJSON *row);
    enum voice voice;
} lists[] = {
    {"lists.now", "Can be done now", say_now, VOICE_GO},
    {"lists.next", "Comes next", say_next, VOICE_PLAIN},
    {"lists.not_yet", "Not yet", say_not_yet, VOICE_STOP},
    {"lists.held", "Held up", say_held, VOICE_SOON},
};

static void add_row(const struct cli *cli, struct table *table, size_t list, const cJSON *row)
{
    struct row out = {0};
    const cJSON *coat = doc_by_id(doc_get(cli->shop, "coats"), doc_id(row, "coat"));
    set(&out.second, doc_text(row, "stage"));
    say_piece(cli, &out.first, doc_id(row, "piece"), doc_text(coat, "area"));
    lists[list].say(cli, &out, row);
    if (lists[list].say != say_held)
        say_reserve(cli, &out.text, row);
    bool closing = doc_is(row, "state", "closing") || doc_is(row, "state", "prepare");
    table_row(table, closing ? VOICE_SOON : lists[list].voice, (const char *[]){out.first.data, out.second.data, out.text.data});
}

static void add_mix(const struct cli *cli, struct table *table, const cJSON *mix)
{
    struct text name = {0}, moments = {0}, line = {0};
    int64_t ready = doc_moment(mix, "ready_at");
    bool waits = doc_get(mix, "induction_min") != NULL && (ready == MOMENT_NONE || ready > cli->now_ms);
    text_add(&name, "mix %lld", (long long)doc_id(mix, "id"));
    say_mix(cli, &moments, mix);
    text_add(&line, "%s: %s", doc_text(mix, "material.name"), moments.data);
    table_row(table, waits ? VOICE_STOP : VOICE_GO, (const char *[]){name.data, waits ? "wait" : "use", line.data});
}

static bool say_list(struct cli *cli, size_t list)
{
    const cJSON *row = NULL;
    const cJSON *rows = doc_get(cli->shop, lists[list].path);
    if (cJSON_GetArraySize(rows) == 0)
        return false;
    struct table *table = table_new(COLUMNS, 2, 1);
    cJSON_ArrayForEach(row, rows)
        add_row(cli, table, list, row);
    render_blank(&cli->out);
    render_voiced(&cli->out, VOICE_HEAD, lists[list].title);
    table_print(&cli->out, table);
    return true;
}

/* Batches that can still be used. */
static bool say_mixes(struct cli *cli)
{
    const cJSON *mix = NULL, *mixes = doc_get(cli->shop, "mixes");
    if (cJSON_GetArraySize(mixes) == 0)
        return false;
    struct table *table = table_new(COLUMNS, 2, 1);
    cJSON_ArrayForEach(mix, mixes)
        add_mix(cli, table, mix);
    render_blank(&cli->out);
    render_voiced(&cli->out, VOICE_HEAD, "Mixed");
    table_print(&cli->out, table);
    return true;
}

static bool say_inspect(struct cli *cli)
{
    const cJSON *coat = NULL;
    bool any = false;
    cJSON_ArrayForEach(coat, doc_get(cli->shop, "coats"))
    {
        struct text text = {0};
        if (!doc_flag(coat, "inspect") || !doc_is(coat, "status", "on"))
            continue;
        if (!any) {
            render_blank(&cli->out);
            render_voiced(&cli->out, VOICE_HEAD, "Look at it yourself");
        }
        say_piece(cli, &text, doc_id(coat, "piece"), doc_text(coat, "area"));
        text_add(&text, ": coat %lld, %s", (long long)doc_id(coat, "id"), doc_text(coat, "inspect_why"));
        render_text(&cli->out, 2, 4, text.data);
        any = true;
    }
    return any;
}

static void say_notice_count(struct cli *cli)
{
    struct text text = {0};
    int count = doc_count(cli->shop, "notices");
    if (count == 0)
        return;
    text_add(&text, "%d notice%s not acknowledged: coat notices", count, count == 1 ? "" : "s");
    render_text(&cli->out, 0, 0, text.data);
}

int cmd_now(struct cli *cli)
{
    bool any = false;
    if (cli->json) {
        int asked = cli_get(cli, "/shop");
        return asked == CLI_DONE && cli_said_json(cli) ? CLI_DONE : asked;
    }
    int status = cli_open_shop(cli);
    if (status != CLI_DONE)
        return status;
    say_header(cli);
    say_unrecorded(cli);
    for (size_t i = 0; i < sizeof lists / sizeof *lists; i++)
        any = say_list(cli, i) || any;
    any = say_mixes(cli) || any;
    any = say_inspect(cli) || any;
    render_blank(&cli->out);
    if (!any)
        render_text(&cli->out, 0, 0, "Nothing is drying. coat log PIECE MATERIAL logs a coat.");
    say_notice_count(cli);
    say_cautions(cli, cli->shop, doc_get(cli->shop, "shop_cautions"), CAUTIONS_SHOWN);
    return CLI_DONE;
}
