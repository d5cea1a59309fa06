#include "cli/render.h"

#include "cli/text.h"

#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

#define WIDTH_DEFAULT 80
#define WIDTH_MOST 120
#define WIDTH_LEAST 40
#define COLUMN_GAP 2
#define CELL_WIDE 26 /* a wider cell does not widen its column: the rest of its row goes on the next line */

static const char *const voices[] = {
    [VOICE_PLAIN] = "", [VOICE_HEAD] = "\033[1m", [VOICE_GO] = "\033[32m", [VOICE_SOON] = "\033[1;33m", [VOICE_STOP] = "\033[31m",
};
_Static_assert(sizeof voices / sizeof *voices == VOICE_COUNT, "one a voice");

static bool wants_colour(FILE *out, bool no_color)
{
    const char *term = getenv("TERM");
    const char *refused = getenv("NO_COLOR");
    return !no_color && (refused == NULL || refused[0] == '\0') && term != NULL && strcmp(term, "dumb") != 0 &&
           isatty(fileno(out));
}

static unsigned find_width(FILE *out)
{
    struct winsize size = {0};
    if (!isatty(fileno(out)) || ioctl(fileno(out), TIOCGWINSZ, &size) != 0 || size.ws_col == 0)
        return WIDTH_DEFAULT;
    return size.ws_col > WIDTH_MOST ? WIDTH_MOST : size.ws_col < WIDTH_LEAST ? WIDTH_LEAST : size.ws_col;
}

void render_init(struct render *render, FILE *out, bool no_color)
{
    render->out = out;
    render->width = find_width(out);
    render->colour = wants_colour(out, no_color);
}

/* Columns that `length` bytes take: characters of UTF-8, each counted as one. */
static unsigned columns_of(const char *text, size_t length)
{
    unsigned columns = 0;
    for (size_t i = 0; i < length; i++)
        columns += ((unsigned char)text[i] & 0xC0u) != 0x80u;
    return columns;
}

static void write_spaces(FILE *out, unsigned count)
{
    fprintf(out, "%*s", (int)count, "");
}

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

/* "18 C", "35 min", "Sun 14:30" and "5 Dec" are read as one: whether the word before a space holds on to the one after it. */
static bool holds_on(const char *word, size_t length, const char *next, size_t next_length)
{
    bool amount = is_digit(word[length - 1]) && next_length <= 4 && !is_digit(next[0]);
    bool day = length == 3 && word[0] >= 'A' && word[0] <= 'Z' && is_digit(next[0]);
    return next_length > 0 && (amount || day);
}

/* What must stand on one line: a word, or an amount with its unit. */
static size_t unit_length(const char *at)
{
    size_t length = strcspn(at, " \n");
    size_t next = at[length] == ' ' ? strcspn(at + length + 1, " \n") : 0;
    return next > 0 && holds_on(at, length, at + length + 1, next) ? length + 1 + next : length;
}

/* The next piece of at least one character; one wider than `room` is cut there. */
static size_t word_length(const char *at, unsigned room)
{
    size_t length = unit_length(at);
    while (length > 1 && columns_of(at, length) > room)
        length--;
    while (length > 1 && ((unsigned char)at[length] & 0xC0u) == 0x80u)
        length--; /* not inside a character */
    return length;
}

/* Writes text from column `column` on; lines after the first start at `hang`. No newline at the end. */
static void write_wrapped(struct render *render, unsigned column, unsigned hang, const char *text)
{
    unsigned least = render->width > hang + 8 ? render->width - hang : 8;
    bool fresh = true;
    for (const char *at = text; *at != '\0';) {
        if (*at == ' ' || *at == '\n') {
            at++;
            continue;
        }
        size_t length = word_length(at, least);
        unsigned columns = columns_of(at, length);
        if (!fresh && column + 1 + columns > render->width) {
            fputc('\n', render->out);
            write_spaces(render->out, hang);
            column = hang;
        } else if (!fresh) {
            fputc(' ', render->out);
            column++;
        }
        text_write_clean(render->out, at, length);
        column += columns;
        at += length;
        fresh = false;
    }
}

void render_text(struct render *render, unsigned indent, unsigned hang, const char *text)
{
    if (text[strspn(text, " \n")] == '\0')
        return; /* nothing to say, and no line of spaces for it */
    write_spaces(render->out, indent);
    write_wrapped(render, indent, hang, text);
    fputc('\n', render->out);
}

