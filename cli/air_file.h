/* A file of past readings: one reading a row, the columns named by the first line. Everything is checked as it is read, and what is wrong
 * is told with file, line and column. */
#ifndef CLI_AIR_FILE_H
#define CLI_AIR_FILE_H

#include "cli/csv.h"
#include "coat/judge.h"
#include "coat/moment.h"

enum air_column { AIR_COLUMN_DATE, AIR_COLUMN_TIME, AIR_COLUMN_TEMP, AIR_COLUMN_RH, AIR_COLUMN_COUNT };
#define AIR_COLUMN_NONE (-1)

enum air_zone { AIR_ZONE_FILE, AIR_ZONE_LOCAL, AIR_ZONE_UTC }; /* FILE: as the header says, local where it says nothing */

/* What the person said of it. */
struct air_file_terms {
    const char *path;
    const char *column[AIR_COLUMN_COUNT]; /* names; NULL: found by what the header says. No date: --time names the whole */
    bool units_told;
    enum temp_scale units;
    enum air_zone zone;
    enum place_kind place_kind; /* only an oven's air is hot */
    int64_t now_ms;
};

/* What was read so far. */
struct air_summary {
    unsigned long rows, count, empty, twice; /* empty: neither was measured; twice: local times that came twice, taken in the file's order */
    int64_t first_ms, last_ms;               /* the earliest and the latest */
    unsigned long measured[AIR_QUANTITY_COUNT];
    int32_t low[AIR_QUANTITY_COUNT], high[AIR_QUANTITY_COUNT]; /* milli */
};

struct air_file {
    const struct air_file_terms *terms;
    FILE *file;
    struct csv csv;
    unsigned header_fields;
    int column[AIR_COLUMN_COUNT]; /* index, or AIR_COLUMN_NONE */
    char name[AIR_COLUMN_COUNT][80];
    bool scale_known;
    enum temp_scale scale;
    unsigned long scale_line;   /* of the first value that told it; 1: the header or --units */
    double rh_factor;           /* to % */
    enum air_zone zone;
    int64_t offset_ms;          /* of a header that names one: "GMT+01:00" */
    int64_t at_ms, before_ms;   /* of the last two readings, MOMENT_NONE */
    struct judge judge;         /* notices a change of units within the file */
    bool told[AIR_QUANTITY_COUNT];
    struct air_summary summary;
};

/* Opens it and finds the columns; *terms must outlive it. Close it whatever is returned. */
COAT_CHECKED enum coat_result air_file_open(struct air_file *file, const struct air_file_terms *terms, struct coat_error *error);
/* The next row that has a reading; *ret_more false at the end. */
COAT_CHECKED enum coat_result air_file_next(struct air_file *file, struct reading *ret, bool *ret_more, struct coat_error *error);
void air_file_close(struct air_file *file);

#endif
