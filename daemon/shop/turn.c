/* The passing of time: which coats want a look, what is told about them, and when the next look is due.
 *
 * A look (evaluate) is idempotent: it compares what is true at a moment with the notices that stand in the record. The marks and
 * timers only decide which coats are looked at; a look too many changes nothing. */
#include "daemon/shop/baking.h"
#include "daemon/shop/notice.h"

#include <stdlib.h>

/* ---- who wants a look ---- */

static bool later(int64_t a, int64_t than)
{
    return a != MOMENT_NONE && a > than;
}

/* The leads in force: the shop's (number 0), and those of its own for materials. */
static size_t leads_count(const struct shop *shop)
{
    return shop->leads.count + 1;
}

static int64_t lead_of(const struct shop *shop, size_t number)
{
    return (number == 0 ? shop->settings.lead_closing_min : shop->leads.item[number - 1].lead_closing_min) * MS_PER_MIN;
}

/* When, before the next quiet hours, what closes in them is told, by a lead; MOMENT_NONE where there are none. */
static int64_t next_evening(const struct shop *shop, int64_t lead_ms, int64_t from_ms)
{
    struct local_zone zone = shop_zone(shop);
    return quiet_evening_next(&zone, shop_quiet_hours(shop), lead_ms, from_ms);
}

/* Next crossing in the tail of a ledger, `ahead_ms` before it happens, strictly after from_ms. */
static int64_t next_crossing(const struct ledger *ledger, int64_t from_ms, int64_t ahead_ms)
{
    int64_t due = ledger_next_due(ledger, from_ms + ahead_ms);
    return due == MOMENT_NONE ? MOMENT_NONE : due - ahead_ms;
}

/* When a law that stands still has done so for long enough to be told; MOMENT_NONE where it moves, or has for longer than a day. */
static int64_t stall_told_at(const struct ledger *ledger, int64_t at_ms)
{
    if (ledger->law.side != SIDE_OPENING || (ledger->hold_rate > 0.0 && ledger->assumed_rate > 0.0))
        return MOMENT_NONE;
    int64_t since = ledger_stalled_since(ledger, at_ms);
    return since == MOMENT_NONE ? MOMENT_NONE : since + STALL_LASTS_MS;
}

static int64_t next_in_air(const struct shop *shop, const struct place_air *air, int64_t from_ms)
{
    int64_t next = MOMENT_NONE, hold_end = place_air_hold_end(air);
    bool watched = false;
    for (size_t i = 0; i < air->ledgers; i++) {
        const struct ledger *ledger = air->ledger[i];
        if (ledger->kind != LEDGER_LAW || ledger->marks == 0)
            continue;
        watched = true;
        next = moment_sooner(next, next_crossing(ledger, from_ms, 0));
        for (size_t k = 0; ledger->law.side == SIDE_CLOSING && k < leads_count(shop); k++)
            next = moment_sooner(next, next_crossing(ledger, from_ms, lead_of(shop, k)));
        int64_t stalled = stall_told_at(ledger, from_ms);
        next = moment_sooner_after(next, stalled, from_ms);
    }
    if (watched)
        next = moment_sooner_after(next, hold_end, from_ms); /* from then on the air is assumed, and that is told */
    return next;
}

static int64_t limit_sooner(int64_t next, int64_t at, int64_t from_ms, int64_t ahead_ms)
{
    next = moment_sooner_after(next, at, from_ms);
    return at == MOMENT_NONE ? next : moment_sooner_after(next, at - ahead_ms, from_ms);
}

/* What readings or a finger had reached lies ahead where the clock was set back. */
static int64_t find_limit(const struct coat_clock *clock, int64_t from_ms, int64_t lead)
{
    int64_t next = MOMENT_NONE;
    if (clock->status == COAT_STRIPPED)
        return next;
    for (unsigned k = 0; k < clock->boundaries; k++) {
        const struct boundary_clock *b = &clock->boundary[k];
        int64_t ahead = b->side == SIDE_CLOSING ? lead : 0;
        next = limit_sooner(next, b->limit_at, from_ms, ahead);
        next = limit_sooner(next, b->passed_at, from_ms, ahead);
        if (b->here_from_ms != MOMENT_NONE) /* put on, or carried, into air in which it stands still */
            next = moment_sooner_after(next, b->here_from_ms + STALL_LASTS_MS, from_ms);
    }
    return next;
}

