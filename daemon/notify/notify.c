/* When which notice is tried over which channel. */
#include "daemon/notify/notify.h"

#include "coat/clock.h"

#include <poll.h>
#include <stdlib.h>
#include <string.h>
#include <sys/random.h>

#define WAIT_FIRST_MS INT64_C(2000)
#define WAIT_MAX_MS (15 * INT64_C(60000))
#define DOWN_AFTER 3        /* failures in a row: no longer the fault of one notice */
#define NEWS_MS INT64_MIN    /* as the moment of a try: whatever the channel did, for it may be well again */
#define AT_ONCE_MS (INT64_MIN + 1)
#define PENDING_FIRST 64
#define PENDING_MAX 16384
#define BEGINS_A_TURN 8     /* of a channel, where one after the other fails at once */
#define FAREWELL_MS 300     /* for killed children at the end; init takes what is slower */

/* ---- notices that were tried ---- */

/* Three quarters of the time to all of it, so that many that lost the same server do not come back at once. */
static int64_t retry_wait_ms(const struct notify *notify, unsigned tries)
{
    uint32_t number = 0;
    int64_t longest_ms = notify->wait_ms;
    for (unsigned i = 1; i < tries && longest_ms < WAIT_MAX_MS; i++)
        longest_ms *= 2;
    if (longest_ms > WAIT_MAX_MS)
        longest_ms = WAIT_MAX_MS;
    if (getrandom(&number, sizeof number, GRND_NONBLOCK) != (ssize_t)sizeof number)
        number = (uint32_t)clock_real_ms();
    return longest_ms - (int64_t)number % (longest_ms / 4 + 1);
}

