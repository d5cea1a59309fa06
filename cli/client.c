#include "cli/client.h"

#include <curl/curl.h>
#include <errno.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/random.h>

#define CONNECT_LIMIT_S 5L
#define ANSWER_LIMIT_S 60L
#define STREAM_SILENCE_S 60L /* the daemon says something every 15 s */
#define STREAM_POLL_MS 1000
#define PATH_SIZE 2048
#define HEADER_SIZE 320

static bool is_plain(const char *text)
{
    for (; *text != '\0'; text++) {
        if (*text <= ' ' || *text > '~')
            return false;
    }
    return true;
}

enum coat_result client_init(struct client *client, const char *url, const char *token, struct coat_error *error)
{
    size_t length = strlen(url);
    while (length > 0 && url[length - 1] == '/')
        length--;
    bool web = strncmp(url, "http://", 7) == 0 || strncmp(url, "https://", 8) == 0;
    if (!web || length >= CLIENT_URL_SIZE || !is_plain(url))
        return coat_fail(error, COAT_BAD_VALUE, "", "\"%.60s\" is no address of a daemon: write it like "
                         "http://127.0.0.1:8262", url);
    if (strlen(token) >= CLIENT_TOKEN_SIZE || !is_plain(token))
        return coat_fail(error, COAT_BAD_VALUE, "", "COAT_TOKEN is no token: it is at most %d visible ASCII characters",
                         CLIENT_TOKEN_SIZE - 1);
    snprintf(client->url, sizeof client->url, "%.*s", (int)length, url);
    snprintf(client->token, sizeof client->token, "%s", token);
    return COAT_OK;
}

static size_t keep(char *data, size_t size, size_t count, void *context)
{
    struct reply *reply = context;
    size_t length = size * count;
    if (length > CLIENT_ANSWER_MAX - reply->length)
        return 0; /* ends the transfer */
    char *text = realloc(reply->text, reply->length + length + 1);
    if (text == NULL)
        return 0;
    memcpy(text + reply->length, data, length);
    reply->text = text;
    reply->length += length;
    text[reply->length] = '\0';
    return length;
}

static void add_header(struct curl_slist **headers, const char *name, const char *value)
{
    char line[HEADER_SIZE + 64]; /* the names are our own, and short */
    snprintf(line, sizeof line, "%s: %s", name, value);
    struct curl_slist *longer = curl_slist_append(*headers, line);
    if (longer != NULL)
        *headers = longer;
}

/* 128 random bits, so that a write that is sent twice on its way is done once. */
static void add_key(struct curl_slist **headers)
{
    uint8_t bytes[16] = {0};
    char key[2 * sizeof bytes + 1];
    if (getrandom(bytes, sizeof bytes, 0) != (ssize_t)sizeof bytes)
        return; /* without a key the write is only not protected against repeats */
    for (size_t i = 0; i < sizeof bytes; i++)
        snprintf(key + 2 * i, 3, "%02x", bytes[i]);
    add_header(headers, "Idempotency-Key", key);
}

/* type: of the body; NULL: there is none. */
static struct curl_slist *make_headers(const struct client *client, const char *type)
{
    char bearer[sizeof client->token + sizeof "Bearer "];
    struct curl_slist *headers = NULL;
    if (client->token[0] != '\0') {
        snprintf(bearer, sizeof bearer, "Bearer %s", client->token);
        add_header(&headers, "Authorization", bearer);
    }
    if (type != NULL) {
        add_header(&headers, "Content-Type", type);
        add_key(&headers);
    }
    add_header(&headers, "Expect", ""); /* no "100-continue" */
    return headers;
}

