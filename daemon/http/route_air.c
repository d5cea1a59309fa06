/* The air of a place for a plot: whole seconds, equal bins, whatever the span. */
#include "daemon/http/routes.h"
#include "daemon/http/work.h"

#include <stdlib.h>

#define SHOWN_MS (48 * MS_PER_H)
#define BINS_AT_FIRST 400
/* Moments between which plots are asked for: the years 1900 to 2200. */
#define EARLIEST_MS INT64_C(-2208988800000)
#define LATEST_MS INT64_C(7258118400000)

static int64_t floor_to_second(int64_t at_ms)
{
    int64_t second = MS_PER_S;
    return at_ms - ((at_ms % second) + second) % second;
}

/* As many bins as asked for or fewer, each of the same whole seconds; the last one ends at or after `to`. */
static struct plot_span cut_span(int64_t from_ms, int64_t to_ms, unsigned bins)
{
    int64_t from = floor_to_second(from_ms);
    int64_t seconds = (to_ms - from + MS_PER_S - 1) / MS_PER_S;
    int64_t bin_s = (seconds + bins - 1) / bins;
    return (struct plot_span){.from_ms = from, .bin_ms = bin_s * MS_PER_S, .bins = (unsigned)((seconds + bin_s - 1) / bin_s)};
}

static enum coat_result read_span(struct work *work, struct plot_span *ret)
{
    int64_t to_ms = work->now_ms;
    int64_t from_ms = MOMENT_NONE;
    int64_t bins = BINS_AT_FIRST;
    if (http_query_moment(work->request, "to", &to_ms, &work->error) != COAT_OK ||
        http_query_moment(work->request, "from", &from_ms, &work->error) != COAT_OK ||
        http_query_int(work->request, "bins", 1, AIR_BINS_MAX, &bins, &work->error) != COAT_OK)
        return work->error.code;
    if (from_ms == MOMENT_NONE)
        from_ms = to_ms - SHOWN_MS;
    if (from_ms >= to_ms)
        return coat_fail(&work->error, COAT_BAD_VALUE, "from", "from does not lie before to: swap the two, or leave from out for the last 48 h");
    if (from_ms < EARLIEST_MS || to_ms > LATEST_MS)
        return coat_fail(&work->error, COAT_BAD_VALUE, from_ms < EARLIEST_MS ? "from" : "to", "a plot lies within the years 1900 to 2200");
    *ret = cut_span(from_ms, to_ms, (unsigned)bins);
    return COAT_OK;
}

static enum coat_result show_air(struct work *work)
{
    struct plot_span span;
    enum coat_result result = read_span(work, &span);
    if (result != COAT_OK)
        return result;
    struct air_bin *bins = malloc(span.bins * sizeof *bins);
    if (bins == NULL)
        return COAT_NO_MEMORY;
    result = shop_air_bins(work->shop, work->id, span.from_ms, plot_span_end(&span), span.bins, bins);
    if (result == COAT_OK)
        doc_plot(&work->doc, work->id, &span, bins);
    free(bins);
    return result;
}

void route_air(WORK_ARGUMENTS)
{
    work_read(context, request, response, &work_place, show_air);
}
