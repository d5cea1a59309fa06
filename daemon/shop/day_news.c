/* What the day brings to the shop as a whole: a word before leaving it after spraying or oiling, and the list of the day in the morning. */
#include "daemon/shop/notice.h"

#include <stdio.h>
#include <string.h>

#define LEAVING_LASTS_MS (12 * MS_PER_H) /* what was put on longer ago is no reason any more: whoever was there has left */
#define LEAVING_AGAIN_MS (6 * MS_PER_H)  /* one that stands covers what is put on so long after it */
#define OUT_OF_ORDER_MOST 64 /* so many that were raised earlier in a row, and all before them were: a clock that was wrong for a while leaves some behind */
#define ROW_TEXT_SIZE 256
#define MORE_TEXT_SIZE 32
#define MORNING_LASTS_MS (4 * MS_PER_H)  /* a list of the morning is of no use in the afternoon */

static enum coat_result raise(const struct shop *shop, enum notice_kind kind, int64_t place_id, int64_t due_at, int64_t now_ms, const char *text,
                              struct notice_batch *batch)
{
    struct notice notice = {
        .kind = kind,
        .place_id = place_id,
        .turn = 1,
        .due_at = due_at,
        .until_at = MOMENT_NONE,
        .raised_at = now_ms,
        .withdrawn_at = MOMENT_NONE,
        .acknowledged_at = MOMENT_NONE,
        .told_at = MOMENT_NONE,
    };
    for (size_t i = 0; i < shop->notices.count; i++) /* once a day or so */
        if (shop->notices.item[i].kind == kind && shop->notices.item[i].place_id == place_id)
            notice.turn = shop->notices.item[i].turn + 1;
    snprintf(notice.text, sizeof notice.text, "%s", text);
    return notice_batch_add(batch, &notice) ? COAT_OK : COAT_NO_MEMORY;
}

/* The newest notice of a kind (and place) that was raised from since_ms on and before until_ms; NULL. */
static const struct notice *newest_between(const struct shop *shop, enum notice_kind kind, int64_t place_id, int64_t since_ms, int64_t until_ms)
{
    unsigned older = 0;
    for (size_t i = shop->notices.count; i-- > 0 && older < OUT_OF_ORDER_MOST;) {
        const struct notice *notice = &shop->notices.item[i];
        bool is_older = notice->raised_at < since_ms;
        older = is_older ? older + 1 : 0;
        if (!is_older && notice->kind == kind && notice->place_id == place_id && notice->raised_at < until_ms)
            return notice;
    }
    return NULL;
}

static bool is_raised_now(const struct notice_batch *batch, enum notice_kind kind, int64_t place_id)
{
    for (size_t i = 0; i < batch->count; i++)
        if (batch->item[i].id == 0 && batch->item[i].kind == kind && batch->item[i].place_id == place_id)
            return true;
    return false;
}

/* ---- leaving ---- */

/* Mist in the air, or rags and overspray that heat themselves. */
static bool asks_for_leaving(const struct shop *shop, const struct coat *coat)
{
    const struct material_version *version = shop_material_version(shop, coat->material_version_id);
    bool sprayed = coat->application == APPLY_SPRAY || coat->application == APPLY_AEROSOL;
    return coat->struck_at == MOMENT_NONE && version && (sprayed || material_hazard(&version->material, HAZARD_SELF_HEATING));
}

static bool is_covered(const struct shop *shop, const struct coat *coat, int64_t place_id, int64_t now_ms)
{
    const struct notice *newest = newest_between(shop, NOTICE_LEAVING, place_id, now_ms - LEAVING_LASTS_MS - LEAVING_AGAIN_MS,
                                                 now_ms + LEAVING_AGAIN_MS); /* not one of a clock that was far ahead */
    if (!newest)
        return false;
    bool stands = newest->acknowledged_at == MOMENT_NONE && newest->withdrawn_at == MOMENT_NONE;
    return newest->raised_at >= coat->last_at || (stands && coat->last_at - newest->raised_at < LEAVING_AGAIN_MS);
}

