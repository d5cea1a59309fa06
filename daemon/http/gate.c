#include "daemon/http/gate.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

static const char *const header_names[GATE_HEADER_COUNT] = {
    [GATE_HOST] = "Host",
    [GATE_ORIGIN] = "Origin",
    [GATE_FETCH_SITE] = "Sec-Fetch-Site",
    [GATE_CONTENT_TYPE] = "Content-Type",
    [GATE_CONTENT_LENGTH] = "Content-Length",
    [GATE_TRANSFER_ENCODING] = "Transfer-Encoding",
    [GATE_AUTHORIZATION] = "Authorization",
    [GATE_IDEMPOTENCY_KEY] = "Idempotency-Key",
    [GATE_IF_NONE_MATCH] = "If-None-Match",
    [GATE_LAST_EVENT_ID] = "Last-Event-ID",
    [GATE_ACCEPT_ENCODING] = "Accept-Encoding",
};

static bool refuse(struct gate_refusal *ret, int status, const char *format, ...) __attribute__((format(printf, 3, 4)));
static bool refuse(struct gate_refusal *ret, int status, const char *format, ...)
{
    va_list arguments;
    ret->status = status;
    va_start(arguments, format);
    vsnprintf(ret->text, sizeof ret->text, format, arguments);
    va_end(arguments);
    return false;
}

/* RFC 9110, section 5.6.2: the characters of a name. */
static bool is_token(const char *text)
{
    static const char others[] = "!#$%&'*+-.^_`|~";
    if (*text == '\0')
        return false;
    for (; *text != '\0'; text++) {
        bool alphanumeric = (*text >= '0' && *text <= '9') || ((*text | 0x20) >= 'a' && (*text | 0x20) <= 'z');
        if (!alphanumeric && strchr(others, *text) == NULL)
            return false;
    }
    return true;
}

static bool has_control(const char *text)
{
    for (; *text != '\0'; text++)
        if (((unsigned char)*text < 0x20 && *text != '\t') || *text == 0x7F)
            return true;
    return false;
}

void gate_note(struct gate_head *head, const char *name, const char *value)
{
    if (value == NULL)
        value = "";
    if (!is_token(name) || has_control(value))
        head->malformed = true;
    for (size_t i = 0; i < GATE_HEADER_COUNT; i++) {
        if (strcasecmp(name, header_names[i]) != 0)
            continue;
        head->twice[i] = head->value[i] != NULL;
        head->value[i] = value;
    }
}

static bool is_own_host(const char *host, uint16_t port)
{
    static const char *const names[] = {"127.0.0.1", "localhost", "[::1]"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        char own[32];
        snprintf(own, sizeof own, "%s:%u", names[i], (unsigned)port);
        if (strcasecmp(host, own) == 0 || (port == 80 && strcasecmp(host, names[i]) == 0))
            return true;
    }
    return false;
}

static bool admit_headers(const struct gate_head *head, struct gate_refusal *ret)
{
    if (head->malformed)
        return refuse(ret, 400, "the head is ill formed: each line is a name, a colon and a value without control characters, not folded, and ends in CR LF");
    for (size_t i = 0; i < GATE_HEADER_COUNT; i++)
        if (head->twice[i])
            return refuse(ret, 400, "the header %s stands twice: send it once", header_names[i]);
    if (head->value[GATE_TRANSFER_ENCODING] != NULL)
        return refuse(ret, 400, "Transfer-Encoding is not taken: send the body with a Content-Length");
    return true;
}

bool gate_admit(const struct gate_head *head, const char *target, uint16_t port, struct gate_refusal *ret)
{
    if (!admit_headers(head, ret))
        return false;
    if (target[0] != '/')
        return refuse(ret, 400, "the target \"%.40s\" is no path: begin it with a slash", target);
    if (head->value[GATE_HOST] == NULL)
        return refuse(ret, 400, "the header Host is missing");
    if (!is_own_host(head->value[GATE_HOST], port))
        return refuse(ret, 421, "this service does not answer for the host \"%.80s\": use 127.0.0.1:%u or localhost:%u",
                      head->value[GATE_HOST], (unsigned)port, (unsigned)port);
    return true;
}

/* RFC 9110, section 8.3: type, then parameters; only a charset of UTF-8 may stand there. */
static bool is_json_type(const char *type)
{
    static const char json[] = "application/json";
    if (strncasecmp(type, json, strlen(json)) != 0)
        return false;
    type += strlen(json);
    type += strspn(type, " \t");
    if (*type == '\0')
        return true;
    if (*type++ != ';')
        return false;
    type += strspn(type, " \t");
    return strcasecmp(type, "charset=utf-8") == 0 || strcasecmp(type, "charset=\"utf-8\"") == 0;
}

