/* Plain text for a terminal of 80 columns or more. Words say everything; colour is a second voice, and only where a
 * person looks: not with NO_COLOR, --no-color, TERM=dumb, or into a file or pipe. Text from outside passes through here, so no name or note
 * can move the cursor: control characters become "?". */
#ifndef CLI_RENDER_H
#define CLI_RENDER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

enum voice { VOICE_PLAIN, VOICE_HEAD, VOICE_GO, VOICE_SOON, VOICE_STOP, VOICE_COUNT };

struct render {
    FILE *out;
    unsigned width; /* columns; 80 where nobody looks */
    bool colour;
};

void render_init(struct render *render, FILE *out, bool no_color);

/* Writes text broken at spaces; the first line starts at `indent`, those after it at `hang`. */
void render_text(struct render *render, unsigned indent, unsigned hang, const char *text);
void render_voiced(struct render *render, enum voice voice, const char *text);
void render_blank(struct render *render);

/* Columns as wide as their cells need, the last one broken at spaces. Cells are copied. */
#define TABLE_COLUMNS_MAX 6
#define TABLE_ROWS_MAX 2000

struct table;
/* `voiced` is the column that speaks in a row's voice. NULL without memory. */
struct table *table_new(unsigned columns, unsigned indent, unsigned voiced);
void table_row(struct table *table, enum voice voice, const char *const cells[]);
/* Writes and frees it; accepts NULL. */
void table_print(struct render *render, struct table *table);

#endif
