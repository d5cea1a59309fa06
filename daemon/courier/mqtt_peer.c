#include "daemon/courier/mqtt_peer.h"

#include "daemon/courier/guard.h"
#include "daemon/courier/retry.h"

#include <errno.h>
#include <netdb.h>
#include <poll.h>
#include <stdio.h>
#include <string.h>
#include <sys/resource.h>

#define MEMORY_MAX (64u << 20)

bool mqtt_peer_read(struct mqtt_peer *peer, const cJSON *open)
{
    const cJSON *port = cJSON_GetObjectItemCaseSensitive(open, "port");
    peer->host = lines_text(open, "host");
    peer->ca_file = lines_text(open, "ca_file");
    peer->user = lines_text(open, "user");
    peer->password = lines_text(open, "password");
    peer->tls = cJSON_IsTrue(cJSON_GetObjectItemCaseSensitive(open, "tls"));
    peer->port = cJSON_IsNumber(port) ? port->valueint : 0;
    snprintf(peer->id, sizeof peer->id, "coatwright-%08x", (unsigned)retry_random());
    return peer->host[0] != '\0' && peer->port > 0 && peer->port <= 65535;
}

/* ---- the client ---- */

/* The library tells by return code that TLS failed, and only here of what. */
static void on_log(struct mosquitto *client, void *context, int level, const char *text)
{
    struct mqtt_peer *peer = context;
    (void)client;
    if (level != MOSQ_LOG_ERR || peer->why[0] != '\0')
        return; /* the first says most */
    if (strstr(text, "certificate verify failed") != NULL)
        snprintf(peer->why, sizeof peer->why, "its certificate is not trusted: %s did not sign it, or it is not valid today",
                 peer->ca_file[0] != '\0' ? "the authorities in the given file" : "the authorities that this system trusts");
    else if (strstr(text, "host name verification failed") != NULL)
        snprintf(peer->why, sizeof peer->why, "its certificate is not trusted: it is made for another host");
    else if (strstr(text, "OpenSSL") != NULL)
        snprintf(peer->why, sizeof peer->why, "no TLS there (%.120s)", strrchr(text, ':') != NULL ? strrchr(text, ':') + 1 : text);
}

static int set_tls(struct mqtt_peer *peer, struct mosquitto *client)
{
    if (!peer->tls)
        return MOSQ_ERR_SUCCESS;
    if (peer->ca_file[0] == '\0')
        return mosquitto_int_option(client, MOSQ_OPT_TLS_USE_OS_CERTS, 1);
    int code = mosquitto_tls_set(client, peer->ca_file, NULL, NULL, NULL, NULL);
    if (code == MOSQ_ERR_INVAL)
        snprintf(peer->why, sizeof peer->why, "the given file of authorities cannot be read");
    return code;
}

int mqtt_peer_make_client(struct mqtt_peer *peer, struct mosquitto **ret_client)
{
    struct mosquitto *client = mosquitto_new(peer->id, true, peer);
    *ret_client = client;
    if (client == NULL)
        return MOSQ_ERR_NOMEM;
    mosquitto_log_callback_set(client, on_log);
    int code = set_tls(peer, client);
    if (code == MOSQ_ERR_SUCCESS && peer->user[0] != '\0')
        code = mosquitto_username_pw_set(client, peer->user, peer->password[0] != '\0' ? peer->password : NULL);
    return code;
}

int mqtt_peer_connect(const struct mqtt_peer *peer, struct mosquitto *client, int coatd_fd, int keepalive_s)
{
    errno = 0;
    guard_begin(coatd_fd);
    int code = mosquitto_connect(client, peer->host, peer->port, keepalive_s);
    int number = errno;
    guard_end();
    errno = number;
    return code;
}

int mqtt_peer_serve(struct mosquitto *client, int events, int *ret_number)
{
    int code = MOSQ_ERR_SUCCESS;
    errno = 0;
    if ((events & (POLLIN | POLLHUP | POLLERR)) != 0)
        code = mosquitto_loop_read(client, 1);
    if (code == MOSQ_ERR_SUCCESS && (events & POLLOUT) != 0)
        code = mosquitto_loop_write(client, 1);
    if (code == MOSQ_ERR_SUCCESS)
        code = mosquitto_loop_misc(client);
    *ret_number = errno;
    return code;
}

/* ---- why there is no connection ---- */

/* Return codes of CONNACK: MQTT 3.1.1 section 3.2.2.3, and from 0x80 on MQTT 5 section 3.2.2.2. */
void mqtt_peer_note_refusal(struct mqtt_peer *peer, int code)
{
    static const struct {
        int code;
        const char *text;
    } texts[] = {
        {1, "it does not speak MQTT 3.1.1"},     {2, "it does not take our name"},          {3, "it says that it is not available"},
        {4, "user or password refused"},         {5, "user or password refused"},           {0x86, "user or password refused"},
        {0x87, "user or password refused"},      {0x88, "it says that it is not available"}, {0x89, "it says that it is busy"},
        {0x8A, "it does not let this service in"},
    };
    const char *text = "refused";
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++)
        if (texts[i].code == code)
            text = texts[i].text;
    snprintf(peer->why, sizeof peer->why, "%s", text);
}

void mqtt_peer_describe(struct mqtt_peer *peer, int code, int number, bool up)
{
    const char *text = mosquitto_strerror(code);
    if (peer->why[0] != '\0')
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
        text = up ? "it ended the connection" : peer->tls ? "it ended the connection at once" : "it ended the connection at once; if it wants TLS, write mqtts://";
    else if (code == MOSQ_ERR_NOMEM)
        text = "it sends more than 64 MB at once";
    else if (code == MOSQ_ERR_KEEPALIVE)
        text = "no answer any more";
    snprintf(peer->why, sizeof peer->why, "%s", text);
}

/* ---- memory ---- */

#if defined(__has_feature)
#define HAS_FEATURE(name) __has_feature(name)
#else
#define HAS_FEATURE(name) 0
#endif

/* The sanitizers want memory of their own. */
void mqtt_peer_limit_memory(void)
{
#if !defined(__SANITIZE_ADDRESS__) && !HAS_FEATURE(address_sanitizer)
    const struct rlimit limit = {MEMORY_MAX, MEMORY_MAX};
    (void)setrlimit(RLIMIT_DATA, &limit);
#endif
}
