/* What the sensors of a place say of each other. */
#ifndef SHOP_SENSOR_VIEW_H
#define SHOP_SENSOR_VIEW_H

#include "daemon/shop/write.h"

/* Whether two sensors of a place differ by more than their accuracy now and in the mean of the last hour: a door that opens makes two healthy ones
 * differ for a while. *ret: in what. */
bool sensors_disagree_lasting(struct shop *shop, const struct sensor *a, const struct sensor *b, int64_t now_ms, enum air_quantity *ret);

#endif
