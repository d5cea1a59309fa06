/* Webhook: posts the document of a notice, signed, so that who gets it knows where it comes from. */
#include "daemon/courier/courier.h"
#include "daemon/courier/transfer.h"

#include <ctype.h>
#include <gnutls/crypto.h>
#include <gnutls/gnutls.h>
#include <stdio.h>
#include <string.h>

#define LIMIT_S 30L
#define SIGNATURE_BYTES 32

struct webhook {
    const struct lines *lines;
    const cJSON *open;
    const char *url, *secret;
};

/* ---- headers ---- */

static bool sign(const char *secret, const char *body, char ret[2 * SIGNATURE_BYTES + 1])
{
    unsigned char bytes[SIGNATURE_BYTES];
    if (gnutls_hmac_fast(GNUTLS_MAC_SHA256, secret, strlen(secret), body, strlen(body), bytes) < 0)
        return false;
    for (size_t i = 0; i < SIGNATURE_BYTES; i++)
        snprintf(ret + 2 * i, 3, "%02x", bytes[i]);
    return true;
}

/* A header is a line of visible characters, or there is none. */
static bool add_header(struct curl_slist **headers, const char *name, const char *value)
{
    char line[512];
    int length = snprintf(line, sizeof line, "%s: %s", name, value);
    for (const char *c = value; *c != '\0'; c++)
        if (!isprint((unsigned char)*c))
            return false;
    struct curl_slist *longer = length < (int)sizeof line ? curl_slist_append(*headers, line) : NULL;
    if (longer != NULL)
        *headers = longer;
    return longer != NULL;
}

/* One that is tried before it has a key is sent without a signature. */
static bool add_signature(struct curl_slist **headers, const char *secret, const char *body)
{
    char hex[2 * SIGNATURE_BYTES + 1], signature[sizeof hex + 16];
    if (secret[0] == '\0')
        return true;
    if (!sign(secret, body, hex))
        return false;
    snprintf(signature, sizeof signature, "hmac-sha256=%s", hex);
    return add_header(headers, "Coatwright-Signature", signature);
}

/* NULL without memory. */
static struct curl_slist *make_headers(const struct webhook *webhook, const struct notice_out *notice)
{
    struct curl_slist *headers = NULL;
    bool made = add_header(&headers, "Content-Type", "application/json") && add_header(&headers, "Coatwright-Notice", notice->id) &&
                add_signature(&headers, webhook->secret, notice->json) && add_header(&headers, "User-Agent", "coatwright/" COAT_VERSION);
    if (made)
        return headers;
    curl_slist_free_all(headers);
    return NULL;
}

/* ---- the answer ---- */

/* "200 OK: what it said" */
static bool read_answer(const struct transfer *transfer, char answer[SENDING_ANSWER_SIZE])
{
    long status = 0;
    const char *elsewhere = NULL;
    (void)curl_easy_getinfo(transfer->curl, CURLINFO_RESPONSE_CODE, &status);
    (void)curl_easy_getinfo(transfer->curl, CURLINFO_REDIRECT_URL, &elsewhere);
    sending_append(answer, SENDING_ANSWER_SIZE, "%.80s", transfer->line);
    if (elsewhere != NULL)
        sending_append(answer, SENDING_ANSWER_SIZE, ": it wants to have it sent to %.160s; nothing is sent on by itself, so give that address", elsewhere);
    else if (transfer->kept_length > 0)
        sending_append(answer, SENDING_ANSWER_SIZE, ": %s", transfer->kept);
    return status >= 200 && status < 300;
}

static bool send_notice(void *context, const struct notice_out *notice, char answer[SENDING_ANSWER_SIZE])
{
    const struct webhook *webhook = context;
    struct transfer transfer;
    bool delivered = false;
    struct curl_slist *headers = make_headers(webhook, notice);
    transfer_begin(&transfer, webhook->lines, webhook->open, webhook->url, LIMIT_S);
    if (headers != NULL && transfer.curl != NULL) {
        curl_easy_setopt(transfer.curl, CURLOPT_PROTOCOLS_STR, transfer.plain ? "http" : "https");
        curl_easy_setopt(transfer.curl, CURLOPT_POSTFIELDS, notice->json);
        curl_easy_setopt(transfer.curl, CURLOPT_POSTFIELDSIZE, (long)strlen(notice->json));
        curl_easy_setopt(transfer.curl, CURLOPT_HTTPHEADER, headers);
        CURLcode code = transfer_run(&transfer);
        if (code == CURLE_OK || transfer.answered) /* whatever became of the body behind it: sent again it would come twice */
            delivered = read_answer(&transfer, answer);
        else
            transfer_describe(&transfer, code, answer);
    } else {
        sending_append(answer, SENDING_ANSWER_SIZE, "out of memory");
    }
    transfer_end(&transfer);
    curl_slist_free_all(headers);
    return delivered;
}

bool webhook_run(struct lines *lines, const cJSON *open)
{
    struct webhook webhook = {.lines = lines, .open = open, .url = lines_text(open, "url"), .secret = lines_text(open, "secret")};
    if (webhook.url[0] == '\0' || curl_global_init(CURL_GLOBAL_DEFAULT) != CURLE_OK)
        return false;
    sending_run(lines, send_notice, &webhook);
    curl_global_cleanup();
    return true;
}
