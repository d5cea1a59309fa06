#include "coat/words.h"

#include <stddef.h>
#include <string.h>

static bool find_word(const char *const *table, size_t count, const char *word, size_t *ret_index)
{
    for (size_t i = 0; i < count; i++) {
        if (strcmp(table[i], word) == 0) {
            *ret_index = i;
            return true;
        }
    }
    return false;
}

#define TABLE_ENTRY(value, word) [value] = (word),
#define DEFINE_WORDS(name, count, list)                                                                  \
    static const char *const name##_table[] = {list(TABLE_ENTRY)};                                        \
    _Static_assert(sizeof name##_table / sizeof *name##_table == (count), "one word a value");            \
    const char *name##_word(enum name value)                                                              \
    {                                                                                                     \
        return (size_t)value < (size_t)(count) ? name##_table[value] : "?";                               \
    }                                                                                                     \
    bool name##_from_word(const char *word, enum name *ret_value)                                         \
    {                                                                                                     \
        size_t index = 0;                                                                                 \
        if (!find_word(name##_table, (size_t)(count), word, &index))                                      \
            return false;                                                                                 \
        *ret_value = (enum name)index;                                                                    \
        return true;                                                                                      \
    }
COAT_WORD_LISTS(DEFINE_WORDS)

/* Meanings in our own words after ASTM D1640 section 7 (as summarised in public texts), FED-STD-141 method 4061.3
 * and ISO 9117; tape, unmask, seal and bake are workshop stages without a standard test. */
static const char *const stage_meanings[STAGE_COUNT] = {
    [STAGE_TOUCH] = "a light finger takes no paint away, though the film may still be tacky",
    [STAGE_DUST_FREE] = "dust that settles can be blown or wiped off",
    [STAGE_TACK_FREE] = "paper pressed on it falls away; nothing sticks",
    [STAGE_HANDLE] = "takes a firm thumb with a twist without loosening or wrinkling; may be handled",
    [STAGE_TAPE] = "takes masking tape without a mark; never before it may be handled",
    [STAGE_UNMASK] = "the masking tape over this coat may be pulled with a clean edge",
    [STAGE_SAND] = "powders under abrasive paper instead of rolling up",
    [STAGE_RECOAT] = "the next coat may go on without lifting, wrinkling or loss of adhesion",
    [STAGE_LEAF] = "the size has its tack and takes metal leaf",
    [STAGE_SEAL] = "the leaf may be covered with a clear",
    [STAGE_BAKE] = "flashed off: solvent is out far enough to enter the oven",
    [STAGE_CURE] = "cured through; as hard and as solvent-proof as it gets",
};

const char *stage_meaning(enum stage stage)
{
    return (size_t)stage < STAGE_COUNT ? stage_meanings[stage] : "?";
}

bool stage_is_window(enum stage stage)
{
    return stage == STAGE_RECOAT || stage == STAGE_UNMASK || stage == STAGE_LEAF;
}
