/* May this be put on now, and if not, when. (What the writes check is in check.c.) */
#include "coat/shop_check.h"

#include "coat/air.h"
#include "daemon/shop/check.h"
#include "daemon/shop/forecast.h"
#include "daemon/shop/lag.h"
#include "daemon/shop/notice.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define HOTTEST_LOOKED_AT_H 48u
#define MINUTES_OF_DAY 1440

/* What is worked with beside the answer. */
struct checking {
    struct shop *shop;
    const struct check_query *query;
    struct check_view *view;
    const struct material *material;
    struct check_terms terms;
    struct outlook outlook;        /* from the moment asked for; members 0 where nothing is known */
    struct outlook_growth growth;
    struct check_hour hour[CHECK_STARTS];
    struct coat_view below[CHECK_LANDINGS_MAX]; /* of the landings, as of now */
};

/* ---- what the material wants ---- */

static double factor_of(const struct checking *c)
{
    const struct learned_k *learned = shop_learned(c->shop, c->query->material_id, 0);
    return learned ? learned->k : 1.0;
}

/* The first boundary of the guard stage, taken as an opening whatever it is: for a size, when its tack comes. */
static enum coat_result set_terms(struct checking *c)
{
    const struct material *material = c->material;
    const struct stage_table *guard = &material->stage[material->guard];
    struct check_terms *terms = &c->terms;
    struct law_terms law;
    *terms = (struct check_terms){.min_temp_c = material->min_temp_c, .max_temp_c = material->max_temp_c,
                                  .max_rh_pct = material->max_rh_pct, .needed = (double)NAN, .floor_h = (double)NAN,
                                  .surface_c = (double)NAN, .time_constant_min = (double)NAN};
    if (guard->boundaries == 0)
        guard = &material->stage[STAGE_CURE];
    if (guard->boundaries == 0)
        return COAT_OK;
    boundary_terms(material, guard->stage, &guard->boundary[0], &law);
    law.side = SIDE_OPENING;
    terms->needed = law_hours_needed(SIDE_OPENING, guard->boundary[0].row[0].hours, 1.0, factor_of(c));
    terms->floor_h = boundary_limit_h(guard->stage, &guard->boundary[0]);
    return law_from_terms(&law, &terms->law, NULL);
}

/* ---- how warm the piece is ---- */

struct warming {
    double temp_c; /* NAN until its air is known */
    double time_constant_min;
};

/* What was told of a place lately, NULL where that is nothing or stale. */
static const struct outlook *fresh_outlook(const struct checking *c, int64_t place_id)
{
    struct place_air *air = shop_air_of(c->shop, place_id);
    if (air->place_id != place_id || place_air_is_stale(air, c->query->now_ms))
        return NULL;
    (void)forecast_of(air); /* which gives none where too little is known; here its wide members will do */
    return air->outlook && air->outlook_at == air->last_at && air->outlook->members > 0 ? air->outlook : NULL;
}

/* From now to a moment ahead: by the air to come where it hangs. */
static void follow_ahead(const struct checking *c, int64_t place_id, struct warming *piece)
{
    const struct outlook *outlook = c->query->at > c->query->now_ms ? fresh_outlook(c, place_id) : NULL;
    if (outlook && !isnan(piece->temp_c))
        piece->temp_c = check_surface_at(outlook, piece->temp_c, piece->time_constant_min, c->query->now_ms, c->query->at);
}

