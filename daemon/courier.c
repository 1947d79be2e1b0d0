/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The courier process; see courier.h.
 */
#include "daemon/courier.h"

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "conf/memory.h"
#include "daemon/beat.h"
#include "daemon/delivery.h"
#include "daemon/log.h"
#include "daemon/parcel.h"
#include "daemon/rest.h"
#include "daemon/summary.h"
#include "daemon/turn.h"
#include "daemon/waiting.h"
#include "daemon/when.h"

enum {
	REFUSED_REST = 3600,    /* s: a message that was refused for good, or a webhook
				 * that wants no more */
	LOOK_EVERY = 30,        /* s between looks into the folder unasked */
	SUMMARY_REST = 60,      /* s after a summary could not be written */
};

/* One webhook.  It rests as a whole while it does not answer at all, asks to
 * be left alone, or wants no more. */
struct route {
	const struct webhook *webhook;
	bool busy;
	bool failing;           /* told to the watcher */
	unsigned unanswered;    /* tries in a row */
	double rest_until;      /* monotonic s */
	long complained;        /* the status last logged, 0 after a 2xx */
	char *name;             /* the file on its way */
	struct outgoing message;
};

struct courier {
	const struct conf *conf;
	int wake_fd, result_fd;
	struct delivery *delivery;
	struct parcel_in parcel;
	struct route *routes;   /* as conf.webhooks */
	struct waitings waitings;
	struct beat beat;
	double look_at;         /* into the folder, monotonic s */
	double summary_at;      /* the next may be tried, monotonic s */
};

/* ---- telling the watcher ---------------------------------------------------- */

static void tell(const struct courier *courier, enum courier_word word, long status,
		 const struct outgoing *message, const struct outgoing_replaced *replaced,
		 const char *why)
{
	struct courier_result result = { .word = word, .status = status };

	snprintf(result.why, sizeof result.why, "%s", why);

	memcpy(result.message, replaced ? replaced->id : message->id, sizeof result.message);
	memcpy(result.alert, replaced ? replaced->alert : message->alert, sizeof result.alert);
	memcpy(result.webhook, message->webhook, sizeof result.webhook);
	if (write(courier->result_fd, &result, sizeof result) < 0)
		log_errno("the watcher cannot be told of a delivery");
}

static void tell_failing(const struct courier *courier, struct route *route, long status,
			 const char *why)
{
	if (!route->failing)
		tell(courier, COURIER_NO_ANSWER, status, &route->message, NULL, why);
	route->failing = true;
}

/* ---- sending ---------------------------------------------------------------- */

static void route_done(struct route *route)
{
	route->busy = false;
	outgoing_clear(&route->message);
	free(route->name);
	route->name = NULL;
}

static void look(struct courier *courier)
{
	courier->look_at = when_monotonic() + LOOK_EVERY;
	waitings_look(&courier->waitings);
}

/* A file that cannot be read now may be readable later (too many open files, a
 * failing disk); one that was read and is no message stays none. */
static void mind_unreadable(struct waiting *waiting, double now)
{
	waiting->known = waiting->over = false; /* no summary can tell of it either */
	if (errno == 0) {
		log_warn("outbox: %s is no message; it is left where it is", waiting->name);
		waiting->rest_until = INFINITY;
		return;
	}
	if (waiting->tries == 0 && errno != ENOENT)
		log_errno("outbox: %s cannot be read; trying again", waiting->name);
	waiting->rest_until = now + rest_next(++waiting->tries);
}

static void webhook_rests(const struct courier *courier, struct route *route, double now,
			  const char *why)
{
	if (route->unanswered++ == 0)
		log_warn("webhook \"%s\": %s; trying again", route->webhook->name, why);
	tell_failing(courier, route, 0, why);
	route->rest_until = now + rest_next(route->unanswered);
}

