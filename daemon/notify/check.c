/* Settings of a channel, by their form alone. */
#include "coat/notify.h"

#include "daemon/notify/target.h"

#include <ctype.h>
#include <limits.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define TOPIC_BYTES_MAX 400
#define RECIPIENTS_MAX 16

/* ---- texts ---- */

/* What has a space or a control character, or is no ASCII, is no part of an address. */
static bool is_visible(const char *text)
{
    for (; *text != '\0'; text++)
        if (!isgraph((unsigned char)*text))
            return false;
    return true;
}

static bool has_control(const char *text)
{
    for (; *text != '\0'; text++)
        if (iscntrl((unsigned char)*text))
            return true;
    return false;
}

static enum coat_result check_account(const struct channel *settings, bool password_wanted, struct coat_error *error)
{
    if (has_control(settings->user))
        return coat_fail(error, COAT_BAD_VALUE, "user", "the name of the user has a character in it that is not to be seen: write it as one line");
    if (has_control(settings->secret))
        return coat_fail(error, COAT_BAD_VALUE, "secret", "the password has a character in it that is not to be seen: write it as one line");
    if (settings->user[0] == '\0' && settings->secret[0] != '\0')
        return coat_fail(error, COAT_BAD_VALUE, "user", "there is a password, but no user whose it is: name the user, or leave the password out");
    if (password_wanted && settings->user[0] != '\0' && settings->secret[0] == '\0')
        return coat_fail(error, COAT_BAD_VALUE, "secret", "there is a user, but no password: mail servers want both, or neither");
    return COAT_OK;
}

static enum coat_result check_ca_file(const struct channel *settings, bool tls, struct coat_error *error)
{
    if (settings->ca_file[0] == '\0')
        return COAT_OK;
    if (!tls)
        return coat_fail(error, COAT_BAD_VALUE, "ca_file", "authorities are of use with TLS alone, which this address does not ask for: leave them out, or write an address that does");
    if (settings->ca_file[0] != '/' || has_control(settings->ca_file))
        return coat_fail(error, COAT_BAD_VALUE, "ca_file", "\"%.100s\" is no file by its whole path: write it from the first slash on, as in /etc/ssl/certs/shop.pem", settings->ca_file);
    return COAT_OK;
}

/* "https://shop.example:8262", which is put before the paths of this service. */
static enum coat_result check_link(const struct channel *settings, struct coat_error *error)
{
    struct target target;
    const char *link = settings->link;
    if (link[0] == '\0')
        return COAT_OK;
    if (!is_visible(link) || target_parse(CHANNEL_WEBHOOK, link, &target, NULL) != COAT_OK || (target.rest[0] != '\0' && strcmp(target.rest, "/") != 0))
        return coat_fail(error, COAT_BAD_VALUE, "link", "\"%.100s\" is not how this service is reached from elsewhere: write http or https, host and port and no more, as in "
                         "https://shop.example:8262", link);
    return COAT_OK;
}

/* ---- a program ---- */

static bool is_program(const char *path)
{
    struct stat status;
    return stat(path, &status) == 0 && S_ISREG(status.st_mode) && access(path, X_OK) == 0;
}

/* As posix_spawnp will look for it. */
static bool is_on_path(const char *name)
{
    const char *list = getenv("PATH");
    char path[PATH_MAX];
    if (list == NULL)
        return false;
    for (size_t length; *list != '\0'; list += length + (list[length] == ':')) {
        length = strcspn(list, ":");
        if (snprintf(path, sizeof path, "%.*s/%s", (int)length, list, name) < (int)sizeof path && length > 0 && is_program(path))
            return true;
    }
    return false;
}

static enum coat_result check_command(const struct channel *settings, struct coat_error *error)
{
    struct target_command command;
    enum coat_result result = target_command_parse(settings->target, &command, error);
    if (result != COAT_OK)
        return result;
    const char *program = command.argv[0];
    if (strchr(program, '/') == NULL)
        return is_on_path(program) ? COAT_OK : coat_fail(error, COAT_BAD_VALUE, "argv", "there is no program %.100s where this service looks for programs: write its whole path, as in "
                                                         "/usr/local/bin/ring-bell", program);
    if (program[0] != '/')
        return coat_fail(error, COAT_BAD_VALUE, "argv", "\"%.100s\" depends on where this service was started: write the whole path from the first slash on", program);
    if (!is_program(program))
        return coat_fail(error, COAT_BAD_VALUE, "argv", "%.100s is no file that this service may run: look at its name and whether it is executable", program);
    return COAT_OK;
}

/* ---- other machines ---- */

