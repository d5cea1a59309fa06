/* One line of a published table: fields between commas, in quotes where they hold one. */
#ifndef COAT_TESTS_CSV_ROW_H
#define COAT_TESTS_CSV_ROW_H

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define CSV_LINE_SIZE 1600
#define CSV_FIELDS_MAX 20

struct csv_row {
    char line[CSV_LINE_SIZE];
    char *field[CSV_FIELDS_MAX];
    unsigned fields;
};

static inline FILE *csv_open(const char *name)
{
    char path[400];
    const char *folder = getenv("COAT_REFERENCE");
    snprintf(path, sizeof path, "%s/%s", folder != NULL ? folder : "tests/reference", name);
    return fopen(path, "r");
}

/* Splits row->line in place: 1, or 0 at the end of the file. */
static inline int csv_next(FILE *file, struct csv_row *row)
{
    if (fgets(row->line, sizeof row->line, file) == NULL)
        return 0;
    char *to = row->line;
    int quoted = 0;
    row->fields = 1;
    row->field[0] = to;
    for (const char *at = row->line; *at != '\0' && *at != '\n'; at++) {
        if (*at == '"') {
            quoted = !quoted;
        } else if (*at == ',' && !quoted && row->fields < CSV_FIELDS_MAX) {
            *to++ = '\0';
            row->field[row->fields++] = to;
        } else {
            *to++ = *at;
        }
    }
    *to = '\0';
    return 1;
}

#endif
