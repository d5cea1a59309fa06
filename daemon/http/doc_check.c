/* The answer to "may I put this on now": its verdict, the reasons, the hours to come, what it would land on and open. */
#include "daemon/http/doc.h"

#include "coat/quantity.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#define SENTENCE_SIZE 400
#define AMOUNT_SIZE 48
#define KNOWN_DAYS_WANTED 2.0

static const char *const verdicts[] = {[CHECK_UNKNOWN] = "unknown", [CHECK_NO] = "no", [CHECK_YES] = "yes"};

/* ---- sentences ---- */

/* Faults of the air: what it is, and how value and limit are told. */
static const struct {
    const char *what, *after_value, *limit;
    enum quantity kind;
} air_faults[CHECK_REASON_COUNT] = {
    [CHECK_TOO_COLD] = {"too cold", "", "at least", QUANTITY_TEMPERATURE},
    [CHECK_TOO_HOT] = {"too hot", "", "at most", QUANTITY_TEMPERATURE},
    [CHECK_TOO_DAMP] = {"too damp", "", "at most", QUANTITY_SHARE},
    [CHECK_DEW] = {"too near the dew point", " above it", "at least", QUANTITY_TEMP_DIFF},
    [CHECK_SURFACE_DEW] = {"the piece is still cold", " above the dew point", "at least", QUANTITY_TEMP_DIFF},
    [CHECK_SURFACE_COLD] = {"the piece is still cold", "", "at least", QUANTITY_TEMPERATURE},
};

static const char *amount(const struct doc *doc, enum quantity kind, double value, char text[AMOUNT_SIZE])
{
    return quantity_print(kind, value, shop_settings_now(doc->shop)->units, text, AMOUNT_SIZE);
}

static void say_air_fault(const struct doc *doc, const struct check_fault *fault, char text[SENTENCE_SIZE])
{
    char value[AMOUNT_SIZE], limit[AMOUNT_SIZE];
    enum quantity kind = air_faults[fault->reason].kind;
    if (fault->value < 0.0 && kind == QUANTITY_TEMP_DIFF) {
        snprintf(text, SENTENCE_SIZE, "%s: %s below the dew point, %s %s above it", air_faults[fault->reason].what,
                 amount(doc, kind, -fault->value, value), air_faults[fault->reason].limit, amount(doc, kind, fault->limit, limit));
        return;
    }
    snprintf(text, SENTENCE_SIZE, "%s: %s%s, %s %s", air_faults[fault->reason].what, amount(doc, kind, fault->value, value),
             air_faults[fault->reason].after_value, air_faults[fault->reason].limit, amount(doc, kind, fault->limit, limit));
}

static void say_no_air(const struct doc *doc, const struct check_view *view, char text[SENTENCE_SIZE])
{
    double hours = (double)(doc->now_ms - view->air.at) / (double)MS_PER_H;
    if (view->air.known)
        snprintf(text, SENTENCE_SIZE, "unknown: no reading since %.1f h ago; read the air first", hours);
    else
        snprintf(text, SENTENCE_SIZE, "unknown: no reading of this place yet; read the air first");
}

static void say_landing_fault(const struct check_landing *landing, enum check_reason reason, char text[SENTENCE_SIZE])
{
    const char *name = landing->material->material.name;
    if (reason == CHECK_INCOMPATIBLE)
        snprintf(text, SENTENCE_SIZE, "over %.63s: %s (%s)", name, landing->compat.reason, landing->compat.source);
    else if (reason == CHECK_MISSED)
        snprintf(text, SENTENCE_SIZE, "over %.63s: too late to go over it; strip it first", name);
    else
        snprintf(text, SENTENCE_SIZE, "over %.63s: its %s is not open", name, stage_word(landing->stage));
}

static void say_fault(const struct doc *doc, const struct check_view *view, const struct check_fault *fault, char text[SENTENCE_SIZE])
{
    switch (fault->reason) {
    case CHECK_TOO_COLD:
    case CHECK_TOO_HOT:
    case CHECK_TOO_DAMP:
    case CHECK_DEW:
    case CHECK_SURFACE_DEW:
    case CHECK_SURFACE_COLD:
        say_air_fault(doc, fault, text);
        return;
    case CHECK_NOT_CURED:
        snprintf(text, SENTENCE_SIZE, "it would not be past %s in the air to come", stage_word(view->material->material.guard));
        return;
    case CHECK_NO_AIR:
        say_no_air(doc, view, text);
        return;
    case CHECK_NOT_OPEN:
        snprintf(text, SENTENCE_SIZE, "what lies below is not open for the next coat");
        return;
    case CHECK_MISSED:
        snprintf(text, SENTENCE_SIZE, "too late to go over what lies below; strip it first");
        return;
    case CHECK_INCOMPATIBLE:
        snprintf(text, SENTENCE_SIZE, "it does not go over what lies below");
        return;
    case CHECK_NOTHING:
    case CHECK_REASON_COUNT:
        break;
    }
    text[0] = '\0';
}

