/* The review before a bake, its start, its end, and one that was done without. */
#include "daemon/shop/baking.h"
#include "daemon/shop/write.h"

#include <math.h>
#include <stdio.h>

#define AREA_MOST_M2 100.0
#define MASS_MOST_KG 5000.0
#define WALL_MOST_MM 500.0
#define LONGEST_BAKE_MS (7 * MS_PER_DAY)

/* ---- what is told of a load ---- */

static enum coat_result check_oven(const struct shop *shop, int64_t place_id, struct coat_error *error)
{
    const struct place *place = NULL;
    enum coat_result result = check_place(shop, "place", place_id, &place, error);
    if (result == COAT_OK && place->kind != PLACE_OVEN)
        return coat_fail(error, COAT_BAD_VALUE, "place", "\"%.63s\" is no oven: name one, or add it with: coat place add NAME --kind oven --volume 100l", place->name);
    return result;
}

/* A failure of one of several parts or steps names it. */
static enum coat_result name_field(enum coat_result result, const char *list, unsigned number, const struct coat_error *why, struct coat_error *error)
{
    char field[64];
    snprintf(field, sizeof field, "%s.%u.%.32s", list, number, why->field);
    return coat_fail(error, result, field, "%s", why->text);
}

static enum coat_result check_part_coat(const struct shop *shop, const struct bake_part *part, struct bake_law *ret_law, struct coat_error *error)
{
    const struct coat *coat = NULL;
    struct bake_terms terms;
    enum coat_result result = check_coat(shop, "coat", part->coat_id, &coat, error);
    if (result != COAT_OK)
        return result;
    enum coat_status status = shop->clocks.item[shop_coat_index(shop, coat->id)].status;
    const struct material_version *version = shop_material_version(shop, coat->material_version_id);
    if (status == COAT_STRUCK || status == COAT_STRIPPED)
        return coat_fail(error, COAT_CONFLICT, "coat", "coat %lld was %s: there is nothing to bake", (long long)coat->id, coat_status_word(status));
    if (!version)
        return coat_fail(error, COAT_NOT_FOUND, "coat", "the material of coat %lld is not known", (long long)coat->id);
    result = bake_terms_of(&version->material, &terms, error);
    return result == COAT_OK ? bake_law_make(&terms, ret_law, error) : result;
}

static enum coat_result check_probe(const struct shop *shop, int64_t probe_id, struct coat_error *error)
{
    const struct sensor *sensor = probe_id != 0 ? shop_sensor(shop, probe_id) : NULL;
    if (probe_id == 0 || (sensor && sensor->removed_at == MOMENT_NONE && sensor->measures[AIR_TEMP]))
        return COAT_OK;
    return coat_fail(error, COAT_NOT_FOUND, "probe", "there is no such sensor in use that measures temperature: coat sensor list shows them");
}

static enum coat_result check_part(const struct shop *shop, const struct bake_part *part, enum oven_air air, struct bake_law *ret_law, struct coat_error *error)
{
    const struct figure_check figures[] = {
        {"mass_kg", part->mass_kg, 0, MASS_MOST_KG, true, "kg"},
        {"area_m2", part->area_m2, 0, AREA_MOST_M2, true, "m2"},
        {"wall_mm", part->wall_mm, 0, WALL_MOST_MM, true, "mm"},
    };
    enum coat_result result = check_part_coat(shop, part, ret_law, error);
    if (result == COAT_OK)
        result = check_figures(figures, sizeof figures / sizeof *figures, error);
    if (result == COAT_OK)
        result = check_probe(shop, part->probe_id, error);
    if (result != COAT_OK)
        return result;
    const struct piece *piece = shop_piece(shop, shop->coats.item[shop_coat_index(shop, part->coat_id)].piece_id);
    struct bake_body body = {part->metal, isnan(part->mass_kg) && piece ? piece->mass_kg : part->mass_kg, part->area_m2,
                             isnan(part->wall_mm) && piece ? piece->wall_mm : part->wall_mm, (double)NAN};
    struct bake_range lag;
    return bake_lag(&body, air, &lag, error);
}

