/* Figures for a collector, in the text form of OpenMetrics 1.0: families in one piece each, then "# EOF". */
#include "daemon/http/doc.h"
#include "daemon/http/routes.h"

#include <inttypes.h>

#define METRICS_TYPE "application/openmetrics-text; version=1.0.0; charset=utf-8"

static void write_family(struct json_out *out, const char *name, const char *type, const char *unit, const char *help)
{
    json_out_print(out, "# TYPE %s %s\n", name, type);
    if (unit[0] != '\0')
        json_out_print(out, "# UNIT %s %s\n", name, unit);
    json_out_print(out, "# HELP %s %s\n", name, help);
}

/* A label value: backslash, quote and line feed are escaped. */
static void write_label(struct json_out *out, const char *text)
{
    for (; *text != '\0'; text++) {
        if (*text == '\n')
            json_out_text(out, "\\n");
        else if (*text == '\\' || *text == '"')
            json_out_print(out, "\\%c", *text);
        else
            json_out_bytes(out, text, 1);
    }
}

static void write_shop(struct json_out *out, struct shop *shop, int64_t now_ms)
{
    write_family(out, "coat_build", "info", "", "The program.");
    json_out_print(out, "coat_build_info{version=\"%s\"} 1\n", COAT_VERSION);
    write_family(out, "coat_revision", "gauge", "", "Rises with each change of a fact or a state.");
    json_out_print(out, "coat_revision %" PRId64 "\n", shop_revision(shop));
    write_family(out, "coat_shop_time_seconds", "gauge", "seconds", "Shop time since 1970-01-01 UTC.");
    json_out_print(out, "coat_shop_time_seconds %" PRId64 ".%03d\n", now_ms / 1000, (int)(now_ms % 1000));
}

struct coat_counts {
    unsigned status[COAT_STATUS_COUNT];
    unsigned recoat[STATE_COUNT]; /* of the coats that are on */
    unsigned stalled, inspect;
};

static void count_coat(const struct coat_view *view, struct coat_counts *counts)
{
    counts->status[view->status]++;
    if (view->status != COAT_ON)
        return;
    counts->stalled += view->stall != STALL_NONE;
    counts->inspect += view->inspect != INSPECT_NOT;
    for (unsigned i = 0; i < view->stages; i++) {
        if (view->stage[i].stage == STAGE_RECOAT)
            counts->recoat[view->stage[i].state]++;
    }
}

static void count_coats(struct shop *shop, int64_t now_ms, struct coat_counts *counts)
{
    size_t count = 0;
    const struct coat *coats = shop_coats(shop, &count);
    for (size_t i = 0; i < count; i++) {
        struct coat_view view;
        if (shop_coat_view(shop, coats[i].id, now_ms, &view))
            count_coat(&view, counts);
    }
}

static void write_coats(struct json_out *out, const struct coat_counts *counts)
{
    write_family(out, "coat_coats", "gauge", "", "Coats by what became of them.");
    for (unsigned i = 0; i < COAT_STATUS_COUNT; i++)
        json_out_print(out, "coat_coats{status=\"%s\"} %u\n", coat_status_word((enum coat_status)i), counts->status[i]);
    write_family(out, "coat_recoat_windows", "gauge", "", "Recoat windows of coats that are on, by state.");
    for (unsigned i = 0; i < STATE_COUNT; i++)
        json_out_print(out, "coat_recoat_windows{state=\"%s\"} %u\n", state_word((enum state)i), counts->recoat[i]);
    write_family(out, "coat_stalled", "gauge", "", "Coats that the air holds up.");
    json_out_print(out, "coat_stalled %u\n", counts->stalled);
    write_family(out, "coat_inspect", "gauge", "", "Coats that a person must look at.");
    json_out_print(out, "coat_inspect %u\n", counts->inspect);
}

struct place_figure {
    const char *name, *unit, *help;
    double (*value)(const struct air_view *air, int64_t now_ms);
};

static double temperature_of(const struct air_view *air, int64_t now_ms)
{
    (void)now_ms;
    return air->temp_c;
}

static double humidity_of(const struct air_view *air, int64_t now_ms)
{
    (void)now_ms;
    return air->rh_pct / 100.0;
}

static double dew_point_of(const struct air_view *air, int64_t now_ms)
{
    (void)now_ms;
    return air->dew_point_c;
}

static double age_of(const struct air_view *air, int64_t now_ms)
{
    return (double)(now_ms - air->at) / 1000.0;
}

static double assumed_of(const struct air_view *air, int64_t now_ms)
{
    (void)now_ms;
    return air->basis == AIR_MEASURED ? 0.0 : 1.0;
}

static const struct place_figure place_figures[] = {
    {"coat_place_temperature_celsius", "celsius", "Air in a place.", temperature_of},
    {"coat_place_humidity_ratio", "ratio", "Relative humidity in a place.", humidity_of},
    {"coat_place_dew_point_celsius", "celsius", "Dew point in a place.", dew_point_of},
    {"coat_place_reading_age_seconds", "seconds", "Since the last reading of a place.", age_of},
    {"coat_place_air_assumed", "", "1 where the last reading is too old to count.", assumed_of},
};

static void write_place_figure(struct json_out *out, struct shop *shop, int64_t now_ms, const struct place_figure *figure)
{
    size_t count = 0;
    const struct place *places = shop_places(shop, &count);
    write_family(out, figure->name, "gauge", figure->unit, figure->help);
    for (size_t i = 0; i < count; i++) {
        if (places[i].removed_at != MOMENT_NONE)
            continue;
        struct air_view air = shop_air(shop, places[i].id, now_ms);
        if (!air.known)
            continue;
        json_out_print(out, "%s{place=\"", figure->name);
        write_label(out, places[i].name);
        json_out_print(out, "\"} %.6g\n", figure->value(&air, now_ms));
    }
}

static void write_notices(struct json_out *out, const struct shop *shop)
{
    size_t count = 0;
    unsigned pending = 0;
    const struct notice *notices = shop_notices(shop, &count);
    for (size_t i = 0; i < count; i++)
        pending += shop_notice_is_pending(shop, &notices[i]);
    write_family(out, "coat_notices_unacknowledged", "gauge", "", "Notices raised, neither taken back nor put aside.");
    json_out_print(out, "coat_notices_unacknowledged %u\n", pending);
}

void route_metrics(struct http_context *context, const struct http_request *request, struct http_response *response)
{
    struct json_out *out = &response->body;
    struct coat_counts counts = {0};
    int64_t now_ms = http_now_ms(context);
    (void)request;
    response->content_type = METRICS_TYPE;
    write_shop(out, context->shop, now_ms);
    count_coats(context->shop, now_ms, &counts);
    write_coats(out, &counts);
    for (size_t i = 0; i < sizeof place_figures / sizeof *place_figures; i++)
        write_place_figure(out, context->shop, now_ms, &place_figures[i]);
    write_notices(out, context->shop);
    json_out_text(out, "# EOF\n");
}
