/* What coatd and its courier say to each other: JSON lines over a socket, one courier process a link.
 *
 * coatd begins with one "open" line that says what the link is; everything after that depends on the kind. A line ends with LF and has at
 * most COURIER_LINE_MAX bytes. Links for MQTT in:
 *
 *     to the courier    {"open":"mqtt","host":…,"port":…,"tls":false,"ca_file":…,"user":…,"password":…,"client":…,"topics":["shed/air"]}
 *     to the courier    {"topics":[…]}                        the topics from now on
 *     to coatd          {"state":"connected"}  {"state":"down","why":"…"}      when it changes
 *     to coatd          {"topic":"shed/air","payload":"…"}    as text; what is no UTF-8 or too long comes as {"topic":…,"payload":null}
 *
 * A courier ends when its socket does. It connects again by itself, waiting 1 s and then twice as long each time, up to 60 s, a little of it at random. */
#ifndef COAT_COURIER_H
#define COAT_COURIER_H

#define COURIER_LINE_MAX 65536
#define COURIER_SOCKET_FD 3 /* in the courier that coatd starts itself */

#endif
