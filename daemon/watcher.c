/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The live watch; see watcher.h.
 */
#include "daemon/watcher.h"

#include <ev.h>
#include <malloc.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "conf/load.h"
#include "conf/memory.h"
#include "conf/remarks.h"
#include "conf/words.h"
#include "daemon/clock.h"
#include "daemon/log.h"
#include "daemon/loop.h"
#include "daemon/loop_bus.h"
#include "daemon/loop_send.h"
#include "daemon/pulse.h"
#include "daemon/roster.h"
#include "daemon/service.h"
#include "daemon/watch.h"
#include "daemon/when.h"

enum {
	SHOW_EVERY = 5,         /* s between two now.json ... */
	SHOW_FIRST = 2,         /* ... and from the start: by then most probes have spoken */
	KEEP_EVERY = 60,        /* s between two standing.json without an event */
	DRAIN_SECONDS = 20,     /* for the archivist, at the end, ... */
	POST_SECONDS = 5,       /* ... and for the courier */
};

struct watcher;

struct live_bus {
	struct watcher *watcher;
	size_t index;
	struct loop_bus on;
};

struct watcher {
	struct conf *conf;
	const char *path;
	struct watch watch;
	struct loop *loop;
	struct clock clock;
	struct log_state clock_state;
	struct pulse pulse;
	double behind_since;    /* monotonic */
	struct live_bus *buses; /* as conf->buses */
	bool *bus_open;
	ev_timer second;
	struct loop_send sending;
	ev_signal term, interrupt, hangup;
	unsigned long ticks;
};

/* ---- what the buses tell -------------------------------------------------- */

/* The time to believe; what is remembered moves when it jumps. */
static double read_clock(struct watcher *watcher)
{
	struct clock_now now = clock_read(&watcher->clock, when_wall(), when_monotonic());

	if (now.shift != 0) {
		log_warn("the clock was set %s by %.0f s", now.shift > 0 ? "ahead" : "back",
			 now.shift > 0 ? now.shift : -now.shift);
		watch_shift(&watcher->watch, now.shift);
	}
	return now.time;
}

static double trusted_wall(void *context)
{
	struct live_bus *bus = context;

	return read_clock(bus->watcher);
}

static void bus_asked(void *context, size_t probe)
{
	struct live_bus *bus = context;

	flow_asked(bus->watcher->watch.flow, probe);
}

static void arm_sending(struct watcher *watcher)
{
	loop_send_arm(&watcher->sending, loop_ev(watcher->loop), &watcher->watch.teller.gathering,
		      watcher->watch.flow->now);
}

static void on_sending(struct ev_loop *ev, ev_timer *timer, int events)
{
	struct watcher *watcher = timer->data;

	(void)ev;
	(void)events;
	watch_tick(&watcher->watch, read_clock(watcher));
	arm_sending(watcher);
}

static void bus_reading(void *context, const struct reading *reading)
{
	struct live_bus *bus = context;

	watch_reading(&bus->watcher->watch, reading);
	arm_sending(bus->watcher);
}

static void bus_failed(void *context, size_t probe, enum cause cause)
{
	struct live_bus *bus = context;

	flow_failed(bus->watcher->watch.flow, bus->index, probe, cause);
}

static void bus_port_state(void *context, bool open, const char *why)
{
	struct live_bus *bus = context;
	const char *name = bus->watcher->conf->buses[bus->index].name;

	bus->watcher->bus_open[bus->index] = open;
	flow_port(bus->watcher->watch.flow, bus->index, open ? NULL : why);
	if (open)
		log_info("bus \"%s\": %s is open", name, why);
	else
		log_warn("bus \"%s\": %s", name, why);
}

static void start_buses(struct watcher *watcher)
{
	const struct conf *conf = watcher->conf;

	watcher->buses = must_calloc(conf->bus_count, sizeof *watcher->buses);
	watcher->bus_open = must_calloc(conf->bus_count, sizeof *watcher->bus_open);
	for (size_t i = 0; i < conf->bus_count; i++) {
		struct live_bus *bus = &watcher->buses[i];
		const struct bus_sink sink = { bus, bus_asked, bus_reading, bus_failed,
					       bus_port_state };

		bus->watcher = watcher;
		bus->index = i;
		loop_bus_start(&bus->on, loop_ev(watcher->loop), conf, i, &sink, trusted_wall);
	}
}

