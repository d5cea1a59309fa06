/* May it begin: the answers, what the shop knows by itself, and the vapour of the load against its oven. */
#include "daemon/shop/baking.h"

#include "coat/solvent.h"
#include "daemon/shop/liquids.h"
#include "daemon/shop/notice.h"

#include <math.h>
#include <stdarg.h>
#include <string.h>

#define QUARTER_LEL_PCT VAPOUR_QUARTER_PCT
#define FRESH_DAYS 14 /* a coat below that lies longer than this holds no solvent that counts */

const char shop_bake_deferral[] =
    "This is no design of an oven, and nothing here watches one: stay with it. The label, the safety data sheet, local codes and licensed practice decide.";

struct judging {
    struct shop *shop;
    int64_t now_ms;
    struct bake_view *view;
    struct bake_query query;
    unsigned own;                 /* refusals that the shop itself gives */
    struct bake_refusal refusal[4 * SHOP_BAKE_PARTS_MAX + 8];
};

__attribute__((format(printf, 6, 7))) static void refuse(struct judging *j, enum bake_refusal_kind kind, unsigned which, bool safety, double limit_c,
                                                         const char *format, ...)
{
    if (j->own == sizeof j->refusal / sizeof *j->refusal)
        return; /* there is room for all that one load can give */
    struct bake_refusal *refusal = &j->refusal[j->own++];
    *refusal = (struct bake_refusal){.kind = kind, .which = which, .safety = safety, .limit_c = limit_c};
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(refusal->text, sizeof refusal->text, format, arguments);
    va_end(arguments);
}

static const char *piece_name(const struct judging *j, const struct coat *coat)
{
    const struct piece *piece = shop_piece(j->shop, coat->piece_id);
    return piece ? piece->name : "?";
}

/* ---- the oven ---- */

static void judge_oven(struct judging *j)
{
    const struct place *oven = j->view->place;
    if (!oven || oven->removed_at != MOMENT_NONE)
        refuse(j, BAKE_REFUSE_OVEN, 0, true, (double)NAN, "The oven is not in use any more.");
    else if (isnan(oven->volume_m3))
        refuse(j, BAKE_REFUSE_OVEN, 0, true, (double)NAN, "How large %.63s is inside is not told, so that nothing is known of its vapour: coat place edit \"%.63s\" --volume 100l.",
               oven->name, oven->name);
    if (oven && oven->risk[RISK_BELOW_GROUND] == ANSWER_YES && j->query.answer[BAKE_ITEM_BELOW_GROUND] == ANSWER_NO)
        refuse(j, BAKE_REFUSE_OVEN, 0, true, (double)NAN, "By the record %.63s is below ground: there vapour gathers, and no oven stands there (International Fire Code 3003.2, "
               "as adopted locally).", oven->name);
}

/* ---- each coat ---- */

static bool is_baked_elsewhere(const struct judging *j, const struct coat *coat)
{
    for (size_t i = 0; i < j->shop->bake_parts.count; i++) {
        const struct bake_part *part = &j->shop->bake_parts.item[i];
        size_t index = part->coat_id == coat->id && part->bake_id != j->view->bake->id ? bake_index(j->shop, part->bake_id) : SIZE_MAX;
        if (index != SIZE_MAX && bake_is_on(&j->shop->bakes.item[index], j->now_ms))
            return true;
    }
    return false;
}

static void judge_flash(struct judging *j, unsigned number, const struct bake_part_view *part)
{
    char at[LOCAL_TEXT_SIZE];
    size_t index = shop_coat_index(j->shop, part->coat->id);
    const struct boundary_clock *flashed = index == SIZE_MAX ? NULL : clock_first_opening(&j->shop->clocks.item[index], STAGE_BAKE);
    int64_t due = flashed ? boundary_due(flashed) : MOMENT_NONE;
    if (!flashed || (due != MOMENT_NONE && due <= j->now_ms))
        return; /* without such a stage the answer alone decides */
    if (due == MOMENT_NONE)
        refuse(j, BAKE_REFUSE_FLASH, number, true, (double)NAN, "Coat %lld on %.63s has not flashed off, and does not in the air as it is known: its solvent would burn in the oven.",
               (long long)part->coat->id, piece_name(j, part->coat));
    else
        refuse(j, BAKE_REFUSE_FLASH, number, true, (double)NAN, "Coat %lld on %.63s has not flashed off: not before %s, as the air is now.", (long long)part->coat->id,
               piece_name(j, part->coat), shop_local_text(j->shop, due, j->now_ms, at));
}

