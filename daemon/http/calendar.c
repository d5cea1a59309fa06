#include "daemon/http/calendar.h"

#include "daemon/http/ack_link.h"
#include "daemon/http/calendar_events.h"
#include "daemon/http/ical.h"

#include "coat/hours.h"
#include "coat/phrase.h"

#include <inttypes.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#define TEXT_SIZE 4096
#define PIECES_IN_SUMMARY 3
#define PIECES_NAMED 20
#define SEQUENCE_MASK 0x7FFFFFFF /* an integer of RFC 5545, 3.3.8, has 32 bits with its sign */
#define MIX_LEAD_MS (30 * MS_PER_MIN)
#define FETCH_EVERY_MIN 15

/* A text that grows; what does not fit is cut. */
struct text {
    size_t length;
    char data[TEXT_SIZE];
};

static void say(struct text *text, const char *format, ...) __attribute__((format(printf, 2, 3)));
static void say(struct text *text, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    int more = vsnprintf(text->data + text->length, sizeof text->data - text->length, format, arguments);
    va_end(arguments);
    if (more > 0)
        text->length += (size_t)more < sizeof text->data - text->length ? (size_t)more : sizeof text->data - text->length - 1;
}

/* What every event of a document shares. */
struct writer {
    struct doc *doc;
    struct local_zone zone;
    struct day_hours quiet;
    int64_t stamped_at;
    char shop[SHOP_TAG_SIZE];
};

/* One event as it is written. */
struct moment {
    char uid[96];
    struct text summary, description;
    const char *location; /* NULL: none, or several */
    int64_t at;
    bool tentative;
    bool alarmed;
    int64_t alarm_at;
};

/* ---- writing ---- */

/* Whole minutes: one that waits for the end of quiet hours does not come before it, one that has a lead before it has all of it. */
static int64_t minutes_on(int64_t ms)
{
    return ms > 0 ? (ms + MS_PER_MIN - 1) / MS_PER_MIN : -((-ms + MS_PER_MIN - 1) / MS_PER_MIN);
}

/* Whole seconds, on the safe side: an opening is never early, a closing never late. */
static int64_t safe_second(int64_t at_ms, bool closes)
{
    int64_t within = at_ms % MS_PER_S;
    return at_ms - within + (closes || within == 0 ? 0 : MS_PER_S);
}

static void put_alarm(struct json_out *out, const struct moment *moment, const struct caution_set *cautions)
{
    struct text text = {0};
    say(&text, "%s.", moment->summary.data);
    for (unsigned i = 0; i < cautions->count; i++)
        say(&text, " %s.", caution_text(cautions->code[i])->act);
    ical_begin(out, "VALARM");
    ical_put_raw(out, "ACTION", "DISPLAY");
    ical_put_text(out, "DESCRIPTION", text.data);
    ical_put_minutes(out, "TRIGGER", minutes_on(moment->alarm_at - moment->at));
    ical_end(out, "VALARM");
}

/* It has no length: who plans a moment is not kept busy by it. */
static void put_event(const struct writer *writer, struct moment *moment, const struct caution_set *cautions)
{
    struct json_out *out = writer->doc->out;
    for (unsigned i = 0; i < cautions->count; i++)
        say(&moment->description, "%s%s.", i == 0 ? "\n" : " ", caution_text(cautions->code[i])->act);
    say(&moment->description, "\n%s", caution_deferral);
    ical_begin(out, "VEVENT");
    ical_put_text(out, "UID", moment->uid);
    ical_put_moment(out, "DTSTAMP", writer->stamped_at);
    ical_put_moment(out, "LAST-MODIFIED", writer->stamped_at);
    ical_put_int(out, "SEQUENCE", shop_revision(writer->doc->shop) & SEQUENCE_MASK);
    ical_put_moment(out, "DTSTART", moment->at);
    ical_put_text(out, "SUMMARY", moment->summary.data);
    ical_put_text(out, "DESCRIPTION", moment->description.data);
    if (moment->location != NULL)
        ical_put_text(out, "LOCATION", moment->location);
    ical_put_raw(out, "STATUS", moment->tentative ? "TENTATIVE" : "CONFIRMED");
    ical_put_raw(out, "TRANSP", "TRANSPARENT");
    if (moment->alarmed)
        put_alarm(out, moment, cautions);
    ical_end(out, "VEVENT");
}

