/* What sensors send: judged as it comes, kept in one transaction, and then the model follows. */
#include "daemon/shop/write.h"

#include <math.h>
#include <stdlib.h>

/* ---- what is known of a sensor from the record ---- */

static struct judge_terms terms_of(const struct shop *shop, const struct sensor *sensor)
{
    const struct place *place = shop_place(shop, sensor->place_id);
    bool hot = place != NULL && (place->kind == PLACE_OVEN || place->kind == PLACE_CABINET);
    return (struct judge_terms){.interval_s = sensor->interval_s, .may_be_hot = hot};
}

static void note_said(struct sensor_clock *clock, const struct reading *reading)
{
    const int32_t milli[AIR_QUANTITY_COUNT] = {[AIR_TEMP] = reading->temp_mc, [AIR_RH] = reading->rh_mp};
    if (clock->last_at == MOMENT_NONE || reading->at_ms > clock->last_at)
        clock->last_at = reading->at_ms;
    for (unsigned q = 0; q < AIR_QUANTITY_COUNT; q++) {
        bool newer = clock->said_at[q] == MOMENT_NONE || reading->at_ms >= clock->said_at[q];
        if (milli[q] == READING_NONE || !newer)
            continue;
        clock->milli[q] = milli[q];
        clock->said_at[q] = reading->at_ms;
    }
}

static void note_suspect(struct sensor_clock *clock, int64_t at_ms, enum judgement judgement)
{
    if (clock->suspect_at != MOMENT_NONE && at_ms < clock->suspect_at)
        return;
    clock->suspect_at = at_ms;
    clock->suspect = judgement;
}

struct feeding {
    const struct judge_terms *terms;
    struct sensor_clock *clock;
    const struct reading *good;
    size_t count, next;
};

static void feed_one(const struct feeding *feeding, const struct reading *reading)
{
    struct judged judged;
    judge_reading(&feeding->clock->judge, feeding->terms, reading, reading->at_ms, &judged);
}

static void feed_until(struct feeding *feeding, int64_t at_ms)
{
    for (; feeding->next < feeding->count && feeding->good[feeding->next].at_ms < at_ms; feeding->next++) {
        feed_one(feeding, &feeding->good[feeding->next]);
        note_said(feeding->clock, &feeding->good[feeding->next]);
    }
}

/* What did not count, in its turn among the rest; what of it counted was stored for itself. */
static bool feed_suspect(const struct suspect *suspect, void *context)
{
    struct feeding *feeding = context;
    struct reading reading = {.at_ms = suspect->at, .temp_mc = suspect->temp_mc, .rh_mp = suspect->rh_mp};
    feed_until(feeding, suspect->at);
    if (suspect->at <= suspect->received_at + CHECK_GRACE_MS)
        feed_one(feeding, &reading);
    note_suspect(feeding->clock, suspect->at, suspect->judgement);
    return true;
}

static enum coat_result listen_anew(struct shop *shop, const struct sensor *sensor, struct sensor_clock *clock)
{
    struct reading *readings = NULL;
    size_t capacity = 0, count = 0;
    int64_t last_at = MOMENT_NONE;
    struct judge_terms terms = terms_of(shop, sensor);
    enum coat_result result = store_reading_before(shop->store, sensor->id, INT64_MAX, &last_at);
    int64_t from_ms = last_at == MOMENT_NONE ? 0 : last_at - JUDGE_MEMORY_MS;
    if (result == COAT_OK && last_at != MOMENT_NONE)
        result = store_readings(shop->store, sensor->id, sensor->hold_s, from_ms, last_at + 1, &readings, &capacity, &count);
    struct feeding feeding = {&terms, clock, readings, count, 0};
    if (result == COAT_OK)
        result = store_suspects(shop->store, sensor->id, from_ms, INT64_MAX, feed_suspect, &feeding);
    if (result == COAT_OK)
        feed_until(&feeding, INT64_MAX);
    free(readings);
    return result;
}

