#include "daemon/http/doc.h"

#include <math.h>

void doc_band(struct doc *doc, const struct moment_band *band)
{
    struct json_out *out = doc->out;
    json_out_object(out);
    json_put_bool(out, "passed", band->passed);
    json_put_moment(out, "earliest_at", band->earliest_at);
    json_put_moment(out, "likely_at", band->likely_at);
    json_put_moment(out, "latest_at", band->latest_at);
    json_put_moment(out, "label_floor_at", band->label_floor_at);
    json_put_moment(out, "label_ceiling_at", band->label_ceiling_at);
    json_out_object_end(out);
}

void doc_stall(struct doc *doc, const char *key, enum stall stall)
{
    json_put_string(doc->out, key, stall == STALL_NONE ? NULL : stall_word(stall));
}

static void write_span(struct doc *doc, const struct span_view *span)
{
    json_out_object(doc->out);
    json_put_string(doc->out, "do", span_do_word(span->does));
    json_out_key(doc->out, "until");
    if (span->ends)
        doc_band(doc, &span->until);
    else
        json_out_null(doc->out);
    json_out_object_end(doc->out);
}

static void write_stage_air(struct json_out *out, const struct stage_view *stage)
{
    json_put_object(out, "air");
    json_put_number(out, "measured_h", stage->measured_h, 3);
    json_put_number(out, "assumed_h", stage->assumed_h, 3);
    json_put_string(out, "basis", air_basis_word(stage->assumed ? AIR_ASSUMED : AIR_MEASURED));
    json_out_object_end(out);
}

void doc_stage(struct doc *doc, const struct stage_view *stage)
{
    struct json_out *out = doc->out;
    json_out_object(out);
    json_put_string(out, "stage", stage_word(stage->stage));
    json_put_string(out, "state", state_word(stage->state));
    doc_stall(doc, "stalled", stage->stall);
    json_put_number(out, "progress", stage->progress, 4);
    json_put_number(out, "progress_per_h", isfinite(stage->progress_per_h) ? stage->progress_per_h : 0.0, 5);
    json_put_int(out, "current", stage->current);
    json_put_array(out, "spans");
    for (unsigned i = 0; i < stage->spans; i++)
        write_span(doc, &stage->span[i]);
    json_out_array_end(out);
    write_stage_air(out, stage);
    json_put_bool(out, "disputed", stage->disputed);
    json_put_bool(out, "no_window", stage->no_window);
    json_put_bool(out, "prepared", stage->prepared);
    json_out_object_end(out);
}
