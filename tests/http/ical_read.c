/* Reads a calendar from standard input with libical and prints its events as a JSON array, for the tests of the calendar to hold it against another reader. */
#include <cjson/cJSON.h>
#include <libical/ical.h>
#include <stdio.h>
#include <stdlib.h>

#define INPUT_MAX (8u * 1024u * 1024u)

static void add_text(cJSON *object, const char *name, const char *text)
{
    cJSON_AddItemToObject(object, name, text != NULL ? cJSON_CreateString(text) : cJSON_CreateNull());
}

static const char *text_of(icalcomponent *component, icalproperty_kind kind)
{
    icalproperty *property = icalcomponent_get_first_property(component, kind);
    return property != NULL ? icalvalue_get_text(icalproperty_get_value(property)) : NULL;
}

static cJSON *alarms_of(icalcomponent *event)
{
    cJSON *alarms = cJSON_CreateArray();
    icalcomponent *alarm = icalcomponent_get_first_component(event, ICAL_VALARM_COMPONENT);
    for (; alarm != NULL; alarm = icalcomponent_get_next_component(event, ICAL_VALARM_COMPONENT)) {
        cJSON *item = cJSON_CreateObject();
        icalproperty *trigger = icalcomponent_get_first_property(alarm, ICAL_TRIGGER_PROPERTY);
        cJSON_AddNumberToObject(item, "trigger_s", trigger != NULL ? icaldurationtype_as_int(icalproperty_get_trigger(trigger).duration) : 0.5);
        add_text(item, "description", text_of(alarm, ICAL_DESCRIPTION_PROPERTY));
        cJSON_AddItemToArray(alarms, item);
    }
    return alarms;
}

static cJSON *event_of(icalcomponent *event)
{
    cJSON *item = cJSON_CreateObject();
    add_text(item, "uid", icalcomponent_get_uid(event));
    add_text(item, "start", icaltime_as_ical_string(icalcomponent_get_dtstart(event)));
    cJSON_AddNumberToObject(item, "sequence", icalcomponent_get_sequence(event));
    cJSON_AddBoolToObject(item, "tentative", icalcomponent_get_status(event) == ICAL_STATUS_TENTATIVE);
    add_text(item, "summary", icalcomponent_get_summary(event));
    add_text(item, "description", icalcomponent_get_description(event));
    add_text(item, "location", icalcomponent_get_location(event));
    cJSON_AddItemToObject(item, "alarms", alarms_of(event));
    return item;
}

static char *read_all(void)
{
    char *text = calloc(1, INPUT_MAX);
    size_t length = text != NULL ? fread(text, 1, INPUT_MAX - 1, stdin) : 0;
    if (length > 0)
        return text;
    free(text);
    return NULL;
}

int main(void)
{
    char *text = read_all();
    icalcomponent *calendar = text != NULL ? icalparser_parse_string(text) : NULL;
    if (calendar == NULL || icalcomponent_isa(calendar) != ICAL_VCALENDAR_COMPONENT || icalcomponent_count_errors(calendar) > 0 ||
        !icalrestriction_check(calendar)) {
        fprintf(stderr, "ical_read: this is no calendar, or it has faults\n");
        return 1;
    }
    cJSON *events = cJSON_CreateArray();
    icalcomponent *event = icalcomponent_get_first_component(calendar, ICAL_VEVENT_COMPONENT);
    for (; event != NULL; event = icalcomponent_get_next_component(calendar, ICAL_VEVENT_COMPONENT))
        cJSON_AddItemToArray(events, event_of(event));
    char *printed = cJSON_PrintUnformatted(events);
    puts(printed != NULL ? printed : "");
    free(printed);
    cJSON_Delete(events);
    icalcomponent_free(calendar);
    free(text);
    return 0;
}
