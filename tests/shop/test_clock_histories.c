/* Random histories of the clock on the wall, over a shop with coats, readings, quiet hours and a list in the morning, where the clocks change in spring and autumn.
 * The clock jumps on and back, the machine sleeps for hours or weeks, the service starts anew, turns come late or twice, settings change; the air turns warm or cold,
 * pieces are carried, sanded, stripped and tested, coats are struck and amended. Whatever happens: nothing is told twice, nothing early, nothing in quiet hours but what
 * keeps people from harm, what stands is so, nothing is lost, and who has followed it all knows what one knows who reads it at once. */
#include "daemon/shop/notice.h"
#include "daemon/store/internal.h"
#include "tests/shop/write_scene.h"
#include "tests/unit/seed.h"

#include <time.h>
#include <unistd.h>

#define MIN MS_PER_MIN
#define STEPS 24
#define HISTORIES 2000
#define HISTORIES_LONG 20000
#define THOROUGH_EVERY 16
#define NOTICES_MOST 4096
#define TICK (30 * MIN)
#define LATE_MOST (41 * MIN) /* half an hour of ticks, ten minutes of waiting for others, one of rounding */

/* What the test saw of a notice. */
struct seen {
    bool told;              /* itself, as one of its group that stood then */
    int64_t told_at, withdrawn_at;
    unsigned step, over;    /* in which it was raised, and taken back */
};

struct history {
    uint64_t seed;
    struct scene *scene;    /* one of the next two */
    struct scene swift, thorough;
    int number;
    bool is_thorough;       /* each commit goes to the file, and each start opens it anew; see "the record" */
    int64_t wall;
    double temp_c, rh_pct;
    bool steady;            /* the air never changes: closings can be reckoned */
    int64_t ran_since;      /* wall: turns came in time, clock and settings stood since then; MOMENT_NONE */
    unsigned step, fact;    /* now; of the last fact that may change what was told */
    struct seen seen[NOTICES_MOST];
    size_t known;
};

/* ---- a zone with summer time: 1 h east, 2 h from the last Sunday of March, 01:00 UTC, to that of October ---- */

static int64_t last_sunday(int year, int month)
{
    struct tm last = {.tm_year = year - 1900, .tm_mon = month - 1, .tm_mday = 31, .tm_hour = 1};
    int64_t at = (int64_t)timegm(&last);
    return (at - last.tm_wday * INT64_C(86400)) * 1000;
}

static int64_t summer_time(const char *zone, int64_t at_ms)
{
    static int64_t from[200], to[200]; /* by years since 1970 */
    (void)zone;
    int year = (int)(at_ms / MS_PER_DAY * 400 / 146097); /* about midwinter it may be the year beside: that is winter too */
    assert_in_range(year, 0, 199);
    if (to[year] == 0) {
        from[year] = last_sunday(year + 1970, 3);
        to[year] = last_sunday(year + 1970, 10);
    }
    return at_ms >= from[year] && at_ms < to[year] ? 2 * MS_PER_H : MS_PER_H;
}

static const struct local_zone zone = {"", summer_time};

static struct day_hours quiet_of(const struct history *h)
{
    const struct shop_settings *s = shop_settings_now(h->scene->shop);
    return (struct day_hours){s->quiet_from_min, s->quiet_to_min};
}

/* ---- chance ---- */

static double between(struct history *h, double low, double high)
{
    return seed_between(&h->seed, low, high);
}

static unsigned pick(struct history *h, unsigned count)
{
    return (unsigned)(seed_next(&h->seed) % count);
}

/* ---- what must hold at every moment ---- */

static void fail_notice(const struct history *h, const struct notice *n, const char *why)
{
    fail_msg("history %d, step %u, wall %lld: notice %lld (%s, coat %lld, %s, turn %d, due %lld, raised %lld, told %lld): %s", h->number, h->step, (long long)h->wall, (long long)n->id,
             notice_kind_word(n->kind), (long long)n->coat_id, stage_word(n->stage), n->turn, (long long)n->due_at, (long long)n->raised_at, (long long)n->told_at, why);
}

/* The windows and stages: each is told once, but where a fact corrected it in between. */
static bool is_of_boundary(const struct notice *n)
{
    return n->coat_id != 0 && n->kind <= NOTICE_REACHED && n->kind != NOTICE_CLOSING;
}

static bool same_subject(const struct notice *a, const struct notice *b)
{
    return a->coat_id == b->coat_id && a->kind == b->kind && a->stage == b->stage && a->boundary == b->boundary;
}

/* Whether facts stand between two notices of a stage: it was corrected, readings made it another moment, a later one of its window was taken back, or what covered the coat turned out to be no coat. */
static bool corrected_between(const struct history *h, const struct notice *all, size_t first, size_t second)
{
    if (h->fact >= h->seen[first].over || llabs(all[first].due_at - all[second].due_at) > MS_PER_S)
        return true;
    for (size_t i = 0; i < second; i++) {
        bool ahead = all[i].raised_at > h->wall; /* by a clock that was set back: it stands until then, whatever readings make of it */
        bool instead = all[i].boundary > all[first].boundary && (ahead || (i > first && all[i].withdrawn_at != MOMENT_NONE));
        bool later = instead || (i > first && all[i].kind == NOTICE_CORRECTION);
        if (later && all[i].coat_id == all[first].coat_id && all[i].stage == all[first].stage)
            return true;
    }
    return false;
}

