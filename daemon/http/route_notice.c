/* Notices, and putting them aside. */
#include "daemon/http/routes.h"
#include "daemon/http/work.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#define LISTED_NEWEST 200
#define LISTED_AFTER 500

/* ---- lists ---- */

/* Those that stand for their groups, in the order in which they are listed. */
struct heads {
    const struct notice **item;
    size_t count;
};

static enum coat_result collect(struct work *work, bool (*wanted)(const struct notice *, const void *), const void *context, struct heads *ret)
{
    size_t count = 0;
    const struct notice *notices = shop_notices(work->shop, &count);
    *ret = (struct heads){.item = calloc(count + 1, sizeof *ret->item)};
    if (ret->item == NULL)
        return COAT_NO_MEMORY;
    for (size_t i = 0; i < count; i++) {
        if (notice_is_head(&notices[i]) && wanted(&notices[i], context))
            ret->item[ret->count++] = &notices[i];
    }
    return COAT_OK;
}

static void put_heads(struct work *work, const struct heads *heads, size_t from, size_t most)
{
    json_out_object(work->doc.out);
    json_put_array(work->doc.out, "items");
    for (size_t i = from; i < heads->count && i - from < most; i++) {
        json_out_object(work->doc.out);
        doc_notice(&work->doc, heads->item[i]->id);
        json_out_object_end(work->doc.out);
    }
    json_out_array_end(work->doc.out);
    work_end_document(work);
}

static bool has_id_after(const struct notice *notice, const void *context)
{
    return notice->id > *(const int64_t *)context;
}

/* After an id the first so many, so that a follower misses none; else the newest. */
static enum coat_result show_by_id(struct work *work)
{
    int64_t after = -1;
    struct heads heads;
    if (http_query_int(work->request, "after", 0, INT64_MAX, &after, &work->error) != COAT_OK)
        return work->error.code;
    enum coat_result result = collect(work, has_id_after, &after, &heads);
    if (result == COAT_OK)
        put_heads(work, &heads, after < 0 && heads.count > LISTED_NEWEST ? heads.count - LISTED_NEWEST : 0, after < 0 ? LISTED_NEWEST : LISTED_AFTER);
    free(heads.item);
    return result;
}

/* ---- what was told since ---- */

struct cursor {
    int64_t told_at, id;
};

static bool read_number(const char **io_text, char end, int64_t *ret)
{
    size_t digits = strspn(*io_text, "0123456789");
    if (digits == 0 || digits > 18 || (*io_text)[digits] != end)
        return false;
    *ret = strtoll(*io_text, NULL, 10);
    *io_text += digits + 1;
    return true;
}

/* The moment of telling and the number: what is held back is told later than what came after it, so that the number alone would miss it. */
static enum coat_result read_cursor(struct work *work, const char *text, struct cursor *ret)
{
    const char *at = text;
    if (!read_number(&at, '-', &ret->told_at) || !read_number(&at, '\0', &ret->id))
        return coat_fail(&work->error, COAT_BAD_VALUE, "told_after", "\"%.60s\" is no cursor: give that of the last notice you have, or 0-0 for all", text);
    return COAT_OK;
}

static bool was_told_after(const struct notice *notice, const void *context)
{
    const struct cursor *cursor = context;
    if (notice->told_at == MOMENT_NONE)
        return false;
    return notice->told_at > cursor->told_at || (notice->told_at == cursor->told_at && notice->id > cursor->id);
}

static int by_telling(const void *a, const void *b)
{
    const struct notice *x = *(const struct notice *const *)a, *y = *(const struct notice *const *)b;
    if (x->told_at != y->told_at)
        return x->told_at < y->told_at ? -1 : 1;
    return (x->id > y->id) - (x->id < y->id);
}

static enum coat_result show_told_after(struct work *work, const char *text)
{
    struct cursor cursor;
    struct heads heads;
    enum coat_result result = read_cursor(work, text, &cursor);
    if (result == COAT_OK && http_query(work->request, "after") != NULL)
        result = coat_fail(&work->error, COAT_BAD_VALUE, "after", "after and told_after order notices in two ways: ask for one of them");
    if (result == COAT_OK)
        result = collect(work, was_told_after, &cursor, &heads);
    if (result != COAT_OK)
        return result;
    qsort(heads.item, heads.count, sizeof *heads.item, by_telling);
    put_heads(work, &heads, 0, LISTED_AFTER);
    free(heads.item);
    return COAT_OK;
}

static enum coat_result show_notices(struct work *work)
{
    const char *told_after = http_query(work->request, "told_after");
    return told_after != NULL ? show_told_after(work, told_after) : show_by_id(work);
}

/* ---- one ---- */

static enum coat_result acknowledge(struct work *work)
{
    if (json_in_close(&work->in) != COAT_OK)
        return work->error.code;
    return shop_acknowledge(work->shop, &work->write, work->id, &work->error);
}

static enum coat_result show_notice(struct work *work)
{
    json_out_object(work->doc.out);
    doc_notice(&work->doc, work->id);
    doc_notice_tries(&work->doc, work->id);
    doc_caution_texts(&work->doc, "caution_texts");
    json_out_object_end(work->doc.out);
    return COAT_OK;
}

/* ---- handlers ---- */

void route_notices_list(WORK_ARGUMENTS)
{
    work_read(context, request, response, NULL, show_notices);
}

void route_notice_get(WORK_ARGUMENTS)
{
    work_read(context, request, response, &work_notice, show_notice);
}

void route_notice_ack(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {200, &work_notice, acknowledge, show_notice};
    work_write(context, request, response, &plan);
}