static enum coat_result check_parts(const struct shop *shop, const struct bake_order *order, struct bake_law laws[SHOP_BAKE_PARTS_MAX], struct coat_error *error)
{
    if (order->parts < 1 || order->parts > SHOP_BAKE_PARTS_MAX)
        return coat_fail(error, COAT_BAD_VALUE, "parts", "a load has 1 to %d coats; this one has %u", SHOP_BAKE_PARTS_MAX, order->parts);
    for (unsigned i = 0; i < order->parts; i++) {
        struct coat_error why = {0};
        enum coat_result result = check_part(shop, &order->part[i], order->bake.oven_air, &laws[i], &why);
        if (result != COAT_OK)
            return name_field(result, "parts", i, &why, error);
        for (unsigned k = 0; k < i; k++)
            if (order->part[k].coat_id == order->part[i].coat_id)
                return coat_fail(error, COAT_BAD_VALUE, "parts", "coat %lld is told twice: name each coat of the load once", (long long)order->part[i].coat_id);
    }
    return COAT_OK;
}

/* ---- the programme ---- */

static double longest_hold(const struct bake_order *order, const struct bake_law laws[], double target_c)
{
    double hold_min = 0.0;
    for (unsigned i = 0; i < order->parts; i++)
        hold_min = fmax(hold_min, bake_minutes_at(&laws[i], target_c));
    return hold_min;
}

/* Without steps: as hot as the coolest row that all of it bakes at. What is left out of a step is filled in. */
static enum coat_result complete_steps(struct bake_order *order, const struct bake_law laws[], struct coat_error *error)
{
    double coolest_c = 0.0;
    for (unsigned i = 0; i < order->parts; i++)
        coolest_c = fmax(coolest_c, laws[i].coldest_c);
    if (order->steps == 0)
        order->step[order->steps++] = (struct bake_step){coolest_c, (double)NAN, (double)NAN};
    for (unsigned i = 0; i < order->steps && i < BAKE_STEPS_MAX; i++) {
        struct bake_step *step = &order->step[i];
        char field[32];
        step->ramp_min = isnan(step->ramp_min) ? BAKE_RAMP_DEFAULT_MIN : step->ramp_min;
        step->hold_min = isnan(step->hold_min) ? longest_hold(order, laws, step->target_c) : step->hold_min;
        if (isfinite(step->hold_min))
            continue;
        snprintf(field, sizeof field, "steps.%u.hold_min", i);
        return coat_fail(error, COAT_BAD_VALUE, field, "at %.4g C nothing bakes (the coldest bake row is %.4g C), so the rows do not say how long: write how long, as in 90C,30min",
                         step->target_c, coolest_c);
    }
    return COAT_OK;
}

static enum coat_result check_steps(const struct bake_order *order, struct coat_error *error)
{
    static const struct bake_range some_lag = {1.0, 1.0, 1.0};
    struct bake_run cold;
    struct bake_programme programme;
    bake_run_begin(&some_lag, BAKE_ROOM_DEFAULT_C, &cold);
    return bake_programme_make(order->step, order->steps, &cold, BAKE_ROOM_DEFAULT_C, &programme, error);
}

static enum coat_result check_order(const struct shop *shop, struct bake_order *order, struct coat_error *error)
{
    struct bake_law laws[SHOP_BAKE_PARTS_MAX];
    const struct figure_check figures[] = {
        {"retained_pct", order->bake.retained_pct, 0, 100, false, "%"},
        {"room_c", order->bake.room_c, -20, 45, false, "C"},
    };
    enum coat_result result = check_oven(shop, order->bake.place_id, error);
    if (result == COAT_OK)
        result = check_figures(figures, sizeof figures / sizeof *figures, error);
    if (result == COAT_OK)
        result = check_text("note", order->bake.note, sizeof order->bake.note, error);
    if (result == COAT_OK)
        result = check_parts(shop, order, laws, error);
    if (result == COAT_OK)
        result = complete_steps(order, laws, error);
    return result == COAT_OK ? check_steps(order, error) : result;
}

/* ---- recording ---- */

static bool make_room(struct shop *shop, const struct bake_order *order)
{
    return LIST_RESERVE(&shop->bakes) && LIST_RESERVE(&shop->bake_marks) && LIST_RESERVE_MORE(&shop->bake_parts, order->parts) &&
           LIST_RESERVE_MORE(&shop->bake_holds, order->steps);
}

