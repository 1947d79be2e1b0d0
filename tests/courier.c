/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The courier between an outbox and receivers that misbehave: every message
 * arrives, soon, once, and no other waits for it.  The times are generous
 * beside what is right and small beside what was wrong.
 */
#include "tests/cm.h"

#include <stdio.h>
#include <sys/stat.h>
#include <unistd.h>

#include "conf/memory.h"
#include "tests/postroom.h"

/* ---- nothing is noticed late ---------------------------------------------- */

static void a_refused_connection_is_noticed_at_once(void **state)
{
	struct postroom *room = *state;
	char endpoint[64];
	int port = postroom_closed_port(room);

	snprintf(endpoint, sizeof endpoint, "http://localhost:%d/", port);
	postroom_webhook(room, "phone", endpoint);
	postroom_put(room, 0, "phone", "msg_a");
	postroom_start(room);
	print_message("a refused connection was noticed after %.2f s\n",
		      postroom_until_said(room, "trying again", 10));
}

enum { MANY = 200 };

static void a_delivery_lets_the_next_message_go(void **state)
{
	struct postroom *room = *state;
	size_t phone = postroom_receiver(room, "phone", NULL);
	char id[16], expected[MANY * 8 + 16];

	for (int i = 0; i < MANY; i++) {
		snprintf(id, sizeof id, "msg_%03d", i);
		postroom_put(room, i, "phone", id);
		snprintf(expected + (size_t)i * 8, 16, "msg_%03d ", i);
	}
	postroom_start(room);
	print_message("%d messages were delivered in %.2f s\n", MANY, postroom_until_left(room, 0, 20));
	char *ids = postroom_ids(room, phone);

	assert_string_equal(ids, expected); /* the oldest first, each once */
	free(ids);
	for (int i = 0; i < MANY; i++) {
		struct courier_result result;

		assert_int_equal(read(room->result, &result, sizeof result), sizeof result);
		snprintf(id, sizeof id, "msg_%03d", i);
		assert_string_equal(result.message, id);
		assert_string_equal(result.alert, "alert_1");
		assert_string_equal(result.webhook, "phone");
	}
}

/* ---- the status decides ----------------------------------------------------- */

static void an_answer_that_never_ends_is_an_answer(void **state)
{
	struct postroom *room = *state;
	static const char *const options[] = { "--for", "msg_a=endless", NULL };
	size_t phone = postroom_receiver(room, "phone", options);

	postroom_put(room, 0, "phone", "msg_a");
	postroom_put(room, 1, "phone", "msg_b");
	postroom_start(room);
	print_message("beside an endless answer two messages took %.2f s\n",
		      postroom_until_left(room, 0, 10));
	char *ids = postroom_ids(room, phone);

	assert_string_equal(ids, "msg_a msg_b ");
	free(ids);
}

/* ---- one message holds up no other ------------------------------------------- */

/* Answered as broken, as too slow and as too many: each waits by itself. */
static void an_answered_message_rests_alone(void **state)
{
	struct postroom *room = *state;
	static const char *const options[] = { "--for", "msg_a=500", "--for", "msg_b=408",
					       "--for", "msg_c=429", NULL };
	static const char *const ids[] = { "msg_a", "msg_b", "msg_c", "msg_d", "msg_e", "msg_f" };
	size_t phone = postroom_receiver(room, "phone", options);

	for (int i = 0; i < 6; i++)
		postroom_put(room, i, "phone", ids[i]);
	postroom_start(room);
	print_message("behind three bad messages three good ones took %.2f s\n",
		      postroom_until_left(room, 3, 10));
	char *order = postroom_ids(room, phone);

	assert_string_equal(order, "msg_a msg_b msg_c msg_d msg_e msg_f ");
	free(order);
	postroom_until_received(room, phone, 12, 20); /* after 2 s and 4 s again */
	for (int i = 0; i < 6; i++)
		assert_int_equal(postroom_posts_of(room, phone, ids[i]), i < 3 ? 3 : 1);
}

/* The other end takes the connection, and then says nothing: neither in the TLS
 * handshake nor to a post, or late.  Nobody else waits for it. */
static void stands_still(struct postroom *room, const char *protocol, const char *answer)
{
	const char *const options[] = { "--answers", answer, NULL };
	size_t phone = postroom_receiver(room, "phone", options);
	size_t desk = postroom_receiver(room, "desk", NULL);
	char **endpoint = &room->webhooks[phone].endpoint;
	char *other = must_print("%s%s", protocol, strchr(*endpoint, ':'));

	free(*endpoint);
	*endpoint = other;
	postroom_put(room, 0, "phone", "msg_a");
	postroom_put(room, 1, "desk", "msg_b");
	postroom_start(room);
	print_message("beside %s, %s, a message took %.2f s\n", protocol, answer,
		      postroom_until_received(room, desk, 1, 2.5));
	postroom_expect(room, COURIER_TOOK, 200, "msg_b");
}

