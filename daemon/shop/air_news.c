/* What is told of the air itself: that a place has fallen silent, that a sensor says nothing usable, that two of them disagree. Only of places with
 * a sensor of their own: who enters air by hand knows when. */
#include "daemon/shop/notice.h"
#include "daemon/shop/sensor_view.h"

#include <stdio.h>
#include <string.h>

#define FAULT_SIZE 301 /* leaves room for what stands around it */

struct gathering {
    struct shop *shop;
    int64_t at_ms, now_ms;
    struct notice_batch *batch;
};

/* What a notice is about, and the record's number (index + 1) of the newest of its kind. */
struct subject {
    enum notice_kind kind;
    int64_t place_id, sensor_id;
    size_t number;
};

/* The newest notice of a subject as it will be once the batch is stored. */
static const struct notice *newest_of(const struct gathering *g, const struct subject *subject)
{
    for (size_t i = g->batch->count; i-- > 0;) {
        const struct notice *notice = &g->batch->item[i];
        bool same = notice->kind == subject->kind && notice->place_id == subject->place_id && notice->sensor_id == subject->sensor_id;
        if (same && notice->coat_id == 0 && notice->mix_id == 0)
            return notice;
    }
    return subject->number > 0 ? &g->shop->notices.item[subject->number - 1] : NULL;
}

static bool stands(const struct notice *notice)
{
    return notice != NULL && notice->withdrawn_at == MOMENT_NONE;
}

static enum coat_result raise(const struct gathering *g, const struct subject *subject, int64_t due_at, const char *text)
{
    const struct notice *newest = newest_of(g, subject);
    struct notice notice = {
        .kind = subject->kind,
        .place_id = subject->place_id,
        .sensor_id = subject->sensor_id,
        .turn = newest != NULL ? newest->turn + 1 : 1,
        .due_at = due_at,
        .until_at = MOMENT_NONE,
        .assumed = subject->kind == NOTICE_AIR_UNKNOWN,
        .raised_at = g->now_ms,
        .withdrawn_at = MOMENT_NONE,
        .acknowledged_at = MOMENT_NONE,
        .told_at = MOMENT_NONE,
    };
    snprintf(notice.text, sizeof notice.text, "%s", text);
    return notice_batch_add(g->batch, &notice) ? COAT_OK : COAT_NO_MEMORY;
}

/* Raised once each time that it begins, at due_at; taken back when it is over. */
static enum coat_result settle(const struct gathering *g, const struct subject *subject, bool is_so, int64_t due_at, const char *text)
{
    const struct notice *newest = newest_of(g, subject);
    if (newest && notice_is_ahead(newest, g->at_ms))
        return COAT_OK;
    if (!is_so)
        return stands(newest) ? notice_take_back(newest, g->now_ms, g->batch) : COAT_OK;
    if (stands(newest))
        return COAT_OK;
    return raise(g, subject, due_at, text);
}

/* ---- a place that has fallen silent ---- */

static bool is_asked(const struct sensor *sensor)
{
    return sensor->removed_at == MOMENT_NONE && sensor->kind != SENSOR_BY_HAND && sensor->kind != SENSOR_IMPORT;
}

static bool has_sensor(const struct shop *shop, int64_t place_id)
{
    for (size_t i = 0; i < shop->sensors.count; i++)
        if (shop->sensors.item[i].place_id == place_id && is_asked(&shop->sensors.item[i]))
            return true;
    return false;
}

/* Whether some time still hangs on its air. */
static bool is_waited_for(const struct place_air *air)
{
    for (size_t i = 0; i < air->ledgers; i++)
        if (air->ledger[i]->kind == LEDGER_LAW && air->ledger[i]->marks > 0)
            return true;
    return false;
}

static enum coat_result gather_place(const struct gathering *g, size_t index)
{
    const struct place *place = &g->shop->places.item[index];
    const struct place_air *air = shop_air_of(g->shop, place->id);
    struct subject subject = {.kind = NOTICE_AIR_UNKNOWN, .place_id = place->id, .number = g->shop->place_notices.item[index]};
    int64_t hold_end = place_air_hold_end(air);
    bool known = air->place_id == place->id && hold_end != MOMENT_NONE && place->removed_at == MOMENT_NONE;
    bool silent = known && hold_end <= g->at_ms && has_sensor(g->shop, place->id) && is_waited_for(air);
    char text[NOTE_SIZE];
    if (!silent)
        return settle(g, &subject, false, MOMENT_NONE, "");
    long long minutes = (long long)((g->at_ms - air->last_at) / MS_PER_MIN);
    snprintf(text, sizeof text, "%s: no reading for %lld min; times are on assumed air, so test first. See to the sensor, or enter the air by hand.",
             place->name, minutes);
    return settle(g, &subject, true, hold_end, text);
}

/* ---- a sensor that says nothing usable ---- */