/* Only what a label says: twice what the rows ask is where a person should look, and no reason not to begin. */
static void judge_holds(struct judging *j, unsigned number, const struct bake_part_view *part)
{
    const struct material *material = &part->material->material;
    if (!part->law.too_long_given || bake_holds(&part->law, j->view->step, j->view->steps) < part->law.too_long)
        return;
    refuse(j, BAKE_REFUSE_TOO_LONG, number, false, (double)NAN, "Held as its steps say, coat %lld on %.63s is in the heat too long: %.3g h at %g C is too long for it (%s).",
           (long long)part->coat->id, piece_name(j, part->coat), material->bake_too_long_h, material->bake_too_long_c, bake_label_source);
}

static void judge_coat(struct judging *j, unsigned number)
{
    const struct bake_part_view *part = &j->view->part[number];
    size_t index = part->coat ? shop_coat_index(j->shop, part->coat->id) : SIZE_MAX;
    if (index == SIZE_MAX || !part->material || part->law.needed_h <= 0.0) {
        refuse(j, BAKE_REFUSE_COAT, number, true, (double)NAN, "Coat %lld has no bake rows: nothing is known of how it bakes.", (long long)part->part->coat_id);
        return;
    }
    enum coat_status status = j->shop->clocks.item[index].status;
    if (status != COAT_ON)
        refuse(j, BAKE_REFUSE_COAT, number, false, (double)NAN, "Coat %lld on %.63s is not what lies on top any more (%s).", (long long)part->coat->id,
               piece_name(j, part->coat), coat_status_word(status));
    if (is_baked_elsewhere(j, part->coat))
        refuse(j, BAKE_REFUSE_COAT, number, false, (double)NAN, "Coat %lld on %.63s is in an oven already.", (long long)part->coat->id, piece_name(j, part->coat));
    if (bake_gets_there(&part->law, j->view->peak_c, NULL) != COAT_OK)
        refuse(j, BAKE_REFUSE_TOO_COLD, number, false, part->law.coldest_c, "At %g C coat %lld on %.63s never bakes: its coldest bake row is %g C.", j->view->peak_c,
               (long long)part->coat->id, piece_name(j, part->coat), part->law.coldest_c);
    judge_holds(j, number, part);
    judge_flash(j, number, part);
    const struct piece *piece = shop_piece(j->shop, part->coat->piece_id);
    if (piece && piece->old_finish == OLD_FINISH_LEAD)
        refuse(j, BAKE_REFUSE_OLD_FINISH, number, true, (double)NAN, "By the record the old finish of %.63s has lead in it, and heat drives fume from it. Where it is gone down to the "
               "bare metal, say so first: coat piece edit \"%.63s\" --old-finish \"tested clear\".", piece->name, piece->name);
}

/* ---- earlier coats ---- */

static bool lies_below(const struct shop *shop, size_t index, const struct coat *upper)
{
    const struct coat *lower = &shop->coats.item[index];
    enum coat_status status = shop->clocks.item[index].status;
    return lower->piece_id == upper->piece_id && lower->id != upper->id && status != COAT_STRUCK && status != COAT_STRIPPED;
}

/* Everything on the piece gets as hot as the coat that is baked, wherever on it that is. */
static void add_earlier(struct judging *j, const struct bake_part_view *part)
{
    for (size_t i = 0; i < j->shop->coats.count; i++) {
        const struct material_version *version = shop_material_version(j->shop, j->shop->coats.item[i].material_version_id);
        if (!lies_below(j->shop, i, part->coat) || !version)
            continue;
        struct bake_stands stands = bake_stands(&version->material);
        if (j->query.earlier < BAKE_EARLIER_MAX)
            j->query.coat[j->query.earlier] = (struct bake_earlier){version->material.name, stands.limit_c, stands.source, stands.ruins};
        j->query.earlier++; /* those without room refuse */
    }
}

