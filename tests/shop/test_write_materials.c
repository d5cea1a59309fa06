/* A shop's own materials, and that the built-in ones and old versions stay as they are. */
#include "write_scene.h"

static struct material own_enamel(const char *name)
{
    struct material material;
    material_init(&material, CLASS_ALKYD_ENAMEL);
    snprintf(material.name, sizeof material.name, "%s", name);
    return material;
}

static int64_t told_material(struct scene *scene, int64_t id, struct material material)
{
    TELL(scene, shop_put_material(scene->shop, &scene->write, id, &material, &id, &scene->error));
    return id;
}

static void an_own_material_gets_what_its_label_leaves_out(void **state)
{
    struct scene *scene = *state;
    int64_t id = told_material(scene, 0, own_enamel(" black, brushed "));
    const struct material_version *version = shop_material_newest(scene->shop, id);
    assert_string_equal(version->material.name, "black, brushed");
    assert_int_equal(version->version, 1);
    assert_false(version->material.builtin);
    assert_true(version->material.stage[STAGE_RECOAT].boundaries > 0);
}

static void the_next_version_leaves_the_one_before(void **state)
{
    struct scene *scene = *state;
    int64_t one = told_material(scene, 0, own_enamel("black")), other = told_material(scene, 0, own_enamel("green"));
    int64_t first = shop_material_newest(scene->shop, one)->id;
    assert_int_equal(told_material(scene, one, own_enamel("black, new tin")), one);
    assert_int_equal(shop_material_newest(scene->shop, one)->version, 2);
    assert_string_equal(shop_material_version(scene->shop, first)->material.name, "black");
    assert_int_equal(shop_material_newest(scene->shop, other)->version, 1);
    told_material(scene, 0, own_enamel("black")); /* only newest names count */
}

static void a_material_that_will_not_do_is_refused(void **state)
{
    struct scene *scene = *state;
    int64_t id = told_material(scene, 0, own_enamel("black")), other = 0;
    struct material bad = own_enamel("BLACK");
    REFUSE(scene, COAT_CONFLICT, "name", shop_put_material(scene->shop, &scene->write, 0, &bad, &other, &scene->error));
    bad = own_enamel("77");
    REFUSE(scene, COAT_BAD_VALUE, "name", shop_put_material(scene->shop, &scene->write, 0, &bad, &other, &scene->error));
    bad = own_enamel("green");
    bad.max_rh_pct = 101.0;
    REFUSE(scene, COAT_BAD_VALUE, "limits.max_rh_pct", shop_put_material(scene->shop, &scene->write, id, &bad, &other, &scene->error));
    bad = own_enamel("green");
    REFUSE(scene, COAT_NOT_FOUND, "material", shop_put_material(scene->shop, &scene->write, 4711, &bad, &other, &scene->error));
    assert_int_equal(other, 0);
}

static void a_thinned_coat_that_names_nothing_was_thinned_with_what_its_label_says(void **state)
{
    struct scene *scene = *state;
    struct material label = own_enamel("black");
    strcpy(label.thinner, "mineral spirits");
    int64_t version = shop_material_newest(scene->shop, told_material(scene, 0, label))->id;
    struct coat coat = a_coat(scene);
    coat.material_version_id = version;
    coat.thinner[0] = '\0';
    coat.thinned_pct = 10;
    assert_string_equal(shop_coat(scene->shop, told_coat(scene, coat, scene->body))->thinner, "mineral spirits");
    strcpy(coat.thinner, "xylene");
    assert_string_equal(shop_coat(scene->shop, told_coat(scene, coat, scene->body))->thinner, "xylene");
    coat.thinner[0] = '\0';
    coat.thinned_pct = NOT_KNOWN;
    int64_t unthinned = told_coat(scene, coat, scene->body);
    assert_string_equal(shop_coat(scene->shop, unthinned)->thinner, "");
    struct coat entry = *shop_coat(scene->shop, unthinned);
    entry.thinned_pct = 5; /* told afterwards */
    TELL(scene, shop_amend_coat(scene->shop, &scene->write, &entry, &scene->error));
    assert_string_equal(shop_coat(scene->shop, unthinned)->thinner, "mineral spirits");
}

static void built_in_ones_stay(void **state)
{
    struct scene *scene = *state;
    int64_t builtin = shop_material_version(scene->shop, scene->enamel)->material_id, id = 0;
    struct material wanted = own_enamel("mine now");
    REFUSE(scene, COAT_NOT_ALLOWED, "material", shop_put_material(scene->shop, &scene->write, builtin, &wanted, &id, &scene->error));
    REFUSE(scene, COAT_NOT_ALLOWED, "material", shop_remove_material(scene->shop, &scene->write, builtin, &scene->error));
}

static void a_removed_material_keeps_its_coats_and_gets_no_new_ones(void **state)
{
    struct scene *scene = *state;
    struct coat coat = a_coat(scene);
    int64_t id = told_material(scene, 0, own_enamel("black")), other = 0;
    coat.material_version_id = shop_material_newest(scene->shop, id)->id;
    int64_t logged = told_coat(scene, coat, scene->body);
    TELL(scene, shop_remove_material(scene->shop, &scene->write, id, &scene->error));
    assert_null(shop_material_newest(scene->shop, id));
    assert_true(shop_material_removed(scene->shop, id));
    REFUSE(scene, COAT_NOT_FOUND, "material",
           shop_log_coats(scene->shop, &scene->write, &coat, &scene->wheel, 1, 0, NULL, &other, &scene->error));
    REFUSE(scene, COAT_NOT_FOUND, "material", shop_remove_material(scene->shop, &scene->write, id, &scene->error));
    struct coat entry = *shop_coat(scene->shop, logged);
    entry.passes = 3; /* what was logged with it may still be corrected */
    TELL(scene, shop_amend_coat(scene->shop, &scene->write, &entry, &scene->error));
    told_material(scene, 0, own_enamel("black")); /* its name is free again */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        SCENE_TEST(an_own_material_gets_what_its_label_leaves_out),
        SCENE_TEST(the_next_version_leaves_the_one_before),
        SCENE_TEST(a_material_that_will_not_do_is_refused),
        SCENE_TEST(a_thinned_coat_that_names_nothing_was_thinned_with_what_its_label_says),
        SCENE_TEST(built_in_ones_stay),
        SCENE_TEST(a_removed_material_keeps_its_coats_and_gets_no_new_ones),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