/* The label's floors and ceilings, and what was reached, are plain times: a coat's next one after from_ms is kept until it has come. */
static int64_t coat_next_limit(struct coat_clock *clock, int64_t from_ms, int64_t lead)
{
    struct limit_watch *watch = &clock->limits;
    bool holds = watch->known && watch->lead_ms == lead && watch->from_ms <= from_ms &&
                 (watch->next_ms == MOMENT_NONE || watch->next_ms > from_ms);
    if (!holds)
        *watch = (struct limit_watch){true, lead, from_ms, find_limit(clock, from_ms, lead)};
    return watch->next_ms;
}

static int64_t limit_of(const struct shop *shop, size_t coat_index, int64_t from_ms)
{
    return coat_next_limit(&shop->clocks.item[coat_index], from_ms, coat_lead_ms(shop, &shop->coats.item[coat_index]));
}

static int64_t next_limit(const struct shop *shop, int64_t from_ms)
{
    int64_t next = MOMENT_NONE;
    for (size_t i = 0; i < shop->clocks.count; i++)
        next = moment_sooner(next, limit_of(shop, i, from_ms));
    return next;
}

/* Whether a closing of the coat is still to come. */
static bool awaits_closing(const struct coat_clock *clock, int64_t from_ms)
{
    for (unsigned k = 0; clock->status == COAT_ON && k < clock->boundaries; k++) {
        const struct boundary_clock *b = &clock->boundary[k];
        int64_t due = b->side == SIDE_CLOSING ? boundary_due(b) : MOMENT_NONE;
        if (due != MOMENT_NONE && due > from_ms)
            return true;
    }
    return false;
}

/* Whether a look at the coats in the evening after from_ms may find something: a closing that comes, or what the air as it is measured does. */
static bool evenings_matter(const struct shop *shop, int64_t from_ms)
{
    for (size_t i = 0; shop->coats.count > 0 && i < shop->airs.count; i++)
        if (!place_air_is_stale(shop->airs.item[i], from_ms))
            return true;
    for (size_t i = 0; i < shop->clocks.count; i++)
        if (awaits_closing(&shop->clocks.item[i], from_ms))
            return true;
    return false;
}

/* Evenings before quiet hours. */
static int64_t next_evening_of_all(const struct shop *shop, int64_t from_ms)
{
    int64_t next = MOMENT_NONE;
    bool matter = evenings_matter(shop, from_ms);
    for (size_t k = 0; matter && k < leads_count(shop); k++)
        next = moment_sooner(next, next_evening(shop, lead_of(shop, k), from_ms));
    return next;
}

/* The clock was set back: the next moment at which it gets to where something was told, or taken back. Until then that is left alone. */
static int64_t next_ahead(const struct shop *shop, int64_t from_ms)
{
    int64_t next = MOMENT_NONE;
    if (!later(shop->ahead_until, from_ms))
        return next;
    for (size_t i = 0; i < shop->notices.count; i++) {
        const struct notice *notice = &shop->notices.item[i];
        next = moment_sooner_after(next, notice->raised_at, from_ms);
        next = moment_sooner_after(next, notice->withdrawn_at, from_ms);
        if (notice->raised_at > from_ms) /* told late, it is so before it was told: then it is sent (notice_is_early) */
            next = moment_sooner_after(next, notice->due_at, from_ms);
    }
    return next;
}

/* The next moment at which a coat, a mix, a bake or the air of a place may call for a notice. */
static int64_t next_step_after(struct shop *shop, int64_t from_ms)
{
    int64_t next = moment_sooner(next_limit(shop, from_ms), mixes_next_due(shop, from_ms));
    next = moment_sooner(next, next_evening_of_all(shop, from_ms));
    next = moment_sooner(next, bakes_next_due(shop, from_ms));
    next = moment_sooner(next, next_ahead(shop, from_ms));
    for (size_t i = 0; i < shop->airs.count; i++)
        next = moment_sooner(next, next_in_air(shop, shop->airs.item[i], from_ms));
    return next;
}

/* The same, and what comes at the end of a turn: the list of the morning, and the end of holding back. */
static int64_t next_due_after(struct shop *shop, int64_t from_ms)
{
    int64_t next = moment_sooner(day_next_due(shop, from_ms), notice_release_next(shop, from_ms));
    return moment_sooner(next, next_step_after(shop, from_ms));
}

int64_t shop_next_due(struct shop *shop)
{
    return next_due_after(shop, shop->turned_at);
}

