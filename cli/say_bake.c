#include "cli/bake.h"

#include <math.h>
#include <string.h>

static void add_row(struct table *table, enum voice voice, const char *name, const struct text *text)
{
    table_row(table, voice, (const char *[]){name, text->data});
}

/* ---- head ---- */

const char *bake_phrase(const char *word)
{
    enum bake_state state;
    return bake_state_from_word(word, &state) ? bake_state_phrase(state) : word;
}

static void say_load(const struct cli *cli, struct text *text, const cJSON *bake)
{
    const cJSON *part = NULL;
    text_add(text, "Bake %lld, ", (long long)doc_id(bake, "id"));
    cJSON_ArrayForEach(part, doc_get(bake, "parts")) {
        text_add(text, "%s%s (coat %lld, %s)", part == doc_get(bake, "parts")->child ? "" : ", ", names_of(cli, "pieces", doc_id(part, "piece"), "a piece"),
                 (long long)doc_id(part, "coat"), doc_text(part, "material"));
    }
    text_add(text, ", in %s: %s", names_of(cli, "places", doc_id(bake, "place"), "the oven"), bake_phrase(doc_text(bake, "state")));
}

static void say_programme(const struct cli *cli, struct table *table, const cJSON *bake)
{
    struct text text = {0};
    const cJSON *step = NULL;
    cJSON_ArrayForEach(step, doc_get(bake, "steps")) {
        text_add(&text, "%s", text.length > 0 ? ", then " : "");
        if (doc_number(step, "ramp_min") > 0.0) {
            text_add(&text, "in ");
            say_quantity(cli, &text, QUANTITY_DURATION, doc_number(step, "ramp_min") * 60.0);
            text_add(&text, " to ");
        }
        say_quantity(cli, &text, QUANTITY_TEMPERATURE, doc_number(step, "target_c"));
        text_add(&text, ", held ");
        say_quantity(cli, &text, QUANTITY_DURATION, doc_number(step, "hold_min") * 60.0);
        text_add(&text, " from when the part is there");
    }
    add_row(table, VOICE_HEAD, "programme", &text);
}

/* ---- the review ---- */

static void say_vapour(const struct cli *cli, struct table *table, const cJSON *vapour)
{
    struct text sum = {0}, air = {0}, purge = {0};
    bool known = doc_flag(vapour, "known");
    if (known) {
        say_quantity(cli, &sum, QUANTITY_VOLUME, doc_number(vapour, "retained_ml"));
        text_add(&sum, " of solvent still in the film (%g %% of ", doc_number(vapour, "retained_pct"));
        say_quantity(cli, &sum, QUANTITY_VOLUME, doc_number(vapour, "solvent_ml"));
        text_add(&sum, "): %g %% of the LEL in the oven's still air, hot", doc_number(vapour, "lel_pct_still_air"));
        say_quantity(cli, &air, QUANTITY_AIRFLOW, doc_number(vapour, "needs_m3h"));
        text_add(&air, " wanted, ");
        say_quantity(cli, &air, QUANTITY_AIRFLOW, doc_number(vapour, "has_m3h"));
        text_add(&air, " counted%s: a quarter of the LEL %s", doc_flag(vapour, "airflow_measured") ? "" : " (not measured counts half)", doc_text(vapour, "quarter_of_lel"));
    } else {
        text_add(&sum, "not known");
        text_add(&air, "not known: not shown that it is enough");
    }
    if (isfinite(doc_number(vapour, "purge_min"))) {
        say_quantity(cli, &purge, QUANTITY_DURATION, doc_number(vapour, "purge_min") * 60.0);
        text_add(&purge, " of exhaust before any heat, at least");
    } else {
        text_add(&purge, "not known: tell the oven's volume and what its exhaust moves");
    }
    add_row(table, VOICE_HEAD, "vapour", &sum);
    add_row(table, VOICE_HEAD, "exhaust", &air);
    add_row(table, VOICE_HEAD, "purge", &purge);
}

static void say_part_ahead(const struct cli *cli, struct table *table, const cJSON *part)
{
    struct text text = {0};
    const cJSON *lag = doc_get(part, "lag_min");
    if (!isfinite(doc_number(lag, "slow")) || doc_number(lag, "slow") <= 0.0)
        return;
    text_add(&text, "follows the oven with a lag of ");
    say_quantity(cli, &text, QUANTITY_DURATION, doc_number(lag, "quick") * 60.0);
    text_add(&text, " to ");
    say_quantity(cli, &text, QUANTITY_DURATION, doc_number(lag, "slow") * 60.0);
    add_row(table, VOICE_PLAIN, names_of(cli, "pieces", doc_id(part, "piece"), "part"), &text);
}

static const char *answer_mark(const cJSON *question)
{
    const char *answer = doc_text(question, "answer");
    if (strcmp(answer, "unanswered") == 0 || answer[0] == '\0')
        return "?";
    return answer;
}