static enum coat_result check_webhook(const struct channel *settings, struct coat_error *error)
{
    struct target target;
    enum coat_result result = target_parse(CHANNEL_WEBHOOK, settings->target, &target, error);
    if (result != COAT_OK)
        return result;
    if (!is_visible(settings->target) || strchr(settings->target, '#') != NULL)
        return coat_fail(error, COAT_BAD_VALUE, "target", "the address has a space, a # or a letter beyond ASCII in it, which no address has: write them as %% and two digits");
    if (!target.tls && !target.here)
        return coat_fail(error, COAT_BAD_VALUE, "target", "%.80s is another machine, and what is sent there without TLS can be read and changed on its way: write https:// (http:// is for "
                         "this machine alone)", target.host);
    if (has_control(settings->secret))
        return coat_fail(error, COAT_BAD_VALUE, "secret", "the key has a character in it that is not to be seen: write it as one line, or leave it out and one is made");
    return check_ca_file(settings, target.tls, error);
}

/* The dot-atoms of RFC 5322 section 3.2.3 around one @. */
static bool is_mail_address(const char *text, size_t length)
{
    const char *at = memchr(text, '@', length);
    if (at == NULL || at == text || at + 1 == text + length || length > 254)
        return false;
    for (size_t i = 0; i < length; i++) {
        bool atom = isalnum((unsigned char)text[i]) || strchr("!#$%&'*+-/=?^_`{|}~.", text[i]) != NULL;
        if (text + i != at && !atom)
            return false;
    }
    return true;
}

static enum coat_result check_recipients(const char *list, struct coat_error *error)
{
    int count = 0;
    for (list += strspn(list, " ,"); *list != '\0'; list += strspn(list, " ,")) {
        size_t length = strcspn(list, " ,");
        if (!is_mail_address(list, length))
            return coat_fail(error, COAT_BAD_VALUE, "to", "\"%.*s\" is no mail address: write it in ASCII, as in me@example.org (a host beyond ASCII begins with xn--)",
                             (int)(length < 80 ? length : 80), list);
        if (++count > RECIPIENTS_MAX)
            return coat_fail(error, COAT_BAD_VALUE, "to", "these are more than %d addresses: make a second channel for the others", RECIPIENTS_MAX);
        list += length;
    }
    return count > 0 ? COAT_OK : coat_fail(error, COAT_BAD_VALUE, "to", "nobody is named to whom the mail goes: write an address, as in me@example.org");
}

static enum coat_result check_mail(const struct channel *settings, struct coat_error *error)
{
    struct target target;
    enum coat_result result = target_parse(CHANNEL_MAIL, settings->target, &target, error);
    if (result == COAT_OK && target.rest[0] != '\0' && strcmp(target.rest, "/") != 0)
        result = coat_fail(error, COAT_BAD_VALUE, "target", "nothing follows the host of a mail server but its port: write smtps://%.80s", target.host);
    if (result == COAT_OK && !is_mail_address(settings->from, strlen(settings->from)))
        result = coat_fail(error, COAT_BAD_VALUE, "from", "\"%.80s\" is no mail address that the mail could come from: write one as in shop@example.org", settings->from);
    if (result == COAT_OK)
        result = check_recipients(settings->to, error);
    if (result == COAT_OK)
        result = check_account(settings, true, error);
    return result == COAT_OK ? check_ca_file(settings, true, error) : result; /* smtp:// goes over to TLS */
}

static enum coat_result check_mqtt(const struct channel *settings, struct coat_error *error)
{
    struct target target;
    enum coat_result result = target_parse(CHANNEL_MQTT, settings->target, &target, error);
    if (result != COAT_OK)
        return result;
    const char *topic = target_topic(&target);
    if (topic[0] == '\0' || strlen(topic) > TOPIC_BYTES_MAX || has_control(topic))
        return coat_fail(error, COAT_BAD_VALUE, "target", "the address names no topic of 1 to %d bytes: write mqtts://%.80s/shop/notices", TOPIC_BYTES_MAX, target.host);
    if (strpbrk(topic, "+#") != NULL || topic[0] == '$')
        return coat_fail(error, COAT_BAD_VALUE, "target", "nothing can be published to the topic \"%.80s\": + and # stand for many, and those with a $ are the broker's own", topic);
    result = check_account(settings, false, error);
    return result == COAT_OK ? check_ca_file(settings, target.tls, error) : result;
}

static enum coat_result check_calendar(const struct channel *settings, struct coat_error *error)
{
    if (settings->target[0] != '\0')
        return coat_fail(error, COAT_BAD_VALUE, "target", "a calendar is fetched through a link that this service makes: leave the address out");
    return COAT_OK;
}

enum coat_result notify_check(const struct channel *settings, struct coat_error *error)
{
    static enum coat_result (*const checks[])(const struct channel *, struct coat_error *) = {
        [CHANNEL_COMMAND] = check_command, [CHANNEL_WEBHOOK] = check_webhook, [CHANNEL_MAIL] = check_mail,
        [CHANNEL_MQTT] = check_mqtt, [CHANNEL_CALENDAR] = check_calendar,
    };
    _Static_assert(sizeof checks / sizeof *checks == CHANNEL_KIND_COUNT, "a check for each kind");
    if (settings->kind >= CHANNEL_KIND_COUNT)
        return coat_fail(error, COAT_BAD_VALUE, "kind", "there is no such kind of channel");
    enum coat_result result = checks[settings->kind](settings, error);
    return result == COAT_OK ? check_link(settings, error) : result;
}
