/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A real feed with a real archivist, and files that kill it, are damaged or
 * cannot be written.
 */
#include "tests/cm.h"

#include <fcntl.h>
#include <signal.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "tests/feed_case.h"
#include "tests/undo_look.h"

/* reference: bytes 40 and 32 of the head, measured to make librrd 1.7.2 die
 * by SIGFPE and SIGSEGV. */
static void damaged_heads_are_set_aside_and_others_go_on(void **state)
{
	(void)state;
	static const struct {
		off_t at;
		uint64_t word;
	} words[] = { { 40, 0 }, { 32, UINT64_MAX } };
	char *path = file_of("E1.rrd");

	add(0, 0, 10);
	add(1, 0, 10);
	wait_empty();
	for (int i = 0; i < 2; i++) {
		int fd = open(path, O_RDWR);
		int from = 600 * (i + 1);

		assert_int_equal(pwrite(fd, &words[i].word, 8, words[i].at), 8);
		close(fd);
		add(0, from, from + 10);
		add(1, from, from + 10);
		wait_empty();
		assert_int_equal(told.damaged, i + 1);
		assert_int_equal(told.enclosure, 0);
		assert_non_null(strstr(told.path, "/archive/E1.rrd.damaged-"));
		assert_int_equal(access(told.path, F_OK), 0);
		expect_minutes(0, from, from + 10);
		expect_minutes(1, 0, 10);
		expect_minutes(1, from, from + 10);
	}
	assert_int_equal(told.failing, 0);
	free(path);
}

/* Waits until the file is being written, and crashes the archivist with it in
 * hand, as a head would that slips through the check.  It may be too fast. */
static void crash_amid(const char *archive)
{
	int status;

	while (!undo_holds_heads(archive))
		if (pump_empty(feed))
			return;
		else
			pump(feed, speed, 0);
	assert_true(feed_pid(feed) > 0);
	kill(feed_pid(feed), SIGSEGV);
	assert_int_equal(waitpid(feed_pid(feed), &status, 0), feed_pid(feed));
	assert_int_equal(WTERMSIG(status), SIGSEGV);
	feed_child_died(feed, status, pump_clock(speed));
	while (!pump(feed, speed, 10))
		; /* until the next one has put the head back and said hello */
}

static void a_file_that_kills_is_set_aside_and_others_go_on(void **state)
{
	enum { MANY = 4000 };

	(void)state;
	char *archive = file_of("");
	int next = 5, other = 5;

	add(0, 0, 5);
	add(1, 0, 5);
	wait_empty();
	/* Two crashes in a row do; one that comes too late does not count. */
	for (int i = 0; !told.damaged; i++) {
		assert_true(i < 40);
		if (i % 2 == 0) {
			add(0, next, next + MANY); /* so that it is in hand for long */
			add(1, other, other + 10);
			next += MANY;
			other += 10;
		}
		crash_amid(archive);
		if (i % 2)
			wait_empty();
	}
	assert_int_equal(told.damaged, 1);
	assert_int_equal(told.enclosure, 0);
	assert_int_equal(access(told.path, F_OK), 0);
	expect_minutes(1, 0, other);
	expect_minutes(0, next - MANY, next);
	free(archive);
}

static void a_folder_that_cannot_be_used_is_told_and_waited_for(void **state)
{
	(void)state;
	char *archive = file_of("");

	archive[strlen(archive) - 1] = '\0';
	assert_int_equal(rmdir(archive), 0);
	int fd = open(archive, O_CREAT | O_WRONLY, 0644);

	assert_true(fd >= 0);
	close(fd);
	add(0, 0, 10);
	assert_true(pump_until(feed, speed, PATIENCE, was_failing, NULL));
	assert_non_null(strstr(told.why, "archive"));
	assert_int_equal(unlink(archive), 0);
	assert_int_equal(mkdir(archive, 0755), 0);
	assert_true(pump_until(feed, speed, PATIENCE, was_working, NULL));
	assert_int_equal(told.failing, 1);
	wait_empty();
	expect_minutes(0, 0, 10);
	free(archive);
}

static void a_file_that_cannot_be_written_holds_up_no_other(void **state)
{
	(void)state;
	add(0, 0, 10);
	wait_empty();
	bar_file(0);
	add(0, 10, 20);
	assert_true(pump_until(feed, speed, PATIENCE, was_failing, NULL));
	assert_non_null(strstr(told.why, "E1.rrd"));
	size_t held = feed_backlog(feed);

	add(1, 0, 50);
	double end = pump_clock(1) + PATIENCE;

	while (feed_backlog(feed) > held && pump_clock(1) < end)
		pump(feed, speed, 10);
	assert_int_equal(feed_backlog(feed), held);
	expect_minutes(1, 0, 50);
	assert_int_equal(told.working, 0);
	unbar_file(0);
	wait_empty();
	assert_int_equal(told.failing, 1);
	assert_int_equal(told.working, 1);
	expect_minutes(0, 0, 20);
}

#define each(test) cmocka_unit_test_setup_teardown(test, feed_case_set_up, feed_case_tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		each(damaged_heads_are_set_aside_and_others_go_on),
		each(a_file_that_kills_is_set_aside_and_others_go_on),
		each(a_folder_that_cannot_be_used_is_told_and_waited_for),
		each(a_file_that_cannot_be_written_holds_up_no_other),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
