/* MQTT in: listens to topics of one broker. The connection is the library's, when to make it is ours: each try has a client of its own, so
 * that nothing of a failed one is left over, and the library never connects again by itself. */
#include "daemon/courier/courier.h"
#include "daemon/courier/mqtt_peer.h"
#include "daemon/courier/retry.h"
#include "daemon/courier/topics.h"
#include "daemon/courier/utf8.h"

#include <errno.h>
#include <poll.h>
#include <stdio.h>
#include <string.h>

#define KEEPALIVE_S 30
#define LOOK_MS INT64_C(1000)       /* the library counts its keepalive when it is called */
#define STEADY_MS INT64_C(10000)    /* up that long: what follows is no series of failures */
#define QOS 1

struct mqtt_in {
    struct mqtt_peer peer;     /* first: the library's callbacks get it */
    struct lines *lines;
    struct topics topics;
    struct mosquitto *client;  /* NULL between two tries */
    bool up;                   /* the broker greeted us */
    int64_t greeted_at_ms, greeting_by_ms, try_at_ms;
    struct retry retry;
    char told[MQTT_PEER_WHY_SIZE]; /* last state that coatd knows: "" none, "up", else why it is down */
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

static void on_connect(struct mosquitto *client, void *context, int code)
{
    struct mqtt_in *in = context;
    (void)client;
    if (code != 0) {
        mqtt_peer_note_refusal(&in->peer, code);
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

/* ---- a try ---- */

static void give_up(struct mqtt_in *in, int code, int number)
{
    int64_t now_ms = retry_now_ms();
    bool steady = in->up && now_ms - in->greeted_at_ms >= STEADY_MS;
    mqtt_peer_describe(&in->peer, code, number, in->up);
    if (steady)
        in->retry = (struct retry){0};
    else
        tell_state(in, in->peer.why); /* a steady one may be back with the next try, before anybody need hear of it */
    mosquitto_destroy(in->client); /* takes NULL */
    in->client = NULL;
    in->up = false;
    in->try_at_ms = now_ms + retry_wait_ms(&in->retry);
}

static int set_up(struct mqtt_in *in)
{
    int code = mqtt_peer_make_client(&in->peer, &in->client);
    if (in->client == NULL)
        return code;
    mosquitto_connect_callback_set(in->client, on_connect);
    mosquitto_subscribe_callback_set(in->client, on_subscribe);
    mosquitto_message_callback_set(in->client, on_message);
    return code;
}

/* Waits for the host's name and its connection, guarded. */
static void try_once(struct mqtt_in *in)
{
    in->peer.why[0] = '\0';
    int code = set_up(in);
    errno = 0;
    if (code == MOSQ_ERR_SUCCESS)
        code = mqtt_peer_connect(&in->peer, in->client, in->lines->fd, KEEPALIVE_S);
    in->greeting_by_ms = retry_now_ms() + MQTT_PEER_GREETING_MS;
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
    int number = 0;
    int code = mqtt_peer_serve(in->client, events, &number);
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

bool mqtt_in_run(struct lines *lines, const cJSON *open)
{
    struct mqtt_in in = {.lines = lines};
    if (!mqtt_peer_read(&in.peer, open))
        return false;
    mqtt_peer_limit_memory();
    (void)mosquitto_lib_init();
    while (!lines->over)
        turn(&in);
    mosquitto_destroy(in.client); /* without a farewell: a clean session ends with its connection */
    topics_clear(&in.topics);
    (void)mosquitto_lib_cleanup();
    return true;
}