void sensor_listen(struct shop *shop, int64_t sensor_id)
{
    const struct sensor *sensor = shop_sensor(shop, sensor_id);
    struct sensor_clock *clock = sensor_clock_of(shop, sensor_id);
    if (sensor == NULL || clock == NULL || clock->judging)
        return;
    clock->judging = listen_anew(shop, sensor, clock) == COAT_OK;
}

/* ---- one delivery ---- */

/* What becomes of each item. */
struct outcome {
    struct sensor_clock *clock;
    const struct sensor *sensor;
    struct reading reading;                     /* what of it counts; both READING_NONE: nothing */
    struct suspect suspect;                     /* what does not; judgement good: none */
    unsigned released;
    struct reading release[JUDGE_PENDING_MAX];
};

struct fresh;
struct run;
struct taking {
    struct shop *shop;
    int64_t now_ms;
    struct outcome *outcome;
    size_t count;
    struct fresh *fresh;                        /* of one sensor, with the order in which it came */
    struct reading *stored;                     /* what is to be stored, the runs one after the other */
    struct run *run;                            /* one a sensor */
    size_t runs;
    struct taken *taken;
};

/* What a sensor brought: t->stored[first] and those after it, in order of time, each moment once. */
struct run {
    int64_t sensor_id;
    size_t first, count;
};

struct fresh {
    struct reading reading;
    size_t order;
};

/* Numbers that no file holds are kept at what it does: they do not count anyway. */
#define MILLI_MOST 2e9
static int32_t milli_of(double value, bool measures)
{
    if (isnan(value) || !measures)
        return READING_NONE;
    return (int32_t)lround(fmax(fmin(value * 1000.0, MILLI_MOST), -MILLI_MOST));
}

static void keep_what_counts(struct outcome *o, const struct judged *judged, int64_t now_ms)
{
    enum judgement temp = judged->verdict[AIR_TEMP], rh = judged->verdict[AIR_RH];
    struct reading told = o->reading;
    o->suspect = (struct suspect){.sensor_id = o->sensor->id, .at = told.at_ms, .received_at = now_ms,
                                  .temp_mc = temp == JUDGE_GOOD ? READING_NONE : told.temp_mc,
                                  .rh_mp = rh == JUDGE_GOOD ? READING_NONE : told.rh_mp,
                                  .judgement = temp != JUDGE_GOOD ? temp : rh};
    if (temp != JUDGE_GOOD)
        o->reading.temp_mc = READING_NONE;
    if (rh != JUDGE_GOOD)
        o->reading.rh_mp = READING_NONE;
    if (o->reading.rh_mp > JUDGE_RH_FULL_MP)
        o->reading.rh_mp = JUDGE_RH_FULL_MP;
    o->released = judged->released;
    memcpy(o->release, judged->release, sizeof o->release);
}

static bool says_something(const struct reading *reading)
{
    return reading->temp_mc != READING_NONE || reading->rh_mp != READING_NONE;
}

static bool same_values(const struct reading *a, const struct reading *b)
{
    return a->temp_mc == b->temp_mc && a->rh_mp == b->rh_mp;
}

/* What the sensor has in the record at that moment; false where it has nothing. */
static enum coat_result stored_at(struct shop *shop, int64_t sensor_id, int64_t at_ms, struct reading *ret, bool *ret_found)
{
    struct reading *readings = NULL;
    size_t capacity = 0, count = 0;
    enum coat_result result = store_readings(shop->store, sensor_id, 0, at_ms, at_ms + 1, &readings, &capacity, &count);
    *ret_found = result == COAT_OK && count > 0;
    if (*ret_found)
        *ret = readings[0];
    free(readings);
    return result;
}

static bool keep_suspect(const struct suspect *suspect, void *context)
{
    *(struct suspect *)context = *suspect;
    return false;
}

