/* Bakes: reviews, their answers, start and end, and those that were done without. */
#include "daemon/http/routes.h"
#include "daemon/http/work.h"

#include <math.h>

#define BAKES_SHOWN_MOST 20 /* each with the whole of its review */
#define RAMP_MOST_MIN BAKE_STEP_MOST_MIN

static bool is_open(enum bake_state state)
{
    return state != BAKE_COLD && state != BAKE_GIVEN_UP;
}

static enum coat_result show_bakes(struct work *work)
{
    size_t count = 0;
    unsigned shown = 0;
    struct bake_view view;
    int64_t all = 0;
    if (http_query_int(work->request, "all", 0, 1, &all, &work->error) != COAT_OK)
        return work->error.code;
    const struct bake *bakes = shop_bakes(work->shop, &count);
    json_out_object(work->doc.out);
    json_put_array(work->doc.out, "items");
    for (size_t i = count; i-- > 0 && shown < BAKES_SHOWN_MOST;) {
        if (!shop_bake_view(work->shop, bakes[i].id, work->now_ms, &view) || (all == 0 && !is_open(view.state)))
            continue;
        json_out_object(work->doc.out);
        doc_bake(&work->doc, &view);
        json_out_object_end(work->doc.out);
        shown++;
    }
    json_out_array_end(work->doc.out);
    work_end_document(work);
    return COAT_OK;
}

static enum coat_result show_bake(struct work *work)
{
    struct bake_view view;
    if (!shop_bake_view(work->shop, work_subject(work), work->now_ms, &view))
        return coat_fail(&work->error, COAT_NOT_FOUND, "", "there is no such bake: GET /api/v1/bakes lists them");
    json_out_object(work->doc.out);
    doc_bake(&work->doc, &view);
    doc_caution_texts(&work->doc, "caution_texts"); /* "cautions" are the codes of the bake already */
    json_out_object_end(work->doc.out);
    return COAT_OK;
}

/* ---- a load ---- */

static void read_part(struct work *work, struct json_in *in, struct bake_part *part)
{
    *part = (struct bake_part){.metal = METAL_IRON, .mass_kg = (double)NAN, .area_m2 = (double)NAN, .wall_mm = (double)NAN};
    if (json_in_id(in, "coat", JSON_REQUIRED, &part->coat_id))
        work_known(work, in, "coat", &work_coat, part->coat_id);
    json_in_metal(in, "metal", JSON_OPTIONAL, &part->metal);
    json_in_number(in, "mass_kg", JSON_NULLABLE, 0.001, 5000, &part->mass_kg);
    json_in_number(in, "area_m2", JSON_NULLABLE, 1e-5, 100, &part->area_m2);
    json_in_number(in, "wall_mm", JSON_NULLABLE, 0.1, 500, &part->wall_mm);
    if (json_in_id(in, "probe", JSON_NULLABLE, &part->probe_id) && part->probe_id != 0)
        work_known(work, in, "probe", &work_sensor, part->probe_id);
    work_close(in);
}

static void read_parts(struct work *work, struct bake_order *order)
{
    struct json_in_list list;
    struct json_in inner;
    if (!json_in_list(&work->in, "parts", JSON_REQUIRED, 1, SHOP_BAKE_PARTS_MAX, &list))
        return;
    while (json_in_next_object(&list, &inner))
        read_part(work, &inner, &order->part[order->parts++]);
}

static void read_steps(struct work *work, struct bake_order *order)
{
    struct json_in_list list;
    struct json_in inner;
    if (!json_in_list(&work->in, "steps", JSON_OPTIONAL, 0, BAKE_STEPS_MAX, &list))
        return;
    while (json_in_next_object(&list, &inner)) {
        struct bake_step *step = &order->step[order->steps++];
        *step = (struct bake_step){(double)NAN, (double)NAN, (double)NAN};
        json_in_number(&inner, "target_c", JSON_REQUIRED, 0, BAKE_OVEN_MOST_C, &step->target_c);
        json_in_number(&inner, "ramp_min", JSON_NULLABLE, 0, RAMP_MOST_MIN, &step->ramp_min);
        json_in_number(&inner, "hold_min", JSON_NULLABLE, 0, BAKE_STEP_MOST_MIN, &step->hold_min);
        work_close(&inner);
    }
}

