/* What sources say, and what their settings may be. */
#include "coat/sense.h"
#include "daemon/sense/source.h"

#include <stdarg.h>
#include <setjmp.h>
#include <stddef.h>
#include <stdint.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

static struct sensor one_of(enum sensor_kind kind, const char *source)
{
    struct sensor sensor = {.id = 1, .kind = kind, .measures = {[AIR_TEMP] = true}, .removed_at = MOMENT_NONE};
    snprintf(sensor.source, sizeof sensor.source, "%s", source);
    return sensor;
}

static struct sensor thermometer(void)
{
    return one_of(SENSOR_COMMAND, "[\"read-shed\"]");
}

static struct sensor with_pointers(const char *temp, const char *rh)
{
    struct sensor sensor = thermometer();
    sensor.measures[AIR_TEMP] = temp != NULL;
    sensor.measures[AIR_RH] = rh != NULL;
    snprintf(sensor.pointer[AIR_TEMP], SENSOR_POINTER_SIZE, "%s", temp != NULL ? temp : "");
    snprintf(sensor.pointer[AIR_RH], SENSOR_POINTER_SIZE, "%s", rh != NULL ? rh : "");
    return sensor;
}

static struct sense_test parsed(const struct sensor *sensor, const char *text)
{
    struct sense_test test;
    struct coat_error error = {0};
    if (sense_parse(sensor, text, strlen(text), &test, &error) != COAT_OK)
        fail_msg("%s: %s", text, error.text);
    return test;
}

/* It is refused, the text says `part`, and nothing counts. */
static void refuses(const struct sensor *sensor, const char *text, size_t length, const char *part)
{
    struct sense_test test;
    struct coat_error error = {0};
    assert_int_equal(sense_parse(sensor, text, length, &test, &error), COAT_BAD_FORM);
    if (strstr(error.text, part) == NULL)
        fail_msg("\"%s\" does not say \"%s\"", error.text, part);
    assert_true(isnan(test.value[AIR_TEMP]) && isnan(test.value[AIR_RH]));
}

static void refuses_text(const struct sensor *sensor, const char *text, const char *part)
{
    refuses(sensor, text, strlen(text), part);
}

static void near(double value, double wanted)
{
    if (!(fabs(value - wanted) < 1e-9))
        fail_msg("%.12g is not %.12g", value, wanted);
}

/* ---- numbers ---- */

static void a_plain_number_is_enough(void **state)
{
    (void)state;
    struct sensor sensor = thermometer();
    near(parsed(&sensor, "18.2").value[AIR_TEMP], 18.2);
    near(parsed(&sensor, " -3 \r\n").value[AIR_TEMP], -3.0);
    near(parsed(&sensor, "+1.82e1\n").value[AIR_TEMP], 18.2);
    near(parsed(&sensor, "\"18.2\"").value[AIR_TEMP], 18.2); /* JSON text */
    assert_string_equal(parsed(&sensor, "18.20\n").raw[AIR_TEMP], "18.20");
    assert_true(isnan(parsed(&sensor, "18.2").value[AIR_RH]));
}

static void what_is_no_number_is_refused_by_what_it_says(void **state)
{
    (void)state;
    struct sensor sensor = thermometer();
    refuses_text(&sensor, "18.2 C", "\"18.2 C\", which is no number; 18.2 alone");
    refuses_text(&sensor, "18,2", "\"18,2\"");
    refuses_text(&sensor, "", "says nothing");
    refuses_text(&sensor, " \n", "says nothing");
    refuses_text(&sensor, "sensor not found", "\"sensor not found\"");
    refuses_text(&sensor, "18.2 18.3", "no number");
    refuses_text(&sensor, "nan", "no number");
    refuses_text(&sensor, "inf", "no number");
    refuses_text(&sensor, "1e999", "no number");
    refuses_text(&sensor, "0x12", "no number");
    refuses_text(&sensor, "1e", "no number");
    refuses_text(&sensor, "{\"t\":18.2,\"rh\":55}", "a pointer, one of /t, /rh");
    refuses(&sensor, "18\0.2", 5, "no text");
}

static void a_megabyte_is_refused_unread(void **state)
{
    (void)state;
    struct sensor sensor = thermometer();
    size_t length = 1000000;
    char *text = malloc(length);
    assert_non_null(text);
    memset(text, '1', length);
    refuses(&sensor, text, length, "1000000 bytes; at most 65536");
    free(text);
}

