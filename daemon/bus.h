/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One live bus: keeps its port open, asks its probes in turn or listens to
 * them, and hands on what they say.  Never waits and knows no clock: the event
 * loop gives it the time, and watches bus_fd() for it.
 */
#ifndef WARMSIDE_DAEMON_BUS_H
#define WARMSIDE_DAEMON_BUS_H

#include <stdbool.h>
#include <stddef.h>

#include "conf/model.h"
#include "daemon/reading.h"

/* Who is told.  Probes are indices into conf.probes.  The functions are called
 * from within bus_step, and must not call back into the bus.
 *
 * Each asking is told once by asked, and leads to reading, or to failed, or to
 * both when a probe with two requests answered only one of them.  Failures
 * that belong to no asking (a line that fits no template, a frame of an address
 * nobody asked beside a good answer) are told of NO_PROBE, or of the only probe
 * when the bus has but one. */
struct bus_sink {
	void *context;
	void (*asked)(void *context, size_t probe);
	void (*reading)(void *context, const struct reading *reading);
	void (*failed)(void *context, size_t probe, enum cause cause);
	/* Told on every change: open with the device's name, or closed with a
	 * sentence that says why. */
	void (*port_state)(void *context, bool open, const char *why);
};

struct bus_live;

/* The live side of conf->buses[index]; conf must outlive it.  Opens nothing
 * yet.  Never NULL; freed with bus_free. */
struct bus_live *bus_new(const struct conf *conf, size_t index, const struct bus_sink *sink);

/* Closes the port and frees; tells nobody.  NULL is fine. */
void bus_free(struct bus_live *bus);

/* To be watched for reading; -1 while the port is closed.  Compare it after
 * every bus_step: a port is never closed and opened again within one step. */
int bus_fd(const struct bus_live *bus);

/* Reads what has come in and does all that is due.  mono is CLOCK_MONOTONIC,
 * wall CLOCK_REALTIME, both in s and just read; wall only stamps readings.
 * Returns the time (mono) by which to call again, INFINITY for never; call
 * earlier when bus_fd() is readable or hung up. */
double bus_step(struct bus_live *bus, double mono, double wall);

#endif
