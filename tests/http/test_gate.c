/* The gate, the router, the deadlines and the look at a head's layout, without a socket in the way. */
#include "daemon/http/deadline.c"
#include "daemon/http/gate.c"
#include "daemon/http/layout.c"
#include "daemon/http/router.c"

#include <stdarg.h>
#include <setjmp.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>
#include <cmocka.h>

#define PORT 8262

struct header {
    const char *name, *value;
};

static struct gate_head head_of(const struct header *headers)
{
    struct gate_head head = {0};
    gate_note(&head, "Host", "127.0.0.1:8262");
    for (; headers->name != NULL; headers++)
        gate_note(&head, headers->name, headers->value);
    return head;
}

/* 0: admitted. */
static int status_of(const struct header *headers)
{
    struct gate_head head = head_of(headers);
    struct gate_refusal refusal = {0};
    if (gate_admit(&head, "/", PORT, &refusal) && gate_admit_write(&head, GATE_BODY_NEEDED, 100, &refusal))
        return 0;
    assert_true(strlen(refusal.text) > 10);
    return refusal.status;
}

#define JSON_TYPE {"Content-Type", "application/json"}

static void a_write_must_be_own_and_json_and_small(void **state)
{
    (void)state;
    static const struct {
        struct header headers[4];
        int status;
    } rows[] = {
        {{JSON_TYPE}, 0},
        {{JSON_TYPE, {"Content-Length", "100"}}, 0},
        {{JSON_TYPE, {"Content-Length", "101"}}, 413},
        {{JSON_TYPE, {"Content-Length", "999999999999999999"}}, 413},
        {{JSON_TYPE, {"Content-Length", "9999999999999999999"}}, 400},
        {{JSON_TYPE, {"Content-Length", "0x10"}}, 400},
        {{JSON_TYPE, {"Content-Length", ""}}, 400},
        {{{NULL, NULL}}, 415},
        {{{"content-type", "APPLICATION/JSON ; charset=\"UTF-8\""}}, 0},
        {{{"Content-Type", "application/json;charset=iso-8859-1"}}, 415},
        {{{"Content-Type", "application/json;"}}, 415},
        {{{"Content-Type", "application/json+x"}}, 415},
        {{JSON_TYPE, {"Origin", "http://127.0.0.1:8262"}}, 0},
        {{JSON_TYPE, {"Origin", "HTTP://127.0.0.1:8262"}}, 0},
        {{JSON_TYPE, {"Origin", "http://127.0.0.1:82620"}}, 403},
        {{JSON_TYPE, {"Origin", "http://127.0.0.1:8262/"}}, 403},
        {{JSON_TYPE, {"Origin", "null"}}, 403},
        {{JSON_TYPE, {"Sec-Fetch-Site", "none"}}, 0},
        {{JSON_TYPE, {"Sec-Fetch-Site", "same-site"}}, 403},
        {{JSON_TYPE, {"Idempotency-Key", "0f2d-77"}}, 0},
        {{JSON_TYPE, {"Idempotency-Key", "a b"}}, 400},
        {{JSON_TYPE, {"Idempotency-Key", "\xC3\xA4"}}, 400},
        {{JSON_TYPE, JSON_TYPE}, 400},
        {{JSON_TYPE, {"HOST", "127.0.0.1:8262"}}, 400},
        {{JSON_TYPE, {"Transfer-Encoding", "identity"}}, 400},
        {{JSON_TYPE, {"X-A", "b\x01"}}, 400},
        {{JSON_TYPE, {"X A", "b"}}, 400},
        {{JSON_TYPE, {"X-A", "b\tc"}}, 0},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        if (status_of(rows[i].headers) != rows[i].status)
            fail_msg("row %zu: %d instead of %d", i, status_of(rows[i].headers), rows[i].status);
}

static void a_host_must_be_one_of_the_own_names(void **state)
{
    (void)state;
    static const struct {
        const char *host;
        uint16_t port;
        int status;
    } rows[] = {
        {"127.0.0.1:8262", 8262, 0}, {"localhost:8262", 8262, 0}, {"[::1]:8262", 8262, 0}, {"localhost", 80, 0},
        {"localhost", 8262, 421}, {"127.0.0.1:08262", 8262, 421}, {"::1:8262", 8262, 421}, {"a@127.0.0.1:8262", 8262, 421},
        {"127.0.0.1.:8262", 8262, 421}, {"127.1:8262", 8262, 421}, {"", 8262, 421}, {NULL, 8262, 400},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct gate_head head = {.value[GATE_HOST] = rows[i].host};
        struct gate_refusal refusal = {0};
        int status = gate_admit(&head, "/", rows[i].port, &refusal) ? 0 : refusal.status;
        assert_int_equal(status, rows[i].status);
    }
}

static void escapes_are_decoded_once_or_refused(void **state)
{
    (void)state;
    char text[8];
    static const char *const bad[] = {"%", "%2", "%2g", "%00", "%0a", "%7F", "a\x01", "12345678"};
    assert_true(gate_decode("a%2Fb%25", 8, text, sizeof text));
    assert_string_equal(text, "a/b%");
    assert_true(gate_decode("1234567", 7, text, sizeof text));
    assert_true(gate_decode("a%2", 1, text, sizeof text)); /* what is behind the length is not read */
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
        assert_false(gate_decode(bad[i], strlen(bad[i]), text, sizeof text));
    assert_false(gate_decode("", 0, text, 0));
}

static const struct http_route table[] = {
    {.method = "GET", .path = "/"},
    {.method = "GET", .path = "/assets/{*}"},
    {.method = "GET", .path = "/v/coats"},
    {.method = "POST", .path = "/v/coats"},
    {.method = "PATCH", .path = "/v/coats/{id}"},
    {.method = "POST", .path = "/v/coats/{id}/tests/{stage}"},
    {.method = "POST", .path = "/v/clock", .test_clock_only = true},
    {.method = NULL},
};

static struct route_match find(const char *method, const char *path)
{
    return route_find(table, method, path, strlen(path), false);
}

static void paths_find_their_rows(void **state)
{
    (void)state;
    assert_ptr_equal(find("GET", "/").route, &table[0]);
    assert_ptr_equal(find("HEAD", "/v/coats").route, &table[2]);
    assert_ptr_equal(find("POST", "/v/coats").route, &table[3]);
    struct route_match match = find("POST", "/v/coats/12/tests/tack%20free");
    assert_ptr_equal(match.route, &table[5]);
    assert_string_equal(match.param[0], "12");
    assert_string_equal(match.param[1], "tack free");
    assert_string_equal(find("GET", "/assets/vendor/a.js").param[0], "vendor/a.js");
    assert_string_equal(find("PATCH", "/v/coats/a%2Fb").param[0], "a/b");
}

static void other_paths_and_methods_find_none(void **state)
{
    (void)state;
    static const char *const unknown[] = {"", "//", "/v", "/v/", "/v/coats/", "/v/coatss", "/v/coat", "/V/coats", "/v/coats//tests/x",
                                          "/v/coats/1/tests", "/assets/", "/assets", "/v/clock", "v/coats", "/%76/coats"};
    for (size_t i = 0; i < sizeof unknown / sizeof *unknown; i++)
        if (find("GET", unknown[i]).path_known)
            fail_msg("found: %s", unknown[i]);
    struct route_match match = find("DELETE", "/v/coats");
    assert_true(match.path_known);
    assert_null(match.route);
    assert_string_equal(match.allow, "GET, HEAD, POST");
    assert_null(find("get", "/").route);
    assert_true(find("PATCH", "/v/coats/%00").broken);
    assert_non_null(route_find(table, "POST", "/v/clock", 8, true).route);
}

static void a_deadline_is_absolute(void **state)
{
    struct deadlines all = {0};
    int pair[2];
    char byte = 0;
    (void)state;
    assert_int_equal(socketpair(AF_UNIX, SOCK_STREAM | SOCK_NONBLOCK, 0, pair), 0);
    struct deadline *deadline = deadline_watch(&all, pair[0], 1000);
    struct deadline *stream = deadline_watch(&all, -1, 1000);
    deadline_stream(stream);
    deadline_first_byte(deadline, 5000);
    deadline_first_byte(deadline, 9000); /* a further byte puts nothing off */
    assert_int_equal(deadline_enforce(&all, 14999), 15000);
    assert_true(recv(pair[1], &byte, 1, 0) < 0);
    assert_int_equal(deadline_enforce(&all, 15000), INT64_MAX);
    assert_int_equal(recv(pair[1], &byte, 1, 0), 0); /* shut down */
    deadline_answered(deadline, 15001);
    assert_int_equal(deadline->phase, DEADLINE_CUT);
    deadline_drop(&all, deadline);
    deadline_drop(&all, stream);
    assert_null(all.first);
    assert_int_equal(all.count, 0);
    close(pair[0]);
    close(pair[1]);
}

/* Sends a body at so many bytes a second, a tenth of a second's worth at a time, after the head at 0 ms; how long it was let, in ms: `size` bytes at most. */
static int64_t let_send(int64_t size, int64_t rate)
{
    struct deadlines all = {0};
    int pair[2];
    assert_int_equal(socketpair(AF_UNIX, SOCK_STREAM | SOCK_NONBLOCK, 0, pair), 0);
    struct deadline *deadline = deadline_watch(&all, pair[0], 0);
    int64_t now_ms = 0, sent = 0;
    deadline_first_byte(deadline, 0);
    while (sent < size && deadline->phase != DEADLINE_CUT) {
        now_ms += 100;
        deadline_enforce(&all, now_ms);
        deadline_body(deadline, rate / 10);
        sent += rate / 10;
    }
    deadline_drop(&all, deadline);
    close(pair[0]);
    close(pair[1]);
    return now_ms;
}

static void a_body_puts_its_end_off_by_what_a_poor_link_takes_for_it(void **state)
{
    (void)state;
    const int64_t photo = 4 << 20;
    assert_in_range(let_send(photo, DEADLINE_BODY_RATE), 128000, 128200);   /* 4 MiB at the slowest that will do comes through */
    assert_in_range(let_send(photo, DEADLINE_BODY_RATE / 2), 19900, 20000); /* at half of that it falls behind, and is cut */
    assert_in_range(let_send(photo, 10), 10000, 10100);                     /* a byte each tenth of a second: as without a body */
    struct deadline request = {.phase = DEADLINE_REQUEST, .due_ms = 10000};
    deadline_body(&request, photo);
    assert_int_equal(request.due_ms, 138000); /* the longest a photo takes, its answer included */
    deadline_answered(&request, 50000);
    deadline_first_byte(&request, 60000);
    deadline_body(&request, 1000); /* the next one begins anew */
    assert_int_equal(request.due_ms, 70030);
    struct deadline stream = {.phase = DEADLINE_STREAM, .due_ms = INT64_MAX};
    deadline_body(&stream, photo);
    assert_true(stream.due_ms == INT64_MAX);
}

/* A head as the library leaves it: CR, LF and colon overwritten with NULs. */
static void gaps_in_a_head_are_seen(void **state)
{
    (void)state;
    char good[] = "HTTP/1.1\0\0Host\0 h\0\0X-A\0\0\0X-B\0\tb \0\0\0";
    char bare_lf[] = "HTTP/1.1\0Host\0 h\0\0\0";
    char nul[] = "HTTP/1.1\0\0Host\0 h\0evil\0\0\0";
    struct layout layout = layout_begin(good);
    layout_note(&layout, good + 10, good + 16);
    layout_note(&layout, good + 19, good + 23);
    layout_note(&layout, good + 25, good + 30);
    assert_true(layout_is_whole(&layout));
    layout_note(&layout, "X-Folded", good + 30);
    assert_false(layout_is_whole(&layout));
    layout = layout_begin(bare_lf);
    layout_note(&layout, bare_lf + 9, bare_lf + 15);
    assert_false(layout_is_whole(&layout));
    layout = layout_begin(nul);
    layout_note(&layout, nul + 10, nul + 16);
    assert_false(layout_is_whole(&layout));
    assert_true(layout_is_told("0.9.75"));
    assert_false(layout_is_told("1.0.1"));
}

/* It is for one address, whose signature says what origin and type say elsewhere. */
static void a_signed_form_is_empty_and_a_form(void **state)
{
    (void)state;
#define FORM_TYPE {"Content-Type", "application/x-www-form-urlencoded"}
    static const struct {
        struct header headers[4];
        int status;
    } rows[] = {
        {{FORM_TYPE, {"Content-Length", "0"}}, 0},
        {{FORM_TYPE}, 0},
        {{{"Content-Length", "0"}}, 0},
        {{FORM_TYPE, {"Origin", "https://mail.example"}, {"Sec-Fetch-Site", "cross-site"}}, 0},
        {{FORM_TYPE, {"Content-Length", "1"}}, 413},
        {{FORM_TYPE, {"Content-Length", "-1"}}, 400},
        {{JSON_TYPE, {"Content-Length", "0"}}, 415},
        {{{"Content-Type", "multipart/form-data; boundary=x"}}, 415},
        {{{"Content-Type", "text/plain"}}, 415},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct gate_head head = head_of(rows[i].headers);
        struct gate_refusal refusal = {0};
        assert_int_equal(gate_admit_form(&head, &refusal) ? 0 : refusal.status, rows[i].status);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_write_must_be_own_and_json_and_small), cmocka_unit_test(a_host_must_be_one_of_the_own_names),
        cmocka_unit_test(escapes_are_decoded_once_or_refused),    cmocka_unit_test(paths_find_their_rows),
        cmocka_unit_test(other_paths_and_methods_find_none),      cmocka_unit_test(a_deadline_is_absolute),
        cmocka_unit_test(a_body_puts_its_end_off_by_what_a_poor_link_takes_for_it),
        cmocka_unit_test(gaps_in_a_head_are_seen),                cmocka_unit_test(a_signed_form_is_empty_and_a_form),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
