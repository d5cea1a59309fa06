#include "daemon/http/work.h"

#include <inttypes.h>
#include <string.h>

static bool has_place(const struct shop *shop, int64_t id)
{
    return shop_place(shop, id) != NULL;
}

static bool has_piece(const struct shop *shop, int64_t id)
{
    return shop_piece(shop, id) != NULL;
}

static bool has_rack(const struct shop *shop, int64_t id)
{
    return shop_rack(shop, id) != NULL;
}

static bool has_material(const struct shop *shop, int64_t id)
{
    return shop_material_newest(shop, id) != NULL || shop_material_removed(shop, id);
}

static bool has_coat(const struct shop *shop, int64_t id)
{
    return shop_coat(shop, id) != NULL;
}

static bool has_tin(const struct shop *shop, int64_t id)
{
    return shop_tin(shop, id) != NULL;
}

static bool has_sensor(const struct shop *shop, int64_t id)
{
    return shop_sensor(shop, id) != NULL;
}

static bool has_channel(const struct shop *shop, int64_t id)
{
    return shop_channel(shop, id) != NULL;
}

static bool has_notice(const struct shop *shop, int64_t id)
{
    return notice_of_id(shop, id) != NULL;
}

static bool has_bake(const struct shop *shop, int64_t id)
{
    return shop_bake(shop, id) != NULL;
}

const struct work_kind work_place = {"place", "/api/v1/places", has_place};
const struct work_kind work_piece = {"piece", "/api/v1/pieces", has_piece};
const struct work_kind work_rack = {"rack", "/api/v1/racks", has_rack};
const struct work_kind work_material = {"material", "/api/v1/materials", has_material};
const struct work_kind work_coat = {"coat", "/api/v1/coats", has_coat};
const struct work_kind work_bake = {"bake", "/api/v1/bakes", has_bake};
const struct work_kind work_tin = {"tin", "/api/v1/tins", has_tin};
const struct work_kind work_sensor = {"sensor", "/api/v1/sensors", has_sensor};
const struct work_kind work_channel = {"channel", "/api/v1/channels", has_channel};
const struct work_kind work_notice = {"notice", "/api/v1/notices", has_notice};

static void open_work(struct work *work, WORK_ARGUMENTS)
{
    *work = (struct work){
        .context = context,
        .request = request,
        .response = response,
        .shop = context->shop,
        .now_ms = http_now_ms(context),
    };
    work->in = json_in_open(request->json, &work->error);
    work->doc = (struct doc){.out = &response->body, .shop = context->shop, .now_ms = work->now_ms};
}

static enum coat_result find_subject(struct work *work, const struct work_kind *kind)
{
    if (kind == NULL)
        return COAT_OK;
    enum coat_result result = http_param_id(work->request, 0, &work->id, &work->error);
    if (result != COAT_OK)
        return result;
    if (!kind->exists(work->shop, work->id))
        return coat_fail(&work->error, COAT_NOT_FOUND, "", "there is no %s %" PRId64 ": GET %s lists them", kind->noun,
                         work->id, kind->list);
    return COAT_OK;
}

static void finish(struct work *work, enum coat_result result)
{
    if (result == COAT_OK && work->doc.failed != COAT_OK)
        result = coat_fail(&work->error, work->doc.failed, "", "%s", coat_result_text(work->doc.failed));
    if (result == COAT_OK)
        return;
    if (work->error.code != result)
        (void)coat_fail(&work->error, result, "", "%s", coat_result_text(result));
    http_problem(work->request, work->response, &work->error);
}

void work_read(WORK_ARGUMENTS, const struct work_kind *kind, work_step show)
{
    struct work work;
    open_work(&work, context, request, response);
    enum coat_result result = find_subject(&work, kind);
    finish(&work, result == COAT_OK ? show(&work) : result);
}

/* COAT_NOT_FOUND: this write was not answered before. */
static enum coat_result find_answer(struct work *work)
{
    int32_t status = 0;
    if (work->write.key == NULL)
        return COAT_NOT_FOUND;
    enum coat_result result =
        shop_answer_find(work->shop, &work->write, &status, work->made, &work->made_count, &work->error);
    if (result == COAT_OK)
        work->write.status = status;
    return result;
}

/* The address was there, so what cannot be found was named in the body: that is a value at fault. */
static enum coat_result execute_once(struct work *work, work_step execute)
{
    enum coat_result result = find_answer(work);
    if (result != COAT_NOT_FOUND)
        return result;
    work->error = (struct coat_error){0};
    result = execute(work);
    if (result != COAT_NOT_FOUND || work->error.field[0] == '\0')
        return result;
    work->error.code = COAT_BAD_VALUE;
    return COAT_BAD_VALUE;
}