static CURL *make_handle(const struct client *client, const char *path, struct curl_slist *headers)
{
    char url[CLIENT_URL_SIZE + PATH_SIZE];
    CURL *handle = curl_easy_init();
    if (handle == NULL)
        return NULL;
    snprintf(url, sizeof url, "%s%s", client->url, path);
    curl_easy_setopt(handle, CURLOPT_URL, url);
    curl_easy_setopt(handle, CURLOPT_PROTOCOLS_STR, "http,https");
    curl_easy_setopt(handle, CURLOPT_PROXY, ""); /* the daemon is near; a proxy for the web is not the way to it */
    curl_easy_setopt(handle, CURLOPT_HTTPHEADER, headers);
    curl_easy_setopt(handle, CURLOPT_USERAGENT, "coat/" COAT_VERSION);
    curl_easy_setopt(handle, CURLOPT_CONNECTTIMEOUT, CONNECT_LIMIT_S);
    curl_easy_setopt(handle, CURLOPT_NOSIGNAL, 1L);
    return handle;
}

static enum client_result classify(CURLcode code)
{
    switch (code) { /* some of libcurl's hundred codes; the rest is told as "no answer" */
    case CURLE_OK:
        return CLIENT_ANSWERED;
    case CURLE_COULDNT_CONNECT:
    case CURLE_COULDNT_RESOLVE_HOST:
    case CURLE_SSL_CONNECT_ERROR:
    case CURLE_PEER_FAILED_VERIFICATION:
    case CURLE_URL_MALFORMAT:
        return CLIENT_NOT_THERE;
    case CURLE_UNSUPPORTED_PROTOCOL:
    case CURLE_WEIRD_SERVER_REPLY:
        return CLIENT_NOT_COATD;
    case CURLE_OUT_OF_MEMORY:
        return CLIENT_NO_MEMORY;
    default:
        return CLIENT_NO_ANSWER;
    }
}

static enum client_result perform(CURL *handle, struct reply *reply)
{
    curl_off_t connected_us = 0;
    CURLcode code = curl_easy_perform(handle);
    if (code == CURLE_OPERATION_TIMEDOUT &&
        curl_easy_getinfo(handle, CURLINFO_CONNECT_TIME_T, &connected_us) == CURLE_OK && connected_us == 0)
        return CLIENT_NOT_THERE;
    if (code != CURLE_OK)
        return classify(code);
    curl_easy_getinfo(handle, CURLINFO_RESPONSE_CODE, &reply->status);
    reply->document = reply->text != NULL ? cJSON_ParseWithLength(reply->text, reply->length) : NULL;
    return cJSON_IsObject(reply->document) ? CLIENT_ANSWERED : CLIENT_NOT_COATD;
}

struct sent {
    const char *method, *type; /* type NULL: no body */
    const void *bytes;
    size_t length;
};

static enum client_result ask(const struct client *client, const char *path, const struct sent *sent, struct reply *reply)
{
    enum client_result result = CLIENT_NO_MEMORY;
    *reply = (struct reply){0};
    struct curl_slist *headers = make_headers(client, sent->type);
    CURL *handle = make_handle(client, path, headers);
    if (handle == NULL)
        goto out;
    curl_easy_setopt(handle, CURLOPT_TIMEOUT, ANSWER_LIMIT_S);
    curl_easy_setopt(handle, CURLOPT_CUSTOMREQUEST, sent->method);
    curl_easy_setopt(handle, CURLOPT_WRITEFUNCTION, keep);
    curl_easy_setopt(handle, CURLOPT_WRITEDATA, reply);
    if (sent->type != NULL) {
        curl_easy_setopt(handle, CURLOPT_POSTFIELDSIZE_LARGE, (curl_off_t)sent->length);
        curl_easy_setopt(handle, CURLOPT_POSTFIELDS, sent->bytes);
    }
    result = perform(handle, reply);
out:
    if (result != CLIENT_ANSWERED)
        reply_free(reply);
    curl_easy_cleanup(handle);
    curl_slist_free_all(headers);
    return result;
}

enum client_result client_ask(const struct client *client, const char *method, const char *path, const cJSON *body,
                              struct reply *reply)
{
    bool writes = strcmp(method, "GET") != 0;
    char *text = writes ? cJSON_PrintUnformatted(body) : NULL;
    const char *bytes = text != NULL ? text : "{}";
    const struct sent sent = {method, writes ? "application/json" : NULL, bytes, strlen(bytes)};
    enum client_result result = ask(client, path, &sent, reply);
    cJSON_free(text);
    return result;
}

