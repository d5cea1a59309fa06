/* Vapour in a room: how much a liquid makes, how much air takes it below a quarter of the lower explosive limit (LEL) or to
 * the exposure limit, and how it comes and goes with the air that a fan moves. Pure arithmetic; no design, and no word here
 * ever says that it is safe: "exceeds", "not shown to exceed", or "not known". The product label, the safety data sheet,
 * local codes and licensed practice decide.
 *
 * It is the air of the whole room, mixed: beside the work there is more. It holds at 101.325 kPa; a shop high up has more
 * vapour by volume in the measure that its air is thinner (a fifth at 1800 m).
 *
 * What all of it rests on is a *load*: the vapour, the air that it fills to the LEL, and the air that it fills to the
 * limit. Loads add up, which is Le Chatelier's rule for mixtures of burning vapours, and 29 CFR 1910.1000(d)(2)(i) for
 * exposure. NAN is "not known", and what is added to it is not known either. */
#ifndef COAT_VAPOUR_H
#define COAT_VAPOUR_H

#include "coat/moment.h"
#include "coat/result.h"
#include "coat/solvent.h"
#include "coat/words.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* What every answer about vapour carries, on every surface. */
extern const char vapour_deferral[];

/* ---- what a liquid gives off ---- */

struct vapour_liquid {
    double amount_ml;      /* of the liquid as it is used: thinner included; of an aerosol what left the can, propellant included */
    double solvent_pct;    /* of it by volume, what evaporates: 100 for a solvent, 100 less solids for a finish */
    struct solvent_mix mix; /* of what evaporates; its shares must come to 100 % within 1, or be `worst_of` */
};

struct vapour_load {
    double vapour_m3;      /* of vapour alone, at the room's temperature */
    double lel_air_m3;     /* vapour and air, mixed to exactly the LEL */
    double limit_air_m3;   /* vapour and air, mixed to exactly the exposure limit (the lowest of PEL, REL, STEL of each) */
    double unsure_m3;      /* of vapour_m3, what a candidate that makes least vapour would not have made; 0 where it is known what it is */
};

/* COAT_BAD_VALUE, *ret untouched, with field "amount_ml", "solvent_pct" or "solvent": an amount below 0 or above
 * VAPOUR_AMOUNT_MOST_ML, a share outside 0 to 100, no solvent, shares that do not come to 100 %. */
#define VAPOUR_AMOUNT_MOST_ML 1e6
COAT_CHECKED enum coat_result vapour_liquid_check(const struct vapour_liquid *liquid, struct coat_error *error);

/* Two loads of a liquid: what is a gas at once (propellants), and what evaporates from a film, puddle or rag. A figure that
 * a part lacks makes its sums NAN (unless it is a candidate of `worst_of` and another has it); an amount of 0 is a load of
 * 0. Temperatures of the air, -40 to 400 C. Fails as vapour_liquid_check, or with field "temp_c". */
struct vapour_loads {
    struct vapour_load gas, liquid;
};
COAT_CHECKED enum coat_result vapour_loads_of(const struct vapour_liquid *liquid, double temp_c, struct vapour_loads *ret,
                                              struct coat_error *error);

/* The same of a material whose composition nobody told: the worst of its class, solvent_default_of_class(). */
COAT_CHECKED enum coat_result vapour_loads_of_class(enum material_class material_class, double amount_ml, double temp_c,
                                                    struct vapour_loads *ret, struct coat_error *error);

struct vapour_load vapour_load_sum(struct vapour_load a, struct vapour_load b);
struct vapour_load vapour_load_part(struct vapour_load load, double part); /* 0 to 1: what a film retains, for a bake */

/* LEL of the mixture in % by volume, Le Chatelier: its vapour over the air it fills to the LEL. NAN where not known or
 * there is no vapour. */
double vapour_load_lel_pct(const struct vapour_load *load);
/* Exposure limit of the mixture in ppm, likewise. */
double vapour_load_limit_ppm(const struct vapour_load *load);

/* ---- plain figures of a room ---- */

/* Percent of the LEL if all of it is in still air of a room; above 100 means that all of the room could burn. NAN where not
 * known or room_m3 is not above 0. */
double vapour_share_of_lel_pct(const struct vapour_load *load, double room_m3);
/* Percent of the exposure limit, likewise. */
double vapour_share_of_limit_pct(const struct vapour_load *load, double room_m3);