/* `told`: it is told now; else it is raised. */
static void check_once(const struct history *h, const struct notice *all, size_t index, bool told)
{
    const struct notice *n = &all[index];
    for (size_t i = 0; i < index; i++) {
        if (!same_subject(&all[i], n) || n->coat_id == 0)
            continue;
        if (all[i].withdrawn_at == MOMENT_NONE && n->withdrawn_at == MOMENT_NONE)
            fail_notice(h, n, "stands beside another one like it");
        if (told && is_of_boundary(n) && h->seen[i].told && !corrected_between(h, all, i, index))
            fail_notice(h, n, "was told before, and no fact corrected it");
    }
}

static void check_floor(const struct history *h, const struct notice *n)
{
    size_t index = shop_coat_index(h->scene->shop, n->coat_id);
    bool opens = n->kind == NOTICE_OPENS || n->kind == NOTICE_REACHED;
    if (!opens || index == SIZE_MAX || h->scene->shop->clocks.item[index].status != COAT_ON)
        return;
    struct stage_run run = stage_run_of(&h->scene->shop->clocks.item[index], n->stage);
    assert_true((unsigned)n->boundary < run.count);
    if (run.first[n->boundary].side == SIDE_OPENING && run.first[n->boundary].limit_at > h->wall) /* what a view has as its label_floor_at */
        fail_notice(h, n, "told before the label's floor");
}

static void check_told_now(const struct history *h, const struct notice *all, size_t count, const struct notice *head)
{
    const struct day_hours quiet = quiet_of(h);
    if (head->acknowledged_at != MOMENT_NONE)
        fail_notice(h, head, "told though it was put aside");
    if (!notice_breaks_quiet(head->kind) && hours_hold(&zone, quiet, h->wall))
        fail_notice(h, head, "told in quiet hours");
    for (size_t i = 0; i < count; i++) {
        const struct notice *n = &all[i];
        if (n->group_id != head->id || n->withdrawn_at != MOMENT_NONE)
            continue;
        check_once(h, all, i, true);
        if (is_of_boundary(n) && n->due_at > h->wall)
            fail_notice(h, n, "told early");
        check_floor(h, n);
    }
}

/* When the window opens whose closing a notice tells. */
static int64_t opening_before(const struct history *h, const struct notice *n)
{
    struct coat_view view;
    bool found = n->boundary > 0 && shop_coat_view(h->scene->shop, n->coat_id, h->wall, &view);
    for (unsigned i = 0; found && i < view.stages; i++)
        if (view.stage[i].stage == n->stage)
            return view.stage[i].span[n->boundary - 1].until.likely_at;
    return INT64_MIN;
}

static void note_told(struct history *h, const struct notice *all, size_t count, const struct notice *head)
{
    for (size_t i = 0; i < count; i++)
        h->seen[i].told |= all[i].group_id == head->id && all[i].withdrawn_at == MOMENT_NONE;
}

/* A closing is told in time where the shop ran, its clock and air stood still for long before. */
static void check_in_time(const struct history *h, const struct notice *n)
{
    int64_t lead = shop_settings_now(h->scene->shop)->lead_closing_min * MIN;
    int64_t at = closing_told_at(&zone, quiet_of(h), lead, n->due_at);
    const struct coat *coat = shop_coat(h->scene->shop, n->coat_id);
    if (!h->steady || n->turn > 1 || h->ran_since == MOMENT_NONE || coat == NULL || coat->entered_at > at - MS_PER_H || h->ran_since > at - 2 * MS_PER_H)
        return;
    int64_t opens = opening_before(h, n);
    if (h->wall > (opens > at ? opens : at) + LATE_MOST)
        fail_notice(h, n, "a closing that was told late");
}

/* By facts that came after it was told it is later than it was said to be: that may be taken back. Ends follow the air whenever they are
 * looked at: that of a window whose closing was told, or whose opening is held back. */
static bool is_moved(const struct history *h, const struct notice *n)
{
    struct coat_view view;
    bool moved = n->kind == NOTICE_CLOSING || (n->kind == NOTICE_OPENS && notice_head(h->scene->shop, n)->told_at == MOMENT_NONE);
    assert_true(shop_coat_view(h->scene->shop, n->coat_id, h->wall, &view));
    for (unsigned i = 0; i < view.stages; i++)
        if (view.stage[i].stage == n->stage)
            moved |= llabs(view.stage[i].span[n->boundary].until.likely_at - n->due_at) > MS_PER_S;
    return moved;
}

