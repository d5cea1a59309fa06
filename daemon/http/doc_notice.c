/* Notices as people get them: those of pieces that were done together in one. */
#include "daemon/http/doc.h"
#include "daemon/http/http.h"

#include "coat/hours.h"

#include <inttypes.h>
#include <string.h>

const struct notice *notice_of_id(const struct shop *shop, int64_t id)
{
    size_t count = 0;
    const struct notice *notices = shop_notices(shop, &count);
    size_t low = 0, high = count; /* they stand by id */
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (notices[middle].id < id)
            low = middle + 1;
        else
            high = middle;
    }
    return low < count && notices[low].id == id ? &notices[low] : NULL;
}

bool notice_is_head(const struct notice *notice)
{
    return notice->group_id == notice->id;
}

/* Where a follower stands once it has it: notices in the order in which they are told. */
#define CURSOR_SIZE 48
static void put_cursor(const struct notice *head, char ret[CURSOR_SIZE])
{
    snprintf(ret, CURSOR_SIZE, "%" PRId64 "-%" PRId64, head->told_at, head->id);
}

/* Quiet hours hold it back until then; MOMENT_NONE: it was told, or it waits for no more than those that come with it. */
static int64_t held_until(const struct doc *doc, const struct notice_view *view)
{
    const struct shop_settings *settings = shop_settings_now(doc->shop);
    struct local_zone zone = {settings->zone, doc_zone_offset_ms};
    struct day_hours quiet = {settings->quiet_from_min, settings->quiet_to_min};
    if (view->told_at != MOMENT_NONE || view->safety || !hours_hold(&zone, quiet, doc->now_ms))
        return MOMENT_NONE;
    return hours_end(&zone, quiet, doc->now_ms);
}

/* ---- what it is about ---- */

struct subjects {
    unsigned coats, pieces;
    int64_t coat[NOTICE_MEMBERS_SHOWN], piece[NOTICE_MEMBERS_SHOWN];
};

static void add_once(int64_t id, int64_t ids[NOTICE_MEMBERS_SHOWN], unsigned *io_count)
{
    for (unsigned i = 0; i < *io_count; i++) {
        if (ids[i] == id)
            return;
    }
    if (id != 0 && *io_count < NOTICE_MEMBERS_SHOWN)
        ids[(*io_count)++] = id;
}

static void find_subjects(const struct doc *doc, const struct notice_view *view, struct subjects *ret)
{
    unsigned shown = view->members < NOTICE_MEMBERS_SHOWN ? view->members : NOTICE_MEMBERS_SHOWN;
    *ret = (struct subjects){0};
    for (unsigned i = 0; i < shown; i++) {
        const struct notice *member = notice_of_id(doc->shop, view->member_id[i]);
        const struct coat *coat = member != NULL ? shop_coat(doc->shop, member->coat_id) : NULL;
        if (coat == NULL)
            continue;
        add_once(coat->id, ret->coat, &ret->coats);
        add_once(coat->piece_id, ret->piece, &ret->pieces);
    }
}

static void put_ids(struct json_out *out, const char *key, const int64_t *ids, unsigned count)
{
    json_put_array(out, key);
    for (unsigned i = 0; i < count; i++)
        json_out_int(out, ids[i]);
    json_out_array_end(out);
}

static void put_about(struct doc *doc, const struct notice_view *view)
{
    struct json_out *out = doc->out;
    const struct notice *head = view->head;
    struct subjects about;
    find_subjects(doc, view, &about);
    json_put_int(out, "id", head->id);
    json_put_string(out, "kind", notice_kind_word(head->kind));
    json_put_bool(out, "safety", view->safety);
    json_put_string(out, "state", view->told_at != MOMENT_NONE ? "told" : "held");
    put_ids(out, "coats", about.coat, about.coats);
    put_ids(out, "pieces", about.piece, about.pieces);
    json_put_id(out, "coat", about.coats == 1 ? about.coat[0] : 0);
    json_put_id(out, "mix", head->mix_id);
    json_put_id(out, "bake", head->bake_id);
    json_put_id(out, "place", head->place_id);
    json_put_id(out, "sensor", head->sensor_id);
    json_put_id(out, "piece", about.pieces == 1 ? about.piece[0] : 0);
    json_put_string(out, "stage", head->coat_id != 0 ? stage_word(head->stage) : NULL);
}