static enum coat_result set_surface(struct checking *c)
{
    const struct piece *piece = shop_piece(c->shop, c->query->piece_id);
    struct check_surface *surface = &c->view->surface;
    struct warming warming = {.temp_c = (double)NAN};
    if (!piece)
        return COAT_OK;
    surface->wall_assumed = !(piece->wall_mm > 0.0);
    warming.time_constant_min = piece_time_constant_min(piece, &surface->wall_mm);
    if (isnan(warming.time_constant_min))
        return COAT_OK;
    int64_t hangs = shop_piece_place(c->shop, piece->id, c->query->now_ms);
    surface->from_place_id = hangs != c->query->place_id ? hangs : 0;
    int64_t now = c->query->now_ms;
    enum coat_result result = piece_surface_at(c->shop, piece->id, warming.time_constant_min, now, &warming.temp_c);
    follow_ahead(c, hangs, &warming);
    surface->time_constant_min = c->terms.time_constant_min = warming.time_constant_min;
    surface->temp_c = c->terms.surface_c = warming.temp_c;
    surface->known = !isnan(warming.temp_c);
    return result;
}

static void set_surface_clear(struct checking *c)
{
    struct check_surface *surface = &c->view->surface;
    surface->clear_at = MOMENT_NONE;
    surface->dew_point_c = (double)NAN;
    if (!surface->known || c->outlook.members == 0)
        return;
    const struct outlook_path *path = &c->outlook.central;
    surface->dew_point_c = air_dew_point_c(path->temp_c[0], fmax(path->rh_pct[0], 0.1));
    surface->clear_at = check_surface_clear(&c->outlook, surface->temp_c, surface->time_constant_min);
}

/* ---- what it would land on ---- */

static bool is_size(enum material_class material_class)
{
    return material_class == CLASS_SIZE_QUICK || material_class == CLASS_SIZE_SLOW || material_class == CLASS_SIZE_JAPAN ||
           material_class == CLASS_SIZE_WATER;
}

/* When a span ends: an opening at its likely moment, a closing at its earliest; MOMENT_NONE: never. */
static int64_t span_end(const struct stage_view *stage, unsigned i)
{
    if (i + 1 >= stage->spans)
        return MOMENT_NONE;
    const struct moment_band *until = &stage->span[i].until;
    return stage->span[i + 1].does == SPAN_GO ? until->likely_at : until->earliest_at;
}

static unsigned span_at(const struct stage_view *stage, int64_t at_ms, int64_t now_ms)
{
    unsigned i = stage->current;
    if (at_ms <= now_ms)
        return i;
    for (int64_t end; (end = span_end(stage, i)) != MOMENT_NONE && end <= at_ms;)
        i++;
    return i;
}

static bool is_cured(const struct coat_view *below, int64_t at_ms)
{
    const struct stage_view *cure = coat_view_stage(below, STAGE_CURE);
    return cure && cure->span[0].ends && cure->span[0].until.likely_at != MOMENT_NONE && cure->span[0].until.likely_at <= at_ms;
}

static void look_at_landing(const struct checking *c, unsigned i, int64_t at_ms, struct check_landing *ret)
{
    const struct coat_view *below = &c->below[i];
    enum material_class under = below->material->material.material_class;
    enum stage stage = is_size(under) && coat_view_stage(below, STAGE_SEAL) ? STAGE_SEAL : STAGE_RECOAT;
    const struct stage_view *found = coat_view_stage(below, stage);
    unsigned span = found ? span_at(found, at_ms, c->query->now_ms) : 0;
    bool cured = is_cured(below, at_ms);
    *ret = (struct check_landing){
        .coat = below->coat,
        .material = below->material,
        .stage = stage,
        .has_stage = found != NULL,
        .does = found ? found->span[span].does : SPAN_GO,
        .prepared = found && found->prepared && span == found->current,
        .disputed = found && found->disputed,
        .until_at = found ? span_end(found, span) : MOMENT_NONE,
        .cured = cured,
        .compat = compat_over(c->material->material_class, under, cured),
    };
}

static enum check_reason landing_refuses(const struct check_landing *landing)
{
    if (landing->compat.verdict == COMPAT_NO)
        return CHECK_INCOMPATIBLE;
    switch (landing->does) {
    case SPAN_WAIT:
    case SPAN_TEST:
        return CHECK_NOT_OPEN;
    case SPAN_STRIP:
        return CHECK_MISSED;
    case SPAN_GO:
    case SPAN_WIPE:
    case SPAN_SCUFF:
    case SPAN_COUNT:
        break;
    }
    return CHECK_NOTHING;
}

