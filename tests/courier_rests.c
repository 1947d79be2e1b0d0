/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * When the courier leaves a webhook or a message alone, what it tells the
 * watcher of it, and the heartbeat beside.
 */
#include "tests/cm.h"

#include <poll.h>
#include <stdio.h>

#include "daemon/when.h"
#include "tests/postroom.h"

static void expect_order(struct postroom *room, size_t webhook, const char *expected)
{
	char *ids = postroom_ids(room, webhook);

	assert_string_equal(ids, expected);
	free(ids);
}

/* ---- Retry-After ---------------------------------------------------------- */

/* Whatever the status and the form: nothing else is posted meanwhile, and the
 * order stays. */
static void rests(struct postroom *room, const char *answer, long status)
{
	const char *options[] = { "--answers", answer, NULL };
	size_t phone = postroom_receiver(room, "phone", options);

	postroom_put(room, 0, "phone", "msg_a");
	postroom_put(room, 1, "phone", "msg_b");
	postroom_start(room);
	postroom_expect(room, COURIER_NO_ANSWER, status, "msg_a");
	double waited = postroom_until_left(room, 0, 20);

	expect_order(room, phone, "msg_a msg_a msg_b ");
	print_message("%s: delivered after %.2f s\n", answer, waited);
	assert_true(waited > 2.5 && waited < 15);
	postroom_expect(room, COURIER_ANSWERS, 200, "msg_a");
	postroom_expect(room, COURIER_TOOK, 200, "msg_a");
	postroom_expect(room, COURIER_TOOK, 200, "msg_b");
}

static void as_long_as_it_asks(void **state)
{
	rests(*state, "503:4", 503);
}

static void as_long_as_it_asks_by_a_date(void **state)
{
	rests(*state, "429@5", 429);
}

static void with_any_status_that_may_change(void **state)
{
	rests(*state, "500:4", 500);
}

/* A date in the past is "now", and no reason to come at once for ever. */
static void a_date_in_the_past(void **state)
{
	struct postroom *room = *state;
	static const char *const options[] = { "--answers", "503@-100000", NULL };

	postroom_receiver(room, "phone", options);
	postroom_put(room, 0, "phone", "msg_a");
	postroom_start(room);
	postroom_expect(room, COURIER_NO_ANSWER, 503, "msg_a");
	double waited = postroom_until_left(room, 0, 10);

	assert_true(waited > 0.8 && waited < 10);
}

/* ---- refusals --------------------------------------------------------------- */

/* It wants no more: everything for it rests, and nothing of another's. */
static void gone_rests_the_webhook(void **state)
{
	struct postroom *room = *state;
	static const char *const options[] = { "--answers", "410", NULL };
	size_t phone = postroom_receiver(room, "phone", options);
	size_t desk = postroom_receiver(room, "desk", NULL);

	postroom_put(room, 0, "phone", "msg_a");
	postroom_put(room, 1, "phone", "msg_b");
	postroom_start(room);
	postroom_expect(room, COURIER_REFUSED, 410, "msg_a");
	postroom_put(room, 2, "desk", "msg_c");
	postroom_put(room, 3, "phone", "msg_d");
	postroom_wake(room);
	postroom_until_received(room, desk, 1, 5);
	postroom_expect(room, COURIER_TOOK, 200, "msg_c");
	/* Three looks and posts later the phone has still had one request. */
	for (int i = 0; i < 3; i++) {
		char id[16];

		snprintf(id, sizeof id, "msg_%d", i);
		postroom_put(room, 4 + i, "desk", id);
		postroom_wake(room);
		postroom_expect(room, COURIER_TOOK, 200, id);
	}
	expect_order(room, phone, "msg_a ");
	postroom_until_said(room, "wants no more (HTTP status 410)", 5);
}

static void a_refusal_rests_the_message(void **state)
{
	struct postroom *room = *state;
	static const char *const options[] = { "--answers", "400,302,413", NULL };
	size_t phone = postroom_receiver(room, "phone", options);
	static const char *const ids[] = { "msg_a", "msg_b", "msg_c", "msg_d" };
	static const long statuses[] = { 400, 302, 413 };

	for (int i = 0; i < 4; i++)
		postroom_put(room, i, "phone", ids[i]);
	postroom_start(room);
	for (int i = 0; i < 3; i++)
		postroom_expect(room, COURIER_REFUSED, statuses[i], ids[i]);
	postroom_expect(room, COURIER_TOOK, 200, "msg_d");
	postroom_until_left(room, 3, 5);
	expect_order(room, phone, "msg_a msg_b msg_c msg_d ");
	/* The redirect was an answer, and no invitation. */
	json_t *requests = postroom_requests(room, phone), *request;
	size_t index;

	json_array_foreach(requests, index, request)
		assert_string_equal(json_string_value(json_object_get(request, "path")), "/hook");
	json_decref(requests);
}

/* ---- a row of failures -------------------------------------------------------- */

static void a_row_is_told_once(void **state)
{
	struct postroom *room = *state;
	static const char *const options[] = { "--answers", "reset,500,reset", NULL };

	postroom_receiver(room, "phone", options);
	postroom_put(room, 0, "phone", "msg_a");
	postroom_put(room, 1, "phone", "msg_b");
	postroom_start(room);
	postroom_expect(room, COURIER_NO_ANSWER, 0, "msg_a");
	postroom_expect(room, COURIER_ANSWERS, 200, "");
	postroom_until_left(room, 0, 20);
	postroom_expect(room, COURIER_TOOK, 200, "");
	postroom_expect(room, COURIER_TOOK, 200, "");
}

