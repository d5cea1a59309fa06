/* A small shop on a file of its own, for the tests of what people tell it. At the end of every test the file is opened again and must hold
 * what the living lists held. */
#ifndef COAT_TEST_WRITE_SCENE_H
#define COAT_TEST_WRITE_SCENE_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "coat/shop_bake.h"
#include "coat/shop_vapour.h"
#include "daemon/store/store.h"

#include <ftw.h>
#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>

#define NOW INT64_C(1790000000000) /* a Monday evening in September 2026 */
#define NOT_KNOWN ((double)NAN)

struct scene {
    char folder[64], file[96];
    struct shop *shop;
    struct shop_write write;
    struct coat_error error;
    int64_t garage, cellar, oven; /* places */
    int64_t body, wheel;          /* pieces of a coffee mill that hang in the garage since an hour ago; the wheel has areas */
    int64_t enamel;               /* version of a built-in material */
};

/* ---- all facts as text: two shops that hold the same print the same ---- */

static inline void print_things(const struct shop *shop, FILE *out)
{
    size_t n;
    const struct shop_settings *s = shop_settings_now(shop);
    fprintf(out, "settings %s %d %d %d %d %d %d\n", s->zone, (int)s->units, s->lead_closing_min, s->quiet_from_min, s->quiet_to_min,
            s->work_from_min, s->work_to_min);
    const struct place *place = shop_places(shop, &n);
    for (; n-- > 0; place++) {
        fprintf(out, "place %lld %s %d %g %g", (long long)place->id, place->name, (int)place->kind, place->volume_m3, place->airflow_m3h);
        for (unsigned i = 0; i < PLACE_RISK_COUNT; i++)
            fprintf(out, " %d", (int)place->risk[i]);
        fprintf(out, " %d %d %lld %lld\n", place->airflow_measured, (int)place->low_exhaust, (long long)place->added_at, (long long)place->removed_at);
    }
    const struct piece *piece = shop_pieces(shop, &n);
    for (; n-- > 0; piece++) {
        fprintf(out, "piece %lld %s %d %g %g %s", (long long)piece->id, piece->name, (int)piece->old_finish, piece->mass_kg, piece->wall_mm,
                piece->note);
        for (unsigned i = 0; i < piece->areas; i++)
            fprintf(out, " [%s]", piece->area[i]);
        fprintf(out, " %lld %lld\n", (long long)piece->added_at, (long long)piece->removed_at);
    }
    const struct rack *rack = shop_racks(shop, &n);
    for (; n-- > 0; rack++) {
        fprintf(out, "rack %lld %s", (long long)rack->id, rack->name);
        for (unsigned i = 0; i < rack->pieces; i++)
            fprintf(out, " %lld", (long long)rack->piece_id[i]);
        fprintf(out, " %lld %lld\n", (long long)rack->added_at, (long long)rack->removed_at);
    }
    const struct move *move = shop_moves(shop, &n);
    for (; n-- > 0; move++)
        fprintf(out, "move %lld piece %lld place %lld %lld %lld\n", (long long)move->id, (long long)move->piece_id, (long long)move->place_id,
                (long long)move->at, (long long)move->entered_at);
    const struct material_version *version = shop_materials(shop, &n);
    for (; n-- > 0; version++)
        fprintf(out, "material %lld.%d = %lld %s [%s] %g %d %lld\n", (long long)version->material_id, version->version, (long long)version->id,
                version->material.name, version->material.solvent, version->material.solvent_pct, shop_material_removed(shop, version->material_id), (long long)version->entered_at);
}

