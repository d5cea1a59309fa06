#include "daemon/courier/transfer.h"

#include <errno.h>
#include <netinet/in.h>
#include <poll.h>
#include <stdio.h>
#include <string.h>
#include <sys/socket.h>

/* ---- what the library calls ---- */

static bool is_late(const struct transfer *transfer)
{
    return !transfer->handed_over && retry_now_ms() - transfer->begun_ms >= transfer->limit_s * 1000;
}

/* About once a second while it waits. Non-zero ends the transfer. */
static int look_for_coatd(void *context, curl_off_t down_total, curl_off_t down, curl_off_t up_total, curl_off_t up)
{
    const struct transfer *transfer = context;
    struct pollfd coatd = {.fd = transfer->coatd_fd, .events = POLLRDHUP};
    (void)down_total, (void)down, (void)up_total, (void)up;
    return is_late(transfer) || (poll(&coatd, 1, 0) > 0 && (coatd.revents & (POLLRDHUP | POLLHUP | POLLERR)) != 0);
}

static bool is_this_machine(const struct sockaddr *address)
{
    const struct sockaddr_in *four = (const void *)address;
    const struct sockaddr_in6 *six = (const void *)address;
    if (address->sa_family == AF_INET)
        return ntohl(four->sin_addr.s_addr) >> 24 == 127;
    return address->sa_family == AF_INET6 && IN6_IS_ADDR_LOOPBACK(&six->sin6_addr);
}

/* What goes without TLS leaves no machine, wherever its name leads. */
static curl_socket_t open_socket(void *context, curlsocktype purpose, struct curl_sockaddr *address)
{
    struct transfer *transfer = context;
    (void)purpose;
    if (transfer->plain && !is_this_machine(&address->addr)) {
        transfer->refused = true;
        return CURL_SOCKET_BAD;
    }
    return socket(address->family, address->socktype | SOCK_CLOEXEC, address->protocol);
}

/* A reply of several lines has a dash behind the number of all but the last (RFC 5321 section 4.2.1); they become one. */
static void take_reply(struct transfer *transfer, const char *text, int length)
{
    if (transfer->goes_on)
        sending_append(transfer->line, sizeof transfer->line, " %.*s", length > 4 ? length - 4 : 0, text + 4);
    else
        snprintf(transfer->line, sizeof transfer->line, "%.3s %.*s", text, length > 4 ? length - 4 : 0, text + 4);
    transfer->goes_on = text[3] == '-';
}

/* HTTP: the status without its version, and no header; SMTP: every reply but the farewell, which says nothing of how it went. */
static size_t take_line(char *text, size_t size, size_t count, void *context)
{
    struct transfer *transfer = context;
    char line[TRANSFER_LINE_SIZE];
    snprintf(line, sizeof line, "%.*s", (int)(size * count), text);
    int length = (int)strcspn(line, "\r\n");
    const char *space = memchr(line, ' ', (size_t)length);
    line[length] = '\0';
    transfer->answered = transfer->answered || (length == 0 && transfer->line[0] > '1');
    if (strncmp(line, "HTTP/", 5) == 0)
        snprintf(transfer->line, sizeof transfer->line, "%s", space != NULL ? space + 1 : "");
    else if (strspn(line, "0123456789") == 3 && (line[3] == ' ' || line[3] == '-' || line[3] == '\0') && strncmp(line, "221", 3) != 0)
        take_reply(transfer, line, length);
    return size * count;
}

/* The begin is enough: one that goes on is broken off. */
static size_t take_body(char *text, size_t size, size_t count, void *context)
{
    struct transfer *transfer = context;
    size_t room = TRANSFER_KEPT - transfer->kept_length;
    size_t length = size * count;
    for (size_t i = 0; i < length && i < room; i++)
        transfer->kept[transfer->kept_length++] = text[i] != '\0' ? text[i] : ' ';
    return transfer->kept_length < TRANSFER_KEPT || transfer->line[0] == '3' ? length : 0; /* the library finds out at the end where one leads */
}

/* ---- a transfer ---- */

static void read_place(const char *url, char *ret, size_t size)
{
    const char *host = strstr(url, "://");
    host = host != NULL ? host + 3 : url;
    snprintf(ret, size, "%.*s", (int)strcspn(host, "/?#"), host);
}

