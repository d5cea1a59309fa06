/* coat check: may it go on now, and if not, when. */
#include "cli/say.h"

#include <curl/curl.h>
#include <math.h>
#include <string.h>

#define COLUMNS 3
#define HOURS_MOST 72.0

/* ---- asking ---- */

static int add_piece(const struct cli *cli, struct text *path)
{
    const char *name = args_option(&cli->args, "--piece"), *area = args_option(&cli->args, "--area");
    int64_t id = 0;
    if (name == NULL && area != NULL)
        return cli_fail(cli, CLI_USAGE, "--area is of a piece: say --piece as well");
    int status = name != NULL ? names_find_id(cli, NAME_PIECE, name, &id) : CLI_DONE;
    if (status == CLI_DONE && name != NULL)
        text_add(path, "&piece=%lld", (long long)id);
    char *escaped = area != NULL ? curl_easy_escape(NULL, area, 0) : NULL;
    if (escaped != NULL)
        text_add(path, "&area=%s", escaped);
    curl_free(escaped);
    return status;
}

static int add_at(const struct cli *cli, struct text *path)
{
    const char *text = args_option(&cli->args, "--at");
    char moment[MOMENT_TEXT_SIZE];
    int64_t at_ms = cli->now_ms;
    if (text == NULL)
        return CLI_DONE;
    int status = cli_parse_ahead(cli, "--at", text, &at_ms);
    if (status == CLI_DONE)
        text_add(path, "&at=%s", moment_print(at_ms, moment));
    return status;
}

static int ask(struct cli *cli)
{
    int64_t material = 0, place = 0;
    struct text path = {0};
    int status = cli_open_shop(cli);
    if (status == CLI_DONE)
        status = names_find_id(cli, NAME_MATERIAL, cli->args.argument[0], &material);
    if (status == CLI_DONE)
        status = names_find_id(cli, NAME_PLACE, cli->args.argument[1], &place);
    text_add(&path, "/check?material=%lld&place=%lld", (long long)material, (long long)place);
    if (status == CLI_DONE)
        status = add_piece(cli, &path);
    if (status == CLI_DONE)
        status = add_at(cli, &path);
    return status == CLI_DONE ? cli_get(cli, "%s", path.data) : status;
}

/* ---- reasons ---- */

/* Faults of the air, with amounts in the units asked for; all others are told as the API words them. */
static const struct {
    const char *reason, *what, *after_value, *limit;
    enum quantity kind;
} faults[] = {
    {"too-cold", "too cold: ", "", ", at least ", QUANTITY_TEMPERATURE},
    {"too-hot", "too hot: ", "", ", at most ", QUANTITY_TEMPERATURE},
    {"too-damp", "too damp: ", "", ", at most ", QUANTITY_SHARE},
    {"surface-cold", "the piece is still cold: ", "", ", at least ", QUANTITY_TEMPERATURE},
    {"dew", "too near the dew point: ", " above it", ", at least ", QUANTITY_TEMP_DIFF},
    {"surface-dew", "the piece is still cold: ", " above the dew point", ", at least ", QUANTITY_TEMP_DIFF},
};

static void say_reason(const struct cli *cli, struct text *text, const cJSON *of)
{
    for (size_t i = 0; i < sizeof faults / sizeof *faults; i++) {
        double value = doc_number(of, "value");
        bool below = faults[i].kind == QUANTITY_TEMP_DIFF && value < 0.0;
        if (!doc_is(of, "reason", faults[i].reason))
            continue;
        text_add(text, "%s", faults[i].what);
        say_quantity(cli, text, faults[i].kind, below ? -value : value);
        text_add(text, "%s%s", below ? " below the dew point" : faults[i].after_value, faults[i].limit);
        say_quantity(cli, text, faults[i].kind, doc_number(of, "limit"));
        text_add(text, "%s", below ? " above it" : "");
        return;
    }
    text_add(text, "%s", doc_text(of, "text"));
}

static void say_refusal(const struct cli *cli, struct text *text, const cJSON *refusal)
{
    int64_t breaks = doc_moment(refusal, "breaks_at"), until = doc_moment(refusal, "until_at");
    say_reason(cli, text, refusal);
    if (breaks != MOMENT_NONE) {
        text_add(text, ", about ");
        say_moment(cli, text, breaks);
    }
    if (until != MOMENT_NONE) {
        text_add(text, " until about ");
        say_moment(cli, text, until);
    }
}

/* ---- the answer ---- */

/* "now", or with a word before it a moment that is still ahead */
static void add_moment(const struct cli *cli, struct text *text, const char *before, int64_t at)
{
    if (at <= cli->now_ms + MS_PER_MIN) {
        text_add(text, "now");
        return;
    }
    text_add(text, "%s", before);
    say_moment(cli, text, at);
}

