#include "daemon/courier/retry.h"

#include <sys/random.h>
#include <time.h>

int64_t retry_now_ms(void)
{
    struct timespec at = {0};
    (void)clock_gettime(CLOCK_BOOTTIME, &at);
    return (int64_t)at.tv_sec * 1000 + at.tv_nsec / 1000000;
}

uint32_t retry_random(void)
{
    uint32_t number = 0;
    if (getrandom(&number, sizeof number, 0) != (ssize_t)sizeof number)
        number = (uint32_t)retry_now_ms();
    return number;
}

int64_t retry_wait_ms(struct retry *retry)
{
    int64_t longest_ms = RETRY_FIRST_MS;
    for (unsigned i = 0; i < retry->failures && longest_ms < RETRY_MAX_MS; i++)
        longest_ms *= 2;
    if (longest_ms > RETRY_MAX_MS)
        longest_ms = RETRY_MAX_MS;
    if (longest_ms < RETRY_MAX_MS)
        retry->failures++;
    return longest_ms - (int64_t)(retry_random() % (uint32_t)(longest_ms / 4));
}
