/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A receiver that is down for a day of many alerts: what still stands arrives
 * first, what came and went as one summary with its ids, all within one
 * back-off of its return; and the courier's memory does not grow with what
 * waits.
 *
 * The day is in the messages; the courier finds them, tries in vain a few
 * times, and then somebody listens again.
 */
#include "tests/cm.h"

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <sys/wait.h>
#include <unistd.h>

#include "conf/memory.h"
#include "conf/readfile.h"
#include "daemon/outbox.h"
#include "daemon/rest.h"
#include "daemon/when.h"
#include "tests/postroom.h"

enum {
	DAY = 86400,            /* s */
	STANDING_EACH = 10,     /* of so many alerts one still stands */
	REMINDED_EACH = 5,      /* of so many one is told twice */
	REMINDED_AFTER = 3500,  /* s */
	CLEARED_AFTER = 7200,
	TRIES = 3,              /* in vain, before the return */
};

struct down {
	struct postroom room;
	size_t alerts;
	size_t messages, standing; /* so many were put */
	size_t took;            /* words of the courier */
	size_t waiting_kb, most_kb; /* memory, while they wait and at most */
	double first, last;     /* s from the return to the first post and the last */
};

static bool stands(size_t alert)
{
	return alert % STANDING_EACH == 0;
}

static double raised_at(const struct down *down, size_t alert)
{
	return DAY * (double)alert / (double)down->alerts;
}

static void put(struct down *down, double time, size_t alert, const char *what)
{
	char *id = must_print("msg_%s%04zu", what, alert);
	char *alerts = must_print("%salert_%04zu", *what == 'c' ? "-" : "", alert);

	postroom_tell(&down->room, time, "phone", id, alerts);
	down->messages++;
	down->standing += stands(alert);
	free(alerts);
	free(id);
}

static void fill_the_day(struct down *down)
{
	for (size_t i = 0; i < down->alerts; i++) {
		double raised = raised_at(down, i);

		put(down, raised, i, "r");
		if (i % REMINDED_EACH == 0)
			put(down, raised + REMINDED_AFTER, i, "m");
		if (!stands(i))
			put(down, raised + CLEARED_AFTER, i, "c");
	}
}

static void hear(struct down *down)
{
	struct courier_result result;

	while (read(down->room.result, &result, sizeof result) == sizeof result)
		down->took += result.word == COURIER_TOOK;
}

static size_t received(const struct down *down)
{
	char *path = must_print("%s/0.jsonl", down->room.folder), *text;
	size_t size, count = 0;

	text = file_read(path, 64 << 20, &size);
	for (const char *c = text; c && *c; c++)
		count += *c == '\n';
	free(text);
	free(path);
	return count;
}

/* From the moment somebody listens again. */
static void until_all_is_there(struct down *down, double longest)
{
	double begin = when_monotonic();

	while (down->took < down->messages + 1) {
		hear(down);
		if (down->first == 0 && received(down) > 0)
			down->first = when_monotonic() - begin;
		if (when_monotonic() - begin > longest + 60)
			fail_msg("%zu of %zu after %g s", down->took, down->messages, longest + 60);
		poll(NULL, 0, 5);
	}
	down->last = when_monotonic() - begin;
}

static json_t *body_of(json_t *request)
{
	return json_loads(json_string_value(json_object_get(request, "body")), 0, NULL);
}

static bool has_string(json_t *list, const char *text)
{
	json_t *one;
	size_t index;

	json_array_foreach(list, index, one)
		if (strcmp(json_string_value(one), text) == 0)
			return true;
	return false;
}

/* Every message once: by itself, in order of time, when its alert stands, in
 * the summary otherwise. */
static void expect_each_once(struct down *down)
{
	json_t *list = postroom_requests(&down->room, 0);
	size_t count = json_array_size(list);
	double before = -1;

	assert_int_equal(count, down->standing + 1);
	for (size_t i = 0; i + 1 < count; i++) {
		const char *id = json_string_value(json_object_get(
			json_object_get(json_array_get(list, i), "headers"), "webhook-id"));
		size_t alert = strtoul(id + strlen("msg_r"), NULL, 10);
		double time = raised_at(down, alert) + (id[4] == 'm' ? REMINDED_AFTER : 0);

		assert_true(stands(alert));
		assert_true(time > before);
		before = time;
	}
	json_t *summary = body_of(json_array_get(list, count - 1));
	json_t *data = json_object_get(summary, "data");
	json_t *messages = json_object_get(data, "messages");
	json_t *alerts = json_object_get(data, "alerts");

	assert_string_equal(json_string_value(json_object_get(summary, "type")), "alert.summary");
	assert_int_equal(json_array_size(messages), down->messages - down->standing);
	for (size_t i = 0; i < down->alerts; i++) {
		char raised[32], cleared[32], alert[32];

		snprintf(raised, sizeof raised, "msg_r%04zu", i);
		snprintf(cleared, sizeof cleared, "msg_c%04zu", i);
		snprintf(alert, sizeof alert, "alert_%04zu", i);
		assert_true(has_string(messages, raised) == !stands(i));
		assert_true(has_string(messages, cleared) == !stands(i));
		assert_true(has_string(alerts, alert) == !stands(i));
	}
	json_decref(summary);
	json_decref(list);
}

