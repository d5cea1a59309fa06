/* Why the times of a coat are what they are: hours that add up, and the multiplier that the shop's tests taught. */
#include "daemon/http/doc.h"

#include <stdlib.h>
#include <string.h>
#include <time.h>

/* The service reads no other zone than the shop's. */
int64_t doc_zone_offset_ms(const char *zone, int64_t at_ms)
{
    time_t seconds = (time_t)(at_ms / MS_PER_S);
    struct tm local;
    const char *set = getenv("TZ");
    if (!set || strcmp(set, zone) != 0) {
        setenv("TZ", zone, 1);
        tzset();
    }
    return localtime_r(&seconds, &local) ? local.tm_gmtoff * MS_PER_S : 0;
}

static void write_row(struct json_out *out, const struct why_row *row)
{
    json_out_object(out);
    json_put_string(out, "what", why_word(row->what));
    json_put_number(out, "hours", row->hours, 4);
    json_put_number(out, "factor", row->factor, 3);
    json_put_number(out, "temp_c", row->temp_c, 2);
    json_put_number(out, "rh_pct", row->rh_pct, 2);
    json_put_moment(out, "from_at", row->from_at);
    json_put_moment(out, "to_at", row->to_at);
    json_out_object_end(out);
}

static void write_stage(struct json_out *out, const struct why_view *why)
{
    json_out_object(out);
    json_put_string(out, "stage", stage_word(why->stage));
    json_put_moment(out, "from_at", why->from_at);
    json_put_moment(out, "likely_at", why->likely_at);
    json_put_number(out, "total_h", why->total_h, 4);
    json_put_array(out, "rows");
    for (unsigned i = 0; i < why->rows; i++)
        write_row(out, &why->row[i]);
    json_out_array_end(out);
    json_out_object_end(out);
}

static void doc_learned(struct doc *doc, const char *key, const struct learned_k *learned)
{
    struct json_out *out = doc->out;
    if (!learned) {
        json_put_null(out, key);
        return;
    }
    json_put_object(out, key);
    json_put_id(out, "tin", learned->tin_id);
    json_put_number(out, "prior_k", learned->prior_k, 3);
    json_put_number(out, "prior_spread", learned->prior_spread, 3);
    json_put_number(out, "k", learned->k, 3);
    json_put_number(out, "k_low", learned->k_low, 3);
    json_put_number(out, "k_high", learned->k_high, 3);
    json_put_int(out, "tests", learned->tests);
    json_put_bool(out, "contradicted", learned->contradicted);
    json_out_object_end(out);
}

void doc_why(struct doc *doc, const struct coat_view *view)
{
    struct json_out *out = doc->out;
    int64_t offset = doc_zone_offset_ms(shop_settings_now(doc->shop)->zone, doc->now_ms);
    int64_t material_id = view->material->material_id;
    json_put_int(out, "coat", view->coat->id);
    json_put_array(out, "items");
    for (unsigned i = 0; i < view->stages; i++) {
        struct why_view why;
        if (shop_why(doc->shop, view->coat->id, view->stage[i].stage, doc->now_ms, offset, &why))
            write_stage(out, &why);
    }
    json_out_array_end(out);
    json_put_number(out, "k", view->k, 3);
    doc_learned(doc, "material_tests", shop_learned(doc->shop, material_id, 0));
    doc_learned(doc, "tin_tests", view->coat->tin_id ? shop_learned(doc->shop, material_id, view->coat->tin_id) : NULL);
    doc_caution_codes(doc, "coat_cautions", &view->cautions);
}