/* The suspect of that moment; judgement good: there is none. */
static enum coat_result suspect_at(struct shop *shop, int64_t sensor_id, int64_t at_ms, struct suspect *ret)
{
    *ret = (struct suspect){.judgement = JUDGE_GOOD, .temp_mc = READING_NONE, .rh_mp = READING_NONE};
    return store_suspects(shop->store, sensor_id, at_ms, at_ms + 1, keep_suspect, ret);
}

/* Only what is not newer than the last can be a repetition: of what counted, of what did not, or of a reading that did in part. */
static enum coat_result is_repeated(struct shop *shop, const struct outcome *o, bool *ret)
{
    struct reading stored = {.temp_mc = READING_NONE, .rh_mp = READING_NONE};
    struct suspect suspect;
    int64_t at_ms = o->reading.at_ms;
    bool newer = (o->clock->last_at == MOMENT_NONE || at_ms > o->clock->last_at) &&
                 (o->clock->suspect_at == MOMENT_NONE || at_ms > o->clock->suspect_at);
    bool found;
    *ret = false;
    if (newer)
        return COAT_OK;
    enum coat_result result = stored_at(shop, o->sensor->id, at_ms, &stored, &found);
    if (result == COAT_OK)
        result = suspect_at(shop, o->sensor->id, at_ms, &suspect);
    if (result != COAT_OK)
        return result;
    stored.temp_mc = suspect.temp_mc != READING_NONE ? suspect.temp_mc : stored.temp_mc;
    stored.rh_mp = suspect.rh_mp != READING_NONE ? suspect.rh_mp : stored.rh_mp;
    *ret = (found || suspect.judgement != JUDGE_GOOD) && same_values(&stored, &o->reading);
    return COAT_OK;
}

static enum coat_result judge_item(struct taking *t, const struct sensor_reading *item, struct outcome *o)
{
    struct judged judged;
    bool repeated;
    *o = (struct outcome){.clock = sensor_clock_of(t->shop, item->sensor_id), .sensor = shop_sensor(t->shop, item->sensor_id)};
    o->suspect.judgement = JUDGE_GOOD;
    o->reading = (struct reading){
        .at_ms = item->at_ms == MOMENT_NONE ? t->now_ms : item->at_ms,
        .temp_mc = milli_of(item->temp_c, o->sensor->measures[AIR_TEMP]),
        .rh_mp = milli_of(item->rh_pct, o->sensor->measures[AIR_RH]),
        .hold_s = o->sensor->hold_s,
    };
    if (!says_something(&o->reading))
        return COAT_OK;
    enum coat_result result = is_repeated(t->shop, o, &repeated);
    if (result != COAT_OK || repeated) {
        t->taken->repeated += repeated;
        o->reading.temp_mc = o->reading.rh_mp = READING_NONE;
        return result;
    }
    struct judge_terms terms = terms_of(t->shop, o->sensor);
    judge_reading(&o->clock->judge, &terms, &o->reading, t->now_ms, &judged);
    keep_what_counts(o, &judged, t->now_ms);
    return COAT_OK;
}

/* The other quantity of that moment may have counted at once. */
static enum coat_result add_stored(struct shop *shop, int64_t sensor_id, struct reading *reading)
{
    struct reading stored;
    bool found;
    enum coat_result result = stored_at(shop, sensor_id, reading->at_ms, &stored, &found);
    if (!found)
        return result;
    if (reading->temp_mc == READING_NONE)
        reading->temp_mc = stored.temp_mc;
    if (reading->rh_mp == READING_NONE)
        reading->rh_mp = stored.rh_mp;
    return result;
}

static int by_moment(const void *a, const void *b)
{
    const struct fresh *one = a, *other = b;
    if (one->reading.at_ms != other->reading.at_ms)
        return one->reading.at_ms < other->reading.at_ms ? -1 : 1;
    return (one->order > other->order) - (one->order < other->order);
}

