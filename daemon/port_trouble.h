/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Why a serial port cannot be opened, and what would help: one sentence each.
 * Looks at the system (who owns the device, who holds it), changes nothing.
 */
#ifndef WARMSIDE_DAEMON_PORT_TROUBLE_H
#define WARMSIDE_DAEMON_PORT_TROUBLE_H

#include "daemon/port_identity.h"

/* In each: name is the port as the configuration writes it, device the same
 * with its links resolved. */

/* This user may not open it; whose group may, and how to get into that. */
void port_say_forbidden(char why[PORT_WHY], const char *name, const char *device);

/* Somebody else has it open. */
void port_say_held(char why[PORT_WHY], const char *name, const char *device);

/* It is not there; here is what is. */
void port_say_absent(char why[PORT_WHY], const char *name, const struct port_list *here);

#endif
