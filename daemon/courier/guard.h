/* While a library waits for another machine, nobody looks at the socket to coatd. The guard does, by signals: it ends the process when
 * coatd is gone, and ends a connect() that takes too long, so that the next address of the host has its turn. */
#ifndef COURIER_GUARD_H
#define COURIER_GUARD_H

#define GUARD_CONNECT_S 10 /* for each address of a host; the kernel alone would take two minutes */

void guard_begin(int coatd_fd);
void guard_end(void);

#endif
