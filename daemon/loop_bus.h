/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A live bus on the event loop: its port watched, its due time kept.
 */
#ifndef WARMSIDE_DAEMON_LOOP_BUS_H
#define WARMSIDE_DAEMON_LOOP_BUS_H

#include <ev.h>

#include "daemon/bus.h"

struct loop_bus {
	struct bus_live *bus;
	ev_io io;
	ev_timer due;
	/* The time that stamps readings, asked for at each step. */
	double (*wall)(void *context);
	void *context;
};

/* Puts conf->buses[index] onto the loop, at work from the next iteration on. */
void loop_bus_start(struct loop_bus *on, struct ev_loop *ev, const struct conf *conf,
		    size_t index, const struct bus_sink *sink, double (*wall)(void *context));

/* Takes it off and closes its port. */
void loop_bus_stop(struct loop_bus *on, struct ev_loop *ev);

#endif
