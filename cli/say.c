#include "cli/say.h"

#include <math.h>
#include <string.h>

/* ---- the shop's own phrases ---- */

static int64_t local_of(const void *context, int64_t at_ms)
{
    (void)context;
    return when_local_of(at_ms);
}

struct phrase say_begin(const struct cli *cli)
{
    return (struct phrase){.local_ms = local_of, .now_ms = cli->now_ms, .units = cli->units};
}

void say_phrase(struct text *text, const struct phrase *phrase)
{
    text_add(text, "%s", phrase->data);
}

void say_quantity(const struct cli *cli, struct text *text, enum quantity kind, double value)
{
    struct phrase phrase = say_begin(cli);
    phrase_quantity(&phrase, kind, value);
    say_phrase(text, &phrase);
}

void say_cure_row(const struct cli *cli, struct text *text, const cJSON *row)
{
    say_quantity(cli, text, QUANTITY_DURATION, doc_number(row, "hours") * S_PER_H);
    text_add(text, " at ");
    say_quantity(cli, text, QUANTITY_TEMPERATURE, doc_number(row, "temp_c"));
}

void say_moment(const struct cli *cli, struct text *text, int64_t at_ms)
{
    char printed[WHEN_TEXT_SIZE];
    text_add(text, "%s", when_print(at_ms, cli->now_ms, printed));
}

void say_air(const struct cli *cli, struct text *text, const cJSON *air)
{
    struct phrase phrase = say_begin(cli);
    phrase_temp_rh(&phrase, doc_number(air, "temp_c"), doc_number(air, "rh_pct"), doc_is(air, "basis", "measured") && doc_is(air, "rh_basis", "assumed"));
    say_phrase(text, &phrase);
}

void say_place_air(const struct cli *cli, struct text *text, const cJSON *air)
{
    struct phrase phrase = say_begin(cli);
    struct air_view view = {
        .known = true, .at = doc_moment(air, "at"), .temp_c = doc_number(air, "temp_c"), .rh_pct = doc_number(air, "rh_pct"),
        .dew_point_c = doc_number(air, "dew_point_c"), .basis = doc_is(air, "basis", "assumed") ? AIR_ASSUMED : AIR_MEASURED,
        .rh_basis = doc_is(air, "rh_basis", "assumed") ? AIR_ASSUMED : AIR_MEASURED, .assumed_from_at = doc_moment(air, "assumed_from_at"),
    };
    phrase_air(&phrase, &view);
    say_phrase(text, &phrase);
}

/* ---- moments ---- */

static struct moment_band read_band(const cJSON *band)
{
    return (struct moment_band){
        .passed = doc_flag(band, "passed"), .earliest_at = doc_moment(band, "earliest_at"), .likely_at = doc_moment(band, "likely_at"),
        .latest_at = doc_moment(band, "latest_at"), .label_floor_at = doc_moment(band, "label_floor_at"),
        .label_ceiling_at = doc_moment(band, "label_ceiling_at"),
    };
}

void say_opening_parts(const struct cli *cli, struct text *when, struct text *more, const cJSON *band)
{
    struct phrase first = say_begin(cli), second = say_begin(cli);
    struct moment_band read = read_band(band);
    phrase_opening_parts(&first, &second, &read);
    say_phrase(when, &first);
    say_phrase(more, &second);
}

void say_closing(const struct cli *cli, struct text *text, const cJSON *band)
{
    struct phrase phrase = say_begin(cli);
    struct moment_band read = read_band(band);
    phrase_closing(&phrase, &read);
    say_phrase(text, &phrase);
}

void say_hands_off(const struct cli *cli, struct text *text, const cJSON *row)
{
    struct phrase phrase = say_begin(cli);
    struct moment_band read = read_band(doc_get(row, "until"));
    enum stage stage = STAGE_TOUCH;
    (void)stage_from_word(doc_text(row, "stage"), &stage);
    phrase_hands_off(&phrase, stage, &read);
    say_phrase(text, &phrase);
}

/* ---- stages ---- */

/* A word that this program does not know yet is said as it came. */
const char *do_phrase(const char *stage, const char *word)
{
    enum span_do does;
    enum stage of = STAGE_TOUCH;
    (void)stage_from_word(stage, &of);
    return span_do_from_word(word, &does) ? span_do_phrase(of, does) : word;
}

const char *held_phrase(const char *word)
{
    enum stall stall;
    return stall_from_word(word, &stall) ? stall_phrase(stall) : word;
}

static struct span_view read_span(const cJSON *span)
{
    const cJSON *until = doc_get(span, "until");
    struct span_view view = {.does = SPAN_WAIT, .ends = until != NULL, .until = read_band(until)};
    (void)span_do_from_word(doc_text(span, "do"), &view.does);
    return view;
}

/* A stage of a coat, or a row of a list, which has its flags. */
static struct stage_view read_stage(const cJSON *stage)
{
    const cJSON *spans = doc_get(stage, "spans");
    struct stage_view view = {
        .stage = STAGE_TOUCH, .state = STATE_WAITING, .current = (unsigned)fmax(0.0, fmin(doc_number(stage, "current"), MATERIAL_BOUNDARIES_MAX)),
        .assumed = doc_flag(stage, "assumed") || doc_is(stage, "air.basis", "assumed"), .disputed = doc_flag(stage, "disputed"),
        .no_window = doc_flag(stage, "no_window"), .prepared = doc_flag(stage, "prepared"),
    };
    (void)stage_from_word(doc_text(stage, "stage"), &view.stage);
    (void)state_from_word(doc_text(stage, "state"), &view.state);
    (void)stall_from_word(doc_text(stage, "stalled"), &view.stall);
    for (; view.spans <= MATERIAL_BOUNDARIES_MAX && (int)view.spans < cJSON_GetArraySize(spans); view.spans++)
        view.span[view.spans] = read_span(cJSON_GetArrayItem(spans, (int)view.spans));
    return view;
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

void say_flags(const struct cli *cli, struct text *text, const cJSON *stage)
{
    struct phrase phrase = say_begin(cli);
    struct stage_view view = read_stage(stage);
    phrase_reserve(&phrase, &view);
    say_phrase(text, &phrase);
}

void say_stage(const struct cli *cli, struct text *text, const cJSON *stage)
{
    struct phrase phrase = say_begin(cli);
    struct stage_view view = read_stage(stage);
    phrase_stage(&phrase, &view);
    say_phrase(text, &phrase);
}

/* ---- coats ---- */

void say_piece(const struct cli *cli, struct text *text, int64_t piece_id, const char *area)
{
    text_add(text, "%s", names_of(cli, "pieces", piece_id, "a piece out of use"));
    if (area[0] != '\0')
        text_add(text, ", %s", area);
}

void say_film(const struct cli *cli, struct text *text, const cJSON *coat)
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

void say_laid(const struct cli *cli, struct text *text, const cJSON *coat)
{
    const char *name = doc_text(coat, "material.name"), *application = doc_text(coat, "application");
    say_piece(cli, text, doc_id(coat, "piece"), doc_text(coat, "area"));
    text_add(text, ": %s, ", name);
    if (strstr(name, application) == NULL)
        text_add(text, "%s, ", application);
    say_film(cli, text, coat);
    text_add(text, ", applied ");
    say_moment(cli, text, doc_moment(coat, "last_at"));
}

void say_coat(const struct cli *cli, struct text *text, const cJSON *coat)
{
    say_laid(cli, text, coat);
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
