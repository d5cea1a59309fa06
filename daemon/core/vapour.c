#include "coat/vapour.h"

#include "coat/material.h"

#include <math.h>

const char vapour_deferral[] =
    "No design: the product label, the safety data sheet, local codes and licensed practice decide.";

#define PPM 1e-6
#define ML_M3 1e-6

static bool is_positive(double value)
{
    return isfinite(value) && value > 0.0;
}

static double clamp(double value, double low, double high)
{
    return fmin(fmax(value, low), high);
}

/* ---- loads ---- */

#define SHARES_WITHIN_PCT 1.0 /* sheets round */
#define TEMP_LOW_C (-40.0)
#define TEMP_HIGH_C 400.0

enum coat_result vapour_liquid_check(const struct vapour_liquid *liquid, struct coat_error *error)
{
    if (!(liquid->amount_ml >= 0.0 && liquid->amount_ml <= VAPOUR_AMOUNT_MOST_ML))
        return coat_fail(error, COAT_BAD_VALUE, "amount_ml", "an amount of %.4g ml will not do: write 0 ml to 1000 l", liquid->amount_ml);
    if (!(liquid->solvent_pct >= 0.0 && liquid->solvent_pct <= 100.0))
        return coat_fail(error, COAT_BAD_VALUE, "solvent_pct", "a solvent share of %.4g%% will not do: write 0%% to 100%%",
                         liquid->solvent_pct);
    if (liquid->solvent_pct > 0.0 && (liquid->mix.parts == 0 || liquid->mix.parts > SOLVENT_PARTS_MAX))
        return coat_fail(error, COAT_BAD_VALUE, "solvent", "%u solvents will not do: write 1 to %d of them", liquid->mix.parts,
                         SOLVENT_PARTS_MAX);
    double total_pct = solvent_mix_total_pct(&liquid->mix);
    if (liquid->solvent_pct > 0.0 && !(fabs(total_pct - 100.0) <= SHARES_WITHIN_PCT))
        return coat_fail(error, COAT_BAD_VALUE, "solvent", "the shares add up to %.4g%%: of what evaporates they must make 100%%; "
                         "what stays in the film belongs in the solvent share", total_pct);
    return COAT_OK;
}

static struct vapour_load load_of_solvent(const struct solvent *solvent, double liquid_ml, double temp_c)
{
    double vapour_m3 = liquid_ml * ML_M3 * solvent_expansion(solvent, temp_c);
    return (struct vapour_load){
        .vapour_m3 = vapour_m3,
        .lel_air_m3 = vapour_m3 / (solvent->lel_pct.value / 100.0),
        .limit_air_m3 = vapour_m3 / (solvent_limit_ppm(solvent) * PPM),
    };
}

struct vapour_load vapour_load_sum(struct vapour_load a, struct vapour_load b)
{
    return (struct vapour_load){a.vapour_m3 + b.vapour_m3, a.lel_air_m3 + b.lel_air_m3, a.limit_air_m3 + b.limit_air_m3, a.unsure_m3 + b.unsure_m3};
}

/* The vapour that is there whichever candidate it is: no more than that may stand in for air. */
static double sure_m3(const struct vapour_load *load)
{
    return load->vapour_m3 - load->unsure_m3;
}

/* Of two candidates; fmax and fmin pass over a NAN. */
static struct vapour_load load_worse(struct vapour_load a, struct vapour_load b)
{
    double most_m3 = fmax(a.vapour_m3, b.vapour_m3), least_m3 = fmin(sure_m3(&a), sure_m3(&b));
    return (struct vapour_load){most_m3, fmax(a.lel_air_m3, b.lel_air_m3), fmax(a.limit_air_m3, b.limit_air_m3), most_m3 - least_m3};
}

struct vapour_load vapour_load_part(struct vapour_load load, double part)
{
    double kept = clamp(part, 0.0, 1.0);
    return (struct vapour_load){load.vapour_m3 * kept, load.lel_air_m3 * kept, load.limit_air_m3 * kept, load.unsure_m3 * kept};
}

