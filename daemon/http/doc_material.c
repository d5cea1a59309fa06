#include "daemon/http/doc.h"

#include <math.h>

const struct material_version *doc_material_last(const struct doc *doc, int64_t material_id)
{
    size_t count = 0;
    const struct material_version *versions = shop_materials(doc->shop, &count);
    const struct material_version *last = NULL;
    for (size_t i = 0; i < count; i++) {
        if (versions[i].material_id == material_id)
            last = &versions[i];
    }
    return last;
}

static bool is_disputed(const struct material *material)
{
    for (unsigned s = 0; s < STAGE_COUNT; s++) {
        for (unsigned b = 0; b < material->stage[s].boundaries; b++) {
            if (material->stage[s].boundary[b].disputed)
                return true;
        }
    }
    return false;
}

static void write_name(struct json_out *out, const struct material *material)
{
    json_put_string(out, "name", material->name);
    json_put_string(out, "class", material_class_word(material->material_class));
    json_put_string(out, "role", role_word(material->usual_role));
    json_put_string(out, "application", application_word(material->application));
    json_put_bool(out, "builtin", material->builtin);
    json_put_bool(out, "disputed", is_disputed(material));
}

void doc_material_named(struct doc *doc, const struct material_version *version)
{
    struct json_out *out = doc->out;
    const struct material_version *newest = doc_material_last(doc, version->material_id);
    json_put_object(out, "material");
    json_put_int(out, "id", version->material_id);
    json_put_int(out, "version", version->version);
    json_put_bool(out, "newest", newest == NULL || newest->version == version->version);
    json_put_string(out, "name", version->material.name);
    json_put_string(out, "class", material_class_word(version->material.material_class));
    json_put_bool(out, "builtin", version->material.builtin);
    json_out_object_end(out);
}

void doc_material_brief(struct doc *doc, const struct material_version *version)
{
    struct json_out *out = doc->out;
    json_out_object(out);
    json_put_int(out, "id", version->material_id);
    json_put_int(out, "version", version->version);
    write_name(out, &version->material);
    json_put_number(out, "film_um", version->material.film_um, JSON_SHORTEST);
    json_put_string(out, "thinner", version->material.thinner[0] != '\0' ? version->material.thinner : NULL);
    json_out_object_end(out);
}

