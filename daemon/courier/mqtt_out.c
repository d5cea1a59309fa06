/* MQTT out: publishes each notice over a connection of its own, and waits until the broker has it. MQTT 5 first, since only there a broker says that it does not take
 * what is published; 3.1.1 where it does not speak that. */
#include "daemon/courier/courier.h"
#include "daemon/courier/mqtt_peer.h"
#include "daemon/courier/retry.h"
#include "daemon/courier/sending.h"

#include <errno.h>
#include <mqtt_protocol.h>
#include <poll.h>
#include <stdio.h>
#include <string.h>

#define KEEPALIVE_S 60
#define LOOK_MS 1000 /* the library counts its keepalive when it is called */
#define QOS 1

struct mqtt_out {
    struct mqtt_peer peer;    /* first: the library's callbacks get it */
    struct lines *lines;
    const char *topic;
    const char *payload;
    struct mosquitto *client;
    int version;              /* that this broker is spoken to with */
    bool up;                  /* the broker greeted us */
    bool other_version;       /* or does not speak this one */
    bool refused;             /* by the library, for what the broker said of itself when it greeted: nothing was published */
    bool acknowledged;
    int reason;               /* as the broker gave with that */
};

/* ---- what the library calls ---- */

static void on_connect(struct mosquitto *client, void *context, int code)
{
    struct mqtt_out *out = context;
    out->other_version = code == CONNACK_REFUSED_PROTOCOL_VERSION || code == MQTT_RC_UNSUPPORTED_PROTOCOL_VERSION;
    if (code != 0) {
        mqtt_peer_note_refusal(&out->peer, code);
        return;
    }
    out->up = true;
    int published = mosquitto_publish(client, NULL, out->topic, (int)strlen(out->payload), out->payload, QOS, false);
    out->refused = published == MOSQ_ERR_OVERSIZE_PACKET || published == MOSQ_ERR_QOS_NOT_SUPPORTED; /* other failures show in time */
    if (published == MOSQ_ERR_OVERSIZE_PACKET)
        snprintf(out->peer.why, sizeof out->peer.why, "it takes nothing as long as this notice, which has %zu bytes: allow it longer packets", strlen(out->payload));
    else if (out->refused)
        snprintf(out->peer.why, sizeof out->peer.why, "it acknowledges nothing that is published (no QoS 1), so that nobody knew whether it has it");
}

static void on_publish(struct mosquitto *client, void *context, int request, int reason, const mosquitto_property *properties)
{
    struct mqtt_out *out = context;
    (void)client, (void)request, (void)properties;
    out->acknowledged = true;
    out->reason = reason;
}

/* ---- one connection ---- */

static int set_up(struct mqtt_out *out)
{
    int code = mqtt_peer_make_client(&out->peer, &out->client);
    if (code != MOSQ_ERR_SUCCESS)
        return code;
    mosquitto_connect_callback_set(out->client, on_connect);
    mosquitto_publish_v5_callback_set(out->client, on_publish);
    return mosquitto_int_option(out->client, MOSQ_OPT_PROTOCOL_VERSION, out->version);
}

/* Until it is acknowledged, or fails. */
static int wait_for_acknowledgement(struct mqtt_out *out, int *ret_number)
{
    int64_t limit_ms = retry_now_ms() + MQTT_PEER_GREETING_MS;
    int code = MOSQ_ERR_SUCCESS;
    while (code == MOSQ_ERR_SUCCESS && !out->acknowledged && !out->refused) {
        struct pollfd watched[2] = {
            {.fd = out->lines->fd, .events = POLLRDHUP},
            {.fd = mosquitto_socket(out->client), .events = (short)(mosquitto_want_write(out->client) ? POLLIN | POLLOUT : POLLIN)},
        };
        (void)poll(watched, 2, LOOK_MS);
        if ((watched[0].revents & (POLLRDHUP | POLLHUP | POLLERR)) != 0)
            out->lines->over = true;
        code = mqtt_peer_serve(out->client, watched[1].revents, ret_number);
        if (code == MOSQ_ERR_SUCCESS && !out->acknowledged && (out->lines->over || retry_now_ms() >= limit_ms)) {
            code = MOSQ_ERR_ERRNO;
            *ret_number = ETIMEDOUT;
        }
    }
    return out->acknowledged ? MOSQ_ERR_SUCCESS : out->refused ? MOSQ_ERR_NOT_SUPPORTED : code;
}

static bool try_once(struct mqtt_out *out)
{
    int number = 0;
    out->peer.why[0] = '\0';
    out->up = out->other_version = out->acknowledged = out->refused = false;
    int code = set_up(out);
    if (code == MOSQ_ERR_SUCCESS) {
        code = mqtt_peer_connect(&out->peer, out->client, out->lines->fd, KEEPALIVE_S);
        number = errno;
    }
    if (code == MOSQ_ERR_SUCCESS)
        code = wait_for_acknowledgement(out, &number);
    if (code == MOSQ_ERR_SUCCESS)
        (void)mosquitto_disconnect(out->client);
    else
        mqtt_peer_describe(&out->peer, code, number, out->up);
    out->other_version = out->other_version || (code == MOSQ_ERR_CONN_LOST && !out->up); /* some just hang up */
    mosquitto_destroy(out->client); /* takes NULL */
    out->client = NULL;
    return code == MOSQ_ERR_SUCCESS;
}

/* ---- the answer ---- */

static bool read_acknowledgement(const struct mqtt_out *out, char answer[SENDING_ANSWER_SIZE])
{
    if (out->reason == MQTT_RC_NOT_AUTHORIZED)
        sending_append(answer, SENDING_ANSWER_SIZE, "the broker does not let this user publish to %.200s", out->topic);
    else if (out->reason >= MQTT_RC_UNSPECIFIED)
        sending_append(answer, SENDING_ANSWER_SIZE, "the broker does not take it: %s", mosquitto_reason_string(out->reason));
    else
        sending_append(answer, SENDING_ANSWER_SIZE, "%s", out->reason == MQTT_RC_NO_MATCHING_SUBSCRIBERS ? "acknowledged; nobody listens to its topic just now" : "acknowledged");
    return out->reason < MQTT_RC_UNSPECIFIED;
}

static bool send_notice(void *context, const struct notice_out *notice, char answer[SENDING_ANSWER_SIZE])
{
    struct mqtt_out *out = context;
    out->payload = notice->json;
    bool through = try_once(out);
    if (!through && out->other_version && out->version == MQTT_PROTOCOL_V5) {
        out->version = MQTT_PROTOCOL_V311;
        through = try_once(out);
        if (!through && !out->up)
            out->version = MQTT_PROTOCOL_V5; /* that was not it */
    }
    if (through)
        return read_acknowledgement(out, answer);
    sending_append(answer, SENDING_ANSWER_SIZE, "%s:%d: %s", out->peer.host, out->peer.port, out->peer.why);
    return false;
}

bool mqtt_out_run(struct lines *lines, const cJSON *open)
{
    struct mqtt_out out = {.lines = lines, .topic = lines_text(open, "topic"), .version = MQTT_PROTOCOL_V5};
    if (!mqtt_peer_read(&out.peer, open) || out.topic[0] == '\0')
        return false;
    mqtt_peer_limit_memory();
    (void)mosquitto_lib_init();
    sending_run(lines, send_notice, &out);
    (void)mosquitto_lib_cleanup();
    return true;
}
