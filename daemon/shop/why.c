/* Why a time is what it is, in hours that add up: the table, the film, the shop's factor, each night, damp, stalls, the air to come.
 *
 * With r the rate of the law, N what the stage needs and E the hours since the last pass: N = integral of r up to the opening, so the
 * hours beyond N are the integral of (1 - r). That splits into temperature, (1 - g) with g the rate without humidity, and humidity,
 * (g - r); what is still to come is the likely rest less what is still needed; and the label's floor fills up what is missing to it. */
#include "daemon/shop/notice.h"

#include <math.h>
#include <string.h>

#define NIGHTS_MOST 400 /* noon to noon; older ones of a coat stalled that long are told together */
#define NIGHTS_TOLD 4
#define WORTH_TELLING_H 0.05

struct night {
    int64_t number; /* days since the epoch, counted from local noon */
    double hours, coldest_c;
};

struct account {
    struct law law, dry_law; /* dry_law: the same without humidity */
    int64_t zone_offset_ms;
    size_t nights;
    struct night night[NIGHTS_MOST];
    double other_h, damp_h, dampest_pct, too_cold_h, too_damp_h, assumed_h, cold_casting_h, grown;
};

static int64_t night_of(const struct account *account, int64_t at_ms)
{
    return moment_day(at_ms + account->zone_offset_ms - MS_PER_DAY / 2);
}

static void add_to_night(struct account *account, const struct air_step *step, double hours)
{
    int64_t number = night_of(account, step->from_ms + (step->to_ms - step->from_ms) / 2);
    struct night *last = account->nights > 0 ? &account->night[account->nights - 1] : NULL;
    if (!last || last->number != number) {
        if (account->nights == NIGHTS_MOST) {
            account->other_h += hours;
            return;
        }
        last = &account->night[account->nights++];
        *last = (struct night){number, 0.0, step->temp0_c};
    }
    last->hours += hours;
    last->coldest_c = fmin(last->coldest_c, fmin(step->temp0_c, step->temp1_c));
}

static bool add_step(const struct air_step *step, void *context)
{
    struct account *account = context;
    double hours = (double)(step->to_ms - step->from_ms) / (double)MS_PER_H;
    double grown = history_step_integral(&account->law, step), dry = history_step_integral(&account->dry_law, step);
    account->grown += grown;
    if (step->basis == AIR_ASSUMED) {
        account->assumed_h += hours - grown;
    } else if (dry <= 0.0) {
        account->too_cold_h += hours;
    } else if (step->rh_basis == AIR_ASSUMED) {
        add_to_night(account, step, hours - dry);
        account->assumed_h += dry - grown;
    } else if (grown <= 0.0) {
        account->too_damp_h += hours;
    } else {
        add_to_night(account, step, hours - dry);
        account->damp_h += dry - grown;
        account->dampest_pct = fmax(account->dampest_pct, fmax(step->rh0_pct, step->rh1_pct));
    }
    return true;
}

/* ---- rows ---- */

_Static_assert(WHY_COUNT - 1 + NIGHTS_TOLD <= WHY_ROWS_MAX, "each kind once, and the nights");

static void add_row(struct why_view *view, struct why_row row)
{
    view->total_h += row.hours;
    view->row[view->rows++] = row;
}

static struct why_row plain_row(enum why what, double hours)
{
    return (struct why_row){what, hours, (double)NAN, (double)NAN, (double)NAN, MOMENT_NONE, MOMENT_NONE};
}

static bool worth_telling(const struct why_row *row)
{
    return fabs(row->hours) >= WORTH_TELLING_H || row->what == WHY_TABLE || (!isnan(row->factor) && row->factor > 1.005);
}

/* Rows of a few minutes are told together, so that those that are told still add up. */
static void fold_small_rows(struct why_view *view)
{
    unsigned kept = 0;
    double small_h = 0.0;
    for (unsigned i = 0; i < view->rows; i++) {
        if (worth_telling(&view->row[i]))
            view->row[kept++] = view->row[i];
        else
            small_h += view->row[i].hours;
    }
    view->rows = kept;
    for (unsigned i = 0; i < kept; i++) {
        if (view->row[i].what == WHY_OTHER_AIR) {
            view->row[i].hours += small_h;
            return;
        }
    }
    if (fabs(small_h) > 1e-9)
        view->row[view->rows++] = plain_row(WHY_OTHER_AIR, small_h);
}

/* The table and what multiplies it; together they are what the stage needs. */
static void add_factors(const struct coat_clock *clock, const struct boundary_clock *b, const struct material *material,
                        const struct law *law, struct why_view *view)
{
    double film = law_film_factor(b->side, clock->film, 1.0, material->film_exponent);
    double films = law_film_factor(b->side, boundary_film(clock, b), 1.0, material->film_exponent);
    struct why_row table = plain_row(WHY_TABLE, b->hours), own = plain_row(WHY_FILM, b->hours * (film - 1.0));
    struct why_row below = plain_row(WHY_FILMS_UNDER, b->hours * (films - film));
    struct why_row shop = plain_row(WHY_SHOP_FACTOR, b->needed - b->hours * films);
    table.temp_c = law->row_temp_c[0];
    own.factor = film;
    below.factor = films / film;
    shop.factor = b->needed / (b->hours * films);
    add_row(view, table);
    add_row(view, own);
    add_row(view, below);
    add_row(view, shop);
}

