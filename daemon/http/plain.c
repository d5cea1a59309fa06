#include "daemon/http/plain.h"

#include "daemon/http/html.h"
#include "daemon/http/http.h"

#include <inttypes.h>
#include <string.h>

/* ---- what its parts share ---- */

static int64_t local_of(const void *context, int64_t at_ms)
{
    const struct plain *plain = context;
    return at_ms + doc_zone_offset_ms(plain->zone, at_ms);
}

void plain_say(struct plain *plain, const char *open, const struct phrase *phrase)
{
    html_element(plain->doc->out, open, phrase->data);
}

void plain_acts(struct plain *plain, const struct caution_set *cautions)
{
    struct phrase acts = phrase_begin(&plain->blank);
    for (unsigned i = 0; i < cautions->count; i++)
        phrase_join(&acts, " ", "%s.", caution_text(cautions->code[i])->act);
    plain_say(plain, "p class=\"acts\"", &acts);
    cautions_merge(&plain->doc->used, cautions);
}

const char *plain_piece_name(const struct plain *plain, int64_t piece_id)
{
    const struct piece *piece = shop_piece(plain->doc->shop, piece_id);
    return piece != NULL ? piece->name : "?";
}

/* ---- the top ---- */

/* Asked for again each minute, unless the reader wants it still. */
static void put_as_of(struct plain *plain, bool still)
{
    struct json_out *out = plain->doc->out;
    char full[MOMENT_TEXT_SIZE], stamp[MOMENT_TEXT_SIZE];
    moment_print_full(local_of(plain, plain->doc->now_ms), full);
    json_out_print(out, "<p>As of <time datetime=\"%s\">%s</time> (", moment_print(plain->doc->now_ms, stamp), full);
    html_text(out, plain->zone);
    json_out_text(out, still ? "). <span class=\"renewed\">This page stands still: <a href=\"plain\">renew it each minute</a>.</span></p>\n"
                             : "). <span class=\"renewed\">It is renewed each minute: <a href=\"plain?still=1\">keep it still</a>.</span></p>\n");
}

/* That nothing is said of a moment must not look as if nothing were due. */
static void put_unrecorded(struct plain *plain, const struct http_context *context)
{
    char since[MOMENT_TEXT_SIZE];
    if (context->unrecorded == COAT_OK)
        return;
    moment_print_full(local_of(plain, context->unrecorded_since_ms), since);
    json_out_print(plain->doc->out, "<p><strong>What falls due is not told.</strong> It cannot be written down since %s: %s. "
                                    "Look at the times below yourself, and see to it.</p>\n", since, coat_result_text(context->unrecorded));
}

#define ACTS_LARGE 4

/* What asks for a hand first stands in lines of its own. */
static void put_top_cautions(struct plain *plain)
{
    struct caution_set standing = {0}, rest = {0};
    struct json_out *out = plain->doc->out;
    shop_cautions(plain->doc->shop, plain->doc->now_ms, &standing);
    json_out_text(out, "<section class=\"plate\" aria-labelledby=\"first\">\n<h2 id=\"first\">First of all</h2>\n<ul>\n");
    for (unsigned i = 0; i < standing.count; i++) {
        if (i < ACTS_LARGE)
            html_element(out, "li", caution_text(standing.code[i])->act);
        else
            rest.code[rest.count++] = standing.code[i];
    }
    json_out_text(out, "</ul>\n");
    plain_acts(plain, &rest);
    cautions_merge(&plain->doc->used, &standing);
    json_out_text(out, "</section>\n");
}

static void put_contents(struct json_out *out)
{
    json_out_text(out, "<nav aria-label=\"On this page\">\n<a href=\"#not-yet\">Not yet</a> <a href=\"#bakes\">Bakes</a> <a href=\"#pieces\">Pieces</a> "
                       "<a href=\"#notices\">Notices</a> <a href=\"#air\">Air</a> <a href=\"#cautions\">Cautions in full</a>\n</nav>\n");
}

static void put_places(struct plain *plain)
{
    size_t count = 0;
    const struct place *places = shop_places(plain->doc->shop, &count);
    json_out_text(plain->doc->out, "<h2 id=\"air\">Air</h2>\n<ul>\n");
    for (size_t i = 0; i < count; i++) {
        struct phrase phrase = phrase_begin(&plain->blank);
        struct air_view air = shop_air(plain->doc->shop, places[i].id, plain->doc->now_ms);
        if (places[i].removed_at != MOMENT_NONE)
            continue;
        phrase_add(&phrase, "%s: ", places[i].name);
        if (air.known)
            phrase_air(&phrase, &air);
        else
            phrase_add(&phrase, "air not known");
        plain_say(plain, "li", &phrase);
    }
    json_out_text(plain->doc->out, "</ul>\n");
}

