/* MQTT in: listens to topics of one broker. The connection is the library's, when to make it is ours: each try has a client of its own, so
 * that nothing of a failed one is left over, and the library never connects again by itself. */
#include "daemon/courier/courier.h"
#include "daemon/courier/guard.h"
#include "daemon/courier/retry.h"
#include "daemon/courier/topics.h"
#include "daemon/courier/utf8.h"

#include <errno.h>
#include <mosquitto.h>
#include <netdb.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>

#define WHY_SIZE 256
#define KEEPALIVE_S 30
#define GREETING_MS INT64_C(20000)  /* from the connection to the broker's answer */
#define LOOK_MS INT64_C(1000)       /* the library counts its keepalive when it is called */
#define STEADY_MS INT64_C(10000)    /* up that long: what follows is no series of failures */
#define QOS 1
#define MEMORY_MAX (64u << 20)      /* the library takes what a broker sends whole before it tells us how long it is */

struct mqtt_in {
    struct lines *lines;
    const char *host, *ca_file, *user, *password; /* live in the open line */
    int port;
    bool tls;
    struct topics topics;
    struct mosquitto *client;  /* NULL between two tries */
    bool up;                   /* the broker greeted us */
    int64_t greeted_at_ms, greeting_by_ms, try_at_ms;
    struct retry retry;
    char id[24];               /* at most 23 characters: every broker must take that */
    char why[WHY_SIZE];        /* what the present try failed of; empty: not known better */
    char told[WHY_SIZE];       /* last state that coatd knows: "" none, "up", else why it is down */
};

/* ---- telling ---- */

static void tell_state(struct mqtt_in *in, const char *why)
{
    const char *state = why == NULL ? "up" : why;
    if (strcmp(in->told, state) == 0)
        return;
    snprintf(in->told, sizeof in->told, "%s", state);
    cJSON *line = cJSON_CreateObject();
    cJSON_AddStringToObject(line, "state", why == NULL ? "connected" : "down");
    if (why != NULL)
        cJSON_AddStringToObject(line, "why", why);
    (void)lines_send(in->lines, line);
}

static void tell_message(struct mqtt_in *in, const char *topic, const char *payload, bool retained)
{
    cJSON *line = cJSON_CreateObject();
    cJSON_AddStringToObject(line, "topic", topic);
    if (payload != NULL)
        cJSON_AddStringToObject(line, "payload", payload);
    else
        cJSON_AddNullToObject(line, "payload");
    if (retained)
        cJSON_AddTrueToObject(line, "retained");
    if (!lines_send(in->lines, line) && payload != NULL) /* escapes made it too long */
        tell_message(in, topic, NULL, retained);
}

static void tell_refused(struct mqtt_in *in, const char *topic)
{
    cJSON *line = cJSON_CreateObject();
    cJSON_AddStringToObject(line, "refused", topic);
    (void)lines_send(in->lines, line);
}

/* ---- what the library calls ---- */

static void subscribe(struct mqtt_in *in, struct topic *topic)
{
    (void)mosquitto_subscribe(in->client, &topic->request, topic->name, QOS); /* a failure shows in the loop */
}

/* Return codes of CONNACK, MQTT 3.1.1 section 3.2.2.3. */
static const char *greeting_text(int code)
{
    static const char *const texts[] = {
        [1] = "it does not speak MQTT 3.1.1",
        [2] = "it does not take our name",
        [3] = "it says that it is not available",
        [4] = "user or password refused",
        [5] = "user or password refused",
    };
    return code > 0 && code < (int)(sizeof texts / sizeof *texts) ? texts[code] : "refused";
}

static void on_connect(struct mosquitto *client, void *context, int code)
{
    struct mqtt_in *in = context;
    (void)client;
    if (code != 0) {
        snprintf(in->why, sizeof in->why, "%s", greeting_text(code));
        return;
    }
    in->up = true;
    in->greeted_at_ms = retry_now_ms();
    tell_state(in, NULL);
    for (size_t i = 0; i < in->topics.count; i++)
        subscribe(in, &in->topics.list[i]);
}

static void on_subscribe(struct mosquitto *client, void *context, int request, int count, const int *granted)
{
    struct mqtt_in *in = context;
    const struct topic *topic = topics_find_request(&in->topics, request);
    (void)client;
    if (topic != NULL && count > 0 && granted[0] > 2)
        tell_refused(in, topic->name);
}

static void on_message(struct mosquitto *client, void *context, const struct mosquitto_message *message)
{
    struct mqtt_in *in = context;
    size_t length = (size_t)message->payloadlen;
    bool text = length < COURIER_LINE_MAX && utf8_is_text(message->payload, length);
    (void)client;
    /* The library puts a NUL behind a payload, but has none at all where it is empty. */
    tell_message(in, message->topic, !text ? NULL : length == 0 ? "" : message->payload, message->retain);
}