static void scales_become_c_and_percent(void **state)
{
    (void)state;
    near(sense_temp_c(TEMP_SCALE_C, 20.0), 20.0);
    near(sense_temp_c(TEMP_SCALE_F, 68.0), 20.0);
    near(sense_temp_c(TEMP_SCALE_F, -40.0), -40.0);
    near(sense_temp_c(TEMP_SCALE_K, 293.15), 20.0);
    near(sense_temp_c(TEMP_SCALE_MILLI_C, 20000.0), 20.0);
    near(sense_rh_pct(RH_SCALE_PCT, 55.0), 55.0);
    near(sense_rh_pct(RH_SCALE_FRACTION, 0.55), 55.0);
    near(sense_rh_pct(RH_SCALE_MILLI_PCT, 55000.0), 55.0);
    struct sensor sensor = with_pointers("/f", "/part");
    sensor.temp_scale = TEMP_SCALE_F;
    sensor.rh_scale = RH_SCALE_FRACTION;
    struct sense_test test = parsed(&sensor, "{\"f\":68,\"part\":0.55}");
    near(test.value[AIR_TEMP], 20.0);
    near(test.value[AIR_RH], 55.0);
    assert_string_equal(test.raw[AIR_TEMP], "68"); /* as it said it */
}

/* ---- JSON ---- */

static void both_come_from_one_message(void **state)
{
    (void)state;
    struct sensor sensor = with_pointers("/air/temperature", "/air/humidity");
    struct sense_test test = parsed(&sensor, "{\"air\":{\"temperature\":18.25,\"humidity\":\"61.5\"},\"battery\":97}");
    near(test.value[AIR_TEMP], 18.25);
    near(test.value[AIR_RH], 61.5);
    assert_string_equal(test.raw[AIR_RH], "61.5");
    assert_string_equal(test.fault, "");
}

static void one_of_two_is_a_reading_and_the_other_is_named(void **state)
{
    (void)state;
    struct sensor sensor = with_pointers("/t", "/rh");
    struct sense_test test = parsed(&sensor, "{\"rh\":61,\"x\":1}");
    near(test.value[AIR_RH], 61.0);
    assert_true(isnan(test.value[AIR_TEMP]));
    assert_string_equal(test.raw[AIR_TEMP], "");
    assert_string_equal(test.fault, "there is nothing at /t; there is /rh, /x");
}

/* The examples of RFC 6901, section 5, with numbers all through. */
static void pointers_lead_as_the_rfc_says(void **state)
{
    (void)state;
    static const char document[] = "{\"foo\":[100,101],\"\":0,\"a/b\":1,\"c%d\":2,\"e^f\":3,\"g|h\":4,\"i\\\\j\":5,\"k\\\"l\":6,\" \":7,\"m~n\":8}";
    static const struct {
        const char *pointer;
        double value;
    } rows[] = {{"/foo/0", 100}, {"/foo/1", 101}, {"/", 0}, {"/a~1b", 1}, {"/c%d", 2}, {"/e^f", 3}, {"/g|h", 4}, {"/i\\j", 5}, {"/k\"l", 6}, {"/ ", 7},
                {"/m~0n", 8}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sensor sensor = with_pointers(rows[i].pointer, NULL);
        near(parsed(&sensor, document).value[AIR_TEMP], rows[i].value);
    }
    static const char *const astray[] = {"/foo/2", "/foo/01", "/foo/-", "/foo/0/x", "/bar", "/Foo/0", "/foo/99999999999999999999"};
    for (size_t i = 0; i < sizeof astray / sizeof *astray; i++) {
        struct sensor sensor = with_pointers(astray[i], NULL);
        refuses_text(&sensor, document, "there is nothing at ");
    }
}

static void what_stands_there_must_be_a_number(void **state)
{
    (void)state;
    struct sensor sensor = with_pointers("/t", NULL);
    refuses_text(&sensor, "{\"t\":null}", "at /t stands null; a number such as 18.2");
    refuses_text(&sensor, "{\"t\":true}", "stands true");
    refuses_text(&sensor, "{\"t\":{\"c\":1}}", "stands {\"c\":1}");
    refuses_text(&sensor, "{\"t\":\"18.2 C\"}", "stands 18.2 C");
    refuses_text(&sensor, "{\"t\":1e999}", "at /t stands");
    refuses_text(&sensor, "{\"t\":\"nan\"}", "stands nan");
    refuses_text(&sensor, "{\"temperature\":{\"c\":1},\"rh\":2}", "nothing at /t; there is /temperature, /rh");
    sensor = with_pointers("/air/t", NULL);
    refuses_text(&sensor, "{\"air\":{\"temp\":1,\"rh\":2}}", "nothing at /air/t; there the names are temp, rh");
}

static void what_is_no_json_has_no_pointer(void **state)
{
    (void)state;
    struct sensor sensor = with_pointers("/t", NULL);
    refuses_text(&sensor, "18.2 C", "\"18.2 C\", which is no JSON, so that there is no /t");
    refuses_text(&sensor, "{\"t\":18.2", "no JSON");
    refuses_text(&sensor, "{\"t\":18.2} {\"t\":1}", "no JSON");
    refuses_text(&sensor, "[]", "nothing at /t, and no names");
    char deep[4096];
    memset(deep, '[', sizeof deep - 1);
    deep[sizeof deep - 1] = '\0';
    refuses_text(&sensor, deep, "no JSON");
}

