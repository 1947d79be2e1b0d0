/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The courier between an outbox and receivers that misbehave: every message
 * arrives, soon, once, and no other waits for it.  The times are generous
 * beside what is right and small beside what was wrong.
 */
#include "tests/cm.h"

#include <netinet/in.h>
#include <stdio.h>
#include <sys/socket.h>
#include <unistd.h>

#include "tests/postroom.h"

static int set_up(void **state)
{
	static struct postroom room;

	postroom_open(&room);
	*state = &room;
	return 0;
}

static int tear_down(void **state)
{
	postroom_close(*state);
	return 0;
}

/* ---- nothing is noticed late ---------------------------------------------- */

/* Bound and not listening: nobody else gets it and no one answers there. */
static int closed_port(int *port)
{
	struct sockaddr_in address = { .sin_family = AF_INET,
				       .sin_addr.s_addr = htonl(INADDR_LOOPBACK) };
	socklen_t size = sizeof address;
	int fd = socket(AF_INET, SOCK_STREAM, 0);

	assert_true(fd >= 0);
	assert_int_equal(bind(fd, (struct sockaddr *)&address, size), 0);
	assert_int_equal(getsockname(fd, (struct sockaddr *)&address, &size), 0);
	*port = ntohs(address.sin_port);
	return fd;
}

static void a_refused_connection_is_noticed_at_once(void **state)
{
	struct postroom *room = *state;
	char endpoint[64];
	int port, fd = closed_port(&port);

	snprintf(endpoint, sizeof endpoint, "http://localhost:%d/", port);
	postroom_webhook(room, "phone", endpoint);
	postroom_put(room, 0, "phone", "msg_a");
	postroom_start(room);
	print_message("a refused connection was noticed after %.2f s\n",
		      postroom_until_said(room, "trying again", 10));
	close(fd);
}

enum { MANY = 300 };

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

#define test(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		test(a_refused_connection_is_noticed_at_once),
		test(a_delivery_lets_the_next_message_go),
		test(an_answer_that_never_ends_is_an_answer),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
