/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What came and went unsent goes as one message, behind what still stands.
 */
#include "tests/cm.h"

#include <stdio.h>
#include <unistd.h>

#include "conf/memory.h"
#include "daemon/outbox.h"
#include "daemon/summary.h"
#include "daemon/turn.h"
#include "tests/postroom.h"

/* ---- who is over ---------------------------------------------------------- */

/* The ids that wait for "phone", those marked over in brackets. */
static void expect_marks(struct postroom *room, const char *expected)
{
	struct waitings waitings = { .conf = &room->conf, .folder = room->outbox };
	char marks[512] = "";
	size_t length = 0, id_length;

	waitings_look(&waitings);
	turn_mark(&waitings);
	for (size_t i = 0; i < waitings.count; i++) {
		const char *id = outbox_id(waitings.list[i].name, &id_length);

		length += (size_t)snprintf(marks + length, sizeof marks - length,
					   waitings.list[i].over ? "(%.*s) " : "%.*s ",
					   (int)id_length, id);
	}
	assert_string_equal(marks, expected);
	waitings_clear(&waitings);
}

static void over_is_what_was_raised_and_has_cleared(void **state)
{
	struct postroom *room = *state;

	postroom_webhook(room, "phone", "http://localhost/");
	postroom_tell(room, 0, "phone", "r1", "a1");
	postroom_tell(room, 1, "phone", "r2", "a2");
	postroom_tell(room, 2, "phone", "m1", "a1");     /* reminded */
	postroom_tell(room, 3, "phone", "c3", "-a3");    /* raised long ago, and told then */
	postroom_tell(room, 4, "phone", "c1", "-a1");
	postroom_put(room, 5, "phone", "test");          /* tells of no alert */
	expect_marks(room, "(r1) r2 (m1) c3 (c1) test ");
}

static void all_parts_have_to_be_over(void **state)
{
	struct postroom *room = *state;

	postroom_webhook(room, "phone", "http://localhost/");
	postroom_tell(room, 0, "phone", "r12", "a1 a2");
	postroom_tell(room, 1, "phone", "r3", "a3");
	postroom_tell(room, 2, "phone", "c13", "-a1 -a3");
	expect_marks(room, "r12 (r3) (c13) ");
	postroom_tell(room, 3, "phone", "c2", "-a2");
	expect_marks(room, "(r12) (r3) (c13) (c2) ");
}

static void webhooks_have_nothing_to_do_with_each_other(void **state)
{
	struct postroom *room = *state;

	postroom_webhook(room, "phone", "http://localhost/");
	postroom_webhook(room, "desk", "http://localhost/");
	postroom_tell(room, 0, "phone", "r1", "a1");
	postroom_tell(room, 1, "desk", "c1", "-a1");
	expect_marks(room, "r1 c1 ");
}

/* ---- what it says ----------------------------------------------------------- */

static struct outgoing summary_of(struct postroom *room)
{
	struct waitings waitings = { .conf = &room->conf, .folder = room->outbox };
	struct outgoing summary;

	waitings_look(&waitings);
	turn_mark(&waitings);
	assert_true(summary_write(&waitings, 0, 1767229200, &summary));
	waitings_clear(&waitings);
	return summary;
}

static void its_words(void **state)
{
	struct postroom *room = *state;

	setenv("TZ", "UTC", 1);
	postroom_webhook(room, "phone", "http://localhost/");
	postroom_tell(room, 0, "phone", "msg_r1", "a1");
	postroom_tell(room, 60, "phone", "msg_r23", "a2 a3");
	postroom_tell(room, 120, "phone", "msg_c1", "-a1");
	postroom_tell(room, 180, "phone", "msg_c23", "-a2 -a3");
	struct outgoing summary = summary_of(room);
	char *expected = must_print(
		"{\"type\":\"alert.summary\",\"version\":1,\"timestamp\":\"2026-01-01T01:00:00Z\","
		"\"data\":{\"messages\":[\"msg_r1\",\"msg_r23\",\"msg_c1\",\"msg_c23\"],"
		"\"alerts\":[\"a1\",\"a2\",\"a3\"],\"title\":\"Told late: 3 alerts, over by now\","
		"\"text\":\"%s\"}}",
		"These could not be sent in time, and all are over by now:\\n"
		"2026-01-01 00:00  Title of msg_r1\\n2026-01-01 00:01  Title of msg_r23\\n"
		"2026-01-01 00:02  Title of msg_c1\\n2026-01-01 00:03  Title of msg_c23\\n");

	assert_string_equal(summary.body, expected);
	assert_string_equal(summary.title, "Told late: 3 alerts, over by now");
	assert_string_equal(summary.webhook, "phone");
	assert_memory_equal(summary.id, "msg_", 4);
	assert_string_equal(summary.alert, "a1");
	free(expected);
	outgoing_clear(&summary);
}