static const char *const doubts[JUDGEMENT_COUNT] = {
    [JUDGE_GOOD] = "",
    [JUDGE_IMPLAUSIBLE] = "what it says no air of a shop can be",
    [JUDGE_WRONG_UNIT] = "it seems to speak in another unit than it did",
    [JUDGE_SPIKE] = "it jumps as no air does",
    [JUDGE_STUCK] = "it has said the very same for too long",
    [JUDGE_FAULT_VALUE] = "it says what sensors say when they fail",
    [JUDGE_FUTURE] = "its clock is ahead",
    [JUDGE_CLOCK] = "its clock is not set",
};

/* A doubt is told once it has lasted for the sensor's hold: then its air is assumed, or another sensor's. */
static bool lasts(const struct sensor *sensor, const struct sensor_clock *clock)
{
    if (clock->suspect_at == MOMENT_NONE)
        return false;
    return clock->last_at == MOMENT_NONE || clock->suspect_at >= clock->last_at + sensor->hold_s * MS_PER_S;
}

static enum coat_result gather_sensor(const struct gathering *g, size_t index)
{
    const struct sensor *sensor = &g->shop->sensors.item[index];
    const struct sensor_clock *clock = sensor_clock_of(g->shop, sensor->id);
    struct subject subject = {.kind = NOTICE_SENSOR_FAULT, .sensor_id = sensor->id, .number = clock->notice[SENSOR_NEWS_FAULT]};
    bool in_use = is_asked(sensor), fault = clock->fault[0] != '\0', doubt = lasts(sensor, clock);
    char text[NOTE_SIZE], why[FAULT_SIZE];
    const char *said = fault ? clock->fault : doubts[clock->suspect];
    notice_cut(said, strlen(said), why, sizeof why);
    snprintf(text, sizeof text, "%s: %s. Another sensor of its place counts, or else assumed air.", sensor->name, why);
    return settle(g, &subject, in_use && (fault || doubt), fault ? clock->fault_at : clock->suspect_at, text);
}

/* ---- two that disagree ---- */

static enum coat_result gather_pair(const struct gathering *g, const struct sensor *a, const struct sensor *b)
{
    struct sensor_clock *clock = sensor_clock_of(g->shop, b->id);
    enum air_quantity quantity;
    struct subject subject = {.kind = NOTICE_SENSORS_DISAGREE, .sensor_id = b->id, .number = clock->notice[SENSOR_NEWS_DISAGREE]};
    bool disagree = sensors_disagree_lasting(g->shop, a, b, g->at_ms, &quantity);
    char text[NOTE_SIZE];
    snprintf(text, sizeof text, "%s and %s of the same place have differed in %s for an hour. Try both against a salt test or a better instrument.",
             a->name, b->name, disagree ? air_quantity_word(quantity) : "");
    return settle(g, &subject, disagree, g->at_ms, text);
}

/* Each against the first of its place, which counts. */
static enum coat_result gather_disagreement(const struct gathering *g, size_t index)
{
    const struct sensor *b = &g->shop->sensors.item[index];
    for (size_t i = 0; i < index; i++) {
        const struct sensor *a = &g->shop->sensors.item[i];
        if (a->place_id == b->place_id && is_asked(a) && is_asked(b))
            return gather_pair(g, a, b);
    }
    return COAT_OK;
}

/* ---- all of it ---- */

void air_notice_tie(struct shop *shop, size_t number)
{
    const struct notice *notice = &shop->notices.item[number - 1];
    struct sensor_clock *clock = notice->sensor_id != 0 ? sensor_clock_of(shop, notice->sensor_id) : NULL;
    if (clock != NULL)
        clock->notice[notice->kind == NOTICE_SENSORS_DISAGREE ? SENSOR_NEWS_DISAGREE : SENSOR_NEWS_FAULT] = number;
    for (size_t i = 0; notice->kind == NOTICE_AIR_UNKNOWN && i < shop->place_notices.count; i++)
        if (shop->places.item[i].id == notice->place_id)
            shop->place_notices.item[i] = number;
}

enum coat_result notice_gather_air(struct shop *shop, int64_t at_ms, int64_t now_ms, struct notice_batch *batch, bool *changed)
{
    struct gathering g = {shop, at_ms, now_ms, batch};
    enum coat_result result = COAT_OK;
    for (size_t i = 0; result == COAT_OK && i < shop->places.count; i++)
        result = gather_place(&g, i);
    for (size_t i = 0; result == COAT_OK && i < shop->sensors.count; i++) {
        struct sensor_clock *clock = sensor_clock_of(shop, shop->sensors.item[i].id);
        *changed |= clock->news;
        clock->news = false;
        result = gather_sensor(&g, i);
        if (result == COAT_OK)
            result = gather_disagreement(&g, i);
    }
    return result;
}
