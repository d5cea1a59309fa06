#include "daemon/ear.h"

#include "coat/clock.h"
#include "coat/link.h"
#include "coat/moment.h"
#include "coat/shop.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define GATHER_MS INT64_C(1000) /* a reading waits so long at most; none was acknowledged to anybody */
#define GATHER_MOST 64
#define FULL_AGAIN_MS INT64_C(30000) /* with a full disk; they are kept until then, the newest of them */

struct ear {
    struct http_context *context;
    struct sense *sense;
    struct sensor_reading item[GATHER_MOST];
    size_t items;
    int64_t take_at_ms;    /* real: when they are taken */
    int64_t tried_revision; /* with a later one something else could be recorded: so can they */
    int64_t told_revision; /* whose sensors the sources know */
    bool failing;          /* said once */
};

/* ---- into the shop ---- */

static void note_taking(struct ear *ear, enum coat_result result, const struct coat_error *error)
{
    if (result != COAT_OK && !ear->failing)
        fprintf(stderr, "coatd: readings cannot be recorded: %s\n", error->text[0] != '\0' ? error->text : coat_result_text(result));
    if (result == COAT_OK && ear->failing)
        fprintf(stderr, "coatd: readings are recorded again\n");
    ear->failing = result != COAT_OK;
}

/* One of a sensor that was removed meanwhile must not cost the others. */
static void drop_unknown(struct ear *ear)
{
    size_t kept = 0;
    for (size_t i = 0; i < ear->items; i++) {
        const struct sensor *sensor = shop_sensor(ear->context->shop, ear->item[i].sensor_id);
        if (sensor != NULL && sensor->removed_at == MOMENT_NONE)
            ear->item[kept++] = ear->item[i];
    }
    ear->items = kept;
}

static void take_gathered(struct ear *ear)
{
    struct taken taken;
    struct coat_error error = {0};
    drop_unknown(ear);
    if (ear->items == 0)
        return;
    int64_t now_ms = clock_shop_ms(ear->context->clock);
    enum coat_result result = shop_take_readings(ear->context->shop, NULL, now_ms, ear->item, ear->items, &taken, &error);
    note_taking(ear, result, &error);
    if (result != COAT_STORE_FULL)
        ear->items = 0;
    ear->take_at_ms = clock_real_ms() + FULL_AGAIN_MS;
    ear->tried_revision = shop_revision(ear->context->shop);
}

static void make_room(struct ear *ear)
{
    if (ear->items == GATHER_MOST && !ear->failing)
        take_gathered(ear);
    if (ear->items == GATHER_MOST)
        memmove(&ear->item[0], &ear->item[1], --ear->items * sizeof ear->item[0]);
}

/* ---- from the sources ---- */

static void hear_reading(void *context, const struct sense_reading *reading)
{
    struct ear *ear = context;
    make_room(ear);
    if (ear->items == 0)
        ear->take_at_ms = clock_real_ms() + GATHER_MS;
    int64_t at_ms = reading->at_ms == MOMENT_NONE ? clock_shop_ms(ear->context->clock) : reading->at_ms;
    ear->item[ear->items++] = (struct sensor_reading){reading->sensor_id, at_ms, reading->temp_c, reading->rh_pct};
}

static void hear_fault(void *context, int64_t sensor_id, const char *text)
{
    struct ear *ear = context;
    shop_sensor_fault(ear->context->shop, sensor_id, clock_shop_ms(ear->context->clock), text);
    ear->context->turn_wanted = true;
}

/* ---- whom to ask ---- */

/* Sensors change seldom, but whether they did costs less to compare than to be told. */
static void tell_sensors(struct ear *ear)
{
    size_t count, in_use = 0;
    const struct sensor *all = shop_sensors(ear->context->shop, &count);
    if (shop_revision(ear->context->shop) == ear->told_revision)
        return;
    struct sensor *sensors = calloc(count + 1, sizeof *sensors);
    if (sensors == NULL)
        return; /* tried again at the next turn */
    for (size_t i = 0; i < count; i++)
        if (all[i].removed_at == MOMENT_NONE)
            sensors[in_use++] = all[i];
    if (sense_set(ear->sense, sensors, in_use) == COAT_OK)
        ear->told_revision = shop_revision(ear->context->shop);
    free(sensors);
}

/* ---- the loop's side ---- */

enum coat_result ear_open(struct http_context *context, const char *self, struct ear **ret, struct coat_error *error)
{
    char courier[1024];
    const char *root = getenv("COAT_SYSFS");
    struct ear *ear = calloc(1, sizeof *ear);
    if (ear == NULL)
        return coat_fail(error, COAT_NO_MEMORY, "", "out of memory while opening the sources of air");
    ear->context = context;
    ear->told_revision = -1;
    couriers_find_program(self, courier, sizeof courier);
    struct sense_options options = {root != NULL && root[0] == '/' ? root : "/sys", self, courier};
    struct sense_calls calls = {ear, hear_reading, hear_fault};
    enum coat_result result = sense_open(&options, &calls, &ear->sense, error);
    if (result != COAT_OK) {
        free(ear);
        return result;
    }
    context->sense = ear->sense;
    *ret = ear;
    return COAT_OK;
}

void ear_close(struct ear *ear)
{
    if (ear == NULL)
        return;
    take_gathered(ear);
    ear->context->sense = NULL;
    sense_close(ear->sense);
    free(ear);
}

int ear_descriptor(const struct ear *ear)
{
    return sense_descriptor(ear->sense);
}

void ear_turn(struct ear *ear)
{
    tell_sensors(ear);
    sense_turn(ear->sense);
    bool wanted = clock_real_ms() >= ear->take_at_ms || (ear->failing && shop_revision(ear->context->shop) != ear->tried_revision);
    if (ear->items > 0 && wanted)
        take_gathered(ear);
}

int64_t ear_next_ms(const struct ear *ear)
{
    int64_t next_ms = sense_next_ms(ear->sense);
    bool waits = ear->items > 0 && ear->take_at_ms < next_ms;
    return waits ? ear->take_at_ms : next_ms;
}
