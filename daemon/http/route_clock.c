/* The test clock, where there is one. */
#include "daemon/http/routes.h"
#include "daemon/http/work.h"

#define ADVANCE_MOST_S (10.0 * 366 * 86400)

static enum coat_result show_clock(struct work *work)
{
    json_out_object(work->doc.out);
    json_put_moment(work->doc.out, "now_at", http_now_ms(work->context));
    json_put_number(work->doc.out, "rate", work->context->clock->rate, 3);
    json_out_object_end(work->doc.out);
    return COAT_OK;
}

static enum coat_result move_clock(struct work *work)
{
    struct json_in *in = &work->in;
    int64_t to_ms = work->now_ms;
    double advance_s = 0.0;
    bool to = json_in_moment(in, "to_at", JSON_OPTIONAL, &to_ms);
    bool by = json_in_number(in, "advance_s", JSON_OPTIONAL, 0.0, ADVANCE_MOST_S, &advance_s);
    if (to == by)
        json_in_fail(in, "to_at", "say either to_at or advance_s");
    if (json_in_close(in) != COAT_OK)
        return work->error.code;
    return clock_step_to(work->context, to_ms + (int64_t)(advance_s * 1000.0), &work->error);
}

/* No fact is written, so there is no answer to keep: a key is left alone. */
static enum coat_result move_and_show(struct work *work)
{
    enum coat_result result = move_clock(work);
    return result == COAT_OK ? show_clock(work) : result;
}

void route_clock_get(WORK_ARGUMENTS)
{
    work_read(context, request, response, NULL, show_clock);
}

void route_clock_move(WORK_ARGUMENTS)
{
    work_read(context, request, response, NULL, move_and_show);
}
