/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The courier process; see courier.h.
 */
#include "daemon/courier.h"

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "conf/memory.h"
#include "daemon/delivery.h"
#include "daemon/log.h"
#include "daemon/outbox.h"
#include "daemon/when.h"

enum {
	FIRST_REST = 2,         /* s */
	LONGEST_REST = 300,
	REFUSED_REST = 3600,    /* a message that was refused for good */
	LOOK_EVERY = 30,        /* s between looks into the folder unasked */
};

/* One webhook.  It rests as a whole only while it does not answer at all. */
struct route {
	const struct webhook *webhook;
	bool busy;
	unsigned unanswered;    /* tries in a row */
	double rest_until;      /* monotonic s */
	long complained;        /* the status last logged, 0 after a 2xx */
	char *name;             /* the file on its way */
	struct outgoing message;
};

/* One message, for as long as its file is in the folder.  It rests alone when
 * the webhook answered it, so that it holds up no other. */
struct waiting {
	char *name;
	struct route *route;
	unsigned tries;         /* that came to nothing */
	double rest_until;      /* monotonic s */
};

struct courier {
	const char *folder;
	int wake_fd, result_fd;
	struct delivery *delivery;
	struct route *routes;
	size_t route_count;
	struct waiting *waiting; /* oldest first */
	size_t waiting_count;
	double look_at;         /* into the folder, monotonic s */
	struct log_state blind; /* the folder cannot be listed */
};

double courier_rest(unsigned tries)
{
	return tries == 0 ? 0 : fmin(ldexp(FIRST_REST, (int)fmin(tries - 1, 16)), LONGEST_REST);
}

static bool is_for(const char *name, const struct webhook *webhook)
{
	size_t length;
	const char *wanted = outbox_webhook(name, &length);

	return wanted && strlen(webhook->name) == length &&
	       strncmp(wanted, webhook->name, length) == 0;
}

/* NULL when the webhook is not configured (any more). */
static struct route *route_of(const struct courier *courier, const char *name)
{
	for (size_t r = 0; r < courier->route_count; r++)
		if (is_for(name, courier->routes[r].webhook))
			return &courier->routes[r];
	return NULL;
}

/* NULL when its file went away meanwhile. */
static struct waiting *find_waiting(const struct courier *courier, const char *name)
{
	for (size_t i = 0; i < courier->waiting_count; i++)
		if (strcmp(courier->waiting[i].name, name) == 0)
			return &courier->waiting[i];
	return NULL;
}

static void forget(struct courier *courier, struct waiting *waiting)
{
	struct waiting *end = courier->waiting + courier->waiting_count--;

	free(waiting->name);
	memmove(waiting, waiting + 1, (size_t)(end - waiting - 1) * sizeof *waiting);
}

static void forget_all(struct courier *courier)
{
	for (size_t i = 0; i < courier->waiting_count; i++)
		free(courier->waiting[i].name);
	free(courier->waiting);
}

/* Lists the folder anew; what is known of a message lasts as long as its file.
 * Both lists are in order. */
static void look(struct courier *courier)
{
	size_t count, kept = 0, old = 0;
	char **names = outbox_list(courier->folder, &count);

	courier->look_at = when_monotonic() + LOOK_EVERY;
	if (log_changed(&courier->blind, !names) && !names)
		log_errno("the outbox cannot be listed");
	if (!names)
		return;
	struct waiting *list = must_calloc(count, sizeof *list);

	for (size_t i = 0; i < count; i++) {
		struct route *route = route_of(courier, names[i]);
		int order = -1;

		if (!route)
			continue;
		while (old < courier->waiting_count &&
		       (order = strcmp(courier->waiting[old].name, names[i])) < 0)
			old++;
		if (order == 0)
			list[kept] = courier->waiting[old];
		list[kept].route = route;
		list[kept++].name = must_copy(names[i]);
	}
	outbox_list_free(names, count);
	forget_all(courier);
	courier->waiting = list;
	courier->waiting_count = kept;
}

static void route_done(struct route *route)
{
	route->busy = false;
	outgoing_clear(&route->message);
	free(route->name);
	route->name = NULL;
}

static void message_rests(struct waiting *waiting, double now)
{
	waiting->rest_until = now + courier_rest(++waiting->tries);
}

static void webhook_rests(struct route *route, double now, const char *why)
{
	if (route->unanswered++ == 0)
		log_warn("webhook \"%s\": %s; trying again", route->webhook->name, why);
	route->rest_until = now + courier_rest(route->unanswered);
}

/* A file that cannot be read now may be readable later (too many open files, a
 * failing disk); one that was read and is no message stays none. */
static void mind_unreadable(struct waiting *waiting, double now)
{
	if (errno == 0) {
		log_warn("outbox: %s is no message; it is left where it is", waiting->name);
		waiting->rest_until = INFINITY;
		return;
	}
	if (waiting->tries == 0 && errno != ENOENT)
		log_errno("outbox: %s cannot be read; trying again", waiting->name);
	message_rests(waiting, now);
}