/* What stands is so: where facts move its moment ahead again it is taken back in the same turn, at whatever moment that comes. */
static void check_stands(const struct history *h, const struct notice *n)
{
    size_t index = shop_coat_index(h->scene->shop, n->coat_id);
    if (!is_of_boundary(n) || n->withdrawn_at != MOMENT_NONE || n->raised_at > h->wall || index == SIZE_MAX)
        return;
    struct coat_clock *clock = &h->scene->shop->clocks.item[index];
    struct stage_run run = stage_run_of(clock, n->stage);
    if (clock->status != COAT_ON)
        return;
    int64_t due = (unsigned)n->boundary < run.count ? boundary_due(&run.first[n->boundary]) : MOMENT_NONE;
    if (due == MOMENT_NONE || due > h->wall + MS_PER_S)
        fail_notice(h, n, "stands, and its moment lies ahead");
}

/* Looks at what came since the last time. `back`: the clock was set back and nothing else happened. */
static void look(struct history *h, bool back)
{
    size_t count;
    const struct notice *all = shop_notices(h->scene->shop, &count);
    assert_true(count < NOTICES_MOST);
    for (size_t i = h->known; i < count; i++)
        h->seen[i] = (struct seen){false, MOMENT_NONE, MOMENT_NONE, h->step, 0};
    for (size_t i = 0; i < count; i++) {
        struct seen *seen = &h->seen[i];
        const struct notice *n = &all[i];
        bool fresh = i >= h->known;
        check_stands(h, n);
        if (fresh)
            check_once(h, all, i, false);
        if (back && n->withdrawn_at != seen->withdrawn_at && n->coat_id != 0 && !is_moved(h, n))
            fail_notice(h, n, "taken back because the clock was set back");
        if (seen->told_at != MOMENT_NONE && n->told_at != seen->told_at)
            fail_notice(h, n, "told twice");
        if (n->told_at != MOMENT_NONE && seen->told_at == MOMENT_NONE) {
            check_told_now(h, all, count, n);
            note_told(h, all, count, n);
        }
        if (fresh && n->kind == NOTICE_CLOSING && n->withdrawn_at == MOMENT_NONE)
            check_in_time(h, n);
        seen->told_at = n->told_at;
        if (seen->withdrawn_at != n->withdrawn_at)
            seen->over = h->step;
        seen->withdrawn_at = n->withdrawn_at;
    }
    h->known = count;
}

/* What is told goes into an order that only grows: who follows it misses nothing. */
struct telling {
    int64_t at, id;
};

static bool is_behind(const struct notice *notice, struct telling telling)
{
    return notice->told_at != telling.at ? notice->told_at > telling.at : notice->id > telling.id;
}

static void check_order(const struct history *h, struct telling newest_before, size_t known_before)
{
    size_t count;
    const struct notice *all = shop_notices(h->scene->shop, &count);
    for (size_t i = 0; i < count; i++)
        if (all[i].told_at != MOMENT_NONE && (i >= known_before || h->seen[i].told_at == MOMENT_NONE) && !is_behind(&all[i], newest_before))
            fail_notice(h, &all[i], "told before what was told already: who follows by the moment of telling misses it");
}

static struct telling newest_told(const struct history *h)
{
    size_t count;
    struct telling newest = {INT64_MIN, 0};
    const struct notice *all = shop_notices(h->scene->shop, &count);
    for (size_t i = 0; i < count; i++)
        if (all[i].told_at != MOMENT_NONE && is_behind(&all[i], newest))
            newest = (struct telling){all[i].told_at, all[i].id};
    return newest;
}

/* ---- the record: what thousands of histories would spend most of their time on ----
 *
 * Each begins with a shop that is furnished alike. One in THOROUGH_EVERY has it on a file of its own, to which all is committed and which is opened anew
 * at each start. The others share a store that stays open: each is one transaction, rolled back at its end, in which the shop's own are savepoints, and
 * at a start the model is made anew from what that store holds. The materials, which nobody changes here, are then those that were read first. */

struct kept_material {
    struct material_version version;
    bool removed;
};
static struct {
    struct kept_material *item;
    size_t count;
    bool in_use;
} kept_materials;

typedef bool (*material_visitor)(const struct material_version *, bool, void *);
enum coat_result __real_store_materials(struct store *store, material_visitor each, void *context);
enum coat_result __wrap_store_materials(struct store *store, material_visitor each, void *context);

static bool keep_material(const struct material_version *version, bool removed, void *context)
{
    (void)context;
    kept_materials.item = realloc(kept_materials.item, (kept_materials.count + 1) * sizeof *kept_materials.item);
    assert_non_null(kept_materials.item);
    kept_materials.item[kept_materials.count++] = (struct kept_material){*version, removed};
    return true;
}

/* In place of the store's own (--wrap, see the Makefile). */
enum coat_result __wrap_store_materials(struct store *store, material_visitor each, void *context)
{
    if (!kept_materials.in_use)
        return __real_store_materials(store, each, context);
    if (kept_materials.count == 0)
        assert_int_equal(__real_store_materials(store, keep_material, NULL), COAT_OK);
    for (size_t i = 0; i < kept_materials.count; i++)
        if (!each(&kept_materials.item[i].version, kept_materials.item[i].removed, context))
            break;
    return COAT_OK;
}

