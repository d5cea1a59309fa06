/* Rows of a table as calc cure and calc bake are told them. */
#include "cli/calc_parts.h"

/* In order of temperature, however they were given. */
static void insert_row(struct law_terms *terms, struct cure_row row)
{
    unsigned i = terms->rows++;
    for (; i > 0 && terms->row[i - 1].temp_c > row.temp_c; i--)
        terms->row[i] = terms->row[i - 1];
    terms->row[i] = row;
}

enum coat_result calc_read_rows(struct calc *calc, struct law_terms *terms)
{
    enum coat_result result = calc_need(calc, "--row");
    for (size_t i = 0; result == COAT_OK && calc_option(calc, "--row", i) != NULL; i++) {
        struct cure_row row = {0.0, 0.0};
        result = quantity_parse_row(calc_option(calc, "--row", i), &row.temp_c, &row.hours, &calc->error);
        if (result == COAT_OK)
            insert_row(terms, row);
    }
    return result;
}