static void set_landings(struct checking *c)
{
    struct check_view *view = c->view;
    size_t count = 0;
    const struct coat *coats = shop_coats(c->shop, &count);
    for (size_t i = count; i-- > 0 && view->landings < CHECK_LANDINGS_MAX;) { /* newest first */
        struct coat_view *below = &c->below[view->landings];
        if (c->query->piece_id == 0 || coats[i].piece_id != c->query->piece_id || !areas_touch(coats[i].area, c->query->area))
            continue;
        if (!shop_coat_view(c->shop, coats[i].id, c->query->now_ms, below) || below->status != COAT_ON)
            continue;
        look_at_landing(c, view->landings, c->query->at, &view->landing[view->landings]);
        view->landings++;
    }
}

/* ---- the hours ---- */

static bool in_hours(const struct checking *c, int64_t at_ms)
{
    const struct shop_settings *settings = shop_settings_now(c->shop);
    int64_t local = at_ms + c->query->zone_offset_ms(settings->zone, at_ms);
    int minute = (int)((local - moment_day_start(moment_day(local))) / MS_PER_MIN) % MINUTES_OF_DAY;
    int from = settings->work_from_min, to = settings->work_to_min;
    if (from == to)
        return true;
    return from < to ? minute >= from && minute < to : minute >= from || minute < to;
}

/* What the coats below say of a later start weighs more than the air: no air opens a shut window. */
static void overlay_landings(const struct checking *c, struct check_hour *hour)
{
    for (unsigned i = 0; i < c->view->landings; i++) {
        struct check_landing then;
        look_at_landing(c, i, hour->at_ms, &then);
        enum check_reason reason = landing_refuses(&then);
        if (reason == CHECK_NOTHING)
            continue;
        hour->good = false;
        hour->fault = (struct check_fault){reason, (double)NAN, (double)NAN};
        hour->breaks_ms = MOMENT_NONE;
        return;
    }
}

static bool is_now(const struct checking *c)
{
    return c->query->at <= c->query->now_ms + CHECK_GRACE_MS;
}

/* The air as it was read must do as well, not only its outlook. */
static void overlay_reading(const struct checking *c, struct check_hour *hour)
{
    const struct air_view *air = &c->view->air;
    struct check_fault fault = check_fault_in(&c->terms, air->temp_c, air->rh_pct, c->terms.surface_c);
    if (!is_now(c) || fault.reason == CHECK_NOTHING)
        return;
    hour->good = false;
    hour->fault = fault;
    hour->breaks_ms = MOMENT_NONE;
}

static void set_hours(struct checking *c)
{
    check_hours(&c->outlook, &c->terms, c->hour);
    overlay_reading(c, &c->hour[0]);
    for (unsigned t = 0; t < CHECK_STARTS; t++)
        c->hour[t].works = in_hours(c, c->hour[t].at_ms);
}

static bool air_is_known(const struct checking *c)
{
    return c->view->air.known && c->view->air.basis == AIR_MEASURED && c->view->air.rh_basis == AIR_MEASURED && c->outlook.members > 0;
}

static void refuse(struct check_view *view, struct check_fault fault, int64_t breaks_at, int landing)
{
    view->refusal[view->refusals++] = (struct check_refusal){fault, breaks_at, landing};
}