static void stop_buses(struct watcher *watcher)
{
	for (size_t i = 0; i < watcher->conf->bus_count; i++)
		loop_bus_stop(&watcher->buses[i].on, loop_ev(watcher->loop));
	free(watcher->buses);
	free(watcher->bus_open);
}

/* ---- every second ---------------------------------------------------------- */

static void show(struct watcher *watcher)
{
	const struct now_extra extra = {
		.running = true,
		.bus_count = watcher->conf->bus_count,
		.bus_open = watcher->bus_open,
		.archive_backlog = feed_backlog(watcher->watch.feed),
		.webhook_count = watcher->conf->webhook_count,
		.webhooks = watcher->watch.webhooks,
	};

	watcher->watch.show_soon = false;
	watch_show(&watcher->watch, &extra);
	/* The text is large, and libc would keep its room, here and there in what reading the
	 * configuration has left free. */
	malloc_trim(0);
}

/* The clock went back while we watch, or had gone back before we began: then
 * the archives end in its future, and take nothing until it is there. */
static void mind_clock(struct watcher *watcher, double now)
{
	struct flow *flow = watcher->watch.flow;
	double end;

	if (!feed_archive_end(watcher->watch.feed, &end))
		return; /* nothing is known yet, so nothing is over either */
	bool behind = now < fmax(end, watcher->clock.latest) - ARCHIVE_STEP;
	bool stands = flow->troubles[CLOCK].stands;

	if (log_changed(&watcher->clock_state, behind)) {
		watcher->behind_since = when_monotonic();
		log_warn("%s", behind ? "the clock went back; nothing is archived until it has "
					"caught up"
				      : "the clock has caught up");
	}
	flow_trouble(flow, CLOCK,
		     behind && (stands ||
				when_monotonic() - watcher->behind_since >= CLOCK_TELL),
		     now);
}

static void remark(const struct conf *conf)
{
	struct faults remarks = { 0 };

	conf_remarks(conf, when_wall(), &remarks);
	for (size_t i = 0; i < remarks.count; i++)
		log_info("note: %s", remarks.list[i].text);
	faults_clear(&remarks);
}

/* Said once, when nobody has watched with this state folder; replays may have. */
static void caution(void)
{
	log_info("first start here. Warmside is a monitor, not a thermostat and not a safety "
		 "device: it switches nothing");
	log_info("heaters need their own thermostat and an independent cut-off; mains work needs "
		 "your local codes and a licensed electrician");
	log_info("the animal needs eyes on it; a sick animal needs an exotics veterinarian");
}

static void beat(struct watcher *watcher)
{
	char *body = pulse_step(&watcher->pulse, watcher->watch.flow, when_monotonic());

	if (body)
		postbox_beat(watcher->watch.postbox, body);
	free(body);
}

static void on_second(struct ev_loop *ev, ev_timer *timer, int events)
{
	struct watcher *watcher = timer->data;

	(void)ev;
	(void)events;

	double now = read_clock(watcher);

	service_alive();
	mind_clock(watcher, now);
	watch_tick(&watcher->watch, now);
	arm_sending(watcher);
	beat(watcher);
	if (watcher->ticks % SHOW_EVERY == SHOW_FIRST || watcher->watch.show_soon)
		show(watcher);
	if (watcher->ticks % KEEP_EVERY == 0)
		watch_keep(&watcher->watch);
	watcher->ticks++;
}

/* ---- signals --------------------------------------------------------------- */

static void on_end(struct ev_loop *ev, ev_signal *signal, int events)
{
	(void)signal;
	(void)events;
	ev_break(ev, EVBREAK_ALL);
}

/* The new configuration, or NULL with every fault logged. */
static struct conf *load_again(const struct watcher *watcher)
{
	struct faults faults = { 0 };
	struct conf *conf = conf_load(watcher->path, &faults);

