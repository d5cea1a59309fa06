/* What coatd and its courier say to each other: JSON lines over a socket, one courier process a link.
 *
 * coatd begins with one "open" line that says what the link is; everything after that depends on the kind. A line ends with LF and has at
 * most COURIER_LINE_MAX bytes, LF included. Links for MQTT in:
 *
 *     to the courier    {"open":"mqtt","host":…,"port":…,"tls":false,"ca_file":…,"user":…,"password":…}    "" where there is none
 *     to the courier    {"add":"shed/air"}  {"drop":"shed/air"}    one topic more, one less; each once, so that no list outgrows a line
 *     to coatd          {"state":"connected"}  {"state":"down","why":"…"}    when it changes; why goes on after "no connection to …: "
 *     to coatd          {"topic":"shed/air","payload":"…"}    as text; what is no UTF-8, has a NUL or is too long: {"topic":…,"payload":null};
 *                                                             with "retained":true where the broker kept it, from whenever it was
 *     to coatd          {"refused":"shed/air"}    the broker does not let it read that topic
 *
 * Links that send notices, each over one channel; "plain": without TLS, which goes to this machine alone:
 *
 *     to the courier    {"open":"webhook","url":…,"plain":false,"ca_file":…,"secret":…}
 *     to the courier    {"open":"mail","url":"smtps://host:465","plain":false,"ca_file":…,"user":…,"password":…,"from":…,"to":…}
 *                       and "limit_s" where a server may take another time than 45 s until it has the mail
 *     to the courier    {"open":"mqtt-out","host":…,"port":…,"tls":false,"ca_file":…,"user":…,"password":…,"topic":…}
 *     to the courier    {"send":"notice-12@…","subject":…,"text":…,"json":"{…}"}    one at a time; the next after the answer
 *     to coatd          {"sent":"notice-12@…","answer":"…"}     the other side has it, and said that
 *     to coatd          {"failed":"notice-12@…","answer":"…"}   it has not: what it said, or why it said nothing; when to try again is coatd's business
 *
 * A courier ends when its socket does, or when a line is not understood. One that listens connects again by itself, waiting 1 s and then twice as long each
 * time, up to 60 s, a little of it at random. A connection that was steady and is back with the first try was never down. */
#ifndef COAT_COURIER_H
#define COAT_COURIER_H

#define COURIER_LINE_MAX 65536
#define COURIER_SOCKET_FD 3 /* in the courier that coatd starts itself */

#endif
