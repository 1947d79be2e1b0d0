/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The serial ports here, for the keeper who is wiring up: how the
 * configuration names each, who holds it, and what is in the way of opening
 * it.  No port is opened: that would reset many boards.
 */
#ifndef WARMSIDE_DAEMON_PORTS_H
#define WARMSIDE_DAEMON_PORTS_H

#include <stdio.h>

#include "daemon/port_identity.h"

/* Prints what there is; returns the program's exit status, 0 also when there
 * is none. */
int ports_run(void);

/* A block for each port of the list. */
void ports_print(FILE *out, const struct port_list *ports);

/* The link below /dev/serial (by-id, else by-path) that leads to this device;
 * malloc'ed, NULL when there is none. */
char *port_stable_link(const char *device);

/* The sentence that says why this user cannot open the device, and the cure;
 * malloc'ed, NULL when permissions allow it. */
char *port_forbidden(const char *device);

#endif
