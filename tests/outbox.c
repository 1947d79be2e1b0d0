/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/cm.h"

#include <fcntl.h>
#include <stdio.h>
#include <unistd.h>

#include "daemon/alertfile.h"
#include "daemon/outbox.h"
#include "daemon/rest.h"

static char folder[] = "outbox-test.XXXXXX";

static void add(double created, unsigned long number, const char *id, const char *webhook,
		const char *body)
{
	char type[] = "text/plain", text[64];
	struct outgoing message = { .created = created, .number = number, .content_type = type, .body = text };

	snprintf(message.id, sizeof message.id, "%s", id);
	snprintf(message.alert, sizeof message.alert, "alert_1");
	snprintf(message.webhook, sizeof message.webhook, "%s", webhook);
	snprintf(text, sizeof text, "%s", body);
	assert_true(outbox_add(folder, &message));
}

static void oldest_first_and_whole(void **state)
{
	(void)state;
	size_t count, length;

	add(1767225601, 7, "msg_b", "phone of mine-2", "later");
	add(1767225600.25, 8, "msg_a", "phone", "zuerst ä");
	char **names = outbox_list(folder, &count);
	struct outgoing message;

	assert_int_equal(count, 2);
	assert_true(outbox_read(folder, names[0], &message));
	assert_string_equal(message.id, "msg_a");
	assert_string_equal(message.webhook, "phone");
	assert_string_equal(message.body, "zuerst ä");
	assert_near(message.created, 1767225600.25, 0);
	outgoing_clear(&message);
	const char *webhook = outbox_webhook(names[1], &length);

	assert_int_equal(length, strlen("phone of mine-2"));
	assert_memory_equal(webhook, "phone of mine-2", length);
	for (size_t i = 0; i < count; i++)
		outbox_remove(folder, names[i]);
	outbox_list_free(names, count);
	names = outbox_list(folder, &count);
	assert_int_equal(count, 0);
	outbox_list_free(names, count);
}

/* What happens in one instant (one reading can clear one alert and raise
 * another) is told in the order in which it was added. */
static void one_instant_in_the_order_of_adding(void **state)
{
	(void)state;
	static const char *const ids[] = { "msg_z", "msg_a", "msg_m" };
	static const unsigned long numbers[] = { 9, 10, 100 };
	size_t count, length;

	for (size_t i = 0; i < 3; i++)
		add(1767225600.0004 + 1e-5 * (double)i, numbers[i], ids[i], "a-phone", "");
	char **names = outbox_list(folder, &count);

	assert_int_equal(count, 3);
	for (size_t i = 0; i < count; i++) {
		const char *webhook = outbox_webhook(names[i], &length);
		struct outgoing message;

		assert_int_equal(length, strlen("a-phone"));
		assert_memory_equal(webhook, "a-phone", length);
		assert_true(outbox_read(folder, names[i], &message));
		assert_string_equal(message.id, ids[i]);
		outgoing_clear(&message);
		outbox_remove(folder, names[i]);
	}
	outbox_list_free(names, count);
}

static void write_file(const char *name, const char *text)
{
	char path[128];

	snprintf(path, sizeof path, "%s/%s", folder, name);
	int fd = open(path, O_WRONLY | O_CREAT | O_TRUNC, 0600);

	assert_int_equal(write(fd, text, strlen(text)), (ssize_t)strlen(text));
	close(fd);
}

static void half_written_and_foreign_files(void **state)
{
	(void)state;
	size_t count, length;
	struct outgoing message;

	write_file("0001767225600-msg_a-phone.json.new", "{\"id\":\"ms");
	write_file("0001767225600-msg_c-phone.json", "{\"id\":\"ms");
	char **names = outbox_list(folder, &count);

	assert_int_equal(count, 1); /* what is not renamed in is not there */
	assert_false(outbox_read(folder, names[0], &message));
	outbox_list_free(names, count);
	assert_null(outbox_webhook("readme.json", &length));
	assert_null(outbox_webhook("1-2-.json", &length));
	outbox_remove(folder, "0001767225600-msg_a-phone.json.new");
	outbox_remove(folder, "0001767225600-msg_c-phone.json");
}

