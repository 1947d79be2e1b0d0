/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the bus and the two ways of talking on it share; for bus.c, talk_*.c
 * and nobody else.
 */
#ifndef WARMSIDE_DAEMON_BUS_LIVE_H
#define WARMSIDE_DAEMON_BUS_LIVE_H

#include "daemon/bus.h"
#include "daemon/round.h"
#include "daemon/wire.h"

struct now {
	double mono, wall;
};

/* How a protocol uses a bus. */
struct talk {
	/* Allocates bus->state; false with a sentence in why when the bus cannot
	 * work as it is configured. */
	bool (*init)(struct bus_live *bus, char why[PORT_WHY]);
	void (*free)(struct bus_live *bus);
	/* The port has just been opened. */
	void (*opened)(struct bus_live *bus);
	/* Sends the next request of the round; false when the round is over. */
	bool (*ask)(struct bus_live *bus, double mono);
	void (*input)(struct bus_live *bus, const uint8_t *bytes, size_t count, struct now now);
	/* The wire gave up waiting for the answer, or the port was lost. */
	void (*gave_up)(struct bus_live *bus, struct now now);
};

extern const struct talk talk_modbus, talk_lines;

struct bus_live {
	const struct conf *conf;
	const struct bus *settings;
	struct bus_sink sink;
	const struct talk *talk;
	void *state;            /* the talk's own */
	size_t *probes;         /* this bus's probes: indices into conf->probes */
	size_t probe_count;
	bool works;             /* false: fault says why it never will */
	char fault[PORT_WHY];
	bool asks;              /* false: listens only */
	struct wire wire;
	struct round round;
	bool in_round;
	double next_round;      /* when the next one is due */
	double look_due;        /* when a closed port is looked for again */
	bool told, told_open;   /* what port_state was told last */
	char told_why[PORT_WHY];
};

/* Hands a failure on. */
void bus_failed(struct bus_live *bus, size_t probe, enum cause cause);

/* The bus's member-th probe. */
const struct probe *bus_probe(const struct bus_live *bus, size_t member);

#endif