/* Air that must be mixed with the vapour to bring it to `fraction` of the LEL (0.25: a quarter):
 *     (100 - LEL) * vapour / (LEL * fraction), for a quarter 4 (100 - LEL) v / LEL, as 29 CFR 1910.94(c)(6)(ii) prints it.
 * Perfect mixing; times K where it is not. NAN where not known; lel_pct above 0 and below 100, fraction above 0 and up to 1. */
double vapour_dilution_air_m3(double vapour_m3, double lel_pct, double fraction);
/* The same of a load: what it fills to the fraction, less the vapour itself, as far as that is sure. */
double vapour_load_dilution_air_m3(const struct vapour_load *load, double fraction);
/* Air for the exposure limit: what the load fills to it, less the vapour itself, likewise. Perfect mixing. */
double vapour_limit_air_m3(const struct vapour_load *load);

/* Minutes of fan to go from one concentration to another, both in the same unit: K V/Q ln(from/to) (CDC MMWR 28 Oct 1994
 * table S3-1). 0 where it is there already. COAT_BAD_VALUE with field "room_m3", "airflow_m3h", "mixing", "from" or "to":
 * all must be above 0, K from 1. */
COAT_CHECKED enum coat_result vapour_purge_min(double room_m3, double airflow_m3h, double mixing, double from, double to,
                                               double *ret_min, struct coat_error *error);

/* ---- the mixing factor K ---- */

#define VAPOUR_MIXING_PERFECT 1.0
#define VAPOUR_MIXING_DEFAULT 5.0  /* common practice: a real room is between 3 and 10 */
#define VAPOUR_MIXING_POOR 10.0    /* below ground, or no exhaust from low down; also where nobody answered that */
double vapour_mixing(enum answer below_ground, enum answer low_exhaust);

/* An airflow that was never measured counts half; one that is not known (NAN) counts as none. */
#define VAPOUR_UNMEASURED_PART 0.5

struct vapour_room {
    double volume_m3;      /* of the air in it; NAN: not known, and so is every answer */
    double airflow_m3h;    /* fresh air; NAN or 0: none */
    bool airflow_measured;
    double mixing;         /* K; less than 1 counts as 1, NAN as VAPOUR_MIXING_POOR */
};
/* What the fan does for the room as it is reckoned: airflow, halved where not measured, over K. m3/h; 0 where not known. */
double vapour_effective_airflow_m3h(const struct vapour_room *room);

/* ---- how fast it comes off ---- */

/* A share that leaves each hour of what is still there: first order, as small-chamber tests of coatings are usually fitted
 * (EPA-600/R-05/066 has ways to estimate its constants, which ask for more than a shop knows). Nobody knows it for a coat
 * in a shop to better than a factor of several, so there are two: quick makes the peak, slow the time until it has cleared,
 * and at each moment the worst of these two and of three between them counts. INFINITY: at once. */
struct vapour_pace {
    double quick_per_h, slow_per_h;
};

/* Of a coat of a class, in air of temp_c (NAN: 23 C). Quick is as if 95 % had left in a quarter of the time to
 * set-to-touch, and at once where it is sprayed, as much of it leaves in flight; slow is as if that took twice the time to
 * tack-free, or four times that to touch where it has no tack-free. The hours are the built-in ones; that the loss of
 * solvent goes with them is common practice. Each 10 C warmer than 23 doubles quick, each 10 C colder halves slow. */
extern const char vapour_pace_source[];
struct vapour_pace vapour_pace_of_coat(enum material_class material_class, enum application application, double temp_c);
/* Of open solvent: wiping down, gun wash, rags and pans. At once, or 95 % in 4 h (common practice). */
struct vapour_pace vapour_pace_of_open(void);
/* Of a gas: at once. */
struct vapour_pace vapour_pace_of_gas(void);

/* ---- how it comes and goes ---- */

struct vapour_release {
    int64_t from_at, to_at;    /* when it was put on: first and last pass; the same for a single moment */
    struct vapour_load load;
    struct vapour_pace pace;
};

struct vapour_verdict {
    enum vapour_finding is;    /* EXCEEDS: at the moment asked about or later, it may. UNKNOWN: a figure is missing, and what
                                  is known does not exceed by itself */
    int64_t until;             /* EXCEEDS: from this moment on it is not shown to exceed; MOMENT_NONE where no end is in sight
                                  (within VAPOUR_HORIZON_DAYS, or ever, as with an unknown figure), and for the others */
};

