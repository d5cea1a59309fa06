/* What is in the air of a place, by the sums. */
#include "coat/shop_vapour.h"
#include "daemon/shop/liquids.h"
#include "daemon/shop/notice.h"

#include <math.h>
#include <string.h>

#define RELEASES_MOST 256         /* with gas and liquid apart: 128 coats of a fortnight in one place */
#define TEMP_NOT_READ_C 20.0
#define BURNS_NOT_READ_C 35.0     /* where nobody read the air, whether the liquid may catch fire is judged as on a hot day, */
#define BURNS_IN_OVEN_C 400.0     /* and in an oven as hot as one gets */
#define TRACE 0.001               /* less than this of what was put on does not count where a piece is moved */

struct summing {
    struct shop *shop;
    struct vapour_view *view;
    int64_t now_ms;
    struct vapour_release release[RELEASES_MOST];
    unsigned releases;
    bool left_out;                /* there were more than releases */
    bool any;                     /* something was looked at for how it burns */
};

const char shop_vapour_moved_text[] =
    "A coat that was moved brings along what was left by the slow pace, into an oven at least what a film holds after flash-off; where it hung before, what came off "
    "by the quick pace counts.";

static const char *const want_texts[VAPOUR_WANT_COUNT] = {
    [VAPOUR_WANT_VOLUME] = "how large it is: until its volume is told nothing is known.",
    [VAPOUR_WANT_AMOUNTS] = "how much was put on: a coat without an amount is in no sum, and what does not exceed is not known then.",
    [VAPOUR_WANT_SOLVENTS] = "what it was thinned with, by a name that is known: until then the sums are not.",
    [VAPOUR_WANT_FEWER] = "what does not fit: there were more coats than these sums hold, and what does not exceed is not known.",
    [VAPOUR_WANT_AIRFLOW] = "how much air its fan moves: until that is told it counts as none.",
    [VAPOUR_WANT_MEASURED] = "whether that airflow was measured: one that was not counts half.",
    [VAPOUR_WANT_LOW_EXHAUST] = "whether its exhaust draws from low down, where vapour lies: unanswered counts as no.",
    [VAPOUR_WANT_COMPOSITION] = "what the material is made of: composition not told counts as the worst of its class.",
};

const char *shop_vapour_want_text(enum vapour_want want)
{
    return (unsigned)want < VAPOUR_WANT_COUNT ? want_texts[want] : "";
}

/* ---- the room ---- */

static double read_temp(struct shop *shop, int64_t place_id, int64_t now_ms)
{
    struct air_view air = shop_air(shop, place_id, now_ms);
    return air.known ? air.temp_c : (double)NAN;
}

static bool is_oven(const struct shop *shop, const struct place *place, int64_t now_ms)
{
    bool heated = place->kind == PLACE_CABINET || shop_heated_until(shop, place->id, now_ms) != MOMENT_NONE;
    return vapour_counts_as_oven(place->kind == PLACE_OVEN, heated, place->volume_m3);
}

static void look_at_room(struct summing *s)
{
    struct vapour_view *view = s->view;
    const struct place *place = view->place;
    double mixing = vapour_mixing(place->risk[RISK_BELOW_GROUND], place->low_exhaust);
    view->temp_c = read_temp(s->shop, place->id, s->now_ms);
    view->temp_known = !isnan(view->temp_c);
    view->temp_c = view->temp_known ? view->temp_c : TEMP_NOT_READ_C;
    view->room = (struct vapour_room){place->volume_m3, place->airflow_m3h, place->airflow_measured, mixing};
    view->effective_m3h = vapour_effective_airflow_m3h(&view->room);
    view->as_oven = is_oven(s->shop, place, s->now_ms);
    view->wants[VAPOUR_WANT_VOLUME] = isnan(place->volume_m3);
    view->wants[VAPOUR_WANT_AIRFLOW] = isnan(place->airflow_m3h);
    view->wants[VAPOUR_WANT_MEASURED] = place->airflow_m3h > 0.0 && !place->airflow_measured;
    view->wants[VAPOUR_WANT_LOW_EXHAUST] = place->low_exhaust == ANSWER_NONE;
}

/* ---- what is given off ---- */

static const struct vapour_load not_known = {(double)NAN, (double)NAN, (double)NAN, 0.0};

static void add_release(struct summing *s, struct vapour_release release)
{
    if (release.load.vapour_m3 == 0.0)
        return;
    if (s->view->as_oven)
        release.load = vapour_load_hot(release.load, s->view->temp_known ? s->view->temp_c : (double)NAN);
    if (release.to_at >= s->now_ms - MS_PER_DAY)
        s->view->load = vapour_load_sum(s->view->load, release.load);
    if (s->releases == RELEASES_MOST)
        s->left_out = true;
    else
        s->release[s->releases++] = release;
}

