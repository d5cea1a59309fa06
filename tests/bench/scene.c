/* A shop to measure: believable air, pieces and coats. */
#include "tests/bench/bench.h"

#include <math.h>
#include <string.h>

/* splitmix64, public domain: the same air each time. */
static double noise(uint64_t *state)
{
    uint64_t z = (*state += UINT64_C(0x9E3779B97F4A7C15));
    z = (z ^ (z >> 30)) * UINT64_C(0xBF58476D1CE4E5B9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94D049BB133111EB);
    z ^= z >> 31;
    return (double)(z >> 11) / 9007199254740992.0 - 0.5;
}

/* A sensor gives hundredths. */
static int32_t hundredths(double value)
{
    return (int32_t)lround(value * 100.0) * 10;
}

struct reading *bench_year(void)
{
    struct reading *year = malloc(YEAR_MINUTES * sizeof *year);
    uint64_t state = 8262;
    double drift = 0.0, damp = 0.0;
    MUST(year != NULL);
    for (int i = 0; i < YEAR_MINUTES; i++) {
        double day = i / 1440.0, season = cos(2.0 * M_PI * (day - 90.0) / 365.0), hour = cos(2.0 * M_PI * (day - 0.1));
        bool heated = season > 0.2 && fmod(day, 1.0) > 0.6;
        drift += 0.03 * noise(&state) - 0.002 * drift;
        damp += 0.15 * noise(&state) - 0.002 * damp;
        double temp_c = 16.0 - 7.0 * season - 2.5 * hour + (heated ? 6.0 : 0.0) + drift;
        double rh_pct = 58.0 + 8.0 * season + 6.0 * hour - (heated ? 10.0 : 0.0) + damp;
        year[i] = (struct reading){YEAR_START_MS + i * INT64_C(60000), hundredths(temp_c),
                                   hundredths(fmin(fmax(rh_pct, 15.0), 97.0)), 900};
    }
    return year;
}

struct shop *bench_shop_open(const char *file, int64_t now_ms)
{
    struct store *store;
    struct shop *shop;
    MUST(store_open(file, now_ms, &store, NULL) == COAT_OK);
    MUST(shop_open(store, now_ms, &shop, NULL) == COAT_OK);
    return shop;
}

int64_t bench_place(struct shop *shop, int64_t now_ms, const char *name)
{
    struct shop_write write = {.now_ms = now_ms, .status = 201};
    struct place place = {.kind = PLACE_ROOM, .volume_m3 = (double)NAN, .airflow_m3h = (double)NAN, .removed_at = MOMENT_NONE};
    int64_t id = 0;
    snprintf(place.name, sizeof place.name, "%s", name);
    MUST(shop_put_place(shop, &write, &place, &id, NULL) == COAT_OK);
    return id;
}

int64_t bench_piece(struct shop *shop, int64_t now_ms, int64_t number, int64_t place_id)
{
    struct shop_write write = {.now_ms = now_ms, .status = 201};
    struct piece piece = {.mass_kg = (double)NAN, .wall_mm = (double)NAN, .removed_at = MOMENT_NONE};
    int64_t id = 0;
    snprintf(piece.name, sizeof piece.name, "fan blade no. %lld", (long long)number);
    MUST(shop_put_piece(shop, &write, &piece, place_id, &id, NULL) == COAT_OK);
    return id;
}

const struct material_version *bench_material(const struct shop *shop, enum material_class wanted)
{
    size_t count;
    const struct material_version *version = shop_materials(shop, &count), *found = NULL;
    for (size_t i = 0; i < count; i++)
        if (version[i].material.builtin && version[i].material.material_class == wanted)
            found = &version[i];
    MUST(found != NULL);
    return found;
}

int64_t bench_coat(struct shop *shop, int64_t now_ms, int64_t at_ms, int64_t piece_id, int64_t material_version_id)
{
    struct shop_write write = {.now_ms = now_ms, .status = 201};
    struct coat coat = {.material_version_id = material_version_id,
                        .role = ROLE_ENAMEL,
                        .application = APPLY_BRUSH,
                        .first_at = at_ms,
                        .last_at = at_ms,
                        .passes = 1,
                        .film = FILM_NORMAL,
                        .wet_um = (double)NAN,
                        .dry_um = (double)NAN,
                        .amount_ml = (double)NAN,
                        .thinned_pct = (double)NAN,
                        .struck_at = MOMENT_NONE};
    int64_t id = 0;
    MUST(shop_log_coats(shop, &write, &coat, &piece_id, 1, 0, NULL, &id, NULL) == COAT_OK);
    return id;
}
