#include "daemon/http/doc.h"

bool notice_is_pending(const struct notice *notice)
{
    return notice->withdrawn_at == MOMENT_NONE && notice->acknowledged_at == MOMENT_NONE;
}

const struct notice *notice_of_id(const struct shop *shop, int64_t id)
{
    size_t count = 0;
    const struct notice *notices = shop_notices(shop, &count);
    for (size_t i = 0; i < count; i++) {
        if (notices[i].id == id)
            return &notices[i];
    }
    return NULL;
}

static void write_about(struct json_out *out, const struct notice *notice, int64_t piece_id)
{
    json_put_int(out, "id", notice->id);
    json_put_string(out, "kind", notice_kind_word(notice->kind));
    json_put_id(out, "coat", notice->coat_id);
    json_put_id(out, "mix", notice->mix_id);
    json_put_id(out, "place", notice->place_id);
    json_put_id(out, "sensor", notice->sensor_id);
    json_put_id(out, "piece", piece_id);
    json_put_string(out, "stage", notice->coat_id != 0 ? stage_word(notice->stage) : NULL);
}

/* The cautions of what the notice is about, for air those of the shop; *ret_piece_id: 0 where it is about no coat. */
static void find_subject(struct doc *doc, const struct notice *notice, int64_t *ret_piece_id, struct caution_set *ret)
{
    struct coat_view coat;
    struct mix_view mix;
    *ret_piece_id = 0;
    if (notice->mix_id != 0 && shop_mix_view(doc->shop, notice->mix_id, doc->now_ms, &mix))
        *ret = mix.cautions;
    if (notice->mix_id == 0 && notice->coat_id == 0)
        shop_cautions(doc->shop, doc->now_ms, ret);
    if (notice->coat_id != 0 && shop_coat_view(doc->shop, notice->coat_id, doc->now_ms, &coat)) {
        *ret = coat.cautions;
        *ret_piece_id = coat.coat->piece_id;
    }
}

void doc_notice(struct doc *doc, const struct notice *notice)
{
    struct json_out *out = doc->out;
    struct caution_set cautions = {0};
    int64_t piece_id = 0;
    find_subject(doc, notice, &piece_id, &cautions);
    write_about(out, notice, piece_id);
    json_put_moment(out, "due_at", notice->due_at);
    json_put_moment(out, "until_at", notice->until_at);
    json_put_bool(out, "assumed", notice->assumed);
    json_put_moment(out, "raised_at", notice->raised_at);
    json_put_moment(out, "withdrawn_at", notice->withdrawn_at);
    json_put_moment(out, "acknowledged_at", notice->acknowledged_at);
    json_put_string(out, "text", notice->text);
    doc_caution_codes(doc, "cautions", &cautions);
}