static enum coat_result store_order(struct shop *shop, struct bake_order *order, struct bake_hold holds[BAKE_STEPS_MAX])
{
    int64_t id = 0;
    enum coat_result result = store_bake_add(shop->store, &order->bake, &id);
    order->bake.id = id;
    for (unsigned i = 0; result == COAT_OK && i < order->parts; i++) {
        order->part[i].bake_id = id;
        order->part[i].id = 0;
        result = store_bake_part_add(shop->store, &order->part[i], &order->part[i].id);
    }
    for (unsigned i = 0; result == COAT_OK && i < order->steps; i++) {
        holds[i] = (struct bake_hold){0, id, (int32_t)i, order->step[i].target_c, order->step[i].ramp_min, order->step[i].hold_min};
        result = store_bake_hold_add(shop->store, &holds[i], &holds[i].id);
    }
    return result;
}

/* That they may be baked is told no more. */
static void look_at_coats(struct shop *shop, int64_t bake_id)
{
    const struct bake_part *parts[SHOP_BAKE_PARTS_MAX];
    unsigned count = bake_parts_of(shop, bake_id, parts);
    for (unsigned i = 0; i < count; i++) {
        size_t index = shop_coat_index(shop, parts[i]->coat_id);
        if (index != SIZE_MAX)
            shop->clocks.item[index].dirty = true;
    }
}

static enum coat_result record_order(struct shop *shop, const struct shop_write *write, struct bake_order *order, int64_t *ret_id, struct coat_error *error)
{
    struct bake_hold holds[BAKE_STEPS_MAX];
    if (!make_room(shop, order))
        return write_failed(COAT_NO_MEMORY, error);
    enum coat_result result = write_begin(shop, error);
    if (result != COAT_OK)
        return result;
    result = store_order(shop, order, holds);
    if (result != COAT_OK)
        return write_undone(shop, result, error);
    result = write_commit(shop, write, &order->bake.id, 1, error);
    if (result != COAT_OK)
        return result;
    LIST_PUSH(&shop->bakes, order->bake);
    LIST_PUSH(&shop->bake_marks, 0);
    for (unsigned i = 0; i < order->parts; i++)
        LIST_PUSH(&shop->bake_parts, order->part[i]);
    for (unsigned i = 0; i < order->steps; i++)
        LIST_PUSH(&shop->bake_holds, holds[i]);
    look_at_coats(shop, order->bake.id);
    *ret_id = order->bake.id;
    return write_settle(shop, write, COAT_OK, error);
}

enum coat_result shop_bake_check(struct shop *shop, const struct shop_write *write, const struct bake_order *order, int64_t *ret_id, struct coat_error *error)
{
    struct bake_order wanted = *order;
    wanted.bake.id = 0;
    wanted.bake.reviewed = true;
    wanted.bake.entered_at = write->now_ms;
    wanted.bake.started_at = wanted.bake.ended_at = MOMENT_NONE;
    enum coat_result result = check_order(shop, &wanted, error);
    return result == COAT_OK ? record_order(shop, write, &wanted, ret_id, error) : result;
}

enum coat_result shop_bake_log(struct shop *shop, const struct shop_write *write, const struct bake_order *order, int64_t *ret_id, struct coat_error *error)
{
    struct bake_order wanted = *order;
    wanted.bake.id = 0;
    wanted.bake.reviewed = false;
    wanted.bake.entered_at = write->now_ms;
    enum coat_result result = check_order(shop, &wanted, error);
    if (result == COAT_OK)
        result = check_moment("started_at", wanted.bake.started_at, write->now_ms, error);
    if (result == COAT_OK)
        result = check_moment("ended_at", wanted.bake.ended_at, write->now_ms, error);
    if (result == COAT_OK && (wanted.bake.ended_at <= wanted.bake.started_at || wanted.bake.ended_at - wanted.bake.started_at > LONGEST_BAKE_MS))
        return coat_fail(error, COAT_BAD_VALUE, "ended_at", "a bake ends after it began, and within a week: write --from and --to");
    return result == COAT_OK ? record_order(shop, write, &wanted, ret_id, error) : result;
}

/* ---- answers ---- */