static struct vapour_loads loads_of_mix(const struct solvent_mix *mix, double evaporates_ml, double temp_c)
{
    struct vapour_loads loads = {0};
    struct vapour_load of_none = {(double)NAN, (double)NAN, (double)NAN, 0.0};
    struct vapour_load worst[2] = {of_none, of_none}; /* of liquids, of gases */
    double total_pct = solvent_mix_total_pct(mix);
    for (unsigned i = 0; i < mix->parts; i++) {
        const struct solvent *solvent = mix->part[i].solvent;
        bool is_gas = solvent_is_gas(solvent);
        struct vapour_load *sum = is_gas ? &loads.gas : &loads.liquid;
        double part = mix->worst_of ? 1.0 : mix->part[i].share_pct / total_pct;
        struct vapour_load load = load_of_solvent(solvent, evaporates_ml * part, temp_c);
        worst[is_gas] = load_worse(worst[is_gas], load);
        *sum = mix->worst_of ? worst[is_gas] : vapour_load_sum(*sum, load);
    }
    return loads;
}

enum coat_result vapour_loads_of(const struct vapour_liquid *liquid, double temp_c, struct vapour_loads *ret, struct coat_error *error)
{
    enum coat_result result = vapour_liquid_check(liquid, error);
    if (result != COAT_OK)
        return result;
    if (!(temp_c >= TEMP_LOW_C && temp_c <= TEMP_HIGH_C))
        return coat_fail(error, COAT_BAD_VALUE, "temp_c", "air of %.4g C is not believable here: write -40C to 400C", temp_c);
    double evaporates_ml = liquid->amount_ml * liquid->solvent_pct / 100.0;
    *ret = evaporates_ml > 0.0 ? loads_of_mix(&liquid->mix, evaporates_ml, temp_c) : (struct vapour_loads){0};
    return COAT_OK;
}

enum coat_result vapour_loads_of_class(enum material_class material_class, double amount_ml, double temp_c, struct vapour_loads *ret,
                                       struct coat_error *error)
{
    struct solvent_default what;
    if (solvent_default_of_class(material_class, &what) != COAT_OK)
        return coat_fail(error, COAT_NOT_FOUND, "class", "there is no such class of material");
    struct vapour_liquid solvent = {.amount_ml = amount_ml, .solvent_pct = what.solvent_pct, .mix = what.solvent};
    struct vapour_liquid propellant = {.amount_ml = amount_ml, .solvent_pct = what.propellant_pct, .mix = what.propellant};
    struct vapour_loads of_solvent, of_propellant;
    enum coat_result result = vapour_loads_of(&solvent, temp_c, &of_solvent, error);
    if (result == COAT_OK)
        result = vapour_loads_of(&propellant, temp_c, &of_propellant, error);
    if (result != COAT_OK)
        return result;
    ret->gas = vapour_load_sum(of_solvent.gas, of_propellant.gas);
    ret->liquid = vapour_load_sum(of_solvent.liquid, of_propellant.liquid);
    return COAT_OK;
}

double vapour_load_lel_pct(const struct vapour_load *load)
{
    return load->lel_air_m3 > 0.0 ? 100.0 * load->vapour_m3 / load->lel_air_m3 : (double)NAN;
}

double vapour_load_limit_ppm(const struct vapour_load *load)
{
    return load->limit_air_m3 > 0.0 ? load->vapour_m3 / load->limit_air_m3 / PPM : (double)NAN;
}

/* ---- plain figures ---- */

double vapour_share_of_lel_pct(const struct vapour_load *load, double room_m3)
{
    return is_positive(room_m3) ? 100.0 * load->lel_air_m3 / room_m3 : (double)NAN;
}

double vapour_share_of_limit_pct(const struct vapour_load *load, double room_m3)
{
    return is_positive(room_m3) ? 100.0 * load->limit_air_m3 / room_m3 : (double)NAN;
}

double vapour_dilution_air_m3(double vapour_m3, double lel_pct, double fraction)
{
    bool usable = vapour_m3 >= 0.0 && lel_pct > 0.0 && lel_pct < 100.0 && fraction > 0.0 && fraction <= 1.0;
    return usable ? (100.0 - lel_pct) * vapour_m3 / (lel_pct * fraction) : (double)NAN;
}

double vapour_load_dilution_air_m3(const struct vapour_load *load, double fraction)
{
    bool usable = fraction > 0.0 && fraction <= 1.0;
    return usable ? (load->lel_air_m3 - sure_m3(load)) / fraction : (double)NAN;
}

double vapour_limit_air_m3(const struct vapour_load *load)
{
    return load->limit_air_m3 - sure_m3(load);
}