static void exec(struct scene *scene, const char *sql)
{
    assert_int_equal(sqlite3_exec(scene->shop->store->db, sql, NULL, NULL, NULL), SQLITE_OK);
}

static void put_statement(struct store *store, enum statement_id id, const char *sql)
{
    sqlite3_finalize(store->statement[id].handle);
    assert_int_equal(sqlite3_prepare_v3(store->db, sql, -1, SQLITE_PREPARE_PERSISTENT, &store->statement[id].handle, NULL), SQLITE_OK);
}

/* What the store keeps in memory is forgotten as well. */
static struct shop *from_open_store(struct scene *scene)
{
    struct store *store = scene->shop->store;
    struct shop *shop = NULL;
    scene->shop->store = NULL;
    shop_close(scene->shop);
    memset(store->open_day, 0, sizeof store->open_day);
    assert_int_equal(store_query_int(store, "SELECT revision FROM revision", &store->revision, &scene->error), COAT_OK);
    store->revision_committed = store->revision;
    assert_int_equal(shop_open(store, scene->write.now_ms, &shop, &scene->error), COAT_OK);
    return shop;
}

/* Where the machine has memory that is a folder: thousands of commits wait for no disk. */
static void make_folder(struct scene *scene)
{
    strcpy(scene->folder, access("/dev/shm", W_OK) == 0 ? "/dev/shm/coat-shop-XXXXXX" : "/tmp/coat-shop-XXXXXX");
    assert_non_null(mkdtemp(scene->folder));
    snprintf(scene->file, sizeof scene->file, "%s/record.db", scene->folder);
    scene->write = (struct shop_write){.now_ms = NOW, .status = 201};
}

static void drop_folder(const struct scene *scene)
{
    nftw(scene->folder, scene_drop, 8, FTW_DEPTH | FTW_PHYS);
}

static void open_record(struct history *h)
{
    make_folder(&h->swift);
    h->swift.shop = opened_shop(&h->swift);
    furnish(&h->swift);
    h->thorough = h->swift;
    make_folder(&h->thorough);
    h->thorough.shop = NULL;
    put_statement(h->swift.shop->store, BEGIN, "SAVEPOINT own");
    put_statement(h->swift.shop->store, COMMIT, "RELEASE own");
    exec(&h->swift, "BEGIN");
}

static void close_record(struct history *h)
{
    exec(&h->swift, "ROLLBACK");
    shop_close(h->swift.shop);
    drop_folder(&h->swift);
    drop_folder(&h->thorough);
    free(kept_materials.item);
}

/* The furnished record, into a file. */
static void copy_record(sqlite3 *from, const char *file)
{
    sqlite3 *to = NULL;
    unlink(file);
    assert_int_equal(sqlite3_open(file, &to), SQLITE_OK);
    sqlite3_backup *copy = sqlite3_backup_init(to, "main", from, "main");
    assert_non_null(copy);
    assert_int_equal(sqlite3_backup_step(copy, -1), SQLITE_DONE);
    assert_int_equal(sqlite3_backup_finish(copy), SQLITE_OK);
    sqlite3_close(to);
}

/* The shop as it was furnished, and nothing else. */
static void begin_record(struct history *h)
{
    h->scene = h->is_thorough ? &h->thorough : &h->swift;
    h->scene->write = (struct shop_write){.now_ms = NOW, .status = 201};
    kept_materials.in_use = !h->is_thorough;
    exec(&h->swift, "ROLLBACK");
    if (h->is_thorough) {
        copy_record(h->swift.shop->store->db, h->thorough.file);
        h->thorough.shop = opened_shop(&h->thorough);
    }
    exec(&h->swift, "BEGIN");
    if (!h->is_thorough)
        h->swift.shop = from_open_store(&h->swift);
    shop_use_zone(h->scene->shop, summer_time);
}

static void end_record(struct history *h)
{
    assert_int_equal(sqlite3_get_autocommit(h->swift.shop->store->db), 0); /* nothing took back more than its own */
    if (h->is_thorough)
        shop_close(h->thorough.shop);
}

/* ---- what happens ---- */

static void turn(struct history *h, bool back)
{
    int64_t next;
    struct telling newest = newest_told(h);
    size_t known = h->known;
    assert_int_equal(shop_turn(h->scene->shop, h->wall, &next, &h->scene->error), COAT_OK);
    assert_true(next == MOMENT_NONE || next > h->wall);
    check_order(h, newest, known);
    look(h, back);
}

static void settle(struct history *h)
{
    h->scene->write.now_ms = h->wall;
}

/* Refusals are fine: a clock that was set back makes some things older than those before them. */
static void taken(const struct history *h, enum coat_result result)
{
    if (result != COAT_OK && result != COAT_CONFLICT && result != COAT_BAD_VALUE && result != COAT_NOT_FOUND)
        fail_msg("history %d, step %u: %s", h->number, h->step, h->scene->error.text);
}

