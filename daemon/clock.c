#include "coat/clock.h"

#include "coat/moment.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define RATE_MAX 100000.0
#define WAIT_MAX_MS INT64_C(86400000) /* the loop looks again at least once a day */

static int64_t read_ms(clockid_t id)
{
    struct timespec at = {0};
    (void)clock_gettime(id, &at);
    return (int64_t)at.tv_sec * MS_PER_S + at.tv_nsec / 1000000;
}

int64_t clock_real_ms(void)
{
    return read_ms(CLOCK_BOOTTIME);
}

struct coat_clock clock_wall(void)
{
    return (struct coat_clock){.test = false, .rate = 1.0};
}

static bool parse_rate(const char *text, double *ret)
{
    char *end = NULL;
    if (strspn(text, "0123456789.") != strlen(text) || text[0] == '\0')
        return false;
    double rate = strtod(text, &end);
    if (*end != '\0' || !(rate >= 0.0 && rate <= RATE_MAX))
        return false;
    *ret = rate;
    return true;
}

enum coat_result clock_test_parse(const char *text, struct coat_clock *ret, struct coat_error *error)
{
    char start[MOMENT_TEXT_SIZE * 2];
    double rate = 0.0;
    int64_t start_ms = 0;
    const char *comma = strchr(text, ',');
    size_t length = comma != NULL ? (size_t)(comma - text) : strlen(text);
    if (length >= sizeof start)
        return coat_fail(error, COAT_BAD_VALUE, "test-clock", "\"%.60s\" is too long for a moment", text);
    memcpy(start, text, length);
    start[length] = '\0';
    enum coat_result result = moment_parse(start, &start_ms, error);
    if (result != COAT_OK)
        return result;
    if (comma != NULL && !parse_rate(comma + 1, &rate))
        return coat_fail(error, COAT_BAD_VALUE, "test-clock", "\"%.20s\" is no rate: write a number from 0 (stands still) "
                         "to 100000, for example 60 for a minute a second", comma + 1);
    *ret = (struct coat_clock){.test = true, .rate = rate, .start_ms = start_ms, .origin_real_ms = clock_real_ms()};
    return COAT_OK;
}

int64_t clock_shop_ms(const struct coat_clock *clock)
{
    if (!clock->test)
        return read_ms(CLOCK_REALTIME);
    double passed_ms = (double)(clock_real_ms() - clock->origin_real_ms) * clock->rate;
    return clock->start_ms + (int64_t)passed_ms;
}

void clock_test_move(struct coat_clock *clock, int64_t to_ms)
{
    if (!clock->test || to_ms <= clock_shop_ms(clock))
        return;
    clock->start_ms = to_ms;
    clock->origin_real_ms = clock_real_ms();
}

int64_t clock_real_wait_ms(const struct coat_clock *clock, int64_t at_ms)
{
    int64_t now_ms = clock_shop_ms(clock);
    if (at_ms <= now_ms)
        return 0;
    if (!clock->test)
        return at_ms - now_ms;
    if (!(clock->rate > 0.0))
        return -1;
    double wait_ms = ceil((double)(at_ms - now_ms) / clock->rate);
    return wait_ms < (double)WAIT_MAX_MS ? (int64_t)wait_ms : WAIT_MAX_MS;
}
