/* The links that acknowledge a notice from a mail: a number, the channel over which it went out, and a signature over both by the shop's own key. */
#ifndef COAT_ACK_LINK_H
#define COAT_ACK_LINK_H

#include "coat/shop.h"

#define ACK_SIGNATURE_SIZE 33 /* the first 128 bits of HMAC-SHA256, in hex */

/* Whether a signature (NULL: none) is that of the two, and the channel is in use. Takes as long for a wrong one as for a right one. */
bool ack_is_signed(const struct shop *shop, int64_t notice_id, int64_t channel_id, const char *signature);

/* What this shop is called where names must differ from shop to shop: 16 hex digits made of its key, which they do not tell. */
#define SHOP_TAG_SIZE 17
COAT_CHECKED bool shop_tag(const struct shop *shop, char ret[SHOP_TAG_SIZE]);

#endif