enum coat_result vapour_purge_min(double room_m3, double airflow_m3h, double mixing, double from, double to, double *ret_min,
                                  struct coat_error *error)
{
    const struct {
        const char *field, *text;
        double value;
    } checked[] = {
        {"room_m3", "the room needs a volume above 0", room_m3},
        {"airflow_m3h", "without an airflow above 0 nothing is purged", airflow_m3h},
        {"from", "the concentration to begin with must be above 0", from},
        {"to", "the concentration to end with must be above 0: it falls for ever and never reaches 0", to},
    };
    for (size_t i = 0; i < sizeof checked / sizeof *checked; i++) {
        if (!is_positive(checked[i].value))
            return coat_fail(error, COAT_BAD_VALUE, checked[i].field, "%s", checked[i].text);
    }
    if (!(mixing >= VAPOUR_MIXING_PERFECT && isfinite(mixing)))
        return coat_fail(error, COAT_BAD_VALUE, "mixing", "the mixing factor multiplies the air: 1 is perfect mixing, a real room 3 to 10");
    *ret_min = from > to ? mixing * room_m3 / airflow_m3h * 60.0 * log(from / to) : 0.0;
    return COAT_OK;
}

double vapour_mixing(enum answer below_ground, enum answer low_exhaust)
{
    return below_ground == ANSWER_NO && low_exhaust == ANSWER_YES ? VAPOUR_MIXING_DEFAULT : VAPOUR_MIXING_POOR;
}

double vapour_effective_airflow_m3h(const struct vapour_room *room)
{
    if (!is_positive(room->airflow_m3h))
        return 0.0;
    double mixing = isnan(room->mixing) ? VAPOUR_MIXING_POOR : fmax(room->mixing, VAPOUR_MIXING_PERFECT);
    return room->airflow_m3h * (room->airflow_measured ? 1.0 : VAPOUR_UNMEASURED_PART) / mixing;
}

/* ---- paces ---- */

#define LN_20 2.995732273553991 /* 95 % has left */
#define PACE_TEMP_C 23.0
#define PACE_DOUBLING_C 10.0
#define OPEN_SLOW_H 4.0
#define TOUCH_H_UNKNOWN 4.0     /* no such class: as an alkyd */

/* Hours of the first opening of a stage in the row nearest 23 C; NAN where the material has none. */
static double stage_hours(const struct material *material, enum stage stage)
{
    const struct stage_table *table = &material->stage[stage];
    if (table->boundaries == 0 || table->boundary[0].rows == 0)
        return (double)NAN;
    const struct cure_row *best = &table->boundary[0].row[0];
    for (unsigned i = 1; i < table->boundary[0].rows; i++) {
        const struct cure_row *row = &table->boundary[0].row[i];
        best = fabs(row->temp_c - PACE_TEMP_C) < fabs(best->temp_c - PACE_TEMP_C) ? row : best;
    }
    return best->hours;
}

static void class_hours(enum material_class material_class, double *ret_touch_h, double *ret_tack_h)
{
    const struct material *material = builtin_of_class(material_class);
    double touch_h = material != NULL ? stage_hours(material, STAGE_TOUCH) : TOUCH_H_UNKNOWN;
    if (isnan(touch_h))
        touch_h = stage_hours(material, STAGE_LEAF); /* a size */
    if (!is_positive(touch_h))
        touch_h = TOUCH_H_UNKNOWN;
    double tack_h = material != NULL ? stage_hours(material, STAGE_TACK_FREE) : (double)NAN;
    *ret_touch_h = touch_h;
    *ret_tack_h = is_positive(tack_h) ? tack_h : 2.0 * touch_h;
}

/* From memory: chamber tests of the US EPA fitted 0.25 an hour to a polyurethane varnish and 0.4 to a wood stain. The oil
 * varnish here has 0.19 to 2. */
const char vapour_pace_source[] =
    "common practice: the solvent leaves in step with set-to-touch and tack-free, counted from four times as quick to half as quick, and "
    "at once where it is sprayed or wiped";

struct vapour_pace vapour_pace_of_coat(enum material_class material_class, enum application application, double temp_c)
{
    double touch_h = 0.0, tack_h = 0.0;
    class_hours(material_class, &touch_h, &tack_h);
    double warmer = isfinite(temp_c) ? exp2((clamp(temp_c, TEMP_LOW_C, TEMP_HIGH_C) - PACE_TEMP_C) / PACE_DOUBLING_C) : 1.0;
    bool is_sprayed = application == APPLY_SPRAY || application == APPLY_AEROSOL;
    return (struct vapour_pace){
        .quick_per_h = is_sprayed ? (double)INFINITY : LN_20 / (touch_h / 4.0) * fmax(warmer, 1.0),
        .slow_per_h = LN_20 / (2.0 * tack_h) * fmin(warmer, 1.0),
    };
}

