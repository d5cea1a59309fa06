/* Amounts as people write them, in one place: "18C", "55%", "1.5mil", "1/3can" never a bare number.
 *
 * Parsing gives SI-named plain numbers; printing gives a short text in the shop's units. The two agree: what
 * quantity_print writes, quantity_parse reads back to within the printed digits. Pure; no locale is used, the
 * decimal sign is a point. A leading minus is part of the number ("-5C"). White space around the number and
 * before the unit is allowed. */
#ifndef COAT_QUANTITY_H
#define COAT_QUANTITY_H

#include "coat/result.h"
#include "coat/words.h"

#include <stddef.h>

enum quantity {          /* base unit of the parsed number                   accepted units                       */
    QUANTITY_TEMPERATURE,/* C                                                C F K (and °C °F)                    */
    QUANTITY_SHARE,      /* % (0 to 100; humidity, thinning, parts)           %                                    */
    QUANTITY_FILM,       /* um                                               um mil mm (and µm)                   */
    QUANTITY_VOLUME,     /* ml                                               ml l floz pt qt gal                  */
    QUANTITY_MASS,       /* g                                                g kg oz lb                           */
    QUANTITY_LENGTH,     /* mm                                               mm cm m in ft                        */
    QUANTITY_AREA,       /* m2                                               cm2 m2 in2 ft2                       */
    QUANTITY_ROOM,       /* m3                                               l m3 ft3                             */
    QUANTITY_AIRFLOW,    /* m3/h                                             m3h m3min cfm lmin                   */
    QUANTITY_DURATION,   /* s                                                s min h d                            */
    QUANTITY_ENERGY,     /* kJ/mol                                           kJ/mol (any case)                    */
    QUANTITY_TEMP_DIFF,  /* K (a difference: F counts 5/9)                   C F K                                */
    QUANTITY_HEAT_TRANSFER, /* W/(m2 K)                                      W/m2K (any case)                     */
    QUANTITY_CONCENTRATION, /* ppm by volume                                   ppm %                               */
    QUANTITY_COUNT
};

/* Reads `text` whole. On failure returns COAT_BAD_VALUE, leaves *ret untouched and fills *error (may be NULL) with
 * what was read and what would do, e.g. `"55" has no unit: write 55% for humidity, or 55F or 13C for temperature`.
 * Infinity, NaN, hexadecimal and numbers over 1e9 are refused, as are temperatures below -273.15 C, shares outside
 * 0 to 100 % and negative amounts of anything but temperature. Sense in the shop (900 C) is the caller's check. */
COAT_CHECKED enum coat_result quantity_parse(enum quantity kind, const char *text, double *ret, struct coat_error *error);

/* Writes `value` (base unit) with its unit into text of `size` bytes, in metric or US units, to the digits that make
 * sense in a shop ("17.8 C", "61 %", "1.5 mil", "2 h 40 min", "3 d 4 h"). Returns `text`. 32 bytes suffice. */
char *quantity_print(enum quantity kind, double value, enum units_system units, char *text, size_t size);

/* "18C,55%": temperature and humidity. Fails like quantity_parse. */
COAT_CHECKED enum coat_result quantity_parse_air(const char *text, double *ret_temp_c, double *ret_rh_pct,
                                                 struct coat_error *error);

/* "10C=8h": a row of a drying table. */
COAT_CHECKED enum coat_result quantity_parse_row(const char *text, double *ret_temp_c, double *ret_hours,
                                                 struct coat_error *error);

#endif
