/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A feed that gathers: when its minutes go to the archivist, and that a kill
 * of whoever holds them loses none.  The clock is the test's own.
 */
#include "tests/cm.h"

#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "conf/memory.h"
#include "tests/feed_case.h"

static double now;
static char *path;

static int set_up(void **state)
{
	feed_case_set_up(state);
	conf->archive.write_every = 600;
	feed_reload(feed, conf);
	path = must_print("%s/gathered", folder);
	now = 1000;
	return 0;
}

static int tear_down(void **state)
{
	free(path);
	return feed_case_tear_down(state);
}

/* One turn at the present time; false when nothing is said for so many ms. */
static bool turn(int wait_ms)
{
	feed_step(feed, now);
	return pump_at(feed, now, wait_ms);
}

/* At the present time and little more: nothing that gathers becomes due by waiting. */
static void until_empty(void)
{
	for (int i = 0; feed_backlog(feed); i++) {
		assert_true(i < 100 * PATIENCE);
		if (!turn(10))
			now += 0.002;
	}
}

static void begin(void)
{
	double end;

	feed_gather(feed, path);
	for (int i = 0; !feed_archive_end(feed, &end); i++) {
		assert_true(i < 100 * PATIENCE);
		turn(10);
	}
	feed_step(feed, now); /* what was recovered begins to wait */
}

/* The minute is sent after so many s, and not before. */
static void expect_sent_after(double seconds, int minute)
{
	add(0, minute, minute + 1);
	double due = feed_step(feed, now);

	assert_near(due, now + seconds, 1e-6);
	now = due - 0.01;
	feed_step(feed, now);
	assert_false(feed_wants_write(feed));
	assert_true(feed_backlog(feed) > 0);
	now = due;
	until_empty();
	now += 1;
}

/* Soon after the start, for whoever looks; then ever later up to write_every. */
static void minutes_wait_longer_and_longer(void **state)
{
	static const double waits[] = { 1, 60, 120, 240, 480, 600, 600 };

	(void)state;
	begin();
	for (int i = 0; i < 7; i++)
		expect_sent_after(waits[i], i);
	expect_minutes(0, 0, 7);
}

static void much_does_not_wait(void **state)
{
	int minutes = FEED_CEILING / 4 / 136 + 10;

	(void)state;
	begin();
	expect_sent_after(1, 0);
	add(0, 1, minutes);
	until_empty();
	expect_minutes(0, 0, minutes);
}

static void an_end_in_order_sends_at_once(void **state)
{
	struct stat about;

	(void)state;
	begin();
	expect_sent_after(1, 0);
	add(0, 1, 30);
	feed_step(feed, now);
	assert_int_equal(stat(path, &about), 0);
	assert_true(about.st_size > 30 * 100);
	end_feed();
	expect_minutes(0, 0, 30);
	assert_int_equal(stat(path, &about), 0);
	assert_int_equal(about.st_size, 8); /* its mark alone */
}

/* An archivist that dies while minutes gather must not make them wait anew. */
static void a_dead_archivist_does_not_put_it_off(void **state)
{
	int status;

	(void)state;
	begin();
	expect_sent_after(1, 0);
	add(0, 1, 2);
	double due = feed_step(feed, now);
	pid_t pid = feed_pid(feed);

	kill(pid, SIGKILL);
	assert_int_equal(waitpid(pid, &status, 0), pid);
	now += 30;
	feed_child_died(feed, status, now);
	for (int i = 0; i < 50; i++)
		turn(1); /* the next one says hello */
	assert_true(feed_backlog(feed) > 0);
	now = due;
	until_empty();
	expect_minutes(0, 0, 2);
}

/* All is killed at once while minutes gather; `count` of two enclosures. */
static void be_killed_with(int count)
{
	int status;
	pid_t pid = fork();

	if (pid == 0) {
		begin();
		add(0, 0, 1);
		now += 2;
		until_empty();
		add(0, 1, count);
		add(1, 0, count);
		feed_step(feed, now);
		kill(feed_pid(feed), SIGKILL);
		raise(SIGKILL);
	}
	assert_int_equal(waitpid(pid, &status, 0), pid);
	assert_true(WIFSIGNALED(status) && WTERMSIG(status) == SIGKILL);
}

static void a_kill_loses_nothing(void **state)
{
	double end;

	(void)state;
	be_killed_with(20);
	feed_recover(feed, path);
	begin();
	assert_true(feed_archive_end(feed, &end));
	assert_near(end, (double)midnight + 20 * 60, 0);
	now += 2;
	until_empty();
	expect_minutes(0, 0, 20);
	expect_minutes(1, 0, 20);
}