/* Thousands fit a phone, and every id is there. */
static void many_of_them(void **state)
{
	struct postroom *room = *state;
	char id[24], alerts[24];

	postroom_webhook(room, "phone", "http://localhost/");
	for (int i = 0; i < 400; i++) {
		snprintf(id, sizeof id, "msg_%08d", i);
		snprintf(alerts, sizeof alerts, "%sa%03d", i < 200 ? "" : "-", i % 200);
		postroom_tell(room, i, "phone", id, alerts);
	}
	struct outgoing summary = summary_of(room);
	json_t *body = json_loads(summary.body, 0, NULL), *data = json_object_get(body, "data");
	const char *text = json_string_value(json_object_get(data, "text"));

	assert_int_equal(json_array_size(json_object_get(data, "messages")), 400);
	assert_int_equal(json_array_size(json_object_get(data, "alerts")), 200);
	assert_non_null(strstr(text, "(350 earlier ones are in the alert log)"));
	assert_null(strstr(text, "msg_00000349"));
	assert_non_null(strstr(text, "msg_00000350"));
	assert_non_null(strstr(text, "msg_00000399"));
	assert_true(strlen(text) < 4096);
	json_decref(body);
	outgoing_clear(&summary);
}

/* ---- on its way --------------------------------------------------------------- */

/* The ids of the first summary that was received, each followed by a blank. */
static char *replaced_by(struct postroom *room, size_t at)
{
	json_t *list = postroom_requests(room, 0), *id;
	const char *text = json_string_value(json_object_get(json_array_get(list, at), "body"));
	json_t *body = text ? json_loads(text, 0, NULL) : NULL;
	json_t *messages = json_object_get(json_object_get(body, "data"), "messages");
	char *ids = must_copy("");
	size_t index;

	assert_string_equal(json_string_value(json_object_get(body, "type")), "alert.summary");
	json_array_foreach(messages, index, id) {
		char *longer = must_print("%s%s ", ids, json_string_value(id));

		free(ids);
		ids = longer;
	}
	json_decref(body);
	json_decref(list);
	return ids;
}

static void expect_summary(struct postroom *room, size_t at, const char *expected)
{
	char *ids = replaced_by(room, at);

	assert_string_equal(ids, expected);
	free(ids);
}

static void what_stands_comes_first(void **state)
{
	struct postroom *room = *state;
	static const char *const options[] = { "--answers", "reset", NULL };

	postroom_receiver(room, "phone", options);
	postroom_tell(room, 0, "phone", "msg_r1", "a1");
	postroom_tell(room, 1, "phone", "msg_r2", "a2");
	postroom_tell(room, 2, "phone", "msg_c1", "-a1");
	postroom_tell(room, 3, "phone", "msg_r3", "a3");
	postroom_start(room);
	postroom_expect(room, COURIER_NO_ANSWER, 0, "msg_r2");
	postroom_until_left(room, 0, 20);
	char *ids = postroom_ids(room, 0);

	assert_memory_equal(ids, "msg_r2 msg_r2 msg_r3 msg_", 25);
	free(ids);
	expect_summary(room, 3, "msg_r1 msg_c1 ");
	postroom_expect(room, COURIER_ANSWERS, 200, "msg_r2");
	postroom_expect(room, COURIER_TOOK, 200, "msg_r2");
	postroom_expect(room, COURIER_TOOK, 200, "msg_r3");
	struct courier_result took = postroom_word(room);

	assert_string_equal(took.message, "msg_r1");
	assert_string_equal(took.alert, "a1");
	postroom_expect(room, COURIER_TOOK, 200, "msg_c1");
	took = postroom_word(room);
	assert_memory_equal(took.message, "msg_", 4); /* the summary itself */
	assert_string_equal(took.alert, "a1");
}

/* Raised with another that stands: told; its clearing alone is no summary. */
static void one_is_no_summary(void **state)
{
	struct postroom *room = *state;

	postroom_receiver(room, "phone", NULL);
	postroom_tell(room, 0, "phone", "msg_r12", "a1 a2");
	postroom_tell(room, 1, "phone", "msg_c1", "-a1");
	postroom_tell(room, 2, "phone", "msg_r3", "a3");
	postroom_start(room);
	postroom_until_left(room, 0, 10);
	char *ids = postroom_ids(room, 0);

	assert_string_equal(ids, "msg_r12 msg_c1 msg_r3 ");
	free(ids);
}

