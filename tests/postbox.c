/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a courier delivered is heard of, however the courier ended.
 */
#include "tests/cm.h"

#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <sys/stat.h>
#include <sys/wait.h>

#include "conf/memory.h"
#include "conf/readfile.h"
#include "daemon/postbox.h"
#include "daemon/watch.h"
#include "daemon/when.h"
#include "tests/postroom.h"
#include "tests/small_conf.h"

enum { PATIENCE = 10 /* s */ };

struct fixture {
	struct postroom room;
	struct postbox *postbox;
};

static int set_up(void **state)
{
	static struct fixture f;

	postroom_open(&f.room);
	postroom_receiver(&f.room, "phone", NULL);
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

/* Delivered, and not listened to. */
static void deliver(struct fixture *f, const char *const *ids, size_t count)
{
	for (size_t i = 0; i < count; i++)
		postroom_put(&f->room, (double)i, "phone", ids[i]);
	postbox_step(f->postbox, 0);
	postbox_wake(f->postbox);
	postroom_until_left(&f->room, 0, PATIENCE);
}

static void expect_results(struct fixture *f, const char *const *ids, size_t count)
{
	struct courier_result result;

	for (size_t i = 0; i < count; i++) {
		assert_true(postbox_take(f->postbox, &result));
		assert_string_equal(result.message, ids[i]);
	}
	assert_false(postbox_take(f->postbox, &result));
}

/* A courier of its own pipe works again. */
static void expect_another(struct fixture *f, double now)
{
	static const char *const later[] = { "msg_later" };
	struct pollfd ready = { .events = POLLIN };

	postbox_step(f->postbox, now);
	assert_true(postbox_pid(f->postbox) > 0);
	deliver(f, later, 1);
	ready.fd = postbox_fd(f->postbox);
	assert_int_equal(poll(&ready, 1, PATIENCE * 1000), 1);
	expect_results(f, later, 1);
}

static const char *const ids[] = { "msg_a", "msg_b", "msg_c" };

static void a_reload_loses_no_result(void **state)
{
	struct fixture *f = *state;

	deliver(f, ids, 3);
	postbox_reload(f->postbox, &f->room.conf, 1);
	postbox_step(f->postbox, 1);
	expect_results(f, ids, 3);
	assert_int_equal(postbox_fd(f->postbox), -1);
	expect_another(f, 1);
}

static void a_death_loses_no_result(void **state)
{
	struct fixture *f = *state;
	pid_t pid;

	deliver(f, ids, 3);
	pid = postbox_pid(f->postbox);
	assert_int_equal(kill(pid, SIGKILL), 0);
	assert_int_equal(waitpid(pid, NULL, 0), pid);
	postbox_child_died(f->postbox, 1);
	assert_int_equal(postbox_pid(f->postbox), -1);
	postbox_step(f->postbox, 1000);
	expect_results(f, ids, 3);
	expect_another(f, 1000);
}

static size_t times(const char *text, const char *word)
{
	size_t count = 0;

	while ((text = strstr(text, word))) {
		count++;
		text++;
	}
	return count;
}

static char *alert_log(const struct postroom *room)
{
	char *path = must_print("%s/alerts.jsonl", room->folder);
	size_t size;
	char *text = file_read(path, 1 << 20, &size);

	assert_non_null(text);
	free(path);
	return text;
}

/* The whole way of some events of one instant, up to the daemon's end. */
static void the_end_of_the_watch_loses_no_result(void **state)
{
	struct fixture *f = *state;
	struct conf *conf = small_conf(f->room.folder, 1, 10);
	const struct message_context context = { .conf = conf };
	struct alert_record record = { .time = 1767225600, .event = TESTED };
	struct watch watch;
	char expected[2 * 8 * (ALERT_ID + 1)] = "";

	conf->webhooks = f->room.webhooks;
	conf->webhook_count = 1;
	assert_true(watch_open(&watch, conf, true, false));
	for (size_t i = 0, length = 0; i < 8; i++) {
		teller_take(&watch.teller, &record, &context);
		assert_true(teller_send(&watch.teller, record.time));
		length += (size_t)snprintf(expected + length, sizeof expected - length, "%s ",
					   record.message);
	}
	postbox_step(watch.postbox, when_monotonic());
	postroom_until_left(&f->room, 0, PATIENCE);
	watch_close(&watch);
	char *log = alert_log(&f->room), *order = postroom_ids(&f->room, 0);

	assert_int_equal(times(log, "\"event\":\"delivered\""), 8);
	assert_string_equal(order, expected);
	free(order);
	free(log);
	small_conf_free(conf);
}

#define test(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		test(a_reload_loses_no_result),
		test(a_death_loses_no_result),
		test(the_end_of_the_watch_loses_no_result),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
