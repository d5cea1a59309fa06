/* How far a bake is: each part along what its oven did, by a probe, by readings, or as the oven was told. Where readings of the oven come by hand the
 * truth lies between them and the programme: the least that it can have been counts for "done", the most for "too much". */
#include "daemon/shop/baking.h"
#include "daemon/shop/notice.h"
#include "daemon/shop/write.h"

#include <math.h>
#include <stdlib.h>

#define MS_IN_MIN 60000.0
#define READINGS_MOST 50000
#define HAND_STRETCH_MS (5 * MS_PER_MIN) /* between readings by hand the oven is reckoned in stretches of this */

/* ---- finding ---- */

size_t bake_index(const struct shop *shop, int64_t bake_id)
{
    for (size_t i = 0; i < shop->bakes.count; i++)
        if (shop->bakes.item[i].id == bake_id)
            return i;
    return SIZE_MAX;
}

unsigned bake_parts_of(const struct shop *shop, int64_t bake_id, const struct bake_part *ret[SHOP_BAKE_PARTS_MAX])
{
    unsigned count = 0;
    for (size_t i = 0; i < shop->bake_parts.count && count < SHOP_BAKE_PARTS_MAX; i++)
        if (shop->bake_parts.item[i].bake_id == bake_id)
            ret[count++] = &shop->bake_parts.item[i];
    return count;
}

static unsigned steps_of(const struct shop *shop, int64_t bake_id, struct bake_step ret[BAKE_STEPS_MAX])
{
    unsigned count = 0;
    for (size_t i = 0; i < shop->bake_holds.count && count < BAKE_STEPS_MAX; i++) {
        const struct bake_hold *hold = &shop->bake_holds.item[i];
        if (hold->bake_id == bake_id)
            ret[count++] = (struct bake_step){hold->target_c, hold->ramp_min, hold->hold_min};
    }
    return count;
}

bool coat_is_in_bake(const struct shop *shop, int64_t coat_id)
{
    for (size_t i = 0; i < shop->bake_parts.count; i++) {
        const struct bake_part *part = &shop->bake_parts.item[i];
        size_t index = part->coat_id == coat_id ? bake_index(shop, part->bake_id) : SIZE_MAX;
        if (index != SIZE_MAX && shop->bakes.item[index].started_at != MOMENT_NONE)
            return true;
    }
    return false;
}

bool bake_is_on(const struct bake *bake, int64_t at_ms)
{
    return bake->started_at != MOMENT_NONE && bake->started_at <= at_ms && bake->ended_at == MOMENT_NONE && at_ms - bake->started_at < BAKE_FORGOTTEN_MS;
}

/* ---- what is known of the oven ---- */

struct oven {
    struct reading *reading;      /* by time; from before the start */
    size_t readings;
    struct reading *probe;        /* of the part at hand */
    size_t probes;
    int64_t from_ms, to_ms;       /* the start; now, or the end */
};

/* One that somebody put there, not by hand, has told something since the start. */
static bool is_read_by_sensor(const struct shop *shop, const struct bake *bake, int64_t to_ms)
{
    for (size_t i = 0; i < shop->sensors.count; i++) {
        const struct sensor *sensor = &shop->sensors.item[i];
        int64_t last_ms = MOMENT_NONE;
        if (sensor->place_id != bake->place_id || sensor->kind == SENSOR_BY_HAND || !sensor->measures[AIR_TEMP])
            continue;
        if (store_reading_before(shop->store, sensor->id, to_ms, &last_ms) == COAT_OK && last_ms != MOMENT_NONE && last_ms >= bake->started_at)
            return true;
    }
    return false;
}

/* The last with a temperature at or before at_ms, not before from_ms; NULL. */
static const struct reading *last_reading(const struct reading *r, size_t n, int64_t from_ms, int64_t at_ms)
{
    for (size_t i = history_count_until(r, n, at_ms); i-- > 0 && r[i].at_ms >= from_ms;)
        if (r[i].temp_mc != READING_NONE)
            return &r[i];
    return NULL;
}