/* ---- parts ---- */

static void write_fault(struct json_out *out, const struct check_fault *fault, const char *text)
{
    bool none = fault->reason == CHECK_NOTHING;
    json_put_string(out, "reason", none ? NULL : check_reason_word(fault->reason));
    json_put_string(out, "text", none ? NULL : text);
    json_put_number(out, "value", fault->value, 2);
    json_put_number(out, "limit", fault->limit, 2);
}

static void write_refusals(struct doc *doc, const struct check_view *view)
{
    struct json_out *out = doc->out;
    char text[SENTENCE_SIZE];
    json_put_array(out, "reasons");
    for (unsigned i = 0; i < view->refusals; i++) {
        const struct check_refusal *refusal = &view->refusal[i];
        const struct check_landing *landing = refusal->landing >= 0 ? &view->landing[refusal->landing] : NULL;
        if (landing)
            say_landing_fault(landing, refusal->fault.reason, text);
        else
            say_fault(doc, view, &refusal->fault, text);
        json_out_object(out);
        write_fault(out, &refusal->fault, text);
        json_put_moment(out, "breaks_at", refusal->breaks_at);
        json_put_id(out, "coat", landing ? landing->coat->id : 0);
        json_put_moment(out, "until_at", landing && refusal->fault.reason == CHECK_NOT_OPEN ? landing->until_at : MOMENT_NONE);
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

static void write_landing(struct doc *doc, const struct check_landing *landing)
{
    struct json_out *out = doc->out;
    json_out_object(out);
    json_put_int(out, "coat", landing->coat->id);
    json_put_string(out, "area", landing->coat->area);
    doc_material_named(doc, landing->material);
    json_put_string(out, "stage", landing->has_stage ? stage_word(landing->stage) : NULL);
    json_put_string(out, "do", landing->has_stage ? span_do_word(landing->does) : NULL);
    json_put_moment(out, "until_at", landing->until_at);
    json_put_bool(out, "prepared", landing->prepared);
    json_put_bool(out, "disputed", landing->disputed);
    json_put_bool(out, "cured", landing->cured);
    json_put_object(out, "compat");
    json_put_string(out, "verdict", compat_word(landing->compat.verdict));
    json_put_string(out, "reason", landing->compat.reason);
    json_put_string(out, "source", landing->compat.source);
    json_out_object_end(out);
    json_out_object_end(out);
}

static void write_lands_on(struct doc *doc, const struct check_view *view)
{
    struct json_out *out = doc->out;
    if (view->piece_id == 0) {
        json_put_null(out, "lands_on");
        return;
    }
    json_put_object(out, "lands_on");
    json_put_array(out, "coats");
    for (unsigned i = 0; i < view->landings; i++)
        write_landing(doc, &view->landing[i]);
    json_out_array_end(out);
    json_out_object_end(out);
}

static void write_surface(struct json_out *out, const struct check_view *view)
{
    const struct check_surface *surface = &view->surface;
    if (!surface->known) {
        json_put_null(out, "surface");
        return;
    }
    json_put_object(out, "surface");
    json_put_number(out, "temp_c", surface->temp_c, 2);
    json_put_number(out, "dew_point_c", surface->dew_point_c, 2);
    json_put_moment(out, "clear_at", surface->clear_at);
    json_put_number(out, "time_constant_min", surface->time_constant_min, 1);
    json_put_number(out, "wall_mm", surface->wall_mm, 2);
    json_put_bool(out, "wall_assumed", surface->wall_assumed);
    json_put_id(out, "from_place", surface->from_place_id);
    json_out_object_end(out);
}

static void write_stretches(struct doc *doc, const struct check_view *view)
{
    struct json_out *out = doc->out;
    char text[SENTENCE_SIZE];
    json_put_array(out, "stretches");
    for (unsigned i = 0; i < view->stretches; i++) {
        const struct check_stretch *stretch = &view->stretch[i];
        say_fault(doc, view, &stretch->fault, text);
        json_out_object(out);
        json_put_moment(out, "from_at", stretch->from_ms);
        json_put_moment(out, "to_at", stretch->to_ms);
        json_put_bool(out, "good", stretch->good);
        write_fault(out, &stretch->fault, text);
        json_put_moment(out, "breaks_at", stretch->breaks_ms);
        json_put_moment(out, "works_from_at", view->has_hours ? stretch->works_from_ms : MOMENT_NONE);
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

static void write_windows(struct json_out *out, const struct check_view *view)
{
    json_put_moment(out, "windows_at", view->windows_at);
    json_put_array(out, "windows");
    for (unsigned i = 0; i < view->windows; i++) {
        const struct check_window *window = &view->window[i];
        json_out_object(out);
        json_put_string(out, "stage", stage_word(window->stage));
        json_put_string(out, "do", span_do_word(window->does));
        json_put_moment(out, "from_at", window->from_at);
        json_put_moment(out, "until_at", window->until_at);
        json_put_bool(out, "from_outside_hours", window->from_outside);
        json_put_bool(out, "until_outside_hours", window->until_outside);
        json_put_bool(out, "missed_hours", window->missed_hours);
        json_put_bool(out, "disputed", window->disputed);
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

/* ---- remarks ---- */

static void remark(struct json_out *out, const char *format, ...) __attribute__((format(printf, 2, 3)));
static void remark(struct json_out *out, const char *format, ...)
{
    char text[SENTENCE_SIZE];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    json_out_string(out, text);
}

static void remark_limits(struct json_out *out, const struct material *material)
{
    const struct {
        double limit;
        const char *what;
    } limits[] = {{material->min_temp_c, "coldest"}, {material->max_temp_c, "warmest"}, {material->max_rh_pct, "dampest"}};
    for (size_t i = 0; i < sizeof limits / sizeof *limits; i++)
        if (isnan(limits[i].limit))
            remark(out, "The %s air for this material is not known: nothing was refused for it. Read the label.", limits[i].what);
}

static void remark_air(struct json_out *out, const struct doc *doc, const struct check_view *view)
{
    if (view->stretches == 0)
        return;
    remark(out, "The air to come is told from this place's own readings, with no heater on from now; an hour is good where the air "
           "holds until %s in 9 of 10 of its courses.", stage_word(view->material->material.guard));
    if (view->known_days < KNOWN_DAYS_WANTED)
        remark(out, "Only %.1f days of its air are known: the air to come is hardly more than a guess.", view->known_days);
    if (view->at > doc->now_ms + MS_PER_MIN)
        remark(out, "That moment is still ahead: read the air again before you begin.");
}

static bool is_of_surface(const struct check_fault *fault)
{
    return fault->reason == CHECK_SURFACE_DEW || fault->reason == CHECK_SURFACE_COLD;
}

static bool lag_decides(const struct check_view *view)
{
    bool decides = false;
    for (unsigned i = 0; i < view->stretches; i++)
        decides |= is_of_surface(&view->stretch[i].fault);
    return decides;
}

static void remark_surface(struct json_out *out, const struct doc *doc, const struct check_view *view)
{
    const struct check_surface *surface = &view->surface;
    const struct place *from = shop_place(doc->shop, surface->from_place_id);
    char wall[AMOUNT_SIZE];
    if (view->piece_id == 0)
        return;
    if (!surface->known) {
        remark(out, "How warm the piece is cannot be told: no air is known where it hung. It was taken to be as warm as the air.");
        return;
    }
    if (!from && !lag_decides(view))
        return;
    if (from)
        remark(out, "The piece hangs in %.63s: it was taken to be carried in as warm as it is there.", from->name);
    remark(out, "It warms as iron with a wall of %s does (%s) where the air gives off little heat.",
           amount(doc, QUANTITY_LENGTH, surface->wall_mm, wall), surface->wall_assumed ? "assumed" : "as entered");
}

static void remark_landings(struct json_out *out, const struct check_view *view)
{
    for (unsigned i = 0; i < view->landings; i++) {
        const struct check_landing *landing = &view->landing[i];
        const char *name = landing->material->material.name;
        if (!landing->has_stage)
            remark(out, "When %.63s may be gone over is not known: test patch first.", name);
        if ((landing->does == SPAN_WIPE || landing->does == SPAN_SCUFF) && !landing->prepared)
            remark(out, "%.63s wants %s first.", name, landing->does == SPAN_WIPE ? "a wipe with solvent" : "scuffing");
        if (landing->disputed)
            remark(out, "Sources differ about the window of %.63s: read the can.", name);
        if (landing->compat.verdict == COMPAT_CARE || landing->compat.verdict == COMPAT_TEST)
            remark(out, "Over %.63s %s: %s (%s).", name, landing->compat.verdict == COMPAT_CARE ? "with care" : "unproven",
                   landing->compat.reason, landing->compat.source);
    }
}

static void write_remarks(struct doc *doc, const struct check_view *view)
{
    json_put_array(doc->out, "remarks");
    remark_landings(doc->out, view);
    remark_limits(doc->out, &view->material->material);
    remark_air(doc->out, doc, view);
    remark_surface(doc->out, doc, view);
    json_out_array_end(doc->out);
}

/* ---- all of it ---- */

void doc_check(struct doc *doc, const struct check_view *view)
{
    struct json_out *out = doc->out;
    json_put_string(out, "verdict", verdicts[view->verdict]);
    json_put_moment(out, "at", view->at);
    doc_material_named(doc, view->material);
    json_put_int(out, "place", view->place_id);
    json_put_id(out, "piece", view->piece_id);
    json_put_string(out, "guard", stage_word(view->material->material.guard));
    doc_air(doc, &view->air);
    write_surface(out, view);
    write_refusals(doc, view);
    write_lands_on(doc, view);
    write_stretches(doc, view);
    write_windows(out, view);
    write_remarks(doc, view);
    doc_caution_codes(doc, "cautions", &view->cautions);
}