static void set_verdict(struct checking *c)
{
    struct check_view *view = c->view;
    for (unsigned i = 0; i < view->landings; i++) {
        enum check_reason reason = landing_refuses(&view->landing[i]);
        if (reason != CHECK_NOTHING)
            refuse(view, (struct check_fault){reason, (double)NAN, (double)NAN}, MOMENT_NONE, (int)i);
    }
    bool known = air_is_known(c);
    if (known && !c->hour[0].good)
        refuse(view, c->hour[0].fault, c->hour[0].breaks_ms > c->query->at ? c->hour[0].breaks_ms : MOMENT_NONE, -1);
    view->verdict = view->refusals > 0 ? CHECK_NO : known ? CHECK_YES : CHECK_UNKNOWN;
    if (!known)
        refuse(view, (struct check_fault){CHECK_NO_AIR, (double)NAN, (double)NAN}, MOMENT_NONE, -1);
}

static void set_stretches(struct checking *c)
{
    if (!air_is_known(c))
        return;
    for (unsigned t = 0; t < CHECK_STARTS; t++)
        overlay_landings(c, &c->hour[t]);
    c->view->stretches = check_stretches(c->hour, c->view->stretch);
}

/* ---- the windows that it would open ---- */

/* The urethane's rule: the hottest air decides. Of the air to come its middle course, over the first two days. */
static double hottest_c(const struct outlook *outlook)
{
    double top = outlook->central.temp_c[0];
    for (unsigned h = 1; h <= outlook->hours && h <= HOTTEST_LOOKED_AT_H; h++)
        top = fmax(top, outlook->central.temp_c[h]);
    return top;
}

static int64_t after(int64_t at, double hours)
{
    return at + (int64_t)llround(hours * (double)MS_PER_H);
}

static int64_t earlier(int64_t a, int64_t b)
{
    return a == MOMENT_NONE || (b != MOMENT_NONE && b < a) ? b : a;
}

/* Openings at their likely moment and not before the label's, closings at their earliest. */
static int64_t boundary_moment(struct checking *c, enum stage stage, const struct stage_boundary *boundary)
{
    struct law_terms terms;
    struct law law;
    int64_t at = c->outlook.from_ms;
    boundary_terms(c->material, stage, boundary, &terms);
    if (law_from_terms(&terms, &law, NULL) != COAT_OK)
        return MOMENT_NONE;
    double needed = law_hours_needed(law.side, boundary->row[0].hours, 1.0, factor_of(c)), limit_h = boundary_limit_h(stage, boundary);
    int64_t limit = isnan(limit_h) ? MOMENT_NONE : after(at, limit_h);
    outlook_grow(&c->outlook, &law, &c->growth);
    struct outlook_finish finish = outlook_finish(&c->growth, (struct outlook_need){needed, 0.0, FORECAST_COAT_SPREAD});
    if (law.side == SIDE_OPENING)
        return finish.likely_ms == MOMENT_NONE || limit == MOMENT_NONE || limit < finish.likely_ms ? finish.likely_ms : limit;
    if (c->material->closes_by_hottest && stage == STAGE_RECOAT)
        finish.earliest_ms = after(at, needed / law_rate(&law, hottest_c(&c->outlook), law.ref_rh_pct, NULL));
    return earlier(finish.earliest_ms, limit);
}

/* Looked at every quarter of an hour; a window of two days or more has some of every day in it. */
static bool misses_hours(const struct checking *c, int64_t from, int64_t until)
{
    if (from == MOMENT_NONE || until == MOMENT_NONE || until - from >= 2 * MS_PER_DAY)
        return false;
    for (int64_t at = from; at <= until; at += 15 * MS_PER_MIN)
        if (in_hours(c, at))
            return false;
    return true;
}

static bool is_disputed(const struct stage_table *table)
{
    bool disputed = false;
    for (unsigned i = 0; i < table->boundaries; i++)
        disputed |= table->boundary[i].disputed;
    return disputed;
}