static void read_oven(struct shop *shop, struct bake_view *view, struct oven *oven)
{
    const struct bake *bake = view->bake;
    int64_t look_back_ms = bake->started_at - (int64_t)BAKE_JOIN_MOST_MIN * MS_PER_MIN;
    if (shop_readings(shop, bake->place_id, look_back_ms, oven->to_ms + 1, READINGS_MOST, &oven->reading, &oven->readings) != COAT_OK)
        oven->readings = 0;
    const struct reading *last = last_reading(oven->reading, oven->readings, bake->started_at, oven->to_ms);
    view->reading = is_read_by_sensor(shop, bake, oven->to_ms) ? OVEN_READ : last ? OVEN_BY_HAND : OVEN_UNREAD;
    view->oven_at = last ? last->at_ms : MOMENT_NONE;
    view->oven_c = last ? last->temp_mc / 1000.0 : (double)NAN;
}

static void read_probe(struct shop *shop, const struct bake_part *part, struct oven *oven)
{
    size_t capacity = 0;
    const struct sensor *sensor = part->probe_id != 0 ? shop_sensor(shop, part->probe_id) : NULL;
    free(oven->probe);
    oven->probe = NULL;
    oven->probes = 0;
    if (!sensor)
        return;
    int64_t look_back_ms = oven->from_ms - (int64_t)BAKE_JOIN_MOST_MIN * MS_PER_MIN;
    if (store_readings(shop->store, sensor->id, sensor->hold_s, look_back_ms, oven->to_ms + 1, &oven->probe, &capacity, &oven->probes) != COAT_OK)
        oven->probes = 0;
    for (size_t i = 0; i < oven->probes; i++)
        if (oven->probe[i].temp_mc != READING_NONE)
            oven->probe[i].temp_mc += (int32_t)lround(sensor_offset(shop, sensor->id, AIR_TEMP, oven->probe[i].at_ms) * 1000.0);
}

static double minutes_between(int64_t from_ms, int64_t to_ms)
{
    return (double)(to_ms - from_ms) / MS_IN_MIN;
}

/* ---- one part ---- */

/* Two bakes of one part: the least and the most that it can have had. */
struct following {
    struct bake_view *view;
    const struct bake_law *law;
    struct bake_run low, high;
    int64_t as_of_ms;             /* they stand at */
    int64_t begun_ms;             /* of the programme then in force */
};

/* The most that the oven may have been where nobody knows: as hot as it was read, and as it was told to get. */
static double most_credible_c(const struct bake_view *view, const struct reading *r, size_t n)
{
    double most_c = view->programme.peak_c;
    for (size_t i = 0; i < n; i++)
        if (r[i].temp_mc != READING_NONE)
            most_c = fmax(most_c, r[i].temp_mc / 1000.0);
    return most_c;
}

/* By readings, up to the last of them: beyond it nothing is held, so that nothing is told as done that may not be. */
static void follow_readings(struct following *f, const struct reading *r, size_t n, const struct oven *oven, bool ended)
{
    const struct reading *last = last_reading(r, n, oven->from_ms, oven->to_ms);
    int64_t last_ms = last ? last->at_ms : oven->from_ms;
    int64_t apart_ms = last ? (int64_t)last->hold_s * MS_PER_S : (int64_t)BAKE_JOIN_MOST_MIN * MS_PER_MIN;
    if (apart_ms > (int64_t)BAKE_JOIN_MOST_MIN * MS_PER_MIN)
        apart_ms = (int64_t)BAKE_JOIN_MOST_MIN * MS_PER_MIN;
    double most_c = most_credible_c(f->view, r, n);
    bake_run_readings(&f->low, f->law, r, n, oven->from_ms, last_ms, f->view->room_c, most_c);
    f->as_of_ms = last_ms;
    if (oven->to_ms - last_ms > apart_ms)
        f->view->unread_since_at = last_ms;
    if (ended || oven->to_ms - last_ms > apart_ms) {
        bake_run_unknown(&f->low, f->law, minutes_between(last_ms, oven->to_ms), f->view->room_c, most_c);
        f->as_of_ms = oven->to_ms;
    }
    f->high = f->low;
}

/* The programme alone, over [from_ms, to_ms). */
static void follow_programme(struct following *f, int64_t from_ms, int64_t to_ms)
{
    const struct bake_programme *programme = &f->view->programme;
    double from = minutes_between(f->begun_ms, from_ms), to = minutes_between(f->begun_ms, to_ms);
    if (!(to > from))
        return;
    bake_run_points(&f->low, f->law, programme->point, programme->points, from, to);
    f->high = f->low;
}