static void want_look(const struct mark *mark, void *context)
{
    struct shop *shop = context;
    struct coat_clock *clock = &shop->clocks.item[mark->coat_index];
    if (clock->stamp == mark->stamp)
        clock->look = true;
}

static bool evening_in(const struct shop *shop, int64_t from_ms, int64_t to_ms)
{
    for (size_t k = 0; k < leads_count(shop); k++) {
        int64_t evening = next_evening(shop, lead_of(shop, k), from_ms);
        if (evening != MOMENT_NONE && evening <= to_ms)
            return true;
    }
    return false;
}

/* Asks for a look at the coats for which something may have changed in (from_ms, to_ms]. */
static void want_looks(struct shop *shop, int64_t from_ms, int64_t to_ms)
{
    for (size_t i = 0; i < shop->airs.count; i++) {
        const struct place_air *air = shop->airs.item[i];
        int64_t hold_end = place_air_hold_end(air);
        bool hold_ends = hold_end != MOMENT_NONE && hold_end > from_ms && hold_end <= to_ms;
        for (size_t k = 0; k < air->ledgers; k++) {
            const struct ledger *ledger = air->ledger[k];
            if (ledger->kind != LEDGER_LAW)
                continue;
            ledger_marks_due(ledger, from_ms, to_ms, want_look, shop);
            for (size_t n = 0; ledger->law.side == SIDE_CLOSING && n < leads_count(shop); n++)
                ledger_marks_due(ledger, from_ms + lead_of(shop, n), to_ms + lead_of(shop, n), want_look, shop);
            int64_t stalled = stall_told_at(ledger, to_ms);
            if (hold_ends || (later(stalled, from_ms) && stalled <= to_ms))
                ledger_marks_due(ledger, INT64_MIN, INT64_MAX, want_look, shop);
        }
    }
    bool evening = evening_in(shop, from_ms, to_ms);
    int64_t ahead = next_ahead(shop, from_ms);
    bool caught_up = ahead != MOMENT_NONE && ahead <= to_ms;
    for (size_t i = 0; i < shop->clocks.count; i++) {
        struct coat_clock *clock = &shop->clocks.item[i];
        int64_t limit = limit_of(shop, i, from_ms);
        clock->look |= caught_up || (limit != MOMENT_NONE && limit <= to_ms) || (evening && clock->status == COAT_ON);
    }
}

/* ---- the turn ---- */

struct turn {
    struct notice_batch batch;
    bool changed;
    int64_t spray_looked_at; /* before it */
};

static enum coat_result look_at(struct shop *shop, struct turn *turn, int64_t at_ms, int64_t now_ms)
{
    for (size_t i = 0; i < shop->clocks.count; i++) {
        struct coat_clock *clock = &shop->clocks.item[i];
        if (!clock->look)
            continue;
        enum coat_result result = notice_gather(shop, i, at_ms, now_ms, &turn->batch);
        if (result != COAT_OK)
            return result;
        uint32_t mark = notice_state_mark(shop, i, at_ms);
        turn->changed |= mark != clock->state_mark;
        clock->state_mark = mark;
        clock->look = false;
    }
    return COAT_OK;
}

/* Steps through the due moments; at the end the coats whose facts changed are looked at as of now, since a mark that a new
 * reading has passed is no longer pending and comes up in no step. */
static enum coat_result run_to(struct shop *shop, struct turn *turn, int64_t now_ms)
{
    enum coat_result result = COAT_OK;
    int64_t at = shop->turned_at;
    while (result == COAT_OK) {
        int64_t next = next_step_after(shop, at);
        if (next == MOMENT_NONE || next > now_ms)
            break;
        want_looks(shop, at, next);
        result = look_at(shop, turn, next, now_ms);
        if (result == COAT_OK)
            result = notice_gather_mixes(shop, next, now_ms, &turn->batch, &turn->changed);
        if (result == COAT_OK)
            result = notice_gather_air(shop, next, now_ms, &turn->batch, &turn->changed);
        if (result == COAT_OK)
            result = notice_gather_bakes(shop, next, now_ms, &turn->batch, &turn->changed);
        at = next;
    }
    for (size_t i = 0; i < shop->clocks.count; i++)
        shop->clocks.item[i].look |= shop->clocks.item[i].dirty || shop->clocks.item[i].stall_told;
    if (result == COAT_OK)
        result = look_at(shop, turn, now_ms, now_ms);
    if (result == COAT_OK)
        result = notice_gather_mixes(shop, now_ms, now_ms, &turn->batch, &turn->changed);
    if (result == COAT_OK)
        result = notice_gather_air(shop, now_ms, now_ms, &turn->batch, &turn->changed);
    if (result == COAT_OK)
        result = notice_gather_bakes(shop, now_ms, now_ms, &turn->batch, &turn->changed);
    if (result == COAT_OK)
        result = notice_gather_day(shop, now_ms, &turn->batch);
    if (result == COAT_OK)
        result = notice_gather_spray(shop, now_ms, &turn->batch);
    return result;
}