static void add_window(struct checking *c, enum stage stage, enum span_do does, int64_t from, int64_t until)
{
    struct check_view *view = c->view;
    if ((does != SPAN_GO && does != SPAN_TEST) || view->windows == CHECK_WINDOWS_MAX)
        return;
    if (from != MOMENT_NONE && until != MOMENT_NONE && until <= from)
        return; /* it would close before it opens */
    view->window[view->windows++] = (struct check_window){
        .stage = stage,
        .does = does,
        .from_at = from,
        .until_at = until,
        .from_outside = from != MOMENT_NONE && !in_hours(c, from),
        .until_outside = until != MOMENT_NONE && !in_hours(c, until),
        .missed_hours = misses_hours(c, from, until),
        .disputed = is_disputed(&c->material->stage[stage]),
    };
}

static void set_stage_windows(struct checking *c, enum stage stage)
{
    const struct stage_table *table = &c->material->stage[stage];
    enum span_do does = table->first;
    int64_t from = c->outlook.from_ms;
    if (table->boundaries == 0)
        return;
    for (unsigned i = 0; i < table->boundaries; i++) {
        int64_t until = boundary_moment(c, stage, &table->boundary[i]);
        add_window(c, stage, does, from, until);
        if (until == MOMENT_NONE && table->boundary[i].then == SPAN_GO) {
            add_window(c, stage, SPAN_GO, MOMENT_NONE, MOMENT_NONE); /* not in this air */
            return;
        }
        from = until;
        does = table->boundary[i].then;
    }
    add_window(c, stage, does, from, MOMENT_NONE);
}

/* When it may go on: the moment asked for, else the first good start, in the shop's hours if there is one. */
static int64_t first_start(const struct check_view *view)
{
    int64_t first = MOMENT_NONE;
    if (view->verdict == CHECK_YES)
        return view->at;
    for (unsigned i = 0; i < view->stretches; i++) {
        const struct check_stretch *stretch = &view->stretch[i];
        if (stretch->good && stretch->works_from_ms != MOMENT_NONE)
            return stretch->works_from_ms;
        if (stretch->good && first == MOMENT_NONE)
            first = stretch->from_ms;
    }
    return first;
}

static void set_windows(struct checking *c)
{
    static const enum stage stages[] = {STAGE_RECOAT, STAGE_LEAF, STAGE_SEAL};
    const struct outlook *outlook = fresh_outlook(c, c->query->place_id);
    int64_t start = c->view->windows_at = first_start(c->view);
    if (!outlook || start == MOMENT_NONE)
        return;
    check_outlook_from(outlook, start, &c->outlook);
    for (size_t i = 0; c->outlook.members > 0 && i < sizeof stages / sizeof *stages; i++)
        set_stage_windows(c, stages[i]);
}

/* ---- all of it ---- */

static enum coat_result find_subjects(struct checking *c, char area[AREA_SIZE], struct coat_error *error)
{
    const struct place *place;
    const struct piece *piece = NULL;
    const struct check_query *query = c->query;
    enum coat_result result = check_material(c->shop, "material", query->material_id, &c->view->material, error);
    if (result == COAT_OK)
        result = check_place(c->shop, "place", query->place_id, &place, error);
    if (result == COAT_OK && query->piece_id != 0)
        result = check_piece(c->shop, "piece", query->piece_id, &piece, error);
    if (result == COAT_OK && piece)
        result = check_area(piece, area, error);
    if (result == COAT_OK && (query->at < query->now_ms - CHECK_GRACE_MS || query->at > query->now_ms + CHECK_HOURS * MS_PER_H))
        return coat_fail(error, COAT_BAD_VALUE, "at", "it does not lie within the next %d h: leave it out for now", CHECK_HOURS);
    return result;
}

/* The outlook of the place, however little is known of its air; its members then spread widely. */
static void set_outlook(struct checking *c)
{
    const struct outlook *outlook = fresh_outlook(c, c->query->place_id);
    c->outlook.members = 0;
    c->outlook.hours = 0;
    c->outlook.from_ms = c->query->at;
    if (outlook)
        check_outlook_from(outlook, c->query->at, &c->outlook);
    c->view->known_days = c->outlook.members > 0 ? c->outlook.known_days : 0.0;
}

