/* What is told of a sensor, read from the body of a request. The first fault sticks in the work's error. */
#ifndef COAT_SENSOR_IN_H
#define COAT_SENSOR_IN_H

#include "daemon/http/work.h"

/* A new one, which goes behind the others of its place. One that is only tried out needs neither name nor place. */
void sensor_in_new(struct work *work, bool only_tried, struct sensor *ret);
/* What shall be other than it is. */
void sensor_in_change(struct work *work, struct sensor *io_sensor);
/* What no single member tells: whether source, pointers and quantities fit together, and whether there is such a source. Once the body is closed. */
COAT_CHECKED enum coat_result sensor_in_check(struct work *work, const struct sensor *sensor);
/* Passes a result on; what its error calls the source of a command is the member "command" here. */
COAT_CHECKED enum coat_result sensor_in_named(struct work *work, const struct sensor *sensor, enum coat_result result);

#endif
