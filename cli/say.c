#include "cli/say.h"

#include "coat/words.h"

#include <math.h>
#include <string.h>

#define QUANTITY_TEXT_SIZE 48

void say_quantity(const struct cli *cli, struct text *text, enum quantity kind, double value)
{
    char printed[QUANTITY_TEXT_SIZE];
    text_add(text, "%s", isfinite(value) ? quantity_print(kind, value, cli->units, printed, sizeof printed) : "-");
}

void say_moment(const struct cli *cli, struct text *text, int64_t at_ms)
{
    char printed[WHEN_TEXT_SIZE];
    text_add(text, "%s", when_print(at_ms, cli->now_ms, printed));
}

void say_air(const struct cli *cli, struct text *text, const cJSON *air)
{
    double temp_c = doc_number(air, "temp_c"), rh_pct = doc_number(air, "rh_pct");
    if (!isfinite(temp_c) || !isfinite(rh_pct)) {
        text_add(text, "air not known");
        return;
    }
    say_quantity(cli, text, QUANTITY_TEMPERATURE, temp_c);
    text_add(text, " ");
    say_quantity(cli, text, QUANTITY_SHARE, rh_pct);
    if (doc_is(air, "basis", "measured") && doc_is(air, "rh_basis", "assumed"))
        text_add(text, " (humidity assumed)");
}

/* ---- moments ---- */

/* " (14:50 to 15:30)"; what has no far end is told by its near one. */
static void say_spread(const struct cli *cli, struct text *text, const cJSON *band)
{
    int64_t earliest = doc_moment(band, "earliest_at"), latest = doc_moment(band, "latest_at");
    if (earliest == MOMENT_NONE || (latest != MOMENT_NONE && latest - earliest < MS_PER_MIN))
        return; /* nothing to tell apart */
    text_add(text, " (");
    say_moment(cli, text, earliest);
    if (latest == MOMENT_NONE) {
        text_add(text, " at the earliest)");
        return;
    }
    text_add(text, " to ");
    say_moment(cli, text, latest);
    text_add(text, ")");
}

void say_opening_parts(const struct cli *cli, struct text *when, struct text *more, const cJSON *band)
{
    int64_t likely = doc_moment(band, "likely_at"), floor = doc_moment(band, "label_floor_at");
    if (doc_flag(band, "passed")) {
        say_moment(cli, when, likely);
        return;
    }
    if (likely == MOMENT_NONE) {
        text_add(when, "not in this air");
    } else {
        text_add(when, "about ");
        say_moment(cli, when, likely);
        say_spread(cli, more, band);
    }
    if (floor != MOMENT_NONE) {
        text_add(more, ", label floor ");
        say_moment(cli, more, floor);
    }
}

void say_opening(const struct cli *cli, struct text *text, const cJSON *band)
{
    struct text more = {0};
    say_opening_parts(cli, text, &more, band);
    text_add(text, "%s", more.data);
}

void say_closing(const struct cli *cli, struct text *text, const cJSON *band)
{
    int64_t earliest = doc_moment(band, "earliest_at");
    say_moment(cli, text, earliest != MOMENT_NONE ? earliest : doc_moment(band, "label_ceiling_at"));
}

/* ---- stages ---- */

static const struct {
    const char *word, *phrase;
} does_table[] = {
    {"wait", "wait"},
    {"go", "go"},
    {"wipe", "wipe with solvent first"},
    {"scuff", "scuff first"},
    {"strip", "too late: strip it"},
    {"test", "finger test"},
};

const char *do_phrase(const char *does)
{
    for (size_t i = 0; i < sizeof does_table / sizeof *does_table; i++) {
        if (strcmp(does_table[i].word, does) == 0)
            return does_table[i].phrase;
    }
    return does;
}

static const struct {
    const char *word, *phrase;
} stalls_table[] = {
    {"too-cold", "too cold"},
    {"too-damp", "too damp"},
    {"air-unknown", "air not known"},
};

const char *stall_phrase(const char *stall)
{
    for (size_t i = 0; i < sizeof stalls_table / sizeof *stalls_table; i++) {
        if (strcmp(stalls_table[i].word, stall) == 0)
            return stalls_table[i].phrase;
    }
    return stall;
}

enum voice voice_of_state(const char *state)
{
    static const struct {
        const char *state;
        enum voice voice;
    } table[] = {
        {"open", VOICE_GO},      {"reached", VOICE_GO},   {"closing", VOICE_SOON}, {"prepare", VOICE_SOON},
        {"missed", VOICE_STOP}, {"shut", VOICE_STOP},
    };
    for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
        if (strcmp(table[i].state, state) == 0)
            return table[i].voice;
    }
    return VOICE_PLAIN;
}

