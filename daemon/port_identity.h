/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Which of the serial ports here a USB identity means.  Pure; daemon/port
 * makes the list.
 */
#ifndef WARMSIDE_DAEMON_PORT_IDENTITY_H
#define WARMSIDE_DAEMON_PORT_IDENTITY_H

#include <stdbool.h>
#include <stddef.h>

enum { PORT_WHY = 320 };        /* bytes of a sentence that says what is wrong */
enum { PORT_IDENTITY = 160 };   /* bytes of "usb:VID:PID:SERIAL" */

/* A serial port of this machine. */
struct port_found {
	char *name;             /* "/dev/ttyUSB0" */
	bool is_usb;            /* vid and pid are valid */
	int vid, pid;
	char *serial;           /* NULL when it has none */
	char *product;          /* what the adapter calls itself; NULL when it does not */
};

struct port_list {
	struct port_found *list;
	size_t count;
};

/* Frees what the list holds; it is empty afterwards. */
void port_list_free(struct port_list *ports);

/* "Here are /dev/ttyUSB0 (usb:1209:0001:A1), ... and 2 more", "Here is" for one,
 * or that there is none; fills text and returns it. */
char *port_list_say(const struct port_list *ports, char *text, size_t size);

/* The port of the list that "usb:VID:PID[:SERIAL]" means (one to four
 * hexadecimal digits in either case; the serial number is everything behind
 * the third colon, as the adapter tells it).  NULL with a sentence in why when
 * the text is no such identity, no port has it, or more than one has. */
const struct port_found *port_resolve(const struct port_list *ports, const char *identity,
				      char why[PORT_WHY]);

/* "usb:1209:0001:SERIAL", as the configuration takes it.  False, and buf is "",
 * when the port has none or its serial number cannot be written there. */
bool port_identity(const struct port_found *port, char buf[PORT_IDENTITY]);

#endif