static void live_through(struct down *down, size_t alerts)
{
	double longest = rest_after(TRIES, 1);
	char endpoint[64];
	int port;

	*down = (struct down){ .alerts = alerts };
	postroom_open(&down->room);
	port = postroom_closed_port(&down->room);
	snprintf(endpoint, sizeof endpoint, "http://127.0.0.1:%d/hook", port);
	postroom_webhook(&down->room, "phone", endpoint);
	fill_the_day(down);
	double begin = when_monotonic();

	postroom_start(&down->room);
	postroom_expect(&down->room, COURIER_NO_ANSWER, 0, "msg_r0000");
	down->waiting_kb = postroom_memory(&down->room, "VmRSS:");
	fcntl(down->room.result, F_SETFL, O_NONBLOCK);
	/* Two more tries in vain, after at most 2.4 s and 4.8 s. */
	while (when_monotonic() - begin < rest_after(1, 1) + rest_after(2, 1) + 0.5)
		poll(NULL, 0, 50);
	postroom_listen(&down->room, 0, port);
	until_all_is_there(down, longest);
	down->most_kb = postroom_memory(&down->room, "VmHWM:");
	postroom_until_left(&down->room, 0, 10);
	hear(down);
	print_message("%zu alerts, %zu messages, %zu of what stands: first %.2f s, last %.2f s "
		      "after the return (back-off at most %.1f s); courier %zu kB, at most %zu kB\n",
		      down->alerts, down->messages, down->standing, down->first, down->last, longest,
		      down->waiting_kb, down->most_kb);
	/* One more try may have come in between; nothing else can. */
	assert_true(down->first <= longest + 2);
	assert_true(down->last <= longest + 15);
	assert_int_equal(down->took, down->messages + 1);
	expect_each_once(down);
	postroom_close(&down->room);
}

/* A sanitizer and valgrind keep what is freed for a while. */
static bool memory_is_plain(void)
{
	const char *preload = getenv("LD_PRELOAD");

#ifdef __SANITIZE_ADDRESS__
	return false;
#endif
	return !preload || !strstr(preload, "valgrind");
}

static void a_day_of_500_alerts(void **state)
{
	(void)state;
	static struct down small, large;

	live_through(&small, 50);
	live_through(&large, 500);
	double waiting = (double)large.waiting_kb / (double)small.waiting_kb;
	double most = (double)large.most_kb / (double)small.most_kb;

	print_message("memory with %zu messages waiting : with %zu = %.3f, at most %.3f\n",
		      large.messages, small.messages, waiting, most);
	assert_true(large.messages >= 1000 && small.messages >= 100);
	if (memory_is_plain()) {
		assert_true(waiting < 1.25);
		assert_true(most < 1.5);
	}
}

/* ---- killed while it does all that ---------------------------------------- */

static void kill_courier(struct postroom *room)
{
	kill(room->courier, SIGKILL);
	waitpid(room->courier, NULL, 0);
	close(room->wake);
	close(room->result);
	room->courier = 0;
}

/* Lets it work for so many ms; true when nothing is left. */
static bool works_for(struct down *down, int ms)
{
	double until = when_monotonic() + ms / 1000.0;
	size_t count;

	postroom_start(&down->room);
	fcntl(down->room.result, F_SETFL, O_NONBLOCK);
	do {
		hear(down);
		poll(NULL, 0, 1);
	} while (when_monotonic() < until);
	char **names = outbox_list(down->room.outbox, &count);

	outbox_list_free(names, count);
	return count == 0;
}

/* Is it in the list, or in the ids of a summary there? */
static bool arrived(json_t *list, const char *id)
{
	json_t *request;
	size_t index;
	bool found = false;

	json_array_foreach(list, index, request) {
		const char *own = json_string_value(
			json_object_get(json_object_get(request, "headers"), "webhook-id"));
		json_t *body = body_of(request);
		json_t *data = json_object_get(body, "data");

		found = found || strcmp(own, id) == 0 ||
			has_string(json_object_get(data, "messages"), id);
		json_decref(body);
	}
	return found;
}

static void expect_all_arrived(struct down *down, json_t *list)
{
	for (size_t i = 0; i < down->alerts; i++) {
		char raised[32], cleared[32];

		snprintf(raised, sizeof raised, "msg_r%04zu", i);
		snprintf(cleared, sizeof cleared, "msg_c%04zu", i);
		if (!arrived(list, raised) || (!stands(i) && !arrived(list, cleared)))
			fail_msg("of alert %zu something is missing", i);
	}
}

/* Kills the courier until it is through all the same; returns how often.  It
 * gets from no time at all to well into its work, and ever more each time,
 * so that this comes to an end on a slow machine too. */
static int one_round(int seed, size_t *posts)
{
	static struct down down;
	int kills = 0;

	down = (struct down){ .alerts = 60 };
	postroom_open(&down.room);
	postroom_receiver(&down.room, "phone", NULL);
	fill_the_day(&down);
	while (!works_for(&down, (seed + kills) * 5 % 17 + kills * kills / 8)) {
		kill_courier(&down.room);
		assert_true(++kills < 500);
	}
	json_t *list = postroom_requests(&down.room, 0);

	expect_all_arrived(&down, list);
	*posts = json_array_size(list);
	json_decref(list);
	postroom_close(&down.room);
	return kills;
}

static void kills_lose_nothing(void **state)
{
	(void)state;
	int kills = 0, rounds = 0;
	size_t posts, all = 0;

	for (; kills < 30; rounds++, all += posts)
		kills += one_round(kills, &posts);
	print_message("%d kills in %d rounds, %zu posts\n", kills, rounds, all);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_day_of_500_alerts),
		cmocka_unit_test(kills_lose_nothing),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
