/* Which settings of a channel can be stored: what is wrong is named, and what would do. */
#include <stdarg.h>
#include <setjmp.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <cmocka.h>

#include "coat/notify.h"

struct row {
    struct channel settings;
    const char *field, *says; /* NULL: it will do */
};

static void hold(const struct row *rows, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        struct coat_error error = {0};
        enum coat_result result = notify_check(&rows[i].settings, &error);
        const char *target = rows[i].settings.target;
        if ((result == COAT_OK) != (rows[i].field == NULL))
            fail_msg("row %zu (%s): %s %s", i, target, coat_result_text(result), error.text);
        if (result == COAT_OK)
            continue;
        assert_int_equal(result, COAT_BAD_VALUE);
        if (strcmp(error.field, rows[i].field) != 0 || strstr(error.text, rows[i].says) == NULL)
            fail_msg("row %zu (%s): %s: \"%s\" does not say \"%s\"", i, target, error.field, error.text, rows[i].says);
    }
}

#define HOLD(rows) hold(rows, sizeof(rows) / sizeof *(rows))

static void programs(void **state)
{
    (void)state;
#define C(text, ...) {{.kind = CHANNEL_COMMAND, .target = text}, __VA_ARGS__}
    static const struct row rows[] = {
        C("[\"/bin/sh\",\"-c\",\"echo\"]", NULL, NULL),
        C("[\"sh\"]", NULL, NULL),
        C("/bin/sh", "argv", "no JSON array"),
        C("", "argv", "no JSON array"),
        C("[]", "argv", "names no program"),
        C("[\"\"]", "argv", "names no program"),
        C("[\"/bin/sh\",7]", "argv", "an argument is no text"),
        C("[\"/bin/sh\"] x", "argv", "no JSON array"),
        C("[\"./ring\"]", "argv", "whole path"),
        C("[\"/nowhere/ring\"]", "argv", "no file that this service may run"),
        C("[\"/bin\"]", "argv", "no file that this service may run"),
        C("[\"/etc/passwd\"]", "argv", "no file that this service may run"),
        C("[\"no-such-program-here\"]", "argv", "no program no-such-program-here"),
    };
    HOLD(rows);
}

static void webhooks(void **state)
{
    (void)state;
#define W(text, ...) {{.kind = CHANNEL_WEBHOOK, .target = text, .secret = "key"}, __VA_ARGS__}
    static const struct row rows[] = {
        W("https://hooks.example/a?b=c", NULL, NULL),
        W("https://hooks.example", NULL, NULL),
        W("https://[2001:db8::1]:8443/a", NULL, NULL),
        W("http://127.0.0.1:9000/a", NULL, NULL),
        W("http://127.8.9.1/a", NULL, NULL),
        W("http://localhost/a", NULL, NULL),
        W("http://[::1]:9000/a", NULL, NULL),
        W("http://hooks.example/a", "target", "without TLS"),
        W("http://192.168.1.4/a", "target", "https://"),
        W("http://localhost.example/a", "target", "without TLS"),
        W("http://127.0.0.1.example/a", "target", "without TLS"),
        W("https://me:pw@hooks.example/", "target", "fields of their own"),
        W("https://127.0.0.1@hooks.example/", "target", "fields of their own"),
        W("https:///a", "target", "no host"),
        W("https://hooks.example:0/", "target", "no port"),
        W("https://hooks.example:65536/", "target", "no port"),
        W("https://hooks.example:/", "target", "no port"),
        W("https://hooks.example/a b", "target", "a space"),
        W("https://hooks.example/\r\nX: y", "target", "a space"),
        W("https://hooks.example/#a", "target", "a #"),
        W("https://h\303\266ks.example/", "target", "which begins with xn--"),
        W("https://xn--hks-sna.example/", NULL, NULL),
        W("https://hooks.example/h\303\266k", "target", "% and two digits"),
        W("ftp://hooks.example/a", "target", "does not begin as it must"),
        W("hooks.example/a", "target", "write https://host/path"),
        W("", "target", "write https://host/path"),
        W("https://-hooks/", "target", "no host"),
        {{.kind = CHANNEL_WEBHOOK, .target = "https://h.example/", .secret = "a\nb"}, "secret", "one line"},
        {{.kind = CHANNEL_WEBHOOK, .target = "https://h.example/", .secret = "k", .ca_file = "/etc/shop.pem"}, NULL, NULL},
        {{.kind = CHANNEL_WEBHOOK, .target = "https://h.example/", .secret = "k", .ca_file = "shop.pem"}, "ca_file", "whole path"},
        {{.kind = CHANNEL_WEBHOOK, .target = "http://127.0.0.1/", .secret = "k", .ca_file = "/etc/shop.pem"}, "ca_file", "TLS alone"},
        {{.kind = CHANNEL_WEBHOOK, .target = "https://h.example/", .secret = "k", .link = "https://shop.example:8262"}, NULL, NULL},
        {{.kind = CHANNEL_WEBHOOK, .target = "https://h.example/", .secret = "k", .link = "http://192.168.1.4:8262/"}, NULL, NULL},
        {{.kind = CHANNEL_WEBHOOK, .target = "https://h.example/", .secret = "k", .link = "https://shop.example/x"}, "link", "host and port and no more"},
        {{.kind = CHANNEL_WEBHOOK, .target = "https://h.example/", .secret = "k", .link = "javascript:alert(1)"}, "link", "host and port and no more"},
    };
    HOLD(rows);
}