/* The next one is killed too, before it has archived what it found. */
static void a_second_kill_loses_nothing(void **state)
{
	int status;
	pid_t pid;

	(void)state;
	be_killed_with(20);
	pid = fork();
	if (pid == 0) {
		feed_recover(feed, path);
		feed_gather(feed, path);
		add(0, 20, 25);
		feed_step(feed, now);
		raise(SIGKILL);
	}
	assert_int_equal(waitpid(pid, &status, 0), pid);
	feed_recover(feed, path);
	begin();
	now += 2;
	until_empty();
	expect_minutes(0, 0, 25);
	expect_minutes(1, 0, 20);
}

/* A replay after a kill: what was gathered is archived, and no file is left. */
static void who_does_not_gather_recovers_too(void **state)
{
	(void)state;
	be_killed_with(20);
	feed_recover(feed, path);
	add(0, 20, 25);
	wait_empty();
	expect_minutes(0, 0, 25);
	expect_minutes(1, 0, 20);
	assert_int_equal(access(path, F_OK), -1);
}

static void an_enclosure_that_is_gone_is_archived_still(void **state)
{
	(void)state;
	be_killed_with(20);
	conf->enclosure_count = 1;
	feed_reload(feed, conf);
	feed_recover(feed, path);
	begin();
	now += 2;
	until_empty();
	conf->enclosure_count = 2;
	expect_minutes(0, 0, 20);
	expect_minutes(1, 0, 20);
}

/* The folder is taken away and comes back: the file is whole again after the next minute. */
static void a_file_that_was_taken_away_is_written_anew(void **state)
{
	struct stat about;

	(void)state;
	begin();
	expect_sent_after(1, 0);
	add(0, 1, 10);
	feed_step(feed, now);
	assert_int_equal(unlink(path), 0);
	add(0, 10, 11);
	feed_step(feed, now);
	add(0, 11, 12);
	feed_step(feed, now);
	assert_int_equal(stat(path, &about), 0);
	assert_true(about.st_size > 11 * 100);
}

/* The folder is moved away, say, and made anew: the moved file is nobody's any more. */
static void a_file_that_was_moved_is_written_anew(void **state)
{
	char *moved = must_print("%s.moved", path);
	struct stat about;

	(void)state;
	begin();
	expect_sent_after(1, 0);
	add(0, 1, 10);
	feed_step(feed, now);
	assert_int_equal(rename(path, moved), 0);
	for (int i = 10; i < 12; i++) {
		add(0, i, i + 1);
		feed_step(feed, now);
	}
	assert_int_equal(stat(path, &about), 0);
	assert_true(about.st_size > 11 * 100);
	free(moved);
}

static struct stat look_at(const char *file)
{
	struct stat about;

	assert_int_equal(stat(file, &about), 0);
	return about;
}

/* At the present time, until no batch is with the archivist; something is held. */
static void until_answered(void)
{
	for (int i = 0; feed_step(feed, now) == INFINITY; i++) {
		assert_true(i < 100 * PATIENCE);
		pump_at(feed, now, 10);
	}
}

/* The other archive is written as rarely as ever, and the file of minutes
 * grows with what waits, not with what passes. */
static void a_file_that_cannot_be_written_disturbs_no_other(void **state)
{
	enum { HELD = 10, ALL = 800 };
	char *other = file_of("E2.rrd");
	int written = 0;

	(void)state;
	begin();
	add(1, 0, 1);
	now += 1;
	feed_step(feed, now);
	now += 1;
	until_empty();
	bar_file(0);
	add(0, 0, HELD);
	feed_step(feed, now);
	now += 60;
	for (int i = 0; !told.failing; i++) {
		assert_true(i < 100 * PATIENCE);
		turn(10);
	}
	struct timespec last = look_at(other).st_mtim;

	for (int i = 1; i < ALL; i += 2) {
		add(1, i, i + 2);
		now += 120;
		until_answered();
		struct timespec at = look_at(other).st_mtim;

		written += at.tv_sec != last.tv_sec || at.tv_nsec != last.tv_nsec;
		last = at;
		assert_true((size_t)look_at(path).st_size < 4 * feed_backlog(feed) + 70000);
	}
	assert_in_range(written, ALL / 10 / 2, ALL / 10 + 10);
	unbar_file(0);
	now += 600;
	until_empty();
	assert_int_equal(look_at(path).st_size, 8);
	expect_minutes(0, 0, HELD);
	expect_minutes(1, 0, ALL);
	free(other);
}

#define each(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		each(minutes_wait_longer_and_longer),
		each(much_does_not_wait),
		each(an_end_in_order_sends_at_once),
		each(a_dead_archivist_does_not_put_it_off),
		each(a_kill_loses_nothing),
		each(a_second_kill_loses_nothing),
		each(who_does_not_gather_recovers_too),
		each(an_enclosure_that_is_gone_is_archived_still),
		each(a_file_that_was_taken_away_is_written_anew),
		each(a_file_that_was_moved_is_written_anew),
		each(a_file_that_cannot_be_written_disturbs_no_other),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