/* ---- what must not be touched ---- */

static void put_hands_off(struct plain *plain, const struct list_row *row)
{
    struct phrase phrase = phrase_begin(&plain->blank);
    struct coat_view view;
    const char *condition = shop_coat_view(plain->doc->shop, row->coat_id, plain->doc->now_ms, &view) ? coat_condition_word(view.condition) : "wet";
    phrase_add(&phrase, "%s: %s, ", plain_piece_name(plain, row->piece_id), condition);
    phrase_hands_off(&phrase, row->stage, &row->until);
    phrase_reserve(&phrase, &(struct stage_view){.stall = row->stall, .assumed = row->assumed, .disputed = row->disputed});
    plain_say(plain, "li", &phrase);
}

static void put_not_yet(struct plain *plain)
{
    size_t count = 0, told = 0;
    const struct list_row *rows = shop_lists(plain->doc->shop, plain->doc->now_ms, &count);
    json_out_text(plain->doc->out, "<h2 id=\"not-yet\">Not yet</h2>\n<ul class=\"off\">\n");
    for (size_t i = 0; i < count; i++) {
        if (rows[i].list != LIST_NOT_YET)
            continue;
        put_hands_off(plain, &rows[i]);
        told++;
    }
    if (told == 0)
        html_element(plain->doc->out, "li", "No coat asks for hands off now; what is hot stands under Bakes.");
    json_out_text(plain->doc->out, "</ul>\n");
}

/* ---- notices ---- */

static void put_notice(struct plain *plain, const struct notice_view *view)
{
    struct phrase phrase = phrase_begin(&plain->blank);
    struct json_out *out = plain->doc->out;
    json_out_text(out, view->safety ? "<li class=\"safety\">" : "<li>");
    html_text(out, view->text);
    phrase_moment(&phrase, view->head->raised_at);
    phrase_add(&phrase, "; noted with: coat ack %" PRId64, view->head->id);
    json_out_text(out, " ");
    plain_say(plain, "small", &phrase);
    json_out_text(out, "</li>\n");
    cautions_merge(&plain->doc->used, &view->cautions);
}

/* The newest first. */
static void put_notices(struct plain *plain)
{
    size_t count = 0;
    unsigned told = 0;
    const struct notice *notices = shop_notices(plain->doc->shop, &count);
    json_out_text(plain->doc->out, "<h2 id=\"notices\">Notices</h2>\n<ul class=\"notices\">\n");
    for (size_t i = count; i > 0 && told < DOC_NOTICES_SHOWN; i--) {
        struct notice_view view;
        const struct notice *notice = &notices[i - 1];
        if (!shop_notice_is_pending(plain->doc->shop, notice) || !shop_notice_view(plain->doc->shop, notice->id, plain->doc->now_ms, &view))
            continue;
        put_notice(plain, &view);
        told++;
    }
    if (told == 0)
        html_element(plain->doc->out, "li", "None is open.");
    json_out_text(plain->doc->out, "</ul>\n");
}

/* ---- the whole ---- */

static void put_pieces(struct plain *plain)
{
    size_t count = 0, told = 0;
    const struct piece *pieces = shop_pieces(plain->doc->shop, &count);
    json_out_text(plain->doc->out, "<h2 id=\"pieces\">Pieces</h2>\n");
    for (size_t i = 0; i < count; i++) {
        if (pieces[i].removed_at != MOMENT_NONE)
            continue;
        plain_piece(plain, &pieces[i]);
        told++;
    }
    if (told == 0)
        html_element(plain->doc->out, "p", "No piece is in the shop.");
}

static void put_all(struct plain *plain, const struct http_context *context, bool still)
{
    struct json_out *out = plain->doc->out;
    html_begin(out, "plain.css", "Coatwright: the shop", "The shop");
    put_as_of(plain, still);
    put_unrecorded(plain, context);
    put_top_cautions(plain);
    put_contents(out);
    put_not_yet(plain);
    plain_bakes(plain);
    put_pieces(plain);
    put_notices(plain);
    put_places(plain);
    json_out_text(out, "<section aria-labelledby=\"cautions\">\n<h2 id=\"cautions\">Cautions in full</h2>\n");
    html_cautions(out, &plain->doc->used);
    json_out_text(out, "</section>\n");
    html_end(out);
}

void plain_write(struct doc *doc, const struct http_context *context, bool still)
{
    const struct shop_settings *settings = shop_settings_now(doc->shop);
    struct plain plain = {.doc = doc, .zone = settings->zone};
    plain.blank = (struct phrase){.local_ms = local_of, .context = &plain, .now_ms = doc->now_ms, .units = settings->units};
    doc->failed = coat_list_make(doc, COAT_LIST_IN_USE, &plain.coats);
    put_all(&plain, context, still);
    coat_list_free(&plain.coats);
}
