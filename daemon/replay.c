/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Replaying a recording; see replay.h.
 */
#include "daemon/replay.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "conf/measure.h"
#include "daemon/log.h"
#include "daemon/loop.h"
#include "daemon/outbox.h"
#include "daemon/recording.h"
#include "daemon/watch.h"
#include "daemon/when.h"

enum {
	TICK = 60,              /* s of the recording */
	STILL = 86400,          /* s without a row after which ticks tell nothing new */
	HIGH_WATER = 8 << 20,   /* bytes with the archivist before we wait ... */
	LOW_WATER = 6 << 20,    /* ... until it is down to this */
	LOOK_SECONDS = 60,      /* between two looks whether the archivist is done */
	POST_SECONDS = 15,      /* for the courier, at the end */
};

struct replay {
	const struct conf *conf;
	struct watch watch;
	struct loop *loop;
	double next_tick;
	unsigned long rows, unknown;
};

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

/* The archivist's hello says where the archives end; we wait for it. */
static double archive_end(struct replay *replay)
{
	double end;

	while (!feed_archive_end(replay->watch.feed, &end))
		loop_once(replay->loop, LOOK_SECONDS);
	return end;
}

static bool begin(struct replay *replay, double first)
{
	double end = archive_end(replay);
	char a[MEASURE_TEXT], b[MEASURE_TEXT];

	if (first < end) {
		log_warn("the recording begins at %s, before the archive ends at %s; "
			 "--into another folder would take it",
			 show_instant_utc(first, a), show_instant_utc(end, b));
		return false;
	}
	watch_begin(&replay->watch, first);
	replay->next_tick = (floor(first / TICK) + 1) * TICK;
	return true;
}

static void take_row(struct replay *replay, const struct reading *reading, bool known)
{
	struct flow *flow = replay->watch.flow;

	pass_time(replay, reading->time);
	replay->rows++;
	if (!known)
		replay->unknown++;
	else if (reading->has[TEMPERATURE] || reading->has[HUMIDITY])
		flow_reading(flow, reading);
	else
		flow_failed(flow, replay->conf->probes[reading->probe].bus, reading->probe,
			    NO_ANSWER);
	if (feed_backlog(replay->watch.feed) > HIGH_WATER)
		loop_drain(replay->loop, LOW_WATER);
}

/* True when the file was read to its end. */
static bool read_rows(struct replay *replay, struct recording *recording)
{
	struct reading reading;
	char *fault = NULL;

	for (;;) {
		enum row_kind kind = recording_next(recording, &reading, &fault);

		if (kind == ROW_END)
			return true;
		if (kind == ROW_FAULT) {
			log_warn("%s", fault);
			free(fault);
			return false;
		}
		if (!replay->watch.flow && !begin(replay, reading.time))
			return false;
		take_row(replay, &reading, kind == ROW_READING);
	}
}

/* Gives the courier a while; what it does not deliver stays in the outbox. */
static void wait_for_posts(struct replay *replay)
{
	double until = when_monotonic() + POST_SECONDS;
	size_t left = 1;

	while (left > 0 && when_monotonic() < until) {
		char **names = outbox_list(replay->watch.teller.outbox, &left);

		outbox_list_free(names, left);
		if (left > 0)
			loop_once(replay->loop, 1);
	}
	if (left > 0)
		log_warn("%zu messages wait in the outbox for the next start", left);
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
	watch_show(watch, &extra);
	if (watch->postbox && replay->conf->webhook_count > 0)
		wait_for_posts(replay);
}

int replay_run(const struct conf *conf, const char *path, bool post)
{
	struct replay replay = { .conf = conf };
	char *fault = NULL;
	struct recording *recording = recording_open(path, conf, &fault);
	bool good = false;

	if (!recording) {
		log_warn("%s", fault);
		free(fault);
		return EXIT_FAILURE;
	}
	if (watch_open(&replay.watch, conf, post)) {
		replay.loop = loop_new(&replay.watch);
		if (replay.loop) {
			good = read_rows(&replay, recording);
			finish(&replay);
		}
		fflush(stdout);
		if (replay.unknown)
			log_warn("%lu of %lu rows are of probes the configuration does not know",
				 replay.unknown, replay.rows);
		log_info("%lu rows replayed, %lu messages", replay.rows, replay.watch.teller.told);
	}
	watch_close(&replay.watch);
	loop_free(replay.loop);
	recording_close(recording);
	return good ? EXIT_SUCCESS : EXIT_FAILURE;
}
