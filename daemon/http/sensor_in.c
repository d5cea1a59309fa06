#include "daemon/http/sensor_in.h"

#include "coat/sense.h"

#include <stdio.h>
#include <string.h>

#define POSITION_MOST 1000
#define BEHIND_THE_OTHERS (-1)
#define INTERVAL_MOST_S 86400
#define COMMAND_WORDS_MOST 32

/* ---- what each kind is told ---- */

enum { SOURCE = 1, COMMAND = 2, POINTERS = 4, SCALES = 8, INTERVAL = 16, MEASURES = 32, BROKER = 64, TOKEN = 128 };

static const unsigned taken_by[] = {
    [SENSOR_BY_HAND] = 0,
    [SENSOR_SYSFS] = SOURCE | INTERVAL | MEASURES,
    [SENSOR_COMMAND] = COMMAND | POINTERS | SCALES | INTERVAL | MEASURES,
    [SENSOR_MQTT] = SOURCE | POINTERS | SCALES | INTERVAL | MEASURES | BROKER,
    [SENSOR_PUSH] = SCALES | INTERVAL | MEASURES | TOKEN,
    [SENSOR_IMPORT] = 0,
};
_Static_assert(sizeof taken_by / sizeof *taken_by == SENSOR_KIND_COUNT, "one row a kind");

static const struct {
    const char *name;
    unsigned group;
} members[] = {
    {"source", SOURCE}, {"command", COMMAND}, {"pointers", POINTERS}, {"scales", SCALES}, {"interval_s", INTERVAL},
    {"measures", MEASURES}, {"user", BROKER}, {"password", BROKER}, {"ca_file", BROKER}, {"new_token", TOKEN},
};

static void refuse_foreign(struct json_in *in, enum sensor_kind kind)
{
    for (size_t i = 0; i < sizeof members / sizeof *members; i++) {
        if ((taken_by[kind] & members[i].group) == 0 && json_in_has(in, members[i].name))
            json_in_fail(in, members[i].name, "a sensor of the kind %s has no %s: leave it out", sensor_kind_word(kind), members[i].name);
    }
}

/* ---- members ---- */

static void read_pointers(struct json_in *in, struct sensor *sensor)
{
    struct json_in pointers;
    if (!json_in_object(in, "pointers", JSON_OPTIONAL, &pointers))
        return;
    for (unsigned i = 0; i < AIR_QUANTITY_COUNT; i++) {
        const char *name = air_quantity_word((enum air_quantity)i);
        char *pointer = sensor->pointer[i];
        if (json_in_string(&pointers, name, JSON_NULLABLE, pointer, sizeof sensor->pointer[i]) && pointer[0] != '\0' && pointer[0] != '/')
            json_in_fail(&pointers, name, "\"%s\" is no JSON pointer: write /%s, with a slash before each name", pointer, pointer);
    }
    work_close(&pointers);
}

static void read_scales(struct json_in *in, struct sensor *sensor)
{
    struct json_in scales;
    if (!json_in_object(in, "scales", JSON_OPTIONAL, &scales))
        return;
    json_in_temp_scale(&scales, "temperature", JSON_OPTIONAL, &sensor->temp_scale);
    json_in_rh_scale(&scales, "humidity", JSON_OPTIONAL, &sensor->rh_scale);
    work_close(&scales);
}

static void read_measures(struct json_in *in, struct sensor *sensor)
{
    struct json_in_list list;
    char word[24];
    if (!json_in_list(in, "measures", JSON_OPTIONAL, 1, AIR_QUANTITY_COUNT, &list))
        return;
    memset(sensor->measures, 0, sizeof sensor->measures);
    while (json_in_next_string(&list, word, sizeof word)) {
        enum air_quantity quantity = AIR_TEMP;
        if (air_quantity_from_word(word, &quantity))
            sensor->measures[quantity] = true;
        else
            json_in_fail(in, "measures", "\"%s\" is not measured here: use temperature, humidity or both", word);
    }
}

/* A password goes to the broker that it was told for, and to no other. */
static void read_broker(struct json_in *in, const char *old_source, struct sensor *sensor)
{
    bool same = work_same_server(old_source, sensor->source);
    json_in_string(in, "user", JSON_NULLABLE, sensor->user, sizeof sensor->user);
    json_in_string(in, "ca_file", JSON_NULLABLE, sensor->ca_file, sizeof sensor->ca_file);
    if (!same && sensor->secret[0] != '\0' && !json_in_has(in, "password"))
        json_in_fail(in, "password", "the broker is another one: tell the password for it, or null where it wants none");
    json_in_string(in, "password", JSON_NULLABLE, sensor->secret, sizeof sensor->secret);
}

static void renew_token(struct work *work, struct sensor *sensor)
{
    if (!json_in_failed(&work->in) && !token_make(work->token, sensor->secret))
        (void)coat_fail(&work->error, COAT_NO_MEMORY, "", "no random bytes for a token are to be had now: try again");
}

