/* What all kinds of links to a broker have in common: who it is, how a client for it is made, and what to say when there is no connection. */
#ifndef COURIER_MQTT_PEER_H
#define COURIER_MQTT_PEER_H

#include "daemon/courier/lines.h"

#include <mosquitto.h>

#define MQTT_PEER_WHY_SIZE 256
#define MQTT_PEER_GREETING_MS INT64_C(20000) /* from the connection to the broker's answer */

struct mqtt_peer {
    const char *host, *ca_file, *user, *password; /* live in the open line */
    int port;
    bool tls;
    char id[24];                   /* at most 23 characters: every broker must take that */
    char why[MQTT_PEER_WHY_SIZE];  /* what the present try failed of; empty: not known better */
};

/* False where the open line does not say what it must. */
bool mqtt_peer_read(struct mqtt_peer *peer, const cJSON *open);
/* A client with TLS and account set. The library's callbacks get the peer: what they need begins with it. MOSQ_ERR_SUCCESS, or what went wrong; *ret_client is to be
 * destroyed either way. */
int mqtt_peer_make_client(struct mqtt_peer *peer, struct mosquitto **ret_client);
/* Waits for the host's name and its connection, and ends the process when coatd is gone. */
int mqtt_peer_connect(const struct mqtt_peer *peer, struct mosquitto *client, int coatd_fd, int keepalive_s);
/* Takes what poll() found on the library's socket. *ret_number is errno, where that says more than the code. */
int mqtt_peer_serve(struct mosquitto *client, int events, int *ret_number);

/* Notes why the broker did not greet us, by the code of its CONNACK. */
void mqtt_peer_note_refusal(struct mqtt_peer *peer, int code);
/* Fills `why` from the library's code and errno, unless it is known better. `up`: the broker had greeted us. */
void mqtt_peer_describe(struct mqtt_peer *peer, int code, int number, bool up);

/* More than this is nothing that we asked for: the library takes what a broker sends whole before it tells us how long it is. */
void mqtt_peer_limit_memory(void);

#endif
