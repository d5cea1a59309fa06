#include "daemon/http/doc.h"
#include "daemon/http/http.h"

static void write_time_of_day(struct json_out *out, const char *key, int32_t minutes)
{
    char text[16];
    snprintf(text, sizeof text, "%02d:%02d", (int)(minutes / 60 % 24), (int)(minutes % 60));
    json_put_string(out, key, text);
}

void doc_settings(struct doc *doc, const struct shop_settings *settings)
{
    struct json_out *out = doc->out;
    json_out_object(out);
    json_put_string(out, "zone", settings->zone);
    json_put_string(out, "units", units_system_word(settings->units));
    json_put_int(out, "lead_closing_min", settings->lead_closing_min);
    write_time_of_day(out, "quiet_from", settings->quiet_from_min);
    write_time_of_day(out, "quiet_to", settings->quiet_to_min);
    write_time_of_day(out, "work_from", settings->work_from_min);
    write_time_of_day(out, "work_to", settings->work_to_min);
    if (settings->morning_min == MORNING_NONE)
        json_put_null(out, "morning");
    else
        write_time_of_day(out, "morning", settings->morning_min);
    json_out_object_end(out);
}

static void write_head(struct doc *doc, const struct coat_clock *clock)
{
    struct json_out *out = doc->out;
    json_put_moment(out, "as_of_at", doc->now_ms);
    json_put_int(out, "revision", shop_revision(doc->shop));
    json_put_string(out, "version", COAT_VERSION);
    if (clock->test) {
        json_put_object(out, "test_clock");
        json_put_number(out, "rate", clock->rate, 3);
        json_out_object_end(out);
    } else {
        json_put_null(out, "test_clock");
    }
    json_out_key(out, "shop");
    doc_settings(doc, shop_settings_now(doc->shop));
}

/* Whoever looks at the page must know that nobody is told. */
static void write_unrecorded(struct doc *doc, const struct http_context *context)
{
    if (context->unrecorded == COAT_OK) {
        json_put_null(doc->out, "unrecorded");
        return;
    }
    json_put_object(doc->out, "unrecorded");
    json_put_moment(doc->out, "since_at", context->unrecorded_since_ms);
    json_put_string(doc->out, "why", coat_result_text(context->unrecorded));
    json_out_object_end(doc->out);
}

static void write_places(struct doc *doc)
{
    size_t count = 0;
    const struct place *places = shop_places(doc->shop, &count);
    json_put_array(doc->out, "places");
    for (size_t i = 0; i < count; i++) {
        if (places[i].removed_at == MOMENT_NONE)
            doc_place(doc, &places[i]);
    }
    json_out_array_end(doc->out);
}

static void write_pieces(struct doc *doc, const struct coat_list *coats)
{
    size_t count = 0;
    const struct piece *pieces = shop_pieces(doc->shop, &count);
    json_put_array(doc->out, "pieces");
    for (size_t i = 0; i < count; i++) {
        if (pieces[i].removed_at == MOMENT_NONE)
            doc_piece(doc, &pieces[i], coats);
    }
    json_out_array_end(doc->out);
}

static void write_racks(struct doc *doc)
{
    size_t count = 0;
    const struct rack *racks = shop_racks(doc->shop, &count);
    json_put_array(doc->out, "racks");
    for (size_t i = 0; i < count; i++) {
        if (racks[i].removed_at == MOMENT_NONE)
            doc_rack(doc, &racks[i]);
    }
    json_out_array_end(doc->out);
}

/* Versions stand by material, then version: the last of each run is its newest. */
static void write_materials(struct doc *doc)
{
    size_t count = 0;
    const struct material_version *versions = shop_materials(doc->shop, &count);
    json_put_array(doc->out, "materials");
    for (size_t i = 0; i < count; i++) {
        bool newest = i + 1 == count || versions[i + 1].material_id != versions[i].material_id;
        if (newest && !shop_material_removed(doc->shop, versions[i].material_id))
            doc_material_brief(doc, &versions[i]);
    }
    json_out_array_end(doc->out);
}