static enum coat_result find_bake(const struct shop *shop, int64_t bake_id, struct bake **ret, struct coat_error *error)
{
    size_t index = bake_index(shop, bake_id);
    if (index == SIZE_MAX)
        return coat_fail(error, COAT_NOT_FOUND, "", "there is no bake %lld: coat bake show lists them", (long long)bake_id);
    *ret = &shop->bakes.item[index];
    return COAT_OK;
}

static enum coat_result find_review(const struct shop *shop, int64_t bake_id, struct bake **ret, struct coat_error *error)
{
    enum coat_result result = find_bake(shop, bake_id, ret, error);
    if (result == COAT_OK && ((*ret)->started_at != MOMENT_NONE || (*ret)->ended_at != MOMENT_NONE))
        return coat_fail(error, COAT_CONFLICT, "", "the review of bake %lld is over: begin a new one with coat bake check", (long long)bake_id);
    return result;
}

static enum coat_result check_answer(const struct bake_answer *answer, struct coat_error *error)
{
    enum bake_item item;
    enum bake_ruin thing;
    if (!bake_item_from_word(answer->about, &item) && !bake_ruin_from_word(answer->about, &thing))
        return coat_fail(error, COAT_BAD_VALUE, "about", "\"%.31s\" is no question of the review and nothing that it lists: coat bake show N names them", answer->about);
    if (answer->answer != ANSWER_YES && answer->answer != ANSWER_NO)
        return coat_fail(error, COAT_BAD_VALUE, "answer", "answer \"%.31s\" with yes or no", answer->about);
    return COAT_OK;
}

static enum coat_result store_answers(struct shop *shop, int64_t bake_id, int64_t at, const struct bake_answer *answers, size_t count, struct bake_answer *ret)
{
    enum coat_result result = COAT_OK;
    for (size_t i = 0; result == COAT_OK && i < count; i++) {
        ret[i] = answers[i];
        ret[i].bake_id = bake_id;
        ret[i].at = at;
        ret[i].id = 0;
        result = store_bake_answer_add(shop->store, &ret[i], &ret[i].id);
    }
    return result;
}

enum coat_result shop_bake_answer(struct shop *shop, const struct shop_write *write, int64_t bake_id, const struct bake_answer *answers, size_t count,
                                  struct coat_error *error)
{
    struct bake *bake = NULL;
    struct bake_answer kept[BAKE_ANSWERS_MAX];
    enum coat_result result = find_review(shop, bake_id, &bake, error);
    if (result == COAT_OK && (count < 1 || count > BAKE_ANSWERS_MAX))
        return coat_fail(error, COAT_BAD_VALUE, "answers", "1 to %d answers come at once; these are %zu", (int)BAKE_ANSWERS_MAX, count);
    for (size_t i = 0; result == COAT_OK && i < count; i++)
        result = check_answer(&answers[i], error);
    if (result == COAT_OK && !LIST_RESERVE_MORE(&shop->bake_answers, count))
        result = write_failed(COAT_NO_MEMORY, error);
    if (result == COAT_OK)
        result = write_begin(shop, error);
    if (result != COAT_OK)
        return result;
    result = store_answers(shop, bake_id, write->now_ms, answers, count, kept);
    if (result != COAT_OK)
        return write_undone(shop, result, error);
    result = write_commit(shop, write, &bake_id, 1, error);
    if (result != COAT_OK)
        return result;
    for (size_t i = 0; i < count; i++)
        LIST_PUSH(&shop->bake_answers, kept[i]);
    return write_settle(shop, write, COAT_OK, error);
}

/* ---- start and end ---- */

static enum coat_result refused(const struct bake_view *view, struct coat_error *error)
{
    if (view->refusals == 1)
        return coat_fail(error, COAT_CONFLICT, "review", "%s", view->refusal[0].text);
    return coat_fail(error, COAT_CONFLICT, "review", "%.210s%s And %u more against it: coat bake show %lld", view->refusal[0].text,
                     strlen(view->refusal[0].text) > 210 ? " …" : "", view->refusals - 1, (long long)view->bake->id);
}