static void write_rows(struct json_out *out, const char *key, const struct cure_row *rows, unsigned count)
{
    json_put_array(out, key);
    for (unsigned i = 0; i < count; i++) {
        json_out_object(out);
        json_put_number(out, "temp_c", rows[i].temp_c, JSON_SHORTEST);
        json_put_number(out, "hours", rows[i].hours, JSON_SHORTEST);
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

static void write_boundary(struct json_out *out, const struct stage_boundary *boundary)
{
    json_out_object(out);
    json_put_string(out, "then", span_do_word(boundary->then));
    write_rows(out, "rows", boundary->row, boundary->rows);
    json_put_number(out, "label_h", boundary->label_h, JSON_SHORTEST);
    json_put_string(out, "basis", basis_word(boundary->basis));
    json_put_bool(out, "disputed", boundary->disputed);
    json_put_string(out, "source", boundary->source);
    json_out_object_end(out);
}

static void write_stage_tables(struct json_out *out, const struct material *material)
{
    json_put_array(out, "stages");
    for (unsigned s = 0; s < STAGE_COUNT; s++) {
        const struct stage_table *table = &material->stage[s];
        if (table->boundaries == 0)
            continue;
        json_out_object(out);
        json_put_string(out, "stage", stage_word((enum stage)s));
        json_put_string(out, "first", span_do_word(table->first));
        json_put_array(out, "boundaries");
        for (unsigned b = 0; b < table->boundaries; b++)
            write_boundary(out, &table->boundary[b]);
        json_out_array_end(out);
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

static void write_law(struct json_out *out, const struct material *material)
{
    char limits_text[MATERIAL_LIMITS_TEXT_SIZE];
    material_limits_text(material, limits_text);
    json_put_string(out, "rule", humidity_rule_word(material->rule));
    json_put_number(out, "ref_rh_pct", material->ref_rh_pct, JSON_SHORTEST);
    json_put_number(out, "doubling_c", material->doubling_c, JSON_SHORTEST);
    json_put_string(out, "doubling_basis", basis_word(material->doubling_basis));
    json_put_object(out, "limits");
    json_put_number(out, "min_temp_c", material->min_temp_c, JSON_SHORTEST);
    json_put_number(out, "max_temp_c", material->max_temp_c, JSON_SHORTEST);
    json_put_number(out, "max_rh_pct", material->max_rh_pct, JSON_SHORTEST);
    json_out_object_end(out);
    json_put_string(out, "limits_source", limits_text);
    json_put_object(out, "film");
    json_put_number(out, "dry_um", material->film_um, JSON_SHORTEST);
    json_put_number(out, "exponent", material->film_exponent, JSON_SHORTEST);
    json_put_number(out, "solids_pct", material->solids_pct, JSON_SHORTEST);
    json_out_object_end(out);
    json_put_string(out, "guard", stage_word(material->guard));
}

static void write_hazards(struct json_out *out, const struct material *material)
{
    json_put_object(out, "hazards");
    for (unsigned i = 0; i < HAZARD_COUNT; i++)
        json_put_string(out, hazard_word((enum hazard)i), answer_word(material->hazard[i]));
    json_out_object_end(out);
    json_put_array(out, "hazards_counted");
    for (unsigned i = 0; i < HAZARD_COUNT; i++) {
        if (material_hazard(material, (enum hazard)i))
            json_out_string(out, hazard_word((enum hazard)i));
    }
    json_out_array_end(out);
}

/* What was told, and what counts for vapour: where nobody told, the worst of the class, and so said. */
static void write_composition(struct json_out *out, const struct material *material)
{
    char solvents[SOLVENT_MIX_TEXT_SIZE];
    struct material_makeup makeup;
    material_makeup(material, &makeup);
    bool untold = !(makeup.told && makeup.share_told);
    json_put_object(out, "composition");
    json_put_string(out, "solvent", material->solvent[0] != '\0' ? material->solvent : NULL);
    json_put_number(out, "solvent_pct", material->solvent_pct, JSON_SHORTEST);
    json_out_object_end(out);
    json_put_object(out, "composition_counted");
    json_put_bool(out, "told", !untold);
    json_put_string(out, "solvent", solvent_mix_print(&makeup.solvent, solvents, sizeof solvents));
    json_put_number(out, "solvent_pct", makeup.solvent_pct, JSON_SHORTEST);
    json_put_string(out, "propellant", solvent_mix_print(&makeup.propellant, solvents, sizeof solvents));
    json_put_number(out, "propellant_pct", makeup.propellant_pct, JSON_SHORTEST);
    json_put_string(out, "note", untold ? "composition not told: the worst of its class" : "as its safety data sheet tells");
    json_put_string(out, "basis", basis_word(untold ? makeup.basis : BASIS_LABEL));
    json_put_string(out, "source", untold ? makeup.source : "");
    json_out_object_end(out);
}

/* So long at a temperature, in one shape with the rows; null where nobody told. */
void doc_too_long(struct json_out *out, const char *key, const struct material *material)
{
    if (isnan(material->bake_too_long_h)) {
        json_put_null(out, key);
        return;
    }
    json_put_object(out, key);
    json_put_number(out, "temp_c", material->bake_too_long_c, JSON_SHORTEST);
    json_put_number(out, "hours", material->bake_too_long_h, JSON_SHORTEST);
    json_out_object_end(out);
}

static void write_bake(struct json_out *out, const struct material *material)
{
    write_rows(out, "bake", material->bake_row, material->bake_rows);
    json_put_string(out, "bake_source", material->bake_source);
    json_put_object(out, "bake_limits");
    json_put_number(out, "too_hot_c", material->bake_too_hot_c, JSON_SHORTEST);
    doc_too_long(out, "too_long", material);
    json_out_object_end(out);
}

static void put_lead(struct doc *doc, int64_t material_id)
{
    int32_t lead_min = shop_material_lead_min(doc->shop, material_id);
    if (lead_min < 0)
        json_put_null(doc->out, "lead_closing_min");
    else
        json_put_int(doc->out, "lead_closing_min", lead_min);
}

void doc_material(struct doc *doc, const struct material_version *version)
{
    struct json_out *out = doc->out;
    const struct material *material = &version->material;
    json_out_object(out);
    json_put_int(out, "id", version->material_id);
    json_put_int(out, "version", version->version);
    json_put_int(out, "version_id", version->id);
    json_put_moment(out, "entered_at", version->entered_at);
    json_put_bool(out, "removed", shop_material_removed(doc->shop, version->material_id));
    put_lead(doc, version->material_id);
    write_name(out, material);
    write_law(out, material);
    write_stage_tables(out, material);
    write_bake(out, material);
    json_put_string(out, "thinner", material->thinner[0] != '\0' ? material->thinner : NULL);
    json_put_bool(out, "closes_by_hottest", material->closes_by_hottest);
    json_put_number(out, "induction_min", material->induction_min, JSON_SHORTEST);
    json_put_string(out, "induction_source", material_induction_source(material));
    json_put_number(out, "pot_life_min", material->pot_life_min, JSON_SHORTEST);
    json_put_string(out, "pot_life_source", material_pot_life_source(material));
    write_composition(out, material);
    write_hazards(out, material);
    json_out_object_end(out);
}