static void a_hanging_handshake_delays_no_other(void **state)
{
	stands_still(*state, "https", "hang");
	postroom_expect(*state, COURIER_NO_ANSWER, 0, "msg_a"); /* after 10 s; it is kept */
	postroom_until_left(*state, 1, 1);
}

static void a_hanging_answer_delays_no_other(void **state)
{
	stands_still(*state, "http", "hang");
}

static void a_late_answer_is_waited_for(void **state)
{
	stands_still(*state, "http", "slow");
	postroom_expect(*state, COURIER_TOOK, 200, "msg_a");
}

/* No answer is the webhook's matter: nothing overtakes. */
static void an_unanswered_webhook_rests_whole(void **state)
{
	struct postroom *room = *state;
	static const char *const options[] = { "--answers", "reset,reset", NULL };
	size_t phone = postroom_receiver(room, "phone", options);
	size_t desk = postroom_receiver(room, "desk", NULL);

	postroom_put(room, 0, "phone", "msg_a");
	postroom_put(room, 1, "phone", "msg_b");
	postroom_put(room, 2, "desk", "msg_c");
	postroom_start(room);
	postroom_until_received(room, desk, 1, 1.5); /* not delayed by the other */
	double waited = postroom_until_left(room, 0, 20);
	char *order = postroom_ids(room, phone);

	assert_string_equal(order, "msg_a msg_a msg_a msg_b ");
	free(order);
	assert_true(waited > 2); /* of 2 s and 4 s */
}

static void take_away(const struct postroom *room, const char *name)
{
	char path[128];

	snprintf(path, sizeof path, "%s/%s", room->outbox, name);
	assert_int_equal(unlink(path), 0);
}

static const char first_name[] = "1767225600000.000000-msg_a-phone.json";

/* A refusal is forgotten with its file: kept for ever, the list would grow for
 * ever, and a message put back by hand would wait an hour. */
static void a_file_that_is_gone_is_forgotten(void **state)
{
	struct postroom *room = *state;
	static const char *const options[] = { "--answers", "400", NULL };
	size_t phone = postroom_receiver(room, "phone", options);

	postroom_put(room, 0, "phone", "msg_a");
	postroom_start(room);
	postroom_until_said(room, "refuses a message: HTTP status 400", 10);
	take_away(room, first_name);
	postroom_put(room, 1, "phone", "msg_b");
	postroom_wake(room);
	postroom_until_left(room, 0, 10);
	postroom_put(room, 0, "phone", "msg_a");
	postroom_wake(room);
	postroom_until_left(room, 0, 10);
	char *order = postroom_ids(room, phone);

	assert_string_equal(order, "msg_a msg_b msg_a ");
	free(order);
}

/* What cannot be read just now is tried again; what is no message is left. */
static void an_unreadable_message_is_tried_again(void **state)
{
	struct postroom *room = *state;
	size_t phone = postroom_receiver(room, "phone", NULL);
	char path[128];

	snprintf(path, sizeof path, "%s/%s", room->outbox, first_name);
	assert_int_equal(symlink(first_name, path), 0); /* a loop: ELOOP */
	snprintf(path, sizeof path, "%s/0000000000000-msg_0-phone.json", room->outbox);
	assert_int_equal(mkdir(path, 0700), 0);
	postroom_put(room, 1, "phone", "msg_b");
	postroom_start(room);
	postroom_until_left(room, 2, 10);
	postroom_until_said(room, "msg_0-phone.json is no message", 10);
	postroom_put(room, 0, "phone", "msg_a"); /* over the loop */
	print_message("a message that could not be read was delivered %.2f s after it could\n",
		      postroom_until_left(room, 1, 10));
	char *order = postroom_ids(room, phone);

	assert_string_equal(order, "msg_b msg_a ");
	free(order);
}

#define test(name) cmocka_unit_test_setup_teardown(name, postroom_set_up, postroom_tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		test(a_refused_connection_is_noticed_at_once),
		test(a_delivery_lets_the_next_message_go),
		test(an_answer_that_never_ends_is_an_answer),
		test(an_answered_message_rests_alone),
		test(a_hanging_handshake_delays_no_other),
		test(a_hanging_answer_delays_no_other),
		test(a_late_answer_is_waited_for),
		test(an_unanswered_webhook_rests_whole),
		test(a_file_that_is_gone_is_forgotten),
		test(an_unreadable_message_is_tried_again),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