/* ---- alarms ---- */

/* Quiet hours have a closing that falls into them told before they begin. */
static void set_alarm_of_closing(const struct writer *writer, struct moment *moment, int64_t lead_ms)
{
    moment->at = safe_second(moment->at, true);
    moment->alarmed = moment->at > writer->doc->now_ms;
    moment->alarm_at = closing_told_at(&writer->zone, writer->quiet, lead_ms, moment->at);
}

/* They hold back an opening: it has come when it rings, unless it is over by then. `ends_at`: of what it opens; MOMENT_NONE. */
static void set_alarm_of_opening(const struct writer *writer, struct moment *moment, int64_t ends_at)
{
    moment->at = safe_second(moment->at, false);
    moment->alarm_at = hours_end(&writer->zone, writer->quiet, moment->at);
    moment->alarmed = moment->alarm_at > writer->doc->now_ms && (ends_at == MOMENT_NONE || ends_at > moment->alarm_at);
}

/* Of what quiet hours do not hold back (notice_breaks_quiet): whoever mixed or bakes is there. */
static void set_alarm_anyway(const struct writer *writer, struct moment *moment, bool closes, int64_t lead_ms)
{
    moment->at = safe_second(moment->at, closes);
    moment->alarmed = moment->at > writer->doc->now_ms;
    moment->alarm_at = moment->at - lead_ms;
}

static int64_t lead_ms(const struct doc *doc, int64_t version_id)
{
    const struct material_version *version = shop_material_version(doc->shop, version_id);
    int32_t lead_min = version != NULL ? shop_material_lead_min(doc->shop, version->material_id) : -1;
    return (lead_min >= 0 ? lead_min : shop_settings_now(doc->shop)->lead_closing_min) * MS_PER_MIN;
}

/* ---- coats ---- */

/* What the moment means, by what is to be done from it on. */
static const char *const phrase_opens[SPAN_COUNT] = {
    [SPAN_WAIT] = "shut", [SPAN_GO] = "may be done", [SPAN_WIPE] = "may be done after a solvent wipe",
    [SPAN_SCUFF] = "may be done after scuffing", [SPAN_STRIP] = "too late; strip it", [SPAN_TEST] = "try it with a finger",
};
static const char *const phrase_closes[SPAN_COUNT] = {
    [SPAN_WAIT] = "shuts", [SPAN_GO] = "goes on", [SPAN_WIPE] = "ends; after this wipe with solvent first",
    [SPAN_SCUFF] = "ends; after this scuff first", [SPAN_STRIP] = "ends; after this it must be stripped",
    [SPAN_TEST] = "ends; after this try it with a finger",
};

/* NULL: as any other. */
static const char *phrase_of_late(const struct calendar_event *event)
{
    bool tape = span_is_late_tape(event->stage, event->then);
    if (!tape && !span_is_late_size(event->stage, event->then))
        return NULL;
    if (event->kind != CALENDAR_CLOSES)
        return span_do_phrase(event->stage, event->then);
    return tape ? "ends; after this score along the tape first" : "ends; after this do not rely on it";
}

static const char *phrase_of(const struct calendar_event *event)
{
    if (event->kind == CALENDAR_REACHED)
        return event->passed ? "reached" : "will be reached";
    const char *late = phrase_of_late(event);
    if (late != NULL)
        return late;
    return event->kind == CALENDAR_OPENS ? phrase_opens[event->then] : phrase_closes[event->then];
}