static void all_seen(struct shop *shop)
{
    for (size_t i = 0; i < shop->clocks.count; i++)
        shop->clocks.item[i].dirty = false;
}

static enum coat_result commit_turn(struct shop *shop, struct turn *turn)
{
    int64_t revision;
    enum coat_result result = store_begin(shop->store);
    if (result != COAT_OK)
        return result;
    result = notice_batch_store(shop, &turn->batch);
    if (result == COAT_OK)
        result = store_revision_bump(shop->store, &revision);
    if (result == COAT_OK)
        result = store_commit(shop->store);
    if (result != COAT_OK)
        store_rollback(shop->store);
    return result;
}

static void look_again(struct shop *shop)
{
    for (size_t i = 0; i < shop->clocks.count; i++)
        shop->clocks.item[i].dirty = true;
}

/* Nothing of the turn is in the record: all of it is looked at anew, and a state that changed stays to be told, though its mark is noted. */
static void turn_failed(struct shop *shop, const struct turn *turn)
{
    shop->change_untold = turn->changed;
    shop->spray_looked_at = turn->spray_looked_at;
    look_again(shop);
}

/* The last moment of the record's notices, where it is still to come. */
void notice_find_ahead(struct shop *shop, int64_t now_ms)
{
    shop->ahead_until = MOMENT_NONE;
    for (size_t i = 0; i < shop->notices.count; i++) {
        const struct notice *notice = &shop->notices.item[i];
        int64_t last = notice->withdrawn_at != MOMENT_NONE && notice->withdrawn_at > notice->raised_at ? notice->withdrawn_at : notice->raised_at;
        if (last > now_ms && (shop->ahead_until == MOMENT_NONE || last > shop->ahead_until))
            shop->ahead_until = last;
    }
}

/* The clock was set back. What is true is so by the clock as it is now, for else what is put on now would be told early; what was told by the clock as it was is
 * left alone until it gets there again (notice_is_ahead), so that nothing is told twice and nothing is taken back. */
static void turn_back(struct shop *shop, int64_t now_ms)
{
    shop->turned_at = now_ms;
    notice_find_ahead(shop, now_ms);
    look_again(shop);
}

enum coat_result shop_turn(struct shop *shop, int64_t now_ms, int64_t *ret_next_due_ms, struct coat_error *error)
{
    struct turn turn = {.changed = shop->change_untold, .spray_looked_at = shop->spray_looked_at};
    if (now_ms < shop->turned_at)
        turn_back(shop, now_ms);
    bool gap = false;
    enum coat_result result = bakes_watch(shop, now_ms, &gap); /* first: what it finds is told at once */
    if (result == COAT_OK)
        result = run_to(shop, &turn, now_ms);
    bool tell = result == COAT_OK && (turn.changed || turn.batch.count > 0);
    if (tell)
        result = commit_turn(shop, &turn);
    if (result == COAT_OK) {
        turn.changed = false;
        shop->turned_at = now_ms;
        all_seen(shop);
        mixes_settle(shop, now_ms);
        day_settle(shop, now_ms);
    }
    if (result == COAT_OK && tell)
        result = notice_batch_apply(shop, &turn.batch);
    bool told = false;
    if (result == COAT_OK)
        result = notice_release(shop, now_ms, &told);
    notice_batch_free(&turn.batch);
    if (result != COAT_OK) {
        turn_failed(shop, &turn);
        return coat_fail(error, result, "", "what is due could not be recorded: %s; it will be tried again",
                         coat_result_text(result));
    }
    shop->change_untold = false;
    *ret_next_due_ms = next_due_after(shop, shop->turned_at);
    return COAT_OK;
}

void shop_after_write(struct shop *shop, int64_t now_ms)
{
    int64_t next;
    if (shop_turn(shop, now_ms, &next, NULL) != COAT_OK)
        look_again(shop);
}