/* What was told later of the same moment counts, in what it tells. */
static size_t keep_each_moment_once(const struct fresh *fresh, size_t count, struct reading *ret)
{
    size_t kept = 0;
    for (size_t i = 0; i < count; i++) {
        struct reading next = fresh[i].reading;
        if (kept > 0 && ret[kept - 1].at_ms == next.at_ms) {
            kept--;
            next.temp_mc = next.temp_mc == READING_NONE ? ret[kept].temp_mc : next.temp_mc;
            next.rh_mp = next.rh_mp == READING_NONE ? ret[kept].rh_mp : next.rh_mp;
        }
        ret[kept++] = next;
    }
    return kept;
}

static void add_fresh(struct taking *t, size_t *io_count, const struct reading *reading, int32_t hold_s)
{
    t->fresh[*io_count] = (struct fresh){*reading, *io_count};
    t->fresh[*io_count].reading.hold_s = hold_s;
    ++*io_count;
}

/* All of one sensor that is to be stored. */
static enum coat_result gather_run(struct taking *t, struct run *run)
{
    size_t n = 0;
    enum coat_result result = COAT_OK;
    for (size_t i = 0; result == COAT_OK && i < t->count; i++) {
        struct outcome *o = &t->outcome[i];
        if (o->sensor->id != run->sensor_id)
            continue;
        for (unsigned k = 0; result == COAT_OK && k < o->released; k++) {
            add_fresh(t, &n, &o->release[k], o->sensor->hold_s);
            result = add_stored(t->shop, run->sensor_id, &t->fresh[n - 1].reading);
        }
        if (says_something(&o->reading))
            add_fresh(t, &n, &o->reading, o->sensor->hold_s);
    }
    qsort(t->fresh, n, sizeof *t->fresh, by_moment);
    run->count = keep_each_moment_once(t->fresh, n, t->stored + run->first);
    return result;
}

static bool has_run(const struct taking *t, int64_t sensor_id)
{
    for (size_t i = 0; i < t->runs; i++)
        if (t->run[i].sensor_id == sensor_id)
            return true;
    return false;
}

static enum coat_result gather_runs(struct taking *t)
{
    size_t first = 0;
    enum coat_result result = COAT_OK;
    for (size_t i = 0; result == COAT_OK && i < t->count; i++) {
        int64_t sensor_id = t->outcome[i].sensor->id;
        if (has_run(t, sensor_id))
            continue;
        struct run *run = &t->run[t->runs++];
        *run = (struct run){sensor_id, first, 0};
        result = gather_run(t, run);
        first += run->count;
    }
    return result;
}

/* What is believed after all is no suspect any more; the other quantity of that moment may still be one. */
static enum coat_result release_suspect(struct shop *shop, int64_t sensor_id, const struct reading *released)
{
    struct suspect suspect;
    enum coat_result result = suspect_at(shop, sensor_id, released->at_ms, &suspect);
    if (result != COAT_OK || suspect.judgement == JUDGE_GOOD)
        return result;
    if (released->temp_mc != READING_NONE)
        suspect.temp_mc = READING_NONE;
    if (released->rh_mp != READING_NONE)
        suspect.rh_mp = READING_NONE;
    if (suspect.temp_mc == READING_NONE && suspect.rh_mp == READING_NONE)
        return store_suspect_drop(shop->store, sensor_id, released->at_ms);
    return store_suspect_put(shop->store, &suspect);
}

static enum coat_result store_suspects_of(struct taking *t, const struct outcome *o)
{
    enum coat_result result = COAT_OK;
    if (o->suspect.judgement != JUDGE_GOOD)
        result = store_suspect_put(t->shop->store, &o->suspect);
    for (unsigned k = 0; result == COAT_OK && k < o->released; k++)
        result = release_suspect(t->shop, o->sensor->id, &o->release[k]);
    return result;
}

/* ---- how often it speaks ---- */

/* Where nobody told, from its last gaps: the middle one, so that an outage does not count. */
#define GAPS_LOOKED_AT 12
static int by_size(const void *a, const void *b)
{
    const int64_t one = *(const int64_t *)a, other = *(const int64_t *)b;
    return (one > other) - (one < other);
}