static void write_coats(struct doc *doc, const struct coat_list *coats)
{
    json_put_array(doc->out, "coats");
    for (size_t i = 0; i < coats->count; i++) {
        struct coat_view view;
        if (shop_coat_view(doc->shop, coats->coat[i].coat_id, doc->now_ms, &view))
            doc_coat(doc, &view);
    }
    json_out_array_end(doc->out);
}

static void write_row(struct doc *doc, const struct list_row *row)
{
    struct json_out *out = doc->out;
    json_out_object(out);
    json_put_int(out, "piece", row->piece_id);
    json_put_int(out, "coat", row->coat_id);
    json_put_string(out, "stage", stage_word(row->stage));
    json_put_string(out, "state", state_word(row->state));
    json_put_string(out, "do", span_do_word(row->does));
    doc_stall(doc, "stalled", row->stall);
    json_put_moment(out, "since_at", row->since_at);
    json_out_key(out, "until");
    if (row->ends)
        doc_band(doc, &row->until);
    else
        json_out_null(out);
    json_put_string(out, "then", row->ends ? span_do_word(row->then) : NULL);
    json_put_moment(out, "then_until_at", row->then_until_at);
    json_put_bool(out, "assumed", row->assumed);
    json_put_bool(out, "disputed", row->disputed);
    json_out_object_end(out);
}

static void write_lists(struct doc *doc)
{
    size_t count = 0;
    const struct list_row *rows = shop_lists(doc->shop, doc->now_ms, &count);
    json_put_object(doc->out, "lists");
    for (unsigned kind = 0; kind < LIST_KIND_COUNT; kind++) {
        json_put_array(doc->out, list_kind_word((enum list_kind)kind));
        for (size_t i = 0; i < count; i++) {
            if (rows[i].list == (enum list_kind)kind)
                write_row(doc, &rows[i]);
        }
        json_out_array_end(doc->out);
    }
    json_out_object_end(doc->out);
}

/* Where the newest DOC_NOTICES_SHOWN pending ones begin. */
static size_t first_shown(const struct shop *shop, const struct notice *notices, size_t count)
{
    unsigned pending = 0;
    size_t first = count;
    while (first > 0 && pending < DOC_NOTICES_SHOWN)
        pending += shop_notice_is_pending(shop, &notices[--first]);
    return first;
}

static void write_notices(struct doc *doc)
{
    size_t count = 0;
    const struct notice *notices = shop_notices(doc->shop, &count);
    json_put_array(doc->out, "notices");
    for (size_t i = first_shown(doc->shop, notices, count); i < count; i++) {
        if (!shop_notice_is_pending(doc->shop, &notices[i]))
            continue;
        json_out_object(doc->out);
        doc_notice(doc, notices[i].id);
        json_out_object_end(doc->out);
    }
    json_out_array_end(doc->out);
}

void doc_shop(struct doc *doc, const struct http_context *context)
{
    struct coat_list coats = {0};
    struct caution_set standing = {0};
    doc->failed = coat_list_make(doc, COAT_LIST_IN_USE, &coats);
    json_out_object(doc->out);
    write_head(doc, context->clock);
    write_unrecorded(doc, context);
    write_places(doc);
    write_pieces(doc, &coats);
    write_racks(doc);
    write_materials(doc);
    json_out_key(doc->out, "tins");
    doc_tins(doc, false);
    json_out_key(doc->out, "mixes");
    doc_mixes(doc, false);
    write_coats(doc, &coats);
    write_lists(doc);
    write_notices(doc);
    doc_channels_brief(doc, "channels");
    shop_cautions(doc->shop, doc->now_ms, &standing);
    doc_caution_codes(doc, "shop_cautions", &standing);
    doc_caution_texts(doc, "cautions");
    json_out_object_end(doc->out);
    coat_list_free(&coats);
}
