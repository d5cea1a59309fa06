/* A casting that is carried to other air follows it slowly (lumped capacity, coat/warm.h). Until it is within 1 C of the room its coats go by its own
 * surface, to the safe side: openings by the colder of surface and air, closings by the warmer. */
#include "daemon/shop/lag.h"

#include "coat/air.h"
#include "coat/warm.h"

#include <math.h>

#define STEP_MIN 10.0
#define WARM_THROUGH_C 1.0

double piece_time_constant_min(const struct piece *piece, double *ret_wall_mm)
{
    double wall_mm = piece != NULL && piece->wall_mm > 0.0 ? piece->wall_mm : LAG_USUAL_WALL_MM, minutes = (double)NAN;
    *ret_wall_mm = wall_mm;
    if (warm_time_constant_from_wall(wall_mm, METAL_IRON, WARM_H_LOW_W_M2K, &minutes) != COAT_OK)
        return (double)NAN;
    return minutes;
}

/* ---- following ---- */

/* One bit of a step: the middle of its air, and the surface before and after. */
struct bit {
    double minutes, air_c, rh_pct, before_c, after_c;
    int64_t end_ms;
};
typedef bool (*bit_visitor)(const struct bit *bit, void *context); /* false to stop */

static bool follow_step(const struct air_step *step, double time_constant_min, double *io_surface_c, bit_visitor visit, void *context)
{
    double minutes = (double)(step->to_ms - step->from_ms) / (double)MS_PER_MIN;
    if (isnan(step->temp0_c) || isnan(step->temp1_c))
        return true;
    if (isnan(*io_surface_c))
        *io_surface_c = step->temp0_c;
    for (double done = 0.0; done < minutes; done += STEP_MIN) {
        double part = fmin(STEP_MIN, minutes - done), middle = (done + 0.5 * part) / minutes;
        struct bit bit = {part, step->temp0_c + middle * (step->temp1_c - step->temp0_c),
                          step->rh0_pct + middle * (step->rh1_pct - step->rh0_pct), *io_surface_c, 0.0,
                          step->from_ms + (int64_t)((done + part) * (double)MS_PER_MIN)};
        *io_surface_c = bit.after_c = warm_temp_after(time_constant_min, *io_surface_c, bit.air_c, part);
        if (visit != NULL && !visit(&bit, context))
            return false;
    }
    return true;
}

struct surface {
    double temp_c, time_constant_min;
};

static bool only_follow(const struct air_step *step, void *context)
{
    struct surface *surface = context;
    return follow_step(step, surface->time_constant_min, &surface->temp_c, NULL, NULL);
}

enum coat_result piece_surface_at(const struct shop *shop, int64_t piece_id, double time_constant_min, int64_t at_ms, double *ret_c)
{
    struct surface surface = {(double)NAN, time_constant_min};
    enum coat_result result = piece_air_walk(shop, piece_id, at_ms - LAG_PAST_MS, at_ms, SIDE_OPENING, only_follow, &surface);
    *ret_c = surface.temp_c;
    return result;
}

/* ---- dew ---- */

/* Of a difference that is older 0.25 % are left: a tenth of a degree. */
#define DEW_PAST_CONSTANTS 6.0

struct dew {
    double time_constant_min, surface_c;
    int64_t from_ms;
    bool wet;
};

static bool is_below_dew_point(double surface_c, double air_c, double rh_pct)
{
    return surface_c < air_dew_point_c(air_c, fmax(rh_pct, 0.1));
}

static bool look_for_dew(const struct bit *bit, void *context)
{
    struct dew *dew = context;
    dew->wet |= bit->end_ms >= dew->from_ms && is_below_dew_point(bit->after_c, bit->air_c, bit->rh_pct);
    return !dew->wet;
}

static bool is_measured(const struct air_step *step)
{
    return step->basis == AIR_MEASURED && step->rh_basis == AIR_MEASURED;
}

/* Air that was not measured tells nothing of the surface: it is followed anew from the next that was. */
static bool follow_measured(const struct air_step *step, void *context)
{
    struct dew *dew = context;
    if (is_measured(step))
        return follow_step(step, dew->time_constant_min, &dew->surface_c, look_for_dew, dew);
    dew->surface_c = (double)NAN;
    return true;
}

