/* Checks against the facts as they stand: names in use, and things that others refer to. */
#include "daemon/shop/check.h"

#include <string.h>

/* ---- names ---- */

bool name_same(const char *a, const char *b)
{
    char key_a[NAME_SIZE], key_b[NAME_SIZE];
    name_fold(a, key_a, sizeof key_a);
    name_fold(b, key_b, sizeof key_b);
    return strcmp(key_a, key_b) == 0;
}

static enum coat_result name_taken(const char *noun, const char *name, struct coat_error *error)
{
    return coat_fail(error, COAT_CONFLICT, "name", "there is a %s \"%s\" already: another name will do", noun, name);
}

enum coat_result check_place_free(const struct shop *shop, const char *name, int64_t id, struct coat_error *error)
{
    for (size_t i = 0; i < shop->places.count; i++) {
        const struct place *other = &shop->places.item[i];
        if (other->id != id && other->removed_at == MOMENT_NONE && name_same(other->name, name))
            return name_taken("place", other->name, error);
    }
    return COAT_OK;
}

enum coat_result check_material_free(const struct shop *shop, const char *name, int64_t id, struct coat_error *error)
{
    for (size_t i = 0; i < shop->materials.count; i++) {
        const struct material_version *other = &shop->materials.item[i];
        bool newest = shop_material_newest(shop, other->material_id) == other; /* NULL where it was removed */
        if (newest && other->material_id != id && name_same(other->material.name, name))
            return name_taken("material", other->material.name, error);
    }
    return COAT_OK;
}

enum coat_result check_piece_free(const struct shop *shop, const char *name, int64_t piece_id, int64_t rack_id, struct coat_error *error)
{
    for (size_t i = 0; i < shop->pieces.count; i++) {
        const struct piece *other = &shop->pieces.item[i];
        if (other->id != piece_id && other->removed_at == MOMENT_NONE && name_same(other->name, name))
            return name_taken("piece", other->name, error);
    }
    for (size_t i = 0; i < shop->racks.count; i++) {
        const struct rack *other = &shop->racks.item[i];
        if (other->id != rack_id && other->removed_at == MOMENT_NONE && name_same(other->name, name))
            return name_taken("rack", other->name, error);
    }
    return COAT_OK;
}

enum coat_result check_tin_free(const struct shop *shop, const char *name, int64_t id, struct coat_error *error)
{
    for (size_t i = 0; i < shop->tins.count; i++) {
        const struct tin *other = &shop->tins.item[i];
        if (other->id != id && other->removed_at == MOMENT_NONE && name_same(other->name, name))
            return name_taken("tin", other->name, error);
    }
    return COAT_OK;
}

/* ---- references ---- */

static enum coat_result not_there(const char *field, const char *noun, int64_t id, struct coat_error *error)
{
    return coat_fail(error, COAT_NOT_FOUND, field, "there is no %s %lld: the list of them tells which there are", noun, (long long)id);
}

static enum coat_result was_removed(const char *field, const char *noun, const char *name, struct coat_error *error)
{
    return coat_fail(error, COAT_NOT_FOUND, field, "the %s \"%s\" was taken out of use: one that is in use will do", noun, name);
}

enum coat_result check_place(const struct shop *shop, const char *field, int64_t id, const struct place **ret, struct coat_error *error)
{
    const struct place *place = shop_place(shop, id);
    if (place == NULL)
        return not_there(field, "place", id, error);
    if (place->removed_at != MOMENT_NONE)
        return was_removed(field, "place", place->name, error);
    *ret = place;
    return COAT_OK;
}

enum coat_result check_piece(const struct shop *shop, const char *field, int64_t id, const struct piece **ret, struct coat_error *error)
{
    const struct piece *piece = shop_piece(shop, id);
    if (piece == NULL)
        return not_there(field, "piece", id, error);
    if (piece->removed_at != MOMENT_NONE)
        return was_removed(field, "piece", piece->name, error);
    *ret = piece;
    return COAT_OK;
}