struct vapour_pace vapour_pace_of_open(void)
{
    return (struct vapour_pace){.quick_per_h = (double)INFINITY, .slow_per_h = LN_20 / OPEN_SLOW_H};
}

struct vapour_pace vapour_pace_of_gas(void)
{
    return (struct vapour_pace){.quick_per_h = (double)INFINITY, .slow_per_h = (double)INFINITY};
}

/* ---- one release, one pace ---- */

/* Of what was released, the part that is in the air after `elapsed_h`, with `change_per_h` air changes. */
static double part_in_air(double pace_per_h, double change_per_h, double elapsed_h)
{
    if (!(elapsed_h >= 0.0))
        return 0.0;
    if (isinf(pace_per_h))
        return exp(-change_per_h * elapsed_h);
    if (isinf(elapsed_h)) /* without air changes all of it stays */
        return change_per_h > 0.0 ? 0.0 : 1.0;
    double slower = fmin(pace_per_h, change_per_h), apart = fabs(pace_per_h - change_per_h);
    double both = apart * elapsed_h > 0.0 ? -expm1(-apart * elapsed_h) / apart : elapsed_h;
    return pace_per_h * exp(-slower * elapsed_h) * both;
}

/* When that part is largest. */
static double peak_age_h(double pace_per_h, double change_per_h)
{
    if (isinf(pace_per_h))
        return 0.0;
    if (change_per_h <= 0.0)
        return (double)INFINITY;
    double apart = (pace_per_h - change_per_h) / change_per_h;
    return fabs(apart) < 1e-9 ? 1.0 / pace_per_h : log1p(apart) / (pace_per_h - change_per_h);
}

double vapour_closed_form(double room_m3, double airflow_m3h, double pace_per_h, double elapsed_h)
{
    if (!is_positive(room_m3) || !(airflow_m3h >= 0.0) || !(pace_per_h > 0.0))
        return (double)NAN;
    return part_in_air(pace_per_h, airflow_m3h / room_m3, elapsed_h) / room_m3;
}

/* ---- all releases, over a stretch of time ---- */

enum figure { OF_LEL, OF_LIMIT };

struct scene {
    const struct vapour_release *release;
    size_t releases;
    int64_t at;
    double room_m3, change_per_h;
};

static double load_air_m3(const struct vapour_load *load, enum figure figure)
{
    return figure == OF_LEL ? load->lel_air_m3 : load->limit_air_m3;
}

static bool has_unknown(const struct scene *scene, enum figure figure)
{
    for (size_t i = 0; i < scene->releases; i++) {
        if (!isfinite(load_air_m3(&scene->release[i].load, figure)))
            return true;
    }
    return !is_positive(scene->room_m3);
}

#define PACES 5
#define QUICK_IN_NUMBERS 256.0 /* what lies between "at once" and slow is looked at as far as so many times slow */

static double pace_number(struct vapour_pace pace, unsigned i)
{
    double quick = fmax(pace.quick_per_h, pace.slow_per_h);
    if (i == 0 || isinf(pace.slow_per_h))
        return quick;
    double within = isinf(quick) ? pace.slow_per_h * QUICK_IN_NUMBERS : quick;
    return pace.slow_per_h * pow(within / pace.slow_per_h, (double)(PACES - 1 - i) / (double)(PACES - 1));
}

/* In doubles: no moment overflows, and milliseconds of this age are exact. */
static double hours_between(int64_t from, int64_t to)
{
    return ((double)to - (double)from) / (double)MS_PER_H;
}

/* The most of one release that is in the air at some moment from from_h to to_h after scene->at. A pass at any moment
 * between the first and the last one may have brought all of it, which is never less than what passes in turn bring. */
static double most_of_release(const struct scene *scene, const struct vapour_release *release, double from_h, double to_h)
{
    double begun_h = hours_between(scene->at, release->from_at), ended_h = hours_between(scene->at, release->to_at);
    double youngest_h = fmax(from_h - fmax(ended_h, begun_h), 0.0), oldest_h = to_h - begun_h, most = 0.0;
    if (oldest_h < 0.0)
        return 0.0;
    for (unsigned i = 0; i < PACES; i++) {
        double pace = pace_number(release->pace, i);
        double age_h = clamp(peak_age_h(pace, scene->change_per_h), youngest_h, oldest_h);
        most = fmax(most, part_in_air(pace, scene->change_per_h, age_h));
    }
    return most;
}

