#include "daemon/http/plain.h"

#include "daemon/http/html.h"

#include <inttypes.h>
#include <math.h>
#include <string.h>

/* ---- stages ---- */

static void put_stage_sentence(struct plain *plain, const struct stage_view *stage, bool with_air)
{
    struct phrase phrase = phrase_begin(&plain->blank), reserve = phrase, hours = phrase;
    bool over = stage->state == STATE_USED || stage->state == STATE_MISSED;
    phrase_stage(&phrase, stage);
    phrase_reserve(&reserve, stage);
    phrase_air_hours(&hours, stage->measured_h, stage->assumed_h);
    if (reserve.length > 0 && !over)
        phrase_join(&phrase, "; ", "%s", reserve.data);
    if (with_air && hours.length > 0)
        phrase_join(&phrase, "; ", "air %s", hours.data);
    html_text(plain->doc->out, phrase.data);
}

/* Never "100 %" before it is there. */
static void put_progress(struct json_out *out, double progress)
{
    if (isfinite(progress) && progress < 1.0)
        json_out_print(out, " %.0f %%", floor(progress * 100.0));
}

static void put_stage(struct plain *plain, const struct stage_view *stage, bool with_air)
{
    struct json_out *out = plain->doc->out;
    const char *state = state_word(stage->state);
    json_out_print(out, "<li class=\"%s\"><b>%s</b> <span class=\"state\">%s", state, stage_word(stage->stage), state);
    put_progress(out, stage->progress);
    json_out_text(out, "</span> <span class=\"when\">");
    put_stage_sentence(plain, stage, with_air);
    json_out_text(out, "</span></li>\n");
}

/* Most stages stand on the same air: then it is told once, after them. */
static bool share_air(const struct coat_view *view)
{
    for (unsigned i = 1; i < view->stages; i++)
        if (fabs(view->stage[i].measured_h - view->stage[0].measured_h) >= 0.05 || fabs(view->stage[i].assumed_h - view->stage[0].assumed_h) >= 0.05)
            return false;
    return view->stages > 0;
}

static void put_stages(struct plain *plain, const struct coat_view *view)
{
    struct phrase hours = phrase_begin(&plain->blank), line = hours;
    bool shared = share_air(view);
    json_out_text(plain->doc->out, "<ul class=\"stages\">\n");
    for (unsigned i = 0; i < view->stages; i++)
        put_stage(plain, &view->stage[i], !shared);
    json_out_text(plain->doc->out, "</ul>\n");
    if (!shared)
        return;
    phrase_air_hours(&hours, view->stage[0].measured_h, view->stage[0].assumed_h);
    phrase_add(&line, "The air behind this: %s.", hours.length > 0 ? hours.data : "none yet");
    plain_say(plain, "p", &line);
}

/* ---- coats ---- */

static void say_film(struct phrase *phrase, const struct coat *coat)
{
    bool dry = isfinite(coat->dry_um), wet = isfinite(coat->wet_um);
    if (!dry && !wet) {
        phrase_add(phrase, "%s", film_word(coat->film));
        return;
    }
    phrase_quantity(phrase, QUANTITY_FILM, dry ? coat->dry_um : coat->wet_um);
    phrase_add(phrase, dry ? " dry" : " wet");
}

/* "Coat 12, front: alkyd enamel, light, applied 14:25 (17.8 C 61 %, measured)" */
static void put_coat_head(struct plain *plain, const struct coat_view *view)
{
    struct phrase phrase = phrase_begin(&plain->blank);
    const struct coat *coat = view->coat;
    phrase_add(&phrase, "Coat %" PRId64 "%s%s: %s, ", coat->id, coat->area[0] != '\0' ? ", " : "", coat->area, view->material->material.name);
    say_film(&phrase, coat);
    phrase_add(&phrase, ", applied ");
    phrase_moment(&phrase, coat->last_at);
    phrase_add(&phrase, " (");
    phrase_temp_rh(&phrase, view->air_temp_c, view->air_rh_pct, false);
    if (isfinite(view->air_temp_c))
        phrase_add(&phrase, ", %s", air_basis_word(view->air_basis));
    phrase_add(&phrase, ")");
    plain_say(plain, "h4", &phrase);
}

/* "wet, held up: too cold; in bake 3, heating up" */
static void put_condition(struct plain *plain, const struct coat_view *view)
{
    struct phrase phrase = phrase_begin(&plain->blank);
    phrase_add(&phrase, "%s", coat_condition_word(view->condition));
    if (view->stall != STALL_NONE)
        phrase_add(&phrase, ", held up: %s", stall_phrase(view->stall));
    if (view->bake.bake != NULL)
        phrase_add(&phrase, "; bake %" PRId64 ": %s", view->bake.bake->id, bake_state_phrase(view->bake.state));
    plain_say(plain, "p class=\"is\"", &phrase);
    if (view->inspect != INSPECT_NOT) {
        struct phrase look = phrase_begin(&plain->blank);
        phrase_add(&look, "Look at it yourself: %s.", inspect_phrase(view->inspect));
        plain_say(plain, "p class=\"look\"", &look);
    }
}

static void put_top_coat(struct plain *plain, const struct coat_view *view)
{
    put_coat_head(plain, view);
    put_condition(plain, view);
    put_stages(plain, view);
    plain_acts(plain, &view->cautions);
}

static void put_covered(struct plain *plain, const struct coat_view *view)
{
    struct phrase phrase = phrase_begin(&plain->blank);
    phrase_add(&phrase, "Under coat %" PRId64 ": coat %" PRId64 ", %s, applied ", view->covered_by, view->coat->id, view->material->material.name);
    phrase_moment(&phrase, view->coat->last_at);
    plain_say(plain, "p", &phrase);
    cautions_merge(&plain->doc->used, &view->cautions);
}

/* Those on top, or those under them; returns how many. */
static unsigned put_coats(struct plain *plain, int64_t piece_id, enum coat_status status)
{
    unsigned told = 0;
    for (size_t i = plain->coats.count; i > 0; i--) {
        struct coat_view view;
        const struct coat_on_piece *one = &plain->coats.coat[i - 1];
        if (one->piece_id != piece_id || !shop_coat_view(plain->doc->shop, one->coat_id, plain->doc->now_ms, &view) || view.status != status)
            continue;
        if (status == COAT_ON)
            put_top_coat(plain, &view);
        else
            put_covered(plain, &view);
        told++;
    }
    return told;
}

/* ---- the piece ---- */

void plain_piece(struct plain *plain, const struct piece *piece)
{
    struct phrase phrase = phrase_begin(&plain->blank);
    struct json_out *out = plain->doc->out;
    const struct place *place = shop_place(plain->doc->shop, shop_piece_place(plain->doc->shop, piece->id, plain->doc->now_ms));
    phrase_add(&phrase, "%s%s%s", piece->name, place != NULL ? ", in " : ", hangs nowhere", place != NULL ? place->name : "");
    json_out_print(out, "<section class=\"piece\" aria-labelledby=\"piece-%" PRId64 "\">\n<h3 id=\"piece-%" PRId64 "\">", piece->id, piece->id);
    html_text(out, phrase.data);
    json_out_text(out, "</h3>\n");
    if (put_coats(plain, piece->id, COAT_ON) == 0)
        html_element(out, "p", "no coats yet");
    put_coats(plain, piece->id, COAT_COVERED);
    json_out_text(out, "</section>\n");
}
