/* What webhook and mail have in common: a transfer by libcurl that keeps to its time, trusts nobody without a certificate, ends when coatd is gone, and says plainly
 * what went wrong. */
#ifndef COURIER_TRANSFER_H
#define COURIER_TRANSFER_H

#include "daemon/courier/retry.h"
#include "daemon/courier/sending.h"

#include <curl/curl.h>

#define TRANSFER_CONNECT_S 10L
#define TRANSFER_KEPT 200 /* bytes of an answer's body */
#define TRANSFER_LINE_SIZE 256

struct transfer {
    CURL *curl;
    int coatd_fd;
    bool plain;                      /* without TLS: to this machine alone */
    bool refused;                    /* it was not this machine */
    const char *ca_file;
    long limit_s;
    long settle_s;                   /* more than that once all was handed over: 0 but for mail */
    bool handed_over;
    int64_t begun_ms;
    char place[280];                 /* "host:port", for people */
    char error[CURL_ERROR_SIZE];
    char line[TRANSFER_LINE_SIZE];   /* what the other side said last outside of a body: "200 OK", "550 5.1.1 no such user" */
    bool goes_on;                    /* and says more of it */
    bool answered;                   /* HTTP: all of its headers came, of an answer that is final (RFC 9110 section 15) */
    char kept[TRANSFER_KEPT + 1];    /* the begin of the body */
    size_t kept_length;
};

/* Fills the settings from the open line: ca_file, plain; and a handle for `url`. NULL curl: no memory. To be ended either way. */
void transfer_begin(struct transfer *transfer, const struct lines *lines, const cJSON *open, const char *url, long limit_s);
/* So much longer for an answer once `handed_over` is set. */
void transfer_settle(struct transfer *transfer, long settle_s);
CURLcode transfer_run(struct transfer *transfer);
void transfer_end(struct transfer *transfer);

/* Why it failed, for people. */
void transfer_describe(const struct transfer *transfer, CURLcode code, char answer[SENDING_ANSWER_SIZE]);

#endif
