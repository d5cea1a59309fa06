/* What a plot of the air shows: bins, where nobody measured, the limits that mattered, coats with their stages, heated hours. */
#include "coat/air.h"
#include "daemon/http/doc.h"

#include <math.h>
#include <stdlib.h>

#define COATS_MOST 200          /* of a span, the newest */
#define LIMITS_MOST 32
#define READINGS_LOOKED_AT 20000 /* so many are looked at one by one for gaps; more lie so close that bins tell as much */

int64_t plot_span_end(const struct plot_span *span)
{
    return span->from_ms + span->bin_ms * span->bins;
}

static int64_t later(int64_t a, int64_t b)
{
    return a > b ? a : b;
}

/* ---- bins ---- */

static double bin_temp_low(const struct air_bin *bin)
{
    return bin->temp_low_c;
}

static double bin_temp(const struct air_bin *bin)
{
    return bin->temp_mean_c;
}

static double bin_temp_high(const struct air_bin *bin)
{
    return bin->temp_high_c;
}

static double bin_rh_low(const struct air_bin *bin)
{
    return bin->rh_low_pct;
}

static double bin_rh(const struct air_bin *bin)
{
    return bin->rh_mean_pct;
}

static double bin_rh_high(const struct air_bin *bin)
{
    return bin->rh_high_pct;
}

/* Of the means: a dew point follows from both. */
static double bin_dew_point(const struct air_bin *bin)
{
    if (!isfinite(bin->temp_mean_c) || !isfinite(bin->rh_mean_pct))
        return (double)NAN;
    return air_dew_point_c(bin->temp_mean_c, fmax(bin->rh_mean_pct, 0.1));
}

static void write_bins(struct json_out *out, const struct plot_span *span, const struct air_bin *bins)
{
    static const struct {
        const char *key;
        double (*value)(const struct air_bin *);
    } columns[] = {
        {"temp_low_c", bin_temp_low}, {"temp_c", bin_temp}, {"temp_high_c", bin_temp_high}, {"rh_low_pct", bin_rh_low},
        {"rh_pct", bin_rh}, {"rh_high_pct", bin_rh_high}, {"dew_point_c", bin_dew_point},
    };
    json_put_object(out, "bins");
    json_put_array(out, "at");
    for (unsigned i = 0; i < span->bins; i++)
        json_out_int(out, (span->from_ms + span->bin_ms * i) / MS_PER_S);
    json_out_array_end(out);
    for (size_t column = 0; column < sizeof columns / sizeof *columns; column++) {
        json_put_array(out, columns[column].key);
        for (unsigned i = 0; i < span->bins; i++)
            json_out_number(out, columns[column].value(&bins[i]), 2);
        json_out_array_end(out);
    }
    json_out_object_end(out);
}

/* ---- where nobody measured ---- */

static void write_stretch(struct json_out *out, int64_t from_ms, int64_t to_ms)
{
    json_out_object(out);
    json_put_moment(out, "from_at", from_ms);
    json_put_moment(out, "to_at", to_ms);
    json_out_object_end(out);
}

struct gaps {
    struct doc *doc;
    int64_t from_ms, to_ms; /* within which they are told */
    int64_t least_ms;       /* shorter ones cannot be seen */
    int64_t since_ms;       /* the last reading so far; at first the beginning */
    int64_t hold_ms;        /* of that reading; 0 where there is none */
};

/* The next reading stands at at_ms: a gap lies before it where the one before was no longer held by then. */
static void close_gap(struct gaps *gaps, int64_t at_ms, int64_t hold_ms)
{
    int64_t from_ms = later(gaps->since_ms, gaps->from_ms);
    int64_t to_ms = moment_sooner(at_ms, gaps->to_ms);
    if (at_ms - gaps->since_ms > gaps->hold_ms && to_ms - from_ms > gaps->least_ms)
        write_stretch(gaps->doc->out, from_ms, to_ms);
    gaps->since_ms = at_ms;
    gaps->hold_ms = hold_ms;
}