void say_flags(struct text *text, const cJSON *stage)
{
    bool assumed = doc_flag(stage, "assumed") || doc_is(stage, "air.basis", "assumed");
    const char *stalled = doc_text(stage, "stalled");
    if (stalled[0] != '\0')
        text_join(text, "; ", "held up: %s", stall_phrase(stalled));
    if (doc_flag(stage, "no_window"))
        text_join(text, "; ", "no window in this air: it closes before it opens");
    if (doc_flag(stage, "prepared"))
        text_join(text, "; ", "sanded in time");
    if (assumed)
        text_join(text, "; ", "on assumed air: test first");
    if (doc_flag(stage, "disputed"))
        text_join(text, "; ", "sources differ: read the can");
}

static bool lets_through(const cJSON *span)
{
    return doc_is(span, "do", "go");
}

/* One span that has an end: its end is an opening where the next lets through (or is a finger test after a wait), else a closing. */
static void say_span(const struct cli *cli, struct text *text, const cJSON *span, const cJSON *next, bool now)
{
    const cJSON *until = doc_get(span, "until");
    bool waits = doc_is(span, "do", "wait");
    const char *does = do_phrase(doc_text(span, "do"));
    if (until == NULL) {
        text_join(text, "; ", "%s%s", now ? "" : "then ", now && lets_through(span) ? "go, no end" : does);
        return;
    }
    if (waits && next != NULL && lets_through(next)) {
        text_join(text, "; ", "%s", now ? "" : "then shut until ");
        say_opening(cli, text, until);
        return;
    }
    text_join(text, "; ", "%s%s until ", now ? "" : "then ", does);
    if (next != NULL && lets_through(next))
        say_opening(cli, text, until);
    else
        say_closing(cli, text, until);
}

static bool is_plain(const cJSON *stage)
{
    enum stage known = STAGE_TOUCH;
    return stage_from_word(doc_text(stage, "stage"), &known) && !stage_is_window(known);
}

static void say_reached(const struct cli *cli, struct text *text, const cJSON *stage)
{
    const cJSON *first = cJSON_GetArrayItem(doc_get(stage, "spans"), 0);
    int64_t at_ms = doc_moment(first, "until.likely_at");
    text_add(text, "since ");
    say_moment(cli, text, at_ms);
}

void say_stage(const struct cli *cli, struct text *text, const cJSON *stage)
{
    const cJSON *spans = doc_get(stage, "spans");
    int current = (int)fmax(0.0, fmin(doc_number(stage, "current"), 16.0));
    int count = cJSON_GetArraySize(spans);
    if (doc_is(stage, "state", "used"))
        return;
    if (is_plain(stage) && doc_is(stage, "state", "reached")) {
        say_reached(cli, text, stage);
        return;
    }
    for (int i = current; i < count; i++) {
        const cJSON *span = cJSON_GetArrayItem(spans, i);
        if (i + 1 == count && is_plain(stage))
            break; /* "touch: go, no end" says nothing that the moment before it did not */
        if (i + 1 == count && i > current && lets_through(span))
            break;
        say_span(cli, text, span, cJSON_GetArrayItem(spans, i + 1), i == current);
    }
}

/* ---- coats ---- */

void say_piece(const struct cli *cli, struct text *text, int64_t piece_id, const char *area)
{
    text_add(text, "%s", names_of(cli, "pieces", piece_id, "a piece out of use"));
    if (area[0] != '\0')
        text_add(text, ", %s", area);
}

static void say_film(const struct cli *cli, struct text *text, const cJSON *coat)
{
    double dry_um = doc_number(coat, "dry_um"), wet_um = doc_number(coat, "wet_um");
    if (isfinite(dry_um)) {
        say_quantity(cli, text, QUANTITY_FILM, dry_um);
        text_add(text, " dry");
    } else if (isfinite(wet_um)) {
        say_quantity(cli, text, QUANTITY_FILM, wet_um);
        text_add(text, " wet");
    } else {
        text_add(text, "%s", doc_text(coat, "film"));
    }
}

