/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The flow and everything its results go to; see watch.h.
 */
#include "daemon/watch.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "conf/asking.h"
#include "conf/memory.h"
#include "conf/readfile.h"
#include "daemon/files.h"
#include "daemon/forgotten.h"
#include "daemon/health.h"
#include "daemon/log.h"
#include "daemon/passing.h"
#include "daemon/standing.h"
#include "daemon/when.h"

enum {
	STANDING_CEILING = 16 << 20, /* bytes */
	REQUESTS_A_TICK = 10,        /* whoever leaves thousands stops nothing */
	LONGEST_GATHER = 1800,       /* s: what waits longer is held by quiet hours */
};

/* Everything a restart must know, in one file: it is the one truth, and is
 * written before the alert log and before the outbox. */
static void keep(struct watch *watch, bool synced)
{
	if (watch->home.away)
		return;
	json_t *whole = standing_json(watch->flow);

	teller_keep(&watch->teller, whole);
	if (watch->live || watch->cautioned)
		json_object_set_new(whole, "cautioned", json_true());
	char *text = json_dumps(whole, JSON_INDENT(1) | JSON_REAL_PRECISION(17));

	json_decref(whole);
	if (watch->kept && strcmp(text, watch->kept) == 0) {
		free(text);
		return;
	}
	char *path = state_path(watch->conf->state, STANDING_FILE);
	bool good = file_replace(path, text, strlen(text), synced);

	if (log_changed(&watch->keep_failing, !good) && !good)
		log_errno("%s cannot be written", path);
	free(path);
	free(watch->kept);
	watch->kept = good ? text : NULL; /* else it is tried again */
	if (!good)
		free(text);
}

/* What has happened goes to disk, and out.  A sudden end at any point leaves
 * enough to go on from: what is kept but not yet logged is logged by the next
 * start, what is logged but not sent is sent by it, under the same id. */
static void commit(struct watch *watch)
{
	if (watch->teller.fresh) {
		keep(watch, watch->teller.post);
		teller_log(&watch->teller);
	}
	if (teller_send(&watch->teller, watch->flow->now))
		keep(watch, watch->live);
}

/* ---- what the flow and the feed tell ------------------------------------- */

static void take_minute(void *context, size_t enclosure, const struct closed_minute *minute)
{
	struct watch *watch = context;

	feed_add(watch->feed, enclosure, minute);
	if (watch->make_room)
		watch->make_room(watch);
}

static void take_event(void *context, struct alert_record *record,
		       const struct message_context *message)
{
	struct watch *watch = context;

	teller_take(&watch->teller, record, message);
}

static void take_sample(void *context, size_t enclosure, struct series series,
			struct sample sample)
{
	struct watch *watch = context;

	samples_note(&watch->samples, watch->conf, watch->conf->enclosures[enclosure].name, series,
		     sample);
}

static void archive_damaged(void *context, size_t enclosure, const char *path)
{
	struct watch *watch = context;

	(void)path; /* the feed has logged it */
	if (watch->flow && enclosure != (size_t)FEED_NO_ENCLOSURE)
		flow_archive_damaged(watch->flow, enclosure);
}

static void archive_failing(void *context, const char *why)
{
	struct watch *watch = context;

	(void)why; /* the feed has logged it */
	if (watch->failing_since == 0)
		watch->failing_since = watch->flow ? watch->flow->now : 1; /* see watch_begin */
}

static void archive_working(void *context)
{
	struct watch *watch = context;

	watch->failing_since = 0;
}

/* ---- opening -------------------------------------------------------------- */

bool watch_open(struct watch *watch, const struct conf *conf, bool post, bool live)
{
	*watch = (struct watch){ .conf = conf, .live = live, .home = { .lock = -1 },
				 .teller = { .log = -1 } };
	if (!conf->state) {
		log_error("the configuration names no state folder; "
			 "state = \"/var/lib/warmside\" would");
		return false;
	}
	if (!home_open(&watch->home, conf->state) || !teller_open(&watch->teller, conf, post))
		return false;
	const struct feed_callbacks callbacks = {
		.context = watch,
		.damaged = archive_damaged,
		.failing = archive_failing,
		.working = archive_working,
	};

	watch->feed = feed_new(conf, &callbacks);
	watch_open_passing(watch);
	watch->webhooks = must_calloc(conf->webhook_count, sizeof *watch->webhooks);
	if (post)
		watch->postbox = postbox_new(conf, watch->teller.outbox);
	watch->teller.postbox = watch->postbox;
	return true;
}

/* When it was kept; 0 when that is not said. */
static double kept_at(const json_t *whole)
{
	return json_number_value(json_object_get(whole, "time"));
}

/* What cannot be read is put aside, not written over. */
static void set_aside(const char *path)
{
	char *aside = must_print("%s.damaged", path);

	if (rename(path, aside) != 0)
		log_errno("%s cannot be set aside", path);
	free(aside);
}

/* What stands by the log, and nobody knows of, ends there. */
static void end_forgotten(struct watch *watch)
{
	const struct message_context untold = { .conf = watch->conf, .quiet = true };
	char *path = state_path(watch->conf->state, ALERTS_FILE);
	size_t count;
	struct alert_record *ends = forgotten_ends(path, watch->flow->now, &count);

	for (size_t i = 0; i < count; i++)
		teller_take(&watch->teller, &ends[i], &untold);
	if (count > 0)
		watch->lost_at = watch->flow->now;
	free(ends);
	free(path);
}

