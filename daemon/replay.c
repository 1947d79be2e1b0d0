/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Replaying a recording; see replay.h.
 */
#include "daemon/replay.h"

#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>

#include "conf/measure.h"
#include "conf/memory.h"
#include "daemon/log.h"
#include "daemon/loop.h"
#include "daemon/recording.h"
#include "daemon/watch.h"
#include "daemon/when.h"

enum {
	TICK = 60,              /* s of the recording */
	STILL = 86400,          /* s without a row after which ticks tell nothing new */
	HIGH_WATER = 8 << 20,   /* bytes with the archivist before we wait ... */
	LOW_WATER = 6 << 20,    /* ... until it is down to this */
	HELLO_SECONDS = 30,     /* for the archivist's first word */
	LOOK_SECONDS = 60,      /* between two looks whether the archivist is done */
	POST_SECONDS = 15,      /* for the courier, at the end */
};

/* How far apart a probe's rows lie. */
struct spacing {
	bool begun;
	double first, last;
	unsigned long rows, gaps; /* gaps: longer than a line may be */
};

struct replay {
	struct watch watch;     /* first: make_room finds the rest by it */
	const struct conf *conf;
	struct loop *loop;
	double next_tick;
	unsigned long rows, unknown;
	struct spacing *spacings; /* as conf->probes */
	double last;            /* time of the last row taken */
};

/* Somebody asks for the end.  A signal handler has nowhere else to say so. */
static volatile sig_atomic_t asked_to_end;

/* The first time in order; the second time there is no arguing. */
static void on_end(int number)
{
	asked_to_end = 1;
	signal(number, SIG_DFL);
}

static void listen_for_end(void)
{
	struct sigaction action = { .sa_handler = on_end, .sa_flags = SA_RESTART };

	sigaction(SIGINT, &action, NULL);
	sigaction(SIGTERM, &action, NULL);
}

/* Waits for the archivist when much is on its way: nothing is dropped. */
static void make_room(struct watch *watch)
{
	struct replay *replay = (struct replay *)watch;

	if (feed_backlog(watch->feed) > HIGH_WATER)
		loop_drain(replay->loop, LOW_WATER);
}

/* Lets the recording's time pass up to t, in full minutes. */
static void pass_time(struct replay *replay, double t)
{
	double still = replay->next_tick + STILL;

	for (; replay->next_tick <= t; replay->next_tick += TICK) {
		if (replay->next_tick > still)
			replay->next_tick = floor(t / TICK) * TICK;
		watch_tick(&replay->watch, replay->next_tick);
	}
}

/* The archivist's hello says where the archives end; we wait for it, but not
 * for ever when it cannot work at all. */
static bool archive_end(struct replay *replay, double *end)
{
	double until = when_monotonic() + HELLO_SECONDS;

	while (!feed_archive_end(replay->watch.feed, end)) {
		if (when_monotonic() > until) {
			log_error("the archive folder cannot be used; nothing is replayed");
			return false;
		}
		loop_once(replay->loop, 1);
	}
	return true;
}

static bool begin(struct replay *replay, double first)
{
	double end;
	char a[MEASURE_TEXT], b[MEASURE_TEXT];

	if (!archive_end(replay, &end))
		return false;
	/* The archive ends with the minute of its last reading; a recording cut
	 * within that minute goes on, and loses the rest of it. */
	if (first < end - ARCHIVE_STEP) {
		log_error("the recording begins at %s, before the archive ends at %s; "
			 "--into another folder would take it",
			 show_instant_utc(first, a), show_instant_utc(end, b));
		return false;
	}
	watch_begin(&replay->watch, first);
	replay->next_tick = (floor(first / TICK) + 1) * TICK;
	return true;
}

static void note_spacing(struct replay *replay, const struct reading *reading)
{
	const struct conf *conf = replay->conf;
	struct spacing *spacing = &replay->spacings[reading->probe];
	double every = conf->buses[conf->probes[reading->probe].bus].every;

	if (spacing->begun && reading->time - spacing->last > longest_line(every))
		spacing->gaps++;
	if (!spacing->begun)
		spacing->first = reading->time;
	spacing->begun = true;
	spacing->last = reading->time;
	spacing->rows++;
}