/* "No, not now: gloss enamel in shed." */
static void say_head(struct cli *cli, const cJSON *answer)
{
    struct text text = {0};
    bool yes = doc_is(answer, "verdict", "yes"), unknown = doc_is(answer, "verdict", "unknown");
    text_add(&text, "%s ", yes ? "Yes," : unknown ? "Unknown," : "No, not");
    add_moment(cli, &text, "for ", doc_moment(answer, "at"));
    text_add(&text, ": %s in %s", doc_text(answer, "material.name"), names_of(cli, "places", doc_id(answer, "place"), "it"));
    if (doc_id(answer, "piece") != 0)
        text_add(&text, " on %s", names_of(cli, "pieces", doc_id(answer, "piece"), "it"));
    text_add(&text, doc_moment(answer, "at") > cli->now_ms + MS_PER_MIN ? " (now " : " (");
    say_air(cli, &text, doc_get(answer, "air"));
    if (isfinite(doc_number(answer, "air.dew_point_c"))) {
        text_add(&text, ", dew point ");
        say_quantity(cli, &text, QUANTITY_TEMPERATURE, doc_number(answer, "air.dew_point_c"));
    }
    text_add(&text, "%s)", doc_is(answer, "air.basis", "assumed") ? ", assumed" : "");
    render_voiced(&cli->out, yes ? VOICE_GO : unknown ? VOICE_SOON : VOICE_STOP, text.data);
}

static void say_why_not(struct cli *cli, const cJSON *answer)
{
    const cJSON *refusal = NULL;
    cJSON_ArrayForEach(refusal, doc_get(answer, "reasons"))
    {
        struct text text = {0};
        say_refusal(cli, &text, refusal);
        render_text(&cli->out, 4, 6, text.data);
    }
}

static void say_good(const struct cli *cli, struct text *text, const cJSON *stretch, const char *guard)
{
    int64_t works = doc_moment(stretch, "works_from_at");
    text_add(text, "the air holds until %s", guard);
    if (works == MOMENT_NONE || works == doc_moment(stretch, "from_at"))
        return;
    text_add(text, "; in your hours from ");
    say_moment(cli, text, works);
}

static void say_span_of(const struct cli *cli, struct text *text, const cJSON *stretch)
{
    say_moment(cli, text, doc_moment(stretch, "from_at"));
    text_add(text, " to ");
    say_moment(cli, text, doc_moment(stretch, "to_at"));
}

/* The first good stretch, with `works` the first that has an hour of the shop in it; NULL: none. */
static const cJSON *first_good(const cJSON *answer, bool works)
{
    const cJSON *stretch = NULL;
    cJSON_ArrayForEach(stretch, doc_get(answer, "stretches"))
    {
        if (doc_flag(stretch, "good") && (!works || doc_moment(stretch, "works_from_at") != MOMENT_NONE))
            return stretch;
    }
    return NULL;
}

static bool has_hours(const struct cli *cli)
{
    return strcmp(doc_text(cli->shop, "shop.work_from"), doc_text(cli->shop, "shop.work_to")) != 0;
}

/* "Next good hours: Sun 07:00 to Sun 10:00; in your hours from Sun 17:00" */
static void say_next(struct cli *cli, const cJSON *answer)
{
    struct text text = {0};
    const cJSON *good = first_good(answer, false), *works = first_good(answer, true);
    if (doc_count(answer, "stretches") == 0 || doc_is(answer, "verdict", "yes"))
        return;
    text_add(&text, "%s", good != NULL ? "next good hours: " : "no good hour within 72 h");
    if (good != NULL)
        say_span_of(cli, &text, good);
    if (works != NULL) {
        text_add(&text, "; in your hours from ");
        say_moment(cli, &text, doc_moment(works, "works_from_at"));
    } else if (good != NULL && has_hours(cli)) {
        text_add(&text, "; within 72 h none in your hours");
    }
    render_text(&cli->out, 4, 6, text.data);
}

static void say_stretches(struct cli *cli, const cJSON *answer)
{
    const cJSON *stretch = NULL;
    struct table *table = table_new(COLUMNS, 2, 1);
    cJSON_ArrayForEach(stretch, doc_get(answer, "stretches"))
    {
        struct text span = {0}, why = {0};
        bool is_good = doc_flag(stretch, "good");
        say_span_of(cli, &span, stretch);
        if (is_good)
            say_good(cli, &why, stretch, doc_text(answer, "guard"));
        else
            say_refusal(cli, &why, stretch);
        table_row(table, is_good ? VOICE_GO : VOICE_STOP, (const char *[]){span.data, is_good ? "good" : "no", why.data});
    }
    if (doc_count(answer, "stretches") > 0) {
        render_blank(&cli->out);
        render_voiced(&cli->out, VOICE_HEAD, "Hours to begin");
    }
    table_print(&cli->out, table);
}