static void set_trust(const struct transfer *transfer)
{
    CURL *curl = transfer->curl;
    curl_easy_setopt(curl, CURLOPT_SSL_VERIFYPEER, 1L);
    curl_easy_setopt(curl, CURLOPT_SSL_VERIFYHOST, 2L);
    curl_easy_setopt(curl, CURLOPT_SSLVERSION, (long)CURL_SSLVERSION_TLSv1_2);
    if (transfer->ca_file[0] == '\0')
        return;
    curl_easy_setopt(curl, CURLOPT_CAINFO, transfer->ca_file);
    curl_easy_setopt(curl, CURLOPT_CAPATH, NULL); /* those and no others */
}

void transfer_begin(struct transfer *transfer, const struct lines *lines, const cJSON *open, const char *url, long limit_s)
{
    CURL *curl = curl_easy_init();
    *transfer = (struct transfer){.curl = curl, .coatd_fd = lines->fd, .limit_s = limit_s, .begun_ms = retry_now_ms(), .ca_file = lines_text(open, "ca_file")};
    transfer->plain = cJSON_IsTrue(cJSON_GetObjectItemCaseSensitive(open, "plain"));
    read_place(url, transfer->place, sizeof transfer->place);
    if (curl == NULL)
        return;
    curl_easy_setopt(curl, CURLOPT_URL, url);
    curl_easy_setopt(curl, CURLOPT_ERRORBUFFER, transfer->error);
    curl_easy_setopt(curl, CURLOPT_NOSIGNAL, 1L);
    curl_easy_setopt(curl, CURLOPT_CONNECTTIMEOUT, TRANSFER_CONNECT_S);
    curl_easy_setopt(curl, CURLOPT_TIMEOUT, limit_s);
    curl_easy_setopt(curl, CURLOPT_FOLLOWLOCATION, 0L);
    curl_easy_setopt(curl, CURLOPT_NETRC, (long)CURL_NETRC_IGNORED);
    curl_easy_setopt(curl, CURLOPT_NOPROGRESS, 0L);
    curl_easy_setopt(curl, CURLOPT_XFERINFOFUNCTION, look_for_coatd);
    curl_easy_setopt(curl, CURLOPT_XFERINFODATA, transfer);
    curl_easy_setopt(curl, CURLOPT_OPENSOCKETFUNCTION, open_socket);
    curl_easy_setopt(curl, CURLOPT_OPENSOCKETDATA, transfer);
    curl_easy_setopt(curl, CURLOPT_HEADERFUNCTION, take_line);
    curl_easy_setopt(curl, CURLOPT_HEADERDATA, transfer);
    curl_easy_setopt(curl, CURLOPT_SUPPRESS_CONNECT_HEADERS, 1L); /* what a proxy says is no answer */
    curl_easy_setopt(curl, CURLOPT_WRITEFUNCTION, take_body);
    curl_easy_setopt(curl, CURLOPT_WRITEDATA, transfer);
    if (transfer->plain)
        curl_easy_setopt(curl, CURLOPT_PROXY, "");
    set_trust(transfer);
}

void transfer_settle(struct transfer *transfer, long settle_s)
{
    transfer->settle_s = settle_s;
    curl_easy_setopt(transfer->curl, CURLOPT_TIMEOUT, transfer->limit_s + settle_s);
    curl_easy_setopt(transfer->curl, CURLOPT_SERVER_RESPONSE_TIMEOUT, transfer->limit_s + settle_s);
}

CURLcode transfer_run(struct transfer *transfer)
{
    return curl_easy_perform(transfer->curl);
}

/* The library says QUIT to a mail server and waits for its answer for as long as for any other, when all is said: it hears that there is none. */
static void hear_no_farewell(CURL *curl)
{
    curl_socket_t fd = CURL_SOCKET_BAD;
    if (curl != NULL && curl_easy_getinfo(curl, CURLINFO_ACTIVESOCKET, &fd) == CURLE_OK && fd != CURL_SOCKET_BAD)
        (void)shutdown(fd, SHUT_RD);
}

void transfer_end(struct transfer *transfer)
{
    hear_no_farewell(transfer->curl);
    curl_easy_cleanup(transfer->curl); /* takes NULL */
    transfer->curl = NULL;
}