static void say_questions(struct cli *cli, const cJSON *review)
{
    struct table *table = table_new(3, 2, 0);
    const cJSON *question = NULL;
    cJSON_ArrayForEach(question, doc_get(review, "questions")) {
        bool good = strcmp(answer_mark(question), doc_text(question, "must")) == 0;
        table_row(table, good ? VOICE_PLAIN : VOICE_HEAD,
                  (const char *[]){answer_mark(question), doc_text(question, "about"), doc_text(question, "question")});
    }
    render_text(&cli->out, 0, 4, "Answer each with the piece and the oven in front of you (coat bake check N --yes ABOUT,ABOUT --no ABOUT):");
    table_print(&cli->out, table);
}

static void say_things(struct cli *cli, const cJSON *review)
{
    struct text text = {0};
    const cJSON *thing = NULL;
    cJSON_ArrayForEach(thing, doc_get(review, "things")) {
        struct text from = {0};
        say_quantity(cli, &from, QUANTITY_TEMPERATURE, doc_number(thing, "temp_c"));
        text_add(&text, "%s%s %s (%s)", text.length > 0 ? "; " : "", doc_is(thing, "answer", "yes") ? "ON IT:" : "", doc_text(thing, "about"), from.data);
    }
    render_text(&cli->out, 0, 4, "Heat ruins these from the temperature beside them; what is on the piece is told with --has, and comes off first:");
    render_text(&cli->out, 2, 4, text.data);
}

static void say_refusals(struct cli *cli, const cJSON *bake)
{
    const cJSON *refusal = NULL, *refusals = doc_get(bake, "review.refusals");
    struct text head = {0};
    if (!doc_is(bake, "state", "review"))
        return;
    if (doc_count(bake, "review.refusals") == 0) {
        text_add(&head, "Nothing that was asked speaks against it. That is no word that it is safe. Begin it with: coat bake start %lld", (long long)doc_id(bake, "id"));
        render_text(&cli->out, 0, 4, head.data);
        return;
    }
    text_add(&head, "It does not begin while these stand (%d):", doc_count(bake, "review.refusals"));
    render_text(&cli->out, 0, 4, head.data);
    cJSON_ArrayForEach(refusal, refusals) {
        struct text line = {0};
        text_add(&line, "%s %s", doc_flag(refusal, "safety") ? "SAFETY" : "FINISH", doc_text(refusal, "text"));
        render_text(&cli->out, 2, 4, line.data);
    }
}

/* ---- a running one ---- */

static void say_oven(const struct cli *cli, struct table *table, const cJSON *bake)
{
    struct text text = {0};
    if (isfinite(doc_number(bake, "oven.temp_c")))
        say_quantity(cli, &text, QUANTITY_TEMPERATURE, doc_number(bake, "oven.temp_c"));
    if (doc_is(bake, "oven.reading", "not-read"))
        text_add(&text, "%s", text.length > 0 ? ", as it was told: nobody reads it" : "not known");
    else if (doc_moment(bake, "oven.read_at") != MOMENT_NONE) {
        text_add(&text, ", read ");
        say_moment(cli, &text, doc_moment(bake, "oven.read_at"));
        text_add(&text, "%s", doc_is(bake, "oven.reading", "by-hand") ? " by hand" : "");
    }
    if (doc_number(bake, "unknown_min") > 0.0) {
        text_add(&text, "; not known for ");
        say_quantity(cli, &text, QUANTITY_DURATION, doc_number(bake, "unknown_min") * 60.0);
    }
    add_row(table, VOICE_HEAD, "oven", &text);
}

static void say_time(const struct cli *cli, struct table *table, enum bake_line line, const cJSON *bake, const char *key, bool usual)
{
    struct text text = {0};
    struct phrase phrase = say_begin(cli);
    if (doc_moment(bake, key) == MOMENT_NONE)
        return;
    phrase_bake_line(&phrase, line, doc_moment(bake, key), usual);
    say_phrase(&text, &phrase);
    add_row(table, VOICE_HEAD, bake_line_name(line), &text);
}

void bake_add_time(const struct cli *cli, struct text *text, enum bake_line line, const cJSON *bake, const char *key, bool usual)
{
    struct phrase phrase = say_begin(cli);
    if (doc_moment(bake, key) == MOMENT_NONE)
        return;
    phrase_bake_line(&phrase, line, doc_moment(bake, key), usual);
    text_add(text, "; %s ", bake_line_name(line));
    say_phrase(text, &phrase);
}