enum coat_result check_rack(const struct shop *shop, const char *field, int64_t id, const struct rack **ret, struct coat_error *error)
{
    const struct rack *rack = shop_rack(shop, id);
    if (rack == NULL)
        return not_there(field, "rack", id, error);
    if (rack->removed_at != MOMENT_NONE)
        return was_removed(field, "rack", rack->name, error);
    *ret = rack;
    return COAT_OK;
}

enum coat_result check_tin(const struct shop *shop, const char *field, int64_t id, const struct tin **ret, struct coat_error *error)
{
    const struct tin *tin = shop_tin(shop, id);
    if (tin == NULL)
        return not_there(field, "tin", id, error);
    if (tin->removed_at != MOMENT_NONE)
        return was_removed(field, "tin", tin->name, error);
    *ret = tin;
    return COAT_OK;
}

/* *ret: its newest version. */
enum coat_result check_material(const struct shop *shop, const char *field, int64_t id, const struct material_version **ret,
                                struct coat_error *error)
{
    const struct material_version *newest = shop_material_newest(shop, id);
    if (newest == NULL && shop_material_removed(shop, id))
        return coat_fail(error, COAT_NOT_FOUND, field, "material %lld was taken out of use: one that is in use will do", (long long)id);
    if (newest == NULL)
        return not_there(field, "material", id, error);
    *ret = newest;
    return COAT_OK;
}

enum coat_result check_coat(const struct shop *shop, const char *field, int64_t id, const struct coat **ret, struct coat_error *error)
{
    const struct coat *coat = shop_coat(shop, id);
    if (coat == NULL)
        return not_there(field, "coat", id, error);
    *ret = coat;
    return COAT_OK;
}

enum coat_result check_material_version(const struct shop *shop, int64_t version_id, struct coat_error *error)
{
    const struct material_version *version = shop_material_version(shop, version_id);
    if (version == NULL)
        return not_there("material", "version of a material", version_id, error);
    if (shop_material_removed(shop, version->material_id))
        return was_removed("material", "material", version->material.name, error);
    return COAT_OK;
}

enum coat_result check_pieces(const struct shop *shop, const int64_t *piece_ids, size_t count, struct coat_error *error)
{
    if (count == 0 || count > RACK_PIECES_MAX)
        return coat_fail(error, COAT_BAD_VALUE, "pieces", "%zu pieces: 1 to %d will do", count, RACK_PIECES_MAX);
    for (size_t i = 0; i < count; i++) {
        const struct piece *piece = NULL;
        enum coat_result result = check_piece(shop, "pieces", piece_ids[i], &piece, error);
        if (result != COAT_OK)
            return result;
        for (size_t k = 0; k < i; k++)
            if (piece_ids[k] == piece_ids[i])
                return coat_fail(error, COAT_BAD_VALUE, "pieces", "\"%s\" is told twice: each piece once will do", piece->name);
    }
    return COAT_OK;
}

/* ---- areas ---- */

static enum coat_result no_such_area(const struct piece *piece, const char *area, struct coat_error *error)
{
    char list[AREAS_MAX * (AREA_SIZE + 2)] = "";
    size_t length = 0;
    for (unsigned i = 0; i < piece->areas && length < sizeof list; i++)
        length += (size_t)snprintf(list + length, sizeof list - length, "%s%s", i == 0 ? "" : ", ", piece->area[i]);
    return coat_fail(error, COAT_BAD_VALUE, "area", "\"%s\" has no area \"%s\": none, or one of these will do: %s", piece->name, area, list);
}

enum coat_result check_area(const struct piece *piece, char area[AREA_SIZE], struct coat_error *error)
{
    enum coat_result result = check_text("area", area, AREA_SIZE, error);
    if (result != COAT_OK || area[0] == '\0' || piece->areas == 0)
        return result;
    for (unsigned i = 0; i < piece->areas; i++) {
        if (!name_same(piece->area[i], area))
            continue;
        memcpy(area, piece->area[i], AREA_SIZE);
        return COAT_OK;
    }
    return no_such_area(piece, area, error);
}