static void the_line_of_a_device_is_c_and_percent_already(void **state)
{
    (void)state;
    struct sensor sensor = one_of(SENSOR_SYSFS, "iio:hygro7");
    static const char line[] = "{\"device\":\"iio:hygro7@1-005f\",\"temperature\":{\"raw\":\"(1250 + 12) * 15.625\",\"value\":19.719},"
                               "\"humidity\":{\"fault\":\"in_humidityrelative_raw could not be read\"}}";
    sensor.measures[AIR_RH] = true;
    sensor.temp_scale = TEMP_SCALE_F; /* is for those that may choose */
    struct sense_test test = parsed(&sensor, line);
    near(test.value[AIR_TEMP], 19.719);
    assert_string_equal(test.raw[AIR_TEMP], "(1250 + 12) * 15.625");
    assert_true(isnan(test.value[AIR_RH]));
    assert_string_equal(test.fault, "in_humidityrelative_raw could not be read");
    sensor.measures[AIR_RH] = false;
    assert_string_equal(parsed(&sensor, line).fault, "");
    refuses_text(&sensor, "{\"fault\":\"there is no iio device named hygro\"}", "no iio device named hygro");
    refuses_text(&sensor, "{\"device\":\"iio:x\",\"humidity\":{\"value\":50}}", "gives no temperature");
    refuses_text(&sensor, "Segmentation fault", "cannot be understood");
}

/* ---- settings ---- */

static void accepts(enum sensor_kind kind, const char *source)
{
    struct sensor sensor = one_of(kind, source);
    struct coat_error error = {0};
    if (sense_check(&sensor, &error) != COAT_OK)
        fail_msg("%s: %s", source, error.text);
}

static void rejects(const struct sensor *sensor, const char *field, const char *part)
{
    struct coat_error error = {0};
    assert_int_equal(sense_check(sensor, &error), COAT_BAD_VALUE);
    assert_string_equal(error.field, field);
    if (strstr(error.text, part) == NULL)
        fail_msg("\"%s\" does not say \"%s\"", error.text, part);
}

static void rejects_source(enum sensor_kind kind, const char *source, const char *part)
{
    struct sensor sensor = one_of(kind, source);
    rejects(&sensor, "source", part);
}

static void devices_are_named_in_three_ways(void **state)
{
    (void)state;
    accepts(SENSOR_SYSFS, "iio:hygro7");
    accepts(SENSOR_SYSFS, "iio:hygro7@1-005f");
    accepts(SENSOR_SYSFS, "iio:wire@11"); /* its name has an @ */
    accepts(SENSOR_SYSFS, "hwmon:hygro3@1-0044");
    accepts(SENSOR_SYSFS, "hwmon:board/Sensor 1");
    accepts(SENSOR_SYSFS, "w1:28-0123456789ab");
    rejects_source(SENSOR_SYSFS, "", "iio:NAME");
    rejects_source(SENSOR_SYSFS, "/sys/bus/iio/devices/iio:device0/in_temp_raw", "is no device of the kernel: write iio:NAME");
    rejects_source(SENSOR_SYSFS, "iio:", "names no device");
    rejects_source(SENSOR_SYSFS, "iio:../../etc", "names no device");
    rejects_source(SENSOR_SYSFS, "iio:hygro7@", "names no device");
    rejects_source(SENSOR_SYSFS, "hwmon:board/", "hwmon:NAME/LABEL");
    rejects_source(SENSOR_SYSFS, "w1:28-0123456789a", "w1:28-0123456789ab");
    rejects_source(SENSOR_SYSFS, "w1:28-0123456789AB", "names no device");
    rejects_source(SENSOR_SYSFS, "w1:28-0123456789ab/..", "names no device");
    struct sensor sensor = one_of(SENSOR_SYSFS, "w1:28-0123456789ab");
    sensor.measures[AIR_RH] = true;
    rejects(&sensor, "measures", "temperature only");
    sensor = one_of(SENSOR_SYSFS, "iio:hygro7");
    snprintf(sensor.pointer[AIR_TEMP], SENSOR_POINTER_SIZE, "/t");
    rejects(&sensor, "pointer", "leave the pointer /t out");
}

