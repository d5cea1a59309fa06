/* The record of a piece, and the code on its tag. */
#include "daemon/http/routes.h"
#include "daemon/http/work.h"

#include <inttypes.h>
#include <qrencode.h>
#include <stdio.h>
#include <string.h>

static enum coat_result show_record(struct work *work)
{
    struct coat_list coats;
    enum coat_result result = coat_list_make(&work->doc, work->id, &coats);
    if (result != COAT_OK)
        return result;
    json_out_object(work->doc.out);
    doc_record(&work->doc, shop_piece(work->shop, work->id), &coats);
    json_out_object_end(work->doc.out);
    coat_list_free(&coats);
    return COAT_OK;
}

/* ---- the code (ISO/IEC 18004) ---- */

#define QUIET 4 /* modules of white around it, as the standard wants */

/* A row of dark modules at a time. */
static void draw_modules(struct json_out *out, const QRcode *code)
{
    for (int y = 0; y < code->width; y++) {
        const unsigned char *row = code->data + (size_t)y * (size_t)code->width;
        for (int x = 0, end; x < code->width; x = end) {
            for (end = x; end < code->width && (row[end] & 1) == (row[x] & 1);)
                end++;
            if (row[x] & 1)
                json_out_print(out, "M%d %dh%dv1h-%dz", x + QUIET, y + QUIET, end - x, end - x);
        }
    }
}

static void draw_code(struct json_out *out, const QRcode *code)
{
    int size = code->width + 2 * QUIET;
    json_out_print(out, "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 %d %d\" width=\"%d\" height=\"%d\" shape-rendering=\"crispEdges\">",
                   size, size, 8 * size, 8 * size);
    json_out_text(out, "<rect width=\"100%\" height=\"100%\" fill=\"#fff\"/><path fill=\"#000\" d=\"");
    draw_modules(out, code);
    json_out_text(out, "\"/></svg>\n");
}

/* It leads to where this page was asked for: who hangs the tag reached the shop there. A quarter of it may be scratched or painted over. */
static enum coat_result show_code(struct work *work)
{
    char address[256];
    const char *scheme_end = strstr(work->context->origin, "://");
    int scheme = scheme_end != NULL ? (int)(scheme_end - work->context->origin) : 0;
    snprintf(address, sizeof address, "%.*s://%.128s/#piece?id=%" PRId64, scheme, work->context->origin, work->request->host, work->id);
    QRcode *code = QRcode_encodeString8bit(address, 0, QR_ECLEVEL_Q);
    if (code == NULL)
        return coat_fail(&work->error, COAT_NO_MEMORY, "", "the code could not be drawn: try again");
    work->response->content_type = "image/svg+xml";
    draw_code(work->doc.out, code);
    QRcode_free(code);
    return COAT_OK;
}

void route_record(WORK_ARGUMENTS)
{
    work_read(context, request, response, &work_piece, show_record);
}

void route_piece_code(WORK_ARGUMENTS)
{
    work_read(context, request, response, &work_piece, show_code);
}