/* The library tells by return code that TLS failed, and only here of what. */
static void on_log(struct mosquitto *client, void *context, int level, const char *text)
{
    struct mqtt_in *in = context;
    (void)client;
    if (level != MOSQ_LOG_ERR || in->why[0] != '\0')
        return; /* the first says most */
    if (strstr(text, "certificate verify failed") != NULL)
        snprintf(in->why, sizeof in->why, "its certificate is not trusted: %s did not sign it, or it is not valid today",
                 in->ca_file[0] != '\0' ? "the authorities in the given file" : "the authorities that this system trusts");
    else if (strstr(text, "host name verification failed") != NULL)
        snprintf(in->why, sizeof in->why, "its certificate is not trusted: it is made for another host");
    else if (strstr(text, "OpenSSL") != NULL)
        snprintf(in->why, sizeof in->why, "no TLS there (%.120s)", strrchr(text, ':') != NULL ? strrchr(text, ':') + 1 : text);
}

/* ---- a try ---- */

static void describe_failure(struct mqtt_in *in, int code, int number)
{
    const char *text = mosquitto_strerror(code);
    if (in->why[0] != '\0')
        return;
    if (code == MOSQ_ERR_EAI)
        text = gai_strerror(number);
    else if (code == MOSQ_ERR_ERRNO && (number == EINTR || number == ETIMEDOUT))
        text = "no answer";
    else if (code == MOSQ_ERR_ERRNO && number == ECONNREFUSED)
        text = "connection refused";
    else if (code == MOSQ_ERR_ERRNO && number != 0)
        text = strerror(number);
    else if (code == MOSQ_ERR_CONN_LOST)
        text = in->up ? "it ended the connection" : in->tls ? "it ended the connection at once" : "it ended the connection at once; if it wants TLS, write mqtts://";
    else if (code == MOSQ_ERR_NOMEM)
        text = "it sends more than 64 MB at once";
    else if (code == MOSQ_ERR_KEEPALIVE)
        text = "no answer any more";
    snprintf(in->why, sizeof in->why, "%s", text);
}

static void give_up(struct mqtt_in *in, int code, int number)
{
    int64_t now_ms = retry_now_ms();
    bool steady = in->up && now_ms - in->greeted_at_ms >= STEADY_MS;
    describe_failure(in, code, number);
    if (steady)
        in->retry = (struct retry){0};
    else
        tell_state(in, in->why); /* a steady one may be back with the next try, before anybody need hear of it */
    mosquitto_destroy(in->client); /* takes NULL */
    in->client = NULL;
    in->up = false;
    in->try_at_ms = now_ms + retry_wait_ms(&in->retry);
}

static int set_tls(struct mqtt_in *in)
{
    if (!in->tls)
        return MOSQ_ERR_SUCCESS;
    if (in->ca_file[0] == '\0')
        return mosquitto_int_option(in->client, MOSQ_OPT_TLS_USE_OS_CERTS, 1);
    int code = mosquitto_tls_set(in->client, in->ca_file, NULL, NULL, NULL, NULL);
    if (code == MOSQ_ERR_INVAL)
        snprintf(in->why, sizeof in->why, "the given file of authorities cannot be read");
    return code;
}

static int set_up(struct mqtt_in *in)
{
    in->client = mosquitto_new(in->id, true, in);
    if (in->client == NULL)
        return MOSQ_ERR_NOMEM;
    mosquitto_connect_callback_set(in->client, on_connect);
    mosquitto_subscribe_callback_set(in->client, on_subscribe);
    mosquitto_message_callback_set(in->client, on_message);
    mosquitto_log_callback_set(in->client, on_log);
    int code = set_tls(in);
    if (code == MOSQ_ERR_SUCCESS && in->user[0] != '\0')
        code = mosquitto_username_pw_set(in->client, in->user, in->password[0] != '\0' ? in->password : NULL);
    return code;
}

/* Waits for the host's name and its connection, guarded. */
static void try_once(struct mqtt_in *in)
{
    in->why[0] = '\0';
    int code = set_up(in);
    errno = 0;
    guard_begin(in->lines->fd);
    if (code == MOSQ_ERR_SUCCESS)
        code = mosquitto_connect(in->client, in->host, in->port, KEEPALIVE_S);
    guard_end();
    in->greeting_by_ms = retry_now_ms() + GREETING_MS;
    if (code != MOSQ_ERR_SUCCESS)
        give_up(in, code, errno);
}

/* ---- what coatd says ---- */