/* A recording much sparser than its bus is configured leaves nothing but
 * unknown time, which must not look like a quiet fortnight. */
static void tell_spacing(const struct replay *replay)
{
	for (size_t p = 0; p < replay->conf->probe_count; p++) {
		const struct spacing *spacing = &replay->spacings[p];
		const struct probe *probe = &replay->conf->probes[p];
		const struct bus *bus = &replay->conf->buses[probe->bus];

		if (spacing->gaps > 0 && spacing->gaps >= spacing->rows / 2)
			log_warn("probe \"%s\": its rows are about %.0f s apart, bus \"%s\" says every "
				 "%.0f s: the time between them is unknown",
				 probe->name,
				 (spacing->last - spacing->first) / (double)(spacing->rows - 1),
				 bus->name, bus->every);
	}
}

static void take_row(struct replay *replay, const struct reading *reading, bool known)
{
	struct flow *flow = replay->watch.flow;

	pass_time(replay, reading->time);
	replay->rows++;
	replay->last = reading->time;
	if (!known) {
		replay->unknown++;
		return;
	}
	note_spacing(replay, reading);
	if (reading->has[TEMPERATURE] || reading->has[HUMIDITY])
		watch_reading(&replay->watch, reading);
	else
		flow_failed(flow, replay->conf->probes[reading->probe].bus, reading->probe,
			    NO_ANSWER);
}

/* True when the file was read to its end. */
static bool read_rows(struct replay *replay, struct recording *recording)
{
	struct reading reading;
	char *fault = NULL, last[MEASURE_TEXT];

	while (!asked_to_end) {
		enum row_kind kind = recording_next(recording, &reading, &fault);

		if (kind == ROW_END)
			return true;
		if (kind == ROW_FAULT) {
			log_error("%s", fault);
			free(fault);
			return false;
		}
		if (!replay->watch.flow && !begin(replay, reading.time))
			return false;
		take_row(replay, &reading, kind == ROW_READING);
	}
	if (replay->rows > 0)
		log_warn("ended before the recording does; what comes after %s can be replayed later",
			 show_instant_utc(replay->last, last));
	return false;
}

static void finish(struct replay *replay)
{
	struct watch *watch = &replay->watch;
	const struct now_extra extra = { 0 };

	if (!watch->flow)
		return;
	watch_finish(watch);
	while (!feed_closed(watch->feed))
		loop_once(replay->loop, LOOK_SECONDS);
	watch_settle(watch);
	watch_show(watch, &extra);
	size_t left = watch->postbox && replay->conf->webhook_count > 0
			      ? loop_post(replay->loop, POST_SECONDS)
			      : 0;

	if (left > 0)
		log_warn("%zu messages wait in the outbox for the next start", left);
}

int replay_run(const struct conf *conf, const char *path, bool post)
{
	struct replay replay = { .conf = conf };
	char *fault = NULL;
	struct recording *recording = recording_open(path, conf, &fault);
	bool good = false;

	if (!recording) {
		log_error("%s", fault);
		free(fault);
		return EXIT_FAILURE;
	}
	listen_for_end();
	replay.spacings = must_calloc(conf->probe_count, sizeof *replay.spacings);
	if (watch_open(&replay.watch, conf, post, false)) {
		replay.watch.make_room = make_room;
		replay.loop = loop_new(&replay.watch);
		if (replay.loop) {
			good = read_rows(&replay, recording);
			finish(&replay);
		}
		fflush(stdout);
		tell_spacing(&replay);
		if (replay.unknown)
			log_warn("%lu of %lu rows are of probes the configuration does not know",
				 replay.unknown, replay.rows);
		log_info("%lu rows replayed, %lu messages", replay.rows, replay.watch.teller.told);
	}
	watch_close(&replay.watch);
	loop_free(replay.loop);
	recording_close(recording);
	free(replay.spacings);
	return good ? EXIT_SUCCESS : EXIT_FAILURE;
}
