/* What the commands of sensors share. */
#ifndef CLI_SENSOR_H
#define CLI_SENSOR_H

#include "cli/say.h"

/* The sensor that argument 0 names; *ret belongs to cli->shop. Fetches the shop and the sensors. */
int sensor_find(struct cli *cli, const cJSON **ret);
/* Members of the document from all options of a sensor, and the program of --command from argument `first` on. */
int sensor_add_options(struct cli *cli, cJSON *body, unsigned first);
/* The kind that the options tell ("sysfs"), NULL where none does; says what is wrong where several do. */
int sensor_read_kind(const struct cli *cli, const char **ret);

/* Asks a source what it says (`body` is taken over) and waits; the test's document is then the last answer. */
int sensor_try(struct cli *cli, cJSON *body);
bool sensor_test_is_usable(const cJSON *test);
/* Why it has nothing usable, and what would do. */
const char *sensor_test_fault(const cJSON *test);
/* What came of it, a line a quantity. */
void sensor_say_test(struct cli *cli, const cJSON *test);

/* "hygro in shed: iio:hygro1, temperature and humidity" */
void sensor_say_head(struct cli *cli, const cJSON *sensor, const char *what);
/* "ok, 17.8 C 61 %, read 14:34 (1 min ago); counts for temperature and humidity" */
void sensor_say_state(const struct cli *cli, struct text *text, const cJSON *sensor);
/* What is wrong and what would do; nothing where all is well. */
void sensor_say_advice(const struct cli *cli, struct text *text, const cJSON *sensor);
enum voice sensor_voice(const cJSON *sensor);
/* "temperature and humidity" of an array of words; "nothing". */
void sensor_say_quantities(struct text *text, const cJSON *words);
/* The token of the last answer and how it is used; it is told once. */
void sensor_say_token(struct cli *cli, const cJSON *sensor);

#endif