/* Whatever a message has comes back, and its name is told before it is there. */
static void everything_comes_back(void **state)
{
	(void)state;
	char type[] = "text/plain", body[] = "b", headers[] = "X-A: ä\n", title[] = "T3 too dry";
	char old_title[] = "T3 damp";
	struct outgoing_part parts[] = { { "alert_1", false }, { "alert_2", true } };
	struct outgoing_replaced replaced[] = { { "msg_old", "alert_1", 1767225500.5, old_title } };
	struct outgoing message = {
		.id = "msg_a", .alert = "alert_1", .webhook = "a-phone", .created = 1767225600.5,
		.number = 12, .content_type = type, .body = body, .headers = headers,
		.title = title, .parts = parts, .part_count = 2, .replaced = replaced,
		.replaced_count = 1,
	}, back;
	char *name = outbox_name(&message);
	size_t length;

	assert_string_equal(name, "1767225600500.000012-msg_a-a-phone.json");
	assert_memory_equal(outbox_id(name, &length), "msg_a", 5);
	assert_int_equal(length, 5);
	assert_near(outbox_created(name), 1767225600.5, 1e-3);
	assert_true(outbox_add(folder, &message));
	assert_true(outbox_read(folder, name, &back));
	assert_string_equal(back.headers, headers);
	assert_string_equal(back.title, title);
	assert_int_equal(back.number, 12);
	assert_int_equal(back.part_count, 2);
	assert_string_equal(back.parts[1].alert, "alert_2");
	assert_false(back.parts[0].cleared);
	assert_true(back.parts[1].cleared);
	assert_int_equal(back.replaced_count, 1);
	assert_string_equal(back.replaced[0].id, "msg_old");
	assert_string_equal(back.replaced[0].alert, "alert_1");
	assert_string_equal(back.replaced[0].title, old_title);
	assert_near(back.replaced[0].created, 1767225500.5, 0);
	char *again = outbox_name(&back);

	assert_string_equal(again, name);
	free(again);
	outgoing_clear(&back);
	assert_true(outbox_remove(folder, name));
	assert_true(outbox_remove(folder, name)); /* it is not there */
	free(name);
}

/* As version 0.1.0 wrote it: no headers, no title, no parts. */
static void a_file_of_the_older_version(void **state)
{
	(void)state;
	struct outgoing message;

	write_file("1767225600000.000001-msg_a-phone.json",
		   "{\"id\":\"msg_a\",\"alert\":\"alert_1\",\"webhook\":\"phone\","
		   "\"created\":1767225600.0,\"content_type\":\"text/plain\",\"body\":\"x\"}");
	assert_true(outbox_read(folder, "1767225600000.000001-msg_a-phone.json", &message));
	assert_string_equal(message.body, "x");
	assert_null(message.headers);
	assert_null(message.title);
	assert_int_equal(message.part_count, 0);
	assert_int_equal(message.replaced_count, 0);
	outgoing_clear(&message);
	outbox_remove(folder, "1767225600000.000001-msg_a-phone.json");
}

/* A number that is damaged is no time of day: none of it is believed. */
static void a_time_no_clock_shows(void **state)
{
	(void)state;
	static const char *const created[] = { "1e18", "-1",
					       "1,\"replaces\":[{\"id\":\"a\",\"alert\":\"\","
					       "\"created\":1e18,\"title\":\"\"}]" };
	struct outgoing message;

	for (size_t i = 0; i < sizeof created / sizeof *created; i++) {
		char text[256];
		int size = snprintf(text, sizeof text,
				    "{\"id\":\"msg_a\",\"alert\":\"\",\"webhook\":\"phone\","
				    "\"content_type\":\"text/plain\",\"body\":\"x\",\"created\":%s}",
				    created[i]);

		assert_false(outgoing_from_text(text, (size_t)size, &message));
		assert_null(message.body);
	}
}