static inline void print_work(const struct shop *shop, FILE *out)
{
    size_t n;
    const struct coat *coat = shop_coats(shop, &n);
    for (; n-- > 0; coat++)
        fprintf(out, "coat %lld.%d tin %lld %lld piece %lld [%s] %lld %d %d %lld %lld %d %d %g %g %g %g %s %s %lld %s\n", (long long)coat->id, coat->entry,
                (long long)coat->tin_id, (long long)coat->entered_at, (long long)coat->piece_id, coat->area, (long long)coat->material_version_id, (int)coat->role,
                (int)coat->application, (long long)coat->first_at, (long long)coat->last_at, coat->passes, (int)coat->film, coat->wet_um,
                coat->dry_um, coat->amount_ml, coat->thinned_pct, coat->thinner, coat->note, (long long)coat->struck_at, coat->struck_why);
    const struct sanding *sanding = shop_sandings(shop, &n);
    for (; n-- > 0; sanding++)
        fprintf(out, "sanding %lld of %lld %lld %lld\n", (long long)sanding->id, (long long)sanding->coat_id, (long long)sanding->at,
                (long long)sanding->entered_at);
    const struct stripping *strip = shop_strippings(shop, &n);
    for (; n-- > 0; strip++)
        fprintf(out, "stripping %lld of %lld [%s] %lld %lld %lld\n", (long long)strip->id, (long long)strip->piece_id, strip->area,
                (long long)strip->down_to_coat_id, (long long)strip->at, (long long)strip->entered_at);
    const struct notice *notice = shop_notices(shop, &n);
    for (; n-- > 0; notice++)
        fprintf(out, "notice %lld coat %lld mix %lld %lld %lld\n", (long long)notice->id, (long long)notice->coat_id,
                (long long)notice->mix_id, (long long)notice->withdrawn_at, (long long)notice->acknowledged_at);
}

static inline void print_bench(const struct shop *shop, FILE *out)
{
    size_t n;
    const struct bench_test *test = shop_bench_tests(shop, &n);
    for (; n-- > 0; test++)
        fprintf(out, "test %lld of %lld %d %d %lld %lld\n", (long long)test->id, (long long)test->coat_id, (int)test->stage, test->passed,
                (long long)test->at, (long long)test->entered_at);
    const struct tin *tin = shop_tins(shop, &n);
    for (; n-- > 0; tin++)
        fprintf(out, "tin %lld of %lld %s [%s] %lld %lld %lld %lld\n", (long long)tin->id, (long long)tin->material_id, tin->name, tin->batch,
                (long long)tin->opened_at, (long long)tin->keep_by_at, (long long)tin->added_at, (long long)tin->removed_at);
    const struct solvent_release *release = shop_releases(shop, &n);
    for (; n-- > 0; release++)
        fprintf(out, "release %lld in %lld %s %g %lld %lld\n", (long long)release->id, (long long)release->place_id, release->what, release->amount_ml,
                (long long)release->at, (long long)release->entered_at);
    const struct mix *mix = shop_mixes(shop, &n);
    for (; n-- > 0; mix++)
        fprintf(out, "mix %lld of %lld in %lld %lld %lld\n", (long long)mix->id, (long long)mix->material_version_id,
                (long long)mix->place_id, (long long)mix->mixed_at, (long long)mix->entered_at);
}

static inline void print_bakes(struct shop *shop, int64_t now_ms, FILE *out)
{
    size_t n;
    struct bake_view view;
    const struct bake *bake = shop_bakes(shop, &n);
    for (; n-- > 0; bake++) {
        fprintf(out, "bake %lld in %lld %d %d %g %g [%s] %lld %lld %lld", (long long)bake->id, (long long)bake->place_id, (int)bake->oven_air, bake->reviewed,
                bake->retained_pct, bake->room_c, bake->note, (long long)bake->entered_at, (long long)bake->started_at, (long long)bake->ended_at);
        assert_true(shop_bake_view(shop, bake->id, now_ms, &view));
        for (unsigned i = 0; i < view.parts; i++)
            fprintf(out, " coat %lld %d %g %g %g done %.9f worn %.9f", (long long)view.part[i].part->coat_id, (int)view.part[i].part->metal, view.part[i].part->mass_kg,
                    view.part[i].part->area_m2, view.part[i].part->wall_mm, view.part[i].done, view.part[i].worn);
        for (unsigned i = 0; i < view.steps; i++)
            fprintf(out, " step %g %g %g", view.step[i].target_c, view.step[i].ramp_min, view.step[i].hold_min);
        for (unsigned i = 0; i < BAKE_ITEM_COUNT; i++)
            fprintf(out, " %d/%lld", (int)view.item[i].answer, (long long)view.item[i].at);
        fprintf(out, " %s against it %u\n", bake_state_word(view.state), view.refusals);
    }
}