/* A page of another origin may send requests here but cannot hide where it is from. */
static bool admit_source(const struct gate_head *head, struct gate_refusal *ret)
{
    static const char scheme[] = "http://";
    const char *origin = head->value[GATE_ORIGIN];
    const char *site = head->value[GATE_FETCH_SITE];
    if (origin != NULL && (strncasecmp(origin, scheme, strlen(scheme)) != 0 ||
                           strcasecmp(origin + strlen(scheme), head->value[GATE_HOST]) != 0))
        return refuse(ret, 403, "a page from \"%.80s\" may not change anything here", origin);
    if (site != NULL && strcmp(site, "same-origin") != 0 && strcmp(site, "none") != 0)
        return refuse(ret, 403, "a page from elsewhere (Sec-Fetch-Site: %.40s) may not change anything here", site);
    return true;
}

/* The announced length; false where it is no plain number. */
static bool read_length(const char *text, uint64_t *ret)
{
    uint64_t length = 0;
    if (text[0] == '\0' || strlen(text) > 18 || strspn(text, "0123456789") != strlen(text))
        return false;
    for (; *text != '\0'; text++)
        length = length * 10 + (uint64_t)(*text - '0');
    *ret = length;
    return true;
}

static bool is_usable_key(const char *key)
{
    size_t length = strlen(key);
    if (length == 0 || length > 127)
        return false;
    for (; *key != '\0'; key++)
        if (*key < 0x21 || *key > 0x7E)
            return false;
    return true;
}

static bool is_picture_type(const char *type)
{
    return strcasecmp(type, "image/jpeg") == 0 || strcasecmp(type, "image/png") == 0;
}

static bool admit_type(const struct gate_head *head, enum gate_body body, bool has_body, struct gate_refusal *ret)
{
    const char *type = head->value[GATE_CONTENT_TYPE];
    if (body == GATE_BODY_MAY_BE && !has_body && type == NULL)
        return true;
    bool good = type != NULL && (body == GATE_BODY_PICTURE ? is_picture_type(type) : is_json_type(type));
    return good || refuse(ret, 415, "the body is told as \"%.60s\": send %s", type != NULL ? type : "nothing",
                          body == GATE_BODY_PICTURE ? "image/jpeg or image/png" : "application/json");
}

bool gate_admit_write(const struct gate_head *head, enum gate_body body, size_t body_max, struct gate_refusal *ret)
{
    const char *length_text = head->value[GATE_CONTENT_LENGTH];
    const char *key = head->value[GATE_IDEMPOTENCY_KEY];
    uint64_t length = 0;
    if (!admit_source(head, ret))
        return false;
    if (length_text != NULL && !read_length(length_text, &length))
        return refuse(ret, 400, "Content-Length \"%.40s\" is no length", length_text);
    if (!admit_type(head, body, length > 0, ret))
        return false;
    if (length > body_max)
        return refuse(ret, 413, "the body has %llu bytes: at most %zu are taken here", (unsigned long long)length, body_max);
    if (key != NULL && !is_usable_key(key))
        return refuse(ret, 400, "the Idempotency-Key is not usable: 1 to 127 visible ASCII characters without spaces");
    return true;
}

/* What a browser calls a form without a field (HTML, section "form submission"). */
bool gate_admit_form(const struct gate_head *head, struct gate_refusal *ret)
{
    const char *type = head->value[GATE_CONTENT_TYPE];
    const char *length_text = head->value[GATE_CONTENT_LENGTH];
    uint64_t length = 0;
    if (length_text != NULL && !read_length(length_text, &length))
        return refuse(ret, 400, "Content-Length \"%.40s\" is no length", length_text);
    if (type != NULL && strcasecmp(type, "application/x-www-form-urlencoded") != 0)
        return refuse(ret, 415, "the body is told as \"%.60s\": this address takes the form of its own page alone", type);
    if (length > 0)
        return refuse(ret, 413, "the form has %llu bytes: all that it says stands in its address", (unsigned long long)length);
    return true;
}

static int hex_value(char c)
{
    if (c >= '0' && c <= '9')
        return c - '0';
    if (c >= 'a' && c <= 'f')
        return c - 'a' + 10;
    return c >= 'A' && c <= 'F' ? c - 'A' + 10 : -1;
}

/* One byte of percent-encoded text; returns how many characters it took, 0 where it is broken. */
static size_t decode_byte(const char *text, size_t length, char *ret)
{
    if (text[0] != '%') {
        *ret = text[0];
        return 1;
    }
    int high = length >= 3 ? hex_value(text[1]) : -1;
    int low = high >= 0 ? hex_value(text[2]) : -1;
    if (low < 0)
        return 0;
    *ret = (char)(high * 16 + low);
    return 3;
}

bool gate_decode(const char *text, size_t length, char *ret, size_t size)
{
    size_t used = 0;
    if (size == 0)
        return false;
    while (length > 0) {
        char c = '\0';
        size_t took = decode_byte(text, length, &c);
        if (took == 0 || used + 1 >= size || (unsigned char)c < 0x20 || c == 0x7F)
            return false;
        ret[used++] = c;
        text += took;
        length -= took;
    }
    ret[used] = '\0';
    return true;
}