/* A name may be anybody's. */
static void what_is_no_time_is_long_ago(void **state)
{
	static const char *const names[] = {
		"inf-a-b.json", "nan-a-b.json", "1e999-a-b.json", "0x1p4-a-b.json", "a-b.json", "",
		"9999999999999999999999999999999999999999-a-b.json",
	};

	(void)state;
	assert_near(outbox_created("1767571200123.000007-msg_a-phone.json"), 1767571200.123, 1e-3);
	for (size_t i = 0; i < sizeof names / sizeof *names; i++)
		assert_near(outbox_created(names[i]), 0, 0);
}

/* Chance makes it 4/5 to 6/5, and never more than 5 min. */
static void rests_grow_and_stop_growing(void **state)
{
	(void)state;
	const double expected[] = { 0, 2, 4, 8, 16, 32, 64, 128, 250, 250, 250 };

	for (unsigned i = 0; i < sizeof expected / sizeof *expected; i++) {
		assert_near(rest_after(i, 0.5), expected[i], 1e-9);
		assert_near(rest_after(i, 0), 0.8 * expected[i], 1e-9);
		assert_near(rest_after(i, 1), 1.2 * expected[i], 1e-9);
	}
	assert_near(rest_after(4000000000u, 1), 300, 1e-9);
}

/* A power cut tore the last line: it stays, and the next record is whole. */
static void a_torn_log_line_is_closed(void **state)
{
	(void)state;
	char path[64], text[512] = { 0 };
	struct alert_record record = { .time = 1767225600, .event = TESTED }, back;

	snprintf(path, sizeof path, "%s/alerts.jsonl", folder);
	write_file("alerts.jsonl", "{\"time\":17672");
	int fd = alertfile_open(path);

	assert_true(fd >= 0);
	assert_true(alertfile_append(fd, &record, 1));
	assert_true(pread(fd, text, sizeof text - 1, 0) > 0);
	close(fd);
	char *second = strchr(text, '\n') + 1;

	assert_memory_equal(text, "{\"time\":17672\n", 14);
	*strchr(second, '\n') = '\0';
	assert_true(alert_from_line(second, &back));
	assert_int_equal(back.event, TESTED);
	unlink(path);
}

/* A power cut may leave zeros in a file's middle: what stands behind them is
 * found, or it would be logged twice. */
static void behind_zeros_a_record_is_found(void **state)
{
	(void)state;
	static const char torn[8] = "{\"time\"";
	char path[64];
	struct alert_record record = { .time = 1767225600, .event = TESTED };
	struct alert_record other = { .time = 1767225601, .event = TESTED };

	snprintf(path, sizeof path, "%s/alerts.jsonl", folder);
	int fd = open(path, O_RDWR | O_CREAT | O_TRUNC, 0600);

	assert_int_equal(write(fd, torn, sizeof torn), sizeof torn);
	assert_int_equal(ftruncate(fd, 4096), 0);
	close(fd);
	fd = alertfile_open(path);
	assert_true(alertfile_append(fd, &record, 1));
	assert_true(alertfile_holds(fd, &record));
	assert_false(alertfile_holds(fd, &other));
	close(fd);
	unlink(path);
}

static int make_folder(void **state)
{
	(void)state;
	return mkdtemp(folder) ? 0 : -1;
}

static int remove_folder(void **state)
{
	(void)state;
	return rmdir(folder);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(oldest_first_and_whole),
		cmocka_unit_test(one_instant_in_the_order_of_adding),
		cmocka_unit_test(a_time_no_clock_shows),
		cmocka_unit_test(half_written_and_foreign_files),
		cmocka_unit_test(everything_comes_back),
		cmocka_unit_test(a_file_of_the_older_version),
		cmocka_unit_test(rests_grow_and_stop_growing),
		cmocka_unit_test(what_is_no_time_is_long_ago),
		cmocka_unit_test(a_torn_log_line_is_closed),
		cmocka_unit_test(behind_zeros_a_record_is_found),
	};

	return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
