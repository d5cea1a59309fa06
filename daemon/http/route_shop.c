/* The shop as a whole: everything the page shows, and its settings. */
#include "daemon/http/routes.h"
#include "daemon/http/work.h"

#include <ctype.h>
#include <inttypes.h>
#include <string.h>
#include <unistd.h>

static enum coat_result show_shop(struct work *work)
{
    char tag[24];
    snprintf(tag, sizeof tag, "%" PRId64 "%s", shop_revision(work->shop), work->context->unrecorded != COAT_OK ? "u" : "");
    if (!http_not_modified(work->request, work->response, tag))
        doc_shop(&work->doc, work->context);
    return COAT_OK;
}

void route_shop_get(WORK_ARGUMENTS)
{
    work_read(context, request, response, NULL, show_shop);
}

#define ZONE_FOLDER "/usr/share/zoneinfo"

static bool has_form_of_zone(const char *zone)
{
    if (!isalpha((unsigned char)zone[0]))
        return false;
    for (; *zone != '\0'; zone++) {
        if (!isalnum((unsigned char)*zone) && strchr("_+-/", *zone) == NULL)
            return false;
    }
    return true;
}

/* A machine without the tables of zones cannot tell: there any name of the right form will do. */
static void read_zone(struct json_in *in, struct shop_settings *settings)
{
    char path[sizeof ZONE_FOLDER + 1 + ZONE_SIZE];
    work_name(in, "zone", JSON_OPTIONAL, settings->zone, sizeof settings->zone);
    snprintf(path, sizeof path, "%s/%s", ZONE_FOLDER, settings->zone);
    bool known = access(ZONE_FOLDER, R_OK) != 0 || access(path, R_OK) == 0;
    if (!has_form_of_zone(settings->zone) || !known)
        json_in_fail(in, "zone", "\"%s\" is not the name of a time zone: Europe/Vienna or UTC will do", settings->zone);
}

/* Null: no list of the day is told. */
static void read_morning(struct json_in *in, struct shop_settings *settings)
{
    const char *text = NULL;
    if (!json_in_text(in, "morning", JSON_NULLABLE, &text))
        return;
    if (text == NULL)
        settings->morning_min = MORNING_NONE;
    else
        json_in_time_of_day(in, "morning", JSON_OPTIONAL, &settings->morning_min);
}

static enum coat_result change_settings(struct work *work)
{
    struct json_in *in = &work->in;
    struct shop_settings settings = *shop_settings_now(work->shop);
    read_zone(in, &settings);
    json_in_units_system(in, "units", JSON_OPTIONAL, &settings.units);
    json_in_int32(in, "lead_closing_min", JSON_OPTIONAL, 0, 7 * 24 * 60, &settings.lead_closing_min);
    json_in_time_of_day(in, "quiet_from", JSON_OPTIONAL, &settings.quiet_from_min);
    json_in_time_of_day(in, "quiet_to", JSON_OPTIONAL, &settings.quiet_to_min);
    json_in_time_of_day(in, "work_from", JSON_OPTIONAL, &settings.work_from_min);
    json_in_time_of_day(in, "work_to", JSON_OPTIONAL, &settings.work_to_min);
    read_morning(in, &settings);
    if (json_in_close(in) != COAT_OK)
        return work->error.code;
    return shop_set_settings(work->shop, &work->write, &settings, &work->error);
}

static enum coat_result show_settings(struct work *work)
{
    doc_settings(&work->doc, shop_settings_now(work->shop));
    return COAT_OK;
}

void route_shop_change(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {200, NULL, change_settings, show_settings};
    work_write(context, request, response, &plan);
}
