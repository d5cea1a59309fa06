/* Mail: hands a notice to a mail server. */
#include "daemon/courier/courier.h"
#include "daemon/courier/message.h"
#include "daemon/courier/transfer.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define LIMIT_S 45L
#define SETTLE_S 600L /* for the answer to the whole mail, RFC 5321 section 4.5.3.2.6: who gives up sooner sends it twice */
#define ADDRESS_SIZE 260
#define RECIPIENTS_MAX 16

struct mail {
    const struct lines *lines;
    const cJSON *open;
    const char *url, *user, *password, *from, *to;
    long limit_s;
    struct curl_slist *recipients;
};

/* A message on its way. */
struct reading {
    struct transfer *transfer;
    const char *text;
    size_t left;
};

static size_t read_message(char *ret, size_t size, size_t count, void *context)
{
    struct reading *reading = context;
    size_t length = size * count < reading->left ? size * count : reading->left;
    memcpy(ret, reading->text, length);
    reading->text += length;
    reading->left -= length;
    reading->transfer->handed_over = reading->left == 0;
    return length;
}

/* ---- the server ---- */

/* To this machine TLS is wanted only where its authorities are told: many a server here has a certificate that nobody signed. */
static void set_mail(const struct mail *mail, struct transfer *transfer, struct reading *reading)
{
    CURL *curl = transfer->curl;
    char from[ADDRESS_SIZE];
    bool tls = !transfer->plain || transfer->ca_file[0] != '\0';
    snprintf(from, sizeof from, "<%s>", mail->from);
    curl_easy_setopt(curl, CURLOPT_PROTOCOLS_STR, "smtp,smtps");
    curl_easy_setopt(curl, CURLOPT_PROXY, "");
    curl_easy_setopt(curl, CURLOPT_USE_SSL, (long)(tls ? CURLUSESSL_ALL : CURLUSESSL_NONE));
    if (mail->user[0] != '\0') {
        curl_easy_setopt(curl, CURLOPT_USERNAME, mail->user);
        curl_easy_setopt(curl, CURLOPT_PASSWORD, mail->password);
    }
    curl_easy_setopt(curl, CURLOPT_MAIL_FROM, from);
    curl_easy_setopt(curl, CURLOPT_MAIL_RCPT, mail->recipients);
    curl_easy_setopt(curl, CURLOPT_UPLOAD, 1L);
    curl_easy_setopt(curl, CURLOPT_READFUNCTION, read_message);
    curl_easy_setopt(curl, CURLOPT_READDATA, reading);
    curl_easy_setopt(curl, CURLOPT_INFILESIZE_LARGE, (curl_off_t)reading->left);
}

/* What a server says by 4… and 5… says more than the library's code. */
static void describe(const struct transfer *transfer, CURLcode code, char answer[SENDING_ANSWER_SIZE])
{
    bool refused = transfer->line[0] == '4' || transfer->line[0] == '5';
    if (refused && code == CURLE_LOGIN_DENIED)
        sending_append(answer, SENDING_ANSWER_SIZE, "%s: user or password refused: %s", transfer->place, transfer->line);
    else if (refused && code != CURLE_OPERATION_TIMEDOUT && code != CURLE_ABORTED_BY_CALLBACK && code != CURLE_USE_SSL_FAILED)
        sending_append(answer, SENDING_ANSWER_SIZE, "%s refuses it: %s", transfer->place, transfer->line);
    else
        transfer_describe(transfer, code, answer);
}

static bool hand_over(const struct mail *mail, const char *text, char answer[SENDING_ANSWER_SIZE])
{
    struct transfer transfer;
    struct reading reading = {&transfer, text, strlen(text)};
    CURLcode code = CURLE_OUT_OF_MEMORY;
    transfer_begin(&transfer, mail->lines, mail->open, mail->url, mail->limit_s);
    if (transfer.curl != NULL) {
        transfer_settle(&transfer, SETTLE_S);
        set_mail(mail, &transfer, &reading);
        code = transfer_run(&transfer);
    }
    if (code == CURLE_OK)
        sending_append(answer, SENDING_ANSWER_SIZE, "%s", transfer.line);
    else
        describe(&transfer, code, answer);
    transfer_end(&transfer);
    return code == CURLE_OK;
}

static bool send_notice(void *context, const struct notice_out *notice, char answer[SENDING_ANSWER_SIZE])
{
    const struct mail *mail = context;
    const struct message message = {
        .from = mail->from, .to = mail->to, .subject = notice->subject, .text = notice->text, .id = notice->id, .date = time(NULL),
    };
    char *text = message_write(&message);
    bool delivered = text != NULL && hand_over(mail, text, answer);
    if (text == NULL)
        sending_append(answer, SENDING_ANSWER_SIZE, "out of memory");
    free(text);
    return delivered;
}

/* ---- who ---- */

/* False where one is no address. */
static bool read_recipients(struct mail *mail)
{
    size_t count = 0;
    for (const char *list = mail->to + strspn(mail->to, " ,"); *list != '\0'; list += strspn(list, " ,")) {
        char address[ADDRESS_SIZE];
        size_t length = strcspn(list, " ,");
        if (!message_is_address(list, length) || ++count > RECIPIENTS_MAX)
            return false;
        snprintf(address, sizeof address, "<%.*s>", (int)length, list);
        struct curl_slist *longer = curl_slist_append(mail->recipients, address);
        if (longer == NULL)
            return false;
        mail->recipients = longer;
        list += length;
    }
    return count > 0;
}

bool mail_run(struct lines *lines, const cJSON *open)
{
    const cJSON *limit = cJSON_GetObjectItemCaseSensitive(open, "limit_s");
    struct mail mail = {
        .lines = lines, .open = open, .url = lines_text(open, "url"), .user = lines_text(open, "user"), .password = lines_text(open, "password"),
        .from = lines_text(open, "from"), .to = lines_text(open, "to"), .limit_s = cJSON_IsNumber(limit) && limit->valueint > 0 ? limit->valueint : LIMIT_S,
    };
    bool understood = mail.url[0] != '\0' && message_is_address(mail.from, strlen(mail.from)) && read_recipients(&mail) &&
                      curl_global_init(CURL_GLOBAL_DEFAULT) == CURLE_OK;
    if (understood) {
        sending_run(lines, send_notice, &mail);
        curl_global_cleanup();
    }
    curl_slist_free_all(mail.recipients);
    return understood;
}
