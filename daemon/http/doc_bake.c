/* Bakes: how far they are, and the review before one. */
#include "daemon/http/doc.h"

#include <math.h>

static void put_range(struct json_out *out, const char *key, const struct bake_range *range)
{
    json_put_object(out, key);
    json_put_number(out, "quick", range->quick, 1);
    json_put_number(out, "likely", range->likely, 1);
    json_put_number(out, "slow", range->slow, 1);
    json_out_object_end(out);
}

/* Shares are told to the cautious side: done down, too much up. */
static double down(double share)
{
    return floor(share * 1000.0) / 1000.0;
}

static void put_body(struct json_out *out, const struct bake_part *part)
{
    json_put_string(out, "metal", metal_word(part->metal));
    json_put_number(out, "mass_kg", part->mass_kg, JSON_SHORTEST);
    json_put_number(out, "area_m2", part->area_m2, JSON_SHORTEST);
    json_put_number(out, "wall_mm", part->wall_mm, JSON_SHORTEST);
    json_put_id(out, "probe", part->probe_id);
}

/* As the label has it; else it is a number of bakes. */
static void put_too_long(struct json_out *out, const struct bake_part_view *part)
{
    if (part->material)
        doc_too_long(out, "too_long_row", &part->material->material);
    else
        json_put_null(out, "too_long_row");
}

static void put_part(struct doc *doc, const struct bake_part_view *part)
{
    struct json_out *out = doc->out;
    json_out_object(out);
    json_put_int(out, "coat", part->part->coat_id);
    json_put_id(out, "piece", part->coat ? part->coat->piece_id : 0);
    json_put_string(out, "material", part->material ? part->material->material.name : NULL);
    put_body(out, part->part);
    json_put_bool(out, "probed", part->probed);
    put_range(out, "lag_min", &part->lag_min);
    put_range(out, "temp_c", &part->part_c);
    json_put_number(out, "hottest_c", part->hottest_c, 1);
    json_put_number(out, "progress", down(part->done), 3);
    json_put_number(out, "progress_most", ceil(part->worn * 1000.0) / 1000.0, 3);
    json_put_number(out, "too_long", part->law.too_long, 2);
    put_too_long(out, part);
    json_put_string(out, "too_long_source", bake_law_long_source(&part->law));
    json_put_number(out, "too_hot_c", part->law.too_hot_c, 1);
    json_put_string(out, "too_hot_source", bake_law_hot_source(&part->law));
    json_put_string(out, "excess", bake_excess_word(part->excess));
    json_put_moment(out, "done_earliest_at", part->done_earliest_at);
    json_put_moment(out, "done_likely_at", part->done_likely_at);
    json_put_moment(out, "done_latest_at", part->done_latest_at);
    json_put_moment(out, "too_long_at", part->too_long_at);
    json_put_moment(out, "too_hot_at", part->too_hot_at);
    json_put_moment(out, "cool_likely_at", part->cool_likely_at);
    json_put_moment(out, "cool_latest_at", part->cool_latest_at);
    json_out_object_end(out);
}