/* Nothing stands: the summary itself is what is tried, and what comes and goes
 * meanwhile joins it.  One arrives. */
static void a_summary_that_waits_takes_in_more(void **state)
{
	struct postroom *room = *state;
	static const char *const options[] = { "--answers", "reset,503:3", NULL };

	postroom_receiver(room, "phone", options);
	postroom_tell(room, 0, "phone", "msg_r1", "a1");
	postroom_tell(room, 1, "phone", "msg_c1", "-a1");
	postroom_start(room);
	postroom_expect(room, COURIER_NO_ANSWER, 0, "");
	postroom_until_left(room, 1, 5);
	postroom_tell(room, 2, "phone", "msg_r2", "a2");
	postroom_tell(room, 3, "phone", "msg_c2", "-a2");
	postroom_wake(room);
	postroom_until_left(room, 0, 20);
	postroom_until_received(room, 0, 3, 5);
	expect_summary(room, 0, "msg_r1 msg_c1 ");
	expect_summary(room, 2, "msg_r1 msg_c1 msg_r2 msg_c2 ");
	postroom_expect(room, COURIER_ANSWERS, 200, "");
	postroom_expect(room, COURIER_TOOK, 200, "msg_r1");
	postroom_expect(room, COURIER_TOOK, 200, "msg_c1");
	postroom_expect(room, COURIER_TOOK, 200, "msg_r2");
	postroom_expect(room, COURIER_TOOK, 200, "msg_c2");
	postroom_expect(room, COURIER_TOOK, 200, "");
	json_t *list = postroom_requests(room, 0);

	assert_int_equal(json_array_size(list), 3);
	json_decref(list);
}

/* A crash after the summary was written leaves what it stands for: that goes
 * away and is never sent, be it there at once, later, or without a file. */
static void what_a_summary_stands_for_is_not_sent(void **state)
{
	struct postroom *room = *state;
	static const char *const options[] = { "--answers", "reset,503:2", NULL };

	postroom_receiver(room, "phone", options);
	postroom_tell(room, 0, "phone", "msg_r1", "a1");
	postroom_tell(room, 1, "phone", "msg_c1", "-a1");
	struct outgoing summary = summary_of(room);

	assert_true(outbox_add(room->outbox, &summary));
	outgoing_clear(&summary);
	postroom_start(room);
	postroom_expect(room, COURIER_NO_ANSWER, 0, "");
	postroom_until_left(room, 1, 5);
	postroom_tell(room, 0, "phone", "msg_r1", "a1");
	postroom_wake(room);
	char *text = postroom_text(1, "phone", "msg_c1", "-a1", NULL);

	postroom_hand(room, PARCEL_MESSAGE, text);
	free(text);
	postroom_until_left(room, 1, 5);
	postroom_until_left(room, 0, 20);
	postroom_until_received(room, 0, 3, 5);
	for (size_t i = 0; i < 3; i++)
		expect_summary(room, i, "msg_r1 msg_c1 ");
	json_t *list = postroom_requests(room, 0);

	assert_int_equal(json_array_size(list), 3);
	json_decref(list);
}

/* The folder is gone: nothing can be written, so all goes as it is. */
static void without_a_folder_all_go_one_by_one(void **state)
{
	struct postroom *room = *state;
	static const char *const options[] = { "--answers", "503:1", NULL };

	postroom_receiver(room, "phone", options);
	assert_int_equal(rmdir(room->outbox), 0);
	postroom_start(room);
	for (int i = 0; i < 3; i++) {
		char id[16], *text;

		snprintf(id, sizeof id, "msg_%d", i);
		text = postroom_text(i, "phone", id, i == 1 ? "-a1" : "a1", NULL);
		postroom_hand(room, PARCEL_MESSAGE, text);
		free(text);
	}
	postroom_until_received(room, 0, 4, 10);
	char *ids = postroom_ids(room, 0);

	assert_string_equal(ids, "msg_0 msg_0 msg_1 msg_2 ");
	free(ids);
	postroom_until_said(room, "a summary cannot be written", 5);
}

#define test(name) cmocka_unit_test_setup_teardown(name, postroom_set_up, postroom_tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		test(over_is_what_was_raised_and_has_cleared),
		test(all_parts_have_to_be_over),
		test(webhooks_have_nothing_to_do_with_each_other),
		test(its_words),
		test(many_of_them),
		test(what_stands_comes_first),
		test(one_is_no_summary),
		test(a_summary_that_waits_takes_in_more),
		test(what_a_summary_stands_for_is_not_sent),
		test(without_a_folder_all_go_one_by_one),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