static enum coat_result learn_hold(struct taking *t, const struct sensor *sensor, int32_t *ret_hold_s)
{
    struct reading *readings = NULL;
    size_t capacity = 0, count = 0, n = 0;
    int64_t gap[GAPS_LOOKED_AT], newest = sensor_clock_of(t->shop, sensor->id)->last_at;
    *ret_hold_s = sensor->hold_s;
    if (sensor->interval_s > 0 || newest == MOMENT_NONE || (sensor->kind != SENSOR_MQTT && sensor->kind != SENSOR_PUSH))
        return COAT_OK;
    enum coat_result result = store_readings(t->shop->store, sensor->id, 0, newest - MS_PER_DAY, newest + 1, &readings, &capacity, &count);
    for (size_t i = count; result == COAT_OK && i > 1 && n < GAPS_LOOKED_AT; i--)
        gap[n++] = readings[i - 1].at_ms - readings[i - 2].at_ms;
    free(readings);
    if (n < GAPS_LOOKED_AT)
        return result;
    qsort(gap, n, sizeof *gap, by_size);
    int32_t hold_s = sensor_hold_s((int32_t)(gap[n / 2] / MS_PER_S < 86400 ? gap[n / 2] / MS_PER_S : 86400));
    if (hold_s > sensor->hold_s || hold_s < sensor->hold_s / 2)
        *ret_hold_s = hold_s;
    return result;
}

/* ---- the transaction ---- */

static enum coat_result store_all(struct taking *t)
{
    enum coat_result result = COAT_OK;
    for (size_t i = 0; result == COAT_OK && i < t->count; i++)
        result = store_suspects_of(t, &t->outcome[i]);
    if (result == COAT_OK)
        result = gather_runs(t);
    for (size_t i = 0; result == COAT_OK && i < t->runs; i++) {
        result = store_reading_put(t->shop->store, t->run[i].sensor_id, t->stored + t->run[i].first, t->run[i].count);
        t->taken->counted += t->run[i].count;
    }
    return result;
}

static enum coat_result record(struct taking *t, const struct shop_write *write, struct coat_error *error)
{
    enum coat_result result = write_begin(t->shop, error);
    if (result != COAT_OK)
        return result;
    result = store_all(t);
    if (result != COAT_OK)
        return write_undone(t->shop, result, error);
    return write_commit(t->shop, write, NULL, 0, error);
}

static void note_all(struct taking *t)
{
    for (size_t i = 0; i < t->count; i++) {
        struct outcome *o = &t->outcome[i];
        if (says_something(&o->reading))
            note_said(o->clock, &o->reading);
        for (unsigned k = 0; k < o->released; k++)
            note_said(o->clock, &o->release[k]);
        if (o->released > 0)
            o->clock->suspect_at = MOMENT_NONE;
        if (o->suspect.judgement == JUDGE_GOOD)
            continue;
        note_suspect(o->clock, o->suspect.at, o->suspect.judgement);
        t->taken->suspect++;
        t->taken->last_judgement = o->suspect.judgement;
    }
}

static enum coat_result record_hold(struct shop *shop, const struct sensor *changed)
{
    enum coat_result result = store_begin(shop->store);
    if (result != COAT_OK)
        return result;
    result = store_sensor_put(shop->store, changed, true);
    if (result == COAT_OK)
        result = store_revision_bump(shop->store, &(int64_t){0});
    if (result == COAT_OK)
        result = store_commit(shop->store);
    if (result != COAT_OK)
        store_rollback(shop->store);
    return result;
}

/* A sensor that speaks more seldom than was thought: its air holds longer, also that of the past. The readings are recorded by now: where this cannot be, it is
 * learned with the next one. */
static enum coat_result follow_hold(struct taking *t, int64_t sensor_id)
{
    struct sensor changed = *shop_sensor(t->shop, sensor_id);
    int32_t hold_s;
    enum coat_result result = learn_hold(t, &changed, &hold_s);
    if (result != COAT_OK || hold_s == changed.hold_s)
        return result;
    changed.hold_s = hold_s;
    if (record_hold(t->shop, &changed) != COAT_OK)
        return COAT_OK;
    (void)sensors_put(t->shop, &changed);
    return model_sensors_changed(t->shop, changed.place_id, 0);
}

