/* What is in the air of a place, by the sums. */
#include "coat/shop_vapour.h"
#include "daemon/shop/notice.h"

#include <math.h>
#include <string.h>

#define RELEASES_MOST 128         /* with gas and liquid apart: 64 coats of a fortnight in one place */
#define TEMP_NOT_READ_C 20.0

struct summing {
    struct shop *shop;
    struct vapour_view *view;
    int64_t now_ms;
    struct vapour_release release[RELEASES_MOST];
    unsigned releases;
    bool left_out;                /* there were more coats than releases */
};

static const struct vapour_load not_known = {(double)NAN, (double)NAN, (double)NAN};

static void add_release(struct summing *s, const struct coat *coat, struct vapour_load load, struct vapour_pace pace)
{
    if (load.vapour_m3 == 0.0)
        return;
    if (coat->last_at >= s->now_ms - MS_PER_DAY)
        s->view->load = vapour_load_sum(s->view->load, load);
    if (s->releases == RELEASES_MOST)
        s->left_out = true;
    else
        s->release[s->releases++] = (struct vapour_release){coat->first_at, coat->last_at, load, pace};
}

/* The thinner that went in, by its name; one that nobody knows leaves the sum not known. */
static struct vapour_load load_of_thinner(const struct summing *s, const struct coat *coat, double thinner_ml)
{
    struct vapour_liquid liquid = {.amount_ml = thinner_ml, .solvent_pct = 100.0};
    struct vapour_loads loads;
    if (solvent_mix_parse(coat->thinner, &liquid.mix, NULL) != COAT_OK || vapour_loads_of(&liquid, s->view->temp_c, &loads, NULL) != COAT_OK)
        return not_known;
    return vapour_load_sum(loads.gas, loads.liquid);
}

static void note_ignition(struct summing *s, enum material_class class)
{
    struct solvent_default made_of;
    if (solvent_default_of_class(class, &made_of) != COAT_OK)
        return;
    enum vapour_ignition found = vapour_ignition(&made_of.solvent, s->view->temp_known ? s->view->temp_c : (double)NAN);
    bool first = s->view->counted == 1;
    /* the words stand in the order of danger, but for "not known" at the end, which is no reason to be at ease */
    if (first || (found < s->view->ignition && found != VAPOUR_BELOW_FLASH))
        s->view->ignition = found;
}

static void add_coat(struct summing *s, const struct coat *coat)
{
    const struct material_version *version = shop_material_version(s->shop, coat->material_version_id);
    double thinner_ml = isnan(coat->thinned_pct) ? 0.0 : coat->amount_ml * fmin(coat->thinned_pct, 100.0) / 100.0; /* of all of it: the larger reading */
    struct vapour_loads loads = {not_known, not_known};
    struct vapour_pace pace = {0};
    if (version) {
        pace = vapour_pace_of_coat(version->material.material_class, coat->application, s->view->temp_known ? s->view->temp_c : (double)NAN);
        if (vapour_loads_of_class(version->material.material_class, coat->amount_ml - thinner_ml, s->view->temp_c, &loads, NULL) != COAT_OK)
            loads = (struct vapour_loads){not_known, not_known};
    }
    s->view->counted++;
    if (thinner_ml > 0.0)
        loads.liquid = vapour_load_sum(loads.liquid, load_of_thinner(s, coat, thinner_ml));
    add_release(s, coat, loads.gas, vapour_pace_of_gas());
    add_release(s, coat, loads.liquid, pace);
    if (version)
        note_ignition(s, version->material.material_class);
}

static void add_coats(struct summing *s)
{
    int64_t since = s->now_ms - SHOP_VAPOUR_DAYS * MS_PER_DAY;
    for (size_t i = 0; i < s->shop->coats.count; i++) {
        const struct coat *coat = &s->shop->coats.item[i];
        bool counts = coat->struck_at == MOMENT_NONE && coat->last_at >= since && coat->first_at <= s->now_ms;
        if (!counts || shop_piece_place(s->shop, coat->piece_id, coat->last_at) != s->view->place->id)
            continue;
        if (isnan(coat->amount_ml))
            s->view->uncounted++;
        else
            add_coat(s, coat);
    }
}

/* What is not in the sums can only make it more: what does not exceed by them is not known then. */
static void doubt(struct vapour_verdict *verdict)
{
    if (verdict->is == VAPOUR_NOT_SHOWN)
        *verdict = (struct vapour_verdict){VAPOUR_UNKNOWN, MOMENT_NONE};
    else
        verdict->until = MOMENT_NONE;
}

static void look_at_room(struct summing *s)
{
    struct vapour_view *view = s->view;
    const struct place *place = view->place;
    struct air_view air = shop_air(s->shop, place->id, s->now_ms);
    view->temp_known = air.known && !isnan(air.temp_c);
    view->temp_c = view->temp_known ? air.temp_c : TEMP_NOT_READ_C;
    view->room = (struct vapour_room){place->volume_m3, place->airflow_m3h, false, vapour_mixing(place->risk[RISK_BELOW_GROUND], ANSWER_NONE)};
    view->effective_m3h = vapour_effective_airflow_m3h(&view->room);
    view->as_oven = vapour_counts_as_oven(place->kind == PLACE_OVEN, place->kind == PLACE_CABINET, place->volume_m3);
}

bool shop_vapour_view(struct shop *shop, int64_t place_id, int64_t now_ms, struct vapour_view *ret)
{
    struct summing s = {.shop = shop, .view = ret, .now_ms = now_ms};
    memset(ret, 0, sizeof *ret);
    ret->place = shop_place(shop, place_id);
    if (!ret->place)
        return false;
    look_at_room(&s);
    add_coats(&s);
    ret->still_air_lel_pct = vapour_share_of_lel_pct(&ret->load, ret->room.volume_m3);
    ret->quarter_air_m3 = ret->load.vapour_m3 == 0.0 ? 0.0 : vapour_dilution_air_m3(ret->load.vapour_m3, vapour_load_lel_pct(&ret->load), VAPOUR_QUARTER_PCT / 100.0);
    ret->limit_air_m3 = vapour_limit_air_m3(&ret->load);
    ret->outlook = vapour_look_ahead(&ret->room, s.release, s.releases, now_ms);
    if (ret->uncounted > 0 || s.left_out) {
        doubt(&ret->outlook.quarter);
        doubt(&ret->outlook.tenth);
        doubt(&ret->outlook.limit);
    }
    if (ret->counted == 0)
        ret->ignition = VAPOUR_FLASH_UNKNOWN;
    shop_cautions(shop, now_ms, &ret->cautions);
    return true;
}