static void send_one(struct courier *courier, struct waiting *waiting, double now)
{
	struct route *route = &courier->routes[waiting->webhook];

	if (!waiting_read(&courier->waitings, waiting, &route->message)) {
		mind_unreadable(waiting, now);
		return;
	}
	const struct post post = {
		.endpoint = route->webhook->endpoint,
		.secret = route->webhook->secret,
		.id = route->message.id,
		.content_type = route->message.content_type,
		.headers = route->message.headers,
		.body = route->message.body,
		.timestamp = (long long)when_wall(),
	};

	route->name = must_copy(waiting->name);
	route->busy = waiting->busy = delivery_post(courier->delivery, &post, route);
	if (!route->busy) {
		webhook_rests(courier, route, now, "no post can be begun");
		route_done(route);
	}
}

/* Writes the summary before anything it stands for goes; a crash in between
 * leaves both, and the next look removes what is replaced.  The list is
 * another one afterwards. */
static bool condense(struct courier *courier, size_t webhook, double now)
{
	struct outgoing summary;

	if (now < courier->summary_at ||
	    !summary_write(&courier->waitings, webhook, when_wall(), &summary))
		return false;
	bool good = outbox_add(courier->waitings.folder, &summary);

	if (good) {
		log_info("webhook \"%s\": %zu messages have become one summary",
			 summary.webhook, summary.replaced_count);
		look(courier);
	} else {
		log_errno("a summary cannot be written; what is over goes message by message");
		courier->summary_at = now + SUMMARY_REST;
	}
	outgoing_clear(&summary);
	return good;
}

/* NULL when nothing is due. */
static struct waiting *next_for(struct courier *courier, size_t webhook, double now)
{
	struct turn turn = turn_of(&courier->waitings, webhook, now);

	if (turn.over >= 2) {
		if (turn.standing)
			return turn.standing;
		if (condense(courier, webhook, now))
			turn = turn_of(&courier->waitings, webhook, now);
	}
	return turn.oldest ? turn.oldest : turn.summary;
}

/* Gives every idle route what is next for it. */
static void send_due(struct courier *courier)
{
	double now = when_monotonic();

	turn_mark(&courier->waitings);
	for (size_t i = 0; i < courier->conf->webhook_count; i++) {
		struct route *route = &courier->routes[i];
		struct waiting *next = NULL;

		/* What cannot be read rests, and the next one is due. */
		while (!route->busy && now >= route->rest_until &&
		       (next = next_for(courier, i, now)))
			send_one(courier, next, now);
	}
}

/* ---- results ---------------------------------------------------------------- */

/* Tells the watcher first: a crash in between posts it once more under the
 * same id, never not at all. */
static void note_delivered(struct courier *courier, struct route *route, long status)
{
	const struct outgoing *message = &route->message;
	struct waiting *waiting = waitings_find(&courier->waitings, route->name);

	if (route->failing)
		tell(courier, COURIER_ANSWERS, status, message, NULL, "");
	route->failing = false;
	route->complained = 0;
	for (size_t i = 0; i < message->replaced_count; i++)
		if (*message->replaced[i].alert)
			tell(courier, COURIER_TOOK, status, message, &message->replaced[i], "");
	tell(courier, COURIER_TOOK, status, message, NULL, "");
	if (waiting)
		waitings_done(&courier->waitings, waiting);
}

static void note_refusal(struct courier *courier, struct route *route, struct waiting *waiting,
			 const struct delivered *done, double now)
{
	double rest = done->retry_after > 0 ? done->retry_after : REFUSED_REST;

	tell(courier, COURIER_REFUSED, done->status, &route->message, NULL, done->why);
	if (done->status == 410) {
		log_warn("webhook \"%s\" wants no more (%s); its messages stay in the outbox, and it "
			 "is asked again in an hour", route->webhook->name, done->why);
		route->rest_until = now + REFUSED_REST;
		return;
	}
	log_warn("webhook \"%s\" refuses a message: %s; it stays in the outbox",
		 route->webhook->name, done->why);
	if (waiting)
		waiting->rest_until = now + rest;
}

