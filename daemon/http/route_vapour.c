/* What is in the air of a place by the sums, open solvent that is told, and the table of solvents. */
#include "daemon/http/routes.h"
#include "daemon/http/work.h"

/* "cautions" are the codes of the sums already. */
static enum coat_result end_sums(struct work *work)
{
    doc_caution_texts(&work->doc, "caution_texts");
    json_out_object_end(work->doc.out);
    return COAT_OK;
}

static enum coat_result show_vapour(struct work *work)
{
    struct vapour_view view;
    if (!shop_vapour_view(work->shop, work->id, work->now_ms, &view))
        return coat_fail(&work->error, COAT_NOT_FOUND, "", "there is no such place: GET %s lists them", work_place.list);
    json_out_object(work->doc.out);
    doc_vapour(&work->doc, &view);
    return end_sums(work);
}

static enum coat_result release_solvent(struct work *work)
{
    struct json_in *in = &work->in;
    struct solvent_release release = {.place_id = work->id, .at = work->now_ms};
    int64_t id = 0;
    json_in_string(in, "solvent", JSON_REQUIRED, release.what, sizeof release.what);
    json_in_number(in, "amount_ml", JSON_REQUIRED, 0.01, SHOP_RELEASE_MOST_ML, &release.amount_ml);
    work_past(work, "at", &release.at);
    if (json_in_close(in) != COAT_OK)
        return work->error.code;
    enum coat_result result = shop_release_solvent(work->shop, &work->write, &release, &id, &work->error);
    work_made(work, id);
    return result;
}

static void put_release(struct work *work)
{
    size_t count = 0;
    struct json_out *out = work->doc.out;
    const struct solvent_release *releases = shop_releases(work->shop, &count);
    for (size_t i = 0; i < count; i++) {
        if (releases[i].id != work->made[0])
            continue;
        json_put_object(out, "release");
        json_put_int(out, "id", releases[i].id);
        json_put_string(out, "solvent", releases[i].what);
        json_put_number(out, "amount_ml", releases[i].amount_ml, JSON_SHORTEST);
        json_put_moment(out, "at", releases[i].at);
        json_put_moment(out, "entered_at", releases[i].entered_at);
        json_out_object_end(out);
    }
}

static enum coat_result show_released(struct work *work)
{
    struct vapour_view view;
    if (!shop_vapour_view(work->shop, work->id, work->now_ms, &view))
        return COAT_STORE_FAILED;
    json_out_object(work->doc.out);
    put_release(work);
    doc_vapour(&work->doc, &view);
    return end_sums(work);
}

static enum coat_result show_solvents(struct work *work)
{
    unsigned count = 0;
    const struct solvent *table = solvent_table(&count);
    json_out_object(work->doc.out);
    json_put_array(work->doc.out, "items");
    for (unsigned i = 0; i < count; i++)
        doc_solvent(&work->doc, &table[i]);
    json_out_array_end(work->doc.out);
    json_put_string(work->doc.out, "no_design", vapour_deferral);
    json_out_object_end(work->doc.out);
    return COAT_OK;
}

void route_vapour(WORK_ARGUMENTS)
{
    work_read(context, request, response, &work_place, show_vapour);
}

void route_vapour_release(WORK_ARGUMENTS)
{
    static const struct work_plan plan = {201, &work_place, release_solvent, show_released};
    work_write(context, request, response, &plan);
}

void route_solvents_list(WORK_ARGUMENTS)
{
    work_read(context, request, response, NULL, show_solvents);
}
