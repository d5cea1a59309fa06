/* What goes over what. */
#include "coat/compat.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#define FRESH false
#define CURED true

static void is_told(enum material_class over, enum material_class below, bool cured, enum compat verdict, const char *source)
{
    struct compat_verdict told = compat_over(over, below, cured);
    if (told.verdict != verdict || strstr(told.source, source) == NULL)
        fail_msg("%s over %s %s: %s (%s; %s), expected %s of %s", material_class_word(over), cured ? "cured" : "fresh",
                 material_class_word(below), compat_word(told.verdict), told.reason, told.source, compat_word(verdict), source);
}

/* TM 43-0139, second-hand: lacquer over fresh air-dry enamel lifts, and lacquer over an enamel that primes lacquer. */
static void lacquer_lifts_fresh_enamel(void **state)
{
    (void)state;
    is_told(CLASS_LACQUER, CLASS_SPRAY_ENAMEL, FRESH, COMPAT_NO, "TM 43-0139");
    is_told(CLASS_LACQUER, CLASS_ALKYD_PRIMER, FRESH, COMPAT_NO, "TM 43-0139");
    is_told(CLASS_LACQUER, CLASS_ALKYD_ENAMEL, CURED, COMPAT_CARE, "TM 43-0139");
    is_told(CLASS_LACQUER, CLASS_SIZE_QUICK, CURED, COMPAT_NO, "from memory");
}

/* TM 43-0139 5-21, MIL-HDBK-1110 11.4.1.6: solvent coats over bituminous ones bleed, worse with strong slow solvents; 2-23: shellac is
 * the barrier. */
static void black_japan_bleeds_but_not_through_shellac(void **state)
{
    (void)state;
    is_told(CLASS_ALKYD_ENAMEL, CLASS_BAKING_JAPAN, CURED, COMPAT_CARE, "11.4.1.6");
    is_told(CLASS_LACQUER, CLASS_BAKING_JAPAN, CURED, COMPAT_NO, "5-21");
    is_told(CLASS_SHELLAC, CLASS_BAKING_JAPAN, CURED, COMPAT_OK, "2-23");
    is_told(CLASS_ALKYD_ENAMEL, CLASS_SHELLAC, FRESH, COMPAT_OK, "common practice");
}

/* Common practice: enamel over hard lacquer, oil over waterborne once dry, waterborne over fresh oil not. */
static void what_every_bench_knows(void **state)
{
    (void)state;
    is_told(CLASS_ALKYD_ENAMEL, CLASS_LACQUER, CURED, COMPAT_OK, "common practice");
    is_told(CLASS_ALKYD_ENAMEL, CLASS_WATERBORNE, FRESH, COMPAT_OK, "common practice");
    is_told(CLASS_WATERBORNE, CLASS_ALKYD_ENAMEL, FRESH, COMPAT_NO, "common practice");
    is_told(CLASS_WATERBORNE, CLASS_ALKYD_ENAMEL, CURED, COMPAT_CARE, "common practice");
}

/* MIL-HDBK-1110 4.2.4: the same generic type; TB 43-0209: cured epoxy or urethane wants abrasion or a tie coat. */
static void its_own_kind_and_two_part_films(void **state)
{
    (void)state;
    is_told(CLASS_ALKYD_ENAMEL, CLASS_ALKYD_PRIMER, FRESH, COMPAT_OK, "4.2.4");
    is_told(CLASS_TOUCH_UP, CLASS_SPRAY_ENAMEL, CURED, COMPAT_OK, "4.2.4");
    is_told(CLASS_POLYURETHANE, CLASS_EPOXY_PRIMER, FRESH, COMPAT_OK, "common practice");
    is_told(CLASS_POLYURETHANE, CLASS_EPOXY_PRIMER, CURED, COMPAT_CARE, "TB 43-0209");
}

static void what_nobody_tells_of_is_tried_on_a_patch(void **state)
{
    (void)state;
    is_told(CLASS_STOVING_ENAMEL, CLASS_SHELLAC, CURED, COMPAT_TEST, "test patches");
    is_told(CLASS_SIZE_SLOW, CLASS_SIZE_SLOW, CURED, COMPAT_TEST, "test patches");
    is_told(CLASS_LACQUER, MATERIAL_CLASS_COUNT, CURED, COMPAT_TEST, "test patches");
}

/* Age never makes a pair worse. */
static void a_cured_coat_is_no_worse_than_a_fresh_one(void **state)
{
    (void)state;
    for (unsigned over = 0; over < MATERIAL_CLASS_COUNT; over++)
        for (unsigned below = 0; below < MATERIAL_CLASS_COUNT; below++) {
            struct compat_verdict fresh = compat_over((enum material_class)over, (enum material_class)below, FRESH);
            struct compat_verdict cured = compat_over((enum material_class)over, (enum material_class)below, CURED);
            assert_true(fresh.reason[0] != '\0' && fresh.source[0] != '\0' && cured.reason[0] != '\0' && cured.source[0] != '\0');
            if (cured.verdict == COMPAT_NO)
                assert_int_equal(fresh.verdict, COMPAT_NO);
        }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(lacquer_lifts_fresh_enamel),
        cmocka_unit_test(black_japan_bleeds_but_not_through_shellac),
        cmocka_unit_test(what_every_bench_knows),
        cmocka_unit_test(its_own_kind_and_two_part_films),
        cmocka_unit_test(what_nobody_tells_of_is_tried_on_a_patch),
        cmocka_unit_test(a_cured_coat_is_no_worse_than_a_fresh_one),
    };
    return cmocka_run_group_tests_name("compat", tests, NULL, NULL);
}
