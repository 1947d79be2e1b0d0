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
#include <time.h>
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

/* One webhook's queue. */
struct route {
	const struct webhook *webhook;
	bool busy;
	unsigned tries;         /* failed in a row */
	double rest_until;      /* monotonic s */
	char *name;             /* the file on its way */
	struct outgoing message;
};

/* A message refused for good; it stays in the folder and waits. */
struct refused {
	char *name;
	double until;
};

struct courier {
	const char *folder;
	int wake_fd, result_fd;
	struct delivery *delivery;
	struct route *routes;
	size_t route_count;
	struct refused *refused;
	size_t refused_count;
};

double courier_rest(unsigned tries)
{
	return tries == 0 ? 0 : fmin(ldexp(FIRST_REST, (int)fmin(tries - 1, 16)), LONGEST_REST);
}

static bool is_waiting(const struct courier *courier, const char *name, double now)
{
	for (size_t i = 0; i < courier->refused_count; i++)
		if (strcmp(courier->refused[i].name, name) == 0)
			return now < courier->refused[i].until;
	return false;
}

static void let_wait(struct courier *courier, const char *name, double until)
{
	for (size_t i = 0; i < courier->refused_count; i++)
		if (strcmp(courier->refused[i].name, name) == 0) {
			courier->refused[i].until = until;
			return;
		}
	courier->refused = must_resize(courier->refused, courier->refused_count + 1,
				       sizeof *courier->refused);
	courier->refused[courier->refused_count++] =
		(struct refused){ must_copy(name), until };
}

static bool is_for(const char *name, const struct webhook *webhook)
{
	size_t length;
	const char *wanted = outbox_webhook(name, &length);

	return wanted && strlen(webhook->name) == length &&
	       strncmp(wanted, webhook->name, length) == 0;
}

static void route_done(struct route *route)
{
	route->busy = false;
	outgoing_clear(&route->message);
	free(route->name);
	route->name = NULL;
}

static void route_send(struct courier *courier, struct route *route, const char *name)
{
	if (!outbox_read(courier->folder, name, &route->message)) {
		log_warn("outbox: %s is no message; it is left where it is", name);
		let_wait(courier, name, INFINITY);
		return;
	}
	const struct post post = {
		.endpoint = route->webhook->endpoint,
		.secret = route->webhook->secret,
		.id = route->message.id,
		.content_type = route->message.content_type,
		.body = route->message.body,
		.timestamp = (long long)time(NULL),
	};

	route->name = must_copy(name);
	route->busy = delivery_post(courier->delivery, &post, route);
	if (!route->busy) {
		route->rest_until = when_monotonic() + courier_rest(++route->tries);
		route_done(route);
	}
}

/* Gives every idle route its oldest message. */
static void send_due(struct courier *courier)
{
	double now = when_monotonic();
	size_t count;
	char **names = outbox_list(courier->folder, &count);

	for (size_t r = 0; r < courier->route_count; r++) {
		struct route *route = &courier->routes[r];

		for (size_t i = 0; i < count && !route->busy && now >= route->rest_until; i++)
			if (is_for(names[i], route->webhook) &&
			    !is_waiting(courier, names[i], now))
				route_send(courier, route, names[i]);
	}
	outbox_list_free(names, count);
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
	outbox_remove(courier->folder, route->name);
}

static void take_results(struct courier *courier)
{
	struct delivered done;

	while (delivery_take(courier->delivery, &done)) {
		struct route *route = done.token;
		double now = when_monotonic();

		switch (done.outcome) {
		case DELIVERED_IT:
			if (route->tries > 0)
				log_info("webhook \"%s\" takes messages again", route->webhook->name);
			route->tries = 0;
			note_delivered(courier, route);
			break;
		case TRY_AGAIN:
			if (route->tries++ == 0)
				log_warn("webhook \"%s\": %s; trying again", route->webhook->name,
					 done.why);
			route->rest_until = now + courier_rest(route->tries);
			break;
		case REFUSED_IT:
			log_warn("webhook \"%s\" refuses a message: %s; it stays in the outbox",
				 route->webhook->name, done.why);
			let_wait(courier, route->name, now + REFUSED_REST);
			break;
		}
		route_done(route);
	}
}

/* Until when there is nothing to begin, s from now. */
static double until_due(const struct courier *courier)
{
	double now = when_monotonic(), wait = LOOK_EVERY;

	for (size_t r = 0; r < courier->route_count; r++)
		if (!courier->routes[r].busy && courier->routes[r].rest_until > now)
			wait = fmin(wait, courier->routes[r].rest_until - now);
	return wait;
}

/* False when the watcher is gone. */
static bool drain_wake(int fd)
{
	char bytes[64];
	ssize_t got;

	do
		got = read(fd, bytes, sizeof bytes);
	while (got > 0 || (got < 0 && errno == EINTR));
	return got < 0 && errno == EAGAIN;
}

static void courier_clear(struct courier *courier)
{
	delivery_free(courier->delivery);
	for (size_t i = 0; i < courier->route_count; i++)
		route_done(&courier->routes[i]);
	for (size_t i = 0; i < courier->refused_count; i++)
		free(courier->refused[i].name);
	free(courier->refused);
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
	while (drain_wake(wake_fd)) {
		send_due(&courier);
		delivery_wait(courier.delivery, wake_fd, until_due(&courier));
		take_results(&courier);
	}
	courier_clear(&courier);
	return 0;
}