/* ---- vapour ---- */

struct loading {
    struct bake_vapour *vapour;
    struct vapour_load hot;       /* of what goes in, at the peak */
    double peak_c;
};

static double retained_part(const struct bake_view *view)
{
    bool flashed = view->item[BAKE_ITEM_FLASHED_OFF].answer == ANSWER_YES;
    double pct = isnan(view->bake->retained_pct) ? solvent_retained_pct(flashed) : view->bake->retained_pct;
    return pct / 100.0;
}

static void add_liquid(struct loading *loading, const struct vapour_liquid *liquid, double part)
{
    struct vapour_loads loads;
    if (vapour_loads_of(liquid, loading->peak_c, &loads, NULL) != COAT_OK) {
        loading->vapour->known = false;
        return;
    }
    loading->vapour->solvent_ml += liquid->amount_ml * liquid->solvent_pct / 100.0;
    loading->hot = vapour_load_sum(loading->hot, vapour_load_part(loads.liquid, part));
}

/* What was sprayed as gas is gone; the share of the solvents counts, whatever the propellant was. */
static void add_coat_load(struct loading *loading, const struct coat *coat, const struct material *material, double part)
{
    struct coat_liquids liquids;
    if (isnan(coat->amount_ml)) {
        loading->vapour->uncounted++;
        loading->vapour->known = false;
        return;
    }
    coat_liquids_of(coat, material, &liquids);
    add_liquid(loading, &liquids.solvent, part);
    if (!liquids.thinner_known)
        loading->vapour->known = false;
    else if (liquids.thinner.amount_ml > 0.0)
        add_liquid(loading, &liquids.thinner, part);
}

static bool still_holds_solvent(const struct judging *j, const struct coat *coat, const struct coat *upper)
{
    struct coat_bake baked;
    bool fresh = coat->last_at >= j->now_ms - FRESH_DAYS * MS_PER_DAY && coat->first_at <= upper->first_at;
    return fresh && !(shop_coat_bake(j->shop, coat->id, j->now_ms, &baked) && baked.baked);
}

static void add_part_load(struct judging *j, struct loading *loading, const struct bake_part_view *part)
{
    double retained = retained_part(j->view);
    for (size_t i = 0; i < j->shop->coats.count; i++) {
        const struct coat *coat = &j->shop->coats.item[i];
        const struct material_version *version = shop_material_version(j->shop, coat->material_version_id);
        bool counts = coat->id == part->coat->id || (lies_below(j->shop, i, part->coat) && still_holds_solvent(j, coat, part->coat));
        if (counts && version)
            add_coat_load(loading, coat, &version->material, retained);
    }
}

static void weigh_vapour(struct judging *j)
{
    struct bake_vapour *vapour = &j->view->vapour;
    const struct place *oven = j->view->place;
    *vapour = (struct bake_vapour){.known = true, .retained_pct = retained_part(j->view) * 100.0, .retained_source = solvent_retained_source,
                                   .hot_lel_pct = (double)NAN, .still_air_pct = (double)NAN, .needs_m3h = (double)NAN, .purge_min = (double)NAN};
    struct loading loading = {.vapour = vapour, .peak_c = j->view->peak_c};
    if (!oven || isnan(j->view->peak_c))
        vapour->known = false;
    for (unsigned i = 0; i < j->view->parts && vapour->known; i++)
        if (j->view->part[i].coat)
            add_part_load(j, &loading, &j->view->part[i]);
    struct vapour_room room = {oven ? oven->volume_m3 : (double)NAN, oven ? oven->airflow_m3h : (double)NAN, oven && oven->airflow_measured, VAPOUR_MIXING_PERFECT};
    vapour->has_m3h = vapour_effective_airflow_m3h(&room);
    vapour->has_measured = room.airflow_measured;
    vapour->purge_min = vapour_oven_purge_min(room.volume_m3, room.airflow_m3h);
    if (!vapour->known)
        return;
    struct vapour_load hot = vapour_load_hot(loading.hot, j->view->peak_c);
    vapour->retained_ml = vapour->solvent_ml * retained_part(j->view);
    vapour->hot_lel_pct = vapour_load_lel_pct(&hot);
    vapour->still_air_pct = hot.vapour_m3 == 0.0 ? 0.0 : vapour_share_of_lel_pct(&hot, room.volume_m3);
    vapour->needs_m3h = vapour_batch_oven_air_m3h(vapour->retained_ml);
    vapour->enough = vapour->still_air_pct <= QUARTER_LEL_PCT || vapour->has_m3h >= vapour->needs_m3h; /* false for NAN */
}

