/* Writes to the shop itself: its settings and its places. */
#include "daemon/shop/write.h"

#include <math.h>

/* ---- settings ---- */

static enum coat_result check_settings(const struct shop_settings *settings, struct coat_error *error)
{
    const struct choice_check units = {"units", (unsigned)settings->units, UNITS_SYSTEM_COUNT};
    const struct figure_check figures[] = {
        {"lead_closing_min", settings->lead_closing_min, 0, 1440, false, "min"},
        {"quiet_from", settings->quiet_from_min, 0, 1439, false, "min after midnight"},
        {"quiet_to", settings->quiet_to_min, 0, 1439, false, "min after midnight"},
        {"work_from", settings->work_from_min, 0, 1439, false, "min after midnight"},
        {"work_to", settings->work_to_min, 0, 1439, false, "min after midnight"},
        {"morning", settings->morning_min, MORNING_NONE, 1439, false, "min after midnight"},
    };
    enum coat_result result = check_zone(settings->zone, error);
    if (result == COAT_OK)
        result = check_choices(&units, 1, error);
    return result == COAT_OK ? check_figures(figures, sizeof figures / sizeof *figures, error) : result;
}

/* Another lead time or other quiet hours: what was open may be closing now, and nothing else would bring it up. */
static void look_at_all(struct shop *shop)
{
    for (size_t i = 0; i < shop->clocks.count; i++)
        shop->clocks.item[i].dirty = true;
}

enum coat_result shop_set_settings(struct shop *shop, const struct shop_write *write, const struct shop_settings *settings,
                                   struct coat_error *error)
{
    struct shop_settings wanted = *settings;
    enum coat_result result = check_settings(&wanted, error);
    if (result == COAT_OK)
        result = write_begin(shop, error);
    if (result != COAT_OK)
        return result;
    result = store_settings_set(shop->store, &wanted);
    if (result != COAT_OK)
        return write_undone(shop, result, error);
    result = write_commit(shop, write, NULL, 0, error);
    if (result != COAT_OK)
        return result;
    bool hours = shop->settings.quiet_from_min != wanted.quiet_from_min || shop->settings.quiet_to_min != wanted.quiet_to_min;
    if (shop->settings.lead_closing_min != wanted.lead_closing_min || hours)
        look_at_all(shop);
    shop->settings = wanted;
    return write_settle(shop, write, COAT_OK, error);
}

/* ---- places ---- */

static enum coat_result check_place_values(const struct place *place, struct coat_error *error)
{
    const struct choice_check kind = {"kind", (unsigned)place->kind, PLACE_KIND_COUNT};
    const struct figure_check figures[] = {
        {"volume_m3", place->volume_m3, 0.001, 1e5, false, "m3"},
        {"airflow_m3h", place->airflow_m3h, 0, 1e6, false, "m3/h"},
    };
    enum coat_result result = check_choices(&kind, 1, error);
    if (result == COAT_OK)
        result = check_figures(figures, sizeof figures / sizeof *figures, error);
    if (result == COAT_OK && place->airflow_measured && isnan(place->airflow_m3h))
        return coat_fail(error, COAT_BAD_VALUE, "airflow_measured", "how much was measured? Tell the airflow as well");
    const struct choice_check low_exhaust = {"low_exhaust", (unsigned)place->low_exhaust, ANSWER_COUNT};
    if (result == COAT_OK)
        result = check_choices(&low_exhaust, 1, error);
    for (unsigned i = 0; i < PLACE_RISK_COUNT && result == COAT_OK; i++) {
        const struct choice_check answer = {"risks", (unsigned)place->risk[i], ANSWER_COUNT};
        result = check_choices(&answer, 1, error);
    }
    return result;
}

/* Tidies the name, and takes from the record what a client does not tell. */
static enum coat_result check_place_put(const struct shop *shop, int64_t now_ms, struct place *place, struct coat_error *error)
{
    const struct place *before = NULL;
    enum coat_result result = place->id == 0 ? COAT_OK : check_place(shop, "place", place->id, &before, error);
    if (result == COAT_OK)
        result = check_name("name", place->name, sizeof place->name, error);
    if (result == COAT_OK)
        result = check_place_free(shop, place->name, place->id, error);
    if (result == COAT_OK)
        result = check_place_values(place, error);
    place->added_at = before != NULL ? before->added_at : now_ms;
    place->removed_at = MOMENT_NONE;
    return result;
}

/* Fills the id of a new one. */
static enum coat_result record_place(struct shop *shop, const struct shop_write *write, struct place *place, struct coat_error *error)
{
    int64_t id = place->id;
    enum coat_result result = write_begin(shop, error);
    if (result != COAT_OK)
        return result;
    result = id == 0 ? store_place_add(shop->store, place, &id) : store_place_put(shop->store, place);
    if (result != COAT_OK)
        return write_undone(shop, result, error);
    place->id = id;
    return write_commit(shop, write, &id, 1, error);
}

static void place_replace(struct shop *shop, const struct place *place)
{
    for (size_t i = 0; i < shop->places.count; i++)
        if (shop->places.item[i].id == place->id)
            shop->places.item[i] = *place;
}

enum coat_result shop_put_place(struct shop *shop, const struct shop_write *write, const struct place *place, int64_t *ret_id,
                                struct coat_error *error)
{
    struct place wanted = *place;
    bool is_new = place->id == 0;
    enum coat_result result = check_place_put(shop, write->now_ms, &wanted, error);
    if (result == COAT_OK && !LIST_RESERVE(&shop->places))
        result = write_failed(COAT_NO_MEMORY, error);
    if (result == COAT_OK)
        result = record_place(shop, write, &wanted, error);
    if (result != COAT_OK)
        return result;
    *ret_id = wanted.id;
    if (!is_new) {
        place_replace(shop, &wanted);
        return write_settle(shop, write, COAT_OK, error);
    }
    LIST_PUSH(&shop->places, wanted);
    return write_settle(shop, write, model_place_added(shop, wanted.id), error);
}

/* Names of the pieces that hang there, as far as they fit; returns how many hang there. */
static unsigned pieces_in(const struct shop *shop, int64_t place_id, char *list, size_t size)
{
    unsigned count = 0;
    size_t length = 0;
    bool cut = false;
    list[0] = '\0';
    for (size_t i = 0; i < shop->pieces.count; i++) {
        const struct piece *piece = &shop->pieces.item[i];
        if (piece->removed_at != MOMENT_NONE || shop_piece_place(shop, piece->id, INT64_MAX) != place_id)
            continue;
        count++;
        if (cut)
            continue;
        cut = length + strlen(piece->name) + sizeof ", , …" > size;
        length += (size_t)snprintf(list + length, size - length, "%s%s", count == 1 ? "" : ", ", cut ? "…" : piece->name);
    }
    return count;
}

enum coat_result shop_remove_place(struct shop *shop, const struct shop_write *write, int64_t id, struct coat_error *error)
{
    const struct place *place = NULL;
    char names[160];
    enum coat_result result = check_place(shop, "place", id, &place, error);
    if (result != COAT_OK)
        return result;
    if (pieces_in(shop, id, names, sizeof names) > 0)
        return coat_fail(error, COAT_CONFLICT, "place", "in \"%s\" there still hangs: %s. Move it elsewhere first", place->name, names);
    struct place gone = *place;
    gone.removed_at = write->now_ms;
    result = record_place(shop, write, &gone, error);
    if (result != COAT_OK)
        return result;
    place_replace(shop, &gone);
    return write_settle(shop, write, COAT_OK, error);
}