/* ---- why it failed ---- */

static void describe_connect(const struct transfer *transfer, char answer[SENDING_ANSWER_SIZE])
{
    long number = 0;
    (void)curl_easy_getinfo(transfer->curl, CURLINFO_OS_ERRNO, &number);
    if (transfer->refused)
        sending_append(answer, SENDING_ANSWER_SIZE, "that is not this machine, and without TLS nothing is sent to another one");
    else if (number == ECONNREFUSED)
        sending_append(answer, SENDING_ANSWER_SIZE, "connection refused");
    else if (number != 0)
        sending_append(answer, SENDING_ANSWER_SIZE, "%s", strerror((int)number));
    else
        sending_append(answer, SENDING_ANSWER_SIZE, "%s", transfer->error);
}

static void describe_trust(const struct transfer *transfer, char answer[SENDING_ANSWER_SIZE])
{
    if (strstr(transfer->error, "match") != NULL)
        sending_append(answer, SENDING_ANSWER_SIZE, "its certificate is not trusted: it is made for another host");
    else if (strstr(transfer->error, "expir") != NULL || strstr(transfer->error, "activ") != NULL)
        sending_append(answer, SENDING_ANSWER_SIZE, "its certificate is not trusted: it is not valid today");
    else
        sending_append(answer, SENDING_ANSWER_SIZE, "its certificate is not trusted: %s did not sign it, or it is not valid today",
                       transfer->ca_file[0] != '\0' ? "the authorities in the given file" : "the authorities that this system trusts");
}

/* Codes that need no more than a text. */
static const struct {
    CURLcode code;
    const char *text;
} plain_texts[] = {
    {CURLE_COULDNT_RESOLVE_HOST, "there is no host of that name, or no way to ask for it"},
    {CURLE_SSL_CACERT_BADFILE, "the given file of authorities cannot be read"},
    {CURLE_USE_SSL_FAILED, "it offers no STARTTLS, and without TLS nothing is sent to it; write smtps:// if it wants TLS from the begin"},
    {CURLE_GOT_NOTHING, "it ended the connection without an answer"},
    {CURLE_RECV_ERROR, "it broke the connection off"},
    {CURLE_SEND_ERROR, "it broke the connection off"},
    {CURLE_PARTIAL_FILE, "it broke the connection off"},
    {CURLE_WEIRD_SERVER_REPLY, "it does not speak what it should"},
    {CURLE_UNSUPPORTED_PROTOCOL, "it does not speak what it should"},
    {CURLE_HTTP2, "it does not speak what it should"},
    {CURLE_LOGIN_DENIED, "user or password refused"},
    {CURLE_OUT_OF_MEMORY, "out of memory"},
};

void transfer_describe(const struct transfer *transfer, CURLcode code, char answer[SENDING_ANSWER_SIZE])
{
    sending_append(answer, SENDING_ANSWER_SIZE, "%s: ", transfer->place);
    for (size_t i = 0; i < sizeof plain_texts / sizeof *plain_texts; i++)
        if (plain_texts[i].code == code) {
            sending_append(answer, SENDING_ANSWER_SIZE, "%s", plain_texts[i].text);
            return;
        }
    if (code == CURLE_COULDNT_CONNECT)
        describe_connect(transfer, answer);
    else if (code == CURLE_PEER_FAILED_VERIFICATION)
        describe_trust(transfer, answer);
    else if (transfer->handed_over && code == CURLE_OPERATION_TIMEDOUT)
        sending_append(answer, SENDING_ANSWER_SIZE, "it has all of it, and did not say in %ld s that it took it", transfer->settle_s);
    else if (code == CURLE_OPERATION_TIMEDOUT || code == CURLE_ABORTED_BY_CALLBACK)
        sending_append(answer, SENDING_ANSWER_SIZE, "no answer in time (%ld s to connect, %ld s in all)", TRANSFER_CONNECT_S, transfer->limit_s);
    else if (code == CURLE_SSL_CONNECT_ERROR)
        sending_append(answer, SENDING_ANSWER_SIZE, "no TLS there (%.120s)", transfer->error);
    else
        sending_append(answer, SENDING_ANSWER_SIZE, "%.200s", transfer->error[0] != '\0' ? transfer->error : curl_easy_strerror(code));
}
