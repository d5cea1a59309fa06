/* How notices are worded. */
#include "daemon/shop/notice.h"

#include "coat/phrase.h"
#include "coat/quantity.h"

#include <string.h>

struct wording {
    const char *text; /* after "PIECE, STAGE: " */
};

static const struct wording wordings[NOTICE_KIND_COUNT] = {
    [NOTICE_OPENS] = {"may be done now"},
    [NOTICE_CLOSING] = {"about to close; do it now or let it pass"},
    [NOTICE_SHUT] = {"shut; wait"},
    [NOTICE_PREPARE] = {"prepare first"},
    [NOTICE_MISSED] = {"missed"},
    [NOTICE_REACHED] = {"reached"},
    [NOTICE_STALLED] = {"held up by the air"},
    [NOTICE_INSPECT] = {"look at it before going on"},
    [NOTICE_AIR_UNKNOWN] = {"the air is not known; times rest on assumed air"},
    [NOTICE_CORRECTION] = {"told too early: what came in later moves it on; hands off"},
    [NOTICE_MIX_READY] = {"induction is over; stir again, then use it"},
    [NOTICE_POT_LIFE] = {"its pot life is about to end; clean gun and brushes now"},
    [NOTICE_SENSOR_FAULT] = {"says nothing that can be used"},
    [NOTICE_SENSORS_DISAGREE] = {"say different things: try both against a salt test"},
    [NOTICE_LEAVING] = {"before you leave the shop"},
    [NOTICE_MORNING] = {"the day"},
    [NOTICE_SPRAY_HOURS] = {"hours fit to spray are coming"},
    [NOTICE_BAKE_STEP] = {"the bake goes on"},
    [NOTICE_PLAN_SLIPPED] = {"the plan has slipped"},
};

const char *notice_wording(enum notice_kind kind)
{
    return wordings[kind].text;
}

/* What to prepare, where a boundary asks for it. */
static const char *const preparation[SPAN_COUNT] = {
    [SPAN_WIPE] = "wipe with solvent first",
    [SPAN_SCUFF] = "scuff first",
    [SPAN_TEST] = "try the size with a finger",
    [SPAN_STRIP] = "too late; strip and start again",
};
static const char late_unmask[] = "too hard to pull clean: score along the tape first";
static const char late_size[] = "too late to rely on: try it with a finger, or wash off and size again";

static const char *wording_of(const struct notice *notice, const struct material *material)
{
    const struct stage_table *table = &material->stage[notice->stage];
    bool told = notice->kind == NOTICE_PREPARE || notice->kind == NOTICE_MISSED;
    if (told && (unsigned)notice->boundary < table->boundaries) {
        enum span_do then = table->boundary[notice->boundary].then;
        if (notice->stage == STAGE_UNMASK)
            return late_unmask;
        if (notice->stage == STAGE_LEAF && then == SPAN_STRIP)
            return late_size;
        if (preparation[then])
            return preparation[then];
    }
    return wordings[notice->kind].text;
}

bool notice_is_of_coat(const struct notice *notice)
{
    return notice->coat_id != 0;
}

/* ---- what is said with it ---- */

/* Why it does not move on, with the limit. */
static void word_stall(struct shop *shop, size_t index, const struct material *material, int64_t at_ms, char *ret, size_t size)
{
    struct coat_stall stall;
    char limit[32];
    enum units_system units = shop->settings.units;
    if (!coat_stalled(shop, index, at_ms, &stall))
        snprintf(ret, size, "held up by the air");
    else if (stall.why == STALL_COLD)
        snprintf(ret, size, "held up: too cold, it does not cure below %s",
                 quantity_print(QUANTITY_TEMPERATURE, material->min_temp_c, units, limit, sizeof limit));
    else
        snprintf(ret, size, "held up: too damp, it does not cure above %.0f %%", material->max_rh_pct);
}

static void word_inspect(struct shop *shop, size_t index, const struct notice *notice, char *ret, size_t size)
{
    enum inspect why = coat_inspect(shop, index, notice->raised_at);
    snprintf(ret, size, "%s%s%s", inspect_phrase(why), why != INSPECT_NOT ? "; " : "", wordings[NOTICE_INSPECT].text);
}

