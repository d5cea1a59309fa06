/* Tokens of sensors that post their readings. The record keeps a token's SHA-256 alone, so that nobody can read it back out. */
#ifndef COAT_TOKEN_H
#define COAT_TOKEN_H

#include "coat/shop.h"

#define TOKEN_SIZE 48      /* 32 random bytes in base64url: 43 characters */
#define TOKEN_HASH_SIZE 65 /* SHA-256 in hex */

/* A new token and its hash; false where the system has no random bytes to give. */
bool token_make(char ret_token[TOKEN_SIZE], char ret_hash[TOKEN_HASH_SIZE]);

/* SHA-256 in hex; false where the library fails. */
COAT_CHECKED bool token_hash(const char *token, char ret[TOKEN_HASH_SIZE]);

enum token_shown { TOKEN_NONE, TOKEN_UNKNOWN, TOKEN_OF_SENSOR };
/* What an Authorization header (NULL: none) shows. Takes as long for a token that nobody has as for one that a sensor has. A sensor that was taken out
 * of use has its token no more. */
enum token_shown token_look(const struct shop *shop, const char *authorization, int64_t *ret_sensor_id);

#endif