static void stretch_assumed(struct bake_run *run, const struct bake_law *law, double minutes, double oven_c)
{
    double known_min = run->known_min;
    struct bake_stretch steady = {minutes, oven_c, oven_c};
    bake_run_stretch(run, law, &steady);
    run->assumed_min += run->known_min - known_min;
    run->known_min = known_min;
}

/* Over a stretch that no reading lies in: never hotter for the least, never colder for the most, than the programme at either end and the readings on both
 * sides. `before`, `after`: NULL where there is none. */
static void follow_between(struct following *f, const struct reading *before, const struct reading *after, int64_t from_ms, int64_t to_ms)
{
    const struct bake_programme *programme = &f->view->programme;
    for (int64_t at = from_ms; at < to_ms;) {
        int64_t next = at + HAND_STRETCH_MS < to_ms ? at + HAND_STRETCH_MS : to_ms;
        double one_c = bake_points_oven_c(programme->point, programme->points, minutes_between(f->begun_ms, at));
        double other_c = bake_points_oven_c(programme->point, programme->points, minutes_between(f->begun_ms, next));
        double low_c = fmin(one_c, other_c), high_c = fmax(one_c, other_c);
        const struct reading *sides[] = {before, after};
        for (size_t i = 0; i < 2; i++) {
            low_c = sides[i] ? fmin(low_c, sides[i]->temp_mc / 1000.0) : low_c;
            high_c = sides[i] ? fmax(high_c, sides[i]->temp_mc / 1000.0) : high_c;
        }
        stretch_assumed(&f->low, f->law, minutes_between(at, next), low_c);
        stretch_assumed(&f->high, f->law, minutes_between(at, next), high_c);
        at = next;
    }
}

static bool are_joined(const struct reading *a, const struct reading *b)
{
    return a && b && b->at_ms - a->at_ms <= (int64_t)BAKE_JOIN_MOST_MIN * MS_PER_MIN;
}

static void follow_line(struct following *f, const struct reading *a, const struct reading *b, int64_t from_ms)
{
    double whole = minutes_between(a->at_ms, b->at_ms), rest = minutes_between(from_ms, b->at_ms);
    double from_c = (b->temp_mc - ((double)b->temp_mc - a->temp_mc) * rest / whole) / 1000.0;
    struct bake_stretch line = {rest, from_c, b->temp_mc / 1000.0};
    bake_run_stretch(&f->low, f->law, &line);
    bake_run_stretch(&f->high, f->law, &line);
}

/* With readings by hand, over [from_ms, to_ms); one at the very end tells of what was before it. */
static void follow_by_hand(struct following *f, const struct oven *oven, int64_t from_ms, int64_t to_ms)
{
    const struct reading *before = last_reading(oven->reading, oven->readings, INT64_MIN, from_ms);
    int64_t at = from_ms;
    for (size_t i = history_count_until(oven->reading, oven->readings, from_ms); i < oven->readings && oven->reading[i].at_ms <= to_ms; i++) {
        const struct reading *next = &oven->reading[i];
        if (next->temp_mc == READING_NONE)
            continue;
        if (are_joined(before, next))
            follow_line(f, before, next, at);
        else
            follow_between(f, before, next, at, next->at_ms);
        at = next->at_ms;
        before = next;
    }
    follow_between(f, before, NULL, at, to_ms);
}

static void follow_told(struct following *f, const struct oven *oven, int64_t from_ms, int64_t to_ms)
{
    if (f->view->reading == OVEN_BY_HAND)
        follow_by_hand(f, oven, from_ms, to_ms);
    else
        follow_programme(f, from_ms, to_ms);
}

/* An oven that no sensor reads: as it was told, but for the gaps in which nobody was there to know. */
static void follow_with_gaps(struct shop *shop, struct following *f, const struct oven *oven)
{
    int64_t at = oven->from_ms;
    double most_c = most_credible_c(f->view, oven->reading, oven->readings);
    for (size_t i = 0; i < shop->bake_gaps.count; i++) {
        const struct bake_gap *gap = &shop->bake_gaps.item[i];
        if (gap->bake_id != f->view->bake->id || gap->from_at >= oven->to_ms)
            continue;
        int64_t until = gap->to_at == MOMENT_NONE || gap->to_at > oven->to_ms ? oven->to_ms : gap->to_at;
        follow_told(f, oven, at, gap->from_at);
        bake_run_unknown(&f->low, f->law, minutes_between(gap->from_at, until), f->view->room_c, most_c);
        bake_run_unknown(&f->high, f->law, minutes_between(gap->from_at, until), f->view->room_c, most_c);
        at = until;
        f->begun_ms = until;
        if (gap->to_at == MOMENT_NONE)
            f->view->gap = gap;
    }
    follow_told(f, oven, at, oven->to_ms);
    f->as_of_ms = oven->to_ms;
}