static void read_place(struct history *h, int64_t place_id, int64_t at, double temp_c, double rh_pct)
{
    struct scene *s = h->scene;
    struct reading reading = {at, (int32_t)lround(temp_c * 1000), (int32_t)lround(rh_pct * 1000), READING_HOLD_BY_HAND_S};
    settle(h);
    taken(h, shop_enter_air(s->shop, &s->write, place_id, &reading, 1, &s->error));
    look(h, false);
}

static void read_cellar(struct history *h)
{
    read_place(h, h->scene->cellar, h->wall, h->temp_c - 5.0, 65);
}

static void read_air(struct history *h, int64_t at)
{
    double wave = h->steady ? 0.0 : 4.0 * sin((double)at / (double)MS_PER_H * 0.2618);
    read_place(h, h->scene->garage, at, h->temp_c + wave, h->rh_pct);
}

static void run_on(struct history *h, int64_t to)
{
    while (h->wall < to) {
        int64_t step = h->wall + TICK < to ? h->wall + TICK : to;
        for (int64_t due = shop_next_due(h->scene->shop); due != MOMENT_NONE && due < step; due = shop_next_due(h->scene->shop)) {
            h->wall = due > h->wall ? due : h->wall;
            turn(h, false);
        }
        h->wall = step;
        read_air(h, h->wall);
        if (pick(h, 3) == 0)
            read_cellar(h);
        turn(h, false);
    }
}

/* A door is opened, or the heating is put on. */
static void weather(struct history *h)
{
    h->temp_c = h->steady ? h->temp_c : between(h, 2, 30);
    run_on(h, h->wall + TICK);
}

static void go_on(struct history *h)
{
    run_on(h, h->wall + (int64_t)between(h, 1, pick(h, 3) ? 120 : 900) * MIN);
    if (pick(h, 4) == 0)
        turn(h, false); /* one too many */
}

static void disturbed(struct history *h)
{
    h->ran_since = h->wall;
}

/* What was told may be otherwise by it. */
static void new_fact(struct history *h)
{
    settle(h);
    disturbed(h);
    h->fact = h->step;
}

static void sleep_on(struct history *h)
{
    h->wall += (int64_t)between(h, 1, pick(h, 3) ? 20 * 60 : 40 * 24 * 60) * MIN;
    disturbed(h);
    if (pick(h, 2))
        read_air(h, h->wall); /* a sensor is quicker than the timer */
    turn(h, false);
}

static void start_anew(struct history *h, bool back)
{
    settle(h);
    if (h->is_thorough) {
        reopen(h->scene);
    } else {
        h->scene->shop = from_open_store(h->scene);
    }
    shop_use_zone(h->scene->shop, summer_time);
    turn(h, back);
}

static void jump_on(struct history *h)
{
    static const double most[] = {0.02, 2, 60, 3 * 24 * 60, 400 * 24 * 60}; /* minutes: corrected by a second, a wrong hour, a wrong year */
    h->wall += (int64_t)(between(h, 0, most[pick(h, 5)]) * (double)MIN);
    disturbed(h);
    turn(h, false);
}

/* What is kept from the first time that somebody asks: it must be what it would be by the record alone, however the clock went meanwhile. */
static void print_settled(const struct history *h, FILE *out)
{
    size_t coats;
    const struct coat *coat = shop_coats(h->scene->shop, &coats);
    for (; coats-- > 0; coat++) {
        struct coat_view view;
        assert_true(shop_coat_view(h->scene->shop, coat->id, h->wall, &view));
        fprintf(out, "coat %lld: inspect %d, assumed", (long long)coat->id, view.inspect);
        for (unsigned i = 0; i < view.stages; i++)
            fprintf(out, " %s %.4f h", stage_word(view.stage[i].stage), view.stage[i].assumed_h);
        fprintf(out, "\n");
    }
}

static char *settled_of(const struct history *h)
{
    char *text = NULL;
    size_t size;
    FILE *out = open_memstream(&text, &size);
    assert_non_null(out);
    print_settled(h, out);
    fclose(out);
    return text;
}

/* Back by up to so many minutes; with or without a start, as by a machine whose clock has no battery. */
static void jump_back(struct history *h)
{
    static const double most[] = {0.02, 2, 60, 600, 3 * 24 * 60, 400 * 24 * 60};
    turn(h, false); /* all that was due by the clock as it was */
    h->wall -= (int64_t)(between(h, 0, most[pick(h, pick(h, 4) ? 4 : 6)]) * (double)MIN);
    disturbed(h);
    if (pick(h, 3) == 0)
        start_anew(h, true);
    else
        turn(h, true);
    if (h->is_thorough)
        free(settled_of(h)); /* somebody looks at the page */
}

