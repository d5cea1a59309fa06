/* How a stage stands at a moment: which span is in, and the word for it. */
#include "daemon/shop/notice.h"

struct stage_run stage_run_of(struct coat_clock *clock, enum stage stage)
{
    struct stage_run run = {NULL, 0};
    for (unsigned i = 0; i < clock->boundaries; i++) {
        if (clock->boundary[i].stage != stage)
            continue;
        if (run.count++ == 0)
            run.first = &clock->boundary[i];
    }
    return run;
}

int64_t stage_enters(const struct stage_run *run, unsigned index)
{
    int64_t enters = INT64_MIN;
    for (unsigned i = 0; i < index; i++) {
        int64_t due = boundary_due(&run->first[i]);
        if (due == MOMENT_NONE)
            return MOMENT_NONE;
        if (due > enters)
            enters = due;
    }
    return enters;
}

int64_t stage_enters_soonest(const struct stage_run *run, unsigned index)
{
    int64_t enters = INT64_MIN;
    for (unsigned i = 0; i < index; i++) {
        const struct boundary_clock *b = &run->first[i];
        bool floored = b->side == SIDE_OPENING && b->limit_at != MOMENT_NONE;
        int64_t soonest = floored ? b->limit_at : boundary_due(b);
        if (soonest == MOMENT_NONE)
            return MOMENT_NONE;
        if (soonest > enters)
            enters = soonest;
    }
    return enters;
}

unsigned stage_current(const struct stage_run *run, int64_t at_ms)
{
    unsigned current = 0;
    while (current < run->count) {
        int64_t due = boundary_due(&run->first[current]);
        if (due == MOMENT_NONE || due > at_ms)
            break;
        current++;
    }
    return current;
}

enum span_do stage_span(const struct material *material, const struct stage_run *run, unsigned index)
{
    return index == 0 ? material->stage[run->first->stage].first : run->first[index - 1].then;
}

static bool go_before(const struct material *material, const struct stage_run *run, unsigned current)
{
    for (unsigned i = 0; i < current; i++)
        if (stage_span(material, run, i) == SPAN_GO)
            return true;
    return false;
}

bool stage_prepared(const struct shop *shop, const struct coat *coat, const struct material *material,
                    const struct stage_run *run, int64_t at_ms)
{
    unsigned current = stage_current(run, at_ms);
    enum span_do does = stage_span(material, run, current);
    if (current == 0 || (does != SPAN_WIPE && does != SPAN_SCUFF))
        return false;
    int64_t since = stage_enters(run, current);
    for (size_t i = 0; i < shop->sandings.count; i++) {
        const struct sanding *sanding = &shop->sandings.item[i];
        if (sanding->coat_id == coat->id && sanding->at >= since && sanding->at <= at_ms)
            return true;
    }
    return false;
}

static bool about_to_close(const struct shop *shop, const struct coat *coat, const struct stage_run *run, unsigned current, int64_t at_ms)
{
    if (current >= run->count)
        return false;
    int64_t due = boundary_due(&run->first[current]);
    return due != MOMENT_NONE && due - coat_lead_ms(shop, coat) <= at_ms;
}

enum state stage_state(const struct shop *shop, const struct coat_clock *clock, const struct material *material,
                       const struct stage_run *run, int64_t at_ms)
{
    unsigned current = stage_current(run, at_ms);
    const struct coat *coat = &shop->coats.item[clock - shop->clocks.item];
    if (!stage_is_window(run->first->stage))
        return current == run->count ? STATE_REACHED : STATE_WAITING;
    if (clock->status != COAT_ON)
        return STATE_USED;
    switch (stage_span(material, run, current)) {
    case SPAN_GO:
        return about_to_close(shop, coat, run, current, at_ms) ? STATE_CLOSING : STATE_OPEN;
    case SPAN_WIPE:
    case SPAN_SCUFF:
        return stage_prepared(shop, coat, material, run, at_ms) ? STATE_OPEN : STATE_PREPARE;
    case SPAN_TEST:
        return STATE_PREPARE;
    case SPAN_STRIP:
        return STATE_MISSED;
    case SPAN_WAIT:
    case SPAN_COUNT:
        break;
    }
    return go_before(material, run, current) ? STATE_SHUT : STATE_WAITING;
}
