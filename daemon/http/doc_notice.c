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
    json_put_int(out, "coat", notice->coat_id);
    json_put_int(out, "piece", piece_id);
    json_put_string(out, "stage", stage_word(notice->stage));
}

void doc_notice(struct doc *doc, const struct notice *notice)
{
    struct json_out *out = doc->out;
    struct coat_view view = {0};
    bool found = shop_coat_view(doc->shop, notice->coat_id, doc->now_ms, &view);
    write_about(out, notice, found ? view.coat->piece_id : 0);
    json_put_moment(out, "due_at", notice->due_at);
    json_put_moment(out, "until_at", notice->until_at);
    json_put_bool(out, "assumed", notice->assumed);
    json_put_moment(out, "raised_at", notice->raised_at);
    json_put_moment(out, "withdrawn_at", notice->withdrawn_at);
    json_put_moment(out, "acknowledged_at", notice->acknowledged_at);
    json_put_string(out, "text", notice->text);
    doc_caution_codes(doc, "cautions", &view.cautions);
}