void work_write(WORK_ARGUMENTS, const struct work_plan *plan)
{
    struct work work;
    open_work(&work, context, request, response);
    work.write = http_write(context, request, plan->status);
    enum coat_result result = find_subject(&work, plan->kind);
    if (result == COAT_OK)
        result = execute_once(&work, plan->execute);
    if (result == COAT_OK) {
        response->status = work.write.status;
        result = plan->show(&work);
    }
    finish(&work, result);
}

void work_made(struct work *work, int64_t id)
{
    work->made[0] = id;
    work->made_count = 1;
}

int64_t work_subject(const struct work *work)
{
    return work->made_count > 0 ? work->made[0] : work->id;
}

void work_close(struct json_in *inner)
{
    enum coat_result sticks = json_in_close(inner);
    (void)sticks;
}

static bool is_control(unsigned char byte)
{
    return byte < 0x20 || byte == 0x7f;
}

void work_name(struct json_in *in, const char *member, enum json_need need, char *ret, size_t size)
{
    if (!json_in_string(in, member, need, ret, size))
        return;
    size_t length = strlen(ret);
    if (length == 0)
        json_in_fail(in, member, "it is empty: give at least one letter");
    else if (ret[0] == ' ' || ret[length - 1] == ' ')
        json_in_fail(in, member, "\"%s\" begins or ends with a space: leave that out", ret);
    for (size_t i = 0; i < length; i++) {
        if (is_control((unsigned char)ret[i]))
            json_in_fail(in, member, "character %zu is a control character: a name is one line of text", i + 1);
    }
}

#define WORD_SIZE 256

static void read_words(struct json_in *in, const char *member, struct json_in_list *list, struct json_out *out)
{
    char word[WORD_SIZE];
    while (json_in_next_string(list, word, sizeof word)) {
        if (list->index == 1 && word[0] == '\0')
            json_in_fail(in, member, "the first of its words is the program, and it is empty");
        json_out_string(out, word);
    }
}

void work_words(struct json_in *in, const char *member, enum json_need need, unsigned most, char *ret, size_t size)
{
    struct json_in_list list;
    struct json_out out;
    if (!json_in_list(in, member, need, 1, most, &list))
        return;
    json_out_init(&out, size - 1);
    json_out_array(&out);
    read_words(in, member, &list, &out);
    json_out_array_end(&out);
    if (out.failed || out.length >= size)
        json_in_fail(in, member, "it is too long: at most %zu bytes as JSON; put what is longer into a script", size - 1);
    else if (!json_in_failed(in))
        memcpy(ret, out.bytes, out.length + 1);
    json_out_free(&out);
}

/* Scheme and host, up to the path. */
static size_t server_length(const char *address)
{
    const char *host = strstr(address, "://");
    return host != NULL ? (size_t)(host - address) + 3 + strcspn(host + 3, "/") : strlen(address);
}

bool work_same_server(const char *a, const char *b)
{
    size_t length = server_length(a);
    return length == server_length(b) && strncmp(a, b, length) == 0;
}

void work_past(struct work *work, const char *member, int64_t *ret_ms)
{
    int64_t at_ms = 0;
    char now[MOMENT_TEXT_SIZE];
    if (!json_in_moment(&work->in, member, JSON_OPTIONAL, &at_ms))
        return;
    if (at_ms > work->now_ms + WORK_FUTURE_GRACE_MS)
        json_in_fail(&work->in, member, "it lies in the future: it is %s now", moment_print(work->now_ms, now));
    *ret_ms = at_ms;
}

void work_known(struct work *work, struct json_in *in, const char *member, const struct work_kind *kind, int64_t id)
{
    if (!json_in_failed(in) && !kind->exists(work->shop, id))
        json_in_fail(in, member, "there is no %s %" PRId64 ": GET %s lists them", kind->noun, id, kind->list);
}

void work_end_document(struct work *work)
{
    doc_caution_texts(&work->doc, "cautions");
    json_out_object_end(work->doc.out);
}

void work_material_newest(struct work *work, enum json_need need, const struct material_version **ret)
{
    int64_t id = 0;
    if (!json_in_id(&work->in, "material", need, &id))
        return;
    *ret = shop_material_newest(work->shop, id);
    if (*ret == NULL && shop_material_removed(work->shop, id))
        json_in_fail(&work->in, "material", "material %" PRId64 " was taken out of use: choose one that is in use", id);
    else if (*ret == NULL)
        work_known(work, &work->in, "material", &work_material, id);
}