/* The caller frees it. */
static inline char *facts_of(struct shop *shop)
{
    char *text = NULL;
    size_t size = 0, count = 0;
    FILE *out = open_memstream(&text, &size);
    fprintf(out, "revision %lld\n", (long long)shop_revision(shop));
    print_things(shop, out);
    print_work(shop, out);
    print_bench(shop, out);
    print_bakes(shop, NOW + MS_PER_DAY, out);
    shop_places(shop, &count);
    for (int64_t place = 1; place <= (int64_t)count; place++) {
        struct reading *readings = NULL;
        size_t n = 0;
        assert_int_equal(shop_readings(shop, place, 0, NOW + MS_PER_DAY, 100, &readings, &n), COAT_OK);
        for (size_t i = 0; i < n; i++)
            fprintf(out, "reading in %lld: %lld %d %d %d\n", (long long)place, (long long)readings[i].at_ms, readings[i].temp_mc,
                    readings[i].rh_mp, readings[i].hold_s);
        free(readings);
    }
    fclose(out);
    return text;
}

/* ---- a full disk ---- */

/* The largest file that may be written, RLIM_INFINITY: any. With 1 nothing can be recorded any more, as on a disk that is full. */
static inline void give_room(rlim_t bytes)
{
    struct rlimit limit;
    (void)signal(SIGXFSZ, SIG_IGN);
    assert_int_equal(getrlimit(RLIMIT_FSIZE, &limit), 0);
    limit.rlim_cur = bytes;
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &limit), 0);
}

/* ---- telling ---- */

