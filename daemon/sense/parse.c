/* From what a source says to C and %. Strict about what a number is, so that half a text never counts as one, and plain about what would do. */
#include "coat/sense.h"
#include "daemon/sense/number.h"
#include "daemon/sense/source.h"

#include <cjson/cJSON.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define TEXT_MAX 65536     /* bytes of what a source says; as much as a child or a courier passes on */
#define INTERVAL_MAX_S 86400
#define ARRAY_INDEX_MAX 9999

static const char *const members[AIR_QUANTITY_COUNT] = {[AIR_TEMP] = "temperature", [AIR_RH] = "humidity"};

/* ---- scales ---- */

double sense_temp_c(enum temp_scale scale, double number)
{
    switch (scale) {
    case TEMP_SCALE_C: return number;
    case TEMP_SCALE_F: return (number - 32.0) / 1.8;
    case TEMP_SCALE_K: return number - 273.15;
    case TEMP_SCALE_MILLI_C: return number / 1000.0;
    case TEMP_SCALE_COUNT: break;
    }
    return (double)NAN;
}

double sense_rh_pct(enum rh_scale scale, double number)
{
    switch (scale) {
    case RH_SCALE_PCT: return number;
    case RH_SCALE_FRACTION: return number * 100.0;
    case RH_SCALE_MILLI_PCT: return number / 1000.0;
    case RH_SCALE_COUNT: break;
    }
    return (double)NAN;
}

static double convert(const struct sensor *settings, enum air_quantity quantity, double number)
{
    return quantity == AIR_TEMP ? sense_temp_c(settings->temp_scale, number) : sense_rh_pct(settings->rh_scale, number);
}

/* ---- JSON pointers, RFC 6901 ---- */

/* One part of a pointer, up to the next slash, with ~1 and ~0 as / and ~. Returns what follows. */
static const char *read_part(const char *pointer, char ret[SENSOR_POINTER_SIZE])
{
    size_t used = 0;
    for (; *pointer != '\0' && *pointer != '/' && used < SENSOR_POINTER_SIZE - 1; pointer++) {
        char c = *pointer;
        if (c == '~' && pointer[1] != '\0')
            c = *++pointer == '1' ? '/' : '~';
        ret[used++] = c;
    }
    ret[used] = '\0';
    return pointer;
}

static const cJSON *find_element(const cJSON *array, const char *part)
{
    char *end = NULL;
    if (part[0] == '\0' || strspn(part, "0123456789") != strlen(part) || (part[0] == '0' && part[1] != '\0'))
        return NULL;
    long index = strtol(part, &end, 10);
    return index <= ARRAY_INDEX_MAX ? cJSON_GetArrayItem(array, (int)index) : NULL;
}

/* NULL where there is nothing; then *ret_last is as far as it led. */
static const cJSON *follow_pointer(const cJSON *value, const char *pointer, const cJSON **ret_last)
{
    char part[SENSOR_POINTER_SIZE];
    *ret_last = value;
    while (value != NULL && *pointer == '/') {
        pointer = read_part(pointer + 1, part);
        value = cJSON_IsArray(value) ? find_element(value, part) : cJSON_IsObject(value) ? cJSON_GetObjectItemCaseSensitive(value, part) : NULL;
        if (value != NULL)
            *ret_last = value;
    }
    return value;
}

static bool is_pointer(const char *pointer)
{
    if (pointer[0] != '\0' && pointer[0] != '/')
        return false;
    for (const char *tilde = strchr(pointer, '~'); tilde != NULL; tilde = strchr(tilde + 1, '~'))
        if (tilde[1] != '0' && tilde[1] != '1')
            return false;
    return true;
}

/* The names in an object, as pointers where it is the whole. */
static void show_names(const cJSON *object, bool whole, char *ret, size_t size)
{
    const cJSON *item = NULL;
    size_t used = 0;
    ret[0] = '\0';
    cJSON_ArrayForEach(item, object) {
        char name[48];
        if (item->string == NULL || used >= size)
            break;
        text_show(item->string, strlen(item->string), name, sizeof name);
        int length = snprintf(ret + used, size - used, "%s%s%s", used > 0 ? ", " : "", whole ? "/" : "", name);
        used += (size_t)(length > 0 ? length : 0);
    }
}