static void set_hours(struct history *h)
{
    static const int32_t hours[][2] = {{0, 0}, {22 * 60, 7 * 60}, {20 * 60, 8 * 60}, {13 * 60, 15 * 60}, {2 * 60 + 30, 3 * 60}, {18 * 60, 6 * 60 + 15}};
    static const int32_t leads[] = {0, 15, 60, 60, 180, 720};
    struct scene *s = h->scene;
    struct shop_settings settings = *shop_settings_now(s->shop);
    const int32_t *pair = hours[pick(h, 6)];
    settings.quiet_from_min = pair[0];
    settings.quiet_to_min = pair[1];
    settings.lead_closing_min = leads[pick(h, 6)];
    settings.morning_min = pick(h, 2) ? 7 * 60 : MORNING_NONE;
    settle(h);
    disturbed(h);
    taken(h, shop_set_settings(s->shop, &s->write, &settings, &s->error));
    look(h, false);
}

static void log_coat(struct history *h)
{
    static const enum material_class classes[] = {CLASS_ALKYD_ENAMEL, CLASS_SPRAY_ENAMEL, CLASS_EPOXY_PRIMER, CLASS_EPOXY_PRIMER, CLASS_ALKYD_PRIMER,
                                                  CLASS_LACQUER,      CLASS_POLYURETHANE, CLASS_SIZE_QUICK,   CLASS_SIZE_SLOW,    CLASS_SIZE_WATER,
                                                  CLASS_WATERBORNE,   CLASS_BAKING_JAPAN, CLASS_STOVING_ENAMEL, CLASS_OIL_VARNISH};
    struct scene *s = h->scene;
    struct coat coat;
    int64_t id, pieces[2] = {s->body, s->wheel};
    settle(h);
    coat = a_coat(s);
    coat.material_version_id = builtin_version(s->shop, classes[pick(h, 14)]);
    coat.first_at = coat.last_at = h->wall - (int64_t)between(h, 0, pick(h, 3) ? 10 : 200) * MIN;
    coat.application = pick(h, 2) ? APPLY_BRUSH : APPLY_SPRAY;
    if (pick(h, 2)) {
        taken(h, shop_log_coats(s->shop, &s->write, &coat, pieces, 2, 0, NULL, (int64_t[2]){0}, &s->error));
    } else {
        taken(h, shop_log_coats(s->shop, &s->write, &coat, &pieces[pick(h, 2)], 1, 0, NULL, &id, &s->error));
    }
    look(h, false);
}

static void put_aside(struct history *h)
{
    size_t count;
    const struct notice *all = shop_notices(h->scene->shop, &count);
    settle(h);
    if (count > 0)
        taken(h, shop_acknowledge(h->scene->shop, &h->scene->write, all[pick(h, (unsigned)count)].id, &h->scene->error));
    look(h, false);
}

static int64_t some_coat(struct history *h)
{
    size_t count;
    const struct coat *coats = shop_coats(h->scene->shop, &count);
    return count > 0 ? coats[pick(h, (unsigned)count)].id : 0;
}

static void strike(struct history *h)
{
    new_fact(h);
    if (some_coat(h) != 0)
        taken(h, shop_strike_coat(h->scene->shop, &h->scene->write, some_coat(h), "the wrong piece", &h->scene->error));
    look(h, false);
}

static void at_the_bench(struct history *h)
{
    static const enum stage stages[] = {STAGE_TOUCH, STAGE_DUST_FREE, STAGE_TACK_FREE, STAGE_HANDLE, STAGE_SAND, STAGE_LEAF, STAGE_LEAF, STAGE_RECOAT, STAGE_TAPE};
    struct scene *s = h->scene;
    int64_t id;
    new_fact(h);
    struct bench_test test = {.coat_id = some_coat(h), .stage = stages[pick(h, 9)], .passed = pick(h, 2), .at = h->wall - (int64_t)between(h, 0, 90) * MIN};
    taken(h, shop_test_coat(s->shop, &s->write, &test, &id, &s->error));
    look(h, false);
}

static void with_paper(struct history *h)
{
    struct scene *s = h->scene;
    int64_t id;
    new_fact(h);
    if (pick(h, 3) == 0) {
        struct stripping strip = {.piece_id = pick(h, 2) ? s->body : s->wheel, .down_to_coat_id = pick(h, 2) ? some_coat(h) : 0, .at = h->wall};
        taken(h, shop_strip_piece(s->shop, &s->write, &strip, &id, &s->error));
    } else {
        taken(h, shop_sand_coat(s->shop, &s->write, some_coat(h), h->wall - (int64_t)between(h, 0, 90) * MIN, &id, &s->error));
    }
    look(h, false);
}

static void carry(struct history *h)
{
    struct scene *s = h->scene;
    int64_t id;
    new_fact(h);
    if (h->steady)
        return; /* the cellar is read now and then */
    int64_t piece_id = pick(h, 2) ? s->body : s->wheel, place_id = pick(h, 2) ? s->garage : s->cellar, at = h->wall - (pick(h, 2) ? 0 : (int64_t)between(h, 0, 300) * MIN);
    taken(h, shop_move_piece(s->shop, &s->write, piece_id, place_id, at, &id, &s->error));
    look(h, false);
}