/* The words stand in the order of danger but for "not known" at the end, which is no reason to be at ease: it gives way to what is worse only. */
static void note_burning(struct summing *s, const struct solvent_mix *mix)
{
    struct vapour_view *view = s->view;
    if (mix->parts == 0)
        return;
    double unread_c = view->as_oven ? BURNS_IN_OVEN_C : BURNS_NOT_READ_C;
    enum vapour_ignition found = vapour_ignition(mix, view->temp_known ? view->temp_c : unread_c);
    if (!s->any || (found < view->ignition && found != VAPOUR_BELOW_FLASH) || (found == VAPOUR_FLASH_UNKNOWN && view->ignition == VAPOUR_BELOW_FLASH))
        view->ignition = found;
    for (unsigned i = 0; i < mix->parts; i++) {
        enum solvent_category category = solvent_category(mix->part[i].solvent);
        category = category == SOLVENT_GAS ? SOLVENT_CATEGORY_1 : category; /* 29 CFR 1910.106(a)(13) */
        view->category = !s->any || category < view->category ? category : view->category;
        s->any = true;
    }
}

static struct vapour_loads loads_of(const struct summing *s, const struct vapour_liquid *liquid)
{
    struct vapour_loads loads = {not_known, not_known};
    if (vapour_loads_of(liquid, s->view->temp_c, &loads, NULL) != COAT_OK)
        loads = (struct vapour_loads){not_known, not_known};
    return loads;
}

static struct vapour_loads loads_sum(struct vapour_loads a, struct vapour_loads b)
{
    return (struct vapour_loads){vapour_load_sum(a.gas, b.gas), vapour_load_sum(a.liquid, b.liquid)};
}

/* The thinner that went in, by its name; one that nobody knows leaves the sum not known. */
static struct vapour_loads loads_of_thinner(struct summing *s, const struct coat_liquids *liquids)
{
    if (liquids->thinner_known) {
        note_burning(s, &liquids->thinner.mix);
        return loads_of(s, &liquids->thinner);
    }
    s->view->wants[VAPOUR_WANT_SOLVENTS] = true;
    return (struct vapour_loads){{0}, not_known};
}

static struct vapour_loads loads_of_coat(struct summing *s, const struct coat *coat, const struct material *material)
{
    struct coat_liquids liquids;
    coat_liquids_of(coat, material, &liquids);
    s->view->composition_untold += !liquids.told;
    s->view->wants[VAPOUR_WANT_COMPOSITION] |= !liquids.told;
    note_burning(s, &liquids.solvent.mix);
    note_burning(s, &liquids.propellant.mix);
    struct vapour_loads loads = loads_of(s, &liquids.solvent);
    if (liquids.propellant.mix.parts > 0)
        loads = loads_sum(loads, loads_of(s, &liquids.propellant));
    return liquids.thinner.amount_ml > 0.0 ? loads_sum(loads, loads_of_thinner(s, &liquids)) : loads;
}

/* ---- where it goes ---- */

/* What of a coat came off in the place that is looked at. */
struct share {
    bool here, moved_in;
    unsigned stays;
    struct share_of_stay {
        int64_t from_at, to_at;   /* when it comes */
        double part;              /* of what was put on */
        struct vapour_pace pace;
        bool first;               /* it was put on here */
    } stay[STAYS_MAX];
};

/* Share of what is there that leaves at a pace; of an infinite one all, however short the time. */
static double gone(double per_h, double hours)
{
    return isfinite(per_h) ? 1.0 - exp(-per_h * fmax(hours, 0.0)) : 1.0;
}

static struct vapour_pace pace_in(const struct summing *s, int64_t place_id, const struct coat *coat, const struct material *material)
{
    double temp_c = read_temp(s->shop, place_id, s->now_ms);
    return vapour_pace_of_coat(material->material_class, coat->application, temp_c);
}

static void add_stay(const struct summing *s, struct share *share, const struct coat *coat, const struct stay *stay, double left, struct vapour_pace pace)
{
    bool first = stay->from_ms <= coat->last_at, leaves = stay->to_ms <= s->now_ms;
    double hours = (double)(stay->to_ms - stay->from_ms) / MS_PER_H;
    if (!first && s->view->as_oven)
        left = fmax(left, solvent_retained_pct(true) / 100.0);
    if (left < TRACE)
        return;
    share->here = true;
    share->moved_in = share->moved_in || !first;
    share->stay[share->stays++] = (struct share_of_stay){
        .from_at = first ? coat->first_at : stay->from_ms,
        .to_at = first ? coat->last_at : stay->from_ms,
        .part = leaves ? left * gone(pace.quick_per_h, hours) : left,
        .pace = pace,
        .first = first,
    };
}

/* What is left at a move by the slow pace goes to the new place; in the old one counts what came off by the quick one. */
static void follow(const struct summing *s, const struct coat *coat, const struct material *material, struct share *share)
{
    struct stay stays[STAYS_MAX];
    unsigned count = coat_stays(s->shop, coat->piece_id, coat->last_at, stays);
    double left = 1.0;
    for (unsigned i = 0; i < count && stays[i].from_ms <= s->now_ms; i++) {
        struct vapour_pace pace = pace_in(s, stays[i].air->place_id, coat, material);
        if (stays[i].air->place_id == s->view->place->id)
            add_stay(s, share, coat, &stays[i], left, pace);
        if (stays[i].to_ms <= s->now_ms)
            left *= 1.0 - gone(pace.slow_per_h, (double)(stays[i].to_ms - stays[i].from_ms) / MS_PER_H);
    }
}