/* ---- what is to come ---- */

/* To the next whole second: reckoned again at that moment it must have come. */
static int64_t after(int64_t from_ms, double minutes)
{
    if (!isfinite(minutes) || minutes > 1e7)
        return MOMENT_NONE;
    int64_t at = from_ms + (int64_t)ceil(minutes * MS_IN_MIN);
    return minutes > 0.0 ? (at + MS_PER_S - 1) / MS_PER_S * MS_PER_S : at;
}

static unsigned rest_of_programme(const struct following *f, struct bake_point point[BAKE_POINTS_MAX + 1])
{
    const struct bake_programme *programme = &f->view->programme;
    unsigned points = bake_points_rest(programme->point, programme->points, minutes_between(f->begun_ms, f->as_of_ms), point);
    if (f->view->reading != OVEN_UNREAD && f->view->gap == NULL && isfinite(f->view->oven_c))
        point[0].oven_c = f->view->oven_c;
    return points;
}

/* When a hand can touch it, from the hottest that it can be at from_ms. */
static void look_at_cooling(const struct bake_view *view, const struct bake_run *hot, const struct bake_body *body, int64_t from_ms,
                            struct bake_part_view *part)
{
    struct bake_range lag, cool;
    if (bake_lag(body, OVEN_AIR_ROOM, &lag, NULL) != COAT_OK || bake_cool(hot, &lag, view->room_c, BAKE_TOUCH_C, &cool, NULL) != COAT_OK)
        return;
    part->cool_likely_at = after(from_ms, cool.likely);
    part->cool_latest_at = after(from_ms, cool.slow);
}

static void look_ahead(struct following *f, const struct bake_body *body, const struct bake_range *lag_min, struct bake_part_view *part)
{
    struct bake_point point[BAKE_POINTS_MAX + 1];
    struct bake_ahead low, high;
    unsigned points = rest_of_programme(f, point);
    bake_run_set_lag(&f->low, lag_min);
    bake_run_set_lag(&f->high, lag_min);
    bake_ahead(&f->low, f->law, point, points, &low);
    bake_ahead(&f->high, f->law, point, points, &high);
    part->done_earliest_at = after(f->as_of_ms, low.done_min.quick);
    part->done_likely_at = after(f->as_of_ms, low.done_min.likely);
    part->done_latest_at = after(f->as_of_ms, low.done_min.slow);
    part->too_long_at = after(f->as_of_ms, high.too_long_min);
    part->too_hot_at = after(f->as_of_ms, high.too_hot_min);
    if (part->done_latest_at == MOMENT_NONE)
        return;
    bake_run_points(&f->high, f->law, point, points, 0.0, fmax(low.done_min.slow, 0.0));
    look_at_cooling(f->view, &f->high, body, part->done_latest_at, part);
}

/* The least that it can have now; its hotter end is the most, where the oven may have been hotter than is sure. */
static struct bake_range part_now_c(const struct following *f)
{
    struct bake_range now_c = bake_part_c(&f->low);
    double *hotter_c = now_c.slow > now_c.quick ? &now_c.slow : &now_c.quick;
    for (unsigned i = 0; i < BAKE_MEMBERS; i++)
        *hotter_c = fmax(*hotter_c, f->high.member[i].most.part_c);
    return now_c;
}

static bool part_body(const struct shop *shop, const struct bake_part *part, const struct coat *coat, struct bake_body *ret)
{
    const struct piece *piece = shop_piece(shop, coat->piece_id);
    *ret = (struct bake_body){part->metal, part->mass_kg, part->area_m2, part->wall_mm, (double)NAN};
    if (piece && isnan(ret->mass_kg))
        ret->mass_kg = piece->mass_kg;
    if (piece && isnan(ret->wall_mm))
        ret->wall_mm = piece->wall_mm;
    return piece != NULL;
}

static bool law_of(const struct material *material, struct bake_law *ret)
{
    struct bake_terms terms;
    return bake_terms_of(material, &terms, NULL) == COAT_OK && bake_law_make(&terms, ret, NULL) == COAT_OK;
}