static void amend(struct history *h)
{
    struct scene *s = h->scene;
    new_fact(h);
    const struct coat *coat = shop_coat(s->shop, some_coat(h));
    if (coat == NULL)
        return;
    struct coat entry = *coat;
    int64_t by = (int64_t)between(h, -200, 200) * MIN;
    entry.first_at += by;
    entry.last_at += by;
    taken(h, shop_amend_coat(s->shop, &s->write, &entry, &s->error));
    look(h, false);
}

static void stir(struct history *h)
{
    struct scene *s = h->scene;
    int64_t id;
    settle(h);
    struct mix mix = {.place_id = pick(h, 2) ? s->garage : s->cellar, .mixed_at = h->wall - (int64_t)between(h, 0, 20) * MIN};
    mix.material_version_id = builtin_version(s->shop, pick(h, 2) ? CLASS_EPOXY_PRIMER : CLASS_POLYURETHANE);
    taken(h, shop_mix(s->shop, &s->write, &mix, &id, &s->error));
    look(h, false);
}

/* Readings of hours ago that come now: what was told by assumed air may have been early. */
static void read_late(struct history *h)
{
    new_fact(h);
    h->temp_c = h->steady ? h->temp_c : between(h, 6, 26);
    for (int i = 0; i < 4; i++)
        read_air(h, h->wall - (int64_t)between(h, 10, 600) * MIN);
}

static void happen(struct history *h)
{
    static void (*const events[])(struct history *) = {go_on,     go_on,     go_on,     go_on,     go_on,     go_on,        log_coat,   log_coat, log_coat,
                                                       sleep_on,  jump_on,   jump_back, jump_back, set_hours, put_aside,    read_late,  read_late, strike,
                                                       weather,   at_the_bench, with_paper, carry, carry,     amend,        stir};
    events[pick(h, sizeof events / sizeof *events)](h);
    if (pick(h, 12) == 0)
        start_anew(h, false);
}

/* ---- at the end ---- */

static bool is_told(const struct notice *all, size_t count, int64_t coat_id, enum stage stage, unsigned boundary)
{
    for (size_t i = 0; i < count; i++)
        if (all[i].coat_id == coat_id && all[i].stage == stage && (unsigned)all[i].boundary == boundary && all[i].kind <= NOTICE_REACHED && all[i].kind != NOTICE_CLOSING &&
            (all[i].withdrawn_at == MOMENT_NONE || all[i].acknowledged_at != MOMENT_NONE))
            return true;
    return false;
}

static void check_stage(const struct history *h, const struct coat *coat, const struct stage_view *stage)
{
    size_t count;
    const struct notice *all = shop_notices(h->scene->shop, &count);
    unsigned behind = stage->current;
    if (behind == 0 || stage->span[behind - 1].until.likely_at < coat->entered_at)
        return;
    if (!is_told(all, count, coat->id, stage->stage, behind - 1))
        fail_msg("history %d, coat %lld: %s, boundary %u, passed at %lld (entered %lld) and nobody was told, wall %lld", h->number, (long long)coat->id, stage_word(stage->stage), behind - 1, (long long)stage->span[behind - 1].until.likely_at, (long long)coat->entered_at, (long long)h->wall);
}

static bool stands(const struct notice *all, size_t count, int64_t coat_id, enum notice_kind kind)
{
    for (size_t i = 0; i < count; i++)
        if (all[i].coat_id == coat_id && all[i].kind == kind && all[i].withdrawn_at == MOMENT_NONE)
            return true;
    return false;
}

/* What the air does to a coat is told while it is so. */
static void check_air(const struct history *h, size_t index)
{
    size_t count;
    struct coat_stall stall;
    struct shop *shop = h->scene->shop;
    int64_t coat_id = shop->coats.item[index].id;
    const struct notice *all = shop_notices(shop, &count);
    if (shop->clocks.item[index].status != COAT_ON)
        return;
    bool stalled = coat_stalled(shop, index, h->wall, &stall), told = stands(all, count, coat_id, NOTICE_STALLED);
    if ((stalled && coat_stall_lasts(&stall, h->wall) && !told) || (told && !stalled))
        fail_msg("history %d, coat %lld: stands still: %d, and that is told: %d, wall %lld", h->number, (long long)coat_id, stalled, told, (long long)h->wall);
}

static void check_none_lost(const struct history *h)
{
    size_t coats, count;
    const struct coat *coat = shop_coats(h->scene->shop, &coats);
    for (size_t i = 0; i < coats; i++)
        check_air(h, i);
    for (; coats-- > 0; coat++) {
        struct coat_view view;
        assert_true(shop_coat_view(h->scene->shop, coat->id, h->wall, &view));
        for (unsigned i = 0; view.status == COAT_ON && i < view.stages; i++)
            check_stage(h, coat, &view.stage[i]);
    }
    const struct notice *all = shop_notices(h->scene->shop, &count);
    for (size_t i = 0; i < count; i++)
        if (shop_notice_is_pending(h->scene->shop, &all[i]) && all[i].told_at == MOMENT_NONE)
            fail_notice(h, &all[i], "quiet hours are over, nobody is awaited, and it is not told");
}

