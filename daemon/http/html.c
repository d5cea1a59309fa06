#include "daemon/http/html.h"

#include <string.h>

void html_text(struct json_out *out, const char *text)
{
    for (; *text != '\0'; text++) {
        const char *entity = *text == '&' ? "&amp;" : *text == '<' ? "&lt;" : *text == '>' ? "&gt;" : *text == '"' ? "&quot;" : NULL;
        if (entity != NULL)
            json_out_text(out, entity);
        else
            json_out_bytes(out, text, 1);
    }
}

void html_element(struct json_out *out, const char *open, const char *text)
{
    json_out_print(out, "<%s>", open);
    html_text(out, text);
    json_out_print(out, "</%.*s>\n", (int)strcspn(open, " "), open);
}

void html_cautions(struct json_out *out, const struct caution_set *cautions)
{
    json_out_text(out, "<ul class=\"cautions\">\n");
    for (unsigned i = 0; i < cautions->count; i++) {
        const struct caution_text *text = caution_text(cautions->code[i]);
        json_out_text(out, "<li><strong>");
        html_text(out, text->act);
        json_out_text(out, ".</strong> ");
        html_text(out, text->text);
        json_out_text(out, " <small>(");
        html_text(out, text->source);
        json_out_text(out, ")</small></li>\n");
    }
    json_out_text(out, "</ul>\n");
    html_element(out, "p class=\"deferral\"", caution_deferral);
}

void html_begin(struct json_out *out, const char *style, const char *title, const char *heading)
{
    json_out_text(out, "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
                       "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<meta name=\"robots\" content=\"noindex\">\n");
    json_out_print(out, "<link rel=\"stylesheet\" href=\"assets/%s\">\n<link rel=\"icon\" href=\"assets/icon.svg\" type=\"image/svg+xml\">\n", style);
    html_element(out, "title", title);
    json_out_text(out, "</head>\n<body>\n<main>\n");
    html_element(out, "h1", heading);
}

void html_end(struct json_out *out)
{
    json_out_text(out, "</main>\n</body>\n</html>\n");
}