static enum coat_result follow(struct taking *t)
{
    enum coat_result result = COAT_OK;
    for (size_t i = 0; result == COAT_OK && i < t->runs; i++)
        if (t->run[i].count > 0)
            result = model_air_added(t->shop, t->run[i].sensor_id, t->stored + t->run[i].first, t->run[i].count);
    for (size_t i = 0; result == COAT_OK && i < t->runs; i++)
        result = follow_hold(t, t->run[i].sensor_id);
    return result;
}

/* The judges heard what was never kept: they hear the record again. */
static void listen_again(struct taking *t, const struct sensor_reading *items)
{
    for (size_t i = 0; i < t->count; i++) {
        struct sensor_clock *clock = sensor_clock_of(t->shop, items[i].sensor_id);
        clock->judge = (struct judge){0};
        clock->judging = false;
    }
}

static enum coat_result check_items(const struct shop *shop, const struct sensor_reading *items, size_t count, struct coat_error *error)
{
    enum coat_result result = check_reading_count(count, error);
    if (result != COAT_OK)
        return result;
    for (size_t i = 0; i < count; i++) {
        const struct sensor *sensor = shop_sensor(shop, items[i].sensor_id);
        if (sensor == NULL || sensor->removed_at != MOMENT_NONE)
            return coat_fail(error, COAT_NOT_FOUND, "sensor", "there is no sensor %lld in use", (long long)items[i].sensor_id);
    }
    return COAT_OK;
}

static bool has_news(const struct taking *t)
{
    for (size_t i = 0; i < t->count; i++)
        if (says_something(&t->outcome[i].reading) || t->outcome[i].suspect.judgement != JUDGE_GOOD || t->outcome[i].released > 0)
            return true;
    return false;
}

static enum coat_result take_all(struct taking *t, const struct shop_write *write, const struct sensor_reading *items, struct coat_error *error)
{
    const struct shop_write plain = {.now_ms = t->now_ms, .status = 200};
    enum coat_result result = COAT_OK;
    for (size_t i = 0; i < t->count; i++)
        sensor_listen(t->shop, items[i].sensor_id);
    for (size_t i = 0; result == COAT_OK && i < t->count; i++)
        result = judge_item(t, &items[i], &t->outcome[i]);
    if (result == COAT_OK && !has_news(t) && write == NULL)
        return COAT_OK;
    if (result != COAT_OK)
        result = write_failed(result, error);
    else
        result = record(t, write != NULL ? write : &plain, error);
    if (result != COAT_OK) {
        listen_again(t, items);
        return result;
    }
    note_all(t);
    return write_settle(t->shop, &plain, follow(t), error);
}

enum coat_result shop_take_readings(struct shop *shop, const struct shop_write *write, int64_t now_ms, const struct sensor_reading *items,
                                    size_t count, struct taken *ret, struct coat_error *error)
{
    struct taking t = {.shop = shop, .now_ms = now_ms, .count = count, .taken = ret};
    *ret = (struct taken){.last_judgement = JUDGE_GOOD};
    enum coat_result result = check_items(shop, items, count, error);
    if (result != COAT_OK)
        return result;
    t.outcome = calloc(count, sizeof *t.outcome);
    t.fresh = calloc(count * (JUDGE_PENDING_MAX + 1), sizeof *t.fresh);
    t.stored = calloc(count * (JUDGE_PENDING_MAX + 1), sizeof *t.stored);
    t.run = calloc(count, sizeof *t.run);
    if (t.outcome == NULL || t.fresh == NULL || t.stored == NULL || t.run == NULL)
        result = write_failed(COAT_NO_MEMORY, error);
    else
        result = take_all(&t, write, items, error);
    free(t.outcome);
    free(t.fresh);
    free(t.stored);
    free(t.run);
    return result;
}