static const char *compat_phrase(const char *verdict)
{
    static const char *const phrases[][2] = {
        {"ok", "it goes over that"}, {"with-care", "it goes over that with care"}, {"no", "it does not go over that"},
        {"test-patch", "test patch first"},
    };
    for (size_t i = 0; i < sizeof phrases / sizeof *phrases; i++)
        if (strcmp(phrases[i][0], verdict) == 0)
            return phrases[i][1];
    return verdict;
}

static void say_landing(struct cli *cli, const cJSON *coat)
{
    struct text text = {0};
    text_add(&text, "%lld: %s", (long long)doc_id(coat, "coat"), doc_text(coat, "material.name"));
    if (doc_text(coat, "area")[0] != '\0')
        text_add(&text, ", %s", doc_text(coat, "area"));
    if (doc_get(coat, "stage") != NULL)
        text_add(&text, "; %s: %s", doc_text(coat, "stage"), do_phrase(doc_text(coat, "stage"), doc_text(coat, "do")));
    if (doc_moment(coat, "until_at") != MOMENT_NONE) {
        text_add(&text, " until ");
        say_moment(cli, &text, doc_moment(coat, "until_at"));
    }
    text_add(&text, "; %s", compat_phrase(doc_text(coat, "compat.verdict")));
    render_text(&cli->out, 2, 4, text.data);
}

static void say_lands_on(struct cli *cli, const cJSON *answer)
{
    const cJSON *coat = NULL;
    if (doc_get(answer, "lands_on") == NULL)
        return;
    render_blank(&cli->out);
    render_voiced(&cli->out, VOICE_HEAD, "Would land on");
    if (doc_count(answer, "lands_on.coats") == 0)
        render_text(&cli->out, 2, 4, "no coat in the record");
    cJSON_ArrayForEach(coat, doc_get(answer, "lands_on.coats"))
        say_landing(cli, coat);
}

static void say_surface(struct cli *cli, const cJSON *answer)
{
    struct text text = {0};
    const cJSON *surface = doc_get(answer, "surface");
    if (surface == NULL)
        return;
    text_add(&text, "the piece is about ");
    say_quantity(cli, &text, QUANTITY_TEMPERATURE, doc_number(surface, "temp_c"));
    int64_t clear = doc_moment(surface, "clear_at");
    if (clear != MOMENT_NONE && clear > doc_moment(answer, "at")) {
        text_add(&text, "; clear of the dew point from about ");
        say_moment(cli, &text, clear);
    }
    render_text(&cli->out, 2, 4, text.data);
}

static void say_window(struct cli *cli, const cJSON *window)
{
    struct text text = {0};
    int64_t from = doc_moment(window, "from_at"), until = doc_moment(window, "until_at");
    text_add(&text, "%s%s: ", doc_text(window, "stage"), doc_is(window, "do", "test") ? ", finger test" : "");
    if (from == MOMENT_NONE) {
        text_add(&text, "not in this air");
    } else {
        text_add(&text, "from about ");
        say_moment(cli, &text, from);
    }
    if (until != MOMENT_NONE) {
        text_add(&text, " until ");
        say_moment(cli, &text, until);
    }
    if (doc_flag(window, "missed_hours"))
        text_add(&text, "; none of it in your hours");
    else if (doc_flag(window, "until_outside_hours"))
        text_add(&text, "; would close outside your hours");
    else if (doc_flag(window, "from_outside_hours"))
        text_add(&text, "; opens outside your hours");
    if (doc_flag(window, "disputed"))
        text_add(&text, "; sources differ: read the can");
    render_text(&cli->out, 2, 4, text.data);
}

static void say_windows(struct cli *cli, const cJSON *answer)
{
    const cJSON *window = NULL;
    struct text head = {0};
    if (doc_count(answer, "windows") == 0)
        return;
    text_add(&head, "Put on ");
    add_moment(cli, &head, "", doc_moment(answer, "windows_at"));
    text_add(&head, ", it would open");
    render_blank(&cli->out);
    render_voiced(&cli->out, VOICE_HEAD, head.data);
    cJSON_ArrayForEach(window, doc_get(answer, "windows"))
        say_window(cli, window);
}

static void say_remarks(struct cli *cli, const cJSON *answer)
{
    const cJSON *remark = NULL;
    render_blank(&cli->out);
    cJSON_ArrayForEach(remark, doc_get(answer, "remarks"))
    {
        const char *text = cJSON_GetStringValue(remark);
        render_text(&cli->out, 0, 2, text != NULL ? text : "");
    }
}

int cmd_check(struct cli *cli)
{
    int status = ask(cli);
    if (status != CLI_DONE || cli_said_json(cli))
        return status;
    const cJSON *answer = cli->reply.document;
    say_head(cli, answer);
    say_why_not(cli, answer);
    say_next(cli, answer);
    say_stretches(cli, answer);
    say_lands_on(cli, answer);
    say_surface(cli, answer);
    say_windows(cli, answer);
    say_remarks(cli, answer);
    say_cautions(cli, answer, doc_get(answer, "cautions"), 0);
    return CLI_DONE;
}
