/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A disk that takes nothing silences no alert: what the postbox is given is
 * delivered, from memory if it must be, and once.
 *
 * The outbox's folder is not there: then nothing can be written into it,
 * whoever runs the test.
 */
#include "tests/cm.h"

#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "conf/memory.h"
#include "daemon/postbox.h"
#include "daemon/when.h"
#include "tests/postroom.h"

enum { PATIENCE = 20 /* s */ };

struct fixture {
	struct postroom room;
	struct postbox *postbox;
	size_t took, no_answer, answers; /* words heard */
};

static int set_up(void **state)
{
	static struct fixture f;

	f = (struct fixture){ 0 };
	postroom_open(&f.room);
	assert_int_equal(rmdir(f.room.outbox), 0);
	f.postbox = postbox_new(&f.room.conf, f.room.outbox);
	*state = &f;
	return 0;
}

static int tear_down(void **state)
{
	struct fixture *f = *state;

	postbox_free(f->postbox);
	postroom_close(&f->room);
	return 0;
}

static void the_disk_works_again(struct fixture *f)
{
	assert_int_equal(mkdir(f->room.outbox, 0700), 0);
}

static bool send_body(struct fixture *f, double created, const char *id, char *body)
{
	struct outgoing message = {
		.created = 1767225600 + created,
		.content_type = must_copy("text/plain"),
		.body = body,
	};

	snprintf(message.id, sizeof message.id, "%s", id);
	snprintf(message.alert, sizeof message.alert, "alert_1");
	snprintf(message.webhook, sizeof message.webhook, "phone");
	bool stored = postbox_send(f->postbox, &message);

	assert_null(message.body); /* it was taken over */
	return stored;
}

static bool send(struct fixture *f, double created, const char *id)
{
	return send_body(f, created, id, must_copy("x"));
}

/* What the watcher's loop does. */
static void turn(struct fixture *f)
{
	struct courier_result result;

	postbox_step(f->postbox, when_monotonic());
	while (postbox_take(f->postbox, &result)) {
		f->took += result.word == COURIER_TOOK;
		f->no_answer += result.word == COURIER_NO_ANSWER;
		f->answers += result.word == COURIER_ANSWERS;
	}
	poll(NULL, 0, 5);
}

static void until(struct fixture *f, const size_t *what, size_t count)
{
	double begin = when_monotonic();

	while (*what < count) {
		if (when_monotonic() - begin > PATIENCE)
			fail_msg("%zu instead of %zu", *what, count);
		turn(f);
	}
}

static void until_held(struct fixture *f, size_t count)
{
	double begin = when_monotonic();

	while (postbox_held(f->postbox) != count) {
		assert_true(when_monotonic() - begin < PATIENCE);
		turn(f);
	}
}

static void expect_order(struct fixture *f, const char *expected)
{
	char *ids = postroom_ids(&f->room, 0);

	assert_string_equal(ids, expected);
	free(ids);
}

static void with_a_disk_it_is_a_file(void **state)
{
	struct fixture *f = *state;

	the_disk_works_again(f);
	postroom_receiver(&f->room, "phone", NULL);
	assert_true(send(f, 0, "msg_a"));
	assert_int_equal(postbox_held(f->postbox), 0);
	postroom_until_left(&f->room, 1, 1);
	until(f, &f->took, 1);
	assert_true(send(f, 1, "msg_b")); /* and wakes the courier */
	until(f, &f->took, 2);
	postroom_until_left(&f->room, 0, 5);
	expect_order(f, "msg_a msg_b ");
}

static void without_a_disk_it_goes_out_from_memory(void **state)
{
	struct fixture *f = *state;

	postroom_receiver(&f->room, "phone", NULL);
	assert_false(send(f, 0, "msg_a"));
	assert_int_equal(postbox_held(f->postbox), 1);
	until(f, &f->took, 1);
	assert_int_equal(postbox_held(f->postbox), 0);
	assert_false(send(f, 1, "msg_b"));
	until(f, &f->took, 2);
	assert_int_equal(postbox_held(f->postbox), 0);
	expect_order(f, "msg_a msg_b ");
}

static void another_courier_gets_it_too(void **state)
{
	struct fixture *f = *state;
	static const char *const options[] = { "--answers", "503:3600", NULL };

	postroom_receiver(&f->room, "phone", options);
	assert_false(send(f, 0, "msg_a"));
	until(f, &f->no_answer, 1);
	pid_t pid = postbox_pid(f->postbox);

	assert_int_equal(kill(pid, SIGKILL), 0);
	assert_int_equal(waitpid(pid, NULL, 0), pid);
	postbox_child_died(f->postbox, when_monotonic());
	until(f, &f->took, 1);
	assert_int_equal(postbox_held(f->postbox), 0);
	assert_int_not_equal(postbox_pid(f->postbox), pid);
	postbox_reload(f->postbox, &f->room.conf, when_monotonic());
	assert_false(send(f, 1, "msg_b"));
	until(f, &f->took, 2);
	expect_order(f, "msg_a msg_a msg_b ");
}

