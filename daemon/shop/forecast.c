#include "daemon/shop/forecast.h"

#include <math.h>
#include <stdlib.h>

#define FORECAST_HOURS OUTLOOK_HOURS_MAX
#define FORECAST_PAST_MS ((OUTLOOK_PAST_DAYS + 1) * MS_PER_DAY)
/* With fewer days known the daily swing is not yet the shop's own; the air is then taken to stay as it is, between the ends of its day. */
#define DAYS_TO_KNOW 2.0

/* The hours in which the heater was on, and will be as far as that was told; by what they were in their middle. */
struct heated {
    bool past[OUTLOOK_PAST_HOURS], ahead[FORECAST_HOURS];
};

static void fill_heated(const struct place_air *air, struct heated *ret)
{
    for (int64_t k = 0; k < OUTLOOK_PAST_HOURS; k++)
        ret->past[k] = air->is_heated && air->is_heated(air->shop, air->place_id, air->last_at - k * MS_PER_H - MS_PER_H / 2);
    for (int64_t h = 0; h < FORECAST_HOURS; h++)
        ret->ahead[h] = air->is_heated && air->is_heated(air->shop, air->place_id, air->last_at + h * MS_PER_H + MS_PER_H / 2);
}

static enum coat_result fill_outlook(const struct place_air *air, unsigned hours, struct outlook *ret)
{
    struct heated heated;
    struct reading *readings = NULL;
    size_t capacity = 0, count = 0;
    struct merge merge;
    enum coat_result result =
        place_air_read(air, air->last_at - FORECAST_PAST_MS, air->last_at + 1, &merge, &readings, &capacity, &count);
    count = history_count_until(readings, count, air->last_at);
    fill_heated(air, &heated);
    if (result == COAT_OK)
        outlook_make(&(struct outlook_facts){readings, count, air->last_at, heated.past, heated.ahead}, hours, ret);
    free(readings);
    return result;
}

static enum coat_result make_outlook(struct place_air *air)
{
    if (!air->outlook)
        air->outlook = malloc(sizeof *air->outlook);
    if (!air->outlook)
        return COAT_NO_MEMORY;
    enum coat_result result = fill_outlook(air, FORECAST_HOURS, air->outlook);
    air->outlook_at = result == COAT_OK ? air->last_at : MOMENT_NONE;
    air->outlook_made++;
    return result;
}

static bool is_at_hand(const struct place_air *air)
{
    return air->outlook && air->outlook_at == air->last_at;
}

const struct outlook *forecast_of(struct place_air *air)
{
    if (air->last_at == MOMENT_NONE)
        return NULL;
    if (!is_at_hand(air) && make_outlook(air) != COAT_OK)
        return NULL;
    return air->outlook->members > 0 && air->outlook->known_days >= DAYS_TO_KNOW ? air->outlook : NULL;
}

const struct outlook *forecast_near(const struct place_air *air, struct outlook *room)
{
    if (air->last_at == MOMENT_NONE)
        return NULL;
    if (is_at_hand(air))
        return air->outlook;
    return fill_outlook(air, FORECAST_NEAR_HOURS, room) == COAT_OK ? room : NULL;
}

static const struct outlook_growth *growth_of(struct ledger *ledger)
{
    const struct outlook *outlook = forecast_of(ledger->air);
    if (!outlook)
        return NULL;
    if (ledger->growth && ledger->growth_of == ledger->air->outlook_made)
        return ledger->growth;
    if (!ledger->growth)
        ledger->growth = malloc(sizeof *ledger->growth);
    if (!ledger->growth)
        return NULL;
    outlook_grow(outlook, &ledger->law, ledger->growth);
    ledger->growth_of = ledger->air->outlook_made;
    return ledger->growth;
}

/* Persistence: the mean of the last day, or the last reading; its warm end; and at the other end what the gap rules come to, held and
 * then assumed: the coldest for an opening, the warmest for a closing. */
static bool persist(struct boundary_clock *b, struct outlook_finish *ret)
{
    const struct law *law = &b->ledger->law;
    const struct air_assumption *a = &b->ledger->air->assumption;
    double day_rate = 0.0;
    if (b->ledger->air->last_at == MOMENT_NONE || ledger_day_rate(b->ledger, &day_rate) != COAT_OK)
        return false;
    bool closing = b->side == SIDE_CLOSING;
    double end = closing ? fmin(day_rate, law_rate(law, a->cold_c, a->damp_pct, NULL))
                         : fmax(day_rate, law_rate(law, a->warm_c, a->dry_pct, NULL));
    int64_t tail = ledger_tail_when(b->ledger, b->target), other = ledger_steady_when(b->ledger, b->target, end);
    int64_t likely = ledger_steady_when(b->ledger, b->target, day_rate);
    if (!closing && tail != MOMENT_NONE && (likely == MOMENT_NONE || likely > tail))
        likely = tail;
    *ret = closing ? (struct outlook_finish){tail, likely, other} : (struct outlook_finish){other, likely, tail};
    return true;
}

bool forecast_boundary(struct boundary_clock *b, struct outlook_finish *ret)
{
    if (!b->ledger || b->ledger->anchor_ms != b->ledger->air->last_at)
        return false;
    const struct outlook_growth *growth = growth_of(b->ledger);
    if (!growth)
        return persist(b, ret);
    double missing = b->target - b->ledger->anchor_value;
    *ret = outlook_finish(growth, (struct outlook_need){b->needed, b->needed - missing, FORECAST_COAT_SPREAD});
    return true;
}
