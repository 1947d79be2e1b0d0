/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What goes wrong in the simulated room, and when: parsed from the command
 * line, or the few things that happen in every recording of its own.
 */
#ifndef WARMSIDE_ROOMSIM_EVENTS_H
#define WARMSIDE_ROOMSIM_EVENTS_H

#include <stdbool.h>
#include <stddef.h>

enum mishap {
	SILENT_PROBE,           /* gives no answer */
	FROZEN_PROBE,           /* gives its last reading again and again */
	CORRUPT_FRAMES,         /* answers, damaged on the wire; live only */
	STUCK_HEATER,           /* full power whatever the thermostat says */
	DOOR_OPEN,
	POWER_CUT,              /* of an enclosure, or of the "room": then every heater */
	MISSED_MISTING,
	MISHAPS
};

struct event {
	enum mishap mishap;
	char whose[48];         /* an enclosure's or probe's name, or "all" */
	double from, until;     /* s since the epoch */
};

struct events {
	struct event *list;     /* owned */
	size_t count;
};

/* "stuck-heater:M1:2d6h:5h" with times counted from `start` (s since the
 * epoch); a FROM below zero began before.  False, with one sentence in
 * why[size], when the text says something else. */
bool event_parse(struct events *events, const char *text, double start, char *why, size_t size);

/* The mishaps every recording begun at `start` has, unless it is to be calm:
 * a long weekend without misting for T3, a heater stuck in M1, G2 left open, and
 * a silent probe. */
void events_usual(struct events *events, double start);

/* Is it so now?  name: an enclosure's or a probe's; "all" in an event means every one. */
bool event_on(const struct events *events, enum mishap mishap, const char *name, double now);

void events_free(struct events *events);

#endif
