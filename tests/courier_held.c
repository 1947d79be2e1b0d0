/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Messages without a file, handed over through the pipe; and files without a
 * webhook.
 */
#include "tests/cm.h"

#include <stdio.h>
#include <sys/stat.h>
#include <unistd.h>

#include "conf/memory.h"
#include "daemon/outbox.h"
#include "daemon/when.h"
#include "tests/postroom.h"

static void hand(struct postroom *room, double created, const char *id)
{
	char *text = postroom_text(created, "phone", id, "", NULL);

	postroom_hand(room, PARCEL_MESSAGE, text);
	free(text);
}

static void expect_order(struct postroom *room, const char *expected)
{
	char *ids = postroom_ids(room, 0);

	assert_string_equal(ids, expected);
	free(ids);
}

static void a_message_without_a_folder_is_delivered(void **state)
{
	struct postroom *room = *state;

	postroom_receiver(room, "phone", NULL);
	assert_int_equal(rmdir(room->outbox), 0);
	postroom_start(room);
	hand(room, 1, "msg_b");
	postroom_expect(room, COURIER_TOOK, 200, "msg_b");
	hand(room, 2, "msg_c");
	postroom_expect(room, COURIER_TOOK, 200, "msg_c");
	expect_order(room, "msg_b msg_c ");
}

/* One order for both kinds: by time. */
static void files_and_held_ones_are_in_one_order(void **state)
{
	struct postroom *room = *state;
	static const char *const options[] = { "--answers", "503:2", NULL };

	postroom_receiver(room, "phone", options);
	postroom_put(room, 0, "phone", "msg_a");
	postroom_put(room, 4, "phone", "msg_e");
	postroom_start(room);
	postroom_expect(room, COURIER_NO_ANSWER, 503, "msg_a");
	hand(room, 3, "msg_d");
	hand(room, 1, "msg_b");
	postroom_put(room, 2, "phone", "msg_c");
	postroom_wake(room);
	postroom_until_received(room, 0, 6, 10);
	expect_order(room, "msg_a msg_a msg_b msg_c msg_d msg_e ");
}

/* The watcher gets the file written while the message is with the courier. */
static void a_file_that_appears_is_the_same_message(void **state)
{
	struct postroom *room = *state;
	static const char *const options[] = { "--answers", "503:1", NULL };

	postroom_receiver(room, "phone", options);
	postroom_start(room);
	hand(room, 0, "msg_a");
	postroom_expect(room, COURIER_NO_ANSWER, 503, "msg_a");
	postroom_put(room, 0, "phone", "msg_a"); /* before it is delivered */
	postroom_wake(room);
	postroom_expect(room, COURIER_ANSWERS, 200, "msg_a");
	postroom_expect(room, COURIER_TOOK, 200, "msg_a");
	postroom_until_left(room, 0, 5);
	hand(room, 1, "msg_b");
	postroom_expect(room, COURIER_TOOK, 200, "msg_b");
	postroom_put(room, 1, "phone", "msg_b"); /* after */
	postroom_wake(room);
	postroom_until_left(room, 0, 5);
	hand(room, 1, "msg_b"); /* and once more by hand */
	hand(room, 2, "msg_c");
	postroom_expect(room, COURIER_TOOK, 200, "msg_c");
	expect_order(room, "msg_a msg_a msg_b msg_c ");
}

/* A folder of that name cannot be unlinked: like a file on a disk that became
 * read-only. */
static void what_cannot_be_removed_is_not_sent_again(void **state)
{
	struct postroom *room = *state;
	char *name, *text = postroom_text(0, "phone", "msg_a", "", &name);
	char *path = must_print("%s/%s", room->outbox, name);

	postroom_receiver(room, "phone", NULL);
	postroom_start(room);
	postroom_hand(room, PARCEL_MESSAGE, text);
	postroom_expect(room, COURIER_TOOK, 200, "msg_a");
	assert_int_equal(mkdir(path, 0700), 0);
	for (int i = 0; i < 3; i++) {
		char id[16];

		snprintf(id, sizeof id, "msg_%d", i);
		postroom_put(room, 1 + i, "phone", id);
		postroom_wake(room);
		postroom_expect(room, COURIER_TOOK, 200, id);
	}
	expect_order(room, "msg_a msg_0 msg_1 msg_2 ");
	char *said = postroom_said(room);
	const char *once = strstr(said, "cannot be taken out of the outbox");

	assert_non_null(once);
	assert_null(strstr(once + 1, "cannot be taken out"));
	free(said);
	free(path);
	free(text);
	free(name);
}

static void nonsense_in_a_parcel_is_dropped(void **state)
{
	struct postroom *room = *state;

	postroom_receiver(room, "phone", NULL);
	postroom_start(room);
	postroom_hand(room, PARCEL_MESSAGE, "no JSON");
	char *text = postroom_text(0, "nobody", "msg_x", "", NULL);

	postroom_hand(room, PARCEL_MESSAGE, text);
	free(text);
	hand(room, 1, "msg_a");
	postroom_expect(room, COURIER_TOOK, 200, "msg_a");
	expect_order(room, "msg_a ");
}

/* ---- a webhook that is not configured (any more) ------------------------------ */

static char *put_orphan(struct postroom *room, double age, const char *id)
{
	char type[] = "text/plain", body[] = "x";
	struct outgoing message = { .webhook = "removed", .created = when_wall() - age,
				    .content_type = type, .body = body };

	snprintf(message.id, sizeof message.id, "%s", id);
	snprintf(message.alert, sizeof message.alert, "alert_1");
	assert_true(outbox_add(room->outbox, &message));
	char *name = outbox_name(&message);
	char *path = must_print("%s/%s", room->outbox, name);

	free(name);
	return path;
}

/* Kept for a day, in case the removal was a slip; said once. */
static void a_removed_webhooks_messages_are_kept_a_day(void **state)
{
	struct postroom *room = *state;
	char *young = put_orphan(room, 23 * 3600, "msg_young");
	char *old = put_orphan(room, 25 * 3600, "msg_old");

	postroom_receiver(room, "phone", NULL);
	postroom_start(room);
	postroom_until_left(room, 1, 5);
	assert_int_equal(access(young, F_OK), 0);
	assert_int_equal(access(old, F_OK), -1);
	postroom_until_said(room, "msg_old-removed.json is removed: a day old", 5);
	postroom_put(room, 0, "phone", "msg_a");
	postroom_wake(room);
	postroom_expect(room, COURIER_TOOK, 200, "msg_a");
	char *said = postroom_said(room);
	const char *once = strstr(said, "for webhooks that are not configured: 1;");

	assert_non_null(once);
	assert_null(strstr(once + 1, "for webhooks that are not configured"));
	free(said);
	free(young);
	free(old);
}

#define test(name) cmocka_unit_test_setup_teardown(name, postroom_set_up, postroom_tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		test(a_message_without_a_folder_is_delivered),
		test(files_and_held_ones_are_in_one_order),
		test(a_file_that_appears_is_the_same_message),
		test(what_cannot_be_removed_is_not_sent_again),
		test(nonsense_in_a_parcel_is_dropped),
		test(a_removed_webhooks_messages_are_kept_a_day),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