/* Percent of the LEL or of the limit: no moment of the stretch has more. What is not known is left out. */
static double most_pct(const struct scene *scene, enum figure figure, double from_h, double to_h)
{
    double air_m3 = 0.0;
    for (size_t i = 0; i < scene->releases; i++) {
        double load_m3 = load_air_m3(&scene->release[i].load, figure);
        if (isfinite(load_m3) && load_m3 > 0.0)
            air_m3 += load_m3 * most_of_release(scene, &scene->release[i], from_h, to_h);
    }
    return 100.0 * air_m3 / scene->room_m3;
}

static double most_in_minutes(const struct scene *scene, enum figure figure, int64_t from_min, int64_t to_min)
{
    return most_pct(scene, figure, (double)from_min / 60.0, (double)to_min / 60.0);
}

/* The end of the last minute in which it may exceed; -1 where none does. */
static int64_t last_exceeding_min(const struct scene *scene, enum figure figure, double threshold_pct, int64_t from_min, int64_t to_min)
{
    if (most_in_minutes(scene, figure, from_min, to_min) <= threshold_pct)
        return -1;
    if (to_min - from_min <= 1)
        return to_min;
    int64_t middle_min = from_min + (to_min - from_min) / 2;
    int64_t later_min = last_exceeding_min(scene, figure, threshold_pct, middle_min, to_min);
    return later_min >= 0 ? later_min : last_exceeding_min(scene, figure, threshold_pct, from_min, middle_min);
}

struct peak {
    double pct;
    int64_t from_min;
};

#define PEAK_WITHIN 1e-4 /* of itself */

static void find_peak(const struct scene *scene, int64_t from_min, int64_t to_min, struct peak *best)
{
    double pct = most_in_minutes(scene, OF_LEL, from_min, to_min);
    if (pct <= best->pct * (1.0 + PEAK_WITHIN))
        return;
    if (to_min - from_min <= 1) {
        *best = (struct peak){pct, from_min};
        return;
    }
    int64_t middle_min = from_min + (to_min - from_min) / 2;
    bool later_first = most_in_minutes(scene, OF_LEL, middle_min, to_min) > most_in_minutes(scene, OF_LEL, from_min, middle_min);
    find_peak(scene, later_first ? middle_min : from_min, later_first ? to_min : middle_min, best);
    find_peak(scene, later_first ? from_min : middle_min, later_first ? middle_min : to_min, best);
}

/* ---- verdicts ---- */

#define AHEAD_MOST_H (24.0 * 365.0) /* nobody logs a coat of next year */

static int64_t horizon_min(const struct scene *scene)
{
    double last_h = 0.0;
    for (size_t i = 0; i < scene->releases; i++)
        last_h = fmax(last_h, hours_between(scene->at, scene->release[i].to_at));
    return (int64_t)((fmin(last_h, AHEAD_MOST_H) + 24.0 * VAPOUR_HORIZON_DAYS) * 60.0);
}

static int64_t round_up_to_minute(int64_t at)
{
    int64_t past = ((at % MS_PER_MIN) + MS_PER_MIN) % MS_PER_MIN;
    return past > 0 ? at + MS_PER_MIN - past : at;
}

static struct vapour_verdict judge(const struct scene *scene, enum figure figure, double threshold_pct)
{
    struct vapour_verdict verdict = {VAPOUR_UNKNOWN, MOMENT_NONE};
    if (!is_positive(scene->room_m3))
        return verdict;
    bool unknown = has_unknown(scene, figure);
    int64_t end_min = horizon_min(scene);
    bool endless = most_pct(scene, figure, (double)end_min / 60.0, (double)INFINITY) > threshold_pct;
    int64_t last_min = endless ? end_min : last_exceeding_min(scene, figure, threshold_pct, 0, end_min);
    if (last_min < 0) {
        verdict.is = unknown ? VAPOUR_UNKNOWN : VAPOUR_NOT_SHOWN;
        return verdict;
    }
    verdict.is = VAPOUR_EXCEEDS;
    verdict.until = endless || unknown ? MOMENT_NONE : round_up_to_minute(scene->at + last_min * MS_PER_MIN);
    return verdict;
}

static struct scene make_scene(const struct vapour_room *room, const struct vapour_release *release, size_t releases, int64_t at)
{
    return (struct scene){
        .release = release,
        .releases = releases,
        .at = at,
        .room_m3 = room->volume_m3,
        .change_per_h = is_positive(room->volume_m3) ? vapour_effective_airflow_m3h(room) / room->volume_m3 : 0.0,
    };
}