static void say_piece(const struct doc *doc, struct text *text, const struct calendar_event *event)
{
    const struct piece *piece = shop_piece(doc->shop, event->piece_id);
    const struct coat *coat = shop_coat(doc->shop, event->coat_id);
    say(text, "%s", piece != NULL ? piece->name : "?");
    if (coat != NULL && coat->area[0] != '\0')
        say(text, ", %s", coat->area);
}

static void say_pieces(const struct doc *doc, struct text *text, const struct calendar_event *events, size_t count, size_t most)
{
    for (size_t i = 0; i < count && i < most; i++) {
        say(text, "%s", i > 0 ? "; " : "");
        say_piece(doc, text, &events[i]);
    }
    if (count > most)
        say(text, " and %zu more", count - most);
}

static void say_summary(const struct doc *doc, struct text *text, const struct calendar_event *events, size_t count)
{
    if (count > PIECES_IN_SUMMARY)
        say(text, "%zu pieces", count);
    else
        say_pieces(doc, text, events, count, PIECES_IN_SUMMARY);
    say(text, ": %s %s", stage_word(events->stage), phrase_of(events));
    if (events->kind != CALENDAR_CLOSES && !events->passed)
        say(text, " (not before)");
}

static const char *const certainty[] = {
    [CALENDAR_OPENS] = "Not before this moment: by the air so far and the air to come it may be sooner, and is not counted on.",
    [CALENDAR_CLOSES] = "The earliest that it may end, by the air so far and the air to come: be done before it.",
    [CALENDAR_REACHED] = "Not before this moment: by the air so far and the air to come it may be sooner, and is not counted on.",
};

static void say_description(const struct doc *doc, struct text *text, const struct calendar_event *events, size_t count, bool assumed)
{
    const struct material_version *version = shop_material_version(doc->shop, events->version_id);
    say_pieces(doc, text, events, count, PIECES_NAMED);
    say(text, "\n%s, coat", version != NULL ? version->material.name : "?");
    for (size_t i = 0; i < count && i < PIECES_NAMED; i++)
        say(text, "%s %" PRId64, i > 0 ? "," : "", events[i].coat_id);
    say(text, ". %s", events->passed ? "It has come." : certainty[events->kind]);
    if (assumed)
        say(text, " On assumed air: test first.");
    if (events->disputed)
        say(text, " Sources differ: read the can.");
}

/* The place of all of them; NULL where they hang in several. */
static const char *place_of(const struct doc *doc, const struct calendar_event *events, size_t count)
{
    int64_t place_id = shop_piece_place(doc->shop, events->piece_id, doc->now_ms);
    const struct place *place = shop_place(doc->shop, place_id);
    for (size_t i = 1; i < count; i++) {
        if (shop_piece_place(doc->shop, events[i].piece_id, doc->now_ms) != place_id)
            return NULL;
    }
    return place != NULL ? place->name : NULL;
}

static void merge_cautions(struct doc *doc, const struct calendar_event *events, size_t count, struct caution_set *ret)
{
    for (size_t i = 0; i < count; i++) {
        struct coat_view view;
        if (shop_coat_view(doc->shop, events[i].coat_id, doc->now_ms, &view))
            cautions_merge(ret, &view.cautions);
    }
}

static void write_group(const struct writer *writer, const struct calendar_event *events, size_t count)
{
    struct doc *doc = writer->doc;
    struct caution_set cautions = {0};
    struct moment moment = {.at = events->at, .location = place_of(doc, events, count)};
    bool closes = events->kind == CALENDAR_CLOSES;
    int64_t ends_at = events->ends_at;
    for (size_t i = 0; i < count; i++) {
        if (events[i].ends_at != MOMENT_NONE && (ends_at == MOMENT_NONE || events[i].ends_at < ends_at))
            ends_at = events[i].ends_at;
        if (closes ? events[i].at < moment.at : events[i].at > moment.at)
            moment.at = events[i].at;
        moment.tentative = moment.tentative || events[i].assumed;
    }
    merge_cautions(doc, events, count, &cautions);
    snprintf(moment.uid, sizeof moment.uid, "piece-%" PRId64 "-coat-%" PRId64 "-%s-%u@%s.coatwright", events->piece_id, events->coat_id,
             stage_word(events->stage), events->boundary + 1, writer->shop);
    say_summary(doc, &moment.summary, events, count);
    say_description(doc, &moment.description, events, count, moment.tentative);
    if (closes)
        set_alarm_of_closing(writer, &moment, lead_ms(doc, events->version_id));
    else
        set_alarm_of_opening(writer, &moment, ends_at);
    moment.alarmed = moment.alarmed && events->kind != CALENDAR_REACHED;
    put_event(writer, &moment, &cautions);
}

