/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Following the alert log while it is written.
 */
#include "tests/cm.h"

#include <stdio.h>
#include <unistd.h>

#include "conf/logtail.h"
#include "conf/memory.h"

static char folder[] = "/tmp/warmside-logtail-XXXXXX";
static char *path;

static void add(const char *text)
{
	FILE *file = fopen(path, "a");

	assert_non_null(file);
	fputs(text, file);
	assert_int_equal(fclose(file), 0);
}

static int begin(void **state)
{
	(void)state;
	memcpy(folder + sizeof folder - 7, "XXXXXX", 6);
	if (!mkdtemp(folder))
		return -1;
	path = must_print("%s/alerts.jsonl", folder);
	return 0;
}

static int end(void **state)
{
	(void)state;
	unlink(path);
	free(path);
	return rmdir(folder);
}

static void only_what_is_added_and_whole(void **state)
{
	(void)state;
	struct logtail tail;
	struct alert_record record;

	add("{\"time\":1,\"id\":\"old\",\"event\":\"raised\"}\n");
	assert_true(logtail_begin(&tail, path));
	assert_false(logtail_next(&tail, &record));
	add("{\"time\":2,\"id\":\"a\",\"event\":\"raised\"}\n{\"time\":3,\"id\":\"b\",");
	assert_true(logtail_next(&tail, &record));
	assert_string_equal(record.id, "a");
	assert_false(logtail_next(&tail, &record));
	add("\"event\":\"cleared\"}\nno record\n{\"time\":4,\"id\":\"c\",\"event\":\"test\"}\n");
	assert_true(logtail_next(&tail, &record));
	assert_string_equal(record.id, "b");
	assert_true(logtail_next(&tail, &record));
	assert_string_equal(record.id, "c");
	assert_false(logtail_next(&tail, &record));
	logtail_end(&tail);
}

static void a_log_that_begins_later_is_read_from_its_begin(void **state)
{
	(void)state;
	struct logtail tail;
	struct alert_record record;
	const size_t count = 100; /* more than is read at a time */

	assert_true(logtail_begin(&tail, path));
	assert_false(logtail_next(&tail, &record));
	for (size_t i = 0; i < count; i++) {
		char *line = must_print("{\"time\":%zu,\"id\":\"%080d\",\"event\":\"raised\"}\n"
					"{\"time\":%zu,\"id\":\"i%zu\",\"event\":\"raised\"}\n", i, 7,
					i, i);

		add(line); /* the first id is too long: no record */
		free(line);
	}
	for (size_t i = 0; i < count; i++) {
		assert_true(logtail_next(&tail, &record));
		assert_near(record.time, (double)i, 0);
	}
	assert_false(logtail_next(&tail, &record));
	logtail_end(&tail);
}

static void what_cannot_be_read_is_said(void **state)
{
	(void)state;
	struct logtail tail;
	char *below = must_print("%s/alerts.jsonl/below", folder);

	add("");
	assert_false(logtail_begin(&tail, below));
	logtail_end(&tail);
	free(below);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(only_what_is_added_and_whole, begin, end),
		cmocka_unit_test_setup_teardown(a_log_that_begins_later_is_read_from_its_begin, begin,
						end),
		cmocka_unit_test_setup_teardown(what_cannot_be_read_is_said, begin, end),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