/* It may have come there at that very moment. */
static enum coat_result look_at_end(const struct shop *shop, int64_t piece_id, int64_t at_ms, struct dew *dew)
{
    struct air_step air;
    enum coat_result result = place_air_at(shop_air_of(shop, shop_piece_place(shop, piece_id, at_ms)), at_ms, &air);
    if (result == COAT_OK && is_measured(&air))
        dew->wet |= is_below_dew_point(dew->surface_c, air.temp0_c, air.rh0_pct);
    return result;
}

enum coat_result piece_was_wet(const struct shop *shop, int64_t piece_id, int64_t from_ms, int64_t to_ms, bool *ret)
{
    double wall_mm;
    struct dew dew = {piece_time_constant_min(shop_piece(shop, piece_id), &wall_mm), (double)NAN, from_ms, false};
    double past_ms = fmin((double)LAG_PAST_MS, DEW_PAST_CONSTANTS * dew.time_constant_min * (double)MS_PER_MIN);
    enum coat_result result = piece_air_walk(shop, piece_id, from_ms - (int64_t)past_ms, to_ms, SIDE_OPENING, follow_measured, &dew);
    if (result == COAT_OK)
        result = look_at_end(shop, piece_id, to_ms, &dew);
    *ret = dew.wet;
    return result;
}

/* ---- what that costs a clock ---- */

struct lag {
    const struct law *law;
    double time_constant_min, surface_c;
    double own;          /* growth by the surface */
    int64_t warm_at;     /* MOMENT_NONE until it is */
};

static bool add_bit(const struct bit *bit, void *context)
{
    struct lag *lag = context;
    double surface_c = 0.5 * (bit->before_c + bit->after_c);
    double temp_c = lag->law->side == SIDE_CLOSING ? fmax(surface_c, bit->air_c) : fmin(surface_c, bit->air_c);
    lag->own += law_rate(lag->law, temp_c, bit->rh_pct, NULL) * bit->minutes / 60.0;
    if (fabs(bit->after_c - bit->air_c) >= WARM_THROUGH_C)
        return true;
    lag->warm_at = bit->end_ms;
    return false;
}

static bool add_lag(const struct air_step *step, void *context)
{
    struct lag *lag = context;
    return lag->warm_at == MOMENT_NONE && follow_step(step, lag->time_constant_min, &lag->surface_c, add_bit, lag);
}

static bool air_before(const struct stay *stay, double *ret_c)
{
    struct air_step step;
    bool known = place_air_at(stay->air, stay->from_ms, &step) == COAT_OK && !isnan(step.temp0_c);
    *ret_c = step.temp0_c;
    return known;
}

enum coat_result stay_lag(const struct shop *shop, int64_t piece_id, const struct stay *stay, struct ledger *ledger, int64_t *ret_warm_at,
                          double *ret_growth)
{
    struct lag lag = {.law = &ledger->law, .warm_at = MOMENT_NONE};
    double air_c, wall_mm, entered, left;
    int64_t end = stay->to_ms < stay->from_ms + LAG_PAST_MS ? stay->to_ms : stay->from_ms + LAG_PAST_MS;
    *ret_growth = 0.0;
    *ret_warm_at = stay->from_ms;
    lag.time_constant_min = piece_time_constant_min(shop_piece(shop, piece_id), &wall_mm);
    enum coat_result result = piece_surface_at(shop, piece_id, lag.time_constant_min, stay->from_ms, &lag.surface_c);
    if (result != COAT_OK || isnan(lag.surface_c) || !air_before(stay, &air_c) || fabs(lag.surface_c - air_c) < WARM_THROUGH_C)
        return result;
    result = place_air_walk(stay->air, stay->from_ms, end, ledger->law.side, add_lag, &lag);
    if (lag.warm_at == MOMENT_NONE)
        lag.warm_at = end;
    if (result == COAT_OK)
        result = ledger_value(ledger, stay->from_ms, &entered);
    if (result == COAT_OK)
        result = ledger_value(ledger, lag.warm_at, &left);
    if (result != COAT_OK)
        return result;
    double growth = lag.own - (left - entered);
    *ret_growth = ledger->law.side == SIDE_CLOSING ? fmax(growth, 0.0) : fmin(growth, 0.0);
    *ret_warm_at = lag.warm_at;
    return COAT_OK;
}

bool piece_was_carried(const struct shop *shop, int64_t piece_id, int64_t by_ms)
{
    struct stay stays[STAYS_MAX];
    return stays_until(shop, piece_id, by_ms - LAG_PAST_MS, by_ms + 1, stays) > 1;
}