static void name_part(struct shop *shop, const struct bake_part *fact, struct bake_part_view *part)
{
    size_t index = shop_coat_index(shop, fact->coat_id);
    *part = (struct bake_part_view){
        .part = fact,
        .part_c = {(double)NAN, (double)NAN, (double)NAN},
        .hottest_c = (double)NAN,
        .done_earliest_at = MOMENT_NONE,
        .done_likely_at = MOMENT_NONE,
        .done_latest_at = MOMENT_NONE,
        .too_long_at = MOMENT_NONE,
        .too_hot_at = MOMENT_NONE,
        .cool_likely_at = MOMENT_NONE,
        .cool_latest_at = MOMENT_NONE,
    };
    if (index == SIZE_MAX)
        return;
    part->coat = &shop->coats.item[index];
    part->material = shop_material_version(shop, part->coat->material_version_id);
}

static void follow_part(struct shop *shop, struct bake_view *view, struct oven *oven, struct bake_part_view *part)
{
    struct following f = {.view = view, .law = &part->law, .begun_ms = oven->from_ms};
    static const struct bake_range no_lag = {0.0, 0.0, 0.0};
    bool ended = view->bake->ended_at != MOMENT_NONE;
    struct bake_range lag_min;
    struct bake_body body;
    if (!part_body(shop, part->part, part->coat, &body) || bake_lag(&body, view->bake->oven_air, &lag_min, NULL) != COAT_OK)
        return;
    read_probe(shop, part->part, oven);
    part->probed = last_reading(oven->probe, oven->probes, oven->from_ms, oven->to_ms) != NULL;
    part->lag_min = part->probed ? no_lag : lag_min;
    bake_run_begin(&part->lag_min, view->room_c, &f.low);
    f.high = f.low;
    if (part->probed)
        follow_readings(&f, oven->probe, oven->probes, oven, ended);
    else if (view->reading == OVEN_READ)
        follow_readings(&f, oven->reading, oven->readings, oven, ended);
    else
        follow_with_gaps(shop, &f, oven);
    part->part_c = part_now_c(&f);
    part->hottest_c = bake_hottest_c(&f.high);
    part->done = bake_done(&f.low);
    part->worn = bake_worn(&f.high);
    part->excess = bake_excess(&f.high, &part->law);
    part->left_too_long = fmax(part->law.too_long - part->worn, 0.0);
    view->known_min = f.low.known_min;
    view->assumed_min = f.low.assumed_min;
    view->unknown_min = f.low.unknown_min;
    view->begun_at = f.begun_ms;
    if (ended)
        look_at_cooling(view, &f.high, &body, view->bake->ended_at, part);
    else if (!view->gap && view->unread_since_at == MOMENT_NONE)
        look_ahead(&f, &body, &lag_min, part); /* else nobody knows what the oven will do */
}

/* ---- the load ---- */

static void find_room(struct shop *shop, int64_t now_ms, struct bake_view *view)
{
    const struct bake *bake = view->bake;
    int64_t at_ms = bake->started_at != MOMENT_NONE ? bake->started_at : now_ms;
    view->room_c = bake->room_c;
    if (isnan(view->room_c) && view->parts > 0 && view->part[0].coat) {
        struct air_step then;
        struct place_air *air = shop_air_of(shop, shop_piece_place(shop, view->part[0].coat->piece_id, at_ms));
        if (place_air_at(air, at_ms, &then) == COAT_OK && then.basis == AIR_MEASURED)
            view->room_c = then.temp0_c;
    }
    view->room_known = !isnan(view->room_c);
    view->room_c = view->room_known ? view->room_c : BAKE_ROOM_DEFAULT_C;
}

/* Its holds begin when the part that lags most is there. */
static void make_programme(struct shop *shop, struct bake_view *view)
{
    struct bake_range slowest = {0.0, 0.0, 0.0};
    struct bake_run cold;
    for (unsigned i = 0; i < view->parts; i++) {
        struct bake_body body;
        struct bake_range lag;
        const struct bake_part_view *part = &view->part[i];
        bool known = part->coat && part_body(shop, part->part, part->coat, &body) && bake_lag(&body, view->bake->oven_air, &lag, NULL) == COAT_OK;
        if (known && lag.slow > slowest.slow)
            slowest = lag;
    }
    bake_run_begin(&slowest, view->room_c, &cold);
    double oven_c = view->steps > 0 && view->step[0].ramp_min > 0.0 ? view->room_c : view->steps > 0 ? view->step[0].target_c : (double)NAN;
    if (bake_programme_make(view->step, view->steps, &cold, oven_c, &view->programme, NULL) != COAT_OK)
        view->programme = (struct bake_programme){0};
    view->peak_c = view->programme.points > 0 ? view->programme.peak_c : (double)NAN;
}