/* It waits for a webhook that is down when the disk is back. */
static void it_becomes_a_file_and_is_sent_once(void **state)
{
	struct fixture *f = *state;
	static const char *const options[] = { "--answers", "503:3", NULL };

	postroom_receiver(&f->room, "phone", options);
	assert_false(send(f, 0, "msg_a"));
	assert_false(send(f, 1, "msg_b"));
	until(f, &f->no_answer, 1);
	the_disk_works_again(f);
	until_held(f, 0);
	postroom_until_left(&f->room, 2, 1);
	until(f, &f->took, 2);
	postroom_until_left(&f->room, 0, 5);
	assert_int_equal(f->answers, 1);
	expect_order(f, "msg_a msg_a msg_b ");
}

/* More than the pipe takes, and nobody takes anything. */
static void a_courier_that_stands_still_holds_up_nothing(void **state)
{
	struct fixture *f = *state;
	enum { MANY = 40, SIZE = 10000 };
	char id[16], expected[MANY * 8 + 16];
	double longest = 0;

	postroom_receiver(&f->room, "phone", NULL);
	turn(f);
	pid_t pid = postbox_pid(f->postbox);

	assert_int_equal(kill(pid, SIGSTOP), 0);
	for (int i = 0; i < MANY; i++) {
		char *body = must_calloc(SIZE + 1, 1);
		double begin = when_monotonic();

		memset(body, 'x', SIZE);
		snprintf(id, sizeof id, "msg_%03d", i);
		snprintf(expected + (size_t)i * 8, 16, "msg_%03d ", i);
		assert_false(send_body(f, i, id, body));
		turn(f);
		longest = fmax(longest, when_monotonic() - begin);
	}
	assert_int_equal(postbox_held(f->postbox), MANY);
	assert_int_equal(kill(pid, SIGCONT), 0);
	until(f, &f->took, MANY);
	print_message("beside a courier that stands still a message took at most %.3f s\n", longest);
	assert_true(longest < 1);
	assert_int_equal(postbox_held(f->postbox), 0);
	expect_order(f, expected);
}

/* Nobody to send it to, no disk: bounded. */
static void there_is_a_bound(void **state)
{
	struct fixture *f = *state;
	size_t count;
	char id[16];

	for (int i = 0; i < POSTBOX_MOST + 2; i++) {
		snprintf(id, sizeof id, "msg_%04d", i);
		assert_false(send(f, i, id));
	}
	assert_int_equal(postbox_held(f->postbox), POSTBOX_MOST);
	the_disk_works_again(f);
	postbox_free(f->postbox); /* the last chance */
	f->postbox = NULL;
	char **names = outbox_list(f->room.outbox, &count);

	assert_int_equal(count, POSTBOX_MOST);
	assert_non_null(strstr(names[0], "-msg_0002-")); /* the oldest went */
	outbox_list_free(names, count);
}

/* What can never be written down is not tried for ever. */
static void no_utf8_is_no_message(void **state)
{
	struct fixture *f = *state;

	postroom_receiver(&f->room, "phone", NULL);
	the_disk_works_again(f);
	assert_false(send_body(f, 0, "msg_bad", must_copy("\xff\xfe")));
	assert_true(send(f, 1, "msg_a"));
	until(f, &f->took, 1);
	assert_int_equal(postbox_held(f->postbox), 0);
	expect_order(f, "msg_a ");
}

static void a_heartbeat_goes_without_webhooks(void **state)
{
	struct fixture *f = *state;
	double begin = when_monotonic();
	json_t *list = NULL;

	postroom_receiver(&f->room, "beats", NULL);
	f->room.conf.heartbeat.endpoint = f->room.webhooks[0].endpoint;
	f->room.conf.webhook_count = 0;
	postbox_beat(f->postbox, "{\"n\":0}"); /* no courier yet: dropped */
	turn(f);
	assert_true(postbox_pid(f->postbox) > 0);
	postbox_beat(f->postbox, "{\"n\":1}");
	do {
		json_decref(list);
		turn(f);
		list = postroom_requests(&f->room, 0);
		assert_true(when_monotonic() - begin < PATIENCE);
	} while (json_array_size(list) == 0);
	assert_string_equal(json_string_value(json_object_get(json_array_get(list, 0), "body")),
			    "{\"n\":1}");
	json_decref(list);
	f->room.conf.webhook_count = 1; /* for who tidies up */
}

#define test(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		test(with_a_disk_it_is_a_file),
		test(without_a_disk_it_goes_out_from_memory),
		test(another_courier_gets_it_too),
		test(it_becomes_a_file_and_is_sent_once),
		test(a_courier_that_stands_still_holds_up_nothing),
		test(there_is_a_bound),
		test(no_utf8_is_no_message),
		test(a_heartbeat_goes_without_webhooks),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
