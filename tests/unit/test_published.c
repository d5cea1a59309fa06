/* Published drying times against the law: fitted on two rows of a table it must foretell the others. Source by source, from
 * tests/reference/drying_times.csv; the error of each row is printed. */
#include "coat/law.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define LINE_MOST 600

enum figure { FIRST, LAST, MIDDLE }; /* of the two times that a row gives */

/* One published row; time NAN where the file has none. */
static double published(const char *material, const char *stage, double temp_c, enum figure figure)
{
    char path[400], line[LINE_MOST];
    const char *folder = getenv("COAT_REFERENCE");
    double found = (double)NAN;
    snprintf(path, sizeof path, "%s/drying_times.csv", folder != NULL ? folder : "tests/reference");
    FILE *file = fopen(path, "r");
    assert_non_null(file);
    while (isnan(found) && fgets(line, sizeof line, file) != NULL) {
        char *field[7], *rest = line;
        for (int i = 0; i < 7; i++)
            field[i] = strsep(&rest, ",");
        if (rest == NULL || strcmp(field[0], material) != 0 || strcmp(field[1], stage) != 0 || field[2][0] == '\0' ||
            fabs(atof(field[2]) - temp_c) > 1e-6)
            continue;
        double first = atof(field[5]), last = atof(field[6]);
        found = figure == FIRST ? first : figure == LAST ? last : (first + last) / 2.0;
    }
    fclose(file);
    return found;
}

/* The law through two rows, or through one with the usual doubling each 10 C. */
static struct law law_of(const struct cure_row *row, unsigned rows)
{
    struct law_terms terms = {.side = SIDE_PLAIN, .rows = rows, .doubling_c = 10, .rule = HUMIDITY_SOLVENT, .ref_rh_pct = 50,
                              .min_temp_c = (double)NAN, .max_rh_pct = (double)NAN};
    struct law law;
    memcpy(terms.row, row, (size_t)rows * sizeof *row);
    assert_int_equal(law_from_terms(&terms, &law, NULL), COAT_OK);
    return law;
}

static double hours_at(const struct law *law, double first_row_h, double temp_c)
{
    return first_row_h / law_rate(law, temp_c, 50, NULL);
}

/* Rows of one table: those at fit_c make the law (fit_c[1] NAN: one row and the usual slope), those at told_c are foretold. */
struct table {
    const char *material, *stage;
    enum figure figure;
    double fit_c[2], told_c[4];
    double low_pct, high_pct; /* what the notes on these sources found the error to be, with rounding */
};

static const struct table tables[] = {
    /* UFGS 09971, RECOAT WINDOWS, polyurethane: "rows within +/- 10 %"; the row at 46.4 C is deliberately short and left out. */
    {"polyurethane-2k", "recoat-window", FIRST, {18.3, 40.8}, {24.2, 29.7, 35.3, NAN}, -10, 10},
    /* The same, epoxy tack coat, closings: the notes have 67.0, 47.6, 33.8 against 72, 48, 36, "within 7 %", by a factor for each 10 C; by an
     * energy, as here, the first is 9 % short. */
    {"epoxy-2k", "tack-coat-recoat-window", LAST, {18.3, 40.8}, {24.2, 29.7, 35.3, NAN}, -9.5, 7},
    /* The same, openings: printed in steps (24, 24, 16, 12, 10), which no smooth law follows to better than a quarter. */
    {"epoxy-2k", "tack-coat-recoat-window", FIRST, {18.3, 40.8}, {24.2, 29.7, 35.3, NAN}, -25, 5},
    /* UFGS 09971 para 3.7.1.3: half for each 10 C warmer, double for each 10 C colder, from the row at 21 C. */
    {"epoxy-2k", "pot-life", FIRST, {21, NAN}, {31, 11, NAN, NAN}, -6, 6},
    {"polyurethane-2k", "pot-life", FIRST, {21, NAN}, {31, 11, NAN, NAN}, -6, 6},
    /* MIL-P-24441 in NAVFAC MO-124: 1.21 h foretold where 1 to 1.5 h are printed. */
    {"epoxy-polyamide-2k", "induction", MIDDLE, {12.8, 23.9}, {18.3, NAN, NAN, NAN}, -4.5, -2},
    /* Baked alkyds, Metal Finishing guidebook, against alkyd/melamine of J. Serb. Chem. Soc. 70: 27.1 min against 30. */
    {"stoving-enamel", "bake", FIRST, {110, 176}, {130, NAN, NAN, NAN}, -11, -8},
};

static void a_law_through_two_rows_foretells_the_others(void **state)
{
    unsigned rows = 0;
    (void)state;
    for (size_t t = 0; t < sizeof tables / sizeof *tables; t++) {
        const struct table *table = &tables[t];
        unsigned fitted = isnan(table->fit_c[1]) ? 1 : 2;
        struct cure_row fit[2] = {0};
        for (unsigned i = 0; i < fitted; i++)
            fit[i] = (struct cure_row){table->fit_c[i], published(table->material, table->stage, table->fit_c[i], table->figure)};
        struct law law = law_of(fit, fitted);
        for (unsigned i = 0; i < 4 && !isnan(table->told_c[i]); i++) {
            double printed_h = published(table->material, table->stage, table->told_c[i], table->figure);
            assert_true(printed_h > 0.0);
            double told_h = hours_at(&law, fit[0].hours, table->told_c[i]), error_pct = 100.0 * (told_h / printed_h - 1.0);
            print_message("# %s, %s at %.1f C: printed %.2f h, foretold %.2f h, %+.1f %%\n", table->material, table->stage, table->told_c[i],
                          printed_h, told_h, error_pct);
            assert_true(error_pct >= table->low_pct && error_pct <= table->high_pct);
            rows++;
        }
    }
    assert_int_equal(rows, 15);
}

/* Textured two-component finish: the slope of its full cure (168 h at 20 C, 12 h at 60 C) foretells dry-to-handle at 60 C from that at 20 C: 34 min
 * where 40 are printed. */
static void the_slope_of_one_stage_foretells_another(void **state)
{
    (void)state;
    const struct cure_row cure[] = {{20, published("structure-paint-2k", "full-cure", 20, FIRST)}, {60, published("structure-paint-2k", "full-cure", 60, FIRST)}};
    struct law law = law_of(cure, 2);
    double handle_h = published("structure-paint-2k", "handle", 20, FIRST), printed_h = published("structure-paint-2k", "handle", 60, FIRST);
    double told_h = hours_at(&law, handle_h, 60);
    print_message("# structure-paint-2k, handle at 60 C: printed %.0f min, foretold %.0f min\n", printed_h * 60, told_h * 60);
    assert_true(fabs(told_h * 60 - 34.3) < 0.5);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_law_through_two_rows_foretells_the_others),
        cmocka_unit_test(the_slope_of_one_stage_foretells_another),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
