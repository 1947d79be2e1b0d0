/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A live bus on the event loop; see loop_bus.h.
 */
#include "daemon/loop_bus.h"

#include <math.h>

#include "daemon/when.h"

enum { LONGEST_WAIT = 3600 }; /* s; libev wants a number */

static void step(struct loop_bus *on, struct ev_loop *ev)
{
	double mono = when_monotonic();
	double due = bus_step(on->bus, mono, on->wall(on->context));
	int fd = bus_fd(on->bus);

	if (fd != on->io.fd) {
		ev_io_stop(ev, &on->io);
		ev_io_set(&on->io, fd, EV_READ);
		if (fd >= 0)
			ev_io_start(ev, &on->io);
	}
	ev_timer_stop(ev, &on->due);
	/* libev counts from its own idea of now, which is older than ours. */
	ev_timer_set(&on->due, fmin(fmax(due - mono, 0), LONGEST_WAIT), 0);
	ev_now_update(ev);
	ev_timer_start(ev, &on->due);
}

static void on_input(struct ev_loop *ev, ev_io *io, int events)
{
	(void)events;
	step(io->data, ev);
}

static void on_due(struct ev_loop *ev, ev_timer *timer, int events)
{
	(void)events;
	step(timer->data, ev);
}

void loop_bus_start(struct loop_bus *on, struct ev_loop *ev, const struct conf *conf,
		    size_t index, const struct bus_sink *sink, double (*wall)(void *context))
{
	*on = (struct loop_bus){ .bus = bus_new(conf, index, sink), .wall = wall,
				 .context = sink->context };
	ev_io_init(&on->io, on_input, -1, EV_READ);
	ev_timer_init(&on->due, on_due, 0, 0);
	on->io.data = on->due.data = on;
	ev_timer_start(ev, &on->due);
}

void loop_bus_stop(struct loop_bus *on, struct ev_loop *ev)
{
	ev_io_stop(ev, &on->io);
	ev_timer_stop(ev, &on->due);
	bus_free(on->bus);
	on->bus = NULL;
}