/* ---- one number ---- */

/* A number, or one written as text, which many sensors do. */
static bool read_json_number(const cJSON *value, double *ret, char raw[SENSE_RAW_SIZE])
{
    if (cJSON_IsString(value)) {
        text_show(value->valuestring, strlen(value->valuestring), raw, SENSE_RAW_SIZE);
        return number_read(value->valuestring, strlen(value->valuestring), ret);
    }
    char *text = cJSON_PrintUnformatted(value);
    text_show(text != NULL ? text : "", text != NULL ? strlen(text) : 0, raw, SENSE_RAW_SIZE);
    cJSON_free(text);
    if (!cJSON_IsNumber(value) || !isfinite(value->valuedouble))
        return false;
    *ret = value->valuedouble;
    return true;
}

static void describe_missing(const cJSON *last, const cJSON *whole, const char *pointer, char *fault)
{
    char names[120];
    show_names(last, last == whole, names, sizeof names);
    if (names[0] != '\0')
        snprintf(fault, SENSE_RAW_SIZE, "there is nothing at %.63s; there %s %s", pointer, last == whole ? "is" : "the names are", names);
    else
        snprintf(fault, SENSE_RAW_SIZE, "there is nothing at %.63s, and no names to choose from", pointer);
}

static bool take_pointed(const cJSON *whole, const char *pointer, double *ret, char raw[SENSE_RAW_SIZE], char *fault)
{
    const cJSON *last = NULL;
    const cJSON *value = follow_pointer(whole, pointer, &last);
    if (value == NULL) {
        describe_missing(last, whole, pointer, fault);
        return false;
    }
    if (read_json_number(value, ret, raw))
        return true;
    snprintf(fault, SENSE_RAW_SIZE, "at %.63s stands %.60s%s; a number such as 18.2 is wanted", pointer, raw, strlen(raw) > 60 ? "…" : "");
    return false;
}

static bool take_whole(const cJSON *whole, const char *text, size_t length, double *ret, char raw[SENSE_RAW_SIZE], char *fault)
{
    char names[100];
    text_show(text, length, raw, SENSE_RAW_SIZE);
    if (number_read(text, length, ret) || (cJSON_IsString(whole) && read_json_number(whole, ret, raw)))
        return true;
    show_names(whole, true, names, sizeof names);
    if (raw[0] == '\0')
        snprintf(fault, SENSE_RAW_SIZE, "it says nothing; a number such as 18.2 is wanted");
    else if (names[0] != '\0')
        snprintf(fault, SENSE_RAW_SIZE, "it says JSON: tell where the number stands by a pointer, one of %s", names);
    else
        snprintf(fault, SENSE_RAW_SIZE, "it says \"%.80s%s\", which is no number; 18.2 alone, or JSON and a pointer, would do", raw,
                 strlen(raw) > 80 ? "…" : "");
    return false;
}

/* ---- all that a source says ---- */

static void forget(struct sense_test *test)
{
    *test = (struct sense_test){.done = true, .value = {[AIR_TEMP] = (double)NAN, [AIR_RH] = (double)NAN}};
}

/* Bytes with a NUL behind them. cJSON refuses what is too deep by itself (1000 levels). NULL where it is no JSON and nothing else. */
static cJSON *read_json(const char *text)
{
    const char *end = NULL;
    return cJSON_ParseWithLengthOpts(text, strlen(text) + 1, &end, true);
}

/* One of the two is enough: some publish them in turn. What is missing is told in ret->fault all the same. */
static enum coat_result take_quantities(const struct sensor *settings, const cJSON *json, const char *text, struct sense_test *ret,
                                        struct coat_error *error)
{
    unsigned found = 0;
    for (int i = 0; i < AIR_QUANTITY_COUNT; i++) {
        const char *pointer = settings->pointer[i];
        double number = 0.0;
        if (!settings->measures[i])
            continue;
        bool taken = false;
        if (pointer[0] == '\0')
            taken = take_whole(json, text, strlen(text), &number, ret->raw[i], ret->fault);
        else if (json != NULL)
            taken = take_pointed(json, pointer, &number, ret->raw[i], ret->fault);
        else {
            text_show(text, strlen(text), ret->raw[i], sizeof ret->raw[i]);
            snprintf(ret->fault, sizeof ret->fault, "it says \"%.80s\", which is no JSON, so that there is no %.63s", ret->raw[i], pointer);
        }
        if (taken) {
            ret->value[i] = convert(settings, (enum air_quantity)i, number);
            found++;
        }
    }
    if (found == 0)
        return coat_fail(error, COAT_BAD_FORM, "source", "%s", ret->fault[0] != '\0' ? ret->fault : "nothing is to be measured: tell temperature, humidity or both");
    return COAT_OK;
}