/* Where it stands, or would stand. */
static size_t find_place(const struct lane *lane, int64_t notice_id)
{
    size_t low = 0, high = lane->count;
    while (low < high) {
        size_t middle = (low + high) / 2;
        if (lane->waiting[middle].notice_id < notice_id)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

static struct waiting *find_waiting(const struct lane *lane, int64_t notice_id)
{
    size_t place = find_place(lane, notice_id);
    return place < lane->count && lane->waiting[place].notice_id == notice_id ? &lane->waiting[place] : NULL;
}

/* Whatever came of it: one that is asked for again all the same must not be sent without end. Without memory it is tried sooner. */
static void note_try(const struct notify *notify, struct lane *lane, int64_t notice_id, int64_t now_ms)
{
    struct waiting *entry = find_waiting(lane, notice_id);
    if (entry == NULL) {
        size_t place = find_place(lane, notice_id);
        struct waiting *longer = reallocarray(lane->waiting, lane->count + 1, sizeof *longer);
        if (longer == NULL)
            return;
        lane->waiting = longer;
        entry = &longer[place];
        memmove(entry + 1, entry, (lane->count - place) * sizeof *longer);
        *entry = (struct waiting){.notice_id = notice_id};
        lane->count++;
    }
    entry->tries++;
    entry->try_at_ms = now_ms + retry_wait_ms(notify, entry->tries);
}

/* Those that nobody wants sent any more. */
static void drop_unwanted(struct lane *lane)
{
    size_t kept = 0;
    for (size_t i = 0; i < lane->count; i++) {
        if (lane->waiting[i].wanted)
            lane->waiting[kept++] = lane->waiting[i];
    }
    lane->count = kept;
}

/* ---- what is sent next ---- */

static bool make_room(struct notify *notify, size_t room)
{
    int64_t *longer = room > notify->ids_room ? reallocarray(notify->ids, room, sizeof *longer) : notify->ids;
    if (longer == NULL)
        return false;
    notify->ids = longer;
    notify->ids_room = room > notify->ids_room ? room : notify->ids_room;
    return true;
}

/* All of them, or the oldest where they are beyond all bounds: those that fail must not hide the others. */
static size_t ask_pending(struct notify *notify, int64_t channel_id)
{
    size_t count = 0;
    for (size_t room = PENDING_FIRST; room <= PENDING_MAX && make_room(notify, room); room *= 4) {
        count = notify->calls.pending(notify->calls.context, channel_id, notify->ids, room);
        if (count < room)
            break;
    }
    return count;
}

static bool is_down(const struct lane *lane)
{
    return lane->failures >= DOWN_AFTER;
}

static int64_t try_at_ms(const struct lane *lane, const struct waiting *entry, int64_t notice_id)
{
    if (entry != NULL)
        return entry->try_at_ms;
    return is_down(lane) && notice_id <= lane->seen_id ? AT_ONCE_MS : NEWS_MS;
}

/* News, the oldest that was never tried, else of those whose time has come the one that waits longest: many that fail must not take the turn of one behind them. While
 * the channel is down, one of them at a time asks whether it is well again. 0: none, and lane->next_ms tells when. */
static int64_t choose(struct notify *notify, struct lane *lane, int64_t now_ms)
{
    int64_t chosen = 0, due_ms = INT64_MAX;
    size_t count = ask_pending(notify, lane->sender.settings.id);
    for (size_t i = 0; i < lane->count; i++)
        lane->waiting[i].wanted = false;
    for (size_t i = 0; i < count; i++) {
        struct waiting *entry = find_waiting(lane, notify->ids[i]);
        int64_t at_ms = try_at_ms(lane, entry, notify->ids[i]);
        if (entry != NULL)
            entry->wanted = true;
        if (at_ms < due_ms) {
            due_ms = at_ms;
            chosen = notify->ids[i];
        }
    }
    drop_unwanted(lane);
    lane->pending_id = count > 0 ? notify->ids[count - 1] : 0;
    if (is_down(lane) && due_ms != NEWS_MS && due_ms < lane->down_until_ms)
        due_ms = lane->down_until_ms;
    lane->next_ms = due_ms;
    return due_ms <= now_ms ? chosen : 0;
}

/* It is well again: what waited because of it goes now. */
static void end_wait(struct lane *lane)
{
    for (size_t i = 0; is_down(lane) && i < lane->count; i++)
        lane->waiting[i].try_at_ms = AT_ONCE_MS;
    lane->failures = 0;
}

/* What failed as news, while it is down, says nothing that was not known. */
static void note_failure(const struct notify *notify, struct lane *lane, int64_t notice_id, int64_t now_ms)
{
    if (is_down(lane) && notice_id > lane->seen_id && now_ms < lane->down_until_ms)
        return;
    lane->failures++;
    if (is_down(lane))
        lane->down_until_ms = now_ms + retry_wait_ms(notify, lane->failures - DOWN_AFTER + 1);
    lane->seen_id = lane->pending_id;
}

static void finish(struct notify *notify, struct lane *lane, const struct sender_outcome *outcome, int64_t now_ms)
{
    int64_t notice_id = lane->notice_id;
    lane->notice_id = 0;
    lane->ask = true;
    if (outcome->delivered)
        end_wait(lane);
    else
        note_failure(notify, lane, notice_id, now_ms);
    note_try(notify, lane, notice_id, now_ms);
    notify->calls.tried(notify->calls.context, lane->sender.settings.id, notice_id, outcome->delivered, outcome->answer);
}

/* True where another one may follow at once. */
static bool begin_next(struct notify *notify, struct lane *lane, int64_t now_ms)
{
    struct notify_message message;
    struct sender_outcome outcome = {0};
    int64_t notice_id = choose(notify, lane, now_ms);
    lane->ask = notice_id != 0;
    if (notice_id == 0)
        return false;
    if (!notify->calls.message(notify->calls.context, lane->sender.settings.id, notice_id, &message)) {
        note_try(notify, lane, notice_id, now_ms); /* it is asked for no more, or cannot be told just now */
        return true;
    }
    lane->notice_id = notice_id;
    if (lane->sender.way->begin(&lane->sender, &message, now_ms, &outcome))
        return false;
    finish(notify, lane, &outcome, now_ms);
    return true;
}

static void turn_lane(struct notify *notify, struct lane *lane, int64_t now_ms)
{
    struct sender_outcome outcome = {0};
    const struct sender_way *way = lane->sender.way;
    if (lane->leaving) {
        (void)way->end(&lane->sender);
        return;
    }
    if (way->turn(&lane->sender, now_ms, &outcome))
        finish(notify, lane, &outcome, now_ms);
    for (int i = 0; i < BEGINS_A_TURN && way->is_free(&lane->sender) && (lane->ask || now_ms >= lane->next_ms); i++)
        if (!begin_next(notify, lane, now_ms))
            break;
}

/* ---- which channels there are ---- */

static void free_lane(struct lane *lane)
{
    free(lane->waiting);
    explicit_bzero(&lane->sender.settings, sizeof lane->sender.settings);
    free(lane);
}

/* A new name does not disturb it; what is said of it is told with each message. */
static bool is_same_way(const struct channel *a, const struct channel *b)
{
    return a->kind == b->kind && strcmp(a->target, b->target) == 0 && strcmp(a->user, b->user) == 0 && strcmp(a->secret, b->secret) == 0 &&
           strcmp(a->from, b->from) == 0 && strcmp(a->to, b->to) == 0 && strcmp(a->ca_file, b->ca_file) == 0;
}

static struct lane *find_lane(const struct notify *notify, const struct channel *channel)
{
    for (size_t i = 0; i < notify->count; i++) {
        struct lane *lane = notify->lanes[i];
        if (!lane->leaving && lane->sender.settings.id == channel->id && is_same_way(&lane->sender.settings, channel))
            return lane;
    }
    return NULL;
}

static struct lane *make_lane(struct notify *notify, const struct channel *channel)
{
    struct lane *lane = calloc(1, sizeof *lane);
    if (lane == NULL)
        return NULL;
    sender_init(&lane->sender, &notify->couriers, channel);
    lane->ask = true;
    lane->next_ms = INT64_MAX;
    return lane;
}

static bool is_in(const struct lane *lane, struct lane *const *list, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (list[i] == lane)
            return true;
    return false;
}

static void free_new(const struct notify *notify, struct lane **next, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (!is_in(next[i], notify->lanes, notify->count))
            free_lane(next[i]);
    free(next);
}

/* From here on nothing fails. Those that are not kept leave, at once or when their child has gone. */
static void swap_lanes(struct notify *notify, struct lane **next, size_t count)
{
    size_t chosen = count;
    for (size_t i = 0; i < notify->count; i++) {
        struct lane *old = notify->lanes[i];
        if (is_in(old, next, chosen))
            continue;
        old->leaving = true;
        if (old->sender.way->end(&old->sender))
            free_lane(old);
        else
            next[count++] = old;
    }
    free(notify->lanes);
    notify->lanes = next;
    notify->count = count;
}

enum coat_result notify_set(struct notify *notify, const struct channel *channels, size_t count)
{
    size_t next_count = 0;
    struct lane **next = calloc(count + notify->count + 1, sizeof(struct lane *));
    if (next == NULL)
        return COAT_NO_MEMORY;
    for (size_t i = 0; i < count; i++) {
        if (channels[i].kind == CHANNEL_CALENDAR || channels[i].removed_at != MOMENT_NONE)
            continue;
        struct lane *lane = find_lane(notify, &channels[i]);
        if (lane == NULL)
            lane = make_lane(notify, &channels[i]);
        if (lane == NULL) {
            free_new(notify, next, next_count);
            return COAT_NO_MEMORY;
        }
        next[next_count++] = lane;
    }
    swap_lanes(notify, next, next_count);
    return COAT_OK;
}

void notify_wake(struct notify *notify)
{
    for (size_t i = 0; i < notify->count; i++)
        notify->lanes[i]->ask = true;
}

/* ---- turns ---- */

static void drop_gone(struct notify *notify)
{
    size_t kept = 0;
    for (size_t i = 0; i < notify->count; i++) {
        struct lane *lane = notify->lanes[i];
        if (lane->leaving && lane->sender.way->is_free(&lane->sender))
            free_lane(lane);
        else
            notify->lanes[kept++] = lane;
    }
    notify->count = kept;
}

void notify_turn(struct notify *notify)
{
    int64_t now_ms = clock_real_ms();
    for (size_t i = 0; i < notify->count; i++)
        turn_lane(notify, notify->lanes[i], now_ms);
    notify_tests_turn(notify, now_ms);
    drop_gone(notify);
    couriers_reap(&notify->couriers);
}

static int64_t earlier(int64_t a, int64_t b)
{
    return a < b ? a : b;
}

static int64_t lane_next_ms(const struct lane *lane, int64_t now_ms)
{
    int64_t next_ms = lane->sender.way->next_ms(&lane->sender, now_ms);
    if (lane->leaving || !lane->sender.way->is_free(&lane->sender))
        return next_ms;
    return lane->ask ? now_ms : earlier(next_ms, lane->next_ms);
}

int64_t notify_next_ms(const struct notify *notify)
{
    int64_t now_ms = clock_real_ms();
    int64_t next_ms = couriers_next_ms(&notify->couriers, now_ms);
    for (size_t i = 0; i < notify->count; i++)
        next_ms = earlier(next_ms, lane_next_ms(notify->lanes[i], now_ms));
    return earlier(next_ms, notify_tests_next_ms(notify, now_ms));
}

int notify_descriptor(const struct notify *notify)
{
    return notify->couriers.poll_fd;
}

/* ---- open and close ---- */

enum coat_result notify_open(const struct notify_options *options, const struct notify_calls *calls, struct notify **ret, struct coat_error *error)
{
    struct notify *notify = calloc(1, sizeof *notify);
    if (notify == NULL)
        return coat_fail(error, COAT_NO_MEMORY, "", "out of memory for the channels");
    enum coat_result result = couriers_open(&notify->couriers, options->courier, error);
    if (result != COAT_OK) {
        free(notify);
        return result;
    }
    notify->calls = *calls;
    notify->wait_ms = options->wait_ms > 0 ? options->wait_ms : WAIT_FIRST_MS;
    *ret = notify;
    return COAT_OK;
}

/* True when nothing runs any more. */
static bool end_all(struct notify *notify)
{
    bool all = notify_tests_end(notify);
    for (size_t i = 0; i < notify->count; i++)
        all = notify->lanes[i]->sender.way->end(&notify->lanes[i]->sender) && all;
    return all;
}

void notify_close(struct notify *notify)
{
    if (notify == NULL)
        return;
    int64_t end_ms = clock_real_ms() + FAREWELL_MS;
    while (!end_all(notify) && clock_real_ms() < end_ms)
        (void)poll(NULL, 0, 5); /* all are killed; they go in a moment */
    couriers_close(&notify->couriers);
    for (size_t i = 0; i < notify->count; i++)
        free_lane(notify->lanes[i]);
    free(notify->lanes);
    free(notify->ids);
    free(notify);
}