/* A write that must be recorded. */
#define TELL(scene, call)                                                                                                     \
    do {                                                                                                                      \
        int64_t tell_revision = shop_revision((scene)->shop);                                                                 \
        enum coat_result tell_result = (call);                                                                                \
        if (tell_result != COAT_OK)                                                                                           \
            print_error("%s: %s: %s\n", #call, (scene)->error.field, (scene)->error.text);                                    \
        assert_int_equal(tell_result, COAT_OK);                                                                               \
        assert_true(shop_revision((scene)->shop) > tell_revision);                                                            \
    } while (0)

/* A write that must be refused: with this code, naming this field, and nothing is other than before. */
#define REFUSE(scene, result, at_field, call)                                                                                 \
    do {                                                                                                                      \
        char *facts_before = facts_of((scene)->shop);                                                                         \
        (scene)->error = (struct coat_error){0};                                                                              \
        enum coat_result refuse_result = (call);                                                                              \
        if (refuse_result != (result) || strcmp((scene)->error.field, (at_field)) != 0)                                       \
            print_error("%s: %d, field \"%s\": %s\n", #call, (int)refuse_result, (scene)->error.field, (scene)->error.text);  \
        assert_int_equal(refuse_result, (result));                                                                            \
        assert_int_equal((scene)->error.code, (result));                                                                      \
        assert_string_equal((scene)->error.field, (at_field));                                                                \
        assert_true(strlen((scene)->error.text) > 20);                                                                        \
        char *facts_after = facts_of((scene)->shop);                                                                          \
        assert_string_equal(facts_before, facts_after);                                                                       \
        free(facts_before);                                                                                                   \
        free(facts_after);                                                                                                    \
    } while (0)

static inline struct place a_place(const char *name)
{
    struct place place = {.kind = PLACE_ROOM, .volume_m3 = NOT_KNOWN, .airflow_m3h = NOT_KNOWN};
    snprintf(place.name, sizeof place.name, "%s", name);
    return place;
}

static inline struct piece a_piece(const char *name)
{
    struct piece piece = {.mass_kg = NOT_KNOWN, .wall_mm = NOT_KNOWN};
    snprintf(piece.name, sizeof piece.name, "%s", name);
    return piece;
}

static inline struct coat a_coat(const struct scene *scene)
{
    return (struct coat){
        .material_version_id = scene->enamel, .role = ROLE_ENAMEL, .application = APPLY_BRUSH,
        .first_at = scene->write.now_ms - 20 * MS_PER_MIN, .last_at = scene->write.now_ms - 10 * MS_PER_MIN,
        .passes = 2, .film = FILM_NORMAL, .wet_um = NOT_KNOWN, .dry_um = NOT_KNOWN, .amount_ml = NOT_KNOWN, .thinned_pct = NOT_KNOWN,
    };
}

static inline int64_t told_place(struct scene *scene, struct place place)
{
    int64_t id = 0;
    TELL(scene, shop_put_place(scene->shop, &scene->write, &place, &id, &scene->error));
    return id;
}

static inline int64_t told_piece(struct scene *scene, struct piece piece, int64_t place_id)
{
    int64_t id = 0;
    TELL(scene, shop_put_piece(scene->shop, &scene->write, &piece, place_id, &id, &scene->error));
    return id;
}

static inline int64_t told_coat(struct scene *scene, struct coat coat, int64_t piece_id)
{
    int64_t id = 0;
    TELL(scene, shop_log_coats(scene->shop, &scene->write, &coat, &piece_id, 1, 0, NULL, &id, &scene->error));
    return id;
}

static inline int64_t told_move(struct scene *scene, int64_t piece_id, int64_t place_id, int64_t at)
{
    int64_t id = 0;
    TELL(scene, shop_move_piece(scene->shop, &scene->write, piece_id, place_id, at, &id, &scene->error));
    return id;
}

static inline int64_t builtin_version(const struct shop *shop, enum material_class wanted)
{
    size_t n;
    const struct material_version *version = shop_materials(shop, &n);
    for (; n-- > 0; version++)
        if (version->material.builtin && version->material.material_class == wanted)
            return version->id;
    return 0;
}

/* A coat of a built-in class, put on now in one moment. */
static inline int64_t put_on(struct scene *scene, enum material_class material, int64_t piece_id)
{
    struct coat coat = a_coat(scene);
    coat.material_version_id = builtin_version(scene->shop, material);
    coat.first_at = coat.last_at = scene->write.now_ms;
    return told_coat(scene, coat, piece_id);
}

/* How a stage that the coat has stands now. */
static inline struct stage_view stage_of(struct scene *scene, int64_t coat_id, enum stage stage)
{
    struct coat_view view;
    assert_true(shop_coat_view(scene->shop, coat_id, scene->write.now_ms, &view));
    const struct stage_view *found = coat_view_stage(&view, stage);
    if (found == NULL)
        fail_msg("the coat has no stage %s", stage_word(stage));
    return *found;
}

/* ---- the scene ---- */

static inline struct shop *opened_shop(struct scene *scene)
{
    struct store *store = NULL;
    struct shop *shop = NULL;
    assert_int_equal(store_open(scene->file, scene->write.now_ms, &store, &scene->error), COAT_OK);
    assert_int_equal(shop_open(store, scene->write.now_ms, &shop, &scene->error), COAT_OK);
    return shop;
}

/* As a start finds it: from the record alone. */
static inline void reopen(struct scene *scene)
{
    shop_close(scene->shop);
    scene->shop = opened_shop(scene);
}

static inline void furnish(struct scene *scene)
{
    struct place oven = a_place("oven");
    struct piece wheel = a_piece("fly wheel");
    oven.kind = PLACE_OVEN;
    wheel.areas = 2;
    strcpy(wheel.area[0], "rim");
    strcpy(wheel.area[1], "hub");
    scene->write.now_ms = NOW - MS_PER_H;
    scene->garage = told_place(scene, a_place("garage"));
    scene->cellar = told_place(scene, a_place("cellar"));
    scene->oven = told_place(scene, oven);
    scene->body = told_piece(scene, a_piece("mill body"), scene->garage);
    scene->wheel = told_piece(scene, wheel, scene->garage);
    scene->write.now_ms = NOW;
}

static inline int scene_open(void **state)
{
    struct scene *scene = calloc(1, sizeof *scene);
    if (scene == NULL)
        return -1;
    strcpy(scene->folder, "/tmp/coat-shop-XXXXXX");
    if (mkdtemp(scene->folder) == NULL)
        return -1;
    snprintf(scene->file, sizeof scene->file, "%s/record.db", scene->folder);
    scene->write.now_ms = NOW;
    scene->write.status = 201;
    scene->shop = opened_shop(scene);
    scene->enamel = builtin_version(scene->shop, CLASS_ALKYD_ENAMEL);
    furnish(scene);
    *state = scene;
    return 0;
}

static inline int scene_drop(const char *path, const struct stat *found, int kind, struct FTW *walk)
{
    (void)found, (void)kind, (void)walk;
    return remove(path);
}

static inline int scene_close(void **state)
{
    struct scene *scene = *state;
    char *living = facts_of(scene->shop);
    shop_close(scene->shop);
    scene->shop = opened_shop(scene);
    char *kept = facts_of(scene->shop);
    bool same = strcmp(living, kept) == 0;
    if (!same)
        fprintf(stderr, "the living lists:\n%s\nthe file:\n%s\n", living, kept); /* longer than print_error() takes */
    free(living);
    free(kept);
    shop_close(scene->shop);
    nftw(scene->folder, scene_drop, 8, FTW_DEPTH | FTW_PHYS);
    free(scene);
    return same ? 0 : -1;
}

#define SCENE_TEST(test) cmocka_unit_test_setup_teardown(test, scene_open, scene_close)

#endif