static void gaps_between_readings(struct gaps *gaps, int64_t place_id)
{
    struct reading *readings = NULL;
    size_t count = 0;
    int64_t before_ms = (int64_t)READING_HOLD_MAX_S * MS_PER_S; /* one that is still held at the beginning */
    enum coat_result result = shop_readings(gaps->doc->shop, place_id, gaps->from_ms - before_ms, gaps->to_ms + 1,
                                            READINGS_LOOKED_AT * 2, &readings, &count);
    if (result != COAT_OK)
        gaps->doc->failed = result;
    for (size_t i = 0; i < count; i++)
        close_gap(gaps, readings[i].at_ms, (int64_t)readings[i].hold_s * MS_PER_S);
    free(readings);
}

/* How long the last reading before the end is held: stands for all of them. */
static int64_t hold_at_end(struct doc *doc, int64_t place_id, int64_t end_ms)
{
    struct reading *readings = NULL;
    size_t count = 0;
    struct air_view air = shop_air(doc->shop, place_id, moment_sooner(end_ms, doc->now_ms));
    int64_t hold_ms = (int64_t)READING_HOLD_MAX_S * MS_PER_S;
    if (!air.known || shop_readings(doc->shop, place_id, air.at, air.at + 1, 2, &readings, &count) != COAT_OK)
        return hold_ms;
    if (count > 0)
        hold_ms = (int64_t)readings[count - 1].hold_s * MS_PER_S;
    free(readings);
    return hold_ms;
}

static void gaps_between_bins(struct gaps *gaps, int64_t place_id, const struct plot_span *span, const struct air_bin *bins)
{
    int64_t hold_ms = hold_at_end(gaps->doc, place_id, plot_span_end(span));
    gaps->hold_ms = hold_ms;
    for (unsigned i = 0; i < span->bins; i++) {
        if (bins[i].readings == 0)
            continue;
        int64_t from_ms = span->from_ms + span->bin_ms * i;
        close_gap(gaps, from_ms, hold_ms);
        gaps->since_ms = from_ms + span->bin_ms;
    }
}

static void write_gaps(struct doc *doc, int64_t place_id, const struct plot_span *span, const struct air_bin *bins)
{
    struct gaps gaps = {doc, span->from_ms, moment_sooner(plot_span_end(span), doc->now_ms), span->bin_ms, span->from_ms, 0};
    size_t readings = 0;
    for (unsigned i = 0; i < span->bins; i++)
        readings += bins[i].readings;
    json_put_array(doc->out, "gaps");
    if (gaps.to_ms > gaps.from_ms) { /* else all of it is yet to come */
        if (readings <= READINGS_LOOKED_AT)
            gaps_between_readings(&gaps, place_id);
        else
            gaps_between_bins(&gaps, place_id, span, bins);
        close_gap(&gaps, gaps.to_ms, 0);
    }
    json_out_array_end(doc->out);
}

/* ---- coats that hung here ---- */

/* A coat while it was on and hung in the place, within the span. */
struct hanging {
    int64_t from_ms, to_ms;
};

struct plot {
    struct doc *doc;
    int64_t place_id, from_ms, to_ms;
    unsigned coats;
    unsigned limits;
    const struct material_version *limit[LIMITS_MOST];
};

/* Where the first move of a piece took it, it counts as having hung all along. */
static int64_t arrival(const struct move *moves, size_t i)
{
    return i == 0 || moves[i - 1].piece_id != moves[i].piece_id ? INT64_MIN : moves[i].at;
}

/* Calls `each` for every stay of the piece in the place that overlaps [from_ms, to_ms); moves stand by piece, then moment. */
static void walk_stays(struct plot *plot, const struct coat_view *view, struct hanging on,
                       void (*each)(struct plot *, const struct coat_view *, struct hanging))
{
    size_t count = 0;
    const struct move *moves = shop_moves(plot->doc->shop, &count);
    for (size_t i = 0; i < count; i++) {
        if (moves[i].piece_id != view->coat->piece_id || moves[i].place_id != plot->place_id)
            continue;
        size_t next = i + 1;
        while (next < count && moves[next].piece_id == moves[i].piece_id && moves[next].place_id == plot->place_id)
            next++; /* moved to where it hung: one stay */
        bool leaves = next < count && moves[next].piece_id == moves[i].piece_id;
        struct hanging stay = {later(on.from_ms, arrival(moves, i)), leaves ? moment_sooner(on.to_ms, moves[next].at) : on.to_ms};
        if (stay.from_ms < stay.to_ms)
            each(plot, view, stay);
        i = next - 1;
    }
}