static enum coat_result raise_leaving(struct shop *shop, const struct coat *coat, int64_t place_id, int64_t now_ms, struct notice_batch *batch)
{
    char text[NOTE_SIZE];
    const struct place *place = shop_place(shop, place_id);
    const struct notice *before = newest_between(shop, NOTICE_LEAVING, place_id, INT64_MIN, INT64_MAX);
    bool stands = before && before->acknowledged_at == MOMENT_NONE && before->withdrawn_at == MOMENT_NONE;
    snprintf(text, sizeof text, "%s%s%s. %s The label comes first.", place ? place->name : "", place ? ": " : "", notice_wording(NOTICE_LEAVING),
             caution_text(CAUTION_LEAVING)->text);
    enum coat_result result = stands ? notice_take_back(before, now_ms, batch) : COAT_OK;
    return result == COAT_OK ? raise(shop, NOTICE_LEAVING, place_id, coat->last_at, now_ms, text, batch) : result;
}

static enum coat_result gather_leaving(struct shop *shop, int64_t now_ms, struct notice_batch *batch)
{
    enum coat_result result = COAT_OK;
    for (size_t i = 0; result == COAT_OK && i < shop->coats.count; i++) {
        const struct coat *coat = &shop->coats.item[i];
        if (coat->last_at > now_ms || coat->last_at < now_ms - LEAVING_LASTS_MS || !asks_for_leaving(shop, coat))
            continue;
        int64_t place_id = shop_piece_place(shop, coat->piece_id, coat->last_at);
        if (!is_covered(shop, coat, place_id, now_ms) && !is_raised_now(batch, NOTICE_LEAVING, place_id))
            result = raise_leaving(shop, coat, place_id, now_ms, batch);
    }
    return result;
}

/* ---- the morning ---- */

int64_t day_next_due(const struct shop *shop, int64_t from_ms)
{
    struct local_zone zone = shop_zone(shop);
    return shop->settings.morning_min == MORNING_NONE ? MOMENT_NONE : local_next(&zone, shop->settings.morning_min, from_ms);
}

/* The last morning at or before now_ms. */
static int64_t last_morning(const struct shop *shop, int64_t now_ms)
{
    int64_t morning = MOMENT_NONE;
    if (shop->settings.morning_min == MORNING_NONE)
        return MOMENT_NONE;
    for (int64_t next = day_next_due(shop, now_ms - MS_PER_DAY - 2 * MS_PER_H); next <= now_ms; next = day_next_due(shop, next))
        morning = next;
    return morning;
}

/* A row is of today where its moment comes within a day from from_ms, by what is likely. */
static bool is_of_today(const struct list_row *row, int64_t from_ms)
{
    int64_t at = row->until.likely_at;
    bool soon = at != MOMENT_NONE && at < from_ms + MS_PER_DAY;
    return row->list == LIST_NOW || row->list == LIST_HELD || soon;
}

void day_settle(struct shop *shop, int64_t now_ms)
{
    shop->morning_seen = last_morning(shop, now_ms);
}

static const char *const headings[LIST_KIND_COUNT] = {
    [LIST_NOW] = "can be done", [LIST_NEXT] = "comes", [LIST_NOT_YET] = "must not be touched before", [LIST_HELD] = "is held up",
};

/* One line of the list, of one coat. */
static int say_row(const struct shop *shop, const struct list_row *row, int64_t now_ms, char *text, size_t size)
{
    char at[LOCAL_TEXT_SIZE];
    const struct piece *piece = shop_piece(shop, row->piece_id);
    bool timed = row->until.likely_at != MOMENT_NONE && row->until.likely_at > now_ms;
    const char *joint = row->list == LIST_NOW ? ", until " : row->list == LIST_NOT_YET ? " " : ", about ";
    return snprintf(text, size, "\n- %s: %s %s%s%s%s", piece ? piece->name : "?", stage_word(row->stage), headings[row->list], timed ? joint : "",
                    timed ? shop_local_text(shop, row->until.likely_at, now_ms, at) : "", row->assumed ? " (assumed air: test first)" : "");
}