static void add_coat(struct summing *s, const struct coat *coat)
{
    struct share share = {0};
    const struct material_version *version = shop_material_version(s->shop, coat->material_version_id);
    if (version != NULL)
        follow(s, coat, &version->material, &share);
    if (!share.here)
        return;
    if (isnan(coat->amount_ml)) {
        s->view->uncounted++;
        return;
    }
    struct vapour_loads loads = loads_of_coat(s, coat, &version->material);
    s->view->counted++;
    s->view->moved_in += share.moved_in;
    for (unsigned i = 0; i < share.stays; i++) {
        const struct share_of_stay *stay = &share.stay[i];
        if (stay->first)
            add_release(s, (struct vapour_release){stay->from_at, stay->to_at, loads.gas, vapour_pace_of_gas()});
        add_release(s, (struct vapour_release){stay->from_at, stay->to_at, vapour_load_part(loads.liquid, stay->part), stay->pace});
    }
}

static bool coat_counts(const struct coat *coat, int64_t now_ms)
{
    return coat->struck_at == MOMENT_NONE && coat->last_at >= now_ms - SHOP_VAPOUR_DAYS * MS_PER_DAY && coat->first_at <= now_ms;
}

static void add_coats(struct summing *s)
{
    for (size_t i = 0; i < s->shop->coats.count; i++)
        if (coat_counts(&s->shop->coats.item[i], s->now_ms))
            add_coat(s, &s->shop->coats.item[i]);
}

static void add_open_solvent(struct summing *s)
{
    for (size_t i = 0; i < s->shop->releases.count; i++) {
        const struct solvent_release *release = &s->shop->releases.item[i];
        struct vapour_liquid liquid = {.amount_ml = release->amount_ml, .solvent_pct = 100.0};
        bool counts = release->at >= s->now_ms - SHOP_VAPOUR_DAYS * MS_PER_DAY && release->at <= s->now_ms;
        if (!counts || release->place_id != s->view->place->id)
            continue;
        s->view->released++;
        struct vapour_loads loads = {not_known, not_known}; /* written by a program that knew more names */
        if (solvent_mix_parse(release->what, &liquid.mix, NULL) == COAT_OK)
            loads = loads_of(s, &liquid);
        note_burning(s, &liquid.mix);
        add_release(s, (struct vapour_release){release->at, release->at, loads.gas, vapour_pace_of_gas()});
        add_release(s, (struct vapour_release){release->at, release->at, loads.liquid, vapour_pace_of_open()});
    }
}

/* ---- the whole ---- */

/* What is not in the sums can only make it more: what does not exceed by them is not known then. */
static void doubt(struct vapour_verdict *verdict)
{
    if (verdict->is == VAPOUR_NOT_SHOWN)
        *verdict = (struct vapour_verdict){VAPOUR_UNKNOWN, MOMENT_NONE};
    else
        verdict->until = MOMENT_NONE;
}

static void judge(struct summing *s)
{
    struct vapour_view *view = s->view;
    view->still_air_lel_pct = vapour_share_of_lel_pct(&view->load, view->room.volume_m3);
    view->quarter_air_m3 = vapour_load_dilution_air_m3(&view->load, VAPOUR_QUARTER_PCT / 100.0);
    view->limit_air_m3 = vapour_limit_air_m3(&view->load);
    view->outlook = vapour_look_ahead(&view->room, s->release, s->releases, s->now_ms);
    view->wants[VAPOUR_WANT_AMOUNTS] = view->uncounted > 0;
    view->wants[VAPOUR_WANT_FEWER] = s->left_out;
    if (view->uncounted > 0 || s->left_out) {
        doubt(&view->outlook.quarter);
        doubt(&view->outlook.tenth);
        doubt(&view->outlook.limit);
    }
}

bool shop_vapour_view(struct shop *shop, int64_t place_id, int64_t now_ms, struct vapour_view *ret)
{
    struct summing s = {.shop = shop, .view = ret, .now_ms = now_ms};
    memset(ret, 0, sizeof *ret);
    ret->place = shop_place(shop, place_id);
    ret->ignition = VAPOUR_FLASH_UNKNOWN;
    ret->category = SOLVENT_CATEGORY_UNKNOWN;
    if (!ret->place)
        return false;
    look_at_room(&s);
    add_coats(&s);
    add_open_solvent(&s);
    judge(&s);
    shop_cautions(shop, now_ms, &ret->cautions);
    return true;
}

bool shop_vapour_in_oven(struct shop *shop, int64_t piece_id, int64_t now_ms)
{
    const struct place *place = shop_place(shop, shop_piece_place(shop, piece_id, now_ms));
    if (place == NULL || !is_oven(shop, place, now_ms))
        return false;
    for (size_t i = 0; i < shop->coats.count; i++)
        if (shop->coats.item[i].piece_id == piece_id && coat_counts(&shop->coats.item[i], now_ms))
            return true;
    return false;
}