/* A window's end that is told ahead. One that has not opened yet opens and closes while nobody is to be called. */
static void word_closing(struct shop *shop, size_t index, const struct notice *notice, char *ret, size_t size)
{
    char opens[LOCAL_TEXT_SIZE], closes[LOCAL_TEXT_SIZE];
    struct stage_run run = stage_run_of(&shop->clocks.item[index], notice->stage);
    unsigned boundary = (unsigned)notice->boundary;
    int64_t enters = boundary < run.count ? stage_enters_soonest(&run, boundary) : MOMENT_NONE;
    bool open = stage_current(&run, notice->raised_at) >= boundary; /* past the label's hours the air may still keep it shut */
    shop_local_text(shop, notice->due_at, notice->raised_at, closes);
    if (!open && enters != MOMENT_NONE && enters <= notice->raised_at)
        snprintf(ret, size, "not open yet; may open in the quiet hours, and closes in them at %s", closes);
    else if (boundary > 0 && enters != MOMENT_NONE && enters > notice->raised_at)
        snprintf(ret, size, "may open in the quiet hours, not before %s, and closes in them at %s", shop_local_text(shop, enters, notice->raised_at, opens), closes);
    else
        snprintf(ret, size, "about to close, at %s; do it now or let it pass", closes);
}

static void word_what(struct shop *shop, size_t index, const struct material *material, const struct notice *notice, char *ret, size_t size)
{
    char until[LOCAL_TEXT_SIZE];
    if (notice->kind == NOTICE_STALLED)
        word_stall(shop, index, material, notice->raised_at, ret, size);
    else if (notice->kind == NOTICE_CLOSING)
        word_closing(shop, index, notice, ret, size);
    else if (notice->kind == NOTICE_INSPECT)
        word_inspect(shop, index, notice, ret, size);
    else if (notice->kind == NOTICE_OPENS && notice->until_at != MOMENT_NONE)
        snprintf(ret, size, "%s, until %s", wording_of(notice, material), shop_local_text(shop, notice->until_at, notice->raised_at, until));
    else
        snprintf(ret, size, "%s", wording_of(notice, material));
}

void notice_compose(struct shop *shop, const struct notice *notice, const char *names, bool assumed, const char *act, char *ret, size_t size)
{
    char what[160];
    size_t index = shop_coat_index(shop, notice->coat_id);
    const struct coat *coat = index != SIZE_MAX ? &shop->coats.item[index] : NULL;
    const struct material_version *version = coat ? shop_material_version(shop, coat->material_version_id) : NULL;
    if (!version)
        return;
    word_what(shop, index, &version->material, notice, what, sizeof what);
    const char *test_first = assumed ? ", on assumed air: test first" : "";
    if (act)
        snprintf(ret, size, "%s, %s: %s (%s)%s. %s. The label comes first.", names, stage_word(notice->stage), what, version->material.name, test_first, act);
    else
        snprintf(ret, size, "%s, %s: %s%s", names, stage_word(notice->stage), what, test_first);
}

void notice_word(struct shop *shop, struct notice *notice)
{
    struct caution_set cautions;
    size_t index = shop_coat_index(shop, notice->coat_id);
    const struct piece *piece = index != SIZE_MAX ? shop_piece(shop, shop->coats.item[index].piece_id) : NULL;
    if (!piece)
        return;
    coat_cautions(shop, index, notice->raised_at, &cautions);
    const char *act = cautions.count > 0 ? caution_text(cautions.code[0])->act : "";
    notice_compose(shop, notice, piece->name, notice->assumed, act, notice->text, sizeof notice->text);
}

/* ---- the short of it ---- */

static bool covers(const char *name, const char *text, const char *at)
{
    const char *begin = strchr(name, '.') != NULL ? strstr(text, name) : NULL; /* few have one, and a list of notices asks for all */
    return begin != NULL && begin <= at && at < begin + strlen(name);
}

/* Names may have full stops: "Mill No. 3". */
static bool is_in_name(const struct shop *shop, const char *text, const char *stop)
{
    for (size_t i = 0; i < shop->pieces.count; i++)
        if (covers(shop->pieces.item[i].name, text, stop))
            return true;
    for (size_t i = 0; i < shop->places.count; i++)
        if (covers(shop->places.item[i].name, text, stop))
            return true;
    for (size_t i = 0; i < shop->sensors.count; i++)
        if (covers(shop->sensors.item[i].name, text, stop))
            return true;
    for (size_t i = 0; i < shop->materials.count; i++)
        if (covers(shop->materials.item[i].material.name, text, stop))
            return true;
    return false;
}

size_t notice_first_sentence(const struct shop *shop, const char *text)
{
    const char *stop = strstr(text, ". ");
    while (stop != NULL && is_in_name(shop, text, stop))
        stop = strstr(stop + 1, ". ");
    return stop != NULL ? (size_t)(stop - text) : strlen(text);
}

void notice_cut(const char *text, size_t length, char *ret, size_t size)
{
    if (length >= size)
        for (length = size - 1; length > 0 && ((unsigned char)text[length] & 0xC0u) == 0x80u;)
            length--;
    memcpy(ret, text, length);
    ret[length] = '\0';
}
