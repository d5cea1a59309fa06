#include "daemon/notify/target.h"

#include <arpa/inet.h>
#include <cjson/cJSON.h>
#include <ctype.h>
#include <string.h>

/* ---- addresses of other machines ---- */

struct scheme {
    const char *text;
    bool tls;
    int port; /* registered with IANA; of smtp the one for submission, RFC 6409 and RFC 8314 */
};

static const struct form {
    struct scheme schemes[2];
    const char *form;
} forms[CHANNEL_KIND_COUNT] = {
    [CHANNEL_WEBHOOK] = {{{"https://", true, 443}, {"http://", false, 80}}, "https://host/path"},
    [CHANNEL_MAIL] = {{{"smtps://", true, 465}, {"smtp://", false, 587}}, "smtps://host or smtp://host, with :port where it is another"},
    [CHANNEL_MQTT] = {{{"mqtts://", true, 8883}, {"mqtt://", false, 1883}}, "mqtts://host/topic or mqtt://host/topic, with :port where it is another"},
};

/* By its letters: a host name or an IPv4 address, or in brackets an IPv6 address. Whether there is one shows when it is asked. */
static bool is_host(const char *text, size_t length, bool bracketed)
{
    if (length == 0 || length >= sizeof((struct target *)0)->host || text[0] == '-')
        return false;
    for (size_t i = 0; i < length; i++)
        if (!isalnum((unsigned char)text[i]) && strchr(bracketed ? ":.%-_" : ".-_", text[i]) == NULL)
            return false;
    return true;
}

/* Digits up to `end`, 1 to 65535; 0 where they are no port. */
static int read_port(const char *text, const char *end)
{
    int port = 0;
    for (; text < end; text++) {
        if (*text < '0' || *text > '9')
            return 0;
        port = port * 10 + (*text - '0');
        if (port > 65535)
            return 0;
    }
    return port;
}

static bool is_ascii(const char *text, const char *end)
{
    for (; text < end; text++)
        if ((unsigned char)*text >= 0x80)
            return false;
    return true;
}

static bool is_here(const char *host)
{
    struct in_addr four;
    struct in6_addr six;
    if (inet_pton(AF_INET, host, &four) == 1)
        return ntohl(four.s_addr) >> 24 == 127;
    if (inet_pton(AF_INET6, host, &six) == 1)
        return IN6_IS_ADDR_LOOPBACK(&six);
    return strcasecmp(host, "localhost") == 0;
}

/* "host[:port]" of `length` bytes; ret->port holds the usual one. */
static enum coat_result read_authority(const char *text, size_t length, const char *form, struct target *ret, struct coat_error *error)
{
    int shown = (int)(length < 80 ? length : 80);
    bool bracketed = length > 0 && text[0] == '[';
    const char *end = text + length;
    const char *host = bracketed ? text + 1 : text;
    const char *host_end = memchr(host, bracketed ? ']' : ':', (size_t)(end - host));
    if (memchr(text, '@', length) != NULL)
        return coat_fail(error, COAT_BAD_VALUE, "target", "user and password have fields of their own and do not stand in the address: write %s", form);
    if (host_end == NULL)
        host_end = end;
    if (!is_ascii(host, host_end))
        return coat_fail(error, COAT_BAD_VALUE, "target", "\"%.*s\" has a letter beyond ASCII: write the host as the network knows it, which begins with xn--", shown, text);
    const char *rest = bracketed && host_end < end ? host_end + 1 : host_end;
    if ((bracketed && host_end == end) || !is_host(host, (size_t)(host_end - host), bracketed) || (rest < end && *rest != ':'))
        return coat_fail(error, COAT_BAD_VALUE, "target", "\"%.*s\" is no host: write %s", shown, text, form);
    if (rest < end)
        ret->port = read_port(rest + 1, end);
    if (ret->port == 0)
        return coat_fail(error, COAT_BAD_VALUE, "target", "\"%.*s\" has no port from 1 to 65535 after its colon: leave the colon out, or write %s", shown, text, form);
    memcpy(ret->host, host, (size_t)(host_end - host));
    ret->host[host_end - host] = '\0';
    ret->here = is_here(ret->host);
    return COAT_OK;
}

enum coat_result target_parse(enum channel_kind kind, const char *text, struct target *ret, struct coat_error *error)
{
    const struct form *form = &forms[kind];
    for (size_t i = 0; form->form != NULL && i < sizeof form->schemes / sizeof *form->schemes; i++) {
        size_t skip = strlen(form->schemes[i].text);
        if (strncmp(text, form->schemes[i].text, skip) != 0)
            continue;
        struct target read = {.tls = form->schemes[i].tls, .port = form->schemes[i].port};
        size_t length = strcspn(text + skip, "/?#");
        enum coat_result result = read_authority(text + skip, length, form->form, &read, error);
        read.rest = text + skip + length;
        if (result == COAT_OK)
            *ret = read;
        return result;
    }
    return coat_fail(error, COAT_BAD_VALUE, "target", "\"%.80s\" does not begin as it must: write %s", text, form->form != NULL ? form->form : "nothing");
}

const char *target_topic(const struct target *target)
{
    return target->rest[0] == '/' ? target->rest + 1 : "";
}

/* ---- programs ---- */

static enum coat_result refuse_command(const char *text, const char *why, struct coat_error *error)
{
    return coat_fail(error, COAT_BAD_VALUE, "argv", "%.100s: %s; write a JSON array of the program and its arguments, such as [\"/usr/local/bin/ring-bell\", \"twice\"]",
                     text, why);
}

/* The texts of the array one after the other into room. They are shorter than the JSON, so that they fit. */
static enum coat_result take_arguments(const cJSON *array, const char *text, struct target_command *ret, struct coat_error *error)
{
    const cJSON *item = NULL;
    size_t count = 0, used = 0;
    cJSON_ArrayForEach(item, array) {
        if (!cJSON_IsString(item))
            return refuse_command(text, "an argument is no text", error);
        size_t size = strlen(item->valuestring) + 1;
        if (count == TARGET_ARGUMENTS_MAX || used + size > sizeof ret->room)
            return refuse_command(text, "these are too many arguments", error);
        ret->argv[count++] = memcpy(ret->room + used, item->valuestring, size);
        used += size;
    }
    if (count == 0 || ret->argv[0][0] == '\0')
        return refuse_command(text, "it names no program", error);
    ret->argv[count] = NULL;
    return COAT_OK;
}

enum coat_result target_command_parse(const char *text, struct target_command *ret, struct coat_error *error)
{
    enum coat_result result = COAT_OK;
    const char *end = NULL;
    cJSON *array = cJSON_ParseWithLengthOpts(text, strlen(text) + 1, &end, true);
    if (array == NULL || !cJSON_IsArray(array))
        result = refuse_command(text, "that is no JSON array", error);
    else
        result = take_arguments(array, text, ret, error);
    cJSON_Delete(array);
    return result;
}