static void put_moments(struct doc *doc, const struct notice_view *view)
{
    struct json_out *out = doc->out;
    json_put_moment(out, "due_at", view->due_at);
    json_put_moment(out, "until_at", view->until_at);
    json_put_bool(out, "assumed", view->assumed);
    json_put_moment(out, "raised_at", view->head->raised_at);
    json_put_moment(out, "held_until_at", held_until(doc, view));
    json_put_moment(out, "told_at", view->told_at);
    json_put_moment(out, "withdrawn_at", view->withdrawn_at);
    json_put_moment(out, "acknowledged_at", view->acknowledged_at);
}

/* ---- where it went ---- */

#define DELIVERIES_MOST 64

static const char *name_of_channel(const struct shop *shop, int64_t id)
{
    const struct channel *channel = shop_channel(shop, id);
    return channel != NULL ? channel->name : NULL;
}

static void put_deliveries(struct doc *doc, const struct notice *head)
{
    struct delivery delivery[DELIVERIES_MOST];
    struct json_out *out = doc->out;
    size_t count = shop_deliveries(doc->shop, head->id, delivery, DELIVERIES_MOST);
    json_put_array(out, "deliveries");
    for (size_t i = 0; i < count && i < DELIVERIES_MOST; i++) {
        json_out_object(out);
        json_put_int(out, "channel", delivery[i].channel_id);
        json_put_string(out, "name", name_of_channel(doc->shop, delivery[i].channel_id));
        json_put_int(out, "tries", delivery[i].tries);
        json_put_moment(out, "last_at", delivery[i].last_at);
        json_put_moment(out, "delivered_at", delivery[i].delivered_at);
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

static bool put_try(const struct delivery_try *try, void *context)
{
    struct json_out *out = context;
    json_out_object(out);
    json_put_int(out, "channel", try->channel_id);
    json_put_moment(out, "at", try->at);
    json_put_bool(out, "delivered", try->delivered);
    json_put_string(out, "answer", try->answer);
    json_out_object_end(out);
    return true;
}

void doc_notice_tries(struct doc *doc, int64_t notice_id)
{
    const struct notice *notice = notice_of_id(doc->shop, notice_id);
    json_put_array(doc->out, "tries");
    enum coat_result result = notice != NULL ? shop_delivery_tries(doc->shop, notice->group_id, put_try, doc->out) : COAT_OK;
    if (result != COAT_OK && doc->failed == COAT_OK)
        doc->failed = result;
    json_out_array_end(doc->out);
}

/* ---- the whole ---- */

static void put_view(struct doc *doc, const struct notice_view *view)
{
    put_about(doc, view);
    put_moments(doc, view);
    json_put_string(doc->out, "subject", view->subject);
    json_put_string(doc->out, "text", view->text);
    doc_caution_codes(doc, "cautions", &view->cautions);
}

void doc_notice(struct doc *doc, int64_t notice_id)
{
    struct notice_view view;
    char cursor[CURSOR_SIZE];
    if (!shop_notice_view(doc->shop, notice_id, doc->now_ms, &view)) {
        doc->failed = COAT_STORE_FAILED; /* the callers took the id from the list */
        return;
    }
    put_view(doc, &view);
    put_deliveries(doc, view.head);
    put_cursor(view.head, cursor);
    json_put_string(doc->out, "cursor", view.head->told_at != MOMENT_NONE ? cursor : NULL);
}

static void put_outward(struct doc *doc, const struct notice_view *view, const char *link)
{
    json_out_object(doc->out);
    put_view(doc, view);
    json_put_string(doc->out, "shop", shop_settings_now(doc->shop)->zone);
    json_put_string(doc->out, "link", link);
    json_put_moment(doc->out, "sent_at", doc->now_ms);
    doc_caution_texts(doc, "caution_texts");
    json_out_object_end(doc->out);
}

char *http_notice_json(struct http_context *context, int64_t notice_id, const char *link)
{
    struct json_out out;
    struct notice_view view;
    struct doc doc = {.out = &out, .shop = context->shop, .now_ms = http_now_ms(context)};
    if (!shop_notice_view(doc.shop, notice_id, doc.now_ms, &view))
        return NULL;
    json_out_init(&out, HTTP_NOTICE_MAX);
    put_outward(&doc, &view, link);
    if (!out.failed && doc.failed == COAT_OK)
        return out.bytes; /* it is NUL-terminated, and the caller's from here on */
    json_out_free(&out);
    return NULL;
}