static enum coat_result check_all(struct checking *c)
{
    const struct shop_settings *settings = shop_settings_now(c->shop);
    c->view->has_hours = settings->work_from_min != settings->work_to_min;
    c->view->air = shop_air(c->shop, c->query->place_id, c->query->now_ms);
    enum coat_result result = set_terms(c);
    if (result == COAT_OK)
        result = set_surface(c);
    if (result != COAT_OK)
        return result;
    set_outlook(c);
    set_surface_clear(c);
    set_landings(c);
    set_hours(c);
    set_verdict(c);
    set_stretches(c);
    set_windows(c);
    shop_cautions_for(c->shop, CAUTION_FOR_COAT, c->query->material_id, c->query->piece_id, c->query->place_id, &c->view->cautions);
    return COAT_OK;
}

static bool is_untold_or_good(const enum check_near near[CHECK_COMING_STARTS])
{
    bool comes = false;
    for (unsigned t = 1; t < CHECK_COMING_STARTS; t++)
        comes |= near[t] != CHECK_NEAR_BAD;
    return comes;
}

/* With c->outlook for room. */
static bool may_come(struct checking *c)
{
    enum check_near near[CHECK_COMING_STARTS];
    const struct place_air *place = shop_air_of(c->shop, c->query->place_id);
    struct air_view *air = &c->view->air;
    *air = shop_air(c->shop, c->query->place_id, c->query->now_ms);
    if (!air->known || air->basis != AIR_MEASURED || air->rh_basis != AIR_MEASURED || place_air_is_stale(place, c->query->now_ms))
        return false;
    if (set_terms(c) != COAT_OK || set_surface(c) != COAT_OK)
        return false;
    const struct outlook *outlook = forecast_near(place, &c->outlook);
    if (outlook == NULL || outlook->members == 0)
        return false;
    check_near_starts(outlook, &c->terms, c->query->now_ms, CHECK_COMING_STARTS, near);
    if (near[0] == CHECK_NEAR_UNTOLD)
        return true;
    bool refused = near[0] == CHECK_NEAR_BAD || check_fault_in(&c->terms, air->temp_c, air->rh_pct, c->terms.surface_c).reason != CHECK_NOTHING;
    return refused && is_untold_or_good(near);
}

bool shop_check_may_come(struct shop *shop, const struct check_query *query)
{
    struct checking *checking = malloc(sizeof *checking);
    struct check_view *view = calloc(1, sizeof *view);
    bool may = true; /* without memory it is left to shop_check() */
    if (checking != NULL && view != NULL) {
        checking->shop = shop;
        checking->query = query;
        checking->view = view;
        if (check_material(shop, "material", query->material_id, &view->material, NULL) == COAT_OK) {
            checking->material = &view->material->material;
            may = may_come(checking);
        }
    }
    free(checking);
    free(view);
    return may;
}

enum coat_result shop_check(struct shop *shop, const struct check_query *query, struct check_view *ret, struct coat_error *error)
{
    char area[AREA_SIZE] = "";
    struct check_query own = *query;
    memset(ret, 0, sizeof *ret);
    if (query->area && strlen(query->area) >= sizeof area)
        return coat_fail(error, COAT_BAD_VALUE, "area", "\"%.60s\" is no area of a piece", query->area);
    if (query->area)
        memcpy(area, query->area, strlen(query->area) + 1);
    own.area = area;
    struct checking *checking = malloc(sizeof *checking); /* about 300 kB */
    if (!checking)
        return coat_fail(error, COAT_NO_MEMORY, "", "out of memory");
    checking->shop = shop;
    checking->query = &own;
    checking->view = ret;
    enum coat_result result = find_subjects(checking, area, error);
    ret->place_id = query->place_id;
    ret->piece_id = query->piece_id;
    ret->at = query->at;
    if (result == COAT_OK) {
        checking->material = &ret->material->material;
        result = check_all(checking);
    }
    free(checking);
    return result;
}