static void a_command_is_a_program_and_its_arguments(void **state)
{
    (void)state;
    accepts(SENSOR_COMMAND, "[\"/usr/local/bin/read-shed\",\"--celsius\",\"\"]");
    rejects_source(SENSOR_COMMAND, "read-shed --celsius", "that is no JSON array");
    rejects_source(SENSOR_COMMAND, "\"read-shed\"", "no JSON array");
    rejects_source(SENSOR_COMMAND, "[]", "names no program");
    rejects_source(SENSOR_COMMAND, "[\"\"]", "names no program");
    rejects_source(SENSOR_COMMAND, "[\"read\",1]", "an argument is no text");
    rejects_source(SENSOR_COMMAND, "[\"a\"] x", "no JSON array");
    char many[SENSOR_SOURCE_SIZE] = "[\"a\"";
    for (int i = 0; i < SOURCE_ARGUMENTS_MAX; i++)
        strcat(many, ",\"b\"");
    strcat(many, "]");
    rejects_source(SENSOR_COMMAND, many, "too many");
}

static void a_topic_is_an_address(void **state)
{
    (void)state;
    struct mqtt_source source;
    assert_int_equal(source_mqtt_parse("mqtt://broker.lan/shed/air 1", &source, NULL), COAT_OK);
    assert_string_equal(source.host, "broker.lan");
    assert_int_equal(source.port, 1883);
    assert_false(source.tls);
    assert_string_equal(source.topic, "shed/air 1");
    assert_int_equal(source_mqtt_parse("mqtts://[fe80::1%eth0]:8884//t", &source, NULL), COAT_OK);
    assert_string_equal(source.host, "fe80::1%eth0");
    assert_int_equal(source.port, 8884);
    assert_true(source.tls);
    assert_string_equal(source.topic, "/t");
    assert_int_equal(source_mqtt_parse("mqtts://10.0.0.7/t", &source, NULL), COAT_OK);
    assert_int_equal(source.port, 8883);
    static const struct {
        const char *source, *part;
    } bad[] = {
        {"http://broker/t", "is no topic of a broker"}, {"mqtt://broker", "is no topic"}, {"mqtt://broker/", "names no topic"},
        {"mqtt:///t", "is no host"}, {"mqtt://bro ker/t", "is no host"}, {"mqtt://[::1/t", "is no host"}, {"mqtt://[::1]x/t", "is no host"},
        {"mqtt://a:0/t", "has no port"}, {"mqtt://a:65536/t", "has no port"}, {"mqtt://a:/t", "has no port"}, {"mqtt://a:18x/t", "has no port"},
        {"mqtt://me:secret@a/t", "fields of their own"}, {"mqtt://a/shed/+", "stand for many topics"}, {"mqtt://a/#", "stand for many"},
        {"mqtt://a/t\n", "names no topic"}, {"mqtt://-a/t", "is no host"},
    };
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
        rejects_source(SENSOR_MQTT, bad[i].source, bad[i].part);
    struct sensor sensor = one_of(SENSOR_MQTT, "mqtt://a/t");
    snprintf(sensor.ca_file, sizeof sensor.ca_file, "/etc/ssl/own.pem");
    rejects(&sensor, "ca_file", "mqtts://a/");
}

static void what_is_measured_must_be_told_and_found(void **state)
{
    (void)state;
    struct sensor sensor = thermometer();
    sensor.measures[AIR_TEMP] = false;
    rejects(&sensor, "measures", "tell temperature, humidity or both");
    sensor = with_pointers("/t", "");
    rejects(&sensor, "pointer", "there is none for humidity");
    sensor = with_pointers("t", NULL);
    rejects(&sensor, "pointer", "\"t\" is no JSON pointer");
    sensor = with_pointers("/a~2", NULL);
    rejects(&sensor, "pointer", "no JSON pointer");
    sensor = thermometer();
    sensor.interval_s = -1;
    rejects(&sensor, "interval_s", "-1 s is no interval");
    sensor.interval_s = 86401;
    rejects(&sensor, "interval_s", "86401 s");
    accepts(SENSOR_BY_HAND, "");
    accepts(SENSOR_PUSH, "");
    rejects_source(SENSOR_BY_HAND, "iio:hygro7", "by-hand is told its readings");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_plain_number_is_enough),
        cmocka_unit_test(what_is_no_number_is_refused_by_what_it_says),
        cmocka_unit_test(a_megabyte_is_refused_unread),
        cmocka_unit_test(scales_become_c_and_percent),
        cmocka_unit_test(both_come_from_one_message),
        cmocka_unit_test(one_of_two_is_a_reading_and_the_other_is_named),
        cmocka_unit_test(pointers_lead_as_the_rfc_says),
        cmocka_unit_test(what_stands_there_must_be_a_number),
        cmocka_unit_test(what_is_no_json_has_no_pointer),
        cmocka_unit_test(the_line_of_a_device_is_c_and_percent_already),
        cmocka_unit_test(devices_are_named_in_three_ways),
        cmocka_unit_test(a_command_is_a_program_and_its_arguments),
        cmocka_unit_test(a_topic_is_an_address),
        cmocka_unit_test(what_is_measured_must_be_told_and_found),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