/* Whole lines: one that is cut would say another thing. */
void day_list(struct shop *shop, int64_t now_ms, char *text, size_t size)
{
    char line[ROW_TEXT_SIZE];
    unsigned more = 0;
    size_t count, used = strlen(text);
    const struct list_row *rows = shop_lists(shop, now_ms, &count);
    for (size_t i = 0; i < count; i++) {
        if (!is_of_today(&rows[i], now_ms))
            continue;
        size_t length = (size_t)say_row(shop, &rows[i], now_ms, line, sizeof line);
        if (more > 0 || used + length + MORE_TEXT_SIZE > size) {
            more++;
            continue;
        }
        memcpy(text + used, line, length + 1);
        used += length;
    }
    if (more > 0)
        snprintf(text + used, size - used, "\n- and %u more", more);
}

/* As of now, of the day that began with its morning: a start later in the morning finds what one in time would. */
static void count_rows(struct shop *shop, int64_t morning, int64_t now_ms, unsigned ret[LIST_KIND_COUNT])
{
    size_t count;
    const struct list_row *rows = shop_lists(shop, now_ms, &count);
    memset(ret, 0, LIST_KIND_COUNT * sizeof *ret);
    for (size_t i = 0; i < count; i++)
        if (is_of_today(&rows[i], morning))
            ret[rows[i].list]++;
}

/* Whether its list was told, or that of an hour later the same day. */
static bool is_listed(const struct shop *shop, int64_t morning)
{
    for (size_t i = shop->notices.count; i-- > 0;) {
        const struct notice *notice = &shop->notices.item[i];
        if (notice->kind == NOTICE_MORNING && notice->due_at >= morning && notice->due_at < morning + MS_PER_DAY - 2 * MS_PER_H)
            return true;
    }
    return false;
}

/* Those of days that are over, however long ago. */
static enum coat_result take_back_lists(const struct shop *shop, int64_t morning, int64_t now_ms, struct notice_batch *batch)
{
    enum coat_result result = COAT_OK;
    for (size_t i = shop->notices.count; result == COAT_OK && i-- > 0;) {
        const struct notice *notice = &shop->notices.item[i];
        bool stands = notice->withdrawn_at == MOMENT_NONE && notice->acknowledged_at == MOMENT_NONE;
        if (notice->kind == NOTICE_MORNING && stands && notice->due_at < morning && !notice_is_ahead(notice, now_ms))
            result = notice_take_back(notice, now_ms, batch);
    }
    return result;
}

/* Nothing is told on a day on which nothing waits. */
static enum coat_result gather_morning(struct shop *shop, int64_t now_ms, struct notice_batch *batch)
{
    char text[NOTE_SIZE];
    unsigned rows[LIST_KIND_COUNT];
    int64_t morning = last_morning(shop, now_ms);
    if (shop->morning_seen == morning || morning == MOMENT_NONE)
        return COAT_OK;
    enum coat_result result = take_back_lists(shop, morning, now_ms, batch);
    if (result != COAT_OK || now_ms - morning > MORNING_LASTS_MS || is_listed(shop, morning))
        return result;
    count_rows(shop, morning, now_ms, rows);
    if (rows[LIST_NOW] + rows[LIST_NEXT] + rows[LIST_NOT_YET] + rows[LIST_HELD] == 0)
        return COAT_OK;
    snprintf(text, sizeof text, "Today: %u can be done now, %u to come, %u not to be touched, %u held up. %s. The label comes first.", rows[LIST_NOW],
             rows[LIST_NEXT], rows[LIST_NOT_YET], rows[LIST_HELD], caution_text(CAUTION_VENTILATION)->act);
    return raise(shop, NOTICE_MORNING, 0, morning, now_ms, text, batch);
}

enum coat_result notice_gather_day(struct shop *shop, int64_t now_ms, struct notice_batch *batch)
{
    enum coat_result result = gather_leaving(shop, now_ms, batch);
    return result == COAT_OK ? gather_morning(shop, now_ms, batch) : result;
}
