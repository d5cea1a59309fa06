#include "daemon/http/ack_link.h"

#include "daemon/http/http.h"

#include <gnutls/crypto.h>
#include <gnutls/gnutls.h>
#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#define MAC_BYTES 32
#define LINK_KEY_BYTES 32 /* of shop_link_key() */

/* The first digits of the code over a text, as many as fit into `size`. */
static bool sign_text(const struct shop *shop, const char *text, char *ret, size_t size)
{
    unsigned char mac[MAC_BYTES];
    const unsigned char *key = shop_link_key(shop);
    if (key == NULL || gnutls_hmac_fast(GNUTLS_MAC_SHA256, key, LINK_KEY_BYTES, text, strlen(text), mac) != 0)
        return false;
    for (size_t i = 0; i < sizeof mac && 2 * i + 2 < size; i++)
        snprintf(ret + 2 * i, 3, "%02x", (unsigned)mac[i]);
    return true;
}

static bool sign_ack(const struct shop *shop, int64_t notice_id, int64_t channel_id, char ret[ACK_SIGNATURE_SIZE])
{
    char text[64];
    snprintf(text, sizeof text, "ack:%" PRId64 ":%" PRId64, notice_id, channel_id);
    return sign_text(shop, text, ret, ACK_SIGNATURE_SIZE);
}

bool ack_is_signed(const struct shop *shop, int64_t notice_id, int64_t channel_id, const char *signature)
{
    char right[ACK_SIGNATURE_SIZE];
    const struct channel *channel = shop_channel(shop, channel_id);
    if (signature == NULL || strlen(signature) != ACK_SIGNATURE_SIZE - 1 || !sign_ack(shop, notice_id, channel_id, right))
        return false;
    bool same = gnutls_memcmp(signature, right, ACK_SIGNATURE_SIZE) == 0;
    return same && channel != NULL && channel->removed_at == MOMENT_NONE;
}

bool shop_tag(const struct shop *shop, char ret[SHOP_TAG_SIZE])
{
    return sign_text(shop, "shop", ret, SHOP_TAG_SIZE);
}

void http_ack_link(const struct http_context *context, const struct channel *channel, int64_t notice_id, char *ret, size_t size)
{
    char signature[ACK_SIGNATURE_SIZE] = "";
    if (!sign_ack(context->shop, notice_id, channel->id, signature))
        signature[0] = '\0'; /* a link that is refused, in place of none: the notice itself must go out */
    snprintf(ret, size, "%s/ack?n=%" PRId64 "&c=%" PRId64 "&s=%s", http_link_base(context, channel), notice_id, channel->id, signature);
}

const char *http_link_base(const struct http_context *context, const struct channel *channel)
{
    return channel->link[0] != '\0' ? channel->link : context->origin;
}
