#include "daemon/http/doc.h"

void doc_caution_codes(struct doc *doc, const char *key, const struct caution_set *set)
{
    json_put_array(doc->out, key);
    for (unsigned i = 0; i < set->count; i++)
        json_out_string(doc->out, caution_word(set->code[i]));
    json_out_array_end(doc->out);
    cautions_merge(&doc->used, set);
}

void doc_caution_texts(struct doc *doc, const char *key)
{
    struct json_out *out = doc->out;
    json_put_object(out, key);
    for (unsigned i = 0; i < doc->used.count; i++) {
        const struct caution_text *text = caution_text(doc->used.code[i]);
        json_put_object(out, caution_word(doc->used.code[i]));
        json_put_string(out, "act", text->act);
        json_put_string(out, "text", text->text);
        json_put_string(out, "source", text->source);
        json_out_object_end(out);
    }
    json_out_object_end(out);
    json_put_string(out, "deferral", caution_deferral);
}
