/* What this shop's tests at the bench say of its materials: the multiplier k, of a tin where it was tested, else of the material. */
#ifndef SHOP_LEARN_H
#define SHOP_LEARN_H

#include "coat/shop.h"
#include "daemon/shop/model.h"

/* Makes the estimates anew from the tests and the air that the tested coats had. *ret_changed: at least one k is another than before;
 * coats must then be made again. */
COAT_CHECKED enum coat_result learn_refresh(struct shop *shop, bool *ret_changed);

/* The multiplier that a coat's hours take: of its tin, of its material, or 1. */
double learn_k_of(const struct shop *shop, const struct coat *coat);

#endif
