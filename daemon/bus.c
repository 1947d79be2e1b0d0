/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Port kept open, rounds begun, bytes moved; see bus.h.
 */
#include "daemon/bus.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "conf/memory.h"
#include "daemon/bus_live.h"

enum {
	READ_SIZE = 512,
	READS = 8,              /* at most in one step, so that a babbler cannot hold the loop */
};

static const double look_again = 2;        /* s between two looks for a lost port */
static const double longest_silence = 60;  /* s until a silent probe is asked again */

/* A silent probe is asked about once a minute, or every round when that is rarer. */
static unsigned longest_pause(const struct bus *settings)
{
	double rounds = floor(longest_silence / settings->every);

	return rounds < 1 ? 1 : rounds > 1000 ? 1000 : (unsigned)rounds;
}

static void find_probes(struct bus_live *bus, size_t index)
{
	bus->probes = must_calloc(bus->conf->probe_count, sizeof *bus->probes);
	for (size_t i = 0; i < bus->conf->probe_count; i++)
		if (bus->conf->probes[i].bus == index)
			bus->probes[bus->probe_count++] = i;
}

struct bus_live *bus_new(const struct conf *conf, size_t index, const struct bus_sink *sink)
{
	struct bus_live *bus = must_calloc(1, sizeof *bus);

	bus->conf = conf;
	bus->settings = &conf->buses[index];
	bus->sink = *sink;
	bus->talk = bus->settings->speaks == SPEAKS_MODBUS ? &talk_modbus : &talk_lines;
	bus->look_due = -INFINITY;
	find_probes(bus, index);
	round_init(&bus->round, bus->probe_count, longest_pause(bus->settings));
	bus->wire.character = wire_character(bus->settings);
	bus->works = bus->talk->init(bus, bus->fault);
	return bus;
}

void bus_free(struct bus_live *bus)
{
	if (!bus)
		return;
	bus->talk->free(bus);
	port_close(bus->wire.port);
	round_free(&bus->round);
	free(bus->probes);
	free(bus);
}

int bus_fd(const struct bus_live *bus)
{
	return port_fd(bus->wire.port);
}

static void tell_port(struct bus_live *bus, bool open, const char *why)
{
	if (bus->told && bus->told_open == open && strcmp(bus->told_why, why) == 0)
		return;
	bus->told = true;
	bus->told_open = open;
	snprintf(bus->told_why, sizeof bus->told_why, "%s", why);
	bus->sink.port_state(bus->sink.context, open, bus->told_why);
}

static void look_for_port(struct bus_live *bus, double mono)
{
	char why[PORT_WHY];
	struct port *port = port_open(bus->settings, why);

	if (!port) {
		bus->look_due = mono + look_again;
		tell_port(bus, false, why);
		return;
	}
	wire_open(&bus->wire, port, mono);
	round_forget(&bus->round);
	bus->in_round = false;
	bus->next_round = mono;
	bus->talk->opened(bus);
	tell_port(bus, true, port_device(port));
}

/* Closed at once: an open file would keep the device's name taken, and the
 * adapter would come back under another. */
static void lose_port(struct bus_live *bus, struct now now)
{
	char why[PORT_WHY];

	snprintf(why, sizeof why, "%.100s has gone away (unplugged, or its other end closed)",
		 port_device(bus->wire.port));
	port_close(bus->wire.port);
	bus->wire.port = NULL;
	if (bus->wire.phase != WIRE_IDLE)
		bus->talk->gave_up(bus, now);
	wire_done(&bus->wire);
	bus->look_due = now.mono + look_again;
	tell_port(bus, false, why);
}

/* False when the port is gone. */
static bool read_input(struct bus_live *bus, struct now now)
{
	uint8_t bytes[READ_SIZE];

	for (int i = 0; i < READS; i++) {
		size_t count = sizeof bytes;
		enum port_result result = port_read(bus->wire.port, bytes, &count);

		if (result != PORT_DONE)
			return result == PORT_LATER;
		wire_seen(&bus->wire, now.mono);
		bus->talk->input(bus, bytes, count, now);
	}
	return true;
}

/* Puts the next request on the wire; false when none is due before
 * bus->next_round. */
static bool ask_next(struct bus_live *bus, double mono)
{
	if (!bus->in_round) {
		if (mono < bus->next_round)
			return false;
		bus->next_round += bus->settings->every;
		if (bus->next_round < mono) /* rounds are not made up for */
			bus->next_round = mono + bus->settings->every;
		round_begin(&bus->round);
		bus->in_round = true;
	}
	bus->in_round = bus->talk->ask(bus, mono);
	return bus->in_round;
}

/* False when the port is gone. */
static bool ask_probes(struct bus_live *bus, struct now now, double *due)
{
	for (;;) {
		if (bus->wire.phase == WIRE_IDLE && !ask_next(bus, now.mono)) {
			*due = bus->next_round;
			return true;
		}
		switch (wire_step(&bus->wire, now.mono, due)) {
		case WIRE_GOES_ON:
			return true;
		case WIRE_GAVE_UP:
			bus->talk->gave_up(bus, now);
			break;
		case WIRE_LOST:
			return false;
		}
	}
}

double bus_step(struct bus_live *bus, double mono, double wall)
{
	const struct now now = { mono, wall };
	double due = INFINITY;

	if (!bus->works) {
		tell_port(bus, false, bus->fault);
		return INFINITY;
	}
	if (!bus->wire.port && mono >= bus->look_due)
		look_for_port(bus, mono);
	if (!bus->wire.port)
		return bus->look_due;
	if (!read_input(bus, now) || (bus->asks && !ask_probes(bus, now, &due))) {
		lose_port(bus, now);
		return bus->look_due;
	}
	return due;
}

void bus_failed(struct bus_live *bus, size_t probe, enum cause cause)
{
	bus->sink.failed(bus->sink.context, probe, cause);
}

const struct probe *bus_probe(const struct bus_live *bus, size_t member)
{
	return &bus->conf->probes[bus->probes[member]];
}