static void take_line(struct mqtt_in *in, const cJSON *line)
{
    const char *add = lines_text(line, "add");
    const char *drop = lines_text(line, "drop");
    if (add[0] != '\0') {
        struct topic *topic = topics_add(&in->topics, add);
        if (topic == NULL)
            tell_refused(in, add);
        else if (in->up)
            subscribe(in, topic);
    } else if (drop[0] != '\0') {
        if (topics_drop(&in->topics, drop) && in->up)
            (void)mosquitto_unsubscribe(in->client, NULL, drop);
    } else {
        in->lines->over = true;
    }
}

static void take_lines(struct mqtt_in *in)
{
    for (cJSON *line = lines_next(in->lines); line != NULL; line = lines_next(in->lines)) {
        take_line(in, line);
        cJSON_Delete(line);
    }
}

/* ---- the loop ---- */

static int64_t nearer(int64_t one_ms, int64_t other_ms)
{
    return one_ms < other_ms ? one_ms : other_ms;
}

static int wait_ms(const struct mqtt_in *in)
{
    int64_t now_ms = retry_now_ms();
    int64_t at_ms = in->client == NULL ? in->try_at_ms : now_ms + LOOK_MS;
    if (in->client != NULL && !in->up)
        at_ms = nearer(at_ms, in->greeting_by_ms);
    return at_ms <= now_ms ? 0 : (int)(at_ms - now_ms);
}

/* `events`: what poll() found on the library's socket. */
static void serve_client(struct mqtt_in *in, int events)
{
    int code = MOSQ_ERR_SUCCESS;
    errno = 0;
    if ((events & (POLLIN | POLLHUP | POLLERR)) != 0)
        code = mosquitto_loop_read(in->client, 1);
    if (code == MOSQ_ERR_SUCCESS && (events & POLLOUT) != 0)
        code = mosquitto_loop_write(in->client, 1);
    if (code == MOSQ_ERR_SUCCESS)
        code = mosquitto_loop_misc(in->client);
    int number = errno;
    if (code == MOSQ_ERR_SUCCESS && !in->up && retry_now_ms() >= in->greeting_by_ms) {
        code = MOSQ_ERR_ERRNO;
        number = ETIMEDOUT;
    }
    if (code != MOSQ_ERR_SUCCESS)
        give_up(in, code, number);
}

static void turn(struct mqtt_in *in)
{
    if (in->client == NULL && retry_now_ms() >= in->try_at_ms)
        try_once(in);
    struct pollfd watched[2] = {{.fd = in->lines->fd, .events = POLLIN}, {.fd = -1}};
    if (in->client != NULL)
        watched[1] = (struct pollfd){
            .fd = mosquitto_socket(in->client),
            .events = (short)(mosquitto_want_write(in->client) ? POLLIN | POLLOUT : POLLIN),
        };
    if (poll(watched, 2, wait_ms(in)) < 0)
        return; /* interrupted */
    if (watched[0].revents != 0)
        lines_fill(in->lines);
    take_lines(in);
    if (in->client != NULL)
        serve_client(in, watched[1].revents);
}

#if defined(__has_feature)
#define HAS_FEATURE(name) __has_feature(name)
#else
#define HAS_FEATURE(name) 0
#endif

/* More than this is no air. The sanitizers want memory of their own. */
static void limit_memory(void)
{
#if !defined(__SANITIZE_ADDRESS__) && !HAS_FEATURE(address_sanitizer)
    const struct rlimit limit = {MEMORY_MAX, MEMORY_MAX};
    (void)setrlimit(RLIMIT_DATA, &limit);
#endif
}

static bool read_open(struct mqtt_in *in, const cJSON *open)
{
    const cJSON *port = cJSON_GetObjectItemCaseSensitive(open, "port");
    in->host = lines_text(open, "host");
    in->ca_file = lines_text(open, "ca_file");
    in->user = lines_text(open, "user");
    in->password = lines_text(open, "password");
    in->tls = cJSON_IsTrue(cJSON_GetObjectItemCaseSensitive(open, "tls"));
    in->port = cJSON_IsNumber(port) ? port->valueint : 0;
    snprintf(in->id, sizeof in->id, "coatwright-%08x", (unsigned)retry_random());
    return in->host[0] != '\0' && in->port > 0 && in->port <= 65535;
}

bool mqtt_in_run(struct lines *lines, const cJSON *open)
{
    struct mqtt_in in = {.lines = lines};
    if (!read_open(&in, open))
        return false;
    limit_memory();
    (void)mosquitto_lib_init();
    while (!lines->over)
        turn(&in);
    mosquitto_destroy(in.client); /* without a farewell: a clean session ends with its connection */
    topics_clear(&in.topics);
    (void)mosquitto_lib_cleanup();
    return true;
}