#define VAPOUR_HORIZON_DAYS 60
#define VAPOUR_QUARTER_PCT 25.0 /* 29 CFR 1910.94(c)(6)(ii), 1910.106(a)(31) */
#define VAPOUR_TENTH_PCT 10.0   /* 29 CFR 1915.35(b), 1926.152(e)(1) */

struct vapour_outlook {
    double lel_pct;            /* percent of the LEL at the moment asked about; NAN: not known */
    double limit_pct;          /* percent of the exposure limit then */
    double peak_lel_pct;       /* the most from then on, rounded up a little */
    int64_t peak_at;           /* to the minute; MOMENT_NONE where not known or nothing is left */
    struct vapour_verdict quarter, tenth, limit;
};

/* The air of a room from `at` on, with everything that was released there; also what is still to come (from_at after `at`).
 * The airflow is taken as it is now for all of the time. Concentration of a release after h hours, with k its pace and q
 * the effective air changes an hour:
 *     load / volume * k / (k - q) * (exp(-q h) - exp(-k h))
 * and its limits for k = q, q = 0 and k infinite. Times are rounded up to a minute. Any number of releases, which the
 * caller owns; those that are long gone may be left out. One whose moments are MOMENT_NONE was always there. */
struct vapour_outlook vapour_look_ahead(const struct vapour_room *room, const struct vapour_release *release, size_t releases,
                                        int64_t at);

/* Percent of the LEL and of the exposure limit at a moment: for a plot. */
void vapour_look_at(const struct vapour_room *room, const struct vapour_release *release, size_t releases, int64_t at,
                    double *ret_lel_pct, double *ret_limit_pct);

/* The concentration in m3 of vapour per m3 of room that 1 m3 of vapour makes after elapsed_h, at one pace. */
double vapour_closed_form(double room_m3, double airflow_m3h, double pace_per_h, double elapsed_h);

/* ---- fire ---- */

/* How near the liquid's surface is to giving off enough to burn, by the lowest flash point in it (or what its safety card
 * says, where lower). "Warm": within 30 F (16.7 K) below it, where 29 CFR 1910.106(a)(19) has a heated liquid handled as
 * the next more dangerous category. */
#define VAPOUR_WARM_WITHIN_K (30.0 / 1.8)
enum vapour_ignition vapour_ignition(const struct solvent_mix *mix, double temp_c); /* temp_c NAN: not known */
/* One line, in the trade's words; never NULL. Sprayed mist and wet rags burn below the flash point too, and every line but
 * the first says so. */
const char *vapour_ignition_text(enum vapour_ignition ignition);

/* ---- ovens ---- */

/* An oven, and any heated place under 2 m3 (a box, a cabinet with a lamp); a heated one that nobody measured counts too. */
#define VAPOUR_OVEN_BELOW_M3 2.0
bool vapour_counts_as_oven(bool is_oven, bool heated, double volume_m3);

/* LEL falls in hot air: 1 up to 120 C, 0.7 above (Wyoming OSHA oil and gas rule; 1.4 times the air in NFPA 86, from
 * memory). NAN counts as hot. */
double vapour_hot_lel_factor(double temp_c);
/* The load as it is in an oven: lel_air_m3 larger by that. The load must have been made at the oven's temperature. */
struct vapour_load vapour_load_hot(struct vapour_load load, double temp_c);

/* Fresh air for a batch oven by how much solvent goes in: 440 cfm a gallon, 3.29 m3/min a litre (NFPA 86, from memory),
 * which is more than the 3 m3/min a litre of the Fire Code of the Philippines, implementing rules p. 411. For a continuous
 * one 75 m3 a litre (ibid., 10,026 ft3 a gallon). NAN for less than 0 ml. */
#define VAPOUR_BATCH_CODE_M3MIN_L 3.0
#define VAPOUR_BATCH_M3MIN_L (440.0 * 0.028316846592 / 3.785411784)
#define VAPOUR_CONTINUOUS_M3_L 75.0
double vapour_batch_oven_air_m3h(double solvent_ml);

/* Minutes of fan before heat: four volumes (NFPA 86, from memory), and never under 3 min (29 CFR 1910.107(j)(4)). NAN where
 * volume or airflow is not known or 0. */
double vapour_oven_purge_min(double volume_m3, double airflow_m3h);

#endif