static void mail(void **state)
{
    (void)state;
#define M(text, sender, receivers, ...) {{.kind = CHANNEL_MAIL, .target = text, .from = sender, .to = receivers}, __VA_ARGS__}
    static const struct row rows[] = {
        M("smtps://mail.example", "shop@example.org", "me@example.org", NULL, NULL),
        M("smtp://mail.example:25", "shop@example.org", "me@example.org, you+shop@example.org", NULL, NULL),
        M("smtp://127.0.0.1:25", "shop@localhost", "me@localhost", NULL, NULL),
        M("https://mail.example", "shop@example.org", "me@example.org", "target", "write smtps://host"),
        M("smtps://mail.example/x", "shop@example.org", "me@example.org", "target", "its port"),
        M("smtps://me@mail.example", "shop@example.org", "me@example.org", "target", "fields of their own"),
        M("smtps://mail.example\r\nx", "shop@example.org", "me@example.org", "target", "no host"),
        M("smtps://mail.example", "", "me@example.org", "from", "no mail address"),
        M("smtps://mail.example", "shop", "me@example.org", "from", "no mail address"),
        M("smtps://mail.example", "Shop <shop@example.org>", "me@example.org", "from", "no mail address"),
        M("smtps://mail.example", "shop@example.org\r\nBcc: all@example.org", "me@example.org", "from", "no mail address"),
        M("smtps://mail.example", "a@b@c", "me@example.org", "from", "no mail address"),
        M("smtps://mail.example", "@b", "me@example.org", "from", "no mail address"),
        M("smtps://mail.example", "shop@example.org", "", "to", "nobody is named"),
        M("smtps://mail.example", "shop@example.org", " , ", "to", "nobody is named"),
        M("smtps://mail.example", "shop@example.org", "me@example.org\nBcc: x@y", "to", "no mail address"),
        M("smtps://mail.example", "shop@example.org", "m\303\274ller@example.org", "to", "no mail address"),
        M("smtps://mail.example", "shop@example.org", "me@m\303\274ller.example", "to", "xn--"),
        M("smtps://m\303\274ller.example", "shop@example.org", "me@example.org", "target", "which begins with xn--"),
        M("smtps://mail.example", "shop@example.org", "a@b,a@b,a@b,a@b,a@b,a@b,a@b,a@b,a@b,a@b,a@b,a@b,a@b,a@b,a@b,a@b,a@b", "to", "more than 16"),
        {{.kind = CHANNEL_MAIL, .target = "smtps://m.example", .from = "a@b", .to = "c@d", .user = "a", .secret = "pw"}, NULL, NULL},
        {{.kind = CHANNEL_MAIL, .target = "smtps://m.example", .from = "a@b", .to = "c@d", .user = "a"}, "secret", "no password"},
        {{.kind = CHANNEL_MAIL, .target = "smtps://m.example", .from = "a@b", .to = "c@d", .secret = "pw"}, "user", "no user"},
        {{.kind = CHANNEL_MAIL, .target = "smtps://m.example", .from = "a@b", .to = "c@d", .user = "a\r\nb", .secret = "pw"}, "user", "one line"},
    };
    HOLD(rows);
}

static void brokers(void **state)
{
    (void)state;
#define Q(text, ...) {{.kind = CHANNEL_MQTT, .target = text}, __VA_ARGS__}
    static const struct row rows[] = {
        Q("mqtt://broker.example/shop/notices", NULL, NULL),
        Q("mqtts://broker.example:8884/shop", NULL, NULL),
        Q("mqtt://[::1]/shop", NULL, NULL),
        Q("mqtt://broker.example", "target", "names no topic"),
        Q("mqtt://broker.example/", "target", "names no topic"),
        Q("mqtt://broker.example/shop/+", "target", "stand for many"),
        Q("mqtt://broker.example/#", "target", "stand for many"),
        Q("mqtt://broker.example/$SYS/x", "target", "the broker's own"),
        Q("mqtt://broker.example/a\nb", "target", "names no topic"),
        Q("tcp://broker.example/a", "target", "does not begin as it must"),
        {{.kind = CHANNEL_MQTT, .target = "mqtt://b.example/a", .user = "shop"}, NULL, NULL},
        {{.kind = CHANNEL_MQTT, .target = "mqtt://b.example/a", .secret = "pw"}, "user", "no user"},
    };
    HOLD(rows);
}

static void calendars(void **state)
{
    (void)state;
    static const struct row rows[] = {
        {{.kind = CHANNEL_CALENDAR}, NULL, NULL},
        {{.kind = CHANNEL_CALENDAR, .target = "https://calendar.example"}, "target", "leave the address out"},
        {{.kind = CHANNEL_CALENDAR, .link = "shop.example"}, "link", "https://shop.example:8262"},
    };
    HOLD(rows);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(programs), cmocka_unit_test(webhooks), cmocka_unit_test(mail), cmocka_unit_test(brokers), cmocka_unit_test(calendars),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