/* Whether the piece hung here at all while it could have carried the coat: asked before the dear question of how the coat stands. */
static bool may_have_hung(const struct plot *plot, const struct coat *coat)
{
    size_t count = 0;
    const struct move *moves = shop_moves(plot->doc->shop, &count);
    for (size_t i = 0; i < count; i++) {
        bool here = moves[i].piece_id == coat->piece_id && moves[i].place_id == plot->place_id && arrival(moves, i) < plot->to_ms;
        bool leaves = i + 1 < count && moves[i + 1].piece_id == coat->piece_id;
        if (here && (!leaves || moves[i + 1].at > later(plot->from_ms, coat->first_at)))
            return true;
    }
    return false;
}

/* Each moment at which waiting ends, in order of the stages. */
static void write_openings(struct plot *plot, const struct coat_view *view, struct hanging stay)
{
    struct json_out *out = plot->doc->out;
    json_put_array(out, "stages");
    for (unsigned i = 0; i < view->stages; i++) {
        const struct stage_view *stage = &view->stage[i];
        for (unsigned k = 0; k < stage->spans; k++) {
            const struct span_view *span = &stage->span[k];
            int64_t at_ms = span->until.likely_at;
            if (span->does != SPAN_WAIT || !span->ends || at_ms == MOMENT_NONE || at_ms < stay.from_ms || at_ms >= stay.to_ms)
                continue;
            json_out_object(out);
            json_put_string(out, "stage", stage_word(stage->stage));
            json_put_moment(out, "at", at_ms);
            json_put_bool(out, "passed", span->until.passed);
            json_out_object_end(out);
        }
    }
    json_out_array_end(out);
}

static void write_hanging(struct plot *plot, const struct coat_view *view, struct hanging stay)
{
    struct json_out *out = plot->doc->out;
    json_out_object(out);
    json_put_int(out, "coat", view->coat->id);
    json_put_int(out, "piece", view->coat->piece_id);
    json_put_moment(out, "from_at", stay.from_ms);
    json_put_moment(out, "to_at", stay.to_ms);
    write_openings(plot, view, stay);
    json_out_object_end(out);
}

/* The air still mattered: some stage had not come when the span began. */
static bool was_curing(const struct plot *plot, const struct coat_view *view)
{
    for (unsigned i = 0; i < view->stages; i++) {
        const struct moment_band *first = &view->stage[i].span[0].until;
        bool waits = view->stage[i].span[0].does == SPAN_WAIT && view->stage[i].span[0].ends;
        if (waits && (!first->passed || first->likely_at > plot->from_ms))
            return true;
    }
    return false;
}

static void note_limit(struct plot *plot, const struct coat_view *view)
{
    if (plot->limits == LIMITS_MOST || !was_curing(plot, view))
        return;
    for (unsigned i = 0; i < plot->limits; i++) {
        if (plot->limit[i] == view->material)
            return;
    }
    plot->limit[plot->limits++] = view->material;
}

static void write_hanging_counted(struct plot *plot, const struct coat_view *view, struct hanging stay)
{
    if (plot->coats++ < COATS_MOST)
        write_hanging(plot, view, stay);
    note_limit(plot, view);
}

/* The newest coats first, so that those left out of a long span are the oldest. */
static void write_coats(struct plot *plot)
{
    size_t count = 0;
    const struct coat *coats = shop_coats(plot->doc->shop, &count);
    json_put_array(plot->doc->out, "coats");
    for (size_t i = count; i > 0 && plot->coats < COATS_MOST; i--) {
        const struct coat *coat = &coats[i - 1];
        struct coat_view view;
        if (coat->struck_at != MOMENT_NONE || coat->first_at >= plot->to_ms || !may_have_hung(plot, coat) ||
            !shop_coat_view(plot->doc->shop, coat->id, plot->doc->now_ms, &view))
            continue;
        const struct piece *piece = shop_piece(plot->doc->shop, coat->piece_id);
        int64_t ended_at = moment_sooner(view.ended_at, piece != NULL ? piece->removed_at : MOMENT_NONE);
        struct hanging on = {later(plot->from_ms, coat->first_at), moment_sooner(plot->to_ms, ended_at)};
        walk_stays(plot, &view, on, write_hanging_counted);
    }
    json_out_array_end(plot->doc->out);
}

