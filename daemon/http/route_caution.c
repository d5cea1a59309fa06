/* Cautions: all, of one material, or of one kind of work. */
#include "daemon/http/routes.h"
#include "daemon/http/work.h"

#include <string.h>

static const char *const subjects[] = {
    [CAUTION_FOR_COAT] = "coat", [CAUTION_FOR_BAKE] = "bake", [CAUTION_FOR_STRIP] = "strip",
    [CAUTION_FOR_SAND] = "sand", [CAUTION_FOR_SHOP] = "shop",
};

static enum coat_result read_subject(struct work *work, const char *word, enum caution_subject *ret)
{
    for (size_t i = 0; i < sizeof subjects / sizeof *subjects; i++) {
        if (strcmp(subjects[i], word) == 0) {
            *ret = (enum caution_subject)i;
            return COAT_OK;
        }
    }
    return coat_fail(&work->error, COAT_BAD_VALUE, "for", "\"%.40s\" is not known here: use coat, bake, strip, sand or shop",
                     word);
}

static void all_cautions(struct caution_set *ret)
{
    for (unsigned i = 0; i < CAUTION_COUNT; i++)
        ret->code[i] = (enum caution)i;
    ret->count = CAUTION_COUNT;
}

static enum coat_result choose(struct work *work, struct caution_set *ret)
{
    int64_t material_id = 0;
    const char *word = http_query(work->request, "for");
    enum caution_subject subject = CAUTION_FOR_COAT;
    if (http_query_int(work->request, "material", 1, INT64_MAX, &material_id, &work->error) != COAT_OK)
        return work->error.code;
    if (material_id != 0 && !work_material.exists(work->shop, material_id))
        return coat_fail(&work->error, COAT_NOT_FOUND, "material", "there is no such material: GET %s lists them",
                         work_material.list);
    if (word != NULL && read_subject(work, word, &subject) != COAT_OK)
        return work->error.code;
    if (word == NULL && material_id == 0)
        all_cautions(ret);
    else if (subject == CAUTION_FOR_SHOP)
        shop_cautions(work->shop, work->now_ms, ret);
    else
        shop_cautions_for(work->shop, subject, material_id, 0, 0, ret);
    return COAT_OK;
}

static void write_caution(struct json_out *out, enum caution code)
{
    const struct caution_text *text = caution_text(code);
    json_out_object(out);
    json_put_string(out, "code", caution_word(code));
    json_put_string(out, "act", text->act);
    json_put_string(out, "text", text->text);
    json_put_string(out, "when", text->when);
    json_put_string(out, "source", text->source);
    json_out_object_end(out);
}

static enum coat_result show_cautions(struct work *work)
{
    struct json_out *out = work->doc.out;
    struct caution_set set = {0};
    enum coat_result result = choose(work, &set);
    if (result != COAT_OK)
        return result;
    json_out_object(out);
    json_put_array(out, "items");
    for (unsigned i = 0; i < set.count; i++)
        write_caution(out, set.code[i]);
    json_out_array_end(out);
    json_put_string(out, "deferral", caution_deferral);
    json_out_object_end(out);
    return COAT_OK;
}

void route_cautions_list(WORK_ARGUMENTS)
{
    work_read(context, request, response, NULL, show_cautions);
}
