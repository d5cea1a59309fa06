/* Sensors and what is told of them: adjustments, readings that do not count; and when places were heated. */
#include "daemon/store/internal.h"

#include <stdio.h>
#include <string.h>

#define NO_WORDS 0

/* Written out, since two of its members are pairs, one of each quantity. */
#define SENSOR_COLUMN(kind, column, member, words) \
    {":" column, COLUMN_##kind, (enum word_list)(words), offsetof(struct sensor, member), sizeof(((struct sensor *)0)->member)}
#define SENSOR(X)                                                                                          \
    X(INT, "place_id", place_id, NO_WORDS) X(TEXT, "name", name, NO_WORDS) X(WORD, "kind", kind, WORDS_sensor_kind) \
    X(INT, "position", position, NO_WORDS) X(INT, "interval_s", interval_s, NO_WORDS)                       \
    X(INT, "hold_s", hold_s, NO_WORDS) X(FLAG, "measures_temp", measures[AIR_TEMP], NO_WORDS)               \
    X(FLAG, "measures_rh", measures[AIR_RH], NO_WORDS) X(TEXT, "source", source, NO_WORDS)                  \
    X(TEXT, "temp_pointer", pointer[AIR_TEMP], NO_WORDS) X(TEXT, "rh_pointer", pointer[AIR_RH], NO_WORDS)   \
    X(WORD, "temp_scale", temp_scale, WORDS_temp_scale) X(WORD, "rh_scale", rh_scale, WORDS_rh_scale)       \
    X(TEXT, "user", user, NO_WORDS) X(TEXT, "secret", secret, NO_WORDS) X(TEXT, "ca_file", ca_file, NO_WORDS) \
    X(MOMENT, "added_at", added_at, NO_WORDS) X(MOMENT, "removed_at", removed_at, NO_WORDS)
#define SENSOR_ENTRY(kind, column, member, words) SENSOR_COLUMN(kind, column, member, words),
#define SENSOR_NAME(kind, column, member, words) ", \"" column "\""
#define SENSOR_PARAMETER(kind, column, member, words) ", :" column
#define SENSOR_SET(kind, column, member, words) ", \"" column "\" = :" column

#define ADJUSTMENT(X)                                                                                      \
    X(adjustment, INT, sensor_id, NO_WORDS) X(adjustment, WORD, quantity, WORDS_air_quantity)               \
    X(adjustment, REAL, reads, NO_WORDS) X(adjustment, REAL, should, NO_WORDS)                              \
    X(adjustment, REAL, offset, NO_WORDS) X(adjustment, INT, from_at, NO_WORDS)                             \
    X(adjustment, INT, entered_at, NO_WORDS)

#define HEATING(X)                                                                                         \
    X(heating, INT, place_id, NO_WORDS) X(heating, INT, from_at, NO_WORDS)                                  \
    X(heating, INT, until_at, NO_WORDS) X(heating, INT, entered_at, NO_WORDS)

#define SUSPECT(X)                                                                                         \
    X(suspect, INT, at, NO_WORDS) X(suspect, INT, received_at, NO_WORDS) X(suspect, MILLI, temp_mc, NO_WORDS) \
    X(suspect, MILLI, rh_mp, NO_WORDS) X(suspect, WORD, judgement, WORDS_judgement)

static const struct column sensor_columns[] = {COLUMN_ID(sensor) SENSOR(SENSOR_ENTRY)};
static const struct column adjustment_columns[] = {COLUMN_ID(adjustment) ADJUSTMENT(COLUMN_ENTRY)};
static const struct column heating_columns[] = {COLUMN_ID(heating) HEATING(COLUMN_ENTRY)};
static const struct column suspect_columns[] = {
    {":sensor_id", COLUMN_INT, 0, offsetof(struct suspect, sensor_id), sizeof(int64_t)}, SUSPECT(COLUMN_ENTRY)};

static const struct record sensor_record = RECORD_OF(sensor_columns);
static const struct record adjustment_record = RECORD_OF(adjustment_columns);
static const struct record heating_record = RECORD_OF(heating_columns);
static const struct record suspect_record = RECORD_OF(suspect_columns);

#define FACT_ADD(table, LIST) "INSERT INTO " table " (id" LIST(COLUMN_NAME) ") VALUES (:id" LIST(COLUMN_PARAMETER) ")"

const struct statement_text sensor_statements[] = {
    {SENSOR_FOR_HAND, "SELECT id" SENSOR(SENSOR_NAME) " FROM sensor WHERE place_id = :place_id AND kind = 'by-hand'"},
    {SENSOR_ADD, "INSERT INTO sensor (id, name_key, finished" SENSOR(SENSOR_NAME) ")"
                 " VALUES (:id, :name_key, :finished" SENSOR(SENSOR_PARAMETER) ")"},
    {SENSOR_PUT, "UPDATE sensor SET name_key = :name_key, finished = :finished" SENSOR(SENSOR_SET) " WHERE id = :id"},
    {SENSOR_LIST, "SELECT finished, id" SENSOR(SENSOR_NAME) " FROM sensor ORDER BY place_id, kind = 'by-hand', position, id"},
    {SENSOR_DROP, "DELETE FROM sensor WHERE id = :id AND finished = 0"},
    {ADJUSTMENT_ADD, FACT_ADD("adjustment", ADJUSTMENT)},
    {ADJUSTMENT_LIST, "SELECT id" ADJUSTMENT(COLUMN_NAME) " FROM adjustment ORDER BY sensor_id, quantity, from_at, id"},
    {HEATING_ADD, FACT_ADD("heating", HEATING)},
    {HEATING_LIST, "SELECT id" HEATING(COLUMN_NAME) " FROM heating ORDER BY id"},
    {SUSPECT_PUT, "INSERT OR REPLACE INTO suspect (sensor_id" SUSPECT(COLUMN_NAME) ") VALUES (:sensor_id" SUSPECT(COLUMN_PARAMETER) ")"},
    {SUSPECT_DROP, "DELETE FROM suspect WHERE sensor_id = :sensor_id AND at = :at"},
    {SUSPECT_LIST, "SELECT sensor_id" SUSPECT(COLUMN_NAME) " FROM suspect"
                   " WHERE sensor_id = :sensor_id AND at >= :from_ms AND at < :to_ms ORDER BY at"},
    {0, NULL},
};

/* ---- sensors ---- */

enum coat_result store_sensor_by_hand(struct store *store, int64_t place_id, struct sensor *ret)
{
    assert(store->in_transaction);
    struct statement *s = statement_use(store, SENSOR_FOR_HAND);
    struct sensor found = {0};
    bind_int(s, ":place_id", place_id);
    bool there = statement_row(s) && take_record(s, &sensor_record, &found);
    enum coat_result result = statement_end(s);
    if (result == COAT_OK && !there) {
        found = (struct sensor){
            .place_id = place_id, .kind = SENSOR_BY_HAND, .hold_s = READING_HOLD_BY_HAND_S,
            .measures = {true, true}, .added_at = MOMENT_NONE, .removed_at = MOMENT_NONE,
        };
        snprintf(found.name, sizeof found.name, "by hand");
        result = store_sensor_add(store, &found, true, &found.id);
    }
    if (result == COAT_OK)
        *ret = found;
    return result;
}

static struct statement *bind_sensor(struct store *store, enum statement_id id, const struct sensor *sensor, bool finished)
{
    struct statement *s = statement_use(store, id);
    bind_record(s, &sensor_record, sensor);
    bind_name_key(s, sensor->name);
    bind_int(s, ":finished", finished);
    return s;
}

enum coat_result store_sensor_add(struct store *store, const struct sensor *sensor, bool finished, int64_t *ret_id)
{
    assert(store->in_transaction);
    struct sensor added = *sensor;
    added.id = 0;
    return statement_run_add(bind_sensor(store, SENSOR_ADD, &added, finished), ret_id);
}

enum coat_result store_sensor_put(struct store *store, const struct sensor *sensor, bool finished)
{
    assert(store->in_transaction);
    return statement_run_on_row(bind_sensor(store, SENSOR_PUT, sensor, finished));
}

enum coat_result store_sensors(struct store *store, bool (*each)(const struct sensor *, bool finished, void *), void *context)
{
    struct statement *s = statement_use(store, SENSOR_LIST);
    struct sensor sensor;
    while (statement_row(s)) {
        bool finished = take_int(s) != 0;
        if (!take_record(s, &sensor_record, &sensor) || !each(&sensor, finished, context))
            break;
    }
    return statement_end(s);
}

static enum coat_result run_for_sensor(struct store *store, enum statement_id id, const char *parameter, int64_t sensor_id)
{
    struct statement *s = statement_use(store, id);
    bind_int(s, parameter, sensor_id);
    return statement_run(s);
}

enum coat_result store_sensor_drop(struct store *store, int64_t sensor_id)
{
    assert(store->in_transaction);
    enum coat_result result = run_for_sensor(store, READING_CLEAR, ":sensor_id", sensor_id);
    if (result == COAT_OK)
        result = run_for_sensor(store, DAY_CLEAR, ":sensor_id", sensor_id);
    if (result == COAT_OK)
        result = run_for_sensor(store, SENSOR_DROP, ":id", sensor_id);
    memset(store->open_day, 0, sizeof store->open_day);
    return result;
}

/* ---- what is told of them ---- */

enum coat_result store_adjustment_add(struct store *store, const struct adjustment *adjustment, int64_t *ret_id)
{
    return add_record(store, ADJUSTMENT_ADD, &adjustment_record, adjustment, ret_id);
}

enum coat_result store_adjustments(struct store *store, bool (*each)(const struct adjustment *, void *), void *context)
{
    struct statement *s = statement_use(store, ADJUSTMENT_LIST);
    struct adjustment adjustment;
    while (statement_row(s) && take_record(s, &adjustment_record, &adjustment) && each(&adjustment, context))
        ;
    return statement_end(s);
}

enum coat_result store_heating_add(struct store *store, const struct heating *heating, int64_t *ret_id)
{
    return add_record(store, HEATING_ADD, &heating_record, heating, ret_id);
}

enum coat_result store_heatings(struct store *store, bool (*each)(const struct heating *, void *), void *context)
{
    struct statement *s = statement_use(store, HEATING_LIST);
    struct heating heating;
    while (statement_row(s) && take_record(s, &heating_record, &heating) && each(&heating, context))
        ;
    return statement_end(s);
}

enum coat_result store_suspect_put(struct store *store, const struct suspect *suspect)
{
    assert(store->in_transaction);
    struct statement *s = statement_use(store, SUSPECT_PUT);
    bind_record(s, &suspect_record, suspect);
    return statement_run(s);
}

enum coat_result store_suspect_drop(struct store *store, int64_t sensor_id, int64_t at)
{
    assert(store->in_transaction);
    struct statement *s = statement_use(store, SUSPECT_DROP);
    bind_int(s, ":sensor_id", sensor_id);
    bind_int(s, ":at", at);
    return statement_run(s);
}

enum coat_result store_suspects(struct store *store, int64_t sensor_id, int64_t from_ms, int64_t to_ms,
                                bool (*each)(const struct suspect *, void *), void *context)
{
    struct statement *s = statement_use(store, SUSPECT_LIST);
    struct suspect suspect;
    bind_int(s, ":sensor_id", sensor_id);
    bind_int(s, ":from_ms", from_ms);
    bind_int(s, ":to_ms", to_ms);
    while (statement_row(s) && take_record(s, &suspect_record, &suspect) && each(&suspect, context))
        ;
    return statement_end(s);
}