/* No fact comes any more; the clock goes on past all that was ever told, and a day further. */
static void let_all_come(struct history *h)
{
    size_t count;
    int64_t to = h->wall + 3 * MS_PER_DAY;
    const struct notice *all = shop_notices(h->scene->shop, &count);
    for (size_t i = 0; i < count; i++) {
        int64_t last = all[i].withdrawn_at > all[i].raised_at ? all[i].withdrawn_at : all[i].raised_at;
        to = last + MS_PER_DAY > to ? last + MS_PER_DAY : to;
    }
    h->wall = to;
    disturbed(h);
    turn(h, false);
    h->wall = hours_end(&zone, quiet_of(h), to) + 11 * MIN;
    if (hours_hold(&zone, quiet_of(h), h->wall))
        h->wall = hours_end(&zone, quiet_of(h), h->wall) + 11 * MIN;
    turn(h, false);
    h->wall += 11 * MIN; /* what was raised at the last turn has waited for those like it */
    if (!hours_hold(&zone, quiet_of(h), h->wall))
        turn(h, false);
}

/* All moments that the shop knows; returns how many. */
#define DUES_MOST 4096
static size_t dues_of(const struct history *h, int64_t due[DUES_MOST])
{
    size_t count = 0;
    for (size_t c = 0; c < h->scene->shop->clocks.count; c++)
        for (unsigned i = 0; i < h->scene->shop->clocks.item[c].boundaries && count < DUES_MOST; i++)
            due[count++] = boundary_due(&h->scene->shop->clocks.item[c].boundary[i]);
    return count;
}

/* What runs on from fact to fact knows what one knows who reads them all at once. */
static void check_start_changes_nothing(struct history *h)
{
    static int64_t due[DUES_MOST], due_then[DUES_MOST];
    size_t before = h->known, after, dues = dues_of(h, due);
    char *was = h->is_thorough ? settled_of(h) : NULL;
    start_anew(h, true);
    shop_notices(h->scene->shop, &after);
    assert_int_equal(before, after);
    assert_int_equal(dues, dues_of(h, due_then));
    for (size_t i = 0; i < dues; i++)
        if (llabs(due[i] - due_then[i]) > MS_PER_S)
            fail_msg("history %d: moment %zu of %zu was %lld, and is %lld after a start, wall %lld", h->number, i, dues, (long long)due[i], (long long)due_then[i],
                     (long long)h->wall);
    char *is = h->is_thorough ? settled_of(h) : NULL;
    if (was != NULL && strcmp(was, is) != 0)
        fail_msg("history %d: before the start\n%safter it\n%s", h->number, was, is);
    free(was);
    free(is);
}

/* ---- all of it ---- */

static void begin(struct history *h)
{
    static const int64_t starts[] = {NOW, INT64_C(1792796400000), INT64_C(1806105600000)}; /* two days before clocks go back, and before they go on */
    begin_record(h);
    h->known = h->step = h->fact = 0;
    h->wall = starts[pick(h, 3)] + (int64_t)between(h, 1, 24 * 60) * MIN;
    h->ran_since = h->wall;
    h->steady = pick(h, 2);
    h->temp_c = between(h, 16, 26);
    h->rh_pct = between(h, 40, 60);
    set_hours(h);
    read_air(h, h->wall);
    log_coat(h);
}

static void one_history(struct history *h, size_t *io_told)
{
    begin(h);
    for (h->step = 1; h->step <= STEPS; h->step++)
        happen(h);
    let_all_come(h);
    check_none_lost(h);
    check_start_changes_nothing(h);
    for (size_t i = 0; i < h->known; i++)
        *io_told += h->seen[i].told_at != MOMENT_NONE;
    end_record(h);
}

static void whatever_the_clock_does_all_is_told_once_and_in_time(void **state)
{
    (void)state;
    struct history *h = calloc(1, sizeof *h);
    assert_non_null(h);
    size_t told = 0;
    open_record(h);
    uint64_t first = seed_start("histories of the clock");
    const char *only = getenv("COAT_HISTORY");
    int cases = getenv("COAT_HISTORIES") ? atoi(getenv("COAT_HISTORIES")) : getenv("COAT_LONG") ? HISTORIES_LONG : HISTORIES;
    for (int i = 0; i < (only ? atoi(only) + 1 : cases); i++) {
        h->seed = seed_next(&first);
        if (only && i < atoi(only))
            continue;
        h->number = i;
        h->is_thorough = i % THOROUGH_EVERY == 0;
        one_history(h, &told);
    }
    print_message("# %zu notices told\n", told);
    assert_true(told > 0);
    close_record(h);
    free(h);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(whatever_the_clock_does_all_is_told_once_and_in_time)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
