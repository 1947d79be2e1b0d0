/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * bus sections -> struct bus; see resolve.h.
 */
#include "conf/resolve.h"

#include <stdlib.h>
#include <string.h>

#include "conf/memory.h"
#include "conf/template.h"

static const int rates[] = { 1200, 2400, 4800, 9600, 19200, 38400, 57600, 115200 };

static bool four_hex_digits(const char *text)
{
	return strspn(text, "0123456789abcdefABCDEF") >= 4;
}

/* A path, or usb:VID:PID[:SERIAL]. */
static bool is_port(const char *port)
{
	if (*port == '/')
		return true;
	return strncmp(port, "usb:", 4) == 0 && four_hex_digits(port + 4) && port[8] == ':' &&
	       four_hex_digits(port + 9) &&
	       (port[13] == '\0' || (port[13] == ':' && port[14] != '\0'));
}

/* Two buses cannot share one port. */
static void check_port_free(struct resolve *resolve, struct section section, size_t index)
{
	const struct bus *bus = &resolve->conf->buses[index];

	for (size_t i = 0; i < index; i++)
		if (resolve->conf->buses[i].port &&
		    strcmp(resolve->conf->buses[i].port, bus->port) == 0) {
			complain(resolve, section_value(section, "port"),
				 "this port is taken by bus \"%s\" already",
				 resolve->conf->buses[i].name);
			return;
		}
}

static void resolve_port(struct resolve *resolve, struct section section, size_t index)
{
	const char *port;
	char buf[SHOWN_TEXT];

	if (!has_key(resolve, section, "port", "\"usb:1209:0001\" or \"/dev/...\"") ||
	    take_text(resolve, section, "port", 4000, &port) != GIVEN)
		return;
	if (!is_port(port)) {
		complain(resolve, section_value(section, "port"),
			 "%s is no port; write a path that begins with /, or usb:VID:PID or "
			 "usb:VID:PID:SERIAL with four hexadecimal digits each",
			 shown(section_value(section, "port"), buf));
		return;
	}
	resolve->conf->buses[index].port = must_copy(port);
	check_port_free(resolve, section, index);
}

static void resolve_rate(struct resolve *resolve, struct section section, struct bus *bus)
{
	static const char *const words[] = { "1200",  "2400",  "4800",  "9600",
					     "19200", "38400", "57600", "115200" };
	static const char *const parities[] = { "none", "even", "odd" };
	size_t rate = 3, parity = PARITY_NONE;

	take_choice(resolve, section, "baud", words, sizeof words / sizeof *words, &rate);
	take_choice(resolve, section, "parity", parities, 3, &parity);
	take_whole(resolve, section, "stop_bits", 1, 2, &bus->stop_bits);
	bus->baud = rates[rate];
	bus->parity = (enum parity)parity;
}

static void resolve_ask(struct resolve *resolve, struct section section, struct bus *bus)
{
	const struct statement *ask = section_value(section, "ask");

	if (!ask || ask->spoiled)
		return;
	if (*ask->text == '\0' || strlen(ask->text) > TEMPLATE_MOST)
		complain(resolve, ask, "ask must be a text of 1 to %d bytes", TEMPLATE_MOST);
	bus->ask = must_copy(ask->text);
}

static void resolve_line(struct resolve *resolve, struct section section, size_t index)
{
	const struct statement *line = section_value(section, "line");
	struct bus_said *said = &resolve->buses[index];
	char *wrong;

	if (!has_key(resolve, section, "line", "\"{probe},{temperature},{humidity}\"") ||
	    line->spoiled)
		return;
	wrong = template_read(line->text, &said->template);
	said->has_template = !wrong;
	if (wrong)
		complain(resolve, line, "the template line %s", wrong);
	else
		resolve->conf->buses[index].line = must_copy(line->text);
	free(wrong);
}

/* A key that has no meaning for what the bus speaks. */
static void refuse(struct resolve *resolve, struct section section, const char *key)
{
	const struct statement *value = section_value(section, key);

	if (value)
		complain(resolve, value, "%s belongs to a bus that speaks lines, not modbus", key);
}

static void resolve_bus(struct resolve *resolve, size_t index)
{
	static const char *const languages[] = { "modbus", "lines" };
	struct section section = section_at(resolve->top, "bus", index);
	struct bus *bus = &resolve->conf->buses[index];
	size_t speaks = SPEAKS_MODBUS;

	*bus = (struct bus){ .stop_bits = 1, .every = 60 };
	bus->name = must_copy(take_name(resolve, section));
	resolve_port(resolve, section, index);
	resolve_rate(resolve, section, bus);
	take_duration(resolve, section, "every", 1, 86400, &bus->every);
	if (!has_key(resolve, section, "speaks", "\"modbus\" or \"lines\"") ||
	    take_choice(resolve, section, "speaks", languages, 2, &speaks) != GIVEN)
		return;
	bus->speaks = (enum speaks)speaks;
	resolve->buses[index].has_speaks = true;
	if (bus->speaks == SPEAKS_LINES) {
		resolve_ask(resolve, section, bus);
		resolve_line(resolve, section, index);
	} else {
		refuse(resolve, section, "line");
		refuse(resolve, section, "ask");
	}
}

void resolve_buses(struct resolve *resolve)
{
	struct conf *conf = resolve->conf;

	conf->bus_count = section_count(resolve->top, "bus");
	conf->buses = must_calloc(conf->bus_count, sizeof *conf->buses);
	resolve->buses = must_calloc(conf->bus_count, sizeof *resolve->buses);
	for (size_t i = 0; i < conf->bus_count; i++)
		resolve_bus(resolve, i);
}