static void restore(struct watch *watch)
{
	char *path = state_path(watch->conf->state, STANDING_FILE);
	size_t size;
	char *text = file_read(path, STANDING_CEILING, &size);

	if (!text && errno != ENOENT)
		log_errno("%s cannot be read; what stood before is not known", path);
	json_t *whole = text ? json_loadb(text, size, JSON_REJECT_DUPLICATES, NULL) : NULL;
	bool known = text && standing_restore(watch->flow, whole);

	if (text && !known) {
		log_warn("%s is damaged; what stood before is not known, and is told anew if it "
			 "lasts", path);
		set_aside(path);
		watch->lost_at = watch->flow->now;
	}
	if (!known)
		end_forgotten(watch);
	if (whole)
		teller_restore(&watch->teller, whole);
	watch->cautioned = json_is_true(json_object_get(whole, "cautioned"));
	/* Kept by a clock that was ahead of this one: as standing_restore does it. */
	if (whole && kept_at(whole) > watch->flow->now)
		teller_shift(&watch->teller, watch->flow->now - kept_at(whole));
	json_decref(whole);
	free(text);
	free(path);
}

/* The minutes that a sudden end has cut through go on. */
static void resume(struct watch *watch)
{
	char *path = passing_path(watch->conf->state, SAMPLES_FILE);

	samples_open(&watch->samples, path, watch->flow);
	free(path);
}

void watch_begin(struct watch *watch, double now)
{
	const struct flow_sink sink = { watch, take_minute, take_event, take_sample };

	watch->flow = flow_new(watch->conf, &sink, now);
	if (watch->failing_since != 0) /* it failed before there was a time */
		watch->failing_since = now;
	restore(watch);
	if (watch->live)
		resume(watch);
	laws_tick(&watch->laws, watch->flow);
	commit(watch);
	watch->bands = bands_begin(watch->conf, now);
}

/* ---- going on ------------------------------------------------------------- */

void watch_reading(struct watch *watch, const struct reading *reading)
{
	flow_reading(watch->flow, reading);
	samples_write(&watch->samples);
	commit(watch);
}

static void take_requests(struct watch *watch)
{
	char *folder = state_path(watch->conf->state, REQUESTS_FOLDER);
	struct asking asking;
	char *fault;

	for (int i = 0; i < REQUESTS_A_TICK && asking_take(folder, &asking, &fault); i++) {
		/* It may have waited for a daemon; whatever the wall clock says, it
		 * is so old. */
		double age = fault ? 0 : fmax(when_wall() - asking.time, 0);

		asking.time = watch->flow->now - age;
		char *why = fault ? fault : flow_ask(watch->flow, &asking);

		if (why)
			log_warn("a request is passed over: %s", why);
		free(why);
	}
	free(folder);
}

void watch_tick(struct watch *watch, double now)
{
	laws_tick(&watch->laws, watch->flow);
	flow_tick(watch->flow, now);
	if (watch->live)
		watch_mind_home(watch);
	if (!watch->home.away)
		bands_follow(&watch->bands, watch->conf, watch->flow->now);
	if (watch->live)
		take_requests(watch);
	commit(watch);
	/* What the disk did not take before. */
	if (watch->kept == NULL)
		keep(watch, watch->teller.post);
	teller_log(&watch->teller);
	health_tick(watch);
	commit(watch);
}

void watch_delivered(struct watch *watch)
{
	struct courier_result result;

	while (watch->postbox && postbox_take(watch->postbox, &result))
		health_take_result(watch, &result);
}

void watch_shift(struct watch *watch, double by)
{
	flow_shift(watch->flow, by);
	teller_shift(&watch->teller, by);
	health_shift(watch, by);
	watch->bands = bands_begin(watch->conf, watch->flow->now);
	commit(watch);
}

void watch_keep(struct watch *watch)
{
	keep(watch, watch->live);
}

void watch_show(struct watch *watch, const struct now_extra *extra)
{
	if (watch->home.away)
		return;
	char *text = now_text(watch->flow, extra);
	bool good = file_replace(watch->shown, text, strlen(text), false);

	if (log_changed(&watch->show_failing, !good) && !good)
		log_errno("%s cannot be written", watch->shown);
	free(text);
}

void watch_reload(struct watch *watch, const struct conf *conf, double mono)
{
	flow_reload(watch->flow, conf);
	watch->laws.known = false; /* it may be about other enclosures now */
	feed_reload(watch->feed, conf);
	health_reload(watch, conf);
	watch->conf = watch->teller.conf = conf;
	if (watch->postbox)
		postbox_reload(watch->postbox, conf, mono);
	watch->bands = bands_begin(conf, watch->flow->now);
	commit(watch);
	keep(watch, true);
}

void watch_finish(struct watch *watch)
{
	if (!watch->flow)
		return;
	flow_finish(watch->flow);
	feed_close(watch->feed);
	samples_forget(&watch->samples); /* the minutes made of them are kept now */
	commit(watch);
}

void watch_settle(struct watch *watch)
{
	if (!watch->flow)
		return;
	commit(watch);
	/* Nobody knows when we are back.  Only what quiet hours hold can wait. */
	if (!watch->live || watch->teller.gathering.close - watch->flow->now < LONGEST_GATHER)
		teller_send_all(&watch->teller);
	keep(watch, true);
}

void watch_close(struct watch *watch)
{
	if (watch->postbox)
		postbox_end(watch->postbox);
	watch_delivered(watch);
	postbox_free(watch->postbox);
	if (watch->feed)
		feed_free(watch->feed);
	flow_free(watch->flow);
	samples_close(&watch->samples);
	teller_close(&watch->teller);
	free(watch->shown);
	free(watch->gathered);
	free(watch->kept);
	free(watch->webhooks);
	home_close(&watch->home);
}