static bool take_text_member(const cJSON *object, const char *name, char ret[SENSE_RAW_SIZE])
{
    const cJSON *item = cJSON_GetObjectItemCaseSensitive(object, name);
    if (!cJSON_IsString(item))
        return false;
    text_show(item->valuestring, strlen(item->valuestring), ret, SENSE_RAW_SIZE);
    return true;
}

static void take_device_value(const cJSON *line, enum air_quantity quantity, struct sense_test *ret)
{
    const cJSON *object = cJSON_GetObjectItemCaseSensitive(line, members[quantity]);
    const cJSON *value = cJSON_GetObjectItemCaseSensitive(object, "value");
    (void)take_text_member(object, "raw", ret->raw[quantity]);
    if (cJSON_IsNumber(value) && isfinite(value->valuedouble))
        ret->value[quantity] = value->valuedouble;
    else if (!take_text_member(object, "fault", ret->fault))
        snprintf(ret->fault, sizeof ret->fault, "the device gives no %s", members[quantity]);
}

/* What sense_device_main prints. Already C and %. */
static enum coat_result take_device(const struct sensor *settings, const cJSON *json, struct sense_test *ret, struct coat_error *error)
{
    bool any = settings->measures[AIR_TEMP] || settings->measures[AIR_RH];
    unsigned found = 0;
    if (!cJSON_IsObject(json))
        return coat_fail(error, COAT_BAD_FORM, "source", "the reader of devices said what cannot be understood");
    if (take_text_member(json, "fault", ret->fault))
        return coat_fail(error, COAT_BAD_FORM, "source", "%s", ret->fault);
    for (int i = 0; i < AIR_QUANTITY_COUNT; i++) {
        bool told = cJSON_GetObjectItemCaseSensitive(json, members[i]) != NULL;
        if (any ? settings->measures[i] : told)
            take_device_value(json, (enum air_quantity)i, ret);
        found += isfinite(ret->value[i]) ? 1 : 0;
    }
    if (found == 0)
        return coat_fail(error, COAT_BAD_FORM, "source", "%s", ret->fault);
    return COAT_OK;
}

enum coat_result sense_parse(const struct sensor *settings, const char *text, size_t length, struct sense_test *ret, struct coat_error *error)
{
    forget(ret);
    if (length > TEXT_MAX)
        return coat_fail(error, COAT_BAD_FORM, "source", "it says %zu bytes; at most %d are read", length, TEXT_MAX);
    if (memchr(text, '\0', length) != NULL)
        return coat_fail(error, COAT_BAD_FORM, "source", "it says bytes that are no text; a number such as 18.2, or JSON, would do");
    char *copy = malloc(length + 1);
    if (copy == NULL)
        return coat_fail(error, COAT_NO_MEMORY, "", "out of memory for what a sensor says");
    memcpy(copy, text, length);
    copy[length] = '\0';
    cJSON *json = read_json(copy);
    enum coat_result result = settings->kind == SENSOR_SYSFS ? take_device(settings, json, ret, error)
                                                             : take_quantities(settings, json, copy, ret, error);
    cJSON_Delete(json);
    free(copy);
    return result;
}

/* ---- settings before they are stored ---- */

static enum coat_result check_pointers(const struct sensor *settings, struct coat_error *error)
{
    bool both = settings->measures[AIR_TEMP] && settings->measures[AIR_RH];
    for (int i = 0; i < AIR_QUANTITY_COUNT; i++) {
        const char *pointer = settings->pointer[i];
        if (!is_pointer(pointer))
            return coat_fail(error, COAT_BAD_VALUE, "pointer", "\"%.60s\" is no JSON pointer: write the names with a slash before each, such as /%s or "
                             "/readings/0/%s", pointer, members[i], members[i]);
        if (both && pointer[0] == '\0')
            return coat_fail(error, COAT_BAD_VALUE, "pointer", "temperature and humidity from one source want a JSON pointer each, such as /temperature and "
                             "/humidity; there is none for %s", members[i]);
    }
    return COAT_OK;
}