static void say_part(const struct cli *cli, struct table *table, const cJSON *part)
{
    struct text text = {0};
    struct phrase phrase = say_begin(cli);
    double slow_c = doc_number(part, "temp_c.slow"), quick_c = doc_number(part, "temp_c.quick");
    struct bake_part_told told = {
        .low_c = fmin(slow_c, quick_c), .high_c = fmax(slow_c, quick_c), .probed = doc_flag(part, "probed"), .progress = doc_number(part, "progress"),
        .done_likely_at = doc_moment(part, "done_likely_at"), .done_latest_at = doc_moment(part, "done_latest_at"), .excess = BAKE_EXCESS_NONE,
    };
    (void)bake_excess_from_word(doc_text(part, "excess"), &told.excess);
    phrase_bake_part(&phrase, &told);
    say_phrase(&text, &phrase);
    add_row(table, VOICE_HEAD, names_of(cli, "pieces", doc_id(part, "piece"), "part"), &text);
}

static void say_running(struct cli *cli, struct table *table, const cJSON *bake)
{
    const cJSON *part = NULL;
    bool ended = doc_moment(bake, "ended_at") != MOMENT_NONE;
    say_oven(cli, table, bake);
    cJSON_ArrayForEach(part, doc_get(bake, "parts"))
        say_part(cli, table, part);
    say_time(cli, table, BAKE_LINE_BEGUN, bake, "started_at", doc_flag(bake, "reviewed"));
    say_time(cli, table, BAKE_LINE_ENDED, bake, "ended_at", doc_flag(bake, "baked"));
    if (!ended) {
        say_time(cli, table, BAKE_LINE_HEAT_OFF, bake, "turn_down_at", true);
        say_time(cli, table, BAKE_LINE_TOO_LONG, bake, "too_long_at", true);
        say_time(cli, table, BAKE_LINE_TOO_HOT, bake, "too_hot_at", true);
    }
    say_time(cli, table, BAKE_LINE_TOUCH, bake, "cool_at", ended);
    say_time(cli, table, BAKE_LINE_INTERRUPTED, bake, "interrupted_since_at", true);
    say_time(cli, table, BAKE_LINE_UNREAD, bake, "unread_since_at", true);
}

/* From where on a part has had too much, and what that rests on. */
static void say_limits(const struct cli *cli, struct table *table, const cJSON *part)
{
    struct text hot = {0}, length = {0};
    const char *piece = names_of(cli, "pieces", doc_id(part, "piece"), "part");
    const cJSON *row = doc_get(part, "too_long_row");
    text_add(&hot, "%s from ", piece);
    say_quantity(cli, &hot, QUANTITY_TEMPERATURE, doc_number(part, "too_hot_c"));
    text_add(&hot, " of the metal; %s", doc_text(part, "too_hot_source"));
    text_add(&length, "%s from ", piece);
    if (cJSON_IsObject(row))
        say_cure_row(cli, &length, row);
    else
        text_add(&length, "%g times what its rows ask", doc_number(part, "too_long"));
    text_add(&length, "; %s", doc_text(part, "too_long_source"));
    add_row(table, VOICE_PLAIN, "too hot", &hot);
    add_row(table, VOICE_PLAIN, "too long", &length);
}

/* ---- together ---- */

void bake_say_whole(struct cli *cli, cJSON *bake)
{
    struct text head = {0};
    struct table *table = table_new(2, 2, 0);
    const cJSON *part = NULL;
    bool review = doc_is(bake, "state", "review");
    say_load(cli, &head, bake);
    render_text(&cli->out, 0, 4, head.data);
    say_cautions_beside(cli, bake, 0);
    if (doc_get(bake, "review") != NULL && review)
        say_vapour(cli, table, doc_get(bake, "review.vapour"));
    say_programme(cli, table, bake);
    if (review)
        cJSON_ArrayForEach(part, doc_get(bake, "parts"))
            say_part_ahead(cli, table, part);
    else
        say_running(cli, table, bake);
    if (doc_moment(bake, "ended_at") == MOMENT_NONE)
        cJSON_ArrayForEach(part, doc_get(bake, "parts"))
            say_limits(cli, table, part);
    if (doc_text(bake, "note")[0] != '\0')
        table_row(table, VOICE_PLAIN, (const char *[]){"note", doc_text(bake, "note")});
    table_print(&cli->out, table);
    if (review) {
        say_questions(cli, doc_get(bake, "review"));
        say_things(cli, doc_get(bake, "review"));
        say_refusals(cli, bake);
    }
    render_text(&cli->out, 0, 0, doc_text(bake, "no_design"));
}

void bake_say_list(struct cli *cli, cJSON *document)
{
    const cJSON *bake = NULL;
    cJSON_ArrayForEach(bake, doc_get(document, "items")) {
        struct text head = {0};
        say_load(cli, &head, bake);
        render_text(&cli->out, 0, 4, head.data);
    }
    if (doc_count(document, "items") == 0)
        render_text(&cli->out, 0, 0, "No bake is under review or in an oven. coat bake check PIECE OVEN begins one; coat bake show --all lists those that are over.");
    else
        say_cautions(cli, document, doc_get(doc_get(document, "items")->child, "cautions"), 0);
}
