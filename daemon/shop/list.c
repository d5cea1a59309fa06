#include "daemon/shop/list.h"

#include <stdlib.h>
#include <string.h>

bool list_reserve(void **items, size_t *capacity, size_t count, size_t item_size)
{
    if (count < *capacity)
        return true;
    size_t wanted = *capacity < 8 ? 16 : *capacity * 2;
    if (wanted <= count)
        wanted = count + 1;
    void *grown; /* *items is a pointer to some other type: copied, not read as void * */
    memcpy(&grown, items, sizeof grown);
    grown = reallocarray(grown, wanted, item_size);
    if (grown == NULL)
        return false;
    memcpy(items, &grown, sizeof grown);
    *capacity = wanted;
    return true;
}