/* The webhook answered, and did not take the message. */
static void note_answer(struct courier *courier, struct route *route,
			const struct delivered *done)
{
	struct waiting *waiting = waitings_find(&courier->waitings, route->name);
	unsigned tries = waiting ? waiting->tries : 0;
	double now = when_monotonic();

	if (done->outcome == REFUSED_IT) {
		note_refusal(courier, route, waiting, done, now);
		return;
	}
	tell_failing(courier, route, done->status, done->why);
	/* One line, be it one message at every try or every message once. */
	if (tries == 0 && done->status != route->complained)
		log_warn("webhook \"%s\" does not take message %s: %s; trying again",
			 route->webhook->name, route->message.id, done->why);
	route->complained = done->status;
	if (waiting) {
		waiting->tries++;
		waiting->rest_until = now + (done->retry_after > 0 ? done->retry_after
								   : rest_next(waiting->tries));
	}
	/* It asks to be left alone, not to be asked with another message. */
	if (done->retry_after > 0)
		route->rest_until = now + done->retry_after;
}

static void take_result(struct courier *courier, const struct delivered *done)
{
	struct route *route = done->token;
	struct waiting *waiting;

	if (done->token == &courier->beat) {
		beat_done(&courier->beat, done);
		return;
	}
	waiting = waitings_find(&courier->waitings, route->name);
	if (waiting)
		waiting->busy = false;
	courier->waitings.fresh = true; /* what is not delivered may be over meanwhile */
	if (done->status == 0) {
		webhook_rests(courier, route, when_monotonic(), done->why);
	} else {
		if (route->unanswered > 0)
			log_info("webhook \"%s\" answers again", route->webhook->name);
		route->unanswered = 0;
		if (done->outcome == DELIVERED_IT)
			note_delivered(courier, route, done->status);
		else
			note_answer(courier, route, done);
	}
	route_done(route);
}

/* ---- what the watcher sends --------------------------------------------------- */

static void take_parcel(struct courier *courier)
{
	const char *text = courier->parcel.text;
	struct outgoing message;

	if (courier->parcel.head.kind == PARCEL_WAKE)
		courier->look_at = 0;
	else if (courier->parcel.head.kind == PARCEL_BEAT)
		beat_send(&courier->beat, courier->delivery, &courier->conf->heartbeat, text);
	else if (outgoing_from_text(text, courier->parcel.head.length, &message))
		waitings_hold(&courier->waitings, &message);
}

/* False when the watcher is gone. */
static bool take_parcels(struct courier *courier)
{
	enum parcel_state state;

	while ((state = parcel_take(&courier->parcel, courier->wake_fd)) == PARCEL_HERE)
		take_parcel(courier);
	return state == PARCEL_LATER;
}

/* ---- the loop ----------------------------------------------------------------- */

/* Until when there is nothing to begin, s from now. */
static double until_due(const struct courier *courier)
{
	double next = courier->look_at;

	for (size_t i = 0; i < courier->waitings.count; i++) {
		const struct waiting *waiting = &courier->waitings.list[i];
		const struct route *route = &courier->routes[waiting->webhook];

		if (!route->busy)
			next = fmin(next, fmax(route->rest_until, waiting->rest_until));
	}
	return fmax(next - when_monotonic(), 0);
}

static void courier_clear(struct courier *courier)
{
	delivery_free(courier->delivery);
	for (size_t i = 0; i < courier->conf->webhook_count; i++)
		route_done(&courier->routes[i]);
	waitings_clear(&courier->waitings);
	parcel_clear(&courier->parcel);
	free(courier->routes);
}

int courier_run(const struct conf *conf, const char *folder, int wake_fd, int result_fd)
{
	struct courier courier = {
		.conf = conf,
		.wake_fd = wake_fd,
		.result_fd = result_fd,
		.delivery = delivery_new(),
		.routes = must_calloc(conf->webhook_count, sizeof *courier.routes),
		.waitings = { .conf = conf, .folder = folder },
	};

	if (!courier.delivery) {
		log_warn("libcurl cannot be set up; nothing is posted");
		free(courier.routes);
		return 1;
	}
	for (size_t i = 0; i < conf->webhook_count; i++)
		courier.routes[i].webhook = &conf->webhooks[i];
	fcntl(wake_fd, F_SETFL, O_NONBLOCK);
	while (take_parcels(&courier)) {
		struct delivered done;

		if (when_monotonic() >= courier.look_at)
			look(&courier);
		send_due(&courier);
		delivery_wait(courier.delivery, wake_fd, until_due(&courier));
		while (delivery_take(courier.delivery, &done))
			take_result(&courier, &done);
	}
	courier_clear(&courier);
	return 0;
}