static size_t write_coats(const struct writer *writer)
{
    struct calendar_events events;
    enum coat_result result = calendar_events_make(writer->doc, &events);
    if (result != COAT_OK)
        writer->doc->failed = result;
    for (size_t from = 0, to = 0; from < events.count; from = to) {
        while (to < events.count && events.item[to].group == events.item[from].group)
            to++;
        write_group(writer, &events.item[from], to - from);
    }
    size_t count = events.count;
    calendar_events_free(&events);
    return count;
}

/* ---- mixes ---- */

/* As the notice of its end: half an hour before, or a quarter of a short pot life. */
static int64_t mix_lead_ms(const struct mix_view *view)
{
    int64_t quarter = (view->use_by_at - view->mix->mixed_at) / 4;
    return quarter < MIX_LEAD_MS ? quarter : MIX_LEAD_MS;
}

static size_t write_mix_moment(const struct writer *writer, const struct mix_view *view, bool closes)
{
    struct moment moment = {.at = closes ? view->use_by_at : view->ready_at, .tentative = view->basis == AIR_ASSUMED};
    const char *name = view->material->material.name;
    const struct place *place = shop_place(writer->doc->shop, view->mix->place_id);
    if (moment.at == MOMENT_NONE || moment.at < writer->doc->now_ms - CALENDAR_PAST_MS || moment.at > writer->doc->now_ms + CALENDAR_AHEAD_MS)
        return 0;
    moment.location = place != NULL ? place->name : NULL;
    snprintf(moment.uid, sizeof moment.uid, "mix-%" PRId64 "-%s@%s.coatwright", view->mix->id, closes ? "use-by" : "ready", writer->shop);
    say(&moment.summary, "%s, mix %" PRId64 ": %s", name, view->mix->id, closes ? "pot life ends" : "induction over, stir again (not before)");
    say(&moment.description, "%s, mix %" PRId64 ". %s", name, view->mix->id,
        closes ? "Used up by then, and gun and brushes cleaned." : "Not before this moment; stir it again, then use it.");
    set_alarm_anyway(writer, &moment, closes, closes ? mix_lead_ms(view) : 0);
    put_event(writer, &moment, &view->cautions);
    return 1;
}

static size_t write_mixes(const struct writer *writer)
{
    size_t count = 0, written = 0;
    const struct mix *mixes = shop_mixes(writer->doc->shop, &count);
    for (size_t i = count > DOC_MIXES_MOST ? count - DOC_MIXES_MOST : 0; i < count; i++) {
        struct mix_view view;
        if (!shop_mix_view(writer->doc->shop, mixes[i].id, writer->doc->now_ms, &view))
            continue;
        written += write_mix_moment(writer, &view, false);
        written += write_mix_moment(writer, &view, true);
    }
    return written;
}

/* ---- bakes ---- */

