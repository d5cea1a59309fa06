/* Arrays that grow: the items, how many there are, and for how many there is room. */
#ifndef SHOP_LIST_H
#define SHOP_LIST_H

#include <stdbool.h>
#include <stddef.h>

#define LIST(type)                                                                                       \
    struct {                                                                                              \
        type *item;                                                                                       \
        size_t count, capacity;                                                                           \
    }

/* Makes room for one more; false where there is no memory. */
bool list_reserve(void **items, size_t *capacity, size_t count, size_t item_size);
#define LIST_RESERVE(list) list_reserve((void **)&(list)->item, &(list)->capacity, (list)->count, sizeof *(list)->item)

#endif