/* ---- bounds -------------------------------------------------------------------- */

static void long_answers_are_survived(void **state)
{
	struct postroom *room = *state;
	static const char *const options[] = { "--answers", "200+10,500+10,headers", NULL };

	postroom_receiver(room, "phone", options);
	postroom_put(room, 0, "phone", "msg_a");
	postroom_put(room, 1, "phone", "msg_b");
	postroom_put(room, 2, "phone", "msg_c");
	postroom_start(room);
	postroom_expect(room, COURIER_TOOK, 200, "msg_a");
	size_t before = postroom_memory(room, "VmHWM:");

	postroom_expect(room, COURIER_NO_ANSWER, 500, "msg_b");
	double waited = postroom_until_left(room, 0, 20);
	size_t after = postroom_memory(room, "VmHWM:");

	print_message("10 MB, and headers without end: delivered %.2f s later, memory at most "
		      "%zu -> %zu kB\n", waited, before, after);
	assert_true(after - before < 2048);
	postroom_expect(room, COURIER_ANSWERS, 200, "");
}

/* ---- the heartbeat --------------------------------------------------------------- */

static char beats_secret[] = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw";

static void a_heartbeat_is_posted_and_signed(void **state)
{
	struct postroom *room = *state;
	size_t beats = postroom_receiver(room, "beats", NULL);

	room->conf.heartbeat = (struct heartbeat){ room->webhooks[beats].endpoint, beats_secret, 60 };
	postroom_start(room);
	postroom_hand(room, PARCEL_BEAT, "{\"type\":\"beat\"}");
	postroom_until_received(room, beats, 1, 5);
	json_t *list = postroom_requests(room, beats), *request = json_array_get(list, 0);
	json_t *headers = json_object_get(request, "headers");
	const char *id = json_string_value(json_object_get(headers, "webhook-id"));
	const char *signature = json_string_value(json_object_get(headers, "webhook-signature"));

	assert_string_equal(json_string_value(json_object_get(request, "body")),
			    "{\"type\":\"beat\"}");
	assert_non_null(signature);
	assert_memory_equal(signature, "v1,", 3);
	assert_memory_equal(id, "beat_", 5);
	assert_null(strchr(id, '.'));
	assert_string_equal(json_string_value(json_object_get(headers, "content-type")),
			    "application/json");
	json_decref(list);
}

static size_t beats_received(struct postroom *room, size_t beats)
{
	json_t *list = postroom_requests(room, beats);
	size_t count = json_array_size(list);

	json_decref(list);
	return count;
}

/* It hangs for its own time-out of 30 s: no second one begins, it is never
 * posted again, and messages go on. */
static void a_hanging_heartbeat_delays_nothing(void **state)
{
	struct postroom *room = *state;
	static const char *const options[] = { "--answers", "hang", NULL };
	size_t phone = postroom_receiver(room, "phone", NULL);
	size_t beats = postroom_receiver(room, "beats", options);

	room->conf.heartbeat = (struct heartbeat){ room->webhooks[beats].endpoint, NULL, 60 };
	postroom_start(room);
	postroom_hand(room, PARCEL_BEAT, "{}");
	postroom_until_received(room, beats, 1, 5);
	postroom_hand(room, PARCEL_BEAT, "{}");
	postroom_put(room, 0, "phone", "msg_a");
	postroom_wake(room);
	double waited = postroom_until_received(room, phone, 1, 3);

	print_message("beside a hanging heartbeat a message took %.2f s\n", waited);
	postroom_expect(room, COURIER_TOOK, 200, "msg_a");
	assert_int_equal(beats_received(room, beats), 1);
}

/* Nobody there: said once, and each beat is tried once. */
static void a_failing_heartbeat_is_said_once(void **state)
{
	struct postroom *room = *state;
	static const char *const options[] = { "--answers", "500,500,200", NULL };
	size_t beats = postroom_receiver(room, "beats", options);

	room->conf.heartbeat = (struct heartbeat){ room->webhooks[beats].endpoint, NULL, 60 };
	postroom_start(room);
	double begin = when_monotonic();

	/* One that comes before the answer to the last is dropped. */
	while (beats_received(room, beats) < 3) {
		assert_true(when_monotonic() - begin < 10);
		postroom_hand(room, PARCEL_BEAT, "{}");
		poll(NULL, 0, 20);
	}
	postroom_until_said(room, "the heartbeat is taken again", 5);
	char *said = postroom_said(room);

	assert_null(strstr(strstr(said, "is not taken") + 1, "is not taken"));
	free(said);
}

#define test(name) cmocka_unit_test_setup_teardown(name, postroom_set_up, postroom_tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		test(as_long_as_it_asks),
		test(as_long_as_it_asks_by_a_date),
		test(with_any_status_that_may_change),
		test(a_date_in_the_past),
		test(gone_rests_the_webhook),
		test(a_refusal_rests_the_message),
		test(a_row_is_told_once),
		test(long_answers_are_survived),
		test(a_heartbeat_is_posted_and_signed),
		test(a_hanging_heartbeat_delays_nothing),
		test(a_failing_heartbeat_is_said_once),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