	for (size_t i = 0; i < faults.count; i++)
		log_warn("%s:%d: %s", faults.list[i].file, faults.list[i].line,
			 faults.list[i].text);
	faults_clear(&faults);
	if (!conf) {
		log_warn("the configuration has faults; the old one stays in force");
	} else if (!conf->state || strcmp(conf->state, watcher->conf->state) != 0) {
		log_warn("the state folder cannot change while the daemon runs; "
			 "the old configuration stays in force");
		conf_free(conf);
		conf = NULL;
	}
	return conf;
}

static void on_reload(struct ev_loop *ev, ev_signal *signal, int events)
{
	struct watcher *watcher = signal->data;

	(void)ev;
	(void)events;
	service_reloading();
	struct conf *conf = load_again(watcher);

	if (conf) {
		struct conf *old = watcher->conf;

		stop_buses(watcher);
		watch_reload(&watcher->watch, conf, when_monotonic());
		watcher->conf = conf;
		start_buses(watcher);
		log_info("the new configuration is in force");
		roster_say_changes(old, conf);
		roster_say_strangers(conf);
		conf_free(old);
		remark(conf);
	}
	service_ready();
}

static void start_signal(struct watcher *watcher, ev_signal *on, int number,
			 void (*call)(struct ev_loop *, ev_signal *, int))
{
	ev_signal_init(on, call, number);
	on->data = watcher;
	ev_signal_start(loop_ev(watcher->loop), on);
}

/* ---- begin, run, end ------------------------------------------------------- */

static bool begin(struct watcher *watcher)
{
	/* Before the children are born: it is told of their deaths. */
	watcher->loop = loop_new(&watcher->watch);
	if (!watcher->loop || !watch_open(&watcher->watch, watcher->conf, true, true))
		return false;
	/* Born before there is anything to watch, the children do not carry it along. */
	feed_step(watcher->watch.feed, when_monotonic());
	postbox_step(watcher->watch.postbox, when_monotonic());
	watch_begin(&watcher->watch,
		    clock_read(&watcher->clock, when_wall(), when_monotonic()).time);
	start_signal(watcher, &watcher->term, SIGTERM, on_end);
	start_signal(watcher, &watcher->interrupt, SIGINT, on_end);
	start_signal(watcher, &watcher->hangup, SIGHUP, on_reload);
	loop_send_init(&watcher->sending, on_sending, watcher);
	ev_timer_init(&watcher->second, on_second, 0, 1);
	watcher->second.data = watcher;
	ev_timer_start(loop_ev(watcher->loop), &watcher->second);
	start_buses(watcher);
	return true;
}

static void end(struct watcher *watcher)
{
	double until = when_monotonic() + DRAIN_SECONDS;

	service_stopping();
	ev_signal_stop(loop_ev(watcher->loop), &watcher->hangup);
	ev_timer_stop(loop_ev(watcher->loop), &watcher->second);
	loop_send_stop(&watcher->sending, loop_ev(watcher->loop));
	show(watcher);
	stop_buses(watcher);
	watch_finish(&watcher->watch);
	while (!feed_closed(watcher->watch.feed) && when_monotonic() < until)
		loop_once(watcher->loop, 1);
	watch_settle(&watcher->watch);
	/* What is not delivered then waits in the outbox for the next start. */
	if (watcher->conf->webhook_count > 0)
		loop_post(watcher->loop, POST_SECONDS);
}

int watcher_run(struct conf *conf, const char *path)
{
	struct watcher watcher = { .conf = conf, .path = path };
	size_t proper = enclosures_proper(conf);

	log_never_wait();
	bool begun = begin(&watcher);

	if (begun) {
		if (!watcher.watch.cautioned)
			caution();
		remark(conf);
		roster_say_strangers(conf);
		log_info("watching %zu enclosure%s%s on %zu bus%s", proper, proper == 1 ? "" : "s",
			 proper < conf->enclosure_count ? " and the room" : "", conf->bus_count,
			 conf->bus_count == 1 ? "" : "es");
		service_ready();
		ev_run(loop_ev(watcher.loop), 0);
		end(&watcher);
	}
	watch_close(&watcher.watch);
	loop_free(watcher.loop);
	conf_free(watcher.conf);
	return begun ? EXIT_SUCCESS : EXIT_FAILURE;
}
