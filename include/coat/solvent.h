/* Solvents and propellants: what a label or safety data sheet names, and the figures that ventilation is reckoned from. One
 * const table in core/solvent.c, each figure with its mark and source. A figure that no source gives is NAN and stays
 * unknown: nothing is guessed for it.
 *
 * Where sources differ the one is taken that errs to the safe side: the lowest LEL, flash point, autoignition temperature
 * and limit. (The rule's own Table G-11 has higher LELs for some; they stand beside, for reproducing its example.) */
#ifndef COAT_SOLVENT_H
#define COAT_SOLVENT_H

#include "coat/result.h"
#include "coat/words.h"

#include <stdbool.h>
#include <stddef.h>

struct solvent_figure {
    double value;          /* NAN: no source gives it */
    enum basis basis;
    const char *source;    /* also says why a figure is missing; never NULL in the table */
};

#define SOLVENT_NAMES_MAX 12

/* A plain value: callers may make one of their own for what the table lacks (then all figures that they do not have are
 * NAN). */
struct solvent {
    const char *name;                       /* short: "toluene", "MEK" */
    const char *alias[SOLVENT_NAMES_MAX];   /* as labels print it; ends with NULL */
    const char *cas;
    struct solvent_figure molar_g_mol;
    struct solvent_figure density_kg_m3;    /* liquid, 20 C; of a propellant under its own pressure */
    struct solvent_figure flash_c;          /* lowest, closed cup */
    struct solvent_figure explosive_from_c; /* where the International Chemical Safety Card says from when explosive mixtures may form */
    struct solvent_figure lel_pct;          /* lower explosive limit, % by volume in air; the lowest of the sources */
    struct solvent_figure uel_pct;          /* to show only: nothing relies on vapour too rich to burn */
    struct solvent_figure autoignition_c;   /* lowest of the sources */
    struct solvent_figure boiling_c;        /* at 101.325 kPa; the start of a range */
    struct solvent_figure vapour_kpa;       /* at 20 C */
    /* Exposure, ppm by volume. A limit by mass is converted with the molar volume of 24.45 l/mol (25 C). */
    struct solvent_figure pel_ppm;          /* 29 CFR 1910.1000, 8 h average */
    struct solvent_figure rel_ppm;          /* NIOSH, up to 10 h average, or its ceiling where that is all there is */
    struct solvent_figure stel_ppm;         /* NIOSH, 15 min average or 15 min ceiling */
    struct solvent_figure idlh_ppm;         /* immediately dangerous to life or health */
    /* 29 CFR 1910.94(c) Table G-11 */
    struct solvent_figure g11_ft3_gal;      /* cubic feet of vapour per gallon of liquid at 70 F */
    struct solvent_figure g11_lel_pct;
};

#define MOLAR_VOLUME_25C_L_MOL 24.45        /* for ppm and mg/m3, as NIOSH and OSHA tables convert (25 C, 1 atm) */

/* The table; *ret_count of them. */
const struct solvent *solvent_table(unsigned *ret_count);

/* By name or alias, or by an unambiguous start of one; case, spaces, hyphens and signs do not count ("n-Butyl Acetate",
 * "isopropyl", "VM&P"). COAT_NOT_FOUND otherwise, field "solvent": the text names what fits, or all that would do, and of a
 * word for a mixture ("lacquer thinner") where its parts are found. */
COAT_CHECKED enum coat_result solvent_find(const char *name, const struct solvent **ret, struct coat_error *error);

/* The lowest of PEL, REL and STEL, ppm; NAN where none is known. */
double solvent_limit_ppm(const struct solvent *solvent);

/* The volume of gas that a volume of the liquid makes, at temp_c and 101.325 kPa (m3/m3, a few hundred): ideal gas, from
 * density and molar mass where both are known, else from Table G-11. NAN where neither is, or temp_c is outside -60 to 500
 * C. */
double solvent_expansion(const struct solvent *solvent, double temp_c);

/* A gas in the room: all of it is air-borne at once. By its boiling point, up to 0 C. */
bool solvent_is_gas(const struct solvent *solvent);

/* The category of a flammable liquid by flash point and boiling point, 29 CFR 1910.106(a)(19). */
enum solvent_category solvent_category_of(double flash_c, double boiling_c); /* NAN where not known */
enum solvent_category solvent_category(const struct solvent *solvent);

/* ---- what a liquid is made of ---- */

#define SOLVENT_PARTS_MAX 8

/* Shares by volume. `worst_of`: not a mixture but candidates, of which nobody said which it is: each figure is taken for
 * the worst of them as if it were all there is (shares do not count), and a candidate that lacks a figure is passed over
 * for it. */
struct solvent_mix {
    unsigned parts;
    struct {
        const struct solvent *solvent;
        double share_pct;
    } part[SOLVENT_PARTS_MAX];
    bool worst_of;
};

/* Adds "toluene=60%". Fails with field "solvent" and leaves *mix as it is: unreadable, unknown, the same solvent twice,
 * more than SOLVENT_PARTS_MAX, a share of 0, or more than 100 % together. */
COAT_CHECKED enum coat_result solvent_mix_add(struct solvent_mix *mix, const char *text, struct coat_error *error);

/* "toluene=60%, acetone=40%", and back. solvent_mix_print returns text; 256 bytes suffice for what the table holds. */
#define SOLVENT_MIX_TEXT_SIZE 256
COAT_CHECKED enum coat_result solvent_mix_parse(const char *text, struct solvent_mix *ret, struct coat_error *error);
char *solvent_mix_print(const struct solvent_mix *mix, char *text, size_t size);

/* The sum of the shares; 100 for `worst_of`. */
double solvent_mix_total_pct(const struct solvent_mix *mix);

/* The lowest flash point, explosive-from temperature or, for a gas, boiling point that is known of its parts: from this
 * temperature on the surface may give off enough to burn. NAN where none is known. *ret_complete is false where a part has
 * none, which may be the lowest (candidates of `worst_of` are passed over). */
double solvent_mix_ignitable_from_c(const struct solvent_mix *mix, bool *ret_complete);

/* What counts where nobody told the composition of a material: the worst of its class. Volatile and propellant are shares
 * of the can's liquid by volume (propellant 0 but for aerosols). The source says what it rests on. */
struct solvent_default {
    double solvent_pct;
    double propellant_pct;
    struct solvent_mix solvent;    /* worst_of */
    struct solvent_mix propellant; /* worst_of; no parts where there is none */
    enum basis basis;
    const char *source;
};
/* COAT_NOT_FOUND for a class outside the list. */
COAT_CHECKED enum coat_result solvent_default_of_class(enum material_class material_class, struct solvent_default *ret);

/* Of the solvent that was put on, how much is still in the film when it goes into the oven, percent: all of it where it has not
 * flashed off, else a cautious share. */
double solvent_retained_pct(bool flashed_off);
extern const char solvent_retained_source[];

#endif