void say_coat(const struct cli *cli, struct text *text, const cJSON *coat)
{
    const char *name = doc_text(coat, "material.name"), *application = doc_text(coat, "application");
    say_piece(cli, text, doc_id(coat, "piece"), doc_text(coat, "area"));
    text_add(text, ": %s, ", name);
    if (strstr(name, application) == NULL)
        text_add(text, "%s, ", application);
    say_film(cli, text, coat);
    text_add(text, ", applied ");
    say_moment(cli, text, doc_moment(coat, "last_at"));
    if (doc_id(coat, "place") != 0)
        text_add(text, " in %s", names_of(cli, "places", doc_id(coat, "place"), "a place out of use"));
    text_add(text, " (");
    say_air(cli, text, doc_get(coat, "air"));
    if (isfinite(doc_number(coat, "air.temp_c")))
        text_add(text, ", %s", doc_text(coat, "air.basis"));
    text_add(text, ")");
}

void say_tin(struct text *text, const cJSON *tin)
{
    text_add(text, "%s", doc_text(tin, "name"));
    if (doc_text(tin, "batch")[0] != '\0')
        text_add(text, " (batch %s)", doc_text(tin, "batch"));
}

void say_past_keep_by(struct cli *cli, const cJSON *tin)
{
    struct text text = {0};
    text_add(&text, "The tin %s is past its keep-by: try it on scrap first.", doc_text(tin, "name"));
    render_text(&cli->out, 4, 6, text.data);
}

void say_mix(const struct cli *cli, struct text *text, const cJSON *mix)
{
    int64_t ready = doc_moment(mix, "ready_at"), use_by = doc_moment(mix, "use_by_at");
    if (ready != MOMENT_NONE) {
        text_add(text, ready > cli->now_ms ? "ready about " : "ready since ");
        say_moment(cli, text, ready);
    } else if (doc_get(mix, "induction_min") != NULL) {
        text_add(text, "when it is ready is not known in this air");
    }
    if (use_by != MOMENT_NONE) {
        text_add(text, "%s%s ", text->length > 0 ? "; " : "", use_by > cli->now_ms ? "use by" : "over since");
        say_moment(cli, text, use_by);
    }
    if (doc_is(mix, "basis", "assumed"))
        text_add(text, "; on assumed air");
}

/* ---- cautions ---- */

static const cJSON *caution_of(const cJSON *document, const cJSON *code)
{
    const char *word = cJSON_GetStringValue(code);
    const cJSON *texts = doc_get(document, "caution_texts"); /* where "cautions" are the codes of the thing itself */
    if (texts == NULL)
        texts = doc_get(document, "cautions");
    return word != NULL ? cJSON_GetObjectItemCaseSensitive(texts, word) : NULL;
}

static void add_act(struct text *text, const char *act)
{
    if (act[0] != '\0')
        text_add(text, "%s%s.", text->length > 0 ? " " : "", act);
}

static void say_deferral(struct cli *cli, const cJSON *document)
{
    const char *deferral = doc_text(document, "deferral");
    render_text(&cli->out, 0, 0, deferral[0] != '\0' ? deferral : "The label, the safety data sheet and local rules come first.");
}

void say_cautions(struct cli *cli, const cJSON *document, const cJSON *codes, unsigned most)
{
    struct text text = {0};
    const cJSON *code = NULL;
    unsigned count = 0;
    cJSON_ArrayForEach(code, codes)
    {
        if (most == 0 || count++ < most)
            add_act(&text, doc_text(caution_of(document, code), "act"));
    }
    if (text.length > 0)
        render_text(&cli->out, 0, 0, text.data);
    say_deferral(cli, document);
}

void say_cautions_beside(struct cli *cli, cJSON *document, unsigned most)
{
    cJSON *texts = cJSON_CreateObject();
    cJSON_AddItemReferenceToObject(texts, "cautions", cJSON_GetObjectItem(document, "caution_texts"));
    cJSON_AddItemReferenceToObject(texts, "deferral", cJSON_GetObjectItem(document, "deferral"));
    say_cautions(cli, texts, doc_get(document, "cautions"), most);
    cJSON_Delete(texts);
}

void say_listed_cautions(struct cli *cli)
{
    struct text text = {0};
    const cJSON *caution = NULL;
    cJSON_ArrayForEach(caution, doc_get(cli->reply.document, "items"))
        add_act(&text, doc_text(caution, "act"));
    render_text(&cli->out, 0, 0, text.data);
    say_deferral(cli, cli->reply.document);
}

int say_cautions_for(struct cli *cli, const char *subject)
{
    int status = cli_get(cli, "/cautions?for=%s", subject);
    if (status == CLI_DONE)
        say_listed_cautions(cli);
    return status;
}