static void judge_vapour(struct judging *j)
{
    const struct bake_vapour *vapour = &j->view->vapour;
    weigh_vapour(j);
    if (vapour->enough)
        return;
    if (vapour->uncounted > 0)
        refuse(j, BAKE_REFUSE_VAPOUR, 0, true, (double)NAN, "How much was put on is not told of %u coat%s, so that nothing is known of the vapour in the oven: coat amend N --amount 60ml.",
               vapour->uncounted, vapour->uncounted == 1 ? "" : "s");
    else if (isnan(vapour->still_air_pct))
        refuse(j, BAKE_REFUSE_VAPOUR, 0, true, (double)NAN, "The vapour in the oven cannot be worked out: tell its volume, how hot it gets, and a thinner that is known.");
    else
        refuse(j, BAKE_REFUSE_VAPOUR, 0, true, (double)NAN,
               "Vapour exceeds a quarter of what can explode: %.3g ml of solvent still in the film make %.0f %% of it in this oven's still air. It needs %.3g m3/h of exhaust out of doors (NFPA 86, "
               "from memory), it counts %.3g%s. Let it flash off longer, bake less at a time, or measure a larger exhaust.",
               vapour->retained_ml, ceil(vapour->still_air_pct), vapour->needs_m3h, vapour->has_m3h, vapour->has_m3h > 0.0 && !vapour->has_measured ? " (half: not measured)" : "");
}

/* ---- together ---- */

static void fill_query(struct judging *j)
{
    const struct bake_view *view = j->view;
    j->query = (struct bake_query){.peak_c = view->peak_c, .too_hot_c = (double)NAN};
    for (unsigned i = 0; i < BAKE_ITEM_COUNT; i++)
        j->query.answer[i] = view->item[i].answer;
    for (unsigned i = 0; i < BAKE_RUIN_COUNT; i++)
        j->query.on_piece[i] = view->thing[i].answer;
    for (unsigned i = 0; i < view->parts; i++) {
        const struct bake_part_view *part = &view->part[i];
        if (part->law.needed_h > 0.0 && !(j->query.too_hot_c <= part->law.too_hot_c)) {
            j->query.too_hot_c = part->law.too_hot_c;
            j->query.too_hot_given = part->law.too_hot_given;
        }
        if (part->coat)
            add_earlier(j, part);
    }
}

static void put_refusals(struct judging *j, const struct bake_review *review, bool safety)
{
    struct bake_view *view = j->view;
    for (unsigned i = 0; i < j->own; i++)
        if (j->refusal[i].safety == safety)
            view->refusal[view->refusals++] = j->refusal[i];
    for (unsigned i = 0; i < review->count; i++)
        if (review->refusal[i].safety == safety)
            view->refusal[view->refusals++] = review->refusal[i];
}

void bake_judge(struct shop *shop, int64_t now_ms, struct bake_view *view)
{
    struct judging j = {.shop = shop, .now_ms = now_ms, .view = view};
    struct bake_review review;
    if (!view->bake->reviewed)
        return;
    if (view->bake->started_at != MOMENT_NONE || view->bake->ended_at != MOMENT_NONE) {
        weigh_vapour(&j); /* what was decided is decided; the sum stays to be seen */
        return;
    }
    fill_query(&j);
    judge_oven(&j);
    for (unsigned i = 0; i < view->parts; i++)
        judge_coat(&j, i);
    judge_vapour(&j);
    bake_review(&j.query, &review);
    put_refusals(&j, &review, true);
    view->refused_for_safety = view->refusals > 0;
    put_refusals(&j, &review, false);
}