static double known_pct(const struct scene *scene, enum figure figure)
{
    return has_unknown(scene, figure) ? (double)NAN : most_pct(scene, figure, 0.0, 0.0);
}

static struct peak peak_of(const struct scene *scene)
{
    struct peak peak = {known_pct(scene, OF_LEL), 0};
    if (isnan(peak.pct))
        return peak;
    find_peak(scene, 0, horizon_min(scene), &peak);
    return peak;
}

struct vapour_outlook vapour_look_ahead(const struct vapour_room *room, const struct vapour_release *release, size_t releases, int64_t at)
{
    struct scene scene = make_scene(room, release, releases, at);
    struct peak peak = peak_of(&scene);
    return (struct vapour_outlook){
        .lel_pct = known_pct(&scene, OF_LEL),
        .limit_pct = known_pct(&scene, OF_LIMIT),
        .peak_lel_pct = peak.pct * (1.0 + PEAK_WITHIN),
        .peak_at = peak.pct > 0.0 ? at + peak.from_min * MS_PER_MIN : MOMENT_NONE,
        .quarter = judge(&scene, OF_LEL, VAPOUR_QUARTER_PCT),
        .tenth = judge(&scene, OF_LEL, VAPOUR_TENTH_PCT),
        .limit = judge(&scene, OF_LIMIT, 100.0),
    };
}

void vapour_look_at(const struct vapour_room *room, const struct vapour_release *release, size_t releases, int64_t at, double *ret_lel_pct,
                    double *ret_limit_pct)
{
    struct scene scene = make_scene(room, release, releases, at);
    *ret_lel_pct = known_pct(&scene, OF_LEL);
    *ret_limit_pct = known_pct(&scene, OF_LIMIT);
}

/* ---- fire and ovens ---- */

enum vapour_ignition vapour_ignition(const struct solvent_mix *mix, double temp_c)
{
    bool complete = false;
    double from_c = solvent_mix_ignitable_from_c(mix, &complete);
    if (from_c <= temp_c) /* what is not known cannot make it less */
        return VAPOUR_IGNITES;
    if (!complete || !isfinite(from_c) || !isfinite(temp_c))
        return VAPOUR_FLASH_UNKNOWN;
    return from_c - temp_c <= VAPOUR_WARM_WITHIN_K ? VAPOUR_WARM : VAPOUR_BELOW_FLASH;
}

const char *vapour_ignition_text(enum vapour_ignition ignition)
{
    static const char *const texts[] = {
        [VAPOUR_IGNITES] = "gives off enough at this temperature to catch fire from a spark",
        [VAPOUR_WARM] = "is within 30 F (17 C) of its flash point: treat it as one that catches fire at this temperature; mist and wet rags do",
        [VAPOUR_BELOW_FLASH] = "is colder than its flash point by more than 30 F (17 C); sprayed mist and wet rags burn all the same",
        [VAPOUR_FLASH_UNKNOWN] = "has no flash point on record: treat it as one that catches fire at this temperature; mist and wet rags do",
    };
    return (size_t)ignition < sizeof texts / sizeof *texts ? texts[ignition] : "?";
}

bool vapour_counts_as_oven(bool is_oven, bool heated, double volume_m3)
{
    return is_oven || (heated && !(volume_m3 >= VAPOUR_OVEN_BELOW_M3));
}

#define HOT_FROM_C 120.0
#define HOT_FACTOR 0.7

double vapour_hot_lel_factor(double temp_c)
{
    return temp_c <= HOT_FROM_C ? 1.0 : HOT_FACTOR;
}

struct vapour_load vapour_load_hot(struct vapour_load load, double temp_c)
{
    load.lel_air_m3 /= vapour_hot_lel_factor(temp_c);
    return load;
}

double vapour_batch_oven_air_m3h(double solvent_ml)
{
    return solvent_ml >= 0.0 ? solvent_ml / 1000.0 * VAPOUR_BATCH_M3MIN_L * 60.0 : (double)NAN;
}

#define OVEN_PURGE_VOLUMES 4.0
#define OVEN_PURGE_LEAST_MIN 3.0

double vapour_oven_purge_min(double volume_m3, double airflow_m3h)
{
    if (!is_positive(volume_m3) || !is_positive(airflow_m3h))
        return (double)NAN;
    return fmax(OVEN_PURGE_LEAST_MIN, OVEN_PURGE_VOLUMES * volume_m3 / airflow_m3h * 60.0);
}
