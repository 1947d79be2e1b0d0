/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * USB identities; see port_identity.h.
 */
#include "daemon/port_identity.h"

#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { SAID_MOST = 3 }; /* ports in a sentence */

struct identity {
	int vid, pid;
	const char *serial;     /* NULL: any */
};

void port_list_free(struct port_list *ports)
{
	for (size_t i = 0; i < ports->count; i++) {
		free(ports->list[i].name);
		free(ports->list[i].serial);
		free(ports->list[i].product);
	}
	free(ports->list);
	*ports = (struct port_list){ 0 };
}

char *port_list_say(const struct port_list *ports, char *text, size_t size)
{
	size_t used = 0;

	snprintf(text, size, ports->count == 0   ? "No serial port is here"
			     : ports->count == 1 ? "Here is"
						 : "Here are");
	for (size_t i = 0; i < ports->count && i < SAID_MOST; i++) {
		const struct port_found *port = &ports->list[i];

		used = strlen(text);
		snprintf(text + used, size - used, "%s %.40s", i ? "," : "", port->name);
		used = strlen(text);
		if (port->is_usb)
			snprintf(text + used, size - used, " (usb:%04x:%04x%s%.30s)",
				 (unsigned)port->vid, (unsigned)port->pid, port->serial ? ":" : "",
				 port->serial ? port->serial : "");
	}
	used = strlen(text);
	if (ports->count > SAID_MOST)
		snprintf(text + used, size - used, " and %zu more", ports->count - SAID_MOST);
	return text;
}

/* One to four hexadecimal digits; moves *at behind them. */
static bool take_hex(const char **at, int *value)
{
	size_t digits = 0;

	while (isxdigit((unsigned char)(*at)[digits]))
		digits++;
	if (digits < 1 || digits > 4)
		return false;
	*value = (int)strtol(*at, NULL, 16);
	*at += digits;
	return true;
}

static bool parse_identity(const char *text, struct identity *out)
{
	if (strncmp(text, "usb:", 4) != 0)
		return false;
	text += 4;
	if (!take_hex(&text, &out->vid) || *text++ != ':' || !take_hex(&text, &out->pid))
		return false;
	out->serial = *text == ':' ? text + 1 : NULL;
	return out->serial ? *out->serial != '\0' : *text == '\0';
}

static bool has_identity(const struct port_found *port, const struct identity *wanted)
{
	return port->is_usb && port->vid == wanted->vid && port->pid == wanted->pid &&
	       (!wanted->serial || (port->serial && strcmp(port->serial, wanted->serial) == 0));
}

static void say_several(const struct port_found *one, const struct port_found *other,
			const struct identity *wanted, const char *identity, char why[PORT_WHY])
{
	bool helps = !wanted->serial && one->serial && other->serial &&
		     strcmp(one->serial, other->serial) != 0;

	if (helps)
		snprintf(why, PORT_WHY, "%.60s: both %.40s and %.40s are that; write %.60s:%.60s "
			 "for the first", identity, one->name, other->name, identity, one->serial);
	else
		snprintf(why, PORT_WHY, "%.60s: both %.40s and %.40s are that, and no serial number "
			 "tells them apart; name the port by its path below /dev/serial/by-path",
			 identity, one->name, other->name);
}

const struct port_found *port_resolve(const struct port_list *ports, const char *identity,
				      char why[PORT_WHY])
{
	const struct port_found *found = NULL;
	struct identity wanted;

	if (!parse_identity(identity, &wanted)) {
		snprintf(why, PORT_WHY, "%.60s is no USB identity; one looks like usb:1209:0001 "
			 "or usb:1209:0001:SERIAL", identity);
		return NULL;
	}
	for (size_t i = 0; i < ports->count; i++) {
		const struct port_found *port = &ports->list[i];

		if (!has_identity(port, &wanted))
			continue;
		if (found) {
			say_several(found, port, &wanted, identity, why);
			return NULL;
		}
		found = port;
	}
	if (!found) {
		char list[PORT_WHY / 2];

		snprintf(why, PORT_WHY, "%.60s: no port with this USB identity is here; is it "
			 "plugged in? %s", identity, port_list_say(ports, list, sizeof list));
	}
	return found;
}

bool port_identity(const struct port_found *port, char buf[PORT_IDENTITY])
{
	int length;

	buf[0] = '\0';
	if (!port->is_usb)
		return false;
	length = snprintf(buf, PORT_IDENTITY, "usb:%04x:%04x%s%s", (unsigned)port->vid,
			  (unsigned)port->pid, port->serial ? ":" : "",
			  port->serial ? port->serial : "");
	for (const char *c = buf; *c; c++)
		if (!isprint((unsigned char)*c) || *c == '"' || *c == '\\')
			length = PORT_IDENTITY;
	if (length >= PORT_IDENTITY)
		buf[0] = '\0';
	return buf[0] != '\0';
}
