/* The few pages that the service writes itself. All that comes from people goes through html_text: it is escaped there, once. */
#ifndef COAT_HTML_H
#define COAT_HTML_H

#include "coat/caution.h"
#include "daemon/http/json_out.h"

/* Text, in an element or between double quotes. */
void html_text(struct json_out *out, const char *text);
/* "<p>text</p>"; `open` may have attributes of ours: "p class=\"quiet\"". */
void html_element(struct json_out *out, const char *open, const char *text);
/* A list of what to do and why, each with its source, and the sentence that defers. */
void html_cautions(struct json_out *out, const struct caution_set *cautions);
/* From the doctype up to the opening of <main>, with its heading. `style` names a file of the page's: "ack.css". */
void html_begin(struct json_out *out, const char *style, const char *title, const char *heading);
void html_end(struct json_out *out);

#endif
