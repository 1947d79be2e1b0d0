/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * probe sections -> struct probe; see resolve.h.
 */
#include "conf/resolve.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "conf/measure.h"
#include "conf/memory.h"
#include "conf/words.h"

enum { REGISTER_LAST = 65535 };

static const char *const correction_keys[QUANTITIES] = { "temperature_correction",
							 "humidity_correction" };

/* "input 1 / 10", "holding 300" */
static bool parse_register(const char *text, struct register_at *out)
{
	static const char blanks[] = " \t", digits[] = "0123456789";
	struct register_at at = { .present = true, .divisor = 1 };
	size_t length;

	text += strspn(text, blanks);
	at.function = strncmp(text, "input ", 6) == 0 ? 4 : 3;
	if (at.function == 3 && strncmp(text, "holding ", 8) != 0)
		return false;
	text += strcspn(text, " ");
	text += strspn(text, blanks);
	length = strspn(text, digits);
	if (length == 0 || length > 5)
		return false;
	at.address = (int)strtol(text, NULL, 10);
	text += length;
	text += strspn(text, blanks);
	if (at.address > REGISTER_LAST)
		return false;
	if (*text != '\0' &&
	    (*text != '/' || !parse_number(text + 1, &at.divisor) || at.divisor <= 0))
		return false;
	*out = at;
	return true;
}

/* A register on a modbus bus; its absence is no fault by itself. */
static enum said take_register(struct resolve *resolve, struct section section,
			       enum quantity quantity, struct register_at *out)
{
	const struct statement *value = section_value(section, quantity_word(quantity));
	char buf[SHOWN_TEXT];

	if (!value)
		return ABSENT;
	if (value->spoiled)
		return FAULTY;
	if (parse_register(value->text, out))
		return GIVEN;
	complain(resolve, value,
		 "%s is no register; write \"input N\" or \"holding N\" with N from 0 to %d, and "
		 "\"/ "
		 "10\" behind it for tenths",
		 shown(value, buf), REGISTER_LAST);
	return FAULTY;
}

static void resolve_modbus(struct resolve *resolve, struct section section, struct probe *probe)
{
	enum said registers[QUANTITIES];

	if (has_key(resolve, section, "address", "1, up to 247"))
		take_whole(resolve, section, "address", 1, 247, &probe->address);
	for (int q = 0; q < QUANTITIES; q++) {
		registers[q] =
			take_register(resolve, section, (enum quantity)q, &probe->registers[q]);
		probe->gives[q] = registers[q] != ABSENT;
	}
	if (registers[TEMPERATURE] == ABSENT && registers[HUMIDITY] == ABSENT)
		complain(resolve, section_head(section),
			 "a modbus probe needs a register to read: temperature = \"input 1 / 10\", "
			 "humidity = \"input 2 / 10\", or both");
}

/* The first probe before this one that sits on the same bus and is the same
 * to it; NULL when there is none. */
static const struct probe *find_before(const struct conf *conf, size_t index, bool any)
{
	const struct probe *probe = &conf->probes[index];

	for (size_t i = 0; i < index; i++) {
		const struct probe *other = &conf->probes[i];

		if (other->bus != probe->bus)
			continue;
		if (any ||
		    (probe->token && other->token && strcmp(probe->token, other->token) == 0) ||
		    (probe->address && probe->address == other->address))
			return other;
	}
	return NULL;
}

static void resolve_lines(struct resolve *resolve, struct section section, size_t index)
{
	struct probe *probe = &resolve->conf->probes[index];
	const struct bus_said *bus = &resolve->buses[probe->bus];
	const char *token = probe->name;
	const struct probe *other;

	for (int q = 0; q < QUANTITIES; q++) {
		const struct statement *value =
			section_value(section, quantity_word((enum quantity)q));

		if (value)
			complain(
				resolve, value,
				"%s = \"input ...\" belongs to a modbus probe; what this one gives "
				"follows from the line of its bus",
				value->name);
	}
	if (take_text(resolve, section, "address", TOKEN_MOST, &token) != FAULTY)
		probe->token = must_copy(token);
	if (!bus->has_template)
		return;
	probe->gives[TEMPERATURE] = bus->template.reads[TEMPERATURE];
	probe->gives[HUMIDITY] = bus->template.reads[HUMIDITY];
	other = bus->template.names_probe ? NULL : find_before(resolve->conf, index, true);
	if (other)
		complain(resolve, section_value(section, "bus"),
			 "the line of bus \"%s\" has no {probe}, so only one probe can sit there, "
			 "and "
			 "\"%s\" does",
			 resolve->conf->buses[probe->bus].name, other->name);
}

static void check_address_free(struct resolve *resolve, struct section section, size_t index)
{
	const struct probe *other = find_before(resolve->conf, index, false);
	const struct probe *probe = &resolve->conf->probes[index];
	const struct statement *at = section_value(section, "address");
	const struct bus_said *bus = &resolve->buses[probe->bus];
	const char *name = resolve->conf->buses[probe->bus].name;

	if (!other || (bus->has_template && !bus->template.names_probe))
		return; /* of a bus for one probe resolve_lines() has told already */
	if (!at)
		at = section_head(section);
	if (probe->token)
		complain(resolve, at, "address \"%s\" on bus \"%s\" is probe \"%s\" already",
			 probe->token, name, other->name);
	else
		complain(resolve, at, "address %d on bus \"%s\" is probe \"%s\" already",
			 probe->address, name, other->name);
}

/* "35.1=32.8" */
static bool parse_point(char *text, double *read, double *real)
{
	char *equals = strchr(text, '=');

	if (!equals)
		return false;
	*equals = '\0';
	return parse_number(text, read) && parse_number(equals + 1, real);
}

