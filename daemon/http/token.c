#include "daemon/http/token.h"

#include <gnutls/crypto.h>
#include <gnutls/gnutls.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>
#include <sys/random.h>

#define RANDOM_BYTES 32
#define HASH_BYTES 32
_Static_assert(TOKEN_HASH_SIZE == 2 * HASH_BYTES + 1, "two digits a byte");
_Static_assert(TOKEN_HASH_SIZE <= SENSOR_SECRET_SIZE, "the hash is what the record keeps");

bool token_hash(const char *token, char ret[TOKEN_HASH_SIZE])
{
    uint8_t bytes[HASH_BYTES];
    if (gnutls_hash_fast(GNUTLS_DIG_SHA256, token, strlen(token), bytes) != 0)
        return false;
    for (size_t i = 0; i < sizeof bytes; i++)
        snprintf(ret + 2 * i, 3, "%02x", (unsigned)bytes[i]);
    return true;
}

/* RFC 4648, section 5, without padding. */
static void print_base64url(const uint8_t *bytes, size_t count, char *ret)
{
    static const char digits[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";
    unsigned waiting = 0, bits = 0;
    for (size_t i = 0; i < count; i++) {
        waiting = (waiting << 8 | bytes[i]) & 0xFFFF;
        for (bits += 8; bits >= 6; bits -= 6)
            *ret++ = digits[waiting >> (bits - 6) & 63];
    }
    if (bits > 0)
        *ret++ = digits[waiting << (6 - bits) & 63];
    *ret = '\0';
}

bool token_make(char ret_token[TOKEN_SIZE], char ret_hash[TOKEN_HASH_SIZE])
{
    uint8_t bytes[RANDOM_BYTES];
    if (getrandom(bytes, sizeof bytes, 0) != (ssize_t)sizeof bytes)
        return false;
    print_base64url(bytes, sizeof bytes, ret_token);
    return token_hash(ret_token, ret_hash);
}

/* RFC 6750, section 2.1; NULL where it is no bearer's. */
static const char *bearer_token(const char *authorization)
{
    static const char scheme[] = "Bearer ";
    if (strncasecmp(authorization, scheme, strlen(scheme)) != 0)
        return NULL;
    return authorization + strlen(scheme) + strspn(authorization + strlen(scheme), " ");
}

enum token_shown token_look(const struct shop *shop, const char *authorization, int64_t *ret_sensor_id)
{
    char hash[TOKEN_HASH_SIZE];
    size_t count = 0;
    enum token_shown shown = TOKEN_UNKNOWN;
    if (authorization == NULL)
        return TOKEN_NONE;
    const char *token = bearer_token(authorization);
    if (token == NULL || !token_hash(token, hash))
        return TOKEN_UNKNOWN;
    const struct sensor *sensors = shop_sensors(shop, &count);
    for (size_t i = 0; i < count; i++) {
        bool pushes = sensors[i].kind == SENSOR_PUSH && sensors[i].removed_at == MOMENT_NONE;
        if (!pushes || gnutls_memcmp(sensors[i].secret, hash, sizeof hash) != 0)
            continue;
        *ret_sensor_id = sensors[i].id;
        shown = TOKEN_OF_SENSOR;
    }
    return shown;
}
