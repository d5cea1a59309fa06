/* Putting a notice aside from a mail: the link leads to a page that says what it is about, and a button on it, which works without scripts, does it. Reading the
 * page changes nothing: mail programs and scanners open links by themselves. What the address is signed with stands for the origin and the type that other
 * writes show. */
#include "daemon/http/ack_link.h"
#include "daemon/http/html.h"
#include "daemon/http/routes.h"
#include "daemon/http/work.h"

#include <inttypes.h>
#include <string.h>
#include <time.h>

/* ---- HTML ---- */

/* Each line a paragraph. */
static void put_paragraphs(struct json_out *out, const char *text)
{
    char line[NOTICE_TEXT_SIZE];
    while (*text != '\0') {
        size_t length = strcspn(text, "\n");
        size_t kept = length < sizeof line ? length : sizeof line - 1;
        memcpy(line, text, kept);
        line[kept] = '\0';
        if (kept > 0)
            html_element(out, "p", line);
        text += length + (text[length] == '\n' ? 1 : 0);
    }
}

static void put_head(struct work *work, const char *title)
{
    work->response->content_type = "text/html; charset=utf-8";
    work->response->form = true;
    html_begin(work->doc.out, "ack.css", title, title);
}

/* ---- the page ---- */

static void put_moment(const struct work *work, const char *what, int64_t at_ms)
{
    char text[96], line[160];
    struct tm local;
    time_t seconds = (time_t)((at_ms + doc_zone_offset_ms(shop_settings_now(work->shop)->zone, at_ms)) / MS_PER_S);
    if (gmtime_r(&seconds, &local) == NULL || strftime(text, sizeof text, "%a %d %b %Y %H:%M", &local) == 0)
        return;
    snprintf(line, sizeof line, "%s %s.", what, text);
    html_element(work->doc.out, "p", line);
}

/* The form is sent to the address that it came from. */
static void put_standing(const struct work *work, const struct notice_view *view)
{
    if (view->acknowledged_at != MOMENT_NONE)
        put_moment(work, "Acknowledged", view->acknowledged_at);
    else if (view->withdrawn_at != MOMENT_NONE)
        put_moment(work, "Taken back: it is over, or came too early. There is nothing to acknowledge since", view->withdrawn_at);
    else
        json_out_text(work->doc.out, "<form method=\"post\"><button type=\"submit\">Acknowledge</button></form>\n"
                                     "<p>It is then told no more, on any channel.</p>\n");
}

static void put_page(struct work *work, const struct notice_view *view)
{
    char title[sizeof view->subject + 32];
    snprintf(title, sizeof title, "%" PRId64 ": %s", view->head->id, view->subject);
    put_head(work, title);
    put_paragraphs(work->doc.out, view->text);
    put_standing(work, view);
    html_cautions(work->doc.out, &view->cautions);
    html_end(work->doc.out);
}

/* One answer for all that is wrong, so that nobody learns which numbers there are. */
static void put_refusal(struct work *work)
{
    work->response->status = 404;
    put_head(work, "This link leads nowhere");
    html_element(work->doc.out, "p", "It was cut short, or the channel over which it came is out of use. Notices are acknowledged on the page of the shop, "
                                    "or with: coat ack N");
    html_end(work->doc.out);
}

/* ---- the link ---- */

static int64_t query_id(const struct work *work, const char *name)
{
    int64_t id = 0;
    struct coat_error ignored = {0};
    return http_query_int(work->request, name, 1, INT64_MAX, &id, &ignored) == COAT_OK ? id : 0;
}

static bool find_notice(struct work *work, struct notice_view *ret)
{
    int64_t notice_id = query_id(work, "n");
    bool is_signed = ack_is_signed(work->shop, notice_id, query_id(work, "c"), http_query(work->request, "s"));
    return is_signed && shop_notice_view(work->shop, notice_id, work->now_ms, ret);
}

static enum coat_result show_page(struct work *work)
{
    struct notice_view view;
    if (find_notice(work, &view))
        put_page(work, &view);
    else
        put_refusal(work);
    return COAT_OK;
}

/* Sent again it does nothing more. */
static enum coat_result take_form(struct work *work)
{
    struct notice_view view;
    struct shop_write write = http_write(work->context, work->request, 200);
    write.key = NULL;
    if (!find_notice(work, &view)) {
        put_refusal(work);
        return COAT_OK;
    }
    if (view.acknowledged_at == MOMENT_NONE && view.withdrawn_at == MOMENT_NONE) {
        enum coat_result result = shop_acknowledge(work->shop, &write, view.head->id, &work->error);
        if (result != COAT_OK)
            return result;
    }
    return show_page(work);
}

void route_ack_page(WORK_ARGUMENTS)
{
    work_read(context, request, response, NULL, show_page);
}

void route_ack_form(WORK_ARGUMENTS)
{
    work_read(context, request, response, NULL, take_form);
}
