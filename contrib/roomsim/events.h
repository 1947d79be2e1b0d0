/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What goes wrong in the simulated room, and when: parsed from the command
 * line, or the few things that happen in every recording of its own.
 */
#ifndef WARMSIDE_ROOMSIM_EVENTS_H
#define WARMSIDE_ROOMSIM_EVENTS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

enum mishap {
	SILENT_PROBE,           /* gives no answer */
	FROZEN_PROBE,           /* gives its last reading again and again */
	CORRUPT_FRAMES,         /* answers, damaged on the wire; live only */
	CHATTERING_PROBE,       /* a loose contact: wild values, or none */
	STUCK_HEATER,           /* full power whatever the thermostat says */
	DEAD_HEATER,
	DRIFTING_THERMOSTAT,    /* half a degree up every day */
	LOST_GRADIENT,          /* warm and cool side are one */
	DOOR_OPEN,
	POWER_CUT,              /* of an enclosure, or of the "room": then every heater */
	MISSED_MISTING,
	DRY_AIR,                /* of the room: dry air comes in, nothing moistens it */
	MISHAPS
};

struct event {
	enum mishap mishap;
	char whose[48];         /* an enclosure's, probe's or bus's name, "room", or "all" */
	double from, until;     /* s since the epoch */
};

struct events {
	struct event *list;     /* owned */
	size_t count;
};

void event_add(struct events *events, enum mishap mishap, const char *whose, double from,
	       double seconds);

/* "stuck-heater:M1:2d6h:5h" with times counted from `start` (s since the
 * epoch); a FROM below zero began before.  False, with one sentence in
 * why[size], when the text says something else. */
bool event_parse(struct events *events, const char *text, double start, char *why, size_t size);

/* The mishaps every recording begun at `start` has, unless it is to be calm:
 * a long weekend without misting for T3, a heater stuck in M1, G2 left open, and
 * a silent probe. */
void events_usual(struct events *events, double start);

/* Those of them that are on at some moment from `from` to `until`, in a list
 * of its own: a year's list is long, and asked at every step. */
struct events events_between(const struct events *events, double from, double until);

/* Is it so now?  name: an enclosure's, a probe's, ...; "all" in an event means every one. */
bool event_on(const struct events *events, enum mishap mishap, const char *name, double now);

/* For how long it has been so, s; 0 when it is not. */
double event_age(const struct events *events, enum mishap mishap, const char *name, double now);

/* "faults": [{"kind", "name", "from", "until"}], in order of time. */
void events_write(const struct events *events, FILE *out);

void events_free(struct events *events);

#endif