static int64_t later_of(int64_t a, int64_t b)
{
    return a == MOMENT_NONE || b == MOMENT_NONE ? MOMENT_NONE : a > b ? a : b;
}

static void sum_up(struct bake_view *view)
{
    view->baked = view->parts > 0;
    for (unsigned i = 0; i < view->parts; i++) {
        const struct bake_part_view *part = &view->part[i];
        view->baked = view->baked && part->done >= 1.0 - BAKE_ROUNDING;
        view->done_likely_at = i == 0 ? part->done_likely_at : later_of(view->done_likely_at, part->done_likely_at);
        view->turn_down_at = i == 0 ? part->done_latest_at : later_of(view->turn_down_at, part->done_latest_at);
        view->cool_latest_at = i == 0 ? part->cool_latest_at : later_of(view->cool_latest_at, part->cool_latest_at);
        view->too_long_at = moment_sooner(view->too_long_at, part->too_long_at);
        view->too_hot_at = moment_sooner(view->too_hot_at, part->too_hot_at);
    }
    if (view->turn_down_at != MOMENT_NONE && view->begun_at == view->bake->started_at) /* the hold as it was told is kept, unless it was interrupted */
        view->turn_down_at = later_of(view->turn_down_at, after(view->begun_at, view->programme.end_min));
}

static enum bake_state state_of(const struct bake_view *view, int64_t now_ms)
{
    const struct bake *bake = view->bake;
    double most = 0.0;
    for (unsigned i = 0; i < view->parts; i++)
        most = fmax(most, view->part[i].done);
    if (bake->started_at == MOMENT_NONE)
        return bake->ended_at == MOMENT_NONE ? BAKE_REVIEW : BAKE_GIVEN_UP;
    if (bake->ended_at != MOMENT_NONE) {
        bool cool = view->cool_latest_at != MOMENT_NONE ? view->cool_latest_at <= now_ms : now_ms - bake->ended_at >= MS_PER_DAY;
        return cool ? BAKE_COLD : BAKE_COOLING;
    }
    if (view->baked)
        return BAKE_DONE;
    if (view->gap || view->unread_since_at != MOMENT_NONE)
        return BAKE_INTERRUPTED;
    return most > 0.0 ? BAKE_SOAKING : BAKE_HEATING;
}

void bake_follow(struct shop *shop, int64_t now_ms, struct bake_view *view)
{
    const struct bake *bake = view->bake;
    const struct bake_part *parts[SHOP_BAKE_PARTS_MAX];
    struct oven oven = {.from_ms = bake->started_at, .to_ms = bake->ended_at != MOMENT_NONE ? bake->ended_at : now_ms};
    view->parts = bake_parts_of(shop, bake->id, parts);
    for (unsigned i = 0; i < view->parts; i++)
        name_part(shop, parts[i], &view->part[i]);
    view->steps = steps_of(shop, bake->id, view->step);
    find_room(shop, now_ms, view);
    make_programme(shop, view);
    bool begun = bake->started_at != MOMENT_NONE && bake->started_at <= now_ms && view->programme.points > 0;
    if (begun)
        read_oven(shop, view, &oven);
    for (unsigned i = 0; i < view->parts; i++)
        if (view->part[i].material && law_of(&view->part[i].material->material, &view->part[i].law) && begun)
            follow_part(shop, view, &oven, &view->part[i]);
    if (begun && view->reading == OVEN_UNREAD && view->gap == NULL)
        view->oven_c = bake_points_oven_c(view->programme.point, view->programme.points, minutes_between(view->begun_at, oven.to_ms));
    free(oven.reading);
    free(oven.probe);
    sum_up(view);
    view->state = state_of(view, now_ms);
}

bool bake_wants_watch(struct shop *shop, const struct bake *bake, int64_t now_ms)
{
    return bake_is_on(bake, now_ms) && !is_read_by_sensor(shop, bake, now_ms);
}