static enum coat_result record_bake(struct shop *shop, const struct shop_write *write, const struct bake *bake, struct bake *into, struct coat_error *error)
{
    enum coat_result result = write_begin(shop, error);
    if (result != COAT_OK)
        return result;
    result = store_bake_put(shop->store, bake);
    if (result == COAT_OK)
        result = store_bake_seen_put(shop->store, write->now_ms);
    if (result != COAT_OK)
        return write_undone(shop, result, error);
    result = write_commit(shop, write, &bake->id, 1, error);
    if (result != COAT_OK)
        return result;
    *into = *bake;
    shop->bake_seen_at = write->now_ms;
    look_at_coats(shop, bake->id);
    return write_settle(shop, write, COAT_OK, error);
}

enum coat_result shop_bake_start(struct shop *shop, const struct shop_write *write, int64_t bake_id, int64_t at, struct coat_error *error)
{
    struct bake *bake = NULL;
    struct bake_view view;
    enum coat_result result = find_review(shop, bake_id, &bake, error);
    if (result == COAT_OK)
        result = check_moment("at", at, write->now_ms, error);
    if (result != COAT_OK)
        return result;
    if (at < write->now_ms - BAKE_START_LATE_MS || at < bake->entered_at)
        return coat_fail(error, COAT_BAD_VALUE, "at", "a start is entered within %d min, and not before its review: coat bake log records one that was done without",
                         (int)(BAKE_START_LATE_MS / MS_PER_MIN));
    if (!shop_bake_view(shop, bake_id, write->now_ms, &view))
        return COAT_NOT_FOUND;
    if (view.refusals > 0)
        return refused(&view, error);
    struct bake started = *bake;
    started.started_at = at;
    return record_bake(shop, write, &started, bake, error);
}

/* What is noted at the end comes after what was noted before: neither is lost. */
static enum coat_result add_note(struct bake *bake, const char *note, struct coat_error *error)
{
    size_t before = strlen(bake->note), more = note != NULL ? strlen(note) : 0;
    if (more == 0)
        return COAT_OK;
    if (before > 0 && before + 2 + more >= sizeof bake->note)
        return coat_fail(error, COAT_BAD_VALUE, "note", "with the note that is there already it has %zu bytes: at most %zu fit", before + 2 + more,
                         sizeof bake->note - 1);
    snprintf(bake->note + before, sizeof bake->note - before, "%s%s", before > 0 ? "; " : "", note);
    return check_text("note", bake->note, sizeof bake->note, error);
}

enum coat_result shop_bake_stop(struct shop *shop, const struct shop_write *write, int64_t bake_id, int64_t at, const char *note, struct coat_error *error)
{
    struct bake *bake = NULL;
    enum coat_result result = find_bake(shop, bake_id, &bake, error);
    if (result == COAT_OK)
        result = check_moment("at", at, write->now_ms, error);
    if (result != COAT_OK)
        return result;
    if (bake->ended_at != MOMENT_NONE)
        return coat_fail(error, COAT_CONFLICT, "", "bake %lld has ended already", (long long)bake_id);
    if (bake->started_at != MOMENT_NONE && at <= bake->started_at)
        return coat_fail(error, COAT_BAD_VALUE, "at", "a bake ends after it began");
    struct bake ended = *bake;
    ended.ended_at = at;
    result = add_note(&ended, note, error);
    return result == COAT_OK ? record_bake(shop, write, &ended, bake, error) : result;
}

enum coat_result shop_bake_resume(struct shop *shop, const struct shop_write *write, int64_t bake_id, struct coat_error *error)
{
    struct bake *bake = NULL;
    enum coat_result result = find_bake(shop, bake_id, &bake, error);
    if (result != COAT_OK)
        return result;
    struct bake_gap *gap = bake_open_gap(shop, bake_id);
    if (!gap || !bake_is_on(bake, write->now_ms))
        return coat_fail(error, COAT_CONFLICT, "", "bake %lld is not interrupted", (long long)bake_id);
    struct bake_gap closed = *gap;
    closed.to_at = write->now_ms;
    result = write_begin(shop, error);
    if (result != COAT_OK)
        return result;
    result = store_bake_gap_put(shop->store, &closed);
    if (result == COAT_OK)
        result = store_bake_seen_put(shop->store, write->now_ms);
    if (result != COAT_OK)
        return write_undone(shop, result, error);
    result = write_commit(shop, write, &bake_id, 1, error);
    if (result != COAT_OK)
        return result;
    *gap = closed;
    shop->bake_seen_at = write->now_ms;
    return write_settle(shop, write, COAT_OK, error);
}
