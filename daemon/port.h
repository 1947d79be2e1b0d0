/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One serial port: found by its path or USB identity, opened, set, read,
 * written, closed.  The one user of libserialport.  Nothing here waits.
 */
#ifndef WARMSIDE_DAEMON_PORT_H
#define WARMSIDE_DAEMON_PORT_H

#include <stddef.h>
#include <stdint.h>

#include "conf/model.h"
#include "daemon/port_identity.h"

/* The serial ports here, without pseudo-terminals; freed with port_list_free.
 * Empty when the system does not tell. */
struct port_list port_list(void);

/* The device of a path, or of the port with this USB identity, links resolved;
 * the caller frees.  NULL with a sentence in why when there is none. */
char *port_find(const char *name, char why[PORT_WHY]);

struct port;

/* Opens bus->port (a path, links followed anew at each call, or a USB identity,
 * looked for anew at each call) with the bus's baud, parity and stop bits, no
 * flow control, raw, non-blocking, and for nobody else.  Pseudo-terminals can
 * be opened too.  NULL with a sentence in why when that cannot be.
 *
 * The kernel itself raises DTR and RTS when a port is first opened, which
 * nobody can prevent, and which resets many microcontroller boards; but they
 * are not lowered again on closing, so it happens once after plugging in and
 * not at every start of the daemon. */
struct port *port_open(const struct bus *bus, char why[PORT_WHY]);

/* Closes and frees; NULL is fine. */
void port_close(struct port *port);

/* To wait for bytes with; -1 for NULL. */
int port_fd(const struct port *port);

/* The device that is open, links resolved: "/dev/ttyUSB0".  Lives as long as port. */
const char *port_device(const struct port *port);

enum port_result {
	PORT_DONE,              /* at least one byte was read or written */
	PORT_LATER,             /* nothing to read yet, no room to write yet */
	PORT_GONE,              /* unplugged, hung up: close it at once */
};

/* At most *count bytes either way; *count becomes how many it were. */
enum port_result port_read(struct port *port, uint8_t *bytes, size_t *count);
enum port_result port_write(struct port *port, const uint8_t *bytes, size_t *count);

/* Drops what has been written and not yet left, so that it is not sent long
 * after it was meant. */
void port_drop_output(struct port *port);

#endif