/* "35.1=32.8 73.0=75.3", with or without a unit behind it: two points of the
 * straight line from what is read to what is true. */
static bool parse_points(const char *text, enum quantity quantity, struct correction *out)
{
	char first[32], second[32], unit[8] = "", rest[2];
	double read[2], real[2];
	bool fahrenheit;
	int count = sscanf(text, "%31s %31s %7s %1s", first, second, unit, rest);

	if (count != 2 && count != 3)
		return false;
	if (!parse_point(first, &read[0], &real[0]) || !parse_point(second, &read[1], &real[1]))
		return false;
	fahrenheit = quantity == TEMPERATURE && strcmp(unit, "F") == 0;
	if (count == 3 && !fahrenheit && strcmp(unit, quantity == HUMIDITY ? "%" : "C") != 0)
		return false;
	for (int i = 0; i < 2; i++) {
		if (fahrenheit) {
			read[i] = celsius_from_fahrenheit(read[i]);
			real[i] = celsius_from_fahrenheit(real[i]);
		}
		if (!is_plausible(quantity, read[i]) || !is_plausible(quantity, real[i]))
			return false;
	}
	if (fabs(read[1] - read[0]) < 1)
		return false;
	out->slope = (real[1] - real[0]) / (read[1] - read[0]);
	out->offset = real[0] - out->slope * read[0];
	return true;
}

/* What a usable probe needs at most: beyond that it is broken, or a digit is
 * mistyped. */
static bool is_modest(enum quantity quantity, const struct correction *correction)
{
	double middle = quantity == TEMPERATURE ? 25 : 50;
	double most = quantity == TEMPERATURE ? 10 : 30;
	double shift = correction->offset + correction->slope * middle - middle;

	return fabs(shift) <= most && correction->slope >= 0.5 && correction->slope <= 2;
}

static void resolve_correction(struct resolve *resolve, struct section section,
			       enum quantity quantity, struct correction *out)
{
	static const char *const like[QUANTITIES] = { "\"-0.4 C\" or \"20.3=20.0 34.8=35.0\"",
						      "\"+2 %\" or \"35.1=32.8 73.0=75.3\"" };
	static const char *const most[QUANTITIES] = { "10 C", "30 %" };
	const struct statement *value = section_value(section, correction_keys[quantity]);
	struct correction correction = { .offset = 0, .slope = 1 };
	char buf[SHOWN_TEXT];

	*out = correction;
	if (!value || value->spoiled)
		return;
	if (!parse_difference(value->text, quantity, &correction.offset) &&
	    !parse_points(value->text, quantity, &correction))
		complain(resolve, value,
			 "%s is no correction; write what is added to the reading, or two points "
			 "read=true: %s",
			 shown(value, buf), like[quantity]);
	else if (!is_modest(quantity, &correction))
		complain(resolve, value,
			 "%s is more than a usable probe needs: at most %s, and a slope from 0.5 "
			 "to 2",
			 shown(value, buf), most[quantity]);
	else
		*out = correction;
}

/* What is said of a quantity the probe does not give would do nothing. */
static void check_corrections(struct resolve *resolve, struct section section,
			      const struct probe *probe)
{
	for (int q = 0; q < QUANTITIES; q++) {
		const struct statement *value = section_value(section, correction_keys[q]);

		if (value && !probe->gives[q])
			complain(resolve, value, "this probe gives no %s to correct",
				 quantity_word((enum quantity)q));
	}
	if (section_value(section, "calibrated") && !probe->gives[HUMIDITY])
		complain(resolve, section_value(section, "calibrated"),
			 "this probe gives no humidity to test in salts");
}

static void resolve_calibrated(struct resolve *resolve, struct section section,
			       struct probe *probe)
{
	const struct statement *value = section_value(section, "calibrated");
	char buf[SHOWN_TEXT];

	if (!value || value->spoiled)
		return;
	if (!parse_day(value->text, 0, &probe->calibrated) ||
	    !parse_day(value->text, 1, &probe->calibration_due))
		complain(resolve, value,
			 "%s is no day; write year, month and day, such as \"2026-11-30\"",
			 shown(value, buf));
	else
		probe->has_calibrated = true;
}

static void resolve_probe(struct resolve *resolve, size_t index)
{
	struct section section = section_at(resolve->top, "probe", index);
	struct probe *probe = &resolve->conf->probes[index];
	const struct bus_said *bus;

	probe->name = must_copy(take_name(resolve, section));
	probe->bus = NO_STATEMENT; /* on none: shares no address with any other */
	for (int q = 0; q < QUANTITIES; q++)
		resolve_correction(resolve, section, (enum quantity)q, &probe->correction[q]);
	resolve_calibrated(resolve, section, probe);
	if (!has_key(resolve, section, "bus", "\"name of a bus\"") ||
	    take_reference(resolve, section, "bus", "bus", &probe->bus) != GIVEN)
		return;
	bus = &resolve->buses[probe->bus];
	if (!bus->has_speaks)
		return;
	if (resolve->conf->buses[probe->bus].speaks == SPEAKS_MODBUS)
		resolve_modbus(resolve, section, probe);
	else
		resolve_lines(resolve, section, index);
	if (resolve->conf->buses[probe->bus].speaks == SPEAKS_MODBUS || bus->has_template)
		check_corrections(resolve, section, probe);
	check_address_free(resolve, section, index);
}

void resolve_probes(struct resolve *resolve)
{
	struct conf *conf = resolve->conf;

	conf->probe_count = section_count(resolve->top, "probe");
	conf->probes = must_calloc(conf->probe_count, sizeof *conf->probes);
	for (size_t i = 0; i < conf->probe_count; i++)
		resolve_probe(resolve, i);
}