static void read_members(struct work *work, enum json_need need_of_source, struct sensor *sensor)
{
    struct json_in *in = &work->in;
    unsigned taken = taken_by[sensor->kind];
    char old_source[SENSOR_SOURCE_SIZE];
    memcpy(old_source, sensor->source, sizeof old_source);
    refuse_foreign(in, sensor->kind);
    json_in_int32(in, "position", JSON_OPTIONAL, 0, POSITION_MOST, &sensor->position);
    if ((taken & SOURCE) != 0)
        json_in_string(in, "source", need_of_source, sensor->source, sizeof sensor->source);
    if ((taken & COMMAND) != 0)
        work_words(in, "command", need_of_source, COMMAND_WORDS_MOST, sensor->source, sizeof sensor->source);
    if ((taken & POINTERS) != 0)
        read_pointers(in, sensor);
    if ((taken & SCALES) != 0)
        read_scales(in, sensor);
    if ((taken & INTERVAL) != 0)
        json_in_int32(in, "interval_s", JSON_NULLABLE, 1, INTERVAL_MOST_S, &sensor->interval_s);
    if ((taken & MEASURES) != 0)
        read_measures(in, sensor);
    if ((taken & BROKER) != 0)
        read_broker(in, old_source, sensor);
}

/* ---- a new one ---- */

static void read_kind(struct json_in *in, struct sensor *sensor)
{
    if (!json_in_sensor_kind(in, "kind", JSON_REQUIRED, &sensor->kind))
        return;
    if (sensor->kind == SENSOR_BY_HAND)
        json_in_fail(in, "kind", "air entered by hand has a sensor of its own already: POST /api/v1/places/{id}/readings enters some");
    else if (sensor->kind == SENSOR_IMPORT)
        json_in_fail(in, "kind", "a sensor of this kind comes with a file of readings: use sysfs, command, mqtt or push");
}

static void read_place(struct work *work, enum json_need need, struct sensor *sensor)
{
    if (json_in_id(&work->in, "place", need, &sensor->place_id))
        work_known(work, &work->in, "place", &work_place, sensor->place_id);
}

/* With pointers, what they point to; a thermometer on a 1-wire bus tells no humidity. */
static void assume_measures(struct json_in *in, struct sensor *sensor)
{
    bool pointed = sensor->pointer[AIR_TEMP][0] != '\0' || sensor->pointer[AIR_RH][0] != '\0';
    bool said = sensor->kind == SENSOR_COMMAND || sensor->kind == SENSOR_MQTT;
    if (json_in_has(in, "measures"))
        return;
    if (said && !pointed)
        json_in_fail(in, "measures", "a plain number tells one quantity: say whether temperature or humidity, or where in its JSON both stand");
    for (unsigned i = 0; i < AIR_QUANTITY_COUNT; i++)
        sensor->measures[i] = !said || sensor->pointer[i][0] != '\0';
    if (strncmp(sensor->source, "w1:", 3) == 0)
        sensor->measures[AIR_RH] = false;
}

void sensor_in_new(struct work *work, bool only_tried, struct sensor *ret)
{
    enum json_need need = only_tried ? JSON_OPTIONAL : JSON_REQUIRED;
    *ret = (struct sensor){.position = BEHIND_THE_OTHERS, .added_at = work->now_ms, .removed_at = MOMENT_NONE};
    work_name(&work->in, "name", need, ret->name, sizeof ret->name);
    read_place(work, need, ret);
    read_kind(&work->in, ret);
    if (json_in_failed(&work->in))
        return;
    read_members(work, JSON_REQUIRED, ret);
    assume_measures(&work->in, ret);
    if (ret->kind == SENSOR_PUSH && !only_tried)
        renew_token(work, ret);
}

void sensor_in_change(struct work *work, struct sensor *io_sensor)
{
    bool renew = false;
    work_name(&work->in, "name", JSON_OPTIONAL, io_sensor->name, sizeof io_sensor->name);
    read_members(work, JSON_OPTIONAL, io_sensor);
    if (io_sensor->kind == SENSOR_PUSH && json_in_bool(&work->in, "new_token", JSON_OPTIONAL, &renew) && renew)
        renew_token(work, io_sensor);
}

/* ---- the whole ---- */

enum coat_result sensor_in_check(struct work *work, const struct sensor *sensor)
{
    bool pointed = (taken_by[sensor->kind] & POINTERS) != 0;
    bool both = sensor->measures[AIR_TEMP] && sensor->measures[AIR_RH];
    if (pointed && both && (sensor->pointer[AIR_TEMP][0] == '\0' || sensor->pointer[AIR_RH][0] == '\0'))
        return coat_fail(&work->error, COAT_BAD_VALUE, "pointers", "it measures both, so each needs a pointer into what it says: "
                         "{\"temperature\":\"/t\",\"humidity\":\"/h\"}, or one alone with measures");
    bool asked = (taken_by[sensor->kind] & (SOURCE | COMMAND)) != 0;
    return asked ? sensor_in_named(work, sensor, sense_check(sensor, &work->error)) : COAT_OK;
}

enum coat_result sensor_in_named(struct work *work, const struct sensor *sensor, enum coat_result result)
{
    if (result != COAT_OK && sensor->kind == SENSOR_COMMAND && strcmp(work->error.field, "source") == 0)
        snprintf(work->error.field, sizeof work->error.field, "command");
    return result;
}