/* Whether fewer than NIGHTS_TOLD others cost more. */
static bool is_dear(const struct account *account, size_t i)
{
    unsigned dearer = 0;
    for (size_t k = 0; k < account->nights; k++) {
        double other = fabs(account->night[k].hours), own = fabs(account->night[i].hours);
        dearer += other > own || (other == own && k < i);
    }
    return dearer < NIGHTS_TOLD && fabs(account->night[i].hours) >= WORTH_TELLING_H;
}

/* The nights that cost most by themselves, in their order; the rest together. */
static void add_nights(struct account *account, struct why_view *view)
{
    for (size_t i = 0; i < account->nights; i++) {
        const struct night *night = &account->night[i];
        struct why_row row = plain_row(WHY_NIGHT, night->hours);
        row.temp_c = night->coldest_c;
        row.from_at = moment_day_start(night->number) + MS_PER_DAY / 2 - account->zone_offset_ms;
        row.to_at = row.from_at + MS_PER_DAY;
        if (is_dear(account, i))
            add_row(view, row);
        else
            account->other_h += night->hours;
    }
    add_row(view, plain_row(WHY_OTHER_AIR, account->other_h));
}

static void add_air(struct account *account, struct why_view *view)
{
    struct why_row damp = plain_row(WHY_DAMP, account->damp_h);
    struct why_row too_cold = plain_row(WHY_TOO_COLD, account->too_cold_h);
    struct why_row too_damp = plain_row(WHY_TOO_DAMP, account->too_damp_h);
    damp.rh_pct = account->dampest_pct;
    too_cold.temp_c = account->law.min_temp_c;
    too_damp.rh_pct = account->law.max_rh_pct;
    add_nights(account, view);
    add_row(view, damp);
    add_row(view, too_cold);
    add_row(view, too_damp);
    add_row(view, plain_row(WHY_ASSUMED, account->assumed_h));
    add_row(view, plain_row(WHY_COLD_CASTING, account->cold_casting_h));
}

/* What the air to come and the label's floor still add. */
static void add_rest(const struct boundary_clock *b, const struct account *account, int64_t walked_to, int64_t likely_at,
                     struct why_view *view)
{
    double so_far_h = (double)(walked_to - b->start_ms) / (double)MS_PER_H;
    double likely_h = (double)(likely_at - b->start_ms) / (double)MS_PER_H;
    double rest_h = likely_h - so_far_h, missing = fmax(b->needed - account->grown, 0.0);
    bool floor_decides = b->limit_at == likely_at;
    double to_come_h = floor_decides && rest_h > missing ? 0.0 : rest_h - missing;
    if (walked_to < likely_at)
        add_row(view, plain_row(WHY_TO_COME, to_come_h));
    add_row(view, plain_row(WHY_LABEL_FLOOR, likely_h - view->total_h));
}

bool shop_why(struct shop *shop, int64_t coat_id, enum stage stage, int64_t now_ms, int64_t zone_offset_ms, struct why_view *ret)
{
    struct coat_view coat;
    size_t index = shop_coat_index(shop, coat_id);
    if (index == SIZE_MAX || !shop_coat_view(shop, coat_id, now_ms, &coat))
        return false;
    const struct coat_clock *clock = &shop->clocks.item[index];
    const struct boundary_clock *b = clock_first_opening(clock, stage);
    const struct stage_view *view = coat_view_stage(&coat, stage);
    if (!b || !view)
        return false;
    struct account account = {.law = shop->laws.item[b->law], .dry_law = shop->laws.item[b->law], .zone_offset_ms = zone_offset_ms};
    account.dry_law.rule = HUMIDITY_SOLVENT;
    account.dry_law.max_rh_pct = (double)NAN;
    int64_t walked_to = b->passed_at != MOMENT_NONE ? b->passed_at : now_ms;
    if (walked_to > now_ms)
        walked_to = now_ms;
    memset(ret, 0, sizeof *ret);
    ret->stage = stage;
    ret->from_at = b->start_ms;
    ret->likely_at = view->span[b->index].until.likely_at;
    if (piece_air_walk(shop, coat.coat->piece_id, b->start_ms, walked_to, SIDE_OPENING, add_step, &account) != COAT_OK)
        return false;
    account.grown += b->lagged;
    account.cold_casting_h = -b->lagged;
    add_factors(clock, b, &coat.material->material, &account.law, ret);
    add_air(&account, ret);
    if (ret->likely_at != MOMENT_NONE)
        add_rest(b, &account, walked_to, ret->likely_at, ret);
    fold_small_rows(ret);
    return true;
}