/* Neither is early. */
static size_t write_bake_moment(const struct writer *writer, const struct bake_view *view, bool cools)
{
    struct moment moment = {.at = cools ? view->cool_latest_at : view->turn_down_at, .tentative = view->assumed_min > 0.0 || !cools};
    const struct bake *bake = view->bake;
    if (moment.at == MOMENT_NONE || moment.at < writer->doc->now_ms - CALENDAR_PAST_MS || moment.at > writer->doc->now_ms + CALENDAR_AHEAD_MS)
        return 0;
    set_alarm_anyway(writer, &moment, false, 0);
    moment.location = view->place != NULL ? view->place->name : NULL;
    snprintf(moment.uid, sizeof moment.uid, "bake-%" PRId64 "-%s@%s.coatwright", bake->id, cools ? "cool" : "heat-off", writer->shop);
    say(&moment.summary, "Bake %" PRId64 ": %s (not before)", bake->id, cools ? "cool enough to touch" : bake_line_name(BAKE_LINE_HEAT_OFF));
    say(&moment.description, "Bake %" PRId64 ". %s%s %s", bake->id, cools ? "By the slowest that it can cool: hold the back of a hand near it first." :
        "Each part is done then, by the least that it can have had. It moves as the oven is read: stay with it.",
        view->assumed_min > 0.0 ? " Nobody reads the oven: test first." : "", shop_bake_deferral);
    put_event(writer, &moment, &view->cautions);
    return 1;
}

static size_t write_bakes(const struct writer *writer)
{
    size_t count = 0, written = 0;
    const struct bake *bakes = shop_bakes(writer->doc->shop, &count);
    for (size_t i = 0; i < count; i++) {
        struct bake_view view;
        bool over = bakes[i].ended_at != MOMENT_NONE && bakes[i].ended_at < writer->doc->now_ms - CALENDAR_PAST_MS;
        if (bakes[i].started_at == MOMENT_NONE || over || !shop_bake_view(writer->doc->shop, bakes[i].id, writer->doc->now_ms, &view))
            continue;
        if (bakes[i].ended_at == MOMENT_NONE)
            written += write_bake_moment(writer, &view, false);
        written += write_bake_moment(writer, &view, true);
    }
    return written;
}

/* ---- the whole ---- */

/* A calendar has one component at least (RFC 5545, 3.6): the zone that all its moments are in. */
static void put_zone(struct json_out *out)
{
    ical_begin(out, "VTIMEZONE");
    ical_put_raw(out, "TZID", "Etc/UTC");
    ical_begin(out, "STANDARD");
    ical_put_raw(out, "DTSTART", "19700101T000000");
    ical_put_raw(out, "TZOFFSETFROM", "+0000");
    ical_put_raw(out, "TZOFFSETTO", "+0000");
    ical_end(out, "STANDARD");
    ical_end(out, "VTIMEZONE");
}

static void put_head(struct json_out *out, const char *title)
{
    char every[16];
    snprintf(every, sizeof every, "PT%dM", FETCH_EVERY_MIN);
    ical_begin(out, "VCALENDAR");
    ical_put_raw(out, "PRODID", "-//Coatwright//coatd " COAT_VERSION "//EN");
    ical_put_raw(out, "VERSION", "2.0");
    ical_put_raw(out, "CALSCALE", "GREGORIAN");
    ical_put_text(out, "NAME", title);
    ical_put_text(out, "X-WR-CALNAME", title);
    ical_put_raw(out, "REFRESH-INTERVAL;VALUE=DURATION", every);
    ical_put_raw(out, "X-PUBLISHED-TTL", every);
}

void calendar_write(struct doc *doc, const char *title)
{
    const struct shop_settings *settings = shop_settings_now(doc->shop);
    struct writer writer = {
        .doc = doc,
        .zone = {settings->zone, doc_zone_offset_ms},
        .quiet = {settings->quiet_from_min, settings->quiet_to_min},
        .stamped_at = calendar_stamp(doc->now_ms),
    };
    if (!shop_tag(doc->shop, writer.shop)) {
        doc->failed = COAT_NO_MEMORY;
        return;
    }
    put_head(doc->out, title);
    size_t events = write_coats(&writer) + write_mixes(&writer) + write_bakes(&writer);
    if (events == 0)
        put_zone(doc->out);
    ical_end(doc->out, "VCALENDAR");
}

int64_t calendar_stamp(int64_t now_ms)
{
    return now_ms - now_ms % MS_PER_H;
}