static void put_steps(struct json_out *out, const struct bake_view *view)
{
    json_put_array(out, "steps");
    for (unsigned i = 0; i < view->steps; i++) {
        bool reckoned = i < view->programme.steps;
        json_out_object(out);
        json_put_number(out, "target_c", view->step[i].target_c, JSON_SHORTEST);
        json_put_number(out, "ramp_min", view->step[i].ramp_min, 1);
        json_put_number(out, "hold_min", view->step[i].hold_min, 1);
        json_put_number(out, "part_there_min", reckoned ? view->programme.there_min[i].slow : (double)NAN, 1);
        json_put_number(out, "ends_min", reckoned ? view->programme.ends_min[i] : (double)NAN, 1);
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

static void put_oven(struct json_out *out, const struct bake_view *view)
{
    static const char *const words[] = {[OVEN_UNREAD] = "not-read", [OVEN_BY_HAND] = "by-hand", [OVEN_READ] = "read"};
    json_put_object(out, "oven");
    json_put_string(out, "reading", words[view->reading]);
    json_put_number(out, "temp_c", view->oven_c, 1);
    json_put_moment(out, "read_at", view->oven_at);
    json_out_object_end(out);
    json_put_number(out, "known_min", view->known_min, 1);
    json_put_number(out, "assumed_min", view->assumed_min, 1);
    json_put_number(out, "unknown_min", view->unknown_min, 1);
    json_put_moment(out, "unread_since_at", view->unread_since_at);
    json_put_moment(out, "interrupted_since_at", view->gap ? view->gap->from_at : MOMENT_NONE);
}

static void put_moments(struct json_out *out, const struct bake_view *view)
{
    json_put_moment(out, "begun_at", view->begun_at);
    json_put_moment(out, "done_likely_at", view->done_likely_at);
    json_put_moment(out, "turn_down_at", view->turn_down_at);
    json_put_moment(out, "too_long_at", view->too_long_at);
    json_put_moment(out, "too_hot_at", view->too_hot_at);
    json_put_moment(out, "cool_at", view->cool_latest_at);
    json_put_bool(out, "baked", view->baked);
}

/* ---- the review ---- */

static void put_questions(struct json_out *out, const struct bake_view *view)
{
    json_put_array(out, "questions");
    for (unsigned i = 0; i < BAKE_ITEM_COUNT; i++) {
        const struct bake_question *question = bake_question((enum bake_item)i);
        json_out_object(out);
        json_put_string(out, "about", bake_item_word((enum bake_item)i));
        json_put_string(out, "question", question->question);
        json_put_string(out, "must", answer_word(question->must));
        json_put_bool(out, "safety", question->safety);
        json_put_string(out, "answer", answer_word(view->item[i].answer));
        json_put_moment(out, "answered_at", view->item[i].at);
        json_put_string(out, "why", question->refusal);
        json_put_string(out, "source", question->source);
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

static void put_things(struct json_out *out, const struct bake_view *view)
{
    json_put_array(out, "things");
    for (unsigned i = 0; i < BAKE_RUIN_COUNT; i++) {
        const struct bake_harm *harm = bake_harm((enum bake_ruin)i);
        json_out_object(out);
        json_put_string(out, "about", bake_ruin_word((enum bake_ruin)i));
        json_put_string(out, "thing", harm->thing);
        json_put_number(out, "temp_c", harm->temp_c, JSON_SHORTEST);
        json_put_string(out, "what", harm->what);
        json_put_bool(out, "safety", harm->safety);
        json_put_string(out, "answer", answer_word(view->thing[i].answer));
        json_put_moment(out, "answered_at", view->thing[i].at);
        json_put_string(out, "source", harm->source);
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

/* Percentages and air to the cautious side. */
static void put_vapour(struct json_out *out, const struct bake_vapour *vapour)
{
    json_put_object(out, "vapour");
    json_put_bool(out, "known", vapour->known);
    json_put_int(out, "without_amount", vapour->uncounted);
    json_put_number(out, "solvent_ml", vapour->solvent_ml, 1);
    json_put_number(out, "retained_pct", vapour->retained_pct, JSON_SHORTEST);
    json_put_string(out, "retained_source", vapour->retained_source);
    json_put_number(out, "retained_ml", vapour->retained_ml, 1);
    json_put_number(out, "lel_pct_still_air", ceil(vapour->still_air_pct), 0);
    json_put_number(out, "needs_m3h", ceil(vapour->needs_m3h * 10.0) / 10.0, 1);
    json_put_number(out, "has_m3h", floor(vapour->has_m3h * 10.0) / 10.0, 1);
    json_put_bool(out, "airflow_measured", vapour->has_measured);
    json_put_number(out, "purge_min", ceil(vapour->purge_min * 10.0) / 10.0, 1);
    json_put_string(out, "quarter_of_lel", vapour_finding_word(!vapour->known ? VAPOUR_UNKNOWN : vapour->enough ? VAPOUR_NOT_SHOWN : VAPOUR_EXCEEDS));
    json_out_object_end(out);
}

static void put_refusals(struct json_out *out, const struct bake_view *view)
{
    json_put_array(out, "refusals");
    for (unsigned i = 0; i < view->refusals; i++) {
        json_out_object(out);
        json_put_string(out, "kind", bake_refusal_kind_word(view->refusal[i].kind));
        json_put_bool(out, "safety", view->refusal[i].safety);
        json_put_number(out, "limit_c", view->refusal[i].limit_c, JSON_SHORTEST);
        json_put_string(out, "text", view->refusal[i].text);
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

static void put_review(struct json_out *out, const struct bake_view *view)
{
    if (!view->bake->reviewed) {
        json_put_null(out, "review");
        return;
    }
    json_put_object(out, "review");
    json_put_bool(out, "may_start", view->state == BAKE_REVIEW && view->refusals == 0);
    put_refusals(out, view);
    put_vapour(out, &view->vapour);
    put_questions(out, view);
    put_things(out, view);
    json_out_object_end(out);
}

void doc_bake(struct doc *doc, const struct bake_view *view)
{
    struct json_out *out = doc->out;
    const struct bake *bake = view->bake;
    json_put_int(out, "id", bake->id);
    json_put_int(out, "place", bake->place_id);
    json_put_string(out, "state", bake_state_word(view->state));
    json_put_string(out, "oven_air", oven_air_word(bake->oven_air));
    json_put_bool(out, "reviewed", bake->reviewed);
    json_put_string(out, "note", bake->note);
    json_put_moment(out, "entered_at", bake->entered_at);
    json_put_moment(out, "started_at", bake->started_at);
    json_put_moment(out, "ended_at", bake->ended_at);
    json_put_number(out, "peak_c", view->peak_c, JSON_SHORTEST);
    json_put_number(out, "room_c", view->room_c, 1);
    json_put_bool(out, "room_known", view->room_known);
    put_moments(out, view);
    put_oven(out, view);
    put_steps(out, view);
    json_put_array(out, "parts");
    for (unsigned i = 0; i < view->parts; i++)
        put_part(doc, &view->part[i]);
    json_out_array_end(out);
    put_review(out, view);
    json_put_string(out, "no_design", shop_bake_deferral);
    doc_caution_codes(doc, "cautions", &view->cautions);
}

void doc_bake_of_coat(struct doc *doc, const struct coat_bake *bake)
{
    struct json_out *out = doc->out;
    if (bake->bake == NULL) {
        json_put_null(out, "bake");
        return;
    }
    json_put_object(out, "bake");
    json_put_int(out, "id", bake->bake->id);
    json_put_string(out, "state", bake_state_word(bake->state));
    json_put_bool(out, "baked", bake->baked);
    json_put_bool(out, "reviewed", bake->bake->reviewed);
    json_put_moment(out, "started_at", bake->bake->started_at);
    json_put_moment(out, "ended_at", bake->bake->ended_at);
    json_put_number(out, "peak_c", bake->peak_c, JSON_SHORTEST);
    json_put_moment(out, "turn_down_at", bake->turn_down_at);
    json_put_moment(out, "cool_at", bake->cool_at);
    json_out_object_end(out);
}