static void start_voice(struct render *render, enum voice voice)
{
    if (render->colour)
        fputs(voices[voice], render->out);
}

static void end_voice(struct render *render, enum voice voice)
{
    if (render->colour && voice != VOICE_PLAIN)
        fputs("\033[0m", render->out);
}

void render_voiced(struct render *render, enum voice voice, const char *text)
{
    start_voice(render, voice);
    write_wrapped(render, 0, 2, text);
    end_voice(render, voice);
    fputc('\n', render->out);
}

void render_blank(struct render *render)
{
    fputc('\n', render->out);
}

/* ---- tables ---- */

struct table_line {
    enum voice voice;
    bool empty; /* is not printed */
    char *cell[TABLE_COLUMNS_MAX]; /* NULL: empty */
};

struct table {
    unsigned columns, indent, voiced;
    size_t lines, room;
    struct table_line *line;
};

struct table *table_new(unsigned columns, unsigned indent, unsigned voiced)
{
    struct table *table = calloc(1, sizeof *table);
    if (table == NULL)
        return NULL;
    table->columns = columns < TABLE_COLUMNS_MAX ? columns : TABLE_COLUMNS_MAX;
    table->indent = indent;
    table->voiced = voiced;
    return table;
}

static bool grow(struct table *table)
{
    if (table->lines < table->room)
        return true;
    size_t room = table->room == 0 ? 16 : table->room * 2;
    struct table_line *line = reallocarray(table->line, room, sizeof *line);
    if (line == NULL)
        return false;
    table->line = line;
    table->room = room;
    return true;
}

void table_row(struct table *table, enum voice voice, const char *const cells[])
{
    if (table == NULL || table->lines >= TABLE_ROWS_MAX || !grow(table))
        return;
    struct table_line *line = &table->line[table->lines++];
    memset(line, 0, sizeof *line);
    line->voice = voice;
    line->empty = true;
    for (unsigned i = 0; i < table->columns; i++)
        line->cell[i] = cells[i] != NULL ? strdup(cells[i]) : NULL;
    for (unsigned i = 0; i < table->columns; i++)
        line->empty = line->empty && (cells[i] == NULL || cells[i][0] == '\0');
}

static const char *cell_text(const struct table_line *line, unsigned column)
{
    return line->cell[column] != NULL ? line->cell[column] : "";
}

static unsigned column_width(const struct table *table, unsigned column)
{
    unsigned width = 0;
    for (size_t i = 0; i < table->lines; i++) {
        const char *cell = cell_text(&table->line[i], column);
        unsigned wide = columns_of(cell, strlen(cell));
        if (wide > width && wide <= CELL_WIDE)
            width = wide;
    }
    return width;
}

static void print_line(struct render *render, const struct table *table, const struct table_line *line,
                       const unsigned start[])
{
    unsigned last = table->columns - 1, at = table->indent;
    write_spaces(render->out, at);
    for (unsigned i = 0; i < table->columns; i++) {
        const char *cell = cell_text(line, i);
        bool rest = false;
        for (unsigned j = i; j <= last; j++)
            rest = rest || cell_text(line, j)[0] != '\0';
        if (!rest)
            break; /* no spaces at the end of a line */
        if (i > 0 && cell_text(line, i - 1)[0] != '\0' && at >= start[i]) { /* a wide cell before it */
            fputc('\n', render->out);
            at = 0;
        }
        write_spaces(render->out, start[i] - at);
        enum voice voice = i == table->voiced ? line->voice : VOICE_PLAIN;
        start_voice(render, voice);
        write_wrapped(render, start[i], start[i], cell);
        end_voice(render, voice);
        at = start[i] + columns_of(cell, strlen(cell));
    }
    fputc('\n', render->out);
}

static void free_table(struct table *table)
{
    for (size_t i = 0; i < table->lines; i++) {
        for (unsigned j = 0; j < table->columns; j++)
            free(table->line[i].cell[j]);
    }
    free(table->line);
    free(table);
}

void table_print(struct render *render, struct table *table)
{
    unsigned start[TABLE_COLUMNS_MAX + 1];
    if (table == NULL)
        return;
    start[0] = table->indent;
    for (unsigned i = 0; i < table->columns; i++) {
        unsigned width = column_width(table, i);
        start[i + 1] = start[i] + width + (width > 0 ? COLUMN_GAP : 0);
    }
    for (size_t i = 0; i < table->lines; i++) {
        if (!table->line[i].empty)
            print_line(render, table, &table->line[i], start);
    }
    free_table(table);
}
