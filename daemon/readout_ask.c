/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Asking the probes for a readout, and going on with it; see readout_view.h.
 */
#include <ev.h>
#include <math.h>
#include <signal.h>
#include <stdlib.h>

#include "conf/memory.h"
#include "daemon/loop_bus.h"
#include "daemon/readout_view.h"
#include "daemon/when.h"

enum {
	LEAST_WAIT = 5,         /* s */
	POLLS = 2,              /* intervals to wait for a probe that is not asked */
	MOST_WAIT = 120,
	TRIES = 2,              /* of each asked probe: as many as a bus makes in a round */
};

static const double one_try = 1.2;      /* s a bus gives a probe to answer, and some more */
static const double quick = 2;          /* s between two askings while somebody watches */
static const double second = 1;

struct ears {
	struct readout *readout;
	struct ev_loop *ev;
	struct heard_bus *buses;
	bool once;              /* ends when all is known */
	void (*shown)(void *context);
	void (*hide)(void *context, bool hidden);
	void *context;
};

struct heard_bus {
	struct ears *ears;
	size_t index;
	struct loop_bus on;
};

/* ---- what the buses tell ----------------------------------------------------- */

static double wall(void *context)
{
	(void)context;
	return when_wall();
}

static void stop_when_complete(const struct ears *ears)
{
	const struct readout *readout = ears->readout;

	for (size_t p = 0; p < readout->conf->probe_count; p++) {
		const struct answer *answer = &readout->answers[p];

		if (!answer->read && answer->failed < TRIES &&
		    !readout->closed[readout->conf->probes[p].bus])
			return;
	}
	if (ears->once)
		ev_break(ears->ev, EVBREAK_ALL);
}

static void on_asked(void *context, size_t probe)
{
	(void)context;
	(void)probe;
}

static void on_reading(void *context, const struct reading *reading)
{
	struct heard_bus *bus = context;

	readout_take(bus->ears->readout, reading);
	stop_when_complete(bus->ears);
}

static void on_failed(void *context, size_t probe, enum cause cause)
{
	struct heard_bus *bus = context;
	struct readout *readout = bus->ears->readout;

	if (probe != NO_PROBE) {
		readout->answers[probe].failed++;
		misses_add(&readout->heard[probe].missed, cause);
		stop_when_complete(bus->ears);
		return;
	}
	for (size_t p = 0; p < readout->conf->probe_count; p++)
		if (readout->conf->probes[p].bus == bus->index)
			misses_add(&readout->heard[p].strays, cause);
}

static void on_port_state(void *context, bool open, const char *why)
{
	struct heard_bus *bus = context;
	char **closed = &bus->ears->readout->closed[bus->index];

	free(*closed);
	*closed = open ? NULL : must_copy(why);
	stop_when_complete(bus->ears);
}

static void start_buses(struct ears *ears, const struct conf *conf)
{
	ears->buses = must_calloc(conf->bus_count, sizeof *ears->buses);
	for (size_t b = 0; b < conf->bus_count; b++) {
		struct heard_bus *bus = &ears->buses[b];
		const struct bus_sink sink = { bus, on_asked, on_reading, on_failed, on_port_state };

		bus->ears = ears;
		bus->index = b;
		loop_bus_start(&bus->on, ears->ev, conf, b, &sink, wall);
	}
}

static void stop_buses(struct ears *ears, const struct conf *conf)
{
	for (size_t b = 0; b < conf->bus_count; b++)
		loop_bus_stop(&ears->buses[b].on, ears->ev);
	free(ears->buses);
}

/* ---- once -------------------------------------------------------------------- */

static void on_patience(struct ev_loop *ev, ev_timer *timer, int events)
{
	(void)timer;
	(void)events;
	ev_break(ev, EVBREAK_ALL);
}

/* Every asked probe has its turns; one that speaks by itself is waited for. */
static double patience(const struct conf *conf)
{
	double longest = LEAST_WAIT;

	for (size_t b = 0; b < conf->bus_count; b++) {
		const struct bus *bus = &conf->buses[b];
		double wait = 0;

		if (bus->speaks == SPEAKS_LINES && !bus->ask)
			wait = POLLS * bus->every;
		else
			for (size_t p = 0; p < conf->probe_count; p++)
				wait += conf->probes[p].bus == b ? TRIES * one_try : 0;
		longest = fmax(longest, wait);
	}
	return fmin(longest, MOST_WAIT);
}

void readout_ask(struct readout *readout)
{
	struct ears ears = { .readout = readout, .ev = ev_default_loop(EVFLAG_AUTO), .once = true };
	ev_timer limit;

	if (ears.ev) {
		ev_timer_init(&limit, on_patience, patience(readout->conf), 0);
		ev_timer_start(ears.ev, &limit);
		start_buses(&ears, readout->conf);
		ev_run(ears.ev, 0);
		stop_buses(&ears, readout->conf);
		ev_loop_destroy(ears.ev);
	}
	readout_explain(readout);
}

/* ---- again and again ------------------------------------------------------------ */

static void on_second(struct ev_loop *ev, ev_timer *timer, int events)
{
	struct ears *ears = timer->data;

	(void)ev;
	(void)events;
	if (ears->readout->from_daemon)
		readout_from_daemon(ears->readout);
	else
		readout_explain(ears->readout);
	ears->shown(ears->context);
}

static void on_end(struct ev_loop *ev, ev_signal *signal, int events)
{
	(void)signal;
	(void)events;
	ev_break(ev, EVBREAK_ALL);
}

static void on_stop(struct ev_loop *ev, ev_signal *signal, int events)
{
	struct ears *ears = signal->data;

	(void)ev;
	(void)events;
	ears->hide(ears->context, true);
	raise(SIGSTOP); /* until somebody lets us go on */
	ears->hide(ears->context, false);
}

static void follow(struct ears *ears, const struct conf *conf)
{
	static const int endings[] = { SIGINT, SIGTERM, SIGHUP, SIGQUIT };
	enum { ENDINGS = sizeof endings / sizeof *endings };
	ev_signal ends[ENDINGS], stop;
	ev_timer tick;

	for (size_t i = 0; i < ENDINGS; i++) {
		ev_signal_init(&ends[i], on_end, endings[i]);
		ev_signal_start(ears->ev, &ends[i]);
	}
	ev_signal_init(&stop, on_stop, SIGTSTP);
	ev_timer_init(&tick, on_second, 0, second);
	stop.data = tick.data = ears;
	ev_signal_start(ears->ev, &stop);
	ev_timer_start(ears->ev, &tick);
	if (!ears->readout->from_daemon)
		start_buses(ears, conf);
	ev_run(ears->ev, 0);
	if (!ears->readout->from_daemon)
		stop_buses(ears, conf);
}

bool readout_follow(struct readout *readout, void (*shown)(void *context),
		    void (*hide)(void *context, bool hidden), void *context)
{
	struct conf often = *readout->conf; /* asked more often than a watch would */
	struct ears ears = { .readout = readout, .ev = ev_default_loop(EVFLAG_AUTO), .shown = shown,
			     .hide = hide, .context = context };

	if (!ears.ev)
		return false;
	often.buses = must_calloc(often.bus_count, sizeof *often.buses);
	for (size_t b = 0; b < often.bus_count; b++) {
		often.buses[b] = readout->conf->buses[b];
		often.buses[b].every = fmin(often.buses[b].every, quick);
	}
	follow(&ears, &often);
	free(often.buses);
	ev_loop_destroy(ears.ev);
	return true;
}