enum client_result client_post(const struct client *client, const char *path, const char *type, const void *bytes, size_t length,
                               struct reply *reply)
{
    const struct sent sent = {"POST", type, bytes, length};
    return ask(client, path, &sent, reply);
}

void reply_free(struct reply *reply)
{
    free(reply->text);
    cJSON_Delete(reply->document);
    *reply = (struct reply){0};
}

/* ---- events ---- */

struct stream {
    bool data;      /* a "data:" line stands in the event that is being read */
    size_t column;  /* of the line that is being read */
    char start[8];
    bool due;       /* a whole event has come */
};

/* An event ends with an empty line; only that it came matters, for what it says is fetched. */
static size_t scan_events(char *data, size_t size, size_t count, void *context)
{
    struct stream *stream = context;
    for (size_t i = 0; i < size * count; i++) {
        if (data[i] == '\r')
            continue;
        if (data[i] != '\n') {
            if (stream->column < sizeof stream->start)
                stream->start[stream->column] = data[i];
            stream->column++;
            continue;
        }
        if (stream->column == 0 && stream->data) {
            stream->due = true;
            stream->data = false;
        }
        stream->data = stream->data || (stream->column >= 5 && memcmp(stream->start, "data:", 5) == 0);
        stream->column = 0;
    }
    return size * count;
}

static enum client_result stream_end(CURLM *multi, CURL *handle, long *ret_status)
{
    int left = 0;
    const CURLMsg *message = curl_multi_info_read(multi, &left);
    CURLcode code = message != NULL && message->msg == CURLMSG_DONE ? message->data.result : CURLE_OK;
    curl_easy_getinfo(handle, CURLINFO_RESPONSE_CODE, ret_status);
    return code == CURLE_OK ? CLIENT_NO_ANSWER : classify(code);
}

static enum client_result run_stream(CURLM *multi, CURL *handle, struct stream *stream, bool (*event)(void *context),
                                     void *context, long *ret_status)
{
    int running = 1;
    while (curl_multi_perform(multi, &running) == CURLM_OK) {
        curl_easy_getinfo(handle, CURLINFO_RESPONSE_CODE, ret_status);
        if (stream->due && *ret_status == 200) {
            stream->due = false;
            if (!event(context))
                return CLIENT_ANSWERED;
        }
        if (running == 0)
            return stream_end(multi, handle, ret_status);
        if (curl_multi_poll(multi, NULL, 0, STREAM_POLL_MS, NULL) != CURLM_OK)
            break;
    }
    return CLIENT_NO_ANSWER;
}

enum client_result client_follow(const struct client *client, const char *path, bool (*event)(void *context),
                                 void *context, long *ret_status)
{
    enum client_result result = CLIENT_NO_MEMORY;
    struct stream stream = {0};
    struct curl_slist *headers = make_headers(client, NULL);
    CURL *handle = make_handle(client, path, headers);
    CURLM *multi = curl_multi_init();
    *ret_status = 0;
    if (handle == NULL || multi == NULL)
        goto out;
    curl_easy_setopt(handle, CURLOPT_WRITEFUNCTION, scan_events);
    curl_easy_setopt(handle, CURLOPT_WRITEDATA, &stream);
    curl_easy_setopt(handle, CURLOPT_LOW_SPEED_LIMIT, 1L);
    curl_easy_setopt(handle, CURLOPT_LOW_SPEED_TIME, STREAM_SILENCE_S);
    curl_multi_add_handle(multi, handle);
    result = run_stream(multi, handle, &stream, event, context, ret_status);
    curl_multi_remove_handle(multi, handle);
out:
    curl_multi_cleanup(multi);
    curl_easy_cleanup(handle);
    curl_slist_free_all(headers);
    return result;
}
