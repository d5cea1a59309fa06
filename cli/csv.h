/* Reads comma-separated values record by record (RFC 4180), and what else calls itself CSV: semicolons or tabs, any line end, a byte order
 * mark. The first record is the header; what separates in it separates all over. Memory is bounded: one record at a time. */
#ifndef CLI_CSV_H
#define CLI_CSV_H

#include "coat/result.h"

#include <stdbool.h>
#include <stdio.h>

#define CSV_FIELDS_MAX 256
#define CSV_RECORD_MAX (64u * 1024u) /* bytes of one record */

struct csv {
    FILE *file; /* the caller's */
    char separator;
    unsigned long line;      /* on which the record at hand began, from 1 */
    unsigned long next_line;
    unsigned fields;         /* of the record at hand */
    const char *field[CSV_FIELDS_MAX]; /* good until the next record; never NULL, no space around what was not quoted */
    char data[CSV_RECORD_MAX];
};

/* Reads the header at the beginning of a file that can be rewound. COAT_BAD_FORM where it is empty or no such text. */
COAT_CHECKED enum coat_result csv_open(struct csv *csv, FILE *file, struct coat_error *error);

/* The next record that is not empty; *ret_more false at the end. COAT_BAD_FORM names what is wrong with the one on csv->line. */
COAT_CHECKED enum coat_result csv_next(struct csv *csv, bool *ret_more, struct coat_error *error);

#endif
