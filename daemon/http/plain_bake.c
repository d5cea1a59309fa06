#include "daemon/http/plain.h"

#include "daemon/http/html.h"

#include <inttypes.h>
#include <math.h>

static void put_line(struct plain *plain, enum bake_line line, int64_t at_ms, bool usual)
{
    struct phrase phrase = phrase_begin(&plain->blank);
    if (at_ms == MOMENT_NONE)
        return;
    phrase_add(&phrase, "%s: ", bake_line_name(line));
    phrase_bake_line(&phrase, line, at_ms, usual);
    plain_say(plain, "li", &phrase);
}

static void put_part(struct plain *plain, const struct bake_part_view *part)
{
    struct phrase phrase = phrase_begin(&plain->blank);
    struct bake_part_told told = {
        .low_c = fmin(part->part_c.slow, part->part_c.quick), .high_c = fmax(part->part_c.slow, part->part_c.quick), .probed = part->probed,
        .progress = part->done, .done_likely_at = part->done_likely_at, .done_latest_at = part->done_latest_at, .excess = part->excess,
    };
    phrase_add(&phrase, "%s: ", part->coat != NULL ? plain_piece_name(plain, part->coat->piece_id) : "?");
    phrase_bake_part(&phrase, &told);
    plain_say(plain, "li", &phrase);
}

static void put_running(struct plain *plain, const struct bake_view *view)
{
    bool ended = view->bake->ended_at != MOMENT_NONE;
    json_out_text(plain->doc->out, "<ul>\n");
    for (unsigned i = 0; i < view->parts; i++)
        put_part(plain, &view->part[i]);
    put_line(plain, BAKE_LINE_BEGUN, view->bake->started_at, view->bake->reviewed);
    put_line(plain, BAKE_LINE_ENDED, view->bake->ended_at, view->baked);
    if (!ended) {
        put_line(plain, BAKE_LINE_HEAT_OFF, view->turn_down_at, true);
        put_line(plain, BAKE_LINE_TOO_LONG, view->too_long_at, true);
        put_line(plain, BAKE_LINE_TOO_HOT, view->too_hot_at, true);
    }
    put_line(plain, BAKE_LINE_TOUCH, view->cool_latest_at, ended);
    put_line(plain, BAKE_LINE_INTERRUPTED, view->gap != NULL ? view->gap->from_at : MOMENT_NONE, true);
    put_line(plain, BAKE_LINE_UNREAD, view->unread_since_at, true);
    json_out_text(plain->doc->out, "</ul>\n");
}

static void put_bake(struct plain *plain, const struct bake_view *view)
{
    struct phrase phrase = phrase_begin(&plain->blank);
    phrase_add(&phrase, "Bake %" PRId64, view->bake->id);
    for (unsigned i = 0; i < view->parts; i++) {
        const struct bake_part_view *part = &view->part[i];
        phrase_add(&phrase, ", %s (coat %" PRId64 ", %s)", part->coat != NULL ? plain_piece_name(plain, part->coat->piece_id) : "?", part->part->coat_id,
                   part->material != NULL ? part->material->material.name : "?");
    }
    phrase_add(&phrase, ", in %s: %s", view->place != NULL ? view->place->name : "the oven", bake_state_phrase(view->state));
    plain_say(plain, "h3", &phrase);
    if (view->state != BAKE_REVIEW)
        put_running(plain, view);
    plain_acts(plain, &view->cautions);
}

static bool is_told(enum bake_state state)
{
    return state != BAKE_COLD && state != BAKE_GIVEN_UP;
}

void plain_bakes(struct plain *plain)
{
    size_t count = 0, told = 0;
    const struct bake *bakes = shop_bakes(plain->doc->shop, &count);
    json_out_text(plain->doc->out, "<h2 id=\"bakes\">Bakes</h2>\n");
    for (size_t i = 0; i < count; i++) {
        struct bake_view view;
        if (!shop_bake_view(plain->doc->shop, bakes[i].id, plain->doc->now_ms, &view) || !is_told(view.state))
            continue;
        put_bake(plain, &view);
        told++;
    }
    html_element(plain->doc->out, "p", told > 0 ? shop_bake_deferral : "No bake is under review or in an oven.");
}
