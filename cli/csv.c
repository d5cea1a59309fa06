#include "cli/csv.h"

#include <string.h>

#define SEPARATORS ",;\t"

/* ---- bytes ---- */

static int peek(FILE *file)
{
    int byte = getc_unlocked(file);
    if (byte != EOF)
        ungetc(byte, file);
    return byte;
}

/* One of "\n", "\r\n" and "\r" counts as one line end. */
static int take(struct csv *csv)
{
    int byte = getc_unlocked(csv->file);
    if (byte == '\r') {
        if (peek(csv->file) == '\n')
            (void)getc_unlocked(csv->file);
        byte = '\n';
    }
    if (byte == '\n')
        csv->next_line++;
    return byte;
}

static enum coat_result skip_mark(struct csv *csv, struct coat_error *error)
{
    static const unsigned char utf8[] = {0xef, 0xbb, 0xbf};
    unsigned char start[sizeof utf8] = {0};
    size_t length = fread(start, 1, sizeof start, csv->file);
    if (length >= 2 && ((start[0] == 0xff && start[1] == 0xfe) || (start[0] == 0xfe && start[1] == 0xff)))
        return coat_fail(error, COAT_BAD_FORM, "", "the text is UTF-16: save it as UTF-8");
    bool mark = length == sizeof utf8 && memcmp(start, utf8, sizeof utf8) == 0;
    if (fseek(csv->file, mark ? (long)sizeof utf8 : 0L, SEEK_SET) != 0)
        return coat_fail(error, COAT_BAD_FORM, "", "it cannot be read twice: save it as a file");
    return COAT_OK;
}

/* What stands most often in the first line outside quotes; a comma where nothing does. */
static char find_separator(FILE *file)
{
    unsigned count[sizeof SEPARATORS] = {0};
    bool quoted = false;
    unsigned best = 0;
    long start = ftell(file);
    for (int byte = getc_unlocked(file); byte != EOF && (quoted || (byte != '\n' && byte != '\r')); byte = getc_unlocked(file)) {
        const char *found = byte != '\0' ? strchr(SEPARATORS, byte) : NULL;
        if (byte == '"')
            quoted = !quoted;
        else if (found != NULL && !quoted)
            count[found - SEPARATORS]++;
    }
    for (unsigned i = 1; i < sizeof SEPARATORS - 1; i++)
        best = count[i] > count[best] ? i : best;
    (void)fseek(file, start, SEEK_SET);
    return SEPARATORS[best];
}

/* ---- a record ---- */

struct record {
    struct csv *csv;
    size_t used;
    struct coat_error *error;
    bool full;
};

static void put(struct record *record, char byte)
{
    if (record->used + 1 < CSV_RECORD_MAX)
        record->csv->data[record->used++] = byte;
    else
        record->full = true;
}

static bool ends_field(const struct csv *csv, int byte)
{
    return byte == csv->separator || byte == '\n' || byte == EOF;
}

static bool is_space(int byte)
{
    return byte == ' ' || byte == '\t';
}

/* After the opening quote, up to the byte behind the closing one. */
static enum coat_result read_quoted(struct record *record, int *ret_byte)
{
    struct csv *csv = record->csv;
    for (;;) {
        int byte = take(csv);
        if (byte == EOF)
            return coat_fail(record->error, COAT_BAD_FORM, "", "a quote is opened and never closed");
        if (byte == '"') {
            byte = take(csv);
            if (byte != '"') {
                while (is_space(byte) && byte != csv->separator)
                    byte = take(csv);
                *ret_byte = byte;
                break;
            }
        }
        put(record, (char)byte);
    }
    if (!ends_field(csv, *ret_byte))
        return coat_fail(record->error, COAT_BAD_FORM, "", "text stands behind a closing quote: write a quote within quotes twice");
    return COAT_OK;
}

static int read_plain(struct record *record, size_t start, int byte)
{
    for (; !ends_field(record->csv, byte); byte = take(record->csv))
        put(record, (char)byte);
    while (record->used > start && is_space(record->csv->data[record->used - 1]))
        record->used--;
    return byte;
}

/* *ret_byte is what ended it. */
static enum coat_result read_field(struct record *record, int *ret_byte)
{
    struct csv *csv = record->csv;
    size_t start = record->used;
    if (csv->fields == CSV_FIELDS_MAX)
        return coat_fail(record->error, COAT_BAD_FORM, "", "it has more than %d columns", CSV_FIELDS_MAX);
    int byte = take(csv);
    while (is_space(byte) && byte != csv->separator)
        byte = take(csv);
    enum coat_result result = COAT_OK;
    if (byte == '"')
        result = read_quoted(record, ret_byte);
    else
        *ret_byte = read_plain(record, start, byte);
    if (result != COAT_OK)
        return result;
    put(record, '\0');
    csv->field[csv->fields++] = csv->data + start;
    if (record->full)
        return coat_fail(record->error, COAT_BAD_FORM, "", "it is longer than %u bytes", CSV_RECORD_MAX);
    if (strlen(csv->data + start) + 1 != record->used - start)
        return coat_fail(record->error, COAT_BAD_FORM, "", "a NUL byte stands in it: this is no text");
    return COAT_OK;
}

static enum coat_result read_record(struct csv *csv, struct coat_error *error)
{
    struct record record = {.csv = csv, .error = error};
    enum coat_result result = COAT_OK;
    int byte = csv->separator;
    csv->line = csv->next_line;
    csv->fields = 0;
    while (result == COAT_OK && byte == csv->separator)
        result = read_field(&record, &byte);
    return result;
}

enum coat_result csv_next(struct csv *csv, bool *ret_more, struct coat_error *error)
{
    for (;;) {
        *ret_more = peek(csv->file) != EOF;
        if (!*ret_more && ferror(csv->file))
            return coat_fail(error, COAT_BAD_FORM, "", "it cannot be read to its end");
        if (!*ret_more)
            return COAT_OK;
        enum coat_result result = read_record(csv, error);
        if (result != COAT_OK || csv->fields > 1 || csv->field[0][0] != '\0')
            return result;
    }
}

enum coat_result csv_open(struct csv *csv, FILE *file, struct coat_error *error)
{
    bool more = false;
    csv->file = file;
    csv->line = csv->next_line = 1;
    enum coat_result result = skip_mark(csv, error);
    if (result != COAT_OK)
        return result;
    csv->separator = find_separator(file);
    result = csv_next(csv, &more, error);
    if (result == COAT_OK && !more)
        return coat_fail(error, COAT_BAD_FORM, "", "it is empty: the first line names the columns");
    return result;
}
