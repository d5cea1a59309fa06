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

bool stage_is_window(enum stage stage)
{
    return stage == STAGE_RECOAT || stage == STAGE_UNMASK || stage == STAGE_LEAF;
}