static void send_one(struct courier *courier, struct waiting *waiting, double now)
{
	struct route *route = waiting->route;

	if (!outbox_read(courier->folder, waiting->name, &route->message)) {
		mind_unreadable(waiting, now);
		return;
	}
	const struct post post = {
		.endpoint = route->webhook->endpoint,
		.secret = route->webhook->secret,
		.id = route->message.id,
		.content_type = route->message.content_type,
		.body = route->message.body,
		.timestamp = (long long)when_wall(),
	};

	route->name = must_copy(waiting->name);
	route->busy = delivery_post(courier->delivery, &post, route);
	if (!route->busy) {
		webhook_rests(route, now, "no post can be begun");
		route_done(route);
	}
}

/* When a message may go, as far as rests are concerned. */
static double due(const struct waiting *waiting)
{
	return fmax(waiting->route->rest_until, waiting->rest_until);
}

/* Gives every idle route its oldest message. */
static void send_due(struct courier *courier)
{
	double now = when_monotonic();

	for (size_t i = 0; i < courier->waiting_count; i++) {
		struct waiting *waiting = &courier->waiting[i];

		if (!waiting->route->busy && now >= due(waiting))
			send_one(courier, waiting, now);
	}
}

/* Tells the watcher first: a crash in between posts it once more under the
 * same id, never not at all. */
static void note_delivered(struct courier *courier, struct route *route)
{
	struct courier_result result = { 0 };

	memcpy(result.message, route->message.id, sizeof result.message);
	memcpy(result.alert, route->message.alert, sizeof result.alert);
	memcpy(result.webhook, route->message.webhook, sizeof result.webhook);
	if (write(courier->result_fd, &result, sizeof result) < 0)
		log_errno("the watcher cannot be told of a delivery");
	struct waiting *waiting = find_waiting(courier, route->name);
	bool gone = outbox_remove(courier->folder, route->name);

	if (waiting && gone)
		forget(courier, waiting);
	else if (waiting)
		waiting->rest_until = INFINITY; /* delivered: not again and again */
}

/* The webhook answered, and did not take the message. */
static void note_answer(struct courier *courier, struct route *route,
			const struct delivered *done)
{
	struct waiting *waiting = find_waiting(courier, route->name);
	double now = when_monotonic();

	if (!waiting)
		return;
	if (done->outcome == REFUSED_IT) {
		log_warn("webhook \"%s\" refuses a message: %s; it stays in the outbox",
			 route->webhook->name, done->why);
		waiting->rest_until = now + REFUSED_REST;
		return;
	}
	/* One line, be it one message at every try or every message once. */
	if (waiting->tries == 0 && done->status != route->complained)
		log_warn("webhook \"%s\" does not take message %s: %s; trying again",
			 route->webhook->name, route->message.id, done->why);
	route->complained = done->status;
	message_rests(waiting, now);
}

static void take_result(struct courier *courier, const struct delivered *done)
{
	struct route *route = done->token;

	if (done->status == 0) {
		webhook_rests(route, when_monotonic(), done->why);
	} else {
		if (route->unanswered > 0)
			log_info("webhook \"%s\" answers again", route->webhook->name);
		route->unanswered = 0;
		if (done->outcome == DELIVERED_IT) {
			route->complained = 0;
			note_delivered(courier, route);
		} else {
			note_answer(courier, route, done);
		}
	}
	route_done(route);
}

/* Until when there is nothing to begin, s from now. */
static double until_due(const struct courier *courier)
{
	double next = courier->look_at;

	for (size_t i = 0; i < courier->waiting_count; i++)
		if (!courier->waiting[i].route->busy)
			next = fmin(next, due(&courier->waiting[i]));
	return fmax(next - when_monotonic(), 0);
}

/* False when the watcher is gone.  A word from it makes a look due. */
static bool drain_wake(struct courier *courier)
{
	char bytes[64];
	ssize_t got;

	do {
		got = read(courier->wake_fd, bytes, sizeof bytes);
		if (got > 0)
			courier->look_at = 0;
	} while (got > 0 || (got < 0 && errno == EINTR));
	return got < 0 && errno == EAGAIN;
}

static void courier_clear(struct courier *courier)
{
	delivery_free(courier->delivery);
	for (size_t i = 0; i < courier->route_count; i++)
		route_done(&courier->routes[i]);
	forget_all(courier);
	free(courier->routes);
}

int courier_run(const struct conf *conf, const char *folder, int wake_fd, int result_fd)
{
	struct courier courier = {
		.folder = folder,
		.wake_fd = wake_fd,
		.result_fd = result_fd,
		.delivery = delivery_new(),
		.routes = must_calloc(conf->webhook_count, sizeof *courier.routes),
		.route_count = conf->webhook_count,
	};

	if (!courier.delivery) {
		log_warn("libcurl cannot be set up; nothing is posted");
		free(courier.routes);
		return 1;
	}
	for (size_t i = 0; i < conf->webhook_count; i++)
		courier.routes[i].webhook = &conf->webhooks[i];
	fcntl(wake_fd, F_SETFL, O_NONBLOCK);
	while (drain_wake(&courier)) {
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
