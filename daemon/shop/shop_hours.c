/* The shop's hours and leads, on the clocks of its zone. */
#include "daemon/shop/model.h"

#include <stdio.h>

void shop_use_zone(struct shop *shop, int64_t (*zone_offset_ms)(const char *zone, int64_t at_ms))
{
    shop->zone_offset_ms = zone_offset_ms;
}

struct local_zone shop_zone(const struct shop *shop)
{
    return (struct local_zone){shop->settings.zone, shop->zone_offset_ms};
}

struct day_hours shop_quiet_hours(const struct shop *shop)
{
    return (struct day_hours){shop->settings.quiet_from_min, shop->settings.quiet_to_min};
}

int32_t shop_material_lead_min(const struct shop *shop, int64_t material_id)
{
    for (size_t i = 0; i < shop->leads.count; i++)
        if (shop->leads.item[i].material_id == material_id)
            return shop->leads.item[i].lead_closing_min;
    return -1;
}

int64_t coat_lead_ms(const struct shop *shop, const struct coat *coat)
{
    const struct material_version *version = shop->leads.count > 0 ? shop_material_version(shop, coat->material_version_id) : NULL;
    int32_t own = version ? shop_material_lead_min(shop, version->material_id) : -1;
    return (own >= 0 ? own : shop->settings.lead_closing_min) * MS_PER_MIN;
}

int64_t coat_closing_told_at(const struct shop *shop, const struct coat *coat, int64_t closes_at)
{
    struct local_zone zone = shop_zone(shop);
    return closing_told_at(&zone, shop_quiet_hours(shop), coat_lead_ms(shop, coat), closes_at);
}

char *shop_local_text(const struct shop *shop, int64_t at_ms, int64_t now_ms, char text[LOCAL_TEXT_SIZE])
{
    static const char *const days[] = {"Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"};
    struct local_zone zone = shop_zone(shop);
    int64_t offset = zone.offset_ms ? zone.offset_ms(zone.name, at_ms) : 0;
    int64_t now_offset = zone.offset_ms ? zone.offset_ms(zone.name, now_ms) : 0;
    struct civil_time local = moment_civil(at_ms + offset);
    bool today = moment_day(at_ms + offset) == moment_day(now_ms + now_offset);
    snprintf(text, LOCAL_TEXT_SIZE, "%s%s%02d:%02d", today ? "" : days[local.weekday % 7], today ? "" : " ", local.hour % 100, local.minute % 100);
    return text;
}

int64_t shop_longest_lead_ms(const struct shop *shop)
{
    int32_t longest = shop->settings.lead_closing_min;
    for (size_t i = 0; i < shop->leads.count; i++)
        if (shop->leads.item[i].lead_closing_min > longest)
            longest = shop->leads.item[i].lead_closing_min;
    bool quiet = shop->settings.quiet_from_min != shop->settings.quiet_to_min;
    return quiet ? 2 * longest * MS_PER_MIN + MS_PER_DAY : longest * MS_PER_MIN;
}