static enum coat_result check_no_pointers(const struct sensor *settings, struct coat_error *error)
{
    for (int i = 0; i < AIR_QUANTITY_COUNT; i++)
        if (settings->pointer[i][0] != '\0')
            return coat_fail(error, COAT_BAD_VALUE, "pointer", "a device of the kernel says no JSON: leave the pointer %.60s out", settings->pointer[i]);
    return COAT_OK;
}

static enum coat_result check_sysfs(const struct sensor *settings, struct coat_error *error)
{
    struct device_source source;
    enum coat_result result = source_device_parse(settings->source, &source, error);
    if (result == COAT_OK && source.bus == BUS_W1 && settings->measures[AIR_RH])
        return coat_fail(error, COAT_BAD_VALUE, "measures", "the 1-wire device %s measures temperature only", source.name);
    return result == COAT_OK ? check_no_pointers(settings, error) : result;
}

static enum coat_result check_command(const struct sensor *settings, struct coat_error *error)
{
    struct command_source source;
    enum coat_result result = source_command_parse(settings->source, &source, error);
    return result == COAT_OK ? check_pointers(settings, error) : result;
}

static enum coat_result check_mqtt(const struct sensor *settings, struct coat_error *error)
{
    struct mqtt_source source;
    enum coat_result result = source_mqtt_parse(settings->source, &source, error);
    if (result == COAT_OK && settings->ca_file[0] != '\0' && !source.tls)
        return coat_fail(error, COAT_BAD_VALUE, "ca_file", "a file of authorities is for a broker with TLS: write mqtts://%.100s/…, or leave it out", source.host);
    if (result == COAT_OK && settings->ca_file[0] != '\0' && settings->ca_file[0] != '/')
        return coat_fail(error, COAT_BAD_VALUE, "ca_file", "\"%.100s\" does not begin with a slash: write the whole path of the file", settings->ca_file);
    return result == COAT_OK ? check_pointers(settings, error) : result;
}

static enum coat_result check_nothing(const struct sensor *settings, struct coat_error *error)
{
    if (settings->source[0] != '\0')
        return coat_fail(error, COAT_BAD_VALUE, "source", "a sensor of the kind %s is told its readings and asks no source: leave \"%.80s\" out",
                         sensor_kind_word(settings->kind), settings->source);
    return COAT_OK;
}

static enum coat_result (*const checks[])(const struct sensor *, struct coat_error *) = {
    [SENSOR_BY_HAND] = check_nothing, [SENSOR_SYSFS] = check_sysfs, [SENSOR_COMMAND] = check_command,
    [SENSOR_MQTT] = check_mqtt, [SENSOR_PUSH] = check_nothing, [SENSOR_IMPORT] = check_nothing,
};
_Static_assert(sizeof checks / sizeof *checks == SENSOR_KIND_COUNT, "a check for each kind");

enum coat_result sense_check(const struct sensor *settings, struct coat_error *error)
{
    if ((unsigned)settings->kind >= SENSOR_KIND_COUNT)
        return coat_fail(error, COAT_BAD_VALUE, "kind", "there is no such kind of sensor");
    if ((unsigned)settings->temp_scale >= TEMP_SCALE_COUNT || (unsigned)settings->rh_scale >= RH_SCALE_COUNT)
        return coat_fail(error, COAT_BAD_VALUE, "scale", "there is no such scale");
    if (!settings->measures[AIR_TEMP] && !settings->measures[AIR_RH])
        return coat_fail(error, COAT_BAD_VALUE, "measures", "the sensor measures nothing: tell temperature, humidity or both");
    if (settings->interval_s < 0 || settings->interval_s > INTERVAL_MAX_S)
        return coat_fail(error, COAT_BAD_VALUE, "interval_s", "%d s is no interval: 1 to %d s, or 0 for the usual one", (int)settings->interval_s,
                         INTERVAL_MAX_S);
    return checks[settings->kind](settings, error);
}