static void write_limits(const struct plot *plot)
{
    struct json_out *out = plot->doc->out;
    json_put_array(out, "limits");
    for (unsigned i = 0; i < plot->limits; i++) {
        const struct material *material = &plot->limit[i]->material;
        json_out_object(out);
        json_put_object(out, "material");
        json_put_int(out, "id", plot->limit[i]->material_id);
        json_put_string(out, "name", material->name);
        json_out_object_end(out);
        json_put_number(out, "min_temp_c", material->min_temp_c, JSON_SHORTEST);
        json_put_number(out, "max_temp_c", material->max_temp_c, JSON_SHORTEST);
        json_put_number(out, "max_rh_pct", material->max_rh_pct, JSON_SHORTEST);
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

/* ---- heated hours ---- */

static int compare_heating(const void *a, const void *b)
{
    const struct heating *x = a, *y = b;
    if (x->from_at != y->from_at)
        return x->from_at < y->from_at ? -1 : 1;
    return x->id < y->id ? -1 : x->id > y->id;
}

/* Each entry holds until its own end or the next entry, whichever comes first. */
static void write_heated_stretches(struct plot *plot, const struct heating *heatings, size_t count)
{
    int64_t from_ms = MOMENT_NONE, to_ms = MOMENT_NONE;
    for (size_t i = 0; i < count; i++) {
        int64_t until_ms = i + 1 < count ? moment_sooner(heatings[i].until_at, heatings[i + 1].from_at) : heatings[i].until_at;
        int64_t begin_ms = later(heatings[i].from_at, plot->from_ms);
        int64_t end_ms = moment_sooner(until_ms, plot->to_ms);
        if (begin_ms >= end_ms)
            continue;
        if (from_ms != MOMENT_NONE && begin_ms > to_ms)
            write_stretch(plot->doc->out, from_ms, to_ms);
        if (from_ms == MOMENT_NONE || begin_ms > to_ms)
            from_ms = begin_ms;
        to_ms = end_ms;
    }
    if (from_ms != MOMENT_NONE)
        write_stretch(plot->doc->out, from_ms, to_ms);
}

static void write_heated(struct plot *plot)
{
    size_t count = 0, here = 0;
    const struct heating *heatings = shop_heatings(plot->doc->shop, &count);
    struct heating *own = malloc((count + 1) * sizeof *own);
    json_put_array(plot->doc->out, "heated");
    for (size_t i = 0; own != NULL && i < count; i++) {
        if (heatings[i].place_id == plot->place_id)
            own[here++] = heatings[i];
    }
    if (own == NULL)
        plot->doc->failed = COAT_NO_MEMORY;
    else if (here > 0)
        qsort(own, here, sizeof *own, compare_heating);
    write_heated_stretches(plot, own, here);
    json_out_array_end(plot->doc->out);
    free(own);
}

void doc_plot(struct doc *doc, int64_t place_id, const struct plot_span *span, const struct air_bin *bins)
{
    struct plot plot = {.doc = doc, .place_id = place_id, .from_ms = span->from_ms, .to_ms = plot_span_end(span)};
    struct json_out *out = doc->out;
    json_out_object(out);
    json_put_int(out, "place", place_id);
    json_put_moment(out, "from_at", plot.from_ms);
    json_put_moment(out, "to_at", plot.to_ms);
    json_put_int(out, "bin_s", span->bin_ms / MS_PER_S);
    write_bins(out, span, bins);
    write_gaps(doc, place_id, span, bins);
    write_coats(&plot);
    write_limits(&plot);
    write_heated(&plot);
    json_out_object_end(out);
}
