/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How the watch itself does; see health.h.
 */
#include "daemon/health.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "conf/memory.h"
#include "daemon/when.h"

enum {
	ARCHIVE_PATIENCE = 600,  /* s of failing before somebody is told ... */
	DISK_PATIENCE = 60,      /* ... of a disk that takes nothing ... */
	WEBHOOK_PATIENCE = 1800, /* ... of a webhook that does not answer */
	/* A refused message is tried again after an hour: while it is refused, the
	 * trouble stands, though others are taken in between. */
	REFUSED_SECONDS = 2 * 3600,
};

static void mind_archive(struct watch *watch)
{
	struct flow *flow = watch->flow;

	if (watch->failing_since != 0 && flow->now - watch->failing_since >= ARCHIVE_PATIENCE)
		flow_trouble(flow, ARCHIVE, true, watch->failing_since);
	/* Over only when something was archived since: a restart does not know. */
	if (watch->failing_since == 0 && feed_acknowledged(watch->feed))
		flow_trouble(flow, ARCHIVE, false, 0);
}

/* The state folder takes nothing: alerts go on, from memory.  That it was taken
 * away is told at once, though it may be there again: something is lost. */
static void mind_disk(struct watch *watch)
{
	struct flow *flow = watch->flow;
	bool lost = watch->lost_at != 0 && flow->now - watch->lost_at < DISK_PATIENCE;
	bool failing = lost || watch->kept == NULL || watch->teller.unlogged_count > 0 ||
		       (watch->postbox && postbox_held(watch->postbox) > 0);

	if (!failing)
		watch->disk_since = 0;
	else if (watch->disk_since == 0)
		watch->disk_since = flow->now;
	if (!failing || lost || flow->now - watch->disk_since >= DISK_PATIENCE)
		flow_trouble(flow, DISK, failing, watch->disk_since);
}

static void mind_webhooks(struct watch *watch)
{
	struct flow *flow = watch->flow;

	for (size_t w = 0; w < watch->conf->webhook_count; w++) {
		const struct webhook_state *state = &watch->webhooks[w];
		bool refuses = state->refused != 0 && flow->now - state->refused < REFUSED_SECONDS;
		bool failing = state->failing_since != 0 || refuses;

		if (refuses)
			flow_webhook_trouble(flow, w, true, state->refused);
		else if (failing && flow->now - state->failing_since >= WEBHOOK_PATIENCE)
			flow_webhook_trouble(flow, w, true, state->failing_since);
		/* Over only when it took something since: a restart does not know. */
		if (!failing && state->took != 0)
			flow_webhook_trouble(flow, w, false, 0);
	}
}

/* Nobody knows whether alerts arrive until one was seen to. */
static void mind_tests(struct watch *watch)
{
	const struct conf *conf = watch->conf;
	struct flow *flow = watch->flow;
	double due = flow->tested + conf->test_every;

	flow_trouble(flow, UNTESTED,
		     conf->test_every > 0 && conf->webhook_count > 0 && flow->now >= due, due);
}

/* Probes drift.  One alert for all of them: those of one box of salts fall due on one day, and
 * are one afternoon's work.  What falls due while it stands is in its reminders. */
static void mind_calibrations(struct watch *watch)
{
	const struct conf *conf = watch->conf;
	struct flow *flow = watch->flow;
	double since = 0;
	bool due = false;

	for (size_t p = 0; p < conf->probe_count; p++) {
		const struct probe *probe = &conf->probes[p];

		if (!probe->has_calibrated || flow->now < probe->calibration_due)
			continue;
		since = due ? fmin(since, probe->calibration_due) : probe->calibration_due;
		due = true;
	}
	flow_trouble(flow, UNCALIBRATED, due, since);
}

void health_tick(struct watch *watch)
{
	mind_archive(watch);
	mind_disk(watch);
	if (watch->live) {
		mind_tests(watch);
		mind_calibrations(watch);
		mind_webhooks(watch);
	}
}

static struct webhook_state *webhook_named(struct watch *watch, const char *name)
{
	for (size_t w = 0; w < watch->conf->webhook_count; w++)
		if (strcmp(watch->conf->webhooks[w].name, name) == 0)
			return &watch->webhooks[w];
	return NULL;
}

void health_take_result(struct watch *watch, const struct courier_result *result)
{
	struct webhook_state *webhook = webhook_named(watch, result->webhook);
	double now = watch->flow ? watch->flow->now : when_wall();

	if (result->word == COURIER_TOOK)
		teller_delivered(&watch->teller, result, now);
	if (!webhook)
		return;
	memcpy(webhook->why, result->why, sizeof webhook->why);
	watch->show_soon = true;
	if (result->word == COURIER_TOOK || result->word == COURIER_ANSWERS) {
		webhook->failing_since = 0;
		webhook->took = now;
		webhook->gone = false;
	} else if (result->word == COURIER_REFUSED) {
		webhook->refused = now;
		webhook->gone = result->status == 410;
		memcpy(webhook->message, result->message, sizeof webhook->message);
	} else if (webhook->failing_since == 0) {
		webhook->failing_since = now;
	}
}

/* 0 is no time: it says that nothing failed. */
static void shift_instant(double *instant, double by)
{
	*instant += *instant != 0 ? by : 0;
}

void health_shift(struct watch *watch, double by)
{
	shift_instant(&watch->failing_since, by);
	shift_instant(&watch->disk_since, by);
	shift_instant(&watch->lost_at, by);
	for (size_t w = 0; w < watch->conf->webhook_count; w++) {
		shift_instant(&watch->webhooks[w].failing_since, by);
		shift_instant(&watch->webhooks[w].refused, by);
		shift_instant(&watch->webhooks[w].took, by);
	}
}

void health_reload(struct watch *watch, const struct conf *conf)
{
	struct webhook_state *states = must_calloc(conf->webhook_count, sizeof *states);

	for (size_t w = 0; w < conf->webhook_count; w++) {
		const struct webhook_state *old = webhook_named(watch, conf->webhooks[w].name);

		if (old)
			states[w] = *old;
	}
	free(watch->webhooks);
	watch->webhooks = states;
}