static enum coat_result add_bake(struct work *work)
{
    int64_t id = 0;
    struct json_in *in = &work->in;
    struct bake_order order = {.bake = {.retained_pct = (double)NAN, .room_c = (double)NAN, .started_at = MOMENT_NONE, .ended_at = MOMENT_NONE}};
    if (json_in_id(in, "place", JSON_REQUIRED, &order.bake.place_id))
        work_known(work, in, "place", &work_place, order.bake.place_id);
    json_in_oven_air(in, "oven_air", JSON_OPTIONAL, &order.bake.oven_air);
    json_in_number(in, "retained_pct", JSON_NULLABLE, 0, 100, &order.bake.retained_pct);
    json_in_number(in, "room_c", JSON_NULLABLE, -20, 45, &order.bake.room_c);
    json_in_string(in, "note", JSON_OPTIONAL, order.bake.note, sizeof order.bake.note);
    read_parts(work, &order);
    read_steps(work, &order);
    bool done = json_in_has(in, "started_at") || json_in_has(in, "ended_at");
    if (done) {
        json_in_moment(in, "started_at", JSON_REQUIRED, &order.bake.started_at);
        json_in_moment(in, "ended_at", JSON_REQUIRED, &order.bake.ended_at);
    }
    if (json_in_close(in) != COAT_OK)
        return work->error.code;
    enum coat_result result = done ? shop_bake_log(work->shop, &work->write, &order, &id, &work->error)
                                   : shop_bake_check(work->shop, &work->write, &order, &id, &work->error);
    work_made(work, id);
    return result;
}

/* ---- what becomes of it ---- */

static enum coat_result answer_bake(struct work *work)
{
    struct bake_answer answers[BAKE_ANSWERS_MAX];
    struct json_in_list list;
    struct json_in inner;
    size_t count = 0;
    if (json_in_list(&work->in, "answers", JSON_REQUIRED, 1, BAKE_ANSWERS_MAX, &list))
        while (json_in_next_object(&list, &inner)) {
            struct bake_answer *answer = &answers[count++];
            *answer = (struct bake_answer){0};
            json_in_string(&inner, "about", JSON_REQUIRED, answer->about, sizeof answer->about);
            json_in_answer(&inner, "answer", JSON_REQUIRED, &answer->answer);
            work_close(&inner);
        }
    if (json_in_close(&work->in) != COAT_OK)
        return work->error.code;
    return shop_bake_answer(work->shop, &work->write, work->id, answers, count, &work->error);
}

static enum coat_result start_bake(struct work *work)
{
    int64_t at = work->now_ms;
    work_past(work, "at", &at);
    if (json_in_close(&work->in) != COAT_OK)
        return work->error.code;
    return shop_bake_start(work->shop, &work->write, work->id, at, &work->error);
}

static enum coat_result stop_bake(struct work *work)
{
    int64_t at = work->now_ms;
    char note[NOTE_SIZE] = "";
    work_past(work, "at", &at);
    json_in_string(&work->in, "note", JSON_OPTIONAL, note, sizeof note);
    if (json_in_close(&work->in) != COAT_OK)
        return work->error.code;
    return shop_bake_stop(work->shop, &work->write, work->id, at, note, &work->error);
}

static enum coat_result resume_bake(struct work *work)
{
    if (json_in_close(&work->in) != COAT_OK)
        return work->error.code;
    return shop_bake_resume(work->shop, &work->write, work->id, &work->error);
}

void route_bakes_list(WORK_ARGUMENTS)
{
    work_read(context, request, response, NULL, show_bakes);
}

void route_bake_get(WORK_ARGUMENTS)
{
    work_read(context, request, response, &work_bake, show_bake);
}

void route_bake_add(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {201, NULL, add_bake, show_bake};
    work_write(context, request, response, &plan);
}

void route_bake_answer(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {200, &work_bake, answer_bake, show_bake};
    work_write(context, request, response, &plan);
}

void route_bake_start(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {200, &work_bake, start_bake, show_bake};
    work_write(context, request, response, &plan);
}

void route_bake_stop(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {200, &work_bake, stop_bake, show_bake};
    work_write(context, request, response, &plan);
}

void route_bake_resume(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {200, &work_bake, resume_bake, show_bake};
    work_write(context, request, response, &plan);
}
